//! Turning around inside: published turnarounds hold their design vehicles, laws of a turn, and every answer driven again by
//! a second, plain integration that looks at what stands and at the ground by itself.
mod common;
use common::plain;
use serde_json::{Value, json};
use std::f64::consts::{FRAC_PI_2, PI, TAU};
use wideenough::clearance::{GateFrame, Region, Surroundings};
use wideenough::geometry::trig::{acos, atan2, cos, sin};
use wideenough::geometry::{Outline, Point, Pose, distance, wrap_angle};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::search::turn_around::{NoTurn, Obstruction, TurnAround, TurnProblem, turn_around};
use wideenough::site::{Faces, Site, read};
use wideenough::vehicle::{Vehicle, find};

const FT: f64 = 0.3048;
/// Chords of a drawn arc turn by this much at most: the arc of a 48-ft circle is cut by 6 mm.
const CHORD_RAD: f64 = 3.0 * PI / 180.0;
/// The wall's thickness.
const WALL_M: f64 = 0.02;

/// A yard behind a gate across the x axis, and the way to it from the road.
struct Place {
    site: Site,
    drawn_m: f64,
    /// The ground tires may use, one ring.
    ground: Outline,
    surroundings: Surroundings,
}

/// An arc from one angle to another about a center, its ends included.
fn arc(center: Point, radius: f64, from: f64, to: f64) -> Vec<Point> {
    let pieces = ((to - from).abs() / CHORD_RAD).ceil().max(1.0);
    let mut list = Vec::new();
    let mut i = 0.0;
    while i <= pieces {
        let angle = from + (to - from) * i / pieces;
        list.push(Point::new(center.x + radius * cos(angle), center.y + radius * sin(angle)));
        i += 1.0;
    }
    list
}

/// The right half of an outline from the gate inward, made whole by its mirror image, in order from the left of the gate.
fn both_halves(right: &[Point]) -> Vec<Point> {
    let left = right.iter().map(|p| Point::new(-p.x, p.y));
    let mut all: Vec<Point> = left.collect();
    all.extend(right.iter().rev());
    all.dedup_by(|a, b| a.distance(*b) < 1e-9);
    all
}

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

fn places(points: &[Point]) -> Value {
    json!(points.iter().map(|p| json!([p.x, p.y])).collect::<Vec<_>>())
}

/// A place with an outline of the yard (from the left of the gate round to its right, `grown` meters out), walled along it, and a
/// straight drive 6 m to 60 m before the gate with a road across it. `gate_m` is the opening.
fn place(gate_m: f64, outline: impl Fn(f64) -> Vec<Point>) -> Place {
    let half = 0.5 * gate_m;
    let yard = outline(0.0);
    let mut ring = yard.clone();
    ring.extend([Point::new(half, -60.0), Point::new(-half, -60.0), yard[0]]);
    let wall = outline(0.5 * WALL_M);
    let features = [
        feature(
            &json!({ "role": "road", "width": 10, "continues": "both" }),
            "LineString",
            &json!([[-80, -15], [80, -15]]),
        ),
        feature(
            &json!({ "role": "gate", "leaves": "none" }),
            "LineString",
            &json!([[-half, 0.0], [half, 0.0]]),
        ),
        feature(&json!({ "role": "drive" }), "Polygon", &json!([places(&ring)])),
        feature(
            &json!({ "role": "obstacle", "label": "wall", "thickness": WALL_M, "top": 3 }),
            "LineString",
            &places(&wall),
        ),
    ];
    let plan =
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": features });
    let site = read(&plan.to_string(), "plan").unwrap_or_else(|error| panic!("{error}"));
    let frame = GateFrame::of(&site.gate);
    let drive = &site.drives[0];
    let road = &site.roads[0].surface;
    let pieces = [(&drive.outer, drive.holes.as_slice()), (&road.outer, road.holes.as_slice())];
    let region = Region::new(&pieces, &frame.origin).expect("polygons");
    let drawn_m = site.gate.opening_m();
    let mut surroundings =
        Surroundings::new(&site, Some(&region), drawn_m).with_leaves_for(drawn_m).with_fixed_leaves();
    surroundings.anchor = wideenough::site::Anchor::Center;
    Place { ground: drive.outer.clone(), drawn_m, surroundings, site }
}

