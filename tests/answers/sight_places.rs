//! Sight on 200 random places against a second line of sight that shares no code with the program.
use crate::common::random::Random;
use crate::common::sight_plan::{feature, line, polygon};
use serde_json::{Value, json};
use wideenough::sight::{Given, SightOptions, sight_rule, survey};
use wideenough::site::{Side, read};
use wideenough::vehicle;

const FOOT_M: f64 = 0.3048;
/// What the second method may be off: `geo` clips on a grid, a fraction of a micrometer wide, seen from far away.
const PROBE_M: f64 = 1e-4;

/// A second line of sight: the chord by clipping with polygons of the `geo` crate (or the quadratic of a disc), the
/// heights by ternary search, one target point at a time.
mod second {
    use geo::{BooleanOps, Euclidean, Length, LineString, MultiLineString, Polygon};

    pub enum Plan {
        Outline(Vec<(f64, f64)>),
        Disc((f64, f64), f64),
    }

    pub struct Thing {
        pub plan: Plan,
        pub bottom: f64,
        pub top: f64,
    }

    /// Shares of the way from the eye to the target that lie in the thing.
    fn chords(thing: &Thing, eye: (f64, f64), target: (f64, f64)) -> Vec<(f64, f64)> {
        let (dx, dy) = (target.0 - eye.0, target.1 - eye.1);
        let long2 = dx * dx + dy * dy;
        match &thing.plan {
            Plan::Disc(center, r) => {
                let (cx, cy) = (eye.0 - center.0, eye.1 - center.1);
                let (b, c) = (cx * dx + cy * dy, cx * cx + cy * cy - r * r);
                let root = b * b - long2 * c;
                if root <= 0.0 {
                    return Vec::new();
                }
                let (from, to) = ((-b - root.sqrt()) / long2, (-b + root.sqrt()) / long2);
                if to <= 0.0 || from >= 1.0 { Vec::new() } else { vec![(from.max(0.0), to.min(1.0))] }
            }
            Plan::Outline(ring) => {
                let polygon = Polygon::new(LineString::from(ring.clone()), Vec::new());
                let sight = MultiLineString::new(vec![LineString::from(vec![eye, target])]);
                let inside = polygon.clip(&sight, false);
                let share = |x: f64, y: f64| ((x - eye.0) * dx + (y - eye.1) * dy) / long2;
                let lines = inside.0.iter().filter(|l| Euclidean.length(*l) > 1e-9);
                lines
                    .map(|l| {
                        let (a, b) = (l.0[0], l.0[l.0.len() - 1]);
                        (share(a.x, a.y), share(b.x, b.y))
                    })
                    .map(|(a, b)| (a.min(b), a.max(b)))
                    .collect()
            }
        }
    }

    pub fn hides(
        thing: &Thing,
        eye: (f64, f64),
        target: (f64, f64),
        (e0, e1): (f64, f64),
        (o0, o1): (f64, f64),
    ) -> bool {
        // Above zero where the band of heights misses the thing; convex in the share of the way.
        let miss = |t: f64| {
            let (low, high) = (e0 + (o0 - e0) * t, e1 + (o1 - e1) * t);
            (low - thing.top).max(thing.bottom - high)
        };
        chords(thing, eye, target).into_iter().any(|(mut a, mut b)| {
            for _ in 0..200 {
                let (p, q) = (a + (b - a) / 3.0, b - (b - a) / 3.0);
                if miss(p) < miss(q) { b = q } else { a = p }
            }
            miss(0.5 * (a + b)) < 0.0
        })
    }
}

