//! Placement of one opening that serves every vehicle best, when it may stand anywhere along the gate line.
//!
//! Each case finds its own best place; a gate has one. For a middle standing `c` to the right of the drawn one, the
//! site is changed ([`Change::Along`]), the opening about that middle that each vehicle needs is computed, and the
//! largest of them is W(c): the largest over vehicles and travels of what the ways that count need. W is sampled where
//! the answers of the cases stand and between, then refined by golden section. The reported place is checked in the
//! end: one gate, leaves and all, that every vehicle passes.
use super::limits::{follow, lighter};
use super::reoptimize::{Incumbent, Passage, SiteVariant, narrower};
use super::{Study, reported_m};
use crate::clearance::Surroundings;
use crate::gate::LeafTravel;
use crate::geometry::parallel::*;
use crate::search::Effort;
use crate::site::changes::Change;
use crate::site::{Anchor, Faces, Site};

/// One opening for all vehicles.
#[derive(Clone, Debug, PartialEq)]
pub struct Placement {
    /// True if all pass it in comfort, otherwise bare.
    pub comfortable: bool,
    /// Its width, already as reported ([`reported_m`]): this is the width that was checked.
    pub opening_m: f64,
    /// Offset of its middle to the right of the drawn one, seen from the road.
    pub center_u_m: f64,
    /// True if the leaves that belong to it open fully there; false only where they do at none of the places tried.
    pub leaves_open: bool,
}

impl Placement {
    /// Places of its faces along the gate line from the drawn middle (u).
    #[must_use]
    pub fn faces_u_m(&self) -> Faces {
        Faces::about(self.center_u_m, self.opening_m)
    }
}

/// Tolerance of the middle: a centimeter, finer than a post is set.
const WITHIN_M: f64 = 0.01;
/// Places whose openings differ by less are equally good, and the one nearest to the drawn middle is taken: as much as
/// short searches differ by where all places are alike (2.3 mm were seen, and 7 mm once).
const AS_GOOD_M: f64 = 0.004;
/// Number of places sampled first, between the outermost of those that serve a case best.
const FIRST_LOOKS: u32 = 5;
/// A place that needs this many times what the best known one does is searched in full.
const FAR_OFF: f64 = 1.25;
/// The share of a bracket kept by each step of a golden section: (√5 - 1)/2.
const GOLDEN: f64 = 0.618_033_988_749_894_9;
/// A face may stand past the end of its fence by this: rounding.
const FENCED_M: f64 = 1e-4;
/// Width beyond what vehicles need that a gate must have room for at a place, so that its final opening has it, too: the
/// opening is rounded up, and longer leaves ask for a little more.
const SPARE_M: f64 = 0.02;
/// Number of places tried for the final gate, ...
const MOST_TRIES: usize = 4;
/// ... and the distance within which one that failed rules out others.
const BESIDE_M: f64 = 0.05;
/// Largest number of times that the opening is widened for the longer leaves it implies before it counts as not found.
const MOST_WIDENINGS: usize = 6;

/// One vehicle from one travel: the acceptable ways in, and for each the known paths, with the middle they are for.
struct Group<'a> {
    ways: Vec<(Passage<'a>, Vec<(f64, Incumbent)>)>,
}

/// Opening needed about one middle.
struct Seen {
    center_u_m: f64,
    opening_m: f64,
    /// Best known path, per group and way.
    paths: Vec<Vec<Option<Incumbent>>>,
}

/// Returns the opening that serves all vehicles of a study best; `None` if one of them has no way in from some travel.
pub(super) fn placement(study: &Study, effort: Effort) -> Option<Placement> {
    let tries = [(true, true), (true, false), (false, true), (false, false)];
    tries.into_iter().find_map(|(leaves_open, comfortable)| {
        let asked = Asked { study, leaves_open, comfortable };
        placed(&asked, (lighter(effort), effort))
    })
}

/// What a placement must serve.
struct Asked<'a> {
    study: &'a Study,
    /// Leaves must open there.
    leaves_open: bool,
    comfortable: bool,
}

