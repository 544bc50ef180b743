//! Linear-algebra kernels of the interior-point method: matrix-vector products, the normal matrix, its Cholesky factor.
//!
//! Each kernel is compiled for SSE2 and for AVX2 and chosen at run time. The order of every sum is fixed, so both give the same
//! bits.
use multiversion::multiversion;

/// Rows processed together in the transposed product: each entry of the sum is read and written once for all of them.
pub(super) const TOGETHER: usize = 8;
/// Columns of a register tile of the normal matrix, and of a block of the matrix it is computed from.
pub(super) const WIDE: usize = 8;
/// Rows of a register tile.
const TALL: usize = 4;

/// Adds the normal matrix Aᵀ diag(w) A of the full rows to the upper triangle of an `n` by `n` matrix. `panels` holds A by
/// blocks of [`WIDE`] columns, `lengths` the number of leading entries of each row that may differ from 0.
///
/// Register tiling: a tile of [`TALL`] by [`WIDE`] entries is accumulated over all rows, in their order, then stored once.
#[multiversion(targets("x86_64+avx+avx2"))]
pub(super) fn add_weighted(panels: &[f64], lengths: &[usize], n: usize, w: &[f64], matrix: &mut [f64]) {
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
pub(super) fn less_transposed(rows: &[f64], lengths: &[usize], n: usize, z: &[f64], x: &mut [f64]) {
    for (index, (rows, length)) in groups(rows, lengths, n).enumerate() {
        add_rows(&mut x[..length], rows, |i| z.get(index * TOGETHER + i).map_or(0.0, |z| -z));
    }
}

/// A x of the full rows.
#[multiversion(targets("x86_64+avx+avx2"))]
pub(super) fn times(rows: &[f64], lengths: &[usize], n: usize, x: &[f64], into: &mut [f64]) {
    for ((slot, row), length) in into.iter_mut().zip(rows.chunks_exact(n)).zip(lengths) {
        *slot = dot(&row[..*length], &x[..*length]);
    }
}

/// Groups of eight rows: their entries, and how many of them may differ from 0.
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

/// Sum of products, in four independent strands; the order is fixed.
#[inline(always)]
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
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

/// Longest step (at most 1 / 0.99) that keeps all of `v + step dv` nonnegative.
#[multiversion(targets("x86_64+avx+avx2"))]
pub(super) fn step_to(v: &[f64], dv: &[f64]) -> f64 {
    // Largest share of itself that one entry loses in a step of 1.
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
/// Four pivots are eliminated together: the rows below are read and written once for all of them.
#[multiversion(targets("x86_64+avx+avx2"))]
pub(super) fn cholesky(a: &mut [f64], n: usize) -> Option<()> {
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

/// Pivots eliminated together.
const PIVOTS: usize = 4;

/// Subtracts four rows, each times its first entry, one after the other.
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
pub(super) fn back_substitute(u: &[f64], n: usize, x: &mut [f64]) {
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
