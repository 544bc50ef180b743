//! Sequence of linear programs over a few turns of the wheel: first back to the known path, then away from what stands.
//!
//! There are only a dozen variables, so the needs of the poses are differentiated by driving the path once more for
//! each variable.
use super::pieces::Begun;
use super::{StepsProblem, Turns, curvature_at, path_of, ramp_m};
use crate::clearance::{AMPLE_M, CollisionModel, PoseNeed, Scratch};
use crate::geometry::wrap_angle;
use crate::motion::{Chain, Direction, Path, State};
use crate::search::Problem;
use crate::search::lane::StartZone;
use crate::search::lp::{LinearProgram, Tolerance};
use crate::search::transcription::Transcription;

/// Number of linear programs solved to get clear of what stands, ...
pub(super) const ROUNDS: usize = 14;
/// ... and to get back to the known path.
const ROUNDS_ALONG: usize = 12;
/// Clearance that the search keeps beyond the one that is enough, for rounding and the bound between poses.
const SPARE_M: f64 = 0.015;
/// Spacing of the sampled poses on a turn and before the first turn, meters.
const LOOK_M: f64 = 0.25;
const LOOK_BEFORE_M: f64 = 1.0;
/// Shortest roll with the wheel held, meters: half a meter can be judged by eye.
const SHORTEST_M: f64 = 0.5;
/// Weight of a meter of violated constraint against a meter of clearance.
const VIOLATION_PENALTY: f64 = 20.0;
/// Initial trust radius: share of the wheel's travel, length, offset.
const TRUST_SHARE: f64 = 0.15;
const TRUST_LENGTH_M: f64 = 0.8;
const TRUST_OFFSET_M: f64 = 0.2;
/// The search ends when the trust radius shrinks to this share of the initial one.
const LEAST_TRUST: f64 = 0.01;
/// Steps of the finite differences: a thousandth of the wheel's travel, a millimeter.
const DIFFERENCE: f64 = 1e-3;
/// Distance within which the path counts as near the known one, meters.
const NEAR_M: f64 = 0.08;
/// Weight of a radian of heading against a meter off the known path.
const METERS_PER_RAD: f64 = 3.0;
/// A step with a predicted gain below this ends the search.
const WORTH_M: f64 = 5e-4;
/// Radians kept below a hitch limit.
const HITCH_SPARE_RAD: f64 = 2e-3;
/// Distance kept from the edge of the lane at the start where there is room: half a foot.
const OFF_EDGE_M: f64 = 0.15;
/// Spare kept inside the gate at the end.
const INSIDE_SPARE_M: f64 = 0.02;

/// Residuals of a path: rows to maximize, and rows that must not be negative.
struct Asked {
    soft: Vec<f64>,
    hard: Vec<f64>,
}

impl Asked {
    /// Smallest soft row, less the penalty of violated hard rows.
    fn merit(&self) -> f64 {
        let soft = self.soft.iter().copied().fold(AMPLE_M, f64::min);
        let broken = self.hard.iter().copied().fold(0.0, f64::min);
        soft + VIOLATION_PENALTY * broken
    }
}

/// Objective of the steps.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Goal {
    /// Near the known path.
    Along,
    /// Clear of what stands.
    Clear,
}

/// Fit of one layout of turns of the wheel against what stands.
pub(super) struct Fit<'a> {
    pub(super) asked: &'a StepsProblem<'a>,
    problem: &'a Problem<'a>,
    model: CollisionModel,
    chain: Chain,
    zone: StartZone,
    station_m: f64,
    pub(super) legs: Vec<(Direction, usize)>,
    /// Variables that are held fixed.
    pub(super) fixed: Vec<bool>,
    /// States of the known path that match the sampled poses of the initial steps.
    known: Vec<State>,
    begun_looks: Vec<usize>,
}

/// Indices of the variables: offset, lead-in, then share and roll of each turn.
pub(super) const OFFSET: usize = 0;
pub(super) const LEAD_IN: usize = 1;

