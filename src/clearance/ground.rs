//! Ground that tires may use: roads and drives as one region, with signed distances to its edge.
//!
//! Drawn polygons seldom share edges to the millimeter, so each is grown by [`SEAM_M`] before they are united: a crack
//! of twice that between a road and an apron closes, and every edge is generous by as much.
use super::bvh::box_around;
use super::canonical::place;
use crate::geometry::{Outline, Point, Pose, distance, trig};
use geo::{BooleanOps, Coord, LineString, MapCoords, MultiPolygon, Polygon};
use std::sync::{Arc, OnceLock};

/// Distance that each polygon is grown before the union: a centimeter is finer than anyone measures a drive, and more
/// than the cracks that drawing and projecting leave.
pub const SEAM_M: f64 = 0.01;

/// Cell size of the look-up grid. Half a meter leaves few edges to a cell, and a site of 100 m has 40,000 cells.
const CELL_M: f64 = 0.5;

/// Offset of the cells' middles from whole millimeters: on the very line of an edge that is drawn to the millimeter a
/// middle would lie on neither side.
const OFF_GRID_M: f64 = 4.37e-4;

/// A region of ground: tires may go inside it.
#[derive(Clone, Debug)]
pub struct Region {
    /// Polygons that it unites.
    polygons: Arc<[Polygon<f64>]>,
    edges: Vec<(Point, Point)>,
    /// Points where edges meet.
    corners: Vec<Point>,
    /// For each grid cell, true if its center is inside, and the edges that can be the nearest to any of its points.
    /// Computed when first needed: a vehicle comes to a hundredth of them.
    cells: Vec<OnceLock<Cell>>,
    origin: Point,
    columns: usize,
    rows: usize,
    /// Least and largest coordinates of all edges.
    bounds: (Point, Point),
    /// Region in canonical form, as it is and mirrored, once it has been requested.
    canonical: [OnceLock<Arc<Region>>; 2],
}

#[derive(Clone, Debug, Default)]
struct Cell {
    inside: bool,
    /// Distance from the center to the nearest edge.
    clear_m: f64,
    edges: Vec<u32>,
}

impl Region {
    /// Unites polygons (outer ring, holes), given in site coordinates, in the frame whose origin is `frame`. `None`
    /// without polygons.
    #[must_use]
    pub fn new(polygons: &[(&Outline, &[Outline])], frame: &Pose) -> Option<Self> {
        let polygon = |(outer, holes): &(&Outline, &[Outline])| {
            let holes = holes.iter().map(|hole| to_line(&grown(hole, -SEAM_M), frame)).collect();
            Polygon::new(to_line(&grown(outer, SEAM_M), frame), holes)
        };
        let polygons: Vec<Polygon> = polygons.iter().map(polygon).collect();
        let edges = edges_of_union(&polygons)?;
        Some(Self { polygons: polygons.into(), ..Self::from_edges(edges) })
    }