/// 200 random places with bending roads, houses, walls, trees, poles, limbs and posts of random heights. `SIGHT_TO` names a file
/// that the places and what was found hidden are written to, for `tests/cross_check/sight.py`.
#[test]
fn random_places_against_a_second_line_of_sight() {
    use second::{Plan, Thing};
    let mut random = Random(77);
    let (mut points, mut dark, mut worst) = (0_u32, 0_u32, 0.0_f64);
    let mut looks: Vec<Value> = Vec::new();
    for number in 0..200 {
        // A road that bends on either side, in front of the drive straight along x.
        let mut center = vec![(-15.0, -3.0), (15.0, -3.0)];
        for _ in 0..3 {
            let (x, y) = center[0];
            center.insert(0, (x - random.between(10.0, 30.0), y + random.between(-8.0, 6.0)));
            let (x, y) = center[center.len() - 1];
            center.push((x + random.between(10.0, 30.0), y + random.between(-8.0, 6.0)));
        }
        let (mut features, mut things) = (Vec::new(), Vec::new());
        for k in 0..6 {
            let (bottom, top) = if random.between(0.0, 1.0) < 0.25 {
                (random.between(0.5, 2.5), random.between(2.5, 6.0))
            } else {
                (0.0, random.between(0.2, 3.0))
            };
            let side = if k % 2 == 0 { -1.0 } else { 1.0 };
            let (x, y) =
                (side * random.between(5.0, 45.0), random.between(2.0, 12.0) + if k > 3 { 6.0 } else { 0.0 });
            let words = json!({ "label": format!("thing {k}"), "bottom": bottom, "top": top, "radius": 0.5 });
            let (geometry, plan) = match k % 3 {
                0 => (json!({ "type": "Point", "coordinates": [x, y] }), Plan::Disc((x, y), 0.5)),
                1 => {
                    let (w, d) = (random.between(0.3, 3.0), random.between(0.2, 2.0));
                    let ring = vec![(x, y), (x + w, y + 0.1), (x + w, y + d), (x + 0.1, y + d)];
                    (polygon(&ring), Plan::Outline(ring))
                }
                _ => {
                    // An L, which must be cut up.
                    let ring = vec![
                        (x, y),
                        (x + 4.0, y),
                        (x + 4.0, y + 0.5),
                        (x + 0.5, y + 0.5),
                        (x + 0.5, y + 3.0),
                        (x, y + 3.0),
                    ];
                    (polygon(&ring), Plan::Outline(ring))
                }
            };
            let mut words = words;
            if k % 3 != 0 {
                words.as_object_mut().unwrap().remove("radius");
            }
            features.push(feature("obstacle", geometry, words));
            things.push(Thing { plan, bottom, top });
        }
        let setback = random.between(1.0, 3.5);
        for x in [-3.2, 3.0] {
            let ring = vec![
                (x, setback - 0.1),
                (x + 0.2, setback - 0.1),
                (x + 0.2, setback + 0.1),
                (x, setback + 0.1),
            ];
            things.push(Thing { plan: Plan::Outline(ring), bottom: 0.0, top: 1.7 });
        }
        let post = json!({ "leaves": "none", "post": { "width": 0.2, "depth": 0.2, "top": 1.7 } });
        features.push(feature("gate", line(&[(-3.0, setback), (3.0, setback)]), post));
        let road = json!({ "width": 6.0, "speed": "30 mph", "continues": "both" });
        features.push(feature("road", line(&center), road));
        let left_hand = number % 2 == 1;
        let plan = json!({ "coordinates": "local-m", "drives_on": if left_hand { "left" } else { "right" } });
        let plan = json!({ "type": "FeatureCollection", "plan": plan, "features": features });
        let Ok(site) = read(&plan.to_string(), "random.geojson") else { continue };
        let rule = ["us", "uk-streets", "clemmons"][number % 3];
        let options = SightOptions {
            rules: vec![*sight_rule(rule).unwrap()],
            walks: Vec::new(),
            given: Given::default(),
        };
        let finding = survey(&site, &[vehicle::find("car").unwrap()], &options).roads.remove(0);
        let (back, eye_m, object_m, at_edge) = match rule {
            "us" => (14.4 * FOOT_M, (3.5 * FOOT_M, 3.5 * FOOT_M), (3.5 * FOOT_M, 3.5 * FOOT_M), false),
            "clemmons" => (20.0 * FOOT_M, (2.5 * FOOT_M, 10.0 * FOOT_M), (2.5 * FOOT_M, 10.0 * FOOT_M), true),
            _ => (2.4, (1.05, 2.0), (0.26, 1.05), true),
        };
        for look in finding.looks.unwrap() {
            // The line beside the center, worked here: its own offset, corners at the bisector.
            let east = look.side == Side::Left;
            let lane_north = if at_edge {
                3.0
            } else if east != left_hand {
                1.5
            } else {
                -1.5
            };
            let target = own_line(&center, lane_north, east);
            let stretches: Vec<(f64, f64)> = look.hiders.iter().flat_map(|h| h.hides_m.clone()).collect();
            looks.push(json!({
                "place": number,
                "eye": [0.0, back],
                "eye_m": [eye_m.0, eye_m.1],
                "object_m": [object_m.0, object_m.1],
                "line": target.iter().map(|((x, y), s)| [*x, *y, *s]).collect::<Vec<_>>(),
                "required_m": look.required_m,
                "visible_m": look.visible_m,
                "hidden_m": stretches.iter().map(|(a, b)| [*a, *b]).collect::<Vec<_>>(),
                "things": things.iter().map(as_json).collect::<Vec<_>>(),
            }));
            let mut first = None;
            let limit = look.required_m.min(target.last().unwrap().1);
            for step in 0..400 {
                let s = limit * (f64::from(step) + 0.5) / 400.0;
                let at = own_place(&target, s);
                let told = stretches.iter().any(|(a, b)| *a <= s && s <= *b);
                let is = things.iter().any(|thing| second::hides(thing, (0.0, back), at, eye_m, object_m));
                // Not within half a millimeter of where it changes.
                if stretches.iter().all(|(a, b)| (a - s).abs() > 5e-4 && (b - s).abs() > 5e-4) {
                    assert_eq!(
                        told, is,
                        "place {number}, {rule}, {:?}, at {s}: {stretches:?}\n{plan}",
                        look.side
                    );
                }
                points += 1;
                dark += u32::from(is);
                if is && first.is_none() {
                    first = Some(s);
                }
            }
            // The visible length: refined by halving between the last seen point and the first hidden one.
            if let Some(mut over) = first {
                let mut under = (over - limit / 400.0).max(0.0);
                let hides = |s: f64| {
                    let at = own_place(&target, s);
                    things.iter().any(|thing| second::hides(thing, (0.0, back), at, eye_m, object_m))
                };
                for _ in 0..50 {
                    let middle = 0.5 * (under + over);
                    if hides(middle) { over = middle } else { under = middle }
                }
                // A shadow narrower than the steps may lie before it.
                assert!(look.visible_m <= over + PROBE_M, "{number}: {} {over}", look.visible_m);
                if look.visible_m > over - limit / 400.0 {
                    worst = worst.max((look.visible_m - over).abs());
                }
                if look.visible_m < over - PROBE_M {
                    // `geo` clips on a grid of about a ten-millionth of the extent.
                    assert!(hides(look.visible_m + PROBE_M), "{number}: seen beyond {}", look.visible_m);
                }
            }
        }
    }
    if let Some(file) = std::env::var_os("SIGHT_TO") {
        std::fs::write(file, Value::from(looks).to_string()).unwrap();
    }
    println!("{points} points looked at, {dark} hidden, visible lengths within {worst:e} m");
    assert!(points > 100_000 && dark > 10_000, "{points} {dark}");
    assert!(worst < PROBE_M, "{worst}");
}

