//! Browser tests of the page beyond drawing: a plan in longitude and latitude drawn on, downloads, the picture turned, two fingers, copies, and
//! every step of undo.
use super::browser::by_command;
use super::page::{FOOT_M, Page};
use super::program::Server;
use super::webdriver::{Browser, CONTROL, DELETE, ENTER, ESCAPE, Hand, INSERT, RIGHT, SHIFT, UP};
use crate::board::example;
use serde_json::{Value, json};
use std::path::Path;
use std::time::{Duration, Instant};
use tempfile::TempDir;
use wideenough::geometry::trig::{hypot, sin_cos};

/// A board in an empty folder, in a browser of its own.
struct Desk {
    browser: Browser,
    server: Server,
    home: TempDir,
}

impl Desk {
    fn start(plan: Option<(&str, &str)>) -> Option<Self> {
        let home = tempfile::tempdir().unwrap();
        let browser = Browser::start(home.path(), "the board was not opened in a browser")?;
        browser.size(1280, 860, false);
        let folder = home.path().join("places");
        std::fs::create_dir(&folder).unwrap();
        if let Some((name, text)) = plan {
            std::fs::write(folder.join(name), text).unwrap();
        }
        let names: Vec<&str> = plan.iter().map(|(name, _)| *name).collect();
        let server = Server::start(&folder, &names, 0);
        let desk = Self { browser, server, home };
        desk.page().open(&desk.server.address);
        Some(desk)
    }

    fn page(&self) -> Page<'_> {
        Page { browser: &self.browser }
    }

    fn folder(&self) -> std::path::PathBuf {
        self.home.path().join("places")
    }

    /// A road, a gate and two fences, on a sheet seen at 12 pixels for a meter.
    fn gate(&self) {
        let (page, m) = (self.page(), Hand::Mouse);
        page.empty();
        page.draw(m, "road", &[[-90.0, -25.0], [90.0, -25.0]]);
        page.draw(m, "gate", &[[-6.0, 0.0], [6.0, 0.0]]);
        page.draw(m, "fence", &[[-6.5, 0.0], [-40.5, 0.0]]);
        page.draw(m, "fence", &[[6.5, 0.0], [40.5, 0.0]]);
    }
}

/// Features of a plan by their labels.
fn features(plan: &Value) -> Vec<(String, Value)> {
    let list = plan["features"].as_array().unwrap().iter();
    list.map(|f| (f["properties"]["label"].as_str().unwrap_or_default().to_owned(), f.clone())).collect()
}

