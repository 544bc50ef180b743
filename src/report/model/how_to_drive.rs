//! Driving steps of results.json: a few turns of the wheel with landmarks, and how forgiving they are.
use super::Position;
use super::case::{Contact, Witness};
use super::words::{Direction, End, Reference, Side};
use schemars::JsonSchema;
use serde::Serialize;

/// Driving steps through the gate as drawn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct HowToDrive {
    /// Tolerance of the start. Null if it was not found.
    pub window: Option<Window>,
    /// Clearance that the steps keep from everything that stands when driven as written, meters, rounded down to 0.1
    /// mm; may be null. Absent where there are no steps.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub clearance_m: Option<Option<f64>>,
    /// Place in the lane to line up in. Absent where there are no steps.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "LineUp")]
    pub line_up: Option<LineUp>,
    /// Steps in order; empty where no small number of turns of the wheel leads through the gate.
    pub steps: Vec<Step>,
    /// File of the drawing. Absent where there are no steps.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub drawing: Option<String>,
    /// Path of the steps driven as written; may be null. Absent where there are no steps.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<Witness>")]
    pub witness: Option<Option<Witness>>,
    /// All of it in sentences.
    pub words: Vec<String>,
}

/// Tolerances of the place where the first turn of the wheel begins: the distance outward within which every place
/// tried will do, each by a certified path. Meters, rounded down to a millimeter.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Window {
    /// Distance before the best place to begin the turn, along the path.
    pub earlier_m: f64,
    /// Distance past that place.
    pub later_m: f64,
    /// To the left of it, across the lane.
    pub left_m: f64,
    /// To the right of it, across the lane.
    pub right_m: f64,
    /// Room in the lane to the left of that place: the search goes no farther.
    pub lane_left_m: f64,
    /// Room in the lane to the right of that place: the search goes no farther.
    pub lane_right_m: f64,
    /// Delay of all of the steering, nothing else changed.
    pub late_steering_m: f64,
}

/// Place in the lane to line up in.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct LineUp {
    /// Side of the road from which the distance is measured.
    pub side: Side,
    /// Distance from that edge of the lane to the side of the lead unit where it is widest, mirrors left out, meters,
    /// negative over the edge, to a micrometer.
    pub from_edge_m: f64,
    /// True if the lane is straight there; else it is a bend that the vehicle drives along.
    pub straight: bool,
    /// Landmark where the wheel is first turned. Null if nothing stands near.
    pub until: Option<Landmark>,
}

/// A part of the vehicle level with something that stands beside its path.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Landmark {
    /// Part of the vehicle.
    pub part: Reference,
    /// Name of the thing that the part comes level with: "left post", or the label of an obstacle.
    pub thing: String,
    /// End of the thing that is meant.
    pub end: End,
    /// Point on the thing.
    pub at: Position,
    /// Distance still to roll, along the unit that the part belongs to, until the part is level with the thing, meters,
    /// negative past it, to a micrometer.
    pub short_m: f64,
    /// Distance from the unit's middle line to the thing, left positive, meters, to a micrometer.
    pub aside_m: f64,
}

/// One step of the driving instructions.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Step {
    /// Direction in which it is driven.
    pub direction: Direction,
    /// True if the vehicle stops before this step and the direction changes.
    pub after_stop: bool,
    /// Wheel position at the start of the step, as a share of full lock in tenths, left positive. Null where it stays
    /// as it is.
    pub share_of_lock: Option<f64>,
    /// Distance rolled in this step, meters, in the units of the plan's words.
    pub roll_m: f64,
    /// Distance rolled from the start of the path to the start of the step, meters, to a micrometer.
    pub station_m: f64,
    /// Landmark at the end of the step. Null if nothing stands near.
    pub until: Option<Landmark>,
    /// Tight places that come in this step.
    pub watch: Vec<Contact>,
}
