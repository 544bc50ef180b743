//! The search's answers lie between the proven lower bound and an opening that a plain maneuver shows to suffice; tires
//! keep to the road and the drive; and a plan means the same opening in either kind of coordinates.
//!
//! The walls-and-road numbers: proven lower bounds by an exhaustive relaxation over every cell of place and heading,
//! and one full-lock quarter turn in closed form; both computed independently of this program for a body 1.85 m wide
//! reaching 3.65 m ahead of and 0.95 m behind its rear axle, which turns on 4.6 m, with no limit on the steering rate.
use crate::common::{car, gooseneck, narrow_road, pickup, rectangle, standard_lane, standard_site};
use rstest::rstest;
use wideenough::clearance::{CollisionModel, GateFrame, Region, Surroundings, inspect};
use wideenough::geometry::{Outline, Point, Pose};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::search::{EDGE_TOLERANCE_M, Effort, Problem, Search, narrowest};
use wideenough::site::{Frame, Maneuver, Site};

/// Road of width b between a wall and a thin gate line: proven least, single full-lock turn.
#[rstest]
#[case::forward_4(4.0, Maneuver::DriveIn, 2.504, 3.1186)]
#[case::reverse_4(4.0, Maneuver::BackIn, 2.225, 2.9498)]
#[case::forward_5(5.0, Maneuver::DriveIn, 2.178, 2.969_318)]
#[case::reverse_5(5.0, Maneuver::BackIn, 1.933, 2.227_210)]
fn between_the_proof_and_a_plain_turn(
    #[case] road: f64,
    #[case] maneuver: Maneuver,
    #[case] proven: f64,
    #[case] plain: f64,
) {
    let car = car();
    let (site, lane) = narrow_road(road);
    let surroundings = Surroundings::new(&site, None, 0.0);
    let problem = Problem {
        vehicle: &car,
        surroundings: &surroundings,
        lane: &lane,
        maneuver,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let found = narrowest(&problem, Effort::USUAL, &[]).found.expect("it gets in");
    assert!(found.path.path().limit_faults(&car).is_empty());
    let opening = found.inspection.opening_m;
    println!("road {road} {maneuver:?}: {opening:.4} between {proven} and {plain}");
    assert!(opening >= proven, "{opening} is less than is proven to be needed, {proven}");
    assert!(opening <= plain, "{opening} is more than one plain turn needs, {plain}");
}

fn straight_in(x: f64) -> Path {
    let start = State { lead: Pose::new(x, -8.0, std::f64::consts::FRAC_PI_2), ..State::default() };
    Path { start, legs: vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(25.0, 0.0)] }] }
}

/// Tires keep to the drive: the pickup's outer tire edge is 1.02 m from its middle, the drive reaches 1.2 m (and 1 cm
/// of grace), so 0.18 m off the middle is on it and 0.22 m off is not.
#[test]
fn tires_keep_to_the_drive() {
    let site = standard_site(4.5);
    let road = site.roads[0].surface.outer.clone();
    let drive = rectangle(-1.2, -0.5, 1.2, 40.0);
    let frame = GateFrame::of(&site.gate).origin;
    let none: &[Outline] = &[];
    let ground = Region::new(&[(&road, none), (&drive, none)], &frame);
    let look = |x: f64| {
        let surroundings = Surroundings::new(&site, ground.as_ref(), 0.0);
        inspect(&CollisionModel::new(&pickup(), surroundings, 0.0, f64::INFINITY), &straight_in(x))
    };
    let (on, off) = (look(0.18), look(0.22));
    assert!(on.passes(EDGE_TOLERANCE_M) && (on.ground_m - 0.01).abs() < 0.001, "{}", on.ground_m);
    assert!(!off.passes(EDGE_TOLERANCE_M) && (off.ground_m + 0.03).abs() < 0.001, "{}", off.ground_m);
    // That place without a drive drawn: tires may go anywhere.
    let open = Surroundings::new(&site, None, 0.0);
    assert!(
        inspect(&CollisionModel::new(&pickup(), open, 0.0, f64::INFINITY), &straight_in(0.22)).passes(0.0)
    );
}

