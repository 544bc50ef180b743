//! Search for the narrowest opening over the maneuvers a vehicle can drive.
//!
//! The seam is [`Search`]: a [`Problem`] in, a [`Finding`] out; [`narrowest`] is its shorthand. It starts from the
//! paths that grids of poses show ([`lattice`]), those that drivers take ([`templates::templates`]), the ways out of a
//! trailer that is pushed back ([`reversed_pursuit`]) and, with shunts, from paths without (`shunts`). Each is
//! transcribed to steering knots ([`transcription`]) and improved by a sequence of linear programs (`slp`), coarsely
//! for all and finely for the best; the winners are inspected by [`crate::clearance::inspect()`], whose bound holds
//! between poses. Reported numbers come from that inspection alone, so the search can be wrong only by missing
//! something narrower. [`mod@turn_around`] looks for a turn inside a yard, from a way in onto a way out.
//!
#![doc = include_str!("README.md")]
mod approach;
mod arrival;
mod builder;
mod canonical;
pub mod certify;
mod crossing;
pub mod driving_steps;
mod first_leg;
mod gather;
pub mod lane;
pub mod lattice;
pub mod lp;
mod multistart;
mod planes;
pub mod pursuit;
mod remesh;
pub mod reversed_pursuit;
pub mod sensitivity;
mod shorten;
mod shunts;
mod slp;
mod slp_limits;
pub mod templates;
mod to_spot;
pub mod transcription;
pub mod turn_around;
mod turned_into;

pub use builder::Search;

use crate::clearance::{Inspection, Surroundings};
use crate::geometry::{Point, distance, wrap_angle};
use crate::motion::{AtGate, Chain, Path, State, Trajectory};
use crate::site::Maneuver;
use crate::vehicle::{PartKind, Vehicle};
use crossing::Crossing;
use lane::Lane;

/// Openings wider than this count as none at all: no gate is built so wide.
pub const WIDEST_M: f64 = 30.0;
/// Distance that a tire may stand over the edge of a road or drive and still count as on it: below what a drawing can
/// settle.
pub const EDGE_TOLERANCE_M: f64 = 0.001;

/// A problem: one vehicle, one travel, one maneuver, one clearance.
#[derive(Clone, Debug)]
pub struct Problem<'a> {
    /// The vehicle.
    pub vehicle: &'a Vehicle,
    /// The site as this travel sees it.
    pub surroundings: &'a Surroundings,
    /// Lane it starts in.
    pub lane: &'a Lane,
    /// Maneuver by which it gets in.
    pub maneuver: Maneuver,
    /// Number of stops allowed beyond those the maneuver needs.
    pub shunts: u32,
    /// Clearance kept from everything that stands.
    pub clearance_m: f64,
    /// Place where it must end up, if the plan gives one.
    pub spot: Option<Goal>,
}

impl Problem<'_> {
    /// True if a trailer is pushed back: unstable, so its ways in are found and followed by other methods than the
    /// rest.
    fn pushes_trailer(&self) -> bool {
        self.maneuver == Maneuver::BackIn && self.vehicle.units.len() > 1
    }

    /// The other half of the road as a lane to start in, where moving over to it first may help: to drive in from farther
    /// away, and to back in from either side, since a vehicle swings away from the gate first.
    fn moved_over(&self) -> Option<Lane> {
        let helps = |other: &Lane| {
            self.maneuver == Maneuver::BackIn || other.gate_distance_m() > self.lane.gate_distance_m()
        };
        self.lane.other_half().filter(helps)
    }
}

/// A place a vehicle must end up at.
#[derive(Clone, Debug, PartialEq)]
pub struct Goal {
    /// The place, gate frame.
    pub at: Point,
    /// Heading of the last unit there (gate frame), if it matters.
    pub heading: Option<f64>,
    /// Outline of the lead unit, in its own frame: the place must be under it.
    pub outline: Vec<Point>,
}

