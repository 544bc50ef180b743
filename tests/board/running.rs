//! Studies and moves: the same bytes as the command line's, stopped when nobody waits, and nothing left behind.
use crate::board::{Board, children_of, example, is_running, last_event, program, wait_for};
use serde_json::{Value, json};
use std::fs;
use std::io::BufRead;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};

/// A place with a car alone, and a gate of this opening.
fn place(board: &Board, opening: &str) -> Value {
    let tape = json!({ "road_width": "20 ft", "setback": "20 ft", "opening": opening, "vehicles": ["car"] });
    serde_json::from_str(board.ask("sketch", &tape)["text"].as_str().unwrap()).unwrap()
}

/// A plan whose study takes long.
fn long() -> String {
    example("rural-entrance")
}

#[test]
fn a_study_has_the_bytes_of_the_command_line_and_a_fix_is_made() {
    let board = Board::start();
    let folder = board.folder.path();
    let mut plan = place(&board, "7 ft 6 in");
    // A vehicle of one's own, in the folder.
    let car = board.get("vehicle/car").json();
    board.ask("vehicle/save", &json!({ "name": "own", "file": car }));
    plan["plan"]["vehicles"] = json!(["own.json"]);
    let text = plan.to_string();
    board.ask("save", &json!({ "name": "narrow.geojson", "text": text, "revision": null }));
    let body =
        json!({ "session": "a", "name": "narrow.geojson", "text": text, "fix": true, "how_to_drive": true });
    let (id, done, event) = board.studied(&body);
    assert_eq!(event, "done", "{done}");
    assert_eq!(done["status"], 1, "not in comfort");
    let typed = program()
        .current_dir(folder)
        .args(["study", "narrow.geojson", "--fix", "--how-to-drive"])
        .output()
        .unwrap();
    assert_eq!(typed.status.code(), Some(1));
    let written = folder.join("out/narrow");
    let mut files = 0;
    for entry in fs::read_dir(&written).unwrap() {
        let name = entry.unwrap().file_name().to_string_lossy().into_owned();
        let shown = board.get(&format!("study/{id}/file/{name}"));
        let mut own = fs::read(written.join(&name)).unwrap();
        let mut boards = shown.body.clone();
        if name.starts_with("fix-") {
            // Vehicle files are named from where the plan lies.
            let plain = |bytes: &[u8]| -> Value {
                let mut plan: Value = serde_json::from_slice(bytes).unwrap();
                plan["plan"]["vehicles"] = json!([]);
                plan
            };
            (own, boards) = (plain(&own).to_string().into(), plain(&boards).to_string().into());
        }
        assert!(own == boards, "{name} differs");
        files += 1;
    }
    assert!(files >= 6, "{files}");
    let results: Value = serde_json::from_slice(&fs::read(written.join("results.json")).unwrap()).unwrap();
    assert_eq!(done["results"], results);
    // The report is shown without power over the board.
    let report = board.get(&format!("study/{id}/file/report.html"));
    assert!(report.header("content-security-policy").unwrap().contains("sandbox allow-scripts"));
    assert!(!report.header("content-security-policy").unwrap().contains("allow-same-origin"));
    for name in ["..%2fplan.txt", "plan.txt", "nothing.svg", ".", "..%2f..%2f1%2fplan.txt"] {
        assert_eq!(board.get(&format!("study/{id}/file/{name}")).status, 404, "{name}");
    }
    // A fix on the drawing.
    let found = results["fixes"]["found"].as_array().unwrap();
    let wider = found.iter().position(|fix| fix["kind"] == "wider").expect("a wider gate");
    let fixed = board.ask("fix", &json!({ "text": text, "fix": wider, "study": id }));
    let fixed = fixed["text"].as_str().unwrap();
    let opening_m = |text: &str| wideenough::site::read(text, "x").unwrap().gate.opening_m();
    let by_m = found[wider]["amount_m"].as_f64().unwrap();
    assert!(by_m > 0.0 && (opening_m(fixed) - opening_m(&text) - by_m).abs() < 1e-5, "{by_m}");
    assert!(fixed.contains("\"own.json\""), "the vehicle is still found");
    assert_eq!(board.ask("fix", &json!({ "text": text, "fix": found[wider], "study": id }))["text"], fixed);
    let other = place(&board, "7 ft").to_string();
    assert_eq!(board.post("fix", &json!({ "text": other, "fix": 0, "study": id })).status, 409);
    assert_eq!(board.post("fix", &json!({ "text": text, "fix": 99, "study": id })).status, 404);
    assert_eq!(board.post("fix", &json!({ "text": text, "fix": 0, "study": "99" })).status, 404);
    assert_eq!(board.get("study/99/events").status, 404);
    // A second look takes no second study.
    assert_eq!(last_event(board.events(&id)).0, "done");
}

