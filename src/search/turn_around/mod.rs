//! Drive in, turn around inside, drive out: a turn that joins a way out.
//!
//! [`turn_around()`] takes a vehicle where its way in ends, wholly inside, and a way that leads out forward, and finds
//! a turn from one onto the other: the fewest stops first, then the shortest found. A grid of poses shows where a turn
//! is possible (`grid.rs`); Newton's method makes it meet the way out exactly in place, direction and curvature
//! (`course.rs`); pattern search shortens it (`improve.rs`). The answer comes from a certificate alone: the whole
//! drive, turn and way out, is checked against the limits of the vehicle and measured by
//! [`crate::clearance::measure()`], whose bound holds between poses. So the search may be wrong only by missing a turn,
//! or a shorter one.
//!
//! The whole drive is measured in the direction it is driven. A way in ends inside and this drive begins there, so the
//! certificate requires that of its start. Driven backward it would cover the same ground, but the equations of a
//! trailer pushed back are unstable: rounding errors would grow along the path.
//!
#![doc = include_str!("README.md")]
mod course;
mod forward;
mod grid;
mod improve;
mod way_out;
mod yard;

use super::{EDGE_TOLERANCE_M, least_width};
use crate::clearance::{CollisionModel, Inspection, STEP_M, Surroundings, Touch, measure, touches};
use crate::geometry::trig;
use crate::motion::{AtGate, Direction, Leg, Path, Sample, State, Trajectory};
use crate::vehicle::Vehicle;
use course::Course;
use grid::{Grid, Search, Tally};
use improve::{Priced, STEPS, improve, smooth};
use way_out::WayOut;
use yard::{Lacks, Yard};

/// A turn to find: one vehicle, one place, one clearance.
#[derive(Clone, Copy, Debug)]
pub struct TurnProblem<'a> {
    /// The vehicle.
    pub vehicle: &'a Vehicle,
    /// The site as this travel sees it, the opening about the drawn middle and the leaves as long as they are: see
    /// [`Surroundings::with_fixed_leaves`].
    pub surroundings: &'a Surroundings,
    /// Clearance kept from everything that stands, meters.
    pub clearance_m: f64,
    /// The opening as drawn, meters.
    pub drawn_m: f64,
    /// State in which the way in ends, wholly inside (gate frame).
    pub from: State,
    /// Path that leads out forward through the gate to the road (gate frame), such as a path of backing in
    /// [reversed](Path::reversed). Its curvature may not jump within its first leg.
    pub out: &'a Path,
    /// Number of stops to change direction that are allowed. The way in and the way out are driven forward, so a turn
    /// takes an even number; more than [`MOST_STOPS`] are not searched.
    pub most_stops: u32,
    /// True to shorten the turn and steady its wheel: most of the work. False where only whether there is one matters.
    pub shorten: bool,
}

/// Largest number of stops searched.
pub const MOST_STOPS: u32 = 6;

/// A turn, and the way out.
#[derive(Clone, Debug)]
pub struct TurnAround {
    /// Path of the turn and of the way out from where it joins: it starts as [`TurnProblem::from`] stands, in its
    /// curvature and hitch angles.
    pub path: Trajectory<AtGate>,
    /// Stops to change direction, from the end of the way in to the way out.
    pub stops: u32,
    /// Length of the turn until it joins the way out or, where that is sooner, until the vehicle begins to come out,
    /// meters.
    pub turn_m: f64,
    /// Length of the whole path, meters.
    pub length_m: f64,
    /// Least gap seen between the vehicle and what stands, the gate as drawn, at poses [`STEP_M`] apart, meters; a
    /// meter where nothing comes nearer.
    pub least_gap_m: f64,
    /// Certificate: the need of the whole path, with a bound that holds between poses. Its tight places are those with
    /// the gate as drawn.
    pub inspection: Inspection,
    /// Poses evaluated on grids.
    pub work: u64,
}

