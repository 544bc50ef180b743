//! Ground that tires may use for one direction of travel: roads as drawn, drives, and, where no drive is drawn, the
//! land between the road and the gate.
use crate::clearance::{GateFrame, Region};
use crate::geometry::{Outline, Point};
use crate::site::{CONTINUES_M, Ground, Road, RoadUse, Side, Site, Travel, covers};

/// Land is considered up to this distance from the gate: farther than a vehicle is followed.
const LAND_REACH_M: f64 = 130.0;
/// Beyond its drawn ends a road still separates the land on its two sides, up to this distance.
const PARTS_LAND_M: f64 = 400.0;
/// Two rays about a corner, this far apart in radians, pass it on both sides: 0.01 mm at the edge of the land.
const BESIDE_RAD: f64 = 1e-7;

/// Ground that tires may use in a study of a site. The far edge of a road is a limit in either case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum GroundUse {
    /// Roads and drives as drawn, and nothing else.
    Drawn,
    /// No drive is drawn: roads as drawn, the land between road and gate, and the land behind the gate. Not the land across
    /// a road.
    LandBeforeGate,
}

impl GroundUse {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Drawn => "drawn",
            Self::LandBeforeGate => "land-before-gate",
        }
    }
}

/// Returns the ground that tires may use in a study of this site: as drawn where a drive is drawn.
///
/// On a road where vehicles keep to their own lane, tires may use that lane alone; where no drive is drawn, the other
/// half counts as land where it lies before the gate.
#[must_use]
pub fn ground_use(site: &Site) -> GroundUse {
    if site.drives.is_empty() { GroundUse::LandBeforeGate } else { GroundUse::Drawn }
}

/// One polygon of ground, with its holes.
type Piece = (Outline, Vec<Outline>);

/// Region where tires may go for one travel, in the gate's frame.
pub(super) fn ground(site: &Site, travel: &Travel) -> Option<Region> {
    let mut pieces = roads(site, Some(travel));
    if ground_use(site) == GroundUse::LandBeforeGate {
        pieces.extend(land(site, travel).map(|outline| (outline, Vec::new())));
    }
    pieces.extend(site.drives.iter().map(|drive| (drive.outer.clone(), drive.holes.clone())));
    region(site, &pieces)
}

/// All roads as drawn, in the gate's frame: where a vehicle may stand before it sets out.
pub(super) fn road_surface(site: &Site) -> Option<Region> {
    region(site, &roads(site, None))
}

fn region(site: &Site, pieces: &[Piece]) -> Option<Region> {
    let views: Vec<(&Outline, &[Outline])> = pieces.iter().map(|(o, h)| (o, h.as_slice())).collect();
    Region::new(&views, &GateFrame::of(&site.gate).origin)
}

/// Road surfaces: as drawn, with the continuations that the plan declares beyond their ends; if a travel is given, of a
/// road where vehicles keep to their own lane that lane alone.
fn roads(site: &Site, travel: Option<&Travel>) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for (index, road) in site.roads.iter().enumerate() {
        // A little back past the end, so that the two overlap.
        let on = |end: End| quad(end.at - end.along * 0.5, end.along, CONTINUES_M, road.width_m);
        let runs = ends(road).into_iter().filter(|(_, goes_on)| *goes_on).map(|(end, _)| on(end));
        let runs = runs.map(|outer| Ground { outer, ..Ground::default() });
        let mut surfaces: Vec<Ground> = std::iter::once(road.surface.clone()).chain(runs).collect();
        if let Some(lane) = travel.filter(|t| index == t.road).and_then(|t| own_lane(site, t)) {
            surfaces = surfaces.iter().flat_map(|surface| crate::site::within(surface, &lane)).collect();
        }
        pieces.extend(surfaces.into_iter().map(|surface| (surface.outer, surface.holes)));
    }
    pieces
}

