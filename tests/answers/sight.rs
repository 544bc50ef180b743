//! Sight on leaving: worked triangles, heights, slender poles, leaves, laws, pedestrians, and what clears the sight.
use crate::common::random::Random;
use crate::common::sight_plan::{feature, line, polygon};
use serde_json::{Value, json};
use wideenough::drawing::sight_road_answer;
use wideenough::gate::RuleOutcome;
use wideenough::geometry::Point;
use wideenough::sight::{
    Class, Given, LookOutcome, MOST_BACK_M, RoadFinding, SightHeights, SightOptions, Solid, checks, hidden,
    sight_rule, survey, walk_rule,
};
use wideenough::site::{Side, Site, read};
use wideenough::vehicle;

const FOOT_M: f64 = 0.3048;

fn box_of(x: (f64, f64), y: (f64, f64), z: (f64, f64)) -> Solid {
    let corners = [(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)];
    Solid {
        corners: corners.map(|(x, y)| Point::new(x, y)).to_vec(),
        radius_m: 0.0,
        bottom_m: z.0,
        top_m: z.1,
    }
}

/// A road along x of two lanes of 12 ft, its near edge at y = 0, and a gate far back without leaves.
fn place(speed: &str, more: Vec<Value>) -> Value {
    let road = json!({ "width": "24 ft", "continues": "both", "speed": speed });
    let mut features = vec![
        feature("road", line(&[(-400.0, -12.0 * FOOT_M), (400.0, -12.0 * FOOT_M)]), road),
        feature("gate", line(&[(-3.0, 12.0), (3.0, 12.0)]), json!({ "leaves": "none" })),
    ];
    features.extend(more);
    json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-m", "units": "ft" }, "features": features })
}

fn site(plan: &Value) -> Site {
    read(&plan.to_string(), "test.geojson").unwrap_or_else(|e| panic!("{e}\n{plan}"))
}

fn asked(site: &Site, rule: &str, vehicles: &[&str], given: Given) -> RoadFinding {
    let vehicles: Vec<_> = vehicles.iter().map(|name| vehicle::find(name).unwrap()).collect();
    let options = SightOptions { rules: vec![*sight_rule(rule).unwrap()], walks: Vec::new(), given };
    survey(site, &vehicles, &options).roads.remove(0)
}

/// A pillar with its corner nearest to the road and the drive here.
fn pillar(x: f64, y: f64) -> Value {
    let far = if x < 0.0 { x - 0.6 } else { x + 0.6 };
    feature(
        "obstacle",
        polygon(&[(x.min(far), y), (x.max(far), y), (x.max(far), y + 0.6), (x.min(far), y + 0.6)]),
        json!({ "label": "pillar", "top": "6 ft" }),
    )
}

/// The worked triangle: eye 14.5 ft back, lanes of 12 ft, 335 ft to be seen. A column's face at a set-back must stand
/// farther aside than 335 (14.5 - s) / leg: there it just clears, a foot nearer it does not.
#[test]
fn a_column_at_the_worked_half_width_just_clears() {
    let table = [
        (0.0, 236.95, 149.46),
        (4.0, 171.59, 108.23),
        (8.0, 106.22, 67.00),
        (12.0, 40.85, 25.77),
        (14.0, 8.17, 5.15),
    ];
    let heights = SightHeights::level(3.5, 3.5);
    let eye = Point::new(0.0, 14.5);
    for (setback, near, far) in table {
        for (leg, published) in [(20.5, near), (32.5, far)] {
            let aside: f64 = 335.0 * (14.5 - setback) / leg;
            assert!((aside - published).abs() < 0.006, "{aside} {published}");
            let lane = [Point::new(0.0, 14.5 - leg), Point::new(-335.0, 14.5 - leg)];
            let column = |aside: f64| box_of((-aside - 2.0, -aside), (setback, setback + 2.0), (0.0, 6.0));
            assert_eq!(hidden(eye, &heights, &lane, &column(aside)), [], "at {setback}");
            assert!(!hidden(eye, &heights, &lane, &column(aside - 1.0)).is_empty(), "at {setback}");
        }
        // Set back as far as the eye it never intrudes.
        let lane = [Point::new(0.0, -6.0), Point::new(-335.0, -6.0)];
        assert_eq!(hidden(eye, &heights, &lane, &box_of((-8.0, -6.0), (14.5, 16.5), (0.0, 6.0))), []);
    }
}

