//! Directions of travel along the road before a vehicle turns in, and the lane it comes in.
use super::lines::{beside, nearest_on, segments};
use super::{Road, RoadEnds, Side, Site};
use crate::geometry::Point;
use crate::geometry::length::{Round, show};
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
    /// Middle of the lane, in the direction of travel, with what the plan says goes on beyond its drawn ends.
    pub centerline: Vec<Point>,
    /// Its width: half the road, or all of a road too narrow for two lanes.
    pub width_m: f64,
}

/// A direction along the road that nothing comes to the gate in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotAsked {
    /// An eight-point compass word ending in "bound".
    pub word: String,
    /// Why, in plain words.
    pub why: String,
}

/// A road that goes on beyond what is drawn is followed straight this far: longer than any vehicle that starts on it.
pub(crate) const RUNS_ON_M: f64 = 60.0;
/// Nothing comes from a piece of road shorter than this: no road vehicle stands on it.
const LEAST_UPSTREAM_M: f64 = 5.0;
/// Places nearer to each other than this are one: a millimeter.
const SAME_PLACE_M: f64 = 1e-3;

impl Site {
    /// The directions vehicles come from along the road in front of the gate, the first of `roads`; other roads are
    /// surface to maneuver on, no more.
    ///
    /// The words follow the road's direction beside the gate and are always opposite to each other, so they
    /// never agree. Directions that do not lead to the gate are left out: see [`Site::not_asked`].
    #[must_use]
    pub fn travels(&self) -> Vec<Travel> {
        self.directions().into_iter().filter_map(Result::ok).collect()
    }

    /// The directions along the road in front of the gate that do not lead to it, each with the reason.
    ///
    /// A road that ends at the gate, so that the gate lies ahead of its end, has only the direction that leads there. From
    /// an end of the road that is no more than 5 m away nothing comes: no road vehicle stands on so short a piece.
    #[must_use]
    pub fn not_asked(&self) -> Vec<NotAsked> {
        self.directions().into_iter().filter_map(Result::err).collect()
    }

    fn directions(&self) -> Vec<Result<Travel, NotAsked>> {
        let Some(road) = self.roads.first() else { return Vec::new() };
        let center = self.gate.center();
        let Some(tangent) = tangent_beside(road, center) else { return Vec::new() };
        let toward = ends_at(road, center);
        let forward = eighth(tangent);
        let mut backward_line = road.centerline.clone();
        backward_line.reverse();
        let RoadEnds { start, end } = road.continues;
        let both = [
            (WORDS[forward % 8], tangent, road.centerline.clone(), End::Last, (start, end)),
            (WORDS[(forward + 4) % 8], -tangent, backward_line, End::First, (end, start)),
        ];
        type Way<'a> = (&'a str, Point, Vec<Point>, End, (bool, bool));
        let direction = |(word, direction, mut line, end, (goes_on_behind, goes_on_ahead)): Way| {
            let upstream_m = length_to(&line, center);
            if toward.is_some_and(|only| only != end) {
                let why = "the road ends at the gate, so nothing comes that way".to_owned();
                return Err(NotAsked { word: String::from(word), why });
            }
            if upstream_m < LEAST_UPSTREAM_M && !goes_on_behind {
                let why = if upstream_m < SAME_PLACE_M {
                    "the road ends there, so nothing comes that way".to_owned()
                } else {
                    let beyond = show(upstream_m, self.units, Round::Nearest);
                    format!("the road ends {beyond} beyond the gate, so nothing comes from there")
                };
                return Err(NotAsked { word: String::from(word), why });
            }
            run_on(&mut line, goes_on_behind, goes_on_ahead);
            let lane = lane(&line, road.width_m, self.drives_on);
            Ok(Travel { word: String::from(word), direction, lane })
        };
        both.into_iter().map(direction).collect()
    }
}

/// The length of a line up to the place on it that is nearest to a point.
pub(super) fn length_to(line: &[Point], p: Point) -> f64 {
    let Some((i, foot)) = nearest_on(segments(line), p) else { return 0.0 };
    segments(line).take(i).map(|(a, b)| a.distance(b)).sum::<f64>() + line[i].distance(foot)
}

/// Puts a line on straight beyond those of its ends that go on.
fn run_on(line: &mut [Point], behind: bool, ahead: bool) {
    let beyond = |from: Point, to: Point| (to - from).unit().map(|along| to + along * RUNS_ON_M);
    let (first, last) = match &*line {
        [a, b, ..] => (beyond(*b, *a), line.len().checked_sub(2).and_then(|i| beyond(line[i], line[i + 1]))),
        _ => return,
    };
    // The end point itself stays only where the line bends there, which it does not.
    if let Some(first) = first.filter(|_| behind) {
        line[0] = first;
    }
    if let Some(last) = last.filter(|_| ahead) {
        let end = line.len() - 1;
        line[end] = last;
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
    if foot.distance(*last) < SAME_PLACE_M && ahead(*before, *last) {
        Some(End::Last)
    } else if foot.distance(*first) < SAME_PLACE_M && ahead(*second, *first) {
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
