//! Limits of a case: the constraints that are active on its path, and how the opening would change if the site did.
//!
//! The first are read off the path. The second is computed: the site is changed ([`Change`]), the problem is solved
//! again from the known path, and the two answers are compared. The changed answer is never worse than the known path
//! driven at the changed site, so that a change that only gives room cannot seem to cost any; and every path found on
//! the way is tried at the site as drawn too, so that no saving comes from merely searching longer.
use super::reoptimize::{Incumbent, Passage, SiteVariant, narrower};
use super::scene::along_road;
use super::{Case, Study};
use crate::geometry::length::FOOT_M;
use crate::geometry::parallel::*;
use crate::motion::{Chain, Path};
use crate::search::{Effort, Found};
use crate::site::Site;
use crate::site::changes::Change;
use crate::vehicle::Vehicle;

/// Active constraints of a path, and what other sites would save.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Limits {
    /// Active constraints, contacts first.
    pub binds: Vec<ActiveConstraint>,
    /// Share of the path driven at full lock, 0 to 1.
    pub full_lock_share: f64,
    /// Savings by changes of the site; only for the case that governs a vehicle.
    pub changes: Option<Changes>,
}

/// An active constraint: something that leaves the path no room or play.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct ActiveConstraint {
    /// Kind of constraint.
    pub kind: ConstraintKind,
    /// Name of the constraint: "left post", an obstacle's label, "edge of the drive", "hitch", "full lock".
    pub what: String,
    /// Part or unit of the vehicle.
    pub part: String,
    /// Remaining slack: meters beyond the clearance, or radians below a hitch's limit; 0 at full lock.
    pub spare: f64,
}

/// Kinds of active constraints.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum ConstraintKind {
    /// Something that stands, at the clearance.
    Contact,
    /// The edge of where tires may go.
    Ground,
    /// A hitch at its limit.
    Hitch,
    /// The steering at full lock.
    Lock,
}

impl ConstraintKind {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Contact => "contact",
            Self::Ground => "ground",
            Self::Hitch => "hitch",
            Self::Lock => "lock",
        }
    }
}

/// A gap (also to an edge) smaller than this counts as touching: a centimeter, closer than anybody could set a post.
const BINDS_M: f64 = 0.01;
/// A hitch this near its limit counts as at the limit: half a degree.
const BINDS_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;
/// Steering beyond this share of full lock is full lock.
const LOCKED: f64 = 0.995;
/// A smaller share of the path than this at full lock is not reported.
const WORTH_A_SHARE: f64 = 0.01;

/// Active constraints of a path found with this clearance.
pub(super) fn limits(vehicle: &Vehicle, found: &Found, clearance_m: f64) -> Limits {
    let seen = &found.inspection;
    let mut binds: Vec<ActiveConstraint> = seen
        .touches
        .iter()
        .filter(|t| t.gap_m - clearance_m <= BINDS_M)
        .map(|t| ActiveConstraint {
            kind: ConstraintKind::Contact,
            what: t.what.clone(),
            part: t.part.clone(),
            spare: (t.gap_m - clearance_m).max(0.0),
        })
        .collect();
    if seen.ground_m <= BINDS_M {
        let (what, part) = ("edge of the drive".to_owned(), "tires".to_owned());
        binds.push(ActiveConstraint {
            kind: ConstraintKind::Ground,
            what,
            part,
            spare: seen.ground_m.max(0.0),
        });
    }
    let chain = Chain::of(vehicle);
    let samples = found.path.path().samples(&chain, 0.1);
    for (i, unit) in vehicle.units.iter().enumerate().take(chain.towed_count()) {
        let Some(hitch) = unit.hitch else { continue };
        let most = samples.iter().map(|s| s.state.hitch[i].abs()).fold(0.0, f64::max);
        if hitch.max_angle_rad - most <= BINDS_RAD {
            let part = vehicle.units.get(i + 1).map_or_else(String::new, |u| u.name.clone());
            let spare = (hitch.max_angle_rad - most).max(0.0);
            binds.push(ActiveConstraint {
                kind: ConstraintKind::Hitch,
                what: "hitch".to_owned(),
                part,
                spare,
            });
        }
    }
    let full_lock_share = locked_share(found.path.path(), vehicle.steering.max_curvature);
    if full_lock_share >= WORTH_A_SHARE {
        let part = vehicle.units.first().map_or_else(String::new, |u| u.name.clone());
        binds.push(ActiveConstraint {
            kind: ConstraintKind::Lock,
            what: "full lock".to_owned(),
            part,
            spare: 0.0,
        });
    }
    Limits { binds, full_lock_share, changes: None }
}

