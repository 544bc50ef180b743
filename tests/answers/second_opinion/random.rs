//! Random vehicles, drives and places: their inspection, against the plain method.
use super::{EDGE_M, GAP_UNDER_M, OPENING_OVER_M, SEAM_M, TINY_M, Worst, extent_v, measured, within_limits};
use crate::common::plain::{Moment, contact, drive, look, polygon, standing, tires_inside};
use crate::common::random::Random;
use crate::common::{every_case, rectangle, standard_site, unit, vehicle};
use std::collections::BTreeMap;
use wideenough::clearance::{AMPLE_M, CollisionModel, GateFrame, Inspection, Region, Surroundings, inspect};
use wideenough::geometry::{Outline, Point, Shape};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::site::{Anchor, Arrangement, Faces, Fence, Obstacle, Side, Site, Swing};
use wideenough::vehicle::{Hitch, Vehicle};

fn random_vehicle(random: &mut Random) -> Vehicle {
    let wheelbase = random.between(2.4, 6.5);
    let width = random.between(1.7, 2.6);
    let (front, rear) = (wheelbase + random.between(0.6, 1.6), random.between(0.7, 3.0));
    let over = width + random.between(0.2, 0.6);
    let mirrors = random.chance(0.6).then_some((wheelbase - 0.7, wheelbase - 0.4, over));
    let mut units = vec![unit("lead", wheelbase, rear, front, width, mirrors)];
    let towed = random.pick(&[0, 0, 0, 1, 1, 2]);
    for _ in 0..towed {
        let hitch = Hitch {
            behind_axle_m: random.between(-0.4, 1.4),
            max_angle_rad: random.between(25.0, 80.0).to_radians(),
        };
        units.last_mut().expect("a unit").hitch = Some(hitch);
        let d = random.between(3.0, 8.5);
        let mut trailer = unit(
            "towed",
            d,
            random.between(0.8, 3.0),
            d - random.between(-0.8, 1.0),
            random.between(1.9, 2.6),
            None,
        );
        trailer.tires.truncate(2);
        units.push(trailer);
    }
    let lock_distance_m = if random.chance(0.3) { 0.0 } else { random.between(0.8, 2.5) };
    vehicle("random", units, random.between(28.0, 45.0), lock_distance_m)
}

/// A drive roughly through the gate's middle, in the gate's frame, that keeps the limits; the library's own check of
/// the limits must agree about it and about those thrown away.
fn random_drive(random: &mut Random, vehicle: &Vehicle, refused: &mut usize) -> (Path, bool) {
    let steering = vehicle.steering;
    loop {
        let daring = if random.chance(0.05) { 1.1 } else { 1.0 };
        let reverse = random.chance(0.3);
        let long = if vehicle.units.len() > 1 && reverse { 14.0 } else { 24.0 };
        let mut leg = |direction: Direction, mut left: f64| {
            let (mut k, mut segments) = (0.0, Vec::new());
            while left > 0.0 {
                let length_m = random.between(0.4, 3.0);
                let most = steering.max_curvature * daring;
                let mut next = (1.5 * random.between(-most, most)).clamp(-most, most);
                if steering.lock_distance_m > 0.0 {
                    let turn = most * length_m / steering.lock_distance_m;
                    next = next.clamp(k - turn, k + turn);
                }
                segments.push(Segment { length_m, curvature_start: k, curvature_end: next });
                (k, left) = (next, left - length_m);
            }
            Leg { direction, segments }
        };
        let mut legs = vec![leg(Direction::Forward, long)];
        if vehicle.units.len() == 1 {
            // Back over part of it, turned differently.
            legs.push(leg(Direction::Reverse, 2.0));
        }
        let mut path = Path { start: State::default(), legs };
        if reverse {
            path = path.reversed(&Chain::of(vehicle));
        }
        let moments = drive(vehicle, &path);
        // Except for values on a limit to a millionth, both agree.
        let (strict, lax) =
            (within_limits(vehicle, &path, &moments, -1e-6), within_limits(vehicle, &path, &moments, 1e-5));
        let faults = path.limit_faults(vehicle);
        if lax.is_err() {
            assert!(!faults.is_empty(), "{lax:?} went unnoticed");
            *refused += 1;
            continue;
        }
        assert!(strict.is_err() || faults.is_empty(), "{faults:?}, but nothing was seen");
        if !faults.is_empty() {
            continue;
        }
        let third = moments.len() / 3;
        let here = random.pick(&moments[third..2 * third].iter().step_by(40).collect::<Vec<_>>()).units[0];
        let toward = std::f64::consts::FRAC_PI_2 + random.between(-0.6, 0.6);
        let heading = libm::atan2(here.along.y, here.along.x);
        let turn = toward - heading + if reverse { std::f64::consts::PI } else { 0.0 };
        let (sin, cos) = libm::sincos(turn);
        let turned = Point::new(here.at.x * cos - here.at.y * sin, here.at.x * sin + here.at.y * cos);
        let middle = Point::new(random.between(-0.6, 0.6), 0.0);
        return (path.moved(turn, middle - turned), reverse);
    }
}

