//! The smallest fix: a changed plan is the plan with that change made and nothing else, a proposed fix holds when
//! anyone studies that plan, and less of it would not do.

use crate::common::standard_site;
use serde_json::Value;
use std::path::PathBuf;
use wideenough::geometry::{Outline, Point};
use wideenough::opening::{
    Fix, FixKind, StudyOptions, Verdict, Wanted, WhyNone, fixes, study, vehicle_verdict,
};
use wideenough::site::changes::Change;
use wideenough::site::{Arrangement, Leaves, Side, Site, Swing, read, rewrite};
use wideenough::vehicle::find;

const EXAMPLES: [&str; 6] =
    ["equipment-yard", "field-sketch", "rural-entrance", "small-lane", "town-lot", "workshop-lane"];

fn plan(example: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("examples").join(format!("{example}.geojson"));
    std::fs::read_to_string(path).unwrap()
}

fn same(text: &str) -> String {
    text.to_owned()
}

/// All corners of a site but the roads', in its gate's frame: a plan in longitude and latitude is projected around the
/// middle of its own gate.
fn corners(site: &Site) -> Vec<Vec<Point>> {
    let ring = |o: &Outline| o.0.clone();
    let drives = site.drives.iter().map(|d| ring(&d.outer));
    let obstacles = site.obstacles.iter().flat_map(|o| &o.shapes).map(|s| ring(&s.outer));
    let fences = site.fences.iter().map(|f| f.line.clone());
    let lines = drives.chain(obstacles).chain(fences).chain([vec![site.gate.left, site.gate.right]]);
    lines.map(|line| line.into_iter().map(|p| site.gate.to_gate(p)).collect()).collect()
}

/// Largest distance of any corner of one line from the other line's corners.
fn apart(a: &[Point], b: &[Point]) -> f64 {
    let to = |p: &Point| b.iter().map(|q| q.distance(*p)).fold(f64::INFINITY, f64::min);
    a.iter().map(to).fold(0.0, f64::max)
}

#[test]
fn a_changed_plan_says_what_the_change_does() {
    let leaves = Leaves {
        arrangement: Arrangement::Single(Side::Right),
        opens: Swing::Out,
        ..standard_site(1.0).gate.leaves
    };
    let mut looked_at = 0;
    for example in EXAMPLES {
        let text = plan(example);
        let site = read(&text, example).unwrap();
        let kept = Leaves {
            thickness_m: site.gate.leaves.thickness_m,
            bottom_m: site.gate.leaves.bottom_m,
            top_m: site.gate.leaves.top_m,
            open_angle_rad: 120f64.to_radians(),
            ..leaves
        };
        for change in [
            Change::Opening(0.5),
            Change::Opening(-0.4),
            Change::Setback(1.0),
            Change::Skew(0.1),
            Change::Skew(-0.1),
            Change::Along(0.7),
            Change::PostDepth(0.1),
            Change::ApronFlare(0.6),
            Change::Leaves(kept),
        ] {
            let Ok(wanted) = change.apply(&site) else { continue };
            let changed = rewrite(&text, &change, &same).unwrap();
            let again = read(&changed.to_string(), "changed").unwrap();
            let case = format!("{example}, {change:?}");
            assert_eq!(again.frame.clone().to_plan(Point::default()).len(), 2);
            assert!((again.gate.opening_m() - wanted.gate.opening_m()).abs() < 1e-4, "{case}");
            assert!((again.gate.setback_m - wanted.gate.setback_m).abs() < 1e-4, "{case}");
            assert!((again.gate.skew_rad - wanted.gate.skew_rad).abs() < 1e-4, "{case}");
            assert!((again.gate.post.depth_m - wanted.gate.post.depth_m).abs() < 1e-9, "{case}");
            let (a, b) = (again.gate.leaves, wanted.gate.leaves);
            assert_eq!((a.arrangement, a.opens), (b.arrangement, b.opens), "{case}");
            assert!((a.open_angle_rad - b.open_angle_rad).abs() < 1e-7, "{case}");
            let (has, should) = (corners(&again), corners(&wanted));
            assert_eq!(has.len(), should.len(), "{case}");
            for (a, b) in has.iter().zip(&should) {
                let far = apart(a, b).max(apart(b, a));
                assert!(far < 2e-3, "{case}: {far} m");
            }
            looked_at += 1;
        }
    }
    assert!(looked_at >= 38, "only {looked_at} changes could be made");
}

