//! Turns inside, of the committed examples: driven again by the plain method and held to the rules of a turn; and the
//! verdict on each vehicle, put together again from its parts.
use super::examples::{EXAMPLES, example, listed, on_the_ground, pose_in_gate};
use super::{TINY_M, Worst, extent_v, within_limits};
use crate::common::plain::{Moment, contact, drive, look, polygon, ring_to_gate, standing};
use geo::Contains;
use serde_json::Value;
use std::fs;
use wideenough::motion::{Direction, Path, State};
use wideenough::site::{Faces, Site};
use wideenough::vehicle::{Vehicle, find};

/// Rounding of the numbers written: a length to a micrometer, rounded up.
const WRITTEN_M: f64 = 2e-6;

fn results(name: &str) -> Value {
    let file = format!("{}/out/{name}/results.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&fs::read_to_string(file).expect("results")).expect("JSON")
}

/// The distance driven until each moment.
fn stations(moments: &[Moment]) -> Vec<f64> {
    let mut driven = 0.0;
    let mut list = vec![0.0];
    for pair in moments.windows(2) {
        driven += pair[0].units[0].at.distance(pair[1].units[0].at);
        list.push(driven);
    }
    list
}

/// Holds one turn to all its rules, or says which of them it breaks.
fn hold(
    site: &Site,
    vehicle: &Vehicle,
    turn: &Value,
    path: &Path,
    clearance_m: f64,
    worst: &mut Worst,
) -> Result<(), String> {
    let lead = pose_in_gate(&site.gate, path.start.lead);
    let path = Path { start: State { lead, ..path.start }, legs: path.legs.clone() };
    let moments = drive(vehicle, &path);
    within_limits(vehicle, &path, &moments, 1e-6)?;
    // Each change of direction is a stop, and it drives out forward.
    if path.legs.windows(2).any(|pair| pair[0].direction == pair[1].direction) {
        return Err("two legs in one direction".to_owned());
    }
    if path.legs.last().is_none_or(|leg| leg.direction != Direction::Forward) {
        return Err("it backs out".to_owned());
    }
    let before = u64::from(path.legs[0].direction == Direction::Reverse);
    let stops = u64::try_from(path.legs.len()).unwrap() - 1 + before;
    if turn["stops"].as_u64() != Some(stops) {
        return Err(format!("{stops} stops"));
    }
    // Wholly inside until it joins the way out, at last wholly outside, on a road.
    let depth = 0.5 * site.gate.post.depth_m;
    let turn_m = turn["turn_m"].as_f64().expect("a length");
    let stations = stations(&moments);
    let turning = moments.iter().zip(&stations).filter(|(_, station)| **station <= turn_m - WRITTEN_M);
    let inside = extent_v(vehicle, turning.map(|(moment, _)| moment));
    if inside.0 < depth - 1e-4 {
        return Err(format!("it comes out while it turns, to {}", inside.0));
    }
    if extent_v(vehicle, moments.first().into_iter()).0 < depth - 1e-5 {
        return Err("it does not start inside".to_owned());
    }
    let last = moments.last().expect("moments");
    if extent_v(vehicle, std::iter::once(last)).1 > -depth {
        return Err("it does not end outside".to_owned());
    }
    let roads: Vec<_> =
        site.roads.iter().map(|r| polygon(&ring_to_gate(&site.gate, &r.surface.outer), &[])).collect();
    for (unit, stand) in vehicle.units.iter().zip(&last.units) {
        for end in unit.tires.iter().flat_map(|tire| contact(stand, tire)) {
            if !roads.iter().any(|road| road.contains(&geo_types::Point::new(end.x, end.y))) {
                return Err(format!("a tire ends off the road, at {end:?}"));
            }
        }
    }
    // The gate as drawn, its leaves as long as drawn.
    let drawn_m = site.gate.opening_m();
    let faces = Faces::new(-0.5 * drawn_m, 0.5 * drawn_m);
    for things in standing(site, faces, drawn_m) {
        let seen = look(vehicle, &moments, &things, 0.0);
        worst.note("turns", 0, clearance_m - seen.least_m);
        if seen.least_m < clearance_m - TINY_M || seen.least_m <= 0.0 {
            return Err(format!("{} m from {}", seen.least_m, seen.to));
        }
    }
    on_the_ground(site, vehicle, &moments, "turn", worst);
    Ok(())
}

/// Each committed turn holds, and one that is moved 3 m to the right does not.
#[test]
fn the_committed_turns_hold() {
    let (mut worst, mut held) = (Worst::default(), 0);
    for name in EXAMPLES {
        let (site, results) = (example(name), results(name));
        for turn in results["turns"].as_array().expect("turns") {
            if turn["witness"].is_null() {
                continue;
            }
            let vehicle = find(turn["vehicle"].as_str().expect("a name")).expect("in the library");
            let path = listed(&turn["witness"]);
            let comfortable = turn["witness"]["clearance"] == "comfortable";
            assert_eq!(turn["drawn_gate"], if comfortable { "comfortable" } else { "tight" });
            let clearance_m = if comfortable { results["clearance_m"].as_f64().unwrap() } else { 0.0 };
            let label = format!("{name}: {} {}", turn["vehicle"], turn["travel"]);
            let fault = hold(&site, &vehicle, turn, &path, clearance_m, &mut worst);
            assert_eq!(fault, Ok(()), "{label}");
            let mut moved = path.clone();
            let aside = (site.gate.right - site.gate.left).unit().unwrap();
            moved.start.lead.position = moved.start.lead.position + aside * 3.0;
            let fault = hold(&site, &vehicle, turn, &moved, clearance_m, &mut Worst::default());
            assert!(fault.is_err(), "{label}: moved 3 m to the right it holds, too");
            held += 1;
        }
    }
    worst.print("committed turns");
    assert_eq!(held, 4, "a turn vanished");
}

/// The verdict on a vehicle that turns around inside is the worst of its parts: driving in, the way out and the turn,
/// from each direction of travel.
#[test]
fn the_verdict_of_a_visit_follows_from_its_parts() {
    let rank = |word: &Value| match word.as_str() {
        Some("comfortable") => 2,
        Some("tight") => 1,
        _ => 0,
    };
    let mut held = 0;
    for name in EXAMPLES {
        let results = results(name);
        let turns = results["turns"].as_array().expect("turns");
        for vehicle in results["vehicles"].as_array().expect("vehicles") {
            let of_it = |list: &'_ Value| -> Vec<Value> {
                let all = list.as_array().expect("a list").iter();
                all.filter(|one| one["vehicle"] == vehicle["vehicle"]).cloned().collect()
            };
            if !turns.iter().any(|turn| turn["vehicle"] == vehicle["vehicle"]) {
                continue;
            }
            let parts = of_it(&results["cases"]).into_iter().chain(of_it(&results["turns"]));
            let worst = parts.map(|part| rank(&part["drawn_gate"])).min().expect("parts");
            assert_eq!(rank(&vehicle["drawn_gate"]), worst, "{name}: {}", vehicle["vehicle"]);
            held += 1;
        }
    }
    assert_eq!(held, 2, "a vehicle vanished");
}
