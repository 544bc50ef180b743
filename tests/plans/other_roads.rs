//! Roads other than the nearest: which of them vehicles come to the gate along, in which directions, and from where.
use rstest::rstest;
use serde_json::{Value, json};
use wideenough::site::{Site, read};

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

/// A gate of 4 m at the origin with the inside above it, a road 6 m wide whose middle is 8 m before the gate, and more.
fn site(more: &[Value]) -> Site {
    site_with(&json!({ "coordinates": "local-m" }), more)
}

fn site_with(settings: &Value, more: &[Value]) -> Site {
    let gate = feature(&json!({ "role": "gate" }), "LineString", &json!([[-2, 0], [2, 0]]));
    let mut features = vec![named_road("front", 6.0, &[(-80.0, -8.0), (80.0, -8.0)]), gate];
    features.extend_from_slice(more);
    let plan = json!({ "type": "FeatureCollection", "plan": settings, "features": features });
    read(&plan.to_string(), "plan").unwrap_or_else(|error| panic!("{error}"))
}

fn named_road(label: &str, width_m: f64, points: &[(f64, f64)]) -> Value {
    feature(&json!({ "role": "road", "label": label, "width": width_m }), "LineString", &json!(points))
}

fn side(points: &[(f64, f64)]) -> Value {
    named_road("side", 6.0, points)
}

fn drive(corners: &[(f64, f64)]) -> Value {
    feature(&json!({ "role": "drive" }), "Polygon", &json!([corners]))
}

/// The words of the directions along other roads than the nearest.
fn words(site: &Site) -> Vec<String> {
    site.travels().into_iter().filter(|travel| travel.road > 0).map(|travel| travel.word).collect()
}

#[rstest]
#[case::opposite_the_gate(&[side(&[(3.0, -60.0), (3.0, -8.0)])], &["northbound on side"])]
#[case::drawn_to_the_edge_of_the_first(&[side(&[(3.0, -60.0), (3.0, -11.0)])], &["northbound on side"])]
#[case::drawn_from_the_junction(&[side(&[(3.0, -8.0), (3.0, -60.0)])], &["northbound on side"])]
#[case::beside_the_gate_on_its_own_side(&[side(&[(15.0, 60.0), (15.0, -8.0)])], &["southbound on side"])]
#[case::crossing(&[side(&[(15.0, 60.0), (15.0, -60.0)])], &["southbound on side", "northbound on side"])]
#[case::crossing_and_short_on_one_side(&[side(&[(15.0, 10.0), (15.0, -60.0)])], &["northbound on side"])]
#[case::a_frontage_lane_beside_the_first(
    &[side(&[(-80.0, -14.5), (80.0, -14.5)]), drive(&[(-9.0, -12.0), (9.0, -12.0), (9.0, 20.0), (-9.0, 20.0), (-9.0, -12.0)])],
    &["eastbound on side", "westbound on side"]
)]
#[case::a_frontage_lane_that_touches_the_first(
    &[side(&[(-80.0, -14.0), (80.0, -14.0)])],
    &["eastbound on side", "westbound on side"]
)]
#[case::beside_the_gate_and_drawn_to_the_edge_of_the_first(
    &[side(&[(15.0, 60.0), (15.0, -5.0)])],
    &["southbound on side"]
)]
#[case::beside_the_gate_and_drawn_short_of_the_edge(
    &[side(&[(15.0, 60.0), (15.0, -3.5)])],
    &["southbound on side"]
)]
#[case::parted_from_the_first_by_a_verge(&[side(&[(-80.0, -16.0), (80.0, -16.0)])], &[])]
#[case::inside_the_yard(&[side(&[(-80.0, 15.0), (80.0, 15.0)])], &[])]
#[case::inside_the_yard_with_a_drive_to_it(
    &[side(&[(-80.0, 15.0), (80.0, 15.0)]), drive(&[(-3.0, -8.0), (3.0, -8.0), (3.0, 20.0), (-3.0, 20.0), (-3.0, -8.0)])],
    &[]
)]
#[case::a_turnaround_beside_the_first(&[feature(
    &json!({ "role": "road", "label": "court" }),
    "Polygon",
    &json!([[(-15, -37), (15, -37), (15, -10), (-15, -10), (-15, -37)]])
)], &[])]
#[case::far_away(&[side(&[(40.0, -60.0), (40.0, -8.0)])], &[])]
#[case::too_short_to_come_from(&[side(&[(3.0, -25.0), (3.0, -8.0)])], &[])]
#[case::where_the_first_ends(&[side(&[(80.0, -8.0), (80.0, 60.0)])], &[])]
#[case::two_of_one_name(
    &[side(&[(3.0, -60.0), (3.0, -8.0)]), side(&[(16.0, -60.0), (16.0, -8.0)])],
    &["northbound on side 2", "northbound on side 3"]
)]
#[case::numbered_names_that_are_taken(
    &[
        side(&[(3.0, -60.0), (3.0, -8.0)]),
        side(&[(16.0, -60.0), (16.0, -8.0)]),
        named_road("side 2", 6.0, &[(-15.0, -60.0), (-15.0, -8.0)])
    ],
    &["northbound on side 6", "northbound on side 2", "northbound on side 4"]
)]
fn a_road_that_leads_to_the_gate_has_its_directions(#[case] more: &[Value], #[case] expected: &[&str]) {
    assert_eq!(words(&site(more)), expected);
}

#[test]
fn a_direction_begins_before_the_junction_and_leaves_by_its_own_road() {
    let crossing = site(&[side(&[(15.0, 60.0), (15.0, -60.0)])]);
    let of =
        |word: &str| crossing.travels().into_iter().find(|travel| travel.word == word).expect("a direction");
    // Southbound vehicles pass the gate's line before they reach the first road; northbound ones leave that road's far edge
    // behind at y = -5.
    let (south, north) = (of("southbound on side"), of("northbound on side"));
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    close(south.beside_gate.y, 0.0);
    close(south.lane.upstream_m, 60.0);
    close(north.beside_gate.y, -5.0);
    close(north.lane.upstream_m, 55.0);
    // On the right.
    close(south.lane.centerline[0].x, 13.5);
    close(north.lane.centerline[0].x, 16.5);
    assert!(!crossing.is_dead_end_ahead(&south) && !crossing.is_dead_end_ahead(&north));

    let stub = site(&[side(&[(3.0, -60.0), (3.0, -8.0)])]);
    let out: Vec<String> =
        stub.ways_out().into_iter().filter(|out| out.road > 0).map(|out| out.word).collect();
    assert_eq!(out, ["southbound on side"]);
}

#[test]
fn a_plan_asks_for_one_road_or_the_other() {
    let crossing = site(&[side(&[(-60.0, -30.0), (3.0, -8.0)])]);
    let asked = |word: &str| -> Vec<usize> {
        crossing
            .travels()
            .into_iter()
            .filter(|travel| travel.is_called(word))
            .map(|travel| travel.road)
            .collect()
    };
    assert_eq!((asked("eastbound"), asked("eastbound on side")), (vec![0], vec![1]));
    // A plan may name a direction by the compass, whether or not its words are those.
    let unknown = json!({ "coordinates": "local-m", "north": "unknown" });
    let crossing = site_with(&unknown, &[side(&[(-60.0, -30.0), (3.0, -8.0)])]);
    let travel = &crossing.travels()[2];
    assert_eq!(
        (travel.word.as_str(), travel.compass.as_str()),
        ("from the left on side", "eastbound on side")
    );
    assert!(travel.is_called("eastbound on side") && travel.is_called("from the left on side"));
}
