//! Distances between convex outlines, and the reach of an outline along a band.
//!
//! An outline here is a slice of corners, counterclockwise; one corner is a point and two are a segment. These are the
//! innermost loops of every study, so they work on slices and allocate nothing.
use super::Point;

/// The nearest pair of points of two outlines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nearest {
    /// Distance between them, meters; 0 when the outlines touch or overlap.
    pub distance_m: f64,
    /// The point on the first outline.
    pub on_first: Point,
    /// The point on the second outline.
    pub on_second: Point,
}

/// The point of the segment `a`-`b` nearest to `p`.
#[must_use]
pub fn nearest_on_segment(p: Point, a: Point, b: Point) -> Point {
    let along = b - a;
    let length2 = along.norm2();
    if length2 <= 0.0 {
        return a;
    }
    a + along * ((p - a).dot(along) / length2).clamp(0.0, 1.0)
}

/// Intersection of the line through `from` along `toward` with a segment: the distance along the line in lengths of
/// `toward`, negative behind `from`, and the share along the segment. `None` where the segment does not reach the line or
/// is parallel to it.
///
/// ```
/// use wideenough::geometry::{Point, distance::crossing};
/// let segment = (Point::new(3.0, -1.0), Point::new(3.0, 3.0));
/// assert_eq!(crossing(Point::default(), Point::new(2.0, 0.0), segment), Some((1.5, 0.25)));
/// ```
#[must_use]
pub fn crossing(from: Point, toward: Point, (a, b): (Point, Point)) -> Option<(f64, f64)> {
    let edge = b - a;
    let turn = toward.cross(edge);
    if turn == 0.0 {
        return None;
    }
    let (t, u) = ((a - from).cross(edge) / turn, (a - from).cross(toward) / turn);
    (0.0..=1.0).contains(&u).then_some((t, u))
}

/// Widest gap that a line parallel to an edge of either convex outline leaves between them. Negative when they overlap;
/// its size is then how far one must be moved to part them.
///
/// Positive exactly when the outlines are apart (separating axes; at least one of them must have an inside). It is at
/// most the distance, and equals it unless two corners face each other.
///
/// ```
/// use wideenough::geometry::{Point, distance::separation};
/// let square = [Point::new(0.0, 0.0), Point::new(1.0, 0.0), Point::new(1.0, 1.0), Point::new(0.0, 1.0)];
/// let post = [Point::new(1.25, 0.5)];
/// assert!((separation(&square, &post) - 0.25).abs() < 1e-15);
/// ```
#[must_use]
pub fn separation(a: &[Point], b: &[Point]) -> f64 {
    one_sided(a, b).max(one_sided(b, a))
}

/// The widest gap beyond an edge line of `a`.
fn one_sided(a: &[Point], b: &[Point]) -> f64 {
    let mut widest = f64::NEG_INFINITY;
    let n = a.len();
    if n < 2 {
        return widest;
    }
    let mut p = a[n - 1];
    for &q in a {
        let edge = q - p;
        let length = edge.norm();
        if length > 0.0 {
            let outward = -edge.left() * (1.0 / length);
            let mut nearest = f64::INFINITY;
            for &c in b {
                nearest = nearest.min((c - p).dot(outward));
            }
            widest = widest.max(nearest);
        }
        p = q;
    }
    widest
}

/// The nearest points of two convex outlines, at least one of which has an inside.
///
/// ```
/// use wideenough::geometry::{Point, distance::nearest_convex};
/// let square = [Point::new(0.0, 0.0), Point::new(1.0, 0.0), Point::new(1.0, 1.0), Point::new(0.0, 1.0)];
/// let post = [Point::new(4.0, 5.0)];
/// assert!((nearest_convex(&square, &post).distance_m - 5.0).abs() < 1e-15);
/// ```
#[must_use]
pub fn nearest_convex(a: &[Point], b: &[Point]) -> Nearest {
    let mut best =
        Nearest { distance_m: f64::INFINITY, on_first: Point::default(), on_second: Point::default() };
    for_edges(b, |from, to| {
        for &p in a {
            let q = nearest_on_segment(p, from, to);
            let distance_m = p.distance(q);
            if distance_m < best.distance_m {
                best = Nearest { distance_m, on_first: p, on_second: q };
            }
        }
    });
    for_edges(a, |from, to| {
        for &q in b {
            let p = nearest_on_segment(q, from, to);
            let distance_m = p.distance(q);
            if distance_m < best.distance_m {
                best = Nearest { distance_m, on_first: p, on_second: q };
            }
        }
    });
    if separation(a, b) <= 0.0 {
        best.distance_m = 0.0;
    }
    best
}

