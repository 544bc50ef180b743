//! The page by the keyboard alone: no script sets the focus and nothing is clicked. Each control is reached by Tab, Shift+Tab and
//! arrows, the focus can always be seen, and a whole place is drawn from nothing.
use super::page::Page;
use super::program::Server;
use super::webdriver::{Browser, CONTROL, DOWN, ENTER, ESCAPE, LEFT, RIGHT, SHIFT, TAB};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Names what has the focus, and says whether it can be seen; null if nothing has it.
const FOCUSED: &str = r#"
  const e = document.activeElement;
  if (!e || e === document.body || e === document.documentElement) { return null; }
  const name = (n) => n.id ? '#' + n.id : n.dataset?.index ? `thing ${n.dataset.index}` : n.dataset?.point ? `point ${n.dataset.point}` : n.dataset?.kind ? `kind ${n.dataset.kind}`
    : n.dataset?.way ? `way ${n.dataset.way}` : `${n.tagName.toLowerCase()} ${n.name ?? ''} ${n.value ?? ''} ${n.getAttribute('aria-label') ?? n.textContent.trim().slice(0, 60)}`;
  window.nameOf = name;
  const box = e.getBoundingClientRect(), inside = box.bottom > 0 && box.right > 0 && box.top < innerHeight && box.left < innerWidth;
  const style = getComputedStyle(e), color = getComputedStyle(document.documentElement).getPropertyValue('--focus').trim();
  const probe = document.createElement('i'); probe.style.color = color; document.body.append(probe);
  const wanted = getComputedStyle(probe).color; probe.remove();
  const outlined = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2 && style.outlineColor === wanted;
  const stroked = e.ownerSVGElement && [...e.querySelectorAll('*')].some((c) => { const s = getComputedStyle(c); return s.stroke === wanted && parseFloat(s.strokeWidth) >= 2 && s.strokeOpacity !== '0'; });
  return { name: name(e), seen: Boolean(inside && (outlined || stroked)), inside };
"#;

/// Names of all controls that can be used now; of radio buttons of one name one is enough.
const CONTROLS: &str = r#"
  const root = document.querySelector('dialog[open]') ?? document.body, radios = new Set();
  return [...root.querySelectorAll('button, input, select, summary, a[href], [tabindex="0"]')].filter((n) => {
    if (n.disabled || !n.getClientRects().length || getComputedStyle(n).visibility === 'hidden') { return false; }
    if (n.closest('dialog') && n.closest('dialog') !== root) { return false; }
    const closed = n.closest('details:not([open])');
    if (closed && n.tagName !== 'SUMMARY') { return false; }
    if (n.type === 'radio') { if (radios.has(n.name)) { return false; } radios.add(n.name); }
    return true;
  }).map(window.nameOf);
"#;

fn focused(page: &Page) -> Option<String> {
    let found = page.browser.ask(FOCUSED);
    if found.is_null() {
        return None;
    }
    assert_eq!(found["seen"], true, "the focus cannot be seen: {found}");
    Some(found["name"].as_str().unwrap().to_owned())
}

/// Goes on by Tab, or back with Shift, until a thing of this name has the focus.
fn go(page: &Page, held: &str, wanted: &str) {
    for _ in 0..250 {
        if focused(page).is_some_and(|name| name == wanted) {
            return;
        }
        page.browser.type_keys(held, TAB);
    }
    panic!("{wanted} is not reached by the keyboard");
}

/// Everything that Tab passes on one way around.
fn passed(page: &Page, held: &str) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    let mut quiet = 0;
    for _ in 0..400 {
        page.browser.type_keys(held, TAB);
        match focused(page) {
            Some(name) => quiet = if names.insert(name) { 0 } else { quiet + 1 },
            None => quiet += 1,
        }
        // Once around: nothing new for a while.
        if quiet > 30 {
            return names;
        }
    }
    panic!("no end of it: {names:?}");
}

