//! Who is answered, and how: the page and its headers, strangers, and bodies that are none.
use crate::board::{Board, example};
use serde_json::json;

/// The headers that keep the page to itself are on every answer, refusals too.
#[test]
fn the_page_comes_with_its_policy() {
    let board = Board::start();
    let page = board.get("");
    assert_eq!(page.status, 200);
    assert!(page.text().to_lowercase().starts_with("<!doctype html>"));
    for path in ["", "page/board.css", "start", "nothing", "page/nothing.js", "page/..%2fREADME.md"] {
        let answer = board.get(path);
        assert_eq!(
            answer.status,
            if path.contains("noth") || path.contains("..") { 404 } else { 200 },
            "{path}"
        );
        let policy = answer.header("content-security-policy").expect("a policy");
        assert!(policy.contains("default-src 'none'") && policy.contains("script-src 'self';"), "{policy}");
        assert!(!policy.contains("unsafe") && policy.contains("frame-ancestors 'none'"), "{policy}");
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"), "{path}");
        assert_eq!(answer.header("cache-control"), Some("no-store"), "{path}");
        assert_eq!(answer.header("referrer-policy"), Some("no-referrer"), "{path}");
    }
    assert_eq!(board.get("page/board.css").header("content-type"), Some("text/css; charset=utf-8"));
}

#[test]
fn a_stranger_is_refused() {
    let board = Board::start();
    let (port, token) = (board.port, board.token.clone());
    let ask = |host: &str, more: &str| {
        let head = format!("GET /{token}/start HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{more}\r\n");
        board.raw(head.as_bytes()).status
    };
    for host in [format!("127.0.0.1:{port}"), format!("localhost:{port}"), format!("[::1]:{port}")] {
        assert_eq!(ask(&host, ""), 200, "{host}");
        assert_eq!(ask(&host, &format!("Origin: http://{host}\r\n")), 200, "{host}");
    }
    let own = format!("127.0.0.1:{port}");
    for host in ["evil.example", "127.0.0.1", "127.0.0.1:1", "127.0.0.1.evil.example", ""] {
        assert_eq!(ask(host, ""), 403, "{host}");
    }
    assert_eq!(ask(&format!("evil.example:{port}"), ""), 403);
    assert_eq!(ask(&own, "Host: evil.example\r\n"), 403, "two hosts");
    let nameless = format!("GET /{token}/start HTTP/1.0\r\nConnection: close\r\n\r\n");
    assert_eq!(board.raw(nameless.as_bytes()).status, 403, "no host");
    for origin in
        ["http://evil.example", "null", "http://127.0.0.1", &format!("https://{own}"), "http://localhost:1"]
    {
        assert_eq!(ask(&own, &format!("Origin: {origin}\r\n")), 403, "{origin}");
    }
    assert_eq!(ask(&own, "Sec-Fetch-Site: cross-site\r\n"), 403);
    assert_eq!(ask(&own, "Sec-Fetch-Site: same-site\r\n"), 403);
    assert_eq!(ask(&own, "Sec-Fetch-Site: same-origin\r\n"), 200);
    // The token.
    let mut wrong = token.clone().into_bytes();
    wrong[31] = if wrong[31] == b'0' { b'1' } else { b'0' };
    let wrong = String::from_utf8(wrong).unwrap();
    for path in [
        format!("/{wrong}/start"),
        format!("/{}/start", &token[..31]),
        "/start".into(),
        "/".into(),
        "//start".into(),
    ] {
        let head = format!("GET {path} HTTP/1.1\r\nHost: {own}\r\nConnection: close\r\n\r\n");
        assert_eq!(board.raw(head.as_bytes()).status, 404, "{path}");
    }
    assert_eq!(token.len(), 32);
    assert_ne!(token, Board::start().token, "each run has its own");
}

/// The board listens on loopback addresses and no others.
#[cfg(target_os = "linux")]
#[test]
fn only_this_machine_is_listened_to() {
    let board = Board::start();
    let wanted = format!(":{:04X}", board.port);
    let mut found = 0;
    for table in ["/proc/net/tcp", "/proc/net/tcp6"] {
        let text = std::fs::read_to_string(table).unwrap_or_default();
        for line in text.lines().filter(|line| line.split_whitespace().nth(3) == Some("0A")) {
            let local = line.split_whitespace().nth(1).unwrap();
            if let Some(address) = local.strip_suffix(&wanted) {
                found += 1;
                let loopback = ["0100007F", "00000000000000000000000001000000"];
                assert!(loopback.contains(&address), "{address}");
            }
        }
    }
    assert!(found >= 1);
}

/// Paths that take a body.
const POSTS: [&str; 11] =
    ["open", "check", "local", "sketch", "live", "study", "fix", "save", "draft", "vehicle", "vehicle/save"];

