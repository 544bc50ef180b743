//! Room to wait while the gate opens: outside, clear of the road and of a leaf swinging out; inside, clear of a leaf
//! swinging in.
//!
//! The vehicle stands straight, square to the gate line, in the middle of the opening, its trailers behind it.
use crate::clearance::Surroundings;
use crate::geometry::distance::reach_in_band;
use crate::geometry::{Point, trig};
use crate::site::{Arrangement, Faces, Leaves, Side, Site, Swing};
use crate::vehicle::{Unit, Vehicle};

/// A vehicle waiting at the gate.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Waiting {
    /// Length of the vehicle with all it tows.
    pub length_m: f64,
    /// Its width, mirrors included.
    pub width_m: f64,
    /// Position across the gate: the middle of the opening, along the gate line from the drawn middle.
    pub at_u: f64,
    /// Outside: from the gate line to its front, kept clear of a leaf swinging out.
    pub outside_back_m: f64,
    /// Outside: from its front to the edge of the traveled way.
    pub outside_room_m: f64,
    /// Missing room outside; 0 when it stands clear of the road.
    pub outside_missing_m: f64,
    /// Inside: from the gate line to its front, kept clear of a leaf swinging in.
    pub inside_back_m: f64,
    /// Inside: from its front to the first thing behind it; `None` when nothing stands there.
    pub inside_room_m: Option<f64>,
    /// The obstacle behind it inside.
    pub inside_against: Option<String>,
    /// Missing room inside; 0 when there is enough.
    pub inside_missing_m: f64,
}

/// Depth that the arcs of the leaves reach from the gate line into a strip along the drive, meters; 0 where no leaf
/// swings.
///
/// A leaf of width L hinged at the edge of the opening sweeps the sector between closed and its open angle. At x from
/// its pin along the gate line that reaches √(L² − x²) deep, up to the open angle: x·tan where that is less than 90
/// degrees. Half the leaf's thickness is added.
///
/// ```
/// use wideenough::gate::arc_depth;
/// use wideenough::site::{Arrangement, Faces, Leaves, Side, Swing};
/// let leaves = Leaves { arrangement: Arrangement::Single(Side::Left), opens: Swing::In, thickness_m: 0.0,
///     open_angle_rad: std::f64::consts::FRAC_PI_2, bottom_m: 0.1, top_m: 1.5 };
/// // A 5-m leaf, 3 m from its pin: a 3-4-5 triangle.
/// assert_eq!(arc_depth(&leaves, 5.0, Faces::new(0.0, 5.0), (3.0, 4.5)), 4.0);
/// assert_eq!(arc_depth(&leaves, 5.0, Faces::new(0.0, 5.0), (-1.0, 4.5)), 5.0);
/// ```
#[must_use]
pub fn arc_depth(leaves: &Leaves, leaf_m: f64, faces: Faces, (from_u, to_u): (f64, f64)) -> f64 {
    let sides: &[Side] = match leaves.arrangement {
        Arrangement::Double => &[Side::Left, Side::Right],
        Arrangement::Single(Side::Left) => &[Side::Left],
        Arrangement::Single(Side::Right) => &[Side::Right],
        Arrangement::Slide(_) | Arrangement::None => &[],
    };
    let (sin, cos) = trig::sin_cos(leaves.open_angle_rad);
    let edge = leaf_m * cos;
    // Treat a right angle as exact, despite the last digit.
    let edge = if edge.abs() < 1e-12 { 0.0 } else { edge };
    let depth = |side: &Side| {
        let (x0, x1) = match side {
            Side::Left => (from_u - faces.left, to_u - faces.left),
            Side::Right => (faces.right - to_u, faces.right - from_u),
        };
        // Deepest where the leaf stands square, or open if that is less; shallower to both sides of it.
        let x = edge.max(0.0).clamp(x0, x1);
        if x >= leaf_m || x < edge.min(0.0) {
            0.0
        } else if x >= edge {
            (leaf_m * leaf_m - x * x).sqrt() + 0.5 * leaves.thickness_m
        } else if x > 0.0 {
            x * sin / cos + 0.5 * leaves.thickness_m
        } else {
            0.0
        }
    };
    sides.iter().map(depth).fold(0.0, f64::max)
}

