//! Roles by rule: a table that assigns roles to features of one's own data by their attributes, so that a county's
//! layers are studied without typing a `role` into each feature.
use super::fault::{Notes, Who};
use super::properties::{
    BoundaryWords, DriveWords, FenceWords, GateWords, ObstacleWords, PlanWords, RoadWords, RouteWords,
    SpotWords, read_object,
};
use super::source::Given;
use super::table::{is_blank, number, words_of};
use crate::geometry::document::{Kind, structure};
use crate::geometry::json_place::{nearest, step};
use schemars::{JsonSchema, Schema, SchemaGenerator, generate::SchemaSettings, json_schema};
use serde::Deserialize;
use serde_json::{Map, Value};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// A file of rules. A feature that has a `role` of its own keeps it; any other gets that of the first rule it fits.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "an object { } with a list of rules")]
struct RolesFile {
    /// The schema of this file, for editors.
    #[serde(rename = "$schema", default)]
    _schema: Option<String>,
    /// Data the rules are for.
    #[serde(rename = "about", default)]
    _about: Option<String>,
    /// The rules, tried in this order.
    #[schemars(length(min = 1))]
    rules: Vec<RuleFile>,
}

/// A rule: the features it is for, and their role.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RuleFile {
    /// Attributes a feature must have, each with its value, a list of accepted values, or "*" for any value. Without
    /// attributes the rule fits every feature.
    #[serde(rename = "where", default)]
    conditions: BTreeMap<String, Wanted>,
    /// Role of the feature: a role of a plan; "plan" for one that holds the plan's settings; "ignore" for one that is
    /// no part of the place.
    role: RoleWord,
    /// Properties of that role, the same for every feature of the rule.
    #[serde(default)]
    properties: BTreeMap<String, Value>,
    /// Properties of that role, taken from an attribute of the feature: its name, or an object that also gives the unit
    /// of its numbers. Attributes the feature lacks are taken from "properties".
    #[serde(default)]
    from: BTreeMap<String, Taken>,
    /// A remark, for readers of the file.
    #[serde(rename = "note", default)]
    _note: Option<String>,
}

/// A value an attribute must have, or a list of such.
#[derive(Clone, Debug, Deserialize)]
#[serde(transparent)]
struct Wanted(Value);

impl JsonSchema for Wanted {
    fn schema_name() -> Cow<'static, str> {
        "Wanted".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "title": "a value, or a list of values",
            "description": "The value of an attribute, a list of values of which one will do, or \"*\" for any value.",
            "type": ["string", "number", "boolean", "array"],
            "items": { "type": ["string", "number", "boolean"] }
        })
    }
}

/// Role of a feature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum RoleWord {
    /// A road that vehicles come from.
    Road,
    /// Surface the tires may use off the road.
    Drive,
    /// The gate.
    Gate,
    /// A fence.
    Fence,
    /// Something that stands in the way, or a ditch.
    Obstacle,
    /// A place where a vehicle must end up standing.
    Spot,
    /// A path to be checked as drawn.
    Route,
    /// A property line or the line of a right of way.
    Boundary,
    /// The plan's settings.
    Plan,
    /// No part of the place.
    Ignore,
}

/// An attribute a property is taken from.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(untagged)]
enum Taken {
    /// Its name.
    Attribute(String),
    /// Its name, and the unit of its numbers.
    Measured(Measured),
}

/// An attribute whose numbers are in a unit.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Measured {
    /// The attribute's name.
    attribute: String,
    /// The unit its numbers are in.
    unit: UnitWord,
}

/// A unit of length.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum UnitWord {
    /// Feet.
    Ft,
    /// Inches.
    In,
    /// Yards.
    Yd,
    /// Meters.
    M,
    /// Centimeters.
    Cm,
    /// Millimeters.
    Mm,
}

impl UnitWord {
    const fn word(self) -> &'static str {
        match self {
            Self::Ft => "ft",
            Self::In => "in",
            Self::Yd => "yd",
            Self::M => "m",
            Self::Cm => "cm",
            Self::Mm => "mm",
        }
    }
}

