//! Forward reachability of a lead and the unit it tows, followed together through the gate.
//!
//! Driven forward a trailer straightens, so that the uncertainty of its heading fades; in reverse it would grow. Paths
//! are therefore followed in the direction in which the vehicle drives forward: driving in from the road to the inside,
//! backing in from the inside out to where the vehicle stops to back in, for a vehicle without tire slip goes back
//! along its own path.
//!
//! The lead is followed as in [`super::backward_reach`], on lines and in bins of headings, nothing being rounded. With
//! it, for each cell of a line, goes a band of headings that the towed unit can have ([`super::strip`],
//! [`super::towed`]). Everything that stands removes places of the lead and headings of the towed unit.
//!
//! Only a rectangle about the gate is covered ([`Region`]). A vehicle that enters it, anywhere in front of the gate,
//! turned in any way and at any hitch angle that stands free, counts as having come from a start; so does one that
//! stands straight in the lane. So nothing is lost, however little of the road is covered. The closed line must go on
//! past the rectangle farther than the vehicle is long, so that behind the gate line inside it there are only vehicles
//! that came through the opening.
//! - Driving in, the path ends before the towed unit is beyond the gate (a step's length before), or the lead is deep
//!   inside or leaves the rectangle behind the gate line: then there may be a path.
//! - Pulling out, it begins where the lead is last wholly inside, and ends where no part is beyond the front any more
//!   (a step's length before), or where the lead leaves the rectangle.
//!
//! Only the paths of these two maneuvers without shunts are followed. Everything left out can only hinder: units behind
//! the first that is towed, their tires' ground, how fast the steering may change, and the stretch before backing in.
use super::backward_reach::Ended;
use super::free_space::{FreeSpace, SLACK_M};
use super::grid::{EXIT_RAD, FRAMES, Grid, TURN_RAD, count_down, to_f64};
use super::interval::Interval;
use super::rig::{Region, Rig, Way};
use super::strip::{Cell, Slice, Strip, value};
use super::towed::{Contacts, Seen, Slip};
use crate::geometry::{Point, trig};
use crate::search::lane::Lane;

/// One run.
pub struct Pull<'a, 'b> {
    rig: &'a Rig,
    grid: &'a Grid,
    terrain: FreeSpace<'b>,
    contacts: Contacts,
    slip: Slip,
    cell_m: f64,
    /// Middle of each bin: heading, its sine and cosine.
    middles: Vec<(f64, f64, f64)>,
    index: Vec<u32>,
    nodes: Vec<Node>,
    agenda: Vec<Vec<u32>>,
    waiting: usize,
    open: bool,
    /// Cells processed.
    pub work: u64,
    budget: u64,
}

#[derive(Default)]
struct Node {
    pending: Strip,
    done: Strip,
    queued: bool,
}

/// Rounding of small additions: an addition to a visited cell of less than this (meters, radians) is extended by half
/// of these, so that the propagation ends.
const REVISIT: (f64, f64) = (0.001, 5e-4);
/// Upper bound on the distance rolled between neighboring lines, in steps.
const LONGEST_STEP: f64 = 1.5;
/// Spacing of the headings at which a band is tested for having arrived.
const LOOK_RAD: f64 = 0.05;

impl<'a, 'b> Pull<'a, 'b> {
    /// Prepares a run that may process `budget` cells of this length.
    #[must_use]
    pub fn new(
        rig: &'a Rig,
        grid: &'a Grid,
        terrain: FreeSpace<'b>,
        contacts: impl FnOnce(&Slip) -> Contacts,
        (cell_m, budget): (f64, u64),
    ) -> Self {
        let angles = || (0..grid.bins).map(|bin| grid.angles(bin));
        // The largest heading off a frame's axis is that at which it is handed over, plus a step's turn.
        let most = trig::sin(EXIT_RAD) + LONGEST_STEP * grid.curvature * grid.step_m + grid.bin;
        let steepest = trig::asin(most.min(0.99));
        let used = angles().filter(|(from, to)| from.abs().max(to.abs()) <= steepest);
        let widest = used.map(|(from, to)| to - from).fold(0.0, f64::max);
        let slip = rig.towed.slip(grid.curvature, (grid.step_m, trig::cos(steepest)), widest);
        let middles = angles().map(|(from, to)| 0.5 * (from + to)).map(|angle| {
            let (sin, cos) = trig::sin_cos(angle);
            (angle, sin, cos)
        });
        let rows = FRAMES * grid.all_lines();
        Self {
            rig,
            grid,
            terrain,
            contacts: contacts(&slip),
            slip,
            cell_m,
            middles: middles.collect(),
            index: vec![u32::MAX; rows * grid.bins],
            nodes: Vec::new(),
            agenda: vec![Vec::new(); rows],
            waiting: 0,
            open: false,
            work: 0,
            budget,
        }
    }

