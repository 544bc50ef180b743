//! `study.geojson`: the ground covered, the ways, the posts and the tight places, in the plan's own coordinates.
//!
//! For a plan in longitude and latitude this is RFC 7946 to the letter: WGS 84, no `crs` member, outer rings
//! counterclockwise and holes clockwise, every ring closed; it lies over an aerial photo in any map program. A plan
//! sketched with a tape stays in the sketch's units, and says so in the same `plan` member it was read with.
use super::decimal::{down, nearest, number, up};
use super::verdict::file_stems;
use super::{clearance_word, drawn_path, layout};
use crate::geometry::{Outline, Point};
use crate::motion::{Chain, Path};
use crate::opening::{Case, Study};
use crate::site::{Frame, Gate};
use crate::sweep::{Cover, DRAWING_TOLERANCE_M, Envelope, envelope};
use geo::orient::Direction;
use geo::{BooleanOps, Coord, LineString, MapCoords, MultiPolygon, Orient, Polygon, Validation};
use geojson::{Feature, FeatureCollection, Geometry, GeometryValue, JsonObject, Position};
use serde_json::{Value, json};

/// Decimals of a degree: 1.1 mm of latitude, and what is computed on another machine rounds to the same.
const DEGREE_PLACES: u8 = 8;
/// Decimals of a meter or foot of a sketch.
const SKETCH_PLACES: u8 = 3;
/// Decimals of lengths among the properties: as in results.json.
const LENGTH_PLACES: u8 = 4;
/// Points of a path stand no farther apart: on the tightest turn of any vehicle (3 m) the line between two is within
/// 2 mm of the arc.
const PATH_STEP_M: f64 = 0.2;

/// How often a ground is mended at most; each time what is left to mend is smaller, and twice has always been enough.
const MOST_MENDING: u32 = 6;

/// study.geojson of a study.
///
/// Of each case, in order: the ground the body covers, the wheel tracks, the way of the middle of the lead's rear
/// axle (one line per leg), the posts where that way needs them, and the tight places. First of all the posts as
/// drawn. A case without a way in has nothing to show.
#[must_use]
pub fn geojson(study: &Study) -> String {
    let frame = study.site.frame;
    let mut features = Vec::new();
    let gate = &study.site.gate;
    let half = 0.5 * gate.opening_m();
    posts(&frame, gate, (-half, half), "post as drawn", &JsonObject::new(), &mut features);
    for (case, stem) in study.cases.iter().zip(file_stems(study)) {
        case_features(study, case, &stem, &mut features);
    }
    let foreign_members = match frame {
        Frame::LonLat { .. } => None,
        Frame::Local { meters_per_unit } => {
            let word = if meters_per_unit == 1.0 { "local-m" } else { "local-ft" };
            json!({ "plan": { "title": study.site.title, "coordinates": word } }).as_object().cloned()
        }
    };
    let collection = FeatureCollection { bbox: None, features, foreign_members };
    layout::pretty(&json!(collection))
}

fn case_features(study: &Study, case: &Case, stem: &str, features: &mut Vec<Feature>) {
    let (Some((comfort, path)), Some(vehicle)) = (drawn_path(case), study.vehicles.get(case.vehicle)) else {
        return;
    };
    let answer = if comfort { &case.comfortable } else { &case.bare };
    let frame = &study.site.frame;
    let mut common = JsonObject::new();
    let mut put = |key: &str, value: Value| {
        common.insert(key.to_owned(), value);
    };
    put("case", json!(stem));
    put("vehicle", json!(vehicle.name));
    put("travel", json!(case.travel));
    put("maneuver", json!(case.maneuver.word()));
    put("clearance", json!(clearance_word(comfort)));
    put("opening_m", answer.opening_m.map_or(Value::Null, |m| number(up(m, LENGTH_PLACES))));
    for (cover, kind) in [(Cover::Body, "body envelope"), (Cover::Tires, "wheel tracks")] {
        // A vehicle file may leave out its tires: then there is nothing to show of them.
        if let Ok(swept) = envelope(vehicle, path, cover, DRAWING_TOLERANCE_M) {
            features.extend(ground(frame, &swept).map(|g| feature(stem, kind, g, &common, &[])));
        }
    }
    features.extend(way(frame, path, &Chain::of(vehicle)).map(|g| feature(stem, "path", g, &common, &[])));
    if let Some(faces) = answer.faces_u_m {
        posts(frame, &study.site.gate, faces, "post as needed", &common, features);
    }
    for contact in &case.contacts {
        let more = [
            ("what", json!(contact.what)),
            ("part", json!(contact.part)),
            ("gap_m", number(down(contact.gap_m, LENGTH_PLACES))),
        ];
        let at = Geometry::new(GeometryValue::Point { coordinates: position(frame, contact.at) });
        features.push(feature(stem, "tight place", at, &common, &more));
    }
}

