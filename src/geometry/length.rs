//! Lengths as people write them ("8 ft", "12' 6\"", "96 in", "2.44 m") and as we show them.

/// Meters in a foot: exact since 1959.
pub const FOOT_M: f64 = 0.3048;
/// Meters in an inch: exact.
pub const INCH_M: f64 = 0.0254;

/// How lengths are shown to people. Inside the program everything is in meters.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// Feet and inches, to the inch: 13' 9".
    #[default]
    Feet,
    /// Meters, to the centimeter: 4.19 m.
    Meters,
}
