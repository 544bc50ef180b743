//! Numbers with few decimals, on the safe side where a side is safe.
//!
//! Answers carry full precision; their writers round. Here a number becomes the double nearest to a short decimal, so
//! that it prints with that many digits and no more, the same on every machine.

/// Largest number of steps: beyond it a double no longer holds the last digit, and the number is returned unchanged.
const MOST_STEPS: f64 = 4e15;

/// 10 to the power `places`: exact in a double up to 22.
fn scale(places: u8) -> f64 {
    (0..places).fold(1.0, |product, _| product * 10.0)
}

/// The number with `places` decimals nearest to `x`; never minus zero.
///
/// ```
/// use wideenough::geometry::decimal::nearest;
/// assert_eq!(nearest(2.449_999_9, 3), 2.45);
/// assert_eq!(nearest(-1e-9, 6).to_string(), "0");
/// ```
#[must_use]
pub fn nearest(x: f64, places: u8) -> f64 {
    let steps = x * scale(places);
    if steps.abs() < MOST_STEPS { steps.round() / scale(places) + 0.0 } else { x }
}

/// The least number with `places` decimals that is not below `x`.
///
/// ```
/// use wideenough::geometry::decimal::up;
/// assert_eq!(up(2.760_01, 4), 2.7601);
/// assert_eq!(up(2.76, 4), 2.76);
/// ```
#[must_use]
pub fn up(x: f64, places: u8) -> f64 {
    let scale = scale(places);
    let mut steps = (x * scale).floor() - 1.0;
    if steps.is_nan() || steps.abs() > MOST_STEPS {
        return x;
    }
    // The product may be off by one rounding; the comparison below is with the number that will be printed.
    while steps / scale < x {
        steps += 1.0;
    }
    steps / scale + 0.0
}

/// The greatest number with `places` decimals that is not above `x`.
///
/// ```
/// use wideenough::geometry::decimal::down;
/// assert_eq!(down(2.760_09, 4), 2.76);
/// ```
#[must_use]
pub fn down(x: f64, places: u8) -> f64 {
    -up(-x, places) + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn up_is_never_below_and_less_than_a_step_above(x in -1e5..1e5_f64) {
            let u = up(x, 4);
            prop_assert!(u >= x && u - x < 1.000_001e-4, "{x} {u}");
            let d = down(x, 4);
            prop_assert!(d <= x && x - d < 1.000_001e-4, "{x} {d}");
            // A rounded number is returned unchanged.
            prop_assert_eq!(up(u, 4), u);
            prop_assert_eq!(down(u, 4), u);
        }
    }

    #[test]
    fn what_cannot_be_rounded_is_left() {
        assert_eq!(up(1e300, 4), 1e300);
        assert!(up(f64::NAN, 4).is_nan() && up(f64::INFINITY, 4).is_infinite());
    }
}
