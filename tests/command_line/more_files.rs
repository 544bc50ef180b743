//! Options that write more files: drawings in landscape, and study.geojson in layers.
use crate::common::PLAN;
use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

fn study(folder: &Path, more: &[&str]) -> BTreeSet<String> {
    let args = ["study", "yard.geojson", "--no-changes"];
    let run =
        Command::cargo_bin("wideenough").unwrap().current_dir(folder).args(args).args(more).output().unwrap();
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    let entries = fs::read_dir(folder.join("out/yard")).unwrap();
    entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect()
}

fn read(folder: &Path, name: &str) -> Value {
    serde_json::from_slice(&fs::read(folder.join("out/yard").join(name)).unwrap()).unwrap()
}

/// Every file is listed in results.json, and goes with the next run that does not ask for it.
#[test]
fn landscape_drawings_and_layers_come_and_go() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("yard.geojson"), PLAN).unwrap();
    let more = study(folder.path(), &["--landscape", "--layers"]);
    let cases = read(folder.path(), "results.json")["cases"].as_array().unwrap().len();
    let wide: Vec<&String> = more.iter().filter(|name| name.ends_with("-wide.svg")).collect();
    assert_eq!(wide.len(), cases, "{more:?}");
    let listed = read(folder.path(), "results.json")["files"].clone();
    let listed: BTreeSet<&str> = listed.as_array().unwrap().iter().map(|f| f.as_str().unwrap()).collect();
    let of_layers = ["study-points.geojson", "study-lines.geojson", "study-polygons.geojson"];
    assert!(wide.iter().all(|name| listed.contains(name.as_str())), "{listed:?}");
    assert!(of_layers.iter().all(|name| listed.contains(name)), "{listed:?}");

    // Each feature stands in one layer, unchanged and in its order, with all others of its geometry.
    let whole = read(folder.path(), "study.geojson");
    let mut count = 0;
    for (name, kind) in of_layers.into_iter().zip(["Point", "LineString", "Polygon"]) {
        let layer = read(folder.path(), name);
        let is = |feature: &&Value| {
            let geometry = feature["geometry"]["type"].as_str().unwrap();
            geometry == kind || geometry == format!("Multi{kind}")
        };
        let features = whole["features"].as_array().unwrap();
        let expected: Vec<&Value> = features.iter().filter(is).collect();
        assert!(!expected.is_empty(), "{kind}");
        assert_eq!(layer["features"].as_array().unwrap().iter().collect::<Vec<_>>(), expected, "{name}");
        assert_eq!(layer["plan"], whole["plan"], "{name} says in which units it is");
        count += expected.len();
    }
    assert_eq!(count, whole["features"].as_array().unwrap().len(), "a feature stands in no layer");

    let plain = study(folder.path(), &[]);
    let gone: Vec<&str> = more.difference(&plain).map(String::as_str).collect();
    assert_eq!(gone.len(), cases + 3, "{gone:?}");
    assert!(gone.iter().all(|name| name.ends_with("-wide.svg") || of_layers.contains(name)), "{gone:?}");
}

/// A vehicle that would pass in comfort passes no gate whose leaves do not open: the study says so first, and fails.
#[test]
fn leaves_that_do_not_open_fail_the_gate() {
    let folder = tempfile::tempdir().unwrap();
    let plan = PLAN.replace("\"leaves\": \"none\"", "\"leaves\": \"double\", \"opens\": \"out\"");
    assert_ne!(plan, PLAN);
    let mut plan: Value = serde_json::from_str(&plan).unwrap();
    // Out toward a bollard that the right leaf meets.
    let gate =
        plan["features"].as_array().unwrap().iter().find(|f| f["properties"]["role"] == "gate").unwrap();
    let line = gate["geometry"]["coordinates"].clone();
    let (x, y) = (line[1][0].as_f64().unwrap() + 0.5, line[1][1].as_f64().unwrap() - 3.0);
    plan["features"].as_array_mut().unwrap().push(serde_json::json!({
        "type": "Feature",
        "properties": { "role": "obstacle", "label": "bollard", "radius": "1 ft", "top": "3 ft" },
        "geometry": { "type": "Point", "coordinates": [x - 1.0, y] }
    }));
    fs::write(folder.path().join("yard.geojson"), plan.to_string()).unwrap();
    let run = Command::cargo_bin("wideenough")
        .unwrap()
        .current_dir(folder.path())
        .args(["study", "yard.geojson", "--no-changes"])
        .output()
        .unwrap();
    assert_eq!(run.status.code(), Some(1), "{}", String::from_utf8_lossy(&run.stderr));
    let said = String::from_utf8_lossy(&run.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("does not open as far as it must: \"bollard\" stops the right leaf at"), "{said}");
    let results = read(folder.path(), "results.json");
    assert_eq!(results["every_vehicle_passes"], false);
    assert!(results["leaves_stopped"].as_str().unwrap().starts_with("\"bollard\" stops the right leaf at"));
}
