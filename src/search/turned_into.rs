//! Starts of a vehicle from another road: it turns into the road in front of the gate and goes on as a vehicle of that
//! road.
//!
//! A search that begins on the other road rarely finds such a path for a vehicle with a trailer: the path is long, and the
//! trailer has to be in line again before it is pushed back. So the way in is searched for from the lanes turned into,
//! from wherever the vehicle stands there, and the drive from the other road is put before it: the vehicle follows its own
//! lane and the corner by pure pursuit. A trailer cuts corners, so lines that go wide of the corner are tried too. Where the
//! drive can be made to end exactly as the way in begins, it is; the path that violates constraints least is taken.
use super::first_leg::{LedUp, end_of_first_leg, led_up_to};
use super::lane::{Lane, StartZone};
use super::multistart::{Outcome, Search, Where, certified, search};
use super::pursuit::Pursuit;
use super::slp::{Objective, SlpIterate, WarmStart};
use super::transcription::Transcription;
use super::{Effort, Problem};
use crate::clearance::CollisionModel;
use crate::geometry::distance::crossing;
use crate::geometry::{Point, wrap_angle};
use crate::motion::{Chain, Path, Segment};

/// Distance beyond the end of a lane at which it may still meet another: people draw a road up to another's edge.
const MEETS_WITHIN_M: f64 = 12.0;
/// Distances by which the line goes straight on past the corner, meters.
const WIDE_M: [f64; 4] = [0.0, 1.5, 3.0, 4.5];
/// Distance along the lane turned into in which the line comes back to it, in vehicle lengths.
const BACK_IN_LINE: f64 = 0.6;
/// Look-ahead distance, in least turning radii.
const AHEAD: f64 = 0.6;
/// Number of starts that are polished, those that violate constraints least.
const MOST_STARTS: usize = 4;
/// Linear programs of a coarse polish, in the usual number: a trailer pushed back converges late.
const PATIENCE: usize = 3;
/// Step of the pursuit, meters.
const STEP_M: f64 = 0.5;
/// Number of times that the start is moved so that a whole number of steps ends where the way in begins.
const TIMES_MOVED: usize = 3;
/// Difference in heading at which the vehicle is not in line with the lane where the way in begins, radians.
const NOT_IN_LINE_RAD: f64 = 0.5;
/// Farthest distance driven to there, meters.
const FARTHEST_M: f64 = 200.0;

/// A start that turns into another lane.
struct Start {
    /// Largest violation of a constraint as it stands, meters.
    violation_m: f64,
    track: Transcription,
    x: Vec<f64>,
}

impl Search<'_> {
    /// Ways in that turn into another lane first, where the best so far needs `so_far_m`.
    pub(super) fn turned_into(&mut self, model: &CollisionModel, so_far_m: f64, guess_m: f64) -> Outcome {
        let problem = self.problem;
        let mut starts: Vec<Start> = Vec::new();
        for lane in &problem.lane.turns_into {
            let other = Problem { lane, ..problem.clone() };
            let effort = Effort { finest: 0, ..self.effort };
            // As in a study, the paths of comfort start from those that touch nothing.
            let mut seeds = Vec::new();
            if problem.clearance_m > 0.0 {
                let bare = Problem { clearance_m: 0.0, ..other.clone() };
                let finding = search(&bare, effort, &[], (guess_m, f64::INFINITY), Where::Starts);
                self.work += finding.work;
                seeds = finding.starts;
            }
            let finding = search(&other, effort, &seeds, (guess_m, so_far_m), Where::Starts);
            self.work += finding.work;
            let opening_m = certified(finding.opening_m());
            if !opening_m.is_finite() {
                continue;
            }
            let about = self.model_about(opening_m);
            for path in &finding.starts {
                starts.extend(self.turning_into(&about, lane, path));
            }
        }
        starts.sort_by(|a, b| a.violation_m.total_cmp(&b.violation_m));
        starts.truncate(MOST_STARTS);
        let courses = starts.into_iter().map(|start| (start.track, start.x)).collect();
        self.successive_halving(model, courses, usize::MAX, PATIENCE)
    }

    /// Puts the drive from the vehicle's own lane before a path that begins in another lane; `None` where the lanes do
    /// not meet or the path begins too near to where they do.
    fn turning_into(&mut self, model: &CollisionModel, other: &Lane, path: &Path) -> Option<Start> {
        let problem = self.problem;
        let max = problem.vehicle.steering.max_curvature;
        let stops = end_of_first_leg(path, &model.chain);
        let mut best: Option<Start> = None;
        for wide_m in WIDE_M {
            let line = line_into(problem.lane, other, wide_m, BACK_IN_LINE * problem.vehicle.length_m())?;
            for share in [1.0, 0.5] {
                let Some(begun) = driven_into(problem, &model.chain, &line, path, share) else { continue };
                let start = problem.lane.station_and_offset(&begun.start.lead);
                let fitted = Transcription::retrace_or_fit(&begun, start, max, self.effort.spacing_m);
                let LedUp { track, x, ends_there } = led_up_to(problem, &model.chain, fitted, &stops);
                for x in std::iter::once(x).chain(ends_there) {
                    let start = WarmStart { x, trust_radius: 1.0, steps: None };
                    let look = self.fine();
                    let SlpIterate { x, violation_m, .. } =
                        self.descend((model, &track), Objective::Opening, look, &start, 0);
                    if best.as_ref().is_none_or(|best| violation_m < best.violation_m) {
                        best = Some(Start { violation_m, track: track.clone(), x });
                    }
                }
            }
        }
        best
    }
}