/// Reason that there is no turn.
#[derive(Clone, Debug, PartialEq)]
pub enum NoTurn {
    /// The vehicle does not stand clear and wholly inside at the start; with what is wrong.
    Start(String),
    /// The way out cannot be driven; with what is wrong.
    Out(String),
    /// No turn was found.
    Stopped {
        /// Obstruction of most of the poses tried.
        by: Obstruction,
        /// Stops that were allowed, rounded down to an even number.
        stops: u32,
        /// True if the search ended before it had evaluated all its poses: with more work a turn might be found.
        unfinished: bool,
    },
}

/// Obstruction of a turn.
#[derive(Clone, Debug, PartialEq)]
pub enum Obstruction {
    /// Something that stands, by its name.
    Thing(String),
    /// The edge of the ground that tires may use.
    Ground,
    /// The gate line: it would have to come out again while turning.
    GateLine,
    /// A hitch-angle limit.
    Hitch,
    /// Nothing stopped it, but no path to the way out was found.
    Nothing,
}

impl std::fmt::Display for Obstruction {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Thing(what) => f.write_str(what),
            Self::Ground => f.write_str("the edge of the drive or yard"),
            Self::GateLine => f.write_str("the gate line"),
            Self::Hitch => f.write_str("a hitch-angle limit"),
            Self::Nothing => f.write_str("nothing in particular"),
        }
    }
}

impl std::fmt::Display for NoTurn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Start(what) => write!(f, "where the way in ends: {what}"),
            Self::Out(what) => write!(f, "the way out: {what}"),
            Self::Stopped { by, stops, unfinished } => {
                let begun = if *unfinished { "none found" } else { "no room" };
                write!(f, "{begun} to turn around with {stops} stops; main obstacle: {by}")
            }
        }
    }
}

impl std::error::Error for NoTurn {}

const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// Grids for a rigid vehicle: the second is searched where the first finds nothing.
const RIGID: [Grid; 2] = [
    Grid {
        step_rad: 0.13,
        cell_rad: 6.0 * DEGREE,
        cell_hitch_rad: 1.0,
        cell_share: 0.7,
        lenient_m: 0.04,
        hitch_spare_rad: 0.0,
        poses: 250_000,
        tries: 600,
    },
    Grid {
        step_rad: 0.11,
        cell_rad: 5.0 * DEGREE,
        cell_hitch_rad: 1.0,
        cell_share: 0.6,
        lenient_m: 0.10,
        hitch_spare_rad: 0.0,
        poses: 250_000,
        tries: 600,
    },
];
/// Grids for a vehicle with trailers: poses by place, heading and hitch angle are so many that neither is always
/// searched to its end.
const TOWING: [Grid; 2] = [
    Grid {
        step_rad: 0.16,
        cell_rad: 8.0 * DEGREE,
        cell_hitch_rad: 10.0 * DEGREE,
        cell_share: 0.8,
        lenient_m: 0.04,
        hitch_spare_rad: 0.06,
        poses: 400_000,
        tries: 250,
    },
    Grid {
        step_rad: 0.20,
        cell_rad: 9.0 * DEGREE,
        cell_hitch_rad: 9.0 * DEGREE,
        cell_share: 0.7,
        lenient_m: 0.12,
        hitch_spare_rad: 0.0,
        poses: 200_000,
        tries: 250,
    },
];
/// Spare room at the sampled poses, so that the certificate's bound between them still passes, meters. A course that
/// fails with the first is tried again with the second.
const SPARES_M: [f64; 2] = [0.006, 0.025];
/// Batches of candidate courses examined for each grid and number of stops.
const BATCHES: usize = 4;
/// Number of courses of a batch that are examined closely, and the number where none of these passes.
const TAKEN: (usize, usize) = (4, 12);
/// Drives evaluated to repair or shorten each of them, to shorten each of the best in the end, and to smooth it.
const LOOKS: (usize, usize, usize) = (120, 500, 700);
/// Number of best courses that are shortened in the end.
const FINALISTS: usize = 2;
/// Tolerance for poses of the input: rounding of a path that was moved between frames, meters.
const ROUNDING_M: f64 = 1e-6;
/// Lean below this counts as none: rounding.
const LEANS: f64 = 1e-6;
/// Step between the poses at which the vehicle must be inside during the turn, meters.
const INSIDE_STEP_M: f64 = 0.02;

