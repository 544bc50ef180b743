//! A study: every vehicle, each travel, each maneuver, bare and in comfort, against the gate as drawn; the active
//! constraints of each and the savings of a change; and the gate to order.
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
mod onto_road;
mod options;
mod ordered;
mod other_half;
mod other_leaves;
mod placement;
mod recheck;
#[cfg(test)]
mod recorded_programs;
mod reoptimize;
mod requirement;
mod reversing;
mod routes;
mod ruled_out;
mod scene;
mod smallest_step;
mod starts;
mod study;
mod study_notes;
#[cfg(test)]
mod tests;
mod tradeoff;
mod tree;
mod turning;
mod turning_at_sizes;
mod verdict;
mod visits;
mod window;

pub use again::{CaseAgain, again, case_again};
pub use drawn_clearance::{CLEARANCE_PLACES, DrawnWay, MOST_CLEARANCE_M};
pub use driving::{Card, Driving, LineUp, Step, driving};
pub use fix::{Fix, FixKind, Fixes, NoFix, WhyNone, fixes};
pub use gate_plan::{
    ArrangementNeeds, GateOptions, GatePlan, InAndOut, OpeningNeeds, STOCK_M, ScheduleRow, plan_gate,
    yard_lacks_turn,
};
pub use ground::{GroundUse, ground_use};
pub use landmarks::{End, Landmark, Reference};
pub use limits::{ActiveConstraint, Changes, ConstraintKind, Difference, Kind, Limits, STEP_DEG, STEP_M};
pub use missing::{Lacking, Missing, room_step_m};
pub use ordered::as_ordered;
pub use other_half::on_other_half_m;
pub use placement::Placement;
pub use reversing::{Reversing, reversing};
pub use study::{DEFAULT_CLEARANCE_M, Progress, StudyOptions, Wanted, study};
pub use tradeoff::{Axis, Series, Tradeoff};
pub use tree::{TravelCases, VehicleCases};
pub use turning::{FoundTurn, TURN_STOPS, Turn};
pub use verdict::{
    case_is_proven, every_vehicle_passes, leaf_travel, leaves_open, no_better_from, travel_verdict, travels,
    vehicle_is_proven, vehicle_verdict,
};
pub use visits::Demanded;
pub use window::Window;

use crate::clearance::{GateFrame, Thing, Touch};
use crate::geometry::{Point, decimal};
use crate::motion::{OnSite, Trajectory};
use crate::sight::SightPlan;
use crate::site::{Faces, Maneuver, Site};
use crate::sweep::Covered;
use crate::vehicle::Vehicle;

/// Results of a study: everything that the drawings and reports show.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Study {
    /// The plan, settled.
    pub site: Site,
    /// Vehicles studied, in order.
    pub vehicles: Vec<Vehicle>,
    /// Ways through the gate that must work for each vehicle, in the vehicles' order.
    pub demanded: Vec<Demanded>,
    /// Clearance of the comfortable answers, kept from everything that stands.
    pub clearance_m: f64,
    /// Stops to change direction allowed beyond those a maneuver needs.
    pub shunts: u32,
    /// True if the least widths come from a proof over maneuvers; otherwise they are plain widths.
    pub proved: bool,
    /// One case per vehicle, travel and maneuver, in that order of nesting; then the drawn routes.
    /// [`Study::of_vehicle`] has them as a tree.
    pub cases: Vec<Case>,
    /// Needs, one per vehicle, in order.
    pub needs: Vec<VehicleNeed>,
    /// Turns inside, for vehicles whose visits list turning around, from each of their directions of travel.
    pub turns: Vec<Turn>,
    /// Gate plan: the gate and what to order, once [`plan_gate`] has been run.
    pub gate: Option<GatePlan>,
    /// Sight of a driver who leaves, by the chosen published rules.
    pub sight: Option<SightPlan>,
    /// Driving steps of the ways that count through the gate as drawn, once [`driving()`] has been run.
    pub driving: Vec<Driving>,
    /// Changes that would correct the gate as drawn, once [`fixes()`] has been run.
    pub fixes: Option<Fixes>,
    /// Notes for the reader about the plan or the run, in plain words.
    pub notes: Vec<String>,
    /// Opening against setback and skew, if requested.
    pub tradeoffs: Vec<Tradeoff>,
    /// Best place of one opening for all vehicles, when it may stand anywhere along the gate line: in comfort, or bare
    /// where not all have a comfortable way in.
    pub placement: Option<Placement>,
}

