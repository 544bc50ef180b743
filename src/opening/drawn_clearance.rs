//! Clearance at the gate as drawn: the most that a path keeps there, and, where no path gets through, how far the best
//! try overlaps what stands.
//!
//! The narrowest opening w(c) grows with the clearance c kept; the clearance a gate leaves is the c at which w(c) is
//! the drawn opening. Paths known for some clearances give a first lower bound: the largest c at which
//! [`measure_drive`] still lets them through the drawn faces. Short warm-started searches at a c between that bound and
//! an estimate from above then close in. Whatever is reported is certified by the same bound that certifies openings;
//! the estimate only says when to stop.
use super::reoptimize::{PassageProblem, driven_on};
use super::{Contact, DrawnGate};
use crate::clearance::canonical::on_grid;
use crate::clearance::{
    CollisionModel, STEP_M, SampledPath, Surroundings, measure, measure_drive, overlaps, touches_within,
};
use crate::geometry::decimal;
use crate::motion::{AtGate, OnSite, Path, Trajectory};
use crate::search::{EDGE_TOLERANCE_M, Effort, Finding, Found, least_width};
use crate::site::Anchor;
use crate::sweep::Covered;
use crate::vehicle::Vehicle;

/// Largest clearance searched for, meters.
pub const MOST_CLEARANCE_M: f64 = 3.0;
/// Decimals in which clearances and overlaps are reported: 0.1 mm.
pub const CLEARANCE_PLACES: u8 = 4;
/// Where the gate as drawn is not comfortable its clearance stays this far below the study's, so that the two never contradict
/// each other: what one search misses another may find by a hair.
const BELOW_M: f64 = 1e-4;
/// Clearances are resolved to this: a fifth of a millimeter.
const APART_M: f64 = 2e-4;
/// Maximum number of searches that follow the known paths, ...
const SEARCHES: usize = 3;
/// ... while more than this much clearance may be gained, meters, ...
const WORTH_M: f64 = 0.002;
/// ... and more than this share of it.
const WORTH_SHARE: f64 = 0.005;
/// Share of the possible gain that each search tries for; the second value applies after a clearance that was too
/// large.
const AHEAD: f64 = 0.8;
const AHEAD_BACK: f64 = 0.3;
/// Distance beyond the clearance that a path is driven on if it ends short of inside.
const DRIVES_ON_M: f64 = 0.5;
/// Tight places are reported up to this distance from the path, or this far beyond its clearance.
const TELLS_M: f64 = 1.0;
const BEYOND_M: f64 = 0.3;
/// Maximum number of measurements of one path.
const STEPS: usize = 12;
/// An opening this much wider than drawn counts as the drawn one: rounding.
const ROUNDING_M: f64 = 1e-9;

/// The path through the gate as drawn with the most clearance found; or the best try.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct DrawnWay {
    /// The clearance that the path is certified to keep from everything that stands, posts, leaves, fence and
    /// obstacles, with the gate as drawn; [`MOST_CLEARANCE_M`] stands for that and more. `None` where the gate lets
    /// nothing through.
    pub clearance_m: Option<f64>,
    /// Upper bound on how far the path below reaches into a post, a leaf or the fence, measured along the gate line,
    /// where the gate lets nothing through. `None` also if no path is known that could be tried.
    pub overlap_m: Option<f64>,
    /// The path that keeps the clearance; or the one that needs least, where none gets through.
    pub witness: Option<Trajectory<OnSite>>,
    /// Tight places of the path with the gate as drawn, tightest first; or its overlaps, the deepest first, without a
    /// gap. What is farther than a meter away and farther than 0.3 m beyond the clearance is left out.
    pub contacts: Vec<Contact>,
    /// The ground that path covers.
    pub covered: Covered,
}

impl DrawnWay {
    /// Returns the clearance as reported: rounded down to 0.1 mm.
    #[must_use]
    pub fn reported_clearance_m(&self) -> Option<f64> {
        self.clearance_m.map(|m| decimal::down(m, CLEARANCE_PLACES))
    }

