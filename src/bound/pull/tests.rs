//! Tests that nothing is lost, by driving a lead with its towed unit: a vehicle that enters the rectangle is among the
//! seeds, states driven from a line to the next are passed on, and states removed from a cell overlap something.
use super::super::pieces::{Tried, Without, pieces};
use super::super::unit::bodies;
use super::*;
use crate::clearance::{CollisionModel, Surroundings};
use crate::geometry::{Pose, distance};
use crate::motion::{Chain, State};
use crate::random::Random;
use crate::search::Problem;
use crate::site::{Faces, Maneuver};

/// A road, and a gate with posts in a fence.
const PLAN: &str = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
    { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-80, -9], [80, -9]] } },
    { "type": "Feature", "properties": { "role": "fence", "thickness": 0.4 },
      "geometry": { "type": "LineString", "coordinates": [[-80, 0], [-2, 0]] } },
    { "type": "Feature", "properties": { "role": "fence", "thickness": 0.4 },
      "geometry": { "type": "LineString", "coordinates": [[2, 0], [80, 0]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "none", "post": "0.4 m" },
      "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
const STEP_M: f64 = 0.3;
const CELL_M: f64 = 0.1;
const FACES: Tried = Tried { tried: Faces::centered(3.6), proven: Faces::centered(3.6) };
const DRIVES: usize = 4000;

/// Random curvature: more often than not full lock.
fn curvature(random: &mut Random, most: f64) -> f64 {
    random.between(-2.0, 2.0).clamp(-1.0, 1.0) * most
}

/// Calls `look` for each of a few rigs, with a run prepared.
fn each_rig(mut look: impl FnMut(&Chain, &[super::super::pieces::Piece], Pull)) {
    let site = crate::site::read(PLAN, "plan").unwrap();
    for name in ["gooseneck-horse-40", "pickup-bumper-pull-20", "car-boat-trailer"] {
        let vehicle = crate::vehicle::find(name).unwrap();
        let surroundings = Surroundings::new(&site, None, 0.0);
        let model = CollisionModel::new(&vehicle, surroundings.clone(), 0.0, f64::INFINITY);
        let lane = Lane::new(vec![Point::new(-80.0, -9.0), Point::new(80.0, -9.0)], (-0.3, 0.3));
        let problem = Problem {
            vehicle: &vehicle,
            surroundings: &surroundings,
            lane: &lane,
            maneuver: Maneuver::DriveIn,
            shunts: 0,
            clearance_m: 0.0,
            spot: None,
        };
        let body = bodies(&vehicle, &model, false).swap_remove(0);
        let rig = Rig::of(&problem, &model, &body).unwrap_or_else(|| panic!("{name} is not followed"));
        let grid = Grid::new(STEP_M, 3, rig.lead.curvature, 16.0, 2);
        let terrain = FreeSpace::new((&model, &rig.lead), &grid, &FACES, &Without::Nothing);
        let around = pieces(&model, &rig.parts, (&FACES, &Without::Nothing), 60.0);
        let contacts = |slip: &Slip| Contacts::new(&rig.towed, &rig.parts, &around, slip, CELL_M);
        let pull = Pull::new(&rig, &grid, terrain, contacts, (CELL_M, u64::MAX));
        look(&Chain::of(&vehicle), &around, pull);
    }
}

/// Heading of the towed unit once the lead has turned on the spot from one heading to another.
fn turned_on_the_spot(rig: &Rig, psi: f64, from: f64, to: f64) -> f64 {
    const PARTS: u32 = 64;
    let (mut theta, mut psi) = (from, psi);
    let turn = (to - from) / f64::from(PARTS);
    let rate = |theta: f64, psi: f64| -rig.towed.behind_m / rig.towed.wheelbase_m * trig::cos(theta - psi);
    for _ in 0..PARTS {
        let middle = psi + 0.5 * turn * rate(theta, psi);
        psi += turn * rate(theta + 0.5 * turn, middle);
        theta += turn;
    }
    psi
}

/// Drives on forward, steering at random, until the lead's p along a direction is `p`.
fn until(chain: &Chain, from: &State, ahead: Point, p: f64, most: f64, random: &mut Random) -> State {
    let mut at = *from;
    loop {
        let (rolled_m, k) = (random.between(0.01, 0.25), curvature(random, most));
        let next = chain.advance(&at, rolled_m, k, k);
        if next.lead.position.dot(ahead) < p {
            at = next;
            continue;
        }
        let (mut low, mut high) = (0.0, rolled_m);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            let short = chain.advance(&at, middle, k, k).lead.position.dot(ahead) < p;
            if short { low = middle } else { high = middle }
        }
        return chain.advance(&at, high, k, k);
    }
}

/// Node of a state whose lead stands on a line of a frame, q, and the towed unit's heading as the cells have it.
fn node_of(pull: &Pull, frame: usize, state: &State) -> ((usize, usize, usize), f64, f64) {
    let (ahead, left) = pull.terrain.axes[frame];
    let line = state.lead.position.dot(ahead) / STEP_M + to_f64(pull.grid.lines);
    assert!((line - line.round()).abs() < 1e-6, "not on a line: {line}");
    let theta = crate::geometry::wrap_angle(state.lead.heading - to_f64(frame) * TURN_RAD);
    let bin = count_down(trig::sin(theta) / pull.grid.bin + 0.5 * to_f64(pull.grid.bins));
    let told = turned_on_the_spot(pull.rig, theta - state.hitch[0], theta, pull.middles[bin].0);
    ((frame, count_down(line + 0.5), bin), state.lead.position.dot(left), told)
}

/// Band of headings at q in a node.
fn headings_at(pull: &Pull, (frame, line, bin): (usize, usize, usize), q: f64) -> Option<Interval> {
    let row = frame * pull.grid.all_lines() + line;
    let node = pull.nodes.get(pull.index[row * pull.grid.bins + bin] as usize)?;
    let cells = [q - 1e-9, q + 1e-9].map(|q| super::super::strip::cell_of(q, CELL_M));
    let held = cells.into_iter().filter_map(|number| {
        let cell = node.pending.get(number);
        let from = f64::from(number) * CELL_M;
        let at = |ends: &[f64; 2]| value(ends, q, from, CELL_M);
        let here = cell.place.0 <= q + 1e-9 && q <= cell.place.1 + 1e-9;
        here.then(|| (at(&cell.low), at(&cell.high)))
    });
    held.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

/// From any place of a cell, with the heading its bounds give there: on to the next line of its frame or of the one it is
/// handed to.
#[test]
fn what_is_driven_is_passed_on() {
    let mut random = Random(21);
    each_rig(|chain, _, mut pull| {
        let (mut handed, mut widest) = (0, 0.0_f64);
        for drive in 0..DRIVES {
            pull.index.fill(u32::MAX);
            pull.nodes.clear();
            pull.agenda.iter_mut().for_each(Vec::clear);
            let frame = random.below(FRAMES);
            let (ahead, left) = pull.terrain.axes[frame];
            let line = pull.grid.lines + random.below(20) - 10;
            let handing = drive % 3 == 0;
            let angle = if handing {
                EXIT_RAD.copysign(random.between(-1.0, 1.0)) + random.between(-0.04, 0.04)
            } else {
                random.between(-EXIT_RAD, EXIT_RAD)
            };
            let bin = count_down(trig::sin(angle) / pull.grid.bin + 0.5 * to_f64(pull.grid.bins));
            let number = i32::try_from(random.below(60)).unwrap() - 30;
            let from = f64::from(number) * CELL_M;
            // Bounds of no width, at a slope.
            let psi = pull.middles[bin].0 - random.between(-1.2, 1.2);
            let slope = random.between(-0.6, 0.6) * CELL_M;
            let ends = [psi, psi + slope];
            let cell = Cell { place: (from, from + CELL_M), low: ends, high: ends };
            let q = from + random.between(0.0, CELL_M);
            let heading = pull.middles[bin].0;
            let psi = turned_on_the_spot(pull.rig, value(&ends, q, from, CELL_M), heading, angle);
            let lead = Pose {
                position: ahead * pull.grid.line_p(line) + left * q,
                heading: to_f64(frame) * TURN_RAD + angle,
            };
            let state = State { lead, hitch: [angle - psi, 0.0, 0.0], ..State::default() };
            pull.pass_on((frame, line, bin), &[(number, cell)]);
            assert!(!pull.open);
            let next = match pull.grid.exit(bin) {
                0 => frame,
                1 => (frame + 1) % FRAMES,
                _ => (frame + FRAMES - 1) % FRAMES,
            };
            handed += usize::from(next != frame);
            let axis = pull.terrain.axes[next].0;
            let p = STEP_M * ((lead.position.dot(axis) / STEP_M + 1e-9).floor() + 1.0);
            let there = until(chain, &state, axis, p, pull.grid.curvature, &mut random);
            let (node, q, psi) = node_of(&pull, next, &there);
            let told = headings_at(&pull, node, q);
            let held = told.is_some_and(|(low, high)| low - 1e-9 <= psi && psi <= high + 1e-9);
            assert!(held, "drive {drive} from {frame} {line} {bin} to {node:?}: {psi} of {told:?} at {q}");
            if let Some((low, high)) = told.filter(|_| next == frame && slope.abs() < 0.2 * CELL_M) {
                widest = widest.max(high - low);
            }
        }
        println!("{handed} handed on; a bound of no width is told {widest:.5} rad wide");
        // Allowance to either side for a lead that goes anywhere its bins allow.
        assert!(widest < 0.025, "{widest}");
        assert!(handed > DRIVES / 10, "{handed} handed to another frame");
    });
}

/// A vehicle that crosses a side of the rectangle in front of the gate, turned and bent in any way, is among the seeds
/// on the first line it crosses then.
#[test]
fn whoever_comes_in_is_seeded() {
    let mut random = Random(22);
    each_rig(|chain, _, mut pull| {
        let Region { aside_m, bottom_v, .. } = pull.rig.region;
        for into in [Point::new(1.0, 0.0), Point::new(-1.0, 0.0), Point::new(0.0, 1.0)] {
            pull.index.fill(u32::MAX);
            pull.nodes.clear();
            pull.agenda.iter_mut().for_each(Vec::clear);
            pull.seed_border(into);
            for drive in 0..DRIVES {
                let along = random.between(bottom_v, 0.0);
                let position = if into.x == 0.0 {
                    Point::new(random.between(-aside_m, aside_m), bottom_v)
                } else {
                    Point::new(-into.x * aside_m, along)
                };
                let lead = Pose { position, heading: into.angle() + random.between(-1.57, 1.57) };
                let most = pull.rig.towed.limit_rad.min(3.0);
                let state =
                    State { lead, hitch: [random.between(-most, most), 0.0, 0.0], ..State::default() };
                let frame = count_down((lead.heading / TURN_RAD).round().rem_euclid(8.0) + 0.5) % FRAMES;
                let axis = pull.terrain.axes[frame].0;
                let p = STEP_M * ((position.dot(axis) / STEP_M + 1e-9).floor() + 1.0);
                let there = until(chain, &state, axis, p, pull.grid.curvature, &mut random);
                let at = there.lead.position;
                if at.x.abs() > aside_m || at.y < bottom_v || there.hitch[0].abs() > most {
                    continue;
                }
                let (node, q, psi) = node_of(&pull, frame, &there);
                let told = headings_at(&pull, node, q);
                let held = told.is_some_and(|(low, high)| low <= psi && psi <= high);
                assert!(held, "drive {drive} into {into:?}: {node:?} {q} {psi} of {told:?}");
            }
        }
    });
}

/// A vehicle that starts straight in a lane that comes past at some angle, anywhere along it and within its play, is
/// among the seeds on the first line it crosses then.
#[test]
fn whoever_starts_is_seeded() {
    let mut random = Random(24);
    each_rig(|chain, _, mut pull| {
        let Region { aside_m, bottom_v, .. } = pull.rig.region;
        for turned in [0.0, 0.35, -0.5, 2.9] {
            let (along, middle) = (Point::at_angle(turned), Point::new(0.5, -6.0));
            let lane = Lane::new(vec![middle - along * 60.0, middle + along * 60.0], (-0.3, 0.2));
            pull.index.fill(u32::MAX);
            pull.nodes.clear();
            pull.agenda.iter_mut().for_each(Vec::clear);
            pull.seed_starts(&lane);
            for drive in 0..DRIVES {
                let lead = lane.pose(random.between(40.0, 80.0), random.between(-0.3, 0.2));
                let at = lead.position;
                if at.x.abs() > aside_m || at.y < bottom_v || at.y > 0.0 {
                    continue;
                }
                let state = State { lead, ..State::default() };
                let frame = count_down((lead.heading / TURN_RAD).round().rem_euclid(8.0) + 0.5) % FRAMES;
                let axis = pull.terrain.axes[frame].0;
                let p = STEP_M * ((at.dot(axis) / STEP_M + 1e-9).floor() + 1.0);
                let there = until(chain, &state, axis, p, pull.grid.curvature, &mut random);
                let (node, q, psi) = node_of(&pull, frame, &there);
                let told = headings_at(&pull, node, q);
                let held = told.is_some_and(|(low, high)| low <= psi && psi <= high);
                assert!(held, "drive {drive}, lane at {turned}: {node:?} {q} {psi} of {told:?}");
            }
        }
    });
}

/// States removed from a cell overlap something, wherever in the cell and its bin; and most of those that overlap
/// deeply are removed.
#[test]
fn what_is_taken_is_in_something() {
    let mut random = Random(23);
    each_rig(|_, around, pull| {
        let (mut taken, mut deep, mut kept) = (0, 0, 0);
        for try_at in 0..DRIVES {
            let node = (random.below(FRAMES), pull.grid.lines + random.below(40) - 20, {
                let angle = random.between(-EXIT_RAD, EXIT_RAD);
                count_down(trig::sin(angle) / pull.grid.bin + 0.5 * to_f64(pull.grid.bins))
            });
            let seen = pull.seen(node);
            let number = i32::try_from(random.below(100)).unwrap() - 50;
            let from = f64::from(number) * CELL_M;
            let place = (from + random.between(0.0, 0.5) * CELL_M, from + random.between(0.5, 1.0) * CELL_M);
            let low = seen.lead_rad - random.between(-0.5, 1.4);
            let (slopes, wide) = ([(); 2].map(|()| random.between(-0.05, 0.05)), random.between(0.11, 1.0));
            let before =
                Cell { place, low: [low, low + slopes[0]], high: [low + wide, low + wide + slopes[1]] };
            let mut after = before;
            pull.contacts.take_from(&mut after, from, CELL_M, &seen);
            let (theta_low, theta_high) = pull.grid.angles(node.2);
            for _ in 0..30 {
                let q = random.between(place.0, place.1);
                let at = |ends: &[f64; 2]| value(ends, q, from, CELL_M);
                let told = random.between(at(&before.low), at(&before.high));
                let inside = after.place.0 <= q
                    && q <= after.place.1
                    && at(&after.low) <= told
                    && told <= at(&after.high);
                let theta = random.between(theta_low, theta_high);
                let psi = turned_on_the_spot(pull.rig, told, seen.lead_rad, theta);
                let lead = pull.at(node, q);
                let ahead = Point::at_angle(seen.frame_rad + theta);
                let hitch = lead - ahead * pull.rig.towed.behind_m;
                let pose = Pose {
                    position: hitch - Point::at_angle(seen.frame_rad + psi) * pull.rig.towed.wheelbase_m,
                    heading: seen.frame_rad + psi,
                };
                let depth = pull.rig.parts.iter().enumerate().flat_map(|(index, part)| {
                    let placed: Vec<Point> = part.corners.iter().map(|p| pose.to_site(*p)).collect();
                    let met = around.iter().filter(move |piece| piece.parts[index]);
                    met.map(move |piece| -distance::separation(&placed, &piece.corners))
                });
                let depth = depth.fold(f64::NEG_INFINITY, f64::max);
                assert!(inside || depth > 0.0, "try {try_at} {node:?}: taken, {} away", -depth);
                taken += usize::from(!inside);
                deep += usize::from(depth > 0.2);
                kept += usize::from(depth > 0.2 && inside);
            }
        }
        println!("{taken} taken; {kept} of {deep} deep in something are kept");
        assert!(taken > 1000 && 2 * kept < deep, "{taken} {kept} {deep}");
    });
}
