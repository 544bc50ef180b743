//! A turn as a list of steering targets: the wheels go to each target as fast as the steering can turn them and are
//! then held there.
//!
//! Every such course keeps the curvature bound, its continuity within a leg and its rate limit by construction, so the
//! search has only box constraints: shares of full lock between -1 and 1, lengths of zero or more.
use super::way_out::WayOut;
use crate::geometry::{Point, Pose, wrap_angle};
use crate::motion::{Direction, Leg, Path, Segment, State, advance_lead};

/// A piece of a course: the wheels go to `share` of full lock and are held there for `hold_m`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Piece {
    /// Share of full lock, left positive.
    pub(super) share: f64,
    /// Distance rolled with the wheels held, meters.
    pub(super) hold_m: f64,
}

/// One leg of a course.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct CourseLeg {
    /// Forward or reverse.
    pub(super) direction: Direction,
    /// Share of full lock at which the leg begins; `None` after a stop, where the wheels are turned to the first target.
    pub(super) begins: Option<f64>,
    /// Steering targets, one at least.
    pub(super) pieces: Vec<Piece>,
}

/// A turn from where the vehicle stands to a station of the way out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Course {
    /// Legs; the last is driven forward.
    pub(super) legs: Vec<CourseLeg>,
    /// Station of the way out at which it joins, meters.
    pub(super) joins_m: f64,
}

/// Limits of the steering.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wheels {
    /// Largest curvature, 1/m.
    pub(super) max: f64,
    /// Distance rolled while turning from straight ahead to full lock, meters.
    pub(super) lock_m: f64,
}

/// One variable of a course.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Number {
    /// The share of a piece, by leg and piece.
    Share(usize, usize),
    /// The hold of a piece, by leg and piece.
    Hold(usize, usize),
    /// The station where the course joins the way out.
    Joins,
}

/// Scale of a share against a meter in a least-norm step.
const SHARE_SCALE: f64 = 0.15;
/// Longest hold of a piece, meters.
const LONGEST_M: f64 = 80.0;
/// Largest number of Newton steps before a course counts as one that does not close.
const STEPS: usize = 14;
/// Tolerance of a closed course, meters and radians. Rounding of a course of 100 m is a tenth of it.
const CLOSED: f64 = 1e-11;
/// Step of the differences taken for the derivatives by steering targets.
const DIFFERENCE: f64 = 1e-6;

impl Number {
    /// Amount that a unit step of a least-norm solution moves the variable by.
    pub(super) const fn scale(self) -> f64 {
        match self {
            Self::Share(..) => SHARE_SCALE,
            Self::Hold(..) | Self::Joins => 1.0,
        }
    }
}

/// One piece of a driven course: its steering and its start.
#[derive(Clone, Copy, Debug)]
struct Rolled {
    sign: f64,
    length_m: f64,
    k0: f64,
    k1: f64,
    from: Pose,
}

/// A driven course: two entries for each piece, its ramp and its hold, and one for the last ramp onto the way out.
struct Driven {
    rolled: Vec<Rolled>,
    /// First entry of each leg.
    firsts: Vec<usize>,
    end: Pose,
}

impl Course {
    /// All variables of the course.
    pub(super) fn numbers(&self) -> Vec<Number> {
        let mut list = Vec::new();
        for (l, leg) in self.legs.iter().enumerate() {
            for p in 0..leg.pieces.len() {
                list.push(Number::Share(l, p));
                list.push(Number::Hold(l, p));
            }
        }
        list.push(Number::Joins);
        list
    }

    /// Value of a variable.
    pub(super) fn value(&self, number: Number) -> f64 {
        match number {
            Number::Share(l, p) => self.legs[l].pieces[p].share,
            Number::Hold(l, p) => self.legs[l].pieces[p].hold_m,
            Number::Joins => self.joins_m,
        }
    }

    /// Sets a variable, clamped to its bounds; returns the value it got.
    pub(super) fn set(&mut self, number: Number, value: f64, way: &WayOut) -> f64 {
        match number {
            Number::Share(l, p) => {
                let value = value.clamp(-1.0, 1.0);
                self.legs[l].pieces[p].share = value;
                value
            }
            Number::Hold(l, p) => {
                let value = value.clamp(0.0, LONGEST_M);
                self.legs[l].pieces[p].hold_m = value;
                value
            }
            Number::Joins => {
                self.joins_m = self.joins_m.min(way.last_join_m);
                let value = value.clamp(0.0, way.last_join_m);
                self.joins_m = value;
                value
            }
        }
    }

