//! Need of a pose: the opening that it requires, and its distance from everything else.
use super::active_set::{ActiveSet, TireAt};
use super::bvh::{Query, box_around};
use super::collision_model::{CollisionModel, ModelPart, ModelUnit, Placed, Scratch};
use super::surroundings::{FixedPiece, SideOfGate, Surroundings};
use crate::geometry::distance::{self, greater, lesser};
use crate::geometry::{Frame, Point, Pose};
use crate::motion::State;
use crate::site::Faces;
use crate::vehicle::MAX_UNITS;

/// Largest margin that is measured: anything farther away cannot matter to a step of the search.
pub const AMPLE_M: f64 = 0.25;

/// Tolerance larger than any rounding of places on a site.
pub(super) const ROUNDING_M: f64 = 1e-6;

/// Distance of a part from the gate's depth within which its corners' paths are followed: more than a step of the
/// search.
const NEAR_GATE_M: f64 = 1.0;

/// Margin that the search adds to each end of the closed gate line, meters: more than a vehicle moves between two poses of an
/// inspection, which uses the line without a margin. So the search is the stricter of the two.
pub(super) const PAST_END_M: f64 = 0.03;

/// Need of one pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PoseNeed {
    /// Rightmost place of the left face (u) at which the pose passes; infinite when the pose does not involve it.
    pub left_u: f64,
    /// Leftmost place of the right face (u); minus infinite likewise.
    pub right_u: f64,
    /// Least gap less clearance over the fixed pieces: negative when one is too near (then about how deep), and capped
    /// at [`AMPLE_M`].
    pub margin_m: f64,
    /// Least signed distance of the tires from the edge of the ground they may use, capped at [`AMPLE_M`].
    pub ground_m: f64,
    /// Least v of any part: the vehicle is beyond the gate when this exceeds the gate's depth.
    pub least_v: f64,
    /// Largest v of any part that is not out on the road past the end of the closed line.
    pub most_v: f64,
}

impl PoseNeed {
    /// Need of a pose that requires nothing.
    pub const NOTHING: Self = Self {
        left_u: f64::INFINITY,
        right_u: f64::NEG_INFINITY,
        margin_m: AMPLE_M,
        ground_m: AMPLE_M,
        least_v: f64::INFINITY,
        most_v: f64::NEG_INFINITY,
    };

    /// Returns the innermost places of the two faces at which the pose still passes.
    #[must_use]
    pub const fn faces_u(&self) -> Faces {
        Faces { left: self.left_u, right: self.right_u }
    }

    /// Combines the needs of two poses.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        Self {
            left_u: self.left_u.min(other.left_u),
            right_u: self.right_u.max(other.right_u),
            margin_m: self.margin_m.min(other.margin_m),
            ground_m: self.ground_m.min(other.ground_m),
            least_v: self.least_v.min(other.least_v),
            most_v: self.most_v.max(other.most_v),
        }
    }
}

/// Broad phase of one unit: the things it may come near; it skips the rest.
#[derive(Clone, Copy, Debug)]
pub(super) struct BroadPhase {
    /// True if it may touch what moves with the faces.
    gate: bool,
    /// True if it is so near that its corners' paths are followed.
    near_gate: bool,
    /// Standing pieces, by index; all, where there are more than [`Self::MOST`].
    standing: u64,
}

impl BroadPhase {
    /// Largest number of pieces, that of the bits. With more of them a part looks them up in a tree.
    const MOST: usize = 64;
    /// Everything.
    pub(super) const ALL: Self = Self { gate: true, near_gate: true, standing: u64::MAX };

    /// Packs indices into bits, out of this number of pieces.
    pub(super) fn of(indices: &[usize], pieces: usize) -> u64 {
        if pieces > Self::MOST {
            return if indices.is_empty() { 0 } else { u64::MAX };
        }
        indices.iter().fold(0, |bits, index| bits | 1 << index)
    }

