//! The gap between a vehicle and the site, the opening a pose or a whole path needs, and bounds that hold between
//! the poses looked at.
//!
//! Everything here happens in the gate's own frame: origin midway between the faces as drawn, x along the gate line
//! toward the right face (`u`), y inward (`v`).
//!
//! - [`Surroundings`]: what stands on the site, in that frame, cut into convex pieces;
//! - [`Encounter`]: one vehicle against it, at one clearance: what a pose needs;
//! - [`inspect()`]: a whole path, with a bound that holds between its samples ([`measure()`]).
//!
#![doc = include_str!("README.md")]
mod binding;
pub mod canonical;
mod encounter;
mod ground;
mod inspect;
mod measure;
mod near;
mod need;
mod overlap;
mod road_line;
mod surroundings;

pub use binding::{Asked, Binding};
pub use encounter::{Encounter, EncounterPart, EncounterTire, EncounterUnit, Placed, Scratch};
pub use ground::{Region, SEAM_M};
pub use inspect::{Inspection, Touch, glance, inspect, touches, touches_within};
pub use measure::{Drive, STEP_M, measure, measure_drive, second_derivative_bounds, slabs};
pub use near::{Nearby, Pieces};
pub use need::{AMPLE_M, PoseNeed, opening_for};
pub use overlap::{Overlap, overlaps};
pub use surroundings::{Band, Block, GateFrame, Material, SideOfGate, Standing, Surroundings, Thing};
