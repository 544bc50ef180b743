//! A maneuver as a handful of numbers: where it starts in the lane, and for each leg a few pairs of steering and
//! distance, joined by the fastest change of steering the vehicle can make.
use super::Question;
use crate::geometry::{Point, Pose};
use crate::motion::{Direction, Leg, Path, Segment, State};
use crate::site::Maneuver;

/// Where a vehicle may start: a line of travel through the middle of its lane, in the gate's frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Lane {
    /// The line, in the direction of travel; two points or more.
    pub line: Vec<Point>,
    /// How far to the left of the line the vehicle's middle may start: (least, largest).
    pub play_m: (f64, f64),
}

impl Lane {
    /// The pose `station_m` along the line and `offset_m` to its left; beyond the ends the line runs on straight.
    #[must_use]
    pub fn pose(&self, station_m: f64, offset_m: f64) -> Pose {
        let mut left = station_m;
        let last = self.line.len() - 1;
        for i in 0..last {
            let (a, b) = (self.line[i], self.line[i + 1]);
            let length = a.distance(b);
            if left <= length || i + 1 == last {
                let along = (b - a).unit().unwrap_or(Point::new(1.0, 0.0));
                return Pose { position: a + along * left + along.left() * offset_m, heading: along.angle() };
            }
            left -= length;
        }
        Pose { position: self.line[last], heading: 0.0 }
    }

    /// The station of the point of the line nearest to `p`.
    #[must_use]
    pub fn station_near(&self, p: Point) -> f64 {
        let mut best = (f64::INFINITY, 0.0);
        let mut start = 0.0;
        for pair in self.line.windows(2) {
            let q = crate::geometry::distance::nearest_on_segment(p, pair[0], pair[1]);
            let away = p.distance(q);
            if away < best.0 {
                best = (away, start + pair[0].distance(q));
            }
            start += pair[0].distance(pair[1]);
        }
        best.1
    }
}

/// The directions and numbers of steering pairs of a maneuver's legs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Per leg, its direction and how many pairs of steering and distance it has.
    pub legs: Vec<(Direction, usize)>,
}

/// Pairs in the leg that enters: swing out, turn, hold, straighten, settle.
const ENTERING_PAIRS: usize = 5;
/// Pairs in a leg that sets up.
const SETUP_PAIRS: usize = 3;

impl Plan {
    /// The legs of a maneuver with this many stops beyond those it needs (an even number: an odd one adds nothing,
    /// for the last leg's direction is given).
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

    /// The path that the numbers `x` describe: [station, offset, (steering, distance)...].
    ///
    /// Steering is a share of full lock, clamped to ±1; negative distances count as their opposite. Within a leg the
    /// steering changes at the fastest rate the vehicle allows; before a later leg it is turned while standing.
    #[must_use]
    pub fn path(&self, question: &Question, x: &[f64]) -> Path {
        let steering = question.vehicle.steering;
        let offset = x[1].clamp(question.lane.play_m.0, question.lane.play_m.1);
        let lead = question.lane.pose(x[0], offset);
        let mut at = 2;
        let mut legs = Vec::with_capacity(self.legs.len());
        for (index, (direction, pairs)) in self.legs.iter().enumerate() {
            let mut segments = Vec::with_capacity(2 * pairs);
            let mut now = if index == 0 { 0.0 } else { x[at].clamp(-1.0, 1.0) };
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
        Path { start: State { lead, ..State::default() }, legs }
    }
}

/// Courses to start from: how drivers get round such a corner, for a gate on the left (`side` = 1) or the right (-1)
/// of the direction of travel.
#[must_use]
pub fn templates(question: &Question, plan: &Plan, side: f64) -> Vec<Vec<f64>> {
    let radius = 1.0 / question.vehicle.steering.max_curvature.max(1e-3);
    let quarter = radius * std::f64::consts::FRAC_PI_2;
    let towed = question.vehicle.units.len() > 1;
    // Each entering leg: five pairs of (steering share toward the gate, distance).
    let forward: [[f64; 10]; 5] = [
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
    // Setting up: straight past, nose away from the gate, nose toward it and away again.
    let setups: [[f64; 6]; 3] =
        [[0.0, 2.0, 0.0, 2.0, 0.0, 1.0], [0.0, 2.0, -0.8, 2.5, -0.6, 1.0], [0.7, 2.5, -0.8, 3.5, -1.0, 1.0]];
    // A long trailer answers slowly: everything takes it longer, in proportion to its wheelbase. Both the plain and the
    // stretched courses are tried.
    let longest = question.vehicle.units[1..].iter().map(|u| u.wheelbase_m).fold(0.0, f64::max);
    let stretches: &[f64] = if longest > 6.0 { &[1.0, longest / 5.0] } else { &[1.0] };
    let mut list = Vec::new();
    let entering: &[[f64; 10]] =
        if plan.legs.last().is_some_and(|l| l.0 == Direction::Reverse) { &reverse } else { &forward };
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

/// The number that SplitMix64 (Steele, Lea and Flood 2014) draws at a state: all bits of it mixed.
pub(super) const fn mixed(state: u64) -> u64 {
    let mut z = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// `count` maneuvers drawn at random, always the same ones: for ways in that no list of known ways thought of.
///
/// Half of the steering is at full lock or straight, where narrow ways in are found to be; distances are drawn with a
/// leaning to short ones, up to a little over a quarter turn.
#[must_use]
pub fn drawn(question: &Question, plan: &Plan, count: usize) -> Vec<Vec<f64>> {
    let mut seed = 0x9E37_79B9_7F4A_7C15_u64;
    // The upper 32 bits as a share of 1.
    let mut draw = move || {
        let drawn = mixed(seed);
        seed = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
        f64::from(u32::try_from(drawn >> 32).unwrap_or(0)) / f64::from(u32::MAX)
    };
    let longest = question.vehicle.units[1..].iter().map(|u| u.wheelbase_m).fold(0.0, f64::max);
    let radius = 1.0 / question.vehicle.steering.max_curvature.max(1e-3);
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

    /// On a lane with two bends the station of a pose beside it is its own.
    #[test]
    fn stations_of_a_bent_lane() {
        let line = [(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (30.0, 20.0)].map(|(x, y)| Point::new(x, y));
        let lane = Lane { line: line.to_vec(), play_m: (-1.0, 1.0) };
        for station in [0.0, 4.0, 8.5, 12.5, 13.0, 16.5, 25.0, 40.0] {
            for offset in [-0.5, 0.0, 0.5] {
                let near = lane.station_near(lane.pose(station, offset).position);
                assert!((near - station).abs() < 1e-9, "{near}, not {station}, {offset} aside");
            }
        }
    }
}
