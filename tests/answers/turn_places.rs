//! Turning around on open land: whatever the road, the gate, the hand people drive on and the vehicle, there is room,
//! so the vehicle turns without a stop and drives out; also by the lane it came by, where the road ends at the gate.
use crate::common::every_case;
use serde_json::{Value, json};
use std::f64::consts::PI;
use wideenough::geometry::trig::{cos, sin};
use wideenough::geometry::{Point, wrap_angle};
use wideenough::motion::{Chain, Path};
use wideenough::opening::{
    CaseLane, DrawnGate, Lacking, Missing, Outcome, Study, StudyOptions, Verdict, Wanted, study,
    vehicle_verdict,
};
use wideenough::search::Effort;
use wideenough::site::{Maneuver, Site, Visit, YardSide, read};
use wideenough::vehicle::find;

/// A road before a gate in the x axis, inward to the north.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Road {
    /// Straight past the gate, turned against the gate line by this many degrees.
    Past(f64),
    /// Past the gate on a bend of this radius, about a center inside (positive) or across the road.
    Bend(f64),
    /// Straight past the gate from the west, where it continues; it ends this far east of the gate.
    PastUntil(f64),
    /// As [`Self::PastUntil`], and the plan does not say that the road continues anywhere.
    DrawnUntil(f64),
    /// Straight to the gate, where it ends.
    EndsAtGate,
    /// To the gate, where it ends, round a bend of this radius that leads on straight for 12 m.
    BendsToGate(f64),
}

impl Road {
    fn line(self) -> Vec<[f64; 2]> {
        let arc = |center: [f64; 2], radius: f64, from: f64, to: f64| {
            (0..=24).map(move |i| {
                let angle = from + (to - from) * f64::from(i) / 24.0;
                [center[0] + radius * cos(angle), center[1] + radius * sin(angle)]
            })
        };
        match self {
            Self::Past(degrees) => {
                let along = [cos(degrees.to_radians()), sin(degrees.to_radians())];
                [-70.0, 70.0].map(|s: f64| [s * along[0], s * along[1] - 13.0]).to_vec()
            }
            Self::Bend(radius) => {
                // The nearest place is 11 m before the gate in either case.
                let center = [0.0, radius - 11.0];
                let (half, middle) = (1.1, if radius > 0.0 { -0.5 * PI } else { 0.5 * PI });
                let (from, to) = if radius > 0.0 {
                    (middle - half, middle + half)
                } else {
                    (middle + half, middle - half)
                };
                arc(center, radius.abs(), from, to).collect()
            }
            Self::PastUntil(beyond) | Self::DrawnUntil(beyond) => vec![[-70.0, -13.0], [beyond, -13.0]],
            Self::EndsAtGate => vec![[0.0, -80.0], [0.0, 0.0]],
            Self::BendsToGate(radius) => {
                let mut line: Vec<[f64; 2]> = vec![[-radius - 60.0, -12.0 - radius]];
                line.extend(arc([-radius, -12.0], radius, -0.5 * PI, 0.0));
                line.push([0.0, 0.0]);
                line
            }
        }
    }
}

/// A gate of 5.5 m on open land: nothing stands there but the posts and the fence in the gate line.
fn plan(road: Road, width_m: f64, drives_on: &str) -> String {
    plan_with_gate(road, width_m, drives_on, 5.5)
}

/// As [`plan`], with a gate of this opening.
fn plan_with_gate(road: Road, width_m: f64, drives_on: &str, opening_m: f64) -> String {
    let half_m = 0.5 * opening_m;
    let feature = |properties: Value, line: Value| json!({ "type": "Feature", "properties": properties, "geometry": { "type": "LineString", "coordinates": line } });
    let ends = matches!(road, Road::EndsAtGate | Road::BendsToGate(_) | Road::PastUntil(_));
    let goes_on = match road {
        Road::DrawnUntil(_) => "none",
        _ if ends => "start",
        _ => "both",
    };
    let features = [
        feature(json!({ "role": "road", "width": width_m, "continues": goes_on }), json!(road.line())),
        feature(json!({ "role": "gate", "leaves": "none" }), json!([[-half_m, 0], [half_m, 0]])),
        feature(json!({ "role": "fence" }), json!([[-half_m - 0.25, 0], [-20, 0]])),
        feature(json!({ "role": "fence" }), json!([[half_m + 0.25, 0], [20, 0]])),
    ];
    json!({ "type": "FeatureCollection", "plan": { "title": "open land", "coordinates": "local-m", "drives_on": drives_on }, "features": features }).to_string()
}

