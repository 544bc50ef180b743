//! Published turning circles and the corresponding radius of the rear axle's center; and a few closed forms of a rigid
//! vehicle that need only its dimensions.
//!
//! The published figure that matters to motion is the radius R of the circle on which the *center of the rear
//! axle* runs at full lock: 1/R is the largest curvature. A brochure's turning diameter halved is not R: a car
//! with a 10.8 m turning circle has R = 3.90 m.
//!
//! Source: SAE J695 (reaffirmed 1998) for the quantities measured: "turning radius" runs from the turning center to the
//! center of tire contact of the wheel on the largest circle, and "wall to wall" is the circle around the outermost
//! points. The rest is Pythagoras.
use crate::geometry::trig;

/// R from a curb-to-curb radius `rho` (to the middle of the outer front tire's contact):
/// √(rho² − L²) − track/2, meters. `None` if the circle is too small for the wheelbase.
///
/// ```
/// use wideenough::vehicle::turning::from_curb;
/// assert_eq!(from_curb(5.0, 3.0, 2.0), Some(3.0)); // 3-4-5 triangle
/// ```
#[must_use]
pub fn from_curb(rho_m: f64, wheelbase_m: f64, front_track_m: f64) -> Option<f64> {
    positive(side(rho_m, wheelbase_m)? - front_track_m / 2.0)
}

/// R from the radius to the outer edge of the outer front tire, as some brochures publish it: [`from_curb`] with half
/// the tire's width subtracted first.
#[must_use]
pub fn from_tire_edge(radius_m: f64, wheelbase_m: f64, front_track_m: f64, tire_width_m: f64) -> Option<f64> {
    from_curb(radius_m - tire_width_m / 2.0, wheelbase_m, front_track_m)
}

/// R from a wall-to-wall radius: √(radius² − (L + front overhang)²) − width/2. Exact for square front corners; a
/// real, rounded corner makes the published circle smaller and this R too small, so prefer a curb-to-curb figure.
#[must_use]
pub fn from_wall(radius_m: f64, wheelbase_m: f64, front_overhang_m: f64, width_m: f64) -> Option<f64> {
    positive(side(radius_m, wheelbase_m + front_overhang_m)? - width_m / 2.0)
}

/// R from the radius of the front axle's center, as road design vehicles publish it: √(radius² − L²).
#[must_use]
pub fn from_centerline(radius_m: f64, wheelbase_m: f64) -> Option<f64> {
    positive(side(radius_m, wheelbase_m)?)
}

fn side(hypotenuse: f64, other: f64) -> Option<f64> {
    positive(hypotenuse * hypotenuse - other * other).map(f64::sqrt)
}

fn positive(value: f64) -> Option<f64> {
    (value.is_finite() && value > 0.0).then_some(value)
}

/// Angle of the equivalent middle front wheel when the rear axle's center runs on a circle of radius R, radians:
/// atan(L/R).
#[must_use]
pub fn middle_wheel_rad(radius_m: f64, wheelbase_m: f64) -> f64 {
    trig::atan2(wheelbase_m, radius_m)
}

/// Angle of the inner front wheel on the same circle, radians: atan(L/(R − track/2)).
#[must_use]
pub fn inner_wheel_rad(radius_m: f64, wheelbase_m: f64, front_track_m: f64) -> f64 {
    trig::atan2(wheelbase_m, radius_m - front_track_m / 2.0)
}

/// Angle of the outer front wheel on the same circle, radians: atan(L/(R + track/2)).
#[must_use]
pub fn outer_wheel_rad(radius_m: f64, wheelbase_m: f64, front_track_m: f64) -> f64 {
    trig::atan2(wheelbase_m, radius_m + front_track_m / 2.0)
}

/// Radius swept by the outer front corner in a steady turn, meters: √((R + width/2)² + (L + front overhang)²).
/// Exact for one rigid body whose tires do not slip.
///
/// ```
/// use wideenough::vehicle::turning::outer_corner_m;
/// assert_eq!(outer_corner_m(7.0, 2.0, 4.0, 2.0), 10.0); // 8-6-10 triangle
/// ```
#[must_use]
pub fn outer_corner_m(radius_m: f64, width_m: f64, wheelbase_m: f64, front_overhang_m: f64) -> f64 {
    trig::hypot(radius_m + width_m / 2.0, wheelbase_m + front_overhang_m)
}

/// Distance that the outer rear corner swings out beyond the outer side of the rear axle in a steady turn, meters:
/// √((R + width/2)² + rear overhang²) − (R + width/2).
#[must_use]
pub fn swing_out_m(radius_m: f64, width_m: f64, rear_overhang_m: f64) -> f64 {
    let outer = radius_m + width_m / 2.0;
    trig::hypot(outer, rear_overhang_m) - outer
}

/// Largest wheelbase plus front overhang of a rigid vehicle that turns inside a ring, meters:
/// √(outer² − (inner + width)²), its inner side on the inner circle. `None` if it is wider than the ring.
///
/// ```
/// use wideenough::vehicle::turning::longest_in_ring_m;
/// assert_eq!(longest_in_ring_m(10.0, 6.0, 2.0), Some(6.0)); // 8-6-10 triangle
/// ```
#[must_use]
pub fn longest_in_ring_m(outer_m: f64, inner_m: f64, width_m: f64) -> Option<f64> {
    side(outer_m, inner_m + width_m)
}

/// Largest sharp change of grade, as a ratio, that a vehicle straddles without its underside touching the crest:
/// A = 4c/L, for underside height c and wheelbase L, standing with the crest midway between the axles.
///
/// The crest rises A·L/4 over the line through the two axles' contacts. Small angles: the sine of a grade is replaced
/// by the grade, an error of half a percent at 10 %.
///
/// ```
/// use wideenough::vehicle::turning::breakover_grade;
/// assert!((breakover_grade(0.25, 10.0) - 0.10).abs() < 1e-12); // 4 x 0.25 / 10
/// ```
#[must_use]
pub fn breakover_grade(clearance_m: f64, wheelbase_m: f64) -> f64 {
    4.0 * clearance_m / wheelbase_m
}
