//! Identical bytes from one plan: on one thread and on eight, and on another run. Debug and release builds are compared
//! by `.ci/run`, which holds the examples' release runs against what golden.rs holds the debug ones to.
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

/// A road, a gate, a wall and trees: enough obstacles that cases end in another order on other threads.
const PLAN: &str = r#"{ "type": "FeatureCollection",
  "plan": { "title": "Same again", "units": "ft", "vehicles": [{ "vehicle": "car", "travels": ["eastbound"] }, { "vehicle": "pickup-bumper-pull-20", "maneuvers": ["drive-in"], "travels": ["eastbound"] }] },
  "features": [
    { "type": "Feature", "properties": { "role": "road", "width": "20 ft", "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[179.9996, -16.5], [-179.9996, -16.5]] } },
    { "type": "Feature", "properties": { "role": "obstacle", "label": "wall", "thickness": "1 ft" },
      "geometry": { "type": "LineString", "coordinates": [[179.9998, -16.50005], [-179.9998, -16.50005]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "double" },
      "geometry": { "type": "LineString", "coordinates": [[179.99998, -16.49993], [-179.99998, -16.49993]] } }
  ] }"#;

fn run(folder: &Path, threads: Option<&str>, out: &str) -> (BTreeMap<String, Vec<u8>>, Vec<u8>) {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("wideenough"));
    command.current_dir(folder).args(["study", "same.geojson", "--out", out]);
    if cfg!(feature = "sheets") {
        command.args(["--paper", "a4"]);
    }
    command.env_remove("RAYON_NUM_THREADS");
    command.envs(threads.map(|count| ("RAYON_NUM_THREADS", count)));
    let ran = command.output().unwrap();
    assert!(matches!(ran.status.code(), Some(0 | 1)), "{}", String::from_utf8_lossy(&ran.stderr));
    let entries = fs::read_dir(folder.join(out).join("same")).unwrap().map(|e| e.unwrap());
    let read = |e: fs::DirEntry| (e.file_name().to_string_lossy().into_owned(), fs::read(e.path()).unwrap());
    (entries.map(read).collect(), ran.stdout)
}

#[test]
fn threads_and_runs_give_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("same.geojson"), PLAN).unwrap();
    let (first, printed) = run(folder.path(), Some("1"), "one");
    assert!(first.len() > 12 && first.contains_key("results.json"), "{:?}", first.keys());
    for (threads, out) in [(Some("8"), "eight"), (None, "as-usual")] {
        let (files, said) = run(folder.path(), threads, out);
        assert_eq!(files.keys().collect::<Vec<_>>(), first.keys().collect::<Vec<_>>(), "{threads:?}");
        for (name, bytes) in &files {
            assert!(*bytes == first[name], "{name}: other bytes on {threads:?} threads than on one");
        }
        assert!(said == printed, "another table on {threads:?} threads");
    }
}