fn all_are_reached(page: &Page, what: &str) {
    let controls = |page: &Page| -> BTreeSet<String> {
        let list = page.browser.ask(CONTROLS);
        list.as_array().unwrap().iter().map(|name| name.as_str().unwrap().to_owned()).collect()
    };
    // Handles are those of the thing that the focus was on last: they are walked through below.
    let fixed = |names: BTreeSet<String>| -> BTreeSet<String> {
        names.into_iter().filter(|name| !name.starts_with("point ")).collect()
    };
    for held in ["", SHIFT] {
        let reached = fixed(passed(page, held));
        let missed: Vec<String> =
            fixed(controls(page)).into_iter().filter(|name| !reached.contains(name)).collect();
        assert!(missed.is_empty(), "{what}: not reached with {held:?}: {missed:?}");
        assert!(reached.len() >= 6, "{what}: {reached:?}");
    }
}

fn keys(page: &Page, keys: &str) {
    page.browser.type_keys("", keys);
}

#[test]
fn a_place_is_drawn_by_the_keyboard_alone() {
    let home = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(home.path(), "the keyboard was not tried") else { return };
    browser.size(1280, 860, false);
    let server = Server::start(home.path(), &[], 0);
    let page = Page { browser: &browser };
    page.open(&server.address);
    page.browser.wait("the first dialog", "document.querySelector('#first[open]')");
    all_are_reached(&page, "the first dialog");
    // Leaves are chosen by arrows.
    let leaves = "document.querySelector('input[name=leaves]:checked').value";
    for _ in 0..100 {
        if focused(&page).is_some_and(|name| name.contains("leaves")) {
            break;
        }
        keys(&page, TAB);
    }
    keys(&page, RIGHT);
    assert_eq!(page.browser.ask(&format!("return {leaves}")), "single in");
    go(&page, SHIFT, "#first-opening");
    go(&page, "", "#empty");
    keys(&page, ENTER);
    page.browser.wait(
        "an empty sheet",
        "!document.querySelector('dialog[open]') && board.model.features.length === 0",
    );

    let begin = |kind: &str, held: &str| {
        go(&page, held, &format!("kind {kind}"));
        keys(&page, ENTER);
        assert_eq!(focused(&page).as_deref(), Some("#board"), "the drawing waits for {kind}");
    };
    begin("road", "");
    keys(&page, &format!("-90,-25{ENTER}{RIGHT}180{ENTER}{ENTER}"));
    assert_eq!(page.coordinates(0), json!([[-90, -25], [90, -25]]));
    begin("gate", SHIFT);
    keys(&page, &format!("-6,0{ENTER}{RIGHT}12{ENTER}"));
    assert_eq!(page.coordinates(1), json!([[-6, 0], [6, 0]]));
    begin("fence", SHIFT);
    keys(&page, &format!("-6.5,0{ENTER}{LEFT}34{ENTER}{ENTER}"));
    assert_eq!(page.coordinates(2), json!([[-6.5, 0], [-40.5, 0]]));
    begin("drive", SHIFT);
    let corners = [[-10, -15], [10, -15], [8, 40], [-8, 40]];
    for [x, y] in corners {
        keys(&page, &format!("{x},{y}{ENTER}"));
    }
    keys(&page, ENTER);
    assert_eq!(page.coordinates(3), json!([[[-10, -15], [10, -15], [8, 40], [-8, 40], [-10, -15]]]));
    begin("house", SHIFT);
    for at in ["20' 6\",30", "50,30", "50,55", "20' 6\",55"] {
        keys(&page, &format!("{at}{ENTER}"));
    }
    keys(&page, ENTER);
    assert_eq!(page.coordinates(4), json!([[[20.5, 30], [50, 30], [50, 55], [20.5, 55], [20.5, 30]]]));

    // From the house, which has the focus, to the gate; into its posts, and the second one three half feet out and one inch back.
    assert_eq!(focused(&page).as_deref(), Some("thing 4"));
    go(&page, SHIFT, "thing 1");
    keys(&page, ENTER);
    assert_eq!(focused(&page).as_deref(), Some("point 1.0.0"));
    keys(&page, &format!("{TAB}{RIGHT}{RIGHT}{RIGHT}"));
    page.browser.type_keys(SHIFT, LEFT);
    assert_eq!(page.coordinates(1), json!([[-6, 0], [7.4167, 0]]));
    keys(&page, ESCAPE);
    assert_eq!(focused(&page).as_deref(), Some("thing 1"));
    page.browser.type_keys(CONTROL, "z");
    page.browser.type_keys(CONTROL, "y");
    assert_eq!(page.coordinates(1), json!([[-6, 0], [7.4167, 0]]));

    // A vehicle; how it comes and goes: the box that is checked keeps the focus.
    go(&page, "", "#add-vehicle");
    keys(&page, ENTER);
    page.browser.wait("the vehicles", "document.querySelector('#choose[open]')");
    all_are_reached(&page, "the vehicles");
    for _ in 0..100 {
        if focused(&page).is_some_and(|name| name.starts_with("input") && name.contains(" car ")) {
            break;
        }
        keys(&page, TAB);
    }
    keys(&page, " ");
    go(&page, "", "#choose-done");
    keys(&page, ENTER);
    assert_eq!(page.plan()["plan"]["vehicles"], json!(["car"]));
    assert_eq!(focused(&page).as_deref(), Some("#add-vehicle"), "back where the dialog was opened");
    go(&page, SHIFT, "summary   How it comes and goes");
    keys(&page, &format!("{ENTER}{TAB} "));
    let vehicles = page.plan()["plan"]["vehicles"].clone();
    assert_eq!(vehicles, json!([{ "vehicle": "car", "visits": ["drive-in-back-out"] }]));
    assert!(focused(&page).is_some_and(|name| name.contains("drive-in-back-out")), "{:?}", focused(&page));
    keys(&page, " ");
    assert_eq!(page.plan()["plan"]["vehicles"], json!(["car"]));

    // A choice and a length in the panel.
    go(&page, SHIFT, "thing 1");
    go(&page, "", "#f-leaves");
    keys(&page, DOWN);
    assert_eq!(page.plan()["features"][1]["properties"]["leaves"], "single");
    go(&page, SHIFT, "#f-width");
    page.browser.type_keys(CONTROL, "a");
    keys(&page, &format!("13{ENTER}"));
    let gate = page.coordinates(1);
    let x = |i: usize| gate[i][0].as_f64().unwrap();
    assert!((x(1) - x(0) - 13.0).abs() < 1e-3, "{gate}");
    page.studied();
    all_are_reached(&page, "the page with a study");
    // The other dialogs.
    for (button, dialog) in [("#own-vehicle", "own"), ("#help", "keys")] {
        go(&page, "", button);
        keys(&page, ENTER);
        page.browser.wait("the dialog", &format!("document.querySelector('#{dialog}[open]')"));
        if dialog == "own" {
            page.browser.wait("its measures", "document.querySelector('#own-measures input')");
            all_are_reached(&page, "the form of a vehicle");
        }
        keys(&page, ESCAPE);
        page.browser.wait("closed", "!document.querySelector('dialog[open]')");
        assert_eq!(focused(&page).as_deref(), Some(button));
    }
    // A name for the file, and saved.
    go(&page, "", "#name");
    page.browser.type_keys(CONTROL, "a");
    keys(&page, &format!("by-keys{ENTER}"));
    page.browser.wait("the name", "board.keep.name === 'by-keys.geojson'");
    page.browser.type_keys(CONTROL, "s");
    page.browser.wait("saved", "!board.keep.dirty");
    let file = std::fs::read_to_string(home.path().join("by-keys.geojson")).unwrap();
    assert_eq!(file, page.text());
    let plan: Value = serde_json::from_str(&file).unwrap();
    assert_eq!(plan["features"].as_array().unwrap().len(), 5);
}