impl Study {
    /// Creates a study without a case: what a search, or a test of a drawing, fills.
    #[must_use]
    pub const fn new(site: Site, vehicles: Vec<Vehicle>, demanded: Vec<Demanded>, clearance_m: f64) -> Self {
        Self {
            site,
            vehicles,
            demanded,
            clearance_m,
            shunts: 0,
            proved: false,
            cases: Vec::new(),
            needs: Vec::new(),
            turns: Vec::new(),
            gate: None,
            sight: None,
            driving: Vec::new(),
            fixes: None,
            notes: Vec::new(),
            tradeoffs: Vec::new(),
            placement: None,
        }
    }
}

/// Lane that a path starts in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum CaseLane {
    /// The lane of the case's travel, before the gate.
    #[default]
    Coming,
    /// The lane in which a vehicle that came by the case's travel leaves the way it came, headed away from the gate.
    /// Only backing in starts there, for vehicles that turn around inside: driven the other way it is their way out.
    Leaving,
}

/// One vehicle coming from one direction of travel by one maneuver (or along one drawn route).
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Case {
    /// Index into [`Study::vehicles`].
    pub vehicle: usize,
    /// Direction driven along the road before turning in: "eastbound", "northwestbound".
    pub travel: String,
    /// Maneuver by which it gets in.
    pub maneuver: Maneuver,
    /// Lane in which backing in starts.
    pub lane: CaseLane,
    /// Label of the drawn route, when the case checks one.
    pub route: Option<String>,
    /// Answer without any clearance: touching nothing.
    pub bare: Answer,
    /// Answer with the study's clearance kept from everything that stands.
    pub comfortable: Answer,
    /// Verdict on the gate as drawn.
    pub drawn_gate: DrawnGate,
    /// Path through the gate as drawn with the most clearance found; or the best try.
    pub drawn: DrawnWay,
    /// Tight places of the path drawn for this case, tightest first.
    pub contacts: Vec<Contact>,
    /// Active constraints that keep that path from needing less.
    pub limits: Limits,
    /// Ground that the path covers.
    pub covered: Covered,
}

impl Case {
    /// Creates a case with these answers, in the lane of coming, that does not pass the gate as drawn: no path there is
    /// known.
    #[must_use]
    pub fn new(
        vehicle: usize,
        travel: String,
        maneuver: Maneuver,
        bare: Answer,
        comfortable: Answer,
    ) -> Self {
        Self {
            vehicle,
            travel,
            maneuver,
            lane: CaseLane::Coming,
            route: None,
            bare,
            comfortable,
            drawn_gate: DrawnGate::No,
            drawn: DrawnWay::default(),
            contacts: Vec::new(),
            limits: Limits::default(),
            covered: Covered::default(),
        }
    }
}

/// An opening and its evidence.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Answer {
    /// Outcome of the search.
    pub outcome: Outcome,
    /// An opening that certainly suffices (outcome `Found` only), not rounded: see [`Self::reported_m`].
    pub opening_m: Option<f64>,
    /// Proven lower bound: no maneuver of this kind passes a narrower opening.
    pub at_least_m: f64,
    /// Positions of the faces for it, along the gate line from the drawn middle: left (u) and right (u).
    pub faces_u_m: Option<Faces>,
    /// Tightest place of the path.
    pub tightest: Option<Contact>,
    /// Certified path behind the answer.
    pub witness: Option<Trajectory<OnSite>>,
    /// Status of the proof that the gate as drawn does not let it in, at this clearance; `None` where it does let it
    /// in.
    pub ruled_out: Option<RuledOut>,
    /// Work done: poses checked, and steps of the proof.
    pub work: u64,
}

/// Decimals in which openings are reported: 0.1 mm.
pub const OPENING_PLACES: u8 = 4;

