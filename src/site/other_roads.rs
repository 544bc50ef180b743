//! Other roads that vehicles come to the gate along: side roads, the far branch of a junction, a frontage lane. The first
//! road is the one that leads to it.
use super::consistency::{Drawn, drawn_as_line};
use super::fault::Notes;
use super::lines::{covers, segments_meet};
use super::road_outline::TURNAROUND_RATIO;
use super::travel::{Approach, End, NoWay, Words, meeting};
use super::{Ground, Road, RoadEnds, Site};
use crate::geometry::Point;
use crate::geometry::length::{Round, show};
use crate::geometry::polyline::{length, length_to, nearest_on, segments};

/// A road whose edge is nearer to the middle of the gate than this may lead to it: the length of the longest vehicles. A
/// vehicle that comes from farther away can line up on the first road.
const AT_THE_GATE_M: f64 = 22.5;
/// Least length of another road upstream of where it meets the first: the length of the longest vehicles, so that the
/// shortest piece of a road drawn beside the one that matters is not studied.
const LEAST_UPSTREAM_M: f64 = 22.5;
/// Length of the longest turnaround drawn across the end of a road: the 120-foot hammerhead of fire access (International Fire
/// Code, appendix D, from memory), and a truck more.
const HAMMERHEAD_M: f64 = 45.0;
/// A crack between a road and a drive that is drawn by mistake.
const CRACK_M: f64 = 0.5;

impl Site {
    /// True if traffic comes onto a road at the first point of its center line, or at the last: the road continues there, or
    /// another road meets it. A turnaround drawn as an outline brings none.
    ///
    /// ```
    /// let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
    ///     { "type": "Feature", "properties": { "role": "road", "width": 6 },
    ///       "geometry": { "type": "LineString", "coordinates": [[-50, 0], [40, 0]] } },
    ///     { "type": "Feature", "properties": { "role": "road", "width": 7 },
    ///       "geometry": { "type": "LineString", "coordinates": [[43, -60], [43, 60]] } },
    ///     { "type": "Feature", "properties": { "role": "gate" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-2, 8], [2, 8]] } } ] }"#;
    /// let site = wideenough::site::read(plan, "junction").unwrap();
    /// assert!(!site.traffic_comes_from(0, true));
    /// // The other road's edge is half a meter from this one's end.
    /// assert!(site.traffic_comes_from(0, false));
    /// ```
    #[must_use]
    pub fn traffic_comes_from(&self, road: usize, at_first: bool) -> bool {
        let Some(own) = self.roads.get(road) else { return false };
        let (end, from) =
            if at_first { (own.centerline.first(), End::First) } else { (own.centerline.last(), End::Last) };
        let brings = |other: &Road| {
            let is_turnaround = other.continues == RoadEnds::default()
                && length(&other.centerline) < TURNAROUND_RATIO * other.width_m;
            !is_turnaround && end.is_some_and(|end| is_beside(&other.surface, *end, 0.5 * own.width_m))
        };
        let mut others = self.roads.iter().enumerate().filter(|(index, _)| *index != road);
        own.continues.at(from) || others.any(|(_, other)| brings(other))
    }
}

/// Both directions along each other road that leads to the gate, road by road.
///
/// A road leads to the gate if it comes within [`AT_THE_GATE_M`] of it on the outside, does not merely go on where the
/// first road ends, and what can be driven on connects the two. Its directions begin before the place where it leaves
/// the first road, or passes nearest to the gate, whichever comes first.
pub(super) fn approaches(site: &Site, through_gate: Option<Point>) -> Vec<Approach> {
    leading(site).flat_map(|index| both_ways(site, index, through_gate)).flatten().collect()
}

/// Warns of every road that would lead to the gate, if it were not drawn too short for a vehicle to come along it.
/// Warns, too, of a short nearest road drawn as an outline that another road ends at: it looks like a turnaround, and its
/// own two directions are studied.
pub(super) fn check(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    hammerhead(site, drawn, notes);
    for index in leading(site) {
        let (Some(both), Some(who)) = (both_ways(site, index, None), drawn.roads.get(index)) else {
            continue;
        };
        let longest_m = both.iter().map(|approach| approach.upstream_m).fold(0.0, f64::max);
        if both.iter().any(|approach| approach.no_way.is_none())
            || longest_m < TURNAROUND_RATIO * site.roads[index].width_m
        {
            continue;
        }
        let shown = |meters: f64| show(meters, site.units, Round::Nearest);
        let message = format!(
            "leads to the gate, and vehicles that come along it are not studied, since it is drawn for only {}; draw at \
             least {} of it, or say \"continues\" if it goes on",
            shown(longest_m),
            show(LEAST_UPSTREAM_M, site.units, Round::Up),
        );
        notes.warn(who, "/geometry/coordinates", "", message);
    }
}