    /// True if a part may touch any of it.
    const fn concerns(self, part: &ModelPart) -> bool {
        self.near_gate && part.meets_faces || self.standing & part.standing_bits != 0
    }
}

/// Opening that lets faces stand as far out as `needed`, and their places then: [`Anchor::least_opening`] for these
/// surroundings. Infinite when the anchored face cannot move out of the way, or a post would stand on a road.
///
/// [`Anchor::least_opening`]: crate::site::Anchor::least_opening
#[must_use]
pub fn opening_for(surroundings: &Surroundings, needed: Faces) -> (f64, Faces) {
    surroundings.anchor.least_opening(surroundings.drawn_faces_u, surroundings.room_u(), needed)
}

impl CollisionModel {
    /// Things that a unit in this pose may come near, its parts grown by `grow`.
    fn about(&self, unit: &ModelUnit, frame: &Frame, grow: f64) -> BroadPhase {
        let surroundings = &self.surroundings;
        let center = frame.place(unit.center);
        let within = unit.reach_m + grow + ROUNDING_M;
        let (low, high) = self.moving_v;
        let beside = |near_m: f64| center.y - within - near_m > high || center.y + within + near_m < low;
        let mut standing = if surroundings.standing.len() > BroadPhase::MOST { u64::MAX } else { 0 };
        for (index, (at, reach_m)) in
            surroundings.standing.circles().iter().enumerate().take(BroadPhase::MOST)
        {
            let near_m = within + AMPLE_M + reach_m;
            standing |= u64::from((center - *at).norm2() <= near_m * near_m) << index;
        }
        BroadPhase { gate: !beside(0.0), near_gate: !beside(NEAR_GATE_M), standing }
    }

    /// Need of the vehicle at these unit poses (gate frame).
    pub fn need(&self, poses: &[Pose; MAX_UNITS], scratch: &mut Scratch) -> PoseNeed {
        self.need_since(None, &poses.map(|pose| Frame::of(&pose)), scratch)
    }

    /// Need of the vehicle with its units at `frames` and on the short path there from `before`: a corner that entered
    /// the gate's depth in between is met where its chord did. The error is of second order in the path's length.
    /// Leaves the active outlines in `scratch`: [`Scratch::binding`].
    pub fn need_since(
        &self,
        before: Option<&[Frame; MAX_UNITS]>,
        frames: &[Frame; MAX_UNITS],
        scratch: &mut Scratch,
    ) -> PoseNeed {
        let mut need = PoseNeed::NOTHING;
        let mut binding = ActiveSet::default();
        let grow = self.clearance_m;
        for (index, unit) in self.units.iter().enumerate() {
            let frame = &frames[unit.unit];
            let without = need;
            let about = self.about(unit, frame, grow);
            scratch.corners.clear();
            scratch.corners.extend(unit.hull.iter().map(|corner| frame.place(*corner)));
            need.least_v = scratch.corners.iter().fold(need.least_v, |least, at| lesser(least, at.y));
            let most_v = self.surroundings.most_v_between_ends(&scratch.corners, PAST_END_M);
            need.most_v = greater(need.most_v, most_v);
            binding.unit(&without, &need, index);
            let unit_middle = frame.place(self.middles[unit.unit]);
            for at in unit.parts.clone() {
                let (part, before_part) = (&self.parts[at], need);
                if !about.concerns(part) {
                    continue;
                }
                scratch.corners.clear();
                scratch.corners.extend(part.corners.iter().map(|p| frame.place(*p)));
                let corners = &scratch.corners;
                let placed =
                    Placed { center: frame.place(part.center), reach_m: part.reach_m, corners, unit_middle };
                let (low_v, high_v) = self.part_need(part, placed, grow, about, &mut need);
                binding.part(&before_part, &need, at, None);
                if let Some(before) = before
                    && high_v + grow > self.moving_v.0 - NEAR_GATE_M
                    && low_v - grow < self.moving_v.1 + NEAR_GATE_M
                {
                    for (corner, (local, now)) in part.corners.iter().zip(&scratch.corners).enumerate() {
                        let before_corner = need;
                        self.chord_need(part, before[part.unit].place(*local), *now, grow, &mut need);
                        binding.part(&before_corner, &need, at, Some(corner));
                    }
                }
            }
        }
        if let Some(ground) = &self.surroundings.ground {
            for (index, tire) in self.tires.iter().enumerate() {
                let ends = tire.ends.map(|local| frames[tire.unit].place(local));
                for (end, p) in ends.into_iter().enumerate() {
                    if ground.clearly_inside(p, need.ground_m) {
                        continue;
                    }
                    let inside_m = ground.signed_distance(p);
                    if inside_m < need.ground_m {
                        need.ground_m = inside_m;
                        binding.tire(index, TireAt::End(end));
                    }
                }
                if let Some(before) = before {
                    // A corner of the ground that comes between two poses is beside the paths of the ends or between
                    // them.
                    let was = tire.ends.map(|local| before[tire.unit].place(local));
                    let apart = was[0].distance(ends[1]).max(was[1].distance(ends[0]));
                    if ground.clearly_inside(ends[0], need.ground_m.max(0.0) + 2.0 * apart) {
                        continue;
                    }
                    let quad = [was[0], ends[0], ends[1], was[1]];
                    if let Some((room, corner)) = ground.corner_beside(&quad, need.ground_m) {
                        need.ground_m = room;
                        binding.tire(index, TireAt::Way(corner));
                    }
                }
            }
        }
        scratch.binding = binding;
        need
    }