impl Asked<'_> {
    /// True if a gate can stand about a middle: at its fence, and with leaves that open where they must.
    fn can_stand(&self, center_u_m: f64, opening_m: f64) -> bool {
        let site = &self.study.site;
        is_fenced(site, center_u_m, opening_m)
            && (!self.leaves_open || leaves_open_at(site, center_u_m, opening_m))
    }
}

fn placed(asked: &Asked, (effort, whole): (Effort, Effort)) -> Option<Placement> {
    let (study, comfortable) = (asked.study, asked.comfortable);
    let mut groups = groups(study, comfortable)?;
    // Middles of the answers of the cases, when each may choose.
    let stands = study.searched().filter(|c| study.counts(c)).filter_map(|c| {
        let faces = if comfortable { c.comfortable.faces_u_m? } else { c.bare.faces_u_m? };
        Some(faces.middle_u())
    });
    let (low, high) = stands.fold((0.0_f64, 0.0_f64), |(low, high), u| (low.min(u), high.max(u)));
    // Where the leaves do not open at the drawn place, they may beside it.
    let blocked = asked.leaves_open && !leaves_open_at(&study.site, 0.0, study.site.gate.opening_m());
    let aside_m = if blocked { study.site.gate.opening_m() } else { 0.0 };
    let (low, high) = (low - aside_m, high + aside_m);
    let step = (high - low) / f64::from(FIRST_LOOKS - 1);
    let mut centers: Vec<f64> = (0..FIRST_LOOKS).map(|i| low + step * f64::from(i)).collect();
    // The drawn middle is always one of the samples, exactly.
    centers.retain(|c| c.abs() >= WITHIN_M);
    centers.push(0.0);
    centers.sort_by(f64::total_cmp);
    centers.dedup_by(|a, b| *a == *b);
    let mut seen: Vec<Seen> = centers.par_iter().filter_map(|c| look(asked, &groups, *c, effort)).collect();
    seen.iter().for_each(|s| remember(&mut groups, s));
    let best = least(&seen)?;
    // The best place lies between the neighbors of the best sample.
    let around = |up: bool| {
        let next = seen.iter().map(|s| s.center_u_m).filter(|u| if up { *u > best } else { *u < best });
        let near = if up { next.min_by(f64::total_cmp) } else { next.max_by(f64::total_cmp) };
        near.unwrap_or(if up { best + step.max(0.1) } else { best - step.max(0.1) })
    };
    let (mut a, mut b) = (around(false), around(true));
    let mut ask = |c: f64, seen: &mut Vec<Seen>| {
        let Some(now) = look(asked, &groups, c, effort) else { return f64::INFINITY };
        remember(&mut groups, &now);
        let opening = now.opening_m;
        seen.push(now);
        opening
    };
    let (mut c, mut d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut at_c, mut at_d) = (ask(c, &mut seen), ask(d, &mut seen));
    while b - a > WITHIN_M {
        // Of equally good places the one nearer to the drawn middle leads.
        let left = if (at_c - at_d).abs() < AS_GOOD_M { c.abs() <= d.abs() } else { at_c < at_d };
        if left {
            (b, d, at_d) = (d, c, at_c);
            c = b - GOLDEN * (b - a);
            at_c = ask(c, &mut seen);
        } else {
            (a, c, at_c) = (c, d, at_d);
            d = a + GOLDEN * (b - a);
            at_d = ask(d, &mut seen);
        }
    }
    // A place may turn out not to hold the gate that it needs in the end: then the next best.
    for _ in 0..MOST_TRIES {
        let center_u_m = least(&seen)?;
        let chosen = seen.iter().find(|s| s.center_u_m == center_u_m)?;
        let chosen = searched(&study.site, &groups, chosen, whole);
        let opening_m = chosen.and_then(|chosen| checked(asked, &groups, &chosen, effort));
        if let Some(opening_m) = opening_m {
            let leaves_open = leaves_open_at(&study.site, center_u_m, opening_m);
            return Some(Placement { comfortable, opening_m, center_u_m, leaves_open });
        }
        seen.retain(|s| (s.center_u_m - center_u_m).abs() > BESIDE_M);
    }
    None
}

