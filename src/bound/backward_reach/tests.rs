//! Tests that nothing is lost, by driving: arrived states are among the seeds, and states driven from a line to the
//! next, with or without stops on the way, are among those passed on, which are not much more than can be driven.
use super::super::free_space::{Tried, Without};
use super::super::grid::EXIT_RAD;
use super::super::unit::{Body, bodies};
use super::*;
use crate::clearance::{CollisionModel, Surroundings};
use crate::geometry::{Point, Pose};
use crate::motion::advance_lead;
use crate::random::Random;
use crate::search::lane::StartZone;
use crate::site::Faces;
use std::f64::consts::{FRAC_PI_2, PI};

/// A road, and a gate where only its line is closed: a vehicle beyond it has arrived.
const PLAN: &str = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
    { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-80, -9], [80, -9]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "none", "post": "0.2 m" },
      "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
const STEP_M: f64 = 0.15;
const WINDOW_M: f64 = 12.0;
const LEGS: usize = 3;
const FACES: Tried = Tried { tried: Faces::centered(2.8), proven: Faces::centered(2.8) };
const DRIVES: usize = 3000;

/// Random curvature: more often than not full lock.
fn curvature(random: &mut Random, most: f64) -> f64 {
    let turned = if random.one_in(2) { random.between(-1.0, 1.0) } else { 2.0 };
    if random.one_in(2) { turned.min(1.0) * most } else { -turned.min(1.0) * most }
}

/// Drives on from a pose that faces its direction of travel, steering at random, until its p along a direction is `p`.
fn until(from: Pose, ahead: Point, p: f64, most: f64, random: &mut Random) -> Pose {
    let mut at = from;
    loop {
        let (rolled_m, k) = (random.between(0.01, 0.2), curvature(random, most));
        let next = advance_lead(&at, rolled_m, k, k);
        if next.position.dot(ahead) < p {
            at = next;
            continue;
        }
        return arc_to(&at, ahead, p, k);
    }
}

/// Drives on with the wheels held.
fn arc_to(from: &Pose, ahead: Point, p: f64, k: f64) -> Pose {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let short = advance_lead(from, middle, k, k).position.dot(ahead) < p;
        if short { low = middle } else { high = middle }
    }
    advance_lead(from, high, k, k)
}

fn turned_round(pose: Pose) -> Pose {
    Pose { heading: pose.heading + PI, ..pose }
}

/// Node of a pose that faces its direction of travel, with its axle on a line of a frame: line, bin and q.
fn node_of(grid: &Grid, (frame, axes): (usize, (Point, Point)), pose: &Pose) -> (usize, usize, f64) {
    let line = pose.position.dot(axes.0) / STEP_M + to_f64(grid.lines);
    assert!((line - line.round()).abs() < 1e-6, "not on a line: {line}");
    let u = trig::sin(pose.heading - to_f64(frame) * TURN_RAD);
    let bin = count_down(u / grid.bin + 0.5 * to_f64(grid.bins));
    (count_down(line + 0.5), bin, pose.position.dot(axes.1))
}

/// First line ahead of a place.
fn next_p(position: Point, ahead: Point) -> f64 {
    STEP_M * ((position.dot(ahead) / STEP_M + 1e-9).floor() + 1.0)
}

/// Each unit of two vehicles, with its grid.
fn each_unit(mut look: impl FnMut(&CollisionModel, &Body, &Grid)) {
    let site = crate::site::read(PLAN, "plan").unwrap();
    for name in ["pickup", "gooseneck-horse-40"] {
        let vehicle = crate::vehicle::find(name).unwrap();
        let model = CollisionModel::new(&vehicle, Surroundings::new(&site, None, 0.0), 0.0, f64::INFINITY);
        for body in bodies(&vehicle, &model, false) {
            let grid = Grid::new(STEP_M, 3, body.curvature, WINDOW_M, LEGS);
            look(&model, &body, &grid);
        }
    }
}

