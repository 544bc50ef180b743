//! Site plans that can be read: the site has the dimensions that were drawn, in whichever form they were written.
use geo::{Bearing, Destination, Distance, Geodesic};
use proptest::prelude::*;
use rstest::rstest;
use serde_json::{Value, json};
use std::fs;
use wideenough::geometry::{Outline, Point, Units};
use wideenough::site::sketch::{FarSide, TapeMeasurements, to_plan_text};
use wideenough::site::{
    Anchor, Arrangement, Frame, RoadUse, RouteTrack, Side, Site, Swing, Visit, plan_schema, read,
};

const FT: f64 = 0.3048;

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

fn collection(plan: &Value, features: &[Value]) -> String {
    json!({ "type": "FeatureCollection", "plan": plan, "features": features }).to_string()
}

fn good(text: &str) -> Site {
    read(text, "plan").unwrap_or_else(|error| panic!("{error}"))
}

/// A sketch in meters with a 6 m road along y = -8 and a 4 m gate at the origin, and more.
fn sketch(more: &[Value]) -> Site {
    let mut features = vec![
        feature(
            &json!({ "role": "road", "width": 6, "continues": "both" }),
            "LineString",
            &json!([[-60, -8], [60, -8]]),
        ),
        feature(&json!({ "role": "gate" }), "LineString", &json!([[-2, 0], [2, 0]])),
    ];
    features.extend_from_slice(more);
    good(&collection(&json!({ "coordinates": "local-m" }), &features))
}

fn near(a: Point, x: f64, y: f64) -> bool {
    a.distance(Point::new(x, y)) < 1e-9
}

#[test]
fn what_is_left_out_has_the_usual_measure() {
    let site = sketch(&[
        feature(&json!({ "role": "fence" }), "LineString", &json!([[3, 0], [9, 0]])),
        feature(&json!({ "role": "obstacle", "radius": "1 ft" }), "Point", &json!([9, 9])),
    ]);
    assert_eq!((site.units, site.drives_on), (Units::Meters, Side::Right));
    assert!(
        near(site.gate.left, -2.0, 0.0)
            && near(site.gate.right, 2.0, 0.0)
            && near(site.gate.inward, 0.0, 1.0)
    );
    assert!((site.gate.setback_m - 5.0).abs() < 1e-9);
    assert_eq!(site.gate.skew_rad, 0.0);
    let (post, leaves) = (site.gate.post, site.gate.leaves);
    assert!((post.width_m - 0.1524).abs() < 1e-12 && (post.depth_m - 0.1524).abs() < 1e-12);
    assert!((post.top_m - 6.0 * FT).abs() < 1e-12);
    assert_eq!((leaves.arrangement, leaves.opens), (Arrangement::Double, Swing::In));
    assert!((leaves.open_angle_rad - std::f64::consts::FRAC_PI_2).abs() < 1e-12);
    assert!((leaves.thickness_m - 0.0508).abs() < 1e-12);
    assert_eq!(site.gate.anchor, Anchor::Center);
    assert_eq!(site.roads[0].usage, RoadUse::Full);
    assert!(
        (site.fences[0].thickness_m - 0.1016).abs() < 1e-12 && (site.fences[0].top_m - 1.524).abs() < 1e-12
    );
    assert_eq!(site.fences[0].label, "fence");
    assert_eq!(site.obstacles[0].bottom_m, 0.0);
    assert!(site.obstacles[0].top_m > 20.0);
    assert!((site.obstacles[0].shapes[0].radius_m - FT).abs() < 1e-12);
}

