//! The narrowest opening over the maneuvers a vehicle can drive.
//!
//! The seam is [`narrowest`]: a [`Question`] in, a [`Finding`] out. A maneuver is described by a few numbers
//! ([`course::Plan`]), driven by the vehicle's own kinematics and scored ([`score::drive`]); many starts, each a way
//! drivers take, are improved by a derivative-free minimizer ([`cma`]); the best are polished on finer steps; and
//! the winner is inspected by [`crate::clearance::inspect`], whose bound holds between poses. What is reported
//! comes from that inspection alone, so the search may be wrong only by missing something narrower.
mod cma;
pub mod course;
mod random;
pub mod score;

use crate::clearance::{Encounter, Inspection, Surroundings, inspect};
use crate::geometry::{Point, distance, wrap_angle};
use crate::motion::{Chain, Path, State};
use crate::site::Maneuver;
use crate::vehicle::{PartKind, Vehicle};
use course::{Lane, Plan};
use random::Random;
use score::{COARSE, FINE, Look, drive};

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

/// How much work a search may do, counted in courses driven: the same on every machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Random variations of each template that are tried.
    pub variations: usize,
    /// Courses driven from each start, coarsely.
    pub coarse: usize,
    /// Best starts that are polished.
    pub polished: usize,
    /// Courses driven in polishing each.
    pub fine: usize,
}

impl Effort {
    /// The usual effort.
    pub const USUAL: Self = Self { variations: 2, coarse: 450, polished: 3, fine: 1100 };
    /// More, for a second look.
    pub const THOROUGH: Self = Self { variations: 6, coarse: 900, polished: 6, fine: 3000 };
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
    /// The numbers it was built from: a start for a kindred question.
    pub course: Vec<f64>,
}

