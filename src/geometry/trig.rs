//! The only source of trigonometry: the functions of the `libm` crate, which give the same last digit on every machine
//! (the standard library's call the platform's). Angles in radians.

pub use libm::{
    acos, asin, atan, atan2, cos, cosh, exp, hypot, log as ln, pow as powf, sin, sinh, tan, tanh,
};

/// Sine and cosine of an angle in radians, together.
#[must_use]
pub fn sin_cos(angle: f64) -> (f64, f64) {
    libm::sincos(angle)
}
