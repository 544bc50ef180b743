//! Driving steps: a known way in as a few turns of the steering wheel that a person can follow.
//!
//! A searched path steers a little all the time. [`driving_steps`] looks for one near it that is driven with few wheel
//! positions, each in tenths of the wheel's travel and held for a whole number of inches or centimeters. First the
//! wheel positions of the path are merged into a given number (`pieces`); a sequence of linear programs brings the path
//! back to the known one and then away from what stands (`fit`); then positions and lengths are rounded, one after the
//! other, the rest adjusted to each (`round`). The result is a path like any other: whoever reports it certifies it.
//!
#![doc = include_str!("README.md")]
mod fit;
mod pieces;
mod round;

use super::Problem;
use crate::geometry::trig;
use crate::motion::{Direction, Leg, Path, Segment, State};
use crate::vehicle::Steering;
use fit::Fit;

/// Number of parts of the wheel's travel from straight ahead to full lock in which positions are given.
pub const LOCK_PARTS: f64 = 10.0;
/// The fewest positions of the wheel tried: one, which is straight ahead.
pub const FEWEST_TURNS: usize = 1;
/// The most turns of the wheel tried. With the line-up, the start and the stop that is five to nine steps.
pub const MOST_TURNS: usize = 6;
/// The most tried where so few lead nowhere, as on a long way back with a trailer: up to eleven steps are better than none.
pub const MOST_TURNS_AT_ALL: usize = 8;

/// One turn of the steering wheel and the roll that follows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WheelTurn {
    /// Position that the wheel is turned to, in tenths of its travel from straight ahead to full lock, left positive.
    pub tenths: i8,
    /// Distance rolled from where the wheel begins to turn to where the next turn begins, in units of
    /// [`DrivingSteps::unit_m`].
    pub roll_units: u32,
}

/// Turns of the wheel without a stop between them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrivingLeg {
    /// Forward or reverse.
    pub direction: Direction,
    /// Turns of the wheel, in order. Where the leg is not the first, the wheel is turned to the first position while
    /// the vehicle stands.
    pub turns: Vec<WheelTurn>,
}

/// A way in as turns of the wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct DrivingSteps {
    /// State in which the vehicle lines up: standing in its lane, gate frame.
    pub start: State,
    /// Distance rolled from there with the wheel unchanged, before the first turn of the wheel, in units.
    pub lead_in_units: u32,
    /// Unit of lengths: an inch, or a centimeter or more.
    pub unit_m: f64,
    /// Legs, with a stop between each two.
    pub legs: Vec<DrivingLeg>,
}

impl DrivingSteps {
    /// Number of turns of the wheel.
    #[must_use]
    pub fn turns(&self) -> usize {
        self.legs.iter().map(|leg| leg.turns.len()).sum()
    }

    /// Returns the path of a vehicle that follows the steps exactly. The wheel turns as fast as the steering lets it; a
    /// roll that is too short for that is as long as turning takes.
    #[must_use]
    pub fn path(&self, steering: &Steering) -> Path {
        let legs = self.legs.iter().map(|leg| {
            let turn = |turn: &WheelTurn| {
                (f64::from(turn.tenths) / LOCK_PARTS, f64::from(turn.roll_units) * self.unit_m)
            };
            (leg.direction, leg.turns.iter().map(turn).collect())
        });
        let lead_in_m = f64::from(self.lead_in_units) * self.unit_m;
        path_of(steering, (&self.start, lead_in_m), &legs.collect::<Vec<_>>())
    }
}