    /// Returns the overlap as reported: rounded up to 0.1 mm.
    #[must_use]
    pub fn reported_overlap_m(&self) -> Option<f64> {
        self.overlap_m.map(|m| decimal::up(m, CLEARANCE_PLACES))
    }

    /// Largest gap up to which tight places are reported, meters.
    #[must_use]
    pub fn contacts_within_m(&self) -> f64 {
        TELLS_M.max(self.clearance_m.unwrap_or(0.0) + BEYOND_M)
    }

    /// True if the clearance is [`MOST_CLEARANCE_M`], beyond which nothing was searched.
    #[must_use]
    pub fn is_most(&self) -> bool {
        self.clearance_m.is_some_and(|m| m >= MOST_CLEARANCE_M)
    }
}

/// Surroundings with the gate fixed as drawn: the opening about the drawn middle, the leaves as long as they are.
pub(super) fn as_drawn(surroundings: &Surroundings) -> Surroundings {
    let drawn_m = surroundings.drawn_faces_u.opening_m();
    let mut around = surroundings.with_leaves_for(drawn_m).with_fixed_leaves();
    around.anchor = Anchor::Center;
    around
}

/// One vehicle at the gate as drawn, with its leaves as long as drawn.
pub(super) struct DrawnGateRoom<'a> {
    vehicle: &'a Vehicle,
    around: Surroundings,
    drawn_m: f64,
    /// True if a path that needs less elsewhere or with other leaves may not pass here.
    may_differ: bool,
    /// A path that passes, and the clearance at which it was certified.
    kept: Option<(f64, Trajectory<AtGate>)>,
    /// Paths found for this very gate that need more than it has.
    tried: Vec<Trajectory<AtGate>>,
}

impl<'a> DrawnGateRoom<'a> {
    /// Sets up the gate as drawn; `surroundings` are the site's, with its own anchor and leaves.
    pub(super) fn new(vehicle: &'a Vehicle, surroundings: &Surroundings) -> Self {
        let drawn_m = surroundings.drawn_faces_u.opening_m();
        let may_differ = surroundings.has_leaves() || surroundings.anchor == Anchor::Free;
        let around = as_drawn(surroundings);
        Self { vehicle, around, drawn_m, may_differ, kept: None, tried: Vec::new() }
    }

    /// True if the gate lets the vehicle through with this clearance: by the path found for it, or by another search where leaves
    /// or the place of the opening make a difference.
    pub(super) fn passes(
        &mut self,
        (asked, effort): (&PassageProblem, Effort),
        finding: &Finding,
        clearance_m: f64,
        seeds: &[Path],
    ) -> bool {
        self.passes_by(finding, clearance_m, |around, _| asked.narrowest(around, clearance_m, effort, seeds))
    }

    /// As [`Self::passes`], but where leaves or the place of the opening make a difference only the neighborhood of the
    /// path found is searched.
    pub(super) fn passes_nearby(
        &mut self,
        asked: &PassageProblem,
        finding: &Finding,
        clearance_m: f64,
    ) -> bool {
        let drawn_m = self.drawn_m;
        self.passes_by(finding, clearance_m, |around, found| {
            asked.touched_up(around, clearance_m, Effort::AGAIN, (found.path.path(), drawn_m))
        })
    }

    fn passes_by(
        &mut self,
        finding: &Finding,
        clearance_m: f64,
        search: impl FnOnce(&Surroundings, &Found) -> Finding,
    ) -> bool {
        let Some(found) = &finding.found else { return false };
        let mut known = std::iter::once(&found.path).chain(&self.tried);
        if let Some(path) = known.find(|path| self.lets_through(path, clearance_m)).cloned() {
            self.kept = Some((clearance_m, path));
            return true;
        }
        if found.inspection.opening_m > self.drawn_m || !self.may_differ {
            return false;
        }
        let Some(fixed) = search(&self.around, found).found else { return false };
        let passes = fixed.inspection.opening_m <= self.drawn_m + ROUNDING_M;
        if passes {
            self.kept = Some((clearance_m, fixed.path));
        } else {
            self.tried.push(fixed.path);
        }
        passes
    }