/// Finds a turn from where the way in ends onto the way out: fewest stops first, then the shortest found.
///
/// The same problem gives the same turn on every machine, and the work is bounded.
///
/// On open ground no turn without a stop back onto one's own line is shorter than 2π of the least radius: a quarter turn to one
/// side and three quarters to the other, each on a circle of that radius.
///
/// ```
/// use std::f64::consts::{FRAC_PI_2, PI};
/// use wideenough::clearance::Surroundings;
/// use wideenough::geometry::Pose;
/// use wideenough::motion::{Direction, Leg, Path, Segment, State};
/// use wideenough::search::turn_around::{TurnProblem, turn_around};
/// use wideenough::site::sketch::{TapeMeasurements, to_plan_text};
/// let tape = TapeMeasurements { opening_m: 4.0, ..TapeMeasurements::default() };
/// let site = wideenough::site::read(&to_plan_text(&tape).unwrap(), "sketch").unwrap();
/// let vehicle = wideenough::vehicle::find("car").unwrap();
/// let drawn_m = site.gate.opening_m();
/// let surroundings = Surroundings::new(&site, None, drawn_m).with_fixed_leaves();
/// let at = |v: f64, heading: f64| State { lead: Pose::new(0.0, v, heading), ..State::default() };
/// let out = Leg { direction: Direction::Forward, segments: vec![Segment::arc(20.0, 0.0)] };
/// let out = Path { start: at(12.0, -FRAC_PI_2), legs: vec![out] };
/// let (clearance_m, from) = (0.3, at(12.0, FRAC_PI_2));
/// let problem = TurnProblem {
///     vehicle: &vehicle, surroundings: &surroundings, clearance_m, drawn_m, from, out: &out, most_stops: 4,
///     shorten: true,
/// };
/// let turn = turn_around(&problem).unwrap();
/// assert_eq!(turn.stops, 0);
/// assert!(turn.turn_m > 2.0 * PI / vehicle.steering.max_curvature);
/// ```
///
/// # Errors
/// Why there is none, with what stopped most of what was tried.
pub fn turn_around(problem: &TurnProblem) -> Result<TurnAround, NoTurn> {
    let model = CollisionModel::new(
        problem.vehicle,
        problem.surroundings.clone(),
        problem.clearance_m,
        problem.drawn_m.max(0.1),
    );
    let mut yard = Yard::new(problem.vehicle, model, problem.drawn_m, leans_left(problem));
    let from = problem.from;
    yard.room_m = room_at_start(&yard, &from)?;
    drives_out(problem.out).map_err(|what| NoTurn::Out(what.to_owned()))?;
    if !yard.is_towing() {
        // A rigid vehicle drives it exactly as given; a trailer reaches it with other hitch angles.
        certificate(&yard, problem.out, 0.0).map_err(NoTurn::Out)?;
    }
    yard.out_room_m = yard.room_on(problem.out);
    let no_way = || NoTurn::Out("it does not begin inside".to_owned());
    let joinable = |lead: &_| !yard.is_towing() || yard.lead_is_inside(lead);
    let steering = (yard.wheels, &yard.model.chain, yard.holds);
    let way = WayOut::new(problem.out, steering, joinable).ok_or_else(no_way)?;
    let grids: &[Grid] = if yard.is_towing() { &TOWING } else { &RIGID };
    let mut searches: Vec<Search> =
        grids.iter().map(|grid| Search::new(&yard, &way, from, grid.for_units(problem.vehicle))).collect();
    let place = (&yard, &way, &from);
    for pairs in 0..=problem.most_stops.min(MOST_STOPS) / 2 {
        for search in &mut searches {
            search.begin(usize::try_from(pairs).unwrap_or(0));
            for _ in 0..BATCHES {
                let Some(courses) = search.courses(SPARES_M[0]) else { break };
                if let Some((course, path, inspection)) = best_of(place, courses, problem.shorten) {
                    let work = searches.iter().map(|search| search.tally.looked as u64).sum();
                    let turn_m = turn_length_m(&yard, &course, &path, &way);
                    return Ok(answer(&yard, path, inspection, (2 * pairs, turn_m, work)));
                }
            }
        }
    }
    let stops = 2 * (problem.most_stops.min(MOST_STOPS) / 2);
    let tallies: Vec<&Tally> = searches.iter().map(|search| &search.tally).collect();
    let unfinished = tallies.iter().any(|tally| tally.unfinished);
    Err(NoTurn::Stopped { by: obstruction(&yard, &tallies), stops, unfinished })
}

