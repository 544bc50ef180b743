//! Starts that are put back along the lane.
use super::super::scene::scene;
use super::*;

/// A start beside the gate is put back along its lane, but not through what stands there: with a rock in the lane beside
/// the gate a pickup starts before the gate.
#[test]
fn nothing_is_put_back_through_a_rock() {
    let ends_m = |rock: &str| {
        let plan = format!(
            r#"{{ "type": "FeatureCollection", "plan": {{ "coordinates": "local-m" }}, "features": [
            {{ "type": "Feature", "properties": {{ "role": "road", "width": "6 m", "continues": "both" }},
              "geometry": {{ "type": "LineString", "coordinates": [[-80, -5], [80, -5]] }} }}, {rock}
            {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "none" }},
              "geometry": {{ "type": "LineString", "coordinates": [[-2, 0], [2, 0]] }} }} ] }}"#
        );
        let site = crate::site::read(&plan, "plan").unwrap();
        let travel = site.travels().into_iter().find(|t| t.word == "eastbound").unwrap();
        let [bare, _] = lanes(&scene(&site, travel), &crate::vehicle::find("pickup").unwrap(), [0.0, 0.3]);
        (bare.zones.last().unwrap().stations_m.1, bare.upstream_m)
    };
    let rock = r#"{ "type": "Feature", "properties": { "role": "obstacle", "radius": "0.3 m" },
        "geometry": { "type": "Point", "coordinates": [0, -6.5] } },"#;
    let (free_m, upstream_m) = ends_m("");
    assert!(free_m > upstream_m + 10.0, "{free_m} {upstream_m}");
    let (end_m, upstream_m) = ends_m(rock);
    assert!(end_m <= upstream_m + 1e-9, "{end_m} {upstream_m}");
}

/// A start that is put back along the lane keeps its distance from a slight bend past the gate: on the corner itself
/// rounding would decide which way it faces.
#[test]
fn a_start_stays_off_the_corner_past_the_gate() {
    let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
        { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
          "geometry": { "type": "LineString", "coordinates": [[-80, -5], [30, -5], [80, -5.5]] } },
        { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
          "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
    let site = crate::site::read(plan, "plan").unwrap();
    let travel = site.travels().into_iter().find(|t| t.word == "eastbound").unwrap();
    let [lane, _] = lanes(&scene(&site, travel), &crate::vehicle::find("pickup").unwrap(), [0.0, 0.3]);
    let corner_m = lane.line[0].distance(lane.line[1]);
    let end_m = lane.zones.last().unwrap().stations_m.1;
    assert!(end_m > corner_m - 0.02 && end_m < corner_m - 0.005, "{end_m} and {corner_m}");
}
