//! Recheck of a path found for one problem against another: at another clearance, at a changed site, past other leaves.
use crate::clearance::{CollisionModel, Surroundings, measure, sampled_need};
use crate::motion::{AtGate, Path, Trajectory};
use crate::search::WIDEST_M;
use crate::search::certify::passage;
use crate::search::{EDGE_TOLERANCE_M, Found};
use crate::vehicle::Vehicle;

/// Spacing of the poses of a quick sample of a path, and the spare added to its result: a little more is needed between
/// poses so far apart, and leaves are cut for that.
const GLANCE_STEP_M: f64 = 0.1;
const GLANCE_SPARE_M: f64 = 0.002;

/// Excess over an opening that counts as rounding, meters.
const ROUNDING_M: f64 = 1e-9;

/// True if a path stays on the ground, keeps the model's clearance from what is fixed, and passes an opening.
pub(super) fn keeps(model: &CollisionModel, path: &Path, opening_m: f64) -> bool {
    let seen = measure(model, path);
    seen.ground_m >= -EDGE_TOLERANCE_M && seen.margin_m >= 0.0 && seen.opening_m <= opening_m + ROUNDING_M
}

/// Inspects a path found for one clearance at another, without listing the tight places.
pub(super) fn look_again(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    clearance_m: f64,
    path: &Trajectory<AtGate>,
) -> Option<Found> {
    look_below(vehicle, surroundings, clearance_m, path, f64::INFINITY)
}

/// As [`look_again`], but a path that the quick sample shows to need `below_m` or more is not inspected.
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

/// Approximate opening that a path needs, from a sample of its poses; `None` where that exceeds `below_m`, or anything
/// that people build.
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

/// Adds the tight places to a path found, with leaves as long as its opening implies.
pub(super) fn with_contacts(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    clearance_m: f64,
    found: Found,
) -> Found {
    let opening_m = found.inspection.opening_m;
    let leaves = surroundings.with_leaves_for(opening_m);
    let model = CollisionModel::new(vehicle, leaves, clearance_m, opening_m.max(0.1));
    let Found { path, mut inspection, polished } = found;
    inspection.find_contacts(&model, path.path());
    Found { path, inspection, polished }
}