#[test]
fn every_word_is_heard() {
    let plan = json!({ "title": "Yard", "note": "A yard.", "coordinates": "local-ft", "drives_on": "left", "units": "m",
        "vehicles": ["car", { "vehicle": "my/truck.json", "maneuvers": ["back-in"], "visits": ["turn-around"], "travels": ["westbound"] }] });
    let gate = json!({ "role": "gate", "label": "main", "leaves": "slide", "hinge": "right", "opens": "out",
        "open_angle_deg": 80, "post": { "width": "20 in", "depth": "24 in", "top": "7 ft" }, "anchor": "left",
        "thickness": "3 in", "bottom": "4 in", "top": "6 ft" });
    let site = good(&collection(
        &plan,
        &[
            feature(
                &json!({ "role": "road", "name": "lane", "width": "20 ft", "use": "own-lane" }),
                "LineString",
                &json!([[-90, 0], [90, 0]]),
            ),
            feature(&gate, "LineString", &json!([[8, 30], [-8, 30]])),
            feature(
                &json!({ "role": "drive" }),
                "Polygon",
                &json!([
                    [[-9, 0], [9, 0], [9, 99], [-9, 99], [-9, 0]],
                    [[-2, 50], [2, 50], [2, 55], [-2, 50]]
                ]),
            ),
            feature(
                &json!({ "role": "spot", "heading_deg": 90, "vehicles": ["car"] }),
                "Point",
                &json!([0, 80]),
            ),
            feature(
                &json!({ "role": "route", "vehicle": "car", "track": "rear-axle" }),
                "MultiLineString",
                &json!([[[-50, 5], [0, 5]], [[0, 5], [0, 60]]]),
            ),
        ],
    ));
    assert_eq!((site.title.as_str(), site.note.as_str()), ("Yard", "A yard."));
    assert_eq!((site.units, site.drives_on), (Units::Meters, Side::Left));
    assert_eq!((site.roads[0].surface.label.as_str(), site.roads[0].usage), ("lane", RoadUse::OwnLane));
    assert_eq!(site.vehicles[0].vehicle, "car");
    assert_eq!(
        (site.vehicles[1].visits.as_slice(), site.vehicles[1].travels[0].as_str()),
        ([Visit::TurnAround, Visit::BackInDriveOut].as_slice(), "westbound")
    );
    let (gate, leaves) = (&site.gate, site.gate.leaves);
    // Drawn from right to left; the sides are those of someone entering all the same.
    assert!(near(gate.left, -8.0 * FT, 30.0 * FT));
    assert_eq!((leaves.arrangement, leaves.opens), (Arrangement::Slide(Side::Right), Swing::Out));
    assert_eq!(gate.anchor, Anchor::Side(Side::Left));
    assert!(
        (gate.post.width_m - 20.0 * FT / 12.0).abs() < 1e-12 && (gate.post.depth_m - 2.0 * FT).abs() < 1e-12
    );
    assert!((leaves.bottom_m - FT / 3.0).abs() < 1e-12 && (leaves.top_m - 6.0 * FT).abs() < 1e-12);
    assert!((site.drives[0].outer.signed_area() - 18.0 * 99.0 * FT * FT).abs() < 1e-9);
    assert_eq!(site.drives[0].holes.len(), 1);
    assert!(site.spots[0].heading_rad.expect("said").abs() < 1e-12, "90 on a compass is east");
    assert_eq!((site.routes[0].legs.len(), site.routes[0].track), (2, RouteTrack::RearAxle));
    assert_eq!(site.warnings, Vec::<String>::new());
}

#[test]
fn obstacles_stand_on_what_was_drawn() {
    let wall = feature(
        &json!({ "role": "obstacle", "thickness": 0.2 }),
        "LineString",
        &json!([[9, 0], [9, 4], [13, 4]]),
    );
    let house = feature(
        &json!({ "role": "obstacle", "top": 3 }),
        "MultiPolygon",
        &json!([[[[20, 0], [30, 0], [30, 9], [20, 0]]], [[[40, 0], [40, 9], [50, 9], [40, 0]]]]),
    );
    let site = sketch(&[wall, house]);
    let shapes = &site.obstacles[0].shapes;
    assert_eq!(shapes.len(), 3, "two quads and a disc at the bend");
    assert!(near(shapes[0].outer.0[0], 9.1, 0.0), "{:?}", shapes[0]);
    assert_eq!((shapes[0].outer.0.len(), shapes[0].radius_m), (4, 0.0));
    assert!(near(shapes[2].outer.0[0], 9.0, 4.0));
    assert!((shapes[2].radius_m - 0.1).abs() < 1e-12);
    let house = &site.obstacles[1];
    assert_eq!((house.shapes.len(), house.top_m), (2, 3.0));
    for shape in site.obstacles.iter().flat_map(|o| &o.shapes).filter(|shape| shape.outer.0.len() > 2) {
        assert!(shape.outer.signed_area() > 0.0, "counterclockwise: {shape:?}");
    }
}

