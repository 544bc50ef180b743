//! The format of the vehicle file, as types. The JSON Schema is generated from them.
//!
//! A file is one JSON object: a title, the units from front to rear, and the steering. Lengths are numbers in meters or
//! text with a unit ("8 ft", "12' 6\"", "96 in", "2.44 m"). A figure may name its source: `{ "value": "8 ft", "source":
//! "maker" }`, where `"maker"` is a name explained in the file's `sources`; a `source` on a unit or group counts for
//! every figure in it that has none of its own.
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// A vehicle: a chain of units, the first steered, each later one towed by the one before.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "an object { } that describes a vehicle")]
pub struct VehicleFile {
    /// The schema of this file, for editors.
    #[serde(rename = "$schema", default)]
    pub schema: Option<String>,
    /// Title, as people call the vehicle.
    pub title: String,
    /// Description, in one line: the vehicles it stands for and the sources of its figures.
    #[serde(default)]
    pub about: Option<String>,
    /// Names of sources, each with its explanation.
    #[serde(default)]
    pub sources: BTreeMap<String, String>,
    /// How far the first unit steers.
    pub steering: SteeringFile,
    /// The units from front to rear, one to four.
    #[schemars(length(min = 1, max = 4))]
    pub units: Vec<UnitFile>,
}

/// Steering of the first unit. Give `lock_angle_deg` or `turning_circle`, not both.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SteeringFile {
    /// Angle of the equivalent middle front wheel at full lock, degrees: tan = wheelbase / radius of the rear
    /// axle's center.
    #[serde(default)]
    pub lock_angle_deg: Option<Degrees>,
    /// A turning circle as published.
    #[serde(default)]
    pub turning_circle: Option<CircleFile>,
    /// Distance rolled at a walking pace while turning from straight ahead to full lock. 0: no limit.
    #[serde(default)]
    pub lock_distance: Option<Length>,
    /// Steering ratio: degrees of the steering wheel for each degree of the front wheels, such as 18. With it the
    /// driving steps are also given in turns of the wheel.
    #[serde(default)]
    pub ratio: Option<f64>,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// A turning circle as published. Give `diameter` or `radius`, not both.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CircleFile {
    /// The circle that is measured.
    pub kind: CircleKind,
    /// Diameter of the circle.
    #[serde(default)]
    pub diameter: Option<Length>,
    /// Radius of the circle.
    #[serde(default)]
    pub radius: Option<Length>,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// Kinds of published turning circles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CircleKind {
    /// Curb to curb: the middle of the outer front tire's contact.
    Curb,
    /// The outer edge of the outer front tire.
    TireEdge,
    /// Wall to wall: the foremost outer corner of the body.
    Wall,
    /// The center of the front axle, as road design vehicles publish it.
    Centerline,
}

impl CircleKind {
    /// The circle that is measured, in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Curb => "curb to curb",
            Self::TireEdge => "to the outer edge of the tire",
            Self::Wall => "wall to wall",
            Self::Centerline => "center of the front axle",
        }
    }
}

/// One rigid unit.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnitFile {
    /// Kind of unit: "pickup", "trailer".
    pub name: String,
    /// First unit: front axle to rear axle, or to the middle of the rear axle group.
    #[serde(default)]
    pub wheelbase: Option<Length>,
    /// Towed unit: hitch to axle, or to the middle of the axle group.
    #[serde(default)]
    pub hitch_to_axle: Option<Length>,
    /// From the front axle (towed: from the hitch) forward to the front of the body; negative if behind it.
    pub front_overhang: Length,
    /// From the rear axle (the middle of the group) back to the rear of the body.
    pub rear_overhang: Length,
    /// Overall width without mirrors.
    pub width: Length,
    /// Overall height.
    pub height: Length,
    /// Height of the underside of the body. Default 0.2 m.
    #[serde(default)]
    pub ground_clearance: Option<Length>,
    /// Both front corners of the body are cut by this much along and across. Default 0.
    #[serde(default)]
    pub corner_chamfer: Option<Length>,
    /// The steered axle; first unit only.
    #[serde(default)]
    pub front_axle: Option<AxleFile>,
    /// The rear axle or axle group.
    #[serde(default)]
    pub rear_axle: Option<AxleFile>,
    /// Mirrors, left and right alike.
    #[serde(default)]
    pub mirrors: Option<MirrorsFile>,
    /// Drawbar from the hitch to the front of the body; towed units whose body begins behind the hitch.
    #[serde(default)]
    pub tongue: Option<TongueFile>,
    /// The ground plan of the body, in one piece or several, if it is not a rectangle.
    #[serde(default)]
    pub outlines: Option<Vec<OutlineFile>>,
    /// The hitch of the next unit; needed on every unit but the last.
    #[serde(default)]
    pub hitch: Option<HitchFile>,
    /// Source of this unit's figures, unless they have their own.
    #[serde(default)]
    pub source: Option<String>,
}

