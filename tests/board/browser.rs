//! The planning board in a real browser: places drawn by mouse, keyboard and finger, dragged, answered, kept, restored.
//!
//! Runs where `chromedriver` and `chromium` are installed; elsewhere it passes and says what it did not run. With
//! `AXE_CORE` naming a copy of axe-core's script, its accessibility rules are run on the page too.
use super::page::{FOOT_M, Page};
use super::program::Server;
use super::webdriver::{Browser, CONTROL, DELETE, ENTER, ESCAPE, Hand, LEFT, RIGHT, SHIFT, UP};
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;

/// The same study by the command line: its results.json.
pub fn by_command(folder: &Path, plan: &str) -> String {
    let out = tempfile::tempdir().unwrap();
    let run = Command::new(env!("CARGO_BIN_EXE_wideenough"))
        .current_dir(folder)
        .args(["study", plan, "--fix", "--how-to-drive", "--out"])
        .arg(out.path())
        .output()
        .unwrap();
    assert!(run.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&run.stderr));
    std::fs::read_to_string(out.path().join(plan.trim_end_matches(".geojson")).join("results.json")).unwrap()
}

#[test]
fn a_place_is_drawn_answered_and_kept() {
    let home = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(home.path(), "the board was not opened in a browser") else { return };
    browser.size(1280, 860, false);
    // What is refused, with its reason, for the case that something is that should not be.
    let keep = "const ask = window.fetch; window.fetch = async (to, how) => { const got = await ask(to, how); if (got.status === 422) { sessionStorage.setItem('refused', [to, await got.clone().text(), how.body].join(' ')); } return got; };";
    browser.command("Page.addScriptToEvaluateOnNewDocument", &json!({ "source": keep }));
    let folder = home.path().join("places");
    std::fs::create_dir(&folder).unwrap();
    let mut server = Server::start(&folder, &[], 0);
    let page = Page { browser: &browser };

    page.open(&server.address);
    first_place(&page);
    page.open(&server.address);
    by_mouse(&page, &folder);
    undo_and_redo(&page);
    a_fix_is_applied(&page);
    own_vehicle(&page, &folder);
    let of_killed = server.address.clone();
    killed_and_restarted(&page, &mut server, &folder);
    two_tabs(&page, &server, &folder);
    underlay(&page, &server, home.path());
    by_keyboard(&page, &server);
    by_touch(&page, &server);
    let log = browser.post("/se/log", &json!({ "type": "browser" }));
    let log: Vec<&Value> = log
        .as_array()
        .unwrap()
        .iter()
        .filter(|line| {
            // The program was killed on purpose, and a page of it may ask the next one, at an address that is gone; a save was refused.
            let said = line["message"].as_str().unwrap();
            let expected =
                ["ERR_CONNECTION", "ERR_EMPTY_RESPONSE", "409"].iter().any(|word| said.contains(word));
            !expected && (!said.contains(&of_killed) || !said.contains("404"))
        })
        .collect();
    let refused = browser.ask("return sessionStorage.getItem('refused')");
    assert!(log.is_empty(), "the console: {log:?}; refused: {refused}");
}

/// Four measures and a vehicle make a first place.
fn first_place(page: &Page) {
    for (id, text) in [("first-road", "20"), ("first-setback", "15' 6\""), ("first-opening", "13.5 ft")] {
        page.browser.keys(&format!("#{id}"), text);
    }
    looks_right(page, "the first dialog");
    page.press("#first-leaves label:nth-child(2) input");
    page.press("#first-cards input[value=\"car\"]");
    page.press("#first-draw");
    page.browser.wait("the first place", "board.model.features.length > 2");
    let plan = page.plan();
    let gate =
        plan["features"].as_array().unwrap().iter().find(|f| f["properties"]["role"] == "gate").unwrap();
    assert_eq!(gate["geometry"]["coordinates"], json!([[-6.75, 0.0], [6.75, 0.0]]));
    assert_eq!(
        (&gate["properties"]["leaves"], &gate["properties"]["opens"]),
        (&json!("single"), &json!("in"))
    );
    assert_eq!(plan["plan"]["vehicles"], json!(["car"]));
    page.browser.wait("a first answer", "document.getElementById('need').textContent.includes(\"'\")");
    // Nothing of it is to come back.
    page.browser.ask("localStorage.clear(); board.keep.saved = board.model.text(); return 1");
}

