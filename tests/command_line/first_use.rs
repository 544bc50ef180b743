//! Mistakes of someone new to the program: mistyped words, feet typed as numbers, a scale that shows nothing, a run
//! that is stopped. The real program names the problem first and in words that help.
use crate::common::PLAN;
use assert_cmd::Command;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// A fresh folder with a plan in it.
fn with_plan(plan: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("yard.geojson"), plan).unwrap();
    folder
}

/// Status, standard output and standard error.
fn run(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("wideenough").unwrap().current_dir(folder).args(args).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn a_mistyped_property_is_told_first_on_standard_error() {
    let folder = with_plan(&PLAN.replace("\"leaves\"", "\"anchr\": \"left\", \"leaves\""));
    let warning = "warning: yard.geojson:6:67: feature 2, property \"anchr\": unknown, ignored; did you mean \
                   \"anchor\"?";
    let (status, out, err) = run(folder.path(), &["check", "yard.geojson"]);
    assert_eq!((status, err.trim_end()), (0, warning));
    assert!(out.starts_with("yard.geojson: no faults, but a warning.") && !out.contains("anchr"), "{out}");
    let (status, _, err) = run(folder.path(), &["study", "yard.geojson", "--no-changes"]);
    assert_eq!((status, err.lines().next().unwrap()), (0, warning));
}

/// A mistyped property is often why something is missing: it is reported with the faults.
#[test]
fn what_was_passed_over_is_told_beside_the_faults() {
    let folder = with_plan(&PLAN.replace("\"width\"", "\"widht\""));
    for command in ["check", "study"] {
        let (status, out, err) = run(folder.path(), &[command, "yard.geojson"]);
        assert_eq!((status, out.as_str()), (2, ""));
        let lines: Vec<&str> = err.lines().collect();
        assert_eq!(lines.len(), 2, "{err}");
        assert!(lines[0].starts_with("warning: ") && lines[0].ends_with("did you mean \"width\"?"), "{err}");
        assert!(lines[1].contains("a road drawn as a line needs its \"width\""), "{err}");
    }
}

/// A road of 20 m typed by someone who meant feet: the units are reported in any case.
#[test]
fn feet_typed_as_numbers_are_told() {
    let lonlat = PLAN
        .replace("\"coordinates\": \"local-ft\", ", "")
        .replace("[[-150, 0], [150, 0]]", "[[-98.351, 40.62], [-98.349, 40.62]]")
        .replace("[[-7, 25], [7, 25]]", "[[-98.35003, 40.6202], [-98.34998, 40.6202]]");
    for plan in [PLAN, &lonlat] {
        let folder = with_plan(&plan.replace("\"20 ft\"", "20"));
        let (_, _, err) = run(folder.path(), &["check", "yard.geojson"]);
        let hint = "feature 1, property \"width\": a number without a unit is meters; write \"20 ft\" or \"20 in\" if you \
                    mean that";
        assert!(err.lines().next().is_some_and(|line| line.ends_with(hint)), "{err}");
    }
}

#[test]
fn a_negative_length_gets_a_plain_answer() {
    let folder = with_plan(PLAN);
    for (args, hint) in [
        (&["study", "yard.geojson", "--clearance", "-1 ft"][..], "a clearance is between 0 and 5 m (16 ft)"),
        (&["study", "yard.geojson", "--stock", "-12 ft"], "a stock size is from 1 to 15 m"),
        (
            &["sketch", "--road-width", "20 ft", "--setback", "-15 ft", "--opening", "14 ft"],
            "the setback is -15'; it must be more than 0",
        ),
        (&["template", "car", "--radius", "-30 ft"], "a radius is more than 0 and at most 200 m"),
    ] {
        let (status, out, err) = run(folder.path(), args);
        assert_eq!((status, out.as_str()), (2, ""), "{args:?}");
        assert!(err.contains(hint), "{args:?}: {err}");
    }
    // Zero is a length without a unit.
    let (status, _, err) = run(folder.path(), &["study", "yard.geojson", "--clearance", "0", "--no-changes"]);
    assert_eq!(status, 0, "{err}");
}

/// A ten-foot culvert under a fourteen-foot gate is common.
#[test]
fn a_culvert_may_be_narrower_than_the_gate() {
    let folder = with_plan(PLAN);
    let tape =
        ["sketch", "--road-width", "20 ft", "--setback", "15 ft", "--opening", "14 ft", "--apron", "10 ft"];
    for skew in ["0", "20"] {
        let name = format!("culvert-{skew}.geojson");
        let args = [&tape[..], &["--skew", skew, "--vehicle", "car", "--out", &name]].concat();
        let (status, _, err) = run(folder.path(), &args);
        assert_eq!(status, 0, "{err}");
        let (status, out, err) = run(folder.path(), &["check", &name]);
        assert_eq!((status, err.as_str()), (0, ""), "{out}");
        let site =
            wideenough::site::read(&fs::read_to_string(folder.path().join(&name)).unwrap(), &name).unwrap();
        // The ground between road and gate is as wide as the culvert, and the ground behind the gate as wide as the
        // yard.
        let at = |y: f64| {
            let xs = site.drives[0].outer.edges().filter_map(|(a, b)| {
                let t = (y - a.y) / (b.y - a.y);
                (0.0..1.0).contains(&t).then_some(a.x + t * (b.x - a.x))
            });
            let (low, high) = xs.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
            high - low
        };
        assert!((at(-10.0 * 0.3048) - 10.0 * 0.3048).abs() < 1e-3, "{}", at(-3.0));
        assert!(at(10.0 * 0.3048) > 20.0);
        // It begins behind the higher post of a skewed gate: 7 ft by the sine of 20 degrees, 2.39 ft.
        let before_post = if skew == "20" { 2.35 } else { -0.05 };
        assert!((at(before_post * 0.3048) - 10.0 * 0.3048).abs() < 1e-3, "{}", at(before_post * 0.3048));
    }
}

/// A scale at which a sheet would stay blank is refused before the work; one at which a way in does not fit is
/// reported.
#[test]
#[cfg(feature = "sheets")]
fn a_scale_that_shows_too_little_is_told() {
    let folder = with_plan(PLAN);
    let study = ["study", "yard.geojson", "--no-changes", "--paper", "letter", "--scale"];
    let (status, out, err) = run(folder.path(), &[&study[..], &["1:1"]].concat());
    assert_eq!((status, out.as_str()), (2, ""));
    let fault = "--scale: at 1:1 this paper shows 11\", and the gate with its posts is 15' wide; leave --scale out for the \
                 largest usual scale that shows the whole way in\n";
    assert_eq!(err, fault);
    assert!(!folder.path().join("out").exists());
    let (status, _, err) = run(folder.path(), &[&study[..], &["5 ft"]].concat());
    assert_eq!(status, 0, "{err}");
    let warned = err.lines().any(|line| {
        line.starts_with("warning: --scale: at 1\" = 5' 4 of 4 sheets show the ground about the gate, not the whole way in; 1\" = ")
    });
    assert!(warned, "{err}");
    // The cover takes two on this paper, and the gate to order and the gate as drawn have one each.
    assert!(err.contains("sheets.pdf") && err.contains("8 sheets, 4 drawings"), "{err}");
    let (_, _, err) = run(folder.path(), &[&study[..], &["100 ft"]].concat());
    assert!(!err.contains("warning"), "{err}");
}

/// A run stopped while it writes leaves nothing half-written: here its last file but one cannot be written yet, as
/// nobody reads the pipe of that name.
#[test]
#[cfg(unix)]
fn a_stopped_run_leaves_no_temporary_files() {
    use std::process::{Command, Stdio};
    use std::time::{Duration, Instant};
    let folder = with_plan(PLAN);
    let out = folder.path().join("out/yard");
    fs::create_dir_all(&out).unwrap();
    fs::write(out.join("table.txt"), "of an earlier run").unwrap();
    assert!(Command::new("mkfifo").arg(out.join("table.txt.tmp")).status().unwrap().success());
    let mut child = Command::new(assert_cmd::cargo::cargo_bin("wideenough"))
        .current_dir(folder.path())
        .args(["study", "yard.geojson", "--no-changes"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let patience = Instant::now();
    while !out.join("study.geojson.tmp").exists() {
        assert!(patience.elapsed() < Duration::from_secs(300), "nothing is being written");
        assert_eq!(child.try_wait().unwrap(), None, "it ended by itself");
        std::thread::sleep(Duration::from_millis(20));
    }
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
    assert_eq!(child.wait().unwrap().code(), Some(130));
    let left: Vec<_> = fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left, ["table.txt"]);
    assert_eq!(fs::read_to_string(out.join("table.txt")).unwrap(), "of an earlier run");
}

/// A folder named like an output file is found before the work.
#[test]
fn a_folder_in_the_way_is_told_before_the_work() {
    let folder = with_plan(PLAN);
    fs::create_dir_all(folder.path().join("out/yard/results.json")).unwrap();
    let (status, out, err) = run(folder.path(), &["study", "yard.geojson"]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(err.contains("results.json: is a folder where a file must be written; remove it"), "{err}");
}

/// Settings and rules come from the command line, and their faults with those of the plan.
#[test]
fn settings_and_roles_by_the_command_line() {
    let bare = PLAN
        .replace(
            r#""plan": { "title": "Test yard", "coordinates": "local-ft", "units": "ft", "vehicles": ["car"] },"#,
            "",
        )
        .replace(r#""role": "road""#, r#""kind": "street""#);
    let folder = with_plan(&bare);
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    fs::create_dir(folder.path().join("own")).unwrap();
    write(
        "own/settings.json",
        r#"{ "title": "Test yard", "coordinates": "local-ft", "vehicles": ["mine.json"] }"#,
    );
    let mine = r#"{ "title": "Mine", "steering": { "lock_angle_deg": 30 }, "units": [{ "name": "car", "wheelbase": 2.8,
        "front_overhang": 0.9, "rear_overhang": 1.0, "width": 1.9, "height": 1.6 }] }"#;
    write("own/mine.json", mine);
    let rules = r#"{ "rules": [{ "where": { "kind": "street" }, "role": "road",
        "from": { "width": "width", "continues": "continues" } }] }"#;
    write("map.json", rules);
    let args = ["check", "yard.geojson", "--settings", "own/settings.json", "--roles", "map.json"];
    let (status, out, err) = run(folder.path(), &args);
    assert_eq!((status, err.as_str()), (0, ""));
    assert_eq!(out, "yard.geojson: no faults. Test yard: a 14' gate 15' from the road; vehicles: mine.\n");
    write(
        "own/settings.json",
        r#"{ "coordinates": "local-ft", "vehicles": ["none.json"], "units": "feet" }"#,
    );
    write("map.json", &rules.replace("\"road\"", "\"raod\""));
    let (status, _, err) = run(folder.path(), &args);
    assert_eq!(status, 2);
    for part in ["own/settings.json:1:", "map.json:1:", "own/none.json: there is no such file"] {
        assert!(err.contains(part), "{part}\n{err}");
    }
    let (_, _, err) = run(folder.path(), &["check", "yard.geojson", "--settings", "gone.json"]);
    assert_eq!(err, "gone.json: there is no such file\n");
}
