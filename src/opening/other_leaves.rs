//! Openings that a vehicle needs at a gate with leaves other than those drawn, starting from the ways in that a study
//! found.
//!
//! A path of the study keeps clear of everything but the leaves, whatever leaves there are: so for each arrangement and
//! size only the leaves are checked. A short search follows where leaves block it: for the least opening, and for each size
//! with its own leaves, which are longer the wider it is.
use super::leaf_clearance::{Driven, Past};
use super::recheck::look_again;
use super::reoptimize::straight_need;
use super::scene::{Scene, scene_by, scene_on};
use super::starts::lanes;
use super::study::goals;
use super::{Answer, Case, CaseLane, DrawnGate, Study, StudyOptions, Wanted, reported_m};
use crate::clearance::{CollisionModel, Region, Surroundings, Thing, measure};
use crate::motion::{AtGate, OnSite, Path, Trajectory};
use crate::search::lane::Lane;
use crate::search::{EDGE_TOLERANCE_M, Effort, Finding, Found, Goal, Problem, narrowest_soon, near_below};
use crate::site::{Anchor, Arrangement, Faces, Maneuver, Site, Travel};
use crate::vehicle::Vehicle;
use std::sync::{Arc, OnceLock};

/// Effort of the search past other leaves. The paths found for the drawn ones are near the answer if there is one, and
/// there are many arrangements to evaluate.
const EFFORT: Effort =
    Effort { coarse: 8, polished: 1, fine: 15, finest: 0, worth_m: WORTH_M, ..Effort::USUAL };
/// Gain below which polishing ends: two millimeters, as texts are written to the inch.
const WORTH_M: f64 = 2e-3;
/// Excess over the need at the drawn gate up to which a path is good enough, unless a stock size lies between: four
/// inches, a sixth of the usual step from size to size. Our choice, no source.
const ENOUGH_M: f64 = 0.1;

/// Step in which openings are tried: two inches, up to two meters more than without leaves: beyond that it is a
/// different way in.
const WIDEN_M: f64 = 0.05;
const WIDEN_MOST_M: f64 = 2.0;

/// A known way in.
#[derive(Clone)]
struct Candidate {
    maneuver: Maneuver,
    path: Trajectory<AtGate>,
    driven: Driven,
    /// Opening that it passes without leaves.
    need_m: f64,
    /// Places of the faces at that opening.
    faces: Faces,
}

impl Candidate {
    /// A path that a search found for the gate without leaves, or past those it was searched with.
    fn of(vehicle: &Vehicle, maneuver: Maneuver, found: Found) -> Self {
        let (need_m, faces) = (found.inspection.opening_m, found.inspection.faces_u);
        let driven = Driven::new(vehicle, found.path.path());
        Self { maneuver, path: found.path, driven, need_m, faces }
    }
}

/// Ways that a study found for one vehicle, from one direction of travel.
#[derive(Clone)]
pub(super) struct Known {
    travel: String,
    lane: CaseLane,
    /// Region where tires may go.
    ground: Option<Arc<Region>>,
    /// Known ways without a clearance, and with the study's.
    candidates: [Vec<Candidate>; 2],
    /// Need at the gate as drawn according to the study, without a clearance and with the study's.
    drawn_m: [f64; 2],
    /// Opening needed without any leaf, without a clearance and with the study's, as far as a search finds: other
    /// leaves may need as little.
    hoped_m: [f64; 2],
}

/// Ways of one vehicle through a gate with given leaves.
pub(super) struct Ways {
    /// Bare opening it needs, from every travel.
    pub(super) bare_m: Option<f64>,
    /// Comfortable opening it needs, from every travel.
    pub(super) comfortable_m: Option<f64>,
    /// Verdict for each size in question, with the leaves that belong to it.
    pub(super) passes: Vec<DrawnGate>,
    /// Ways behind each verdict, one from each travel; none where the verdict is no.
    pub(super) passing: Vec<Vec<Passing>>,
}

/// A way that passes a size.
pub(super) struct Passing {
    pub(super) travel: String,
    pub(super) lane: CaseLane,
    pub(super) path: Trajectory<OnSite>,
    /// True if it keeps the study's clearance.
    pub(super) comfortable: bool,
}

const fn pick(case: &Case, comfortable: bool) -> &Answer {
    if comfortable { &case.comfortable } else { &case.bare }
}