fn site(road: Road, width_m: f64, drives_on: &str) -> Site {
    read(&plan(road, width_m, drives_on), "open land").unwrap()
}

/// Opening that a vehicle turns in to from any of these roads. Driving in round the sharper side of a gate turned 25 degrees
/// a semitrailer needs 7.3 m in comfort, and its way out there 5.5 m.
fn roomy_m(name: &str) -> f64 {
    if name == "semitrailer" { 9.0 } else { 5.5 }
}

fn turned(site: Site, name: &str) -> Study {
    let vehicle = find(name).unwrap();
    let wanted = [Wanted { vehicle, visits: vec![Visit::TurnAround], travels: Vec::new() }];
    let effort = Effort { finest: 0, ..Effort::USUAL };
    let options = StudyOptions { effort, changes: false, ..StudyOptions::default() };
    study(site, &wanted, &options, &|_| ())
}

/// Faults of the end of a turn: the vehicle must have left, with every tire on the road and in line with it.
fn faults_of_the_end(done: &Study, travel: &str, path: &Path, (road, width_m): (Road, f64)) -> Vec<String> {
    let vehicle = &done.vehicles[0];
    let chain = Chain::of(vehicle);
    let end = path.end(&chain);
    // A road that goes on does so straight.
    let mut line = road.line();
    let on = |from: [f64; 2], to: [f64; 2]| {
        let along = Point::new(to[0] - from[0], to[1] - from[1]).unit().unwrap() * 100.0;
        [to[0] + along.x, to[1] + along.y]
    };
    line.insert(0, on(line[1], line[0]));
    line.push(on(line[line.len() - 2], line[line.len() - 1]));
    // Angle of the road and distance from its middle at the nearest of its points.
    let beside = |p: Point| {
        let pieces = line.windows(2).flat_map(|pair| {
            let [from, to] = [pair[0], pair[1]].map(|[x, y]| Point::new(x, y));
            // A thousand places are a quarter of a meter apart at most.
            (0..=1000).map(move |i| (from + (to - from) * (f64::from(i) / 1000.0), (to - from).angle()))
        });
        let nearest = pieces.map(|(q, angle)| (q.distance(p), angle)).min_by(|a, b| a.0.total_cmp(&b.0));
        nearest.unwrap()
    };
    let mut faults = Vec::new();
    let (_, angle) = beside(end.lead.position);
    // Along the road either way. In line within 0.1, and the lane's line is drawn in other pieces than the road's.
    let across = wrap_angle(2.0 * (end.lead.heading - angle)).abs() / 2.0;
    if across > 0.15 {
        faults.push(format!("{travel}: ends {:.1} degrees across the road", across.to_degrees()));
    }
    for (unit, frame) in vehicle.units.iter().zip(chain.unit_frames(&end)) {
        for tire in &unit.tires {
            let (away, _) = beside(frame.place(tire.center));
            if away > 0.5 * width_m + 0.01 {
                faults.push(format!(
                    "{travel}: a tire of the {} is {away:.2} m from the middle of the road",
                    unit.name
                ));
            }
        }
    }
    faults
}

/// Faults of the turns of a study on open land; none where every turn is as it must be.
fn faults(done: &Study, road: (Road, f64)) -> Vec<String> {
    let mut faults = Vec::new();
    if done.turns.is_empty() {
        faults.push("no turn was asked for".to_owned());
    }
    for turn in &done.turns {
        match &turn.found {
            Ok(found) if found.stops == 0 && !found.ends_in_line => {
                // Reported as such; the lane of a bend may be too narrow for a trailer to straighten out in.
                println!("{}: ends across the lane", turn.travel);
            }
            Ok(found) if found.stops == 0 => {
                faults.extend(faults_of_the_end(done, &turn.travel, found.path.path(), road));
            }
            Ok(found) => faults.push(format!("{}: {} stops", turn.travel, found.stops)),
            Err(why) => faults.push(format!("{}: {why}", turn.travel)),
        }
    }
    faults
}