/// A site around a drive, with the gate line along x at y = 0.2: so the gate's frame is the site's, 0.2 m up.
fn random_site(random: &mut Random, vehicle: &Vehicle, moments: &[Moment]) -> Site {
    let mut site = standard_site(0.0);
    let half = random.between(2.0, 5.0);
    let line_y = site.gate.left.y;
    let up = Point::new(0.0, line_y);
    site.gate.left.x = -half;
    site.gate.right.x = half;
    site.gate.post.width_m = random.between(0.05, 0.6);
    site.gate.post.depth_m = random.between(0.05, 0.6);
    site.gate.post.top_m = random.pick(&[0.9, 2.0, 3.0]);
    site.gate.anchor = random.pick(&[
        Anchor::Center,
        Anchor::Center,
        Anchor::Free,
        Anchor::Side(Side::Left),
        Anchor::Side(Side::Right),
    ]);
    site.gate.leaves.arrangement = random.pick(&[
        Arrangement::None,
        Arrangement::Double,
        Arrangement::Double,
        Arrangement::Single(Side::Left),
        Arrangement::Single(Side::Right),
        Arrangement::Slide(Side::Left),
    ]);
    site.gate.leaves.opens = random.pick(&[Swing::In, Swing::In, Swing::Out]);
    site.gate.leaves.open_angle_rad = if random.chance(0.4) {
        std::f64::consts::FRAC_PI_2
    } else {
        random.between(75.0, 115.0).to_radians()
    };
    site.gate.leaves.thickness_m = random.between(0.03, 0.15);
    // No road where the drive is: it would end the closed line.
    site.roads[0].surface.outer = rectangle(-200.0, -90.0, 200.0, -80.0);
    site.fences.clear();
    for sign in [-1.0, 1.0] {
        if random.chance(0.8) {
            let far = half + random.between(12.0, 20.0);
            let mut line = vec![Point::new(sign * half, line_y), Point::new(sign * far, line_y)];
            if random.chance(0.5) {
                line.push(Point::new(sign * (far + 1.0), line_y + random.between(2.0, 6.0)));
            }
            let (thickness_m, top_m) = (random.between(0.02, 0.5), random.pick(&[0.8, 1.5, 2.2]));
            site.fences.push(Fence { label: "fence".to_owned(), line, thickness_m, top_m });
        }
    }
    site.obstacles.clear();
    let some: Vec<&Moment> = moments.iter().step_by(40).collect();
    for number in 0..7 {
        // Beside one unit at one moment, near enough to matter, where nothing else of the drive meets it.
        for _ in 0..4 {
            let stands = &random.pick(&some).units;
            let which = random.pick(&(0..stands.len()).collect::<Vec<_>>());
            let (unit, stand) = (&vehicle.units[which], stands[which]);
            let side = random.pick(&[-1.0, 1.0]);
            let ahead = random.between(-unit.rear_overhang_m, unit.wheelbase_m);
            let size = random.between(0.1, 1.5);
            let p =
                stand.place(Point::new(ahead, side * (0.5 * unit.width_m + size + random.between(0.0, 0.7))));
            let turn = Point::at_angle(random.between(0.0, 6.0));
            let at = |x: f64, y: f64| p + up + turn * (x * size) + turn.left() * (y * size);
            let (corners, radius_m): (Vec<Point>, f64) = match random.pick(&[0, 1, 2, 3, 4]) {
                0 => (vec![at(0.0, 0.0)], size),
                1 => (vec![at(-0.8, 0.0), at(0.8, 0.0)], 0.1 * size),
                2 => (vec![at(-0.9, -0.4), at(0.9, -0.4), at(0.0, 0.9)], 0.0),
                3 => (vec![at(-0.7, -0.7), at(0.7, -0.7), at(0.7, 0.7), at(-0.7, 0.7)], 0.0),
                _ => {
                    let ell =
                        [(-0.7, -0.7), (0.7, -0.7), (0.7, -0.3), (-0.3, -0.3), (-0.3, 0.7), (-0.7, 0.7)];
                    (ell.map(|(x, y)| at(x, y)).to_vec(), 0.0)
                }
            };
            let (bottom_m, top_m) =
                random.pick(&[(0.0, 3.0), (0.0, 3.0), (0.0, 1.0), (0.0, 0.1), (2.0, 5.0)]);
            let shape = Shape { outer: Outline(corners), holes: vec![], radius_m };
            let one = Obstacle { label: format!("thing {number}"), shapes: vec![shape], bottom_m, top_m };
            let alone = Site { obstacles: vec![one.clone()], fences: vec![], ..site.clone() };
            let [fixed, ..] = standing(&alone, Faces::new(-half, half), 3.0);
            let every: f64 = look(vehicle, moments, &fixed, 0.0).least_m;
            if every > 0.0 || random.chance(0.03) {
                site.obstacles.push(one);
                break;
            }
        }
    }
    site
}

