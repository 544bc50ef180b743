//! Plans that contradict themselves, one small plan for each kind, with the whole message; and beside each a plan that
//! looks similar and means what it says.
use rstest::rstest;
use std::time::{Duration, Instant};
use wideenough::geometry::length::FOOT_M;
use wideenough::site::{read, short_roads};

const ROAD: &str = r#"{ "type": "Feature", "properties": { "role": "road", "width": "20 ft" }, "geometry": { "type": "LineString", "coordinates": [[-150, 0], [150, 0]] } }"#;
const OWN_LANES: &str = r#"{ "type": "Feature", "properties": { "role": "road", "width": "20 ft", "use": "own-lane" }, "geometry": { "type": "LineString", "coordinates": [[-150, 0], [150, 0]] } }"#;
const GATE: &str = r#"{ "type": "Feature", "properties": { "role": "gate" }, "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } }"#;

/// A sketch in feet, one feature a line, the first on line 3.
fn sketch(features: &[&str]) -> String {
    let features = features.join(",\n");
    format!(
        "{{ \"type\": \"FeatureCollection\",\n  \"plan\": {{ \"coordinates\": \"local-ft\" }}, \"features\": [\n{features}\n] }}\n"
    )
}

/// A feature on one line.
fn feature(properties: &str, kind: &str, coordinates: &str) -> String {
    format!(
        r#"{{ "type": "Feature", "properties": {{ {properties} }}, "geometry": {{ "type": "{kind}", "coordinates": {coordinates} }} }}"#
    )
}

/// Road and gate and more features, from line 5 on.
fn with(features: &[(&str, &str, &str)]) -> String {
    let more: Vec<String> = features.iter().map(|(p, k, c)| feature(p, k, c)).collect();
    sketch(&[ROAD, GATE].into_iter().chain(more.iter().map(String::as_str)).collect::<Vec<_>>())
}