/// A whole place by mouse; a post dragged; the answer is that of the command line on the saved file.
fn by_mouse(page: &Page, folder: &Path) {
    let m = Hand::Mouse;
    if page.browser.ask("return Boolean(document.querySelector('#first[open]'))") == false {
        page.press("#new");
        page.browser.wait("the first dialog", "document.querySelector('#first[open]')");
    }
    page.empty();
    page.draw(m, "road", &[[-95.0, -25.0], [95.0, -25.0]]);
    page.draw(m, "gate", &[[-5.0, 0.0], [5.0, 0.0]]);
    page.draw(m, "fence", &[[-5.5, 0.0], [-45.5, 0.0]]);
    page.draw(m, "fence", &[[5.5, 0.0], [45.5, 0.0]]);
    page.draw(m, "house", &[[30.0, 30.0], [60.0, 30.0], [60.0, 55.0], [30.0, 55.0]]);
    page.draw(m, "tree", &[[-30.0, 30.0]]);
    page.draw(m, "mailbox", &[[-20.0, -12.0]]);
    page.draw(m, "car", &[[-45.0, 40.0]]);
    assert_eq!(page.coordinates(1), json!([[-5, 0], [5, 0]]));
    // Caught by the outer side of the post, and square to what is drawn.
    assert_eq!(page.coordinates(2), json!([[-5.5, 0], [-45.5, 0]]));
    assert_eq!(page.coordinates(4), json!([[[30, 30], [60, 30], [60, 55], [30, 55], [30, 30]]]));
    assert_eq!(page.words("missing").trim(), "Choose a vehicle that must get in.");
    page.choose("car");
    page.studied();
    // A post is dragged, a little out of line: it keeps the line, and the fence goes with it.
    let [from, to] = [page.at([5.0, 0.0]), page.at([6.0, 0.4])];
    page.browser.stroke(m, &[from, [from[0] + 8.0, from[1]], to]);
    assert_eq!(page.coordinates(1), json!([[-5, 0], [6, 0]]), "the post");
    assert_eq!(page.coordinates(3), json!([[6.5, 0], [45.5, 0]]), "the fence at the post");
    assert!(page.browser.ask("return document.getElementById('drawn').textContent") == "11'");
    page.studied();
    assert_eq!(
        page.browser.ask("return board.view.layers.answer.querySelectorAll('.vehicle').length > 3"),
        true,
        "the path"
    );
    looks_right(page, "a place by mouse");
    picture(page);
    page.save("by-mouse.geojson");
    let file = std::fs::read_to_string(folder.join("by-mouse.geojson")).unwrap();
    assert_eq!(file, page.text(), "the file is the plan of the page");
    page.studied();
    let board = page
        .browser
        .ask("return fetch(`study/${board.live.study.id}/file/results.json`).then((r) => r.text())");
    assert!(
        board.as_str().unwrap() == by_command(folder, "by-mouse.geojson"),
        "results.json of the board and of the command differ"
    );
}

/// Undo goes back to the empty sheet, redo to the end.
fn undo_and_redo(page: &Page) {
    let end = page.text();
    let steps = page.browser.ask("return board.model.done.length").as_u64().unwrap();
    assert!(steps >= 10, "{steps}");
    for _ in 0..steps {
        page.press("#undo");
    }
    assert_eq!(page.plan()["features"], json!([]));
    assert_eq!(page.browser.ask("return document.getElementById('undo').disabled"), true);
    for _ in 0..steps {
        page.press("#redo");
    }
    assert_eq!(page.text(), end);
    assert_eq!(
        page.browser.ask("return board.model.done.length").as_u64(),
        Some(steps),
        "steps of undo were lost"
    );
}

