//! A vehicle, settled: convex outlines with heights, tires, hitches and steering limits, in meters.
//!
//! [`read()`] turns a vehicle file into a [`Vehicle`], or lists every fault it finds; [`find`] reads one of the
//! built-in [`library()`]; [`schema`] describes the file format. The types of the file are in [`mod@file`], the
//! conversions between published turning circles are in [`turning`].
//!
//! Not modeled: an axle group is one axle at its middle, as SAE J695 takes it (the true turning center of a tandem lies
//! a few centimeters behind); a steered tire's outline stays straight ahead; a tire bulges nowhere.
//!
//! ```
//! let pickup = wideenough::vehicle::find("pickup").unwrap();
//! let mirrors = pickup.units[0].widest_m();
//! assert!((mirrors - 8.0 * 0.3048).abs() < 1e-9); // 8 ft over the mirrors
//! ```
//!
#![doc = include_str!("README.md")]
mod build;
mod convex;
mod fault;
pub mod file;
mod layout;
mod library;
mod read;
pub mod turning;

pub use crate::geometry::document::MAX_FILE_BYTES;
pub use convex::{OutlineError, convex_parts};
pub use fault::{Fault, VehicleError};
pub use file::schema;
pub use library::{find, library};
pub use read::read;

use crate::geometry::{Outline, Point};

/// The most units a vehicle may have: one that steers and three behind it.
pub const MAX_UNITS: usize = 4;

/// A settled vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct Vehicle {
    /// Library name: lower case with hyphens, or the file's stem.
    pub name: String,
    /// Title, as people call the vehicle.
    pub title: String,
    /// Description, in one line: the vehicles it stands for and the sources of its figures.
    pub about: String,
    /// The chain: the first unit steers, each later one is towed by the one before. 1 to [`MAX_UNITS`].
    pub units: Vec<Unit>,
    /// Limits of the steering.
    pub steering: Steering,
    /// Every figure in the file, in the file's order, with its source: for sheets and listings.
    pub dimensions: Vec<Dimension>,
}

/// One figure of a vehicle file, as given, with its source.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// The quantity measured, for people: "pickup: wheelbase".
    pub name: String,
    /// Value of the figure.
    pub measure: Measure,
    /// Source of the figure, in words.
    pub source: String,
}

/// Value of a [`Dimension`].
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
    /// Kind of unit: "pickup", "trailer".
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
    /// Parts that can touch things: body, mirrors, tires. Convex, counterclockwise outlines.
    pub parts: Vec<Part>,
    /// Contacts of its tires with the ground.
    pub tires: Vec<Tire>,
    /// Hitch of the next unit; `None` on the last.
    pub hitch: Option<Hitch>,
}

/// A piece of a unit that can touch something, between two heights.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Kind of part.
    pub kind: PartKind,
    /// Convex, counterclockwise, in the unit's frame.
    pub outline: Outline,
    /// Height of its underside.
    pub bottom_m: f64,
    /// Height of its top.
    pub top_m: f64,
}

impl Part {
    /// True if something between these two heights can touch this part. Both ranges count with their ends, so a
    /// ditch, whose top is at 0, meets a tire, whose underside is at 0.
    #[must_use]
    pub fn meets(&self, bottom_m: f64, top_m: f64) -> bool {
        self.bottom_m <= top_m && bottom_m <= self.top_m
    }
}

impl Unit {
    /// Width including everything that sticks out, such as mirrors.
    #[must_use]
    pub fn widest_m(&self) -> f64 {
        let corners = self.parts.iter().flat_map(|part| part.outline.0.iter());
        let (low, high) = corners.fold((0.0_f64, 0.0_f64), |(l, h), p| (l.min(p.y), h.max(p.y)));
        high - low
    }
    /// Length of the body without drawbar: from the front of the body to its rear.
    #[must_use]
    pub fn body_length_m(&self) -> f64 {
        self.wheelbase_m + self.front_overhang_m + self.rear_overhang_m
    }
}

impl Vehicle {
    /// Length of the whole chain standing straight: from the foremost corner of any unit to the rearmost.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        // Front of the chain is at 0; x of each unit's axle follows from the hitches.
        let mut axle = 0.0;
        let (mut front, mut rear) = (f64::NEG_INFINITY, f64::INFINITY);
        for (i, unit) in self.units.iter().enumerate() {
            if i > 0 {
                let ahead = self.units[i - 1].hitch.map_or(0.0, |h| h.behind_axle_m);
                axle -= ahead + unit.wheelbase_m;
            }
            for p in unit.parts.iter().flat_map(|part| part.outline.0.iter()) {
                front = front.max(axle + p.x);
                rear = rear.min(axle + p.x);
            }
        }
        front - rear
    }
}

impl Vehicle {
    /// Quantities derived from the figures of the file, for sheets and listings: overall length, overall width, height,
    /// and the turning circle in the three forms in which it is published.
    #[must_use]
    pub fn derived(&self) -> Vec<Dimension> {
        let mut out = Vec::new();
        let mut note = |name: &str, meters: f64| {
            out.push(Dimension {
                name: name.to_owned(),
                measure: Measure::Length(meters),
                source: "follows from the other figures".to_owned(),
            });
        };
        let most = |of: fn(&Unit) -> f64| self.units.iter().map(of).fold(0.0, f64::max);
        note("overall length", self.length_m());
        note("overall width, mirrors included", most(Unit::widest_m));
        note("overall height", most(|unit| unit.height_m));
        if let Some(lead) = self.units.first() {
            let r = 1.0 / self.steering.max_curvature;
            let track = lead.tires.iter().filter(|t| t.steered).fold(0.0, |m, t| t.center.y.max(m)) * 2.0;
            note(
                "turning diameter, curb to curb",
                2.0 * turning::outer_corner_m(r, track, lead.wheelbase_m, 0.0),
            );
            let body = lead.parts.iter().filter(|part| part.kind == PartKind::Body);
            let center = Point::new(0.0, r);
            let wall = body.flat_map(|part| &part.outline.0).map(|c| c.distance(center)).fold(0.0, f64::max);
            note("turning diameter, wall to wall", 2.0 * wall);
            note("turning radius, center of the rear axle", r);
        }
        out
    }
}

/// Kind of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartKind {
    /// Body, load or drawbar.
    Body,
    /// A mirror on its arm.
    Mirror,
    /// A tire as an object that can hit a curb or a post.
    Tire,
}

/// A tire on the ground: a line of contact across its width.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tire {
    /// Middle of the contact, in the unit's frame.
    pub center: Point,
    /// Tire width (both tires and the gap for a dual wheel).
    pub width_m: f64,
    /// True if it turns with the steering.
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

/// Limits of the steering, in terms of the rear axle's path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steering {
    /// Angle of the equivalent middle front wheel at full lock: tan = wheelbase x largest curvature.
    pub lock_angle_rad: f64,
    /// Largest curvature of the path of the rear axle's center, 1/m.
    pub max_curvature: f64,
    /// Meters rolled while turning from straight ahead to full lock. 0: no limit.
    pub lock_distance_m: f64,
    /// Turns of the steering wheel for one turn of the front wheels, if the vehicle file gives it: 16 to 24 for most
    /// trucks.
    pub ratio: Option<f64>,
}
