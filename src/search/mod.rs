//! The narrowest opening over the maneuvers a vehicle can drive.
//!
//! The seam is [`narrowest`]: a [`Question`] in, a [`Finding`] out. It starts from the ways that grids of poses show
//! ([`lattice`]) and those drivers take ([`course::templates`]), each turned into steering knots ([`track`]) and improved by a sequence of linear
//! programs ([`polish`]), coarsely for all and finely for the best; the winners are inspected by
//! [`crate::clearance::inspect()`], whose bound holds between poses. What is reported comes from that inspection
//! alone, so the search may be wrong only by missing something narrower.
pub mod course;
pub mod lattice;
pub mod lp;
pub mod polish;
pub mod proof;
pub mod pull_out;
pub mod slope;
pub mod track;

use crate::clearance::{Encounter, Inspection, Scratch, Surroundings, inspect};
use crate::geometry::{Point, distance, wrap_angle};
use crate::motion::{Chain, Leg, Path, Segment, State};
use crate::site::Maneuver;
use crate::vehicle::{PartKind, Vehicle};
use course::{Lane, Plan};
use polish::{Polish, Polished};
use rayon::prelude::*;
use track::Track;

/// How far a tire may stand over the edge of a road or drive and still count as on it: what a drawing cannot settle.
pub const EDGE_TOLERANCE_M: f64 = 0.001;

/// What is asked: one vehicle, one travel, one maneuver, one clearance.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// The vehicle.
    pub vehicle: &'a Vehicle,
    /// The site as this travel sees it.
    pub surroundings: &'a Surroundings,
    /// Where it starts.
    pub lane: &'a Lane,
    /// How it gets in.
    pub maneuver: Maneuver,
    /// Stops allowed beyond those the maneuver needs.
    pub shunts: u32,
    /// Clearance kept from everything that stands.
    pub clearance_m: f64,
    /// Where it must end up, if the plan says.
    pub spot: Option<Goal>,
}

impl Question<'_> {
    /// Whether a trailer is pushed back: unstable, so its ways in are found and followed otherwise than the rest.
    fn pushes_trailer(&self) -> bool {
        self.maneuver == Maneuver::BackIn && self.vehicle.units.len() > 1
    }
}

/// A place a vehicle must end up at.
#[derive(Clone, Debug, PartialEq)]
pub struct Goal {
    /// The place, gate frame.
    pub at: Point,
    /// Heading of the last unit there (gate frame), if it matters.
    pub heading: Option<f64>,
    /// The lead unit's outline, in its own frame: the place must be under it.
    pub outline: Vec<Point>,
}

/// How near the wanted heading is near enough: 5 degrees, what a person standing beside it would call straight.
const HEADING_TOLERANCE_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;

impl Goal {
    /// Whether a vehicle standing so is there.
    #[must_use]
    pub fn reached(&self, chain: &Chain, state: &State) -> bool {
        self.short_by(chain, state) <= 0.0
    }

    /// About how far a vehicle standing so is from being there, meters.
    #[must_use]
    pub fn short_by(&self, chain: &Chain, state: &State) -> f64 {
        let local = state.lead.to_body(self.at);
        let inside = distance::ring_contains(&self.outline, local);
        let n = self.outline.len();
        let away = if inside {
            0.0
        } else {
            (0..n)
                .map(|i| {
                    local.distance(distance::nearest_on_segment(
                        local,
                        self.outline[i],
                        self.outline[(i + 1) % n],
                    ))
                })
                .fold(f64::INFINITY, f64::min)
        };
        let turned = self.heading.map_or(0.0, |heading| {
            let last = chain.unit_poses(state)[chain.towed_count()].heading;
            (wrap_angle(last - heading).abs() - HEADING_TOLERANCE_RAD).max(0.0)
        });
        away + turned
    }
}

/// How finely a course is looked at while searching; what is reported comes from [`crate::clearance::inspect()`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Step near the gate, meters.
    pub near_m: f64,
    /// Step elsewhere, meters.
    pub far_m: f64,
    /// Step where a pose needs nearly the most, meters.
    pub hot_m: f64,
    /// Spare margin asked for, so that the bound between poses still passes.
    pub spare_m: f64,
    /// A program that promises less than this ends a polish, meters of opening.
    pub worth_m: f64,
    /// Spare asked for below a hitch limit, radians, so that what a polish leaves unmet still keeps the limit itself.
    pub hitch_spare_rad: f64,
}

