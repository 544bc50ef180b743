//! Surroundings: what stands on a site, in the gate's frame, as fixed pieces and pieces that move with the two faces of
//! the opening.
//!
//! Behind each face stand the post, the fence in the gate line and the open leaf. They are kept in a frame that moves
//! with the face, so that widening the opening is one shift. Beyond the last in-line fence post the gate line counts as
//! closed, without thickness, until it meets a road: driving round the end of the gate is not an answer.
use super::bvh::Pieces;
use super::canonical::mirrored_arrangement;
use super::convex_pieces::{push_convex, push_shape};
use super::ground::Region;
use super::road_line::{CLOSED_LINE_M, first_road, road_ends};
use crate::geometry::{Outline, Point, Pose, Shape};
use crate::motion::{AtGate, OnSite, Path, State, Trajectory};
use crate::site::{Anchor, Arrangement, Faces, Fence, Gate, Side, Site, Swing};
use std::sync::Arc;

/// Distance between the end of a fence and a road across the gate line within which vehicles pass that end.
const PASSED_M: f64 = 1.5;
/// Widest gap in a fence that counts as none: a post that nobody drew.
const FENCE_GAP_M: f64 = 0.5;

/// Transformation between site coordinates and the gate's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GateFrame {
    /// Middle of the drawn opening, facing along the gate line to the right: the frame's origin and x axis.
    pub origin: Pose,
}

impl GateFrame {
    /// Frame of a gate.
    #[must_use]
    pub fn of(gate: &Gate) -> Self {
        Self { origin: Pose { position: gate.center(), heading: gate.along().angle() } }
    }
    /// Converts a site pose to the gate's frame.
    #[must_use]
    pub fn to_gate(&self, pose: &Pose) -> Pose {
        Pose { position: self.origin.to_body(pose.position), heading: pose.heading - self.origin.heading }
    }
    /// Converts a pose of the gate's frame to site coordinates.
    #[must_use]
    pub fn to_site(&self, pose: &Pose) -> Pose {
        Pose { position: self.origin.to_site(pose.position), heading: pose.heading + self.origin.heading }
    }
    /// Converts a trajectory to the gate's frame.
    ///
    /// ```
    /// use wideenough::clearance::GateFrame;
    /// use wideenough::geometry::Pose;
    /// use wideenough::motion::{OnSite, Path, State, Trajectory};
    /// let frame = GateFrame { origin: Pose::new(10.0, 0.0, 0.5) };
    /// let start = State { lead: Pose::new(10.0, 0.0, 2.0), ..State::default() };
    /// let at_gate = frame.trajectory_to_gate(&Trajectory::<OnSite>::new(Path { start, legs: vec![] }));
    /// assert_eq!(at_gate.path().start.lead, Pose::new(0.0, 0.0, 1.5));
    /// assert_eq!(frame.trajectory_to_site(&at_gate).path().start, start);
    /// ```
    #[must_use]
    pub fn trajectory_to_gate(&self, driven: &Trajectory<OnSite>) -> Trajectory<AtGate> {
        let Path { start, legs } = driven.path();
        Trajectory::new(Path {
            start: State { lead: self.to_gate(&start.lead), ..*start },
            legs: legs.clone(),
        })
    }
    /// Converts a trajectory of the gate's frame to site coordinates.
    #[must_use]
    pub fn trajectory_to_site(&self, driven: &Trajectory<AtGate>) -> Trajectory<OnSite> {
        Trajectory::new(driven.path().moved(self.origin.heading, self.origin.position))
    }
}

/// Kind of a standing thing, apart from its name in the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Thing {
    /// The post on one side.
    Post(Side),
    /// The leaf hung on one side.
    Leaf(Side),
    /// A fence.
    Fence,
    /// The gate line, closed without thickness.
    GateLine,
    /// An obstacle, by its index in the plan's list.
    Obstacle(usize),
}