/// Tolerance of the required heading: 5 degrees, what a person standing beside it would call straight.
const HEADING_TOLERANCE_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;

impl Goal {
    /// True if a vehicle in this state is there.
    #[must_use]
    pub fn reached(&self, chain: &Chain, state: &State) -> bool {
        self.short_by(chain, state) <= 0.0
    }

    /// Approximate distance of a vehicle in this state from being there, meters.
    #[must_use]
    pub fn short_by(&self, chain: &Chain, state: &State) -> f64 {
        let local = state.lead.to_body(self.at);
        let inside = distance::ring_contains(&self.outline, local);
        let n = self.outline.len();
        let away = if inside {
            0.0
        } else {
            (0..n)
                .map(|i| {
                    local.distance(distance::nearest_on_segment(
                        local,
                        self.outline[i],
                        self.outline[(i + 1) % n],
                    ))
                })
                .fold(f64::INFINITY, f64::min)
        };
        let turned = self.heading.map_or(0.0, |heading| {
            let last = chain.unit_poses(state)[chain.towed_count()].heading;
            (wrap_angle(last - heading).abs() - HEADING_TOLERANCE_RAD).max(0.0)
        });
        away + turned
    }
}

/// Sampling of a path while searching; reported numbers come from [`crate::clearance::inspect()`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Step near the gate, meters.
    pub near_m: f64,
    /// Step elsewhere, meters.
    pub far_m: f64,
    /// Step where a pose needs nearly the most, meters.
    pub hot_m: f64,
    /// Spare margin required, so that the bound between poses still passes.
    pub spare_m: f64,
    /// A linear program with a predicted gain below this ends a polish, meters of opening.
    pub worth_m: f64,
    /// Every pose that is within this of the worst is in a linear program, whatever its neighbors; negative infinity:
    /// only local maxima. At the best path many poses need the same, and where one of them is left out the step is too
    /// optimistic, fails, and the polish ends too soon.
    pub binding_m: f64,
    /// Spare below a hitch limit, radians, so that a constraint that a polish leaves slightly violated still keeps the
    /// limit itself.
    pub hitch_spare_rad: f64,
}

/// Distance from the worst pose within which poses are in a linear program, meters: the value from 0.5 to 30 mm that found
/// most.
const BINDING_M: f64 = 0.003;

/// Sampling for the coarse search.
const COARSE: Look = Look {
    near_m: 0.35,
    far_m: 0.8,
    hot_m: 0.2,
    spare_m: 0.004,
    worth_m: 1e-3,
    binding_m: BINDING_M,
    hitch_spare_rad: 2e-4,
};
/// Sampling for the last centimeters. A hitch is kept 0.06 degrees within its limit, far below what anyone can see.
const FINE: Look = Look {
    near_m: 0.3,
    far_m: 0.6,
    hot_m: 0.06,
    spare_m: 0.0006,
    worth_m: 5e-5,
    binding_m: BINDING_M,
    hitch_spare_rad: 1e-3,
};

/// Sampling for the last millimeter, on so many knots that every binding pose would make its linear programs slow.
const FINEST: Look = Look {
    near_m: 0.3,
    far_m: 0.6,
    hot_m: 0.02,
    spare_m: 0.0001,
    worth_m: 2e-5,
    binding_m: f64::NEG_INFINITY,
    hitch_spare_rad: 1e-3,
};

/// Work that a search may do, counted in poses, maneuvers and linear programs: the same on every machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effort {
    /// Number of poses that each grid of the coarse search may evaluate: see [`lattice`].
    pub lattice: usize,
    /// Number of maneuvers drawn at random in addition.
    pub drawn: usize,
    /// Linear programs solved for each start, coarsely.
    pub coarse: usize,
    /// Number of best starts that are polished.
    pub polished: usize,
    /// Linear programs solved in polishing each.
    pub fine: usize,
    /// Linear programs solved in the end for the best, after remeshing.
    pub finest: usize,
    /// Spacing of the steering knots, meters.
    pub spacing_m: f64,
    /// A linear program with a predicted gain below this ends a fine polish, meters of opening.
    pub worth_m: f64,
}

