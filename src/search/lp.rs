//! Small dense linear programs: least c·x subject to A x ≤ b, by a primal-dual interior-point method.
//!
//! Each step of the search solves one of these with a few dozen variables and a few hundred rows, so the work is one
//! small Cholesky factorization an iteration. After S. Mehrotra, "On the implementation of a primal-dual interior point
//! method", SIAM J. Optim. 2 (1992): predictor and corrector, the same step length rule.
//!
//! Part of the engine, public for the tests that hold it.

mod kernels;

use kernels::{
    TOGETHER, WIDE, add_weighted, back_substitute, cholesky, dot, less_transposed, step_to, times,
};

/// A linear program under construction: rows of A, b, and costs.
///
/// Rows of a few entries (limits of the variables, of their differences) are kept apart from the full ones: that makes
/// them nearly free.
#[derive(Clone, Debug)]
pub struct LinearProgram {
    columns: usize,
    costs: Vec<f64>,
    /// Full rows, one after the other.
    rows: Vec<f64>,
    limits: Vec<f64>,
    /// Rows of up to [`FEW`] entries; entries of 0 fill the rest.
    sparse_rows: Vec<[(usize, f64); FEW]>,
    few_limits: Vec<f64>,
}

/// Entries of a short row: two knots and the length between them.
const FEW: usize = 3;
/// Largest number of iterations, after which the best point so far is returned: convergence takes 10 to 25.
const ITERATIONS: usize = 60;
/// Full rows with less slack than this share of the range that the bounds let their value move are included at first:
/// nine in ten of the rows active in the end are among them, and two thirds of all rows are not.
const NEAR: f64 = 0.15;
/// A row left out is violated if it exceeds its limit by more than this.
const BROKEN: f64 = 1e-6;
/// Least slack at the start, and product of slack and multiplier: tried on 1,400 linear programs of searches, they save
/// every sixth iteration against 1 and 1.
const START_SLACK: f64 = 0.3;
const START_PRODUCT: f64 = 3.0;
/// As the two above, from a given starting point: of 0.001 to 1 the values that saved most, a quarter of the
/// iterations.
const NEAR_SLACK: f64 = 1e-3;
const NEAR_PRODUCT: f64 = 0.03;

/// Tolerances of a solution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Mean product of slack and multiplier: times the number of rows it bounds the distance to the least cost.
    gap: f64,
    /// Cost of standing still, and the share of the gain against it that may be missing, too.
    now: f64,
    share: f64,
    /// Largest residuals of the rows, and of the balance of costs and multipliers.
    broken: f64,
    unbalanced: f64,
}

impl Tolerance {
    /// Exact to rounding, except for a mean product of slack and multiplier of `gap`.
    #[must_use]
    pub const fn exact(gap: f64) -> Self {
        Self { gap, now: 0.0, share: 0.0, broken: 1e-8, unbalanced: 1e-6 }
    }

    /// Accuracy that suffices for a step from where standing still costs `now`: a twentieth of its gain may be missing,
    /// as the predicted gain is no more exact than that. Rows may be violated by a micrometer.
    #[must_use]
    pub const fn inexact(gap: f64, now: f64) -> Self {
        Self { gap, now, share: 0.05, broken: 1e-6, unbalanced: 1e-4 }
    }
}

impl LinearProgram {
    /// Creates a linear program over `costs.len()` free variables.
    #[must_use]
    pub fn new(costs: Vec<f64>) -> Self {
        let columns = costs.len();
        Self {
            columns,
            costs,
            rows: Vec::new(),
            limits: Vec::new(),
            sparse_rows: Vec::new(),
            few_limits: Vec::new(),
        }
    }

    /// Adds the row `coefficients · x ≤ limit`, of at most three entries.
    pub fn at_most(&mut self, coefficients: &[(usize, f64)], limit: f64) {
        let mut row = [(0, 0.0); FEW];
        for (slot, entry) in row.iter_mut().zip(coefficients) {
            *slot = *entry;
        }
        self.sparse_rows.push(row);
        self.few_limits.push(limit);
    }

