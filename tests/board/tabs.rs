//! Unsaved work of several tabs on the page: none is lost, and none replaces a file unasked.
use super::limits::names_in;
use super::page::Page;
use super::program::Server;
use super::webdriver::Browser;
use crate::board::wait_for;
use serde_json::{Value, json};
use std::fs;
use std::time::Duration;

/// Two tabs with unsaved work of one plan; then browser and program die and all that the browser kept is lost. The next page has
/// the newer work and offers the other.
#[test]
fn unsaved_work_of_two_tabs_outlives_browser_and_program() {
    let home = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(home.path(), "two tabs were not opened") else { return };
    let folder = home.path().join("places");
    fs::create_dir(&folder).unwrap();
    let text = crate::board::example("field-sketch");
    fs::write(folder.join("yard.geojson"), &text).unwrap();
    let mut server = Server::start(&folder, &["yard.geojson"], 0);
    let work = |page: &Page, title: &str| {
        page.browser.ask(&format!(
            "board.model.change('Title', board.model.withSettings({{ title: '{title}' }})); return 1"
        ));
        page.browser.wait("the draft", "document.getElementById('saved').textContent.includes('draft')");
    };
    let page = Page { browser: &browser };
    page.open(&server.address);
    work(&page, "First");
    let second = browser.post("/window/new", &json!({ "type": "tab" }));
    browser.post("/window", &json!({ "handle": second["handle"] }));
    page.open(&server.address);
    assert_ne!(page.browser.ask("return board.model.settings.title"), "First", "the first tab owns it");
    work(&page, "Second");
    let port = server.port();
    server.kill();
    drop(browser);
    let other = home.path().join("other");
    let browser = Browser::start(&other, "a new browser was not opened").unwrap();
    let page = Page { browser: &browser };
    let server = Server::start(&folder, &["yard.geojson"], port);
    page.open(&server.address);
    page.browser.wait("the newer work", "board.model.settings.title === 'Second'");
    page.browser.wait("the other", "document.querySelector('[data-kind=other-0]')");
    page.browser.wait("its own draft", "document.getElementById('saved').textContent.includes('draft')");
    page.browser.ask("[...document.querySelectorAll('[data-kind=other-0] button')].find((b) => b.textContent === 'Open it').click(); return 1");
    page.browser.wait("the older work", "board.model.settings.title === 'First'");
    // That left for it is still there, and is thrown away only by a word.
    page.open(&server.address);
    page.browser.wait("the older work again", "board.model.settings.title === 'First'");
    page.browser.wait("the left one", "document.querySelector('[data-kind=other-0]')");
    assert_eq!(fs::read_to_string(folder.join("yard.geojson")).unwrap(), text, "nothing is saved unasked");
    let drafts = || names_in(&folder).into_iter().filter(|name| name.ends_with(".draft")).count();
    wait_for("each has one draft", || drafts() == 2);
    page.browser.ask("[...document.querySelectorAll('[data-kind=other-0] button')].find((b) => b.textContent === 'Discard it').click(); return 1");
    wait_for("it is gone", || drafts() == 1);
    page.press("#save");
    page.browser.wait("saved", "!board.keep.dirty");
    wait_for("no draft is left", || drafts() == 0);
    assert!(fs::read_to_string(folder.join("yard.geojson")).unwrap().contains("\"First\""));
}

/// Work on a file that has been saved by another since does not replace it without a question.
#[test]
fn a_draft_older_than_the_file_asks_before_it_replaces_it() {
    let home = tempfile::tempdir().unwrap();
    let Some(browser) = Browser::start(home.path(), "an old draft was not opened") else { return };
    let folder = home.path().join("places");
    fs::create_dir(&folder).unwrap();
    let text = crate::board::example("field-sketch");
    let plan: Value = serde_json::from_str(&text).unwrap();
    let titled = |title: &str| {
        let mut plan = plan.clone();
        plan["plan"]["title"] = json!(title);
        plan.to_string()
    };
    fs::write(folder.join(".yard.geojson.gone1.draft"), titled("Old")).unwrap();
    std::thread::sleep(Duration::from_millis(20));
    fs::write(folder.join("yard.geojson"), titled("Newer")).unwrap();
    let server = Server::start(&folder, &["yard.geojson"], 0);
    let page = Page { browser: &browser };
    page.open(&server.address);
    page.browser.wait("the draft", "board.model.settings.title === 'Old'");
    page.press("#save");
    page.browser.wait("the question", "document.querySelector('dialog.ask[open]')");
    assert!(fs::read_to_string(folder.join("yard.geojson")).unwrap().contains("Newer"));
}