/// Middle with the least opening; of equally good ones, the one nearest to the drawn middle.
fn least(seen: &[Seen]) -> Option<f64> {
    let least = seen.iter().map(|s| s.opening_m).fold(f64::INFINITY, f64::min);
    let good = seen.iter().filter(|s| s.opening_m <= least + AS_GOOD_M).map(|s| s.center_u_m);
    good.min_by(|a, b| a.abs().total_cmp(&b.abs()))
}

/// Every vehicle from each of its travels, with the ways in that were found; `None` if one of them has none.
fn groups(study: &Study, comfortable: bool) -> Option<Vec<Group<'_>>> {
    let group = |mine: Vec<usize>| {
        let ways: Vec<_> = mine
            .into_iter()
            .filter_map(|i| {
                let faces = if comfortable {
                    study.cases[i].comfortable.faces_u_m?
                } else {
                    study.cases[i].bare.faces_u_m?
                };
                let (way, known) = follow(study, i, comfortable)?;
                Some((way, vec![(faces.middle_u(), known)]))
            })
            .collect();
        (!ways.is_empty()).then_some(Group { ways })
    };
    let travels = (0..study.vehicles.len()).flat_map(|vehicle| study.of_vehicle(vehicle).travels);
    let all: Option<Vec<Group>> = travels.flat_map(|t| t.groups).map(group).collect();
    all.filter(|groups| !groups.is_empty())
}

/// Returns the site with a gate that may stand anywhere about another middle, from which it widens to both sides; any other
/// site, or one whose gate stays, as it is.
pub(super) fn about(site: &Site, center_u_m: f64) -> Option<Site> {
    if site.gate.anchor != Anchor::Free {
        return Some(site.clone());
    }
    let mut moved = Change::Along(center_u_m).apply(site).ok()?;
    moved.gate.anchor = Anchor::Center;
    Some(moved)
}

/// True if the leaves of an opening about a middle open as far as the gate as drawn has them stand open.
fn leaves_open_at(site: &Site, center_u_m: f64, opening_m: f64) -> bool {
    let placed = about(site, center_u_m);
    let gate = placed.and_then(|s| Change::Opening(opening_m - s.gate.opening_m()).apply(&s).ok());
    gate.is_some_and(|site| LeafTravel::of(&site, &site.gate.leaves).is_whole())
}

/// Known paths for the middles nearest to this one: the three best guesses.
fn nearest(known: &[(f64, Incumbent)], center_u_m: f64) -> Vec<&Incumbent> {
    let mut by_distance: Vec<&(f64, Incumbent)> = known.iter().collect();
    by_distance.sort_by(|a, b| (a.0 - center_u_m).abs().total_cmp(&(b.0 - center_u_m).abs()));
    by_distance.into_iter().take(3).map(|(_, known)| known).collect()
}

fn needs(paths: &[Option<Incumbent>]) -> f64 {
    paths.iter().flatten().map(|k| k.opening_m).fold(f64::INFINITY, f64::min)
}

/// Opening that all vehicles need about one middle. First every known path is tried there; then, starting with the
/// vehicle that needs most, they are solved again one by one, until the one that then needs most is among those solved
/// again.
fn look(asked_for: &Asked, groups: &[Group], center_u_m: f64, effort: Effort) -> Option<Seen> {
    let site = &about(&asked_for.study.site, center_u_m)?;
    let mut paths: Vec<Vec<Option<Incumbent>>> = groups
        .par_iter()
        .map(|group| {
            let try_known = |(way, known): &(Passage, Vec<(f64, Incumbent)>)| {
                let place = SiteVariant::new(site, *way)?;
                nearest(known, center_u_m).into_iter().fold(None, |best, k| narrower(best, place.look(k)))
            };
            group.ways.iter().map(try_known).collect()
        })
        .collect();
    let mut asked = vec![false; groups.len()];
    loop {
        let most = (0..groups.len()).max_by(|a, b| needs(&paths[*a]).total_cmp(&needs(&paths[*b])))?;
        if asked[most] {
            let opening_m = needs(&paths[most]);
            let stands = opening_m.is_finite() && asked_for.can_stand(center_u_m, opening_m + SPARE_M);
            return stands.then_some(Seen { center_u_m, opening_m, paths });
        }
        asked[most] = true;
        let anew: Vec<Option<Incumbent>> = groups[most]
            .ways
            .par_iter()
            .zip(&paths[most])
            .map(|((way, known), best)| {
                let place = SiteVariant::new(site, *way)?;
                let from = best.as_ref().map_or_else(|| nearest(known, center_u_m), |k| vec![k]);
                let near = narrower(best.clone(), place.narrowest(effort, &from[..1]));
                let least_m = known.iter().map(|(_, k)| k.opening_m).fold(f64::INFINITY, f64::min);
                let is_far = near.as_ref().is_none_or(|k| k.opening_m > FAR_OFF * least_m);
                // Around another obstacle than at the places known, the path is another.
                if is_far { narrower(near, place.searched(effort, from[0])) } else { near }
            })
            .collect();
        paths[most] = anew;
    }
}