    /// Adds the need of one corner's path, where it crosses into or out of the depth of anything that moves with the
    /// faces.
    fn chord_need(&self, part: &ModelPart, from: Point, to: Point, grow: f64, need: &mut PoseNeed) {
        let surroundings = &self.surroundings;
        let (low, high) = (lesser(from.y, to.y) - grow, greater(from.y, to.y) + grow);
        let crosses = |level: f64| low < level && level < high;
        if !self.levels_v.iter().any(|level| crosses(*level)) {
            return;
        }
        let corners = [from, to];
        let least = Point::new(from.x.min(to.x), low + grow);
        let most = Point::new(from.x.max(to.x), high - grow);
        let left = self.reach(&surroundings.left, &part.left, &corners, grow, (least, most), -1.0);
        need.left_u = need.left_u.min(left);
        let right = self.reach(&surroundings.right, &part.right, &corners, grow, (least, most), 1.0);
        need.right_u = need.right_u.max(-right);
    }

    /// Adds the need of one convex outline of a part, grown by `grow`; returns its least and largest v.
    pub(super) fn part_need(
        &self,
        part: &ModelPart,
        placed: Placed<'_>,
        grow: f64,
        about: BroadPhase,
        need: &mut PoseNeed,
    ) -> (f64, f64) {
        let corners = placed.corners;
        let (low, high) = box_around(corners);
        need.least_v = need.least_v.min(low.y);
        let surroundings = &self.surroundings;
        if about.gate {
            let left = self.reach(&surroundings.left, &part.left, corners, grow, (low, high), -1.0);
            need.left_u = need.left_u.min(left);
            let right = self.reach(&surroundings.right, &part.right, corners, grow, (low, high), 1.0);
            need.right_u = need.right_u.max(-right);
        }
        need.margin_m = self.margin(part, &placed, grow, (low, high), about, need.margin_m);
        (low.y, high.y)
    }

    /// True if everything of an outline in the gate's depth lies past the end of the closed line, on the left (sign -1)
    /// or on the right: it is out on the road. No clearance is kept from the end of a line that nobody sees.
    fn past_end(&self, corners: &[Point], (low, high): (Point, Point), sign: f64) -> bool {
        let surroundings = &self.surroundings;
        let (least, end) =
            if sign < 0.0 { (-high.x, -surroundings.left.end_u) } else { (low.x, surroundings.right.end_u) };
        let most = if sign < 0.0 { -low.x } else { high.x };
        if least > end || most <= end {
            return least > end;
        }
        let (front, back) = self.closed_v;
        distance::reach_in_band(corners, 0.0, front, back)
            .is_none_or(|(left, right)| if sign < 0.0 { -right >= end } else { left >= end })
    }

