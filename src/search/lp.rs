//! A small dense linear program: least c·x subject to A x ≤ b, by a primal-dual interior-point method.
//!
//! The step of the search solves one of these for a few dozen variables and a few hundred rows, so the work is one
//! small Cholesky factorization an iteration. After S. Mehrotra, "On the implementation of a primal-dual interior
//! point method", SIAM J. Optim. 2 (1992): predictor and corrector, the same step length rule.

/// A linear program being put together: rows of A, b, and costs.
///
/// Rows of a few entries (limits of the variables, of their differences) are kept apart from the full ones: they cost
/// next to nothing then.
#[derive(Clone, Debug)]
pub struct Program {
    columns: usize,
    costs: Vec<f64>,
    /// Full rows, one after the other.
    rows: Vec<f64>,
    limits: Vec<f64>,
    /// Rows of up to [`FEW`] entries; entries of 0 fill the rest.
    few: Vec<[(usize, f64); FEW]>,
    few_limits: Vec<f64>,
}

/// Entries of a short row: two knots and the length between them.
const FEW: usize = 3;
/// Iterations after which the best point so far is taken: convergence takes 10 to 25.
const ITERATIONS: usize = 60;
/// Full rows with less slack than this share of what the bounds let them move are taken in at first: of the rows that
/// hold in the end nine in ten are, and two thirds of all rows are not.
const NEAR: f64 = 0.15;
/// A row left out is broken by more than this.
const BROKEN: f64 = 1e-6;
/// Least slack at the start, and the product of slack and multiplier: tried on 1,400 programs of searches, they save
/// every sixth iteration against 1 and 1.
const START_SLACK: f64 = 0.3;
const START_PRODUCT: f64 = 3.0;

impl Program {
    /// A program over `costs.len()` free variables.
    #[must_use]
    pub fn new(costs: Vec<f64>) -> Self {
        let columns = costs.len();
        Self { columns, costs, rows: Vec::new(), limits: Vec::new(), few: Vec::new(), few_limits: Vec::new() }
    }