/// A unit that just arrived, turned any way within 65 degrees, its lowest corner anywhere between the faces, moved
/// there in the last leg alone, or in two or three of which only the first crossed a line.
#[test]
fn what_arrives_is_among_the_seeds() {
    let mut random = Random(11);
    each_unit(|model, body, grid| {
        let mut terrain = FreeSpace::new((model, body), grid, &FACES, &Without::Nothing);
        let mut drives = 0;
        while drives < DRIVES {
            let mut tail = random.one_in(2);
            let nose = if tail { FRAC_PI_2 } else { -FRAC_PI_2 } + random.between(-1.13, 1.13);
            let lowest_of = |nose: &Pose| {
                let corners = body.parts.iter().flat_map(|part| &part.corners).map(|p| nose.to_site(*p));
                corners.min_by(|a, b| a.y.total_cmp(&b.y)).expect("corners")
            };
            let lowest = lowest_of(&Pose { position: Point::default(), heading: nose });
            let u =
                if random.one_in(2) { random.between(-1.4, 1.4) } else { 1.4 * curvature(&mut random, 1.0) };
            let mut back = Pose { position: Point::new(u, 0.0) - lowest, heading: nose };
            if tail {
                back = turned_round(back);
            }
            let frame = |pose: &Pose| (pose.heading / TURN_RAD).round().rem_euclid(8.0);
            let mut frame = count_down(frame(&back) + 0.5) % FRAMES;
            let steps = 1 + random.below(LEGS);
            for _ in 1..steps {
                // Out short of the next line, and the other way.
                let (ahead, _) = terrain.axes[frame];
                let p = back.position.dot(ahead);
                let part = p + random.between(0.0, 1.0) * (next_p(back.position, ahead) - p);
                back = turned_round(until(back, ahead, part, body.curvature, &mut random));
                (frame, tail) = ((frame + FRAMES / 2) % FRAMES, !tail);
            }
            let axes = terrain.axes[frame];
            let crosses = until(back, axes.0, next_p(back.position, axes.0), body.curvature, &mut random);
            // A path that was beyond the gate before would have ended there.
            if lowest_of(&if tail { turned_round(crosses) } else { crosses }).y > 0.0 {
                continue;
            }
            drives += 1;
            let (line, bin, q) = node_of(grid, (frame, axes), &crosses);
            let seeds = terrain.seeds((tail, steps), (frame, line, bin));
            let held = seeds.is_some_and(|(from, to)| from <= q + 1e-9 && q <= to + 1e-9);
            assert!(held, "drive {drives}, {steps} steps: {q} of {seeds:?}, lowest corner at {u}");
        }
    });
}

