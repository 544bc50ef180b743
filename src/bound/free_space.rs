//! Free space on each line of the grid: where a rear axle may stand, by the ground that a vehicle certainly covers and
//! what stands.
//!
//! For a bin of headings, the guaranteed coverage of the vehicle (see [`super::body`]) is moved along a line: a convex
//! part meets a convex piece over one interval, the slice of their Minkowski difference. So nothing is rounded
//! sideways. Everything is a necessary condition: a place excluded here is not possible for any state of the bin.
use super::body::{covered, farthest, turned};
use super::grid::{FRAMES, Grid, TURN_RAD, count_down, to_f64};
use super::interval::{Interval, complement, join};
use super::pieces::{Piece, pieces};
pub use super::pieces::{SLACK_M, Tried, Without};
use super::unit::Body;
use crate::clearance::{CollisionModel, Region, SideOfGate};
use crate::geometry::{Point, distance, trig};
use crate::search::EDGE_TOLERANCE_M;
use crate::site::Faces;
use std::sync::Arc;

/// Distance between the lines along which the ground is sampled; half of it is given away.
const SCAN_STEP_M: f64 = 0.01;
/// Least step along such a line: shorter gaps in the ground are not seen.
const SCAN_LEAST_M: f64 = 0.02;
/// Distance beyond the window up to which free places are computed, more than anything moves sideways between two
/// lines: so that states that leave the window are noticed.
pub const MARGIN_M: f64 = 2.0;

/// One part against one piece in one bin: their Minkowski difference, to be sliced along lines.
struct Slab {
    difference: Vec<Point>,
    grow_m: f64,
    low: f64,
    high: f64,
    /// Range along a line in which it can be met: least and largest q.
    along: Interval,
}

/// A bin of headings in one frame: everything that does not depend on the line.
struct HeadingSlice {
    /// Parts by index, with their guaranteed coverage.
    sure: Vec<(usize, Vec<Point>)>,
    /// Differences with the pieces, computed when first needed.
    slabs: Option<Vec<Slab>>,
    /// Offsets of the tires' ends: (to the left, ahead).
    tires: Vec<(f64, f64)>,
    /// True if every part covers something for certain.
    all_sure: bool,
    /// Bounds on the vehicle's lowest point (v from the axle): least and largest; `highest` is the v that it certainly
    /// reaches.
    lowest: (f64, f64),
    /// Range of that point (u from the axle), now or as many steps ago as there are legs.
    lowest_u: (f64, f64),
    highest: f64,
}

/// Free space of a unit on a site, for one run of the proof.
pub struct FreeSpace<'a> {
    body: &'a Body,
    grid: &'a Grid,
    pieces: Vec<Piece>,
    /// Axes of the frames: ahead, left.
    pub axes: Vec<(Point, Point)>,
    stances: Vec<Option<HeadingSlice>>,
    ground: Option<Arc<Region>>,
    scans: Vec<Option<Vec<Interval>>>,
    scan_half: f64,
    /// Distance outside the ground beyond which the whole of a sample is off it.
    scan_over_m: f64,
    /// Sideways limit of what is followed.
    pub window_m: f64,
    goal_v: f64,
    /// The v between which and the goal a body can only be in the opening.
    closed_v: f64,
    /// Range of the axle (u) while some of the body is in the opening.
    about_opening: (f64, f64),
    faces_u: Faces,
    ends_u: (f64, f64),
    /// Range of the axle (u) with all of the body between the ends of the closed line.
    pub between_ends: (f64, f64),
    /// The gate's front: see [`crate::clearance::Surroundings::front_v`].
    pub front_v: f64,
    /// Farthest distance of any point of the vehicle from its axle.
    reach_m: f64,
}

impl<'a> FreeSpace<'a> {
    /// Upper bound on the distance rolled from one line to the next, in steps: a little more than 1 over the cosine of
    /// 45 degrees.
    const LONGEST_STEP: f64 = 1.5;

