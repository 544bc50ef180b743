//! The vehicle in the place as drawn: how much room a pose or a drive lacks.
use super::course::{Course, Wheels};
use super::way_out::WayOut;
use crate::clearance::{Encounter, Scratch, opening_for};
use crate::geometry::{Frame, Pose};
use crate::motion::{MAX_TOWED, Path, State};
use crate::search::EDGE_TOLERANCE_M;
use crate::vehicle::Vehicle;

/// Poses of a drive looked at while searching lie this far apart, meters.
const LOOK_M: f64 = 0.3;
/// An angle past a hitch limit counts as so many meters for each radian.
const RADIAN_M: f64 = 2.0;
/// Spare room required, for each meter from the start.
const SPARE_SLOPE: f64 = 0.02;
/// More than this is as bad as it gets, meters.
const HOPELESS_M: f64 = 5.0;

/// What a pose lacks room for most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Lacks {
    /// A post, the fence in the gate line or a leaf is in the way.
    Gate,
    /// Something that does not move with the gate is in the way.
    Standing,
    /// The tires leave the ground they may use.
    Ground,
    /// The vehicle is not wholly inside.
    Inside,
    /// A hitch is bent too far.
    Hitch,
}

/// A vehicle against its surroundings with the gate as drawn.
pub(super) struct Yard<'a> {
    pub(super) vehicle: &'a Vehicle,
    pub(super) encounter: Encounter,
    pub(super) drawn_m: f64,
    pub(super) wheels: Wheels,
    /// The back of the posts: all of a vehicle inside has a larger v.
    pub(super) behind_v: f64,
    hitch_limits: [f64; MAX_TOWED],
    /// Room at the start beyond the clearance, meters.
    pub(super) room_m: f64,
    /// Left and right are taken in the other order, so that a mirrored place gives the mirrored turn.
    pub(super) mirrored: bool,
}

impl<'a> Yard<'a> {
    pub(super) fn new(vehicle: &'a Vehicle, encounter: Encounter, drawn_m: f64, mirrored: bool) -> Self {
        let steering = vehicle.steering;
        let wheels =
            Wheels { max: steering.max_curvature.max(1e-6), lock_m: steering.lock_distance_m.max(0.0) };
        let mut hitch_limits = [f64::INFINITY; MAX_TOWED];
        for (limit, known) in hitch_limits.iter_mut().zip(encounter.hitch_limits) {
            *limit = known;
        }
        let behind_v = encounter.surroundings.behind_posts_v();
        Self { vehicle, encounter, drawn_m, wheels, behind_v, hitch_limits, room_m: 0.0, mirrored }
    }

    pub(super) fn is_towing(&self) -> bool {
        self.encounter.chain.towed_count() > 0
    }

    /// True if the lead unit in this pose is wholly behind the posts.
    pub(super) fn lead_is_inside(&self, lead: &Pose) -> bool {
        let frame = Frame::of(lead);
        let of_lead = self.encounter.units.iter().filter(|unit| unit.unit == 0);
        of_lead.flat_map(|unit| &unit.hull).all(|corner| frame.place(*corner).y >= self.behind_v)
    }

    /// How much room a pose lacks, meters (negative: has to spare, as far as that matters), and what for.
    pub(super) fn lack(&self, state: &State, inside: bool, scratch: &mut Scratch) -> (f64, Lacks) {
        let mut worst = (f64::NEG_INFINITY, Lacks::Hitch);
        let mut note = |by_m: f64, what: Lacks| {
            if by_m > worst.0 {
                worst = (by_m.min(HOPELESS_M), what);
            }
        };
        for (phi, limit) in state.hitch.iter().zip(self.hitch_limits) {
            note((phi.abs() - limit) * RADIAN_M, Lacks::Hitch);
        }
        let frames = self.encounter.chain.unit_frames(state);
        let need = self.encounter.need_since(None, &frames, scratch);
        note(-need.margin_m, Lacks::Standing);
        note(-need.ground_m - EDGE_TOLERANCE_M, Lacks::Ground);
        let (opening_m, _) = opening_for(&self.encounter.surroundings, need.faces_u());
        note(0.5 * (opening_m - self.drawn_m), Lacks::Gate);
        if inside {
            note(self.behind_v - need.least_v, Lacks::Inside);
        }
        worst
    }

    /// How much room a course lacks with `spare_m` to spare, meters: nothing where it passes at the poses looked at.
    ///
    /// What a rigid vehicle does on the way out is known; a trailer comes to it bent otherwise, so it is followed to the
    /// end.
    pub(super) fn course_lacks(
        &self,
        from: &State,
        course: &Course,
        way: &WayOut,
        spare_m: f64,
        enough_m: f64,
    ) -> f64 {
        let path = course.path(from, self.wheels, way);
        let turn_m = course.length_m(self.wheels, way);
        let until_m =
            if self.is_towing() { f64::INFINITY } else { turn_m + (way.starts_m - course.joins_m).max(0.0) };
        self.path_lacks(&path, (turn_m, until_m), spare_m, enough_m)
    }

    /// How much room a path lacks up to a station, the vehicle being inside up to another. Stops at the first pose that
    /// lacks more than `enough_m`.
    pub(super) fn path_lacks(
        &self,
        path: &Path,
        (inside_m, until_m): (f64, f64),
        spare_m: f64,
        enough_m: f64,
    ) -> f64 {
        let mut scratch = Scratch::default();
        let mut worst: f64 = 0.0;
        for sample in path.samples(&self.encounter.chain, LOOK_M).iter().skip(1) {
            if sample.station_m > until_m + 1e-9 {
                break;
            }
            let inside = sample.station_m < inside_m;
            let (lack_m, what) = self.lack(&sample.state, inside, &mut scratch);
            // Where it starts it may stand with nothing to spare.
            let spare_m = spare_m.min(self.room_m + SPARE_SLOPE * sample.station_m);
            let spare_m = if what == Lacks::Inside { 0.0 } else { spare_m };
            worst = worst.max(lack_m + spare_m);
            if worst > enough_m {
                break;
            }
        }
        worst
    }
}
