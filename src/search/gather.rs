//! Starts of a search: the paths that grids of poses show, those that drivers take, the ways out of a trailer that is
//! pushed back, paths without shunts, and ways in from the other half of the road.
use super::approach::{approached, moved_over};
use super::arrival::cut_at_goal;
use super::first_leg::{LedUp, end_of_first_leg, led_up_to};
use super::multistart::{KEPT, Search, Where, search};
use super::slp::WarmStart;
use super::templates::{self, LegPattern};
use super::to_spot::on_to_spot;
use super::transcription::Transcription;
use super::{COARSE, Effort, Problem, at_least, lattice, reversed_pursuit, shunts};
use crate::clearance::CollisionModel;
use crate::geometry::{Point, trig, wrap_angle};
use crate::motion::{Chain, Path};

/// Number of ways in requested from the grids: most lead to the same one.
const LATTICE_WAYS: usize = 6;
/// Paths that pull a trailer out and need more than this many times the least are not followed.
const PULLED_OUT_WORTH: f64 = 1.5;
/// Moving over first is tried where the opening so far is more than this many times the vehicle's width plus clearance.
const WORTH_MOVING_OVER: f64 = 1.12;
/// Factor by which finer grids may evaluate more poses.
const FINE_POSES: usize = 6;
/// A lane nearer to square to the gate line than this, as a cosine, leads to the gate.
const LEAST_SLIDE: f64 = 0.5;
/// Number of starts that are improved: the best ones as they stand.
const STARTS: usize = 12;
/// Number of maneuvers drawn at random where nothing else leads through an opening anyone would build.
const LAST_RESORT: usize = 40;

