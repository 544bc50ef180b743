//! Laws that hold whatever the place: mirrored, moved and reversed paths need the same; more obstacles never help; a
//! wider gate never hurts; heights decide what can touch; and the bounds of an inspection hold between its samples.
use crate::common::{gooseneck, pickup, rectangle, standard_site};
use geo::{Distance, Euclidean};
use geo_types::{Coord, LineString, Polygon};
use proptest::prelude::*;
use wideenough::clearance::{CollisionModel, Inspection, Surroundings, inspect};
use wideenough::geometry::{Outline, Point, Pose, Shape};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::opening::{DrawnGate, StudyOptions, Wanted, study};
use wideenough::search::Effort;
use wideenough::site::{Arrangement, Obstacle, Side, Site, Visit};
use wideenough::vehicle::Vehicle;

fn look(site: &Site, vehicle: &Vehicle, clearance: f64, leaf_opening: f64, path: &Path) -> Inspection {
    let surroundings = Surroundings::new(site, None, leaf_opening);
    inspect(&CollisionModel::new(vehicle, surroundings, clearance, f64::INFINITY), path)
}

/// A turn in through the gate of the standard site, in the gate's frame.
fn turn_in() -> Path {
    let k = 0.17;
    let ramp = |a: f64, b: f64| Segment { length_m: 1.5, curvature_start: a, curvature_end: b };
    let segments = vec![ramp(0.0, k), Segment::arc(7.0, k), ramp(k, 0.0), Segment::arc(12.0, 0.0)];
    let start = State { lead: Pose::new(-6.6, -8.8, 0.0), ..State::default() };
    Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] }
}

fn box_at(label: &str, x: f64, y: f64, bottom_m: f64, top_m: f64) -> Obstacle {
    let outer = rectangle(x - 0.3, y - 0.3, x + 0.3, y + 0.3);
    let shapes = vec![Shape { outer, holes: vec![], radius_m: 0.0 }];
    Obstacle { label: label.to_owned(), shapes, bottom_m, top_m }
}

/// Mirrored about the gate's middle, site and path alike, a vehicle with identical sides needs the same.
#[test]
fn mirror() {
    for vehicle in [pickup(), gooseneck()] {
        let site = standard_site(4.5);
        let mut path = turn_in();
        let seen = look(&site, &vehicle, 0.1, 0.0, &path);
        // Mirror about the v axis: a turn by half a circle of the mirror about the u axis.
        path = path.mirrored().moved(std::f64::consts::PI, Point::default());
        let mirrored = look(&site, &vehicle, 0.1, 0.0, &path);
        assert!(
            (seen.opening_m - mirrored.opening_m).abs() < 1e-9,
            "{} {}",
            seen.opening_m,
            mirrored.opening_m
        );
        assert!(
            (seen.faces_u.left + mirrored.faces_u.right).abs() < 1e-9
                && (seen.margin_m - mirrored.margin_m).abs() < 1e-9
        );
    }
}

/// Turned and shifted, site and path alike: in the gate's own frame nothing changes.
#[test]
fn rotate_and_shift() {
    let vehicle = pickup();
    let site = standard_site(4.5);
    let seen = look(&site, &vehicle, 0.0, 0.0, &turn_in());
    let by = Pose::new(31.0, -17.0, 0.7);
    let mut moved = site.clone();
    let ring = |o: &mut Outline| o.0.iter_mut().for_each(|p| *p = by.to_site(*p));
    ring(&mut moved.roads[0].surface.outer);
    moved.obstacles.iter_mut().flat_map(|o| &mut o.shapes).for_each(|s| ring(&mut s.outer));
    moved.fences.iter_mut().flat_map(|f| &mut f.line).for_each(|p| *p = by.to_site(*p));
    moved.gate.left = by.to_site(moved.gate.left);
    moved.gate.right = by.to_site(moved.gate.right);
    moved.gate.inward = by.to_site(moved.gate.inward) - by.position;
    let again = look(&moved, &vehicle, 0.0, 0.0, &turn_in());
    assert!((seen.opening_m - again.opening_m).abs() < 1e-9 && (seen.margin_m - again.margin_m).abs() < 1e-9);
}

/// The path driven back covers the same ground. Sampling is identical except for where steps fall.
#[test]
fn reverse() {
    for vehicle in [pickup(), gooseneck()] {
        let site = standard_site(4.5);
        let seen = look(&site, &vehicle, 0.0, 0.0, &turn_in());
        let back = look(&site, &vehicle, 0.0, 0.0, &turn_in().reversed(&Chain::of(&vehicle)));
        assert!((seen.opening_m - back.opening_m).abs() < 1e-4, "{} {}", seen.opening_m, back.opening_m);
    }
}

