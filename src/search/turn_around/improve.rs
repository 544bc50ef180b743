//! Repair of a course that lacks a little room, then shortening: pattern search over its variables, the gap to the way
//! out closed again after every step.
use super::course::{Course, Number};
use super::way_out::WayOut;
use super::yard::Yard;
use crate::motion::State;

/// Weight of a meter of missing room, in meters of path.
const LACK_WEIGHT: f64 = 60.0;
/// Weight of turning the wheels from straight ahead to full lock, in meters of path: a slightly longer path with a
/// steadier wheel is the better one.
const STEERED_M: f64 = 0.5;
/// Steps tried, in scales of the variables, the longest first.
pub(super) const STEPS: [f64; 5] = [1.2, 0.5, 0.2, 0.08, 0.03];
/// Smallest shortening that counts, meters.
const WORTH_M: f64 = 0.004;
/// A piece is left out where that lengthens the course by no more than this, meters: fewer targets are easier to drive.
const PIECE_M: f64 = 0.1;
/// Numbers of consecutive targets that are merged.
const WINDOWS: [usize; 4] = [6, 5, 4, 3];
/// Weight of a steering target, in meters of path.
const TARGET_M: f64 = 0.15;
/// Evaluations to repair a steadied course, and its largest defects: missing room, and meters by which it is longer.
const MEND_LOOKS: usize = 40;
const MENDABLE_M: f64 = 0.5;
const MENDABLE_PRICE_M: f64 = 4.0;
/// An evaluation stops when more room than this is missing.
const ENOUGH_M: f64 = 1.0;

/// A course with its cost.
#[derive(Clone, Debug)]
pub(super) struct Priced {
    pub(super) course: Course,
    /// Missing room at the sampled poses, meters.
    pub(super) lack_m: f64,
    /// Its price: see [`price_m`].
    pub(super) price_m: f64,
}

impl Priced {
    fn cost(&self) -> f64 {
        self.price_m + LACK_WEIGHT * self.lack_m
    }
}

/// Distance rolled from the start to the end of the way out, up to a constant, plus the weight of turning the wheels.
pub(super) fn price_m(yard: &Yard, way: &WayOut, course: &Course) -> f64 {
    let joins = way.curvature(course.joins_m) / yard.wheels.max;
    course.length_m(yard.wheels, way) - course.joins_m + STEERED_M * course.steered(joins)
}

/// Improves a course that closes; at most `looks` drives are evaluated.
pub(super) fn improve(
    (yard, way, from): (&Yard, &WayOut, &State),
    begun: Priced,
    spare_m: f64,
    mut looks: usize,
    steps: &[f64],
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
    for (round, step) in steps.iter().enumerate() {
        if round < 3 && steps.len() == STEPS.len() {
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
                let turned_over = yard.mirrored && matches!(number, Number::Share(..));
                for sign in if turned_over { [1.0, -1.0] } else { [-1.0, 1.0] } {
                    // Continue in a direction that helps.
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

/// Merges several consecutive targets of a course where that can be repaired and pays off: a steadier wheel.
///
/// After pattern search a course from a grid still has a wheel that is turned back and forth; no single variable can be changed
/// from there for the better, so whole stretches are replaced and repaired.
pub(super) fn smooth(
    place: (&Yard, &WayOut, &State),
    begun: Priced,
    spare_m: f64,
    mut looks: usize,
) -> Priced {
    let (yard, way, from) = place;
    let mut best = begun;
    let worth = |priced: &Priced| priced.price_m + TARGET_M * priced.course.targets();
    for window in WINDOWS {
        let mut l = 0;
        while l < best.course.legs.len() {
            let mut p = 0;
            while p + window <= best.course.legs[l].pieces.len() {
                if looks < MEND_LOOKS {
                    return best;
                }
                let mut course = best.course.steadied(l, p, window, yard.wheels);
                p += 1;
                if !course.close(&from.lead, yard.wheels, way, None) {
                    continue;
                }
                looks -= 1;
                let lack_m = yard.course_lacks(from, &course, way, spare_m, MENDABLE_M);
                let price_m = price_m(yard, way, &course);
                if lack_m > MENDABLE_M || price_m > best.price_m + MENDABLE_PRICE_M {
                    continue;
                }
                looks -= MEND_LOOKS - 1;
                let mended =
                    improve(place, Priced { course, lack_m, price_m }, spare_m, MEND_LOOKS - 1, &STEPS[1..4]);
                if mended.lack_m == 0.0 && worth(&mended) < worth(&best) - WORTH_M {
                    best = mended;
                    p = p.saturating_sub(window);
                }
            }
            l += 1;
        }
    }
    best
}

/// Moves one variable by a share of its scale, and closes the course with the others.
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
