//! Converts a line someone drew to a path that can be driven along it.
//!
//! A rear-axle line is interpreted as points of a smooth curve and joined by biarcs: two arcs between neighboring
//! points, with the tangents that circles through each point's neighbors have. A front-axle line is followed by the
//! front axle as a tractor follows a string: on each straight piece the body is towed at its wheelbase (the tractrix).
use super::{Direction, Leg, Path, Segment, State, hitch_angle_on_arc};
use crate::geometry::{Point, Pose, trig, wrap_angle};

/// The reason a drawn line cannot be driven.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RouteError {
    /// A leg has no two different points.
    #[error("leg {0} has no length; draw at least two different points")]
    NoLength(usize),
    /// A leg starts away from where the one before it ends.
    #[error("leg {leg} starts {away_m:.2} m from where leg {} ends; let it start there", leg - 1)]
    Gap {
        /// The leg, counted from 1.
        leg: usize,
        /// Distance between the two.
        away_m: f64,
    },
    /// A leg starts off the direction the vehicle came from, or across it.
    #[error("leg {0} sets off against its direction: legs alternate forward and reverse, so it must lead back from where leg {prev} stopped", prev = .0 - 1)]
    Against(usize),
    /// A line turns back on itself, which no axle can follow in one direction.
    #[error(
        "leg {leg} turns back on itself at point {point}; draw where the vehicle stops and changes direction as a new leg"
    )]
    Folds {
        /// The leg, counted from 1.
        leg: usize,
        /// The point it folds at, counted from 1 among the leg's different points.
        point: usize,
    },
    /// A corner of a line is too sharp for an axle to follow.
    #[error(
        "leg {leg} has a corner of {turn_deg:.0} degrees at point {point}; draw the curve that the axle follows there with more \
         points"
    )]
    Sharp {
        /// The leg, counted from 1.
        leg: usize,
        /// The point of the corner, counted from 1 among the leg's different points.
        point: usize,
        /// Angle by which the line turns there, degrees.
        turn_deg: f64,
    },
    /// A reverse leg drawn by its front axle.
    #[error("leg {0} is driven in reverse: draw it by the rear axle (\"track\": \"rear-axle\")")]
    ReverseByFrontAxle(usize),
}

/// Largest gap between legs: the error of a drawing by hand.
const JOINT_M: f64 = 0.5;
/// Largest turn at a corner of a drawn line: from this on it is too sharp. Beyond a right angle the front wheels would
/// have to point backward, and the smooth curve through the corner balloons.
const SHARP_RAD: f64 = std::f64::consts::FRAC_PI_2;
/// Turn from which on it is no corner but a line that comes back: within 30 degrees of the direction it came from.
const FOLD_RAD: f64 = 150.0 * std::f64::consts::PI / 180.0;
/// Largest angle of the front wheels, even for a moment at a corner: at a right angle the rear axle stops, and beyond
/// it rolls backward.
const STEER_LIMIT_RAD: f64 = 85.0 * std::f64::consts::PI / 180.0;
/// Step along a front-axle line; the error of the heading is below 1e-6 rad a step.
const FRONT_STEP_M: f64 = 0.05;

