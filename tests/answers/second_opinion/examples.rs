//! The answers of the examples: the committed ones by the witnesses they list, and those of quick studies.
use super::{EDGE_M, OPENING_OVER_M, SEAM_M, TINY_M, Worst, extent_v, measured, within_limits};
use crate::common::every_case;
use crate::common::plain::{Moment, contact, drive, look, polygon, ring_to_gate, standing};
use geo::{Distance, Euclidean};
use geo_types::Polygon;
use serde_json::Value;
use std::fs;
use wideenough::geometry::{Outline, Point, Pose};
use wideenough::motion::{Direction, Leg, Path, Segment, State};
use wideenough::opening::{Outcome, StudyOptions, Wanted, study};
use wideenough::search::Effort;
use wideenough::site::{self, Faces, Gate, Maneuver, Site};
use wideenough::vehicle::{Vehicle, find};

/// A pose of the site in the gate's frame.
pub(super) fn pose_in_gate(gate: &Gate, pose: Pose) -> Pose {
    let at = ring_to_gate(gate, &Outline(vec![pose.position]))[0];
    let along = gate.right - gate.left;
    Pose { position: at, heading: pose.heading - libm::atan2(along.y, along.x) }
}

/// A drive of an example as reported: the path in site coordinates, and the answer.
struct Said<'a> {
    path: &'a Path,
    maneuver: &'a str,
    opening_m: f64,
    faces: Faces,
    clearance_m: f64,
}

/// Holds one answer of an example to the plain method; returns the moments driven.
fn hold(site: &Site, vehicle: &Vehicle, said: &Said, label: &str, worst: &mut Worst) -> Vec<Moment> {
    let lead = pose_in_gate(&site.gate, said.path.start.lead);
    let path = Path { start: State { lead, ..said.path.start }, legs: said.path.legs.clone() };
    let moments = drive(vehicle, &path);
    if let Err(why) = within_limits(vehicle, &path, &moments, 1e-6) {
        panic!("{label}: {why}");
    }
    let width = said.faces.right - said.faces.left;
    assert!(width <= said.opening_m + TINY_M, "{label}: faces {width} apart, {} said", said.opening_m);
    let cut = (said.faces, said.opening_m);
    let seen = measured(site, (vehicle, &moments), cut, said.clearance_m);
    worst.note("opening", 0, seen.kind_m);
    worst.note("opening", 1, seen.over_m);
    worst.note("fixed things", 0, said.clearance_m - seen.fixed_m);
    assert!(seen.kind_m <= TINY_M, "{label}: {} comes {} m too near", seen.nearest, seen.kind_m);
    assert!(seen.fixed_m >= said.clearance_m - TINY_M, "{label}: {} m from what is fixed", seen.fixed_m);
    assert!(seen.fixed_m > 0.0, "{label}: it overlaps what is fixed");
    assert!(seen.over_m <= OPENING_OVER_M, "{label}: it could be {} m narrower", seen.over_m);
    // It ends wholly inside, and backing in begins outside.
    let depth = 0.5 * site.gate.post.depth_m;
    let end = extent_v(vehicle, moments.last().into_iter());
    assert!(end.0 >= depth + said.clearance_m - TINY_M, "{label}: its tail is at {}", end.0);
    if said.maneuver == "back-in" {
        let last = path.legs.len() - 1;
        let before = extent_v(vehicle, moments.iter().filter(|m| m.leg < last));
        assert!(before.1 <= TINY_M, "{label}: it enters forward, to {}", before.1);
        assert!(path.legs[last].direction == Direction::Reverse, "{label}");
    }
    on_the_ground(site, vehicle, &moments, label, worst);
    moments
}