/// Share of a path's length driven at full lock: the part of each segment where its linearly changing curvature exceeds
/// [`LOCKED`] times the largest.
fn locked_share(path: &Path, max_curvature: f64) -> f64 {
    let mut locked = 0.0;
    for s in path.legs.iter().flat_map(|leg| &leg.segments) {
        let (a, b) = (s.curvature_start / max_curvature, s.curvature_end / max_curvature);
        // For each side, the locked part of a linear change from a to b.
        for (a, b) in [(a, b), (-a, -b)] {
            let (low, high) = (a.min(b), a.max(b));
            locked += s.length_m
                * if low >= LOCKED {
                    1.0
                } else if high <= LOCKED {
                    0.0
                } else {
                    (high - LOCKED) / (high - low)
                };
        }
    }
    let length = path.length_m();
    if length > 0.0 { locked / length } else { 0.0 }
}

/// Changes of the opening a vehicle needs, from all its directions of travel, with the site; measured by solving again.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Changes {
    /// True if the comfortable opening was followed; otherwise the bare one, where there is no comfortable one.
    pub comfortable: bool,
    /// Opening that is compared with: that of the answer, or a little less where solving again found less.
    pub opening_m: f64,
    /// One difference for each kind of change, in the order of [`Kind::ALL`].
    pub by_kind: Vec<Difference>,
}

impl Changes {
    /// Returns the difference that one kind of change makes.
    #[must_use]
    pub fn of(&self, kind: Kind) -> Option<&Difference> {
        self.by_kind.iter().find(|d| d.kind == kind)
    }
}

/// Effect of one kind of change on the opening.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Difference {
    /// Kind of change.
    pub kind: Kind,
    /// Change of the opening, meters, positive where it grows, for one step more: [`STEP_M`], or [`STEP_DEG`]
    /// counterclockwise. `None` where the change cannot be made or nothing was found to pass.
    pub more_m: Option<f64>,
    /// As [`Self::more_m`], for one step less, or clockwise.
    pub less_m: Option<f64>,
}

/// A kind of change to a site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Kind {
    /// The gate further from the road.
    Setback,
    /// The gate's road wider on its far side.
    RoadWidth,
    /// The apron wider on both sides where it meets the road.
    ApronFlare,
    /// Posts deeper across the gate line.
    PostDepth,
    /// The gate line turned, counterclockwise.
    Skew,
}

/// Step of lengths: a foot.
pub const STEP_M: f64 = FOOT_M;
/// Step of the gate line's turn, degrees: large enough that less of the difference is lost in the search's own scatter.
pub const STEP_DEG: f64 = 5.0;
/// Differences below this are reported as none: as much as two searches of one problem differ by.
const NO_CHANGE_M: f64 = 0.002;

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 5] =
        [Self::Setback, Self::RoadWidth, Self::ApronFlare, Self::PostDepth, Self::Skew];

    /// Returns the change of one step, `sign` 1 for more and -1 for less.
    #[must_use]
    pub fn step(self, sign: f64) -> Change {
        match self {
            Self::Setback => Change::Setback(sign * STEP_M),
            Self::RoadWidth => Change::RoadWidth(sign * STEP_M),
            Self::ApronFlare => Change::ApronFlare(sign * STEP_M),
            Self::PostDepth => Change::PostDepth(sign * STEP_M),
            Self::Skew => Change::Skew(sign * STEP_DEG.to_radians()),
        }
    }
}

/// Polishing ends where less than this can be gained: half a millimeter, a quarter of what counts as a difference.
const WORTH_M: f64 = 5e-4;

/// Effort of solving again from a known path, many times.
pub(super) fn lighter(effort: Effort) -> Effort {
    Effort { fine: effort.fine.div_ceil(2), worth_m: WORTH_M, ..effort.nearby() }
}

/// A case that is solved again at the changed sites.
struct Followed<'a> {
    case: usize,
    comfortable: bool,
    way: Passage<'a>,
    known: Incumbent,
}

/// Largest number of problems that [`changes`] solves for each vehicle: for progress reports.
pub(super) const ASKS: usize = 2 * Kind::ALL.len();

