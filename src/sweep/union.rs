//! Unions of many overlapping pieces, and cleanup of the result.
//!
//! A single union of all pieces explodes: a few skew rectangles whose edges nearly coincide give tens of thousands of
//! corners. Joining neighbors pairwise, then the pairs, and so on, keeps every call small.
use super::SweepError;
use crate::geometry::{Outline, trig};
use geo::orient::Direction;
use geo::{Area, BooleanOps, Coord, LineString, MultiPolygon, Orient, Polygon, SimplifyIdx, Validation};

/// Holes whose largest disc has at most this radius are gaps left by rounding, and are filled.
const SPECK_M: f64 = 1e-4;

/// Largest width of a spike: a ring that turns back within this of its own edge has one there. More than the rounding
/// of what is written.
const SPIKE_M: f64 = 5e-6;

/// The union of convex pieces given in an order in which neighbors overlap.
///
/// # Errors
/// [`SweepError::Corner`] for a corner that is not a number; [`SweepError::Union`] if a union has an area that
/// it cannot have.
pub fn union_in_order(pieces: Vec<Outline>) -> Result<MultiPolygon<f64>, SweepError> {
    let polygon = |outline: Outline| {
        if !outline.0.iter().all(|p| p.x.is_finite() && p.y.is_finite()) {
            return Err(SweepError::Corner);
        }
        // Mixed winding makes a union silently wrong.
        let ring: Vec<Coord<f64>> = outline.counterclockwise().0.into_iter().map(Coord::from).collect();
        Ok(MultiPolygon::new(vec![Polygon::new(LineString::new(ring), Vec::new())]))
    };
    tree(pieces.into_iter().map(polygon).collect::<Result<_, _>>()?)
}

/// The union of neighbors, then of the results, and so on to the root.
pub(super) fn tree(mut level: Vec<MultiPolygon<f64>>) -> Result<MultiPolygon<f64>, SweepError> {
    while level.len() > 1 {
        let mut next = Vec::with_capacity(level.len().div_ceil(2));
        let mut pieces = level.into_iter();
        while let Some(first) = pieces.next() {
            next.push(match pieces.next() {
                Some(second) => join(&first, &second)?,
                None => first,
            });
        }
        level = next;
    }
    Ok(level.pop().unwrap_or_else(|| MultiPolygon::new(Vec::new())))
}

fn join(first: &MultiPolygon<f64>, second: &MultiPolygon<f64>) -> Result<MultiPolygon<f64>, SweepError> {
    let union = first.union(second);
    let (first_m2, second_m2, union_m2) =
        (first.unsigned_area(), second.unsigned_area(), union.unsigned_area());
    // Snapping to a grid of 50 nm along at most a few hundred meters of outline.
    let slack = 1e-4;
    if union_m2 + slack >= first_m2.max(second_m2) && union_m2 <= first_m2 + second_m2 + slack {
        Ok(union)
    } else {
        Err(SweepError::Union { first_m2, second_m2, union_m2 })
    }
}

/// Fills specks, orients rings and removes corners that lie within `spare_m` of the outline without them. Also returns
/// a bound on how far that moved the outline.
pub(super) fn tidy(polygons: MultiPolygon<f64>, spare_m: f64) -> (MultiPolygon<f64>, f64) {
    let speck = SPECK_M.min(spare_m / 2.0);
    let room = spare_m - speck;
    let tidied = polygons.into_iter().map(|polygon| {
        let (outer, holes) = polygon.into_inner();
        let outer = without_spikes(outer);
        // A disc of radius r has area π r², so a hole of less area holds none.
        let keeps = |hole: &LineString<f64>| {
            Polygon::new(hole.clone(), Vec::new()).unsigned_area() > std::f64::consts::PI * speck * speck
                && !is_slit(hole, speck)
        };
        let whole = Polygon::new(outer, holes.into_iter().map(without_spikes).filter(keeps).collect());
        let thin = |ring: &LineString<f64>| thinned(ring, room);
        let simple = Polygon::new(thin(whole.exterior()), whole.interiors().iter().map(thin).collect());
        // Removing corners one ring at a time can make rings cross where they nearly touch.
        if simple.is_valid() { simple } else { whole }
    });
    (MultiPolygon::new(tidied.collect()).orient(Direction::Default), speck.max(room))
}

