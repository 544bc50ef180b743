//! Evaluation of answers, checked by hand: what binds a path, how much of it is at full lock, and what a vehicle needs
//! of all its ways in.
use super::limits::limits;
use super::reoptimize::{Incumbent, Passage, SiteVariant, driven_on, straight_need};
use super::scene::along_road;
use super::*;
use crate::clearance::{GateFrame, Inspection, Thing, Touch};
use crate::geometry::Pose;
use crate::motion::{Direction, Leg, Path, Segment, State};
use crate::search::{Finding, Found};

const CLEARANCE_M: f64 = 0.3;

fn touch(what: &str, gap_m: f64) -> Touch {
    let (what, part) = (what.to_owned(), "pickup body".to_owned());
    Touch {
        thing: Thing::Obstacle(0),
        what,
        part,
        at: Point::default(),
        from: Point::default(),
        gap_m,
        station_m: 1.0,
    }
}

/// A path of these segments, driven forward, and an inspection that saw these things.
fn found(touches: Vec<Touch>, ground_m: f64, hitch: f64, segments: Vec<Segment>) -> Found {
    let start = State { lead: Pose::default(), hitch: [hitch, 0.0, 0.0], curvature: 0.0 };
    let path = Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] };
    let inspection = Inspection {
        opening_m: 3.0,
        needs_at_least_m: 3.0,
        faces_u: Faces::centered(3.0),
        margin_m: 0.0,
        ground_m,
        ends_beyond: true,
        most_v: vec![5.0],
        touches,
    };
    Found { path: Trajectory::new(path), inspection, polished: None }
}

fn straight() -> Vec<Segment> {
    vec![Segment::arc(5.0, 0.0)]
}

/// Answers keep every digit; rounding is up to the reporting functions.
#[test]
fn answers_are_not_rounded() {
    let mut path = found(vec![], 0.0, 0.0, straight());
    path.inspection.opening_m = 2.760_013;
    let finding =
        Finding { found: Some(path), at_least_m: 2.0, stopped_by: None, starts: Vec::new(), work: 1 };
    let frame = GateFrame { origin: Pose::default() };
    let answer = study::answer(&finding, &frame);
    assert_eq!((answer.opening_m, answer.reported_m()), (Some(2.760_013), 2.7601));
    let nothing = study::answer(&Finding { found: None, ..finding }, &frame);
    assert_eq!((nothing.opening_m, nothing.reported_m()), (None, f64::INFINITY));
}

/// A centimeter beyond the clearance still binds, a little more does not; the same over the edge of a drive.
#[test]
fn what_is_near_binds() {
    let vehicle = crate::vehicle::find("pickup").unwrap();
    let touches =
        vec![touch("left post", 0.3), touch("wall", 0.2995), touch("pole", 0.3095), touch("tree", 0.3105)];
    let seen = limits(&vehicle, &found(touches, 0.0105, 0.0, straight()), CLEARANCE_M);
    let of = |bind: &ActiveConstraint| (bind.kind, bind.what.clone(), (bind.spare * 1e4).round() / 1e4);
    let binds: Vec<_> = seen.binds.iter().map(of).collect();
    let contact = |what: &str, spare: f64| (ConstraintKind::Contact, what.to_owned(), spare);
    assert_eq!(binds, [contact("left post", 0.0), contact("wall", 0.0), contact("pole", 0.0095)]);
    assert!(seen.full_lock_share == 0.0 && seen.changes.is_none());
    for (ground_m, spare) in [(0.0095, 0.0095), (-0.0005, 0.0)] {
        let seen = limits(&vehicle, &found(vec![], ground_m, 0.0, straight()), CLEARANCE_M);
        let binds: Vec<_> = seen.binds.iter().map(of).collect();
        assert_eq!(binds, [(ConstraintKind::Ground, "edge of the drive".to_owned(), spare)]);
    }
}

