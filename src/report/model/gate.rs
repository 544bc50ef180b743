//! The gate in results.json: as drawn, and what the study of the gate itself found.
use super::Position;
use super::schedule::{Arrangement, LeavesOf, ScheduleRow, Waiting};
use super::words::{Anchor, RuleOutcome, Side, StopKind};
use schemars::JsonSchema;
use serde::Serialize;

/// The gate as drawn. The fields from `leaf_width_m` on are absent if the study does not include the gate to order.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Gate {
    /// Inner face of the left post on the gate line, seen from the road.
    pub left_face: Position,
    /// Inner face of the right post on the gate line.
    pub right_face: Position,
    /// Unit vector [x, y] square to the gate line, away from the road, to 1e-9.
    pub inward: [f64; 2],
    /// What stays in place where another opening is considered.
    pub anchor: Anchor,
    /// The posts.
    pub post: Post,
    /// The leaves.
    #[serde(flatten)]
    pub leaves: OpenLeaves,
    /// The gate to order. Absent if the study does not include it.
    #[serde(flatten)]
    pub plan: Option<GatePlan>,
}

/// A post of the gate.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Post {
    /// Width along the gate line, meters, to a micrometer.
    pub width_m: f64,
    /// Depth across the gate line, meters, to a micrometer.
    pub depth_m: f64,
}

/// Leaves of a gate and how far they open.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct OpenLeaves {
    /// Number of leaves and how they move.
    #[serde(flatten)]
    pub of: LeavesOf,
    /// Angle at which they stand open, degrees from closed, to 0.001.
    pub open_angle_deg: f64,
}

/// What the study of the gate itself found.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct GatePlan {
    /// Width of a leaf in the study, its share of the opening, meters, to 0.1 mm: what vehicles are held against.
    pub leaf_width_m: f64,
    /// Width of a leaf made for the opening as drawn, less the gaps at hinges, latch and center, meters, to 0.1 mm.
    pub made_leaf_width_m: f64,
    /// Width over both posts, outside to outside, meters, to 0.1 mm.
    pub outside_m: f64,
    /// Width between columns that would enclose the posts, meters, to 0.1 mm.
    pub column_face_m: f64,
    /// Clear depth that the leaves take, meters, rounded up to 0.1 mm; 0 where none swings.
    pub swing_depth_m: f64,
    /// Swinging leaves as drawn.
    pub leaf_swings: Vec<LeafSwing>,
    /// Sliding leaf as drawn. Null without one.
    pub run_back: Option<RunBack>,
    /// Vehicles waiting at the gate as drawn.
    pub waiting: Vec<Waiting>,
    /// Offset of the middle of the gate that `arrangements` and `schedule` are about, to the right of the drawn one, meters, to a
    /// micrometer: 0 but for a gate that may stand anywhere, which has its best place there.
    pub place_u_m: f64,
    /// Every arrangement of leaves, and the opening that each vehicle needs with it.
    pub arrangements: Vec<Arrangement>,
    /// Every arrangement in every stock size.
    pub schedule: Vec<ScheduleRow>,
    /// Rules that were checked.
    pub rules: Vec<Rule>,
    /// Dimensions of the hardware that all of this is worked out with.
    pub allowances: Vec<Figure>,
    /// A caution for whoever orders.
    pub caution: &'static str,
}

/// A leaf and its swing.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct LeafSwing {
    /// The post it hangs on.
    pub side: Side,
    /// Its pin.
    pub pin: Position,
    /// Its width, meters, to 0.1 mm.
    pub width_m: f64,
    /// Angle at which it is to stand open, degrees from closed, to 0.001.
    pub open_angle_deg: f64,
    /// Angle that it reaches, degrees from closed, rounded down to 0.001.
    pub reaches_deg: f64,
    /// What stops it before it is open. Null where nothing does.
    pub stopped_by: Option<Stop>,
}

/// A thing in the way of a leaf.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Stop {
    /// Its label.
    pub what: String,
    /// Its kind.
    pub kind: StopKind,
    /// Point where the leaf meets it: east, meters, to a micrometer.
    pub x_m: f64,
    /// Point where the leaf meets it: north, meters, to a micrometer.
    pub y_m: f64,
}

/// A sliding leaf and the room beside the opening.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct RunBack {
    /// The side to which it runs back.
    pub side: Side,
    /// The room that it needs beyond the face of its post, meters, rounded up to 0.1 mm.
    pub needed_m: f64,
    /// The room there is, meters, rounded down to 0.1 mm. Null where nothing stands in its way.
    pub free_m: Option<f64>,
    /// What stands in its way, nearer than needed. Null where nothing does.
    pub stopped_by: Option<Stop>,
}

/// A published rule that was checked.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Rule {
    /// Name of the rule.
    pub rule: &'static str,
    /// Place of publication.
    pub citation: &'static str,
    /// Requirement, in words.
    pub asks: &'static str,
    /// Outcome of the check.
    pub outcome: RuleOutcome,
    /// The difference from the rule, or what the plan lacks. Null where the rule is kept.
    pub difference: Option<Difference>,
}

/// Difference between a plan and a rule; or, for the outcome "unknown", what the plan lacks.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Difference {
    /// The quantity checked, or what is missing, in words.
    pub what: String,
    /// Its value, meters, to 0.1 mm; null if it is no length. Absent for the outcome "unknown".
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub is_m: Option<Option<f64>>,
    /// The least value that the rule asks for, meters, to 0.1 mm; null if there is none. Absent for the outcome
    /// "unknown".
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub least_m: Option<Option<f64>>,
    /// The largest value that it allows, meters, to 0.1 mm; null if there is none. Absent for the outcome "unknown".
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub most_m: Option<Option<f64>>,
}

/// A dimension of the hardware. It has exactly one of `value_m`, `share` and `kg_per_m`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Figure {
    /// Name of the figure: "hinge_gap".
    pub name: String,
    /// A length, meters, to a micrometer. Absent where the figure is something else.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub value_m: Option<f64>,
    /// A share, 0 to 1, to 1e-6. Absent where the figure is something else.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub share: Option<f64>,
    /// Kilograms for each meter of a leaf's width, to 1e-6. Absent where the figure is something else.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub kg_per_m: Option<f64>,
    /// Source of the figure, in words.
    pub source: String,
}
