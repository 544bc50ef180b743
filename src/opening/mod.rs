//! A study: every vehicle, each travel, each maneuver, bare and in comfort, against the gate as drawn; what limits each
//! and what a change would save; and what to order.
//!
#![doc = include_str!("README.md")]
mod again;
mod drawn_clearance;
mod driving;
mod fix;
mod gate_plan;
mod ground;
mod landmarks;
mod leaf_clearance;
mod limits;
mod longest_first;
mod missing;
mod other_leaves;
mod placement;
mod recheck;
mod reoptimize;
mod requirement;
mod reversing;
mod routes;
mod ruled_out;
mod scene;
mod smallest_step;
mod starts;
mod study;
#[cfg(test)]
mod tests;
mod tradeoff;
mod tree;
mod turning;
mod verdict;
mod visits;
mod window;

pub use again::again;
pub use drawn_clearance::{CLEARANCE_PLACES, DrawnWay, MOST_CLEARANCE_M};
pub use driving::{Card, Driving, LineUp, Step, driving};
pub use fix::{Fix, FixKind, Fixes, NoFix, WhyNone, fixes};
pub use gate_plan::{
    ArrangementNeeds, GateOptions, GatePlan, STOCK_M, ScheduleRow, plan_gate, yard_lacks_turn,
};
pub use ground::{GroundUse, ground_use};
pub use landmarks::{End, Landmark, Reference};
pub use limits::{ActiveConstraint, Changes, ConstraintKind, Difference, Kind, Limits, STEP_DEG, STEP_M};
pub use missing::{Lacking, Missing, room_step_m};
pub use placement::Placement;
pub use reversing::{Reversing, reversing};
pub use study::{DEFAULT_CLEARANCE_M, Progress, StudyOptions, Wanted, study};
pub use tradeoff::{Axis, Series, Tradeoff};
pub use tree::{TravelCases, VehicleCases};
pub use turning::{FoundTurn, TURN_STOPS, Turn};
pub use verdict::{
    case_is_proven, every_vehicle_passes, travel_verdict, travels, vehicle_is_proven, vehicle_verdict,
};
pub use visits::Demanded;
pub use window::Window;

use crate::clearance::{GateFrame, Thing, Touch};
use crate::geometry::{Point, decimal};
use crate::motion::{OnSite, Trajectory};
use crate::site::{Faces, Maneuver, Site};
use crate::sweep::Covered;
use crate::vehicle::Vehicle;

/// Everything a study found out: what the drawings and reports show.
#[derive(Clone, Debug)]
pub struct Study {
    /// The plan, settled.
    pub site: Site,
    /// The vehicles asked about, in order.
    pub vehicles: Vec<Vehicle>,
    /// The ways through the gate that must work for each vehicle, in their order.
    pub demanded: Vec<Demanded>,
    /// Clearance of the comfortable answers, kept from everything that stands.
    pub clearance_m: f64,
    /// Stops to change direction allowed beyond those a maneuver needs.
    pub shunts: u32,
    /// True if the least widths come from a proof over maneuvers; otherwise they are plain widths.
    pub proved: bool,
    /// One per vehicle, travel and maneuver, in that order of nesting; then the drawn routes. [`Study::of_vehicle`] has them as
    /// a tree.
    pub cases: Vec<Case>,
    /// One per vehicle, in order.
    pub needs: Vec<VehicleNeed>,
    /// True if vehicles whose visits list turning around can do so, from each of their directions of travel.
    pub turns: Vec<Turn>,
    /// The gate itself and what to order, once [`plan_gate`] has been asked.
    pub gate: Option<GatePlan>,
    /// How to drive the ways that count through the gate as drawn, once [`driving()`] has been asked.
    pub driving: Vec<Driving>,
    /// What would mend the gate as drawn, once [`fixes()`] has been asked.
    pub fixes: Option<Fixes>,
    /// What the reader should know about the plan or the run, in plain words.
    pub notes: Vec<String>,
    /// The opening against setback and skew, if asked for.
    pub tradeoffs: Vec<Tradeoff>,
    /// Where one opening serves all vehicles best, when it may stand anywhere along the gate line: in comfort, or bare
    /// where not all have a comfortable way in.
    pub placement: Option<Placement>,
}