/// More obstacles never lower a need or widen a margin; more clearance never lowers a need; nor does a thicker leaf.
#[test]
fn more_never_helps() {
    let vehicle = pickup();
    let mut site = standard_site(4.5);
    let path = turn_in();
    let base = look(&site, &vehicle, 0.0, 0.0, &path);
    site.obstacles.push(box_at("box", 3.5, -2.0, 0.0, 2.0));
    let crowded = look(&site, &vehicle, 0.0, 0.0, &path);
    assert!(crowded.opening_m >= base.opening_m && crowded.margin_m <= base.margin_m);
    let mut last = 0.0;
    for clearance in [0.0, 0.1, 0.3, 0.6] {
        let need = look(&site, &vehicle, clearance, 0.0, &path).opening_m;
        assert!(need > last);
        last = need;
    }
    let mut last = 0.0;
    for thickness in [0.0, 0.05, 0.2] {
        site.gate.leaves.arrangement = Arrangement::Double;
        site.gate.leaves.thickness_m = thickness;
        let need = look(&site, &vehicle, 0.0, 4.0, &path).opening_m;
        assert!(need >= last && need >= base.opening_m);
        last = need;
    }
}

/// A leaf of no thickness standing square changes nothing for a straight drive.
#[test]
fn a_thin_leaf_standing_square_changes_nothing_straight_on() {
    let lead = Pose::new(0.1, -8.0, std::f64::consts::FRAC_PI_2);
    let legs = vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(25.0, 0.0)] }];
    let path = Path { start: State { lead, ..State::default() }, legs };
    let mut site = standard_site(4.5);
    let without = look(&site, &pickup(), 0.3, 4.0, &path).opening_m;
    site.gate.leaves.thickness_m = 0.0;
    for arrangement in
        [Arrangement::Double, Arrangement::Single(Side::Left), Arrangement::Single(Side::Right)]
    {
        site.gate.leaves.arrangement = arrangement;
        assert!((look(&site, &pickup(), 0.3, 4.0, &path).opening_m - without).abs() < 1e-9);
    }
}

/// A leaf that stands open farther than square never makes a drive-in worse: it leaves the opening.
#[test]
fn opening_past_square_never_hurts() {
    let lead = Pose::new(0.1, -8.0, std::f64::consts::FRAC_PI_2);
    let legs = vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(25.0, 0.0)] }];
    let straight = Path { start: State { lead, ..State::default() }, legs };
    let mut site = standard_site(4.5);
    for path in [turn_in(), straight] {
        for arrangement in
            [Arrangement::Double, Arrangement::Single(Side::Left), Arrangement::Single(Side::Right)]
        {
            site.gate.leaves.arrangement = arrangement;
            let mut last = f64::INFINITY;
            for degrees in [80.0, 90.0, 100.0, 120.0, 150.0] {
                site.gate.leaves.open_angle_rad = f64::to_radians(degrees);
                let need = look(&site, &pickup(), 0.0, 4.0, &path).opening_m;
                assert!(need <= last + 1e-9, "{arrangement:?} at {degrees}: {need} after {last}");
                last = need;
            }
        }
    }
}

/// A mirror passes over a mailbox lower than itself; a limb stops only what is taller; a ditch stops only tires.
#[test]
fn heights_decide() {
    // Straight along the road, body half width 1.025, mirrors to 1.2192 between 1.2 and 1.8 m high, body to 2.5 m.
    let lead = Pose::new(-8.0, -8.0, 0.0);
    let legs = vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(16.0, 0.0)] }];
    let path = Path { start: State { lead, ..State::default() }, legs };
    let margin = |obstacle: Obstacle, vehicle: &Vehicle| {
        let mut site = standard_site(4.5);
        site.obstacles = vec![obstacle];
        look(&site, vehicle, 0.0, 0.0, &path).margin_m
    };
    // In site coordinates the lead drives along y = -3.3; the box's near side is 1.1 m to its left.
    let beside = -3.3 + 1.1 + 0.3;
    let car = pickup();
    assert!((margin(box_at("mailbox", 0.0, beside, 0.0, 1.1), &car) - 0.075).abs() < 1e-3);
    assert!(margin(box_at("tall box", 0.0, beside, 0.0, 1.3), &car) < -0.1);
    let mut low = pickup();
    low.units[0].parts.iter_mut().for_each(|p| p.top_m = p.top_m.min(1.9));
    assert!(margin(box_at("limb", 0.0, -3.3, 2.2, 9.0), &car) < 0.0);
    assert!(margin(box_at("limb", 0.0, -3.3, 2.2, 9.0), &low) >= 0.2);
    // The body's underside is 0.25 m up; a library vehicle's tires stand on the ground.
    assert!(margin(box_at("ditch", 0.0, -3.3 + 0.9, 0.0, 0.0), &car) >= 0.2);
    let library = wideenough::vehicle::find("pickup").expect("in the library");
    assert!(margin(box_at("ditch", 0.0, -3.3 + 0.9, 0.0, 0.0), &library) < 0.0);
}