    /// Adds the row `coefficients · x ≤ limit`, of at most three entries.
    pub fn at_most(&mut self, coefficients: &[(usize, f64)], limit: f64) {
        let mut row = [(0, 0.0); FEW];
        for (slot, entry) in row.iter_mut().zip(coefficients) {
            *slot = *entry;
        }
        self.few.push(row);
        self.few_limits.push(limit);
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

    /// What a point costs.
    #[must_use]
    pub fn cost(&self, x: &[f64]) -> f64 {
        dot(&self.costs, x)
    }

    /// Minimizes, to a mean product of slack and multiplier of `gap`; `None` when the iteration breaks down (a program
    /// without solution, or badly scaled).
    ///
    /// x = 0 is where a step begins, and most full rows are far from what any step reaches: it is solved with the near
    /// ones, and again with those that the answer breaks, until it breaks none.
    #[must_use]
    pub fn solve(&self, gap: f64) -> Option<Vec<f64>> {
        let nearness = self.nearness();
        let mut kept: Vec<bool> = nearness.iter().map(|ratio| *ratio < NEAR).collect();
        for share in [2.0 * NEAR, f64::INFINITY] {
            let x = self.part(&kept).solve_all(gap)?;
            let rows = self.rows.chunks_exact(self.columns).zip(&self.limits);
            let broken: Vec<bool> = rows.map(|(row, limit)| dot(row, &x) > limit + BROKEN).collect();
            if !broken.iter().zip(&kept).any(|(broken, kept)| *broken && !*kept) {
                return Some(x);
            }
            for ((kept, broken), ratio) in kept.iter_mut().zip(broken).zip(&nearness) {
                *kept |= broken || *ratio < share;
            }
        }
        self.solve_all(gap)
    }

    /// The program with some of its full rows.
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
            few: self.few.clone(),
            few_limits: self.few_limits.clone(),
        }
    }

    /// For each full row its slack at x = 0, as a share of how far the bounds let its value move.
    ///
    /// What costs something stands as low there as the rows let it.
    fn nearness(&self) -> Vec<f64> {
        let n = self.columns;
        let mut reach = vec![0.0_f64; n];
        for (row, limit) in self.few.iter().zip(&self.few_limits) {
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
    fn solve_all(&self, gap: f64) -> Option<Vec<f64>> {
        let (n, m) = (self.columns, self.limits.len() + self.few_limits.len());
        let table = Columns::of(self);
        let limits: Vec<f64> = self.limits.iter().chain(&self.few_limits).copied().collect();
        let mut x = vec![0.0; n];
        // Start inside, with the same product of slack and multiplier everywhere.
        let mut s: Vec<f64> = limits.iter().map(|b| b.max(START_SLACK)).collect();
        let mut z: Vec<f64> = s.iter().map(|s| START_PRODUCT / s.min(10.0)).collect();
        let scale = 1.0 + self.costs.iter().fold(0.0_f64, |a, c| a.max(c.abs()));
        let mut rp = vec![0.0; m];
        let (mut matrix, mut room) = (vec![0.0; n * n], Vec::new());
        let mut rd = vec![0.0; n];
        let mut dx = vec![0.0; n];
        let (mut ds, mut dz) = (vec![0.0; m], vec![0.0; m]);
        let (mut weights, mut target) = (vec![0.0; m], vec![0.0; m]);
        for _ in 0..ITERATIONS {
            rd.iter_mut().zip(&self.costs).for_each(|(r, c)| *r = -c);
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
            if worst < 1e-8 && dual < 1e-6 * scale && mu < gap {
                return Some(x);
            }
            if !mu.is_finite() {
                return None;
            }
            table.weighted(&weights, &mut matrix, &mut room);
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
        // Not to the last digit, but a point the caller can judge by what it gives.
        Some(x)
    }
}

/// The rows of a program column by column, as the iteration reads them: each column's entries lie next to each other.
///
/// Rows come in the order of the poses they speak of, and a number that acts later moves no earlier pose, so a column
/// is zero down to its first entry: sums begin there.
struct Columns<'a> {
    program: &'a Program,
    /// Full rows, rounded up to an even number; the last may be zeros.
    stride: usize,
    entries: Vec<f64>,
    /// First row, rounded down to an even one, of each column's entries other than 0.
    starts: Vec<usize>,
}

impl<'a> Columns<'a> {
    fn of(program: &'a Program) -> Self {
        let (n, full) = (program.columns, program.limits.len());
        let stride = full.next_multiple_of(2);
        let mut entries = vec![0.0; n * stride];
        for (i, row) in program.rows.chunks_exact(n).enumerate() {
            for (c, value) in row.iter().enumerate() {
                entries[c * stride + i] = *value;
            }
        }
        let start = |c: usize| {
            let column = &entries[c * stride..(c + 1) * stride];
            column.iter().position(|v| *v != 0.0).unwrap_or(stride) & !1
        };
        let starts = (0..n).map(start).collect();
        Self { program, stride, entries, starts }
    }

    fn column(&self, c: usize) -> &[f64] {
        &self.entries[c * self.stride..(c + 1) * self.stride]
    }

    /// A x: the full rows, then the short ones.
    fn times(&self, x: &[f64], into: &mut [f64]) {
        let (full, few) = into.split_at_mut(self.program.limits.len());
        full.iter_mut().for_each(|v| *v = 0.0);
        for (c, value) in x.iter().enumerate() {
            let from = self.starts[c];
            for (slot, a) in full.iter_mut().skip(from).zip(&self.column(c)[from..]) {
                *slot += a * value;
            }
        }
        for (slot, row) in few.iter_mut().zip(&self.program.few) {
            *slot = row.iter().map(|(column, value)| value * x[*column]).sum();
        }
    }

    /// x − Aᵀ z, in place.
    fn less_transposed(&self, z: &[f64], x: &mut [f64]) {
        let (full, few) = z.split_at(self.program.limits.len());
        for (c, slot) in x.iter_mut().enumerate() {
            let from = self.starts[c].min(full.len());
            *slot -= dot(&self.column(c)[from..full.len()], &full[from..]);
        }
        for (z, row) in few.iter().zip(&self.program.few) {
            for (column, value) in row {
                x[*column] -= value * z;
            }
        }
    }

    /// Aᵀ diag(w) A, the lower triangle; `room` is scratch.
    fn weighted(&self, w: &[f64], matrix: &mut [f64], room: &mut Vec<f64>) {
        let (n, stride) = (self.program.columns, self.stride);
        let (full, few) = w.split_at(self.program.limits.len());
        room.clear();
        room.resize(2 * stride, 0.0);
        // Two columns by two at a time: each entry that is read serves twice. A last odd column stands for both.
        for a in (0..n).step_by(2) {
            let other_a = (a + 1).min(n - 1);
            let from_a = self.starts[a].min(self.starts[other_a]);
            let (heavy, other_heavy) = room.split_at_mut(stride);
            for (heavy, column) in [(&mut *heavy, a), (&mut *other_heavy, other_a)] {
                for ((slot, value), w) in heavy.iter_mut().zip(self.column(column)).zip(full) {
                    *slot = value * w;
                }
            }
            for b in (0..=a).step_by(2) {
                let other_b = (b + 1).min(n - 1);
                let from = from_a.max(self.starts[b].min(self.starts[other_b]));
                let sums = two_by_two(
                    [&heavy[from..], &other_heavy[from..]],
                    [&self.column(b)[from..], &self.column(other_b)[from..]],
                );
                matrix[a * n + b] = sums[0];
                if other_b < a {
                    matrix[a * n + other_b] = sums[1];
                }
                if other_a > a {
                    matrix[other_a * n + b] = sums[2];
                    matrix[other_a * n + other_b] = sums[3];
                }
            }
        }
        for (w, row) in few.iter().zip(&self.program.few) {
            for (a, va) in row {
                for (b, vb) in row.iter().filter(|(b, _)| b <= a) {
                    matrix[a * n + b] += w * va * vb;
                }
            }
        }
    }

    /// The step toward slack times multiplier = s z + `target`, from the factored matrix.
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
        back_substitute(factor, self.program.columns, dx);
        self.times(dx, ds);
        for i in 0..s.len() {
            ds[i] = rp[i] - ds[i];
            dz[i] = (target[i] - z[i] * ds[i]) / s[i];
        }
    }
}

