//! Forward sensitivities: how the poses along a path move with its variables, and how their needs change with that.
//!
//! A step's state depends on the state before it and on the step's own two curvatures and length; its derivatives are
//! taken by differences of [`Chain::advance`] and propagated from step to step, so one pass along the path carries
//! those of every variable. The need of a pose is then differentiated in the pose's own three or more coordinates only:
//! a handful of evaluations where each variable would take one.
//!
//! Part of the engine, public for the tests that hold it.
use super::Problem;
use super::transcription::{PathNode, SampleGrid, Transcription, intervals};
use crate::clearance::{ActiveSet, CollisionModel, PoseNeed, Scratch};
use crate::geometry::{Frame, Point, Pose, trig};
use crate::motion::{Chain, MAX_TOWED, State};
use crate::vehicle::MAX_UNITS;

/// Coordinates of a state: x, y, heading, hitch angles.
pub const COORDINATES: usize = 3 + MAX_TOWED;
/// Rates of change with each coordinate.
pub type Rates = [f64; COORDINATES];

/// Step of the finite differences, meters and radians: rounding and truncation errors are then similar.
const DIFFERENCE: f64 = 1e-5;

/// Derivatives of one state along a path by all of the path's variables.
#[derive(Clone, Debug)]
pub struct StateSensitivity {
    columns: Vec<Rates>,
    /// Index of the first variable that does not move this state.
    active: usize,
    /// Number of coordinates in use.
    coordinates: usize,
}

impl StateSensitivity {
    /// Sensitivities of the start state: only station, offset and start slack move it.
    #[must_use]
    pub fn at_start(problem: &Problem, chain: &Chain, track: &Transcription, x: &[f64]) -> Self {
        let mut columns = vec![[0.0; COORDINATES]; x.len()];
        if track.outward {
            for (coordinate, column) in columns.iter_mut().enumerate().take(2 + track.start_slack) {
                column[coordinate] = 1.0;
            }
            return Self { columns, active: 2 + track.start_slack, coordinates: 3 + chain.towed_count() };
        }
        let here = problem.lane.pose(x[0], x[1]);
        for (slot, moved) in columns
            .iter_mut()
            .zip([problem.lane.pose(x[0] + DIFFERENCE, x[1]), problem.lane.pose(x[0], x[1] + DIFFERENCE)])
        {
            let by = (moved.position - here.position) * (1.0 / DIFFERENCE);
            *slot = [by.x, by.y, 0.0, 0.0, 0.0, 0.0];
        }
        if track.start_slack > 0 {
            columns[2] = columns[1];
            for (i, column) in columns[3..2 + track.start_slack].iter_mut().enumerate() {
                column[2 + i] = 1.0;
            }
        }
        Self { columns, active: 2 + track.start_slack, coordinates: 3 + chain.towed_count() }
    }

