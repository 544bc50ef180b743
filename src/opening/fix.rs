//! Smallest fixes: where the gate as drawn fails a vehicle, the least change of each kind that corrects it.
//!
//! A gate fails a vehicle that does not pass it in comfort; that is what the exit status of a study says. Where a
//! vehicle does not pass at all, two amounts are searched for: one that lets every vehicle in, and one that does so in
//! comfort. All vehicles and travels count, those the drawn gate lets in too.
//!
//! The amount is found by solving again at changed sites, warm-started from the known paths ([`super::reoptimize`]), in
//! steps that people build by. Then the changed plan is written, read back and studied in full, without reusing
//! anything found here: only what that study confirms is a fix.
use super::limits::lighter;
use super::requirement::{Demand, demands};
use super::smallest_step::{least, steps};
use super::study::study;
use super::{
    Progress, Study, StudyOptions, Verdict, Wanted, every_vehicle_passes, leaves_open, vehicle_verdict,
};
use crate::clearance::{Surroundings, Thing};
use crate::gate::{LeafTravel, assembly, built_in, leaf_count};
use crate::geometry::length::{FOOT_M, INCH_M};
use crate::geometry::parallel::*;
use crate::geometry::{Point, Units, distance};
use crate::search::Effort;
use crate::site::changes::{Change, LOW_M};
use crate::site::{Anchor, Arrangement, Leaves, Side, Site, Swing, read, rewrite};
use serde_json::Value;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Kind of change that may correct a gate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum FixKind {
    /// A wider opening.
    Wider,
    /// The gate further from the road.
    FurtherBack,
    /// The gate line turned.
    Turned,
    /// The apron wider on both sides where it meets the road.
    Flared,
    /// Other leaves in the same opening.
    OtherLeaf,
}

impl FixKind {
    /// All kinds, in the order of reports. A wider road is not among them: it is not the owner's to widen.
    pub const ALL: [Self; 5] = [Self::Wider, Self::FurtherBack, Self::Turned, Self::Flared, Self::OtherLeaf];

    /// The word results.json and file names use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Wider => "wider",
            Self::FurtherBack => "further-back",
            Self::Turned => "turned",
            Self::Flared => "flared",
            Self::OtherLeaf => "other-leaf",
        }
    }

    /// Step of the amounts, and the largest number of steps tried. Whole inches, half feet and degrees are what people
    /// build by; beyond the largest it would be another entrance. Our choice, no source.
    #[must_use]
    pub const fn range(self, units: Units) -> (f64, u32) {
        match (self, units) {
            (Self::Wider, Units::Feet) => (INCH_M, 120),
            (Self::Wider, Units::Meters) => (0.05, 60),
            (Self::FurtherBack, Units::Feet) => (0.5 * FOOT_M, 100),
            (Self::FurtherBack, Units::Meters) => (0.10, 150),
            (Self::Turned, _) => (std::f64::consts::PI / 180.0, 30),
            (Self::Flared, Units::Feet) => (0.5 * FOOT_M, 30),
            (Self::Flared, Units::Meters) => (0.10, 45),
            (Self::OtherLeaf, _) => (0.0, 1),
        }
    }
}

/// A change that corrects the gate, confirmed by a study of the changed plan.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Fix {
    /// Kind of change.
    pub kind: FixKind,
    /// Goal for every vehicle: to pass ([`Verdict::Tight`]), or to pass in comfort.
    pub goal: Verdict,
    /// The change itself, with its amount.
    pub change: Change,
    /// Verdict on each vehicle in the study of the changed plan, in the order of the study.
    pub verdicts: Vec<Verdict>,
    /// The changed plan: the original, with only what the change moves rewritten.
    pub plan: Value,
}

/// A kind of change that was not found to correct the gate.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct NoFix {
    /// Kind of change.
    pub kind: FixKind,
    /// Goal that was not reached.
    pub goal: Verdict,
    /// Reason.
    pub why: WhyNone,
}

