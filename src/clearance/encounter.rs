//! One vehicle against its surroundings at one clearance: what a pose needs of the opening, and how far it is from
//! everything else.
use super::near::{Nearby, Probe, box_around};
use super::surroundings::{SideOfGate, Standing, Surroundings};
use crate::geometry::{Point, Pose, distance};
use crate::motion::Chain;
use crate::site::{Anchor, Side};
use crate::vehicle::{MAX_UNITS, Part, PartKind, Vehicle};
use std::borrow::Cow;
use std::sync::Arc;

/// A vehicle, made ready to be measured against its surroundings.
#[derive(Clone, Debug)]
pub struct Encounter {
    /// The chain of the vehicle's units.
    pub chain: Chain,
    /// The surroundings, in the gate's frame.
    pub surroundings: Surroundings,
    /// Clearance kept from everything that stands.
    pub clearance_m: f64,
    /// The convex parts that can touch something.
    pub parts: Vec<EncounterPart>,
    /// Tire contacts.
    pub tires: Vec<EncounterTire>,
    /// The middle of each unit's body, in its frame.
    pub middles: [Point; MAX_UNITS],
    /// Hitch-angle limits, in order; infinite beyond the last.
    pub hitch_limits: [f64; MAX_UNITS],
    /// Openings wider than this are of no interest: what would only matter then is left out.
    pub widest_m: f64,
    /// The gate's front: see [`Surroundings::front_v`].
    pub front_v: f64,
}

/// How near a part must be to the gate's depth for its corners' ways to be followed: more than a step of the search.
const NEAR_GATE_M: f64 = 1.0;

/// A convex part and the things its heights let it touch.
#[derive(Clone, Debug)]
pub struct EncounterPart {
    /// Index of its unit.
    pub unit: usize,
    /// What to call it: "pickup mirror".
    pub name: String,
    /// Its outline in the unit's frame.
    pub corners: Vec<Point>,
    /// Middle of the outline, in the unit's frame.
    pub center: Point,
    /// All of it lies within this of the center.
    pub reach_m: f64,
    /// Indices of the standing pieces it can touch.
    pub standing: Vec<usize>,
    /// Indices of the bands and blocks behind the left face it can touch.
    pub left: (Vec<usize>, Vec<usize>),
    /// The same behind the right face.
    pub right: (Vec<usize>, Vec<usize>),
    /// Which of `standing` are near a place, where there are many.
    pub tree: Option<Arc<Nearby>>,
}

/// A tire's line of contact.
#[derive(Clone, Copy, Debug)]
pub struct EncounterTire {
    /// Index of its unit.
    pub unit: usize,
    /// Its two ends, in the unit's frame.
    pub ends: [Point; 2],
}

/// A convex outline in the gate's frame: a part in one pose, or the hull of it in two.
#[derive(Clone, Copy, Debug)]
pub struct Placed<'a> {
    /// A point from which all of it lies within `reach_m`.
    pub center: Point,
    /// See `center`.
    pub reach_m: f64,
    /// Its corners, counterclockwise.
    pub corners: &'a [Point],
    /// The middle of the unit it belongs to: which way is out of an overlap.
    pub unit_middle: Point,
}

/// Room for intermediate results, so that measuring allocates nothing.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    corners: Vec<Point>,
}

/// What one pose needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PoseNeed {
    /// The left face may stand no farther right than this (u); infinite when the pose asks nothing of it.
    pub left_u: f64,
    /// The right face may stand no farther left than this (u); minus infinite likewise.
    pub right_u: f64,
    /// Least of gap less clearance over the fixed pieces: negative when one is too near (then about how deep), and
    /// capped at [`AMPLE_M`].
    pub margin_m: f64,
    /// Least signed distance of the tires from the edge of where they may go, capped at [`AMPLE_M`].
    pub ground_m: f64,
    /// Least v of any part: the vehicle is beyond the gate when it exceeds the gate's depth.
    pub least_v: f64,
    /// Largest v of any part.
    pub most_v: f64,
}

