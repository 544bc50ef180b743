//! Growth of the cost of inspecting one path: with the number of obstacle edges, and with the path's length.
//!
//! `cargo bench --bench growth` prints a line per case. The path is a pickup's way in over a straight, a quarter turn
//! and a straight, inspected by `clearance::inspect` every 25 mm and between. Obstacles have 10 to 10,000 edges: trees
//! strewn over a square that grows with their number, trees ever closer together on the same square, and a hedge of two
//! lines along the path, drawn ever more finely, so that all of its edges lie beside the vehicle. Times are the least
//! of several rounds.
#[path = "../common/mod.rs"]
mod common;
use common::{pickup, random::Random, standard_site};
use std::hint::black_box;
use std::time::Instant;
use wideenough::clearance::{CollisionModel, Scratch, Surroundings, inspect};
use wideenough::geometry::{Outline, Point, Pose, Shape};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::site::Obstacle;

const EDGES: [u32; 4] = [10, 100, 1_000, 10_000];
const LENGTHS_M: [f64; 4] = [10.0, 20.0, 40.0, 80.0];
const ROUNDS: usize = 31;
/// Radius of the turn, and distance of the obstacles from the path of the rear axle: a meter from the swept path.
const RADIUS_M: f64 = 8.0;
const ASIDE_M: f64 = 3.3;

/// Straight, a quarter turn to the left, and straight in through the middle of the gate.
fn way_in() -> Path {
    let straight = |length_m: f64| Segment::arc(length_m, 0.0);
    let quarter = Segment::arc(std::f64::consts::FRAC_PI_2 * RADIUS_M, 1.0 / RADIUS_M);
    let start = State { lead: Pose::new(-RADIUS_M - 10.0, -RADIUS_M - 3.0, 0.0), ..State::default() };
    let segments = vec![straight(10.0), quarter, straight(14.0)];
    Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] }
}

/// Three-sided trees in a square around the gate, clear of the path and of the gate line.
fn trees(edges: u32, half_side_m: f64) -> Vec<Shape> {
    let chain = Chain::of(&pickup());
    let way: Vec<Pose> = way_in().samples(&chain, 0.25).iter().map(|s| s.state.lead).collect();
    let mut random = Random(7);
    let mut shapes = Vec::new();
    while 3 * shapes.len() < edges as usize {
        let at =
            Point::new(random.between(-half_side_m, half_side_m), random.between(-half_side_m, half_side_m));
        // The vehicle reaches 4.65 m ahead of its rear axle.
        let near = |pose: &Pose| {
            let p = pose.to_body(at);
            p.y.abs() < ASIDE_M && p.x > -3.0 && p.x < 6.5
        };
        if at.y.abs() < 1.5 || way.iter().any(near) {
            continue;
        }
        let corners = [0.0, 2.1, 4.2].map(|turn| at + Point::at_angle(turn) * 0.2);
        shapes.push(Shape { outer: Outline(corners.to_vec()), holes: vec![], radius_m: 0.0 });
    }
    shapes
}

/// Two zigzag lines along the path, as thick as a finger.
fn hedge(edges: u32) -> Vec<Shape> {
    let chain = Chain::of(&pickup());
    let path = way_in();
    let step_m = path.length_m() / f64::from(edges / 2) * 0.999;
    let samples = path.samples(&chain, step_m);
    // Long chords cut the corner: the lines stand that much farther away.
    let aside_m = ASIDE_M + 0.2 * step_m * step_m / RADIUS_M;
    let mut shapes = Vec::new();
    for side in [-1.0, 1.0] {
        let points: Vec<Point> = (0_u32..)
            .zip(&samples)
            .map(|(i, s)| s.state.lead.to_site(Point::new(0.0, side * (aside_m + 0.05 * f64::from(i % 2)))))
            // The gate line is left open.
            .filter(|p| p.y.abs() > 1.5)
            .collect();
        for pair in points.windows(2).filter(|pair| pair[0].y * pair[1].y > 0.0) {
            shapes.push(Shape { outer: Outline(pair.to_vec()), holes: vec![], radius_m: 0.01 });
        }
    }
    shapes
}

/// Microseconds of an inspection, and of measuring one pose; both the least of several rounds.
fn cost(shapes: Vec<Shape>, path: &Path) -> (f64, f64) {
    let mut site = standard_site(8.0);
    site.obstacles = vec![Obstacle { label: "tree".to_owned(), shapes, bottom_m: 0.0, top_m: 3.0 }];
    site.fences.clear();
    site.gate.left.x = -4.0;
    site.gate.right.x = 4.0;
    // In the gate's frame, as the path is.
    let middle = site.gate.center();
    for shape in &mut site.obstacles[0].shapes {
        for p in &mut shape.outer.0 {
            *p = *p + middle;
        }
    }
    let model = CollisionModel::new(&pickup(), Surroundings::new(&site, None, 8.0), 0.3, f64::INFINITY);
    let seen = inspect(&model, path);
    assert!(seen.margin_m > 0.2, "the way is clear of what stands: {}", seen.margin_m);
    let chain = &model.chain;
    let poses: Vec<_> = path.samples(chain, 0.025).iter().map(|s| chain.unit_poses(&s.state)).collect();
    let mut scratch = Scratch::default();
    let (mut whole, mut pose) = (f64::INFINITY, f64::INFINITY);
    for _ in 0..ROUNDS {
        let started = Instant::now();
        black_box(inspect(&model, path));
        whole = whole.min(started.elapsed().as_secs_f64());
        let started = Instant::now();
        for at in &poses {
            black_box(model.need(at, &mut scratch));
        }
        #[allow(clippy::cast_precision_loss, reason = "a few thousand")]
        let each = started.elapsed().as_secs_f64() / poses.len() as f64;
        pose = pose.min(each);
    }
    (whole * 1e6, pose * 1e6)
}

fn main() {
    let path = way_in();
    println!("{:44} {:>8} {:>14} {:>12}", "growth", "edges", "inspection us", "pose us");
    let say = |what: &str, shapes: &dyn Fn(u32) -> Vec<Shape>| {
        for edges in EDGES {
            let (whole, pose) = cost(shapes(edges), &path);
            println!("{what:44} {edges:8} {whole:14.0} {pose:12.3}");
        }
    };
    say("trees on ground that grows with them", &|edges| {
        trees(edges, 8.0 + 1.5 * f64::from(edges / 3).sqrt())
    });
    say("trees ever denser on the same ground", &|edges| trees(edges, 40.0));
    say("hedge along the way, ever finer", &hedge);
    println!("{:44} {:>8} {:>14} {:>12}", "growth", "meters", "inspection us", "us a meter");
    for length_m in LENGTHS_M {
        // Straight in, with the same surroundings at every meter: a hedge beside all of it, no gate.
        let mut path = way_in();
        path.legs[0].segments = vec![Segment::arc(length_m, 0.0)];
        path.start.lead = Pose::new(-60.0, -30.0, 0.0);
        let (whole, _) = cost(straight_hedge(), &path);
        println!(
            "{:44} {length_m:8} {whole:14.0} {:12.1}",
            "path, a hedge beside all of it",
            whole / length_m
        );
    }
}

/// A hedge 200 m long beside the straight path, 2.5 m from its middle.
fn straight_hedge() -> Vec<Shape> {
    let point = |i: u32| Point::new(-100.0 + 0.5 * f64::from(i), -27.5);
    (0..400)
        .map(|i| Shape { outer: Outline(vec![point(i), point(i + 1)]), holes: vec![], radius_m: 0.05 })
        .collect()
}
