//! Room of a vehicle in the place as drawn: how much a pose or a drive lacks.
use super::course::{Course, Wheels};
use super::way_out::WayOut;
use crate::clearance::{CollisionModel, Scratch, opening_for};
use crate::geometry::{Frame, Pose};
use crate::motion::{Chain, MAX_TOWED, Path, State};
use crate::search::EDGE_TOLERANCE_M;
use crate::vehicle::Vehicle;

/// Spacing of the sampled poses of a drive while searching, meters.
const LOOK_M: f64 = 0.3;
/// Weight of a radian past a hitch limit, in meters.
const RADIAN_M: f64 = 2.0;
/// Spare room required, for each meter from the start.
const SPARE_SLOPE: f64 = 0.02;
/// Largest lack that is distinguished, meters.
const HOPELESS_M: f64 = 5.0;

/// Spare that a steady turn keeps below hitch limits, radians.
const HOLDS_RAD: f64 = 0.05;

/// Constraint of which a pose lacks room most.
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

/// A vehicle in its surroundings with the gate as drawn.
pub(super) struct Yard<'a> {
    pub(super) vehicle: &'a Vehicle,
    pub(super) model: CollisionModel,
    pub(super) drawn_m: f64,
    pub(super) wheels: Wheels,
    /// The back of the posts: all of a vehicle inside has a larger v.
    pub(super) behind_v: f64,
    hitch_limits: [f64; MAX_TOWED],
    /// Largest curvature of a steady turn that keeps every hitch within its limit, 1/m: a tighter one can be driven for
    /// a while only.
    pub(super) holds: f64,
    /// Room at the start beyond the clearance, meters.
    pub(super) room_m: f64,
    /// Room that the way out itself leaves beyond the clearance, meters: no more is required there.
    pub(super) out_room_m: f64,
    /// True if left and right are tried in the other order, so that a mirrored place gives the mirrored turn.
    pub(super) mirrored: bool,
}

impl<'a> Yard<'a> {
    pub(super) fn new(vehicle: &'a Vehicle, model: CollisionModel, drawn_m: f64, mirrored: bool) -> Self {
        let steering = vehicle.steering;
        let wheels =
            Wheels { max: steering.max_curvature.max(1e-6), lock_m: steering.lock_distance_m.max(0.0) };
        let mut hitch_limits = [f64::INFINITY; MAX_TOWED];
        for (limit, known) in hitch_limits.iter_mut().zip(model.hitch_limits) {
            *limit = known;
        }
        let behind_v = model.surroundings.behind_posts_v();
        let holds = steady_curvature(vehicle, &model.chain, wheels.max, &hitch_limits);
        Self {
            vehicle,
            model,
            drawn_m,
            wheels,
            behind_v,
            hitch_limits,
            holds,
            room_m: 0.0,
            out_room_m: 0.0,
            mirrored,
        }
    }

    pub(super) fn is_towing(&self) -> bool {
        self.model.chain.towed_count() > 0
    }

    /// True if the lead unit in this pose is wholly behind the posts.
    pub(super) fn lead_is_inside(&self, lead: &Pose) -> bool {
        let frame = Frame::of(lead);
        let of_lead = self.model.units.iter().filter(|unit| unit.unit == 0);
        of_lead.flat_map(|unit| &unit.hull).all(|corner| frame.place(*corner).y >= self.behind_v)
    }

    /// Room that a pose lacks, meters (negative: spare room, as far as that matters), and for what.
    pub(super) fn lack(&self, state: &State, inside: bool, scratch: &mut Scratch) -> (f64, Lacks) {
        self.lack_within(state, inside, 0.0, scratch)
    }

    /// As [`Self::lack`], with the hitches kept below their limits by an angle.
    pub(super) fn lack_within(
        &self,
        state: &State,
        inside: bool,
        spare_rad: f64,
        scratch: &mut Scratch,
    ) -> (f64, Lacks) {
        let mut worst = (f64::NEG_INFINITY, Lacks::Hitch);
        let mut note = |by_m: f64, what: Lacks| {
            if by_m > worst.0 {
                worst = (by_m.min(HOPELESS_M), what);
            }
        };
        for (phi, limit) in state.hitch.iter().zip(self.hitch_limits) {
            note((phi.abs() + spare_rad - limit) * RADIAN_M, Lacks::Hitch);
        }
        let frames = self.model.chain.unit_frames(state);
        let need = self.model.need_since(None, &frames, scratch);
        note(-need.margin_m, Lacks::Standing);
        note(-need.ground_m - EDGE_TOLERANCE_M, Lacks::Ground);
        let (opening_m, _) = opening_for(&self.model.surroundings, need.faces_u());
        note(0.5 * (opening_m - self.drawn_m), Lacks::Gate);
        if inside {
            note(self.behind_v - need.least_v, Lacks::Inside);
        }
        worst
    }

