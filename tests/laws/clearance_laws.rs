//! Contracts of the parts of an inspection, each by itself: the second-derivative bound of body points, the slabs a
//! part is cut into, the opening two faces make, the depth of an overlap, and the ground tires may use.
use crate::common::random::Random;
use crate::common::{box_truck, pickup, rectangle, standard_site, unit, vehicle};
use wideenough::clearance::{
    CollisionModel, NeedFields, PoseNeed, Region, Scratch, Surroundings, inspect, opening_for,
    second_derivative_bounds, slabs,
};
use wideenough::geometry::{Frame, Outline, Point, Pose, Shape, trig};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State, Towed};
use wideenough::site::{Anchor, Arrangement, Faces, Obstacle, Side, Site, Swing};
use wideenough::vehicle::MAX_UNITS;

/// Second differences of points of every unit over a millimeter in both directions never exceed the bound, and come
/// near it: on a steady circle the path of a point beside the axle, on the outside, bends by exactly k + k²·reach.
#[test]
fn no_point_bends_its_way_more_than_bounded() {
    let mut random = Random(1);
    let mut nearest = [0.0_f64; MAX_UNITS];
    for _ in 0..4000 {
        let towed: Vec<Towed> = (0..3)
            .map(|_| Towed {
                hitch_behind_m: random.between(-1.0, 2.5),
                wheelbase_m: random.between(1.5, 8.0),
            })
            .collect();
        let chain = Chain::new(&towed);
        let reach = [(); MAX_UNITS].map(|()| random.between(0.5, 9.0));
        let (k, dk) = (random.between(-0.25, 0.25), random.between(-0.1, 0.1));
        let hitch = [(); 3].map(|()| random.between(-1.2, 1.2));
        let h = 1e-3;
        let at = |s: f64| {
            let state = State { hitch, curvature: k, ..State::default() };
            chain.unit_poses(&chain.advance(&state, s, k, k + dk * s))
        };
        let (before, here, after) = (at(-h), at(0.0), at(h));
        // The curvature stays within this over the two steps.
        let bounds = second_derivative_bounds(&chain, &reach, k.abs() + dk.abs() * h, dk.abs());
        for unit in 0..MAX_UNITS {
            for i in 0..16 {
                let p = Point::at_angle(f64::from(i) * 0.125 * std::f64::consts::PI) * reach[unit];
                let [a, b, c] = [&before, &here, &after].map(|poses| poses[unit].to_site(p));
                let bend = (a + c - b * 2.0).norm() / (h * h);
                assert!(bend <= bounds[unit] + 1e-5, "unit {unit}: {bend} beyond {}", bounds[unit]);
                nearest[unit] = nearest[unit].max(bend / bounds[unit]);
            }
        }
    }
    println!("nearest to the bound: {nearest:?}");
    assert!(nearest[0] > 0.98 && nearest[1] > 0.6 && nearest[2] > 0.35 && nearest[3] > 0.2, "{nearest:?}");
}

/// The bound by hand: a lead on a curvature of 0.2 whose wheels turn by 0.05 per meter, a hitch 1.2 m behind and a
/// trailer of 4 m, points within 5 and 7 m. H = √(1 + 1.44·0.04), its rate at most 0.2 + 1.2·(0.05 + 0.04).
#[test]
fn the_bound_by_hand() {
    let chain = Chain::new(&[Towed { hitch_behind_m: -1.2, wheelbase_m: 4.0 }]);
    let bounds = second_derivative_bounds(&chain, &[5.0, 7.0, 0.0, 0.0], 0.2, 0.05);
    assert!((bounds[0] - (0.2 + 0.09 * 5.0)).abs() < 1e-12, "{bounds:?}");
    let h = 1.0576_f64.sqrt();
    let (yaw, faster) = (h / 4.0, 0.308 + h * h / 4.0);
    let turning = (0.308 + h * h / 4.0) / 4.0;
    assert!((bounds[1] - (faster + h * yaw + (turning + yaw * yaw) * 7.0)).abs() < 1e-12, "{bounds:?}");
    assert_eq!(bounds[2..], [0.0, 0.0]);
}

