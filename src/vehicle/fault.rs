//! What is wrong with a vehicle file: where, what, and what to do about it.
use std::fmt;

/// One fault of a vehicle file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The file, as it was named to [`super::read()`].
    pub file: String,
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Column in that line, counted from 1 in characters.
    pub column: usize,
    /// The value at fault: `units[0].rear_axle.track`; empty for the file as a whole.
    pub path: String,
    /// What is wrong, and what to do.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: ", self.file, self.line, self.column)?;
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
    #[error("{}", list(.0))]
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

/// How many faults are spelled out; a file that is wrong everywhere is wrong in the same way everywhere.
const SHOWN_FAULTS: usize = 40;

fn list(faults: &[Fault]) -> String {
    let mut lines: Vec<String> = faults.iter().take(SHOWN_FAULTS).map(Fault::to_string).collect();
    if faults.len() > SHOWN_FAULTS {
        lines.push(format!("{}: and {} more faults", faults[0].file, faults.len() - SHOWN_FAULTS));
    }
    lines.join("\n")
}
