//! Places drawn once, whose right answers are known, and faults planted in answers for the judge to find.
use super::judge::{Fault, Judge};
use super::{answers, generator, options, settle};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fs;
use wideenough::geometry::Point;
use wideenough::motion::{Chain, Direction, Path, Trajectory};
use wideenough::opening::{Answer, Case, Outcome, Study};
use wideenough::site::{self, Faces, Maneuver, Site};
use wideenough::vehicle::find;

fn plan(name: &str) -> (Value, Site) {
    let file = format!("{}/tests/places/{name}.geojson", env!("CARGO_MANIFEST_DIR"));
    let text = fs::read_to_string(file).expect("a plan");
    let site = site::read(&text, name).expect("a sound plan");
    (serde_json::from_str(&text).expect("JSON"), site)
}

fn studied(name: &str) -> (Study, Vec<Fault>) {
    let (plan, site) = plan(name);
    let done = answers(&site, &[Maneuver::DriveIn], &options());
    let faults = Judge::new(&site, &plan).faults(&done, name);
    (done, faults)
}

fn found<'s>(study: &'s Study, travel: &str) -> &'s Case {
    let case = study.cases.iter().find(|c| c.travel == travel).expect("a case of the travel");
    assert_eq!(case.bare.outcome, Outcome::Found, "{travel}");
    case
}

/// Straight up a lane 12 ft wide the mirrors decide: 8 ft over them, plus the play of the start.
#[test]
fn a_pickup_up_a_narrow_lane_needs_its_mirrors() {
    let (study, faults) = studied("11-lane12-pickup");
    let bare = found(&study, "northbound").bare.opening_m.expect("found");
    println!("narrow lane: bare {bare} m");
    settle("narrow lane", &faults);
    assert!((2.44..=2.55).contains(&bare), "bare {bare} m");
}

/// Backing in with the clearance, a box truck goes far beyond a junction first; near the way without clearance there is
/// none. Its opening is that way's and the clearance on both sides, within 1 %.
#[test]
fn backing_in_with_the_clearance_begins_beyond_a_junction() {
    let (plan, site) = plan("17-clearance-beyond-a-junction");
    let options = options();
    let done = answers(&site, &[Maneuver::BackIn], &options);
    settle("beyond a junction", &Judge::new(&site, &plan).faults(&done, "beyond a junction"));
    let case = found(&done, "northbound");
    let (bare, comfortable) = (case.bare.opening_m.expect("found"), case.comfortable.opening_m);
    println!("beyond a junction: bare {bare} m, comfortable {comfortable:?} m");
    assert!((2.6..=2.72).contains(&bare), "bare {bare} m");
    let usual = bare + 2.0 * options.clearance_m;
    assert!(comfortable.is_some_and(|m| m <= 1.01 * usual), "{comfortable:?} m instead of {usual} m");
}

/// A semitrailer's best way in bends the hitch as far as it goes. Between two poses sampled it bends a little farther, and
/// the whole way in was lost.
#[test]
fn a_hitch_bent_as_far_as_it_goes_is_no_obstacle() {
    let (study, faults) = studied("18-hitch-at-its-limit");
    let case = found(&study, "eastbound");
    let (bare, comfortable) = (case.bare.opening_m.expect("found"), case.comfortable.opening_m);
    println!("hitch at its limit: bare {bare} m, comfortable {comfortable:?} m");
    settle("hitch at its limit", &faults);
    assert!((1.971..2.1).contains(&bare), "bare {bare} m");
    assert!(comfortable.is_some_and(|m| m < 2.7), "comfortable {comfortable:?} m");
}

/// A lane that ends at the gate is driven toward it only; nothing passes less than its body.
#[test]
fn a_lane_that_ends_at_the_gate_is_driven_one_way() {
    let (study, faults) = studied("02-lane-ends-at-gate");
    let travels: BTreeSet<&str> = study.cases.iter().map(|c| c.travel.as_str()).collect();
    assert_eq!(travels, BTreeSet::from(["northbound"]));
    let bare = found(&study, "northbound").bare.opening_m.expect("found");
    let body = super::judge::widest(&study.vehicles[0]);
    println!("lane that ends: bare {bare} m, body {body} m");
    settle("lane that ends", &faults);
    assert!(bare >= body, "bare {bare} m is narrower than the body, {body} m");
}