    /// Propagates the sensitivities over one step of a leg: from `from` to `to`, part `part` of `parts` of `interval`.
    pub fn step(
        &mut self,
        chain: &Chain,
        track: &Transcription,
        (leg, interval): (usize, usize),
        (part, parts): (u32, u32),
        (from, to): (&State, &State),
        (piece, k0, k1, max): (f64, f64, f64, f64),
    ) {
        let towed = self.coordinates - 3;
        let difference = |changed: &State| {
            let mut rates = [0.0; COORDINATES];
            let by = changed.lead.position - to.lead.position;
            rates[0] = by.x / DIFFERENCE;
            rates[1] = by.y / DIFFERENCE;
            rates[2] = (changed.lead.heading - to.lead.heading) / DIFFERENCE;
            for i in 0..towed {
                rates[3 + i] = (changed.hitch[i] - to.hitch[i]) / DIFFERENCE;
            }
            rates
        };
        // The state before the step turns it about its start and bends its hitches.
        let across = (to.lead.position - from.lead.position).left();
        let mut by_hitch = [[0.0; MAX_TOWED]; MAX_TOWED];
        for (i, row) in by_hitch.iter_mut().enumerate().take(towed) {
            let mut bent = *from;
            bent.hitch[i] += DIFFERENCE;
            let rates = difference(&chain.advance(&bent, piece, k0, k1));
            row.copy_from_slice(&rates[3..]);
        }
        for column in &mut self.columns[..self.active] {
            column[0] += across.x * column[2];
            column[1] += across.y * column[2];
            if towed > 0 {
                let mut hitch = [0.0; MAX_TOWED];
                for (i, row) in by_hitch.iter().enumerate().take(towed) {
                    for (h, r) in hitch.iter_mut().zip(row) {
                        *h += column[3 + i] * r;
                    }
                }
                column[3..].copy_from_slice(&hitch);
            }
        }
        // The step's own curvatures and length.
        let sharper = DIFFERENCE * max;
        let by_start = difference(&chain.advance(from, piece, k0 + sharper, k1));
        let by_end = difference(&chain.advance(from, piece, k0, k1 + sharper));
        let sign = piece.signum();
        let longer = difference(&chain.advance(from, piece + sign * DIFFERENCE, k0, k1));
        let at = track.leg_at(leg);
        let (a, b) = (at + 1 + interval, at + 2 + interval);
        self.active = self.active.max(b + 1);
        let (before, after) = (f64::from(part) / f64::from(parts), f64::from(part + 1) / f64::from(parts));
        let per_length = 1.0 / (intervals(&track.legs[leg]) * f64::from(parts));
        for d in 0..self.coordinates {
            self.columns[at][d] += longer[d] * per_length;
            self.columns[a][d] += by_start[d] * (1.0 - before) + by_end[d] * (1.0 - after);
            self.columns[b][d] += by_start[d] * before + by_end[d] * after;
        }
    }

    /// Gradient by each variable of a quantity with these rates.
    pub fn gradient(&self, rates: &Rates, into: &mut [f64]) {
        into.iter_mut().for_each(|v| *v = 0.0);
        for (slot, column) in into.iter_mut().zip(&self.columns[..self.active]) {
            let sum: f64 = column[..self.coordinates].iter().zip(rates).map(|(a, b)| a * b).sum();
            *slot = sum;
        }
    }
}

/// Need of a pose, differentiated by its coordinates.
#[derive(Clone, Copy, Debug)]
pub struct NeedGradient {
    /// Need with one coordinate changed a little, by coordinate.
    changed: [PoseNeed; COORDINATES],
    /// Need at the pose itself.
    pub here: PoseNeed,
    coordinates: usize,
}

impl NeedGradient {
    /// Differentiates the need at `state`, reached from `before` (if it was), for the outlines that the need `here`
    /// comes from.
    ///
    /// The short path between the two is assumed to move along as one: its change of shape is of second order.
    #[must_use]
    pub fn at(
        model: &CollisionModel,
        before: Option<&State>,
        state: &State,
        (here, binding): (PoseNeed, ActiveSet),
        scratch: &mut Scratch,
    ) -> Self {
        let chain = &model.chain;
        let coordinates = 3 + chain.towed_count();
        let mut changed = [here; COORDINATES];
        let pivot = state.lead.position;
        let (sin, cos) = trig::sin_cos(DIFFERENCE);
        let turned = |pose: Pose| {
            let d = pose.position - pivot;
            let d = Point::new(d.x * cos - d.y * sin, d.x * sin + d.y * cos);
            Frame::of(&Pose { position: pivot + d, heading: pose.heading + DIFFERENCE })
        };
        let moved = |(state, frames): (&State, &[Frame; MAX_UNITS]), coordinate: usize| match coordinate {
            0 => frames.map(|f| f.moved(Point::new(DIFFERENCE, 0.0))),
            1 => frames.map(|f| f.moved(Point::new(0.0, DIFFERENCE))),
            2 => chain.unit_poses(state).map(turned),
            _ => {
                let mut bent = *state;
                bent.hitch[coordinate - 3] += DIFFERENCE;
                chain.unit_frames(&bent)
            }
        };
        let now = (state, &chain.unit_frames(state));
        let frames_before = before.map(|state| chain.unit_frames(state));
        let earlier = before.zip(frames_before.as_ref());
        for (coordinate, need) in changed.iter_mut().enumerate().take(coordinates) {
            let earlier = earlier.map(|earlier| moved(earlier, coordinate));
            *need = model.need_of(binding, earlier.as_ref(), &moved(now, coordinate), scratch);
        }
        Self { changed, here, coordinates }
    }

