//! Contradictions between the features of a plan: each is well formed by itself, but together they cannot be intended.
//!
//! A fault if no vehicle of any kind could get in (a fence across the opening, a spot inside a building); a warning if
//! the plan can be studied, though its answer would surprise. Whatever stands beside the road or on a part of it (a car
//! parked opposite, a hedge) contradicts nothing.
use super::fault::{Notes, Who};
use super::gate::ON_THE_EDGE_M;
use super::in_opening::{fences_across, obstacles_in_opening};
use super::lines::{covers, polygon, reach, strip, wall};
use super::travel::{End, Travel, ends_at};
use super::{Anchor, Gate, Ground, Obstacle, Road, Side, Site};
use crate::geometry::length::{Round, Units, show};
use crate::geometry::polyline::{length, length_to, nearest_on, segments};
use crate::geometry::{Outline, Point, Shape};
use geo::BooleanOps;
use std::f64::consts::TAU;

/// Height above which an obstacle stops a bumper. Bumpers of passenger cars reach from 16 to 20 in above the ground
/// (49 CFR 581.5).
const BUMPER_M: f64 = 0.5;
/// Height of the roof of the lowest vehicle, a low car's (from memory): an obstacle that hangs higher can be passed
/// under.
const LOWEST_ROOF_M: f64 = 1.2;
/// A length that every road vehicle exceeds (from memory; a car of two seats is 2.7 m, and nobody builds a gate for
/// it).
const ANY_VEHICLE_M: f64 = 3.5;
/// A width that no vehicle is below (a small car's body is 1.5 m wide; from memory).
const NARROWEST_M: f64 = 1.5;
/// An obstacle blocks a lane over its whole width if it leaves less than this on either side: a foot, no more than one
/// keeps from a parked car.
const LANE_LEFT_M: f64 = 0.3;
/// A wall behind the gate blocks the whole opening if it leaves less than this at either post.
const WALL_LEFT_M: f64 = 1.0;
/// A fence that begins farther than this from a post is not the one the gate stands in.
const FENCE_GAP_M: f64 = 0.5;
/// Roads narrower, shorter or smaller than these are in the wrong units.
const LEAST_ROAD_WIDTH_M: f64 = 2.0;
const LEAST_ROAD_LENGTH_M: f64 = 5.0;
const LEAST_ROAD_AREA_M2: f64 = 20.0;
/// Lines of sight across the opening, from post to post.
const SIGHTS: u32 = 9;
/// Corners compared before the remaining obstacles on roads are skipped: a second's work, and more than any site has.
const MOST_CORNERS: usize = 50_000_000;

/// The features that the parts of a site come from, in the order of the site's own lists.
#[derive(Default)]
pub(super) struct Drawn {
    pub(super) gate: Who,
    pub(super) roads: Vec<Who>,
    pub(super) drives: Vec<Who>,
    pub(super) fences: Vec<Who>,
    pub(super) obstacles: Vec<Who>,
    pub(super) spots: Vec<Who>,
}

/// Notes every contradiction of a site.
pub(super) fn check(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let things = things(site, drawn);
    // A fence across the opening is said once.
    if !fences_across(site, drawn, notes) && !wall_behind(site, &things, notes) {
        obstacles_in_opening(site, drawn, notes);
    }
    on_the_roads(site, &things, notes);
    spots(site, drawn, notes);
    if super::joined::check(site, drawn, notes) {
        super::narrow_ground::check(site, drawn, notes);
    }
    on_the_edge(site, drawn, notes);
    absurd_road(site, drawn, notes);
    super::other_roads::check(site, drawn, notes);
    super::own_lane::check(site, drawn, notes);
    free_without_fence(site, drawn, notes);
}

