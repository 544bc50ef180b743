//! Turning around inside: published turnarounds hold their design vehicles, laws of a turn, and every answer driven
//! again by a second, plain integration that checks obstacles and ground by itself.
use crate::common::{every_case, plain};
use serde_json::{Value, json};
use std::f64::consts::{FRAC_PI_2, PI};
use wideenough::clearance::{GateFrame, Region, Surroundings};
use wideenough::geometry::trig::{atan2, cos, sin};
use wideenough::geometry::{Outline, Point, Pose};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::search::turn_around::{NoTurn, Obstruction, TurnAround, TurnProblem, turn_around};
use wideenough::site::{Faces, Maneuver, Site, read};
use wideenough::vehicle::{Vehicle, find};

const FT: f64 = 0.3048;
/// Angle by which chords of a drawn arc turn at most: the arc of a 48-ft circle is cut by 6 mm.
const CHORD_RAD: f64 = 3.0 * PI / 180.0;
/// The wall's thickness.
const WALL_M: f64 = 0.02;

/// A yard behind a gate across the x axis, and the path to it from the road.
struct Place {
    site: Site,
    drawn_m: f64,
    /// Ground tires may use, one ring; nothing where they may go anywhere.
    ground: Option<Outline>,
    surroundings: Surroundings,
}

/// An arc from one angle to another about a center, its ends included.
fn arc(center: Point, radius: f64, from: f64, to: f64) -> Vec<Point> {
    let pieces = ((to - from).abs() / CHORD_RAD).ceil().max(1.0);
    let mut list = Vec::new();
    let mut i = 0.0;
    while i <= pieces {
        let angle = from + (to - from) * i / pieces;
        list.push(Point::new(center.x + radius * cos(angle), center.y + radius * sin(angle)));
        i += 1.0;
    }
    list
}

/// The right half of an outline from the gate inward, made whole by its mirror image, in order from the left of the
/// gate.
fn both_halves(right: &[Point]) -> Vec<Point> {
    let left = right.iter().map(|p| Point::new(-p.x, p.y));
    let mut all: Vec<Point> = left.collect();
    all.extend(right.iter().rev());
    all.dedup_by(|a, b| a.distance(*b) < 1e-9);
    all
}

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

fn places(points: &[Point]) -> Value {
    json!(points.iter().map(|p| json!([p.x, p.y])).collect::<Vec<_>>())
}

/// Ground pieces are grown by this so that no seam is left between them, and the tolerance of a verdict, meters.
const SEAM_M: f64 = 0.01;
const EDGE_M: f64 = 0.001;

/// A place with an outline of the yard (from the left of the gate round to its right, `grown` meters out), walled along
/// it, and a straight drive 6 m to 60 m before the gate with a road across it. `gate_m` is the opening.
fn place(gate_m: f64, outline: impl Fn(f64) -> Vec<Point>) -> Place {
    let half = 0.5 * gate_m;
    let yard = outline(0.0);
    let mut ring = yard.clone();
    ring.extend([Point::new(half, -60.0), Point::new(-half, -60.0), yard[0]]);
    let wall = outline(0.5 * WALL_M);
    let features = [
        feature(
            &json!({ "role": "road", "width": 10, "continues": "both" }),
            "LineString",
            &json!([[-80, -15], [80, -15]]),
        ),
        feature(
            &json!({ "role": "gate", "leaves": "none" }),
            "LineString",
            &json!([[-half, 0.0], [half, 0.0]]),
        ),
        feature(&json!({ "role": "drive" }), "Polygon", &json!([places(&ring)])),
        feature(
            &json!({ "role": "obstacle", "label": "wall", "thickness": WALL_M, "top": 3 }),
            "LineString",
            &places(&wall),
        ),
    ];
    let plan =
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": features });
    let site = read(&plan.to_string(), "plan").unwrap_or_else(|error| panic!("{error}"));
    let frame = GateFrame::of(&site.gate);
    let drive = &site.drives[0];
    // The drive and the road that crosses it.
    let mut ground = yard;
    ground.extend(
        [
            (half, -10.0),
            (80.0, -10.0),
            (80.0, -20.0),
            (half, -20.0),
            (half, -60.0),
            (-half, -60.0),
            (-half, -20.0),
            (-80.0, -20.0),
            (-80.0, -10.0),
            (-half, -10.0),
        ]
        .map(|(x, y)| Point::new(x, y)),
    );
    let road = &site.roads[0].surface;
    let pieces = [(&drive.outer, drive.holes.as_slice()), (&road.outer, road.holes.as_slice())];
    let region = Region::new(&pieces, &frame.origin).expect("polygons");
    let drawn_m = site.gate.opening_m();
    let mut surroundings =
        Surroundings::new(&site, Some(&region), drawn_m).with_leaves_for(drawn_m).with_fixed_leaves();
    surroundings.anchor = wideenough::site::Anchor::Center;
    Place { ground: Some(Outline(ground)), drawn_m, surroundings, site }
}

