//! Center line of a road drawn as an outline: along its middle, through its bends, from end to end.
//!
//! The outline is triangulated (constrained Delaunay triangulation). Edges that two triangles share are chords across the
//! road from side to side, and their midpoints follow its center line (chordal axis).
use super::Ground;
use super::lines::{polygon, reach};
use crate::geometry::polyline::{length, nearest_on, segments};
use crate::geometry::{Outline, Point};
use geo::triangulate_delaunay::DelaunayTriangulationConfig;
use geo::{Simplify, TriangulateDelaunay};
use std::collections::{BTreeMap, BTreeSet};

/// Shorter edges of a road drawn as a polygon are curb returns and bits of curves; its direction is that of a
/// longer one, if there is one.
const ROAD_EDGE_M: f64 = 3.0;
/// A road drawn as a polygon shorter than this many times its width has no clear direction: it is a turnaround.
pub(super) const TURNAROUND_RATIO: f64 = 2.0;
/// Least length of the way between an outline's edge and a hole, in widths, for it to be a road around that hole. Past an island of a
/// 30-m turnaround, 6 m wide, it is 4.4 widths long.
const RING_ROAD_RATIO: f64 = 6.0;
/// Largest distance between vertices of the outline when it is triangulated, in widths of the road: a chord then crosses
/// the road at every quarter of its width.
const SPACING_WIDTHS: f64 = 0.5;
/// Branches shorter than this many widths lead to the corners of a road's end or to a bay, not along another road.
const BRANCH_WIDTHS: f64 = 1.5;
/// The width beside the gate is the median over this many widths to both sides: at a bend a single one is too large.
const NEAR_WIDTHS: f64 = 2.5;
/// Largest distance from the trimmed end of a center line to the end of the road, in widths.
const END_WIDTHS: f64 = 3.0;
/// An edge as long as the road is wide, and with its middle where the line comes out, is the road's end: both to within
/// this share of the width.
const ACROSS_END: f64 = 0.3;
/// Where the outline is this many times as wide as the road it widens to a junction or a bay: the line goes straight
/// across.
const WIDENED: f64 = 1.5;
/// A line that deviates less than this from the middle is as good: people draw no road more finely.
const STRAIGHT_M: f64 = 0.02;
/// Triangles lower than this come from rounding, a hundredth of a millimeter: three places along one edge.
const LEAST_HEIGHT_M: f64 = 1e-5;
/// Most vertices of an outline to be triangulated, including those added along its edges: enough for kilometers of road. A
/// larger one is a map of streets, or a strip without width.
const MOST_CORNERS: f64 = 10_000.0;

/// Center line and width of a road drawn as an outline.
pub(super) struct Middle {
    /// Center line, in the direction of the outline's edge that faces the gate; toward the gate if the road ends there.
    pub(super) line: Vec<Point>,
    /// Width beside the gate.
    pub(super) width_m: f64,
    /// True if other roads branch off within the outline.
    pub(super) branches: bool,
}

/// Finds the center line of a road drawn as an outline, for a gate at this point; `None` if the outline has no usable edge.
pub(super) fn middle(surface: &Ground, gate: Point) -> Option<Middle> {
    let (line, width_m) = straight_middle(surface, gate)?;
    let straight = Middle { line, width_m, branches: false };
    if length(&straight.line) < TURNAROUND_RATIO * width_m {
        return Some(straight);
    }
    Some(followed(surface, gate, &straight).unwrap_or(straight))
}

