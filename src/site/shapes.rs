//! GeoJSON geometries: checks them number by number, then turns them into lines and rings in site meters.
use super::fault::{Notes, Who};
use super::lines::{SAME_POINT_M, covers, segments_cross, segments_meet, self_meetings};
use super::read::Raw;
use super::{Frame, Ground};
use crate::geometry::json_place::nearest;
use crate::geometry::{Outline, Point};
use geojson::{GeometryValue, Position};
use serde_json::Value;

/// A site reaches at most this far from its gate: far beyond any approach, and a sketch read as degrees by
/// mistake is thousands of kilometers wide.
pub(super) const MAX_REACH_M: f64 = 5_000.0;

/// Largest latitude: within 11 km of a pole the ground a vehicle covers may go around it, which no GeoJSON polygon can
/// describe.
const MOST_LATITUDE_DEG: f64 = 89.9;

/// Southern limit of latitude. Nobody builds a driveway gate farther south, but the longitudes of half of North
/// America, written in the place of latitudes, lie there.
const ANTARCTICA_DEG: f64 = -60.0;

/// Smallest sketch, in its own units: a gate alone is wider than a meter, while a whole site in degrees is about a
/// thousandth across.
const MIN_SKETCH: f64 = 1.0;

/// Most points in one line or ring: more make checks slow, and trace noise.
const MAX_POINTS: usize = 5_000;

/// Crossings named in one ring; more of them add no information.
const CROSSINGS_NAMED: usize = 5;

/// A place in a geometry: its JSON pointer, and its description in words.
#[derive(Clone, Debug)]
pub(super) struct At {
    pub(super) pointer: String,
    pub(super) part: String,
}

impl At {
    pub(super) fn coordinates() -> Self {
        Self { pointer: "/geometry/coordinates".to_owned(), part: String::new() }
    }

    /// The place of one of `count` parts below this one; a lone ring or line needs no number.
    pub(super) fn down(&self, name: &str, index: usize, count: usize) -> Self {
        let pointer = format!("{}/{index}", self.pointer);
        let own = if count == 1 && name != "point" { String::new() } else { format!("{name} {}", index + 1) };
        let part = match (self.part.is_empty(), own.is_empty()) {
            (true, _) => own,
            (false, true) => self.part.clone(),
            (false, false) => format!("{}, {own}", self.part),
        };
        Self { pointer, part }
    }

    pub(super) fn point(&self, index: usize) -> Self {
        self.down("point", index, 0)
    }
}

/// The supported geometries, and the meaning of their nested lists, outermost first.
const KINDS: [(&str, &[&str]); 6] = [
    ("Point", &[]),
    ("MultiPoint", &["point"]),
    ("LineString", &["point"]),
    ("MultiLineString", &["line", "point"]),
    ("Polygon", &["ring", "point"]),
    ("MultiPolygon", &["polygon", "ring", "point"]),
];

/// True if a geometry has a known type and every coordinate in it is a number; faults are noted.
pub(super) fn check_positions(geometry: &Value, who: &Who, notes: &mut Notes) -> bool {
    let kind = geometry.get("type").and_then(Value::as_str).unwrap_or_default();
    if kind == "GeometryCollection" {
        notes.fault(
            who,
            "/geometry",
            "geometry",
            "a GeometryCollection is not read; make each part its own feature",
        );
        return false;
    }
    let Some((_, names)) = KINDS.iter().find(|(name, _)| *name == kind) else {
        let all = KINDS.map(|(name, _)| name);
        let hint = match nearest(kind, all) {
            Some(name) => format!("; did you mean \"{name}\"?"),
            None => format!("; use {}", all.join(", ")),
        };
        notes.fault(who, "/geometry/type", "geometry", format!("\"{kind}\" is not a type of geometry{hint}"));
        return false;
    };
    match geometry.get("coordinates") {
        Some(coordinates) => {
            let before = notes.faults.len();
            check_level(coordinates, names, &At::coordinates(), who, notes);
            notes.faults.len() == before
        }
        None => {
            notes.fault(who, "/geometry", "geometry", "\"coordinates\" is missing");
            false
        }
    }
}

