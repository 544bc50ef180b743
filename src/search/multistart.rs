//! The search itself: starts gathered, improved coarsely, the best of them finely, and the winner inspected.
//!
//! Each round of a competition has fewer courses, for longer. A course that breaks a hair between the poses its polish
//! looked at is asked for that much more room and polished again.
use super::canonical::{Canonical, mirrored_course};
use super::certify::{Reason, Rejection, certify, led_in};
use super::crossing::Crossing;
use super::slp::{Slp, SlpIterate, WarmStart};
use super::transcription::Transcription;
use super::{ALIKE, COARSE, Effort, FINE, FINEST, Finding, Found, Look, Problem, at_least, least_width};
use crate::clearance::CollisionModel;
use crate::geometry::parallel::*;
use crate::geometry::wrap_angle;
use crate::motion::{Leg, Path, Segment, State, Trajectory};

/// Where a search begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Where {
    /// From what answered a kindred problem.
    Near,
    /// From the ways that grids and drivers show, too.
    Starts,
    /// The same where what answered a kindred problem leads to more than this; and from maneuvers drawn at random, where
    /// all those lead nowhere.
    Everywhere { enough_m: f64 },
}

/// Searches from `seeds`, and from more where `place` says so; leaves are cut for `guess_m` at first. What will hardly need
/// less than `below_m` is given up.
pub(super) fn search(
    problem: &Problem,
    effort: Effort,
    seeds: &[Path],
    (guess_m, below_m): (f64, f64),
    place: Where,
) -> Finding {
    let at_least_m = at_least(problem);
    if problem.lane.zones.is_empty() {
        let stopped_by = Some(NOWHERE_TO_START.to_owned());
        return Finding { found: None, at_least_m, stopped_by, starts: Vec::new(), work: 0 };
    }
    let form = Canonical::of(problem);
    let drawn = problem;
    let problem = &form.problem(drawn);
    let mut search = Search { problem, drawn, mirrored: form.mirrored, effort, below_m, work: 0 };
    // More effort begins with all that the usual effort finds, and more stops with all that fewer find.
    let everywhere = matches!(place, Where::Everywhere { .. });
    let with_less =
        |problem: &Problem, effort: Effort| self::search(problem, effort, seeds, (guess_m, below_m), place);
    let usual =
        (everywhere && effort.lattice > Effort::USUAL.lattice).then(|| with_less(drawn, Effort::USUAL));
    let known = usual.iter().flat_map(|finding| &finding.starts);
    let seeds: Vec<Path> = seeds.iter().chain(known).map(|path| form.path(path)).collect();
    let fewer_stops = (everywhere && drawn.shunts > 1)
        .then(|| with_less(&Problem { shunts: drawn.shunts - 2, ..drawn.clone() }, effort));
    let model = search.model(guess_m, 3.0 * at_least_m + 3.0);
    // What answered a kindred problem is the way here too, unless it leads nowhere.
    let kindred = search.seeded(&seeds);
    let mut best = search.successive_halving(&model, kindred, usize::MAX, 1);
    // Where it takes much more than the vehicle's width, something stands in the way, and there may be other ways.
    let sane = |best: &Outcome| best.opening_m() <= 1.8 * at_least_m + 0.5;
    let enough_m = match place {
        Where::Everywhere { .. } if usual.is_some() => 0.0,
        Where::Everywhere { enough_m } => enough_m,
        Where::Near | Where::Starts => f64::INFINITY,
    };
    if place != Where::Near && (!sane(&best) || best.opening_m() > enough_m) {
        let courses = search.starts(&model);
        // A trailer pushed back shows late whether it gets anywhere, and so does a way back and forth.
        let patient = problem.pushes_trailer() || problem.shunts > 1;
        let kept = (courses.len() / 2).clamp(KEPT, if problem.shunts > 1 { 20 } else { 9 });
        best = best.or(search.successive_halving(&model, courses.clone(), kept, if patient { 2 } else { 1 }));
        let courses_over = search.moved_over(&model, best.opening_m(), guess_m);
        if !courses_over.is_empty() {
            best = best.or(search.successive_halving(&model, courses_over, usize::MAX, 1));
        }
        if matches!(place, Where::Everywhere { .. }) && !sane(&best) {
            let mut courses = courses;
            courses.extend(search.last_resort(&model));
            best = best.or(search.successive_halving(&model, courses, usize::MAX, 3));
        }
    }
    for less in [usual, fewer_stops].into_iter().flatten() {
        search.work += less.work;
        let starts = less.starts.iter().map(|path| form.path(path)).collect();
        best = Outcome { found: less.found, stopped_by: None, starts }.or(best);
    }
    if effort.finest > 0
        && let Some((found, path)) = best.found.as_ref().zip(best.starts.first())
        && let Some(found) = search.on_other_knots(path, found.inspection.opening_m)
    {
        best.found = Some(found);
    }
    let stopped_by = if best.found.is_some() { None } else { best.stopped_by.map(|why| why.to_string()) };
    let starts = best.starts.iter().map(|path| form.path(path)).collect();
    Finding { found: best.found, at_least_m, stopped_by, starts, work: search.work }
}