/// A bulb of this radius at the end of a stem as wide as the gate, the corners where they meet rounded: the bulb's
/// nearest straight wall is `stem_m` inside the gate.
fn cul_de_sac(radius: f64, gate_m: f64, corner: f64, stem_m: f64) -> impl Fn(f64) -> Vec<Point> {
    move |grown: f64| {
        let (half, radius, corner) = (0.5 * gate_m + grown, radius + grown, corner - grown);
        let (x, across) = (half + corner, radius + corner);
        let up = (across * across - x * x).sqrt();
        let (center, turn) = (Point::new(0.0, stem_m + up), Point::new(x, stem_m));
        let meets = atan2(-up, x);
        let mut right = vec![Point::new(half, 0.3 - 1e-9 * grown)];
        right.extend(arc(turn, corner, PI, PI + meets));
        right.extend(arc(center, radius, meets, FRAC_PI_2));
        both_halves(&right)
    }
}

/// A bar across the end of a stem as wide as the gate, `leg_m` to each side of the middle, the corners rounded; the
/// corners begin `stem_m` inside the gate.
fn hammerhead(leg_m: f64, width: f64, corner: f64, stem_m: f64) -> impl Fn(f64) -> Vec<Point> {
    move |grown: f64| {
        let (half, corner) = (0.5 * width + grown, corner - grown);
        let turn = Point::new(half + corner, stem_m);
        let bar_v = stem_m + corner;
        let mut right = vec![Point::new(half, 0.3)];
        right.extend(arc(turn, corner, PI, FRAC_PI_2));
        let far_v = bar_v + width + 2.0 * grown;
        right.extend([
            Point::new(leg_m + grown, bar_v),
            Point::new(leg_m + grown, far_v),
            Point::new(0.0, far_v),
        ]);
        both_halves(&right)
    }
}

/// A rectangle behind the gate, by its reach to the left and to the right of the gate's middle, and its depth.
fn yard(gate_m: f64, left: f64, right: f64, deep: f64) -> impl Fn(f64) -> Vec<Point> {
    move |grown: f64| {
        let half = 0.5 * gate_m + grown;
        let (left, right) = (-left - grown, right + grown);
        let (low, high) = (0.3 - grown, deep + grown);
        [(-half, low), (left, low), (left, high), (right, high), (right, low), (half, low)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec()
    }
}

/// State of the vehicle standing straight with nothing of it nearer to the gate line than this.
fn stands(vehicle: &Vehicle, heading: f64, nearest_v: f64) -> State {
    let chain = Chain::of(vehicle);
    let lead = Pose { position: Point::default(), heading };
    let mut state = State { lead, ..State::default() };
    let poses = chain.unit_poses(&state);
    let corners = vehicle.units.iter().zip(poses).flat_map(|(unit, pose)| {
        unit.parts.iter().flat_map(move |part| part.outline.0.iter().map(move |p| pose.to_site(*p).y))
    });
    state.lead.position.y = nearest_v - corners.fold(f64::INFINITY, f64::min);
    state
}

/// Straight out through the middle of the gate until all of it is past.
fn straight_out(vehicle: &Vehicle, nearest_v: f64) -> Path {
    let start = stands(vehicle, -FRAC_PI_2, nearest_v);
    let length_m = vehicle.length_m() + nearest_v + 2.0;
    Path {
        start,
        legs: vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(length_m, 0.0)] }],
    }
}