/// For finding the way.
const COARSE: Look =
    Look { near_m: 0.35, far_m: 0.8, hot_m: 0.2, spare_m: 0.004, worth_m: 1e-3, hitch_spare_rad: 2e-4 };
/// For the last centimeters. A hitch is kept 0.06 degrees within its limit, far below what anyone can see.
const FINE: Look =
    Look { near_m: 0.3, far_m: 0.6, hot_m: 0.06, spare_m: 0.0006, worth_m: 3e-5, hitch_spare_rad: 1e-3 };

/// How much work a search may do, counted in linear programs: the same on every machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Poses that each grid of the coarse search may look at: see [`lattice`].
    pub lattice: usize,
    /// Maneuvers drawn at random beside those.
    pub drawn: usize,
    /// Programs solved for each start, coarsely.
    pub coarse: usize,
    /// Best starts that are polished.
    pub polished: usize,
    /// Programs solved in polishing each.
    pub fine: usize,
    /// Meters between steering knots.
    pub spacing_m: f64,
}

impl Effort {
    /// The usual effort.
    pub const USUAL: Self =
        Self { lattice: 40_000, drawn: 0, coarse: 12, polished: 2, fine: 25, spacing_m: 1.0 };
    /// More, for a second look.
    pub const THOROUGH: Self =
        Self { lattice: 300_000, drawn: 200, coarse: 30, polished: 6, fine: 60, spacing_m: 0.7 };
}

/// What a search found.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The opening and its proof, when something passes.
    pub found: Option<Found>,
    /// No maneuver of any kind passes less: the least width of the body, plus clearance on both sides.
    pub at_least_m: f64,
    /// When nothing passes: what stood in the way of the best course.
    pub stopped_by: Option<String>,
    /// Courses that came close, as paths in the gate's frame: starts for a kindred question.
    pub starts: Vec<Path>,
    /// Poses looked at.
    pub work: u64,
}

/// A path that passes, and what it needs.
#[derive(Clone, Debug)]
pub struct Found {
    /// The path, in the gate's frame.
    pub path: Path,
    /// Its inspection.
    pub inspection: Inspection,
}

/// Finds the narrowest opening. `seeds` are paths (gate frame) that answered a kindred question; the templates are tried
/// only where those lead nowhere.
///
/// The same question gives the same finding on every machine.
#[must_use]
pub fn narrowest(question: &Question, effort: Effort, seeds: &[Path]) -> Finding {
    let mut search = Search { question, effort, work: 0, starts: Vec::new() };
    let at_least_m = least_width(question.vehicle) + 2.0 * question.clearance_m;
    // Leaves are cut longer than any opening that will be needed, then for the opening found.
    let guess = question.surroundings.drawn_faces_u.1 * 2.0;
    let encounter = search.encounter(guess.max(1.5 * at_least_m), 3.0 * at_least_m + 3.0);
    let sane = |found: &Found| found.inspection.opening_m <= 2.0 * at_least_m + 1.0;
    // What answered a kindred question is the way here too, unless it leads nowhere.
    let kindred = search.seeded(seeds);
    let (mut best, mut stopped_by) = search.compete(&encounter, kindred, usize::MAX, 1);
    if !best.as_ref().is_some_and(sane) {
        // A trailer pushed back shows late whether it gets anywhere.
        let late = question.pushes_trailer();
        search.effort.polished = if late { 2 * effort.polished } else { effort.polished };
        // Few of the ways that go back and forth are on the list.
        let drawn = if question.shunts > 1 { effort.drawn.max(LAST_RESORT) } else { effort.drawn };
        let mut courses = search.grid_ways(&encounter);
        courses.extend(search.drivers_ways(&encounter, drawn));
        let kept = (courses.len() / if late { 2 } else { 3 }).max(4);
        let (found, why) = search.compete(&encounter, courses.clone(), kept, if late { 3 } else { 1 });
        best = better(best, found);
        stopped_by = stopped_by.or(why);
        if !best.as_ref().is_some_and(sane) {
            if drawn < LAST_RESORT {
                courses.extend(search.drivers_ways(&encounter, LAST_RESORT));
            }
            best = better(best, search.compete(&encounter, courses, usize::MAX, 3).0);
        }
    }
    let stopped_by = if best.is_some() { None } else { stopped_by };
    Finding { found: best, at_least_m, stopped_by, starts: search.starts, work: search.work }
}

