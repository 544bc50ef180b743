//! Limits of the board's server: connections, folders of boards that were killed, drafts of several tabs.
use crate::board::Board;
use serde_json::{Value, json};
use std::fs;
use std::io::{Read, Write};
use std::path::Path;
use std::time::Duration;

/// Of many connections at once so many are served; the next waits, and is answered when one closes.
#[test]
fn connections_are_limited() {
    let board = Board::start();
    let mut open: Vec<_> = (0..64).map(|_| board.connect()).collect();
    // Each of them is served: it answers, and stays.
    let alive = board.head("GET", "page/board.css").replace("Connection: close\r\n", "");
    let mut answer = [0; 9];
    for stream in &mut open {
        stream.write_all(format!("{alive}\r\n").as_bytes()).unwrap();
        stream.read_exact(&mut answer).unwrap();
        assert_eq!(&answer, b"HTTP/1.1 ");
    }
    let mut next = board.connect();
    next.write_all(format!("{}\r\n", board.head("GET", "page/board.css")).as_bytes()).unwrap();
    next.set_read_timeout(Some(Duration::from_millis(500))).unwrap();
    let waits = next.read(&mut answer);
    assert!(waits.is_err(), "one more is answered: {waits:?}");
    next.set_read_timeout(Some(Duration::from_secs(120))).unwrap();
    open.pop();
    next.read_exact(&mut answer).unwrap();
    assert_eq!(&answer, b"HTTP/1.1 ");
    drop((open, next));
    assert_eq!(board.get("start").status, 200);
}

pub fn names_in(within: &Path) -> Vec<String> {
    let entries = fs::read_dir(within).unwrap();
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// The folder of a board that was killed is removed by the next one; that of one that runs is not, and nothing else is.
#[cfg(unix)]
#[test]
fn the_folder_of_a_killed_board_is_removed() {
    let within = tempfile::tempdir().unwrap();
    let place = tempfile::tempdir().unwrap();
    let start = || {
        let mut command = crate::board::program();
        let words = ["board", "--no-open", "--port", "0", "--folder"];
        command.args(words).arg(place.path()).env("TMPDIR", within.path());
        let mut child = command.spawn().unwrap();
        let mut line = String::new();
        let out = child.stdout.take().unwrap();
        std::io::BufRead::read_line(&mut std::io::BufReader::new(out), &mut line).unwrap();
        assert!(line.contains("http://"), "{line}");
        child
    };
    let mut killed = start();
    let of_killed = names_in(within.path());
    assert_eq!(of_killed.len(), 1, "{of_killed:?}");
    fs::write(within.path().join(&of_killed[0]).join("plan.txt"), "left").unwrap();
    let mut alive = start();
    let both = names_in(within.path());
    assert_eq!(both.len(), 2, "a running one is left alone: {both:?}");
    killed.kill().unwrap();
    killed.wait().unwrap();
    assert_eq!(names_in(within.path()), both, "nothing removes it by itself");
    // Other names, a folder without a lock, a link.
    let elsewhere = tempfile::tempdir().unwrap();
    fs::write(elsewhere.path().join("running"), "").unwrap();
    for other in ["wideenough-board-", "wideenough-board-abcdefg", "other-abcdef"] {
        fs::create_dir(within.path().join(other)).unwrap();
        fs::write(within.path().join(other).join("running"), "").unwrap();
    }
    fs::create_dir(within.path().join("wideenough-board-nolock")).unwrap();
    std::os::unix::fs::symlink(elsewhere.path(), within.path().join("wideenough-board-linked")).unwrap();
    let before = names_in(within.path());
    let mut next = start();
    let after = names_in(within.path());
    assert!(!after.contains(&of_killed[0]), "the folder of the killed board is left: {after:?}");
    let gone: Vec<&String> = before.iter().filter(|name| !after.contains(name)).collect();
    assert_eq!(gone, [&of_killed[0]], "and no other is gone");
    assert_eq!(after.len(), before.len(), "the new board has one");
    assert!(elsewhere.path().join("running").exists());
    for child in [&mut alive, &mut next] {
        child.kill().unwrap();
        child.wait().unwrap();
    }
}

/// Each tab has a draft of its own, and a board that starts finds them all, the newest first.
#[test]
fn each_tab_has_a_draft_of_its_own() {
    let board = Board::start();
    board.ask("save", &json!({ "name": "yard.geojson", "text": "saved", "revision": null }));
    let draft = |tab: Value, text: &str| {
        board.ask("draft", &json!({ "name": "yard.geojson", "tab": tab, "text": text }));
        // So that their times differ.
        std::thread::sleep(Duration::from_millis(20));
    };
    draft(json!("a1"), "of a");
    draft(json!(null), "of none");
    draft(json!("b2"), "of b");
    let opened = board.ask("open", &json!({ "name": "yard.geojson" }));
    let texts: Vec<&str> =
        opened["drafts"].as_array().unwrap().iter().map(|d| d["text"].as_str().unwrap()).collect();
    assert_eq!(texts, ["of b", "of none", "of a"]);
    assert_eq!((&opened["drafts"][0]["tab"], &opened["draft"]), (&json!("b2"), &opened["drafts"][0]));
    assert!(opened["at"].as_u64().unwrap() <= opened["drafts"][2]["at"].as_u64().unwrap());
    let start = board.get("start").json();
    assert_eq!(start["drafts"], opened["drafts"], "with no plan all drafts");
    for tab in ["", "A/b", "..", "a.b", &"x".repeat(33)] {
        let body = json!({ "name": "yard.geojson", "tab": tab, "text": "x" });
        assert_eq!(board.post("draft", &body).status, 400, "{tab:?}");
    }
    let gone =
        board.send("DELETE", "draft", "application/json", br#"{ "name": "yard.geojson", "tab": "b2" }"#);
    assert_eq!(gone.status, 200);
    let left = board.ask("open", &json!({ "name": "yard.geojson" }))["drafts"].clone();
    assert_eq!(left.as_array().unwrap().len(), 2);
    // A plan of another name is no draft of this one.
    board.ask("draft", &json!({ "name": "yard.geojson.a1.geojson", "text": "another" }));
    let left = board.ask("open", &json!({ "name": "yard.geojson" }))["drafts"].clone();
    assert_eq!(left.as_array().unwrap().len(), 2);
}
