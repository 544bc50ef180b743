//! Routes drawn in a plan are checked as drawn: nothing is searched, and their faults are reported.
use crate::common::{gooseneck, pickup, rectangle, standard_site};
use wideenough::geometry::{Point, trig};
use wideenough::motion::hitch_angle_on_arc;
use wideenough::opening::{Case, DrawnGate, Outcome, StudyOptions, Wanted, study};
use wideenough::site::{Anchor, Ground, Maneuver, Route, RouteTrack, Side, Site};
use wideenough::vehicle::Vehicle;

/// The only case of a route of the pickup on the standard site (4 m gate, line at y = 4.7, road y -6 to 0).
fn checked(track: RouteTrack, legs: Vec<Vec<Point>>) -> Case {
    checked_beside("far wall", track, legs)
}

/// That case, with another label for the wall across the road.
fn checked_beside(wall: &str, track: RouteTrack, legs: Vec<Vec<Point>>) -> Case {
    let mut site = standard_site(4.5);
    site.obstacles[0].label = wall.to_owned();
    checked_at(site, pickup(), track, legs)
}

/// A vehicle's route at any site.
fn checked_at(mut site: Site, vehicle: Vehicle, track: RouteTrack, legs: Vec<Vec<Point>>) -> Case {
    site.routes = vec![Route { label: "as drawn".to_owned(), vehicle: vehicle.name.clone(), track, legs }];
    // No such travel: only the route is studied.
    let wanted = Wanted { vehicle, visits: vec![], travels: vec!["northbound".to_owned()] };
    // The lane is 3 m wide.
    let wide = wanted.vehicle.units[0].width_m > 3.0;
    let study = study(site, &[wanted], &StudyOptions::default(), &|_| {});
    assert_eq!(study.notes.iter().any(|n| n.contains("wider than the lane")), wide, "{:?}", study.notes);
    assert_eq!(study.cases.len(), 1);
    study.cases.into_iter().next().expect("one case")
}

fn straight(x: f64, from: f64, to: f64) -> Vec<Point> {
    vec![Point::new(x, from), Point::new(x, 0.5 * (from + to)), Point::new(x, to)]
}

#[test]
fn a_straight_route_needs_the_width_over_the_mirrors() {
    let case = checked(RouteTrack::RearAxle, vec![straight(0.0, -4.0, 12.0)]);
    assert_eq!((case.route.as_deref(), case.maneuver), (Some("as drawn"), Maneuver::DriveIn));
    assert!((case.bare.opening_m.expect("passes") - 2.4384).abs() < 0.001, "{:?}", case.bare);
    assert!((case.comfortable.opening_m.expect("passes") - 3.0384).abs() < 0.001);
    assert_eq!(case.drawn_gate, DrawnGate::Comfortable);
    let by_front = checked(RouteTrack::FrontAxle, vec![straight(0.0, -1.0, 16.0)]);
    assert!((by_front.bare.opening_m.expect("passes") - 2.4384).abs() < 0.001);
}

#[test]
fn a_route_off_the_middle_needs_more_than_the_gate_has() {
    // A meter to the right of the middle: twice (1 + 1.2192) m about it, 0.44 m more than the drawn 4 m.
    let case = checked(RouteTrack::RearAxle, vec![straight(1.0, -4.0, 12.0)]);
    assert!((case.bare.opening_m.expect("a wider one passes") - 4.4384).abs() < 0.001, "{:?}", case.bare);
    assert_eq!(case.drawn_gate, DrawnGate::No);
    assert_eq!(case.contacts.first().map(|c| c.what.as_str()), Some("right post"));
}

#[test]
fn a_reverse_leg_backs_in() {
    // Forward north to south is not possible here: pull toward the wall, then straight back through the gate.
    let case = checked(RouteTrack::RearAxle, vec![straight(0.0, 2.5, -0.8), straight(0.0, -0.8, 14.0)]);
    assert_eq!(case.maneuver, Maneuver::BackIn);
    assert!((case.bare.opening_m.expect("passes") - 2.4384).abs() < 0.001, "{:?}", case.bare);
}

fn why(case: &Case) -> String {
    match &case.bare.outcome {
        Outcome::GaveUp(why) => why.clone(),
        other => panic!("{other:?}"),
    }
}

/// A drive 2 m wide and a path half a meter beside its middle: the tires' outer edges, 1.02 m from the path, are 0.52 m
/// over it, less the centimeter that closes cracks.
#[test]
fn a_route_off_the_drive_is_told_by_how_much() {
    let mut site = standard_site(4.5);
    let outer = rectangle(-1.0, -1.0, 1.0, 60.0);
    site.drives = vec![Ground { label: "drive".to_owned(), outer, holes: vec![] }];
    let beside = checked_at(site, pickup(), RouteTrack::RearAxle, vec![straight(0.5, -3.0, 12.0)]);
    assert_eq!(why(&beside), "as drawn the tires leave the road or the drive, by 0.51 m");
}

