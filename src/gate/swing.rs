//! Travel of each leaf, and the obstacle that stops it.
//!
//! A leaf turns about a pin at the inner face of its post, on the gate line, and has half its thickness on each side of
//! the line from the pin to its end, as everywhere in the program. It is turned from closed toward its open angle by
//! steps that cannot pass an obstacle (conservative advancement): no point of it moves farther than its length times
//! the turn, so each step turns it by the gap to the nearest obstacle.
use super::allowances::built_in;
use super::leaf_count;
use super::pieces::{Piece, pieces};
use crate::geometry::distance::{nearest_convex, reach_in_band};
use crate::geometry::{Point, trig};
use crate::site::{Arrangement, Faces, Gate, Leaves, Side, Site, Swing};

/// Largest gap that counts as touching: half a millimeter, finer than any hinge.
const TOUCH_M: f64 = 5e-4;
/// The least turn of a step: 0.06 mm at the end of a 3-m leaf, so that a leaf that grazes an obstacle gets past it.
const LEAST_TURN_RAD: f64 = 2e-5;
/// Thickness used for a leaf of none: a tenth of a millimeter.
const LEAST_THICKNESS_M: f64 = 1e-4;

/// Kind of obstacle that stops a leaf.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum StopKind {
    /// Something that stands: a wall, a tree, a parked car, ground that rises higher than the leaf's underside.
    Standing,
    /// The traveled way, over which no leaf may swing.
    Road,
    /// A sidewalk, over which no leaf may swing either: a drive whose label names it so.
    Sidewalk,
}

/// The obstacle that stops a leaf.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Stop {
    /// Its label.
    pub what: String,
    /// Its kind.
    pub kind: StopKind,
    /// The point where the leaf meets it, site meters.
    pub at: Point,
}

/// A leaf and its swing.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct LeafSwing {
    /// The post it hangs on.
    pub side: Side,
    /// Its pin, site meters.
    pub pin: Point,
    /// Its width.
    pub length_m: f64,
    /// The direction in which it opens.
    pub opens: Swing,
    /// Angle at which it stands open, radians from closed.
    pub wanted_rad: f64,
    /// Angle it reaches.
    pub reach_rad: f64,
    /// The obstacle that stops it before it is open.
    pub stop: Option<Stop>,
}

/// A sliding leaf and the room beside the opening.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct RunBack {
    /// The side it runs back to.
    pub side: Side,
    /// The room it needs beyond the face of its post.
    pub needed_m: f64,
    /// The room available; `None` when nothing stands in its way.
    pub free_m: Option<f64>,
    /// The obstacle in its way, if that is nearer than needed.
    pub stop: Option<Stop>,
}

/// Travel of all leaves of a gate.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct LeafTravel {
    /// Swinging leaves.
    pub swings: Vec<LeafSwing>,
    /// Sliding leaf.
    pub run_back: Option<RunBack>,
}

impl LeafTravel {
    /// Travel of these leaves, as long as they are drawn, at a site's gate; a sliding leaf with the tail that is usual.
    #[must_use]
    pub fn of(site: &Site, leaves: &Leaves) -> Self {
        let gate = Gate { leaves: *leaves, ..site.gate.clone() };
        let (faces, leaf_m) = (gate.drawn_faces(), drawn_leaf_m(&gate));
        let allowances = built_in();
        let tail_m = leaf_m + allowances.slide_overlap_m + allowances.slide_tail * gate.opening_m();
        Self {
            swings: leaf_swings(site, leaves, faces, leaf_m),
            run_back: run_back(site, leaves, faces, tail_m),
        }
    }