/// Wheels turned from one side to the other within a single step: both sampled poses show 3 mm beside the nose, and
/// between them the nose, 4.65 m ahead, swings out by 4.65 · 0.2 · 0.025/4 = 5.8 mm.
#[test]
fn what_happens_between_two_poses_is_bounded() {
    let mut car = pickup();
    car.units[0].parts.truncate(1);
    let seen = |k: f64| {
        let mut site = with_box(4.0, -12.0 + 4.7, 5.0, -11.028 + 4.7);
        site.fences.clear();
        let model = CollisionModel::new(&car, Surroundings::new(&site, None, 0.0), 0.0, f64::INFINITY);
        let segment = Segment { length_m: 0.025, curvature_start: -k, curvature_end: k };
        let legs = vec![Leg { direction: Direction::Forward, segments: vec![segment] }];
        let start = State { lead: Pose::new(0.0, -10.0, 0.0), ..State::default() };
        inspect(&model, &Path { start, legs }).margin_m
    };
    assert!((seen(0.0) - 0.003).abs() < 1e-9, "{}", seen(0.0));
    let between = seen(0.2);
    assert!(between <= 0.003 - 0.0058 && between > -0.02, "{between}");
}

fn area(corners: &[Point]) -> f64 {
    Outline(corners.to_vec()).signed_area()
}

/// The number of slabs is the number of half meters begun; each is no longer than that, and together they are the
/// outline.
#[test]
fn slabs_fill_an_outline() {
    let mut random = Random(5);
    for _ in 0..300 {
        let (x, y) = (random.between(-9.0, 9.0), random.between(-3.0, 3.0));
        let (a, b) = (random.between(0.1, 4.0), random.between(0.1, 2.0));
        let corners: Vec<Point> = (0..11)
            .map(|i| {
                let (sin, cos) = trig::sin_cos(f64::from(i) * std::f64::consts::TAU / 11.0);
                Point::new(x + a * cos, y + b * sin)
            })
            .collect();
        let least = corners.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
        let most = corners.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
        let cut = slabs(&corners);
        assert!(
            (cut.len() as f64 - ((most - least) / 0.5).ceil()).abs() < 0.5,
            "{} of {}",
            cut.len(),
            most - least
        );
        let mut from = least;
        for slab in &cut {
            let low = slab.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
            let high = slab.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
            assert!((low - from).abs() < 1e-9 && high - low <= 0.5 + 1e-9, "from {from}: {low} to {high}");
            from = high;
        }
        assert!((from - most).abs() < 1e-9);
        let whole: f64 = cut.iter().map(|slab| area(slab)).sum();
        assert!((whole - area(&corners)).abs() < 1e-9, "{whole} of {}", area(&corners));
    }
}

/// The opening two faces make, by hand, for each anchor. The gate as drawn is 4 m wide.
#[test]
fn the_opening_two_faces_make() {
    let none = f64::INFINITY;
    let of = |anchor: Anchor, left: f64, right: f64| {
        let mut site = standard_site(4.5);
        site.gate.anchor = anchor;
        let needed = Faces { left, right };
        let (opening_m, Faces { left, right }) = opening_for(&Surroundings::new(&site, None, 0.0), needed);
        (opening_m, left, right)
    };
    // About the middle: twice what the worse side needs, nothing if neither needs anything.
    assert_eq!(of(Anchor::Center, -1.0, 1.5), (3.0, -1.5, 1.5));
    assert_eq!(of(Anchor::Center, -1.75, 1.5), (3.5, -1.75, 1.75));
    assert_eq!(of(Anchor::Center, none, -none).0, 0.0);
    // From the left post at -2: it must do where it is.
    let left = Anchor::Side(Side::Left);
    assert_eq!(of(left, -1.5, 1.0), (3.0, -2.0, 1.0));
    assert_eq!(of(left, -2.0, 2.5), (4.5, -2.0, 2.5));
    assert_eq!(of(left, -2.1, 1.0).0, none);
    assert_eq!(of(left, none, -none), (0.0, -2.0, -2.0));
    assert_eq!(of(left, none, -2.5), (0.0, -2.0, -2.0));
    let right = Anchor::Side(Side::Right);
    assert_eq!(of(right, -1.0, 1.5), (3.0, -1.0, 2.0));
    assert_eq!(of(right, -2.5, 2.0), (4.5, -2.5, 2.0));
    assert_eq!(of(right, -1.0, 2.1).0, none);
    assert_eq!(of(right, 2.5, -none), (0.0, 2.0, 2.0));
    // Anywhere: from face to face, wherever each is needed; a face that is not needed stands at the other.
    assert_eq!(of(Anchor::Free, 1.0, 4.5), (3.5, 1.0, 4.5));
    assert_eq!(of(Anchor::Free, -3.0, -4.0), (0.0, -3.0, -3.0));
    assert_eq!(of(Anchor::Free, 1.25, -none), (0.0, 1.25, 1.25));
    assert_eq!(of(Anchor::Free, none, -0.5), (0.0, -0.5, -0.5));
    assert_eq!(of(Anchor::Free, none, -none), (0.0, 0.0, 0.0));
}

