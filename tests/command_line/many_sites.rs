//! Many sites: a folder of plans studied at once, their summary and map, plans at fault, studies skipped as unchanged,
//! runs that were killed, and shares of a run joined.
use crate::common::PLAN;
use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;
use tempfile::TempDir;

/// Flags for quick studies: no changes of the site are studied; each plan asks about a small car from one side.
const QUICK: [&str; 1] = ["--no-changes"];
const FROM_ONE_SIDE: &str = r#"[{ "vehicle": "car", "travels": ["eastbound"] }]"#;
const SUMMARY: [&str; 4] = ["summary.csv", "summary.jsonl", "summary.txt", "gates.geojson"];

struct Ran {
    status: i32,
    out: String,
    err: String,
}

fn run(folder: &Path, args: &[&str]) -> Ran {
    let output = Command::cargo_bin("wideenough").unwrap().current_dir(folder).args(args).output().unwrap();
    Ran {
        status: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn study(folder: &Path, args: &[&str]) -> Ran {
    run(folder, &[&["study"], args, &QUICK[..]].concat())
}

/// A plan on Earth: a road along a parallel with a gate this wide north of it.
fn on_earth(title: &str, lon: f64, lat: f64, half_width_deg: f64) -> String {
    let (west, east) = (lon - half_width_deg, lon + half_width_deg);
    let (road, line) = (lat, lat + 0.0001);
    format!(
        r#"{{ "type": "FeatureCollection", "plan": {{ "title": "{title}", "vehicles": {FROM_ONE_SIDE} }}, "features": [
        {{ "type": "Feature", "properties": {{ "role": "road", "width": "20 ft", "continues": "both" }},
           "geometry": {{ "type": "LineString", "coordinates": [[{}, {road}], [{}, {road}]] }} }},
        {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "none" }},
           "geometry": {{ "type": "LineString", "coordinates": [[{west}, {line}], [{east}, {line}]] }} }} ] }}"#,
        lon - 0.0005,
        lon + 0.0005,
    )
}