/// Center line through all bends; `None` if the outline cannot be triangulated or has too many vertices.
fn followed(surface: &Ground, gate: Point, straight: &Middle) -> Option<Middle> {
    let width_m = straight.width_m;
    let mut cut = Triangles::of(surface, SPACING_WIDTHS * width_m)?;
    cut.drop_branches(BRANCH_WIDTHS * width_m);
    let branches = cut.branches();
    // Beside the gate; where the line ends at it, a little up the road.
    let (i, foot) = nearest_on(segments(&straight.line), gate)?;
    let (a, b) = (straight.line[i], straight.line[i + 1]);
    let along = (b - a).unit()?;
    let from_a = (foot - a).dot(along);
    let start = a + along
        * from_a.clamp(width_m.min(0.5 * a.distance(b)), (a.distance(b) - width_m).max(0.5 * a.distance(b)));
    let mut line = without_ends(cut.line_through(start, width_m)?, width_m);
    let edges: Vec<(Point, Point)> = surface.edges().collect();
    let mut widths_m = Vec::new();
    for _ in 0..2 {
        let places = centered(&line, &edges, width_m);
        let near = |p: &Point| p.distance(start) < NEAR_WIDTHS * width_m;
        widths_m = places.iter().filter(|(p, _)| near(p)).map(|(_, width_m)| *width_m).collect();
        line = places.into_iter().map(|(p, _)| p).collect();
    }
    widths_m.sort_by(f64::total_cmp);
    let near_m = *widths_m.get(widths_m.len() / 2)?;
    let line = match opened_opposite(&line, start, width_m) {
        Some(around) => simplified(&around),
        None => simplified(&to_the_ends(line, &edges, width_m)?),
    };
    // Its direction beside the gate decides which way it is drawn.
    let (i, _) = nearest_on(segments(&line), start)?;
    let with = (line[i + 1] - line[i]).dot(along) > 0.0;
    let line: Vec<Point> = if with { line } else { line.into_iter().rev().collect() };
    let same = line.len() == 2 && line.iter().zip(&straight.line).all(|(a, b)| a.distance(*b) < STRAIGHT_M);
    let (line, width_m) = if same { (straight.line.clone(), width_m) } else { (line, near_m) };
    Some(Middle { line, width_m, branches })
}

/// A line that comes back to where it began, as a road around a block does: all around, from the place farthest from the gate
/// back to it. `None` for any other line.
fn opened_opposite(line: &[Point], gate: Point, width_m: f64) -> Option<Vec<Point>> {
    let (first, last) = (*line.first()?, *line.last()?);
    // Near its ends a line is known only to a width or two.
    let gap_m = first.distance(last);
    if gap_m > 4.0 * width_m || length(line) < 4.0 * gap_m.max(4.0 * width_m) {
        return None;
    }
    let mut around = line.to_vec();
    let from =
        (0..around.len()).max_by(|a, b| around[*a].distance(gate).total_cmp(&around[*b].distance(gate)))?;
    around.rotate_left(from);
    around.push(around[0]);
    Some(around)
}

/// Removes one width from both ends of a line: there the chords run to the corners of the road's end.
fn without_ends(mut line: Vec<Point>, width_m: f64) -> Vec<Point> {
    for _ in 0..2 {
        if let Some(tip) = line.last().copied() {
            let kept = line.iter().rposition(|p| p.distance(tip) >= width_m).map_or(0, |last| last + 1);
            line.truncate(kept);
        }
        line.reverse();
    }
    line
}

/// Moves each place of a line to the middle between the edges beside it, and returns it with the width there. Where the
/// outline widens it is left out.
fn centered(line: &[Point], edges: &[(Point, Point)], width_m: f64) -> Vec<(Point, f64)> {
    let mut middle = Vec::with_capacity(line.len());
    for i in 0..line.len() {
        let (before, after) = (line[i.saturating_sub(1)], line[(i + 1).min(line.len() - 1)]);
        let Some(left) = (after - before).unit().map(Point::left) else { continue };
        let sides = reach(edges, line[i], left).zip(reach(edges, line[i], -left));
        if let Some((to_left, to_right)) = sides.filter(|(l, r)| l + r < WIDENED * width_m) {
            middle.push((line[i] + left * (0.5 * (to_left - to_right)), to_left + to_right));
        }
    }
    middle
}

/// Lengthens a line at both ends to the outline: to the middle of the edge that ends the road there or, where that edge is
/// not plain, in the direction the line has over its last stretch of one width.
fn to_the_ends(mut line: Vec<Point>, edges: &[(Point, Point)], width_m: f64) -> Option<Vec<Point>> {
    for _ in 0..2 {
        let tip = *line.last()?;
        let back = *line.iter().rev().find(|p| p.distance(tip) >= width_m)?;
        let along = (tip - back).unit()?;
        if let Some(ahead) = reach(edges, tip, along).filter(|ahead| *ahead < END_WIDTHS * width_m) {
            let hit = tip + along * ahead;
            let middles = edges
                .iter()
                .filter(|(a, b)| (a.distance(*b) - width_m).abs() < ACROSS_END * width_m)
                .map(|(a, b)| (*a + *b) * 0.5);
            let near = middles.filter(|middle| middle.distance(hit) < ACROSS_END * width_m);
            line.push(near.min_by(|a, b| a.distance(hit).total_cmp(&b.distance(hit))).unwrap_or(hit));
        }
        line.reverse();
    }
    Some(line)
}

