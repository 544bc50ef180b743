//! Points, vectors and poses in the plane.
use super::trig;
use std::ops::{Add, Mul, Neg, Sub};

/// A place or a vector in the plane, in meters: x east, y north (or forward and left, in a vehicle's own frame).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// East, or forward.
    pub x: f64,
    /// North, or left.
    pub y: f64,
}

impl Point {
    /// The point (x, y).
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }
    /// The unit vector at an angle counterclockwise from east.
    #[must_use]
    pub fn at_angle(angle: f64) -> Self {
        let (sin, cos) = trig::sin_cos(angle);
        Self { x: cos, y: sin }
    }
    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }
    /// The z part of the vector product: positive when `other` lies counterclockwise of `self`.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
    /// Squared length.
    #[must_use]
    pub fn norm2(self) -> f64 {
        self.dot(self)
    }
    /// Length. Uses the exactly rounded square root, so it is the same everywhere; overflows only beyond 1e154.
    #[must_use]
    pub fn norm(self) -> f64 {
        self.norm2().sqrt()
    }
    /// The vector turned a quarter counterclockwise.
    #[must_use]
    pub fn left(self) -> Self {
        Self { x: -self.y, y: self.x }
    }
    /// The vector of length 1 in the same direction; `None` for a vector shorter than 1e-12.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let norm = self.norm();
        (norm > 1e-12).then(|| self * (1.0 / norm))
    }
    /// The angle counterclockwise from east, in (-π, π].
    #[must_use]
    pub fn angle(self) -> f64 {
        trig::atan2(self.y, self.x)
    }
    /// The distance to another point.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (self - other).norm()
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self { x: self.x + o.x, y: self.y + o.y }
    }
}
impl Sub for Point {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self { x: self.x - o.x, y: self.y - o.y }
    }
}
impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self { x: self.x * k, y: self.y * k }
    }
}
impl Neg for Point {
    type Output = Self;
    fn neg(self) -> Self {
        Self { x: -self.x, y: -self.y }
    }
}
impl From<Point> for geo_types::Coord<f64> {
    fn from(p: Point) -> Self {
        Self { x: p.x, y: p.y }
    }
}
impl From<geo_types::Coord<f64>> for Point {
    fn from(c: geo_types::Coord<f64>) -> Self {
        Self { x: c.x, y: c.y }
    }
}

/// Position and heading of a body.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pose {
    /// The body's reference point: the center of its rear axle (group).
    pub position: Point,
    /// Radians counterclockwise from east. Not wrapped: a full turn adds 2π.
    pub heading: f64,
}

impl Pose {
    /// A pose from its parts.
    #[must_use]
    pub const fn new(x: f64, y: f64, heading: f64) -> Self {
        Self { position: Point::new(x, y), heading }
    }
    /// A point given in the body's frame (x forward, y left), in site coordinates.
    #[must_use]
    pub fn to_site(&self, local: Point) -> Point {
        let forward = Point::at_angle(self.heading);
        self.position + forward * local.x + forward.left() * local.y
    }
    /// A site point in the body's frame (x forward, y left).
    #[must_use]
    pub fn to_body(&self, site: Point) -> Point {
        let forward = Point::at_angle(self.heading);
        let d = site - self.position;
        Point::new(d.dot(forward), d.dot(forward.left()))
    }
}

/// A pose with its axes precomputed, for placing many points; gives the result of [`Pose::to_site`] to the last bit.
///
/// ```
/// use wideenough::geometry::{Frame, Point, Pose};
/// let (pose, local) = (Pose::new(1.0, 2.0, 0.7), Point::new(3.0, -0.5));
/// assert_eq!(Frame::of(&pose).place(local), pose.to_site(local));
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Frame {
    /// The body's reference point.
    pub at: Point,
    /// The unit vector forward.
    pub forward: Point,
    /// The unit vector to the left.
    pub left: Point,
}

impl Frame {
    /// The frame of a pose.
    #[must_use]
    pub fn of(pose: &Pose) -> Self {
        let forward = Point::at_angle(pose.heading);
        Self { at: pose.position, forward, left: forward.left() }
    }
    /// A point given in the body's frame (x forward, y left), in site coordinates.
    #[must_use]
    pub fn place(&self, local: Point) -> Point {
        self.at + self.forward * local.x + self.left * local.y
    }
    /// A site point in the body's frame (x forward, y left).
    #[must_use]
    pub fn local(&self, site: Point) -> Point {
        let d = site - self.at;
        Point::new(d.dot(self.forward), d.dot(self.left))
    }
    /// Returns this frame translated by `by`, without rotation.
    #[must_use]
    pub fn moved(&self, by: Point) -> Self {
        Self { at: self.at + by, ..*self }
    }
}

/// An angle brought into (-π, π].
///
/// ```
/// use wideenough::geometry::wrap_angle;
/// assert!((wrap_angle(3.0 * std::f64::consts::PI) - std::f64::consts::PI).abs() < 1e-12);
/// assert!((wrap_angle(-0.5) + 0.5).abs() < 1e-15);
/// ```
#[must_use]
pub fn wrap_angle(angle: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    let r = angle - TAU * (angle / TAU).round();
    if r <= -PI { r + TAU } else { r }
}
