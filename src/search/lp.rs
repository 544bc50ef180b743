//! A small dense linear program: least c·x subject to A x ≤ b, by a primal-dual interior-point method.
//!
//! The step of the search solves one of these for a few dozen variables and a few hundred rows, so the work is one
//! small Cholesky factorization an iteration. After S. Mehrotra, "On the implementation of a primal-dual interior
//! point method", SIAM J. Optim. 2 (1992): predictor and corrector, the same step length rule.

/// A linear program being put together: rows of A, b, and costs.
#[derive(Clone, Debug)]
pub struct Program {
    columns: usize,
    costs: Vec<f64>,
    rows: Vec<f64>,
    limits: Vec<f64>,
}

/// Iterations after which the best point so far is taken: convergence takes 10 to 25.
const ITERATIONS: usize = 60;
/// Relative gap at which a solution is good enough: far finer than the linearization it serves.
const GAP: f64 = 1e-8;

impl Program {
    /// A program over `costs.len()` free variables.
    #[must_use]
    pub fn new(costs: Vec<f64>) -> Self {
        Self { columns: costs.len(), costs, rows: Vec::new(), limits: Vec::new() }
    }

    /// Adds the row `coefficients · x ≤ limit`; entries beyond those given are 0.
    pub fn at_most(&mut self, coefficients: &[(usize, f64)], limit: f64) {
        let start = self.rows.len();
        self.rows.resize(start + self.columns, 0.0);
        for (column, value) in coefficients {
            self.rows[start + column] += value;
        }
        self.limits.push(limit);
    }

    /// Adds a row from a dense beginning (variables 0, 1, ...) times `factor` and further entries.
    pub fn at_most_dense(&mut self, dense: &[f64], factor: f64, more: &[(usize, f64)], limit: f64) {
        let start = self.rows.len();
        self.rows.extend(dense.iter().map(|v| v * factor));
        self.rows.resize(start + self.columns, 0.0);
        for (column, value) in more {
            self.rows[start + column] += value;
        }
        self.limits.push(limit);
    }

    /// Keeps a variable between two values.
    pub fn between(&mut self, column: usize, low: f64, high: f64) {
        self.at_most(&[(column, 1.0)], high);
        self.at_most(&[(column, -1.0)], -low);
    }

    /// Minimizes; `None` when the iteration breaks down (a program without solution, or badly scaled).
    #[must_use]
    pub fn solve(&self) -> Option<Vec<f64>> {
        let (n, m) = (self.columns, self.limits.len());
        let row = |i: usize| &self.rows[i * n..(i + 1) * n];
        let mut x = vec![0.0; n];
        // Start well inside: slacks at least 1, multipliers 1.
        let mut s: Vec<f64> = self.limits.iter().map(|b| b.max(1.0)).collect();
        let mut z = vec![1.0; m];
        let scale = 1.0 + self.costs.iter().fold(0.0_f64, |a, c| a.max(c.abs()));
        let mut rp = vec![0.0; m];
        let mut matrix = vec![0.0; n * n];
        let (mut dx, mut dx_a) = (vec![0.0; n], vec![0.0; n]);
        let (mut ds, mut dz) = (vec![0.0; m], vec![0.0; m]);
        let mut weights = vec![0.0; m];
        for _ in 0..ITERATIONS {
            let mut rd: Vec<f64> = self.costs.iter().map(|c| -c).collect();
            let mut worst = 0.0_f64;
            for i in 0..m {
                let r = row(i);
                rp[i] = self.limits[i] - dot(r, &x) - s[i];
                worst = worst.max(rp[i].abs());
                for (d, a) in rd.iter_mut().zip(r) {
                    *d -= a * z[i];
                }
                weights[i] = z[i] / s[i];
            }
            let mu = dot(&s, &z) / count(m);
            let dual = rd.iter().fold(0.0_f64, |a, r| a.max(r.abs()));
            if worst < 1e-8 && dual < 1e-6 * scale && mu < GAP {
                return Some(x);
            }
            matrix.iter_mut().for_each(|v| *v = 0.0);
            for (i, &w) in weights.iter().enumerate() {
                let r = row(i);
                for a in 0..n {
                    let wa = w * r[a];
                    if wa != 0.0 {
                        for b in 0..=a {
                            matrix[a * n + b] += wa * r[b];
                        }
                    }
                }
            }
            for a in 0..n {
                matrix[a * n + a] += 1e-12 * (1.0 + matrix[a * n + a]);
            }
            cholesky(&mut matrix, n)?;
            // Predictor: straight for the optimum.
            let solve_for =
                |target: &dyn Fn(usize) -> f64, dx: &mut Vec<f64>, ds: &mut [f64], dz: &mut [f64]| {
                    dx.clone_from(&rd);
                    for i in 0..m {
                        let t = (target(i) - z[i] * rp[i]) / s[i];
                        for (d, a) in dx.iter_mut().zip(row(i)) {
                            *d -= a * t;
                        }
                    }
                    back_substitute(&matrix, n, dx);
                    for i in 0..m {
                        ds[i] = rp[i] - dot(row(i), dx);
                        dz[i] = (target(i) - z[i] * ds[i]) / s[i];
                    }
                };
            let affine = |i: usize| -s[i] * z[i];
            solve_for(&affine, &mut dx_a, &mut ds, &mut dz);
            let (step_p, step_d) = (step_to(&s, &ds), step_to(&z, &dz));
            let mu_affine =
                (0..m).map(|i| (s[i] + step_p * ds[i]) * (z[i] + step_d * dz[i])).sum::<f64>() / count(m);
            let sigma = (mu_affine / mu).powi(3).min(1.0);
            let corrections: Vec<f64> = ds.iter().zip(&dz).map(|(a, b)| a * b).collect();
            let corrected = |i: usize| sigma * mu - s[i] * z[i] - corrections[i];
            solve_for(&corrected, &mut dx, &mut ds, &mut dz);
            let step_p = (0.99 * step_to(&s, &ds)).min(1.0);
            let step_d = (0.99 * step_to(&z, &dz)).min(1.0);
            for (v, d) in x.iter_mut().zip(&dx) {
                *v += step_p * d;
            }
            for i in 0..m {
                s[i] += step_p * ds[i];
                z[i] += step_d * dz[i];
            }
            if !mu.is_finite() {
                return None;
            }
        }
        // Not to the last digit, but a point the caller can judge by what it gives.
        Some(x)
    }
}