impl Thing {
    /// True if they are of one kind: the same, or both obstacles.
    #[must_use]
    pub const fn is_like(self, other: Self) -> bool {
        match (self, other) {
            (Self::Post(a), Self::Post(b)) | (Self::Leaf(a), Self::Leaf(b)) => {
                matches!(a, Side::Left) == matches!(b, Side::Left)
            }
            (Self::Fence, Self::Fence)
            | (Self::GateLine, Self::GateLine)
            | (Self::Obstacle(_), Self::Obstacle(_)) => true,
            _ => false,
        }
    }
}

/// Material of a thing: its heights and its name.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Kind of thing.
    pub thing: Thing,
    /// Name: "left post", "fence", an obstacle's label.
    pub what: String,
    /// Height of its underside.
    pub bottom_m: f64,
    /// Height of its top.
    pub top_m: f64,
}

impl Material {
    /// True for a leaf of the gate.
    #[must_use]
    pub const fn is_leaf(&self) -> bool {
        matches!(self.thing, Thing::Leaf(_))
    }

    /// True if the material has this kind and label. Contacts are reported once per kind and label.
    #[must_use]
    pub fn goes_by(&self, thing: Thing, what: &str) -> bool {
        self.thing.is_like(thing) && self.what == what
    }

    /// True if a part between these heights can touch it: the closed ranges share a height.
    #[must_use]
    pub fn meets(&self, bottom_m: f64, top_m: f64) -> bool {
        bottom_m <= self.top_m && self.bottom_m <= top_m
    }
}

/// A fixed piece: all points within `radius_m` of a convex core.
#[derive(Clone, Debug, PartialEq)]
pub struct FixedPiece {
    /// Its kind, name and heights.
    pub material: Material,
    /// One corner (a disc), two (an edge), or a convex outline.
    pub corners: Vec<Point>,
    /// Distance that it reaches beyond its core.
    pub radius_m: f64,
    /// Middle of its corners.
    pub center: Point,
    /// Distance from the center within which all of it lies.
    pub reach_m: f64,
    /// Edges of its core as half-planes: outward unit normal, and the core's farthest reach along it.
    pub faces: Vec<(Point, f64)>,
}

/// A band closed from the face outward without end: low ≤ v ≤ high.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Its kind, name and heights.
    pub material: Material,
    /// Least v.
    pub low: f64,
    /// Largest v.
    pub high: f64,
}

/// A convex piece that moves with a face: x from the face along the gate line, y = v.
#[derive(Clone, Debug, PartialEq)]
pub struct MovingPiece {
    /// Its kind, name and heights.
    pub material: Material,
    /// Corners, convex and counterclockwise.
    pub corners: Vec<Point>,
    /// Least x and y.
    pub low: Point,
    /// Largest x and y.
    pub high: Point,
    /// True if it is a rectangle square to the gate line.
    pub is_rectangle: bool,
}

impl MovingPiece {
    pub(super) fn new(material: Material, corners: Vec<Point>) -> Self {
        let mut low = Point::new(f64::INFINITY, f64::INFINITY);
        let mut high = Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY);
        for p in &corners {
            low = Point::new(low.x.min(p.x), low.y.min(p.y));
            high = Point::new(high.x.max(p.x), high.y.max(p.y));
        }
        let at_corner = |p: &Point| (p.x == low.x || p.x == high.x) && (p.y == low.y || p.y == high.y);
        let is_rectangle = corners.len() == 4 && corners.iter().all(at_corner);
        Self { material, corners, low, high, is_rectangle }
    }
}

/// Everything that moves with one face.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SideOfGate {
    /// Bands outward of the face.
    pub bands: Vec<Band>,
    /// Pieces of finite size: post and leaf.
    pub blocks: Vec<MovingPiece>,
    /// End of the closed line (u; negative on the left).
    pub end_u: f64,
    /// End of the fence in the gate line, on from the post (u; negative on the left): a gate that is free to move may
    /// be put no farther out.
    pub fenced_u: f64,
    /// Outermost place of the face at which its post stands beside the first road that the gate line comes to (u;
    /// negative on the left); infinite if it comes to none. Never less than drawn.
    pub road_u: f64,
    /// Width of the post at the face: a contact so near the face is with the post.
    pub post_width_m: f64,
}