    /// Adds a row made of dense leading coefficients (variables 0, 1, ...) times `factor` and further entries.
    pub fn at_most_dense(&mut self, dense: &[f64], factor: f64, more: &[(usize, f64)], limit: f64) {
        let start = self.rows.len();
        self.rows.extend(dense.iter().map(|v| v * factor));
        self.rows.resize(start + self.columns, 0.0);
        for (column, value) in more {
            self.rows[start + column] += value;
        }
        self.limits.push(limit);
    }

    /// Removes the short rows, to add others.
    pub fn forget_short_rows(&mut self) {
        self.sparse_rows.clear();
        self.few_limits.clear();
    }

    /// Keeps a variable between two values.
    pub fn between(&mut self, column: usize, low: f64, high: f64) {
        self.at_most(&[(column, 1.0)], high);
        self.at_most(&[(column, -1.0)], -low);
    }

    /// Cost of a point.
    #[must_use]
    pub fn cost(&self, x: &[f64]) -> f64 {
        dot(&self.costs, x)
    }

    /// Returns a point that satisfies the full rows by at least `by`: the variables `faces` as low as those rows let
    /// them, the others at 0.
    #[must_use]
    pub fn point_within(&self, faces: std::ops::Range<usize>, by: f64) -> Vec<f64> {
        let mut x = vec![0.0; self.columns];
        for column in faces {
            let rows = self.rows.chunks_exact(self.columns).zip(&self.limits);
            let least = rows.filter(|(row, _)| row[column] < 0.0).map(|(row, limit)| limit / row[column]);
            x[column] = least.fold(0.0, f64::max) + by;
        }
        x
    }

    /// Minimizes, starting near `start` if given; `None` when the iteration breaks down (a linear program without
    /// solution, or badly scaled).
    ///
    /// A step begins at x = 0, and most full rows are far from anything that a step reaches: the linear program is
    /// solved with the near ones, and again with those that the answer violates, until it violates none.
    #[must_use]
    pub fn solve(&self, accuracy: Tolerance, start: Option<&[f64]>) -> Option<Vec<f64>> {
        let nearness = self.nearness();
        let mut kept: Vec<bool> = nearness.iter().map(|ratio| *ratio < NEAR).collect();
        for share in [2.0 * NEAR, f64::INFINITY] {
            let x = self.part(&kept).solve_all(accuracy, start)?;
            let rows = self.rows.chunks_exact(self.columns).zip(&self.limits);
            let broken: Vec<bool> = rows.map(|(row, limit)| dot(row, &x) > limit + BROKEN).collect();
            if !broken.iter().zip(&kept).any(|(broken, kept)| *broken && !*kept) {
                return Some(x);
            }
            for ((kept, broken), ratio) in kept.iter_mut().zip(broken).zip(&nearness) {
                *kept |= broken || *ratio < share;
            }
        }
        self.solve_all(accuracy, start)
    }

    /// Linear program with only the kept full rows.
    fn part(&self, kept: &[bool]) -> Self {
        let (mut rows, mut limits) = (Vec::with_capacity(self.rows.len()), Vec::new());
        for ((row, limit), _) in
            self.rows.chunks_exact(self.columns).zip(&self.limits).zip(kept).filter(|(_, kept)| **kept)
        {
            rows.extend_from_slice(row);
            limits.push(*limit);
        }
        Self {
            columns: self.columns,
            costs: self.costs.clone(),
            rows,
            limits,
            sparse_rows: self.sparse_rows.clone(),
            few_limits: self.few_limits.clone(),
        }
    }

