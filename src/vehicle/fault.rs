//! What is wrong with a vehicle file: where, what, and what to do about it.
use std::fmt;

/// One fault of a vehicle file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The file, as it was named to [`super::read()`].
    pub file: String,
    /// Line in the file, from 1.
    pub line: usize,
    /// The value at fault: `units[0].rear_axle.track`; empty for the file as a whole.
    pub path: String,
    /// What is wrong, and what to do.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: ", self.file, self.line)?;
        if !self.path.is_empty() {
            write!(f, "{}: ", self.path)?;
        }
        f.write_str(&self.message)
    }
}

/// Why there is no vehicle.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum VehicleError {
    /// The file says things that cannot be; all that were found, in the order of the file. A fault in the
    /// structure (a missing field, text where a number belongs) hides those of meaning (a tire outside the body),
    /// which are looked for once the structure is sound.
    #[error("{}", .0.iter().map(Fault::to_string).collect::<Vec<_>>().join("\n"))]
    Faults(Vec<Fault>),
    /// The library has no vehicle of this name.
    #[error("no vehicle named \"{name}\" in the library{}; `wideenough vehicles` lists them, and a path to a \
             vehicle file works too", .nearest.as_ref().map(|n| format!(" (did you mean \"{n}\"?)")).unwrap_or_default())]
    Unknown {
        /// The name asked for.
        name: String,
        /// The library name most like it, if one is near.
        nearest: Option<String>,
    },
}

/// The candidate most like `word`: at most a third of its letters (and at least two) may differ.
pub(super) fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = (word.chars().count() / 3).max(2);
    candidates
        .into_iter()
        .map(|c| (distance(word, c), c))
        .filter(|(d, _)| *d <= allowed)
        .min_by_key(|(d, _)| *d)
        .map(|(_, c)| c)
}

/// Letters to add, drop or change to turn one word into the other (Levenshtein distance), ignoring case.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().map(|c| c.to_ascii_lowercase()).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().map(|c| c.to_ascii_lowercase()).enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(row[j + 1] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::{distance, nearest};

    #[test]
    fn nearest_word() {
        assert_eq!(distance("kitten", "sitting"), 3); // the usual example of the edit distance
        assert_eq!(nearest("wheelbse", ["width", "wheelbase"]), Some("wheelbase"));
        assert_eq!(nearest("color", ["width", "wheelbase"]), None);
    }
}