/// Need of a box 2 m wide that stands in the gate, 0.3 m left of the middle, for each anchor: a block beyond the widest
/// opening of interest is not there.
#[test]
fn a_box_standing_in_the_gate() {
    let boxes = vehicle("box", vec![unit("box", 2.5, 1.0, 3.5, 2.0, None)], 30.0, 0.0);
    let need = |anchor: Anchor, clearance_m: f64, widest_m: f64| {
        let mut site = standard_site(4.5);
        site.gate.anchor = anchor;
        site.fences.clear();
        let model = CollisionModel::new(&boxes, Surroundings::new(&site, None, 0.0), clearance_m, widest_m);
        let state = State { lead: Pose::new(-0.3, -1.0, std::f64::consts::FRAC_PI_2), ..State::default() };
        model.need(&model.chain.unit_poses(&state), &mut Scratch::default())
    };
    for anchor in [Anchor::Center, Anchor::Free, Anchor::Side(Side::Left), Anchor::Side(Side::Right)] {
        for widest_m in [2.7, 6.0, f64::INFINITY] {
            for clearance_m in [0.0, 0.15] {
                let seen = need(anchor, clearance_m, widest_m);
                assert!((seen.left_u - (-1.3 - clearance_m)).abs() < 1e-9, "{anchor:?} {widest_m}: {seen:?}");
                assert!((seen.right_u - (0.7 + clearance_m)).abs() < 1e-9, "{anchor:?} {widest_m}: {seen:?}");
                assert!((seen.least_v + 2.0).abs() < 1e-9 && (seen.most_v - 2.5).abs() < 1e-9, "{seen:?}");
            }
        }
    }
}

fn with_box(x0: f64, y0: f64, x1: f64, y1: f64) -> Site {
    let mut site = standard_site(4.5);
    site.obstacles.clear();
    let shapes = vec![Shape { outer: rectangle(x0, y0, x1, y1), holes: vec![], radius_m: 0.0 }];
    site.obstacles.push(Obstacle { label: "box".to_owned(), shapes, bottom_m: 0.0, top_m: 2.0 });
    site
}

/// Gap from a box truck to a box, or depth of their overlap, by hand: driving east with its axle at the origin of the
/// gate's frame less 10 m, the truck fills x from -2.7 to 7.3 and y from -11.22 to -8.78.
#[test]
fn gaps_and_depths_by_hand() {
    let margin = |x0: f64, y0: f64, x1: f64, y1: f64, clearance_m: f64| {
        let mut truck = box_truck();
        // Without mirrors, the body is the part reported.
        truck.units[0].parts.truncate(1);
        // The gate line is at y = 4.7 of the site.
        let site = with_box(x0, y0 + 4.7, x1, y1 + 4.7);
        let model = CollisionModel::new(&truck, Surroundings::new(&site, None, 0.0), clearance_m, 12.0);
        let state = State { lead: Pose::new(0.0, -10.0, 0.0), ..State::default() };
        model.need(&model.chain.unit_poses(&state), &mut Scratch::default()).margin_m
    };
    let near = |got: f64, expected: f64| assert!((got - expected).abs() < 1e-9, "{got}, not {expected}");
    // Beside it, ahead of it, and off its corner (a triangle of 3, 4 and 5); farther than a quarter of a meter is
    // ample.
    near(margin(1.0, -8.7, 2.0, -8.0, 0.0), 0.08);
    near(margin(7.5, -10.0, 8.0, -9.0, 0.0), 0.2);
    near(margin(7.42, -8.62, 8.0, -8.0, 0.0), 0.2);
    near(margin(7.42, -8.62, 8.0, -8.0, 0.15), 0.05);
    near(margin(1.0, -8.4, 2.0, -8.0, 0.0), 0.25);
    // The clearance is subtracted from the gap.
    near(margin(1.0, -8.7, 2.0, -8.0, 0.3), -0.22);
    // Inside it: as deep as it would have to go back, off the box's sides that its own middle (x 2.3, y -10) is beyond.
    near(margin(1.0, -9.0, 2.0, -8.0, 0.0), -0.22);
    near(margin(1.0, -9.0, 2.0, -8.0, 0.1), -0.32);
    near(margin(7.0, -10.5, 9.0, -9.5, 0.0), -0.3);
    // A wall 10 cm thick across its nose: the way out is back, not on through.
    near(margin(7.1, -20.0, 7.2, 0.0, 0.0), -0.2);
    near(margin(-2.6, -20.0, -2.5, 0.0, 0.0), -0.2);
}

