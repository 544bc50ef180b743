//! The page in a real browser: sliders moved, vehicles played, numbers compared with results.json, screenshots taken.
//!
//! Runs where `chromedriver` and `chromium` are installed; elsewhere it passes and says what it did not run. With
//! `AXE_CORE` naming a copy of axe-core's script, its accessibility rules are run on the page too.
use super::webdriver::{Browser, CHECK, END, HOME, RIGHT};
use serde_json::json;
use std::time::Duration;
use wideenough::opening::{GateOptions, StudyOptions, Wanted, plan_gate, study};
use wideenough::report::{page, value};
use wideenough::search::Effort;
use wideenough::site;
use wideenough::vehicle::find;

/// A lane, a wall and a gate, with markup in the texts a person may write.
const PLAN: &str = r#"{ "type": "FeatureCollection",
  "plan": { "title": "Test <b>yard</b> & </script>", "coordinates": "local-ft", "units": "ft" },
  "features": [
    { "type": "Feature", "properties": { "role": "road", "width": "20 ft", "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-150, 0], [150, 0]] } },
    { "type": "Feature", "properties": { "role": "obstacle", "label": "wall <i>", "thickness": 0.5, "top": 6 },
      "geometry": { "type": "LineString", "coordinates": [[-60, -14], [60, -14]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "double" },
      "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } }
  ] }"#;

#[test]
fn the_page_plays_in_a_browser() {
    let folder = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(folder.path(), "the page was not opened in a browser") else { return };
    let wanted: Vec<Wanted> = ["car", "pickup-bumper-pull-20"]
        .map(|name| Wanted { travels: vec!["westbound".to_owned()], ..Wanted::from(find(name).unwrap()) })
        .to_vec();
    let study = study(site::read(PLAN, "yard.geojson").unwrap(), &wanted, &StudyOptions::default(), &|_| ());
    let results = value(&study);
    let file = folder.path().join("report.html");
    std::fs::write(&file, page(&study)).unwrap();
    browser.size(1280, 900, false);
    browser.open(&format!("file://{}", file.display()));

    assert_eq!(
        browser.ask("return document.querySelector('h1').textContent"),
        "Test <b>yard</b> & </script>"
    );
    assert_eq!(browser.ask("return document.querySelectorAll('.player:not([hidden])').length"), 4);
    // A link in the table unfolds the way in that it leads to.
    let folded = "return document.querySelector('details.vehicle').open";
    assert_eq!(browser.ask(folded), false);
    browser.click("a[href='#car-westbound-drive-in']");
    let unfolded = (0..50).any(|_| {
        std::thread::sleep(Duration::from_millis(20));
        browser.ask(folded) == true
    });
    assert!(unfolded, "the link leads to something folded away");
    let cases = results["cases"].as_array().unwrap();
    let stems: Vec<&str> =
        cases.iter().map(|c| c["drawing"].as_str().unwrap().trim_end_matches(".svg")).collect();
    for (case, stem) in cases.iter().zip(&stems) {
        let slider = format!("#{stem}-slider");
        let of = |what: &str| {
            browser
                .ask(&format!("return document.getElementById('{stem}').querySelector('{what}').textContent"))
        };
        let at =
            || browser.ask(&format!("return +document.querySelector('{slider}').value")).as_u64().unwrap();
        let unit = || {
            browser.ask(&format!("return document.getElementById('{stem}').querySelector('.moving .unit').getAttribute('transform')"))
        };
        let poses = browser.ask(&format!(
            "return JSON.parse(document.getElementById('{stem}').querySelector('.poses').textContent)"
        ));
        let words = |i: u64, key: &str| poses["poses"][usize::try_from(i).unwrap()]["words"][key].clone();
        // At the tightest place the page agrees with results.json.
        browser.click(&format!("#{stem} .tightest"));
        let tight = &case["drawn_contacts"][0];
        let gap = poses["poses"][usize::try_from(at()).unwrap()]["gap_m"].as_f64().unwrap();
        assert!((gap - tight["gap_m"].as_f64().unwrap()).abs() < 2e-4, "{stem}: {gap} {tight}");
        let said = of(".nearest").as_str().unwrap().to_owned();
        assert!(
            said.contains(tight["what"].as_str().unwrap()) && said.contains(tight["part"].as_str().unwrap()),
            "{said} {tight}"
        );
        assert_eq!(of(".nearest"), words(at(), "gap"));
        assert!(of(".said").as_str().unwrap().contains(&said), "a screen reader is told");
        // The keyboard moves it.
        browser.keys(&slider, HOME);
        assert_eq!((at(), of(".nearest")), (0, words(0, "gap")));
        let first = unit();
        browser.keys(&slider, RIGHT);
        assert_eq!((at(), of(".way"), of(".steer")), (1, words(1, "way"), words(1, "steer")));
        assert_ne!(unit(), first, "the vehicle has moved");
        browser.keys(&slider, END);
        let last = poses["poses"].as_array().unwrap().len() as u64 - 1;
        assert_eq!((at(), of(".way")), (last, words(last, "way")));
        let told =
            browser.ask(&format!("return document.querySelector('{slider}').getAttribute('aria-valuetext')"));
        assert!(told.as_str().unwrap().contains(words(last, "way").as_str().unwrap()), "{told}");
    }
    // Playing starts and stops with its button.
    let (stem, slider) = (stems[0], format!("return +document.getElementById('{}-slider').value", stems[0]));
    browser.keys(&format!("#{stem}-slider"), HOME);
    browser.click(&format!("#{stem} .play"));
    let playing = format!("return document.getElementById('{stem}').querySelector('.play').textContent");
    assert_eq!(browser.ask(&playing), "Pause");
    let moved = (0..100).any(|_| {
        std::thread::sleep(Duration::from_millis(100));
        browser.ask(&slider).as_u64().unwrap() >= 3
    });
    assert!(moved, "it does not play");
    browser.click(&format!("#{stem} .play"));
    assert_eq!(browser.ask(&playing), "Play");
    let stopped = browser.ask(&slider);
    std::thread::sleep(Duration::from_millis(400));
    assert_eq!(browser.ask(&slider), stopped);
    // Where the direction changes it stands, says so and turns its wheels before it drives on; while it moves, the gap to
    // what is near stays drawn.
    let stem = stems.iter().find(|stem| stem.contains("back-in")).unwrap();
    let of = |what: &str| format!("return document.getElementById('{stem}').querySelector('{what}')");
    let at_stop = browser.ask(&format!(
        "var p = JSON.parse(document.getElementById('{stem}').querySelector('.poses').textContent).poses, i = 0; \
         while (p[i + 1].station_m - p[i].station_m > 1e-6) {{ i += 1; }} \
         var s = document.getElementById('{stem}-slider'); s.value = i - 1; s.dispatchEvent(new Event('input')); return i;"
    ));
    browser.click(&format!("#{stem} .play"));
    let (mut said, mut gap, mut wheels) = (false, false, Vec::new());
    // A minute at most, on a busy machine: it needs three seconds.
    for _ in 0..1200 {
        if said && gap && wheels.len() > 1 {
            break;
        }
        std::thread::sleep(Duration::from_millis(50));
        // Both at one moment: it plays on between two questions.
        let words_and_place = browser.ask(&format!(
            "var p = document.getElementById('{stem}'); \
             return [p.querySelector('.way').textContent, +document.getElementById('{stem}-slider').value];"
        ));
        if words_and_place[0].as_str().unwrap().contains("stop, turn the wheels") {
            said = true;
            assert_eq!(words_and_place[1], at_stop);
            wheels.push(
                browser.ask(&format!("{}.getAttribute('transform')", of(".moving .steered"))).to_string(),
            );
            wheels.dedup();
        }
        gap |= browser.ask(&format!("{}.getAttribute('d')", of(".moving .gap"))) != "";
    }
    assert!(said && wheels.len() > 1, "it stands and turns its wheels: {wheels:?}");
    assert!(gap, "the gap is drawn while it moves");
    browser.ask(&format!("var b = document.getElementById('{stem}').querySelector('.play'); if (b.textContent === 'Pause') {{ b.click(); }}"));
    let stem = stems[0];
    // A reader who prefers reduced motion gets steps instead.
    let calm = json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] });
    browser.command("Emulation.setEmulatedMedia", &calm);
    browser.keys(&format!("#{stem}-slider"), HOME);
    browser.click(&format!("#{stem} .play"));
    std::thread::sleep(Duration::from_millis(500));
    assert_eq!(browser.ask(&slider), 0, "it moves at once");
    let stepped = (0..40).any(|_| {
        std::thread::sleep(Duration::from_millis(100));
        browser.ask(&slider).as_u64().unwrap() >= 4
    });
    assert!(stepped, "it makes no step");
    browser.click(&format!("#{stem} .play"));

    stands_up(&browser);
    let dark = json!({ "features": [{ "name": "prefers-color-scheme", "value": "dark" }] });
    browser.command("Emulation.setEmulatedMedia", &dark);
    assert_ne!(browser.ask("return getComputedStyle(document.body).backgroundColor"), "rgb(255, 255, 255)");
    stands_up(&browser);
    // The accessibility tree that the browser gives a screen reader.
    let tree = browser.command("Accessibility.getFullAXTree", &json!({}));
    let mut named = 0;
    for node in tree["nodes"].as_array().unwrap().iter().filter(|n| n["ignored"] == false) {
        let role = node["role"]["value"].as_str().unwrap_or_default();
        if ["button", "slider", "link", "image", "table", "heading", "article", "region"].contains(&role) {
            assert!(!node["name"]["value"].as_str().unwrap_or_default().trim().is_empty(), "no name: {node}");
            named += 1;
        }
    }
    assert!(named > 30, "{named}");
    let log = browser.post("/se/log", &json!({ "type": "browser" }));
    assert_eq!(log, json!([]), "the console");
}