fn check_level(value: &Value, names: &[&str], at: &At, who: &Who, notes: &mut Notes) {
    let Some(list) = value.as_array() else {
        let what = if names.is_empty() { "a position, like [x, y]" } else { "a list of positions" };
        notes.fault(who, &at.pointer, &at.part, format!("{value} is not {what}"));
        return;
    };
    if let Some((name, rest)) = names.split_first() {
        if *name == "point" && list.len() > MAX_POINTS {
            let count = list.len();
            let message = format!("{count} points are too many (at most {MAX_POINTS}); simplify it");
            notes.fault(who, &at.pointer, &at.part, message);
            return;
        }
        for (i, item) in list.iter().enumerate() {
            check_level(item, rest, &at.down(name, i, list.len()), who, notes);
        }
        return;
    }
    if list.len() < 2 {
        notes.fault(
            who,
            &at.pointer,
            &at.part,
            format!("{value} is not a position; it needs two numbers, [x, y]"),
        );
        return;
    }
    // A height may follow; it has no meaning on a ground plan.
    for (i, number) in list.iter().take(2).enumerate() {
        if number.as_f64().is_none_or(|n| !n.is_finite()) {
            let place = format!("{}/{i}", at.pointer);
            notes.fault(
                who,
                &place,
                &at.part,
                format!("{number} is not a number; write the true coordinate"),
            );
        }
    }
}

/// The plan coordinates of a position; [`check_positions`] has made sure that there are two.
pub(super) fn plain(position: &Position) -> [f64; 2] {
    let numbers = position.as_slice();
    [numbers.first().copied().unwrap_or_default(), numbers.get(1).copied().unwrap_or_default()]
}

/// The action at each position; the place is built only when it is needed.
type Visit<'v> = dyn FnMut(&dyn Fn() -> At, [f64; 2]) + 'v;

/// Every position with its place.
fn walk(shape: &GeometryValue, visit: &mut Visit) {
    let top = At::coordinates();
    let list = |line: &[Position], at: &At, visit: &mut Visit| {
        for (i, position) in line.iter().enumerate() {
            visit(&|| at.point(i), plain(position));
        }
    };
    match shape {
        GeometryValue::Point { coordinates } => visit(&|| top.clone(), plain(coordinates)),
        GeometryValue::MultiPoint { coordinates } | GeometryValue::LineString { coordinates } => {
            list(coordinates, &top, visit);
        }
        GeometryValue::MultiLineString { coordinates } => {
            for (i, line) in coordinates.iter().enumerate() {
                list(line, &top.down("line", i, coordinates.len()), visit);
            }
        }
        GeometryValue::Polygon { coordinates } => {
            for (i, ring) in coordinates.iter().enumerate() {
                list(ring, &top.down("ring", i, coordinates.len()), visit);
            }
        }
        GeometryValue::MultiPolygon { coordinates } => {
            for (i, polygon) in coordinates.iter().enumerate() {
                let at = top.down("polygon", i, coordinates.len());
                for (j, ring) in polygon.iter().enumerate() {
                    list(ring, &at.down("ring", j, polygon.len()), visit);
                }
            }
        }
        GeometryValue::GeometryCollection { .. } => {}
    }
}

/// All plan coordinates of a geometry.
pub(super) fn positions(shape: &GeometryValue) -> Vec<[f64; 2]> {
    let mut all = Vec::new();
    walk(shape, &mut |_, position| all.push(position));
    all
}

