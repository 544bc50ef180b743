//! Splits an outline into convex parts: ears are cut off one by one (Meisters 1975, "Polygons have ears"), then
//! triangles are joined again wherever the joint is convex (Hertel and Mehlhorn 1983: at most four times the fewest
//! parts possible). Outlines here have a dozen corners, so plain loops do.
use crate::geometry::{Outline, Point};

/// Corners nearer than this to a line count as on it: a hundredth of a millimeter, finer than any tape.
const ON_LINE_M: f64 = 1e-5;

/// The reason an outline cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum OutlineError {
    /// Fewer than three corners.
    #[error("has {0} corners; an outline needs at least 3")]
    TooFew(usize),
    /// More corners than any vehicle needs.
    #[error("has {0} corners; give at most {max}", max = MAX_CORNERS)]
    TooMany(usize),
    /// Two corners at the same place.
    #[error(
        "corners {0} and {1} are in the same place; give each corner once, without repeating the first at the end"
    )]
    Repeated(usize, usize),
    /// Two edges cross or touch.
    #[error(
        "the edge after corner {0} crosses or touches the edge after corner {1}; go round the outline once, corner by corner"
    )]
    Crossing(usize, usize),
}

/// The most corners an outline may have.
pub const MAX_CORNERS: usize = 200;

/// Convex, counterclockwise parts that together cover exactly the outline, which may turn either way. Corners in
/// the errors count from 0.
///
/// ```
/// use wideenough::geometry::{Outline, Point};
/// use wideenough::vehicle::convex_parts;
/// let l = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (1.0, 3.0), (0.0, 3.0)];
/// let parts = convex_parts(&Outline(l.map(|(x, y)| Point::new(x, y)).to_vec())).unwrap();
/// assert_eq!(parts.len(), 2); // an L is two rectangles (or as good)
/// let area: f64 = parts.iter().map(Outline::signed_area).sum();
/// assert!((area - 4.0).abs() < 1e-12); // 2 x 1 and 1 x 2
/// ```
///
/// # Errors
/// An [`OutlineError`] if the ring is not simple.
pub fn convex_parts(outline: &Outline) -> Result<Vec<Outline>, OutlineError> {
    check(&outline.0)?;
    let ring = outline.clone().counterclockwise();
    if ring.is_convex() {
        return Ok(vec![ring]);
    }
    let mut parts = triangles(&ring.0);
    join(&mut parts, &ring.0);
    Ok(parts.into_iter().map(|part| Outline(part.into_iter().map(|i| ring.0[i]).collect())).collect())
}

fn check(ring: &[Point]) -> Result<(), OutlineError> {
    let n = ring.len();
    if n < 3 {
        return Err(OutlineError::TooFew(n));
    }
    if n > MAX_CORNERS {
        return Err(OutlineError::TooMany(n));
    }
    for i in 0..n {
        for j in i + 1..n {
            if ring[i].distance(ring[j]) < ON_LINE_M {
                return Err(OutlineError::Repeated(i, j));
            }
        }
    }
    for i in 0..n {
        for j in i + 1..n {
            let (a, b, c, d) = (ring[i], ring[(i + 1) % n], ring[j], ring[(j + 1) % n]);
            let touching = if j == i + 1 {
                near_edge(d, a, b)
            } else if (j + 1) % n == i {
                near_edge(b, c, d) || near_edge(c, a, b)
            } else {
                near_edge(a, c, d)
                    || near_edge(b, c, d)
                    || near_edge(c, a, b)
                    || near_edge(d, a, b)
                    || crossing(a, b, c, d)
            };
            if touching {
                return Err(OutlineError::Crossing(i, j));
            }
        }
    }
    Ok(())
}

fn near_edge(p: Point, a: Point, b: Point) -> bool {
    let d = b - a;
    let t = ((p - a).dot(d) / d.norm2()).clamp(0.0, 1.0);
    (p - (a + d * t)).norm() < ON_LINE_M
}

