//! Backward reachability: every state that could lead to the goal, followed back from it. If no start is met, there is
//! no path.
//!
//! A vehicle without tire slip goes back along its own path, so a maneuver is followed from its end: in time reversed,
//! from a pose just arrived beyond the gate, out through it, to a pose in the lane. A node is a leg, a frame, a line
//! and a bin of headings; it holds the intervals of q that can lead to the goal. The intervals of a node are passed on
//! to the next line, to the next frame where the heading leaves this one, and to the leg before where the vehicle
//! stops.
//!
//! Why nothing is lost:
//! - A path crosses every line between its ends, in one frame at a time, and between lines every steering within the
//!   lock is allowed; how fast the steering may change is left out.
//! - A path is cut off where it first arrives; that lies less than a step before the first line it crosses going back
//!   (one step more for each leg after it that crosses no line), and [`FreeSpace::seeds`] holds all such states.
//! - A stop between two lines: out and back to the line before changes the heading by less than two steps' worth. A leg
//!   may be so short that it crosses no line at all; so every leg is followed to every earlier one, by way of stops
//!   between these two lines: back to the line before after one stop, three, ..., on to the next after two, four, ...
//! - A start between two lines: the path is extended straight back from it to the next line (`starts.rs`). That stretch
//!   is not driven, so starts are tested before what stands is.
//! - Where a lane runs on through the gate, only places with the lead's axle in front of the gate count as starts, or
//!   past the end of its line where a road meets that.
//! - Beyond the window nothing is known: a state that gets there counts as a start. So does one that gets beyond the
//!   gate line past its end.
use super::free_space::{FreeSpace, MARGIN_M, SLACK_M};
use super::grid::{FRAMES, Grid, TURN_RAD, count_down, to_f64};
use super::interval::{Interval, intersect, join, subtract};
use super::starts::{Start, starts};
use crate::geometry::trig;
use crate::motion::Direction;
use crate::search::lane::Lane;

/// Outcome of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// No start can be met: there is no path.
    Closed,
    /// A start may have been met.
    Open,
    /// The work allowed ran out.
    Spent,
}

/// The legs of a maneuver, first to last.
#[derive(Clone, Debug)]
pub struct Legs {
    /// Directions of the legs.
    pub directions: Vec<Direction>,
    /// True if the first must stay in front of the gate.
    pub first_keeps_out: bool,
}

/// Rounding of the ends of a revisited node's intervals, outward, so that the propagation ends.
const REVISIT_M: f64 = 0.002;
/// Free intervals are computed this much beyond what arrives, so that they are not computed again for each step aside.
const TOLD_BESIDE_M: f64 = 0.5;
/// Parts into which a step is cut where a heading passes from one frame to the next.
const HANDOVER_PARTS: usize = 2;
/// Factor by which a stretch between neighboring lines of one frame can be longer than one of its neighbor's, an eighth
/// of a turn away: cos 20° over cos 25° and the turn within a step.
const ODD_STEP: f64 = 1.1;
/// Largest sine off a frame's axis that is followed through stops: beyond it the state counts as escaped.
const STEEPEST: f64 = 0.95;

#[derive(Default)]
struct Node {
    /// Free intervals, computed for this stretch of its line.
    free: Vec<Interval>,
    told: Option<Interval>,
    reached: Vec<Interval>,
    pending: Vec<Interval>,
    /// True if states have arrived on the line that have not been passed on.
    queued: bool,
}

/// One run of the backward reachability.
pub struct BackwardReach<'a, 'b> {
    grid: &'a Grid,
    terrain: FreeSpace<'b>,
    legs: &'a Legs,
    starts: Vec<Vec<Start>>,
    index: Vec<u32>,
    nodes: Vec<Node>,
    /// Bins with pending states, per leg, frame and line.
    agenda: Vec<Vec<u32>>,
    waiting: usize,
    /// Transfers made.
    pub work: u64,
    budget: u64,
    open: bool,
}

