//! Openings needed by prescribed paths, against closed forms derived by Pythagoras on rigid bodies and checked by an
//! independent numerical method: circles through a slot, one full-lock turn into a gate, a trailer on a steady circle.
//!
//! f and r are the body's reach ahead of and behind the rear axle, w its width, R the rear axle's turning radius.
use crate::common::{rectangle, standard_site, unit, vehicle};
use rstest::rstest;
use wideenough::clearance::{CollisionModel, Surroundings, inspect};
use wideenough::geometry::{Point, Pose, trig};
use wideenough::motion::{Direction, Leg, Path, Segment, State, steady_hitch_angle};
use wideenough::site::{Anchor, Fence, Site};
use wideenough::vehicle::{Hitch, Vehicle};

/// Largest excess of an inspection over the truth, which it never falls short of: 2.1 mm where the circle runs nearly
/// along the slot (row 4), under half a millimeter elsewhere.
const OVER_M: f64 = 0.0025;

/// A gate whose posts and fence fill `low ≤ y ≤ high` along the x axis, free to stand anywhere.
fn slot(low: f64, high: f64) -> (Surroundings, f64) {
    let mut site: Site = standard_site(0.0);
    let (middle, depth) = (0.5 * (low + high), high - low);
    site.gate.left = Point::new(-1.0, middle);
    site.gate.right = Point::new(1.0, middle);
    site.gate.post.depth_m = depth;
    site.gate.anchor = Anchor::Free;
    site.roads[0].surface.outer = rectangle(-200.0, -90.0, 200.0, -80.0);
    site.obstacles.clear();
    let fence = |x0: f64, x1: f64| Fence {
        label: "fence".to_owned(),
        line: vec![Point::new(x0, middle), Point::new(x1, middle)],
        thickness_m: depth,
        top_m: 2.0,
    };
    site.fences = vec![fence(-200.0, -1.0), fence(1.0, 200.0)];
    (Surroundings::new(&site, None, 0.0), middle)
}

fn needed(vehicle: &Vehicle, low: f64, high: f64, path: &Path) -> f64 {
    let (surroundings, middle) = slot(low, high);
    let model = CollisionModel::new(vehicle, surroundings, 0.0, f64::INFINITY);
    // The gate's frame has its origin on the gate line.
    inspect(&model, &path.moved(0.0, Point::new(0.0, -middle))).opening_m
}

fn check(got: f64, expected: f64) {
    assert!(got >= expected - 2e-6, "{got} is less than {expected}");
    assert!(got <= expected + OVER_M, "{got} is more than {expected} by too much");
}

fn rigid(wheelbase: f64, f: f64, r: f64, w: f64) -> Vehicle {
    vehicle("body", vec![unit("body", wheelbase, r, f, w, None)], 60.0, 0.0)
}

/// A steady circle around the origin through a slot low ≤ y ≤ high to the right of it.
#[rstest]
#[case([5.0, 1.8, 3.6, 0.9], 0.0, 0.0, 2.811584)]
#[case([5.0, 1.8, 3.6, 0.9], 2.0, 2.0, 3.036784)]
#[case([5.0, 1.8, 3.6, 0.9], -0.15, 0.15, 2.814329)]
#[case([5.0, 1.8, 3.6, 0.9], 4.0, 4.0, 4.736488)]
#[case([6.2, 2.03, 4.75, 1.2], 0.0, 0.0, 3.453213)]
#[case([6.2, 2.03, 4.75, 1.2], -1.5, -1.2, 3.591169)]
#[case([9.0, 2.5, 6.3, 2.4], 0.0, 0.0, 4.281313)]
#[case([9.0, 2.5, 6.3, 2.4], 3.0, 3.4, 4.686914)]
fn circle_through_a_slot(#[case] body: [f64; 4], #[case] low: f64, #[case] high: f64, #[case] gap: f64) {
    let [radius, w, f, r] = body;
    let inner = radius - w / 2.0;
    // From well before the slot until the inner side has passed its farther edge, short of the slot's twin beyond the
    // top of the circle. Above the line of centers the tail passes last, below it the farther edge is the nearer one.
    let start = -70f64.to_radians();
    let end = trig::asin(high.abs().max(low.abs()) / inner) + 2f64.to_radians();
    let lead =
        Pose::new(radius * trig::cos(start), radius * trig::sin(start), start + std::f64::consts::FRAC_PI_2);
    let arc = Segment::arc(radius * (end - start), 1.0 / radius);
    let path = Path {
        start: State { lead, ..State::default() },
        legs: vec![Leg { direction: Direction::Forward, segments: vec![arc] }],
    };
    check(needed(&rigid(2.5, f, r, w), low, high, &path), gap);
}

