//! What can be wrong with a plan, each fault with its place and what to do about it.
use crate::geometry::json_place::{self, Places};
use std::fmt;

/// The largest plan that is read, in bytes: some 200,000 points, far beyond any driveway.
pub const MAX_PLAN_BYTES: u64 = 16 * 1024 * 1024;

/// How many faults are spelled out; a file that is wrong everywhere is wrong in the same way everywhere.
const SHOWN_FAULTS: usize = 40;

/// Why a plan cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// The file is larger than any site plan.
    #[error(
        "{file}: {} MB is too large for a site plan (at most {} MB); keep only the road, the gate and what stands \
         near it",
        bytes.div_ceil(1_000_000), limit / 1_000_000
    )]
    TooLarge {
        /// Name of the plan file.
        file: String,
        /// Its size.
        bytes: u64,
        /// The largest size that is read.
        limit: u64,
    },
    /// Faults in the plan, in the order they stand in the file.
    #[error("{}", list(file, faults))]
    Faulty {
        /// Name of the plan file.
        file: String,
        /// All faults found. Mending one may show others that it hid.
        faults: Vec<Fault>,
    },
}

impl PlanError {
    /// The faults, one by one; none if the file was not read.
    #[must_use]
    pub fn faults(&self) -> &[Fault] {
        match self {
            Self::TooLarge { .. } => &[],
            Self::Faulty { faults, .. } => faults,
        }
    }
}

/// Refuses a plan file by its size alone, before it is read.
///
/// ```
/// use wideenough::site::check_size;
/// assert!(check_size("yard.geojson", 50_000).is_ok());
/// assert_eq!(
///     check_size("yard.geojson", 100_000_000).unwrap_err().to_string(),
///     "yard.geojson: 100 MB is too large for a site plan (at most 16 MB); keep only the road, the gate and what \
///      stands near it",
/// );
/// ```
///
/// # Errors
/// [`PlanError::TooLarge`] beyond [`MAX_PLAN_BYTES`].
pub fn check_size(file: &str, bytes: u64) -> Result<(), PlanError> {
    if bytes > MAX_PLAN_BYTES {
        return Err(PlanError::TooLarge { file: file.to_owned(), bytes, limit: MAX_PLAN_BYTES });
    }
    Ok(())
}

/// One thing that is wrong, or that was passed over.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Column in that line, counted from 1 in characters.
    pub column: usize,
    /// The feature it is about, counted from 1 in the order of the file.
    pub feature: Option<usize>,
    /// What the plan calls that feature.
    pub label: Option<String>,
    /// The place within the feature: `ring 1, point 12` (counted from 1), `property "width"`, or empty.
    pub part: String,
    /// What is wrong and what to do.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: ", self.line, self.column)?;
        let mut who = match (self.feature, &self.label) {
            (Some(index), Some(label)) => format!("feature {index} \"{label}\""),
            (Some(index), None) => format!("feature {index}"),
            (None, _) => String::new(),
        };
        if !self.part.is_empty() {
            if !who.is_empty() {
                who.push_str(", ");
            }
            who.push_str(&self.part);
        }
        if who.is_empty() { f.write_str(&self.message) } else { write!(f, "{who}: {}", self.message) }
    }
}

fn list(file: &str, faults: &[Fault]) -> String {
    let mut lines: Vec<String> =
        faults.iter().take(SHOWN_FAULTS).map(|fault| format!("{file}:{fault}")).collect();
    if faults.len() > SHOWN_FAULTS {
        lines.push(format!("{file}: and {} more faults", faults.len() - SHOWN_FAULTS));
    }
    lines.join("\n")
}

/// The feature a fault is about: its place in the list, what it is called, its JSON pointer.
#[derive(Clone, Debug, Default)]
pub(super) struct Who {
    pub(super) index: Option<usize>,
    pub(super) label: Option<String>,
    pub(super) pointer: String,
}

/// Collects faults and warnings while a plan is read.
pub(super) struct Notes<'a> {
    text: &'a str,
    pub(super) places: Places,
    pub(super) faults: Vec<Fault>,
    pub(super) warnings: Vec<Fault>,
}

impl<'a> Notes<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Self { text, places: Places::scan(text), faults: Vec::new(), warnings: Vec::new() }
    }

    fn note(&self, who: &Who, below: &str, part: &str, message: String) -> Fault {
        let (line, column) = self.places.find(self.text, &format!("{}{below}", who.pointer));
        Fault { line, column, feature: who.index, label: who.label.clone(), part: part.to_owned(), message }
    }

    /// A fault at the value `below` (a pointer relative to the feature's).
    pub(super) fn fault(&mut self, who: &Who, below: &str, part: &str, message: impl Into<String>) {
        let fault = self.note(who, below, part, message.into());
        self.faults.push(fault);
    }

    /// Something passed over, which the plan's author should know.
    pub(super) fn warn(&mut self, who: &Who, below: &str, part: &str, message: impl Into<String>) {
        let warning = self.note(who, below, part, message.into());
        self.warnings.push(warning);
    }

    /// Whether a property of a feature was there but could not be read, so that it is not missing.
    pub(super) fn has_faulty(&self, who: &Who, key: &str) -> bool {
        let part = format!("property \"{key}\"");
        self.faults.iter().any(|fault| fault.feature == who.index && fault.part == part)
    }

    /// A fault in one property of a feature.
    pub(super) fn property(&mut self, who: &Who, key: &str, message: impl Into<String>) {
        self.fault(
            who,
            &format!("/properties{}", json_place::step(key)),
            &format!("property \"{key}\""),
            message,
        );
    }
}
