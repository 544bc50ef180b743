//! Faults of a plan, each with its place and its remedy.
pub use crate::geometry::fault::Fault;
use crate::geometry::fault::list;
use crate::geometry::json_place::{self, Places};
use crate::geometry::length::{Round, Units, show_fine};
use std::collections::{BTreeMap, BTreeSet};

/// The largest plan that is read, in bytes: some 200,000 points, far beyond any driveway.
pub const MAX_PLAN_BYTES: u64 = 16 * 1024 * 1024;

/// The reason a plan cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
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
    #[error("{}", list(faults))]
    Faulty {
        /// Name of the plan file.
        file: String,
        /// All faults found: of the plan, and of the files given with it. Fixing one may reveal others that it hid.
        faults: Vec<Fault>,
        /// Things that were ignored or look odd besides, a mistyped property, say.
        warnings: Vec<Fault>,
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

    /// Things that were ignored or look odd besides the faults: one of them may be the cause.
    #[must_use]
    pub fn warnings(&self) -> &[Fault] {
        match self {
            Self::TooLarge { .. } => &[],
            Self::Faulty { warnings, .. } => warnings,
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

/// The feature a fault is about: its place in the list, its label, its JSON pointer.
#[derive(Clone, Debug, Default)]
pub(super) struct Who {
    pub(super) index: Option<usize>,
    pub(super) label: Option<String>,
    pub(super) pointer: String,
}

/// A text that faults are found in, and the place of each value in it.
struct Document<'a> {
    text: &'a str,
    file: &'a str,
    places: Places,
}

/// Place of a value: a document by its number, and a JSON pointer in it.
#[derive(Clone, Debug)]
pub(super) struct Stands {
    pub(super) document: usize,
    pub(super) pointer: String,
}

/// Collects faults and warnings while a plan is read.
pub(super) struct Notes<'a> {
    /// The plan first, then the files given with it.
    documents: Vec<Document<'a>>,
    /// Origins of values of the plan that were taken from elsewhere than their pointer says.
    elsewhere: BTreeMap<String, Stands>,
    /// Faults of other files already reported: each is reported once, however many features it concerns.
    told: BTreeSet<(usize, usize, usize, String)>,
    /// Units in which messages give lengths: those of the plan.
    pub(super) units: Units,
    /// Name of the file of roles, if there is one.
    pub(super) roles_file: Option<&'a str>,
    pub(super) faults: Vec<Fault>,
    pub(super) warnings: Vec<Fault>,
}

impl<'a> Notes<'a> {
    pub(super) fn new(text: &'a str, file: &'a str) -> Self {
        let mut notes = Self {
            documents: Vec::new(),
            elsewhere: BTreeMap::new(),
            told: BTreeSet::new(),
            units: Units::Feet,
            roles_file: None,
            faults: Vec::new(),
            warnings: Vec::new(),
        };
        notes.add(text, file);
        notes
    }

    /// Adds another text that faults may be found in, and returns its number.
    pub(super) fn add(&mut self, text: &'a str, file: &'a str) -> usize {
        let mut places = Places::scan(text);
        for doubled in std::mem::take(&mut places.doubled) {
            self.faults.push(Fault {
                file: file.to_owned(),
                line: doubled.line,
                column: doubled.column,
                feature: feature_of(&doubled.pointer).filter(|_| self.documents.is_empty()),
                label: None,
                part: format!("\"{}\"", doubled.key),
                message: "appears twice in one object; remove one".to_owned(),
            });
        }
        self.documents.push(Document { text, file, places });
        self.documents.len() - 1
    }

    /// Records that the value at a pointer, and all below it, came from elsewhere: faults in it are reported at the
    /// place it was taken from.
    pub(super) fn stands(&mut self, pointer: String, document: usize, taken_from: String) {
        self.elsewhere.insert(pointer, Stands { document, pointer: taken_from });
    }

    /// Place of a value of the plan.
    fn place(&self, pointer: &str) -> Stands {
        if !self.elsewhere.is_empty() {
            let ends = pointer.match_indices('/').map(|(i, _)| i).chain([pointer.len()]);
            for end in ends.collect::<Vec<usize>>().into_iter().rev() {
                if let Some(at) = self.elsewhere.get(&pointer[..end]) {
                    return Stands { pointer: format!("{}{}", at.pointer, &pointer[end..]), ..at.clone() };
                }
            }
        }
        Stands { document: 0, pointer: pointer.to_owned() }
    }

    /// Makes a fault at a value; `None` if it has been reported already.
    fn note(&mut self, who: &Who, below: &str, part: &str, message: String) -> Option<Fault> {
        let at = self.place(&format!("{}{below}", who.pointer));
        let document = self.documents.get(at.document)?;
        let (line, column) = document.places.find(document.text, &at.pointer);
        if at.document > 0 && !self.told.insert((at.document, line, column, message.clone())) {
            return None;
        }
        Some(Fault {
            file: document.file.to_owned(),
            line,
            column,
            feature: who.index,
            label: who.label.clone(),
            part: part.to_owned(),
            message,
        })
    }

    /// A fault at the value `below` (a pointer relative to the feature's).
    pub(super) fn fault(&mut self, who: &Who, below: &str, part: &str, message: impl Into<String>) {
        let fault = self.note(who, below, part, message.into());
        self.faults.extend(fault);
    }

    /// A warning at a value: something was ignored, and the plan's author should know.
    pub(super) fn warn(&mut self, who: &Who, below: &str, part: &str, message: impl Into<String>) {
        let warning = self.note(who, below, part, message.into());
        self.warnings.extend(warning);
    }

    /// A length for a message, in the plan's units.
    pub(super) fn length(&self, meters: f64) -> String {
        show_fine(meters, self.units, Round::Nearest)
    }

    /// True if a property of a feature was there but could not be read, so that it is not missing.
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

    /// Everything found, the plan's first, each file's in its order.
    pub(super) fn sorted(self) -> (Vec<Fault>, Vec<Fault>) {
        let files: Vec<&str> = self.documents.iter().map(|document| document.file).collect();
        let order = |fault: &Fault| files.iter().position(|file| *file == fault.file);
        let mut both = (self.faults, self.warnings);
        for list in [&mut both.0, &mut both.1] {
            list.sort_by(|a, b| order(a).cmp(&order(b)).then_with(|| a.cmp(b)));
        }
        both
    }
}

/// The feature, counted from 1, that a pointer leads into.
fn feature_of(pointer: &str) -> Option<usize> {
    let index: usize = pointer.strip_prefix("/features/")?.split('/').next()?.parse().ok()?;
    Some(index + 1)
}