/// Warns of a short nearest road, drawn as an outline, that one other road ends at.
fn hammerhead(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let (Some(first), Some(who)) = (site.roads.first(), drawn.roads.first()) else { return };
    let goes_on = first.continues != RoadEnds::default();
    if goes_on || drawn_as_line(first) || length(&first.centerline) > HAMMERHEAD_M {
        return;
    }
    let ends_here = |road: &Road| {
        let ends =
            [(road.centerline.first(), road.continues.start), (road.centerline.last(), road.continues.end)];
        let at_it = |end: &Point| is_beside(&first.surface, *end, CRACK_M);
        ends.into_iter().any(|(end, continues)| !continues && end.is_some_and(at_it))
    };
    let lanes: Vec<&str> = site
        .roads
        .iter()
        .skip(1)
        .filter(|road| ends_here(road))
        .map(|road| road.surface.label.as_str())
        .collect();
    let [lane] = lanes.as_slice() else { return };
    if let [.., one, other] =
        site.travels().iter().filter(|t| t.road == 0).map(|t| &t.word).collect::<Vec<_>>()[..]
    {
        let message = format!(
            "vehicles are studied {one} and {other} on this road, as if they came from both of its ends; if it is a \
             turnaround at the end of the road \"{lane}\", draw it as a drive"
        );
        notes.warn(who, "/geometry/coordinates", "", message);
    }
}

/// True if a point lies on a surface, or within this distance of its edge.
pub(super) fn is_beside(surface: &Ground, p: Point, within_m: f64) -> bool {
    covers(surface, p) || nearest_on(surface.edges(), p).is_some_and(|(_, foot)| foot.distance(p) <= within_m)
}

/// Name of another road in the words of its directions: its label, with its number where another road has the same.
fn name(site: &Site, index: usize) -> String {
    let label = |i: usize| site.roads.get(i).map(|road| road.surface.label.as_str());
    let own = label(index).unwrap_or_default();
    let is_taken = |name: &str| (0..site.roads.len()).any(|i| i != index && label(i) == Some(name));
    if !is_taken(own) {
        return own.to_owned();
    }
    // Steps of the number of roads keep the numbers of two roads apart.
    let numbers = (index + 1..).step_by(site.roads.len().max(1));
    numbers.map(|n| format!("{own} {n}")).find(|name| !is_taken(name)).unwrap_or_default()
}

/// Indices of the other roads that lead to the gate, however short they are drawn.
fn leading(site: &Site) -> impl Iterator<Item = usize> + '_ {
    (1..site.roads.len()).filter(|index| *index != site.beside_gate && leads_to_the_gate(site, *index))
}

fn leads_to_the_gate(site: &Site, index: usize) -> bool {
    let (Some(first), Some(road)) = (site.roads.first(), site.roads.get(index)) else { return false };
    let gate = site.gate.center();
    let Some((_, nearest)) = nearest_on(road.surface.edges(), gate) else { return false };
    let is_apron =
        road.continues == RoadEnds::default() && length(&road.centerline) < TURNAROUND_RATIO * road.width_m;
    if is_apron || nearest.distance(gate) > AT_THE_GATE_M || goes_on(first, road, gate) {
        return false;
    }
    let Some(place) = place_of(site, index) else { return false };
    site.gate.to_gate(place.at).y < 0.0 && connects(site, index, nearest, place.meets_first)
}

/// True if a road begins where the first road, as long as a vehicle needs, ends: its traffic comes along the first road.
fn goes_on(first: &Road, road: &Road, gate: Point) -> bool {
    let backward: Vec<Point> = first.centerline.iter().rev().copied().collect();
    let beside_m = 0.5 * first.width_m.max(road.width_m);
    let ends = [road.centerline.first(), road.centerline.last()];
    [&first.centerline, &backward]
        .into_iter()
        .filter(|line| length_to(line, gate) >= LEAST_UPSTREAM_M)
        .filter_map(|line| line.first())
        .any(|end| ends.iter().flatten().any(|other| other.distance(*end) < beside_m))
}

