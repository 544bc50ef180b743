//! Turns inside at gates other than the one drawn: for each arrangement and size, whether a vehicle gets in, turns
//! around and gets out.
//!
//! A turn is a path, and so is the way in before it: at another gate both are measured again, with the leaves and faces
//! of that gate. Where no known turn keeps what the ways through that gate keep, one is searched for, between those
//! ways: at the smallest size that they pass in comfort and, if it has none, at the largest; at the others only where one
//! of the two has one.
use super::drawn_clearance::as_drawn;
use super::other_leaves::{Passing, Ways};
use super::scene::{Scene, scene};
use super::turning::{Asked, FoundTurn, KnownWays, turn};
use super::{DrawnGate, Study, StudyOptions, Wanted};
use crate::clearance::{CollisionModel, measure};
use crate::motion::{OnSite, Trajectory};
use crate::search::EDGE_TOLERANCE_M;
use crate::site::changes::Change;
use crate::site::{Leaves, Site};

/// Whole visits of one vehicle at a gate with given leaves.
pub(super) struct VisitsAtSizes {
    /// Verdict for each size: the worst of the ways in, the turn and the ways out, over the directions of travel.
    pub(super) passes: Vec<DrawnGate>,
    /// Opening that such a visit needs without clearance, at least what the ways in and out need; `None` where none is
    /// known.
    pub(super) bare_m: Option<f64>,
    /// The same with the study's clearance.
    pub(super) comfortable_m: Option<f64>,
}

/// A whole visit that is known for one direction of travel: the way in, and the turn with the way out.
struct KnownVisit {
    travel: String,
    parts: [Trajectory<OnSite>; 2],
}

impl KnownVisit {
    fn of(travel: &str, found: &FoundTurn) -> Self {
        Self { travel: travel.to_owned(), parts: [found.way_in.clone(), found.path.clone()] }
    }
}

/// Visits of one vehicle that turns around inside, through gates of other arrangements and sizes.
pub(super) struct VisitingVehicle<'a> {
    study: &'a Study,
    wanted: &'a Wanted,
    options: &'a StudyOptions,
    /// Visits known so far: those at the gate as drawn, and those found at other gates.
    known: Vec<KnownVisit>,
}

/// Excess over the opening that counts as rounding, meters.
const ROUNDING_M: f64 = 1e-9;
/// Step in which openings are tried, and how far beyond what the ways need: as in [`super::other_leaves`].
const WIDEN_M: f64 = 0.05;
const WIDEN_MOST_M: f64 = 2.0;
/// Accuracy of a need, meters.
const NEED_WITHIN_M: f64 = 1e-4;

