//! Best-first search over a grid of poses, by stops and then by length.
//!
//! A step rolls a share of the least turning radius, the wheels going toward a target as fast as the steering can turn
//! them. Of the poses that fall into one cell only the shortest path is kept, with its exact pose, so every path to a
//! pose is drivable as it is. Where one comes near the way out in its place and direction, the gap is closed by
//! Newton's method over all its steering ([`Course::close`]).
use super::course::{Course, CourseLeg, Piece};
use super::forward::Forward;
use super::improve::{Priced, price_m};
use super::way_out::WayOut;
use super::yard::{Lacks, Yard};
use crate::clearance::Scratch;
use crate::geometry::wrap_angle;
use crate::motion::{Direction, State};
use crate::vehicle::Vehicle;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};
use std::hash::{BuildHasherDefault, Hasher};

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Resolution and limits of a grid.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grid {
    /// Step, as a share of the least turning radius: the angle it turns at full lock.
    pub(super) step_rad: f64,
    /// Width of a cell's headings.
    pub(super) cell_rad: f64,
    /// Width of a cell's hitch angles.
    pub(super) cell_hitch_rad: f64,
    /// Side of a cell, as a share of a step: below 1, so that a step leaves its cell.
    pub(super) cell_share: f64,
    /// Room that a pose may lack, meters: a little is repaired afterwards.
    pub(super) lenient_m: f64,
    /// Spare kept below hitch limits, radians: the repair bends hitches a little farther.
    pub(super) hitch_spare_rad: f64,
    /// Largest number of poses evaluated for each pair of stops.
    pub(super) poses: usize,
    /// Number of tries to join before the courses found are examined closely.
    pub(super) tries: usize,
}

impl Grid {
    /// Grid adapted to a vehicle: a pose of two or more trailers takes longer to compute, so fewer are evaluated.
    pub(super) fn for_units(self, vehicle: &Vehicle) -> Self {
        Self { poses: self.poses / vehicle.units.len().saturating_sub(1).max(1), ..self }
    }
}

/// A try to join is made where a place of the way out is nearer than this, in steps, ...
const NEAR_STEPS: f64 = 1.0;
/// ... and in direction.
const NEAR_RAD: f64 = 14.0 * DEGREE;
/// Largest number of failed tries to join one stretch of the way out, and the length of a stretch, meters.
const MOST_FAILED: usize = 40;
const STRETCH_M: f64 = 4.0;
/// Courses that lack more room than this are dropped, meters.
const MENDABLE_M: f64 = 0.5;
/// Courses that lack no more than this can be repaired, meters.
const PROMISING_M: f64 = 0.02;
/// Number of those that is enough for a closer examination.
const ENOUGH: usize = 8;
/// After the first one the search goes on for half as many poses again, plus this many.
const AFTER: usize = 4_000;
/// Step in which lengths are compared, meters.
const PRICE_M: f64 = 0.05;
/// Number of rejected poses kept to report what stood in the way.
const KEPT: usize = 256;

/// A pose that was reached.
struct Node {
    state: State,
    share: f64,
    target: f64,
    leg: usize,
    parent: Option<usize>,
    length_m: f64,
    /// First step of its leg.
    first: bool,
    /// True once it is not wholly inside: it is on its last leg, on the way out.
    left: bool,
}

/// Mixes the bits of a cell's number, the same on every machine (the finalizer of SplitMix64).
#[derive(Default)]
struct Mix(u64);

impl Hasher for Mix {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, bytes: &[u8]) {
        for b in bytes {
            self.write_u64(u64::from(*b) ^ self.0);
        }
    }
    fn write_u64(&mut self, value: u64) {
        let z = (value ^ (value >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        self.0 = z ^ (z >> 31);
    }
}

/// Counts of what stopped a search.
#[derive(Clone, Debug, Default)]
pub(super) struct Tally {
    /// Poses rejected, for each thing they lacked room for.
    pub(super) by: [usize; 5],
    /// Some of the poses that came too near to what stands.
    pub(super) touching: Vec<State>,
    /// Poses evaluated.
    pub(super) looked: usize,
    /// True if a grid was not searched to its end.
    pub(super) unfinished: bool,
}

/// A search from one start, continued from one number of stops to the next.
pub(super) struct Search<'a> {
    yard: &'a Yard<'a>,
    way: &'a WayOut,
    from: State,
    grid: Grid,
    step_m: f64,
    nodes: Vec<Node>,
    queue: BinaryHeap<Reverse<(u64, usize, bool)>>,
    /// Poses from which a leg driven forward may end with a stop, for the next pair of stops.
    stops_at: Vec<usize>,
    known: HashMap<u64, f64, BuildHasherDefault<Mix>>,
    scratch: Scratch,
    targets: Vec<f64>,
    forward: Forward,
    /// Pairs of stops searched.
    pairs: usize,
    /// Failed tries to join, for each stretch of the way out.
    failed: HashMap<(i64, bool), usize>,
    /// Poses evaluated before the current number of stops.
    begun: usize,
    pub(super) tally: Tally,
}

