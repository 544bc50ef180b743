//! An invented county: roads with bends, curves, junctions and dead ends, and parcels along them with drives, houses,
//! fences, ditches and gates. Each parcel is a plan in longitude and latitude, cut out of the one map; all are studied,
//! and the judge checks every path. A few parcels by default; `COUNTY=200 cargo test --test places county -- --nocapture`
//! studies all, `COUNTY_PARCEL=107` that one, and `COUNTY_TO=target/county` writes their plans there.
use super::common::random::Random;
use super::generator::{Place, coordinates, feature, read, ring};
use super::judge::{Fault, Judge};
use super::{answers, maneuvers, number, settle};
use rayon::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::panic::{AssertUnwindSafe, catch_unwind};
use wideenough::geometry::Point;
use wideenough::opening::{Outcome, Study};
use wideenough::report;
use wideenough::report::summary::site_of_results;
use wideenough::site::Frame;

/// Number of parcels in the whole county.
const PARCELS: usize = 200;
/// Distance from a gate beyond which roads are not part of its plan.
const EXTRACT_M: f64 = 110.0;
/// Spacing of the parcels along a road.
const FRONTAGE_M: f64 = 38.0;
/// Spacing of the townships, each with a road through it.
const TOWNSHIP_M: f64 = 1000.0;
/// Place of the map's origin on Earth.
const ORIGIN: Frame = Frame::LonLat { lon_deg: -90.6, lat_deg: 43.1 };

/// Kind of end of a road.
#[derive(Clone, Copy, PartialEq)]
enum End {
    GoesOn,
    Meets,
    Dead,
    /// A turnaround with this radius.
    Bulb(f64),
}

/// A road of the map.
struct Road {
    name: String,
    line: Vec<Point>,
    width: f64,
    start: End,
    end: End,
    own_lane: bool,
}

impl Road {
    fn length(&self) -> f64 {
        self.line.windows(2).map(|w| w[0].distance(w[1])).sum()
    }

    /// The point at this station along it, and the direction there.
    fn at(&self, station: f64) -> (Point, Point) {
        let mut left = station;
        let mut last = (self.line[0], Point::new(1.0, 0.0));
        for w in self.line.windows(2) {
            let (length, along) = (w[0].distance(w[1]), (w[1] - w[0]).unit().expect("a piece"));
            if left <= length {
                return (w[0] + along * left, along);
            }
            left -= length;
            last = (w[1], along);
        }
        last
    }

    /// Distance of a point from the middle of the road.
    fn distance(&self, p: Point) -> f64 {
        let of_piece = |w: &[Point]| {
            let (d, off) = (w[1] - w[0], p - w[0]);
            (off - d * (off.dot(d) / d.norm2()).clamp(0.0, 1.0)).norm()
        };
        self.line.windows(2).map(of_piece).fold(f64::INFINITY, f64::min)
    }
}

/// A line of straight pieces, curves and bends, from a place in a direction. `back` is the share by which each bend
/// turns back to that direction.
fn wandering(random: &mut Random, from: Point, toward: f64, length: f64, back: f64) -> Vec<Point> {
    let (mut line, mut heading, mut left) = (vec![from], toward, length);
    while left > 0.0 {
        let straight = random.between(40.0, 160.0).min(left);
        line.push(line[line.len() - 1] + Point::at_angle(heading) * straight);
        left -= straight;
        if left < 30.0 {
            break;
        }
        let turn = random.between(-55.0, 55.0).to_radians() - back * (heading - toward);
        if random.chance(0.25) {
            // A bend with a corner.
            heading += turn.clamp(-0.7, 0.7);
            continue;
        }
        let radius = random.between(25.0, 120.0);
        let count = (turn.abs() / 0.1).ceil().max(1.0);
        let mut i = 0.0;
        while i < count {
            let step = turn / count;
            heading += 0.5 * step;
            let chord = 2.0 * radius * libm::sin(0.5 * step.abs());
            line.push(line[line.len() - 1] + Point::at_angle(heading) * chord);
            heading += 0.5 * step;
            left -= chord;
            i += 1.0;
        }
    }
    line
}

