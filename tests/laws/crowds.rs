//! Many obstacles beside a path: a tree finds the near ones, and the result equals that of checking each of them, to
//! the last bit.
use crate::common::random::Random;
use crate::common::{box_truck, gooseneck, pickup, standard_site};
use wideenough::clearance::{CollisionModel, PoseNeed, Scratch, Surroundings, inspect};
use wideenough::geometry::{Outline, Point, Pose, Shape};
use wideenough::motion::{Direction, Leg, Path, Segment, State};
use wideenough::site::Obstacle;
use wideenough::vehicle::Vehicle;

/// A place drawn at random: trees, walls that cross each other, a hedge whose edges share their corners, and curbs that
/// only tires meet.
fn crowd(seed: u64) -> Surroundings {
    let mut random = Random(seed);
    let mut site = standard_site(4.5);
    site.gate.left.x = -3.0;
    site.gate.right.x = 3.0;
    let half_side = random.pick(&[12.0, 30.0, 60.0, 300.0]);
    let anywhere = |random: &mut Random| {
        Point::new(random.between(-half_side, half_side), random.between(-half_side, half_side))
    };
    let tree = |at: Point, radius_m: f64| Shape { outer: Outline(vec![at]), holes: vec![], radius_m };
    let trees: Vec<Shape> = (0..80)
        .map(|_| {
            let at = anywhere(&mut random);
            tree(at, random.between(0.05, 0.6))
        })
        .collect();
    let line = |points: Vec<Point>, radius_m: f64| Shape { outer: Outline(points), holes: vec![], radius_m };
    let walls: Vec<Shape> = (0..20)
        .map(|_| {
            let at = anywhere(&mut random);
            let long = Point::at_angle(random.between(0.0, 6.3)) * random.between(0.5, 60.0);
            line(vec![at, at + long], random.between(0.0, 0.2))
        })
        .collect();
    let from = anywhere(&mut random);
    let hedge: Vec<Point> = (0..120_u32)
        .map(|i| from + Point::at_angle(0.02 * f64::from(i)) * 8.0 + Point::new(0.1 * f64::from(i % 2), 0.0))
        .collect();
    let hedge = hedge.windows(2).map(|pair| line(pair.to_vec(), 0.02)).collect();
    let curbs: Vec<Shape> = (0..60).map(|_| tree(anywhere(&mut random), 0.3)).collect();
    let thing = |label: &str, shapes: Vec<Shape>, top_m: f64| Obstacle {
        label: label.to_owned(),
        shapes,
        bottom_m: 0.0,
        top_m,
    };
    site.obstacles.extend([
        thing("tree", trees, 3.0),
        thing("wall", walls, 1.5),
        thing("hedge", hedge, 2.0),
        thing("curb", curbs, 0.1),
    ]);
    Surroundings::new(&site, None, 0.0)
}

/// A copy of the model without the tree: every piece is checked.
fn plainly(model: &CollisionModel) -> CollisionModel {
    let mut plain = model.clone();
    plain.parts.iter_mut().for_each(|part| part.tree = None);
    plain
}

fn bits(need: &PoseNeed) -> [u64; 6] {
    let PoseNeed { left_u, right_u, margin_m, ground_m, least_v, most_v } = *need;
    [left_u, right_u, margin_m, ground_m, least_v, most_v].map(f64::to_bits)
}

fn vehicles() -> [Vehicle; 4] {
    [pickup(), box_truck(), gooseneck(), wideenough::vehicle::find("motorhome").expect("in the library")]
}

#[test]
fn a_pose_needs_the_same_to_the_last_bit() {
    let (mut overlaps, mut tight, mut clear, mut trees) = (0, 0, 0, 0);
    for seed in 0..24 {
        let mut random = Random(1_000 + seed);
        let vehicle = &vehicles()[usize::try_from(seed % 4).expect("few")];
        let clearance_m = random.pick(&[0.0, 0.3]);
        let model = CollisionModel::new(vehicle, crowd(seed), clearance_m, 12.0);
        let plain = plainly(&model);
        trees += model.parts.iter().filter(|part| part.tree.is_some()).count();
        let (mut a, mut b) = (Scratch::default(), Scratch::default());
        for _ in 0..400 {
            let lead = Pose::new(
                random.between(-20.0, 20.0),
                random.between(-20.0, 20.0),
                random.between(-3.2, 3.2),
            );
            let state = State { lead, hitch: [random.between(-0.8, 0.8), 0.0, 0.0], curvature: 0.0 };
            let poses = model.chain.unit_poses(&state);
            let (with, without) = (model.need(&poses, &mut a), plain.need(&poses, &mut b));
            assert_eq!(bits(&with), bits(&without), "seed {seed}, {lead:?}: {with:?} {without:?}");
            overlaps += usize::from(with.margin_m < -clearance_m);
            tight += usize::from(with.margin_m > 0.0 && with.margin_m < 0.25);
            clear += usize::from(with.margin_m == 0.25);
        }
    }
    println!("{overlaps} overlapping, {tight} near, {clear} clear; {trees} parts with trees");
    assert!(trees > 100 && overlaps > 500 && tight > 150 && clear > 500);
}

#[test]
fn an_inspection_tells_the_same_to_the_last_bit() {
    let (mut touched, mut apart) = (0, 0);
    for seed in 0..60 {
        let mut random = Random(2_000 + seed);
        let vehicle = &vehicles()[usize::try_from(seed % 4).expect("few")];
        let model = CollisionModel::new(vehicle, crowd(seed), 0.1, 12.0);
        let max = vehicle.steering.max_curvature;
        let lead = Pose::new(random.between(-9.0, 9.0), random.between(-9.0, 9.0), random.between(-3.2, 3.2));
        let segments: Vec<Segment> =
            (0..4).map(|_| Segment::arc(2.5, max * random.between(-1.0, 1.0))).collect();
        let start = State { lead, ..State::default() };
        let path = Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] };
        let (with, without) = (inspect(&model, &path), inspect(&plainly(&model), &path));
        assert_eq!(format!("{with:?}"), format!("{without:?}"), "seed {seed}");
        touched += with.touches.len();
        apart += with.touches.iter().filter(|touch| touch.gap_m > 0.0).count();
    }
    println!("{touched} told, {apart} of them apart");
    assert!(touched > 100 && apart > 40, "{touched} told, {apart} of them apart");
}
