//! Minimax Dijkstra search for ways in over a grid of poses, from inside the gate outward.
//!
//! A maneuver is followed back from its end: the vehicle stands just inside (or at its spot), and each step undoes a
//! share of the least turning radius with the steering going toward full left, straight or full right as fast as the
//! vehicle can turn its wheels. Of all poses reached, the search always expands the one whose path needs the narrowest
//! opening so far: a bottleneck shortest path (Dijkstra's rule with the largest in place of the sum). Starting at the
//! gate, where the opening is decided, it expands only paths that need less than the best one does. It ends when the
//! vehicle stands straight in the lane. Of the poses that fall into one cell of the grid only the first is kept, so the
//! result is a drivable path up to the error of its start, and near the narrowest up to the size of a cell: from there
//! the continuous search goes on.
//!
//! Undoing also serves trailers: pulled out forward they follow, and a remaining hitch angle at the start of a way in
//! driven forward dies away on the path.
//!
//! Part of the engine, public for the tests that hold it.
use super::Problem;
use super::crossing::Crossing;
use super::templates::LegPattern;
use crate::clearance::{CollisionModel, PoseNeed, Scratch};
use crate::geometry::parallel::*;
use crate::geometry::{Point, Pose, wrap_angle};
use crate::motion::{Leg, MAX_TOWED, Path, Segment, State};
use crate::site::{Anchor, Faces, Maneuver, Side};
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};
use std::hash::{BuildHasherDefault, Hasher};

/// A grid: the length of a step, the width of the cells, and their offset.
///
/// A step is a share of the least turning radius, which is also the angle it turns at full lock: so the result of a
/// grid does not depend on the size of the vehicle. A cell's side is less than a step, so that a step leaves its cell.
#[derive(Clone, Copy, Debug)]
struct Grid {
    step_rad: f64,
    cell_rad: f64,
    cell_share: f64,
    shift: f64,
    /// Weight of a meter of violation against a meter of opening: the continuous search can remove a little, and how
    /// much is luck.
    broken_weight: f64,
    /// Width of a cell's hitch angles.
    cell_hitch_rad: f64,
}

/// Which pose of a cell is kept is luck: grids with other offsets keep others.
const GRIDS: [Grid; 4] = [
    Grid {
        step_rad: 0.14,
        cell_rad: 6.0 * DEGREE,
        cell_share: 0.6,
        shift: 0.25,
        broken_weight: 6.0,
        cell_hitch_rad: HITCH,
    },
    Grid {
        step_rad: 0.15,
        cell_rad: 6.5 * DEGREE,
        cell_share: 0.6,
        shift: 0.75,
        broken_weight: 20.0,
        cell_hitch_rad: HITCH,
    },
    Grid {
        step_rad: 0.16,
        cell_rad: 7.0 * DEGREE,
        cell_share: 0.6,
        shift: 0.0,
        broken_weight: 6.0,
        cell_hitch_rad: HITCH,
    },
    Grid {
        step_rad: 0.18,
        cell_rad: 7.0 * DEGREE,
        cell_share: 0.6,
        shift: 0.5,
        broken_weight: 20.0,
        cell_hitch_rad: HITCH,
    },
];
const HITCH: f64 = 8.0 * DEGREE;
/// Finer grids, used where the others show nothing that leads through an opening anyone would build.
const FINE_GRIDS: [Grid; 4] = [
    Grid {
        step_rad: 0.10,
        cell_rad: 4.0 * DEGREE,
        cell_share: 0.6,
        shift: 0.25,
        broken_weight: 6.0,
        cell_hitch_rad: FINE_HITCH,
    },
    Grid {
        step_rad: 0.11,
        cell_rad: 4.5 * DEGREE,
        cell_share: 0.6,
        shift: 0.75,
        broken_weight: 20.0,
        cell_hitch_rad: FINE_HITCH,
    },
    Grid {
        step_rad: 0.12,
        cell_rad: 5.0 * DEGREE,
        cell_share: 0.6,
        shift: 0.0,
        broken_weight: 6.0,
        cell_hitch_rad: FINE_HITCH,
    },
    Grid {
        step_rad: 0.13,
        cell_rad: 5.0 * DEGREE,
        cell_share: 0.6,
        shift: 0.5,
        broken_weight: 20.0,
        cell_hitch_rad: FINE_HITCH,
    },
];
const FINE_HITCH: f64 = 4.0 * DEGREE;
const DEGREE: f64 = std::f64::consts::PI / 180.0;
/// Step in which openings are compared, 2 cm: finer differences are noise of the cells.
const PRICE_M: f64 = 0.02;
/// A vehicle stands in the lane if it is within this of its direction, ...
const ALIGNED_RAD: f64 = 2.5 * DEGREE;
/// ... with every hitch within this of straight, ...
const STRAIGHT_RAD: f64 = 4.0 * DEGREE;
/// ... and this near to where it may start.
const BESIDE_M: f64 = 0.2;
/// Largest distance along the lane from where it may start.
const ZONE_M: f64 = 0.3;
/// Length of the straight forward leg before the vehicle stops to back in.
const FIRST_LEG_M: f64 = 2.0;
/// No path turns farther than this past the lane's direction or the gate's.
const BEYOND_RAD: f64 = 70.0 * DEGREE;
/// Paths that need this much more than the best one found are not wanted.
const WORTH_M: f64 = 0.5;
/// After the first path the search evaluates as many poses again, plus this many, for other paths nearly as good.
const AFTER: usize = 5_000;
/// Two paths are different when they cross the gate line this far apart, meters, or at angles this different, radians.
const APART: (f64, f64) = (0.35, 9.0 * DEGREE);