/// Reason that a kind of change is no fix.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum WhyNone {
    /// Nothing up to this amount is enough (meters, radians; 0 for leaves), or what lies in between cannot be built.
    NotWithin(f64),
    /// The change cannot be made here at all, and why.
    CannotBe(String),
    /// Some amounts seemed enough, but the study of the changed plan did not confirm them.
    NotConfirmed,
}

/// Changes that would correct the gate as drawn. Both lists empty: nothing needs to be corrected.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Fixes {
    /// Confirmed changes, by kind.
    pub found: Vec<Fix>,
    /// Kinds of change without a confirmed one.
    pub none: Vec<NoFix>,
}

/// Searches for the smallest fixes of a study whose gate fails a vehicle. `text` is the plan that was studied, `wanted`
/// and `options` the inputs of that study; `vehicle_named` gives the names to write into the changed plans
/// ([`crate::site::rewrite()`]). `progress` is called after each search and each study.
#[must_use]
pub fn fixes(
    study: &Study,
    text: &str,
    (wanted, options): (&[Wanted], &StudyOptions),
    vehicle_named: &(dyn Fn(&str) -> String + Sync),
    progress: &(dyn Fn(Progress) + Sync),
) -> Fixes {
    if every_vehicle_passes(study) {
        return Fixes::default();
    }
    let goals: &[Verdict] =
        if (0..study.vehicles.len()).any(|vehicle| vehicle_verdict(study, vehicle) < Verdict::Tight) {
            &[Verdict::Tight, Verdict::Comfortable]
        } else {
            &[Verdict::Comfortable]
        };
    let done = AtomicUsize::new(0);
    let total = FixKind::ALL.len() * goals.len();
    let step = || progress(Progress { done: done.fetch_add(1, Ordering::Relaxed) + 1, total });
    let sought: Vec<Vec<Result<Fix, NoFix>>> = FixKind::ALL
        .par_iter()
        .map(|kind| {
            let mut of_kind: Vec<Result<Fix, NoFix>> = Vec::new();
            for goal in goals {
                // A change that lets every vehicle in may do so in comfort; one that does not let them in does not do
                // so in comfort either.
                let good = |fix: &Fix| fix.verdicts.iter().all(|v| v >= goal);
                let settled = |sought: &Result<Fix, NoFix>| sought.as_ref().map_or(true, good);
                if !of_kind.iter().any(settled) {
                    let seek = Seek { study, text, wanted, options, vehicle_named, kind: *kind, goal: *goal };
                    of_kind.push(seek.fix());
                }
                step();
            }
            of_kind
        })
        .collect();
    let mut fixes = Fixes::default();
    for of_kind in sought.into_iter().flatten() {
        match of_kind {
            Ok(fix) => fixes.found.push(fix),
            Err(none) => fixes.none.push(none),
        }
    }
    // One amount may serve both goals.
    fixes.found.iter_mut().for_each(|fix| {
        if fix.verdicts.iter().all(|v| *v == Verdict::Comfortable) {
            fix.goal = Verdict::Comfortable;
        }
    });
    fixes
}

/// Search for one kind of change with one goal.
struct Seek<'a> {
    study: &'a Study,
    text: &'a str,
    wanted: &'a [Wanted],
    options: &'a StudyOptions,
    vehicle_named: &'a (dyn Fn(&str) -> String + Sync),
    kind: FixKind,
    goal: Verdict,
}

/// Additional steps tried where a study does not confirm an amount that seemed enough.
const MORE_STEPS: [u32; 4] = [0, 1, 3, 6];

/// Other leaves that a short search finds to miss no more than this are studied in full: there are few of them, and
/// short search and study were seen to differ by this much.
const NEARLY_M: f64 = 0.5;