/// A wall a centimeter thick goes through a mirror, which reaches from 1.025 to 1.2192 m off the middle: the way out is
/// back toward the body, 0.1692 m, though only 0.035 m are missing to the far side.
#[test]
fn a_mirror_through_a_thin_wall_comes_back() {
    let site = with_box(2.0, -8.95 + 4.7, 3.5, -8.94 + 4.7);
    let model = CollisionModel::new(&pickup(), Surroundings::new(&site, None, 0.0), 0.0, 12.0);
    let state = State { lead: Pose::new(0.0, -10.0, 0.0), ..State::default() };
    let seen = model.need(&model.chain.unit_poses(&state), &mut Scratch::default());
    assert!((seen.margin_m + 0.1692).abs() < 1e-9, "{seen:?}");
}

/// A pole 0.2 m thick, off the corner of a box a meter square, in line with its diagonal: the gap between the circles
/// around the two equals their own.
#[test]
fn a_pole_off_a_corner() {
    let small = vehicle("box", vec![unit("box", 0.5, 0.5, 0.5, 1.0, None)], 30.0, 0.0);
    for (gap_m, clearance_m) in [(0.4, 0.3), (0.2, 0.0), (0.2, 0.1), (0.1, 0.3)] {
        let along = (0.5 + (gap_m + 0.1) * 0.5_f64.sqrt()) * 0.999_999;
        let mut site = with_box(0.0, 0.0, 1.0, 1.0);
        site.obstacles[0].shapes[0] = Shape {
            outer: Outline(vec![Point::new(along, along - 10.0 + 4.7)]),
            holes: vec![],
            radius_m: 0.1,
        };
        let model = CollisionModel::new(&small, Surroundings::new(&site, None, 0.0), clearance_m, 12.0);
        let state = State { lead: Pose::new(0.0, -10.0, 0.0), ..State::default() };
        let seen = model.need(&model.chain.unit_poses(&state), &mut Scratch::default());
        assert!((seen.margin_m - (gap_m - clearance_m)).abs() < 1e-5, "{gap_m} {clearance_m}: {seen:?}");
    }
}

/// Two needs combine into the worse of each.
#[test]
fn two_needs_together() {
    let one =
        PoseNeed { left_u: -1.0, right_u: 0.5, margin_m: 0.2, ground_m: -0.1, least_v: 3.0, most_v: 4.0 };
    let other =
        PoseNeed { left_u: -0.5, right_u: 0.75, margin_m: 0.1, ground_m: 0.2, least_v: -2.0, most_v: 3.5 };
    let both =
        PoseNeed { left_u: -1.0, right_u: 0.75, margin_m: 0.1, ground_m: -0.1, least_v: -2.0, most_v: 4.0 };
    assert_eq!((one.and(&other), other.and(&one)), (both, both));
    assert_eq!(one.and(&PoseNeed::NOTHING), PoseNeed { margin_m: 0.2, ..one });
}

