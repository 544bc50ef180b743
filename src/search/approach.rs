//! Path along a bent lane from where a vehicle may start to where a way in begins.
//!
//! Ways in are found from a pose in the lane near the gate. Where the lane bends before it, the vehicle has to come
//! round the bend: it follows the lane's line by pure pursuit, an arc toward the point of the line a set distance ahead
//! (R. C. Coulter, "Implementation of the Pure Pursuit Path Tracking Algorithm", CMU-RI-TR-92-01, 1992). A remaining
//! turn or offset where the way in begins is left for the search to remove.
use super::Problem;
use super::lane::StartZone;
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
/// A zone is upstream of a way in that begins no more than this before the zone's end.
const SAME_PLACE_M: f64 = 0.3;

/// Extends a path (gate frame) that begins in the lane back along it to where the vehicle may start; `None` where there
/// is no such place upstream, or no path along the lane from there.
#[must_use]
pub fn approached(problem: &Problem, chain: &Chain, path: &Path) -> Option<Path> {
    let lane = problem.lane;
    let station = lane.station_of(&path.start.lead);
    if lane.zone_within(station, SAME_PLACE_M).is_some() {
        return Some(path.clone());
    }
    let zone = lane.zones.iter().rev().find(|zone| zone.stations_m.0 <= station)?;
    followed(problem, chain, path, (zone, zone.stations_m.1.min(station)), 0.0)
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
    followed(problem, chain, path, (zone, from), lane.other_half_m)
}

/// Extends a path back along a line beside the lane, from a start in a zone.
fn followed(
    problem: &Problem,
    chain: &Chain,
    path: &Path,
    (zone, from): (&StartZone, f64),
    aside_m: f64,
) -> Option<Path> {
    let lane = problem.lane;
    let station = lane.station_of(&path.start.lead);
    let offset = 0.5 * (zone.play_m.0 + zone.play_m.1);
    let start = lane.start(zone, from, offset);
    let steering = problem.vehicle.steering;
    let max = steering.max_curvature.max(1e-3);
    let ahead_m = AHEAD / max;
    let change =
        if steering.lock_distance_m > 0.0 { max * STEP_M / steering.lock_distance_m } else { 2.0 * max };
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
        let target = state.lead.to_body(lane.pose(here + ahead_m, aside_m).position);
        let wanted = (2.0 * target.y / target.dot(target).max(1.0)).clamp(-max, max);
        let (k0, k1) = (state.curvature, wanted.clamp(state.curvature - change, state.curvature + change));
        state = chain.advance(&state, STEP_M, k0, k1);
        segments.push(Segment { length_m: STEP_M, curvature_start: k0, curvature_end: k1 });
        rolled += STEP_M;
    }
    let mut path = Path { start, legs: path.legs.clone() };
    let leg = path.legs.first_mut()?;
    // The wheels turn from the bend to the way in as evenly as the pieces allow; the search smooths the rest.
    leg.segments.splice(0..0, segments);
    Some(path)
}