impl<'a> Fit<'a> {
    pub(super) fn new(asked: &'a StepsProblem<'a>, begun: &Begun) -> Self {
        let problem = asked.problem;
        let around = problem.surroundings.clone();
        let drawn_m = around.drawn_faces_u.opening_m();
        let model = CollisionModel::new(problem.vehicle, around, asked.enough_m + SPARE_M, drawn_m);
        let chain = model.chain;
        let mut zone =
            problem.lane.zone_within(begun.station_m, 1e-5).copied().unwrap_or(StartZone::UNBOUNDED);
        // On a bend the known start is a stance of its own.
        let (low, high) = zone.play_m;
        let off_edge_m = OFF_EDGE_M.min(0.25 * (high - low));
        zone.play_m = (low + off_edge_m, high - off_edge_m);
        zone.hitch_rad = asked.known.start.hitch;
        zone.curvature = asked.known.start.curvature;
        let mut fit = Self {
            asked,
            problem,
            model,
            chain,
            zone,
            station_m: begun.station_m,
            legs: begun.legs.clone(),
            fixed: vec![false; begun.x.len()],
            known: Vec::new(),
            begun_looks: Vec::new(),
        };
        fit.begun_looks = fit.looks(&begun.x);
        fit.known = fit.known_states(&begun.x);
        fit
    }

    /// Least and largest offset at the start.
    pub(super) const fn play_m(&self) -> (f64, f64) {
        self.zone.play_m
    }

    /// State in which the vehicle lines up.
    pub(super) fn start(&self, x: &[f64]) -> State {
        self.problem.lane.start(&self.zone, self.station_m, x[OFFSET])
    }

    /// Legs of a vector of variables.
    pub(super) fn legs_of(&self, x: &[f64]) -> Vec<(Direction, Turns)> {
        let mut at = 2;
        let leg = |(direction, count): &(Direction, usize)| {
            let turns = x[at..at + 2 * count].chunks_exact(2).map(|pair| (pair[0], pair[1])).collect();
            at += 2 * count;
            (*direction, turns)
        };
        self.legs.iter().map(leg).collect()
    }

    fn path(&self, x: &[f64]) -> Path {
        path_of(&self.problem.vehicle.steering, (&self.start(x), x[LEAD_IN]), &self.legs_of(x))
    }

    /// Number of poses to sample before the first turn, and on each turn.
    fn looks(&self, x: &[f64]) -> Vec<usize> {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and 400")]
        let count = |length_m: f64, step_m: f64| (length_m / step_m).ceil().clamp(1.0, 400.0) as usize;
        let turns = x[2..].chunks_exact(2).map(|turn| count(turn[1], LOOK_M));
        std::iter::once(count(x[LEAD_IN], LOOK_BEFORE_M)).chain(turns).collect()
    }

    /// States at this many poses of each turn, evenly spaced, each with its leg.
    fn states(&self, x: &[f64], looks: &[usize]) -> Vec<(State, usize)> {
        let steering = &self.problem.vehicle.steering;
        let mut state = self.start(x);
        let mut list = vec![(state, 0)];
        let mut roll =
            |state: &mut State, leg: usize, sign: f64, (k0, k1): (f64, f64), ramp, length, looks| {
                let looks = f64::from(u32::try_from(looks).unwrap_or(u32::MAX));
                let k = |m: f64| if m < ramp { k0 + (k1 - k0) * (m / ramp) } else { k1 };
                let mut i = 0.0;
                while i < looks {
                    let (from, to): (f64, f64) = (length * i / looks, length * (i + 1.0) / looks);
                    let middle = f64::max(ramp, from).min(to);
                    if middle > from {
                        *state = self.chain.advance(state, sign * (middle - from), k(from), k(middle));
                    }
                    if to > middle {
                        *state = self.chain.advance(state, sign * (to - middle), k1, k1);
                    }
                    list.push((*state, leg));
                    i += 1.0;
                }
            };
        let mut k = state.curvature;
        let mut looks = looks.iter().copied();
        for (leg, (direction, turns)) in self.legs_of(x).into_iter().enumerate() {
            let sign = direction.sign();
            if leg == 0 {
                roll(&mut state, leg, sign, (k, k), 0.0, x[LEAD_IN], looks.next().unwrap_or(1));
            }
            for (at, (share, roll_m)) in turns.into_iter().enumerate() {
                let to = curvature_at(steering, share);
                let ramp = if leg > 0 && at == 0 { 0.0 } else { ramp_m(steering, k, to) };
                let length = roll_m.max(ramp);
                roll(&mut state, leg, sign, (k, to), ramp, length, looks.next().unwrap_or(1));
                k = to;
            }
        }
        list
    }

