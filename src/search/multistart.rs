//! Multistart search by successive halving: starts gathered, improved coarsely, the best of them finely, and the winner
//! inspected.
//!
//! Each round has fewer candidates, improved for longer. A candidate that violates a constraint by a hair between the
//! poses its polish sampled is given that much more room as a constraint and polished again.
use super::arrival::cut_at_goal;
use super::canonical::{Canonical, mirrored_course};
use super::certify::{Reason, Rejection, certify, led_in};
use super::crossing::Crossing;
use super::slp::{Objective, Slp, SlpIterate, WarmStart};
use super::transcription::Transcription;
use super::{ALIKE, COARSE, Effort, FINE, Finding, Found, Look, Problem, at_least, least_width};
use crate::clearance::CollisionModel;
use crate::clearance::canonical::on_grid;
use crate::geometry::parallel::*;
use crate::geometry::wrap_angle;
use crate::motion::{Path, Trajectory};

/// Source of the starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Where {
    /// Seeds that answered a similar problem.
    Near,
    /// The seeds, and the paths that grids and drivers show.
    Starts,
    /// As [`Self::Starts`], the latter only where the seeds lead to more than this; and maneuvers drawn at random,
    /// where all those lead nowhere.
    Everywhere { enough_m: f64 },
}

/// Searches from `seeds`, and from more where `place` allows; leaves are cut for `guess_m` at first. Candidates that
/// will hardly need less than `below_m` are given up.
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
    // Known openings were certified against the place as drawn, so that their last digits differ from plan to plan.
    let (guess_m, below_m) = (on_grid(guess_m), on_grid(below_m));
    let place = match place {
        Where::Everywhere { enough_m } => Where::Everywhere { enough_m: on_grid(enough_m) },
        Where::Near | Where::Starts => place,
    };
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
    // Seeds from a similar problem come first, and suffice unless they lead nowhere.
    let kindred = search.seeded(&seeds);
    let mut best = search.successive_halving(&model, kindred, usize::MAX, 1);
    // Where the answer is much wider than the vehicle, something stands in the way, and there may be other ways.
    // On to a spot there are many ways, and the first one found may be a poor one.
    let wide = if problem.spot.is_some() { 1.4 } else { 1.8 };
    let sane = |best: &Outcome| best.opening_m() <= wide * at_least_m + 0.5;
    let enough_m = match place {
        Where::Everywhere { .. } if usual.is_some() => 0.0,
        Where::Everywhere { enough_m } => enough_m,
        Where::Near | Where::Starts => f64::INFINITY,
    };
    if place != Where::Near && (!sane(&best) || best.opening_m() > enough_m) {
        let courses = search.starts(&model);
        // A trailer pushed back converges late, and so does a path back and forth.
        let patient = problem.pushes_trailer() || problem.shunts > 1;
        let kept = (courses.len() / 2).clamp(KEPT, if problem.shunts > 1 { 20 } else { 9 });
        best = best.or(search.successive_halving(&model, courses.clone(), kept, if patient { 2 } else { 1 }));
        // The shortest ways on to a spot hit nothing yet, and would leave the others no room among them.
        let on_to_spot = search.ways_to_spot(&model);
        if !on_to_spot.is_empty() {
            best = best.or(search.successive_halving(&model, on_to_spot, kept, 1));
        }
        let courses_over = search.moved_over(&model, best.opening_m(), guess_m);
        if !courses_over.is_empty() {
            best = best.or(search.successive_halving(&model, courses_over, usize::MAX, 1));
        }
        if !sane(&best) {
            let turned = search.turned_into(&model, best.opening_m(), guess_m);
            best = best.or(turned);
        }
        if matches!(place, Where::Everywhere { .. }) && !sane(&best) {
            let mut courses = courses;
            courses.extend(search.last_resort(&model));
            best = best.or(search.successive_halving(&model, courses, usize::MAX, 3));
            best = search.with_longer_leaves(best, guess_m);
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
    let starts = best.starts.iter().map(|path| form.path_as_given(path)).collect();
    Finding { found: best.found, at_least_m, stopped_by, starts, work: search.work }
}

/// Runs a search that goes on from a known path, in the canonical form; returns its answer with its work.
pub(super) fn in_canonical_form(
    drawn: &Problem,
    effort: Effort,
    run: impl FnOnce(&mut Search, &Canonical) -> Option<Found>,
) -> Option<(Found, u64)> {
    let form = Canonical::of(drawn);
    let problem = &form.problem(drawn);
    let mut search =
        Search { problem, drawn, mirrored: form.mirrored, effort, below_m: f64::INFINITY, work: 0 };
    let found = run(&mut search, &form)?;
    Some((found, search.work))
}

/// Result of one round of successive halving.
pub(super) struct Outcome {
    found: Option<Found>,
    /// The constraint that stopped the best, where none passes.
    stopped_by: Option<Reason>,
    /// Paths of the best candidates, for a similar problem.
    starts: Vec<Path>,
}

impl Outcome {
    fn opening_m(&self) -> f64 {
        self.found.as_ref().map_or(f64::INFINITY, |found| found.inspection.opening_m)
    }

    /// Returns the better of two outcomes; its starts come first.
    fn or(self, other: Self) -> Self {
        let (first, second) =
            if other.opening_m() < self.opening_m() { (other, self) } else { (self, other) };
        let mut starts = first.starts;
        starts.extend(second.starts);
        starts.truncate(MOST_STARTS);
        Self { found: first.found, stopped_by: telling(first.stopped_by, second.stopped_by), starts }
    }
}

/// Returns the more informative of two reasons, the first of equals: that a path goes round the end of the gate line
/// says nothing about the paths through the gate.
fn telling(first: Option<Reason>, second: Option<Reason>) -> Option<Reason> {
    match (first, second) {
        // A path that fits but for a post says most: it is the gate's place that keeps the vehicle out.
        (_, Some(Reason::PostOnRoad)) => Some(Reason::PostOnRoad),
        (Some(Reason::RoundTheEnd), Some(second)) => Some(second),
        (first, second) => first.or(second),
    }
}

/// Reason for a vehicle that fits nowhere on the road before the gate.
const NOWHERE_TO_START: &str = "the road as drawn leaves it no room to stand in its lane before the gate; where it \
    is drawn too short or ends in a bend, draw more of the road, as far as a straight stretch longer than the vehicle, or \
    say \"continues\" if it goes on";
/// Initial trust radius of the fine polish.
pub(super) const FINE_TRUST: f64 = 0.3;
/// Candidates coarsely wider than this many times the known answer are not polished finely: a fine polish takes off 2
/// to 8 % of what the coarse one left.
const HOPELESS: f64 = 1.1;
/// A path round the end of the gate line needs less than this share of the body's width, ...
const ROUND_THE_END: f64 = 0.8;
/// ... and violates constraints by less than this, meters, once it is improved.
const NEARLY_WHOLE_M: f64 = 0.2;
/// Factor from one opening to the next for which leaves are cut where shorter ones lead nowhere.
const LONGER_LEAVES: f64 = 1.25;
/// Leaves are cut for an opening this much wider than the given one: shorter ones are not worth another inspection.
const LEAF_SPARE_M: f64 = 5e-4;
/// A path whose inspection needs this many times the polish's value is polished with closer samples, ...
const MORE_THAN_LOOKED: f64 = 1.002;
/// ... their spacing multiplied by this.
const CLOSER: f64 = 0.4;
/// Largest number of times that room missing between the sampled poses is added as a constraint: once or twice is
/// enough where it helps.
const TRIES: usize = 3;
/// Room added where a tire seems to leave the ground by more than the canonical form displaces a path: twice the rounding
/// of that form.
const MORE_GROUND_M: f64 = 0.003;
/// Twice the largest distance by which the place as drawn may displace a path found in the canonical form: a chord of 1.5 m,
/// drawn to the millimeter there, has another heading by 0.7 mrad, which is 3 cm after 40 m.
const MOST_OFF_GROUND_M: f64 = 0.06;
/// Largest spare room added for violations between the sampled poses.
const MOST_SPARE_M: f64 = 0.1;
/// Largest spare below a hitch limit: 3 degrees.
const MOST_HITCH_SPARE_RAD: f64 = 0.052;
/// Grid of lengths (and angles, in radians) that a certificate gives, as far as the search goes on from them: the last
/// digits of a certificate depend on how the place is drawn.
const CERTIFIED_GRID: f64 = 1e-4;
/// Initial trust radius for a path that grids show.
const START_SLACK_TRUST: f64 = 0.3;
/// Number of paths that are handed on to a similar problem.
const MOST_STARTS: usize = 3;
/// Least number of starts that are improved longer.
pub(super) const KEPT: usize = 6;

/// Rounds a length (or an angle) measured in the place as drawn up, to the same in every form of the plan.
pub(super) fn certified(measured: f64) -> f64 {
    (measured / CERTIFIED_GRID).ceil() * CERTIFIED_GRID
}

pub(super) struct Search<'a> {
    /// The problem in canonical form.
    pub(super) problem: &'a Problem<'a>,
    /// The problem as given, for which an answer is certified.
    pub(super) drawn: &'a Problem<'a>,
    /// True if the canonical form is the mirror image of the problem as given.
    pub(super) mirrored: bool,
    pub(super) effort: Effort,
    /// Only openings below this are of use, meters.
    pub(super) below_m: f64,
    /// Poses evaluated.
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
            .with_ends_fixed()
    }

    /// Model for a polish of a path that needs about `opening_m`.
    pub(super) fn model_about(&self, opening_m: f64) -> CollisionModel {
        self.model(opening_m * 1.02 + 0.02, opening_m * 1.1 + 0.1)
    }

    /// Improves a path by at most `rounds` linear programs.
    pub(super) fn descend(
        &mut self,
        (model, track): (&CollisionModel, &Transcription),
        objective: Objective,
        look: Look,
        start: &WarmStart,
        rounds: usize,
    ) -> SlpIterate {
        let mut slp = Slp { problem: self.problem, model, track, objective, look, work: 0 };
        let reached = slp.run(start, rounds);
        self.work += slp.work;
        reached
    }

    /// Polishes several candidates in parallel; the order and the answers do not depend on the threads.
    pub(super) fn polish_all(
        &mut self,
        model: &CollisionModel,
        field: Vec<(Transcription, WarmStart)>,
        look: Look,
        rounds: usize,
    ) -> Vec<(Transcription, SlpIterate)> {
        let mut field = self.side_by_side(field, |search, (track, start)| {
            let polished = search.descend((model, &track), Objective::Opening, look, &start, rounds);
            (track, polished)
        });
        field.sort_by(|a, b| self.worth(&a.1).total_cmp(&self.worth(&b.1)));
        field
    }

    /// Value of a candidate: one that hardly violates anything and yet needs less than the body's width goes round the
    /// end of the gate line, and comes after all others.
    fn worth(&self, polished: &SlpIterate) -> f64 {
        let round_the_end = polished.opening_m < ROUND_THE_END * least_width(self.problem.vehicle)
            && polished.violation_m < NEARLY_WHOLE_M;
        polished.value() + if round_the_end { 1e6 } else { 0.0 }
    }

    /// Candidates sorted by their value as they stand.
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

    /// Improves candidates coarsely, the promising ones longer (`patience` times the usual; `kept` of them at least a
    /// third of that), polishes the best of those and inspects the winner; or returns what stopped the best.
    pub(super) fn successive_halving(
        &mut self,
        model: &CollisionModel,
        courses: Vec<(Transcription, Vec<f64>)>,
        kept: usize,
        patience: usize,
    ) -> Outcome {
        // The trust radius of a short step grows a little between two rounds.
        let numbers = |field: Vec<(Transcription, SlpIterate)>| -> Vec<(Transcription, WarmStart)> {
            let go_on = |(track, SlpIterate { x, trust_radius, steps, .. }): (Transcription, SlpIterate)| {
                (track, WarmStart { x, trust_radius: trust_radius.max(0.1), steps: Some(steps) })
            };
            field.into_iter().map(go_on).collect()
        };
        let total = patience * self.effort.coarse;
        // Most starts show early whether they lead anywhere: each round has fewer of them, for longer.
        let first = if kept >= courses.len() { total } else { total / 4 };
        let courses = courses
            .into_iter()
            .map(|(track, x)| {
                let trust_radius = if track.start_slack > 0 { START_SLACK_TRUST } else { 1.0 };
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
        let fine =
            self.side_by_side(field, |search, (track, polished)| search.refine(&track, &polished, look));
        self.inspected(fine)
    }

    /// Inspects finely polished candidates, the best first, up to the first that is an answer, and on while another promises
    /// to need less: one that breaks a limit between the poses sampled may need much more once it is mended.
    pub(super) fn inspected(&mut self, mut fine: Vec<(Transcription, SlpIterate)>) -> Outcome {
        fine.sort_by(|a, b| self.worth(&a.1).total_cmp(&self.worth(&b.1)));
        // A similar problem starts from these, on fewer knots.
        let mut starts: Vec<Path> =
            fine.iter().map(|(track, polished)| track.path(self.problem, &polished.x)).collect();
        let mut stopped_by = None;
        let mut best: Option<(usize, Found)> = None;
        for (index, (track, polished)) in fine.into_iter().enumerate() {
            let known_m = best.as_ref().map_or(f64::INFINITY, |(_, found)| found.inspection.opening_m);
            if self.worth(&polished) * MORE_THAN_LOOKED >= known_m {
                break;
            }
            match self.settled(track, polished) {
                Ok(found) if found.inspection.opening_m < known_m => best = Some((index, found)),
                Ok(_) => {}
                Err(why) => stopped_by = telling(stopped_by, Some(why)),
            }
        }
        let Some((index, found)) = best else { return Outcome { found: None, stopped_by, starts } };
        // The path of the answer first.
        starts[..=index].rotate_right(1);
        Outcome { found: Some(found), stopped_by: None, starts }
    }

    /// Applies a function to each item on all threads; the order is kept and the work added up, so that the answers do
    /// not depend on the threads.
    pub(super) fn side_by_side<T: Send, R: Send>(
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

    /// Transcribes paths that begin in the lane: with their own knots where those are even and not too many to work
    /// with, otherwise with new ones.
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

    /// Searches again with the leaves of wider and wider openings, where leaves that move with the posts stand in the way:
    /// a way round short leaves need not pass the longer leaves of the opening that it requires, and polishing alone does
    /// not find another.
    fn with_longer_leaves(&mut self, mut best: Outcome, guess_m: f64) -> Outcome {
        let gate_is_to_blame = match &best.stopped_by {
            None => best.found.is_some(),
            Some(why) => matches!(why, Reason::NoOpening | Reason::PostOnRoad | Reason::Touches(_)),
        };
        if !(gate_is_to_blame && self.problem.surroundings.has_leaves()) {
            return best;
        }
        let widest_m = 3.0 * at_least(self.problem) + 3.0;
        let mut opening_m = LONGER_LEAVES * guess_m.max(at_least(self.problem));
        while opening_m <= widest_m.min(best.opening_m()) {
            let model = self.model(opening_m, widest_m);
            let courses = self.starts(&model);
            best = best.or(self.successive_halving(&model, courses, KEPT, 1));
            opening_m *= LONGER_LEAVES;
        }
        best
    }

    /// Inspects a polished candidate. Small violations between the poses that the polish sampled are added as spare
    /// room, and the candidate polished again; where the inspection finds a wider need, it is polished with closer
    /// samples.
    pub(super) fn settled(
        &mut self,
        mut track: Transcription,
        mut polished: SlpIterate,
    ) -> Result<Found, Reason> {
        let mut look = self.fine();
        let mut settled = self.settle(&track, &polished.x, polished.value());
        for _ in 0..TRIES {
            match &settled {
                Ok(found) if found.inspection.opening_m <= polished.value() * MORE_THAN_LOOKED => break,
                Ok(_) => (look.near_m, look.far_m) = (look.near_m * CLOSER, look.far_m * CLOSER),
                // Between two poses sampled a hitch angle may go beyond its limit: require a little less of it.
                Err(short) if short.hitch_over_rad > 0.0 => {
                    look.hitch_spare_rad += certified(short.hitch_over_rad) + FINE.hitch_spare_rad;
                    if look.hitch_spare_rad > MOST_HITCH_SPARE_RAD || polished.violation_m > MOST_SPARE_M {
                        break;
                    }
                }
                Err(short) => {
                    // A strip of other ground across a tire's path counts as under all of it: require a little more
                    // room.
                    let is_strip = short.reason == Reason::Ground && short.by_m > MOST_OFF_GROUND_M;
                    let by_m = if is_strip { MORE_GROUND_M } else { short.by_m };
                    look.spare_m += certified(by_m) + FINE.spare_m;
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

    /// Sampling of the fine polish.
    pub(super) fn fine(&self) -> Look {
        Look { worth_m: self.effort.worth_m, ..FINE }
    }

    /// Best candidates of a field, no two of them the same way in: those converge to the same path.
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

    /// Spacing of the fine polish's knots: where the wheels turn slowly, knots closer than half the distance to full
    /// lock gain nothing.
    pub(super) fn finer_m(&self) -> f64 {
        (0.5 * self.problem.vehicle.steering.lock_distance_m).clamp(0.15, 0.5) * self.effort.spacing_m
    }

    /// Polishes a start finely on refined knots, with the leaves its opening implies.
    pub(super) fn refine(
        &mut self,
        track: &Transcription,
        start: &SlpIterate,
        look: Look,
    ) -> (Transcription, SlpIterate) {
        let (track, x) = track.split(&start.x, self.finer_m());
        let mut polished = SlpIterate { x, ..start.clone() };
        // Leaves are as long as the opening found implies, which the first polish changes.
        let looks = if self.problem.surroundings.has_leaves() { 2 } else { 1 };
        for again in 0..looks {
            let value = polished.value();
            let model = self.model_about(value);
            let trust_radius = if again == 0 { FINE_TRUST } else { 0.3 * FINE_TRUST };
            let SlpIterate { x, steps, .. } = polished;
            let start = WarmStart { x, trust_radius, steps: (again > 0).then_some(steps) };
            polished = self.descend((&model, &track), Objective::Opening, look, &start, self.effort.fine);
        }
        (track, polished)
    }

    /// Path of transcribed variables in the place as drawn. Near a corner of the lane a start may lie on one side of it
    /// in the canonical form and on the other in the place as drawn: it stays on the segment it was found on.
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

    /// Certifies a candidate, extended back along its lane to start upstream of the gate and cut off where it has
    /// arrived.
    pub(super) fn settle(&self, track: &Transcription, x: &[f64], value: f64) -> Result<Found, Rejection> {
        // Begin with slightly longer leaves: otherwise they are cut again for what is needed between the sampled poses.
        let spare_m = if self.problem.surroundings.has_leaves() { 2.0 * LEAF_SPARE_M } else { 0.0 };
        let drawn = self.drawn;
        let polished = track.path(self.problem, x);
        let (track, x) = if self.mirrored { mirrored_course(track, x) } else { (track.clone(), x.to_vec()) };
        let around = drawn.surroundings.with_leaves_for(value + spare_m);
        let model = CollisionModel::new(drawn.vehicle, around, drawn.clearance_m, value + spare_m);
        let path = self.path_as_drawn(&track, &x);
        let path = cut_at_goal(drawn, &model, &path).ok_or(Reason::NotInside)?;
        let found = certify(drawn, &Trajectory::new(led_in(drawn.lane, &path)), value + spare_m)?;
        Ok(Found { polished: Some(polished), ..found })
    }
}

/// Differences tried between the station of a start in the canonical form and in the place as drawn, meters.
const OFF_GRID_M: [f64; 7] = [0.0, 1e-3, -1e-3, 3e-3, -3e-3, 1e-2, -1e-2];
/// Headings that differ by more than this belong to different segments of a lane, radians.
const SAME_SEGMENT_RAD: f64 = 1e-3;
