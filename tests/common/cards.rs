//! Driving cards, driven as they are written.
use wideenough::motion::{Leg, Path, Segment, State};
use wideenough::opening::Card;
use wideenough::vehicle::Vehicle;

/// Curvature with the front wheels turned to a share of their angle at full lock.
fn curvature(vehicle: &Vehicle, share: f64) -> f64 {
    let lock = vehicle.steering.lock_angle_rad;
    libm::tan(share * lock) / vehicle.units[0].wheelbase_m
}

/// Path of a card from the place where it lines up, built only from the written share of lock and distance of each
/// step. `late_m` is the distance rolled before the first turn in excess of what is written.
pub fn as_written(vehicle: &Vehicle, start: State, card: &Card, late_m: f64) -> Path {
    let mut legs: Vec<Leg> = Vec::new();
    let mut k = start.curvature;
    let lead_in_m = card.steps[0].station_m + late_m;
    let steering = vehicle.steering;
    for (index, step) in card.steps.iter().enumerate() {
        if index == 0 || step.after_stop {
            legs.push(Leg { direction: step.direction, segments: Vec::new() });
        }
        let segments = &mut legs.last_mut().expect("a leg").segments;
        if index == 0 && lead_in_m > 0.0 {
            segments.push(Segment::arc(lead_in_m, k));
        }
        let to = step.wheel_tenths.map_or(k, |tenths| curvature(vehicle, f64::from(tenths) / 10.0));
        let turning = if step.after_stop { 0.0 } else { (to - k).abs() };
        let ramp = steering.lock_distance_m * turning / steering.max_curvature;
        assert!(step.roll_m >= ramp - 1e-9, "a step of {} m is too short to turn the wheel", step.roll_m);
        if ramp > 0.0 {
            segments.push(Segment { length_m: ramp, curvature_start: k, curvature_end: to });
        }
        segments.push(Segment::arc(step.roll_m - ramp, to));
        k = to;
    }
    Path { start, legs }
}
