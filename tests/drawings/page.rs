//! The page and the GeoJSON of a real study: numbers that agree with results.json, text that stays text, rings with the
//! right orientation.
use geo::{Area, Validation};
use geojson::{FeatureCollection, GeometryValue};
use serde_json::Value;
use std::sync::OnceLock;
use wideenough::geometry::length::Round;
use wideenough::geometry::{Outline, Point, Pose, Units};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State, Trajectory};
use wideenough::opening::{
    Case, Contact, Demanded, DrawnWay, Outcome, Placement, Study, StudyOptions, Wanted, study,
};
use wideenough::report::{geojson, page, value};
use wideenough::site::{self, Frame, Maneuver};
use wideenough::sweep::{Cover, DRAWING_TOLERANCE_M, envelope};
use wideenough::vehicle::find;

/// A lane with a wall across it, so that something besides the gate is near; one vehicle drives in, one backs a
/// trailer.
const PLAN: &str = r#"{ "type": "FeatureCollection",
  "plan": { "title": "Test yard", "coordinates": "local-m", "units": "ft", "vehicles": [] },
  "features": [
    { "type": "Feature", "properties": { "role": "road", "width": 6, "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-60, 0], [60, 0]] } },
    { "type": "Feature", "properties": { "role": "obstacle", "label": "LABEL", "thickness": 0.2, "top": 2 },
      "geometry": { "type": "LineString", "coordinates": [[-20, -4], [20, -4]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "double" },
      "geometry": { "type": "LineString", "coordinates": [[-2.5, 8], [2.5, 8]] } }
  ] }"#;

fn made() -> &'static Study {
    static STUDY: OnceLock<Study> = OnceLock::new();
    STUDY.get_or_init(|| {
        let site = site::read(&PLAN.replace("LABEL", "garden wall"), "yard.geojson").unwrap();
        let wanted: Vec<Wanted> =
            ["car", "pickup-bumper-pull-20"].map(|name| Wanted::from(find(name).unwrap())).to_vec();
        let wanted: Vec<Wanted> =
            wanted.into_iter().map(|w| Wanted { travels: vec!["eastbound".to_owned()], ..w }).collect();
        study(site, &wanted, &StudyOptions::default(), &|_| ())
    })
}

/// The poses a page plays, case by case.
fn ways(page: &str) -> Vec<Value> {
    let mut ways = Vec::new();
    for part in page.split("class=\"poses\">").skip(1) {
        ways.push(serde_json::from_str(&part[..part.find("</script>").unwrap()]).unwrap());
    }
    ways
}

/// The poses of the way in of this name.
fn way(page: &str, stem: &str) -> Value {
    let article = page.split(&format!("<article class=\"case\" id=\"{stem}\"")).nth(1).unwrap();
    ways(&article[..article.find("</article>").unwrap()]).remove(0)
}

/// Parses a path of results.json.
fn path(witness: &Value) -> Path {
    let start = &witness["start"];
    let at = ["x_m", "y_m", "heading_rad"].map(|key| number(&start[key]));
    let mut state = State { lead: Pose::new(at[0], at[1], at[2]), ..State::default() };
    for (slot, angle) in state.hitch.iter_mut().zip(start["hitch_rad"].as_array().unwrap()) {
        *slot = number(angle);
    }
    let segment = |s: &Value| Segment {
        length_m: number(&s["length_m"]),
        curvature_start: number(&s["curvature_start"]),
        curvature_end: number(&s["curvature_end"]),
    };
    let leg = |leg: &Value| Leg {
        direction: if leg["direction"] == "forward" { Direction::Forward } else { Direction::Reverse },
        segments: leg["segments"].as_array().unwrap().iter().map(segment).collect(),
    };
    Path { start: state, legs: witness["legs"].as_array().unwrap().iter().map(leg).collect() }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn the_page_shows_the_gaps_of_results_json() {
    let study = made();
    let (results, page) = (value(study), page(study));
    assert_eq!(ways(&page).len(), 4);
    let mut compared = 0;
    for case in results["cases"].as_array().unwrap() {
        let way = way(&page, case["drawing"].as_str().unwrap().trim_end_matches(".svg"));
        let poses = way["poses"].as_array().unwrap();
        assert!(poses.len() > 60, "{}", poses.len());
        for contact in case["drawn_contacts"].as_array().unwrap() {
            let station = number(&contact["station_m"]);
            let at = poses.iter().find(|p| (number(&p["station_m"]) - station).abs() < 1e-3).unwrap();
            // Something else may be nearer just there.
            assert!(number(&at["gap_m"]) <= number(&contact["gap_m"]) + 2e-4, "{contact} {at}");
            compared += 1;
        }
        let least = poses.iter().filter_map(|p| p["gap_m"].as_f64()).fold(f64::MAX, f64::min);
        let first = &case["drawn_contacts"][0];
        assert!((least - number(&first["gap_m"])).abs() < 2e-4, "{least} {first}");
        // It is the certified clearance, except for what lies between two poses.
        assert!(
            (least - number(&case["drawn_clearance_m"])).abs() < 5e-3,
            "{least} {}",
            case["drawn_clearance_m"]
        );
        let tight = &poses[usize::try_from(way["tight"].as_u64().unwrap()).unwrap()];
        assert_eq!(number(&tight["gap_m"]), least);
        // The path at the gate as drawn is the one the page plays, to within what lies between two of its poses.
        let name = case["vehicle"].as_str().unwrap();
        for sample in path(&case["drawn_witness"]).samples(&Chain::of(&find(name).unwrap()), 0.5) {
            let p = sample.state.lead.position;
            let near = poses.windows(2).map(|w| {
                let [a, b] = [&w[0]["at"], &w[1]["at"]].map(|a| Point::new(number(&a[0]), number(&a[1])));
                wideenough::geometry::distance::nearest_on_segment(p, a, b).distance(p)
            });
            assert!(near.fold(f64::MAX, f64::min) < 0.02, "{p:?}");
        }
    }
    assert!(compared >= 8, "{compared}");
}

#[test]
fn the_page_is_one_file_that_fetches_nothing_and_is_the_same_every_time() {
    let study = made();
    let text = page(study);
    assert_eq!(text, page(study));
    assert!(text.len() < 1_500_000, "{}", text.len());
    for fetching in ["src=", "<link", "@import", "url(http", "fetch(", "XMLHttpRequest"] {
        let found = text.match_indices(fetching).count();
        assert_eq!(found, 0, "{fetching}");
    }
    // The name of a namespace is not an address that is fetched.
    assert_eq!(
        text.matches("http").count(),
        text.matches("http-equiv").count() + text.matches("xmlns").count()
    );
    // Content needed without script.
    let still = text.replace("<div class=\"player\" hidden", "");
    assert!(still.contains("<table>") && still.contains("class=\"still\""));
}

#[test]
fn markup_in_texts_stays_text() {
    let nasty = "</script><script>alert(1)</script><b onload='x'>&amp; \u{2028}\" wall";
    let mut study = made().clone();
    study.site.title = nasty.to_owned();
    study.site.note = nasty.to_owned();
    study.notes.push(nasty.to_owned());
    study.vehicles[0].title = nasty.to_owned();
    study.vehicles[1].units[1].name = nasty.to_owned();
    for obstacle in &mut study.site.obstacles {
        obstacle.label = nasty.to_owned();
    }
    for case in &mut study.cases {
        case.route = Some(nasty.to_owned());
        let mark = |c: &mut Contact| c.what = nasty.to_owned();
        case.contacts.iter_mut().chain(&mut case.drawn.contacts).for_each(mark);
        for answer in [&mut case.bare, &mut case.comfortable] {
            answer.tightest.iter_mut().for_each(mark);
        }
    }
    let gave_up: Case = {
        let mut case = study.cases[0].clone();
        case.bare.outcome = Outcome::GaveUp(nasty.to_owned());
        (case.bare.witness, case.comfortable.witness) = (None, None);
        case.drawn = DrawnWay::default();
        case
    };
    study.cases.push(gave_up);
    let (plain, text) = (page(made()), page(&study));
    // A single script of its own, and one list of poses per path.
    assert_eq!(text.matches("<script").count(), plain.matches("<script").count());
    assert_eq!(text.matches("</script").count(), plain.matches("</script").count());
    assert!(!text.contains("<b "), "markup came through");
    assert!(!text.contains("alert(1)</script>"));
    let words: Vec<Value> = ways(&text);
    assert_eq!(words.len(), 4);
    // One of the paths comes by something with that label.
    let mut said = words.iter().flat_map(|way| way["poses"].as_array().unwrap());
    assert!(said.any(|p| p["words"]["gap"].as_str().unwrap().contains(nasty)), "{}", words[0]);
    assert!(text.contains("&lt;script&gt;alert(1)"));
}

/// The way out of a vehicle that turns around inside is played as it is driven, forward from inside to the road; the same
/// path of one that backs in, from the road.
#[test]
fn a_way_out_is_played_from_inside() {
    let mut study = made().clone();
    let played =
        |study: &Study| way(&page(study), "car-eastbound-back-in")["poses"].as_array().unwrap().clone();
    let y = |pose: &Value| number(&pose["at"][1]);
    let said = |pose: &Value| pose["words"]["way"].as_str().unwrap().to_owned();
    let backing = played(&study);
    let (first, last) = (&backing[0], &backing[backing.len() - 1]);
    assert!(y(first) < 4.0 && y(last) > 8.0, "{first} {last}");
    assert!(said(last).starts_with("backing, "), "{last}");
    study.demanded[0] = Demanded::TurnAround;
    let out = played(&study);
    assert!(out.iter().all(|pose| said(pose).starts_with("forward, ")), "{out:?}");
    assert_eq!((y(&out[0]), number(&out[0]["station_m"])), (y(last), 0.0));
    assert!(said(&out[0]).starts_with("forward, 0\" of "), "{}", out[0]);
    let driven_m = number(&out[out.len() - 1]["station_m"]);
    let backs_in = |case: &&Case| case.vehicle == 0 && case.maneuver == Maneuver::BackIn;
    let path = study.cases.iter().find(backs_in).unwrap().drawn.witness.as_ref().unwrap().path();
    let last_leg_m: f64 = path.legs.last().unwrap().segments.iter().map(|segment| segment.length_m).sum();
    assert!((driven_m - last_leg_m).abs() < 1e-3, "{driven_m} {last_leg_m}");
    let text = page(&study);
    assert!(text.contains("eastbound, driving out") && !text.contains("drawn backing in"));
    // The way along the road to where one that backs in stops is not part of the way out.
    let leads_on = |case: &Case| {
        let mut path = case.drawn.witness.as_ref().unwrap().path().clone();
        let chain = Chain::of(&find("car").unwrap());
        path.start = State { hitch: path.start.hitch, ..chain.advance(&path.start, -3.0, 0.0, 0.0) };
        path.legs.insert(0, Leg { direction: Direction::Forward, segments: vec![Segment::arc(3.0, 0.0)] });
        Some(Trajectory::new(path))
    };
    let case =
        study.cases.iter().position(|case| case.vehicle == 0 && case.maneuver == Maneuver::BackIn).unwrap();
    study.cases[case].drawn.witness = leads_on(&study.cases[case]);
    let longer = played(&study);
    let ends = |poses: &[Value]| [&poses[0], &poses[poses.len() - 1]].map(|pose| pose["at"].clone());
    assert_eq!(ends(&longer), ends(&out));
    assert_eq!(said(&longer[longer.len() - 1]), said(&out[out.len() - 1]));
    study.demanded[0] = Demanded::Either;
    assert_ne!(ends(&played(&study))[0], ends(&backing)[0], "one that backs in comes along the road");
}

/// The page begins with the verdict, the width that all vehicles need in large type and the gate; the vehicle that needs
/// most comes first, the other one is folded away; the drawings and files are linked.
#[test]
fn the_answer_comes_first() {
    let study = made();
    let (text, results) = (page(study), value(study));
    let needs = results["vehicles"].as_array().unwrap();
    let most = needs.iter().map(|n| number(&n["comfortable_opening_m"])).fold(0.0, f64::max);
    assert_eq!(number(&needs[1]["comfortable_opening_m"]), most, "the trailer decides");
    let large = wideenough::geometry::length::show(most, Units::Feet, Round::Up);
    let large = large.replace(' ', "\u{a0}").replace('"', "&quot;");
    let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words} is missing"));
    let order = [
        "class=\"verdict ",
        &format!("<dd>{large}</dd>"),
        "At the gate as drawn, from above",
        "id=\"needs\"",
        "id=\"pickup-bumper-pull-20-eastbound-drive-in\"",
        "<details class=\"vehicle\">",
        "id=\"car-eastbound-drive-in\"",
        "href=\"results.json\"",
    ]
    .map(at);
    assert!(order.is_sorted(), "{order:?}");
    assert_eq!(text.matches("<details class=\"vehicle\">").count(), 1);
    assert_eq!(text.matches("At the gate, from above").count(), 3 + 4, "each gate once, and four titles");
    for case in results["cases"].as_array().unwrap() {
        let file = case["drawing"].as_str().unwrap();
        assert!(text.contains(&format!("href=\"{file}\"")), "{file}");
    }
}

fn rings(value: &GeometryValue) -> Vec<Vec<Vec<Point>>> {
    let ring = |r: &Vec<geojson::Position>| r.iter().map(|p| Point::new(p[0], p[1])).collect::<Vec<_>>();
    let polygon = |p: &Vec<Vec<geojson::Position>>| p.iter().map(ring).collect::<Vec<_>>();
    match value {
        GeometryValue::Polygon { coordinates } => vec![polygon(coordinates)],
        GeometryValue::MultiPolygon { coordinates } => coordinates.iter().map(polygon).collect(),
        _ => Vec::new(),
    }
}

/// The study's GeoJSON in its own meters, and again as if it lay in Missouri.
#[test]
fn geojson_keeps_the_rules_and_the_ground() {
    let mut study = made().clone();
    for frame in [Frame::Local { meters_per_unit: 1.0 }, Frame::LonLat { lon_deg: -93.5, lat_deg: 38.25 }] {
        study.site.frame = frame;
        let text = geojson(&study);
        let collection: FeatureCollection = text.parse().unwrap();
        let members = collection.foreign_members.clone().unwrap_or_default();
        assert!(!members.contains_key("crs"));
        assert_eq!(members.contains_key("plan"), frame == Frame::Local { meters_per_unit: 1.0 });
        let mut kinds: Vec<&str> = Vec::new();
        for feature in &collection.features {
            let kind = feature.property("kind").and_then(Value::as_str).unwrap();
            kinds.push(kind);
            let geometry = feature.geometry.as_ref().unwrap();
            for polygon in rings(&geometry.value) {
                for (i, ring) in polygon.iter().enumerate() {
                    assert_eq!(ring.first(), ring.last(), "{kind}: a ring is open");
                    // In meters around the gate: in degrees the area of a sliver drowns in rounding.
                    let meters = ring[1..].iter().map(|p| study.site.frame.to_site([p.x, p.y]));
                    let open = Outline(meters.collect());
                    assert_eq!(open.signed_area() > 0.0, i == 0, "{kind}: right-hand rule");
                }
                let line = |r: &Vec<Point>| {
                    let meters = r.iter().map(|p| study.site.frame.to_site([p.x, p.y]));
                    geo::LineString::from(meters.map(|p| (p.x, p.y)).collect::<Vec<_>>())
                };
                let area = geo::Polygon::new(line(&polygon[0]), polygon[1..].iter().map(line).collect());
                assert!(area.is_valid(), "{kind}: {:?}", area.validation_errors());
            }
        }
        // Every feature has an id of its own, and those of a case what a person filters by.
        let mut ids: Vec<String> =
            collection.features.iter().map(|f| format!("{:?}", f.id.clone().unwrap())).collect();
        ids.sort_unstable();
        let all = ids.len();
        ids.dedup();
        assert_eq!(ids.len(), all, "{ids:?}");
        let results = value(&study);
        let cases = results["cases"].as_array().unwrap();
        let named = |stem: &str| cases.iter().find(|c| c["drawing"] == format!("{stem}.svg")).unwrap();
        for feature in collection.features.iter().filter(|f| f.contains_property("case")) {
            let of = |key: &str| feature.property(key).unwrap().clone();
            let case = named(of("case").as_str().unwrap());
            assert_eq!(of("verdict"), case["drawn_gate"]);
            assert_eq!(of("bare_opening_m"), case["bare"]["opening_m"]);
            assert_eq!(of("comfortable_opening_m"), case["comfortable"]["opening_m"]);
            assert!(
                of("title").as_str().unwrap().len() > of("vehicle").as_str().unwrap().len()
                    || of("vehicle") == "car"
            );
        }
        for (kind, count) in [
            ("post as drawn", 2),
            ("body envelope", 4),
            ("wheel tracks", 4),
            ("path", 4),
            ("post as needed", 8),
        ] {
            assert_eq!(kinds.iter().filter(|k| **k == kind).count(), count, "{kind}");
        }
        // A gate that may stand anywhere also shows where it serves all vehicles best.
        let mut free = study.clone();
        free.placement =
            Some(Placement { comfortable: true, opening_m: 4.0132, center_u_m: 0.635, leaves_open: true });
        let placed: Value = serde_json::from_str(&geojson(&free)).unwrap();
        let best: Vec<&Value> = placed["features"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|feature| feature["properties"]["kind"] == "post at the best place")
            .collect();
        assert_eq!(best.len(), 2);
        assert_eq!(best[1]["properties"]["opening_m"], 4.0132);
        // The inner face of the right post: a corner of it stands half the opening to the right of the middle.
        let right: Vec<f64> = best[1]["geometry"]["coordinates"][0]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| study.site.frame.to_site([p[0].as_f64().unwrap(), p[1].as_f64().unwrap()]))
            .map(|p| study.site.gate.to_gate(p).x)
            .collect();
        let inner = right.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((inner - (0.635 + 4.0132 / 2.0)).abs() < 2e-3, "{inner}");
        let contacts: usize = study.cases.iter().map(|c| c.contacts.len()).sum();
        assert_eq!(kinds.iter().filter(|k| **k == "tight place").count(), contacts);
        // The first case's ground, point by point, to the millimeter the coordinates keep.
        let case = &study.cases[0];
        let path = case.comfortable.witness.as_ref().unwrap();
        let swept = envelope(&study.vehicles[0], path.path(), Cover::Body, DRAWING_TOLERANCE_M).unwrap();
        let body = collection
            .features
            .iter()
            .find(|f| f.property("kind").and_then(Value::as_str) == Some("body envelope"));
        let written = rings(&body.unwrap().geometry.as_ref().unwrap().value);
        let back: Vec<Point> =
            written.iter().flatten().flatten().map(|p| study.site.frame.to_site([p.x, p.y])).collect();
        for corner in swept.rings().iter().flatten().flat_map(|ring| &ring.0) {
            let near = back.iter().map(|p| p.distance(*corner)).fold(f64::MAX, f64::min);
            // A step of the grid is 1.1 mm; where a sliver was mended a corner may have moved by one more.
            assert!(near < 0.0025, "a corner is off by {near} m");
        }
        let area: f64 = swept.polygons.unsigned_area();
        let of = |r: &Vec<Point>| {
            let meters = r[1..].iter().map(|p| study.site.frame.to_site([p.x, p.y]));
            Outline(meters.collect()).signed_area()
        };
        let again: f64 = written.iter().flatten().map(of).sum();
        assert!((area - again).abs() < 0.05, "{area} {again}");
    }
}
