//! What a course is worth: drives it in short steps and adds up what it needs and what it breaks.
use super::Question;
use super::course::Plan;
use crate::clearance::{Encounter, PoseNeed, Scratch, opening_for};
use crate::geometry::Pose;
use crate::motion::{Leg, Path, Segment, State};
use crate::site::Maneuver;
use crate::vehicle::MAX_UNITS;

/// How finely a course is looked at while searching; what is reported comes from [`crate::clearance::inspect`].
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Step near the gate, meters.
    pub near_m: f64,
    /// Step elsewhere, meters.
    pub far_m: f64,
    /// Spare margin asked for, so that the bound between poses still passes.
    pub spare_m: f64,
}

/// For finding the way: coarse.
pub const COARSE: Look = Look { near_m: 0.15, far_m: 0.4, spare_m: 0.002 };
/// For the last centimeters.
pub const FINE: Look = Look { near_m: 0.04, far_m: 0.12, spare_m: 0.0006 };

/// What driving a course showed.
#[derive(Clone, Debug)]
pub struct Score {
    /// The opening it needs; infinite if the anchored face is in the way.
    pub opening_m: f64,
    /// How much it breaks: depth into obstacles and over edges, hitch angles and so on; 0 when nothing.
    pub broken_m: f64,
    /// How far short of the goal it ends; 0 when it gets there.
    pub short_m: f64,
    /// Poses looked at.
    pub poses: u64,
}

/// Weight of a broken meter against a meter of opening. A course gains at most a few meters of opening per meter it
/// breaks, so minimizing the sum ends at courses that break nothing.
const BROKEN_WEIGHT: f64 = 8.0;
/// Value of a course that does not arrive: above any opening.
const SHORT_VALUE: f64 = 1000.0;
/// A hitch beyond its limit by this angle counts as a meter broken: a trailer's end moves about that much.
const HITCH_METERS_PER_RAD: f64 = 5.0;
/// How far beyond the described course the last leg is followed to get wholly inside.
const RUN_OUT_M: f64 = 12.0;

impl Score {
    /// One number to minimize.
    #[must_use]
    pub fn value(&self) -> f64 {
        if self.short_m > 0.0 {
            return SHORT_VALUE + self.short_m + self.broken_m;
        }
        self.opening_m.min(200.0) + BROKEN_WEIGHT * self.broken_m
    }
}

/// A course being driven.
struct Drive<'a> {
    encounter: &'a Encounter,
    question: &'a Question<'a>,
    look: Look,
    scratch: Scratch,
    state: State,
    total: PoseNeed,
    now: PoseNeed,
    broken: f64,
    poses: u64,
}

impl Drive<'_> {
    fn stand(&mut self, may_enter: bool) {
        let encounter = self.encounter;
        let poses: [Pose; MAX_UNITS] = encounter.chain.unit_poses(&self.state);
        self.now = encounter.need(&poses, 0.0, &mut self.scratch);
        self.poses += 1;
        if !may_enter {
            self.broken = self.broken.max(self.now.most_v - encounter.surroundings.front_v() + 0.005);
        }
        self.total = self.total.and(&self.now);
        for (phi, limit) in self.state.hitch.iter().zip(encounter.hitch_limits) {
            let over = phi.abs() - limit + 1e-4;
            if over > 0.0 {
                self.broken = self.broken.max(over * HITCH_METERS_PER_RAD);
            }
        }
    }

    fn arrived(&self) -> bool {
        let surroundings = &self.encounter.surroundings;
        self.now.least_v >= surroundings.beyond_v + self.encounter.clearance_m + 0.001
            && self.question.spot.as_ref().is_none_or(|spot| spot.reached(&self.encounter.chain, &self.state))
    }

    /// Drives one segment; on the last leg stops on arrival and says how far it came.
    fn segment(&mut self, sign: f64, segment: &Segment, may_enter: bool, last: bool) -> Option<f64> {
        let surroundings = &self.encounter.surroundings;
        let (front, back) = (surroundings.front_v() - 0.3, surroundings.beyond_v + 0.3);
        let slope = (segment.curvature_end - segment.curvature_start) / segment.length_m.max(1e-9);
        let mut done = 0.0;
        while done < segment.length_m {
            let near = self.now.most_v > front && self.now.least_v < back;
            let step = if near { self.look.near_m } else { self.look.far_m };
            let step = step.min(segment.length_m - done);
            let k0 = segment.curvature_start + slope * done;
            let k1 = segment.curvature_start + slope * (done + step);
            let chain = &self.encounter.chain;
            self.state = chain.advance(&self.state, sign * step, k0, if slope == 0.0 { k0 } else { k1 });
            done += step;
            self.stand(may_enter);
            if last && self.arrived() {
                return Some(done);
            }
        }
        None
    }
}

/// Drives a course; also gives the path as driven, cut off where it arrives.
#[must_use]
pub fn drive(
    question: &Question,
    encounter: &Encounter,
    plan: &Plan,
    x: &[f64],
    look: Look,
) -> (Score, Path) {
    let mut path = plan.path(question, x);
    let mut drive = Drive {
        encounter,
        question,
        look,
        scratch: Scratch::default(),
        state: path.start,
        total: PoseNeed::NOTHING,
        now: PoseNeed::NOTHING,
        broken: 0.0,
        poses: 0,
    };
    let count = path.legs.len();
    let mut arrived = false;
    for index in 0..count {
        let last = index + 1 == count;
        let may_enter = last || index > 0 || question.maneuver == Maneuver::DriveIn;
        if last && let Some(end) = path.legs[index].segments.last().copied() {
            path.legs[index].segments.push(Segment::arc(RUN_OUT_M, end.curvature_end));
        }
        let sign = path.legs[index].direction.sign();
        if let Some(first) = path.legs[index].segments.first() {
            drive.state.curvature = first.curvature_start;
        }
        drive.stand(may_enter);
        let mut kept: Vec<Segment> = Vec::with_capacity(path.legs[index].segments.len());
        for segment in &path.legs[index].segments {
            match drive.segment(sign, segment, may_enter, last) {
                Some(done) => {
                    let part = done / segment.length_m;
                    let k = segment.curvature_start
                        + (segment.curvature_end - segment.curvature_start) * part.min(1.0);
                    kept.push(Segment { length_m: done, curvature_end: k, ..*segment });
                    arrived = true;
                    break;
                }
                None if segment.length_m > 0.0 => kept.push(*segment),
                None => {}
            }
        }
        path.legs[index] = Leg { direction: path.legs[index].direction, segments: kept };
    }
    let surroundings = &encounter.surroundings;
    let (mut opening_m, ..) = opening_for(surroundings, drive.total.left_u, drive.total.right_u);
    let mut broken = drive.broken.max(0.0);
    if opening_m.is_infinite() {
        // The anchored face is in the way by this much.
        let (left, right) = surroundings.drawn_faces_u;
        let deep = (left - drive.total.left_u).max(drive.total.right_u - right).max(0.0);
        broken = broken.max(deep + look.spare_m);
        opening_m = drive.total.right_u - drive.total.left_u;
    }
    broken = broken.max(look.spare_m - drive.total.margin_m).max(-drive.total.ground_m + 0.5 * look.spare_m);
    let mut short_m = 0.0;
    if !arrived {
        short_m = (surroundings.beyond_v + encounter.clearance_m - drive.now.least_v).max(0.0) + 0.1;
        if let Some(spot) = &question.spot {
            short_m += spot.short_by(&encounter.chain, &drive.state);
        }
    }
    (Score { opening_m, broken_m: broken, short_m, poses: drive.poses }, path)
}
