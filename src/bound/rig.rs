//! Rig: a lead and the unit it tows, followed together ([`super::pull`]).
use super::backward_reach::Ended;
use super::free_space::FreeSpace;
use super::grid::{Grid, count, to_f64};
use super::pieces::{SLACK_M, Tried, Without, pieces};
use super::pull::Pull;
use super::towed::{Contacts, Towed};
use super::unit::Body;
use super::{LegPattern, Problem};
use crate::clearance::{CollisionModel, ModelPart};
use crate::geometry::{Point, distance, trig};
use crate::motion::Direction;

/// Direction in which the vehicle comes through the gate, driven forward.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// From the road to the inside.
    In,
    /// From the inside to the road.
    Out,
}

/// A lead and the unit it tows.
pub struct Rig {
    /// The lead.
    pub lead: Body,
    /// The towed unit.
    pub towed: Towed,
    /// Parts of the towed unit.
    pub parts: Vec<ModelPart>,
    /// Direction in which it is followed.
    pub way: Way,
    /// Rectangle in which it is followed.
    pub region: Region,
}

/// The rectangle about the gate in which the lead's axle is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Region {
    /// Half width, to either side of the middle of the gate (u).
    pub aside_m: f64,
    /// Limit in front of the gate (least v).
    pub bottom_v: f64,
    /// Limit inside (largest v).
    pub top_v: f64,
}

/// Distances between lines, coarse to fine.
const STEPS_M: [f64; 2] = [0.3, 0.2];
/// Openings to try: the known sufficient one divided by these.
const SHARES: [f64; 7] = [1.05, 1.095, 1.15, 1.22, 1.3, 1.4, 1.55];
/// Number of openings tried beyond the plain width where no sufficient one is known, and the ratio (as a logarithm)
/// between them.
const LADDER: usize = 8;
const RUNG: f64 = 0.08;
/// Half width of the rectangle for a vehicle that drives in: what enters it in front of the gate counts as having come
/// from a start, and a wider one makes no difference.
const ASIDE_IN_M: f64 = 5.5;
/// Half width for a vehicle that is followed from the inside out: wide enough for it to be wholly in front before the
/// lead leaves.
const ASIDE_OUT_M: f64 = 16.0;
/// Least half width at which anything is followed.
const LEAST_ASIDE_M: f64 = 5.0;
/// Distance that the rectangle extends beyond the lane, unless something that stands closes it before.
const BEYOND_LANE_M: f64 = 4.5;
/// Spacing of the lines that are tested for something that closes the rectangle's front.
const CLOSED_STEP_M: f64 = 0.1;
/// Cells per distance between lines.
const CELLS_PER_STEP: f64 = 3.0;
/// Number of bins by which the heading can change from line to line.
const PER_STEP: usize = 3;
/// Work of a cell, in intervals passed on.
const PER_CELL: u64 = 2;

impl Rig {
    /// Returns the first two units of a vehicle, if they can be followed.
    #[must_use]
    pub fn of(problem: &Problem, model: &CollisionModel, lead: &Body) -> Option<Self> {
        let [front, unit, ..] = problem.vehicle.units.as_slice() else { return None };
        let hitch = front.hitch?;
        let directions: Vec<Direction> =
            LegPattern::of(problem.maneuver, problem.shunts).legs.iter().map(|leg| leg.0).collect();
        let way = match directions.as_slice() {
            [Direction::Forward] => Way::In,
            [Direction::Forward, Direction::Reverse] => Way::Out,
            _ => return None,
        };
        let own = model.parts.iter().filter(|part| part.unit == 1);
        let parts: Vec<ModelPart> = own.cloned().collect();
        let from_hitch = |p: &Point| *p - Point::new(unit.wheelbase_m, 0.0);
        let corners: Vec<Point> = parts.iter().flat_map(|part| &part.corners).map(from_hitch).collect();
        let reach_m = corners.iter().map(|p| p.norm()).fold(0.0, f64::max);
        let towed = Towed {
            behind_m: hitch.behind_axle_m,
            wheelbase_m: unit.wheelbase_m,
            limit_rad: (hitch.max_angle_rad + HITCH_SLACK_RAD).min(std::f64::consts::PI),
            corners,
            reach_m,
        };
        if towed.behind_m.abs() > 0.5 * towed.wheelbase_m || towed.corners.is_empty() {
            return None;
        }
        let around = &model.surroundings;
        let long_m = towed.behind_m.abs() + reach_m + lead.reach_m();
        let end_m = around.right.end_u.min(-around.left.end_u);
        let enough_m = if way == Way::In { ASIDE_IN_M } else { ASIDE_OUT_M };
        let aside_m = enough_m.min(end_m - long_m - 1.0);
        if aside_m < LEAST_ASIDE_M {
            return None;
        }
        let top_v = match way {
            Way::In => 1.0 + 0.5 * towed.wheelbase_m,
            Way::Out => around.beyond_v + model.clearance_m + lead.reach_m() + 1.0,
        };
        let bottom_v = bottom(problem, model, aside_m);
        let region = Region { aside_m, bottom_v, top_v };
        Some(Self { lead: lead.clone(), towed, parts, way, region })
    }