/// Seven plans: four on Earth (one of them too narrow for a car), a sketch, and two at fault.
fn county() -> TempDir {
    let temp = tempfile::tempdir().unwrap();
    let plans = temp.path().join("plans");
    fs::create_dir_all(plans.join("north")).unwrap();
    let write = |name: &str, text: &str| fs::write(plans.join(name), text).unwrap();
    for (i, name) in ["lot-1", "north/lot 2", "north/lot 3"].into_iter().enumerate() {
        let lon = -93.0 - 0.01 * f64::from(u32::try_from(i).unwrap());
        write(&format!("{name}.geojson"), &on_earth(name, lon, 42.0, 0.000_02));
    }
    write("narrow.json", &on_earth("narrow", -93.1, 42.0, 0.000_01));
    write("sketch.geojson", &PLAN.replace("[\"car\"]", FROM_ONE_SIDE));
    write("cut.geojson", &PLAN[..PLAN.len() / 2]);
    write("no-gate.geojson", &PLAN.replace("\"gate\"", "\"gat\""));
    write("truck.json", r#"{ "title": "no plan" }"#);
    temp
}

/// Every file below a folder, by its relative path.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(at) = open.pop() {
        for entry in fs::read_dir(&at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                found.insert(path.strip_prefix(folder).unwrap().to_owned(), fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// Checks that two folders hold the same files with the same bytes.
fn assert_same(one: &Path, other: &Path) {
    let (one, other) = (files(one), files(other));
    assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
    for (path, bytes) in &one {
        assert!(*bytes == other[path], "{} differs", path.display());
    }
}

/// The files of a summary alone.
fn summary_of(folder: &Path) -> BTreeMap<&'static str, Vec<u8>> {
    SUMMARY.into_iter().map(|name| (name, fs::read(folder.join(name)).unwrap())).collect()
}

#[test]
fn a_folder_of_plans_is_studied_and_summed_up() {
    let temp = county();
    let ran = study(temp.path(), &["plans"]);
    assert_eq!(ran.status, 2, "two plans are at fault: {}", ran.err);
    assert!(
        ran.err.contains("Sites: 7; 5 studied, 0 not studied again as nothing has changed, 2 at fault."),
        "{}",
        ran.err
    );
    assert!(ran.err.contains("Skipped, not plans: 1 *.json"), "{}", ran.err);
    let out = temp.path().join("out");
    assert_eq!(ran.out, fs::read_to_string(out.join("summary.txt")).unwrap());
    assert!(ran.out.starts_with("7 sites\n      4  comfortable: "), "{}", ran.out);
    assert!(ran.out.contains("\n      1  no: "), "{}", ran.out);
    assert!(ran.out.contains("\n      2  not studied: "), "{}", ran.out);
    assert!(ran.out.contains("1 of them is a sketch"), "{}", ran.out);

    // A row for each way in, with each opening as results.json has it, and a row for each plan at fault.
    let table = fs::read_to_string(out.join("summary.csv")).unwrap();
    let lines = fs::read_to_string(out.join("summary.jsonl")).unwrap();
    let rows: Vec<Value> = lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(table.lines().count(), rows.len() + 1);
    let mut order = Vec::new();
    for site in ["cut", "lot-1", "narrow", "no-gate", "north-lot-2", "north-lot-3", "sketch"] {
        let of_site: Vec<&Value> = rows.iter().filter(|row| row["site"] == site).collect();
        order.extend(of_site.iter().map(|row| row["site"].clone()));
        let folder = out.join(site);
        if ["cut", "no-gate"].contains(&site) {
            assert_eq!(of_site.len(), 1, "{site}");
            assert_eq!(of_site[0]["site_verdict"], "at-fault");
            let faults = of_site[0]["faults"].to_string();
            assert!(faults.contains(site), "{faults}");
            assert!(!folder.join("results.json").exists());
            continue;
        }
        let results: Value = serde_json::from_slice(&fs::read(folder.join("results.json")).unwrap()).unwrap();
        let cases = results["cases"].as_array().unwrap();
        assert_eq!((of_site.len(), cases.len()), (2, 2), "{site}");
        for (row, case) in of_site.iter().zip(cases) {
            assert_eq!(row["bare_opening_m"], case["bare"]["opening_m"]);
            assert_eq!(row["comfortable_opening_m"], case["comfortable"]["opening_m"]);
            assert_eq!(row["vehicle_verdict"], results["vehicles"][0]["drawn_gate"]);
        }
    }
    assert_eq!(
        rows.iter().map(|row| row["site"].clone()).collect::<Vec<Value>>(),
        order,
        "in the order of the names"
    );

    // The map: the four gates on Earth, each in its place.
    let map: geojson::FeatureCollection =
        fs::read_to_string(out.join("gates.geojson")).unwrap().parse().unwrap();
    let gate = |feature: &geojson::Feature| {
        let geojson::GeometryValue::Point { coordinates } = &feature.geometry.as_ref().unwrap().value else {
            panic!()
        };
        let about = |key: &str| feature.property(key).unwrap().as_str().unwrap().to_owned();
        (about("site"), about("verdict"), coordinates[0], coordinates[1])
    };
    let gates: Vec<(String, String, f64, f64)> = map.features.iter().map(gate).collect();
    let placed = [
        ("lot-1", "comfortable", -93.0),
        ("narrow", "no", -93.1),
        ("north-lot-2", "comfortable", -93.01),
        ("north-lot-3", "comfortable", -93.02),
    ];
    assert_eq!(gates.len(), placed.len());
    for ((site, verdict, lon, lat), (name, word, at)) in gates.iter().zip(placed) {
        assert_eq!((site.as_str(), verdict.as_str()), (name, word));
        assert!((lon - at).abs() < 2e-8 && (lat - 42.0001).abs() < 2e-8, "{site}: {lon} {lat}");
    }

    // Each site has just the files that a study of it alone writes, and the fingerprint of its inputs.
    let alone = study(temp.path(), &["plans/lot-1.geojson", "--out", "alone"]);
    assert_eq!(alone.status, 0);
    let (mut of_many, of_one) = (files(&out.join("lot-1")), files(&temp.path().join("alone/lot-1")));
    assert!(of_many.remove(Path::new("study.fingerprint")).is_some());
    assert!(of_many == of_one, "{:?} {:?}", of_many.keys(), of_one.keys());
}

#[test]
fn what_is_wrong_with_every_plan_is_said_before_any_is_studied() {
    let temp = county();
    for args in [
        &["plans", "--vehicle", "pickpu"][..],
        &["plans", "--roles", "none.json"],
        &["plans", "--rules", "nonsense"],
    ] {
        let ran = run(temp.path(), &[&["study"], args].concat());
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert_eq!(ran.err.lines().count(), 1, "{args:?}: {}", ran.err);
        assert!(!temp.path().join("out").exists(), "{args:?}");
    }
    fs::create_dir(temp.path().join("empty")).unwrap();
    let empty = study(temp.path(), &["empty"]);
    assert!(empty.status == 2 && empty.err.contains("empty: there is no plan in it"), "{}", empty.err);
}

#[test]
fn the_exit_status_is_that_of_the_worst_site() {
    let temp = county();
    let status = |plans: &[&str]| study(temp.path(), plans).status;
    assert_eq!(status(&["plans/lot-1.geojson", "plans/sketch.geojson"]), 0);
    assert_eq!(status(&["plans/lot-1.geojson", "plans/narrow.json"]), 1);
    assert_eq!(status(&["plans/narrow.json", "plans/none.geojson"]), 2);
    let faults = fs::read_to_string(temp.path().join("out/none/study-faults.json")).unwrap();
    assert!(faults.contains("there is no such file"), "{faults}");
}

/// Numbers of sites studied, unchanged, and at fault.
fn counts(ran: &Ran) -> (usize, usize, usize) {
    let line = ran
        .err
        .lines()
        .find(|line| line.contains(" not studied again"))
        .unwrap_or_else(|| panic!("{}", ran.err));
    let numbers: Vec<usize> =
        line.split(|c: char| !c.is_ascii_digit()).filter_map(|n| n.parse().ok()).collect();
    let [.., studied, unchanged, at_fault] = numbers.as_slice() else { panic!("{line}") };
    (*studied, *unchanged, *at_fault)
}

#[test]
fn a_plan_whose_inputs_have_not_changed_is_not_studied_again() {
    let temp = county();
    let plans = ["plans/lot-1.geojson", "plans/north/lot 2.geojson", "plans/cut.geojson"];
    let again = |more: &[&str]| counts(&run(temp.path(), &[&["study"], &plans[..], more].concat()));
    let quick = &QUICK[..];
    assert_eq!(again(quick), (2, 0, 1));
    let out = temp.path().join("out");
    let first = files(&out);
    assert_eq!(again(quick), (0, 2, 1));
    assert!(files(&out) == first, "the summary is written again, with the same bytes");
    assert_eq!(again(&[quick, &["--again"]].concat()), (2, 0, 1));
    assert!(files(&out) == first, "studied again, the same bytes");
    // Changed options make another study; with the earlier options, it changes once more.
    assert_eq!(again(&[quick, &["--clearance", "0.2 m"]].concat()), (2, 0, 1));
    assert_eq!(again(quick), (2, 0, 1));
    // Another plan, even with only its title changed, is another study, and only that one.
    let path = temp.path().join(plans[0]);
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replace("\"title\": \"lot-1\"", "\"title\": \"Lot 1\"")).unwrap();
    assert_eq!(again(quick), (1, 1, 1));
    assert!(fs::read_to_string(out.join("summary.csv")).unwrap().contains("Lot 1"));
    fs::write(&path, text).unwrap();
    // A drawing that is gone or results that are cut short are made again.
    fs::remove_file(out.join("lot-2/car-eastbound-drive-in.svg")).unwrap();
    assert_eq!(again(quick), (2, 0, 1));
    let results = out.join("lot-2/results.json");
    let whole = fs::read(&results).unwrap();
    fs::write(&results, &whole[..whole.len() - 10]).unwrap();
    assert_eq!(again(quick), (1, 1, 1));
    assert!(files(&out) == first);
    // A study of the one plan by itself, with other options, is not taken for the one of the run.
    run(temp.path(), &[&["study", plans[0]], quick, &["--units", "ft"]].concat());
    assert_eq!(again(quick), (1, 1, 1));
    // Mended plans are no longer at fault; broken ones are, though they were studied before.
    fs::copy(temp.path().join("plans/sketch.geojson"), temp.path().join(plans[2])).unwrap();
    let mended = run(temp.path(), &[&["study"], &plans[..], quick].concat());
    assert_eq!((counts(&mended), mended.status), ((1, 2, 0), 0), "{}", mended.out);
    fs::write(temp.path().join(plans[2]), "{").unwrap();
    let broken = run(temp.path(), &[&["study"], &plans[..], quick].concat());
    assert_eq!((counts(&broken), broken.status), ((0, 2, 1), 2));
    assert!(broken.out.contains("1  not studied"), "{}", broken.out);
}

/// Files a plan names count as well: its vehicles, and settings and allowances from the command line.
#[test]
fn a_changed_vehicle_file_is_a_changed_input() {
    let temp = tempfile::tempdir().unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let plans = temp.path().join("plans");
    fs::create_dir(&plans).unwrap();
    fs::write(
        plans.join("mine.geojson"),
        PLAN.replace("[\"car\"]", &FROM_ONE_SIDE.replace("\"car\"", "\"own.json\"")),
    )
    .unwrap();
    fs::write(plans.join("other.geojson"), PLAN.replace("[\"car\"]", FROM_ONE_SIDE)).unwrap();
    let vehicle = fs::read_to_string(root.join("vehicles/car.json")).unwrap();
    fs::write(plans.join("own.json"), &vehicle).unwrap();
    let allowances = fs::read_to_string(root.join("examples/gate-allowances.json")).unwrap();
    fs::write(temp.path().join("maker.json"), &allowances).unwrap();
    let args = ["study", "plans", "--no-changes", "--allowances", "maker.json"];
    assert_eq!(counts(&run(temp.path(), &args)), (2, 0, 0));
    assert_eq!(counts(&run(temp.path(), &args)), (0, 2, 0));
    let title = vehicle.lines().find(|line| line.contains("\"title\"")).unwrap();
    fs::write(plans.join("own.json"), vehicle.replace(title, "  \"title\": \"My own car\",")).unwrap();
    assert_eq!(counts(&run(temp.path(), &args)), (1, 1, 0), "only the plan that names it");
    fs::write(temp.path().join("maker.json"), allowances.replace("2 in", "2.5 in")).unwrap();
    assert_eq!(counts(&run(temp.path(), &args)), (2, 0, 0));
}

/// However a run was killed, the next one ends with the bytes of an uninterrupted run.
#[test]
fn a_killed_run_is_gone_on_with() {
    let temp = county();
    let many = temp.path().join("many");
    fs::create_dir(&many).unwrap();
    for i in 0..8 {
        let name = format!("site {i:02}");
        fs::write(
            many.join(format!("{name}.geojson")),
            on_earth(&name, -93.0, 40.0 + f64::from(i), 0.000_02),
        )
        .unwrap();
    }
    let whole = study(temp.path(), &["many", "--out", "whole"]);
    assert_eq!((counts(&whole), whole.status), ((8, 0, 0), 0), "{}", whole.err);
    let out = temp.path().join("killed");
    for at_least in [1, 5] {
        let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin("wideenough"))
            .current_dir(temp.path())
            .args(["study", "many", "--out", "killed"])
            .args(QUICK)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let finished =
            || (0..8).filter(|i| out.join(format!("site-{i:02}/study.fingerprint")).exists()).count();
        while finished() < at_least && child.try_wait().unwrap().is_none() {
            std::thread::sleep(Duration::from_millis(2));
        }
        // Killed the first time, so that nothing can be cleaned up, and asked to end the second time (Ctrl-C).
        if at_least == 1 || !cfg!(unix) {
            child.kill().unwrap();
            child.wait().unwrap();
        } else {
            let pid = child.id().to_string();
            assert!(std::process::Command::new("kill").args(["-INT", &pid]).status().unwrap().success());
            assert_eq!(child.wait().unwrap().code(), Some(130));
        }
        assert!(
            finished() >= at_least && !out.join("summary.csv").exists(),
            "{} done before it was killed",
            finished()
        );
    }
    let resumed = study(temp.path(), &["many", "--out", "killed"]);
    let (studied, unchanged, _) = counts(&resumed);
    assert!(unchanged >= 5 && studied + unchanged == 8, "{studied} studied, {unchanged} not");
    assert_eq!(resumed.out, whole.out);
    assert_same(&temp.path().join("whole"), &out);
}

