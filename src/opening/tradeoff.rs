//! Trade-off: the opening against one measure of the site, setback or skew.
//!
//! Each case is followed away from the gate as drawn, point by point, each problem solved from its neighbor's answer
//! ([`super::reoptimize`]). Along the setback every path is then tried farther back as well, so that chance in the
//! search does not show as a bump.
use super::Study;
use super::limits::follow;
use super::reoptimize::{Incumbent, Passage, SiteVariant, narrower};
use crate::geometry::Units;
use crate::geometry::length::FOOT_M;
use crate::geometry::parallel::*;
use crate::search::Effort;
use crate::site::changes::Change;
use crate::site::{Gate, Site};

/// Measure on a chart's horizontal axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Axis {
    /// Distance of the gate line from the road, meters.
    Setback,
    /// Angle of the gate line against the road, radians, counterclockwise positive.
    Skew,
}

/// Openings that every vehicle needs, against one measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Tradeoff {
    /// Measure on the axis.
    pub axis: Axis,
    /// Its value as drawn: one of `at`.
    pub drawn: f64,
    /// Sampled values, ascending.
    pub at: Vec<f64>,
    /// One series per vehicle, in the study's order.
    pub series: Vec<Series>,
}

/// Openings that one vehicle needs at each value: the largest over its travels, of the ways that count; `None` where no
/// way in was found, or no such gate can be built.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Index into [`Study::vehicles`].
    pub vehicle: usize,
    /// Bare minimum.
    pub bare_m: Vec<Option<f64>>,
    /// Comfortable.
    pub comfortable_m: Vec<Option<f64>>,
    /// Case that takes most, in comfort where there is such an answer, else bare: an index into [`Study::cases`].
    pub governed_by: Vec<Option<usize>>,
}

/// Numbers of setbacks and skews sampled, beside the drawn ones.
const SETBACKS: u32 = 9;
const SKEWS: u32 = 7;
/// Largest number of searches for each case, bare and in comfort: for progress reports.
pub(super) const STEPS: usize = 2 * (SETBACKS + SKEWS) as usize;

impl Axis {
    /// Round values to sample: 0 to 40 ft, or 0 to 12 m, of setback; 30 degrees of skew either way.
    pub(super) fn round_values(self, units: Units) -> Vec<f64> {
        match (self, units) {
            (Self::Setback, Units::Feet) => (0..SETBACKS).map(|i| 5.0 * FOOT_M * f64::from(i)).collect(),
            (Self::Setback, Units::Meters) => (0..SETBACKS).map(|i| 1.5 * f64::from(i)).collect(),
            (Self::Skew, _) => (0..SKEWS).map(|i| (10.0 * f64::from(i) - 30.0).to_radians()).collect(),
        }
    }

    fn of(self, gate: &Gate) -> f64 {
        match self {
            Self::Setback => gate.setback_m,
            Self::Skew => gate.skew_rad,
        }
    }

    fn change(self, by: f64) -> Change {
        match self {
            Self::Setback => Change::Setback(by),
            Self::Skew => Change::Skew(by),
        }
    }

    /// Values nearer to each other than this are one: a centimeter, or half a degree.
    const fn same(self) -> f64 {
        match self {
            Self::Setback => 0.01,
            Self::Skew => 0.0087,
        }
    }
}

/// Computes the trade-offs of a study: setback and skew. `done` is called after each problem.
pub(super) fn tradeoffs(study: &Study, effort: Effort, done: &(dyn Fn() + Sync)) -> Vec<Tradeoff> {
    [Axis::Setback, Axis::Skew].map(|axis| tradeoff(study, axis, effort, done)).to_vec()
}