impl Effort {
    /// The usual effort.
    pub const USUAL: Self = Self {
        lattice: 40_000,
        drawn: 0,
        coarse: 16,
        polished: 2,
        fine: 18,
        finest: 16,
        spacing_m: 1.0,
        worth_m: FINE.worth_m,
    };
    /// More effort, for a second search.
    pub const THOROUGH: Self = Self {
        lattice: 300_000,
        drawn: 200,
        coarse: 30,
        polished: 6,
        fine: 60,
        finest: 30,
        spacing_m: 0.7,
        worth_m: FINE.worth_m,
    };

    /// Effort of solving a problem again after a small change of the place, while someone drags a post: see [`again`].
    pub const AGAIN: Self = Self { coarse: 2, polished: 1, fine: 8, finest: 0, worth_m: 5e-4, ..Self::USUAL };

    /// True if so few linear programs are solved that a known path keeps its own knots, however many.
    const fn keeps_knots(&self) -> bool {
        self.coarse <= Self::AGAIN.coarse
    }

    /// Effort of searching again near a known path: its neighborhood has been searched before.
    #[must_use]
    pub const fn nearby(self) -> Self {
        Self { coarse: self.coarse.div_ceil(2), polished: 1, finest: 0, ..self }
    }
}

/// Result of a search.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Finding {
    /// The opening and its proof, when something passes.
    pub found: Option<Found>,
    /// Lower bound for maneuvers of any kind: the least width of the body, plus clearance on both sides.
    pub at_least_m: f64,
    /// The obstacle of the best path, when nothing passes.
    pub stopped_by: Option<String>,
    /// Paths that came close, in the gate's frame: starts for a similar problem.
    pub starts: Vec<Path>,
    /// Poses evaluated.
    pub work: u64,
}

impl Finding {
    /// The opening found, meters; infinite if none was.
    #[must_use]
    pub fn opening_m(&self) -> f64 {
        self.found.as_ref().map_or(f64::INFINITY, |found| found.inspection.opening_m)
    }

    /// Returns the better of two findings of one problem, with the starts of both, its own first.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        let work = self.work + other.work;
        let (first, second) =
            if other.opening_m() < self.opening_m() { (other, self) } else { (self, other) };
        let mut starts = first.starts;
        starts.extend(second.starts);
        Self { starts, work, ..first }
    }
}

/// A path that passes, and its need; a search does not list its tight places.
#[derive(Clone, Debug)]
pub struct Found {
    /// The path.
    pub path: Trajectory<AtGate>,
    /// Its inspection.
    pub inspection: Inspection,
    /// The path as it was polished, in the canonical form of the problem: the same to the last digit however the place
    /// is drawn. `None` where a path that was not polished for this problem was certified.
    pub(crate) polished: Option<Path>,
}

/// Finds the narrowest opening. `seeds` are paths (gate frame) that answered a similar problem; other starts are
/// searched only where those lead nowhere.
///
/// The same problem gives the same finding on every machine.
#[must_use]
pub fn narrowest(problem: &Problem, effort: Effort, seeds: &[Path]) -> Finding {
    Search::new(problem).effort(effort).seeds(seeds).run()
}

/// As [`narrowest`], but other starts are also searched where the seeds lead to more than `enough_m`.
#[must_use]
pub(crate) fn narrowest_within(problem: &Problem, effort: Effort, seeds: &[Path], enough_m: f64) -> Finding {
    Search::new(problem).effort(effort).seeds(seeds).enough_m(enough_m).run()
}

/// Comfort takes at most this many times the clearance on both sides more than bare: of 39 problems three take more.
const MUCH_MORE: f64 = 2.0;

