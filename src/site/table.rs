//! Undoes what a table does to a plan's properties. Map programs keep the properties of all features in one table with
//! a column for each name and one kind of value in a column: a property that a feature lacks becomes empty, a number
//! beside texts becomes text, an object or a list becomes its JSON as text, and some formats cut names to ten letters.
use super::fault::{Notes, Who};
use crate::geometry::json_place::step;
use serde_json::{Map, Number, Value};

/// Properties that are lengths.
pub(super) const LENGTHS: [&str; 6] = ["width", "thickness", "radius", "bottom", "top", "post"];
/// Properties that are numbers without a unit.
const NUMBERS: [&str; 3] = ["open_angle_deg", "heading_deg", "bearing"];
/// Properties that are text, which may look like a number: a house number, say.
const TEXTS: [&str; 4] = ["label", "name", "note", "vehicle"];
/// Properties that are objects or lists.
const NESTED: [&str; 2] = ["post", "vehicles"];
/// Names longer than some table formats allow.
const LONG_NAMES: [&str; 3] = ["open_angle_deg", "heading_deg", "coordinates"];
/// Number of letters of a name that those formats keep.
const KEPT_LETTERS: usize = 10;

/// Gives the properties of every feature the form they have in a plan; true if anything was changed.
pub(super) fn plain(root: &mut Value, is_table: bool, notes: &mut Notes) -> bool {
    let Some(features) = root.get_mut("features").and_then(Value::as_array_mut) else { return false };
    let mut changed = false;
    for (i, feature) in features.iter_mut().enumerate() {
        let Some(properties) = feature.get_mut("properties").and_then(Value::as_object_mut) else { continue };
        // A feature without a role does not belong to a plan yet, and its words mean something else.
        if properties.get("role").is_none_or(Value::is_null) {
            continue;
        }
        let pointer = format!("/features/{i}");
        if is_table {
            let before = properties.len();
            properties.retain(|_, value| !is_blank(value));
            changed |= properties.len() < before;
        }
        changed |= whole_names(properties, &pointer, notes);
        let mut meters = Vec::new();
        for (key, value) in properties.iter_mut() {
            if let Some(plain) = plain_value(key, value, is_table) {
                if LENGTHS.contains(&key.as_str()) && plain.is_number() {
                    meters.push((key.clone(), plain.clone()));
                }
                *value = plain;
                changed = true;
            }
        }
        let label = properties.get("label").and_then(Value::as_str).map(str::to_owned);
        let who = Who { index: Some(i + 1), label, pointer };
        for (key, number) in meters {
            let message = format!(
                "{number} without a unit is read as meters, as of a number in a plan; write \"{number} ft\" or \
                 \"{number} in\" if you mean that"
            );
            let place = format!("/properties{}", step(&key));
            notes.warn(&who, &place, &format!("property \"{key}\""), message);
        }
    }
    changed
}

/// True if the features come from a table: every one has the same properties, some of them empty. An author who types a
/// plan leaves out the properties that a feature lacks.
pub(super) fn is_table(root: &Value) -> bool {
    let Some(features) = root.get("features").and_then(Value::as_array) else { return false };
    let tables: Option<Vec<&Map<String, Value>>> =
        features.iter().map(|feature| feature.get("properties")?.as_object()).collect();
    let Some(tables) = tables.filter(|tables| tables.len() > 1) else { return false };
    let same = |other: &&Map<String, Value>| {
        other.len() == tables[0].len() && tables[0].keys().all(|key| other.contains_key(key))
    };
    tables.iter().all(same) && tables.iter().flat_map(|table| table.values()).any(is_blank)
}

pub(super) fn is_blank(value: &Value) -> bool {
    value.is_null() || value.as_str().is_some_and(|text| text.trim().is_empty())
}

/// Restores names that were cut.
fn whole_names(properties: &mut Map<String, Value>, pointer: &str, notes: &mut Notes) -> bool {
    let mut changed = false;
    for name in LONG_NAMES {
        let cut = &name[..KEPT_LETTERS];
        if properties.get(name).is_none_or(Value::is_null)
            && let Some(value) = properties.remove(cut)
        {
            properties.insert(name.to_owned(), value);
            let at = |key: &str| format!("{pointer}/properties{}", step(key));
            notes.stands(at(name), 0, at(cut));
            changed = true;
        }
    }
    changed
}

/// A property's value in the form it has in a plan; `None` if it is so already, or is no other form of one.
fn plain_value(key: &str, value: &Value, is_table: bool) -> Option<Value> {
    if TEXTS.contains(&key) {
        return value.as_number().map(|number| Value::String(words_of(number)));
    }
    let text = value.as_str()?.trim();
    if NUMBERS.contains(&key) {
        return number(text);
    }
    if NESTED.contains(&key) {
        let plain = if key == "vehicles" { list_of_names(value) } else { nested(value) };
        if plain != *value {
            return Some(plain);
        }
    }
    // Zero needs no unit. Other numbers typed without one are a mistake, but in a table of texts they were numbers,
    // which are meters.
    (is_table && LENGTHS.contains(&key)).then(|| number(text)).flatten().filter(|n| n.as_f64() != Some(0.0))
}

pub(super) fn number(text: &str) -> Option<Value> {
    let value: f64 = text.parse().ok()?;
    if let Ok(whole) = text.parse::<i64>() {
        return Some(whole.into());
    }
    Number::from_f64(value).map(Value::Number)
}

/// A number as a person would write it: a table of numbers turns "12" into 12, or 12.0.
pub(super) fn words_of(number: &Number) -> String {
    let text = number.to_string();
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// An object or a list that was written as text; any other value as it is.
pub(super) fn nested(value: &Value) -> Value {
    let text = value.as_str().map(str::trim).filter(|text| text.starts_with(['{', '[']));
    text.and_then(|text| serde_json::from_str(text).ok()).unwrap_or_else(|| value.clone())
}

/// A list, written as one, as its JSON, as names separated by commas, or as programs print a list in a column of text:
/// `['car' 'pickup']`, `(2:car,pickup)`.
pub(super) fn list_of_names(value: &Value) -> Value {
    let Value::String(text) = nested(value) else { return nested(value) };
    let text = text.trim();
    if let Some(names) = text.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')).and_then(quoted) {
        return names.into();
    }
    let counted = text.strip_prefix('(').and_then(|rest| rest.strip_suffix(')')).and_then(|rest| {
        let (count, names) = rest.split_once(':')?;
        count.parse::<usize>().is_ok().then_some(names)
    });
    let names = counted.unwrap_or(text).split(',').map(str::trim);
    names.filter(|name| !name.is_empty()).map(Value::from).collect()
}

/// The quoted names of a text that has nothing else but blanks and commas.
fn quoted(text: &str) -> Option<Vec<String>> {
    let mut names = Vec::new();
    let mut rest = text.trim_start();
    while let Some(quote) = rest.chars().next() {
        let name = rest.strip_prefix(['\'', '"'])?;
        let end = name.find(quote)?;
        names.push(name[..end].to_owned());
        rest = name[end + 1..].trim_start_matches(|c: char| c.is_whitespace() || c == ',');
    }
    Some(names)
}
