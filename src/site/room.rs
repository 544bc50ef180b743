//! A yard with more room: the place as it is but for what lies deeper in, or farther to one side, moved outward.
//!
//! Behind a cut parallel to the gate line (or, to a side, beyond one square to it) everything is moved away from the gate; what
//! the cut goes through is drawn out between. So the place on the near side of the cut stays as it is, and what lies between the
//! two is as it was at the cut.
use super::{Fence, Gate, Obstacle, Site};
use crate::geometry::{Outline, Point, Shape};

/// A side of a yard, seen from the road.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum YardSide {
    /// Farther from the gate.
    Back,
    /// To the left.
    Left,
    /// To the right.
    Right,
}

impl YardSide {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Back => "back",
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// A yard made larger on one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoreRoom {
    /// On which side.
    pub side: YardSide,
    /// Where the cut is: how far behind the gate line, or how far to the side of the middle of the gate, meters.
    pub from_m: f64,
    /// How far what lies beyond the cut is moved, meters.
    pub by_m: f64,
}

/// Where a place lies: how far beyond the cut, and how far behind the posts; beyond both it is moved.
struct Cut<'a> {
    gate: &'a Gate,
    room: MoreRoom,
}

impl MoreRoom {
    /// The site with the room; roads, the gate and what stands in the gate line or before it stay. `None` where nothing lies
    /// beyond the cut, or where something lies across the corner of what is moved so that it cannot be drawn out.
    ///
    /// ```
    /// use wideenough::site::{MoreRoom, YardSide};
    /// use wideenough::site::sketch::{TapeMeasurements, to_plan_text};
    /// let tape = TapeMeasurements { opening_m: 4.0, depth_inside_m: 20.0, ..TapeMeasurements::default() };
    /// let site = wideenough::site::read(&to_plan_text(&tape).unwrap(), "sketch").unwrap();
    /// let deep = |site: &wideenough::site::Site| {
    ///     let corners = site.obstacles.iter().flat_map(|o| &o.shapes).flat_map(|s| s.outer.0.clone());
    ///     corners.map(|p| site.gate.to_gate(p).y).fold(0.0, f64::max)
    /// };
    /// let deeper = MoreRoom { side: YardSide::Back, from_m: 8.0, by_m: 3.0 }.apply(&site).unwrap();
    /// assert!((deep(&deeper) - deep(&site) - 3.0).abs() < 1e-9);
    /// assert_eq!(deeper.gate, site.gate);
    /// ```
    #[must_use]
    pub fn apply(&self, site: &Site) -> Option<Site> {
        let mut changed = site.clone();
        let cut = Cut { gate: &site.gate, room: *self };
        for fence in &mut changed.fences {
            fence.line = cut.line(&fence.line, false);
        }
        for drive in &mut changed.drives {
            drive.outer = cut.ring(&drive.outer)?;
            for hole in &mut drive.holes {
                *hole = cut.ring(hole)?;
            }
        }
        for obstacle in &mut changed.obstacles {
            let shapes: Option<Vec<Vec<Shape>>> = obstacle.shapes.iter().map(|s| cut.shape(s)).collect();
            obstacle.shapes = shapes?.into_iter().flatten().collect();
        }
        let differs = changed.drives != site.drives || moved(&changed.fences, &changed.obstacles, site);
        differs.then_some(changed)
    }
}

fn moved(fences: &[Fence], obstacles: &[Obstacle], site: &Site) -> bool {
    fences != site.fences.as_slice() || obstacles != site.obstacles.as_slice()
}

