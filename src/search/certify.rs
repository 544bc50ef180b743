//! The referee: the only code that says whether a path is an answer, and how wide an opening it needs.
//!
//! [`certify`] holds a path to everything a maneuver must keep: the vehicle's own limits, a start on the road in the lane and
//! upstream of the gate, the gate kept clear before a stop to back in, one way through the opening, everything that stands,
//! the ground, and the place to end at. [`passage`] is the part of it that a path drawn by hand is held to, too: what it
//! needs of the opening, with the leaves that this opening implies.
use super::lane::Lane;
use super::transcription::Transcription;
use super::{EDGE_TOLERANCE_M, Found, Problem, least_width};
use crate::clearance::{CollisionModel, Inspection, SampledPath, Surroundings, measure_drive};
use crate::geometry::wrap_angle;
use crate::motion::{AtGate, Chain, Path, State, Trajectory};
use crate::search::WIDEST_M;
use crate::site::Faces;
use crate::vehicle::Vehicle;

/// A start may be off what its zone says by this, meters and radians: rounding of a path that was moved between frames.
const START_TOLERANCE: f64 = 2e-6;
/// Leaves are cut for an opening this much wider than the one needed: cutting them again for less changes nothing that is
/// reported.
const LEAF_SPARE_M: f64 = 5e-4;
/// Poses at which a path is asked whether the vehicle is inside.
const CROSSING_STEP_M: f64 = 0.02;
/// How often leaves are cut longer for what a path needs, and then shorter again.
const CUTS: (usize, usize) = (12, 4);

/// Why a path is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Reason {
    /// It breaks a limit of the vehicle: which.
    Limit(String),
    /// It does not start where a vehicle may stand: what is wrong.
    Start(&'static str),
    /// It enters the gate before it stops to back in.
    Enters,
    /// It does not end wholly inside.
    NotInside,
    /// It is wholly inside and comes out again.
    ComesOut,
    /// It does not end at the spot.
    NotAtSpot,
    /// No opening that anybody builds lets it through.
    NoOpening,
    /// The opening that lets it through is so wide that a post would stand on a road.
    PostOnRoad,
    /// It goes round the end of the gate line.
    RoundTheEnd,
    /// Its tires leave the ground they may use.
    Ground,
    /// It comes too near to something that does not move with the opening: what.
    Touches(String),
}

impl std::fmt::Display for Reason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Limit(what) | Self::Touches(what) => f.write_str(what),
            Self::Start(what) => f.write_str(what),
            Self::Enters => f.write_str("it would have to enter the gate before it stops to back in"),
            Self::NotInside => f.write_str("no course tried gets wholly inside"),
            Self::ComesOut => f.write_str("it would have to come out again once it is inside"),
            Self::NotAtSpot => f.write_str("no course tried ends at the spot"),
            Self::NoOpening => write!(f, "no opening up to {WIDEST_M:.0} m lets it through"),
            Self::PostOnRoad => f.write_str("a gate wide enough would have a post on the road"),
            Self::RoundTheEnd => f.write_str("it would have to go round the end of the gate line"),
            Self::Ground => f.write_str("the tires leave the road or the drive"),
        }
    }
}

/// Why a path is no answer, and how much room it lacks: infinite where more room does not help.
#[derive(Clone, Debug, PartialEq)]
pub struct Rejection {
    /// Why.
    pub reason: Reason,
    /// Room that is missing, meters.
    pub by_m: f64,
}

impl From<Reason> for Rejection {
    fn from(reason: Reason) -> Self {
        Self { reason, by_m: f64::INFINITY }
    }
}

