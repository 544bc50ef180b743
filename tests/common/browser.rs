//! A browser driven over the W3C WebDriver protocol, by plain HTTP; and what is looked for on any page.
#![allow(dead_code, reason = "each test program uses some of it")]
use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

/// A browser driven over the W3C WebDriver protocol.
pub struct Browser {
    driver: Child,
    address: String,
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = ureq::delete(&self.address).call();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

impl Browser {
    /// Starts the driver with a profile in this folder. Without one on this machine, says that this was not run; where every
    /// case has to be run, that is a failure.
    pub fn start(folder: &std::path::Path, not_run: &str) -> Option<Self> {
        let started = Self::driver(&folder.join("profile"));
        if started.is_none() {
            let told = format!("NOT RUN: chromedriver is not on this machine, so {not_run}");
            assert!(std::env::var_os("EVERY_CASE").is_none(), "{told}");
            eprintln!("{told}");
        }
        started
    }

    fn driver(profile: &std::path::Path) -> Option<Self> {
        let mut driver = Command::new("chromedriver")
            .args(["--port=0"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .ok()?;
        let lines = BufReader::new(driver.stdout.take()?).lines();
        let port = lines.map_while(Result::ok).find_map(|line| {
            let number = line.split("on port ").nth(1)?.trim_end_matches('.').parse::<u16>();
            number.ok().filter(|port| *port > 0)
        })?;
        let switches = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ];
        let mut switches: Vec<String> = switches.map(str::to_owned).to_vec();
        switches.push(format!("--user-data-dir={}", profile.display()));
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "goog:chromeOptions": { "args": switches }, "goog:loggingPrefs": { "browser": "ALL" } } } });
        let base = format!("http://127.0.0.1:{port}/session");
        let mut browser = Self { driver, address: base.clone() };
        let answer = browser.post("", &wanted);
        browser.address = format!("{base}/{}", answer["sessionId"].as_str()?);
        Some(browser)
    }

    pub fn post(&self, path: &str, body: &Value) -> Value {
        let mut value = self.answer(path, body);
        assert!(value.get("error").is_none(), "{path}: {value}");
        value.take()
    }

    /// Opens an address. On a busy machine the browser may take up a connection that was closed just then, and says so
    /// instead of trying again as it does elsewhere: that is tried again, three times in all.
    pub fn open(&self, address: &str) {
        let body = json!({ "url": address });
        let closed = |value: &Value| value.to_string().contains("ERR_SOCKET_NOT_CONNECTED");
        for _ in 0..2 {
            let value = self.answer("/url", &body);
            if !closed(&value) {
                assert!(value.get("error").is_none(), "{address}: {value}");
                return;
            }
        }
        self.post("/url", &body);
    }

    fn answer(&self, path: &str, body: &Value) -> Value {
        let mut answer = ureq::post(format!("{}{path}", self.address))
            .config()
            .http_status_as_error(false)
            .build()
            .send_json(body)
            .unwrap();
        let mut answer: Value = answer.body_mut().with_config().limit(100_000_000).read_json().unwrap();
        answer["value"].take()
    }

    /// Asks the driver for something that it knows.
    pub fn get(&self, path: &str) -> Value {
        let mut answer = ureq::get(format!("{}{path}", self.address)).call().unwrap();
        let mut answer: Value = answer.body_mut().read_json().unwrap();
        answer["value"].take()
    }

    /// Runs a piece of script and returns its value.
    pub fn ask(&self, script: &str) -> Value {
        self.post("/execute/sync", &json!({ "script": script, "args": [] }))
    }

    pub fn command(&self, name: &str, params: &Value) -> Value {
        self.post("/goog/cdp/execute", &json!({ "cmd": name, "params": params }))
    }

    /// Finds an element by its selector and returns its id in the protocol.
    pub fn element(&self, selector: &str) -> String {
        let found = self.post("/element", &json!({ "using": "css selector", "value": selector }));
        found.as_object().unwrap().values().next().unwrap().as_str().unwrap().to_owned()
    }

    pub fn click(&self, selector: &str) {
        self.post(&format!("/element/{}/click", self.element(selector)), &json!({}));
    }

    pub fn keys(&self, selector: &str, keys: &str) {
        self.post(&format!("/element/{}/value", self.element(selector)), &json!({ "text": keys }));
    }

    pub fn size(&self, width: u32, height: u32, mobile: bool) {
        let scale = if mobile { 2 } else { 1 };
        let metrics =
            json!({ "width": width, "height": height, "deviceScaleFactor": scale, "mobile": mobile });
        self.command("Emulation.setDeviceMetricsOverride", &metrics);
    }
}

