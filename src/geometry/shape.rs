//! Outlines and standing shapes: the form in which a settled plan holds fences, walls and trees.
use super::Point;

/// A closed ring of corners, counterclockwise, without repeating the first corner at the end.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outline(pub Vec<Point>);

impl Outline {
    /// Signed area in m², positive for a counterclockwise ring (shoelace formula).
    #[must_use]
    pub fn signed_area(&self) -> f64 {
        self.edges().map(|(a, b)| a.cross(b)).sum::<f64>() * 0.5
    }
    /// The edges in order, the closing one included. A single corner gives one edge of no length.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        let n = self.0.len();
        (0..n).map(move |i| (self.0[i], self.0[(i + 1) % n]))
    }
    /// Returns the ring with its corners counterclockwise.
    #[must_use]
    pub fn counterclockwise(mut self) -> Self {
        if self.signed_area() < 0.0 {
            self.0.reverse();
        }
        self
    }
    /// True if every corner turns left (or is straight): the ring is convex and counterclockwise.
    #[must_use]
    pub fn is_convex(&self) -> bool {
        let p = &self.0;
        let n = p.len();
        n >= 3 && (0..n).all(|i| (p[(i + 1) % n] - p[i]).cross(p[(i + 2) % n] - p[(i + 1) % n]) >= -1e-12)
    }
}

/// A standing thing on the ground plan: all points within `radius_m` of its core.
///
/// A tree is one corner with a radius; a wall is quads with no radius; a building with a court is an outer ring
/// and a hole. A core of one or two corners has no inside.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// The core's outer ring: one corner (a disc), two (a stadium), or a simple polygon of three and more.
    pub outer: Outline,
    /// Holes in the core, each a ring (clockwise or counterclockwise).
    pub holes: Vec<Outline>,
    /// Distance that the shape reaches beyond its core.
    pub radius_m: f64,
}
