//! The shapes of a site and of a vehicle's units, and places for labels on them.
use super::bodywork::details;
use super::scene::{Geom, Item, Role, View};
use crate::geometry::length::{Round, show};
use crate::geometry::{Outline, Point, Pose, Shape};
use crate::site::{Ground, Obstacle, Site};
use crate::sweep::{Envelope, union_in_order};
use crate::vehicle::{PartKind, Unit, Vehicle};
use std::f64::consts::TAU;

/// Height below which only tires meet a thing.
const LOW_M: f64 = 0.25;
/// Height above which a thing is overhead: above the hood of most vehicles.
const OVERHEAD_M: f64 = 1.5;
/// Corners of a round piece that is drawn as a ring: on a tree of a foot they are an inch apart.
const DISC_CORNERS: u32 = 48;

/// Places all over a panel, from its middle outward.
pub(super) fn panel_grid(view: &View) -> Vec<Point> {
    let step = 0.04;
    let mut shares: Vec<(f64, f64)> =
        (1..25).flat_map(|i| (1..25).map(move |j| (f64::from(i) * step, f64::from(j) * step))).collect();
    let far = |(x, y): &(f64, f64)| (x - 0.5).abs().max((y - 0.5).abs());
    shares.sort_by(|a, b| far(a).total_cmp(&far(b)));
    let right = -view.up.left();
    let site = |(x, y): (f64, f64)| {
        view.center
            + right * ((x - 0.5) * view.width / view.scale)
            + view.up * ((0.5 - y) * view.height / view.scale)
    };
    shares.into_iter().map(site).collect()
}

pub(super) fn rings(ground: &Ground) -> Vec<Vec<Point>> {
    std::iter::once(&ground.outer).chain(&ground.holes).map(|ring| ring.0.clone()).collect()
}

/// The label of an obstacle, with the meaning of its height to a driver.
pub(super) fn obstacle_words(obstacle: &Obstacle, site: &Site) -> String {
    if obstacle.bottom_m > OVERHEAD_M {
        return format!("{}, {} up", obstacle.label, show(obstacle.bottom_m, site.units, Round::Down));
    }
    obstacle.label.clone()
}

/// Places of a shape that are on the panel: its middle first, then its corners.
pub(super) fn shown(corners: &[Point], view: &View) -> Vec<Point> {
    let middle =
        corners.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / corners.len().max(1) as f64);
    let between = corners.iter().map(|p| (*p + middle) * 0.5);
    std::iter::once(middle)
        .chain(between)
        .chain(corners.iter().copied())
        .filter(|p| view.shows(*p, 12.0))
        .collect()
}

/// A line with points every meter, so that some of them are on the panel.
pub(super) fn sampled(line: &[Point]) -> Vec<Point> {
    let mut points = Vec::new();
    for pair in line.windows(2) {
        let length = pair[0].distance(pair[1]);
        let mut at = 0.0;
        while at < length {
            points.push(pair[0] + (pair[1] - pair[0]) * (at / length));
            at += 1.0;
        }
    }
    points.extend(line.last());
    points
}

/// A vehicle as it stands: the outline of each unit in a role, and what makes it look like a vehicle.
pub(super) fn vehicle_items(role: Role, vehicle: &Vehicle, poses: &[Pose], curvature: f64) -> Vec<Item> {
    let units = vehicle.units.iter().zip(poses);
    let mut items: Vec<Item> = units.flat_map(|(unit, pose)| unit_items(role, unit, pose)).collect();
    items.extend(details(vehicle, poses, curvature, role == Role::Ghost));
    items
}

/// A unit's outline, its mirrors and bodies in one.
pub(super) fn unit_items(role: Role, unit: &Unit, pose: &Pose) -> Vec<Item> {
    unit_outline(unit)
        .into_iter()
        .map(|rings| {
            let rings = rings.into_iter().map(|ring| ring.0.iter().map(|p| pose.to_site(*p)).collect());
            Item::new(role, Geom::Area(rings.collect()))
        })
        .collect()
}