/// Skew is positive when the gate line is turned counterclockwise from the road.
#[rstest]
fn skew_and_sides(
    #[values(-60.0, -10.0, 0.0, 20.0, 70.0)] skew_deg: f64,
    #[values(0.0, 77.0, 181.0, -90.0)] turn_deg: f64,
) {
    let turn = |p: Point| {
        let d = Point::at_angle(turn_deg.to_radians());
        let q = d * p.x + d.left() * p.y;
        json!([q.x, q.y])
    };
    let half = Point::at_angle(skew_deg.to_radians()) * 2.0;
    let site = good(&collection(
        &json!({ "coordinates": "local-m" }),
        &[
            feature(&json!({ "role": "gate" }), "LineString", &json!([turn(half), turn(-half)])),
            feature(
                &json!({ "role": "road", "width": 6 }),
                "LineString",
                &json!([turn(Point::new(60.0, -8.0)), turn(Point::new(-60.0, -8.0))]),
            ),
        ],
    ));
    assert!((site.gate.skew_rad.to_degrees() - skew_deg).abs() < 1e-9, "{}", site.gate.skew_rad.to_degrees());
    assert!((site.gate.setback_m - 5.0).abs() < 1e-9);
    let left = Point::at_angle(turn_deg.to_radians()).dot(site.gate.left);
    assert!(left < 0.0, "entering, the left post is toward the left end of the road");
    assert!(site.gate.to_gate(site.gate.right).x > 0.0);
}

#[rstest]
#[case(0.0, "eastbound", "westbound")]
#[case(45.0, "northeastbound", "southwestbound")]
#[case(90.0, "northbound", "southbound")]
#[case(130.0, "northwestbound", "southeastbound")]
#[case(22.5, "eastbound", "westbound")]
#[case(-22.5, "southeastbound", "northwestbound")]
#[case(-179.0, "westbound", "eastbound")]
fn travels_follow_the_compass(#[case] angle_deg: f64, #[case] one: &str, #[case] other: &str) {
    let along = Point::at_angle(angle_deg.to_radians());
    let at = |p: Point| json!([p.x, p.y]);
    let road = |side: &str| {
        good(&collection(
            &json!({ "coordinates": "local-m", "drives_on": side }),
            &[
                feature(
                    &json!({ "role": "gate" }),
                    "LineString",
                    &json!([at(along * 2.0), at(along * -2.0)]),
                ),
                feature(
                    &json!({ "role": "road", "width": 6 }),
                    "LineString",
                    &json!([at(along * -60.0 + along.left() * 8.0), at(along * 60.0 + along.left() * 8.0)]),
                ),
            ],
        ))
    };
    for (side, sign) in [("right", -1.0), ("left", 1.0)] {
        let travels = road(side).travels();
        assert_eq!([travels[0].word.as_str(), travels[1].word.as_str()], [one, other]);
        for travel in &travels {
            assert!((travel.lane.width_m - 3.0).abs() < 1e-12);
            let (start, end) = (travel.lane.centerline[0], travel.lane.centerline[1]);
            assert!((end - start).dot(travel.direction) > 119.9, "in the direction of travel");
            // The lane lies a quarter of the road's width beside its middle, on the side people drive on.
            let middle = along.left() * 8.0;
            let beside = travel.direction.left().dot(start - middle);
            assert!((beside - sign * 1.5).abs() < 1e-9, "{beside}");
        }
    }
}

#[test]
fn a_narrow_road_is_one_lane_and_a_dead_end_one_way() {
    let gate = feature(&json!({ "role": "gate" }), "LineString", &json!([[-2, 0], [2, 0]]));
    let road = feature(&json!({ "role": "road", "width": 4 }), "LineString", &json!([[0, -60], [0, -5]]));
    let site = good(&collection(&json!({ "coordinates": "local-m" }), &[gate, road]));
    let travels = site.travels();
    assert_eq!(travels.len(), 1, "the road ends at the gate");
    assert_eq!(travels[0].word, "northbound");
    assert_eq!((travels[0].lane.width_m, travels[0].lane.centerline.len()), (4.0, 2));
    assert!(near(travels[0].lane.centerline[1], 0.0, -5.0));
    assert_eq!(site.gate.skew_rad, 0.0, "against the end of the road");
}

