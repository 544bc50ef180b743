//! Referee: the only code that decides whether a path is an answer, and how wide an opening it needs.
//!
//! [`certify`] checks everything that a maneuver must keep: the vehicle's own limits, a start on the road in the lane
//! and upstream of the gate, the gate kept clear before a stop to back in, a single pass through the opening,
//! everything that stands, the ground, and the place to end at. [`passage`] is the part of it that applies to a path
//! drawn by hand, too: the opening it needs, with the leaves that this opening implies.
//!
//! Part of the engine, public for the tests that hold it.
use super::lane::Lane;
use super::transcription::Transcription;
use super::{EDGE_TOLERANCE_M, Found, Problem, least_width};
use crate::clearance::{CollisionModel, Inspection, SampledPath, Surroundings, measure_drive};
use crate::geometry::wrap_angle;
use crate::motion::{AtGate, Chain, Path, State, Trajectory};
use crate::search::WIDEST_M;
use crate::site::Faces;
use crate::vehicle::Vehicle;

/// Tolerance of a start against its zone, meters and radians: rounding of a path that was moved between frames.
const START_TOLERANCE: f64 = 2e-6;
/// Leaves are cut for an opening this much wider than the one needed: cutting them again for less changes nothing that is
/// reported.
const LEAF_SPARE_M: f64 = 5e-4;
/// Spacing of the poses at which a path is tested for the vehicle being inside.
const CROSSING_STEP_M: f64 = 0.02;
/// Largest number of times that leaves are cut longer for what a path needs, and then shorter again.
const CUTS: (usize, usize) = (12, 4);

/// Reason that a path is no answer.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// It breaks a limit of the vehicle; with the limit.
    Limit(String),
    /// It does not start where a vehicle may stand; with what is wrong.
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
    /// It comes too near to something that does not move with the opening; with that thing.
    Touches(String),
}

impl std::fmt::Display for Reason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Limit(what) | Self::Touches(what) => f.write_str(what),
            Self::Start(what) => f.write_str(what),
            Self::Enters => f.write_str("it would have to enter the gate before it stops to back in"),
            Self::NotInside => f.write_str("no path tried gets wholly inside"),
            Self::ComesOut => f.write_str("it would have to come out again once it is inside"),
            Self::NotAtSpot => f.write_str("no path tried ends at the spot"),
            Self::NoOpening => write!(f, "no opening up to {WIDEST_M:.0} m lets it through"),
            Self::PostOnRoad => f.write_str("a gate wide enough would have a post on the road"),
            Self::RoundTheEnd => f.write_str("it would have to go around the end of the gate line"),
            Self::Ground => f.write_str("the tires leave the road or the drive"),
        }
    }
}

/// Rejection of a path, and how much room it lacks: infinite where more room does not help.
#[derive(Clone, Debug, PartialEq)]
pub struct Rejection {
    /// Reason.
    pub reason: Reason,
    /// Missing room, meters.
    pub by_m: f64,
    /// Excess of a hitch angle over its limit, radians; 0 where no hitch is at fault.
    pub hitch_over_rad: f64,
}

impl From<Reason> for Rejection {
    fn from(reason: Reason) -> Self {
        Self { reason, by_m: f64::INFINITY, hitch_over_rad: 0.0 }
    }
}

/// Certifies a path as an answer to a problem: returns the opening that it certainly passes, or why it is no answer.
/// `about_m` is an estimate of the opening: leaves are cut for it at first.
///
/// # Errors
/// The first rule that the path breaks.
pub fn certify(problem: &Problem, driven: &Trajectory<AtGate>, about_m: f64) -> Result<Found, Rejection> {
    let path = driven.path();
    if let Some(fault) = path.limit_faults(problem.vehicle).first() {
        let reason = Reason::Limit(fault.what.clone());
        return Err(Rejection { hitch_over_rad: fault.hitch_over_rad, ..reason.into() });
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

/// True if a path comes out again after the vehicle was wholly behind the posts: a path goes through the opening only
/// once.
fn comes_out(problem: &Problem, path: &Path) -> bool {
    let model = CollisionModel::new(problem.vehicle, problem.surroundings.clone(), 0.0, WIDEST_M);
    let behind_v = problem.surroundings.behind_posts_v();
    let mut inside = false;
    path.samples(&model.chain, CROSSING_STEP_M).iter().any(|sample| {
        let before = std::mem::replace(&mut inside, model.is_behind(&sample.state, behind_v));
        before && !inside
    })
}

/// Checks the start of a path against the zones of its lane.
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

/// Extends a path straight back along its lane, so that it starts upstream of the gate; a path that does already is
/// returned as it is.
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

/// Computes the opening that a path certainly passes, wherever it starts, with the leaves that this opening implies; or
/// why no opening lets it through.
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
    // Begin with slightly longer leaves: otherwise they are cut again for what is needed between the sampled poses.
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
    // Where the first guess was wide, leaves as long as the opening found implies may need less still.
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
        // Anything that passes between the posts needs its own width there.
        if inspection.opening_m < least_width(vehicle) - 1e-6 {
            return Err(Reason::RoundTheEnd.into());
        }
        return Ok(Found { path: driven.clone(), inspection, polished: None });
    }
    Err(rejection(&model, path, inspection))
}

/// Distance by which the need reaches past a face that stays where it is, or past the room there is for the faces;
/// infinite where that is not what is wrong.
fn short_of_face(surroundings: &Surroundings, needed: Faces) -> f64 {
    let (drawn, room) = (surroundings.drawn_faces_u, surroundings.room_u());
    let short = surroundings.anchor.overstep_m(drawn, room, needed);
    if short > 0.0 { short } else { f64::INFINITY }
}

/// Returns why no opening lets a path through.
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
        return Rejection { by_m, ..reason.into() };
    }
    if inspection.ground_m < -EDGE_TOLERANCE_M {
        return Rejection { by_m: -2.0 * inspection.ground_m, ..Reason::Ground.into() };
    }
    inspection.find_contacts(model, path);
    let what = inspection.touches.first().map_or("the site", |t| t.what.as_str());
    // Where no margin is missing, the leaves are the reason.
    let by_m = if inspection.margin_m < 0.0 { -inspection.margin_m } else { f64::INFINITY };
    Rejection { by_m, ..Reason::Touches(what.to_owned()).into() }
}