    /// Room that a course lacks with `spare_m` to spare, meters: 0 where it passes at the sampled poses.
    ///
    /// The motion of a rigid vehicle on the way out is known; a trailer reaches it at other hitch angles, so it is
    /// followed to the end.
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
        let out_from_m = turn_m + (way.starts_m - course.joins_m).max(0.0);
        let until_m = if self.is_towing() { f64::INFINITY } else { out_from_m };
        let inside_m = self.inside_m(course, way);
        self.path_lacks(&path, (inside_m, out_from_m, until_m), spare_m, enough_m)
    }

    /// Distance of a course along which the vehicle has to stay inside: up to its last leg, on which a vehicle without a
    /// trailer may come out before it joins the way out; a trailer joins inside, where it has room to be bent as the way
    /// out has it.
    pub(super) fn inside_m(&self, course: &Course, way: &WayOut) -> f64 {
        if self.is_towing() {
            course.length_m(self.wheels, way)
        } else {
            course.before_last_leg_m(self.wheels, way)
        }
    }

    /// Room that a way out driven as given leaves beyond the clearance, meters; 0 where it leaves none.
    pub(super) fn room_on(&self, out: &Path) -> f64 {
        let mut scratch = Scratch::default();
        let samples = out.samples(&self.model.chain, LOOK_M);
        let lacks = samples.iter().map(|sample| self.lack(&sample.state, false, &mut scratch).0);
        (-lacks.fold(f64::NEG_INFINITY, f64::max)).max(0.0)
    }

    /// Room that a path lacks up to `until_m`, the vehicle being inside up to `inside_m` and on the way out as given
    /// from `out_from_m` on. Stops at the first pose that lacks more than `enough_m`.
    pub(super) fn path_lacks(
        &self,
        path: &Path,
        (inside_m, out_from_m, until_m): (f64, f64, f64),
        spare_m: f64,
        enough_m: f64,
    ) -> f64 {
        let mut scratch = Scratch::default();
        let mut worst: f64 = 0.0;
        for sample in path.samples(&self.model.chain, LOOK_M).iter().skip(1) {
            if sample.station_m > until_m + 1e-9 {
                break;
            }
            let inside = sample.station_m < inside_m;
            let (lack_m, what) = self.lack(&sample.state, inside, &mut scratch);
            // At the start it may stand with nothing to spare.
            let spare_m = spare_m.min(self.room_m + SPARE_SLOPE * sample.station_m);
            let spare_m = if sample.station_m > out_from_m { spare_m.min(self.out_room_m) } else { spare_m };
            let spare_m = if what == Lacks::Inside { 0.0 } else { spare_m };
            worst = worst.max(lack_m + spare_m);
            if worst > enough_m {
                break;
            }
        }
        worst
    }
}

/// Largest curvature up to `most` at which a vehicle that was straight keeps its hitches within their limits, less
/// [`HOLDS_RAD`], however far it drives; all of it for one without a trailer.
fn steady_curvature(vehicle: &Vehicle, chain: &Chain, most: f64, limits: &[f64; MAX_TOWED]) -> f64 {
    if chain.towed_count() == 0 {
        return most;
    }
    let (step_m, far_m) = (0.5, 4.0 * vehicle.length_m());
    let keeps = |k: f64| {
        let (mut state, mut driven_m) = (State::default(), 0.0);
        while driven_m < far_m {
            state = chain.advance(&state, step_m, k, k);
            driven_m += step_m;
            if state.hitch.iter().zip(limits).any(|(phi, limit)| phi.abs() > limit - HOLDS_RAD) {
                return false;
            }
        }
        true
    };
    if keeps(most) {
        return most;
    }
    let (mut low, mut high) = (0.05 * most, most);
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if keeps(middle) { low = middle } else { high = middle }
    }
    low
}