/// A feature; its id is unlike any other's but for the tight places of a case, which have none.
fn feature(
    stem: &str,
    kind: &str,
    geometry: Geometry,
    common: &JsonObject,
    more: &[(&str, Value)],
) -> Feature {
    let mut properties = JsonObject::new();
    properties.insert("kind".to_owned(), json!(kind));
    properties.extend(common.clone());
    properties.extend(more.iter().map(|(key, value)| ((*key).to_owned(), value.clone())));
    let id = more.is_empty().then(|| geojson::feature::Id::String(format!("{stem} {kind}")));
    Feature { bbox: None, geometry: Some(geometry), id, properties: Some(properties), foreign_members: None }
}

/// The two posts with their inner faces here.
fn posts(
    frame: &Frame,
    gate: &Gate,
    (left, right): (f64, f64),
    kind: &str,
    common: &JsonObject,
    features: &mut Vec<Feature>,
) {
    let (width, half) = (gate.post.width_m, 0.5 * gate.post.depth_m);
    for (name, from, to) in [("left", left - width, left), ("right", right, right + width)] {
        let corners = [(from, -half), (to, -half), (to, half), (from, half)];
        let ring = Outline(corners.map(|(u, v)| gate.to_site(Point::new(u, v))).to_vec());
        let ring = ring.counterclockwise().0;
        let ring = ring.iter().chain(ring.first()).map(|p| position(frame, *p)).collect();
        let area = Geometry::new(GeometryValue::Polygon { coordinates: vec![ring] });
        features.push(feature("", kind, area, common, &[("post", json!(name))]));
    }
}

/// Polygons of ground covered; nothing if there are none.
///
/// Rounding to the millimeter makes rings cross themselves where two sides run closer than that. They are then joined
/// anew and rounded again, which takes away such slivers, until they are sound.
fn ground(frame: &Frame, swept: &Envelope) -> Option<Geometry> {
    let places = places(frame);
    let step = (0..places).fold(1.0, |step, _| step / 10.0);
    let origin = frame.to_plan(swept.rings().first()?.first()?.0.first().copied()?);
    // In steps of the last decimal from a corner of its own: near zero a union's grid is as fine as it can be.
    let coord = |p: &Point| {
        let plan = frame.to_plan(*p);
        Coord { x: ((plan[0] - origin[0]) / step).round(), y: ((plan[1] - origin[1]) / step).round() }
    };
    let line = |ring: &Outline| LineString::new(ring.0.iter().map(coord).collect());
    let polygon = |rings: &Vec<Outline>| Polygon::new(line(&rings[0]), rings[1..].iter().map(line).collect());
    let mut polygons = MultiPolygon::new(swept.rings().iter().map(polygon).collect());
    for _ in 0..MOST_MENDING {
        if polygons.is_valid() {
            break;
        }
        polygons = polygons
            .union(&MultiPolygon::new(Vec::new()))
            .map_coords(|c| Coord { x: c.x.round(), y: c.y.round() });
    }
    let position = |c: &Coord<f64>| {
        Position::from([nearest(origin[0] + c.x * step, places), nearest(origin[1] + c.y * step, places)])
    };
    // Outer rings counterclockwise, holes clockwise: the right-hand rule of RFC 7946.
    let polygons = polygons.orient(Direction::Default);
    let ring = |line: &LineString<f64>| {
        let mut ring: Vec<Position> = line.0.iter().map(position).collect();
        ring.dedup();
        ring
    };
    let mut polygons: Vec<Vec<Vec<Position>>> = polygons
        .iter()
        .map(|p| {
            std::iter::once(p.exterior()).chain(p.interiors()).map(ring).filter(|r| r.len() > 3).collect()
        })
        .filter(|rings: &Vec<_>| !rings.is_empty())
        .collect();
    match polygons.len() {
        0 => None,
        1 => Some(Geometry::new(GeometryValue::Polygon { coordinates: polygons.swap_remove(0) })),
        _ => Some(Geometry::new(GeometryValue::MultiPolygon { coordinates: polygons })),
    }
}

/// The way of the middle of the lead's rear axle, a line per leg.
fn way(frame: &Frame, path: &Path, chain: &Chain) -> Option<Geometry> {
    let samples = path.samples(chain, PATH_STEP_M);
    let mut lines: Vec<Vec<Position>> = Vec::new();
    for leg in 0..path.legs.len() {
        let of_leg = samples.iter().filter(|s| s.leg == leg);
        let mut line: Vec<Position> = of_leg.map(|s| position(frame, s.state.lead.position)).collect();
        line.dedup();
        if line.len() > 1 {
            lines.push(line);
        }
    }
    match lines.len() {
        0 => None,
        1 => Some(Geometry::new(GeometryValue::LineString { coordinates: lines.swap_remove(0) })),
        _ => Some(Geometry::new(GeometryValue::MultiLineString { coordinates: lines })),
    }
}

const fn places(frame: &Frame) -> u8 {
    match frame {
        Frame::LonLat { .. } => DEGREE_PLACES,
        Frame::Local { .. } => SKETCH_PLACES,
    }
}

fn position(frame: &Frame, p: Point) -> Position {
    frame.to_plan(p).map(|c| nearest(c, places(frame))).into()
}