fn crossing(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

fn triangles(ring: &[Point]) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..ring.len()).collect();
    let mut out = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let corner = |i: usize| (left[(i + n - 1) % n], left[i], left[(i + 1) % n]);
        let area = |i: usize| {
            let (a, b, c) = corner(i);
            (ring[b] - ring[a]).cross(ring[c] - ring[a])
        };
        let is_ear = |i: usize| {
            let (a, b, c) = corner(i);
            area(i) > 0.0
                && left.iter().filter(|p| ![a, b, c].contains(p)).all(|p| {
                    let p = ring[*p];
                    [(a, b), (b, c), (c, a)]
                        .iter()
                        .any(|(s, e)| (ring[*e] - ring[*s]).cross(p - ring[*s]) < 0.0)
                })
        };
        // A simple ring always has an ear; a corner on a straight line (no area) is dropped when rounding hides it.
        let cut = (0..n).find(|i| is_ear(*i)).or_else(|| (0..n).find(|i| area(*i) >= 0.0)).unwrap_or(0);
        let (a, b, c) = corner(cut);
        out.push(vec![a, b, c]);
        left.remove(cut);
    }
    out.push(left);
    out.retain(|t| (ring[t[1]] - ring[t[0]]).cross(ring[t[2]] - ring[t[0]]) > 0.0);
    out
}

/// Joins parts across shared edges for as long as some joint leaves a convex part.
fn join(parts: &mut Vec<Vec<usize>>, ring: &[Point]) {
    'again: loop {
        for i in 0..parts.len() {
            for j in i + 1..parts.len() {
                if let Some(joint) = joined(&parts[i], &parts[j], ring) {
                    parts[i] = joint;
                    parts.remove(j);
                    continue 'again;
                }
            }
        }
        return;
    }
}

fn joined(a: &[usize], b: &[usize], ring: &[Point]) -> Option<Vec<usize>> {
    let (n, m) = (a.len(), b.len());
    for i in 0..n {
        for j in 0..m {
            if a[i] == b[(j + 1) % m] && a[(i + 1) % n] == b[j] {
                // a from the end of the shared edge around to its start, then b's other corners.
                let mut joint: Vec<usize> = (0..n).map(|k| a[(i + 1 + k) % n]).collect();
                joint.extend((0..m - 2).map(|k| b[(j + 2 + k) % m]));
                let outline = Outline(joint.iter().map(|p| ring[*p]).collect());
                return outline.is_convex().then_some(joint);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::{OutlineError, convex_parts};
    use crate::geometry::{Outline, Point};

    fn ring(points: &[(f64, f64)]) -> Outline {
        Outline(points.iter().map(|(x, y)| Point::new(*x, *y)).collect())
    }

    #[test]
    fn parts_are_convex_and_cover_the_same_area() {
        // A comb of three teeth, given clockwise: area 7 x 1 for the back and 3 x 1 x 2 for the teeth.
        let comb = ring(&[
            (0.0, 0.0),
            (0.0, 3.0),
            (1.0, 3.0),
            (1.0, 1.0),
            (3.0, 1.0),
            (3.0, 3.0),
            (4.0, 3.0),
            (4.0, 1.0),
            (6.0, 1.0),
            (6.0, 3.0),
            (7.0, 3.0),
            (7.0, 0.0),
        ]);
        let parts = convex_parts(&comb).unwrap();
        assert!(parts.iter().all(Outline::is_convex));
        assert!((parts.iter().map(Outline::signed_area).sum::<f64>() - 13.0).abs() < 1e-12);
        assert!(parts.len() <= 6, "{} parts", parts.len());
    }

    #[test]
    fn faults() {
        assert_eq!(convex_parts(&ring(&[(0.0, 0.0), (1.0, 0.0)])), Err(OutlineError::TooFew(2)));
        let closed = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.0)];
        assert_eq!(convex_parts(&ring(&closed)), Err(OutlineError::Repeated(0, 3)));
        let bow_tie = [(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0)];
        assert_eq!(convex_parts(&ring(&bow_tie)), Err(OutlineError::Crossing(0, 2)));
        let flat = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)];
        assert!(matches!(convex_parts(&ring(&flat)), Err(OutlineError::Crossing(..))));
    }
}