/// Searches the turn of a vehicle that stands straight in the middle, just inside, and drives straight out from there.
fn ask(place: &Place, vehicle: &Vehicle, clearance_m: f64, most_stops: u32) -> Result<TurnAround, NoTurn> {
    let nearest_v = 0.5 + clearance_m;
    let (from, out) = (stands(vehicle, FRAC_PI_2, nearest_v), straight_out(vehicle, nearest_v));
    ask_from(place, vehicle, clearance_m, (from, &out), most_stops)
}

fn ask_from(
    place: &Place,
    vehicle: &Vehicle,
    clearance_m: f64,
    (from, out): (State, &Path),
    most_stops: u32,
) -> Result<TurnAround, NoTurn> {
    let problem = TurnProblem {
        vehicle,
        surroundings: &place.surroundings,
        clearance_m,
        drawn_m: place.drawn_m,
        from,
        out,
        most_stops,
        shorten: true,
    };
    let begun = std::time::Instant::now();
    let answer = turn_around(&problem);
    match &answer {
        Ok(turn) => {
            println!(
                "{}: {} stops, turn {:.2} m, whole {:.2} m, gap {:.3} m, {} poses, {:?}",
                vehicle.name,
                turn.stops,
                turn.turn_m,
                turn.length_m,
                turn.least_gap_m,
                turn.work,
                begun.elapsed()
            );
            judge(place, vehicle, clearance_m, (from, out), turn);
        }
        Err(why) => println!("{}: {why}, {:?}", vehicle.name, begun.elapsed()),
    }
    answer
}

/// Checks an answer by independent means: another integration, other distances, other rules written out.
fn judge(place: &Place, vehicle: &Vehicle, clearance_m: f64, (from, out): (State, &Path), turn: &TurnAround) {
    let path = turn.path.path();
    assert_eq!(path.start, from);
    // Legs change direction, the last one drives out, and each change is a stop.
    assert!(path.legs.windows(2).all(|pair| pair[0].direction != pair[1].direction));
    assert_eq!(path.legs.last().map(|leg| leg.direction), Some(Direction::Forward));
    let before = usize::from(path.legs[0].direction == Direction::Reverse);
    assert_eq!(usize::try_from(turn.stops).unwrap(), path.legs.len() - 1 + before);
    let steering = vehicle.steering;
    for (number, leg) in path.legs.iter().enumerate() {
        // Driven on without a stop the wheels keep their angle.
        let mut share = leg.segments[0].curvature_start;
        if number == 0 && leg.direction == Direction::Forward {
            share = from.curvature;
        }
        for s in &leg.segments {
            let free = steering.lock_distance_m == 0.0;
            assert!(free || (s.curvature_start - share).abs() < 1e-9, "the wheels jump");
            assert!(s.curvature_start.abs().max(s.curvature_end.abs()) < steering.max_curvature + 1e-9);
            let turned = (s.curvature_end - s.curvature_start).abs();
            assert!(turned * steering.lock_distance_m <= steering.max_curvature * s.length_m + 1e-8);
            share = s.curvature_end;
        }
    }
    let length_m: f64 = path.legs.iter().flat_map(|leg| &leg.segments).map(|s| s.length_m).sum();
    assert!((length_m - turn.length_m).abs() < 1e-9);
    let moments = plain::drive(vehicle, path);
    // It ends where the way out does, wherever it joined it.
    let (ends, wanted) = (moments.last().unwrap(), plain::drive(vehicle, out));
    let wanted = wanted.last().unwrap();
    let off = ends.units[0].at.distance(wanted.units[0].at);
    assert!(off < 1e-6, "it ends {off} m from where the way out ends");
    let turned = ends.units[0].along.cross(wanted.units[0].along);
    assert!(turned.abs() < 1e-7 && ends.units[0].along.dot(wanted.units[0].along) > 0.0, "turned {turned}");
    for moment in &moments {
        for (unit, phi) in vehicle.units.iter().zip(&moment.hitches) {
            let most = unit.hitch.expect("it tows").max_angle_rad;
            assert!(phi.abs() <= most + 1e-6, "bent {phi} of {most}");
        }
    }
    // It stays behind the posts while it turns.
    let mut stations = vec![0.0];
    for s in path.legs.iter().flat_map(|leg| &leg.segments).filter(|s| s.length_m > 0.0) {
        let (from, steps) = (*stations.last().unwrap(), (s.length_m / 0.025).ceil().max(1.0) * 10.0);
        let mut i = 1.0;
        while i <= steps {
            stations.push(from + s.length_m * i / steps);
            i += 1.0;
        }
    }
    assert_eq!(stations.len(), moments.len());
    let behind_v = 0.5 * place.site.gate.post.depth_m;
    for (moment, _) in moments.iter().zip(&stations).filter(|(_, station)| **station <= turn.turn_m) {
        for (unit, stand) in vehicle.units.iter().zip(&moment.units) {
            for corner in unit.parts.iter().flat_map(|part| &part.outline.0) {
                let v = stand.place(*corner).y;
                assert!(v > behind_v - 1e-5, "out through the gate while turning: {v}");
            }
        }
    }
    let faces = Faces { left: -0.5 * place.drawn_m, right: 0.5 * place.drawn_m };
    for things in plain::standing(&place.site, faces, place.drawn_m) {
        let look = plain::look(vehicle, &moments, &things, 0.0);
        let least_m = look.least_m;
        assert!(least_m > clearance_m - 1e-6 || clearance_m == 0.0, "{least_m} m from the {}", look.to);
        assert!(least_m > 0.0, "it touches the {}", look.to);
    }
    if let Some(ground) = &place.ground {
        let ring = plain::ring_to_gate(&place.site.gate, ground);
        let (of_ends, _) = plain::tires_inside(vehicle, &moments, &plain::polygon(&ring, &[]));
        assert!(of_ends > -SEAM_M - EDGE_M - 1e-6, "a tire stands {of_ends} m inside");
    }
}

