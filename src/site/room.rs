//! A yard with more room: the site with everything that lies deeper in, or farther to one side, moved outward.
//!
//! Behind a cut parallel to the gate line (or, to a side, beyond one square to it) everything is moved away from the
//! gate; shapes that the cut crosses are stretched. The site on the near side of the cut stays as it is, and the strip
//! between the cut and its moved copy has the cross section that the site had at the cut.
use super::{Fence, Gate, Ground, Obstacle, Site};
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
    /// The word used in results.json.
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
    /// The side.
    pub side: YardSide,
    /// Position of the cut: its distance behind the gate line, or to the side of the middle of the gate, meters.
    pub from_m: f64,
    /// Distance that everything beyond the cut is moved, meters.
    pub by_m: f64,
}

/// Position of a point relative to the cut and to the back of the posts; a point beyond both is moved.
struct Cut<'a> {
    gate: &'a Gate,
    room: MoreRoom,
    /// True if everything counts as behind the posts.
    all_behind: bool,
}

impl MoreRoom {
    /// The site with the room; roads, the gate and everything in the gate line or before it stay. `None` if nothing
    /// lies beyond the cut, or if something with a hole in it lies across the corner of the moved area.
    ///
    /// ```
    /// use wideenough::site::{MoreRoom, YardSide};
    /// let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
    ///     { "type": "Feature", "properties": { "role": "road", "width": 6, "continues": "both" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-60, -10], [60, -10]] } },
    ///     { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } },
    ///     { "type": "Feature", "properties": { "role": "obstacle", "label": "wall", "thickness": 0.2 },
    ///       "geometry": { "type": "LineString", "coordinates": [[-9, 20], [9, 20]] } } ] }"#;
    /// let site = wideenough::site::read(plan, "walled").unwrap();
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
        let cut = Cut { gate: &site.gate, room: *self, all_behind: false };
        for fence in &mut changed.fences {
            fence.line = cut.line(&fence.line, false);
        }
        let mut drives = Vec::new();
        for drive in &site.drives {
            let (outers, holes) = cut.with_holes(&drive.outer, &drive.holes)?;
            let label = &drive.label;
            let of = |outer| Ground { label: label.clone(), outer, holes: holes.clone() };
            drives.extend(outers.into_iter().map(of));
        }
        changed.drives = drives;
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
    /// Distance of a point beyond the cut, and behind the posts; to the back the cut alone counts.
    fn beyond(&self, p: Point) -> (f64, f64) {
        let at = self.gate.to_gate(p);
        let behind = if self.all_behind { f64::INFINITY } else { at.y - 0.5 * self.gate.post.depth_m };
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

    /// The pieces of a line between two points that are moved as one, each at its new position.
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

    /// A line stretched where it crosses the cut.
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

    /// A ring stretched where it crosses the cut, in the pieces it falls into: a ring across the corner of the moved
    /// area is split along the back of the posts, and only the part behind it is moved.
    fn rings(&self, ring: &Outline) -> Option<Vec<Outline>> {
        // Two edges that cross the back of the posts beyond the cut would be stretched over each other.
        let crosses = |(a, b): &(Point, Point)| {
            let ((a0, a1), (b0, b1)) = (self.beyond(*a), self.beyond(*b));
            let differ = (a1 > 0.0) != (b1 > 0.0) && a1.is_finite() && b1.is_finite();
            differ && a0 + (b0 - a0) * (a1 / (a1 - b1)) > 0.0
        };
        if ring.edges().filter(crosses).count() < 2 {
            return Some(vec![Outline(self.line(&ring.0, true))]);
        }
        let behind = Cut { all_behind: true, ..*self };
        let mut pieces = self.clipped(ring, -1.0)?;
        let after = self.clipped(ring, 1.0)?;
        pieces.extend(after.iter().map(|part| Outline(behind.line(&part.0, true))));
        Some(pieces)
    }

    /// The parts of a ring behind the back of the posts (`side` 1), or before it (-1), each closed along it; `None` if
    /// one would lie within another.
    fn clipped(&self, ring: &Outline, side: f64) -> Option<Vec<Outline>> {
        let behind = |p: Point| side * self.beyond(p).1;
        let mut edges: Vec<(Point, Point)> = ring.edges().collect();
        // Begin with an edge that comes in.
        let comes_in = edges.iter().position(|(a, b)| behind(*a) < 0.0 && behind(*b) >= 0.0)?;
        edges.rotate_left(comes_in);
        let mut parts: Vec<Outline> = Vec::new();
        for (a, b) in edges {
            let (from, to) = (behind(a), behind(b));
            let on_line = || a + (b - a) * (from / (from - to));
            if from < 0.0 && to >= 0.0 {
                parts.push(Outline(vec![on_line()]));
            }
            let part = &mut parts.last_mut()?.0;
            if to >= 0.0 {
                part.push(b);
            } else if from >= 0.0 {
                part.push(on_line());
            }
        }
        parts.iter_mut().for_each(|part| part.0.dedup());
        parts.retain(|part| part.0.len() > 2);
        let turns = ring.signed_area().signum();
        parts.iter().all(|part| part.signed_area() * turns > 0.0).then_some(parts)
    }

    /// The pieces of a ring with holes; `None` if holes would have to be split, or shared out among pieces.
    fn with_holes(&self, outer: &Outline, holes: &[Outline]) -> Option<(Vec<Outline>, Vec<Outline>)> {
        let outers = self.rings(outer)?;
        let parts: Option<Vec<Vec<Outline>>> = holes.iter().map(|hole| self.rings(hole)).collect();
        let parts = parts?;
        let whole = holes.is_empty() || outers.len() == 1 && parts.iter().all(|parts| parts.len() == 1);
        whole.then(|| (outers, parts.into_iter().flatten().collect()))
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
                let (outers, holes) = self.with_holes(&shape.outer, &shape.holes)?;
                let of = |outer| Shape { outer, holes: holes.clone(), radius_m: shape.radius_m };
                Some(outers.into_iter().map(of).collect())
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A yard walled by one line grows by exactly the requested amount, on each side.
    #[test]
    fn walls_move_outward_and_are_drawn_out() {
        let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
            { "type": "Feature", "properties": { "role": "road", "width": 6, "continues": "both" },
              "geometry": { "type": "LineString", "coordinates": [[-60, -10], [60, -10]] } },
            { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
              "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } },
            { "type": "Feature", "properties": { "role": "obstacle", "label": "wall", "thickness": 0.2 },
              "geometry": { "type": "LineString", "coordinates": [[-8, 0], [-8, 12], [8, 12], [8, 0]] } } ] }"#;
        let site = super::super::read(plan, "walled").unwrap();
        let reach = |site: &Site| {
            let corners =
                site.obstacles.iter().flat_map(|o| &o.shapes).flat_map(|s| s.outer.0.iter().copied());
            corners.fold([0.0_f64; 3], |r, p| [r[0].max(p.y), r[1].max(-p.x), r[2].max(p.x)])
        };
        let drawn = reach(&site);
        for (index, side) in [YardSide::Back, YardSide::Left, YardSide::Right].into_iter().enumerate() {
            let larger = MoreRoom { side, from_m: 5.0, by_m: 3.0 }.apply(&site).unwrap();
            let mut wanted = drawn;
            wanted[index] += 3.0;
            for (got, wanted) in reach(&larger).into_iter().zip(wanted) {
                assert!((got - wanted).abs() < 1e-9, "{side:?}: {:?}, not {wanted}", reach(&larger));
            }
            assert_eq!((&larger.gate, &larger.roads), (&site.gate, &site.roads));
        }
        assert!(MoreRoom { side: YardSide::Back, from_m: 20.0, by_m: 3.0 }.apply(&site).is_none());
    }
}