/// Roles of the features that differ between two plans; the rest of the plan must be the same.
fn touched(before: &Value, after: &Value) -> Vec<String> {
    let mut rest = after.clone();
    rest["features"] = before["features"].clone();
    assert_eq!(*before, rest, "only features change");
    let features = |plan: &Value| plan["features"].as_array().unwrap().clone();
    let (before, after) = (features(before), features(after));
    assert_eq!(before.len(), after.len());
    let mut roles = Vec::new();
    for (a, b) in before.iter().zip(&after) {
        assert_eq!(a["properties"]["label"], b["properties"]["label"]);
        if a != b {
            roles.push(a["properties"]["role"].as_str().unwrap().to_owned());
        }
    }
    roles.dedup();
    roles
}

#[test]
fn only_what_changes_is_written_again() {
    let text = plan("rural-entrance");
    let before: Value = serde_json::from_str(&text).unwrap();
    let after = |change: Change| touched(&before, &rewrite(&text, &change, &same).unwrap());
    assert_eq!(after(Change::Opening(0.3)), ["gate", "fence"]);
    assert_eq!(after(Change::Setback(0.3)), ["gate", "fence"]);
    assert_eq!(after(Change::Skew(0.05)), ["gate", "fence"]);
    assert_eq!(after(Change::ApronFlare(0.3)), ["drive", "obstacle"]);
    assert_eq!(after(Change::Opening(0.0)), Vec::<String>::new());
    // Of the apron, only the corners between the road and the gate line.
    let flared = rewrite(&text, &Change::ApronFlare(0.3), &same).unwrap();
    let moved = |feature: usize| {
        let ring = |plan: &Value| {
            plan["features"][feature]["geometry"]["coordinates"][0].as_array().unwrap().clone()
        };
        ring(&before).iter().zip(ring(&flared)).filter(|(a, b)| **a != *b).count()
    };
    assert!(moved(1) >= 20, "{}", moved(1));
    assert_eq!(moved(2), 0, "the yard lies behind the gate");
    // Names in the list of vehicles are rewritten relative to the new place.
    let named = rewrite(&text, &Change::Opening(0.3), &|name| format!("../{name}")).unwrap();
    assert_eq!(named["plan"]["vehicles"][0], "../pickup");
}

#[test]
fn a_fence_in_pieces_gives_way_piece_by_piece() {
    let text = plan("field-sketch").replace(
        r#""LineString", "coordinates": [[-7.67, 0], [-120, 0]]"#,
        r#""MultiLineString", "coordinates": [[[-7.67, 0], [-8.4, 0]], [[-8.4, 0, 3], [-9, 0, 3], [-120, 0]]]"#,
    );
    // Two feet on each side: the first piece is gone, the second begins at the post.
    let wider = rewrite(&text, &Change::Opening(4.0 * 0.3048), &same).unwrap();
    let fence = &wider["features"][2]["geometry"]["coordinates"];
    assert_eq!(fence.to_string(), "[[[-9.67,0,3],[-120,0]]]");
    assert_eq!(read(&wider.to_string(), "wider").unwrap().fences.len(), 2);
    // With a fence that is too short as a whole, the feature goes.
    let short = plan("field-sketch").replace("[[-7.67, 0], [-120, 0]]", "[[-7.67, 0], [-8.4, 0]]");
    let wider = rewrite(&short, &Change::Opening(4.0 * 0.3048), &same).unwrap();
    assert_eq!(wider["features"].as_array().unwrap().len(), 8);
}

/// A small place in longitude and latitude: a lane, a fence, a gate for a pickup.
fn narrow(opening_m: f64, more: &str) -> String {
    // On the equator, where a meter is 1/110574.3 degrees of latitude and 1/111319.5 of longitude.
    let at = |x: f64, y: f64| format!("[{}, {}]", 10.0 + x / 111_319.490_8, y / 110_574.275_8);
    let line = |points: &[(f64, f64)]| {
        let list: Vec<String> = points.iter().map(|(x, y)| at(*x, *y)).collect();
        format!("\"type\": \"LineString\", \"coordinates\": [{}]", list.join(", "))
    };
    let half = 0.5 * opening_m;
    format!(
        r#"{{ "type": "FeatureCollection", "plan": {{ "title": "Narrow", "units": "m", "vehicles": ["pickup"] }},
        "surveyor": "kept", "features": [
        {{ "type": "Feature", "id": 7, "properties": {{ "role": "road", "width": "5 m", "continues": "both" }}, "geometry": {{ {} }} }},
        {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "none", "post": "0.2 m" }}, "geometry": {{ {} }} }},
        {{ "type": "Feature", "properties": {{ "role": "fence", "label": "west" }}, "geometry": {{ {} }} }},
        {{ "type": "Feature", "properties": {{ "role": "fence", "label": "east" }}, "geometry": {{ {} }} }},
        {{ "type": "Feature", "properties": {{ "role": "obstacle", "label": "bank", "thickness": "0.5 m" }}, "geometry": {{ {} }} }}
        {more} ] }}"#,
        line(&[(-60.0, -4.0), (60.0, -4.0)]),
        line(&[(-half, 0.0), (half, 0.0)]),
        line(&[(-half - 0.2, 0.0), (-40.0, 0.0)]),
        line(&[(half + 0.2, 0.0), (40.0, 0.0)]),
        line(&[(-60.0, -6.8), (60.0, -6.8)]),
    )
}

