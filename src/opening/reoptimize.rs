//! A passage that can be solved again: at the site as drawn, and at the same site changed.
use super::CaseLane;
use super::recheck::{look_again, sampled_need_with_leaves};
use super::scene::{Scene, scene_by};
use super::starts::lanes;
use super::study::goals;
use crate::clearance::{GateFrame, Pieces, Surroundings};
use crate::geometry::Pose;
use crate::motion::{AtGate, Direction, Leg, OnSite, Path, Segment, State, Trajectory};
use crate::search::certify::{certify, led_in};
use crate::search::lane::Lane;
use crate::search::{
    Effort, Finding, Found, Goal, Problem, again, narrowest, narrowest_within, near, on_other_knots,
    reversing_less, touch_up,
};
use crate::site::{Along, Anchor, Gate, Maneuver, Site, Travel};
use crate::vehicle::{Steering, Vehicle};
use std::f64::consts::FRAC_PI_2;

/// One vehicle, travel and maneuver at one site.
pub(super) struct PassageProblem<'a> {
    vehicle: &'a Vehicle,
    maneuver: Maneuver,
    shunts: u32,
    /// Start lanes, without and with the clearance.
    lanes: [Lane; 2],
    goals: Vec<Goal>,
    /// Part of the gate that stays put when the opening widens.
    anchor: Anchor,
}

