//! Lengths, points, outlines and exact side tests. Knows nothing of vehicles or sites.
//!
//! Everything is in meters and radians. Trigonometry comes from [`trig`], so that the last digit is the same on
//! every machine.
//!
#![doc = include_str!("README.md")]
pub mod decimal;
pub mod distance;
pub(crate) mod document;
pub mod fault;
pub(crate) mod json_place;
pub mod length;
pub(crate) mod parallel;
mod point;
pub(crate) mod polyline;
mod schema_check;
mod shape;
pub mod text;
pub mod trig;

pub use length::Units;
pub use point::{Frame, Point, Pose, wrap_angle};
pub use shape::{Outline, Shape};