/// From any state on a line: straight on to the next line of its frame or of the one it is handed to; out and back; and out,
/// back a little and on.
#[test]
fn what_is_driven_is_passed_on() {
    let legs = Legs {
        directions: vec![Direction::Forward, Direction::Reverse, Direction::Forward],
        first_keeps_out: false,
    };
    let far = Lane::new(vec![Point::new(-900.0, -900.0), Point::new(-800.0, -900.0)], (0.0, 0.0));
    let mut random = Random(12);
    each_unit(|model, body, grid| {
        let most = body.curvature;
        let terrain = FreeSpace::new((model, body), grid, &FACES, &Without::Nothing);
        let mut reach = BackwardReach::new(grid, terrain, &legs, (&far, 0.0), u64::MAX);
        let (mut drives, mut handed, mut wider) = (0, 0, [0.0_f64; 3]);
        while drives < DRIVES {
            reach.index.fill(u32::MAX);
            reach.nodes.clear();
            reach.open = false;
            let frame = random.below(FRAMES);
            let mut angle = random.between(-EXIT_RAD, EXIT_RAD);
            if random.one_in(2) {
                // About where it leaves the frame.
                angle = EXIT_RAD.copysign(angle) + random.between(-0.04, 0.04);
            }
            let axes = reach.terrain.axes[frame];
            let line = grid.lines + random.below(20) - 10;
            let q = random.between(-5.0, 5.0);
            let from = Pose {
                position: axes.0 * grid.line_p(line) + axes.1 * q,
                heading: to_f64(frame) * TURN_RAD + angle,
            };
            let (_, bin, _) = node_of(grid, (frame, axes), &from);
            let side = grid.exit(bin);
            reach.pass_on(2, frame, line, bin, (q, q));
            assert!(!reach.open);
            let held = |leg: usize, frame: usize, pose: &Pose| {
                let (line, bin, q) = node_of(grid, (frame, reach.terrain.axes[frame]), pose);
                let row = (leg * FRAMES + frame) * grid.all_lines() + line;
                let node = reach.nodes.get(reach.index[row * grid.bins + bin] as usize);
                let told = node.map_or(&[][..], |node| &node.pending);
                let held = told.iter().any(|(a, b)| *a <= q + 1e-9 && q <= *b + 1e-9);
                assert!(held, "leg {leg}, frame {frame}: {q} of {told:?}, from frame {frame} bin {bin}");
            };
            let target = match side {
                0 => frame,
                1 => (frame + 1) % FRAMES,
                _ => (frame + FRAMES - 1) % FRAMES,
            };
            let ahead = reach.terrain.axes[target].0;
            held(2, target, &until(from, ahead, next_p(from.position, ahead), most, &mut random));
            // Out, short of the next line, and back again.
            let (here, next) = (grid.line_p(line), grid.line_p(line + 1));
            let out = until(from, axes.0, random.between(here, next), most, &mut random);
            let back = turned_round(out);
            held(1, (frame + FRAMES / 2) % FRAMES, &until(back, -axes.0, -here, most, &mut random));
            // Or not as far back, and on to the next line.
            let part = random.between(here, out.position.dot(axes.0));
            let on = turned_round(until(back, -axes.0, -part, most, &mut random));
            held(0, frame, &until(on, axes.0, next, most, &mut random));
            // The intervals passed on are not much more than can be driven at full lock from the edges of the bin.
            let told = |leg: usize, frame: usize, line: usize, bin: usize| {
                let row = (leg * FRAMES + frame) * grid.all_lines() + line;
                let node = reach.nodes.get(reach.index[row * grid.bins + bin] as usize);
                node.map_or(0.0, |node| node.pending.iter().map(|(a, b)| b - a).fold(0.0, f64::max))
            };
            let sides = [(grid.edge(bin), -most), (grid.edge(bin + 1), most)];
            let sides = sides.map(|(u, k)| {
                let heading = to_f64(frame) * TURN_RAD + trig::asin(u);
                (Pose { heading, ..from }, k)
            });
            if side != 0 {
                let p = next_p(from.position, ahead);
                let ends = sides.map(|(pose, k)| arc_to(&pose, ahead, p, k));
                let seen = (ends[0].position - ends[1].position).norm();
                let (line, bin, _) = node_of(grid, (target, reach.terrain.axes[target]), &ends[0]);
                wider[0] = wider[0].max((told(2, target, line, bin) - 4.0 * SLACK_M) / seen);
            }
            let ends = sides.map(|(_, k)| {
                let out = turned_round(arc_to(&from, axes.0, next, k));
                arc_to(&out, -axes.0, -here, k)
            });
            let seen = (ends[0].position - ends[1].position).norm();
            let opposite = (frame + FRAMES / 2) % FRAMES;
            let (line, bin, _) = node_of(grid, (opposite, reach.terrain.axes[opposite]), &ends[0]);
            wider[1] = wider[1].max((told(1, opposite, line, bin) - 4.0 * SLACK_M) / seen);
            // Out, back and on, turned to one side or the other all the way.
            let ends = sides.map(|(pose, k)| {
                let back = turned_round(arc_to(&pose, axes.0, next, k));
                arc_to(&turned_round(arc_to(&back, -axes.0, -here, k)), axes.0, next, k)
            });
            let seen = (ends[0].position - ends[1].position).norm();
            let (line, bin, _) = node_of(grid, (frame, axes), &ends[0]);
            wider[2] = wider[2].max((told(0, frame, line, bin) - 4.0 * SLACK_M) / seen);
            drives += 1;
            handed += usize::from(side != 0);
        }
        println!("handed over, out and back, on again: {wider:.2?} times as wide as driven");
        // The allowance for stops grows with the turn: most for a trailer that turns in two meters.
        let most_wide = if body.curvature * STEP_M < 0.05 { 8.0 } else { 20.0 };
        assert!(wider[0] < 2.5 && wider[1] < 4.0 && wider[2] < most_wide, "{wider:?}");
        assert!(handed > DRIVES / 10, "{handed} handed to another frame");
    });
}

/// A state that turns out of a frame ahead of the last known line, or behind the first, counts as escaped.
#[test]
fn beyond_the_window_is_away() {
    let legs = Legs { directions: vec![Direction::Forward], first_keeps_out: false };
    let far = Lane::new(vec![Point::new(-900.0, -900.0), Point::new(-800.0, -900.0)], (0.0, 0.0));
    each_unit(|model, body, grid| {
        let terrain = FreeSpace::new((model, body), grid, &FACES, &Without::Nothing);
        let mut reach = BackwardReach::new(grid, terrain, &legs, (&far, 0.0), u64::MAX);
        let exit =
            |left: bool| (0..grid.bins).filter(move |bin| grid.exit(*bin) == if left { 1 } else { -1 });
        let bins = [exit(false).max().expect("a bin"), exit(true).min().expect("a bin")];
        for (bin, side) in bins.into_iter().zip([-1.0, 1.0]) {
            for line in [grid.lines, grid.all_lines() - 1 - grid.lines / 4] {
                // This far ahead in the neighboring frame: p' = (p ± q)/√2.
                for (ahead_m, away) in [
                    (WINDOW_M - 1.5 * STEP_M, false),
                    (WINDOW_M - 0.5 * STEP_M, true),
                    (WINDOW_M + 0.5 * STEP_M, true),
                    (WINDOW_M + 1.5 * STEP_M, true),
                    (0.1 - WINDOW_M, false),
                    (-0.1 - WINDOW_M, true),
                ] {
                    let q = side * (ahead_m * 2.0_f64.sqrt() - grid.line_p(line));
                    reach.open = false;
                    reach.pass_on(0, 0, line, bin, (q, q));
                    assert_eq!(reach.open, away, "{ahead_m} ahead, side {side}, line {line}");
                }
            }
        }
    });
}