/// Warnings about directions in which the road is drawn too short for a vehicle of this overall length to stand on it
/// before the gate, unless the plan says that the road continues there.
///
/// Directions that no vehicle of the plan is required to come from, and those that do not lead to the gate at all
/// ([`Site::not_asked`]), are left out.
///
/// ```
/// let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-ft" }, "features": [
///   { "type": "Feature", "properties": { "role": "road", "width": "20 ft" },
///     "geometry": { "type": "LineString", "coordinates": [[-100, 0], [30, 0]] } },
///   { "type": "Feature", "properties": { "role": "gate" },
///     "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } } ] }"#;
/// let site = wideenough::site::read(plan, "field.geojson").unwrap();
/// assert_eq!(
///     wideenough::site::short_roads(&site, 55.0 * 0.3048),
///     ["the road \"road\" is drawn only 30' before the gate westbound, and the longest vehicle studied is 55' \
///       long; draw more of it, or say \"continues\": \"end\" if it goes on"],
/// );
/// assert!(wideenough::site::short_roads(&site, 30.0 * 0.3048).is_empty());
/// ```
#[must_use]
pub fn short_roads(site: &Site, longest_m: f64) -> Vec<String> {
    let wanted = |travel: &Travel| {
        let any = site.vehicles.is_empty() || site.vehicles.iter().any(|v| v.travels.is_empty());
        any || site.vehicles.iter().any(|v| v.travels.iter().any(|word| travel.is_called(word)))
    };
    let mut warnings = Vec::new();
    for travel in site.travels().into_iter().filter(wanted) {
        let Some(road) = site.roads.get(travel.road) else { continue };
        let Some(along) = road.tangent_beside(travel.beside_gate) else { continue };
        let mut line = road.centerline.clone();
        let (behind, other, word) = if travel.direction.dot(along) > 0.0 {
            (road.continues.start, road.continues.end, "start")
        } else {
            line.reverse();
            (road.continues.end, road.continues.start, "end")
        };
        let upstream_m = length_to(&line, travel.beside_gate);
        // To a tenth of a millimeter, finer than any survey: a road exactly as long as the vehicle will do.
        if behind || upstream_m >= longest_m - 1e-4 {
            continue;
        }
        // An outline has no first point that a reader would know.
        let advice = if drawn_as_line(road) {
            let ends = if other { "both" } else { word };
            format!("draw more of it, or say \"continues\": \"{ends}\" if it goes on")
        } else {
            "draw more of it (an outline counts as far as it runs straight), or draw it as a line that \"continues\""
                .to_owned()
        };
        warnings.push(format!(
            "the road \"{}\" is drawn only {} before the gate {}, and the longest vehicle studied is {} long; {advice}",
            road.surface.label,
            show(upstream_m, site.units, Round::Down),
            travel.word,
            show(longest_m, site.units, Round::Up),
        ));
    }
    warnings
}

/// True for a road drawn as a line with a width, false for an outline.
pub(super) fn drawn_as_line(road: &Road) -> bool {
    let strip = strip(&road.centerline, road.width_m).outer;
    strip.0.len() == road.surface.outer.0.len()
        && strip.0.iter().zip(&road.surface.outer.0).all(|(p, q)| p.distance(*q) < 1e-6)
}

/// Something that stops a bumper: an obstacle or a fence.
struct Thing<'s> {
    who: &'s Who,
    shapes: Vec<Shape>,
}

/// True for an obstacle that stops any vehicle: higher than a bumper, and too low to pass under.
fn stands(obstacle: &Obstacle) -> bool {
    obstacle.top_m > BUMPER_M && obstacle.bottom_m < LOWEST_ROOF_M
}

fn things<'s>(site: &Site, drawn: &'s Drawn) -> Vec<Thing<'s>> {
    let obstacles = site.obstacles.iter().zip(&drawn.obstacles).filter(|(obstacle, _)| stands(obstacle));
    let fences = site.fences.iter().zip(&drawn.fences).filter(|(fence, _)| fence.top_m > BUMPER_M);
    obstacles
        .map(|(obstacle, who)| Thing { who, shapes: obstacle.shapes.clone() })
        .chain(fences.map(|(fence, who)| Thing { who, shapes: wall(&fence.line, fence.thickness_m) }))
        .collect()
}

/// A length in the plan's units, to the inch or centimeter.
fn shown(meters: f64, units: Units) -> String {
    show(meters, units, Round::Nearest)
}