impl RoleWord {
    const fn word(self) -> &'static str {
        match self {
            Self::Road => "road",
            Self::Drive => "drive",
            Self::Gate => "gate",
            Self::Fence => "fence",
            Self::Obstacle => "obstacle",
            Self::Spot => "spot",
            Self::Route => "route",
            Self::Boundary => "boundary",
            Self::Plan => "plan",
            Self::Ignore => "ignore",
        }
    }

    /// Reads properties as those of this role and notes their faults.
    fn check(self, properties: &Map<String, Value>, below: &str, notes: &mut Notes) {
        let who = Who::default();
        match self {
            Self::Road => _ = read_object::<RoadWords>(properties, &who, below, notes),
            Self::Drive => _ = read_object::<DriveWords>(properties, &who, below, notes),
            Self::Gate => _ = read_object::<GateWords>(properties, &who, below, notes),
            Self::Fence => _ = read_object::<FenceWords>(properties, &who, below, notes),
            Self::Obstacle => _ = read_object::<ObstacleWords>(properties, &who, below, notes),
            Self::Spot => _ = read_object::<SpotWords>(properties, &who, below, notes),
            Self::Route => _ = read_object::<RouteWords>(properties, &who, below, notes),
            Self::Boundary => _ = read_object::<BoundaryWords>(properties, &who, below, notes),
            Self::Plan => _ = read_object::<PlanWords>(properties, &who, below, notes),
            Self::Ignore => {}
        }
    }

    /// The names of this role's properties.
    fn names(self) -> Vec<String> {
        fn of<T: JsonSchema>() -> Vec<String> {
            let schema = T::json_schema(&mut SchemaSettings::draft2020_12().into_generator()).to_value();
            let names = schema.get("properties").and_then(Value::as_object);
            names.into_iter().flat_map(Map::keys).cloned().collect()
        }
        match self {
            Self::Road => of::<RoadWords>(),
            Self::Drive => of::<DriveWords>(),
            Self::Gate => of::<GateWords>(),
            Self::Fence => of::<FenceWords>(),
            Self::Obstacle => of::<ObstacleWords>(),
            Self::Spot => of::<SpotWords>(),
            Self::Route => of::<RouteWords>(),
            Self::Boundary => of::<BoundaryWords>(),
            Self::Plan => of::<PlanWords>(),
            Self::Ignore => Vec::new(),
        }
    }
}

/// Rules that were read, and the number of their document.
pub(super) struct Rules {
    document: usize,
    rules: Vec<RuleFile>,
}

/// The JSON Schema (draft 2020-12) of a file of rules, for editors that check as one types.
///
/// ```
/// let schema: serde_json::Value = serde_json::from_str(&wideenough::site::roles_schema()).unwrap();
/// assert_eq!(schema["required"][0], "rules");
/// ```
#[must_use]
pub fn roles_schema() -> String {
    let schema = SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<RolesFile>();
    serde_json::to_string_pretty(&schema).unwrap_or_default()
}

/// Reads a file of rules and notes its faults.
pub(super) fn read<'a>(given: &Given<'a>, notes: &mut Notes<'a>) -> Option<Rules> {
    let kind = Kind {
        what: "a file of roles",
        holds: "a JSON object like { \"rules\": [{ \"where\": { \"layer\": \"roads\" }, \"role\": \"road\" }] }",
    };
    let (file, draft) = match structure::<RolesFile>(given.text, given.file, &kind, &roles_schema()) {
        Ok(read) => read,
        Err(faults) => {
            notes.faults.extend(faults);
            return None;
        }
    };
    let mut found = Vec::new();
    for (i, rule) in file.rules.iter().enumerate() {
        let names = rule.role.names();
        for (member, keys) in [
            ("properties", rule.properties.keys().collect::<Vec<&String>>()),
            ("from", rule.from.keys().collect()),
        ] {
            for key in keys.into_iter().filter(|key| !names.contains(*key)) {
                let hint = match nearest(key, names.iter().map(String::as_str)) {
                    Some(name) => format!("; did you mean \"{name}\"?"),
                    None if names.is_empty() => "; it has none".to_owned(),
                    None => format!("; it has {}", names.join(", ")),
                };
                let message = format!("is no property of a {}{hint}", rule.role.word());
                found.push((format!("rules[{i}].{member}.{key}"), message));
            }
        }
    }
    let sound = draft.finish(if found.is_empty() { Ok(()) } else { Err(found) });
    // Found twice if a name stands twice: once is enough, and the file's own words for it are kept.
    let faulty = sound.map_err(|faults| notes.faults.extend(faults)).is_err();
    let before = notes.faults.len();
    let text = given.text.strip_prefix('\u{feff}').unwrap_or(given.text);
    let document = notes.add(text, given.file);
    notes.faults.truncate(before);
    notes.stands("/rules".to_owned(), document, "/rules".to_owned());
    for (i, rule) in file.rules.iter().enumerate() {
        let known = rule.role.names();
        let properties = rule.properties.iter().filter(|(key, _)| known.contains(key));
        let properties = properties.map(|(key, value)| (key.clone(), value.clone())).collect();
        rule.role.check(&properties, &format!("/rules/{i}/properties"), notes);
    }
    notes.roles_file = Some(given.file);
    (!faulty).then_some(Rules { document, rules: file.rules })
}