/// A gate too narrow: the study offers a fix, one click applies it, one undo takes it back.
fn a_fix_is_applied(page: &Page) {
    page.browser.ask("board.model.select(1); return 1");
    page.browser.wait("the panel", "document.getElementById('f-width')");
    page.browser.ask("const f = document.getElementById('f-width'); f.value = \"6' 8\\\"\"; f.dispatchEvent(new Event('change')); return 1");
    page.studied();
    let before = page.text();
    page.browser.wait("a fix", "document.querySelector('#fixes .apply:not([disabled])')");
    page.press("#fixes .apply");
    page.browser.wait("the changed drawing", &format!("board.model.text() !== {}", json!(before)));
    page.studied();
    let verdicts = page.browser.ask("return board.live.study.results.vehicles.map((v) => v.drawn_gate)");
    assert!(verdicts.as_array().unwrap().iter().all(|v| v == "comfortable" || v == "tight"), "{verdicts}");
    page.press("#undo");
    assert_eq!(page.text(), before);
    page.press("#undo");
}

/// A vehicle of one's own: measured, saved, studied.
fn own_vehicle(page: &Page, folder: &Path) {
    page.press("#own-vehicle");
    page.browser.wait("the form", "document.querySelector('#own[open] #own-wheelbase')");
    page.browser.ask("const b = document.getElementById('own-base'); b.value = 'car'; b.dispatchEvent(new Event('change')); return 1");
    page.browser.wait("its measures", "document.getElementById('own-name').value === 'my-car'");
    page.browser.wait("its circles", "document.querySelector('#own-turning dd')");
    looks_right(page, "the form of a vehicle");
    let across = page.words("own-turning");
    page.browser.ask("const s = document.querySelector('#own-circle ~ input[type=range]'); s.value = 15; s.dispatchEvent(new Event('input')); return 1");
    page.browser.wait(
        "a wider circle",
        &format!("document.getElementById('own-turning').textContent !== {}", json!(across)),
    );
    page.browser.ask("const w = document.getElementById('own-width'); w.value = \"6' 4\\\"\"; w.dispatchEvent(new Event('change')); return 1");
    page.press("#own-save");
    page.browser.wait("the vehicle in the plan", "board.model.settings.vehicles.includes('my-car.json')");
    let file: Value =
        serde_json::from_str(&std::fs::read_to_string(folder.join("my-car.json")).unwrap()).unwrap();
    assert_eq!(file["units"][0]["width"]["value"], "6' 4\"");
    page.studied();
    let names = page.browser.ask("return board.live.study.results.vehicles.map((v) => v.vehicle)");
    assert_eq!(names.as_array().unwrap().len(), 2, "{names}");
    assert!(page.words("ways").contains("My car"), "{}", page.words("ways"));
    page.save("by-mouse.geojson");
}

/// A page loaded again, and a program that died, lose nothing.
fn killed_and_restarted(page: &Page, server: &mut Server, folder: &Path) {
    let tree = "board.model.features.findIndex((f) => f.properties.label === 'tree')";
    let index = usize::try_from(page.browser.ask(&format!("return {tree}")).as_u64().unwrap()).unwrap();
    page.browser.ask(&format!("document.querySelector('[data-index=\"{index}\"]').focus(); return 1"));
    page.browser.type_keys("", RIGHT);
    assert_eq!(page.coordinates(index), json!([-29.5, 30]));
    page.browser.wait("the draft", "document.getElementById('saved').textContent.includes('draft')");
    page.open(&server.address);
    page.browser.wait("the work", "board.model.features.length > 5");
    assert_eq!(page.coordinates(index), json!([-29.5, 30]), "after loading again");
    let port = server.port();
    server.kill();
    page.browser.ask(&format!("document.querySelector('[data-index=\"{index}\"]').focus(); return 1"));
    page.browser.type_keys(SHIFT, UP);
    page.browser.wait("the notice", "document.querySelector('[data-kind=lost]')");
    let moved = page.coordinates(index);
    *server = Server::start(folder, &["by-mouse.geojson"], port);
    page.open(&server.address);
    assert_eq!(page.coordinates(index), moved, "after the program died");
    assert_eq!(page.browser.ask("return board.keep.dirty"), true);
    page.press("#save");
    page.browser.wait("saved", "!board.keep.dirty");
    assert_eq!(std::fs::read_to_string(folder.join("by-mouse.geojson")).unwrap(), page.text());
}

