//! Fixes for a thing that blocks sight: how far it must move back from the road, or how low it must be.
//!
//! Each amount is the least whole number of inches (or centimeters) after which the thing hides nothing of what must be
//! seen, confirmed by the same code that found it hiding. What a thing hides does not depend on the others, so amounts
//! found one by one hold together; the survey checks all of them together once more.
use super::shadow::{SightHeights, hidden};
use super::things::Blocker;
use crate::geometry::length::INCH_M;
use crate::geometry::{Point, Units};

/// Largest distance that a thing is moved back: 30 feet.
pub const MOST_BACK_M: f64 = 30.0 * crate::geometry::length::FOOT_M;

/// Product of a thing's pieces and the road's pieces from which amounts are searched in strides.
const MANY: usize = 20_000;

/// Lines that must be seen, and the eye that must see them.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The eye.
    pub eye: Point,
    /// The heights of the line of sight.
    pub heights: SightHeights,
    /// Lines of which each point must be seen.
    pub lines: Vec<Vec<Point>>,
}

impl Wanted {
    /// True if a thing hides nothing of it.
    #[must_use]
    pub fn is_clear_of(&self, thing: &Blocker) -> bool {
        let clear = |solid, line: &Vec<Point>| hidden(self.eye, &self.heights, line, solid).is_empty();
        self.lines.iter().all(|line| thing.solids.iter().all(|solid| clear(solid, line)))
    }
}

/// Fixes for one thing that blocks sight.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SightFix {
    /// Distance that it must move back, straight away from the road along the drive; `None` if 30 ft are not enough.
    pub back_m: Option<f64>,
    /// Largest height that its top may have; `None` if it hides even when level with the ground.
    pub top_m: Option<f64>,
}

/// Step of the amounts: an inch or a centimeter.
#[must_use]
pub const fn step_m(units: Units) -> f64 {
    match units {
        Units::Feet => INCH_M,
        Units::Meters => 0.01,
    }
}

/// Computes the fixes for a thing, in whole steps. `away` is the unit vector away from the road.
#[must_use]
pub fn fix_of(thing: &Blocker, wanted: &Wanted, away: Point, units: Units) -> SightFix {
    let step = step_m(units);
    // Linear search, since along a bend moving back a little may clear what moving back more does not; where thing and
    // road have very many corners, in strides of twelve, then one by one within the stride that clears.
    let steps = |k: u32| f64::from(k) * step;
    let clears = |k: u32| wanted.is_clear_of(&thing.moved(away * steps(k)));
    let pieces = wanted.lines.iter().map(Vec::len).sum::<usize>();
    let stride = if thing.solids.len() * pieces > MANY { 12 } else { 1 };
    let strides = (1_u32..).map(|k| k * stride).take_while(|k| steps(*k) <= MOST_BACK_M);
    let found = strides.into_iter().find(|k| clears(*k));
    let back_m = found.map(|k| steps((k + 1 - stride..k).find(|k| clears(*k)).unwrap_or(k)));
    // A lower top never hides more, so bisection finds the largest.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "no thing is a thousand kilometers high"
    )]
    let mut over = (thing.top_m() / step).ceil().clamp(0.0, 1e8) as u32;
    let mut under = 0;
    if !wanted.is_clear_of(&thing.lowered(0.0)) {
        return SightFix { back_m, top_m: None };
    }
    while over - under > 1 {
        let middle = under + (over - under) / 2;
        if wanted.is_clear_of(&thing.lowered(steps(middle))) {
            under = middle;
        } else {
            over = middle;
        }
    }
    SightFix { back_m, top_m: Some(steps(under)) }
}
