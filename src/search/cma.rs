//! Covariance matrix adaptation: a derivative-free minimizer for the few parameters of a maneuver.
//!
//! The worst clearance along a path is not smooth in its parameters, and this method needs only the order of the
//! values. After N. Hansen, "The CMA Evolution Strategy: A Tutorial" (arXiv 1604.00772), with its default constants.
use super::random::Random;
use crate::geometry::trig;

/// The best point a run found.
#[derive(Clone, Debug)]
pub struct Best {
    /// Parameters.
    pub x: Vec<f64>,
    /// Value there.
    pub value: f64,
}

/// One sample of a generation: its value, its step and the normal numbers behind it.
struct Child {
    value: f64,
    y: Vec<f64>,
    z: Vec<f64>,
}

/// Minimizes `f` from `start` with the first step sizes `step` in each parameter, by at most `evaluations` calls.
///
/// Stops early when the spread of values in a generation is below `tolerance` for ten generations. Deterministic in
/// `random`. NaN counts as the worst value.
pub fn minimize(
    mut f: impl FnMut(&[f64]) -> f64,
    start: &[f64],
    step: &[f64],
    evaluations: usize,
    tolerance: f64,
    random: &mut Random,
) -> Best {
    let n = start.len();
    let dimension = real(n);
    // Tutorial, table 1: population, weights and learning rates.
    let population = 4 + floor(3.0 * trig::ln(dimension));
    let parents = population / 2;
    let mut weights: Vec<f64> =
        (0..parents).map(|i| trig::ln(real(population) / 2.0 + 0.5) - trig::ln(real(i + 1))).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|w| *w /= sum);
    let mu_eff = 1.0 / weights.iter().map(|w| w * w).sum::<f64>();
    let c_sigma = (mu_eff + 2.0) / (dimension + mu_eff + 5.0);
    let d_sigma = 1.0 + 2.0 * (((mu_eff - 1.0) / (dimension + 1.0)).sqrt() - 1.0).max(0.0) + c_sigma;
    let c_c = (4.0 + mu_eff / dimension) / (dimension + 4.0 + 2.0 * mu_eff / dimension);
    let c_1 = 2.0 / ((dimension + 1.3) * (dimension + 1.3) + mu_eff);
    let c_mu = (1.0 - c_1).min(2.0 * (mu_eff - 2.0 + 1.0 / mu_eff) / ((dimension + 2.0).powi(2) + mu_eff));
    let expected_norm =
        dimension.sqrt() * (1.0 - 1.0 / (4.0 * dimension) + 1.0 / (21.0 * dimension * dimension));

    let mut mean = start.to_vec();
    let mut sigma = 1.0;
    let mut covariance = Square::diagonal(&step.iter().map(|s| s * s).collect::<Vec<_>>());
    let mut basis = Square::diagonal(&vec![1.0; n]);
    let mut scales = step.to_vec();
    let mut path_sigma = vec![0.0; n];
    let mut path_c = vec![0.0; n];
    let mut best = Best { x: start.to_vec(), value: f(start) };
    let mut used = 1;
    let mut generation = 0_usize;
    let mut stale = 0;
    // Eigenvectors are renewed only so often that they cost no more than the sampling (tutorial, B.2).
    let renew = floor(1.0 / ((c_1 + c_mu) * dimension * 10.0)).max(1);
    while used + population <= evaluations {
        let mut brood: Vec<Child> = Vec::with_capacity(population);
        for _ in 0..population {
            let z: Vec<f64> = (0..n).map(|_| random.normal()).collect();
            let scaled: Vec<f64> = z.iter().zip(&scales).map(|(z, s)| z * s).collect();
            let y = basis.times(&scaled);
            let x: Vec<f64> = mean.iter().zip(&y).map(|(m, y)| m + sigma * y).collect();
            let value = f(&x);
            let value = if value.is_nan() { f64::INFINITY } else { value };
            if value < best.value {
                best = Best { x: x.clone(), value };
            }
            brood.push(Child { value, y, z });
        }
        used += population;
        generation += 1;
        brood.sort_by(|a, b| a.value.total_cmp(&b.value));
        let blend = |pick: fn(&Child) -> &Vec<f64>| -> Vec<f64> {
            (0..n).map(|j| weights.iter().zip(&brood).map(|(w, b)| w * pick(b)[j]).sum()).collect()
        };
        let y_mean = blend(|b| &b.y);
        let z_mean = basis.times(&blend(|b| &b.z));
        for j in 0..n {
            mean[j] += sigma * y_mean[j];
        }
        let gain = (c_sigma * (2.0 - c_sigma) * mu_eff).sqrt();
        for j in 0..n {
            path_sigma[j] = (1.0 - c_sigma) * path_sigma[j] + gain * z_mean[j];
        }
        let norm = path_sigma.iter().map(|p| p * p).sum::<f64>().sqrt();
        let settled = 1.0 - trig::powf(1.0 - c_sigma, 2.0 * real(generation));
        let moving = norm / settled.sqrt() < (1.4 + 2.0 / (dimension + 1.0)) * expected_norm;
        let gain = (c_c * (2.0 - c_c) * mu_eff).sqrt();
        for j in 0..n {
            path_c[j] = (1.0 - c_c) * path_c[j] + if moving { gain * y_mean[j] } else { 0.0 };
        }
        let stall = if moving { 0.0 } else { c_1 * c_c * (2.0 - c_c) };
        for r in 0..n {
            for c in 0..=r {
                let rank_mu: f64 = weights.iter().zip(&brood).map(|(w, b)| w * b.y[r] * b.y[c]).sum();
                let old = covariance.at(r, c);
                let new = (1.0 - c_1 - c_mu + stall) * old + c_1 * path_c[r] * path_c[c] + c_mu * rank_mu;
                covariance.set_both(r, c, new);
            }
        }
        sigma *= trig::exp((c_sigma / d_sigma) * (norm / expected_norm - 1.0)).min(2.0);
        if generation.is_multiple_of(renew) {
            let (vectors, values) = covariance.eigen();
            basis = vectors;
            scales = values.iter().map(|v| v.max(1e-20).sqrt()).collect();
        }
        let spread = brood[population - 1].value.min(f64::MAX) - brood[0].value;
        stale = if spread < tolerance { stale + 1 } else { 0 };
        if stale >= 10 || !sigma.is_finite() {
            break;
        }
    }
    best
}