    /// States of the known path at the stations of the initial steps: at the same share of the leg's length.
    fn known_states(&self, x: &[f64]) -> Vec<State> {
        let chain = &self.chain;
        let samples = self.asked.known.samples(chain, 0.05);
        let of_leg = |leg: usize| {
            let mine = samples.iter().filter(move |s| s.leg == leg);
            let stations = mine.clone().map(|s| s.station_m);
            (stations.clone().fold(f64::INFINITY, f64::min), stations.fold(f64::NEG_INFINITY, f64::max))
        };
        let begun = self.path(x).samples(chain, LOOK_M);
        let length = |leg: usize| {
            let mine = begun.iter().filter(|s| s.leg == leg).map(|s| s.station_m);
            (mine.clone().fold(f64::INFINITY, f64::min), mine.fold(f64::NEG_INFINITY, f64::max))
        };
        // Stations of the sampled poses, by their leg.
        let mut stations = vec![(0.0, 0)];
        let mut looks = self.looks(x).into_iter();
        let mut station = 0.0;
        let mut push = |length_m: f64, looks: usize, leg: usize| {
            let looks = f64::from(u32::try_from(looks).unwrap_or(u32::MAX));
            let mut i = 0.0;
            while i < looks {
                i += 1.0;
                stations.push((station + length_m * i / looks, leg));
            }
            station += length_m;
        };
        push(x[LEAD_IN], looks.next().unwrap_or(1), 0);
        let mut at = 2;
        for (leg, (_, count)) in self.legs.iter().enumerate() {
            for _ in 0..*count {
                push(x[at + 1], looks.next().unwrap_or(1), leg);
                at += 2;
            }
        }
        let nearest = |station: f64, leg: usize| {
            let mine = samples.iter().filter(|s| s.leg == leg);
            mine.min_by(|a, b| (a.station_m - station).abs().total_cmp(&(b.station_m - station).abs()))
        };
        let state = |&(station, leg): &(f64, usize)| {
            let ((from, to), (begun_from, begun_to)) = (of_leg(leg), length(leg));
            let share = (station - begun_from) / (begun_to - begun_from).max(1e-6);
            nearest(from + share.clamp(0.0, 1.0) * (to - from), leg)
                .map_or(self.asked.known.start, |s| s.state)
        };
        stations.iter().map(state).collect()
    }

    /// Moves the variables so that the path comes near to the known one.
    pub(super) fn along_known(&mut self, x: &[f64]) -> Option<Vec<f64>> {
        self.improve(x, Goal::Along, ROUNDS_ALONG)
    }

    /// Moves the variables so that the path has more room to everything.
    pub(super) fn clear(&mut self, x: &[f64], rounds: usize) -> Option<Vec<f64>> {
        self.improve(x, Goal::Clear, rounds)
    }

    /// Clearance beyond the one that is enough at the sampled poses; negative where it is less.
    pub(super) fn merit(&self, x: &[f64]) -> f64 {
        self.ask(x, &self.looks(x), Goal::Clear).merit()
    }

    fn ask(&self, x: &[f64], looks: &[usize], goal: Goal) -> Asked {
        let states = self.states(x, looks);
        let mut asked = match goal {
            Goal::Along => self.off_known(&states),
            Goal::Clear => self.clearances(&states),
        };
        self.rolls(x, &mut asked.hard);
        asked
    }

    /// Distance of each pose from the known path's, negative.
    fn off_known(&self, states: &[(State, usize)]) -> Asked {
        let mut soft = Vec::with_capacity(states.len() * 8);
        for ((state, _), known) in states.iter().zip(&self.known) {
            let off = state.lead.position - known.lead.position;
            let turned = METERS_PER_RAD * wrap_angle(state.lead.heading - known.lead.heading);
            let mut both = |m: f64| soft.extend([m, -m]);
            both(off.x);
            both(off.y);
            both(turned);
            for (a, b) in state.hitch.iter().zip(&known.hitch).take(self.chain.towed_count()) {
                both(METERS_PER_RAD * (a - b));
            }
        }
        Asked { soft, hard: Vec::new() }
    }

