//! Poses per second of the clearance kernel: the speed at which one pose's need and margins are measured, and its share
//! of the machine's peak arithmetic.
//!
//! `cargo bench --bench kernel` prints a line per vehicle: the examples' rural entrance with its ditches and leaves.
//! Operations are counted by following the kernel's steps on the same poses: every addition, multiplication, division,
//! root and comparison of two numbers counts one. The machine's peak is measured in the same run: sixteen independent
//! chains of a multiplication and an addition each, which the compiler vectorizes two by two.
use std::hint::black_box;
use std::time::Instant;
use wideenough::clearance::{
    AMPLE_M, CollisionModel, FixedPiece, ModelPart, Scratch, SideOfGate, Surroundings,
};
use wideenough::geometry::{Point, Pose};
use wideenough::motion::State;
use wideenough::vehicle::MAX_UNITS;

const POSES: u32 = 2_000;
/// Number of short rounds, of which the fastest is reported: some are not disturbed by whatever else runs.
const ROUNDS: usize = 200;
const VEHICLES: [&str; 7] = [
    "car",
    "pickup",
    "box-truck-26",
    "motorhome",
    "fire-engine",
    "pickup-bumper-pull-20",
    "gooseneck-horse-40",
];

/// Placing a point: two multiplications and two additions for each coordinate.
const PLACE: f64 = 8.0;
/// Sine and cosine together: two polynomials and the reduction of the angle.
const SIN_COS: f64 = 45.0;
/// Reach of an outline within a band, per corner: its level against the band and its growth, the edge moved out and
/// intersected with both of the band's edges.
const REACH: f64 = 30.0;
/// Two boxes or a box and a band.
const BOXES: f64 = 6.0;
/// Two circles: the distance with its root, and the subtractions from it.
const CIRCLES: f64 = 10.0;
/// Two circles without the root.
const SQUARES: f64 = 8.0;
/// A corner against an edge's line.
const SIDE: f64 = 5.0;
/// The next corner of a Minkowski difference: a difference, two edges and their cross product.
const MERGE: f64 = 10.0;

fn main() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/rural-entrance.geojson");
    let Ok(text) = std::fs::read_to_string(file) else { return println!("cannot read {file}") };
    let Ok(site) = wideenough::site::read(&text, file) else { return println!("cannot use {file}") };
    let peak = peak();
    println!("arithmetic of the machine: {:.2} thousand million operations a second, one thread", peak / 1e9);
    println!(
        "{:24} {:>6} {:>12} {:>12} {:>12} {:>8}",
        "kernel", "parts", "million/s", "ns a pose", "operations", "of peak"
    );
    for name in VEHICLES {
        let Ok(vehicle) = wideenough::vehicle::find(name) else { return println!("no {name}") };
        let surroundings = Surroundings::new(&site, None, site.gate.opening_m());
        let model = CollisionModel::new(&vehicle, surroundings, 0.3, 12.0);
        let states: Vec<State> = (0..POSES)
            .map(|i| {
                // On a line in through the gate, slightly askew: all of it near posts, leaves and ditches.
                let part = f64::from(i) / f64::from(POSES);
                let lead = Pose::new(0.3 - 0.6 * part, -9.0 + 22.0 * part, 1.4 + 0.3 * part);
                State { lead, hitch: [0.3 - 0.4 * part, 0.0, 0.0], curvature: 0.0 }
            })
            .collect();
        let mut scratch = Scratch::default();
        let mut seconds = f64::INFINITY;
        for _ in 0..ROUNDS {
            let started = Instant::now();
            for state in &states {
                black_box(model.need(&model.chain.unit_poses(state), &mut scratch));
            }
            seconds = seconds.min(started.elapsed().as_secs_f64());
        }
        let each = seconds / f64::from(POSES);
        let counted: Vec<f64> = states.iter().map(|s| operations(&model, s)).collect();
        #[allow(clippy::cast_precision_loss, reason = "a few thousand")]
        let operations = counted.iter().sum::<f64>() / counted.len() as f64;
        println!(
            "{name:24} {:6} {:12.2} {:12.0} {operations:12.0} {:7.0}%",
            model.parts.len(),
            1e-6 / each,
            1e9 * each,
            100.0 * operations / each / peak
        );
    }
}

/// Operations per second of independent multiplications and additions.
fn peak() -> f64 {
    const TIMES: u32 = 100_000;
    let mut best: f64 = 0.0;
    for _ in 0..ROUNDS {
        let mut chains = black_box([1.0_f64; 16]);
        let (times, plus) = black_box((0.999_999, 1e-6));
        let started = Instant::now();
        for _ in 0..TIMES {
            for x in &mut chains {
                *x = *x * times + plus;
            }
        }
        black_box(chains);
        best = best.max(32.0 * f64::from(TIMES) / started.elapsed().as_secs_f64());
    }
    best
}

fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// Operations of measuring one state, following the steps of [`CollisionModel::need`].
fn operations(model: &CollisionModel, state: &State) -> f64 {
    let poses = model.chain.unit_poses(state);
    // A towed unit's pose: sines and cosines of two angles, and its hitch and axle.
    let towed = count(model.chain.towed_count());
    let mut sum = (1.0 + towed) * SIN_COS + towed * (2.0 * SIN_COS + 2.0 * PLACE);
    let mut scratch = Scratch::default();
    let mut seen = [f64::INFINITY, f64::INFINITY];
    let mut margin_m = AMPLE_M;
    // For each unit, its circle against those of all pieces, and the depth of the gate.
    sum +=
        count(model.units.len()) * (2.0 * PLACE + BOXES + SQUARES * count(model.surroundings.standing.len()));
    for part in &model.parts {
        let corners: Vec<Point> = part.corners.iter().map(|p| poses[part.unit].to_site(*p)).collect();
        let n = count(corners.len());
        // The part's corners and middle; least and largest of both coordinates.
        sum += (n + 1.0) * PLACE + 4.0 * n;
        for ((side, lists), (sign, face)) in
            [(&model.surroundings.left, &part.left), (&model.surroundings.right, &part.right)]
                .into_iter()
                .zip([-1.0, 1.0].into_iter().zip(&mut seen))
        {
            sum += side_operations(model, side, lists, &corners, sign, face);
        }
        let one = alone(model, part, &poses, &mut scratch);
        sum += standing_operations(model, part, &poses, &corners, margin_m);
        margin_m = margin_m.min(one);
    }
    sum
}

/// Margin of one part by itself.
fn alone(model: &CollisionModel, part: &ModelPart, poses: &[Pose; MAX_UNITS], scratch: &mut Scratch) -> f64 {
    model.with_parts(vec![part.clone()]).need(poses, scratch).margin_m
}

/// Operations for the bands and blocks behind one face; `face` is how far out it is known to stand.
fn side_operations(
    model: &CollisionModel,
    side: &SideOfGate,
    (bands, blocks): &(Vec<usize>, Vec<usize>),
    corners: &[Point],
    sign: f64,
    face: &mut f64,
) -> f64 {
    let (n, grow) = (count(corners.len()), model.clearance_m);
    let low = corners.iter().map(|p| p.y).fold(f64::INFINITY, f64::min) - grow;
    let high = corners.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max) + grow;
    let reaches = corners.iter().map(|p| -sign * p.x).fold(f64::INFINITY, f64::min) - grow;
    let mut sum = 0.0;
    for band in bands.iter().map(|i| &side.bands[*i]) {
        sum += BOXES;
        if low <= band.high && high >= band.low && reaches < *face {
            sum += n * REACH;
            *face = face.min(reaches.max(-60.0));
        }
    }
    for block in blocks.iter().map(|i| &side.blocks[*i]) {
        sum += BOXES;
        if low <= block.high.y && high >= block.low.y {
            let all = n + count(block.corners.len());
            sum += if block.is_rectangle { n * REACH } else { all * (MERGE + REACH) };
        }
    }
    sum
}

/// Operations for the fixed pieces: circles first, then beyond one of the piece's edges, then all edges of both.
fn standing_operations(
    model: &CollisionModel,
    part: &ModelPart,
    poses: &[Pose; MAX_UNITS],
    corners: &[Point],
    margin_m: f64,
) -> f64 {
    let (n, center) = (count(corners.len()), poses[part.unit].to_site(part.center));
    let mut sum = 0.0;
    let unit = model.units.iter().find(|unit| unit.unit == part.unit);
    let near = |piece: &&FixedPiece| {
        let within_m = |reach_m: f64| reach_m + model.clearance_m + AMPLE_M + piece.reach_m;
        unit.is_none_or(|u| poses[u.unit].to_site(u.center).distance(piece.center) <= within_m(u.reach_m))
    };
    for piece in part.standing.iter().map(|i| &model.surroundings.standing[*i]).filter(near) {
        sum += CIRCLES;
        let apart = center.distance(piece.center) - part.reach_m - piece.reach_m;
        if apart - model.clearance_m >= margin_m {
            continue;
        }
        let enough = margin_m + model.clearance_m + piece.radius_m;
        let least = |outward: Point, offset: f64| {
            corners.iter().map(|c| c.dot(outward) - offset).fold(f64::INFINITY, f64::min)
        };
        let beyond = piece.faces.iter().position(|&(outward, offset)| least(outward, offset) >= enough);
        // A face that some corner is not beyond is given up at about half of the corners.
        let given_up = count(beyond.unwrap_or(piece.faces.len()));
        sum += 0.5 * given_up * n * SIDE;
        if beyond.is_some() {
            sum += n * SIDE;
        } else {
            let m = count(piece.corners.len());
            sum += 2.0 * n * m * SIDE + (n + m) * 8.0;
        }
    }
    sum
}
