//! Lower bound by reachability: the proof that nothing much narrower will do, as a counterpart to the results of
//! [`crate::search::narrowest`].
//!
//! [`at_least`] tries openings and tests for each whether any start in the lane can lead through it
//! ([`backward_reach`]). Maneuvers are relaxed, never restricted, so where the test says no there is no path:
//! - any steering within full lock, however fast it changes ([`grid`]);
//! - of the vehicle the lead with the unit it tows, together ([`mod@rig`]), where they can be followed so, and then one
//!   unit at a time, as if it drove by itself ([`mod@unit`]), and of that only the ground it covers at every heading of
//!   a bin ([`body`]); a proof that an opening is too narrow for some of the units holds for all;
//! - what stands is tested only on the lines, not between them; leaves are left out, for they only obstruct
//!   ([`free_space`]);
//! - arriving at a spot counts as done once the vehicle is beyond the gate; if not every part meets the fence, once it
//!   is beyond the gate line itself;
//! - a vehicle that comes from farther than [`WINDOW_M`] is taken to come from anywhere.
//!
//! Where a trailer may start bent, as it would stand on a curve, nothing is proven beyond its plain width.
//!
//! The maneuvers covered: a maneuver starts in a zone of its lane, upstream of the gate (`starts.rs`), with the lead's
//! axle in front of the gate or past the end of its line where a road meets that, and ends the first time all is beyond
//! the gate, having come through the opening.
//!
//! Plain floats, with a micrometer given away at every comparison ([`free_space::SLACK_M`]). An opening proven too
//! narrow proves every narrower one too: the pieces that close a path at one opening stand there at all narrower ones
//! down to the one already proven ([`free_space::Tried`]).
//!
//! The bound rises as the lines lie closer. The remaining gap is mostly that steering may change at once here and not
//! on a vehicle; on the standard problems the bound lies 2 to 6 % below the openings found, driving in with a trailer
//! 9 %.
//!
#![doc = include_str!("README.md")]
pub mod backward_reach;
pub mod body;
pub mod free_space;
pub mod grid;
pub mod interval;
pub mod pieces;
pub mod pull;
pub mod rig;
mod starts;
pub mod strip;
pub mod towed;
pub mod unit;

use crate::clearance::{CollisionModel, Material, Surroundings};
use crate::search::lane::StartZone;
use crate::search::templates::LegPattern;
use crate::search::transcription::Transcription;
use crate::search::{Problem, WIDEST_M, least_width};
use crate::site::Faces;
use backward_reach::{BackwardReach, Ended, Legs};
use free_space::{FreeSpace, Tried, Without};
use grid::{Grid, count};
use rig::Rig;
use unit::Body;

/// Work limit of a proof for each unit, counted in intervals passed from node to node: the same on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ProofBudget {
    /// Largest number of intervals passed on.
    pub transfers: u64,
}

impl ProofBudget {
    /// The usual limit: a few seconds at most.
    pub const USUAL: Self = Self { transfers: 8_000_000 };
}

/// Result of a proof.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// Proven lower bound: no maneuver of the kind passes a narrower opening, meters.
    pub at_least_m: f64,
    /// True if no maneuver of the kind gets in through any opening up to [`WIDEST_M`].
    pub impossible: bool,
    /// The first thing whose removal leaves a path, when impossible.
    pub forbidden_by: Option<String>,
    /// Intervals passed on.
    pub work: u64,
}

/// Distance from the gate's middle up to which a maneuver is followed: three lengths of a long truck. Whatever comes
/// from beyond counts as a start, so a larger window can only raise the bound.
pub const WINDOW_M: f64 = 40.0;
/// Distances between lines, coarse to fine. Each halving costs four times the work; below the last the neglected
/// steering rate outweighs any gain.
const STEPS_M: [f64; 3] = [0.3, 0.15, 0.08];
/// A bound within this factor of the opening found is near enough.
const NEAR_ENOUGH: f64 = 1.05;
/// Resolution of openings, as a share.
const RESOLUTION: f64 = 0.004;
/// Largest number of things removed in turn to find what forbids every path.
const MOST_CULPRITS: usize = 12;
/// Largest turn on one step, radians: sharper locks get closer lines.
const MOST_TURN: f64 = 0.1;
/// Least curvature of the grid: a path straighter than a radius of a kilometer counts as straight, and the grid has no
/// bins for it.
const LEAST_CURVATURE: f64 = 1e-3;