/// The roads of a township: one through it, and others that branch off to both sides.
fn township(random: &mut Random, number: usize) -> Vec<Road> {
    let south = TOWNSHIP_M * f64::from(u32::try_from(number).expect("few"));
    let east = random.between(-0.2, 0.2);
    let through = wandering(random, Point::new(0.0, south), east, 2000.0, 0.7);
    let width = random.between(5.8, 7.4);
    let (start, end) = (End::GoesOn, End::GoesOn);
    let name = format!("county road {}", number + 1);
    let mut roads = vec![Road { name, line: through, width, start, end, own_lane: random.chance(0.4) }];
    let (mut station, mut hand) = (random.between(90.0, 160.0), 1.0);
    while station < roads[0].length() - 60.0 {
        let (from, along) = roads[0].at(station);
        let leaves = along.angle() + hand * (0.5 * PI + random.between(-40.0, 40.0).to_radians());
        let (length, width) = (random.between(90.0, 330.0), random.between(3.8, 6.2));
        let line = wandering(random, from, leaves, length, 0.8);
        let end = match random.pick(&[0, 1, 2]) {
            0 => End::Dead,
            1 => End::GoesOn,
            _ => End::Bulb(random.between(8.0, 12.5)),
        };
        let (name, start) = (format!("lane {}", roads.len()), End::Meets);
        let one = Road { name, line, width, start, end, own_lane: false };
        // Away from the road it branches off from it stays clear of every other.
        let mut s = 50.0;
        let mut clear = true;
        while s <= one.length() {
            clear &= roads.iter().all(|road| road.distance(one.at(s).0) > 40.0);
            s += 5.0;
        }
        if clear {
            roads.push(one);
        }
        station += random.between(60.0, 150.0);
        hand = -hand;
    }
    roads
}

/// A stretch of a road, and whether the road goes on at its start and at its end.
type Stretch = (Vec<Point>, bool, bool);

/// Stretches of a road within reach of a place.
fn cut(road: &Road, center: Point) -> Vec<Stretch> {
    let (mut stretches, mut now) = (Vec::<Stretch>::new(), Vec::<Point>::new());
    let mut from_start = true;
    let inside = |p: Point| p.distance(center) <= EXTRACT_M;
    // Point where the line from a point inside to one outside leaves the circle.
    let border = |mut a: Point, mut b: Point| {
        for _ in 0..60 {
            let middle = (a + b) * 0.5;
            if inside(middle) { a = middle } else { b = middle }
        }
        a
    };
    for (i, p) in road.line.iter().enumerate() {
        if let Some(before) = i.checked_sub(1).map(|i| road.line[i]) {
            match (inside(before), inside(*p)) {
                (true, false) => {
                    now.push(border(before, *p));
                    stretches.push((std::mem::take(&mut now), from_start, true));
                }
                (false, true) => {
                    now.push(border(*p, before));
                    from_start = false;
                }
                (false, false) => {
                    let d = *p - before;
                    let foot = before + d * ((center - before).dot(d) / d.norm2()).clamp(0.0, 1.0);
                    if inside(foot) {
                        stretches.push((vec![border(foot, before), border(foot, *p)], false, true));
                    }
                }
                (true, true) => {}
            }
        }
        if inside(*p) {
            now.push(*p);
        }
    }
    if now.len() > 1 {
        stretches.push((now, from_start, false));
    }
    let goes_on = |end: End| end == End::GoesOn;
    stretches
        .into_iter()
        .map(|(line, whole_start, cut_end)| {
            let start = if whole_start { goes_on(road.start) } else { true };
            (line, start, cut_end || goes_on(road.end))
        })
        // A corner of the circle is too short to be a road.
        .filter(|(line, ..)| line.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>() > 12.0)
        .collect()
}

/// The features of the roads about a gate.
fn roads_about(roads: &[Road], gate: Point) -> Vec<Value> {
    let mut features = Vec::new();
    for road in roads {
        for (line, start, end) in cut(road, gate) {
            let continues = match (start, end) {
                (false, false) => "none",
                (true, false) => "start",
                (false, true) => "end",
                (true, true) => "both",
            };
            let mut properties =
                json!({ "role": "road", "label": road.name, "width": road.width, "continues": continues });
            if road.own_lane {
                properties["use"] = json!("own-lane");
            }
            features.push(feature(properties, "LineString", coordinates(&line)));
        }
        let center = road.line[road.line.len() - 1];
        if let End::Bulb(radius) = road.end
            && center.distance(gate) < EXTRACT_M - radius
        {
            let corner = |i: u32| center + Point::at_angle(2.0 * PI * f64::from(i) / 48.0) * radius;
            let corners: Vec<Point> = (0..48).map(corner).collect();
            let properties = json!({ "role": "road", "label": "turnaround" });
            features.push(feature(properties, "Polygon", ring(&corners)));
        }
    }
    features
}

