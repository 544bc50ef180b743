//! Scene: the site as one direction of travel sees it, with what stands, the ground, and the lane that vehicles start
//! in.
use super::CaseLane;
use super::ground::{ground, road_surface};
use crate::clearance::{Region, Surroundings};
use crate::geometry::Point;
use crate::site::{Along, Side, Site, Travel};
use std::sync::Arc;

/// The site as one travel sees it.
pub(super) struct Scene {
    pub(super) travel: Travel,
    pub(super) surroundings: Surroundings,
    /// The roads as drawn: where a vehicle may stand before it sets out.
    pub(super) roads: Option<Arc<Region>>,
    /// Offset of the middle of the road to the left of the lane's line; 0 where the lane is the whole road.
    pub(super) toward_middle_m: f64,
    /// [`Travel::beside_gate`], in the gate's frame.
    pub(super) beside_gate: Point,
    /// Lane of the travel's road in which vehicles start.
    pub(super) lane: CaseLane,
}

/// Sets up the scene of one travel.
pub(super) fn scene(site: &Site, travel: Travel) -> Scene {
    let ground = ground(site, &travel);
    let mut surroundings = Surroundings::new(site, None, site.gate.opening_m());
    surroundings.ground = ground.map(Arc::new);
    scene_of(site, travel, surroundings)
}

/// Sets up the scene of a vehicle that came by a travel and leaves the way it came; where the lane is that of coming,
/// the scene of the travel itself.
pub(super) fn scene_by(site: &Site, travel: Travel, lane: CaseLane) -> Option<Scene> {
    if lane == CaseLane::Coming {
        return Some(scene(site, travel));
    }
    Some(Scene { lane, ..scene(site, opposite(site, &travel)?) })
}

fn scene_of(site: &Site, travel: Travel, surroundings: Surroundings) -> Scene {
    let middle =
        site.roads.get(travel.road).map_or(0.0, |road| 0.5 * (road.width_m - travel.lane.width_m).max(0.0));
    let toward_middle_m = if site.drives_on == Side::Right { middle } else { -middle };
    let beside_gate = surroundings.frame.origin.to_body(travel.beside_gate);
    let (roads, lane) = (road_surface(site).map(Arc::new), CaseLane::Coming);
    Scene { travel, surroundings, roads, toward_middle_m, beside_gate, lane }
}

/// As [`scene`], on ground that is known already.
pub(super) fn scene_on(
    site: &Site,
    travel: Travel,
    lane: CaseLane,
    ground: Option<Arc<Region>>,
) -> Option<Scene> {
    let travel = match lane {
        CaseLane::Coming => Some(travel),
        CaseLane::Leaving => opposite(site, &travel),
    }?;
    let mut surroundings = Surroundings::new(site, None, site.gate.opening_m());
    surroundings.ground = ground;
    Some(Scene { lane, ..scene_of(site, travel, surroundings) })
}

/// Direction along a road that a study of this site calls so: how a changed copy of the site is asked about the same one.
pub(super) fn along_road(site: &Site, word: &str) -> Option<Along> {
    site.travels().into_iter().find(|travel| travel.word == word).map(|travel| travel.along())
}

/// Returns the travel of vehicles that came by this one and leave the way they came.
fn opposite(site: &Site, travel: &Travel) -> Option<Travel> {
    let is_opposite = |out: &Travel| out.road == travel.road && out.direction.dot(travel.direction) < 0.0;
    site.ways_out().into_iter().find(is_opposite)
}
