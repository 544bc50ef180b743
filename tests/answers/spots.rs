//! Spots far behind the gate, on open ground: a vehicle that gets through the gate gets to them, and the gate needs to be little
//! wider for it.
use serde_json::{Value, json};
use wideenough::opening::{Outcome, StudyOptions, Wanted, study};
use wideenough::site::read;
use wideenough::vehicle::find;

/// Opening needed by each way in to a spot, bare and in comfort: a 16-ft gate 15 ft from a 20-ft road, lengths in feet.
fn needs(vehicle: &str, spot: Option<([f64; 2], f64)>) -> Vec<(String, [Option<f64>; 2])> {
    let feature = |properties: &Value, kind: &str, coordinates: &Value| -> Value {
        json!({ "type": "Feature", "properties": properties,
            "geometry": { "type": kind, "coordinates": coordinates } })
    };
    let road = json!({ "role": "road", "width": "20 ft", "continues": "both" });
    let mut features = vec![
        feature(&road, "LineString", &json!([[-150, 0], [150, 0]])),
        feature(&json!({ "role": "gate" }), "LineString", &json!([[-8, 25], [8, 25]])),
    ];
    if let Some((at, heading)) = spot {
        features.push(feature(&json!({ "role": "spot", "heading_deg": heading }), "Point", &json!(at)));
    }
    let plan =
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-ft" }, "features": features });
    let site = read(&plan.to_string(), "bay").expect("a sound plan");
    let wanted =
        Wanted { vehicle: find(vehicle).expect("in the library"), visits: Vec::new(), travels: Vec::new() };
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let study = study(site, &[wanted], &options, &|_| {});
    let opening = |case: &wideenough::opening::Case| {
        [&case.bare, &case.comfortable].map(|answer| match answer.outcome {
            Outcome::Found => answer.opening_m,
            _ => None,
        })
    };
    study
        .searched()
        .map(|case| (format!("{} {}", case.travel, case.maneuver.word()), opening(case)))
        .collect()
}

/// A bay 40 ft to the right and 65 ft in, across the way in: a pickup and a truck turn into it far behind the gate, so they need
/// what they need without it, but for what two searches differ by and the turn of the truck's wheels.
#[test]
fn a_bay_across_the_way_in_is_reached() {
    for vehicle in ["pickup", "box-truck-26"] {
        let (without, with) = (needs(vehicle, None), needs(vehicle, Some(([40.0, 90.0], 90.0))));
        assert_eq!(without.len(), 4);
        for ((way, free), (_, bay)) in without.iter().zip(&with) {
            println!("{vehicle} {way}: {free:?} {bay:?}");
            for (free, bay) in free.iter().zip(bay) {
                let (free, bay) = (free.expect("found without a spot"), bay.expect("found with one"));
                assert!(bay < 1.05 * free && bay > 0.995 * free, "{vehicle} {way}: {free} m, then {bay} m");
            }
        }
    }
}

/// A bay to the left is the mirror image of one to the right.
#[test]
fn a_mirrored_bay_needs_the_same() {
    let right = needs("pickup", Some(([40.0, 90.0], 90.0)));
    let left = needs("pickup", Some(([-40.0, 90.0], 270.0)));
    for (way, from_left) in &right {
        let mirrored = if let Some(rest) = way.strip_prefix("east") {
            format!("west{rest}")
        } else {
            way.replace("west", "east")
        };
        let (_, from_right) = left.iter().find(|(other, _)| *other == mirrored).expect("the other direction");
        for (a, b) in from_left.iter().zip(from_right) {
            let (a, b) = (a.expect("found"), b.expect("found"));
            assert!((a / b - 1.0).abs() < 1e-3, "{way}: {a} m, mirrored {b} m");
        }
    }
}

/// A trailer comes into line on the straight way before its spot, so it may turn in wider than without one: a fifth at most.
#[test]
fn a_trailer_is_driven_into_line_with_its_spot() {
    let vehicle = "pickup-travel-trailer";
    let (without, with) = (needs(vehicle, None), needs(vehicle, Some(([40.0, 90.0], 90.0))));
    let mut seen = 0;
    for ((way, free), (_, bay)) in without.iter().zip(&with).filter(|((way, _), _)| way.ends_with("drive-in"))
    {
        println!("{way}: {free:?} {bay:?}");
        for (free, bay) in free.iter().zip(bay) {
            let (free, bay) = (free.expect("found without a spot"), bay.expect("found with one"));
            assert!(bay < 1.2 * free, "{way}: {free} m, then {bay} m");
            seen += 1;
        }
    }
    assert_eq!(seen, 4);
}
