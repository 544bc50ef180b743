//! Reads a JSON file of the user's own and checks its size, its syntax and the schema of its type: vehicle files,
//! allowances, tables of roles. Every fault has its place.
use super::fault::Fault;
use super::json_place::{Places, step};
use super::schema_check::{self, Difference};
use super::text::tidy_values;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// The largest such file that is read, in bytes. The longest vehicle of the library is under a hundredth of it; a
/// larger file is something else, named by mistake.
pub const MAX_FILE_BYTES: usize = 1 << 20;

/// A kind of file, as messages name it.
pub(crate) struct Kind {
    /// "a vehicle file".
    pub(crate) what: &'static str,
    /// The contents such a file should have: "a JSON object with a title, units and steering".
    pub(crate) holds: &'static str,
}

/// A text and the places of the values in it.
struct Located<'a> {
    text: &'a str,
    file_name: &'a str,
    places: Places,
}

impl Located<'_> {
    /// Faults at paths like `units[0].width`, in the order of the file.
    fn faults(&self, found: Vec<(String, String)>) -> Vec<Fault> {
        let mut faults: Vec<Fault> = found
            .into_iter()
            .map(|(path, message)| {
                let (line, column) = self.places.find(self.text, &pointer(&path));
                fault(self.file_name, (line, column), path, message)
            })
            .collect();
        faults.sort_by_key(|f| (f.line, f.column));
        faults
    }
}

/// Parses a text, checking its size, its syntax and a schema, which must come from the same type `T`. A value that
/// differs from the schema is replaced by a stand-in and reported by [`Draft::finish`], so that it hides nothing else.
///
/// # Errors
/// The fault that leaves nothing to read: too large, empty, not JSON.
pub(crate) fn structure<'a, T: DeserializeOwned>(
    text: &'a str,
    file_name: &'a str,
    kind: &Kind,
    schema: &str,
) -> Result<(T, Draft<'a>), Vec<Fault>> {
    let one = |(line, column): (usize, usize), message: String| {
        vec![fault(file_name, (line, column), String::new(), message)]
    };
    if text.len() > MAX_FILE_BYTES {
        let message = format!(
            "is {} bytes long; {} has at most {MAX_FILE_BYTES}. Is it another kind of file?",
            text.len(),
            kind.what
        );
        return Err(one((1, 1), message));
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        return Err(one((1, 1), format!("is empty; {} is {}", kind.what, kind.holds)));
    }
    let mut value: Value = serde_json::from_str(text).map_err(|e| {
        let message = if e.is_eof() {
            "ends in the middle; the file seems to be cut off".to_owned()
        } else {
            let what = e.to_string();
            let what = what.split(" at line ").next().unwrap_or_default();
            let line = text.lines().nth(e.line().saturating_sub(1)).unwrap_or_default();
            let at = line.get(e.column().saturating_sub(1)..).unwrap_or_default();
            let advice = match at.trim_start_matches('-').chars().next() {
                Some('N' | 'n' | 'I' | 'i') => " (there is no NaN and no infinity; write a plain number)",
                Some(']' | '}') => " (is there a comma too many before it?)",
                _ => "",
            };
            format!("is not JSON: {what}{advice}")
        };
        one((e.line(), e.column().max(1)), message)
    })?;
    tidy_values(&mut value);
    let mut located = Located { text, file_name, places: Places::scan(text) };
    let mut faults: Vec<Fault> = Vec::new();
    for doubled in std::mem::take(&mut located.places.doubled) {
        let message = format!("\"{}\" is given twice; keep one", doubled.key);
        faults.extend(one((doubled.line, doubled.column), message));
    }
    let schema: Value = serde_json::from_str(schema).unwrap_or_default();
    let differences = schema_check::mend(&schema, &mut value, kind.what);
    let told = |d: &Difference| (d.path.clone(), d.message.clone());
    faults.extend(located.faults(differences.iter().map(told).collect()));
    // The mended text agrees with the schema, which comes from the same types: this fails only if the two ever
    // disagree, and even then the fault has its place.
    match serde_path_to_error::deserialize::<_, T>(value) {
        Ok(file) => {
            let mended = differences.into_iter().map(|d| d.mended).collect();
            Ok((file, Draft { located, faults, mended }))
        }
        Err(e) => {
            let path = e.path().to_string();
            if faults.is_empty() {
                faults.extend(located.faults(vec![(path, e.inner().to_string())]));
            }
            faults.sort();
            Err(faults)
        }
    }
}

/// A file whose structure has been checked: its differences from the schema, not yet reported.
pub(crate) struct Draft<'a> {
    located: Located<'a>,
    faults: Vec<Fault>,
    /// Paths of the values that were replaced by a stand-in.
    mended: Vec<String>,
}

impl Draft<'_> {
    /// Returns the value made of the file, or its faults: in its structure, in its meaning (paths and messages), or in
    /// both. Faults found in, at or around a mended place are dropped: the stand-in caused them, not the file.
    pub(crate) fn finish<T>(mut self, made: Result<T, Vec<(String, String)>>) -> Result<T, Vec<Fault>> {
        let (made, mut found) = match made {
            Ok(made) => (Some(made), Vec::new()),
            Err(found) => (None, found),
        };
        let within = |path: &str, whole: &str| {
            whole.is_empty()
                || path
                    .strip_prefix(whole)
                    .is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        found.retain(|(path, _)| !self.mended.iter().any(|m| within(path, m) || within(m, path)));
        self.faults.extend(self.located.faults(found));
        match made {
            Some(made) if self.faults.is_empty() => Ok(made),
            _ => {
                self.faults.sort();
                Err(self.faults)
            }
        }
    }
}

/// The JSON pointer of a path: `/units/0/width` for `units[0].width`.
fn pointer(path: &str) -> String {
    path.split(['.', '['])
        .filter(|part| !part.is_empty())
        .map(|part| step(part.trim_end_matches(']')))
        .collect()
}

/// A fault at a path of a file.
fn fault(file_name: &str, (line, column): (usize, usize), path: String, message: String) -> Fault {
    Fault { file: file_name.to_owned(), line, column, feature: None, label: None, part: path, message }
}
