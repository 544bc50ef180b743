//! Templates of maneuvers, with a handful of numbers: the start in the lane, and for each leg a few pairs of steering
//! and distance, joined by the fastest change of steering the vehicle can make.
//!
//! Part of the engine, public for the tests that hold it.
use super::Problem;
use super::lane::StartZone;
use crate::motion::{Direction, Leg, Path, Segment};
use crate::site::Maneuver;

/// Directions of a maneuver's legs, and their numbers of steering pairs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LegPattern {
    /// Direction of each leg, and its number of pairs of steering and distance.
    pub legs: Vec<(Direction, usize)>,
}

/// Pairs in the leg that enters: swing out, turn, hold, straighten, settle.
const ENTERING_PAIRS: usize = 5;
/// Pairs in a leg that sets up.
const SETUP_PAIRS: usize = 3;

impl LegPattern {
    /// Legs of a maneuver with this many stops beyond those it needs (an even number: an odd one adds nothing, for the
    /// last leg's direction is given).
    #[must_use]
    pub fn of(maneuver: Maneuver, shunts: u32) -> Self {
        let needed = match maneuver {
            Maneuver::DriveIn => 1,
            Maneuver::BackIn => 2,
        };
        let count = needed + 2 * (shunts / 2);
        let legs = (0..count).map(|i| {
            let direction = if i % 2 == 0 { Direction::Forward } else { Direction::Reverse };
            (direction, if i + 1 == count { ENTERING_PAIRS } else { SETUP_PAIRS })
        });
        Self { legs: legs.collect() }
    }

    /// Path of the variables `x`: [station, offset, (steering, distance)...].
    ///
    /// Steering is a share of full lock, clamped to ±1; negative distances count as positive. Within a leg the steering
    /// changes at the fastest rate the vehicle allows; before a later leg it is turned while standing.
    #[must_use]
    pub fn path(&self, problem: &Problem, x: &[f64]) -> Path {
        let steering = problem.vehicle.steering;
        let zone = problem.lane.zone_within(x[0], 0.0).copied();
        let zone = zone.unwrap_or(StartZone::anywhere(problem.lane.play_m));
        let start = problem.lane.start(&zone, x[0], x[1].clamp(zone.play_m.0, zone.play_m.1));
        let max = steering.max_curvature.max(1e-9);
        let mut at = 2;
        let mut legs = Vec::with_capacity(self.legs.len());
        for (index, (direction, pairs)) in self.legs.iter().enumerate() {
            let mut segments = Vec::with_capacity(2 * pairs);
            let mut now = if index == 0 { start.curvature / max } else { x[at].clamp(-1.0, 1.0) };
            for pair in 0..*pairs {
                let share = x[at + 2 * pair].clamp(-1.0, 1.0);
                let hold = x[at + 2 * pair + 1].abs();
                let ramp = steering.lock_distance_m * (share - now).abs();
                let (k0, k1) = (now * steering.max_curvature, share * steering.max_curvature);
                if ramp > 0.0 {
                    segments.push(Segment { length_m: ramp, curvature_start: k0, curvature_end: k1 });
                }
                segments.push(Segment { length_m: hold, curvature_start: k1, curvature_end: k1 });
                now = share;
            }
            at += 2 * pairs;
            legs.push(Leg { direction: *direction, segments });
        }
        Path { start, legs }
    }
}

