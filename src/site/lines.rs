//! Operations on rings and lines for the reader of plans: self-intersection, nearest point, offset line, and the strip
//! covered by a line with a width.
use super::Ground;
use crate::geometry::polyline::segments;
use crate::geometry::{Outline, Point, Shape, trig};
use geo::kernels::{Kernel, RobustKernel};
use geo::{BooleanOps, Contains, Orientation};

/// Distance below which points are one point: a tenth of a millimeter, finer than any survey.
pub(super) const SAME_POINT_M: f64 = 1e-4;

/// Largest deviation of a rounded corner from the arc: a millimeter, finer than a painted edge.
const ARC_ERROR_M: f64 = 1e-3;

/// Angle from which bends are rounded; gentler ones get a plain corner. At 45 degrees a corner reaches 8 % of half the
/// width beyond the arc, and a road drawn with bends under 45 degrees means a smooth curve.
const ROUND_FROM_RAD: f64 = std::f64::consts::FRAC_PI_4;

fn side(a: Point, b: Point, c: Point) -> Orientation {
    RobustKernel::orient2d(a.into(), b.into(), c.into())
}

/// True if two segments share a point, decided exactly.
pub(super) fn segments_meet(a: Point, b: Point, c: Point, d: Point) -> bool {
    let apart = |p: f64, q: f64, r: f64, s: f64| p.max(q) < r.min(s) || r.max(s) < p.min(q);
    if apart(a.x, b.x, c.x, d.x) || apart(a.y, b.y, c.y, d.y) {
        return false;
    }
    let splits =
        |s: Orientation, t: Orientation| s == Orientation::Collinear || t == Orientation::Collinear || s != t;
    // With the boxes overlapping, collinear segments overlap too.
    splits(side(a, b, c), side(a, b, d)) && splits(side(c, d, a), side(c, d, b))
}

/// True if two segments cross in a point inside both.
pub(super) fn segments_cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let splits =
        |s: Orientation, t: Orientation| s != Orientation::Collinear && t != Orientation::Collinear && s != t;
    splits(side(a, b, c), side(a, b, d)) && splits(side(c, d, a), side(c, d, b))
}

/// Pairs of edges (each by its first corner) where a ring meets itself other than at the corner they share, at
/// most `limit`; an edge is named once, with the first edge it meets.
pub(super) fn self_meetings(ring: &[Point], limit: usize) -> Vec<(usize, usize)> {
    let n = ring.len();
    let edge = |i: usize| (ring[i], ring[(i + 1) % n]);
    let span = |i: usize| {
        let (a, b) = edge(i);
        (a.x.min(b.x), a.x.max(b.x))
    };
    // Sweep from west to east: an edge is compared with those that begin before it ends.
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|i, j| span(*i).0.total_cmp(&span(*j).0));
    let mut first_met = vec![usize::MAX; n];
    for (k, one) in order.iter().enumerate() {
        let east = span(*one).1;
        for other in order[k + 1..].iter().take_while(|other| span(**other).0 <= east) {
            let (i, j) = (*one.min(other), *one.max(other));
            let ((a, b), (c, d)) = (edge(i), edge(j));
            let meets = if j == i + 1 {
                // Neighbors share a corner; they may not fold back on each other.
                side(a, b, d) == Orientation::Collinear && (b - a).dot(d - c) < 0.0
            } else if i == 0 && j == n - 1 {
                side(c, d, b) == Orientation::Collinear && (d - c).dot(b - a) < 0.0
            } else {
                segments_meet(a, b, c, d)
            };
            if meets {
                first_met[i] = first_met[i].min(j);
            }
        }
    }
    first_met.into_iter().enumerate().filter(|(_, j)| *j != usize::MAX).take(limit).collect()
}

/// Distance along a ray to the first edge it meets; edges through its start do not count.
pub(super) fn reach(edges: &[(Point, Point)], from: Point, direction: Point) -> Option<f64> {
    edges
        .iter()
        .filter_map(|(a, b)| {
            let (edge, to) = (*b - *a, *a - from);
            let turn = direction.cross(edge);
            if turn.abs() < 1e-12 {
                return None;
            }
            let (far, part) = (to.cross(edge) / turn, to.cross(direction) / turn);
            (far > 1e-6 && (-1e-12..=1.0 + 1e-12).contains(&part)).then_some(far)
        })
        .min_by(f64::total_cmp)
}

