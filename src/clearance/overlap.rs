//! Penetration depth of a vehicle along a path into the posts, the leaves and the fence in the gate line, for given faces.
use super::collision_model::CollisionModel;
use super::inspect::{Touch, named, outlines};
use crate::geometry::Point;
use crate::motion::Sample;
use crate::site::{Faces, Side};

/// One overlap: the thing, the part, and the depth.
#[derive(Clone, Debug, PartialEq)]
pub struct Overlap {
    /// Location: `from` is the vehicle's point deepest in the thing, `at` the edge of the thing beside it along the
    /// gate line; no gap.
    pub touch: Touch,
    /// Penetration depth along the gate line, meters: with the face this much farther out the part would only touch.
    pub depth_m: f64,
}

/// The deepest overlap with each named thing that stands behind the faces, over these samples, deepest first.
#[must_use]
pub fn overlaps(model: &CollisionModel, samples: &[Sample], faces: Faces) -> Vec<Overlap> {
    let surroundings = &model.surroundings;
    let sides = [
        (Side::Left, &surroundings.left, outlines(&surroundings.left, faces.left, -1.0)),
        (Side::Right, &surroundings.right, outlines(&surroundings.right, faces.right, 1.0)),
    ];
    let mut found: Vec<Overlap> = Vec::new();
    let mut corners: Vec<Point> = Vec::new();
    for sample in samples {
        let frames = model.chain.unit_frames(&sample.state);
        for part in model.parts.iter().filter(|part| part.meets_faces) {
            let frame = &frames[part.unit];
            let center = frame.place(part.center);
            let (low, high) = model.moving_v;
            if center.y + part.reach_m < low || center.y - part.reach_m > high {
                continue;
            }
            corners.clear();
            corners.extend(part.corners.iter().map(|p| frame.place(*p)));
            for (side, of_side, list) in &sides {
                let (touchable, sign) =
                    if *side == Side::Left { (&part.left, 1.0) } else { (&part.right, -1.0) };
                let bands = of_side.bands.len();
                for (i, outline) in list.iter().enumerate() {
                    let meets =
                        if i < bands { touchable.0.contains(&i) } else { touchable.1.contains(&(i - bands)) };
                    let Some((depth_m, from, at)) = deepest(&corners, outline, sign).filter(|_| meets) else {
                        continue;
                    };
                    let (thing, what) = named(of_side, (*side, faces.on(*side)), i, at);
                    let known =
                        found.iter_mut().find(|o| o.touch.thing.is_like(thing) && o.touch.what == what);
                    if known.as_ref().is_some_and(|known| known.depth_m >= depth_m) {
                        continue;
                    }
                    let (part, what) = (part.name.clone(), what.to_owned());
                    let touch =
                        Touch { thing, what, part, at, from, gap_m: 0.0, station_m: sample.station_m };
                    match known {
                        Some(known) => *known = Overlap { touch, depth_m },
                        None => found.push(Overlap { touch, depth_m }),
                    }
                }
            }
        }
    }
    found.sort_by(|a, b| b.depth_m.total_cmp(&a.depth_m).then_with(|| a.touch.what.cmp(&b.touch.what)));
    found
}

/// Penetration depth of a convex body into a convex thing along x: the shift of the thing against `sign` that ends the overlap.
/// With it the body's outermost and the thing's innermost point at the height where it is deepest. `None` without an overlap.
fn deepest(body: &[Point], thing: &[Point], sign: f64) -> Option<(f64, Point, Point)> {
    let range = |ring: &[Point]| {
        let of = |f: fn(f64, f64) -> f64, start: f64| ring.iter().map(|p| p.y).fold(start, f);
        (of(f64::min, f64::INFINITY), of(f64::max, f64::NEG_INFINITY))
    };
    let ((b0, b1), (t0, t1)) = (range(body), range(thing));
    let (low, high) = (b0.max(t0), b1.min(t1));
    // The width of the overlap is concave in y with kinks at corners alone: the maximum is at one of them or at an end.
    let heights =
        body.iter().chain(thing).map(|p| p.y).chain([low, high]).filter(|y| *y >= low && *y <= high);
    let mut best: Option<(f64, Point, Point)> = None;
    for y in heights {
        let (Some(from_x), Some(at_x)) = (extreme(body, y, -sign), extreme(thing, y, sign)) else { continue };
        let depth_m = (at_x - from_x) * sign;
        // A body wholly beyond the thing does not overlap it.
        let beyond = extreme(body, y, sign).zip(extreme(thing, y, -sign));
        if beyond.is_some_and(|(body_x, thing_x)| (body_x - thing_x) * sign < 0.0) {
            continue;
        }
        if depth_m > 0.0 && best.is_none_or(|(most_m, ..)| depth_m > most_m) {
            best = Some((depth_m, Point::new(from_x, y), Point::new(at_x, y)));
        }
    }
    best
}

/// The x of a convex outline at height `y` that lies farthest along `sign`.
fn extreme(ring: &[Point], y: f64, sign: f64) -> Option<f64> {
    let n = ring.len();
    let mut best: Option<f64> = None;
    for i in 0..n {
        let (a, b) = (ring[i], ring[(i + 1) % n]);
        if y < a.y.min(b.y) || y > a.y.max(b.y) {
            continue;
        }
        let ends = if a.y == b.y { [a.x, b.x] } else { [a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)); 2] };
        for x in ends {
            if best.is_none_or(|known| (x - known) * sign > 0.0) {
                best = Some(x);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|(x, y)| Point::new(*x, *y)).collect()
    }

    #[test]
    fn depth_is_the_shift_that_ends_the_overlap() {
        // A post from -2.2 to -2, and a corner that points 0.15 into it.
        let post = ring(&[(-2.2, -0.1), (-2.0, -0.1), (-2.0, 0.1), (-2.2, 0.1)]);
        let body = ring(&[(-2.15, 0.05), (-1.0, -1.0), (0.0, 1.0)]);
        let (depth_m, from, at) = deepest(&body, &post, 1.0).unwrap();
        assert!((depth_m - 0.15).abs() < 1e-12 && from == Point::new(-2.15, 0.05), "{depth_m} {from:?}");
        assert_eq!(at, Point::new(-2.0, 0.05));
        // Moved out by that depth it only touches; by a little less it still overlaps.
        let moved = |by: f64| post.iter().map(|p| Point::new(p.x - by, p.y)).collect::<Vec<_>>();
        assert_eq!(deepest(&body, &moved(0.150_001), 1.0), None);
        assert!(deepest(&body, &moved(0.149), 1.0).is_some());
        // Mirrored, the same.
        let mirrored = |ring: &[Point]| ring.iter().rev().map(|p| Point::new(-p.x, p.y)).collect::<Vec<_>>();
        let (again_m, ..) = deepest(&mirrored(&body), &mirrored(&post), -1.0).unwrap();
        assert_eq!(again_m, depth_m);
        // Beside it, or wholly beyond it.
        assert_eq!(deepest(&ring(&[(-1.9, 0.0), (0.0, -1.0), (0.0, 1.0)]), &post, 1.0), None);
        assert_eq!(deepest(&ring(&[(-4.0, -0.5), (-3.0, 0.0), (-4.0, 0.5)]), &post, 1.0), None);
        assert_eq!(deepest(&ring(&[(-2.1, 0.3), (0.0, 0.2), (0.0, 1.0)]), &post, 1.0), None);
    }
}