/// Margins are not measured beyond this: whatever is farther away cannot matter to a step of the search.
pub const AMPLE_M: f64 = 0.25;

impl PoseNeed {
    /// The need of a pose that asks for nothing.
    pub const NOTHING: Self = Self {
        left_u: f64::INFINITY,
        right_u: f64::NEG_INFINITY,
        margin_m: AMPLE_M,
        ground_m: AMPLE_M,
        least_v: f64::INFINITY,
        most_v: f64::NEG_INFINITY,
    };

    /// The need of two poses together.
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

/// The opening that faces asked to stand at most at `left_u` and at least at `right_u` make, and where they then
/// stand: (opening, left face, right face). Infinite when the anchored face cannot move out of the way.
#[must_use]
pub fn opening_for(surroundings: &Surroundings, left_u: f64, right_u: f64) -> (f64, f64, f64) {
    let (drawn_left, drawn_right) = surroundings.drawn_faces_u;
    match surroundings.anchor {
        Anchor::Center => {
            let half = right_u.max(-left_u).max(0.0);
            (2.0 * half, -half, half)
        }
        Anchor::Side(Side::Left) if left_u < drawn_left => (f64::INFINITY, left_u, right_u),
        Anchor::Side(Side::Left) => {
            let right = right_u.max(drawn_left);
            (right - drawn_left, drawn_left, right)
        }
        Anchor::Side(Side::Right) if right_u > drawn_right => (f64::INFINITY, left_u, right_u),
        Anchor::Side(Side::Right) => {
            let left = left_u.min(drawn_right);
            (drawn_right - left, left, drawn_right)
        }
        Anchor::Free if left_u.is_infinite() || right_u.is_infinite() => {
            let at = if left_u.is_finite() {
                left_u
            } else if right_u.is_finite() {
                right_u
            } else {
                0.0
            };
            (0.0, at, at)
        }
        // Faces that would overlap leave an opening of nothing.
        Anchor::Free => ((right_u - left_u).max(0.0), left_u, right_u.max(left_u)),
    }
}

impl Encounter {
    /// Makes a vehicle ready against surroundings.
    #[must_use]
    pub fn new(vehicle: &Vehicle, surroundings: Surroundings, clearance_m: f64, widest_m: f64) -> Self {
        let mut parts = Vec::new();
        let mut tires = Vec::new();
        let mut middles = [Point::default(); MAX_UNITS];
        let mut hitch_limits = [f64::INFINITY; MAX_UNITS];
        for (index, unit) in vehicle.units.iter().enumerate().take(MAX_UNITS) {
            let half = 0.5 * (unit.wheelbase_m + unit.front_overhang_m - unit.rear_overhang_m);
            middles[index] = Point::new(half, 0.0);
            hitch_limits[index] = unit.hitch.map_or(f64::INFINITY, |h| h.max_angle_rad);
            for part in &unit.parts {
                let covering: Vec<&Part> = unit.parts.iter().filter(|other| covers(other, part)).collect();
                parts.push(ready(index, &unit.name, part, &covering, &surroundings));
            }
            for tire in &unit.tires {
                let half = Point::new(0.0, 0.5 * tire.width_m);
                tires.push(EncounterTire { unit: index, ends: [tire.center - half, tire.center + half] });
            }
        }
        // What touches nothing costs nothing, but mirrors and bodies still say where the vehicle is.
        parts.retain(|p| {
            let idle = p.standing.is_empty() && p.left.0.is_empty() && p.left.1.is_empty();
            !(idle && p.name.ends_with("tire"))
        });
        let (chain, front_v) = (Chain::of(vehicle), surroundings.front_v());
        Self { chain, surroundings, clearance_m, parts, tires, middles, hitch_limits, widest_m, front_v }
    }