/// The clearances that a published turnaround is tried with: none, too, with every case.
fn clearances_m() -> &'static [f64] {
    if every_case() { &[0.3, 0.0] } else { &[0.3] }
}

fn stops(place: &Place, vehicle: &Vehicle, clearance_m: f64) -> u32 {
    let answer = ask(place, vehicle, clearance_m, 4);
    // No turn within the stops allowed counts as more of them.
    answer.map_or(6, |turn| turn.stops)
}

/// International Fire Code 2018 and 2021, appendix D, figure D103.1: a cul-de-sac 96 ft across. AASHTO Green Book 2018,
/// table 2-5: SU-30 sweeps 43.5 ft at its outer corner, so it has 4.5 ft to spare. The legs' width of 20 ft and the
/// corners' radius of 28 ft are those of that figure.
#[test]
fn a_fire_code_cul_de_sac_holds_its_trucks_without_a_stop() {
    let bulb = place(20.0 * FT, cul_de_sac(48.0 * FT, 20.0 * FT, 28.0 * FT, 12.0));
    for name in ["aashto-su-30", "fire-engine"] {
        let truck = find(name).unwrap();
        for &clearance_m in clearances_m() {
            assert_eq!(ask(&bulb, &truck, clearance_m, 4).unwrap().stops, 0, "{name}");
        }
    }
}

/// A hammerhead of 120 ft in that figure, its legs 60 ft from the middle and 20 ft wide.
#[test]
fn a_fire_code_hammerhead_holds_its_trucks_with_two_stops() {
    let head = place(20.0 * FT, hammerhead(60.0 * FT, 20.0 * FT, 28.0 * FT, 12.0));
    for name in ["aashto-su-30", "fire-engine"] {
        let truck = find(name).unwrap();
        for &clearance_m in clearances_m() {
            assert_eq!(ask(&head, &truck, clearance_m, 4).unwrap().stops, 2, "{name}");
        }
        assert!(matches!(ask(&head, &truck, 0.0, 1), Err(NoTurn::Stopped { stops: 0, .. })), "{name}");
    }
}