/// Length of a turn: until it joins the way out or, where that is sooner, until the vehicle begins to come out.
fn turn_length_m(yard: &Yard, course: &Course, path: &Path, way: &WayOut) -> f64 {
    let (inside_m, joins_m) = (yard.inside_m(course, way), course.length_m(yard.wheels, way));
    let samples = path.samples(&yard.model.chain, INSIDE_STEP_M);
    let is_out =
        |sample: &Sample| sample.station_m >= inside_m && !yard.model.is_behind(&sample.state, yard.behind_v);
    let until = samples.iter().position(is_out).unwrap_or(samples.len());
    samples[..until].last().map_or(0.0, |inside| joins_m.min(inside.station_m))
}

/// True for one of two mirrored places: what stands weighs more on its left, or else its ground, or the vehicle is
/// there.
fn leans_left(problem: &TurnProblem) -> bool {
    let standing: f64 = problem.surroundings.standing.iter().map(|piece| piece.center.x).sum();
    let edges = problem.surroundings.ground.iter().flat_map(|ground| ground.edges());
    let ground: f64 = edges.map(|(a, b)| (a.x + b.x) * a.distance(*b)).sum();
    let lead = problem.from.lead;
    let out = problem.out.start.lead;
    let aside =
        [standing, ground, lead.position.x, trig::cos(lead.heading), out.position.x, trig::cos(out.heading)];
    aside.into_iter().find(|aside| aside.abs() > LEANS).is_some_and(|aside| aside < 0.0)
}

/// Checks that a way out begins by driving forward and has finite numbers only; returns what is wrong.
fn drives_out(out: &Path) -> Result<(), &'static str> {
    let State { lead, hitch, curvature } = out.start;
    let of_start = [lead.position.x, lead.position.y, lead.heading, curvature];
    let segments = || out.legs.iter().flat_map(|leg| &leg.segments);
    let of_legs = segments().flat_map(|s| [s.length_m, s.curvature_start, s.curvature_end]);
    if !of_start.into_iter().chain(hitch).chain(of_legs).all(f64::is_finite) {
        return Err("it has a number that is not finite");
    }
    let drives =
        |leg: &Leg| leg.direction == Direction::Forward && leg.segments.iter().any(|s| s.length_m > 0.0);
    if !out.legs.first().is_some_and(drives) {
        return Err("it does not begin by driving forward");
    }
    Ok(())
}