/// Curvature with the wheel turned to a share of its travel. The angle of the front wheels is taken to be proportional to the
/// steering wheel's, as a steering box makes it to within a few percent (common practice, no source): tan(angle) is the
/// wheelbase times the curvature.
///
/// ```
/// use wideenough::search::driving_steps::curvature_at;
/// let truck = wideenough::vehicle::find("box-truck-26").unwrap();
/// let steering = truck.steering;
/// assert!((curvature_at(&steering, 1.0) - steering.max_curvature).abs() < 1e-12);
/// // Half of the wheel is a little less than half of the curvature.
/// let half = curvature_at(&steering, 0.5) / steering.max_curvature;
/// assert!(half > 0.42 && half < 0.5);
/// ```
#[must_use]
pub fn curvature_at(steering: &Steering, share: f64) -> f64 {
    steering.max_curvature * trig::tan(share * steering.lock_angle_rad) / trig::tan(steering.lock_angle_rad)
}

/// Share of the wheel's travel that a curvature takes.
fn share_of(steering: &Steering, curvature: f64) -> f64 {
    let tangent = curvature / steering.max_curvature * trig::tan(steering.lock_angle_rad);
    (trig::atan2(tangent, 1.0) / steering.lock_angle_rad).clamp(-1.0, 1.0)
}

/// Distance rolled while the wheel turns between two curvatures.
fn ramp_m(steering: &Steering, from: f64, to: f64) -> f64 {
    steering.lock_distance_m * (to - from).abs() / steering.max_curvature
}

/// Turns of a leg as numbers: share of the wheel's travel, and distance rolled.
type Turns = Vec<(f64, f64)>;

/// Path of turns of the wheel, from where the vehicle lines up.
fn path_of(steering: &Steering, (start, lead_in_m): (&State, f64), legs: &[(Direction, Turns)]) -> Path {
    let mut k = start.curvature;
    let mut path = Path { start: *start, legs: Vec::with_capacity(legs.len()) };
    for (index, (direction, turns)) in legs.iter().enumerate() {
        let mut segments = Vec::with_capacity(2 * turns.len() + 1);
        if index == 0 && lead_in_m > 0.0 {
            segments.push(Segment::arc(lead_in_m, k));
        }
        for (at, &(share, roll_m)) in turns.iter().enumerate() {
            let to = curvature_at(steering, share);
            let standing = index > 0 && at == 0;
            let ramp = if standing { 0.0 } else { ramp_m(steering, k, to) };
            if ramp > 0.0 {
                segments.push(Segment { length_m: ramp, curvature_start: k, curvature_end: to });
            }
            if roll_m - ramp > 0.0 {
                segments.push(Segment::arc(roll_m - ramp, to));
            }
            k = to;
        }
        path.legs.push(Leg { direction: *direction, segments });
    }
    path
}

/// Problem of finding few turns of the wheel near a known way in.
#[derive(Clone, Copy, Debug)]
pub struct StepsProblem<'a> {
    /// The way in: its vehicle, lane and surroundings, with the gate as it is to be driven through.
    pub problem: &'a Problem<'a>,
    /// A path that is an answer to it, gate frame.
    pub known: &'a Path,
    /// Clearance that is enough: more gains nothing.
    pub enough_m: f64,
    /// Unit of lengths, meters.
    pub unit_m: f64,
    /// Offsets from the middle of the lane are this plus whole units.
    pub offset_phase_m: f64,
}

/// Approximates the known path with this many turns of the wheel at most, rounded as reported. `None` where no linear
/// program leads anywhere. The result keeps about the clearance that is enough, or less: certify its path.
#[must_use]
pub fn driving_steps(asked: &StepsProblem, turns: usize) -> Option<DrivingSteps> {
    let begun = pieces::begin(asked, turns)?;
    let mut fit = Fit::new(asked, &begun);
    let mut x = begun.x;
    let (low, high) = fit.play_m();
    x[fit::OFFSET] = x[fit::OFFSET].max(low).min(high);
    let x = if turns == 1 {
        // Straight on, all the way: where a lane leads to the gate.
        x[fit::LEAD_IN + 1] = 0.0;
        fit.fixed[fit::LEAD_IN + 1] = true;
        x
    } else {
        fit.along_known(&x)?
    };
    let x = fit.clear(&x, fit::ROUNDS)?;
    round::rounded(&mut fit, &x)
}
