//! How wide must a driveway gate be? `wideenough` reads a site plan and the vehicles that must get in, drives
//! each one through the gate by its own kinematics, and answers with the narrowest opening each needs.
//!
//! Data flows one way, and each module reads only the modules above it:
//!
//! | module | what it does |
//! |---|---|
//! | [`geometry`] | lengths, points, polygons, exact side tests; knows nothing of vehicles |
//! | [`site`] | a GeoJSON plan, settled into meters, with every fault listed |
//! | [`vehicle`] | a vehicle file, settled into outlines and limits; the built-in library |
//! | [`motion`] | poses, chains of units, paths without tire slip |
//! | [`clearance`] | the gap between a moving vehicle and the site; the opening a pose needs |
//! | [`search`] | the narrowest opening over the maneuvers a vehicle can drive |
//! | [`bound`] | a proven lower bound on what any maneuver needs, by reachability |
//! | [`sweep`] | the ground a path covers |
//! | [`gate`] | leaf arcs and what stops them, waiting room, stock gates, rules |
//! | [`sight`] | what a driver sees of the road on leaving, against published sight distances |
//! | [`opening`] | a study: every vehicle, travel and maneuver, bare and in comfort |
//! | [`drawing`] | what to draw, and the writers that draw it |
//! | [`report`] | the same facts as a table, as JSON and as plain words |
//!
//! What may be refused has an error of its module; all of them convert into [`enum@Error`].
//!
//! Axes: meters, x east, y north; headings in radians counterclockwise from east; a curvature is positive to
//! the left. Units stand in names wherever they could be mistaken.
pub mod bound;
pub mod clearance;
pub mod drawing;
mod error;
pub mod gate;
pub mod geometry;
pub mod motion;
pub mod opening;
pub mod report;
pub mod search;
pub mod sight;
pub mod site;
pub mod sweep;
pub mod vehicle;

pub use error::Error;

#[cfg(test)]
#[path = "../tests/common/random.rs"]
mod random;
