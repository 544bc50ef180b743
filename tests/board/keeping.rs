//! Files that the board keeps: plans, drafts and vehicle files of its folder, and nothing outside of it.
use crate::board::{Answer, Board, example, program};
use serde_json::{Value, json};
use std::fs;

fn file(board: &Board, name: &str) -> String {
    fs::read_to_string(board.folder.path().join(name)).expect(name)
}

/// Everything in a folder.
fn names(board: &Board) -> Vec<String> {
    let entries = fs::read_dir(board.folder.path()).unwrap();
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn two_who_save_do_not_overwrite_each_other() {
    let board = Board::start();
    let save = |text: &str, revision: Option<&str>| -> Answer {
        board.post("save", &json!({ "name": "a place.geojson", "text": text, "revision": revision }))
    };
    let first = save("one", None).json()["revision"].as_str().unwrap().to_owned();
    assert_eq!(file(&board, "a place.geojson"), "one");
    let opened = board.ask("open", &json!({ "name": "a place.geojson" }));
    assert_eq!((opened["text"].as_str(), opened["revision"].as_str()), (Some("one"), Some(first.as_str())));
    // Both tabs have read it; the second to save is told.
    let second = save("two", Some(&first)).json()["revision"].as_str().unwrap().to_owned();
    let late = save("three", Some(&first));
    assert_eq!(late.status, 409);
    assert_eq!(late.json()["text"], "two");
    assert_eq!(late.json()["revision"], second.as_str());
    assert_eq!(save("three", None).status, 409, "a new plan by the same name");
    assert_eq!(file(&board, "a place.geojson"), "two");
    assert_eq!(save("two", Some(&first)).status, 200, "the very same text is no conflict");
    // An editor counts as another.
    fs::write(board.folder.path().join("a place.geojson"), "by hand").unwrap();
    assert_eq!(save("three", Some(&second)).status, 409);
    assert_eq!(
        save("three", Some(save("x", Some(&second)).json()["revision"].as_str().unwrap())).status,
        200
    );
    assert_eq!(names(&board), ["a place.geojson"], "nothing is left beside it");
    // A hundred at once from one revision: one of them wins.
    let from = save("three", None).json()["revision"].as_str().unwrap().to_owned();
    let won: usize = std::thread::scope(|scope| {
        let (save, from) = (&save, &from);
        let all: Vec<_> = (0..20)
            .map(|i| scope.spawn(move || usize::from(save(&format!("of {i}"), Some(from)).status == 200)))
            .collect();
        all.into_iter().map(|one| one.join().unwrap()).sum()
    });
    assert_eq!(won, 1);
}

#[test]
fn nothing_outside_the_folder_is_touched() {
    let board = Board::start();
    let outside = tempfile::tempdir().unwrap();
    let secret = outside.path().join("secret.geojson");
    fs::write(&secret, "kept").unwrap();
    fs::create_dir(board.folder.path().join("below")).unwrap();
    let up = format!("../{}/secret.geojson", outside.path().file_name().unwrap().to_string_lossy());
    assert!(board.folder.path().join(&up).exists(), "the way up leads there");
    let long = format!("{}.geojson", "x".repeat(200));
    let bad = [
        up.as_str(),
        secret.to_str().unwrap(),
        "below/x.geojson",
        "..\\x.geojson",
        ".geojson",
        ".x.geojson",
        "x.txt",
        "",
        "..",
        "x\u{0}.geojson",
        "x\n.geojson",
        "C:x.geojson",
        "x.geojson/",
        &long,
    ];
    for name in bad {
        assert_eq!(board.post("open", &json!({ "name": name })).status, 400, "{name:?}");
        let text = json!({ "name": name, "text": "changed", "revision": null });
        for path in ["save", "draft"] {
            assert_eq!(board.post(path, &text).status, 400, "{path} {name:?}");
        }
        assert_eq!(
            board.send("DELETE", "draft", "application/json", text.to_string().as_bytes()).status,
            400
        );
        let study = json!({ "session": "a", "text": example("field-sketch"), "name": name });
        assert_eq!(board.post("study", &study).status, 400, "{name:?}");
        let vehicle = json!({ "name": name.replace(".geojson", ".json"), "file": library("car") });
        if name.contains(['/', '\\', '\u{0}', '\n', ':']) || name.starts_with('.') || name.is_empty() {
            assert_eq!(board.post("vehicle/save", &vehicle).status, 400, "{name:?}");
        }
    }
    let encoded = ["..%2f..%2fetc%2fpasswd", "%2e%2e", "..%5cx.json", "%00.json", "my-place.geojson"];
    for name in encoded {
        let status = board.get(&format!("vehicle/{name}")).status;
        assert!([400, 404].contains(&status), "{name}: {status}");
        assert_eq!(board.get(&format!("page/{name}")).status, 404, "{name}");
    }
    assert_eq!(fs::read_to_string(&secret).unwrap(), "kept");
    assert_eq!(names(&board), ["below"]);
    // A plan that names a vehicle file elsewhere.
    fs::write(outside.path().join("truck.json"), library("car")).unwrap();
    let named = up.replace("secret.geojson", "truck.json");
    let text = example("field-sketch").replace("\"pickup\"", &format!("\"{named}\""));
    assert!(text.contains(&named));
    let faults = board.ask("check", &json!({ "text": text }))["faults"].clone();
    assert!(faults[0]["message"].as_str().unwrap().contains("is not in the board's folder"), "{faults}");
    assert_eq!(board.post("study", &json!({ "session": "a", "text": text })).status, 422);
    let chosen = json!({ "session": "a", "text": example("field-sketch"), "vehicles": [named] });
    assert_eq!(board.post("study", &chosen).status, 422);
}

/// A link in the folder is not a way out of it.
#[cfg(unix)]
#[test]
fn links_are_not_followed() {
    let board = Board::start();
    let outside = tempfile::tempdir().unwrap();
    let secret = outside.path().join("secret.geojson");
    fs::write(&secret, "kept").unwrap();
    for link in ["link.geojson", ".link.geojson.draft", "link.json", ".new.geojson.tmp"] {
        std::os::unix::fs::symlink(&secret, board.folder.path().join(link)).unwrap();
    }
    assert_eq!(board.post("open", &json!({ "name": "link.geojson" })).status, 400);
    assert_eq!(board.get("vehicle/link.json").status, 400);
    for path in ["save", "draft"] {
        let body = json!({ "name": "link.geojson", "text": "changed", "revision": null });
        assert_eq!(board.post(path, &body).status, 400, "{path}");
    }
    let body = json!({ "name": "new.geojson", "text": "new", "revision": null });
    assert_eq!(board.post("save", &body).status, 200);
    assert_eq!(file(&board, "new.geojson"), "new");
    assert_eq!(fs::read_to_string(&secret).unwrap(), "kept");
    assert_eq!(board.ask("open", &json!({ "name": "new.geojson" }))["draft"], Value::Null);
}

/// A draft outlives a board that is killed.
#[test]
fn a_draft_is_found_by_the_next_board() {
    let mut board = Board::start();
    board.ask("save", &json!({ "name": "yard.geojson", "text": "saved", "revision": null }));
    board.ask("draft", &json!({ "name": "yard.geojson", "text": "drawn on" }));
    board.ask("draft", &json!({ "name": "yard.geojson", "text": "drawn on and on" }));
    let folder = std::mem::replace(&mut board.folder, tempfile::tempdir().unwrap());
    drop(board);
    let board = Board::start_in(folder, &[]);
    let start = board.get("start").json();
    assert_eq!(start["plan"], Value::Null);
    assert_eq!(start["draft"]["name"], "yard.geojson");
    assert_eq!(start["draft"]["text"], "drawn on and on");
    assert!(start["draft"]["at"].as_u64().unwrap() > 1_600_000_000_000);
    assert_eq!(start["plans"], json!(["yard.geojson"]));
    let opened = board.ask("open", &json!({ "name": "yard.geojson" }));
    assert_eq!(
        (opened["text"].as_str(), opened["draft"]["text"].as_str()),
        (Some("saved"), Some("drawn on and on"))
    );
    for _ in 0..2 {
        let gone = board.send("DELETE", "draft", "application/json", br#"{ "name": "yard.geojson" }"#);
        assert_eq!(gone.status, 200);
    }
    assert_eq!(names(&board), ["yard.geojson"]);
}

/// The board opens the plan that it was started with.
#[test]
fn the_plan_named_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lane.geojson"), example("small-lane")).unwrap();
    let plan = folder.path().join("lane.geojson").to_string_lossy().into_owned();
    let board = Board::start_in(folder, &[&plan]);
    let start = board.get("start").json();
    assert_eq!(start["plan"]["name"], "lane.geojson");
    assert_eq!(start["plan"]["text"], example("small-lane"));
    assert_eq!(start["examples"].as_array().unwrap().len(), 7);
    let vehicles = start["vehicles"].as_array().unwrap();
    assert_eq!(vehicles.len(), wideenough::vehicle::library().len());
    assert!(vehicles.iter().all(|v| v["picture_svg"].as_str().unwrap().starts_with("<svg")), "pictures");
    // A plan in another folder than the one given.
    let other = program().args(["board", "--no-open", "--folder", "."]).arg(&plan).output().unwrap();
    assert_eq!(other.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&other.stderr).contains("is not in the folder"));
}

