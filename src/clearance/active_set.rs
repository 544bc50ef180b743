//! Active outlines of a pose's need: a small move changes the needs of these and of no others.
use super::bvh::box_around;
use super::collision_model::{CollisionModel, ModelPart, Placed, Scratch};
use super::ground::room_beside;
use super::need::{BroadPhase, PAST_END_M, PoseNeed};
use crate::geometry::{Frame, Point};
use crate::vehicle::MAX_UNITS;

/// Outlines that the fields of a need come from.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ActiveSet {
    left: Option<Reaching>,
    right: Option<Reaching>,
    /// The part with the least margin.
    margin: Option<usize>,
    /// The tire with the least ground margin, and the point of its track.
    ground: Option<(usize, TireAt)>,
    /// Units that are farthest out and farthest in, by their index in [`CollisionModel::units`].
    least_v: Option<usize>,
    most_v: Option<usize>,
}

/// The point of a tire's track with the least ground margin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum TireAt {
    /// One of the two ends of the tire, by index.
    End(usize),
    /// The track swept since the previous pose, at this vertex of the ground's edge.
    Way(Point),
}

/// Active outline at a face: a part, or the path of one of its corners.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Reaching {
    part: usize,
    corner: Option<usize>,
}

/// Fields of a need to compute.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[allow(clippy::struct_excessive_bools, reason = "a set of the fields of a need")]
pub struct NeedFields {
    /// [`PoseNeed::left_u`].
    pub left: bool,
    /// [`PoseNeed::right_u`].
    pub right: bool,
    /// [`PoseNeed::margin_m`].
    pub margin: bool,
    /// [`PoseNeed::ground_m`].
    pub ground: bool,
    /// [`PoseNeed::least_v`] and [`PoseNeed::most_v`].
    pub v: bool,
}

impl NeedFields {
    /// All fields.
    pub const ALL: Self = Self { left: true, right: true, margin: true, ground: true, v: true };
}

impl ActiveSet {
    /// Returns the set without the fields that are not requested.
    #[must_use]
    pub fn of(self, asked: NeedFields) -> Self {
        Self {
            left: self.left.filter(|_| asked.left),
            right: self.right.filter(|_| asked.right),
            margin: self.margin.filter(|_| asked.margin),
            ground: self.ground.filter(|_| asked.ground),
            least_v: self.least_v.filter(|_| asked.v),
            most_v: self.most_v.filter(|_| asked.v),
        }
    }

    /// Records a part, or the path of one of its corners, for the fields of the need that `now` tightens.
    pub(super) fn part(&mut self, before: &PoseNeed, now: &PoseNeed, part: usize, corner: Option<usize>) {
        let reaching = Some(Reaching { part, corner });
        if now.left_u < before.left_u {
            self.left = reaching;
        }
        if now.right_u > before.right_u {
            self.right = reaching;
        }
        if now.margin_m < before.margin_m {
            self.margin = Some(part);
        }
    }

    /// Records a unit likewise.
    pub(super) fn unit(&mut self, before: &PoseNeed, now: &PoseNeed, unit: usize) {
        if now.least_v < before.least_v {
            self.least_v = Some(unit);
        }
        if now.most_v > before.most_v {
            self.most_v = Some(unit);
        }
    }

    /// Records that a tire, at this point of its track, has the least ground margin.
    pub(super) fn tire(&mut self, tire: usize, at: TireAt) {
        self.ground = Some((tire, at));
    }
}

impl CollisionModel {
    /// Need of the outlines of `binding` alone, with the units at `frames` and on the path there from `before`: where
    /// the binding is that of this pose, exactly the result of [`Self::need_since`]. Fields that it does not name are
    /// as for a pose that needs nothing.
    pub fn need_of(
        &self,
        binding: ActiveSet,
        before: Option<&[Frame; MAX_UNITS]>,
        frames: &[Frame; MAX_UNITS],
        scratch: &mut Scratch,
    ) -> PoseNeed {
        let mut need = PoseNeed::NOTHING;
        let (grow, surroundings, corners) = (self.clearance_m, &self.surroundings, &mut scratch.corners);
        if let Some(Reaching { part, corner }) = binding.left {
            let part = &self.parts[part];
            place(part, corner.zip(before), frames, corners);
            need.left_u =
                self.reach(&surroundings.left, &part.left, corners, grow, box_around(corners), -1.0);
        }
        if let Some(Reaching { part, corner }) = binding.right {
            let part = &self.parts[part];
            place(part, corner.zip(before), frames, corners);
            let right = self.reach(&surroundings.right, &part.right, corners, grow, box_around(corners), 1.0);
            need.right_u = -right;
        }
        if let Some(part) = binding.margin {
            let part = &self.parts[part];
            let frame = &frames[part.unit];
            place(part, None, frames, corners);
            let (center, unit_middle) = (frame.place(part.center), frame.place(self.middles[part.unit]));
            let placed = Placed { center, reach_m: part.reach_m, corners, unit_middle };
            let extent = box_around(corners);
            need.margin_m = self.margin(part, &placed, grow, extent, BroadPhase::ALL, need.margin_m);
        }
        if let (Some((tire, at)), Some(ground)) = (binding.ground, &surroundings.ground) {
            let tire = &self.tires[tire];
            let place = |frames: &[Frame; MAX_UNITS], end: usize| frames[tire.unit].place(tire.ends[end]);
            let inside_m = match (at, before) {
                (TireAt::Way(corner), Some(before)) => {
                    let quad = [place(before, 0), place(frames, 0), place(frames, 1), place(before, 1)];
                    room_beside(corner, &quad)
                }
                (TireAt::Way(_), None) => need.ground_m,
                (TireAt::End(end), _) => ground.signed_distance(place(frames, end)),
            };
            need.ground_m = need.ground_m.min(inside_m);
        }
        let hull = |unit: usize, corners: &mut Vec<Point>| {
            let unit = &self.units[unit];
            corners.clear();
            corners.extend(unit.hull.iter().map(|corner| frames[unit.unit].place(*corner)));
        };
        if let Some(unit) = binding.least_v {
            hull(unit, corners);
            need.least_v = corners.iter().map(|p| p.y).fold(need.least_v, f64::min);
        }
        if let Some(unit) = binding.most_v {
            hull(unit, corners);
            need.most_v = need.most_v.max(surroundings.most_v_between_ends(corners, PAST_END_M));
        }
        need
    }
}

/// Corners of a part with its unit in this pose, or the path of one of them there.
fn place(
    part: &ModelPart,
    way: Option<(usize, &[Frame; MAX_UNITS])>,
    frames: &[Frame; MAX_UNITS],
    corners: &mut Vec<Point>,
) {
    corners.clear();
    match way {
        Some((corner, before)) => {
            corners.extend([before, frames].map(|f| f[part.unit].place(part.corners[corner])));
        }
        None => corners.extend(part.corners.iter().map(|p| frames[part.unit].place(*p))),
    }
}