fn gate(properties: &str, coordinates: &str) -> String {
    sketch(&[ROAD, &feature(&format!(r#""role": "gate"{properties}"#), "LineString", coordinates)])
}

fn road(width: &str, coordinates: &str) -> String {
    sketch(&[&feature(&format!(r#""role": "road", "width": "{width}""#), "LineString", coordinates), GATE])
}

const FENCE: &str = r#""role": "fence""#;
const DRIVE: &str = r#""role": "drive""#;
const SPOT: &str = r#""role": "spot""#;
const WALL: &str = r#""role": "obstacle", "label": "wall", "thickness": "1 ft""#;
const HOUSE: &str = r#""role": "obstacle", "label": "house""#;

#[rstest]
#[case::fence_across_the_opening(
    with(&[(FENCE, "LineString", "[[3, 15], [3, 60]]")]),
    &["yard.geojson:5:108: feature 3: stands across the opening of the gate, 3' to the right of its middle; end it at the \
       posts, or move the gate to where it ends"]
)]
#[case::fence_along_the_gate_line_and_over_the_opening(
    with(&[(FENCE, "LineString", "[[-60, 25], [60, 25]]")]),
    &["yard.geojson:5:108: feature 3: stands across the opening of the gate, in its middle; end it at the posts, or move \
       the gate to where it ends"]
)]
#[case::fence_reaching_into_the_opening(
    with(&[(FENCE, "LineString", "[[-60, 25], [-6, 25]]")]),
    &["yard.geojson:5:108: feature 3: stands across the opening of the gate, 6' to the left of its middle; end it at the \
       posts, or move the gate to where it ends"]
)]
#[case::spot_in_a_house(
    with(&[(HOUSE, "Polygon", "[[[-9, 60], [9, 60], [9, 80], [-9, 80], [-9, 60]]]"), (SPOT, "Point", "[0, 70]")]),
    &["yard.geojson:6:102: feature 4: is inside the obstacle \"house\", where no vehicle can stand; move one of them"]
)]
#[case::spot_in_a_tree(
    with(&[(r#""role": "obstacle", "label": "oak", "radius": "2 ft""#, "Point", "[0, 60]"), (SPOT, "Point", "[1, 61]")]),
    &["yard.geojson:6:102: feature 4: is inside the obstacle \"oak\", where no vehicle can stand; move one of them"]
)]
fn a_contradiction_is_a_fault(#[case] text: String, #[case] expected: &[&str]) {
    let error = read(&text, "yard.geojson").expect_err("must be refused").to_string();
    assert_eq!(error.lines().collect::<Vec<_>>(), expected);
}

/// A fence across the whole opening is a fault; that nothing gets in past it is not said a second time, as a warning.
#[test]
fn a_fence_across_the_opening_is_said_once() {
    let across = with(&[(FENCE, "LineString", "[[-60, 25], [60, 25]]")]);
    let error = read(&across, "yard.geojson").expect_err("must be refused");
    assert_eq!(error.to_string().lines().count(), 1, "{error}");
    assert_eq!(error.warnings(), []);
}

#[rstest]
#[case::mailbox_where_the_gate_closes(
    with(&[(r#""role": "obstacle", "label": "mailbox", "radius": "9 in", "top": "4 ft""#, "Point", "[0, 25]")]),
    &["yard.geojson:5:159: feature 3 \"mailbox\": stands in the opening, where the gate closes; move it or the gate"]
)]
#[case::wall_end_where_the_gate_closes(
    with(&[(WALL, "LineString", "[[2, 20], [2, 30]]")]),
    &["yard.geojson:5:149: feature 3 \"wall\": stands in the opening, where the gate closes; move it or the gate"]
)]
#[case::wall_behind_the_gate(
    with(&[(WALL, "LineString", "[[-10, 32], [10, 32]]")]),
    &["yard.geojson:5:149: feature 3 \"wall\": stands right across the opening, 6' 6\" behind the gate, nearer than any \
       vehicle is long: nothing gets in; move it or the gate, or draw them where they really are"]
)]
#[case::fence_behind_the_gate(
    with(&[(FENCE, "LineString", "[[-40, 34], [40, 30]]")]),
    &["yard.geojson:5:108: feature 3: stands right across the opening, 6' 10\" behind the gate, nearer than any vehicle is \
       long: nothing gets in; move it or the gate, or draw them where they really are"]
)]
#[case::two_walls_that_close_the_opening_together(
    with(&[(WALL, "LineString", "[[-10, 30], [1, 30]]"), (WALL, "LineString", "[[-1, 33], [10, 33]]")]),
    &["yard.geojson:5:149: feature 3 \"wall\": stands right across the opening, 4' 6\" behind the gate, nearer than any \
       vehicle is long: nothing gets in; move it or the gate, or draw them where they really are"]
)]
#[case::tank_in_the_opening(
    with(&[(r#""role": "obstacle", "label": "tank", "radius": "9 ft""#, "Point", "[0, 27]")]),
    &["yard.geojson:5:141: feature 3 \"tank\": stands right across the opening: nothing gets in; move it or the gate, or \
       draw them where they really are"]
)]
#[case::shed_in_the_opening(
    with(&[(HOUSE, "Polygon", "[[[-10, 20], [10, 20], [10, 60], [-10, 60], [-10, 20]]]")]),
    &["yard.geojson:5:126: feature 3 \"house\": stands right across the opening: nothing gets in; move it or the gate, or \
       draw them where they really are"]
)]
#[case::wall_across_the_road(
    with(&[(WALL, "LineString", "[[60, -15], [60, 15]]")]),
    &["yard.geojson:5:149: feature 3 \"wall\": stands across the whole of the road \"road\", 59' 6\" from the gate along \
       it: nothing gets past; move it, or end the road in front of it"]
)]
#[case::fence_askew_across_the_road(
    with(&[(FENCE, "LineString", "[[-40, -11], [0, 0], [40, 11]]")]),
    &["yard.geojson:5:108: feature 3: stands across the whole of the road \"road\", in front of the gate: nothing gets \
       past; move it, or end the road in front of it"]
)]
#[case::house_that_leaves_a_foot_of_the_road(
    with(&[(HOUSE, "Polygon", "[[[60, -9], [80, -9], [80, 30], [60, 30], [60, -9]]]")]),
    &["yard.geojson:5:126: feature 3 \"house\": stands across the whole of the road \"road\", 60' from the gate along it: \
       nothing gets past; move it, or end the road in front of it"]
)]
#[case::wall_across_the_lane(
    with(&[(WALL, "LineString", "[[-60, -15], [-60, -0.5]]")]),
    &["yard.geojson:5:149: feature 3 \"wall\": stands right across the eastbound lane of the road \"road\", 59' 6\" from \
       the gate along it: nothing comes eastbound past it in its own lane; move it, or draw it where it really is"]
)]
#[case::spot_on_the_road(
    with(&[(SPOT, "Point", "[0, 9]")]),
    &["yard.geojson:5:102: feature 3: is on the road \"road\", where nothing has driven in yet; move it to where the \
       vehicle is to stand"]
)]
#[case::drive_short_of_the_road(
    with(&[(DRIVE, "Polygon", "[[[-9, 12], [9, 12], [9, 60], [-9, 60], [-9, 12]]]")]),
    &["yard.geojson:5:105: feature 3: ends 2' short of the road \"road\": tires keep to roads and drives, so nothing gets \
       to the gate; draw it out to the road"]
)]
#[case::drive_short_of_the_gate(
    with(&[(DRIVE, "Polygon", "[[[-9, 9], [9, 9], [9, 24.5], [-9, 24.5], [-9, 9]]]")]),
    &["yard.geojson:5:105: feature 3: ends 6\" short of the opening of the gate: tires keep to roads and drives, so nothing \
       gets to the gate; draw it out to the gate line"]
)]
#[case::drive_beside_the_gate(
    with(&[(DRIVE, "Polygon", "[[[11, 9], [30, 9], [30, 60], [11, 60], [11, 9]]]")]),
    &["yard.geojson:5:105: feature 3: ends 3' short of the opening of the gate: tires keep to roads and drives, so nothing \
       gets to the gate; draw it out to the gate line"]
)]
#[case::drive_short_of_both(
    with(&[(DRIVE, "Polygon", "[[[-9, 12], [9, 12], [9, 20], [-9, 20], [-9, 12]]]")]),
    &["yard.geojson:5:105: feature 3: ends 2' short of the road \"road\": tires keep to roads and drives, so nothing gets \
       to the gate; draw it out to the road",
      "yard.geojson:5:105: feature 3: ends 5' short of the opening of the gate: tires keep to roads and drives, so nothing \
       gets to the gate; draw it out to the gate line"]
)]
#[case::drive_that_meets_the_road_at_a_corner(
    with(&[(DRIVE, "Polygon", "[[[-30, 22], [-3.5, 9.8], [-3, 9.8], [20, 22], [20, 60], [-30, 60], [-30, 22]]]")]),
    &["yard.geojson:5:105: feature 3: the ground narrows to less than 4' between road and gate, 15' 4\" from the middle of \
       the opening: tires keep to roads and drives, and no vehicle's fit there; draw the drive as wide as it is"]
)]
#[case::drives_that_overlap_at_a_corner(
    with(&[
        (DRIVE, "Polygon", "[[[-9, 9], [9, 9], [9, 20], [-9, 20], [-9, 9]]]"),
        (DRIVE, "Polygon", "[[[7, 19], [25, 19], [25, 60], [-9, 60], [-9, 24], [7, 24], [7, 19]]]")
    ]),
    &["yard.geojson:6:105: feature 4: the ground narrows to less than 4' between road and gate, 9' 9\" from the middle of \
       the opening: tires keep to roads and drives, and no vehicle's fit there; draw the drive as wide as it is"]
)]
#[case::two_drives_apart(
    with(&[
        (r#""role": "drive", "label": "apron""#, "Polygon", "[[[-9, 9], [9, 9], [9, 20], [-9, 20], [-9, 9]]]"),
        (r#""role": "drive", "label": "yard""#, "Polygon", "[[[-9, 20.1], [9, 20.1], [9, 60], [-9, 60], [-9, 20.1]]]")
    ]),
    &["yard.geojson:6:122: feature 4 \"yard\": is 2\" away from the drive \"apron\": tires keep to roads and drives, so \
       nothing gets to the gate; draw the two so that they meet"]
)]
#[case::gate_on_the_edge_of_the_road(
    gate("", "[[-8, 10], [8, 10]]"),
    &["yard.geojson:4:107: feature 2: stands on the edge of the road \"road\": a vehicle that waits for it to open blocks \
       the road, and the posts reach into it; draw it as far back as it is to stand"]
)]
#[case::gate_at_the_end_of_the_road(
    sketch(&[&ROAD.replace("[[-150, 0], [150, 0]]", "[[0, -150], [0, 25]]"), GATE]),
    &["yard.geojson:4:107: feature 2: stands at the very end of the road \"road\": a vehicle that waits for it to open \
       blocks the road; end the road where the drive begins, and draw the drive"]
)]
#[case::road_of_a_square_foot(
    road(r#"1 ft", "continues": "both"#, "[[-0.5, 0], [0.5, 0]]"),
    &["yard.geojson:3:145: feature 1: the road is 1' wide and 1' long, too small to drive on; are its width and the plan in \
       the right units?"]
)]
#[case::another_road_at_the_gate_drawn_short(
    with(&[(r#""role": "road", "label": "lane", "width": "12 ft""#, "LineString", "[[40, -50], [40, 20]]")]),
    &["yard.geojson:5:142: feature 3 \"lane\": leads to the gate, and vehicles that come along it are not studied, since it is \
       drawn for only 60'; draw at least 73' 10\" of it, or say \"continues\" if it goes on"]
)]
#[case::hammerhead_at_the_end_of_a_lane(
    sketch(&[
        &feature(r#""role": "road", "label": "paving""#, "Polygon", "[[[-50, -10], [50, -10], [50, 10], [-50, 10], [-50, -10]]]"),
        GATE,
        &feature(r#""role": "road", "label": "lane", "width": "12 ft", "continues": "start""#, "LineString", "[[0, -200], [0, -10]]")
    ]),
    &["yard.geojson:3:123: feature 1 \"paving\": vehicles are studied westbound and eastbound on this road, as if they came from both \
       of its ends; if it is a turnaround at the end of the road \"lane\", draw it as a drive"]
)]
#[case::drive_that_does_not_reach_the_other_lane(
    sketch(&[OWN_LANES, GATE, &feature(DRIVE, "Polygon", "[[[-9, 9], [9, 9], [9, 60], [-9, 60], [-9, 9]]]")]),
    &["yard.geojson:3:79: feature 1, property \"use\": \"own-lane\": no drive reaches the lane in which vehicles come \
       eastbound, so nothing gets in from there; draw the drive on to the middle of the road, as far along it as they may \
       cross the other lane"]
)]
#[case::road_as_wide_as_a_path(
    road("5 ft", "[[-150, 0], [150, 0]]"),
    &["yard.geojson:3:124: feature 1: the road is 5' wide and 300' long, too small to drive on; are its width and the plan \
       in the right units?"]
)]
#[case::free_without_a_fence(
    gate(r#", "anchor": "free""#, "[[-8, 25], [8, 25]]"),
    &["yard.geojson:4:64: feature 2, property \"anchor\": \"free\" lets the gate stand anywhere along the fence in its \
       line, and none is drawn there, so it stays where it is drawn; draw the fence from its posts, or choose another \
       anchor"]
)]
fn a_contradiction_is_warned_of(#[case] text: String, #[case] expected: &[&str]) {
    assert_eq!(read(&text, "yard.geojson").expect("can be studied").warnings, expected);
}

