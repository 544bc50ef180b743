//! Plans for the tests of sight on leaving.
use serde_json::{Value, json};

/// A feature of a role.
pub fn feature(role: &str, geometry: Value, more: Value) -> Value {
    let mut properties = more;
    properties["role"] = json!(role);
    json!({ "type": "Feature", "properties": properties, "geometry": geometry })
}

/// A line through places.
pub fn line(points: &[(f64, f64)]) -> Value {
    json!({ "type": "LineString", "coordinates": points.iter().map(|(x, y)| vec![*x, *y]).collect::<Vec<_>>() })
}

/// A polygon of corners, closed here.
pub fn polygon(points: &[(f64, f64)]) -> Value {
    let mut ring: Vec<Vec<f64>> = points.iter().map(|(x, y)| vec![*x, *y]).collect();
    ring.push(ring[0].clone());
    json!({ "type": "Polygon", "coordinates": [ring] })
}
