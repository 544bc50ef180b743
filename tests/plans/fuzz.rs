//! Random input of every kind: nothing panics, nothing hangs, and everything read or answered keeps its promises.
//!
//! A bounded number of cases runs with the other tests, always the same ones. `FUZZ_CASES=100 cargo test --release
//! --test plans fuzz:: -- --nocapture` runs a hundred times as many, and `FUZZ_SEED` begins elsewhere. A case that fails is
//! printed with its seed; the last one begun lies in `target/fuzz-*.txt`, for one that hangs.
use crate::common::random::Random;
use serde_json::Value;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use wideenough::clearance::{CollisionModel, GateFrame, Region, Scratch, Surroundings, inspect};
use wideenough::drawing::{case_svg, template_svg, vehicle_svg};
use wideenough::geometry::{Point, Pose, Units};
use wideenough::motion::{Chain, Direction, Leg, MAX_TOWED, Path as Way, Segment, State};
use wideenough::opening::{GateOptions, Outcome, StudyOptions, Wanted, plan_gate, study};
use wideenough::report::{geojson, page, table, value};
use wideenough::search::Effort;
use wideenough::site::{self, Maneuver, Site};
use wideenough::vehicle::{self, MAX_UNITS, Vehicle, find, library};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Runs cases, each with random numbers of its own; one that panics is reported with its seed and its input.
fn cases(name: &str, count: usize, case: impl Fn(&mut Random, &mut String)) {
    let number = |name: &str| std::env::var(name).ok().and_then(|v| v.parse::<usize>().ok());
    let (times, first) = (number("FUZZ_CASES").unwrap_or(1), number("FUZZ_SEED").unwrap_or(0));
    let long = times > 1;
    let notes = root().join("target").join(format!("fuzz-{name}.txt"));
    for seed in first..first + count * times {
        let mut input = String::new();
        let ran = catch_unwind(AssertUnwindSafe(|| {
            let mut random = Random(u64::try_from(seed).unwrap().wrapping_mul(0x2545_f491_4f6c_dd1d));
            case(&mut random, &mut input);
        }));
        if ran.is_err() {
            let _ = std::fs::write(&notes, &input);
            let shown: String = input.chars().take(2000).collect();
            panic!("{name}: FUZZ_SEED={seed} (whole input in {})\n{shown}", notes.display());
        }
        if long && seed % 1000 == 0 {
            println!("{name}: {seed}");
        }
    }
}

/// Texts of the files in a folder with an ending.
fn texts(folder: &str, ending: &str) -> Vec<(String, String)> {
    let entries = std::fs::read_dir(root().join(folder)).unwrap().map(|e| e.unwrap().path());
    let mut paths: Vec<PathBuf> = entries.filter(|p| p.to_string_lossy().ends_with(ending)).collect();
    paths.sort();
    let name = |p: &Path| p.file_name().unwrap().to_string_lossy().into_owned();
    paths.iter().map(|p| (name(p), std::fs::read_to_string(p).unwrap())).collect()
}

/// Tokens that break readers.
const TOKENS: [&str; 40] = [
    "null",
    "true",
    "[]",
    "{}",
    "\"\"",
    "0",
    "-0.0",
    "1e308",
    "-1e308",
    "1e-308",
    "1e999",
    "NaN",
    "180",
    "-180",
    "90",
    "-90",
    "[[[[]]]]",
    "\"1e300 ft\"",
    "\"-3 ft\"",
    "\"8 ft\"",
    "\"\\u0000\"",
    "\"\\u202e\"",
    "\"\\ud800\"",
    "\u{feff}",
    "\u{202e}",
    ",",
    ":",
    "{",
    "}",
    "[",
    "]",
    "\"",
    "\\",
    "\"Point\"",
    "\"MultiPolygon\"",
    "\"GeometryCollection\"",
    "\"gate\"",
    "\"road\"",
    "9007199254740993",
    "0.1",
];