impl<'a> PassageProblem<'a> {
    /// Sets up a way in from one travel's side of a site, with `shunts` stops at most, from the lanes of that travel
    /// without and with the clearance.
    pub(super) fn new(
        site: &Site,
        scene: &Scene,
        lanes: [Lane; 2],
        (vehicle, maneuver): (&'a Vehicle, Maneuver),
        shunts: u32,
    ) -> Self {
        let goals = goals(site, vehicle, &scene.surroundings);
        Self { vehicle, maneuver, shunts, lanes, goals, anchor: scene.surroundings.anchor }
    }

    /// Returns what stays put when the opening widens.
    pub(super) const fn anchor(&self) -> Anchor {
        self.anchor
    }

    /// Returns the problem for one clearance and one place to end at.
    pub(super) fn problem<'q>(
        &'q self,
        surroundings: &'q Surroundings,
        clearance_m: f64,
        spot: Option<Goal>,
    ) -> Problem<'q> {
        let lane = &self.lanes[usize::from(clearance_m > 0.0)];
        let (vehicle, maneuver, shunts) = (self.vehicle, self.maneuver, self.shunts);
        Problem { vehicle, surroundings, lane, maneuver, shunts, clearance_m, spot }
    }

    /// Returns the problem for each place to end at; a single one without a goal, where it may end anywhere inside.
    pub(super) fn problems<'q>(
        &'q self,
        surroundings: &'q Surroundings,
        clearance_m: f64,
    ) -> Vec<Problem<'q>> {
        let spots = self.goals.iter().cloned().map(Some);
        let spots: Vec<Option<Goal>> = if self.goals.is_empty() { vec![None] } else { spots.collect() };
        spots.into_iter().map(|spot| self.problem(surroundings, clearance_m, spot)).collect()
    }

    /// Returns the lane it starts in with this clearance.
    pub(super) fn lane(&self, clearance_m: f64) -> &Lane {
        &self.lanes[usize::from(clearance_m > 0.0)]
    }

    /// Offset of a vehicle to the left of the middle of its lane, meters.
    pub(super) fn offset_m(&self, pose: &Pose, clearance_m: f64) -> f64 {
        self.lane(clearance_m).station_and_offset(pose).1
    }

    /// Certifies a path as an answer to this problem from exactly where it starts: [`Self::look`] without putting it
    /// back along the lane.
    pub(super) fn look_as_it_is(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        path: &Trajectory<AtGate>,
    ) -> Option<Found> {
        let about_m = surroundings.drawn_faces_u.opening_m();
        let problems = self.problems(surroundings, clearance_m);
        problems.iter().find_map(|problem| {
            let bare = Problem { clearance_m: 0.0, ..problem.clone() };
            certify(&bare, path, about_m).ok()
        })
    }

    /// Searches for the narrowest opening; with several spots to end at, that of the easiest. Seeds are paths in the
    /// gate's frame.
    pub(super) fn narrowest(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        effort: Effort,
        seeds: &[Path],
    ) -> Finding {
        self.easiest(surroundings, clearance_m, |problem| narrowest(problem, effort, seeds))
    }

    /// As [`Self::narrowest`], but away from the seeds only where they lead to more than `enough_m`.
    pub(super) fn narrowest_within(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        effort: Effort,
        (seeds, enough_m): (&[Path], f64),
    ) -> Finding {
        self.easiest(surroundings, clearance_m, |problem| narrowest_within(problem, effort, seeds, enough_m))
    }

    /// As [`Self::narrowest`], but near the seeds alone, with leaves for an opening of about `about_m`.
    pub(super) fn near(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        effort: Effort,
        (seeds, about_m): (&[Path], f64),
    ) -> Finding {
        self.easiest(surroundings, clearance_m, |problem| near(problem, effort, seeds, about_m))
    }

    /// As [`Self::narrowest`], but near one path (gate frame) alone.
    pub(super) fn touched_up(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        effort: Effort,
        (path, about_m): (&Path, f64),
    ) -> Finding {
        self.easiest(surroundings, clearance_m, |problem| touch_up(problem, effort, path, about_m))
    }

    /// Polishes the answer of a finding on other knots.
    pub(super) fn on_other_knots(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        effort: Effort,
        finding: Finding,
    ) -> Finding {
        let narrower =
            |finding, spot| on_other_knots(&self.problem(surroundings, clearance_m, spot), effort, finding);
        if self.goals.is_empty() {
            return narrower(finding, None);
        }
        // The spot that it ends at is not known; the other spots gain nothing.
        self.goals.iter().fold(finding, |finding, goal| narrower(finding, Some(goal.clone())))
    }

    /// Shortens what the answer of a finding reverses, at an opening hardly wider; `None` where nothing is gained.
    pub(super) fn reversing_less(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        effort: Effort,
        finding: &Finding,
    ) -> Option<Finding> {
        let problems = self.problems(surroundings, clearance_m);
        problems.iter().find_map(|problem| reversing_less(problem, effort, finding))
    }

    fn easiest(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        find: impl Fn(&Problem) -> Finding,
    ) -> Finding {
        let find = |spot: Option<Goal>| find(&self.problem(surroundings, clearance_m, spot));
        let mut findings: Vec<Finding> = if self.goals.is_empty() {
            vec![find(None)]
        } else {
            self.goals.iter().map(|goal| find(Some(goal.clone()))).collect()
        };
        let work = findings.iter().map(|f| f.work).sum();
        findings.sort_by(|a, b| a.opening_m().total_cmp(&b.opening_m()));
        Finding { work, ..findings.swap_remove(0) }
    }

    /// Certifies a path as an answer to this problem: it starts in the lane, keeps out of the gate before it stops to
    /// back in, ends where it must and clears everything. A path that needs no less than `below_m` may be skipped.
    pub(super) fn look(
        &self,
        surroundings: &Surroundings,
        clearance_m: f64,
        path: &Trajectory<AtGate>,
        below_m: f64,
    ) -> Option<Found> {
        let lane = &self.lanes[usize::from(clearance_m > 0.0)];
        let path = &Trajectory::new(led_in(lane, path.path()));
        let about_m =
            sampled_need_with_leaves(self.vehicle, surroundings, clearance_m, path.path(), below_m)?;
        let answers =
            |spot: Option<Goal>| certify(&self.problem(surroundings, clearance_m, spot), path, about_m).ok();
        if self.goals.is_empty() {
            return answers(None);
        }
        self.goals.iter().find_map(|goal| answers(Some(goal.clone())))
    }
}

/// A way in that is solved many times: at changed sites, from what is known already.
#[derive(Clone, Copy)]
pub(super) struct Passage<'a> {
    /// The vehicle.
    pub(super) vehicle: &'a Vehicle,
    /// Direction along a road that it comes from.
    pub(super) travel: Along,
    /// Maneuver by which it gets in.
    pub(super) maneuver: Maneuver,
    /// Lane it starts in.
    pub(super) lane: CaseLane,
    /// Stops allowed.
    pub(super) shunts: u32,
    /// Clearance kept.
    pub(super) clearance_m: f64,
}

/// An answer to a [`Passage`]: the opening it needs, and a path that proves it.
#[derive(Clone, Debug)]
pub(super) struct Incumbent {
    /// An opening that certainly suffices.
    pub(super) opening_m: f64,
    /// The path.
    pub(super) path: Trajectory<OnSite>,
    /// Gate that it was found for: a path can be moved along with it.
    pub(super) gate: Gate,
}

/// Distance that a path found for one site is driven on to be wholly inside at another.
const DRIVES_ON_M: f64 = 0.1;

/// A path that needs no more than this beyond going straight through is not improved: 2 mm, as much as two searches of
/// one problem differ by.
const AS_GOOD_AS_STRAIGHT_M: f64 = 0.002;

