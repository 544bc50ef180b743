//! Random drives that are hemmed in: posts and potholes set so close to the path a drive sweeps that little else gets
//! through, and a lane without play where it starts. The need of the drive is then measured; nothing may be proven
//! above it.
use super::random::Random;
use super::{rectangle, standard_site};
use wideenough::clearance::{CollisionModel, GateFrame, Region, Surroundings, inspect};
use wideenough::geometry::{Outline, Point, Pose, Shape, distance, trig};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::search::lane::Lane;
use wideenough::search::{EDGE_TOLERANCE_M, Problem};
use wideenough::site::{Anchor, Fence, Maneuver, Obstacle, Side};
use wideenough::vehicle::{MAX_UNITS, Vehicle};

/// A leg of random steering that may jump, often at full lock.
pub fn wild_leg(random: &mut Random, direction: Direction, length: f64, max: f64) -> Leg {
    let mut segments = Vec::new();
    let mut left = length;
    while left > 0.0 {
        let k = max * (1.6 * random.between(-1.0, 1.0)).clamp(-1.0, 1.0);
        let length_m = random.between(0.3, 4.0).min(left);
        segments.push(Segment::arc(length_m, k));
        left -= length_m;
    }
    Leg { direction, segments }
}

/// A reverse leg that steers a single trailer to one random hitch angle after another.
fn pushed_leg(random: &mut Random, vehicle: &Vehicle, state: &State, length: f64) -> Leg {
    const STEP_M: f64 = 0.25;
    let chain = Chain::of(vehicle);
    let hitch = vehicle.units[0].hitch.expect("towed");
    let (a, d) = (hitch.behind_axle_m, vehicle.units[1].wheelbase_m);
    let max = vehicle.steering.max_curvature;
    let (mut state, mut segments, mut rolled) = (*state, Vec::new(), 0.0);
    let (mut wanted, mut until) = (0.0, 0.0);
    while rolled < length {
        if rolled >= until {
            wanted = random.between(-0.6, 0.6);
            until = rolled + random.between(1.0, 5.0);
        }
        let phi = state.hitch[0];
        let (sin, cos) = trig::sin_cos(phi);
        let k = ((0.6 * (phi - wanted) + sin / d) / (1.0 + a * cos / d)).clamp(-max, max);
        segments.push(Segment::arc(STEP_M, k));
        state = chain.advance(&state, -STEP_M, k, k);
        rolled += STEP_M;
    }
    Leg { direction: Direction::Reverse, segments }
}

/// A place, and the search problem posed there.
pub struct Place {
    pub vehicle: Vehicle,
    pub surroundings: Surroundings,
    pub lane: Lane,
    pub maneuver: Maneuver,
    pub shunts: u32,
    pub clearance_m: f64,
}

/// A drive through a gate, and the place it was hemmed into.
pub struct Hemmed {
    pub place: Place,
    /// Opening that the drive certainly gets through.
    pub need_m: f64,
    /// Kinds of place it belongs to, for counting.
    pub kinds: Vec<&'static str>,
}

impl Place {
    pub fn problem(&self) -> Problem<'_> {
        Problem {
            vehicle: &self.vehicle,
            surroundings: &self.surroundings,
            lane: &self.lane,
            maneuver: self.maneuver,
            shunts: self.shunts,
            clearance_m: self.clearance_m,
            spot: None,
        }
    }
}

/// Gap that the posts and potholes leave to the path they hem in, meters.
const SPARE_M: f64 = 0.004;
/// Width by which regions are drawn larger than their polygons.
const SEAM_M: f64 = 0.01;

