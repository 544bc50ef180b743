//! Ways to back in, found by driving out: a path driven out forward covers the same ground backed in.
//!
//! Pushing a trailer back is unstable, so steering it in by guesses leads nowhere; pulling it out is stable, and any
//! driver finds the lane. Each path starts inside, facing out, and follows the lane by [`Pursuit`] until the vehicle
//! is in line with it, bent as it drives along the bend there. Reversed, it begins in the lane, nearly in line with it: what remains
//! at the hitch, a degree, grows to the fold at the gate. A start must stand exactly in line with the lane, so the search has yet to
//! find the steering that makes that angle; it begins from the way out as it is and removes the angle little by little
//! ([`super::transcription::Transcription::start_slack`]).
//!
//! Part of the engine, public for the tests that hold it.
use super::Problem;
use super::lane::settled_hitch;
use super::pursuit::Pursuit;
use crate::geometry::{Point, Pose, trig, wrap_angle};
use crate::motion::{Chain, Direction, Leg, Path, Segment, State};

/// Angles to the gate's axis at which the vehicle is driven out, radians: about 20 degrees either way.
const ANGLES: [f64; 3] = [-0.35, 0.0, 0.35];
/// Distances before the lane at which the turn begins, in least turning radii.
const EARLY: [f64; 3] = [0.7, 1.0, 1.5];
/// Look-ahead distances along the lane, in least turning radii.
const AHEAD: [f64; 2] = [0.6, 1.2];
/// A vehicle nearer to the lane's direction beside it than this is in line with the road.
const IN_LINE_RAD: f64 = 0.1;
/// Step of the simulated drive, meters: that of the search's knots, so that the path found is the path transcribed.
const STEP_M: f64 = 1.0;
/// Largest distance driven to stand in line with the lane.
const FARTHEST_M: f64 = 90.0;
/// Length of the first leg, straight forward before the vehicle stops to back in; the search lengthens and bends it.
const FIRST_LEG_M: f64 = 2.0;
/// Distance along the lane to either side over which its bend is measured: longer than the chords of a drawn curve.
const BEND_REACH_M: f64 = 5.0;

/// Maneuvers of a forward leg and a reverse one that end inside the gate.
#[must_use]
pub fn ways(problem: &Problem, chain: &Chain) -> Vec<Path> {
    let mut list = Vec::new();
    // Out over the other half of the road first, where the road has two.
    let halves = [0.0, problem.moved_over().map_or(0.0, |_| problem.lane.other_half_m)];
    for aside_m in halves.into_iter().take(if halves[1] == 0.0 { 1 } else { 2 }) {
        for ahead in AHEAD {
            for early in EARLY {
                for angle in ANGLES {
                    list.extend(way(problem, chain, (angle, early, ahead, aside_m)));
                }
            }
        }
    }
    list
}

fn way(
    problem: &Problem,
    chain: &Chain,
    (angle, early, ahead, mut aside_m): (f64, f64, f64, f64),
) -> Option<Path> {
    let lane = problem.lane;
    let steering = problem.vehicle.steering;
    let max = steering.max_curvature.max(1e-3);
    let radius = 1.0 / max;
    let opposite = lane.pose(lane.station_near(Point::default()), 0.0);
    let heading = angle - std::f64::consts::FRAC_PI_2;
    let lead = &problem.vehicle.units[0];
    let reach = lead.wheelbase_m + lead.front_overhang_m + problem.surroundings.beyond_v + 1.0;
    // Back along the way out, so that it crosses the gate line in the middle.
    let start = Point::at_angle(heading) * (-reach / trig::sin(heading).abs());
    let mut state = State { lead: Pose { position: start, heading }, ..State::default() };
    let begun = state;
    let away = |p: Point| (p - opposite.position).dot(Point::at_angle(opposite.heading).left());
    let inside = away(start).signum();
    let mut segments: Vec<Segment> = Vec::new();
    let mut rolled = 0.0;
    let mut turning = false;
    let mut in_line = None;
    while rolled < FARTHEST_M {
        turning = turning || (away(state.lead.position) - aside_m) * inside < early * radius;
        let pursuit = Pursuit { lane, steering, ahead_m: ahead * radius, aside_m, step_m: STEP_M };
        let wanted = if turning { pursuit.wanted(&state) } else { 0.0 };
        let (segment, next) = pursuit.step(chain, &state, wanted);
        state = next;
        segments.push(segment);
        rolled += STEP_M;
        let station = lane.station_near(state.lead.position);
        let (heading, curvature) = lane.bend_at(station, BEND_REACH_M);
        let turned = wrap_angle(state.lead.heading - heading).abs();
        // In line with the road it moves over to its own half.
        if turning && turned < IN_LINE_RAD {
            aside_m = 0.0;
        }
        // Along a bend it follows the bend's own curve.
        let settled = |chain: &Chain| {
            let hitch = settled_hitch(chain, curvature, problem.vehicle.length_m());
            state.hitch.iter().zip(hitch).all(|(phi, usual)| (phi - usual).abs() < 0.02)
        };
        let along = turned < 0.01 && (state.curvature - curvature).abs() < 0.05 * max && settled(chain);
        if state.hitch.iter().zip(chain.towed()).any(|(phi, _)| phi.abs() > 1.5) {
            break;
        }
        if along {
            // A vehicle that leaves goes on to where it stands in its lane, if it gets there: the lane leads up to no other
            // end, as that of coming does.
            let stands = !lane.leads_away || lane.stand_within(station - FIRST_LEG_M, 0.0).is_some();
            if stands || in_line.is_none() {
                let legs = vec![Leg { direction: Direction::Forward, segments: segments.clone() }];
                let out = Path { start: begun, legs };
                in_line = Some(with_first_leg(problem, chain, out.reversed(chain)));
            }
            if stands {
                break;
            }
        }
    }
    in_line
}

/// Puts a short leg forward, along the lane, before a path that pushes a trailer back from there.
#[must_use]
pub fn with_first_leg(problem: &Problem, chain: &Chain, mut back: Path) -> Path {
    let max = problem.vehicle.steering.max_curvature;
    let station = problem.lane.station_near(back.start.lead.position);
    let k = problem.lane.bend_at(station, BEND_REACH_M).1.clamp(-max, max);
    back.start = State { curvature: k, ..chain.advance(&back.start, -FIRST_LEG_M, k, k) };
    let segments = vec![Segment::arc(FIRST_LEG_M, k)];
    back.legs.insert(0, Leg { direction: Direction::Forward, segments });
    back
}
