//! `study.geojson`: the ground covered, the paths, the posts and the tight places, in the plan's own coordinates.
//!
//! For a plan in longitude and latitude this is RFC 7946 to the letter: WGS 84, no `crs` member, outer rings
//! counterclockwise and holes clockwise, every ring closed, geometries that cross the 180th meridian cut at it; it lies
//! over an aerial photo in any map program. A plan sketched with a tape stays in the sketch's units, and says so in the
//! same `plan` member it was read with.
use super::decimal::{down, nearest, number, up};
use super::degrees::{Steps, ring};
use super::verdict::file_stems;
use super::{clearance_word, drawn_path, layout};
use crate::gate::{standing, swept};
use crate::geometry::{Outline, Point};
use crate::motion::{Chain, Path};
use crate::opening::{Case, Study};
use crate::site::{Arrangement, Faces, Frame, Gate};
use crate::sweep::Envelope;
use geo::Area;
use geo::orient::Direction;
use geo::{Coord, LineString, MultiPolygon, Orient, Polygon};
use geojson::{Feature, FeatureCollection, Geometry, GeometryValue, JsonObject, Position};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Decimals of lengths among the properties: as in results.json.
pub(super) const LENGTH_PLACES: u8 = 4;
/// Points of a path stand no farther apart: on the tightest turn of any vehicle (3 m) the line between two is within
/// 2 mm of the arc.
const PATH_STEP_M: f64 = 0.2;

/// The kinds of geometry, each with the file of its layer.
const LAYERS: [(&str, &str); 3] = [
    ("Point", "study-points.geojson"),
    ("LineString", "study-lines.geojson"),
    ("Polygon", "study-polygons.geojson"),
];

/// The features of study.geojson in layers, one for each kind of geometry that occurs: file names and texts. A program that
/// reads one kind a layer takes them as they are; features keep their ids and properties.
#[must_use]
pub fn geojson_layers(study: &Study) -> Vec<(&'static str, String)> {
    let features = features(study);
    let of = |kind: &str| -> Vec<Feature> {
        let is = |feature: &&Feature| {
            let geometry = feature.geometry.as_ref().map(|geometry| geometry.value.type_name());
            geometry.is_some_and(|name| name.trim_start_matches("Multi") == kind)
        };
        features.iter().filter(is).cloned().collect()
    };
    let layers = LAYERS.map(|(kind, file)| (file, of(kind)));
    layers.into_iter().filter(|(_, of)| !of.is_empty()).map(|(file, of)| (file, written(study, of))).collect()
}

/// study.geojson of a study.
///
/// For each case, in order: the ground the body covers, the wheel tracks, the path of the middle of the lead's rear
/// axle (one line per leg), the posts where that path needs them, and the tight places. Before all cases come the posts
/// as drawn with the leaves standing open and the ground they sweep and, for a gate that may stand anywhere along its line, those at the place where one opening serves all
/// vehicles best. A case without a way in adds nothing.
#[must_use]
pub fn geojson(study: &Study) -> String {
    written(study, features(study))
}

/// All features, each with its id.
fn features(study: &Study) -> Vec<Feature> {
    let frame = study.site.frame;
    let mut features = Vec::new();
    let gate = &study.site.gate;
    let mut as_drawn = JsonObject::new();
    as_drawn.insert("opening_m".to_owned(), number(nearest(gate.opening_m(), LENGTH_PLACES)));
    as_drawn.insert("leaves".to_owned(), json!(arrangement_word(gate.leaves.arrangement)));
    posts(&frame, gate, gate.drawn_faces(), "post as drawn", &as_drawn, &mut features);
    for swing in study.gate.iter().flat_map(|plan| &plan.swings) {
        let about = [
            ("post", json!(swing.side.word())),
            ("reach_deg", number(down(swing.reach_rad.to_degrees(), 1))),
        ];
        for (kind, ring) in
            [("ground a leaf sweeps", swept(gate, swing)), ("leaf standing open", standing(gate, swing))]
        {
            let area = areas(&frame, &[vec![Outline(ring)]]);
            features.extend(area.map(|area| feature("", kind, area, &as_drawn, &about)));
        }
    }
    if let Some(placement) = &study.placement {
        let mut about = JsonObject::new();
        about.insert("clearance".to_owned(), json!(clearance_word(placement.comfortable)));
        about.insert("opening_m".to_owned(), number(up(placement.opening_m, LENGTH_PLACES)));
        posts(&frame, gate, placement.faces_u_m(), "post at the best place", &about, &mut features);
    }
    for (case, stem) in study.cases.iter().zip(file_stems(study)) {
        case_features(study, case, &stem, &mut features);
    }
    features.extend(super::sight_map::features(study));
    name_all(&mut features);
    features
}