/// A plan in longitude and latitude is drawn on in feet: all that is not touched lies where it lay, the file that was opened
/// stays as it is, and the answer is the command line's on the file that is saved.
#[test]
fn a_plan_on_the_globe_is_drawn_on() {
    let text = example("small-lane");
    let Some(desk) = Desk::start(Some(("lane.geojson", &text))) else { return };
    let page = desk.page();
    page.browser.wait("the name", "board.keep.name === 'lane-drawn.geojson'");
    assert_eq!(page.browser.ask("return board.keep.dirty"), false, "nothing is drawn yet");
    let opened = page.plan();
    assert_eq!(opened["plan"]["coordinates"], "local-ft");
    let index = opened["features"].as_array().unwrap().iter().position(|f| f["properties"]["role"] == "gate");
    let gate = opened["features"][index.unwrap()].clone();
    let (name, end) = (gate["properties"]["label"].as_str().unwrap(), &gate["geometry"]["coordinates"][1]);
    let end = [end[0].as_f64().unwrap(), end[1].as_f64().unwrap()];
    // The right post is dragged two feet outward, along the gate.
    let begin = &gate["geometry"]["coordinates"][0];
    let along = [end[0] - begin[0].as_f64().unwrap(), end[1] - begin[1].as_f64().unwrap()];
    let to = [0, 1].map(|i| end[i] + 2.0 * along[i] / hypot(along[0], along[1]));
    let [from, to] = [page.at(end), page.at(to)];
    page.browser.stroke(Hand::Mouse, &[from, [from[0] + 9.0, from[1]], to]);
    let drawn = page.plan();
    let mut moved = Vec::new();
    for ((label, before), (_, after)) in features(&opened).into_iter().zip(features(&drawn)) {
        if before != after {
            assert_eq!(before["properties"], after["properties"], "{label}");
            moved.push(label);
        }
    }
    assert!(moved.contains(&name.to_owned()), "{moved:?}");
    assert!(moved.len() <= 2, "only the gate, and the fence at its post: {moved:?}");
    page.press("#save");
    page.browser.wait("saved", "!board.keep.dirty");
    let folder = desk.folder();
    assert_eq!(
        std::fs::read_to_string(folder.join("lane.geojson")).unwrap(),
        text,
        "the file that was opened"
    );
    let saved = std::fs::read_to_string(folder.join("lane-drawn.geojson")).unwrap();
    assert_eq!(saved, page.text());
    // On the ground: each thing that was not touched is where the library reads it in the file that was opened.
    let (globe, ground) =
        (wideenough::site::read(&text, "globe").unwrap(), wideenough::site::read(&saved, "ground").unwrap());
    assert!(globe.gate.left.distance(ground.gate.left) < 1e-5, "the post that stays");
    assert!(globe.gate.right.distance(ground.gate.right) > 1.5 * FOOT_M, "the post that was dragged");
    let mut same = 0;
    for obstacle in &globe.obstacles {
        if moved.contains(&obstacle.label) {
            continue;
        }
        let other = ground.obstacles.iter().find(|o| o.label == obstacle.label).expect("it is there");
        let corners = |o: &wideenough::site::Obstacle| -> Vec<wideenough::geometry::Point> {
            o.shapes.iter().flat_map(|shape| shape.outer.0.clone()).collect()
        };
        let (a, b) = (corners(obstacle), corners(other));
        assert!(
            a.len() == b.len() && a.iter().zip(&b).all(|(a, b)| a.distance(*b) < 1e-4),
            "{}",
            obstacle.label
        );
        same += 1;
    }
    assert!(same >= 2, "{same} things");
    page.studied();
    let board = page
        .browser
        .ask("return fetch(`study/${board.live.study.id}/file/results.json`).then((r) => r.text())");
    let typed = by_command(&folder, "lane-drawn.geojson");
    assert!(board.as_str().unwrap() == typed, "results.json of the board and of the command differ");
    // Opened again it is the plan as it was saved, with nothing left to save.
    page.open(&desk.server.address);
    page.press("#new");
    page.browser.wait("the list", "document.querySelector('#first[open] #first-plans button')");
    page.browser.ask(
        "[...document.querySelectorAll('#first-plans button')].find((b) => b.textContent === 'lane-drawn.geojson').click(); return 1",
    );
    page.browser.wait("the plan", "board.keep.name === 'lane-drawn.geojson' && board.keep.revision");
    assert_eq!(page.text(), saved);
    assert_eq!(page.browser.ask("return board.keep.dirty"), false);
}

/// A file that the browser has downloaded.
fn downloaded(folder: &Path, name: &str) -> Vec<u8> {
    let (file, begin) = (folder.join(name), Instant::now());
    while !file.exists() {
        assert!(begin.elapsed() < Duration::from_secs(120), "{name} was not downloaded");
        std::thread::sleep(Duration::from_millis(50));
    }
    std::fs::read(file).unwrap()
}

