//! Connectivity check of roads, drives and the gate's opening: finds the drives that leave a gap, and its width.
//!
//! Tires keep to roads and drives, so a drive a foot short of the road keeps everything out.
use super::consistency::{Drawn, bounds};
use super::fault::{Notes, Who};
use super::lines::{covers, segments_meet};
use super::{Ground, Site};
use crate::geometry::Point;
use crate::geometry::distance::nearest_on_segment;
use crate::geometry::length::{Round, show};

/// Largest gap between surfaces that count as joined: the error of a tape measure.
pub(super) const JOINED_M: f64 = 0.02;

/// Pairs of edges compared before the check gives up: a second's work, and more than any site has.
const MOST_PAIRS: usize = 20_000_000;

/// Warns of drives that do not lead from the road in front of the gate to the opening; true if they do.
pub(super) fn check(site: &Site, drawn: &Drawn, notes: &mut Notes) -> bool {
    if site.drives.is_empty() || site.roads.is_empty() {
        return false;
    }
    // A plan too large to check gets no warning.
    let Some(warnings) = Joints::new(site).warnings(site) else { return false };
    let joined = warnings.is_empty();
    for (drive, message) in warnings {
        let nobody = Who::default();
        let who = drawn.drives.get(drive).unwrap_or(&nobody);
        notes.warn(who, "/geometry/coordinates", "", message);
    }
    joined
}

/// A surface the tires may reach: a road, a drive, or the line between the faces of the posts.
struct Surface {
    ground: Option<Ground>,
    edges: Vec<(Point, Point)>,
    low: Point,
    high: Point,
}

impl Surface {
    fn of(ground: &Ground) -> Self {
        let edges = ground.edges().collect();
        let (low, high) = bounds(ground.outer.0.iter().copied(), 0.0);
        Self { ground: Some(ground.clone()), edges, low, high }
    }

    fn line(a: Point, b: Point) -> Self {
        let (low, high) = bounds([a, b].into_iter(), 0.0);
        Self { ground: None, edges: vec![(a, b)], low, high }
    }

    fn holds(&self, p: Point) -> bool {
        self.ground.as_ref().is_some_and(|ground| covers(ground, p))
    }

    /// Edges that come near a box.
    fn edges_near(&self, low: Point, high: Point) -> Vec<(Point, Point)> {
        let near = |(a, b): &&(Point, Point)| {
            a.x.min(b.x) <= high.x + JOINED_M
                && a.x.max(b.x) >= low.x - JOINED_M
                && a.y.min(b.y) <= high.y + JOINED_M
                && a.y.max(b.y) >= low.y - JOINED_M
        };
        self.edges.iter().filter(near).copied().collect()
    }
}

/// The roads, the drives and, last, the opening.
struct Joints {
    surfaces: Vec<Surface>,
    roads: usize,
    work: usize,
}

impl Joints {
    fn new(site: &Site) -> Self {
        let grounds = site.roads.iter().map(|road| &road.surface).chain(&site.drives);
        let mut surfaces: Vec<Surface> = grounds.map(Surface::of).collect();
        surfaces.push(Surface::line(site.gate.left, site.gate.right));
        Self { surfaces, roads: site.roads.len(), work: 0 }
    }

    /// Counts work; `None` when it exceeds the limit.
    fn spend(&mut self, pairs: usize) -> Option<()> {
        self.work = self.work.saturating_add(pairs);
        (self.work <= MOST_PAIRS).then_some(())
    }