/// The narrower of two.
fn better(a: Option<Found>, b: Option<Found>) -> Option<Found> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.inspection.opening_m < a.inspection.opening_m { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// The least width of any unit's body without mirrors: it must fit between the posts whatever the path.
#[must_use]
pub fn least_width(vehicle: &Vehicle) -> f64 {
    let mut widest: f64 = 0.0;
    for unit in &vehicle.units {
        for part in unit.parts.iter().filter(|p| p.kind == PartKind::Body) {
            let corners = &part.outline.0;
            // A convex outline is narrowest across one of its edges.
            let across = part.outline.edges().filter_map(|(a, b)| {
                let normal = (b - a).unit()?.left();
                let reach = corners.iter().map(|p| (*p - a).dot(normal));
                Some(reach.fold(0.0, f64::max))
            });
            let width = across.fold(f64::INFINITY, f64::min);
            if width.is_finite() {
                widest = widest.max(width);
            }
        }
    }
    widest
}

/// Ways in that the grids are asked for: most lead to the same one.
const LATTICE_WAYS: usize = 6;
/// Maneuvers drawn at random where nothing else leads through an opening anyone would build.
const LAST_RESORT: usize = 40;

struct Search<'a> {
    question: &'a Question<'a>,
    effort: Effort,
    work: u64,
    starts: Vec<Path>,
}

