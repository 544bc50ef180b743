//! Plans with faults: the whole message is compared, including its place and its advice.
use rstest::rstest;
use std::time::{Duration, Instant};
use wideenough::site::{Given, MAX_PLAN_BYTES, PlanError, Source, check_size, read, read_source};

const ROAD: &str = r#"{ "type": "Feature", "properties": { "role": "road", "width": "20 ft" }, "geometry": { "type": "LineString", "coordinates": [[-100, 0], [100, 0]] } }"#;
const GATE: &str = r#"{ "type": "Feature", "properties": { "role": "gate" }, "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } }"#;

/// A sketch in feet, one feature a line, the first on line 3.
fn sketch(features: &[&str]) -> String {
    plan(r#"{ "coordinates": "local-ft" }"#, features)
}

/// A plan with its `plan` member on line 2 and features from line 3.
fn plan(member: &str, features: &[&str]) -> String {
    let features = features.join(",\n");
    format!("{{ \"type\": \"FeatureCollection\",\n  \"plan\": {member}, \"features\": [\n{features}\n] }}\n")
}

/// A feature on one line.
fn feature(properties: &str, kind: &str, coordinates: &str) -> String {
    format!(
        r#"{{ "type": "Feature", "properties": {{ {properties} }}, "geometry": {{ "type": "{kind}", "coordinates": {coordinates} }} }}"#
    )
}

fn message(text: &str) -> String {
    read(text, "yard.geojson").expect_err("must be refused").to_string()
}

/// Road and gate and one more feature, on line 5.
fn with(properties: &str, kind: &str, coordinates: &str) -> String {
    sketch(&[ROAD, GATE, &feature(properties, kind, coordinates)])
}

#[test]
fn the_plan_the_cases_vary_is_good() {
    let site = read(&sketch(&[ROAD, GATE]), "yard.geojson").expect("good");
    assert_eq!(site.warnings, Vec::<String>::new());
}

#[test]
fn a_file_too_large_is_refused_before_it_is_read() {
    let expected = "yard.geojson: 100 MB is too large for a site plan (at most 16 MB); keep only the road, the gate and \
                    what stands near it";
    assert_eq!(check_size("yard.geojson", 100_000_000).expect_err("too large").to_string(), expected);
    let start = Instant::now();
    assert_eq!(message(&" ".repeat(100_000_000)), expected);
    assert!(start.elapsed() < Duration::from_secs(5), "{:?}", start.elapsed());
}

/// A file of the largest size that is read, full of what is slow to check, is answered before one loses patience.
#[test]
fn the_largest_file_answers() {
    let wiggle = |i: u32| format!("[{}, {}]", f64::from(i) * 0.01, 60 + i % 2);
    let ring: Vec<String> =
        (0..4_990).map(wiggle).chain(["[49.9, 90]", "[0, 90]", "[0, 60]"].map(str::to_owned)).collect();
    let drive = feature(r#""role": "drive""#, "Polygon", &format!("[[{}]]", ring.join(", ")));
    let most = usize::try_from(MAX_PLAN_BYTES).expect("fits") - 2_000;
    let mut features = vec![ROAD, GATE];
    features.extend(std::iter::repeat_n(drive.as_str(), most / (drive.len() + 2)));
    let start = Instant::now();
    let site = read(&sketch(&features), "yard.geojson").expect("good, if dull");
    assert_eq!(site.drives.len(), features.len() - 2);
    assert!(start.elapsed() < Duration::from_secs(60), "{:?}", start.elapsed());
}

#[test]
fn faults_come_one_by_one_too() {
    let error = read(&sketch(&[ROAD, GATE, "7"]), "yard.geojson").expect_err("must be refused");
    let [fault] = error.faults() else { panic!("{error}") };
    assert_eq!((fault.line, fault.column, fault.feature), (5, 1, Some(3)));
    assert!(matches!(error, PlanError::Faulty { .. }));
}

#[test]
fn a_file_wrong_everywhere_names_forty_places() {
    let wrong = feature(r#""role": "tree""#, "Point", "[0, 60]");
    let mut features = vec![ROAD, GATE];
    features.extend(std::iter::repeat_n(wrong.as_str(), 100));
    let message = message(&sketch(&features));
    assert_eq!(message.lines().count(), 41);
    assert!(message.ends_with("yard.geojson: and 60 more faults"), "{message}");
}

#[rstest]
#[case::unknown_property(
    with(r#""role": "fence", "thicknes": "4 in", "color": "red""#, "LineString", "[[0, 60], [9, 60]]"),
    &["yard.geojson:5:67: feature 3, property \"thicknes\": unknown, ignored; did you mean \"thickness\"?",
      "yard.geojson:5:84: feature 3, property \"color\": unknown, ignored"]
)]
#[case::repeated_point(
    with(r#""role": "obstacle", "label": "yard""#, "Polygon", "[[[0, 60], [9, 60], [9, 60], [9, 69], [0, 60]]]"),
    &["yard.geojson:5:145: feature 3 \"yard\", point 3: repeats point 2; left out"]
)]
#[case::bare_number_in_feet(
    with(r#""role": "obstacle", "radius": 4"#, "Point", "[0, 60]"),
    &["yard.geojson:5:68: feature 3, property \"radius\": a number without a unit is meters; write \"4 ft\" or \"4 in\" if \
       you mean that"]
)]
#[case::bare_number_of_a_post(
    sketch(&[ROAD, GATE]).replace("\"gate\"", "\"gate\", \"post\": { \"width\": 4 }"),
    &["yard.geojson:4:73: feature 2, property \"width\": a number without a unit is meters; write \"4 ft\" or \"4 in\" if \
       you mean that"]
)]
#[case::the_old_name_of_the_usual_system(
    sketch(&[ROAD, GATE]).replace("\"plan\"", r#""crs": { "properties": { "name": "urn:ogc:def:crs:EPSG::4326" } }, "plan""#),
    &["yard.geojson:2:10: \"crs\": ignored: RFC 7946 dropped it; longitude comes first"]
)]
#[case::latitude_first(
    plan("{}", &[
        &feature(r#""role": "road", "width": 6, "continues": "both""#, "LineString", "[[40.62, -74.001], [40.62, -73.999]]"),
        &feature(r#""role": "gate""#, "LineString", "[[40.6201, -74.0001], [40.62013, -73.99999]]"),
    ]),
    &["yard.geojson:3:140: feature 1: latitude -74.001 is in Antarctica; longitude comes first in GeoJSON: if the place is at \
       latitude 40.62, write [-74.001, 40.62]"]
)]
#[case::hinge_of_two_leaves(
    sketch(&[ROAD, &GATE.replace(r#""gate""#, r#""gate", "hinge": "left""#)]),
    &["yard.geojson:4:63: feature 2, property \"hinge\": ignored: only a single or sliding leaf has a side"]
)]
#[case::a_gate_for_giants(
    sketch(&[ROAD, &GATE.replace("[8, 25]", "[88, 25]")]),
    &["yard.geojson:4:107: feature 2: the opening is 96'; is the plan in the right units?"]
)]
fn warns_and_reads_on(#[case] text: String, #[case] expected: &[&str]) {
    assert_eq!(read(&text, "yard.geojson").expect("good").warnings, expected);
}

