//! Broad phase: a bounding volume hierarchy over the standing pieces, so that a site of ten thousand edges costs a pose
//! no more than the few it comes near, even where all of them lie beside its path.
//!
//! Only pieces that cannot change an answer are left out; the rest are returned in the order of the site: measurements
//! with it are the same to the last bit as without it.
use super::surroundings::FixedPiece;
use crate::geometry::Point;
use crate::geometry::distance::{greater, lesser};
use std::ops::Deref;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Least number of pieces for a tree: with fewer it is faster to test each of them.
const WORTH_A_TREE: usize = 48;
/// Number of pieces of a leaf.
const LEAF: usize = 4;
/// Largest number of an outline's edges used as separating axes; of an outline with more, the first.
const MOST_AXES: usize = 8;
/// Tolerance of distances: a piece that is farther away than the limit by less than this is returned all the same, so
/// that rounding leaves none out.
const SLACK_M: f64 = 1e-6;

/// Fixed pieces of a site, shared by all users, with the trees over them.
#[derive(Clone, Debug, Default)]
pub struct Pieces(Arc<Shared>);

#[derive(Debug, Default)]
struct Shared {
    pieces: Vec<FixedPiece>,
    /// Center of each piece and the distance within which all of it lies, in one list for a fast scan.
    circles: Vec<(Point, f64)>,
    /// Trees by the pieces they are over: those that a part's heights let it touch.
    trees: Mutex<Vec<(Vec<usize>, Arc<Bvh>)>>,
    /// Pieces in canonical form, as they are and mirrored, once they have been requested.
    canonical: [OnceLock<Pieces>; 2],
}

impl From<Vec<FixedPiece>> for Pieces {
    fn from(pieces: Vec<FixedPiece>) -> Self {
        let circles = pieces.iter().map(|piece| (piece.center, piece.reach_m)).collect();
        Self(Arc::new(Shared { pieces, circles, ..Shared::default() }))
    }
}

impl Deref for Pieces {
    type Target = [FixedPiece];

    fn deref(&self) -> &[FixedPiece] {
        &self.0.pieces
    }
}

impl Pieces {
    /// Circles about the pieces, in their order: center, and the distance within which all of a piece lies.
    pub(super) fn circles(&self) -> &[(Point, f64)] {
        &self.0.circles
    }

    /// Pieces in canonical form, converted one by one with `form`.
    pub(super) fn canonical(&self, mirrored: bool, form: impl Fn(&FixedPiece) -> FixedPiece) -> Self {
        let made = || self.iter().map(form).collect::<Vec<_>>().into();
        self.0.canonical[usize::from(mirrored)].get_or_init(made).clone()
    }

    /// Tree over the listed pieces; `None` where it would not pay.
    pub(super) fn tree(&self, listed: &[usize]) -> Option<Arc<Bvh>> {
        if listed.len() < WORTH_A_TREE {
            return None;
        }
        // A holder of the lock only adds a whole tree, so a poisoned lock is still consistent.
        let mut trees = self.0.trees.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, tree)) = trees.iter().find(|(known, _)| known == listed) {
            return Some(Arc::clone(tree));
        }
        let tree = Arc::new(Bvh::new(self, listed));
        trees.push((listed.to_vec(), Arc::clone(&tree)));
        Some(tree)
    }
}

/// Tree over the standing pieces that one part can touch, in the gate's frame.
#[derive(Clone, Debug)]
pub struct Bvh {
    /// Nodes in depth-first order: a node, all below its first child, all below its second.
    nodes: Vec<Node>,
    /// Indices of the pieces, leaf by leaf.
    pieces: Vec<usize>,
}

#[derive(Clone, Debug)]
struct Node {
    low: Point,
    high: Point,
    below: Below,
    /// One of the pieces below, if all of them have the same name.
    called: Option<usize>,
}

#[derive(Clone, Debug)]
enum Below {
    /// Index of the second child; the first follows its parent.
    Second(usize),
    /// A leaf: range of `pieces`, from and up to.
    Pieces(usize, usize),
}

/// A piece, its bounding box and the middle of that.
struct Boxed {
    index: usize,
    low: Point,
    high: Point,
}