impl Search<'_> {
    fn encounter(&self, leaf_opening_m: f64, widest_m: f64) -> Encounter {
        let surroundings = if self.question.surroundings.has_leaves() {
            self.question.surroundings.with_leaves_for(leaf_opening_m)
        } else {
            self.question.surroundings.clone()
        };
        Encounter::new(self.question.vehicle, surroundings, self.question.clearance_m, widest_m)
    }

    /// Polishes several courses side by side; the order and the answers do not depend on the threads.
    fn polish_all(
        &mut self,
        encounter: &Encounter,
        field: Vec<(Track, Vec<f64>, f64)>,
        look: Look,
        rounds: usize,
    ) -> Vec<(Track, Polished)> {
        let mut field = self.side_by_side(field, |search, (track, x, trust)| {
            let mut polish = Polish { question: search.question, encounter, track: &track, look, work: 0 };
            let polished = polish.run(&x, rounds, trust);
            search.work += polish.work;
            (track, polished)
        });
        field.sort_by(|a, b| a.1.value().total_cmp(&b.1.value()));
        field
    }

    /// Improves courses coarsely, the promising ones longer (`patience` times the usual; `kept` of them at least a third
    /// of that), polishes the best of those and inspects the winner; or says what stopped the best.
    fn compete(
        &mut self,
        encounter: &Encounter,
        courses: Vec<(Track, Vec<f64>)>,
        kept: usize,
        patience: usize,
    ) -> (Option<Found>, Option<String>) {
        // A step that was not trusted far is trusted a little farther after a look at the others.
        let numbers = |field: Vec<(Track, Polished)>| -> Vec<(Track, Vec<f64>, f64)> {
            let go_on = |(track, polished): (Track, Polished)| {
                let trust = polished.trust.max(0.1);
                (track, polished.x, trust)
            };
            field.into_iter().map(go_on).collect()
        };
        let total = patience * self.effort.coarse;
        // Most starts show soon whether they lead anywhere: each round has fewer of them, for longer.
        let first = if kept >= courses.len() { total } else { total / 4 };
        let courses = courses.into_iter().map(|(t, x)| (t, x, 1.0)).collect();
        let mut field = self.polish_all(encounter, courses, COARSE, first);
        if first < total {
            field.truncate(kept);
            field = self.polish_all(encounter, numbers(field), COARSE, total / 3);
            field.truncate(self.effort.polished + 2);
            field = self.polish_all(encounter, numbers(field), COARSE, total - total / 3 - first);
        }
        field.truncate(self.effort.polished);
        let mut fine = self.side_by_side(field, |search, (track, polished)| {
            let polished = search.refine(&track, &polished);
            (track, polished)
        });
        fine.sort_by(|a, b| a.1.value().total_cmp(&b.1.value()));
        self.starts = fine.iter().map(|(track, polished)| track.path(self.question, &polished.x)).collect();
        let (mut found, mut stopped_by) = (None, None);
        // The last polish may turn the two best round; the others are for where both fail.
        let mut fine = fine.into_iter();
        loop {
            let two: Vec<(Track, Polished)> = fine.by_ref().take(2).collect();
            if two.is_empty() || found.is_some() {
                return if found.is_some() { (found, None) } else { (None, stopped_by) };
            }
            let finished =
                self.side_by_side(two, |search, (track, polished)| search.finish(&track, &polished));
            for answer in finished {
                match answer {
                    Ok(answer) => found = better(found, Some(answer)),
                    Err(why) => stopped_by = stopped_by.or(Some(why)),
                }
            }
        }
    }

    /// Does something with each of several things, on as many threads as there are; the order is kept and the work added
    /// up, so that the answers do not depend on the threads.
    fn side_by_side<T: Send, R: Send>(
        &mut self,
        things: Vec<T>,
        work: impl Fn(&mut Search, T) -> R + Sync,
    ) -> Vec<R> {
        let (question, effort) = (self.question, self.effort);
        let done: Vec<(R, u64)> = things
            .into_par_iter()
            .map(|thing| {
                let mut search = Search { question, effort, work: 0, starts: Vec::new() };
                let result = work(&mut search, thing);
                (result, search.work)
            })
            .collect();
        self.work += done.iter().map(|(_, work)| work).sum::<u64>();
        done.into_iter().map(|(result, _)| result).collect()
    }

    /// A path that begins in the lane, as a course with knots this far apart.
    fn course(&self, path: &Path, spacing_m: f64) -> (Track, Vec<f64>) {
        let (lane, lead) = (self.question.lane, path.start.lead.position);
        let station = lane.station_near(lead);
        let offset = lane.pose(station, 0.0).to_body(lead).y;
        Track::fit(path, station, offset, self.question.vehicle.steering.max_curvature, spacing_m)
    }

    /// Paths that answered a kindred question, as courses.
    fn seeded(&self, seeds: &[Path]) -> Vec<(Track, Vec<f64>)> {
        seeds.iter().map(|path| self.course(path, self.effort.spacing_m)).collect()
    }

    /// The ways that grids of poses show, as courses.
    fn grid_ways(&mut self, encounter: &Encounter) -> Vec<(Track, Vec<f64>)> {
        let question = self.question;
        // A trailer pushed back strays from what a grid shows of it; driving out tells more.
        if question.pushes_trailer() || self.effort.lattice == 0 {
            return Vec::new();
        }
        let plan = Plan::of(question.maneuver, question.shunts);
        let (ways, looked) = lattice::ways(question, encounter, &plan, LATTICE_WAYS, self.effort.lattice);
        self.work += u64::try_from(looked).unwrap_or(0);
        // Knots where the steps end, or evenly between.
        let spacing_m = |step_m: f64| step_m / (step_m / self.effort.spacing_m).ceil();
        ways.iter().map(|way| self.course(&way.path, spacing_m(way.step_m))).collect()
    }

    /// The ways drivers take, and `drawn` maneuvers drawn at random, as courses.
    fn drivers_ways(&mut self, encounter: &Encounter, drawn: usize) -> Vec<(Track, Vec<f64>)> {
        let question = self.question;
        let plan = Plan::of(question.maneuver, question.shunts);
        let lane = question.lane;
        let opposite = lane.station_near(Point::default());
        let heading = lane.pose(opposite, 0.0).heading;
        // The gate lies up the v axis; heading along +u it is on the left.
        let side = if wrap_angle(heading).abs() <= std::f64::consts::FRAC_PI_2 { 1.0 } else { -1.0 };
        let mut courses: Vec<(Track, Vec<f64>)> = Vec::new();
        let max = question.vehicle.steering.max_curvature;
        let mut ways = course::templates(question, &plan, side);
        // Behind a trailer pushed back steering drawn at random leads nowhere; driving out shows the ways in.
        let pushed = question.pushes_trailer();
        ways.extend(course::drawn(question, &plan, if pushed { 0 } else { drawn }));
        if pushed && plan.legs.len() == 2 {
            for path in pull_out::ways(question, &encounter.chain) {
                let station = lane.station_near(path.start.lead.position);
                courses.push(Track::fit(&path, station, 0.0, max, self.effort.spacing_m));
            }
            // The list of pushes is for where no way out shows one in.
            if drawn == 0 && !courses.is_empty() {
                return courses;
            }
        }
        for mut x in ways {
            x[0] = opposite - 8.0;
            self.slide_to_gate(&plan, encounter, &mut x);
            let path = plan.path(question, &x);
            let path = cut_at_goal(question, encounter, &path).unwrap_or(path);
            courses.push(Track::fit(&path, x[0], x[1], max, self.effort.spacing_m));
        }
        courses
    }

    /// Moves the start along the lane until the course crosses the gate line near the gate.
    fn slide_to_gate(&mut self, plan: &Plan, encounter: &Encounter, x: &mut [f64]) {
        for _ in 0..3 {
            let path = plan.path(self.question, x);
            let samples = path.samples(&encounter.chain, 0.5);
            self.work += u64::try_from(samples.len()).unwrap_or(0);
            let last = encounter.chain.towed_count();
            let crossing = samples.windows(2).find_map(|pair| {
                let a = encounter.chain.unit_poses(&pair[0].state)[last].position;
                let b = encounter.chain.unit_poses(&pair[1].state)[last].position;
                (a.y < 0.0 && b.y >= 0.0).then_some(b.x)
            });
            let Some(u) = crossing else { return };
            let along = self.question.lane.pose(x[0], 0.0).heading;
            x[0] -= u * if wrap_angle(along).abs() <= std::f64::consts::FRAC_PI_2 { 1.0 } else { -1.0 };
        }
    }

    /// Polishes a start finely, with the leaves its opening implies.
    fn refine(&mut self, track: &Track, start: &Polished) -> Polished {
        let value = start.value();
        let encounter = self.encounter(value * 1.02 + 0.02, value * 1.1 + 0.1);
        let mut polish =
            Polish { question: self.question, encounter: &encounter, track, look: FINE, work: 0 };
        let polished = polish.run(&start.x, self.effort.fine, 1.0);
        self.work += polish.work;
        polished
    }

    /// Polishes a finalist on knots half as far apart, and inspects it.
    fn finish(&mut self, track: &Track, start: &Polished) -> Result<Found, String> {
        let max = self.question.vehicle.steering.max_curvature;
        let path = track.path(self.question, &start.x);
        // Where the wheels turn slowly, knots nearer to each other than half the way to full lock gain nothing.
        let finer = (0.5 * self.question.vehicle.steering.lock_distance_m).clamp(0.25, 0.5);
        let (track, x) = Track::fit(&path, start.x[0], start.x[1], max, finer * self.effort.spacing_m);
        let polished = self.refine(&track, &Polished { x, ..*start });
        self.settle(&track, &polished.x, polished.value())
    }

    /// Inspects a course: the opening that certainly suffices for it, with the leaves that opening implies.
    fn settle(&mut self, track: &Track, x: &[f64], value: f64) -> Result<Found, String> {
        let mut opening = value.clamp(0.1, 60.0);
        let mut encounter = self.encounter(opening, opening);
        let path = track.path(self.question, x);
        let path = cut_at_goal(self.question, &encounter, &path)
            .ok_or_else(|| "no course tried gets wholly inside".to_owned())?;
        let mut inspection = inspect(&encounter, &path);
        // Shorter leaves need less; widen until the leaves of the opening itself let the path through.
        for _ in 0..12 {
            if inspection.opening_m <= opening + 1e-9 {
                break;
            }
            opening = inspection.opening_m;
            encounter = self.encounter(opening, opening);
            inspection = inspect(&encounter, &path);
        }
        // The inspection sees gaps; what the vehicle can do and what the maneuver allows is asked here.
        if let Some(fault) = path.limit_faults(self.question.vehicle).first() {
            return Err(fault.what.clone());
        }
        let entered = |leg: usize| inspection.most_v[leg] > encounter.surroundings.front_v();
        if (0..path.legs.len()).any(|leg| Track::keeps_out(self.question, leg) && entered(leg)) {
            return Err("it would have to enter the gate before it stops to back in".to_owned());
        }
        // A leaf that stands in the way and grows with the opening can be passed by an opening nobody builds.
        if inspection.opening_m > proof::WIDEST_M {
            return Err("no opening up to 30 m lets it through".to_owned());
        }
        // Whatever passes between the posts needs its own width there.
        if inspection.opening_m < least_width(self.question.vehicle) - 1e-6 {
            return Err("it would have to go round the end of the gate line".to_owned());
        }
        if inspection.passes(EDGE_TOLERANCE_M) && inspection.opening_m <= opening + 1e-9 {
            return Ok(Found { path, inspection });
        }
        let what = inspection.touches.first().map_or("the site", |t| t.what.as_str());
        Err(if inspection.ground_m < -EDGE_TOLERANCE_M {
            "the tires leave the road or the drive".to_owned()
        } else {
            what.to_owned()
        })
    }
}