/// The path of the rear axle along drawn legs, which alternate forward and reverse, the first forward; trailers start
/// straight behind.
///
/// Curvature jumps from arc to arc: a drawing does not specify how the wheel is turned. Check the vehicle's limits with
/// [`Path::limit_faults`].
///
/// # Errors
/// A leg without length or that folds back, legs that do not meet or do not turn back.
pub fn along_rear_axle(legs: &[Vec<Point>]) -> Result<Path, RouteError> {
    let mut start: Option<Pose> = None;
    let mut at = Pose::default();
    let mut driven = Vec::new();
    for (index, line) in legs.iter().enumerate() {
        let direction = if index % 2 == 0 { Direction::Forward } else { Direction::Reverse };
        let mut points = distinct(line);
        if points.len() < 2 {
            return Err(RouteError::NoLength(index + 1));
        }
        refuse_folds(&points, index + 1)?;
        let fixed = if index == 0 {
            None
        } else {
            let away_m = points[0].distance(at.position);
            if away_m > JOINT_M {
                return Err(RouteError::Gap { leg: index + 1, away_m });
            }
            points[0] = at.position;
            let way = Point::at_angle(at.heading) * direction.sign();
            if (points[1] - points[0]).dot(way) <= 0.0 {
                return Err(RouteError::Against(index + 1));
            }
            // The axle leaves in the direction it points, or straight back.
            let back = if direction == Direction::Reverse { std::f64::consts::PI } else { 0.0 };
            Some(at.heading + back)
        };
        let tangents = tangents(&points, fixed);
        let sign = direction.sign();
        let mut segments = Vec::new();
        for i in 0..points.len() - 1 {
            biarc(points[i], tangents[i], points[i + 1], tangents[i + 1], |length, curvature| {
                segments.push(Segment::arc(length, curvature * sign));
            });
        }
        let along = tangents[0] + if direction == Direction::Reverse { std::f64::consts::PI } else { 0.0 };
        let from = Pose { position: points[0], heading: along };
        if start.is_none() {
            start = Some(from);
            at = from;
        }
        for segment in &segments {
            at = super::advance_lead(
                &at,
                sign * segment.length_m,
                segment.curvature_start,
                segment.curvature_end,
            );
        }
        driven.push(Leg { direction, segments });
    }
    let lead = start.ok_or(RouteError::NoLength(1))?;
    Ok(Path { start: State { lead, ..State::default() }, legs: driven })
}

/// The path of the rear axle of a vehicle whose front axle's center follows a drawn line forward.
///
/// # Errors
/// A line without length, that folds back or has a corner too sharp to follow; more than one leg.
pub fn along_front_axle(legs: &[Vec<Point>], wheelbase_m: f64) -> Result<Path, RouteError> {
    if legs.len() > 1 {
        return Err(RouteError::ReverseByFrontAxle(2));
    }
    let points = legs.first().map(|line| distinct(line)).unwrap_or_default();
    let [first, second, ..] = points.as_slice() else { return Err(RouteError::NoLength(1)) };
    refuse_folds(&points, 1)?;
    let heading = (*second - *first).angle();
    let position = *first - Point::at_angle(heading) * wheelbase_m;
    let mut steer = 0.0;
    let mut along = heading;
    let mut segments = Vec::new();
    for (corner, pair) in points.windows(2).enumerate() {
        let piece = pair[1] - pair[0];
        steer += wrap_angle(piece.angle() - along);
        // Gentle corners close together add up.
        if steer.abs() >= STEER_LIMIT_RAD {
            let turn_deg = steer.abs().to_degrees();
            return Err(RouteError::Sharp { leg: 1, point: corner + 1, turn_deg });
        }
        along = piece.angle();
        let steps = (piece.norm() / FRONT_STEP_M).ceil().max(1.0);
        let step = piece.norm() / steps;
        let mut i = 0.0;
        while i < steps {
            let next = hitch_angle_on_arc(steer, 0.0, 0.0, wheelbase_m, step);
            // The rear axle rolls the front's distance times the cosine of the steering angle.
            let length_m = step * trig::cos(0.5 * (steer + next));
            segments.push(Segment {
                length_m,
                curvature_start: trig::tan(steer) / wheelbase_m,
                curvature_end: trig::tan(next) / wheelbase_m,
            });
            steer = next;
            i += 1.0;
        }
    }
    let start = State { lead: Pose { position, heading }, ..State::default() };
    Ok(Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] })
}

/// Refuses a line with a corner of [`FOLD_RAD`] or more.
fn refuse_folds(points: &[Point], leg: usize) -> Result<(), RouteError> {
    let turns = points.windows(3).map(|p| {
        let (a, b) = (p[1] - p[0], p[2] - p[1]);
        wrap_angle(b.angle() - a.angle()).abs()
    });
    match turns.enumerate().find(|(_, turn)| *turn >= SHARP_RAD) {
        Some((i, turn)) if turn >= FOLD_RAD => Err(RouteError::Folds { leg, point: i + 2 }),
        Some((i, turn)) => Err(RouteError::Sharp { leg, point: i + 2, turn_deg: turn.to_degrees() }),
        None => Ok(()),
    }
}

/// The points without repeats.
fn distinct(line: &[Point]) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::with_capacity(line.len());
    for p in line {
        if points.last().is_none_or(|last| last.distance(*p) > 1e-6) {
            points.push(*p);
        }
    }
    points
}