    /// Propagates everything forward.
    ///
    /// Vehicles from one side and from the other are followed separately: between the headings that their towed units
    /// have with the leads in the same place lie many that neither has.
    pub fn run(&mut self, lane: &Lane) -> Ended {
        if self.rig.way == Way::Out {
            self.seed_inside();
            return self.follow([6, 7, 0, 1, 2, 5, 4, 3]);
        }
        // Direction in which the lane passes the gate.
        let along = lane.pose(lane.station_near(Point::default()), 0.0).heading;
        let with_lane = Point::new(if trig::cos(along) < 0.0 { -1.0 } else { 1.0 }, 0.0);
        self.seed_starts(lane);
        for into in [with_lane, -with_lane, Point::new(0.0, 1.0)] {
            self.seed_border(into);
            // In the order in which a vehicle turns toward the gate.
            let ended =
                self.follow(if into.x < 0.0 { [6, 5, 4, 3, 2, 1, 0, 7] } else { [6, 7, 0, 1, 2, 3, 4, 5] });
            if ended != Ended::Closed {
                return ended;
            }
            self.index.fill(u32::MAX);
            self.nodes.clear();
        }
        Ended::Closed
    }

    /// Propagates until nothing is pending, frames in this order.
    fn follow(&mut self, order: [usize; FRAMES]) -> Ended {
        let lines = self.grid.all_lines();
        while self.waiting > 0 {
            for row in order.iter().flat_map(|frame| frame * lines..(frame + 1) * lines) {
                if self.agenda[row].is_empty() {
                    continue;
                }
                for bin in std::mem::take(&mut self.agenda[row]) {
                    self.visit((row / lines, row % lines, bin as usize));
                    if self.open {
                        return Ended::Open;
                    }
                    if self.work > self.budget {
                        return Ended::Spent;
                    }
                }
            }
        }
        if self.open { Ended::Open } else { Ended::Closed }
    }

    /// Queues a node and returns its index.
    fn queue(&mut self, (frame, line, bin): (usize, usize, usize)) -> usize {
        let row = frame * self.grid.all_lines() + line;
        let slot = &mut self.index[row * self.grid.bins + bin];
        if *slot == u32::MAX {
            *slot = u32::try_from(self.nodes.len()).unwrap_or(u32::MAX);
            self.nodes.push(Node::default());
        }
        let slot = *slot as usize;
        if !self.nodes[slot].queued {
            self.nodes[slot].queued = true;
            self.waiting += 1;
            self.agenda[row].push(u32::try_from(bin).unwrap_or(0));
        }
        slot
    }

    /// Largest hitch angle considered: the limit, plus the half bins of uncertainty of the lead's heading.
    fn limit_rad(&self) -> f64 {
        let share = self.rig.towed.behind_m.abs() / self.rig.towed.wheelbase_m;
        self.rig.towed.limit_rad + self.slip.half_bin_rad * (1.0 + share) + 1e-9
    }

    /// True if a heading may be on the first line of a frame after it lay within half a turn between frames.
    fn may_begin(&self, bin: usize) -> bool {
        let most = trig::sin(0.5 * TURN_RAD) + self.grid.curvature * LONGEST_STEP * self.grid.step_m;
        self.grid.edge(bin + 1) >= -most && self.grid.edge(bin) <= most
    }

