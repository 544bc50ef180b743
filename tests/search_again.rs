//! Solving a question again after a small change of the place, from its last answer: as narrow as from scratch.
mod common;
use common::{box_truck, gooseneck, pickup, standard_lane, standard_site};
use rstest::rstest;
use std::time::Instant;
use wideenough::clearance::Surroundings;
use wideenough::search::{Effort, Finding, Question, again, narrowest};
use wideenough::site::Maneuver;
use wideenough::vehicle::Vehicle;

/// What the answer may be wider by than that of a whole search.
const SHARE: f64 = 0.005;

fn opening(finding: &Finding) -> f64 {
    finding.found.as_ref().map_or(f64::INFINITY, |found| found.inspection.opening_m)
}

/// The gate of each standard problem is set back by 5, 15 and 30 cm more, one after the other, each time from the last
/// answer.
#[rstest]
#[case::pickup_near(pickup(), 2.05, Maneuver::DriveIn, 1.5)]
#[case::pickup_far(pickup(), 2.05, Maneuver::DriveIn, 4.5)]
#[case::box_truck_near(box_truck(), 2.44, Maneuver::DriveIn, 1.5)]
#[case::box_truck_far(box_truck(), 2.44, Maneuver::DriveIn, 4.5)]
#[case::box_truck_back(box_truck(), 2.44, Maneuver::BackIn, 1.5)]
#[case::gooseneck_in(gooseneck(), 2.59, Maneuver::DriveIn, 4.5)]
#[case::gooseneck_back(gooseneck(), 2.59, Maneuver::BackIn, 4.5)]
fn a_gate_set_back_step_by_step(
    #[case] vehicle: Vehicle,
    #[case] body_width: f64,
    #[case] maneuver: Maneuver,
    #[case] setback: f64,
) {
    let solve = |setback: f64, last: Option<&Finding>| {
        let surroundings = Surroundings::new(&standard_site(setback), None, 0.0);
        let lane = standard_lane(setback, true, body_width);
        let question = Question {
            vehicle: &vehicle,
            surroundings: &surroundings,
            lane: &lane,
            maneuver,
            shunts: 0,
            clearance_m: 0.0,
            spot: None,
        };
        match last {
            Some(last) => again(&question, &last.starts[..1], opening(last)),
            None => narrowest(&question, Effort::USUAL, &[]),
        }
    };
    let mut last = solve(setback, None);
    for back in [0.05, 0.2, 0.5] {
        let whole = solve(setback + back, None);
        let started = Instant::now();
        let now = solve(setback + back, Some(&last));
        let ms = started.elapsed().as_secs_f64() * 1e3;
        let share = opening(&now) / opening(&whole) - 1.0;
        println!(
            "{} {maneuver:?} {setback} + {back}: {:.4} again in {ms:.0} ms, {:.4} from scratch, {:.2} %",
            vehicle.name,
            opening(&now),
            opening(&whole),
            100.0 * share
        );
        assert!(share <= SHARE, "{} m again, {} m from scratch", opening(&now), opening(&whole));
        // A small part of a whole search's work: else it has fallen back on one.
        assert!(now.work * 3 < whole.work, "{} poses again, {} from scratch", now.work, whole.work);
        last = now;
    }
}