fn library(name: &str) -> &'static str {
    wideenough::vehicle::library().iter().find(|(known, _)| *known == name).unwrap().1
}

#[test]
fn a_vehicle_of_ones_own_is_read_as_the_command_line_reads_it() {
    let board = Board::start();
    let mut truck: Value = serde_json::from_str(library("pickup")).unwrap();
    truck["title"] = json!("Old truck");
    let answer = board.ask("vehicle", &json!({ "file": truck }));
    assert_eq!(answer["faults"], json!([]));
    let pickup = wideenough::vehicle::find("pickup").unwrap();
    assert_eq!(answer["length_m"], pickup.length_m());
    assert_eq!(answer["turning"]["rear_axle_radius_m"], 1.0 / pickup.steering.max_curvature);
    let wall_m = answer["turning"]["wall_radius_m"].as_f64().unwrap();
    assert!(wall_m > answer["turning"]["curb_radius_m"].as_f64().unwrap(), "{answer}");
    let mut wrong = truck.clone();
    wrong["units"] = json!([]);
    let answer = board.ask("vehicle", &json!({ "file": wrong, "name": "old.json" }));
    assert_eq!(answer["picture_svg"], Value::Null);
    assert!(answer["faults"][0].as_str().unwrap().starts_with("old.json:"), "{answer}");
    assert_eq!(board.post("vehicle/save", &json!({ "name": "old", "file": wrong })).status, 422);
    assert_eq!(board.ask("vehicle/save", &json!({ "name": "old", "file": truck }))["name"], "old.json");
    // Only a vehicle is replaced by a vehicle.
    fs::write(board.folder.path().join("settings.json"), "{ \"units\": \"m\" }").unwrap();
    assert_eq!(board.post("vehicle/save", &json!({ "name": "settings", "file": truck })).status, 409);
    assert_eq!(board.post("vehicle/save", &json!({ "name": "old", "file": truck })).status, 200);
    assert_eq!(board.get("vehicle/old.json").json(), truck);
    assert_eq!(board.get("vehicle/car").text(), library("car"));
    let vehicles = board.get("start").json()["vehicles"].clone();
    let own = vehicles.as_array().unwrap().iter().find(|v| v["own"] == true).expect("it is listed");
    assert_eq!((own["name"].as_str(), own["title"].as_str()), (Some("old.json"), Some("Old truck")));
    let text = example("field-sketch").replace("\"pickup\"", "\"old.json\"");
    assert_eq!(board.ask("check", &json!({ "text": text }))["faults"], json!([]));
    fs::write(board.folder.path().join("yard.geojson"), text).unwrap();
    let typed = program().current_dir(board.folder.path()).args(["check", "yard.geojson"]).output().unwrap();
    assert!(String::from_utf8_lossy(&typed.stdout).contains("vehicles: old"), "{typed:?}");
}

