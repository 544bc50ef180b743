//! Plans, texts, files and folders meant to break the program, given to the real one: a clear error or a right answer,
//! and earlier results stay whole.
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;
use wideenough::geometry::Point;

fn program() -> Command {
    Command::new(assert_cmd::cargo::cargo_bin("wideenough"))
}

struct Ran {
    status: i32,
    out: String,
    err: String,
}

fn run(folder: &Path, args: &[&str]) -> Ran {
    let output = program().current_dir(folder).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran { status: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

/// A 20-ft road and a 16-ft gate 15 ft back, with these features beside them.
fn plan(more: &[Value]) -> Value {
    let mut features = vec![
        json!({ "type": "Feature", "properties": { "role": "road", "width": "20 ft", "continues": "both" },
            "geometry": { "type": "LineString", "coordinates": [[-150, 0], [150, 0]] } }),
        json!({ "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
            "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } }),
    ];
    features.extend_from_slice(more);
    json!({ "type": "FeatureCollection",
        "plan": { "title": "Test yard", "coordinates": "local-ft", "units": "ft",
            "vehicles": [{ "vehicle": "car", "maneuvers": ["drive-in"], "travels": ["eastbound"] }] },
        "features": features })
}

fn fresh(plan: &Value) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("yard.geojson"), plan.to_string()).unwrap();
    folder
}

/// The files of a folder, each with its content.
fn contents(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let entries = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
    let mut files: Vec<(String, Vec<u8>)> = entries
        .filter(|p| p.is_file())
        .map(|p| (p.file_name().unwrap().to_string_lossy().into_owned(), fs::read(&p).unwrap()))
        .collect();
    files.sort();
    files
}

const QUICK: [&str; 3] = ["study", "yard.geojson", "--no-changes"];

/// Markup, script, quotes, right-to-left text, zero-width characters, line ends, terminal control codes.
const EVIL: &str = "<script>alert(1)</script>\"'&amp;]]>--><b onload=x()>\u{202e}\u{2066}\u{200b}\u{feff}\u{0}\u{1b}[31m\
                    \u{8}\r\n\u{2028}\u{fffe}\u{5e9}\u{5e2}\u{5e8} \u{1f469}\u{200d}\u{1f33e} ../../etc/passwd";

#[test]
fn texts_of_every_field_stay_texts_in_every_output() {
    let label = |role: &str, geometry: Value| {
        json!({ "type": "Feature", "properties": { "role": role, "label": format!("{role} {EVIL}"), "note": EVIL },
            "geometry": geometry })
    };
    let ring = |x: f64, y: f64| json!([[[x, y], [x + 9.0, y], [x + 9.0, y + 9.0], [x, y + 9.0], [x, y]]]);
    let mut plan = plan(&[
        label("obstacle", json!({ "type": "Polygon", "coordinates": ring(14.0, 12.0) })),
        label(
            "drive",
            json!({ "type": "Polygon", "coordinates": [[[-60, 9], [60, 9], [60, 90], [-60, 90], [-60, 9]]] }),
        ),
        label("fence", json!({ "type": "LineString", "coordinates": [[8.5, 25], [60, 25]] })),
        label("spot", json!({ "type": "Point", "coordinates": [0, 60] })),
    ]);
    plan["plan"]["title"] = json!(EVIL);
    plan["plan"]["note"] = json!(EVIL);
    plan["plan"]["permit"] =
        json!({ "project": EVIL, "address": EVIL, "parcel": EVIL, "prepared_by": EVIL, "date": EVIL });
    plan["plan"]["vehicles"] =
        json!([{ "vehicle": "truck.json", "maneuvers": ["drive-in"], "travels": ["eastbound"] }]);
    let folder = fresh(&plan);
    let truck = json!({ "title": EVIL, "about": EVIL, "sources": { "maker": EVIL },
        "steering": { "lock_angle_deg": 36 },
        "units": [{ "name": EVIL, "wheelbase": { "value": "9 ft", "source": "maker" }, "front_overhang": "3 ft",
            "rear_overhang": "4 ft", "width": "6 ft", "height": 1.6 }] });
    fs::write(folder.path().join("truck.json"), truck.to_string()).unwrap();
    let mut args = vec!["study", "yard.geojson"];
    if cfg!(feature = "sheets") {
        args.extend(["--paper", "letter", "--png"]);
    }
    let ran = run(folder.path(), &args);
    assert!(matches!(ran.status, 0 | 1), "{}", ran.err);
    let hidden = |c: char| {
        (c.is_control() && c != '\n')
            || ('\u{202a}'..='\u{202e}').contains(&c)
            || ('\u{2066}'..='\u{2069}').contains(&c)
            || ['\u{200b}', '\u{2028}', '\u{feff}', '\u{fffe}'].contains(&c)
    };
    assert!(!ran.out.contains(hidden) && !ran.err.contains(hidden), "{:?}", ran.out);
    assert!(
        ran.out.contains("<script>alert(1)</script>") && ran.out.contains("\u{5e9}\u{5e2}\u{5e8}"),
        "as written"
    );
    let written = contents(&folder.path().join("out/yard"));
    let mut kinds: Vec<&str> = Vec::new();
    for (name, bytes) in &written {
        let kind = name.rsplit('.').next().unwrap();
        kinds.push(kind);
        if ["png", "pdf"].contains(&kind) {
            assert!(bytes.len() > 1000, "{name}");
            continue;
        }
        let text = String::from_utf8(bytes.clone()).unwrap();
        assert!(!text.contains(hidden), "{name}: a hidden character");
        match kind {
            "svg" => {
                assert!(!text.contains("<script") && !text.contains("<b "), "{name}");
                #[cfg(feature = "sheets")]
                resvg::usvg::roxmltree::Document::parse(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
            }
            "json" | "geojson" => drop(serde_json::from_str::<Value>(&text).unwrap()),
            "html" => {
                // Its own script and the poses of one path; nothing of the texts.
                assert_eq!(text.matches("<script").count(), 2, "{name}");
                assert!(!text.contains("<b ") && !text.contains("alert(1)</script>"), "{name}");
                assert!(text.contains("&lt;script&gt;alert(1)&lt;/script&gt;"), "{name}");
            }
            _ => {}
        }
    }
    for kind in ["svg", "json", "geojson", "html", "txt"] {
        assert!(kinds.contains(&kind), "{kind} is not among {kinds:?}");
    }
    // Nothing went elsewhere.
    let beside = fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(beside, 3, "the plan, the vehicle and out");
}

#[test]
fn names_of_plans_make_folders_that_any_system_takes() {
    for name in ["CON", "nul", "AUX.tar", "com1", "..", "-rf", "\u{202e}gnp", "a\u{1}b"] {
        let folder = tempfile::tempdir().unwrap();
        let file = format!("{name}.geojson");
        fs::write(folder.path().join(&file), plan(&[]).to_string()).unwrap();
        let ran = run(folder.path(), &["study", "--no-changes", "--", &file]);
        assert!(matches!(ran.status, 0 | 1), "{name}: {}", ran.err);
        let made: Vec<String> = fs::read_dir(folder.path().join("out"))
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        assert_eq!(made.len(), 1);
        let safe = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        assert!(made[0].chars().all(safe) && !made[0].starts_with('-'), "{name:?}: {made:?}");
        // Names a system keeps for its devices, whatever their ending.
        let kept = ["con", "nul", "aux", "prn", "com1", "lpt1"];
        assert!(!kept.contains(&made[0].as_str()), "{name:?}: {made:?}");
    }
    let long = "x".repeat(240);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(format!("{long}.geojson")), plan(&[]).to_string()).unwrap();
    let ran = run(folder.path(), &["study", "--no-changes", &format!("{long}.geojson")]);
    assert!(matches!(ran.status, 0 | 1), "{}", ran.err);
}

#[test]
fn files_that_are_no_plan_are_refused_in_words() {
    let folder = fresh(&plan(&[]));
    let path = |name: &str| folder.path().join(name);
    // A gigabyte that takes no room on disk: refused by its size, before any of it is read.
    let sparse = fs::File::create(path("huge.geojson")).unwrap();
    sparse.set_len(1 << 30).unwrap();
    fs::write(path("deep.geojson"), "[".repeat(1_000_000)).unwrap();
    fs::write(path("zeros.geojson"), vec![0_u8; 4096]).unwrap();
    let nested = |depth: usize| {
        let mut shape = json!({ "type": "Point", "coordinates": [0, 0] });
        for _ in 0..depth {
            shape = json!({ "type": "GeometryCollection", "geometries": [shape] });
        }
        plan(&[json!({ "type": "Feature", "properties": { "role": "obstacle" }, "geometry": shape })])
            .to_string()
    };
    fs::write(path("nested.geojson"), nested(3)).unwrap();
    fs::write(path("burrow.geojson"), nested(200)).unwrap();
    let many: Vec<Value> = (0..100_000).map(|i| json!([i as f64 * 0.001, 40.0 + (i % 7) as f64])).collect();
    let fence = json!({ "type": "Feature", "properties": { "role": "fence" },
        "geometry": { "type": "LineString", "coordinates": many } });
    fs::write(path("long.geojson"), plan(&[fence]).to_string()).unwrap();
    for (file, said) in [
        ("huge.geojson", "1074 MB is too large for a site plan (at most 16 MB)"),
        ("deep.geojson", "nested too deep"),
        ("zeros.geojson", "not JSON"),
        ("nested.geojson", "GeometryCollection"),
        ("burrow.geojson", "nested too deep"),
        ("long.geojson", "100000 points are too many (at most 5000)"),
    ] {
        for command in ["check", "study"] {
            let ran = run(folder.path(), &[command, file]);
            assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{file}");
            assert!(ran.err.contains(said) && ran.err.len() < 600, "{file}: {}", ran.err);
        }
    }
    assert!(!path("out").exists(), "nothing is written for a plan at fault");
    for (file, said) in [("/dev/zero", "too large"), (".", "is a folder"), ("no.geojson", "no such file")] {
        if file.starts_with("/dev") && !Path::new(file).exists() {
            continue;
        }
        let ran = run(folder.path(), &["check", file]);
        assert!(ran.status == 2 && ran.err.contains(said), "{file}: {}", ran.err);
    }
}

/// Ten thousand trees and a hundred thousand corners: more than any place has, and still no wait.
#[test]
fn a_crowded_place_is_answered() {
    let tree = |i: u32| {
        let (column, row) = (f64::from(i % 125), f64::from(i / 125));
        let (x, y) = (-248.0 + 4.0 * column, 60.0 + 3.0 * row);
        json!({ "type": "Feature", "properties": { "role": "obstacle", "label": format!("tree {i}"), "radius": "6 in" },
            "geometry": { "type": "Point", "coordinates": [x, y] } })
    };
    let mut features: Vec<Value> = (0..10_000).map(tree).collect();
    for pond in 0..20 {
        let middle = -190.0 + 20.0 * f64::from(pond);
        let mut ring: Vec<Value> = (0..4999)
            .map(|i| {
                let a = f64::from(i) / 4999.0 * std::f64::consts::TAU;
                let p = Point::at_angle(a) * 8.0;
                json!([middle + p.x, p.y - 40.0])
            })
            .collect();
        ring.push(ring[0].clone());
        features.push(
            json!({ "type": "Feature", "properties": { "role": "obstacle", "label": format!("pond {pond}") },
            "geometry": { "type": "Polygon", "coordinates": [ring] } }),
        );
    }
    let folder = fresh(&plan(&features));
    let ran = run(folder.path(), &["check", "yard.geojson"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let ran = run(folder.path(), &QUICK);
    assert!(matches!(ran.status, 0 | 1), "{}", ran.err);
    let results: Value =
        serde_json::from_slice(&fs::read(folder.path().join("out/yard/results.json")).unwrap()).unwrap();
    assert_eq!(results["cases"][0]["comfortable"]["outcome"], "found");
}

#[test]
fn a_folder_that_cannot_be_written_is_told_before_the_work() {
    let folder = fresh(&plan(&[]));
    fs::write(folder.path().join("taken"), "precious").unwrap();
    let ran = run(folder.path(), &[&QUICK[..], &["--out", "taken"]].concat());
    assert!(ran.status == 2 && ran.err.contains("cannot write there"), "{}", ran.err);
    assert_eq!(fs::read_to_string(folder.path().join("taken")).unwrap(), "precious");
    // The kernel's own folder accepts no files, not even from an administrator.
    if Path::new("/proc/self").exists() {
        let ran = run(folder.path(), &[&QUICK[..], &["--out", "/proc/self"]].concat());
        assert!(ran.status == 2 && ran.err.contains("cannot write there"), "{}", ran.err);
    }
    if cfg!(unix) && fs::metadata("/dev/full").is_ok() {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = program()
            .current_dir(folder.path())
            .args(["check", "yard.geojson"])
            .stdout(full)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(2));
        assert!(String::from_utf8_lossy(&output.stderr).contains("standard output"), "{output:?}");
    }
}

/// A disk that fills up halfway: the shell lets no file grow beyond a few kilobytes, which the drawings do.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_earlier_results_whole() {
    let folder = fresh(&plan(&[]));
    let first = run(folder.path(), &QUICK);
    assert!(matches!(first.status, 0 | 1), "{}", first.err);
    let out = folder.path().join("out/yard");
    let before = contents(&out);
    let shell = format!(
        "trap '' XFSZ; ulimit -f 8; exec '{}' study yard.geojson --no-changes --clearance '1 in'",
        assert_cmd::cargo::cargo_bin("wideenough").display()
    );
    let output = Command::new("sh").args(["-c", &shell]).current_dir(folder.path()).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot be written"), "{output:?}");
    assert!(output.stdout.is_empty(), "no table of results that are not there");
    assert!(contents(&out) == before, "the earlier results are no longer as they were");
    // With room again, the same command writes the new ones.
    let again = run(folder.path(), &["study", "yard.geojson", "--no-changes", "--clearance", "1 in"]);
    assert!(matches!(again.status, 0 | 1), "{}", again.err);
    assert!(contents(&out) != before);
}

#[test]
fn a_run_that_is_killed_leaves_the_earlier_results_whole() {
    let folder = fresh(&plan(&[]));
    assert!(matches!(run(folder.path(), &QUICK).status, 0 | 1));
    let out = folder.path().join("out/yard");
    let before = contents(&out);
    // At its start, in the search, and wherever it may be later; a run that ends sooner does not count as killed.
    let mut killed = 0;
    for milliseconds in [0, 20, 80, 200] {
        let mut child = program()
            .current_dir(folder.path())
            .args(["study", "yard.geojson", "--effort", "thorough", "--vehicle", "box-truck-26"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(milliseconds));
        child.kill().unwrap();
        if child.wait().unwrap().code().is_none() {
            killed += 1;
            assert!(contents(&out) == before, "killed after {milliseconds} ms");
        }
    }
    assert!(killed > 0 || cfg!(not(unix)), "none was killed");
}

/// Strange geometry of every kind: the message is clear or the answer is right, and the program ends.
#[test]
fn strange_geometry_is_read_or_refused_in_words() {
    let obstacle = |geometry: Value, properties: Value| {
        let mut feature = json!({ "type": "Feature", "properties": properties, "geometry": geometry });
        feature["properties"]["role"] = json!("obstacle");
        plan(&[feature])
    };
    let polygon = |points: &[[f64; 2]]| json!({ "type": "Polygon", "coordinates": [points] });
    let at_pole = |lat: f64, far: f64| {
        let mut plan = plan(&[]);
        plan["plan"]["coordinates"] = json!("lonlat");
        plan["features"][0]["geometry"]["coordinates"] = json!([[-far, lat], [far, lat]]);
        plan["features"][1]["geometry"]["coordinates"] =
            json!([[-0.00002, lat + 0.0001], [0.00002, lat + 0.0001]]);
        plan
    };
    let sliver = [[20.0, 40.0], [60.0, 40.0], [60.0, 40.000_000_1], [20.0, 40.0]];
    let twice = [[20.0, 40.0], [20.0, 40.0], [30.0, 40.0], [30.0, 40.0], [30.0, 50.0], [20.0, 40.0]];
    let bow = [[20.0, 40.0], [30.0, 50.0], [30.0, 40.0], [20.0, 50.0], [20.0, 40.0]];
    let point = json!({ "type": "Point", "coordinates": [20, 40] });
    let mut faults = Vec::new();
    for (name, plan, said) in [
        ("sliver", obstacle(polygon(&sliver), json!({})), "three different points"),
        ("points twice", obstacle(polygon(&twice), json!({})), "no faults"),
        ("bow tie", obstacle(polygon(&bow), json!({})), "cross"),
        ("enormous", obstacle(point.clone(), json!({ "radius": "1e300 ft" })), "radius"),
        ("tiny", obstacle(point.clone(), json!({ "radius": "1e-300 mm" })), ""),
        ("negative", obstacle(point.clone(), json!({ "radius": "-3 ft" })), "radius"),
        (
            "far",
            obstacle(json!({ "type": "Point", "coordinates": [1e12, 40] }), json!({ "radius": "1 ft" })),
            "km from the gate",
        ),
        (
            "huge",
            obstacle(json!({ "type": "Point", "coordinates": [1e308, -1e308] }), json!({ "radius": 1 })),
            "yard.geojson",
        ),
        ("north pole", at_pole(90.0, 0.001), "latitude"),
        ("at the pole", at_pole(89.9998, 0.3), "at a pole"),
        ("in polar ice", at_pole(89.0, 0.01), "no faults"),
        ("beyond the pole", at_pole(90.5, 0.001), "latitude"),
    ] {
        let folder = fresh(&plan);
        let ran = run(folder.path(), &["check", "yard.geojson"]);
        let all = format!("{}{}", ran.out, ran.err);
        let sound = matches!(ran.status, 0 | 2) && !all.contains("panicked") && !all.contains("NaN");
        if !(sound && all.contains(said)) {
            faults.push(format!("{name}: {all}"));
        }
        if ran.status == 0 {
            let ran = run(folder.path(), &QUICK);
            if !matches!(ran.status, 0..=2) || ran.err.contains("panicked") {
                faults.push(format!("{name}: {}", ran.err));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