/// The outline of a unit's body and mirrors in its own frame, as polygons of rings.
pub(super) fn unit_outline(unit: &Unit) -> Vec<Vec<Outline>> {
    let parts: Vec<Outline> =
        unit.parts.iter().filter(|p| p.kind != PartKind::Tire).map(|p| p.outline.clone()).collect();
    // Drawn piece by piece it is as accurate, only busier.
    united(parts.clone()).unwrap_or_else(|| parts.into_iter().map(|part| vec![part]).collect())
}

/// Pieces of ground as one, as polygons of rings; `None` where their union fails.
fn united(pieces: Vec<Outline>) -> Option<Vec<Vec<Outline>>> {
    let polygons = union_in_order(pieces).ok()?;
    Some(Envelope { polygons, over_m: 0.0, under_m: 0.0 }.rings())
}

/// The ground and everything that stands on it, without the gate.
pub(super) fn ground_items(site: &Site) -> Vec<Item> {
    let mut items = Vec::new();
    items.extend(site.drives.iter().map(|d| Item::new(Role::Drive, Geom::Area(rings(d)))));
    items.extend(road_areas(site).into_iter().map(|rings| Item::new(Role::Road, Geom::Area(rings))));
    let lined = site.roads.iter().enumerate().filter(|(index, _)| site.turnaround() != Some(*index));
    items.extend(lined.map(|(_, road)| Item::new(Role::CenterLine, Geom::Line(road.centerline.clone()))));
    for obstacle in &site.obstacles {
        let role = if obstacle.bottom_m > OVERHEAD_M {
            Role::Overhead
        } else if obstacle.top_m < LOW_M {
            Role::Low
        } else {
            Role::Obstacle
        };
        items.extend(obstacle_areas(obstacle).into_iter().map(|geom| Item::new(role, geom)));
    }
    items.extend(site.fences.iter().map(|f| Item::new(Role::Fence, Geom::Line(f.line.clone()))));
    items.extend(boundaries(site));
    items
}

/// Ground of an obstacle: the pieces of a bent wall as one, without the edges between them.
fn obstacle_areas(obstacle: &Obstacle) -> Vec<Geom> {
    let each = || {
        let geom = |shape: &Shape| match shape.outer.0.as_slice() {
            [center] => Geom::Disc { center: *center, radius_m: shape.radius_m },
            [from, to] => Geom::Area(vec![stadium(*from, *to, shape.radius_m)]),
            _ => Geom::Area(
                std::iter::once(&shape.outer).chain(&shape.holes).map(|ring| ring.0.clone()).collect(),
            ),
        };
        obstacle.shapes.iter().map(geom).collect()
    };
    if obstacle.shapes.len() < 2 || obstacle.shapes.iter().any(|shape| !shape.holes.is_empty()) {
        return each();
    }
    let outline = |shape: &Shape| match shape.outer.0.as_slice() {
        [center] => disc(*center, shape.radius_m),
        [from, to] => stadium(*from, *to, shape.radius_m),
        ring => ring.to_vec(),
    };
    let pieces = obstacle.shapes.iter().map(|shape| Outline(outline(shape))).collect();
    let Some(whole) = united(pieces) else { return each() };
    whole.into_iter().map(|rings| Geom::Area(rings.into_iter().map(|ring| ring.0).collect())).collect()
}

/// A disc as a ring of corners, near enough to a circle for a drawing.
fn disc(center: Point, radius_m: f64) -> Vec<Point> {
    (0..DISC_CORNERS)
        .map(|i| center + Point::at_angle(TAU * f64::from(i) / f64::from(DISC_CORNERS)) * radius_m)
        .collect()
}

/// Surfaces of the roads, each as its rings; where several roads meet, as one surface without edges across the junction.
fn road_areas(site: &Site) -> Vec<Vec<Vec<Point>>> {
    let each = || site.roads.iter().map(|road| rings(&road.surface)).collect();
    let is_plain = site.roads.iter().all(|road| road.surface.holes.is_empty());
    if site.roads.len() < 2 || !is_plain {
        return each();
    }
    let outlines = site.roads.iter().map(|road| road.surface.outer.clone()).collect();
    let Some(whole) = united(outlines) else { return each() };
    whole.into_iter().map(|rings| rings.into_iter().map(|ring| ring.0).collect()).collect()
}