    /// The path that passed, with the clearance it was certified for, or the best try; call it after
    /// [`Self::passes_nearby`].
    pub(super) fn kept_or_best_try(&self, known: [&Finding; 2]) -> DrawnWay {
        match &self.kept {
            Some(kept) => self.kept_way(kept.clone()),
            None => {
                let found = known.into_iter().filter_map(|finding| Some(&finding.found.as_ref()?.path));
                self.best_try(found.chain(&self.tried))
            }
        }
    }

    fn model(&self, clearance_m: f64) -> CollisionModel {
        CollisionModel::new(self.vehicle, self.around.clone(), clearance_m, self.drawn_m)
    }

    fn lets_through(&self, path: &Trajectory<AtGate>, clearance_m: f64) -> bool {
        let seen = measure(&self.model(clearance_m), path.path());
        seen.passes(EDGE_TOLERANCE_M) && seen.opening_m <= self.drawn_m + ROUNDING_M
    }

    /// The path with the most clearance found, or the best try; call it after [`Self::passes`] has given the verdict.
    /// `known` are the findings without and with the study's clearance.
    pub(super) fn way(
        self,
        asked: &PassageProblem,
        verdict: DrawnGate,
        study_clearance_m: f64,
        known: [(&Finding, f64); 2],
    ) -> DrawnWay {
        let found = || known.into_iter().filter_map(|(finding, _)| Some(&finding.found.as_ref()?.path));
        let Some((floor_m, path)) = self.kept.clone().filter(|_| verdict != DrawnGate::No) else {
            return self.best_try(found().chain(&self.tried));
        };
        let most_m = match verdict {
            DrawnGate::Comfortable => MOST_CLEARANCE_M,
            _ => MOST_CLEARANCE_M.min(study_clearance_m - BELOW_M),
        };
        let mut room = Room { model: self.model(0.0), drawn_m: self.drawn_m, most_m: most_m.max(floor_m) };
        let mut best = (room.most(&path, Some(floor_m), floor_m).unwrap_or(floor_m), path);
        for path in found().chain(&self.tried) {
            room.improve(&mut best, path);
        }
        // Each meter of clearance takes at least two meters of opening: so the opening needed at one clearance, as far
        // as it is the narrowest, bounds the clearance that can still be gained.
        let mut hope_m = room.most_m.min(0.5 * (self.drawn_m - least_width(self.vehicle)));
        if !matches!(asked.anchor(), Anchor::Side(_)) {
            for (finding, clearance_m) in known {
                hope_m = hope_m.min(self.hope_m(finding, clearance_m));
            }
        }
        let (mut ahead, mut left) = (AHEAD, SEARCHES);
        while left > 0 {
            left -= 1;
            // Rounded to a grid, so that a turned or mirrored place poses the identical problem.
            let clearance_m = on_grid(best.0 + ahead * (hope_m - best.0));
            if hope_m - best.0 < WORTH_M.max(WORTH_SHARE * best.0) || clearance_m <= best.0 {
                break;
            }
            let about = (best.1.path(), self.drawn_m);
            let finding = asked.touched_up(&self.around, clearance_m, Effort::AGAIN, about);
            hope_m = match &finding.found {
                Some(_) => hope_m.min(self.hope_m(&finding, clearance_m)),
                None => clearance_m,
            };
            let Some(found) = &finding.found else {
                // The path that came closest keeps nearly the largest clearance.
                let closest = finding.starts.iter().find_map(|path| self.answer(asked, best.0, path));
                let gained = closest.is_some_and(|path| room.improve(&mut best, &path));
                (ahead, left) = (AHEAD_BACK, if gained { 0 } else { left.min(1) });
                continue;
            };
            room.improve(&mut best, &found.path);
            if found.inspection.opening_m > self.drawn_m {
                // The path of a clearance that is a little too large is nearly that of the largest: search once more,
                // close to it.
                (ahead, left) = (AHEAD_BACK, left.min(1));
            }
        }
        self.kept_way(best)
    }