/// True if the coordinates contradict the plan's kind of coordinates: degrees in a sketch, meters taken for degrees,
/// places far from the gate. Shapes and distances then mean nothing.
pub(super) fn outside_frame(frame: &Frame, raw: &[Raw], notes: &mut Notes) -> bool {
    let all: Vec<[f64; 2]> = raw.iter().flat_map(|feature| positions(&feature.shape)).collect();
    let Some(first) = raw.first() else { return false };
    let lonlat = matches!(frame, Frame::LonLat { .. });
    let not_degrees = |[x, y]: [f64; 2]| x.abs() > 180.0 || y.abs() > 90.0;
    let sketch =
        "for a sketch in feet or meters say \"coordinates\": \"local-ft\" or \"local-m\" in \"plan\"";
    if lonlat && all.iter().any(|p| not_degrees(*p)) {
        let swapped = all.iter().all(|[x, y]| x.abs() <= 90.0 && y.abs() <= 180.0);
        note_places(raw, notes, &not_degrees, &|[x, y]| {
            if swapped {
                format!(
                    "latitude {y} is not between -90 and 90; longitude comes first in GeoJSON: [{y}, {x}]"
                )
            } else if x.abs() <= 180.0 && y.abs() <= 180.0 {
                format!("latitude {y} is not between -90 and 90")
            } else {
                format!("[{x}, {y}] is not longitude and latitude in degrees; {sketch}")
            }
        });
        return true;
    }
    let at_a_pole = |[_, y]: [f64; 2]| y.abs() > MOST_LATITUDE_DEG;
    if lonlat && all.iter().any(|p| at_a_pole(*p)) {
        note_places(raw, notes, &at_a_pole, &|[_, y]| {
            format!("latitude {y} is at a pole, where longitudes run together; {sketch}")
        });
        return true;
    }
    if lonlat && all.iter().all(|[x, y]| *y < ANTARCTICA_DEG && x.abs() <= 90.0) {
        // A road with its latitude first is as well formed as any, and all its lengths are wrong.
        let [x, y] = all[0];
        let message = format!(
            "latitude {y} is in Antarctica; longitude comes first in GeoJSON: if the place is at latitude {x}, write [{y}, {x}]"
        );
        notes.warn(&first.who, "/geometry/coordinates", "", message);
    }
    let spread = |axis: usize| {
        let (low, high) = all
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p[axis]), high.max(p[axis])));
        high - low
    };
    let across = spread(0).max(spread(1));
    if !lonlat && all.len() > 1 && across < MIN_SKETCH {
        let across = (across * 1e6).round() / 1e6;
        let message = format!(
            "the whole sketch is {across} units across, so these look like degrees; for longitude and latitude \
             leave \"coordinates\" out of \"plan\""
        );
        notes.fault(&first.who, "/geometry/coordinates", "", message);
        return true;
    }
    let gate =
        raw.iter().find(|feature| matches!(feature.words, super::read::Words::Gate(_))).unwrap_or(first);
    let Some(center) = positions(&gate.shape).first().map(|p| frame.to_site(*p)) else { return false };
    let far = |p: [f64; 2]| frame.to_site(p).distance(center) > MAX_REACH_M;
    if !all.iter().any(|p| far(*p)) {
        return false;
    }
    note_places(raw, notes, &far, &|p| {
        let kilometers = frame.to_site(p).distance(center) / 1000.0;
        let advice = if lonlat { format!("; {sketch}") } else { String::new() };
        format!(
            "is {kilometers:.0} km from the gate; a site reaches at most {:.0} km{advice}",
            MAX_REACH_M / 1000.0
        )
    });
    true
}

/// Reports one fault, at the first bad place, with the number of the others.
fn note_places(
    raw: &[Raw],
    notes: &mut Notes,
    bad: &dyn Fn([f64; 2]) -> bool,
    message: &dyn Fn([f64; 2]) -> String,
) {
    let mut first: Option<(&Who, At, [f64; 2])> = None;
    let mut count = 0_usize;
    for feature in raw {
        walk(&feature.shape, &mut |at, position| {
            if bad(position) {
                count += 1;
                if first.is_none() {
                    first = Some((&feature.who, at(), position));
                }
            }
        });
    }
    if let Some((who, at, position)) = first {
        let more = match count {
            1 => String::new(),
            2 => " (so is 1 more point)".to_owned(),
            _ => format!(" (so are {} more points)", count - 1),
        };
        notes.fault(who, &at.pointer, &at.part, format!("{}{more}", message(position)));
    }
}

/// A line in site meters; points that repeat the one before are left out with a warning. `None` (with a fault) if
/// fewer than two are left.
pub(super) fn line(
    positions: &[Position],
    at: &At,
    who: &Who,
    frame: &Frame,
    notes: &mut Notes,
) -> Option<Vec<Point>> {
    let (points, _) = distinct(positions, at, who, frame, notes);
    if points.len() < 2 {
        notes.fault(who, &at.pointer, &at.part, "a line needs two different points or more");
        return None;
    }
    Some(points)
}

/// The points of a line, each with its place in the file's list.
fn distinct(
    positions: &[Position],
    at: &At,
    who: &Who,
    frame: &Frame,
    notes: &mut Notes,
) -> (Vec<Point>, Vec<usize>) {
    let mut points: Vec<Point> = Vec::with_capacity(positions.len());
    let mut origin = Vec::with_capacity(positions.len());
    for (i, position) in positions.iter().enumerate() {
        let point = frame.to_site(plain(position));
        if points.last().is_some_and(|last| last.distance(point) < SAME_POINT_M) {
            let at = at.point(i);
            notes.warn(who, &at.pointer, &at.part, format!("repeats point {}; left out", i));
            continue;
        }
        points.push(point);
        origin.push(i);
    }
    (points, origin)
}