/// Room at the start beyond the clearance.
fn room_at_start(yard: &Yard, from: &State) -> Result<f64, NoTurn> {
    let lead = from.lead;
    let numbers = [lead.position.x, lead.position.y, lead.heading, from.curvature];
    if !numbers.iter().chain(&from.hitch).all(|value| value.is_finite()) {
        return Err(NoTurn::Start("its pose has a number that is not finite".to_owned()));
    }
    if from.curvature.abs() > yard.wheels.max * (1.0 + 1e-9) {
        return Err(NoTurn::Start("its wheels are turned farther than full lock".to_owned()));
    }
    if !yard.model.is_inside(from, -ROUNDING_M) {
        return Err(NoTurn::Start("the vehicle is not wholly inside".to_owned()));
    }
    let (lack_m, what) = yard.lack(from, false, &mut Default::default());
    if lack_m <= ROUNDING_M {
        return Ok((-lack_m).max(0.0));
    }
    let sample = Sample { state: *from, leg: 0, station_m: 0.0 };
    let by = match what {
        Lacks::Standing | Lacks::Gate => nearest_thing(yard, &[sample.state]).to_string(),
        Lacks::Ground => Obstruction::Ground.to_string(),
        Lacks::Inside => Obstruction::GateLine.to_string(),
        Lacks::Hitch => Obstruction::Hitch.to_string(),
    };
    Err(NoTurn::Start(format!("the vehicle lacks room: {by}")))
}

/// Returns the shortest certified course of those a grid found, with its path and certificate; without `shorten` the first
/// one that passes, as it is.
fn best_of(
    place: (&Yard, &WayOut, &State),
    courses: Vec<Priced>,
    shorten: bool,
) -> Option<(Course, Path, Inspection)> {
    let (yard, way, from) = place;
    let mut near: Vec<Priced> = Vec::new();
    for (rank, begun) in courses.into_iter().take(TAKEN.1).enumerate() {
        if near.len() >= TAKEN.0 || rank >= TAKEN.0 && !near.is_empty() {
            break;
        }
        let passes = begun.lack_m == 0.0 && !shorten;
        let better = if passes { begun } else { improve(place, begun, SPARES_M[0], LOOKS.0, &STEPS) };
        if better.lack_m == 0.0 {
            near.push(better);
        }
    }
    near.sort_by(|a, b| a.price_m.total_cmp(&b.price_m));
    let certified = |priced: &Priced| {
        let path = priced.course.path(from, yard.wheels, way);
        let inside_m = yard.inside_m(&priced.course, way);
        certificate(yard, &path, inside_m).ok().map(|inspection| (priced.course.clone(), path, inspection))
    };
    if !shorten && let Some(found) = near.iter().find_map(certified) {
        return Some(found);
    }
    let mut best: Option<(f64, (Course, Path, Inspection))> = None;
    for (rank, begun) in near.iter().enumerate() {
        if rank >= FINALISTS && best.is_some() {
            break;
        }
        let shorter = improve(place, begun.clone(), SPARES_M[0], LOOKS.1, &STEPS);
        let finished = smooth(place, shorter, SPARES_M[0], LOOKS.2);
        let again = || {
            let lack_m = yard.course_lacks(from, &finished.course, way, SPARES_M[1], 1.0);
            let roomier = improve(place, Priced { lack_m, ..finished.clone() }, SPARES_M[1], LOOKS.0, &STEPS);
            certified(&roomier).map(|found| (roomier.price_m, found))
        };
        let found = certified(&finished).map(|found| (finished.price_m, found));
        let found = found.or_else(again).or_else(|| certified(begun).map(|found| (begun.price_m, found)));
        if let Some(found) =
            found.filter(|(price_m, _)| best.as_ref().is_none_or(|(least, _)| price_m < least))
        {
            best = Some(found);
        }
    }
    best.map(|(_, found)| found)
}