/// Which lane a path starts in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CaseLane {
    /// The lane of the case's travel, before the gate.
    #[default]
    Coming,
    /// The lane in which a vehicle that came by the case's travel leaves the same way again, headed away from the gate. Only
    /// backing in starts there, for vehicles that turn around inside: driven the other way it is their way out.
    Leaving,
}

/// One vehicle coming one way by one maneuver (or along one drawn route).
#[derive(Clone, Debug)]
pub struct Case {
    /// Index into [`Study::vehicles`].
    pub vehicle: usize,
    /// Direction driven along the road before turning in: "eastbound", "northwestbound".
    pub travel: String,
    /// How it gets in.
    pub maneuver: Maneuver,
    /// Which lane a way of backing in starts in.
    pub lane: CaseLane,
    /// The label of the drawn route, when the case checks one.
    pub route: Option<String>,
    /// Touching nothing, no clearance at all.
    pub bare: Answer,
    /// With the study's clearance kept from everything that stands.
    pub comfortable: Answer,
    /// True if the gate as drawn lets it in.
    pub drawn_gate: DrawnGate,
    /// How it gets through the gate as drawn with the most room to spare; or the best try.
    pub drawn: DrawnWay,
    /// The least opening gaps of the path drawn for this case: the tight places, tightest first.
    pub contacts: Vec<Contact>,
    /// What keeps that path from needing less.
    pub limits: Limits,
    /// The ground that path covers.
    pub covered: Covered,
}

/// An opening and how it was come by.
#[derive(Clone, Debug)]
pub struct Answer {
    /// How the search ended.
    pub outcome: Outcome,
    /// An opening that certainly suffices (outcome `Found` only), not rounded: see [`Self::reported_m`].
    pub opening_m: Option<f64>,
    /// No maneuver of this kind passes a narrower opening: proven.
    pub at_least_m: f64,
    /// Where the faces stand for it, along the gate line from the drawn middle: left (u) and right (u).
    pub faces_u_m: Option<Faces>,
    /// Where the path is tightest and against what.
    pub tightest: Option<Contact>,
    /// The path that proves it.
    pub witness: Option<Trajectory<OnSite>>,
    /// True if the gate as drawn is proven not to let it in, at this clearance; `None` where it does let it in.
    pub ruled_out: Option<RuledOut>,
    /// Poses looked at, and steps of the proof.
    pub work: u64,
}

/// Decimals that openings are reported with: 0.1 mm.
pub const OPENING_PLACES: u8 = 4;

/// An opening as it is reported: rounded up to 0.1 mm, so that what is reported suffices.
///
/// ```
/// assert_eq!(wideenough::opening::reported_m(2.760_01), 2.7601);
/// assert_eq!(wideenough::opening::reported_m(2.76), 2.76);
/// ```
#[must_use]
pub fn reported_m(opening_m: f64) -> f64 {
    decimal::up(opening_m, OPENING_PLACES)
}

impl Answer {
    /// The opening as it is reported ([`reported_m`]); infinite where none was found. Answers are ranked by it, so that which
    /// of two reported alike speaks for a vehicle does not hang on digits that nobody sees.
    #[must_use]
    pub fn reported_m(&self) -> f64 {
        self.opening_m.map_or(f64::INFINITY, reported_m)
    }
}

/// What is known about the gate as drawn where no path through it was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RuledOut {
    /// Proven: no maneuver of this kind passes the opening as drawn, where it is drawn.
    Proven,
    /// Not proven: none was found, and there may be one.
    NotProven,
}

impl RuledOut {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Proven => "proven",
            Self::NotProven => "not-proven",
        }
    }
}

/// How a search ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// A path passes, and its witness has been checked by a bound that holds between samples.
    Found,
    /// Proven: no maneuver of this kind passes any opening. What forbids it.
    Impossible(String),
    /// The work allowed ran out, or nothing was found and nothing proven. What stood in the way most.
    GaveUp(String),
}