/// A polygon's ground in site meters, every ring simple and counterclockwise; `None`, with faults, if it has none.
pub(super) fn ground(
    rings: &[Vec<Position>],
    at: &At,
    who: &Who,
    frame: &Frame,
    notes: &mut Notes,
) -> Option<Ground> {
    if rings.is_empty() {
        notes.fault(who, &at.pointer, &at.part, "the polygon has no ring");
        return None;
    }
    let outlines: Vec<Option<Outline>> = rings
        .iter()
        .enumerate()
        .map(|(i, positions)| ring(positions, &at.down("ring", i, rings.len()), who, frame, notes))
        .collect();
    let mut outlines = outlines.into_iter().collect::<Option<Vec<Outline>>>()?.into_iter();
    let ground = Ground { label: String::new(), outer: outlines.next()?, holes: outlines.collect() };
    holes_inside(&ground, at, who, notes).then_some(ground)
}

fn ring(positions: &[Position], at: &At, who: &Who, frame: &Frame, notes: &mut Notes) -> Option<Outline> {
    let (mut points, origin) = distinct(positions, at, who, frame, notes);
    let closed = points.len() > 1 && points[0].distance(points[points.len() - 1]) < SAME_POINT_M;
    if closed {
        points.pop();
    } else if let [_, .., last] = positions {
        let (first, place) = (plain(&positions[0]), at.point(positions.len() - 1));
        let gap = frame.to_site(first).distance(frame.to_site(plain(last)));
        let message = format!(
            "the ring is not closed: its last point is {} from its first; end it with [{}, {}]",
            notes.length(gap),
            first[0],
            first[1]
        );
        notes.fault(who, &place.pointer, &place.part, message);
    }
    if points.len() < 3 {
        notes.fault(
            who,
            &at.pointer,
            &at.part,
            "a ring needs three different points or more, and the first again at its end",
        );
        return None;
    }
    if flat(&points) {
        notes.fault(who, &at.pointer, &at.part, "the ring has no area: its points lie on one line");
        return None;
    }
    let meetings = self_meetings(&points, CROSSINGS_NAMED);
    for (i, j) in &meetings {
        let at = at.point(origin[*i]);
        let next = |k: usize| origin.get(k + 1).map_or(1, |n| n + 1);
        let corner = |k: usize| points[k % points.len()];
        let crossing = segments_cross(corner(*i), corner(i + 1), corner(*j), corner(j + 1));
        let message = format!(
            "the edge from here {} edge {}-{} of its own ring; outlines may touch others, not themselves",
            if crossing { "crosses" } else { "touches" },
            origin[*j] + 1,
            next(*j)
        );
        notes.fault(who, &at.pointer, &at.part, message);
    }
    (closed && meetings.is_empty()).then(|| Outline(points).counterclockwise())
}

/// True if all points lie on one line, to a tenth of a millimeter.
fn flat(points: &[Point]) -> bool {
    let Some(first) = points.first() else { return true };
    let far = points.iter().copied().max_by(|p, q| p.distance(*first).total_cmp(&q.distance(*first)));
    let Some(along) = far.and_then(|far| (far - *first).unit()) else { return true };
    points.iter().all(|p| along.cross(*p - *first).abs() < SAME_POINT_M)
}

fn holes_inside(ground: &Ground, at: &At, who: &Who, notes: &mut Notes) -> bool {
    let outer = Ground { label: String::new(), outer: ground.outer.clone(), holes: Vec::new() };
    let mut good = true;
    for (i, hole) in ground.holes.iter().enumerate() {
        let outside = hole.0.iter().any(|p| !covers(&outer, *p));
        let crosses = hole.edges().any(|(a, b)| ground.outer.edges().any(|(c, d)| segments_meet(a, b, c, d)));
        if outside || crosses {
            let at = at.down("ring", i + 1, ground.holes.len() + 1);
            notes.fault(who, &at.pointer, &at.part, "a hole must lie wholly inside the first ring");
            good = false;
        }
    }
    good
}