/// Certifies a whole drive: the vehicle's limits, a start wholly inside, the vehicle inside for `inside_m`, and
/// everything that stands, the gate as drawn and the ground, by a bound that holds between poses. Otherwise returns
/// what is wrong.
fn certificate(yard: &Yard, path: &Path, inside_m: f64) -> Result<Inspection, String> {
    if let Some(fault) = path.limit_faults(yard.vehicle).first() {
        return Err(fault.what.clone());
    }
    let model = &yard.model;
    let samples = path.samples(&model.chain, INSIDE_STEP_M);
    let mut turning = samples.iter().filter(|sample| sample.station_m <= inside_m);
    if !turning.all(|sample| model.is_behind(&sample.state, yard.behind_v - ROUNDING_M)) {
        return Err("the vehicle would have to come out again while it turns".to_owned());
    }
    let ends_beyond = model.is_inside(&path.start, -ROUNDING_M);
    let inspection = Inspection { ends_beyond, ..measure(model, path) };
    if !ends_beyond {
        return Err("the vehicle does not start wholly inside".to_owned());
    }
    if inspection.ground_m < -EDGE_TOLERANCE_M {
        return Err("the tires leave the road or the drive".to_owned());
    }
    if !inspection.passes(EDGE_TOLERANCE_M) {
        return Err("something stands in the way".to_owned());
    }
    if inspection.opening_m > yard.drawn_m + 1e-9 {
        return Err("the gate as drawn is too narrow".to_owned());
    }
    // Anything that passes between the posts needs its own width there.
    if inspection.opening_m < least_width(yard.vehicle) - 1e-6 {
        return Err("it does not lead out through the gate".to_owned());
    }
    Ok(inspection)
}

/// Result for a certified path.
fn answer(
    yard: &Yard,
    path: Path,
    mut inspection: Inspection,
    (stops, turn_m, work): (u32, f64, u64),
) -> TurnAround {
    let model = &yard.model;
    let faces = model.surroundings.drawn_faces_u;
    let tight: Vec<Touch> = touches(model, &path.samples(&model.chain, STEP_M), faces);
    let least_gap_m = tight.first().map_or(1.0, |touch| touch.gap_m);
    inspection.touches = tight;
    let length_m = path.length_m();
    TurnAround { path: Trajectory::new(path), stops, turn_m, length_m, least_gap_m, inspection, work }
}

/// Obstruction of most of the rejected poses.
fn obstruction(yard: &Yard, tallies: &[&Tally]) -> Obstruction {
    let total = |what: Lacks| tallies.iter().map(|tally| tally.by[what as usize]).sum::<usize>();
    let things = total(Lacks::Standing) + total(Lacks::Gate);
    let ranked = [
        (things, None),
        (total(Lacks::Ground), Some(Obstruction::Ground)),
        (total(Lacks::Inside), Some(Obstruction::GateLine)),
        (total(Lacks::Hitch), Some(Obstruction::Hitch)),
    ];
    let most = ranked.iter().map(|(count, _)| *count).max().unwrap_or(0);
    if most == 0 {
        return Obstruction::Nothing;
    }
    let found = ranked.into_iter().find(|(count, _)| *count == most).and_then(|(_, what)| what);
    found.unwrap_or_else(|| {
        let states: Vec<State> = tallies.iter().flat_map(|tally| tally.touching.iter().copied()).collect();
        nearest_thing(yard, &states)
    })
}

/// The thing that most of these poses come nearest to, by name.
fn nearest_thing(yard: &Yard, states: &[State]) -> Obstruction {
    let faces = yard.model.surroundings.drawn_faces_u;
    let mut names: Vec<(String, usize)> = Vec::new();
    for state in states {
        let sample = Sample { state: *state, leg: 0, station_m: 0.0 };
        if let Some(touch) = touches(&yard.model, &[sample], faces).into_iter().next() {
            match names.iter_mut().find(|(name, _)| *name == touch.what) {
                Some((_, count)) => *count += 1,
                None => names.push((touch.what, 1)),
            }
        }
    }
    let most = names.iter().map(|(_, count)| *count).max().unwrap_or(0);
    let named = names.into_iter().find(|(_, count)| *count == most);
    named.map_or(Obstruction::Nothing, |(name, _)| Obstruction::Thing(name))
}