/// Features as a file, which says so if they are in the units of a sketch.
fn written(study: &Study, features: Vec<Feature>) -> String {
    let foreign_members = match study.site.frame {
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
    let path = path.path();
    let answer = if comfort { &case.comfortable } else { &case.bare };
    let frame = &study.site.frame;
    let mut common = JsonObject::new();
    let mut put = |key: &str, value: Value| {
        common.insert(key.to_owned(), value);
    };
    put("case", json!(stem));
    put("vehicle", json!(vehicle.name));
    put("title", json!(vehicle.title));
    put("travel", json!(case.travel));
    put("maneuver", json!(case.maneuver.word()));
    let need = |opening: Option<f64>| opening.map_or(Value::Null, |m| number(up(m, LENGTH_PLACES)));
    put("bare_opening_m", need(case.bare.opening_m));
    put("comfortable_opening_m", need(case.comfortable.opening_m));
    put("verdict", json!(case.drawn_gate.word()));
    put("clearance", json!(clearance_word(comfort)));
    put("opening_m", answer.opening_m.map_or(Value::Null, |m| number(up(m, LENGTH_PLACES))));
    let (body, tracks) = (case.covered.body(vehicle, path), case.covered.tires(vehicle, path));
    for (swept, kind) in [(body, "body envelope"), (tracks, "wheel tracks")] {
        // A vehicle file may leave out its tires: there is then nothing to show of them.
        if let Ok(swept) = swept {
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
        let at = Geometry::new(GeometryValue::Point { coordinates: Steps::point(frame, contact.at) });
        features.push(feature(stem, "tight place", at, &common, &more));
    }
}

/// Gives an id to every feature without one: its kind with its case and post, and a number where there are several.
fn name_all(features: &mut [Feature]) {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    let names: Vec<String> = features
        .iter()
        .map(|feature| {
            let word =
                |key: &str| feature.property(key).and_then(Value::as_str).unwrap_or_default().to_owned();
            let name = ["case", "kind", "post"].map(word).join(" ");
            name.split_whitespace().collect::<Vec<_>>().join(" ")
        })
        .collect();
    for (feature, name) in features.iter_mut().zip(&names).filter(|(feature, _)| feature.id.is_none()) {
        let count = counts.entry(name.clone()).or_default();
        *count += 1;
        let several = names.iter().filter(|other| *other == name).count() > 1;
        let id = if several { format!("{name} {count}") } else { name.clone() };
        feature.id = Some(geojson::feature::Id::String(id));
    }
}

/// The leaves of a gate in a word or two.
const fn arrangement_word(arrangement: Arrangement) -> &'static str {
    match arrangement {
        Arrangement::None => "none",
        Arrangement::Single(_) => "single",
        Arrangement::Double => "double",
        Arrangement::Slide(_) => "slide",
    }
}

/// A feature. One with properties of its own gets its id with all others ([`name_all`]).
pub(super) fn feature(
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

/// The two posts with their inner faces at these positions.
fn posts(
    frame: &Frame,
    gate: &Gate,
    Faces { left, right }: Faces,
    kind: &str,
    common: &JsonObject,
    features: &mut Vec<Feature>,
) {
    let (width, half) = (gate.post.width_m, 0.5 * gate.post.depth_m);
    for (name, from, to) in [("left", left - width, left), ("right", right, right + width)] {
        let corners = [(from, -half), (to, -half), (to, half), (from, half)];
        let outline = Outline(corners.map(|(u, v)| gate.to_site(Point::new(u, v))).to_vec());
        let Some(area) = areas(frame, &[vec![outline]]) else { continue };
        features.push(feature("", kind, area, common, &[("post", json!(name))]));
    }
}

/// Polygons of ground covered; `None` if there are none.
fn ground(frame: &Frame, swept: &Envelope) -> Option<Geometry> {
    areas(frame, &swept.rings())
}

/// Polygons, each an outer ring and its holes.
pub(super) fn areas(frame: &Frame, polygons: &[Vec<Outline>]) -> Option<Geometry> {
    let steps = Steps::about(frame, *polygons.first()?.first()?.0.first()?);
    let line = |ring: &Outline| LineString::new(ring.0.iter().map(|p| steps.coord(*p)).collect());
    let polygon = |rings: &Vec<Outline>| Polygon::new(line(&rings[0]), rings[1..].iter().map(line).collect());
    let polygons = MultiPolygon::new(polygons.iter().map(polygon).collect());
    let mut written: Vec<Vec<Vec<Position>>> = Vec::new();
    for (part, turns) in steps.sound(polygons) {
        // Outer rings counterclockwise, holes clockwise: the right-hand rule of RFC 7946.
        for p in &part.orient(Direction::Default) {
            // Rounding may leave a ring without ground inside: too few corners, or all of them in a line.
            let flat = |line: &LineString<f64>| Polygon::new(line.clone(), Vec::new()).unsigned_area() == 0.0;
            let outer = ring(&steps, p.exterior(), turns);
            if outer.len() > 3 && !flat(p.exterior()) {
                let holes = p.interiors().iter().filter(|line| !flat(line));
                let holes = holes.map(|line| ring(&steps, line, turns));
                written.push(std::iter::once(outer).chain(holes.filter(|r| r.len() > 3)).collect());
            }
        }
    }
    match written.len() {
        0 => None,
        1 => Some(Geometry::new(GeometryValue::Polygon { coordinates: written.swap_remove(0) })),
        _ => Some(Geometry::new(GeometryValue::MultiPolygon { coordinates: written })),
    }
}

/// A line; in pieces where it crosses the 180th meridian.
pub(super) fn line_of(frame: &Frame, line: &[Point]) -> Option<Geometry> {
    let steps = Steps::about(frame, *line.first()?);
    let line: Vec<Coord> = line.iter().map(|p| steps.coord(*p)).collect();
    let mut lines: Vec<Vec<Position>> = steps.pieces(&line);
    match lines.len() {
        0 => None,
        1 => Some(Geometry::new(GeometryValue::LineString { coordinates: lines.swap_remove(0) })),
        _ => Some(Geometry::new(GeometryValue::MultiLineString { coordinates: lines })),
    }
}

/// The way of the middle of the lead's rear axle, a line per leg.
fn way(frame: &Frame, path: &Path, chain: &Chain) -> Option<Geometry> {
    let samples = path.samples(chain, PATH_STEP_M);
    let steps = Steps::about(frame, samples.first()?.state.lead.position);
    let mut lines: Vec<Vec<Position>> = Vec::new();
    for leg in 0..path.legs.len() {
        let of_leg = samples.iter().filter(|s| s.leg == leg);
        let line: Vec<Coord> = of_leg.map(|s| steps.coord(s.state.lead.position)).collect();
        lines.extend(steps.pieces(&line));
    }
    match lines.len() {
        0 => None,
        1 => Some(Geometry::new(GeometryValue::LineString { coordinates: lines.swap_remove(0) })),
        _ => Some(Geometry::new(GeometryValue::MultiLineString { coordinates: lines })),
    }
}