/// AASHTO Green Book 2018, table 2-5: SU-30 needs 43.5 ft outside, so walls 40 ft from the middle (California, 14 CCR:
/// a turning radius of 40 ft) stop it, and those of any circle smaller than its own, unless it may stop.
#[test]
fn a_circle_smaller_than_its_own_stops_a_truck() {
    let truck = find("aashto-su-30").unwrap();
    for radius in [36.0, 40.0, 43.0] {
        let bulb = place(20.0 * FT, cul_de_sac(radius * FT, 20.0 * FT, 28.0 * FT, 12.0));
        let why = ask(&bulb, &truck, 0.0, 0).unwrap_err();
        let by = Obstruction::Thing("wall".to_owned());
        assert_eq!(why, NoTurn::Stopped { by, stops: 0, unfinished: false }, "{radius} ft");
    }
}

#[test]
fn a_wider_yard_never_needs_more_stops() {
    let widths =
        if every_case() { &[6.0, 8.0, 10.0, 12.0, 14.0, 17.0, 20.0][..] } else { &[6.0, 12.0, 20.0] };
    for (name, deep) in [("aashto-su-30", 42.0), ("pickup-bumper-pull-20", 30.0)] {
        let vehicle = find(name).unwrap();
        let needs: Vec<u32> =
            widths.iter().map(|w| stops(&place(5.0, yard(5.0, *w, *w, deep)), &vehicle, 0.3)).collect();
        println!("{name}: {needs:?}");
        assert!(needs.windows(2).all(|pair| pair[1] <= pair[0]), "{name}: {needs:?}");
        // The widths are worth comparing: the narrowest needs more than two stops, the widest none.
        assert!(needs[0] > 2 && needs[needs.len() - 1] == 0, "{name}: {needs:?}");
    }
}

#[test]
fn a_mirrored_place_gives_the_mirrored_turn() {
    for (name, deep, left, right) in [
        ("pickup", 16.0, 5.0, 12.0),
        ("aashto-su-30", 24.0, 8.0, 20.0),
        ("pickup-bumper-pull-20", 24.0, 8.0, 16.0),
    ] {
        let vehicle = find(name).unwrap();
        let one = ask(&place(5.0, yard(5.0, left, right, deep)), &vehicle, 0.3, 4).unwrap();
        let other = ask(&place(5.0, yard(5.0, right, left, deep)), &vehicle, 0.3, 4).unwrap();
        assert_eq!(one.stops, other.stops, "{name}");
        let (a, b) = (one.length_m, other.length_m);
        assert!((a - b).abs() < 0.05 * a, "{name}: {a} and {b}");
    }
}

/// A turn may start with wheels turned and trailer bent, as the vehicle came in, and join a way out that bends: the
/// judge holds the answer to that start and that end.
#[test]
fn it_starts_as_it_came_in_and_joins_a_way_out_that_bends() {
    for (name, bent) in [("pickup", 0.0), ("pickup-bumper-pull-20", 0.15)] {
        let vehicle = find(name).unwrap();
        let max = vehicle.steering.max_curvature;
        let place = place(8.0, yard(8.0, 20.0, 20.0, 32.0));
        let mut from = stands(&vehicle, FRAC_PI_2 - 0.2, 2.5);
        (from.curvature, from.hitch[0]) = (-0.6 * max, bent);
        // Out from the right, round to the left of straight, and straight on.
        let start = State { curvature: 0.4 * max, ..stands(&vehicle, -FRAC_PI_2 - 0.25, 2.5) };
        let ramp = |length_m: f64, from: f64, to: f64| Segment {
            length_m,
            curvature_start: from * max,
            curvature_end: to * max,
        };
        let bends_m = 0.25 / (0.4 * max) - vehicle.steering.lock_distance_m * 0.2;
        let lasts_m = vehicle.length_m() + 6.0;
        let segments = vec![
            ramp(bends_m, 0.4, 0.4),
            ramp(0.4 * vehicle.steering.lock_distance_m, 0.4, 0.0),
            Segment::arc(lasts_m, 0.0),
        ];
        let out = Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] };
        let turn = ask_from(&place, &vehicle, 0.3, (from, &out), 4).unwrap();
        assert!(turn.stops <= 2, "{name}");
    }
}

