//! Drawings, sheets, pictures and the page: what they show, where their texts stand, and how other programs read them.
mod browser;
mod charts;
#[path = "../common/mod.rs"]
mod common;
mod crowding;
mod drawing;
mod gray;
mod landscape;
mod page;
mod print;
mod template_sheets;
#[path = "../common/browser.rs"]
mod webdriver;