    fn drive(&self, start: &Pose, wheels: Wheels, way: &WayOut) -> Driven {
        let mut driven = Driven { rolled: Vec::new(), firsts: Vec::new(), end: *start };
        for (index, leg) in self.legs.iter().enumerate() {
            driven.firsts.push(driven.rolled.len());
            let first = leg.pieces.first().map_or(0.0, |piece| piece.share);
            let mut share = leg.begins.unwrap_or(first);
            let sign = leg.direction.sign();
            let roll = |driven: &mut Driven, length_m: f64, from: f64, to: f64| {
                let (k0, k1) = (from * wheels.max, to * wheels.max);
                driven.rolled.push(Rolled { sign, length_m, k0, k1, from: driven.end });
                if length_m > 0.0 {
                    driven.end = advance_lead(&driven.end, sign * length_m, k0, k1);
                }
            };
            for piece in &leg.pieces {
                roll(&mut driven, (piece.share - share).abs() * wheels.lock_m, share, piece.share);
                roll(&mut driven, piece.hold_m, piece.share, piece.share);
                share = piece.share;
            }
            if index + 1 == self.legs.len() {
                let joins = way.curvature(self.joins_m) / wheels.max;
                roll(&mut driven, (joins - share).abs() * wheels.lock_m, share, joins);
            }
        }
        driven
    }

    /// Distance rolled before it joins the way out.
    pub(super) fn length_m(&self, wheels: Wheels, way: &WayOut) -> f64 {
        let driven = self.drive(&Pose::default(), wheels, way);
        driven.rolled.iter().map(|rolled| rolled.length_m).sum()
    }

    /// Distance rolled before its last leg, after which the vehicle may leave through the gate.
    pub(super) fn before_last_leg_m(&self, wheels: Wheels, way: &WayOut) -> f64 {
        let driven = self.drive(&Pose::default(), wheels, way);
        let until = driven.firsts.last().copied().unwrap_or(0);
        driven.rolled[..until].iter().map(|rolled| rolled.length_m).sum()
    }

    /// Total turning of the wheels along the course, in shares of full lock, up to the share at which it joins the way
    /// out. Turning while standing costs nothing.
    pub(super) fn steered(&self, joins: f64) -> f64 {
        let mut sum = 0.0;
        for (index, leg) in self.legs.iter().enumerate() {
            let mut share = leg.begins.or(leg.pieces.first().map(|piece| piece.share)).unwrap_or(0.0);
            for piece in &leg.pieces {
                sum += (piece.share - share).abs();
                share = piece.share;
            }
            if index + 1 == self.legs.len() {
                sum += (joins - share).abs();
            }
        }
        sum
    }

    /// Variants of the course without a piece, and with it and the next one merged, not yet closed.
    pub(super) fn simpler(&self, l: usize, p: usize) -> Vec<Self> {
        let mut list = Vec::new();
        let mut without = self.clone();
        let gone = without.legs[l].pieces.remove(p);
        if let Some(next) = self.legs[l].pieces.get(p + 1) {
            let (a, b) = (gone.hold_m + 0.5, next.hold_m + 0.5);
            let share = (gone.share * a + next.share * b) / (a + b);
            let mut merged = without.clone();
            merged.legs[l].pieces[p] = Piece { share, hold_m: gone.hold_m + next.hold_m };
            list.push(merged);
        }
        list.push(without);
        list
    }

    /// Variant of the course with several pieces of a leg merged to one, of the same length and mean steering, not yet
    /// closed.
    pub(super) fn steadied(&self, l: usize, p: usize, pieces: usize, wheels: Wheels) -> Self {
        let mut course = self.clone();
        let gone = &self.legs[l].pieces[p..p + pieces];
        let (mut length_m, mut turned) = (0.0, 0.0);
        for (index, piece) in gone.iter().enumerate() {
            length_m += piece.hold_m;
            turned += piece.hold_m * piece.share;
            if let Some(next) = gone.get(index + 1) {
                let ramp_m = (next.share - piece.share).abs() * wheels.lock_m;
                length_m += ramp_m;
                turned += ramp_m * 0.5 * (piece.share + next.share);
            }
        }
        let share = if length_m > 1e-6 { turned / length_m } else { gone[0].share };
        course.legs[l].pieces.splice(p..p + pieces, [Piece { share, hold_m: length_m }]);
        course
    }

