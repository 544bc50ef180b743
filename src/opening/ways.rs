//! What a vehicle needs of a gate with other leaves than those drawn, starting from the ways in that a study found.
use super::study::{Scene, goals, in_gate, lane, look_again, scene};
use super::{Answer, Case, DrawnGate, Study, StudyOptions, Wanted};
use crate::clearance::{Encounter, inspect};
use crate::motion::Path;
use crate::search::{EDGE_TOLERANCE_M, Effort, Finding, Goal, Question, narrowest};
use crate::site::{Maneuver, Site};
use crate::vehicle::Vehicle;

/// How hard to look for a way past other leaves: the paths found for the drawn ones are near it.
const EFFORT: Effort = Effort { lattice: 10_000, drawn: 0, coarse: 8, polished: 1, fine: 10, spacing_m: 1.0 };
/// A path that needs more than the drawn gate by no more than this is good enough unless a stock size lies between: four
/// inches, a sixth of the usual step from size to size.
const ENOUGH_M: f64 = 0.1;

/// The ways of one vehicle through a gate with given leaves.
pub(super) struct Ways {
    vehicle: Vehicle,
    clearance_m: f64,
    travels: Vec<Travel>,
    /// The opening it needs bare, from every travel.
    pub(super) bare_m: Option<f64>,
    /// In comfort.
    pub(super) comfortable_m: Option<f64>,
}

/// The ways in of one travel: paths in the gate's frame with what each needs bare and in comfort, best first.
struct Travel {
    scene: Scene,
    bare: Vec<(f64, Path)>,
    comfortable: Vec<(f64, Path)>,
}

/// The ways of a vehicle through the gate of `site`, which is the study's but for its leaves. `as_drawn`: even those are
/// the same. `sizes` are the openings it will be asked about.
pub(super) fn ways(
    study: &Study,
    site: &Site,
    index: usize,
    wanted: &Wanted,
    options: &StudyOptions,
    as_drawn: bool,
    sizes: &[f64],
) -> Ways {
    let vehicle = &wanted.vehicle;
    let asked = |word: &String| wanted.travels.is_empty() || wanted.travels.contains(word);
    let scenes = site.travels().into_iter().filter(|t| asked(&t.word)).map(|t| scene(site, t));
    let mut travels = Vec::new();
    for scene in scenes {
        let cases: Vec<&Case> = study
            .cases
            .iter()
            .filter(|c| c.vehicle == index && c.route.is_none() && c.travel == scene.travel.word)
            .collect();
        let frame = scene.surroundings.frame;
        let of = |clearance_m: f64, pick: fn(&Case) -> &Answer| {
            let Some(case) = cases.iter().min_by(|a, b| size(pick(a)).total_cmp(&size(pick(b)))) else {
                return Vec::new();
            };
            let drawn_m = size(pick(case));
            // The path of the answer itself; a comfortable one passes bare too.
            let witness = |answer: &Answer| answer.witness.as_ref().map(|path| in_gate(path, &frame));
            let path = witness(pick(case)).or_else(|| witness(&case.comfortable));
            if as_drawn {
                return path.map(|path| (drawn_m, path)).into_iter().collect();
            }
            let need = |path: &Path| {
                let found = look_again(vehicle, &scene.surroundings, clearance_m, path)?;
                Some((found.inspection.opening_m, path.clone()))
            };
            let mut known: Vec<(f64, Path)> = path.iter().filter_map(need).collect();
            let best = known.first().map_or(f64::INFINITY, |k| k.0);
            let between = |m: &f64| *m >= drawn_m - 1e-9 && *m < best;
            if best > drawn_m + ENOUGH_M || sizes.iter().any(between) {
                let seeds: Vec<Path> = path.into_iter().collect();
                let found = search(site, &scene, vehicle, case.maneuver, options, clearance_m, &seeds);
                if let Some(found) = found.and_then(|f| f.found) {
                    known.push((found.inspection.opening_m, found.path));
                    known.sort_by(|a, b| a.0.total_cmp(&b.0));
                }
            }
            known
        };
        let comfortable = of(options.clearance_m, |c| &c.comfortable);
        let bare = of(0.0, |c| &c.bare);
        travels.push(Travel { scene, bare, comfortable });
    }
    let need = |pick: fn(&Travel) -> &Vec<(f64, Path)>| {
        let worst = travels.iter().map(|t| pick(t).first().map_or(f64::INFINITY, |k| k.0)).reduce(f64::max);
        // Rounded up to 0.1 mm, as a study's own answers.
        worst.filter(|m| m.is_finite()).map(|m| (m * 1e4 - 1e-6).ceil() / 1e4)
    };
    let (bare_m, comfortable_m) = (need(|t| &t.bare), need(|t| &t.comfortable));
    Ways { vehicle: vehicle.clone(), clearance_m: options.clearance_m, bare_m, comfortable_m, travels }
}

fn size(answer: &Answer) -> f64 {
    answer.opening_m.unwrap_or(f64::INFINITY)
}

fn search(
    site: &Site,
    scene: &Scene,
    vehicle: &Vehicle,
    maneuver: Maneuver,
    options: &StudyOptions,
    clearance_m: f64,
    seeds: &[Path],
) -> Option<Finding> {
    let lane = lane(scene, vehicle, clearance_m);
    let find = |spot: Option<Goal>| {
        let question = Question {
            vehicle,
            surroundings: &scene.surroundings,
            lane: &lane,
            maneuver,
            shunts: options.shunts,
            clearance_m,
            spot,
        };
        narrowest(&question, EFFORT, seeds)
    };
    let goals = goals(site, vehicle, &scene.surroundings);
    let findings: Vec<Finding> = if goals.is_empty() {
        vec![find(None)]
    } else {
        goals.into_iter().map(|goal| find(Some(goal))).collect()
    };
    let width = |f: &Finding| f.found.as_ref().map_or(f64::INFINITY, |f| f.inspection.opening_m);
    findings.into_iter().min_by(|a, b| width(a).total_cmp(&width(b)))
}

impl Ways {
    /// Whether the vehicle passes an opening of this width, with the leaves that belong to it.
    pub(super) fn passes(&self, opening_m: f64) -> DrawnGate {
        let through = |clearance_m: f64, pick: fn(&Travel) -> &Vec<(f64, Path)>| {
            !self.travels.is_empty()
                && self.travels.iter().all(|travel| {
                    // The least opening a path passes with its own leaves is the least it passes at all: longer leaves
                    // are only more in the way.
                    let mut known = pick(travel).iter().filter(|k| k.0 <= opening_m + 1e-9);
                    known.any(|(_, path)| self.clears(travel, clearance_m, path, opening_m))
                })
        };
        if through(self.clearance_m, |t| &t.comfortable) {
            DrawnGate::Comfortable
        } else if through(0.0, |t| &t.bare) {
            DrawnGate::Tight
        } else {
            DrawnGate::No
        }
    }

    fn clears(&self, travel: &Travel, clearance_m: f64, path: &Path, opening_m: f64) -> bool {
        let surroundings = travel.scene.surroundings.with_leaves_for(opening_m);
        let encounter = Encounter::new(&self.vehicle, surroundings, clearance_m, opening_m);
        let seen = inspect(&encounter, path);
        seen.passes(EDGE_TOLERANCE_M) && seen.opening_m <= opening_m + 1e-9
    }
}