/// Checks the page on a desktop and on a phone: nothing wider than the screen, nothing that [`CHECK`] or axe-core
/// finds.
fn stands_up(browser: &Browser) {
    for (name, width, height, mobile) in
        [("desktop", 1200, 900, false), ("tablet", 768, 1024, true), ("phone", 360, 740, true)]
    {
        browser.size(width, height, mobile);
        let wide = browser.ask("return document.documentElement.scrollWidth").as_u64().unwrap();
        assert!(wide <= u64::from(width), "{name}: the page is {wide} pixels wide");
        assert_eq!(browser.ask(CHECK), json!([]), "{name}");
        let shot = browser
            .command("Page.captureScreenshot", &json!({ "format": "png", "captureBeyondViewport": true }));
        assert!(shot["data"].as_str().unwrap().len() > 50_000, "{name}: a blank page");
        match std::env::var("AXE_CORE") {
            Ok(path) => {
                let axe = std::fs::read_to_string(path).unwrap();
                browser.ask(&format!("{axe}; return 1"));
                let run = "return axe.run(document).then(function (r) { return r.violations.map(function (v) { return v.id + ': ' + v.nodes.map(function (n) { return n.html.slice(0, 120); }).join(' | '); }); })";
                assert_eq!(browser.ask(run), json!([]), "{name}: axe-core");
            }
            Err(_) => eprintln!("NOT RUN: axe-core's rules, as AXE_CORE names no script of it"),
        }
    }
}