    /// Least `sign`-mirrored u that the face on one side may have: for the left face (sign -1) the largest u it may
    /// stand at; for the right face the same with u mirrored.
    pub(super) fn reach(
        &self,
        side: &SideOfGate,
        (bands, blocks): &(Vec<usize>, Vec<usize>),
        corners: &[Point],
        grow: f64,
        (low, high): (Point, Point),
        sign: f64,
    ) -> f64 {
        let mut face = f64::INFINITY;
        let widest = self.widest_face(sign);
        // An outline wholly past the end of the closed line is out on the road: the faces stand between it and the
        // middle, but a post or a leaf that stands there is in its way all the same.
        let outermost = if sign < 0.0 { -high.x + side.end_u } else { low.x - side.end_u };
        if self.ends_fixed && outermost >= 0.0 {
            return face;
        }
        // One that is past the end in the gate's depth passes the line; a leaf may still be in its way.
        let bands = if self.past_end(corners, (low, high), sign) { &[][..] } else { bands.as_slice() };
        for &index in bands {
            let band = &side.bands[index];
            // An outline that reaches no farther out than the known limit changes nothing.
            let nearest = if sign < 0.0 { low.x } else { -high.x } - grow;
            if low.y - grow > band.high || high.y + grow < band.low || nearest >= face {
                continue;
            }
            if let Some((least, most)) = distance::reach_in_band(corners, grow, band.low, band.high) {
                face = face.min(if sign < 0.0 { least } else { -most });
            }
        }
        for &index in blocks {
            let block = &side.blocks[index];
            let (nearest, farthest) = if sign < 0.0 {
                (low.x - block.high.x - grow, high.x - block.low.x + grow)
            } else {
                (block.low.x - high.x - grow, block.high.x - low.x + grow)
            };
            if low.y - grow > block.high.y
                || high.y + grow < block.low.y
                || nearest >= face
                || farthest < widest
            {
                continue;
            }
            let shifts = if block.is_rectangle {
                // A rectangle square to the gate line is touched where the band it fills is reached.
                distance::reach_in_band(corners, grow, block.low.y, block.high.y)
                    .map(|(least, most)| (least - block.high.x, most - block.low.x))
            } else {
                distance::touching_shifts(corners, &block.corners, grow)
            };
            if let Some((least, most)) = shifts {
                let (near, far) = if sign < 0.0 { (least, most) } else { (-most, -least) };
                // Place of the face at the widest opening of interest; a block that would only be touched with faces
                // farther out is never there.
                if far >= widest {
                    face = face.min(near);
                }
            }
        }
        face
    }

    /// Outermost place (mirrored by `sign`) of a face at the widest opening of interest.
    fn widest_face(&self, sign: f64) -> f64 {
        match self.surroundings.anchor.faces(self.surroundings.drawn_faces_u, self.widest_m) {
            Some(faces) if sign < 0.0 => faces.left,
            Some(faces) => -faces.right,
            None => f64::NEG_INFINITY,
        }
    }

