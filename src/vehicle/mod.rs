//! A vehicle, settled: convex outlines with heights, tires, hitches and steering limits, in meters.
use crate::geometry::{Outline, Point};

/// The most units a vehicle may have: one that steers and three behind it.
pub const MAX_UNITS: usize = 4;

/// A settled vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct Vehicle {
    /// Library name: lower case with hyphens, or the file's stem.
    pub name: String,
    /// What people call it.
    pub title: String,
    /// One line on what it stands for and where its figures come from.
    pub about: String,
    /// The chain: the first unit steers, each later one is towed by the one before. 1 to [`MAX_UNITS`].
    pub units: Vec<Unit>,
    /// What the steering can do.
    pub steering: Steering,
    /// Every figure the file gives, in the file's order, and where it comes from: for sheets and listings.
    pub dimensions: Vec<Dimension>,
}

/// One figure of a vehicle file, as given, and where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// What it measures, for people: "pickup: wheelbase".
    pub name: String,
    /// How much.
    pub measure: Measure,
    /// Where the figure comes from, in words.
    pub source: String,
}

/// How much a [`Dimension`] measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measure {
    /// A length in meters.
    Length(f64),
    /// An angle in radians.
    Angle(f64),
}

/// One rigid unit. Its frame has the origin at the center of its rear axle (group), x forward, y left.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// What it is: "pickup", "trailer".
    pub name: String,
    /// Lead unit: front axle to rear axle (group). Towed unit: hitch to axle (group).
    pub wheelbase_m: f64,
    /// From the front axle (towed: from the hitch) forward to the front of the body; negative if behind it.
    pub front_overhang_m: f64,
    /// From the rear axle (group) back to the rear of the body.
    pub rear_overhang_m: f64,
    /// Width of the body without mirrors.
    pub width_m: f64,
    /// Height.
    pub height_m: f64,
    /// Height of the lowest part of the body above ground.
    pub ground_clearance_m: f64,
    /// What of it can touch things: body, mirrors, tires. Convex, counterclockwise outlines.
    pub parts: Vec<Part>,
    /// Where its tires meet the ground.
    pub tires: Vec<Tire>,
    /// How the next unit hangs on; `None` on the last.
    pub hitch: Option<Hitch>,
}

/// A piece of a unit that can touch something, between two heights.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What it is.
    pub kind: PartKind,
    /// Convex, counterclockwise, in the unit's frame.
    pub outline: Outline,
    /// Height of its underside.
    pub bottom_m: f64,
    /// Height of its top.
    pub top_m: f64,
}

/// What a part is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartKind {
    /// Body, load or drawbar.
    Body,
    /// A mirror on its arm.
    Mirror,
    /// A tire as a thing that can hit a curb or a post.
    Tire,
}

/// A tire on the ground: a line of contact across its width.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tire {
    /// Middle of the contact, in the unit's frame.
    pub center: Point,
    /// Tire width (both tires and the gap for a dual wheel).
    pub width_m: f64,
    /// Whether it turns with the steering.
    pub steered: bool,
}

/// A hitch between a unit and the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hitch {
    /// Behind the pulling unit's rear axle (group); negative ahead of it (fifth wheel, gooseneck).
    pub behind_axle_m: f64,
    /// Largest hitch angle to either side.
    pub max_angle_rad: f64,
}

/// What the steering can do, at the rear axle's path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steering {
    /// Angle of the equivalent middle front wheel at full lock: tan = wheelbase x largest curvature.
    pub lock_angle_rad: f64,
    /// Largest curvature of the path of the rear axle's center, 1/m.
    pub max_curvature: f64,
    /// Meters rolled while turning from straight ahead to full lock. 0: no limit.
    pub lock_distance_m: f64,
}
