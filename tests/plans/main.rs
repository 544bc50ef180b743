//! What is read: plans, vehicles, allowances and lengths, sound ones and faulty ones, and random input of every kind.
mod bad_plans;
mod bad_vehicles;
mod boundaries;
mod changed_sites;
#[path = "../common/mod.rs"]
mod common;
mod contradictions;
mod free_gate;
mod fuzz;
mod gate;
mod map_programs;
mod other_roads;
mod pages;
mod read;
mod roads;
mod vehicles;