/// Steps in which a path is followed to see where it arrives.
const ARRIVAL_STEP_M: f64 = 0.05;
/// How far beyond a described course its last leg is followed to get wholly inside.
const RUN_OUT_M: f64 = 12.0;

/// A path cut off where the vehicle has arrived (running on at its last curvature if it must); `None` if it does not.
fn cut_at_goal(question: &Question, encounter: &Encounter, path: &Path) -> Option<Path> {
    let mut path = path.clone();
    let last = path.legs.pop()?;
    let before = path.end(&encounter.chain);
    let mut state = if path.legs.is_empty() { path.start } else { before };
    let mut scratch = Scratch::default();
    let surroundings = &encounter.surroundings;
    let goal_v = surroundings.beyond_v + encounter.clearance_m + 0.0005;
    let mut arrived = |state: &State| {
        let need = encounter.need(&encounter.chain.unit_poses(state), &mut scratch);
        need.least_v >= goal_v && question.spot.as_ref().is_none_or(|s| s.reached(&encounter.chain, state))
    };
    let mut segments = last.segments.clone();
    let end = last.segments.last()?.curvature_end;
    segments.push(Segment::arc(RUN_OUT_M, end));
    let mut kept = Vec::with_capacity(segments.len());
    for segment in segments.into_iter().filter(|s| s.length_m > 0.0) {
        let steps = (segment.length_m / ARRIVAL_STEP_M).ceil();
        let step = segment.length_m / steps;
        let k = |i: f64| {
            segment.curvature_start + (segment.curvature_end - segment.curvature_start) * (i / steps)
        };
        let mut i = 0.0;
        while i < steps {
            state = encounter.chain.advance(&state, last.direction.sign() * step, k(i), k(i + 1.0));
            i += 1.0;
            if arrived(&state) {
                kept.push(Segment { length_m: step * i, curvature_end: k(i), ..segment });
                path.legs.push(Leg { direction: last.direction, segments: kept });
                return Some(path);
            }
        }
        kept.push(segment);
    }
    None
}

/// The outline a [`Goal`] is held against: the lead unit's largest body part.
#[must_use]
pub fn lead_outline(vehicle: &Vehicle) -> Vec<Point> {
    let bodies = vehicle.units[0].parts.iter().filter(|p| p.kind == PartKind::Body);
    let largest = bodies.max_by(|a, b| a.outline.signed_area().total_cmp(&b.outline.signed_area()));
    largest.map_or_else(Vec::new, |p| p.outline.0.clone())
}
