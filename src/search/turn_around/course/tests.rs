//! Tests of courses: closing onto a way out, and derivatives against differences.
use super::*;
use crate::motion::Chain;
use std::f64::consts::FRAC_PI_2;

const WHEELS: Wheels = Wheels { max: 0.2, lock_m: 1.5 };

fn way() -> WayOut {
    let start = State { lead: Pose::new(0.0, 10.0, -FRAC_PI_2), ..State::default() };
    let segments = vec![Segment::arc(20.0, 0.0)];
    let out = Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] };
    WayOut::new(&out, (WHEELS, &Chain::default(), WHEELS.max), |at| at.position.y > 5.0).unwrap()
}

/// Forward to the right, back to the left, forward to the right: about half a turn, near the way out.
fn three_point() -> (State, Course) {
    let from = State { lead: Pose::new(0.0, 5.0, FRAC_PI_2), curvature: 0.05, ..State::default() };
    let leg = |direction, begins, pieces: &[(f64, f64)]| CourseLeg {
        direction,
        begins,
        pieces: pieces.iter().map(|(share, hold_m)| Piece { share: *share, hold_m: *hold_m }).collect(),
    };
    let legs = vec![
        leg(Direction::Forward, Some(0.25), &[(-0.9, 5.0)]),
        leg(Direction::Reverse, None, &[(0.9, 5.0), (0.7, 1.0)]),
        leg(Direction::Forward, None, &[(-0.95, 3.0)]),
    ];
    (from, Course { legs, joins_m: 38.0 })
}

#[test]
fn slopes_are_those_of_differences() {
    let (from, course) = three_point();
    let way = way();
    let miss = |course: &Course| {
        let end = course.drive(&from.lead, WHEELS, &way).end;
        Course::miss(&end, &way.at(course.joins_m))
    };
    let driven = course.drive(&from.lead, WHEELS, &way);
    for number in course.numbers() {
        let slope = course.slope(number, &driven, WHEELS, &way);
        let mut moved = [course.clone(), course.clone()];
        let value = course.value(number);
        moved[0].set(number, value - 1e-5, &way);
        moved[1].set(number, value + 1e-5, &way);
        let (low, high) = (miss(&moved[0]), miss(&moved[1]));
        for i in 0..3 {
            let wanted = (high[i] - low[i]) / 2e-5;
            assert!((slope[i] - wanted).abs() < 1e-4, "{number:?} {i}: {} and {wanted}", slope[i]);
        }
    }
}

#[test]
fn a_course_closes_onto_the_way_out_and_keeps_what_is_held() {
    let (from, mut course) = three_point();
    let way = way();
    let held = Number::Hold(0, 0);
    assert!(course.close(&from.lead, WHEELS, &way, Some(held)));
    assert_eq!(course.value(held), 5.0);
    let path = course.path(&from, WHEELS, &way);
    let end = path.end(&Chain::default()).lead;
    // The way out ends 20 m on from (0, 10), heading down.
    assert!(
        end.position.distance(Point::new(0.0, -10.0)) < 1e-9
            && wrap_angle(end.heading + FRAC_PI_2).abs() < 1e-9
    );
    let turn_m = course.length_m(WHEELS, &way);
    assert!((path.length_m() - turn_m - (60.0 - course.joins_m)).abs() < 1e-9);
    // Wheels as they were at the start, steadily turned, and never past their stops.
    let mut share = 0.25;
    for (number, leg) in path.legs.iter().enumerate() {
        for (index, s) in leg.segments.iter().enumerate() {
            if number == 0 || index > 0 {
                assert!((s.curvature_start / 0.2 - share).abs() < 1e-12);
            }
            share = s.curvature_end / 0.2;
            assert!(share.abs() <= 1.0);
            assert!((s.curvature_end - s.curvature_start).abs() / 0.2 * 1.5 <= s.length_m + 1e-12);
        }
    }
}

#[test]
fn what_cannot_close_says_so() {
    let (from, mut course) = three_point();
    course.legs.truncate(1);
    assert!(!course.close(&from.lead, WHEELS, &way(), None));
}
