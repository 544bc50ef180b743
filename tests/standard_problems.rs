//! Standard problems with the best openings known, found by an independent slow method: upper bounds, not optima.
mod common;
use common::{box_truck, gooseneck, pickup, standard_lane, standard_site};
use rstest::rstest;
use wideenough::bound::{ProofBudget, is_closed};
use wideenough::clearance::Surroundings;
use wideenough::search::{Effort, Problem, narrowest};
use wideenough::site::Maneuver;
use wideenough::vehicle::Vehicle;

/// Best opening reported for the box truck backing in: see [`the_box_truck_cannot_back_in_through_what_is_told`].
const BOX_TRUCK_BACK_KNOWN_M: f64 = 3.464;

/// The opening found is at most half a percent above the best known. Those were measured at sampled poses, which
/// under-read by 5 to 15 mm; the one for the box truck backing in is too small by more than that, as the proof below
/// shows, and there three quarters are allowed.
#[rstest]
#[case::pickup_near(pickup(), 2.05, Maneuver::DriveIn, 1.5, 2.756)]
#[case::pickup_far(pickup(), 2.05, Maneuver::DriveIn, 4.5, 2.444)]
#[case::box_truck_near(box_truck(), 2.44, Maneuver::DriveIn, 1.5, 4.175)]
#[case::box_truck_far(box_truck(), 2.44, Maneuver::DriveIn, 4.5, 3.331)]
#[case::box_truck_back(box_truck(), 2.44, Maneuver::BackIn, 1.5, BOX_TRUCK_BACK_KNOWN_M)]
#[case::gooseneck_in(gooseneck(), 2.59, Maneuver::DriveIn, 4.5, 3.938)]
#[case::gooseneck_back(gooseneck(), 2.59, Maneuver::BackIn, 4.5, 3.618)]
fn at_or_below_the_best_known(
    #[case] vehicle: Vehicle,
    #[case] body_width: f64,
    #[case] maneuver: Maneuver,
    #[case] setback: f64,
    #[case] known: f64,
) {
    let site = standard_site(setback);
    let surroundings = Surroundings::new(&site, None, 0.0);
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
    let finding = narrowest(&problem, Effort::USUAL, &[]);
    let found = finding.found.unwrap_or_else(|| panic!("nothing found: {:?}", finding.stopped_by));
    let i = &found.inspection;
    println!("{} {maneuver:?} {setback}: {:.4}, best known {known}", vehicle.name, i.opening_m);
    assert!(
        found.path.path().limit_faults(&vehicle).is_empty(),
        "{:?}",
        found.path.path().limit_faults(&vehicle)
    );
    let proven_too_little = known == BOX_TRUCK_BACK_KNOWN_M;
    let most_m = known * if proven_too_little { 1.0075 } else { 1.005 };
    assert!(i.opening_m <= most_m, "{} is above {most_m}", i.opening_m);
    assert!(i.opening_m - i.needs_at_least_m < 0.002, "the bound between poses is loose");
}

/// No box truck backs in through the opening reported to be enough, nor through half a percent more: with lines a
/// centimeter apart the proof closes that opening to every maneuver. The search's own opening lies 8 mm above that.
#[test]
fn the_box_truck_cannot_back_in_through_what_is_told() {
    let vehicle = box_truck();
    let surroundings = Surroundings::new(&standard_site(1.5), None, 0.0);
    let lane = standard_lane(1.5, true, 2.44);
    let problem = Problem {
        vehicle: &vehicle,
        surroundings: &surroundings,
        lane: &lane,
        maneuver: Maneuver::BackIn,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let budget = ProofBudget { transfers: 2_000_000_000 };
    let too_little_m = 1.005 * BOX_TRUCK_BACK_KNOWN_M;
    assert!(is_closed(&problem, too_little_m, 0.01, budget), "{too_little_m} is not proven too narrow");
    let found = narrowest(&problem, Effort::USUAL, &[]).found.expect("it backs in");
    let (found_m, path) = (found.inspection.opening_m, &found.path);
    assert!(found_m < too_little_m * 1.0025, "{found_m}");
    // The proof does not close an opening that a maneuver passes.
    assert!(path.path().limit_faults(&vehicle).is_empty());
    assert!(!is_closed(&problem, found_m, 0.04, budget), "{found_m} is passed");
}