fn as_json(thing: &second::Thing) -> Value {
    let (ring, disc) = match &thing.plan {
        second::Plan::Outline(ring) => (ring.iter().map(|(x, y)| [*x, *y]).collect::<Vec<_>>(), None),
        second::Plan::Disc((x, y), r) => (Vec::new(), Some([*x, *y, *r])),
    };
    json!({ "ring": ring, "disc": disc, "bottom": thing.bottom, "top": thing.top })
}

/// The line at a distance to the north of the middle, from x = 0 on to one side, with lengths.
fn own_line(center: &[(f64, f64)], north: f64, east: bool) -> Vec<((f64, f64), f64)> {
    let n = center.len();
    let normal = |i: usize| {
        let (dx, dy) = (center[i + 1].0 - center[i].0, center[i + 1].1 - center[i].1);
        let long = libm::hypot(dx, dy);
        (-dy / long, dx / long)
    };
    let beside: Vec<(f64, f64)> = (0..n)
        .map(|i| {
            let (a, b) = (normal(i.saturating_sub(1).min(n - 2)), normal(i.min(n - 2)));
            let (bx, by) = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
            let k = north / (bx * bx + by * by);
            (center[i].0 + bx * k, center[i].1 + by * k)
        })
        .collect();
    let mut line = vec![(0.0, -3.0 + north)];
    if east {
        line.extend(beside.iter().filter(|p| p.0 > 0.0));
    } else {
        line.extend(beside.iter().rev().filter(|p| p.0 < 0.0));
    }
    let mut long = 0.0;
    let mut with = vec![(line[0], 0.0)];
    for w in line.windows(2) {
        long += libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1);
        with.push((w[1], long));
    }
    with
}

fn own_place(line: &[((f64, f64), f64)], s: f64) -> (f64, f64) {
    let i = line.iter().position(|(_, long)| *long >= s).unwrap_or(line.len() - 1).max(1);
    let ((a, from), (b, to)) = (line[i - 1], line[i]);
    let t = (s - from) / (to - from);
    (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
}
