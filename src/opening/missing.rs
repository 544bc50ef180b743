//! Room that a yard lacks for a vehicle to turn around in it: the least change found that allows the turn, by searching
//! again at the changed place.
//!
//! First the yard is made deeper, or wider to either side ([`MoreRoom`]), in whole feet or quarters of a meter, by
//! bisection: with the reported amount a turn is certified, with one step less none was found. The other sides are
//! searched only for less than the best one so far. Where up to 100 ft or 30 m on no side is enough, each obstacle
//! inside is left out in turn, and then more stops are allowed. That is some ten to thirty searches for a turn, and
//! only where one is requested and none is found.
use super::turning::Asked;
use crate::clearance::CollisionModel;
use crate::geometry::length::FOOT_M;
use crate::geometry::{Point, Units};
use crate::motion::Path;
use crate::search::turn_around::MOST_STOPS;
use crate::site::{MoreRoom, Site, YardSide};

/// The smallest change found to be missing for a turn.
#[derive(Clone, Debug, PartialEq)]
pub struct Missing {
    /// Kind of change.
    pub what: Lacking,
    /// True if the turn with it keeps the study's clearance; otherwise it touches nothing.
    pub comfortable: bool,
}

/// A change after which a turn is found.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Lacking {
    /// A larger yard; a foot or a quarter of a meter less was not enough.
    Room(MoreRoom),
    /// This obstacle removed, by its label.
    Without(String),
    /// This many stops in all.
    Stops(u32),
}

/// Largest number of steps of room tried.
const MOST_STEPS: u32 = 100;
/// Largest number of obstacles left out in turn.
const MOST_OBSTACLES: usize = 6;
/// Spacing of the poses at which the reach of the ways in and out is measured, meters.
const STEP_M: f64 = 0.1;

/// Step of the amounts of room: a foot or a quarter of a meter. Our choice, no source.
#[must_use]
pub const fn room_step_m(units: Units) -> f64 {
    match units {
        Units::Feet => FOOT_M,
        Units::Meters => 0.25,
    }
}

/// Returns what a turn that was not found lacks; `None` where nothing that is tried allows the turn.
pub(super) fn missing(asked: &Asked) -> Option<Missing> {
    let clearance_m = asked.clearances_m()[0];
    let comfortable = clearance_m >= asked.clearance_m;
    let found = |what: Lacking| Some(Missing { what, comfortable });
    let site = asked.site;
    let turns_at = |site: &Site, stops: u32| asked.on(site, clearance_m, stops, false).is_ok();
    if let Some(room) = least_room(asked, |site| turns_at(site, asked.stops)) {
        return found(Lacking::Room(room));
    }
    let inside = |index: &usize| is_inside(site, *index);
    for index in (0..site.obstacles.len()).filter(inside).take(MOST_OBSTACLES) {
        let mut without = site.clone();
        let gone = without.obstacles.remove(index);
        if turns_at(&without, asked.stops) {
            return found(Lacking::Without(gone.label));
        }
    }
    (asked.stops < MOST_STOPS && turns_at(site, MOST_STOPS))
        .then(|| found(Lacking::Stops(MOST_STOPS)))
        .flatten()
}

/// Least room, over all sides, with which the vehicle turns.
fn least_room(asked: &Asked, turns_at: impl Fn(&Site) -> bool) -> Option<MoreRoom> {
    let (site, step_m) = (&asked.site, room_step_m(asked.site.units));
    let [back_m, left_m, right_m] = reach(asked)?;
    let mut best: Option<(u32, MoreRoom)> = None;
    for (side, from_m) in [(YardSide::Back, back_m), (YardSide::Left, left_m), (YardSide::Right, right_m)] {
        let room = |n: u32| MoreRoom { side, from_m, by_m: step_m * f64::from(n) };
        let enough = |n: u32| room(n).apply(site).is_some_and(|site| turns_at(&site));
        let most = best.as_ref().map_or(MOST_STEPS, |(n, _)| n - 1);
        if most == 0 || !enough(most) {
            continue;
        }
        // Bracket: too little, and enough.
        let (mut low, mut high) = (0, most);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if enough(middle) { high = middle } else { low = middle }
        }
        best = Some((high, room(high)));
    }
    best.map(|(_, room)| room)
}

/// Reach of the ways in and out behind the gate line, and to its left and right once behind it: what lies farther may
/// be moved without changing those ways.
fn reach(asked: &Asked) -> Option<[f64; 3]> {
    let gate = &asked.site.gate;
    let model = CollisionModel::new(asked.vehicle, asked.scene.surroundings.clone(), 0.0, gate.opening_m());
    let aside_m = 0.5 * gate.opening_m() + gate.post.width_m;
    let mut reach = [0.5 * gate.post.depth_m, aside_m, aside_m];
    for path in asked.ways() {
        for p in corners(&model, &path).filter(|p| p.y > 0.0) {
            reach = [reach[0].max(p.y), reach[1].max(-p.x), reach[2].max(p.x)];
        }
    }
    Some(reach)
}

/// Corners of a vehicle's units along a path, gate frame.
fn corners<'a>(model: &'a CollisionModel, path: &Path) -> impl Iterator<Item = Point> + 'a {
    path.samples(&model.chain, STEP_M).into_iter().flat_map(|sample| {
        let frames = model.chain.unit_frames(&sample.state);
        model.units.iter().flat_map(move |unit| unit.hull.iter().map(move |p| frames[unit.unit].place(*p)))
    })
}

/// True if an obstacle reaches behind the gate line.
fn is_inside(site: &Site, index: usize) -> bool {
    let corners = site.obstacles[index].shapes.iter().flat_map(|shape| &shape.outer.0);
    corners.into_iter().any(|p| site.gate.to_gate(*p).y > 0.0)
}
