//! The proof that a vehicle cannot pass the gate as drawn: proven where the gate is far too narrow, never where a path
//! passes it, and left open where the proof does not apply.
use crate::common::{box_truck, gooseneck, pickup, standard_lane, standard_site};
use wideenough::bound::{ProofBudget, closes_as_drawn};
use wideenough::clearance::Surroundings;
use wideenough::geometry::Point;
use wideenough::opening::{
    Answer, Case, DrawnGate, RuledOut, Study, StudyOptions, Wanted, case_is_proven, study, vehicle_is_proven,
};
use wideenough::search::lane::StartZone;
use wideenough::search::{Effort, Problem};
use wideenough::site::{Anchor, Maneuver, Route, RouteTrack, Site};
use wideenough::vehicle::Vehicle;

/// The standard site with a gate this wide.
fn gate(setback: f64, opening_m: f64) -> Site {
    let mut site = standard_site(setback);
    (site.gate.left.x, site.gate.right.x) = (-0.5 * opening_m, 0.5 * opening_m);
    (site.fences[0].line[1].x, site.fences[1].line[0].x) = (site.gate.left.x, site.gate.right.x);
    site
}

fn quick(site: Site, vehicle: Vehicle, maneuvers: &[Maneuver]) -> Study {
    let effort =
        Effort { lattice: 5_000, drawn: 4, coarse: 6, polished: 1, fine: 8, finest: 0, ..Effort::USUAL };
    let options = StudyOptions { effort, changes: false, ..StudyOptions::default() };
    let visits = maneuvers.iter().map(|maneuver| (*maneuver).into()).collect();
    let wanted = Wanted { visits, travels: vec!["eastbound".to_owned()], vehicle };
    study(site, &[wanted], &options, &|_| ())
}

/// Checks that hold for every case: nothing that passes is marked, everything that does not pass is marked, and the
/// proof agrees with the paths found.
fn holds(study: &Study) {
    let drawn = study.site.gate.opening_m();
    for case in &study.cases {
        let passes = [case.drawn_gate != DrawnGate::No, case.drawn_gate == DrawnGate::Comfortable];
        for (answer, passes) in [&case.bare, &case.comfortable].into_iter().zip(passes) {
            assert_eq!(answer.ruled_out.is_none(), passes, "{case:?}");
            if answer.ruled_out == Some(RuledOut::Proven) && study.site.gate.anchor != Anchor::Free {
                assert!(answer.opening_m.is_none_or(|m| m > drawn), "{:?} of {drawn}", answer.opening_m);
            }
        }
    }
}

fn marks(case: &Case) -> [Option<RuledOut>; 2] {
    [&case.bare, &case.comfortable].map(|answer: &Answer| answer.ruled_out)
}

const PROVEN: Option<RuledOut> = Some(RuledOut::Proven);
const OPEN: Option<RuledOut> = Some(RuledOut::NotProven);

/// A truck 2.44 m wide, at a gate of 2.9 m close beside a road 6 m wide. It needs 4.2 m driving in, 3.5 m backing in.
#[test]
fn far_too_narrow_is_proven() {
    let study = quick(gate(1.5, 2.9), box_truck(), &[]);
    holds(&study);
    let [drive_in, back_in] = &study.cases[..] else { panic!("{:?}", study.cases) };
    assert_eq!((drive_in.drawn_gate, marks(drive_in)), (DrawnGate::No, [PROVEN; 2]));
    assert_eq!((back_in.drawn_gate, marks(back_in)), (DrawnGate::No, [PROVEN; 2]));
    assert!(case_is_proven(drive_in) && vehicle_is_proven(&study, 0));
    // The bound over all openings stays the plain width: the proof is about this gate alone.
    assert!((drive_in.bare.at_least_m - 2.44).abs() < 1e-9);
}

/// That truck needs hardly more than these gates, or less.
#[test]
fn what_passes_is_never_marked() {
    let mut verdicts = Vec::new();
    for opening_m in [3.6, 4.25, 5.2] {
        let study = quick(gate(1.5, opening_m), box_truck(), &[]);
        holds(&study);
        verdicts.extend(study.cases.iter().map(|case| (case.drawn_gate, case_is_proven(case))));
        let passes = study.cases.iter().any(|case| case.drawn_gate == DrawnGate::Comfortable);
        assert!(!(passes && vehicle_is_proven(&study, 0)));
    }
    for gate in [DrawnGate::No, DrawnGate::Tight, DrawnGate::Comfortable] {
        assert!(verdicts.iter().any(|(verdict, _)| *verdict == gate), "no {gate:?}: {verdicts:?}");
    }
    assert!(verdicts.contains(&(DrawnGate::Tight, true)), "{verdicts:?}");
}

/// A gate that may stand anywhere is judged where it is drawn.
#[test]
fn a_gate_that_may_move_is_judged_where_it_is_drawn() {
    let mut site = gate(1.5, 3.2);
    site.gate.anchor = Anchor::Free;
    let study = quick(site, box_truck(), &[Maneuver::DriveIn]);
    assert_eq!(marks(&study.cases[0]), [PROVEN; 2]);
}

/// The proof does not apply to a trailer, a drawn route or a start in a bend.
#[test]
fn nothing_is_proven_where_the_proof_has_no_say() {
    let study = quick(gate(4.5, 3.0), gooseneck(), &[Maneuver::DriveIn]);
    holds(&study);
    assert_eq!((study.cases[0].drawn_gate, marks(&study.cases[0])[0]), (DrawnGate::No, OPEN));
    assert!(!vehicle_is_proven(&study, 0));

    let mut site = gate(4.5, 2.2);
    let legs = vec![vec![Point::new(0.0, -3.0), Point::new(0.0, 12.0)]];
    let (vehicle, track) = ("pickup".to_owned(), RouteTrack::RearAxle);
    site.routes = vec![Route { label: "straight in".to_owned(), vehicle, track, legs }];
    let study = quick(site, pickup(), &[Maneuver::DriveIn]);
    holds(&study);
    let route = study.cases.iter().find(|case| case.route.is_some()).expect("the drawn route");
    assert_eq!((route.drawn_gate, marks(route)), (DrawnGate::No, [OPEN; 2]));

    let (truck, site) = (box_truck(), gate(1.5, 3.2));
    let surroundings = Surroundings::new(&site, None, 3.2);
    let mut lane = standard_lane(1.5, true, 2.44);
    let closed = |lane: &_| {
        let problem = Problem {
            vehicle: &truck,
            surroundings: &surroundings,
            lane,
            maneuver: Maneuver::DriveIn,
            shunts: 0,
            clearance_m: 0.0,
            spot: None,
        };
        closes_as_drawn(&problem, &[0.3, 0.15], ProofBudget { transfers: 400_000 }).0
    };
    assert!(closed(&lane));
    lane.zones = vec![StartZone { turned_rad: 0.1, ..StartZone::UNBOUNDED }];
    assert!(!closed(&lane));
}