    /// Remaining clearance of the poses, and the hard constraints.
    fn clearances(&self, states: &[(State, usize)]) -> Asked {
        let drawn = self.model.surroundings.drawn_faces_u;
        let mut asked = Asked { soft: Vec::new(), hard: Vec::new() };
        let mut scratch = Scratch::default();
        let mut before = None;
        let mut last: Option<PoseNeed> = None;
        for (state, leg) in states {
            let frames = self.chain.unit_frames(state);
            let need = self.model.need_since(before.as_ref(), &frames, &mut scratch);
            before = Some(frames);
            asked.soft.extend([need.left_u - drawn.left, drawn.right - need.right_u, need.margin_m]);
            asked.hard.push(need.ground_m);
            for (phi, limit) in state.hitch.iter().zip(self.model.hitch_limits) {
                asked.hard.push((limit - HITCH_SPARE_RAD - phi.abs()).min(AMPLE_M));
            }
            if Transcription::keeps_out(self.problem, *leg) {
                asked.hard.push((self.model.front_v - INSIDE_SPARE_M - need.most_v).min(AMPLE_M));
            }
            last = Some(need);
        }
        if let Some(last) = last {
            let inside_v = self.model.surroundings.beyond_v + INSIDE_SPARE_M;
            asked.hard.push((last.least_v - inside_v).min(AMPLE_M));
        }
        if let (Some(spot), Some((state, _))) = (&self.problem.spot, states.last()) {
            asked.hard.push(-spot.short_by(&self.chain, state));
        }
        asked
    }

    /// Adds the constraints that a turn of the wheel is rolled for at least as long as turning takes.
    fn rolls(&self, x: &[f64], hard: &mut Vec<f64>) {
        let steering = &self.problem.vehicle.steering;
        let mut k = self.zone.curvature;
        for (leg, (_, turns)) in self.legs_of(x).into_iter().enumerate() {
            for (at, (share, roll_m)) in turns.into_iter().enumerate() {
                let to = curvature_at(steering, share);
                let ramp = if leg > 0 && at == 0 { 0.0 } else { ramp_m(steering, k, to) };
                hard.push((roll_m - ramp.max(SHORTEST_M)).min(AMPLE_M));
                k = to;
            }
        }
    }

    /// Improves the variables by at most `rounds` linear programs. `None` where the first linear program has no
    /// solution.
    fn improve(&mut self, x: &[f64], goal: Goal, rounds: usize) -> Option<Vec<f64>> {
        let enough = if goal == Goal::Along { -NEAR_M } else { 0.0 };
        let mut x = x.to_vec();
        let mut trust_radius = 1.0;
        for _ in 0..rounds {
            // Each pose is compared with its match on the known path.
            let looks = if goal == Goal::Along { self.begun_looks.clone() } else { self.looks(&x) };
            let now = self.ask(&x, &looks, goal);
            if now.merit() >= enough || trust_radius < LEAST_TRUST {
                break;
            }
            let Some(free_rates) = self.rates(&x, &looks, goal, &now) else { break };
            let mut moved = false;
            while trust_radius >= LEAST_TRUST {
                let Some((next, promised)) = self.step(&x, &now, &free_rates, trust_radius) else {
                    return Some(x);
                };
                if promised - now.merit() < WORTH_M {
                    return Some(x);
                }
                let gain = self.ask(&next, &looks, goal).merit() - now.merit();
                if gain > 0.05 * (promised - now.merit()) {
                    let kept = gain / (promised - now.merit());
                    trust_radius = if kept > 0.5 { (1.7 * trust_radius).min(3.0) } else { trust_radius };
                    x = next;
                    moved = true;
                    break;
                }
                trust_radius *= 0.35;
            }
            if !moved {
                break;
            }
        }
        Some(x)
    }

