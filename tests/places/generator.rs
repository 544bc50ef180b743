//! Generator of random site plans as GeoJSON text, and the changes of a plan under which its answers are known to stay
//! or not to get worse. A seed gives the same plan on every machine.
use super::common::random::Random;
use super::vehicles;
use serde_json::{Value, json};
use std::f64::consts::PI;
use wideenough::geometry::Point;
use wideenough::site::{self, Frame, Side, Site};

/// Kinds of road in front of the gate.
pub const KINDS: [&str; 9] =
    ["across", "leading", "oblique", "dead end", "cul-de-sac", "junction T", "junction Y", "bend", "curve"];

/// Vehicles requested in plans, the nimble ones more often.
const VEHICLES: [&str; 8] = [
    "car",
    "pickup",
    "pickup",
    "box-truck-16",
    "box-truck-16",
    "box-truck-26",
    "pickup-bumper-pull-20",
    "gooseneck-horse-40",
];

/// A generated plan.
#[derive(Clone)]
pub struct Place {
    pub seed: u64,
    pub kind: &'static str,
    pub plan: Value,
}

/// Direction of a place's axes after a change: where the x and y axes of the old plan point in the new one.
#[derive(Clone, Copy)]
pub struct Axes(pub Point, pub Point);

impl Axes {
    pub fn turned(self, d: Point) -> Point {
        self.0 * d.x + self.1 * d.y
    }
}

pub const AS_DRAWN: Axes = Axes(Point { x: 1.0, y: 0.0 }, Point { x: 0.0, y: 1.0 });