/// Outline of the lane of a travel on a road where vehicles keep to their own lane: the half of the road on the side they
/// drive on. `None` on any other road, or where the road has one lane.
///
/// A strip centered on the lane would extend beyond the road's edge on the outside of a rounded bend.
fn own_lane(site: &Site, travel: &Travel) -> Option<Outline> {
    let road = site.roads.get(travel.road)?;
    let lane = &travel.lane;
    if road.usage != RoadUse::OwnLane || lane.width_m == road.width_m {
        return None;
    }
    let mut line = lane.road_line.clone();
    if site.drives_on == Side::Right {
        line.reverse();
    }
    let half = crate::site::left_half_of_strip(&line, road.width_m);
    Some(half.unwrap_or_else(|| crate::site::strip(&lane.centerline, lane.width_m).outer))
}

/// An end of a road's center line, and the direction out of it.
#[derive(Clone, Copy)]
struct End {
    at: Point,
    along: Point,
}

/// The two ends of a road, each with true if the road continues there.
fn ends(road: &Road) -> Vec<(End, bool)> {
    let line = &road.centerline;
    let [first, second, ..] = line.as_slice() else { return Vec::new() };
    let [.., before, last] = line.as_slice() else { return Vec::new() };
    let end = |from: Point, at: Point| (at - from).unit().map(|along| End { at, along });
    let list = [(end(*second, *first), road.continues.start), (end(*before, *last), road.continues.end)];
    list.into_iter().filter_map(|(end, goes_on)| Some((end?, goes_on))).collect()
}

fn quad(from: Point, along: Point, length_m: f64, width_m: f64) -> Outline {
    let (off, to) = (along.left() * (0.5 * width_m), from + along * length_m);
    Outline(vec![from - off, to - off, to + off, from + off])
}

/// Land seen from the middle of the gate without looking across a road: what lies between road and gate and behind the
/// gate. A road that ends at the gate or short of it, within 45 degrees of ahead, is seen across its end; any other
/// road but a turnaround separates the land beyond its drawn ends too. The other half of a road where vehicles keep to
/// their own lane lies before a gate on that side: it is crossed like the land there.
fn land(site: &Site, travel: &Travel) -> Option<Outline> {
    let eye = site.gate.center();
    let mut walls: Vec<(Point, Point)> = Vec::new();
    let used_road = site.roads.get(travel.road);
    let own_lane = used_road.zip(own_lane(site, travel)).map(|(road, outer)| Road {
        centerline: travel.lane.centerline.clone(),
        width_m: travel.lane.width_m,
        surface: Ground { outer, ..Ground::default() },
        ..road.clone()
    });
    for (index, road) in site.roads.iter().enumerate() {
        let road = own_lane.as_ref().filter(|_| index == travel.road).unwrap_or(road);
        walls.extend(road.surface.edges());
        // A turnaround has no ends beyond which it divides the land.
        let ends = if site.turnaround() == Some(index) { Vec::new() } else { ends(road) };
        for (end, _) in ends {
            let joins = site
                .roads
                .iter()
                .enumerate()
                .any(|(other, road)| other != index && covers(&road.surface, end.at));
            if joins {
                continue;
            }
            let gap = eye - end.at;
            let ahead = |of: Point| end.along.dot(of) > of.norm() * std::f64::consts::FRAC_1_SQRT_2;
            // A road that ends at the gate itself lies in no direction from it: the direction in which it leads through
            // decides.
            let ends_at_gate = gap.norm() < 0.5 * road.width_m && ahead(site.gate.inward);
            if ends_at_gate || ahead(gap) {
                // The land beside a road that leads to the gate does not lie between the road and the gate.
                let across = end.along.left();
                let edge = across * (0.5 * road.width_m);
                walls.push((end.at + edge, end.at + across * PARTS_LAND_M));
                walls.push((end.at - edge, end.at - across * PARTS_LAND_M));
            } else {
                walls.extend(quad(end.at, end.along, PARTS_LAND_M, road.width_m).edges());
            }
        }
    }
    let far = |x: f64, y: f64| eye + Point::new(x, y) * LAND_REACH_M;
    let window = [far(-1.0, -1.0), far(1.0, -1.0), far(1.0, 1.0), far(-1.0, 1.0)];
    walls.extend((0..4).map(|i| (window[i], window[(i + 1) % 4])));
    let seen = seen_from(eye, &walls);
    (seen.len() >= 3).then(|| Outline(seen).counterclockwise())
}

