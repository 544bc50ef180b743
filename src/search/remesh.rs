//! Remeshing of an answer: its path fitted again on other sets of knots and polished there.
use super::multistart::{FINE_TRUST, Search, certified, in_canonical_form};
use super::slp::{Objective, SlpIterate, WarmStart};
use super::transcription::Transcription;
use super::{Effort, FINEST, Found, Problem};
use crate::motion::Path;

/// Spacing of remeshed knots, where wheels turn at once and where they turn slowly: of 0.5 to 0.13 m the values that
/// gained most, and no divisors of the fine polish's.
const REMESH_SPACING_M: (f64, f64) = (0.13, 0.22);
/// Factors on that spacing, one remeshing after the other: each set of knots has minima of its own, and which of them
/// gains something differs from case to case.
const REMESH: [f64; 4] = [0.9, 0.75, 0.55, 1.3];
const REMESH_IN_COMFORT: [f64; 2] = [0.9, 1.1];
/// Factors for vehicles with a trailer, where each remeshing takes longer.
const REMESH_BEHIND: [f64; 3] = [1.1, 0.9, 0.75];
/// Spacing of remeshed knots as a share of the distance in which the wheels turn to full lock.
const REMESH_SHARE: f64 = 0.15;
/// An opening wider than straight through by less than this is not improved further.
const WORTH_REMESHING_M: f64 = 0.01;
/// For a vehicle with a trailer all sets of knots are repeated, this many times at most, while that gains this share.
const MOST_TURNS: usize = 3;
const WORTH_A_TURN: f64 = 5e-4;
/// Smallest gain of a remeshing that counts, a fiftieth of a millimeter: below it, fewer knots turn the wheels more
/// evenly.
const REMESH_GAIN_M: f64 = 2e-5;

/// Polishes an answer's path (gate frame) on other knots; `None` where nothing is gained.
pub(super) fn on_other_knots(
    drawn: &Problem,
    effort: Effort,
    path: &Path,
    opening_m: f64,
) -> Option<(Found, u64)> {
    in_canonical_form(drawn, effort, |search, form| search.on_other_knots(&form.path(path), opening_m))
}

impl Search<'_> {
    /// Polishes `path` (canonical form) on other, closer knots: each set of knots has minima of its own, and the path
    /// stays in that of the fine polish if its knots are only split. `None` where no set of knots improves on
    /// `opening_m`.
    pub(super) fn on_other_knots(&mut self, path: &Path, opening_m: f64) -> Option<Found> {
        let towed = self.problem.vehicle.units.len() > 1;
        // With a clearance small gains matter less; behind a trailer the gains are larger.
        let (layouts, turns) = match (towed, self.problem.clearance_m > 0.0) {
            (true, _) => (&REMESH_BEHIND[..], MOST_TURNS),
            (false, true) => (&REMESH_IN_COMFORT[..], 1),
            (false, false) => (&REMESH[..], 1),
        };
        let mut best: Option<(Transcription, SlpIterate)> = None;
        let mut path = path.clone();
        let mut value = certified(opening_m);
        for _ in 0..turns {
            let before = value;
            for times in layouts {
                if let Some((track, polished)) = self.remeshed(&path, value, *times) {
                    path = track.path(self.problem, &polished.x);
                    value = polished.value();
                    best = Some((track, polished));
                }
            }
            if value > before * (1.0 - WORTH_A_TURN) {
                break;
            }
        }
        let (track, polished) = best?;
        self.settled(track, polished).ok().filter(|found| found.inspection.opening_m < opening_m)
    }

    /// Polishes a path on knots of this many times the usual spacing; `None` where that does not improve on `value`.
    fn remeshed(&mut self, path: &Path, value: f64, times: f64) -> Option<(Transcription, SlpIterate)> {
        let model = self.model_about(value);
        // An answer hardly wider than straight through leaves little to gain.
        let aside = model.parts.iter().flat_map(|part| &part.corners).map(|p| p.y.abs()).fold(0.0, f64::max);
        let straight_m = 2.0 * (aside + self.problem.clearance_m);
        if value < straight_m + WORTH_REMESHING_M {
            return None;
        }
        let (lane, steering) = (self.problem.lane, &self.problem.vehicle.steering);
        let apart_m = (REMESH_SHARE * steering.lock_distance_m).clamp(REMESH_SPACING_M.0, REMESH_SPACING_M.1);
        let apart_m = apart_m * self.effort.spacing_m * times;
        // For a vehicle with a trailer so many knots cost more than they gain.
        let towed = model.units.len() > 1;
        let (apart_m, look) = if towed { (self.finer_m() * times, self.fine()) } else { (apart_m, FINEST) };
        let start = lane.station_and_offset(&path.start.lead);
        let (track, x) = Transcription::fit_closely(path, start, steering.max_curvature, apart_m);
        let (track, x) = track.in_lane(lane, steering.max_curvature, x);
        let trust_radius = if towed { FINE_TRUST } else { 1.0 };
        let start = WarmStart { x, trust_radius, steps: None };
        let again = self.descend((&model, &track), Objective::Opening, look, &start, self.effort.finest);
        (again.value() < value - REMESH_GAIN_M).then_some((track, again))
    }
}