    /// Least gap less clearance to the standing pieces if that is below `margin_m`, else `margin_m`.
    ///
    /// Where there are many, the nearest is found first; then only those that may be as near are measured, in the order
    /// of the site, so that the answer is the same to the last bit as if each had been.
    pub(super) fn margin(
        &self,
        part: &ModelPart,
        placed: &Placed<'_>,
        grow: f64,
        extent: (Point, Point),
        about: BroadPhase,
        mut margin_m: f64,
    ) -> f64 {
        let standing = &self.surroundings.standing;
        let Some(nearby) = &part.tree else {
            if standing.len() > BroadPhase::MOST {
                let all = part.standing.iter();
                return all.fold(margin_m, |least_m, i| margin_to(&standing[*i], placed, grow, least_m));
            }
            let mut bits = part.standing_bits & about.standing;
            while let Some(index) = usize::try_from(bits.trailing_zeros()).ok().filter(|_| bits != 0) {
                margin_m = margin_to(&standing[index], placed, grow, margin_m);
                bits &= bits - 1;
            }
            return margin_m;
        };
        let mut probe = Query::new(placed.corners, extent);
        // The depth of overlaps depends on their order: everything near enough to overlap is measured below.
        let mut least_m = margin_m;
        let matters_m = |margin_m: f64| margin_m.max(0.0) + grow;
        if margin_m > 0.0 {
            nearby.nearest_first(&mut probe, matters_m(margin_m), &mut |index| {
                least_m = margin_to(&standing[index], placed, grow, least_m);
                matters_m(least_m)
            });
            if least_m >= margin_m {
                return margin_m;
            }
        }
        let matters_m = matters_m(least_m);
        let mut found = Vec::new();
        nearby.within(&mut probe, |_| matters_m, &mut found);
        for index in found {
            margin_m = margin_to(&standing[index], placed, grow, margin_m);
        }
        margin_m
    }

    /// True if a part that lies among `points`, grown by `grow`, certainly needs nothing: it is beside the gate's depth
    /// with all that moves with the faces, and beyond [`AMPLE_M`] of every fixed piece it can touch.
    pub(super) fn stands_clear(&self, part: &ModelPart, points: &[Point], grow: f64) -> bool {
        let (low, high) = box_around(points);
        let surroundings = &self.surroundings;
        if self.meets_moving(part, low.y - grow, high.y + grow) {
            return false;
        }
        let center = (low + high) * 0.5;
        let reach_m = center.distance(high) + AMPLE_M + grow;
        let around = [low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)];
        let near = self.standing_near(part, &around, |_| None, AMPLE_M + grow);
        near.iter().all(|index| {
            let piece = &surroundings.standing[*index];
            center.distance(piece.center) - reach_m - piece.reach_m >= 0.0
        })
    }

    /// True if a part needs nothing on a stretch of its path, whose corners come to `points` in several poses, `middle`
    /// being one of them; grown by `grow`, which must cover the bow of its points' paths between the poses.
    ///
    /// It is beside all that moves with the faces, and every piece it can touch is beyond [`AMPLE_M`] of the rectangle
    /// about the part in the middle pose grown by the distance its corners move from there, or has an edge which all
    /// corners are that far beyond. Points of a part are means of its corners, so none moves farther.
    pub(super) fn stays_clear(&self, part: &ModelPart, points: &[Point], middle: &Frame, grow: f64) -> bool {
        let (low, high) = box_around(points);
        if self.meets_moving(part, low.y - grow, high.y + grow) {
            return false;
        }
        let there = |corner: usize| middle.place(part.corners[corner]);
        let off = points.chunks(part.corners.len()).flatten().zip((0..part.corners.len()).cycle());
        let off_m = off.map(|(p, corner)| p.distance(there(corner))).fold(0.0, f64::max);
        let enough_m = AMPLE_M + grow + ROUNDING_M;
        let around = [low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)];
        let near = self.standing_near(part, &around, |_| None, enough_m);
        let (least, most) = box_around(&part.corners);
        let circles = self.surroundings.standing.circles();
        near.iter().all(|index| {
            let (center, reach_m) = circles[*index];
            let at = middle.local(center);
            let out = |x: f64, low: f64, high: f64| (low - x).max(x - high).max(0.0);
            let gap_m = Point::new(out(at.x, least.x, most.x), out(at.y, least.y, most.y)).norm();
            if gap_m - reach_m - off_m >= enough_m {
                return true;
            }
            let piece = &self.surroundings.standing[*index];
            let enough_m = enough_m + piece.radius_m;
            let beyond = |&(outward, offset): &(Point, f64)| {
                points.iter().all(|p| p.dot(outward) - offset >= enough_m)
            };
            piece.faces.iter().any(beyond)
        })
    }

    /// True if a part with v from `low` to `high` may touch anything that moves with the faces.
    fn meets_moving(&self, part: &ModelPart, low: f64, high: f64) -> bool {
        let meets = |least: f64, most: f64| low <= most && high >= least;
        let of_side = |side: &SideOfGate, (bands, blocks): &(Vec<usize>, Vec<usize>)| {
            bands.iter().any(|i| meets(side.bands[*i].low, side.bands[*i].high))
                || blocks.iter().any(|i| meets(side.blocks[*i].low.y, side.blocks[*i].high.y))
        };
        of_side(&self.surroundings.left, &part.left) || of_side(&self.surroundings.right, &part.right)
    }

    /// True if all of the vehicle is beyond the gate and the clearance, by `spare_m` at least, and no unit is out on
    /// the road past the end of the closed line.
    #[must_use]
    pub fn is_inside(&self, state: &State, spare_m: f64) -> bool {
        self.is_behind(state, self.surroundings.beyond_v + self.clearance_m + spare_m)
    }

    /// True if all of the vehicle has v of `least_v` or more, and no unit is out on the road past the end of the closed
    /// line.
    #[must_use]
    pub fn is_behind(&self, state: &State, least_v: f64) -> bool {
        let frames = self.chain.unit_frames(state);
        let on_site = |unit: &ModelUnit| {
            self.surroundings.between_ends(frames[unit.unit].place(self.middles[unit.unit]).x)
        };
        self.least_v(&frames) >= least_v && self.units.iter().all(on_site)
    }

    /// Least v of any part with the units at `frames`: [`PoseNeed::least_v`] alone.
    #[must_use]
    pub fn least_v(&self, frames: &[Frame; MAX_UNITS]) -> f64 {
        let of_part = |part: &ModelPart| {
            let corners = part.corners.iter().map(|p| frames[part.unit].place(*p).y);
            corners.fold(f64::INFINITY, f64::min)
        };
        self.parts.iter().map(of_part).fold(f64::INFINITY, f64::min)
    }
}