/// Node of the search: a pose of a path, going back from its end.
struct Node {
    state: State,
    share: f64,
    leg: usize,
    parent: Option<usize>,
    cost: f64,
    steps: u32,
}

/// Mixes the bits of a cell's number, the same on every machine.
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
        self.0 = super::templates::mixed(value);
    }
}

/// A way in: the seed of a continuous search.
#[derive(Clone, Debug)]
pub struct Seed {
    /// Opening it needs at the poses of the grid, plus a penalty for violations there.
    pub cost_m: f64,
    /// Path; it may begin a little turned, bent and aside in the lane, violate constraints a little, and miss its end
    /// by a meter.
    pub path: Path,
    /// Length of its pieces, over each of which the steering changes linearly.
    pub step_m: f64,
}

/// A cost in steps of [`PRICE_M`].
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to a few thousand")]
fn rounded(cost_m: f64) -> u32 {
    (cost_m / PRICE_M) as u32
}

/// Searches for up to `wanted` different ways in, the one that needs least first, evaluating no more than `poses` poses
/// on each of four grids; also returns the number of poses evaluated.
#[must_use]
pub fn ways(
    problem: &Problem,
    model: &CollisionModel,
    plan: &LegPattern,
    wanted: usize,
    poses: usize,
) -> (Vec<Seed>, usize) {
    ways_on_all(problem, model, plan, &GRIDS, (wanted, poses))
}

/// As [`ways`], on finer grids.
pub(super) fn fine_ways(
    problem: &Problem,
    model: &CollisionModel,
    plan: &LegPattern,
    wanted: usize,
    poses: usize,
) -> (Vec<Seed>, usize) {
    ways_on_all(problem, model, plan, &FINE_GRIDS, (wanted, poses))
}

