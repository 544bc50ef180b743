//! Clearance at the gate as drawn: laws it keeps, a closed form, and the paths that keep it measured again by a plain
//! method (`common::plain`).
use crate::common::plain::{FAR_M, drive, look, ring_to_gate, standing};
use crate::common::{add_pole, box_truck, gooseneck, open_place, pickup, standard_site, unit, vehicle};
use wideenough::clearance::Thing;
use wideenough::geometry::{Outline, Point, Pose};
use wideenough::motion::{Path, State};
use wideenough::opening::{Case, DrawnGate, Study, StudyOptions, Wanted, study};
use wideenough::report;
use wideenough::site::{Arrangement, Faces, Maneuver, Side, Site};
use wideenough::vehicle::{Vehicle, find};

fn asked(site: Site, vehicle: &Vehicle, maneuver: Maneuver, clearance_m: f64) -> Study {
    let wanted = Wanted {
        vehicle: vehicle.clone(),
        visits: vec![maneuver.into()],
        travels: vec!["eastbound".to_owned()],
    };
    let options = StudyOptions { clearance_m, changes: false, ..StudyOptions::default() };
    study(site, &[wanted], &options, &|_| ())
}

fn drawn(site: Site, vehicle: &Vehicle, maneuver: Maneuver) -> Case {
    asked(site, vehicle, maneuver, 0.3).cases.swap_remove(0)
}

/// A path in the gate's frame.
fn in_gate(site: &Site, path: &Path) -> Path {
    let lead = path.start.lead;
    let at = ring_to_gate(&site.gate, &Outline(vec![lead.position]))[0];
    let line = site.gate.right - site.gate.left;
    let heading = lead.heading - libm::atan2(line.y, line.x);
    Path { start: State { lead: Pose { position: at, heading }, ..path.start }, legs: path.legs.clone() }
}

/// Least gap between a case's path as drawn and everything standing, with the faces of the drawn gate `out_m` farther
/// out.
fn least_gap(site: &Site, vehicle: &Vehicle, case: &Case, out_m: f64) -> f64 {
    let path = in_gate(site, case.drawn.witness.as_ref().expect("a path").path());
    let moments = drive(vehicle, &path);
    let drawn_m = site.gate.opening_m();
    let faces = Faces::new(-0.5 * drawn_m - out_m, 0.5 * drawn_m + out_m);
    let lists = standing(site, faces, drawn_m);
    lists.iter().map(|things| look(vehicle, &moments, things, 0.0).least_m).fold(FAR_M, f64::min)
}

/// Checks that hold for every case: the clearance agrees with the verdict, and the path keeps exactly that clearance.
fn hold(site: &Site, vehicle: &Vehicle, case: &Case, label: &str) {
    let way = &case.drawn;
    match (case.drawn_gate, way.clearance_m) {
        (DrawnGate::Comfortable, Some(m)) => assert!(m >= 0.3, "{label}: comfortable with {m}"),
        (DrawnGate::Tight, Some(m)) => assert!((0.0..0.3).contains(&m), "{label}: tight with {m}"),
        (DrawnGate::No, None) => {}
        (verdict, m) => panic!("{label}: {verdict:?} with {m:?}"),
    }
    assert_eq!(way.overlap_m.is_some(), case.drawn_gate == DrawnGate::No, "{label}");
    if let Some(clearance_m) = way.clearance_m {
        let gap_m = least_gap(site, vehicle, case, 0.0);
        assert!(gap_m >= clearance_m.min(FAR_M) - 1e-3, "{label}: {gap_m} kept, {clearance_m} said");
        assert!(gap_m <= clearance_m + 0.02, "{label}: {gap_m} kept, only {clearance_m} said");
        let tightest = way.contacts.first().expect("something within a meter");
        assert!((tightest.gap_m - gap_m).abs() < 2e-3 || gap_m == FAR_M, "{label}: {tightest:?}, {gap_m}");
    }
}