impl Boxed {
    fn middle(&self) -> Point {
        (self.low + self.high) * 0.5
    }
}

impl Bvh {
    /// Builds a tree over the listed pieces.
    fn new(standing: &[FixedPiece], listed: &[usize]) -> Self {
        let boxed = |&index: &usize| {
            let (low, high) = extent(&standing[index]);
            Boxed { index, low, high }
        };
        let mut boxes: Vec<Boxed> = listed.iter().map(boxed).collect();
        let mut tree = Self { nodes: Vec::new(), pieces: Vec::with_capacity(boxes.len()) };
        tree.grow(standing, &mut boxes);
        tree
    }

    /// Adds a node over these pieces and all below it; returns its index.
    fn grow(&mut self, standing: &[FixedPiece], boxes: &mut [Boxed]) -> usize {
        let corners: Vec<Point> = boxes.iter().flat_map(|b| [b.low, b.high]).collect();
        let (low, high) = box_around(&corners);
        let alike = |a: usize, b: usize| {
            let of = &standing[a].material;
            standing[b].material.goes_by(of.thing, &of.what)
        };
        let at = self.nodes.len();
        let from = self.pieces.len();
        let below = Below::Pieces(from, from + boxes.len());
        if boxes.len() <= LEAF {
            let called = boxes.first().map(|b| b.index);
            let called = called.filter(|first| boxes.iter().all(|b| alike(b.index, *first)));
            self.nodes.push(Node { low, high, below, called });
            self.pieces.extend(boxes.iter().map(|b| b.index));
            return at;
        }
        self.nodes.push(Node { low, high, below, called: None });
        let wide = high.x - low.x >= high.y - low.y;
        let key = |b: &Boxed| if wide { b.middle().x } else { b.middle().y };
        let half = boxes.len() / 2;
        boxes.select_nth_unstable_by(half, |a, b| key(a).total_cmp(&key(b)).then(a.index.cmp(&b.index)));
        let (first, second) = boxes.split_at_mut(half);
        self.grow(standing, first);
        let second = self.grow(standing, second);
        self.nodes[at].below = Below::Second(second);
        if let (Some(a), Some(b)) = (self.nodes[at + 1].called, self.nodes[second].called)
            && alike(a, b)
        {
            self.nodes[at].called = Some(a);
        }
        at
    }

    /// Visits the pieces nearest first. `measure` takes a piece and returns the distance within which others still
    /// matter; before that it is `matters_m`.
    pub(super) fn nearest_first(
        &self,
        probe: &mut Query,
        matters_m: f64,
        measure: &mut impl FnMut(usize) -> f64,
    ) {
        let away = self.away(0, probe, matters_m);
        self.descend(0, away, probe, matters_m, measure);
    }

    fn descend(
        &self,
        at: usize,
        away: f64,
        probe: &mut Query,
        mut matters_m: f64,
        measure: &mut impl FnMut(usize) -> f64,
    ) -> f64 {
        if away > matters_m {
            return matters_m;
        }
        match self.nodes[at].below {
            Below::Pieces(from, to) => {
                for &index in &self.pieces[from..to] {
                    matters_m = measure(index);
                }
                matters_m
            }
            Below::Second(second) => {
                let first = (at + 1, self.away(at + 1, probe, matters_m));
                let second = (second, self.away(second, probe, matters_m));
                let order = if second.1 < first.1 { [second, first] } else { [first, second] };
                for (child, away) in order {
                    matters_m = self.descend(child, away, probe, matters_m, measure);
                }
                matters_m
            }
        }
    }

    /// Adds the pieces that may be near enough to matter, and perhaps some more, in the order of the site. `matters_m`
    /// returns the distance that matters: for all pieces with the name of the given one, or for any piece.
    pub(super) fn within(
        &self,
        probe: &mut Query,
        matters_m: impl Fn(Option<usize>) -> f64,
        found: &mut Vec<usize>,
    ) {
        let mut at = vec![0];
        while let Some(node) = at.pop() {
            let matters_m = matters_m(self.nodes[node].called);
            if self.away(node, probe, matters_m) > matters_m {
                continue;
            }
            match self.nodes[node].below {
                Below::Second(second) => at.extend([second, node + 1]),
                Below::Pieces(from, to) => found.extend_from_slice(&self.pieces[from..to]),
            }
        }
        found.sort_unstable();
    }

