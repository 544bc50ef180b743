//! The model of results.json: a type for each of its objects, which both write it and make its JSON Schema.
//!
//! The doc comments become the descriptions of the schema, so they say what a reader of the file needs: meaning, unit,
//! rounding, and when a value is null or absent. All lengths are in meters, in the frame of the site unless said
//! otherwise: x east, y north. "Along the gate line" (`u`) is measured from the middle of the gate as drawn, positive
//! to the right as seen from the road.
//!
//! Fields may be added in later versions of the program, never renamed or removed while [`Results::version`] stays.
//!
//! ```
//! let schema = wideenough::report::results_schema();
//! let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
//! assert_eq!(schema["properties"]["version"]["const"], 1);
//! ```
mod case;
mod fix;
mod gate;
mod how_to_drive;
mod schedule;
mod sight;
mod vehicle;
mod words;

pub use case::{
    ActiveConstraint, Answer, Case, Contact, Leg, Limits, Nowhere, PerFoot, Segment, Start, Tightest, Witness,
};
pub use fix::{Fix, FixVerdict, Fixes, NoFix, Placement};
pub use gate::{Difference, Figure, Gate, GatePlan, LeafSwing, OpenLeaves, Post, Rule, RunBack, Stop};
pub use how_to_drive::{HowToDrive, Landmark, LineUp, Step, Window};
pub use schedule::{
    Arrangement, ArrangementNeed, Assembly, LeavesOf, NeedOneWay, ScheduleRow, Waiting, WaitingInside,
    WaitingOutside, Weight,
};
pub use sight::{Hider, Look, Pedestrians, Road, Sight, Sourced, Speed, Triangle};
pub use vehicle::{BackingIn, Missing, Turn, Unit, Vehicle, VehicleOutlines};
pub use words::{
    Anchor, Clearance, ConstraintKind, Direction, DrawnGate, Driven, End, FixKind, Goal, Ground, Leaves,
    LookOutcome, Maneuver, Outcome, Reference, RuleOutcome, RuledOut, Side, SpeedKind, SpeedUnit, StopKind,
    Swing, TriangleOutcome, Units, VehicleClass, Verdict, YardSide,
};

use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::ser::{Serialize, SerializeMap, Serializer};
use std::borrow::Cow;

/// Results of a study by wideenough, in meters.
///
/// Openings that suffice are rounded up and proven lower bounds down, to 0.1 mm; positions to a micrometer.
#[derive(Clone, Debug, PartialEq, serde::Serialize, JsonSchema)]
#[schemars(title = "Results of wideenough")]
#[non_exhaustive]
pub struct Results {
    /// Name of the format.
    #[schemars(extend("const" = super::FORMAT))]
    pub format: &'static str,
    /// Version of the format. A program that reads this version reads every later file that has the same number.
    #[schemars(extend("const" = super::VERSION))]
    pub version: u32,
    /// The plan as drawn.
    pub plan: Plan,
    /// Relation of the plan's coordinates to site meters.
    pub frame: Frame,
    /// Clearance of the comfortable answers, kept from everything that stands, meters, to a micrometer.
    pub clearance_m: f64,
    /// Ground that tires may use.
    pub ground: Ground,
    /// True if the leaves of the gate as drawn open, and every vehicle passes it with the study's clearance.
    pub every_vehicle_passes: bool,
    /// Obstacles that stop the leaves of the gate as drawn before they are open, in words; null if all open. The answers hold
    /// only for leaves that open.
    pub leaves_stopped: Option<String>,
    /// One case per vehicle, direction of travel and maneuver; then the drawn routes.
    pub cases: Vec<Case>,
    /// Need and verdict of each vehicle, in the order of the plan.
    pub vehicles: Vec<Vehicle>,
    /// Turns inside, of vehicles whose visits list turning around.
    pub turns: Vec<Turn>,
    /// One opening for all vehicles; null unless the plan lets the gate stand anywhere along its line and one was
    /// found.
    pub placement: Option<Placement>,
    /// The gate as drawn and, if the study includes it, what to order.
    pub gate: Gate,
    /// Changes that would correct the gate; null if the study does not include them.
    pub fixes: Option<Fixes>,
    /// Plan outlines of each vehicle's units, by the name of the vehicle.
    pub vehicle_outlines: ByName<VehicleOutlines>,
    /// Notes for the reader about the plan or the run, in plain words.
    pub notes: Vec<String>,
    /// Names of the files written beside this one.
    pub files: Vec<String>,
    /// Sight of the road on leaving. Absent if the study was run without it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Sight")]
    pub sight: Option<Sight>,
}

/// The plan as drawn.
#[derive(Clone, Debug, PartialEq, serde::Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Plan {
    /// Title of the plan.
    pub title: String,
    /// Opening of the gate as drawn, between the inner faces of its posts, meters, to a micrometer.
    pub opening_m: f64,
    /// Distance of the gate from the edge of the road, meters, to a micrometer.
    pub setback_m: f64,
    /// Turn of the gate line from the direction of the road, degrees, counterclockwise positive.
    pub skew_deg: f64,
    /// Units of the plan's words and drawings.
    pub units: Units,
    /// Side of the road on which people drive.
    pub drives_on: Side,
}

/// Relation of the plan's coordinates to site meters.
#[derive(Clone, Debug, PartialEq, serde::Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "lowercase")]
#[non_exhaustive]
pub enum Frame {
    /// Longitude and latitude.
    LonLat {
        /// Longitude of the site origin, degrees.
        origin_lon_deg: f64,
        /// Latitude of the site origin, degrees.
        origin_lat_deg: f64,
        /// The projection to site meters about the origin, in words.
        projection: &'static str,
    },
    /// A plane of the plan's own.
    Local {
        /// Meters in a unit of the plan's coordinates.
        meters_per_unit: f64,
    },
}

/// A point of the site.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, JsonSchema)]
#[non_exhaustive]
pub struct Position {
    /// East, meters, to a micrometer.
    pub x_m: f64,
    /// North, meters, to a micrometer.
    pub y_m: f64,
}

/// Values by name, in order; an object in JSON.
#[derive(Clone, Debug, PartialEq)]
pub struct ByName<T>(pub Vec<(String, T)>);

impl<T: Serialize> Serialize for ByName<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            map.serialize_entry(name, value)?;
        }
        map.end()
    }
}

impl<T: JsonSchema> JsonSchema for ByName<T> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}ByName", T::schema_name()).into()
    }

    fn inline_schema() -> bool {
        true
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "object", "additionalProperties": generator.subschema_for::<T>() })
    }
}

/// The JSON Schema (draft 2020-12) of results.json, as pretty-printed text with a newline at its end.
/// `examples/results.schema.json` is a copy, kept current by a test.
///
/// It describes what this version of the program writes. Objects may have more fields than it names, so that it accepts
/// the files of later versions too.
#[must_use]
pub fn schema() -> String {
    let settings = SchemaSettings::draft2020_12().for_serialize().with_transform(Unwrapped);
    let generator = settings.into_generator();
    let schema = generator.into_root_schema_for::<Results>();
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}

/// Joins the lines of a description: they break where the source does.
#[derive(Clone, Debug)]
struct Unwrapped;

impl Transform for Unwrapped {
    fn transform(&mut self, schema: &mut Schema) {
        if let Some(serde_json::Value::String(text)) = schema.get_mut("description") {
            let paragraphs: Vec<String> = text.split("\n\n").map(|lines| lines.replace('\n', " ")).collect();
            *text = paragraphs.join("\n\n");
        }
        transform_subschemas(self, schema);
    }
}
