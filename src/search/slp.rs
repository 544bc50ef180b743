//! Polish of a path by sequential linear programming (SLP) with a trust region.
//!
//! The worst need along a path is a maximum of many smooth functions of the path's variables. Around the current path
//! each is replaced by its tangent plane; minimizing the largest of the planes within the trust radius is a linear
//! program; the path of its answer is evaluated, and accepted if it is better. Constraints are rows of the same linear
//! program, with one elastic variable for paths that start out violating some.
use super::Look;
use super::Problem;
use super::lane::StartZone;
use super::lp::{LinearProgram, Tolerance};
use super::planes::{Planes, short_of_goal};
use super::sensitivity::Rates;
use super::transcription::{PathNode, Rollout, SampleGrid, Transcription};
use crate::clearance::CollisionModel;
use crate::geometry::{Point, wrap_angle};
use crate::motion::{Direction, State};
use crate::site::{Anchor, Faces, Side};

/// Penalty of a meter of violation against a meter of opening: above any rate at which violating could pay.
pub(super) const VIOLATION_PENALTY: f64 = 20.0;
/// A polish that goes on for gains below this solves its linear programs exactly.
const ROUGH_M: f64 = 2e-4;
/// Distance that the faces of a linear program's starting point stand farther out than they must.
const CLEAR_M: f64 = 0.005;
/// The starting point is used only if its violation, with that distance, is less than this.
const NEARLY_WHOLE_M: f64 = 0.01;
/// No step moves a face outward by more than this beyond where that is useful, meters.
const NEAR_ROOM_M: f64 = 0.5;
/// Cost of a meter in reverse and of a meter forward. With [`VIOLATION_PENALTY`], violating by a millimeter pays only
/// where it saves forty centimeters.
const REVERSE_COST: f64 = 0.05;
const FORWARD_COST: f64 = 0.005;

/// Quantity that a polish minimizes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Objective {
    /// The opening.
    Opening,
    /// The length of the path, above all what is reversed, with an opening of at most this.
    Length {
        /// Largest opening, meters.
        within_m: f64,
    },
}

/// An iterate: the variables of a path, and their value.
#[derive(Clone, Debug)]
pub struct SlpIterate {
    /// Variables.
    pub x: Vec<f64>,
    /// Cost by the objective: the opening, or the weighted length.
    pub cost_m: f64,
    /// Opening that it needs at the sampled poses.
    pub opening_m: f64,
    /// Largest violation, meters; 0 if none.
    pub violation_m: f64,
    /// Trust radius at this iterate, as a share of the first one.
    pub trust_radius: f64,
    /// Sampling at which it was evaluated.
    pub steps: SampleGrid,
}

/// Starting point of a polish.
#[derive(Clone, Debug)]
pub struct WarmStart {
    /// Variables of the path.
    pub x: Vec<f64>,
    /// Initial trust radius.
    pub trust_radius: f64,
    /// Last sampling at which it was evaluated, if it was on these knots.
    pub steps: Option<SampleGrid>,
}

impl SlpIterate {
    /// Merit: the cost plus the penalty of the violation.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.cost_m + VIOLATION_PENALTY * self.violation_m
    }
}

/// SLP solver for the paths of one problem.
pub struct Slp<'a> {
    /// The problem.
    pub problem: &'a Problem<'a>,
    /// The vehicle in its surroundings.
    pub model: &'a CollisionModel,
    /// Layout of the path's variables.
    pub track: &'a Transcription,
    /// Objective of the polish.
    pub objective: Objective,
    /// Sampling and tolerances.
    pub look: Look,
    /// Poses evaluated.
    pub work: u64,
}

/// Weight of a meter or radian of start slack, in meters of violation: a trailer's end moves by about that.
pub(super) const SLACK_WEIGHT_M: f64 = 5.0;
/// Initial trust radii: share of full lock at each knot; meters of length, station and offset; radians and meters of
/// start slack.
pub(super) const TRUST_SHARE: f64 = 0.25;
pub(super) const TRUST_LENGTH_M: f64 = 1.0;
pub(super) const TRUST_SLACK: f64 = 0.15;
/// Initial trust radius of the start slack for a trailer pushed back, where every deviation grows.
const TRUST_SLACK_PUSHED: f64 = 0.02;
/// Ratio of actual to predicted gain above which the trust radius grows, and below which it shrinks.
const KEPT: (f64, f64) = (0.25, 0.05);
/// Largest number of times that violations of a failed step are added to its linear program, in a fine polish, ...
const MOST_CUTS: usize = 2;
/// ... and the factor on the trust radius then.
const AFTER_A_CUT: f64 = 0.5;
/// A polish ends where the trust radius is below this.
const LEAST_TRUST: f64 = 1e-4;
/// Trust radius after closer samples show that a path needs more.
const START_AGAIN: f64 = 0.05;
/// Smallest and largest factor on the trust radius after a failed step.
const SHRINK: (f64, f64) = (0.1, 0.5);