/// A bulb of this radius at the end of a stem as wide as the gate, the corners where they meet rounded: the bulb's nearest
/// straight wall is `stem_m` inside the gate.
fn cul_de_sac(radius: f64, gate_m: f64, corner: f64, stem_m: f64) -> impl Fn(f64) -> Vec<Point> {
    move |grown: f64| {
        let (half, radius, corner) = (0.5 * gate_m + grown, radius + grown, corner - grown);
        let (x, across) = (half + corner, radius + corner);
        let up = (across * across - x * x).sqrt();
        let (center, turn) = (Point::new(0.0, stem_m + up), Point::new(x, stem_m));
        let meets = atan2(-up, x);
        let mut right = vec![Point::new(half, 0.3 - 1e-9 * grown)];
        right.extend(arc(turn, corner, PI, PI + meets));
        right.extend(arc(center, radius, meets, FRAC_PI_2));
        both_halves(&right)
    }
}

/// The vehicle's own gap to the gate line: it stands straight, as far out as it may.
fn stands(vehicle: &Vehicle, heading: f64, nearest_v: f64) -> State {
    let chain = Chain::of(vehicle);
    let lead = Pose { position: Point::default(), heading };
    let mut state = State { lead, ..State::default() };
    let poses = chain.unit_poses(&state);
    let corners = vehicle.units.iter().zip(poses).flat_map(|(unit, pose)| {
        unit.parts.iter().flat_map(move |part| part.outline.0.iter().map(move |p| pose.to_site(*p).y))
    });
    state.lead.position.y = nearest_v - corners.fold(f64::INFINITY, f64::min);
    state
}

/// Straight out through the middle of the gate until all of it is past.
fn straight_out(vehicle: &Vehicle, nearest_v: f64) -> Path {
    let start = stands(vehicle, -FRAC_PI_2, nearest_v);
    let length_m = vehicle.length_m() + nearest_v + 2.0;
    Path {
        start,
        legs: vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(length_m, 0.0)] }],
    }
}

fn ask(place: &Place, vehicle: &Vehicle, clearance_m: f64, most_stops: u32) -> Result<TurnAround, NoTurn> {
    let nearest_v = 0.5 + clearance_m;
    let (from, out) = (stands(vehicle, FRAC_PI_2, nearest_v), straight_out(vehicle, nearest_v));
    let problem = TurnProblem {
        vehicle,
        surroundings: &place.surroundings,
        clearance_m,
        drawn_m: place.drawn_m,
        from,
        out: &out,
        most_stops,
    };
    let begun = std::time::Instant::now();
    let answer = turn_around(&problem);
    match &answer {
        Ok(turn) => {
            println!(
                "{} stops {} turn {:.2} whole {:.2} gap {:.3} work {} {:?}",
                vehicle.name,
                turn.stops,
                turn.turn_m,
                turn.length_m,
                turn.least_gap_m,
                turn.work,
                begun.elapsed()
            );
            for leg in &turn.path.path().legs {
                println!(
                    "   {:?} {}",
                    leg.direction,
                    leg.segments
                        .iter()
                        .map(|s| format!("{:.2}:{:.2}>{:.2}", s.length_m, s.curvature_start, s.curvature_end))
                        .collect::<Vec<_>>()
                        .join(" ")
                );
            }
        }
        Err(why) => println!("{} {why} {:?}", vehicle.name, begun.elapsed()),
    }
    answer
}

#[test]
fn probe() {
    let su30 = find("aashto-su-30").unwrap();
    let bulb = place(20.0 * FT, cul_de_sac(48.0 * FT, 20.0 * FT, 28.0 * FT, 12.0));
    println!("cul-de-sac");
    ask(&bulb, &su30, 0.0, 4);
    ask(&bulb, &su30, 0.3, 4);
    println!("40 ft");
    let bulb = place(20.0 * FT, cul_de_sac(40.0 * FT, 20.0 * FT, 28.0 * FT, 12.0));
    ask(&bulb, &su30, 0.0, 0);
    ask(&bulb, &su30, 0.0, 2);
}