/// The report, the sheets and the GeoJSON of a study are downloaded as the command line writes them; a copy of the plan too.
#[test]
fn what_is_downloaded_is_what_the_command_writes() {
    let Some(desk) = Desk::start(None) else { return };
    desk.gate();
    let page = desk.page();
    page.choose("car");
    page.save("yard.geojson");
    page.studied();
    let saved = desk.home.path().join("saved");
    page.browser
        .command("Browser.setDownloadBehavior", &json!({ "behavior": "allow", "downloadPath": saved }));
    page.browser
        .ask("document.querySelectorAll('#study details').forEach((d) => { d.open = true; }); return 1");
    page.press("#sheets");
    page.browser.wait(
        "the sheets",
        "!board.live.running && document.querySelector('#files a[download=\"sheets.pdf\"]')",
    );
    let out = desk.home.path().join("typed");
    let typed = crate::board::program()
        .current_dir(desk.folder())
        .args(["study", "yard.geojson", "--fix", "--how-to-drive", "--paper=letter", "--out"])
        .arg(&out)
        .output()
        .unwrap();
    assert!(typed.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&typed.stderr));
    let names = page
        .browser
        .ask("return [...document.querySelectorAll('#files a[download]')].map((a) => a.download)");
    let names: Vec<&str> = names.as_array().unwrap().iter().map(|n| n.as_str().unwrap()).collect();
    for wanted in ["report.html", "results.json", "sheets.pdf", "study.geojson"] {
        assert!(names.contains(&wanted), "{wanted} is not offered: {names:?}");
    }
    for name in names {
        page.browser.click(&format!("#files a[download=\"{name}\"]"));
        let own = std::fs::read(out.join("yard").join(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(downloaded(&saved, name) == own, "{name} differs from the command line's");
    }
    page.press("#download");
    assert_eq!(String::from_utf8(downloaded(&saved, "yard.geojson")).unwrap(), page.text());
    // The report also opens by itself, and shows its words.
    let first = page.browser.get("/window");
    page.browser.click("#files a[target=_blank]");
    let tabs = page.browser.get("/window/handles");
    let report = tabs.as_array().unwrap().iter().find(|tab| **tab != first).expect("a tab with the report");
    page.browser.post("/window", &json!({ "handle": report }));
    page.browser.wait("the report", "document.querySelector('h1') && document.body.innerText.length > 500");
}

/// A picture underneath is turned by the degrees that are typed, to the left, about its middle.
#[test]
fn the_picture_is_turned() {
    let Some(desk) = Desk::start(None) else { return };
    let page = desk.page();
    page.empty();
    let file = desk.home.path().join("plat.svg");
    // A spot of color 300 pixels to the right of its middle and 100 above it.
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='800' height='600'><rect width='800' height='600' fill='#ffffff'/><rect x='670' y='170' width='60' height='60' fill='#e000e0'/></svg>";
    std::fs::write(&file, svg).unwrap();
    page.browser.keys("#underlay-file", file.to_str().unwrap());
    page.browser.wait("the picture", "board.underlay.picture");
    page.browser.ask("board.underlay.set({ fade: 1 }); return 1");
    let about =
        page.browser.ask("const u = board.underlay.picture; return [u.x_m, u.y_m, u.meters_per_pixel]");
    let about: Vec<f64> = about.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
    let spot = |degrees: f64| {
        let (s, c) = sin_cos(degrees.to_radians());
        let [x, y] = [300.0 * c - 100.0 * s, 300.0 * s + 100.0 * c];
        page.at([(about[0] + x * about[2]) / FOOT_M, (about[1] + y * about[2]) / FOOT_M])
    };
    let mut before = 0.0;
    for (typed, degrees) in [("0", 0.0), ("30", 30.0), ("-75", -75.0), ("180.5", 180.5)] {
        page.browser.ask("document.getElementById('underlay-turn').focus(); return 1");
        page.browser.type_keys(CONTROL, "a");
        page.browser.type_keys("", typed);
        page.browser.wait("turned", &format!("board.underlay.picture.turn_deg === {degrees}"));
        page.browser.ask("board.view.drawNow(); return 1");
        let seen = page.colored(&[spot(degrees), spot(before)]);
        assert_eq!(seen, json!([true, degrees == before]), "turned by {degrees}");
        before = degrees;
    }
    // It is as it was after loading again.
    page.draw(Hand::Mouse, "tree", &[[0.0, 0.0]]);
    page.open(&desk.server.address);
    page.browser.wait("the picture again", "board.underlay.picture");
    assert_eq!(page.browser.ask("return board.underlay.picture.turn_deg"), 180.5);
}

/// Two fingers zoom about the place between them and move the drawing, and change nothing in it.
#[test]
fn two_fingers_zoom() {
    let Some(desk) = Desk::start(None) else { return };
    desk.gate();
    let page = desk.page();
    page.browser.size(360, 740, true);
    page.browser
        .command("Emulation.setTouchEmulationEnabled", &json!({ "enabled": true, "maxTouchPoints": 2 }));
    page.browser.ask("document.getElementById('board').scrollIntoView(); return 1");
    page.look_at(12.0);
    let look = || -> Vec<f64> {
        let seen = page.browser.ask("return [board.view.scale, ...board.view.center]");
        seen.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let place = |at: [f64; 2]| -> Vec<f64> {
        let found = page.browser.ask(&format!(
            "const b = document.getElementById('board').getBoundingClientRect(); return board.view.place([{} - b.left, {} - b.top])",
            at[0], at[1]
        ));
        found.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let text = page.text();
    let middle = page.at([0.0, 0.0]).map(f64::round);
    let finger = |dx: f64, dy: f64| [middle[0] + dx, middle[1] + dy];
    // Apart: from 80 to 160 pixels, level; the place between them stays.
    let (before, held) = (look(), place(middle));
    page.browser.pinch([finger(-40.0, 0.0), finger(40.0, 0.0)], [finger(-80.0, 0.0), finger(80.0, 0.0)]);
    let after = look();
    assert!((after[0] / before[0] - 2.0).abs() < 0.02, "{before:?} {after:?}");
    let now = place(middle);
    assert!(hypot(now[0] - held[0], now[1] - held[1]) < 0.1, "{held:?} {now:?}");
    // Together again, and moved: what was between the fingers is there still.
    let held = place(finger(0.0, 0.0));
    page.browser.pinch([finger(-80.0, 0.0), finger(80.0, 0.0)], [finger(-10.0, 50.0), finger(70.0, 50.0)]);
    assert!((look()[0] / before[0] - 1.0).abs() < 0.02, "{:?}", look());
    let now = place(finger(30.0, 50.0));
    assert!(hypot(now[0] - held[0], now[1] - held[1]) < 0.2, "{held:?} {now:?}");
    assert_eq!(page.text(), text, "nothing is moved in the plan");
    assert_eq!(page.browser.ask("return board.tools.drag === null && board.tools.pointers.size === 0"), true);
    // A second finger ends a drag as if it had not been.
    let post = page.at([6.0, 0.0]);
    page.browser.pinch(
        [post, [post[0] - 100.0, post[1] + 60.0]],
        [[post[0] + 30.0, post[1]], [post[0] - 130.0, post[1] + 60.0]],
    );
    assert_eq!(page.text(), text, "the post stays");
    // One finger goes on as before.
    let post = page.at([6.0, 0.0]);
    page.browser.stroke(Hand::Touch, &[post, [post[0] + 10.0, post[1]], [post[0] + 30.0, post[1]]]);
    assert_ne!(page.text(), text);
}

/// A copy lies beside the thing, with a name of its own, and is one step of undo. A place has one gate.
#[test]
fn a_thing_is_copied() {
    let Some(desk) = Desk::start(None) else { return };
    desk.gate();
    let page = desk.page();
    page.draw(Hand::Mouse, "house", &[[10.0, 12.0], [30.0, 12.0], [30.0, 24.0], [10.0, 24.0]]);
    let before = page.text();
    page.browser.stroke(Hand::Mouse, &[page.at([20.0, 18.0])]);
    page.browser.type_keys(CONTROL, "d");
    let plan = page.plan();
    assert_eq!(plan["features"].as_array().unwrap().len(), 6);
    let (house, copy) = (&plan["features"][4], &plan["features"][5]);
    assert_eq!(copy["properties"]["label"], "house 2");
    assert_eq!(
        (&copy["properties"]["role"], &copy["properties"]["top"]),
        (&house["properties"]["role"], &house["properties"]["top"])
    );
    let ring = |f: &Value| -> Vec<[f64; 2]> {
        let ring = f["geometry"]["coordinates"][0].as_array().unwrap().iter();
        ring.map(|p| [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()]).collect()
    };
    for (a, b) in ring(house).iter().zip(ring(copy)) {
        assert!((b[0] - a[0] - 3.0).abs() < 1e-3 && (b[1] - a[1] + 3.0).abs() < 1e-3, "{a:?} {b:?}");
    }
    assert_eq!(page.browser.ask("return board.model.selected"), 5, "the copy is selected");
    // A copy of the copy by its button, then both are taken back.
    page.press("#copy");
    assert_eq!(page.plan()["features"][6]["properties"]["label"], "house 3");
    page.browser.ask("document.getElementById('board').focus(); return 1");
    page.browser.type_keys(CONTROL, "zz");
    assert_eq!(page.text(), before);
    page.browser.ask("board.model.select(1); document.getElementById('board').focus(); return 1");
    page.browser.type_keys(CONTROL, "d");
    assert_eq!(page.text(), before, "one gate");
}

/// A warning about the drawing is read in words: a house across the gate.
#[test]
fn a_warning_is_read() {
    let Some(desk) = Desk::start(None) else { return };
    desk.gate();
    let page = desk.page();
    page.draw(Hand::Mouse, "house", &[[-12.0, -4.0], [12.0, -4.0], [12.0, 9.0], [-12.0, 9.0]]);
    page.choose("car");
    page.browser.wait("the warning", "document.querySelector('#missing .warning')");
    let said = page.words("missing");
    assert!(said.contains("Note: ") && said.contains("house") && !said.contains("undefined"), "{said}");
}

/// Each kind of change is one step: undo passes through every one of them back to the empty sheet, redo through every one to
/// the end.
#[test]
fn every_step_is_undone_and_redone() {
    let Some(desk) = Desk::start(None) else { return };
    let (page, m) = (desk.page(), Hand::Mouse);
    page.empty();
    let mut steps = vec![("the empty sheet", page.text())];
    let mut done = |what: &'static str| {
        let now = page.text();
        assert_ne!(now, steps.last().unwrap().1, "{what}");
        steps.push((what, now));
    };
    let keys = |keys: &str| page.browser.type_keys("", keys);
    let type_into = |id: &str, text: &str| {
        page.browser.ask(&format!("document.getElementById('{id}').select(); return 1"));
        page.browser.keys(&format!("#{id}"), &format!("{text}{ENTER}"));
    };
    page.draw(m, "road", &[[-90.0, -25.0], [90.0, -25.0]]);
    done("a road");
    page.draw(m, "gate", &[[-6.0, 0.0], [6.0, 0.0]]);
    done("a gate");
    page.draw(m, "fence", &[[6.5, 0.0], [40.5, 0.0]]);
    done("a fence");
    page.draw(m, "house", &[[10.0, 12.0], [30.0, 12.0], [30.0, 24.0], [10.0, 24.0]]);
    done("a house");
    page.draw(m, "tree", &[[-20.0, 20.0]]);
    done("a tree");
    let drag = |from: [f64; 2], to: [f64; 2]| {
        let [from, to] = [page.at(from), page.at(to)];
        page.browser.stroke(m, &[from, [from[0] + 9.0, from[1]], to]);
    };
    drag([6.0, 0.0], [8.0, 0.0]);
    done("a post is dragged, with its fence");
    drag([-20.0, 20.0], [-26.0, 16.0]);
    done("a tree is dragged");
    page.browser.type_keys(SHIFT, UP);
    done("it goes an inch up");
    std::thread::sleep(Duration::from_millis(800));
    keys(&format!("{RIGHT}{RIGHT}{RIGHT}"));
    done("three presses at once are one step");
    type_into("f-radius", "1' 6\"");
    done("its radius is typed");
    keys(DELETE);
    page.browser.ask("document.querySelector('[data-index=\"4\"]').focus(); return 1");
    keys(DELETE);
    done("it is deleted");
    page.browser.stroke(m, &[page.at([20.0, 18.0])]);
    page.browser.type_keys(CONTROL, "d");
    done("the house is copied");
    type_into("f-turn", "15");
    done("the copy is turned");
    keys(ESCAPE);
    keys(&format!("{ENTER}{INSERT}"));
    done("it gets a corner more");
    keys(DELETE);
    done("the corner goes");
    page.browser.ask("board.model.select(1); document.querySelector('[data-index=\"1\"]').focus(); return 1");
    type_into("f-width", "16'");
    done("the opening is typed");
    page.browser.ask("const s = document.getElementById('f-leaves'); s.value = 'single'; s.dispatchEvent(new Event('change')); return 1");
    done("other leaves");
    page.browser.ask("board.model.select(null); return 1");
    type_into("s-title", "Back lane");
    done("a title");
    page.choose("car");
    done("a vehicle");
    page.press("#vehicle-list button[aria-label^=Remove]");
    done("no vehicle");
    let undo = |held: &str, key: &str| page.browser.type_keys(held, key);
    page.browser.ask("document.getElementById('board').focus(); return 1");
    for (i, pair) in steps.windows(2).enumerate().rev() {
        // By the keys and by the button in turn.
        if i % 2 == 0 {
            page.press("#undo")
        } else {
            undo(CONTROL, "z")
        }
        assert_eq!(page.text(), pair[0].1, "undo of: {}", pair[1].0);
    }
    assert_eq!(page.browser.ask("return document.getElementById('undo').disabled"), true);
    page.browser.ask("document.getElementById('board').focus(); return 1");
    undo(CONTROL, "z");
    assert_eq!(page.text(), steps[0].1, "there is nothing before the first step");
    for (i, (what, text)) in steps.iter().enumerate().skip(1) {
        match i % 3 {
            0 => page.press("#redo"),
            1 => undo(CONTROL, "y"),
            _ => undo(&format!("{CONTROL}{SHIFT}"), "z"),
        }
        assert_eq!(page.text(), *text, "redo of: {what}");
        page.browser.ask("document.getElementById('board').focus(); return 1");
    }
    assert_eq!(page.browser.ask("return document.getElementById('redo').disabled"), true);
}
