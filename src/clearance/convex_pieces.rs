//! Convex pieces of the shapes that stand: what a vehicle's convex parts are held against.
use super::surroundings::{FixedPiece, Material};
use crate::geometry::{Outline, Point, Shape};
use geo::triangulate_delaunay::DelaunayTriangulationConfig;
use geo::{LineString, Polygon, Triangle, TriangulateDelaunay};

/// Adds a shape as convex pieces: itself when it is convex, else its edges, and the triangles between them: a vehicle may
/// start under a tree's crown, and never cross its edge.
pub(super) fn push_shape(standing: &mut Vec<FixedPiece>, material: &Material, shape: &Shape) {
    if shape.outer.0.len() < 3 || (shape.holes.is_empty() && shape.outer.is_convex()) {
        push_convex(standing, material, shape.outer.0.clone(), shape.radius_m);
        return;
    }
    for ring in std::iter::once(&shape.outer).chain(&shape.holes) {
        for (a, b) in ring.edges() {
            push_convex(standing, material, vec![a, b], shape.radius_m);
        }
    }
    for corners in triangles(shape) {
        push_convex(standing, material, corners, shape.radius_m);
    }
}

/// Triangles that fill a shape, counterclockwise; none where its outline crosses itself.
fn triangles(shape: &Shape) -> Vec<Vec<Point>> {
    let ring = |outline: &Outline| LineString::from_iter(outline.0.iter().map(|p| (p.x, p.y)));
    let polygon = Polygon::new(ring(&shape.outer), shape.holes.iter().map(ring).collect());
    let filled = polygon.constrained_triangulation(DelaunayTriangulationConfig::default());
    let corners = |triangle: Triangle<f64>| {
        let corners = triangle.to_array().map(|c| Point::new(c.x, c.y));
        let [a, b, c] = corners;
        let area = (b - a).cross(c - a);
        match area {
            area if area > 0.0 => Some(vec![a, b, c]),
            area if area < 0.0 => Some(vec![a, c, b]),
            // A sliver without area lies on an edge.
            _ => None,
        }
    };
    filled.unwrap_or_default().into_iter().filter_map(corners).collect()
}

pub(super) fn push_convex(
    standing: &mut Vec<FixedPiece>,
    material: &Material,
    corners: Vec<Point>,
    radius_m: f64,
) {
    if !corners.is_empty() {
        standing.push(FixedPiece::new(material.clone(), corners, radius_m));
    }
}
