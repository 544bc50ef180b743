//! Changes of the gate in results.json: the best place of one opening, and fixes.
use super::gate::OpenLeaves;
use super::words::{Clearance, FixKind, Goal, Verdict};
use schemars::JsonSchema;
use serde::Serialize;

/// The place where one opening serves all vehicles best. Places are along the gate line from the drawn middle, positive
/// to the right as seen from the road.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Placement {
    /// Clearance that every vehicle keeps.
    pub clearance: Clearance,
    /// Width of the opening, meters, rounded up to 0.1 mm.
    pub opening_m: f64,
    /// Place of its left face, meters, to a micrometer.
    pub left_u_m: f64,
    /// Place of its right face, meters, to a micrometer.
    pub right_u_m: f64,
    /// Place of its middle, meters, to a micrometer.
    pub center_offset_m: f64,
    /// True if the leaves that belong to it open fully there.
    pub leaves_open: bool,
    /// Names of the vehicles.
    pub vehicles: Vec<String>,
}

/// Changes that correct the gate as drawn. Both lists are empty if every vehicle passes in comfort.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Fixes {
    /// Changes found, each confirmed by a study of the changed plan.
    pub found: Vec<Fix>,
    /// Kinds of change that were not found to correct it.
    pub none: Vec<NoFix>,
}

/// A change that corrects the gate.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Fix {
    /// Kind of change.
    pub kind: FixKind,
    /// What it achieves for every vehicle.
    pub goal: Goal,
    /// Angle by which the gate line is turned, degrees, counterclockwise positive, to 0.0001. Only in the kind
    /// "turned"; absent otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub amount_deg: Option<f64>,
    /// The new leaves. Only in the kind "other-leaf"; absent otherwise.
    #[serde(flatten)]
    pub leaves: Option<OpenLeaves>,
    /// Amount of the change, meters, to 0.1 mm. Absent in the kinds "turned" and "other-leaf".
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub amount_m: Option<f64>,
    /// Verdict on each vehicle in the study of the changed plan.
    pub vehicles: Vec<FixVerdict>,
    /// File of the changed plan.
    pub file: String,
}

/// Verdict on a vehicle in the study of a changed plan.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct FixVerdict {
    /// Name of the vehicle.
    pub vehicle: String,
    /// Verdict on the gate of the changed plan.
    pub drawn_gate: Verdict,
}

/// A kind of change that was not found to correct the gate.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct NoFix {
    /// Kind of change.
    pub kind: FixKind,
    /// What it was to achieve for every vehicle.
    pub goal: Goal,
    /// The reason, in plain words.
    pub why: String,
}
