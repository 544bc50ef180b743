//! Directions of travel along the road before a vehicle turns in, and the lane it comes in.
use super::lines::{beside, nearest_on, segments};
use super::{Road, Side, Site};
use crate::geometry::Point;
use std::f64::consts::FRAC_PI_4;

/// A road narrower than this has one lane, used by both directions: two halves of less than 8 feet let no truck
/// pass another (common practice, no source).
const TWO_LANES_FROM_M: f64 = 16.0 * crate::geometry::length::FOOT_M;

const WORDS: [&str; 8] = [
    "eastbound",
    "northeastbound",
    "northbound",
    "northwestbound",
    "westbound",
    "southwestbound",
    "southbound",
    "southeastbound",
];

/// A direction of travel along the road in front of the gate.
#[derive(Clone, Debug, PartialEq)]
pub struct Travel {
    /// An eight-point compass word ending in "bound".
    pub word: String,
    /// Unit vector of travel beside the gate.
    pub direction: Point,
    /// Where vehicles drive before they turn in.
    pub lane: Lane,
}

/// The part of the road a vehicle drives in before it turns in.
#[derive(Clone, Debug, PartialEq)]
pub struct Lane {
    /// Middle of the lane, in the direction of travel.
    pub centerline: Vec<Point>,
    /// Its width: half the road, or all of a road too narrow for two lanes.
    pub width_m: f64,
}

impl Site {
    /// The directions vehicles come from along the road in front of the gate, the first of `roads`; other roads are
    /// surface to maneuver on, no more.
    ///
    /// The words follow the road's direction beside the gate and are always opposite to each other, so they
    /// never agree. A road that ends at the gate, so that the gate lies ahead of its end, has only the direction
    /// that leads there.
    #[must_use]
    pub fn travels(&self) -> Vec<Travel> {
        let Some(road) = self.roads.first() else { return Vec::new() };
        let center = self.gate.center();
        let Some(tangent) = tangent_beside(road, center) else { return Vec::new() };
        let toward = ends_at(road, center);
        let forward = eighth(tangent);
        let mut backward_line = road.centerline.clone();
        backward_line.reverse();
        let both = [
            (WORDS[forward % 8], tangent, road.centerline.clone(), End::Last),
            (WORDS[(forward + 4) % 8], -tangent, backward_line, End::First),
        ];
        both.into_iter()
            .filter(|(.., end)| toward.is_none_or(|only| only == *end))
            .map(|(word, direction, line, _)| Travel {
                word: word.to_owned(),
                direction,
                lane: lane(&line, road.width_m, self.drives_on),
            })
            .collect()
    }
}

/// An end of a center line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    First,
    Last,
}

/// The end of the road that a place lies ahead of, within 45 degrees, if there is one.
pub(super) fn ends_at(road: &Road, p: Point) -> Option<End> {
    let line = &road.centerline;
    let [first, second, ..] = line.as_slice() else { return None };
    let [.., before, last] = line.as_slice() else { return None };
    let ahead = |from: Point, to: Point| {
        let (out, gap) = (to - from, p - to);
        out.dot(gap) > out.norm() * gap.norm() * std::f64::consts::FRAC_1_SQRT_2
    };
    let (_, foot) = nearest_on(segments(line), p)?;
    if foot == *last && ahead(*before, *last) {
        Some(End::Last)
    } else if foot == *first && ahead(*second, *first) {
        Some(End::First)
    } else {
        None
    }
}

/// Unit vector along the center line at the place nearest to a point.
pub(super) fn tangent_beside(road: &Road, p: Point) -> Option<Point> {
    let (i, _) = nearest_on(segments(&road.centerline), p)?;
    (*road.centerline.get(i + 1)? - *road.centerline.get(i)?).unit()
}

/// The nearest of the eight points of the compass, counted counterclockwise from east.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "rounded, and between 0 and 8")]
fn eighth(direction: Point) -> usize {
    // A hair past the middle between two words is rounding noise: leave it to the lower one.
    let eighths = (direction.angle() / FRAC_PI_4).rem_euclid(8.0);
    (eighths - 1e-9).round().max(0.0) as usize % 8
}

/// The lane on the side people drive on.
fn lane(line: &[Point], road_width_m: f64, drives_on: Side) -> Lane {
    if road_width_m < TWO_LANES_FROM_M {
        return Lane { centerline: line.to_vec(), width_m: road_width_m };
    }
    let quarter = road_width_m / 4.0;
    let left = match drives_on {
        Side::Left => quarter,
        Side::Right => -quarter,
    };
    Lane { centerline: beside(line, left), width_m: road_width_m / 2.0 }
}
