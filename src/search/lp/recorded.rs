//! Recorder of the linear programs that searches solve, for a test and for a second solver.
use super::{LinearProgram, Tolerance, dot};
use serde_json::{Value, json};
use std::sync::{Mutex, PoisonError};

/// One program in this many is kept, chosen by its numbers, so that the choice is the same on any number of threads.
const ONE_IN: u64 = 211;

/// Programs kept so far; `None` while nothing records.
static KEPT: Mutex<Option<Vec<Recorded>>> = Mutex::new(None);

/// A linear program as it was solved, and the answer.
pub(crate) struct Recorded {
    program: LinearProgram,
    accuracy: Tolerance,
    answer: Vec<f64>,
}

/// Starts to record, on all threads.
pub(crate) fn start() {
    *KEPT.lock().unwrap_or_else(PoisonError::into_inner) = Some(Vec::new());
}

/// Stops and returns what was kept.
pub(crate) fn stop() -> Vec<Recorded> {
    KEPT.lock().unwrap_or_else(PoisonError::into_inner).take().unwrap_or_default()
}

/// Keeps a program that was solved, if it is one of those to keep.
pub(crate) fn keep(program: &LinearProgram, accuracy: Tolerance, answer: &[f64]) {
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(kept) = kept.as_mut() {
        let numbers = program.limits.iter().chain(&program.rows);
        let digest = numbers.fold(17_u64, |digest, n| digest.rotate_left(7) ^ n.to_bits());
        if (digest ^ (digest >> 29)).is_multiple_of(ONE_IN) {
            kept.push(Recorded { program: program.clone(), accuracy, answer: answer.to_vec() });
        }
    }
}

impl Recorded {
    /// Number of variables.
    pub(crate) const fn columns(&self) -> usize {
        self.program.columns
    }

    /// Largest amount by which the answer exceeds the limit of a row.
    pub(crate) fn violation(&self) -> f64 {
        let p = &self.program;
        let full =
            p.rows.chunks_exact(p.columns).zip(&p.limits).map(|(row, limit)| dot(row, &self.answer) - limit);
        let short = p.sparse_rows.iter().zip(&p.few_limits);
        let short = short
            .map(|(row, limit)| row.iter().map(|(column, a)| a * self.answer[*column]).sum::<f64>() - limit);
        full.chain(short).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Program, answer and the bound on what the answer may cost more than the least, as JSON.
    pub(crate) fn as_json(&self) -> Value {
        let p = &self.program;
        let mut rows: Vec<Vec<f64>> = p.rows.chunks_exact(p.columns).map(<[f64]>::to_vec).collect();
        for row in &p.sparse_rows {
            let mut full = vec![0.0; p.columns];
            for (column, a) in row {
                full[*column] += a;
            }
            rows.push(full);
        }
        let limits: Vec<f64> = p.limits.iter().chain(&p.few_limits).copied().collect();
        let Tolerance { gap, now, share, .. } = self.accuracy;
        json!({
            "costs": p.costs, "rows": rows, "limits": limits, "answer": self.answer,
            "gap": gap, "now": now, "share": share,
        })
    }
}