/// A fence 0.6 m thick between posts 0.2 m deep, drawn from 2 cm inside the gate line to 4 cm before it, fills the line
/// from 0.34 m before it to 0.32 m inside. Between there and the posts a box 1 m aside needs what it reaches, beyond it
/// nothing.
#[test]
fn a_fence_thicker_than_the_posts() {
    let mut site = standard_site(4.5);
    site.gate.post.depth_m = 0.2;
    for fence in &mut site.fences {
        fence.thickness_m = 0.6;
        (fence.line[0].y, fence.line[1].y) = (4.7 + 0.02, 4.7 - 0.04);
    }
    let around = Surroundings::new(&site, None, 0.0);
    let near = |got: f64, expected: f64| assert!((got - expected).abs() < 1e-9, "{got}, not {expected}");
    near(around.front_v(), -0.34);
    near(around.beyond_v, 0.32);
    // A box of 1 by 1 m and nothing else.
    let mut part = pickup().units[0].parts[0].clone();
    part.outline = rectangle(0.0, -0.5, 1.0, 0.5);
    let mut body = unit("box", 2.0, 0.0, 1.0, 1.0, None);
    body.parts = vec![part];
    let model = CollisionModel::new(&vehicle("box", vec![body], 30.0, 1.0), around, 0.0, f64::INFINITY);
    for side in [-1.0, 1.0] {
        for (y, met) in [(-1.345, false), (-1.335, true), (-0.5, true), (0.315, true), (0.325, false)] {
            let lead = Pose::new(side, y, std::f64::consts::FRAC_PI_2);
            let state = State { lead, ..State::default() };
            let need = model.need(&model.chain.unit_poses(&state), &mut Scratch::default());
            let (left, right) =
                if met { (side - 0.5, side + 0.5) } else { (f64::INFINITY, f64::NEG_INFINITY) };
            assert!((need.left_u == left || (need.left_u - left).abs() < 1e-9), "{side} {y}: {need:?}");
            assert!((need.right_u == right || (need.right_u - right).abs() < 1e-9), "{side} {y}: {need:?}");
        }
    }
}

/// A leaf of a double gate that is cut for an opening is half as long, and hangs at its post; out, it stands before the
/// gate. A drive straight in 0.2 m left of the middle meets its inner side where it stands farther than square.
#[test]
fn leaves_by_hand() {
    let straight = State { lead: Pose::new(-0.2, 0.0, std::f64::consts::FRAC_PI_2), ..State::default() };
    let need = |arrangement: Arrangement, degrees: f64, leaf_opening_m: f64, lead: State| {
        let mut site = standard_site(4.5);
        site.gate.leaves.arrangement = arrangement;
        site.gate.leaves.open_angle_rad = f64::to_radians(degrees);
        site.gate.leaves.thickness_m = 0.0;
        let around = Surroundings::new(&site, None, leaf_opening_m);
        assert_eq!(around.has_leaves(), arrangement != Arrangement::None);
        let model = CollisionModel::new(&pickup(), around, 0.0, f64::INFINITY);
        model.need(&model.chain.unit_poses(&lead), &mut Scratch::default())
    };
    let without = need(Arrangement::None, 90.0, 4.0, straight);
    let near = |got: f64, expected: f64| assert!((got - expected).abs() < 1e-9, "{got}, not {expected}");
    // The body is 2.05 m wide, the mirrors stand 2.6 to 2.85 m ahead of the axle and reach 1.2192 m.
    near(without.left_u, -0.2 - 1.025);
    // Square: the leaf 2 m long stands beside the body and short of the mirrors.
    near(need(Arrangement::Double, 90.0, 4.0, straight).left_u, -0.2 - 1.025);
    // Three meters long it reaches the mirrors, 1.2 to 1.8 m high as the leaf is from 0.1 to 1.5.
    near(need(Arrangement::Double, 90.0, 6.0, straight).left_u, -0.2 - 1.2192);
    near(need(Arrangement::Single(Side::Left), 90.0, 3.0, straight).left_u, -0.2 - 1.2192);
    near(need(Arrangement::Single(Side::Right), 90.0, 3.0, straight).left_u, -0.2 - 1.025);
    near(need(Arrangement::Single(Side::Right), 90.0, 3.0, straight).right_u, -0.2 + 1.2192);
    // At 60 degrees it leans into the path by half its length: its end, 1.732 m in, meets the body.
    near(need(Arrangement::Double, 60.0, 4.0, straight).left_u, -0.2 - 1.025 - 1.0);
    near(need(Arrangement::Double, 60.0, 4.0, straight).right_u, -0.2 + 1.025 + 1.0);
    // At 120 it leans out of it.
    near(need(Arrangement::Double, 120.0, 4.0, straight).left_u, -0.2 - 1.025);
}

