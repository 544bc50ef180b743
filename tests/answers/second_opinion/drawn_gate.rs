//! The gate as drawn, of the committed examples: the path that each case and each driving card lists is driven again by
//! the plain method, and keeps its stated clearance, at the faces and leaves as drawn.
use super::examples::{EXAMPLES, example, listed, on_the_ground, pose_in_gate};
use super::{TINY_M, Worst, extent_v, within_limits};
use crate::common::plain::{FAR_M, drive, look, standing};
use serde_json::Value;
use std::fs;
use wideenough::motion::{Path, State};
use wideenough::site::Site;
use wideenough::vehicle::{Vehicle, find};

/// Holds a path to its stated clearance at the gate as drawn, or says which rule it breaks.
fn hold(
    site: &Site,
    vehicle: &Vehicle,
    path: &Path,
    clearance_m: f64,
    worst: &mut Worst,
) -> Result<(), String> {
    let lead = pose_in_gate(&site.gate, path.start.lead);
    let path = Path { start: State { lead, ..path.start }, legs: path.legs.clone() };
    let moments = drive(vehicle, &path);
    within_limits(vehicle, &path, &moments, 1e-6)?;
    let drawn_m = site.gate.opening_m();
    let lists = standing(site, site.gate.drawn_faces(), drawn_m);
    for things in &lists {
        let seen = look(vehicle, &moments, things, 0.0);
        // Gaps are measured no farther than this.
        let said_m = clearance_m.min(FAR_M);
        worst.note("clearance at the gate as drawn", 0, said_m - seen.least_m);
        if seen.least_m < said_m - TINY_M {
            return Err(format!("{} is {} m away, {clearance_m} said", seen.to, seen.least_m));
        }
    }
    let tail = extent_v(vehicle, moments.last().into_iter()).0;
    if tail < 0.5 * site.gate.post.depth_m - TINY_M {
        return Err(format!("its tail ends at {tail}"));
    }
    on_the_ground(site, vehicle, &moments, &vehicle.name, worst);
    Ok(())
}

#[test]
fn ways_through_the_gate_as_drawn_keep_what_is_said() {
    let (mut worst, mut ways, mut cards, mut refused) = (Worst::default(), 0, 0, 0);
    for name in EXAMPLES {
        let site = example(name);
        let file = format!("{}/out/{name}/results.json", env!("CARGO_MANIFEST_DIR"));
        let results: Value = serde_json::from_str(&fs::read_to_string(file).expect("results")).expect("JSON");
        for case in results["cases"].as_array().expect("cases") {
            let vehicle = find(case["vehicle"].as_str().expect("a name")).expect("a vehicle of the library");
            let label = format!("{name}: {} {} {}", case["vehicle"], case["travel"], case["maneuver"]);
            let Some(clearance_m) = case["drawn_clearance_m"].as_f64() else { continue };
            let path = listed(&case["drawn_witness"]);
            let held = hold(&site, &vehicle, &path, clearance_m, &mut worst);
            assert!(held.is_ok(), "{label}: {held:?}");
            ways += 1;
            // Five centimeters more than stated would be too much.
            if clearance_m + 0.05 < FAR_M {
                let more = hold(&site, &vehicle, &path, clearance_m + 0.05, &mut Worst::default());
                assert!(more.is_err(), "{label}: keeps 5 cm more than is said");
                refused += 1;
            }
            let card = &case["how_to_drive"];
            let Some(kept_m) = card["clearance_m"].as_f64() else { continue };
            let path = listed(&card["witness"]);
            let held = hold(&site, &vehicle, &path, kept_m, &mut worst);
            assert!(held.is_ok(), "{label}, its card: {held:?}");
            // The rolls of its steps end where the path ends.
            let steps = card["steps"].as_array().expect("steps");
            let last = steps.last().expect("a step");
            let rolled = last["station_m"].as_f64().expect("m") + last["roll_m"].as_f64().expect("m");
            assert!((rolled - path.length_m()).abs() < 1e-5, "{label}: {rolled} {}", path.length_m());
            assert!(kept_m <= clearance_m + 0.025, "{label}: its card keeps more than the best known");
            cards += 1;
        }
    }
    worst.print("gate as drawn");
    assert!(ways >= 45 && cards == 10 && refused >= 10, "{ways} ways, {cards} cards, {refused} refused");
}