/// A study is stopped when its stream closes, and begun again when someone listens again.
#[cfg(target_os = "linux")]
#[test]
fn a_study_nobody_waits_for_is_stopped() {
    let board = Board::start();
    let ask = |session: &str| {
        board.ask("study", &json!({ "session": session, "text": long() }))["id"].as_str().unwrap().to_owned()
    };
    let id = ask("a");
    assert_eq!(board.children(), Vec::<u32>::new(), "nobody listens");
    for _ in 0..2 {
        let mut events = board.events(&id);
        wait_for("the study runs", || board.children().len() == 1);
        assert_eq!(board.get(&format!("study/{id}/events")).status, 409, "it is followed already");
        let mut line = String::new();
        while !line.contains("\"what\":\"ways in done\"") {
            line.clear();
            assert!(events.read_line(&mut line).unwrap() > 0, "the stream goes on");
        }
        drop(events);
        wait_for("the study is stopped", || board.children().is_empty());
    }
    // A newer one of the same page takes its place; one of another page does not.
    let (first, other) = (board.events(&id), ask("b"));
    let other = board.events(&other);
    wait_for("both run", || board.children().len() == 2);
    let newer = ask("a");
    let (event, data) = last_event(first);
    assert_eq!(event, "failed");
    assert!(data["message"].as_str().unwrap().contains("newer one"), "{data}");
    wait_for("one is left", || board.children().len() == 1);
    drop(other);
    wait_for("none is left", || board.children().is_empty());
    // Only so many are kept.
    for _ in 0..10 {
        ask("c");
    }
    assert_eq!(board.get(&format!("study/{newer}/events")).status, 404);
    let kept = fs::read_dir(board.temporary.path()).unwrap().next().unwrap().unwrap().path();
    let folders = fs::read_dir(kept).unwrap().filter(|entry| entry.as_ref().unwrap().path().is_dir());
    assert_eq!(folders.count(), 6);
}

/// Ctrl-C ends the board, its studies and its files; so does a request to end.
#[cfg(target_os = "linux")]
#[test]
fn it_ends_cleanly() {
    for signal in ["-INT", "-TERM", "-KILL"] {
        let mut board = Board::start();
        let id =
            board.ask("study", &json!({ "session": "a", "text": long() }))["id"].as_str().unwrap().to_owned();
        let _events = board.events(&id);
        wait_for("the study runs", || board.children().len() == 1);
        let study = board.children()[0];
        assert!(fs::read_dir(board.temporary.path()).unwrap().count() > 0);
        board.signal(signal);
        let status = board.process.wait().unwrap();
        wait_for("the study ends with it", || !is_running(study));
        if signal != "-KILL" {
            assert_eq!(status.code(), Some(0), "{signal}");
            assert_eq!(fs::read_dir(board.temporary.path()).unwrap().count(), 0, "{signal}: files are left");
        }
    }
}

/// The browser is opened at the address, unless it must not be; where there is none, that is no fault.
#[cfg(target_os = "linux")]
#[test]
fn the_browser_is_opened() {
    use std::os::unix::fs::PermissionsExt;
    let bin = tempfile::tempdir().unwrap();
    let (opener, opened) = (bin.path().join("xdg-open"), bin.path().join("opened"));
    fs::write(&opener, format!("#!/bin/sh\necho \"$1\" > {}.new\nmv {0}.new {0}\n", opened.display()))
        .unwrap();
    fs::set_permissions(&opener, fs::Permissions::from_mode(0o755)).unwrap();
    let path = format!("{}:/usr/bin:/bin", bin.path().display());
    let mut quiet = program();
    quiet.arg("--no-open").env("PATH", &path);
    let board = Board::start_with(tempfile::tempdir().unwrap(), quiet);
    assert_eq!(board.get("start").status, 200);
    assert!(!opened.exists());
    let mut opening = program();
    opening.env("PATH", &path);
    let board = Board::start_with(tempfile::tempdir().unwrap(), opening);
    wait_for("the browser is opened", || opened.exists());
    let address = format!("http://127.0.0.1:{}/{}/", board.port, board.token);
    assert_eq!(fs::read_to_string(&opened).unwrap().trim(), address);
    let mut without = program();
    without.env("PATH", bin.path().join("nothing"));
    let board = Board::start_with(tempfile::tempdir().unwrap(), without);
    assert_eq!(board.get("start").status, 200);
}

/// The place with its right post moved outward, and the fence with it.
fn moved(plan: &Value, by_ft: f64) -> Value {
    let mut plan = plan.clone();
    for feature in plan["features"].as_array_mut().unwrap() {
        let role = feature["properties"]["role"].as_str().unwrap().to_owned();
        let right = feature["properties"]["label"] == "fence on the right";
        let points = feature["geometry"]["coordinates"].as_array_mut().unwrap();
        if role == "gate" || right {
            let point = if role == "gate" { &mut points[1] } else { &mut points[0] };
            point[0] = json!(point[0].as_f64().unwrap() + by_ft);
        }
    }
    plan
}