/// A wider gate never makes the verdict worse.
#[test]
fn a_wider_gate_never_hurts() {
    let rank = |d: DrawnGate| match d {
        DrawnGate::No => 0,
        DrawnGate::Tight => 1,
        DrawnGate::Comfortable => 2,
    };
    let mut last = 0;
    let mut seen = Vec::new();
    for half in [1.0, 1.3, 1.6, 2.2] {
        let mut site = standard_site(4.5);
        site.gate.left.x = -half;
        site.gate.right.x = half;
        site.fences[0].line[1].x = -half;
        site.fences[1].line[0].x = half;
        let wanted = Wanted {
            vehicle: pickup(),
            visits: vec![Visit::DriveInBackOut],
            travels: vec!["eastbound".to_owned()],
        };
        let options =
            StudyOptions { effort: Effort { polished: 1, ..Effort::USUAL }, ..StudyOptions::default() };
        let study = study(site, &[wanted], &options, &|_| {});
        let now = rank(study.cases[0].drawn_gate);
        assert!(now >= last, "{half}: {now} after {last}");
        last = now;
        seen.push(now);
    }
    assert_eq!(seen, [0, 1, 2, 2]);
}

fn polygon(corners: &[Point]) -> Polygon<f64> {
    Polygon::new(LineString(corners.iter().map(|p| Coord::from(*p)).collect()), vec![])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]
    /// An independent sampling every 2 mm, with distances by another library, lands inside the inspection's bounds.
    #[test]
    fn bounds_hold_between_samples(
        k in prop::collection::vec(-0.2..0.2f64, 4),
        lengths in prop::collection::vec(0.5..4.0f64, 4),
        x in -3.0..3.0f64,
        heading in 0.6..2.5f64,
        phi in -0.4..0.4f64,
    ) {
        let vehicle = gooseneck();
        let mut now = 0.0;
        let mut segments = Vec::new();
        for (k, length) in k.iter().zip(&lengths) {
            segments.push(Segment { length_m: *length, curvature_start: now, curvature_end: *k });
            now = *k;
        }
        let start = State { lead: Pose::new(x, -4.0, heading), hitch: [phi, 0.0, 0.0], curvature: 0.0 };
        let path = Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] };
        let mut site = standard_site(1.5);
        site.obstacles.push(box_at("box", 4.0, 5.0, 0.0, 2.0));
        let surroundings = Surroundings::new(&site, None, 0.0);
        let model = CollisionModel::new(&vehicle, surroundings, 0.0, f64::INFINITY);
        let seen = inspect(&model, &path);
        let chain = Chain::of(&vehicle);
        let blocks: Vec<Polygon<f64>> =
            model.surroundings.standing.iter().map(|s| polygon(&s.corners)).collect();
        let (mut reach, mut gap) = (0.0_f64, f64::INFINITY);
        for sample in path.samples(&chain, 0.002) {
            let poses = chain.unit_poses(&sample.state);
            for part in &model.parts {
                let placed: Vec<Point> = part.corners.iter().map(|p| poses[part.unit].to_site(*p)).collect();
                let outline = polygon(&placed);
                for block in &blocks {
                    gap = gap.min(Euclidean.distance(&outline, block));
                }
                // The outline's own points within the fence's depth, along its edges every 4 mm.
                for (a, b) in Outline(placed).edges() {
                    let n = (a.distance(b) / 0.004).ceil().max(1.0);
                    let mut i = 0.0;
                    while i <= n {
                        let p = a + (b - a) * (i / n);
                        if p.y.abs() <= 0.2 {
                            reach = reach.max(p.x.abs());
                        }
                        i += 1.0;
                    }
                }
            }
        }
        prop_assert!(2.0 * reach <= seen.opening_m + 1e-9, "{} beyond {}", 2.0 * reach, seen.opening_m);
        // Sampling misses at most the travel between samples; the bound itself adds little.
        prop_assert!(seen.opening_m <= 2.0 * reach + 0.02, "{} far beyond {}", seen.opening_m, 2.0 * reach);
        if gap < 0.25 {
            prop_assert!(seen.margin_m <= gap + 1e-9 && (gap == 0.0 || seen.margin_m >= gap - 0.005), "{} {gap}", seen.margin_m);
        }
    }
}
