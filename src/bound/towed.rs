//! Unit towed by the lead: the propagation of its heading, and its contacts.
//!
//! Where its hitch goes, a towed unit follows along a tractrix: with ψ its heading and d its wheelbase,
//!
//! d·dψ = cos ψ·dq - sin ψ·dp along the hitch's path (p, q),
//!
//! whatever path that is, forward or not, for its axle does not slip sideways. So the path of the lead's axle does not
//! matter, only that of the hitch. Of two headings the larger stays the larger, so a band of headings follows by its
//! two bounds.
//!
//! Headings are stored for a lead that stands in the middle of its bin: as they would be if it turned there on the
//! spot, its axle staying where it is. A lead that turns so at one line, drives, and turns back at the next has the
//! same state as one that does not; so from line to line the hitch goes from where it is for the middle of one bin to
//! where it is for the middle of the other, and nothing is given away for the bins' width. The hitch's path is not
//! straight, but nearly: two hitch paths with common ends, nowhere more than D apart and not longer than L, leave
//! headings that differ by at most D·L/d²·exp(L/d) (by parts, from the equation above, and Gronwall's inequality).
use super::body::clip;
use super::pieces::{Piece, SLACK_M};
use super::strip::{Cell, value};
use crate::clearance::ModelPart;
use crate::geometry::{Point, distance, trig};

/// A towed unit.
pub struct Towed {
    /// Distance of its hitch behind the lead's axle; negative ahead of it.
    pub behind_m: f64,
    /// Distance from its hitch to its axle.
    pub wheelbase_m: f64,
    /// Largest hitch angle either way.
    pub limit_rad: f64,
    /// Corners of its parts, from the hitch.
    pub corners: Vec<Point>,
    /// Largest distance of a corner from the hitch.
    pub reach_m: f64,
}

/// Allowances of a step from line to line, whatever the path between.
#[derive(Clone, Copy, Debug)]
pub struct Slip {
    /// Half the width of the widest bin of headings, radians.
    pub half_bin_rad: f64,
    /// Largest error of a heading from the hitch's path not being straight.
    pub bent_rad: f64,
    /// Longest path of the hitch.
    pub rolled_m: f64,
}

/// One part of the unit, shrunk, against one piece.
struct Contact {
    /// Corners of the part, from the hitch.
    corners: Vec<Point>,
    /// Outward normals of its edges and the distance of each.
    edges: Vec<(Point, f64)>,
    /// Middle of the part's box, from the hitch, and half of its length and width.
    center: Point,
    half: Point,
    /// Largest distance of a corner from the hitch.
    long_m: f64,
    /// The piece and its edges, likewise.
    piece: Vec<Point>,
    piece_edges: Vec<(Point, f64)>,
    low: Point,
    high: Point,
    grow_m: f64,
    /// True if bounds may be straightened between the ends of a cell.
    short: bool,
    step_rad: f64,
}

/// Contacts of a towed unit with what stands.
pub struct Contacts {
    list: Vec<Contact>,
}

/// A line in the frame of the towed unit.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    /// Position of the hitch while the lead's axle is at q = 0.
    pub hitch: Point,
    /// Direction of the line.
    pub along: Point,
    /// Angle of the frame.
    pub frame_rad: f64,
    /// Heading of the lead in the frame: the middle of its bin.
    pub lead_rad: f64,
}

/// Largest change of a bound over one cell that is straightened.
const TILT_RAD: f64 = 0.02;
/// Steps in which a unit is turned while it overlaps something.
const TURN_STEP_RAD: f64 = 0.004;
/// Steps against a long piece.
const FINE_STEP_RAD: f64 = 0.002;
/// Length beyond which a piece is long.
const SHORT_M: f64 = 0.8;
/// Length of the end of a long piece toward the gate, which is treated separately.
const END_M: f64 = 0.2;
/// Number of bisections of a step to find the turn at which a unit is free.
const HALVINGS: usize = 4;
/// Number of passes over all pieces for one cell.
const PASSES: usize = 2;
/// Bounds steeper than this, radians per meter, are replaced by level ones.
const STEEPEST: f64 = 1.0;
/// Least length of the stretch at whose ends a cell's bounds are evaluated.
const LEAST_M: f64 = 1e-4;

