//! Plans for the tests of sight on leaving, and the random numbers that vary them.
use serde_json::{Value, json};

/// Random numbers, the same on every machine (xorshift).
pub struct Dice(u64);

impl Dice {
    /// Numbers that follow from a seed.
    pub fn seeded(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }
    /// A number between two others.
    #[expect(clippy::cast_precision_loss, reason = "53 bits are kept")]
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        low + (high - low) * ((self.0 >> 11) as f64 / (1_u64 << 53) as f64)
    }
}

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