const DOUBLE: Arrangement = Arrangement::Double;
const SINGLE: Arrangement = Arrangement::Single(Side::Left);
const NONE: Arrangement = Arrangement::None;

#[test]
fn the_path_keeps_what_is_said_and_the_verdict_agrees() {
    use Maneuver::{BackIn, DriveIn};
    let library = |name| find(name).expect("in the library");
    let mut verdicts = [0; 3];
    for (setback, opening_m, arrangement, vehicle, maneuver) in [
        (4.5, 3.4, DOUBLE, library("pickup"), DriveIn),
        (4.5, 2.7, NONE, library("pickup"), BackIn),
        (1.5, 4.4, NONE, box_truck(), DriveIn),
        (4.5, 3.6, DOUBLE, box_truck(), DriveIn),
        (4.5, 4.2, SINGLE, box_truck(), BackIn),
        (4.5, 4.3, DOUBLE, gooseneck(), DriveIn),
        (4.5, 4.3, NONE, gooseneck(), BackIn),
        (1.5, 2.5, NONE, pickup(), DriveIn),
        (1.5, 3.9, DOUBLE, box_truck(), DriveIn),
    ] {
        let label = format!("{} {maneuver:?} {setback} {opening_m} {arrangement:?}", vehicle.name);
        let site = open_place(setback, opening_m, arrangement);
        let case = drawn(site.clone(), &vehicle, maneuver);
        println!("{label}: {:?} {:?} {:?}", case.drawn_gate, case.drawn.clearance_m, case.drawn.overlap_m);
        verdicts[usize::from(case.drawn_gate.rank())] += 1;
        hold(&site, &vehicle, &case, &label);
        // Nor does a whole study find a path that keeps 2.5 cm more.
        if let Some(clearance_m) = case.drawn.clearance_m {
            let more = asked(site, &vehicle, maneuver, clearance_m + 0.025);
            assert_ne!(more.cases[0].drawn_gate, DrawnGate::Comfortable, "{label}: more than {clearance_m}");
        }
    }
    assert!(verdicts.iter().all(|n| *n >= 2), "{verdicts:?}");
}

/// Driven straight through with much room before the gate, a box keeps half of the excess of the opening over its
/// width.
#[test]
fn straight_through_it_is_half_of_what_is_left() {
    let cart = vehicle("cart", vec![unit("cart", 2.5, 0.8, 0.8, 1.8, None)], 40.0, 1.0);
    for opening_m in [2.0, 2.6, 3.5, 4.6] {
        let case = drawn(open_place(25.0, opening_m, NONE), &cart, Maneuver::DriveIn);
        let clearance_m = case.drawn.clearance_m.expect("it passes");
        let half_m = 0.5 * (opening_m - 1.8);
        assert!(clearance_m <= half_m + 1e-6 && clearance_m > half_m - 2e-3, "{opening_m}: {clearance_m}");
    }
    let narrow = drawn(open_place(25.0, 1.7, NONE), &cart, Maneuver::DriveIn);
    let overlap_m = narrow.drawn.overlap_m.expect("it reaches into a post");
    assert!((0.05..0.052).contains(&overlap_m), "{overlap_m}");
}

/// A wider gate never leaves less clearance, also beside a wall, where the wall becomes the limit in the end.
#[test]
fn a_wider_gate_never_leaves_less() {
    for (vehicle, setback, wall) in [(box_truck(), 1.5, false), (pickup(), 4.5, false), (pickup(), 4.5, true)]
    {
        let mut before = f64::NEG_INFINITY;
        let mut passed = 0;
        for opening_m in [2.4, 3.0, 3.6, 3.8, 4.2, 4.3, 4.6, 5.0, 5.6] {
            let mut site = open_place(setback, opening_m, NONE);
            site.obstacles.extend(standard_site(setback).obstacles.into_iter().filter(|_| wall));
            let case = drawn(site, &vehicle, Maneuver::DriveIn);
            passed += usize::from(case.drawn.clearance_m.is_some());
            let room_m = case.drawn.clearance_m.or(case.drawn.overlap_m.map(|m| -m)).expect("a way");
            assert!(room_m >= before - 1e-3, "{} at {opening_m}: {room_m} after {before}", vehicle.name);
            before = room_m;
        }
        assert!(passed >= 3);
    }
}

