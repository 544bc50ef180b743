//! The gate itself: the sweep of its leaves and the obstacles that stop them, room to wait for it, the dimensions of
//! stock gates, and published rules about gates.
//!
//! All of it is plain geometry on a settled site; whether a vehicle passes is decided in [`crate::opening`].
//!
//! - [`Allowances`]: dimensions of the hardware beside the leaves, from a file, each figure with its source;
//! - [`assembly()`]: a stock gate as it must be built: posts, columns, swing depth, weight, pull on the hinge;
//! - [`leaf_swings`] and [`run_back`]: the travel of the leaves, and the obstacles that stop them;
//! - [`waiting()`]: room to stand clear of the road and of the leaves while the gate opens;
//! - [`RULES`]: published rules, each with its citation.
//!
#![doc = include_str!("README.md")]
mod allowances;
mod assembly;
pub mod file;
mod pieces;
mod rules;
mod swing;
mod waiting;

pub use allowances::{Allowances, AllowancesError, Figure, Material, Measure, built_in, read};
pub use assembly::{Assembly, LeafWeight, assembly, gaps_m, hinge_pull, leaf_count, made_leaf_m};
pub use file::schema;
pub(crate) use pieces::is_sidewalk;
pub use rules::{Difference, RULES, Rule, RuleCheck, RuleFinding, RuleOutcome, check_rules, rule};
pub use swing::{
    LeafSwing, LeafTravel, RunBack, Stop, StopKind, drawn_leaf_m, leaf_swings, run_back, standing, swept,
};
pub use waiting::{Waiting, arc_depth, road_gap, waiting};

use crate::site::{Arrangement, Swing};

/// Note printed wherever sizes to order are given.
pub const MAKERS_DIFFER: &str =
    "Makers differ: get the chosen maker's own figures before any column is built.";

/// An arrangement in words: "double, swinging in", "single hinged left, swinging out", "sliding to the left".
#[must_use]
pub fn arrangement_words(arrangement: Arrangement, opens: Swing) -> String {
    let way = match opens {
        Swing::In => "in",
        Swing::Out => "out",
    };
    match arrangement {
        Arrangement::Single(hinge) => format!("single hinged {}, swinging {way}", hinge.word()),
        Arrangement::Double => format!("double, swinging {way}"),
        Arrangement::Slide(to) => format!("sliding to the {}", to.word()),
        Arrangement::None => "no leaf".to_owned(),
    }
}