/// Gap less clearance from an outline to a piece if that is below `margin_m`, else `margin_m`.
fn margin_to(piece: &FixedPiece, placed: &Placed<'_>, grow: f64, margin_m: f64) -> f64 {
    let Placed { center, reach_m, corners, unit_middle } = *placed;
    let apart = center.distance(piece.center) - reach_m - piece.reach_m;
    if apart - grow >= margin_m {
        return margin_m;
    }
    // Most pieces are far enough beyond one of their own edges.
    let enough = margin_m + grow + piece.radius_m;
    let beyond =
        |&(outward, offset): &(Point, f64)| corners.iter().all(|c| c.dot(outward) - offset >= enough);
    if piece.faces.iter().any(beyond) {
        return margin_m;
    }
    let apart = distance::separation(corners, &piece.corners);
    if apart - piece.radius_m - grow >= margin_m {
        return margin_m;
    }
    // Two corners facing each other are farther apart than any edge line shows.
    let gap = if apart > 0.0 {
        distance::nearest_convex(corners, &piece.corners).distance_m
    } else {
        apart.min(depth_toward(piece, corners, unit_middle))
    };
    margin_m.min(gap - piece.radius_m - grow)
}

/// Depth of an overlapping outline in a piece (negative), measured back toward its unit: beyond those of the piece's
/// faces that the middle of the unit is beyond. A mirror through a thin wall is not nearly out on the far side.
fn depth_toward(piece: &FixedPiece, corners: &[Point], unit_middle: Point) -> f64 {
    let facing = piece.faces.iter().filter(|(outward, offset)| unit_middle.dot(*outward) > *offset);
    let depth = |&(outward, offset): &(Point, f64)| {
        corners.iter().map(|c| c.dot(outward) - offset).fold(f64::INFINITY, f64::min)
    };
    let least = facing.map(depth).fold(f64::NEG_INFINITY, f64::max);
    if least.is_finite() { least } else { 0.0 }
}
