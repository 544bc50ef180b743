//! Starts with shunts, made from paths without: a path that gets in with fewer stops also gets in with more.
//!
//! Between the legs that do the work short ones are inserted, straight back and forth, which the polish lengthens and
//! bends where that helps.
use super::templates::LegPattern;
use super::{Effort, Problem, narrowest};
use crate::motion::{Direction, Leg, Path, Segment};
use crate::site::Maneuver;

/// Length of an inserted leg, and its pieces: knots to bend it with.
const IDLE_M: f64 = 0.6;
const IDLE_PIECES: usize = 3;

/// Starts of a problem with shunts, from the best paths of the maneuvers with two fewer; and the poses evaluated.
#[must_use]
pub fn starts(problem: &Problem, effort: Effort) -> (Vec<Path>, u64) {
    let wanted = LegPattern::of(problem.maneuver, problem.shunts);
    let (mut list, mut work) = (Vec::new(), 0);
    for maneuver in [Maneuver::DriveIn, Maneuver::BackIn] {
        let fewer = Problem { maneuver, shunts: problem.shunts.saturating_sub(2), ..problem.clone() };
        let finding = narrowest(&fewer, effort, &[]);
        work += finding.work;
        for path in finding.starts {
            list.extend(placed(&path, &wanted));
        }
    }
    (list, work)
}

/// Inserts idle legs before and after a path's own, in each way that gives the wanted directions.
fn placed(path: &Path, wanted: &LegPattern) -> Vec<Path> {
    let spare = wanted.legs.len().saturating_sub(path.legs.len());
    let fits = |before: usize| {
        path.legs.iter().zip(&wanted.legs[before..]).all(|(leg, (direction, _))| leg.direction == *direction)
    };
    let with = |before: usize| {
        let idle = |(direction, _): &(Direction, usize)| Leg {
            direction: *direction,
            segments: vec![Segment::arc(IDLE_M / 3.0, 0.0); IDLE_PIECES],
        };
        let mut legs: Vec<Leg> = wanted.legs[..before].iter().map(idle).collect();
        legs.extend(path.legs.iter().cloned());
        legs.extend(wanted.legs[before + path.legs.len()..].iter().map(idle));
        Path { legs, ..path.clone() }
    };
    (0..=spare).filter(|before| fits(*before)).map(with).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::State;

    #[test]
    fn idle_legs_come_before_or_after() {
        let forward = Leg { direction: Direction::Forward, segments: vec![Segment::arc(4.0, 0.1); 2] };
        let path = Path { start: State::default(), legs: vec![forward.clone()] };
        // Forward, reverse, forward, reverse: the way in may be the first leg or the third.
        let list = placed(&path, &LegPattern::of(Maneuver::BackIn, 2));
        assert_eq!(list.len(), 2);
        assert_eq!(list[0].legs[0], forward);
        assert_eq!(list[1].legs[2], forward);
        for path in list {
            let directions: Vec<f64> = path.legs.iter().map(|leg| leg.direction.sign()).collect();
            assert_eq!(directions, [1.0, -1.0, 1.0, -1.0]);
        }
    }
}