impl Cut<'_> {
    /// How far a place lies beyond the cut, and behind the posts; to the back the cut alone counts.
    fn beyond(&self, p: Point) -> (f64, f64) {
        let at = self.gate.to_gate(p);
        let behind = at.y - 0.5 * self.gate.post.depth_m;
        match self.room.side {
            YardSide::Back => (at.y - self.room.from_m, f64::INFINITY),
            YardSide::Left => (-at.x - self.room.from_m, behind),
            YardSide::Right => (at.x - self.room.from_m, behind),
        }
    }

    fn is_moved(&self, p: Point) -> bool {
        let (beyond, behind) = self.beyond(p);
        beyond > 0.0 && behind > 0.0
    }

    fn shift(&self) -> Point {
        let along = (self.gate.right - self.gate.left).unit().unwrap_or_default();
        let outward = match self.room.side {
            YardSide::Back => self.gate.inward,
            YardSide::Left => -along,
            YardSide::Right => along,
        };
        outward * self.room.by_m
    }

    /// The pieces of a line between two places that are moved as one, each where it then lies.
    fn pieces(&self, a: Point, b: Point) -> Vec<(Point, Point)> {
        let ((a0, a1), (b0, b1)) = (self.beyond(a), self.beyond(b));
        let mut cuts = vec![0.0, 1.0];
        for (from, to) in [(a0, b0), (a1, b1)] {
            if (from > 0.0) != (to > 0.0) && from.is_finite() {
                cuts.push(from / (from - to));
            }
        }
        cuts.sort_by(f64::total_cmp);
        let at = |t: f64| {
            if t == 0.0 {
                a
            } else if t == 1.0 {
                b
            } else {
                a + (b - a) * t
            }
        };
        let piece = |pair: &[f64]| {
            let shift =
                if self.is_moved(at(0.5 * (pair[0] + pair[1]))) { self.shift() } else { Point::default() };
            (at(pair[0]) + shift, at(pair[1]) + shift)
        };
        cuts.windows(2).filter(|pair| pair[1] > pair[0]).map(piece).collect()
    }

    /// A line drawn out where it crosses the cut.
    fn line(&self, line: &[Point], closed: bool) -> Vec<Point> {
        let mut list: Vec<Point> = Vec::new();
        let n = line.len();
        let edges = if closed { n } else { n.saturating_sub(1) };
        for i in 0..edges {
            for (from, to) in self.pieces(line[i], line[(i + 1) % n]) {
                list.extend([from, to]);
            }
        }
        list.dedup();
        if closed && list.len() > 1 && list.first() == list.last() {
            list.pop();
        }
        list
    }

    /// A ring drawn out where it crosses the cut; `None` where it lies across the corner of what is moved.
    fn ring(&self, ring: &Outline) -> Option<Outline> {
        // Two edges that cross the line of the posts beyond the cut would be drawn out over each other.
        let crosses = |(a, b): &(Point, Point)| {
            let ((a0, a1), (b0, b1)) = (self.beyond(*a), self.beyond(*b));
            let differ = (a1 > 0.0) != (b1 > 0.0) && a1.is_finite() && b1.is_finite();
            differ && a0 + (b0 - a0) * (a1 / (a1 - b1)) > 0.0
        };
        if ring.edges().filter(crosses).count() > 1 {
            return None;
        }
        Some(Outline(self.line(&ring.0, true)))
    }

    fn shape(&self, shape: &Shape) -> Option<Vec<Shape>> {
        let core = &shape.outer.0;
        let one = |corners: Vec<Point>| Shape { outer: Outline(corners), holes: Vec::new(), ..*shape };
        match core.as_slice() {
            [at] => {
                let shift = if self.is_moved(*at) { self.shift() } else { Point::default() };
                Some(vec![one(vec![*at + shift])])
            }
            [_, _] => {
                let line = self.line(core, false);
                Some(line.windows(2).map(|pair| one(pair.to_vec())).collect())
            }
            _ => {
                let holes: Option<Vec<Outline>> = shape.holes.iter().map(|hole| self.ring(hole)).collect();
                Some(vec![Shape { outer: self.ring(&shape.outer)?, holes: holes?, radius_m: shape.radius_m }])
            }
        }
    }
}