/// Kind of pointer: a mouse, or a finger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// A mouse.
    Mouse,
    /// A finger on a screen.
    Touch,
}

impl Browser {
    /// Presses at the first point, goes through the others and lets go at the last: a tap if there is one only.
    pub fn stroke(&self, hand: Hand, points: &[[f64; 2]]) {
        let kind = if hand == Hand::Mouse { "mouse" } else { "touch" };
        let to = |p: &[f64; 2]| json!({ "type": "pointerMove", "duration": 0, "x": p[0].round(), "y": p[1].round() });
        let mut actions = vec![to(&points[0]), json!({ "type": "pointerDown", "button": 0 })];
        actions.extend(points[1..].iter().map(to));
        actions.push(json!({ "type": "pointerUp", "button": 0 }));
        let source = json!({ "type": "pointer", "id": kind, "parameters": { "pointerType": kind }, "actions": actions });
        self.post("/actions", &json!({ "actions": [source] }));
    }

    /// Presses with two fingers at once, moves both in ten steps, and lets go.
    pub fn pinch(&self, from: [[f64; 2]; 2], to: [[f64; 2]; 2]) {
        let finger = |id: usize| {
            let at = |t: f64| [0, 1].map(|i| (from[id][i] + (to[id][i] - from[id][i]) * t).round());
            let to = |t: f64| json!({ "type": "pointerMove", "duration": 0, "x": at(t)[0], "y": at(t)[1] });
            let mut actions = vec![to(0.0), json!({ "type": "pointerDown", "button": 0 })];
            actions.extend((1..=10).map(|step| to(f64::from(step) / 10.0)));
            actions.push(json!({ "type": "pointerUp", "button": 0 }));
            json!({ "type": "pointer", "id": format!("finger {id}"), "parameters": { "pointerType": "touch" }, "actions": actions })
        };
        self.post("/actions", &json!({ "actions": [finger(0), finger(1)] }));
    }

    /// Types keys where the focus is, with others held down meanwhile.
    pub fn type_keys(&self, held: &str, keys: &str) {
        let key = |kind: &str, key: char| json!({ "type": kind, "value": key.to_string() });
        let mut actions: Vec<Value> = held.chars().map(|k| key("keyDown", k)).collect();
        actions.extend(keys.chars().flat_map(|k| [key("keyDown", k), key("keyUp", k)]));
        actions.extend(held.chars().map(|k| key("keyUp", k)));
        self.post("/actions", &json!({ "actions": [{ "type": "key", "id": "keys", "actions": actions }] }));
    }