/// A site as seen from its gate.
#[derive(Clone, Debug)]
pub struct Surroundings {
    /// Transformation from site coordinates to these and back.
    pub frame: GateFrame,
    /// Fixed pieces.
    pub standing: Pieces,
    /// Everything that moves with the left face.
    pub left: SideOfGate,
    /// Everything that moves with the right face.
    pub right: SideOfGate,
    /// Region where tires may go; `None` for anywhere.
    pub ground: Option<Arc<Region>>,
    /// Part of the gate that stays put when the opening widens.
    pub anchor: Anchor,
    /// The faces as drawn (u): left (negative) and right.
    pub drawn_faces_u: Faces,
    /// Limit of v beyond which all of a vehicle must lie to be beyond the gate.
    pub beyond_v: f64,
    /// Opening that the leaves were cut for.
    pub leaf_opening_m: f64,
    leaves_fixed: bool,
    gate: Gate,
}

impl Surroundings {
    /// Sets up a site in its gate's frame, with leaves cut for `leaf_opening_m` and tires kept to `ground` (site
    /// coordinates, converted to the gate's frame here).
    #[must_use]
    pub fn new(site: &Site, ground: Option<&Region>, leaf_opening_m: f64) -> Self {
        let gate = &site.gate;
        let frame = GateFrame::of(gate);
        let half = 0.5 * gate.opening_m();
        let mut standing = Vec::new();
        for (index, obstacle) in site.obstacles.iter().enumerate() {
            let material = Material {
                thing: Thing::Obstacle(index),
                what: obstacle.label.clone(),
                bottom_m: obstacle.bottom_m,
                top_m: obstacle.top_m,
            };
            for shape in &obstacle.shapes {
                push_shape(&mut standing, &material, &moved(shape, &frame));
            }
        }
        let (left_road, right_road) = road_ends(site);
        let mut surroundings = Self {
            frame,
            standing: Pieces::default(),
            left: SideOfGate { end_u: -left_road, ..SideOfGate::default() },
            right: SideOfGate { end_u: right_road, ..SideOfGate::default() },
            ground: ground.cloned().map(Arc::new),
            anchor: gate.anchor,
            drawn_faces_u: gate.drawn_faces(),
            beyond_v: 0.0,
            leaf_opening_m,
            leaves_fixed: false,
            gate: gate.clone(),
        };
        let mut in_line = Vec::new();
        for fence in &site.fences {
            surroundings.add_fence(fence, half, &mut standing, &mut in_line);
        }
        surroundings.add_fenced(half + gate.post.width_m, &mut in_line);
        surroundings.add_roads(site);
        surroundings.add_fence_ends(site, &mut standing);
        surroundings.standing = Pieces::from(standing);
        surroundings.add_posts();
        surroundings.add_leaves();
        surroundings
    }

    /// Returns the surroundings with leaves that stay as long as they are, whatever opening is tried.
    #[must_use]
    pub fn with_fixed_leaves(&self) -> Self {
        Self { leaves_fixed: true, ..self.clone() }
    }

    /// Returns the surroundings with the leaves that an opening of `opening_m` implies.
    #[must_use]
    pub fn with_leaves_for(&self, opening_m: f64) -> Self {
        let mut other = self.clone();
        if self.leaves_fixed {
            return other;
        }
        other.leaf_opening_m = opening_m;
        other.left.blocks.retain(|b| !b.material.is_leaf());
        other.right.blocks.retain(|b| !b.material.is_leaf());
        other.add_leaves();
        other
    }

    /// True if a place along the gate line is between the two ends of the closed line, not past them out on a road.
    #[must_use]
    pub fn between_ends(&self, u: f64) -> bool {
        self.left.end_u < u && u < self.right.end_u
    }