/// Widest opening proven not to suffice. `target_m` is an opening that does: the proof ends once it is near that.
/// Without it the first step is to test whether any opening suffices.
///
/// More budget never lowers the bound: the same openings are tried in the same order.
#[must_use]
pub fn at_least(problem: &Problem, target_m: Option<f64>, budget: ProofBudget) -> Proof {
    let plain = least_width(problem.vehicle) + 2.0 * problem.clearance_m;
    let mut proof = Proof { at_least_m: plain, impossible: false, forbidden_by: None, work: 0 };
    if faces_at(problem.surroundings, plain).is_none() || starts_bent(problem) {
        return proof;
    }
    let model = model(problem);
    let near = target_m.map_or(f64::INFINITY, |target_m| target_m / NEAR_ENOUGH);
    let rig = rig(problem, &model);
    if let Some(rig) = &rig {
        let shut = |opening_m, low_m, step_m: f64, budget| {
            let faces = (faces_at(problem.surroundings, opening_m), faces_at(problem.surroundings, low_m));
            let (Some(tried), Some(proven)) = faces else { return (Ended::Open, 0) };
            rig.closed(problem, &model, &Tried { tried, proven }, (step_m, budget))
        };
        (proof.at_least_m, proof.work) = Rig::climb(plain, target_m, budget.transfers, shut);
        if proof.at_least_m >= near {
            return proof;
        }
    }
    // Each unit alone adds little then.
    let each = if rig.is_some() { budget.transfers / 4 } else { budget.transfers };
    for body in &followed(problem, &model) {
        // Each unit has its own budget, so that more budget proves no less for any of them.
        let mut prover = Prover { problem, model: &model, body, low: plain, budget: each, work: 0 };
        let impossible = target_m.is_none()
            && STEPS_M[..2]
                .iter()
                .any(|step| prover.closed(WIDEST_M, *step, &Without::Nothing) == Ended::Closed);
        if impossible {
            proof.forbidden_by = Some(prover.culprit());
        } else {
            prover.climb(target_m);
        }
        proof.impossible = impossible;
        proof.at_least_m = proof.at_least_m.max(prover.low);
        proof.work += prover.work;
        if impossible || proof.at_least_m >= near {
            break;
        }
    }
    proof
}

/// True if one opening is proven too narrow with lines `step_m` apart: the test of [`at_least`]. False may mean
/// anything.
#[must_use]
pub fn is_closed(problem: &Problem, opening_m: f64, step_m: f64, budget: ProofBudget) -> bool {
    if starts_bent(problem) {
        return false;
    }
    let model = model(problem);
    let low = least_width(problem.vehicle).min(opening_m);
    let faces = (faces_at(problem.surroundings, opening_m), faces_at(problem.surroundings, low));
    if let ((Some(tried), Some(proven)), Some(rig)) = (faces, rig(problem, &model)) {
        let work = (step_m, budget.transfers);
        if rig.closed(problem, &model, &Tried { tried, proven }, work).0 == Ended::Closed {
            return true;
        }
    }
    followed(problem, &model).iter().any(|body| {
        let mut prover = Prover { problem, model: &model, body, low, budget: budget.transfers, work: 0 };
        prover.closed(opening_m, step_m, &Without::Nothing) == Ended::Closed
    })
}

/// True if the gate is proven too narrow for a maneuver of the kind exactly as it is drawn, with the number of
/// intervals passed on.
///
/// The opening stands where it is drawn, whatever the anchor, with whole posts beside it: the proof covers this one
/// gate, not narrower ones. Lines `steps_m` apart are tried in turn, each within `budget` for each unit. False may mean
/// anything.
#[must_use]
pub fn closes_as_drawn(problem: &Problem, steps_m: &[f64], budget: ProofBudget) -> (bool, u64) {
    if starts_bent(problem) {
        return (false, 0);
    }
    let model = model(problem);
    let drawn = problem.surroundings.drawn_faces_u;
    let faces = Tried { tried: drawn, proven: drawn };
    let mut work = 0;
    if let Some(rig) = rig(problem, &model) {
        for step_m in steps_m {
            let (ended, took) = rig.closed(problem, &model, &faces, (*step_m, budget.transfers));
            work += took;
            if ended == Ended::Closed {
                return (true, work);
            }
        }
    }
    for body in &followed(problem, &model) {
        for step_m in steps_m {
            let mut prover =
                Prover { problem, model: &model, body, low: 0.0, budget: budget.transfers, work: 0 };
            let ended = prover.closed_between(&faces, *step_m, &Without::Nothing);
            work += prover.work;
            if ended == Ended::Closed {
                return (true, work);
            }
        }
    }
    (false, work)
}

/// True if a trailer may start bent behind its lead: the proof follows units as if all stood in line at the start.
fn starts_bent(problem: &Problem) -> bool {
    let bent = |zone: &StartZone| zone.turned_rad != 0.0 || zone.hitch_rad.iter().any(|angle| *angle != 0.0);
    problem.vehicle.units.len() > 1 && problem.lane.zones.iter().any(bent)
}

fn model(problem: &Problem) -> CollisionModel {
    CollisionModel::new(problem.vehicle, problem.surroundings.clone(), problem.clearance_m, f64::INFINITY)
}

/// Units that are followed.
fn followed(problem: &Problem, model: &CollisionModel) -> Vec<Body> {
    let forward_only = LegPattern::of(problem.maneuver, problem.shunts).legs.len() == 1;
    let mut bodies = unit::bodies(problem.vehicle, model, forward_only);
    bodies.retain(|body| body.curvature >= LEAST_CURVATURE);
    bodies
}

