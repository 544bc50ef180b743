//! Closed forms of no-slip motion, to the digits of independent references.
//!
//! The worked values were computed with 30-digit Taylor series and an independent high-order integrator; the
//! formulas are the Riccati solution of the towed-axle equation.
use crate::common::random::Random;
use rstest::rstest;
use std::f64::consts::{FRAC_PI_2, PI};
use wideenough::geometry::{Point, Pose, trig};
use wideenough::motion::{
    Chain, Direction, Leg, Path, Segment, State, Towed, advance_lead, hitch_angle_on_arc, hitch_angle_step,
    steady_hitch_angle,
};

/// Lead at (0, 0, 0), hitch angle φ0 (degrees), arc of radius R, length s: then φ(s), towed axle x, y, heading.
#[rstest]
#[case([0.0, 6.0, 0.0, 4.0, 5.0], [0.4817245894, 0.6857816682, 0.5878922427, 0.3516087439])]
#[case([0.0, 6.0, 1.2, 4.0, 5.0], [0.6164490261, -0.2721241654, 0.2165624233, 0.2168843072])]
#[case([10.0, 6.0, 1.2, 4.0, -3.0], [-0.5879974836, -7.9141751829, 0.9582794406, 0.0879974836])]
#[case([0.0, 7.0, -0.3, 7.5, 8.0], [0.6929434472, -0.2603753852, 1.1063112724, 0.4499136957])]
#[case([20.0, 6.0, -0.3, 8.0, 6.0], [0.8773364846, -2.7289734736, 2.0317783353, 0.1226635154])]
#[case([-30.0, 5.0, 0.0, 9.0, 10.0], [1.0777689376, -0.8899053870, -0.0918271699, 0.9222310624])]
#[case([15.0, 4.0, 3.0, 5.0, 6.0], [1.3528047125, -1.1681632553, -0.0087554150, 0.1471952875])]
#[case([25.0, 8.0, 2.5, 2.5, 3.0], [0.5555556886, -1.8554489626, 0.0891983432, -0.1805556886])]
#[case([-12.0, -6.5, 1.1, 5.2, 4.5], [-0.6504179034, -1.8931414920, -0.5765522851, -0.0418897889])]
#[case([40.0, 6.0, 2.0, 1.5, 2.0], [0.5966525670, -1.3750427305, 0.0662991345, -0.2633192337])]
#[case([35.0, f64::INFINITY, 1.2, 4.0, 6.0], [0.1404738852, 0.8394009696, 0.5600493907, -0.1404738852])]
#[case([5.0, f64::INFINITY, 1.2, 4.0, -6.0], [0.3864664947, -10.9049867231, 1.5076715098, -0.3864664947])]
#[case([60.0, 6.0, 1.2, 4.0, -4.0], [1.1864150270, -3.5390783745, 5.8684056193, -1.8530816937])]
#[case([25.0, 6.0, 1.2, 4.0, -4.0], [-0.2970165075, -8.3830987169, 3.4718771737, -0.3696501592])]
#[case([10.0, 7.0, -0.3, 6.0, 6.0], [0.5927837397, -0.3033533585, 1.0768479219, 0.2643591175])]
#[case([10.0, 7.0, -0.3, 6.0, -6.0], [-0.9078379680, -11.0877392043, 1.8869665278, 0.0506951109])]
fn towed_pose_on_an_arc(#[case] given: [f64; 5], #[case] expected: [f64; 4]) {
    let [phi0_deg, radius, hitch_behind_m, wheelbase_m, rolled] = given;
    let [phi, x, y, heading] = expected;
    let chain = Chain::new(&[Towed { hitch_behind_m, wheelbase_m }]);
    let start = State { hitch: [phi0_deg.to_radians(), 0.0, 0.0], ..State::default() };
    let end = chain.advance(&start, rolled, 1.0 / radius, 1.0 / radius);
    let towed = chain.unit_poses(&end)[1];
    assert!((end.hitch[0] - phi).abs() < 2e-10, "{} {phi}", end.hitch[0]);
    assert!(towed.position.distance(Point::new(x, y)) < 3e-9, "{:?}", towed.position);
    assert!((towed.heading - heading).abs() < 2e-10, "{} {heading}", towed.heading);
}