/// Draws a parcel beside a road; none where there is no room for it.
fn parcel(
    random: &mut Random,
    roads: &[Road],
    road: &Road,
    station: f64,
    side: f64,
    title: &str,
) -> Option<Value> {
    let (middle, along_road) = road.at(station);
    let (out, edge) = (along_road.left() * side, along_road * side);
    let foot = middle + out * (0.5 * road.width);
    let setback = random.between(2.5, 11.0);
    let gate = foot + out * setback;
    let skew = if random.chance(0.25) { random.between(-25.0, 25.0).to_radians() } else { 0.0 };
    let inward = Point::at_angle(out.angle() + skew);
    let along = -inward.left();
    // To the right looking in, along the road.
    let edge = if edge.dot(along) > 0.0 { edge } else { -edge };
    let at = |u: f64, v: f64| gate + along * u + inward * v;
    let off_roads =
        |p: Point| roads.iter().map(|r| r.distance(p) - 0.5 * r.width).fold(f64::INFINITY, f64::min);
    let half = 0.5 * random.between(3.2, 5.8);
    let depth = random.between(16.0, 40.0);
    let house_hand = random.pick(&[-1.0, 1.0]);
    let (narrow, wide) = (half + random.between(0.6, 2.0), half + random.between(1.0, 14.0));
    let (house_wide, house_deep) = (random.between(8.0, 15.0), random.between(7.0, 11.0));
    // Yard and house keep off every road, and every bulb.
    let yard = [at(-wide - 2.0, depth), at(wide + 2.0, depth), at(0.0, depth), at(-wide, 5.0), at(wide, 5.0)];
    let (near, far) = (narrow + 1.5, narrow + 1.5 + house_wide);
    let front = random.between(4.0, 12.0);
    let house = [(near, front), (far, front), (far, front + house_deep), (near, front + house_deep)];
    let house = house.map(|(u, v)| at(house_hand * u, v));
    let bulbs = roads.iter().filter_map(|r| match r.end {
        End::Bulb(radius) => Some((r.line[r.line.len() - 1], radius)),
        _ => None,
    });
    let bulbs: Vec<(Point, f64)> = bulbs.collect();
    let clear = |p: &Point| off_roads(*p) > 1.5 && bulbs.iter().all(|(c, r)| c.distance(*p) > r + 1.5);
    let posts = [at(-half - 0.6, 0.0), at(half + 0.6, 0.0), at(0.0, 3.0)];
    if !yard.iter().chain(&house).chain(&posts).all(clear) {
        return None;
    }
    let mut features = roads_about(roads, gate);
    let leaves = random.pick(&["double", "double", "single", "slide", "none"]);
    let mut properties = json!({ "role": "gate", "label": "gate", "leaves": leaves,
        "post": random.pick(&[0.1, 0.15, 0.3, 0.5]),
        "anchor": random.pick(&["center", "center", "center", "left", "right", "free"]) });
    if ["single", "slide"].contains(&leaves) {
        properties["hinge"] = json!(random.pick(&["left", "right"]));
    }
    if ["single", "double"].contains(&leaves) {
        properties["opens"] = json!(random.pick(&["in", "in", "in", "out"]));
    }
    if properties.get("opens").is_some() && random.chance(0.2) {
        properties["open_angle_deg"] = json!(random.between(80.0, 110.0));
    }
    features.push(feature(properties, "LineString", coordinates(&[at(-half, 0.0), at(half, 0.0)])));
    let flare = random.between(0.5, 5.0);
    if random.chance(0.7) {
        // On the house's side the drive is as wide as the passage beside the house.
        let (left, right) = if house_hand > 0.0 { (wide, narrow) } else { (narrow, wide) };
        let inside = half + 0.4;
        // Where vehicles keep to their half of the road, most aprons are drawn up to the other half.
        let share = if road.own_lane && random.chance(0.8) { 0.75 } else { 0.25 };
        let into = foot - out * (share * road.width);
        let points = [
            into - edge * (inside + flare),
            into + edge * (inside + flare),
            at(inside, -0.2),
            at(inside, 3.0),
            at(right.max(inside), 5.0),
            at(right.max(inside), depth),
            at(-left.max(inside), depth),
            at(-left.max(inside), 5.0),
            at(-inside, 3.0),
            at(-inside, -0.2),
        ];
        features.push(feature(json!({ "role": "drive", "label": "driveway" }), "Polygon", ring(&points)));
    }
    features.push(feature(
        json!({ "role": "obstacle", "label": "house", "top": 6.5 }),
        "Polygon",
        ring(&house),
    ));
    for hand in [-1.0, 1.0] {
        if random.chance(0.6) {
            // As far as the lot goes, or as far as no road is near.
            let most = random.between(6.0, 17.0);
            let mut reach = half;
            while reach < most && clear(&at(hand * (reach + 1.0), 0.0)) {
                reach += 1.0;
            }
            let mut line = vec![at(hand * half, 0.0), at(hand * (reach + 0.5), 0.0)];
            if reach > wide + 3.0 && random.chance(0.3) {
                line.push(at(hand * (reach + 0.5), random.between(4.0, 12.0)));
            }
            let properties = json!({ "role": "fence", "label": "front fence", "thickness": 0.1, "top": 1.4 });
            features.push(feature(properties, "LineString", coordinates(&line)));
        }
        if random.chance(0.3) {
            // A ditch beside the road, from the apron outward.
            let from = half + 0.4 + flare + random.between(0.5, 2.0);
            let place = |s: f64| {
                let (p, d) = road.at(station + s);
                p + d.left() * (side * (0.5 * road.width + 1.0))
            };
            let sign = hand * if edge.dot(along_road) > 0.0 { 1.0 } else { -1.0 };
            let mut line = Vec::new();
            let mut s = from;
            while s < from + 24.0 && (0.0..road.length()).contains(&(station + sign * s)) {
                let p = place(sign * s);
                let other = |r: &Road| !std::ptr::eq(r, road) && r.distance(p) < 0.5 * r.width + 1.0;
                let in_bulb = bulbs.iter().any(|(c, r)| c.distance(p) < r + 1.0);
                if roads.iter().any(other) || in_bulb || road.distance(p) < 0.5 * road.width + 0.6 {
                    break;
                }
                line.push(p);
                s += 3.0;
            }
            if line.len() > 2 {
                let properties =
                    json!({ "role": "obstacle", "label": "ditch", "thickness": 0.8, "top": 0.0 });
                features.push(feature(properties, "LineString", coordinates(&line)));
            }
        }
    }
    let beside = random.pick(&[-1.0, 1.0]) * (half + 1.0 + flare + random.between(0.3, 3.0));
    for (label, share, spot, top) in [
        ("mailbox", 0.5, foot + edge * beside + out * 0.6, 1.2),
        ("power pole", 0.3, foot - edge * (beside + 2.0) + out * 1.2, 9.0),
        ("tree", 0.4, at(-house_hand * (wide + random.between(0.8, 4.0)), random.between(3.0, 14.0)), 8.0),
    ] {
        if random.chance(share)
            && off_roads(spot) > 0.3
            && bulbs.iter().all(|(c, r)| c.distance(spot) > r + 0.3)
        {
            let properties =
                json!({ "role": "obstacle", "label": label, "radius": random.between(0.1, 0.4), "top": top });
            features.push(feature(properties, "Point", json!([spot.x, spot.y])));
        }
    }
    let one = |random: &mut Random| {
        let name = random.pick(&[
            "car",
            "pickup",
            "pickup",
            "pickup",
            "box-truck-16",
            "box-truck-26",
            "delivery-van",
            "compact-suv",
            "pickup-bumper-pull-20",
            "gooseneck-horse-40",
        ]);
        let towed = name.contains("pull") || name.contains("gooseneck");
        match () {
            () if towed && random.chance(0.6) => {
                json!({ "vehicle": name, "visits": ["drive-in-back-out", "back-in-drive-out"] })
            }
            () if !towed && random.chance(0.1) => json!({ "vehicle": name, "visits": ["turn-around"] }),
            () => json!(name),
        }
    };
    let mut vehicles = vec![one(random)];
    let name = |v: &Value| v.get("vehicle").unwrap_or(v).clone();
    if random.chance(0.15) {
        let second = one(random);
        if name(&second) != name(&vehicles[0]) {
            vehicles.push(second);
        }
    }
    let mut plan = json!({ "type": "FeatureCollection",
        "plan": { "title": title, "coordinates": "lonlat", "drives_on": "right", "units": "m", "vehicles": vehicles },
        "features": features });
    to_degrees(&mut plan);
    Some(plan)
}

