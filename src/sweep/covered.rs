//! The ground one path covers, computed on first use: drawing, page, overlay and envelope file all need it.
use super::{Cover, DRAWING_TOLERANCE_M, Envelope, SweepError, envelope};
use crate::motion::Path;
use crate::vehicle::Vehicle;
use std::sync::{Arc, OnceLock};

/// The result, with the vehicle and path it belongs to.
type Known = OnceLock<(Vehicle, Path, Result<Arc<Envelope>, SweepError>)>;

/// Cache for the ground that the first requested path covers, to [`DRAWING_TOLERANCE_M`].
#[derive(Clone, Debug, Default)]
pub struct Covered {
    body: Known,
    tires: Known,
}

impl Covered {
    /// The swept path of body and mirrors.
    ///
    /// # Errors
    /// As [`envelope`].
    pub fn body(&self, vehicle: &Vehicle, path: &Path) -> Result<Arc<Envelope>, SweepError> {
        known(&self.body, vehicle, path, Cover::Body)
    }

    /// The tracks of all wheels.
    ///
    /// # Errors
    /// As [`envelope`]; a vehicle file may leave out its tires.
    pub fn tires(&self, vehicle: &Vehicle, path: &Path) -> Result<Arc<Envelope>, SweepError> {
        known(&self.tires, vehicle, path, Cover::Tires)
    }
}

fn known(known: &Known, vehicle: &Vehicle, path: &Path, cover: Cover) -> Result<Arc<Envelope>, SweepError> {
    let work_out = || envelope(vehicle, path, cover, DRAWING_TOLERANCE_M).map(Arc::new);
    let (of_vehicle, of_path, swept) = known.get_or_init(|| (vehicle.clone(), path.clone(), work_out()));
    if of_vehicle == vehicle && of_path == path { swept.clone() } else { work_out() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Pose;
    use crate::motion::{Direction, Leg, Segment, State};

    /// The cache keeps the first path, and the result is right for another.
    #[test]
    fn another_path_is_not_taken_for_the_first() {
        let vehicle = crate::vehicle::find("pickup").unwrap();
        let straight = |length_m: f64| Path {
            start: State { lead: Pose::new(0.0, 0.0, 0.0), ..State::default() },
            legs: vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(length_m, 0.0)] }],
        };
        let covered = Covered::default();
        let (first, again) = (
            covered.body(&vehicle, &straight(5.0)).unwrap(),
            covered.body(&vehicle, &straight(5.0)).unwrap(),
        );
        assert!(Arc::ptr_eq(&first, &again));
        let longer = covered.body(&vehicle, &straight(7.0)).unwrap();
        let width_m = vehicle.units[0].parts[0].outline.0.iter().map(|p| 2.0 * p.y.abs()).fold(0.0, f64::max);
        assert!(longer.area_m2() > first.area_m2() + 1.9 * width_m);
        assert!(covered.tires(&vehicle, &straight(5.0)).unwrap().area_m2() < first.area_m2());
    }
}