fn tradeoff(study: &Study, axis: Axis, effort: Effort, done: &(dyn Fn() + Sync)) -> Tradeoff {
    let drawn = axis.of(&study.site.gate);
    let mut at = axis.round_values(study.site.units);
    at.retain(|v| (v - drawn).abs() > axis.same());
    at.push(drawn);
    at.sort_by(f64::total_cmp);
    // A site for each value where such a gate can stand.
    let sites: Vec<Option<Site>> = at
        .iter()
        .map(|v| {
            if *v == drawn {
                Some(study.site.clone())
            } else {
                axis.change(v - drawn).apply(&study.site).ok()
            }
        })
        .collect();
    let from = at.iter().position(|v| *v == drawn).unwrap_or(0);
    // Lines of each case, bare and in comfort.
    let lines: Vec<[Vec<Option<f64>>; 2]> = (0..study.cases.len())
        .into_par_iter()
        .map(|case| {
            let follow = |comfortable: bool| match follow(study, case, comfortable) {
                Some((way, known)) => (Some(way), follow_line(&sites, from, way, known, effort, done)),
                None => (None, vec![None; sites.len()]),
            };
            let ((comfort_way, mut comfort), (way, mut bare)) = (follow(true), follow(false));
            if axis == Axis::Setback {
                tried_further_back(&sites, &mut comfort, comfort_way);
            }
            // A path that keeps a clearance also passes without: it may be the better bare one.
            for ((bare, comfort), site) in bare.iter_mut().zip(&comfort).zip(&sites) {
                let place = site.as_ref().and_then(|site| SiteVariant::new(site, way?));
                let seen = place.and_then(|place| place.look(comfort.as_ref()?));
                *bare = narrower(bare.take(), seen);
            }
            if axis == Axis::Setback {
                tried_further_back(&sites, &mut bare, way);
            }
            comfort_from_bare(&sites, &bare, &mut comfort, comfort_way, effort);
            [bare, comfort].map(|line| line.into_iter().map(|a| a.map(|a| a.opening_m)).collect())
        })
        .collect();
    let line = |case: usize, comfortable: bool| &lines[case][usize::from(comfortable)];
    let series = (0..study.vehicles.len()).map(|vehicle| {
        let [bare, comfort] = [false, true].map(|comfortable| {
            let need = |i: usize| need_of(study, vehicle, |case| line(case, comfortable)[i]);
            (0..at.len()).map(need).collect::<Vec<_>>()
        });
        let known = |of: &Option<(usize, f64)>| of.map(|(_, opening_m)| opening_m);
        Series {
            vehicle,
            bare_m: bare.iter().map(known).collect(),
            comfortable_m: comfort.iter().map(known).collect(),
            governed_by: comfort.iter().zip(&bare).map(|(c, b)| c.or(*b).map(|(case, _)| case)).collect(),
        }
    });
    Tradeoff { axis, drawn, series: series.collect(), at }
}

/// Largest need over a vehicle's travels, of the ways that count, with its case; `None` if from some travel there is no way
/// in.
fn need_of(study: &Study, vehicle: usize, opening_m: impl Fn(usize) -> Option<f64>) -> Option<(usize, f64)> {
    let hardest = study.of_vehicle(vehicle).governing(|i| opening_m(i).unwrap_or(f64::INFINITY))?;
    Some((hardest, opening_m(hardest)?))
}

/// Follows one case along a row of sites, starting from the one where its answer is known.
fn follow_line(
    sites: &[Option<Site>],
    from: usize,
    way: Passage<'_>,
    known: Incumbent,
    effort: Effort,
    done: &(dyn Fn() + Sync),
) -> Vec<Option<Incumbent>> {
    let mut answers: Vec<Option<Incumbent>> = vec![None; sites.len()];
    answers[from] = Some(known.clone());
    let outward: [Vec<usize>; 2] = [(from + 1..sites.len()).collect(), (0..from).rev().collect()];
    for way_out in outward {
        // Start from the nearest answer on the way.
        let mut last = known.clone();
        for i in way_out {
            answers[i] = sites[i].as_ref().and_then(|site| {
                let found = SiteVariant::new(site, way)?.narrowest(effort, &[&last])?;
                last = found.clone();
                Some(found)
            });
            done();
        }
    }
    answers
}

/// Searches for comfort again where only a bare path was found, from that path and those in comfort at the values beside it.
fn comfort_from_bare(
    sites: &[Option<Site>],
    bare: &[Option<Incumbent>],
    comfort: &mut [Option<Incumbent>],
    way: Option<Passage<'_>>,
    effort: Effort,
) {
    for i in 0..sites.len() {
        let (Some(site), Some(way), Some(bare), None) = (&sites[i], way, &bare[i], &comfort[i]) else {
            continue;
        };
        let beside = [i.checked_sub(1), Some(i + 1)].into_iter().flatten();
        let beside = beside.filter_map(|j| comfort.get(j)?.as_ref());
        let known: Vec<&Incumbent> = std::iter::once(bare).chain(beside).collect();
        comfort[i] = SiteVariant::new(site, way).and_then(|place| place.narrowest(effort, &known));
    }
}

/// Tries each answer at the next setback too: a path that passes near the road mostly passes farther back.
fn tried_further_back(sites: &[Option<Site>], answers: &mut [Option<Incumbent>], way: Option<Passage<'_>>) {
    let Some(way) = way else { return };
    for i in 1..sites.len() {
        let (Some(site), Some(nearer)) = (&sites[i], answers[i - 1].clone()) else { continue };
        if answers[i].as_ref().is_none_or(|a| a.opening_m > nearer.opening_m) {
            let seen = SiteVariant::new(site, way).and_then(|place| place.look(&nearer));
            answers[i] = narrower(answers[i].take(), seen);
        }
    }
}