/// Every position of the map in longitude and latitude, to ten decimals.
fn to_degrees(plan: &mut Value) {
    fn walk(value: &mut Value) {
        let Some(list) = value.as_array_mut() else { return };
        if let [x, y] = list.as_slice()
            && let (Some(x), Some(y)) = (x.as_f64(), y.as_f64())
        {
            *value = json!(ORIGIN.to_plan(Point::new(x, y)).map(|d| (d * 1e10).round() / 1e10));
            return;
        }
        list.iter_mut().for_each(walk);
    }
    for feature in plan["features"].as_array_mut().expect("features") {
        walk(&mut feature["geometry"]["coordinates"]);
    }
}

/// The parcels of the county, at least this many, and the number of draws that were no sound plan.
fn county(count: usize) -> (Vec<Place>, usize) {
    let (mut places, mut refused) = (Vec::new(), 0);
    for number in 0.. {
        let mut random = Random(7_000_000 + u64::try_from(number).expect("few"));
        let roads = township(&mut random, number);
        for road in &roads {
            for side in [-1.0, 1.0] {
                let mut station = random.between(12.0, 30.0);
                while station < road.length() - 4.0 {
                    // Room or a sound plan may be missing for one draw and not for the next.
                    for _ in 0..4 {
                        let title = format!("Parcel {:04}, {}", places.len() + 1, road.name);
                        let Some(plan) = parcel(&mut random, &roads, road, station, side, &title) else {
                            continue;
                        };
                        if read(&plan).is_ok() {
                            let seed = u64::try_from(places.len()).expect("few");
                            places.push(Place { seed, kind: "parcel", plan });
                            break;
                        }
                        refused += 1;
                    }
                    station += FRONTAGE_M + random.between(0.0, 12.0);
                }
            }
        }
        if places.len() >= count {
            break;
        }
    }
    (places, refused)
}