#[test]
fn each_path_has_its_method() {
    let board = Board::start();
    for path in POSTS.iter().filter(|path| **path != "vehicle/save") {
        let answer = board.get(path);
        assert_eq!(answer.status, 405, "{path}");
        assert!(answer.header("allow").unwrap().contains("POST"), "{path}");
        assert_eq!(answer.json()["message"], "method not allowed");
    }
    for path in ["", "start", "page/board.css", "study/1/events", "study/1/file/results.json", "vehicle/car"]
    {
        assert_eq!(board.post(path, &json!({})).status, 405, "{path}");
    }
    assert_eq!(board.send("DELETE", "save", "application/json", b"{}").status, 405);
    assert_eq!(board.send("TRACE", "start", "application/json", b"").status, 405);
}

/// Whatever the body is, it is refused with the right word, and the next request is answered.
#[test]
fn broken_bodies_are_refused() {
    let board = Board::start();
    let kind = "application/json";
    for path in POSTS {
        let giant = format!("{{\"text\":\"{}\"}}", "x".repeat(2 << 20));
        assert_eq!(board.send("POST", path, kind, giant.as_bytes()).status, 413, "{path}");
        assert_eq!(board.send("POST", path, "text/plain", b"{}").status, 415, "{path}");
        assert_eq!(board.send("POST", path, kind, b"{\"text\":").status, 400, "{path}");
        assert_eq!(board.send("POST", path, kind, b"").status, 400, "{path}");
        assert_eq!(board.send("POST", path, kind, b"{}").status, 400, "{path}: nothing is said");
        assert_eq!(board.send("POST", path, kind, b"{\"text\":\"\xff\"}").status, 400, "{path}: not UTF-8");
        let deep = "[".repeat(200_000);
        assert_eq!(board.send("POST", path, kind, deep.as_bytes()).status, 400, "{path}: deep");
        let untyped = format!("{}Content-Length: 2\r\n\r\n{{}}", board.head("POST", path));
        assert_eq!(board.raw(untyped.as_bytes()).status, 415, "{path}");
    }
    // A length that is a lie, and a request that stops in the middle.
    let lie = format!(
        "{}Content-Type: {kind}\r\nContent-Length: 99999999999\r\n\r\n{{",
        board.head("POST", "check")
    );
    assert_eq!(board.raw(lie.as_bytes()).status, 413);
    drop(std::io::Write::write_all(&mut board.connect(), b"POST /"));
    assert_eq!(board.raw(b"\x16\x03\x01nonsense\r\n\r\n").status, 400);
    assert_eq!(board.get("start").status, 200);
}

/// Plans that are none, or odd, are answered as `check` answers them, and nothing falls over.
#[test]
fn hostile_plans_are_answered_as_by_check() {
    let board = Board::start();
    let good = example("field-sketch");
    let gate = |coordinates: &str| {
        format!(
            r#"{{"type":"FeatureCollection","plan":{{"coordinates":"local-m","vehicles":["car"]}},"features":[
            {{"type":"Feature","properties":{{"role":"road","width":6}},"geometry":{{"type":"LineString","coordinates":[[-60,0],[60,0]]}}}},
            {{"type":"Feature","properties":{{"role":"gate"}},"geometry":{{"type":"LineString","coordinates":{coordinates}}}}}]}}"#
        )
    };
    let plans = [
        String::new(),
        "null".to_owned(),
        "[[[[".repeat(1000),
        "{\"type\":\"FeatureCollection\",\"features\":[]}".to_owned(),
        good[..good.len() / 2].to_owned(),
        good.replace("\"gate\"", "\"gaet\""),
        gate("[[-1,9],[1e308,9]]"),
        gate("[[0,9],[0,9]]"),
        gate("[[-2,0],[2,0]]"),
        gate("[]"),
        gate("[[-2,9],[2,9]]").replace("\"car\"", "\"carr\""),
        gate("[[-2,9],[2,9]]").replace("\"car\"", "\"missing.json\""),
    ];
    for text in plans {
        let path = board.folder.path().join("hostile.geojson");
        std::fs::write(&path, &text).unwrap();
        let typed = crate::board::program()
            .current_dir(board.folder.path())
            .args(["check", "hostile.geojson"])
            .output();
        let said = String::from_utf8(typed.unwrap().stderr).unwrap();
        let answer = board.ask("check", &json!({ "text": text, "name": "hostile.geojson" }));
        let faults: Vec<&str> = answer["faults"]
            .as_array()
            .unwrap()
            .iter()
            .map(|fault| fault["message"].as_str().unwrap())
            .collect();
        let lines: Vec<&str> = said.lines().filter(|line| !line.starts_with("warning: ")).collect();
        assert_eq!(faults, lines, "{text}");
        let live = json!({ "session": "a", "sequence": 1, "text": text });
        let study = json!({ "session": "a", "text": text });
        for (path, body) in [("live", live), ("study", study)] {
            let answer = board.post(path, &body);
            assert_eq!(answer.status, if lines.is_empty() { 200 } else { 422 }, "{path}: {text}");
        }
    }
    let answer = board.ask("check", &json!({ "text": good.replace("\"gate\"", "\"gaet\"") }));
    assert_eq!(answer["faults"][0]["feature"], 1, "{answer}");
    assert!(answer["faults"][0]["short"].as_str().unwrap().contains("did you mean \"gate\"?"), "{answer}");
}