/// Line along `own` to the corner with `other`, `wide_m` past it and back in line `back_m` along `other`; `None` where
/// they do not meet.
fn line_into(own: &Lane, other: &Lane, wide_m: f64, back_m: f64) -> Option<Vec<Point>> {
    let ends = own.pose(own.length_m() + MEETS_WITHIN_M, 0.0).position;
    let extended: Vec<Point> = own.line[..own.line.len() - 1].iter().copied().chain([ends]).collect();
    let (index, corner, along) = extended.windows(2).enumerate().find_map(|(index, pair)| {
        let ahead = pair[1] - pair[0];
        let shares = other.line.windows(2).filter_map(|with| crossing(pair[0], ahead, (with[0], with[1])));
        let share = shares.map(|(share, _)| share).find(|share| (0.0..=1.0).contains(share))?;
        Some((index, pair[0] + ahead * share, ahead.unit()?))
    })?;
    let station = other.station_near(corner);
    let mut line = extended[..=index].to_vec();
    line.push(corner + along * wide_m);
    line.push(other.pose(station + back_m, 0.0).position);
    line.extend(after(other, station + back_m));
    Some(line)
}

/// Points of a lane's line after a station, and one far beyond its end.
fn after(lane: &Lane, station_m: f64) -> Vec<Point> {
    let mut along_m = 0.0;
    let mut points = Vec::new();
    for pair in lane.line.windows(2) {
        along_m += pair[0].distance(pair[1]);
        if along_m > station_m + 1.0 {
            points.push(pair[1]);
        }
    }
    if points.is_empty() {
        points.push(lane.pose(station_m + FARTHEST_M, 0.0).position);
    }
    points
}

/// Drives along a line to where a path begins, and then on as it goes; `share` shortens the look-ahead distance. `None`
/// where the line does not lead there.
fn driven_into(problem: &Problem, chain: &Chain, line: &[Point], path: &Path, share: f64) -> Option<Path> {
    let lane = problem.lane;
    let line = Lane::new(line.to_vec(), lane.play_m);
    let steering = problem.vehicle.steering;
    let pursuit = Pursuit {
        lane: &line,
        steering,
        ahead_m: AHEAD * share / steering.max_curvature.max(1e-3),
        aside_m: 0.0,
        step_m: STEP_M,
    };
    let begins = path.start.lead;
    let zone: &StartZone = lane.zones.last()?;
    let mut from_m = zone.stations_m.1;
    if !from_m.is_finite() {
        return None;
    }
    let mut driven = None;
    for _ in 0..TIMES_MOVED {
        let from = from_m.clamp(zone.stations_m.0, zone.stations_m.1);
        let start = lane.start(zone, from, 0.5 * (zone.play_m.0 + zone.play_m.1));
        let mut state = start;
        let mut segments: Vec<Segment> = Vec::new();
        let before = |p: Point| (begins.position - p).dot(Point::at_angle(begins.heading));
        let aside = |heading: f64| wrap_angle(heading - begins.heading).abs();
        while before(state.lead.position) > 0.5 * STEP_M || aside(state.lead.heading) > NOT_IN_LINE_RAD {
            if segments.len() as f64 * STEP_M > FARTHEST_M {
                return None;
            }
            let (segment, next) = pursuit.step(chain, &state, pursuit.wanted(&state));
            segments.push(segment);
            state = next;
        }
        from_m += before(state.lead.position);
        driven = Some((start, segments));
    }
    let (start, segments) = driven?;
    let mut way = Path { start, legs: path.legs.clone() };
    way.legs.first_mut()?.segments.splice(0..0, segments);
    Some(way)
}