/// Straight in, a truck needs no more than its width over the mirrors.
#[test]
fn a_truck_straight_in_needs_its_mirrors() {
    let (study, faults) = studied("10-straight-lane-box-truck");
    let bare = found(&study, "northbound").bare.opening_m.expect("found");
    let vehicle = find("box-truck-26").expect("in the library");
    let mirrors = vehicle.units[0].widest_m();
    println!("straight lane: bare {bare} m, over the mirrors {mirrors} m");
    settle("straight lane", &faults);
    // Mirrors may be threaded past the posts one after the other.
    assert!(bare >= super::judge::widest(&vehicle) && bare <= 1.02 * mirrors, "bare {bare} m of {mirrors} m");
}

/// Beside the end of a dead end nobody comes from the side without a road.
#[test]
fn a_dead_end_is_driven_one_way() {
    let (study, faults) = studied("12-dead-end-road");
    found(&study, "eastbound");
    settle("dead end", &faults);
    // A corner of the apron that pokes under a tire by a hair is driven round, not given up: in comfort the 14-ft gate
    // is wide enough.
    let comfortable =
        study.cases.iter().find(|c| c.travel == "eastbound").and_then(|c| c.comfortable.opening_m);
    assert!(comfortable.is_some_and(|m| m < 3.6), "in comfort {comfortable:?}, not 11' 6\"");
    let others = study.cases.iter().filter(|c| c.travel != "eastbound");
    let found: Vec<String> = others
        .filter(|c| [&c.bare, &c.comfortable].iter().any(|a| a.outcome == Outcome::Found))
        .map(|c| format!("{}: {:?}", c.travel, c.bare.opening_m))
        .collect();
    assert!(found.is_empty(), "found from where no road is: {found:?}");
}

/// One bend in meters and in degrees.
#[test]
fn a_bend_in_meters_and_in_degrees_is_one_place() {
    let ((meters, mut faults), (degrees, others)) = (studied("06-bend-local"), studied("06-bend-lonlat"));
    faults.extend(others);
    assert_eq!(meters.cases.len(), degrees.cases.len());
    let mut differ = Vec::new();
    for (a, b) in meters.cases.iter().zip(&degrees.cases) {
        let name = format!("{} {}", meters.vehicles[a.vehicle].name, a.travel);
        for (a, b) in [(&a.bare, &b.bare), (&a.comfortable, &b.comfortable)] {
            let share = match (a.opening_m, b.opening_m) {
                (Some(a), Some(b)) => (b / a - 1.0).abs(),
                (None, None) => 0.0,
                _ => f64::INFINITY,
            };
            if share > 0.001 {
                differ.push(format!("{name}: {:?} m and {:?} m", a.opening_m, b.opening_m));
            }
        }
    }
    println!("bend: {} cases differ: {differ:#?}", differ.len());
    assert!(differ.is_empty(), "{differ:#?}");
    settle("bend", &faults);
}

/// A straight road past a gate, as a plan.
fn past_the_gate(drive: bool) -> Value {
    let line = |properties: Value, points: Value| {
        json!({ "type": "Feature", "properties": properties,
                "geometry": { "type": "LineString", "coordinates": points } })
    };
    let mut features = vec![
        line(
            json!({ "role": "road", "width": 6.0, "continues": "both", "use": "own-lane" }),
            json!([[-50, -7], [50, -7]]),
        ),
        line(json!({ "role": "gate", "leaves": "none", "post": 0.2 }), json!([[-2.5, 0], [2.5, 0]])),
        line(json!({ "role": "fence" }), json!([[2.7, 0], [20, 0]])),
    ];
    if drive {
        features.push(json!({ "type": "Feature", "properties": { "role": "drive" },
            "geometry": { "type": "Polygon", "coordinates":
                [[[-8, -4.5], [8, -4.5], [6, 0], [6, 40], [-6, 40], [-6, 0], [-8, -4.5]]] } }));
    }
    json!({ "type": "FeatureCollection",
        "plan": { "coordinates": "local-m", "drives_on": "right", "vehicles": ["car"] },
        "features": features })
}

