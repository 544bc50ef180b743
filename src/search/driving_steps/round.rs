//! Rounding of driving steps to what is reported: the offset in the lane, tenths of the wheel's travel, whole units of
//! length. One variable after the other is rounded and held while the rest are adjusted to it.
use super::fit::{Fit, LEAD_IN, OFFSET};
use super::{DrivingLeg, DrivingSteps, LOCK_PARTS, WheelTurn, curvature_at, ramp_m};

/// Linear programs solved after each rounding.
const ROUNDS_AFTER: usize = 4;
/// A rounding that costs less clearance than this needs no adjustment.
const CHEAP_M: f64 = 0.002;
/// Number of passes in which each length is tried a unit or two shorter and longer.
const PASSES: usize = 3;

/// Rounds the variables and returns the steps as reported.
pub(super) fn rounded(fit: &mut Fit, x: &[f64]) -> Option<DrivingSteps> {
    let unit_m = fit.asked.unit_m;
    let mut x = x.to_vec();
    let offset_m = offset(fit, x[OFFSET])?;
    settle(fit, &mut x, OFFSET, offset_m);
    let last = x.len() - 2;
    let shares: Vec<usize> = (0..x.len()).filter(|at| Fit::is_share(*at) && !fit.fixed[*at]).collect();
    for at in shares {
        // Merit as good as before, or good enough.
        let enough = fit.merit(&x).min(0.0) - CHEAP_M;
        let mut best: Option<(f64, Vec<f64>)> = None;
        for share in positions(x[at], at == last) {
            let mut tried = x.clone();
            settle(fit, &mut tried, at, share);
            let merit = fit.merit(&tried);
            if best.as_ref().is_none_or(|(most, _)| merit > *most) {
                best = Some((merit, tried));
            }
            if merit >= enough {
                break;
            }
        }
        x = best?.1;
    }
    for at in (LEAD_IN..x.len()).filter(|at| !Fit::is_share(*at)) {
        let units = (x[at] / unit_m).round().max(0.0);
        settle(fit, &mut x, at, units * unit_m);
    }
    nudge(fit, &mut x);
    Some(told(fit, &x))
}

/// Positions of the wheel to try for one turn, the easiest to find first: straight, full lock, half; then the nearest
/// tenths. It is best if the last turn leaves the wheel straight.
fn positions(share: f64, is_last: bool) -> Vec<f64> {
    let size = share.abs();
    let nearest = (share * LOCK_PARTS).round() / LOCK_PARTS;
    let other = if share > nearest { nearest + 1.0 / LOCK_PARTS } else { nearest - 1.0 / LOCK_PARTS };
    let easy = [
        (is_last || size < 0.25, 0.0),
        (size > 0.8, share.signum()),
        ((0.4..0.6).contains(&size), 0.5 * share.signum()),
    ];
    let easy = easy.into_iter().filter(|(near, _)| *near).map(|(_, share)| share);
    easy.chain([nearest, other.clamp(-1.0, 1.0)]).collect()
}

/// Fixes a variable and adjusts the others.
fn settle(fit: &mut Fit, x: &mut Vec<f64>, at: usize, value: f64) {
    let before = fit.merit(x);
    x[at] = value;
    fit.fixed[at] = true;
    if fit.merit(x) < before.min(0.0) - CHEAP_M
        && let Some(adjusted) = fit.clear(x, ROUNDS_AFTER)
    {
        *x = adjusted;
    }
}

/// Nearest offset that is reported in whole units.
fn offset(fit: &Fit, offset_m: f64) -> Option<f64> {
    let (unit_m, phase_m) = (fit.asked.unit_m, fit.asked.offset_phase_m);
    let (low, high) = fit.play_m();
    let (least, most) = (((low - phase_m) / unit_m).ceil(), ((high - phase_m) / unit_m).floor());
    if least > most {
        // A lane that leaves no play: keep the offset.
        return Some(offset_m.clamp(low, high)).filter(|m| m.is_finite());
    }
    Some(((offset_m - phase_m) / unit_m).round().clamp(least, most) * unit_m + phase_m)
}

/// Tries each length a unit or two shorter and longer while that helps.
fn nudge(fit: &Fit, x: &mut [f64]) {
    let unit_m = fit.asked.unit_m;
    let mut best = fit.merit(x);
    for _ in 0..PASSES {
        let before = best;
        for at in (LEAD_IN..x.len()).filter(|at| !Fit::is_share(*at)) {
            for by in [-2.0, -1.0, 1.0, 2.0] {
                if best >= 0.0 {
                    return;
                }
                let was = x[at];
                x[at] = (was + by * unit_m).max(0.0);
                let merit = fit.merit(x);
                if merit > best {
                    best = merit;
                } else {
                    x[at] = was;
                }
            }
        }
        if best <= before {
            break;
        }
    }
}

/// Converts the variables to steps: consecutive turns to one position are merged.
fn told(fit: &Fit, x: &[f64]) -> DrivingSteps {
    let unit_m = fit.asked.unit_m;
    let steering = &fit.asked.problem.vehicle.steering;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "lengths of a drive in units")]
    let units = |m: f64| (m / unit_m).round().clamp(0.0, 1e9) as u32;
    let start = fit.start(x);
    let mut steps = DrivingSteps { start, lead_in_units: units(x[LEAD_IN]), unit_m, legs: Vec::new() };
    let mut k = start.curvature;
    for (leg, (direction, list)) in fit.legs_of(x).into_iter().enumerate() {
        let mut turns: Vec<WheelTurn> = Vec::new();
        for (at, (share, roll_m)) in list.into_iter().enumerate() {
            #[allow(clippy::cast_possible_truncation, reason = "between -10 and 10")]
            let tenths = (share * LOCK_PARTS).round().clamp(-LOCK_PARTS, LOCK_PARTS) as i8;
            let to = curvature_at(steering, f64::from(tenths) / LOCK_PARTS);
            let ramp = if leg > 0 && at == 0 { 0.0 } else { ramp_m(steering, k, to) };
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a ramp in units")]
            let least = (ramp / unit_m - 1e-9).ceil().max(0.0) as u32;
            let roll_units = units(roll_m).max(least);
            let stays = tenths == 0 && k == 0.0;
            match turns.last_mut() {
                Some(last) if last.tenths == tenths => last.roll_units += roll_units,
                None if leg == 0 && stays => steps.lead_in_units += roll_units,
                _ => turns.push(WheelTurn { tenths, roll_units }),
            }
            k = to;
        }
        steps.legs.push(DrivingLeg { direction, turns });
    }
    steps
}
