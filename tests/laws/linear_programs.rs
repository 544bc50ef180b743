//! The linear programs that the search solves at each step, against answers known beforehand: an optimal corner is
//! planted, or every corner is checked.
use crate::common::random::Random;
use wideenough::search::lp::{LinearProgram, Tolerance};

/// Numbers between -1 and 1.
fn list(random: &mut Random, n: usize) -> Vec<f64> {
    (0..n).map(|_| random.between(-1.0, 1.0)).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// By duality: rows that hold with equality at a point, with costs that are minus a sum of them with weights of 0 and
/// more, make that point the optimum; rows that leave room there do not matter. From 1 to 41 variables, odd and even,
/// with up to 140 full rows that begin late, as those of a search do, and short ones of one to three entries.
#[test]
fn a_planted_answer_is_found() {
    let mut random = Random(3);
    for n in [1, 2, 3, 4, 5, 8, 13, 20, 33, 41] {
        for full in [0, 1, 2, 3, 3 * n, 3 * n + 1] {
            let best = list(&mut random, n);
            // Rows that hold the point, and as many that leave it room.
            let mut rows: Vec<(Vec<f64>, f64, bool)> = Vec::new();
            for i in 0..full {
                // An entry that comes later moves nothing before it.
                let row: Vec<f64> = list(&mut random, n);
                let zeros = if i % 3 == 0 { (i * n / full).min(n - 1) } else { 0 };
                let row: Vec<f64> =
                    row.iter().enumerate().map(|(c, v)| if c < zeros { 0.0 } else { *v }).collect();
                rows.push((row, if i % 2 == 0 { 0.0 } else { 0.2 + random.between(0.0, 1.0) }, true));
            }
            for c in 0..n {
                // Every variable is held by a short row of one to three entries.
                let mut row = vec![0.0; n];
                for k in 0..=c % 3 {
                    row[(c + k) % n] += if k == 0 { 1.5 } else { random.between(-1.0, 1.0) };
                }
                rows.push((row, 0.0, false));
                // And no variable is unbounded.
                let mut far = vec![0.0; n];
                far[c] = -1.0;
                rows.push((far, 3.0, false));
            }
            let mut costs = vec![0.0; n];
            for (row, room, _) in rows.iter().filter(|(_, room, _)| *room == 0.0) {
                let weight = 0.3 + random.between(0.0, 1.0) + room;
                costs.iter_mut().zip(row).for_each(|(c, a)| *c -= weight * a);
            }
            let mut program = LinearProgram::new(costs.clone());
            for (row, room, dense) in &rows {
                let limit = dot(row, &best) + room;
                if *dense {
                    // In the form the search writes them: a beginning with a factor, and more entries.
                    let begins: Vec<f64> = row[..n - 1].iter().map(|v| v / -2.0).collect();
                    program.at_most_dense(
                        &begins,
                        -2.0,
                        &[(n - 1, 0.25 * row[n - 1]), (n - 1, 0.75 * row[n - 1])],
                        limit,
                    );
                } else {
                    let entries: Vec<(usize, f64)> =
                        row.iter().copied().enumerate().filter(|(_, v)| *v != 0.0).collect();
                    program.at_most(&entries, limit);
                }
            }
            let x = program
                .solve(Tolerance::exact(1e-7), None)
                .unwrap_or_else(|| panic!("{n} numbers, {full} full rows: no answer"));
            let worth = dot(&costs, &best);
            assert!((program.cost(&x) - dot(&costs, &x)).abs() < 1e-12);
            let over = rows.iter().map(|(row, room, _)| dot(row, &x) - dot(row, &best) - room);
            let over = over.fold(f64::NEG_INFINITY, f64::max);
            assert!(over < 1e-6, "{n} numbers, {full} full rows: a row is broken by {over}");
            let scale = 1.0 + costs.iter().map(|c| c.abs()).sum::<f64>();
            let off = program.cost(&x) - worth;
            assert!(off.abs() < 1e-5 * scale, "{n} numbers, {full} full rows: {off} from the best");
        }
    }
}

/// Two variables and random rows around a box: the best of all corners where two rows meet, checked one by one.
#[test]
fn no_corner_is_better() {
    let mut random = Random(11);
    for _ in 0..200 {
        let costs = list(&mut random, 2);
        let mut rows: Vec<([f64; 2], f64)> =
            vec![([1.0, 0.0], 5.0), ([-1.0, 0.0], 5.0), ([0.0, 1.0], 5.0), ([0.0, -1.0], 5.0)];
        for _ in 0..12 {
            rows.push((
                [random.between(-1.0, 1.0), random.between(-1.0, 1.0)],
                0.5 + random.between(0.0, 1.0),
            ));
        }
        let mut program = LinearProgram::new(costs.clone());
        program.between(0, -5.0, 5.0);
        program.between(1, -5.0, 5.0);
        for (row, limit) in &rows[4..] {
            program.at_most_dense(row, 1.0, &[], *limit);
        }
        let mut best = f64::INFINITY;
        for (i, (a, b)) in rows.iter().enumerate() {
            for (c, d) in &rows[..i] {
                let det = a[0] * c[1] - a[1] * c[0];
                if det.abs() < 1e-9 {
                    continue;
                }
                let x = [(b * c[1] - a[1] * d) / det, (a[0] * d - b * c[0]) / det];
                if rows.iter().all(|(row, limit)| dot(row, &x) <= limit + 1e-9) {
                    best = best.min(dot(&costs, &x));
                }
            }
        }
        let x = program.solve(Tolerance::exact(1e-7), None).expect("it has a best corner");
        assert!((program.cost(&x) - best).abs() < 1e-5, "{} against {best}", program.cost(&x));
    }
}

/// An infeasible problem is reported as such: x at least 1 and at most 0.
#[test]
fn what_cannot_be_has_no_answer() {
    let mut program = LinearProgram::new(vec![1.0]);
    program.between(0, 1.0, 0.0);
    assert!(program.solve(Tolerance::exact(1e-7), None).is_none());
    // Costs that are not numbers make it break down.
    let mut program = LinearProgram::new(vec![f64::NAN]);
    program.between(0, -1.0, 1.0);
    assert!(program.solve(Tolerance::exact(1e-7), None).is_none());
}