/// The same through plans: a car, a truck and a combination at 30 mph; the column at the set-back its triangle allows.
#[test]
fn cars_trucks_and_combinations_at_their_own_set_back() {
    // Toward the far lane, right of the driver: 7.5, 9.5 and 11.5 s; eye 14.4 ft back, 18 ft to the middle of that lane.
    for (name, class, required) in [
        ("aashto-p", Class::PassengerCar, 335.0),
        ("aashto-su-30", Class::SingleUnit, 420.0),
        ("aashto-wb-62", Class::Combination, 510.0),
    ] {
        let (aside, setback) = (40.0, 0.0);
        // On the line of sight: aside = required (14.4 - s) / (14.4 + 18).
        let just: f64 = 14.4 - aside * 32.4 / required;
        let look = |s: f64| {
            // The driver faces -y and has west on the right.
            let plan = place("30 mph", vec![pillar(-aside * FOOT_M, s * FOOT_M)]);
            let finding = asked(&site(&plan), "us", &[name], Given::default());
            let looks = finding.looks.unwrap();
            assert_eq!(looks.len(), 2);
            looks.into_iter().find(|look| look.side == Side::Right).unwrap()
        };
        let clear = look(just + 1e-6);
        assert_eq!(clear.classes, [class]);
        assert!((clear.required_m / FOOT_M - required).abs() < 1e-9);
        assert_eq!(clear.outcome, LookOutcome::Enough, "{name}");
        let near = look(just - 1.0);
        assert_eq!(near.outcome, LookOutcome::Hidden, "{name}");
        assert!(near.visible_m < near.required_m);
        // It is told to move back by the foot it lacks, up to the inch, and then all is seen.
        let fix = near.hiders[0].fix;
        let inches = fix.back_m.unwrap() / 0.0254;
        assert!((12.0 - 1e-6..13.0).contains(&inches), "{inches}");
        assert_eq!(near.clear_moved, Some(true));
        assert!((fix.top_m.unwrap() / 0.0254 - 42.0).abs() < 1e-9, "{fix:?}");
        // Where it stands it hides from (14.4 - s) up, by the rule of three.
        let at_road = look(setback);
        let corner = aside * 32.4 / 14.4;
        assert!((at_road.visible_m / FOOT_M - corner).abs() < 1e-6, "{}", at_road.visible_m / FOOT_M);
    }
}

#[test]
fn splays_of_the_united_kingdom_have_the_worked_half_widths() {
    // y 43 m and x 2.4 m: clear half-width y (1 - s/x).
    for (setback, published) in [(0.5, 34.04), (1.0, 25.08), (1.5, 16.12), (2.0, 7.17)] {
        let aside: f64 = 43.0 * (1.0 - setback / 2.4);
        assert!((aside - published).abs() < 0.006);
        let seen = |aside: f64| {
            let plan = place("30 mph", vec![pillar(aside, setback)]);
            let finding = asked(&site(&plan), "uk-streets", &["car"], Given::default());
            let looks = finding.looks.unwrap();
            assert!(looks.iter().all(|look| look.required_m == 43.0));
            looks.into_iter().find(|look| look.side == Side::Left).unwrap().outcome
        };
        assert_eq!(seen(aside + 1e-6), LookOutcome::Enough, "at {setback}");
        assert_eq!(seen(aside - FOOT_M), LookOutcome::Hidden, "at {setback}");
    }
}

#[test]
fn northern_ireland_takes_x_and_y_from_the_user() {
    let low = |top: &str| {
        let mut wall = pillar(10.0, 0.5);
        wall["properties"]["top"] = json!(top);
        let given = Given { eye_back_m: Some(2.4), along_m: Some(60.0) };
        let found =
            asked(&site(&place("30 mph", vec![wall])), "northern-ireland", &["car"], given).looks.unwrap();
        found.into_iter().find(|look| look.side == Side::Left).unwrap().outcome
    };
    assert_eq!(low("0.25 m"), LookOutcome::Enough);
    assert_eq!(low("0.26 m"), LookOutcome::Hidden);
    let without = asked(&site(&place("30 mph", Vec::new())), "northern-ireland", &["car"], Given::default());
    assert!(without.looks.unwrap_err().contains("--sight-x"));
}

