//! How wide must a driveway gate be? `wideenough` reads a site plan and the vehicles that must get in, drives
//! each one through the gate by its own kinematics, and answers with the narrowest opening each needs.
//!
//! From the text of a plan to the opening that a vehicle needs:
//!
//! ```
//! use wideenough::opening::{StudyOptions, Verdict, reported_m, study, vehicle_verdict};
//! use wideenough::{site, vehicle};
//!
//! # fn main() -> Result<(), wideenough::Error> {
//! // A road 7 m wide, and 5.5 m from its edge a gate 3.6 m wide without leaves; lengths in meters.
//! let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
//!     { "type": "Feature", "properties": { "role": "road", "width": 7, "continues": "both" },
//!       "geometry": { "type": "LineString", "coordinates": [[-60, 0], [60, 0]] } },
//!     { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
//!       "geometry": { "type": "LineString", "coordinates": [[-1.8, 9], [1.8, 9]] } } ] }"#;
//! let site = site::read(plan, "plan.geojson")?;
//! assert!((site.gate.setback_m - 5.5).abs() < 1e-9);
//!
//! let car = vehicle::find("car")?;
//! let options = StudyOptions::default().with_clearance_m(0.3).with_changes(false);
//! let study = study(site, &[car.into()], &options, &|_progress| {});
//!
//! // It can come in straight: bare it needs its width over the mirrors, 81 inches, rounded up to 0.1 mm and a little
//! // more where the path between two poses is bounded; in comfort 0.3 m on each side besides.
//! let need = &study.needs[0];
//! let bare_m = reported_m(need.bare_opening_m.expect("there is a way in"));
//! let comfortable_m = reported_m(need.comfortable_opening_m.expect("there is a way in"));
//! assert!((2.0574..2.058).contains(&bare_m), "{bare_m}");
//! assert!((2.6574..2.658).contains(&comfortable_m), "{comfortable_m}");
//! assert_eq!(vehicle_verdict(&study, 0), Verdict::Comfortable);
//! # Ok(())
//! # }
//! ```
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
//! Each module that can refuse its input has an error type; all of them convert into [`enum@Error`].
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
