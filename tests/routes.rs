//! Routes drawn in a plan are checked as drawn: nothing is searched, and what is wrong with them is said.
mod common;
use common::{pickup, rectangle, standard_site};
use wideenough::geometry::{Point, trig};
use wideenough::opening::{Case, DrawnGate, Outcome, StudyOptions, Wanted, study};
use wideenough::site::{Anchor, Ground, Maneuver, Route, RouteTrack, Side, Site};

/// The one case of a route of the pickup on the standard site (4 m gate, line at y = 4.7, road y -6 to 0).
fn checked(track: RouteTrack, legs: Vec<Vec<Point>>) -> Case {
    checked_beside("far wall", track, legs)
}

/// The same with the wall across the road called something else.
fn checked_beside(wall: &str, track: RouteTrack, legs: Vec<Vec<Point>>) -> Case {
    let mut site = standard_site(4.5);
    site.obstacles[0].label = wall.to_owned();
    checked_at(site, track, legs)
}

fn checked_at(mut site: Site, track: RouteTrack, legs: Vec<Vec<Point>>) -> Case {
    site.routes = vec![Route { label: "as drawn".to_owned(), vehicle: "pickup".to_owned(), track, legs }];
    // No travel asked: only the route is studied.
    let wanted = Wanted { vehicle: pickup(), maneuvers: vec![], travels: vec!["northbound".to_owned()] };
    let study = study(site, &[wanted], &StudyOptions::default(), &|_| {});
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

/// A drive 2 m wide and a way half a meter beside its middle: the tires' outer edges, 1.02 m from the way, are 0.52 m over
/// it, less the centimeter that closes cracks.
#[test]
fn a_route_off_the_drive_is_told_by_how_much() {
    let mut site = standard_site(4.5);
    let outer = rectangle(-1.0, -1.0, 1.0, 60.0);
    site.drives = vec![Ground { label: "drive".to_owned(), outer, holes: vec![] }];
    let beside = checked_at(site, RouteTrack::RearAxle, vec![straight(0.5, -3.0, 12.0)]);
    assert_eq!(why(&beside), "as drawn the tires leave the road or the drive, by 0.51 m");
}

/// The left face stays at -2 m, and the mirror comes to -1.5 - 1.2192.
#[test]
fn a_route_through_the_post_that_stays_is_told() {
    let mut site = standard_site(4.5);
    site.gate.anchor = Anchor::Side(Side::Left);
    let through = checked_at(site.clone(), RouteTrack::RearAxle, vec![straight(-1.5, -3.0, 12.0)]);
    assert_eq!(why(&through), "as drawn it needs the post that stays put to move");
    // With the other one staying, the left one gives way: from 2 m to there.
    site.gate.anchor = Anchor::Side(Side::Right);
    let case = checked_at(site, RouteTrack::RearAxle, vec![straight(-1.5, -3.0, 12.0)]);
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
    assert!(sharp.starts_with("as drawn it turns on a ") && sharp.contains("no less than 4.9 m"), "{sharp}");
    let short = why(&checked(RouteTrack::RearAxle, vec![straight(0.0, -4.0, 3.0)]));
    assert_eq!(short, "as drawn it does not end wholly inside the gate");
    let wall = why(&checked(RouteTrack::RearAxle, vec![straight(0.0, -5.5, 12.0)]));
    assert_eq!(wall, "as drawn the pickup body touches the far wall, 0.0 m from the start");
    for name in ["sign post", "neighbor's fence"] {
        let named = why(&checked_beside(name, RouteTrack::RearAxle, vec![straight(0.0, -5.5, 12.0)]));
        assert_eq!(named, format!("as drawn the pickup body touches the {name}, 0.0 m from the start"));
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
