//! One fault of a file: where it is, what is wrong, and how to fix it. Plans, vehicle files, allowances and tables of
//! roles all report their faults in this form.
use std::fmt;

/// Number of faults spelled out; a file that is wrong everywhere is wrong in the same way everywhere.
const SHOWN_FAULTS: usize = 40;

/// One fault of a file, or something in it that was ignored.
///
/// ```
/// let text = r#"{ "title": "Truck", "units": [], "steering": { "lock_angle_deg": 30 } }"#;
/// let error = wideenough::vehicle::read(text, "truck.json").unwrap_err();
/// assert_eq!(error.to_string(), "truck.json:1:30: units: must have 1 to 4 items, but has 0");
/// ```
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// The file, as it was named to the reader.
    pub file: String,
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Column in that line, counted from 1 in characters.
    pub column: usize,
    /// The feature of a plan at fault, counted from 1 in the order of the plan.
    pub feature: Option<usize>,
    /// The plan's label for that feature.
    pub label: Option<String>,
    /// The place within the feature or the file: `ring 1, point 12` (counted from 1), `property "width"`,
    /// `units[0].rear_axle.track`, or empty.
    pub part: String,
    /// The problem and its remedy.
    pub message: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: ", self.file, self.line, self.column)?;
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

/// The faults, one a line; if there are very many, the first 40 and the number of the others.
pub(crate) fn list(faults: &[Fault]) -> String {
    let mut lines: Vec<String> = faults.iter().take(SHOWN_FAULTS).map(Fault::to_string).collect();
    if let Some(next) = faults.get(SHOWN_FAULTS) {
        lines.push(format!("{}: and {} more faults", next.file, faults.len() - SHOWN_FAULTS));
    }
    lines.join("\n")
}