impl<'a, 'b> BackwardReach<'a, 'b> {
    /// Prepares a run with at most `budget` transfers.
    #[must_use]
    pub fn new(
        grid: &'a Grid,
        terrain: FreeSpace<'b>,
        legs: &'a Legs,
        (lane, lead_ahead_m): (&Lane, f64),
        budget: u64,
    ) -> Self {
        let rows = legs.directions.len() * FRAMES * grid.all_lines();
        let starts = (0..FRAMES).map(|f| starts(grid, terrain.axes[f], lane, lead_ahead_m)).collect();
        Self {
            grid,
            terrain,
            legs,
            starts,
            index: vec![u32::MAX; rows * grid.bins],
            nodes: Vec::new(),
            agenda: vec![Vec::new(); rows],
            waiting: 0,
            work: 0,
            budget,
            open: false,
        }
    }

    /// Propagates everything back from the goal.
    pub fn run(&mut self) -> Ended {
        self.seed();
        let last = self.legs.directions.len();
        let lines = self.grid.all_lines();
        while self.waiting > 0 && !self.open {
            for leg in (0..last).rev() {
                for frame in 0..FRAMES {
                    for line in 0..lines {
                        let row = (leg * FRAMES + frame) * lines + line;
                        if self.agenda[row].is_empty() {
                            continue;
                        }
                        let bins = std::mem::take(&mut self.agenda[row]);
                        for bin in bins {
                            self.visit(leg, frame, line, bin as usize);
                            if self.open {
                                return Ended::Open;
                            }
                            if self.work > self.budget {
                                return Ended::Spent;
                            }
                        }
                    }
                }
            }
        }
        if self.open { Ended::Open } else { Ended::Closed }
    }

    /// Seeds the states that can lie on the first line back from the goal.
    fn seed(&mut self) {
        for leg in 0..self.legs.directions.len() {
            if leg == 0 && self.legs.first_keeps_out {
                continue;
            }
            let arriving = (self.tail(leg), self.legs.directions.len() - leg);
            for frame in 0..FRAMES {
                for line in 0..self.grid.all_lines() {
                    for bin in 0..self.grid.bins {
                        if let Some(interval) = self.terrain.seeds(arriving, (frame, line, bin)) {
                            self.push(leg, frame, line, bin, interval);
                        }
                    }
                }
            }
        }
    }

    /// True if the vehicle, followed back, moves tail first in a leg.
    fn tail(&self, leg: usize) -> bool {
        self.legs.directions[leg] == Direction::Forward
    }

    fn push(&mut self, leg: usize, frame: usize, line: usize, bin: usize, interval: Interval) {
        let row = (leg * FRAMES + frame) * self.grid.all_lines() + line;
        let slot = &mut self.index[row * self.grid.bins + bin];
        if *slot == u32::MAX {
            *slot = u32::try_from(self.nodes.len()).unwrap_or(u32::MAX);
            self.nodes.push(Node::default());
        }
        let node = &mut self.nodes[*slot as usize];
        node.pending.push(interval);
        if !node.queued {
            node.queued = true;
            self.waiting += 1;
            self.agenda[row].push(u32::try_from(bin).unwrap_or(0));
        }
    }

    fn visit(&mut self, leg: usize, frame: usize, line: usize, bin: usize) {
        let row = (leg * FRAMES + frame) * self.grid.all_lines() + line;
        let slot = self.index[row * self.grid.bins + bin] as usize;
        let mut arrived = std::mem::take(&mut self.nodes[slot].pending);
        self.nodes[slot].queued = false;
        self.waiting -= 1;
        self.work += arrived.len() as u64;
        join(&mut arrived);
        if leg == 0 && self.meets_start(frame, line, bin, &arrived) {
            self.open = true;
            return;
        }
        if self.terrain.past_an_end(self.tail(leg), (frame, line, bin), &arrived) {
            self.open = true;
            return;
        }
        self.tell_free(slot, (leg, frame, line, bin), &arrived);
        let fresh = self.nodes[slot].take_in(&arrived);
        let window = self.terrain.window_m;
        for (from, to) in fresh {
            self.open |= from <= -window || to >= window;
            self.pass_on(leg, frame, line, bin, (from, to));
        }
    }