/// Detects a wall across the whole opening, nearer behind it than any vehicle is long: every line of sight through the
/// opening, square to the gate, ends at something. True if there is one.
fn wall_behind(site: &Site, things: &[Thing], notes: &mut Notes) -> bool {
    let gate = &site.gate;
    let beside = (0.5 * gate.opening_m() - WALL_LEFT_M).max(0.0);
    let mut middle: Option<(f64, &Thing)> = None;
    let seen: Vec<(&Thing, Vec<Shape>)> =
        things.iter().map(|thing| (thing, near_gate(gate, &thing.shapes))).collect();
    for k in 0..SIGHTS {
        let u = beside * (2.0 * f64::from(k) / f64::from(SIGHTS - 1) - 1.0);
        let hits = seen.iter().flat_map(|(thing, shapes)| {
            shapes.iter().filter_map(move |shape| Some((first_met(shape, u)?, *thing)))
        });
        let nearest = hits.filter(|(v, _)| *v <= ANY_VEHICLE_M).min_by(|a, b| a.0.total_cmp(&b.0));
        let Some(nearest) = nearest else { return false };
        if k == SIGHTS / 2 {
            middle = Some(nearest);
        }
    }
    let Some((v, thing)) = middle else { return false };
    let place = if v > 0.0 {
        format!(
            "stands right across the opening, {} behind the gate, nearer than any vehicle is long",
            shown(v, site.units)
        )
    } else {
        "stands right across the opening".to_owned()
    };
    let message =
        format!("{place}: nothing gets in; move it or the gate, or draw them where they really are");
    notes.warn(thing.who, "/geometry/coordinates", "", message);
    true
}

/// The shapes that may stand behind the opening, in the gate's frame.
fn near_gate(gate: &Gate, shapes: &[Shape]) -> Vec<Shape> {
    let half = 0.5 * gate.opening_m();
    let moved = |ring: &Outline| Outline(ring.0.iter().map(|p| gate.to_gate(*p)).collect());
    shapes
        .iter()
        .map(|shape| Shape {
            outer: moved(&shape.outer),
            holes: shape.holes.iter().map(moved).collect(),
            radius_m: shape.radius_m,
        })
        .filter(|shape| {
            let (low, high) = bounds(shape.outer.0.iter().copied(), shape.radius_m);
            low.x < half && high.x > -half && low.y < ANY_VEHICLE_M && high.y > 0.0
        })
        .collect()
}

/// The lower left and upper right corners of the box about some points, with a margin.
pub(super) fn bounds(points: impl Iterator<Item = Point>, margin: f64) -> (Point, Point) {
    let none = (Point::new(f64::INFINITY, f64::INFINITY), Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    points.fold(none, |(low, high), p| {
        (
            Point::new(low.x.min(p.x - margin), low.y.min(p.y - margin)),
            Point::new(high.x.max(p.x + margin), high.y.max(p.y + margin)),
        )
    })
}

/// Distance behind the gate line at which a shape is first met at `u`; 0 if it stands on the line.
fn first_met(shape: &Shape, u: f64) -> Option<f64> {
    if let [center] = shape.outer.0.as_slice() {
        let half2 = shape.radius_m * shape.radius_m - (u - center.x) * (u - center.x);
        let half = (half2 > 0.0).then(|| half2.sqrt())?;
        return (center.y + half > 0.0).then(|| (center.y - half).max(0.0));
    }
    let edges = shape.outer.edges().chain(shape.holes.iter().flat_map(Outline::edges));
    let mut before = 0;
    let mut first: Option<f64> = None;
    for (a, b) in edges.filter(|(a, b)| (a.x <= u) != (b.x <= u)) {
        let v = a.y + (b.y - a.y) * ((u - a.x) / (b.x - a.x));
        if v <= 0.0 {
            before += 1;
        } else {
            first = Some(first.map_or(v, |f| f.min(v)));
        }
    }
    // An odd number of edges before the line: the line is inside.
    if before % 2 == 1 { Some(0.0) } else { first }
}

/// Warns of obstacles and fences that block a road, or a lane that leads to the gate, over its whole width.
fn on_the_roads(site: &Site, things: &[Thing], notes: &mut Notes) {
    let mut corners = 0;
    for (index, road) in site.roads.iter().enumerate() {
        let on = OnRoad::new(site, road, index == 0);
        for thing in things {
            let near = on.may_block(&thing.shapes);
            if near.is_empty() {
                continue;
            }
            let own: usize = near.iter().map(|shape| shape.outer.0.len().max(DISC_CORNERS)).sum();
            // Pieces of a scribbled wall may all cross each other.
            let crossings = near.len() * near.len() * CROSSING_COST;
            let cost = crossings + (own + road.surface.outer.0.len()) * road.centerline.len();
            if corners + cost > MOST_CORNERS {
                continue;
            }
            corners += cost;
            if let Some(message) = on.blocked(&near) {
                notes.warn(thing.who, "/geometry/coordinates", "", message);
            }
        }
    }
}

/// A crossing of two pieces of a wall costs as much as comparing this many corners.
const CROSSING_COST: usize = 5;

/// Corners of the polygon that replaces a disc where only its rough place on the road counts.
const DISC_CORNERS: usize = 16;

/// A road to be compared with whatever may stand on it.
struct OnRoad<'s> {
    site: &'s Site,
    road: &'s Road,
    edges: Vec<(Point, Point)>,
    low: Point,
    high: Point,
    length_m: f64,
    /// Station of the gate along the center line, for the road in front of it.
    gate_m: Option<f64>,
    /// Ends that matter: beyond them the road continues, or the gate stands there.
    ends: (bool, bool),
    /// Lanes that lead to the gate: the word, the edges left of the center line, and true if the lane is driven in the
    /// line's direction.
    lanes: Vec<(String, f64, f64, bool)>,
}