/// Steady hitch angle: reference table, to its digits; a long arc settles there.
#[rstest]
#[case(6.0, 0.0, 4.0, 0.7297276562)]
#[case(6.0, 1.2, 4.0, 0.9098860634)]
#[case(7.0, -0.3, 6.5, 1.1454262753)]
#[case(5.2, 1.1, 4.6, 1.2545394524)]
#[case(6.0, 1.0, 2.4, 0.5707349852)]
fn steady_angle(#[case] radius: f64, #[case] behind: f64, #[case] wheelbase: f64, #[case] phi: f64) {
    let steady = steady_hitch_angle(1.0 / radius, behind, wheelbase).expect("a steady turn exists");
    assert!((steady - phi).abs() < 1e-10);
    let driven = hitch_angle_on_arc(0.0, 1.0 / radius, behind, wheelbase, 800.0);
    assert!((driven - phi).abs() < 1e-9, "a long arc settles there: {driven}");
}

/// Tractrix: tan(φ/2) decays by e each wheelbase; towed-axle positions from the closed form.
#[rstest]
#[case(2.0, 0.3779138181, -2.9177456870, 1.4759292012)]
#[case(6.0, 0.1404738852, 0.8394009696, 0.5600493907)]
#[case(12.0, 0.0313930263, 6.8019708823, 0.1255514803)]
fn tractrix(#[case] rolled: f64, #[case] phi: f64, #[case] x: f64, #[case] y: f64) {
    let chain = Chain::new(&[Towed { hitch_behind_m: 1.2, wheelbase_m: 4.0 }]);
    let start = State { hitch: [35f64.to_radians(), 0.0, 0.0], ..State::default() };
    let end = chain.advance(&start, rolled, 0.0, 0.0);
    assert!((end.hitch[0] - phi).abs() < 1e-10);
    assert!(chain.unit_poses(&end)[1].position.distance(Point::new(x, y)) < 1e-9);
}

/// Wrong-lock budget: R = 5.44, a = 1.25, d = 5.2, reversing until the fold reaches 60 degrees.
#[rstest]
#[case(0.0, 3.422874)]
#[case(15.0, 2.383015)]
#[case(30.0, 1.502777)]
#[case(45.0, 0.721861)]
fn wrong_lock_budget(#[case] from_deg: f64, #[case] rolled: f64) {
    let phi = hitch_angle_on_arc(-from_deg.to_radians(), 1.0 / 5.44, 1.25, 5.2, -rolled);
    assert!((phi + 60f64.to_radians()).abs() < 2e-6, "{}", phi.to_degrees());
}

/// A path driven and then driven back ends where it began.
#[test]
fn driving_back_returns_to_the_start() {
    let chain = Chain::new(&[Towed { hitch_behind_m: 0.3, wheelbase_m: 5.0 }]);
    let mut random = Random(7);
    for _ in 0..100 {
        let mut k = 0.0;
        let mut segments = Vec::new();
        for _ in 0..6 {
            let next =
                if random.between(0.0, 1.0) < 0.5 { k } else { 0.3 * (random.between(0.0, 1.0) - 0.5) };
            segments.push(Segment {
                length_m: 2.0 * random.between(0.0, 1.0),
                curvature_start: k,
                curvature_end: next,
            });
            k = next;
        }
        let start = State { lead: Pose::new(1.0, -2.0, 0.4), hitch: [0.3, 0.0, 0.0], curvature: 0.0 };
        let path = Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] };
        let back = path.reversed(&chain).end(&chain);
        assert!(back.lead.position.distance(start.lead.position) < 1e-9);
        assert!((back.hitch[0] - 0.3).abs() < 1e-6, "{}", back.hitch[0]);
    }
}

/// Mirror, turn and shift change nothing but the frame.
#[test]
fn laws_of_the_plane() {
    let chain = Chain::new(&[Towed { hitch_behind_m: 1.0, wheelbase_m: 4.0 }]);
    let segments =
        vec![Segment::arc(3.0, 0.1), Segment { length_m: 4.0, curvature_start: 0.1, curvature_end: -0.2 }];
    let start = State { lead: Pose::new(2.0, 1.0, 0.3), hitch: [0.2, 0.0, 0.0], curvature: 0.1 };
    let path = Path { start, legs: vec![Leg { direction: Direction::Reverse, segments }] };
    let end = chain.unit_poses(&path.end(&chain))[1];
    let mirrored = chain.unit_poses(&path.mirrored().end(&chain))[1];
    assert!(
        (end.position.y + mirrored.position.y).abs() < 1e-12
            && (end.heading + mirrored.heading).abs() < 1e-12
    );
    let moved = chain.unit_poses(&path.moved(FRAC_PI_2, Point::new(5.0, 0.0)).end(&chain))[1];
    assert!(moved.position.distance(Point::new(5.0 - end.position.y, end.position.x)) < 1e-12);
}