/// Roads, gates, hands and vehicles, each case in turn; all 70 of them with `TURN_PLACES=1`, a minute or two for each
/// vehicle; those whose name contains it with a longer text, such as `TURN_PLACES="Past(-25.0), right"`.
#[test]
fn on_open_land_every_vehicle_turns_without_a_stop() {
    let some = [
        ("gooseneck-horse-40", Road::Past(0.0), "left"),
        ("pickup-bumper-pull-20", Road::Bend(-45.0), "left"),
        ("pickup-bumper-pull-20", Road::Bend(45.0), "right"),
        ("pickup-bumper-pull-20", Road::BendsToGate(25.0), "left"),
        ("pickup", Road::Past(-25.0), "right"),
    ];
    let mut asked = some[..if every_case() { some.len() } else { 2 }].to_vec();
    if std::env::var("TURN_PLACES").is_ok() {
        asked.clear();
        for name in
            ["pickup-bumper-pull-20", "gooseneck-horse-40", "car-boat-trailer", "semitrailer", "box-truck-26"]
        {
            for road in [
                Road::Past(0.0),
                Road::Past(25.0),
                Road::Past(-25.0),
                Road::Bend(45.0),
                Road::Bend(-45.0),
                Road::EndsAtGate,
                Road::BendsToGate(25.0),
            ] {
                asked.extend(["left", "right"].map(|side| (name, road, side)));
            }
        }
    }
    let mut wrong = Vec::new();
    let only = std::env::var("TURN_PLACES").unwrap_or_default();
    asked.retain(|(name, road, side)| {
        only.len() < 2 || format!("{name}, {road:?}, {side}").contains(only.as_str())
    });
    for (name, road, side) in asked {
        let place = read(&plan_with_gate(road, 6.5, side, roomy_m(name)), "open land").unwrap();
        let done = turned(place, name);
        let faults = faults(&done, (road, 6.5));
        println!("{name}, {road:?}, {side}: {faults:?}");
        if !faults.is_empty() {
            wrong.push(format!("{name}, {road:?}, driving on the {side}: {faults:?}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Where the way out by the lane of coming ends across the road, a vehicle leaves by the other lane if it gets in line there.
#[test]
fn a_way_out_in_line_is_preferred() {
    let road = Road::Past(25.0);
    let done = turned(site(road, 6.5, "right"), "box-truck-26");
    assert_eq!(faults(&done, (road, 6.5)), Vec::<String>::new());
    for turn in &done.turns {
        let found = turn.found.as_ref().unwrap();
        assert!(found.ends_in_line && found.comfortable, "{}", turn.travel);
    }
    assert!(
        done.turns.iter().any(|turn| turn.found.as_ref().is_ok_and(|found| found.lane == CaseLane::Leaving))
    );
}

/// Of a long trailer that fits nowhere in its lane on a bend in which the drawing ends, the answer says what to do.
#[test]
fn a_bend_too_tight_to_stand_in() {
    let comes = |plan: &str| {
        let wanted = [Wanted {
            vehicle: find("gooseneck-horse-40").unwrap(),
            visits: vec![Visit::DriveInBackOut],
            travels: vec!["eastbound".to_owned()],
        }];
        let effort = Effort { finest: 0, polished: 1, ..Effort::USUAL };
        let options = StudyOptions { effort, changes: false, ..StudyOptions::default() };
        let mut done = study(read(plan, "open land").unwrap(), &wanted, &options, &|_| ());
        done.cases.retain(|case| case.maneuver == Maneuver::DriveIn);
        done.cases.remove(0)
    };
    let drawn = plan(Road::Bend(45.0), 6.5, "right");
    let ends = drawn.replace(r#""continues":"both""#, r#""continues":"none""#);
    assert_ne!(ends, drawn);
    let case = comes(&ends);
    assert_eq!(case.drawn_gate, DrawnGate::No);
    let Outcome::GaveUp(why) = &case.bare.outcome else { panic!("{:?}", case.bare.outcome) };
    assert!(why.contains("draw more of the road"), "{why}");
}

/// A lane that leads straight to the gate and ends there is its own way out: the turn ends in it, headed away, with or
/// without a trailer and in a lane hardly wider than the vehicle.
#[test]
fn the_lane_it_came_by_is_a_way_out() {
    for (name, width_m) in [("pickup", 4.0), ("pickup-bumper-pull-20", 6.5)] {
        let done = turned(site(Road::EndsAtGate, width_m, "right"), name);
        assert_eq!(faults(&done, (Road::EndsAtGate, width_m)), Vec::<String>::new(), "{name}");
        let out = done.cases.iter().find(|case| case.maneuver == Maneuver::BackIn).unwrap();
        assert_eq!((out.lane, out.drawn_gate), (CaseLane::Leaving, DrawnGate::Comfortable), "{name}");
        assert_eq!(vehicle_verdict(&done, 0), Verdict::Comfortable, "{name}");
        let found = done.turns[0].found.as_ref().unwrap();
        let chain = Chain::of(&done.vehicles[0]);
        let end = found.path.path().end(&chain);
        assert!(wrap_angle(end.lead.heading + 0.5 * PI).abs() < 0.1, "{name}: {end:?}");
        // All of it is before the gate, its axles on the lane.
        for pose in &chain.unit_poses(&end)[..=chain.towed_count()] {
            assert!(pose.position.y < 0.0 && pose.position.x.abs() < 0.5 * width_m, "{name}: {end:?}");
        }
        // It drives on the right where there are two lanes.
        assert!(width_m < 6.0 || end.lead.position.x < 0.0, "{name}: {end:?}");
    }
}

/// A walled yard behind a gate 20 ft wide, its walls at these distances (feet) to the left, to the right and behind.
fn walled([left, right, deep]: [f64; 3]) -> Site {
    let plan = json!({ "type": "FeatureCollection",
        "plan": { "title": "walled yard", "coordinates": "local-ft", "units": "ft" },
        "features": [
            { "type": "Feature", "properties": { "role": "road", "width": 24, "continues": "both" },
              "geometry": { "type": "LineString", "coordinates": [[-200, -42], [200, -42]] } },
            { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
              "geometry": { "type": "LineString", "coordinates": [[-10, 0], [10, 0]] } },
            { "type": "Feature", "properties": { "role": "fence" },
              "geometry": { "type": "LineString", "coordinates": [[-10.5, 0], [-left, 0]] } },
            { "type": "Feature", "properties": { "role": "fence" },
              "geometry": { "type": "LineString", "coordinates": [[10.5, 0], [right, 0]] } },
            { "type": "Feature", "properties": { "role": "obstacle", "label": "wall", "thickness": 0.5, "top": "6 ft" },
              "geometry": { "type": "LineString",
                "coordinates": [[-left, 0], [-left, deep], [right, deep], [right, 0]] } } ] });
    read(&plan.to_string(), "walled yard").unwrap()
}

/// The least room reported as missing is tried as a plan drawn so: with it a turn is found, with a foot less none.
#[test]
fn the_room_that_is_missing_is_what_is_missing() {
    const FOOT_M: f64 = 0.3048;
    let (drawn, name) = ([20.0, 20.0, 40.0], "dump-truck");
    let one_way = |site: Site| {
        let vehicle = find(name).unwrap();
        let wanted =
            [Wanted { vehicle, visits: vec![Visit::TurnAround], travels: vec!["eastbound".to_owned()] }];
        let effort = Effort { finest: 0, polished: 1, ..Effort::USUAL };
        study(site, &wanted, &StudyOptions { effort, changes: false, ..StudyOptions::default() }, &|_| ())
    };
    let done = one_way(walled(drawn));
    assert_eq!(done.turns.len(), 1);
    assert!(done.turns[0].found.is_err());
    let Some(Missing { what: Lacking::Room(room), comfortable: true }) = &done.turns[0].missing else {
        panic!("{:?}", done.turns[0].missing);
    };
    println!("missing: {room:?}");
    let feet = room.by_m / FOOT_M;
    assert!((feet - feet.round()).abs() < 1e-9 && feet >= 1.0, "{feet} ft");
    let larger = |feet: f64| {
        let mut yard = drawn;
        yard[match room.side {
            YardSide::Left => 0,
            YardSide::Right => 1,
            YardSide::Back => 2,
        }] += feet;
        one_way(walled(yard)).turns.remove(0).found
    };
    assert!(larger(feet).is_ok_and(|turn| turn.comfortable), "{feet} ft on the {:?}", room.side);
    assert!(
        !larger(feet - 1.0).is_ok_and(|turn| turn.comfortable),
        "{feet} ft less one on the {:?}",
        room.side
    );
}

/// Easternmost corner of a vehicle.
fn easternmost_m(done: &Study, path: &Path) -> f64 {
    let vehicle = &done.vehicles[0];
    let chain = Chain::of(vehicle);
    let frames = chain.unit_frames(&path.end(&chain));
    let corners = vehicle.units.iter().zip(&frames).flat_map(|(unit, frame)| {
        let (front, rear, half) =
            (unit.wheelbase_m + unit.front_overhang_m, -unit.rear_overhang_m, 0.5 * unit.width_m);
        [[front, half], [front, -half], [rear, half], [rear, -half]]
            .map(|[x, y]| frame.place(Point::new(x, y)).x)
    });
    corners.fold(f64::NEG_INFINITY, f64::max)
}

/// Where the road ahead is a dead end, a vehicle that turned around inside leaves the way it came, however long the dead
/// end is.
#[test]
fn before_a_dead_end_a_vehicle_leaves_the_way_it_came() {
    for (name, beyond) in [("pickup", 0.0), ("pickup", 13.0), ("box-truck-26", 13.0), ("box-truck-26", 40.0)]
    {
        let road = Road::PastUntil(beyond);
        let done = turned(site(road, 6.5, "right"), name);
        assert_eq!(faults(&done, (road, 6.5)), Vec::<String>::new(), "{name}, {beyond} m");
        let chain = Chain::of(&done.vehicles[0]);
        for turn in &done.turns {
            let found = turn.found.as_ref().unwrap();
            let heading = found.path.path().end(&chain).lead.heading;
            assert!(
                found.ends_in_line && cos(heading) < -0.9,
                "{name}, {beyond} m, {}: {heading}",
                turn.travel
            );
        }
    }
}

/// Where the road as drawn ends before a vehicle that leaves is in line with it, it leaves by the other lane; where it goes on
/// to that end, all of it stays short of it.
#[test]
fn before_a_road_that_ends_too_soon_a_vehicle_leaves_by_the_other_lane() {
    let (mut turns, mut eastbound) = (0, 0);
    for (name, beyond) in [("pickup", 9.0), ("pickup", 12.0), ("box-truck-26", 14.0), ("box-truck-26", 40.0)]
    {
        let road = Road::DrawnUntil(beyond);
        let done = turned(site(road, 6.5, "right"), name);
        for turn in &done.turns {
            let found = turn.found.as_ref().unwrap();
            let path = found.path.path();
            let faults = faults_of_the_end(&done, &turn.travel, path, (road, 6.5));
            let nose_m = easternmost_m(&done, path);
            println!("{name}, {beyond} m, {}: to {nose_m:.2} m {faults:?}", turn.travel);
            assert!(found.ends_in_line, "{name}, {beyond} m, {}", turn.travel);
            assert!(faults.is_empty() && nose_m <= beyond, "{name}, {beyond} m: {nose_m} {faults:?}");
            turns += 1;
            eastbound += usize::from(nose_m > 5.0);
        }
    }
    // Both ways out are seen.
    assert!(eastbound > 0 && eastbound < turns, "{eastbound} of {turns}");
}
