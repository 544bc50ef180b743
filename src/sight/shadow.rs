//! Stretches of a line along the road that a standing thing hides from an eye, in exact geometry by critical angles.
//!
//! A sight line runs from the eye to one point of the line. At share t of its length it lies between two heights, both
//! linear in t, so a thing between two heights can only hide where t lies in one window, the same for every point of
//! the line. On a straight piece of the line write a place as eye + t (a + s d), where a is from the eye to the start
//! of the piece and d runs along it. Then (t, t s) are affine coordinates of the place: a convex thing stays convex in
//! them, cutting it to the window keeps it so, and the points it hides are those between the least and the largest s of
//! its corners. No sampling.
use super::rules::Heights;
use crate::geometry::{Outline, Point, trig};

/// Height difference below which nothing is hidden: a nanometer, the noise of arithmetic.
const HEIGHT_NOISE_M: f64 = 1e-9;
/// Least share of the sight line that is evaluated: nothing nearer to the eye counts.
const AT_EYE: f64 = 1e-9;
/// Share of the sight line up to which a thing only touches it.
const GRAZE: f64 = 1e-12;
/// Gap below which two stretches are one, and length below which a stretch is none.
const STRETCH_M: f64 = 1e-9;
/// Distance by which an eye is moved aside if it is nearer than this to the line of a piece of road: it would see the
/// piece end on.
const END_ON_M: f64 = 1e-5;
/// Height above anything that stands, for rules that name no upper height.
const ABOVE_ALL_M: f64 = 1e4;

/// Convex thing that stands between two heights: all points within `radius_m` of its corners' hull.
#[derive(Clone, Debug, PartialEq)]
pub struct Solid {
    /// Corners: one for a disc, three or more for a convex outline, in either direction.
    pub corners: Vec<Point>,
    /// Radius of a disc; 0 for an outline.
    pub radius_m: f64,
    /// Height of its underside.
    pub bottom_m: f64,
    /// Height of its top.
    pub top_m: f64,
}

impl Solid {
    /// Returns it moved without a turn.
    #[must_use]
    pub fn moved(&self, by: Point) -> Self {
        Self { corners: self.corners.iter().map(|p| *p + by).collect(), ..self.clone() }
    }
    /// Returns it with its top no higher than this.
    #[must_use]
    pub fn lowered(&self, top_m: f64) -> Self {
        Self { top_m: self.top_m.min(top_m), ..self.clone() }
    }
}

/// Heights of a line of sight, meters: the range at the eye and the range at what is to be seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SightHeights {
    /// At the eye.
    pub eye_m: (f64, f64),
    /// At what is to be seen.
    pub object_m: (f64, f64),
}

impl SightHeights {
    /// Heights with a single value at each end.
    #[must_use]
    pub const fn level(eye_m: f64, object_m: f64) -> Self {
        Self { eye_m: (eye_m, eye_m), object_m: (object_m, object_m) }
    }
    /// Constant band of heights along the whole line.
    #[must_use]
    pub fn band(from_m: f64, to_m: f64) -> Self {
        let band = (from_m, to_m.min(ABOVE_ALL_M));
        Self { eye_m: band, object_m: band }
    }
    /// Shares of the sight line at which a thing between two heights stands in it: an interval, or none.
    fn window(&self, bottom_m: f64, top_m: f64) -> Option<(f64, f64)> {
        let (mut from, mut to) = (AT_EYE, 1.0_f64);
        // The lower bound of the line must be below the top, the upper one above the underside.
        let below_top = (self.eye_m.0 - top_m, self.object_m.0 - top_m);
        let above_bottom = (bottom_m - self.eye_m.1, bottom_m - self.object_m.1);
        for (at_eye, at_object) in [below_top, above_bottom] {
            // Wanted: at_eye + t (at_object - at_eye) < 0.
            let (at_eye, at_object) = (at_eye + HEIGHT_NOISE_M, at_object + HEIGHT_NOISE_M);
            match (at_eye < 0.0, at_object < 0.0) {
                (true, true) => {}
                (false, false) => return None,
                (true, false) => to = to.min(at_eye / (at_eye - at_object)),
                (false, true) => from = from.max(at_eye / (at_eye - at_object)),
            }
        }
        (from < to).then_some((from, to))
    }
}

