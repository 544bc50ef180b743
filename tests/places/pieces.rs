//! A road drawn in pieces is the road drawn in one line: maps split center lines where roads meet.
use super::common::random::Random;
use super::generator::{self, place};
use serde_json::{Value, json};
use wideenough::geometry::Point;
use wideenough::site::{Road, Site};

/// Places whose roads are split.
const PLACES: u64 = 200;

/// The plan with every road line split where chance says, halfway along a stretch or at a bend of less than 55 degrees,
/// some pieces drawn the other way round, and the pieces among the other features; and the number of lines split.
fn in_pieces(plan: &Value, random: &mut Random) -> (Value, usize) {
    let mut plan = plan.clone();
    let features = plan["features"].as_array_mut().expect("features");
    let all = std::mem::take(features);
    let mut split = 0;
    for feature in all {
        let is_line = feature["properties"]["role"] == "road" && feature["geometry"]["type"] == "LineString";
        let line = if is_line { generator::points(&feature["geometry"]["coordinates"]) } else { Vec::new() };
        if line.len() < 2 || line[0].distance(line[line.len() - 1]) < 1.0 {
            features.push(feature);
            continue;
        }
        split += 1;
        let bends: Vec<usize> = (1..line.len() - 1)
            .filter(|i| {
                let (a, b) = (line[*i] - line[i - 1], line[i + 1] - line[*i]);
                a.dot(b) > 0.58 * a.norm() * b.norm()
            })
            .collect();
        let (mut before, mut after);
        if let Some(at) = bends.first().filter(|_| random.chance(0.5)) {
            (before, after) = (line[..=*at].to_vec(), line[*at..].to_vec());
        } else {
            let mut stretches = line.windows(2).enumerate().collect::<Vec<_>>();
            stretches.sort_by(|(_, a), (_, b)| b[0].distance(b[1]).total_cmp(&a[0].distance(a[1])));
            let (i, ends) = stretches[0];
            let at = ends[0] + (ends[1] - ends[0]) * random.between(0.2, 0.8);
            (before, after) = (line[..=i].to_vec(), line[i + 1..].to_vec());
            before.push(at);
            after.insert(0, at);
        }
        let continues = feature["properties"]["continues"].as_str().unwrap_or("none").to_owned();
        for (points, end) in [(&mut before, "start"), (&mut after, "end")] {
            let mut piece = feature.clone();
            let mut goes_on = (continues == end || continues == "both").then_some(end);
            if random.chance(0.5) {
                points.reverse();
                goes_on = goes_on.map(|end| if end == "start" { "end" } else { "start" });
            }
            piece["properties"]["continues"] = json!(goes_on.unwrap_or("none"));
            piece["geometry"]["coordinates"] = generator::coordinates(points);
            if random.chance(0.5) { features.insert(0, piece) } else { features.push(piece) }
        }
    }
    (plan, split)
}

fn is_same_road(one: &Road, other: &Road) -> bool {
    let close =
        |a: &[Point], b: &[Point]| a.len() == b.len() && a.iter().zip(b).all(|(p, q)| p.distance(*q) < 1e-6);
    let backward: Vec<Point> = other.centerline.iter().rev().copied().collect();
    let ahead = close(&one.centerline, &other.centerline);
    let continues = (one.continues.start, one.continues.end);
    let theirs = (other.continues.start, other.continues.end);
    let ends_alike = if ahead { continues == theirs } else { continues == (theirs.1, theirs.0) };
    (ahead || close(&one.centerline, &backward))
        && ends_alike
        && one.width_m == other.width_m
        && one.surface.label == other.surface.label
        && (one.surface.outer.signed_area() - other.surface.outer.signed_area()).abs() < 1e-6
}

#[test]
fn a_road_in_pieces_is_the_road_in_one_line() {
    let mut split = 0;
    for seed in 0..PLACES {
        let plan = place(seed).plan;
        let mut random = Random(seed);
        let whole = generator::read(&plan).expect("a sound plan");
        let (pieces, count) = in_pieces(&plan, &mut random);
        let joined = generator::read(&pieces).expect("a sound plan");
        split += count;
        assert_eq!(whole.roads.len(), joined.roads.len(), "seed {seed}");
        assert_eq!(whole.beside_gate, joined.beside_gate, "seed {seed}");
        assert!(
            (whole.gate.skew_rad - joined.gate.skew_rad).abs() < 1e-9,
            "seed {seed}: {:?} {:?}",
            whole.gate.skew_rad,
            joined.gate.skew_rad
        );
        for road in &whole.roads {
            assert!(joined.roads.iter().any(|other| is_same_road(road, other)), "seed {seed}: {road:?}");
        }
        let words = |site: &Site| {
            let mut words: Vec<String> = site.travels().into_iter().map(|travel| travel.word).collect();
            words.sort();
            words
        };
        assert_eq!(words(&whole), words(&joined), "seed {seed}");
    }
    assert!(split >= 200, "only {split} roads split");
}

/// The roads of a plan with these lines, each with its width in meters, north of a gate.
fn roads(lines: &[(f64, Value)]) -> Vec<Road> {
    let road = |(width, line): &(f64, Value)| {
        generator::feature(json!({ "role": "road", "width": width }), "LineString", line.clone())
    };
    let mut features: Vec<Value> = lines.iter().map(road).collect();
    features.push(generator::feature(json!({ "role": "gate" }), "LineString", json!([[-2, 0], [2, 0]])));
    let plan =
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": features });
    generator::read(&plan).expect("a sound plan").roads
}

/// Ends that a hand missed by 20 cm are one place, halfway between; at a junction the straightest pair is the road; a
/// corner, a road of another width and a gap of 40 cm are not joined.
#[test]
fn what_is_one_road() {
    let missed = roads(&[(6.0, json!([[-60, 10], [0, 10]])), (6.0, json!([[60, 12], [0, 10.2]]))]);
    assert_eq!(missed.len(), 1);
    assert_eq!(missed[0].centerline[1], Point::new(0.0, 10.1));
    let side = (6.0, json!([[20, 10], [40, 60]]));
    let junction = roads(&[side, (6.0, json!([[-60, 10], [20, 10]])), (6.0, json!([[80, 15], [20, 10]]))]);
    let ends: Vec<f64> = junction.iter().map(|road| road.centerline[0].x).collect();
    assert_eq!(ends, [-60.0, 20.0]);
    let corner = roads(&[(6.0, json!([[-60, 10], [20, 10]])), (6.0, json!([[20, 10], [15, 80]]))]);
    let wider = roads(&[(6.0, json!([[-60, 10], [20, 10]])), (7.0, json!([[20, 10], [80, 10]]))]);
    let apart = roads(&[(6.0, json!([[-60, 10], [20, 10]])), (6.0, json!([[20.4, 10], [80, 10]]))]);
    assert_eq!([corner.len(), wider.len(), apart.len()], [2, 2, 2]);
}
