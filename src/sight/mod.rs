//! Sight on leaving: how much of the road a driver sees from the drive, against published sight distances.
//!
//! - [`SIGHT_RULES`] and [`WALK_RULES`]: the published rules as data, each figure with its source;
//! - [`required_m`]: the distance that a rule requires to be seen, by speed and kind of vehicle;
//! - [`mouth`] and [`reaches`]: the driver's place on the drive, and the lines along the drawn road that must be seen;
//! - [`hidden`]: what a standing thing hides of such a line, by critical angles;
//! - [`survey()`]: all of it for a site: what is seen, what hides it, and what would clear it.
//!
//! The land is taken as level, leaves and fences as opaque, and the drive as straight out from the gate. A thing whose
//! height the plan does not give hides everything above its underside. Which rule holds is for the local authority to
//! say.
//!
#![doc = include_str!("README.md")]
mod checks;
mod drive;
mod fix;
mod required;
mod rules;
mod shadow;
mod survey;
mod things;
mod walk;

pub use checks::checks;
pub use drive::{Mouth, Reach, first_of, mouth, reaches};
pub use fix::{MOST_BACK_M, SightFix, Wanted, fix_of, step_m};
pub use required::{
    Class, Given, TrafficLane, gap_s, required_m, road_stopping_m, stopping_ft, stopping_m, time_gap_ft,
};
pub use rules::{
    Along, Distance, Heights, SIGHT_RULES, STOPPING_EYE_M, STOPPING_OBJECT_M, SightRule, Sourced, UK_STREETS,
    UK_TRUNK_ROADS, WALK_RULES, WalkCorner, WalkRule, sight_rule, walk_rule,
};
pub use shadow::{SightHeights, Solid, hidden, merged};
pub use survey::{Hider, Look, LookOutcome, RoadFinding, SightOptions, SightPlan, ground_between, survey};
pub use things::{Blocker, blockers};
pub use walk::{WalkFinding, WalkTriangle};
