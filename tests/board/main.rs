//! The planning board: its server, asked over plain sockets, so that every byte of a request is this test's own.
#[path = "../common/board.rs"]
mod board;
mod keeping;
mod running;
mod server;