/// Finds the narrowest opening. `seeds` are courses worth starting from (of a kindred question), besides the templates.
///
/// The same question gives the same finding on every machine.
#[must_use]
pub fn narrowest(question: &Question, effort: Effort, seeds: &[Vec<f64>]) -> Finding {
    let plan = Plan::of(question.maneuver, question.shunts);
    let mut search = Search { question, plan, work: 0, random: Random::new(0x6761_7465) };
    let at_least_m = least_width(question.vehicle) + 2.0 * question.clearance_m;
    // Leaves are cut longer than any opening that will be needed, then for the opening found.
    let guess = question.surroundings.drawn_faces_u.1 * 2.0;
    let mut encounter = search.encounter(guess.max(1.5 * at_least_m), 3.0 * at_least_m + 3.0);
    let mut starts = search.starts(&encounter, effort, seeds);
    starts.truncate(effort.polished);
    let mut best: Option<Found> = None;
    let mut stopped_by = None;
    for start in &starts {
        let mut x = start.clone();
        for round in 0..2 {
            let value = search.value(&encounter, &x, FINE);
            if value < 100.0 {
                encounter = search.encounter(value * 1.02 + 0.02, value * 1.1 + 0.1);
            }
            let shrink = if round == 0 { 0.12 } else { 0.02 };
            x = search.improve(&encounter, &x, shrink, effort.fine / 2, FINE);
        }
        match search.settle(&x) {
            Ok(found) => {
                if best.as_ref().is_none_or(|b| found.inspection.opening_m < b.inspection.opening_m) {
                    best = Some(found);
                }
            }
            Err(why) => stopped_by = stopped_by.or(Some(why)),
        }
    }
    let stopped_by = if best.is_some() { None } else { stopped_by };
    Finding { found: best, at_least_m, stopped_by, work: search.work }
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

struct Search<'a> {
    question: &'a Question<'a>,
    plan: Plan,
    work: u64,
    random: Random,
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

    fn value(&mut self, encounter: &Encounter, x: &[f64], look: Look) -> f64 {
        let (score, _) = drive(self.question, encounter, &self.plan, x, look);
        self.work += score.poses;
        score.value()
    }

    fn improve(
        &mut self,
        encounter: &Encounter,
        x: &[f64],
        scale: f64,
        evaluations: usize,
        look: Look,
    ) -> Vec<f64> {
        let steps: Vec<f64> = self.plan.steps().iter().map(|s| s * scale).collect();
        let mut random = self.random.clone();
        let mut work = 0;
        let value = |x: &[f64]| {
            let (score, _) = drive(self.question, encounter, &self.plan, x, look);
            work += score.poses;
            score.value()
        };
        let best = cma::minimize(value, x, &steps, evaluations, 2e-5, &mut random);
        self.random = random;
        self.work += work;
        best.x
    }

    /// Templates and their variations, each improved a little, best first.
    fn starts(&mut self, encounter: &Encounter, effort: Effort, seeds: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let question = self.question;
        let lane = question.lane;
        let opposite = lane.station_near(Point::default());
        let heading = lane.pose(opposite, 0.0).heading;
        // The gate lies up the v axis; heading along +u it is on the left.
        let side = if wrap_angle(heading).abs() <= std::f64::consts::FRAC_PI_2 { 1.0 } else { -1.0 };
        let mut ranked: Vec<(f64, Vec<f64>)> = Vec::new();
        for template in course::templates(question, &self.plan, side) {
            for variation in 0..effort.variations {
                let mut x = template.clone();
                if variation > 0 {
                    for (value, step) in x.iter_mut().zip(self.plan.steps()) {
                        *value += step * self.random.normal();
                    }
                }
                x[0] = opposite - 8.0;
                self.slide_to_gate(encounter, &mut x);
                let x = self.improve(encounter, &x, 1.0, effort.coarse, COARSE);
                ranked.push((self.value(encounter, &x, COARSE), x));
            }
        }
        let count = self.plan.parameters();
        for seed in seeds.iter().filter(|s| s.len() == count) {
            let x = self.improve(encounter, seed, 0.3, effort.coarse, COARSE);
            ranked.push((self.value(encounter, &x, COARSE), x));
        }
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
        ranked.into_iter().map(|(_, x)| x).collect()
    }

    /// Moves the start along the lane until the course crosses the gate line near the gate.
    fn slide_to_gate(&mut self, encounter: &Encounter, x: &mut [f64]) {
        for _ in 0..3 {
            let path = self.plan.path(self.question, x);
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

    /// Inspects a course: the opening that certainly suffices for it, with the leaves that opening implies.
    fn settle(&mut self, x: &[f64]) -> Result<Found, String> {
        let wide = self.question.surroundings.leaf_opening_m.max(30.0);
        let mut encounter = self.encounter(wide, f64::INFINITY);
        let (score, path) = drive(self.question, &encounter, &self.plan, x, FINE);
        self.work += score.poses;
        if score.short_m > 0.0 {
            return Err("no course tried gets wholly inside".to_owned());
        }
        let mut inspection = inspect(&encounter, &path);
        // Shorter leaves need less; widen until the leaves of the opening itself let the path through.
        let mut opening = score.opening_m;
        for _ in 0..12 {
            encounter = self.encounter(opening, opening);
            inspection = inspect(&encounter, &path);
            if inspection.opening_m <= opening + 1e-9 {
                break;
            }
            opening = inspection.opening_m;
        }
        if inspection.passes(EDGE_TOLERANCE_M) && inspection.opening_m <= opening + 1e-9 {
            inspection.opening_m = inspection.opening_m.max(0.0);
            return Ok(Found { path, inspection, course: x.to_vec() });
        }
        let what = inspection.touches.first().map_or("the site", |t| t.what.as_str());
        Err(if inspection.ground_m < -EDGE_TOLERANCE_M {
            "the tires leave the road or the drive".to_owned()
        } else {
            what.to_owned()
        })
    }
}

/// The outline a [`Goal`] is held against: the lead unit's largest body part.
#[must_use]
pub fn lead_outline(vehicle: &Vehicle) -> Vec<Point> {
    let bodies = vehicle.units[0].parts.iter().filter(|p| p.kind == PartKind::Body);
    let largest = bodies.max_by(|a, b| a.outline.signed_area().total_cmp(&b.outline.signed_area()));
    largest.map_or_else(Vec::new, |p| p.outline.0.clone())
}