/// Known ways in of one vehicle by one maneuver, for each direction of travel it was studied from; with those that a search
/// without the drawn leaves adds.
pub(super) fn known(
    study: &Study,
    (index, wanted): (usize, &Wanted),
    maneuver: Maneuver,
    options: &StudyOptions,
) -> Vec<Known> {
    let site = &study.site;
    let mut bare_gate = site.clone();
    bare_gate.gate.leaves.arrangement = Arrangement::None;
    let of = study.of_vehicle(index);
    let asked = |travel: &Travel| wanted.asks_for(travel);
    let of_travel = site.travels().into_iter().filter(asked).filter_map(|travel| {
        let word = travel.word.clone();
        let mut cases = of.from(&word)?.cases.iter().map(|case| &study.cases[*case]);
        let case = cases.find(|case| case.maneuver == maneuver);
        // Any lane but that of coming serves a way out only, which is a question of its own.
        let lane = case.map_or(CaseLane::Coming, |case| case.lane);
        let scene = scene_by(&bare_gate, travel, lane)?;
        let answers = [false, true].map(|comfortable| case.map(|case| pick(case, comfortable)));
        let drawn_m = answers.map(|answer| answer.and_then(|a| a.opening_m).unwrap_or(f64::INFINITY));
        let mut candidates = [0, 1].map(|which| {
            let clearance_m = if which == 1 { study.clearance_m } else { 0.0 };
            let of = |answer| candidate(&scene, &wanted.vehicle, answer, maneuver, clearance_m);
            answers[which].and_then(of).into_iter().collect()
        });
        if site.gate.leaves.arrangement.swings() {
            let (vehicle, shunts) = (&wanted.vehicle, options.shunts);
            let without = WithoutLeaves { vehicle, site: &bare_gate, scene: &scene, shunts };
            without.add(&mut candidates, maneuver, study.clearance_m);
        }
        let ground = scene.surroundings.ground.clone();
        let mut known = Known { travel: word, lane, ground, candidates, drawn_m, hoped_m: drawn_m };
        known.settle();
        Some(known)
    });
    of_travel.collect()
}

impl Known {
    /// Sorts the candidates, and takes what other leaves may do with from them.
    fn settle(&mut self) {
        for (which, ways) in self.candidates.iter_mut().enumerate() {
            ways.sort_by(|a, b| a.need_m.total_cmp(&b.need_m));
            self.hoped_m[which] =
                ways.first().map_or(f64::INFINITY, |way| way.need_m).min(self.drawn_m[which]);
        }
    }
}

/// Known ways of one vehicle by whichever of several maneuvers does, for each direction of travel.
pub(super) fn whichever<'k>(of_maneuvers: impl IntoIterator<Item = &'k [Known]>) -> Vec<Known> {
    let mut joined: Vec<Known> = Vec::new();
    for known in of_maneuvers.into_iter().flatten() {
        let Some(same) = joined.iter_mut().find(|other| other.travel == known.travel) else {
            joined.push(known.clone());
            continue;
        };
        for which in [0, 1] {
            same.candidates[which].extend(known.candidates[which].iter().cloned());
            same.drawn_m[which] = same.drawn_m[which].min(known.drawn_m[which]);
        }
        same.settle();
    }
    joined
}

/// The gate without its leaves, searched from one lane.
struct WithoutLeaves<'a> {
    vehicle: &'a Vehicle,
    site: &'a Site,
    scene: &'a Scene,
    shunts: u32,
}

