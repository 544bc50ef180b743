//! Backing in at a gate beside a curved road: the lane turns along the way, and none of it is straight near the gate.
use serde_json::{Value, json};
use wideenough::geometry::Point;
use wideenough::opening::{StudyOptions, Wanted, study};
use wideenough::site::{Visit, read};
use wideenough::vehicle::find;

/// A gate 5.5 m behind the edge of a 6-m road of this radius in meters, positive where the gate is on the inside of the
/// curve; drawn in chords, this number of them to either side of the gate.
fn beside_curve(radius_m: f64, chords: i32) -> Value {
    const HALF_M: f64 = 45.0;
    let on_arc = |k: i32| {
        let p = Point::at_angle(HALF_M / radius_m * f64::from(k) / f64::from(chords)) * radius_m;
        [p.y, p.x - radius_m]
    };
    let arc: Vec<[f64; 2]> = (-chords..=chords).map(on_arc).collect();
    let feature = |properties: Value, kind: &str, coordinates: Value| json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } });
    let drive =
        json!([[[-5, -2.5], [5, -2.5], [2.8, -7.5], [2.8, -40], [-2.8, -40], [-2.8, -7.5], [-5, -2.5]]]);
    json!({
        "type": "FeatureCollection",
        "plan": { "coordinates": "local-m" },
        "features": [
            feature(json!({ "role": "road", "width": 6, "continues": "both" }), "LineString", json!(arc)),
            feature(json!({ "role": "drive" }), "Polygon", drive),
            feature(json!({ "role": "gate" }), "LineString", json!([[2.1, -8.5], [-2.1, -8.5]])),
        ]
    })
}

/// From either direction a trailer is pushed back beside a curve as beside a straight road, to a few percent: on the inside
/// and the outside, drawn in few chords and in many. Once about half of these were not found.
#[test]
fn a_trailer_backs_in_beside_a_curve() {
    for (vehicle, radius_m, chords) in [
        ("pickup-travel-trailer", 1e4, 1),
        ("pickup-travel-trailer", 38.0, 41),
        ("pickup-travel-trailer", 45.0, 20),
        ("pickup-travel-trailer", -45.0, 15),
        ("car-boat-trailer", 45.0, 15),
    ] {
        let site = read(&beside_curve(radius_m, chords).to_string(), "curve").expect("a sound plan");
        let vehicle = find(vehicle).expect("a vehicle of the library");
        let wanted = Wanted { vehicle, visits: vec![Visit::BackInDriveOut], travels: Vec::new() };
        let options = StudyOptions { changes: false, ..StudyOptions::default() };
        let done = study(site, &[wanted], &options, &|_| ());
        let all: Vec<Option<f64>> = done.cases.iter().map(|case| case.bare.opening_m).collect();
        let place = format!("{}, {radius_m} m, {chords} chords: {all:?}", done.vehicles[0].name);
        let most_m = all.iter().map(|m| m.unwrap_or(f64::INFINITY)).fold(0.0, f64::max);
        assert!(all.len() == 2 && most_m < 3.15, "{place}");
        println!("{place}");
    }
}