/// A turn joins the way out that a search for backing in finds, reversed: the gate has leaves that stand open inward.
#[test]
fn it_joins_the_way_out_that_a_search_for_backing_in_finds() {
    let vehicle = find("pickup").unwrap();
    let mut site = crate::common::standard_site(5.0);
    site.gate.left.x = -2.2;
    site.gate.right.x = 2.2;
    for fence in &mut site.fences {
        for p in &mut fence.line {
            p.x = if p.x.abs() < 3.0 { 2.2_f64.copysign(p.x) } else { p.x };
        }
    }
    site.gate.leaves.arrangement = wideenough::site::Arrangement::Double;
    let drawn_m = site.gate.opening_m();
    let mut surroundings =
        Surroundings::new(&site, None, drawn_m).with_leaves_for(drawn_m).with_fixed_leaves();
    surroundings.anchor = wideenough::site::Anchor::Center;
    let lane = crate::common::standard_lane(5.0, true, vehicle.units[0].widest_m());
    let ask_way = |maneuver| {
        let problem = wideenough::search::Problem {
            vehicle: &vehicle,
            surroundings: &surroundings,
            lane: &lane,
            maneuver,
            shunts: 0,
            clearance_m: 0.3,
            spot: None,
        };
        let finding = wideenough::search::narrowest(&problem, wideenough::search::Effort::AGAIN, &[]);
        let found = finding.found.expect("a way in");
        assert!(found.inspection.opening_m <= drawn_m, "{}", found.inspection.opening_m);
        found.path.into_path()
    };
    let chain = Chain::of(&vehicle);
    let way_in = ask_way(Maneuver::DriveIn);
    let mut back_in = ask_way(Maneuver::BackIn);
    let reverse = back_in.legs.remove(1);
    let stopped = back_in.end(&chain);
    let out = Path { start: stopped, legs: vec![reverse] }.reversed(&chain);
    let place = Place { site: site.clone(), drawn_m, ground: None, surroundings: surroundings.clone() };
    let turn = ask_from(&place, &vehicle, 0.3, (way_in.end(&chain), &out), 4).unwrap();
    // The land behind the gate is open.
    assert_eq!(turn.stops, 0);
    assert!(turn.inspection.opening_m <= drawn_m + 1e-9 && turn.inspection.margin_m >= 0.0);
}

/// A gate as wide as the yard and a yard hardly longer than the truck: the only turn would be out through the gate and
/// in again.
#[test]
fn it_does_not_come_out_to_turn() {
    let vehicle = find("pickup").unwrap();
    let shallow = place(11.0, yard(11.0, 5.6, 5.6, 7.6));
    let why = ask(&shallow, &vehicle, 0.1, 2).unwrap_err();
    assert!(matches!(why, NoTurn::Stopped { stops: 2, unfinished: false, .. }), "{why}");
}

#[test]
fn what_cannot_be_asked_is_told_apart() {
    let vehicle = find("pickup").unwrap();
    let place = place(4.0, yard(4.0, 12.0, 12.0, 16.0));
    let out = straight_out(&vehicle, 1.0);
    let why = |from: State, out: &Path| ask_from(&place, &vehicle, 0.3, (from, out), 2).unwrap_err();
    let good = stands(&vehicle, FRAC_PI_2, 1.0);
    assert!(matches!(why(stands(&vehicle, FRAC_PI_2, -1.0), &out), NoTurn::Start(_)));
    assert!(matches!(why(State { curvature: 1.0, ..good }, &out), NoTurn::Start(_)));
    assert!(matches!(why(State { curvature: f64::NAN, ..good }, &out), NoTurn::Start(_)));
    // The nose is 10 cm from the far wall.
    let nose = stands(&vehicle, FRAC_PI_2, 16.0 - vehicle.length_m() - 0.1);
    assert_eq!(why(nose, &out), NoTurn::Start("the vehicle lacks room: wall".to_owned()));
    let chain = Chain::of(&vehicle);
    assert!(matches!(why(good, &out.reversed(&chain)), NoTurn::Out(_)));
    assert!(matches!(why(good, &Path { legs: vec![], ..out.clone() }), NoTurn::Out(_)));
    // A meter aside it meets the post; and it must lead out.
    let aside = out.moved(0.0, Point::new(1.0, 0.0));
    assert!(matches!(why(good, &aside), NoTurn::Out(_)));
    let nothing = State { lead: Pose::new(f64::NAN, 9.0, 0.0), ..out.start };
    assert!(matches!(why(good, &Path { start: nothing, ..out.clone() }), NoTurn::Out(_)));
    let stays = Path {
        legs: vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(0.1, 0.0)] }],
        ..out
    };
    assert!(matches!(why(good, &stays), NoTurn::Out(_)));
}