/// A ring without spikes: corners where it turns back on itself and encloses nothing. Shapes with an edge that ends on
/// another's edge leave them, and once rounded they cross the ring.
fn without_spikes(ring: LineString<f64>) -> LineString<f64> {
    let mut corners: Vec<Coord<f64>> = ring.0;
    corners.pop();
    let mut at = 0;
    let mut kept_since = 0;
    while corners.len() > 3 && kept_since < corners.len() {
        let n = corners.len();
        let (a, b, c) = (corners[(at + n - 1) % n], corners[at % n], corners[(at + 1) % n]);
        let (before, after) = (b - a, c - b);
        // Distance of the end of the shorter edge from the longer one.
        let length = trig::hypot(before.x, before.y).max(trig::hypot(after.x, after.y));
        let off_m = (before.x * after.y - before.y * after.x).abs() / length.max(f64::MIN_POSITIVE);
        if before.x * after.x + before.y * after.y < 0.0 && off_m <= SPIKE_M {
            corners.remove(at % n);
            // The corner before may be one now.
            at = (at + n - 1) % n;
            at = at.min(corners.len() - 1);
            kept_since = 0;
        } else {
            at = (at + 1) % n;
            kept_since += 1;
        }
    }
    // Close the ring again.
    LineString::from_iter(corners.iter().chain(corners.first()).copied())
}

/// A ring that lies within `half_m` of one line on both sides, so that it holds no larger disc.
fn is_slit(ring: &LineString<f64>, half_m: f64) -> bool {
    let away = |from: Coord<f64>| {
        let far = |p: &Coord<f64>| trig::hypot(p.x - from.x, p.y - from.y);
        ring.0.iter().copied().max_by(|p, q| far(p).total_cmp(&far(q)))
    };
    let Some(a) = ring.0.first().and_then(|p| away(*p)) else { return true };
    let Some(b) = away(a) else { return true };
    let along = b - a;
    let length = trig::hypot(along.x, along.y).max(f64::MIN_POSITIVE);
    ring.0.iter().all(|p| ((p.x - a.x) * along.y - (p.y - a.y) * along.x).abs() <= half_m * length)
}

/// A closed ring with fewer corners, each removed one within `room_m` of it (Douglas and Peucker 1973; the ring's first
/// corner and the one farthest from it always stay).
fn thinned(ring: &LineString<f64>, room_m: f64) -> LineString<f64> {
    let n = ring.0.len();
    if n < 6 || room_m <= 0.0 {
        return ring.clone();
    }
    let kept = ring.simplify_idx(room_m);
    LineString::new(kept.into_iter().map(|i| ring.0[i]).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[(f64, f64)]) -> LineString<f64> {
        LineString::from_iter(corners.iter().chain(corners.first()).copied())
    }

    #[test]
    fn a_spike_is_cut_off_and_corners_stay() {
        let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        assert_eq!(without_spikes(ring(&square)).0.len(), 5);
        // Along the lower edge, 2 m past the corner and back.
        let spiked = [(0.0, 0.0), (6.0, 1e-9), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        let cut = without_spikes(ring(&spiked));
        assert_eq!(Polygon::new(cut.clone(), vec![]).unsigned_area(), 16.0);
        assert!(cut.0.iter().all(|p| p.x <= 4.0));
        // A narrow wedge is no spike.
        let wedge = [(0.0, 0.0), (6.0, 0.001), (4.0, 0.01), (4.0, 4.0), (0.0, 4.0)];
        assert_eq!(without_spikes(ring(&wedge)).0.len(), 6);
    }

    #[test]
    fn a_slit_holds_no_disc() {
        assert!(is_slit(&ring(&[(0.0, 0.0), (3.0, 1e-5), (2.0, 5e-5)]), 1e-4));
        assert!(!is_slit(&ring(&[(0.0, 0.0), (3.0, 0.0), (2.0, 5e-4)]), 1e-4));
    }
}