    /// Upper estimate of the clearance if the opening found at `clearance_m` is the narrowest: that clearance plus half
    /// of what the gate is wider than the opening; the clearance itself where the gate is not wider. Infinite where
    /// nothing was found.
    fn hope_m(&self, finding: &Finding, clearance_m: f64) -> f64 {
        match &finding.found {
            Some(found) => clearance_m + (0.5 * (self.drawn_m - found.inspection.opening_m)).max(0.0),
            None => f64::INFINITY,
        }
    }

    /// Returns a path that a search ended with, driven on until it is inside, if it is an answer with this clearance.
    fn answer(&self, asked: &PassageProblem, clearance_m: f64, path: &Path) -> Option<Trajectory<AtGate>> {
        let on = driven_on(path, clearance_m + DRIVES_ON_M, &self.vehicle.steering);
        let ways = [path.clone(), on].map(Trajectory::new);
        let found = ways.iter().find_map(|path| asked.look(&self.around, clearance_m, path, f64::INFINITY));
        found.map(|found| found.path)
    }

    /// Result for a path with the clearance it keeps.
    fn kept_way(&self, (clearance_m, path): (f64, Trajectory<AtGate>)) -> DrawnWay {
        let model = self.model(0.0);
        let samples = path.path().samples(&model.chain, STEP_M);
        let frame = &self.around.frame;
        let mut way = DrawnWay {
            clearance_m: Some(clearance_m),
            witness: Some(frame.trajectory_to_site(&path)),
            ..DrawnWay::default()
        };
        let tight = touches_within(&model, &samples, self.around.drawn_faces_u, way.contacts_within_m());
        way.contacts = tight.iter().map(|touch| Contact::of(touch, frame)).collect();
        way
    }

    /// Returns the path that overlaps what stands the least, and where it hits.
    fn best_try<'p>(&self, paths: impl Iterator<Item = &'p Trajectory<AtGate>>) -> DrawnWay {
        let (model, frame) = (self.model(0.0), &self.around.frame);
        let drawn = self.around.drawn_faces_u;
        let overlap = |path: &Trajectory<AtGate>| {
            let needed = measure(&model, path.path()).faces_u;
            (drawn.left - needed.left).max(needed.right - drawn.right)
        };
        // One that lacks as much as the vehicle is wide goes beside the gate, and shows nothing of it.
        let most_m = least_width(self.vehicle);
        let of_paths = paths.map(|path| (overlap(path), path)).filter(|(m, _)| *m > 0.0 && *m < most_m);
        let Some((overlap_m, path)) = of_paths.min_by(|a, b| a.0.total_cmp(&b.0)) else {
            return DrawnWay::default();
        };
        let samples = path.path().samples(&model.chain, STEP_M);
        let hits = overlaps(&model, &samples, drawn);
        DrawnWay {
            clearance_m: None,
            overlap_m: Some(overlap_m),
            witness: Some(frame.trajectory_to_site(path)),
            contacts: hits.iter().map(|hit| Contact::of(&hit.touch, frame)).collect(),
            covered: Covered::default(),
        }
    }
}

/// Largest clearance up to `most_m` that a path keeps at the gate as drawn; `None` where it does not pass there. The
/// caller checks whether the path is an answer in other respects (its start, its end).
pub(super) fn of_path(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    path: &Trajectory<AtGate>,
    most_m: f64,
) -> Option<DrawnWay> {
    let gate = DrawnGateRoom::new(vehicle, surroundings);
    if !gate.lets_through(path, 0.0) {
        return None;
    }
    let mut room = Room { model: gate.model(0.0), drawn_m: gate.drawn_m, most_m };
    let clearance_m = room.most(path, None, 0.0).unwrap_or(0.0);
    Some(gate.kept_way((clearance_m, path.clone())))
}