/// Two tabs of one plan do not overwrite each other silently.
fn two_tabs(page: &Page, server: &Server, folder: &Path) {
    let first = page.browser.get("/window");
    let second = page.browser.post("/window/new", &json!({ "type": "tab" }));
    page.browser.post("/window", &json!({ "handle": second["handle"] }));
    page.browser.size(1280, 860, false);
    page.open(&server.address);
    page.browser.wait("a word on two tabs", "document.querySelector('[data-kind=tabs]')");
    let title = |title: &str| {
        page.browser.ask(&format!("board.model.select(null); board.model.change('Title', board.model.withSettings({{ title: '{title}' }})); return 1"))
    };
    title("Second");
    page.browser.post("/window", &json!({ "handle": first }));
    title("First");
    page.press("#save");
    page.browser.wait("saved", "!board.keep.dirty");
    page.browser.post("/window", &json!({ "handle": second["handle"] }));
    page.press("#save");
    page.browser.wait("the question", "document.querySelector('dialog.ask[open]')");
    assert!(
        std::fs::read_to_string(folder.join("by-mouse.geojson")).unwrap().contains("First"),
        "written over without a question"
    );
    page.press("dialog.ask button:nth-child(1)");
    page.browser.wait("another file", "!board.keep.dirty && board.keep.name === 'by-mouse-2.geojson'");
    assert!(std::fs::read_to_string(folder.join("by-mouse-2.geojson")).unwrap().contains("Second"));
    page.browser.command("Page.close", &json!({}));
    page.browser.post("/window", &json!({ "handle": first }));
}

