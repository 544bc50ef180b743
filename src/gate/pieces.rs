//! Obstacles to a leaf, in the gate's frame, as convex pieces: everything that stands as high as the leaf, the edges of
//! roads and of sidewalks, and the fence in the gate line.
use super::StopKind;
use crate::clearance::Surroundings;
use crate::geometry::Point;
use crate::site::{Faces, Ground, Leaves, Site};

/// Length of the fence in the gate line that is considered beyond its post: farther than any leaf reaches.
const FENCE_M: f64 = 30.0;

/// Convex piece with its radius, gate frame.
pub(super) struct Piece {
    pub(super) what: String,
    pub(super) kind: StopKind,
    pub(super) corners: Vec<Point>,
    pub(super) radius_m: f64,
    /// True if it belongs to the fence in the gate line, which a leaf running back beside it does not meet.
    pub(super) in_line: bool,
}

/// True if people walk there: the plan calls it a sidewalk.
pub(crate) fn is_sidewalk(ground: &Ground) -> bool {
    let label = ground.label.to_lowercase();
    ["sidewalk", "walkway", "footpath", "footway"].iter().any(|word| label.contains(word))
}

/// Lists everything that meets a leaf between its heights, with the faces at these positions. Roads and sidewalks count
/// at any height: no leaf may swing over them.
pub(super) fn pieces(site: &Site, leaves: &Leaves, faces: Faces) -> Vec<Piece> {
    let around = Surroundings::new(site, None, faces.opening_m());
    let mut pieces: Vec<Piece> = Vec::new();
    for standing in around.standing.iter().filter(|s| s.material.meets(leaves.bottom_m, leaves.top_m)) {
        pieces.push(Piece {
            what: standing.material.what.clone(),
            kind: StopKind::Standing,
            corners: standing.corners.clone(),
            radius_m: standing.radius_m,
            in_line: false,
        });
    }
    let post_m = site.gate.post.width_m;
    for (side, from, to) in [
        (&around.left, faces.left - FENCE_M, faces.left - post_m),
        (&around.right, faces.right + post_m, faces.right + FENCE_M),
    ] {
        // The closed gate line itself has no thickness and is no obstacle.
        for band in side.bands.iter().filter(|b| b.high > b.low) {
            if band.material.meets(leaves.bottom_m, leaves.top_m) {
                let corners = [(from, band.low), (to, band.low), (to, band.high), (from, band.high)];
                pieces.push(Piece {
                    what: band.material.what.clone(),
                    kind: StopKind::Standing,
                    corners: corners.map(|(u, v)| Point::new(u, v)).to_vec(),
                    radius_m: 0.0,
                    in_line: true,
                });
            }
        }
    }
    let mut edges = |ground: &Ground, kind: StopKind| {
        for ring in std::iter::once(&ground.outer).chain(&ground.holes) {
            for (a, b) in ring.edges() {
                pieces.push(Piece {
                    what: ground.label.clone(),
                    kind,
                    corners: vec![site.gate.to_gate(a), site.gate.to_gate(b)],
                    radius_m: 0.0,
                    in_line: false,
                });
            }
        }
    };
    site.roads.iter().for_each(|road| edges(&road.surface, StopKind::Road));
    site.drives.iter().filter(|d| is_sidewalk(d)).for_each(|walk| edges(walk, StopKind::Sidewalk));
    pieces
}
