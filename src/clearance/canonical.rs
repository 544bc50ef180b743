//! Canonical form of a place: the same for all plans of it, seen from the gate, mirrored on request, on a grid of a
//! millimeter.
//!
//! Turned, shifted, mirrored and in other coordinates a place has other last digits, and a search that branches on them
//! finds other paths. In this form the numbers are the same, so that the search does the same; its result is certified
//! against the place as drawn.
use super::surroundings::{FixedPiece, MovingPiece, SideOfGate, Surroundings};
use crate::geometry::Point;
use crate::site::{Arrangement, Faces, Side};

/// The grid's step: below what anyone draws, and above what the rounding of degrees to ten decimals moves a place 100 m away
/// by, seen along the gate line (0.2 mm).
pub const GRID_M: f64 = 1e-3;
/// Fraction of a grid step from which a length is rounded up: not at a tenth, where lengths in inches fall.
const ROUND_UP_FROM: f64 = 0.35;

/// Rounds a length to the grid.
///
/// ```
/// use wideenough::clearance::canonical::on_grid;
/// assert_eq!(on_grid(1.524), 1.524);
/// assert_eq!(on_grid(1.524 + 3e-4), 1.524);
/// assert_eq!(on_grid(-0.3048), -0.305);
/// ```
#[must_use]
pub fn on_grid(length_m: f64) -> f64 {
    (length_m / GRID_M + 1.0 - ROUND_UP_FROM).floor() / 1e3
}

/// Rounds a point to the grid, its x negated first where the form is mirrored.
#[must_use]
pub fn place(p: Point, mirrored: bool) -> Point {
    Point::new(on_grid(if mirrored { -p.x } else { p.x }), on_grid(p.y))
}

/// A convex outline in canonical form: counterclockwise, from its least corner on.
pub(super) fn outline(corners: &[Point], mirrored: bool) -> Vec<Point> {
    let mut list: Vec<Point> = corners.iter().map(|p| place(*p, mirrored)).collect();
    if mirrored {
        list.reverse();
    }
    let least = |a: &usize, b: &usize| {
        let (p, q) = (list[*a], list[*b]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    };
    if let Some(first) = (0..list.len()).min_by(least) {
        list.rotate_left(first);
    }
    list
}

impl FixedPiece {
    fn canonical(&self, mirrored: bool) -> Self {
        Self::new(self.material.clone(), outline(&self.corners, mirrored), self.radius_m)
    }
}

impl SideOfGate {
    fn canonical(&self, mirrored: bool) -> Self {
        let bands = self.bands.iter().map(|band| super::Band {
            low: on_grid(band.low),
            high: on_grid(band.high),
            ..band.clone()
        });
        let blocks = self.blocks.iter();
        let blocks = blocks.map(|b| MovingPiece::new(b.material.clone(), outline(&b.corners, mirrored)));
        Self {
            bands: bands.collect(),
            blocks: blocks.collect(),
            end_u: on_grid(if mirrored { -self.end_u } else { self.end_u }),
            fenced_u: on_grid(if mirrored { -self.fenced_u } else { self.fenced_u }),
            road_u: on_grid(if mirrored { -self.road_u } else { self.road_u }),
            post_width_m: self.post_width_m,
        }
    }
}

impl Surroundings {
    /// Surroundings in canonical form: see [`mod@super::canonical`].
    #[must_use]
    pub fn canonical(&self, mirrored: bool) -> Self {
        let mut form = self.clone();
        form.standing = self.standing.canonical(mirrored, |piece| piece.canonical(mirrored));
        form.ground = self.ground.as_ref().map(|ground| ground.canonical(mirrored));
        let (left, right) = (self.left.canonical(mirrored), self.right.canonical(mirrored));
        (form.left, form.right) = if mirrored { (right, left) } else { (left, right) };
        let drawn = self.drawn_faces_u;
        let drawn = if mirrored { drawn.mirrored() } else { drawn };
        form.drawn_faces_u = Faces { left: on_grid(drawn.left), right: on_grid(drawn.right) };
        form.beyond_v = on_grid(self.beyond_v);
        if mirrored {
            form.anchor = self.anchor.mirrored();
            form.mirror_leaves();
        }
        form
    }
}

/// Mirror image of the arrangement.
pub(super) const fn mirrored_arrangement(arrangement: Arrangement) -> Arrangement {
    match arrangement {
        Arrangement::Single(side) => Arrangement::Single(other(side)),
        Arrangement::Slide(side) => Arrangement::Slide(other(side)),
        Arrangement::Double | Arrangement::None => arrangement,
    }
}

const fn other(side: Side) -> Side {
    match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    }
}