    /// Slack of each full row at x = 0, as a share of the range that the bounds let its value move.
    ///
    /// Variables with a cost are as low there as the rows let them.
    fn nearness(&self) -> Vec<f64> {
        let n = self.columns;
        let mut reach = vec![0.0_f64; n];
        for (row, limit) in self.sparse_rows.iter().zip(&self.few_limits) {
            let (column, value) = row[0];
            if row[1].1 == 0.0 && value != 0.0 {
                reach[column] = reach[column].max(limit / value.abs());
            }
        }
        let priced: Vec<usize> = (0..n).filter(|c| self.costs[*c] != 0.0).collect();
        let mut lowest = vec![f64::NEG_INFINITY; n];
        for (row, limit) in self.rows.chunks_exact(n).zip(&self.limits) {
            for c in priced.iter().filter(|c| row[**c] < 0.0) {
                lowest[*c] = lowest[*c].max(limit / row[*c]);
            }
        }
        for c in priced {
            reach[c] = 0.0;
        }
        let of_row = |(row, limit): (&[f64], &f64)| {
            let stands = row.iter().zip(&lowest).filter(|(a, at)| **a != 0.0 && at.is_finite());
            let slack = limit - stands.map(|(a, at)| a * at).sum::<f64>();
            slack / row.iter().zip(&reach).map(|(a, r)| a.abs() * r).sum::<f64>().max(1e-12)
        };
        self.rows.chunks_exact(n).zip(&self.limits).map(of_row).collect()
    }

    /// Minimizes with all rows.
    fn solve_all(&self, accuracy: Tolerance, start: Option<&[f64]>) -> Option<Vec<f64>> {
        let (n, m) = (self.columns, self.limits.len() + self.few_limits.len());
        let table = SkylineRows::of(self);
        let costs = table.sorted(&self.costs);
        let limits: Vec<f64> = self.limits.iter().chain(&self.few_limits).copied().collect();
        let mut x = vec![0.0; n];
        // Starts inside, with the same product of slack and multiplier everywhere.
        let mut s: Vec<f64> = limits.iter().map(|b| b.max(START_SLACK)).collect();
        let mut z: Vec<f64> = s.iter().map(|s| START_PRODUCT / s.min(10.0)).collect();
        if let Some(start) = start {
            x = table.sorted(start);
            table.times(&x, &mut s);
            for ((s, z), limit) in s.iter_mut().zip(&mut z).zip(&limits) {
                *s = (limit - *s).max(NEAR_SLACK);
                *z = NEAR_PRODUCT / *s;
            }
        }
        let scale = 1.0 + self.costs.iter().fold(0.0_f64, |a, c| a.max(c.abs()));
        let mut rp = vec![0.0; m];
        let mut matrix = vec![0.0; n * n];
        let mut rd = vec![0.0; n];
        let mut dx = vec![0.0; n];
        let (mut ds, mut dz) = (vec![0.0; m], vec![0.0; m]);
        let (mut weights, mut target) = (vec![0.0; m], vec![0.0; m]);
        for _ in 0..ITERATIONS {
            rd.iter_mut().zip(&costs).for_each(|(r, c)| *r = -c);
            table.less_transposed(&z, &mut rd);
            table.times(&x, &mut rp);
            let mut worst = 0.0_f64;
            for i in 0..m {
                rp[i] = limits[i] - rp[i] - s[i];
                worst = worst.max(rp[i].abs());
                weights[i] = z[i] / s[i];
            }
            let mu = dot(&s, &z) / count(m);
            let dual = rd.iter().fold(0.0_f64, |a, r| a.max(r.abs()));
            let enough = accuracy.gap.max(accuracy.share * (accuracy.now - dot(&costs, &x)) / count(m));
            if worst < accuracy.broken && dual < accuracy.unbalanced * scale && mu < enough {
                return Some(table.unsorted(&x));
            }
            if !mu.is_finite() {
                return None;
            }
            table.weighted(&weights, &mut matrix);
            for a in 0..n {
                matrix[a * n + a] += 1e-12 * (1.0 + matrix[a * n + a]);
            }
            cholesky(&mut matrix, n)?;
            // Predictor: straight for the optimum.
            for i in 0..m {
                target[i] = -s[i] * z[i];
            }
            let state = Iterate { s: &s, z: &z, rp: &rp, rd: &rd, factor: &matrix };
            table.direction(state, &target, &mut dx, (&mut ds, &mut dz));
            let (step_p, step_d) = (step_to(&s, &ds), step_to(&z, &dz));
            let mu_affine =
                (0..m).map(|i| (s[i] + step_p * ds[i]) * (z[i] + step_d * dz[i])).sum::<f64>() / count(m);
            let sigma = (mu_affine / mu).powi(3).min(1.0);
            for i in 0..m {
                target[i] = sigma * mu - s[i] * z[i] - ds[i] * dz[i];
            }
            table.direction(state, &target, &mut dx, (&mut ds, &mut dz));
            let step_p = (0.99 * step_to(&s, &ds)).min(1.0);
            let step_d = (0.99 * step_to(&z, &dz)).min(1.0);
            for (v, d) in x.iter_mut().zip(&dx) {
                *v += step_p * d;
            }
            for i in 0..m {
                s[i] += step_p * ds[i];
                z[i] += step_d * dz[i];
            }
        }
        // Not to the last digit, but a point that the caller can judge by its result.
        Some(table.unsorted(&x))
    }
}