/// Drive in only, from one side: a single way in.
fn one_way() -> Vec<Wanted> {
    let mut wanted = Wanted::from(find("pickup").unwrap());
    wanted.visits = vec![wideenough::site::Visit::DriveInBackOut];
    wanted.travels = vec!["eastbound".to_owned()];
    vec![wanted]
}

fn options() -> StudyOptions {
    StudyOptions { changes: false, ..StudyOptions::default() }
}

fn verdict(plan: &str) -> Verdict {
    vehicle_verdict(&study(read(plan, "plan").unwrap(), &one_way(), &options(), &|_| ()), 0)
}

/// The amount of a fix, in its steps.
fn amount(fix: &Fix) -> f64 {
    let (step, _) = fix.kind.range(wideenough::geometry::Units::Meters);
    match fix.change {
        Change::Opening(by) | Change::Setback(by) | Change::Skew(by) => by / step,
        _ => panic!("{fix:?}"),
    }
}

#[test]
fn what_is_proposed_holds_and_is_the_least() {
    let text = narrow(3.3, "");
    let found = study(read(&text, "narrow").unwrap(), &one_way(), &options(), &|_| ());
    assert_eq!(vehicle_verdict(&found, 0), Verdict::Tight);
    let fixes = fixes(&found, &text, (&one_way(), &options()), &same, &|_| ());
    let kinds: Vec<FixKind> = fixes.found.iter().map(|fix| fix.kind).collect();
    assert_eq!(kinds, [FixKind::Wider, FixKind::FurtherBack, FixKind::Turned]);
    for fix in &fixes.found {
        assert_eq!((fix.goal, fix.verdicts.as_slice()), (Verdict::Comfortable, &[Verdict::Comfortable][..]));
        assert_eq!(verdict(&fix.plan.to_string()), Verdict::Comfortable, "{:?}", fix.kind);
        let whole = amount(fix).abs();
        assert!((whole - whole.round()).abs() < 1e-9 && whole >= 1.0, "{:?}: whole steps", fix.kind);
        assert_eq!(fix.plan["surveyor"], "kept");
        assert_eq!(fix.plan["features"][0]["id"], 7);
        // A quarter less is not enough: of the width, where nothing is searched, not even a step less.
        let step = fix.kind.range(wideenough::geometry::Units::Meters).0;
        let less = if fix.kind == FixKind::Wider { whole - 1.0 } else { (0.75 * whole).floor() } * step;
        let change = match fix.change {
            Change::Opening(_) => Change::Opening(less),
            Change::Setback(_) => Change::Setback(less),
            Change::Skew(by) => Change::Skew(less.copysign(by)),
            other => other,
        };
        let plan = rewrite(&text, &change, &same).unwrap().to_string();
        assert_eq!(verdict(&plan), Verdict::Tight, "{:?} by {} steps of {whole}", fix.kind, less / step);
    }
    let none: Vec<(FixKind, bool)> =
        fixes.none.iter().map(|n| (n.kind, matches!(n.why, WhyNone::CannotBe(_)))).collect();
    assert_eq!(none, [(FixKind::Flared, true), (FixKind::OtherLeaf, true)], "no apron, no leaf");
}

