//! Poses of a search account for the motion between them as an inspection does: otherwise its path would cut through
//! between poses, and its answer would be refused or come out wider than it is.
use crate::common::{pickup, rectangle, standard_site, unit, vehicle};
use wideenough::clearance::{CollisionModel, Scratch, Surroundings};
use wideenough::geometry::{Frame, Point, Pose};
use wideenough::motion::State;

/// A corner of a box passes the front of the right post between two poses, moving 5 cm to the left and 7.1 cm in: the
/// right face must stand where the corner was then, 0.7 mm short of where it was before. A thicker fence on the left
/// begins earlier, so that the front of the gate is not the front of that post.
#[test]
fn a_corner_passes_the_front_of_a_post_between_two_poses() {
    let mut site = standard_site(4.5);
    site.gate.post.depth_m = 0.2;
    site.fences[0].thickness_m = 0.6;
    site.fences[1].thickness_m = 0.04;
    let around = Surroundings::new(&site, None, 0.0);
    assert!((around.front_v() - -0.3).abs() < 1e-9, "{}", around.front_v());
    let mut part = pickup().units[0].parts[0].clone();
    part.outline = rectangle(0.0, -0.5, 1.0, 0.5);
    let mut body = unit("box", 2.0, 0.0, 1.0, 1.0, None);
    body.parts = vec![part];
    let model = CollisionModel::new(&vehicle("box", vec![body], 30.0, 1.0), around, 0.0, f64::INFINITY);
    let frames = |u: f64, front_v: f64| {
        let lead = Pose::new(u, front_v - 1.0, std::f64::consts::FRAC_PI_2);
        let state = State { lead, ..State::default() };
        model.chain.unit_poses(&state).map(|pose| Frame::of(&pose))
    };
    let (before, now) = (frames(1.05, -0.101), frames(1.0, -0.03));
    let mut scratch = Scratch::default();
    let alone = model.need_since(None, &now, &mut scratch);
    assert!((alone.right_u - 1.5).abs() < 1e-9, "{alone:?}");
    let since = model.need_since(Some(&before), &now, &mut scratch);
    let crossed = 1.55 - 0.05 * (0.001 / 0.071);
    assert!((since.right_u - crossed).abs() < 1e-9, "{since:?}, not {crossed}");
}

/// A box lies across the end of the closed line, out on a road, and its part past the end does not count: its edges
/// meet the end at v of 0 and 1.
#[test]
fn what_lies_past_the_end_of_the_closed_line_does_not_count() {
    let mut around = Surroundings::new(&standard_site(4.5), None, 0.0);
    (around.left.end_u, around.right.end_u) = (-3.0, 3.0);
    let across = [(-5.0, 2.0), (-1.0, -2.0), (-0.5, -1.5), (-4.5, 2.5)].map(|(u, v)| Point::new(u, v));
    let near = |got: f64, expected: f64| assert!((got - expected).abs() < 1e-12, "{got}, not {expected}");
    near(around.most_v_between_ends(&across, 0.0), 1.0);
    near(around.most_v_between_ends(&across, 0.5), 1.5);
    let moved = |by: f64| across.map(|p| Point::new(p.x + by, p.y));
    near(around.most_v_between_ends(&moved(3.0), 0.0), 2.5);
    assert_eq!(around.most_v_between_ends(&moved(-4.0), 0.0), f64::NEG_INFINITY);
    // Past the right end likewise: the corner farthest in has passed it.
    near(around.most_v_between_ends(&moved(7.5), 0.0), 2.5);
    near(around.most_v_between_ends(&moved(7.8), 0.0), 2.2);
}