/// A half circle ends two radii across, heading back.
#[test]
fn half_circle() {
    let end = advance_lead(&Pose::default(), PI * 6.0, 1.0 / 6.0, 1.0 / 6.0);
    assert!(end.position.distance(Point::new(0.0, 12.0)) < 1e-12 && (end.heading - PI).abs() < 1e-12);
}

/// Hardly bent at all: the chord and the sagitta by their series, s - k²s³/6 ahead and ks²/2 aside, whose next terms
/// are below a picometer here.
#[test]
fn nearly_straight() {
    for (s, k) in [(100.0, 1e-6), (-100.0, 1e-6), (40.0, -2e-6), (-0.5, 1e-4)] {
        let end = advance_lead(&Pose::default(), s, k, k);
        let (ahead, aside) = (s - k * k * s * s * s / 6.0, 0.5 * k * s * s);
        assert!((end.position.x - ahead).abs() < 1e-12 * s.abs(), "{end:?} {ahead}");
        assert!((end.position.y - aside).abs() < 1e-11, "{end:?} {aside}");
        assert!((end.heading - k * s).abs() < 1e-18);
    }
}

/// A step of constant curvature is exact however long it is: the exponential of one matrix equals the closed form.
#[test]
fn a_step_of_one_curvature_is_the_arc() {
    let (mut near, mut far) = (0, 0);
    for (a, d) in [(1.2, 4.0), (-0.3, 7.5), (3.0, 5.0), (2.0, 1.5), (0.0, 9.0)] {
        // q = 1 - k²(d² - a²) decides the kind of motion: on both sides of zero, and so near that series are summed.
        let span: f64 = d * d - a * a;
        for q in [1.5, 0.9, 0.3, 1e-2, 9e-6, 4e-6, 0.0, -4e-6, -9e-6, -1e-2, -0.7] {
            let k2: f64 = (1.0 - q) / span;
            if k2 < 0.0 {
                continue;
            }
            for (k, s, phi) in [(k2.sqrt(), 0.25, 0.4), (-k2.sqrt(), -0.25, 0.3), (k2.sqrt(), 3.0, -0.2)] {
                let (arc, step) = (hitch_angle_on_arc(phi, k, a, d, s), hitch_angle_step(phi, k, k, a, d, s));
                assert!((arc - step).abs() < 1e-12, "a {a} d {d} q {q} s {s}: {arc} {step}");
                let series = (q * s * s / (4.0 * d * d)).abs() < 1e-8;
                near += usize::from(series);
                far += usize::from(!series);
            }
        }
    }
    assert!(near > 30 && far > 30, "{near} {far}");
}

/// Where q = 0 the motion of a hitch is neither hyperbolic nor circular: tan(φ/2) is then a fraction of polynomials in
/// s. A little to either side it may differ by no more than that little.
#[test]
fn the_kinds_of_motion_meet() {
    let (a, d) = (0.5, 5.0_f64);
    let k0 = 1.0 / (d * d - a * a).sqrt();
    let at = |k: f64, s: f64| {
        let t = s / (2.0 * d);
        let (sin, cos) = trig::sin_cos(0.2);
        2.0 * trig::atan(
            ((1.0 - t) * sin + k * (d + a) * t * cos) / ((1.0 + t) * cos - k * (d - a) * t * sin),
        )
    };
    for s in [9.0, 5.0, -2.0] {
        assert!((hitch_angle_on_arc(0.4, k0, a, d, s) - at(k0, s)).abs() < 1e-12);
        // To either side, against Runge-Kutta.
        for q in [9e-9, -9e-9, 1e-7, -1e-7] {
            let k = ((1.0 - q) / (d * d - a * a)).sqrt();
            let mut phi: f64 = 0.4;
            let n = 20_000;
            let h = s / f64::from(n);
            let rate = |phi: f64| {
                let (sin, cos) = trig::sin_cos(phi);
                k - (sin - a * k * cos) / d
            };
            for _ in 0..n {
                let r1 = rate(phi);
                let r2 = rate(phi + 0.5 * h * r1);
                let r3 = rate(phi + 0.5 * h * r2);
                phi += h / 6.0 * (r1 + 2.0 * r2 + 2.0 * r3 + rate(phi + h * r3));
            }
            let closed = hitch_angle_on_arc(0.4, k, a, d, s);
            assert!((closed - phi).abs() < 1e-11, "q {q} s {s}: {closed} {phi}");
        }
    }
}