#[test]
fn four_shares_joined_are_the_same_bytes_as_one_run() {
    let temp = county();
    let whole = study(temp.path(), &["plans", "--out", "whole"]);
    // Into one folder, as machines with a shared disk do.
    for i in ["1/4", "3/4", "2/4", "4/4"] {
        let share = study(temp.path(), &["plans", "--out", "shared", "--shard", i]);
        assert_eq!(share.out, "", "a share has no summary");
        assert!(share.err.contains("Sites in this share: "), "{}", share.err);
    }
    assert!(!temp.path().join("shared/summary.csv").exists());
    let joined = run(temp.path(), &["summary", "shared"]);
    assert_eq!((joined.status, &joined.out), (whole.status, &whole.out));
    assert_same(&temp.path().join("whole"), &temp.path().join("shared"));
    // Into four folders, as machines without a shared disk do.
    let mut studied = 0;
    for i in 1..=4 {
        let share =
            study(temp.path(), &["plans", "--out", &format!("out-{i}"), "--shard", &format!("{i}/4")]);
        studied += counts(&share).0;
    }
    assert_eq!(studied, 5);
    let folders = ["summary", "out-3", "out-1", "out-4", "out-2"];
    let nowhere = run(temp.path(), &folders);
    assert!(nowhere.status == 2 && nowhere.err.contains("--out"), "{}", nowhere.err);
    let joined = run(temp.path(), &[&folders[..], &["--out", "joined"]].concat());
    assert_eq!((joined.status, &joined.out), (whole.status, &whole.out));
    assert!(summary_of(&temp.path().join("joined")) == summary_of(&temp.path().join("whole")));
    // Two studies of one name do not pass for one.
    let twice = run(temp.path(), &["summary", "shared", "out-1", "--out", "twice"]);
    assert!(twice.status == 2 && twice.err.contains("two studies have the same name"), "{}", twice.err);
}