/// A leaf 10 cm thick that stands square takes half of that from each side, beside a body that the fence has met
/// already.
#[test]
fn a_thick_leaf_takes_half_its_thickness() {
    let mut site = standard_site(4.5);
    (site.gate.leaves.arrangement, site.gate.leaves.thickness_m) = (Arrangement::Double, 0.1);
    for clearance_m in [0.0, 0.3] {
        let around = Surroundings::new(&site, None, 4.0);
        let model = CollisionModel::new(&pickup(), around, clearance_m, f64::INFINITY);
        for aside in [-0.2, 0.0, 0.2] {
            let lead = Pose::new(aside, 0.0, std::f64::consts::FRAC_PI_2);
            let state = State { lead, ..State::default() };
            let need = model.need(&model.chain.unit_poses(&state), &mut Scratch::default());
            // The mirrors stand beyond the leaves, which are 2 m long; within the clearance of their ends, no farther.
            let half = 1.025 + 0.05 + clearance_m;
            assert!((need.left_u - (aside - half)).abs() < 1e-9, "{aside}: {need:?}");
            assert!((need.right_u - (aside + half)).abs() < 1e-9, "{aside}: {need:?}");
        }
    }
}

/// A gate line without depth keeps its clearance too: a box whose front is short of it by less needs what lies within
/// the clearance of its corner on the line.
#[test]
fn a_thin_line_keeps_its_clearance() {
    let mut site = standard_site(4.5);
    site.fences.clear();
    site.gate.post.depth_m = 0.0;
    let mut body = unit("box", 2.0, 0.0, 1.0, 1.0, None);
    body.parts.truncate(1);
    let around = Surroundings::new(&site, None, 0.0);
    let model = CollisionModel::new(&vehicle("box", vec![body], 30.0, 1.0), around, 0.3, f64::INFINITY);
    for (short, more) in [(0.35, None), (0.2, Some(0.05_f64.sqrt())), (0.0, Some(0.3)), (-0.5, Some(0.3))] {
        let lead = Pose::new(0.4, -1.0 - short, std::f64::consts::FRAC_PI_2);
        let state = State { lead, ..State::default() };
        let need = model.need(&model.chain.unit_poses(&state), &mut Scratch::default());
        let left = more.map_or(f64::INFINITY, |more| 0.4 - 0.5 - more);
        let right = more.map_or(f64::NEG_INFINITY, |more| 0.4 + 0.5 + more);
        assert!(need.left_u == left || (need.left_u - left).abs() < 1e-9, "{short}: {need:?}, not {left}");
        assert!(
            need.right_u == right || (need.right_u - right).abs() < 1e-9,
            "{short}: {need:?}, not {right}"
        );
    }
}

/// A leaf is in the way only where its face can stand: no farther out than the widest opening of interest puts it, and
/// only as drawn where its post stays put. The gate as drawn is 4 m wide; the leaves open out, square, and the box
/// stands before the gate, from 1 m nearer to 1 m farther than 5 m from the middle.
#[test]
fn leaves_that_never_get_there() {
    let boxes = vehicle("box", vec![unit("box", 0.5, 0.2, 1.3, 2.0, None)], 30.0, 0.0);
    let need = |anchor: Anchor, widest_m: f64, x: f64| {
        let mut site = standard_site(4.5);
        site.gate.anchor = anchor;
        site.gate.leaves.arrangement = Arrangement::Double;
        site.gate.leaves.opens = Swing::Out;
        site.gate.leaves.thickness_m = 0.0;
        let model = CollisionModel::new(&boxes, Surroundings::new(&site, None, 4.0), 0.0, widest_m);
        let state = State { lead: Pose::new(x, -2.0, std::f64::consts::FRAC_PI_2), ..State::default() };
        let seen = model.need(&model.chain.unit_poses(&state), &mut Scratch::default());
        (seen.left_u, seen.right_u)
    };
    let (left, right) = (Anchor::Side(Side::Left), Anchor::Side(Side::Right));
    let none = f64::INFINITY;
    // Widest opening beyond which the left face, and the right one, can stand 4 m out.
    for (anchor, left_from, right_from) in
        [(Anchor::Center, 8.0, 8.0), (left, none, 6.0), (right, 6.0, none), (Anchor::Free, 0.0, 0.0)]
    {
        for widest_m in [2.0, 5.9, 6.1, 7.9, 8.1, 50.0] {
            let (asked, other) = need(anchor, widest_m, -5.0);
            let expected = if widest_m > left_from { -6.0 } else { none };
            assert!(asked == expected || (asked - expected).abs() < 1e-9, "{anchor:?} {widest_m}: {asked}");
            // The right leaf needs its face to stand right of the box, as it does in any case.
            assert!((other + 4.0).abs() < 1e-9, "{anchor:?} {widest_m}: {other}");
            let (other, asked) = need(anchor, widest_m, 5.0);
            let expected = if widest_m > right_from { 6.0 } else { -none };
            assert!(asked == expected || (asked - expected).abs() < 1e-9, "{anchor:?} {widest_m}: {asked}");
            assert!((other - 4.0).abs() < 1e-9, "{anchor:?} {widest_m}: {other}");
        }
    }
}

