//! A path found for one problem checked against another: at another clearance, at a changed site, past other leaves.
use crate::clearance::{CollisionModel, Surroundings, sampled_need};
use crate::motion::{AtGate, Path, Trajectory};
use crate::search::WIDEST_M;
use crate::search::certify::passage;
use crate::search::{EDGE_TOLERANCE_M, Found};
use crate::vehicle::Vehicle;

/// Poses of a glance at a path, and what is taken on top of what it shows: between poses so far apart a little more is
/// needed, and leaves are cut for that.
const GLANCE_STEP_M: f64 = 0.1;
const GLANCE_SPARE_M: f64 = 0.002;

/// Inspects a path found for one clearance at another; the tight places are left untold.
pub(super) fn look_again(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    clearance_m: f64,
    path: &Trajectory<AtGate>,
) -> Option<Found> {
    look_below(vehicle, surroundings, clearance_m, path, f64::INFINITY)
}

/// The same, but a path that is soon seen not to need less than `below_m` is looked at no closer.
pub(super) fn look_below(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    clearance_m: f64,
    path: &Trajectory<AtGate>,
    below_m: f64,
) -> Option<Found> {
    let about_m = sampled_need_with_leaves(vehicle, surroundings, clearance_m, path.path(), below_m)?;
    passage(vehicle, surroundings, clearance_m, path, about_m).ok()
}

/// About how wide an opening a path needs by a look at some of its poses; `None` where that is seen to be more than
/// `below_m`, or more than anybody builds.
pub(super) fn sampled_need_with_leaves(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    clearance_m: f64,
    path: &Path,
    below_m: f64,
) -> Option<f64> {
    let without = CollisionModel::new(vehicle, surroundings.with_leaves_for(0.0), clearance_m, 0.1);
    let least_m = sampled_need(&without, path, GLANCE_STEP_M, EDGE_TOLERANCE_M);
    (least_m <= WIDEST_M.min(below_m)).then_some(least_m + GLANCE_SPARE_M)
}

/// A path found with its tight places told, where the leaves are as long as its opening implies.
pub(super) fn told(vehicle: &Vehicle, surroundings: &Surroundings, clearance_m: f64, found: Found) -> Found {
    let opening_m = found.inspection.opening_m;
    let leaves = surroundings.with_leaves_for(opening_m);
    let model = CollisionModel::new(vehicle, leaves, clearance_m, opening_m.max(0.1));
    let Found { path, mut inspection } = found;
    inspection.find_contacts(&model, path.path());
    Found { path, inspection }
}
