//! Driving instructions for a path through the gate as drawn: a few turns of the wheel with landmarks, and how
//! forgiving they are.
//!
//! The steps come from [`crate::search::driving_steps`], near the path that keeps the most clearance; the path that
//! results from driving them as written is certified like any other, and that path is reported.
use super::drawn_clearance::{as_drawn, of_path};
use super::landmarks::{Landmark, Landmarks};
use super::reoptimize::{Passage, SiteVariant};
use super::scene::along_road;
use super::window::{Window, window};
use super::{Case, Demanded, DrawnGate, DrawnWay, MOST_CLEARANCE_M, Progress, Study, StudyOptions};
use crate::clearance::Surroundings;
use crate::geometry::length::{INCH_M, Units};
use crate::geometry::parallel::*;
use crate::motion::{Chain, Direction, Path, Sample, State, Trajectory};
use crate::search::Problem;
use crate::search::driving_steps::{
    DrivingSteps, FEWEST_TURNS, MOST_TURNS, MOST_TURNS_AT_ALL, StepsProblem, driving_steps,
};
use crate::site::{Maneuver, Side, Site};
use crate::vehicle::{PartKind, Vehicle};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Step in which lengths are written in a plan in meters: about an inch, in whole centimeters.
const METRIC_UNIT_M: f64 = 0.02;
/// Share of the most clearance that suffices with fewer turns of the wheel; in comfort half of it, the study's
/// clearance at least.
const ENOUGH: f64 = 0.8;
const ENOUGH_IN_COMFORT: f64 = 0.5;
/// Spacing of the poses sampled to find where the wheel is turned, meters.
const LOOK_M: f64 = 0.05;

/// The driving instructions of one case at the gate as drawn.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Driving {
    /// Index into [`Study::cases`].
    pub case: usize,
    /// The steps; `None` where no small number of turns of the wheel leads through the gate: it must be steered by eye
    /// all the way.
    pub card: Option<Card>,
    /// Tolerance of the start: how much earlier, later, farther left or right it may begin.
    pub window: Option<Window>,
}

/// Steps that a driver can follow, and the clearance that they keep.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Card {
    /// The position to line up in.
    pub line_up: LineUp,
    /// Steps in order, from where the wheel is first turned.
    pub steps: Vec<Step>,
    /// Path of the steps driven as written, and the clearance that it keeps at the gate as drawn.
    pub way: DrawnWay,
    /// Turns of the wheel as numbers, gate frame.
    pub turns: DrivingSteps,
}

/// The starting position in the lane.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct LineUp {
    /// Side of the road from which the distance is measured.
    pub side: Side,
    /// Distance from that edge of the lane to the side of the lead unit where it is widest, mirrors left out, meters;
    /// negative over the edge.
    pub from_edge_m: f64,
    /// True if the lane is straight there; otherwise it is a bend that the vehicle drives along.
    pub straight: bool,
    /// Landmark where the wheel is first turned, if anything stands near: the vehicle drives on unchanged until there.
    pub until: Option<Landmark>,
}

/// One step of the driving instructions.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Step {
    /// Forward or reverse.
    pub direction: Direction,
    /// True if the vehicle stops before this step and the direction changes.
    pub after_stop: bool,
    /// Wheel position at the start of the step: tenths of its travel to full lock, left positive. `None`: it stays as
    /// it is, all along a leg without a turn.
    pub wheel_tenths: Option<i8>,
    /// Distance rolled in this step, meters, rounded as reported.
    pub roll_m: f64,
    /// Distance rolled from the start of the path to the start of the step, meters.
    pub station_m: f64,
    /// Landmark at the end of the step, if anything stands near.
    pub until: Option<Landmark>,
    /// Indices of the tight places ([`DrawnWay::contacts`]) that come in this step.
    pub watch: Vec<usize>,
}

impl Driving {
    /// Returns the case that these instructions belong to.
    #[must_use]
    pub fn of<'s>(&self, study: &'s Study) -> &'s Case {
        &study.cases[self.case]
    }
}