    /// Upper bound on the movement of a point of either unit on one step.
    #[must_use]
    pub fn moved_m(&self, rolled_m: f64) -> f64 {
        let hitch = 1.0 + self.towed.behind_m.abs() * self.lead.curvature;
        let towed = hitch * (1.0 + self.towed.reach_m / self.towed.wheelbase_m);
        rolled_m * towed.max(1.0 + self.lead.curvature * self.lead.reach_m()) + SLACK_M
    }

    /// Tests whether an opening is closed to every maneuver of the kind; also returns the work done.
    #[must_use]
    pub fn closed(
        &self,
        problem: &Problem,
        model: &CollisionModel,
        faces: &Tried,
        (step_m, budget): (f64, u64),
    ) -> (Ended, u64) {
        let Region { aside_m, bottom_v, top_v } = self.region;
        let step_m = step_m.min(super::MOST_TURN / self.lead.curvature);
        let window_m = Point::new(aside_m, top_v.max(-bottom_v)).norm() + 5.0 * step_m;
        let grid = Grid::new(step_m, PER_STEP, self.lead.curvature, window_m, 2);
        let terrain = FreeSpace::new((model, &self.lead), &grid, faces, &Without::Nothing);
        let near_m = window_m + self.towed.behind_m.abs() + self.towed.reach_m;
        let pieces = pieces(model, &self.parts, (faces, &Without::Nothing), near_m);
        let cell_m = step_m / CELLS_PER_STEP;
        let contacts = |slip: &_| Contacts::new(&self.towed, &self.parts, &pieces, slip, cell_m);
        let mut pull = Pull::new(self, &grid, terrain, contacts, (cell_m, budget / PER_CELL));
        let ended = pull.run(problem.lane);
        (ended, pull.work * PER_CELL)
    }
}

impl Rig {
    /// Returns the widest opening proven not to suffice, no less than `low_m`, and the work done. `shut` tests an
    /// opening, given what is proven so far, the step and the remaining budget, and returns the outcome and the work
    /// done.
    pub fn climb(
        low_m: f64,
        target_m: Option<f64>,
        budget: u64,
        mut shut: impl FnMut(f64, f64, f64, u64) -> (Ended, u64),
    ) -> (f64, u64) {
        let (mut low, mut work) = (low_m, 0);
        for step_m in STEPS_M {
            // Down from what would be near enough to the first that is closed, or up to the last.
            let (down, tried): (bool, Vec<f64>) = match target_m {
                Some(target_m) => (true, SHARES.iter().map(|share| target_m / share).collect()),
                None => (false, (1..=LADDER).map(|i| low_m * trig::exp(RUNG * to_f64(i))).collect()),
            };
            for opening_m in tried.into_iter().filter(|opening_m| *opening_m > low_m) {
                if opening_m <= low {
                    if down { break } else { continue }
                }
                let (ended, took) = shut(opening_m, low, step_m, budget.saturating_sub(work));
                work += took;
                match ended {
                    Ended::Closed => low = opening_m,
                    Ended::Open if down => {}
                    Ended::Open => break,
                    Ended::Spent => return (low, work),
                }
            }
            if target_m.is_none_or(|target_m| low >= target_m / SHARES[1]) {
                break;
            }
        }
        (low, work)
    }
}

/// Allowance at the hitch limit, radians: far more than the integration error of a drive.
const HITCH_SLACK_RAD: f64 = 1e-4;

/// Front limit of the rectangle: inside something that stands all along its width, if there is such a thing beyond the
/// lane, for nothing can come in through it.
fn bottom(problem: &Problem, model: &CollisionModel, aside_m: f64) -> f64 {
    let lane = problem.lane;
    let mut deepest = model.front_v - 2.0;
    for pair in lane.line.windows(2) {
        let steps = count(pair[0].distance(pair[1])).max(1);
        for i in 0..=steps {
            let at = pair[0] + (pair[1] - pair[0]) * (to_f64(i) / to_f64(steps));
            if at.x.abs() <= aside_m {
                deepest = deepest.min(at.y);
            }
        }
    }
    let lead: Vec<&ModelPart> = model.parts.iter().filter(|part| part.unit == 0).collect();
    let closed = |v: f64| {
        let ends = [Point::new(-aside_m, v), Point::new(aside_m, v)];
        model.surroundings.standing.iter().enumerate().any(|(index, piece)| {
            lead.iter().any(|part| part.standing.contains(&index))
                && ends.iter().all(|p| distance::ring_contains(&piece.corners, *p))
        })
    };
    let mut v = deepest;
    while v > deepest - BEYOND_LANE_M {
        if closed(v) {
            return v;
        }
        v -= CLOSED_STEP_M;
    }
    v
}
