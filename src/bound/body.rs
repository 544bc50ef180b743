//! Guaranteed coverage: the ground that a vehicle covers at every heading of a bin.
//!
//! A part turned by any angle between two covers the intersection of the part turned by each. For an edge whose line is
//! d from the axle, all its turned half-planes hold where the two outermost hold at d·cos(half the angle between them):
//! within the arc the outermost point is then at most d away. For a line the axle is beyond (d ≤ 0) the two outermost
//! hold for all. So the result is a little smaller than that intersection (by d·angle²/8), never larger.
use crate::geometry::{Point, trig};

/// Convex outline that a part covers at every heading from `angles.0` to `angles.1`; empty when there is none.
#[must_use]
pub fn covered(corners: &[Point], angles: (f64, f64)) -> Vec<Point> {
    let ends = [Point::at_angle(angles.0), Point::at_angle(angles.1)];
    let shrink = trig::cos(0.5 * (angles.1 - angles.0));
    let mut outline: Vec<Point> = corners.iter().map(|p| turned(*p, ends[0])).collect();
    let mut next = Vec::with_capacity(2 * corners.len());
    for (i, &a) in corners.iter().enumerate() {
        let Some(along) = (corners[(i + 1) % corners.len()] - a).unit() else { continue };
        let outward = -along.left();
        let reach = a.dot(outward);
        let reach = if reach > 0.0 { reach * shrink } else { reach };
        for end in ends {
            clip(&outline, turned(outward, end), reach, &mut next);
            std::mem::swap(&mut outline, &mut next);
            if outline.len() < 3 {
                return Vec::new();
            }
        }
    }
    outline
}

/// As [`covered`] over any range of angles, however wide: the intersection of its results over narrow ones.
#[must_use]
pub fn covered_over(corners: &[Point], angles: (f64, f64)) -> Vec<Point> {
    const NARROW_RAD: f64 = 0.05;
    let pieces = ((angles.1 - angles.0) / NARROW_RAD).ceil().max(1.0);
    let narrow = (angles.1 - angles.0) / pieces;
    let mut common = covered(corners, (angles.0, angles.0 + narrow));
    let mut next = Vec::new();
    let mut i = 1.0;
    while i < pieces {
        let here = covered(corners, (angles.0 + i * narrow, angles.0 + (i + 1.0) * narrow));
        for (j, &a) in here.iter().enumerate() {
            let Some(along) = (here[(j + 1) % here.len()] - a).unit() else { continue };
            let outward = -along.left();
            clip(&common, outward, a.dot(outward), &mut next);
            std::mem::swap(&mut common, &mut next);
        }
        if here.len() < 3 || common.len() < 3 {
            return Vec::new();
        }
        i += 1.0;
    }
    common
}

/// Upper bound on a part's reach along `toward` at every heading from `angles.0` to `angles.1`.
#[must_use]
pub fn farthest(corners: &[Point], angles: (f64, f64), toward: Point) -> f64 {
    let middle = Point::at_angle(0.5 * (angles.0 + angles.1));
    let half = 0.5 * (angles.1 - angles.0);
    let side = toward.left();
    let reach = |p: &Point| {
        let p = turned(*p, middle);
        let (ahead, aside) = (p.dot(toward), p.dot(side));
        // Turning by up to `half` either way moves it ahead by at most this: sin x ≤ x, cos x ≤ 1, 1 - cos x ≤ x²/2.
        ahead + aside.abs() * half + (-ahead).max(0.0) * 0.5 * half * half
    };
    corners.iter().map(reach).fold(f64::NEG_INFINITY, f64::max)
}

/// A point turned to the heading whose unit vector is `to`.
#[must_use]
pub fn turned(p: Point, to: Point) -> Point {
    to * p.x + to.left() * p.y
}

/// The part of a convex outline with `outward`·x ≤ `reach`.
pub(super) fn clip(outline: &[Point], outward: Point, reach: f64, kept: &mut Vec<Point>) {
    kept.clear();
    let n = outline.len();
    for i in 0..n {
        let (p, q) = (outline[i], outline[(i + 1) % n]);
        let (a, b) = (p.dot(outward) - reach, q.dot(outward) - reach);
        if a <= 0.0 {
            push(kept, p);
        }
        if (a < 0.0 && b > 0.0) || (a > 0.0 && b < 0.0) {
            push(kept, p + (q - p) * (a / (a - b)));
        }
    }
    if kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) < 1e-9 {
        kept.pop();
    }
}

fn push(kept: &mut Vec<Point>, p: Point) {
    if kept.last().is_none_or(|last| last.distance(p) >= 1e-9) {
        kept.push(p);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::distance;
    use proptest::prelude::*;

    proptest! {
        /// Every corner of the coverage lies in the part at any heading of the bin; and little is lost.
        #[test]
        fn covered_at_every_heading(
            (x, y, l, w) in (-4.0..4.0f64, -2.0..2.0f64, 0.3..6.0f64, 0.2..2.5f64),
            (from, wide) in (-3.2..3.2f64, 0.001..0.05f64),
            share in 0.0..1.0f64,
        ) {
            let part = [(x, y), (x + l, y), (x + l, y + w), (x, y + w)].map(|(x, y)| Point::new(x, y));
            let kept = covered(&part, (from, from + wide));
            let heading = Point::at_angle(from + share * wide);
            for p in &kept {
                let back = Point::new(p.dot(heading), p.dot(heading.left()));
                prop_assert!(back.x >= x - 1e-9 && back.x <= x + l + 1e-9, "{back:?}");
                prop_assert!(back.y >= y - 1e-9 && back.y <= y + w + 1e-9, "{back:?}");
            }
            // A point of the part that stays in it whichever way it is turned by the bin's width is kept.
            let deep = Point::new(x + 0.5 * l, y + 0.5 * w);
            let room = deep.norm() * wide + 0.01;
            if room < 0.5 * l.min(w) {
                prop_assert!(distance::ring_contains(&kept, turned(deep, heading)));
            }
            // Over a wide range the same holds as at any angle within it.
            let far = Point::at_angle(from + share * 40.0 * wide);
            for p in &covered_over(&part, (from, from + 40.0 * wide)) {
                let back = Point::new(p.dot(far), p.dot(far.left()));
                prop_assert!(back.x >= x - 1e-9 && back.x <= x + l + 1e-9, "{back:?}");
                prop_assert!(back.y >= y - 1e-9 && back.y <= y + w + 1e-9, "{back:?}");
            }
            let toward = Point::at_angle(2.0);
            let reach = part.iter().map(|p| turned(*p, heading).dot(toward)).fold(f64::NEG_INFINITY, f64::max);
            prop_assert!(farthest(&part, (from, from + wide), toward) >= reach - 1e-12);
        }
    }

    /// A triangle at one heading alone is kept whole.
    #[test]
    fn a_triangle_is_kept() {
        let part = [(1.0, 0.0), (3.0, 0.5), (1.5, 2.0)].map(|(x, y)| Point::new(x, y));
        let kept = covered(&part, (0.0, 0.0));
        let near = |p: &Point| kept.iter().any(|q| p.distance(*q) < 1e-9);
        assert!(kept.len() == 3 && part.iter().all(near), "{kept:?}");
    }
}