/// A text with some of its bytes changed.
fn garbled(random: &mut Random, text: &str) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=random.below(6) {
        let at = random.below(bytes.len());
        let end = (at + random.below(60)).min(bytes.len());
        match random.below(5) {
            0 if !bytes.is_empty() => bytes[at] = u8::try_from(random.below(256)).unwrap(),
            1 => drop(bytes.drain(at..end)),
            2 => {
                let copy = bytes[at..end].to_vec();
                let to = random.below(bytes.len());
                bytes.splice(to..to, copy);
            }
            3 if random.one_in(8) => bytes.truncate(at),
            _ => drop(bytes.splice(at..at, random.pick::<&str>(&TOKENS).bytes())),
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// All values in a tree, by pointer.
fn pointers(value: &Value, at: &str, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Value::Array(list) => {
            for (i, v) in list.iter().enumerate() {
                pointers(v, &format!("{at}/{i}"), found);
            }
        }
        Value::Object(members) => {
            for (key, v) in members {
                pointers(v, &format!("{at}/{}", key.replace('~', "~0").replace('/', "~1")), found);
            }
        }
        _ => {}
    }
}

/// A tree with some of its values changed, as text: still JSON, seldom still right.
fn rearranged(random: &mut Random, text: &str) -> String {
    let mut tree: Value = serde_json::from_str(text).unwrap();
    let mut places = Vec::new();
    pointers(&tree, "", &mut places);
    if random.one_in(2) {
        // Numbers nudged, which most readers accept, so that the code behind them is reached.
        for _ in 0..=random.below(4) {
            if let Some(Value::Number(n)) = tree.pointer_mut(&random.pick::<String>(&places)) {
                let was = n.as_f64().unwrap();
                *n = serde_json::Number::from_f64(was + was.abs() * random.between(-1e-5, 1e-5)).unwrap();
            }
        }
        return tree.to_string();
    }
    for _ in 0..=random.below(2) {
        places.clear();
        pointers(&tree, "", &mut places);
        let other = tree.pointer(&random.pick::<String>(&places)).unwrap().clone();
        let place = random.pick(&places);
        let value = tree.pointer_mut(&place).unwrap();
        match (random.below(7), &mut *value) {
            (0 | 1, Value::Number(n)) => {
                let was = n.as_f64().unwrap();
                let by = random.pick(&[0.0, -1.0, 1e-9, 1e-3, 0.5, 1.000_001, 2.0, 1e3, 1e9, 1e200]);
                *value = Value::from(was * by);
            }
            (2, Value::Number(n)) => *value = Value::from(n.as_f64().unwrap() + random.between(-1.0, 1.0)),
            (3, Value::Array(list)) if !list.is_empty() => {
                let at = random.below(list.len());
                let copy = list[at].clone();
                list.insert(random.below(list.len()), copy);
            }
            (4, Value::Array(list)) if !list.is_empty() => drop(list.remove(random.below(list.len()))),
            (4, Value::Object(members)) if !members.is_empty() => {
                let key = members.keys().nth(random.below(members.len())).unwrap().clone();
                members.shift_remove(&key);
            }
            (5, Value::Array(list)) => list.reverse(),
            (6, _) => *value = other,
            _ => *value = serde_json::from_str(random.pick::<&str>(&TOKENS)).unwrap_or(Value::Null),
        }
    }
    tree.to_string()
}

/// Checks the invariants of a site that was read.
fn promises(site: &Site) {
    let finite = |p: &Point| assert!(p.x.is_finite() && p.y.is_finite(), "{p:?}");
    let gate = &site.gate;
    [gate.left, gate.right, gate.inward].iter().for_each(finite);
    assert!(gate.opening_m() > 0.0 && gate.opening_m().is_finite());
    assert!((gate.inward.norm() - 1.0).abs() < 1e-9);
    assert!(gate.setback_m.is_finite() && gate.skew_rad.is_finite());
    assert!(!site.roads.is_empty());
    let area = |ring: &[Point]| -> f64 {
        (0..ring.len()).map(|i| ring[i].cross(ring[(i + 1) % ring.len()])).sum::<f64>() / 2.0
    };
    for road in &site.roads {
        assert!(road.width_m > 0.0 && road.width_m.is_finite() && road.centerline.len() > 1);
        road.centerline.iter().for_each(finite);
    }
    for ground in site.roads.iter().map(|r| &r.surface).chain(&site.drives) {
        assert!(ground.outer.0.len() > 2 && area(&ground.outer.0) > 0.0, "{}", ground.label);
        ground.outer.0.iter().chain(ground.holes.iter().flat_map(|h| &h.0)).for_each(finite);
    }
    for obstacle in &site.obstacles {
        assert!(obstacle.bottom_m <= obstacle.top_m && obstacle.bottom_m >= 0.0, "{}", obstacle.label);
        for shape in &obstacle.shapes {
            assert!(shape.radius_m >= 0.0 && shape.radius_m.is_finite() && !shape.outer.0.is_empty());
            shape.outer.0.iter().for_each(finite);
        }
    }
    for fence in &site.fences {
        assert!(fence.line.len() > 1 && fence.thickness_m >= 0.0 && fence.top_m >= 0.0);
        fence.line.iter().for_each(finite);
    }
    let texts = [&site.title, &site.note].into_iter().chain(site.obstacles.iter().map(|o| &o.label));
    for text in texts.chain(&site.warnings) {
        let hidden = |c: char| c.is_control() || ('\u{202a}'..='\u{202e}').contains(&c);
        assert!(!text.contains(hidden), "{text:?}");
    }
    assert!(!site.travels().is_empty());
}

/// A path that stays within a vehicle's steering, in site coordinates, around the gate.
fn some_way(random: &mut Random, vehicle: &Vehicle, site: &Site) -> Way {
    let most = vehicle.steering.max_curvature;
    let mut legs = Vec::new();
    for i in 0..=random.below(2) {
        let mut segments = Vec::new();
        let mut k = 0.0;
        for _ in 0..=random.below(4) {
            let next = random.between(-most, most);
            let length_m = random.between(0.0, 9.0);
            segments.push(Segment { length_m, curvature_start: k, curvature_end: next });
            k = next;
        }
        let direction = if i % 2 == 0 { Direction::Forward } else { Direction::Reverse };
        legs.push(Leg { direction, segments });
    }
    let gate = &site.gate;
    let position = gate.center()
        + gate.along() * random.between(-15.0, 15.0)
        + gate.inward * random.between(-gate.setback_m.abs() - 4.0, 4.0);
    let lead = Pose { position, heading: random.between(-3.2, 3.2) };
    let mut start = State { lead, hitch: [0.0; MAX_TOWED], curvature: 0.0 };
    if random.one_in(2) {
        start.lead.heading = gate.along().angle();
    }
    Way { start, legs }
}

/// Checks the invariants of an inspection, whatever the path.
fn inspected(random: &mut Random, vehicle: &Vehicle, site: &Site) {
    let frame = GateFrame::of(&site.gate);
    let polygons: Vec<_> = site
        .roads
        .iter()
        .map(|r| &r.surface)
        .chain(&site.drives)
        .map(|g| (&g.outer, g.holes.as_slice()))
        .collect();
    let region = Region::new(&polygons, &frame.origin);
    let ground = if site.drives.is_empty() { None } else { region.as_ref() };
    let surroundings = Surroundings::new(site, ground, site.gate.opening_m());
    let clearance = random.pick(&[0.0, 0.3]);
    let model = CollisionModel::new(vehicle, surroundings, clearance, 30.0);
    let mut way = some_way(random, vehicle, site);
    way.start.lead = frame.to_gate(&way.start.lead);
    let found = inspect(&model, &way);
    assert!(!found.opening_m.is_nan() && found.opening_m >= found.needs_at_least_m - 1e-9, "{found:?}");
    assert!(!found.margin_m.is_nan() && !found.ground_m.is_nan(), "{found:?}");
    for touch in &found.touches {
        assert!(touch.gap_m >= 0.0 && touch.gap_m <= 1.0 && touch.at.x.is_finite(), "{touch:?}");
    }
    // Many obstacles together need what the hardest of them needs: a tree finds the near ones where there are many.
    let chain = Chain::of(vehicle);
    let mut scratch = Scratch::default();
    let alone: Vec<CollisionModel> = (0..model.surroundings.standing.len())
        .step_by(40)
        .map(|from| {
            let mut some = model.surroundings.clone();
            let to = (from + 40).min(some.standing.len());
            some.standing = some.standing[from..to].to_vec().into();
            CollisionModel::new(vehicle, some, clearance, 30.0)
        })
        .collect();
    for sample in way.samples(&chain, 2.0) {
        let poses: [Pose; MAX_UNITS] = chain.unit_poses(&sample.state);
        let need = model.need(&poses, &mut scratch);
        // After a contact, margins only measure roughly how deep it is.
        let kept = found.margin_m < 0.0 || need.margin_m >= found.margin_m - 1e-9;
        assert!(kept, "{} {}", found.margin_m, need.margin_m);
        if alone.len() > 1 {
            let least =
                alone.iter().map(|e| e.need(&poses, &mut scratch).margin_m).fold(f64::INFINITY, f64::min);
            assert!((need.margin_m - least).abs() < 1e-12, "{} {least}", need.margin_m);
        }
    }
}

#[test]
fn plans_of_garbled_bytes_are_read_or_refused() {
    let plans = texts("examples", ".geojson");
    cases("plan-bytes", 6000, |random, input| {
        let text = &random.pick(&plans).1;
        *input = garbled(random, text);
        match site::read(input, "yard.geojson") {
            Ok(site) => promises(&site),
            Err(e) => assert!(!e.to_string().is_empty()),
        }
    });
}

#[test]
fn plans_with_changed_values_are_read_or_refused() {
    let plans = texts("examples", ".geojson");
    let car = find("pickup").unwrap();
    let sound = std::cell::Cell::new(0);
    cases("plan-values", 1000, |random, input| {
        let text = &random.pick(&plans).1;
        *input = rearranged(random, text);
        match site::read(input, "yard.geojson") {
            Ok(site) => {
                promises(&site);
                sound.set(sound.get() + 1);
                inspected(random, &car, &site);
            }
            Err(e) => assert!(e.faults().iter().all(|f| f.line > 0 && !f.message.is_empty())),
        }
    });
    assert!(sound.get() > 100, "only {} plans were read", sound.get());
}

#[test]
fn vehicles_with_changes_are_read_or_refused() {
    let files = texts("vehicles", ".json");
    let files: Vec<_> = files.into_iter().filter(|(name, _)| !name.ends_with("schema.json")).collect();
    assert_eq!(files.len(), library().len());
    let sound = std::cell::Cell::new(0);
    cases("vehicle", 1500, |random, input| {
        let text = random.pick(&files).1.clone();
        *input = if random.one_in(3) { garbled(random, &text) } else { rearranged(random, &text) };
        let Ok(vehicle) = vehicle::read(input, "shed/truck.json") else { return };
        sound.set(sound.get() + 1);
        assert!(vehicle.length_m() > 0.0 && vehicle.length_m().is_finite());
        assert!(vehicle.steering.max_curvature >= 0.0 && vehicle.steering.max_curvature.is_finite());
        for unit in &vehicle.units {
            assert!(unit.width_m > 0.0 && unit.wheelbase_m.is_finite());
            for part in &unit.parts {
                let sound = part.bottom_m <= part.top_m && part.outline.0.len() > 2;
                assert!(sound, "{part:?}");
            }
        }
        assert!(vehicle_svg(&vehicle, Units::Feet).ends_with("</svg>\n"));
        if random.one_in(8) {
            // A vehicle that cannot turn has no template, and the error says so.
            let _ = template_svg(&vehicle, &[90.0], None, Units::Meters);
        }
    });
    assert!(sound.get() > 60, "only {} vehicles were read", sound.get());
}

/// A small place: a road, a gate at some distance and turn, and a few obstacles around it.
fn some_place(random: &mut Random, trees: usize) -> String {
    let frames = [
        site::Frame::Local { meters_per_unit: 1.0 },
        site::Frame::Local { meters_per_unit: 0.3048 },
        site::Frame::LonLat { lon_deg: 180.0, lat_deg: 71.2 },
        site::Frame::LonLat { lon_deg: -0.000_01, lat_deg: 0.000_01 },
        site::Frame::LonLat { lon_deg: 12.0, lat_deg: -89.8 },
    ];
    let frame = random.pick(&frames);
    let turn = random.between(-3.0, 3.0);
    let at = |x: f64, y: f64| {
        let p = Point::at_angle(turn) * x + Point::at_angle(turn).left() * y;
        let [a, b] = frame.to_plan(p);
        format!("[{a:.9}, {b:.9}]")
    };
    let width = random.between(3.0, 9.0);
    let (setback, skew, half) =
        (random.between(0.2, 12.0), random.between(-0.5, 0.5), random.between(1.0, 4.0));
    let v = width / 2.0 + setback;
    let dx = Point::at_angle(skew) * half;
    let mut features = vec![
        format!(
            r#"{{ "type": "Feature", "properties": {{ "role": "road", "width": "{width:.3} m", "use": "{}", "continues": "both" }},
            "geometry": {{ "type": "LineString", "coordinates": [{}, {}] }} }}"#,
            random.pick(&["full", "own-lane"]),
            at(-40.0, 0.0),
            at(40.0, 0.0)
        ),
        format!(
            r#"{{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "{}", "opens": "{}", "anchor": "{}" }},
            "geometry": {{ "type": "LineString", "coordinates": [{}, {}] }} }}"#,
            random.pick(&["none", "single", "double", "slide"]),
            random.pick(&["in", "out"]),
            random.pick(&["center", "center", "left", "right", "left", "right", "free"]),
            at(-dx.x, v - dx.y),
            at(dx.x, v + dx.y)
        ),
    ];
    for i in 0..random.below(5) {
        let (x, y) = (random.between(-20.0, 20.0), random.between(-12.0, 30.0));
        let (w, h) = (random.between(0.01, 6.0), random.between(0.01, 6.0));
        let ring = [(x, y), (x + w, y), (x + w * 0.5, y + h), (x, y)].map(|(x, y)| at(x, y)).join(", ");
        features.push(format!(
            r#"{{ "type": "Feature", "properties": {{ "role": "{}", "label": "thing {i}" }},
            "geometry": {{ "type": "Polygon", "coordinates": [[{ring}]] }} }}"#,
            if random.one_in(6) { "drive" } else { "obstacle" }
        ));
    }
    if trees > 0 {
        let tree = |_| at(random.between(-25.0, 25.0), random.between(-10.0, 30.0));
        let trees: Vec<String> = (0..trees).map(tree).collect();
        features.push(format!(
            r#"{{ "type": "Feature", "properties": {{ "role": "obstacle", "label": "trees", "radius": "0.2 m" }},
            "geometry": {{ "type": "MultiPoint", "coordinates": [{}] }} }}"#,
            trees.join(", ")
        ));
    }
    if random.one_in(2) {
        let outer = half + random.between(0.3, 20.0);
        let end = Point::at_angle(skew) * outer;
        let from = Point::at_angle(skew) * (half + 0.1);
        features.push(format!(
            r#"{{ "type": "Feature", "properties": {{ "role": "fence" }},
            "geometry": {{ "type": "LineString", "coordinates": [{}, {}] }} }}"#,
            at(from.x, v + from.y),
            at(end.x, v + end.y)
        ));
    }
    let coordinates = match frame {
        site::Frame::LonLat { .. } => "lonlat",
        site::Frame::Local { meters_per_unit: 1.0 } => "local-m",
        site::Frame::Local { .. } => "local-ft",
    };
    format!(
        r#"{{ "type": "FeatureCollection", "plan": {{ "title": "fuzz", "coordinates": "{coordinates}" }},
        "features": [{}] }}"#,
        features.join(",\n")
    )
}

