//! Fences and obstacles drawn in the opening of the gate, where it closes.
use super::changes::LOW_M;
use super::consistency::Drawn;
use super::fault::Notes;
use super::{Arrangement, Gate, Obstacle, Site};
use crate::geometry::length::{Round, show};
use crate::geometry::polyline::segments;
use crate::geometry::{Point, Shape, distance};

/// Drawing error at the face of a post, a hand's breadth: a fence that reaches less far past it still ends there.
const AT_THE_POST_M: f64 = 0.1;

/// Finds fences in the opening; true if there is one.
pub(super) fn fences_across(site: &Site, drawn: &Drawn, notes: &mut Notes) -> bool {
    let gate = &site.gate;
    let mut found = false;
    let within = 0.5 * gate.opening_m() - AT_THE_POST_M;
    for (fence, who) in site.fences.iter().zip(&drawn.fences) {
        let line: Vec<Point> = fence.line.iter().map(|p| gate.to_gate(*p)).collect();
        let near = gate.in_line_within_m(fence.thickness_m);
        let Some(u) = segments(&line).find_map(|(a, b)| meets_opening(a, b, within, near)) else { continue };
        let place = if u.abs() < AT_THE_POST_M {
            "in its middle".to_owned()
        } else {
            let side = if u < 0.0 { "left" } else { "right" };
            format!("{} to the {side} of its middle", show(u.abs(), site.units, Round::Nearest))
        };
        let message = format!(
            "stands across the opening of the gate, {place}; end it at the posts, or move the gate to where it ends"
        );
        notes.fault(who, "/geometry/coordinates", "", message);
        found = true;
    }
    found
}

/// Position of a length of fence in the opening, `None` if only its ends touch it; all in the gate's frame. The
/// position is the one nearest to the middle.
fn meets_opening(a: Point, b: Point, within: f64, near: f64) -> Option<f64> {
    if a.y.abs() <= near && b.y.abs() <= near {
        let (low, high) = (a.x.min(b.x).max(-within), a.x.max(b.x).min(within));
        return (low < high).then(|| 0.0_f64.clamp(low, high));
    }
    if a.y * b.y > 0.0 {
        return None;
    }
    let u = a.x + (b.x - a.x) * (a.y / (a.y - b.y));
    (u.abs() < within).then_some(u)
}

/// Warns of obstacles that the closed leaves of a gate would run through.
pub(super) fn obstacles_in_opening(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let gate = &site.gate;
    if gate.leaves.arrangement == Arrangement::None {
        return;
    }
    // Leaves are as high as their posts, and pass over a curb.
    let is_as_high = |obstacle: &Obstacle| obstacle.top_m > LOW_M && obstacle.bottom_m < gate.post.top_m;
    for (obstacle, who) in site.obstacles.iter().zip(&drawn.obstacles) {
        if is_as_high(obstacle) && obstacle.shapes.iter().any(|shape| closes_on(gate, shape)) {
            let message = "stands in the opening, where the gate closes; move it or the gate".to_owned();
            notes.warn(who, "/geometry/coordinates", "", message);
        }
    }
}

/// True if a shape reaches the gate line between the posts.
fn closes_on(gate: &Gate, shape: &Shape) -> bool {
    let within = 0.5 * gate.opening_m() - AT_THE_POST_M;
    let corners: Vec<Point> = shape.outer.0.iter().map(|p| gate.to_gate(*p)).collect();
    let (left, right) = (Point::new(-within, 0.0), Point::new(within, 0.0));
    let reaches = |p: &Point| p.distance(distance::nearest_on_segment(*p, left, right)) < shape.radius_m;
    let crosses =
        |i: usize| meets_opening(corners[i], corners[(i + 1) % corners.len()], within, 0.0).is_some();
    corners.iter().any(reaches) || (0..corners.len()).any(crosses)
}