/// Converts a ground to a polygon of `geo`.
pub(super) fn polygon(ground: &Ground) -> geo_types::Polygon<f64> {
    let ring =
        |o: &Outline| o.0.iter().map(|p| geo_types::Coord::from(*p)).collect::<geo_types::LineString<f64>>();
    geo_types::Polygon::new(ring(&ground.outer), ground.holes.iter().map(ring).collect())
}

/// True if a point is on a ground, its edge excluded.
pub(crate) fn covers(ground: &Ground, p: Point) -> bool {
    polygon(ground).contains(&geo_types::Point::new(p.x, p.y))
}

/// Offset of a line by a constant distance to the left (to the right if negative): each segment is shifted and
/// neighbors are joined where they meet. At bends over 120 degrees, where that point runs away, the corner is shifted
/// by at most twice the distance.
pub(crate) fn beside(line: &[Point], left_m: f64) -> Vec<Point> {
    let directions: Vec<Point> = segments(line).map(|(a, b)| (b - a).unit().unwrap_or_default()).collect();
    let (Some(first), Some(last)) = (directions.first(), directions.last()) else { return line.to_vec() };
    line.iter()
        .enumerate()
        .map(|(i, p)| {
            let before = if i == 0 { first } else { &directions[i - 1] };
            let after = directions.get(i).unwrap_or(last);
            // Half the sum of the two normals, stretched so that its part along either normal is 1.
            let bisector = (before.left() + after.left()) * 0.5;
            *p + bisector * (left_m / bisector.norm2().max(0.25))
        })
        .collect()
}

/// Strip of a width about a line, with square ends; bends over 45 degrees are rounded on the outside.
pub(crate) fn strip(line: &[Point], width_m: f64) -> Ground {
    let half = width_m / 2.0;
    let mut ring = edge_of_strip(line, half);
    let backward: Vec<Point> = line.iter().rev().copied().collect();
    ring.extend(edge_of_strip(&backward, half));
    // Left edge first runs clockwise; the right edge is the left edge of the reversed line.
    let outer = Outline(ring).counterclockwise();
    if self_meetings(&outer.0, 1).is_empty() {
        return Ground { label: String::new(), outer, holes: Vec::new() };
    }
    // A bend tighter than the road is wide: assemble the strip from its pieces.
    let pieces = wall(line, width_m).into_iter().map(|shape| {
        let outline = if shape.outer.0.len() == 1 { disc(shape.outer.0[0], half) } else { shape.outer };
        polygon(&Ground { label: String::new(), outer: outline, holes: Vec::new() })
    });
    let union = pieces.map(|p| geo_types::MultiPolygon::new(vec![p])).reduce(|a, b| a.union(&b));
    let largest = union.into_iter().flatten().max_by(|a, b| {
        use geo::Area;
        a.unsigned_area().total_cmp(&b.unsigned_area())
    });
    largest.map_or_else(Ground::default, |p| from_polygon(&p))
}

/// Half of [`strip`]: the part of it between the line and its left edge. `None` if a bend is tighter than the strip is
/// wide.
pub(crate) fn left_half_of_strip(line: &[Point], width_m: f64) -> Option<Outline> {
    let mut ring = edge_of_strip(line, width_m / 2.0);
    ring.extend(line.iter().rev());
    let outline = Outline(ring).counterclockwise();
    self_meetings(&outline.0, 1).is_empty().then_some(outline)
}

/// Parts of a ground that lie in an outline.
pub(crate) fn within(ground: &Ground, outline: &Outline) -> Vec<Ground> {
    let outline = Ground { label: String::new(), outer: outline.clone(), holes: Vec::new() };
    polygon(ground).intersection(&polygon(&outline)).iter().map(from_polygon).collect()
}

fn from_polygon(p: &geo_types::Polygon<f64>) -> Ground {
    let outline = |ring: &geo_types::LineString<f64>| {
        let points = ring.0.iter().take(ring.0.len().saturating_sub(1));
        Outline(points.map(|c| Point::from(*c)).collect()).counterclockwise()
    };
    Ground {
        label: String::new(),
        outer: outline(p.exterior()),
        holes: p.interiors().iter().map(outline).collect(),
    }
}

