//! The built-in vehicles and the schema of their files: they read without fault, name the source of each figure, and
//! have the measurements they should.
use wideenough::vehicle::{self, Measure, PartKind, Vehicle, turning};

const FOOT_M: f64 = 0.3048;

fn all() -> Vec<Vehicle> {
    vehicle::library()
        .iter()
        .map(|(name, _)| vehicle::find(name).unwrap_or_else(|e| panic!("{name}:\n{e}")))
        .collect()
}

#[test]
fn the_library_is_complete_and_reads() {
    // 18 everyday vehicles and 11 published design vehicles.
    let all = all();
    assert_eq!(all.len(), 29);
    assert_eq!(all.iter().filter(|v| v.name.starts_with("aashto-")).count(), 11);
    // Every file in the folder is in the library, and vice versa.
    let mut files: Vec<String> = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/vehicles"))
        .unwrap()
        .map(|f| f.unwrap().file_name().into_string().unwrap())
        .filter_map(|f| f.strip_suffix(".json").map(str::to_owned))
        .filter(|f| f != "vehicle.schema")
        .collect();
    files.sort();
    let mut names: Vec<String> = all.into_iter().map(|v| v.name).collect();
    names.sort();
    assert_eq!(names, files);
}

/// The committed schema is the one the types generate. `BLESS=1 cargo test` rewrites it.
#[test]
fn schema_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/vehicles/vehicle.schema.json");
    let schema = vehicle::schema();
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(path, &schema).unwrap();
    }
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    assert!(committed == schema, "{path} is out of date; run `BLESS=1 cargo test --test plans vehicles::`");
}

/// Each figure of each library file is marked as published, common practice, from memory, assumed, or worked out from
/// published ones.
#[test]
fn every_figure_of_the_library_has_its_source() {
    let mut figures = 0;
    for v in all() {
        assert!(!v.about.is_empty(), "{}", v.name);
        for d in &v.dimensions {
            let known = [
                "published: ",
                "common practice",
                "from memory",
                "assumed by",
                "assumed: ",
                "from the published",
                "what is left of the published",
                "AASHTO Green Book 2018",
            ];
            assert!(
                known.iter().any(|k| d.source.starts_with(k))
                    && d.source != "assumed where the file is silent",
                "{}: {}: \"{}\"",
                v.name,
                d.name,
                d.source
            );
            figures += 1;
        }
        // The sources a file explains are all used.
        let (_, text) = vehicle::library().iter().find(|(n, _)| *n == v.name).unwrap();
        let file: serde_json::Value = serde_json::from_str(text).unwrap();
        for (name, words) in file["sources"].as_object().unwrap() {
            assert!(
                v.dimensions.iter().any(|d| Some(d.source.as_str()) == words.as_str()),
                "{}: {name}",
                v.name
            );
        }
    }
    assert!(figures > 600, "{figures}");
}

#[test]
fn a_figure_without_a_source_says_so() {
    let text = r#"{ "title": "van", "sources": { "tape": "measured" },
      "steering": { "lock_angle_deg": 35, "source": "tape" },
      "units": [ { "name": "van", "source": "tape", "wheelbase": 3, "front_overhang": { "value": 1, "source": "tape" },
        "rear_overhang": 1, "width": 2, "height": 2,
        "mirrors": { "width": 2.4, "from": 1, "to": 1.3, "bottom": 1, "top": 1.5 } } ] }"#;
    let source = |text: &str, name: &str| {
        let v = vehicle::read(text, "van.json").unwrap_or_else(|e| panic!("{e}"));
        v.dimensions.iter().find(|d| d.name == name).unwrap().source.clone()
    };
    // Its own source, its unit's, its group's unit's.
    assert_eq!(source(text, "van: front overhang"), "measured");
    assert_eq!(source(text, "van: wheelbase"), "measured");
    assert_eq!(source(text, "van: width over mirrors"), "measured");
    assert_eq!(source(text, "van: ground clearance"), "assumed where the file is silent");
    let silent = text.replace("\"name\": \"van\", \"source\": \"tape\"", "\"name\": \"van\"");
    assert_eq!(source(&silent, "van: wheelbase"), "not stated in the file");
    assert_eq!(source(&silent, "van: front overhang"), "measured");
    // A figure's own source takes precedence over its unit's.
    let own = text
        .replace("\"tape\": \"measured\"", "\"tape\": \"measured\", \"paper\": \"brochure\"")
        .replace("\"value\": 1, \"source\": \"tape\"", "\"value\": 1, \"source\": \"paper\"");
    assert_eq!(source(&own, "van: front overhang"), "brochure");
    assert_eq!(source(&own, "van: wheelbase"), "measured");
}

