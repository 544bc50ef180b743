//! End of a path: where the vehicle has arrived wholly inside, at the spot if there is one.
use super::Problem;
use crate::clearance::CollisionModel;
use crate::motion::{Leg, Path, Segment, State};

/// Step in which a path is sampled to find where it arrives.
const ARRIVAL_STEP_M: f64 = 0.05;
/// Distance beyond its end that a path's last leg is followed to get wholly inside.
const RUN_OUT_M: f64 = 12.0;

/// Cuts a path off where the vehicle has arrived, in whichever leg enters in the direction of the last one (running on
/// at its last curvature if it must); `None` if it does not arrive.
pub(super) fn cut_at_goal(problem: &Problem, model: &CollisionModel, path: &Path) -> Option<Path> {
    let arrived = |state: &State| {
        model.is_inside(state, 0.0005) && problem.spot.as_ref().is_none_or(|s| s.reached(&model.chain, state))
    };
    let entering = path.legs.last()?.direction;
    let mut state = path.start;
    let mut legs: Vec<Leg> = Vec::with_capacity(path.legs.len());
    for (index, leg) in path.legs.iter().enumerate() {
        let mut segments = leg.segments.clone();
        if index + 1 == path.legs.len() {
            segments.push(Segment::arc(RUN_OUT_M, leg.segments.last()?.curvature_end));
        }
        let mut kept = Vec::with_capacity(segments.len());
        for segment in segments.into_iter().filter(|s| s.length_m > 0.0) {
            let steps = (segment.length_m / ARRIVAL_STEP_M).ceil();
            let step = segment.length_m / steps;
            let k = |i: f64| {
                segment.curvature_start + (segment.curvature_end - segment.curvature_start) * (i / steps)
            };
            let mut i = 0.0;
            while i < steps {
                state = model.chain.advance(&state, leg.direction.sign() * step, k(i), k(i + 1.0));
                i += 1.0;
                if leg.direction == entering && arrived(&state) {
                    kept.push(Segment { length_m: step * i, curvature_end: k(i), ..segment });
                    legs.push(Leg { direction: leg.direction, segments: kept });
                    return Some(Path { start: path.start, legs });
                }
            }
            kept.push(segment);
        }
        legs.push(Leg { direction: leg.direction, segments: kept });
    }
    None
}
