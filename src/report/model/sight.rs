//! Sight on leaving in results.json: what is seen of the road, what hides it, what would clear it.
use super::Position;
use super::words::{LookOutcome, Side, SpeedKind, SpeedUnit, TriangleOutcome, VehicleClass};
use schemars::JsonSchema;
use serde::Serialize;

/// Sight of a driver who leaves, against published sight distances.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Sight {
    /// Speed on the road. Null if the plan gives none.
    pub speed: Option<Speed>,
    /// Findings of the rules on sight of the road.
    pub roads: Vec<Road>,
    /// Findings of the rules on pedestrians at the sidewalk.
    pub pedestrians: Vec<Pedestrians>,
    /// A note on who decides which rule holds.
    pub note: &'static str,
}

/// A speed as the plan gives it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Speed {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: SpeedUnit,
    /// Kind of speed.
    pub kind: SpeedKind,
}

/// Finding of a rule on sight of the road. It has either `looks` or `reason`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Road {
    /// Name of the rule.
    pub rule: &'static str,
    /// Place of publication.
    pub citation: &'static str,
    /// Requirement, in words.
    pub asks: &'static str,
    /// Source of the distance required.
    pub distance_source: &'static str,
    /// Distance of the driver's eye from the edge of the road, along the drive. Null where the user gives it.
    pub eye_back: Option<Sourced>,
    /// Least height of the eye above ground.
    pub eye_low: Sourced,
    /// Largest height of the eye above ground.
    pub eye_high: Sourced,
    /// Least height above ground of what is to be seen.
    pub object_low: Sourced,
    /// Largest height above ground of what is to be seen.
    pub object_high: Sourced,
    /// Width below which round and square things are left out. Null if the rule leaves out none.
    pub slender: Option<Sourced>,
    /// The driver's eye. Null if there is no place for it.
    pub eye: Option<Position>,
    /// The edge of the road on the drive's line. Null if the drive does not meet the road.
    pub edge: Option<Position>,
    /// Looks to each side by each kind of vehicle. Absent if there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Vec<Look>")]
    pub looks: Option<Vec<Look>>,
    /// Why there is no look, in plain words. Absent if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub reason: Option<String>,
}

/// A figure of a rule with its source.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Sourced {
    /// The figure, meters, to 0.1 mm.
    pub value_m: f64,
    /// Place where it was read, or a statement that it was not read.
    pub source: &'static str,
}

/// Look of one kind of vehicle to one side.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Look {
    /// Left or right of the driver who leaves.
    pub side: Side,
    /// Kinds of vehicles that it holds for; empty where the rule distinguishes none.
    pub vehicles: Vec<VehicleClass>,
    /// What is seen against what is required.
    pub outcome: LookOutcome,
    /// Distance along the road that must be seen, meters, rounded up to 0.1 mm.
    pub required_m: f64,
    /// Distance from the drive up to which every point is seen, up to what is drawn, meters, rounded down to 0.1 mm.
    pub visible_m: f64,
    /// Stopping sight distance of the road, the least that must be seen, meters, rounded up to 0.1 mm. Null if it is
    /// not known.
    pub stopping_m: Option<f64>,
    /// Distance at which a driver on the road sees an object 2 ft high where the drive crosses the lane, up to what is
    /// drawn, meters, rounded down to 0.1 mm. Null for rules that take the line along the edge of the road.
    pub approach_m: Option<f64>,
    /// Length of the road as drawn on that side, meters, to 0.1 mm.
    pub drawn_m: f64,
    /// True if the road goes on beyond what is drawn.
    pub road_continues: bool,
    /// The line to be seen, from the drive on.
    pub line: Vec<Position>,
    /// What hides a part of what is required, ordered from the drive on.
    pub hidden_by: Vec<Hider>,
    /// True if everything required is seen once each hiding thing is moved back by its amount, as a second check
    /// confirms. Null where some thing has no such amount or nothing hides.
    pub clear_with_all_moved: Option<bool>,
}

/// A thing that hides a part of what must be seen.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Hider {
    /// Name of the thing.
    pub what: String,
    /// True if the plan gives its height.
    pub height_known: bool,
    /// Stretches that it hides, each [from, to] along the line from the drive on, meters, rounded outward to 0.1 mm.
    pub hides_m: Vec<[f64; 2]>,
    /// Distance that it must move straight away from the road to hide nothing, meters, rounded up to 0.1 mm. Null if 30
    /// ft are not enough.
    pub clear_if_moved_back_m: Option<f64>,
    /// Largest height of its top at which it hides nothing, meters above ground, rounded down to 0.1 mm. Null if it
    /// hides even when level with the ground.
    pub clear_if_no_higher_than_m: Option<f64>,
}

/// Finding of a rule on pedestrians. It has either `triangles` or `reason`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Pedestrians {
    /// Name of the rule.
    pub rule: &'static str,
    /// Place of publication.
    pub citation: &'static str,
    /// Requirement, in words.
    pub asks: &'static str,
    /// Triangles left and right of the driver who leaves. Absent if there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Vec<Triangle>")]
    pub triangles: Option<Vec<Triangle>>,
    /// Why there is no triangle, in plain words. Absent if there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub reason: Option<String>,
}

/// Triangle at a sidewalk that must be kept clear between two heights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Triangle {
    /// Left or right of the driver who leaves.
    pub side: Side,
    /// Its three corners: on the drive inside, on the back of the sidewalk beside the drive, and along the back of the
    /// sidewalk.
    pub corners: [Position; 3],
    /// Whether anything stands in it.
    pub outcome: TriangleOutcome,
    /// What stands in it.
    pub hidden_by: Vec<Hider>,
}
