//! Where the gate line meets roads: how far it is closed, and how far out a post may stand.
use crate::geometry::{Outline, Point, distance};
use crate::site::Site;

/// How far the gate line counts as closed beyond its posts when no road or fence ends it first: farther than any
/// vehicle is long.
pub(super) const CLOSED_LINE_M: f64 = 60.0;

/// A vehicle on a road reaches over its edge by this at most, mirrors and overhang: so far before the road the gate line
/// no longer counts as closed. Half a meter is twice what mirrors stand out.
const OVER_ROAD_EDGE_M: f64 = 0.5;

/// How far from the gate's middle the gate line first runs onto a road, to the left (`sign` -1) or to the right, `from_m` or
/// farther out; infinite if it does not.
pub(super) fn first_road(site: &Site, sign: f64, from_m: f64) -> f64 {
    const BESIDE_M: f64 = 0.01;
    let on_road = |u: f64| {
        let p = site.gate.to_site(Point::new(sign * u, 0.0));
        let holds = |ring: &Outline| distance::ring_contains(&ring.0, p);
        site.roads.iter().any(|road| holds(&road.surface.outer) && !road.surface.holes.iter().any(holds))
    };
    let edges = site.roads.iter().flat_map(|road| road.surface.outer.edges());
    let mut edges_u: Vec<f64> = edges
        .map(|(a, b)| (site.gate.to_gate(a), site.gate.to_gate(b)))
        .filter(|(a, b)| (a.y > 0.0) != (b.y > 0.0))
        .map(|(a, b)| sign * (a.x + (b.x - a.x) * (a.y / (a.y - b.y))))
        .filter(|u| *u > from_m - BESIDE_M)
        .collect();
    edges_u.sort_by(f64::total_cmp);
    let first = edges_u.into_iter().find(|u| on_road(u + BESIDE_M) && !on_road(u - BESIDE_M));
    first.unwrap_or(f64::INFINITY)
}

/// How far the gate line runs to the left and to the right of its middle before it comes to a road.
pub(super) fn road_ends(site: &Site) -> (f64, f64) {
    let outside = 0.5 * site.gate.opening_m() + site.gate.post.width_m;
    let mut ends = (CLOSED_LINE_M, CLOSED_LINE_M);
    for road in &site.roads {
        for (a, b) in road.surface.outer.edges() {
            let (a, b) = (site.gate.to_gate(a), site.gate.to_gate(b));
            if (a.y > 0.0) != (b.y > 0.0) {
                let u = a.x + (b.x - a.x) * (a.y / (a.y - b.y));
                let slant = (b.y - a.y).abs() / a.distance(b);
                let before = (u.abs() - OVER_ROAD_EDGE_M / slant).max(u.abs().min(outside));
                if u < 0.0 {
                    ends.0 = ends.0.min(before);
                } else {
                    ends.1 = ends.1.min(before);
                }
            }
        }
    }
    ends
}
