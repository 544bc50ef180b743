//! A road drawn as its outline has the answers of the same road drawn as a line: through bends, and on curves.
use super::judge::Judge;
use super::{answers, generator, options, settle};
use serde_json::{Value, json};
use wideenough::opening::Study;
use wideenough::site::{Maneuver, Site};

/// Share by which two answers may differ: the middle of an outline cuts a sharp corner a little.
const SHARE: f64 = 0.03;

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

/// A gate of 4.4 m behind a road, with a yard that a 26-ft box truck can turn in.
fn place(road: Value) -> Value {
    let yard =
        json!([[[-6, -8], [6, -8], [4, 0], [12, 4], [12, 25], [-12, 25], [-12, 4], [-4, 0], [-6, -8]]]);
    let features = json!([
        road,
        feature(&json!({ "role": "drive" }), "Polygon", &yard),
        feature(&json!({ "role": "gate", "leaves": "none" }), "LineString", &json!([[-2.2, 0], [2.2, 0]])),
        feature(&json!({ "role": "fence" }), "LineString", &json!([[-2.4, 0], [-9, 0]])),
    ]);
    json!({ "type": "FeatureCollection", "features": features,
        "plan": { "coordinates": "local-m", "vehicles": ["box-truck-26"] } })
}

fn judged(name: &str, plan: &Value) -> (Site, Study) {
    let site = generator::read(plan).expect("a sound plan");
    let done = answers(&site, &[Maneuver::DriveIn, Maneuver::BackIn], &options());
    settle(name, &Judge::new(&site, plan).faults(&done, name));
    (site, done)
}

fn held(name: &str, line: &[(f64, f64)], continues: &str) {
    let road = json!({ "role": "road", "width": 6, "continues": continues });
    let (site, as_line) = judged(name, &place(feature(&road, "LineString", &json!(line))));
    let mut ring: Vec<[f64; 2]> = site.roads[0].surface.outer.0.iter().map(|p| [p.x, p.y]).collect();
    ring.push(ring[0]);
    let road = json!({ "role": "road", "continues": continues });
    let (outline_site, as_outline) = judged(name, &place(feature(&road, "Polygon", &json!([ring]))));
    let mut seen = 0;
    for case in &as_line.cases {
        // Halfway between two points of the compass the two sites may name a direction differently.
        let travels = site.travels();
        let travel = travels.iter().find(|travel| travel.word == case.travel).expect("a direction");
        let others = outline_site.travels();
        let same = others
            .iter()
            .find(|other| other.direction.dot(travel.direction) > 0.9)
            .expect("the same direction");
        let mut answers = as_outline.cases.iter().filter(|c| c.travel == same.word);
        let other = answers.find(|c| c.maneuver == case.maneuver).expect("the same maneuver");
        for (a, b) in [(&case.bare, &other.bare), (&case.comfortable, &other.comfortable)] {
            println!(
                "{name}: {} {}: {:?}, {:?}",
                case.travel,
                case.maneuver.word(),
                a.opening_m,
                b.opening_m
            );
            let Some(a) = a.opening_m else { continue };
            let b = b.opening_m.expect("found with the line");
            assert!((a / b - 1.0).abs() < SHARE, "{name} {}: {a} m, then {b} m", case.travel);
            seen += 1;
        }
    }
    assert!(seen >= 2, "{name}: only {seen} answers found");
}

#[test]
fn a_bend_beside_the_gate() {
    held("bend", &[(50.0, -10.0), (0.0, -10.0), (-40.0, -50.0)], "both");
}

/// From behind the square bend the truck swings out to get round it.
#[test]
fn a_square_bend() {
    held("square bend", &[(40.0, -10.0), (-12.0, -10.0), (-12.0, -60.0)], "both");
}

/// On the inner lane of this curve the truck fits at few places, with hardly any play.
#[test]
fn a_curve_round_the_lane() {
    let at = |k: i32| 0.1 * f64::from(k);
    let line: Vec<(f64, f64)> =
        (-12..=12).rev().map(|k| (40.0 * libm::sin(at(k)), 40.0 * libm::cos(at(k)) - 50.0)).collect();
    held("curve", &line, "both");
}

#[test]
fn a_lane_with_bends_that_ends_before_the_gate() {
    held("lane", &[(-50.0, -40.0), (-10.0, -40.0), (0.0, -30.0), (0.0, -6.0)], "start");
}
