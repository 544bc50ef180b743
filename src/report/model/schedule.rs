//! The gate to order in results.json: arrangements of leaves, stock sizes, room to wait.
use super::ByName;
use super::gate::{LeafSwing, RunBack};
use super::words::{DrawnGate, Leaves, Side, Swing, Verdict};
use schemars::JsonSchema;
use serde::Serialize;

/// Number of leaves and how they move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct LeavesOf {
    /// Number of leaves and how they move.
    pub leaves: Leaves,
    /// Side on which a single leaf hangs, or to which a sliding leaf runs back. Null for two leaves and for none.
    pub hinge: Option<Side>,
    /// Direction in which the leaves swing. Null where none swings.
    pub opens: Option<Swing>,
}

/// A vehicle waiting at the gate, square to the gate line, in the middle of the opening.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Waiting {
    /// Name of the vehicle.
    pub vehicle: String,
    /// Length of the vehicle with all that it tows, meters, rounded up to 0.1 mm.
    pub length_m: f64,
    /// Room outside, before the gate.
    pub outside: WaitingOutside,
    /// Room inside, behind the gate.
    pub inside: WaitingInside,
}

/// Room to wait outside.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct WaitingOutside {
    /// Distance from the gate line to the vehicle's front, clear of leaves swinging out, meters, rounded up to 0.1 mm.
    pub back_m: f64,
    /// Room from its front back to the edge of the traveled way, meters, rounded down to 0.1 mm.
    pub room_m: f64,
    /// Room that is missing to stand clear of the road, meters, rounded up to 0.1 mm; 0 where there is enough.
    pub missing_m: f64,
}

/// Room to wait inside.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct WaitingInside {
    /// Distance from the gate line to the vehicle's front, clear of leaves swinging in, meters, rounded up to 0.1 mm.
    pub back_m: f64,
    /// Room from its front back to the first thing behind it, meters, rounded down to 0.1 mm. Null where nothing stands
    /// there.
    pub room_m: Option<f64>,
    /// Label of that thing. Null where nothing stands there.
    pub against: Option<String>,
    /// Room that is missing, meters, rounded up to 0.1 mm; 0 where there is enough.
    pub missing_m: f64,
}

/// An arrangement of leaves, and the opening that each vehicle needs with it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Arrangement {
    /// The leaves.
    #[serde(flatten)]
    pub of: LeavesOf,
    /// True for the arrangement as drawn.
    pub as_drawn: bool,
    /// Need of each vehicle.
    pub needs: Vec<ArrangementNeed>,
    /// Smallest stock size that suits, meters, to 0.1 mm. Null if none does.
    pub order_m: Option<f64>,
    /// Smallest stock size that will do if every vehicle may back in, meters, to 0.1 mm. Null unless it is smaller.
    pub order_if_backing_in_m: Option<f64>,
}

/// The opening that a vehicle needs with an arrangement of leaves.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct ArrangementNeed {
    /// Name of the vehicle.
    pub vehicle: String,
    /// Opening without clearance, meters, rounded up to 0.1 mm; for a vehicle that turns around inside that of the whole
    /// visit. Null where no way in is known.
    pub bare_opening_m: Option<f64>,
    /// Opening with the study's clearance, meters, rounded up to 0.1 mm. Null where no way in is known.
    pub comfortable_opening_m: Option<f64>,
    /// Need by backing in. Null unless that does not count toward the verdict and was studied.
    pub backing_in: Option<NeedOneWay>,
    /// Need for driving in alone, of a vehicle that turns around inside; absent for others.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub driving_in: Option<NeedOneWay>,
    /// Need for driving out forward alone, of a vehicle that turns around inside; absent for others.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub driving_out: Option<NeedOneWay>,
}

/// The opening that a vehicle needs for one way through a gate with an arrangement of leaves.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct NeedOneWay {
    /// Opening without clearance, meters, rounded up to 0.1 mm. Null where no way in is known.
    pub bare_opening_m: Option<f64>,
    /// Opening with the study's clearance, meters, rounded up to 0.1 mm. Null where no way in is known.
    pub comfortable_opening_m: Option<f64>,
}

/// An arrangement of leaves in a stock size.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct ScheduleRow {
    /// The gate with its hardware.
    #[serde(flatten)]
    pub assembly: Assembly,
    /// Verdict on each vehicle, by its name.
    pub passes: ByName<Verdict>,
    /// Verdict on driving in alone, of vehicles that turn around inside, by their names; absent without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drives_in: Option<ByName<DrawnGate>>,
    /// Verdict on driving out forward alone, of the same vehicles; absent without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drives_out: Option<ByName<DrawnGate>>,
    /// Leaves that something stops before they are open.
    pub stopped_leaves: Vec<LeafSwing>,
    /// The sliding leaf. Null without one.
    pub run_back: Option<RunBack>,
    /// Room missing to wait clear of the road, for the vehicle that lacks most, meters, rounded up to 0.1 mm.
    pub waiting_missing_m: f64,
    /// True if its opening is no wider than the one drawn.
    pub fits_drawn_opening: bool,
    /// True if nothing counts against it: every vehicle passes in comfort, its leaves open, and such leaves are made.
    pub suits: bool,
}

/// A stock gate as it must be built.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Assembly {
    /// The leaves.
    #[serde(flatten)]
    pub of: LeavesOf,
    /// Size it is sold by, its leaves together, meters, to 0.1 mm.
    pub stock_m: f64,
    /// Width of one leaf, meters, to 0.1 mm.
    pub leaf_width_m: f64,
    /// Opening from the inner face of one post to that of the other, meters, to 0.1 mm.
    pub opening_m: f64,
    /// Clear width for a vehicle with the leaves open at 90 degrees, meters, rounded down to 0.1 mm.
    pub clear_m: f64,
    /// The opening that a need is compared with: half of each hinge gap is subtracted; meters, rounded down to 0.1 mm.
    pub counted_m: f64,
    /// Width over both posts, outside to outside, meters, to 0.1 mm.
    pub outside_m: f64,
    /// Width between the inner faces of columns that enclose the posts, meters, to 0.1 mm.
    pub column_face_m: f64,
    /// Clear depth that a swinging leaf needs, meters, rounded up to 0.1 mm; 0 for a sliding one.
    pub swing_depth_m: f64,
    /// Room that a sliding leaf needs beside the opening, its tail included, meters, rounded up to 0.1 mm; 0 for a
    /// swinging one.
    pub run_back_m: f64,
    /// Number of openers that drive it.
    pub openers: u32,
    /// Wire or conduit under the drive between the two posts, middle to middle, meters, rounded up to 0.1 mm. Null
    /// where none is needed.
    pub conduit_m: Option<f64>,
    /// True if a leaf of this width is usually made.
    pub usual_leaf: bool,
    /// Weight of one leaf by material.
    pub weights: Vec<Weight>,
}

/// Weight of one leaf in a material.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Weight {
    /// The material: "iron".
    pub material: String,
    /// Weight of one leaf, kilograms, to a gram.
    pub leaf_weight_kg: f64,
    /// Horizontal pull on the top hinge, as the weight of this many kilograms, to a gram. Null for a sliding leaf.
    pub top_hinge_pull_kg: Option<f64>,
}