#[test]
fn four_measures_make_a_place() {
    let board = Board::start();
    let tape = json!({ "road_width": "20 ft", "setback": "25 ft", "opening": "14 ft", "vehicles": ["car"] });
    let text = board.ask("sketch", &tape)["text"].as_str().unwrap().to_owned();
    let typed = program()
        .args([
            "sketch",
            "--road-width",
            "20 ft",
            "--setback",
            "25 ft",
            "--opening",
            "14 ft",
            "--vehicle",
            "car",
        ])
        .output()
        .unwrap();
    assert_eq!(text, String::from_utf8(typed.stdout).unwrap());
    let mut single = tape.clone();
    (single["leaves"], single["opens"], single["hinge"]) = (json!("single"), json!("out"), json!("right"));
    let text = board.ask("sketch", &single)["text"].as_str().unwrap().to_owned();
    let leaves = wideenough::site::read(&text, "x").unwrap().gate.leaves;
    assert_eq!(leaves.arrangement, wideenough::site::Arrangement::Single(wideenough::site::Side::Right));
    assert_eq!(leaves.opens, wideenough::site::Swing::Out);
    for word in ["slide", "none", "double"] {
        single["leaves"] = json!(word);
        let text = board.ask("sketch", &single)["text"].as_str().unwrap().to_owned();
        let site = wideenough::site::read(&text, "x").unwrap();
        assert!(site.warnings.is_empty(), "{word}: {:?}", site.warnings);
    }
    let wrong = json!({ "road_width": "20 feets", "setback": "", "opening": "14 ft", "leaves": "three" });
    let answer = board.post("sketch", &wrong);
    assert_eq!(answer.status, 422);
    assert_eq!(answer.json()["faults"].as_array().unwrap().len(), 3, "{}", answer.text());
    let inside_out = json!({ "road_width": "20 ft", "setback": "-25 ft", "opening": "14 ft" });
    assert_eq!(board.post("sketch", &inside_out).status, 422);
}