    /// The standing pieces a part with these corners can touch that may come within `matters_m`, and perhaps others, in the
    /// order of the site. `matters_m` is asked about one piece for all that are called like it.
    pub(super) fn standing_near<'a>(
        &self,
        part: &'a EncounterPart,
        corners: &[Point],
        matters_m: impl Fn(&str) -> Option<f64>,
        at_most_m: f64,
    ) -> Cow<'a, [usize]> {
        let Some(nearby) = &part.tree else {
            return Cow::Borrowed(&part.standing);
        };
        let mut found = Vec::new();
        let called = |index: usize| matters_m(&self.surroundings.standing[index].material.what);
        let matters_m = |one: Option<usize>| one.and_then(called).unwrap_or(at_most_m);
        nearby.within(&mut Probe::new(corners, box_around(corners)), matters_m, &mut found);
        Cow::Owned(found)
    }

    /// The least gap less clearance to the standing pieces if that is below `margin_m`, else `margin_m`.
    ///
    /// Where there are many, the nearest is looked for first; then only what may be as near is measured, in the order of
    /// the site, so that the answer is the same to the last bit as if each had been.
    fn margin(
        &self,
        part: &EncounterPart,
        placed: &Placed<'_>,
        grow: f64,
        extent: (Point, Point),
        mut margin_m: f64,
    ) -> f64 {
        let standing = &self.surroundings.standing;
        let Some(nearby) = &part.tree else {
            for &index in &part.standing {
                margin_m = margin_to(&standing[index], placed, grow, margin_m);
            }
            return margin_m;
        };
        let mut probe = Probe::new(placed.corners, extent);
        // How deep overlaps are hangs on their order: what is near enough to overlap is all measured below.
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

    /// What the vehicle standing at these unit poses (gate frame) needs.
    pub fn need(&self, poses: &[Pose; MAX_UNITS], scratch: &mut Scratch) -> PoseNeed {
        self.need_since(None, poses, scratch)
    }

    /// What the vehicle needs at these unit poses and on the short way there from `before`: a corner that entered
    /// the gate's depth in between is met where its chord did. What is left out is of second order in the way.
    pub fn need_since(
        &self,
        before: Option<&[Pose; MAX_UNITS]>,
        poses: &[Pose; MAX_UNITS],
        scratch: &mut Scratch,
    ) -> PoseNeed {
        let mut need = PoseNeed::NOTHING;
        let grow = self.clearance_m;
        let mut axes = [(Point::default(), Point::default()); MAX_UNITS];
        for unit in 0..=self.chain.towed_count() {
            let forward = Point::at_angle(poses[unit].heading);
            axes[unit] = (forward, forward.left());
        }
        for part in &self.parts {
            let (forward, left) = axes[part.unit];
            let at = poses[part.unit].position;
            let place = |p: &Point| at + forward * p.x + left * p.y;
            scratch.corners.clear();
            scratch.corners.extend(part.corners.iter().map(place));
            let placed = Placed {
                center: place(&part.center),
                reach_m: part.reach_m,
                corners: &scratch.corners,
                unit_middle: place(&self.middles[part.unit]),
            };
            let (low_v, high_v) = self.part_need(part, placed, grow, &mut need);
            if let Some(before) = before
                && high_v + grow > self.front_v - NEAR_GATE_M
                && low_v - grow < self.surroundings.beyond_v + NEAR_GATE_M
            {
                for (local, now) in part.corners.iter().zip(&scratch.corners) {
                    self.chord_need(part, before[part.unit].to_site(*local), *now, grow, &mut need);
                }
            }
        }
        if let Some(ground) = &self.surroundings.ground {
            for tire in &self.tires {
                let (forward, left) = axes[tire.unit];
                for end in &tire.ends {
                    let p = poses[tire.unit].position + forward * end.x + left * end.y;
                    if !ground.clearly_inside(p, need.ground_m) {
                        need.ground_m = need.ground_m.min(ground.signed_distance(p));
                    }
                }
            }
        }
        need
    }

    /// Adds what the way of one corner needs, where it crosses into or out of the gate's depth.
    fn chord_need(&self, part: &EncounterPart, from: Point, to: Point, grow: f64, need: &mut PoseNeed) {
        let surroundings = &self.surroundings;
        let (low, high) = (from.y.min(to.y) - grow, from.y.max(to.y) + grow);
        let crosses = |level: f64| low < level && level < high;
        if !crosses(self.front_v) && !crosses(surroundings.beyond_v) && !crosses(0.0) {
            return;
        }
        let corners = [from, to];
        let least = Point::new(from.x.min(to.x), low + grow);
        let most = Point::new(from.x.max(to.x), high - grow);
        if most.x >= surroundings.left.end_u {
            let left = self.reach(&surroundings.left, &part.left, &corners, grow, (least, most), -1.0);
            need.left_u = need.left_u.min(left);
        }
        if least.x <= surroundings.right.end_u {
            let right = self.reach(&surroundings.right, &part.right, &corners, grow, (least, most), 1.0);
            need.right_u = need.right_u.max(-right);
        }
    }

    /// Whether a part that lies among `points`, grown by `grow`, is seen from afar to ask for nothing: it is beside the
    /// gate's depth with all that moves with the faces, and beyond [`AMPLE_M`] of every fixed piece it can touch.
    pub(super) fn stands_clear(&self, part: &EncounterPart, points: &[Point], grow: f64) -> bool {
        let (low, high) = box_around(points);
        let beside = |least: f64, most: f64| low.y - grow > most || high.y + grow < least;
        let clear_of = |side: &SideOfGate, (bands, blocks): &(Vec<usize>, Vec<usize>)| {
            bands.iter().all(|i| beside(side.bands[*i].low, side.bands[*i].high))
                && blocks.iter().all(|i| beside(side.blocks[*i].low.y, side.blocks[*i].high.y))
        };
        let surroundings = &self.surroundings;
        if !clear_of(&surroundings.left, &part.left) || !clear_of(&surroundings.right, &part.right) {
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

    /// Adds what one convex outline of a part, grown by `grow`, needs; gives its least and largest v.
    pub fn part_need(
        &self,
        part: &EncounterPart,
        placed: Placed<'_>,
        grow: f64,
        need: &mut PoseNeed,
    ) -> (f64, f64) {
        let corners = placed.corners;
        let mut low = Point::new(f64::INFINITY, f64::INFINITY);
        let mut high = Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY);
        for p in corners {
            low = Point::new(low.x.min(p.x), low.y.min(p.y));
            high = Point::new(high.x.max(p.x), high.y.max(p.y));
        }
        need.least_v = need.least_v.min(low.y);
        need.most_v = need.most_v.max(high.y);
        let surroundings = &self.surroundings;
        // A part beyond the end of the closed line is out on the road.
        if high.x >= surroundings.left.end_u {
            let left = self.reach(&surroundings.left, &part.left, corners, grow, (low, high), -1.0);
            need.left_u = need.left_u.min(left);
        }
        if low.x <= surroundings.right.end_u {
            let right = self.reach(&surroundings.right, &part.right, corners, grow, (low, high), 1.0);
            need.right_u = need.right_u.max(-right);
        }
        need.margin_m = self.margin(part, &placed, grow, (low, high), need.margin_m);
        (low.y, high.y)
    }

    /// The least `sign`-mirrored u the face on one side may have: for the left face (sign -1) the largest u it may
    /// stand at; for the right face the same with u mirrored.
    fn reach(
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
        for &index in bands {
            let band = &side.bands[index];
            // What reaches no farther out than what is known already changes nothing.
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
                // Where the face would stand at the widest opening of interest; a block that would only be touched by
                // faces farther out than that is never there.
                if far >= widest {
                    face = face.min(near);
                }
            }
        }
        face
    }

    /// The outermost place (mirrored by `sign`) a face takes at the widest opening of interest.
    fn widest_face(&self, sign: f64) -> f64 {
        let (left, right) = self.surroundings.drawn_faces_u;
        match (self.surroundings.anchor, sign < 0.0) {
            (Anchor::Center, _) => -0.5 * self.widest_m,
            (Anchor::Side(Side::Left), true) => left,
            (Anchor::Side(Side::Left), false) => -(left + self.widest_m),
            (Anchor::Side(Side::Right), true) => right - self.widest_m,
            (Anchor::Side(Side::Right), false) => -right,
            (Anchor::Free, _) => f64::NEG_INFINITY,
        }
    }
}

