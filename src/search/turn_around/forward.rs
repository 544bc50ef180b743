//! Lower bound on the length of a forward path, on open ground, onto a straight line in its direction.
//!
//! For a vehicle that turns no tighter than a circle the shortest path onto a line is an arc, a straight piece and an
//! arc, or two arcs (L. E. Dubins, "On curves of minimal length with a constraint on average curvature", American
//! Journal of Mathematics 79, 1957). It depends on two numbers alone, the offset of the vehicle from the line and its
//! angle to it, so it is read from a table. It guides the search: obstacles, the time it takes to turn the wheels and
//! where the line ends are left out.
use crate::geometry::{trig, wrap_angle};
use std::f64::consts::{PI, TAU};

/// Steps of the offset to either side, in radii, and number of steps to a radius.
const OFFSET_RADII: usize = 6;
const PER_RADIUS: usize = 6;
/// Number of steps of a whole turn.
const TURNS: usize = 60;

/// The table, for a radius of 1.
#[derive(Clone, Debug)]
pub(super) struct Forward {
    ways: Vec<f64>,
}

impl Forward {
    pub(super) fn new() -> Self {
        let columns = 2 * OFFSET_RADII * PER_RADIUS + 1;
        let mut ways = Vec::with_capacity(columns * TURNS);
        let step = |count: usize| f64::from(u32::try_from(count).unwrap_or(0));
        for column in 0..columns {
            let offset = (step(column) - step(OFFSET_RADII * PER_RADIUS)) / step(PER_RADIUS);
            for turn in 0..TURNS {
                ways.push(onto_line(offset, step(turn) * TAU / step(TURNS)));
            }
        }
        Self { ways }
    }

    /// Length of the path onto the line from `offset` radii to the left of it, turned by `turned` from its direction,
    /// in radii.
    pub(super) fn radii(&self, offset: f64, turned: f64) -> f64 {
        let (most, per) = (6.0, 6.0);
        let beyond = (offset.abs() - most).max(0.0);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the table")]
        let column = ((offset.clamp(-most, most) + most) * per).round() as usize;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within a turn")]
        let turn = (turned.rem_euclid(TAU) / TAU * 60.0).round() as usize % TURNS;
        self.ways[column * TURNS + turn] + beyond
    }
}

/// Length of the shortest path, both arguments in units of the radius.
fn onto_line(offset: f64, turned: f64) -> f64 {
    let mut least = f64::INFINITY;
    let (cos_from, arc) =
        (trig::cos(turned), |sign: f64, from: f64, to: f64| (sign * (to - from)).rem_euclid(TAU));
    for (first, second) in [(1.0, -1.0), (-1.0, 1.0), (1.0, 1.0), (-1.0, -1.0)] {
        // Turn to `over`, go straight on, turn to the line. A left arc moves the vehicle to the left by the cosine
        // before less the cosine after.
        let mut count = 0.0;
        while count < 48.0 {
            let over = -PI + TAU * (count + 0.5) / 48.0;
            count += 1.0;
            let (sin, cos) = trig::sin_cos(over);
            let left = offset + first * (cos_from - cos) + second * (cos - 1.0);
            let straight = -left / sin;
            if straight >= 0.0 {
                least = least.min(arc(first, turned, over) + straight + arc(second, over, 0.0));
            }
        }
        // Without a straight piece.
        if first != second {
            let cos = 0.5 * (cos_from + 1.0 + first * offset);
            if cos.abs() <= 1.0 {
                for over in [trig::acos(cos), -trig::acos(cos)] {
                    least = least.min(arc(first, turned, over) + arc(second, over, 0.0));
                }
            }
        }
    }
    least.min(if offset.abs() < 0.5 / 6.0 && wrap_angle(turned).abs() < PI / 60.0 {
        0.0
    } else {
        f64::INFINITY
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_onto_a_line_have_their_closed_forms() {
        let table = Forward::new();
        // On the line and in its direction; a quarter turn onto it; half a turn onto it.
        assert_eq!(table.radii(0.0, 0.0), 0.0);
        assert!((table.radii(-1.0, PI / 2.0) - PI / 2.0).abs() < 0.1);
        assert!((table.radii(2.0, PI) - PI).abs() < 0.1);
        // Back onto its own line: a quarter turn to one side and three quarters to the other.
        assert!((table.radii(0.0, PI) - TAU).abs() < 0.1);
        // Far beside it: a quarter turn, straight on, a quarter turn.
        assert!((table.radii(-9.0, 0.0) - (7.0 + PI)).abs() < 0.1);
        // The mirrored distance is the same.
        assert!((table.radii(1.5, 0.4) - table.radii(-1.5, -0.4)).abs() < 0.15);
    }
}
