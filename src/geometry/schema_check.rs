//! Compares a JSON text with the schema of its kind of file and lists every difference at once: unknown fields, missing
//! fields, values of the wrong kind.
//!
//! Supports as much of JSON Schema as the schemas generated from the types of vehicle files, allowances and tables of
//! roles use; tests keep this true.
use super::json_place::nearest;
use serde_json::{Map, Value};

/// A difference.
pub(super) struct Difference {
    /// Path of the value at which the difference is reported.
    pub(super) path: String,
    pub(super) message: String,
    /// Path of the value that was mended: `path` itself, or the missing member.
    pub(super) mended: String,
}

/// Lists every difference between a value and a schema (draft 2020-12, with its `$defs` at the root). `what` names the
/// kind of file: "a vehicle file".
///
/// The value is mended so that it agrees with the schema: unknown members are removed; missing ones and those of the
/// wrong kind are replaced by stand-ins. The rest of the file can then be checked too; faults found at a mended place
/// mean nothing.
pub(super) fn mend(schema: &Value, value: &mut Value, what: &str) -> Vec<Difference> {
    let mut check = Check { root: schema, what, found: Vec::new() };
    check.value(schema, value, "");
    check.found
}

/// A text that is no length and no weight: whoever reads it finds a fault at a place that is at fault already.
const STAND_IN_TEXT: &str = "?";
/// An angle any vehicle may have.
const STAND_IN_NUMBER: f64 = 30.0;

struct Check<'a> {
    root: &'a Value,
    what: &'a str,
    found: Vec<Difference>,
}

impl<'a> Check<'a> {
    fn fault(&mut self, path: &str, message: String) {
        self.found.push(Difference { path: path.to_owned(), message, mended: path.to_owned() });
    }

    /// A value that agrees with a schema.
    fn stand_in(&self, schema: &'a Value) -> Value {
        let schema = self.resolve(schema);
        let options = options(schema);
        if !options.is_empty() {
            let options: Vec<&Value> = options.iter().map(|o| self.resolve(o)).collect();
            // Text where it is allowed, since a later check can reject it as no length; never null, since an optional
            // value was given.
            let text = options.iter().find(|o| o.get("type").is_some_and(|kind| kind == "string"));
            let other = options.iter().find(|o| o.get("type").is_none_or(|kind| kind != "null"));
            return text.or(other).map_or(Value::Null, |option| self.stand_in(option));
        }
        if let Some(only) = schema.get("const") {
            return only.clone();
        }
        if let Some(first) = schema.get("enum").and_then(Value::as_array).and_then(|all| all.first()) {
            return first.clone();
        }
        let kinds = match schema.get("type") {
            Some(Value::Array(kinds)) => kinds.iter().filter_map(Value::as_str).collect(),
            Some(Value::String(kind)) => vec![kind.as_str()],
            _ => Vec::new(),
        };
        if kinds.contains(&"string") {
            return STAND_IN_TEXT.into();
        }
        match kinds.first().copied() {
            Some("integer") => schema.get("minimum").cloned().unwrap_or_else(|| 1.into()),
            Some("number") => schema.get("minimum").cloned().unwrap_or_else(|| STAND_IN_NUMBER.into()),
            Some("boolean") => false.into(),
            Some("array") => {
                let mut items = Value::Array(Vec::new());
                self.fill(schema, &mut items);
                items
            }
            Some("object") => {
                let known = schema.get("properties").and_then(Value::as_object);
                let required = schema.get("required").and_then(Value::as_array);
                let names = required.into_iter().flatten().filter_map(Value::as_str);
                let made = names.filter_map(|name| {
                    Some((name.to_owned(), self.stand_in(known.and_then(|k| k.get(name))?)))
                });
                Value::Object(made.collect())
            }
            _ => Value::Null,
        }
    }

    /// Extends a list to the length its schema requires.
    fn fill(&self, schema: &'a Value, list: &mut Value) {
        let size = |key| schema.get(key).and_then(Value::as_u64).and_then(|n| usize::try_from(n).ok());
        let first = schema.get("prefixItems").and_then(Value::as_array);
        let Some(items) = list.as_array_mut() else { return };
        items.truncate(size("maxItems").unwrap_or(usize::MAX));
        while items.len() < size("minItems").unwrap_or(0) {
            let of = first.and_then(|f| f.get(items.len())).or_else(|| schema.get("items"));
            items.push(of.map_or(Value::Null, |of| self.stand_in(of)));
        }
    }