    /// Number of steering targets.
    pub(super) fn targets(&self) -> f64 {
        self.legs.iter().flat_map(|leg| &leg.pieces).map(|_| 1.0).sum()
    }

    /// Path of the whole drive: the course and the way out from where it joins.
    pub(super) fn path(&self, from: &State, wheels: Wheels, way: &WayOut) -> Path {
        let driven = self.drive(&from.lead, wheels, way);
        let mut legs = Vec::new();
        for (index, leg) in self.legs.iter().enumerate() {
            let until = driven.firsts.get(index + 1).copied().unwrap_or(driven.rolled.len());
            let of_leg = &driven.rolled[driven.firsts[index]..until];
            let segments = of_leg.iter().filter(|r| r.length_m > 0.0).map(|r| Segment {
                length_m: r.length_m,
                curvature_start: r.k0,
                curvature_end: r.k1,
            });
            legs.push(Leg { direction: leg.direction, segments: segments.collect() });
        }
        let (rest, later) = way.rest(self.joins_m);
        if let Some(last) = legs.last_mut() {
            last.segments.extend(rest);
        }
        legs.extend(later);
        legs.retain(|leg| !leg.segments.is_empty());
        Path { start: *from, legs }
    }

    /// Gap between the course's end and the way out: across, along and turned.
    fn miss(end: &Pose, joins: &Pose) -> [f64; 3] {
        let off = end.position - joins.position;
        [off.x, off.y, wrap_angle(end.heading - joins.heading)]
    }

    /// Derivatives of the gap by a variable.
    fn slope(&self, number: Number, driven: &Driven, wheels: Wheels, way: &WayOut) -> [f64; 3] {
        let end = driven.end.position;
        // Everything that follows moves along as one body.
        let carried = |at: Point, step: Point, turn: f64| {
            let arm = (end - at).left() * turn;
            [step.x + arm.x, step.y + arm.y, turn]
        };
        match number {
            Number::Hold(l, p) => {
                let rolled = &driven.rolled[driven.firsts[l] + 2 * p + 1];
                let ahead = Point::at_angle(rolled.from.heading) * rolled.sign;
                // A longer hold moves its end along the heading there, which is that of its start turned by the hold's
                // own turn.
                let turned = rolled.sign * rolled.length_m * rolled.k0;
                let to = advance_lead(&rolled.from, rolled.sign * rolled.length_m, rolled.k0, rolled.k0);
                let (sin, cos) = crate::geometry::trig::sin_cos(turned);
                let ahead = Point::new(ahead.x * cos - ahead.y * sin, ahead.x * sin + ahead.y * cos);
                carried(to.position, ahead, rolled.sign * rolled.k0)
            }
            Number::Share(l, p) => {
                let first = driven.firsts[l] + 2 * p;
                let leg = &self.legs[l];
                let last_leg = l + 1 == self.legs.len();
                let before = if p > 0 { Some(leg.pieces[p - 1].share) } else { leg.begins };
                let after = match leg.pieces.get(p + 1) {
                    Some(next) => Some(next.share),
                    None if last_leg => Some(way.curvature(self.joins_m) / wheels.max),
                    None => None,
                };
                let piece = leg.pieces[p];
                let step = if piece.share > 0.0 { -DIFFERENCE } else { DIFFERENCE };
                let through = |share: f64| {
                    let sign = leg.direction.sign();
                    let mut at = driven.rolled[first].from;
                    let mut roll = |length_m: f64, from: f64, to: f64| {
                        if length_m > 0.0 {
                            at = advance_lead(&at, sign * length_m, from * wheels.max, to * wheels.max);
                        }
                    };
                    let before = before.unwrap_or(share);
                    roll((share - before).abs() * wheels.lock_m, before, share);
                    roll(piece.hold_m, share, share);
                    let after = after.unwrap_or(share);
                    roll((after - share).abs() * wheels.lock_m, share, after);
                    at
                };
                let (was, now) = (through(piece.share), through(piece.share + step));
                let moved = (now.position - was.position) * (1.0 / step);
                carried(was.position, moved, (now.heading - was.heading) / step)
            }
            Number::Joins => {
                let ramp = driven.rolled.last().copied();
                let at = |s: f64| {
                    let k = way.curvature(s);
                    let end = ramp.map_or(driven.end, |ramp| {
                        let length_m = (k - ramp.k0).abs() / wheels.max * wheels.lock_m;
                        // Wheels without a rate limit turn on the spot.
                        if length_m > 0.0 {
                            advance_lead(&ramp.from, ramp.sign * length_m, ramp.k0, k)
                        } else {
                            ramp.from
                        }
                    });
                    Self::miss(&end, &way.at(s))
                };
                let step = if self.joins_m > DIFFERENCE { -DIFFERENCE } else { DIFFERENCE };
                let (was, now) = (at(self.joins_m), at(self.joins_m + step));
                [0, 1, 2].map(|i| (now[i] - was[i]) / step)
            }
        }
    }