/// A vehicle that turns by less than this while backing in is pushed straight back.
const STRAIGHT_RAD: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// Templates to start from: how drivers get round such a corner, straight through where there is none. `turn_rad` is
/// the turn from the lane's heading to that of a vehicle that stands square in the gate, positive to the left.
#[must_use]
pub fn templates(problem: &Problem, plan: &LegPattern, turn_rad: f64) -> Vec<Vec<f64>> {
    let radius = 1.0 / problem.vehicle.steering.max_curvature.max(1e-3);
    let reverses = plan.legs.last().is_some_and(|leg| leg.0 == Direction::Reverse);
    // Steering that turns a vehicle to the left going forward turns it to the right in reverse.
    let side = if (turn_rad < 0.0) == reverses { 1.0 } else { -1.0 };
    let quarter = radius * turn_rad.abs();
    let towed = problem.vehicle.units.len() > 1;
    // Each entering leg: five pairs of (steering share toward the gate, distance).
    let forward: [[f64; 10]; 6] = [
        [0.0, 1.0, 0.0, 2.0, 0.0, 2.0, 0.0, 2.0, 0.0, 6.0],
        [0.0, 1.0, 0.5, 1.0, 1.0, quarter * 0.9, 0.0, 2.0, 0.0, 6.0],
        [-0.6, 2.0, -0.2, 1.0, 1.0, quarter * 1.1, 0.3, 1.5, 0.0, 6.0],
        [0.0, 1.0, 0.4, 3.0, 1.0, quarter * 0.6, -0.3, 2.0, 0.0, 6.0],
        [-1.0, 1.5, 1.0, 1.0, 1.0, quarter * 1.1, -0.6, 1.0, 0.0, 6.0],
        [-0.4, 4.0, 0.6, 2.0, 0.9, quarter, 0.0, 3.0, 0.0, 8.0],
    ];
    // In reverse, steering toward the gate swings the tail in; a trailer is first pushed the other way.
    let reverse: [[f64; 10]; 4] = if towed {
        [
            [-1.0, 2.0, -0.3, 1.5, 0.8, 3.0, 0.9, 4.0, 0.2, 6.0],
            [-0.6, 3.0, 0.0, 2.0, 0.6, 4.0, 0.8, 4.0, 0.0, 6.0],
            [-0.2, 2.0, 0.1, 3.0, 0.4, 4.0, 0.6, 4.0, 0.0, 6.0],
            [0.3, 2.0, 0.5, 3.0, 0.7, 4.0, 0.4, 4.0, 0.0, 6.0],
        ]
    } else {
        [
            [1.0, quarter * 0.5, 1.0, quarter * 0.4, 0.3, 1.0, 0.0, 2.0, 0.0, 5.0],
            [0.5, 2.0, 1.0, quarter * 0.7, 0.5, 1.5, 0.0, 2.0, 0.0, 5.0],
            [1.0, quarter * 0.5, 0.8, 2.0, 0.0, 2.0, -0.4, 1.5, 0.0, 5.0],
            [0.0, 1.0, 0.8, quarter * 0.5, 1.0, quarter * 0.4, 0.0, 2.0, 0.0, 5.0],
        ]
    };
    // Set up by going straight past, nose away from the gate, or nose toward it and away again.
    let setups: [[f64; 6]; 3] =
        [[0.0, 2.0, 0.0, 2.0, 0.0, 1.0], [0.0, 2.0, -0.8, 2.5, -0.6, 1.0], [0.7, 2.5, -0.8, 3.5, -1.0, 1.0]];
    // A long trailer responds slowly: everything takes longer, in proportion to its wheelbase. Both the plain and the
    // stretched templates are tried.
    let longest = problem.vehicle.units[1..].iter().map(|u| u.wheelbase_m).fold(0.0, f64::max);
    let stretches: &[f64] = if longest > 6.0 { &[1.0, longest / 5.0] } else { &[1.0] };
    let mut list = Vec::new();
    // From a lane that leads straight away from the gate it is pushed straight back.
    let mut straight_back = [forward[0]];
    straight_back[0][9] += problem.vehicle.length_m();
    let leads_away = problem.lane.leads_away && reverses && turn_rad.abs() < STRAIGHT_RAD;
    let entering: &[[f64; 10]] = match (reverses, leads_away) {
        (true, true) => &straight_back,
        (true, false) => &reverse,
        (false, _) => &forward,
    };
    let setup_choices = if plan.legs.len() > 1 { setups.len() } else { 1 };
    for (enter, stretch) in entering.iter().flat_map(|e| stretches.iter().map(move |s| (e, s))) {
        for setup in &setups[..setup_choices] {
            let mut x = vec![0.0, 0.0];
            for (index, (direction, _)) in plan.legs.iter().enumerate() {
                let last = index + 1 == plan.legs.len();
                let toward = if last || *direction == Direction::Forward { side } else { -side };
                let pairs: &[f64] = if last { enter } else { setup };
                for pair in pairs.chunks(2) {
                    x.extend([pair[0] * toward, pair[1] * stretch]);
                }
            }
            list.push(x);
        }
    }
    list
}

/// Output of SplitMix64 (Steele, Lea and Flood 2014) at a state: all bits of it mixed.
pub(super) const fn mixed(state: u64) -> u64 {
    let mut z = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Draws `count` maneuvers at random, always the same ones: for ways in that no list of known ones covers.
///
/// Half of the steering is at full lock or straight, where narrow ways in are found to be; distances are drawn with a
/// bias to short ones, up to a little over a quarter turn.
#[must_use]
pub fn drawn(problem: &Problem, plan: &LegPattern, count: usize) -> Vec<Vec<f64>> {
    let mut seed = 0x9E37_79B9_7F4A_7C15_u64;
    // Upper 32 bits as a share of 1.
    let mut draw = move || {
        let drawn = mixed(seed);
        seed = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
        f64::from(u32::try_from(drawn >> 32).unwrap_or(0)) / f64::from(u32::MAX)
    };
    let longest = problem.vehicle.units[1..].iter().map(|u| u.wheelbase_m).fold(0.0, f64::max);
    let radius = 1.0 / problem.vehicle.steering.max_curvature.max(1e-3);
    let reach = 1.3 * (radius * std::f64::consts::FRAC_PI_2).max(longest);
    let mut list = Vec::with_capacity(count);
    for _ in 0..count {
        let mut x = vec![0.0, 0.0];
        for _ in 0..plan.legs.iter().map(|(_, pairs)| pairs).sum() {
            let share = 2.0 * draw() - 1.0;
            let extreme = if share.abs() < 1.0 / 3.0 { 0.0 } else { share.signum() };
            x.push(if draw() < 0.5 { share } else { extreme });
            x.push(reach * draw() * draw());
        }
        list.push(x);
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first three numbers of SplitMix64 from a seed of 0 (from memory).
    #[test]
    fn mixed_as_published() {
        let golden = 0x9E37_79B9_7F4A_7C15_u64;
        let drawn = [0, golden, golden.wrapping_mul(2)].map(mixed);
        assert_eq!(drawn, [0xE220_A839_7B1D_CDAF, 0x6E78_9E6A_A1B9_65F4, 0x06C4_5D18_8009_454F]);
    }
}
