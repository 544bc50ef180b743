//! The proven lower bound on the opening: held against drives that exist, one at a time and by the thousand.
mod bound;
#[path = "../common/mod.rs"]
mod common;
mod drives;
mod ruled_out;
mod thousands;
