//! Turning around on open land: whatever the road, the gate, the hand people drive on and the vehicle, there is room, so it turns
//! without a stop and drives out; by the lane it came by, too, where the road ends at the gate.
mod common;
use serde_json::{Value, json};
use std::f64::consts::PI;
use wideenough::geometry::trig::{cos, sin};
use wideenough::opening::{CaseLane, DrawnGate, Study, StudyOptions, Wanted, study};
use wideenough::search::Effort;
use wideenough::site::{Maneuver, Site, Visit, read};
use wideenough::vehicle::find;

/// A road before a gate in the x axis, inward to the north.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Road {
    /// Straight past the gate, turned against the gate line by this many degrees.
    Past(f64),
    /// Past the gate on a bend of this radius, about a center inside (positive) or across the road.
    Bend(f64),
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
                // The nearest place is 11 m before the gate either way.
                let center = [0.0, radius - 11.0];
                let (half, middle) = (1.1, if radius > 0.0 { -0.5 * PI } else { 0.5 * PI });
                let (from, to) = if radius > 0.0 {
                    (middle - half, middle + half)
                } else {
                    (middle + half, middle - half)
                };
                arc(center, radius.abs(), from, to).collect()
            }
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

/// A gate of 5.5 m on open land: nothing stands but the posts and the fence in the gate line.
fn plan(road: Road, width_m: f64, drives_on: &str) -> String {
    let feature = |properties: Value, line: Value| json!({ "type": "Feature", "properties": properties, "geometry": { "type": "LineString", "coordinates": line } });
    let ends = matches!(road, Road::EndsAtGate | Road::BendsToGate(_));
    let goes_on = if ends { "start" } else { "both" };
    let features = [
        feature(json!({ "role": "road", "width": width_m, "continues": goes_on }), json!(road.line())),
        feature(json!({ "role": "gate", "leaves": "none" }), json!([[-2.75, 0], [2.75, 0]])),
        feature(json!({ "role": "fence" }), json!([[-3.0, 0], [-40, 0]])),
        feature(json!({ "role": "fence" }), json!([[3.0, 0], [40, 0]])),
    ];
    json!({ "type": "FeatureCollection", "plan": { "title": "open land", "coordinates": "local-m", "drives_on": drives_on }, "features": features }).to_string()
}

fn site(road: Road, width_m: f64, drives_on: &str) -> Site {
    read(&plan(road, width_m, drives_on), "open land").unwrap()
}

fn turned(site: Site, name: &str) -> Study {
    let vehicle = find(name).unwrap();
    let wanted = [Wanted { vehicle, visits: vec![Visit::TurnAround], travels: Vec::new() }];
    let effort = Effort { finest: 0, polished: 1, ..Effort::USUAL };
    let options = StudyOptions { effort, changes: false, ..StudyOptions::default() };
    study(site, &wanted, &options, &|_| ())
}

/// What is wrong with the turns of a study on open land; nothing where every one is as it must be.
fn faults(done: &Study) -> Vec<String> {
    let mut faults = Vec::new();
    if done.turns.is_empty() {
        faults.push("no turn was asked for".to_owned());
    }
    for turn in &done.turns {
        match &turn.found {
            Ok(found) if found.stops == 0 => {}
            Ok(found) => faults.push(format!("{}: {} stops", turn.travel, found.stops)),
            Err(why) => faults.push(format!("{}: {why}", turn.travel)),
        }
    }
    faults
}

#[test]
fn matrix() {
    let roads = [
        Road::Past(0.0),
        Road::Past(25.0),
        Road::Past(-25.0),
        Road::Bend(45.0),
        Road::Bend(-45.0),
        Road::Bend(30.0),
        Road::EndsAtGate,
        Road::BendsToGate(25.0),
    ];
    for name in
        std::env::var("V").unwrap_or("pickup-bumper-pull-20,pickup,gooseneck-horse-40".to_owned()).split(',')
    {
        for road in roads {
            for side in ["left", "right"] {
                let begun = std::time::Instant::now();
                let site = match read(&plan(road, 6.5, side), "x") {
                    Ok(s) => s,
                    Err(e) => {
                        println!("{road:?} {e}");
                        continue;
                    }
                };
                let done = turned(site, name);
                let gates: Vec<String> = done
                    .cases
                    .iter()
                    .map(|c| {
                        format!(
                            "{} {:?} {:?} {:.2}",
                            c.travel,
                            c.maneuver,
                            c.drawn_gate,
                            c.comfortable.reported_m()
                        )
                    })
                    .collect();
                println!(
                    "{name} {road:?} {side}: {:?} {:?} {}",
                    faults(&done),
                    begun.elapsed(),
                    if faults(&done).is_empty() { String::new() } else { gates.join("; ") }
                );
            }
        }
    }
}