/// Computes the changes of the site that would save each vehicle: index of the case that governs it, and the changes.
/// The paths from its other directions of travel are evaluated at each change, too: a change that helps one of them may
/// hinder another. `done` is called after each problem.
pub(super) fn changes(study: &Study, effort: Effort, done: &(dyn Fn() + Sync)) -> Vec<(usize, Changes)> {
    let effort = lighter(effort);
    let site = &study.site;
    let governing = study.needs.iter().filter_map(|need| need.governed_by);
    let either = |case: usize| [true, false].into_iter().find_map(|c| Some((c, follow(study, case, c)?)));
    let followed: Vec<Followed> = governing
        .filter_map(|case| {
            let (comfortable, (way, known)) = either(case)?;
            Some(Followed { case, comfortable, way, known })
        })
        .collect();
    // Solve again at the site as drawn with the same effort as at the changed ones, so that the answers differ by the
    // site alone.
    let bases: Vec<Incumbent> = followed
        .par_iter()
        .map(|f| {
            let again = SiteVariant::new(site, f.way).and_then(|place| place.narrowest(effort, &[&f.known]));
            narrower(Some(f.known.clone()), again).unwrap_or_else(|| f.known.clone())
        })
        .collect();
    let ask = |i: usize, kind: Kind, sign: f64, more: Option<&Incumbent>| {
        let from: Vec<&Incumbent> = std::iter::once(&bases[i]).chain(more).collect();
        let answer = kind
            .step(sign)
            .apply(site)
            .ok()
            .and_then(|changed| SiteVariant::new(&changed, followed[i].way)?.narrowest(effort, &from));
        done();
        (i, kind, sign, answer)
    };
    // Setting the gate back gains as much room as widening the road: so the path of one seeds the other.
    let others = |kind: &Kind| *kind != Kind::RoadWidth;
    let all = |keep: &dyn Fn(&Kind) -> bool| -> Vec<(usize, Kind, f64)> {
        let kinds: Vec<Kind> = Kind::ALL.into_iter().filter(|k| keep(k)).collect();
        let steps = kinds.into_iter().flat_map(|kind| [(kind, 1.0), (kind, -1.0)]);
        steps.flat_map(|(kind, sign)| (0..followed.len()).map(move |i| (i, kind, sign))).collect()
    };
    let mut answers: Vec<(usize, Kind, f64, Option<Incumbent>)> =
        all(&others).par_iter().map(|(i, kind, sign)| ask(*i, *kind, *sign, None)).collect();
    let like = |i: usize, sign: f64| {
        let set_back = answers.iter().find(|a| a.0 == i && a.1 == Kind::Setback && a.2 == sign);
        set_back.and_then(|a| a.3.as_ref())
    };
    let roads: Vec<_> = all(&|kind| !others(kind))
        .par_iter()
        .map(|(i, kind, sign)| ask(*i, *kind, *sign, like(*i, *sign)))
        .collect();
    answers.extend(roads);
    let of_each = followed.par_iter().zip(&bases).enumerate().map(|(i, (followed, base))| {
        let mine = answers.iter().filter(|(of, ..)| *of == i);
        let mine = mine.map(|(_, kind, sign, known)| (*kind, *sign, known.clone())).collect();
        let alone = compared(site, followed, base, mine);
        (followed.case, over_all_ways(study, followed, effort, alone))
    });
    of_each.collect()
}

