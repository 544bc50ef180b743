//! A chain of units: propagates its state as the lead unit's axle rolls, and gives the pose of each unit.
use super::{MAX_TOWED, State, hitch_angle_on_arc, hitch_angle_step};
use crate::geometry::{Frame, Point, Pose, trig};
use crate::vehicle::{MAX_UNITS, Vehicle};

/// One towed unit's geometry, meters.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Towed {
    /// Hitch behind the axle of the unit in front; negative ahead of it.
    pub hitch_behind_m: f64,
    /// Hitch to this unit's axle (group).
    pub wheelbase_m: f64,
}

/// The geometry of a chain: a lead unit and up to [`MAX_TOWED`] towed ones.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Chain {
    towed: [Towed; MAX_TOWED],
    count: usize,
}

/// Longest step of the fourth-order hitch formula: keeps its error below 2e-8 rad a step (see
/// [`hitch_angle_step`]), far below a micrometer at the end of a trailer.
const CURVATURE_STEP_M: f64 = 0.25;
/// Step of the Runge-Kutta integration used for two and more towed units. Its error, measured against steps a
/// tenth as long in the tests, stays below 1e-8 rad over 20 m.
const CHAIN_STEP_M: f64 = 0.05;

impl Chain {
    /// A chain from its towed units, in order. Units beyond [`MAX_TOWED`] are left out.
    #[must_use]
    pub fn new(towed: &[Towed]) -> Self {
        let mut chain = Self::default();
        for (slot, unit) in chain.towed.iter_mut().zip(towed) {
            *slot = *unit;
            chain.count += 1;
        }
        chain
    }

    /// The chain of a vehicle, led by its first unit's rear axle.
    #[must_use]
    pub fn of(vehicle: &Vehicle) -> Self {
        let mut towed = Vec::new();
        for pair in vehicle.units.windows(2) {
            let behind = pair[0].hitch.map_or(0.0, |h| h.behind_axle_m);
            towed.push(Towed { hitch_behind_m: behind, wheelbase_m: pair[1].wheelbase_m });
        }
        Self::new(&towed)
    }

    /// The chain of a vehicle whose *front axle's center* is led along the path, as published turning paths are
    /// drawn: a lead of no size at the front axle, and the first unit towed by it at its wheelbase.
    ///
    /// States then have one hitch angle more (the first is the steering angle: path heading less body heading), and
    /// [`Self::unit_poses`] gives the front axle's pose before the units'.
    #[must_use]
    pub fn led_by_front_axle(vehicle: &Vehicle) -> Self {
        let mut towed = vec![Towed { hitch_behind_m: 0.0, wheelbase_m: vehicle.units[0].wheelbase_m }];
        for pair in vehicle.units.windows(2) {
            let behind = pair[0].hitch.map_or(0.0, |h| h.behind_axle_m);
            towed.push(Towed { hitch_behind_m: behind, wheelbase_m: pair[1].wheelbase_m });
        }
        Self::new(&towed)
    }

    /// Number of towed units.
    #[must_use]
    pub const fn towed_count(&self) -> usize {
        self.count
    }

    /// The towed units.
    #[must_use]
    pub fn towed(&self) -> &[Towed] {
        &self.towed[..self.count]
    }

    /// Poses of all units, the lead first. Entries beyond the last unit repeat it.
    #[must_use]
    pub fn unit_poses(&self, state: &State) -> [Pose; MAX_UNITS] {
        let mut poses = [state.lead; MAX_UNITS];
        for i in 0..self.count {
            let front = poses[i];
            let heading = front.heading - state.hitch[i];
            let hitch = front.position - Point::at_angle(front.heading) * self.towed[i].hitch_behind_m;
            let position = hitch - Point::at_angle(heading) * self.towed[i].wheelbase_m;
            for slot in &mut poses[i + 1..] {
                *slot = Pose { position, heading };
            }
        }
        poses
    }

    /// The units' poses with their axes precomputed: those of [`Self::unit_poses`], to the last bit.
    #[must_use]
    pub fn unit_frames(&self, state: &State) -> [Frame; MAX_UNITS] {
        let mut front = Frame::of(&state.lead);
        let mut frames = [front; MAX_UNITS];
        let mut heading = state.lead.heading;
        for (i, towed) in self.towed().iter().enumerate() {
            heading -= state.hitch[i];
            let hitch = front.at - front.forward * towed.hitch_behind_m;
            let forward = Point::at_angle(heading);
            let at = hitch - forward * towed.wheelbase_m;
            front = Frame { at, forward, left: forward.left() };
            frames[i + 1..].fill(front);
        }
        frames
    }

