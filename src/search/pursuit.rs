//! Pure pursuit of a lane: at each step the wheels are turned toward a point of the lane's line a set distance ahead
//! (R. C. Coulter, "Implementation of the Pure Pursuit Path Tracking Algorithm", CMU-RI-TR-92-01, 1992).
use super::lane::Lane;
use crate::motion::{Chain, Segment, State};
use crate::vehicle::Steering;

/// Pursuit of a line beside a lane's middle, at the vehicle's own rate of steering.
pub struct Pursuit<'a> {
    /// Lane followed, in its direction.
    pub lane: &'a Lane,
    /// Steering of the vehicle: limits of the curvature and of its change.
    pub steering: Steering,
    /// Distance along the lane from the vehicle to the point it steers for, meters.
    pub ahead_m: f64,
    /// Distance of the line followed to the left of the lane's line, meters.
    pub aside_m: f64,
    /// Distance rolled in a step, meters.
    pub step_m: f64,
}

impl Pursuit<'_> {
    /// Curvature of the arc from a state to the point ahead, within the steering's limits.
    #[must_use]
    pub fn wanted(&self, state: &State) -> f64 {
        self.wanted_from(state, self.lane.station_near(state.lead.position))
    }

    /// As [`Self::wanted`], for a vehicle at this station of the lane.
    #[must_use]
    pub fn wanted_from(&self, state: &State, station: f64) -> f64 {
        let max = self.most();
        let ahead = self.lane.pose(station + self.ahead_m, self.aside_m).position;
        let target = state.lead.to_body(ahead);
        (2.0 * target.y / target.dot(target).max(1.0)).clamp(-max, max)
    }

    /// One step forward, steering as far as the step allows toward a curvature.
    #[must_use]
    pub fn step(&self, chain: &Chain, state: &State, wanted: f64) -> (Segment, State) {
        let (max, lock_m) = (self.most(), self.steering.lock_distance_m);
        let change = if lock_m > 0.0 { max * self.step_m / lock_m } else { 2.0 * max };
        let (k0, k1) = (state.curvature, wanted.clamp(state.curvature - change, state.curvature + change));
        let segment = Segment { length_m: self.step_m, curvature_start: k0, curvature_end: k1 };
        (segment, chain.advance(state, self.step_m, k0, k1))
    }

    /// Largest curvature, 1/m.
    fn most(&self) -> f64 {
        self.steering.max_curvature.max(1e-3)
    }
}