fn simplified(line: &[Point]) -> Vec<Point> {
    let line: geo_types::LineString<f64> = line.iter().map(|p| geo_types::Coord::from(*p)).collect();
    line.simplify(STRAIGHT_M).0.into_iter().map(Point::from).collect()
}

/// Triangulated outline as a graph: its nodes are triangles, its edges the chords that two of them share.
struct Triangles {
    /// Corners of each triangle.
    corners: Vec<[Point; 3]>,
    /// For each triangle, those beside it, each with the middle of the chord between them.
    beside: Vec<Vec<(usize, Point)>>,
}

impl Triangles {
    fn of(surface: &Ground, spacing_m: f64) -> Option<Self> {
        let rings = std::iter::once(&surface.outer).chain(&surface.holes);
        let corners: f64 = rings.flat_map(Outline::edges).map(|(a, b)| parts(a, b, spacing_m)).sum();
        if corners > MOST_CORNERS {
            return None;
        }
        let finer =
            |ring: &Outline| Outline(ring.edges().flat_map(|(a, b)| pieces(a, b, spacing_m)).collect());
        let outline = Ground {
            label: String::new(),
            outer: finer(&surface.outer),
            holes: surface.holes.iter().map(finer).collect(),
        };
        let triangles =
            polygon(&outline).constrained_triangulation(DelaunayTriangulationConfig::default()).ok()?;
        let corners: Vec<[Point; 3]> =
            triangles.iter().map(|t| t.to_array().map(Point::from)).filter(is_wide).collect();
        let key = |p: Point| (p.x.to_bits(), p.y.to_bits());
        let mut chords: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        for (index, t) in corners.iter().enumerate() {
            for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                let (a, b) = (key(a), key(b));
                chords.entry((a.min(b), a.max(b))).or_default().push(index);
            }
        }
        let mut beside = vec![Vec::new(); corners.len()];
        for ((a, b), both) in chords {
            let [one, other] = both[..] else { continue };
            let at = |(x, y)| Point::new(f64::from_bits(x), f64::from_bits(y));
            let middle = (at(a) + at(b)) * 0.5;
            beside[one].push((other, middle));
            beside[other].push((one, middle));
        }
        Some(Self { corners, beside })
    }

    /// Removes every branch shorter than `least_m`: from a triangle with one neighbor to the first with three.
    fn drop_branches(&mut self, least_m: f64) {
        let ends: Vec<usize> = (0..self.beside.len()).filter(|t| self.beside[*t].len() == 1).collect();
        for end in ends {
            let (next, chord) = self.beside[end][0];
            let tip = self.corners[end].iter().copied().map(|p| p.distance(chord)).fold(0.0, f64::max);
            let (mut long_m, mut at, mut from, mut chord, mut branch) = (tip, next, end, chord, vec![end]);
            // A triangle beside three others is where the branch begins.
            while let (true, Some((next, middle))) =
                (self.beside[at].len() == 2, self.beside[at].iter().find(|(to, _)| *to != from).copied())
            {
                long_m += chord.distance(middle);
                branch.push(at);
                (from, at, chord) = (at, next, middle);
            }
            if self.beside[at].len() == 3 && long_m < least_m {
                self.beside[at].retain(|(to, _)| *to != from);
                for triangle in branch {
                    self.beside[triangle].clear();
                }
            }
        }
    }

    /// True if a triangle has three neighbors: the road forks there.
    fn branches(&self) -> bool {
        self.beside.iter().any(|beside| beside.len() > 2)
    }

    /// The line through the middles of the chords, both ways from the chord nearest to a place: straight on where it
    /// forks.
    fn line_through(&self, start: Point, width_m: f64) -> Option<Vec<Point>> {
        let all =
            self.beside.iter().enumerate().flat_map(|(a, list)| list.iter().map(move |(b, p)| (a, *b, *p)));
        let (a, b, middle) = all.min_by(|x, y| x.2.distance(start).total_cmp(&y.2.distance(start)))?;
        let mut seen = BTreeSet::from([a, b]);
        let mut line = self.walk((b, a), middle, &mut seen, width_m);
        line.reverse();
        line.push(middle);
        line.extend(self.walk((a, b), middle, &mut seen, width_m));
        Some(line)
    }

    /// Middles of the chords from a triangle on, not back to the one it is entered from.
    fn walk(
        &self,
        (from, into): (usize, usize),
        start: Point,
        seen: &mut BTreeSet<usize>,
        width_m: f64,
    ) -> Vec<Point> {
        let (mut from, mut at, mut line) = (from, into, vec![start]);
        loop {
            let here = line[line.len() - 1];
            let back = line.iter().rev().find(|p| p.distance(here) >= width_m).unwrap_or(&line[0]);
            let ahead = (here - *back).unit().unwrap_or_default();
            let ways = self.beside[at].iter().filter(|(to, _)| *to != from && !seen.contains(to));
            let straight = |way: &&(usize, Point)| {
                let far = self.far_along((at, way.0), way.1, width_m);
                (far - here).unit().map_or(-1.0, |along| along.dot(ahead))
            };
            let Some((to, middle)) = ways.max_by(|a, b| straight(a).total_cmp(&straight(b))) else { break };
            seen.insert(*to);
            line.push(*middle);
            (from, at) = (at, *to);
        }
        line.split_off(1)
    }

    /// The middle of the chord about `far_m` along a way, or where it ends or forks.
    fn far_along(&self, (mut from, mut at): (usize, usize), start: Point, far_m: f64) -> Point {
        let mut here = start;
        let mut steps = self.beside.len();
        while here.distance(start) < far_m && self.beside[at].len() == 2 && steps > 0 {
            let Some((next, middle)) = self.beside[at].iter().find(|(to, _)| *to != from).copied() else {
                break;
            };
            (from, at, here) = (at, next, middle);
            steps -= 1;
        }
        here
    }
}