/// Where a path comes close to something.
#[derive(Clone, Debug, PartialEq)]
pub struct Contact {
    /// What kind of thing it comes close to.
    pub thing: Thing,
    /// What it comes close to: "left post", "fence", the label of an obstacle, "edge of the drive".
    pub what: String,
    /// Which part of the vehicle: "pickup body", "trailer mirror".
    pub part: String,
    /// The place on the standing thing, site meters.
    pub at: Point,
    /// The nearest place on the vehicle, site meters.
    pub from: Point,
    /// The gap there, meters, with the opening at the answer's width; 0 where the opening is set by touching.
    pub gap_m: f64,
    /// Distance rolled from the start of the path to this pose.
    pub station_m: f64,
}

impl Contact {
    /// A touch seen in the gate's frame.
    #[must_use]
    pub fn of(touch: &Touch, frame: &GateFrame) -> Self {
        Self {
            thing: touch.thing,
            what: touch.what.clone(),
            part: touch.part.clone(),
            at: frame.origin.to_site(touch.at),
            from: frame.origin.to_site(touch.from),
            gap_m: touch.gap_m,
            station_m: touch.station_m,
        }
    }
}

/// The verdict on the gate as drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrawnGate {
    /// Passes with the study's clearance.
    Comfortable,
    /// Passes, but with less.
    Tight,
    /// Does not pass, or nothing found passes.
    No,
}

impl DrawnGate {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Comfortable => "comfortable",
            Self::Tight => "tight",
            Self::No => "no",
        }
    }

    /// The better the higher: no, tight, comfortable.
    #[must_use]
    pub const fn rank(self) -> u8 {
        match self {
            Self::No => 0,
            Self::Tight => 1,
            Self::Comfortable => 2,
        }
    }
}

/// The verdict on a vehicle at the gate as drawn, by the visits it may make. The better the greater.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing found passes.
    No,
    /// It gets in backward alone, and backing in was not what was asked.
    OnlyBackingIn,
    /// It passes, with less than the study's clearance.
    Tight,
    /// It passes with the study's clearance.
    Comfortable,
}

impl Verdict {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::No => "no",
            Self::OnlyBackingIn => "only-backing-in",
            Self::Tight => "tight",
            Self::Comfortable => "comfortable",
        }
    }
}

impl Verdict {
    /// The verdict of the ways that count, where it is known whether any way of backing in passes.
    const fn of(counted: DrawnGate, backs_in: bool) -> Self {
        match (counted, backs_in) {
            (DrawnGate::Comfortable, _) => Self::Comfortable,
            (DrawnGate::Tight, _) => Self::Tight,
            (DrawnGate::No, true) => Self::OnlyBackingIn,
            (DrawnGate::No, false) => Self::No,
        }
    }
}

impl From<DrawnGate> for Verdict {
    fn from(gate: DrawnGate) -> Self {
        Self::of(gate, false)
    }
}

/// What one vehicle needs: the largest over its travels, of the ways that count for the visits it may make.
#[derive(Clone, Debug, PartialEq)]
pub struct VehicleNeed {
    /// Index into [`Study::vehicles`].
    pub vehicle: usize,
    /// Bare minimum; `None` if from some travel nothing that counts was found.
    pub bare_opening_m: Option<f64>,
    /// Comfortable; `None` likewise.
    pub comfortable_opening_m: Option<f64>,
    /// Index into [`Study::cases`] of the case that sets the comfortable opening (or the one that failed).
    pub governed_by: Option<usize>,
    /// Backing in, where that counts for nothing and takes less: what it needs from every travel.
    pub backing_in: Option<BackingIn>,
}

/// What backing in would need from every direction of travel, and what it would cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BackingIn {
    /// Bare minimum.
    pub bare_opening_m: f64,
    /// Comfortable; `None` if from some travel no comfortable way was found.
    pub comfortable_opening_m: Option<f64>,
    /// How far it reverses on the path found that reverses farthest.
    pub reverses: Reversing,
}
