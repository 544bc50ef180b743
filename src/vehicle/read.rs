//! Reads a vehicle file and checks size, syntax, structure and meaning; reports all faults at once.
use super::fault::VehicleError;
use super::file::VehicleFile;
use super::{Vehicle, build, schema};
use crate::geometry::document::{Kind, structure};
use crate::geometry::text::tidy;

/// Reads a vehicle file. `file_name` identifies the file in faults; without folder and extension it is the vehicle's
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
/// [`VehicleError::Faults`], with every fault found; fixing one may reveal others that it hid.
pub fn read(text: &str, file_name: &str) -> Result<Vehicle, VehicleError> {
    let kind = Kind { what: "a vehicle file", holds: "a JSON object with a title, units and steering" };
    let (file, draft) =
        structure::<VehicleFile>(text, file_name, &kind, &schema()).map_err(VehicleError::Faults)?;
    draft.finish(build::vehicle(&file, &tidy(stem(file_name)))).map_err(VehicleError::Faults)
}

/// A file's name without folders and extension.
fn stem(file_name: &str) -> &str {
    let name = file_name.rsplit(['/', '\\']).next().unwrap_or(file_name);
    name.strip_suffix(".json").unwrap_or(name)
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    /// Every keyword of the generated schema is one that `geometry::schema_check` supports (or allows any value).
    #[test]
    fn reads_all_the_schema_uses() {
        let read = [
            "$ref",
            "$defs",
            "anyOf",
            "oneOf",
            "const",
            "type",
            "enum",
            "minimum",
            "maximum",
            "properties",
            "additionalProperties",
            "required",
            "minItems",
            "maxItems",
            "prefixItems",
            "items",
        ];
        let only_says = ["$schema", "title", "description", "default", "format"];
        let schema: Value = serde_json::from_str(&crate::vehicle::schema()).unwrap();
        let mut used = Vec::new();
        collect(&schema, &mut used);
        assert!(used.len() > 100);
        for word in used {
            assert!(read.contains(&word.as_str()) || only_says.contains(&word.as_str()), "{word}");
        }
    }

    /// The keywords of a schema, without the names of the fields it describes.
    fn collect(schema: &Value, used: &mut Vec<String>) {
        match schema {
            Value::Object(members) => {
                for (word, value) in members {
                    used.push(word.clone());
                    match (word.as_str(), value) {
                        ("properties" | "$defs", Value::Object(fields)) => {
                            fields.values().for_each(|field| collect(field, used));
                        }
                        ("default" | "const" | "enum" | "required", _) => {}
                        _ => collect(value, used),
                    }
                }
            }
            Value::Array(items) => items.iter().for_each(|item| collect(item, used)),
            _ => {}
        }
    }
}