    /// Lower bound on the distance from the outline to every piece below `node`; separating axes are used only where
    /// the box test leaves it within `matters_m`.
    fn away(&self, node: usize, probe: &mut Query, matters_m: f64) -> f64 {
        let Node { low, high, .. } = self.nodes[node];
        let x = (low.x - probe.high.x).max(probe.low.x - high.x);
        let y = (low.y - probe.high.y).max(probe.low.y - high.y);
        let mut away = if x > 0.0 && y > 0.0 { (x * x + y * y).sqrt() } else { x.max(y) };
        let (size, own) = (high - low, probe.high - probe.low);
        // A box larger than the outline is seldom beyond one of its edges.
        if away <= matters_m && size.x <= own.x && size.y <= own.y {
            let (middle, half) = ((low + high) * 0.5, size * 0.5);
            for (outward, offset) in probe.axes() {
                let reaches = half.x * outward.x.abs() + half.y * outward.y.abs();
                away = away.max(middle.dot(*outward) - reaches - offset);
            }
        }
        away - SLACK_M
    }
}

/// A query: a convex outline whose neighbors are sought.
pub(super) struct Query<'a> {
    corners: &'a [Point],
    low: Point,
    high: Point,
    /// Outward normals of its edges and its extent along each; computed when first needed.
    axes: [(Point, f64); MOST_AXES],
    count: Option<usize>,
}

impl<'a> Query<'a> {
    /// Query with these corners and the box around them.
    pub(super) fn new(corners: &'a [Point], (low, high): (Point, Point)) -> Self {
        Self { corners, low, high, axes: [(Point::default(), 0.0); MOST_AXES], count: None }
    }

    fn axes(&mut self) -> &[(Point, f64)] {
        let count = self.count.unwrap_or_else(|| {
            let n = self.corners.len();
            let outward = |i: usize| {
                let p = self.corners[i];
                let outward = -(self.corners[(i + 1) % n] - p).unit()?.left();
                // Whatever the orientation of the corners, no point of the outline is farther along.
                let offset = self.corners.iter().map(|c| c.dot(outward)).fold(f64::NEG_INFINITY, f64::max);
                Some((outward, offset))
            };
            let mut count = 0;
            for (axis, known) in (0..n).filter_map(outward).zip(&mut self.axes) {
                *known = axis;
                count += 1;
            }
            count
        });
        self.count = Some(count);
        &self.axes[..count]
    }
}

fn extent(piece: &FixedPiece) -> (Point, Point) {
    let (low, high) = box_around(&piece.corners);
    let r = Point::new(piece.radius_m, piece.radius_m);
    (low - r, high + r)
}