/// Property and right-of-way lines.
fn boundaries(site: &Site) -> impl Iterator<Item = Item> + '_ {
    site.boundaries.iter().map(|b| Item::new(Role::Boundary, Geom::Line(b.line.clone())))
}

/// The edges of roads and drives and the lines of boundaries, over the ground a vehicle covers.
pub(super) fn ground_edges(site: &Site) -> Vec<Item> {
    let surfaces = site.drives.iter().flat_map(rings).chain(road_areas(site).into_iter().flatten());
    let closed = |ring: Vec<Point>| ring.iter().chain(ring.first()).copied().collect::<Vec<_>>();
    let edges = surfaces.map(closed);
    let edges = edges.map(|ring| Item::new(Role::GroundEdge, Geom::Line(ring)));
    edges.chain(boundaries(site)).collect()
}

/// All points within a radius of a segment, as a ring.
fn stadium(from: Point, to: Point, radius_m: f64) -> Vec<Point> {
    let along = (to - from).unit().unwrap_or(Point::new(1.0, 0.0));
    let angle = along.angle();
    let cap = |at: Point, start: f64| {
        (0..=8)
            .map(move |i| at + Point::at_angle(start + std::f64::consts::PI * f64::from(i) / 8.0) * radius_m)
    };
    let quarter = std::f64::consts::FRAC_PI_2;
    cap(to, angle - quarter).chain(cap(from, angle + quarter)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roads_that_meet_are_one_surface() {
        let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
            { "type": "Feature", "properties": { "role": "road", "width": 6 },
              "geometry": { "type": "LineString", "coordinates": [[-50, -9], [50, -9]] } },
            { "type": "Feature", "properties": { "role": "road", "width": 4 },
              "geometry": { "type": "LineString", "coordinates": [[12, -60], [12, -9]] } },
            { "type": "Feature", "properties": { "role": "gate" },
              "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
        let areas = road_areas(&crate::site::read(plan, "junction").unwrap());
        let [one] = areas.as_slice() else { panic!("{areas:?}") };
        let [ring] = one.as_slice() else { panic!("{one:?}") };
        // 100 by 6, and 4 by the 48 m up to its edge; eight corners, none of them in the junction.
        assert!((Outline(ring.clone()).signed_area().abs() - 792.0).abs() < 1e-3);
        assert_eq!(ring.len(), 8, "{ring:?}");
    }

    /// A wall that bends is drawn as one area: the edges of its pieces would look like a thing of its own at each bend.
    #[test]
    fn a_bent_wall_is_one_area() {
        let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
            { "type": "Feature", "properties": { "role": "road", "width": 6 },
              "geometry": { "type": "LineString", "coordinates": [[-50, -9], [50, -9]] } },
            { "type": "Feature", "properties": { "role": "obstacle", "label": "wall", "thickness": 0.4, "top": 2 },
              "geometry": { "type": "LineString", "coordinates": [[-9, 12], [0, 12], [9, 15]] } },
            { "type": "Feature", "properties": { "role": "gate" },
              "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
        let site = crate::site::read(plan, "wall").unwrap();
        assert!(site.obstacles[0].shapes.len() > 1, "in pieces, as it is searched");
        let areas = obstacle_areas(&site.obstacles[0]);
        let [Geom::Area(rings)] = areas.as_slice() else { panic!("{areas:?}") };
        // 9 m and 9.487 m long, 0.4 m thick, and the outside of the bend; its inside counts once.
        let area_m2 = Outline(rings[0].clone()).signed_area().abs();
        assert!(rings.len() == 1 && (area_m2 - 0.4 * (9.0 + 90_f64.sqrt())).abs() < 0.05, "{area_m2}");
    }
}