/// True if tires can go from a road to the gate without leaving what the plan gives them: over the first road, over a
/// drive, or, where none is drawn, over the land before the gate.
fn connects(site: &Site, index: usize, nearest: Point, meets_first: bool) -> bool {
    let (Some(first), Some(road)) = (site.roads.first(), site.roads.get(index)) else { return false };
    let meets_turnaround = site
        .turnaround()
        .and_then(|index| site.roads.get(index))
        .is_some_and(|bulb| touch(road, &bulb.surface));
    if meets_first || meets_turnaround {
        return true;
    }
    if !site.drives.is_empty() {
        return site.drives.iter().any(|drive| touch(road, drive));
    }
    let gate = site.gate.center();
    !first.surface.edges().any(|(a, b)| segments_meet(a, b, gate, nearest))
}

/// True if a road and a ground meet, or a crack is all that parts them.
fn touch(road: &Road, ground: &Ground) -> bool {
    meeting(&road.centerline, ground).is_some_and(|m| m.apart_m <= 0.5 * road.width_m + CRACK_M)
}

/// Place on a road's center line where its directions are named.
struct Place {
    at: Point,
    /// Stations along the center line, as drawn and against it, before which vehicles come from.
    before_m: [f64; 2],
    meets_first: bool,
}

fn place_of(site: &Site, index: usize) -> Option<Place> {
    let (first, road) = (site.roads.first()?, site.roads.get(index)?);
    let (line, gate) = (&road.centerline, site.gate.center());
    let (_, nearest) = nearest_on(segments(line), gate)?;
    let (long_m, nearest_m) = (length(line), length_to(line, gate));
    // People draw a road up to another's edge or to its middle.
    let met = meeting(line, &first.surface).filter(|m| m.apart_m <= 0.5 * road.width_m);
    let whole = [nearest_m, long_m - nearest_m];
    let Some(met) = met else {
        return Some(Place { at: nearest, before_m: whole, meets_first: false });
    };
    let (before_m, at) = if met.apart_m == 0.0 {
        let leaves = [met.last_m, long_m - met.first_m];
        (
            [whole[0].min(leaves[0]), whole[1].min(leaves[1])],
            along(line, nearest_m.clamp(met.first_m, met.last_m))?,
        )
    } else if site.gate.to_gate(nearest).y < 0.0 {
        // Of a road beside the first, all places may be as near to it.
        (whole, nearest)
    } else {
        (whole, along(line, met.first_m)?)
    };
    Some(Place { at, before_m, meets_first: true })
}

/// Place at a station along a line.
fn along(line: &[Point], station_m: f64) -> Option<Point> {
    let mut start = 0.0;
    for (a, b) in segments(line) {
        let long = a.distance(b);
        if start + long >= station_m && long > 0.0 {
            return Some(a + (b - a) * ((station_m - start) / long));
        }
        start += long;
    }
    line.last().copied()
}

/// Both directions along another road, as drawn and against it.
fn both_ways(site: &Site, index: usize, through_gate: Option<Point>) -> Option<[Approach; 2]> {
    let road = site.roads.get(index)?;
    let place = place_of(site, index)?;
    let tangent = road.tangent_beside(place.at)?;
    let words = Words::of(tangent, through_gate);
    let name = name(site, index);
    let long_m = length(&road.centerline);
    Some([(tangent, End::First), (-tangent, End::Last)].map(|(direction, from)| {
        let turned = if from == End::First { 0 } else { 4 };
        let before_m = place.before_m[usize::from(from == End::Last)];
        let station_m = if from == End::First { before_m } else { long_m - before_m };
        let upstream_m = if road.continues.at(from) { f64::INFINITY } else { before_m };
        let no_way = (upstream_m < LEAST_UPSTREAM_M).then_some(NoWay::Short(upstream_m));
        Approach {
            road: index,
            word: format!("{} on {name}", words.word(turned)),
            compass: format!("{} on {name}", Words::of(tangent, None).word(turned)),
            direction,
            from,
            beside_gate: along(&road.centerline, station_m).unwrap_or(place.at),
            upstream_m,
            no_way,
        }
    }))
}