impl Towed {
    /// Heading after the hitch moved straight by (`ahead`, `aside`), from the heading `psi` whose sine and cosine are
    /// given; to the third order, with less than (l/d)⁴/4 left out for a path of length l.
    fn follow(&self, psi: f64, (sin, cos): (f64, f64), (ahead, aside): (f64, f64)) -> f64 {
        let turned = (cos * aside - sin * ahead) / self.wheelbase_m;
        let along = (cos * ahead + sin * aside) / self.wheelbase_m;
        psi + turned * (1.0 - 0.5 * along + (along * along - turned * turned) / 6.0)
    }

    /// Allowances on steps of a lead that turns by at most `curvature`, between lines `step_m` apart that it approaches
    /// at an angle off square with at least this cosine.
    #[must_use]
    pub fn slip(&self, curvature: f64, (step_m, cosine): (f64, f64), widest_bin_rad: f64) -> Slip {
        let rolled_m = step_m / cosine;
        let behind_m = self.behind_m.abs();
        let swung = behind_m * 0.5 * (curvature * rolled_m + widest_bin_rad);
        let rolled = rolled_m + behind_m * (curvature * rolled_m + widest_bin_rad);
        // An arc of this length lies within k·l²/8 of its chord, and farther measured along a line.
        let apart_m = 0.125 * curvature * rolled_m * rolled_m / cosine + swung;
        let share = rolled / self.wheelbase_m;
        let bent_rad =
            apart_m * share / self.wheelbase_m * trig::exp(share) + 0.25 * share * share * share * share;
        Slip { half_bin_rad: 0.5 * widest_bin_rad, bent_rad: bent_rad + 1e-9, rolled_m: rolled }
    }

    /// Moves a bound of headings with these values at two places over a step that moves the hitch by `went` from each,
    /// and by up to `aside_m` more to the left: `upper` or lower bound, at the same two places moved along.
    #[must_use]
    pub fn moved(
        &self,
        ends: &[f64; 2],
        went: [(f64, f64); 2],
        (aside_m, apart_m): (f64, f64),
        slip: &Slip,
        upper: bool,
    ) -> [f64; 2] {
        let trigs = ends.map(trig::sin_cos);
        self.moved_by(ends, &trigs, went, (aside_m, apart_m), slip, upper)
    }

    /// As [`Self::moved`], with sines and cosines at hand.
    #[must_use]
    pub fn moved_by(
        &self,
        ends: &[f64; 2],
        trigs: &[(f64, f64); 2],
        went: [(f64, f64); 2],
        (aside_m, apart_m): (f64, f64),
        slip: &Slip,
        upper: bool,
    ) -> [f64; 2] {
        let d = self.wheelbase_m;
        let mut there = [0, 1].map(|i| self.follow(ends[i], trigs[i], went[i]));
        let tilt = (ends[1] - ends[0]).abs();
        let share = slip.rolled_m / d;
        // Between the ends a straight bound becomes bent by at most this: second differences of the additions.
        let way = Point::new(went[1].0 - went[0].0, went[1].1 - went[0].1).norm() / d;
        let bent = 0.25 * (share * tilt * tilt + 2.0 * way * tilt + way * way);
        let slope = (there[1] - there[0]) / apart_m;
        // Addition of going farther to the left, at the ends; between them and on the way there its error is in second
        // differences.
        let left =
            [0, 1].map(|i| self.follow(ends[i], trigs[i], (went[i].0, went[i].1 + aside_m)) - there[i]);
        let off = aside_m * (0.5 * tilt * tilt + tilt * way + aside_m / d) / d;
        let given = if upper {
            (left[0].max(left[1]) + off - slope * aside_m).max(0.0) + bent + slip.bent_rad
        } else {
            (left[0].min(left[1]) - off - slope * aside_m).min(0.0) - bent - slip.bent_rad
        };
        for end in &mut there {
            *end += given;
        }
        there
    }
}