    /// Seeds the vehicles that stand straight in the lane, as if each had come straight from the line before.
    fn seed_starts(&mut self, lane: &Lane) {
        let (step_m, region) = (self.grid.step_m, self.rig.region);
        let last = lane.line.len().saturating_sub(2);
        let share = self.rig.towed.behind_m.abs() / self.rig.towed.wheelbase_m;
        let off = self.slip.half_bin_rad * share + 1e-6;
        for (i, pair) in lane.line.windows(2).enumerate() {
            let Some(along) = (pair[1] - pair[0]).unit() else { continue };
            let before = if i == 0 { f64::NEG_INFINITY } else { -2.0 * step_m };
            let after = if i == last { f64::INFINITY } else { pair[0].distance(pair[1]) + SLACK_M };
            for frame in 0..FRAMES {
                let (ahead, left) = self.terrain.axes[frame];
                if along.dot(ahead) < 0.8 {
                    continue;
                }
                let u = along.dot(left);
                let heading = trig::atan2(u, along.dot(ahead));
                let bins: Vec<usize> = self.grid.bins_of(u, u).filter(|b| self.grid.exit(*b) == 0).collect();
                for line in 0..self.grid.all_lines() {
                    let p = self.grid.line_p(line);
                    let at = [lane.play_m.0, lane.play_m.1].map(|offset| {
                        let c = pair[0] + along.left() * offset;
                        let t = (p - c.dot(ahead)) / along.dot(ahead);
                        (t, c + along * t)
                    });
                    let t = (at[0].0.min(at[1].0), at[0].0.max(at[1].0));
                    let near = |p: &Point| {
                        p.x.abs() <= region.aside_m + 2.0 * step_m
                            && p.y >= region.bottom_v - 2.0 * step_m
                            && p.y <= self.terrain.front_v + 2.0 * step_m
                    };
                    if t.1 < before || t.0 > after || !at.iter().any(|(_, p)| near(p)) {
                        continue;
                    }
                    let q = [at[0].1.dot(left), at[1].1.dot(left)];
                    let place = (q[0].min(q[1]) - SLACK_M, q[0].max(q[1]) + SLACK_M);
                    let mut strip = Strip::default();
                    let (low, high) = ([heading - off; 2], [heading + off; 2]);
                    strip.add(self.cell_m, &Slice { place, at: (0.0, 1.0), low, high });
                    let cells: Vec<(i32, Cell)> = strip.iter().collect();
                    for bin in &bins {
                        self.pass_on((frame, line, *bin), &cells);
                    }
                }
            }
        }
    }

    /// Seeds the vehicles that just entered the rectangle in front of the gate line across the side beyond which `into`
    /// leads inward.
    fn seed_border(&mut self, into: Point) {
        let Region { aside_m, bottom_v, .. } = self.rig.region;
        let rolled_m = LONGEST_STEP * self.grid.step_m + SLACK_M;
        let inward = -self.grid.curvature * rolled_m - SLACK_M;
        let (u, v) = if into.x > 0.0 {
            ((-aside_m, rolled_m - aside_m), (bottom_v, rolled_m))
        } else if into.x < 0.0 {
            ((aside_m - rolled_m, aside_m), (bottom_v, rolled_m))
        } else {
            ((-aside_m, aside_m), (bottom_v, bottom_v + rolled_m))
        };
        for frame in 0..FRAMES {
            let (ahead, left) = self.terrain.axes[frame];
            let heads = |angle: f64| {
                let (sin, cos) = trig::sin_cos(angle);
                (ahead * cos + left * sin).dot(into)
            };
            let comes = |bin: &usize| {
                let (from, to) = self.grid.angles(*bin);
                self.may_begin(*bin) && heads(from).max(heads(to)) >= inward
            };
            let bins: Vec<usize> = (0..self.grid.bins).filter(comes).collect();
            for line in 0..self.grid.all_lines() {
                let base = ahead * self.grid.line_p(line);
                let place = within((base.x, left.x), u, (-1e3, 1e3));
                let Some(place) = place.and_then(|place| within((base.y, left.y), v, place)) else {
                    continue;
                };
                for bin in &bins {
                    self.seed_bent((frame, line, *bin), place);
                }
            }
        }
    }

    /// Seeds the vehicles that were wholly inside with the lead less than a step ago.
    fn seed_inside(&mut self) {
        for frame in 0..FRAMES {
            for line in 0..self.grid.all_lines() {
                for bin in (0..self.grid.bins).filter(|bin| self.may_begin(*bin)).collect::<Vec<_>>() {
                    if let Some(place) = self.terrain.seeds((false, 1), (frame, line, bin)) {
                        self.seed_bent((frame, line, bin), place);
                    }
                }
            }
        }
    }