    /// Region in canonical form (see [`mod@super::canonical`]): its edges from their lesser end on, in order.
    ///
    /// The polygons are united again: how a union rounds where two edges cross depends on the coordinates.
    #[must_use]
    pub fn canonical(&self, mirrored: bool) -> Arc<Self> {
        let made = || {
            let on_grid = |polygon: &Polygon| polygon.map_coords(|c| place(Point::from(c), mirrored).into());
            let polygons: Vec<Polygon> = self.polygons.iter().map(on_grid).collect();
            let mut edges: Vec<(Point, Point)> = Vec::with_capacity(self.edges.len());
            let order = |a: &Point, b: &Point| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y));
            for (a, b) in edges_of_union(&polygons).unwrap_or_default() {
                let (a, b) = (place(a, false), place(b, false));
                match order(&a, &b) {
                    std::cmp::Ordering::Less => edges.push((a, b)),
                    std::cmp::Ordering::Greater => edges.push((b, a)),
                    std::cmp::Ordering::Equal => {}
                }
            }
            edges.sort_by(|p, q| order(&p.0, &q.0).then(order(&p.1, &q.1)));
            Arc::new(Self { polygons: polygons.into(), ..Self::from_edges(edges) })
        };
        Arc::clone(self.canonical[usize::from(mirrored)].get_or_init(made))
    }

    /// Region of edges alone, without the polygons.
    fn from_edges(edges: Vec<(Point, Point)>) -> Self {
        let mut low = Point::new(f64::INFINITY, f64::INFINITY);
        let mut high = Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY);
        for (a, _) in &edges {
            low = Point::new(low.x.min(a.x), low.y.min(a.y));
            high = Point::new(high.x.max(a.x), high.y.max(a.y));
        }
        let bounds = (low, high);
        // Roads continue without end; only the part near the gate (the origin) matters, and the grid stays small.
        let window = 150.0;
        let around = 2.0 + OFF_GRID_M;
        let low = Point::new(low.x.max(-window) - around, low.y.max(-window) - around);
        let high = Point::new(high.x.min(window) + 2.0, high.y.min(window) + 2.0);
        let columns = cells_across(high.x - low.x);
        let rows = cells_across(high.y - low.y);
        let mut corners: Vec<Point> = edges.iter().flat_map(|(a, b)| [*a, *b]).collect();
        corners.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        corners.dedup();
        Self {
            polygons: Arc::default(),
            edges,
            corners,
            cells: vec![OnceLock::new(); rows * columns],
            origin: low,
            columns,
            rows,
            bounds,
            canonical: [const { OnceLock::new() }; 2],
        }
    }

    fn center(&self, column: usize, row: usize) -> Point {
        #[allow(clippy::cast_precision_loss, reason = "a few hundred cells across")]
        let (c, r) = (column as f64 + 0.5, row as f64 + 0.5);
        self.origin + Point::new(c * CELL_M, r * CELL_M)
    }

    fn make_cell(&self, column: usize, row: usize) -> Cell {
        let center = self.center(column, row);
        let clear_m = self.edges.iter().map(|e| edge_distance(*e, center)).fold(f64::INFINITY, f64::min);
        // Any point of the cell is within half a diagonal of the center, so its nearest edge is within twice that more.
        let within = clear_m + CELL_M * std::f64::consts::SQRT_2 + 1e-9;
        let near = |e: &(usize, &(Point, Point))| edge_distance(*e.1, center) <= within;
        let edges =
            self.edges.iter().enumerate().filter(near).filter_map(|(i, _)| u32::try_from(i).ok()).collect();
        Cell { inside: crossings(&self.edges, center) % 2 == 1, clear_m, edges }
    }

    /// Signed distance from a point to the region's edge: positive inside. Exact within the window about the gate;
    /// far outside it, minus infinity.
    #[must_use]
    pub fn signed_distance(&self, p: Point) -> f64 {
        let Some(cell) = self.cell_at(p) else { return f64::NEG_INFINITY };
        let (cell, center) = cell;
        let mut nearest = f64::INFINITY;
        let mut flips = false;
        for &i in &cell.edges {
            let edge = self.edges[i as usize];
            nearest = nearest.min(edge_distance(edge, p));
            flips ^= crosses(edge.0, edge.1, center, p);
        }
        if cell.inside != flips { nearest } else { -nearest }
    }

    /// Upper bound on the signed distance that is finite everywhere: exact within the window about the gate; outside
    /// the box about all edges, the negative distance from it; no less than 0 where nothing is known.
    #[must_use]
    pub fn at_most_inside(&self, p: Point) -> f64 {
        let exact = self.signed_distance(p);
        if exact.is_finite() {
            return exact;
        }
        let out = |x: f64, low: f64, high: f64| (low - x).max(x - high).max(0.0);
        let (low, high) = self.bounds;
        -trig::hypot(out(p.x, low.x, high.x), out(p.y, low.y, high.y))
    }

    /// A quick lower bound of [`Self::signed_distance`], from the cell alone, when it is at least `enough`.
    #[must_use]
    pub fn clearly_inside(&self, p: Point, enough: f64) -> bool {
        self.cell_at(p)
            .is_some_and(|(cell, center)| cell.inside && cell.clear_m - p.distance(center) >= enough)
    }

    fn cell_at(&self, p: Point) -> Option<(&Cell, Point)> {
        let x = (p.x - self.origin.x) / CELL_M;
        let y = (p.y - self.origin.y) / CELL_M;
        if !(x >= 0.0 && y >= 0.0) {
            return None;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to be in range")]
        let (column, row) = (x as usize, y as usize);
        if column >= self.columns || row >= self.rows {
            return None;
        }
        let cell = self.cells[row * self.columns + column].get_or_init(|| self.make_cell(column, row));
        Some((cell, self.center(column, row)))
    }

    /// True if a convex outline lies wholly inside, keeping `margin_m` from the edge.
    #[must_use]
    pub fn contains_convex(&self, outline: &[Point], margin_m: f64) -> bool {
        // A reflex corner of the edge can still poke in between the outline's corners.
        outline.iter().all(|p| self.signed_distance(*p) >= margin_m)
            && self.keeps_from_convex(outline, margin_m)
    }

    /// True if no edge comes within `margin_m` of a convex outline.
    #[must_use]
    pub fn keeps_from_convex(&self, outline: &[Point], margin_m: f64) -> bool {
        !self.edges_near(outline, margin_m).any(|(a, b)| segment_near_convex(outline, *a, *b, margin_m))
    }

    /// The edges that reach into the box about an outline, grown by `margin_m`: most lie wholly beside it.
    fn edges_near(&self, outline: &[Point], margin_m: f64) -> impl Iterator<Item = &(Point, Point)> {
        let (low, high) = box_around(outline);
        let margin = margin_m.max(0.0);
        let beside =
            move |a: f64, b: f64, low: f64, high: f64| a.max(b) < low - margin || a.min(b) > high + margin;
        self.edges
            .iter()
            .filter(move |(a, b)| !(beside(a.x, b.x, low.x, high.x) || beside(a.y, b.y, low.y, high.y)))
    }

    /// An upper bound of the depth to which the outside of the region penetrates a convex quadrilateral from one side, meters;
    /// 0 if the quadrilateral lies inside. `room_m` holds the signed distances of its corners. Returns the longer diagonal if
    /// the quadrilateral is not convex, or if the outside crosses it from side to side.
    ///
    /// Every edge of the region within the quadrilateral lies within this depth of one side. The outside is then either within
    /// the same depth of that side, or it is all the rest, which a corner with a negative distance shows.
    #[must_use]
    pub fn reaches_into(&self, quad: &[Point; 4], room_m: &[f64; 4]) -> f64 {
        let across = quad[0].distance(quad[2]).max(quad[1].distance(quad[3]));
        let side = |s: usize| (quad[s], quad[(s + 1) % 4]);
        let turn = convex(quad);
        if turn == 0.0 {
            return if self.keeps_from_convex(quad, -1e-6) { 0.0 } else { across };
        }
        let mut far_m = [0.0_f64; 4];
        for edge in self.edges_near(quad, 0.0) {
            let Some(within) = clipped(*edge, quad, turn) else { continue };
            for (s, far) in far_m.iter_mut().enumerate() {
                for p in [within.0, within.1] {
                    *far = far.max(line_distance(side(s), p));
                }
            }
        }
        let mut least = across;
        for (s, far) in far_m.into_iter().enumerate() {
            let rest = [(s + 2) % 4, (s + 3) % 4];
            let all_off = |c: usize| room_m[c] < 0.0 && line_distance(side(s), quad[c]) > far;
            if !rest.into_iter().any(all_off) {
                least = least.min(far);
            }
        }
        least
    }

    /// The vertex of the region's edge with the least signed distance, by `room_beside`, to a tire's track between two poses, if
    /// that is less than `within_m`.
    #[must_use]
    pub fn corner_beside(&self, quad: &[Point; 4], within_m: f64) -> Option<(f64, Point)> {
        let mut least: Option<(f64, Point)> = None;
        for corner in &self.corners {
            let near = least.map_or(within_m, |(least, _)| least).max(0.0) + quad[0].distance(quad[2]);
            if corner.distance(quad[0]) > near + quad[1].distance(quad[3]) {
                continue;
            }
            let room = room_beside(*corner, quad);
            if room < least.map_or(within_m, |(least, _)| least) {
                least = Some((room, *corner));
            }
        }
        least
    }

    /// The region's edges, in the gate's frame.
    #[must_use]
    pub fn edges(&self) -> &[(Point, Point)] {
        &self.edges
    }
}