/// The first answer is the study's; what a move is answered is what a study of it says, and never kinder.
#[test]
fn a_move_is_answered_as_a_study_would() {
    let board = Board::start();
    let plan = place(&board, "9 ft");
    let ask = |session: &str, sequence: u64, plan: &Value, all: bool| {
        let show = json!({ "vehicle": "car", "travel": "from-the-left", "maneuver": "drive-in" });
        board.ask("live", &json!({ "session": session, "sequence": sequence, "text": plan.to_string(), "show": show, "all": all }))
    };
    let (_, done, _) = board.studied(&json!({ "session": "z", "text": plan.to_string() }));
    let first = ask("a", 1, &plan, false);
    assert_eq!(first["base"], "none");
    let cases = done["results"]["cases"].as_array().unwrap();
    let rows = first["cases"].as_array().unwrap();
    assert_eq!(rows.len(), cases.len());
    for (row, case) in rows.iter().zip(cases) {
        assert_eq!((&row["travel"], &row["maneuver"]), (&case["travel"], &case["maneuver"]));
        assert_eq!(row["bare_m"], case["bare"]["opening_m"]);
        assert_eq!(row["comfortable_m"], case["comfortable"]["opening_m"]);
        assert_eq!(row["verdict"], case["drawn_gate"], "{row}");
    }
    let rank = |row: &Value| {
        ["no", "tight", "comfortable"].iter().position(|word| row["verdict"] == *word).expect("a verdict")
    };
    let mut verdicts = std::collections::BTreeSet::new();
    for (i, by_ft) in [-2.4, -1.9, -0.5, 0.5].into_iter().enumerate() {
        let plan = moved(&plan, by_ft);
        let live = ask("a", 2 + i as u64, &plan, true);
        assert_eq!(live["base"], "study", "{by_ft}");
        assert!(
            live["path"]["outlines"].as_array().is_some_and(|all| (2..=12).contains(&all.len())),
            "{by_ft}"
        );
        let fresh = ask(&format!("fresh {i}"), 1, &plan, true);
        for (live, study) in live["cases"].as_array().unwrap().iter().zip(fresh["cases"].as_array().unwrap())
        {
            for of in ["bare_m", "comfortable_m"] {
                let (live, study) = (live[of].as_f64().unwrap(), study[of].as_f64().unwrap());
                assert!((live / study - 1.0).abs() < 0.005, "{by_ft} ft: {of} {live} against {study}");
            }
            assert!(rank(live) <= rank(study), "{by_ft} ft: {live} against {study}");
            verdicts.insert(rank(live));
        }
    }
    assert_eq!(verdicts.len(), 3, "each verdict was met");
}

/// A thousand moves at once: the newest is answered, the others are given up, and memory is as it was.
#[cfg(target_os = "linux")]
#[test]
fn a_thousand_moves_leave_nothing_behind() {
    let board = Board::start();
    let plan = place(&board, "12 ft");
    let ask = |sequence: u64| {
        let text = moved(&plan, (sequence % 50) as f64 * 0.02).to_string();
        board.ask("live", &json!({ "session": "a", "sequence": sequence, "text": text }))
    };
    let resident_kb = || -> u64 {
        let status = fs::read_to_string(format!("/proc/{}/status", board.process.id())).unwrap();
        let line = status.lines().find(|line| line.starts_with("VmRSS:")).unwrap().to_owned();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    };
    for sequence in 1..=20 {
        ask(sequence);
    }
    let before_kb = resident_kb();
    let (next, answered, given_up) = (AtomicU64::new(21), AtomicUsize::new(0), AtomicUsize::new(0));
    std::thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| {
                loop {
                    let sequence = next.fetch_add(1, Ordering::Relaxed);
                    if sequence > 1020 {
                        break;
                    }
                    let superseded = ask(sequence)["superseded"] == true;
                    (if superseded { &given_up } else { &answered }).fetch_add(1, Ordering::Relaxed);
                }
            });
        }
    });
    let (answered, given_up) = (answered.into_inner(), given_up.into_inner());
    assert_eq!(answered + given_up, 1000);
    assert!(given_up > 500 && answered > 0, "{answered} answered");
    // Nothing waits before the next one, and an old one is not worked on.
    assert_eq!(ask(5)["superseded"], true);
    assert_eq!(ask(1021)["base"], "study");
    let after_kb = resident_kb();
    assert!(after_kb < before_kb + 60_000, "{before_kb} kB before, {after_kb} kB after");
    // Many pages, each with its own study, do not add up either: the oldest are forgotten.
    for i in 0..12 {
        let text = plan.to_string();
        board.ask("live", &json!({ "session": format!("page {i}"), "sequence": 1, "text": text }));
    }
    assert_eq!(ask(1022)["base"], "none", "the first page was silent longest");
    assert!(children_of(board.process.id()).is_empty());
}