impl Slp<'_> {
    /// Improves a path by at most `rounds` linear programs.
    pub fn run(&mut self, start: &WarmStart, rounds: usize) -> SlpIterate {
        let mut x = self.tidied(&start.x);
        let (mut steps, (mut stands, _)) = match &start.steps {
            Some(steps) => self.look_closer(&x, steps, 1),
            None => self.look_closer(&x, &self.track.single_steps(), 3),
        };
        let mut best = self.merit(&x, &stands);
        let mut trust_radius = start.trust_radius;
        let mut since_steps = 0;
        // After a failed step the planes are the same.
        let mut planes: Option<Planes> = None;
        let mut cut = 0;
        for _ in 0..rounds {
            let mut about = match planes.take() {
                Some(about) => about,
                None => {
                    cut = 0;
                    self.linearized(&x, &stands, &steps, trust_radius)
                }
            };
            let step = self.step(&mut about.lp, &x, trust_radius, best.value());
            // The predicted gain is about the most that can be had within the trust radius.
            let worth_it = step.filter(|(_, promised)| best.value() - promised >= self.look.worth_m);
            let Some((dx, promised)) = worth_it.filter(|_| trust_radius >= LEAST_TRUST) else {
                // The path may have moved to where it was not sampled closely.
                let before = best.value();
                if since_steps > 0 {
                    since_steps = 0;
                    (steps, (stands, _)) = self.look_closer(&x, &steps, 1);
                    best = self.merit(&x, &stands);
                }
                if best.value() - before < self.look.worth_m {
                    break;
                }
                trust_radius = trust_radius.max(START_AGAIN);
                continue;
            };
            let next: Vec<f64> = x.iter().zip(&dx).map(|(a, b)| a + b).collect();
            let next = self.tidied(&next);
            let (next_stands, _) = self.drive(&next, &steps);
            let judged = self.merit(&next, &next_stands);
            let gain = best.value() - judged.value();
            let kept = gain / (best.value() - promised).max(1e-12);
            if gain > 0.0 {
                trust_radius = match kept {
                    kept if kept > KEPT.0 => (trust_radius * 1.6_f64).min(2.0),
                    kept if kept > KEPT.1 => trust_radius,
                    _ => 0.5 * trust_radius,
                };
                x = next;
                stands = next_stands;
                best = judged;
                since_steps += 1;
                // The path has moved: sample closely where it is tight now.
                if since_steps >= 3 {
                    since_steps = 0;
                    (steps, (stands, _)) = self.look_closer(&x, &steps, 1);
                    best = self.merit(&x, &stands);
                }
            } else {
                // Rows for violations without a plane are added; then half the trust radius is tried.
                let missing = if cut < MOST_CUTS && self.look.worth_m < ROUGH_M {
                    self.missing(&about, &dx, (&stands, &next_stands), best.value() - promised)
                } else {
                    Vec::new()
                };
                if !missing.is_empty() {
                    cut += 1;
                    self.add(&mut about, (&x, &stands, &steps), missing);
                    planes = Some(about);
                    trust_radius *= AFTER_A_CUT;
                    continue;
                }
                // The error of the planes grows with the square of the step: take the length with the largest gain of
                // both together. Shorter than the failed step, which may have been shorter than the trust radius.
                trust_radius =
                    (0.5 / (1.0 - kept)).clamp(SHRINK.0, SHRINK.1) * trust_radius.min(self.stepped(&dx));
                planes = Some(about);
            }
        }
        if since_steps > 0 {
            (steps, (stands, _)) = self.look_closer(&x, &steps, 1);
            best = self.merit(&x, &stands);
        }
        SlpIterate { trust_radius, steps, ..best }
    }

    /// Initial trust radius of the start slack.
    pub(super) fn trust_slack(&self) -> f64 {
        if self.problem.pushes_trailer() { TRUST_SLACK_PUSHED } else { TRUST_SLACK }
    }

    /// Length of a step, as a share of the initial trust radius.
    fn stepped(&self, dx: &[f64]) -> f64 {
        let mut longest = dx[0].abs().max(dx[1].abs()) / TRUST_LENGTH_M;
        for off in &dx[2..2 + self.track.start_slack] {
            longest = longest.max(off.abs() / self.trust_slack());
        }
        for (index, leg) in self.track.legs.iter().enumerate() {
            let at = self.track.leg_at(index);
            longest = longest.max(dx[at].abs() / TRUST_LENGTH_M);
            let shares = dx[at + 1..at + 1 + leg.knots].iter();
            longest = shares.fold(longest, |most, share| most.max(share.abs() / TRUST_SHARE));
        }
        longest
    }

    /// Evaluates a path, and again with the sampling that each evaluation calls for.
    fn look_closer(&mut self, x: &[f64], steps: &SampleGrid, times: usize) -> (SampleGrid, Rollout) {
        let mut steps = steps.clone();
        let mut driven = self.drive(x, &steps);
        for _ in 0..times {
            let finer = self.track.steps(self.model, x, (&driven.0, &driven.1), self.look);
            if finer == steps {
                break;
            }
            steps = finer;
            driven = self.drive(x, &steps);
        }
        (steps, driven)
    }

    fn drive(&mut self, x: &[f64], steps: &SampleGrid) -> Rollout {
        let driven = self.track.drive(self.problem, self.model, x, steps);
        self.work += u64::try_from(driven.0.len()).unwrap_or(0);
        driven
    }

    /// Moves the variables within their own limits, which linear programs satisfy only to rounding.
    fn tidied(&self, x: &[f64]) -> Vec<f64> {
        self.track.within_limits(&self.problem.vehicle.steering, x)
    }

    /// Merit of an evaluated path.
    fn merit(&self, x: &[f64], stands: &[PathNode]) -> SlpIterate {
        let surroundings = &self.model.surroundings;
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut broken = 0.0_f64;
        for stand in stands {
            left = left.min(stand.need.left_u);
            right = right.max(stand.need.right_u);
            broken = broken.max(self.most_broken(stand));
        }
        let (drawn, room, needed) =
            (surroundings.drawn_faces_u, surroundings.room_u(), Faces { left, right });
        // A need past a face that stays, or past the room there is, is a violation; the opening is reported as if it
        // were not.
        let has_need = left.is_finite() || right.is_finite();
        if surroundings.anchor != Anchor::Free || left.is_finite() && right.is_finite() {
            let short = surroundings.anchor.overstep_m(drawn, room, needed) + self.look.spare_m;
            if has_need && short.is_finite() {
                broken = broken.max(short);
            }
        }
        let opening_m = match surroundings.anchor {
            Anchor::Side(Side::Left) => (right - drawn.left).max(0.0),
            Anchor::Side(Side::Right) => (drawn.right - left).max(0.0),
            Anchor::Free if left.is_finite() && right.is_finite() => (right - left).max(0.0),
            anchor => anchor.least_opening(drawn, Faces::ANYWHERE, needed).0,
        };
        if !self.track.outward {
            for off in &x[2..2 + self.track.start_slack] {
                broken = broken.max(SLACK_WEIGHT_M * off.abs());
            }
        }
        if let Some(end) = self.goal_stand(stands.len()).and_then(|at| stands.get(at)) {
            broken = broken.max(short_of_goal(self.problem, self.model, end));
        }
        if let Some(last) = stands.last().filter(|_| self.track.outward) {
            for (short, _) in self.out_of_lane(&last.state) {
                broken = broken.max(short);
            }
        }
        let cost_m = match self.objective {
            Objective::Opening => opening_m,
            Objective::Length { within_m } => {
                broken = broken.max(opening_m - within_m);
                self.leg_costs().map(|(at, cost)| cost * x[at]).sum()
            }
        };
        SlpIterate {
            x: x.to_vec(),
            cost_m,
            opening_m,
            violation_m: broken,
            trust_radius: 1.0,
            steps: SampleGrid::default(),
        }
    }

    /// Variables of the legs' lengths, with the cost of a meter of each.
    fn leg_costs(&self) -> impl Iterator<Item = (usize, f64)> {
        self.track.legs.iter().enumerate().map(|(index, leg)| {
            let reverse = leg.direction == Direction::Reverse;
            (self.track.leg_at(index), if reverse { REVERSE_COST } else { FORWARD_COST })
        })
    }

    /// Index of the pose that must be inside the gate: the last, or of a path driven outward the first.
    fn goal_stand(&self, stands: usize) -> Option<usize> {
        if self.track.outward { (stands > 0).then_some(0) } else { stands.checked_sub(1) }
    }

    /// Deviations of a vehicle from standing straight in its lane, in meters, each with its gradient: aside of its
    /// play, turned, and bent at each hitch.
    pub(super) fn out_of_lane(&self, state: &State) -> Vec<(f64, Rates)> {
        let lane = self.problem.lane;
        let station = lane.station_of(&state.lead);
        let zone = lane.stand_within(station, f64::INFINITY).copied().unwrap_or(StartZone::UNBOUNDED);
        let straight = lane.start(&zone, station, 0.0).lead;
        let aside = straight.to_body(state.lead.position).y;
        let left = Point::at_angle(straight.heading).left();
        let (low, high) = zone.play_m;
        let mut list = vec![
            (aside - high, [left.x, left.y, 0.0, 0.0, 0.0, 0.0]),
            (low - aside, [-left.x, -left.y, 0.0, 0.0, 0.0, 0.0]),
        ];
        let turned = wrap_angle(state.lead.heading - straight.heading);
        let bent = (0..self.model.chain.towed_count()).map(|i| (3 + i, state.hitch[i] - zone.hitch_rad[i]));
        for (coordinate, angle) in std::iter::once((2, turned)).chain(bent) {
            for sign in [1.0, -1.0] {
                let mut rates = Rates::default();
                rates[coordinate] = sign * SLACK_WEIGHT_M;
                list.push((sign * SLACK_WEIGHT_M * angle, rates));
            }
        }
        list
    }

    /// Linear program of a step about a path: a row for each constraint of each pose that a step within `trust_radius`
    /// could make matter.
    fn linearized(
        &mut self,
        x: &[f64],
        stands: &[PathNode],
        steps: &SampleGrid,
        trust_radius: f64,
    ) -> Planes {
        let n = x.len();
        // Variables: the changes, then the faces (left moved out, right moved out), then the elastic one.
        let (left, right, elastic) = (n, n + 1, n + 2);
        let mut costs = vec![0.0; n + 3];
        costs[elastic] = VIOLATION_PENALTY;
        match self.objective {
            Objective::Opening => (costs[left], costs[right]) = self.face_columns(n).costs,
            Objective::Length { .. } => self.leg_costs().for_each(|(at, cost)| costs[at] = cost),
        }
        let mut planes = Planes { lp: LinearProgram::new(costs), planes: Vec::new() };
        let rows = self.rows(stands, trust_radius);
        self.add(&mut planes, (x, stands, steps), rows);
        planes
    }

    /// Best step of a linearized problem within the trust radius, and the merit that it predicts.
    fn step(
        &self,
        lp: &mut LinearProgram,
        x: &[f64],
        trust_radius: f64,
        now: f64,
    ) -> Option<(Vec<f64>, f64)> {
        let n = x.len();
        let (left, right, elastic) = (n, n + 1, n + 2);
        lp.forget_short_rows();
        self.own_limits(lp, x, trust_radius);
        lp.at_most(&[(elastic, -1.0)], 0.0);
        for face in [left, right] {
            lp.between(face, -60.0, 60.0);
        }
        // The faces move only where there is room for them. A row that no step comes near is left out.
        let (around, faces) = (&self.model.surroundings, self.face_columns(n));
        let (room, base) = (around.room_u(), faces.base);
        // Cost at no step, and the widest opening of use.
        let (here, opening_m) = match self.objective {
            Objective::Opening => (0.0, now),
            Objective::Length { within_m } => {
                let (of_left, of_right) = faces.costs;
                lp.at_most(&[(left, of_left), (right, of_right), (elastic, -1.0)], within_m);
                (self.leg_costs().map(|(at, cost)| cost * x[at]).sum(), within_m)
            }
        };
        let farthest_m = match around.anchor {
            Anchor::Center => 0.5 * opening_m + NEAR_ROOM_M,
            Anchor::Side(_) => opening_m + NEAR_ROOM_M,
            Anchor::Free => f64::INFINITY,
        };
        let sides =
            [(left, faces.stays.0, base.0 - room.left), (faces.right, faces.stays.1, room.right - base.1)];
        for (column, _, most_m) in sides.into_iter().filter(|(_, stays, _)| !stays) {
            if most_m.is_finite() && most_m < farthest_m {
                lp.at_most(&[(column, 1.0), (elastic, -1.0)], most_m - self.look.spare_m);
            }
        }
        lp.at_most(&[(elastic, 1.0)], 1e4);
        // From a path without violations the answer is near standing still.
        let start = lp.point_within(left..elastic + 1, CLEAR_M);
        let nearly_whole = start[elastic] < NEARLY_WHOLE_M && self.objective == Objective::Opening;
        let start = nearly_whole.then_some(&start[..]);
        // A fine polish solves exactly, so that wheels are turned fully even where that gains next to nothing.
        let gap = self.look.worth_m / 300.0;
        let accuracy =
            if self.look.worth_m < ROUGH_M { Tolerance::exact(gap) } else { Tolerance::inexact(gap, now) };
        lp.solve(accuracy, start).map(|step| {
            #[cfg(test)]
            super::lp::recorded::keep(lp, accuracy, &step);
            let promised = here + lp.cost(&step);
            (step, promised)
        })
    }
}