/// Signed distance of a point to the two sides of a tire's track between two poses, meters: negative inside the track. `quad`
/// is one end of the tire before and after, then the other end after and before.
#[must_use]
pub fn room_beside(p: Point, quad: &[Point; 4]) -> f64 {
    let away = edge_distance((quad[0], quad[1]), p).min(edge_distance((quad[3], quad[2]), p));
    if distance::ring_contains(quad, p) { -away } else { away }
}

/// Orientation of a convex quadrilateral: 1 counterclockwise, -1 clockwise; 0 if it is not strictly convex.
fn convex(quad: &[Point; 4]) -> f64 {
    let turn = |i: usize| (quad[(i + 1) % 4] - quad[i]).cross(quad[(i + 2) % 4] - quad[(i + 1) % 4]);
    let turns = [turn(0), turn(1), turn(2), turn(3)];
    if turns.iter().all(|t| *t > 0.0) {
        1.0
    } else if turns.iter().all(|t| *t < 0.0) {
        -1.0
    } else {
        0.0
    }
}

/// A segment clipped to a convex quadrilateral with orientation `turn` (1 or -1).
fn clipped((a, b): (Point, Point), quad: &[Point; 4], turn: f64) -> Option<(Point, Point)> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for s in 0..4 {
        let along = quad[(s + 1) % 4] - quad[s];
        let (at_a, at_b) = (turn * along.cross(a - quad[s]), turn * along.cross(b - quad[s]));
        if at_a < 0.0 && at_b < 0.0 {
            return None;
        }
        let cut = at_a / (at_a - at_b);
        if at_a < 0.0 {
            from = from.max(cut);
        } else if at_b < 0.0 {
            to = to.min(cut);
        }
    }
    (from < to).then(|| (a + (b - a) * from, a + (b - a) * to))
}