impl<'a> VisitingVehicle<'a> {
    pub(super) fn new(
        study: &'a Study,
        (index, wanted): (usize, &'a Wanted),
        options: &'a StudyOptions,
    ) -> Self {
        let mine = study.turns.iter().filter(|turn| turn.vehicle == index);
        let known = mine.filter_map(|turn| Some(KnownVisit::of(&turn.travel, turn.found.as_ref().ok()?)));
        Self { study, wanted, options, known: known.collect() }
    }

    /// Evaluates a gate with these leaves in each of `sizes`, which the ways in and the ways out pass as given.
    pub(super) fn at_sizes(
        &mut self,
        leaves: &Leaves,
        sizes: &[f64],
        (ways_in, ways_out): (&Ways, &Ways),
    ) -> VisitsAtSizes {
        let through = |i: usize| worse_of(ways_in.passes[i], ways_out.passes[i]);
        let mut passes = vec![DrawnGate::No; sizes.len()];
        let gates: Vec<Option<Gate>> =
            sizes.iter().map(|m| Gate::new(&self.study.site, leaves, *m)).collect();
        let is_open = |visits: &Self, i: usize| {
            gates[i].as_ref().is_some_and(|gate| visits.verdict(gate).rank() < through(i).rank())
        };
        let finds = |visits: &mut Self, i: usize| {
            gates[i]
                .as_ref()
                .is_some_and(|gate| visits.search(gate, &ways_in.passing[i], &ways_out.passing[i]))
        };
        // The smallest size that the ways pass in comfort decides what to order; what is found there mostly passes the
        // larger ones.
        let mut open: Vec<usize> = (0..sizes.len()).filter(|i| is_open(self, *i)).collect();
        open.sort_by_key(|i| through(*i) != DrawnGate::Comfortable);
        let largest = open.iter().copied().max();
        let mut found_any = false;
        if let Some((first, rest)) = open.split_first() {
            found_any |= finds(self, *first);
            if !found_any && let Some(largest) = largest.filter(|i| i != first) {
                found_any |= finds(self, largest);
            }
            for i in rest.iter().filter(|_| found_any) {
                if is_open(self, *i) {
                    finds(self, *i);
                }
            }
        }
        for (i, gate) in gates.iter().enumerate() {
            if let Some(gate) = gate.as_ref().filter(|_| through(i) != DrawnGate::No) {
                passes[i] = worse_of(through(i), self.verdict(gate));
            }
        }
        let clearance_m = self.study.clearance_m;
        let bare_m = self.least(leaves, [ways_in.bare_m, ways_out.bare_m], 0.0);
        let comfortable_m = self.least(leaves, [ways_in.comfortable_m, ways_out.comfortable_m], clearance_m);
        VisitsAtSizes { passes, bare_m, comfortable_m }
    }

    /// Verdict on the known visits at a gate: the best of each direction of travel, the worst of all.
    fn verdict(&self, gate: &Gate) -> DrawnGate {
        let asked = gate.scenes.iter().filter(|scene| self.wanted.asks_for(&scene.travel));
        let of_travel = asked.map(|scene| self.verdict_from(scene, gate.opening_m));
        of_travel.min_by_key(|verdict| verdict.rank()).unwrap_or(DrawnGate::No)
    }

    /// Best of the known visits from one direction of travel.
    fn verdict_from(&self, scene: &Scene, opening_m: f64) -> DrawnGate {
        if self.passes(scene, opening_m, self.study.clearance_m) {
            DrawnGate::Comfortable
        } else if self.passes(scene, opening_m, 0.0) {
            DrawnGate::Tight
        } else {
            DrawnGate::No
        }
    }

    /// True if a known visit from the scene's travel keeps this clearance through an opening.
    fn passes(&self, scene: &Scene, opening_m: f64, clearance_m: f64) -> bool {
        let around = as_drawn(&scene.surroundings);
        let frame = around.frame;
        let model = CollisionModel::new(&self.wanted.vehicle, around, clearance_m, opening_m);
        let keeps = |part: &Trajectory<OnSite>| {
            let seen = measure(&model, frame.trajectory_to_gate(part).path());
            seen.ground_m >= -EDGE_TOLERANCE_M
                && seen.margin_m >= 0.0
                && seen.opening_m <= opening_m + ROUNDING_M
        };
        let mut mine = self.known.iter().filter(|visit| visit.travel == scene.travel.word);
        mine.any(|visit| visit.parts.iter().all(keeps))
    }

    /// Searches turns at a gate between the ways that pass it. True if there is one from each direction of travel, so
    /// that the verdict on the gate is what the ways allow, or better than before.
    fn search(&mut self, gate: &Gate, ways_in: &[Passing], ways_out: &[Passing]) -> bool {
        let before = self.verdict(gate);
        for scene in &gate.scenes {
            let mine = |way: &&Passing| way.travel == scene.travel.word;
            let (Some(way_in), Some(way_out)) = (ways_in.iter().find(mine), ways_out.iter().find(mine))
            else {
                continue;
            };
            let is_comfortable = way_in.comfortable && way_out.comfortable;
            let wanted = if is_comfortable { DrawnGate::Comfortable } else { DrawnGate::Tight };
            if self.verdict_from(scene, gate.opening_m).rank() >= wanted.rank() {
                continue;
            }
            let kept_m = if is_comfortable { self.study.clearance_m } else { 0.0 };
            let asked = Asked {
                site: &gate.site,
                scene,
                vehicle: &self.wanted.vehicle,
                ways: KnownWays {
                    way_in: way_in.path.clone(),
                    way_out: way_out.path.clone(),
                    lane: way_out.lane,
                    kept_m,
                },
                clearance_m: self.study.clearance_m,
                shunts: self.options.shunts,
                stops: self.options.turn_stops,
            };
            match turn(&asked) {
                Ok(found) => self.known.push(KnownVisit::of(&scene.travel.word, &found)),
                Err(_) => return false,
            }
        }
        self.verdict(gate).rank() > before.rank()
    }

    /// Least opening, from the larger of what the ways need up, that the known visits keep a clearance through from each
    /// direction of travel; `None` where there is none within reach.
    fn least(&self, leaves: &Leaves, ways_m: [Option<f64>; 2], clearance_m: f64) -> Option<f64> {
        let from_m = ways_m[0]?.max(ways_m[1]?);
        let passes = |opening_m: f64| {
            Gate::new(&self.study.site, leaves, opening_m).is_some_and(|gate| {
                let mut asked = gate.scenes.iter().filter(|scene| self.wanted.asks_for(&scene.travel));
                asked.all(|scene| self.passes(scene, opening_m, clearance_m))
            })
        };
        if passes(from_m) {
            return Some(from_m);
        }
        let (mut low, mut high) = (from_m, from_m + WIDEN_M);
        while !passes(high) {
            if high > from_m + WIDEN_MOST_M {
                return None;
            }
            (low, high) = (high, high + WIDEN_M);
        }
        while high - low > NEED_WITHIN_M {
            let middle = 0.5 * (low + high);
            if passes(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }
}

/// The site with another gate.
struct Gate {
    opening_m: f64,
    site: Site,
    /// The site as each direction of travel sees it.
    scenes: Vec<Scene>,
}

impl Gate {
    /// Builds a gate with these leaves and opening where the drawn one stands; `None` where no such gate can stand
    /// there.
    fn new(drawn: &Site, leaves: &Leaves, opening_m: f64) -> Option<Self> {
        let mut site = Change::Opening(opening_m - drawn.gate.opening_m()).apply(drawn).ok()?;
        site.gate.leaves = *leaves;
        let scenes = site.travels().into_iter().map(|travel| scene(&site, travel)).collect();
        Some(Self { opening_m, site, scenes })
    }
}

fn worse_of(a: DrawnGate, b: DrawnGate) -> DrawnGate {
    if b.rank() < a.rank() { b } else { a }
}