/// A hitch half a degree short of its limit is at it. Driven straight on the angle at the start is the largest.
#[test]
fn a_hitch_near_its_limit_binds() {
    let rig = crate::vehicle::find("gooseneck-horse-40").unwrap();
    let most = rig.units[0].hitch.unwrap().max_angle_rad;
    let degree = std::f64::consts::PI / 180.0;
    for side in [1.0, -1.0] {
        let at =
            |short: f64| limits(&rig, &found(vec![], 0.25, side * (most - short), straight()), 0.0).binds;
        assert_eq!(at(0.52 * degree), vec![]);
        let binds = at(0.48 * degree);
        assert_eq!(binds.len(), 1, "{binds:?}");
        assert_eq!(
            (binds[0].kind, binds[0].part.as_str()),
            (ConstraintKind::Hitch, rig.units[1].name.as_str())
        );
        assert!((binds[0].spare - 0.48 * degree).abs() < 1e-9, "{binds:?}");
    }
}

/// Full lock begins at 0.995 of it, so of a meter from straight to full lock five millimeters are driven there, and of two
/// from full lock to full lock the other way as many at either end.
#[test]
fn the_share_at_full_lock_by_hand() {
    let vehicle = crate::vehicle::find("pickup").unwrap();
    let lock = vehicle.steering.max_curvature;
    let turn = |length_m: f64, from: f64, to: f64| Segment {
        length_m,
        curvature_start: from * lock,
        curvature_end: to * lock,
    };
    let share = |segments: Vec<Segment>| limits(&vehicle, &found(vec![], 0.25, 0.0, segments), 0.0);
    for side in [1.0, -1.0] {
        let seen = share(vec![
            turn(4.0, 0.0, 0.0),
            turn(1.0, 0.0, side),
            turn(3.0, side, side),
            turn(2.0, side, -side),
            turn(1.0, -side, 0.0),
            turn(4.0, 0.99, 0.99),
        ]);
        let expected = (0.005 + 3.0 + 2.0 * 0.005 + 0.005) / 15.0;
        assert!((seen.full_lock_share - expected).abs() < 1e-12, "{} {expected}", seen.full_lock_share);
        assert_eq!(seen.binds.iter().map(|b| b.kind).collect::<Vec<_>>(), [ConstraintKind::Lock]);
        // Every bit of it beyond.
        let all = share(vec![turn(2.0, side, 0.996 * side)]);
        assert!((all.full_lock_share - 1.0).abs() < 1e-12);
        // A short passage at full lock is not reported.
        let passing = share(vec![turn(1.0, 0.0, side), turn(1.0, side, 0.0)]);
        assert!((passing.full_lock_share - 0.005).abs() < 1e-12 && passing.binds.is_empty());
    }
    assert_eq!(share(vec![]).full_lock_share, 0.0);
}

fn answer(opening_m: Option<f64>) -> Answer {
    let outcome = if opening_m.is_some() { Outcome::Found } else { Outcome::GaveUp("no way".to_owned()) };
    Answer { opening_m, ..Answer::new(outcome, 2.0) }
}

fn case(vehicle: usize, travel: &str, maneuver: Maneuver, bare: Option<f64>, comfort: Option<f64>) -> Case {
    Case::new(vehicle, travel.to_owned(), maneuver, answer(bare), answer(comfort))
}

/// Two vehicles from two sides: the largest over the sides of the smallest over the maneuvers, and which case that is.
fn cases() -> Vec<Case> {
    use Maneuver::{BackIn, DriveIn};
    let mut list = vec![
        case(0, "eastbound", DriveIn, Some(3.0), Some(3.6)),
        case(0, "eastbound", BackIn, Some(2.8), Some(3.9)),
        case(0, "westbound", DriveIn, Some(3.2), Some(3.5)),
        case(0, "westbound", BackIn, None, None),
        case(1, "eastbound", DriveIn, Some(2.5), Some(3.1)),
        case(1, "eastbound", BackIn, Some(9.0), Some(9.5)),
        case(1, "westbound", DriveIn, Some(2.6), None),
        case(1, "westbound", BackIn, None, None),
        case(0, "westbound", DriveIn, Some(7.0), Some(8.0)),
    ];
    // A drawn route is a problem of its own.
    list[8].route = Some("as drawn".to_owned());
    list
}