impl Seek<'_> {
    fn fix(&self) -> Result<Fix, NoFix> {
        self.look().map_err(|why| NoFix { kind: self.kind, goal: self.goal, why })
    }

    fn look(&self) -> Result<Fix, WhyNone> {
        let (step, most) = self.kind.range(self.study.site.units);
        let amount = |n: u32| step * f64::from(n);
        match self.kind {
            FixKind::Wider => self.least_of(&|n| Change::Opening(amount(n)), most),
            FixKind::FurtherBack => self.least_of(&|n| Change::Setback(amount(n)), most),
            FixKind::Flared => self.least_of(&|n| Change::ApronFlare(amount(n)), most),
            FixKind::Turned => {
                let turns: [&(dyn Fn(u32) -> Change + Sync); 2] =
                    [&|n| Change::Skew(amount(n)), &|n| Change::Skew(-amount(n))];
                // The other turn only if it takes less.
                let one = self.enough(turns[0], most);
                let other = self.enough(turns[1], one.as_ref().map_or(most, |n| n - 1));
                let other = other.ok().and_then(|n| self.confirmed(turns[1], n, most));
                let below = other.as_ref().map_or(most, |(n, _)| n - 1);
                let first = one.as_ref().ok().and_then(|n| self.confirmed(turns[0], *n, below));
                let least = first.or(other).map(|(_, fix)| fix);
                least.ok_or_else(|| one.err().unwrap_or(WhyNone::NotConfirmed))
            }
            FixKind::OtherLeaf => self.other_leaf(),
        }
    }

    fn least_of(&self, change: &(dyn Fn(u32) -> Change + Sync), most: u32) -> Result<Fix, WhyNone> {
        let enough = self.enough(change, most)?;
        self.confirmed(change, enough, most).map(|(_, fix)| fix).ok_or(WhyNone::NotConfirmed)
    }

    /// Effort of one amount: paths near the answer are known, and few of the maneuvers drawn at random are better.
    fn effort(&self) -> Effort {
        let effort = lighter(self.options.effort);
        Effort { lattice: effort.lattice.div_ceil(3), drawn: effort.drawn.div_ceil(3), ..effort }
    }

    /// Returns the first number of steps from this one on that a study of the changed plan confirms, with the fix.
    fn confirmed(&self, change: &dyn Fn(u32) -> Change, enough: u32, most: u32) -> Option<(u32, Fix)> {
        let site = &self.study.site;
        let stands = |n: &u32| change(*n).apply(site).is_ok_and(|changed| can_stand(site, &changed).is_ok());
        let amounts = MORE_STEPS.iter().map(|more| enough + more).filter(|n| *n <= most).filter(stands);
        amounts.into_iter().find_map(|n| Some((n, self.confirm(&change(n))?)))
    }

    /// Studies the changed plan, just as anyone who opens that plan would.
    fn confirm(&self, change: &Change) -> Option<Fix> {
        let plan = rewrite(self.text, change, self.vehicle_named).ok()?;
        let site = read(&plan.to_string(), "changed plan").ok()?;
        let options = StudyOptions { prove: false, changes: false, tradeoff: false, ..*self.options };
        let again = study(site, self.wanted, &options, &|_| ());
        let verdicts: Vec<Verdict> =
            (0..again.vehicles.len()).map(|vehicle| vehicle_verdict(&again, vehicle)).collect();
        let good = verdicts.iter().all(|v| *v >= self.goal) && leaves_open(&again);
        good.then(|| Fix { kind: self.kind, goal: self.goal, change: *change, verdicts, plan })
    }

    /// Least number of steps of a change after which every vehicle is found to pass.
    fn enough(&self, change: &dyn Fn(u32) -> Change, most: u32) -> Result<u32, WhyNone> {
        let site = &self.study.site;
        let mut demands = demands(self.study, self.goal);
        let missing = demands.iter().filter(|d| !d.passes).map(|d| d.missing_m).fold(0.0, f64::max);
        let leaves_m = LeafTravel::of(site, &site.gate.leaves).missing_m();
        let (step, _) = self.kind.range(site.units);
        let first = match self.kind {
            // The opening must be wider by what is missing; tried at once to see whether that can be built.
            FixKind::Wider if missing.is_finite() => steps(missing / step - 1e-9),
            _ => most.div_ceil(12),
        };
        if first > most || most == 0 {
            return Err(WhyNone::NotWithin(step * f64::from(most)));
        }
        let mut refused: Option<String> = None;
        let mut ask = |n: u32| {
            let changed = change(n).apply(site).map_err(|e| e.to_string());
            match changed.and_then(|changed| can_stand(site, &changed).map(|()| changed)) {
                // Leaves that do not open are as much in the way as posts too near to each other.
                Ok(changed) => {
                    let leaves_m = LeafTravel::of(&changed, &changed.gate.leaves).missing_m();
                    let vehicles_m = missing_at(&changed, &mut demands, self.effort());
                    Some(if leaves_m > 0.0 { vehicles_m.max(leaves_m) } else { vehicles_m })
                }
                Err(why) => {
                    refused = Some(why);
                    None
                }
            }
        };
        if self.kind == FixKind::Wider && missing.is_finite() && site.gate.anchor != Anchor::Free {
            let enough = first.max(1);
            let changed = change(enough).apply(site).map_err(|e| WhyNone::CannotBe(e.to_string()))?;
            can_stand(site, &changed).map_err(WhyNone::CannotBe)?;
            // Leaves that are stopped as drawn are stopped longer, too.
            let is_open = opens(&changed, &changed.gate.leaves);
            return is_open.then_some(enough).ok_or_else(|| WhyNone::CannotBe(NOT_OPEN.to_owned()));
        }
        match least(most, first, missing.max(leaves_m), &mut ask) {
            Some(enough) => Ok(enough),
            // Where not even the smallest step can be made, that is the reason.
            None => match change(1).apply(site).map_err(|e| e.to_string()) {
                Ok(changed) => match can_stand(site, &changed) {
                    Ok(()) => Err(WhyNone::NotWithin(step * f64::from(most))),
                    Err(why) => Err(WhyNone::CannotBe(why)),
                },
                Err(why) => Err(WhyNone::CannotBe(why)),
            },
        }
    }

    /// Returns the first set of other leaves, from the one most like the drawn one to none at all, that lets every
    /// vehicle in.
    fn other_leaf(&self) -> Result<Fix, WhyNone> {
        let site = &self.study.site;
        let drawn = site.gate.leaves;
        if drawn.arrangement == Arrangement::None {
            return Err(WhyNone::CannotBe("there is no leaf".to_owned()));
        }
        let mut demands = demands(self.study, self.goal);
        let mut passes = |leaves: Leaves| {
            let changed = Change::Leaves(leaves).apply(site).ok()?;
            let missing = missing_at(&changed, &mut demands, self.effort());
            (missing <= NEARLY_M).then_some(())
        };
        // Leaves only stand in the way: where the gate without any fails, one with other leaves fails too.
        passes(Leaves { arrangement: Arrangement::None, ..drawn }).ok_or(WhyNone::NotWithin(0.0))?;
        let mut seen = false;
        for leaves in other_leaves(&drawn) {
            if !can_be_hung(site, &leaves) || passes(leaves).is_none() {
                continue;
            }
            seen = true;
            if let Some(fix) = self.confirm(&Change::Leaves(leaves)) {
                return Ok(fix);
            }
        }
        Err(if seen { WhyNone::NotConfirmed } else { WhyNone::NotWithin(0.0) })
    }
}

