//! Reads a vehicle file: size, syntax, structure, meaning, in this order; each stage lists all its faults.
use super::fault::{Fault, VehicleError};
use super::file::VehicleFile;
use super::{Vehicle, build, check, schema};
use crate::geometry::json_place::{Places, step};
use crate::geometry::text::{tidy, tidy_values};
use serde::de::DeserializeOwned;
use serde_json::Value;

/// The largest file read as a vehicle, in bytes. The longest in the library is under a hundredth of it; a larger
/// file is something else, named by mistake.
pub const MAX_FILE_BYTES: usize = 1 << 20;

/// Reads a vehicle file. `file_name` is what faults call the file; without folder and ending it is the vehicle's
/// [name](Vehicle::name).
///
/// ```
/// let text = r#"{ "title": "Our farm truck", "steering": { "lock_angle_deg": 35 },
///   "units": [ { "name": "truck", "wheelbase": "14 ft", "front_overhang": "3 ft", "rear_overhang": "5' 6\"",
///                "width": "7 ft", "height": 2.6 } ] }"#;
/// let truck = wideenough::vehicle::read(text, "sheds/farm-truck.json").unwrap();
/// assert_eq!(truck.name, "farm-truck");
/// assert!((truck.units[0].body_length_m() - 22.5 * 0.3048).abs() < 1e-12);
/// let wrong = text.replace("14 ft", "0 ft").replace("width", "widht");
/// let faults = wideenough::vehicle::read(&wrong, "farm-truck.json").unwrap_err().to_string();
/// assert!(faults.contains("farm-truck.json:3:25: units[0].widht: ") && faults.contains("\"width\""));
/// ```
///
/// # Errors
/// [`VehicleError::Faults`], with every fault of the first stage that found any.
pub fn read(text: &str, file_name: &str) -> Result<Vehicle, VehicleError> {
    let kind = Kind { what: "a vehicle file", holds: "a JSON object with a title, units and steering" };
    let (file, located) =
        structure::<VehicleFile>(text, file_name, &kind, &schema()).map_err(VehicleError::Faults)?;
    build::vehicle(&file, &tidy(stem(file_name))).map_err(|found| VehicleError::Faults(located.faults(found)))
}

/// What a kind of file is called where one is at fault.
pub(crate) struct Kind {
    /// "a vehicle file".
    pub(crate) what: &'static str,
    /// What it is: "a JSON object with a title, units and steering".
    pub(crate) holds: &'static str,
}

/// A text whose values' places are known.
pub(crate) struct Located<'a> {
    text: &'a str,
    file_name: &'a str,
    places: Places,
}

impl Located<'_> {
    /// Faults at paths like `units[0].width`, in the order of the file.
    pub(crate) fn faults(&self, found: Vec<(String, String)>) -> Vec<Fault> {
        let mut faults: Vec<Fault> = found
            .into_iter()
            .map(|(path, message)| {
                let (line, column) = self.places.find(self.text, &pointer(&path));
                Fault { file: self.file_name.to_owned(), line, column, path, message }
            })
            .collect();
        faults.sort_by_key(|f| (f.line, f.column));
        faults
    }
}

/// Reads a text by its size, its syntax and a schema, which must come from the same type `T`.
///
/// # Errors
/// Every fault of the first of these that found any.
pub(crate) fn structure<'a, T: DeserializeOwned>(
    text: &'a str,
    file_name: &'a str,
    kind: &Kind,
    schema: &str,
) -> Result<(T, Located<'a>), Vec<Fault>> {
    let one = |(line, column): (usize, usize), message: String| {
        vec![Fault { file: file_name.to_owned(), line, column, path: String::new(), message }]
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
    let differences = check::differences(&schema, &value, kind.what);
    faults.extend(located.faults(differences));
    if faults.is_empty() {
        // The structure agrees with the schema, which comes from the same types: this fails only if the two ever
        // disagree, and then still says where.
        match serde_path_to_error::deserialize::<_, T>(value) {
            Ok(file) => return Ok((file, located)),
            Err(e) => {
                let path = e.path().to_string();
                faults.extend(located.faults(vec![(path, e.inner().to_string())]));
            }
        }
    }
    faults.sort_by_key(|f| (f.line, f.column));
    Err(faults)
}

/// A file's name without folders and ending.
fn stem(file_name: &str) -> &str {
    let name = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
    name.strip_suffix(".json").unwrap_or(name)
}

/// The JSON pointer of a path: `/units/0/width` for `units[0].width`.
fn pointer(path: &str) -> String {
    path.split(['.', '['])
        .filter(|part| !part.is_empty())
        .map(|part| step(part.trim_end_matches(']')))
        .collect()
}