    fn resolve(&self, schema: &'a Value) -> &'a Value {
        schema
            .get("$ref")
            .and_then(Value::as_str)
            .and_then(|r| r.strip_prefix('#'))
            .and_then(|pointer| self.root.pointer(pointer))
            .unwrap_or(schema)
    }

    fn value(&mut self, schema: &'a Value, value: &mut Value, path: &str) {
        let schema = self.resolve(schema);
        let options = options(schema);
        if options.is_empty() {
            return self.one(schema, value, path);
        }
        let options: Vec<&Value> = options.iter().map(|o| self.resolve(o)).collect();
        // Alternatives differ in the kind of value they take, or (enumerations) in the one value they allow.
        if let Some(option) =
            options.iter().find(|o| kind_fits(o, value) && o.get("const").is_none_or(|c| c == &*value))
        {
            return self.value(option, value, path);
        }
        // An optional field accepts null besides its own kind: the message names only its own kind.
        let named = options.iter().copied().find(|o| o.get("title").is_some() || !options_of(o).is_empty());
        let expected = match schema.get("title").and_then(Value::as_str) {
            Some(title) => title.to_owned(),
            None => named.map_or_else(
                || list(options.iter().filter_map(|o| wanted(o))),
                |o| match options_of(o) {
                    [] => wanted(o).unwrap_or_default(),
                    inner => wanted(o).unwrap_or_else(|| list(inner.iter().filter_map(wanted))),
                },
            ),
        };
        self.fault(path, format!("must be {expected}, but is {}", shown(value)));
        *value = self.stand_in(schema);
    }

    /// A schema without alternatives.
    fn one(&mut self, schema: &'a Value, value: &mut Value, path: &str) {
        if !kind_fits(schema, value) {
            let expected = wanted(schema).unwrap_or_default();
            self.fault(path, format!("must be {expected}, but is {}", shown(value)));
            *value = self.stand_in(schema);
            return;
        }
        let allowed = schema.get("enum").and_then(Value::as_array);
        if let Some(allowed) = allowed.filter(|a| !a.contains(value)) {
            let expected = list(allowed.iter().map(Value::to_string));
            self.fault(path, format!("must be {expected}, but is {}", shown(value)));
            *value = self.stand_in(schema);
            return;
        }
        match value {
            Value::Object(members) => self.object(schema, members, path),
            Value::Array(items) => {
                self.array(schema, items, path);
                self.fill(schema, value);
            }
            Value::Number(number) => {
                let (low, high) = (bound(schema, "minimum"), bound(schema, "maximum"));
                let n = number.as_f64().unwrap_or(f64::NAN);
                if low.is_some_and(|l| n < l) || high.is_some_and(|h| n > h) {
                    let (l, h) = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
                    self.fault(path, format!("must be from {l} to {h}, but is {n}"));
                    *value = self.stand_in(schema);
                }
            }
            _ => {}
        }
    }

    fn object(&mut self, schema: &'a Value, members: &mut Map<String, Value>, path: &str) {
        let known = schema.get("properties").and_then(Value::as_object);
        let others = schema.get("additionalProperties");
        let mut strange: Vec<String> = Vec::new();
        for (key, value) in members.iter_mut() {
            let child = join(path, key);
            if let Some(member) = known.and_then(|k| k.get(key)) {
                self.value(member, value, &child);
            } else if let Some(any @ Value::Object(_)) = others {
                self.value(any, value, &child);
            } else if others == Some(&Value::Bool(false)) {
                let what = self.what;
                let names = || known.into_iter().flat_map(|k| k.keys()).map(String::as_str);
                let advice = match nearest(key, names()) {
                    Some(name) => format!("did you mean \"{name}\"?"),
                    None => format!("known here: {}", names().collect::<Vec<_>>().join(", ")),
                };
                self.fault(&child, format!("is not a field of {what} in this place; {advice}"));
                strange.push(key.clone());
            }
        }
        members.retain(|key, _| !strange.contains(key));
        let required = schema.get("required").and_then(Value::as_array);
        for key in required.into_iter().flatten().filter_map(Value::as_str) {
            if !members.contains_key(key) {
                let member = known.and_then(|k| k.get(key)).map(|m| (m, self.resolve(m)));
                let about = member
                    .and_then(|(m, r)| m.get("description").or_else(|| r.get("description")))
                    .and_then(Value::as_str)
                    .unwrap_or_default();
                let about = about.split('\n').collect::<Vec<_>>().join(" ");
                self.found.push(Difference {
                    path: path.to_owned(),
                    message: format!("\"{key}\" is missing; add it: {about}"),
                    mended: join(path, key),
                });
                let made = member.map_or(Value::Null, |(schema, _)| self.stand_in(schema));
                members.insert(key.to_owned(), made);
            }
        }
    }

    fn array(&mut self, schema: &'a Value, items: &mut [Value], path: &str) {
        let size = |key| schema.get(key).and_then(Value::as_u64).and_then(|n| usize::try_from(n).ok());
        let (low, high) = (size("minItems"), size("maxItems"));
        if low.is_some_and(|l| items.len() < l) || high.is_some_and(|h| items.len() > h) {
            let wanted = match (low, high) {
                (Some(l), Some(h)) if l == h => format!("{l}"),
                (Some(l), Some(h)) => format!("{l} to {h}"),
                (Some(l), None) => format!("at least {l}"),
                (None, h) => format!("at most {}", h.unwrap_or_default()),
            };
            self.fault(path, format!("must have {wanted} items, but has {}", items.len()));
        }
        let first = schema.get("prefixItems").and_then(Value::as_array);
        for (i, item) in items.iter_mut().enumerate() {
            let of = first.and_then(|f| f.get(i)).or_else(|| schema.get("items"));
            if let Some(of @ Value::Object(_)) = of {
                self.value(of, item, &format!("{path}[{i}]"));
            }
        }
    }
}

fn bound(schema: &Value, key: &str) -> Option<f64> {
    schema.get(key).and_then(Value::as_f64)
}

fn options(schema: &Value) -> &[Value] {
    options_of(schema)
}

fn options_of(schema: &Value) -> &[Value] {
    ["anyOf", "oneOf"].iter().find_map(|k| schema.get(k)?.as_array()).map_or(&[], Vec::as_slice)
}

/// True if a value is of a kind the schema accepts; a schema with alternatives accepts whatever any of them does.
fn kind_fits(schema: &Value, value: &Value) -> bool {
    let fits = |kind: &str| match kind {
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "string" => value.is_string(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        _ => true,
    };
    match schema.get("type") {
        Some(Value::String(kind)) => fits(kind),
        Some(Value::Array(kinds)) => kinds.iter().filter_map(Value::as_str).any(fits),
        _ => {
            let options = options_of(schema);
            options.is_empty() || options.iter().any(|o| kind_fits(o, value))
        }
    }
}

/// The kind of value a schema accepts, in words; `None` for null.
fn wanted(schema: &Value) -> Option<String> {
    if let Some(title) = schema.get("title").and_then(Value::as_str) {
        return Some(title.to_owned());
    }
    if let Some(value) = schema.get("const") {
        return Some(value.to_string());
    }
    let word = |kind: &str| match kind {
        "null" => None,
        "boolean" => Some("true or false"),
        "number" => Some("a number"),
        "integer" => Some("a whole number"),
        "string" => Some("text in quotes"),
        "array" => Some("a list [ ]"),
        "object" => Some("an object { }"),
        _ => None,
    };
    match schema.get("type")? {
        Value::String(kind) => word(kind).map(str::to_owned),
        Value::Array(kinds) => {
            Some(list(kinds.iter().filter_map(Value::as_str).filter_map(word).map(str::to_owned)))
        }
        _ => None,
    }
}

fn list(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(" or ")
}

/// A value in the form a person would recognize, cut short.
fn shown(value: &Value) -> String {
    match value {
        Value::Object(_) => "an object { }".to_owned(),
        Value::Array(items) => format!("a list of {} items", items.len()),
        other => {
            let text = other.to_string();
            match text.char_indices().nth(40) {
                Some((end, _)) => format!("{}...", &text[..end]),
                None => text,
            }
        }
    }
}

/// The path of a member.
fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}