impl WithoutLeaves<'_> {
    /// Adds paths found without leaves where those of the study need more than going straight through: the drawn leaves may be
    /// why, whatever is tightest. From the known paths; everywhere for a vehicle without a trailer, and where no path is known.
    fn add(&self, candidates: &mut [Vec<Candidate>; 2], maneuver: Maneuver, clearance_m: f64) {
        let lanes_of: OnceLock<[Lane; 2]> = OnceLock::new();
        for which in [0, 1] {
            let kept_m = if which == 0 { 0.0 } else { clearance_m };
            let straight_m = straight_need(self.vehicle, &self.scene.surroundings, kept_m);
            let below_m = candidates[which].iter().map(|way| way.need_m).fold(f64::INFINITY, f64::min);
            let is_straight = |need_m: f64| need_m <= straight_m + WORTH_M;
            if is_straight(below_m) {
                continue;
            }
            let seeds: Vec<Path> = candidates.iter().flatten().map(|way| way.path.path().clone()).collect();
            let lanes = lanes_of.get_or_init(|| lanes(self.scene, self.vehicle, [0.0, clearance_m]));
            let problem = Problem {
                vehicle: self.vehicle,
                surroundings: &self.scene.surroundings,
                lane: &lanes[which],
                maneuver,
                shunts: self.shunts,
                clearance_m: kept_m,
                spot: None,
            };
            let about_m = if below_m.is_finite() { below_m } else { straight_m };
            let near = |problem: &Problem| near_below(problem, EFFORT, &seeds, about_m, below_m);
            let everywhere = |problem: &Problem| narrowest_soon(problem, EFFORT, about_m, below_m);
            let near = (!seeds.is_empty()).then(|| easiest(self.site, &problem, near)).flatten();
            let done = near.as_ref().is_some_and(|found| is_straight(found.inspection.opening_m));
            let wide = !done && (self.vehicle.units.len() == 1 || seeds.is_empty());
            let wide = wide.then(|| easiest(self.site, &problem, everywhere)).flatten();
            let found =
                [near, wide].into_iter().flatten().filter(|found| found.inspection.opening_m < below_m);
            candidates[which].extend(found.map(|found| Candidate::of(self.vehicle, maneuver, found)));
        }
    }
}

/// Narrowest of the answers to a problem with each place to end at, or without one where the site has none.
fn easiest(site: &Site, problem: &Problem, look: impl Fn(&Problem) -> Finding) -> Option<Found> {
    let goals = goals(site, problem.vehicle, problem.surroundings);
    let spots: Vec<Option<Goal>> =
        if goals.is_empty() { vec![None] } else { goals.into_iter().map(Some).collect() };
    let found = spots.into_iter().filter_map(|spot| look(&Problem { spot, ..problem.clone() }).found);
    found.min_by(|a, b| a.inspection.opening_m.total_cmp(&b.inspection.opening_m))
}

/// Converts an answer of the study to a known way, with the leaves disregarded.
fn candidate(
    scene: &Scene,
    vehicle: &Vehicle,
    answer: &Answer,
    maneuver: Maneuver,
    clearance_m: f64,
) -> Option<Candidate> {
    let path = scene.surroundings.frame.trajectory_to_gate(answer.witness.as_ref()?);
    // Leaves are cut for the opening as reported.
    let (mut need_m, mut faces) = (reported_m(answer.opening_m?), answer.faces_u_m?);
    // Where the drawn leaf is the tightest contact, the path needs less without it.
    if answer.tightest.as_ref().is_some_and(|t| matches!(t.thing, Thing::Leaf(_)))
        && let Some(found) = look_again(vehicle, &scene.surroundings, clearance_m, &path)
        && found.inspection.opening_m < need_m
    {
        (need_m, faces) = (found.inspection.opening_m, found.inspection.faces_u);
    }
    let driven = Driven::new(vehicle, path.path());
    Some(Candidate { maneuver, path, driven, need_m, faces })
}

/// Query for one vehicle at a gate with given leaves, from one direction of travel.
struct Asked<'a> {
    study: &'a Study,
    site: &'a Site,
    vehicle: &'a Vehicle,
    scene: Scene,
    /// Start lanes, without and with clearance: computed when first searched from.
    lanes: OnceLock<[Lane; 2]>,
    known: &'a Known,
    shunts: u32,
    /// Ways found past these very leaves, without and with clearance.
    found: [Vec<Candidate>; 2],
    /// Opening needed with these leaves, without and with clearance, as far as known; infinite if none is.
    need_m: [f64; 2],
}