#[test]
fn a_road_drawn_as_a_polygon_runs_along_its_edge_at_the_gate() {
    let gate = feature(&json!({ "role": "gate" }), "LineString", &json!([[-2, 0], [2, 0]]));
    let ring = json!([[[-50, -11], [60, -11], [60, -5], [-50, -5], [-50, -11]]]);
    let other = feature(&json!({ "role": "road", "width": 5 }), "LineString", &json!([[80, -60], [80, 60]]));
    let road = feature(&json!({ "role": "road" }), "Polygon", &ring);
    let site = good(&collection(&json!({ "coordinates": "local-m" }), &[other, gate, road]));
    assert_eq!(site.roads.len(), 2);
    let road = &site.roads[0];
    assert!((road.width_m - 6.0).abs() < 1e-9, "the nearest road is the first");
    let (a, b) = (road.centerline[0], road.centerline[1]);
    assert!(
        (near(a, -50.0, -8.0) && near(b, 60.0, -8.0)) || (near(b, -50.0, -8.0) && near(a, 60.0, -8.0)),
        "{a:?} {b:?}"
    );
}

/// Every point of a site, in a fixed order.
fn all_points(site: &Site) -> Vec<Point> {
    let mut points = vec![site.gate.left, site.gate.right];
    let mut ring = |outline: &Outline| points.extend(&outline.0);
    for road in &site.roads {
        ring(&road.surface.outer);
    }
    for drive in &site.drives {
        ring(&drive.outer);
        drive.holes.iter().for_each(&mut ring);
    }
    for shape in site.obstacles.iter().flat_map(|obstacle| &obstacle.shapes) {
        ring(&shape.outer);
    }
    points.extend(site.fences.iter().flat_map(|fence| &fence.line));
    points.extend(site.spots.iter().map(|spot| spot.at));
    points.extend(site.routes.iter().flat_map(|route| route.legs.iter().flatten()));
    points
}

/// A plan's features with every coordinate mapped.
fn map_coordinates(value: &Value, map: &dyn Fn(f64, f64) -> [f64; 2]) -> Value {
    match value.as_array() {
        Some(list) if list.first().is_some_and(Value::is_number) => {
            json!(map(list[0].as_f64().unwrap_or_default(), list[1].as_f64().unwrap_or_default()))
        }
        Some(list) => list.iter().map(|item| map_coordinates(item, map)).collect(),
        None => value.clone(),
    }
}