impl<'a> Search<'a> {
    pub(super) fn new(yard: &'a Yard<'a>, way: &'a WayOut, from: State, grid: Grid) -> Self {
        let mut targets =
            if yard.is_towing() { vec![-1.0, -0.5, 0.0, 0.5, 1.0] } else { vec![-1.0, 0.0, 1.0] };
        // The order decides which of two equally long paths comes first: mirror it with the place.
        if yard.mirrored {
            targets.reverse();
        }
        let mut search = Self {
            yard,
            way,
            from,
            grid,
            step_m: grid.step_rad / yard.wheels.max,
            nodes: Vec::new(),
            queue: BinaryHeap::new(),
            stops_at: Vec::new(),
            known: HashMap::default(),
            scratch: Scratch::default(),
            targets,
            forward: Forward::new(),
            pairs: 0,
            failed: HashMap::new(),
            begun: 0,
            tally: Tally::default(),
        };
        let share = from.curvature / yard.wheels.max;
        search.nodes.push(Node {
            state: from,
            share,
            target: share,
            leg: 0,
            parent: None,
            length_m: 0.0,
            first: true,
            left: false,
        });
        search.queue.push(Reverse((0, 0, false)));
        search
    }

    /// Continues with courses of `2 · pairs` stops: call it for 0, 1, 2, ... pairs in turn.
    pub(super) fn begin(&mut self, pairs: usize) {
        self.pairs = pairs;
        self.failed.clear();
        self.begun = self.tally.looked;
        if pairs > 0 {
            // Open nodes may stop there, too.
            let open = self.queue.drain().map(|Reverse((_, index, _))| index);
            let stops = |node: &Node| node.leg == 2 * (pairs - 1) && !node.left;
            let open: Vec<usize> = open.filter(|index| stops(&self.nodes[*index])).collect();
            for index in std::mem::take(&mut self.stops_at).into_iter().chain(open) {
                let node = &self.nodes[index];
                let price = self.price(&node.state, node.leg, node.length_m);
                self.queue.push(Reverse((price, index, true)));
            }
        }
    }

    /// Returns some more courses that join the way out, the most promising first: those that pass, or nearly, the
    /// cheapest of them first, and then those that lack least room. `None` when there are no more, or the work allowed
    /// is done.
    pub(super) fn courses(&mut self, spare_m: f64) -> Option<Vec<Priced>> {
        let mut found: Vec<Priced> = Vec::new();
        let (mut tries, mut promising) = (0, 0);
        let mut until = self.begun + self.grid.poses;
        let mut open = true;
        while promising < ENOUGH && tries < self.grid.tries {
            let Some(Reverse((price, index, stop))) = self.queue.pop() else {
                open = false;
                break;
            };
            if self.tally.looked >= until {
                self.queue.push(Reverse((price, index, stop)));
                open = self.tally.looked < self.begun + self.grid.poses;
                self.tally.unfinished |= !open;
                break;
            }
            let node = &self.nodes[index];
            if !stop && self.known.get(&self.cell(node)).is_some_and(|known| *known < node.length_m) {
                continue;
            }
            let leg = node.leg;
            if stop {
                self.expand(index, true);
                continue;
            }
            if leg.is_multiple_of(2) {
                if !node.left {
                    self.stops_at.push(index);
                }
                let station = if leg == 2 * self.pairs { self.near(index) } else { None };
                let station = station.filter(|station| self.is_worth_a_try(index, *station));
                tries += usize::from(station.is_some());
                let joined = station.and_then(|station| self.joined(index, station, spare_m));
                let passes = joined.as_ref().is_some_and(|priced| priced.lack_m <= PROMISING_M);
                if let Some(station) = station.filter(|_| !passes) {
                    *self.failed.entry(self.stretch(index, station)).or_default() += 1;
                }
                if let Some(priced) = joined {
                    promising += usize::from(passes);
                    if promising == 1 {
                        let so_far = self.tally.looked - self.begun;
                        until = until.min(self.begun + so_far + so_far / 2 + AFTER);
                    }
                    found.push(priced);
                }
            } else {
                self.queue.push(Reverse((self.price(&node.state, node.leg, node.length_m), index, true)));
            }
            self.expand(index, false);
        }
        let rank = |p: &Priced| if p.lack_m <= PROMISING_M { (0, p.price_m) } else { (1, p.lack_m) };
        found.sort_by(|a, b| rank(a).0.cmp(&rank(b).0).then(rank(a).1.total_cmp(&rank(b).1)));
        (open || !found.is_empty()).then_some(found)
    }