/// The left face stays at -2 m, and the mirror comes to -1.5 - 1.2192.
#[test]
fn a_route_through_the_post_that_stays_is_told() {
    let mut site = standard_site(4.5);
    site.gate.anchor = Anchor::Side(Side::Left);
    let through = checked_at(site.clone(), pickup(), RouteTrack::RearAxle, vec![straight(-1.5, -3.0, 12.0)]);
    assert_eq!(why(&through), "as drawn it needs the post that stays put to move");
    // With the other post staying, the left one gives way: from 2 m to there.
    site.gate.anchor = Anchor::Side(Side::Right);
    let case = checked_at(site, pickup(), RouteTrack::RearAxle, vec![straight(-1.5, -3.0, 12.0)]);
    assert!((case.bare.opening_m.expect("passes") - 4.7192).abs() < 0.001, "{:?}", case.bare);
}

#[test]
fn what_is_wrong_with_a_route_is_said() {
    let turn: Vec<Point> = (0..=8)
        .map(|i| {
            let a = f64::from(i) * 0.19;
            Point::new(-2.0 + 2.0 * trig::sin(a), -3.0 - 2.0 * trig::cos(a) + 2.0)
        })
        .chain([Point::new(0.0, 6.0), Point::new(0.0, 12.0)])
        .collect();
    let sharp = why(&checked(RouteTrack::RearAxle, vec![turn]));
    assert!(
        sharp.starts_with("as drawn it turns on a ") && sharp.contains("no tighter than 4.91 m"),
        "{sharp}"
    );
    let short = why(&checked(RouteTrack::RearAxle, vec![straight(0.0, -4.0, 3.0)]));
    assert_eq!(short, "as drawn it does not end wholly inside the gate");
    let wall = why(&checked(RouteTrack::RearAxle, vec![straight(0.0, -5.5, 12.0)]));
    assert_eq!(wall, "as drawn the pickup body touches the far wall, 0.00 m from the start");
    for name in ["sign post", "neighbor's fence"] {
        let named = why(&checked_beside(name, RouteTrack::RearAxle, vec![straight(0.0, -5.5, 12.0)]));
        assert_eq!(named, format!("as drawn the pickup body touches the {name}, 0.00 m from the start"));
    }
    for track in [RouteTrack::FrontAxle, RouteTrack::RearAxle] {
        let folded = vec![Point::new(0.0, -1.0), Point::new(0.0, 20.0), Point::new(0.035, 19.0)];
        let case = checked(track, vec![folded]);
        assert!(why(&case).starts_with("leg 1 turns back on itself at point 2; "), "{}", why(&case));
        assert_eq!((case.drawn_gate, case.bare.opening_m), (DrawnGate::No, None));
    }
    let gap = why(&checked(RouteTrack::RearAxle, vec![straight(0.0, 2.0, -0.8), straight(0.0, 4.0, 12.0)]));
    assert_eq!(gap, "leg 2 starts 4.80 m from where leg 1 ends; let it start there");
}

/// Reason why the comfortable answer was given up, after checking the plain widths that stand then: of the body, 2.05
/// m, and with 0.3 m kept on both sides.
fn why_not_in_comfort(case: &Case) -> String {
    assert!((case.comfortable.at_least_m - 2.65).abs() < 1e-9, "{:?}", case.comfortable);
    match &case.comfortable.outcome {
        Outcome::GaveUp(why) => why.clone(),
        other => panic!("{other:?}"),
    }
}

/// The tail, 1.2 m behind the axle, stands 0.2 m from the wall across the road at the start: enough for bare.
#[test]
fn what_is_too_near_for_comfort_is_said() {
    let case = checked(RouteTrack::RearAxle, vec![straight(0.0, -4.6, 12.0)]);
    assert!((case.bare.opening_m.expect("passes bare") - 2.4384).abs() < 0.001);
    assert_eq!(case.drawn_gate, DrawnGate::Tight);
    let why = "as drawn the pickup body comes within 0.20 m of the far wall, closer than 0.30 m, 0.00 m from the start";
    assert_eq!(why_not_in_comfort(&case), why);
}