    /// The warnings, each with the index of its drive; `None` if the work limit is reached first.
    fn warnings(&mut self, site: &Site) -> Option<Vec<(usize, String)>> {
        let opening = self.surfaces.len() - 1;
        let from_road = self.group(0)?;
        if from_road[opening] {
            return Some(Vec::new());
        }
        let from_gate = self.group(opening)?;
        let drives = |group: &[bool]| -> Vec<usize> { (self.roads..opening).filter(|i| group[*i]).collect() };
        let (at_road, at_gate) = (drives(&from_road), drives(&from_gate));
        let roads: Vec<usize> = (0..self.roads).filter(|i| from_road[*i]).collect();
        let all: Vec<usize> = (self.roads..opening).collect();
        let first_road = self.roads;
        let shown = |m: f64| show(m, site.units, Round::Up);
        let label = |i: usize| match site.roads.get(i) {
            Some(road) => format!("the road \"{}\"", road.surface.label),
            None => format!("the drive \"{}\"", site.drives[i - first_road].label),
        };
        let kept_to = "tires keep to roads and drives, so nothing gets to the gate";
        let mut warnings = Vec::new();
        if !at_road.is_empty() && !at_gate.is_empty() {
            let (gap, from, to) = self.nearest(&at_road, &at_gate)?;
            let off = format!("is {} away from {}", shown(gap), label(from));
            warnings.push((to - first_road, format!("{off}: {kept_to}; draw the two so that they meet")));
            return Some(warnings);
        }
        if at_road.is_empty() {
            let (gap, road, drive) =
                self.nearest(&roads, if at_gate.is_empty() { &all } else { &at_gate })?;
            let off = format!("ends {} short of {}", shown(gap), label(road));
            warnings.push((drive - first_road, format!("{off}: {kept_to}; draw it out to the road")));
        }
        if at_gate.is_empty() {
            let (gap, _, drive) =
                self.nearest(&[opening], if at_road.is_empty() { &all } else { &at_road })?;
            let off = format!("ends {} short of the opening of the gate", shown(gap));
            warnings.push((drive - first_road, format!("{off}: {kept_to}; draw it out to the gate line")));
        }
        Some(warnings)
    }

    /// The surfaces joined to one, directly or through others.
    fn group(&mut self, start: usize) -> Option<Vec<bool>> {
        let mut reached = vec![false; self.surfaces.len()];
        reached[start] = true;
        let mut open = vec![start];
        while let Some(from) = open.pop() {
            for (to, reached) in reached.iter_mut().enumerate() {
                if !*reached && self.joined(from, to)? {
                    *reached = true;
                    open.push(to);
                }
            }
        }
        Some(reached)
    }

    fn joined(&mut self, i: usize, j: usize) -> Option<bool> {
        self.spend(1)?;
        let (a, b) = (&self.surfaces[i], &self.surfaces[j]);
        if apart(a, b) > JOINED_M {
            return Some(false);
        }
        let (a_edges, b_edges) = (a.edges_near(b.low, b.high), b.edges_near(a.low, a.high));
        let overlap = a.holds(b.edges[0].0) || b.holds(a.edges[0].0);
        self.spend(self.surfaces[i].edges.len() + self.surfaces[j].edges.len())?;
        if overlap {
            return Some(true);
        }
        for (p, q) in &a_edges {
            self.spend(b_edges.len())?;
            if b_edges.iter().any(|(r, s)| between(*p, *q, *r, *s) <= JOINED_M) {
                return Some(true);
            }
        }
        Some(false)
    }

    /// The nearest two surfaces of two lists that are not joined, and the distance between them.
    fn nearest(&mut self, from: &[usize], to: &[usize]) -> Option<(f64, usize, usize)> {
        let mut best: Option<(f64, usize, usize)> = None;
        for (i, j) in from.iter().flat_map(|i| to.iter().map(move |j| (*i, *j))) {
            self.spend(1)?;
            let (a, b) = (&self.surfaces[i], &self.surfaces[j]);
            if best.is_some_and(|(gap, ..)| apart(a, b) >= gap) {
                continue;
            }
            let pairs = a.edges.len().saturating_mul(b.edges.len());
            self.spend(pairs)?;
            let (a, b) = (&self.surfaces[i], &self.surfaces[j]);
            let gaps = a.edges.iter().flat_map(|(p, q)| b.edges.iter().map(|(r, s)| between(*p, *q, *r, *s)));
            let gap = gaps.fold(f64::INFINITY, f64::min);
            if best.is_none_or(|(least, ..)| gap < least) {
                best = Some((gap, i, j));
            }
        }
        best
    }
}

/// Distance between the boxes about two surfaces: a lower bound on the distance between the surfaces.
fn apart(a: &Surface, b: &Surface) -> f64 {
    let x = (a.low.x - b.high.x).max(b.low.x - a.high.x).max(0.0);
    let y = (a.low.y - b.high.y).max(b.low.y - a.high.y).max(0.0);
    Point::new(x, y).norm()
}

/// Distance between two segments.
pub(super) fn between(a: Point, b: Point, c: Point, d: Point) -> f64 {
    if segments_meet(a, b, c, d) {
        return 0.0;
    }
    let to = |p: Point, q: Point, r: Point| p.distance(nearest_on_segment(p, q, r));
    to(a, c, d).min(to(b, c, d)).min(to(c, a, b)).min(to(d, a, b))
}
