//! What would clear the sight past a thing: how far it must move back from the road, or how low it must be.
//!
//! Each amount is the least of a whole number of inches (or centimeters) after which the thing hides nothing of what must be
//! seen, asked by the same code that found it hiding. What a thing hides does not depend on the others, so amounts found one
//! by one hold together; the survey asks once more with all of them.
use super::shadow::{SightHeights, hidden};
use super::things::Blocker;
use crate::geometry::length::INCH_M;
use crate::geometry::{Point, Units};

/// How far back a thing is tried: 30 feet.
pub const MOST_BACK_M: f64 = 30.0 * crate::geometry::length::FOOT_M;

/// Pieces of a thing times pieces of road from which on amounts are looked for in strides.
const MANY: usize = 20_000;

/// What must be seen, and from where.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The eye.
    pub eye: Point,
    /// The heights of the line of sight.
    pub heights: SightHeights,
    /// Each point of these lines must be seen.
    pub lines: Vec<Vec<Point>>,
}

impl Wanted {
    /// Whether a thing hides nothing of it.
    #[must_use]
    pub fn is_clear_of(&self, thing: &Blocker) -> bool {
        let clear = |solid, line: &Vec<Point>| hidden(self.eye, &self.heights, line, solid).is_empty();
        self.lines.iter().all(|line| thing.solids.iter().all(|solid| clear(solid, line)))
    }
}

/// What would clear the sight past one thing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SightFix {
    /// How far it must move back, straight away from the road along the drive; `None` if 30 ft are not enough.
    pub back_m: Option<f64>,
    /// The largest height its top may have; `None` if even one that is level with the ground hides.
    pub top_m: Option<f64>,
}

/// The step of amounts: an inch or a centimeter.
#[must_use]
pub const fn step_m(units: Units) -> f64 {
    match units {
        Units::Feet => INCH_M,
        Units::Meters => 0.01,
    }
}

/// What would clear the sight past a thing, in whole steps. `away` is the unit vector away from the road.
#[must_use]
pub fn fix_of(thing: &Blocker, wanted: &Wanted, away: Point, units: Units) -> SightFix {
    let step = step_m(units);
    // One after the other, as along a bend moving back a little may clear what moving back more does not; in strides of
    // twelve, and then one by one in the stride that clears, where thing and road have very many corners.
    let steps = |k: u32| f64::from(k) * step;
    let clears = |k: u32| wanted.is_clear_of(&thing.moved(away * steps(k)));
    let pieces = wanted.lines.iter().map(Vec::len).sum::<usize>();
    let stride = if thing.solids.len() * pieces > MANY { 12 } else { 1 };
    let strides = (1_u32..).map(|k| k * stride).take_while(|k| steps(*k) <= MOST_BACK_M);
    let found = strides.into_iter().find(|k| clears(*k));
    let back_m = found.map(|k| steps((k + 1 - stride..k).find(|k| clears(*k)).unwrap_or(k)));
    // Lower never hides more, so halving finds the largest.
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