/// The outer tire edges are 1.02 m from the middle, the drive reaches 1.2 m and a centimeter of grace: 0.42 m off the
/// middle is 0.23 m over its edge; what is lacking is said rounded up.
#[test]
fn tires_beside_the_drive_are_told() {
    let mut site = standard_site(4.5);
    let outer = rectangle(-1.2, -0.5, 1.2, 40.0);
    site.drives.push(Ground { label: "drive".to_owned(), outer, holes: vec![] });
    let at = |x: f64| checked_at(site.clone(), pickup(), RouteTrack::RearAxle, vec![straight(x, -4.0, 12.0)]);
    assert!(at(0.18).bare.opening_m.is_some());
    let off = at(0.42);
    assert_eq!(why_not_in_comfort(&off), "as drawn the tires leave the road or the drive, by 0.24 m");
    assert!((off.bare.at_least_m - 2.05).abs() < 1e-9);
}

/// The left post stays where it is, 2 m from the middle; the mirror passes 2.72 m from it.
#[test]
fn a_post_that_stays_put_stops_a_route() {
    let mut site = standard_site(4.5);
    site.gate.anchor = Anchor::Side(Side::Left);
    let case = checked_at(site, pickup(), RouteTrack::RearAxle, vec![straight(-1.5, -4.0, 12.0)]);
    assert_eq!(why_not_in_comfort(&case), "as drawn it needs the post that stays put to move");
}

/// On a circle of 8 m a trailer folds as the closed form says; the place where it passes the limit, half a radian, is
/// reported.
#[test]
fn a_fold_beyond_the_hitch_limit_is_told_where_it_is() {
    let mut rig = gooseneck();
    rig.units[0].hitch.as_mut().expect("towed").max_angle_rad = 0.5;
    let folded_m =
        (0..400).map(|i| 0.05 * f64::from(i)).find(|s| hitch_angle_on_arc(0.0, 0.125, -0.10, 8.80, *s) > 0.5);
    let folded_m = folded_m.expect("it folds");
    let arc: Vec<Point> = (0..40)
        .map(|i| {
            let (sin, cos) = trig::sin_cos(f64::from(i) * 0.05);
            Point::new(8.0 * sin - 8.0, 8.0 - 8.0 * cos - 4.0)
        })
        .collect();
    let case = checked_at(standard_site(4.5), rig.clone(), RouteTrack::RearAxle, vec![arc.clone()]);
    let Outcome::GaveUp(why) = &case.bare.outcome else { panic!("{:?}", case.bare) };
    let (said, at) = why.split_once(", beyond its limit, ").expect("where");
    assert_eq!(said, "the hitch folds to 29 degrees");
    let at_m: f64 = at.trim_end_matches(" m from the start").parse().expect("a number");
    assert!((at_m - folded_m).abs() < 0.15, "{at_m} for {folded_m}");
    rig.units[0].hitch.as_mut().expect("towed").max_angle_rad = 1.4;
    let case = checked_at(standard_site(4.5), rig, RouteTrack::RearAxle, vec![arc]);
    assert!(!matches!(&case.bare.outcome, Outcome::GaveUp(why) if why.contains("folds")), "{:?}", case.bare);
}

/// A road is drawn 20 m to either side of the gate and runs on beyond that: a turn in that begins 40 m before the gate
/// stays on it. A vehicle wider than its lane is noted (checked in `checked_at`).
#[test]
fn a_road_runs_on_where_its_drawing_ends() {
    let mut site = standard_site(4.5);
    site.obstacles.clear();
    site.roads[0].surface.outer = rectangle(-20.0, -6.0, 20.0, 0.0);
    site.roads[0].centerline = vec![Point::new(-20.0, -3.0), Point::new(20.0, -3.0)];
    let outer = rectangle(-9.0, -0.5, 9.0, 40.0);
    site.drives.push(Ground { label: "yard".to_owned(), outer, holes: vec![] });
    let turn = (0..=12).map(|i| {
        let (sin, cos) = trig::sin_cos(f64::from(i) / 12.0 * std::f64::consts::FRAC_PI_2);
        Point::new(7.0 * sin - 7.0, 7.0 - 7.0 * cos - 3.8)
    });
    let lane = (0..34).map(|i| Point::new(-40.0 + f64::from(i), -3.8));
    let inside = (1..16).map(|i| Point::new(0.0, 3.2 + f64::from(i)));
    let legs = vec![lane.chain(turn.skip(1)).chain(inside).collect::<Vec<Point>>()];
    let case = checked_at(site.clone(), pickup(), RouteTrack::RearAxle, legs.clone());
    assert!(case.bare.opening_m.is_some(), "{:?}", case.bare.outcome);
    let mut broad = pickup();
    broad.units[0].width_m = 3.2;
    broad.units[0].parts[0].outline = rectangle(-1.2, -1.6, 4.65, 1.6);
    checked_at(site, broad, RouteTrack::RearAxle, legs);
}