/// Largest opening that a way found bare is expected to need with this clearance: where it needs more, another way in
/// may need less.
#[must_use]
pub fn enough_in_comfort(bare_m: Option<f64>, clearance_m: f64) -> f64 {
    bare_m.map_or(f64::INFINITY, |bare_m| bare_m + MUCH_MORE * 2.0 * clearance_m)
}

/// Finds the narrowest opening without a last resort, given an estimate of it: leaves are cut for `about_m` until the
/// opening found gives a better value. Candidates that will hardly need less than `below_m` are given up early.
#[must_use]
pub(crate) fn narrowest_soon(problem: &Problem, effort: Effort, about_m: f64, below_m: f64) -> Finding {
    Search::new(problem).effort(effort).about_m(about_m).below_m(below_m).without_last_resort().run()
}

/// Finds the narrowest opening near paths (gate frame) that answered a similar problem, and nowhere else; `about_m` is
/// an estimate of it, for which leaves are cut.
#[must_use]
pub(crate) fn near(problem: &Problem, effort: Effort, seeds: &[Path], about_m: f64) -> Finding {
    near_below(problem, effort, seeds, about_m, f64::INFINITY)
}

/// As [`near`], but candidates that will hardly need less than `below_m` are given up early.
#[must_use]
pub(crate) fn near_below(
    problem: &Problem,
    effort: Effort,
    seeds: &[Path],
    about_m: f64,
    below_m: f64,
) -> Finding {
    Search::new(problem).effort(effort).seeds(seeds).about_m(about_m).below_m(below_m).near_seeds().run()
}

/// Factor by which a small change of the place may widen an answer before its other paths are tried, ...
const WORTH_ANOTHER_PATH: f64 = 1.004;
/// ... and before it is searched for anew, where those lead nowhere.
const SMALL_CHANGE: f64 = 1.01;

/// Solves a problem again after a small change of the place, from the best of the paths (gate frame) that answered it
/// before: [`Finding::starts`]; `about_m` is what it needed then. Some ten times as fast as [`narrowest`], which is the
/// fallback where those paths lead nowhere.
///
/// Where the gate itself has moved, a path may be given twice, as it was on the ground and as it was relative to the
/// gate. The difference from the answer of [`narrowest`] depends on how small the change is: for gates moved by up to a
/// foot it is within half a percent on the standard problems.
#[must_use]
pub fn again(problem: &Problem, ways: &[Path], about_m: f64) -> Finding {
    let ways: Vec<Path> = ways.iter().map(|way| without_lead_in(problem.lane, way)).collect();
    let mut best: Option<Finding> = None;
    for way in &ways {
        let finding = near(problem, Effort::AGAIN, std::slice::from_ref(way), about_m);
        let so_far = match best {
            Some(best) => best.or(finding),
            None => finding,
        };
        if so_far.opening_m() <= WORTH_ANOTHER_PATH * about_m {
            return so_far;
        }
        best = Some(so_far);
    }
    match best.map(|best| best.or(near(problem, Effort::USUAL.nearby(), &ways, about_m))) {
        Some(best) if best.found.is_some() => best,
        _ => narrowest_within(problem, Effort::USUAL, &ways, SMALL_CHANGE * about_m),
    }
}

/// Finds the narrowest opening near one path (gate frame) that answered a similar problem, without a fallback;
/// `about_m` as for [`near`].
#[must_use]
pub(crate) fn touch_up(problem: &Problem, effort: Effort, way: &Path, about_m: f64) -> Finding {
    near(problem, effort, &[without_lead_in(problem.lane, way)], about_m)
}