    /// Sets up the free space for one pair of faces.
    #[must_use]
    pub fn new(
        (model, body): (&'a CollisionModel, &'a Body),
        grid: &'a Grid,
        faces: &Tried,
        without: &Without,
    ) -> Self {
        let surroundings = &model.surroundings;
        let window_m = grid.line_p(grid.all_lines() - 1);
        let reach_m = body.reach_m();
        let mut pieces = pieces(model, &body.parts, (faces, without), window_m + reach_m);
        pieces.retain(|piece| piece.parts.contains(&true));
        let (closed_v, goal_v) = closed_band(model, body);
        let about_opening = (faces.tried.left - reach_m - SLACK_M, faces.tried.right + reach_m + SLACK_M);
        let room = reach_m + Self::LONGEST_STEP * grid.step_m * (1.0 + grid.curvature * reach_m) + SLACK_M;
        let between_ends = (surroundings.left.end_u + room, surroundings.right.end_u - room);
        let axes = (0..FRAMES).map(|f| Point::at_angle(to_f64(f) * TURN_RAD)).map(|e| (e, e.left()));
        let scan_half = window_m + reach_m + 1.0;
        let turned_m = body.tires.iter().flatten().map(|p| p.norm()).fold(0.0, f64::max);
        let widest = (0..grid.bins).map(|b| grid.angles(b)).map(|(a, b)| b - a).fold(0.0, f64::max);
        let scan_over_m = EDGE_TOLERANCE_M + 0.5 * SCAN_STEP_M + 0.5 * widest * turned_m + SLACK_M;
        let scans = FRAMES * (2 * count_down(scan_half / SCAN_STEP_M) + 2);
        let ground = surroundings.ground.clone().filter(|_| *without != Without::Ground);
        Self {
            body,
            grid,
            pieces,
            axes: axes.collect(),
            stances: (0..2 * FRAMES * grid.bins).map(|_| None).collect(),
            scans: if ground.is_some() { vec![None; scans] } else { Vec::new() },
            ground,
            scan_half,
            scan_over_m,
            window_m,
            goal_v,
            closed_v,
            about_opening,
            faces_u: faces.tried,
            ends_u: (surroundings.left.end_u, surroundings.right.end_u),
            between_ends,
            front_v: surroundings.front_v(),
            reach_m,
        }
    }

    /// Returns the v of the goal: a vehicle has arrived beyond the gate once all of it lies beyond this v, or before
    /// that.
    #[must_use]
    pub const fn goal_v(&self) -> f64 {
        self.goal_v
    }

    /// Index of the slice of a bin in a frame, for a vehicle that travels nose first or (`tail`) tail first.
    fn stance(&mut self, tail: bool, frame: usize, bin: usize) -> usize {
        let index = (usize::from(tail) * FRAMES + frame) * self.grid.bins + bin;
        if self.stances[index].is_none() {
            self.stances[index] = Some(self.make_stance(tail, frame, bin));
        }
        index
    }

    fn make_stance(&self, tail: bool, frame: usize, bin: usize) -> HeadingSlice {
        let angles = self.grid.angles(bin);
        let (ahead, left) = self.axes[frame];
        let about = |p: &Point| if tail { -*p } else { *p };
        // Direction of v from the axle, in the frame's own axes.
        let up = Point::new(ahead.y, left.y);
        let mut kept = Vec::new();
        let mut lowest = (f64::INFINITY, f64::INFINITY);
        let mut highest = f64::NEG_INFINITY;
        let mut all_sure = true;
        for (index, part) in self.body.parts.iter().enumerate() {
            let corners: Vec<Point> = part.corners.iter().map(about).collect();
            lowest.0 = lowest.0.min(-farthest(&corners, angles, -up));
            let sure = covered(&corners, angles);
            if sure.len() < 3 {
                all_sure = false;
                continue;
            }
            let reach = sure.iter().map(|p| p.dot(up));
            let (low, high) =
                reach.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            lowest.1 = lowest.1.min(low);
            highest = highest.max(high);
            all_sure &= high - low > 1e3 * SLACK_M;
            kept.push((index, sure));
        }
        let middle = Point::at_angle(0.5 * (angles.0 + angles.1));
        let tires = self.body.tires.iter().flatten();
        let tires = tires.map(|p| turned(about(p), middle)).map(|p| (p.y, p.x)).collect();
        let lowest_u = self.lowest_u(frame, angles, &about);
        HeadingSlice { sure: kept, slabs: None, tires, all_sure, lowest, lowest_u, highest }
    }