    /// Adds a stretch of a line with any hitch angle.
    fn seed_bent(&mut self, node: (usize, usize, usize), place: Interval) {
        let (heading, ..) = self.middles[node.2];
        let most = self.limit_rad();
        let slot = self.queue(node);
        let (low, high) = ([heading - most; 2], [heading + most; 2]);
        self.nodes[slot].pending.add(self.cell_m, &Slice { place, at: (0.0, 1.0), low, high });
    }

    fn visit(&mut self, node: (usize, usize, usize)) {
        let (frame, line, bin) = node;
        let row = frame * self.grid.all_lines() + line;
        let slot = self.index[row * self.grid.bins + bin] as usize;
        let pending = std::mem::take(&mut self.nodes[slot].pending);
        self.nodes[slot].queued = false;
        self.waiting -= 1;
        let Some(place) = pending.place() else { return };
        let free = match self.rig.way {
            Way::In => self.terrain.standable(false, node, place),
            Way::Out => self.terrain.free((false, false), node, place),
        };
        let seen = self.seen(node);
        let most = self.limit_rad();
        let mut fresh = Vec::new();
        for (number, mut cell) in pending.iter() {
            let first = free.partition_point(|f| f.1 < cell.place.0);
            let after = free.partition_point(|f| f.0 <= cell.place.1);
            if first >= after {
                continue;
            }
            cell.place = (cell.place.0.max(free[first].0), cell.place.1.min(free[after - 1].1));
            let ends = [cell.place.0, cell.place.1].map(|q| self.at(node, q));
            match self.leaves(&ends) {
                Some(true) => {
                    self.open = true;
                    return;
                }
                Some(false) => continue,
                None => {}
            }
            let done = self.nodes[slot].done.get(number);
            let from = f64::from(number) * self.cell_m;
            let extent = (from, self.cell_m);
            if done.holds(&cell, extent) {
                continue;
            }
            self.work += 1;
            cell.low = cell.low.map(|low| low.max(seen.lead_rad - most));
            cell.high = cell.high.map(|high| high.min(seen.lead_rad + most));
            if cell.low[0] > cell.high[0] && cell.low[1] > cell.high[1] {
                continue;
            }
            self.contacts.take_from(&mut cell, from, self.cell_m, &seen);
            if cell.is_empty() || done.holds(&cell, extent) {
                continue;
            }
            if self.arrives(&cell, from, &seen, &ends) {
                self.open = true;
                return;
            }
            let little = done.grown(REVISIT.0, REVISIT.1).holds(&cell, extent);
            cell.join(&done, extent);
            if little {
                cell = cell.grown(0.5 * REVISIT.0, 0.5 * REVISIT.1);
            }
            *self.nodes[slot].done.at(number) = cell;
            fresh.push((number, cell));
        }
        self.pass_on(node, &fresh);
    }

    /// Point at q on a line.
    fn at(&self, (frame, line, _): (usize, usize, usize), q: f64) -> Point {
        let (ahead, left) = self.terrain.axes[frame];
        ahead * self.grid.line_p(line) + left * q
    }

    /// Line of a node in the frame of the towed unit.
    fn seen(&self, node: (usize, usize, usize)) -> Seen {
        let (ahead, left) = self.terrain.axes[node.0];
        let (lead_rad, sin, cos) = self.middles[node.2];
        let hitch = self.at(node, 0.0) - (ahead * cos + left * sin) * self.rig.towed.behind_m;
        Seen { hitch, along: left, frame_rad: to_f64(node.0) * TURN_RAD, lead_rad }
    }

    /// Tests whether a stretch lies outside the rectangle: `Some(true)` if a path may leave there, `Some(false)` if the
    /// stretch can be dropped.
    fn leaves(&self, ends: &[Point; 2]) -> Option<bool> {
        let Region { aside_m, bottom_v, top_v } = self.rig.region;
        let both = |outside: &dyn Fn(&Point) -> bool| ends.iter().all(outside);
        let beside = both(&|p| p.x < -aside_m) || both(&|p| p.x > aside_m);
        let front = both(&|p| p.y < bottom_v);
        match self.rig.way {
            Way::Out => (beside || front || ends.iter().any(|p| p.y > top_v)).then_some(true),
            Way::In if ends.iter().any(|p| p.y > top_v) => Some(true),
            Way::In if front => Some(false),
            Way::In => beside.then_some(ends.iter().any(|p| p.y > 0.0)),
        }
    }

