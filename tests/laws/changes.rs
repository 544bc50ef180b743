//! Changes of a site are exact: what belongs to a change moves by the stated amount, and nothing else moves.
use crate::common::{rectangle, standard_site};
use wideenough::geometry::{Outline, Point, Shape};
use wideenough::site::changes::{Change, ChangeError};
use wideenough::site::{Fence, Ground, Obstacle, Site};

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn near(a: Point, b: Point) -> bool {
    a.distance(b) < 1e-9
}

fn all_near(a: &[Point], b: &[Point]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| near(*a, *b))
}

fn obstacle(label: &str, outer: Outline, top_m: f64) -> Obstacle {
    let shapes = vec![Shape { outer, holes: vec![], radius_m: 0.0 }];
    Obstacle { label: label.to_owned(), shapes, bottom_m: 0.0, top_m }
}

/// The standard site with setback 4.5 (gate line at y = 4.7), an apron with a ditch on each side, a tree by the apron,
/// and a fence that turns off the gate line toward the back.
fn site() -> Site {
    let mut site = standard_site(4.5);
    site.drives = vec![
        Ground {
            label: "apron".to_owned(),
            outer: Outline(vec![p(-4.0, 0.0), p(4.0, 0.0), p(3.0, 4.7), p(-3.0, 4.7)]),
            holes: vec![],
        },
        Ground { label: "yard".to_owned(), outer: rectangle(-10.0, 4.7, 10.0, 30.0), holes: vec![] },
    ];
    site.obstacles.push(obstacle("ditch", rectangle(5.0, 1.0, 50.0, 2.0), 0.0));
    site.obstacles.push(obstacle("tree", rectangle(-6.0, 1.0, -5.5, 1.5), 9.0));
    site.fences[1].line = vec![p(2.0, 4.7), p(20.0, 4.7), p(24.0, 20.0)];
    site
}

/// Checks that everything except what `but` names is unchanged.
fn unchanged(before: &Site, after: &Site, but: &[&str]) {
    let kept = |what: &str| !but.contains(&what);
    assert!(!kept("roads") || before.roads == after.roads, "roads");
    assert!(!kept("drives") || before.drives == after.drives, "drives");
    assert!(!kept("gate") || before.gate == after.gate, "gate");
    assert!(!kept("fences") || before.fences == after.fences, "fences");
    assert!(!kept("obstacles") || before.obstacles == after.obstacles, "obstacles");
    assert!(before.spots == after.spots && before.routes == after.routes);
}

#[test]
fn further_back_moves_gate_and_fences_in_line() {
    let site = site();
    let back = Change::Setback(1.25).apply(&site).unwrap();
    unchanged(&site, &back, &["gate", "fences"]);
    assert!(near(back.gate.left, p(-2.0, 5.95)) && near(back.gate.right, p(2.0, 5.95)));
    assert!((back.gate.setback_m - 5.95).abs() < 1e-9 && back.gate.skew_rad.abs() < 1e-12);
    assert!(all_near(&back.fences[0].line, &[p(-200.0, 5.95), p(-2.0, 5.95)]));
    // The corner in the line moves and the one off it stays: the fence is still in one piece.
    assert!(all_near(&back.fences[1].line, &[p(2.0, 5.95), p(20.0, 5.95), p(24.0, 20.0)]));
    let again = Change::Setback(-1.25).apply(&back).unwrap();
    assert!(near(again.gate.left, site.gate.left) && all_near(&again.fences[1].line, &site.fences[1].line));
    // Posts 0.4 m deep whose line is 0.1 m from the road would stand in it; so would a gate beyond the road.
    assert_eq!(Change::Setback(-4.6).apply(&site).unwrap_err(), ChangeError::InRoad);
    assert_eq!(Change::Setback(-15.0).apply(&site).unwrap_err(), ChangeError::InRoad);
    assert!(Change::Setback(-4.4).apply(&site).is_ok());
}

#[test]
fn a_wider_road_moves_its_far_edge_and_what_stands_beyond() {
    let site = site();
    let wide = Change::RoadWidth(0.6).apply(&site).unwrap();
    unchanged(&site, &wide, &["roads", "obstacles"]);
    let road = &wide.roads[0];
    assert!((road.width_m - 6.6).abs() < 1e-12);
    assert!(all_near(&road.centerline, &[p(-200.0, -3.3), p(200.0, -3.3)]));
    assert!(all_near(&road.surface.outer.0, &rectangle(-200.0, -6.6, 200.0, 0.0).0));
    assert!(all_near(&wide.obstacles[0].shapes[0].outer.0, &rectangle(-200.0, -6.9, 200.0, -6.6).0));
    assert_eq!(wide.obstacles[1..], site.obstacles[1..]);
    assert_eq!(Change::RoadWidth(-4.6).apply(&site).unwrap_err(), ChangeError::NothingLeft);
    // Both lanes are half a road wide and the near one still begins at the edge beside the gate.
    for travel in wide.travels() {
        assert!((travel.lane.width_m - 3.3).abs() < 1e-12);
    }
}