/// Left edge of a strip in the line's direction.
fn edge_of_strip(line: &[Point], half: f64) -> Vec<Point> {
    let plain = beside(line, half);
    let mut edge = Vec::with_capacity(plain.len());
    for (i, corner) in plain.iter().enumerate() {
        if i == 0 || i + 1 == plain.len() {
            edge.push(*corner);
            continue;
        }
        let (before, after) = (line[i] - line[i - 1], line[i + 1] - line[i]);
        let turn = trig::atan2(before.cross(after), before.dot(after));
        // A turn to the right has its outside on the left.
        if turn < -ROUND_FROM_RAD {
            let from = before.left().angle();
            let steps = arc_steps(half, -turn);
            for k in 0..=steps {
                edge.push(line[i] + Point::at_angle(from + turn * f64::from(k) / f64::from(steps)) * half);
            }
        } else {
            edge.push(*corner);
        }
    }
    edge
}

/// Number of chords of an arc such that none deviates more than [`ARC_ERROR_M`] from it.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and 720")]
fn arc_steps(radius_m: f64, turn_rad: f64) -> u32 {
    let chord = 2.0 * trig::acos((1.0 - ARC_ERROR_M / radius_m.max(ARC_ERROR_M)).max(0.0));
    (turn_rad / chord.max(1e-3)).ceil().clamp(1.0, 720.0) as u32
}

fn disc(center: Point, radius_m: f64) -> Outline {
    let steps = arc_steps(radius_m, std::f64::consts::TAU).max(8);
    let angle = |k: u32| std::f64::consts::TAU * f64::from(k) / f64::from(steps);
    Outline((0..steps).map(|k| center + Point::at_angle(angle(k)) * radius_m).collect())
}

/// Footprint of a wall of a thickness about a line: a quad for each segment, cut square at the ends, and a disc at each
/// bend.
pub(crate) fn wall(line: &[Point], thickness_m: f64) -> Vec<Shape> {
    let half = thickness_m / 2.0;
    let closed = line.len() > 3 && line[0] == line[line.len() - 1];
    let mut shapes = Vec::new();
    for (a, b) in segments(line) {
        let Some(across) = (b - a).unit().map(|d| d.left() * half) else { continue };
        let outer = Outline(vec![a - across, b - across, b + across, a + across]);
        shapes.push(Shape { outer, holes: Vec::new(), radius_m: 0.0 });
    }
    let bends =
        if closed { &line[1..] } else { line.get(1..line.len().saturating_sub(1)).unwrap_or_default() };
    shapes.extend(bends.iter().map(|p| Shape {
        outer: Outline(vec![*p]),
        holes: Vec::new(),
        radius_m: half,
    }));
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|(x, y)| Point::new(*x, *y)).collect()
    }

    #[test]
    fn a_bow_tie_meets_itself_once() {
        let bow_tie = points(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)]);
        assert_eq!(self_meetings(&bow_tie, 5), vec![(0, 2)]);
        assert!(self_meetings(&points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]), 5).is_empty());
    }

    #[test]
    fn a_spike_meets_itself() {
        let spike = points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (4.0, 2.0), (0.0, 2.0)]);
        assert_eq!(self_meetings(&spike, 5), vec![(1, 2)]);
    }

    #[test]
    fn the_line_beside_a_bend_keeps_its_distance() {
        let line = points(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]);
        assert_eq!(beside(&line, 2.0), points(&[(0.0, 2.0), (8.0, 2.0), (8.0, 10.0)]));
        assert_eq!(beside(&line, -2.0), points(&[(0.0, -2.0), (12.0, -2.0), (12.0, 10.0)]));
    }

    #[test]
    fn a_strip_has_the_area_of_its_parts() {
        // Two legs of 10 m, 2 m wide, and a square bend: 40 m² less the square counted twice, plus the outside of
        // the bend: a quarter disc instead of the quad's corner.
        let line = points(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)]);
        let expected = 40.0 - 1.0 + std::f64::consts::FRAC_PI_4;
        let area = strip(&line, 2.0).outer.signed_area();
        assert!((area - expected).abs() < 2e-3, "{area} {expected}");
    }

    #[test]
    fn a_hairpin_is_put_together_from_pieces() {
        // Legs a meter apart, two meters wide: the inner edges overlap.
        let line = points(&[(0.0, 0.0), (10.0, 0.0), (10.0, 1.0), (0.0, 1.0)]);
        let ground = strip(&line, 2.0);
        assert!(self_meetings(&ground.outer.0, 1).is_empty());
        for (x, y, inside) in [(5.0, 0.5, true), (5.0, 1.9, true), (5.0, 2.1, false), (10.9, 0.5, true)] {
            assert_eq!(covers(&ground, Point::new(x, y)), inside, "{x} {y}");
        }
    }
}
