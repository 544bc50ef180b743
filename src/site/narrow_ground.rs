//! Warning about a place where roads and drives meet, but on less ground than any vehicle's tires need.
use super::Site;
use super::consistency::Drawn;
use super::fault::{Notes, Who};
use super::joined::{JOINED_M, between};
use super::lines::polygon;
use crate::geometry::Point;
use crate::geometry::length::{Round, show};
use geo::algorithm::bool_ops::unary_union;
use geo::{Buffer, Intersects};
use geo_types::Polygon;

/// Ground narrower than this carries no vehicle: a small car takes 1.5 m over its tires (common practice, no source; the
/// narrowest in the library 1.8 m).
const NARROWEST_M: f64 = 1.2;
/// Tolerance by which the ground about the gate may end short of the opening once its margin is taken off.
const AT_GATE_M: f64 = 0.05;
/// A plan with more corners than this is not checked: offsetting them would take seconds.
const MOST_CORNERS: usize = 5_000;

/// Warns where the ground between the road in front and the gate narrows to less than [`NARROWEST_M`].
///
/// The ground less a margin of half that width falls apart there. For ground that [`super::joined`] found joined.
pub(super) fn check(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let Some(place) = narrow_place(site) else { return };
    let distance_m = |drive: usize| {
        let edges = site.drives[drive].outer.edges();
        edges.map(|(a, b)| between(a, b, place, place)).fold(f64::INFINITY, f64::min)
    };
    let nearest = (0..site.drives.len()).min_by(|a, b| distance_m(*a).total_cmp(&distance_m(*b)));
    let nobody = Who::default();
    let who = nearest.and_then(|drive| drawn.drives.get(drive)).unwrap_or(&nobody);
    let shown = |m: f64| show(m, site.units, Round::Up);
    let message = format!(
        "the ground narrows to less than {} between road and gate, {} from the middle of the opening: tires keep to roads \
         and drives, and no vehicle's fit there; draw the drive as wide as it is",
        shown(NARROWEST_M),
        shown(place.distance(site.gate.center())),
    );
    notes.warn(who, "/geometry/coordinates", "", message);
}

/// Middle of the narrow place.
fn narrow_place(site: &Site) -> Option<Point> {
    let grounds: Vec<Polygon<f64>> =
        site.roads.iter().map(|road| &road.surface).chain(&site.drives).map(polygon).collect();
    let corners: usize = grounds.iter().map(|ground| ground.exterior().0.len()).sum();
    if corners > MOST_CORNERS {
        return None;
    }
    let road = grounds.first()?;
    let margin_m = 0.5 * NARROWEST_M;
    let closed = unary_union(&grounds).buffer(0.5 * JOINED_M);
    let pieces = closed.buffer(-margin_m - 0.5 * JOINED_M);
    let edges = |piece: &Polygon<f64>| -> Vec<(Point, Point)> {
        piece.exterior().lines().map(|line| (Point::from(line.start), Point::from(line.end))).collect()
    };
    let (left, right) = (site.gate.left, site.gate.right);
    let opening = geo_types::Line::new(geo_types::Coord::from(left), geo_types::Coord::from(right));
    let at_gate = |piece: &&Polygon<f64>| {
        piece.intersects(&opening)
            || edges(piece).iter().any(|(a, b)| between(*a, *b, left, right) <= margin_m + AT_GATE_M)
    };
    let at_road = |piece: &&Polygon<f64>| piece.intersects(road);
    if pieces.iter().any(|piece| at_gate(&piece) && at_road(&piece)) {
        return None;
    }
    let of = |piece: &dyn Fn(&&Polygon<f64>) -> bool| -> Vec<(Point, Point)> {
        pieces.iter().filter(piece).flat_map(edges).collect()
    };
    let (from, to) = (of(&at_road), of(&at_gate));
    let pairs = from.iter().flat_map(|(a, _)| to.iter().map(move |(b, _)| (*a, *b)));
    let (a, b) = pairs.min_by(|(a, b), (c, d)| a.distance(*b).total_cmp(&c.distance(*d)))?;
    Some((a + b) * 0.5)
}