    /// Closes the gap to the way out by Newton's method: each step is the one of least norm that closes it to first
    /// order, without the variables at a bound. `held` keeps its value. True if it closes to rounding.
    pub(super) fn close(&mut self, start: &Pose, wheels: Wheels, way: &WayOut, held: Option<Number>) -> bool {
        let numbers: Vec<Number> = self.numbers().into_iter().filter(|n| Some(*n) != held).collect();
        for _ in 0..STEPS {
            let driven = self.drive(start, wheels, way);
            let miss = Self::miss(&driven.end, &way.at(self.joins_m));
            if miss.iter().all(|m| m.abs() < CLOSED) {
                return true;
            }
            // Too far for a linear step to mean anything.
            if miss[0].abs() > 12.0 || miss[1].abs() > 12.0 || miss[2].abs() > 1.5 {
                return false;
            }
            let slopes: Vec<[f64; 3]> =
                numbers.iter().map(|n| self.slope(*n, &driven, wheels, way)).collect();
            let mut free = vec![true; numbers.len()];
            let mut steps = vec![0.0; numbers.len()];
            for _ in 0..6 {
                let Some(found) = least_norm(&numbers, &slopes, &free, &miss) else { return false };
                steps = found;
                let mut blocked = false;
                for (i, number) in numbers.iter().enumerate() {
                    let value = self.value(*number);
                    let (low, high) = match number {
                        Number::Share(..) => (-1.0, 1.0),
                        Number::Hold(..) => (0.0, LONGEST_M),
                        Number::Joins => (0.0, way.last_join_m),
                    };
                    let outward = value <= low && steps[i] < 0.0 || value >= high && steps[i] > 0.0;
                    if free[i] && outward {
                        free[i] = false;
                        blocked = true;
                    }
                }
                if !blocked {
                    break;
                }
            }
            for (number, step) in numbers.iter().zip(&steps) {
                let most = 4.0 * number.scale();
                self.set(*number, self.value(*number) + step.clamp(-most, most), way);
            }
        }
        false
    }
}

/// Step of least norm, each variable measured in its scale, that closes the gap to first order.
fn least_norm(numbers: &[Number], slopes: &[[f64; 3]], free: &[bool], miss: &[f64; 3]) -> Option<Vec<f64>> {
    let mut m = [[0.0; 3]; 3];
    for ((number, slope), free) in numbers.iter().zip(slopes).zip(free) {
        if !free {
            continue;
        }
        let weight = number.scale() * number.scale();
        for i in 0..3 {
            for j in 0..3 {
                m[i][j] += weight * slope[i] * slope[j];
            }
        }
    }
    let lambda = solve(m, miss.map(|v| -v))?;
    let step = |((number, slope), free): ((&Number, &[f64; 3]), &bool)| {
        let weight = number.scale() * number.scale();
        let along: f64 = slope.iter().zip(lambda).map(|(a, b)| a * b).sum();
        if *free { weight * along } else { 0.0 }
    };
    Some(numbers.iter().zip(slopes).zip(free).map(step).collect())
}

/// Solves three equations by Cramer's rule; `None` where they are nearly dependent.
fn solve(m: [[f64; 3]; 3], b: [f64; 3]) -> Option<[f64; 3]> {
    let det = |m: &[[f64; 3]; 3]| {
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
            + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    };
    let whole = det(&m);
    let size = m[0][0].max(m[1][1]).max(m[2][2]);
    if whole.abs() <= 1e-12 * size * size * size {
        return None;
    }
    let mut x = [0.0; 3];
    for (column, out) in x.iter_mut().enumerate() {
        let mut n = m;
        for row in 0..3 {
            n[row][column] = b[row];
        }
        *out = det(&n) / whole;
    }
    Some(x)
}

#[cfg(test)]
mod tests;
