//! Turns inside at gates other than the one drawn: for each arrangement and size, whether a vehicle gets in, turns
//! around and gets out.
//!
//! A turn is a path, and so is the way in before it: at another gate both are measured again, with the leaves and faces
//! of that gate. Where no known turn keeps what the ways through that gate keep, one is searched for, between those
//! ways: at the smallest size that they pass in comfort and, if it has none, at the largest; at the others only where one
//! of the two has one.
use super::drawn_clearance::as_drawn;
use super::other_leaves::{Passing, Ways, least_opening};
use super::recheck::keeps;
use super::scene::{Scene, scene, scene_by};
use super::turning::{Asked, FoundTurn, KnownWays, turn};
use super::{CaseLane, DrawnGate, Study, StudyOptions, Wanted};
use crate::clearance::{CollisionModel, Surroundings};
use crate::motion::{OnSite, Trajectory};
use crate::site::{Leaves, Site, Travel};
use std::cell::OnceCell;

/// Whole visits of one vehicle at a gate with given leaves.
pub(super) struct VisitsAtSizes {
    /// Verdict for each size: the worst of the ways in, the turn and the ways out, over the directions of travel.
    pub(super) passes: Vec<DrawnGate>,
    /// Opening that such a visit needs without clearance, at least what the ways in and out need; `None` where none is
    /// known.
    pub(super) bare_m: Option<f64>,
    /// Opening that it needs with the study's clearance, likewise.
    pub(super) comfortable_m: Option<f64>,
}

/// A whole visit that is known for one direction of travel: the way in, and the turn with the way out.
struct KnownVisit {
    travel: String,
    way_in: Trajectory<OnSite>,
    turn: Trajectory<OnSite>,
    /// Lane by which it drives out.
    lane: CaseLane,
}

impl KnownVisit {
    fn of(travel: &str, found: &FoundTurn) -> Self {
        let (way_in, turn) = (found.way_in.clone(), found.path.clone());
        Self { travel: travel.to_owned(), way_in, turn, lane: found.lane }
    }
}

