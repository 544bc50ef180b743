//! A gate of a stock size as it must be built: widths between posts and between columns, the depth its leaves take,
//! openers, weight and the pull on the hinges.
//!
//! A gate is sold by the width of its leaves together. The dimensions around them come from the [`Allowances`].
use super::Allowances;
use crate::site::{Arrangement, Swing};

/// A stock gate, built.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Assembly {
    /// Number of leaves and their motion.
    pub arrangement: Arrangement,
    /// The direction in which swinging leaves open.
    pub opens: Swing,
    /// The size it is sold by: its leaves together (a sliding leaf without its tail).
    pub stock_m: f64,
    /// Width of one leaf.
    pub leaf_width_m: f64,
    /// The opening: inner face of one post to inner face of the other.
    pub opening_m: f64,
    /// Clear width for a vehicle with the leaves standing open at 90 degrees: the pin stands in the middle of the hinge
    /// gap, and half the leaf's thickness reaches beyond it.
    pub clear_m: f64,
    /// The opening a study compares with: half of each hinge gap is subtracted, and leaves stand in it as obstacles.
    pub counted_m: f64,
    /// Over both posts, outside to outside.
    pub outside_m: f64,
    /// Between the columns' inner faces where the posts stand inside them.
    pub column_face_m: f64,
    /// Clear depth a swinging leaf needs behind it (or in front, swinging out); 0 for a sliding one.
    pub swing_depth_m: f64,
    /// Room a sliding leaf needs beside the opening, its tail included; 0 for a swinging one.
    pub run_back_m: f64,
    /// Number of openers that drive it.
    pub openers: u32,
    /// Wire or conduit under the drive between the two posts of a double gate, middle to middle.
    pub conduit_m: Option<f64>,
    /// Weight of one leaf by material, and the pull on its top hinge.
    pub weights: Vec<LeafWeight>,
    /// True if a leaf of this width is usually made.
    pub usual: bool,
}

/// Weight of one leaf in a material.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct LeafWeight {
    /// The material: "iron".
    pub material: String,
    /// Weight of one leaf, kilograms.
    pub weight_kg: f64,
    /// Horizontal pull on the top hinge, as the weight of this many kilograms; `None` for a sliding leaf.
    pub hinge_pull_kg: Option<f64>,
}

/// Number of leaves of an arrangement.
#[must_use]
pub const fn leaf_count(arrangement: Arrangement) -> u32 {
    match arrangement {
        Arrangement::None => 0,
        Arrangement::Single(_) | Arrangement::Slide(_) => 1,
        Arrangement::Double => 2,
    }
}

/// The horizontal pull on the top hinge of a leaf, in the unit of its weight: W·b / (2h).
///
/// `weight` hangs at half the leaf's width `width_m`; the hinges are `spacing_m` apart. Moments about the bottom hinge:
/// the pull times the spacing equals the weight times half the width. The bottom hinge pushes as much. Statics; holds
/// for a leaf of even weight that no wheel or cable carries.
///
/// ```
/// // An iron leaf 5 ft wide on hinges 3 ft apart: 102 lb · 5 / (2 · 3) = 85 lb.
/// let pull = wideenough::gate::hinge_pull(102.0, 5.0 * 0.3048, 3.0 * 0.3048);
/// assert!((pull - 85.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn hinge_pull(weight: f64, width_m: f64, spacing_m: f64) -> f64 {
    weight * width_m / (2.0 * spacing_m)
}

/// Difference between the opening between the posts and the width of the leaves together: the gaps at hinges, latch and
/// center. Negative for a sliding leaf, which overlaps the post it closes against.
#[must_use]
pub const fn gaps_m(allowances: &Allowances, arrangement: Arrangement) -> f64 {
    let a = allowances;
    match arrangement {
        Arrangement::Single(_) => a.hinge_gap_m + a.latch_gap_m,
        Arrangement::Double => 2.0 * a.hinge_gap_m + a.center_gap_m,
        Arrangement::Slide(_) => -a.slide_overlap_m,
        Arrangement::None => 0.0,
    }
}

/// The width of each leaf of a gate made for an opening.
///
/// ```
/// use wideenough::gate::{built_in, made_leaf_m};
/// use wideenough::site::Arrangement;
/// // A 16-ft opening: 6 1/2 in of gaps leave two leaves of 7' 8 3/4".
/// let leaf_m = made_leaf_m(&built_in(), Arrangement::Double, 16.0 * 0.3048);
/// assert!((leaf_m / 0.0254 - 92.75).abs() < 0.01, "{}", leaf_m / 0.0254);
/// ```
#[must_use]
pub fn made_leaf_m(allowances: &Allowances, arrangement: Arrangement, opening_m: f64) -> f64 {
    (opening_m - gaps_m(allowances, arrangement)) / f64::from(leaf_count(arrangement).max(1))
}

/// A stock gate of this size and arrangement.
#[must_use]
pub fn assembly(allowances: &Allowances, arrangement: Arrangement, opens: Swing, stock_m: f64) -> Assembly {
    let a = allowances;
    let count = leaf_count(arrangement);
    let hinges = match arrangement {
        Arrangement::Single(_) | Arrangement::Double => f64::from(count),
        Arrangement::Slide(_) | Arrangement::None => 0.0,
    };
    let leaf_width_m = stock_m / f64::from(count.max(1));
    let opening_m = (stock_m + gaps_m(a, arrangement)).max(0.0);
    let swings = hinges > 0.0;
    let pin_m = 0.5 * a.hinge_gap_m;
    let outside_m = opening_m + 2.0 * a.post_m;
    let weights = a.materials.iter().filter(|_| count > 0).map(|material| {
        let weight_kg = material.kg_per_m * leaf_width_m;
        LeafWeight {
            material: material.name.clone(),
            weight_kg,
            hinge_pull_kg: swings.then(|| hinge_pull(weight_kg, leaf_width_m, a.hinge_spacing_m)),
        }
    });
    Assembly {
        arrangement,
        opens,
        stock_m,
        leaf_width_m,
        opening_m,
        clear_m: opening_m - hinges * (pin_m + 0.5 * a.leaf_thickness_m),
        counted_m: opening_m - hinges * pin_m,
        outside_m,
        column_face_m: outside_m + 2.0 * a.column_gap_m,
        swing_depth_m: if swings { leaf_width_m + a.swing_room_m } else { 0.0 },
        run_back_m: match arrangement {
            Arrangement::Slide(_) => stock_m + a.slide_tail * opening_m,
            _ => 0.0,
        },
        openers: count,
        conduit_m: (arrangement == Arrangement::Double).then_some(opening_m + a.post_m),
        weights: weights.collect(),
        usual: !swings || leaf_width_m <= a.widest_single_leaf_m + 1e-9,
    }
}
