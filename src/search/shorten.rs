//! Shortening of an answer: the least distance reversed at the same opening.
//!
//! The opening hardly depends on how far a path goes beyond what its narrowest place requires, so a search for the
//! opening may end with any length. The reversing distance is reported, so the length of the reported path is minimized in
//! the end by the same sequence of linear programs, with the opening as a constraint. Each pass minimizes the length with a
//! little more opening allowed, then the opening again.
use super::arrival::cut_at_goal;
use super::certify::led_in;
use super::multistart::{Search, certified, in_canonical_form};
use super::slp::{Objective, SlpIterate, WarmStart};
use super::transcription::Transcription;
use super::{Effort, Found, Look, Problem};
use crate::motion::{Direction, Path};

/// A distance reversed that shrinks by less than this is left as it was, meters.
const WORTH_M: f64 = 0.25;
/// A linear program that gains less than this in cost ends a polish: two millimeters reversed.
const WORTH_COST_M: f64 = 1e-4;
/// Opening allowed beyond the answer's while the length shrinks, from pass to pass: of 1 to 6 cm the values that
/// shorten most. With less the steps are short, with more the opening does not come back.
const ALLOWED_M: [f64; 3] = [0.04, 0.04, 0.02];
/// Largest number of linear programs of a pass.
const ROUNDS: usize = 40;
/// Initial trust radius.
const TRUST: f64 = 0.5;
/// Opening that a shorter path may need beyond the answer's: a millimeter, below what a gate can be set to.
const MORE_M: f64 = 1e-3;

/// Distance reversed on a path, meters.
fn reversed_m(path: &Path) -> f64 {
    let reverse = path.legs.iter().filter(|leg| leg.direction == Direction::Reverse);
    reverse.flat_map(|leg| &leg.segments).map(|segment| segment.length_m).sum()
}

/// Shortens what an answer (gate frame) reverses; `None` where nothing is gained.
pub(super) fn shorter(problem: &Problem, effort: Effort, found: &Found) -> Option<(Found, u64)> {
    let (path, opening_m) = (found.path.path(), found.inspection.opening_m);
    if reversed_m(path) < WORTH_M {
        return None;
    }
    // The verdict on the gate as drawn stays.
    let drawn_m = problem.surroundings.drawn_faces_u.opening_m();
    let most_m = if opening_m <= drawn_m { drawn_m } else { f64::INFINITY };
    let most_m = most_m.min(opening_m + MORE_M);
    let least_m = reversed_m(path);
    let path = found.polished.as_ref()?;
    in_canonical_form(problem, effort, |search, _| search.shorter(path, opening_m, (least_m, most_m)))
}

impl Search<'_> {
    /// Shortens an answer's path (canonical form) that needs `opening_m` and reverses `least_m`, within an opening of
    /// `most_m`.
    fn shorter(&mut self, path: &Path, opening_m: f64, (mut least_m, most_m): (f64, f64)) -> Option<Found> {
        let value = certified(opening_m);
        let model = self.model_about(value);
        let (lane, max) = (self.problem.lane, self.problem.vehicle.steering.max_curvature);
        let path = &led_in(lane, &cut_at_goal(self.problem, &model, path)?);
        let start = lane.station_and_offset(&path.start.lead);
        // On its own knots: the path of a trailer pushed back is another on others.
        let (track, x) = Transcription::retrace_or_fit(path, start, max, self.finer_m());
        let (mut track, mut x) = track.in_lane(lane, max, x);
        let look = Look { worth_m: WORTH_COST_M, ..self.fine() };
        let mut best = None;
        for allowed_m in ALLOWED_M {
            let objective = Objective::Length { within_m: value + allowed_m };
            let start = WarmStart { x, trust_radius: TRUST, steps: None };
            let shortened = self.descend((&model, &track), objective, look, &start, ROUNDS);
            let wider = SlpIterate { cost_m: shortened.opening_m, ..shortened };
            let (again, polished) = self.refine(&track, &wider, self.fine());
            // The next pass starts from here even where the opening has not come back yet: it may in that pass.
            x = polished.x.clone();
            track = again.clone();
            let Ok(found) = self.settled(again, polished) else { continue };
            let now_m = reversed_m(found.path.path());
            if found.inspection.opening_m <= most_m && now_m < least_m - WORTH_M {
                least_m = now_m;
                best = Some(found);
            }
        }
        best
    }
}