/// A truck and trailer on their steady circle through a radial slot.
#[rstest]
#[case([6.0, 1.9, 3.7, 1.2, 4.0, 2.3, 1.5, 2.8], 4.393197)]
#[case([6.5, 2.03, 4.7, 1.25, 5.2, 2.44, 2.2, 4.0], 5.988278)]
#[case([7.0, 2.03, 4.9, -0.3, 6.5, 2.5, 2.4, 7.4], 8.028820)]
fn trailer_on_its_steady_circle(#[case] given: [f64; 8], #[case] gap: f64) {
    let [radius, w, f, a, d, w1, r1, f1] = given;
    let mut lead = unit("truck", 3.5, 1.0, f, w, None);
    lead.hitch = Some(Hitch { behind_axle_m: a, max_angle_rad: 1.5 });
    let mut trailer = unit("trailer", d, r1, f1, w1, None);
    trailer.tires.clear();
    let rig = vehicle("rig", vec![lead, trailer], 60.0, 0.0);
    let k = 1.0 / radius;
    let phi = steady_hitch_angle(k, a, d).expect("a steady turn");
    let r1_axle = (radius * radius + a * a - d * d).sqrt();
    let lag = trig::atan(a / radius) + trig::atan(d / r1_axle);
    // Far enough round that the tail is not yet, and the nose no longer, across the line on the other side.
    let (start, end) = (-45f64.to_radians(), lag + 2f64.to_radians());
    let pose =
        Pose::new(radius * trig::cos(start), radius * trig::sin(start), start + std::f64::consts::FRAC_PI_2);
    let path = Path {
        start: State { lead: pose, hitch: [phi, 0.0, 0.0], curvature: k },
        legs: vec![Leg {
            direction: Direction::Forward,
            segments: vec![Segment::arc(radius * (end - start), k)],
        }],
    };
    check(needed(&rig, 0.0, 0.0, &path), gap);
}

/// One full-lock quarter turn from a road of width b, body against the far curb, ending square to a thin wall or in a
/// deep slot: forward (turn center rr - b beyond the wall line) and in reverse (ro - b).
#[rstest]
#[case([4.2, 1.70, 3.30, 0.70], 4.0, [2.766952, 2.867770, 2.387115, 2.435399])]
#[case([4.2, 1.70, 3.30, 0.70], 5.5, [2.669230, 2.669230, 1.762998, 1.790896])]
#[case([4.6, 1.85, 3.65, 0.95], 5.0, [2.969318, 2.997113, 2.227210, 2.308290])]
#[case([4.6, 1.85, 3.65, 0.95], 6.0, [2.935064, 2.935064, 1.949474, 1.984063])]
#[case([6.1, 2.45, 4.70, 1.25], 6.0, [3.924488, 4.042920, 3.268110, 3.374000])]
#[case([6.1, 2.45, 4.70, 1.25], 8.0, [3.809569, 3.809569, 2.573526, 2.606873])]
#[case([8.2, 2.50, 6.20, 2.60], 8.0, [4.445331, 4.589770, 3.334678, 3.685826])]
#[case([8.2, 2.50, 6.20, 2.60], 11.0, [4.288561, 4.288561, 2.853063, 2.857726])]
fn single_full_lock_turn(#[case] body: [f64; 4], #[case] road: f64, #[case] expected: [f64; 4]) {
    let [radius, w, f, r] = body;
    let car = rigid(2.5, f, r, w);
    let outer = radius + w / 2.0;
    let quarter = Segment::arc(radius * std::f64::consts::FRAC_PI_2, 1.0 / radius);
    let rr = (outer * outer + r * r).sqrt();
    let ro = (outer * outer + f * f).sqrt();
    for (forward, h) in [(true, rr - road), (false, ro - road)] {
        // Turn center at (0, h). Reversing in sweeps the same ground as pulling out forward.
        let (lead, segments) = if forward {
            (Pose::new(-8.0, h - radius, 0.0), vec![Segment::arc(8.0, 0.0), quarter, Segment::arc(20.0, 0.0)])
        } else {
            let inside = Pose::new(-radius, h + 20.0, -std::f64::consts::FRAC_PI_2);
            (inside, vec![Segment::arc(20.0, 0.0), quarter, Segment::arc(8.0, 0.0)])
        };
        let path = Path {
            start: State { lead, ..State::default() },
            legs: vec![Leg { direction: Direction::Forward, segments }],
        };
        let index = if forward { 0 } else { 2 };
        check(needed(&car, 0.0, 0.0, &path), expected[index]);
        check(needed(&car, 0.0, 14.0, &path), expected[index + 1]);
    }
}
