//! Things on a site that may hide the road: posts, leaves open and closed, fences, obstacles, as solids with heights.
use super::shadow::{SightHeights, Solid, hidden, merged, solids_of};
use crate::clearance::Thing;
use crate::gate::{LeafSwing, drawn_leaf_m, leaf_swings, standing};
use crate::geometry::{Outline, Point, Shape};
use crate::site::{Arrangement, Side, Site, TALL_M};

/// Standing thing, named as people name it.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocker {
    /// Kind of thing.
    pub thing: Thing,
    /// Name: "left post", "right leaf, open", "fence", an obstacle's label.
    pub what: String,
    /// True if the plan gives its height; one without is taken to hide everything above its underside.
    pub height_known: bool,
    /// Largest measure on the ground of a post, or the largest diameter if it is made of discs; infinite for anything
    /// else. Rules use it to leave out slender poles and columns.
    pub across_m: f64,
    /// Convex pieces of the thing.
    pub solids: Vec<Solid>,
}

impl Blocker {
    /// Stretches of a line that it hides from an eye.
    #[must_use]
    pub fn hides(&self, eye: Point, heights: &SightHeights, line: &[Point]) -> Vec<(f64, f64)> {
        merged(self.solids.iter().flat_map(|solid| hidden(eye, heights, line, solid)).collect())
    }
    /// Returns it moved without a turn.
    #[must_use]
    pub fn moved(&self, by: Point) -> Self {
        Self { solids: self.solids.iter().map(|s| s.moved(by)).collect(), ..self.clone() }
    }
    /// Returns it with no top higher than this.
    #[must_use]
    pub fn lowered(&self, top_m: f64) -> Self {
        Self { solids: self.solids.iter().map(|s| s.lowered(top_m)).collect(), ..self.clone() }
    }
    /// Height of its highest top.
    #[must_use]
    pub fn top_m(&self) -> f64 {
        self.solids.iter().fold(0.0, |top, s| s.top_m.max(top))
    }
}

/// Lists everything that stands on a site; closed leaves only if `closed`.
#[must_use]
pub fn blockers(site: &Site, closed: bool) -> Vec<Blocker> {
    let gate = &site.gate;
    let faces = gate.drawn_faces();
    let (width, half) = (gate.post.width_m, 0.5 * gate.post.depth_m);
    let mut all = Vec::new();
    for (side, from, to) in
        [(Side::Left, faces.left - width, faces.left), (Side::Right, faces.right, faces.right + width)]
    {
        let corners = [(from, -half), (to, -half), (to, half), (from, half)];
        all.push(Blocker {
            thing: Thing::Post(side),
            what: format!("{} post", side.word()),
            height_known: true,
            across_m: width.max(gate.post.depth_m),
            solids: vec![Solid {
                corners: corners.map(|(u, v)| gate.to_site(Point::new(u, v))).to_vec(),
                radius_m: 0.0,
                bottom_m: 0.0,
                top_m: gate.post.top_m,
            }],
        });
    }
    let leaves = &gate.leaves;
    let leaf = |side: Side, how: &str, corners: Vec<Point>| Blocker {
        thing: Thing::Leaf(side),
        what: format!("{} leaf, {how}", side.word()),
        height_known: true,
        across_m: f64::INFINITY,
        solids: vec![Solid { corners, radius_m: 0.0, bottom_m: leaves.bottom_m, top_m: leaves.top_m }],
    };
    for swing in leaf_swings(site, leaves, faces, drawn_leaf_m(gate)) {
        all.push(leaf(swing.side, "open", standing(gate, &swing)));
        if closed {
            let shut = LeafSwing { reach_rad: 0.0, ..swing };
            all.push(leaf(shut.side, "closed", standing(gate, &shut)));
        }
    }
    if let Arrangement::Slide(side) = leaves.arrangement {
        // A sliding leaf runs back just inside its post.
        let (low, high) = (half, half + leaves.thickness_m.max(1e-4));
        let box_of = |from: f64, to: f64| {
            let corners = [(from, low), (to, low), (to, high), (from, high)];
            corners.map(|(u, v)| gate.to_site(Point::new(u, v))).to_vec()
        };
        let opening = faces.opening_m();
        let open = match side {
            Side::Left => box_of(faces.left - opening, faces.left),
            Side::Right => box_of(faces.right, faces.right + opening),
        };
        all.push(leaf(side, "open", open));
        if closed {
            all.push(leaf(side, "closed", box_of(faces.left, faces.right)));
        }
    }
    for fence in &site.fences {
        let shapes = crate::site::wall(&fence.line, fence.thickness_m);
        all.push(Blocker {
            thing: Thing::Fence,
            what: fence.label.clone(),
            height_known: true,
            across_m: f64::INFINITY,
            solids: shapes.iter().flat_map(|shape| solids_of(shape, 0.0, fence.top_m)).collect(),
        });
    }
    for (index, obstacle) in site.obstacles.iter().enumerate() {
        let solids = |shape: &Shape| solids_of(shape, obstacle.bottom_m, obstacle.top_m);
        all.push(Blocker {
            thing: Thing::Obstacle(index),
            what: obstacle.label.clone(),
            height_known: obstacle.top_m < TALL_M,
            across_m: across_m(&obstacle.shapes),
            solids: obstacle.shapes.iter().flat_map(solids).collect(),
        });
    }
    all
}

/// Largest diameter where every shape is a disc, such as a pole; infinite if one is not.
fn across_m(shapes: &[Shape]) -> f64 {
    shapes.iter().fold(0.0, |most, shape| {
        let Outline(ring) = &shape.outer;
        let across = match ring.as_slice() {
            [_] => 2.0 * shape.radius_m,
            _ => f64::INFINITY,
        };
        f64::max(most, across)
    })
}