#[rstest]
#[case::fences_that_end_at_the_posts(with(&[
    (FENCE, "LineString", "[[-60, 25], [-8.5, 25]]"),
    (FENCE, "LineString", "[[7.9, 25], [60, 25]]")
]))]
#[case::fence_in_front_of_the_yard_turning_in_at_a_post(with(&[(FENCE, "LineString", "[[60, 25], [8.2, 25], [8.2, 60]]")]))]
#[case::fence_across_the_gate_line_beside_the_gate(with(&[(FENCE, "LineString", "[[20, 15], [20, 60]]")]))]
#[case::another_road_that_goes_on_where_the_first_ends(with(&[(r#""role": "road", "width": "20 ft""#, "LineString", "[[150, 0], [150, 300]]")]))]
#[case::another_road_at_the_gate(with(&[(r#""role": "road", "label": "lane", "width": "12 ft""#, "LineString", "[[40, -100], [40, 20]]")]))]
#[case::another_road_at_a_corner_by_the_gate(sketch(&[
    &ROAD.replace("[150, 0]", "[12, 0]"),
    GATE,
    &feature(r#""role": "road", "width": "20 ft""#, "LineString", "[[12, 0], [12, -200]]")
]))]
#[case::short_piece_of_another_road_that_continues(with(&[(
    r#""role": "road", "width": "12 ft", "continues": "start""#,
    "LineString",
    "[[40, -50], [40, 0]]"
)]))]
#[case::short_street_drawn_as_an_outline_that_another_crosses(sketch(&[
    &feature(r#""role": "road""#, "Polygon", "[[[-50, -10], [50, -10], [50, 10], [-50, 10], [-50, -10]]]"),
    GATE,
    &feature(r#""role": "road", "width": "12 ft""#, "LineString", "[[-30, -200], [-30, 100]]")
]))]
#[case::drive_to_the_middle_of_a_road_with_own_lanes(sketch(&[
    OWN_LANES,
    GATE,
    &feature(DRIVE, "Polygon", "[[[-30, 0], [30, 0], [9, 12], [9, 60], [-9, 60], [-9, 12], [-30, 0]]]")
]))]
#[case::own_lanes_and_no_drive(sketch(&[OWN_LANES, GATE]))]
#[case::own_lanes_that_lead_to_the_gate(sketch(&[
    &OWN_LANES.replace("[[-150, 0], [150, 0]]", "[[0, -150], [0, 10]]"),
    GATE,
    &feature(DRIVE, "Polygon", "[[[-10, 9], [10, 9], [10, 60], [-10, 60], [-10, 9]]]")
]))]
#[case::another_road_far_away(with(&[(r#""role": "road", "width": "20 ft""#, "LineString", "[[120, 10], [120, 300]]")]))]
#[case::spot_beside_a_house(with(&[
    (HOUSE, "Polygon", "[[[-9, 60], [9, 60], [9, 80], [-9, 80], [-9, 60]]]"),
    (SPOT, "Point", "[20, 70]")
]))]
#[case::spot_in_a_court(with(&[
    (
        HOUSE,
        "Polygon",
        "[[[-20, 60], [20, 60], [20, 99], [-20, 99], [-20, 60]], [[-9, 70], [9, 70], [9, 90], [-9, 90], [-9, 70]]]"
    ),
    (SPOT, "Point", "[0, 80]")
]))]
#[case::spot_under_a_limb(with(&[
    (r#""role": "obstacle", "label": "limb", "radius": "9 ft", "bottom": "14 ft""#, "Point", "[0, 70]"),
    (SPOT, "Point", "[0, 70]")
]))]
#[case::spot_over_a_drain(with(&[
    (r#""role": "obstacle", "label": "drain", "radius": "1 ft", "top": 0"#, "Point", "[0, 70]"),
    (SPOT, "Point", "[0, 70]")
]))]
#[case::wall_at_the_back_of_the_yard(with(&[(WALL, "LineString", "[[-10, 40], [10, 40]]")]))]
#[case::curb_behind_the_gate(with(&[(&format!(r#"{WALL}, "top": "6 in""#), "LineString", "[[-10, 32], [10, 32]]")]))]
#[case::beam_over_the_way_in(with(&[(&format!(r#"{WALL}, "bottom": "14 ft""#), "LineString", "[[-10, 32], [10, 32]]")]))]
#[case::wall_behind_half_of_the_opening(with(&[(WALL, "LineString", "[[-1, 32], [20, 32]]")]))]
#[case::tree_behind_the_gate(with(&[(r#""role": "obstacle", "label": "oak", "radius": "2 ft""#, "Point", "[0, 32]")]))]
#[case::walls_along_the_way_in(with(&[
    (WALL, "LineString", "[[-9, 25], [-9, 60]]"),
    (WALL, "LineString", "[[9, 25], [9, 60]]")
]))]
#[case::car_parked_opposite(with(&[(
    r#""role": "obstacle", "label": "parked car", "top": "5 ft""#,
    "Polygon",
    "[[[-8, -9.5], [8, -9.5], [8, -3], [-8, -3], [-8, -9.5]]]"
)]))]
#[case::wall_across_the_lane_past_the_gate(with(&[(WALL, "LineString", "[[60, -15], [60, -0.5]]")]))]
#[case::hedge_at_the_end_of_the_road(with(&[(WALL, "LineString", "[[145, -15], [145, 15]]")]))]
#[case::hedge_along_the_road(with(&[(WALL, "LineString", "[[-150, -10], [150, -10]]")]))]
#[case::ditch_under_the_road(with(&[(&format!(r#"{WALL}, "top": 0"#), "LineString", "[[60, -15], [60, 15]]")]))]
#[case::bridge_over_the_road(with(&[(&format!(r#"{WALL}, "bottom": "14 ft""#), "LineString", "[[60, -15], [60, 15]]")]))]
#[case::walls_on_both_sides_of_the_road(with(&[(
    r#""role": "obstacle", "label": "tunnel""#,
    "MultiPolygon",
    "[[[[40, 9], [60, 9], [60, 20], [40, 20], [40, 9]]], [[[40, -20], [60, -20], [60, -9], [40, -9], [40, -20]]]]"
)]))]
#[case::spot_at_the_road(with(&[(SPOT, "Point", "[0, 11]")]))]
#[case::drive_from_the_road_through_the_gate(with(&[(DRIVE, "Polygon", "[[[-9, 10], [9, 10], [9, 60], [-9, 60], [-9, 10]]]")]))]
#[case::drives_that_meet_as_near_as_a_tape_shows(with(&[
    (DRIVE, "Polygon", "[[[-9, 10.05], [9, 10.05], [9, 20], [-9, 20], [-9, 10.05]]]"),
    (DRIVE, "Polygon", "[[[-9, 20.05], [9, 20.05], [9, 60], [-9, 60], [-9, 20.05]]]")
]))]
#[case::drive_narrower_than_the_opening(with(&[(DRIVE, "Polygon", "[[[-5, 9], [5, 9], [5, 60], [-5, 60], [-5, 9]]]")]))]
#[case::narrow_drive_from_a_corner_of_the_road(with(&[(DRIVE, "Polygon", "[[[-3, 9], [3, 9], [3, 60], [-3, 60], [-3, 9]]]")]))]
#[case::drive_with_a_tree_in_its_middle(with(&[(
    DRIVE,
    "Polygon",
    "[[[-9, 9], [9, 9], [9, 60], [-9, 60], [-9, 9]], [[-3, 14], [-3, 18], [3, 18], [3, 14], [-3, 14]]]"
)]))]
#[case::two_strips_for_the_wheels(with(&[
    (DRIVE, "Polygon", "[[[-4, 9], [-2, 9], [-2, 60], [-4, 60], [-4, 9]]]"),
    (DRIVE, "Polygon", "[[[2, 9], [4, 9], [4, 60], [2, 60], [2, 9]]]")
]))]
#[case::another_drive_elsewhere(with(&[
    (DRIVE, "Polygon", "[[[-9, 9], [9, 9], [9, 60], [-9, 60], [-9, 9]]]"),
    (DRIVE, "Polygon", "[[[40, 30], [60, 30], [60, 60], [40, 60], [40, 30]]]")
]))]
#[case::gate_an_inch_from_the_road(gate("", "[[-8, 10.1], [8, 10.1]]"))]
#[case::lane_that_ends_before_the_gate(sketch(&[&ROAD.replace("[[-150, 0], [150, 0]]", "[[0, -150], [0, 24]]"), GATE]))]
#[case::narrow_lane_of_fifty_feet(road("8 ft", "[[-25, 0], [25, 0]]"))]
#[case::free_in_its_fence(sketch(&[
    ROAD,
    &GATE.replace(r#""role": "gate""#, r#""role": "gate", "anchor": "free""#),
    &feature(FENCE, "LineString", "[[8.5, 25], [60, 25]]")
]))]
#[case::no_fence_and_not_free(gate(r#", "anchor": "left""#, "[[-8, 25], [8, 25]]"))]
fn what_only_looks_like_it_is_not(#[case] text: String) {
    assert_eq!(read(&text, "yard.geojson").expect("good").warnings, Vec::<String>::new());
}

