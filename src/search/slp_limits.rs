//! Limits of a path that are linear in its own variables: trust radius, lane, steering.
use super::lp::LinearProgram;
use super::slp::{SLACK_WEIGHT_M, Slp, TRUST_LENGTH_M, TRUST_SHARE, TRUST_SLACK};
use super::transcription::intervals;

/// Smallest distance from the end of the gate line at which a path driven outward starts.
const FROM_END_M: f64 = 1.0;

impl Slp<'_> {
    /// Adds the rows of the limits that are linear in the variables themselves, and of the trust radius.
    pub(super) fn own_limits(&self, lp: &mut LinearProgram, x: &[f64], trust_radius: f64) {
        let (low, high) = self.track.zone.play_m;
        let (first, last) = self.track.zone.stations_m;
        let length = TRUST_LENGTH_M * trust_radius;
        if self.track.outward {
            // A start inside the gate, not out on a road past the end of the gate line.
            let around = &self.model.surroundings;
            let (least, most) = (around.left.end_u + FROM_END_M, around.right.end_u - FROM_END_M);
            lp.between(
                0,
                (least - x[0]).max(-length).min(0.0) - 1e-6,
                (most - x[0]).min(length).max(0.0) + 1e-6,
            );
            lp.between(1, -length, length);
            for column in 2..2 + self.track.start_slack {
                lp.between(column, -TRUST_SLACK * trust_radius, TRUST_SLACK * trust_radius);
            }
            self.steering_limits(lp, x, trust_radius);
            return;
        }
        lp.between(0, (first - x[0]).max(-length).min(0.0) - 1e-6, (last - x[0]).min(length).max(0.0) + 1e-6);
        // A hair of room even where the lane leaves none: the interior-point method needs an interior.
        lp.between(1, (low - x[1]).max(-length).min(0.0) - 1e-6, (high - x[1]).min(length).max(0.0) + 1e-6);
        let start_slack = self.trust_slack() * trust_radius;
        for column in 2..2 + self.track.start_slack {
            lp.between(column, -start_slack, start_slack);
            let elastic = x.len() + 2;
            for sign in [1.0, -1.0] {
                let off = sign * SLACK_WEIGHT_M;
                lp.at_most(&[(column, off), (elastic, -1.0)], -off * x[column]);
            }
        }
        self.steering_limits(lp, x, trust_radius);
    }

    /// Adds the rows for the lengths of the legs and for how far and fast the wheels turn.
    fn steering_limits(&self, lp: &mut LinearProgram, x: &[f64], trust_radius: f64) {
        let length = TRUST_LENGTH_M * trust_radius;
        let lock = self.problem.vehicle.steering.lock_distance_m;
        let share = TRUST_SHARE * trust_radius;
        for (index, leg) in self.track.legs.iter().enumerate() {
            let at = self.track.leg_at(index);
            lp.between(at, (0.2 - x[at]).max(-length).min(0.0) - 1e-6, length);
            let per_knot = if lock > 0.0 { 1.0 / (intervals(leg) * lock) } else { 0.0 };
            for i in 0..leg.knots {
                let column = at + 1 + i;
                if index == 0 && i == 0 && !self.track.outward {
                    lp.between(column, -1e-6, 1e-6);
                    continue;
                }
                lp.between(
                    column,
                    (-1.0 - x[column]).max(-share) - 1e-7,
                    (1.0 - x[column]).min(share) + 1e-7,
                );
                if i > 0 && lock > 0.0 {
                    let (now, slack) = (x[column] - x[column - 1], x[at] * per_knot);
                    lp.at_most(&[(column, 1.0), (column - 1, -1.0), (at, -per_knot)], slack - now);
                    lp.at_most(&[(column, -1.0), (column - 1, 1.0), (at, -per_knot)], slack + now);
                }
            }
        }
    }
}