/// The answer that an answer's path (gate frame) leads to when it is polished on other knots; `None` where nothing is gained.
pub(super) fn on_other_knots(
    drawn: &Problem,
    effort: Effort,
    path: &Path,
    opening_m: f64,
) -> Option<(Found, u64)> {
    let form = Canonical::of(drawn);
    let problem = &form.problem(drawn);
    let mut search =
        Search { problem, drawn, mirrored: form.mirrored, effort, below_m: f64::INFINITY, work: 0 };
    let found = search.on_other_knots(&form.path(path), opening_m)?;
    Some((found, search.work))
}

/// What comes of a competition of courses.
struct Outcome {
    found: Option<Found>,
    /// What stopped the best, where none passes.
    stopped_by: Option<Reason>,
    /// The best of them as paths, for a kindred problem.
    starts: Vec<Path>,
}

impl Outcome {
    fn opening_m(&self) -> f64 {
        self.found.as_ref().map_or(f64::INFINITY, |found| found.inspection.opening_m)
    }

    /// The better of two; its starts come first.
    fn or(self, other: Self) -> Self {
        let (first, second) =
            if other.opening_m() < self.opening_m() { (other, self) } else { (self, other) };
        let mut starts = first.starts;
        starts.extend(second.starts);
        starts.truncate(MOST_STARTS);
        Self { found: first.found, stopped_by: telling(first.stopped_by, second.stopped_by), starts }
    }
}

/// The more telling of two reasons, the first of equals: that a way round the end of the gate line is none says nothing of the
/// ways through the gate.
fn telling(first: Option<Reason>, second: Option<Reason>) -> Option<Reason> {
    match (first, second) {
        (Some(Reason::RoundTheEnd), Some(second)) => Some(second),
        (first, second) => first.or(second),
    }
}

/// What stops a vehicle that fits nowhere on the road before the gate.
const NOWHERE_TO_START: &str = "the road as drawn leaves it no room to stand in its lane before the gate";
/// How far the first fine step is trusted.
const FINE_TRUST: f64 = 0.3;
/// Knots laid out anew are this far apart where wheels turn at once, and where they take their time: of 0.5 to 0.13 m what
/// gained most, and no divisors of the fine polish's.
const ANEW_SPACING_M: (f64, f64) = (0.13, 0.22);
/// They are laid out again and again, so many times that far apart: each layout has minima of its own, and which of them gains
/// something differs from case to case.
const REMESH: [f64; 4] = [0.9, 0.75, 0.55, 1.3];
const ANEW_IN_COMFORT: [f64; 2] = [0.9, 1.1];
/// Behind a trailer, where each takes longer.
const REMESH_BEHIND: [f64; 3] = [1.1, 0.9, 0.75];
/// So much of the way that the wheels take to full lock lies between two.
const ANEW_SHARE: f64 = 0.15;
/// Of an opening that is wider than straight through by less than this nothing is worth gaining.
const WORTH_ANEW_M: f64 = 0.01;
/// Behind a trailer all layouts are gone through again, so many times at most, while that gains this share.
const MOST_TURNS: usize = 3;
const WORTH_A_TURN: f64 = 5e-4;
/// Nor is less than this, a fiftieth of a millimeter: the wheels are turned more evenly on fewer knots.
const GAIN_ANEW_M: f64 = 2e-5;
/// A fine polish takes off 2 to 8 % of what the coarse one left: what is coarsely wider than this many times what is known is
/// not polished finely.
const HOPELESS: f64 = 1.1;
/// A way round the end of the gate line needs less than this share of the body's width, ...
const ROUND_THE_END: f64 = 0.8;
/// ... and breaks less than this, meters, once it is improved.
const NEARLY_WHOLE_M: f64 = 0.2;
/// Leaves are cut for an opening this much wider than the one told: what looking again at shorter ones is not worth.
const LEAF_SPARE_M: f64 = 5e-4;
/// An inspection that needs this many times what the polish saw was worth a closer look, ...
const MORE_THAN_LOOKED: f64 = 1.002;
/// ... at poses so much nearer to each other.
const CLOSER: f64 = 0.4;
/// How often what is missing between the poses looked at is asked for on top: once or twice is enough where it helps.
const TRIES: usize = 3;
/// The most room asked for on top where tires leave the ground: twice what the canonical form may be off by.
const MORE_GROUND_M: f64 = 0.003;
/// What a course may be asked to spare on top, for what it breaks between the poses that are looked at.
const MOST_SPARE_M: f64 = 0.1;
/// How far the first step from a way that grids show.
const LOOSE_TRUST: f64 = 0.3;
/// Paths that are handed on to a kindred problem.
const MOST_STARTS: usize = 3;
/// Starts that are improved longer, at least.
pub(super) const KEPT: usize = 6;