/// A piece of road under something: its extent along the center line and to the left of it, and the widths left free to
/// the right and to the left.
#[derive(Clone, Copy)]
struct Under {
    along: (f64, f64),
    left_of: (f64, f64),
    free: (f64, f64),
}

impl<'s> OnRoad<'s> {
    fn new(site: &'s Site, road: &'s Road, in_front: bool) -> Self {
        let center = site.gate.center();
        let surface = &road.surface;
        let edges = surface.edges().collect();
        let (low, high) = bounds(surface.outer.0.iter().copied(), 0.0);
        let end = if in_front { ends_at(road, center) } else { None };
        let half = 0.5 * road.width_m;
        let along = road.tangent_beside(center).unwrap_or_default();
        let own = |travel: &Travel| site.roads.get(travel.road).is_some_and(|own| std::ptr::eq(own, road));
        let travels = site.travels().into_iter().filter(own);
        let two_lanes = travels.filter(|travel| travel.lane.width_m < road.width_m);
        let lanes = two_lanes.map(|travel| {
            let forward = travel.direction.dot(along) > 0.0;
            let left = (site.drives_on == Side::Left) == forward;
            let (from, to) = if left { (0.0, half) } else { (-half, 0.0) };
            (travel.word, from, to, forward)
        });
        Self {
            site,
            road,
            edges,
            low,
            high,
            length_m: length(&road.centerline),
            gate_m: in_front.then(|| length_to(&road.centerline, center)),
            ends: (
                road.continues.start || end == Some(End::First),
                road.continues.end || end == Some(End::Last),
            ),
            lanes: lanes.collect(),
        }
    }