/// Opening that a vehicle needs going straight through the gate and its open leaves, if nothing else stood there.
pub(super) fn straight_need(vehicle: &Vehicle, surroundings: &Surroundings, clearance_m: f64) -> f64 {
    let mut alone = surroundings.clone();
    alone.standing = Pieces::default();
    (alone.ground, alone.anchor) = (None, Anchor::Free);
    // From well before the gate to well beyond it.
    let reach = vehicle.length_m() + clearance_m + 5.0;
    let start = State { lead: Pose::new(0.0, -reach, FRAC_PI_2), ..State::default() };
    let legs = vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(3.0 * reach, 0.0)] }];
    let found = look_again(vehicle, &alone, clearance_m, &Trajectory::new(Path { start, legs }));
    found.map_or(0.0, |found| found.inspection.opening_m)
}

/// A site with everything that one way in needs of it.
pub(super) struct SiteVariant<'a> {
    way: Passage<'a>,
    site: &'a Site,
    scene: Scene,
    ask: PassageProblem<'a>,
}

impl<'a> SiteVariant<'a> {
    /// Prepares the site for `way`; `None` if that direction of travel no longer leads to the gate.
    pub(super) fn new(site: &'a Site, way: Passage<'a>) -> Option<Self> {
        let scene = scene_by(site, site.travel_along(way.travel)?, way.lane)?;
        let lanes = lanes(&scene, way.vehicle, [0.0, way.clearance_m]);
        let ask = PassageProblem::new(site, &scene, lanes, (way.vehicle, way.maneuver), way.shunts);
        Some(Self { way, site, scene, ask })
    }

    pub(super) fn frame(&self) -> GateFrame {
        self.scene.surroundings.frame
    }

    /// Surroundings of this way in, with the site's own anchor and leaves.
    pub(super) const fn surroundings(&self) -> &Surroundings {
        &self.scene.surroundings
    }

    /// Direction of travel.
    pub(super) const fn travel(&self) -> &Travel {
        &self.scene.travel
    }