    /// Largest v of the part of a convex outline that lies between the two ends of the closed line, or within `aside_m`
    /// past one of them; negative infinity if there is none.
    #[must_use]
    pub fn most_v_between_ends(&self, corners: &[Point], aside_m: f64) -> f64 {
        let (least, most) = (self.left.end_u - aside_m, self.right.end_u + aside_m);
        let mut most_v = f64::NEG_INFINITY;
        let Some(mut from) = corners.last().copied() else { return most_v };
        for &to in corners {
            if least < to.x && to.x < most {
                most_v = most_v.max(to.y);
            }
            for end in [least, most] {
                if (from.x < end) != (to.x < end) {
                    most_v = most_v.max(from.y + (to.y - from.y) * ((end - from.x) / (to.x - from.x)));
                }
            }
            from = to;
        }
        most_v
    }

    /// Ends of the fence in the gate line on each side: see [`SideOfGate::fenced_u`].
    #[must_use]
    pub const fn fenced_u(&self) -> Faces {
        Faces { left: self.left.fenced_u, right: self.right.fenced_u }
    }

    /// Outermost places of the faces with their posts beside the road: see [`SideOfGate::road_u`].
    #[must_use]
    pub const fn road_faces_u(&self) -> Faces {
        Faces { left: self.left.road_u, right: self.right.road_u }
    }

    /// Outermost places of the faces: no post stands on a road, and a gate that is free to move stays in its fence.
    #[must_use]
    pub fn room_u(&self) -> Faces {
        let road = self.road_faces_u();
        if self.anchor != Anchor::Free {
            return road;
        }
        Faces { left: self.left.fenced_u.max(road.left), right: self.right.fenced_u.min(road.right) }
    }

    /// Back of the posts (v).
    #[must_use]
    pub fn behind_posts_v(&self) -> f64 {
        0.5 * self.gate.post.depth_m
    }

    /// True if the needed opening depends on [`Self::leaf_opening_m`].
    #[must_use]
    pub fn has_leaves(&self) -> bool {
        self.gate.leaves.arrangement != Arrangement::None
    }

    /// Mirrors the leaves to the other side, including those that are cut later.
    pub(super) fn mirror_leaves(&mut self) {
        self.gate.leaves.arrangement = mirrored_arrangement(self.gate.leaves.arrangement);
    }