impl Contacts {
    /// Sets up the contacts of a towed unit, for cells of this length.
    ///
    /// Parts are shrunk by the error of what is not sampled: between headings one step apart and between the ends of a
    /// cell a point of the part is off the straight path between its two places by at most (turn²·reach +
    /// 2·turn·shift)/8, and the points it meets at either can be as far apart as the piece is long; and the lead's
    /// heading is known only to a bin.
    pub(super) fn new(
        towed: &Towed,
        parts: &[ModelPart],
        pieces: &[Piece],
        slip: &Slip,
        cell_m: f64,
    ) -> Self {
        let mut list = Vec::new();
        for (index, part) in parts.iter().enumerate() {
            let corners: Vec<Point> =
                part.corners.iter().map(|p| *p - Point::new(towed.wheelbase_m, 0.0)).collect();
            let reach_m = corners.iter().map(|p| p.norm()).fold(0.0, f64::max);
            let in_bin = towed.behind_m.abs() * slip.half_bin_rad * (1.0 + reach_m / towed.wheelbase_m);
            for piece in pieces.iter().filter(|piece| piece.parts[index]) {
                for outline in cut(&piece.corners) {
                    let long_m = (span(&outline) + 2.0 * piece.grow_m).min(2.0 * reach_m);
                    let short = long_m <= SHORT_M;
                    let step_rad = if short { TURN_STEP_RAD } else { FINE_STEP_RAD };
                    let off = |turn: f64, shift: f64| 0.125 * (turn * turn * reach_m + 2.0 * turn * shift);
                    let straightened = if short { off(TILT_RAD, long_m + cell_m) } else { 0.0 };
                    let less_m = in_bin + off(step_rad, long_m) + straightened + SLACK_M;
                    let Some(smaller) = shrunk(&corners, less_m) else { continue };
                    let (least, most) = corners_of_box(&smaller);
                    let (low, high) = corners_of_box(&outline);
                    let grown = Point::new(piece.grow_m, piece.grow_m);
                    list.push(Contact {
                        edges: edges(&smaller),
                        long_m: reach_m,
                        corners: smaller,
                        center: (least + most) * 0.5,
                        half: (most - least) * 0.5,
                        piece_edges: edges(&outline),
                        piece: outline,
                        low: low - grown,
                        high: high + grown,
                        grow_m: piece.grow_m,
                        short,
                        step_rad,
                    });
                }
            }
        }
        Self { list }
    }

    /// Removes from a cell the headings that certainly overlap something, inward from its bounds as far as the overlap
    /// continues.
    ///
    /// A bound is lowered where the unit overlaps the same piece at both ends of the cell's stretch: at all headings
    /// from the bound there to some lower one. Between the ends it then overlaps too: the piece is convex and so is the
    /// part.
    pub fn take_from(&self, cell: &mut Cell, from: f64, cell_m: f64, seen: &Seen) {
        for _ in 0..PASSES {
            let mut changed = false;
            for upper in [true, false] {
                let mut bound = Bound::of(cell, (from, cell_m), seen, upper);
                for contact in &self.list {
                    if !bound.touches(contact) || !take(contact, cell, (from, cell_m), seen, &bound) {
                        continue;
                    }
                    if cell.is_empty() {
                        return;
                    }
                    changed = true;
                    bound = Bound::of(cell, (from, cell_m), seen, upper);
                }
            }
            if !changed {
                break;
            }
        }
        level(cell, from, cell_m);
    }
}

/// Replaces steep bounds by level ones.
fn level(cell: &mut Cell, from: f64, cell_m: f64) {
    let at = |ends: &[f64; 2]| [cell.place.0, cell.place.1].map(|q| value(ends, q, from, cell_m));
    let (low, high) = (at(&cell.low), at(&cell.high));
    if (cell.high[1] - cell.high[0]).abs() > STEEPEST * cell_m {
        cell.high = [high[0].max(high[1]); 2];
    }
    if (cell.low[1] - cell.low[0]).abs() > STEEPEST * cell_m {
        cell.low = [low[0].min(low[1]); 2];
    }
}

/// A bound of a cell at the ends of its stretch.
struct Bound {
    upper: bool,
    /// Ends (q), and the positions of the hitch there.
    ends: [f64; 2],
    hitch: [Point; 2],
    /// Headings of the bound in the frame, and those of the other bound.
    begin: [f64; 2],
    stop: [f64; 2],
    /// Headings of the bound as unit vectors.
    ahead: [Point; 2],
}

impl Bound {
    fn of(cell: &Cell, (from, cell_m): (f64, f64), seen: &Seen, upper: bool) -> Self {
        let ends = [cell.place.0, cell.place.1.max(cell.place.0 + LEAST_M)];
        let (bound, other) = if upper { (cell.high, cell.low) } else { (cell.low, cell.high) };
        let begin = ends.map(|q| value(&bound, q, from, cell_m));
        Self {
            upper,
            ends,
            hitch: ends.map(|q| seen.hitch + seen.along * q),
            begin,
            stop: ends.map(|q| value(&other, q, from, cell_m)),
            ahead: begin.map(|psi| Point::at_angle(seen.frame_rad + psi)),
        }
    }