    /// The state after the lead's axle has rolled `rolled_m` (negative in reverse) while its curvature changed evenly
    /// from `k0` to `k1`.
    ///
    /// The lead's pose is exact (an arc in closed form; a curvature that changes by Gauss-Legendre quadrature to
    /// 1e-12 m). The hitch angle of a single towed unit is exact behind an arc; behind a changing curvature it is
    /// good to 2e-8 rad a quarter meter; for two and more towed units to 1e-8 rad over 20 m.
    #[must_use]
    pub fn advance(&self, state: &State, rolled_m: f64, k0: f64, k1: f64) -> State {
        let mut next = State { curvature: k1, ..*state };
        next.lead = advance_lead(&state.lead, rolled_m, k0, k1);
        match self.count {
            0 => {}
            1 => {
                let Towed { hitch_behind_m: a, wheelbase_m: d } = self.towed[0];
                if k0 == k1 {
                    next.hitch[0] = hitch_angle_on_arc(state.hitch[0], k0, a, d, rolled_m);
                } else {
                    let steps = (rolled_m.abs() / CURVATURE_STEP_M).ceil().max(1.0);
                    let mut phi = state.hitch[0];
                    let mut i = 0.0;
                    while i < steps {
                        let from = k0 + (k1 - k0) * (i / steps);
                        let to = k0 + (k1 - k0) * ((i + 1.0) / steps);
                        phi = hitch_angle_step(phi, from, to, a, d, rolled_m / steps);
                        i += 1.0;
                    }
                    next.hitch[0] = phi;
                }
            }
            _ => next.hitch = self.integrate_hitches(state.hitch, rolled_m, k0, k1),
        }
        next
    }

    /// Rates of the hitch angles per meter rolled by the lead's axle at curvature `k`.
    ///
    /// From the no-slip condition at each towed axle: with ω and v the yaw rate and axle speed of the unit in front,
    /// ω' = (v sin φ − a ω cos φ)/d and v' = v cos φ + a ω sin φ.
    #[must_use]
    pub fn hitch_rates(&self, hitch: &[f64; MAX_TOWED], k: f64) -> [f64; MAX_TOWED] {
        let mut rates = [0.0; MAX_TOWED];
        let (mut yaw, mut speed) = (k, 1.0);
        for i in 0..self.count {
            let Towed { hitch_behind_m: a, wheelbase_m: d } = self.towed[i];
            let (sin, cos) = trig::sin_cos(hitch[i]);
            let next_yaw = (speed * sin - a * yaw * cos) / d;
            rates[i] = yaw - next_yaw;
            speed = speed * cos + a * yaw * sin;
            yaw = next_yaw;
        }
        rates
    }

    fn integrate_hitches(&self, mut hitch: [f64; MAX_TOWED], s: f64, k0: f64, k1: f64) -> [f64; MAX_TOWED] {
        let steps = (s.abs() / CHAIN_STEP_M).ceil().max(1.0);
        let h = s / steps;
        let offset = |base: &[f64; MAX_TOWED], rate: &[f64; MAX_TOWED], by: f64| {
            let mut out = *base;
            for (o, r) in out.iter_mut().zip(rate) {
                *o += r * by;
            }
            out
        };
        let mut i = 0.0;
        while i < steps {
            let k_at = |part: f64| k0 + (k1 - k0) * ((i + part) / steps);
            let r1 = self.hitch_rates(&hitch, k_at(0.0));
            let r2 = self.hitch_rates(&offset(&hitch, &r1, h / 2.0), k_at(0.5));
            let r3 = self.hitch_rates(&offset(&hitch, &r2, h / 2.0), k_at(0.5));
            let r4 = self.hitch_rates(&offset(&hitch, &r3, h), k_at(1.0));
            for j in 0..self.count {
                hitch[j] += h / 6.0 * (r1[j] + 2.0 * r2[j] + 2.0 * r3[j] + r4[j]);
            }
            i += 1.0;
        }
        hitch
    }
}