/// A plan in longitude and latitude becomes one in feet about its gate, and is the same place.
#[test]
fn a_plan_on_the_globe_is_brought_to_the_ground() {
    let board = Board::start();
    let text = example("rural-entrance");
    let local = board.ask("local", &json!({ "text": text }))["text"].as_str().unwrap().to_owned();
    let (on_globe, on_ground) =
        (wideenough::site::read(&text, "globe").unwrap(), wideenough::site::read(&local, "ground").unwrap());
    assert!(matches!(on_ground.frame, wideenough::site::Frame::Local { .. }));
    assert_eq!(on_ground.north_known, on_globe.north_known);
    let (a, b) = (&on_globe.gate, &on_ground.gate);
    for (a, b) in [(a.left, b.left), (a.right, b.right)] {
        assert!(a.distance(b) < 1e-5, "{a:?} {b:?}");
    }
    assert!((a.setback_m - b.setback_m).abs() < 1e-5 && a.post == b.post);
    let corners = |site: &wideenough::site::Site| -> Vec<wideenough::geometry::Point> {
        site.obstacles.iter().flat_map(|o| &o.shapes).flat_map(|shape| shape.outer.0.clone()).collect()
    };
    let (a, b) = (corners(&on_globe), corners(&on_ground));
    assert!(!a.is_empty() && a.len() == b.len());
    assert!(a.iter().zip(&b).all(|(a, b)| a.distance(*b) < 1e-4));
    // One that is there already stays as it is written.
    let there = example("field-sketch");
    assert_eq!(board.ask("local", &json!({ "text": there }))["text"], there);
    assert_eq!(board.post("local", &json!({ "text": "nothing" })).status, 422);
}