#[test]
fn heights_hide_what_they_hide() {
    let (eye, road) = (Point::default(), [Point::new(-40.0, 30.0), Point::new(40.0, 30.0)]);
    let dark = |heights: &SightHeights, z: (f64, f64)| {
        !hidden(eye, heights, &road, &box_of((-1.0, 1.0), (10.0, 10.5), z)).is_empty()
    };
    let level = SightHeights::level(1.07, 1.07);
    assert!(!dark(&level, (0.0, 1.07)) && dark(&level, (0.0, 1.0701)));
    assert!(!dark(&level, (1.07, 3.0)) && dark(&level, (1.0699, 3.0)));
    // From 1.2 m down to 0.6 m: at 10 of 30 m the line is at 1.0 m, at 10.5 m at 0.99 m.
    let down = SightHeights::level(1.2, 0.6);
    assert!(!dark(&down, (0.0, 0.9899)) && dark(&down, (0.0, 0.9901)));
    assert!(!dark(&down, (1.0001, 2.0)) && dark(&down, (0.9999, 2.0)));
    // Any line of a band that is hidden hides.
    let band = SightHeights { eye_m: (1.05, 2.0), object_m: (0.26, 1.05) };
    assert!(dark(&band, (0.0, 0.79)) && !dark(&band, (0.0, 0.77)));
    assert!(dark(&band, (1.67, 3.0)) && !dark(&band, (1.69, 3.0)));
}

/// Of two sides that lack, the one that lacks most speaks for the rule, and names the other.
#[test]
fn a_rule_says_that_the_other_side_lacks_too() {
    let said = |pillars: Vec<Value>| {
        let site = site(&place("35 mph", pillars));
        let options = SightOptions {
            rules: vec![*sight_rule("us").unwrap()],
            walks: Vec::new(),
            given: Given::default(),
        };
        let plan = survey(&site, &[vehicle::find("car").unwrap()], &options);
        let title = sight_road_answer(&plan.roads[0], site.units).1;
        match checks(&plan, &site).remove(0).outcome {
            RuleOutcome::Broken(difference) => [difference.what, title],
            other => [format!("{other:?}"), title],
        }
    };
    // The driver faces the road, along which x runs to the left.
    let (left, right) = (|| pillar(6.0, 0.5), || pillar(-6.0, 0.5));
    assert_eq!(said(Vec::new()), ["Kept", "Enough of the road is seen on leaving"]);
    let [one, title] = said(vec![left()]);
    // A pillar is narrow: beyond the stretch that it hides the road is seen again.
    assert!(
        title.starts_with("Not enough of the road is seen on leaving: to the driver's left, "),
        "{title}"
    );
    assert!(title.ends_with(" is hidden") && !title.contains("right"), "{title}");
    assert!(one.contains("visible to the left") && !one.contains("either"), "{one}");
    let [both, title] = said(vec![left(), right()]);
    assert_eq!(title.matches("to the driver's ").count(), 2, "{title}");
    assert!(title.contains(" is hidden; to the driver's "), "{title}");
    assert!(both.contains("visible to the ") && both.contains(", either)"), "{both}");
    assert!(both.contains("left") && both.contains("right"), "{both}");
}

#[test]
fn slender_columns_by_the_exemption_of_the_rule() {
    let pole = |radius: &str| {
        let geometry = json!({ "type": "Point", "coordinates": [8.0, 1.0] });
        let pole = feature("obstacle", geometry, json!({ "radius": radius, "label": "lamp" }));
        site(&place("30 mph", vec![pole]))
    };
    let left = |site: &Site, rule: &str| {
        let looks = asked(site, rule, &["car"], Given::default()).looks.unwrap();
        looks.into_iter().find(|look| look.side == Side::Left).unwrap()
    };
    assert_eq!(left(&pole("5.9 in"), "orlando").outcome, LookOutcome::Enough);
    assert_eq!(left(&pole("6.1 in"), "orlando").outcome, LookOutcome::Hidden);
    let look = left(&pole("5.9 in"), "us");
    assert_eq!(look.outcome, LookOutcome::Hidden);
    assert!(!look.hiders[0].height_known, "no height is given");
    // The shadow of a disc by its two tangents, worked here: eye 14.4 ft back, lane 6 ft beyond the edge.
    let (x, y, r) = (8.0_f64, 1.0 - 14.4 * FOOT_M, 5.9 * 0.0254_f64);
    let (angle, half) = (libm::atan2(x, -y), libm::asin(r / libm::hypot(x, y)));
    let at = |angle: f64| 20.4 * FOOT_M * libm::tan(angle);
    let (from, to) = look.hiders[0].hides_m[0];
    assert!((from - at(angle - half)).abs() < 1e-9 && (to - at(angle + half)).abs() < 1e-6, "{from} {to}");
}