#[test]
fn savings_charts_and_the_gate_to_order_fit_a_phone_and_paper() {
    let folder = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(folder.path(), "the page was not opened in a browser") else { return };
    let wanted = [Wanted { travels: vec!["westbound".to_owned()], ..Wanted::from(find("car").unwrap()) }];
    let effort =
        Effort { lattice: 5_000, drawn: 4, coarse: 4, polished: 1, fine: 4, finest: 0, ..Effort::USUAL };
    let options = StudyOptions { effort, tradeoff: true, ..StudyOptions::default() };
    let mut study = study(site::read(PLAN, "yard.geojson").unwrap(), &wanted, &options, &|_| ());
    study.gate = Some(plan_gate(&study, (&wanted, &options), &GateOptions::default(), &|_| ()));
    let file = folder.path().join("report.html");
    std::fs::write(&file, page(&study)).unwrap();
    browser.size(360, 740, true);
    browser.open(&format!("file://{}", file.display()));
    for section in ["saves", "charts", "gate", "order"] {
        let words = format!("return document.getElementById('{section}').parentNode.textContent.length");
        assert!(browser.ask(&words).as_u64().unwrap() > 80, "{section}");
    }
    assert_eq!(browser.ask("return document.querySelectorAll('#charts ~ svg').length"), 2);
    stands_up(&browser);
    // On a phone each value of the short list stands beside the name of its column.
    let named = "return getComputedStyle(document.querySelector('.order td'), '::before').content";
    assert!(browser.ask(named).as_str().unwrap().contains("Order"));
    // All sizes are shown on request, by mouse or keyboard, and scroll sideways by themselves.
    let open = "return document.querySelector('details').open";
    assert_eq!(browser.ask(open), false);
    browser.keys("summary", "\u{e007}");
    assert_eq!(browser.ask(open), true);
    let sideways = "var s = document.querySelector('.schedule'); return [s.scrollWidth > s.clientWidth, \
                    s.getBoundingClientRect().right <= 360]";
    assert_eq!(browser.ask(sideways), json!([true, true]));
    stands_up(&browser);
    // On paper the still plans and the short list stay, and the controls go.
    browser.command("Emulation.setEmulatedMedia", &json!({ "media": "print" }));
    let shown = "return ['.player', '.plan svg', '.order', '#charts ~ svg'].map(function (s) { \
                 return document.querySelector(s).getBoundingClientRect().height > 0; })";
    assert_eq!(browser.ask(shown), json!([false, true, true, true]));
    let printed = browser.command("Page.printToPDF", &json!({ "paperWidth": 8.5, "paperHeight": 11 }));
    assert!(printed["data"].as_str().unwrap().len() > 20_000, "nothing printed");
    assert_eq!(browser.post("/se/log", &json!({ "type": "browser" })), json!([]), "the console");
}