/// A picture of a grid with lines 100 pixels apart, said to be 20 feet: its lines then lie every 20 feet of the drawing.
fn underlay(page: &Page, server: &Server, home: &Path) {
    let lines: String = (0..=8)
        .map(|i| format!("<path d='M{0} 0V600M0 {0}H800' stroke='#e000e0' stroke-width='4'/>", i * 100))
        .collect();
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='800' height='600'><rect width='800' height='600' fill='#ffffff'/>{lines}</svg>"
    );
    let file = home.join("plat.svg");
    std::fs::write(&file, svg).unwrap();
    page.open(&server.address);
    page.browser.ask("board.model.select(null); document.getElementById('new').click(); return 1");
    page.browser.wait("the first dialog", "document.querySelector('#first[open]')");
    page.empty();
    page.browser.keys("#underlay-file", file.to_str().unwrap());
    page.browser.wait("the picture", "board.underlay.picture");
    page.press("#underlay-scale");
    // Two crossings of the grid, three squares apart, where they are seen now.
    let crossing = |i: i32, j: i32| {
        let found = page.browser.ask(&format!(
            "const u = board.underlay.picture, b = document.getElementById('board').getBoundingClientRect(), p = board.view.screen([u.x_m + ({i} - 400) * u.meters_per_pixel, u.y_m + (300 - {j}) * u.meters_per_pixel]); return [p[0] + b.left, p[1] + b.top]"
        ));
        [found[0].as_f64().unwrap(), found[1].as_f64().unwrap()]
    };
    for at in [crossing(300, 300), crossing(600, 300)] {
        page.browser.stroke(Hand::Mouse, &[at]);
    }
    page.browser.keys("#underlay-distance", &format!("60{ENTER}"));
    page.browser.wait("scaled", "document.getElementById('underlay-ask').hidden");
    let width_m = page
        .browser
        .ask("const u = board.underlay.picture; return u.width * u.meters_per_pixel")
        .as_f64()
        .unwrap();
    // Taps fall on whole pixels.
    assert!((width_m / FOOT_M - 160.0).abs() < 1.2, "160 ft wide: {}", width_m / FOOT_M);
    // The picture is on the screen where the numbers say: lines at every 20 feet from the first crossing, none between.
    page.browser.ask(
        "const u = board.underlay.picture; u.fade = 1; board.underlay.show(); board.view.drawNow(); return 1",
    );
    let first = page
        .browser
        .ask("const u = board.underlay.picture; return [u.x_m - 100 * u.meters_per_pixel, u.y_m]");
    let first = [first[0].as_f64().unwrap() / FOOT_M, first[1].as_f64().unwrap() / FOOT_M];
    let on: Vec<[f64; 2]> =
        [-1.0, 0.0, 1.0, 2.0].map(|k| page.at([first[0] + 20.0 * k, first[1] + 7.0])).to_vec();
    let off: Vec<[f64; 2]> =
        [-0.5, 0.5, 1.5].map(|k| page.at([first[0] + 20.0 * k, first[1] + 7.0])).to_vec();
    assert_eq!(page.colored(&on), json!([true, true, true, true]));
    assert_eq!(page.colored(&off), json!([false, false, false]));
    // It is there again after loading, and nothing of it went to the folder.
    page.browser.ask("const n = document.getElementById('name'); return 1");
    page.draw(Hand::Mouse, "tree", &[[0.0, 0.0]]);
    page.open(&server.address);
    page.browser.wait("the picture again", "board.underlay.picture");
    page.press("#underlay-remove");
    page.browser.ask("localStorage.clear(); board.keep.saved = board.model.text(); return 1");
}

/// A whole place by the keyboard alone, from the first press of Tab.
fn by_keyboard(page: &Page, server: &Server) {
    let keys = |keys: &str| page.browser.type_keys("", keys);
    page.open(&server.address);
    page.browser
        .ask("board.model.select(null); const n = document.getElementById('new'); n.focus(); return 1");
    keys(ENTER);
    page.browser.wait("the first dialog", "document.querySelector('#first[open]')");
    page.browser.ask("document.getElementById('empty').focus(); return 1");
    keys(ENTER);
    page.browser.wait(
        "an empty sheet",
        "!document.querySelector('dialog[open]') && board.model.features.length === 0",
    );
    page.begin("road");
    keys(&format!("-90, -25{ENTER}{RIGHT}180{ENTER}{ENTER}"));
    assert_eq!(page.coordinates(0), json!([[-90, -25], [90, -25]]));
    page.begin("gate");
    keys(&format!("-6,0{ENTER}{RIGHT}12' 6\"{ENTER}"));
    assert_eq!(page.coordinates(1), json!([[-6, 0], [6.5, 0]]));
    page.begin("fence");
    keys(&format!("-6.5,0{ENTER}{LEFT}30{ENTER}{ENTER}"));
    page.begin("pole");
    keys(&format!("20,-8{ENTER}"));
    // Arrows move what has the focus; Shift finely, Ctrl coarsely.
    let at = page.coordinates(3);
    assert_eq!(at, json!([20, -8]));
    keys(RIGHT);
    page.browser.type_keys(SHIFT, LEFT);
    page.browser.type_keys(CONTROL, UP);
    assert_eq!(page.coordinates(3), json!([20.4167, -3]));
    // Into the gate's posts, and one of them to the left; a length typed.
    page.browser.ask("document.querySelector('[data-index=\"1\"]').focus(); return 1");
    keys(&format!("{ENTER}{LEFT}"));
    assert_eq!(page.coordinates(1), json!([[-6.5, 0], [6.5, 0]]));
    assert_eq!(page.coordinates(2), json!([[-7, 0], [-36.5, 0]]), "the fence goes along");
    keys(ESCAPE);
    keys(&format!("12{ENTER}"));
    assert_eq!(page.coordinates(1), json!([[-6, 0], [6, 0]]));
    page.begin("tree");
    keys(&format!("-20,20{ENTER}{DELETE}"));
    assert_eq!(page.plan()["features"].as_array().unwrap().len(), 4);
    page.browser.type_keys(CONTROL, "z");
    assert_eq!(page.plan()["features"].as_array().unwrap().len(), 5);
    page.browser.ask("document.getElementById('add-vehicle').focus(); return 1");
    keys(ENTER);
    page.browser.ask("document.querySelector('#choose-cards input[value=car]').focus(); return 1");
    keys(" ");
    page.browser.ask("document.getElementById('choose-done').focus(); return 1");
    keys(ENTER);
    page.studied();
    let spoken = page.words("spoken");
    page.browser.wait("a spoken answer", "document.getElementById('spoken').textContent.includes('needs') || document.getElementById('spoken').textContent.includes('need,')");
    assert!(!spoken.contains("undefined"), "{spoken}");
    page.browser.ask("localStorage.clear(); board.keep.saved = board.model.text(); return 1");
}