    /// Stretch of the way out at which a try joins it, with the side that the trailer is bent to.
    fn stretch(&self, index: usize, station: f64) -> (i64, bool) {
        #[allow(clippy::cast_possible_truncation, reason = "a hundred meters at most")]
        let stretch = (station / STRETCH_M) as i64;
        (stretch, self.nodes[index].state.hitch[0] > 0.0)
    }

    /// True if a try to join is worthwhile. With a trailer that is still bent joining mostly fails, most often at the
    /// nearest stretch: after some failures on one stretch the others have their turn.
    fn is_worth_a_try(&self, index: usize, station: f64) -> bool {
        let failed = self.failed.get(&self.stretch(index, station)).copied().unwrap_or(0);
        !self.yard.is_towing() || failed < MOST_FAILED
    }

    /// Length so far plus an estimate of the rest. For a forward leg with no more stops to come the estimate is the
    /// path onto the way out on open ground.
    fn price(&self, state: &State, leg: usize, length_m: f64) -> u64 {
        let lead = &state.lead;
        let (low, high) = self.way.headings;
        let middle = 0.5 * (low + high);
        let turn = wrap_angle(lead.heading - middle).abs() - 0.5 * (high - low);
        let radius_m = 1.0 / self.yard.holds;
        let mut nearest = (f64::INFINITY, &self.way.places[0].1);
        for (_, at) in &self.way.places {
            let away = (at.position - lead.position).norm2();
            if away < nearest.0 {
                nearest = (away, at);
            }
        }
        let mut left_m = (turn * radius_m).max(nearest.0.sqrt() - 0.3).max(0.0);
        if leg == 2 * self.pairs {
            let local = nearest.1.to_body(lead.position);
            let turned = wrap_angle(lead.heading - nearest.1.heading);
            left_m = left_m.max(self.forward.radii(local.y / radius_m, turned) * radius_m);
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to a few thousand")]
        let price = ((length_m + left_m) / PRICE_M) as u64;
        price
    }

    /// Adds the successors of a node, in its leg or in the next.
    fn expand(&mut self, index: usize, stop: bool) {
        let Node { state, share, leg, length_m, left, .. } = self.nodes[index];
        let leg = leg + usize::from(stop);
        let direction = if leg.is_multiple_of(2) { 1.0 } else { -1.0 };
        let wheels = self.yard.wheels;
        for at in 0..self.targets.len() {
            let target = self.targets[at];
            let begins = if stop { target } else { share };
            let ramp_m = (target - begins).abs() * wheels.lock_m;
            let chain = &self.yard.model.chain;
            let (next, ends) = if ramp_m >= self.step_m {
                let ends = begins + (target - begins) * (self.step_m / ramp_m);
                let to =
                    chain.advance(&state, direction * self.step_m, begins * wheels.max, ends * wheels.max);
                (to, ends)
            } else {
                let k = target * wheels.max;
                let turned = if ramp_m > 0.0 {
                    chain.advance(&state, direction * ramp_m, begins * wheels.max, k)
                } else {
                    state
                };
                (chain.advance(&turned, direction * (self.step_m - ramp_m), k, k), target)
            };
            let node = Node {
                state: next,
                share: ends,
                target,
                leg,
                parent: Some(index),
                length_m: length_m + self.step_m,
                first: stop,
                left,
            };
            self.add(node);
        }
    }

    fn add(&mut self, mut node: Node) {
        let may_leave = !self.yard.is_towing() && node.leg == 2 * self.pairs;
        node.left |= may_leave && !self.yard.lead_is_inside(&node.state.lead);
        let cell = self.cell(&node);
        if self.known.get(&cell).is_some_and(|known| node.length_m >= *known - 1e-9) {
            return;
        }
        self.tally.looked += 1;
        let spare_rad = self.grid.hitch_spare_rad;
        let (lack_m, what) = self.yard.lack_within(&node.state, !node.left, spare_rad, &mut self.scratch);
        if lack_m > self.grid.lenient_m {
            self.tally.by[what as usize] += 1;
            if matches!(what, Lacks::Standing | Lacks::Gate)
                && self.tally.by[what as usize] % 64 == 1
                && self.tally.touching.len() < KEPT
            {
                self.tally.touching.push(node.state);
            }
            return;
        }
        self.known.insert(cell, node.length_m);
        let price = self.price(&node.state, node.leg, node.length_m);
        self.queue.push(Reverse((price, self.nodes.len(), false)));
        self.nodes.push(node);
    }

    /// Cell of a node. Rounding to the nearest makes the cells of a mirrored place the mirrored cells.
    fn cell(&self, node: &Node) -> u64 {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few hundred either way"
        )]
        let part = |value: f64| (value.round() as i64 + 2048) as u64 & 0xFFF;
        let lead = node.state.lead;
        let side = self.grid.cell_share * self.step_m;
        let quarter = std::f64::consts::FRAC_PI_2;
        let mut cell = part(lead.position.x / side);
        cell = cell << 12 | part(lead.position.y / side);
        cell = cell << 10 | part(wrap_angle(lead.heading - quarter) / self.grid.cell_rad) & 0x3FF;
        cell = cell << 10 | part(node.state.hitch[0] / self.grid.cell_hitch_rad) & 0x3FF;
        cell = cell << 8 | part(node.state.hitch[1] / (2.0 * self.grid.cell_hitch_rad)) & 0xFF;
        // With a trailer there would be too many cells.
        let steered = if self.yard.is_towing() { 0.8 } else { 1.5 };
        cell = cell << 4 | part(steered * node.share) & 0xF;
        cell = cell << 1 | u64::from(node.left);
        cell << 4 | u64::try_from(node.leg).unwrap_or(0) & 0xF
    }

    /// Station of the way out that a node is near in place and direction.
    fn near(&self, index: usize) -> Option<f64> {
        let lead = self.nodes[index].state.lead;
        let within_m = NEAR_STEPS * self.step_m;
        let mut best: Option<(f64, f64)> = None;
        for (station, at) in &self.way.places {
            let off = at.position.distance(lead.position);
            if off < within_m.max(0.6) && best.is_none_or(|(_, least)| off < least) {
                best = Some((*station, off));
            }
        }
        let (station, _) = best?;
        let turned = wrap_angle(self.way.at(station).heading - lead.heading);
        (turned.abs() < NEAR_RAD).then_some(station)
    }

    /// Course to a node, joined to the way out near a station.
    fn joined(&self, index: usize, station: f64, spare_m: f64) -> Option<Priced> {
        let (yard, way) = (self.yard, self.way);
        let mut course = self.course(index);
        let share = self.nodes[index].share;
        let ramp_m = (way.curvature(station) / yard.wheels.max - share).abs() * yard.wheels.lock_m;
        course.joins_m = (station + ramp_m).min(way.last_join_m);
        if !course.close(&self.from.lead, yard.wheels, way, None) {
            return None;
        }
        let lack_m = yard.course_lacks(&self.from, &course, way, spare_m, MENDABLE_M);
        let price_m = price_m(yard, way, &course);
        (lack_m <= MENDABLE_M).then_some(Priced { course, lack_m, price_m })
    }

    /// Steering of the path to a node: consecutive steps with one target are one piece.
    fn course(&self, index: usize) -> Course {
        let mut way = vec![index];
        let mut at = index;
        while let Some(parent) = self.nodes[at].parent {
            way.push(parent);
            at = parent;
        }
        way.reverse();
        let lock_m = self.yard.wheels.lock_m;
        let mut legs: Vec<CourseLeg> = Vec::new();
        // Begin of the current piece, its progress, and its length.
        let mut piece: Option<(f64, f64, f64, f64)> = None;
        let finish = |legs: &mut Vec<CourseLeg>, piece: Option<(f64, f64, f64, f64)>| {
            let (Some((begins, _, ends, rolled)), Some(leg)) = (piece, legs.last_mut()) else { return };
            let hold_m = (rolled - (ends - begins).abs() * lock_m).max(0.0);
            leg.pieces.push(Piece { share: ends, hold_m });
        };
        for pair in way.windows(2) {
            let (before, node) = (&self.nodes[pair[0]], &self.nodes[pair[1]]);
            if node.first || legs.is_empty() {
                finish(&mut legs, piece.take());
                let direction =
                    if node.leg.is_multiple_of(2) { Direction::Forward } else { Direction::Reverse };
                let begins = (!node.first).then_some(before.share);
                legs.push(CourseLeg { direction, begins, pieces: Vec::new() });
            }
            let begins = if node.first { node.target } else { before.share };
            piece = match piece {
                Some((from, target, _, rolled)) if target == node.target => {
                    Some((from, target, node.share, rolled + self.step_m))
                }
                other => {
                    finish(&mut legs, other);
                    Some((begins, node.target, node.share, self.step_m))
                }
            };
        }
        finish(&mut legs, piece);
        if legs.is_empty() {
            let begins = Some(self.nodes[index].share);
            let pieces = vec![Piece { share: self.nodes[index].share, hold_m: 0.0 }];
            legs.push(CourseLeg { direction: Direction::Forward, begins, pieces });
        }
        Course { legs, joins_m: 0.0 }
    }
}