impl From<&Heights> for SightHeights {
    fn from(heights: &Heights) -> Self {
        Self {
            eye_m: (heights.eye_low.value, heights.eye_high.value),
            object_m: (heights.object_low.value, heights.object_high.value),
        }
    }
}

/// Stretches of a line that a thing hides from an eye: pairs of lengths along it, in order and apart from each other.
///
/// A thing that only touches the line of sight hides nothing. The line may bend; each of its points is judged by
/// itself.
///
/// ```
/// use wideenough::geometry::Point;
/// use wideenough::sight::{SightHeights, Solid, hidden};
/// // A pier 0.45 m wide, 3 m from the eye, hides 0.45 x 43 / 3 = 6.45 m at 43 m.
/// let pier = Solid {
///     corners: [(-0.225, 3.0), (0.225, 3.0), (0.225, 3.1), (-0.225, 3.1)].map(|(x, y)| Point::new(x, y)).to_vec(),
///     radius_m: 0.0, bottom_m: 0.0, top_m: 2.0,
/// };
/// let line = [Point::new(-50.0, 43.0), Point::new(50.0, 43.0)];
/// let dark = hidden(Point::default(), &SightHeights::level(1.05, 1.05), &line, &pier);
/// assert!((dark[0].1 - dark[0].0 - 6.45).abs() < 1e-9, "{dark:?}");
/// ```
#[must_use]
pub fn hidden(eye: Point, heights: &SightHeights, line: &[Point], solid: &Solid) -> Vec<(f64, f64)> {
    let Some(window) = heights.window(solid.bottom_m, solid.top_m) else { return Vec::new() };
    let mut start_m = 0.0;
    let mut stretches = Vec::new();
    for piece in line.windows(2) {
        let long_m = piece[0].distance(piece[1]);
        if let Some(along) = (piece[1] - piece[0]).unit()
            && let Some((low, high)) = hidden_of_piece(eye, window, (piece[0], along), solid)
        {
            let (low, high) = (low.max(0.0), high.min(long_m));
            if high - low > STRETCH_M {
                stretches.push((start_m + low, start_m + high));
            }
        }
        start_m += long_m;
    }
    merged(stretches)
}

/// Sorts stretches and joins those that meet.
///
/// ```
/// use wideenough::sight::merged;
/// assert_eq!(merged(vec![(5.0, 7.0), (1.0, 2.0), (2.0, 3.0)]), [(1.0, 3.0), (5.0, 7.0)]);
/// ```
#[must_use]
pub fn merged(mut stretches: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut apart: Vec<(f64, f64)> = Vec::new();
    for (from, to) in stretches {
        match apart.last_mut() {
            Some(last) if from <= last.1 + STRETCH_M => last.1 = last.1.max(to),
            _ => apart.push((from, to)),
        }
    }
    apart
}

/// Range of s that a thing hides on the straight line from `start` on.
fn hidden_of_piece(
    mut eye: Point,
    (from, to): (f64, f64),
    (start, along): (Point, Point),
    solid: &Solid,
) -> Option<(f64, f64)> {
    let mut off = (start - eye).cross(along);
    if off.abs() < END_ON_M {
        // Away from the line, to the side it is on.
        let aside = if off < 0.0 { along.left() } else { -along.left() };
        eye = eye - aside * END_ON_M;
        off = (start - eye).cross(along);
    }
    let a = start - eye;
    // Share of the sight line, and share times length along the road.
    let coordinates = |p: Point| {
        let q = p - eye;
        Point::new(q.cross(along) / off, a.cross(q) / off)
    };
    let places = if solid.corners.len() == 1 {
        disc_places(eye, (from, to), (along, off), solid)
    } else {
        let ring: Vec<Point> = solid.corners.iter().map(|p| coordinates(*p)).collect();
        return extremes(&cut(&cut(&ring, from, 1.0), to, -1.0));
    };
    extremes(&places.into_iter().map(coordinates).collect::<Vec<Point>>())
}