#[test]
fn a_mirrored_place_leaves_the_same() {
    let site = |sign: f64, single: Side| {
        let mut site = open_place(3.0, 4.2, Arrangement::Single(single));
        add_pole(&mut site, sign * 3.4, 1.0);
        site
    };
    for vehicle in [box_truck(), pickup()] {
        let east = drawn(site(1.0, Side::Left), &vehicle, Maneuver::DriveIn);
        let mut other = site(-1.0, Side::Right);
        other.drives_on = Side::Left;
        let wanted = Wanted {
            vehicle: vehicle.clone(),
            visits: vec![Maneuver::DriveIn.into()],
            travels: vec!["westbound".to_owned()],
        };
        let options = StudyOptions { changes: false, ..StudyOptions::default() };
        let west = study(other, &[wanted], &options, &|_| ()).cases.swap_remove(0);
        assert_eq!(east.drawn_gate, west.drawn_gate);
        let of = |case: &Case| case.drawn.clearance_m.or(case.drawn.overlap_m).expect("a way");
        let (a, b) = (of(&east), of(&west));
        assert!((a - b).abs() <= 1e-3f64.max(1e-3 * a), "{}: {a} and {b}", vehicle.name);
        let what = |case: &Case| case.drawn.contacts[0].what.replace("left", "*").replace("right", "*");
        assert_eq!(what(&east), what(&west));
    }
}

/// With the faces farther out by the overlap the path only touches; with a little less it still overlaps.
#[test]
fn an_overlap_is_how_far_out_the_face_would_have_to_stand() {
    for (arrangement, opening_m) in [(NONE, 2.6), (NONE, 3.6), (DOUBLE, 3.6)] {
        let (site, truck) = (open_place(1.5, opening_m, arrangement), box_truck());
        let study = asked(site.clone(), &truck, Maneuver::DriveIn, 0.3);
        let case = &study.cases[0];
        assert_eq!(case.drawn_gate, DrawnGate::No);
        let overlap_m = case.drawn.overlap_m.expect("known");
        assert!(overlap_m > 0.05, "{opening_m}: {overlap_m}");
        assert!(least_gap(&site, &truck, case, overlap_m + 1e-5) > 0.0, "{opening_m}: {overlap_m}");
        assert_eq!(least_gap(&site, &truck, case, overlap_m - 0.004), 0.0, "{opening_m}: {overlap_m}");
        let hit = case.drawn.contacts.first().expect("it hits something");
        assert!(matches!(hit.thing, Thing::Post(_) | Thing::Leaf(_)), "{hit:?}");
        // Along the gate line from the obstacle's edge to the vehicle's point inside it.
        let reach: Point = hit.from - hit.at;
        assert!(reach.y.abs() < 1e-6 && (reach.x.abs() - overlap_m).abs() < 4e-3, "{hit:?}, {overlap_m}");
        let value = report::value(&study);
        let listed = &value["cases"][0];
        assert!(listed["drawn_clearance_m"].is_null());
        let m = listed["drawn_overlap_m"].as_f64().expect("a number");
        assert!(m >= overlap_m && m < overlap_m + 1.1e-4, "{m}, {overlap_m}");
    }
}

#[test]
fn clearances_are_written_rounded_down() {
    let study = asked(open_place(4.5, 3.9, NONE), &pickup(), Maneuver::DriveIn, 0.3);
    let clearance_m = study.cases[0].drawn.clearance_m.expect("it passes");
    let value = report::value(&study);
    let listed = &value["cases"][0];
    let m = listed["drawn_clearance_m"].as_f64().expect("a number");
    assert!(m <= clearance_m && m > clearance_m - 1.1e-4, "{m}, {clearance_m}");
    assert!(listed["drawn_overlap_m"].is_null());
}