/// True if a triangle is higher than rounding makes one of three places along an edge.
fn is_wide([a, b, c]: &[Point; 3]) -> bool {
    let longest = a.distance(*b).max(b.distance(*c)).max(c.distance(*a));
    (*b - *a).cross(*c - *a).abs() > LEAST_HEIGHT_M * longest
}

/// Number of parts of an edge that are at most `spacing_m` long.
fn parts(a: Point, b: Point, spacing_m: f64) -> f64 {
    (a.distance(b) / spacing_m).ceil().max(1.0)
}

/// An edge as places at most `spacing_m` apart, without its end.
fn pieces(a: Point, b: Point, spacing_m: f64) -> Vec<Point> {
    let count = parts(a, b, spacing_m);
    let mut list = Vec::new();
    let mut k = 0.0;
    while k < count {
        list.push(a + (b - a) * (k / count));
        k += 1.0;
    }
    list
}

/// The straight line along the middle of an outline beside the gate, and the width there: along its edge nearest to the
/// gate (of those at least 3 m long, if there are any), halfway to the far side, as far as the outline reaches in both
/// directions. A road that is more than twice as long across that edge as along it ends there: the line runs toward the
/// gate.
///
/// A road around a block has the block as a hole of its outline, and so has a turnaround with an island: only where the way
/// between two edges is long for its width is it a road by itself.
fn straight_middle(surface: &Ground, gate: Point) -> Option<(Vec<Point>, f64)> {
    let outer: Vec<(Point, Point)> = surface.outer.edges().collect();
    // Every ring is counterclockwise: the surface lies on the left of the outer one, and of a hole's taken backward.
    let around = surface.holes.iter().flat_map(Outline::edges).map(|(a, b)| (b, a));
    let all: Vec<(Point, Point)> = outer.iter().copied().chain(around).collect();
    let in_hole = nearest_on(surface.edges(), gate).is_some_and(|(i, _)| i >= outer.len());
    let between = || {
        let found = straight_along(&all, gate)?;
        (in_hole || length(&found.0) >= RING_ROAD_RATIO * found.1).then_some(found)
    };
    if surface.holes.is_empty() { None } else { between() }.or_else(|| straight_along(&outer, gate))
}

/// The straight middle between edges that have the surface on their left.
fn straight_along(edges: &[(Point, Point)], gate: Point) -> Option<(Vec<Point>, f64)> {
    let long: Vec<(Point, Point)> =
        edges.iter().copied().filter(|(a, b)| a.distance(*b) >= ROAD_EDGE_M).collect();
    let candidates: &[(Point, Point)] = if long.is_empty() { edges } else { &long };
    let (i, foot) = nearest_on(candidates.iter().copied(), gate)?;
    let (a, b) = candidates[i];
    let along = (b - a).unit()?;
    // From a corner the ray across may miss the far side: start a
    // hair along the edge.
    let start = if foot == a {
        a + along * 0.01
    } else if foot == b {
        b - along * 0.01
    } else {
        foot
    };
    let width_m = reach(edges, start, along.left())?;
    let middle = start + along.left() * (width_m / 2.0);
    let (ahead, behind) = (reach(edges, middle, along)?, reach(edges, middle, -along)?);
    if width_m > TURNAROUND_RATIO * (ahead + behind) {
        let middle = middle + along * (0.5 * (ahead - behind));
        let (away, toward) = (reach(edges, middle, along.left())?, reach(edges, middle, -along.left())?);
        let line = vec![middle + along.left() * away, middle - along.left() * toward];
        return Some((line, ahead + behind));
    }
    Some((vec![middle - along * behind, middle + along * ahead], width_m))
}