fn at(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// A direction, as an angle from east.
fn toward(angle: f64) -> Point {
    at(libm::cos(angle), libm::sin(angle))
}

/// A number from one of some ranges.
fn from_one(random: &mut Random, ranges: &[(f64, f64)]) -> f64 {
    let (low, high) = random.pick(ranges);
    random.between(low, high)
}

/// A list of positions.
pub fn coordinates(points: &[Point]) -> Value {
    points.iter().map(|p| json!([p.x, p.y])).collect()
}

/// A feature of GeoJSON.
pub fn feature(properties: Value, kind: &str, coordinates: Value) -> Value {
    json!({ "type": "Feature", "properties": properties,
            "geometry": { "type": kind, "coordinates": coordinates } })
}

/// The coordinates of a polygon without holes.
pub fn ring(points: &[Point]) -> Value {
    let mut closed = points.to_vec();
    closed.push(points[0]);
    json!([coordinates(&closed)])
}

/// The roads of a place as features, and the part in front of the gate: a place on the road's edge and the direction of
/// that edge.
struct Front {
    features: Vec<Value>,
    foot: Point,
    edge: Point,
    /// Reach of the apron to each side of the foot, at most.
    half: f64,
}

/// A road as a feature, drawn in either direction.
fn road(random: &mut Random, mut line: Vec<Point>, width: f64, ends: (bool, bool), own_lane: bool) -> Value {
    let (mut start, mut end) = ends;
    if random.chance(0.5) {
        line.reverse();
        (start, end) = (end, start);
    }
    let continues = match (start, end) {
        (false, false) => "none",
        (true, false) => "start",
        (false, true) => "end",
        (true, true) => "both",
    };
    let mut properties = json!({ "role": "road", "label": "road", "width": width, "continues": continues });
    if own_lane {
        properties["use"] = json!("own-lane");
    }
    feature(properties, "LineString", coordinates(&line))
}

/// The roads of a place whose gate stands at the origin with y inward, `setback` from the road's edge.
fn roads(random: &mut Random, kind: &'static str, setback: f64, width: f64) -> Front {
    let own_lane = random.chance(0.3);
    let y = -(setback + 0.5 * width);
    let (left, right) = (random.between(25.0, 60.0), random.between(25.0, 60.0));
    // Half of the places have their special feature on the left, half on the right.
    let hand = random.pick(&[-1.0, 1.0]);
    let front =
        |features: Vec<Value>| Front { features, foot: at(0.0, -setback), edge: at(1.0, 0.0), half: 9.0 };
    match kind {
        "leading" | "oblique" => {
            let turn = if kind == "oblique" { hand * random.between(10.0, 40.0).to_radians() } else { 0.0 };
            let along = at(libm::sin(turn), libm::cos(turn));
            let end = at(random.between(-0.6, 0.6), 0.0) - along * setback;
            let line = vec![end - along * left.max(35.0), end];
            let own_lane = own_lane && random.chance(0.3);
            let road = road(random, line, width, (true, false), own_lane);
            Front { features: vec![road], foot: end, edge: at(along.y, -along.x), half: 0.5 * width }
        }
        "dead end" => {
            let beyond = hand * random.between(3.0, 14.0);
            let line = vec![at(-hand * left, y), at(beyond, y)];
            front(vec![road(random, line, width, (true, false), own_lane)])
        }
        "cul-de-sac" => {
            let radius = random.between(8.0, 12.0);
            let center = at(hand * random.between(0.0, 25.0), -(setback + radius.max(0.5 * width)));
            let beside = random.chance(0.5);
            // The gate opens on the bulb, or on the road before it.
            let center =
                if beside { at(hand * (radius + random.between(6.0, 14.0)), y) } else { at(0.0, center.y) };
            let line = vec![at(-hand * left.max(35.0), center.y), center];
            let arc = (0..48).map(|i| center + toward(2.0 * PI * f64::from(i) / 48.0) * radius);
            let bulb: Vec<Point> = arc.collect();
            let bulb = feature(json!({ "role": "road", "label": "bulb" }), "Polygon", ring(&bulb));
            front(vec![road(random, line, width, (true, false), false), bulb])
        }
        "junction T" | "junction Y" => {
            let line = vec![at(-left, y), at(right, y)];
            let main = road(random, line, width, (true, true), own_lane);
            let meets = at(random.between(-14.0, 14.0), y);
            let turn =
                if kind == "junction Y" { hand * random.between(25.0, 50.0).to_radians() } else { 0.0 };
            let away = at(libm::sin(turn), -libm::cos(turn));
            let second = vec![meets + away * random.between(25.0, 60.0), meets];
            let second_width = random.between(3.5, 7.0);
            front(vec![main, road(random, second, second_width, (true, false), false)])
        }
        "bend" => {
            let bend = at(hand * random.between(1.0, 15.0), y);
            let turn = random.pick(&[-1.0, 1.0]) * random.between(10.0, 60.0).to_radians();
            let leaves = at(hand * libm::cos(turn), libm::sin(turn));
            let line = vec![at(-hand * left, y), bend, bend + leaves * right];
            front(vec![road(random, line, width, (true, true), own_lane)])
        }
        "curve" => {
            // The middle of the curve lies on the gate's side or on the other.
            let toward_gate = random.chance(0.5);
            let radius = random.between(20.0, 60.0);
            let center = if toward_gate { at(0.0, y + radius) } else { at(0.0, y - radius) };
            let middle = if toward_gate { -0.5 * PI } else { 0.5 * PI };
            let reach = (0.5 * (left + right) / radius).min(1.2);
            let count = 24;
            let line = (0..=count).map(|i| {
                let share = f64::from(2 * i - count) / f64::from(count);
                center + toward(middle + reach * share + 0.01) * radius
            });
            let line: Vec<Point> = line.collect();
            front(vec![road(random, line, width, (true, true), own_lane)])
        }
        _ => {
            let line = vec![at(-left, y), at(right, y)];
            front(vec![road(random, line, width, (true, true), own_lane)])
        }
    }
}

/// Obstacles around the gate: fences in its line, trees, a pole, a wall or a ditch across the road.
fn things(
    random: &mut Random,
    front: &Front,
    gate: (Point, Point, f64),
    clear: f64,
    width: f64,
) -> Vec<Value> {
    let (along, inward, half) = gate;
    let mut list = Vec::new();
    for sign in [-1.0, 1.0] {
        if random.chance(0.7) {
            let near = half + random.pick(&[0.0, 0.12, 0.3]);
            let far = near + clear.min(random.between(1.0, 25.0));
            let mut line = vec![along * (sign * near), along * (sign * far)];
            if random.chance(0.2) {
                line.push(along * (sign * (far + 1.0)) + inward * random.between(2.0, 6.0));
            }
            let properties =
                json!({ "role": "fence", "label": "fence", "thickness": random.between(0.05, 0.3) });
            list.push(feature(properties, "LineString", coordinates(&line)));
        }
    }
    // Beyond the road, along its far edge.
    let out = at(-front.edge.y, front.edge.x);
    let out = if out.dot(inward) > 0.0 { -out } else { out };
    if front.half > 8.0 && random.chance(0.4) {
        let off = front.foot + out * (width + random.between(0.1, 1.5));
        let reach = random.between(6.0, 25.0);
        let line = [off - front.edge * reach, off + front.edge * reach];
        let (label, top) = random.pick(&[("wall", 2.0), ("wall", 0.8), ("ditch", 0.0)]);
        let properties = json!({ "role": "obstacle", "label": label, "top": top, "thickness": 0.3 });
        list.push(feature(properties, "LineString", coordinates(&line)));
    }
    for label in ["tree", "pole", "post box", "limb"] {
        if random.chance(0.35) {
            let sign = random.pick(&[-1.0, 1.0]);
            let v = from_one(random, &[(-0.8, -0.1), (2.0, 14.0)]);
            let u = sign * (half + random.between(1.0, 6.0));
            // Between road and gate or inside.
            let spot = if v < 0.0 { front.foot * (-v) + along * u } else { along * u + inward * v };
            let mut properties =
                json!({ "role": "obstacle", "label": label, "radius": random.between(0.08, 0.4) });
            match label {
                "post box" => properties["top"] = json!(1.1),
                "limb" => properties["bottom"] = json!(random.between(2.0, 3.5)),
                _ => {}
            }
            list.push(feature(properties, "Point", json!([spot.x, spot.y])));
        }
    }
    list
}

/// One draw of a plan; it may be no sound plan.
fn drawn(seed: u64, kind: &'static str) -> Value {
    let mut random = Random(seed);
    let setback = if kind == "leading" || kind == "oblique" {
        random.between(2.0, 6.0)
    } else {
        from_one(&mut random, &[(1.5, 4.0), (4.0, 9.0)])
    };
    let width = from_one(&mut random, &[(3.5, 4.8), (4.9, 6.5), (6.5, 8.0)]);
    let front = roads(&mut random, kind, setback, width);
    let skew = from_one(&mut random, &[(0.0, 0.0), (0.0, 0.0), (-35.0, 35.0)]).to_radians();
    let (along, inward) = (toward(skew), toward(skew + 0.5 * PI));
    let half = 0.5 * random.between(3.0, 6.0);
    let post = random.pick(&[0.1, 0.15, 0.3, 0.5]);
    // Room of the gate line to each side before it may meet the road.
    let clear = if skew.abs() < 0.02 {
        30.0
    } else {
        (0.8 * setback / libm::sin(skew.abs()) - half).clamp(0.0, 30.0)
    };
    let mut features = front.features.clone();
    let mut gate = json!({ "role": "gate", "label": "gate", "post": post,
        "leaves": random.pick(&["double", "double", "single", "slide", "none"]),
        "hinge": random.pick(&["left", "right"]),
        "opens": random.pick(&["in", "in", "out"]),
        "anchor": random.pick(&["center", "center", "center", "left", "right", "free"]) });
    if random.chance(0.3) {
        gate["open_angle_deg"] = json!(random.between(80.0, 120.0));
    }
    features.push(feature(gate, "LineString", coordinates(&[along * -half, along * half])));
    if random.chance(0.6) {
        let inside = random.between(half + 0.5, half + 3.0);
        let yard = inside + random.between(1.0, 15.0);
        let flare = front.half.min(inside + random.between(0.0, 5.0));
        // A little over the edge of the road, so that the two meet.
        let into = at(-front.edge.y, front.edge.x);
        let into = if into.dot(inward) > 0.0 { -into } else { into };
        let foot = front.foot + into * 0.6;
        let [a, b] = [foot - front.edge * flare, foot + front.edge * flare];
        let (a, b) = if a.dot(along) < b.dot(along) { (a, b) } else { (b, a) };
        let inner = |u: f64, v: f64| along * u + inward * v;
        let points = [
            a,
            b,
            inner(inside, 0.0),
            inner(inside, 0.4),
            inner(yard, 0.4),
            inner(yard, 45.0),
            inner(-yard, 45.0),
            inner(-yard, 0.4),
            inner(-inside, 0.4),
            inner(-inside, 0.0),
        ];
        features.push(feature(json!({ "role": "drive", "label": "drive" }), "Polygon", ring(&points)));
    }
    features.extend(things(&mut random, &front, (along, inward, half), clear, width));
    let vehicle = random.pick(&VEHICLES);
    let plan = json!({ "type": "FeatureCollection",
        "plan": { "title": format!("{kind}, seed {seed}"), "coordinates": "local-m", "units": "m",
            "drives_on": random.pick(&["right", "left"]), "vehicles": [vehicle] },
        "features": features });
    // Half of the places lie square to the axes.
    let turn = if random.chance(0.5) { random.between(-180.0, 180.0).to_radians() } else { 0.0 };
    turned(&plan, turn).0
}

/// Reads a plan as the program does.
pub fn read(plan: &Value) -> Result<Site, String> {
    site::read(&plan.to_string(), "place.geojson").map_err(|fault| fault.to_string())
}

/// The plan of a seed: the first sound one of a few draws. Kinds of road take turns.
pub fn place(seed: u64) -> Place {
    let mut kind = KINDS[0];
    for (index, one) in KINDS.iter().enumerate() {
        if seed % 9 == u64::try_from(index).expect("few") {
            kind = one;
        }
    }
    let mut why = String::new();
    for draw in 0..20 {
        let plan = drawn(seed.wrapping_mul(64).wrapping_add(draw), kind);
        match read(&plan) {
            Ok(_) => return Place { seed, kind, plan },
            Err(fault) => why = fault,
        }
    }
    panic!("seed {seed}: no sound plan of the kind \"{kind}\" in 20 draws; the last: {why}");
}

/// The same place with a random vehicle in place of its own.
pub fn with_random_vehicle(place: Place) -> Place {
    let mut place = place;
    place.plan["plan"]["vehicles"] = json!([vehicles::name(place.seed)]);
    place
}

/// The plan with every position changed by a function.
fn moved(plan: &Value, change: &dyn Fn(Point) -> [f64; 2]) -> Value {
    fn walk(value: &mut Value, change: &dyn Fn(Point) -> [f64; 2]) {
        let Some(list) = value.as_array_mut() else { return };
        if let [x, y] = list.as_slice()
            && let (Some(x), Some(y)) = (x.as_f64(), y.as_f64())
        {
            *value = json!(change(at(x, y)));
            return;
        }
        list.iter_mut().for_each(|one| walk(one, change));
    }
    let mut plan = plan.clone();
    for feature in plan["features"].as_array_mut().expect("features") {
        walk(&mut feature["geometry"]["coordinates"], change);
    }
    plan
}

/// Shifted.
pub fn shifted(plan: &Value, by: Point) -> (Value, Axes) {
    (moved(plan, &|p| [p.x + by.x, p.y + by.y]), AS_DRAWN)
}

/// Turned about the origin.
pub fn turned(plan: &Value, angle: f64) -> (Value, Axes) {
    if angle == 0.0 {
        return (plan.clone(), AS_DRAWN);
    }
    let axes = Axes(toward(angle), toward(angle + 0.5 * PI));
    let turn = |p: Point| {
        let p = axes.turned(p);
        [p.x, p.y]
    };
    (moved(plan, &turn), axes)
}

/// Mirrored about the y axis: left and right change places everywhere.
pub fn mirrored(plan: &Value) -> (Value, Axes) {
    let mut plan = moved(plan, &|p| [-p.x, p.y]);
    let swap = |value: &mut Value| match value.as_str() {
        Some("left") => *value = json!("right"),
        Some("right") => *value = json!("left"),
        _ => {}
    };
    swap(&mut plan["plan"]["drives_on"]);
    for feature in plan["features"].as_array_mut().expect("features") {
        for key in ["hinge", "anchor"] {
            if feature["properties"].get(key).is_some() {
                swap(&mut feature["properties"][key]);
            }
        }
        if feature["geometry"]["type"] == "Polygon" {
            for ring in feature["geometry"]["coordinates"].as_array_mut().expect("rings") {
                ring.as_array_mut().expect("a ring").reverse();
            }
        }
    }
    (plan, Axes(at(-1.0, 0.0), at(0.0, 1.0)))
}

/// The plan in longitude and latitude, to ten decimals, with the middle of the gate at this place on Earth.
pub fn in_degrees(plan: &Value, lon_deg: f64, lat_deg: f64) -> (Value, Axes) {
    let gate = role(plan, "gate").next().expect("a gate");
    let line = points(&gate["geometry"]["coordinates"]);
    let middle = (line[0] + line[1]) * 0.5;
    let frame = Frame::LonLat { lon_deg, lat_deg };
    let degrees = |p: Point| frame.to_plan(p - middle).map(|d| (d * 1e10).round() / 1e10);
    let mut plan = moved(plan, &degrees);
    plan["plan"]["coordinates"] = json!("lonlat");
    (plan, AS_DRAWN)
}

/// With roads drawn as their outlines, but for those that continue at one end only; `None` where there are none.
pub fn as_outlines(plan: &Value, site: &Site) -> Option<Value> {
    let mut drawn = plan.clone();
    let mut changed = false;
    for feature in drawn["features"].as_array_mut().expect("features") {
        let one_end = matches!(feature["properties"]["continues"].as_str(), Some("start" | "end"));
        if feature["properties"]["role"] != "road" || feature["geometry"]["type"] != "LineString" || one_end {
            continue;
        }
        let line = points(&feature["geometry"]["coordinates"]);
        let Some(road) = site.roads.iter().find(|road| road.centerline == line) else { continue };
        let ring = &road.surface.outer.0;
        let ring: Vec<[f64; 2]> = ring.iter().chain(&ring[..1]).map(|p| [p.x, p.y]).collect();
        feature["geometry"] = json!({ "type": "Polygon", "coordinates": [ring] });
        feature["properties"].as_object_mut().expect("properties").remove("width");
        changed = true;
    }
    changed.then_some(drawn)
}

/// The features of a role.
pub fn role<'a>(plan: &'a Value, word: &'a str) -> impl Iterator<Item = &'a Value> {
    plan["features"].as_array().expect("features").iter().filter(move |f| f["properties"]["role"] == word)
}

/// The points of a line.
pub fn points(coordinates: &Value) -> Vec<Point> {
    let number = |v: &Value| v.as_f64().expect("a number");
    coordinates.as_array().expect("points").iter().map(|p| at(number(&p[0]), number(&p[1]))).collect()
}

/// With the edge of the road far from the gate moved away; `None` where the road in front does not run past the gate on
/// one line. On a road of two lanes the half beside the gate still holds the old half; the other half moves away.
pub fn wider_road(place: &Place, by: f64) -> Option<Value> {
    if !["across", "dead end", "bend", "curve"].contains(&place.kind) {
        return None;
    }
    let site = read(&place.plan).ok()?;
    let center = site.gate.center();
    let mut plan = place.plan.clone();
    let features = plan["features"].as_array_mut().expect("features");
    let road = features.iter_mut().find(|f| f["properties"]["role"] == "road")?;
    let line = points(&road["geometry"]["coordinates"]);
    let width = road["properties"]["width"].as_f64()?;
    // A road of one lane stays one.
    let two_lanes = 16.0 * 0.3048;
    let by = if width < two_lanes { by.min(two_lanes - 0.001 - width) } else { by };
    // The line moves away from the gate by half of what the road gains.
    let gate_is_left = is_left_of(&line, center);
    let sign = if gate_is_left { -1.0 } else { 1.0 };
    let line = beside(&line, sign * 0.5 * by);
    road["geometry"]["coordinates"] = coordinates(&line);
    road["properties"]["width"] = json!(width + by);
    Some(plan)
}

/// True if a point lies to the left of a line, at its nearest piece.
pub fn is_left_of(line: &[Point], p: Point) -> bool {
    let away = |a: Point, b: Point| {
        let t = ((p - a).dot(b - a) / (b - a).norm2()).clamp(0.0, 1.0);
        p.distance(a + (b - a) * t)
    };
    let nearest = line.windows(2).min_by(|a, b| away(a[0], a[1]).total_cmp(&away(b[0], b[1])));
    nearest.is_some_and(|w| (w[1] - w[0]).cross(p - w[0]) > 0.0)
}

/// A line beside another, to its left.
fn beside(line: &[Point], left_m: f64) -> Vec<Point> {
    let normal = |i: usize| (line[i + 1] - line[i]).unit().expect("a piece").left();
    let last = line.len() - 2;
    let place = |i: usize| {
        let (a, b) = (normal(i.saturating_sub(1).min(last)), normal(i.min(last)));
        let middle = (a + b) * 0.5;
        line[i] + middle * (left_m / middle.norm2())
    };
    (0..line.len()).map(place).collect()
}

/// Every plan that results from taking one obstacle away.
pub fn without_obstacle(plan: &Value) -> Vec<Value> {
    let features = plan["features"].as_array().expect("features");
    let obstacles = (0..features.len()).filter(|i| features[*i]["properties"]["role"] == "obstacle");
    let without = |i: usize| {
        let mut plan = plan.clone();
        plan["features"].as_array_mut().expect("features").remove(i);
        plan
    };
    obstacles.map(without).collect()
}

/// A plan with nothing but its road (of two lanes or more, driven over its whole width), its gate and its fences;
/// `None` for roads other than one straight across the front.
pub fn bare_road(place: &Place) -> Option<Value> {
    /// Width below which a road has one lane: see the program's own rule, 16 ft.
    const TWO_LANES_M: f64 = 5.5;
    let center = read(&place.plan).ok()?.gate.center();
    let mut plan = place.plan.clone();
    let features = plan["features"].as_array_mut()?;
    features
        .retain(|f| !["obstacle", "drive"].contains(&f["properties"]["role"].as_str().unwrap_or_default()));
    let road = features.iter_mut().find(|f| f["properties"]["role"] == "road")?;
    road["properties"].as_object_mut()?.remove("use");
    let width = road["properties"]["width"].as_f64()?;
    let by = (TWO_LANES_M - width).max(0.0);
    road["properties"]["width"] = json!(width + by);
    // The road gains width on the far side alone.
    let line = points(&road["geometry"]["coordinates"]);
    let sign = if is_left_of(&line, center) { -1.0 } else { 1.0 };
    road["geometry"]["coordinates"] = coordinates(&beside(&line, sign * 0.5 * by));
    (place.kind == "across").then_some(plan)
}

/// A plan with its roads farther from the gate.
pub fn farther_back(plan: &Value, by: f64) -> Value {
    let center = read(plan).expect("a sound plan").gate.center();
    let mut plan = plan.clone();
    for feature in plan["features"].as_array_mut().expect("features") {
        if feature["properties"]["role"] == "road" {
            let line = points(&feature["geometry"]["coordinates"]);
            let sign = if is_left_of(&line, center) { -1.0 } else { 1.0 };
            feature["geometry"]["coordinates"] = coordinates(&beside(&line, sign * by));
        }
    }
    plan
}

/// A plan whose people drive on the other side of the road.
pub fn other_side(plan: &Value) -> Value {
    let mut plan = plan.clone();
    let other = if drives_on(&plan) == Side::Left { "right" } else { "left" };
    plan["plan"]["drives_on"] = json!(other);
    plan
}

/// The side of the road that people drive on.
pub fn drives_on(plan: &Value) -> Side {
    if plan["plan"]["drives_on"] == "left" { Side::Left } else { Side::Right }
}