/// Nodes and weights of 5-point Gauss-Legendre quadrature on [-1, 1] (Abramowitz & Stegun table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
];

/// The lead's pose after rolling `s` meters while the curvature changes evenly from `k0` to `k1`.
///
/// Constant curvature: the chord of the arc. Otherwise the heading is a parabola in s and the position its Fresnel
/// integral, by 5-point Gauss-Legendre over pieces that turn by at most 0.5 rad (error below 1e-12 of the length).
///
/// ```
/// use wideenough::{geometry::Pose, motion::advance_lead};
/// let quarter = advance_lead(&Pose::default(), std::f64::consts::PI, 0.5, 0.5);
/// assert!((quarter.position.x - 2.0).abs() < 1e-12 && (quarter.position.y - 2.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn advance_lead(from: &Pose, s: f64, k0: f64, k1: f64) -> Pose {
    let turned = 0.5 * (k0 + k1) * s;
    if k0 == k1 {
        // Chord: length s sinc(turned/2), direction heading + turned/2. No division by a small curvature.
        let half = 0.5 * turned;
        let sinc = if half.abs() < 1e-4 { 1.0 - half * half / 6.0 } else { trig::sin(half) / half };
        let position = from.position + Point::at_angle(from.heading + half) * (s * sinc);
        return Pose { position, heading: from.heading + turned };
    }
    let most = k0.abs().max(k1.abs()) * s.abs();
    let pieces = (most / 0.5).ceil().max(1.0);
    let mut position = from.position;
    let mut i = 0.0;
    while i < pieces {
        let half = 0.5 * s / pieces;
        let mid = s * (i + 0.5) / pieces;
        let mut sum = Point::default();
        for (node, weight) in GAUSS {
            let at = mid + half * node;
            let heading = from.heading + k0 * at + 0.5 * (k1 - k0) / s * at * at;
            sum = sum + Point::at_angle(heading) * weight;
        }
        position = position + sum * half;
        i += 1.0;
    }
    Pose { position, heading: from.heading + turned }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_changing_curvature_agrees_with_many_short_arcs() {
        let (s, k0, k1) = (-7.0, -0.2, 0.25);
        let direct = advance_lead(&Pose::new(1.0, 2.0, 0.7), s, k0, k1);
        let mut pose = Pose::new(1.0, 2.0, 0.7);
        let n = 200_000;
        for i in 0..n {
            let k = k0 + (k1 - k0) * (f64::from(i) + 0.5) / f64::from(n);
            pose = advance_lead(&pose, s / f64::from(n), k, k);
        }
        assert!(direct.position.distance(pose.position) < 1e-9, "{direct:?} {pose:?}");
        assert!((direct.heading - pose.heading).abs() < 1e-9);
    }

    #[test]
    fn the_chain_integration_keeps_its_stated_error() {
        let chain = Chain::new(&[
            Towed { hitch_behind_m: 0.4, wheelbase_m: 3.0 },
            Towed { hitch_behind_m: -0.2, wheelbase_m: 5.0 },
        ]);
        let start = State { hitch: [0.2, -0.3, 0.0], ..State::default() };
        let whole = chain.advance(&start, 20.0, 0.1, -0.12);
        let mut fine = start;
        let n = 4000;
        for i in 0..n {
            let k = |j: i32| 0.1 - 0.22 * f64::from(j) / f64::from(n);
            fine = chain.advance(&fine, 20.0 / f64::from(n), k(i), k(i + 1));
        }
        for i in 0..2 {
            assert!((whole.hitch[i] - fine.hitch[i]).abs() < 1e-8, "{:?} {:?}", whole.hitch, fine.hitch);
        }
    }

    #[test]
    fn two_towed_units_agree_with_the_closed_form_for_the_first() {
        let first = Towed { hitch_behind_m: 1.2, wheelbase_m: 4.0 };
        let chain = Chain::new(&[first, Towed { hitch_behind_m: 0.5, wheelbase_m: 3.0 }]);
        let start = State { hitch: [0.1, 0.2, 0.0], ..State::default() };
        let end = chain.advance(&start, 9.0, 0.15, 0.15);
        assert!((end.hitch[0] - hitch_angle_on_arc(0.1, 0.15, 1.2, 4.0, 9.0)).abs() < 1e-8);
    }
}
