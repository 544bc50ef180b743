//! The referee refuses a path that breaks one rule, for that rule: each test breaks one rule of an answer that holds.
use crate::common::{add_pole, apron, pickup, skewed_site, standard_lane, standard_site};
use std::sync::Arc;
use wideenough::clearance::Surroundings;
use wideenough::geometry::Point;
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State, Trajectory};
use wideenough::search::certify::{Reason, certify};
use wideenough::search::lane::{Lane, StartZone};
use wideenough::search::{Effort, Problem, narrowest};
use wideenough::site::{Arrangement, Maneuver, Site, Swing};
use wideenough::vehicle::Vehicle;

const SETBACK_M: f64 = 3.0;

/// The lane from the west, in which a pickup may start up to 8 m before the gate.
fn lane() -> Lane {
    let lane = standard_lane(SETBACK_M, true, 2.05);
    let zone = StartZone::straight((0.0, 192.0), lane.play_m);
    Lane { zones: vec![zone], stands: vec![zone], ..lane }
}

fn problem<'a>(vehicle: &'a Vehicle, surroundings: &'a Surroundings, lane: &'a Lane) -> Problem<'a> {
    let maneuver = Maneuver::DriveIn;
    Problem { vehicle, surroundings, lane, maneuver, shunts: 0, clearance_m: 0.0, spot: None }
}

/// A path found by the search, and its opening.
fn answer(vehicle: &Vehicle, site: &Site, lane: &Lane) -> (Path, f64) {
    let surroundings = Surroundings::new(site, None, 0.0);
    let finding = narrowest(&problem(vehicle, &surroundings, lane), Effort::USUAL, &[]);
    let found = finding.found.expect("it drives in");
    (found.path.into_path(), found.inspection.opening_m)
}

/// Verdict of the referee on a path; the opening where it passes.
fn verdict(vehicle: &Vehicle, site: &Site, lane: &Lane, path: &Path) -> Result<f64, Reason> {
    let surroundings = Surroundings::new(site, None, 0.0);
    let certificate = certify(&problem(vehicle, &surroundings, lane), &Trajectory::new(path.clone()), 5.0);
    certificate.map(|found| found.inspection.opening_m).map_err(|rejection| rejection.reason)
}

#[test]
fn each_rule_broken_is_refused_for_it() {
    let (vehicle, site, lane) = (pickup(), standard_site(SETBACK_M), lane());
    let (path, opening_m) = answer(&vehicle, &site, &lane);
    let said = |path: &Path| verdict(&vehicle, &site, &lane, path);
    let certified = said(&path).expect("the answer itself");
    assert!((certified - opening_m).abs() < 1e-6, "{certified} and {opening_m}");

    let sharper = {
        let mut path = path.clone();
        path.legs[0].segments[0].curvature_start += 2.0 * vehicle.steering.max_curvature;
        path
    };
    assert!(matches!(said(&sharper), Err(Reason::Limit(_))));

    // Straight on from inside the gate, or with its nose in it; out of the lane; downstream of where it may start.
    let inward = std::f64::consts::FRAC_PI_2;
    for (x, y, heading) in [
        (0.0, 3.0, inward),
        (0.0, -3.0, inward),
        (path.start.lead.position.x, path.start.lead.position.y + 1.5, path.start.lead.heading),
        (-2.0, path.start.lead.position.y, path.start.lead.heading),
    ] {
        let mut path = path.clone();
        path.start.lead.position = Point::new(x, y);
        path.start.lead.heading = heading;
        assert!(matches!(said(&path), Err(Reason::Start(_))), "{x} {y}: {:?}", said(&path));
    }

    let mut short = path.clone();
    let segments = &mut short.legs[0].segments;
    segments.truncate(segments.len() / 2);
    assert_eq!(said(&short), Err(Reason::NotInside));

    // So far along the fence that no gate anybody builds reaches there.
    let mut beside = path.clone();
    beside.start.lead.position.x -= 40.0;
    assert_eq!(said(&beside), Err(Reason::NoOpening));

    // On until it is wholly inside, out again as it came, and in once more.
    let mut out_again = path.clone();
    out_again.legs[0].segments.push(Segment::arc(6.0, path.legs[0].segments.last().unwrap().curvature_end));
    let last = *out_again.legs[0].segments.last().unwrap();
    let back = Leg { direction: Direction::Reverse, segments: vec![Segment { length_m: 9.0, ..last }] };
    let again = Leg { direction: Direction::Forward, segments: vec![Segment { length_m: 12.0, ..last }] };
    out_again.legs.extend([back, again]);
    assert_eq!(said(&out_again), Err(Reason::ComesOut));

    // A path forward through the gate is not backing in.
    let surroundings = Surroundings::new(&site, None, 0.0);
    let backing = Problem { maneuver: Maneuver::BackIn, ..problem(&vehicle, &surroundings, &lane) };
    assert_eq!(
        certify(&backing, &Trajectory::new(path.clone()), 5.0).map_err(|r| r.reason).err(),
        Some(Reason::Enters)
    );

    // A pole at the place where its middle passes.
    let chain = Chain::of(&vehicle);
    let end = path.end(&chain).lead;
    let mut with_pole = site.clone();
    let frame = Surroundings::new(&site, None, 0.0).frame.origin;
    let at = frame.to_site(end.position);
    add_pole(&mut with_pole, at.x, at.y);
    assert!(matches!(verdict(&vehicle, &with_pole, &lane, &path), Err(Reason::Touches(_))));

    // Ground as wide as the gate alone: the rear wheels cut the corner of the apron.
    let mut narrow = Surroundings::new(&site, None, 0.0);
    narrow.ground = Some(Arc::new(apron(&site, SETBACK_M, 1.1, 1.1)));
    let on_it = certify(&problem(&vehicle, &narrow, &lane), &Trajectory::new(path.clone()), 5.0);
    assert_eq!(on_it.map_err(|r| r.reason).err(), Some(Reason::Ground));
}