proptest! {
    /// One plan drawn in longitude and latitude and as a sketch is one site, to a millimeter: the sketch's points are
    /// placed on the ellipsoid along geodesics from the gate.
    #[test]
    fn lonlat_and_local_agree(
        lon in -180.0..180.0_f64,
        lat in -80.0..80.0_f64,
        turn in 0.0..360.0_f64,
        shift in (-20.0..20.0_f64, 20.0..60.0_f64),
        gate_half in 1.5..6.0_f64,
    ) {
        let (dx, dy) = shift;
        let features = [
            feature(&json!({ "role": "road", "width": 7 }), "LineString", &json!([[-200, -15], [-20, -14], [30, -15], [200, -40]])),
            feature(&json!({ "role": "gate" }), "LineString", &json!([[-gate_half, 0], [gate_half, 0]])),
            feature(&json!({ "role": "drive" }), "Polygon", &json!([[[-9, -12], [9, -12], [9, 90], [-9, 90], [-9, -12]]])),
            feature(&json!({ "role": "fence" }), "LineString", &json!([[7, 0], [120, 3]])),
            feature(&json!({ "role": "obstacle", "radius": 1 }), "Point", &json!([dx, dy])),
            feature(&json!({ "role": "obstacle", "thickness": 0.3 }), "LineString", &json!([[dx, dy], [dx + 9.0, dy], [dx + 9.0, dy + 5.0]])),
            feature(&json!({ "role": "route", "vehicle": "car" }), "LineString", &json!([[-100, -14], [dx, dy]])),
        ];
        let turned = |x: f64, y: f64| {
            let d = Point::at_angle(turn.to_radians());
            d * x + d.left() * y
        };
        let origin = geo::Point::new(lon, lat);
        let on_earth = |x: f64, y: f64| {
            let p = turned(x, y);
            let place = Geodesic.destination(origin, 90.0 - p.angle().to_degrees(), p.norm());
            [place.x(), place.y()]
        };
        let redraw = |map: &dyn Fn(f64, f64) -> [f64; 2]| -> Vec<Value> {
            features
                .iter()
                .map(|f| {
                    let mut f = f.clone();
                    let mapped = map_coordinates(&f["geometry"]["coordinates"], map);
                    f["geometry"]["coordinates"] = mapped;
                    f
                })
                .collect()
        };
        let local = good(&collection(&json!({ "coordinates": "local-m" }), &redraw(&|x, y| [turned(x, y).x, turned(x, y).y])));
        let global = good(&collection(&json!({}), &redraw(&on_earth)));
        let (local_points, global_points) = (all_points(&local), all_points(&global));
        prop_assert_eq!(local_points.len(), global_points.len());
        for (p, q) in local_points.iter().zip(&global_points) {
            prop_assert!(p.distance(*q) < 1e-3, "{:?} {:?}", p, q);
        }
        prop_assert!((local.gate.setback_m - global.gate.setback_m).abs() < 1e-3);
        // In radians: a millimeter over the half of the narrowest gate.
        prop_assert!((local.gate.skew_rad - global.gate.skew_rad).abs() < 1e-3 / 1.5);
        prop_assert_eq!(
            local.travels().iter().map(|t| t.word.clone()).collect::<Vec<_>>(),
            global.travels().iter().map(|t| t.word.clone()).collect::<Vec<_>>()
        );
    }

    /// Distances between any two places of a site are those along the ellipsoid, and projected points can be put back.
    #[test]
    fn the_projection_keeps_distances(
        lon in -180.0..180.0_f64,
        lat in -80.0..80.0_f64,
        a in (-300.0..300.0_f64, -300.0..300.0_f64),
        b in (-300.0..300.0_f64, -300.0..300.0_f64),
    ) {
        let frame = Frame::LonLat { lon_deg: lon, lat_deg: lat };
        let (a, b) = (Point::new(a.0, a.1), Point::new(b.0, b.1));
        let on_earth = |p: Point| geo::Point::from(frame.to_plan(p));
        let distance = Geodesic.distance(on_earth(a), on_earth(b));
        prop_assert!((distance - a.distance(b)).abs() < 1e-5, "{} {}", distance, a.distance(b));
        prop_assert!(frame.to_site(frame.to_plan(a)).distance(a) < 1e-6);
        let bearing = Geodesic.bearing(geo::Point::new(lon, lat), on_earth(a));
        let turned = (90.0 - a.angle().to_degrees() - bearing).rem_euclid(360.0);
        prop_assert!(a.norm() < 1.0 || turned.min(360.0 - turned) < 1e-6, "{}", turned);
    }

    /// A plan made from measurements has those measurements.
    #[test]
    fn a_sketch_has_its_measures(
        road_width_m in 3.0..15.0_f64,
        setback_m in 1.0..30.0_f64,
        opening_m in 2.0..8.0_f64,
        skew_deg in -60.0..60.0_f64,
        post_m in 0.05..0.9_f64,
        apron in proptest::option::of((1.0..3.0_f64, 0.0..1.0_f64)),
        depth_inside_m in 8.0..80.0_f64,
        far_side in prop_oneof![Just(FarSide::Open), Just(FarSide::Ditch), Just(FarSide::Wall)],
        feet in any::<bool>(),
        left in any::<bool>(),
    ) {
        let reach = (opening_m / 2.0 + post_m) * wideenough::geometry::trig::sin(skew_deg.to_radians()).abs();
        let tape = TapeMeasurements {
            title: "A \"sketch\"".to_owned(),
            road_width_m,
            setback_m: setback_m + reach,
            opening_m,
            skew_deg,
            post_m,
            apron_width_m: apron.map(|(factor, _)| opening_m * factor),
            apron_radius_m: apron.map_or(0.0, |(_, part)| setback_m * part),
            depth_inside_m,
            width_inside_m: None,
            far_side,
            drives_on: if left { Side::Left } else { Side::Right },
            units: if feet { Units::Feet } else { Units::Meters },
            vehicles: vec!["pickup".to_owned(), "motorhome".to_owned()],
        };
        let text = to_plan_text(&tape).expect("a place that can be");
        let site = good(&text);
        let gate = &site.gate;
        prop_assert!((gate.opening_m() - opening_m).abs() < 1e-4);
        prop_assert!((gate.setback_m - tape.setback_m).abs() < 1e-4);
        prop_assert!((gate.skew_rad.to_degrees() - skew_deg).abs() < 0.01);
        prop_assert!((gate.post.width_m - post_m).abs() < 1e-4);
        prop_assert!((site.roads[0].width_m - road_width_m).abs() < 1e-4);
        prop_assert!(gate.inward.y > 0.0);
        prop_assert_eq!((site.units, site.drives_on), (tape.units, tape.drives_on));
        prop_assert_eq!(site.vehicles.iter().map(|v| v.vehicle.clone()).collect::<Vec<_>>(), tape.vehicles);
        prop_assert_eq!(&site.title, &tape.title);
        prop_assert_eq!(site.drives.len(), usize::from(apron.is_some()));
        prop_assert_eq!(site.obstacles.len(), usize::from(far_side != FarSide::Open));
        prop_assert_eq!(site.warnings.len(), 0);
        if let Some(drive) = site.drives.first() {
            let top = drive.outer.0.iter().map(|p| p.y).fold(f64::MIN, f64::max);
            prop_assert!((top - depth_inside_m).abs() < 1e-4);
            let narrowest = drive.outer.0.iter().map(|p| p.x.abs()).fold(f64::MAX, f64::min);
            prop_assert!((narrowest * 2.0 - tape.apron_width_m.unwrap_or_default()).abs() < 1e-3);
        }
    }

    /// Every damaged plan gets an answer, whatever is done to its bytes.
    #[test]
    fn damaged_plans_do_not_panic(cuts in proptest::collection::vec((any::<prop::sample::Index>(), "[\\[\\]{},:0-9\"a-z.-]{0,3}", 0_usize..4), 1..4)) {
        let mut text = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/field-sketch.geojson")).expect("example");
        for (at, put, drop) in cuts {
            let from = at.index(text.len());
            let to = (from + drop).min(text.len());
            if text.is_char_boundary(from) && text.is_char_boundary(to) {
                text.replace_range(from..to, &put);
            }
        }
        match read(&text, "plan") {
            Ok(site) => prop_assert!(all_points(&site).iter().all(|p| p.x.is_finite() && p.y.is_finite())),
            Err(error) => prop_assert!(!error.to_string().is_empty()),
        }
    }
}

