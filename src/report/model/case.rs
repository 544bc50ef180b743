//! Cases of results.json: one vehicle by one way in, its answers and the paths behind them.
use super::words::{Clearance, ConstraintKind, Direction, DrawnGate, Driven, Maneuver, Outcome, RuledOut};
use super::{HowToDrive, Position};
use schemars::JsonSchema;
use serde::Serialize;

/// One vehicle coming from one direction of travel by one maneuver, or along one drawn route.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Case {
    /// Name of the vehicle.
    pub vehicle: String,
    /// Direction driven along the road before turning in: "eastbound", "from the left".
    pub travel: String,
    /// Maneuver by which it gets in.
    pub maneuver: Maneuver,
    /// True where backing in starts in the lane in which a vehicle that came by this travel leaves the way it came.
    /// Absent otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "bool")]
    pub leaves_as_it_came: Option<bool>,
    /// Label of the drawn route that the case checks. Absent where the path was searched for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub route: Option<String>,
    /// Stops to change direction allowed beyond those the maneuver needs.
    pub shunts: u32,
    /// Answer without any clearance: touching nothing.
    pub bare: Answer,
    /// Answer with the study's clearance kept from everything that stands.
    pub comfortable: Answer,
    /// Verdict on the gate as drawn.
    pub drawn_gate: DrawnGate,
    /// The most clearance that a path found keeps from everything that stands with the gate as drawn, meters, rounded
    /// down to 0.1 mm; more than 3 m is not searched for. Null where the gate as drawn lets nothing through.
    pub drawn_clearance_m: Option<f64>,
    /// Distance that the best try reaches into a post, a leaf or the fence with the gate as drawn, along the gate line,
    /// meters, rounded up to 0.1 mm. Null where the gate as drawn lets the vehicle through, or no try was made.
    pub drawn_overlap_m: Option<f64>,
    /// Tight places of `drawn_witness`, tightest first; where it does not get through, its overlaps, deepest first.
    pub drawn_contacts: Vec<Contact>,
    /// Tight places of `witness`, tightest first.
    pub contacts: Vec<Contact>,
    /// Active constraints of `witness`. Absent where no path was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Limits")]
    pub limits: Option<Limits>,
    /// Driving steps through the gate as drawn. Absent if the study does not include them, or the way does not count or
    /// does not pass.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "HowToDrive")]
    pub how_to_drive: Option<HowToDrive>,
    /// File of the case's drawing.
    pub drawing: String,
    /// Path of the comfortable answer, or else of the bare one. Absent where no path was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Witness")]
    pub witness: Option<Witness>,
    /// Path through the gate as drawn, with the most clearance found; or the best try. Absent where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Witness")]
    pub drawn_witness: Option<Witness>,
}

/// An opening and its evidence.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Answer {
    /// Outcome of the search.
    pub outcome: Outcome,
    /// Reason: the limit that forbids the maneuver, or the main obstacle, in plain words. Absent if the outcome is "found".
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub reason: Option<String>,
    /// An opening that certainly suffices, meters, rounded up to 0.1 mm. Null unless the outcome is "found".
    pub opening_m: Option<f64>,
    /// Proven lower bound: no maneuver of this kind passes a narrower opening; meters, rounded down to 0.1 mm.
    pub at_least_m: f64,
    /// Status of the proof that the gate as drawn does not let it in, at this clearance. Absent where it does let it
    /// in.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "RuledOut")]
    pub drawn_opening_ruled_out: Option<RuledOut>,
    /// Places of the left and the right face for the opening, along the gate line from the drawn middle, positive to
    /// the right as seen from the road, meters, rounded outward to a micrometer. Absent where no path was found.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "[f64; 2]")]
    pub faces_u_m: Option<[f64; 2]>,
    /// Tightest place of the path; an empty object where there is none.
    pub tightest: Tightest,
    /// Work done: poses checked, and steps of the proof.
    pub work: u64,
}

/// Tightest place of a path.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
#[non_exhaustive]
pub enum Tightest {
    /// The place.
    At(Contact),
    /// No path was found, or it comes close to nothing.
    Nowhere(Nowhere),
}

/// An empty object.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[non_exhaustive]
pub struct Nowhere {}

/// Place where a path comes close to something.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Contact {
    /// Name of the thing: "left post", "fence", the label of an obstacle, "edge of the drive".
    pub what: String,
    /// Point on the thing: east, meters, to a micrometer.
    pub x_m: f64,
    /// Point on the thing: north, meters, to a micrometer.
    pub y_m: f64,
    /// Part of the vehicle: "pickup body", "trailer mirror".
    pub part: String,
    /// Nearest point on the vehicle.
    pub from: Position,
    /// Gap there with the opening at the answer's width, meters, rounded down to a micrometer; 0 where the opening is
    /// set by touching.
    pub gap_m: f64,
    /// Distance rolled from the start of the path to this pose, meters, to a micrometer.
    pub station_m: f64,
}

