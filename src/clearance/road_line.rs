//! Intersections of the gate line with roads: the length of the closed line, and the limit for posts.
use crate::geometry::{Outline, Point, distance};
use crate::site::Site;

/// Length of closed gate line assumed beyond each post where no road or fence ends it, meters: longer than any vehicle.
pub(super) const CLOSED_LINE_M: f64 = 60.0;

/// Largest overhang of a vehicle over the edge of the road it is on, mirrors included, meters. The closed gate line ends this far
/// before a road. Half a meter is twice what mirrors stand out.
const OVER_ROAD_EDGE_M: f64 = 0.5;

/// Distance from the gate's middle, along the gate line, to the first place at `from_m` or beyond where the line enters a road, to
/// the left (`sign` -1) or right (`sign` 1), meters; infinite if it enters none.
pub(super) fn first_road(site: &Site, sign: f64, from_m: f64) -> f64 {
    const BESIDE_M: f64 = 0.01;
    let on_road = |u: f64| {
        let p = site.gate.to_site(Point::new(sign * u, 0.0));
        let holds = |ring: &Outline| distance::ring_contains(&ring.0, p);
        site.roads.iter().any(|road| holds(&road.surface.outer) && !road.surface.holes.iter().any(holds))
    };
    let mut edges_u: Vec<f64> =
        crossings(site).map(|(u, _)| sign * u).filter(|u| *u > from_m - BESIDE_M).collect();
    edges_u.sort_by(f64::total_cmp);
    let first = edges_u.into_iter().find(|u| on_road(u + BESIDE_M) && !on_road(u - BESIDE_M));
    first.unwrap_or(f64::INFINITY)
}

/// Lengths of the closed gate line to the left and right of the gate's middle, up to the nearest road edge, meters.
pub(super) fn road_ends(site: &Site) -> (f64, f64) {
    let outside = 0.5 * site.gate.opening_m() + site.gate.post.width_m;
    let mut ends = (CLOSED_LINE_M, CLOSED_LINE_M);
    for (u, slant) in crossings(site) {
        // Whatever crosses it, the line is no shorter than to the outer face of the post: the gate is closed as far as that.
        let before = (u.abs() - OVER_ROAD_EDGE_M / slant).max(outside);
        let end = if u < 0.0 { &mut ends.0 } else { &mut ends.1 };
        *end = end.min(before);
    }
    ends
}

/// Crossings of the gate line with road edges: position along the line (u), and sine of the angle between the two.
fn crossings(site: &Site) -> impl Iterator<Item = (f64, f64)> + '_ {
    let edges = site.roads.iter().flat_map(|road| road.surface.edges());
    edges
        .map(|(a, b)| (site.gate.to_gate(a), site.gate.to_gate(b)))
        .filter(|(a, b)| (a.y > 0.0) != (b.y > 0.0))
        .map(|(a, b)| {
            let u = a.x + (b.x - a.x) * (a.y / (a.y - b.y));
            (u, (b.y - a.y).abs() / a.distance(b))
        })
}