/// Visits of one vehicle that turns around inside, through gates of other arrangements and sizes.
pub(super) struct VisitingVehicle<'a> {
    study: &'a Study,
    /// Index into [`Study::vehicles`].
    index: usize,
    wanted: &'a Wanted,
    options: &'a StudyOptions,
    /// Visits known so far: those at the gate as drawn, and those found at other gates.
    known: Vec<KnownVisit>,
}

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
        Self { study, index, wanted, options, known: known.collect() }
    }

    /// Evaluates a gate with these leaves in each of `sizes`, which the ways in and the ways out pass as given.
    pub(super) fn at_sizes(
        &mut self,
        leaves: &Leaves,
        sizes: &[f64],
        (ways_in, ways_out): (&Ways, &Ways),
    ) -> VisitsAtSizes {
        let through = |i: usize| ways_in.passes[i].worse(ways_out.passes[i]);
        let mut passes = vec![DrawnGate::No; sizes.len()];
        let gates: Vec<Option<Gate>> = sizes.iter().map(|m| self.gate(leaves, *m)).collect();
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
                passes[i] = through(i).worse(self.verdict(gate));
            }
        }
        let clearance_m = self.study.clearance_m;
        let bare_m = self.least(leaves, [ways_in.bare_m, ways_out.bare_m], 0.0);
        let comfortable_m = self.least(leaves, [ways_in.comfortable_m, ways_out.comfortable_m], clearance_m);
        VisitsAtSizes { passes, bare_m, comfortable_m }
    }

    /// Builds a gate with these leaves and opening where the drawn one stands. That its posts stand on no road is a part of
    /// what the ways through it are checked for.
    fn gate(&self, leaves: &Leaves, opening_m: f64) -> Option<Gate> {
        let mut site = self.study.site.with_opening(opening_m)?;
        site.gate.leaves = *leaves;
        // Directions that the study leaves out are no reason against a gate.
        let studied = self.study.of_vehicle(self.index);
        let travels = site.travels().into_iter().filter(|travel| self.wanted.asks_for(travel));
        let travels = travels.filter(|travel| studied.from(&travel.word).is_some());
        let approaches = travels.map(|travel| Approach::new(&site, travel)).collect();
        Some(Gate { opening_m, site, approaches })
    }

    /// Verdict on the known visits at a gate: the best of each direction of travel, the worst of all.
    fn verdict(&self, gate: &Gate) -> DrawnGate {
        let of_travel = gate.approaches.iter().map(|approach| self.verdict_from(gate, approach));
        of_travel.reduce(DrawnGate::worse).unwrap_or(DrawnGate::No)
    }

    /// Best of the known visits from one direction of travel.
    fn verdict_from(&self, gate: &Gate, approach: &Approach) -> DrawnGate {
        if self.passes(gate, approach, self.study.clearance_m) {
            DrawnGate::Comfortable
        } else if self.passes(gate, approach, 0.0) {
            DrawnGate::Tight
        } else {
            DrawnGate::No
        }
    }

    /// True if a known visit from one direction of travel keeps this clearance through an opening, on the ground of the lanes
    /// it comes and leaves by.
    fn passes(&self, gate: &Gate, approach: &Approach, clearance_m: f64) -> bool {
        let opening_m = gate.opening_m;
        let model = |around: &Surroundings| {
            CollisionModel::new(&self.wanted.vehicle, around.clone(), clearance_m, opening_m)
        };
        let coming = model(&approach.coming);
        let frame = &approach.coming.frame;
        let on = |model: &CollisionModel, part: &Trajectory<OnSite>| {
            keeps(model, frame.trajectory_to_gate(part).path(), opening_m)
        };
        let mut mine = self.known.iter().filter(|visit| visit.travel == approach.scene.travel.word);
        mine.any(|visit| {
            on(&coming, &visit.way_in)
                && match visit.lane {
                    CaseLane::Coming => on(&coming, &visit.turn),
                    CaseLane::Leaving => {
                        let leaving = approach.leaving(&gate.site);
                        leaving.is_some_and(|around| on(&model(around), &visit.turn))
                    }
                }
        })
    }

    /// Searches turns at a gate between the ways that pass it. True if there is one from each direction of travel, so
    /// that the verdict on the gate is what the ways allow, or better than before.
    fn search(&mut self, gate: &Gate, ways_in: &[Passing], ways_out: &[Passing]) -> bool {
        let before = self.verdict(gate);
        for approach in &gate.approaches {
            let scene = &approach.scene;
            let mine = |way: &&Passing| way.travel == scene.travel.word;
            let (Some(way_in), Some(way_out)) = (ways_in.iter().find(mine), ways_out.iter().find(mine))
            else {
                continue;
            };
            let is_comfortable = way_in.comfortable && way_out.comfortable;
            let wanted = if is_comfortable { DrawnGate::Comfortable } else { DrawnGate::Tight };
            if self.verdict_from(gate, approach).rank() >= wanted.rank() {
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
                shorten: false,
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
        least_opening(from_m, NEED_WITHIN_M, |opening_m| {
            let passes =
                |gate: Gate| gate.approaches.iter().all(|approach| self.passes(&gate, approach, clearance_m));
            self.gate(leaves, opening_m).is_some_and(passes)
        })
    }
}

/// The site with another gate.
struct Gate {
    opening_m: f64,
    site: Site,
    approaches: Vec<Approach>,
}

/// The site as one direction of travel sees it.
struct Approach {
    scene: Scene,
    /// What stands, with the ground of the lane that vehicles come by.
    coming: Surroundings,
    /// What [`Self::leaving`] returned.
    leaving: OnceCell<Option<Surroundings>>,
}

impl Approach {
    fn new(site: &Site, travel: Travel) -> Self {
        let scene = scene(site, travel);
        Self { coming: as_drawn(&scene.surroundings), leaving: OnceCell::new(), scene }
    }

    /// What stands, with the ground of the lane by which a vehicle leaves the way it came; `None` where there is none.
    fn leaving(&self, site: &Site) -> Option<&Surroundings> {
        let scene = || scene_by(site, self.scene.travel.clone(), CaseLane::Leaving);
        self.leaving.get_or_init(|| Some(as_drawn(&scene()?.surroundings))).as_ref()
    }
}