/// Converts changes of the governing case to changes of what its vehicle needs: the deciding paths from other
/// directions of travel may need more at the changed site.
fn over_all_ways(study: &Study, followed: &Followed, effort: Effort, alone: Changes) -> Changes {
    let comfortable = followed.comfortable;
    let Some(vehicle) = study.cases.get(followed.case).map(|case| case.vehicle) else { return alone };
    let need = |case: usize| {
        let case = &study.cases[case];
        if comfortable { case.comfortable.reported_m() } else { case.bare.reported_m() }
    };
    let of = study.of_vehicle(vehicle);
    let least = |group: &Vec<usize>| group.iter().copied().min_by(|a, b| need(*a).total_cmp(&need(*b)));
    let deciding = of.travels.iter().flat_map(|travel| &travel.groups).filter_map(least);
    // Where another way needs more at the site as drawn, it is solved again there too, so that a change which does nothing
    // shows no difference.
    let others: Vec<(Passage, Incumbent)> = deciding
        .filter(|case| *case != followed.case)
        .filter_map(|case| {
            let (way, known) = follow(study, case, comfortable)?;
            let again = (known.opening_m > alone.opening_m)
                .then(|| SiteVariant::new(&study.site, way)?.narrowest(effort, &[&known]))
                .flatten();
            Some((way, narrower(Some(known), again)?))
        })
        .collect();
    let opening_m = others.iter().map(|(_, known)| known.opening_m).fold(alone.opening_m, f64::max);
    let with_others = |kind: Kind, sign: f64, by_m: Option<f64>| {
        let alone_m = alone.opening_m + by_m?;
        let changed = kind.step(sign).apply(&study.site).ok()?;
        let mut most_m = alone_m;
        for (way, known) in &others {
            let place = SiteVariant::new(&changed, *way)?;
            let seen = place.look_below(known, most_m);
            // If this path passes what the governing path needs, no search is needed.
            let enough = seen.as_ref().is_some_and(|seen| seen.opening_m <= most_m);
            if !enough {
                most_m = most_m.max(place.narrowest(effort, &[known])?.opening_m);
            }
        }
        let by_m = most_m - opening_m;
        Some(if by_m.abs() < NO_CHANGE_M { 0.0 } else { by_m })
    };
    let by_kind = alone.by_kind.par_iter().map(|difference| Difference {
        kind: difference.kind,
        more_m: with_others(difference.kind, 1.0, difference.more_m),
        less_m: with_others(difference.kind, -1.0, difference.less_m),
    });
    Changes { opening_m, by_kind: by_kind.collect(), comfortable }
}

/// Returns a case of a study as a problem to be solved again, in comfort or bare, and the known answer; `None` for
/// drawn routes and where no answer is known.
pub(super) fn follow(study: &Study, index: usize, comfortable: bool) -> Option<(Passage<'_>, Incumbent)> {
    let way = way(study, index, comfortable)?;
    let case = &study.cases[index];
    let answer = if comfortable { &case.comfortable } else { &case.bare };
    let known = Incumbent {
        opening_m: answer.opening_m?,
        path: answer.witness.clone()?,
        gate: study.site.gate.clone(),
    };
    Some((way, known))
}

/// Returns a case of a study as a problem to be solved again, in comfort or bare; `None` for drawn routes.
pub(super) fn way(study: &Study, index: usize, comfortable: bool) -> Option<Passage<'_>> {
    let case: &Case = study.cases.get(index).filter(|case| case.route.is_none())?;
    Some(Passage {
        vehicle: study.vehicles.get(case.vehicle)?,
        travel: along_road(&study.site, &case.travel)?,
        maneuver: case.maneuver,
        lane: case.lane,
        shunts: study.shunts,
        clearance_m: if comfortable { study.clearance_m } else { 0.0 },
    })
}

/// Compares the changed answers with the one for the site as drawn, after trying each with the paths of the others.
fn compared(
    site: &Site,
    followed: &Followed,
    base: &Incumbent,
    mut mine: Vec<(Kind, f64, Option<Incumbent>)>,
) -> Changes {
    let mut best = base.clone();
    if let Some(place) = SiteVariant::new(site, followed.way) {
        let seen: Vec<Option<Incumbent>> =
            mine.par_iter().map(|(_, _, known)| place.look_below(known.as_ref()?, base.opening_m)).collect();
        best = seen.into_iter().fold(Some(best.clone()), narrower).unwrap_or(best);
    }
    // A better path for the site as drawn may be a better one for the changed sites.
    if best.opening_m < base.opening_m - 0.5 * NO_CHANGE_M {
        mine.par_iter_mut().for_each(|(kind, sign, known)| {
            let below_m = known.as_ref().map_or(f64::INFINITY, |known| known.opening_m);
            let changed = kind.step(*sign).apply(site).ok();
            let seen =
                changed.and_then(|site| SiteVariant::new(&site, followed.way)?.look_below(&best, below_m));
            *known = narrower(known.take(), seen);
        });
    }
    let difference = |kind: Kind, sign: f64| {
        let found = mine.iter().find(|(k, s, _)| *k == kind && *s == sign)?;
        let by = found.2.as_ref()?.opening_m - best.opening_m;
        Some(if by.abs() < NO_CHANGE_M { 0.0 } else { by })
    };
    let by_kind = Kind::ALL.map(|kind| Difference {
        kind,
        more_m: difference(kind, 1.0),
        less_m: difference(kind, -1.0),
    });
    Changes { comfortable: followed.comfortable, opening_m: best.opening_m, by_kind: by_kind.to_vec() }
}
