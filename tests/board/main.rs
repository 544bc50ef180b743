//! The planning board: its server, asked over plain sockets, so that every byte of a request is this test's own; and its page in
//! a real browser.
#[path = "../common/board.rs"]
mod board;
mod browser;
mod keeping;
mod limits;
mod page;
mod program;
mod running;
mod server;
#[path = "../common/browser.rs"]
mod webdriver;
