//! Warning about a road whose vehicles keep to their own lane, where no drive reaches the lane away from the gate.
//!
//! The other lane is no ground for a vehicle that comes in that lane, but for the part of it over which a drive is drawn.
//! People draw drives up to the edge of the road.
use super::consistency::Drawn;
use super::fault::{Notes, Who};
use super::joined::{JOINED_M, between};
use super::lines::covers;
use super::travel::ends_at;
use super::{Ground, RoadUse, Side, Site, Travel};
use crate::geometry::Point;
use crate::geometry::polyline::{nearest_on, segments};

/// Warns of lanes on the road in front from which nothing can cross to the gate.
///
/// Without any drive the land before the gate is ground, and what is said here does not arise.
pub(super) fn check(site: &Site, drawn: &Drawn, notes: &mut Notes) {
    let Some(road) = site.roads.first().filter(|road| road.usage == RoadUse::OwnLane) else { return };
    if site.drives.is_empty() || ends_at(road, site.gate.center()).is_some() {
        return;
    }
    let cut_off = |travel: &Travel| {
        let two_lanes = travel.road == 0 && travel.lane.width_m < road.width_m;
        let line = &travel.lane.road_line;
        two_lanes && lies_across(site, line) && !site.drives.iter().any(|drive| meets(drive, line))
    };
    let nobody = Who::default();
    let who = drawn.roads.first().unwrap_or(&nobody);
    for travel in site.travels().into_iter().filter(cut_off) {
        let message = format!(
            "\"own-lane\": no drive reaches the lane in which vehicles come {}, so nothing gets in from there; draw the \
             drive on to the middle of the road, as far along it as they may cross the other lane",
            travel.word
        );
        notes.warn(who, "/properties/use", "property \"use\"", message);
    }
}

/// True if the gate lies on the other side of a road's center line than the lane driven in along it.
fn lies_across(site: &Site, line: &[Point]) -> bool {
    let gate = site.gate.center();
    let nearest = nearest_on(segments(line), gate).and_then(|(index, _)| segments(line).nth(index));
    nearest.is_some_and(|(a, b)| ((b - a).cross(gate - a) > 0.0) == (site.drives_on == Side::Right))
}

/// True if a surface covers a part of a line or touches it.
fn meets(surface: &Ground, line: &[Point]) -> bool {
    let mut edges = surface.edges();
    line.iter().any(|p| covers(surface, *p))
        || edges.any(|(a, b)| segments(line).any(|(c, d)| between(a, b, c, d) <= JOINED_M))
}