    /// Range of the lowest point of the body (u from the axle) at headings of a bin, or as far off them as it can have
    /// been as many steps before as there are legs: among the corners that may then be the lowest.
    fn lowest_u(&self, frame: usize, angles: (f64, f64), about: &dyn Fn(&Point) -> Point) -> (f64, f64) {
        let (ahead, left) = self.axes[frame];
        let (along, up) = (Point::new(ahead.x, left.x), Point::new(ahead.y, left.y));
        let middle = Point::at_angle(0.5 * (angles.0 + angles.1));
        let turned_since =
            Self::LONGEST_STEP * self.grid.step_m * to_f64(self.grid.legs) * self.grid.curvature;
        let off = 0.5 * (angles.1 - angles.0) + turned_since;
        let corners = self.body.parts.iter().flat_map(|part| &part.corners);
        let placed = corners.map(|p| (turned(about(p), middle), off * p.norm()));
        let placed: Vec<(Point, f64)> = placed.collect();
        // One of the corners is at least as low as this at every heading of that range.
        let low = placed.iter().map(|(p, by)| p.dot(up) + by).fold(f64::INFINITY, f64::min);
        let may = placed.iter().filter(|(p, by)| p.dot(up) - by <= low);
        may.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), (p, by)| {
            (least.min(p.dot(along) - by), most.max(p.dot(along) + by))
        })
    }

    /// Differences of a slice's parts with what stands, in the axes of a frame.
    fn make_slabs(&self, frame: usize, sure: &[(usize, Vec<Point>)]) -> Vec<Slab> {
        let (ahead, left) = self.axes[frame];
        let mut slabs = Vec::new();
        for (index, outline) in sure {
            for piece in self.pieces.iter().filter(|piece| piece.parts[*index]) {
                let fixed: Vec<Point> =
                    piece.corners.iter().map(|p| Point::new(p.dot(ahead), p.dot(left))).collect();
                slabs.push(slab(outline, &fixed, piece.grow_m));
            }
        }
        slabs
    }

    /// Places on a line, within `place`, where the axle may stand with a heading of the bin, short of having arrived
    /// beyond the gate; with `keeps_out`, wholly in front of it.
    pub fn free(
        &mut self,
        (tail, keeps_out): (bool, bool),
        (frame, line, bin): (usize, usize, usize),
        place: Interval,
    ) -> Vec<Interval> {
        let p = self.grid.line_p(line);
        let mut taken = self.taken(tail, (frame, line, bin), place);
        let index = self.stance(tail, frame, bin);
        if let Some(stance) = &self.stances[index] {
            // Certainly arrived: the path ended before.
            self.above(frame, p, self.goal_v - stance.lowest.0 + SLACK_M, &mut taken);
            // Not arrived, but no part in front of the closed band: then the lowest point is in the opening, or past an
            // end of the closed line.
            let (faces, ends) = (self.faces_u, self.ends_u);
            let (least, most) = (stance.lowest_u.0 - SLACK_M, stance.lowest_u.1 + SLACK_M);
            let beside = [(ends.0 - least, faces.left - most), (faces.right - least, ends.1 - most)];
            self.never(frame, p, self.closed_v - stance.lowest.0 + SLACK_M, beside, &mut taken);
            // Not arrived, but all of the guaranteed coverage beyond the closed band's end: then the lowest part
            // reaches across the band, in the opening or past an end. This begins a little sooner than the end of what
            // certainly meets the band.
            if stance.all_sure {
                let (faces, ends) = (self.about_opening, self.between_ends);
                let beside = [(ends.0, faces.0), (faces.1, ends.1)];
                self.never(frame, p, self.goal_v - stance.lowest.1 - 3.0 * SLACK_M, beside, &mut taken);
            }
            if keeps_out {
                self.above(frame, p, self.front_v - stance.highest + SLACK_M, &mut taken);
            }
        }
        remaining(taken, place)
    }

    /// As [`Self::free`] for a vehicle that may be anywhere, beyond the gate too: only what stands and the ground
    /// count.
    pub fn standable(&mut self, tail: bool, node: (usize, usize, usize), place: Interval) -> Vec<Interval> {
        remaining(self.taken(tail, node, place), place)
    }

    /// Places on a line, about `place`, where something stands in the way or a tire is off the ground.
    fn taken(
        &mut self,
        tail: bool,
        (frame, line, bin): (usize, usize, usize),
        place: Interval,
    ) -> Vec<Interval> {
        let p = self.grid.line_p(line);
        let index = self.stance(tail, frame, bin);
        let mut taken: Vec<Interval> = Vec::new();
        if let Some(HeadingSlice { sure, slabs: None, .. }) = &self.stances[index] {
            let slabs = self.make_slabs(frame, sure);
            if let Some(stance) = &mut self.stances[index] {
                stance.slabs = Some(slabs);
            }
        }
        let tires = {
            let Some(stance) = &self.stances[index] else { return Vec::new() };
            for slab in stance.slabs.iter().flatten() {
                if p <= slab.low + SLACK_M || p >= slab.high - SLACK_M {
                    continue;
                }
                if slab.along.1 < place.0 || slab.along.0 > place.1 {
                    continue;
                }
                if let Some((least, most)) = distance::reach_in_band(&slab.difference, slab.grow_m, p, p) {
                    taken.push((-most + SLACK_M, -least - SLACK_M));
                }
            }
            stance.tires.clone()
        };
        if let Some(ground) = self.ground.clone() {
            for (left, ahead) in tires {
                taken.extend(
                    self.off_ground(&ground, frame, p + ahead).iter().map(|(a, b)| (a - left, b - left)),
                );
            }
        }
        taken
    }

    /// Adds the places on a line where the axle's v exceeds `v`.
    fn above(&self, frame: usize, p: f64, v: f64, taken: &mut Vec<Interval>) {
        let (ahead, left) = self.axes[frame];
        let far = 2.0 * self.window_m;
        let rest = v - p * ahead.y;
        if left.y.abs() < 1e-9 {
            if rest < 0.0 {
                taken.push((-far, far));
            }
        } else if left.y > 0.0 {
            taken.push((rest / left.y, far));
        } else {
            taken.push((-far, rest / left.y));
        }
    }

    /// Places on a line where the axle's u lies between two values.
    fn within_u(&self, frame: usize, p: f64, (low, high): (f64, f64)) -> Option<Interval> {
        let (ahead, left) = self.axes[frame];
        let base = p * ahead.x;
        if left.x.abs() < 1e-9 {
            let far = 2.0 * self.window_m;
            return (low < base && base < high).then_some((-far, far));
        }
        let ends = ((low - base) / left.x, (high - base) / left.x);
        (low < high).then_some((ends.0.min(ends.1), ends.0.max(ends.1)))
    }

    /// Adds the places on a line where the axle's v exceeds `v` while its u is in one of two stretches.
    fn never(&self, frame: usize, p: f64, v: f64, stretches: [Interval; 2], taken: &mut Vec<Interval>) {
        let mut above = Vec::new();
        self.above(frame, p, v, &mut above);
        let Some(&(from, to)) = above.first() else { return };
        for stretch in stretches {
            if let Some((a, b)) = self.within_u(frame, p, stretch) {
                taken.push((from.max(a), to.min(b)));
            }
        }
    }

    /// True if at one of these places on a line the vehicle may be beyond the gate line but past its end, not through
    /// the opening.
    pub fn past_an_end(
        &mut self,
        tail: bool,
        (frame, line, bin): (usize, usize, usize),
        places: &[Interval],
    ) -> bool {
        let far = 2.0 * self.window_m + self.reach_m;
        if self.ends_u.0 <= -far && self.ends_u.1 >= far {
            return false;
        }
        let index = self.stance(tail, frame, bin);
        let Some(stance) = self.stances[index].as_ref() else { return false };
        let p = self.grid.line_p(line);
        let mut beyond = Vec::new();
        self.above(frame, p, self.goal_v - stance.lowest.1 - SLACK_M, &mut beyond);
        // The lowest point passed the end less than a step ago.
        let moved =
            Self::LONGEST_STEP * self.grid.step_m * (1.0 + self.grid.curvature * self.reach_m) + SLACK_M;
        let left = self.ends_u.0 - stance.lowest_u.0 + moved;
        let right = self.ends_u.1 - stance.lowest_u.1 - moved;
        let past = [(f64::NEG_INFINITY, left), (right, f64::INFINITY)];
        let past = past.iter().filter_map(|range| self.within_u(frame, p, *range));
        past.flat_map(|a| beyond.iter().map(move |b| (a.0.max(b.0), a.1.min(b.1))))
            .any(|(from, to)| places.iter().any(|(a, b)| a.max(from) <= b.min(to)))
    }

    /// States to follow back: those that arrived within less than this many steps, as far from the opening as the axle
    /// can then be.
    pub fn seeds(
        &mut self,
        (tail, steps): (bool, usize),
        (frame, line, bin): (usize, usize, usize),
    ) -> Option<Interval> {
        let p = self.grid.line_p(line);
        let index = self.stance(tail, frame, bin);
        let lowest = self.stances[index].as_ref()?.lowest;
        let moved = self.moved_m(steps);
        let (low, high) = (self.goal_v - moved - lowest.1, self.goal_v - lowest.0 + SLACK_M);
        let (ahead, left) = self.axes[frame];
        let base = p * ahead.y;
        let (from, to) = if left.y.abs() < 1e-9 {
            if low > base || base > high {
                return None;
            }
            (-self.window_m, self.window_m)
        } else {
            let ends = ((low - base) / left.y, (high - base) / left.y);
            (ends.0.min(ends.1).max(-self.window_m), ends.0.max(ends.1).min(self.window_m))
        };
        // Since arriving, neither the axle nor the point that was lowest, in the opening, has moved farther than this.
        let at = self.stances[index].as_ref()?.lowest_u;
        let (a, b) =
            self.within_u(frame, p, (self.faces_u.left - at.1 - moved, self.faces_u.right - at.0 + moved))?;
        let (from, to) = (from.max(a), to.min(b));
        (from <= to).then_some((from, to))
    }

    /// Upper bound on the movement of a point of the body in this many steps, setting out within 22.5 degrees of a
    /// frame's axis.
    fn moved_m(&self, steps: usize) -> f64 {
        let steps_m = to_f64(steps) * self.grid.step_m;
        let u = trig::sin(0.5 * TURN_RAD) + self.grid.curvature * steps_m;
        let rolled = steps_m / (1.0 - u * u).max(0.01).sqrt();
        rolled * (1.0 + self.grid.curvature * self.reach_m) + SLACK_M
    }

    /// Places on the line at `p` of a frame where certainly no tire may stand, wherever within half a scan step of the
    /// line and however turned within a bin.
    fn off_ground(&mut self, ground: &Region, frame: usize, p: f64) -> &[Interval] {
        let per_frame = self.scans.len() / FRAMES;
        let row = count_down((p + self.scan_half) / SCAN_STEP_M + 0.5).min(per_frame - 1);
        let index = frame * per_frame + row;
        if self.scans[index].is_none() {
            let (ahead, left) = self.axes[frame];
            let at = ahead * (to_f64(row) * SCAN_STEP_M - self.scan_half);
            let mut off = Vec::new();
            let mut q = -self.scan_half;
            while q <= self.scan_half {
                let inside = ground.at_most_inside(at + left * q);
                let beyond = (-inside - self.scan_over_m).min(self.scan_half);
                if beyond > 0.0 {
                    off.push((q - beyond, q + beyond));
                    q += beyond.max(SCAN_LEAST_M);
                } else {
                    q += (inside + self.scan_over_m).max(SCAN_LEAST_M);
                }
            }
            join(&mut off);
            self.scans[index] = Some(off);
        }
        self.scans[index].as_deref().unwrap_or_default()
    }
}