/// A turned rectangle around everything the tires touch, perhaps with a square hole: as drawn, and grown by the seam.
fn random_ground(random: &mut Random, vehicle: &Vehicle, moments: &[Moment]) -> [(Outline, Vec<Outline>); 2] {
    let along = Point::at_angle(random.between(-0.7, 0.7));
    let (mut low, mut high) =
        (Point::new(f64::INFINITY, f64::INFINITY), Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    let mut all = Vec::new();
    for m in moments {
        for (unit, stand) in vehicle.units.iter().zip(&m.units) {
            for p in unit.tires.iter().flat_map(|t| contact(stand, t)) {
                let q = Point::new(p.dot(along), p.dot(along.left()));
                low = Point::new(low.x.min(q.x), low.y.min(q.y));
                high = Point::new(high.x.max(q.x), high.y.max(q.y));
                all.push(q);
            }
        }
    }
    let mut room = || random.pick(&[0.0, 0.05, 0.2, 1.0, 4.0]) + random.between(-0.005, 0.05);
    let (low, high) = (low - Point::new(room(), room()), high + Point::new(room(), room()));
    let middle = Point::new(random.between(low.x, high.x), random.between(low.y, high.y));
    let away = all.iter().map(|p| p.distance(middle)).fold(f64::INFINITY, f64::min);
    let half = away * random.between(0.3, 0.75);
    let made = |by: f64| {
        let turned = |o: Outline| Outline(o.0.iter().map(|p| along * p.x + along.left() * p.y).collect());
        let outer = turned(rectangle(low.x - by, low.y - by, high.x + by, high.y + by));
        let h = half - by;
        let hole = turned(rectangle(middle.x - h, middle.y - h, middle.x + h, middle.y + h));
        (outer, if half > 0.15 { vec![hole] } else { vec![] })
    };
    [made(0.0), made(SEAM_M)]
}

/// Inspection of a path at the opening it needs: things that stand only at wider openings are left out.
fn inspected(vehicle: &Vehicle, around: &Surroundings, clearance_m: f64, path: &Path) -> Option<Inspection> {
    let mut opening_m: f64 = 0.0;
    for _ in 0..12 {
        let model = CollisionModel::new(vehicle, around.clone(), clearance_m, opening_m.max(0.1));
        let seen = inspect(&model, path);
        if seen.opening_m > 16.0 {
            return None;
        }
        if seen.opening_m <= opening_m + 1e-9 {
            return Some(seen);
        }
        opening_m = seen.opening_m;
    }
    None
}

#[test]
fn random_drives_are_measured_alike() {
    let (mut worst, mut refused) = (Worst::default(), 0);
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    let (mut done, mut seed) = (0, 0);
    let count = if every_case() { 200 } else { 70 };
    while done < count {
        seed += 1;
        assert!(seed < 2000, "only {done} drives could be used");
        let mut random = Random(seed);
        let vehicle = random_vehicle(&mut random);
        let (path, reverse) = random_drive(&mut random, &vehicle, &mut refused);
        let moments = drive(&vehicle, &path);
        let site = random_site(&mut random, &vehicle, &moments);
        let clearance_m = random.pick(&[0.0, 0.1, 0.3]);
        let leaf_opening_m = random.between(2.5, 5.0);
        let ground = random.chance(0.5).then(|| random_ground(&mut random, &vehicle, &moments));
        let frame = GateFrame::of(&site.gate).origin;
        let region = ground.as_ref().and_then(|[(outer, holes), _]| {
            let moved = |o: &Outline| Outline(o.0.iter().map(|p| frame.to_site(*p)).collect());
            let holes: Vec<Outline> = holes.iter().map(moved).collect();
            Region::new(&[(&moved(outer), holes.as_slice())], &frame)
        });
        let around = Surroundings::new(&site, region.as_ref(), leaf_opening_m).with_fixed_leaves();
        let Some(seen) = inspected(&vehicle, &around, clearance_m, &path) else { continue };
        if seen.opening_m < 1.0 {
            continue;
        }
        done += 1;
        // Two integrations drift apart where a trailer is pushed back: an error grows by e every wheelbase.
        let shortest = vehicle.units[1..].iter().map(|u| u.wheelbase_m).fold(f64::INFINITY, f64::min);
        let drift =
            if reverse && shortest.is_finite() { 1e-6 * libm::exp(path.length_m() / shortest) } else { 0.0 };
        let tiny = TINY_M + drift;
        let by_plain = measured(&site, (&vehicle, &moments), (seen.faces_u, leaf_opening_m), clearance_m);
        let told = format!("seed {seed}: {seen:?}");
        worst.note("opening", 0, by_plain.kind_m - drift);
        worst.note("opening", 1, by_plain.over_m);
        assert!(by_plain.kind_m <= tiny, "{} comes {} m too near; {told}", by_plain.nearest, by_plain.kind_m);
        assert!(by_plain.over_m <= OPENING_OVER_M, "it could be {} m narrower; {told}", by_plain.over_m);
        let least = seen.needs_at_least_m - (seen.opening_m - by_plain.over_m);
        worst.note("needs at least", 0, least - drift);
        assert!(least <= 2.0 * tiny, "it needs {least} m less than it certainly needs; {told}");
        if by_plain.fixed_m > 0.0 {
            let margin = (by_plain.fixed_m - clearance_m).min(AMPLE_M);
            worst.note("fixed things", 0, seen.margin_m - margin - drift);
            worst.note("fixed things", 1, margin - seen.margin_m);
            assert!(seen.margin_m <= margin + tiny, "the margin is {margin}; {told}");
            assert!(seen.margin_m >= margin - GAP_UNDER_M, "the margin is {margin}; {told}");
        } else {
            *kinds.entry("touching").or_default() += 1;
            assert!(seen.margin_m <= tiny - clearance_m, "it touches; {told}");
        }
        if let Some([_, (outer, holes)]) = &ground {
            *kinds.entry("ground").or_default() += 1;
            let holes: Vec<Vec<Point>> = holes.iter().map(|h| h.0.clone()).collect();
            let (ends, lines) = tires_inside(&vehicle, &moments, &polygon(&outer.0, &holes));
            let room = ends.min(AMPLE_M);
            // Beside a corner that points into the ground, room is measured at the ends of tires 25 mm apart (twice
            // that on the outside of a turn): a point that passes between two of them is missed by no more than this.
            // It never lies under a tire. A failed verdict is reported as seen at those poses.
            let failed = room < 0.0 && seen.ground_m < -EDGE_M;
            let between = if room > 0.0 || failed { libm::hypot(room, 0.025) - room.abs() } else { 0.0 };
            worst.note("tires", 0, seen.ground_m - room - drift);
            assert!(seen.ground_m <= room + tiny + between, "tires' ends have {room}; {told}");
            assert!(seen.ground_m <= tiny || lines > 0.0, "an edge lies under a tire; {told}");
            if !(0.0..=GAP_UNDER_M).contains(&lines) {
                worst.note("tires", 1, room - seen.ground_m);
                assert!(seen.ground_m >= room - GAP_UNDER_M, "tires' ends have {room}; {told}");
            }
        }
        for (leg, most_v) in seen.most_v.iter().enumerate() {
            let most = extent_v(&vehicle, moments.iter().filter(|m| m.leg == leg)).1;
            worst.note("largest v", 0, most - most_v - drift);
            worst.note("largest v", 1, most_v - most);
            assert!(*most_v >= most - tiny && *most_v <= most + GAP_UNDER_M, "leg {leg} to {most}; {told}");
        }
        *kinds.entry(if vehicle.units.len() > 1 { "trailer" } else { "rigid" }).or_default() += 1;
        *kinds.entry(if reverse { "in reverse" } else { "forward" }).or_default() += 1;
        *kinds.entry(if clearance_m > 0.0 { "clearance" } else { "no clearance" }).or_default() += 1;
        *kinds.entry(if around.has_leaves() { "leaves" } else { "no leaves" }).or_default() += 1;
        *kinds
            .entry(match site.gate.anchor {
                Anchor::Center => "middle stays",
                Anchor::Side(_) => "a side stays",
                Anchor::Free => "free",
            })
            .or_default() += 1;
    }
    worst.print("random drives");
    println!("random drives: {kinds:?}; {seed} drawn, {refused} courses beyond a limit");
    assert!(
        10 * refused > count && kinds.values().all(|n| 40 * n >= count) && kinds.len() == 13,
        "{kinds:?} {refused}"
    );
}
