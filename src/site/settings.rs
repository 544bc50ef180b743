//! The sources of a plan's settings: its `plan` member, a feature with the role `plan`, or a file of their own.
use super::fault::{Notes, Who};
use super::read::parse;
use super::source::Given;
use super::table::{list_of_names, nested};
use crate::geometry::json_place::step;
use serde_json::{Map, Value};
use std::collections::BTreeSet;

/// Settings of a file: the number of its document, the pointer to them, and the settings.
pub(super) struct Settings {
    document: usize,
    pointer: &'static str,
    words: Map<String, Value>,
}

/// The settings in a file, with their pointer: an object of settings, or a plan that has some.
fn within(root: &Value) -> Option<(&'static str, &Map<String, Value>)> {
    let object = root.as_object()?;
    if object.get("type").is_some_and(|kind| kind == "FeatureCollection") || object.contains_key("plan") {
        return Some(("/plan", object.get("plan")?.as_object()?));
    }
    Some(("", object))
}

/// True if a text of settings names the vehicles that must get in.
pub(super) fn names_vehicles(text: &str) -> bool {
    let root: Value = serde_json::from_str(text.strip_prefix('\u{feff}').unwrap_or(text)).unwrap_or_default();
    within(&root).is_some_and(|(_, words)| words.get("vehicles").is_some_and(|list| !list.is_null()))
}

/// Reads a file of settings and notes its faults.
pub(super) fn read<'a>(given: &Given<'a>, notes: &mut Notes<'a>) -> Option<Settings> {
    let text = given.text.strip_prefix('\u{feff}').unwrap_or(given.text);
    let root = match parse(text, given.file) {
        Ok(root) => root,
        Err(mut fault) => {
            if text.trim().is_empty() {
                fault.message =
                    "the file is empty; settings are an object like { \"units\": \"ft\" }".to_owned();
            }
            notes.faults.push(*fault);
            return None;
        }
    };
    let document = notes.add(text, given.file);
    let Some((pointer, words)) = within(&root) else {
        // The pointer to the settings themselves, whatever the plan has there.
        notes.stands("/settings".to_owned(), document, String::new());
        let message =
            "holds no settings; they are an object like { \"units\": \"ft\" }, or the \"plan\" of a plan";
        notes.fault(&Who::default(), "/settings", "", message);
        return None;
    };
    let mut words = words.clone();
    // Words for editors, and for people who read the file.
    words.retain(|key, value| !value.is_null() && key != "$schema");
    Some(Settings { document, pointer, words })
}

/// Merges the settings of all three into the plan's `plan` member. Returns the indices of the features that hold
/// settings.
pub(super) fn gather(root: &mut Value, given: Option<Settings>, notes: &mut Notes) -> BTreeSet<usize> {
    let mut holders = BTreeSet::new();
    let Some(object) = root.as_object_mut() else { return holders };
    let mut words = match object.get("plan") {
        None | Some(Value::Null) => Map::new(),
        Some(Value::Object(words)) => words.clone(),
        // At fault; reported where it is read.
        Some(_) => return holders,
    };
    let features = object.get("features").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    for (i, feature) in features.iter().enumerate() {
        let Some(properties) = feature.get("properties").and_then(Value::as_object) else { continue };
        if properties.get("role").is_none_or(|role| role != "plan") {
            continue;
        }
        let who = Who { index: Some(i + 1), label: None, pointer: format!("/features/{i}") };
        if let Some(first) = holders.first().map(|first| first + 1) {
            let message = format!("a second one with the settings; feature {first} has them already");
            notes.property(&who, "role", message);
            holders.insert(i);
            continue;
        }
        holders.insert(i);
        for (key, value) in properties.iter().filter(|(key, value)| *key != "role" && !value.is_null()) {
            let value = if key == "vehicles" { list_of_names(value) } else { nested(value) };
            // A table has one column for the names of all its features.
            if ["label", "name"].contains(&key.as_str()) {
                continue;
            }
            let told = given.as_ref().is_some_and(|given| given.words.contains_key(key));
            if !told && words.get(key).is_some_and(|said| !said.is_null() && *said != value) {
                let message = "the \"plan\" member of the file says otherwise; say it in one place";
                notes.property(&who, key, message);
                continue;
            }
            notes.stands(
                format!("/plan{}", step(key)),
                0,
                format!("{}/properties{}", who.pointer, step(key)),
            );
            words.insert(key.clone(), value);
        }
    }
    if let Some(Settings { document, pointer, words: said }) = given {
        for (key, value) in said {
            notes.stands(format!("/plan{}", step(&key)), document, format!("{pointer}{}", step(&key)));
            words.insert(key, value);
        }
    }
    if !words.is_empty() {
        object.insert("plan".to_owned(), Value::Object(words));
    }
    holders
}
