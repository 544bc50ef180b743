//! Motion without tire slip: a lead unit steered by the curvature of its rear axle's path, and a chain of towed
//! units behind it.
//!
#![doc = include_str!("README.md")]
use crate::geometry::Pose;
use crate::vehicle::MAX_UNITS;

mod chain;
mod hitch;
mod path;
pub mod route;
mod trajectory;

pub use chain::{Chain, Towed, advance_lead};
pub use hitch::{hitch_angle_on_arc, hitch_angle_step, steady_hitch_angle};
pub use path::{LimitFault, Sample};
pub use trajectory::{AtGate, OnSite, Trajectory};

/// The most towed units behind a lead unit.
pub const MAX_TOWED: usize = MAX_UNITS - 1;

/// State of a whole vehicle: its poses and its steering.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct State {
    /// The lead unit: center of its rear axle, and its heading.
    pub lead: Pose,
    /// Hitch angles, radians: heading of the unit in front less heading of the one behind; 0 beyond the last.
    pub hitch: [f64; MAX_TOWED],
    /// Curvature the lead unit's rear axle is steered to, 1/m, left positive.
    pub curvature: f64,
}

/// Direction in which a leg is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Forward.
    Forward,
    /// Backward.
    Reverse,
}

impl Direction {
    /// +1 forward, -1 in reverse.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Forward => 1.0,
            Self::Reverse => -1.0,
        }
    }

    /// Direction in which the same path is driven from its end to its start.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Forward => Self::Reverse,
            Self::Reverse => Self::Forward,
        }
    }
}

/// A stretch of one leg over which the curvature changes linearly with the distance rolled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Distance rolled by the lead unit's rear axle, never negative.
    pub length_m: f64,
    /// Curvature where the segment begins (in the order it is driven), 1/m.
    pub curvature_start: f64,
    /// Curvature where it ends.
    pub curvature_end: f64,
}

/// A stretch in one direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// Forward or reverse.
    pub direction: Direction,
    /// Segments in the order driven. Curvature may jump only between legs, where the vehicle stands.
    pub segments: Vec<Segment>,
}

/// A drivable path: a start and legs.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// State at the start.
    pub start: State,
    /// Its legs in order.
    pub legs: Vec<Leg>,
}