#[cfg(test)]
mod tests {
    use super::super::lines::strip;
    use super::*;
    use crate::geometry::trig;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|(x, y)| Point::new(*x, *y)).collect()
    }

    /// Largest distance of a line's corners and of the middles of its pieces from another line.
    fn apart_m(line: &[Point], other: &[Point]) -> f64 {
        let middles = segments(line).map(|(a, b)| (a + b) * 0.5);
        let away = |p: Point| nearest_on(segments(other), p).map_or(f64::INFINITY, |(_, q)| q.distance(p));
        line.iter().copied().chain(middles).map(away).fold(0.0, f64::max)
    }

    /// The outline of a strip about a line has that line as its middle, to a share of its width: at a sharp bend the
    /// outline is rounded outside and square inside, and its middle cuts the corner.
    #[test]
    fn the_middle_of_a_strip_is_its_line() {
        let curve: Vec<(f64, f64)> = (-12..=12)
            .map(|k| 0.1 * f64::from(k))
            .map(|a| (40.0 * trig::sin(a), 40.0 * trig::cos(a) - 50.0))
            .collect();
        let lines: [(&[(f64, f64)], f64); 6] = [
            (&[(40.0, -10.0), (-40.0, -10.0)], 1e-9),
            (&[(60.0, -10.0), (0.0, -10.0), (-40.0, -50.0)], 0.12),
            (&[(60.0, -10.0), (-12.0, -10.0), (-12.0, -60.0)], 0.3),
            (&[(60.0, -10.0), (-12.0, -10.0), (-12.0, 50.0)], 0.3),
            (&[(60.0, -60.0), (30.0, -10.0), (-30.0, -10.0), (-60.0, 30.0), (-60.0, 80.0)], 0.2),
            (&curve, 0.03),
        ];
        for (line, most_widths) in lines {
            let line = points(line);
            for width_m in [4.0, 7.0] {
                let middle = middle(&strip(&line, width_m), Point::default()).unwrap();
                let (there, back) = (apart_m(&middle.line, &line), apart_m(&line, &middle.line));
                assert!(
                    there.max(back) < most_widths * width_m,
                    "{line:?}: {there} {back} {:?}",
                    middle.line
                );
                assert!(
                    (middle.width_m - width_m).abs() < 0.02 && !middle.branches,
                    "{line:?}: {}",
                    middle.width_m
                );
            }
        }
    }

    /// An outline with too many vertices keeps its straight line and is not triangulated.
    #[test]
    fn an_outline_with_too_many_vertices_is_not_triangulated() {
        let comb = |k: u32| [(f64::from(k), -7.0), (f64::from(k) + 0.5, -7.001)];
        let mut ring: Vec<(f64, f64)> = (0..6000).flat_map(comb).collect();
        ring.extend([(6000.0, -13.0), (0.0, -13.0)]);
        let large = Ground { outer: Outline(points(&ring)).counterclockwise(), ..Ground::default() };
        assert!(Triangles::of(&large, 3.0).is_none());
        let middle = middle(&large, Point::new(3000.0, 0.0)).unwrap();
        assert_eq!(middle.line.len(), 2);
    }

    /// A side road within the outline is reported, and the center line continues straight past it.
    #[test]
    fn a_junction_within_one_outline_is_reported() {
        let tee = points(&[
            (40.0, -7.0),
            (-40.0, -7.0),
            (-40.0, -13.0),
            (7.0, -13.0),
            (7.0, -70.0),
            (13.0, -70.0),
            (13.0, -13.0),
            (40.0, -13.0),
        ]);
        let tee = Ground { outer: Outline(tee).counterclockwise(), ..Ground::default() };
        let middle = middle(&tee, Point::default()).unwrap();
        assert!(middle.branches);
        assert!(apart_m(&middle.line, &points(&[(40.0, -10.0), (-40.0, -10.0)])) < 0.1, "{:?}", middle.line);
        assert!((length(&middle.line) - 80.0).abs() < 0.1);
    }
}