#[test]
fn the_same_question_gets_the_same_answer() {
    let vehicle = find("pickup-bumper-pull-20").unwrap();
    let place = place(5.0, yard(5.0, 12.0, 12.0, 24.0));
    let twice = [0, 1].map(|_| ask(&place, &vehicle, 0.3, 4).unwrap());
    assert_eq!(twice[0].path, twice[1].path);
}

/// Wheels without a limit on how fast they turn, and a vehicle of three units.
#[test]
fn it_turns_vehicles_of_every_kind() {
    let car = crate::common::car();
    let lawn = place(4.0, yard(4.0, 14.0, 14.0, 24.0));
    assert_eq!(stops(&lawn, &car, 0.2), 0);
    let mut train = crate::common::gooseneck();
    let mut cart = crate::common::unit("cart", 4.0, 1.5, 3.0, 2.0, None);
    cart.tires.truncate(2);
    train.units[1].hitch =
        Some(wideenough::vehicle::Hitch { behind_axle_m: 3.2, max_angle_rad: 70f64.to_radians() });
    train.units.push(cart);
    let field = place(6.0, yard(6.0, 30.0, 30.0, 50.0));
    assert_eq!(stops(&field, &train, 0.3), 0);
}

/// With no clearance asked for, a turn that keeps none is as good as any: the vehicle passes in comfort, as it does with one.
#[test]
fn a_turn_without_clearance_is_in_comfort_where_none_is_asked_for() {
    use wideenough::opening::{StudyOptions, Verdict, Wanted, study, vehicle_verdict};
    let plan = json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
        feature(&json!({ "role": "road", "width": 7, "continues": "both" }), "LineString", &json!([[-60, 0], [60, 0]])),
        feature(&json!({ "role": "gate", "leaves": "none" }), "LineString", &json!([[-2.5, 9], [2.5, 9]])),
    ] });
    let site = read(&plan.to_string(), "yard").unwrap();
    let wanted = Wanted {
        vehicle: find("car").unwrap(),
        visits: vec![wideenough::site::Visit::TurnAround],
        travels: Vec::new(),
    };
    for clearance_m in [0.0, 0.3] {
        let options = StudyOptions { changes: false, clearance_m, ..StudyOptions::default() };
        let studied = study(site.clone(), std::slice::from_ref(&wanted), &options, &|_| {});
        assert_eq!(vehicle_verdict(&studied, 0), Verdict::Comfortable, "{clearance_m} m");
    }
}

/// Where a turn is said to end in line with its lane, the body of the lead stands in that lane: measured on the committed
/// example from its results, by the road's own coordinates.
#[test]
fn a_turn_that_ends_in_line_ends_in_its_lane() {
    let text = std::fs::read_to_string("examples/equipment-yard.geojson").unwrap();
    let site = read(&text, "yard").unwrap();
    let results: Value =
        serde_json::from_str(&std::fs::read_to_string("out/equipment-yard/results.json").unwrap()).unwrap();
    let middle_y = site.roads[0].centerline[0].y;
    let mut count = 0;
    for turn in results["turns"].as_array().unwrap() {
        let path = turn["witness"]["poses"].as_array().unwrap();
        if turn["ends_in_line"] != json!(true) {
            continue;
        }
        let last = path.last().unwrap();
        let [x, y, heading] = [1, 2, 3].map(|i| last[i].as_f64().unwrap());
        let vehicle = find(turn["vehicle"].as_str().unwrap()).unwrap();
        let lead = Pose::new(x, y, heading);
        let corners = vehicle.units[0].parts.iter().filter(|p| p.kind == wideenough::vehicle::PartKind::Body);
        for corner in corners.flat_map(|part| &part.outline.0) {
            let across = lead.to_site(*corner).y - middle_y;
            // Vehicles drive on the right.
            let own = if cos(heading) > 0.0 { -across } else { across };
            assert!(own > -0.06, "{}: {own} m", turn["vehicle"]);
        }
        count += 1;
    }
    assert!(count >= 2, "{count}");
}