    /// True if less than a step later the vehicle may have come to the end of its path.
    fn arrives(&self, cell: &Cell, from: f64, seen: &Seen, ends: &[Point; 2]) -> bool {
        let moved = self.rig.moved_m(LONGEST_STEP * self.grid.step_m);
        // The sign makes larger what is farther on.
        let (sign, line_v) = match self.rig.way {
            Way::In => (1.0, self.terrain.goal_v() - moved),
            Way::Out => (-1.0, -self.terrain.front_v - moved),
        };
        let ahead = Point::at_angle(seen.frame_rad + seen.lead_rad);
        let turned = self.slip.half_bin_rad * self.rig.lead.reach_m();
        let corners = self.rig.lead.parts.iter().flat_map(|part| &part.corners);
        let least =
            corners.map(|p| sign * super::body::turned(*p, ahead).y).fold(f64::INFINITY, f64::min) + turned;
        if (sign * ends[0].y).max(sign * ends[1].y) + least < line_v {
            return false;
        }
        let low = [cell.place.0, cell.place.1].map(|q| value(&cell.low, q, from, self.cell_m));
        let high = [cell.place.0, cell.place.1].map(|q| value(&cell.high, q, from, self.cell_m));
        let (low, high) = (low[0].min(low[1]), high[0].max(high[1]));
        let hitch = [cell.place.0, cell.place.1].map(|q| sign * (seen.hitch + seen.along * q).y);
        let hitch = hitch[0].max(hitch[1]) + self.rig.towed.behind_m.abs() * self.slip.half_bin_rad;
        let looks = ((high - low) / LOOK_RAD).ceil().max(1.0);
        let width = (high - low).max(0.0) / looks;
        let half = 0.5 * width + self.slip.half_bin_rad;
        (0..count_down(looks)).any(|look| {
            let heading = Point::at_angle(seen.frame_rad + low + (to_f64(look) + 0.5) * width);
            let lowest = |p: &Point| sign * super::body::turned(*p, heading).y;
            let corners = self.rig.towed.corners.iter().map(lowest);
            hitch + corners.fold(f64::INFINITY, f64::min) + half * self.rig.towed.reach_m >= line_v
        })
    }

    /// Passes cells on to the next line, or to the frame they are handed to.
    fn pass_on(&mut self, node: (usize, usize, usize), cells: &[(i32, Cell)]) {
        let (frame, line, bin) = node;
        if cells.is_empty() {
            return;
        }
        if self.grid.exit(bin) != 0 {
            self.hand_over(node, cells);
            return;
        }
        if line + 1 >= self.grid.all_lines() {
            self.open = true;
            return;
        }
        let (reach, behind) = (self.grid.reach, self.rig.towed.behind_m);
        let (_, sin, cos) = self.middles[bin];
        let ways: Vec<(usize, Interval, (f64, f64))> = (0..=2 * reach)
            .map(|r| {
                let next = bin + r - reach;
                let (least, most) = self.grid.shift(bin, r);
                let (_, next_sin, next_cos) = self.middles[next];
                let went = (self.grid.step_m - behind * (next_cos - cos), least - behind * (next_sin - sin));
                (self.queue((frame, line + 1, next)), (least, most), went)
            })
            .collect();
        let cell_m = self.cell_m;
        for (number, cell) in cells {
            let from = f64::from(*number) * cell_m;
            let trigs = (cell.low.map(trig::sin_cos), cell.high.map(trig::sin_cos));
            for (slot, (least, most), went) in &ways {
                let went = [*went; 2];
                let aside = (most - least, cell_m);
                let towed = &self.rig.towed;
                let slice = Slice {
                    place: (cell.place.0 + least - 1e-9, cell.place.1 + most + 1e-9),
                    at: (from + least, from + cell_m + least),
                    low: towed.moved_by(&cell.low, &trigs.0, went, aside, &self.slip, false),
                    high: towed.moved_by(&cell.high, &trigs.1, went, aside, &self.slip, true),
                };
                self.nodes[*slot].pending.add(cell_m, &slice);
            }
        }
    }