    /// Rates of one field of the need.
    #[must_use]
    pub fn rates(&self, pick: impl Fn(&PoseNeed) -> f64) -> Rates {
        let here = pick(&self.here);
        let mut rates = [0.0; COORDINATES];
        for (rate, changed) in rates.iter_mut().zip(&self.changed).take(self.coordinates) {
            let slope = (pick(changed) - here) / DIFFERENCE;
            // A field that becomes infinite within the difference has no slope there.
            *rate = if slope.is_finite() { slope.clamp(-1e3, 1e3) } else { 0.0 };
        }
        rates
    }
}

/// Propagates the sensitivities along a driven path, stopping at the poses `wanted` (in order).
pub fn along(
    problem: &Problem,
    model: &CollisionModel,
    track: &Transcription,
    (x, stands, steps): (&[f64], &[PathNode], &SampleGrid),
    wanted: &[usize],
    mut visit: impl FnMut(usize, Option<&State>, &StateSensitivity),
) {
    let chain = &model.chain;
    let max = problem.vehicle.steering.max_curvature;
    let mut moves = StateSensitivity::at_start(problem, chain, track, x);
    let mut wanted = wanted.iter().copied().peekable();
    let mut index = 0;
    for (leg_index, leg) in track.legs.iter().enumerate() {
        let at = track.leg_at(leg_index);
        let shares = &x[at + 1..at + 1 + leg.knots];
        let length = x[at] / intervals(leg);
        if wanted.next_if_eq(&index).is_some() {
            visit(index, None, &moves);
        }
        for interval in 0..leg.knots - 1 {
            let parts = steps.parts[leg_index][interval];
            let piece = leg.direction.sign() * length / f64::from(parts);
            let (start, end) = (shares[interval] * max, shares[interval + 1] * max);
            let k = |i: u32| start + (end - start) * (f64::from(i) / f64::from(parts));
            for part in 0..parts {
                if wanted.peek().is_none() {
                    return;
                }
                let (from, to) = (&stands[index].state, &stands[index + 1].state);
                moves.step(
                    chain,
                    track,
                    (leg_index, interval),
                    (part, parts),
                    (from, to),
                    (piece, k(part), k(part + 1), max),
                );
                index += 1;
                if wanted.next_if_eq(&index).is_some() {
                    visit(index, Some(from), &moves);
                }
            }
        }
        // The next leg's first node repeats this pose with the wheels turned.
        index += 1;
    }
}

/// Rates of any function of a state, by differences.
#[must_use]
pub fn rates_of(model: &CollisionModel, state: &State, value: impl Fn(&State) -> f64) -> Rates {
    let here = value(state);
    let mut rates = [0.0; COORDINATES];
    for (coordinate, rate) in rates.iter_mut().enumerate().take(3 + model.chain.towed_count()) {
        let mut changed = *state;
        match coordinate {
            0 => changed.lead.position.x += DIFFERENCE,
            1 => changed.lead.position.y += DIFFERENCE,
            2 => changed.lead.heading += DIFFERENCE,
            _ => changed.hitch[coordinate - 3] += DIFFERENCE,
        }
        *rate = (value(&changed) - here) / DIFFERENCE;
    }
    rates
}