/// Rows of a linear program in the order of the iteration.
///
/// Rows come in the order of their poses, and a variable that acts later moves no earlier pose. With the columns in the
/// order of their first entries the rows form a skyline: each has entries in its first few columns alone.
struct SkylineRows<'a> {
    lp: &'a LinearProgram,
    /// Column of each position in the order, and position of each column.
    column_at: Vec<usize>,
    place_of: Vec<usize>,
    /// Full rows in that order, padded with zero rows to a multiple of [`TOGETHER`].
    rows: Vec<f64>,
    /// The full rows again, by blocks of [`WIDE`] columns, each block row by row: the layout of the blocked normal
    /// matrix.
    panels: Vec<f64>,
    /// Number of leading entries of each row that may differ from 0.
    lengths: Vec<usize>,
    /// Short rows, by position: the number of their entries, and the entries.
    sparse_rows: Vec<(usize, [(usize, f64); FEW])>,
}

impl<'a> SkylineRows<'a> {
    fn of(lp: &'a LinearProgram) -> Self {
        let (n, full) = (lp.columns, lp.limits.len());
        let padded = full.next_multiple_of(TOGETHER);
        let mut first = vec![padded; n];
        for (i, row) in lp.rows.chunks_exact(n).enumerate().rev() {
            for (first, value) in first.iter_mut().zip(row) {
                if *value != 0.0 {
                    *first = i;
                }
            }
        }
        let mut column_at: Vec<usize> = (0..n).collect();
        column_at.sort_by_key(|column| first[*column]);
        let mut place_of = vec![0; n];
        for (place, column) in column_at.iter().enumerate() {
            place_of[*column] = place;
        }
        let mut rows = vec![0.0; n * padded];
        for (into, row) in rows.chunks_exact_mut(n).zip(lp.rows.chunks_exact(n)) {
            for (slot, column) in into.iter_mut().zip(&column_at) {
                *slot = row[*column];
            }
        }
        let length = |row: usize| column_at.partition_point(|column| first[*column] <= row);
        let lengths = (0..padded).map(length).collect();
        let short = |row: &[(usize, f64); FEW]| {
            let entries = row.iter().rposition(|(_, value)| *value != 0.0).map_or(0, |last| last + 1);
            (entries, row.map(|(column, value)| (place_of[column], value)))
        };
        let sparse_rows = lp.sparse_rows.iter().map(short).collect();
        let mut panels = vec![0.0; n.next_multiple_of(WIDE) * padded];
        for (at, panel) in panels.chunks_exact_mut(WIDE * padded.max(1)).enumerate() {
            for (part, row) in panel.chunks_exact_mut(WIDE).zip(rows.chunks_exact(n)) {
                part.iter_mut().zip(&row[at * WIDE..]).for_each(|(slot, value)| *slot = *value);
            }
        }
        Self { lp, column_at, place_of, rows, panels, lengths, sparse_rows }
    }

