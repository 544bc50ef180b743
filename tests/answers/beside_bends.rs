//! Backing in and leaving at a gate beside a curved road: the lane turns along the way, and none of it is straight near the
//! gate.
use serde_json::{Value, json};
use wideenough::geometry::Point;
use wideenough::opening::{CaseLane, DrawnGate, StudyOptions, Wanted, study};
use wideenough::site::{Visit, read};
use wideenough::vehicle::find;

/// Point of a road of this radius, so far along it from the gate; the gate is on the inside where the radius is positive.
fn on_arc(radius_m: f64, along_m: f64) -> Point {
    let p = Point::at_angle(along_m / radius_m) * radius_m;
    Point::new(p.y, p.x - radius_m)
}

/// A gate 5.5 m behind the edge of a 6-m road of this radius in meters; drawn in chords, this number of them to either side
/// of the gate.
fn beside_curve(radius_m: f64, chords: i32) -> Value {
    const HALF_M: f64 = 45.0;
    let arc = (-chords..=chords).map(|k| on_arc(radius_m, HALF_M * f64::from(k) / f64::from(chords)));
    let drive = [(-5.0, -2.5), (5.0, -2.5), (2.8, -7.5), (2.8, -40.0), (-2.8, -40.0), (-2.8, -7.5)];
    place(arc.collect(), "both", &drive, 2.1)
}

/// A gate 5.5 m behind the edge of a 6-m road, this much of it to either side of its middle; the road as a line.
fn place(road: Vec<Point>, continues: &str, drive: &[(f64, f64)], half_m: f64) -> Value {
    let road: Vec<[f64; 2]> = road.iter().map(|p| [p.x, p.y]).collect();
    let drive: Vec<[f64; 2]> = drive.iter().chain(drive.first()).map(|(x, y)| [*x, *y]).collect();
    let feature = |properties: Value, kind: &str, coordinates: Value| json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } });
    json!({
        "type": "FeatureCollection",
        "plan": { "coordinates": "local-m" },
        "features": [
            feature(json!({ "role": "road", "width": 6, "continues": continues }), "LineString", json!(road)),
            feature(json!({ "role": "drive" }), "Polygon", json!([drive])),
            feature(json!({ "role": "gate" }), "LineString", json!([[half_m, -8.5], [-half_m, -8.5]])),
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

/// A trailer turns around in a yard and leaves along the curve by which it came, though the lane holds it only past the end of
/// the curve: the gate is on the outside, 4 m before the road ends. Once no way out was found.
#[test]
fn a_trailer_leaves_along_a_curve_to_where_its_lane_holds_it() {
    const RADIUS_M: f64 = -32.0;
    const CURVE_M: f64 = 40.0;
    let begins = on_arc(RADIUS_M, -CURVE_M);
    let straight = begins - Point::at_angle(CURVE_M / RADIUS_M) * 45.0;
    let arc = (0..=24).map(|k| on_arc(RADIUS_M, -CURVE_M + (CURVE_M + 4.0) / 24.0 * f64::from(k)));
    let road: Vec<Point> = std::iter::once(straight).chain(arc).collect();
    let neck = [(-5.0, -2.5), (5.0, -2.5), (3.0, -7.5), (3.0, -10.5)];
    let yard = [(13.5, -10.5), (13.5, -37.5), (-13.5, -37.5), (-13.5, -10.5), (-3.0, -10.5), (-3.0, -7.5)];
    let plan = place(road, "start", &[neck.as_slice(), &yard].concat(), 2.9);
    let site = read(&plan.to_string(), "curve").expect("a sound plan");
    let vehicle = find("pickup-bumper-pull-20").expect("a vehicle of the library");
    let wanted = Wanted { vehicle, visits: vec![Visit::TurnAround], travels: Vec::new() };
    let done = study(site, &[wanted], &StudyOptions { changes: false, ..StudyOptions::default() }, &|_| ());
    let out =
        done.cases.iter().find(|case| case.lane == CaseLane::Leaving).expect("a way out by the other lane");
    let (bare_m, comfortable_m) = (out.bare.opening_m, out.comfortable.opening_m);
    println!("out at {bare_m:?}, in comfort {comfortable_m:?}");
    // On a straight road it needs 2.80 m, and 3.40 m in comfort.
    assert!(bare_m.is_some_and(|m| m < 2.9) && comfortable_m.is_some_and(|m| m < 3.5));
    assert_eq!(done.turns.iter().map(|turn| turn.verdict()).collect::<Vec<_>>(), [DrawnGate::Comfortable]);
}