#[test]
fn the_number_of_threads_does_not_count() {
    let temp = county();
    for threads in ["1", "8"] {
        let plans = ["plans/north", "plans/narrow.json", "plans/cut.geojson"];
        let args = [&["study", "--out", threads], &plans[..], &QUICK[..]].concat();
        let mut command = Command::cargo_bin("wideenough").unwrap();
        command.current_dir(temp.path()).env("RAYON_NUM_THREADS", threads).args(args).assert().code(2);
    }
    assert_same(&temp.path().join("1"), &temp.path().join("8"));
}

#[test]
fn a_summary_says_what_is_there_and_what_cannot_be_read() {
    let temp = county();
    study(temp.path(), &["plans/lot-1.geojson", "plans/sketch.geojson"]);
    let out = temp.path().join("out");
    fs::write(out.join("sketch/results.json"), "{ \"format\": \"wideenough-res").unwrap();
    let ran = run(temp.path(), &["summary", "out"]);
    assert_eq!(ran.status, 2);
    assert!(ran.out.contains("results.json: cannot be read, study it again"), "{}", ran.out);
    // A study that an earlier run left: a run reports its own plans, and mentions that there are others.
    let one = study(temp.path(), &["plans/lot-1.geojson", "plans/north"]);
    assert!(
        one.out.starts_with("3 sites\n") && one.err.contains("other studies that are there, 1 in all"),
        "{}{}",
        one.out,
        one.err
    );
    fs::create_dir(temp.path().join("empty")).unwrap();
    let empty = run(temp.path(), &["summary", "empty"]);
    assert!(empty.status == 2 && empty.err.contains("there is no study in it"), "{}", empty.err);
}