#[test]
fn open_and_closed_leaves_hide_the_road() {
    let with = |leaves: Value, y: f64| {
        let mut plan = place("30 mph", Vec::new());
        plan["features"][1] = feature("gate", line(&[(-3.0, y), (3.0, y)]), leaves);
        asked(&site(&plan), "us", &["car"], Given::default()).looks.unwrap()
    };
    // Opening out over 3 m of drive, before an eye 4.39 m back: the leaves stand at both sides of it.
    let named = |looks: &[wideenough::sight::Look]| {
        looks.iter().flat_map(|l| l.hiders.iter().map(|h| h.what.clone())).collect::<Vec<String>>()
    };
    let out = with(json!({ "leaves": "double", "opens": "out" }), 4.0);
    assert!(named(&out).iter().any(|what| what == "right leaf, open"), "{:?}", named(&out));
    // An eye inside the gate line has the leaves open: only posts and open leaves count.
    assert!(!named(&out).iter().any(|what| what.contains("closed")));
    // An eye outside a closed gate has the leaves behind it.
    let back = with(json!({ "leaves": "double", "opens": "in" }), 6.0);
    assert!(named(&back).is_empty(), "{:?}", named(&back));
}

#[test]
fn a_road_drawn_too_short_is_not_called_enough_and_one_that_ends_is() {
    for (continues, outcome) in [("both", LookOutcome::NotDrawn), ("none", LookOutcome::ToTheEnd)] {
        let mut plan = place("30 mph", Vec::new());
        plan["features"][0]["geometry"] = line(&[(-60.0, -12.0 * FOOT_M), (60.0, -12.0 * FOOT_M)]);
        plan["features"][0]["properties"]["continues"] = json!(continues);
        let looks = asked(&site(&plan), "us", &["car"], Given::default()).looks.unwrap();
        assert!(looks.iter().all(|look| look.outcome == outcome && look.visible_m == 60.0), "{looks:?}");
    }
}

/// Where the road ends on another one, traffic turns in from there: it is not the end of what must be seen. A turnaround at its
/// end brings none.
#[test]
fn traffic_comes_from_a_road_that_this_one_ends_on() {
    let at_end = |other: Value| {
        let mut plan = place("30 mph", vec![other]);
        plan["features"][0]["geometry"] = line(&[(-60.0, -12.0 * FOOT_M), (60.0, -12.0 * FOOT_M)]);
        plan["features"][0]["properties"]["continues"] = json!("none");
        let looks = asked(&site(&plan), "us", &["car"], Given::default()).looks.unwrap();
        let of = |side: Side| looks.iter().find(|look| look.side == side).map(|look| look.outcome);
        (of(Side::Left), of(Side::Right))
    };
    // The driver who leaves looks south: west is to the right.
    let crossing = feature("road", line(&[(-63.0, -90.0), (-63.0, 90.0)]), json!({ "width": "24 ft" }));
    assert_eq!(at_end(crossing), (Some(LookOutcome::ToTheEnd), Some(LookOutcome::NotDrawn)));
    let bulb = polygon(&[(-80.0, -14.0), (-60.0, -14.0), (-60.0, 6.0), (-80.0, 6.0)]);
    let bulb = feature("road", bulb, json!({ "label": "bulb" }));
    assert_eq!(at_end(bulb), (Some(LookOutcome::ToTheEnd), Some(LookOutcome::ToTheEnd)));
}