/// The examples by name, with the opening they draw and their setback in feet.
const EXAMPLES: [(&str, f64, f64, [&str; 2]); 7] = [
    ("equipment-yard", 20.0, 30.0, ["from the left", "from the right"]),
    ("rural-entrance", 16.0, 15.0, ["eastbound", "westbound"]),
    ("town-lot", 12.5, 18.0, ["southeastbound", "northwestbound"]),
    ("small-lane", 20.0, 30.0, ["southwestbound", "northeastbound"]),
    ("field-sketch", 14.0, 25.0, ["eastbound", "westbound"]),
    ("house-on-a-bend", 15.0, 21.0, ["westbound", "eastbound"]),
    ("workshop-lane", 4.9 / FT, 2.5 / FT, ["eastbound", "westbound"]),
];

fn example(name: &str) -> String {
    let path = format!("{}/examples/{name}.geojson", env!("CARGO_MANIFEST_DIR"));
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

#[test]
fn examples_are_sound() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples");
    let plans = fs::read_dir(folder)
        .expect(folder)
        .flatten()
        .filter(|entry| entry.path().extension().is_some_and(|extension| extension == "geojson"));
    assert_eq!(plans.count(), EXAMPLES.len(), "every example is checked here");
    for (name, opening_ft, setback_ft, travels) in EXAMPLES {
        let site = read(&example(name), name).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(site.warnings, Vec::<String>::new());
        assert!(!site.title.is_empty() && !site.note.is_empty() && !site.vehicles.is_empty());
        assert!(
            (site.gate.opening_m() / FT - opening_ft).abs() < 0.001,
            "{name}: {}",
            site.gate.opening_m() / FT
        );
        assert!((site.gate.setback_m / FT - setback_ft).abs() < 0.01, "{name}: {}", site.gate.setback_m / FT);
        assert_eq!(site.travels().iter().map(|t| t.word.as_str()).collect::<Vec<_>>(), travels, "{name}");
        let gate = site.gate.center();
        assert!(site.roads[0].surface.outer.0.iter().all(|p| p.distance(gate) < 200.0));
    }
}

