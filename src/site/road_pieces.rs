//! Joins roads drawn in pieces: a map's center lines are split where roads meet, and a line drawn in two strokes is one
//! road.
//!
//! Two lines are one road if they end in the same place, turn little there, and are equally wide. The joined road is the
//! road drawn in one line, so both plans get the same answers.
use super::RoadEnds;
use super::gate::DrawnRoad;
use super::lines::strip;
use crate::geometry::Point;
use crate::geometry::length::{FOOT_M, INCH_M};
use crate::geometry::polyline::{nearest_on, segments};
use crate::geometry::trig;

/// Largest distance between two ends drawn for the same place: a foot, which a hand that draws two lines may miss by.
const SAME_PLACE_M: f64 = FOOT_M;
/// Largest difference of two widths of the same road.
const SAME_WIDTH_M: f64 = INCH_M;
/// Largest turn where one road goes on as another. Beyond it a corner of two lines is drawn, not a road that goes on.
const MOST_TURN_DEG: f64 = 60.0;
/// Distance from a straight line at which the point between two pieces is on it: a road split halfway along a straight
/// stretch has the corners of the road that is not split.
const STRAIGHT_M: f64 = 1e-3;

/// An end of a piece.
#[derive(Clone, Copy)]
struct PieceEnd {
    piece: usize,
    is_last: bool,
    at: Point,
    /// Unit vector out of the road.
    out: Point,
}

/// Joins the pieces of roads drawn as lines. A joined road runs in the direction of, and has the name and the use of, the
/// piece nearest to `gate`; the faster of two speeds; and continues where its outer ends do.
pub(super) fn join(mut roads: Vec<DrawnRoad>, gate: Point) -> Vec<DrawnRoad> {
    while let Some((one, other)) = straightest(&roads) {
        let (first, second) = (one.piece.min(other.piece), one.piece.max(other.piece));
        let later = roads.remove(second);
        let Some(earlier) = roads.get_mut(first) else { break };
        let (ahead, behind) = if one.piece == first { (one, other) } else { (other, one) };
        join_pair(earlier, ahead.is_last, later, behind.is_last, gate);
    }
    roads
}

/// The two ends of different pieces that meet and turn least; the earlier pair if two turn alike.
fn straightest(roads: &[DrawnRoad]) -> Option<(PieceEnd, PieceEnd)> {
    let ends: Vec<PieceEnd> = roads.iter().enumerate().flat_map(|(i, road)| ends_of(i, road)).collect();
    let least = -trig::sin_cos(MOST_TURN_DEG.to_radians()).1;
    let mut best: Option<(f64, PieceEnd, PieceEnd)> = None;
    for (i, one) in ends.iter().enumerate() {
        for other in &ends[i + 1..] {
            // Roads that go on straight leave their common end in opposite directions.
            let facing = one.out.dot(other.out);
            let meets = one.piece != other.piece
                && one.at.distance(other.at) <= SAME_PLACE_M
                && facing <= least
                && is_alike(&roads[one.piece], &roads[other.piece]);
            if meets && best.is_none_or(|(straightest, ..)| facing < straightest) {
                best = Some((facing, *one, *other));
            }
        }
    }
    best.map(|(_, one, other)| (one, other))
}

/// Both ends of a piece drawn as a line; none of an outline or of a line that ends where it begins.
fn ends_of(piece: usize, road: &DrawnRoad) -> Vec<PieceEnd> {
    let Some((line, _)) = &road.centerline else { return Vec::new() };
    let ([first, second, ..], [.., before, last]) = (line.as_slice(), line.as_slice()) else {
        return Vec::new();
    };
    if first.distance(*last) <= SAME_PLACE_M {
        return Vec::new();
    }
    let end = |is_last, at: Point, inside: Point| {
        (at - inside).unit().map(|out| PieceEnd { piece, is_last, at, out })
    };
    [end(false, *first, *second), end(true, *last, *before)].into_iter().flatten().collect()
}

/// True if two pieces are as wide as each other and used alike.
fn is_alike(one: &DrawnRoad, other: &DrawnRoad) -> bool {
    let width = |road: &DrawnRoad| road.centerline.as_ref().map(|(_, width_m)| *width_m);
    let same_width = width(one).zip(width(other)).is_some_and(|(a, b)| (a - b).abs() <= SAME_WIDTH_M);
    same_width && one.usage == other.usage
}

/// Joins `later` to `road` at these ends.
fn join_pair(road: &mut DrawnRoad, at_last: bool, later: DrawnRoad, later_at_last: bool, gate: Point) {
    let (Some((line, width_m)), Some((other, other_width_m))) = (&road.centerline, &later.centerline) else {
        return;
    };
    let away =
        |line: &[Point]| nearest_on(segments(line), gate).map_or(f64::INFINITY, |(_, p)| p.distance(gate));
    let keeps = away(line) <= away(other);
    // From the first piece's outer end to the joint, and from there to the second's outer end.
    let toward = |line: &[Point], is_last: bool| -> Vec<Point> {
        if is_last { line.to_vec() } else { line.iter().rev().copied().collect() }
    };
    let (mut joined, mut onward) = (toward(line, at_last), toward(other, later_at_last));
    onward.reverse();
    let joint = joined.pop().zip(onward.first()).map(|(a, b)| (a + *b) * 0.5);
    onward.remove(0);
    let corners = joined.last().zip(joint).zip(onward.first());
    let is_straight = corners.is_some_and(|((before, joint), after)| {
        nearest_on(std::iter::once((*before, *after)), joint)
            .is_some_and(|(_, p)| p.distance(joint) <= STRAIGHT_M)
    });
    joined.extend(joint.filter(|_| !is_straight));
    joined.extend(onward);
    let outer = |ends: RoadEnds, at_last: bool| if at_last { ends.start } else { ends.end };
    let mut continues =
        RoadEnds { start: outer(road.continues, at_last), end: outer(later.continues, later_at_last) };
    // The direction of the piece that keeps its name.
    let along = if keeps { at_last } else { !later_at_last };
    if !along {
        joined.reverse();
        continues = RoadEnds { start: continues.end, end: continues.start };
    }
    let width_m = if keeps { *width_m } else { *other_width_m };
    let speed = match (road.speed, later.speed) {
        (Some(a), Some(b)) => Some(if b.m_per_s() > a.m_per_s() { b } else { a }),
        (a, b) => a.or(b),
    };
    let (who, label) =
        if keeps { (road.who.clone(), road.surface.label.clone()) } else { (later.who, later.surface.label) };
    let mut surface = strip(&joined, width_m);
    surface.label = label;
    *road =
        DrawnRoad { who, surface, centerline: Some((joined, width_m)), usage: road.usage, continues, speed };
}