/// A wall in a bend, between the road's own lanes: the traffic's line of sight to the drive. Half the bend is worked here.
#[test]
fn traffic_that_comes_sees_the_drive_round_a_bend() {
    // The road comes from the east along x and from (40, 0) on turns north; the wall stands inside the bend.
    let look = |top: f64| {
        let mut plan = place("30 mph", Vec::new());
        plan["features"][0]["geometry"] = line(&[(-100.0, -3.6576), (40.0, -3.6576), (40.0, 120.0)]);
        let wall = polygon(&[(30.0, 4.0), (31.0, 4.0), (31.0, 30.0), (30.0, 30.0)]);
        plan["features"].as_array_mut().unwrap().push(feature("obstacle", wall, json!({ "top": top })));
        let looks = asked(&site(&plan), "us", &["car"], Given::default()).looks.unwrap();
        looks.into_iter().find(|look| look.side == Side::Left).unwrap()
    };
    // Traffic from the left drives west in the northern lane, y = -1.8288, and south in the western one, x = 38.1712.
    let (lane_y, lane_x) = (-1.8288, 38.1712);
    // From (0, lane_y) past the wall's corner (30, 4)? The one at (31, 4) shows less.
    let rise = (4.0 - lane_y) / 31.0 * lane_x;
    let seen = look(3.0).approach_m.unwrap();
    assert!((seen - (lane_x + rise)).abs() < 2e-3, "{seen} {}", lane_x + rise);
    // At 2 ft the object's line rises to 3.5 ft: over a wall of 2 ft it is seen all the way.
    assert!((look(0.6).approach_m.unwrap() - look(0.6).drawn_m).abs() < 1e-9);
}

/// Driving on the left in the mirror: the same lengths, left and right exchanged.
#[test]
fn the_mirror_image_is_left_hand_traffic() {
    let one = place("35 mph", vec![pillar(9.0, 1.0), pillar(-14.0, 2.5)]);
    let mut other = place("35 mph", vec![pillar(-9.0, 1.0), pillar(14.0, 2.5)]);
    other["plan"]["drives_on"] = json!("left");
    let looks =
        |plan: &Value| asked(&site(plan), "us", &["car", "box-truck-26"], Given::default()).looks.unwrap();
    let (one, other) = (looks(&one), looks(&other));
    assert_eq!(one.len(), 4);
    for look in &one {
        let mirrored = other.iter().find(|l| l.side != look.side && l.classes == look.classes).unwrap();
        assert!((mirrored.required_m - look.required_m).abs() < 1e-12);
        assert!(
            (mirrored.visible_m - look.visible_m).abs() < 1e-9,
            "{} {}",
            mirrored.visible_m,
            look.visible_m
        );
        assert_eq!(mirrored.lane, look.lane);
    }
    assert!(one[0].required_m < one.last().unwrap().required_m, "the far lane needs more");
}

#[test]
fn lower_thinner_and_further_back_never_hide_more() {
    let mut random = Random(41);
    let (eye, lane) = (Point::new(0.0, 4.5), [Point::new(0.0, -2.0), Point::new(-120.0, -2.0)]);
    let within = |inner: &[(f64, f64)], outer: &[(f64, f64)]| {
        inner.iter().all(|i| outer.iter().any(|o| o.0 <= i.0 + 1e-9 && i.1 <= o.1 + 1e-9))
    };
    let mut seen = 0;
    for _ in 0..2000 {
        let heights = SightHeights {
            eye_m: (1.0, random.between(1.0, 2.0)),
            object_m: (0.4, random.between(0.4, 1.2)),
        };
        let (x, y) = (random.between(0.5, 30.0), random.between(0.0, 4.0));
        let disc = |r: f64, y: f64, top: f64| Solid {
            corners: vec![Point::new(-x - 1.0, y)],
            radius_m: r,
            bottom_m: 0.0,
            top_m: top,
        };
        let (r, top) = (random.between(0.05, 1.0), random.between(0.3, 3.0));
        let dark = hidden(eye, &heights, &lane, &disc(r, y, top));
        seen += usize::from(!dark.is_empty());
        assert!(within(&hidden(eye, &heights, &lane, &disc(r, y, top * random.between(0.1, 1.0))), &dark));
        assert!(within(&hidden(eye, &heights, &lane, &disc(r * random.between(0.1, 1.0), y, top)), &dark));
        let back =
            hidden(eye, &SightHeights::level(1.0, 1.0), &lane, &disc(r, y + random.between(0.0, 4.0), 2.0));
        let first = hidden(eye, &SightHeights::level(1.0, 1.0), &lane, &disc(r, y, 2.0));
        let start = |s: &[(f64, f64)]| s.first().map_or(120.0, |s| s.0);
        assert!(start(&back) >= start(&first) - 1e-9);
    }
    assert!(seen > 300, "{seen}");
}