fn count(m: usize) -> f64 {
    f64::from(u32::try_from(m.max(1)).unwrap_or(u32::MAX))
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// The longest step (at most 1 / 0.99) that keeps all of `v + step dv` from turning negative.
fn step_to(v: &[f64], dv: &[f64]) -> f64 {
    let mut step = 1.0_f64 / 0.99;
    for (x, d) in v.iter().zip(dv) {
        if *d < 0.0 {
            step = step.min(-x / d);
        }
    }
    step
}

/// Lower Cholesky factor in place; `None` when the matrix is not positive definite.
fn cholesky(a: &mut [f64], n: usize) -> Option<()> {
    for j in 0..n {
        for k in 0..j {
            let l = a[j * n + k];
            if l != 0.0 {
                for i in j..n {
                    a[i * n + j] -= l * a[i * n + k];
                }
            }
        }
        let d = a[j * n + j];
        if d.is_nan() || d <= 0.0 {
            return None;
        }
        let root = d.sqrt();
        for i in j..n {
            a[i * n + j] /= root;
        }
    }
    Some(())
}

fn back_substitute(l: &[f64], n: usize, x: &mut [f64]) {
    for i in 0..n {
        let sum = dot(&l[i * n..i * n + i], &x[..i]);
        x[i] = (x[i] - sum) / l[i * n + i];
    }
    for i in (0..n).rev() {
        x[i] /= l[i * n + i];
        let value = x[i];
        for j in 0..i {
            x[j] -= l[i * n + j] * value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_textbook_program() {
        // max 3x + 5y, x ≤ 4, 2y ≤ 12, 3x + 2y ≤ 18, x, y ≥ 0: (2, 6), worth 36.
        let mut p = Program::new(vec![-3.0, -5.0]);
        p.between(0, 0.0, 4.0);
        p.at_most(&[(1, 2.0)], 12.0);
        p.at_most(&[(1, -1.0)], 0.0);
        p.at_most(&[(0, 3.0), (1, 2.0)], 18.0);
        let x = p.solve().expect("it has a solution");
        assert!((x[0] - 2.0).abs() < 1e-6 && (x[1] - 6.0).abs() < 1e-6, "{x:?}");
    }

    #[test]
    fn a_minimax_with_a_known_answer() {
        // Least t with t ≥ ±(x - 1) + 2 and t ≥ 3 - x, |x| ≤ 10: t = 2 at x = 1.
        let mut p = Program::new(vec![0.0, 1.0]);
        p.at_most(&[(0, 1.0), (1, -1.0)], -1.0);
        p.at_most(&[(0, -1.0), (1, -1.0)], -3.0);
        p.between(0, -10.0, 10.0);
        let x = p.solve().expect("it has a solution");
        assert!((x[1] - 2.0).abs() < 1e-6, "{x:?}");
    }
}