/// Need of a vehicle without a body by these cases.
fn need(vehicle: usize, demanded: Demanded, cases: &[Case]) -> VehicleNeed {
    let plan = include_str!("../../examples/town-lot.geojson");
    let site = crate::site::read(plan, "plan").expect("an example");
    let pickup = crate::vehicle::find("pickup").expect("in the library");
    study::vehicle_need((vehicle, &pickup), demanded, cases, &site)
}

#[test]
fn a_vehicle_needs_the_hardest_side_by_its_easiest_way() {
    let cases = cases();
    let first = VehicleNeed {
        vehicle: 0,
        bare_opening_m: Some(3.2),
        comfortable_opening_m: Some(3.6),
        governed_by: Some(0),
        backing_in: None,
    };
    assert_eq!(need(0, Demanded::Either, &cases), first);
    let second = need(1, Demanded::Either, &cases);
    assert_eq!((second.bare_opening_m, second.comfortable_opening_m), (Some(2.6), None));
    assert!(second.governed_by.is_some_and(|i| cases[i].travel == "westbound"), "the case that failed");
    let nobody = VehicleNeed {
        vehicle: 2,
        bare_opening_m: None,
        comfortable_opening_m: None,
        governed_by: None,
        backing_in: None,
    };
    assert_eq!(need(2, Demanded::Either, &cases), nobody);
}

/// Driving in and backing in as before, each alone, and both: of the second the harder counts.
#[test]
fn what_a_vehicle_needs_follows_its_visits() {
    let cases = vec![
        case(0, "eastbound", Maneuver::DriveIn, Some(3.0), Some(3.6)),
        case(0, "eastbound", Maneuver::BackIn, Some(2.8), Some(3.9)),
        case(0, "westbound", Maneuver::DriveIn, Some(3.2), Some(3.5)),
        case(0, "westbound", Maneuver::BackIn, Some(2.6), Some(3.0)),
    ];
    let openings = |demanded: Demanded| {
        let need = need(0, demanded, &cases);
        (need.bare_opening_m, need.comfortable_opening_m, need.governed_by)
    };
    assert_eq!(openings(Demanded::DriveIn), (Some(3.2), Some(3.6), Some(0)));
    assert_eq!(openings(Demanded::BackIn), (Some(2.8), Some(3.9), Some(1)));
    assert_eq!(openings(Demanded::Either), (Some(2.8), Some(3.6), Some(0)));
    assert_eq!(openings(Demanded::TurnAround), (Some(3.2), Some(3.9), Some(1)));
    assert_eq!(VehicleCases::among(&cases, 0, Demanded::DriveIn).travels[0].groups, [[0]]);
    assert_eq!(VehicleCases::among(&cases, 0, Demanded::TurnAround).travels[1].groups, [[2], [3]]);
}

/// Vehicle, direction of travel, maneuver; the drawn route beside them.
#[test]
fn cases_are_a_tree() {
    let mut cases = cases();
    let of = VehicleCases::among(&cases, 0, Demanded::Either);
    let cases_from = |travel: &str| of.from(travel).map(|t| t.cases.clone());
    assert_eq!(of.travels.iter().map(|t| t.travel).collect::<Vec<_>>(), ["eastbound", "westbound"]);
    assert_eq!(cases_from("eastbound"), Some(vec![0, 1]));
    assert_eq!(cases_from("westbound"), Some(vec![2, 3]));
    assert_eq!((of.routes.as_slice(), of.from("northbound")), (&[8][..], None));
    assert_eq!(VehicleCases::among(&cases, 2, Demanded::Either).governing(|_| 1.0), None);
    // Answers reported alike count as equal: the first maneuver speaks for the vehicle.
    (cases[0].comfortable, cases[1].comfortable) = (answer(Some(3.600_02)), answer(Some(3.600_01)));
    let need = need(0, Demanded::Either, &cases);
    assert_eq!((need.governed_by, need.comfortable_opening_m), (Some(0), Some(3.600_02)));
}

