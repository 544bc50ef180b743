//! The planning board: its server, asked over plain sockets, so that every byte of a request is this test's own; and its page in
//! a real browser.
#[path = "../common/board.rs"]
mod board;
mod browser;
mod by_hand;
mod keeping;
mod keyboard;
mod limits;
mod page;
mod program;
mod running;
mod server;
mod tabs;
#[path = "../common/browser.rs"]
mod webdriver;