/// Reasons of the answers that were not found, empty where none was given.
fn reasons(study: &Study) -> Vec<String> {
    let of_answers = study.cases.iter().flat_map(|case| [&case.bare, &case.comfortable]).filter_map(
        |answer| match &answer.outcome {
            Outcome::Impossible(why) | Outcome::GaveUp(why) => Some(why.clone()),
            _ => None,
        },
    );
    let of_turns = study.turns.iter().filter_map(|turn| turn.found.as_ref().err().cloned());
    of_answers.chain(of_turns).collect()
}

/// Studies and judges a parcel: its faults, the reasons of what was not found, and the number of answers.
fn studied(place: &Place) -> (Vec<Fault>, Vec<String>, usize) {
    let name = place.plan["plan"]["title"].as_str().expect("a title").to_owned();
    let fault = |kind: &'static str, note: String| Fault {
        place: name.clone(),
        case: String::new(),
        kind,
        amount: f64::INFINITY,
        unit: "",
        note,
    };
    let site = read(&place.plan).expect("a sound plan");
    let made = catch_unwind(AssertUnwindSafe(|| answers(&site, &maneuvers(place), &super::options())));
    let Ok(study) = made else { return (vec![fault("panic", String::new())], vec![], 0) };
    let mut faults = Judge::new(&study.site, &place.plan).faults(&study, &name);
    let why = reasons(&study);
    if std::env::var_os("COUNTY").is_some() {
        for c in study.cases.iter().filter(|c| c.bare.opening_m.is_none()) {
            let vehicle = &study.vehicles[c.vehicle];
            println!("{name}: {} {} {} not found", vehicle.name, c.travel, c.maneuver.word());
        }
    }
    let unsaid = why.iter().filter(|why| why.trim().is_empty());
    faults.extend(unsaid.map(|_| fault("not found without a reason", String::new())));
    // The results people read must state it too.
    match site_of_results(&name, &report::json(&study)) {
        Ok(summary) => {
            let ways = summary.outcome.map(|one| one.ways).unwrap_or_default();
            let silent =
                ways.iter().filter(|way| way.comfortable_opening_m.is_none() && way.limited_by.is_empty());
            // A turn that was found has no opening of its own.
            let silent = silent.filter(|way| !(way.way.ends_with("turn-around") && way.verdict != "no"));
            faults.extend(
                silent.map(|way| fault("a row without a reason", format!("{} {}", way.vehicle, way.way))),
            );
            if ways.is_empty() {
                faults.push(fault("no row", String::new()));
            }
        }
        Err(e) => faults.push(fault("no summary", e)),
    }
    (faults, why, 2 * study.cases.len() + study.turns.len())
}

