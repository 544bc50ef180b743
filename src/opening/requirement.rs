//! Demands on a gate: one vehicle from one direction of travel, by any acceptable maneuver; or the routes drawn for a
//! vehicle without any other ways. With the opening that a changed site still misses for each, in meters.
use super::reoptimize::{Incumbent, Passage, SiteVariant, narrower};
use super::scene::{along_road, scene};
use super::{Case, DrawnGate, Study, Verdict, limits, routes};
use crate::search::Effort;
use crate::site::{Along, Site};
use crate::vehicle::Vehicle;

/// One vehicle from one direction of travel.
pub(super) struct Demand<'a> {
    /// Ways in, the one that needs least at the gate as drawn first.
    ways: Vec<Asked<'a>>,
    /// Routes drawn for a vehicle that has no other ways.
    routes: Vec<Drawn<'a>>,
    clearance_m: f64,
    /// True if the gate as drawn meets it.
    pub(super) passes: bool,
    /// Missing opening at the last site evaluated (at first the gate as drawn), meters; infinite where no way in is
    /// known.
    pub(super) missing_m: f64,
}

/// A way in, with its known paths and its last need.
struct Asked<'a> {
    way: Passage<'a>,
    known: Vec<Incumbent>,
    need_m: f64,
}

/// A way that needed this much more than another is not solved again: changes small enough to be fixes do not reverse
/// that.
const HOPELESS_M: f64 = 2.0;

/// A route drawn in the plan, checked as drawn.
struct Drawn<'a> {
    vehicle: &'a Vehicle,
    label: &'a str,
    travel: Along,
}

/// Everything that a gate must let in: to pass it ([`Verdict::Tight`]), or to pass it in comfort.
pub(super) fn demands(study: &Study, goal: Verdict) -> Vec<Demand<'_>> {
    let comfortable = goal == Verdict::Comfortable;
    let drawn_m = study.site.gate.opening_m();
    let need = |case: &Case| {
        let answer = if comfortable { &case.comfortable } else { &case.bare };
        answer.reported_m()
    };
    let mut demands = Vec::new();
    let mut demand = |mut cases: Vec<usize>| {
        cases.sort_by(|a, b| need(&study.cases[*a]).total_cmp(&need(&study.cases[*b])));
        let passes = cases.iter().any(|i| Verdict::from(study.cases[*i].drawn_gate) >= goal);
        let least = cases.iter().map(|i| need(&study.cases[*i])).fold(f64::INFINITY, f64::min);
        let way = |i: &usize| {
            let way = limits::way(study, *i, comfortable)?;
            // Without a path in comfort the bare one is a start.
            let known = [comfortable, false].into_iter().find_map(|c| limits::follow(study, *i, c));
            let known = known.map(|(_, known)| known).into_iter().collect();
            Some(Asked { way, known, need_m: need(&study.cases[*i]) })
        };
        let route = |i: &usize| {
            let case = &study.cases[*i];
            let (vehicle, label) = (study.vehicles.get(case.vehicle)?, case.route.as_deref()?);
            Some(Drawn { vehicle, label, travel: along_road(&study.site, &case.travel)? })
        };
        demands.push(Demand {
            ways: cases.iter().filter_map(way).collect(),
            routes: cases.iter().filter_map(route).collect(),
            clearance_m: if comfortable { study.clearance_m } else { 0.0 },
            passes,
            missing_m: (least - drawn_m).max(0.0),
        });
    };
    for vehicle in 0..study.vehicles.len() {
        let of = study.of_vehicle(vehicle);
        if of.travels.is_empty() {
            demand(of.routes);
        }
        of.travels.into_iter().flat_map(|t| t.groups).for_each(&mut demand);
    }
    demands
}

impl Demand<'_> {
    /// Opening that the gate of a changed site, as it stands there, still misses: not more than 0 if the demand is met.
    /// The paths found are kept.
    pub(super) fn missing_at(&mut self, site: &Site, effort: Effort) -> f64 {
        self.missing_m = self.need_at(site, effort) - site.gate.opening_m();
        self.missing_m
    }

    fn need_at(&mut self, site: &Site, effort: Effort) -> f64 {
        let opening_m = site.gate.opening_m();
        let best = self.ways.iter().map(|w| w.need_m).fold(f64::INFINITY, f64::min);
        let mut hopeful: Vec<(SiteVariant, &mut Asked)> = self
            .ways
            .iter_mut()
            .filter(|w| w.need_m <= best + HOPELESS_M)
            .filter_map(|w| Some((SiteVariant::new(site, w.way)?, w)))
            .collect();
        // A known path of any of the ways may suffice.
        for (place, asked) in &mut hopeful {
            let seen = asked.known.iter().map(|k| place.look_with_leaves(opening_m, k));
            if let Some(seen) = seen.fold(None, narrower).filter(|seen| seen.opening_m <= opening_m) {
                return asked.keep(seen);
            }
        }
        let mut least = f64::INFINITY;
        for (place, asked) in &mut hopeful {
            let from: Vec<&Incumbent> = asked.known.iter().collect();
            let found = place.narrowest_with_leaves(opening_m, effort, &from);
            asked.need_m = f64::INFINITY;
            least = least.min(found.map_or(f64::INFINITY, |found| asked.keep(found)));
            if least <= opening_m {
                return least;
            }
        }
        let drawn = self.routes.iter().map(|drawn| drawn.need_at(site, self.clearance_m));
        drawn.fold(least, f64::min)
    }
}

/// Paths kept for a way: the study's own and the last ones found.
const KEPT: usize = 3;

impl Asked<'_> {
    /// Keeps a path for the next site and returns its need.
    fn keep(&mut self, found: Incumbent) -> f64 {
        self.need_m = found.opening_m;
        if !self.known.iter().any(|k| k.path == found.path && k.gate == found.gate) {
            if self.known.len() >= KEPT {
                self.known.remove(1);
            }
            self.known.push(found);
        }
        self.need_m
    }
}

impl Drawn<'_> {
    /// Opening that the route as drawn needs at a changed site; more than the gate has where it does not pass.
    fn need_at(&self, site: &Site, clearance_m: f64) -> f64 {
        let route = site.routes.iter().find(|r| r.label == self.label && r.vehicle == self.vehicle.name);
        let (Some(route), Some(travel)) = (route, site.travel_along(self.travel)) else {
            return f64::INFINITY;
        };
        let scene = scene(site, travel);
        let place = (&scene.travel, &scene.surroundings);
        let case = routes::case(site, route, (0, self.vehicle), place, clearance_m, &mut Vec::new());
        let need_m = case.comfortable.reported_m();
        let drawn_m = site.gate.opening_m();
        if case.drawn_gate == DrawnGate::Comfortable {
            need_m.min(drawn_m)
        } else {
            need_m.max(drawn_m + LEAST_MISSING_M)
        }
    }
}

/// Smallest amount that counts as missing where a path fits the width and still does not pass: a millimeter.
const LEAST_MISSING_M: f64 = 1e-3;