    /// Computes the free intervals of a node where something arrived.
    fn tell_free(
        &mut self,
        slot: usize,
        (leg, frame, line, bin): (usize, usize, usize, usize),
        arrived: &[Interval],
    ) {
        let (Some(first), Some(last)) = (arrived.first(), arrived.last()) else { return };
        let known = self.nodes[slot].told;
        if known.is_some_and(|(from, to)| from <= first.0 - REVISIT_M && last.1 + REVISIT_M <= to) {
            return;
        }
        let (from, to) = known.unwrap_or((f64::INFINITY, f64::NEG_INFINITY));
        let told = ((first.0 - TOLD_BESIDE_M).min(from), (last.1 + TOLD_BESIDE_M).max(to));
        let far = self.terrain.window_m + MARGIN_M;
        let place = (told.0.max(-far), told.1.min(far));
        let how = (self.tail(leg), leg == 0 && self.legs.first_keeps_out);
        let node = &mut self.nodes[slot];
        node.told = Some(told);
        node.free.clear();
        if place.0 <= place.1 {
            node.free = self.terrain.free(how, (frame, line, bin), place);
        }
    }

    fn pass_on(&mut self, leg: usize, frame: usize, line: usize, bin: usize, (from, to): Interval) {
        let grid = self.grid;
        if grid.exit(bin) != 0 {
            self.hand_over(leg, frame, line, bin, (from, to));
        } else if line + 1 >= grid.all_lines() {
            self.open = true;
        } else {
            for r in 0..=2 * grid.reach {
                let (least, most) = grid.shift(bin, r);
                let next = bin + r - grid.reach;
                self.push(leg, frame, line + 1, next, (from + least - 1e-9, to + most + 1e-9));
            }
        }
        for stops in 1..=leg {
            self.stop(leg, (frame, line, bin), (from, to), stops);
        }
    }

    /// Passes states on to an earlier leg by way of this many stops before the next line.
    ///
    /// All that is driven in between lies between two lines, so it is at most a step for each leg that takes part, and
    /// u changes by at most k_max times that, and tan θ by at most that over (1 - u²)^3/2. After one stop the path back
    /// differs from the path out by twice what can be steered from the stop on; after more, by what can be steered in
    /// all.
    fn stop(
        &mut self,
        leg: usize,
        (frame, line, bin): (usize, usize, usize),
        (from, to): Interval,
        stops: usize,
    ) {
        let grid = self.grid;
        let driven_m = to_f64(stops + 1) * ODD_STEP * grid.step_m;
        let (low, high) = (grid.edge(bin), grid.edge(bin + 1));
        let steepest = low.abs().max(high.abs()) + grid.curvature * driven_m;
        if steepest > STEEPEST {
            self.open = true;
            return;
        }
        let flat = 1.0 - steepest * steepest;
        let bent = grid.curvature / (flat * flat.sqrt());
        let once = ODD_STEP * grid.step_m;
        let aside = if stops == 1 { bent * once * once } else { 0.5 * bent * driven_m * driven_m } + SLACK_M;
        let turned = (stops + 1) * grid.reach + 1;
        let bins = bin.saturating_sub(turned)..=(bin + turned).min(grid.bins - 1);
        if stops % 2 == 1 {
            let (frame, line) = ((frame + FRAMES / 2) % FRAMES, grid.all_lines() - 1 - line);
            for bin in bins {
                self.push(leg - stops, frame, line, bin, (-to - aside, -from + aside));
            }
        } else if line + 1 >= grid.all_lines() {
            self.open = true;
        } else {
            let slope = |u: f64| u / (1.0 - u * u).sqrt();
            let (least, most) = (grid.step_m * slope(low) - aside, grid.step_m * slope(high) + aside);
            for bin in bins {
                self.push(leg - stops, frame, line + 1, bin, (from + least, to + most));
            }
        }
    }