/// Random legs of a maneuver for a vehicle that starts straight at the origin.
fn legs(random: &mut Random, vehicle: &Vehicle, maneuver: Maneuver, shunts: u32) -> Vec<Leg> {
    let max = vehicle.steering.max_curvature;
    let long: f64 = vehicle.units.iter().map(|u| u.wheelbase_m + u.rear_overhang_m).sum();
    if maneuver == Maneuver::DriveIn && shunts == 0 && vehicle.units.len() == 1 && random.chance(0.25) {
        // From behind the gate line, round past its end, and in.
        let turn = random.between(2.9, 3.8) / max;
        let side = max * random.pick(&[-1.0, 1.0]);
        let straight = |length_m: f64| Segment::arc(length_m, 0.0);
        let wiggle = Segment::arc(random.between(0.3, 1.5), side * random.between(-1.0, 1.0));
        let segments =
            vec![wiggle, straight(random.between(3.0, 9.0)), Segment::arc(turn, side), straight(20.0)];
        return vec![Leg { direction: Direction::Forward, segments }];
    }
    let needed = if maneuver == Maneuver::BackIn { 2 } else { 1 };
    let count = needed + shunts;
    let mut legs: Vec<Leg> = Vec::new();
    for index in 0..count {
        let direction = if index % 2 == 0 { Direction::Forward } else { Direction::Reverse };
        let length = if index + 1 == count {
            15.0 + long
        } else if index == 0 {
            if count == 1 + shunts { random.between(6.0, 14.0) } else { random.between(1.0, 8.0) }
        } else if random.chance(0.5) {
            // Shorter than the spacing of the proof's lines.
            random.between(0.02, 0.4)
        } else {
            random.between(0.4, 5.0)
        };
        if vehicle.units.len() > 1 && direction == Direction::Reverse {
            let so_far = Path { start: State::default(), legs: legs.clone() };
            let state = if legs.is_empty() { so_far.start } else { so_far.end(&Chain::of(vehicle)) };
            legs.push(pushed_leg(random, vehicle, &state, length));
        } else {
            legs.push(wild_leg(random, direction, length, max));
        }
    }
    legs
}

/// Everything a path sweeps, at dense poses: per pose and part, the outline, its middle and reach, its heights.
struct Sweep {
    outlines: Vec<(Vec<Point>, Point, f64, f64, f64)>,
    tires: Vec<[Point; 2]>,
}

impl Sweep {
    fn of(vehicle: &Vehicle, path: &Path) -> Self {
        let chain = Chain::of(vehicle);
        let (mut outlines, mut tires) = (Vec::new(), Vec::new());
        for sample in path.samples(&chain, 0.04) {
            let poses = chain.unit_poses(&sample.state);
            for (unit, pose) in vehicle.units.iter().zip(poses) {
                for part in &unit.parts {
                    let outline: Vec<Point> = part.outline.0.iter().map(|p| pose.to_site(*p)).collect();
                    let count = f64::from(u32::try_from(outline.len()).expect("few"));
                    let middle = outline.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / count);
                    let reach = outline.iter().map(|p| p.distance(middle)).fold(0.0, f64::max);
                    outlines.push((outline, middle, reach, part.bottom_m, part.top_m));
                }
                for tire in &unit.tires {
                    let half = Point::new(0.0, 0.5 * tire.width_m);
                    tires.push([pose.to_site(tire.center - half), pose.to_site(tire.center + half)]);
                }
            }
        }
        Self { outlines, tires }
    }

    /// Distance of a point from everything swept below `top_m`.
    fn away(&self, p: Point, top_m: f64) -> f64 {
        let mut least = f64::INFINITY;
        for (outline, middle, reach, bottom, _) in &self.outlines {
            if *bottom <= top_m && p.distance(*middle) - reach < least {
                least = least.min(distance::nearest_convex(outline, &[p]).distance_m);
            }
        }
        least
    }

    fn away_from_tires(&self, p: Point) -> f64 {
        let one = |[a, b]: &[Point; 2]| p.distance(distance::nearest_on_segment(p, *a, *b));
        self.tires.iter().map(one).fold(f64::INFINITY, f64::min)
    }
}

/// Offsets (u) at which a unit's axle crosses the gate line, in the order driven.
fn crossings(path: &Path, chain: &Chain) -> Vec<f64> {
    let samples = path.samples(chain, 0.1);
    let pairs = samples
        .windows(2)
        .filter(|s| (s[0].state.lead.position.y > 0.0) != (s[1].state.lead.position.y > 0.0));
    pairs.map(|s| s[1].state.lead.position.x).collect()
}