    /// True if every leaf opens as far as it stands open.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.missing_m() <= 0.0
    }

    /// Travel that the leaf which lacks most lacks, at its end, meters; 0 where all open as far as they stand open.
    #[must_use]
    pub fn missing_m(&self) -> f64 {
        let swings = self.swings.iter().filter(|swing| swing.stop.is_some());
        let turns = swings.map(|swing| (swing.wanted_rad - swing.reach_rad) * swing.length_m);
        let slides = self.run_back.iter().filter(|back| back.stop.is_some());
        let runs = slides.map(|back| back.needed_m - back.free_m.unwrap_or(0.0));
        turns.chain(runs).map(|missing_m| missing_m.max(LEAST_MISSING_M)).fold(0.0, f64::max)
    }
}

/// Travel that a stopped leaf lacks at least: a millimeter.
const LEAST_MISSING_M: f64 = 1e-3;

/// The leaf as a rectangle at an angle from closed, gate frame.
fn placed(side: Side, pin_u: f64, length_m: f64, half_m: f64, turn_rad: f64) -> Vec<Point> {
    let along = direction(side, turn_rad);
    let (off, end) = (along.left() * half_m, along * length_m);
    let pin = Point::new(pin_u, 0.0);
    vec![pin - off, pin + end - off, pin + end + off, pin + off]
}

/// A leaf at the angle it reaches, from `from_m` along it to its end, gate frame.
pub(super) fn open_outline(gate: &Gate, swing: &LeafSwing, thickness_m: f64, from_m: f64) -> Vec<Point> {
    let turn = sign(swing.opens) * swing.reach_rad;
    let pin = gate.to_gate(swing.pin);
    let from_m = from_m.min(0.5 * swing.length_m);
    let half = 0.5 * thickness_m.max(LEAST_THICKNESS_M);
    let shift = direction(swing.side, turn) * from_m;
    placed(swing.side, pin.x, swing.length_m - from_m, half, turn).into_iter().map(|p| p + shift).collect()
}

/// A leaf at the angle it reaches, site meters.
#[must_use]
pub fn standing(gate: &Gate, swing: &LeafSwing) -> Vec<Point> {
    let outline = open_outline(gate, swing, gate.leaves.thickness_m, 0.0);
    outline.into_iter().map(|p| gate.to_site(p)).collect()
}

/// The direction of a leaf at a signed angle from closed, positive inward, gate frame.
fn direction(side: Side, turn_rad: f64) -> Point {
    let (sin, cos) = trig::sin_cos(turn_rad);
    Point::new(if side == Side::Left { cos } else { -cos }, sin)
}

const fn sign(opens: Swing) -> f64 {
    match opens {
        Swing::In => 1.0,
        Swing::Out => -1.0,
    }
}

/// The sides on which leaves of an arrangement hang, sliding ones not counted.
const fn hinged(arrangement: Arrangement) -> &'static [Side] {
    match arrangement {
        Arrangement::Double => &[Side::Left, Side::Right],
        Arrangement::Single(Side::Left) => &[Side::Left],
        Arrangement::Single(Side::Right) => &[Side::Right],
        Arrangement::Slide(_) | Arrangement::None => &[],
    }
}

/// The swinging leaves of a gate with these leaves of this width and faces, each with the angle it reaches.
#[must_use]
pub fn leaf_swings(site: &Site, leaves: &Leaves, faces: Faces, length_m: f64) -> Vec<LeafSwing> {
    let pieces = pieces(site, leaves, faces);
    let swing = |side: &Side| {
        let pin_u = faces.on(*side);
        let mut swing = LeafSwing {
            side: *side,
            pin: site.gate.to_site(Point::new(pin_u, 0.0)),
            length_m,
            opens: leaves.opens,
            wanted_rad: leaves.open_angle_rad,
            reach_rad: leaves.open_angle_rad,
            stop: None,
        };
        let half_m = 0.5 * leaves.thickness_m.max(LEAST_THICKNESS_M);
        for piece in &pieces {
            let met =
                first_touch(piece, *side, pin_u, (length_m, half_m), sign(leaves.opens), swing.reach_rad);
            if let Some((turn, at)) = met {
                swing.reach_rad = turn;
                let at = site.gate.to_site(at);
                swing.stop = Some(Stop { what: piece.what.clone(), kind: piece.kind, at });
            }
        }
        swing
    };
    hinged(leaves.arrangement).iter().map(swing).collect()
}