/// The mix of the county: junctions, bends, dead ends, with and without drives.
#[test]
fn the_county_has_roads_and_parcels_of_all_kinds() {
    let (places, refused) = county(PARCELS);
    let share = |what: &dyn Fn(&Value) -> bool| places.iter().filter(|place| what(&place.plan)).count();
    let roles = |plan: &Value, role: &str| {
        let features = plan["features"].as_array().expect("features").iter();
        features.filter(|f| f["properties"]["role"] == role).count()
    };
    let lines = |plan: &Value| {
        let features = plan["features"].as_array().expect("features").iter();
        features
            .filter(|f| f["properties"]["role"] == "road" && f["geometry"]["type"] == "LineString")
            .count()
    };
    let several = share(&|plan| lines(plan) > 1);
    let bulbs = share(&|plan| roles(plan, "road") > lines(plan));
    let drives = share(&|plan| roles(plan, "drive") > 0);
    let count = places.len();
    println!(
        "county: {count} parcels; {several} with more than one road, {bulbs} with a turnaround, {drives} with a drive; {refused} draws were no sound plan"
    );
    assert!(count >= PARCELS && several > count / 4 && bulbs > count / 20, "{several} {bulbs}");
    assert!(drives > count / 2 && drives < count * 9 / 10, "{drives}");
    assert!(refused < count, "{refused} of {count}");
}

/// Every parcel is studied; no panic, no path the judge refuses, and a reason for everything not found.
#[test]
fn the_county_is_studied_whole() {
    let count = usize::try_from(number("COUNTY", 6)).expect("a count");
    let all: Vec<Place> = county(count.max(PARCELS)).0.into_iter().map(super::as_asked).collect();
    // A few are taken from all over the county.
    let chosen: Vec<&Place> = match number("COUNTY_PARCEL", 0) {
        0 => (0..count).map(|i| &all[i * all.len() / count]).collect(),
        wanted => all.iter().filter(|place| place.seed + 1 == wanted).collect(),
    };
    if let Some(folder) = std::env::var_os("COUNTY_TO").map(std::path::PathBuf::from) {
        std::fs::create_dir_all(&folder).expect("a folder");
        for place in &chosen {
            let file = folder.join(format!("parcel-{:04}.geojson", place.seed + 1));
            std::fs::write(file, serde_json::to_string_pretty(&place.plan).expect("a plan")).expect("a file");
        }
    }
    if std::env::var_os("COUNTY_ONLY_WRITE").is_some() {
        return;
    }
    let told = |place: &&Place| {
        let judged = studied(place);
        let (faults, answers) = (&judged.0, judged.2);
        println!("{}: {answers} answers, {} faults", place.plan["plan"]["title"], faults.len());
        judged
    };
    let judged: Vec<(Vec<Fault>, Vec<String>, usize)> = chosen.par_iter().map(told).collect();
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    let (mut faults, mut asked, mut missing) = (Vec::new(), 0, 0);
    for (of_place, why, answers) in judged {
        faults.extend(of_place);
        asked += answers;
        missing += why.len();
        for reason in why {
            // Without its numbers.
            let kind: String =
                reason.chars().map(|c| if c.is_ascii_digit() { '#' } else { c }).take(100).collect();
            *kinds.entry(kind).or_default() += 1;
        }
    }
    for (kind, count) in &kinds {
        println!("county: not found: {count} times: {kind}");
    }
    println!("county: {} parcels, {asked} answers, {missing} not found", chosen.len());
    assert!(asked > chosen.len(), "{asked} answers for {} parcels", chosen.len());
    settle("county", &faults);
}
