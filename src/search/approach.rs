//! Path along a bent lane from where a vehicle may start to where a way in begins.
//!
//! Ways in are found from a pose in the lane near the gate. Where the lane bends before it, the vehicle has to come
//! round the bend: it follows the lane's line by pure pursuit ([`Pursuit`]). A remaining turn or offset where the way in
//! begins is left for the search to remove.
use super::Problem;
use super::lane::StartZone;
use super::pursuit::Pursuit;
use crate::clearance::{CollisionModel, Scratch};
use crate::geometry::wrap_angle;
use crate::motion::{Chain, Path, Segment};

/// Step along the path, meters.
const STEP_M: f64 = 0.5;
/// Look-ahead distance along the lane, in least turning radii.
const AHEAD: f64 = 0.8;
/// Largest distance that a lane is followed to get to the gate.
const FARTHEST_M: f64 = 200.0;
/// Meters driven to move over to the other half of the road, beside the vehicle's length: some 3 m aside on two arcs.
const MOVE_OVER_M: f64 = 14.0;
/// Difference in lacking room from which one extension is better than another; one that lacks less than this is accepted
/// at once.
const LACKS_LESS_M: f64 = 0.02;
/// A zone is upstream of a way in that begins no more than this before the zone's end.
const SAME_PLACE_M: f64 = 0.3;

/// Extends a path (gate frame) that begins in the lane back along it to where the vehicle may start; `None` where there
/// is no such place upstream, or no path along the lane from there.
///
/// The extension begins at the start zone nearest to the path. If it leaves the ground or touches an obstacle, extensions
/// that begin one vehicle length farther back are tried too: along the lane, and offset toward the other half of the road
/// by half of its distance and by all of it. The one that lacks the least room is returned.
#[must_use]
pub fn approached(problem: &Problem, model: &CollisionModel, path: &Path) -> Option<Path> {
    let lane = problem.lane;
    let station = lane.station_of(&path.start.lead);
    if lane.zone_within(station, SAME_PLACE_M).is_some() {
        return Some(path.clone());
    }
    let near = lane.zones.iter().rev().find(|zone| zone.stations_m.0 <= station)?;
    let near_m = near.stations_m.1.min(station);
    let back_m = near_m - problem.vehicle.length_m();
    let back = lane.zone_within(back_m, 0.0);
    let shares: &[f64] = if lane.other_half_m == 0.0 { &[0.0] } else { &[0.0, 0.5, 1.0] };
    let farther = shares.iter().filter_map(|share| Some((back?, back_m, share * lane.other_half_m)));
    let mut best: Option<(f64, Path)> = None;
    let mut scratch = Scratch::default();
    for (zone, from_m, aside_m) in std::iter::once((near, near_m, 0.0)).chain(farther) {
        let Some((way, rolled_m)) = followed(problem, &model.chain, path, (zone, from_m), aside_m) else {
            continue;
        };
        let lacks_m = lacking(model, &way, rolled_m, &mut scratch);
        if best.as_ref().is_none_or(|(least, _)| lacks_m < least - LACKS_LESS_M) {
            best = Some((lacks_m, way));
        }
        if best.as_ref().is_some_and(|(least, _)| *least < LACKS_LESS_M) {
            break;
        }
    }
    best.map(|(_, way)| way)
}

/// Largest lack of room along the first part of a path, to the edge of the ground and to obstacles; 0 if there is none.
fn lacking(model: &CollisionModel, path: &Path, first_m: f64, scratch: &mut Scratch) -> f64 {
    let samples = path.samples(&model.chain, STEP_M);
    let first = samples.iter().take_while(|sample| sample.leg == 0 && sample.station_m <= first_m);
    let need = first.map(|sample| model.need(&model.chain.unit_poses(&sample.state), scratch));
    -need.map(|need| need.ground_m.min(need.margin_m)).fold(0.0, f64::min)
}

/// Extends a path (gate frame) that begins in the other half of the road back along the lane to where the vehicle may
/// start and moves over from; `None` where there is no room for that.
#[must_use]
pub fn moved_over(problem: &Problem, chain: &Chain, path: &Path) -> Option<Path> {
    let lane = problem.lane;
    let station = lane.station_of(&path.start.lead);
    let rig = problem.vehicle.length_m();
    let from = station - MOVE_OVER_M - rig;
    let zone = lane.zone_within(from, MOVE_OVER_M).or_else(|| lane.zone_at(from))?;
    let from = from.clamp(zone.stations_m.0, zone.stations_m.1);
    if station - from < rig {
        return None;
    }
    followed(problem, chain, path, (zone, from), lane.other_half_m).map(|(path, _)| path)
}

/// Extends a path back along a line beside the lane, from a start in a zone. Returns it with the length of what is added.
fn followed(
    problem: &Problem,
    chain: &Chain,
    path: &Path,
    (zone, from): (&StartZone, f64),
    aside_m: f64,
) -> Option<(Path, f64)> {
    let lane = problem.lane;
    let station = lane.station_of(&path.start.lead);
    let offset = 0.5 * (zone.play_m.0 + zone.play_m.1);
    let start = lane.start(zone, from, offset);
    let steering = problem.vehicle.steering;
    let ahead_m = AHEAD / steering.max_curvature.max(1e-3);
    let pursuit = Pursuit { lane, steering, ahead_m, aside_m, step_m: STEP_M };
    let mut state = start;
    let mut segments: Vec<Segment> = Vec::new();
    let mut rolled = 0.0;
    loop {
        let here = lane.station_of(&state.lead);
        let turned = wrap_angle(state.lead.heading - lane.pose(here, 0.0).heading).abs();
        if here >= station - 0.5 * STEP_M && turned < 0.3 {
            break;
        }
        if rolled > FARTHEST_M || here > station + ahead_m {
            return None;
        }
        let (segment, next) = pursuit.step(chain, &state, pursuit.wanted_from(&state, here));
        state = next;
        segments.push(segment);
        rolled += STEP_M;
    }
    let mut path = Path { start, legs: path.legs.clone() };
    let leg = path.legs.first_mut()?;
    // The wheels turn from the bend to the way in as evenly as the pieces allow; the search smooths the rest.
    leg.segments.splice(0..0, segments);
    Some((path, rolled))
}