/// Opening as reported: rounded up to 0.1 mm, so that it still suffices.
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
    /// Creates an answer with this outcome and lower bound, and no path.
    #[must_use]
    pub const fn new(outcome: Outcome, at_least_m: f64) -> Self {
        Self {
            outcome,
            opening_m: None,
            at_least_m,
            faces_u_m: None,
            tightest: None,
            witness: None,
            ruled_out: None,
            work: 0,
        }
    }

    /// Returns the opening as reported ([`reported_m`]); infinite where none was found. Answers are ranked by it, so
    /// that which of two answers reported alike speaks for a vehicle does not depend on digits that nobody sees.
    #[must_use]
    pub fn reported_m(&self) -> f64 {
        self.opening_m.map_or(f64::INFINITY, reported_m)
    }
}

/// Proof status of the gate as drawn where no path through it was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum RuledOut {
    /// Proven: no maneuver of this kind passes the opening as drawn, where it is drawn.
    Proven,
    /// Not proven: none was found, and there may be one.
    NotProven,
}

impl RuledOut {
    /// Word used by results.json.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Proven => "proven",
            Self::NotProven => "not-proven",
        }
    }
}

/// Outcome of a search.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Outcome {
    /// A path passes, and its witness has been checked by a bound that holds between samples.
    Found,
    /// Proven: no maneuver of this kind passes any opening; with what forbids it.
    Impossible(String),
    /// The work allowed ran out, or nothing was found and nothing proven; with the main obstacle.
    GaveUp(String),
}

/// Tight place, where a path comes close to something.
#[derive(Clone, Debug, PartialEq)]
pub struct Contact {
    /// Kind of thing that it comes close to.
    pub thing: Thing,
    /// Name of the thing: "left post", "fence", the label of an obstacle, "edge of the drive".
    pub what: String,
    /// Part of the vehicle: "pickup body", "trailer mirror".
    pub part: String,
    /// Point on the standing thing, site meters.
    pub at: Point,
    /// Nearest point on the vehicle, site meters.
    pub from: Point,
    /// Gap there, meters, with the opening at the answer's width; 0 where the opening is set by touching.
    pub gap_m: f64,
    /// Distance rolled from the start of the path to this pose.
    pub station_m: f64,
}

impl Contact {
    /// Converts a touch in the gate's frame.
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

/// Verdict on the gate as drawn.
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
    /// Word used by results.json.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Comfortable => "comfortable",
            Self::Tight => "tight",
            Self::No => "no",
        }
    }

    /// Rank, higher is better: no, tight, comfortable.
    #[must_use]
    pub const fn rank(self) -> u8 {
        match self {
            Self::No => 0,
            Self::Tight => 1,
            Self::Comfortable => 2,
        }
    }

    /// The worse of two verdicts: both ways must be passable.
    pub(crate) const fn worse(self, other: Self) -> Self {
        if other.rank() < self.rank() { other } else { self }
    }

    /// The better of two verdicts: either way will do.
    pub(crate) const fn better(self, other: Self) -> Self {
        if other.rank() > self.rank() { other } else { self }
    }
}

/// Verdict on a vehicle at the gate as drawn, by the visits it may make. Greater is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Verdict {
    /// Nothing found passes.
    No,
    /// Gets in by backing in only, and that was not requested.
    OnlyBackingIn,
    /// Passes, with less than the study's clearance.
    Tight,
    /// Passes with the study's clearance.
    Comfortable,
}

impl Verdict {
    /// Word used by results.json.
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
    /// Verdict from the ways that count, given whether any way of backing in passes.
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

/// Openings that one vehicle needs: the largest over its travels, of the ways that count for the visits it may make.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct VehicleNeed {
    /// Index into [`Study::vehicles`].
    pub vehicle: usize,
    /// Bare minimum; `None` if from some travel no way that counts was found.
    pub bare_opening_m: Option<f64>,
    /// Comfortable; `None` likewise.
    pub comfortable_opening_m: Option<f64>,
    /// Index into [`Study::cases`] of the case that sets the comfortable opening (or of the one that failed).
    pub governed_by: Option<usize>,
    /// Need by backing in, from every travel, where backing in does not count toward the verdict and takes less.
    pub backing_in: Option<BackingIn>,
}

/// Openings that backing in would need from every direction of travel, and its cost.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct BackingIn {
    /// Bare minimum.
    pub bare_opening_m: f64,
    /// Comfortable; `None` if from some travel no comfortable way was found.
    pub comfortable_opening_m: Option<f64>,
    /// Reversing on the path found that reverses farthest.
    pub reverses: Reversing,
}