/// A road of 180 ft whose east end is 30 ft past the gate.
fn short(properties: &str) -> String {
    road("20 ft", "[[-150, 0], [30, 0]]")
        .replace(r#""role": "road""#, &format!(r#""role": "road"{properties}"#))
}

#[rstest]
#[case::one_end_is_near(
    short(""),
    &["the road \"road\" is drawn only 30' before the gate westbound, and the longest vehicle studied is 55' long; draw \
       more of it, or say \"continues\": \"end\" if it goes on"]
)]
#[case::the_other_goes_on_already(
    short(r#", "continues": "start""#),
    &["the road \"road\" is drawn only 30' before the gate westbound, and the longest vehicle studied is 55' long; draw \
       more of it, or say \"continues\": \"both\" if it goes on"]
)]
#[case::both_ends_are_near(
    road("20 ft", "[[-40, 0], [-30, 0], [30, 0]]"),
    &["the road \"road\" is drawn only 40' before the gate eastbound, and the longest vehicle studied is 55' long; draw \
       more of it, or say \"continues\": \"start\" if it goes on",
      "the road \"road\" is drawn only 30' before the gate westbound, and the longest vehicle studied is 55' long; draw \
       more of it, or say \"continues\": \"end\" if it goes on"]
)]
#[case::an_outline(
    sketch(&[&feature(r#""role": "road""#, "Polygon", "[[[-150, -10], [30, -10], [30, 10], [-150, 10], [-150, -10]]]"), GATE]),
    &["the road \"road\" is drawn only 30' before the gate westbound, and the longest vehicle studied is 55' long; draw \
       more of it (an outline counts as far as it runs straight), or draw it as a line that \"continues\""]
)]
#[case::it_goes_on(short(r#", "continues": "end""#), &[])]
#[case::long_enough(road("20 ft", "[[-55, 0], [55, 0]]"), &[])]
#[case::nobody_comes_that_way(
    short("").replace(r#""local-ft""#, r#""local-ft", "vehicles": [{ "vehicle": "car", "travels": ["eastbound"] }]"#),
    &[]
)]
#[case::nothing_stands_on_so_short_a_piece(road("20 ft", "[[-150, 0], [12, 0]]"), &[])]
fn a_road_drawn_shorter_than_the_vehicle(#[case] text: String, #[case] expected: &[&str]) {
    let site = read(&text, "yard.geojson").expect("good");
    assert_eq!(site.warnings, Vec::<String>::new());
    assert_eq!(short_roads(&site, 55.0 * FOOT_M), expected);
    let outline = text.contains("Polygon");
    assert_eq!(
        short_roads(&site, 12.0 * FOOT_M),
        Vec::<String>::new(),
        "a short vehicle (outline: {outline})"
    );
}

