//! Turning around inside: from where a vehicle stands once it has driven in to where it drives out forward, at the gate as
//! drawn.
//!
//! The way out is a way of backing in, reversed: without tire slip it covers the same ground. It begins in the lane of coming, past
//! the gate, or in the lane of leaving the way it came ([`super::CaseLane`]). What is found is one path, the turn and the way
//! out, and is certified as one.
use super::ask::Ask;
use super::drawn_clearance::as_drawn;
use super::starts::lanes;
use super::study::{Scene, contacts, scene_by};
use super::{Case, Contact, DrawnGate, Study, StudyOptions, TravelCases, Wanted};
use crate::clearance::Surroundings;
use crate::motion::{Chain, OnSite, Path, Trajectory};
use crate::search::Effort;
use crate::search::turn_around::{TurnAround, TurnProblem, turn_around};
use crate::site::{Maneuver, Site, Visit};
use crate::vehicle::Vehicle;
use rayon::prelude::*;

/// Stops to change direction that a turn may take unless others are chosen: two three-point turns.
pub const TURN_STOPS: u32 = 4;

/// Whether a vehicle can turn around inside, coming from one direction of travel and going on in it.
#[derive(Clone, Debug)]
pub struct Turn {
    /// Index into [`Study::vehicles`].
    pub vehicle: usize,
    /// The direction of travel: "eastbound".
    pub travel: String,
    /// The turn, or why there is none, in plain words.
    pub found: Result<FoundTurn, String>,
}

/// A turn that was found.
#[derive(Clone, Debug)]
pub struct FoundTurn {
    /// Whether it keeps the study's clearance; else it touches nothing.
    pub comfortable: bool,
    /// Stops to change direction, from the end of the way in to the way out.
    pub stops: u32,
    /// Length of the turn until it joins the way out, meters.
    pub turn_m: f64,
    /// The turn and the way out, from where the vehicle stands once it has driven in.
    pub path: Trajectory<OnSite>,
    /// Its tight places with the gate as drawn, tightest first.
    pub contacts: Vec<Contact>,
}

impl Turn {
    /// What it comes to for the gate as drawn.
    #[must_use]
    pub fn verdict(&self) -> DrawnGate {
        match &self.found {
            Ok(turn) if turn.comfortable => DrawnGate::Comfortable,
            Ok(_) => DrawnGate::Tight,
            Err(_) => DrawnGate::No,
        }
    }
}

/// The turns of every vehicle whose visits list turning around, from each direction of travel it was studied from.
pub(super) fn turns(study: &Study, scenes: &[Scene], wanted: &[Wanted], options: &StudyOptions) -> Vec<Turn> {
    let mut asked: Vec<(usize, TravelCases)> = Vec::new();
    for (vehicle, wanted) in wanted.iter().enumerate() {
        if wanted.visits.contains(&Visit::TurnAround) {
            asked.extend(study.of_vehicle(vehicle).travels.into_iter().map(|travel| (vehicle, travel)));
        }
    }
    let turn = |(vehicle, travel): &(usize, TravelCases)| {
        let scene = scenes.iter().find(|scene| scene.travel.word == travel.travel)?;
        let found = turn(study, scene, &study.vehicles[*vehicle], travel, options);
        Some(Turn { vehicle: *vehicle, travel: travel.travel.to_owned(), found })
    };
    asked.par_iter().filter_map(turn).collect()
}

fn turn(
    study: &Study,
    scene: &Scene,
    vehicle: &Vehicle,
    travel: &TravelCases,
    options: &StudyOptions,
) -> Result<FoundTurn, String> {
    let case = |maneuver: Maneuver| {
        let mine = travel.cases.iter().map(|case| &study.cases[*case]);
        mine.into_iter().find(|case| case.maneuver == maneuver && case.drawn_gate != DrawnGate::No)
    };
    let Some(way_in) = case(Maneuver::DriveIn) else { return Err("it does not get in forward".to_owned()) };
    let Some(way_out) = case(Maneuver::BackIn) else { return Err("it does not get out forward".to_owned()) };
    let drawn_m = study.site.gate.opening_m();
    // Where it leaves by the lane it came by, on the ground of that lane.
    let by = scene_by(&study.site, scene.travel.clone(), way_out.lane);
    let surroundings = as_drawn(by.as_ref().map_or(&scene.surroundings, |scene| &scene.surroundings));
    let ways_out = WaysOut::new(study, by.as_ref().unwrap_or(scene), vehicle, &surroundings);
    let mut why = String::new();
    for clearance_m in [options.clearance_m, 0.0] {
        let comfortable = clearance_m > 0.0;
        let in_comfort = |case: &Case| case.drawn_gate == DrawnGate::Comfortable;
        if comfortable && !(in_comfort(way_in) && in_comfort(way_out)) {
            continue;
        }
        let found = join(&ways_out, (way_in, way_out), (clearance_m, drawn_m), options.turn_stops);
        match found {
            Ok(turn) => {
                let frame = &surroundings.frame;
                return Ok(FoundTurn {
                    comfortable,
                    stops: turn.stops,
                    turn_m: turn.turn_m,
                    contacts: contacts(&turn.inspection, frame),
                    path: frame.trajectory_to_site(&turn.path),
                });
            }
            Err(reason) => why = reason,
        }
    }
    Err(why)
}