/// An axle or a group of like axles.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AxleFile {
    /// Between the middles of the left and right tires (of the left and right pairs for dual wheels). Default:
    /// tires flush with the body.
    #[serde(default)]
    pub track: Option<Length>,
    /// Width of one tire. Default 0.25 m.
    #[serde(default)]
    pub tire_width: Option<Length>,
    /// Diameter of a tire. Default 0.75 m.
    #[serde(default)]
    pub tire_diameter: Option<Length>,
    /// Dual wheels: between the middles of the two tires of a pair. Absent: single tires.
    #[serde(default)]
    pub dual_spacing: Option<Length>,
    /// Number of axles in the group. Default 1.
    #[serde(default)]
    #[schemars(range(min = 1, max = 6))]
    pub axles: Option<u8>,
    /// Between neighboring axles of a group.
    #[serde(default)]
    pub spacing: Option<Length>,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// Mirrors, left and right alike.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MirrorsFile {
    /// Width over both mirrors.
    pub width: Length,
    /// From the front of the body back to the foremost point of the mirrors.
    pub from: Length,
    /// From the front of the body back to the rearmost point of the mirrors.
    pub to: Length,
    /// Height of their underside.
    pub bottom: Length,
    /// Height of their top.
    pub top: Length,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// A drawbar, tapering from the body to the hitch.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TongueFile {
    /// Width where it leaves the body.
    pub width: Length,
    /// Width at the hitch. Default 0.15 m.
    #[serde(default)]
    pub tip_width: Option<Length>,
    /// Height of its underside.
    pub bottom: Length,
    /// Height of its top, jack and bottles included.
    pub top: Length,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// A piece of the body's ground plan.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutlineFile {
    /// Corners [x, y] in order: x forward of the rear axle (group), y to the left of the middle.
    #[schemars(length(min = 3))]
    pub points: Vec<(Length, Length)>,
    /// Height of its underside. Default: the unit's ground clearance.
    #[serde(default)]
    pub bottom: Option<Length>,
    /// Height of its top. Default: the unit's height.
    #[serde(default)]
    pub top: Option<Length>,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// Hitch of the next unit.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HitchFile {
    /// From the rear axle (the middle of the group) back to the hitch; negative ahead of it.
    pub behind_axle: Length,
    /// Largest angle between the two units to either side, degrees, at most 90.
    pub max_angle_deg: Degrees,
    /// Source of these figures.
    #[serde(default)]
    pub source: Option<String>,
}

/// A figure as written: a number, or text with a unit.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(untagged)]
pub enum Written {
    /// A bare number.
    Number(f64),
    /// Text, not yet parsed.
    Text(String),
}

/// A length, with or without its source.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(from = "Sourced<Written>")]
pub struct Length {
    /// The figure as written.
    pub value: Written,
    /// Name of its source.
    pub source: Option<String>,
}

/// An angle in degrees, with or without its source.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(from = "Sourced<f64>")]
pub struct Degrees {
    /// Degrees.
    pub value: f64,
    /// Name of its source.
    pub source: Option<String>,
}

/// A figure, bare or with its source.
#[derive(Deserialize)]
#[serde(untagged)]
pub(crate) enum Sourced<T> {
    Bare(T),
    With { value: T, source: Option<String> },
}

impl<T> Sourced<T> {
    /// The figure and the name of its source.
    pub(crate) fn split(self) -> (T, Option<String>) {
        match self {
            Self::Bare(value) => (value, None),
            Self::With { value, source } => (value, source),
        }
    }
}
impl From<Sourced<Written>> for Length {
    fn from(s: Sourced<Written>) -> Self {
        let (value, source) = s.split();
        Self { value, source }
    }
}
impl From<Sourced<f64>> for Degrees {
    fn from(s: Sourced<f64>) -> Self {
        let (value, source) = s.split();
        Self { value, source }
    }
}

impl JsonSchema for Length {
    fn schema_name() -> Cow<'static, str> {
        "Length".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "title": "a length: meters, or text with a unit such as \"8 ft\"",
            "description": "Meters as a number, or text with a unit: \"8 ft\", \"12' 6\\\"\", \"96 in\", \"2.44 m\".",
            "anyOf": [
                { "type": "number" },
                { "type": "string" },
                { "type": "object",
                  "properties": {
                    "value": { "title": "a length: meters, or text with a unit such as \"8 ft\"",
                               "type": ["number", "string"] },
                    "source": { "description": "A name from `sources`.", "type": "string" } },
                  "required": ["value"], "additionalProperties": false }
            ]
        })
    }
}

impl JsonSchema for Degrees {
    fn schema_name() -> Cow<'static, str> {
        "Degrees".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "title": "an angle in degrees, a number",
            "anyOf": [
                { "type": "number" },
                { "type": "object",
                  "properties": {
                    "value": { "title": "an angle in degrees, a number", "type": "number" },
                    "source": { "description": "A name from `sources`.", "type": "string" } },
                  "required": ["value"], "additionalProperties": false }
            ]
        })
    }
}

/// The JSON Schema (draft 2020-12) of a vehicle file, as pretty-printed text with a newline at its end.
/// `vehicles/vehicle.schema.json` is a copy, kept current by a test.
#[must_use]
pub fn schema() -> String {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(VehicleFile)).unwrap_or_default();
    text.push('\n');
    text
}