#[rstest]
#[case::empty_file(
    String::new(),
    r#"yard.geojson:1:1: the file is empty; a plan is a GeoJSON FeatureCollection with a road and a gate"#
)]
#[case::blank_file("\n\n".to_owned(), r#"yard.geojson:3:1: the file is empty; a plan is a GeoJSON FeatureCollection with a road and a gate"#)]
#[case::truncated(sketch(&[ROAD, GATE])[..300].to_owned(), r#"yard.geojson:4:63: the file ends too early: it was cut off, or a bracket is not closed"#)]
#[case::nan(sketch(&[ROAD, GATE]).replace("[-8, 25]", "[NaN, 25]"), r#"yard.geojson:4:109: NaN is not a number JSON allows; write the true coordinate, or leave the point out"#)]
#[case::minus_infinity(sketch(&[ROAD, GATE]).replace("[-8, 25]", "[-8, -Infinity]"), r#"yard.geojson:4:114: -Infinity is not a number JSON allows; write the true coordinate, or leave the point out"#)]
#[case::too_large_a_number(sketch(&[ROAD, GATE]).replace("[-8, 25]", "[-8, 1e400]"), r#"yard.geojson:4:117: the number 1e400 is too large to be a length or a coordinate"#)]
#[case::nested_deep("[".repeat(100_000), r#"yard.geojson:1:128: brackets are nested too deep for a site plan"#)]
#[case::not_json(sketch(&[ROAD, GATE]).replace("\"features\":", "features:"), r#"yard.geojson:2:42: not JSON: key must be a string"#)]
#[case::a_list("[1, 2]".to_owned(), r#"yard.geojson:1:1: not a plan; a plan is an object with "type": "FeatureCollection" and a list of "features""#)]
#[case::a_lone_feature(GATE.to_owned(), r#"yard.geojson:1:11: "Feature" is not a plan; a plan is an object with "type": "FeatureCollection" and a list of "features""#)]
#[case::no_type("{}".to_owned(), r#"yard.geojson:1:1: "type" is missing; a plan is an object with "type": "FeatureCollection" and a list of "features""#)]
#[case::no_features(r#"{ "type": "FeatureCollection" }"#.to_owned(), r#"yard.geojson:1:1: "features" is missing or not a list; it holds the road and the gate"#)]
#[case::plan_not_object(plan("[]", &[ROAD, GATE]), r#"yard.geojson:2:11: "plan": must be an object, like { "title": "North entrance" }"#)]
#[case::plan_words(plan(r#"{ "coordinates": "local-feet", "drives_on": "middle", "units": 3 }"#, &[ROAD, GATE]), r#"yard.geojson:2:28: property "coordinates": "local-feet" is not one of lonlat, local-m, local-ft; did you mean "local-ft"?
yard.geojson:2:55: property "drives_on": "middle" is not one of left, right
yard.geojson:2:74: property "units": integer 3 is not one of its words"#)]
#[case::plan_vehicles(plan(r#"{ "coordinates": "local-ft", "vehicles": [7, "", {}, { "vehicle": "pickup", "maneuvers": ["back in"], "travels": ["north"] }] }"#, &[ROAD, GATE]), r#"yard.geojson:2:53: "vehicles": 7 is not a vehicle; write a name, like "pickup", or { "vehicle": "pickup" }
yard.geojson:2:56: "vehicles": "" is not a vehicle; write a name, like "pickup", or { "vehicle": "pickup" }
yard.geojson:2:60: "vehicle" is missing
yard.geojson:2:100: property "maneuvers": "back in" is not one of drive-in, back-in; did you mean "back-in"?"#)]
#[case::plan_travel_not_on_this_road(plan(r#"{ "coordinates": "local-ft", "vehicles": ["car", { "vehicle": "pickup", "travels": ["eastbound", "northbound"] }] }"#, &[ROAD, GATE]), r#"yard.geojson:2:108: "travels": "northbound" is not a direction of travel on the road at the gate; it runs eastbound and westbound"#)]
#[case::no_gate(sketch(&[ROAD]), r#"yard.geojson:2:54: no gate: draw a LineString of two points with "role": "gate""#)]
#[case::no_road(sketch(&[GATE]), r#"yard.geojson:2:54: no road: vehicles must come from one; draw it with "role": "road""#)]
#[case::neither(sketch(&[]), r#"yard.geojson:2:54: no gate: draw a LineString of two points with "role": "gate"
yard.geojson:2:54: no road: vehicles must come from one; draw it with "role": "road""#)]
#[case::two_gates(sketch(&[ROAD, GATE, GATE]), r#"yard.geojson:5:1: feature 3: a second gate; feature 2 is one already, and a plan has one"#)]
#[case::gate_of_one_point(sketch(&[ROAD, &feature(r#""role": "gate""#, "LineString", "[[0, 25]]")]), r#"yard.geojson:4:107: feature 2: a gate has two points, the inner faces of its posts; this one has 1"#)]
#[case::gate_of_three_points(sketch(&[ROAD, &feature(r#""role": "gate""#, "LineString", "[[-8, 25], [0, 25], [8, 25]]")]), r#"yard.geojson:4:107: feature 2: a gate has two points, the inner faces of its posts; this one has 3"#)]
#[case::gate_without_length(sketch(&[ROAD, &feature(r#""role": "gate""#, "LineString", "[[0, 25], [0, 25]]")]), r#"yard.geojson:4:107: feature 2: its two points are in the same place; they are the inner faces of the two posts"#)]
#[case::gate_as_polygon(sketch(&[ROAD, &feature(r#""role": "gate""#, "Polygon", "[[[0, 25], [8, 25], [8, 26], [0, 25]]]")]), r#"yard.geojson:4:78: feature 2, geometry: a gate is drawn as a LineString of two points, the inner faces of its posts (or as a Point with a "width" and a "bearing"), not as a Polygon"#)]
#[case::gate_far_from_the_road(sketch(&[ROAD, &feature(r#""role": "gate""#, "LineString", "[[-8, 425], [8, 425]]")]), r#"yard.geojson:4:107: feature 2: the nearest road, "road", is 415' away; a gate has one within 328' 1""#)]
#[case::gate_in_the_road(sketch(&[ROAD, &feature(r#""role": "gate""#, "LineString", "[[0, 5], [0, 25]]")]), r#"yard.geojson:4:107: feature 2: stands in the road "road"; end the road in front of it, and draw a drive"#)]
#[case::gate_facing_nowhere(sketch(&[ROAD, &feature(r#""role": "gate""#, "LineString", "[[0, 25], [0, 41]]")]), r#"yard.geojson:4:107: feature 2: points at the road, so neither side is known to be in; draw it as a point with "width" and "bearing", the heading of someone coming in, or turn it to face the road"#)]
#[case::gate_words(sketch(&[ROAD, &feature(r#""role": "gate", "leaves": "duoble", "open_angle_deg": 200, "post": { "width": "0 in" }, "top": "1 in""#, "LineString", "[[-8, 25], [8, 25]]")]), r#"yard.geojson:4:64: feature 2, property "leaves": "duoble" is not one of single, double, slide, none; did you mean "double"?
yard.geojson:4:92: feature 2, property "open_angle_deg": must be more than 0 and at most 180 degrees, and is 200
yard.geojson:4:105: feature 2, property "post": must be more than 0, and is 0"
yard.geojson:4:133: feature 2, property "top": the leaf's top, 1", is below its bottom, 2""#)]
#[case::post_words(sketch(&[ROAD, &feature(r#""role": "gate", "post": { "size": "6 in" }"#, "LineString", "[[-8, 25], [8, 25]]")]), r#"yard.geojson:4:62: feature 2, property "post": "size" is not known here; use width, depth, top"#)]
#[case::road_without_width(sketch(&[&feature(r#""role": "road", "label": "County Road""#, "LineString", "[[-100, 0], [100, 0]]"), GATE]), r#"yard.geojson:3:36: feature 1 "County Road": a road drawn as a line needs its "width", like "20 ft"; or draw its outline as a Polygon"#)]
#[case::road_of_no_width(sketch(&[&feature(r#""role": "road", "width": "-20 ft""#, "LineString", "[[-100, 0], [100, 0]]"), GATE]), r#"yard.geojson:3:63: feature 1, property "width": must be more than 0, and is -20'"#)]
#[case::road_width_without_unit(sketch(&[&feature(r#""role": "road", "width": "20""#, "LineString", "[[-100, 0], [100, 0]]"), GATE]), r#"yard.geojson:3:63: feature 1, property "width": "20" has no unit; write "20 ft", "20 in" or "20 m" (in a file, a number without quotes is meters)"#)]
#[case::road_width_true(sketch(&[&feature(r#""role": "road", "width": true"#, "LineString", "[[-100, 0], [100, 0]]"), GATE]), r#"yard.geojson:3:63: feature 1, property "width": boolean true is not a length: a number of meters, or text with a unit like "12 ft""#)]
#[case::road_of_one_place(sketch(&[&feature(r#""role": "road", "width": 6"#, "LineString", "[[1, 0], [1, 0]]"), GATE]), r#"yard.geojson:3:119: feature 1: a line needs two different points or more"#)]
#[case::unknown_role(with(r#""role": "obstical", "label": "oak""#, "Point", "[0, 50]"), r#"yard.geojson:5:46: feature 3 "oak", property "role": "obstical" is not a role; did you mean "obstacle"?"#)]
#[case::unknown_role_far_from_any(with(r#""role": "shrub""#, "Point", "[0, 50]"), r#"yard.geojson:5:46: feature 3, property "role": "shrub" is not a role; use one of road, drive, gate, fence, obstacle, spot, route, boundary"#)]
#[case::role_is_a_number(with(r#""role": 3"#, "Point", "[0, 50]"), r#"yard.geojson:5:46: feature 3, property "role": "3" is not a role; use one of road, drive, gate, fence, obstacle, spot, route, boundary"#)]
#[case::no_role(with(r#""label": "oak""#, "Point", "[0, 50]"), r#"yard.geojson:5:36: feature 3 "oak": has no "role"; say one of road, drive, gate, fence, obstacle, spot, route, boundary in its properties"#)]
#[case::unclosed_ring(with(r#""role": "drive", "label": "apron""#, "Polygon", "[[[0, 10], [10, 10], [10, 30], [0, 30]]]"), r#"yard.geojson:5:154: feature 3 "apron", point 4: the ring is not closed: its last point is 20' from its first; end it with [0, 10]"#)]
#[case::self_crossing_ring(with(r#""role": "obstacle", "label": "north wall""#, "Polygon", "[[[0, 60], [10, 60], [0, 70], [10, 70], [0, 60]]]"), r#"yard.geojson:5:142: feature 3 "north wall", point 2: the edge from here crosses edge 4-5 of its own ring; outlines may touch others, not themselves"#)]
#[case::ring_touching_itself(with(r#""role": "obstacle""#, "Polygon", "[[[0, 60], [10, 60], [5, 65], [10, 70], [0, 70], [5, 65], [0, 60]]]"), r#"yard.geojson:5:119: feature 3, point 2: the edge from here touches edge 5-6 of its own ring; outlines may touch others, not themselves
yard.geojson:5:129: feature 3, point 3: the edge from here touches edge 5-6 of its own ring; outlines may touch others, not themselves"#)]
#[case::ring_of_two_points(with(r#""role": "obstacle""#, "Polygon", "[[[0, 60], [10, 60], [0, 60]]]"), r#"yard.geojson:5:109: feature 3: a ring needs three different points or more, and the first again at its end"#)]
#[case::ring_without_area(
    with(r#""role": "obstacle""#, "Polygon", "[[[0, 60], [10, 60], [20, 60], [0, 60]]]"),
    r#"yard.geojson:5:109: feature 3: the ring has no area: its points lie on one line"#
)]
#[case::polygon_without_rings(
    with(r#""role": "obstacle""#, "Polygon", "[]"),
    r#"yard.geojson:5:108: feature 3: the polygon has no ring"#
)]
#[case::hole_outside(
    with(
        r#""role": "obstacle""#,
        "Polygon",
        "[[[0, 60], [10, 60], [10, 70], [0, 60]], [[20, 60], [30, 60], [30, 70], [20, 60]]]"
    ),
    r#"yard.geojson:5:149: feature 3, ring 2: a hole must lie wholly inside the first ring"#
)]
#[case::multipolygon_ring(with(r#""role": "drive""#, "MultiPolygon", "[[[[0, 60], [9, 60], [9, 69], [0, 60]]], [[[20, 60], [30, 60], [30, 70]]]]"), r#"yard.geojson:5:173: feature 3, polygon 2, point 3: the ring is not closed: its last point is 14' 1 1/2" from its first; end it with [20, 60]"#)]
#[case::null_in_a_position(
    with(r#""role": "drive""#, "Polygon", "[[[0, 60], [null, 60], [9, 69], [0, 60]]]"),
    r#"yard.geojson:5:117: feature 3, point 2: null is not a number; write the true coordinate"#
)]
#[case::text_in_a_position(
    with(r#""role": "obstacle", "radius": "1 ft""#, "Point", "[0, \"60\"]"),
    r#"yard.geojson:5:128: feature 3: "60" is not a number; write the true coordinate"#
)]
#[case::position_of_one_number(
    with(r#""role": "fence""#, "LineString", "[[0, 60], [7]]"),
    r#"yard.geojson:5:118: feature 3, point 2: [7] is not a position; it needs two numbers, [x, y]"#
)]
#[case::nesting_wrong(
    with(r#""role": "fence""#, "LineString", "[0, 60]"),
    r#"yard.geojson:5:109: feature 3, point 1: 0 is not a position, like [x, y]
yard.geojson:5:112: feature 3, point 2: 60 is not a position, like [x, y]"#
)]
#[case::unknown_geometry(with(r#""role": "fence""#, "Linestring", "[[0, 60], [9, 60]]"), r#"yard.geojson:5:79: feature 3, geometry: "Linestring" is not a type of geometry; did you mean "LineString"?"#)]
#[case::collection(sketch(&[ROAD, GATE, r#"{ "type": "Feature", "properties": { "role": "fence" }, "geometry": { "type": "GeometryCollection", "geometries": [] } }"#]), r#"yard.geojson:5:69: feature 3, geometry: a GeometryCollection is not read; make each part its own feature"#)]
#[case::no_geometry(sketch(&[ROAD, GATE, r#"{ "type": "Feature", "properties": { "role": "fence" }, "geometry": null }"#]), r#"yard.geojson:5:69: feature 3: has no geometry; draw it, or remove the feature"#)]
#[case::not_features(sketch(&[ROAD, GATE, "7", r#"{ "type": "Point" }"#]), r#"yard.geojson:5:1: feature 3: not an object; a feature has "type", "properties" and "geometry"
yard.geojson:6:11: feature 4: "type" must be "Feature""#)]
#[case::fence_of_one_point(
    with(r#""role": "fence""#, "LineString", "[[0, 60]]"),
    r#"yard.geojson:5:108: feature 3: a line needs two different points or more"#
)]
#[case::fence_as_point(
    with(r#""role": "fence""#, "Point", "[0, 60]"),
    r#"yard.geojson:5:79: feature 3, geometry: a fence is drawn as a LineString, not as a Point"#
)]
#[case::negative_thickness(
    with(r#""role": "fence", "thickness": "-4 in""#, "LineString", "[[0, 60], [9, 60]]"),
    r#"yard.geojson:5:68: feature 3, property "thickness": must be more than 0, and is -4""#
)]
#[case::point_without_radius(
    with(r#""role": "obstacle", "label": "oak""#, "Point", "[0, 60]"),
    r#"yard.geojson:5:36: feature 3 "oak": an obstacle drawn as a point needs its "radius", like "6 in""#
)]
#[case::line_without_thickness(
    with(r#""role": "obstacle", "label": "wall""#, "LineString", "[[0, 60], [9, 60]]"),
    r#"yard.geojson:5:36: feature 3 "wall": an obstacle drawn as a line needs its "thickness", like "8 in""#
)]
#[case::top_below_bottom(
    with(
        r#""role": "obstacle", "label": "limb", "radius": "3 ft", "bottom": "12 ft", "top": "10 ft""#,
        "Point",
        "[0, 60]"
    ),
    r#"yard.geojson:5:119: feature 3 "limb", property "top": the top, 10', is below the bottom, 12'"#
)]
#[case::below_ground(
    with(r#""role": "obstacle", "radius": "3 ft", "bottom": "-1 ft""#, "Point", "[0, 60]"),
    r#"yard.geojson:5:86: feature 3, property "bottom": must not be less than 0, and is -1'"#
)]
#[case::spot_as_line(
    with(r#""role": "spot""#, "LineString", "[[0, 60], [9, 60]]"),
    r#"yard.geojson:5:78: feature 3, geometry: a spot is drawn as a Point, not as a LineString"#
)]
#[case::spot_heading(
    with(r#""role": "spot", "heading_deg": 400"#, "Point", "[0, 60]"),
    r#"yard.geojson:5:69: feature 3, property "heading_deg": must be between 0 and 360: 0 is north, 90 east"#
)]
#[case::route_without_vehicle(
    with(r#""role": "route""#, "LineString", "[[0, 0], [0, 60]]"),
    r#"yard.geojson:5:36: feature 3: a route needs the "vehicle" that drives it, like "pickup""#
)]
#[case::route_track(
    with(r#""role": "route", "vehicle": "pickup", "track": "rear""#, "LineString", "[[0, 0], [0, 60]]"),
    r#"yard.geojson:5:85: feature 3, property "track": "rear" is not one of front-axle, rear-axle"#
)]
#[case::doubled_key(
    with(r#""role": "spot", "role": "fence""#, "LineString", "[[0, 60], [9, 60]]"),
    r#"yard.geojson:5:54: feature 3, "role": appears twice in one object; remove one"#
)]
#[case::degrees_in_a_sketch(sketch(&[&feature(r#""role": "road", "width": "20 ft""#, "LineString", "[[-93.501, 42.0], [-93.499, 42.0]]"), &feature(r#""role": "gate""#, "LineString", "[[-93.50002, 42.0001], [-93.49998, 42.0001]]")]), r#"yard.geojson:3:125: feature 1: the whole sketch is 0.002 units across, so these look like degrees; for longitude and latitude leave "coordinates" out of "plan""#)]
#[case::sketch_kilometers_wide(
    with(r#""role": "obstacle", "radius": 1"#, "Point", "[90000, 0]"),
    r#"yard.geojson:5:119: feature 3: is 27 km from the gate; a site reaches at most 5 km"#
)]
#[case::meters_taken_for_degrees(plan("{}", &[ROAD, GATE]), r#"yard.geojson:3:126: feature 1, point 1: is 10218 km from the gate; a site reaches at most 5 km; for a sketch in feet or meters say "coordinates": "local-ft" or "local-m" in "plan" (so are 2 more points)"#)]
#[case::feet_beyond_any_degree(plan("{}", &[ROAD, GATE, &feature(r#""role": "obstacle", "radius": 1"#, "Point", "[640, 310]")]), r#"yard.geojson:5:119: feature 3: [640, 310] is not longitude and latitude in degrees; for a sketch in feet or meters say "coordinates": "local-ft" or "local-m" in "plan""#)]
#[case::latitude_out_of_range(plan("{}", &[&feature(r#""role": "road", "width": "20 ft""#, "LineString", "[[-93.501, 95], [-93.499, 95]]")]), r#"yard.geojson:3:126: feature 1, point 1: latitude 95 is not between -90 and 90 (so is 1 more point)"#)]
#[case::latitude_first(plan("{}", &[&feature(r#""role": "road", "width": "20 ft""#, "LineString", "[[42.0, -93.501], [42.0, -93.499]]")]), r#"yard.geojson:3:126: feature 1, point 1: latitude -93.501 is not between -90 and 90; longitude comes first in GeoJSON: [-93.501, 42] (so is 1 more point)"#)]
#[case::another_system(sketch(&[ROAD, GATE]).replace("\"plan\"", "\"crs\": { \"type\": \"name\", \"properties\": { \"name\": \"urn:ogc:def:crs:EPSG::26915\" } }, \"plan\""), r#"yard.geojson:2:10: "crs": another coordinate system is not read (RFC 7946 dropped it); export longitude and latitude (WGS 84), or remove "crs" and say "coordinates": "local-m" or "local-ft" in "plan""#)]
#[case::all_at_once(sketch(&[&feature(r#""role": "road""#, "LineString", "[[-100, 0], [100, 0]]"), GATE, &feature(r#""role": "fense""#, "Point", "[0, 1]"), &feature(r#""role": "obstacle", "top": "5""#, "Polygon", "[[[0, 60], [9, 60], [9, 69]]]")]), r#"yard.geojson:3:36: feature 1: a road drawn as a line needs its "width", like "20 ft"; or draw its outline as a Polygon
yard.geojson:5:46: feature 3, property "role": "fense" is not a role; did you mean "fence"?
yard.geojson:6:65: feature 4, property "top": "5" has no unit; write "5 ft", "5 in" or "5 m" (in a file, a number without quotes is meters)
yard.geojson:6:140: feature 4, point 3: the ring is not closed: its last point is 12' 8 1/2" from its first; end it with [0, 60]"#)]
fn says_what_is_wrong(#[case] text: String, #[case] expected: &str) {
    assert_eq!(message(&text), expected);
}

#[test]
fn more_features_than_any_site_has_are_refused() {
    let tree = feature(r#""role": "obstacle", "radius": 1"#, "Point", "[0, 60]");
    let mut all = vec![ROAD, GATE];
    all.resize(20_001, &tree);
    let said = message(&sketch(&all));
    assert!(
        said.ends_with(
            "20001 features are too many for a site plan (at most 20000); keep what is near the gate"
        ),
        "{said}"
    );
    all.truncate(20_000);
    assert!(read(&sketch(&all), "yard.geojson").is_ok());
    // Features that a rule says to ignore are no part of the site.
    let house = feature(r#""layer": "zoning""#, "Point", "[0, 60]");
    all.extend(std::iter::repeat_n(house.as_str(), 20_000));
    let text = sketch(&all);
    let rules = r#"{ "rules": [{ "where": { "layer": "zoning" }, "role": "ignore" }] }"#;
    let roles = Some(Given { text: rules, file: "map.json" });
    assert!(read_source(&Source { roles, ..Source::of(&text, "yard.geojson") }).is_ok());
}
