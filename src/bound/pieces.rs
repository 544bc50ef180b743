//! Convex pieces of what stands about a gate: the obstacles of the proof.
use crate::clearance::{CollisionModel, ModelPart, SideOfGate, Thing};
use crate::geometry::Point;
use crate::site::Faces;

/// Slack given away at every comparison, as the proof uses ordinary floats: far more than their errors and far less
/// than matters.
pub const SLACK_M: f64 = 1e-6;
/// Places of the faces that are tried, and of those for an opening already proven too narrow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tried {
    /// Places of the faces tried.
    pub tried: Faces,
    /// These or closer faces are proven too narrow: every opening up to that one.
    pub proven: Faces,
}

/// Thing left out, to test whether it forbids every path.
#[derive(Clone, Debug, PartialEq)]
pub enum Without {
    /// Nothing is left out.
    Nothing,
    /// Everything of this kind that stands where it is by this name.
    Standing(Thing, String),
    /// The limits of the ground that tires may use.
    Ground,
}

/// A convex piece, the distance it keeps away, and the parts that can touch it.
pub(super) struct Piece {
    pub(super) corners: Vec<Point>,
    pub(super) grow_m: f64,
    pub(super) parts: Vec<bool>,
}

/// Pieces that the parts of a unit can touch; those that do not move with the faces only within `near_m` of the gate's
/// middle.
pub(super) fn pieces(
    model: &CollisionModel,
    parts: &[ModelPart],
    (faces, without): (&Tried, &Without),
    near_m: f64,
) -> Vec<Piece> {
    let surroundings = &model.surroundings;
    let mut pieces = Vec::new();
    for (index, piece) in surroundings.standing.iter().enumerate() {
        let gone = matches!(without, Without::Standing(thing, what) if piece.material.goes_by(*thing, what));
        if gone || piece.center.norm() - piece.reach_m > near_m {
            continue;
        }
        let met = parts.iter().map(|p| p.standing.contains(&index));
        let grow_m = (piece.radius_m + model.clearance_m - SLACK_M).max(0.0);
        pieces.push(Piece { corners: piece.corners.clone(), grow_m, parts: met.collect() });
    }
    let seen = (model, parts);
    pieces.extend(side_pieces(seen, &surroundings.left, faces.tried.left, faces.proven.left, -1.0));
    pieces.extend(side_pieces(seen, &surroundings.right, faces.tried.right, faces.proven.right, 1.0));
    pieces
}

/// Pieces behind one face: bands as long rectangles, and the post. Leaves only obstruct more, and are left out.
fn side_pieces(
    (model, parts): (&CollisionModel, &[ModelPart]),
    side: &SideOfGate,
    face: f64,
    proven: f64,
    sign: f64,
) -> Vec<Piece> {
    let grow_m = (model.clearance_m - SLACK_M).max(0.0);
    let lists = |part: &ModelPart| if sign < 0.0 { part.left.clone() } else { part.right.clone() };
    let mut pieces = Vec::new();
    for (index, band) in side.bands.iter().enumerate() {
        // No clearance is kept from the end of the closed line: a grown band still ends where the line does.
        let (from, to) = if sign < 0.0 { (side.end_u + grow_m, face) } else { (face, side.end_u - grow_m) };
        if from >= to {
            continue;
        }
        let corners = if band.high > band.low {
            rectangle(from, to, band.low, band.high)
        } else {
            vec![Point::new(from, band.low), Point::new(to, band.low)]
        };
        let parts = parts.iter().map(|p| lists(p).0.contains(&index)).collect();
        pieces.push(Piece { corners, grow_m, parts });
    }
    for (index, block) in side.blocks.iter().enumerate() {
        if !block.is_rectangle || block.material.is_leaf() {
            continue;
        }
        // Intersection of the post's places for all faces between the proven opening and the one tried: so a path that
        // is closed at the one tried is closed at every narrower one too.
        let (low, high) = (face.max(proven) + block.low.x, face.min(proven) + block.high.x);
        if low < high {
            let parts = parts.iter().map(|p| lists(p).1.contains(&index)).collect();
            pieces.push(Piece { corners: rectangle(low, high, block.low.y, block.high.y), grow_m, parts });
        }
    }
    pieces
}

fn rectangle(x0: f64, x1: f64, y0: f64, y1: f64) -> Vec<Point> {
    vec![Point::new(x0, y0), Point::new(x1, y0), Point::new(x1, y1), Point::new(x0, y1)]
}
