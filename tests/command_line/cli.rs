//! The real program in a fresh folder: its output, where it goes, and its exit status.
use crate::common::PLAN;
use assert_cmd::Command;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

struct Ran {
    status: i32,
    out: String,
    err: String,
}

/// A fresh folder with the sound plan in it.
fn fresh() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("yard.geojson"), PLAN).unwrap();
    folder
}

fn run(folder: &Path, args: &[&str]) -> Ran {
    let output = Command::cargo_bin("wideenough")
        .unwrap()
        .current_dir(folder)
        .env_remove("NO_COLOR")
        .args(args)
        .output()
        .unwrap();
    Ran {
        status: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Names in a folder, sorted.
fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn help_names_every_command_and_version_is_the_packages() {
    let folder = fresh();
    let help = run(folder.path(), &["--help"]);
    assert_eq!((help.status, help.err.as_str()), (0, ""));
    for command in ["study", "summary", "check", "vehicles", "sketch", "template"] {
        assert!(help.out.contains(&format!("  {command} ")), "{}", help.out);
        let own = run(folder.path(), &[command, "--help"]);
        assert_eq!(own.status, 0, "{command}");
    }
    let version = run(folder.path(), &["--version"]);
    assert_eq!(version.out, format!("wideenough {}\n", env!("CARGO_PKG_VERSION")));
}

#[test]
fn usage_at_fault_is_status_2_on_standard_error() {
    let folder = fresh();
    for args in [&[][..], &["check"], &["nonsense"], &["check", "yard.geojson", "--no-such-flag"]] {
        let ran = run(folder.path(), args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(ran.err.contains("Usage"), "{args:?}: {}", ran.err);
    }
}

#[test]
fn check_says_that_a_plan_is_sound() {
    let folder = fresh();
    let ran = run(folder.path(), &["check", "yard.geojson"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert_eq!(ran.out, "yard.geojson: no faults. Test yard: a 14' gate 15' from the road; vehicles: car.\n");
    assert_eq!(names(folder.path()), ["yard.geojson"], "check writes nothing");
}

#[test]
fn check_takes_other_vehicles_than_the_plans() {
    let folder = fresh();
    let ran =
        run(folder.path(), &["check", "yard.geojson", "--vehicle", "pickup", "--vehicle", "dump-truck"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let sound = "yard.geojson: no faults. Test yard: a 14' gate 15' from the road; vehicles:";
    assert_eq!(ran.out, format!("{sound} pickup, dump-truck.\n"));
    let none = run(folder.path(), &["check", "yard.geojson", "--vehicle", "pickpu"]);
    assert_eq!((none.status, none.out.as_str()), (2, ""));
    assert!(none.err.contains("did you mean \"pickup\"?"), "{}", none.err);
}

/// The road length required depends on the vehicles asked about.
#[test]
fn check_warns_of_a_road_too_short_for_the_longest_vehicle() {
    let folder = fresh();
    let short = PLAN.replace("[150, 0]", "[30, 0]").replace(r#", "continues": "both""#, "");
    fs::write(folder.path().join("short.geojson"), short).unwrap();
    let sound = "short.geojson: no faults. Test yard: a 14' gate 15' from the road; vehicles:";
    let car = run(folder.path(), &["check", "short.geojson"]);
    assert_eq!((car.status, car.out), (0, format!("{sound} car.\n")));
    let truck =
        run(folder.path(), &["check", "short.geojson", "--vehicle", "car", "--vehicle", "school-bus"]);
    let warning = "warning: short.geojson: the road \"road\" is drawn only 30' before the gate westbound, and the longest \
                   vehicle studied is 38' long; draw more of it, or say \"continues\": \"end\" if it goes on";
    let warned = sound.replace("no faults.", "no faults, but a warning.");
    let told = (0, format!("{warned} car, school-bus.\n"), format!("{warning}\n"));
    assert_eq!((truck.status, truck.out, truck.err), told);
    let args = ["study", "short.geojson", "--vehicle", "school-bus", "--no-changes", "--units", "ft"];
    let study = run(folder.path(), &args);
    assert!(study.out.contains("is drawn only 30' before the gate westbound"), "{}{}", study.out, study.err);
}

#[test]
fn check_lists_the_faults_of_plan_and_vehicles_at_once() {
    let folder = fresh();
    let wrong = PLAN
        .replace("\"width\": \"20 ft\"", "\"width\": \"20 fet\"")
        .replace("[\"car\"]", "[\"carr\", \"mine.json\", \"none.json\"]");
    fs::write(folder.path().join("wrong.geojson"), wrong).unwrap();
    fs::write(folder.path().join("mine.json"), "{ \"title\": \"Mine\" }").unwrap();
    let ran = run(folder.path(), &["check", "wrong.geojson"]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("wrong.geojson:4:"), "{}", ran.err);
    for part in ["20 fet", "did you mean \"car\"?", "mine.json:1:", "none.json: there is no such file"] {
        assert!(ran.err.contains(part), "{part}\n{}", ran.err);
    }
}

#[test]
fn a_plan_names_vehicle_files_beside_itself() {
    let folder = fresh();
    let sub = folder.path().join("plans");
    fs::create_dir(&sub).unwrap();
    fs::write(sub.join("yard.geojson"), PLAN.replace("\"car\"", "\"ours.json\"")).unwrap();
    let car = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("vehicles/car.json")).unwrap();
    fs::write(sub.join("ours.json"), car).unwrap();
    let ran = run(folder.path(), &["check", "plans/yard.geojson"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("vehicles: ours."), "{}", ran.out);
}

#[test]
fn what_cannot_be_read_is_named() {
    let folder = fresh();
    fs::write(folder.path().join("latin.geojson"), b"{\n \"type\": \"\xe9\" }").unwrap();
    fs::write(folder.path().join("empty.geojson"), "").unwrap();
    // Sparse: takes no room on disk, and would take a while to read.
    fs::File::create(folder.path().join("huge.geojson")).unwrap().set_len(100_000_000).unwrap();
    fs::File::create(folder.path().join("huge.json")).unwrap().set_len(100_000_000).unwrap();
    for (args, message) in [
        (&["check", "gone.geojson"][..], "gone.geojson: there is no such file"),
        (&["check", "."], ".: is a folder; name the file in it"),
        (&["check", "latin.geojson"], "latin.geojson: line 2: is not UTF-8 text; save it as UTF-8"),
        (&["check", "empty.geojson"], "empty.geojson"),
        (&["check", "huge.geojson"], "huge.geojson: 100 MB is too large for a site plan"),
        (&["vehicles", "huge.json"], "huge.json: 100000000 bytes is too large for a vehicle file"),
        (&["vehicles", "pickpu"], "did you mean \"pickup\"?"),
    ] {
        let ran = run(folder.path(), args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(ran.err.contains(message), "{args:?}: {}", ran.err);
    }
}

#[test]
fn vehicles_lists_the_library_and_shows_one_with_its_sources() {
    let folder = fresh();
    let list = run(folder.path(), &["vehicles"]);
    assert_eq!((list.status, list.err.as_str()), (0, ""));
    let files = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("vehicles")).unwrap();
    let mut count = 0;
    for file in files {
        let name = file.unwrap().file_name().to_string_lossy().into_owned();
        let Some(name) = name.strip_suffix(".json").filter(|n| !n.ends_with(".schema")) else { continue };
        let shown = list.out.lines().any(|line| line.split_whitespace().next() == Some(name));
        assert!(shown, "{name} is not listed:\n{}", list.out);
        count += 1;
    }
    assert!(count >= 29, "{count} vehicles");
    let pickup = run(folder.path(), &["vehicles", "pickup"]);
    assert_eq!((pickup.status, pickup.err.as_str()), (0, ""));
    assert!(pickup.out.contains("pickup: width over mirrors"), "{}", pickup.out);
    assert!(pickup.out.contains("8'") && pickup.out.contains("[1] "), "{}", pickup.out);
    let meters = run(folder.path(), &["vehicles", "pickup", "--units", "m"]);
    assert!(meters.out.contains("2.438 m"), "{}", meters.out);
    assert!(!pickup.out.contains('\u{1b}'), "no color but on a terminal");
}

#[test]
fn pictures_of_a_vehicle_and_its_turns() {
    let folder = fresh();
    let ran = run(folder.path(), &["vehicles", "pickup", "--out", "pickup.svg"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, "Written: pickup.svg.\n"));
    let picture = fs::read_to_string(folder.path().join("pickup.svg")).unwrap();
    assert!(picture.starts_with("<svg") && picture.contains("over mirrors"));
    let again = run(folder.path(), &["vehicles", "pickup", "--out", "pickup.svg"]);
    assert_eq!((again.status, again.err.as_str()), (2, "pickup.svg: already exists; name another file\n"));
    let turn = run(folder.path(), &["template", "car", "--turn", "90", "--radius", "30 ft", "--units", "m"]);
    assert_eq!((turn.status, turn.err.as_str()), (0, ""));
    assert!(turn.out.starts_with("<svg") && turn.out.contains("on a radius of 9.14 m"), "{}", turn.out);
    assert!(turn.out.contains("90-degree turn") && !turn.out.contains("180-degree turn"));
    let bad = run(folder.path(), &["template", "car", "--turn", "-5"]);
    assert_eq!(bad.status, 2, "{}", bad.err);
}

#[test]
fn faults_about_the_gate_to_order_come_with_those_of_the_plan() {
    let folder = fresh();
    fs::write(folder.path().join("maker.json"), "{ \"post\": \"6\" }").unwrap();
    let args = ["study", "yard.geojson", "--rules", "fire-width,fire-with", "--allowances", "maker.json"];
    let ran = run(folder.path(), &args);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("maker.json:1:11: post: "), "{}", ran.err);
    assert!(ran.err.contains("\"fire-with\" is not a rule"), "{}", ran.err);
    assert!(!folder.path().join("out").exists());
}

#[test]
fn a_study_writes_its_folder_and_prints_the_table() {
    let folder = fresh();
    let ran = run(folder.path(), &["study", "yard.geojson"]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    let out = folder.path().join("out/yard");
    assert_eq!(ran.out, fs::read_to_string(out.join("table.txt")).unwrap(), "what is printed is table.txt");
    assert!(ran.out.contains("every vehicle passes in comfort"), "{}", ran.out);
    assert!(!ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'), "no color, no bar but on a terminal");
    let mut expected: Vec<String> =
        ["gate-schedule.txt", "report.html", "results.json", "study.geojson", "table.txt"]
            .map(str::to_owned)
            .to_vec();
    for travel in ["eastbound", "westbound"] {
        for maneuver in ["drive-in", "back-in"] {
            expected.push(format!("car-{travel}-{maneuver}.svg"));
            expected.push(format!("car-{travel}-{maneuver}.envelope.json"));
        }
    }
    expected.sort();
    assert_eq!(names(&out), expected);
    // On a slow machine lines of progress may come first.
    let told: Vec<&str> = ran.err.lines().filter(|line| !line.contains(" done, ")).collect();
    assert_eq!(
        told,
        [format!(
            "Written to {}: report.html, results.json, table.txt, gate-schedule.txt, study.geojson, 4 drawings, \
             4 envelopes.",
            Path::new("out").join("yard").display()
        )]
    );
    let results: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(out.join("results.json")).unwrap()).unwrap();
    assert_eq!(results["format"], "wideenough-results");
    for case in results["cases"].as_array().unwrap() {
        let need = |answer: &str| case[answer]["opening_m"].as_f64().unwrap();
        assert!(need("bare") <= need("comfortable") && need("comfortable") < 4.2672, "{case}");
        assert!(fs::read_to_string(out.join(case["drawing"].as_str().unwrap())).unwrap().starts_with("<"));
    }
}

/// Sheets and pictures on request, with fields from the plan and the command line, removed by the next run that does
/// not ask for them.
#[test]
#[cfg(feature = "sheets")]
fn sheets_and_pictures_are_written_on_request_and_removed_after() {
    let folder = fresh();
    let plan = PLAN.replace(
        "\"units\": \"ft\"",
        "\"units\": \"ft\", \"permit\": { \"parcel\": \"77-<x>\", \"date\": \"May 1\" }",
    );
    fs::write(folder.path().join("yard.geojson"), plan).unwrap();
    let ran = run(
        folder.path(),
        &["study", "yard.geojson", "--paper", "a3", "--scale", "1:100", "--date", "May 2", "--png"],
    );
    assert_eq!(ran.status, 0, "{}", ran.err);
    let out = folder.path().join("out/yard");
    let written = names(&out);
    for name in
        ["sheets.pdf", "cover-sheet.svg", "car-eastbound-drive-in-sheet.svg", "car-eastbound-drive-in.png"]
    {
        assert!(written.contains(&name.to_owned()), "{name}: {written:?}");
    }
    let listed: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(out.join("results.json")).unwrap()).unwrap();
    let listed: Vec<&str> = listed["files"].as_array().unwrap().iter().filter_map(|f| f.as_str()).collect();
    assert!(
        written.iter().all(|name| name == "results.json" || listed.contains(&name.as_str())),
        "{listed:?}"
    );
    let sheet = fs::read_to_string(out.join("car-eastbound-drive-in-sheet.svg")).unwrap();
    assert!(sheet.contains("77-&lt;x&gt;") && sheet.contains("May 2") && sheet.contains("1:100"), "{sheet}");
    assert!(fs::read(out.join("sheets.pdf")).unwrap().starts_with(b"%PDF"));
    assert!(fs::read(out.join("car-eastbound-drive-in.png")).unwrap().starts_with(b"\x89PNG"));
    assert_eq!(run(folder.path(), &["study", "yard.geojson"]).status, 0);
    assert_eq!(names(&out).len(), 13, "{:?}", names(&out));
    for wrong in [["--scale", "0"], ["--scale", "1:x"], ["--paper", "b7"]] {
        let args = ["study", "yard.geojson", "--paper", "a4", wrong[0], wrong[1]];
        assert_eq!(run(folder.path(), &args).status, 2, "{wrong:?}");
    }
    // Fields of a title block that nobody will see are a mistake.
    assert_eq!(run(folder.path(), &["study", "yard.geojson", "--date", "May 2"]).status, 2);
    let turns = ["template", "car", "--paper", "letter", "--turn", "90", "--out"];
    let with = |name: &'static str| turns.iter().copied().chain([name]).collect::<Vec<&str>>();
    for (name, start) in [("t.pdf", &b"%PDF"[..]), ("t.png", b"\x89PNG"), ("t.svg", b"<svg")] {
        assert_eq!(run(folder.path(), &with(name)).status, 0, "{name}");
        assert!(fs::read(folder.path().join(name)).unwrap().starts_with(start), "{name}");
    }
    let unknown = run(folder.path(), &with("t.doc"));
    assert_eq!(
        (unknown.status, unknown.err.as_str()),
        (2, "t.doc: name a file that ends in .svg, .png or .pdf\n")
    );
}

#[test]
fn a_gate_too_narrow_is_status_1_and_options_are_heeded() {
    let folder = fresh();
    let plan = PLAN.replace("[[-7, 25], [7, 25]]", "[[-3.5, 25], [3.5, 25]]");
    fs::write(folder.path().join("narrow.geojson"), plan).unwrap();
    let args = [
        "study",
        "narrow.geojson",
        "--vehicle",
        "pickup",
        "--units",
        "m",
        "--clearance",
        "0 m",
        "--out",
        "there",
    ];
    let ran = run(folder.path(), &args);
    assert_eq!(ran.status, 1, "{}{}", ran.out, ran.err);
    let words = ran.out.split_whitespace().collect::<Vec<&str>>().join(" ");
    assert!(words.contains("your 2.13 m gate is too narrow by 0."), "{}", ran.out);
    assert!(ran.out.contains("keeps 0.00 m") && !ran.out.contains("Car"), "{}", ran.out);
    assert_eq!(names(folder.path()), ["narrow.geojson", "there", "yard.geojson"]);
    assert!(folder.path().join("there/narrow/pickup-eastbound-drive-in.svg").exists());
}

#[test]
fn input_at_fault_writes_nothing_over() {
    let folder = fresh();
    let out = folder.path().join("out/wrong");
    fs::create_dir_all(&out).unwrap();
    fs::write(out.join("results.json"), "of an earlier run").unwrap();
    fs::write(folder.path().join("wrong.geojson"), PLAN.replace("\"gate\"", "\"gaet\"")).unwrap();
    fs::write(folder.path().join("none.geojson"), PLAN.replace("[\"car\"]", "[]")).unwrap();
    fs::write(folder.path().join("taken"), "a file").unwrap();
    for (args, message) in [
        (&["study", "wrong.geojson"][..], "did you mean \"gate\""),
        (&["study", "wrong.geojson", "--vehicle", "carr"], "did you mean \"car\"?"),
        (&["study", "none.geojson"], "no vehicle is named"),
        (&["study", "yard.geojson", "--vehicle", "nowhere/mine.json"], "mine.json: there is no such file"),
        (&["study", "yard.geojson", "--clearance", "12"], "12 ft"),
        (&["study", "yard.geojson", "--clearance", "9 m"], "a clearance is between 0 and 5 m"),
        (&["study", "yard.geojson", "--shunts", "99"], "99"),
        (&["study", "yard.geojson", "--out", "taken"], "cannot write there"),
    ] {
        let ran = run(folder.path(), args);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(ran.err.contains(message), "{args:?}: {}", ran.err);
    }
    assert_eq!(names(&out), ["results.json"]);
    assert_eq!(fs::read_to_string(out.join("results.json")).unwrap(), "of an earlier run");
    assert!(!folder.path().join("out/yard").exists() && !folder.path().join("out/none").exists());
}

#[test]
fn a_sketch_from_tape_measurements_is_a_sound_plan() {
    let folder = fresh();
    let tape =
        ["sketch", "--road-width", "20 ft", "--setback", "15 ft", "--opening", "12' 6\"", "--skew", "-10"];
    let to_file = [&tape[..], &["--vehicle", "pickup", "--out", "taped.geojson"]].concat();
    let ran = run(folder.path(), &to_file);
    assert_eq!((ran.status, ran.out.as_str()), (0, ""), "{}", ran.err);
    let check = run(folder.path(), &["check", "taped.geojson"]);
    assert_eq!((check.status, check.err.as_str()), (0, ""));
    assert!(check.out.contains("a 12' 6\" gate 15' from the road; vehicles: pickup."), "{}", check.out);
    // Likewise to standard output; an existing file is left alone.
    let printed = run(folder.path(), &[&tape[..], &["--vehicle", "pickup"]].concat());
    let written = fs::read_to_string(folder.path().join("taped.geojson")).unwrap();
    assert_eq!((printed.status, printed.out.as_str()), (0, written.as_str()));
    let again = run(folder.path(), &to_file);
    assert_eq!((again.status, again.out.as_str()), (2, ""));
    assert!(again.err.contains("taped.geojson: already exists"), "{}", again.err);
    let wrong =
        run(folder.path(), &["sketch", "--road-width", "20", "--setback", "15 ft", "--opening", "12 ft"]);
    assert_eq!(wrong.status, 2);
    assert!(wrong.err.contains("20 ft"), "{}", wrong.err);
    let skew = run(folder.path(), &[&tape[..8], &["89"]].concat());
    assert_eq!((skew.status, skew.out.as_str()), (2, ""));
    assert!(skew.err.contains("skew"), "{}", skew.err);
}