/// Draws a random drive and hems it in; nothing if the drive does not pass.
///
/// The path starts at a random place and the gate crosses it 12 m before its end (for a trailer, 12 m before the last
/// unit's axle).
#[allow(clippy::too_many_lines, reason = "one drawing, step by step")]
pub fn hemmed(seed: u64, vehicles: &[Vehicle]) -> Option<Hemmed> {
    let mut random = Random(seed);
    let vehicle = {
        let numbers: Vec<usize> = (0..vehicles.len()).collect();
        vehicles[random.pick(&numbers)].clone()
    };
    let chain = Chain::of(&vehicle);
    let mut kinds = Vec::new();
    let maneuver = random.pick(&[Maneuver::DriveIn, Maneuver::BackIn]);
    let shunts = random.pick(&[0, 0, 2]);
    let clearance_m = random.pick(&[0.0, 0.3]);
    let anchor =
        random.pick(&[Anchor::Center, Anchor::Center, Anchor::Side(Side::Left), Anchor::Side(Side::Right)]);
    kinds.push(if maneuver == Maneuver::BackIn { "backing in" } else { "driving in" });
    kinds.push(if shunts > 0 { "with shunts" } else { "without shunts" });
    kinds.push(if clearance_m > 0.0 { "clearance" } else { "no clearance" });
    kinds.push(match anchor {
        Anchor::Side(Side::Left) => "left post stays",
        Anchor::Side(Side::Right) => "right post stays",
        _ => "middle stays",
    });
    let wild = Path { start: State::default(), legs: legs(&mut random, &vehicle, maneuver, shunts) };
    // The gate crosses the path 12 m before its end.
    let samples = wild.samples(&chain, 0.05);
    let end = samples.last()?.station_m;
    let last = chain.towed_count();
    let of_last = |s: &wideenough::motion::Sample| {
        chain.unit_poses(&s.state)[if maneuver == Maneuver::BackIn { 0 } else { last }]
    };
    let at = of_last(samples.iter().find(|s| s.station_m >= end - 12.0)?);
    let through = if maneuver == Maneuver::BackIn { at.heading + std::f64::consts::PI } else { at.heading };
    let turn = std::f64::consts::FRAC_PI_2 - through + random.between(-0.7, 0.7);
    let moved = Pose { position: Point::default(), heading: turn }.to_site(at.position);
    let path = wild.moved(turn, -moved + Point::new(random.between(-0.5, 0.5), 0.0));
    if !hitches_fit(&vehicle, &path) {
        return None;
    }
    let mut site = standard_site(4.5);
    site.obstacles.clear();
    site.fences.clear();
    let depth = random.pick(&[0.0, 0.4, 0.4, 0.7]);
    site.gate.post.depth_m = depth;
    // A road that meets the gate line beside the gate, beyond which the path may come from behind the line.
    let others = crossings(&path, &chain);
    let (before, _) = others.split_at(others.len().checked_sub(1)?);
    let aside = before.iter().fold(f64::INFINITY, |least, u| least.min(u.abs()));
    let one_side = before.iter().all(|u| *u > 0.0) || before.iter().all(|u| *u < 0.0);
    let y = site.gate.left.y;
    let reach = vehicle.units.iter().flat_map(|u| &u.parts).flat_map(|p| &p.outline.0);
    let reach = reach.map(|p| p.norm()).fold(0.5, f64::max) + clearance_m;
    if !before.is_empty() && one_side && aside > reach + 2.0 {
        let ends = aside - reach;
        let side = before[0].signum();
        site.roads[0].surface.outer =
            rectangle((side * ends).min(side * 300.0), y - 3.0, (side * ends).max(side * 300.0), y + 3.0);
        kinds.push("past the end of the gate line");
    } else if random.chance(0.6) {
        kinds.push("fenced");
    }
    let fenced = kinds.contains(&"fenced");
    let fences = |site: &mut wideenough::site::Site, half: f64| {
        let fence = |x0: f64, x1: f64| Fence {
            label: "fence".to_owned(),
            line: vec![Point::new(x0, y), Point::new(x1, y)],
            thickness_m: depth.max(0.1),
            top_m: 2.0,
        };
        if fenced {
            site.fences = vec![fence(-200.0, -half), fence(half, 200.0)];
        }
    };
    let measure = |site: &wideenough::site::Site, ground: Option<&Region>| {
        let surroundings = Surroundings::new(site, ground, 0.0);
        let seen =
            inspect(&CollisionModel::new(&vehicle, surroundings.clone(), clearance_m, f64::INFINITY), &path);
        (surroundings, seen)
    };
    fences(&mut site, 2.0);
    let (_, plain) = measure(&site, None);
    if !plain.passes(0.0) || plain.opening_m > 9.0 {
        return None;
    }
    // The posts as drawn stand far enough apart that an anchored one leaves the path its need.
    let half = 0.5 * plain.opening_m + random.between(0.001, 0.3);
    site.gate.left.x = -half;
    site.gate.right.x = half;
    site.gate.anchor = anchor;
    fences(&mut site, half);
    let frame = GateFrame::of(&site.gate).origin;
    let sweep = Sweep::of(&vehicle, &path);
    let low = random.chance(0.3) && vehicle.units[0].parts.iter().any(|p| p.bottom_m < 0.05);
    let poses: Vec<[Pose; MAX_UNITS]> =
        path.samples(&chain, 0.1).iter().map(|s| chain.unit_poses(&s.state)).collect();
    let mut posts: Vec<Obstacle> = Vec::new();
    let (mut holes, mut hole_places): (Vec<Outline>, Vec<(Point, f64)>) = (Vec::new(), Vec::new());
    let ground = random.chance(0.4);
    let numbers: Vec<usize> = (0..vehicle.units.len()).collect();
    for (pose, side) in poses.iter().step_by(8).flat_map(|p| [(p, -1.0), (p, 1.0)]) {
        let unit_at = random.pick(&numbers);
        let unit = &vehicle.units[unit_at];
        let ahead = random.between(-unit.rear_overhang_m, unit.wheelbase_m + unit.front_overhang_m);
        let top = if low && random.chance(0.3) { 0.1 } else { 3.0 };
        let thick = random.between(0.2, 0.7);
        let hole = ground && random.chance(0.4);
        // Outward from the middle to the first place with room for it.
        for out in (1..40).map(|i| side * 0.1 * f64::from(i)) {
            let p = pose[unit_at].to_site(Point::new(ahead, out));
            if hole {
                let gap = sweep.away_from_tires(p) - SPARE_M;
                if gap > thick && hole_places.iter().all(|(q, r)| p.distance(*q) > r + gap + 0.05) {
                    // A square hole is drawn smaller than meant by the seam.
                    let half = gap * std::f64::consts::FRAC_1_SQRT_2 + SEAM_M;
                    let corners = [(-half, -half), (half, -half), (half, half), (-half, half)];
                    let corner = |(x, y): (f64, f64)| frame.to_site(p + Point::new(x, y));
                    holes.push(Outline(corners.map(corner).to_vec()));
                    hole_places.push((p, gap));
                    break;
                }
            } else {
                let gap = sweep.away(p, top) - clearance_m - SPARE_M;
                if gap > thick {
                    let shape =
                        Shape { outer: Outline(vec![frame.to_site(p)]), holes: vec![], radius_m: gap };
                    let label = "post".to_owned();
                    posts.push(Obstacle { label, shapes: vec![shape], bottom_m: 0.0, top_m: top });
                    break;
                }
            }
        }
    }
    if low {
        kinds.push("low curbs");
    }
    site.obstacles = posts;
    let region = if ground && !holes.is_empty() {
        kinds.push("ground");
        // The ground ends somewhere around the drive, on some sides near it.
        let all = poses.iter().flat_map(|p| p[..=last].iter().map(|p| frame.to_site(p.position)));
        let (mut least, mut most) =
            (Point::new(f64::INFINITY, f64::INFINITY), Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
        for p in all {
            least = Point::new(least.x.min(p.x), least.y.min(p.y));
            most = Point::new(most.x.max(p.x), most.y.max(p.y));
        }
        let mut room = || random.pick(&[9.0, 20.0, 70.0]);
        let outer = rectangle(least.x - room(), least.y - room(), most.x + room(), most.y + room());
        Region::new(&[(&outer, holes.as_slice())], &frame)
    } else {
        None
    };
    let (surroundings, seen) = measure(&site, region.as_ref());
    if !seen.passes(EDGE_TOLERANCE_M)
        || maneuver == Maneuver::BackIn && seen.most_v[0] > surroundings.front_v()
    {
        return None;
    }
    let start = path.start.lead;
    let along = Point::at_angle(start.heading);
    let lane = Lane::new(vec![start.position, start.position + along * 0.5], (0.0, 0.0));
    if vehicle.units.len() > 1 {
        kinds.push("trailer");
    }
    let place = Place { vehicle, surroundings, lane, maneuver, shunts, clearance_m };
    Some(Hemmed { place, need_m: seen.opening_m, kinds })
}

/// True if the hitches stay within their limits. Steering may jump here: the proof leaves its rate out.
pub fn hitches_fit(vehicle: &Vehicle, path: &Path) -> bool {
    let chain = Chain::of(vehicle);
    path.samples(&chain, 0.05).iter().all(|s| {
        vehicle
            .units
            .iter()
            .zip(s.state.hitch)
            .all(|(unit, phi)| unit.hitch.is_none_or(|h| phi.abs() <= h.max_angle_rad))
    })
}