fn remember(groups: &mut [Group], seen: &Seen) {
    for (group, paths) in groups.iter_mut().zip(&seen.paths) {
        for ((_, known), path) in group.ways.iter_mut().zip(paths) {
            known.extend(path.iter().map(|k| (seen.center_u_m, k.clone())));
        }
    }
}

/// Searches the chosen place like a gate drawn there: the short searches that chose it miss a few millimeters.
fn searched(site: &Site, groups: &[Group], chosen: &Seen, effort: Effort) -> Option<Seen> {
    let moved = &about(site, chosen.center_u_m)?;
    let paths: Vec<Vec<Option<Incumbent>>> = groups
        .par_iter()
        .zip(&chosen.paths)
        .map(|(group, paths)| {
            let again = |((way, _), path): (&(Passage, _), &Option<Incumbent>)| {
                let known = path.as_ref()?;
                narrower(SiteVariant::new(moved, *way)?.searched(effort, known), Some(known.clone()))
            };
            group.ways.iter().zip(paths).map(again).collect()
        })
        .collect();
    let opening_m = paths.iter().map(|paths| needs(paths)).fold(0.0, f64::max);
    Some(Seen { center_u_m: chosen.center_u_m, opening_m, paths })
}

/// True if an opening about a middle stands where a fence is drawn.
fn is_fenced(site: &Site, center_u_m: f64, opening_m: f64) -> bool {
    let around = Surroundings::new(site, None, site.gate.opening_m());
    Faces::about(center_u_m, opening_m).within(around.fenced_u(), FENCED_M)
}

/// Returns one opening about the chosen middle that all pass, with the leaves it implies; a longer leaf may need a
/// wider one.
fn checked(asked: &Asked, groups: &[Group], chosen: &Seen, effort: Effort) -> Option<f64> {
    let site = &about(&asked.study.site, chosen.center_u_m)?;
    // Leaves are cut for the opening as reported, and that is the opening that all must pass.
    let mut opening = reported_m(chosen.opening_m);
    for _ in 0..MOST_WIDENINGS {
        let group_need = |(group, paths): (&Group, &Vec<Option<Incumbent>>)| {
            let way_need = |((way, _), path): (&(Passage, _), &Option<Incumbent>)| {
                let (place, path) = (SiteVariant::new(site, *way)?, path.as_ref()?);
                let as_it_is = place.look_with_leaves(opening, path);
                if as_it_is.as_ref().is_some_and(|k| k.opening_m <= opening) {
                    return as_it_is;
                }
                narrower(as_it_is, place.narrowest_with_leaves(opening, effort, &[path]))
            };
            let ways: Vec<Option<Incumbent>> = group.ways.iter().zip(paths).map(way_need).collect();
            needs(&ways)
        };
        let need = groups
            .par_iter()
            .zip(&chosen.paths)
            .map(group_need)
            .collect::<Vec<f64>>()
            .into_iter()
            .fold(0.0, f64::max);
        if need <= opening {
            // It may have become too wide for its fence, or its leaves too long.
            return asked.can_stand(chosen.center_u_m, opening).then_some(opening);
        }
        if !need.is_finite() {
            return None;
        }
        opening = reported_m(need);
    }
    None
}