/// Gives every feature without a role that of the first rule it fits, with its properties. Returns the indices of the
/// features to ignore.
pub(super) fn apply(root: &mut Value, rules: &Rules, notes: &mut Notes) -> BTreeSet<usize> {
    let mut ignored = BTreeSet::new();
    let Some(features) = root.get_mut("features").and_then(Value::as_array_mut) else { return ignored };
    let mut used = vec![false; rules.rules.len()];
    let mut attributes: BTreeSet<String> = BTreeSet::new();
    for (i, feature) in features.iter_mut().enumerate() {
        let Some(properties) = feature.get_mut("properties").and_then(Value::as_object_mut) else { continue };
        attributes.extend(properties.keys().cloned());
        if properties.get("role").is_some_and(|role| !is_blank(role)) {
            continue;
        }
        let Some((number, rule)) = rules.rules.iter().enumerate().find(|(_, rule)| fits(rule, properties))
        else {
            continue;
        };
        used[number] = true;
        if rule.role == RoleWord::Ignore {
            ignored.insert(i);
            continue;
        }
        let mut words = Map::new();
        words.insert("role".to_owned(), rule.role.word().into());
        let at = |key: &str| format!("/features/{i}/properties{}", step(key));
        for (key, value) in &rule.properties {
            words.insert(key.clone(), value.clone());
            notes.stands(at(key), rules.document, format!("/rules/{number}/properties{}", step(key)));
        }
        for (key, taken) in &rule.from {
            let (attribute, unit) = match taken {
                Taken::Attribute(name) => (name, None),
                Taken::Measured(measured) => (&measured.attribute, Some(measured.unit)),
            };
            if let Some(value) = properties.get(attribute).filter(|value| !is_blank(value)) {
                words.insert(key.clone(), in_unit(value, unit));
                notes.stands(at(key), 0, at(attribute));
            }
        }
        *properties = words;
    }
    tell_what_fits_nothing(rules, &used, &attributes, notes);
    ignored
}

/// Warns of each rule that fits no feature: often a name or a value was mistyped.
fn tell_what_fits_nothing(rules: &Rules, used: &[bool], attributes: &BTreeSet<String>, notes: &mut Notes) {
    let who = Who::default();
    for (i, rule) in rules.rules.iter().enumerate() {
        let taken = rule.from.values().map(|taken| match taken {
            Taken::Attribute(name) => ("from", name),
            Taken::Measured(measured) => ("from", &measured.attribute),
        });
        let named = rule.conditions.keys().map(|name| ("where", name)).chain(taken);
        let mut strange = false;
        for (member, name) in named.filter(|(_, name)| !attributes.contains(*name)) {
            strange = true;
            let hint = match nearest(name, attributes.iter().map(String::as_str)) {
                Some(meant) => format!("; did you mean \"{meant}\"?"),
                None => String::new(),
            };
            let message = format!("no feature has the attribute \"{name}\"{hint}");
            notes.warn(&who, &format!("/rules/{i}/{member}"), &format!("rule {}", i + 1), message);
        }
        if !strange && !used[i] {
            let message = "fits no feature; rules are tried in their order, and the first that fits counts";
            notes.warn(&who, &format!("/rules/{i}"), &format!("rule {}", i + 1), message);
        }
    }
}

/// True if a feature has the attributes a rule requires.
fn fits(rule: &RuleFile, attributes: &Map<String, Value>) -> bool {
    rule.conditions.iter().all(|(name, Wanted(wanted))| {
        let Some(value) = attributes.get(name).filter(|value| !is_blank(value)) else { return false };
        match wanted {
            Value::Array(any) => any.iter().any(|wanted| is(value, wanted)),
            wanted => is(value, wanted),
        }
    })
}

/// True if an attribute has a value. A number and its text count as equal: tables hold either.
fn is(value: &Value, wanted: &Value) -> bool {
    let text = |value: &Value| match value {
        Value::String(text) => number(text.trim()).map_or_else(|| text.trim().to_owned(), |n| n.to_string()),
        Value::Number(number) => words_of(number),
        other => other.to_string(),
    };
    let plain = |text: String| text.strip_suffix(".0").map_or(text.clone(), str::to_owned);
    wanted == "*" || plain(text(value)) == plain(text(wanted))
}

/// An attribute's value with the unit its numbers are in; text with a unit of its own keeps that.
fn in_unit(value: &Value, unit: Option<UnitWord>) -> Value {
    let Some(unit) = unit else { return value.clone() };
    match value {
        Value::Number(n) => format!("{} {}", words_of(n), unit.word()).into(),
        Value::String(text) if number(text.trim()).is_some() => {
            format!("{} {}", text.trim(), unit.word()).into()
        }
        other => other.clone(),
    }
}