/// The search keeps to it, too: on a drive only as wide as the gate the pickup needs no less than on open ground, and
/// the witness's tires stay on.
#[test]
fn a_searched_path_keeps_to_the_drive_and_an_obstacle_never_helps() {
    let car = pickup();
    let ask = |site: &Site, setback: f64, ground: Option<&Region>| {
        let surroundings = Surroundings::new(site, ground, 0.0);
        let lane = standard_lane(setback, true, 2.05);
        let problem = Problem {
            vehicle: &car,
            surroundings: &surroundings,
            lane: &lane,
            maneuver: Maneuver::DriveIn,
            shunts: 0,
            clearance_m: 0.0,
            spot: None,
        };
        narrowest(&problem, Effort::USUAL, &[]).found.expect("it gets in").inspection
    };
    let site = standard_site(4.5);
    let open = ask(&site, 4.5, None);
    let road = site.roads[0].surface.outer.clone();
    let apron = Outline(
        [(-6.0, -0.5), (6.0, -0.5), (2.0, 4.7), (2.0, 40.0), (-2.0, 40.0), (-2.0, 4.7)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec(),
    );
    let none: &[Outline] = &[];
    let ground = Region::new(&[(&road, none), (&apron, none)], &GateFrame::of(&site.gate).origin);
    let kept = ask(&site, 4.5, ground.as_ref());
    assert!(kept.ground_m >= -EDGE_TOLERANCE_M);
    // The search finds local optima: 1 cm is the difference between runs from other starts here.
    assert!(kept.opening_m >= open.opening_m - 0.01, "{} {}", kept.opening_m, open.opening_m);
    // Close to the road, where the far wall decides: a wall 0.3 m nearer takes that much of the swing.
    let near = standard_site(1.5);
    let roomy = ask(&near, 1.5, None);
    let mut crowded = near.clone();
    crowded.obstacles[0].shapes[0].outer = rectangle(-200.0, -6.3, 200.0, -5.7);
    let narrower = ask(&crowded, 1.5, None);
    assert!(narrower.opening_m > roomy.opening_m + 0.02, "{} {}", narrower.opening_m, roomy.opening_m);
}

/// One place written in meters and in longitude and latitude: a fixed path needs the same opening to 1 mm.
#[test]
fn the_opening_is_the_same_in_either_kind_of_coordinates() {
    let (lon_deg, lat_deg) = (-97.0, 33.0);
    let frame = Frame::LonLat { lon_deg, lat_deg };
    let plan = |lonlat: bool| {
        let place = |x: f64, y: f64| {
            let [a, b] = if lonlat { frame.to_plan(Point::new(x, y)) } else { [x, y] };
            format!("[{a:.11},{b:.11}]")
        };
        let line =
            |points: &[(f64, f64)]| points.iter().map(|(x, y)| place(*x, *y)).collect::<Vec<_>>().join(",");
        let feature = |role: &str, kind: &str, coordinates: String| {
            format!(
                r#"{{"type":"Feature","properties":{{{role}}},"geometry":{{"type":"{kind}","coordinates":{coordinates}}}}}"#
            )
        };
        let coordinates = if lonlat { "lonlat" } else { "local-m" };
        let features = [
            feature(
                r#""role":"road","width":6,"continues":"both""#,
                "LineString",
                format!("[{}]", line(&[(-60.0, -8.0), (60.0, -8.0)])),
            ),
            feature(
                r#""role":"gate","leaves":"none","post":0.3"#,
                "LineString",
                format!("[{}]", line(&[(-2.0, 0.0), (2.0, 0.0)])),
            ),
            feature(r#""role":"obstacle","radius":0.4"#, "Point", place(2.9, -3.0)),
        ];
        let text = format!(
            r#"{{"type":"FeatureCollection","plan":{{"coordinates":"{coordinates}"}},"features":[{}]}}"#,
            features.join(",")
        );
        wideenough::site::read(&text, "plan.geojson").unwrap_or_else(|e| panic!("{e}"))
    };
    let look = |site: &Site| {
        let surroundings = Surroundings::new(site, None, 0.0);
        inspect(&CollisionModel::new(&pickup(), surroundings, 0.1, f64::INFINITY), &straight_in(0.4))
    };
    let (local, lonlat) = (look(&plan(false)), look(&plan(true)));
    assert!((local.opening_m - lonlat.opening_m).abs() < 0.001, "{} {}", local.opening_m, lonlat.opening_m);
    let gap = |i: &wideenough::clearance::Inspection| {
        i.touches.iter().find(|t| t.what == "obstacle").map(|t| t.gap_m)
    };
    let (a, b) = (gap(&local).expect("the post is near"), gap(&lonlat).expect("the post is near"));
    assert!((a - b).abs() < 0.001, "{a} {b}");
}

/// A path reported as found keeps every limit of the vehicle and of the maneuver, however little room they leave: a
/// hitch that hardly bends, and a first leg that must not nose into the gate.
#[rstest]
#[case::stiff_hitch_in(Maneuver::DriveIn, 4.5, 12.0)]
#[case::stiff_hitch_back(Maneuver::BackIn, 4.5, 12.0)]
#[case::stiffer_hitch_in(Maneuver::DriveIn, 4.5, 4.0)]
#[case::stiffer_hitch_back(Maneuver::BackIn, 1.5, 4.0)]
#[case::usual_hitch_back_near(Maneuver::BackIn, 0.3, 80.0)]
fn what_is_found_keeps_every_limit(#[case] maneuver: Maneuver, #[case] setback: f64, #[case] hitch_deg: f64) {
    let mut rig = gooseneck();
    if let Some(hitch) = &mut rig.units[0].hitch {
        hitch.max_angle_rad = hitch_deg.to_radians();
    }
    let surroundings = Surroundings::new(&standard_site(setback), None, 0.0);
    let lane = standard_lane(setback, true, 2.59);
    let problem = Problem {
        vehicle: &rig,
        surroundings: &surroundings,
        lane: &lane,
        maneuver,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let finding = narrowest(&problem, Effort { coarse: 6, fine: 8, ..Effort::USUAL }, &[]);
    let Some(found) = finding.found else {
        return assert!(finding.stopped_by.is_some(), "not found, and no word why");
    };
    assert_eq!(found.path.path().limit_faults(&rig), vec![], "opening {}", found.inspection.opening_m);
    if maneuver == Maneuver::BackIn {
        let most = found.inspection.most_v[0];
        assert!(most <= surroundings.front_v(), "the first leg enters the gate: {most}");
    }
}

/// Round the end of the gate line is no way in: a road beside the gate leads past it, and a path along that road, which
/// needs no opening at all, is no answer.
#[test]
fn round_the_end_of_the_gate_line_is_no_way_in() {
    let mut site = standard_site(4.5);
    site.fences.clear();
    let mut beside = site.roads[0].clone();
    beside.surface.outer = rectangle(6.0, -6.0, 16.0, 60.0);
    site.roads.push(beside);
    let (car, lane) = (pickup(), standard_lane(4.5, true, 2.05));
    let surroundings = Surroundings::new(&site, None, 0.0);
    // Half a meter before the road, to allow for a vehicle on it that reaches over its edge.
    assert!((surroundings.right.end_u - 5.5).abs() < 1e-9);
    // Along the lane, round by a right angle, and up the middle of the other road.
    let (k, ramp) = (0.9 * car.steering.max_curvature, car.steering.lock_distance_m);
    let piece =
        |from: f64, to: f64, length_m: f64| Segment { length_m, curvature_start: from, curvature_end: to };
    let round = (std::f64::consts::FRAC_PI_2 - k * ramp) / k;
    let segments = vec![piece(0.0, k, ramp), piece(k, k, round), piece(k, 0.0, ramp), piece(0.0, 0.0, 12.0)];
    let legs = vec![Leg { direction: Direction::Forward, segments }];
    let mut path = Path { start: State::default(), legs };
    let turned = path.end(&Chain::of(&car)).lead.position;
    path.start.lead = Pose::new(11.0 - turned.x, -4.5 - 4.7, 0.0);
    let seen = inspect(&CollisionModel::new(&car, surroundings.clone(), 0.0, f64::INFINITY), &path);
    // It needs nothing of the gate, and is out on the road, not inside.
    assert!(!seen.ends_beyond && !seen.passes(EDGE_TOLERANCE_M) && seen.opening_m < 0.1, "{seen:?}");
    let problem = Problem {
        vehicle: &car,
        surroundings: &surroundings,
        lane: &lane,
        maneuver: Maneuver::DriveIn,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let found = Search::new(&problem).seeds(&[path]).near_seeds().about_m(4.0).run().found;
    let opening_m = found.map(|found| found.inspection.opening_m);
    assert!(opening_m.is_none_or(|m| m >= 2.05 - 1e-6), "{opening_m:?}");
}
