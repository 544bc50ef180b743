//! A small dense linear program: least c·x subject to A x ≤ b, by a primal-dual interior-point method.
//!
//! The step of the search solves one of these for a few dozen variables and a few hundred rows, so the work is one
//! small Cholesky factorization an iteration. After S. Mehrotra, "On the implementation of a primal-dual interior
//! point method", SIAM J. Optim. 2 (1992): predictor and corrector, the same step length rule.

use multiversion::multiversion;

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
/// The same from a point that is told: of 0.001 to 1 what saved most, a quarter of the iterations.
const NEAR_SLACK: f64 = 1e-3;
const NEAR_PRODUCT: f64 = 0.03;

/// How near the least cost an answer must come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy {
    /// Mean product of slack and multiplier: times the number of rows it is what may be missing to the least cost.
    gap: f64,
    /// What standing still costs: a share of what is gained on that may be missing, too.
    now: f64,
    share: f64,
    /// How far rows, and the balance of costs and multipliers, may be from holding.
    broken: f64,
    unbalanced: f64,
}

impl Accuracy {
    /// To rounding, but for a mean product of slack and multiplier of `gap`.
    #[must_use]
    pub const fn exact(gap: f64) -> Self {
        Self { gap, now: 0.0, share: 0.0, broken: 1e-8, unbalanced: 1e-6 }
    }

    /// What is worth a step from where standing still costs `now`: a twentieth of what it gains may be missing, for what it
    /// promises is not kept to that. Rows may be a micrometer from holding.
    #[must_use]
    pub const fn rough(gap: f64, now: f64) -> Self {
        Self { gap, now, share: 0.05, broken: 1e-6, unbalanced: 1e-4 }
    }
}

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

    /// Takes the short rows out again, for others.
    pub fn forget_short_rows(&mut self) {
        self.few.clear();
        self.few_limits.clear();
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

    /// A point within the full rows by at least `by`: the variables `faces` as low as those let them, the others at 0.
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

    /// Minimizes, from near `start` if one is told; `None` when the iteration breaks down (a program without solution, or
    /// badly scaled).
    ///
    /// x = 0 is where a step begins, and most full rows are far from what any step reaches: it is solved with the near
    /// ones, and again with those that the answer breaks, until it breaks none.
    #[must_use]
    pub fn solve(&self, accuracy: Accuracy, start: Option<&[f64]>) -> Option<Vec<f64>> {
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
    fn solve_all(&self, accuracy: Accuracy, start: Option<&[f64]>) -> Option<Vec<f64>> {
        let (n, m) = (self.columns, self.limits.len() + self.few_limits.len());
        let table = Staircase::of(self);
        let costs = table.sorted(&self.costs);
        let limits: Vec<f64> = self.limits.iter().chain(&self.few_limits).copied().collect();
        let mut x = vec![0.0; n];
        // Start inside, with the same product of slack and multiplier everywhere.
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
        // Not to the last digit, but a point the caller can judge by what it gives.
        Some(table.unsorted(&x))
    }
}

/// The rows of a program as the iteration reads them.
///
/// Rows come in the order of the poses they speak of, and a number that acts later moves no earlier pose. With the columns
/// in the order of their first entries the rows make a staircase: each has entries in its first few columns alone.
struct Staircase<'a> {
    program: &'a Program,
    /// For each place in the order its column, and for each column its place.
    column_at: Vec<usize>,
    place_of: Vec<usize>,
    /// The full rows in that order, and as many of zeros as make a multiple of [`TOGETHER`].
    rows: Vec<f64>,
    /// The same entries in panels of [`WIDE`] columns: of each row its part, one after the other.
    panels: Vec<f64>,
    /// For each row, how many of its entries may be other than 0.
    lengths: Vec<usize>,
    /// The short rows, by place: how many entries they have, and those.
    few: Vec<(usize, [(usize, f64); FEW])>,
}

/// So many rows are added up at once: each entry of the sum is read and written once for all of them.
const TOGETHER: usize = 8;
/// Tiles of the normal matrix: so many columns wide, and so many rows tall.
const WIDE: usize = 8;
const TALL: usize = 4;