/// Direction of the curve at each point: between its two chords, in proportion to their lengths (the circle through
/// three points, for short chords); at the ends as much beyond the chord as the next is short of it.
fn tangents(points: &[Point], first: Option<f64>) -> Vec<f64> {
    let chords: Vec<Point> = points.windows(2).map(|p| p[1] - p[0]).collect();
    let last = chords.len() - 1;
    let inner = |i: usize| {
        let (a, b) = (chords[i - 1], chords[i]);
        a.angle() + wrap_angle(b.angle() - a.angle()) * a.norm() / (a.norm() + b.norm())
    };
    let mut list: Vec<f64> = Vec::with_capacity(points.len());
    for i in 0..=chords.len() {
        list.push(match i {
            0 if last == 0 => chords[0].angle(),
            0 => chords[0].angle() - wrap_angle(inner(1) - chords[0].angle()),
            i if i > last && last == 0 => chords[0].angle(),
            i if i > last => chords[last].angle() - wrap_angle(inner(last) - chords[last].angle()),
            i => inner(i),
        });
    }
    if let Some(fixed) = first {
        list[0] = fixed;
    }
    list
}

/// Two arcs from one point and direction to another (the biarc whose two control lengths are equal).
fn biarc(p0: Point, a0: f64, p1: Point, a1: f64, mut push: impl FnMut(f64, f64)) {
    let (t0, t1) = (Point::at_angle(a0), Point::at_angle(a1));
    let v = p1 - p0;
    let turn = 2.0 * (1.0 - t0.dot(t1));
    let vt = v.dot(t0 + t1);
    let d = if turn < 1e-14 {
        // Parallel ends: each arc spans half the chord.
        v.norm2() / (2.0 * vt).max(1e-12)
    } else {
        (-vt + (vt * vt + turn * v.norm2()).sqrt()) / turn
    };
    let middle = (p0 + p1 + (t0 - t1) * d) * 0.5;
    let mut arc = |from: Point, tangent: Point, to: Point| {
        let q = to - from;
        let half = trig::atan2(tangent.cross(q), tangent.dot(q));
        let chord = q.norm();
        if chord > 1e-9 {
            let length = if half.abs() < 1e-9 { chord } else { chord * half / trig::sin(half) };
            push(length, 2.0 * half / length);
        }
    };
    arc(p0, t0, middle);
    // The second arc leaves in the direction the first arrives: its chord's mirror image of the end's.
    let q = p1 - middle;
    let back = trig::atan2(q.cross(t1), q.dot(t1));
    arc(middle, Point::at_angle(q.angle() - back), p1);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::Chain;

    fn points_of(path: &Path, step: f64) -> Vec<Point> {
        path.samples(&Chain::default(), step).iter().map(|s| s.state.lead.position).collect()
    }

    #[test]
    fn a_straight_line_stays_straight() {
        let path =
            along_rear_axle(&[vec![Point::new(0.0, 0.0), Point::new(3.0, 3.0), Point::new(10.0, 10.0)]])
                .expect("drivable");
        assert!(path.legs[0].segments.iter().all(|s| s.curvature_start.abs() < 1e-9));
        assert!((path.length_m() - 200f64.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn points_of_an_arc_give_the_arc_back() {
        // Radius 8 m, a point each meter: every arc within 1 % of its curvature, ends within 5 mm.
        let angle = |i: u32| f64::from(i) / 8.0;
        let line: Vec<Point> = (0..12).map(|i| Point::at_angle(angle(i)) * 8.0).collect();
        let path = along_rear_axle(std::slice::from_ref(&line)).expect("drivable");
        for s in &path.legs[0].segments {
            assert!((s.curvature_start - 0.125).abs() < 0.00125, "{s:?}");
        }
        let end = path.end(&Chain::default());
        assert!(end.lead.position.distance(line[11]) < 0.005);
        for p in points_of(&path, 0.1) {
            assert!((p.norm() - 8.0).abs() < 0.005, "{p:?}");
        }
    }

    #[test]
    fn a_reverse_leg_goes_back_along_its_line() {
        let out = vec![Point::new(0.0, 0.0), Point::new(10.0, 0.0)];
        let back: Vec<Point> = (0..8)
            .map(|i| {
                let a = f64::from(i) * 0.15;
                Point::new(10.0 - 8.0 * trig::sin(a), 8.0 - 8.0 * trig::cos(a))
            })
            .collect();
        let path = along_rear_axle(&[out, back.clone()]).expect("drivable");
        assert_eq!(path.legs[1].direction, Direction::Reverse);
        let end = path.end(&Chain::default()).lead;
        assert!(end.position.distance(back[7]) < 0.01, "{end:?}");
        // Tail toward the left of travel: the nose has turned clockwise.
        assert!((end.heading + 1.05).abs() < 0.02, "{end:?}");
    }

    #[test]
    fn the_front_axle_follows_its_line() {
        let line =
            vec![Point::new(0.0, 0.0), Point::new(6.0, 0.0), Point::new(12.0, 4.0), Point::new(20.0, 4.0)];
        let path = along_front_axle(std::slice::from_ref(&line), 3.5).expect("drivable");
        let end = path.end(&Chain::default()).lead;
        assert!(end.to_site(Point::new(3.5, 0.0)).distance(line[3]) < 0.002, "{end:?}");
    }

    #[test]
    fn a_line_that_folds_back_is_refused() {
        let folds = RouteError::Folds { leg: 1, point: 2 };
        for end in [Point::new(0.0, 18.0), Point::new(0.035, 19.0)] {
            let line = [vec![Point::new(0.0, -1.0), Point::new(0.0, 20.0), end]];
            assert_eq!(along_front_axle(&line, 3.7), Err(folds.clone()));
            assert_eq!(along_rear_axle(&line), Err(folds.clone()));
        }
        // Two corners of 60 degrees a hand apart turn the wheels across as one of 120 does.
        let close =
            vec![Point::new(-5.0, 0.0), Point::default(), Point::new(0.05, 0.0866), Point::new(-2.0, 3.6)];
        let sharp = |driven: Result<Path, RouteError>| match driven {
            Err(RouteError::Sharp { leg: 1, point, turn_deg }) => (point, turn_deg.round()),
            other => panic!("{other:?}"),
        };
        assert_eq!(sharp(along_front_axle(&[close], 3.7)), (3, 119.0));
        // A little more than a right angle is a corner, not a line that comes back.
        let corner = [vec![Point::new(0.0, -1.0), Point::new(0.0, 20.0), Point::new(3.0, 19.9)]];
        assert_eq!(sharp(along_front_axle(&corner, 3.7)), (2, 92.0));
        assert_eq!(sharp(along_rear_axle(&corner)), (2, 92.0));
    }

    #[test]
    fn mirrored_points_give_the_mirrored_path() {
        // Unevenly spaced, bending both ways.
        let line: Vec<Point> = [(0.0, 0.0), (4.0, 0.2), (5.0, 0.6), (9.0, 3.0), (13.0, 4.0)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec();
        let other: Vec<Point> = line.iter().map(|p| Point::new(p.x, -p.y)).collect();
        for front in [false, true] {
            let drive = |line: &Vec<Point>| {
                let legs = std::slice::from_ref(line);
                if front { along_front_axle(legs, 3.0) } else { along_rear_axle(legs) }.expect("drivable")
            };
            let (a, b) = (drive(&line).mirrored(), drive(&other));
            let chain = Chain::default();
            assert!(a.end(&chain).lead.position.distance(b.end(&chain).lead.position) < 1e-9);
            assert!((a.length_m() - b.length_m()).abs() < 1e-9);
        }
    }

    #[test]
    fn what_cannot_be_driven_is_said() {
        let p = Point::new(1.0, 1.0);
        assert_eq!(along_rear_axle(&[vec![p, p]]), Err(RouteError::NoLength(1)));
        let legs = [vec![Point::default(), p], vec![Point::new(9.0, 0.0), Point::new(3.0, 0.0)]];
        assert!(matches!(along_rear_axle(&legs), Err(RouteError::Gap { leg: 2, .. })));
        let on = [vec![Point::default(), p], vec![p, Point::new(3.0, 3.0)]];
        assert_eq!(along_rear_axle(&on), Err(RouteError::Against(2)));
        assert_eq!(along_front_axle(&legs, 3.0), Err(RouteError::ReverseByFrontAxle(2)));
    }
}