/// A whole place by a finger on a screen 360 pixels wide.
fn by_touch(page: &Page, server: &Server) {
    let t = Hand::Touch;
    page.browser.size(360, 740, true);
    page.browser.command("Emulation.setTouchEmulationEnabled", &json!({ "enabled": true }));
    page.open(&server.address);
    page.press("#new");
    page.browser.wait("the first dialog", "document.querySelector('#first[open]')");
    page.press("#empty");
    page.look_at(6.0);
    // What is said of the thing that is drawn does not lie over the place to tap.
    page.press("#kinds [data-kind=gate]");
    let over = "return document.getElementById('strip').getBoundingClientRect().top - document.getElementById('board').getBoundingClientRect().bottom";
    let over = page.browser.ask(over).as_f64().unwrap();
    assert!(over >= -1.0, "the words cover {} pixels of the drawing", -over);
    page.press("#cancel");
    page.draw(t, "road", &[[-70.0, -40.0], [70.0, -40.0]]);
    page.draw(t, "gate", &[[-8.0, -15.0], [8.0, -15.0]]);
    page.choose("car");
    page.studied();
    let gate = page.coordinates(1);
    // A finger drags a post; the other post stays.
    let [from, to] =
        [page.at([gate[1][0].as_f64().unwrap(), gate[1][1].as_f64().unwrap()]), page.at([14.0, -15.0])];
    page.browser.stroke(t, &[from, [from[0] + 9.0, from[1]], to]);
    let moved = page.coordinates(1);
    assert_eq!((&moved[0], &moved[1][1]), (&gate[0], &gate[1][1]));
    assert!((moved[1][0].as_f64().unwrap() - 14.0).abs() < 0.6, "{moved}");
    // A finger on the empty ground moves the drawing, and nothing in it.
    let before = (page.text(), page.browser.ask("return board.view.center"));
    page.browser.stroke(t, &[page.at([-30.0, 10.0]), page.at([-20.0, 12.0]), page.at([-10.0, 16.0])]);
    assert_eq!(page.text(), before.0);
    assert_ne!(page.browser.ask("return board.view.center"), before.1);
    page.studied();
    let wide = page.browser.ask("return document.documentElement.scrollWidth").as_u64().unwrap();
    assert!(wide <= 360, "{wide} pixels wide");
    looks_right(page, "a place by touch");
}