impl Search<'_> {
    /// Starts of the search: the paths that grids show, those of drivers, and with shunts those without.
    pub(super) fn starts(&mut self, model: &CollisionModel) -> Vec<(Transcription, Vec<f64>)> {
        let problem = self.problem;
        if problem.shunts > 1 {
            // The list holds few of the paths that go back and forth, and their initial value says little about them.
            let mut courses = self.drivers_ways(model, self.effort.drawn.max(LAST_RESORT));
            let (paths, work) = shunts::starts(problem, self.effort);
            self.work += work;
            courses.extend(self.seeded(&paths));
            return courses;
        }
        // For a trailer pushed back the ways out are better starts than the grids', and cost nothing.
        let mut courses = if problem.pushes_trailer() { Vec::new() } else { self.grid_ways(model, false) };
        courses.extend(self.drivers_ways(model, self.effort.drawn));
        self.best_as_they_stand(model, courses)
    }

    /// The best starts as they stand, no more than are improved.
    fn best_as_they_stand(
        &mut self,
        model: &CollisionModel,
        mut courses: Vec<(Transcription, Vec<f64>)>,
    ) -> Vec<(Transcription, Vec<f64>)> {
        if courses.len() > STARTS {
            courses = self.ranked(model, courses);
            courses.truncate(STARTS);
        }
        courses
    }

    /// Starts that first move over to the other half of the road: ways in from there, where the best way in so far is
    /// clearly wider than the vehicle. A vehicle that may move over can use any way in from there.
    pub(super) fn moved_over(
        &mut self,
        model: &CollisionModel,
        so_far_m: f64,
        guess_m: f64,
    ) -> Vec<(Transcription, Vec<f64>)> {
        let problem = self.problem;
        let Some(lane) = problem.moved_over().filter(|_| so_far_m > WORTH_MOVING_OVER * at_least(problem))
        else {
            return Vec::new();
        };
        let other = Problem { lane: &lane, ..problem.clone() };
        let effort = Effort { finest: 0, ..self.effort };
        let finding = search(&other, effort, &[], (guess_m, so_far_m), Where::Starts);
        self.work += finding.work;
        let max = problem.vehicle.steering.max_curvature;
        let course = |path: &Path| {
            let way = moved_over(problem, &model.chain, path)?;
            let (station, offset) = problem.lane.station_and_offset(&way.start.lead);
            let (track, x) = Transcription::fit(&way, station, offset, max, self.effort.spacing_m);
            // Nothing grows from where a vehicle without a trailer stops.
            if !problem.pushes_trailer() {
                return Some(track.in_lane(problem.lane, max, x));
            }
            let stops = end_of_first_leg(path, &model.chain);
            let LedUp { track, x, ends_there } = led_up_to(problem, &model.chain, (track, x), &stops);
            Some((track, ends_there.unwrap_or(x)))
        };
        finding.starts.iter().filter_map(course).collect()
    }

    /// Transcribes a path that pushes a trailer back, `way`, which begins with the drive up to `path`: so that it ends
    /// exactly where the path begins, or else with start slack.
    fn led_up(&self, chain: &Chain, path: &Path, way: &Path) -> (Transcription, Vec<f64>) {
        let (problem, spacing_m) = (self.problem, self.effort.spacing_m);
        if way.start != path.start {
            let max = problem.vehicle.steering.max_curvature;
            let (station, offset) = problem.lane.station_and_offset(&way.start.lead);
            let fitted = Transcription::fit(way, station, offset, max, spacing_m);
            let led_up = led_up_to(problem, chain, fitted, &end_of_first_leg(path, chain));
            if let Some(x) = led_up.ends_there {
                return (led_up.track, x);
            }
        }
        Transcription::fit_with_start_slack(problem, way, spacing_m)
    }

    /// Ways in without regard to the spot, with the shortest ways on to it: the grids and the lists hold few that end far from
    /// the gate.
    pub(super) fn ways_to_spot(&mut self, model: &CollisionModel) -> Vec<(Transcription, Vec<f64>)> {
        let problem = self.problem;
        // A trailer is not pushed along arcs.
        if problem.spot.is_none() || problem.pushes_trailer() {
            return Vec::new();
        }
        let anywhere = Problem { spot: None, ..problem.clone() };
        let mut search = Search { problem: &anywhere, ..*self };
        let mut ways = search.grid_ways(model, false);
        ways.extend(search.drivers_ways(model, self.effort.drawn));
        self.work = search.work;
        let (lane, max) = (problem.lane, problem.vehicle.steering.max_curvature);
        let way_on = |(track, x): &(Transcription, Vec<f64>)| -> Vec<(Transcription, Vec<f64>)> {
            let path = track.path(&anywhere, x);
            let Some(path) = cut_at_goal(&anywhere, model, &path) else { return Vec::new() };
            let on = on_to_spot(problem, &model.chain, &path);
            let fitted = |path: &Path| {
                let (station, offset) = lane.station_and_offset(&path.start.lead);
                let (track, x) = Transcription::fit(path, station, offset, max, self.effort.spacing_m);
                track.in_lane(lane, max, x)
            };
            on.iter().map(fitted).collect()
        };
        let ways = ways.iter().flat_map(way_on).collect();
        self.best_as_they_stand(model, ways)
    }

    /// Further starts: maneuvers drawn at random, and the paths that grids show for a trailer pushed back.
    pub(super) fn last_resort(&mut self, model: &CollisionModel) -> Vec<(Transcription, Vec<f64>)> {
        let mut courses = self.grid_ways(model, true);
        courses.extend(self.drivers_ways(model, LAST_RESORT));
        courses
    }

    /// Paths that grids of poses show, transcribed.
    fn grid_ways(&mut self, model: &CollisionModel, fine: bool) -> Vec<(Transcription, Vec<f64>)> {
        let problem = self.problem;
        if self.effort.lattice == 0 {
            return Vec::new();
        }
        let plan = LegPattern::of(problem.maneuver, problem.shunts);
        let (ways, looked) = if fine {
            lattice::fine_ways(problem, model, &plan, LATTICE_WAYS, FINE_POSES * self.effort.lattice)
        } else {
            lattice::ways(problem, model, &plan, LATTICE_WAYS, self.effort.lattice)
        };
        self.work += u64::try_from(looked).unwrap_or(0);
        // Knots where the grid's steps end, or evenly between.
        let spacing_m = |step_m: f64| step_m / (step_m / self.effort.spacing_m).ceil();
        let course = |way: &lattice::Seed| {
            let path = approached(problem, model, &way.path)?;
            Some(Transcription::fit_with_start_slack(problem, &path, spacing_m(way.step_m)))
        };
        ways.iter().filter_map(course).collect()
    }

    /// Paths that drivers take, and `drawn` maneuvers drawn at random, transcribed.
    fn drivers_ways(&mut self, model: &CollisionModel, drawn: usize) -> Vec<(Transcription, Vec<f64>)> {
        let problem = self.problem;
        let plan = LegPattern::of(problem.maneuver, problem.shunts);
        let lane = problem.lane;
        let opposite = lane.station_near(Point::default());
        let heading = lane.pose(opposite, 0.0).heading;
        let turn_rad = wrap_angle(lattice::entering_heading(&plan) - heading);
        let mut courses: Vec<(Transcription, Vec<f64>)> = Vec::new();
        let max = problem.vehicle.steering.max_curvature;
        let mut ways = templates::templates(problem, &plan, turn_rad);
        // For a trailer pushed back steering drawn at random leads nowhere; driving out shows the ways in.
        let pushed = problem.pushes_trailer();
        ways.extend(templates::drawn(problem, &plan, if pushed { 0 } else { drawn }));
        if pushed && plan.legs.len() == 2 {
            for path in self.pulled_out(model, &plan) {
                let led_up = approached(problem, model, &path);
                courses.extend(led_up.map(|way| self.led_up(&model.chain, &path, &way)));
            }
            // The list of pushes is for the case that no way out shows a way in.
            if drawn == 0 && !courses.is_empty() {
                return courses;
            }
        }
        for mut x in ways {
            x[0] = if lane.leads_away { lane.first_start_m() } else { opposite - 8.0 };
            self.slide_to_gate(&plan, model, &mut x);
            let path = plan.path(problem, &x);
            let path = cut_at_goal(problem, model, &path).unwrap_or(path);
            let Some(path) = approached(problem, model, &path) else { continue };
            let (station, offset) = lane.station_and_offset(&path.start.lead);
            let (track, x) = Transcription::fit(&path, station, offset, max, self.effort.spacing_m);
            courses.push(track.in_lane(lane, max, x));
        }
        courses
    }

    /// Paths that push a trailer back in, each improved in reverse as a path that pulls it out.
    fn pulled_out(&mut self, model: &CollisionModel, plan: &LegPattern) -> Vec<Path> {
        let (problem, effort) = (self.problem, self.effort);
        let mut ways = reversed_pursuit::ways(problem, &model.chain);
        let (grid, looked) = lattice::ways(problem, model, plan, LATTICE_WAYS, effort.lattice);
        self.work += u64::try_from(looked).unwrap_or(0);
        ways.extend(grid.into_iter().map(|way| way.path));
        let courses = ways.iter().map(|path| {
            let mut out = path.reversed(&model.chain);
            out.legs.truncate(1);
            let (track, x) = Transcription::fit_outward(problem, &out, effort.spacing_m);
            (track, WarmStart { x, trust_radius: 1.0, steps: None })
        });
        let field = self.polish_all(model, courses.collect(), COARSE, effort.coarse);
        let best = field.first().map_or(f64::INFINITY, |(_, polished)| polished.value());
        let near = field.into_iter().filter(|(_, polished)| polished.value() <= PULLED_OUT_WORTH * best);
        near.take(KEPT)
            .map(|(track, polished)| {
                let back = track.path(problem, &polished.x).reversed(&model.chain);
                reversed_pursuit::with_first_leg(problem, &model.chain, back)
            })
            .collect()
    }

    /// Moves the start along the lane until the path crosses the gate line near the gate.
    fn slide_to_gate(&mut self, plan: &LegPattern, model: &CollisionModel, x: &mut [f64]) {
        let heading = self.problem.lane.pose(x[0], 0.0).heading;
        // Along a lane that leads straight to the gate there is nothing to slide.
        if trig::cos(heading).abs() < LEAST_SLIDE {
            return;
        }
        for _ in 0..3 {
            let path = plan.path(self.problem, x);
            let samples = path.samples(&model.chain, 0.5);
            self.work += u64::try_from(samples.len()).unwrap_or(0);
            let last = model.chain.towed_count();
            let crossing = samples.windows(2).find_map(|pair| {
                let a = model.chain.unit_poses(&pair[0].state)[last].position;
                let b = model.chain.unit_poses(&pair[1].state)[last].position;
                (a.y < 0.0 && b.y >= 0.0).then_some(b.x)
            });
            let Some(u) = crossing else { return };
            let along = self.problem.lane.pose(x[0], 0.0).heading;
            x[0] -= u * if wrap_angle(along).abs() <= std::f64::consts::FRAC_PI_2 { 1.0 } else { -1.0 };
        }
    }
}