/// Removes the straight piece that leads in to a path along the lane, if it may start where that ends: the rest has its
/// steering knots evenly spaced, as it was found.
fn without_lead_in(lane: &Lane, path: &Path) -> Path {
    let mut path = path.clone();
    let Some(leg) = path.legs.first_mut().filter(|leg| leg.segments.len() > 2) else { return path };
    let first = leg.segments[0];
    let straight = first.curvature_start == 0.0 && first.curvature_end == 0.0;
    let straight = straight && (first.length_m - leg.segments[1].length_m).abs() > 1e-6;
    let mut lead = path.start.lead;
    lead.position = lead.position + Point::at_angle(lead.heading) * (leg.direction.sign() * first.length_m);
    if straight && lane.zone_within(lane.station_of(&lead), 0.0).is_some() {
        path.start.lead = lead;
        leg.segments.remove(0);
    }
    path
}

/// Improves `finding`'s answer from its own path on other steering knots; returns the finding itself where nothing is
/// gained. A search with [`Effort::finest`] ends with this; call it on its own once several searches have seeded each
/// other.
#[must_use]
pub(crate) fn on_other_knots(problem: &Problem, effort: Effort, finding: Finding) -> Finding {
    let Some((known, path)) = finding.found.as_ref().zip(finding.starts.first()) else { return finding };
    match remesh::on_other_knots(problem, effort, path, known.inspection.opening_m) {
        Some((found, work)) => Finding { found: Some(found), work: finding.work + work, ..finding },
        None => finding,
    }
}

/// Shortens what `finding`'s answer reverses, at an opening hardly wider; `None` where nothing is gained.
#[must_use]
pub(crate) fn reversing_less(problem: &Problem, effort: Effort, finding: &Finding) -> Option<Finding> {
    let (found, work) = shorten::shorter(problem, effort, finding.found.as_ref()?)?;
    Some(Finding { found: Some(found), work: finding.work + work, ..finding.clone() })
}

/// Lower bound for any maneuver: the least width of the body, and the clearance on both sides.
fn at_least(problem: &Problem) -> f64 {
    least_width(problem.vehicle) + 2.0 * problem.clearance_m
}

/// Two ways in are alike if they cross the gate line within this of each other, meters, at angles within this, radians:
/// of 100 pairs of paths the second ended lower by a millimeter or more six times, once of them nearer than that.
const ALIKE: (f64, f64) = (0.05, 3.0 * std::f64::consts::PI / 180.0);

/// True if two paths are the same way in except for what a polish changes: they cross the gate line at about the same
/// place and angle.
#[must_use]
pub fn alike(vehicle: &Vehicle, a: &Trajectory<AtGate>, b: &Trajectory<AtGate>) -> bool {
    let chain = Chain::of(vehicle);
    !Crossing::of(&chain, a.path()).differs(&Crossing::of(&chain, b.path()), ALIKE)
}

/// Least width of the widest unit's body without mirrors: it must fit between the posts whatever the path.
#[must_use]
pub fn least_width(vehicle: &Vehicle) -> f64 {
    let mut widest: f64 = 0.0;
    for unit in &vehicle.units {
        for part in unit.parts.iter().filter(|p| p.kind == PartKind::Body) {
            let corners = &part.outline.0;
            // A convex outline is narrowest across one of its edges.
            let across = part.outline.edges().filter_map(|(a, b)| {
                let normal = (b - a).unit()?.left();
                let reach = corners.iter().map(|p| (*p - a).dot(normal));
                Some(reach.fold(0.0, f64::max))
            });
            let width = across.fold(f64::INFINITY, f64::min);
            if width.is_finite() {
                widest = widest.max(width);
            }
        }
    }
    widest
}

/// Outline that a [`Goal`] is tested with: the lead unit's largest body part.
#[must_use]
pub fn lead_outline(vehicle: &Vehicle) -> Vec<Point> {
    let bodies = vehicle.units[0].parts.iter().filter(|p| p.kind == PartKind::Body);
    let largest = bodies.max_by(|a, b| a.outline.signed_area().total_cmp(&b.outline.signed_area()));
    largest.map_or_else(Vec::new, |p| p.outline.0.clone())
}
