//! Answers of whole studies and of the search, held to laws, to facts of the trade, to published turnarounds, and to
//! drives measured again by a plain second method.
mod beside_bends;
#[path = "../common/mod.rs"]
mod common;
mod drawn_clearance;
mod driving;
mod fixes;
mod limits;
mod odd_places;
mod other_roads;
mod referee;
mod routes;
mod search_again;
mod search_bounds;
mod search_lattice;
mod second_opinion;
mod sight;
mod sight_places;
mod spots;
mod trade;
mod turn_around;
mod turn_places;
mod visits;