#[test]
fn pedestrian_triangles_at_a_sidewalk() {
    let walk = feature(
        "drive",
        polygon(&[(-30.0, 1.0), (30.0, 1.0), (30.0, 3.0), (-30.0, 3.0)]),
        json!({ "label": "sidewalk" }),
    );
    let drive = feature("drive", polygon(&[(-3.0, 0.0), (3.0, 0.0), (3.0, 20.0), (-3.0, 20.0)]), json!({}));
    let with = |rule: &str, top: f64, y: f64| {
        let mut pillar = pillar(3.2, y);
        pillar["properties"]["top"] = json!(top);
        let site = site(&place("30 mph", vec![walk.clone(), drive.clone(), pillar]));
        let options = SightOptions { walks: vec![*walk_rule(rule).unwrap()], ..SightOptions::default() };
        survey(&site, &[], &options).walks.remove(0).triangles.unwrap()
    };
    // 10 by 10 ft from the back of the walk at y = 3: at x 0.2 m from the drive's edge it reaches 3.048 - 0.2 m back.
    let of = |rule: &str, top: f64, y: f64| {
        let triangles = with(rule, top, y);
        assert_eq!(triangles.len(), 2);
        assert_eq!(triangles[1].hiders.len(), 0, "nothing stands on the right");
        assert_eq!(triangles[0].side, Side::Left);
        triangles[0].hiders.first().map(|h| h.fix)
    };
    assert!(of("walk-el-segundo", 2.0, 3.0 + 3.048 - 0.2 + 1e-6).is_none());
    let fix = of("walk-el-segundo", 2.0, 3.0 + 3.048 - 0.2 - 0.1).unwrap();
    assert!((fix.back_m.unwrap() - 4.0 * 0.0254).abs() < 1e-9, "{fix:?}");
    assert!((fix.top_m.unwrap() - 30.0 * 0.0254).abs() < 1e-9, "{fix:?}");
    assert!(of("walk-el-segundo", 30.0 * 0.0254, 4.0).is_none());
    assert!(
        of("walk-western-australia", 2.0, 4.4).is_none() && of("walk-western-australia", 2.0, 4.2).is_some()
    );
    // From the middle of the drive: 2 m back and 2 m to the side do not come to its edge at 3 m.
    assert!(of("walk-northern-ireland", 2.0, 3.0).is_none());
    let without = site(&place("30 mph", Vec::new()));
    let options = SightOptions { walks: vec![*walk_rule("walk-essex").unwrap()], ..SightOptions::default() };
    assert!(survey(&without, &[], &options).walks[0].triangles.as_ref().unwrap_err().contains("sidewalk"));
}

/// What is told to clear the sight does, and a step less does not.
#[test]
fn amounts_that_clear_are_the_least() {
    let mut random = Random(5);
    let (mut moved, mut lowered) = (0, 0);
    for _ in 0..40 {
        let (x, y) = (random.between(4.0, 25.0), random.between(0.3, 3.0));
        let of = |y: f64, top: f64| {
            let mut pillar = pillar(x, y);
            pillar["properties"]["top"] = json!(top);
            let site = site(&place("30 mph", vec![pillar]));
            let looks = asked(&site, "uk-streets", &["car"], Given::default()).looks.unwrap();
            looks.into_iter().find(|look| look.side == Side::Left).unwrap()
        };
        let look = of(y, 1.8);
        let Some(hider) = look.hiders.first() else { continue };
        if let Some(back) = hider.fix.back_m {
            assert!(back <= MOST_BACK_M);
            assert_eq!(of(y + back, 1.8).outcome, LookOutcome::Enough);
            assert_eq!(of(y + back - 0.0254, 1.8).outcome, LookOutcome::Hidden);
            moved += 1;
        }
        let top = hider.fix.top_m.unwrap();
        assert_eq!(of(y, top).outcome, LookOutcome::Enough);
        assert_eq!(of(y, top + 0.0254).outcome, LookOutcome::Hidden);
        lowered += 1;
    }
    assert!(moved > 10 && lowered > 10, "{moved} {lowered}");
}