/// The index after `i`, cyclic over `n`.
const fn next(i: usize, n: usize) -> usize {
    if i + 1 < n { i + 1 } else { 0 }
}

/// The lesser of two numbers, neither of them NaN: one instruction, where [`f64::min`] also tests for NaN.
pub(crate) const fn lesser(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// The greater of two, likewise.
pub(crate) const fn greater(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

fn for_edges(outline: &[Point], mut each: impl FnMut(Point, Point)) {
    let n = outline.len();
    for i in 0..n {
        each(outline[i], outline[next(i, n)]);
    }
}

/// True if a point lies inside (or on the edge of) a simple ring, by counting crossings; works for either winding.
#[must_use]
pub fn ring_contains(ring: &[Point], p: Point) -> bool {
    let n = ring.len();
    let mut inside = false;
    let mut j = n.wrapping_sub(1);
    for i in 0..n {
        let (a, b) = (ring[i], ring[j]);
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            inside = !inside;
        }
        j = i;
    }
    inside
}

/// Reach in x of a convex outline grown by `grow_m` over the band `low ≤ y ≤ high`: (least x, largest x), or `None`
/// when it does not meet the band.
///
/// Exact for the rounded outline: its edge is the outline's edges moved out by `grow_m`, and arcs about its corners.
///
/// ```
/// use wideenough::geometry::{Point, distance::reach_in_band};
/// let square = [Point::new(0.0, 0.0), Point::new(1.0, 0.0), Point::new(1.0, 1.0), Point::new(0.0, 1.0)];
/// assert_eq!(reach_in_band(&square, 0.0, 0.25, 0.5), Some((0.0, 1.0)));
/// // Grown by 0.5, at 0.3 below the square only the corner arcs reach: sqrt(0.25 - 0.09) = 0.4 beyond the corners.
/// let (low, high) = reach_in_band(&square, 0.5, -0.3, -0.3).unwrap();
/// assert!((low + 0.4).abs() < 1e-12 && (high - 1.4).abs() < 1e-12);
/// ```
#[must_use]
pub fn reach_in_band(outline: &[Point], grow_m: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    let mut least = f64::INFINITY;
    let mut most = f64::NEG_INFINITY;
    let n = outline.len();
    for i in 0..n {
        let p = outline[i];
        // The corner's own level, if the band holds it, else the band's edges its disc reaches.
        if p.y >= low && p.y <= high {
            least = lesser(least, p.x - grow_m);
            most = greater(most, p.x + grow_m);
        } else if grow_m > 0.0 {
            let off = if p.y < low { low - p.y } else { p.y - high };
            if off < grow_m {
                let half = (grow_m * grow_m - off * off).sqrt();
                least = lesser(least, p.x - half);
                most = greater(most, p.x + half);
            }
        }
        let q = outline[next(i, n)];
        let edge = q - p;
        if edge.y == 0.0 {
            continue;
        }
        // The edge moved out by `grow_m` meets each of the band's edges at most once, and only if it reaches that far:
        // most edges are ruled out without a root or a division.
        let (lowest, highest) = (lesser(p.y, q.y) - grow_m, greater(p.y, q.y) + grow_m);
        let meets = |level: f64| lowest <= level && level <= highest;
        if !meets(low) && !meets(high) {
            continue;
        }
        let shift = if grow_m > 0.0 {
            let length = edge.norm();
            Point::new(edge.y, -edge.x) * (grow_m / length)
        } else {
            Point::default()
        };
        for level in [low, high].into_iter().filter(|level| meets(*level)) {
            let t = (level - p.y - shift.y) / edge.y;
            if (0.0..=1.0).contains(&t) {
                let x = p.x + shift.x + edge.x * t;
                least = lesser(least, x);
                most = greater(most, x);
            }
        }
    }
    (least <= most).then_some((least, most))
}

/// The shifts f along x for which `piece` moved by (f, 0) comes within `grow_m` of `body`, both convex: an interval, or
/// `None` when no shift does.
///
/// The reach over the line y = 0 of the Minkowski difference of the two.
///
/// ```
/// use wideenough::geometry::{Point, distance::touching_shifts};
/// let body = [Point::new(3.0, 0.0), Point::new(5.0, 0.0), Point::new(5.0, 2.0), Point::new(3.0, 2.0)];
/// let leaf = [Point::new(0.0, 1.0), Point::new(1.0, 1.0), Point::new(1.0, 4.0), Point::new(0.0, 4.0)];
/// assert_eq!(touching_shifts(&body, &leaf, 0.0), Some((2.0, 5.0)));
/// ```
#[must_use]
pub fn touching_shifts(body: &[Point], piece: &[Point], grow_m: f64) -> Option<(f64, f64)> {
    let (n, m) = (body.len(), piece.len());
    if n == 0 || m == 0 {
        return None;
    }
    // The difference's edges are those of both (the piece's rotated by half a turn), in order of their angle: a merge,
    // starting from the lowest corner of each.
    let mut buffer = [Point::default(); DIFFERENCE_CORNERS];
    let mut heap = Vec::new();
    let difference = if n + m <= DIFFERENCE_CORNERS {
        &mut buffer[..n + m]
    } else {
        heap.resize(n + m, Point::default());
        &mut heap[..]
    };
    let lower = |a: Point, b: Point| a.y < b.y || (a.y == b.y && a.x < b.x);
    let (mut i, mut j) = (0, 0);
    for k in 1..n {
        if lower(body[k], body[i]) {
            i = k;
        }
    }
    for k in 1..m {
        if lower(-piece[k], -piece[j]) {
            j = k;
        }
    }
    let (mut used_i, mut used_j) = (0, 0);
    for corner in difference.iter_mut() {
        *corner = body[i] - piece[j];
        let along_body = body[next(i, n)] - body[i];
        let along_piece = piece[j] - piece[next(j, m)];
        let body_next = used_j == m || (used_i < n && along_body.cross(along_piece) >= 0.0);
        if body_next {
            i = next(i, n);
            used_i += 1;
        } else {
            j = next(j, m);
            used_j += 1;
        }
    }
    reach_in_band(difference, grow_m, 0.0, 0.0)
}

/// Corners of a Minkowski difference kept on the stack: a body of a dozen corners and a leaf.
const DIFFERENCE_CORNERS: usize = 24;

/// The convex hull of points, counterclockwise, into `hull` (Andrew's monotone chain). Sorts `points`.
pub fn convex_hull(points: &mut [Point], hull: &mut Vec<Point>) {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    hull.clear();
    let turn = |a: Point, b: Point, c: Point| (b - a).cross(c - b);
    for pass in 0..2 {
        let floor = hull.len();
        let n = points.len();
        for i in 0..n {
            let p = if pass == 0 { points[i] } else { points[n - 1 - i] };
            while hull.len() >= floor + 2 && turn(hull[hull.len() - 2], hull[hull.len() - 1], p) <= 0.0 {
                hull.pop();
            }
            hull.push(p);
        }
        hull.pop();
    }
    if hull.is_empty() {
        hull.extend(points.first());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn quad() -> impl Strategy<Value = Vec<Point>> {
        (-3.0..3.0f64, -3.0..3.0f64, 0.2..4.0f64, 0.2..2.0f64, 0.0..6.3f64).prop_map(|(x, y, l, w, turn)| {
            let pose = super::super::Pose::new(x, y, turn);
            [(-l, -w), (l, -w), (l, w), (-l, w)].map(|(a, b)| pose.to_site(Point::new(a, b))).to_vec()
        })
    }

    proptest! {
        /// The band's reach against dense sampling of the rounded outline's edge.
        #[test]
        fn reach_agrees_with_sampling(q in quad(), grow in 0.0..0.8f64, low in -2.0..2.0f64, depth in 0.0..1.0f64) {
            let high = low + depth;
            let exact = reach_in_band(&q, grow, low, high);
            let mut seen: Option<(f64, f64)> = None;
            for i in 0..=400 {
                let y = low + depth * f64::from(i) / 400.0;
                for j in 0..4 {
                    for k in 0..=200 {
                        let t = f64::from(k) / 200.0;
                        let p = q[j] * (1.0 - t) + q[(j + 1) % 4] * t;
                        let off = y - p.y;
                        if off.abs() <= grow {
                            let half = (grow * grow - off * off).sqrt();
                            let (a, b) = seen.unwrap_or((f64::INFINITY, f64::NEG_INFINITY));
                            seen = Some((a.min(p.x - half), b.max(p.x + half)));
                        }
                    }
                }
                if depth == 0.0 { break; }
            }
            if let Some((a, b)) = seen {
                let (least, most) = exact.expect("sampling met the band");
                prop_assert!(least <= a + 1e-9 && most >= b - 1e-9);
                prop_assert!(grow < 0.1 || (a - least < 0.12 && most - b < 0.12), "{least} {a} {most} {b}");
            }
        }

        /// Touching shifts of a bare segment (the path of a corner) against a leaf.
        #[test]
        fn shifts_of_a_segment(a in quad(), b in quad()) {
            let chord = [a[0], a[2]];
            let swapped = [a[2], a[0]];
            prop_assert_eq!(touching_shifts(&chord, &b, 0.0).is_some(), touching_shifts(&swapped, &b, 0.0).is_some());
            if let Some((low, high)) = touching_shifts(&chord, &b, 0.0) {
                for f in [low, high] {
                    let moved: Vec<Point> = b.iter().map(|p| *p + Point::new(f, 0.0)).collect();
                    prop_assert!(nearest_convex(&moved, &chord).distance_m < 1e-9);
                }
            }
        }

        /// Touching shifts: at either end of the interval the distance is exactly the growth.
        #[test]
        fn shifts_end_at_the_growth(a in quad(), b in quad(), grow in 0.05..0.5f64) {
            if let Some((low, high)) = touching_shifts(&a, &b, grow) {
                for f in [low, high] {
                    let moved: Vec<Point> = b.iter().map(|p| *p + Point::new(f, 0.0)).collect();
                    let gap = nearest_convex(&a, &moved).distance_m;
                    prop_assert!((gap - grow).abs() < 1e-9, "{gap} {grow}");
                }
            }
        }

        /// The separation never exceeds the distance, and both agree on touching.
        #[test]
        fn separation_is_a_lower_bound(a in quad(), b in quad()) {
            let s = separation(&a, &b);
            let d = nearest_convex(&a, &b).distance_m;
            prop_assert!(s <= d + 1e-12);
            prop_assert_eq!(s > 0.0, d > 0.0);
        }
    }

    #[test]
    fn hull_of_a_square_with_inner_points() {
        let mut points = vec![
            Point::new(0.0, 0.0),
            Point::new(2.0, 0.0),
            Point::new(1.0, 1.0),
            Point::new(2.0, 2.0),
            Point::new(0.0, 2.0),
            Point::new(1.0, 0.0),
        ];
        let mut hull = Vec::new();
        convex_hull(&mut points, &mut hull);
        assert_eq!(hull.len(), 4);
        assert!(ring_contains(&hull, Point::new(1.0, 1.5)) && !ring_contains(&hull, Point::new(2.5, 1.0)));
    }
}
