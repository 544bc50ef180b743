//! Crossing of the gate line: where and at what angle a way in crosses it, which distinguishes ways in.
use crate::geometry::{Pose, wrap_angle};
use crate::motion::{Chain, Path};

/// Point where the lead unit's axle crosses the gate line, and its heading there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Crossing {
    pub(super) u: f64,
    heading: f64,
}

/// Spacing of the sampled poses of a path, meters.
const STEP_M: f64 = 0.1;

impl Crossing {
    /// Crossing at this pose, or near it.
    pub(super) const fn at(pose: &Pose) -> Self {
        Self { u: pose.position.x, heading: pose.heading }
    }

    /// Crossing of a path (gate frame): its first pose where it never crosses.
    pub(super) fn of(chain: &Chain, path: &Path) -> Self {
        let samples = path.samples(chain, STEP_M);
        let inside = |at: usize| samples[at].state.lead.position.y >= 0.0;
        let crossing = (1..samples.len()).rev().find(|at| inside(*at) && !inside(at - 1));
        let pose = crossing.map_or(path.start.lead, |at| samples[at].state.lead);
        Self::at(&pose)
    }

    /// True if two crossings are farther apart than this many meters, or differ in angle by more than this many
    /// radians.
    pub(super) fn differs(&self, other: &Self, (apart_m, apart_rad): (f64, f64)) -> bool {
        (self.u - other.u).abs() > apart_m || wrap_angle(self.heading - other.heading).abs() > apart_rad
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::trig;
    use crate::motion::{Direction, Leg, Segment, State};
    use std::f64::consts::FRAC_PI_2;

    /// Straight across, and round a circle whose crossing is known.
    #[test]
    fn a_path_crosses_where_its_axle_does() {
        let path = |at: (f64, f64), heading: f64, k: f64| Path {
            start: State { lead: Pose::new(at.0, at.1, heading), ..State::default() },
            legs: vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(15.0, k)] }],
        };
        let chain = Chain::new(&[]);
        let straight = Crossing::of(&chain, &path((1.5, -6.0), FRAC_PI_2, 0.0));
        assert!((straight.u - 1.5).abs() < 1e-9 && (straight.heading - FRAC_PI_2).abs() < 1e-9);
        // A circle of 10 m about (0, 2), begun at (0, -8), crosses at (9.8, 0): 78 degrees round.
        let round = Crossing::of(&chain, &path((0.0, -8.0), 0.0, 0.1));
        assert!((round.u - 96.0_f64.sqrt()).abs() < STEP_M, "{round:?}");
        assert!((trig::sin(round.heading) - 96.0_f64.sqrt() / 10.0).abs() < 0.01, "{round:?}");
        assert!(straight.differs(&round, (0.5, 1.0)) && !straight.differs(&straight, (1e-9, 1e-9)));
        let turned = Crossing::at(&Pose::new(1.5, 0.0, FRAC_PI_2 + 0.1));
        assert!(straight.differs(&turned, (0.05, 0.09)) && !straight.differs(&turned, (0.05, 0.11)));
    }
}