/// Many obstacles with many corners on a road with many: the answer comes before one loses patience.
#[test]
fn a_crowded_road_answers() {
    let line: Vec<String> = (0..4_000).map(|i| format!("[{}, 0]", f64::from(i) * 0.1 - 200.0)).collect();
    let ring = |x: u32| {
        let top = (0..400).map(|i| format!("[{}, {}]", f64::from(x) - 0.1 * f64::from(i), 30 + i % 2));
        let below = [format!("[{}, -40]", x - 40), format!("[{x}, -40]"), format!("[{x}, 30]")];
        feature(
            r#""role": "obstacle""#,
            "Polygon",
            &format!("[[{}]]", top.chain(below).collect::<Vec<_>>().join(", ")),
        )
    };
    let mut features = vec![
        feature(r#""role": "road", "width": "20 ft""#, "LineString", &format!("[{}]", line.join(", "))),
        GATE.replace("25]", "60]"),
    ];
    features.extend((0..500).map(|i| ring(50 + i % 100)));
    let features: Vec<&str> = features.iter().map(String::as_str).collect();
    let start = Instant::now();
    assert!(read(&sketch(&features), "yard.geojson").is_ok());
    assert!(start.elapsed() < Duration::from_secs(30), "{:?}", start.elapsed());
}

/// Walls scribbled over the road, every length of them across nearly all others.
#[test]
fn a_scribbled_road_answers() {
    let scribble: Vec<String> =
        (0..700).map(|i| format!("[{}, {}]", 20 + i % 2 * 80, (i * 7919) % 61 - 30)).collect();
    let scribble = feature(WALL, "LineString", &format!("[{}]", scribble.join(", ")));
    let mut features = vec![ROAD, GATE];
    features.extend(std::iter::repeat_n(scribble.as_str(), 20));
    let start = Instant::now();
    let site = read(&sketch(&features), "yard.geojson").expect("good");
    assert!(start.elapsed() < Duration::from_secs(30), "{:?}", start.elapsed());
    // The first ones are checked, until the budget of work is spent.
    assert!((1..20).contains(&site.warnings.len()), "{:?}", site.warnings);
}