    /// Reorders a point to this order.
    fn sorted(&self, x: &[f64]) -> Vec<f64> {
        self.column_at.iter().map(|column| x[*column]).collect()
    }

    /// Reorders a point to the order of the linear program's columns.
    fn unsorted(&self, x: &[f64]) -> Vec<f64> {
        self.place_of.iter().map(|place| x[*place]).collect()
    }

    /// A x: the full rows, then the short ones.
    fn times(&self, x: &[f64], into: &mut [f64]) {
        let n = self.lp.columns;
        let (full, sparse_rows) = into.split_at_mut(self.lp.limits.len());
        times(&self.rows, &self.lengths, n, x, full);
        for (slot, (entries, row)) in sparse_rows.iter_mut().zip(&self.sparse_rows) {
            let [(a, va), (b, vb), (c, vc)] = *row;
            *slot = if *entries == 1 { va * x[a] } else { va * x[a] + vb * x[b] + vc * x[c] };
        }
    }

    /// x − Aᵀ z, in place.
    fn less_transposed(&self, z: &[f64], x: &mut [f64]) {
        let (full, sparse_rows) = z.split_at(self.lp.limits.len());
        less_transposed(&self.rows, &self.lengths, self.lp.columns, full, x);
        for (z, (entries, row)) in sparse_rows.iter().zip(&self.sparse_rows) {
            for (place, value) in &row[..*entries] {
                x[*place] -= value * z;
            }
        }
    }

    /// Aᵀ diag(w) A, the upper triangle.
    fn weighted(&self, w: &[f64], matrix: &mut [f64]) {
        let n = self.lp.columns;
        let (full, sparse_rows) = w.split_at(self.lp.limits.len());
        matrix.fill(0.0);
        add_weighted(&self.panels, &self.lengths, n, full, matrix);
        for (w, (entries, row)) in sparse_rows.iter().zip(&self.sparse_rows) {
            for (i, (a, va)) in row[..*entries].iter().enumerate() {
                let by = w * va;
                matrix[a * n + a] += by * va;
                for (b, vb) in &row[i + 1..*entries] {
                    matrix[a.min(b) * n + a.max(b)] += by * vb;
                }
            }
        }
    }

    /// Computes the step toward slack times multiplier = s z + `target`, from the factored matrix.
    fn direction(
        &self,
        Iterate { s, z, rp, rd, factor }: Iterate<'_>,
        target: &[f64],
        dx: &mut [f64],
        (ds, dz): (&mut [f64], &mut [f64]),
    ) {
        for i in 0..s.len() {
            dz[i] = (target[i] - z[i] * rp[i]) / s[i];
        }
        dx.copy_from_slice(rd);
        self.less_transposed(dz, dx);
        back_substitute(factor, self.lp.columns, dx);
        self.times(dx, ds);
        for i in 0..s.len() {
            ds[i] = rp[i] - ds[i];
            dz[i] = (target[i] - z[i] * ds[i]) / s[i];
        }
    }
}

/// State of the iteration: slacks and multipliers, residuals of the rows and the columns, and the factor.
#[derive(Clone, Copy)]
struct Iterate<'a> {
    s: &'a [f64],
    z: &'a [f64],
    rp: &'a [f64],
    rd: &'a [f64],
    factor: &'a [f64],
}

fn count(m: usize) -> f64 {
    f64::from(u32::try_from(m.max(1)).unwrap_or(u32::MAX))
}

#[cfg(test)]
pub(crate) mod recorded;
#[cfg(test)]
mod tests;