/// Overall lengths of the design vehicles, AASHTO Green Book 2018 Table 2-4a, feet: SU-30, WB-40, WB-62 and WB-67 as
/// quoted in FreightCurriculum section 2.4, P as at dimensions.guide, the others from memory.
#[test]
fn design_vehicles_are_as_long_as_published() {
    let published = [
        ("aashto-p", 19.0),
        ("aashto-su-30", 30.0),
        ("aashto-su-40", 39.5),
        ("aashto-s-bus-36", 35.8),
        ("aashto-mh", 30.0),
        ("aashto-p-t", 48.7),
        ("aashto-p-b", 42.0),
        ("aashto-mh-b", 53.0),
        ("aashto-wb-40", 45.5),
        ("aashto-wb-62", 69.0),
        ("aashto-wb-67", 73.5),
    ];
    for (name, length_ft) in published {
        let length = vehicle::find(name).unwrap().length_m() / FOOT_M;
        assert!((length - length_ft).abs() < 1e-9, "{name}: {length} ft");
    }
}

/// Facts of the trade (common practice, no source) and of the law.
#[test]
fn sizes_people_know() {
    let find = |name: &str| vehicle::find(name).unwrap();
    // A full-size pickup is 8 ft over its tow mirrors.
    assert!((find("pickup").units[0].widest_m() - 2.4384).abs() < 1e-12);
    // A 40-ft horse trailer is 40 ft from nose to tail, a 53-ft semitrailer 53 ft.
    assert!((find("gooseneck-horse-40").units[1].body_length_m() / FOOT_M - 40.0).abs() < 1e-9);
    assert!((find("semitrailer").units[1].body_length_m() / FOOT_M - 53.0).abs() < 1e-9);
    for v in all() {
        for u in &v.units {
            // Nothing on the US road is wider than 102 in without mirrors (23 CFR 658.15), which do not count
            // (658.16), nor than about 10 ft with them, nor higher than 13 ft 6 in.
            assert!(u.width_m <= 102.0 * 0.0254 + 1e-9, "{} {}", v.name, u.name);
            assert!(u.widest_m() <= 10.0 * FOOT_M + 1e-9, "{} {}", v.name, u.name);
            assert!(u.height_m <= 13.5 * FOOT_M + 1e-9, "{} {}", v.name, u.name);
        }
        // From the 13 degrees of the largest combinations to the 45 of a farm tractor.
        let lock = v.steering.lock_angle_rad.to_degrees();
        assert!((13.0..45.0).contains(&lock), "{}: lock {lock}", v.name);
        assert!((1.0..3.0).contains(&v.steering.lock_distance_m), "{}", v.name);
    }
}

#[test]
fn parts_are_convex_symmetric_and_inside_the_dimensions() {
    for v in all() {
        for (i, u) in v.units.iter().enumerate() {
            let what = format!("{} {}", v.name, u.name);
            assert_eq!(u.hitch.is_some(), i + 1 < v.units.len(), "{what}");
            let corners = |mirror: f64| {
                let mut c: Vec<String> = u
                    .parts
                    .iter()
                    .flat_map(|p| &p.outline.0)
                    // Adding 0 turns -0 into 0.
                    .map(|c| format!("{:.6} {:.6}", c.x + 0.0, mirror * c.y + 0.0))
                    .collect();
                c.sort_unstable();
                c
            };
            assert_eq!(corners(1.0), corners(-1.0), "{what}: left and right differ");
            for p in &u.parts {
                assert!(p.outline.is_convex() && p.outline.signed_area() > 0.0, "{what} {:?}", p.kind);
                assert!(0.0 <= p.bottom_m && p.bottom_m < p.top_m && p.top_m <= u.height_m + 1e-9, "{what}");
                let side = p.outline.0.iter().fold(0.0_f64, |m, c| m.max(c.y.abs()));
                assert!(
                    p.kind == PartKind::Mirror || side <= u.width_m / 2.0 + 0.0128,
                    "{what} {:?}",
                    p.kind
                );
            }
            assert!(u.tires.iter().any(|t| t.steered) == (i == 0), "{what}");
        }
    }
}