/// A road drawn as a line with a bend keeps its near edge, corner for corner.
#[test]
fn a_bent_road_keeps_its_near_edge() {
    let text = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
        { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
          "geometry": { "type": "LineString", "coordinates": [[-50, 5], [-10, 0], [10, 0], [50, 8]] } },
        { "type": "Feature", "properties": { "role": "gate" },
          "geometry": { "type": "LineString", "coordinates": [[-2, 8], [2, 8]] } } ] }"#;
    let site = wideenough::site::read(text, "bent.geojson").unwrap();
    let wide = Change::RoadWidth(1.0).apply(&site).unwrap();
    let (old, new) = (&site.roads[0].surface.outer.0, &wide.roads[0].surface.outer.0);
    let kept = old.iter().filter(|a| new.iter().any(|b| near(**a, *b))).count();
    assert_eq!((old.len(), new.len(), kept), (8, 8, 4), "{old:?} {new:?}");
    let nearest = |ring: &[Point]| ring.iter().map(|c| c.y).fold(f64::INFINITY, f64::min);
    assert!(nearest(new) < nearest(old) - 0.9);
    assert!((wide.gate.setback_m - site.gate.setback_m).abs() < 1e-9);
}

#[test]
fn a_flare_tapers_to_nothing_at_the_gate() {
    let site = site();
    let flared = Change::ApronFlare(0.9).apply(&site).unwrap();
    unchanged(&site, &flared, &["drives", "obstacles"]);
    let apron = [p(-4.9, 0.0), p(4.9, 0.0), p(3.0, 4.7), p(-3.0, 4.7)];
    assert!(all_near(&flared.drives[0].outer.0, &apron));
    assert_eq!(flared.drives[1], site.drives[1]);
    // The ditch gives way by its share, a meter off the road; the tree does not.
    let ditch = &flared.obstacles[1].shapes[0].outer.0;
    assert!(near(ditch[0], p(5.0 + 0.9 * (1.0 - 1.0 / 4.7), 1.0)), "{ditch:?}");
    assert_eq!(flared.obstacles[2], site.obstacles[2]);
    assert_eq!(Change::ApronFlare(0.3).apply(&standard_site(4.5)).unwrap_err(), ChangeError::NoDrive);
    assert_eq!(Change::ApronFlare(-4.1).apply(&site).unwrap_err(), ChangeError::NothingLeft);
}

#[test]
fn posts_grow_across_the_line_only() {
    let site = site();
    let deep = Change::PostDepth(0.3).apply(&site).unwrap();
    unchanged(&site, &deep, &["gate"]);
    assert!((deep.gate.post.depth_m - 0.7).abs() < 1e-12);
    assert_eq!(deep.gate.post.width_m, site.gate.post.width_m);
    assert_eq!(Change::PostDepth(-0.4).apply(&site).unwrap_err(), ChangeError::NothingLeft);
}

#[test]
fn a_turned_gate_turns_its_fences_and_ends_them_at_the_road() {
    let site = site();
    let by = 20f64.to_radians();
    let turned = Change::Skew(by).apply(&site).unwrap();
    unchanged(&site, &turned, &["gate", "fences"]);
    let (sin, cos) = (wideenough::geometry::trig::sin(by), wideenough::geometry::trig::cos(by));
    assert!(near(turned.gate.left, p(-2.0 * cos, 4.7 - 2.0 * sin)), "counterclockwise");
    assert!(near(turned.gate.inward, p(-sin, cos)));
    assert!((turned.gate.skew_rad - by).abs() < 1e-12 && (turned.gate.setback_m - 4.7).abs() < 1e-9);
    // The left fence, 0.4 m thick, ends where its corner would reach the road's edge.
    let end = turned.fences[0].line[0];
    assert!(end.y > 0.0 && (end.y - 0.2).abs() < 1e-6, "{end:?}");
    assert!(turned.gate.to_gate(end).y.abs() < 1e-9, "still in line");
    // The right one runs free, and its last corner, off the line, stays.
    assert!(near(turned.fences[1].line[1], p(20.0 * cos, 4.7 + 20.0 * sin)));
    assert!(near(turned.fences[1].line[2], p(24.0, 20.0)));
    assert_eq!(Change::Skew(1.55).apply(&site).unwrap_err(), ChangeError::PointsAtRoad);
    let mut close = standard_site(0.3);
    close.fences.clear();
    assert_eq!(Change::Skew(0.5).apply(&close).unwrap_err(), ChangeError::InRoad);
}

#[test]
fn along_the_line_one_fence_grows_and_the_other_gives_way() {
    let mut site = site();
    site.fences.push(Fence { line: vec![p(2.5, 4.7), p(3.5, 4.7)], ..site.fences[0].clone() });
    let moved = Change::Along(3.0).apply(&site).unwrap();
    unchanged(&site, &moved, &["gate", "fences"]);
    assert!(near(moved.gate.left, p(1.0, 4.7)) && near(moved.gate.right, p(5.0, 4.7)));
    assert!(all_near(&moved.fences[0].line, &[p(-200.0, 4.7), p(1.0, 4.7)]));
    assert!(all_near(&moved.fences[1].line, &[p(5.0, 4.7), p(20.0, 4.7), p(24.0, 20.0)]));
    assert_eq!(moved.fences.len(), 2, "what the gate passed is gone");
    let back = Change::Along(-3.0).apply(&site).unwrap();
    assert!(near(back.fences[0].line[1], p(-5.0, 4.7)) && near(back.fences[1].line[0], p(-1.0, 4.7)));
}