#[test]
fn two_goals_where_it_does_not_pass_at_all() {
    let text = narrow(2.3, "");
    let found = study(read(&text, "narrow").unwrap(), &one_way(), &options(), &|_| ());
    assert_eq!(vehicle_verdict(&found, 0), Verdict::No);
    let need = &found.needs[0];
    let fixes = fixes(&found, &text, (&one_way(), &options()), &same, &|_| ());
    let wider: Vec<&Fix> = fixes.found.iter().filter(|fix| fix.kind == FixKind::Wider).collect();
    assert_eq!(wider.iter().map(|fix| fix.goal).collect::<Vec<_>>(), [Verdict::Tight, Verdict::Comfortable]);
    for (fix, need) in wider.iter().zip([need.bare_opening_m, need.comfortable_opening_m]) {
        let Change::Opening(by) = fix.change else { panic!("{fix:?}") };
        let over = 2.3 + by - need.unwrap();
        assert!((0.0..0.05 + 1e-9).contains(&over), "{over} more than is needed");
        assert!(fix.verdicts[0] >= fix.goal);
    }
    // Setting it back saves nothing of the vehicle's own width: 2.3 m is never enough.
    let back = fixes.none.iter().find(|none| none.kind == FixKind::FurtherBack).unwrap();
    assert!(matches!(back.why, WhyNone::NotWithin(m) if m > 10.0), "{back:?}");
}

#[test]
fn a_post_is_not_proposed_where_something_stands() {
    // A stump just beyond each post, which a pickup passes over: the gate cannot be widened.
    let stump = |x: f64, radius_m: f64| {
        let at = format!("[{}, {}]", 10.0 + x / 111_319.490_8, 0.35 / 110_574.275_8);
        format!(
            r#", {{ "type": "Feature", "properties": {{ "role": "obstacle", "label": "stump", "radius": {radius_m}, "top": "0.21 m" }},
            "geometry": {{ "type": "Point", "coordinates": {at} }} }}"#
        )
    };
    let beyond = stump(-2.2, 0.4) + &stump(2.2, 0.4);
    // A post that stands in one stump already makes no room in another of that name.
    for more in [beyond.clone(), stump(-1.75, 0.26) + &beyond] {
        let text = narrow(3.3, &more);
        let found = study(read(&text, "stumps").unwrap(), &one_way(), &options(), &|_| ());
        let fixes = fixes(&found, &text, (&one_way(), &options()), &same, &|_| ());
        let wider = fixes.none.iter().find(|none| none.kind == FixKind::Wider).unwrap();
        assert_eq!(wider.why, WhyNone::CannotBe("a post would stand in \"stump\"".to_owned()));
    }
}

#[test]
fn nothing_is_mended_that_is_whole() {
    let text = narrow(5.0, "");
    let found = study(read(&text, "wide").unwrap(), &one_way(), &options(), &|_| ());
    assert_eq!(fixes(&found, &text, (&one_way(), &options()), &same, &|_| ()), Default::default());
}

/// A route drawn straight in, 0.3 m right of the middle, and nothing else requested: the opening must be wider by twice
/// its reach to that side; going farther back or turning the gate line saves a straight path nothing.
#[test]
fn a_drawn_route_alone_is_mended_as_drawn() {
    let at = |x: f64, y: f64| format!("[{}, {}]", 10.0 + x / 111_319.490_8, y / 110_574.275_8);
    let route = format!(
        r#", {{ "type": "Feature", "properties": {{ "role": "route", "vehicle": "pickup", "track": "rear-axle" }},
        "geometry": {{ "type": "LineString", "coordinates": [{}, {}] }} }}"#,
        at(0.3, -5.0),
        at(0.3, 40.0)
    );
    let text = narrow(3.3, &route);
    let vehicle = find("pickup").unwrap();
    let corners = vehicle.units[0].parts.iter().flat_map(|part| &part.outline.0);
    let reaches_m = corners.map(|p| p.y.abs()).fold(0.0, f64::max);
    let need_m = 2.0 * (0.3 + reaches_m + options().clearance_m);
    // From a direction of travel that does not exist.
    let wanted = vec![Wanted { vehicle, visits: vec![], travels: vec!["northbound".to_owned()] }];
    let found = study(read(&text, "route").unwrap(), &wanted, &options(), &|_| ());
    assert_eq!((found.cases.len(), vehicle_verdict(&found, 0)), (1, Verdict::Tight), "{:?}", found.cases);
    let fixes = fixes(&found, &text, (&wanted, &options()), &same, &|_| ());
    let [wider] = fixes.found.as_slice() else { panic!("{:?}", fixes.found) };
    let Change::Opening(by) = wider.change else { panic!("{wider:?}") };
    let over = 3.3 + by - need_m;
    assert!((0.0..0.05 + 1e-3).contains(&over), "{over} more than {need_m}");
    let why = |kind: FixKind| fixes.none.iter().find(|none| none.kind == kind).map(|none| &none.why);
    for kind in [FixKind::FurtherBack, FixKind::Turned] {
        assert!(matches!(why(kind), Some(WhyNone::NotWithin(_))), "{kind:?}: {:?}", why(kind));
    }
}