    /// Passes cells to the neighboring frame, onto the first of its lines that lies ahead.
    fn hand_over(&mut self, (frame, line, bin): (usize, usize, usize), cells: &[(i32, Cell)]) {
        let grid = self.grid;
        let side = f64::from(grid.exit(bin));
        let next = if side > 0.0 { (frame + 1) % FRAMES } else { (frame + FRAMES - 1) % FRAMES };
        let (sin, cos) = trig::sin_cos(TURN_RAD);
        let sin = side * sin;
        let (p, step_m, behind) = (grid.line_p(line), grid.step_m, self.rig.towed.behind_m);
        let angles = grid.angles(bin);
        let turned = (trig::sin(angles.0 - side * TURN_RAD), trig::sin(angles.1 - side * TURN_RAD));
        let from_middle = trig::sin_cos(self.middles[bin].0 - side * TURN_RAD);
        let (ahead, aside) = (|q: f64| p * cos + q * sin, |q: f64| q * cos - p * sin);
        let window = grid.line_p(grid.all_lines() - 1);
        for (number, cell) in cells {
            let from = f64::from(*number) * self.cell_m;
            let reached = [ahead(cell.place.0), ahead(cell.place.1)];
            let reached = (reached[0].min(reached[1]), reached[0].max(reached[1]));
            if reached.0 < -window || reached.1 > window - step_m {
                self.open = true;
                return;
            }
            let target_of = |s: f64| count_down((s + window) / step_m) + 1;
            for target in target_of(reached.0)..=target_of(reached.1) {
                let line_p = grid.line_p(target);
                // Part of the cell within a step before that line.
                let bounds = [line_p - step_m - SLACK_M, line_p + SLACK_M].map(|s| (s - p * cos) / sin);
                let place =
                    (cell.place.0.max(bounds[0].min(bounds[1])), cell.place.1.min(bounds[0].max(bounds[1])));
                if place.0 > place.1 {
                    continue;
                }
                let way = |q: f64| line_p - ahead(q);
                let longest = way(place.0).max(way(place.1)).max(0.0);
                let turn = grid.curvature * longest;
                let (u_low, u_high) = (turned.0 - turn, turned.1 + turn);
                let slope = |u: f64| u / (1.0 - u * u).max(1e-6).sqrt();
                let (least, most) = (slope(u_low), slope(u_high));
                let there = |q: f64| aside(q) + way(q) * least;
                let ends = [from, from + self.cell_m];
                let wide = longest * (most - least) + SLACK_M;
                for target_bin in grid.bins_of(u_low, u_high) {
                    let (_, next_sin, next_cos) = self.middles[target_bin];
                    let swing = (behind * (next_cos - from_middle.1), behind * (next_sin - from_middle.0));
                    let went = ends.map(|q| (way(q) - swing.0, way(q) * least - swing.1));
                    let apart = there(ends[1]) - there(ends[0]);
                    let bound = |ends: &[f64; 2], upper: bool| {
                        let here = ends.map(|psi| psi - side * TURN_RAD);
                        self.rig.towed.moved(&here, went, (wide, apart), &self.slip, upper)
                    };
                    let q = [there(place.0), there(place.1)];
                    let slice = Slice {
                        place: (q[0].min(q[1]) - SLACK_M, q[0].max(q[1]) + wide),
                        at: (there(ends[0]), there(ends[1])),
                        low: bound(&cell.low, false),
                        high: bound(&cell.high, true),
                    };
                    let slot = self.queue((next, target, target_bin));
                    self.nodes[slot].pending.add(self.cell_m, &slice);
                }
            }
        }
    }
}

/// Part of `place` on a line whose coordinate lies within `range`; the coordinate is given by its value at q = 0 and
/// its change with q.
fn within((base, per_q): (f64, f64), range: (f64, f64), place: Interval) -> Option<Interval> {
    if per_q.abs() < 1e-9 {
        return (range.0 <= base && base <= range.1).then_some(place);
    }
    let ends = ((range.0 - base) / per_q, (range.1 - base) / per_q);
    let kept = (place.0.max(ends.0.min(ends.1)), place.1.min(ends.0.max(ends.1)));
    (kept.0 <= kept.1).then_some(kept)
}

#[cfg(test)]
mod tests;