/// The opening a path certainly passes as an answer to a problem, or why it is none. `about_m` is about how
/// wide that will be: leaves are cut for it at first.
///
/// # Errors
/// The first rule that the path breaks.
pub fn certify(problem: &Problem, driven: &Trajectory<AtGate>, about_m: f64) -> Result<Found, Rejection> {
    let path = driven.path();
    if let Some(fault) = path.limit_faults(problem.vehicle).first() {
        return Err(Reason::Limit(fault.what.clone()).into());
    }
    starts(problem.lane, path).map_err(Reason::Start)?;
    let found = passage(problem.vehicle, problem.surroundings, problem.clearance_m, driven, about_m)?;
    let front_v = problem.surroundings.front_v();
    let entered = |leg: usize| found.inspection.most_v[leg] > front_v;
    if (0..path.legs.len()).any(|leg| Transcription::keeps_out(problem, leg) && entered(leg)) {
        return Err(Reason::Enters.into());
    }
    if comes_out(problem, path) {
        return Err(Reason::ComesOut.into());
    }
    if let Some(spot) = &problem.spot {
        let chain = Chain::of(problem.vehicle);
        if !spot.reached(&chain, &path.end(&chain)) {
            return Err(Reason::NotAtSpot.into());
        }
    }
    Ok(found)
}

/// A path goes through the opening once: once the vehicle is wholly behind the posts it stays there.
fn comes_out(problem: &Problem, path: &Path) -> bool {
    let model = CollisionModel::new(problem.vehicle, problem.surroundings.clone(), 0.0, WIDEST_M);
    let behind_v = problem.surroundings.behind_posts_v();
    let mut inside = false;
    path.samples(&model.chain, CROSSING_STEP_M).iter().any(|sample| {
        let before = std::mem::replace(&mut inside, model.is_behind(&sample.state, behind_v));
        before && !inside
    })
}

/// Holds the start of a path to the zones of its lane.
fn starts(lane: &Lane, path: &Path) -> Result<(), &'static str> {
    let State { lead, curvature, hitch } = path.start;
    let station = lane.station_of(&lead);
    let straight = lane.pose(station, 0.0);
    if station > lane.upstream_m + START_TOLERANCE {
        return Err("it would start beside the gate or past it");
    }
    let offset = straight.to_body(lead.position).y;
    let fits = lane.zones.iter().any(|zone| {
        let stands = lane.start(zone, station, offset);
        let within = |value: f64, (low, high): (f64, f64)| {
            value >= low - START_TOLERANCE && value <= high + START_TOLERANCE
        };
        let first = path.legs.first().and_then(|leg| leg.segments.first());
        let steered = first.map_or(curvature, |segment| segment.curvature_start);
        within(station, zone.stations_m)
            && within(offset, zone.play_m)
            && wrap_angle(lead.heading - stands.lead.heading).abs() <= START_TOLERANCE
            && (steered - stands.curvature).abs() <= START_TOLERANCE
            && hitch.iter().zip(stands.hitch).all(|(a, b)| (a - b).abs() <= START_TOLERANCE)
    });
    if fits { Ok(()) } else { Err("it would not start on the road as drawn, in its lane") }
}

/// A path put back along its lane, straight, so that it starts upstream of the gate; as it is where it does already.
#[must_use]
pub fn led_in(lane: &Lane, path: &Path) -> Path {
    let station = lane.station_of(&path.start.lead);
    let back = station - lane.upstream_m;
    let mut path = path.clone();
    let Some(leg) = path.legs.first_mut().filter(|_| back > 0.0) else { return path };
    let at = path.start.lead;
    path.start.lead.position = at.position - crate::geometry::Point::at_angle(at.heading) * back;
    leg.segments.insert(0, crate::motion::Segment::arc(back, 0.0));
    path
}

