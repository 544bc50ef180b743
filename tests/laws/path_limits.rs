//! A path is held to what its vehicle can do: full lock, how fast the wheels turn, and how far a hitch bends. Each
//! limit is met to the last digit, then passed by a little, and the fault is reported where it is.
use crate::common::{unit, vehicle};
use rstest::rstest;
use wideenough::geometry::{Pose, trig};
use wideenough::motion::{Direction, Leg, LimitFault, Path, Segment, State};
use wideenough::vehicle::{Hitch, Vehicle};

/// Full lock on a radius of 8 m, three meters of path from straight to there; the hitch bends to half a radian.
const LOCK: f64 = 0.125;
const WAY_M: f64 = 3.0;
const BENDS_RAD: f64 = 0.5;
const WHEELBASE_M: f64 = 4.0;

fn rig() -> Vehicle {
    let mut lead = unit("truck", 3.5, 1.0, 4.5, 2.0, None);
    lead.hitch = Some(Hitch { behind_axle_m: 1.2, max_angle_rad: BENDS_RAD });
    let mut rig =
        vehicle("rig", vec![lead, unit("trailer", WHEELBASE_M, 1.0, WHEELBASE_M, 2.0, None)], 30.0, WAY_M);
    rig.steering.max_curvature = LOCK;
    rig
}

fn alone() -> Vehicle {
    let mut truck = rig();
    truck.units.truncate(1);
    truck.units[0].hitch = None;
    truck
}

fn turning(length_m: f64, curvature_start: f64, curvature_end: f64) -> Segment {
    Segment { length_m, curvature_start, curvature_end }
}

fn path(hitch: f64, legs: &[(Direction, &[Segment])]) -> Path {
    let start = State { lead: Pose::new(3.0, -2.0, 0.4), hitch: [hitch, 0.0, 0.0], curvature: 0.0 };
    let legs = legs.iter().map(|(direction, s)| Leg { direction: *direction, segments: s.to_vec() });
    Path { start, legs: legs.collect() }
}

fn forward(segments: &[Segment]) -> Path {
    path(0.0, &[(Direction::Forward, segments)])
}

/// Station of each fault, and how its text begins.
fn told(faults: &[LimitFault]) -> Vec<(f64, &str)> {
    faults.iter().map(|f| (f.station_m, f.what.split(' ').next().unwrap_or_default())).collect()
}

/// Left and right: all the way to full lock at the fastest rate, held, and back, after five meters straight on.
#[rstest]
#[case(1.0)]
#[case(-1.0)]
fn the_lock_is_met_but_not_passed(#[case] side: f64) {
    let ways = |k: f64| {
        let k = side * k;
        let way_m = WAY_M * k.abs() / LOCK;
        forward(&[
            Segment::arc(5.0, 0.0),
            turning(way_m, 0.0, k),
            Segment::arc(2.0, k),
            turning(2.0 * way_m, k, -k),
            turning(way_m, -k, 0.0),
        ])
    };
    assert_eq!(ways(LOCK).limit_faults(&alone()), vec![]);
    // A millionth more is too much, wherever it occurs.
    let sharper = LOCK * (1.0 + 1e-6);
    let way_m = WAY_M * (1.0 + 1e-6);
    let faults = ways(sharper).limit_faults(&alone());
    assert_eq!(told(&faults), [5.0, 5.0 + way_m, 7.0 + way_m, 7.0 + 3.0 * way_m].map(|at| (at, "curvature")));
}

/// The wheels take three meters to full lock, so half of it takes half of them, and a centimeter less will not do.
#[rstest]
#[case(0.0, LOCK, 3.0)]
#[case(0.0, 0.5 * LOCK, 1.5)]
#[case(0.0, -0.5 * LOCK, 1.5)]
#[case(0.5 * LOCK, -0.25 * LOCK, 2.25)]
fn wheels_turn_no_faster_than_they_can(#[case] from: f64, #[case] to: f64, #[case] least_m: f64) {
    let turn = |length_m: f64| {
        let before = turning(WAY_M, 0.0, from);
        forward(&[Segment::arc(5.0, 0.0), before, turning(length_m, from, to)]).limit_faults(&alone())
    };
    assert_eq!(turn(least_m), vec![]);
    assert_eq!(told(&turn(least_m - 0.01)), [(5.0 + WAY_M, "the")]);
    // Without a limit on the rate any length will do, and the curvature may jump.
    let mut quick = alone();
    quick.steering.lock_distance_m = 0.0;
    let jumps = forward(&[Segment::arc(5.0, from), turning(0.01, 0.3 * LOCK, to)]);
    assert_eq!(jumps.limit_faults(&quick), vec![]);
    assert_eq!(told(&jumps.limit_faults(&alone())), [(5.0, "the"), (5.0, "the")]);
}

/// Wheels are turned while standing only where the vehicle changes direction.
#[test]
fn curvature_jumps_between_legs_only() {
    let (left, right) = ([Segment::arc(2.0, 0.1)], [Segment::arc(3.0, -0.1)]);
    let stops = path(0.0, &[(Direction::Forward, &left), (Direction::Reverse, &right)]);
    assert_eq!(stops.limit_faults(&alone()), vec![]);
    let jumps = forward(&[left[0], right[0], right[0]]).limit_faults(&alone());
    assert_eq!(told(&jumps), [(2.0, "the")]);
    assert!(jumps[0].what.contains("jumps"), "{jumps:?}");
}

/// Pushed straight back, a hitch angle grows as tan(φ/2) e^(s/d) (the tractrix): from 0.2 rad it passes half a radian
/// after d ln(tan 0.25 / tan 0.1) = 3.736 m, and is sampled every five centimeters.
#[test]
fn a_hitch_that_bends_too_far_is_told_where_it_does() {
    let passes_m = WHEELBASE_M * trig::ln(trig::tan(0.25) / trig::tan(0.1));
    assert!((passes_m - 3.736).abs() < 1e-3, "{passes_m}");
    let pushed = |hitch: f64, length_m: f64| {
        let back = [Segment::arc(length_m, 0.0)];
        path(hitch, &[(Direction::Forward, &[Segment::arc(2.0, 0.0)]), (Direction::Reverse, &back)])
    };
    // Two meters forward first bring it down by a factor of e^(-1/2), and backing up again undoes that.
    for hitch in [0.2, -0.2] {
        let far = pushed(hitch, passes_m + 2.0 + 1.0).limit_faults(&rig());
        assert_eq!(far.len(), 1, "one is enough: {far:?}");
        let late = far[0].station_m - (passes_m + 4.0);
        assert!((0.0..0.05).contains(&late), "{far:?}");
        assert!(far[0].what.contains("exceeds 28.6 deg"), "{far:?}");
        // It goes on to bend for another meter, and the largest excess counts.
        let ends_rad = 2.0 * trig::atan(trig::tan(0.25) * trig::exp(1.0 / WHEELBASE_M));
        assert!((far[0].hitch_over_rad - (ends_rad - BENDS_RAD)).abs() < 1e-9, "{far:?}, not {ends_rad}");
        assert_eq!(pushed(hitch, passes_m + 2.0 - 0.01).limit_faults(&rig()), vec![]);
    }
    // A vehicle without a trailer has no such limit.
    assert_eq!(pushed(0.2, 20.0).limit_faults(&alone()), vec![]);
}