/// The first angle before `until` at which the leaf touches a piece, and the point of contact.
fn first_touch(
    piece: &Piece,
    side: Side,
    pin_u: f64,
    (length_m, half_m): (f64, f64),
    sign: f64,
    until_rad: f64,
) -> Option<(f64, Point)> {
    let reach = Point::new(length_m, half_m).norm();
    let mut turn = 0.0;
    while turn < until_rad {
        let leaf = placed(side, pin_u, length_m, half_m, sign * turn);
        let near = nearest_convex(&leaf, &piece.corners);
        let gap = near.distance_m - piece.radius_m;
        if gap <= TOUCH_M {
            // For a round obstacle, the point on its edge.
            let toward = (near.on_first - near.on_second).unit().unwrap_or_default();
            return Some((turn, near.on_second + toward * piece.radius_m));
        }
        // Farther than the leaf could reach in half a turn: this piece cannot be hit.
        if gap > 2.0 * reach {
            return None;
        }
        turn += (gap / reach).max(LEAST_TURN_RAD);
    }
    None
}

/// The room of a sliding leaf of this width (its tail included) beside the opening; `None` for other gates. The leaf
/// runs back just inside the posts, so a fence thicker than they are stands in its way from the post on.
#[must_use]
pub fn run_back(site: &Site, leaves: &Leaves, faces: Faces, needed_m: f64) -> Option<RunBack> {
    let Arrangement::Slide(side) = leaves.arrangement else { return None };
    let (low, high) = (0.5 * site.gate.post.depth_m, 0.5 * site.gate.post.depth_m + leaves.thickness_m);
    let mut nearest: Option<(f64, Stop)> = None;
    for piece in pieces(site, leaves, faces) {
        // The fence beside it ends where the leaf's room begins.
        let (low, high) = if piece.in_line { (low + TOUCH_M, high) } else { (low, high) };
        let Some((least, most)) = reach_in_band(&piece.corners, piece.radius_m, low, high.max(low)) else {
            continue;
        };
        let (near, far) = match side {
            Side::Left => (faces.left - most, faces.left - least),
            Side::Right => (least - faces.right, most - faces.right),
        };
        // An obstacle wholly in front of the opening is not in the way.
        if far <= 0.0 {
            continue;
        }
        let near = near.max(0.0);
        if nearest.as_ref().is_none_or(|(free, _)| near < *free) {
            let u = if side == Side::Left { faces.left - near } else { faces.right + near };
            let at = site.gate.to_site(Point::new(u, low));
            nearest = Some((near, Stop { what: piece.what, kind: piece.kind, at }));
        }
    }
    let free_m = nearest.as_ref().map(|(free, _)| *free);
    let stop = nearest.filter(|(free, _)| *free < needed_m - 1e-9).map(|(_, stop)| stop);
    Some(RunBack { side, needed_m, free_m, stop })
}

/// The ground a leaf sweeps from closed to the angle it reaches, as a ring: the pin, then the path of its end every few
/// degrees.
#[must_use]
pub fn swept(gate: &Gate, swing: &LeafSwing) -> Vec<Point> {
    let pin = gate.to_gate(swing.pin);
    let steps: u32 = 24;
    let end = |i: u32| {
        let turn = sign(swing.opens) * swing.reach_rad * f64::from(i) / f64::from(steps);
        gate.to_site(pin + direction(swing.side, turn) * swing.length_m)
    };
    std::iter::once(swing.pin).chain((0..=steps).map(end)).collect()
}

/// The width of a leaf of the gate as drawn: the opening, or half of it.
#[must_use]
pub fn drawn_leaf_m(gate: &Gate) -> f64 {
    gate.opening_m() / f64::from(leaf_count(gate.leaves.arrangement).max(1))
}
