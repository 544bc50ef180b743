//! Time to unite the footprints of a 10,000-pose path: `cargo bench --bench envelope [-- FILE]`.
//!
//! An 18-ft by 7-ft rectangle goes 20 ft straight, round a quarter turn of 20 ft radius and 20 ft straight, at a skew
//! heading. Prints the median of five rounds for the footprints, and for the whole envelope of the path at both
//! tolerances; and for 1,000 footprints of the path turned along the axes, beside `geo`'s own union of many. (At a skew
//! heading, where the edges of a straight all but coincide, that takes all memory there is.) With a file name the
//! footprints are written there, four corners a line, for `tests/bench/envelope.py`, which times GEOS on them.
use std::fmt::Write as _;
use std::hint::black_box;
use std::time::Instant;
use wideenough::geometry::{Outline, Point, Pose};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::sweep::{Cover, DRAWING_TOLERANCE_M, FINE_TOLERANCE_M, envelope, union_in_order};
use wideenough::vehicle::{Part, PartKind, Steering, Unit, Vehicle};

const FOOT_M: f64 = 0.3048;
const POSES: f64 = 10_000.0;
const FEWER: f64 = 1_000.0;
const SKEW: f64 = 0.3;
const ROUNDS: usize = 5;

fn body() -> Outline {
    let (rear, front, half) = (-3.0 * FOOT_M, 15.0 * FOOT_M, 3.5 * FOOT_M);
    Outline(
        [(rear, -half), (front, -half), (front, half), (rear, half)].map(|(x, y)| Point::new(x, y)).to_vec(),
    )
}

fn vehicle() -> Vehicle {
    let unit = Unit {
        name: "body".to_owned(),
        wheelbase_m: 12.0 * FOOT_M,
        front_overhang_m: 3.0 * FOOT_M,
        rear_overhang_m: 3.0 * FOOT_M,
        width_m: 7.0 * FOOT_M,
        height_m: 2.0,
        ground_clearance_m: 0.2,
        parts: vec![Part { kind: PartKind::Body, outline: body(), bottom_m: 0.2, top_m: 2.0 }],
        tires: vec![],
        hitch: None,
    };
    Vehicle {
        name: "body".to_owned(),
        title: "Body".to_owned(),
        about: String::new(),
        units: vec![unit],
        steering: Steering { lock_angle_rad: 0.6, max_curvature: 0.2, lock_distance_m: 0.0, ratio: None },
        dimensions: vec![],
    }
}

fn path(heading: f64) -> Path {
    let radius_m = 20.0 * FOOT_M;
    let straight = Segment::arc(20.0 * FOOT_M, 0.0);
    let quarter = Segment::arc(std::f64::consts::FRAC_PI_2 * radius_m, 1.0 / radius_m);
    let start = State { lead: Pose::new(0.0, 0.0, heading), ..State::default() };
    Path {
        start,
        legs: vec![Leg { direction: Direction::Forward, segments: vec![straight, quarter, straight] }],
    }
}

/// Median time of several rounds in milliseconds, and the area that all of them give.
fn timed(work: impl Fn() -> f64) -> (f64, f64) {
    let mut times = Vec::new();
    let mut area = 0.0;
    for _ in 0..ROUNDS {
        let begin = Instant::now();
        area = black_box(work());
        times.push(begin.elapsed().as_secs_f64() * 1000.0);
    }
    times.sort_by(f64::total_cmp);
    (times[ROUNDS / 2], area)
}

fn main() {
    use geo::{Area, Coord, LineString, Polygon};
    let (vehicle, path) = (vehicle(), path(SKEW));
    let outline = body();
    let footprint = |pose: &Pose| Outline(outline.0.iter().map(|corner| pose.to_site(*corner)).collect());
    let along = |path: &Path, poses: f64| -> Vec<Outline> {
        let samples = path.samples(&Chain::of(&vehicle), path.length_m() / poses);
        samples.iter().map(|s| footprint(&s.state.lead)).collect()
    };
    let (footprints, fewer) = (along(&path, POSES), along(&self::path(0.0), FEWER));
    if let Some(file) = std::env::args().skip(1).find(|arg| !arg.starts_with("--")) {
        let mut text = String::new();
        for ring in &footprints {
            let numbers = ring.0.iter().flat_map(|p| [p.x, p.y]).map(|v| v.to_string()).collect::<Vec<_>>();
            let _ = writeln!(text, "{}", numbers.join(" "));
        }
        if let Err(error) = std::fs::write(&file, text) {
            eprintln!("{file}: {error}");
            std::process::exit(2);
        }
    }
    let union = |some: &[Outline]| union_in_order(some.to_vec()).expect("a union").unsigned_area();
    let of_geo = || {
        let ring = |outline: &Outline| LineString(outline.0.iter().map(|p| Coord::from(*p)).collect());
        let polygons: Vec<Polygon> = fewer.iter().map(|o| Polygon::new(ring(o), vec![])).collect();
        geo::unary_union(&polygons).unsigned_area()
    };
    let swept = |tolerance_m: f64| {
        envelope(&vehicle, &path, Cover::Body, tolerance_m).expect("an envelope").area_m2()
    };
    let say = |what: &str, (ms, area): (f64, f64)| println!("{what}: {ms:.1} ms, {area:.6} m2");
    say(&format!("union of {} footprints", footprints.len()), timed(|| union(&footprints)));
    say(&format!("union of {} footprints along the axes", fewer.len()), timed(|| union(&fewer)));
    say(&format!("geo's unary union of {} footprints along the axes", fewer.len()), timed(of_geo));
    say("envelope within 5 mm", timed(|| swept(DRAWING_TOLERANCE_M)));
    say("envelope within 1 mm", timed(|| swept(FINE_TOLERANCE_M)));
}
