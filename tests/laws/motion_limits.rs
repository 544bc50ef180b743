//! A path reports which limit it breaks, where and by how much; and driving back undoes what was driven.
use crate::common::{car, gooseneck, pickup};
use wideenough::clearance::{Surroundings, opening_for};
use wideenough::geometry::Pose;
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::site::{Anchor, Faces, Side};
use wideenough::vehicle::Vehicle;

fn path(direction: Direction, segments: Vec<Segment>) -> Path {
    Path { start: State::default(), legs: vec![Leg { direction, segments }] }
}

fn faults(vehicle: &Vehicle, segments: Vec<Segment>) -> Vec<(f64, String)> {
    let found = path(Direction::Forward, segments).limit_faults(vehicle);
    found.into_iter().map(|fault| (fault.station_m, fault.what)).collect()
}

/// The pickup's wheels take 1.5 m from straight to full lock, which is 0.2037/m: tan 37 degrees over 3.70 m.
#[test]
fn each_steering_limit_is_told_where_it_is_broken() {
    let pickup = pickup();
    let max = pickup.steering.max_curvature;
    let turn = |length_m: f64, from: f64, to: f64| Segment {
        length_m,
        curvature_start: from * max,
        curvature_end: to * max,
    };
    let straight = Segment::arc(2.0, 0.0);
    assert!(faults(&pickup, vec![straight, turn(1.5, 0.0, 1.0), turn(3.0, 1.0, -1.0)]).is_empty());
    let sharp = faults(&pickup, vec![straight, turn(3.0, 0.0, 1.01)]);
    assert_eq!(sharp, [(2.0, "curvature 0.2057/m exceeds full lock 0.2037/m".to_owned())]);
    let hasty = faults(&pickup, vec![straight, straight, turn(1.4, 0.0, 1.0)]);
    assert_eq!(hasty, [(4.0, "the wheels would have to turn faster than the steering can".to_owned())]);
    let jump = faults(&pickup, vec![straight, turn(2.0, 0.5, 0.5)]);
    assert_eq!(jump, [(2.0, "the curvature jumps within a leg".to_owned())]);
    // A car whose wheels turn at once may jump, and not beyond its lock.
    let car = car();
    let most = car.steering.max_curvature;
    assert!(faults(&car, vec![straight, Segment::arc(1.0, most), Segment::arc(1.0, -most)]).is_empty());
    assert_eq!(faults(&car, vec![Segment::arc(1.0, -1.1 * most)]).len(), 1);
}

/// Pushed back straight with a bent hitch, a trailer folds until it is past its limit, 80 degrees.
#[test]
fn a_hitch_past_its_limit_is_told_once() {
    let rig = gooseneck();
    let mut pushed = path(Direction::Reverse, vec![Segment::arc(30.0, 0.0)]);
    assert!(pushed.limit_faults(&rig).is_empty(), "straight it stays straight");
    pushed.start.hitch[0] = 0.2;
    let found = pushed.limit_faults(&rig);
    assert_eq!(found.len(), 1, "{found:?}");
    // Straight back the hitch angle grows by dφ/ds = sin φ / d, so tan(φ/2) = tan(0.1) e^(s/d), with d = 8.80 m.
    let limit = 80f64.to_radians();
    let station_m = 8.80 * libm::log(libm::tan(0.5 * limit) / libm::tan(0.1));
    let late_m = found[0].station_m - station_m;
    assert!((0.0..0.0501).contains(&late_m), "{late_m} m late");
    assert!(found[0].what.starts_with("hitch angle 80.") && found[0].what.ends_with("exceeds 80.0 deg"));
}

#[test]
fn a_leg_driven_back_ends_where_it_began() {
    let chain = Chain::of(&pickup());
    let legs = [Direction::Forward, Direction::Reverse].map(|direction| Leg {
        direction,
        segments: vec![
            Segment { length_m: 3.0, curvature_start: 0.0, curvature_end: 0.2 },
            Segment::arc(0.0, 0.2),
            Segment::arc(2.0, 0.2),
        ],
    });
    let start = State { lead: Pose::new(1.0, -2.0, 0.4), ..State::default() };
    let way = Path { start, legs: legs.to_vec() };
    let back = way.reversed(&chain);
    let directions: Vec<Direction> = back.legs.iter().map(|leg| leg.direction).collect();
    assert_eq!(directions, [Direction::Forward, Direction::Reverse]);
    let end = back.end(&chain).lead;
    assert!(end.position.distance(start.lead.position) < 1e-12 && (end.heading - 0.4).abs() < 1e-12);
    // Nothing of a segment without length is driven.
    let stations: Vec<f64> = way.samples(&chain, f64::INFINITY).iter().map(|s| s.station_m).collect();
    assert_eq!(stations, [0.0, 3.0, 5.0, 5.0, 8.0, 10.0]);
}

/// Faces required to stand at most at -1.1 and at least at 1.4, around a gate drawn from -2 to 2.
#[test]
fn openings_follow_from_what_stays_put() {
    let mut site = crate::common::standard_site(4.5);
    let mut opening = |anchor: Anchor, left_u: f64, right_u: f64| {
        site.gate.anchor = anchor;
        let needed = Faces { left: left_u, right: right_u };
        let (opening_m, Faces { left, right }) = opening_for(&Surroundings::new(&site, None, 0.0), needed);
        (opening_m, left, right)
    };
    assert_eq!(opening(Anchor::Center, -1.1, 1.4), (2.8, -1.4, 1.4));
    let close = |(a, b, c): (f64, f64, f64), (x, y, z): (f64, f64, f64)| {
        assert!((a - x).abs() < 1e-12 && (b - y).abs() < 1e-12 && (c - z).abs() < 1e-12, "{a} {b} {c}");
    };
    close(opening(Anchor::Side(Side::Left), -1.1, 1.4), (3.4, -2.0, 1.4));
    close(opening(Anchor::Side(Side::Right), -1.1, 1.4), (3.1, -1.1, 2.0));
    close(opening(Anchor::Free, -1.1, 1.4), (2.5, -1.1, 1.4));
    // A face that stays cannot move out of the way.
    assert!(opening(Anchor::Side(Side::Left), -2.1, 1.4).0.is_infinite());
    assert!(opening(Anchor::Side(Side::Right), -1.1, 2.1).0.is_infinite());
    // No requirement on one face, or on both, needs no opening.
    let (none, all) = (f64::NEG_INFINITY, f64::INFINITY);
    assert_eq!(opening(Anchor::Free, -1.1, none), (0.0, -1.1, -1.1));
    assert_eq!(opening(Anchor::Free, all, 1.4), (0.0, 1.4, 1.4));
    assert_eq!(opening(Anchor::Free, all, none), (0.0, 0.0, 0.0));
    assert_eq!(opening(Anchor::Center, all, none).0, 0.0);
}
