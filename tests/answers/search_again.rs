//! Solving a problem again after a small change of the place, from its last answer: as narrow as from scratch.
use crate::common::{box_truck, every_case, gooseneck, pickup, standard_lane, standard_site};
use rstest::rstest;
use std::time::Instant;
use wideenough::clearance::Surroundings;
use wideenough::opening::{self, StudyOptions, Wanted, study};
use wideenough::search::{Effort, Finding, Problem, again, narrowest};
use wideenough::site::{Maneuver, Site};
use wideenough::vehicle::{Vehicle, find};

/// Share by which the answer may be wider than that of a whole search.
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
        let problem = Problem {
            vehicle: &vehicle,
            surroundings: &surroundings,
            lane: &lane,
            maneuver,
            shunts: 0,
            clearance_m: 0.0,
            spot: None,
        };
        match last {
            Some(last) => again(&problem, &last.starts[..1], opening(last)),
            None => narrowest(&problem, Effort::USUAL, &[]),
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
        // A small part of a whole search's work: otherwise it has fallen back on one.
        assert!(now.work * 3 < whole.work, "{} poses again, {} from scratch", now.work, whole.work);
        last = now;
    }
}

/// A place with a gate from x = -2 to `right_m`, 3 m from the road, with leaves and a tree; `inward_m` moves its right
/// end inward.
fn dragged(right_m: f64, inward_m: f64) -> Site {
    let plan = format!(
        r#"{{ "type": "FeatureCollection", "plan": {{ "coordinates": "local-m" }}, "features": [
        {{ "type": "Feature", "properties": {{ "role": "road", "width": "6 m", "continues": "both" }},
          "geometry": {{ "type": "LineString", "coordinates": [[-80, -6], [80, -6]] }} }},
        {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "double" }},
          "geometry": {{ "type": "LineString", "coordinates": [[-2, 0], [{right_m}, {inward_m}]] }} }},
        {{ "type": "Feature", "properties": {{ "role": "obstacle", "radius": "0.3 m" }},
          "geometry": {{ "type": "Point", "coordinates": [4, -1.5] }} }} ] }}"#
    );
    wideenough::site::read(&plan, "plan").expect("a sound plan")
}

/// A post of a plan is dragged by a few centimeters: each case of a study, solved again, is as wide as in a whole
/// study.
#[test]
fn a_dragged_post() {
    let wanted: Vec<Wanted> =
        ["pickup", "box-truck-16", "pickup-bumper-pull-20"].map(|name| find(name).unwrap().into()).into();
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let before = study(dragged(2.0, 0.0), &wanted, &options, &|_| ());
    let mut times: [Vec<f64>; 2] = Default::default();
    for (right_m, inward_m) in &[(2.2, 0.1), (2.05, 0.0)][..if every_case() { 2 } else { 1 }] {
        let site = dragged(*right_m, *inward_m);
        let after = study(site.clone(), &wanted, &options, &|_| ());
        for (index, case) in after.cases.iter().enumerate() {
            for (comfortable, whole) in [(false, &case.bare), (true, &case.comfortable)] {
                let started = Instant::now();
                let now = opening::again(&before, index, comfortable, &site).expect("a case");
                let ms = started.elapsed().as_secs_f64() * 1e3;
                let towed = before.vehicles[case.vehicle].units.len() > 1;
                times[usize::from(towed)].push(ms);
                let [now_m, whole_m] = [now.opening_m, whole.opening_m].map(|m| m.unwrap_or(f64::INFINITY));
                println!(
                    "{} {} {:?} {right_m} {inward_m}: {now_m:.4} again in {ms:.0} ms, {whole_m:.4}, {:.2} %",
                    before.vehicles[case.vehicle].name,
                    case.travel,
                    case.maneuver,
                    100.0 * (now_m / whole_m - 1.0)
                );
                assert!(now_m <= whole_m * (1.0 + SHARE), "{now_m} m again, {whole_m} m in a whole study");
            }
        }
    }
    for (kind, times) in ["rigid", "with a trailer"].iter().zip(&mut times) {
        times.sort_by(f64::total_cmp);
        println!("{kind}: median {:.0} ms of {}", times[times.len() / 2], times.len());
    }
    assert!(opening::again(&before, before.cases.len(), false, &before.site).is_none());
}
