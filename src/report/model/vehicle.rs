//! Vehicles of results.json: what each needs, its turn inside, its outlines.
use super::case::{Contact, Witness};
use super::words::{DrawnGate, Verdict, YardSide};
use schemars::JsonSchema;
use serde::Serialize;

/// What a vehicle needs: the largest opening over its directions of travel, of the ways that count for its visits.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Vehicle {
    /// Name of the vehicle.
    pub vehicle: String,
    /// The vehicle in words.
    pub title: String,
    /// Opening needed without clearance, meters, rounded up to 0.1 mm. Null if from some travel no way that counts was
    /// found.
    pub bare_opening_m: Option<f64>,
    /// Opening needed with the study's clearance, meters, rounded up to 0.1 mm. Null likewise.
    pub comfortable_opening_m: Option<f64>,
    /// The way that sets the comfortable opening, or the one that failed, in words. Null if there is none.
    pub governed_by: Option<String>,
    /// Verdict on the gate as drawn.
    pub drawn_gate: Verdict,
    /// Need by backing in, from every travel. Null unless backing in does not count toward the verdict and takes less.
    pub backing_in: Option<BackingIn>,
    /// True if the verdict is proven: no maneuver gives a better one. Absent where the verdict is "comfortable", whose
    /// path is its proof.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "bool")]
    pub drawn_gate_proven: Option<bool>,
}

/// Openings that backing in would need from every direction of travel, and its cost.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct BackingIn {
    /// Opening without clearance, meters, rounded up to 0.1 mm.
    pub bare_opening_m: f64,
    /// Opening with the study's clearance, meters, rounded up to 0.1 mm. Null if from some travel none was found.
    pub comfortable_opening_m: Option<f64>,
    /// Distance reversed on the path found that reverses farthest, meters, rounded up to a micrometer.
    pub reverses_m: f64,
    /// Part of that with a wheel still on a road, meters, rounded up to a micrometer.
    pub reverses_on_road_m: f64,
}

/// Turn of a vehicle inside, from where it has driven in to where it drives out forward, at the gate as drawn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Turn {
    /// Name of the vehicle.
    pub vehicle: String,
    /// Direction of travel: "eastbound".
    pub travel: String,
    /// Verdict on the gate as drawn.
    pub drawn_gate: DrawnGate,
    /// Number of stops to change direction, from the end of the way in to the way out. Absent where no turn was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "u32")]
    pub stops: Option<u32>,
    /// Length of the turn until it joins the way out, meters, rounded up to a micrometer. Absent where no turn was
    /// found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub turn_m: Option<f64>,
    /// True if the path ends on the road in line with the lane; false if it ends across the lane, and how the vehicle goes on
    /// is not certified. Absent where no turn was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "bool")]
    pub ends_in_line: Option<bool>,
    /// Tight places, tightest first. Absent where no turn was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Vec<Contact>")]
    pub contacts: Option<Vec<Contact>>,
    /// Path of the turn and the way out. Absent where no turn was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Witness")]
    pub witness: Option<Witness>,
    /// Why there is no turn, in plain words. Absent where one was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub reason: Option<String>,
    /// The smallest change found that allows a turn. Absent where a turn was found, or no such change was.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Missing")]
    pub missing: Option<Missing>,
}

/// The smallest change found after which a vehicle can turn inside.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Missing {
    /// A larger yard: everything beyond a cut moved outward.
    Room {
        /// Side on which the yard is larger.
        side: YardSide,
        /// Place of the cut: its distance behind the gate line, or to the side of the middle of the gate, meters,
        /// rounded up to 1e-9.
        from_m: f64,
        /// Distance that everything beyond the cut is moved, meters: whole feet or quarters of a meter.
        by_m: f64,
        /// True if the turn then keeps the study's clearance; else it touches nothing.
        comfortable: bool,
    },
    /// An obstacle removed.
    Without {
        /// Label of the obstacle.
        what: String,
        /// True if the turn then keeps the study's clearance; else it touches nothing.
        comfortable: bool,
    },
    /// More stops to change direction.
    Stops {
        /// Number of stops in all.
        stops: u32,
        /// True if the turn then keeps the study's clearance; else it touches nothing.
        comfortable: bool,
    },
}

/// Plan outlines of a vehicle, for programs that draw a path again.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct VehicleOutlines {
    /// Units from the front: the lead unit, then what it tows.
    pub units: Vec<Unit>,
}

/// A unit of a vehicle.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Unit {
    /// Name of the unit: "pickup", "trailer".
    pub name: String,
    /// Distance from the rear axle (group) to the front axle, or of a trailer to its hitch, meters, to 1e-9.
    pub wheelbase_m: f64,
    /// Distance of the hitch for the next unit behind the rear axle, meters, negative in front of it, to 1e-9. Null
    /// without a hitch.
    pub hitch_behind_m: Option<f64>,
    /// Outlines of the body and the mirrors, each a list of corners [x, y], meters, to a micrometer: x forward from the
    /// rear axle, y to the left. The first corner is not repeated.
    pub rings: Vec<Vec<[f64; 2]>>,
    /// Outlines of the tires standing straight, written as the body's. The swept path covers those that stand out of the
    /// body by more than a millimeter.
    pub tires: Vec<Vec<[f64; 2]>>,
}