    /// Adds a fence: its stretches in the gate line become bands behind their face; the others stand where they are.
    fn add_fence(
        &mut self,
        fence: &Fence,
        half_opening: f64,
        standing: &mut Vec<FixedPiece>,
        lengths: &mut Vec<(f64, f64)>,
    ) {
        let material =
            Material { thing: Thing::Fence, what: fence.label.clone(), bottom_m: 0.0, top_m: fence.top_m };
        let half = 0.5 * fence.thickness_m;
        let line: Vec<Point> = fence.line.iter().map(|p| self.frame.origin.to_body(*p)).collect();
        // In line: both ends near enough to the gate line.
        let near = self.gate.in_line_within_m(fence.thickness_m);
        let in_line = |a: Point, b: Point| a.y.abs() <= near && b.y.abs() <= near;
        for pair in line.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let outside = |p: Point| p.x.abs() >= half_opening - 1e-6;
            if in_line(a, b) && outside(a) && outside(b) && a.x * b.x > 0.0 {
                let side = if a.x < 0.0 { &mut self.left } else { &mut self.right };
                let (low, high) = (a.y.min(b.y) - half, a.y.max(b.y) + half);
                let twin = side.bands.iter_mut().find(|band| band.material == material);
                if let Some(band) = twin {
                    band.low = band.low.min(low);
                    band.high = band.high.max(high);
                } else {
                    side.bands.push(Band { material: material.clone(), low, high });
                }
                let far = a.x.abs().max(b.x.abs());
                lengths.push(if a.x < b.x { (a.x, b.x) } else { (b.x, a.x) });
                if far > side.end_u.abs() {
                    side.end_u = far.copysign(side.end_u);
                }
            } else if let Some(along) = (b - a).unit() {
                let off = along.left() * half;
                let quad = Outline(vec![a - off, b - off, b + off, a + off]);
                push_convex(standing, &material, quad.0, 0.0);
            }
        }
        for joint in line.windows(3) {
            if !(in_line(joint[0], joint[1]) && in_line(joint[1], joint[2])) {
                // A turn at the gate line itself belongs to the post there, which moves.
                if joint[1].y.abs() > near {
                    push_convex(standing, &material, vec![joint[1]], half);
                }
            }
        }
    }

    /// Adds the far ends of fences in the gate line, where a road passes them: a band has no end that a clearance is
    /// kept from, and this end does not move with the opening.
    fn add_fence_ends(&self, site: &Site, standing: &mut Vec<FixedPiece>) {
        let half_opening = 0.5 * self.gate.opening_m();
        for fence in &site.fences {
            let near = self.gate.in_line_within_m(fence.thickness_m);
            for p in fence.line.iter().map(|p| self.frame.origin.to_body(*p)) {
                let end_u = if p.x < 0.0 { self.left.end_u } else { self.right.end_u };
                let passed = p.x.abs() >= end_u.abs() - PASSED_M && end_u.abs() < CLOSED_LINE_M;
                if p.y.abs() <= near && passed && p.x.abs() > half_opening + PASSED_M {
                    let (bottom_m, top_m) = (0.0, fence.top_m);
                    let material =
                        Material { thing: Thing::Fence, what: fence.label.clone(), bottom_m, top_m };
                    push_convex(standing, &material, vec![p], 0.5 * fence.thickness_m);
                }
            }
        }
    }

    /// Determines the ends of the fences in the gate line on from posts whose outer faces stand at `post_u`, without a
    /// gap wider than [`FENCE_GAP_M`]. A gate that is free to move stays where it is drawn if there is no such fence.
    fn add_fenced(&mut self, post_u: f64, lengths: &mut [(f64, f64)]) {
        lengths.sort_by(|a, b| a.0.total_cmp(&b.0));
        let right = lengths.iter().filter(|(near, _)| *near > 0.0);
        self.right.fenced_u =
            right.fold(post_u, |u, (near, far)| if *near <= u + FENCE_GAP_M { u.max(*far) } else { u });
        let left = lengths.iter().rev().filter(|(_, near)| *near < 0.0);
        self.left.fenced_u =
            left.fold(-post_u, |u, (far, near)| if *near >= u - FENCE_GAP_M { u.min(*far) } else { u });
        let fenced = self.right.fenced_u > post_u || self.left.fenced_u < -post_u;
        if self.anchor == Anchor::Free && !fenced {
            self.anchor = Anchor::Center;
        }
    }

    /// Determines the outermost places of the faces before a post stands on a road. Where a fence is drawn on into the
    /// road, the plan says that something stands there.
    fn add_roads(&mut self, site: &Site) {
        let post_m = self.gate.post.width_m;
        for (side, sign) in [(&mut self.left, -1.0), (&mut self.right, 1.0)] {
            let drawn = self.drawn_faces_u.right;
            let road = first_road(site, sign, drawn + post_m);
            let fenced = sign * side.fenced_u;
            side.road_u = sign * if fenced > road { f64::INFINITY } else { (road - post_m).max(drawn) };
        }
    }

    fn add_posts(&mut self) {
        let post = self.gate.post;
        let half = 0.5 * post.depth_m;
        for (side, sign, of, name) in [
            (&mut self.left, -1.0, Side::Left, "left post"),
            (&mut self.right, 1.0, Side::Right, "right post"),
        ] {
            let closed = Material {
                thing: Thing::GateLine,
                what: "gate line".to_owned(),
                bottom_m: 0.0,
                top_m: f64::INFINITY,
            };
            side.post_width_m = post.width_m;
            side.bands.push(Band { material: closed, low: 0.0, high: 0.0 });
            let material =
                Material { thing: Thing::Post(of), what: name.to_owned(), bottom_m: 0.0, top_m: post.top_m };
            let (from, to) = if sign < 0.0 { (-post.width_m, 0.0) } else { (0.0, post.width_m) };
            side.blocks.push(MovingPiece::new(material, rectangle(from, to, -half, half)));
        }
        let deepest = |side: &SideOfGate| side.bands.iter().map(|b| b.high).fold(half, f64::max);
        self.beyond_v = deepest(&self.left).max(deepest(&self.right));
    }

    /// Adds the leaves standing open. A swinging leaf turns about a pin at the inner face, on the gate line, and has
    /// half its thickness on each side of the line from the pin to its end.
    fn add_leaves(&mut self) {
        let leaves = self.gate.leaves;
        let opening = self.leaf_opening_m;
        let (on_left, on_right, length) = match leaves.arrangement {
            Arrangement::None => return,
            Arrangement::Double => (true, true, 0.5 * opening),
            Arrangement::Single(side) | Arrangement::Slide(side) => {
                (side == Side::Left, side == Side::Right, opening)
            }
        };
        let sign = if leaves.opens == Swing::In { 1.0 } else { -1.0 };
        let material = |side: Side, what: &str| Material {
            thing: Thing::Leaf(side),
            what: what.to_owned(),
            bottom_m: leaves.bottom_m,
            top_m: leaves.top_m,
        };
        let half = 0.5 * leaves.thickness_m;
        let leaf = |mirror: f64| {
            let corners = if matches!(leaves.arrangement, Arrangement::Slide(_)) {
                // A sliding leaf runs back just inside the posts.
                let low = 0.5 * self.gate.post.depth_m;
                rectangle(-length, 0.0, low, low + leaves.thickness_m)
            } else {
                let along = Point::at_angle(sign * leaves.open_angle_rad);
                // Make a leaf square to the line exactly square: then the fast test for rectangles applies.
                let along = if along.x.abs() < 1e-12 { Point::new(0.0, sign) } else { along };
                let off = along.left() * half;
                let end = along * length;
                vec![-off, end - off, end + off, off]
            };
            let corners = corners.into_iter().map(|p| Point::new(p.x * mirror, p.y)).collect();
            Outline(corners).counterclockwise().0
        };
        let (left, right) = (leaf(1.0), leaf(-1.0));
        if on_left {
            self.left.blocks.push(MovingPiece::new(material(Side::Left, "left leaf"), left));
        }
        if on_right {
            self.right.blocks.push(MovingPiece::new(material(Side::Right, "right leaf"), right));
        }
    }
}