impl<'a> Staircase<'a> {
    fn of(program: &'a Program) -> Self {
        let (n, full) = (program.columns, program.limits.len());
        let padded = full.next_multiple_of(TOGETHER);
        let mut first = vec![padded; n];
        for (i, row) in program.rows.chunks_exact(n).enumerate().rev() {
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
        for (into, row) in rows.chunks_exact_mut(n).zip(program.rows.chunks_exact(n)) {
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
        let few = program.few.iter().map(short).collect();
        let mut panels = vec![0.0; n.next_multiple_of(WIDE) * padded];
        for (at, panel) in panels.chunks_exact_mut(WIDE * padded.max(1)).enumerate() {
            for (part, row) in panel.chunks_exact_mut(WIDE).zip(rows.chunks_exact(n)) {
                part.iter_mut().zip(&row[at * WIDE..]).for_each(|(slot, value)| *slot = *value);
            }
        }
        Self { program, column_at, place_of, rows, panels, lengths, few }
    }

    /// A point in this order.
    fn sorted(&self, x: &[f64]) -> Vec<f64> {
        self.column_at.iter().map(|column| x[*column]).collect()
    }

    /// A point in the order of the program's columns.
    fn unsorted(&self, x: &[f64]) -> Vec<f64> {
        self.place_of.iter().map(|place| x[*place]).collect()
    }

    /// A x: the full rows, then the short ones.
    fn times(&self, x: &[f64], into: &mut [f64]) {
        let n = self.program.columns;
        let (full, few) = into.split_at_mut(self.program.limits.len());
        times(&self.rows, &self.lengths, n, x, full);
        for (slot, (entries, row)) in few.iter_mut().zip(&self.few) {
            let [(a, va), (b, vb), (c, vc)] = *row;
            *slot = if *entries == 1 { va * x[a] } else { va * x[a] + vb * x[b] + vc * x[c] };
        }
    }

    /// x − Aᵀ z, in place.
    fn less_transposed(&self, z: &[f64], x: &mut [f64]) {
        let (full, few) = z.split_at(self.program.limits.len());
        less_transposed(&self.rows, &self.lengths, self.program.columns, full, x);
        for (z, (entries, row)) in few.iter().zip(&self.few) {
            for (place, value) in &row[..*entries] {
                x[*place] -= value * z;
            }
        }
    }

    /// Aᵀ diag(w) A, the upper triangle.
    fn weighted(&self, w: &[f64], matrix: &mut [f64]) {
        let n = self.program.columns;
        let (full, few) = w.split_at(self.program.limits.len());
        matrix.fill(0.0);
        add_weighted(&self.panels, &self.lengths, n, full, matrix);
        for (w, (entries, row)) in few.iter().zip(&self.few) {
            for (i, (a, va)) in row[..*entries].iter().enumerate() {
                let by = w * va;
                matrix[a * n + a] += by * va;
                for (b, vb) in &row[i + 1..*entries] {
                    matrix[a.min(b) * n + a.max(b)] += by * vb;
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

/// Adds Aᵀ diag(w) A of the full rows to the upper triangle of a matrix of `n` columns; the rows come in panels of [`WIDE`]
/// columns, and of each row the first so many entries may be other than 0.
///
/// A tile of the sum stays in registers while all rows are gone through; each of its entries is added up in their order.
#[multiversion(targets("x86_64+avx+avx2"))]
fn add_weighted(panels: &[f64], lengths: &[usize], n: usize, w: &[f64], matrix: &mut [f64]) {
    let panel =
        |at: usize| panels[at * lengths.len() * WIDE..(at + 1) * lengths.len() * WIDE].as_chunks::<WIDE>().0;
    for across in 0..n.div_ceil(WIDE) {
        let first = lengths.partition_point(|length| *length <= across * WIDE).min(w.len());
        let (right, w) = (&panel(across)[first..w.len()], &w[first..]);
        for down in 0..=across {
            let left = &panel(down)[first..first + w.len()];
            for half in 0..WIDE / TALL {
                let mut sums = [[0.0; WIDE]; TALL];
                for ((left, right), w) in left.iter().zip(right).zip(w) {
                    for (p, sums) in sums.iter_mut().enumerate() {
                        let factor = w * left[half * TALL + p];
                        for (sum, value) in sums.iter_mut().zip(right) {
                            *sum += factor * value;
                        }
                    }
                }
                let (a, b) = (down * WIDE + half * TALL, across * WIDE);
                for (line, sums) in matrix.chunks_exact_mut(n).skip(a).zip(&sums) {
                    for (slot, sum) in line[b..].iter_mut().zip(sums) {
                        *slot += sum;
                    }
                }
            }
        }
    }
}

/// x − Aᵀ z of the full rows, in place.
#[multiversion(targets("x86_64+avx+avx2"))]
fn less_transposed(rows: &[f64], lengths: &[usize], n: usize, z: &[f64], x: &mut [f64]) {
    for (index, (rows, length)) in groups(rows, lengths, n).enumerate() {
        add_rows(&mut x[..length], rows, |i| z.get(index * TOGETHER + i).map_or(0.0, |z| -z));
    }
}

/// A x of the full rows.
#[multiversion(targets("x86_64+avx+avx2"))]
fn times(rows: &[f64], lengths: &[usize], n: usize, x: &[f64], into: &mut [f64]) {
    for ((slot, row), length) in into.iter_mut().zip(rows.chunks_exact(n)).zip(lengths) {
        *slot = dot(&row[..*length], &x[..*length]);
    }
}

/// Eight rows at a time: their entries, and how many of them may be other than 0.
#[inline(always)]
fn groups<'r>(
    rows: &'r [f64],
    lengths: &'r [usize],
    n: usize,
) -> impl Iterator<Item = ([&'r [f64]; TOGETHER], usize)> {
    rows.chunks_exact(n * TOGETHER).zip(lengths.chunks_exact(TOGETHER)).map(move |(rows, lengths)| {
        let length = lengths[TOGETHER - 1];
        (std::array::from_fn(|i| &rows[i * n..i * n + length]), length)
    })
}

/// Adds eight rows, each times its factor, one after the other.
#[inline(always)]
fn add_rows(into: &mut [f64], rows: [&[f64]; TOGETHER], factor: impl Fn(usize) -> f64) {
    let length = into.len();
    let [r0, r1, r2, r3, r4, r5, r6, r7] = rows.map(|row| &row[..length]);
    let f: [f64; TOGETHER] = std::array::from_fn(factor);
    for i in 0..length {
        let sum = into[i] + f[0] * r0[i] + f[1] * r1[i] + f[2] * r2[i] + f[3] * r3[i];
        into[i] = sum + f[4] * r4[i] + f[5] * r5[i] + f[6] * r6[i] + f[7] * r7[i];
    }
}

/// Sum of products, in four strands that do not wait for each other; the order is fixed.
#[inline(always)]
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let ((fours_a, rest_a), (fours_b, rest_b)) = (a.as_chunks::<4>(), b.as_chunks::<4>());
    let rest: f64 = rest_a.iter().zip(rest_b).map(|(x, y)| x * y).sum();
    for (x, y) in fours_a.iter().zip(fours_b) {
        for i in 0..4 {
            sums[i] += x[i] * y[i];
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// The longest step (at most 1 / 0.99) that keeps all of `v + step dv` from turning negative.
#[multiversion(targets("x86_64+avx+avx2"))]
fn step_to(v: &[f64], dv: &[f64]) -> f64 {
    // The largest share of itself that one loses in a step of 1.
    let mut most = [0.99; 4];
    let ((fours_v, rest_v), (fours_d, rest_d)) = (v.as_chunks::<4>(), dv.as_chunks::<4>());
    let more = |most: f64, x: f64, d: f64| if -d / x > most { -d / x } else { most };
    for (x, d) in fours_v.iter().zip(fours_d) {
        for i in 0..4 {
            most[i] = more(most[i], x[i], d[i]);
        }
    }
    for (x, d) in rest_v.iter().zip(rest_d) {
        most[0] = more(most[0], *x, *d);
    }
    1.0 / most.into_iter().fold(0.0, f64::max)
}

/// Upper Cholesky factor in place, Uᵀ U; `None` when the matrix is not positive definite.
///
/// Four pivots are taken at a time: the rows below are read and written once for all of them.
#[multiversion(targets("x86_64+avx+avx2"))]
fn cholesky(a: &mut [f64], n: usize) -> Option<()> {
    let mut k = 0;
    while k < n {
        let taken = (n - k).min(PIVOTS);
        let (panel, below) = a[k * n..].split_at_mut(taken * n);
        for p in 0..taken {
            let (pivot, rest) = panel[p * n..].split_at_mut(n);
            let pivot = &mut pivot[k + p..];
            let d = pivot[0];
            if d.is_nan() || d <= 0.0 {
                return None;
            }
            let root = d.sqrt();
            let by = 1.0 / root;
            pivot[0] = root;
            pivot[1..].iter_mut().for_each(|value| *value *= by);
            for (i, row) in rest.chunks_exact_mut(n).enumerate() {
                let factor = pivot[1 + i];
                for (value, p) in row[k + p + 1 + i..].iter_mut().zip(&pivot[1 + i..]) {
                    *value -= factor * p;
                }
            }
        }
        k += taken;
        if taken == PIVOTS {
            let mut rows = panel.chunks_exact(n);
            let pivots: [&[f64]; PIVOTS] = std::array::from_fn(|_| rows.next().unwrap_or_default());
            for (i, row) in below.chunks_exact_mut(n).enumerate() {
                less_rows(&mut row[k + i..], pivots.map(|pivot| &pivot[k + i..]));
            }
        }
    }
    Some(())
}

/// Pivots taken at a time.
const PIVOTS: usize = 4;

/// Takes four rows away, each times its first entry, one after the other.
#[inline(always)]
fn less_rows(from: &mut [f64], rows: [&[f64]; PIVOTS]) {
    let length = from.len();
    let [r0, r1, r2, r3] = rows.map(|row| &row[..length]);
    let f = [r0[0], r1[0], r2[0], r3[0]];
    for i in 0..length {
        from[i] = from[i] - f[0] * r0[i] - f[1] * r1[i] - f[2] * r2[i] - f[3] * r3[i];
    }
}

/// Solves Uᵀ U x = b, in place.
#[multiversion(targets("x86_64+avx+avx2"))]
fn back_substitute(u: &[f64], n: usize, x: &mut [f64]) {
    for i in 0..n {
        x[i] /= u[i * n + i];
        let value = x[i];
        for (slot, a) in x[i + 1..].iter_mut().zip(&u[i * n + i + 1..(i + 1) * n]) {
            *slot -= a * value;
        }
    }
    for i in (0..n).rev() {
        let sum = dot(&u[i * n + i + 1..(i + 1) * n], &x[i + 1..]);
        x[i] = (x[i] - sum) / u[i * n + i];
    }
}

#[cfg(test)]
mod tests;