/// A ditch, whose top is at 0, meets tires and nothing else; a 6-in curb meets tires; a limb at 12 ft meets the body
/// of a 13-ft truck; a mailbox 3.5 ft high passes under a truck's mirror.
#[test]
fn heights_decide_what_touches() {
    let truck = vehicle::find("box-truck-26").unwrap();
    let meets = |kind, bottom: f64, top: f64| {
        truck.units[0].parts.iter().any(|p| p.kind == kind && p.meets(bottom * FOOT_M, top * FOOT_M))
    };
    use PartKind::{Body, Mirror, Tire};
    assert_eq!([Tire, Body, Mirror].map(|k| meets(k, 0.0, 0.0)), [true, false, false]);
    assert_eq!([Tire, Body, Mirror].map(|k| meets(k, 0.0, 0.5)), [true, false, false]);
    assert_eq!([Tire, Body, Mirror].map(|k| meets(k, 0.0, 3.5)), [true, true, false]);
    assert_eq!([Tire, Body, Mirror].map(|k| meets(k, 12.0, 20.0)), [false, true, false]);
    assert_eq!([Tire, Body, Mirror].map(|k| meets(k, 13.5, 20.0)), [false, false, false]);
    // The part that meets the ditch is a tire's contact, shorter than the tire is high.
    let low: Vec<_> = truck.units[0].parts.iter().filter(|p| p.meets(0.0, 0.0)).collect();
    assert_eq!(low.len(), 4);
    for p in low {
        let long = p.outline.0.iter().fold(0.0_f64, |m, c| m.max((c.x - p.outline.0[0].x).abs()));
        assert!((0.1..0.4).contains(&long), "{long}");
    }
}

