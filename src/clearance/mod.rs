//! The gap between a vehicle and the site, the opening a pose or a whole path needs, and bounds that hold between
//! the sampled poses.
//!
//! Everything here happens in the gate's own frame: origin midway between the faces as drawn, x along the gate line
//! toward the right face (`u`), y inward (`v`).
//!
//! - [`Surroundings`]: what stands on the site, in that frame, cut into convex pieces;
//! - [`CollisionModel`]: one vehicle in it, at one clearance: the need of a pose;
//! - [`inspect()`]: a whole path, with a bound that holds between its samples ([`measure()`]).
//!
#![doc = include_str!("README.md")]
mod active_set;
mod bvh;
pub mod canonical;
mod collision_model;
mod continuous;
mod convex_pieces;
mod ground;
mod inspect;
mod need;
mod overlap;
mod road_line;
mod surroundings;

pub use active_set::{ActiveSet, NeedFields};
pub use bvh::{Bvh, Pieces};
pub use collision_model::{CollisionModel, ModelPart, ModelTire, ModelUnit, Placed, Scratch};
pub use continuous::{STEP_M, SampledPath, measure, measure_drive, second_derivative_bounds, slabs};
pub use ground::{Region, SEAM_M};
pub use inspect::{Inspection, Touch, inspect, sampled_need, touches, touches_within};
pub use need::{AMPLE_M, PoseNeed, opening_for};
pub use overlap::{Overlap, overlaps};
pub use surroundings::{Band, FixedPiece, GateFrame, Material, MovingPiece, SideOfGate, Surroundings, Thing};