/// Visibility polygon of a point among opaque walls that close it in.
fn seen_from(eye: Point, walls: &[(Point, Point)]) -> Vec<Point> {
    let mut angles: Vec<f64> = Vec::with_capacity(6 * walls.len());
    for corner in walls.iter().flat_map(|(a, b)| [*a, *b]) {
        let toward = corner - eye;
        if toward.norm() > 1e-6 {
            angles.extend([-BESIDE_RAD, 0.0, BESIDE_RAD].map(|by| toward.angle() + by));
        }
    }
    // Walls may cross between their ends.
    for (i, (a, b)) in walls.iter().enumerate() {
        for (c, d) in &walls[i + 1..] {
            let (along, other, gap) = (*b - *a, *d - *c, *c - *a);
            let turn = along.cross(other);
            if turn.abs() > 1e-12 {
                let (s, t) = (gap.cross(other) / turn, gap.cross(along) / turn);
                if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) {
                    angles.push((*a + along * s - eye).angle());
                }
            }
        }
    }
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
    let hit = |angle: f64| {
        let ray = Point::at_angle(angle);
        let nearest = walls.iter().filter_map(|(a, b)| {
            let (along, gap) = (*b - *a, *a - eye);
            let turn = ray.cross(along);
            if turn.abs() < 1e-12 {
                return None;
            }
            let (far, part) = (gap.cross(along) / turn, gap.cross(ray) / turn);
            (far > 1e-9 && (-1e-9..=1.0 + 1e-9).contains(&part)).then_some(far)
        });
        nearest.min_by(f64::total_cmp).map(|far| eye + ray * far)
    };
    let mut seen: Vec<Point> = angles.into_iter().filter_map(hit).collect();
    seen.dedup_by(|a, b| a.distance(*b) < 1e-4);
    // Corners in the middle of a straight wall carry no information.
    let mut kept: Vec<Point> = Vec::with_capacity(seen.len());
    for i in 0..seen.len() {
        let before = kept.last().copied().unwrap_or(seen[seen.len() - 1]);
        let (here, after) = (seen[i], seen[(i + 1) % seen.len()]);
        let bend = (here - before).cross(after - here).abs();
        if bend > 1e-7 * (here - before).norm() * (after - here).norm() + 1e-9 {
            kept.push(here);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::distance;

    fn area(ring: &[Point]) -> f64 {
        Outline(ring.to_vec()).signed_area().abs()
    }

    /// A wall across half of a square room hides a trapezoid behind it.
    #[test]
    fn a_wall_hides_what_is_behind_it() {
        let p = Point::new;
        let room = [p(-10.0, -10.0), p(10.0, -10.0), p(10.0, 10.0), p(-10.0, 10.0)];
        let mut walls: Vec<(Point, Point)> = (0..4).map(|i| (room[i], room[(i + 1) % 4])).collect();
        assert!((area(&seen_from(p(0.0, 0.0), &walls)) - 400.0).abs() < 1e-3);
        // From (-5, 5) to (5, 5): hides the trapezoid from there to the far wall, 10 to 20 m wide and 5 m deep.
        walls.push((p(-5.0, 5.0), p(5.0, 5.0)));
        let seen = area(&seen_from(p(0.0, 0.0), &walls));
        assert!((seen - (400.0 - 75.0)).abs() < 1e-3, "{seen}");
    }

    /// `ground_use` agrees with the region that limits the tires, beside the drive, behind the gate and across the road.
    #[test]
    fn what_is_said_of_the_ground_is_so() {
        let drive = r#"{ "type": "Feature", "properties": { "role": "drive" },
            "geometry": { "type": "Polygon", "coordinates": [[[-4, -5], [4, -5], [4, 20], [-4, 20], [-4, -5]]] } }, "#;
        for (drawn, said, word) in
            [(drive, GroundUse::Drawn, "drawn"), ("", GroundUse::LandBeforeGate, "land-before-gate")]
        {
            let plan = format!(
                r#"{{ "type": "FeatureCollection", "plan": {{ "coordinates": "local-m" }}, "features": [ {drawn}
                {{ "type": "Feature", "properties": {{ "role": "road", "width": "6 m", "continues": "both" }},
                  "geometry": {{ "type": "LineString", "coordinates": [[-80, -8], [80, -8]] }} }},
                {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "none" }},
                  "geometry": {{ "type": "LineString", "coordinates": [[-2, 0], [2, 0]] }} }} ] }}"#
            );
            let site = crate::site::read(&plan, "plan").unwrap();
            assert_eq!((ground_use(&site), ground_use(&site).word()), (said, word));
            let region = ground(&site, &site.travels()[0]).unwrap();
            let may = |x: f64, y: f64| region.signed_distance(Point::new(x, y)) > 0.0;
            // On the road and the drive; on land before and behind the gate; across the road.
            assert!(may(20.0, -8.0) && may(0.0, -2.5) && may(3.0, 10.0));
            let land = said == GroundUse::LandBeforeGate;
            assert_eq!([may(10.0, -2.5), may(6.0, 10.0), may(0.0, -11.5)], [land, land, false]);
        }
    }

    /// Where vehicles keep to their own lane, the ground on the road is their half of it, at bends too: all of it, and
    /// nothing beside it. Both sides of driving, both directions, bends to both sides; each place is held to the center
    /// line of the road alone.
    #[test]
    fn the_own_lane_is_half_of_the_road_at_every_bend() {
        const WIDTH_M: f64 = 7.0;
        let plan = |bend_deg: i32, drives_on: &str| {
            let (sin, cos) = crate::geometry::trig::sin_cos(f64::from(bend_deg).to_radians());
            let (x, y) = (60.0 * cos, 60.0 * sin);
            format!(
                r#"{{ "type": "FeatureCollection", "plan": {{ "coordinates": "local-m", "drives_on": "{drives_on}" }},
                "features": [
                {{ "type": "Feature", "properties": {{ "role": "drive" }},
                  "geometry": {{ "type": "Polygon", "coordinates": [[[-23, 3], [-17, 3], [-17, 30], [-23, 30], [-23, 3]]] }} }},
                {{ "type": "Feature", "properties": {{ "role": "road", "width": {WIDTH_M}, "continues": "both", "use": "own-lane" }},
                  "geometry": {{ "type": "LineString", "coordinates": [[-60, 0], [0, 0], [{x}, {y}]] }} }},
                {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "none" }},
                  "geometry": {{ "type": "LineString", "coordinates": [[-22, 10], [-18, 10]] }} }} ] }}"#
            )
        };
        let mut places = 0;
        for bend_deg in [-115, -80, -50, -44, -20, 30, 44, 46, 70, 90, 110] {
            for drives_on in ["left", "right"] {
                let site = crate::site::read(&plan(bend_deg, drives_on), "bend").unwrap();
                let line = &site.roads[0].centerline;
                let directions: Vec<Point> = line.windows(2).map(|w| (w[1] - w[0]).unit().unwrap()).collect();
                for travel in site.travels() {
                    let region = ground(&site, &travel).unwrap();
                    let frame = GateFrame::of(&site.gate).origin;
                    let with = directions[0].dot(travel.direction) > 0.0;
                    for (i, j) in (0..240).flat_map(|i| (0..240).map(move |j| (i, j))) {
                        let p = Point::new(0.0613 * f64::from(i) - 7.3, 0.0617 * f64::from(j) - 7.4);
                        let near = |w: &[Point]| distance::nearest_on_segment(p, w[0], w[1]).distance(p);
                        let away = line.windows(2).map(near).fold(f64::INFINITY, f64::min);
                        // Left of both pieces where they turn left, of one of them where they turn right.
                        let left = directions.iter().map(|d| d.cross(p - line[1]));
                        let left = if bend_deg > 0 {
                            left.fold(f64::INFINITY, f64::min)
                        } else {
                            left.fold(f64::NEG_INFINITY, f64::max)
                        };
                        let own = if (drives_on == "left") == with { left } else { -left };
                        let allowed = region.signed_distance(frame.to_body(p)) > 0.0;
                        // A plain corner of a gentle bend reaches beyond the arc.
                        let plain = bend_deg.abs() < 45;
                        let off = own < -0.03 || (away > 0.5 * WIDTH_M + 0.03 && !plain);
                        assert!(!(allowed && off), "{bend_deg} {drives_on} {} {p:?}", travel.word);
                        assert!(
                            allowed || own < 0.03 || away > 0.5 * WIDTH_M - 0.03,
                            "{bend_deg} {drives_on} {} {p:?}",
                            travel.word
                        );
                        places += u32::from(allowed);
                    }
                }
            }
        }
        assert!(places > 100_000, "{places}");
    }

    /// The land beside a turnaround does not depend on the first vertex of its outline, and a mirrored plan has it mirrored.
    #[test]
    fn a_turnaround_does_not_divide_the_land() {
        let plan = |first: u32, side: f64| {
            let corner = |k: u32| {
                let p = Point::at_angle(std::f64::consts::TAU * f64::from(k) / 24.0) * 8.0;
                format!("[{}, {}]", side * p.x, p.y - 13.0)
            };
            let ring: Vec<String> = (first..=first + 24).map(corner).collect();
            format!(
                r#"{{ "type": "FeatureCollection", "plan": {{ "coordinates": "local-m" }}, "features": [
                {{ "type": "Feature", "properties": {{ "role": "road" }},
                  "geometry": {{ "type": "Polygon", "coordinates": [[{}]] }} }},
                {{ "type": "Feature", "properties": {{ "role": "road", "width": 4, "continues": "end" }},
                  "geometry": {{ "type": "LineString", "coordinates": [[0, -13], [{}, -13]] }} }},
                {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "none" }},
                  "geometry": {{ "type": "LineString", "coordinates": [[-2, 0], [2, 0]] }} }} ] }}"#,
                ring.join(", "),
                side * 40.0
            )
        };
        let region = |first: u32, side: f64| {
            let site = crate::site::read(&plan(first, side), "plan").unwrap();
            assert_eq!(site.turnaround(), Some(1));
            ground(&site, &site.travels()[0]).unwrap()
        };
        let drawn = region(0, 1.0);
        let [turned, mirrored] = [region(7, 1.0), region(0, -1.0)];
        let mut inside = 0;
        for (i, j) in (0..100).flat_map(|i| (0..60).map(move |j| (i, j))) {
            let p = Point::new(0.713 * f64::from(i) - 35.0, 0.687 * f64::from(j) - 30.0);
            let room = drawn.signed_distance(p).max(-1.0);
            for (other, at) in [(&turned, p), (&mirrored, Point::new(-p.x, p.y))] {
                assert!((other.signed_distance(at).max(-1.0) - room).abs() < 1e-3, "{p:?}");
            }
            inside += u32::from(room > 0.0);
        }
        // The lawn beside the turnaround on the side of the gate, to both sides, and nothing behind the road.
        let may = |x: f64, y: f64| drawn.signed_distance(Point::new(x, y)) > 0.0;
        assert!(may(-12.0, -8.0) && may(12.0, -8.0) && !may(20.0, -18.0) && !may(0.0, -23.0));
        assert!(inside > 2000, "{inside}");
    }

    /// In canonical form the ground has the same extent, to the grid's step, mirrored too.
    #[test]
    fn ground_in_canonical_form_is_the_same_ground() {
        let text = include_str!("../../tests/places/12-dead-end-road.geojson");
        let site = crate::site::read(text, "plan").unwrap();
        let travel = &site.travels()[0];
        let region = ground(&site, travel).unwrap();
        let (mut worst, mut inside) = (0.0_f64, 0);
        for mirrored in [false, true] {
            let form = region.canonical(mirrored);
            for i in 0..600 {
                for j in 0..400 {
                    let p = Point::new(-30.0 + 0.0873 * f64::from(i), -15.0 + 0.0871 * f64::from(j));
                    let there = Point::new(if mirrored { -p.x } else { p.x }, p.y);
                    // Far outside, neither gives the distance.
                    let (a, b) = (region.signed_distance(p).max(-1.0), form.signed_distance(there).max(-1.0));
                    inside += u32::from(a > 0.0);
                    if (a - b).abs() > 0.003 && worst < 0.003 {
                        println!("{p:?} {a} {b}");
                    }
                    worst = worst.max((a - b).abs());
                }
            }
        }
        assert!(inside > 10_000 && worst < 1.5 * crate::clearance::canonical::GRID_M, "{inside} {worst}");
    }
}
