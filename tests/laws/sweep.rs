//! Envelopes against closed forms, and against poses taken densely along the path by a plain second method.
use geo::{Area, Contains, Distance, Euclidean};
use rstest::rstest;
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use wideenough::geometry::{Outline, Point, Pose};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::sweep::{Cover, DRAWING_TOLERANCE_M, Envelope, FINE_TOLERANCE_M, SweepError, envelope};
use wideenough::vehicle::{Hitch, Part, PartKind, Steering, Tire, Unit, Vehicle};

fn rectangle(back: f64, front: f64, right: f64, left: f64) -> Outline {
    Outline(
        [(-back, -right), (front, -right), (front, left), (-back, left)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec(),
    )
}

fn part(kind: PartKind, outline: Outline) -> Part {
    Part { kind, outline, bottom_m: 0.3, top_m: 1.8 }
}

/// A unit whose body is a rectangle `f` ahead of the axle, `r` behind it and `w` wide.
fn unit(name: &str, wheelbase_m: f64, f: f64, r: f64, w: f64, tires: Vec<Tire>) -> Unit {
    Unit {
        name: name.into(),
        wheelbase_m,
        front_overhang_m: f - wheelbase_m,
        rear_overhang_m: r,
        width_m: w,
        height_m: 1.8,
        ground_clearance_m: 0.3,
        parts: vec![part(PartKind::Body, rectangle(r, f, w / 2.0, w / 2.0))],
        tires,
        hitch: None,
    }
}

fn tire(x: f64, y: f64, steered: bool) -> Tire {
    Tire { center: Point::new(x, y), width_m: 0.25, steered }
}

fn vehicle(units: Vec<Unit>) -> Vehicle {
    let steering = Steering { lock_angle_rad: 0.6, max_curvature: 0.25, lock_distance_m: 2.0, ratio: None };
    Vehicle {
        name: "test".into(),
        title: "Test".into(),
        about: String::new(),
        units,
        steering,
        dimensions: vec![],
    }
}

fn car() -> Vehicle {
    let tires =
        vec![tire(0.0, 0.8, false), tire(0.0, -0.8, false), tire(2.8, 0.8, true), tire(2.8, -0.8, true)];
    vehicle(vec![unit("car", 2.8, 3.6, 0.9, 1.8, tires)])
}

fn with_trailer() -> Vehicle {
    let mut lead = unit("pickup", 3.7, 4.7, 1.2, 2.0, vec![tire(0.0, 0.8, false), tire(3.7, -0.8, true)]);
    lead.parts.push(part(PartKind::Mirror, rectangle(-2.6, 2.8, -1.0, 1.22)));
    lead.hitch = Some(Hitch { behind_axle_m: 1.25, max_angle_rad: 1.2 });
    let mut trailer = unit("trailer", 5.2, 4.0, 2.2, 2.44, vec![tire(0.0, 1.0, false)]);
    trailer.parts.push(part(
        PartKind::Body,
        Outline(vec![Point::new(4.0, -0.5), Point::new(5.2, 0.0), Point::new(4.0, 0.5)]),
    ));
    vehicle(vec![lead, trailer])
}

fn one_leg(direction: Direction, segments: Vec<Segment>) -> Path {
    Path {
        start: State { lead: Pose::new(3.0, -2.0, 0.3), ..State::default() },
        legs: vec![Leg { direction, segments }],
    }
}

fn ramp(length_m: f64, curvature_start: f64, curvature_end: f64) -> Segment {
    Segment { length_m, curvature_start, curvature_end }
}

/// Straight on: a rectangle as long as the path and the body, at a heading whose edges nearly coincide in every step.
#[test]
fn straight_is_one_rectangle() {
    let path = one_leg(
        Direction::Forward,
        vec![Segment::arc(7.0, 0.0), Segment::arc(0.3, 0.0), Segment::arc(12.7, 0.0)],
    );
    let swept = envelope(&car(), &path, Cover::Body, FINE_TOLERANCE_M).expect("swept");
    assert!((swept.area_m2() - (20.0 + 4.5) * 1.8).abs() < 1e-5, "{}", swept.area_m2());
    assert_eq!(swept.rings()[0][0].0.len(), 4, "one hull, four corners");
    let tracks = envelope(&car(), &path, Cover::Tires, FINE_TOLERANCE_M).expect("tracks");
    // Front and rear tires of a side overlap over 17.2 m: 22.8 m by 0.25 m a side.
    assert!((tracks.area_m2() - 2.0 * 22.8 * 0.25).abs() < 1e-4, "{}", tracks.area_m2());
}

/// A tire that stands 15 cm out of the body covers a strip of its own; one flush with the body none.
#[test]
fn a_tire_that_stands_out_is_covered() {
    let path = one_leg(Direction::Forward, vec![Segment::arc(20.0, 0.0)]);
    for (out_m, strip_m2) in [(0.15, 0.15 * 20.6), (0.0, 0.0)] {
        let mut car = car();
        car.units[0].parts.push(part(PartKind::Tire, rectangle(0.3, 0.3, -0.65 - out_m, 0.9 + out_m)));
        let swept = envelope(&car, &path, Cover::Body, FINE_TOLERANCE_M).expect("swept");
        assert!((swept.area_m2() - 24.5 * 1.8 - strip_m2).abs() < 1e-4, "{}", swept.area_m2());
    }
}

/// There and back again: the ground that only the second leg covers must not be lost.
#[test]
fn forward_then_farther_back() {
    let mut path = one_leg(Direction::Forward, vec![Segment::arc(6.0, 0.0)]);
    path.legs.push(Leg { direction: Direction::Reverse, segments: vec![Segment::arc(10.0, 0.0)] });
    let swept = envelope(&car(), &path, Cover::Body, FINE_TOLERANCE_M).expect("swept");
    assert!((swept.area_m2() - (10.0 + 4.5) * 1.8).abs() < 1e-5, "{}", swept.area_m2());
}

/// A full circle: a ring between the inner side's foot, R − w/2, and the outer front corner.
#[rstest]
#[case(DRAWING_TOLERANCE_M)]
#[case(FINE_TOLERANCE_M)]
fn a_full_circle_is_a_ring(#[case] tolerance_m: f64) {
    let (r, f, w) = (5.0, 3.6, 1.8);
    let path = one_leg(Direction::Forward, vec![Segment::arc(TAU * r, 1.0 / r)]);
    let center = path.start.lead.to_site_left(r);
    let swept = envelope(&car(), &path, Cover::Body, tolerance_m).expect("swept");
    let (inner, outer) = (r - w / 2.0, ((r + w / 2.0).powi(2) + f * f).sqrt());
    assert!(swept.over_m <= tolerance_m && swept.under_m <= tolerance_m);
    let rings = swept.rings();
    assert_eq!((rings.len(), rings[0].len()), (1, 2), "one polygon with one hole");
    for (ring, radius, out) in [(&rings[0][0], outer, 1.0), (&rings[0][1], inner, -1.0)] {
        for (a, b) in ring.edges() {
            for at in [a, (a + b) * 0.5] {
                let beyond = (at.distance(center) - radius) * out;
                assert!(beyond <= swept.over_m && -beyond <= swept.under_m, "{radius}: {beyond}");
            }
        }
    }
    let exact = PI * (outer * outer - inner * inner);
    let perimeter = TAU * (outer + inner);
    assert!((swept.area_m2() - exact).abs() < perimeter * tolerance_m, "{} {exact}", swept.area_m2());
    // The ring of a steered tire: its contact line points at the center.
    let tracks = envelope(&car(), &path, Cover::UnitTires(0), tolerance_m).expect("tracks");
    let far = tracks
        .rings()
        .iter()
        .flatten()
        .flat_map(|o| o.0.clone())
        .map(|p| p.distance(center))
        .fold(0.0, f64::max);
    let exact = (5.8_f64.powi(2) + 2.8 * 2.8).sqrt() + 0.125;
    assert!((far - exact).abs() <= tolerance_m, "{far} {exact}");
}

trait Left {
    fn to_site_left(&self, distance: f64) -> Point;
}
impl Left for Pose {
    fn to_site_left(&self, distance: f64) -> Point {
        self.to_site(Point::new(0.0, distance))
    }
}

/// The parts of a cover as closed polygons at one state, for the second method.
fn footprints(vehicle: &Vehicle, chain: &Chain, state: &State, tires: bool) -> Vec<geo::Polygon<f64>> {
    let poses = chain.unit_poses(state);
    let mut all = Vec::new();
    for (unit, pose) in vehicle.units.iter().zip(poses) {
        let outlines: Vec<Vec<Point>> = if tires {
            let line = |t: &Tire| {
                let k = if t.steered { state.curvature } else { 0.0 };
                let axis = (Point::new(1.0 - k * t.center.y, k * t.center.x)).left();
                let half = axis.unit().expect("a direction") * (t.width_m / 2.0);
                vec![t.center - half, t.center + half, t.center]
            };
            unit.tires.iter().map(line).collect()
        } else {
            unit.parts.iter().map(|p| p.outline.0.clone()).collect()
        };
        for outline in outlines {
            let ring = outline.into_iter().map(|c| geo::Coord::from(pose.to_site(c))).collect();
            all.push(geo::Polygon::new(geo::LineString::new(ring), vec![]));
        }
    }
    all
}

/// Checks that every pose lies inside the envelope grown by `under_m`, and that the outline lies within `over_m` of
/// some pose.
fn agrees_with_dense_poses(vehicle: &Vehicle, path: &Path, swept: &Envelope, tires: bool) -> (f64, f64) {
    let chain = Chain::of(vehicle);
    let step = 0.004;
    let poses: Vec<Vec<geo::Polygon<f64>>> =
        path.samples(&chain, step).iter().map(|s| footprints(vehicle, &chain, &s.state, tires)).collect();
    let mut missed = 0.0_f64;
    for corner in poses.iter().step_by(5).flatten().flat_map(|p| p.exterior().0.clone()) {
        let at = geo::Point::from(corner);
        if !swept.polygons.contains(&at) {
            missed = missed.max(Euclidean.distance(&at, &swept.polygons));
        }
    }
    let mut added = 0.0_f64;
    for ring in swept.rings().iter().flatten() {
        for (a, b) in ring.edges() {
            for part in [0.0, 0.5] {
                let at: geo::Point<f64> = geo::Coord::from(a + (b - a) * part).into();
                let near =
                    poses.iter().flatten().map(|p| Euclidean.distance(&at, p)).fold(f64::MAX, f64::min);
                added = added.max(near);
            }
        }
    }
    // A corner moves at most some 2.5 m per meter rolled, so a place covered between two poses is 5 mm from one.
    let between = step * 2.5 / 2.0;
    assert!(missed <= swept.under_m, "{missed} m left out, stated {}", swept.under_m);
    assert!(added <= swept.over_m + between, "{added} m added, stated {}", swept.over_m);
    (missed, added)
}

fn weave() -> Vec<Segment> {
    vec![
        ramp(2.0, 0.0, 0.15),
        Segment::arc(4.0, 0.15),
        ramp(2.5, 0.15, -0.12),
        Segment::arc(3.0, -0.12),
        ramp(1.5, -0.12, 0.0),
        Segment::arc(2.0, 0.0),
    ]
}

#[rstest]
#[case(Cover::Body, DRAWING_TOLERANCE_M)]
#[case(Cover::Body, FINE_TOLERANCE_M)]
#[case(Cover::Tires, DRAWING_TOLERANCE_M)]
#[case(Cover::Tires, FINE_TOLERANCE_M)]
fn bounds_hold_for_a_trailer_forward_and_back(#[case] cover: Cover, #[case] tolerance_m: f64) {
    let vehicle = with_trailer();
    for direction in [Direction::Forward, Direction::Reverse] {
        let mut path = one_leg(direction, weave());
        path.start.hitch[0] = 0.15;
        let swept = envelope(&vehicle, &path, cover, tolerance_m).expect("swept");
        assert!(swept.over_m <= tolerance_m && swept.under_m <= tolerance_m, "{swept:?}");
        agrees_with_dense_poses(&vehicle, &path, &swept, cover == Cover::Tires);
    }
}

/// Wheels turned while standing scrub a fan; a coarse tolerance must show real, bounded differences.
#[test]
fn standing_turns_and_coarse_tolerances() {
    let vehicle = car();
    let mut path = one_leg(Direction::Forward, vec![Segment::arc(5.0, 0.22)]);
    path.legs.push(Leg { direction: Direction::Reverse, segments: vec![Segment::arc(5.0, -0.22)] });
    for tolerance_m in [0.1, 0.02, 0.001] {
        for cover in [Cover::Body, Cover::Tires] {
            let swept = envelope(&vehicle, &path, cover, tolerance_m).expect("swept");
            let (_, added) = agrees_with_dense_poses(&vehicle, &path, &swept, cover == Cover::Tires);
            if tolerance_m > 0.05 && cover == Cover::Body {
                assert!(added > 0.02, "the bound is not idle: {added}");
            }
        }
    }
    // Driven on ahead instead, the wheels leave the fan on no side of their tracks: it must be covered by itself.
    path.legs[1].direction = Direction::Forward;
    let tracks = envelope(&vehicle, &path, Cover::Tires, 0.001).expect("tracks");
    let state = path.legs[0]
        .segments
        .iter()
        .fold(path.start, |s, seg| Chain::of(&vehicle).advance(&s, seg.length_m, 0.22, 0.22));
    for k in [0.1, 0.0, -0.1] {
        for footprint in footprints(&vehicle, &Chain::of(&vehicle), &State { curvature: k, ..state }, true) {
            for corner in footprint.exterior().0.iter() {
                let off = Euclidean.distance(&geo::Point::from(*corner), &tracks.polygons);
                assert!(off <= tracks.under_m, "{off} at {k}");
            }
        }
    }
}

/// Driving in and backing out cover the same ground; and a mirrored path covers as much.
#[test]
fn reversed_and_mirrored_paths_cover_as_much() {
    let vehicle = with_trailer();
    let path = one_leg(Direction::Forward, weave());
    let area =
        |p: &Path| envelope(&vehicle, p, Cover::UnitBody(1), FINE_TOLERANCE_M).expect("swept").area_m2();
    let back = path.reversed(&Chain::of(&vehicle));
    let (a, b, c) = (area(&path), area(&back), area(&path.mirrored()));
    // Each outline of some 60 m is within 1 mm.
    assert!((a - b).abs() < 0.06 && (a - c).abs() < 0.06, "{a} {b} {c}");
    let bent = path.moved(FRAC_PI_2 / 3.0, Point::new(40.0, -7.0));
    assert!((a - area(&bent)).abs() < 0.06);
}

/// A path without legs covers the body where it stands, and a unit that does not exist covers nothing.
#[test]
fn standing_still_covers_the_body() {
    let path = Path { start: State::default(), legs: vec![] };
    let swept = envelope(&car(), &path, Cover::Body, FINE_TOLERANCE_M).expect("swept");
    assert!((swept.polygons.unsigned_area() - 4.5 * 1.8).abs() < 1e-6);
    assert_eq!(envelope(&car(), &path, Cover::UnitBody(3), 0.005), Err(SweepError::Nothing));
}

#[test]
fn impossible_numbers_are_refused() {
    let good = one_leg(Direction::Forward, weave());
    let refused = |change: &dyn Fn(&mut Vehicle, &mut Path), tolerance_m: f64| {
        let (mut vehicle, mut path) = (with_trailer(), good.clone());
        change(&mut vehicle, &mut path);
        envelope(&vehicle, &path, Cover::Body, tolerance_m).expect_err("must be refused").to_string()
    };
    let nothing = |_: &mut Vehicle, _: &mut Path| {};
    assert!(refused(&nothing, 0.0).contains("0 m"));
    assert!(refused(&nothing, f64::NAN).contains("NaN"));
    assert!(refused(&|_, p| p.start.lead.position.x = f64::NAN, 0.005).contains("not finite"));
    assert!(
        refused(&|_, p| p.legs[0].segments[2].curvature_end = f64::INFINITY, 0.005).contains("6 m along")
    );
    assert!(refused(&|v, _| v.units[0].parts[0].outline.0[1].y = f64::NAN, 0.005).contains("finite"));
    assert!(refused(&|v, _| v.units[1].wheelbase_m = 0.0, 0.005).contains("not finite"));
    assert!(refused(&|_, p| p.legs[0].segments[1].length_m = 1e9, 0.005).contains("more than 400000 steps"));
}
