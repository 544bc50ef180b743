//! Gates with more than one road, and a gate across a drive along the road: every answer is looked at by the judge.
use super::judge::Judge;
use super::{answers, generator, options, settle};
use serde_json::{Value, json};
use wideenough::opening::Outcome;
use wideenough::site::Maneuver;

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

fn road(label: &str, points: &[(f64, f64)]) -> Value {
    let properties = json!({ "role": "road", "label": label, "width": 6, "continues": "both" });
    feature(&properties, "LineString", &json!(points))
}

fn front() -> Value {
    road("front road", &[(-80.0, -9.0), (80.0, -9.0)])
}

/// A gate of 4 m at the origin, between fences.
fn gate() -> Vec<Value> {
    let fence =
        |from: f64, to: f64| feature(&json!({ "role": "fence" }), "LineString", &json!([[from, 0], [to, 0]]));
    let gate = feature(&json!({ "role": "gate", "leaves": "none" }), "LineString", &json!([[-2, 0], [2, 0]]));
    vec![gate, fence(-12.0, -2.2), fence(2.2, 9.0)]
}

/// Judges both maneuvers of a car and a truck, driving on either side; returns the directions from which the car was
/// found to drive in.
fn judged(name: &str, features: &[Value]) -> Vec<String> {
    let mut words = Vec::new();
    for side in ["right", "left"] {
        let plan = json!({ "type": "FeatureCollection", "features": features, "plan":
            { "coordinates": "local-m", "drives_on": side, "vehicles": ["car", "box-truck-16"] } });
        let site = generator::read(&plan).expect("a sound plan");
        let done = answers(&site, &[Maneuver::DriveIn, Maneuver::BackIn], &options());
        settle(name, &Judge::new(&site, &plan).faults(&done, name));
        let cars = done.cases.iter().filter(|c| c.vehicle == 0 && c.maneuver == Maneuver::DriveIn);
        let found = cars.filter(|c| c.bare.outcome == Outcome::Found);
        words.push(found.map(|c| c.travel.clone()).collect::<Vec<_>>());
    }
    assert_eq!(words[0], words[1]);
    words.swap_remove(0)
}

#[test]
fn a_crossing_beside_the_gate() {
    let mut features = vec![front(), road("side road", &[(14.0, -70.0), (14.0, 70.0)])];
    features.extend(gate());
    let words = ["eastbound", "westbound", "northbound on side road", "southbound on side road"];
    assert_eq!(judged("crossing", &features), words);
}

#[test]
fn a_side_road_at_an_angle() {
    let mut features = vec![front(), road("side road", &[(-40.0, -60.0), (-6.0, -9.0)])];
    // It ends at the front road.
    features[1]["properties"]["continues"] = json!("start");
    features.extend(gate());
    let words = ["eastbound", "westbound", "northeastbound on side road"];
    assert_eq!(judged("side road", &features), words);
}

#[test]
fn a_gate_across_a_drive_along_the_road() {
    let drive =
        json!([[[-26, -6.5], [-6, -6.5], [-6, -3], [30, -3], [30, 3], [-14, 3], [-22, -1], [-26, -6.5]]]);
    let features = [
        front(),
        feature(&json!({ "role": "drive" }), "Polygon", &drive),
        feature(&json!({ "role": "gate", "width": 5, "bearing": 90 }), "Point", &json!([0, 0])),
    ];
    assert_eq!(judged("side on", &features), ["eastbound", "westbound"]);
}
