//! The JSON Schema of a plan file, generated from the types that read it.
use super::properties::{
    BoundaryWords, DriveWords, FenceWords, GateWords, ObstacleWords, PlanWords, RoadWords, RouteWords,
    SpotWords,
};
use schemars::{JsonSchema, SchemaGenerator, generate::SchemaSettings};
use serde_json::{Value, json};

/// The JSON Schema (draft 2020-12) of a plan file, for editors that check and complete while one types.
///
/// The schema gives the geometries and properties of each role. It cannot express all the reader checks: that a ring is
/// closed, or that a road drawn as a line has a width.
///
/// ```
/// let schema = wideenough::site::plan_schema();
/// assert_eq!(schema["properties"]["type"]["const"], "FeatureCollection");
/// ```
#[must_use]
pub fn plan_schema() -> Value {
    let mut generator = SchemaSettings::draft2020_12().into_generator();
    let plan = schema_of::<PlanWords>(&mut generator);
    let features = [
        feature(
            "road",
            &["LineString", "MultiLineString", "Polygon", "MultiPolygon"],
            schema_of::<RoadWords>(&mut generator),
        ),
        feature("drive", &["Polygon", "MultiPolygon"], schema_of::<DriveWords>(&mut generator)),
        feature(
            "gate",
            &["LineString", "MultiLineString", "Point", "MultiPoint"],
            schema_of::<GateWords>(&mut generator),
        ),
        feature("fence", &["LineString", "MultiLineString"], schema_of::<FenceWords>(&mut generator)),
        feature(
            "obstacle",
            &["Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon"],
            schema_of::<ObstacleWords>(&mut generator),
        ),
        feature("spot", &["Point", "MultiPoint"], schema_of::<SpotWords>(&mut generator)),
        feature("route", &["LineString", "MultiLineString"], schema_of::<RouteWords>(&mut generator)),
        feature(
            "boundary",
            &["LineString", "MultiLineString", "Polygon", "MultiPolygon"],
            schema_of::<BoundaryWords>(&mut generator),
        ),
        settings(plan.clone()),
    ];
    let mut definitions = generator.take_definitions(true);
    for definition in definitions.values_mut() {
        open(definition);
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Site plan for wideenough",
        "description": "A GeoJSON FeatureCollection (RFC 7946) with a role for each feature.",
        "type": "object",
        "required": ["type", "features"],
        "properties": {
            "type": { "const": "FeatureCollection" },
            "plan": plan,
            "features": { "type": "array", "items": { "oneOf": features } }
        },
        "$defs": definitions
    })
}

fn schema_of<T: JsonSchema>(generator: &mut SchemaGenerator) -> Value {
    let mut schema = T::json_schema(generator).to_value();
    open(&mut schema);
    schema
}

/// Allows unknown members: the reader ignores them with a warning.
fn open(schema: &mut Value) {
    if let Some(object) = schema.as_object_mut() {
        object.remove("additionalProperties");
    }
}

/// A feature that holds the plan's settings, drawn as anything or nothing.
fn settings(plan: Value) -> Value {
    let mut feature = feature("plan", &[], plan);
    if let Some(members) = feature.pointer_mut("/properties").and_then(Value::as_object_mut) {
        members.insert("geometry".to_owned(), json!({ "type": ["object", "null"] }));
    }
    feature
}

fn feature(role: &str, geometries: &[&str], mut properties: Value) -> Value {
    if let Some(members) = properties.get_mut("properties").and_then(Value::as_object_mut) {
        members.insert("role".to_owned(), json!({ "const": role }));
    }
    if let Some(object) = properties.as_object_mut() {
        object.insert("required".to_owned(), json!(["role"]));
    }
    json!({
        "type": "object",
        "required": ["type", "properties", "geometry"],
        "properties": {
            "type": { "const": "Feature" },
            "properties": properties,
            "geometry": {
                "type": "object",
                "required": ["type", "coordinates"],
                "properties": { "type": { "enum": geometries }, "coordinates": { "type": "array" } }
            }
        }
    })
}