/// True if the first two units of the vehicle are followed together ([`mod@rig`]), not only each by itself.
#[must_use]
pub fn follows_together(problem: &Problem) -> bool {
    rig(problem, &model(problem)).is_some()
}

/// The first two units, where they can be followed together.
fn rig(problem: &Problem, model: &CollisionModel) -> Option<Rig> {
    let bodies = unit::bodies(problem.vehicle, model, false);
    let lead = bodies.first().filter(|lead| lead.curvature >= LEAST_CURVATURE)?;
    Rig::of(problem, model, lead)
}

struct Prover<'a> {
    problem: &'a Problem<'a>,
    model: &'a CollisionModel,
    body: &'a Body,
    /// Opening proven too narrow so far.
    low: f64,
    budget: u64,
    work: u64,
}

impl Prover<'_> {
    /// Raises the proven bound, coarse lines first.
    fn climb(&mut self, target_m: Option<f64>) {
        for step_m in STEPS_M {
            // If the first opening tried is closed, the proof ends.
            let mut high = match target_m {
                Some(target_m) => target_m / NEAR_ENOUGH,
                None => 1.5 * self.low,
            };
            if high <= self.low {
                return;
            }
            match self.prove(high, step_m) {
                Ended::Closed if target_m.is_some() => return,
                Ended::Spent => return,
                Ended::Closed => {
                    while high < WIDEST_M && self.prove(1.5 * high, step_m) == Ended::Closed {
                        high *= 1.5;
                    }
                    high *= 1.5;
                }
                Ended::Open => {}
            }
            while high - self.low > RESOLUTION * self.low {
                let middle = 0.5 * (self.low + high);
                match self.prove(middle, step_m) {
                    Ended::Closed => {}
                    Ended::Open => high = middle,
                    Ended::Spent => return,
                }
            }
        }
    }

    fn prove(&mut self, opening_m: f64, step_m: f64) -> Ended {
        let ended = self.closed(opening_m, step_m, &Without::Nothing);
        if ended == Ended::Closed {
            self.low = self.low.max(opening_m);
        }
        ended
    }

    /// Tries whether an opening is closed to every maneuver of the kind.
    fn closed(&mut self, opening_m: f64, step_m: f64, without: &Without) -> Ended {
        let surroundings = self.problem.surroundings;
        let (Some(tried), Some(proven)) =
            (faces_at(surroundings, opening_m), faces_at(surroundings, self.low))
        else {
            return Ended::Open;
        };
        self.closed_between(&Tried { tried, proven }, step_m, without)
    }

    /// As [`Self::closed`], for faces at these places.
    fn closed_between(&mut self, faces: &Tried, step_m: f64, without: &Without) -> Ended {
        let problem = self.problem;
        let left = self.budget.saturating_sub(self.work);
        let curvature = self.body.curvature;
        let step_m = step_m.min(MOST_TURN / curvature);
        // Bin width at which the rounding of the farthest corner is about that of the lines' distance.
        let per_step = count(2.0 * curvature * self.body.reach_m() - 0.5).clamp(1, 8);
        let plan = LegPattern::of(problem.maneuver, problem.shunts);
        let legs = Legs {
            directions: plan.legs.iter().map(|leg| leg.0).collect(),
            first_keeps_out: Transcription::keeps_out(problem, 0),
        };
        let grid = Grid::new(step_m, per_step, curvature, WINDOW_M, plan.legs.len());
        let seen = (self.model, self.body);
        let terrain = FreeSpace::new(seen, &grid, faces, without);
        let lane = (problem.lane, self.body.lead_ahead_m);
        let mut reach = BackwardReach::new(&grid, terrain, &legs, lane, left);
        let ended = reach.run();
        self.work += reach.work;
        ended
    }

    /// Finds the first thing without which there is a path: what stands by its label, or the edge of the drive.
    fn culprit(&mut self) -> String {
        let mut named: Vec<&Material> = Vec::new();
        let model = self.model;
        for piece in model.surroundings.standing.iter() {
            let near = piece.center.norm() - piece.reach_m < WINDOW_M;
            let known = |seen: &&Material| piece.material.goes_by(seen.thing, &seen.what);
            if near && !named.iter().any(known) && named.len() < MOST_CULPRITS {
                named.push(&piece.material);
            }
        }
        for material in named {
            let without = Without::Standing(material.thing, material.what.clone());
            if self.closed(WIDEST_M, STEPS_M[0], &without) == Ended::Open {
                return material.what.clone();
            }
        }
        let ground = self.model.surroundings.ground.is_some();
        if ground && self.closed(WIDEST_M, STEPS_M[0], &Without::Ground) == Ended::Open {
            return "the edge of the drive".to_owned();
        }
        "no way round what stands here".to_owned()
    }
}

/// Places of the faces for an opening; `None` where it may stand anywhere along the gate line.
fn faces_at(surroundings: &Surroundings, opening_m: f64) -> Option<Faces> {
    surroundings.anchor.faces(surroundings.drawn_faces_u, opening_m)
}