    /// True if the part overlaps the piece at both ends.
    fn touches(&self, contact: &Contact) -> bool {
        [0, 1].into_iter().all(|end| contact.near(self.hitch[end], self.ahead[end]))
            && [0, 1].into_iter().all(|end| contact.depth(self.hitch[end], self.ahead[end]).is_some())
    }
}

/// Lowers the upper (or raises the lower) bound of a cell for one contact; true if that changed it.
fn take(contact: &Contact, cell: &mut Cell, (from, cell_m): (f64, f64), seen: &Seen, bound: &Bound) -> bool {
    let Bound { upper, ends, hitch, begin, stop, .. } = *bound;
    let sign = if upper { -1.0 } else { 1.0 };
    let free = |begin: [f64; 2], stop: [f64; 2]| -> Option<[f64; 2]> {
        let first = contact.free_from(hitch[0], seen.frame_rad, begin[0], sign, stop[0])?;
        let second = contact.free_from(hitch[1], seen.frame_rad, begin[1], sign, stop[1])?;
        Some([first, second])
    };
    let tilted = |ends: &[f64; 2]| (ends[1] - ends[0]).abs() > TILT_RAD;
    let straight = contact.short && !tilted(&begin);
    let straight = if straight { free(begin, stop).filter(|now| !tilted(now)) } else { None };
    let now = if let Some(now) = straight {
        now
    } else {
        // Level bounds: the same headings all along.
        let (outer, last) = if upper {
            (begin[0].max(begin[1]), stop[0].min(stop[1]))
        } else {
            (begin[0].min(begin[1]), stop[0].max(stop[1]))
        };
        let Some(now) = free([outer; 2], [last; 2]) else { return false };
        let level = if upper { now[0].max(now[1]) } else { now[0].min(now[1]) };
        if sign * (2.0 * level - begin[0] - begin[1]) <= 1e-9 {
            return false;
        }
        [level; 2]
    };
    if (now[0] - begin[0]).abs() < 1e-6 && (now[1] - begin[1]).abs() < 1e-6 {
        return false;
    }
    let slope = (now[1] - now[0]) / (ends[1] - ends[0]);
    let bound = [from, from + cell_m].map(|q| now[0] + slope * (q - ends[0]));
    if upper {
        cell.high = bound
    } else {
        cell.low = bound
    }
    // Nothing is left where the bounds cross.
    let room = [cell.high[0] - cell.low[0], cell.high[1] - cell.low[1]];
    if room[0] < 0.0 && room[1] < 0.0 {
        *cell = Cell::NONE;
    } else if room[0] < 0.0 || room[1] < 0.0 {
        let q = from + cell_m * room[0] / (room[0] - room[1]);
        if room[0] < 0.0 {
            cell.place.0 = cell.place.0.max(q - SLACK_M);
        } else {
            cell.place.1 = cell.place.1.min(q + SLACK_M);
        }
    }
    true
}

impl Contact {
    /// True if the part, heading along `ahead`, is near the piece at all.
    fn near(&self, hitch: Point, ahead: Point) -> bool {
        let middle = hitch + super::body::turned(self.center, ahead);
        let (x, y) = (ahead.x.abs(), ahead.y.abs());
        let half = Point::new(self.half.x * x + self.half.y * y, self.half.x * y + self.half.y * x);
        middle.x + half.x >= self.low.x
            && middle.x - half.x <= self.high.x
            && middle.y + half.y >= self.low.y
            && middle.y - half.y <= self.high.y
    }