fn ways_on_all(
    problem: &Problem,
    model: &CollisionModel,
    plan: &LegPattern,
    grids: &[Grid],
    (wanted, poses): (usize, usize),
) -> (Vec<Seed>, usize) {
    let on = |grid: &Grid| ways_on(problem, model, plan, *grid, (wanted, poses));
    let all: Vec<(Vec<Seed>, usize)> = grids.par_iter().map(on).collect();
    let looked = all.iter().map(|(_, looked)| looked).sum();
    let mut list: Vec<Seed> = all.into_iter().flat_map(|(ways, _)| ways).collect();
    list.sort_by(|a, b| a.cost_m.total_cmp(&b.cost_m));
    let best = list.first().map_or(0.0, |way| way.cost_m);
    list.retain(|way| way.cost_m < best + WORTH_M);
    list.truncate(wanted);
    (list, looked)
}

/// Ways in that one grid shows.
fn ways_on(
    problem: &Problem,
    model: &CollisionModel,
    plan: &LegPattern,
    grid: Grid,
    (wanted, poses): (usize, usize),
) -> (Vec<Seed>, usize) {
    let lane = problem.lane;
    let lane_heading = lane.pose(lane.station_near(Point::default()), 0.0).heading;
    let mut lattice = Lattice {
        grid,
        step_m: grid.step_rad / problem.vehicle.steering.max_curvature.max(1e-3),
        problem,
        model,
        plan,
        scratch: Scratch::default(),
        nodes: Vec::new(),
        queue: BinaryHeap::new(),
        known: HashMap::default(),
        looked: 0,
        lane_heading,
        gate_turn: wrap_angle(entering_heading(plan) - lane_heading),
    };
    lattice.begin();
    let mut found: Vec<(usize, Crossing)> = Vec::new();
    let (mut best, mut until) = (f64::INFINITY, poses);
    while let Some(Reverse((cost, _, index))) = lattice.queue.pop() {
        let node = &lattice.nodes[index];
        if node.cost > best + WORTH_M || lattice.looked >= until {
            break;
        }
        if lattice.known.get(&lattice.cell(node)).is_some_and(|first| *first < cost) {
            continue;
        }
        if lattice.in_lane(node) {
            let cost_m = node.cost;
            let crossing = lattice.crossing(index);
            // A path round the end of the gate line does not go through the gate.
            if crossing.u.abs() > 0.5 * cost_m + 1.0 || cost_m < 0.1 {
                continue;
            }
            if found.is_empty() {
                best = cost_m;
                until = until.min(lattice.looked * 2 + AFTER);
            }
            if found.iter().all(|(_, other)| crossing.differs(other, APART)) {
                found.push((index, crossing));
            }
            if found.len() >= wanted {
                break;
            }
            continue;
        }
        lattice.expand(index);
    }
    let way = |index: usize| {
        let cost_m = lattice.nodes[index].cost;
        Seed { cost_m, path: lattice.path(index), step_m: lattice.step_m }
    };
    let list = found.iter().map(|(index, _)| way(*index)).collect();
    (list, lattice.looked)
}

/// Heading straight through the gate of a vehicle that enters as the last leg does, gate frame.
pub(super) fn entering_heading(plan: &LegPattern) -> f64 {
    plan.legs.last().map_or(1.0, |(direction, _)| direction.sign()) * std::f64::consts::FRAC_PI_2
}

type Key = (u32, u32, usize);

struct Lattice<'a> {
    grid: Grid,
    step_m: f64,
    problem: &'a Problem<'a>,
    model: &'a CollisionModel,
    plan: &'a LegPattern,
    scratch: Scratch,
    nodes: Vec<Node>,
    queue: BinaryHeap<Reverse<Key>>,
    /// Least cost, in steps of [`PRICE_M`], at which each cell was reached.
    known: HashMap<u64, u32, BuildHasherDefault<Mix>>,
    looked: usize,
    /// Heading of the lane beside the gate, and the turn from it to straight through the gate.
    lane_heading: f64,
    gate_turn: f64,
}