/// Active constraints of a path.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Limits {
    /// The constraints that leave the path no room or play, contacts first.
    pub binds: Vec<ActiveConstraint>,
    /// Share of the path driven at full lock, 0 to 1, to 0.0001.
    pub full_lock_share: f64,
    /// Savings by changes of the site. Only in the case that governs a vehicle; absent otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "PerFoot")]
    pub per_foot: Option<PerFoot>,
}

/// A constraint that leaves a path no room or play.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct ActiveConstraint {
    /// Kind of constraint.
    pub kind: ConstraintKind,
    /// Name of the constraint: "left post", an obstacle's label, "edge of the drive", "hitch", "full lock".
    pub what: String,
    /// Part or unit of the vehicle.
    pub part: String,
    /// Room left beyond the clearance, or to the edge, meters, rounded down to 0.1 mm. Only in the kinds "contact" and
    /// "ground"; absent otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub spare_m: Option<f64>,
    /// Angle left below the hitch's limit, degrees, rounded down to 0.0001. Only in the kind "hitch"; absent otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "f64")]
    pub spare_deg: Option<f64>,
}

/// Savings by changes of the site: meters of opening per meter of a change (per degree for the skew), to 0.0001,
/// negative if the change saves. Each is measured with one step: a foot, or some degrees. Null if the change cannot be
/// made or no way in was found; absent if the change was not examined.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct PerFoot {
    /// The answer that the savings are for.
    pub clearance: Clearance,
    /// Opening that the site as drawn needs in the same measure, meters, to 0.1 mm.
    pub opening_m: f64,
    /// Step of the changes of a length, meters: a foot.
    pub step_m: f64,
    /// Step of the turn of the gate line, degrees.
    pub step_deg: f64,
    /// The gate further from the road.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_setback: Option<Option<f64>>,
    /// The gate nearer to the road.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_less_setback: Option<Option<f64>>,
    /// The gate's road wider on its far side.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_road_width: Option<Option<f64>>,
    /// The gate's road narrower on its far side.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_less_road_width: Option<Option<f64>>,
    /// The apron wider on both sides where it meets the road.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_apron_flare: Option<Option<f64>>,
    /// The apron narrower on both sides where it meets the road.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_less_apron_flare: Option<Option<f64>>,
    /// Posts deeper across the gate line.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_post_depth: Option<Option<f64>>,
    /// Posts less deep across the gate line.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_less_post_depth: Option<Option<f64>>,
    /// The gate line turned counterclockwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_skew_deg: Option<Option<f64>>,
    /// The gate line turned clockwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>")]
    pub opening_per_skew_deg_clockwise: Option<Option<f64>>,
}

/// A path with the digits needed to drive it again: a start and legs of segments.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Witness {
    /// What the path was driven for.
    pub clearance: Driven,
    /// State of the vehicle at the start.
    pub start: Start,
    /// Legs in order, with a stop between them.
    pub legs: Vec<Leg>,
    /// Poses along the path, at most 0.5 m apart. Each is a list: distance rolled from the start, x and y of the lead
    /// unit's rear axle (meters, to a micrometer), its heading, and the angle of each hitch (radians, to 1e-9,
    /// counterclockwise positive). Absent in a `drawn_witness`, whose poses follow from its legs.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Vec<Vec<f64>>")]
    #[schemars(inner(inner(), length(min = 4)))]
    pub poses: Option<Vec<Vec<f64>>>,
}

/// State of a vehicle at the start of a path.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Start {
    /// Middle of the lead unit's rear axle: east, meters, to 1e-9.
    pub x_m: f64,
    /// Middle of the lead unit's rear axle: north, meters, to 1e-9.
    pub y_m: f64,
    /// Heading of the lead unit, radians counterclockwise from east, to 1e-9.
    pub heading_rad: f64,
    /// Angle of each hitch, radians, counterclockwise positive, to 1e-9; empty without a trailer.
    pub hitch_rad: Vec<f64>,
}

/// A part of a path that is driven in one direction.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Leg {
    /// Direction in which it is driven.
    pub direction: Direction,
    /// Segments in the order in which they are driven.
    pub segments: Vec<Segment>,
}

/// A piece of a leg on which the curvature changes evenly with the distance rolled.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Segment {
    /// Distance rolled by the lead unit's rear axle, meters, to 1e-9.
    pub length_m: f64,
    /// Curvature where it begins, 1/m, positive to the left, to 1e-12.
    pub curvature_start: f64,
    /// Curvature where it ends, 1/m, positive to the left, to 1e-12.
    pub curvature_end: f64,
}
