//! Vehicles that come along roads other than the nearest: what they need counts, unless no gate would let them in.
use serde_json::{Value, json};
use wideenough::opening::{Outcome, Study, StudyOptions, Verdict, Wanted, study, vehicle_verdict};
use wideenough::site::{Maneuver, Visit, read};
use wideenough::vehicle::find;

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

fn road(label: &str, width_m: f64, points: &[(f64, f64)]) -> Value {
    feature(&json!({ "role": "road", "label": label, "width": width_m }), "LineString", &json!(points))
}

/// Study of driving in with a gate of 5 m at the origin and these features.
fn studied(vehicle: &str, travels: &[&str], features: Vec<Value>) -> Study {
    studied_by(Visit::DriveInBackOut, vehicle, travels, features)
}

fn studied_by(visit: Visit, vehicle: &str, travels: &[&str], mut features: Vec<Value>) -> Study {
    features.push(feature(&json!({ "role": "gate" }), "LineString", &json!([[-2.5, 0], [2.5, 0]])));
    let plan =
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": features });
    let site = read(&plan.to_string(), "plan").expect("a sound plan");
    let wanted = Wanted {
        vehicle: find(vehicle).expect("a vehicle of the library"),
        visits: vec![visit],
        travels: travels.iter().map(|word| (*word).to_owned()).collect(),
    };
    study(site, &[wanted], &StudyOptions { changes: false, ..StudyOptions::default() }, &|_| ())
}

/// The bare opening of driving in by a direction of travel; `None` if it was not found.
fn bare_m(study: &Study, travel: &str) -> Option<f64> {
    bare_by(study, travel, Maneuver::DriveIn)
}

fn bare_by(study: &Study, travel: &str, maneuver: Maneuver) -> Option<f64> {
    let mut cases = study.cases.iter();
    let case = cases.find(|case| case.travel == travel && case.maneuver == maneuver);
    case.expect("a case of that direction").bare.opening_m
}

/// A lane 3 m wide in front of the gate, and the through road beside it, which is the harder to turn in from: it leaves no
/// room to line up. Once only the lane was studied.
#[test]
fn the_harder_road_sets_the_need() {
    let features = vec![
        road("lane", 3.0, &[(-60.0, -4.0), (0.0, -4.0)]),
        road("through road", 6.0, &[(-60.0, -8.4), (60.0, -8.4)]),
    ];
    let done = studied("box-truck-16", &[], features);
    let mut words: Vec<&str> = done.cases.iter().map(|case| case.travel.as_str()).collect();
    words.dedup();
    assert_eq!(words, ["eastbound", "eastbound on through road", "westbound on through road"]);
    let all: Vec<f64> = words.iter().filter_map(|word| bare_m(&done, word)).collect();
    let most = all.iter().copied().fold(0.0, f64::max);
    assert_eq!((all.len(), done.needs[0].bare_opening_m), (3, Some(most)));
    // Along the lane a truck may use the road beside it to swing out; from the road's near half it has no such room.
    assert!(all[2] > 1.5 * all[0], "{all:?}");
}

/// A narrow side road with square corners, on which no truck can turn on to the road in front.
fn narrow_side_road() -> Vec<Value> {
    let apron = json!([[
        [-9.0, -6.5],
        [9.0, -6.5],
        [4.0, 0.0],
        [4.0, 20.0],
        [-4.0, 20.0],
        [-4.0, 0.0],
        [-9.0, -6.5]
    ]]);
    vec![
        road("front road", 6.0, &[(-80.0, -9.0), (80.0, -9.0)]),
        road("side road", 4.0, &[(16.0, -70.0), (16.0, -9.0)]),
        feature(&json!({ "role": "drive" }), "Polygon", &apron),
    ]
}

const FROM_THE_SIDE: &str = "northbound on side road";

#[test]
fn a_corner_that_no_gate_mends_is_left_out_and_named() {
    let done = studied("box-truck-26", &[], narrow_side_road());
    assert!(done.cases.iter().all(|case| case.travel != FROM_THE_SIDE));
    assert_eq!(vehicle_verdict(&done, 0), Verdict::Comfortable);
    assert_eq!(
        done.notes,
        [
            "Box truck, 26-ft box, northbound on side road, is left out: even with no gate, fence or obstacle, no way from \
          there was found on the ground as drawn. If the corners of the junction are rounded, draw them as a drive."
        ]
    );
    // A direction that is asked for stays.
    let asked = studied("box-truck-26", &[FROM_THE_SIDE], narrow_side_road());
    assert_eq!((bare_m(&asked, FROM_THE_SIDE), vehicle_verdict(&asked, 0)), (None, Verdict::No));
    // Corners drawn as a drive let it in.
    let mut rounded = narrow_side_road();
    let corner = json!([[[14.1, -11.9], [4.0, -11.9], [14.1, -24.0], [14.1, -11.9]]]);
    rounded.push(feature(&json!({ "role": "drive" }), "Polygon", &corner));
    let done = studied("box-truck-26", &[], rounded);
    assert!(bare_m(&done, FROM_THE_SIDE).is_some_and(|opening_m| opening_m < 5.0), "{:?}", done.notes);
}

/// What stands in the way is a reason against the plan, not against the direction.
#[test]
fn a_wall_before_the_gate_is_no_reason_to_leave_a_direction_out() {
    let wall = feature(
        &json!({ "role": "obstacle", "label": "wall", "thickness": 0.3 }),
        "LineString",
        &json!([[8.0, -12.3], [24.0, -12.3]]),
    );
    let mut features = narrow_side_road();
    features.push(wall);
    let done = studied("car", &[], features);
    let case = done.cases.iter().find(|case| case.travel == FROM_THE_SIDE).expect("a case");
    assert!(matches!(&case.bare.outcome, Outcome::GaveUp(_) | Outcome::Impossible(_)));
    assert_eq!(vehicle_verdict(&done, 0), Verdict::No);
}

/// A side road as wide as the road in front, with its corner near the gate or opposite it.
fn wide_side_road(at_x: f64) -> Vec<Value> {
    let mut side = road("side road", 6.0, &[(at_x, -90.0), (at_x, -11.0)]);
    side["properties"]["continues"] = json!("start");
    let mut front = road("front road", 6.0, &[(-120.0, -11.0), (120.0, -11.0)]);
    front["properties"]["continues"] = json!("both");
    let yard = json!([[
        [-4.0, -11.0],
        [4.0, -11.0],
        [4.0, 0.0],
        [20.0, 2.0],
        [20.0, 45.0],
        [-20.0, 45.0],
        [-20.0, 2.0],
        [-4.0, 0.0],
        [-4.0, -11.0]
    ]]);
    vec![front, side, feature(&json!({ "role": "drive" }), "Polygon", &yard)]
}

/// A trailer from a side road is in line again once it has passed the gate, and backs in as one that came along the road
/// in front. Once no way in was found.
#[test]
fn a_trailer_from_a_side_road_backs_in_like_one_from_the_road_in_front() {
    for at_x in [-16.0, 16.0] {
        let travels = ["eastbound", "westbound", FROM_THE_SIDE];
        let done = studied_by(Visit::BackInDriveOut, "pickup-bumper-pull-20", &travels, wide_side_road(at_x));
        let all: Vec<f64> =
            travels.iter().map(|word| bare_by(&done, word, Maneuver::BackIn).expect("a way in")).collect();
        assert!(all[2] <= 1.01 * all[0].min(all[1]), "side road {at_x} m from the gate: {all:?}");
    }
}