/// Driving instructions for each case that counts and passes the gate as drawn; `progress` is called after each.
#[must_use]
pub fn driving(study: &Study, options: &StudyOptions, progress: &(dyn Fn(Progress) + Sync)) -> Vec<Driving> {
    let told = |at: &usize| {
        let case = &study.cases[*at];
        // For a vehicle that turns around inside, backing in stands for its way out, which it drives forward.
        let is_way_out =
            study.demanded[case.vehicle] == Demanded::TurnAround && case.maneuver == Maneuver::BackIn;
        !is_way_out && case.route.is_none() && study.counts(case) && case.drawn_gate != DrawnGate::No
    };
    let cases: Vec<usize> = (0..study.cases.len()).filter(told).collect();
    let (done, total) = (AtomicUsize::new(0), cases.len());
    let drive = |case: &usize| {
        let driving = of_case(study, *case, options);
        progress(Progress { done: done.fetch_add(1, Ordering::Relaxed) + 1, total });
        driving
    };
    cases.par_iter().filter_map(drive).collect()
}

fn of_case(study: &Study, index: usize, options: &StudyOptions) -> Option<Driving> {
    let case = &study.cases[index];
    let (site, vehicle) = (&study.site, &study.vehicles[case.vehicle]);
    let travel = along_road(site, &case.travel)?;
    let comfortable = case.drawn_gate == DrawnGate::Comfortable;
    let clearance_m = if comfortable { study.clearance_m } else { 0.0 };
    let (maneuver, shunts) = (case.maneuver, options.shunts);
    let way = Passage { vehicle, travel, maneuver, lane: case.lane, shunts, clearance_m };
    let place = SiteVariant::new(site, way)?;
    let around = as_drawn(place.surroundings());
    let known = around.frame.trajectory_to_gate(case.drawn.witness.as_ref()?);
    let most_m = case.drawn.clearance_m?;
    let enough_m = if comfortable { clearance_m.max(ENOUGH_IN_COMFORT * most_m) } else { ENOUGH * most_m };
    let reader = Reader { study, vehicle, place: &place, around: &around, clearance_m };
    // Another way in through the same gate may take fewer turns of the wheel.
    let others = [&case.comfortable, &case.bare].into_iter().filter_map(|answer| answer.witness.as_ref());
    let mut ways =
        std::iter::once(known.clone()).chain(others.map(|path| around.frame.trajectory_to_gate(path)));
    let card = ways.find_map(|way| reader.card(way.path(), enough_m.min(MOST_CLEARANCE_M)));
    let told = card.as_ref().and_then(|card| card.way.witness.as_ref());
    let driven = told.map_or_else(|| known.clone(), |path| around.frame.trajectory_to_gate(path));
    let window = window(vehicle, (&place, &around), driven.path());
    Some(Driving { case: index, card, window })
}

/// Converts a known path to steps.
struct Reader<'a> {
    study: &'a Study,
    vehicle: &'a Vehicle,
    place: &'a SiteVariant<'a>,
    around: &'a Surroundings,
    clearance_m: f64,
}