/// The gap less clearance from an outline to a piece if that is below `margin_m`, else `margin_m`.
fn margin_to(piece: &Standing, placed: &Placed<'_>, grow: f64, margin_m: f64) -> f64 {
    let Placed { center, reach_m, corners, unit_middle } = *placed;
    let apart = center.distance(piece.center) - reach_m - piece.reach_m;
    if apart - grow >= margin_m {
        return margin_m;
    }
    // Most pieces are seen to be far enough beyond one of their own edges.
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
    // Two corners facing each other are farther apart than any edge line says.
    let gap = if apart > 0.0 {
        distance::nearest_convex(corners, &piece.corners).distance_m
    } else {
        apart.min(depth_toward(piece, corners, unit_middle))
    };
    margin_m.min(gap - piece.radius_m - grow)
}

/// How deep an overlapping outline is in a piece (negative), measured back toward its unit: beyond those of the
/// piece's faces that the middle of the unit is beyond. A mirror through a thin wall is not nearly out on the far
/// side.
fn depth_toward(piece: &Standing, corners: &[Point], unit_middle: Point) -> f64 {
    let facing = piece.faces.iter().filter(|(outward, offset)| unit_middle.dot(*outward) > *offset);
    let depth = |&(outward, offset): &(Point, f64)| {
        corners.iter().map(|c| c.dot(outward) - offset).fold(f64::INFINITY, f64::min)
    };
    let least = facing.map(depth).fold(f64::NEG_INFINITY, f64::max);
    if least.is_finite() { least } else { 0.0 }
}