/// A small symmetric (or orthogonal) matrix, by rows.
#[derive(Clone, Debug)]
struct Square {
    n: usize,
    cells: Vec<f64>,
}

impl Square {
    fn diagonal(values: &[f64]) -> Self {
        let n = values.len();
        let mut cells = vec![0.0; n * n];
        for (i, v) in values.iter().enumerate() {
            cells[i * n + i] = *v;
        }
        Self { n, cells }
    }
    fn at(&self, r: usize, c: usize) -> f64 {
        self.cells[r * self.n + c]
    }
    fn set_both(&mut self, r: usize, c: usize, v: f64) {
        self.cells[r * self.n + c] = v;
        self.cells[c * self.n + r] = v;
    }
    fn times(&self, x: &[f64]) -> Vec<f64> {
        self.cells.chunks(self.n).map(|row| row.iter().zip(x).map(|(a, b)| a * b).sum()).collect()
    }

    /// Eigenvectors (columns) and eigenvalues by cyclic Jacobi rotations.
    fn eigen(&self) -> (Self, Vec<f64>) {
        let n = self.n;
        let mut a = self.clone();
        let mut v = Self::diagonal(&vec![1.0; n]);
        for _ in 0..12 {
            let mut off = 0.0;
            for p in 0..n {
                for q in p + 1..n {
                    off += a.at(p, q) * a.at(p, q);
                }
            }
            let size: f64 = (0..n).map(|i| a.at(i, i) * a.at(i, i)).sum();
            if off <= 1e-24 * size {
                break;
            }
            for p in 0..n {
                for q in p + 1..n {
                    let apq = a.at(p, q);
                    if apq == 0.0 {
                        continue;
                    }
                    let theta = (a.at(q, q) - a.at(p, p)) / (2.0 * apq);
                    let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
                    let t = if theta == 0.0 { 1.0 } else { t };
                    let c = 1.0 / (t * t + 1.0).sqrt();
                    let s = t * c;
                    for k in 0..n {
                        let (kp, kq) = (a.cells[k * n + p], a.cells[k * n + q]);
                        a.cells[k * n + p] = c * kp - s * kq;
                        a.cells[k * n + q] = s * kp + c * kq;
                    }
                    for k in 0..n {
                        let (pk, qk) = (a.cells[p * n + k], a.cells[q * n + k]);
                        a.cells[p * n + k] = c * pk - s * qk;
                        a.cells[q * n + k] = s * pk + c * qk;
                        let (kp, kq) = (v.cells[k * n + p], v.cells[k * n + q]);
                        v.cells[k * n + p] = c * kp - s * kq;
                        v.cells[k * n + q] = s * kp + c * kq;
                    }
                }
            }
        }
        let values = (0..n).map(|i| a.at(i, i)).collect();
        (v, values)
    }
}

fn real(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

fn floor(x: f64) -> usize {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small and not negative")]
    let n = x.max(0.0) as usize;
    n
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_bottom_of_a_bent_valley() {
        // Rosenbrock in 6 dimensions: minimum 0 at (1, ..., 1).
        let rosenbrock = |x: &[f64]| {
            x.windows(2).map(|p| 100.0 * (p[1] - p[0] * p[0]).powi(2) + (1.0 - p[0]).powi(2)).sum::<f64>()
        };
        let best = minimize(rosenbrock, &[0.0; 6], &[0.3; 6], 20_000, 1e-14, &mut Random::new(1));
        assert!(best.value < 1e-9, "{best:?}");
    }

    #[test]
    fn finds_a_kink() {
        // The largest of three planes and a cone: minimum 2 at (3, -1).
        let f = |x: &[f64]| {
            let (a, b) = (x[0] - 3.0, x[1] + 1.0);
            2.0 + a.max(-2.0 * a).max(b - a).max(-3.0 * b)
        };
        let best = minimize(f, &[0.0, 0.0], &[1.0, 1.0], 4000, 1e-12, &mut Random::new(2));
        assert!((best.value - 2.0).abs() < 1e-6, "{best:?}");
    }

    #[test]
    fn eigenvectors_rebuild_the_matrix() {
        let mut m = Square::diagonal(&[2.0, 3.0, 1.0]);
        m.set_both(1, 0, 0.7);
        m.set_both(2, 1, -0.4);
        let (v, values) = m.eigen();
        for r in 0..3 {
            for c in 0..3 {
                let sum: f64 = (0..3).map(|k| v.at(r, k) * values[k] * v.at(c, k)).sum();
                assert!((sum - m.at(r, c)).abs() < 1e-12);
            }
        }
    }
}
