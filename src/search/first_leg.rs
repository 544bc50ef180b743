//! Changes the steering of a path's first leg so that the leg ends in a given state.
//!
//! A trailer pushed back multiplies an error by e in each of its lengths from hitch to axle: a drive up to where the
//! pushing begins that ends a centimeter off becomes a jackknife. So the drive is made to end there exactly.
use super::Problem;
use super::transcription::Transcription;
use crate::geometry::wrap_angle;
use crate::motion::{Chain, MAX_TOWED, Path, State};

/// Largest number of Newton steps.
const NEWTON_STEPS: usize = 30;
/// Difference in place, meters, and in angles, radians, that counts as none.
const CLOSED: f64 = 1e-7;
/// Change of a number for a difference quotient.
const DIFFERENCE: f64 = 1e-6;

/// State at the end of a path's first leg.
pub(super) fn end_of_first_leg(path: &Path, chain: &Chain) -> State {
    let legs = path.legs.iter().take(1).cloned().collect();
    Path { legs, ..*path }.end(chain)
}

/// Number of quantities that a state is compared by: place, heading and hitch angles.
const COMPARED: usize = 3 + MAX_TOWED;

/// A path transcribed with its start in its lane, as its numbers stand and, where that succeeds, with the first leg changed to
/// end in the state `stops`.
pub(super) struct LedUp {
    pub(super) track: Transcription,
    pub(super) x: Vec<f64>,
    pub(super) ends_there: Option<Vec<f64>>,
}

/// Moves the start of a transcribed path into its lane and makes its first leg end in the state `stops`.
pub(super) fn led_up_to(
    problem: &Problem,
    chain: &Chain,
    (track, x): (Transcription, Vec<f64>),
    stops: &State,
) -> LedUp {
    let (track, x) = track.in_lane(problem.lane, problem.vehicle.steering.max_curvature, x);
    let mut closed = x.clone();
    let ends_there = close(problem, chain, &track, &mut closed, stops).then_some(closed);
    LedUp { track, x, ends_there }
}

/// Changes the first leg so that it ends in the state `stops`, but for its steering: Newton's method, each step the one
/// that changes the length and how fast the wheels turn least. True if it does.
fn close(problem: &Problem, chain: &Chain, track: &Transcription, x: &mut Vec<f64>, stops: &State) -> bool {
    let miss = |x: &[f64]| -> [f64; COMPARED] {
        let state = end_of_first_leg(&track.path(problem, x), chain);
        let off = stops.lead.to_body(state.lead.position);
        let mut miss = [0.0; COMPARED];
        miss[..3].copy_from_slice(&[off.x, off.y, wrap_angle(state.lead.heading - stops.lead.heading)]);
        for (miss, (is, should)) in miss[3..].iter_mut().zip(state.hitch.iter().zip(stops.hitch)) {
            *miss = is - should;
        }
        miss
    };
    let steering = &problem.vehicle.steering;
    let length = track.leg_at(0);
    let knots = length + 1..length + 1 + track.legs[0].knots;
    *x = track.within_limits(steering, x);
    for _ in 0..NEWTON_STEPS {
        let missed = miss(x);
        if missed.iter().all(|m| m.abs() < CLOSED) {
            return true;
        }
        let slope = |number: usize| -> [f64; COMPARED] {
            let mut changed = x.clone();
            changed[number] += DIFFERENCE;
            let now = miss(&changed);
            std::array::from_fn(|i| (now[i] - missed[i]) / DIFFERENCE)
        };
        let mut slopes: Vec<[f64; COMPARED]> =
            std::iter::once(length).chain(knots.clone()).map(slope).collect();
        // From slopes by the share at a knot to those by its difference from the knot before: all later shares move along.
        for at in (2..slopes.len()).rev() {
            let later = slopes[at];
            slopes[at - 1].iter_mut().zip(later).for_each(|(slope, by)| *slope += by);
        }
        // The share at the first knot is that of the start.
        slopes[1] = [0.0; COMPARED];
        let Some(steps) = least_norm(&slopes, &missed, 3 + chain.towed_count()) else { return false };
        x[length] += steps[0];
        let mut moved = 0.0;
        for (number, step) in knots.clone().zip(&steps[1..]) {
            moved += step;
            x[number] += moved;
        }
        *x = track.within_limits(steering, x);
    }
    false
}

/// Step of least norm that removes the first `compared` of the misses to first order.
fn least_norm(slopes: &[[f64; COMPARED]], missed: &[f64; COMPARED], compared: usize) -> Option<Vec<f64>> {
    let mut normal = [[0.0; COMPARED]; COMPARED];
    for (i, row) in normal.iter_mut().enumerate() {
        for (j, entry) in row.iter_mut().enumerate() {
            *entry = slopes.iter().map(|slope| slope[i] * slope[j]).sum();
        }
        // Hitches that the vehicle does not have.
        if i >= compared {
            row[i] += 1.0;
        }
    }
    let along = solve(normal, *missed)?;
    Some(slopes.iter().map(|slope| -slope.iter().zip(along).map(|(a, b)| a * b).sum::<f64>()).collect())
}

/// Solves linear equations by elimination with the largest pivot; `None` where they are nearly dependent.
fn solve<const N: usize>(mut rows: [[f64; N]; N], mut right: [f64; N]) -> Option<[f64; N]> {
    for at in 0..N {
        let pivot = (at..N).max_by(|a, b| rows[*a][at].abs().total_cmp(&rows[*b][at].abs()))?;
        rows.swap(at, pivot);
        right.swap(at, pivot);
        if rows[at][at].abs() < 1e-12 {
            return None;
        }
        for below in at + 1..N {
            let factor = rows[below][at] / rows[at][at];
            let pivot_row = rows[at];
            rows[below].iter_mut().zip(pivot_row).for_each(|(entry, by)| *entry -= factor * by);
            right[below] -= factor * right[at];
        }
    }
    for at in (0..N).rev() {
        let known: f64 = (at + 1..N).map(|column| rows[at][column] * right[column]).sum();
        right[at] = (right[at] - known) / rows[at][at];
    }
    Some(right)
}