/// A middle half a meter to the right of the drawn one, 3 m wide.
#[test]
fn a_placement_says_where_its_faces_stand() {
    let placement = Placement { comfortable: true, opening_m: 3.0, center_u_m: 0.5, leaves_open: true };
    assert_eq!(placement.faces_u_m(), Faces::new(-1.0, 2.0));
}

/// A gate 8 m wide beside a road of two lanes 3 m wide each, a pole inside it, and firm ground all about: backing in, the
/// front swings over the road's far edge.
const PLAN: &str = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
    { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-80, -9], [80, -9]] } },
    { "type": "Feature", "properties": { "role": "drive" },
      "geometry": { "type": "Polygon", "coordinates": [[[-70, -40], [70, -40], [70, 40], [-70, 40], [-70, -40]]] } },
    { "type": "Feature", "properties": { "role": "obstacle", "label": "pole", "radius": "0.2 m" },
      "geometry": { "type": "Point", "coordinates": [-3, 5] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "none", "post": "0.2 m" },
      "geometry": { "type": "LineString", "coordinates": [[-4, 0], [4, 0]] } } ] }"#;

/// A known path is an answer where the body starts within its lane by a centimeter, not where it starts a centimeter
/// over the lane's edge, on either side; backed in only if it did not enter the gate before.
#[test]
fn a_known_path_keeps_the_terms_of_its_way() {
    let site = crate::site::read(PLAN, "plan").unwrap();
    let vehicle = crate::vehicle::find("pickup").unwrap();
    let k = 0.9 * vehicle.steering.max_curvature;
    let ramp = vehicle.steering.lock_distance_m;
    let to =
        |from: f64, to: f64, length_m: f64| Segment { length_m, curvature_start: from, curvature_end: to };
    // Round by a right angle, and straight on.
    let round = (std::f64::consts::FRAC_PI_2 - k * ramp) / k;
    let turn = |direction: Direction, on_m: f64| {
        let segments = vec![to(0.0, k, ramp), to(k, k, round), to(k, 0.0, ramp), to(0.0, 0.0, on_m)];
        Leg { direction, segments }
    };
    let straight = |direction: Direction, length_m: f64| {
        let segments = vec![to(0.0, 0.0, length_m)];
        Leg { direction, segments }
    };
    let path = |lead: Pose, legs: Vec<Leg>| Path { start: State { lead, ..State::default() }, legs };
    let chain = crate::motion::Chain::of(&vehicle);
    // Where a right angle leads from here.
    let turned =
        |direction: Direction| path(Pose::default(), vec![turn(direction, 1e-9)]).end(&chain).lead.position;
    let travel = along_road(&site, "eastbound").unwrap();
    let answers = |maneuver: Maneuver, path: Path| {
        let way = Passage {
            vehicle: &vehicle,
            travel,
            maneuver,
            lane: CaseLane::Coming,
            shunts: 0,
            clearance_m: CLEARANCE_M,
        };
        let place = SiteVariant::new(&site, way).unwrap();
        place
            .look(&Incumbent { opening_m: 8.0, path: Trajectory::new(path), gate: site.gate.clone() })
            .is_some()
    };
    let in_by = turned(Direction::Forward);
    let start = |aside: f64| Pose::new(-in_by.x, -10.5 + aside, 0.0);
    let driven_in = |aside: f64| turn(Direction::Forward, 25.5 - aside - in_by.y);
    let play = 0.5 * (3.0 - vehicle.units[0].width_m);
    for (aside, within) in [(0.0, true), (play - 0.01, true), (play + 0.01, false)] {
        for aside in [aside, -aside] {
            let path = path(start(aside), vec![driven_in(aside)]);
            assert_eq!(answers(Maneuver::DriveIn, path), within, "{aside} to the left");
        }
    }
    // Past the gate and back round into it; and all the way in forward before a meter back.
    let back_by = turned(Direction::Reverse);
    let past = vec![straight(Direction::Forward, 10.0), turn(Direction::Reverse, 25.5 - back_by.y)];
    assert!(answers(Maneuver::BackIn, path(Pose::new(-10.0 - back_by.x, -10.5, 0.0), past)));
    let entered = vec![driven_in(0.0), straight(Direction::Reverse, 1.0)];
    assert!(!answers(Maneuver::BackIn, path(start(0.0), entered)));
}