/// From a road of one lane past a place that is identical to the left and to the right of the gate, a vehicle from the
/// west needs as much as one from the east.
#[test]
fn east_equals_west_where_the_place_is_symmetric() {
    let feature = |properties: Value, kind: &str, coordinates: Value| {
        json!({ "type": "Feature", "properties": properties,
                "geometry": { "type": kind, "coordinates": coordinates } })
    };
    let (mut compared, mut worst) = (0, 0.0_f64);
    for (leaves, width, setback, with_drive, bulge) in
        [("none", 4.0, 3.0, false, 0.0), ("double", 4.4, 5.0, true, 0.0), ("none", 3.8, 6.5, true, 1.5)]
    {
        // The road may bow toward the gate, and a pole stands on each side of the way in.
        let road = json!([
            [-60, -setback - 2.0 - bulge],
            [-12, -setback - 2.0],
            [12, -setback - 2.0],
            [60, -setback - 2.0 - bulge]
        ]);
        let mut features = vec![
            feature(json!({ "role": "road", "width": width, "continues": "both" }), "LineString", road),
            feature(json!({ "role": "gate", "leaves": leaves }), "LineString", json!([[-2.5, 0], [2.5, 0]])),
        ];
        for side in [-1.0, 1.0] {
            let pole = json!({ "role": "obstacle", "radius": 0.2 });
            features.push(feature(pole, "Point", json!([side * 9.0, -0.5 * setback])));
        }
        if with_drive {
            let mouth = -setback - 1.0;
            let ring = json!([[[-9, mouth], [9, mouth], [5, 0], [5, 40], [-5, 40], [-5, 0], [-9, mouth]]]);
            features.push(feature(json!({ "role": "drive" }), "Polygon", ring));
        }
        let plan = json!({ "type": "FeatureCollection",
            "plan": { "coordinates": "local-m", "vehicles": ["pickup", "box-truck-16", "pickup-bumper-pull-20"] },
            "features": features });
        let site = site::read(&plan.to_string(), "symmetric").unwrap_or_else(|e| panic!("{e}"));
        let study = answers(&site, &[Maneuver::DriveIn, Maneuver::BackIn], &options());
        for east in study.cases.iter().filter(|case| case.travel == "eastbound") {
            let west = study.cases.iter().find(|case| {
                let same = case.vehicle == east.vehicle && case.maneuver == east.maneuver;
                same && case.travel == "westbound"
            });
            let west = west.expect("a case of the other travel");
            for (east, west) in [(&east.bare, &west.bare), (&east.comfortable, &west.comfortable)] {
                match (east.opening_m, west.opening_m) {
                    (Some(a), Some(b)) => worst = worst.max((a / b - 1.0).abs()),
                    (a, b) => assert_eq!(a, b, "setback {setback}"),
                }
                compared += 1;
            }
        }
    }
    println!("east equals west: {compared} answers, worst {:.4} %", 100.0 * worst);
    assert!(compared >= 30 && worst < 0.001, "{compared} answers, worst {:.4} %", 100.0 * worst);
}

