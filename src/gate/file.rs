//! The format of the file of hardware allowances, as types. The JSON Schema is generated from them.
//!
//! One JSON object; every figure may be left out and then keeps the built-in value. Lengths are written as in a vehicle
//! file, and so are sources: `{ "value": "2 in", "source": "maker" }` with `"maker"` explained in `sources`.
use crate::vehicle::file::{Length, Sourced, Written};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// The room and weight of a gate's hardware, beside its leaves.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "an object { } of gate allowances")]
pub struct AllowancesFile {
    /// The schema of this file, for editors.
    #[serde(rename = "$schema", default)]
    pub schema: Option<String>,
    /// Origin of these figures.
    #[serde(default)]
    pub about: Option<String>,
    /// Names of sources, each with its explanation.
    #[serde(default)]
    pub sources: BTreeMap<String, String>,
    /// Between a post and the leaf hinged on it.
    #[serde(default)]
    pub hinge_gap: Option<Length>,
    /// Between a single leaf and the post it latches to.
    #[serde(default)]
    pub latch_gap: Option<Length>,
    /// Between the two leaves of a double gate.
    #[serde(default)]
    pub center_gap: Option<Length>,
    /// Width of a gate post along the gate line.
    #[serde(default)]
    pub post: Option<Length>,
    /// Between a post and the column it stands beside.
    #[serde(default)]
    pub column_gap: Option<Length>,
    /// Thickness of a leaf.
    #[serde(default)]
    pub leaf_thickness: Option<Length>,
    /// Room a swinging leaf needs beyond its own width.
    #[serde(default)]
    pub swing_room: Option<Length>,
    /// The widest single leaf usually made.
    #[serde(default)]
    pub widest_single_leaf: Option<Length>,
    /// Width by which a sliding leaf exceeds the opening between its posts.
    #[serde(default)]
    pub slide_overlap: Option<Length>,
    /// The tail that holds a sliding leaf without a track in the ground, as a share of the opening.
    #[serde(default)]
    pub slide_tail: Option<Share>,
    /// Between the two hinges of a leaf, up and down.
    #[serde(default)]
    pub hinge_spacing: Option<Length>,
    /// Gap that a driver leaves between the vehicle and the gate or its leaves while waiting.
    #[serde(default)]
    pub waiting_gap: Option<Length>,
    /// Usual heights of leaves.
    #[serde(default)]
    pub leaf_heights: Option<Vec<Length>>,
    /// Materials of leaves.
    #[serde(default)]
    #[schemars(length(min = 1))]
    pub materials: Option<Vec<MaterialFile>>,
}

/// A material, by one leaf of it that has been weighed.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MaterialFile {
    /// Name: "aluminum".
    pub name: String,
    /// Width of the leaf that was weighed.
    pub leaf_width: Length,
    /// Weight of that leaf; other widths are taken in proportion.
    pub leaf_weight: Weight,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// A share between 0 and 1, with or without its source.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(from = "Sourced<f64>")]
pub struct Share {
    /// The share.
    pub value: f64,
    /// Name of its source.
    pub source: Option<String>,
}

/// A weight, with or without its source.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(from = "Sourced<Written>")]
pub struct Weight {
    /// The figure as written: kilograms, or text with a unit.
    pub value: Written,
    /// Name of its source.
    pub source: Option<String>,
}

impl From<Sourced<f64>> for Share {
    fn from(s: Sourced<f64>) -> Self {
        let (value, source) = s.split();
        Self { value, source }
    }
}
impl From<Sourced<Written>> for Weight {
    fn from(s: Sourced<Written>) -> Self {
        let (value, source) = s.split();
        Self { value, source }
    }
}

/// The schema of a figure that may have a source.
fn sourced(title: &str, kinds: &[&str]) -> Schema {
    let value = serde_json::json!({ "title": title, "type": kinds });
    let mut options: Vec<serde_json::Value> =
        kinds.iter().map(|kind| serde_json::json!({ "type": kind })).collect();
    options.push(serde_json::json!({
        "type": "object",
        "properties": { "value": value, "source": { "description": "A name from `sources`.", "type": "string" } },
        "required": ["value"],
        "additionalProperties": false
    }));
    json_schema!({ "title": title, "anyOf": options })
}

impl JsonSchema for Share {
    fn schema_name() -> Cow<'static, str> {
        "Share".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        sourced("a share, a number from 0 to 1", &["number"])
    }
}

impl JsonSchema for Weight {
    fn schema_name() -> Cow<'static, str> {
        "Weight".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        sourced("a weight: kilograms, or text with a unit such as \"50 lb\"", &["number", "string"])
    }
}

/// The JSON Schema (draft 2020-12) of a file of allowances, as pretty-printed text with a newline at its end.
/// `examples/gate-allowances.schema.json` is a copy, kept current by a test.
#[must_use]
pub fn schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(AllowancesFile)).unwrap_or_default();
    text.push('\n');
    text
}