/// Ground that tires may use, also far from the gate: the lookup covers a window of 150 m around it.
#[test]
fn ground_by_hand() {
    let road = rectangle(-400.0, -3.0, 400.0, 3.0);
    let none: &[Outline] = &[];
    let region = Region::new(&[(&road, none)], &Pose::default()).expect("a polygon");
    let grace = 0.01;
    for x in [-151.9, -149.3, -80.0, 0.0, 77.7, 149.3, 151.9] {
        for (y, expected) in [(0.0, 3.0), (2.5, 0.5), (-2.75, 0.25), (4.0, -1.0), (-4.9, -1.9)] {
            let got = region.signed_distance(Point::new(x, y));
            assert!((got - expected - grace).abs() < 1e-6, "{x} {y}: {got}");
        }
        assert!(
            region.clearly_inside(Point::new(x, 0.1), 1.5),
            "half a step from the middle, three meters of room"
        );
        assert!(!region.clearly_inside(Point::new(x, 0.1), 3.0));
        assert!(!region.clearly_inside(Point::new(x, 3.2), 0.0));
    }
    assert_eq!(region.signed_distance(Point::new(160.0, 0.0)), f64::NEG_INFINITY);
    // Beside all edges, where no cells are: the distance outside of them all.
    let most = region.at_most_inside(Point::new(403.01, 7.01));
    assert!((most + 5.0).abs() < 1e-6, "{most}");
    let inside = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(x, y)| Point::new(x, y));
    assert!(region.contains_convex(&inside, 0.0) && region.contains_convex(&inside, 2.0));
    assert!(!region.contains_convex(&inside, 2.02));
    assert!(!region.contains_convex(&inside.map(|p| p + Point::new(0.0, 2.02)), 0.0));
}

/// A reflex corner of the ground at (5, 5), a centimeter generous in both directions, points at the middle of one side
/// of a square 2 m wide that stands turned by an eighth of a turn: 0.1 m and that centimeter's diagonal away, whichever
/// side it is.
#[test]
fn a_corner_of_the_ground_beside_a_side() {
    let ell = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 10.0), (5.0, 5.0), (0.0, 5.0)];
    let ell = Outline(ell.map(|(x, y)| Point::new(x, y)).to_vec());
    let none: &[Outline] = &[];
    let region = Region::new(&[(&ell, none)], &Pose::default()).expect("a polygon");
    let (away, along) =
        (Point::at_angle(-std::f64::consts::FRAC_PI_4), Point::at_angle(std::f64::consts::FRAC_PI_4));
    let middle = Point::new(5.0, 5.0) + away * 0.1;
    let mut square =
        [middle + along, middle - along, middle - along + away * 2.0, middle + along + away * 2.0];
    for _ in 0..4 {
        assert!(region.contains_convex(&square, 0.113), "{square:?}");
        assert!(!region.contains_convex(&square, 0.115), "{square:?}");
        square.rotate_left(1);
    }
}

/// Many obstacles are looked up in a grid, which ends 200 m from the gate: a box is seen to stand 0.1 m from each of 80
/// poles, the farthest 320 m away.
#[test]
fn each_of_many_poles_is_seen() {
    let small = vehicle("box", vec![unit("box", 0.5, 0.5, 0.5, 1.0, None)], 30.0, 0.0);
    let mut site = standard_site(4.5);
    site.obstacles.clear();
    let poles: Vec<Point> = (0..80).map(|i| Point::new(4.0 * f64::from(i) + 4.0, -20.0)).collect();
    for pole in &poles {
        let outer = Outline(vec![*pole + Point::new(0.0, 4.7)]);
        let shapes = vec![Shape { outer, holes: vec![], radius_m: 0.1 }];
        site.obstacles.push(Obstacle { label: "pole".to_owned(), shapes, bottom_m: 0.0, top_m: 2.0 });
    }
    let model = CollisionModel::new(&small, Surroundings::new(&site, None, 0.0), 0.0, 12.0);
    for pole in &poles {
        let state = State { lead: Pose::new(pole.x - 0.7, pole.y, 0.0), ..State::default() };
        let seen = model.need(&model.chain.unit_poses(&state), &mut Scratch::default());
        assert!((seen.margin_m - 0.1).abs() < 1e-9, "{pole:?}: {seen:?}");
    }
}

