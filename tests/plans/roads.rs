//! Roads as drawn: a road ends where it is drawn unless the plan says that it continues, and only the directions of
//! travel that lead to the gate are studied.
use rstest::rstest;
use serde_json::{Value, json};
use std::fs;
use wideenough::geometry::Point;
use wideenough::site::changes::{Change, ChangeError};
use wideenough::site::{CONTINUES_M, Frame, RoadEnds, Site, read};

const FT: f64 = 0.3048;

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

fn plan(features: &[Value]) -> String {
    json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": features })
        .to_string()
}

fn good(text: &str) -> Site {
    read(text, "plan").unwrap_or_else(|error| panic!("{error}"))
}

fn words(site: &Site) -> Vec<String> {
    let mut words: Vec<String> = site.travels().into_iter().map(|travel| travel.word).collect();
    words.sort();
    words
}

fn reasons(site: &Site) -> Vec<String> {
    site.not_asked().iter().map(ToString::to_string).collect()
}

fn place(name: &str) -> String {
    let path = format!("{}/tests/places/{name}.geojson", env!("CARGO_MANIFEST_DIR"));
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// A gate of 4 m at the origin, with the inside above it.
fn gate() -> Value {
    feature(&json!({ "role": "gate" }), "LineString", &json!([[-2, 0], [2, 0]]))
}

/// A road 6 m wide through these points, with more properties.
fn road(points: &[(f64, f64)], more: &Value) -> Value {
    let mut properties = json!({ "role": "road", "width": 6 });
    for (key, value) in more.as_object().into_iter().flatten() {
        properties[key] = value.clone();
    }
    feature(&properties, "LineString", &json!(points))
}

/// The plan with every position mapped, and its coordinates of another kind.
fn redrawn(text: &str, coordinates: &str, map: &dyn Fn([f64; 2]) -> [f64; 2]) -> String {
    fn walk(value: &mut Value, map: &dyn Fn([f64; 2]) -> [f64; 2]) {
        let numbers: Option<Vec<f64>> =
            value.as_array().map(|list| list.iter().filter_map(Value::as_f64).collect());
        if let Some([x, y]) = numbers.as_deref() {
            *value = json!(map([*x, *y]));
        } else if let Some(list) = value.as_array_mut() {
            list.iter_mut().for_each(|item| walk(item, map));
        }
    }
    let mut plan: Value = serde_json::from_str(text).expect("JSON");
    plan["plan"]["coordinates"] = json!(coordinates);
    for feature in plan["features"].as_array_mut().expect("features") {
        walk(&mut feature["geometry"]["coordinates"], map);
    }
    plan.to_string()
}

/// The plan with the points of its roads in the opposite order, each continuing at the same place as before.
fn reversed(text: &str) -> String {
    let mut plan: Value = serde_json::from_str(text).expect("JSON");
    for feature in plan["features"].as_array_mut().expect("features") {
        if feature["properties"]["role"] == "road" && feature["geometry"]["type"] == "LineString" {
            feature["geometry"]["coordinates"].as_array_mut().expect("points").reverse();
            let swapped = match feature["properties"]["continues"].as_str() {
                Some("start") => Some("end"),
                Some("end") => Some("start"),
                _ => None,
            };
            if let Some(word) = swapped {
                feature["properties"]["continues"] = json!(word);
            }
        }
    }
    plan.to_string()
}

/// A sketch in feet as longitude and latitude, to ten places, as a program would write it.
fn in_degrees(text: &str, lon_deg: f64, lat_deg: f64) -> String {
    let frame = Frame::LonLat { lon_deg, lat_deg };
    redrawn(text, "lonlat", &|[x, y]| {
        frame.to_plan(Point::new(x * FT, y * FT)).map(|degrees| (degrees * 1e10).round() / 1e10)
    })
}

const WESTBOUND: &str = "westbound: the road ends 10' beyond the gate, so nothing comes from there";
const SOUTHBOUND: &str = "southbound: the road ends at the gate, so nothing comes from there";

/// Places as people drew them: the directions that lead to the gate, the length of road upstream, the note about the
/// other direction; in feet, in degrees, and with the road drawn in reverse order.
#[rstest]
#[case("02-lane-ends-at-gate", "northbound", 285.0, SOUTHBOUND)]
#[case("10-straight-lane-box-truck", "northbound", 294.0, SOUTHBOUND)]
#[case("11-lane12-pickup", "northbound", 294.0, SOUTHBOUND)]
#[case("12-dead-end-road", "eastbound", 300.0, WESTBOUND)]
fn a_road_that_ends_has_one_way_in(
    #[case] name: &str,
    #[case] word: &str,
    #[case] upstream_ft: f64,
    #[case] other: &str,
) {
    let drawn = place(name);
    let mut plans = vec![drawn.clone()];
    for (lon, lat) in [(5.3, 51.2), (-93.512_345_6, 42.654_321), (179.9999, -16.5), (0.0, 0.0), (12.0, 78.9)]
    {
        plans.push(in_degrees(&drawn, lon, lat));
    }
    plans.extend(plans.clone().iter().map(|text| reversed(text)));
    assert_eq!(plans.len(), 12);
    for text in plans {
        let site = good(&text);
        assert_eq!(words(&site), [word], "{text}");
        assert_eq!(reasons(&site), [other], "{text}");
        assert!(site.gate.skew_rad.abs() < 1e-6, "square is not askew: {}", site.gate.skew_rad);
        let lane = &site.travels()[0].lane;
        assert!((lane.upstream_m - upstream_ft * FT).abs() < 1e-3, "{}", lane.upstream_m);
        assert_eq!(site.roads[0].continues, RoadEnds::default());
    }
}

/// A gate at the very end of its road stands square to it, as one a little in front of that end does.
#[test]
fn a_gate_at_the_end_of_its_road_is_not_askew() {
    let drawn = place("02-lane-ends-at-gate");
    let mut plan: Value = serde_json::from_str(&drawn).expect("a plan");
    let road = &mut plan["features"][0]["geometry"]["coordinates"][1];
    assert_eq!(*road, json!([0, -15]));
    for end in [0.0, -0.001, -1.0] {
        plan["features"][0]["geometry"]["coordinates"][1] = json!([0, end]);
        let text = plan.to_string();
        for text in [text.clone(), in_degrees(&text, -93.5, 42.6)] {
            let site = good(&text);
            assert!(site.gate.skew_rad.abs() < 1e-6, "{end}: {} askew", site.gate.skew_rad);
            assert_eq!(
                (words(&site), reasons(&site)),
                (vec!["northbound".to_owned()], vec![SOUTHBOUND.to_owned()])
            );
        }
    }
}

/// One bend in meters and in degrees: both directions, and lanes equal to a millimeter.
#[test]
fn a_bend_in_meters_and_in_degrees_is_one_place() {
    let [local, global] = ["06-bend-local", "06-bend-lonlat"].map(|name| good(&place(name)));
    assert_eq!(words(&local), ["eastbound", "westbound"]);
    assert_eq!((words(&global), reasons(&global)), (words(&local), vec![]));
    // Beside the gate of the sketch; the other has its middle at the origin.
    let shift = local.gate.center() - global.gate.center();
    for (one, other) in local.travels().iter().zip(&global.travels()) {
        assert!((one.lane.upstream_m - other.lane.upstream_m).abs() < 2e-3);
        for (p, q) in one.lane.centerline.iter().zip(&other.lane.centerline) {
            assert!(p.distance(*q + shift) < 2e-3, "{p:?} {q:?}");
        }
    }
    assert!((local.gate.skew_rad - global.gate.skew_rad).abs() < 1e-3);
}

/// A dead end on either side: the direction from it leads to the gate from 5 m on, or if the road continues there.
#[rstest]
fn a_dead_end_on_either_side(
    #[values(0.0, 0.02, 3.0, 4.99, 5.01, 20.0)] beyond_m: f64,
    #[values(false, true)] in_the_west: bool,
    #[values(false, true)] backward: bool,
    #[values(None, Some("none"), Some("start"), Some("end"), Some("both"))] continues: Option<&str>,
) {
    let sign = if in_the_west { -1.0 } else { 1.0 };
    let more = continues.map_or_else(|| json!({}), |word| json!({ "continues": word }));
    let mut text = plan(&[gate(), road(&[(-80.0 * sign, -8.0), (beyond_m * sign, -8.0)], &more)]);
    if backward {
        text = reversed(&text);
    }
    let site = good(&text);
    let (to, from) = if in_the_west { ("westbound", "eastbound") } else { ("eastbound", "westbound") };
    let goes_on = matches!(continues, Some("end" | "both"));
    let mut expected = vec![to];
    if goes_on || beyond_m > 5.0 {
        expected.push(from);
    }
    expected.sort_unstable();
    assert_eq!(words(&site), expected);
    let ends =
        if beyond_m < 0.05 { "at the gate".to_owned() } else { format!("{beyond_m:.2} m beyond the gate") };
    let reason = format!("{from}: the road ends {ends}, so nothing comes from there");
    assert_eq!(reasons(&site), if expected.len() == 1 { vec![reason] } else { vec![] });
    let starts = matches!(continues, Some("start" | "both"));
    for travel in site.travels() {
        let (behind, ahead) = if travel.word == to { (starts, goes_on) } else { (goes_on, starts) };
        let drawn = if travel.word == to { 80.0 } else { beyond_m };
        let upstream = travel.lane.upstream_m;
        assert!(if behind { upstream.is_infinite() } else { (upstream - drawn).abs() < 1e-9 }, "{upstream}");
        // The lane runs on straight where the road continues, and nowhere else.
        let line = &travel.lane.centerline;
        let more = f64::from(u8::from(behind) + u8::from(ahead)) * CONTINUES_M;
        let long = (line[line.len() - 1] - line[0]).dot(travel.direction);
        assert!((long - (80.0 + beyond_m + more)).abs() < 1e-9, "{long}");
        let before = -line[0].dot(travel.direction);
        assert!((before - drawn - if behind { CONTINUES_M } else { 0.0 }).abs() < 1e-9, "{before}");
    }
    // Parallel to the gate line, and not the end of a road ahead of which the gate lies.
    assert!(site.gate.skew_rad.abs() < 1e-9);
}

/// The lane of a bent road runs on along its last piece.
#[test]
fn a_bent_road_runs_on_along_its_last_piece() {
    let bent = [(-60.0, -8.0), (10.0, -8.0), (40.0, 32.0)];
    let site = good(&plan(&[
        gate(),
        feature(&json!({ "role": "road", "width": 4, "continues": "end" }), "LineString", &json!(bent)),
    ]));
    let travels = site.travels();
    assert_eq!([travels[0].word.as_str(), travels[1].word.as_str()], ["eastbound", "westbound"]);
    let end = Point::new(40.0 + 0.6 * CONTINUES_M, 32.0 + 0.8 * CONTINUES_M);
    assert!(travels[0].lane.centerline[2].distance(end) < 1e-9);
    assert!(travels[1].lane.centerline[0].distance(end) < 1e-9);
    assert!(travels[0].lane.centerline[0].distance(Point::new(-60.0, -8.0)) < 1e-9);
    assert!((travels[0].lane.upstream_m - 60.0).abs() < 1e-9 && travels[1].lane.upstream_m.is_infinite());
}

/// A lane that ends obliquely: the gate 30 degrees off its last piece, and 70; from either side, turned by any angle.
#[rstest]
fn a_lane_that_ends_obliquely_has_one_way_in(
    #[values(30.0, -30.0, 70.0, -70.0)] off_deg: f64,
    #[values(0.0, 61.0, 200.0)] turn_deg: f64,
    #[values(false, true)] backward: bool,
) {
    let turned = |p: Point| {
        let d = Point::at_angle(f64::to_radians(turn_deg));
        json!([p.dot(d), p.dot(d.left())])
    };
    // The end is 9 m from the gate; the lane meets the line to the gate at that angle.
    let end = Point::new(0.0, -9.0);
    let along = Point::at_angle((90.0 + off_deg).to_radians());
    let mut lane = json!([turned(end - along * 70.0), turned(end)]);
    if backward {
        lane.as_array_mut().expect("points").reverse();
    }
    let text = plan(&[
        feature(
            &json!({ "role": "gate" }),
            "LineString",
            &json!([turned(Point::new(-2.0, 0.0)), turned(Point::new(2.0, 0.0))]),
        ),
        feature(&json!({ "role": "road", "width": 4 }), "LineString", &lane),
    ]);
    let site = good(&text);
    let travels = site.travels();
    assert_eq!(travels.len(), 1, "{:?}", words(&site));
    let d = Point::at_angle(f64::to_radians(turn_deg));
    assert!(travels[0].direction.distance(Point::new(along.dot(d), along.dot(d.left()))) < 1e-6);
    assert!((travels[0].lane.upstream_m - 70.0).abs() < 1e-6);
    assert!(reasons(&site)[0].ends_with("the road ends at the gate, so nothing comes from there"));
    // Up to 45 degrees the gate lies ahead, and skew is measured against the road's end.
    let expected = if off_deg.abs() < 45.0 { -off_deg } else { 90.0_f64.copysign(off_deg) - off_deg };
    assert!((site.gate.skew_rad.to_degrees() - expected).abs() < 1e-3, "{}", site.gate.skew_rad.to_degrees());
}

/// A road that ends a court's length before the gate does not end at the gate.
#[test]
fn a_road_that_ends_far_from_the_gate_says_how_far() {
    for (end_m, ends) in [(11.0, "at the gate"), (22.0, "22.00 m from the gate")] {
        let lane = json!([[0.0, -end_m - 70.0], [0.0, -end_m]]);
        let site =
            good(&plan(&[gate(), feature(&json!({ "role": "road", "width": 6 }), "LineString", &lane)]));
        let reason = &reasons(&site)[0];
        assert!(reason.ends_with(&format!("the road ends {ends}, so nothing comes from there")), "{reason}");
    }
}

/// A round turnaround of 12 m radius about (0, -20), as a polygon, its points in degrees from `from_deg`.
fn bulb(corners: u32, from_deg: f64) -> Value {
    let ring: Vec<[f64; 2]> = (0..=corners)
        .map(|k| {
            let p = Point::new(0.0, -20.0)
                + Point::at_angle(
                    (from_deg + 360.0 * f64::from(k % corners) / f64::from(corners)).to_radians(),
                ) * 12.0;
            [p.x, p.y]
        })
        .collect();
    feature(&json!({ "role": "road", "label": "turnaround" }), "Polygon", &json!([ring]))
}

/// A road into a turnaround: vehicles come along it, wherever in the turnaround its line is drawn to.
#[rstest]
fn at_a_turnaround_vehicles_come_along_the_road_into_it(
    #[values((0.0, -32.4), (0.0, -31.0), (0.0, -20.0), (0.0, -8.2))] end: (f64, f64),
    #[values(12, 64)] corners: u32,
    #[values(false, true)] backward: bool,
    #[values(false, true)] degrees: bool,
    #[values(false, true)] bulb_first: bool,
) {
    // A corner or an edge of the ring beside the gate: its edge is 8 m from the gate, or a hair more.
    let line = road(&[(0.0, -130.0), (0.0, -60.0), end], &json!({ "label": "court", "continues": "start" }));
    let bulb = bulb(corners, 90.0);
    let features = if bulb_first { [bulb, line, gate()] } else { [gate(), line, bulb] };
    let mut text = plan(&features);
    if backward {
        text = reversed(&text);
    }
    if degrees {
        let frame = Frame::LonLat { lon_deg: -97.3, lat_deg: 44.1 };
        text = redrawn(&text, "lonlat", &|[x, y]| frame.to_plan(Point::new(x, y)));
        text = text.replace("\"plan\":{", "\"plan\":{\"units\":\"m\",");
    }
    let site = good(&text);
    assert_eq!(words(&site), ["northbound"]);
    assert_eq!(
        reasons(&site),
        ["southbound: the road ends in \"turnaround\" at the gate, so nothing comes from there"]
    );
    assert_eq!((site.roads.len(), site.beside_gate), (2, 1));
    assert_eq!([&*site.roads[0].surface.label, &*site.roads[1].surface.label], ["court", "turnaround"]);
    assert!((site.gate.setback_m - 8.0).abs() < 1e-3, "from the turnaround's edge: {}", site.gate.setback_m);
    assert!(site.gate.skew_rad.abs() < 1e-3, "{}", site.gate.skew_rad);
    let lane = &site.travels()[0].lane;
    assert!(lane.upstream_m.is_infinite() && (lane.width_m - 3.0).abs() < 1e-12);
    // Changes to the gate follow the turnaround's edge, too.
    let back = Change::Setback(1.5).apply(&site).unwrap();
    assert!((back.gate.setback_m - 9.5).abs() < 1e-3 && words(&back) == ["northbound"]);
    assert_eq!(Change::RoadWidth(0.3).apply(&site).unwrap_err(), ChangeError::NoFarEdge);
}

/// A road's line drawn on across a turnaround brings no further way in to a gate beside it, however long it is.
#[rstest]
fn a_line_drawn_across_a_turnaround_has_one_way_in(#[values(-31.0, -20.0, -8.5)] end: f64) {
    let east = feature(&json!({ "role": "gate" }), "LineString", &json!([[18, -22], [18, -18]]));
    let site = good(&plan(&[east, bulb(64, 0.0), road(&[(0.0, -130.0), (0.0, end)], &json!({}))]));
    assert_eq!(words(&site), ["northbound"]);
    assert!((site.gate.setback_m - 6.0).abs() < 1e-9 && site.gate.skew_rad.abs() < 1e-9);
    // The lane reaches to beside the gate.
    let upstream = site.travels()[0].lane.upstream_m;
    assert!((upstream - (end.min(-20.0) + 130.0)).abs() < 1e-9, "{upstream}");
}

/// A turnaround beside a road that passes it: both directions lead there. One that no line meets, or that another
/// road meets too far away, is a road as it was drawn.
#[test]
fn a_bulb_beside_a_road_has_both_ways_in() {
    let passing = road(&[(-100.0, -34.5), (100.0, -34.5)], &json!({ "label": "through road" }));
    let site = good(&plan(&[gate(), bulb(64, 90.0), passing]));
    assert_eq!(words(&site), ["eastbound", "westbound"]);
    assert_eq!((&*site.roads[0].surface.label, site.beside_gate), ("through road", 1));
    assert!((site.travels()[0].lane.upstream_m - 100.0).abs() < 1e-6);
    // It ends just past the bulb.
    let ending = road(&[(-100.0, -34.5), (4.0, -34.5)], &json!({}));
    assert_eq!(words(&good(&plan(&[gate(), bulb(64, 90.0), ending]))), ["eastbound"]);
    let far = road(&[(-100.0, -37.5), (100.0, -37.5)], &json!({}));
    for others in [vec![], vec![far]] {
        let mut features = vec![gate(), bulb(12, 75.0)];
        features.extend(others);
        let site = good(&plan(&features));
        assert_eq!((&*site.roads[0].surface.label, site.beside_gate), ("turnaround", 0));
    }
    // A long road drawn as a polygon is no turnaround, though a line meets it.
    let ring = json!([[[-40, -12], [40, -12], [40, -6], [-40, -6], [-40, -12]]]);
    let long = feature(&json!({ "role": "road", "label": "long" }), "Polygon", &ring);
    let side = road(&[(0.0, -90.0), (0.0, -12.0)], &json!({}));
    let site = good(&plan(&[gate(), long, side]));
    assert_eq!((&*site.roads[0].surface.label, site.beside_gate), ("long", 0));
    assert_eq!(words(&site), ["eastbound", "northbound on road", "westbound"]);
}

/// A road drawn as a polygon starts at the right of someone entering; one that ends at the gate starts far from it.
#[test]
fn a_road_drawn_as_a_polygon_has_a_start_and_an_end() {
    let ring = json!([[[-60, -12], [3, -12], [3, -6], [-60, -6], [-60, -12]]]);
    let with = |properties: Value| good(&plan(&[gate(), feature(&properties, "Polygon", &ring)]));
    assert_eq!(words(&with(json!({ "role": "road" }))), ["eastbound"]);
    let on = with(json!({ "role": "road", "continues": "start" }));
    assert_eq!(words(&on), ["eastbound", "westbound"], "the start is in the east");
    assert!(on.travels().iter().all(|t| (t.word == "westbound") == t.lane.upstream_m.is_infinite()));
    assert_eq!(words(&with(json!({ "role": "road", "continues": "end" }))), ["eastbound"]);
    let lane = json!([[[-2, -70], [2, -70], [2, -5], [-2, -5], [-2, -70]]]);
    let site =
        good(&plan(&[gate(), feature(&json!({ "role": "road", "continues": "start" }), "Polygon", &lane)]));
    assert_eq!(words(&site), ["northbound"]);
    assert_eq!(reasons(&site), [SOUTHBOUND]);
    assert!((site.roads[0].width_m - 4.0).abs() < 1e-9 && site.gate.skew_rad.abs() < 1e-9);
    assert!(site.roads[0].centerline[1].distance(Point::new(0.0, -5.0)) < 1e-9);
    assert!(site.travels()[0].lane.centerline[0].distance(Point::new(0.0, -70.0 - CONTINUES_M)) < 1e-9);
}

/// A road in several lines continues at its very first point and at its last. Lines that meet are one; others are not.
#[test]
fn a_road_in_several_lines_has_one_start_and_one_end() {
    let ends = |gap: f64| {
        let lines = json!([[[-80, -8], [0, -8]], [[gap, -8], [80, -8]]]);
        let words = json!({ "role": "road", "width": 6, "continues": "both" });
        let site = good(&plan(&[gate(), feature(&words, "MultiLineString", &lines)]));
        let mut ends: Vec<(f64, bool, bool)> =
            site.roads.iter().map(|r| (r.centerline[0].x, r.continues.start, r.continues.end)).collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        ends
    };
    assert_eq!(ends(0.0), [(-80.0, true, true)]);
    assert_eq!(ends(1.0), [(-80.0, true, false), (1.0, false, true)]);
}

/// A plan that requests a direction nothing comes from gets the reason and advice; likewise for a road too short for
/// any vehicle, one that continues through the gate, and an unknown word.
#[test]
fn faults_say_what_to_do() {
    let with = |road: &Value, travel: &str| {
        let plan = json!({ "type": "FeatureCollection",
            "plan": { "coordinates": "local-m", "vehicles": [{ "vehicle": "car", "travels": [travel] }] },
            "features": [gate(), road] });
        let error = read(&plan.to_string(), "yard").expect_err("a fault").to_string();
        // Without the place: the whole text is on one line.
        let (_, message) = error.split_once(": ").expect("a place");
        message.to_owned()
    };
    let dead_end = road(&[(-80.0, -8.0), (3.0, -8.0)], &json!({}));
    assert_eq!(
        with(&dead_end, "westbound"),
        "\"travels\": \"westbound\" does not lead to the gate: the road ends 3.00 m beyond the gate, so nothing comes \
         from there; leave it out, or give the road \"continues\": \"end\" if it goes on"
    );
    assert!(
        with(&road(&[(3.0, -8.0), (-80.0, -8.0)], &json!({})), "westbound")
            .contains("\"continues\": \"start\"")
    );
    let on = road(&[(-80.0, -8.0), (3.0, -8.0)], &json!({ "continues": "start" }));
    assert!(with(&on, "westbound").contains("\"continues\": \"both\""));
    assert_eq!(
        with(&dead_end, "northbound"),
        "\"travels\": \"northbound\" is not a direction of travel on the road at the gate; it runs eastbound"
    );
    let lane = [(0.0, -80.0), (0.0, -5.0)];
    assert_eq!(
        with(&road(&lane, &json!({})), "southbound"),
        "\"travels\": \"southbound\" does not lead to the gate: the road ends at the gate, so nothing comes from \
         there; leave it out"
    );
    assert_eq!(
        with(&road(&lane, &json!({ "continues": "both" })), "northbound"),
        "feature 2, property \"continues\": the gate stands where this road goes on beyond its end; draw the road as \
         far as it passes the gate, or leave that end out of \"continues\""
    );
    assert!(read(&plan(&[gate(), road(&lane, &json!({ "continues": "start" }))]), "yard").is_ok());
    // Into a turnaround, where nothing more can be drawn.
    let text = json!({ "type": "FeatureCollection",
        "plan": { "coordinates": "local-m", "vehicles": [{ "vehicle": "car", "travels": ["southbound"] }] },
        "features": [gate(), bulb(12, 90.0), road(&[(0.0, -90.0), (0.0, -31.0)], &json!({}))] });
    let error = read(&text.to_string(), "yard").expect_err("a fault").to_string();
    assert!(
        error.ends_with("ends in \"turnaround\" at the gate, so nothing comes from there; leave it out"),
        "{error}"
    );
    assert_eq!(
        with(&road(&[(-4.0, -8.0), (3.0, -8.0)], &json!({})), "eastbound"),
        "feature 2: vehicles come to the gate along this road, and it is 7.00 m long as drawn, too short for one to \
         come from; draw more of it, or say which end goes on, like \"continues\": \"start\""
    );
    assert_eq!(
        with(&road(&lane, &json!({ "continues": "strat" })), "northbound"),
        "feature 2, property \"continues\": \"strat\" is not one of none, start, end, both; did you mean \"start\"?"
    );
}

/// A gate across a drive that runs along the road points at the road: its bearing says which side is in.
#[rstest]
#[case::eastward(90.0, 1.0)]
#[case::westward(270.0, -1.0)]
#[case::nearly(93.0, 1.0)]
fn a_gate_beside_the_road_looks_where_its_bearing_says(#[case] bearing: f64, #[case] east: f64) {
    let gate = feature(&json!({ "role": "gate", "width": 5.0, "bearing": bearing }), "Point", &json!([0, 8]));
    let site = good(&plan(&[gate, road(&[(-80.0, 0.0), (80.0, 0.0)], &json!({}))]));
    assert!(site.gate.inward.x * east > 0.99, "{:?}", site.gate.inward);
    assert!((site.gate.skew_rad.abs().to_degrees() - 90.0).abs() < 3.1);
    assert_eq!(words(&site), ["eastbound", "westbound"]);
    // Turned by 6 degrees it faces away from the road, and the other bearing looks out.
    let out = feature(&json!({ "role": "gate", "width": 5.0, "bearing": 96.0 }), "Point", &json!([0, 8]));
    let faults = read(&plan(&[out, road(&[(-80.0, 0.0), (80.0, 0.0)], &json!({}))]), "plan").unwrap_err();
    assert!(faults.to_string().contains("looks out to the road"), "{faults}");
}

/// Between two roads a gate drawn as a point is entered from the one behind whoever comes in, also where the other is a little
/// nearer; one far behind the gate is none that a bearing the wrong way round would choose.
#[test]
fn the_bearing_chooses_between_two_roads() {
    let with = |bearing: f64, south: f64, north: f64| {
        let gate =
            feature(&json!({ "role": "gate", "width": 5.0, "bearing": bearing }), "Point", &json!([0, 0]));
        let roads = [south, north].map(|y| road(&[(-80.0, y), (80.0, y)], &json!({})));
        read(&plan(&[gate, roads[0].clone(), roads[1].clone()]), "plan")
    };
    for (bearing, setback_m) in [(0.0, 9.0), (180.0, 12.0)] {
        let site = with(bearing, -12.0, 15.0).expect("a sound plan");
        assert!((site.gate.setback_m - setback_m).abs() < 1e-9, "{}", site.gate.setback_m);
    }
    assert!(with(180.0, -12.0, 60.0).expect_err("a fault").to_string().contains("looks out to the road"));
}

/// A road around a block, 6 m wide, 114 by 74 m along its middle, drawn as an outline with the block as a hole.
fn around_a_block(gate: &Value) -> Site {
    let corners = |x: f64, y: f64| json!([[-x, -y], [x, -y], [x, y], [-x, y], [-x, -y]]);
    let ring = json!([corners(60.0, 40.0), corners(54.0, 34.0)]);
    good(&plan(&[gate.clone(), feature(&json!({ "role": "road" }), "Polygon", &ring)]))
}

/// A gate inside the block and one outside stand as far from the road as its nearest edge, vehicles come along it from both
/// sides, and the middle of its lanes is 28.5 or 31.5 m away.
#[test]
fn a_road_around_a_block_is_a_road() {
    let at = |y: f64| feature(&json!({ "role": "gate" }), "LineString", &json!([[-2.0, y], [2.0, y]]));
    for (y, setback_m, inward) in [(-26.0, 8.0, 1.0), (-48.0, 8.0, -1.0)] {
        let site = around_a_block(&at(y));
        assert!((site.gate.setback_m - setback_m).abs() < 1e-9, "{}", site.gate.setback_m);
        assert!((site.gate.inward.y - inward).abs() < 1e-9);
        assert!((site.roads[0].width_m - 6.0).abs() < 1e-6, "{}", site.roads[0].width_m);
        assert_eq!(words(&site), ["eastbound", "westbound"], "{y}");
        for travel in site.travels() {
            assert!((travel.beside_gate.y + 37.0).abs() < 0.1, "{y}: {:?}", travel.beside_gate);
            assert!(travel.lane.upstream_m > 100.0, "{y}: {}", travel.lane.upstream_m);
        }
        // On the gate's own line outward the road begins where its edge is.
        assert!((wideenough::gate::road_gap(&site, (-1.0, 1.0), 0.0) - setback_m).abs() < 1e-9);
    }
}

/// A turnaround with an island is a turnaround: the road that leads into it is the one vehicles come along.
#[test]
fn a_turnaround_with_an_island_is_one() {
    let circle = |radius: f64| -> Vec<[f64; 2]> {
        let at =
            |k: i32| Point::new(0.0, -20.0) + Point::at_angle(f64::from(k % 36).to_radians() * 10.0) * radius;
        (0..=36).map(|k| [at(k).x, at(k).y]).collect()
    };
    let words_of = json!({ "role": "road", "label": "turnaround" });
    let island = feature(&words_of, "Polygon", &json!([circle(15.0), circle(7.0)]));
    let site = good(&plan(&[gate(), island, road(&[(0.0, -120.0), (0.0, -34.0)], &json!({}))]));
    assert_eq!(site.turnaround(), Some(1));
    assert_eq!(words(&site), ["northbound"]);
}