    /// Passes states to the neighboring frame, onto the first of its lines that lies ahead.
    fn hand_over(&mut self, leg: usize, frame: usize, line: usize, bin: usize, (from, to): Interval) {
        let grid = self.grid;
        let side = f64::from(grid.exit(bin));
        let next = if side > 0.0 { (frame + 1) % FRAMES } else { (frame + FRAMES - 1) % FRAMES };
        let (sin, cos) = trig::sin_cos(TURN_RAD);
        let sin = side * sin;
        let p = grid.line_p(line);
        let angles = grid.angles(bin);
        let turned = (trig::sin(angles.0 - side * TURN_RAD), trig::sin(angles.1 - side * TURN_RAD));
        // Along the old line the new p changes linearly: p' = p·cos + q·sin, q' = q·cos - p·sin.
        let ahead = |q: f64| p * cos + q * sin;
        let (first, last) = (ahead(from).min(ahead(to)), ahead(from).max(ahead(to)));
        let cell = grid.step_m / to_f64(HANDOVER_PARTS);
        let window = self.terrain.window_m;
        if first < -window || last > window - grid.step_m {
            self.open = true;
        }
        let (first, last) = (first.max(-window), last.min(window - grid.step_m));
        if first > last {
            return;
        }
        let place = |s: f64| (s + window) / cell;
        for piece in count_down(place(first))..=count_down(place(last)) {
            let low = (to_f64(piece) * cell - window).max(first);
            let high = (to_f64(piece + 1) * cell - window).min(last);
            if low > high {
                continue;
            }
            let target = piece / HANDOVER_PARTS + 1;
            let line_p = grid.line_p(target);
            let way = (line_p - high, line_p - low);
            let turn = grid.curvature * way.1;
            let (u_low, u_high) = (turned.0 - turn, turned.1 + turn);
            let slope = |u: f64| u / (1.0 - u * u).max(1e-6).sqrt();
            let aside = |s: f64| ((s - p * cos) / sin) * cos - p * sin;
            let least = (aside(low) + way.1 * slope(u_low)).min(aside(high) + way.0 * slope(u_low));
            let most = (aside(low) + way.1 * slope(u_high)).max(aside(high) + way.0 * slope(u_high));
            for target_bin in grid.bins_of(u_low, u_high) {
                self.push(leg, next, target, target_bin, (least - SLACK_M, most + SLACK_M));
            }
        }
    }

    fn meets_start(&self, frame: usize, line: usize, bin: usize, arrived: &[Interval]) -> bool {
        let p = self.grid.line_p(line);
        let (ahead, left) = self.terrain.axes[frame];
        self.starts[frame].iter().filter(|start| start.bins.contains(&bin)).any(|start| {
            let Some((low, high)) = start.on_line(p, 2.0 * self.grid.step_m) else { return false };
            let (low, high) = (low - SLACK_M, high + SLACK_M);
            // A lane may run on through the gate; a maneuver starts with the lead's axle in front of it, or past its end.
            let v = p * ahead.y + (low * left.y).min(high * left.y) + start.lead.y;
            let u = [low, high].map(|q| p * ahead.x + q * left.x + start.lead.x);
            let ends = self.terrain.between_ends;
            let in_front = v <= self.terrain.front_v + 2.0 * self.grid.step_m;
            let past = u[0].min(u[1]) <= ends.0 || u[0].max(u[1]) >= ends.1;
            (in_front || past) && arrived.iter().any(|(a, b)| *a <= high && *b >= low)
        })
    }
}

impl Node {
    /// Adds what arrived and is free; returns the new part of it.
    fn take_in(&mut self, arrived: &[Interval]) -> Vec<Interval> {
        let free = self.free.as_slice();
        let mut here = Vec::new();
        intersect(arrived, free, &mut here);
        if self.reached.is_empty() {
            self.reached.clone_from(&here);
            return here;
        }
        let mut fresh = Vec::new();
        subtract(&here, &self.reached, &mut fresh);
        if fresh.is_empty() {
            return fresh;
        }
        // Round outward, so that small gains do not go round in circles.
        for (a, b) in &mut fresh {
            *a = (*a / REVISIT_M).floor() * REVISIT_M;
            *b = (*b / REVISIT_M).ceil() * REVISIT_M;
        }
        join(&mut fresh);
        let mut rounded = Vec::new();
        intersect(&fresh, free, &mut rounded);
        fresh.clear();
        subtract(&rounded, &self.reached, &mut fresh);
        self.reached.extend_from_slice(&fresh);
        join(&mut self.reached);
        fresh
    }
}

#[cfg(test)]
mod tests;