/// A path is extended by the requested length, its wheels turned straight on the way as fast as they can be and then
/// kept so; by the length that this takes at least.
#[test]
fn a_path_runs_on_with_its_wheels_turned_straight() {
    let steering = crate::vehicle::find("pickup").unwrap().steering;
    let half = 0.5 * steering.max_curvature;
    let start = State::default();
    let bent = Segment { length_m: 5.0, curvature_start: 0.0, curvature_end: half };
    let path = |last: Segment| Path {
        start,
        legs: vec![Leg { direction: Direction::Forward, segments: vec![last] }],
    };
    let takes_m = 0.5 * steering.lock_distance_m;
    for (by, more) in [(3.0, 3.0), (0.1, takes_m + 0.01)] {
        let on = driven_on(&path(bent), by, &steering);
        assert!((on.length_m() - 5.0 - more).abs() < 1e-9, "{by}: {} more", on.length_m() - 5.0);
        assert_eq!(on.legs[0].segments[1].curvature_start, half);
        assert!((on.legs[0].segments[1].length_m - takes_m).abs() < 1e-9);
        assert!(on.legs[0].segments[2..].iter().all(|s| s.curvature_start == 0.0 && s.curvature_end == 0.0));
    }
    let on = driven_on(&path(Segment::arc(5.0, 0.0)), 3.0, &steering);
    assert_eq!(on.legs[0].segments, [Segment::arc(5.0, 0.0), Segment::arc(3.0, 0.0)]);
}

/// Going straight through takes the width over the mirrors and the clearance twice, whatever stands inside.
#[test]
fn straight_through_takes_the_widest_part() {
    let site = crate::site::read(PLAN, "plan").unwrap();
    let vehicle = crate::vehicle::find("pickup").unwrap();
    let corners = vehicle.units[0].parts.iter().flat_map(|part| &part.outline.0);
    let over_m = 2.0 * corners.map(|p| p.y.abs()).fold(0.0, f64::max);
    let around = crate::clearance::Surroundings::new(&site, None, 0.0);
    for clearance_m in [0.0, CLEARANCE_M] {
        let need_m = straight_need(&vehicle, &around, clearance_m);
        assert!((need_m - over_m - 2.0 * clearance_m).abs() < 1e-6, "{need_m}, {over_m} over the mirrors");
    }
}

/// Other leaves than a single one that opens in by 165 degrees: further open in tens of degrees, hung on the other side, as
/// two, all of those swinging out, sliding, none. Beside one that slides none is opened further.
#[test]
fn other_leaves_from_the_most_alike_to_none() {
    use crate::site::{Arrangement::*, Side::*, Swing::*};
    let mut leaves = crate::site::read(PLAN, "plan").unwrap().gate.leaves;
    (leaves.arrangement, leaves.opens, leaves.open_angle_rad) = (Single(Left), In, f64::to_radians(165.0));
    let told = |drawn: &crate::site::Leaves| -> Vec<_> {
        let of = |l: &crate::site::Leaves| (l.arrangement, l.opens, l.open_angle_rad.to_degrees().round());
        fix::other_leaves(drawn).iter().map(of).collect()
    };
    let rest = [(Slide(Left), In, 165.0), (Slide(Right), In, 165.0), (None, In, 165.0)];
    let mut expected = vec![(Single(Left), In, 170.0), (Single(Left), In, 180.0)];
    expected.extend([(Single(Right), In, 165.0), (Double, In, 165.0)]);
    expected.extend([Single(Left), Single(Right), Double].map(|a| (a, Out, 165.0)));
    expected.extend(rest);
    assert_eq!(told(&leaves), expected);
    leaves.arrangement = Slide(Left);
    let mut expected: Vec<_> = [Single(Left), Single(Right), Double].map(|a| (a, In, 165.0)).to_vec();
    expected.extend(&rest[1..]);
    assert_eq!(told(&leaves), expected);
    // Square is the first of nine.
    (leaves.arrangement, leaves.open_angle_rad) = (Double, f64::to_radians(90.0));
    let further: Vec<f64> = told(&leaves).iter().take_while(|l| l.2 > 90.0).map(|l| l.2).collect();
    assert_eq!(further, [100.0, 110.0, 120.0, 130.0, 140.0, 150.0, 160.0, 170.0, 180.0]);
}