/// Part of `place` that is not taken.
fn remaining(mut taken: Vec<Interval>, place: Interval) -> Vec<Interval> {
    taken.retain(|(a, b)| a < b && *b >= place.0 && *a <= place.1);
    join(&mut taken);
    complement(&taken, place)
}

/// Deepest closed band, from its front to where a vehicle is beyond it, that every part of the lead unit meets on both
/// sides: the fence, or at least the gate line. A vehicle that has arrived beyond the gate has arrived beyond it, then
/// or before.
fn closed_band(model: &CollisionModel, body: &Body) -> (f64, f64) {
    let surroundings = &model.surroundings;
    let met = |side: &SideOfGate, right: bool| {
        let all =
            |i: &usize| body.parts.iter().all(|p| if right { &p.right.0 } else { &p.left.0 }.contains(i));
        let deepest = (0..side.bands.len())
            .filter(all)
            .max_by(|a, b| side.bands[*a].high.total_cmp(&side.bands[*b].high));
        deepest.map_or((0.0, 0.0), |i| (side.bands[i].low, side.bands[i].high))
    };
    let (left, right) = (met(&surroundings.left, false), met(&surroundings.right, true));
    let (front, back) = (left.0.max(right.0), left.1.min(right.1));
    // Where the two sides' fences share no depth, the gate line itself is closed on both.
    let (front, back) = if front <= back { (front, back) } else { (0.0, 0.0) };
    (front - model.clearance_m, back + model.clearance_m)
}

/// Minkowski difference of a body and a piece (frame axes), in coordinates in which a line is a level and q runs along
/// it in the opposite direction: x = q, y = -p.
fn slab(body: &[Point], piece: &[Point], grow_m: f64) -> Slab {
    let apart = |b: &Point, c: &Point| Point::new(b.y - c.y, c.x - b.x);
    let mut difference = Vec::with_capacity(body.len() + piece.len());
    if let [c] = piece {
        difference.extend(body.iter().map(|b| apart(b, c)));
    } else {
        let mut points: Vec<Point> =
            body.iter().flat_map(|b| piece.iter().map(move |c| apart(b, c))).collect();
        distance::convex_hull(&mut points, &mut difference);
    }
    let low = difference.iter().map(|p| p.y).fold(f64::INFINITY, f64::min) - grow_m;
    let high = difference.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max) + grow_m;
    let least = difference.iter().map(|p| p.x).fold(f64::INFINITY, f64::min) - grow_m;
    let most = difference.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max) + grow_m;
    Slab { difference, grow_m, low, high, along: (-most, -least) }
}
