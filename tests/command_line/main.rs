//! The real program as people run it: its output, its files, its exit status, and what it says when something is wrong.
mod antimeridian;
mod cli;
#[path = "../common/mod.rs"]
mod common;
mod determinism;
mod far_side;
mod first_use;
mod hostile;
mod many_sites;
mod more_files;
mod sight_cli;