impl Reader<'_> {
    fn site(&self) -> &Site {
        &self.study.site
    }

    const fn unit_m(&self) -> f64 {
        match self.study.site.units {
            Units::Feet => INCH_M,
            Units::Meters => METRIC_UNIT_M,
        }
    }

    /// Returns the card with the fewest turns of the wheel that keeps enough clearance, or the one that keeps most.
    fn card(&self, known: &Path, enough_m: f64) -> Option<Card> {
        let mut best: Option<(DrawnWay, DrivingSteps)> = None;
        for problem in self.place.asked().problems(self.around, self.clearance_m) {
            for turns in FEWEST_TURNS..=MOST_TURNS_AT_ALL {
                if turns > MOST_TURNS && best.is_some() {
                    break;
                }
                let Some((way, steps)) = self.certified(&problem, known, (enough_m, turns)) else { continue };
                let keeps = way.clearance_m.unwrap_or(0.0);
                let so_far = best.as_ref().and_then(|(way, _)| way.clearance_m);
                if so_far.is_none_or(|m| keeps > m) {
                    best = Some((way, steps));
                }
                if keeps >= enough_m {
                    break;
                }
            }
        }
        let (way, steps) = best?;
        Some(self.told(way, steps))
    }

    /// Steps with this many turns, and the clearance that their path is certified to keep; `None` where it is no
    /// answer.
    fn certified(
        &self,
        problem: &Problem,
        known: &Path,
        (enough_m, turns): (f64, usize),
    ) -> Option<(DrawnWay, DrivingSteps)> {
        let (unit_m, offset_phase_m) = (self.unit_m(), self.edge_offset_m());
        let asked = StepsProblem { problem, known, enough_m, unit_m, offset_phase_m };
        let steps = driving_steps(&asked, turns)?;
        let path = Trajectory::new(steps.path(&self.vehicle.steering));
        let found = self.place.asked().look_as_it_is(self.around, self.clearance_m, &path)?;
        let way = of_path(self.vehicle, self.around, &found.path, MOST_CLEARANCE_M)?;
        Some((way, steps))
    }

    /// Offset at which the vehicle's side is just over the reported edge of its lane.
    fn edge_offset_m(&self) -> f64 {
        let reach = 0.5 * self.place.travel().lane.width_m - self.half_width_m();
        match self.site().drives_on {
            Side::Right => -reach,
            Side::Left => reach,
        }
    }

    /// Half the width of the lead unit where its bodies are widest: over the rear wheels of a pickup with two on each side.
    fn half_width_m(&self) -> f64 {
        let bodies = self.vehicle.units[0].parts.iter().filter(|part| part.kind == PartKind::Body);
        bodies.flat_map(|part| &part.outline.0).map(|p| p.y.abs()).fold(0.0, f64::max)
    }

    fn told(&self, way: DrawnWay, turns: DrivingSteps) -> Card {
        let chain = Chain::of(self.vehicle);
        let path = turns.path(&self.vehicle.steering);
        let samples = path.samples(&chain, LOOK_M);
        let offset_m = self.place.asked().offset_m(&turns.start.lead, self.clearance_m);
        let from_edge_m = match self.site().drives_on {
            Side::Right => offset_m - self.edge_offset_m(),
            Side::Left => self.edge_offset_m() - offset_m,
        };
        // To the micrometer: removes the rounding of the steps before.
        let from_edge_m = (from_edge_m * 1e6).round() / 1e6;
        let straight = turns.start.curvature == 0.0;
        let mut steps = self.steps(&turns);
        let landmarks = Landmarks::new(self.site(), self.vehicle);
        let mark = |station_m: f64, direction: Direction| {
            let sample = before(&samples, station_m)?;
            let lead = self.around.frame.to_site(&sample.state.lead);
            landmarks.best(&State { lead, ..sample.state }, direction)
        };
        let first = steps.first();
        let until = first.and_then(|step| mark(step.station_m, step.direction));
        let line_up = LineUp { side: self.site().drives_on, from_edge_m, straight, until };
        let last = steps.len().saturating_sub(1);
        for at in 0..steps.len() {
            let (from_m, direction) = (steps[at].station_m, steps[at].direction);
            let to_m = steps.get(at + 1).map_or(f64::INFINITY, |next| next.station_m);
            if at < last {
                steps[at].until = mark(to_m, direction);
            }
            let from_m = if at == 0 { 0.0 } else { from_m };
            let here = |contact: &super::Contact| contact.station_m >= from_m && contact.station_m < to_m;
            steps[at].watch =
                (0..way.contacts.len()).filter(|contact| here(&way.contacts[*contact])).collect();
        }
        Card { line_up, steps, way, turns }
    }

    /// Converts the turns to steps, without landmarks.
    fn steps(&self, turns: &DrivingSteps) -> Vec<Step> {
        let unit_m = turns.unit_m;
        let mut steps = Vec::new();
        let straight_on = turns.legs.first().is_some_and(|leg| leg.turns.is_empty());
        let mut station_m = if straight_on { 0.0 } else { f64::from(turns.lead_in_units) * unit_m };
        let mut push = |direction, after_stop, wheel_tenths, units: u32| {
            let roll_m = f64::from(units) * unit_m;
            let (until, watch) = (None, Vec::new());
            steps.push(Step { direction, after_stop, wheel_tenths, roll_m, station_m, until, watch });
            station_m += roll_m;
        };
        if let Some(leg) = turns.legs.first().filter(|_| straight_on) {
            push(leg.direction, false, None, turns.lead_in_units);
        }
        for (leg, driven) in turns.legs.iter().enumerate() {
            for (at, turn) in driven.turns.iter().enumerate() {
                push(driven.direction, leg > 0 && at == 0, Some(turn.tenths), turn.roll_units);
            }
        }
        steps
    }
}

/// Returns the sample nearest to a station, the earlier of two equally near.
fn before(samples: &[Sample], station_m: f64) -> Option<&Sample> {
    samples.iter().min_by(|a, b| (a.station_m - station_m).abs().total_cmp(&(b.station_m - station_m).abs()))
}
