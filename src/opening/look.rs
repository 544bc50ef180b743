//! A path found for one question looked at for another: at another clearance, at a changed site, past other leaves.
use crate::clearance::{Drive, Encounter, Surroundings, glance, measure_drive};
use crate::motion::Path;
use crate::search::proof::WIDEST_M;
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
    path: &Path,
) -> Option<Found> {
    look_below(vehicle, surroundings, clearance_m, path, f64::INFINITY)
}

/// The same, but a path that is soon seen not to need less than `below_m` is looked at no closer.
pub(super) fn look_below(
    vehicle: &Vehicle,
    surroundings: &Surroundings,
    clearance_m: f64,
    path: &Path,
    below_m: f64,
) -> Option<Found> {
    let leaves_for = |opening: f64| {
        Encounter::new(vehicle, surroundings.with_leaves_for(opening), clearance_m, opening.max(0.1))
    };
    // A glance tells about how much it will be.
    let without = leaves_for(0.0);
    let least_m = glance(&without, path, GLANCE_STEP_M, EDGE_TOLERANCE_M);
    if least_m > WIDEST_M.min(below_m) {
        return None;
    }
    let mut opening = least_m + GLANCE_SPARE_M;
    let drive = Drive::new(&without.chain, path);
    for _ in 0..12 {
        let inspection = measure_drive(&leaves_for(opening), &drive);
        // Past leaves that grow with the opening a path may get by one that nobody builds.
        if inspection.opening_m > WIDEST_M {
            return None;
        }
        if inspection.opening_m <= opening + 1e-9 {
            let found = Found { path: path.clone(), inspection };
            return found.inspection.passes(EDGE_TOLERANCE_M).then_some(found);
        }
        opening = inspection.opening_m;
    }
    None
}

/// A path found with its tight places told, where the leaves are as long as its opening implies.
pub(super) fn told(vehicle: &Vehicle, surroundings: &Surroundings, clearance_m: f64, found: Found) -> Found {
    let opening_m = found.inspection.opening_m;
    let leaves = surroundings.with_leaves_for(opening_m);
    let encounter = Encounter::new(vehicle, leaves, clearance_m, opening_m.max(0.1));
    let Found { path, mut inspection } = found;
    inspection.tell_touches(&encounter, &path);
    Found { path, inspection }
}