/// Where the iteration stands: slacks and multipliers, what the rows and the columns still miss, and the factor.
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

/// Sums of products of each of two columns with each of two others, in two strands.
fn two_by_two([a0, a1]: [&[f64]; 2], [b0, b1]: [&[f64]; 2]) -> [f64; 4] {
    let mut sums = [[0.0; 2]; 4];
    let pairs = a0.chunks_exact(2).zip(a1.chunks_exact(2)).zip(b0.chunks_exact(2).zip(b1.chunks_exact(2)));
    for ((a0, a1), (b0, b1)) in pairs {
        for i in 0..2 {
            sums[0][i] += a0[i] * b0[i];
            sums[1][i] += a0[i] * b1[i];
            sums[2][i] += a1[i] * b0[i];
            sums[3][i] += a1[i] * b1[i];
        }
    }
    sums.map(|s| s[0] + s[1])
}

/// Sum of products, in four strands that do not wait for each other; the order is fixed.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (fours_a, fours_b) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = fours_a.remainder().iter().zip(fours_b.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in fours_a.zip(fours_b) {
        for i in 0..4 {
            sums[i] += x[i] * y[i];
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
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

/// Lower Cholesky factor in place, row by row; `None` when the matrix is not positive definite.
fn cholesky(a: &mut [f64], n: usize) -> Option<()> {
    for i in 0..n {
        for j in 0..i {
            let (above, row) = a.split_at_mut(i * n);
            let sum = row[j] - dot(&row[..j], &above[j * n..j * n + j]);
            row[j] = sum / above[j * n + j];
        }
        let row = &mut a[i * n..=i * n + i];
        let d = row[i] - dot(&row[..i], &row[..i]);
        if d.is_nan() || d <= 0.0 {
            return None;
        }
        row[i] = d.sqrt();
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
        for (slot, a) in x[..i].iter_mut().zip(&l[i * n..i * n + i]) {
            *slot -= a * value;
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
        let x = p.solve(1e-7).expect("it has a solution");
        assert!((x[0] - 2.0).abs() < 1e-6 && (x[1] - 6.0).abs() < 1e-6, "{x:?}");
    }

    #[test]
    fn a_minimax_with_a_known_answer() {
        // Least t with t ≥ ±(x - 1) + 2 and t ≥ 3 - x, |x| ≤ 10: t = 2 at x = 1.
        let mut p = Program::new(vec![0.0, 1.0]);
        p.at_most(&[(0, 1.0), (1, -1.0)], -1.0);
        p.at_most(&[(0, -1.0), (1, -1.0)], -3.0);
        p.between(0, -10.0, 10.0);
        let x = p.solve(1e-7).expect("it has a solution");
        assert!((x[1] - 2.0).abs() < 1e-6, "{x:?}");
    }

    /// Rows left out at first are taken in where the answer asks for them: the same least cost as with all rows.
    #[test]
    fn rows_left_out_change_nothing() {
        let mut state = 7_u64;
        let mut next = move || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            f64::from(u32::try_from(state >> 40).unwrap_or(0)) / f64::from(1_u32 << 24)
        };
        let mut late = 0;
        for _ in 0..60 {
            let n = 9;
            let mut costs = vec![0.0; n];
            costs[n - 1] = 1.0;
            let mut p = Program::new(costs);
            for column in 0..n - 1 {
                p.between(column, -0.1, 0.1);
            }
            p.between(n - 1, -60.0, 60.0);
            // The last variable stands above many planes, most of them low.
            for _ in 0..80 {
                let plane: Vec<f64> = (0..n - 1).map(|_| 2.0 * next() - 1.0).collect();
                p.at_most_dense(&plane, 1.0, &[(n - 1, -1.0)], 1.5 * next().powi(2));
            }
            let (some, all) = (p.solve(1e-9).expect("solved"), p.solve_all(1e-9).expect("solved"));
            assert!((p.cost(&some) - p.cost(&all)).abs() < 1e-6, "{} {}", p.cost(&some), p.cost(&all));
            for (row, limit) in p.rows.chunks_exact(n).zip(&p.limits) {
                assert!(dot(row, &some) <= limit + 2.0 * BROKEN);
            }
            let kept: Vec<bool> = p.nearness().iter().map(|ratio| *ratio < NEAR).collect();
            assert!(kept.iter().filter(|kept| **kept).count() < 60);
            let first = p.part(&kept).solve_all(1e-9).expect("solved");
            late += usize::from(p.cost(&first) < p.cost(&all) - 1e-6);
        }
        assert!(late > 5, "rows left out mattered in {late} programs");
    }
}
