//! Laws and closed forms of motion, clearance, sweeps and the search's arithmetic: the library alone, without a study.
//! They run without the features of the command too: `cargo test --no-default-features --test laws`.
mod any_place;
mod changes;
mod clearance_closed_forms;
mod clearance_laws;
#[path = "../common/mod.rs"]
mod common;
mod crowds;
mod lengths;
mod linear_programs;
mod motion_closed_forms;
mod motion_limits;
mod path_limits;
mod projection;
mod search_sight;
mod search_slopes;
mod shortest;
mod sweep;