    /// The shapes of a thing that are on or near the road, if they reach far enough to block it.
    fn may_block<'a>(&self, shapes: &'a [Shape]) -> Vec<&'a Shape> {
        let near = |shape: &&Shape| {
            let (low, high) = bounds(shape.outer.0.iter().copied(), shape.radius_m);
            low.x < self.high.x && high.x > self.low.x && low.y < self.high.y && high.y > self.low.y
        };
        let near: Vec<&Shape> = shapes.iter().filter(near).collect();
        let (low, high) = bounds(near.iter().flat_map(|s| s.outer.0.iter().copied()), 0.0);
        let reach_m = high.distance(low) + 2.0 * near.iter().map(|s| s.radius_m).fold(0.0, f64::max);
        let lanes = self.lanes.iter().map(|(_, from, to, _)| to - from - 2.0 * LANE_LEFT_M);
        let needed_m = lanes.fold(self.road.width_m - 2.0 * NARROWEST_M, f64::min);
        // A tree or a mailbox is ruled out here.
        if near.is_empty() || reach_m < needed_m { Vec::new() } else { near }
    }

    /// The warning about a thing whose shapes `near` the road block it; `None` if they do not.
    fn blocked(&self, near: &[&Shape]) -> Option<String> {
        let polygons: Vec<geo_types::Polygon<f64>> = near.iter().map(|shape| drawn_out(shape)).collect();
        let on_road = geo::algorithm::bool_ops::unary_union(&polygons)
            .intersection(&geo_types::MultiPolygon::new(vec![polygon(&self.road.surface)]));
        let pieces: Vec<Under> =
            on_road.iter().filter_map(|piece| self.under(piece)).filter(|u| self.matters(u)).collect();
        let label = &self.road.surface.label;
        if let Some(piece) = pieces.iter().find(|u| u.free.0 < NARROWEST_M && u.free.1 < NARROWEST_M) {
            return Some(format!(
                "stands across the whole of the road \"{label}\"{}: nothing gets past; move it, or end the road in \
                 front of it",
                self.place(piece)
            ));
        }
        self.lanes.iter().find_map(|(word, from, to, forward)| {
            let across = |u: &&Under| u.left_of.0 < from + LANE_LEFT_M && u.left_of.1 > to - LANE_LEFT_M;
            let before_gate = |u: &&Under| {
                self.gate_m.is_some_and(|gate| if *forward { u.along.0 < gate } else { u.along.1 > gate })
            };
            let piece = pieces.iter().filter(across).find(before_gate)?;
            Some(format!(
                "stands right across the {word} lane of the road \"{label}\"{}: nothing comes {word} past it in its \
                 own lane; move it, or draw it where it really is",
                self.place(piece)
            ))
        })
    }

    /// Describes the place of a piece, for the road in front of the gate.
    fn place(&self, piece: &Under) -> String {
        let Some(gate) = self.gate_m else { return String::new() };
        let off = (piece.along.0 - gate).max(gate - piece.along.1);
        if off > 0.0 {
            format!(", {} from the gate along it", shown(off, self.site.units))
        } else {
            ", in front of the gate".to_owned()
        }
    }

    /// True if there is road on both sides of a piece: an obstacle at the end of a road only ends it.
    fn matters(&self, piece: &Under) -> bool {
        (self.ends.0 || piece.along.0 > ANY_VEHICLE_M)
            && (self.ends.1 || piece.along.1 < self.length_m - ANY_VEHICLE_M)
    }

    fn under(&self, piece: &geo_types::Polygon<f64>) -> Option<Under> {
        let line = &self.road.centerline;
        let (inf, none) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut under = Under { along: (inf, none), left_of: (inf, none), free: (inf, inf) };
        for corner in piece.exterior().0.iter().map(|c| Point::from(*c)) {
            let (i, foot) = nearest_on(segments(line), corner)?;
            let left = (line[i + 1] - line[i]).unit()?.left();
            let t = (corner - foot).dot(left);
            let s = length_to(line, corner);
            under.along = (under.along.0.min(s), under.along.1.max(s));
            under.left_of = (under.left_of.0.min(t), under.left_of.1.max(t));
            // Outward from the center line, so that the other leg of a bend is not mistaken for the edge.
            if let Some(edge) = reach(&self.edges, foot, -left) {
                under.free.0 = under.free.0.min(edge + t);
            }
            if let Some(edge) = reach(&self.edges, foot, left) {
                under.free.1 = under.free.1.min(edge - t);
            }
        }
        Some(under)
    }
}

/// A shape as a polygon of `geo`; a disc as sixteen corners about it.
fn drawn_out(shape: &Shape) -> geo_types::Polygon<f64> {
    let outer = match shape.outer.0.as_slice() {
        [center] => {
            // Circumscribed about the disc, so that none of it is lost: 2 % more than its radius.
            let out = shape.radius_m * 1.02;
            let corner = |k: u32| *center + Point::at_angle(TAU * f64::from(k) / 16.0) * out;
            Outline((0..16).map(corner).collect())
        }
        _ => shape.outer.clone(),
    };
    polygon(&Ground { label: String::new(), outer, holes: shape.holes.clone() })
}