/// Distance from a line beside the gate (at `from_v` in the gate's frame) outward to the edge of the traveled way,
/// within a strip along the drive: the least over its width.
#[must_use]
pub fn road_gap(site: &Site, (from_u, to_u): (f64, f64), from_v: f64) -> f64 {
    let mut nearest = f64::NEG_INFINITY;
    for (a, b) in site.roads.iter().flat_map(|road| road.surface.edges()) {
        let (a, b) = (site.gate.to_gate(a), site.gate.to_gate(b));
        let along = b - a;
        let at = |u: f64| if along.x.abs() > 1e-12 { (u - a.x) / along.x } else { 0.0 };
        let (s, t) = (at(from_u), at(to_u));
        let (low, high) = (s.min(t).max(0.0), s.max(t).min(1.0));
        let inside = |p: Point| p.x >= from_u && p.x <= to_u;
        let ends = [low, high].map(|t| a + along * t);
        let seen = if along.x.abs() > 1e-12 { low <= high } else { inside(a) };
        let others = if along.x.abs() > 1e-12 { ends } else { [a, b] };
        // A road on the inner side is another road.
        if seen && others.iter().all(|p| p.y < 0.0) {
            nearest = others.iter().map(|p| p.y).fold(nearest, f64::max);
        }
    }
    if nearest.is_finite() { from_v - nearest } else { site.gate.setback_m + from_v }
}

/// The room of a vehicle waiting at a gate with these leaves of this width and faces, with a gap of `gap_m` to them.
#[must_use]
pub fn waiting(
    site: &Site,
    leaves: &Leaves,
    leaf_m: f64,
    faces: Faces,
    vehicle: &Vehicle,
    gap_m: f64,
) -> Waiting {
    let width_m = vehicle.units.iter().map(Unit::widest_m).fold(0.0, f64::max);
    let length_m = vehicle.length_m();
    let at_u = faces.middle_u();
    let strip = (at_u - 0.5 * width_m, at_u + 0.5 * width_m);
    let depth = arc_depth(leaves, leaf_m, faces, strip);
    let (out, inward) = match leaves.opens {
        Swing::In => (0.0, depth),
        Swing::Out => (depth, 0.0),
    };
    // A closed leaf reaches half its thickness to either side of the line, and a sliding one stands inside the posts.
    let closed = match leaves.arrangement {
        Arrangement::None => 0.0,
        _ => 0.5 * leaves.thickness_m,
    };
    let inside_closed = match leaves.arrangement {
        Arrangement::Slide(_) => 0.5 * site.gate.post.depth_m + leaves.thickness_m,
        _ => closed,
    };
    let outside_back_m = out.max(closed) + gap_m;
    let inside_back_m = inward.max(inside_closed) + gap_m;
    let outside_room_m = road_gap(site, strip, -outside_back_m);
    let behind = room_inside(site, faces, strip, inside_back_m, vehicle);
    let inside_missing_m = behind.as_ref().map_or(0.0, |(room, _)| (length_m - room).max(0.0));
    Waiting {
        length_m,
        width_m,
        at_u,
        outside_back_m,
        outside_room_m,
        outside_missing_m: (length_m - outside_room_m).clamp(0.0, length_m),
        inside_back_m,
        inside_room_m: behind.as_ref().map(|(room, _)| *room),
        inside_against: behind.map(|(_, what)| what),
        inside_missing_m,
    }
}

/// Distance inside from `from_v` to the first standing obstacle in the strip, and its label.
fn room_inside(
    site: &Site,
    faces: Faces,
    (from_u, to_u): (f64, f64),
    from_v: f64,
    vehicle: &Vehicle,
) -> Option<(f64, String)> {
    let around = Surroundings::new(site, None, faces.opening_m());
    let parts = || vehicle.units.iter().flat_map(|unit| &unit.parts);
    let met = around.standing.iter().filter(|s| parts().any(|p| s.material.meets(p.bottom_m, p.top_m)));
    met.filter_map(|standing| {
        // Reach along v over a band of u: the corners with their coordinates exchanged, in reverse order to stay
        // counterclockwise.
        let turned: Vec<Point> = standing.corners.iter().rev().map(|p| Point::new(p.y, p.x)).collect();
        let (near, far) = reach_in_band(&turned, standing.radius_m, from_u, to_u)?;
        (far > from_v).then(|| ((near - from_v).max(0.0), standing.material.what.clone()))
    })
    .min_by(|a, b| a.0.total_cmp(&b.0))
}