/// Whether `other` is a body that covers all of the tire `part` as seen from above.
fn covers(other: &Part, part: &Part) -> bool {
    part.kind == PartKind::Tire
        && other.kind == PartKind::Body
        && part.outline.0.iter().all(|p| distance::ring_contains(&other.outline.0, *p))
}

fn ready(
    unit: usize,
    unit_name: &str,
    part: &Part,
    covering: &[&Part],
    surroundings: &Surroundings,
) -> EncounterPart {
    let meets = |material: &super::Material| {
        material.meets(part.bottom_m, part.top_m)
            && !covering.iter().any(|body| material.meets(body.bottom_m, body.top_m))
    };
    let side = |side: &SideOfGate| {
        let bands = (0..side.bands.len()).filter(|i| meets(&side.bands[*i].material)).collect();
        // A post no deeper than a fence as tall behind the same face adds nothing to it.
        let hidden = |i: &usize| {
            let block = &side.blocks[*i];
            let outward = block.low.x * block.high.x >= 0.0;
            block.is_rectangle
                && outward
                && side
                    .bands
                    .iter()
                    .any(|band| band.low <= block.low.y && band.high >= block.high.y && meets(&band.material))
        };
        let blocks =
            (0..side.blocks.len()).filter(|i| meets(&side.blocks[*i].material) && !hidden(i)).collect();
        (bands, blocks)
    };
    let corners = part.outline.0.clone();
    let count = f64::from(u32::try_from(corners.len().max(1)).unwrap_or(u32::MAX));
    let center = corners.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / count);
    let reach_m = corners.iter().map(|p| p.distance(center)).fold(0.0, f64::max);
    let kind = match part.kind {
        PartKind::Body => "body",
        PartKind::Mirror => "mirror",
        PartKind::Tire => "tire",
    };
    let standing: Vec<usize> =
        (0..surroundings.standing.len()).filter(|i| meets(&surroundings.standing[*i].material)).collect();
    EncounterPart {
        unit,
        name: format!("{unit_name} {kind}"),
        center,
        reach_m,
        tree: surroundings.standing.tree(&standing),
        standing,
        left: side(&surroundings.left),
        right: side(&surroundings.right),
        corners,
    }
}