fn spots(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let standing = || site.obstacles.iter().filter(|obstacle| stands(obstacle));
    for (spot, who) in site.spots.iter().zip(&drawn.spots) {
        let inside = standing().find(|obstacle| obstacle.shapes.iter().any(|shape| holds(shape, spot.at)));
        if let Some(obstacle) = inside {
            let message = format!(
                "is inside the obstacle \"{}\", where no vehicle can stand; move one of them",
                obstacle.label
            );
            notes.fault(who, "/geometry/coordinates", "", message);
        } else if let Some(road) = site.roads.iter().find(|road| covers(&road.surface, spot.at)) {
            let message = format!(
                "is on the road \"{}\", where nothing has driven in yet; move it to where the vehicle is to stand",
                road.surface.label
            );
            notes.warn(who, "/geometry/coordinates", "", message);
        }
    }
}

/// True for a point inside a shape, its edge not counted.
fn holds(shape: &Shape, p: Point) -> bool {
    match shape.outer.0.as_slice() {
        [center] => center.distance(p) < shape.radius_m,
        _ => {
            let (low, high) = bounds(shape.outer.0.iter().copied(), 0.0);
            let near = low.x <= p.x && p.x <= high.x && low.y <= p.y && p.y <= high.y;
            near && covers(
                &Ground { label: String::new(), outer: shape.outer.clone(), holes: shape.holes.clone() },
                p,
            )
        }
    }
}

fn on_the_edge(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let near = site.gate.setback_m < ON_THE_EDGE_M;
    let Some(road) = site.roads.get(site.beside_gate).filter(|_| near) else { return };
    let (label, line) = (&road.surface.label, &road.centerline);
    let center = site.gate.center();
    let at_end = [line.first(), line.last()].into_iter().flatten().any(|end| end.distance(center) < 0.01);
    let message = if at_end {
        format!(
            "stands at the very end of the road \"{label}\": a vehicle that waits for it to open blocks the road; end \
             the road where the drive begins, and draw the drive"
        )
    } else {
        format!(
            "stands on the edge of the road \"{label}\": a vehicle that waits for it to open blocks the road, and \
             the posts reach into it; draw it as far back as it is to stand"
        )
    };
    notes.warn(&drawn.gate, "/geometry/coordinates", "", message);
}

/// Reports a road in front of the gate that no vehicle fits on.
fn absurd_road(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let (Some(road), Some(who)) = (site.roads.first(), drawn.roads.first()) else { return };
    let length_m = length(&road.centerline);
    let area_m2 = road.surface.outer.signed_area();
    if road.width_m >= LEAST_ROAD_WIDTH_M && length_m >= LEAST_ROAD_LENGTH_M && area_m2 >= LEAST_ROAD_AREA_M2
    {
        return;
    }
    let message = format!(
        "the road is {} wide and {} long, too small to drive on; are its width and the plan in the right units?",
        shown(road.width_m, site.units),
        shown(length_m, site.units)
    );
    notes.warn(who, "/geometry/coordinates", "", message);
}

/// Reports a gate that may stand anywhere along its fence, but has no fence.
fn free_without_fence(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let gate = &site.gate;
    let half = 0.5 * gate.opening_m();
    let post_u = half + gate.post.width_m;
    let in_line = site.fences.iter().any(|fence| {
        let near = gate.in_line_within_m(fence.thickness_m);
        let line: Vec<Point> = fence.line.iter().map(|p| gate.to_gate(*p)).collect();
        segments(&line).any(|(a, b)| {
            let (from, to) = (a.x.abs().min(b.x.abs()), a.x.abs().max(b.x.abs()));
            let beside = a.x * b.x > 0.0 && from >= half - 1e-6;
            a.y.abs() <= near && b.y.abs() <= near && beside && from <= post_u + FENCE_GAP_M && to > post_u
        })
    });
    if gate.anchor != Anchor::Free || in_line {
        return;
    }
    let message = "\"free\" lets the gate stand anywhere along the fence in its line, and none is drawn there, so it \
                   stays where it is drawn; draw the fence from its posts, or choose another anchor";
    notes.warn(&drawn.gate, "/properties/anchor", "property \"anchor\"", message);
}
