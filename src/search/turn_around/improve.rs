//! Mends a course that lacks a little room, then shortens it: pattern search over its numbers, the gap to the way out closed
//! anew after every step.
use super::course::{Course, Number};
use super::way_out::WayOut;
use super::yard::Yard;
use crate::motion::State;

/// A meter of missing room counts as much as this many meters of way.
const LACK_WEIGHT: f64 = 60.0;
/// Turning the wheels from straight ahead to full lock counts as much as this many meters of way: a way a little longer with
/// a steadier wheel is the better one.
const STEERED_M: f64 = 0.5;
/// Steps tried, in scales of the numbers, the longest first.
const STEPS: [f64; 5] = [1.2, 0.5, 0.2, 0.08, 0.03];
/// Shortening by less is not worth a look, meters.
const WORTH_M: f64 = 0.004;
/// A piece is left out where the course gets no longer than this by it, meters: fewer targets are easier to drive.
const PIECE_M: f64 = 0.1;
/// More room missing than this ends a look.
const ENOUGH_M: f64 = 1.0;

/// A course with what it costs.
#[derive(Clone, Debug)]
pub(super) struct Priced {
    pub(super) course: Course,
    /// Room it lacks at the poses looked at, meters.
    pub(super) lack_m: f64,
    /// Its price: see [`price_m`].
    pub(super) price_m: f64,
}

impl Priced {
    fn cost(&self) -> f64 {
        self.price_m + LACK_WEIGHT * self.lack_m
    }
}

/// Distance rolled from start to the end of the way out, but for a constant, and what turning the wheels counts.
pub(super) fn price_m(yard: &Yard, way: &WayOut, course: &Course) -> f64 {
    let joins = way.curvature(course.joins_m) / yard.wheels.max;
    course.length_m(yard.wheels, way) - course.joins_m + STEERED_M * course.steered(joins)
}

/// The better courses near one that closes; `looks` drives are looked at, at most.
pub(super) fn improve(
    (yard, way, from): (&Yard, &WayOut, &State),
    begun: Priced,
    spare_m: f64,
    mut looks: usize,
) -> Priced {
    let mut best = begun;
    let mut priced = |course: Course, best: &Priced, slack_m: f64| {
        let price_m = price_m(yard, way, &course);
        // Without missing room only a shorter way is better.
        if looks == 0 || best.lack_m == 0.0 && price_m > best.price_m - WORTH_M + slack_m {
            return None;
        }
        looks -= 1;
        let most_m = (best.lack_m + (best.price_m + slack_m - price_m).max(0.0) / LACK_WEIGHT).min(ENOUGH_M);
        let lack_m = yard.course_lacks(from, &course, way, spare_m, most_m);
        let priced = Priced { course, lack_m, price_m };
        let better =
            priced.cost() < best.cost() - WORTH_M + slack_m && (slack_m == 0.0 || lack_m <= best.lack_m);
        better.then_some(priced)
    };
    for (round, step) in STEPS.iter().enumerate() {
        if round < 3 {
            let mut l = 0;
            while l < best.course.legs.len() {
                let mut p = 0;
                while p < best.course.legs[l].pieces.len() && best.course.legs[l].pieces.len() > 1 {
                    let simpler = best.course.simpler(l, p).into_iter().find_map(|mut course| {
                        let closes = course.close(&from.lead, yard.wheels, way, None);
                        closes.then(|| priced(course, &best, PIECE_M)).flatten()
                    });
                    match simpler {
                        Some(simpler) => best = simpler,
                        None => p += 1,
                    }
                }
                l += 1;
            }
        }
        for _ in 0..4 {
            let before = best.cost();
            for number in best.course.numbers() {
                for sign in [-1.0, 1.0] {
                    // On in a direction that helps.
                    for _ in 0..6 {
                        let Some(course) = moved((yard, way, from), &best.course, number, sign * step) else {
                            break;
                        };
                        match priced(course, &best, 0.0) {
                            Some(better) => best = better,
                            None => break,
                        }
                    }
                }
            }
            if best.cost() > before - 4.0 * WORTH_M {
                break;
            }
        }
    }
    best
}

/// A course with one number moved by a share of its scale, closed by the others.
fn moved(
    (yard, way, from): (&Yard, &WayOut, &State),
    course: &Course,
    number: Number,
    by: f64,
) -> Option<Course> {
    let mut course = course.clone();
    let was = course.value(number);
    if course.set(number, was + by * number.scale(), way) == was {
        return None;
    }
    course.close(&from.lead, yard.wheels, way, Some(number)).then_some(course)
}