fn rectangle(x0: f64, x1: f64, y0: f64, y1: f64) -> Vec<Point> {
    vec![Point::new(x0, y0), Point::new(x1, y0), Point::new(x1, y1), Point::new(x0, y1)]
}

fn moved(shape: &Shape, frame: &GateFrame) -> Shape {
    let ring = |outline: &Outline| Outline(outline.0.iter().map(|p| frame.origin.to_body(*p)).collect());
    Shape {
        outer: ring(&shape.outer),
        holes: shape.holes.iter().map(ring).collect(),
        radius_m: shape.radius_m,
    }
}

impl FixedPiece {
    /// Creates a piece from the corners of its core, one at least.
    pub(super) fn new(material: Material, corners: Vec<Point>, radius_m: f64) -> Self {
        let mut low = corners[0];
        let mut high = corners[0];
        for p in &corners {
            low = Point::new(low.x.min(p.x), low.y.min(p.y));
            high = Point::new(high.x.max(p.x), high.y.max(p.y));
        }
        let center = (low + high) * 0.5;
        let reach = corners.iter().map(|p| p.distance(center)).fold(0.0, f64::max);
        let n = corners.len();
        let face = |i: usize| {
            let outward = -(corners[(i + 1) % n] - corners[i]).unit()?.left();
            Some((outward, corners[i].dot(outward)))
        };
        let faces = (0..n).filter_map(face).collect();
        Self { material, corners, radius_m, center, reach_m: reach + radius_m, faces }
    }
}