/// The block of the page below a comment of this name.
fn block(name: &str) -> String {
    let page = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/many-sites.md")).unwrap();
    let (_, rest) = page.split_once(&format!("<!-- {name} -->\n```bash\n")).expect("the block");
    rest.split_once("```").expect("its end").0.to_owned()
}

/// The job of the page, run as Slurm runs an array of it: with a number in the environment.
#[cfg(unix)]
#[test]
fn the_job_array_of_the_documents_works() {
    let temp = county();
    fs::rename(temp.path().join("plans"), temp.path().join("county")).unwrap();
    let whole = study(temp.path(), &["county", "--out", "whole"]);
    // With the quick flags, as the page's job runs the usual study.
    let job = block("shares.sbatch").replace("--shard", "--no-changes --shard");
    fs::write(temp.path().join("shares.sbatch"), job).unwrap();
    let program = assert_cmd::cargo::cargo_bin("wideenough");
    let path = format!("{}:{}", program.parent().unwrap().display(), std::env::var("PATH").unwrap());
    let status = |share: &str| {
        let mut command = std::process::Command::new("bash");
        command.arg("shares.sbatch").current_dir(temp.path()).env("PATH", &path);
        command.envs([
            ("SLURM_ARRAY_TASK_ID", share),
            ("SLURM_ARRAY_TASK_COUNT", "4"),
            ("SLURM_CPUS_PER_TASK", "1"),
        ]);
        command.output().unwrap().status.code().unwrap()
    };
    // In the order of names: cut, lot-1, narrow, no-gate; north-lot-2, north-lot-3, sketch.
    assert_eq!(["1", "2", "3", "4"].map(status), [1, 0, 0, 1], "1 where a share has a plan at fault");
    let joined = run(temp.path(), &["summary", "out"]);
    assert_eq!(joined.out, whole.out);
    assert_same(&temp.path().join("whole"), &temp.path().join("out"));
}