/// The ways out of one vehicle, by one lane, at the gate as drawn.
struct WaysOut<'a> {
    vehicle: &'a Vehicle,
    surroundings: &'a Surroundings,
    /// The same vehicle on wider tires: on its ways out the tires keep from the edge of the ground.
    wide: Vehicle,
    site: &'a Site,
    scene: &'a Scene,
    shunts: u32,
}

/// A trailer arrives on a way out bent a little otherwise than that way has it. So its way out is asked to keep this far from
/// the edge of the ground, meters, where it can: a way that needs the narrowest opening often runs along that edge.
const KEEPS_OFF_EDGE_M: f64 = 0.05;

impl<'a> WaysOut<'a> {
    fn new(
        study: &'a Study,
        scene: &'a Scene,
        vehicle: &'a Vehicle,
        surroundings: &'a Surroundings,
    ) -> Self {
        let mut wide = vehicle.clone();
        for tire in wide.units.iter_mut().flat_map(|unit| &mut unit.tires) {
            tire.width_m += 2.0 * KEEPS_OFF_EDGE_M;
        }
        Self { vehicle, surroundings, wide, site: &study.site, scene, shunts: study.shunts }
    }

    /// A way out like a known one whose tires keep from the edge of the ground; `None` for a vehicle without a trailer, which
    /// drives a way out exactly as it is given, and where none is found.
    fn off_the_edge(&self, known: &Path, clearance_m: f64, drawn_m: f64) -> Option<Path> {
        if self.vehicle.units.len() < 2 {
            return None;
        }
        let lanes = lanes(self.scene, &self.wide, [0.0, clearance_m]);
        let asked = Ask::new(self.site, self.scene, lanes, (&self.wide, Maneuver::BackIn), self.shunts);
        let about = (known, drawn_m);
        let found = asked.touched_up(self.surroundings, clearance_m, Effort::AGAIN, about).found?;
        (found.inspection.opening_m <= drawn_m).then(|| found.path.into_path())
    }
}

/// A turn between a way in and a way out with one clearance.
fn join(
    ways_out: &WaysOut,
    (way_in, way_out): (&Case, &Case),
    (clearance_m, drawn_m): (f64, f64),
    most_stops: u32,
) -> Result<TurnAround, String> {
    let &WaysOut { vehicle, surroundings, .. } = ways_out;
    let chain = Chain::of(vehicle);
    let known = |case: &Case| {
        let path = case.drawn.witness.as_ref().map(|path| surroundings.frame.trajectory_to_gate(path));
        path.ok_or_else(|| "no path at the gate as drawn is known".to_owned())
    };
    let from = known(way_in)?.path().end(&chain);
    let out = known(way_out)?.into_path();
    let out = ways_out.off_the_edge(&out, clearance_m, drawn_m).unwrap_or(out);
    let out = way_out_forward(&chain, out).ok_or("it does not get out forward")?;
    let problem = TurnProblem { vehicle, surroundings, clearance_m, drawn_m, from, out: &out, most_stops };
    turn_around(&problem).map_err(|why| why.to_string())
}

/// The last leg of a way of backing in, reversed: out of the gate forward, to where it stopped on the road.
fn way_out_forward(chain: &Chain, mut path: Path) -> Option<Path> {
    let reverse = path.legs.pop()?;
    let start = path.end(chain);
    Some(Path { start, legs: vec![reverse] }.reversed(chain))
}