/// Part of a convex ring where x is at least `at` (`sign` 1) or at most (`sign` -1).
fn cut(ring: &[Point], at: f64, sign: f64) -> Vec<Point> {
    let inside = |p: Point| sign * (p.x - at) >= 0.0;
    let mut kept = Vec::with_capacity(ring.len() + 2);
    let Some(mut before) = ring.last().copied() else { return kept };
    for &p in ring {
        if inside(before) != inside(p) {
            kept.push(Point::new(at, before.y + (p.y - before.y) * ((at - before.x) / (p.x - before.x))));
        }
        if inside(p) {
            kept.push(p);
        }
        before = p;
    }
    kept
}

/// Range of s of places given by (t, t s), if they take up any share of the sight line.
fn extremes(places: &[Point]) -> Option<(f64, f64)> {
    let (mut near, mut far) = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for p in places {
        (near, far) = (near.min(p.x), far.max(p.x));
        let s = p.y / p.x;
        (low, high) = (low.min(s), high.max(s));
    }
    (far - near > GRAZE && high > low).then_some((low, high))
}

/// Places of a disc, cut to the window, that can have the least or the largest s: where lines through the eye touch it,
/// and where the ends of the window cross it.
fn disc_places(eye: Point, (from, to): (f64, f64), (along, off): (Point, f64), solid: &Solid) -> Vec<Point> {
    let Some(center) = solid.corners.first().map(|c| *c - eye) else { return Vec::new() };
    let r = solid.radius_m;
    let share = |q: Point| q.cross(along) / off;
    let mut places = Vec::new();
    let far = center.norm();
    if far > r {
        // The points of contact: from the eye √(far² - r²), at asin(r / far) to either side of the center.
        let reach = (far * far - r * r).sqrt();
        let turn = trig::asin((r / far).min(1.0));
        for angle in [center.angle() + turn, center.angle() - turn] {
            places.push(Point::at_angle(angle) * reach);
        }
    }
    // Also the nearest and farthest points of the disc from the line, so that its range of shares is known.
    let across = along.left() * r;
    places.extend([center + across, center - across]);
    places.retain(|q| share(*q) >= from && share(*q) <= to);
    for at in [from, to] {
        // The line of one share runs along the road, at a distance from the center.
        let gap = (at - share(center)) * off;
        if gap.abs() < r {
            let foot = center - along.left() * gap;
            let half = along * (r * r - gap * gap).sqrt();
            places.extend([foot + half, foot - half]);
        }
    }
    places.into_iter().map(|q| eye + q).collect()
}

/// Convex pieces of a standing shape: outlines, and discs where it has a radius.
pub(super) fn solids_of(shape: &crate::geometry::Shape, bottom_m: f64, top_m: f64) -> Vec<Solid> {
    let solid = |corners: Vec<Point>, radius_m: f64| Solid { corners, radius_m, bottom_m, top_m };
    let Outline(ring) = &shape.outer;
    let mut solids = Vec::new();
    if ring.len() >= 3 {
        match crate::vehicle::convex_parts(&shape.outer) {
            Ok(parts) => solids.extend(parts.into_iter().map(|part| solid(part.0, 0.0))),
            // Too many corners for a convex split: use its edges, as walls of a centimeter. Both eye and road are
            // outside it.
            Err(_) => solids.extend(shape.outer.edges().filter_map(|(a, b)| {
                let off = (b - a).unit()?.left() * 0.005;
                Some(solid(vec![a - off, b - off, b + off, a + off], 0.0))
            })),
        }
    }
    if shape.radius_m > 0.0 {
        solids.extend(ring.iter().map(|p| solid(vec![*p], shape.radius_m)));
        if ring.len() >= 2 {
            solids.extend(shape.outer.edges().filter_map(|(a, b)| {
                let off = (b - a).unit()?.left() * shape.radius_m;
                Some(solid(vec![a - off, b - off, b + off, a + off], 0.0))
            }));
        }
    }
    solids
}