/// A vehicle that stands in a zone of its lane, straight or as on a curve, is met as a start on the next line behind it; two
/// millimeters beside the play it is not, nor two lines before or after the zone, nor past where starts are upstream, nor
/// with the lead's axle inside a gate its lane runs through.
#[test]
fn every_start_is_met_and_nothing_beside() {
    let legs = Legs { directions: vec![Direction::Forward], first_keeps_out: false };
    let line = |points: &[(f64, f64)]| points.iter().map(|(x, y)| Point::new(*x, *y)).collect();
    let bent = Lane::new(line(&[(-9.0, -9.0), (0.0, -9.0), (9.0, -5.5)]), (-0.4, 0.3));
    let through = Lane::new(line(&[(0.3, -9.0), (0.0, 9.0)]), (-0.2, 0.2));
    let turned = StartZone { turned_rad: 0.1, ..StartZone::straight((3.0, 12.0), (-0.4, 0.3)) };
    let in_zone = Lane { zones: vec![turned], ..bent.clone() };
    let upstream = Lane { upstream_m: 7.0, ..bent.clone() };
    let mut random = Random(13);
    each_unit(|model, body, grid| {
        let lanes = [
            (&bent, (-3.0, 21.0)),
            (&through, (-3.0, 21.0)),
            (&in_zone, (3.0, 12.0)),
            (&upstream, (-3.0, 7.0)),
        ];
        for (lane, stretch) in lanes {
            let runs_in = lane == &through;
            let terrain = FreeSpace::new((model, body), grid, &FACES, &Without::Nothing);
            let reach = BackwardReach::new(grid, terrain, &legs, (lane, body.lead_ahead_m), u64::MAX);
            let (mut met, mut missed) = (0, 0);
            for _ in 0..DRIVES {
                let station = random.between(-3.0, 21.0);
                let at_an_end = |end: f64| (station - end).abs() < 3.0 * STEP_M;
                if at_an_end(stretch.0) || at_an_end(stretch.1) {
                    continue;
                }
                let (low, high) = lane.play_m;
                let beside = if random.one_in(2) { low - 0.002 } else { high + 0.002 };
                for (offset, within) in [(random.between(low, high), true), (beside, false)] {
                    let lead = lane.start(&lane.zones[0], station, offset).lead;
                    let axle = lead.to_site(Point::new(-body.lead_ahead_m, 0.0));
                    let back = turned_round(Pose { position: axle, ..lead });
                    let frame = count_down((back.heading / TURN_RAD).rem_euclid(8.0) + 0.5) % FRAMES;
                    let axes = reach.terrain.axes[frame];
                    let p = next_p(axle, axes.0);
                    if p.abs() > WINDOW_M - STEP_M {
                        continue;
                    }
                    let crosses = arc_to(&back, axes.0, p, 0.0);
                    let (line, bin, q) = node_of(grid, (frame, axes), &crosses);
                    // Starts inside, but within two lines of the front, may count.
                    let inside = runs_in && lead.position.y > reach.terrain.front_v;
                    if inside && lead.position.y < reach.terrain.front_v + 4.0 * STEP_M {
                        continue;
                    }
                    let in_stretch = station > stretch.0 && station < stretch.1;
                    // A vehicle turned from its lane that stands beside the play of one station is within that of others.
                    if lane == &in_zone && !within && in_stretch {
                        continue;
                    }
                    let is_met = reach.meets_start(frame, line, bin, &[(q, q)]);
                    let starts = within && in_stretch && !inside;
                    assert_eq!(is_met, starts, "{station}, {offset} aside, lead at {lead:?}");
                    if is_met { met += 1 } else { missed += 1 }
                }
            }
            assert!(met > 100 && missed > 200, "{met} {missed}");
        }
    });
}