/// Missing opening at a changed site: of the first demand that is not met, or not more than 0 if all are met. Paths
/// found on the way are kept for the next site.
fn missing_at(site: &Site, demands: &mut [Demand], effort: Effort) -> f64 {
    let mut site = site.clone();
    if site.gate.anchor == Anchor::Free {
        // Every vehicle must pass the gate where it is drawn.
        site.gate.anchor = Anchor::Center;
    }
    // Demands that the drawn gate fails come first, of those the one that missed most last: one that is not met is
    // enough.
    demands.sort_by(|a, b| a.passes.cmp(&b.passes).then(b.missing_m.total_cmp(&a.missing_m)));
    let mut most = f64::NEG_INFINITY;
    for demand in demands {
        let missing = demand.missing_at(&site, effort);
        if missing > 0.0 {
            return missing;
        }
        most = most.max(missing);
    }
    most
}

/// Reason against a change after which leaves are stopped.
const NOT_OPEN: &str = "its leaves would not open";

/// Checks that the changed gate can stand where it is: its posts clear of obstacles, its leaves not stopped by anything
/// that did not stop them before.
fn can_stand(before: &Site, after: &Site) -> Result<(), String> {
    let stopped = blocked_posts(before);
    let is_new = |(thing, _): &(Thing, String)| !stopped.iter().any(|(stood_in, _)| stood_in == thing);
    if let Some((_, what)) = blocked_posts(after).into_iter().find(is_new) {
        return Err(format!("a post would stand in \"{what}\""));
    }
    if opens(before, &before.gate.leaves) && !opens(after, &after.gate.leaves) {
        return Err(NOT_OPEN.to_owned());
    }
    Ok(())
}