/// Checks that tires stay on the roads, which run on straight beyond their drawing, and the drives: a centimeter over
/// an edge, and twice that at a corner, is allowed (and the millimeter of a verdict).
pub(super) fn on_the_ground(
    site: &Site,
    vehicle: &Vehicle,
    moments: &[Moment],
    label: &str,
    worst: &mut Worst,
) {
    if site.drives.is_empty() {
        return;
    }
    let gate = &site.gate;
    let mut ground: Vec<Polygon> = Vec::new();
    for surface in site.roads.iter().map(|r| &r.surface).chain(&site.drives) {
        let holes: Vec<Vec<Point>> = surface.holes.iter().map(|h| ring_to_gate(gate, h)).collect();
        ground.push(polygon(&ring_to_gate(gate, &surface.outer), &holes));
    }
    for road in &site.roads {
        let line = ring_to_gate(gate, &Outline(road.centerline.clone()));
        let n = line.len();
        for (from, to) in [(line[1], line[0]), (line[n - 2], line[n - 1])] {
            let along = (to - from) * (1.0 / from.distance(to));
            let off = Point::new(-along.y, along.x) * (0.5 * road.width_m);
            let far = to + along * 60.0;
            ground.push(polygon(&[to - off, far - off, far + off, to + off], &[]));
        }
    }
    let corners: Vec<geo_types::Coord> = ground.iter().flat_map(|g| g.exterior().0.clone()).collect();
    for m in moments.iter().step_by(5) {
        for (unit, stand) in vehicle.units.iter().zip(&m.units) {
            for end in unit.tires.iter().flat_map(|tire| contact(stand, tire)) {
                let dot = geo_types::Point::new(end.x, end.y);
                let over = ground.iter().map(|g| Euclidean.distance(&dot, g)).fold(f64::INFINITY, f64::min);
                let at_corner = || corners.iter().any(|c| (end - Point::new(c.x, c.y)).norm() < 0.03);
                let allowed = if over > SEAM_M && at_corner() { 2.0 * SEAM_M } else { SEAM_M };
                worst.note("tires over an edge", 0, over - allowed);
                assert!(
                    over <= allowed + EDGE_M + TINY_M,
                    "{label}: a tire {over} m over an edge at {end:?}"
                );
            }
        }
    }
}

/// Parses a path as results.json lists it.
pub(super) fn listed(witness: &Value) -> Path {
    let f = |v: &Value, key: &str| v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"));
    let start = &witness["start"];
    let mut state = State {
        lead: Pose::new(f(start, "x_m"), f(start, "y_m"), f(start, "heading_rad")),
        ..State::default()
    };
    for (slot, angle) in state.hitch.iter_mut().zip(start["hitch_rad"].as_array().expect("angles")) {
        *slot = angle.as_f64().expect("an angle");
    }
    let legs = witness["legs"].as_array().expect("legs").iter().map(|leg| {
        let direction = if leg["direction"] == "forward" { Direction::Forward } else { Direction::Reverse };
        let segments = leg["segments"].as_array().expect("segments").iter().map(|s| Segment {
            length_m: f(s, "length_m"),
            curvature_start: f(s, "curvature_start"),
            curvature_end: f(s, "curvature_end"),
        });
        Leg { direction, segments: segments.collect() }
    });
    Path { start: state, legs: legs.collect() }
}

pub(super) const EXAMPLES: [&str; 6] =
    ["equipment-yard", "field-sketch", "rural-entrance", "small-lane", "town-lot", "workshop-lane"];

pub(super) fn example(name: &str) -> Site {
    let file = format!("{}/examples/{name}.geojson", env!("CARGO_MANIFEST_DIR"));
    site::read(&fs::read_to_string(file).expect("an example"), name).expect("a sound example")
}