/// Distance of a point from the line through a segment; from its first end if the segment has no length.
fn line_distance((a, b): (Point, Point), p: Point) -> f64 {
    (b - a).unit().map_or_else(|| p.distance(a), |along| along.cross(p - a).abs())
}

/// True if a segment comes within `margin_m` of a convex outline (which may be as thin as a line).
fn segment_near_convex(outline: &[Point], a: Point, b: Point, margin_m: f64) -> bool {
    let n = outline.len();
    let inside = n >= 3 && distance::ring_contains(outline, a);
    inside
        || (0..n).any(|i| {
            let (p, q) = (outline[i], outline[(i + 1) % n]);
            crosses(a, b, p, q)
                || edge_distance((a, b), p) < margin_m
                || edge_distance((p, q), a) < margin_m
                || edge_distance((p, q), b) < margin_m
        })
}

fn cells_across(length: f64) -> usize {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a window of 304 m at most")]
    let cells = (length.clamp(0.0, 400.0) / CELL_M).ceil() as usize;
    cells.max(1)
}

fn edge_distance((a, b): (Point, Point), p: Point) -> f64 {
    p.distance(distance::nearest_on_segment(p, a, b))
}

/// Number of edges that a ray from `p` to the east crosses.
fn crossings(edges: &[(Point, Point)], p: Point) -> usize {
    let hit = |(a, b): &&(Point, Point)| {
        (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x
    };
    edges.iter().filter(hit).count()
}

/// True if two segments properly cross (exact side tests by the robust predicate).
fn crosses(a: Point, b: Point, p: Point, q: Point) -> bool {
    let side = |a: Point, b: Point, c: Point| robust_orientation(a, b, c);
    let (sp, sq) = (side(a, b, p), side(a, b, q));
    let (sa, sb) = (side(p, q, a), side(p, q, b));
    // A point exactly on a line counts as on its left, so that a shared corner is counted once.
    (sp >= 0) != (sq >= 0) && (sa >= 0) != (sb >= 0)
}

fn robust_orientation(a: Point, b: Point, c: Point) -> i8 {
    use geo::kernels::{Kernel, Orientation, RobustKernel};
    match RobustKernel::orient2d(Coord::from(a), Coord::from(b), Coord::from(c)) {
        Orientation::CounterClockwise => 1,
        Orientation::Collinear => 0,
        Orientation::Clockwise => -1,
    }
}

/// Edges of the union of polygons; `None` without polygons.
fn edges_of_union(polygons: &[Polygon]) -> Option<Vec<(Point, Point)>> {
    let mut parts: Vec<MultiPolygon> = polygons.iter().map(|one| MultiPolygon(vec![one.clone()])).collect();
    // Pairs, then pairs of pairs: the union of few polygons at a time is both fast and robust.
    while parts.len() > 1 {
        parts = parts
            .chunks(2)
            .map(|pair| if pair.len() == 2 { pair[0].union(&pair[1]) } else { pair[0].clone() })
            .collect();
    }
    let union = parts.pop()?;
    let rings = union.iter().flat_map(|one| std::iter::once(one.exterior()).chain(one.interiors()));
    Some(rings.flat_map(LineString::lines).map(|l| (Point::from(l.start), Point::from(l.end))).collect())
}

/// A ring with every edge moved outward by `by` (inward when negative), corners mitered but at most 2 `by` away.
fn grown(ring: &Outline, by: f64) -> Outline {
    let ring = ring.clone().counterclockwise();
    let p = &ring.0;
    let n = p.len();
    let corner = |i: usize| {
        let before = (p[i] - p[(i + n - 1) % n]).unit().unwrap_or_default();
        let after = (p[(i + 1) % n] - p[i]).unit().unwrap_or_default();
        let out = -(before.left() + after.left());
        let Some(bisector) = out.unit() else { return p[i] };
        let cosine = bisector.dot(-before.left()).max(0.5);
        p[i] + bisector * (by / cosine)
    };
    Outline((0..n).map(corner).collect())
}

fn to_line(ring: &Outline, frame: &Pose) -> LineString<f64> {
    let mut coords: Vec<Coord<f64>> = ring.0.iter().map(|p| Coord::from(frame.to_body(*p))).collect();
    coords.extend(coords.first().copied());
    LineString(coords)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, size: f64) -> Outline {
        Outline(vec![
            Point::new(x, y),
            Point::new(x + size, y),
            Point::new(x + size, y + size),
            Point::new(x, y + size),
        ])
    }

    #[test]
    fn a_seam_between_two_polygons_closes() {
        let (a, b) = (square(0.0, 0.0, 10.0), square(10.015, 0.0, 10.0));
        let region = Region::new(&[(&a, &[]), (&b, &[])], &Pose::default()).expect("polygons");
        assert!(region.signed_distance(Point::new(10.0075, 5.0)) > 4.9);
        assert!((region.signed_distance(Point::new(1.0, 5.0)) - 1.01).abs() < 1e-5);
        assert!((region.signed_distance(Point::new(-1.0, 5.0)) + 0.99).abs() < 1e-5);
    }

    /// A long road that a drive meets at many angles: mirrored, or turned with the gate, it has the same canonical form.
    #[test]
    fn one_place_has_one_canonical_form() {
        let ring = |corners: [(f64, f64); 4], turned: f64| {
            let (along, left) = (Point::at_angle(turned), Point::at_angle(turned).left());
            Outline(corners.map(|(x, y)| along * x + left * y).to_vec())
        };
        let over = |ring: &Outline| Outline(ring.0.iter().rev().map(|p| Point::new(-p.x, p.y)).collect());
        for i in 0..60 {
            let angle = 0.0137 * f64::from(i);
            let road =
                ring([(-2000.0, -9.1), (2000.0, -9.1), (2000.0, -3.7 + angle), (-2000.0, -3.7)], angle);
            let drive = ring([(-4.9, -6.3), (4.7 + angle, -6.3), (3.1, 40.0), (-3.3, 40.0)], 0.0);
            let region = |rings: [&Outline; 2], frame: &Pose| {
                Region::new(&rings.map(|ring| (ring, &[][..])), frame).expect("polygons")
            };
            let form = region([&road, &drive], &Pose::default()).canonical(false);
            let mirrored = region([&over(&road), &over(&drive)], &Pose::default()).canonical(true);
            assert_eq!(form.edges(), mirrored.edges(), "{i}");
            let frame = Pose::new(12.3, -45.6, 0.7 + angle);
            let turned =
                [&road, &drive].map(|ring| Outline(ring.0.iter().map(|p| frame.to_site(*p)).collect()));
            let turned = region([&turned[0], &turned[1]], &frame).canonical(false);
            assert_eq!(form.edges(), turned.edges(), "{i}");
        }
    }

    #[test]
    fn signs_and_distances_agree_with_a_plain_scan() {
        let outer = Outline(
            [
                (0.0, 0.0),
                (20.0, 0.0),
                (20.0, 8.0),
                (12.0, 8.0),
                (11.0, 20.0),
                (4.0, 20.0),
                (5.0, 8.0),
                (0.0, 8.0),
            ]
            .map(|(x, y)| Point::new(x, y))
            .to_vec(),
        );
        let hole = square(14.0, 3.0, 2.0);
        let region = Region::new(&[(&outer, &[hole])], &Pose::default()).expect("polygons");
        for i in 0..90 {
            for j in 0..90 {
                let p = Point::new(-1.3 + 0.253 * f64::from(i), -1.7 + 0.251 * f64::from(j));
                let inside = crossings(region.edges(), p) % 2 == 1;
                let nearest =
                    region.edges().iter().map(|e| edge_distance(*e, p)).fold(f64::INFINITY, f64::min);
                let expected = if inside { nearest } else { -nearest };
                let got = region.signed_distance(p);
                assert!((got - expected).abs() < 1e-9, "{p:?} {got} {expected}");
                // Far away, where no cells are, the bound holds and is not minus infinity.
                let far = p * 40.0;
                let inside = crossings(region.edges(), far) % 2 == 1;
                let nearest =
                    region.edges().iter().map(|e| edge_distance(*e, far)).fold(f64::INFINITY, f64::min);
                let most = region.at_most_inside(far);
                assert!(most.is_finite() && most >= if inside { nearest } else { -nearest } - 1e-9);
                if region.clearly_inside(p, 0.3) {
                    assert!(expected >= 0.3);
                }
            }
        }
    }

    /// A tire that passes a corner of other ground slantwise, its outer end `d` beyond it: between two poses 0.6 m apart that
    /// both stand on good ground the corner comes `d` under it, however thin the chord it cuts.
    #[test]
    fn a_corner_between_two_poses_is_told_by_how_far_it_comes_under() {
        let ell = Outline(
            [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 10.0), (5.0, 5.0), (0.0, 5.0)]
                .map(|(x, y)| Point::new(x, y))
                .to_vec(),
        );
        let region = Region::new(&[(&ell, &[])], &Pose::default()).expect("polygons");
        let corner = Point::new(5.0 - SEAM_M, 5.0 + SEAM_M);
        let along = Point::at_angle(std::f64::consts::FRAC_PI_4);
        for d in [-0.05, -0.003, 0.0004, 0.003, 0.05, 0.2] {
            for turned_back in [false, true] {
                let at = |s: f64, t: f64| corner + along * s + along.left() * t;
                let mut quad = [at(-0.3, d), at(0.3, d), at(0.3, d - 0.25), at(-0.3, d - 0.25)];
                if turned_back {
                    quad = [quad[3], quad[2], quad[1], quad[0]];
                }
                let rooms = quad.map(|p| region.signed_distance(p));
                assert!(rooms.iter().all(|room| *room > 0.0), "{d} {rooms:?}");
                let reached = region.reaches_into(&quad, &rooms);
                assert!((reached - d.max(0.0)).abs() < 1e-5, "{d}: {reached}");
                let (room, place) = region.corner_beside(&quad, 1.0).expect("a corner");
                let nearer = if d > 0.0 { d.min(0.25 - d) } else { d };
                assert!(
                    (room + nearer).abs() < 1e-5 && place.distance(corner) < 1e-5,
                    "{d}: {room} at {place:?}"
                );
            }
        }
        // A strip of other ground from end to end of a tire is under all of it; a tire turned on its middle covers a bow tie.
        let strip = [square(0.0, 0.0, 10.0), square(10.1, 0.0, 10.0)];
        let region = Region::new(&[(&strip[0], &[]), (&strip[1], &[])], &Pose::default()).expect("polygons");
        let p = Point::new;
        let across = [p(9.8, 5.0), p(10.3, 5.0), p(10.3, 5.3), p(9.8, 5.3)];
        let rooms = across.map(|p| region.signed_distance(p));
        assert!(rooms.iter().all(|room| *room > 0.0));
        assert!(region.reaches_into(&across, &rooms) > 0.29);
        let bow_tie = [p(9.8, 5.0), p(10.3, 5.3), p(10.3, 5.0), p(9.8, 5.3)];
        assert!(region.reaches_into(&bow_tie, &rooms) > 0.49);
        let beside = bow_tie.map(|p| p - Point::new(1.0, 0.0));
        assert!(region.reaches_into(&beside, &[0.6; 4]) == 0.0);
    }

    #[test]
    fn a_reflex_corner_between_the_ends_is_seen() {
        let ell = Outline(
            [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 10.0), (5.0, 5.0), (0.0, 5.0)]
                .map(|(x, y)| Point::new(x, y))
                .to_vec(),
        );
        let region = Region::new(&[(&ell, &[])], &Pose::default()).expect("polygons");
        let across = [Point::new(4.0, 4.8), Point::new(5.4, 6.2)];
        assert!(region.signed_distance(across[0]) > 0.0 && region.signed_distance(across[1]) > 0.0);
        assert!(!region.contains_convex(&across, 0.0));
    }
}
