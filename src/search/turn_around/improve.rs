//! Mends a course that lacks a little room, then shortens it: pattern search over its numbers, the gap to the way out closed
//! anew after every step.
use super::course::{Course, Number};
use super::way_out::WayOut;
use super::yard::Yard;
use crate::motion::State;

/// A meter of missing room counts as much as this many meters of way.
const LACK_WEIGHT: f64 = 60.0;
/// Steps tried, in scales of the numbers, the longest first.
const STEPS: [f64; 5] = [1.2, 0.5, 0.2, 0.08, 0.03];
/// Shortening by less is not worth a look, meters.
const WORTH_M: f64 = 0.004;
/// A piece is left out where the course gets no longer than this by it, meters: fewer targets are easier to drive.
const PIECE_M: f64 = 0.25;
/// More room missing than this ends a look.
const ENOUGH_M: f64 = 1.0;

/// A course with what it costs.
#[derive(Clone, Debug)]
pub(super) struct Priced {
    pub(super) course: Course,
    /// Room it lacks at the poses looked at, meters.
    pub(super) lack_m: f64,
    /// Length of the turn, up to where it joins the way out, and of the way out from there.
    pub(super) length_m: f64,
}

impl Priced {
    fn cost(&self) -> f64 {
        self.length_m + LACK_WEIGHT * self.lack_m
    }
}

/// Distance rolled from start to the end of the way out, but for a constant.
pub(super) fn length_m(yard: &Yard, way: &WayOut, course: &Course) -> f64 {
    course.length_m(yard.wheels, way) - course.joins_m
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
        let length_m = length_m(yard, way, &course);
        // Without missing room only a shorter way is better.
        if looks == 0 || best.lack_m == 0.0 && length_m > best.length_m - WORTH_M + slack_m {
            return None;
        }
        looks -= 1;
        let most_m =
            (best.lack_m + (best.length_m + slack_m - length_m).max(0.0) / LACK_WEIGHT).min(ENOUGH_M);
        let lack_m = yard.course_lacks(from, &course, way, spare_m, most_m);
        let priced = Priced { course, lack_m, length_m };
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
                    let mut course = best.course.clone();
                    course.legs[l].pieces.remove(p);
                    let closes = course.close(&from.lead, yard.wheels, way, None);
                    match closes.then(|| priced(course, &best, PIECE_M)).flatten() {
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