/// Evaluates the ways of a vehicle through the gate of `site`, which is the study's but for its leaves. `as_drawn`:
/// even the leaves are as in the study. `sizes` are the openings in question.
pub(super) fn ways(
    study: &Study,
    site: &Site,
    (wanted, known): (&Wanted, &[Known]),
    options: &StudyOptions,
    as_drawn: bool,
    sizes: &[f64],
) -> Ways {
    let vehicle = &wanted.vehicle;
    let mut asked: Vec<Asked> = Vec::new();
    for known in known {
        let Some(travel) = site.travels().into_iter().find(|t| t.word == known.travel) else { continue };
        let Some(scene) = scene_on(site, travel, known.lane, known.ground.clone()) else { continue };
        let found = [Vec::new(), Vec::new()];
        let lanes = OnceLock::new();
        let (shunts, need_m) = (options.shunts, [f64::INFINITY; 2]);
        asked.push(Asked { study, site, vehicle, scene, lanes, known, shunts, found, need_m });
    }
    // A vehicle that does not pass bare does not pass in comfort, and one that does not pass from one side does not
    // pass from all.
    let mut open = true;
    for comfortable in [false, true] {
        let mut worst: f64 = 0.0;
        let of_known = |asked: &Asked| match as_drawn {
            true => asked.known.drawn_m[usize::from(comfortable)],
            false => asked.least_known(comfortable),
        };
        let mut needs: Vec<(f64, &mut Asked)> = asked.iter_mut().map(|a| (of_known(a), a)).collect();
        // The side that needs most comes first: the others then need not be searched below that.
        needs.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (known_m, asked) in needs {
            let need =
                if open && !as_drawn { asked.need(comfortable, sizes, (known_m, worst)) } else { known_m };
            asked.need_m[usize::from(comfortable)] = need;
            worst = worst.max(need);
            open &= need.is_finite();
        }
        // Where bare needs more than every size in question, the comfortable need does not matter.
        open &= sizes.iter().any(|m| *m >= worst);
    }
    for comfortable in [true, false] {
        for asked in &mut asked {
            asked.add_at_sizes(comfortable, sizes);
            // What passes no size from one side passes none.
            if !sizes.iter().any(|m| asked.lets_by(comfortable, *m).is_some()) {
                break;
            }
        }
    }
    let [bare_m, comfortable_m] = [false, true].map(|comfortable| {
        let need = |asked: &Asked| match as_drawn {
            true => asked.need_m[usize::from(comfortable)],
            false => asked.need_or_size(comfortable, sizes),
        };
        let worst = asked.iter().map(need).fold(0.0, f64::max);
        (!asked.is_empty() && worst.is_finite()).then_some(worst)
    });
    let through = |comfortable: bool, opening_m: f64| -> Option<Vec<Passing>> {
        let all: Option<Vec<Passing>> =
            asked.iter().map(|asked| asked.lets_by(comfortable, opening_m)).collect();
        all.filter(|all| !all.is_empty())
    };
    let of_size = |opening_m: &f64| {
        let comfortable = through(true, *opening_m).map(|ways| (DrawnGate::Comfortable, ways));
        let tight = || through(false, *opening_m).map(|ways| (DrawnGate::Tight, ways));
        comfortable.or_else(tight).unwrap_or((DrawnGate::No, Vec::new()))
    };
    let (passes, passing) = sizes.iter().map(of_size).unzip();
    Ways { bare_m, comfortable_m, passes, passing }
}