    /// Waits until a script is true; fails with what the page shows after four minutes: a study takes as long on a busy machine.
    pub fn wait(&self, what: &str, script: &str) {
        for _ in 0..4800 {
            if self.ask(&format!("return Boolean({script})")) == true {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
        panic!("waited for {what}: {}", self.ask("return document.body.innerText"));
    }

    /// The picture of the screen as PNG, in base64.
    pub fn screenshot(&self) -> String {
        self.command("Page.captureScreenshot", &json!({ "format": "png" }))["data"]
            .as_str()
            .unwrap()
            .to_owned()
    }

    /// Findings of axe-core on the page, if `AXE_CORE` names its script.
    pub fn axe(&self) -> Option<Value> {
        let axe = std::fs::read_to_string(std::env::var_os("AXE_CORE")?).unwrap();
        self.ask(&format!("if (!window.axe) {{ {axe} }}; return 1"));
        Some(self.ask(
            "return axe.run(document).then(function (r) { return r.violations.map(function (v) { return v.id + ': ' + v.nodes.map(function (n) { return n.html.slice(0, 160); }).join(' | '); }); })",
        ))
    }
}

/// Key codes of the protocol.
pub const HOME: &str = "\u{e011}";
pub const END: &str = "\u{e010}";
pub const RIGHT: &str = "\u{e014}";
pub const LEFT: &str = "\u{e012}";
pub const UP: &str = "\u{e013}";
pub const ENTER: &str = "\u{e007}";
pub const ESCAPE: &str = "\u{e00c}";
pub const DELETE: &str = "\u{e017}";
pub const DOWN: &str = "\u{e015}";
pub const INSERT: &str = "\u{e016}";
pub const TAB: &str = "\u{e004}";
pub const SHIFT: &str = "\u{e008}";
pub const CONTROL: &str = "\u{e009}";

/// Script that lists what would trip a person with a screen reader, a keyboard or weak eyes.
pub const CHECK: &str = r#"
  var faults = [], seen = {};
  document.querySelectorAll("[id]").forEach(function (n) { if (seen[n.id]) { faults.push("id twice: " + n.id); } seen[n.id] = 1; });
  document.querySelectorAll("[aria-labelledby]").forEach(function (n) {
    if (!document.getElementById(n.getAttribute("aria-labelledby"))) { faults.push("label missing: " + n.getAttribute("aria-labelledby")); } });
  document.querySelectorAll("a[href^='#']").forEach(function (n) {
    if (!document.getElementById(n.getAttribute("href").slice(1))) { faults.push("link to nowhere: " + n.href); } });
  document.querySelectorAll("button, input, summary").forEach(function (n) {
    if (n.getBoundingClientRect().height < 44) { faults.push("too small to touch: " + n.className); } });
  var level = 0;
  document.querySelectorAll("h1,h2,h3,h4").forEach(function (n) {
    var l = +n.tagName[1]; if (l > level + 1) { faults.push("heading skips a level: " + n.textContent); } level = l; });
  function light(c) { var p = c.match(/[\d.]+/g).slice(0, 3).map(function (v) { v /= 255; return v <= 0.03928 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); });
    return 0.2126 * p[0] + 0.7152 * p[1] + 0.0722 * p[2]; }
  document.querySelectorAll("h1,h2,h3,h4,p,li,td,th,a,button,label,dt,dd,figcaption,.sign").forEach(function (n) {
    if (!n.textContent.trim()) { return; }
    var behind = n, paper = "rgb(255,255,255)";
    while (behind) { var b = getComputedStyle(behind).backgroundColor; if (b !== "rgba(0, 0, 0, 0)") { paper = b; break; } behind = behind.parentElement; }
    var a = light(getComputedStyle(n).color), b2 = light(paper), ratio = (Math.max(a, b2) + 0.05) / (Math.min(a, b2) + 0.05);
    if (ratio < 4.5) { faults.push("contrast " + ratio.toFixed(1) + ": " + n.textContent.slice(0, 40)); } });
  document.querySelectorAll("svg text").forEach(function (n) {
    var picture = n.closest("svg"), box = n.getBoundingClientRect(), frame = picture.getBoundingClientRect();
    if (box.width && (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1 || box.bottom > frame.bottom + 1)) {
      faults.push("out of its picture: " + n.textContent); } });
  if (!document.documentElement.lang || !document.title) { faults.push("no language or title"); }
  if (document.querySelectorAll("h1").length !== 1 || document.querySelectorAll("main").length !== 1) { faults.push("one h1 and one main"); }
  return faults;
"#;