#[test]
fn crowded_places_are_measured_as_piece_by_piece() {
    let rig = find("pickup-bumper-pull-20").unwrap();
    let read = std::cell::Cell::new(0);
    cases("crowded", 60, |random, input| {
        let trees = 60 + random.below(200);
        *input = some_place(random, trees);
        if let Ok(site) = site::read(input, "wood.geojson") {
            read.set(read.get() + 1);
            inspected(random, &rig, &site);
        }
    });
    assert!(read.get() > 40, "only {} places were read", read.get());
}

#[test]
fn whole_studies_of_random_places_end_with_sound_answers() {
    let names = ["car", "pickup", "box-truck-26", "pickup-bumper-pull-20", "fire-engine"];
    let (read, found) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    cases("study", 24, |random, input| {
        *input = some_place(random, 0);
        let Ok(site) = site::read(input, "place.geojson") else { return };
        promises(&site);
        read.set(read.get() + 1);
        let vehicle = find(random.pick::<&str>(&names)).unwrap();
        inspected(random, &vehicle, &site);
        // One way in of the four: the search is the slow part, and each way in takes it alike.
        let travels = vec![random.pick(&site.travels()).word.to_owned()];
        let maneuvers = vec![random.pick(&[Maneuver::DriveIn, Maneuver::BackIn])];
        let visits = maneuvers.into_iter().map(Into::into).collect();
        let wanted = [Wanted { vehicle, visits, travels }];
        let effort = Effort {
            lattice: 2_000,
            drawn: random.below(3),
            coarse: 2,
            polished: 1,
            fine: 2,
            finest: 0,
            ..Effort::USUAL
        };
        let changes = random.one_in(12);
        let options = StudyOptions { effort, changes, ..StudyOptions::default() };
        let mut study = study(site, &wanted, &options, &|_| ());
        if random.one_in(8) {
            study.gate = Some(plan_gate(&study, (&wanted, &options), &GateOptions::default(), &|_| ()));
        }
        assert!(!study.cases.is_empty());
        for (i, case) in study.cases.iter().enumerate() {
            for answer in [&case.bare, &case.comfortable] {
                assert!(answer.at_least_m.is_finite() && answer.at_least_m >= 0.0);
                let opening = answer.opening_m.filter(|_| answer.outcome == Outcome::Found);
                assert_eq!(answer.outcome == Outcome::Found, opening.is_some_and(f64::is_finite));
                assert!(opening.is_none_or(|m| answer.witness.is_some() && m >= 0.0));
                found.set(found.get() + usize::from(opening.is_some()));
            }
            let svg = case_svg(&study, i);
            assert!(svg.ends_with("</svg>\n") && !svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
        let map: Value = serde_json::from_str(&geojson(&study)).unwrap();
        assert!(map["features"].as_array().unwrap().len() >= 2);
        assert_eq!(value(&study)["cases"].as_array().unwrap().len(), study.cases.len());
        assert!(page(&study).contains("</html>") && table(&study, 100).lines().count() > 5);
    });
    assert!(read.get() > 15 && found.get() > 12, "{} places read, {} answers found", read.get(), found.get());
}
