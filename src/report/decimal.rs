//! Numbers for JSON, rounded by [`crate::geometry::decimal`].
pub use crate::geometry::decimal::{down, nearest, up};
use serde_json::{Number, Value};

/// A number for JSON; null for one that is not finite.
#[must_use]
pub fn number(x: f64) -> Value {
    Number::from_f64(x).map_or(Value::Null, Value::Number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_finite_is_null() {
        assert_eq!(number(f64::NAN), Value::Null);
        assert_eq!(number(2.5).to_string(), "2.5");
    }
}