/// A sliding gate is compared with one that slides to the same side; another would run back to the side with more room, here
/// away from the pole.
#[test]
fn what_slides_to_which_side() {
    use crate::site::{Arrangement, Side, Swing};
    let mut site = crate::site::read(&PLAN.replace("[-3, 5]", "[-9, 0.3]"), "plan").unwrap();
    let last = |site: &Site| {
        let kinds = gate_plan::kinds(site, 8.0);
        assert_eq!((kinds.len(), kinds.iter().filter(|kind| kind.1).count()), (7, usize::from(kinds[6].1)));
        (kinds[6].0.arrangement, kinds[6].0.opens, kinds[6].1)
    };
    assert_eq!(last(&site), (Arrangement::Slide(Side::Right), Swing::In, false));
    for side in [Side::Left, Side::Right] {
        site.gate.leaves.arrangement = Arrangement::Slide(side);
        assert_eq!(last(&site), (Arrangement::Slide(side), Swing::In, true));
    }
}

/// Charts sample every 5 ft to 40, every 1.5 m to 12, and every ten degrees to 30 either way.
#[test]
fn charts_look_at_round_values() {
    use crate::geometry::Units::{Feet, Meters};
    let near = |got: Vec<f64>, from: f64, step: f64, count: usize| {
        assert_eq!(got.len(), count);
        let off = got.iter().zip(0_u32..).map(|(x, i)| (x - from - step * f64::from(i)).abs());
        assert!(off.fold(0.0, f64::max) < 1e-9, "{got:?}");
    };
    near(Axis::Setback.round_values(Feet), 0.0, 1.524, 9);
    near(Axis::Setback.round_values(Meters), 0.0, 1.5, 9);
    for units in [Feet, Meters] {
        near(Axis::Skew.round_values(units), -f64::to_radians(30.0), f64::to_radians(10.0), 7);
    }
}

/// Leaves as wide as the gate, 8 m: the left one swings in against a pole 5.1 m from its pin, the right one, 8.6 m from it, does
/// not; both meet the road 6 m before the gate, where two of 4 m do not. A leaf that slides is stopped by what stands beside.
#[test]
fn leaves_that_open_and_that_do_not() {
    use crate::site::{Arrangement, Side, Swing};
    let site = crate::site::read(PLAN, "plan").unwrap();
    let beside = crate::site::read(&PLAN.replace("[-3, 5]", "[-9, 0.3]"), "plan").unwrap();
    let opens = |site: &Site, arrangement: Arrangement, opens: Swing| {
        let leaves = site.gate.leaves;
        let open_angle_rad = std::f64::consts::FRAC_PI_2;
        fix::opens(site, &crate::site::Leaves { arrangement, opens, open_angle_rad, ..leaves })
    };
    let (left, right) = (Arrangement::Single(Side::Left), Arrangement::Single(Side::Right));
    assert_eq!([left, right, Arrangement::Double].map(|a| opens(&site, a, Swing::In)), [false, true, true]);
    assert_eq!([left, right, Arrangement::Double].map(|a| opens(&site, a, Swing::Out)), [false, false, true]);
    let slides = [Side::Left, Side::Right].map(Arrangement::Slide);
    assert_eq!(slides.map(|a| opens(&site, a, Swing::In)), [true, true]);
    assert_eq!(slides.map(|a| opens(&beside, a, Swing::In)), [false, true]);
}