/// Least and largest x and y of some points; for none, an inverted box.
pub(super) fn box_around(points: &[Point]) -> (Point, Point) {
    let mut low = Point::new(f64::INFINITY, f64::INFINITY);
    let mut high = Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY);
    for p in points {
        low = Point::new(lesser(low.x, p.x), lesser(low.y, p.y));
        high = Point::new(greater(high.x, p.x), greater(high.y, p.y));
    }
    (low, high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clearance::surroundings::Material;
    use crate::geometry::{Pose, distance};
    use crate::random::Random;

    fn piece(corners: Vec<Point>, radius_m: f64) -> FixedPiece {
        let material = Material {
            thing: super::super::surroundings::Thing::Obstacle(0),
            what: "tree".to_owned(),
            bottom_m: 0.0,
            top_m: 3.0,
        };
        let center = corners[0];
        FixedPiece { material, corners, radius_m, center, reach_m: radius_m, faces: Vec::new() }
    }

    /// Pseudorandom numbers, always the same, between -1 and 1.
    fn numbers() -> impl FnMut() -> f64 {
        let mut random = Random(1);
        move || random.between(-1.0, 1.0)
    }

    #[test]
    fn nothing_near_is_left_out() {
        let mut n = numbers();
        for scale in [30.0, 180.0, 400.0] {
            let mut standing: Vec<FixedPiece> = (0..300)
                .map(|_| piece(vec![Point::new(scale * n(), scale * n())], 0.5 + 0.4 * n()))
                .collect();
            // A wall across all of it, and every seventh piece not listed.
            standing.push(piece(vec![Point::new(-scale, -scale), Point::new(scale, scale)], 0.1));
            let listed: Vec<usize> = (0..standing.len()).filter(|i| i % 7 != 3).collect();
            let tree = Bvh::new(&standing, &listed);
            let (mut left_out, mut measured, mut met) = (0, 0, 0);
            for _ in 0..2000 {
                let at = Pose::new(1.1 * scale * n(), 1.1 * scale * n(), 3.2 * n());
                let corners = [(-1.0, -1.0), (4.0, -1.0), (4.0, 1.0), (-1.0, 1.0)]
                    .map(|(x, y)| at.to_site(Point::new(x, y)));
                let gap = |i: usize| {
                    distance::nearest_convex(&corners, &standing[i].corners).distance_m - standing[i].radius_m
                };
                let reach = 2.0 * n().abs();
                let mut found = Vec::new();
                tree.within(&mut Query::new(&corners, box_around(&corners)), |_| reach, &mut found);
                left_out += listed.len() - found.len();
                assert!(found.windows(2).all(|w| w[0] < w[1]), "in the order of the site, each once");
                assert!(found.iter().all(|i| listed.contains(i)));
                for &i in &listed {
                    assert!(gap(i) > reach || found.contains(&i), "{i} at {at:?}");
                }
                let mut probe = Query::new(&corners, box_around(&corners));
                let mut nearest = 20.0_f64;
                tree.nearest_first(&mut probe, nearest, &mut |i| {
                    measured += 1;
                    nearest = nearest.min(gap(i));
                    nearest
                });
                let least = listed.iter().map(|i| gap(*i)).fold(20.0, f64::min);
                assert!(nearest == least, "{nearest} {least}");
                met += usize::from(least < 20.0);
            }
            assert!(left_out > 2000 * (listed.len() - 30), "{scale}: {left_out} left out");
            assert!(met > 500 && measured < 2000 * 40, "{scale}: {met} met, {measured} measured");
        }
    }

    #[test]
    fn a_tree_is_made_once_for_each_list() {
        let tree = |i: u32| piece(vec![Point::new(f64::from(i), 0.0)], 0.1);
        let pieces = Pieces::from((0..100).map(tree).collect::<Vec<_>>());
        let (all, half): (Vec<usize>, Vec<usize>) = ((0..100).collect(), (0..50).collect());
        let of = |pieces: &Pieces, listed: &[usize]| pieces.tree(listed).expect("many pieces");
        assert!(Arc::ptr_eq(&of(&pieces, &all), &of(&pieces.clone(), &all)));
        assert!(!Arc::ptr_eq(&of(&pieces, &all), &of(&pieces, &half)));
        assert!(pieces.tree(&all[..10]).is_none() && Pieces::default().tree(&[]).is_none());
    }

    /// A bent line of ever more edges beside an outline: the number of pieces measured does not grow with them. (Pieces
    /// exactly as near as the nearest are all measured, for the last digits.)
    #[test]
    fn a_fine_line_costs_no_more_than_a_coarse_one() {
        let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)].map(|(x, y)| Point::new(x, y));
        let measured = |edges: u32| {
            let point = |i: u32| {
                let along = f64::from(i) / f64::from(edges);
                Point::new(8.0 * along - 2.0, -1.0 - (along - 0.4).abs())
            };
            let line: Vec<FixedPiece> =
                (0..edges).map(|i| piece(vec![point(i), point(i + 1)], 0.05)).collect();
            let listed: Vec<usize> = (0..line.len()).collect();
            let tree = Bvh::new(&line, &listed);
            let (mut count, mut nearest) = (0, 20.0_f64);
            let mut probe = Query::new(&square, box_around(&square));
            tree.nearest_first(&mut probe, nearest, &mut |i| {
                count += 1;
                nearest = nearest.min(distance::nearest_convex(&square, &line[i].corners).distance_m - 0.05);
                nearest
            });
            count
        };
        let (coarse, fine) = (measured(100), measured(10_000));
        assert!(coarse > 0 && fine <= coarse + 8, "{coarse} and {fine}");
    }
}
