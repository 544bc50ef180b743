//! Places where something stands or runs where people seldom draw it: a road that crosses the gate line within the opening or
//! just beyond it, a low wall beside one post, a crown over the road. No answer there is kinder than its own contacts.
use serde_json::{Value, json};
use wideenough::opening::{DrawnGate, Outcome, Study, StudyOptions, Wanted, study};
use wideenough::site::read;
use wideenough::vehicle::find;

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

fn road(properties: &Value, line: &Value) -> Value {
    let mut properties = properties.clone();
    properties["role"] = json!("road");
    feature(&properties, "LineString", line)
}

/// The study of one vehicle, with every answer held against its own contacts: none nearer than what it says it keeps.
fn studied(vehicle: &str, travels: &[&str], features: &[Value]) -> Study {
    let plan =
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": features });
    let site = read(&plan.to_string(), "odd place").unwrap();
    let travels = travels.iter().map(|&word| word.to_owned()).collect();
    let wanted = Wanted { vehicle: find(vehicle).unwrap(), visits: Vec::new(), travels };
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let study = study(site, &[wanted], &options, &|_| {});
    for case in &study.cases {
        let name = format!("{} {:?}", case.travel, case.maneuver);
        if case.comfortable.outcome == Outcome::Found {
            let least_m = case.contacts.iter().map(|c| c.gap_m).fold(f64::INFINITY, f64::min);
            assert!(least_m > study.clearance_m - 0.002, "{name}: {least_m} m, {:?}", case.contacts);
        }
        if let Some(kept_m) = case.drawn.clearance_m {
            let least_m = case.drawn.contacts.iter().map(|c| c.gap_m).fold(f64::INFINITY, f64::min);
            assert!(least_m > kept_m - 0.006, "{name}, as drawn: {least_m} m of {kept_m} m");
        }
    }
    study
}

/// A lane narrower than the gate ends in it, a little askew: its edges cross the gate line between the posts. The truck is
/// 3.05 m wide over its mirrors, and these meet the posts.
#[test]
fn a_lane_that_ends_in_the_opening_narrows_no_vehicle() {
    let truck = find("box-truck-26").unwrap();
    let over_mirrors_m = truck.units[0].widest_m();
    let study = studied(
        "box-truck-26",
        &[],
        &[
            road(&json!({ "width": 3, "continues": "start" }), &json!([[0, -60], [0, -0.05]])),
            feature(
                &json!({ "role": "gate", "leaves": "none" }),
                "LineString",
                &json!([[-2, -0.3], [2, 0.3]]),
            ),
        ],
    );
    for case in &study.cases {
        let bare_m = case.bare.opening_m.unwrap_or(f64::INFINITY);
        assert!(bare_m > over_mirrors_m - 1e-6, "{:?}: {bare_m} m", case.maneuver);
    }
    assert!(study.cases.iter().any(|case| case.bare.outcome == Outcome::Found));
}

/// A side road crosses the gate line just beyond a post. What drives on it passes the post and a leaf that runs back across
/// it, or has no answer.
#[test]
fn a_road_beside_the_gate_leads_past_its_post_and_leaf() {
    let post = json!({ "width": 0.2, "depth": 0.2, "top": 3 });
    let gate = |width: f64, leaves: &str| {
        let mut words =
            json!({ "role": "gate", "leaves": leaves, "post": post, "width": width, "bearing": 0 });
        if leaves == "slide" {
            words["hinge"] = json!("right");
        }
        feature(&words, "Point", &json!([0, 0]))
    };
    let front = |width: f64, y: f64| {
        road(&json!({ "width": width, "continues": "both", "label": "front" }), &json!([[-80, y], [80, y]]))
    };
    let side = |width: f64, x: f64, y: f64| {
        road(&json!({ "width": width, "continues": "end", "label": "side" }), &json!([[x, y], [x, 40]]))
    };
    studied(
        "box-truck-26",
        &["southbound"],
        &[front(40.0, -35.0), side(2.8, 3.55, -35.0), gate(2.6, "none")],
    );
    studied("car", &[], &[front(9.0, -16.0), side(2.0, 3.25, -16.0), gate(4.0, "none")]);
    studied("car", &["southbound"], &[front(9.0, -16.0), side(2.4, 4.2, -16.0), gate(4.0, "slide")]);
}

/// A low wall in line with the gate, which tires alone can meet, counts beside the right post as beside the left.
#[test]
fn a_low_wall_counts_beside_either_post() {
    let with_wall = |sign: f64| {
        let post = json!({ "width": 0.2, "depth": 0.2, "top": 1.5 });
        let wall = json!({ "role": "fence", "thickness": 0.9, "top": 0.15 });
        let study = studied(
            "box-truck-26",
            &[],
            &[
                road(&json!({ "width": 6, "continues": "both" }), &json!([[-80, -5], [80, -5]])),
                feature(
                    &json!({ "role": "gate", "leaves": "none", "post": post }),
                    "LineString",
                    &json!([[-2.2, 0], [2.2, 0]]),
                ),
                feature(&wall, "LineString", &json!([[sign * 2.4, 0], [sign * 20.0, 0]])),
            ],
        );
        let mut openings: Vec<f64> =
            study.cases.iter().filter_map(|case| case.comfortable.opening_m).collect();
        openings.sort_by(f64::total_cmp);
        openings
    };
    let (left, right) = (with_wall(-1.0), with_wall(1.0));
    assert_eq!(left.len(), right.len());
    assert!(left.iter().zip(&right).all(|(a, b)| (a - b).abs() < 0.001 * a), "{left:?} {right:?}");
}

/// A crown over the road and the gate, lower than the truck, with a dent in its outline: the truck starts under it and crosses
/// none of its edges.
#[test]
fn a_crown_over_everything_stops_a_high_vehicle() {
    let crown = json!([[-32, -13], [32, -13], [32, 18], [1, 18], [0, 17], [-1, 18], [-32, 18], [-32, -13]]);
    let study = studied(
        "box-truck-26",
        &[],
        &[
            road(&json!({ "width": 6, "continues": "both" }), &json!([[-80, -9], [80, -9]])),
            feature(
                &json!({ "role": "gate", "leaves": "none" }),
                "LineString",
                &json!([[-2.5, 0], [2.5, 0]]),
            ),
            feature(
                &json!({ "role": "obstacle", "label": "crown", "bottom": 2.5 }),
                "Polygon",
                &json!([crown]),
            ),
        ],
    );
    assert!(study.cases.iter().all(|case| case.drawn_gate == DrawnGate::No));
}
