//! Linear programs with known answers, rows left out at first, and inexact answers.
use super::*;
use crate::random::Random;

#[test]
fn a_textbook_program() {
    // max 3x + 5y, x ≤ 4, 2y ≤ 12, 3x + 2y ≤ 18, x, y ≥ 0: (2, 6), worth 36.
    let mut p = LinearProgram::new(vec![-3.0, -5.0]);
    p.between(0, 0.0, 4.0);
    p.at_most(&[(1, 2.0)], 12.0);
    p.at_most(&[(1, -1.0)], 0.0);
    p.at_most(&[(0, 3.0), (1, 2.0)], 18.0);
    let x = p.solve(Tolerance::exact(1e-7), None).expect("it has a solution");
    assert!((x[0] - 2.0).abs() < 1e-6 && (x[1] - 6.0).abs() < 1e-6, "{x:?}");
}

#[test]
fn a_minimax_with_a_known_answer() {
    // Least t with t ≥ ±(x - 1) + 2 and t ≥ 3 - x, |x| ≤ 10: t = 2 at x = 1.
    let mut p = LinearProgram::new(vec![0.0, 1.0]);
    p.at_most(&[(0, 1.0), (1, -1.0)], -1.0);
    p.at_most(&[(0, -1.0), (1, -1.0)], -3.0);
    p.between(0, -10.0, 10.0);
    let x = p.solve(Tolerance::exact(1e-7), None).expect("it has a solution");
    assert!((x[1] - 2.0).abs() < 1e-6, "{x:?}");
}

/// Rows left out at first are included where the answer requires them: the same least cost as with all rows.
#[test]
fn rows_left_out_change_nothing() {
    let mut random = Random(7);
    let mut next = || random.between(0.0, 1.0);
    let mut late = 0;
    for _ in 0..60 {
        let n = 9;
        let mut costs = vec![0.0; n];
        costs[n - 1] = 1.0;
        let mut p = LinearProgram::new(costs);
        for column in 0..n - 1 {
            p.between(column, -0.1, 0.1);
        }
        p.between(n - 1, -60.0, 60.0);
        // The last variable stands above many planes, most of them low.
        for _ in 0..80 {
            let plane: Vec<f64> = (0..n - 1).map(|_| 2.0 * next() - 1.0).collect();
            p.at_most_dense(&plane, 1.0, &[(n - 1, -1.0)], 1.5 * next().powi(2));
        }
        let accuracy = Tolerance::exact(1e-9);
        let (some, all) =
            (p.solve(accuracy, None).expect("solved"), p.solve_all(accuracy, None).expect("solved"));
        assert!((p.cost(&some) - p.cost(&all)).abs() < 1e-6, "{} {}", p.cost(&some), p.cost(&all));
        for (row, limit) in p.rows.chunks_exact(n).zip(&p.limits) {
            assert!(dot(row, &some) <= limit + 2.0 * BROKEN);
        }
        let kept: Vec<bool> = p.nearness().iter().map(|ratio| *ratio < NEAR).collect();
        assert!(kept.iter().filter(|kept| **kept).count() < 60);
        let first = p.part(&kept).solve_all(accuracy, None).expect("solved");
        late += usize::from(p.cost(&first) < p.cost(&all) - 1e-6);
    }
    assert!(late > 5, "rows left out mattered in {late} programs");
}

/// From a point within the rows, solved inexactly: about a twentieth of the gain may be missing, and no row is violated
/// by more than a few micrometers.
#[test]
fn roughly_is_near_enough() {
    let mut random = Random(3);
    let mut next = || random.between(0.0, 1.0);
    let mut missing: f64 = 0.0;
    for _ in 0..60 {
        let n = 12;
        let mut costs = vec![0.0; n];
        costs[n - 1] = 2.0;
        let mut p = LinearProgram::new(costs);
        for _ in 0..40 {
            let plane: Vec<f64> = (0..n - 1).map(|_| 2.0 * next() - 1.0).collect();
            p.at_most_dense(&plane, 1.0, &[(n - 1, -1.0)], -1.0 - 0.1 * next());
        }
        let start = p.point_within(n - 1..n, 0.005);
        let now = p.cost(&start);
        // The point within the rows is the plane that stands highest over the middle, plus a hair.
        assert!(
            (start[n - 1] - 0.005 - p.limits.iter().fold(0.0, |most: f64, b| most.max(-b))).abs() < 1e-12
        );
        for column in 0..n - 1 {
            p.between(column, -0.1, 0.1);
        }
        p.between(n - 1, -60.0, 60.0);
        let best = p.solve(Tolerance::exact(1e-9), None).expect("solved");
        let inexact = p.solve(Tolerance::inexact(1e-6, now), Some(&start)).expect("solved");
        let (most, had) = (now - p.cost(&best), now - p.cost(&inexact));
        assert!(had > 0.93 * most, "{had} of {most}");
        missing = missing.max(1.0 - had / most);
        for (row, limit) in p.rows.chunks_exact(n).zip(&p.limits) {
            assert!(dot(row, &inexact) <= limit + 5e-6);
        }
    }
    assert!(missing > 1e-4, "never inexact: {missing}");
    let mut p = LinearProgram::new(vec![1.0]);
    p.at_most(&[(0, -1.0)], 0.0);
    p.forget_short_rows();
    p.at_most(&[(0, -1.0)], 2.0);
    p.at_most(&[(0, 1.0)], 5.0);
    let x = p.solve(Tolerance::exact(1e-9), None).expect("solved");
    assert!((x[0] + 2.0).abs() < 1e-6, "{x:?}");
}

/// The normal matrix, computed by tiles for this processor's registers, equals the plain sums in the order of the rows, to the
/// last bit.
#[test]
fn tiles_are_the_plain_sums_to_the_last_bit() {
    let mut state = 7_u64;
    let mut draw = || {
        state = crate::search::templates::mixed(state);
        f64::from(u32::try_from(state >> 32).unwrap()) / f64::from(u32::MAX) - 0.5
    };
    for (n, full) in [(1, 1), (5, 3), (8, 16), (13, 40), (37, 21)] {
        let mut lp = LinearProgram::new(vec![0.0; n]);
        for row in 0..full {
            // Rows that form a skyline: later rows have more entries.
            let entries = (n * (row + 1)).div_ceil(full).min(n);
            let row: Vec<f64> = (0..entries).map(|_| draw()).collect();
            lp.at_most_dense(&row, 1.0, &[], 0.0);
        }
        let weights: Vec<f64> = (0..full).map(|_| draw() + 1.0).collect();
        let table = SkylineRows::of(&lp);
        let mut matrix = vec![0.0; n * n];
        table.weighted(&weights, &mut matrix);
        for a in 0..n {
            for b in a..n {
                let products = table.rows.chunks_exact(n).zip(&weights).map(|(row, w)| w * row[a] * row[b]);
                let plain = products.fold(0.0, |sum, product| sum + product);
                assert_eq!(matrix[a * n + b].to_bits(), plain.to_bits(), "{n} {full} {a} {b}");
            }
        }
    }
}