impl Asked<'_> {
    fn clearance(&self, comfortable: bool) -> f64 {
        if comfortable { self.study.clearance_m } else { 0.0 }
    }

    /// Smallest opening that the known paths need with these leaves.
    fn least_known(&self, comfortable: bool) -> f64 {
        let which = usize::from(comfortable);
        let mut best = f64::INFINITY;
        for way in &self.known.candidates[which] {
            // The ways are sorted by least need.
            if way.need_m < best && best > self.known.drawn_m[which] + ENOUGH_M {
                best = best.min(self.least(way, self.clearance(comfortable)));
            }
        }
        best
    }

    /// Opening needed with these leaves after a short search, where the known paths need `best`; a need below
    /// `enough_m` is of no use.
    fn need(&mut self, comfortable: bool, sizes: &[f64], (mut best, enough_m): (f64, f64)) -> f64 {
        let which = usize::from(comfortable);
        let clearance_m = self.clearance(comfortable);
        let known = &self.known.candidates[which];
        let (drawn_m, hoped_m) = (self.known.drawn_m[which], self.known.hoped_m[which]);
        let worth = |best: f64, from_m: f64| {
            let useful = |m: &f64| *m >= from_m.max(enough_m) - 1e-9 && *m < best;
            best > enough_m && (best > from_m + ENOUGH_M || sizes.iter().any(useful))
        };
        // Seeds are the paths of both clearances.
        let seeds = |maneuver: Maneuver| -> Vec<Path> {
            let all = known.iter().chain(&self.known.candidates[1 - which]);
            all.filter(|way| way.maneuver == maneuver).map(|way| way.path.path().clone()).collect()
        };
        // One attempt for each maneuver, with leaves cut for about the most that a known path of it needs: a search with leaves
        // too short leads to paths that the true ones stop.
        let mut most: Vec<(Maneuver, f64)> = Vec::new();
        for way in known {
            match most.iter_mut().find(|(maneuver, _)| *maneuver == way.maneuver) {
                Some((_, need_m)) => *need_m = need_m.max(way.need_m),
                None => most.push((way.maneuver, way.need_m)),
            }
        }
        // The search is widened only where that is quick: for vehicles without a trailer.
        let widths = if self.vehicle.units.len() == 1 { &[false, true][..] } else { &[false] };
        let attempts: Vec<(Maneuver, f64, bool)> = widths
            .iter()
            .flat_map(|everywhere| most.iter().map(|(maneuver, need_m)| (*maneuver, *need_m, *everywhere)))
            .collect();
        // Maneuvers for which no path near the known ones gets past these leaves.
        let mut closed: Vec<Maneuver> = Vec::new();
        for (maneuver, need_m, everywhere) in attempts {
            // Run the next attempt only where the one before was not enough.
            if !worth(best, if everywhere { drawn_m } else { hoped_m }) {
                break;
            }
            // No wider search has been seen to find one either. Exception: all maneuvers are closed.
            let is_closed = |way: &Candidate| closed.contains(&way.maneuver);
            if everywhere && closed.contains(&maneuver) && !known.iter().all(is_closed) {
                continue;
            }
            let about_m = need_m + ENOUGH_M;
            let found = self.search(maneuver, clearance_m, |problem| {
                if everywhere {
                    narrowest_soon(problem, EFFORT, about_m, best)
                } else {
                    near_below(problem, EFFORT, &seeds(maneuver), about_m, best)
                }
            });
            if found.as_ref().is_none_or(|found| found.inspection.opening_m > need_m + WIDEN_MOST_M) {
                closed.push(maneuver);
            }
            if let Some(found) = found {
                best = best.min(found.inspection.opening_m);
                self.found[which].push(Candidate::of(self.vehicle, maneuver, found));
            }
        }
        best
    }

    /// Searches at the sizes that a known way passes without leaves, and none with the leaves that belong to them: these are
    /// longer than those of the least need, and stand where the ways go. Beyond the widest size with a way the search ends at
    /// the first without.
    fn add_at_sizes(&mut self, comfortable: bool, sizes: &[f64]) {
        let which = usize::from(comfortable);
        let mut needs = self.known.candidates[which].iter().chain(&self.found[which]).map(|way| way.need_m);
        let Some(least_m) = needs.next().map(|first| needs.fold(first, f64::min)) else { return };
        let last = sizes.iter().rposition(|m| self.lets_by(comfortable, *m).is_some());
        for (index, size_m) in sizes.iter().enumerate().filter(|(_, size_m)| **size_m >= least_m) {
            // Ways found at another size may do.
            if self.lets_by(comfortable, *size_m).is_some() {
                continue;
            }
            self.add_at(comfortable, *size_m);
            let is_beyond = last.is_none_or(|last| index > last);
            if is_beyond && self.lets_by(comfortable, *size_m).is_none() {
                break;
            }
        }
    }

    /// Opening needed with these leaves: what the ways found need, or the least size that one passes.
    fn need_or_size(&self, comfortable: bool, sizes: &[f64]) -> f64 {
        let which = usize::from(comfortable);
        let mut best = self.need_m[which];
        for way in &self.found[which] {
            if way.need_m < best {
                best = best.min(self.least(way, self.clearance(comfortable)));
            }
        }
        let passed = sizes.iter().filter(|m| self.passing(comfortable, **m).is_some());
        best = passed.copied().fold(best, f64::min);
        // What passes in comfort passes.
        if comfortable { best } else { best.min(self.need_or_size(true, sizes)) }
    }

    /// A short search from the known ways with the leaves that belong to an opening, for a way that passes it.
    fn add_at(&mut self, comfortable: bool, opening_m: f64) {
        let which = usize::from(comfortable);
        // Each once: the ways are in the order of what they need.
        let mut maneuvers: Vec<Maneuver> = Vec::new();
        for way in &self.known.candidates[which] {
            if !maneuvers.contains(&way.maneuver) {
                maneuvers.push(way.maneuver);
            }
        }
        for maneuver in maneuvers {
            let all = self.known.candidates.iter().chain(&self.found).flatten();
            let seeds: Vec<Path> =
                all.filter(|way| way.maneuver == maneuver).map(|way| way.path.path().clone()).collect();
            let found = self.search(maneuver, self.clearance(comfortable), |problem| {
                near_below(problem, EFFORT, &seeds, opening_m, opening_m + 1e-9)
            });
            if let Some(found) = found {
                self.found[which].push(Candidate::of(self.vehicle, maneuver, found));
                return;
            }
        }
    }

    /// Positions of the faces for an opening of a way.
    fn faces(&self, way: &Candidate, opening_m: f64) -> Faces {
        if self.site.gate.anchor == Anchor::Free {
            return Faces::about(way.faces.middle_u(), opening_m);
        }
        self.site.gate.faces(opening_m)
    }

    /// Checks a way against the leaves of an opening. A way whose posts would stand on a road is blocked.
    fn look(&self, way: &Candidate, opening_m: f64, clearance_m: f64) -> Past {
        let leaves = self.scene.surroundings.with_leaves_for(opening_m);
        let faces = self.faces(way, opening_m);
        if !faces.within(leaves.road_faces_u(), 1e-9) {
            return Past::Blocked;
        }
        way.driven.past(self.vehicle, &leaves, faces, clearance_m)
    }

    /// Least opening, to 0.01 mm, that a way passes with leaves cut for it; infinite if there is none within reach.
    /// Leaves move outward and grow as the opening widens, so an opening wider than one that suffices need not suffice.
    fn least(&self, way: &Candidate, clearance_m: f64) -> f64 {
        let clear = |opening_m: f64| self.look(way, opening_m, clearance_m) == Past::Clear;
        least_opening(way.need_m, 1e-5, clear).unwrap_or(f64::INFINITY)
    }

    /// A known way or one that was found that passes an opening of this width, with the leaves that belong to it.
    fn passing(&self, comfortable: bool, opening_m: f64) -> Option<Passing> {
        let which = usize::from(comfortable);
        let clearance_m = self.clearance(comfortable);
        let ways = self.known.candidates[which].iter().chain(&self.found[which]);
        let mut wide_enough = ways.filter(|way| way.need_m <= opening_m + 1e-9);
        let way = wide_enough.find(|way| match self.look(way, opening_m, clearance_m) {
            Past::Clear => true,
            Past::Blocked => false,
            Past::Close => self.clears(way.path.path(), opening_m, clearance_m),
        })?;
        let path = self.scene.surroundings.frame.trajectory_to_site(&way.path);
        Some(Passing { travel: self.known.travel.clone(), lane: self.known.lane, path, comfortable })
    }

    /// As [`Self::passing`]; what passes in comfort passes bare.
    fn lets_by(&self, comfortable: bool, opening_m: f64) -> Option<Passing> {
        let own = self.passing(comfortable, opening_m);
        own.or_else(|| if comfortable { None } else { self.passing(true, opening_m) })
    }

    /// Full inspection, where checking the leaves alone does not decide.
    fn clears(&self, path: &Path, opening_m: f64, clearance_m: f64) -> bool {
        let surroundings: Surroundings = self.scene.surroundings.with_leaves_for(opening_m);
        let model = CollisionModel::new(self.vehicle, surroundings, clearance_m, opening_m);
        let seen = measure(&model, path);
        seen.passes(EDGE_TOLERANCE_M) && seen.opening_m <= opening_m + 1e-9
    }

    fn search(
        &self,
        maneuver: Maneuver,
        clearance_m: f64,
        look: impl Fn(&Problem) -> Finding,
    ) -> Option<Found> {
        let lanes =
            self.lanes.get_or_init(|| lanes(&self.scene, self.vehicle, [0.0, self.study.clearance_m]));
        let lane = &lanes[usize::from(clearance_m > 0.0)];
        let problem = Problem {
            vehicle: self.vehicle,
            surroundings: &self.scene.surroundings,
            lane,
            maneuver,
            shunts: self.shunts,
            clearance_m,
            spot: None,
        };
        easiest(self.site, &problem, look)
    }
}

/// Least opening from `from_m` up that is clear, to `within_m`; `None` where none of those tried is, up to
/// [`WIDEN_MOST_M`] more.
pub(super) fn least_opening(from_m: f64, within_m: f64, clear: impl Fn(f64) -> bool) -> Option<f64> {
    if clear(from_m) {
        return Some(from_m);
    }
    let (mut low, mut high) = (from_m, from_m + WIDEN_M);
    while !clear(high) {
        if high > from_m + WIDEN_MOST_M {
            return None;
        }
        (low, high) = (high, high + WIDEN_M);
    }
    while high - low > within_m {
        let middle = 0.5 * (low + high);
        if clear(middle) { high = middle } else { low = middle }
    }
    Some(high)
}