/// Leaves that open toward the road obstruct a turn from it: the path then needs a wider gate, or none passes it.
#[test]
fn leaves_are_not_ignored() {
    let (vehicle, site, lane) = (pickup(), standard_site(SETBACK_M), lane());
    let (path, opening_m) = answer(&vehicle, &site, &lane);
    let mut hung = site.clone();
    hung.gate.leaves.arrangement = Arrangement::Double;
    hung.gate.leaves.opens = Swing::Out;
    match verdict(&vehicle, &hung, &lane, &path) {
        Ok(with_leaves_m) => assert!(with_leaves_m > opening_m + 0.05, "{with_leaves_m} and {opening_m}"),
        Err(reason) => assert!(matches!(reason, Reason::Touches(_) | Reason::NoOpening), "{reason:?}"),
    }
}

/// The line of a skewed gate meets the road: a path along the road past the line's end, and round behind the fence from
/// there, is not a path through the gate.
#[test]
fn round_the_end_of_a_skewed_gate_is_no_way_through_it() {
    let vehicle = pickup();
    let (k, ramp_m) = (vehicle.steering.max_curvature, vehicle.steering.lock_distance_m);
    let mut refused = 0;
    for skew in [30.0, -30.0] {
        for eastbound in [true, false] {
            let (site, lane) = skewed_site(SETBACK_M, skew, eastbound, 2.05);
            let surroundings = Surroundings::new(&site, None, 0.0);
            let lead = lane.pose(lane.length_m() * 0.5 - 40.0, 0.0);
            let start = State { lead, ..State::default() };
            for (straight_m, turn) in [45.0, 55.0, 65.0].into_iter().flat_map(|s| [(s, k), (s, -k)]) {
                let ramp = Segment { length_m: ramp_m, curvature_start: 0.0, curvature_end: turn };
                let round = Segment::arc(2.6 / k, turn);
                let segments = vec![Segment::arc(straight_m, 0.0), ramp, round];
                let legs = vec![Leg { direction: Direction::Forward, segments }];
                let path = Trajectory::new(Path { start, legs });
                let said = certify(&problem(&vehicle, &surroundings, &lane), &path, 5.0);
                let reason = said.map_err(|rejection| rejection.reason).err();
                refused += u32::from(reason == Some(Reason::RoundTheEnd));
                assert!(reason.is_some(), "{skew} {eastbound} {straight_m} {turn}");
            }
        }
    }
    assert!(refused > 0, "nothing went round the end");
}