/// The committed answers in comfort hold, by the witness they list; and that path is no way in for less than the least
/// opening reported without clearance.
#[test]
fn the_committed_answers_hold() {
    let (mut worst, mut held) = (Worst::default(), 0);
    for name in EXAMPLES {
        let site = example(name);
        let file = format!("{}/out/{name}/results.json", env!("CARGO_MANIFEST_DIR"));
        let results: Value = serde_json::from_str(&fs::read_to_string(file).expect("results")).expect("JSON");
        let clearance_m = results["clearance_m"].as_f64().expect("a clearance");
        for case in results["cases"].as_array().expect("cases") {
            let text = |key: &str| case[key].as_str().expect("a word").to_owned();
            let label = format!("{name}: {} {} {}", text("vehicle"), text("travel"), text("maneuver"));
            let vehicle = find(&text("vehicle")).expect("a vehicle of the library");
            let comfort = &case["comfortable"];
            assert_eq!(case["witness"]["clearance"], "comfortable", "{label}");
            let face = |answer: &Value, i: usize| answer["faces_u_m"][i].as_f64().expect("a face");
            let said = Said {
                path: &listed(&case["witness"]),
                maneuver: &text("maneuver"),
                opening_m: comfort["opening_m"].as_f64().expect("an opening"),
                faces: Faces::new(face(comfort, 0), face(comfort, 1)),
                clearance_m,
            };
            assert!(said.opening_m >= comfort["at_least_m"].as_f64().expect("a bound"), "{label}");
            let moments = hold(&site, &vehicle, &said, &label, &mut worst);
            // That path touches a gate clearly narrower than the bare answer: otherwise it would have been the bare
            // answer.
            let bare = &case["bare"];
            let less = 0.5 * OPENING_OVER_M + 0.001;
            let faces = Faces::new(face(bare, 0) + less, face(bare, 1) - less);
            let [fixed, left, right] =
                standing(&site, faces, bare["opening_m"].as_f64().expect("an opening"));
            let gap = [fixed, left, right].map(|things| look(&vehicle, &moments, &things, 0.0).least_m);
            assert!(gap.contains(&0.0), "{label}: bare it gets through less: {gap:?}");
            held += 1;
        }
    }
    worst.print("committed answers");
    assert_eq!(held, 52, "a case vanished");
}

/// Bare and comfortable answers of the examples, from studies of little effort: their paths are worse, and must hold no
/// less.
#[test]
fn answers_of_quick_studies_hold() {
    let (mut worst, mut held, mut asked) = (Worst::default(), 0, 0);
    for name in &EXAMPLES[..if every_case() { EXAMPLES.len() } else { 1 }] {
        let site = example(name);
        let wanted: Vec<Wanted> = site
            .vehicles
            .iter()
            .map(|v| Wanted {
                vehicle: find(&v.vehicle).expect("a vehicle of the library"),
                visits: v.visits.clone(),
                travels: v.travels.clone(),
            })
            .collect();
        let effort =
            Effort { lattice: 2_000, drawn: 0, coarse: 3, polished: 1, fine: 3, finest: 0, ..Effort::USUAL };
        let options = StudyOptions { effort, changes: false, ..StudyOptions::default() };
        let done = study(site.clone(), &wanted, &options, &|_| ());
        for case in &done.cases {
            for (kind, answer, clearance_m) in
                [("bare", &case.bare, 0.0), ("comfortable", &case.comfortable, done.clearance_m)]
            {
                asked += 1;
                let (Outcome::Found, Some(path), Some(faces), Some(opening_m)) =
                    (&answer.outcome, &answer.witness, answer.faces_u_m, answer.opening_m)
                else {
                    continue;
                };
                let vehicle = &done.vehicles[case.vehicle];
                let label = format!("{name}: {} {} {:?} {kind}", vehicle.name, case.travel, case.maneuver);
                let maneuver = if case.maneuver == Maneuver::BackIn { "back-in" } else { "drive-in" };
                let said = Said { path: path.path(), maneuver, opening_m, faces, clearance_m };
                hold(&site, vehicle, &said, &label, &mut worst);
                held += 1;
            }
        }
    }
    worst.print("quick studies");
    println!("quick studies: {held} answers of {asked} found and held");
    assert!(5 * held >= 4 * asked && held > 10, "only {held} answers of {asked} were found");
}