impl Lattice<'_> {
    /// Adds the possible ends of a maneuver: just inside at several places and angles, or at the spot.
    fn begin(&mut self) {
        let (problem, model) = (self.problem, self.model);
        let last_leg = self.plan.legs.len() - 1;
        let entering = entering_heading(self.plan);
        let towed = model.chain.towed_count() > 0;
        let bends: &[f64] = if towed { &[-24.0, -12.0, 0.0, 12.0, 24.0] } else { &[0.0] };
        let mut ends: Vec<(Point, f64)> = Vec::new();
        if let Some(spot) = &problem.spot {
            let middle = model.middles[0];
            for i in 0..24 {
                let turned = f64::from(i) * 15.0 * DEGREE;
                let heading = spot.heading.map_or(turned, |wanted| wanted + turned - 180.0 * DEGREE);
                if spot.heading.is_none() || wrap_angle(turned - 180.0 * DEGREE).abs() < 40.0 * DEGREE {
                    let stands = Pose { position: Point::default(), heading };
                    ends.push((spot.at - stands.to_site(middle), heading));
                }
            }
        } else {
            for across in -5..=5 {
                for turned in [-45.0, -30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0, 45.0] {
                    ends.push((Point::new(0.4 * f64::from(across), 0.0), entering + turned * DEGREE));
                }
            }
        }
        let goal_v = model.surroundings.beyond_v + model.clearance_m;
        for (at, heading) in ends {
            for bend in bends {
                let mut hitch = [0.0; MAX_TOWED];
                if towed {
                    hitch[0] = bend * DEGREE;
                }
                let lead = Pose { position: at, heading };
                let mut state = State { lead, hitch, curvature: 0.0 };
                let need = model.need_since(None, &model.chain.unit_frames(&state), &mut self.scratch);
                self.looked += 1;
                if problem.spot.is_none() {
                    state.lead.position.y += goal_v - need.least_v;
                } else if need.least_v < goal_v {
                    continue;
                }
                let need = model.need_since(None, &model.chain.unit_frames(&state), &mut self.scratch);
                for share in [-1.0, 0.0, 1.0] {
                    self.add(Node { state, share, leg: last_leg, parent: None, cost: 0.0, steps: 0 }, &need);
                }
            }
        }
    }

    /// Angle of a node from the lane's direction.
    fn turned(&self, node: &Node) -> f64 {
        wrap_angle(node.state.lead.heading - self.lane_heading)
    }

    /// True if a node is of no use whatever it needs: it bends or turns too far, or its cell was reached at no higher
    /// cost.
    fn useless(&self, node: &Node) -> bool {
        let over = |(phi, limit): (&f64, &f64)| phi.abs() > *limit;
        if node.state.hitch.iter().zip(&self.model.hitch_limits).any(over) {
            return true;
        }
        let turned = self.turned(node);
        let most = if node.leg < self.straight_first() { 0.0 } else { self.gate_turn };
        if turned < most.min(0.0) - BEYOND_RAD || turned > most.max(0.0) + BEYOND_RAD {
            return true;
        }
        self.known.get(&self.cell(node)).is_some_and(|known| rounded(node.cost) >= *known)
    }

    /// Adds a node that is of use, unless it violates something badly or its cell was reached at no higher cost.
    fn add(&mut self, node: Node, need: &PoseNeed) {
        let model = self.model;
        if self.useless(&node) {
            return;
        }
        if self.problem.maneuver == Maneuver::BackIn && node.leg == 0 && need.most_v > model.front_v {
            return;
        }
        let cost = node.cost.max(cost(model, need, self.grid.broken_weight));
        if cost > model.widest_m {
            return;
        }
        let rounded = rounded(cost);
        let cell = self.cell(&node);
        let known = self.known.entry(cell).or_insert(u32::MAX);
        if rounded >= *known {
            return;
        }
        *known = rounded;
        let radius = 1.0 / self.problem.vehicle.steering.max_curvature;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to a few hundred")]
        let left = (self.turned(&node).abs() * radius / self.step_m) as u32;
        let left = left + if node.leg > self.straight_first() { 6 } else { 0 };
        self.queue.push(Reverse((rounded, node.steps + 3 * left, self.nodes.len())));
        self.nodes.push(Node { cost, ..node });
    }

    /// Largest change of the steering in a step, as a share of full lock.
    fn most_change(&self) -> f64 {
        let lock_distance_m = self.problem.vehicle.steering.lock_distance_m;
        if lock_distance_m > 0.0 { self.step_m / lock_distance_m } else { 2.0 }
    }

    /// Adds all possible predecessors of a node.
    fn expand(&mut self, index: usize) {
        let model = self.model;
        let Node { state, share, leg, cost, steps, .. } = self.nodes[index];
        let max = self.problem.vehicle.steering.max_curvature;
        let change = self.most_change();
        let back = -self.plan.legs[leg].0.sign() * self.step_m;
        let frames = model.chain.unit_frames(&state);
        let farthest = 25.0 + 2.0 * model.parts.iter().map(|p| p.reach_m).fold(0.0, f64::max);
        for target in [-1.0, 0.0, 1.0] {
            let before: f64 = share + (target - share).clamp(-change, change);
            let came = model.chain.advance(&state, back, share * max, before * max);
            if came.lead.position.distance(Point::default()) > farthest {
                continue;
            }
            self.looked += 1;
            let node = Node { state: came, share: before, leg, parent: Some(index), cost, steps: steps + 1 };
            // The need is computed last: it is the most expensive test.
            if self.useless(&node) {
                continue;
            }
            let now = model.chain.unit_frames(&came);
            let need = model.need_since(Some(&frames), &now, &mut self.scratch);
            self.add(node, &need);
        }
        // The leg before ends here, its wheels turned any way: they are turned again while standing.
        let kept = self.nodes[index].parent.is_some_and(|p| self.nodes[p].leg == leg);
        if leg > 0 && kept {
            let need = model.need_since(None, &frames, &mut self.scratch);
            self.looked += 1;
            for share in [-1.0, 0.0, 1.0] {
                self.add(
                    Node { state, share, leg: leg - 1, parent: Some(index), cost, steps: steps + 4 },
                    &need,
                );
            }
        }
    }

    /// The leg before which there may be nothing but straight ahead in the lane: the second, where there are more.
    fn straight_first(&self) -> usize {
        usize::from(self.plan.legs.len() > 1)
    }

    /// True if a node is where the maneuver may begin.
    fn in_lane(&self, node: &Node) -> bool {
        // A first leg may be straight ahead: the wheels are then turned while standing.
        let ready = node.leg == 0 && node.share.abs() < 1e-9 || node.leg == 1 && self.straight_first() == 1;
        if node.parent.is_none() || !ready {
            return false;
        }
        let towed = self.model.chain.towed_count() > 0;
        let (aligned, straight) = if towed && node.leg == 0 {
            (1.5 * ALIGNED_RAD, 2.5 * STRAIGHT_RAD)
        } else {
            (ALIGNED_RAD, STRAIGHT_RAD)
        };
        let lane = self.problem.lane;
        let station = lane.station_of(&node.state.lead);
        let Some(zone) = lane.stand_within(station, ZONE_M) else { return false };
        // No lane leads on to where a way out ends: its short first leg, too, begins where the vehicle may start.
        let starts = node.leg == 0 || lane.stand_within(station - FIRST_LEG_M, ZONE_M).is_some();
        if lane.leads_away && !starts {
            return false;
        }
        let at = lane.start(zone, station, 0.0);
        let offset = at.lead.to_body(node.state.lead.position).y;
        let (low, high) = zone.play_m;
        let bent = |(phi, usual): (&f64, &f64)| (phi - usual).abs() < straight;
        wrap_angle(node.state.lead.heading - at.lead.heading).abs() < aligned
            && node.state.hitch.iter().zip(&at.hitch).all(bent)
            && offset > low - BESIDE_M
            && offset < high + BESIDE_M
    }

    /// The cell of a node.
    fn cell(&self, node: &Node) -> u64 {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few hundred either way"
        )]
        let part = |value: f64| (value.floor() as i64 + 2048) as u64 & 0xFFF;
        let Pose { position, heading } = node.state.lead;
        let Grid { cell_rad, cell_share, shift, .. } = self.grid;
        let side = cell_share * self.step_m;
        let mut cell = part(position.x / side + shift);
        cell = cell << 12 | part(position.y / side + shift);
        cell = cell << 12 | part(wrap_angle(heading) / cell_rad + shift);
        cell = cell << 12 | part(node.state.hitch[0] / self.grid.cell_hitch_rad + 0.5);
        // Left, straight, right; for a trailer there would be too many cells.
        let steered = if self.model.chain.towed_count() > 0 { 0.0 } else { 1.5 * node.share };
        cell = cell << 4 | part(steered + 0.5) & 0xF;
        cell << 4 | u64::try_from(node.leg).unwrap_or(0) & 0xF
    }

    /// Crossing of the gate line by the path that begins at a node.
    fn crossing(&self, index: usize) -> Crossing {
        let mut crossing = Pose::default();
        let mut outside = false;
        let mut next = Some(index);
        while let Some(i) = next {
            let node = &self.nodes[i];
            let inside = node.state.lead.position.y >= 0.0;
            // A path may begin on a road that lies past the gate line's end: the last crossing is that of the gate.
            if inside && outside {
                crossing = node.state.lead;
            }
            outside = !inside;
            next = node.parent;
        }
        Crossing::at(&crossing)
    }

    /// Path that begins at a node.
    fn path(&self, index: usize) -> Path {
        let max = self.problem.vehicle.steering.max_curvature;
        let first = &self.nodes[index];
        let mut legs = vec![Leg { direction: self.plan.legs[0].0, segments: Vec::new() }];
        let mut start = State { curvature: 0.0, ..first.state };
        if first.leg == 1 {
            let back = -legs[0].direction.sign() * FIRST_LEG_M;
            start = self.model.chain.advance(&start, back, 0.0, 0.0);
            legs[0].segments.push(Segment::arc(FIRST_LEG_M, 0.0));
            legs.push(Leg { direction: self.plan.legs[1].0, segments: Vec::new() });
        }
        let mut at = index;
        while let Some(next) = self.nodes[at].parent {
            let (from, to) = (&self.nodes[at], &self.nodes[next]);
            if to.leg > from.leg {
                legs.push(Leg { direction: self.plan.legs[to.leg].0, segments: Vec::new() });
            } else if let Some(leg) = legs.last_mut() {
                leg.segments.push(Segment {
                    length_m: self.step_m,
                    curvature_start: from.share * max,
                    curvature_end: to.share * max,
                });
            }
            at = next;
        }
        Path { start, legs }
    }
}

/// Cost of a pose: the opening it needs, plus a penalty for violations.
fn cost(model: &CollisionModel, need: &PoseNeed, broken_weight: f64) -> f64 {
    let surroundings = &model.surroundings;
    let Faces { left, right } = surroundings.drawn_faces_u;
    let (left_u, right_u) = (need.left_u.min(60.0), need.right_u.max(-60.0));
    let broken = (-need.margin_m).max(-need.ground_m).max(0.0);
    let (opening, crossed) = match surroundings.anchor {
        Anchor::Center => (2.0 * right_u.max(-left_u), 0.0),
        Anchor::Side(Side::Left) => (right_u - left, left - left_u),
        Anchor::Side(Side::Right) => (right - left_u, right_u - right),
        // A free opening may stand anywhere, so also about the drawn middle.
        Anchor::Free => {
            let middle = 0.5 * (left + right);
            (2.0 * (right_u - middle).max(middle - left_u), 0.0)
        }
    };
    opening.max(0.0) + broken_weight * broken.max(crossed)
}