/// Just enough of JSON Schema to hold the examples against the plan's: it knows the words that schema uses, and fails
/// on any other.
fn fits(schema: &Value, root: &Value, value: &Value) -> Result<(), String> {
    let Some(rules) = schema.as_object() else { return Ok(()) };
    let is = |kind: &str| match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        _ => false,
    };
    let as_list = |v: &Value| v.as_array().cloned().unwrap_or_default();
    for (word, rule) in rules {
        let good = match word.as_str() {
            "type" if rule.is_array() => {
                as_list(rule).iter().any(|kind| is(kind.as_str().unwrap_or_default()))
            }
            "type" => is(rule.as_str().unwrap_or_default()),
            "const" => rule == value,
            "enum" => as_list(rule).contains(value),
            "required" => {
                as_list(rule).iter().all(|key| value.get(key.as_str().unwrap_or_default()).is_some())
            }
            "properties" => {
                for (key, below) in rule.as_object().into_iter().flatten() {
                    if let Some(member) = value.get(key) {
                        fits(below, root, member).map_err(|why| format!("{key}: {why}"))?;
                    }
                }
                true
            }
            "items" => {
                for (i, item) in as_list(value).iter().enumerate() {
                    fits(rule, root, item).map_err(|why| format!("{i}: {why}"))?;
                }
                true
            }
            "anyOf" => as_list(rule).iter().any(|one| fits(one, root, value).is_ok()),
            "oneOf" => as_list(rule).iter().filter(|one| fits(one, root, value).is_ok()).count() == 1,
            "$ref" => {
                let target = rule.as_str().unwrap_or_default().trim_start_matches('#');
                let target = root.pointer(target).ok_or_else(|| format!("{rule} leads nowhere"))?;
                fits(target, root, value)?;
                true
            }
            "description" | "title" | "format" | "default" | "$schema" | "$defs" => true,
            other => return Err(format!("the test does not know {other}")),
        };
        if !good {
            return Err(format!("{value} against {word} {rule}"));
        }
    }
    Ok(())
}

#[test]
fn the_schema_accepts_the_examples_and_refuses_typos() {
    let schema = plan_schema();
    for (name, ..) in EXAMPLES {
        let plan: Value = serde_json::from_str(&example(name)).expect(name);
        assert_eq!(fits(&schema, &schema, &plan), Ok(()), "{name}");
        for (from, to) in
            [("\"gate\"", "\"gait\""), ("FeatureCollection", "Features"), ("\"role\"", "\"rule\"")]
        {
            let wrong: Value = serde_json::from_str(&example(name).replace(from, to)).expect(name);
            assert!(fits(&schema, &schema, &wrong).is_err(), "{name} with {to}");
        }
    }
}

/// The committed schema is the one the types generate. `BLESS=1` rewrites it.
#[test]
fn the_committed_schema_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/plan.schema.json");
    let made = format!("{}\n", serde_json::to_string_pretty(&plan_schema()).expect("JSON"));
    if std::env::var_os("BLESS").is_some() {
        fs::write(path, &made).expect(path);
    }
    assert!(fs::read_to_string(path).unwrap_or_default() == made, "{path} is out of date: run with BLESS=1");
}

/// A sketch without a known north names directions of travel as seen from the road facing the gate; a plan may still
/// request them by the compass words that y would give.
#[test]
fn without_north_directions_go_by_the_gate() {
    let plan = |gate: &str| {
        let text = format!(
            r#"{{ "type": "FeatureCollection",
                "plan": {{ "coordinates": "local-ft", "north": "unknown",
                    "vehicles": [{{ "vehicle": "car", "travels": ["eastbound"] }}] }},
                "features": [
                    {{ "type": "Feature", "properties": {{ "role": "road", "width": "20 ft", "continues": "both" }},
                       "geometry": {{ "type": "LineString", "coordinates": [[-200, 0], [200, 0]] }} }},
                    {{ "type": "Feature", "properties": {{ "role": "gate" }},
                       "geometry": {{ "type": "LineString", "coordinates": {gate} }} }} ] }}"#
        );
        let travels = good(&text).travels();
        travels.into_iter().map(|t| (t.word, t.compass)).collect::<Vec<_>>()
    };
    let (left, right) = ("from the left".to_owned(), "from the right".to_owned());
    // The gate north of the road, and south of it: a driver going east comes from the left, then from the right.
    assert_eq!(
        plan("[[-8, 25], [8, 25]]"),
        [(left.clone(), "eastbound".to_owned()), (right.clone(), "westbound".to_owned())]
    );
    assert_eq!(
        plan("[[-8, -25], [8, -25]]"),
        [(right, "eastbound".to_owned()), (left, "westbound".to_owned())]
    );
}