/// The opening that a path certainly passes, from whatever place it starts, with the leaves that this opening
/// implies; or why none lets it through.
///
/// # Errors
/// The first rule that the path breaks.
pub fn passage(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    clearance_m: f64,
    driven: &Trajectory<AtGate>,
    about_m: f64,
) -> Result<Found, Rejection> {
    let path = driven.path();
    let has_leaves = surroundings.has_leaves();
    let with_leaves = |opening_m: f64| {
        let around = if has_leaves { surroundings.with_leaves_for(opening_m) } else { surroundings.clone() };
        CollisionModel::new(vehicle, around, clearance_m, opening_m.max(0.1))
    };
    // A hair longer leaves at once: else they are cut again for what it takes between the poses looked at.
    let mut opening_m = if about_m.is_finite() { about_m.clamp(0.1, 2.0 * WIDEST_M) } else { 2.0 * WIDEST_M };
    let mut model = with_leaves(opening_m);
    let drive = SampledPath::new(&model.chain, path);
    let mut inspection = measure_drive(&model, &drive);
    // Shorter leaves need less; widen until the leaves of the opening itself let the path through.
    for _ in 0..CUTS.0 {
        if inspection.opening_m <= opening_m + 1e-9 || inspection.opening_m > WIDEST_M {
            break;
        }
        opening_m = inspection.opening_m;
        model = with_leaves(opening_m);
        inspection = measure_drive(&model, &drive);
    }
    // Where the first guess was wide, leaves as long as the opening that was found lets them be may need less still.
    for _ in 0..CUTS.1 {
        let shorter = inspection.opening_m + LEAF_SPARE_M;
        if !has_leaves || !inspection.opening_m.is_finite() || shorter > opening_m - LEAF_SPARE_M {
            break;
        }
        let again = with_leaves(shorter);
        let seen = measure_drive(&again, &drive);
        if seen.opening_m > shorter || seen.margin_m < inspection.margin_m.min(0.0) {
            break;
        }
        (opening_m, model, inspection) = (shorter, again, seen);
    }
    let passes = inspection.passes(EDGE_TOLERANCE_M);
    if passes && inspection.opening_m <= opening_m + 1e-9 && inspection.opening_m <= WIDEST_M {
        // Whatever passes between the posts needs its own width there.
        if inspection.opening_m < least_width(vehicle) - 1e-6 {
            return Err(Reason::RoundTheEnd.into());
        }
        return Ok(Found { path: driven.clone(), inspection });
    }
    Err(rejection(&model, path, inspection))
}

/// How far what a vehicle needs reaches past a face that stays where it is, or past the room there is for the faces; infinite
/// where that is not what is wrong.
fn short_of_face(surroundings: &Surroundings, needed: Faces) -> f64 {
    let (drawn, room) = (surroundings.drawn_faces_u, surroundings.room_u());
    let short = surroundings.anchor.overstep_m(drawn, room, needed);
    if short > 0.0 { short } else { f64::INFINITY }
}

/// Why no opening lets a path through.
fn rejection(model: &CollisionModel, path: &Path, mut inspection: Inspection) -> Rejection {
    if !inspection.ends_beyond {
        return Reason::NotInside.into();
    }
    // A leaf that stands in the way and grows with the opening can be passed by an opening nobody builds.
    if inspection.opening_m > WIDEST_M
        && inspection.margin_m >= 0.0
        && inspection.ground_m >= -EDGE_TOLERANCE_M
    {
        let (around, needed) = (&model.surroundings, inspection.faces_u);
        let by_m = short_of_face(around, needed);
        let (_, faces) = around.anchor.least_opening(around.drawn_faces_u, Faces::ANYWHERE, needed);
        let beside_road = faces.within(around.road_faces_u(), 0.0);
        let reason = if beside_road { Reason::NoOpening } else { Reason::PostOnRoad };
        return Rejection { reason, by_m };
    }
    if inspection.ground_m < -EDGE_TOLERANCE_M {
        return Rejection { reason: Reason::Ground, by_m: -2.0 * inspection.ground_m };
    }
    inspection.find_contacts(model, path);
    let what = inspection.touches.first().map_or("the site", |t| t.what.as_str());
    // Nothing is missing there: it is the leaves.
    let by_m = if inspection.margin_m < 0.0 { -inspection.margin_m } else { f64::INFINITY };
    Rejection { reason: Reason::Touches(what.to_owned()), by_m }
}