/// A gate beside a bend: turning in sharply off the far leg would take an opening so wide that its right post stood on
/// the road, so there is none for a truck; from the other side there is.
#[test]
fn no_post_stands_on_the_road() {
    let plan = json!({ "type": "FeatureCollection",
        "plan": { "coordinates": "local-ft", "vehicles": ["pickup", "box-truck-16"] },
        "features": [
            { "type": "Feature", "properties": { "role": "road", "width": "18 ft", "continues": "both" },
              "geometry": { "type": "LineString", "coordinates": [[-200, -30], [0, -30], [60, 60]] } },
            { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
              "geometry": { "type": "LineString", "coordinates": [[-7, 0], [7, 0]] } } ] });
    let site = site::read(&plan.to_string(), "beside a bend").expect("a sound plan");
    let study = answers(&site, &[Maneuver::DriveIn], &options());
    let faults = Judge::new(&site, &plan).faults(&study, "beside a bend");
    settle("beside a bend", &faults);
    let mut reasons = BTreeSet::new();
    for case in &study.cases {
        if case.travel == "northeastbound" {
            assert_eq!(case.bare.outcome, Outcome::Found);
            continue;
        }
        let truck = study.vehicles[case.vehicle].name == "box-truck-16";
        for answer in [&case.bare, &case.comfortable] {
            // The road's edge is 2.80 m from the middle: bare, the pickup's post still stands beside it.
            if !truck && std::ptr::eq(answer, &case.bare) {
                assert!(answer.opening_m.is_some_and(|m| m > 5.2 && 0.5 * m + 0.1 < 2.796));
                continue;
            }
            let Outcome::GaveUp(why) = &answer.outcome else {
                panic!("{} needs {:?} m", case.travel, answer.opening_m);
            };
            reasons.insert(why.clone());
        }
    }
    assert!(reasons.contains("a gate wide enough would have a post on the road"), "{reasons:?}");
    // With its right face out on the road this answer is one that the judge must find.
    let sound = Sound { plan, study, site };
    sound.must(&["a post on the road"], |case| {
        let Faces { left, right } = case.bare.faces_u_m.expect("faces");
        case.bare.faces_u_m = Some(Faces::new(left, right + 4.0));
    });
}

/// A plan with a bare answer for the judge to check: of the travel in the half of the road beside the gate.
struct Sound {
    plan: Value,
    site: Site,
    study: Study,
}

impl Sound {
    fn new(plan: Value) -> Self {
        let site = site::read(&plan.to_string(), "planted").expect("a sound plan");
        let mut study = answers(&site, &[Maneuver::DriveIn], &options());
        study.cases.retain(|c| c.travel == "westbound");
        assert_eq!(study.cases[0].bare.outcome, Outcome::Found);
        study.cases[0].comfortable.outcome = Outcome::GaveUp(String::new());
        Self { plan, site, study }
    }

    /// Kinds of fault the judge finds after a change to the case.
    fn planted(&self, change: impl Fn(&mut Case)) -> BTreeSet<&'static str> {
        let mut study = self.study.clone();
        change(&mut study.cases[0]);
        Judge::new(&self.site, &self.plan).faults(&study, "planted").into_iter().map(|f| f.kind).collect()
    }

    /// Fails where the judge misses one of the kinds that a change plants.
    fn must(&self, kinds: &[&str], change: impl Fn(&mut Case)) {
        let seen = self.planted(change);
        for kind in kinds {
            assert!(seen.contains(kind), "{kind} was not found; seen: {seen:?}");
        }
    }
}

/// Changes the path of the bare answer.
fn path_of(answer: &mut Answer, change: impl Fn(&Path) -> Path) {
    let path = answer.witness.as_ref().expect("a path");
    answer.witness = Some(Trajectory::new(change(path.path())));
}