    /// Depth by which the part, shrunk and heading along `ahead`, overlaps the piece: an upper bound on the movement
    /// that separates them. `None` without an overlap.
    fn depth(&self, hitch: Point, ahead: Point) -> Option<f64> {
        let left = ahead.left();
        let local = |p: Point| Point::new(p.dot(ahead), p.dot(left));
        let mut depth = f64::INFINITY;
        for (normal, out) in &self.edges {
            let toward = ahead * normal.x + left * normal.y;
            let out = out + toward.dot(hitch);
            let nearest = self.piece.iter().map(|p| p.dot(toward)).fold(f64::INFINITY, f64::min);
            depth = depth.min(out - nearest);
            if depth < -self.grow_m {
                return None;
            }
        }
        for (normal, out) in &self.piece_edges {
            let toward = local(*normal);
            let out = out - normal.dot(hitch);
            let nearest = self.corners.iter().map(|p| p.dot(toward)).fold(f64::INFINITY, f64::min);
            depth = depth.min(out - nearest);
            if depth < -self.grow_m {
                return None;
            }
        }
        if depth < 0.0 || self.piece_edges.is_empty() {
            let placed: Vec<Point> = self.piece.iter().map(|p| local(*p - hitch)).collect();
            let away = distance::nearest_convex(&self.corners, &placed).distance_m;
            return (away <= self.grow_m).then_some(0.0);
        }
        Some(depth)
    }

    /// Last heading in the frame, from `begin` toward `stop`, up to which the part overlaps the piece without a break;
    /// `None` if it does not at the first. Turned by less than its depth over its reach it still overlaps.
    fn free_from(&self, hitch: Point, frame_rad: f64, begin: f64, sign: f64, stop: f64) -> Option<f64> {
        let depth = |heading: f64| self.depth(hitch, Point::at_angle(frame_rad + heading));
        let mut deep = depth(begin)?;
        let mut last = begin;
        while (last - stop) * sign <= 0.0 {
            let next = last + sign * self.step_rad.max(0.99 * deep / self.long_m);
            if let Some(there) = depth(next) {
                (last, deep) = (next, there);
                continue;
            }
            let mut out = last + sign * self.step_rad.min((next - last).abs());
            for _ in 0..HALVINGS {
                let middle = 0.5 * (last + out);
                if depth(middle).is_some() { last = middle } else { out = middle }
            }
            return Some(last);
        }
        Some(last)
    }
}

/// Outward normals of a counterclockwise outline's edges and the distance of each.
fn edges(outline: &[Point]) -> Vec<(Point, f64)> {
    let n = outline.len();
    let all = (0..n).filter_map(|i| {
        let along = (outline[(i + 1) % n] - outline[i]).unit()?;
        let outward = -along.left();
        Some((outward, outward.dot(outline[i])))
    });
    all.collect()
}

/// Convex outline with each edge moved inward; `None` if nothing is left.
fn shrunk(outline: &[Point], by_m: f64) -> Option<Vec<Point>> {
    let (mut kept, mut next) = (outline.to_vec(), Vec::new());
    for (outward, out) in edges(outline) {
        clip(&kept, outward, out - by_m, &mut next);
        std::mem::swap(&mut kept, &mut next);
        if kept.len() < 3 {
            return None;
        }
    }
    Some(kept)
}

/// Least and largest coordinates of an outline.
fn corners_of_box(outline: &[Point]) -> (Point, Point) {
    let low = outline.iter().fold(outline[0], |a, b| Point::new(a.x.min(b.x), a.y.min(b.y)));
    let high = outline.iter().fold(outline[0], |a, b| Point::new(a.x.max(b.x), a.y.max(b.y)));
    (low, high)
}

/// Largest distance between two corners.
fn span(outline: &[Point]) -> f64 {
    let all = outline.iter().flat_map(|a| outline.iter().map(|b| a.distance(*b)));
    all.fold(0.0, f64::max)
}

/// Cuts a long piece in two: its end toward the gate's middle, and the rest.
fn cut(outline: &[Point]) -> Vec<Vec<Point>> {
    if span(outline) <= SHORT_M || outline.len() < 3 {
        return vec![outline.to_vec()];
    }
    let far = outline.iter().copied().fold(outline[0], |a, b| if b.norm2() > a.norm2() { b } else { a });
    let near = outline.iter().copied().fold(outline[0], |a, b| if b.norm2() < a.norm2() { b } else { a });
    // Along the longer side of its box.
    let away = if (far.x - near.x).abs() >= (far.y - near.y).abs() {
        Point::new((far.x - near.x).signum(), 0.0)
    } else {
        Point::new(0.0, (far.y - near.y).signum())
    };
    let at = outline.iter().map(|p| p.dot(away)).fold(f64::INFINITY, f64::min) + END_M;
    let (mut end, mut rest) = (Vec::new(), Vec::new());
    clip(outline, away, at, &mut end);
    clip(outline, -away, -at, &mut rest);
    [end, rest].into_iter().filter(|part| part.len() >= 3).collect()
}