/// Turning circles by the conversions of SAE J695 (reaffirmed 1998): curb to curb diameter D, wheelbase L, front track
/// Tf to rear-axle radius and wheel angles; worked independently to six digits. Through vehicle files.
#[test]
fn turning_circles() {
    let table = [
        (2.50, 1.50, 10.0, 3.580127, 34.926568, 30.000000, 41.455853),
        (2.70, 1.55, 10.8, 3.901537, 34.684587, 30.000000, 40.813077),
        (2.90, 1.60, 11.6, 4.222947, 34.478327, 30.000000, 40.272041),
        (3.68, 1.73, 14.6, 5.439570, 34.079298, 30.272263, 38.814842),
        (4.00, 1.73, 15.6, 5.831268, 34.448455, 30.851886, 38.849145),
        (5.50, 2.05, 17.5, 5.780329, 43.576429, 38.944804, 49.153135),
    ];
    let radius = |l: f64, tf: f64, circle: &str| {
        let text = format!(
            r#"{{ "title": "x", "steering": {{ "turning_circle": {circle} }}, "units": [ {{ "name": "x",
              "wheelbase": {l}, "front_overhang": 0.9, "rear_overhang": 1, "width": {w}, "height": 2,
              "front_axle": {{ "track": {tf}, "tire_width": 0.215 }} }} ] }}"#,
            w = if tf < 1.6 { 1.85 } else { 2.4 }
        );
        let v = vehicle::read(&text, "x.json").unwrap_or_else(|e| panic!("{e}"));
        (1.0 / v.steering.max_curvature, v.steering.lock_angle_rad.to_degrees())
    };
    for (l, tf, d, r, middle, outer, inner) in table {
        let (got, lock) = radius(l, tf, &format!(r#"{{ "kind": "curb", "diameter": {d} }}"#));
        assert!((got - r).abs() < 1e-6, "{l} {d}: {got}");
        assert!((lock - middle).abs() < 1e-5, "{l} {d}: {lock}");
        assert!((turning::outer_wheel_rad(got, l, tf).to_degrees() - outer).abs() < 1e-5);
        assert!((turning::inner_wheel_rad(got, l, tf).to_degrees() - inner).abs() < 1e-5);
        // Halved diameter taken for the radius: the usual mistake, a third too large.
        assert!(d / 2.0 > 1.3 * got);
    }
    let (edge, _) = radius(2.70, 1.55, r#"{ "kind": "tire-edge", "diameter": 10.8 }"#);
    assert!((edge - 3.776984).abs() < 1e-6, "{edge}");
    let (wall, _) = radius(2.70, 1.55, r#"{ "kind": "wall", "diameter": 11.4 }"#);
    assert!((wall - 3.494276).abs() < 1e-6, "{wall}");
}

#[test]
fn derived_figures_agree_with_the_file() {
    let v = vehicle::find("pickup").unwrap();
    let derived = v.derived();
    let of = |name: &str| match derived.iter().find(|d| d.name == name).unwrap().measure {
        Measure::Length(m) => m / FOOT_M,
        Measure::Angle(_) => f64::NAN,
    };
    // 38 + 147 + 47 in; 8 ft over the mirrors; the turning circle comes back as it was given.
    assert!((of("overall length") - 232.0 / 12.0).abs() < 1e-9);
    assert!((of("overall width, mirrors included") - 8.0).abs() < 1e-9);
    assert!((of("turning diameter, curb to curb") - 48.0).abs() < 1e-9);
    assert!(of("turning diameter, wall to wall") > 48.0);
}

/// A mirror's arm begins at the body where the mirror is, though the body be wider elsewhere.
#[test]
fn mirrors_hang_on_the_body() {
    let truck = vehicle::find("box-truck-26").unwrap();
    let mirrors: Vec<_> = truck.units[0].parts.iter().filter(|p| p.kind == PartKind::Mirror).collect();
    assert_eq!(mirrors.len(), 2);
    for mirror in mirrors {
        let ys: Vec<f64> = mirror.outline.0.iter().map(|c| c.y.abs() / FOOT_M).collect();
        let (inner, outer) = ys.iter().fold((f64::MAX, 0.0_f64), |(l, h), y| (l.min(*y), h.max(*y)));
        // The hood is 94 in wide, the box 102 in, and it is 10 ft over the mirrors.
        assert!((inner - 47.0 / 12.0).abs() < 1e-3 && (outer - 5.0).abs() < 1e-9, "{inner} {outer}");
        // 76 to 90 in behind the front, which is 296 in ahead of the rear axle.
        let xs: Vec<f64> = mirror.outline.0.iter().map(|c| c.x / FOOT_M * 12.0).collect();
        let (rear, front) = xs.iter().fold((f64::MAX, 0.0_f64), |(l, h), x| (l.min(*x), h.max(*x)));
        assert!((front - 220.0).abs() < 1e-9 && (rear - 206.0).abs() < 1e-9, "{rear} {front}");
    }
}

/// The axles of a group stand evenly about its middle, from which wheelbases are measured (SAE J695, reaffirmed
/// 1998: the turning center lies on the line midway between the two axles of a tandem).
#[test]
fn axle_groups_are_centered() {
    let axles_in = |name: &str, unit: usize| {
        let v = vehicle::find(name).unwrap();
        let fixed = v.units[unit].tires.iter().filter(|t| !t.steered && t.center.y > 0.0);
        fixed.map(|t| t.center.x / FOOT_M * 12.0).collect::<Vec<f64>>()
    };
    let near = |got: Vec<f64>, expected: &[f64]| {
        got.len() == expected.len() && got.iter().zip(expected).all(|(g, e)| (g - e).abs() < 1e-9)
    };
    assert!(near(axles_in("dump-truck", 0), &[26.0, -26.0])); // 52 in apart
    assert!(near(axles_in("gooseneck-horse-40", 1), &[34.0, 0.0, -34.0])); // three, 34 in apart
}

#[test]
fn corner_chamfer_cuts_the_front_corners() {
    let text = |chamfer: &str| {
        format!(
            r#"{{ "title": "x", "steering": {{ "lock_angle_deg": 30 }}, "units": [ {{ "name": "x",
              "wheelbase": 3, "front_overhang": 1, "rear_overhang": 1, "width": 2, "height": 2{chamfer} }} ] }}"#
        )
    };
    let area = |chamfer: &str| {
        let v = vehicle::read(&text(chamfer), "x.json").unwrap_or_else(|e| panic!("{e}"));
        v.units[0]
            .parts
            .iter()
            .filter(|p| p.kind == PartKind::Body)
            .map(|p| p.outline.signed_area())
            .sum::<f64>()
    };
    assert!((area("") - 10.0).abs() < 1e-12);
    // Two right triangles of 0.2 m are cut off.
    assert!((area(", \"corner_chamfer\": 0.2") - (10.0 - 0.04)).abs() < 1e-12);
}
