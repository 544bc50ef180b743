//! The planning board in Chromium: from a pointer's move to new numbers on the screen, over 100 moves of a post; the first page;
//! what 1,000 moves leave behind.
//!
//! `cargo bench --bench board_page`. Needs chromedriver.
#[path = "../board/program.rs"]
mod program;
#[path = "../common/browser.rs"]
mod webdriver;

use program::Server;
use serde_json::{Value, json};
use std::time::Duration;
use webdriver::Browser;

/// Keeps the time of each move of the pointer and of the frame after the numbers that answer it.
const WATCH: &str = "
  window.moves = []; let moved = 0;
  document.getElementById('board').addEventListener('pointermove', (e) => { moved = e.timeStamp; }, true);
  board.live.addEventListener('numbers', () => { const from = moved, current = board.live.numbers?.current;
    if (from && current) { moved = 0; requestAnimationFrame(() => setTimeout(() => window.moves.push(performance.now() - from), 0)); } });
  return 1";

fn main() {
    let home = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(home.path(), "nothing was timed") else { return };
    browser.size(1280, 860, false);
    let plan = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/field-sketch.geojson");
    std::fs::copy(plan, home.path().join("field-sketch.geojson")).unwrap();
    let server = Server::start(home.path(), &["field-sketch.geojson"], 0);
    let mut first: Vec<f64> = Vec::new();
    for _ in 0..5 {
        browser.open(&server.address);
        browser.wait("the page", "performance.getEntriesByName('board shown').length");
        first.push(
            browser.ask("return performance.getEntriesByName('board shown')[0].startTime").as_f64().unwrap(),
        );
    }
    println!(
        "first page, ms: {:.0} cold, then {:?}",
        first[0],
        first[1..].iter().map(|ms| ms.round()).collect::<Vec<_>>()
    );
    browser.wait("the study", "board.live.current && !board.live.running");
    browser.ask(WATCH);
    for vehicle in ["pickup", "pickup-bumper-pull-20"] {
        browser.ask(&format!(
            "const b = document.querySelector('[data-way^=\"{vehicle}|\"]'); b.click(); return 1"
        ));
        std::thread::sleep(Duration::from_secs(2));
        browser.ask("window.moves = []; return 1");
        drag(&browser, 100, 200);
        let mut times: Vec<f64> =
            browser.ask("return window.moves").as_array().unwrap().iter().filter_map(Value::as_f64).collect();
        times.sort_by(f64::total_cmp);
        if times.is_empty() {
            println!("{vehicle}: no answer while dragging");
            continue;
        }
        let at = |tenths: usize| times[(times.len() - 1) * tenths / 10];
        println!(
            "{vehicle}: {} answers to 100 moves, ms: median {:.0}, 9 of 10 within {:.0}, slowest {:.0}",
            times.len(),
            at(5),
            at(9),
            at(10)
        );
    }
    let heap = || {
        browser.command("HeapProfiler.collectGarbage", &json!({}));
        browser.ask("return performance.memory.usedJSHeapSize").as_f64().unwrap() / 1e6
    };
    browser.ask("board.model.undo(); board.model.undo(); return 1");
    browser.wait("rest", "board.live.current && !board.live.running && !board.live.flying");
    let before = (heap(), server.memory_mb().unwrap_or(f64::NAN));
    drag(&browser, 1000, 8);
    browser.ask("board.model.undo(); return 1");
    browser.wait("rest", "board.live.current && !board.live.running && !board.live.flying");
    println!(
        "1,000 moves: page {:.1} MB before, {:.1} MB after; program {:.0} MB before, {:.0} MB after; nothing in flight",
        before.0,
        heap(),
        before.1,
        server.memory_mb().unwrap_or(f64::NAN)
    );
}

/// Drags the right post to and fro in `count` moves, `pause_ms` apart.
fn drag(browser: &Browser, count: u32, pause_ms: u64) {
    let at = browser.ask("const b = document.getElementById('board').getBoundingClientRect(), i = board.model.features.findIndex((f) => f.properties.role === 'gate'), g = board.model.features[i].geometry.coordinates, p = board.view.screen(g[1].map((v) => v * board.model.unit_m)); return [p[0] + b.left, p[1] + b.top]");
    let (x, y) = (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
    let mouse = |kind: &str, x: f64| {
        let buttons = u8::from(kind != "mouseReleased");
        browser.command(
            "Input.dispatchMouseEvent",
            &json!({ "type": kind, "x": x, "y": y, "button": "left", "buttons": buttons, "clickCount": 1 }),
        );
    };
    mouse("mousePressed", x);
    for i in 0..count {
        mouse("mouseMoved", x + 8.0 + f64::from(i * 7 % 25));
        std::thread::sleep(Duration::from_millis(pause_ms));
    }
    mouse("mouseReleased", x + 8.0);
}