/// Nothing that axe-core finds, in light and in dark; nothing without a name.
fn looks_right(page: &Page, what: &str) {
    for scheme in ["light", "dark"] {
        let media = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        page.browser.command("Emulation.setEmulatedMedia", &media);
        match page.browser.axe() {
            Some(found) => assert_eq!(found, json!([]), "{what}, {scheme}: axe-core"),
            None => eprintln!("NOT RUN: axe-core's rules, as AXE_CORE names no script of it"),
        }
    }
    page.browser.command(
        "Emulation.setEmulatedMedia",
        &json!({ "features": [{ "name": "prefers-color-scheme", "value": "light" }] }),
    );
}

/// The picture for README.md: written with `BLESS=1`, for letters are not drawn alike everywhere; always small enough.
fn picture(page: &Page) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/planning-board.png");
    if std::env::var_os("BLESS").is_some() {
        page.browser.size(1120, 700, false);
        page.browser.ask("board.model.select(1); board.view.fit(); board.view.zoom(0.8); board.view.drawNow(); document.getElementById('side').scrollTop = 0; document.activeElement.blur(); return 1");
        page.browser.wait(
            "the drawing",
            "!document.querySelector('#notices .notice') && board.view.layers.answer.children.length",
        );
        std::fs::write(&file, from_base64(&page.browser.screenshot())).unwrap();
        page.browser.size(1280, 860, false);
        page.look_at(12.0);
    }
    let bytes = std::fs::metadata(&file).unwrap().len();
    assert!((10_000..150_000).contains(&bytes), "{bytes} bytes");
}

fn from_base64(text: &str) -> Vec<u8> {
    const SIGNS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut bits, mut count, mut out) = (0u32, 0, Vec::new());
    for sign in text.bytes().filter(|b| *b != b'=') {
        bits = bits << 6 | u32::try_from(SIGNS.iter().position(|s| *s == sign).unwrap()).unwrap();
        count += 6;
        if count >= 8 {
            count -= 8;
            out.push(u8::try_from(bits >> count & 0xff).unwrap());
        }
    }
    out
}

/// Lengths are read in the page as the library reads them.
#[test]
fn lengths_are_read_as_by_the_library() {
    let home = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(home.path(), "the board was not opened in a browser") else { return };
    let server = Server::start(home.path(), &[], 0);
    browser.open(&server.address);
    let texts = [
        "8 ft",
        "12' 6\"",
        "12'-6 1/2\"",
        "3′ 7⅝″",
        "96 in",
        "1/2 in",
        "2.44 m",
        "250 cm",
        "300mm",
        "0",
        "12'6",
        "6½ ft",
        "3 yd",
        "12' 13\"",
        "12",
        "ft",
        "-3 ft",
        "1.5.2 ft",
        "6-1/2 in",
        "12 ft 6 in",
        "1e400 m",
        "nan ft",
        "12' 6\" 3",
        ".5 m",
        "2,44 m",
        "",
    ];
    let read = browser.ask(&format!(
        "return import('./page/lengths.js').then((m) => {}.map((t) => m.parseLength(t)))",
        json!(texts)
    ));
    for (text, page) in texts.iter().zip(read.as_array().unwrap()) {
        let library = wideenough::geometry::length::parse(text).ok();
        match (library, page.as_f64()) {
            (Some(library), Some(page)) => {
                assert!((library - page).abs() < 1e-12, "{text}: {library} {page}")
            }
            (library, page) => assert_eq!(library, page, "{text}"),
        }
    }
    let shown = browser.ask("return import('./page/lengths.js').then((m) => [m.showLength(4.191, 'ft'), m.showLength(4.192, 'ft', 'up'), m.showLength(0.32, 'ft', 'down', 2), m.showLength(3.6576, 'ft'), m.showLength(4.191, 'm', 'up'), m.lengthText(0.3302, 'ft')])");
    assert_eq!(shown, json!(["13' 9\"", "13' 10\"", "1' 1/2\"", "12'", "4.20 m", "1' 1\""]));
}