/// Things that the posts stand in, with their names.
fn blocked_posts(site: &Site) -> Vec<(Thing, String)> {
    // Fences end in posts.
    let bare = Site { fences: Vec::new(), ..site.clone() };
    let around = Surroundings::new(&bare, None, site.gate.opening_m());
    let (half, post) = (0.5 * site.gate.opening_m(), site.gate.post);
    let ground = |from: f64, to: f64| {
        let (low, high) = (-0.5 * post.depth_m, 0.5 * post.depth_m);
        [(from, low), (to, low), (to, high), (from, high)].map(|(u, v)| Point::new(u, v))
    };
    let posts = [ground(-half - post.width_m, -half), ground(half, half + post.width_m)];
    let stands = around.standing.iter().filter(|s| s.material.meets(LOW_M, post.top_m));
    let inside = stands.filter(|s| {
        posts.iter().any(|post| distance::nearest_convex(post, &s.corners).distance_m <= s.radius_m)
    });
    inside.map(|s| (s.material.thing, s.material.what.clone())).collect()
}

/// True if leaves made for this opening open as far as they should.
fn can_be_hung(site: &Site, leaves: &Leaves) -> bool {
    let made = assembly(&built_in(), leaves.arrangement, leaves.opens, site.gate.opening_m());
    (leaves.arrangement == site.gate.leaves.arrangement || made.usual) && opens(site, leaves)
}

/// True if leaves open as far as they should.
pub(super) fn opens(site: &Site, leaves: &Leaves) -> bool {
    LeafTravel::of(site, leaves).is_whole()
}

/// Other leaves for a gate, the most similar to the drawn ones first: opened further, hung on the other side, in
/// another number, swinging the other way, sliding, none.
pub(super) fn other_leaves(drawn: &Leaves) -> Vec<Leaves> {
    let mut list = Vec::new();
    let swings = drawn.arrangement.swings();
    if swings {
        let further = (10..=18).map(|tens| f64::from(tens * 10).to_radians());
        let further = further.filter(|angle| *angle > drawn.open_angle_rad + 1e-6);
        list.extend(further.map(|open_angle_rad| Leaves { open_angle_rad, ..*drawn }));
    }
    let kinds = [Arrangement::Single(Side::Left), Arrangement::Single(Side::Right), Arrangement::Double];
    let mut others: Vec<Arrangement> = kinds.into_iter().filter(|a| *a != drawn.arrangement).collect();
    others.sort_by_key(|a| leaf_count(*a).abs_diff(leaf_count(drawn.arrangement)));
    list.extend(others.iter().filter(|_| swings).map(|a| Leaves { arrangement: *a, ..*drawn }));
    let turned = if drawn.opens == Swing::In { Swing::Out } else { Swing::In };
    if swings {
        list.push(Leaves { opens: turned, ..*drawn });
        list.extend(others.iter().map(|a| Leaves { arrangement: *a, opens: turned, ..*drawn }));
    } else {
        list.extend(others.iter().map(|a| Leaves { arrangement: *a, ..*drawn }));
    }
    for side in [Side::Left, Side::Right] {
        list.push(Leaves { arrangement: Arrangement::Slide(side), ..*drawn });
    }
    list.push(Leaves { arrangement: Arrangement::None, ..*drawn });
    list.retain(|leaves| leaves != drawn);
    list
}