/// The judge finds every planted fault, and none where none is planted.
#[test]
fn the_judge_finds_planted_faults() {
    let sound = Sound::new(past_the_gate(true));
    let shift =
        |x: f64, y: f64| move |case: &mut Case| path_of(&mut case.bare, |p| p.moved(0.0, Point::new(x, y)));
    let seen = sound.planted(|_| ());
    assert!(seen.is_empty(), "{seen:?}");
    sound.must(&["starts off the road", "starts out of its lane", "tires off the ground"], shift(0.0, -6.0));
    sound.must(&["starts past the gate", "touches the gate line aside"], shift(-60.0, 0.0));
    sound.must(&["starts out of its lane", "tires out of their own lane"], shift(0.0, -2.5));
    sound.must(&["starts in the gate"], shift(0.0, 7.0));
    sound.must(&["touches something"], |case| {
        let Faces { left, right } = case.bare.faces_u_m.expect("faces");
        case.bare.faces_u_m = Some(Faces::new(left + 0.01, right - 0.01));
    });
    sound.must(&["opening narrower than the body", "faces wider than the opening"], |case| {
        case.bare.opening_m = Some(1.2);
    });
    sound.must(&["no proof"], |case| case.bare.witness = None);
    sound.must(&["ends not wholly inside"], |case| {
        path_of(&mut case.bare, |p| {
            let mut p = p.clone();
            let count = p.legs[0].segments.len();
            p.legs[0].segments.truncate(count / 2);
            p
        });
    });
    let there_and_back = |path: &Path| {
        let back = path.reversed(&Chain::of(&find("car").expect("in the library")));
        let legs = [path.legs.clone(), back.legs, path.legs.clone()].concat();
        Path { start: path.start, legs }
    };
    sound.must(&["comes out again"], |case| path_of(&mut case.bare, there_and_back));
    sound.must(&["enters before it backs in"], |case| {
        case.maneuver = Maneuver::BackIn;
        path_of(&mut case.bare, there_and_back);
    });
    sound.must(&["steered beyond lock", "steered too fast"], |case| {
        path_of(&mut case.bare, |p| {
            let mut p = p.clone();
            p.legs[0].segments[0].curvature_end = 5.0;
            p
        });
    });
    sound.must(&["starts askew or against the travel", "starts past the gate"], |case| {
        case.travel = "eastbound".to_owned();
    });
    sound.must(&["no such travel"], |case| case.travel = "upward".to_owned());
    // Where the road ends as drawn, nobody starts beyond its end.
    let mut plan = past_the_gate(true);
    plan["features"][0]["properties"]["continues"] = json!("none");
    let short = Sound { plan, ..sound };
    short.must(&["starts off the road"], shift(60.0, 0.0));
    let open = Sound::new(past_the_gate(false));
    open.must(&["tires across the road's far edge"], shift(0.0, -6.0));
}

/// A trailer pushed past its hitch's limit is found.
#[test]
fn the_judge_finds_a_jackknife() {
    let mut sound = Sound::new(past_the_gate(true));
    let hitched = find("pickup-bumper-pull-20").expect("in the library");
    sound.study.vehicles[0] = hitched;
    sound.must(&["hitch beyond its limit"], |case| {
        path_of(&mut case.bare, |p| {
            let mut p = p.clone();
            for leg in &mut p.legs {
                leg.direction = Direction::Reverse;
            }
            p
        });
    });
}

/// Things are distinguished by what they are: an obstacle that someone labels like a part of the gate is an obstacle
/// still.
#[test]
fn a_label_changes_nothing() {
    let text = |label: &str| {
        format!(
            r#"{{"type":"FeatureCollection","plan":{{"coordinates":"local-m","units":"m","vehicles":["box-truck-16"]}},
            "features":[
            {{"type":"Feature","properties":{{"role":"road","width":6,"continues":"both"}},
              "geometry":{{"type":"LineString","coordinates":[[-30,-7],[30,-7]]}}}},
            {{"type":"Feature","properties":{{"role":"gate","leaves":"double","opens":"in"}},
              "geometry":{{"type":"LineString","coordinates":[[-2.2,0],[2.2,0]]}}}},
            {{"type":"Feature","properties":{{"role":"fence"}},
              "geometry":{{"type":"LineString","coordinates":[[2.4,0],[20,0]]}}}},
            {{"type":"Feature","properties":{{"role":"obstacle","label":"{label}","radius":0.3}},
              "geometry":{{"type":"Point","coordinates":[-3.4,0.4]}}}}]}}"#
        )
    };
    let openings = |label: &str| {
        let site = generator::read(&serde_json::from_str(&text(label)).expect("JSON")).expect("a sound plan");
        let study = answers(&site, &[Maneuver::DriveIn, Maneuver::BackIn], &options());
        let bare = study.cases.iter().flat_map(|c| [c.bare.opening_m, c.comfortable.opening_m]);
        bare.collect::<Vec<_>>()
    };
    let as_it_is = openings("stump");
    assert!(as_it_is.iter().flatten().count() >= 6, "{as_it_is:?}");
    for label in ["left post", "right post", "gate line", "left leaf", "fence"] {
        assert_eq!(openings(label), as_it_is, "{label}");
    }
}