/// A unit skips everything that is far from all of its parts. With its reach set to a mile it checks everything, and
/// the result is the same.
#[test]
fn what_is_passed_over_asks_for_nothing() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/rural-entrance.geojson");
    let site = wideenough::site::read(&std::fs::read_to_string(file).unwrap(), file).unwrap();
    let mut random = Random(7);
    let (mut asks, mut gate, mut scratch) = (0, 0, Scratch::default());
    for name in ["pickup", "motorhome", "gooseneck-horse-40"] {
        let vehicle = wideenough::vehicle::find(name).unwrap();
        for clearance_m in [0.0, 0.3] {
            let surroundings = Surroundings::new(&site, None, site.gate.opening_m());
            let quick = CollisionModel::new(&vehicle, surroundings, clearance_m, 12.0);
            let mut plain = quick.clone();
            plain.units.iter_mut().for_each(|unit| unit.reach_m = 1600.0);
            for _ in 0..3000 {
                let lead = Pose::new(
                    random.between(-25.0, 25.0),
                    random.between(-20.0, 15.0),
                    random.between(0.0, 6.3),
                );
                let hitch = [(); 3].map(|()| random.between(-1.0, 1.0));
                let poses = quick.chain.unit_poses(&State { lead, hitch, ..State::default() });
                let (need, all) = (quick.need(&poses, &mut scratch), plain.need(&poses, &mut scratch));
                assert_eq!(need, all, "{name} at {lead:?}");
                asks += u32::from(need.margin_m < 0.25);
                gate += u32::from(need.left_u.is_finite() || need.right_u.is_finite());
            }
        }
    }
    assert!(asks > 1000 && gate > 1000, "{asks} {gate}");
}

/// The binding outlines of a need have the same need as the whole vehicle, at the pose and on the path to it; and
/// fields that are not requested read as those of a pose that needs nothing.
#[test]
fn the_outlines_a_need_comes_from_need_as_much() {
    let mut random = Random(7);
    let rig = crate::common::gooseneck();
    let mut site = standard_site(4.5);
    let tree = Shape { outer: Outline(vec![Point::new(-3.0, -2.5)]), holes: vec![], radius_m: 0.4 };
    site.obstacles.push(Obstacle { shapes: vec![tree], label: "tree".to_owned(), bottom_m: 0.0, top_m: 5.0 });
    let (mut lefts, mut rights, mut margins, mut ways) = (0, 0, 0, 0);
    for clearance_m in [0.0, 0.3] {
        let surroundings = Surroundings::new(&site, None, 4.0);
        let model = CollisionModel::new(&rig, surroundings, clearance_m, 12.0);
        for _ in 0..3000 {
            let heading = random.between(0.0, std::f64::consts::PI);
            let lead = Pose::new(random.between(-5.0, 5.0), random.between(-6.0, 6.0), heading);
            let state = State { lead, hitch: [random.between(-0.6, 0.6), 0.0, 0.0], ..State::default() };
            let before = model.chain.unit_frames(&state);
            let k = random.between(-0.15, 0.15);
            let frames: [Frame; MAX_UNITS] = model.chain.unit_frames(&model.chain.advance(&state, 0.3, k, k));
            let mut scratch = Scratch::default();
            for before in [None, Some(&before)] {
                let need = model.need_since(before, &frames, &mut scratch);
                let binding = scratch.binding;
                let again = model.need_of(binding, before, &frames, &mut scratch);
                assert_eq!(again, need, "{state:?}");
                lefts += usize::from(need.left_u.is_finite());
                rights += usize::from(need.right_u.is_finite());
                margins += usize::from(need.margin_m < 0.25);
                let alone = model.need_since(None, &frames, &mut scratch);
                ways += usize::from(alone.left_u > need.left_u || alone.right_u < need.right_u);
                let left = binding.of(NeedFields { left: true, ..NeedFields::default() });
                let left = model.need_of(left, before, &frames, &mut scratch);
                assert_eq!(left, PoseNeed { left_u: need.left_u, ..PoseNeed::NOTHING });
                assert_eq!(binding.of(NeedFields::ALL), binding);
            }
        }
    }
    assert!(
        lefts > 1000 && rights > 1000 && margins > 1000 && ways > 50,
        "{lefts} {rights} {margins} {ways}"
    );
}