    /// The way in as a problem.
    pub(super) const fn asked(&self) -> &PassageProblem<'a> {
        &self.ask
    }

    fn known(&self, found: Found) -> Incumbent {
        Incumbent {
            opening_m: found.inspection.opening_m,
            path: self.frame().trajectory_to_site(&found.path),
            gate: self.site.gate.clone(),
        }
    }

    /// Evaluates a path found elsewhere at this site, if it is an answer here: driven as it was on the ground, a little
    /// further if need be, or moved along with the gate. The better of the two.
    pub(super) fn look(&self, known: &Incumbent) -> Option<Incumbent> {
        self.look_below(known, f64::INFINITY)
    }

    /// As [`Self::look`], but a path that a quick sample shows to need `below_m` or more may be skipped.
    pub(super) fn look_below(&self, known: &Incumbent, below_m: f64) -> Option<Incumbent> {
        self.look_in(&self.scene.surroundings, known, below_m)
    }

    /// As [`Self::look`], with leaves as long as an opening of `opening_m` implies, whatever the path needs.
    pub(super) fn look_with_leaves(&self, opening_m: f64, known: &Incumbent) -> Option<Incumbent> {
        self.look_in(&self.with_leaves(opening_m), known, f64::INFINITY)
    }

    fn with_leaves(&self, opening_m: f64) -> Surroundings {
        self.scene.surroundings.with_leaves_for(opening_m).with_fixed_leaves()
    }

    fn look_in(&self, surroundings: &Surroundings, known: &Incumbent, below_m: f64) -> Option<Incumbent> {
        let mut best: Option<Incumbent> = None;
        for path in self.seeds(known) {
            // The gate may have moved inward by as much as the two middles are apart.
            let further = self.site.gate.center().distance(known.gate.center());
            let on = driven_on(path.path(), further + DRIVES_ON_M, &self.way.vehicle.steering);
            let ways = [path, Trajectory::new(on)];
            let below_m = best.as_ref().map_or(below_m, |best| best.opening_m.min(below_m));
            let look = |path| self.ask.look(surroundings, self.way.clearance_m, path, below_m);
            let found = ways.iter().find_map(look);
            best = narrower(best, found.map(|f| self.known(f)));
        }
        best
    }

    /// Seeds from a path found elsewhere, in this gate's frame: as it was on the ground; and, if the gate has moved, as
    /// it was relative to the gate.
    fn seeds(&self, known: &Incumbent) -> Vec<Trajectory<AtGate>> {
        let kept = self.frame().trajectory_to_gate(&known.path);
        if known.gate == self.site.gate {
            return vec![kept];
        }
        vec![kept, GateFrame::of(&known.gate).trajectory_to_gate(&known.path)]
    }

    /// Narrowest opening here, warm-started from what is known at a site that differs a little, if anything is.
    pub(super) fn again(&self, known: Option<&Incumbent>) -> Finding {
        self.again_with(self.way.clearance_m, known)
    }

    /// As [`Self::again`], with another clearance, for which the lane has been prepared: none, or the passage's.
    pub(super) fn again_with(&self, clearance_m: f64, known: Option<&Incumbent>) -> Finding {
        let seeds = known.map_or_else(Vec::new, |known| paths(self.seeds(known)));
        let about_m = known.map_or(f64::INFINITY, |known| known.opening_m);
        let find = |problem: &Problem| again(problem, &seeds, about_m);
        self.ask.easiest(&self.scene.surroundings, clearance_m, find)
    }

    /// Narrowest opening here, searched from what is known elsewhere. Never wider than what those paths need here.
    pub(super) fn narrowest(&self, effort: Effort, known: &[&Incumbent]) -> Option<Incumbent> {
        self.narrowest_in(&self.scene.surroundings, effort, known)
    }

    /// As [`Self::narrowest`], with leaves as long as an opening of `opening_m` implies.
    pub(super) fn narrowest_with_leaves(
        &self,
        opening_m: f64,
        effort: Effort,
        known: &[&Incumbent],
    ) -> Option<Incumbent> {
        self.narrowest_in(&self.with_leaves(opening_m), effort, known)
    }

    /// Narrowest opening here by the full search, or the need of a known path, if that is less.
    pub(super) fn searched(&self, effort: Effort, known: &Incumbent) -> Option<Incumbent> {
        let seeds = paths(self.seeds(known));
        let finding =
            self.ask.narrowest_within(&self.scene.surroundings, self.way.clearance_m, effort, (&seeds, 0.0));
        narrower(finding.found.map(|f| self.known(f)), self.look(known))
    }

    fn narrowest_in(
        &self,
        surroundings: &Surroundings,
        effort: Effort,
        known: &[&Incumbent],
    ) -> Option<Incumbent> {
        let seen = known.iter().fold(None, |best: Option<Incumbent>, k| {
            let below_m = best.as_ref().map_or(f64::INFINITY, |best| best.opening_m);
            narrower(best, self.look_in(surroundings, k, below_m))
        });
        // Only slim mirrors that pass a post one after the other need less than going straight through; a path that has
        // not found that at one site will not at a similar one.
        let straight = straight_need(self.way.vehicle, surroundings, self.way.clearance_m);
        if seen.as_ref().is_some_and(|k: &Incumbent| k.opening_m <= straight + AS_GOOD_AS_STRAIGHT_M) {
            return seen;
        }
        let seeds: Vec<Path> = known.iter().flat_map(|k| paths(self.seeds(k))).collect();
        // Full search where the known paths lead nowhere.
        let about_m = known.first().map_or(straight, |k| k.opening_m);
        let mut finding = self.ask.near(surroundings, self.way.clearance_m, effort, (&seeds, about_m));
        if finding.found.is_none() && seen.is_none() {
            finding = self.ask.narrowest(surroundings, self.way.clearance_m, effort, &[]);
        }
        narrower(finding.found.map(|f| self.known(f)), seen)
    }
}

/// Returns the narrower of two answers, the first of equals.
pub(super) fn narrower(a: Option<Incumbent>, b: Option<Incumbent>) -> Option<Incumbent> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.opening_m < a.opening_m { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// Extends a path by `by`; its wheels are turned straight on the way as fast as the steering can.
pub(super) fn driven_on(path: &Path, by: f64, steering: &Steering) -> Path {
    let mut path = path.clone();
    if let Some(segments) = path.legs.last_mut().map(|leg| &mut leg.segments)
        && let Some(k) = segments.last().map(|s| s.curvature_end)
    {
        let ramp = steering.lock_distance_m * k.abs() / steering.max_curvature;
        if ramp > 0.0 {
            segments.push(Segment { length_m: ramp, curvature_start: k, curvature_end: 0.0 });
        }
        segments.push(Segment::arc((by - ramp).max(0.01), if ramp > 0.0 { 0.0 } else { k }));
    }
    path
}

/// Converts trajectories to seeds of a search, which works in the gate's frame.
fn paths(seeds: Vec<Trajectory<AtGate>>) -> Vec<Path> {
    seeds.into_iter().map(Trajectory::into_path).collect()
}