pub(super) struct Search<'a> {
    /// The problem in canonical form.
    pub(super) problem: &'a Problem<'a>,
    /// The problem as asked, which an answer is certified for.
    drawn: &'a Problem<'a>,
    /// The canonical form is the mirror image of the problem as asked.
    mirrored: bool,
    pub(super) effort: Effort,
    /// What needs no less is of no use.
    below_m: f64,
    /// Poses looked at.
    pub(super) work: u64,
}

impl Search<'_> {
    fn model(&self, leaf_opening_m: f64, widest_m: f64) -> CollisionModel {
        let surroundings = if self.problem.surroundings.has_leaves() {
            self.problem.surroundings.with_leaves_for(leaf_opening_m)
        } else {
            self.problem.surroundings.clone()
        };
        CollisionModel::new(self.problem.vehicle, surroundings, self.problem.clearance_m, widest_m)
    }

    /// Polishes several courses side by side; the order and the answers do not depend on the threads.
    pub(super) fn polish_all(
        &mut self,
        model: &CollisionModel,
        field: Vec<(Transcription, WarmStart)>,
        look: Look,
        rounds: usize,
    ) -> Vec<(Transcription, SlpIterate)> {
        let mut field = self.side_by_side(field, |search, (track, start)| {
            let mut polish = Slp { problem: search.problem, model, track: &track, look, work: 0 };
            let polished = polish.run(&start, rounds);
            search.work += polish.work;
            (track, polished)
        });
        field.sort_by(|a, b| self.worth(&a.1).total_cmp(&self.worth(&b.1)));
        field
    }

    /// What a course is worth: one that hardly breaks anything and yet needs less than the body's width goes round the end of
    /// the gate line, and comes after all others.
    fn worth(&self, polished: &SlpIterate) -> f64 {
        let round_the_end = polished.opening_m < ROUND_THE_END * least_width(self.problem.vehicle)
            && polished.violation_m < NEARLY_WHOLE_M;
        polished.value() + if round_the_end { 1e6 } else { 0.0 }
    }

    /// Courses in the order of what they are worth as they stand.
    pub(super) fn ranked(
        &mut self,
        model: &CollisionModel,
        courses: Vec<(Transcription, Vec<f64>)>,
    ) -> Vec<(Transcription, Vec<f64>)> {
        let start = |(track, x)| (track, WarmStart { x, trust_radius: 1.0, steps: None });
        let courses = courses.into_iter().map(start).collect();
        let field = self.polish_all(model, courses, COARSE, 0);
        field.into_iter().map(|(track, polished)| (track, polished.x)).collect()
    }

    /// Improves courses coarsely, the promising ones longer (`patience` times the usual; `kept` of them at least a third
    /// of that), polishes the best of those and inspects the winner; or says what stopped the best.
    fn successive_halving(
        &mut self,
        model: &CollisionModel,
        courses: Vec<(Transcription, Vec<f64>)>,
        kept: usize,
        patience: usize,
    ) -> Outcome {
        // A step that was not trusted far is trusted a little farther after a look at the others.
        let numbers = |field: Vec<(Transcription, SlpIterate)>| -> Vec<(Transcription, WarmStart)> {
            let go_on = |(track, SlpIterate { x, trust_radius, steps, .. }): (Transcription, SlpIterate)| {
                (track, WarmStart { x, trust_radius: trust_radius.max(0.1), steps: Some(steps) })
            };
            field.into_iter().map(go_on).collect()
        };
        let total = patience * self.effort.coarse;
        // Most starts show soon whether they lead anywhere: each round has fewer of them, for longer.
        let first = if kept >= courses.len() { total } else { total / 4 };
        let courses = courses
            .into_iter()
            .map(|(track, x)| {
                let trust_radius = if track.start_slack > 0 { LOOSE_TRUST } else { 1.0 };
                (track, WarmStart { x, trust_radius, steps: None })
            })
            .collect();
        let mut field = self.polish_all(model, courses, COARSE, first);
        if first < total {
            field.truncate(kept);
            field = self.polish_all(model, numbers(field), COARSE, total / 3);
            field.truncate(self.effort.polished + 2);
            field = self.polish_all(model, numbers(field), COARSE, total - total / 3 - first);
        }
        field = self.different(model, field);
        field.retain(|(_, polished)| polished.value() <= HOPELESS * self.below_m);
        let look = self.fine();
        let mut fine =
            self.side_by_side(field, |search, (track, polished)| search.refine(&track, &polished, look));
        fine.sort_by(|a, b| self.worth(&a.1).total_cmp(&self.worth(&b.1)));
        // A kindred problem is asked from there, on fewer knots.
        let mut starts: Vec<Path> =
            fine.iter().map(|(track, polished)| track.path(self.problem, &polished.x)).collect();
        let mut stopped_by = None;
        for (index, (track, polished)) in fine.into_iter().enumerate() {
            match self.settled(track, polished) {
                Ok(found) => {
                    // The way of the answer first.
                    starts[..=index].rotate_right(1);
                    return Outcome { found: Some(found), stopped_by: None, starts };
                }
                Err(why) => stopped_by = telling(stopped_by, Some(why)),
            }
        }
        Outcome { found: None, stopped_by, starts }
    }

    /// Does something with each of several things, on as many threads as there are; the order is kept and the work added
    /// up, so that the answers do not depend on the threads.
    fn side_by_side<T: Send, R: Send>(
        &mut self,
        things: Vec<T>,
        work: impl Fn(&mut Search, T) -> R + Sync,
    ) -> Vec<R> {
        let Self { problem, drawn, mirrored, effort, below_m, .. } = *self;
        let done: Vec<(R, u64)> = things
            .into_par_iter()
            .map(|thing| {
                let mut search = Search { problem, drawn, mirrored, effort, below_m, work: 0 };
                let result = work(&mut search, thing);
                (result, search.work)
            })
            .collect();
        self.work += done.iter().map(|(_, work)| work).sum::<u64>();
        done.into_iter().map(|(result, _)| result).collect()
    }

    /// Paths that begin in the lane as courses: with their own knots where those are even and not too many to work with, else
    /// with new ones.
    pub(super) fn seeded(&self, seeds: &[Path]) -> Vec<(Transcription, Vec<f64>)> {
        let (lane, max) = (self.problem.lane, self.problem.vehicle.steering.max_curvature);
        let course = |path: &Path| {
            let (station, offset) = lane.station_and_offset(&path.start.lead);
            let own = Transcription::retrace(path, station, offset, max);
            let spacing_m = if own.is_some() { self.finer_m() } else { self.effort.spacing_m };
            let (track, x) = own
                .filter(|(track, _)| track.has_few_knots() || self.effort.keeps_knots())
                .unwrap_or_else(|| Transcription::fit(path, station, offset, max, spacing_m));
            track.in_lane(lane, max, x)
        };
        seeds.iter().map(course).collect()
    }

    /// Inspects a polished course. What is missing of a hair between the poses that the polish looked at is asked for on
    /// top, and the course polished again; where the inspection sees a wider need, it is polished with a closer look.
    fn settled(&mut self, mut track: Transcription, mut polished: SlpIterate) -> Result<Found, Reason> {
        let mut look = self.fine();
        let mut settled = self.settle(&track, &polished.x, polished.value());
        for _ in 0..TRIES {
            match &settled {
                Ok(found) if found.inspection.opening_m <= polished.value() * MORE_THAN_LOOKED => break,
                Ok(_) => (look.near_m, look.far_m) = (look.near_m * CLOSER, look.far_m * CLOSER),
                Err(short) => {
                    // A strip of other ground across a tire's way counts as under all of it: ask for a little more room.
                    let by_m = if short.reason == Reason::Ground {
                        short.by_m.min(MORE_GROUND_M)
                    } else {
                        short.by_m
                    };
                    look.spare_m += by_m + FINE.spare_m;
                    if look.spare_m > MOST_SPARE_M || polished.violation_m > MOST_SPARE_M {
                        break;
                    }
                }
            }
            (track, polished) = self.refine(&track, &polished, look);
            let again = self.settle(&track, &polished.x, polished.value());
            let opening_m = |result: &Result<Found, Rejection>| {
                result.as_ref().map_or(f64::INFINITY, |f| f.inspection.opening_m)
            };
            if settled.is_err() || opening_m(&again) < opening_m(&settled) {
                settled = again;
            }
        }
        settled.map_err(|short| short.reason)
    }

    /// How closely the fine polish looks.
    fn fine(&self) -> Look {
        Look { worth_m: self.effort.worth_m, ..FINE }
    }

    /// The best courses of a field, no two of them the same way in: those end alike.
    fn different(
        &self,
        model: &CollisionModel,
        field: Vec<(Transcription, SlpIterate)>,
    ) -> Vec<(Transcription, SlpIterate)> {
        let mut kept: Vec<(Transcription, SlpIterate)> = Vec::new();
        let mut crossings: Vec<Crossing> = Vec::new();
        for (track, polished) in field {
            if kept.len() == self.effort.polished {
                break;
            }
            let crossing = Crossing::of(&model.chain, &track.path(self.problem, &polished.x));
            if crossings.iter().all(|other| crossing.differs(other, ALIKE)) {
                crossings.push(crossing);
                kept.push((track, polished));
            }
        }
        kept
    }

    /// How far apart the fine polish's knots are: where the wheels turn slowly, knots nearer to each other than half the way
    /// to full lock gain nothing.
    fn finer_m(&self) -> f64 {
        (0.5 * self.problem.vehicle.steering.lock_distance_m).clamp(0.15, 0.5) * self.effort.spacing_m
    }

    /// Polishes a start finely on knots nearer to each other, with the leaves its opening implies.
    fn refine(
        &mut self,
        track: &Transcription,
        start: &SlpIterate,
        look: Look,
    ) -> (Transcription, SlpIterate) {
        let (track, x) = track.split(&start.x, self.finer_m());
        let mut polished = SlpIterate { x, ..start.clone() };
        // Leaves are as long as the opening found asks, which the first polish changes.
        let looks = if self.problem.surroundings.has_leaves() { 2 } else { 1 };
        for again in 0..looks {
            let value = polished.value();
            let model = self.model(value * 1.02 + 0.02, value * 1.1 + 0.1);
            let mut polish = Slp { problem: self.problem, model: &model, track: &track, look, work: 0 };
            let trust_radius = if again == 0 { FINE_TRUST } else { 0.3 * FINE_TRUST };
            let SlpIterate { x, steps, .. } = polished;
            let start = WarmStart { x, trust_radius, steps: (again > 0).then_some(steps) };
            polished = polish.run(&start, self.effort.fine);
            self.work += polish.work;
        }
        (track, polished)
    }

    /// The answer that `path` (canonical form) leads to when it is polished on other knots, nearer to each other: each layout of
    /// knots has minima of its own, and where the fine polish ended it stays if its knots are only split. `None` where no
    /// layout gains anything on `opening_m`.
    fn on_other_knots(&mut self, path: &Path, opening_m: f64) -> Option<Found> {
        let towed = self.problem.vehicle.units.len() > 1;
        // With a clearance a hair of opening matters less; behind a trailer it is more than a hair.
        let (layouts, turns) = match (towed, self.problem.clearance_m > 0.0) {
            (true, _) => (&REMESH_BEHIND[..], MOST_TURNS),
            (false, true) => (&ANEW_IN_COMFORT[..], 1),
            (false, false) => (&REMESH[..], 1),
        };
        let mut best: Option<(Transcription, SlpIterate)> = None;
        let mut path = path.clone();
        let mut value = opening_m;
        for _ in 0..turns {
            let before = value;
            for times in layouts {
                if let Some((track, polished)) = self.laid_out_anew(&path, value, *times) {
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

    /// A path polished on knots so many times the usual distance apart, where that gains something on `value`.
    fn laid_out_anew(&mut self, path: &Path, value: f64, times: f64) -> Option<(Transcription, SlpIterate)> {
        let model = self.model(value * 1.02 + 0.02, value * 1.1 + 0.1);
        // Hardly more than straight through is little to gain.
        let aside = model.parts.iter().flat_map(|part| &part.corners).map(|p| p.y.abs()).fold(0.0, f64::max);
        let straight_m = 2.0 * (aside + self.problem.clearance_m);
        if value < straight_m + WORTH_ANEW_M {
            return None;
        }
        let (lane, steering) = (self.problem.lane, &self.problem.vehicle.steering);
        let apart_m = (ANEW_SHARE * steering.lock_distance_m).clamp(ANEW_SPACING_M.0, ANEW_SPACING_M.1);
        let apart_m = apart_m * self.effort.spacing_m * times;
        // Behind a trailer so many knots cost more than they gain.
        let towed = model.units.len() > 1;
        let (apart_m, look) = if towed { (self.finer_m() * times, self.fine()) } else { (apart_m, FINEST) };
        let start = lane.station_and_offset(&path.start.lead);
        let (track, x) = Transcription::fit_anew(path, start, steering.max_curvature, apart_m);
        let (track, x) = track.in_lane(lane, steering.max_curvature, x);
        let mut polish = Slp { problem: self.problem, model: &model, track: &track, look, work: 0 };
        let trust_radius = if towed { FINE_TRUST } else { 1.0 };
        let again = polish.run(&WarmStart { x, trust_radius, steps: None }, self.effort.finest);
        self.work += polish.work;
        (again.value() < value - GAIN_ANEW_M).then_some((track, again))
    }

    /// The path of a course (numbers for the place as drawn). Near a corner of the lane a start may lie on the one side of it in
    /// the canonical form and on the other in the place as drawn: it stays on the segment it was found on.
    fn path_as_drawn(&self, track: &Transcription, x: &[f64]) -> Path {
        let found = self.problem.lane.pose(x[0], 0.0).heading;
        let found = if self.mirrored { std::f64::consts::PI - found } else { found };
        let on_segment = |along_m: &f64| {
            wrap_angle(self.drawn.lane.pose(x[0] + along_m, 0.0).heading - found).abs() < SAME_SEGMENT_RAD
        };
        let mut x = x.to_vec();
        x[0] += OFF_GRID_M.into_iter().find(on_segment).unwrap_or(0.0);
        track.path(self.drawn, &x)
    }

    /// Certifies a course, put back along its lane to start upstream of the gate and cut off where it has arrived.
    fn settle(&self, track: &Transcription, x: &[f64], value: f64) -> Result<Found, Rejection> {
        // A hair longer leaves at once: else they are cut again for what it takes between the poses looked at.
        let spare_m = if self.problem.surroundings.has_leaves() { 2.0 * LEAF_SPARE_M } else { 0.0 };
        let drawn = self.drawn;
        let (track, x) = if self.mirrored { mirrored_course(track, x) } else { (track.clone(), x.to_vec()) };
        let around = drawn.surroundings.with_leaves_for(value + spare_m);
        let model = CollisionModel::new(drawn.vehicle, around, drawn.clearance_m, value + spare_m);
        let path = self.path_as_drawn(&track, &x);
        let path = cut_at_goal(drawn, &model, &path).ok_or(Reason::NotInside)?;
        certify(drawn, &Trajectory::new(led_in(drawn.lane, &path)), value + spare_m)
    }
}

/// A start in the canonical form may be this far along the lane from the same one in the place as drawn, meters.
const OFF_GRID_M: [f64; 7] = [0.0, 1e-3, -1e-3, 3e-3, -3e-3, 1e-2, -1e-2];
/// Headings that differ by more than this belong to different segments of a lane, radians.
const SAME_SEGMENT_RAD: f64 = 1e-3;

/// Steps in which a path is followed to see where it arrives.
const ARRIVAL_STEP_M: f64 = 0.05;
/// How far beyond a described course its last leg is followed to get wholly inside.
const RUN_OUT_M: f64 = 12.0;

/// A path cut off where the vehicle has arrived, in whichever leg that enters as the last one does (running on at its last
/// curvature if it must); `None` if it does not arrive.
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