    /// Derivatives of all rows by each free variable: its index, soft, hard.
    fn rates(&self, x: &[f64], looks: &[usize], goal: Goal, now: &Asked) -> Option<Vec<(usize, Asked)>> {
        let free = (0..x.len()).filter(|at| !self.fixed[*at]);
        let rates: Vec<(usize, Asked)> = free
            .map(|at| {
                let mut moved = x.to_vec();
                // Step inward from a bound; at a mirrored place in the mirrored direction.
                let signed = at == OFFSET || Self::is_share(at);
                let by = if signed && x[at] > 0.0 { -DIFFERENCE } else { DIFFERENCE };
                moved[at] += by;
                let then = self.ask(&moved, looks, goal);
                let rate = |now: &[f64], then: &[f64]| {
                    let change = |(a, b): (&f64, &f64)| {
                        let d = (b - a) / by;
                        if d.is_finite() { d } else { 0.0 }
                    };
                    now.iter().zip(then).map(change).collect()
                };
                (at, Asked { soft: rate(&now.soft, &then.soft), hard: rate(&now.hard, &then.hard) })
            })
            .collect();
        (!rates.is_empty()).then_some(rates)
    }

    /// Best step within the trust radius, and the merit that the linear program predicts.
    fn step(
        &self,
        x: &[f64],
        now: &Asked,
        rates: &[(usize, Asked)],
        trust_radius: f64,
    ) -> Option<(Vec<f64>, f64)> {
        let n = rates.len();
        let least = now.soft.iter().copied().fold(AMPLE_M, f64::min);
        let (lost, broken) = (n, n + 1);
        let mut costs = vec![0.0; n + 2];
        (costs[lost], costs[broken]) = (1.0, VIOLATION_PENALTY);
        let mut lp = LinearProgram::new(costs);
        let reach = |row: &dyn Fn(&Asked) -> f64| -> f64 {
            rates.iter().map(|(at, rate)| row(rate).abs() * trust_radius * self.size(*at)).sum()
        };
        let mut dense = vec![0.0; n];
        for (i, slack) in now.soft.iter().enumerate() {
            let slack = slack - least;
            // Rows that no step brings near the smallest are left out.
            if !slack.is_finite() || slack > reach(&|rate| rate.soft[i]) + AMPLE_M {
                continue;
            }
            for (value, (_, rate)) in dense.iter_mut().zip(rates) {
                *value = rate.soft[i];
            }
            lp.at_most_dense(&dense, -1.0, &[(lost, -1.0)], slack);
        }
        for (i, slack) in now.hard.iter().enumerate() {
            if !slack.is_finite() || *slack > reach(&|rate| rate.hard[i]) {
                continue;
            }
            for (value, (_, rate)) in dense.iter_mut().zip(rates) {
                *value = rate.hard[i];
            }
            lp.at_most_dense(&dense, -1.0, &[(broken, -1.0)], *slack);
        }
        for (column, (at, _)) in rates.iter().enumerate() {
            let (low, high) = self.bounds(*at);
            let most = trust_radius * self.size(*at);
            lp.between(column, (-most).max(low - x[*at]).min(0.0), most.min(high - x[*at]).max(0.0));
        }
        lp.between(lost, -AMPLE_M.max(-least), 10.0);
        lp.between(broken, 0.0, 1e4);
        let step = lp.solve(Tolerance::exact(1e-7), None)?;
        let promised = least - step[lost] - VIOLATION_PENALTY * step[broken].max(0.0);
        let mut next = x.to_vec();
        for ((at, _), by) in rates.iter().zip(&step) {
            let (low, high) = self.bounds(*at);
            next[*at] = (x[*at] + by).clamp(low.min(x[*at]), high.max(x[*at]));
        }
        Some((next, promised))
    }

    /// True if a variable is a share of the wheel's travel.
    pub(super) const fn is_share(at: usize) -> bool {
        at >= 2 && at.is_multiple_of(2)
    }

    const fn size(&self, at: usize) -> f64 {
        match at {
            OFFSET => TRUST_OFFSET_M,
            at if Self::is_share(at) => TRUST_SHARE,
            _ => TRUST_LENGTH_M,
        }
    }

    const fn bounds(&self, at: usize) -> (f64, f64) {
        match at {
            OFFSET => self.zone.play_m,
            at if Self::is_share(at) => (-1.0, 1.0),
            LEAD_IN => (0.0, f64::INFINITY),
            _ => (SHORTEST_M, f64::INFINITY),
        }
    }
}