/// True if part of a path clears all that stands and the gate as drawn, bare, wherever it ends.
pub(super) fn is_clear(vehicle: &Vehicle, surroundings: &Surroundings, part: &Path) -> bool {
    let gate = DrawnGateRoom::new(vehicle, surroundings);
    let seen = measure(&gate.model(0.0), part);
    seen.is_clear(EDGE_TOLERANCE_M) && seen.opening_m <= gate.drawn_m + ROUNDING_M
}

/// Clearance that one given path keeps at the gate as drawn, without a search: for a route drawn by hand.
pub(super) fn of_route(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    path: &Trajectory<AtGate>,
    verdict: DrawnGate,
    study_clearance_m: f64,
) -> DrawnWay {
    let gate = DrawnGateRoom::new(vehicle, surroundings);
    let (floor_m, most_m) = match verdict {
        DrawnGate::No => return gate.best_try(std::iter::once(path)),
        DrawnGate::Tight => (0.0, (study_clearance_m - BELOW_M).max(0.0)),
        DrawnGate::Comfortable => (study_clearance_m, MOST_CLEARANCE_M.max(study_clearance_m)),
    };
    let mut room = Room { model: gate.model(0.0), drawn_m: gate.drawn_m, most_m };
    let clearance_m = room.most(path, Some(floor_m), floor_m).unwrap_or(floor_m);
    gate.kept_way((clearance_m, path.clone()))
}

/// Room between the faces as drawn, evaluated for one path after the other.
struct Room {
    model: CollisionModel,
    drawn_m: f64,
    /// Largest clearance of interest, meters.
    most_m: f64,
}

impl Room {
    /// Takes a path if it keeps more clearance than the best; returns true if it does.
    fn improve(&mut self, best: &mut (f64, Trajectory<AtGate>), path: &Trajectory<AtGate>) -> bool {
        let more = self.most(path, None, best.0 + APART_M);
        if let Some(clearance_m) = more {
            *best = (clearance_m, path.clone());
        }
        more.is_some()
    }

    /// Largest clearance, to [`APART_M`], at which a path known to end inside is certified to pass; `None` where that
    /// is less than `from_m`. `known_m` has been certified already.
    fn most(&mut self, path: &Trajectory<AtGate>, known_m: Option<f64>, from_m: f64) -> Option<f64> {
        let chain = self.model.chain;
        let drive = SampledPath::new(&chain, path.path());
        if from_m > self.most_m {
            return known_m;
        }
        let first = self.spare(&drive, from_m);
        if first < 0.0 {
            return known_m;
        }
        // For each meter of clearance the spare room shrinks by one meter to a little more.
        let (mut low, mut high): ((f64, f64), Option<(f64, f64)>) = ((from_m, first), None);
        for _ in 0..STEPS {
            let end_m = high.map_or(self.most_m, |(m, _)| m);
            if end_m - low.0 < APART_M || low.1 < 0.5 * APART_M {
                break;
            }
            let next_m = match high {
                None => (low.0 + low.1).min(end_m),
                Some((m, spare)) => {
                    let share = if spare.is_finite() { low.1 / (low.1 - spare) } else { 0.5 };
                    low.0 + (m - low.0) * share.clamp(0.05, 0.95) - 0.25 * APART_M
                }
            };
            let next_m = next_m.max(low.0 + 0.25 * APART_M);
            let spare = self.spare(&drive, next_m);
            if spare < 0.0 {
                high = Some((next_m, spare));
            } else {
                low = (next_m, spare);
            }
        }
        Some(low.0)
    }

    /// Guaranteed spare room of a path at the drawn faces with this clearance, meters; negative where it does not pass.
    fn spare(&mut self, drive: &SampledPath, clearance_m: f64) -> f64 {
        self.model.clearance_m = clearance_m;
        let seen = measure_drive(&self.model, drive);
        if seen.ground_m < -EDGE_TOLERANCE_M {
            return f64::NEG_INFINITY;
        }
        (0.5 * (self.drawn_m + ROUNDING_M - seen.opening_m)).min(seen.margin_m)
    }
}
