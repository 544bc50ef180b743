//! Driver of a study: one search per vehicle, travel, maneuver and clearance, in parallel.
use super::drawn_clearance::DrawnGateRoom;
use super::ground::{GroundUse, ground_use};
use super::limits::{self, Limits};
use super::longest_first::longest_first;
use super::recheck::with_contacts;
use super::reoptimize::PassageProblem;
use super::reversing::reversing;
use super::ruled_out::with_proof;
use super::scene::{Scene, scene, scene_by};
use super::starts::{body_width, lanes, turning_into};
use super::turning::{self, TURN_STOPS, way_out_ends_in_line};
use super::visits::{Demanded, studied};
use super::{
    Answer, BackingIn, Case, CaseLane, Contact, DrawnGate, Outcome, RuledOut, Study, TravelCases,
    VehicleCases, VehicleNeed,
};
use super::{placement, study_notes, tradeoff};
use crate::bound::{Proof, ProofBudget, at_least};
use crate::clearance::{GateFrame, Inspection, Surroundings};
use crate::geometry::parallel::*;
use crate::motion::Path;
use crate::search::lane::Lane;
use crate::search::{Effort, Finding, Found, Goal, alike, enough_in_comfort, lead_outline, least_width};
use crate::site::{Anchor, Maneuver, Site, Travel, Visit, covers};
use crate::vehicle::Vehicle;
use std::cmp::Ordering;

/// A vehicle to study, and the ways in which it must be able to come.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The vehicle.
    pub vehicle: Vehicle,
    /// Acceptable visits: any of them will do. Empty: driving in and backing out must work.
    pub visits: Vec<Visit>,
    /// Travels it must be able to come from, as compass words; empty: all.
    pub travels: Vec<String>,
}

impl Wanted {
    /// True if it must be able to come by this travel.
    pub(super) fn asks_for(&self, travel: &Travel) -> bool {
        self.travels.is_empty() || self.travels.iter().any(|word| travel.is_called(word))
    }
}

impl From<Vehicle> for Wanted {
    fn from(vehicle: Vehicle) -> Self {
        Self { vehicle, visits: Vec::new(), travels: Vec::new() }
    }
}

/// Options of a study.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StudyOptions {
    /// Clearance of the comfortable answers.
    pub clearance_m: f64,
    /// Number of stops allowed beyond those a maneuver needs.
    pub shunts: u32,
    /// Number of stops to change direction that turning around inside may take.
    pub turn_stops: u32,
    /// Search effort.
    pub effort: Effort,
    /// Compute a proven bound on how much narrower an opening could be: a few seconds for each answer. Without it the
    /// bound is the plain width of the vehicle.
    pub prove: bool,
    /// Also compute the savings by changes of the site: [`super::Changes`].
    pub changes: bool,
    /// Also compute the opening against setback and skew: [`super::Tradeoff`].
    pub tradeoff: bool,
}

/// Default clearance, 0.30 m, about a foot: what published practice keeps from fixed objects at walking speed (a New
/// Zealand district plan's 300 mm below 10 km/h; AS/NZS 2890.1 practice), and what a gate 2 ft wider than its lane
/// leaves on each side.
pub const DEFAULT_CLEARANCE_M: f64 = 0.30;

impl Default for StudyOptions {
    fn default() -> Self {
        Self {
            clearance_m: DEFAULT_CLEARANCE_M,
            shunts: 0,
            turn_stops: TURN_STOPS,
            effort: Effort::USUAL,
            prove: false,
            changes: true,
            tradeoff: false,
        }
    }
}

/// Bare and comfortable are searched again from each other's paths where one needs this many times what straight
/// through takes.
const WORTH_ASKING_AGAIN: f64 = 1.4;
/// Largest number of rounds in which the ways of a study seed each other, ...
const ROUNDS: usize = 4;
/// Rounds go on as long as one opening comes down by this share ...
const WORTH_A_ROUND: f64 = 3e-4;
/// ... from at most this many paths.
const MOST_KINDRED: usize = 4;

/// Backing in is reported where it needs less by more than this: an inch.
const WORTH_BACKING_M: f64 = 0.0254;

/// Progress of a study.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Searches done: cases, and cases solved again at changed sites.
    pub done: usize,
    /// Searches in all.
    pub total: usize,
}

/// One search to run.
struct Job<'a> {
    vehicle: usize,
    wanted: &'a Wanted,
    scene: &'a Scene,
    /// Start lanes, without and with the clearance.
    lanes: [Lane; 2],
    maneuver: Maneuver,
    /// True where the vehicle, once out of the gate, cannot go on in the direction it came: the road ahead is a dead end,
    /// or too short for it.
    dead_end_ahead: bool,
}

/// Studies a site: every wanted vehicle, each of its travels, each acceptable maneuver, and the drawn routes.
///
/// `progress` is called after each case, from whatever thread finished it. The answer does not depend on the number of
/// threads.
#[must_use]
pub fn study(
    site: Site,
    wanted: &[Wanted],
    options: &StudyOptions,
    progress: &(dyn Fn(Progress) + Sync),
) -> Study {
    let mut notes = site.warnings.clone();
    let scenes: Vec<Scene> = site.travels().into_iter().map(|travel| scene(&site, travel)).collect();
    for other in site.not_asked() {
        notes.push(format!("{} is left out: {}.", other.word, other.reason));
    }
    if ground_use(&site) == GroundUse::LandBeforeGate {
        notes.push(
            "No drive is drawn: tires are kept to the road as drawn and to the land between it and the gate and behind \
             the gate. Draw the drive to hold them to it."
                .to_owned(),
        );
    }
    let mut jobs = Vec::new();
    for (vehicle, wanted) in wanted.iter().enumerate() {
        for word in &wanted.travels {
            if !scenes.iter().any(|s| s.travel.is_called(word)) {
                let known: Vec<&str> = scenes.iter().map(|s| s.travel.word.as_str()).collect();
                notes.push(format!(
                    "{}: the road in front of the gate is not driven {word}; it is driven {}",
                    wanted.vehicle.title,
                    known.join(" or ")
                ));
            }
        }
        // A vehicle cannot come from a piece of road shorter than itself, unless the plan says that it does.
        let clearances_m = [0.0, options.clearance_m];
        let lanes: Vec<[Lane; 2]> =
            scenes.par_iter().map(|scene| lanes(scene, &wanted.vehicle, clearances_m)).collect();
        let lanes = turning_into(&scenes, lanes);
        let comes = |lanes: &[Lane; 2]| !lanes[0].zones.is_empty();
        for (scene, own_lanes) in scenes.iter().zip(&lanes) {
            if !wanted.asks_for(&scene.travel) {
                continue;
            }
            if wanted.travels.is_empty() && !comes(own_lanes) && lanes.iter().any(comes) {
                notes.push(format!(
                    "{}, {}, is left out: the road as drawn leaves it no room to stand in its lane before the \
                     gate. Draw more of the road, or say \"continues\" if it goes on.",
                    wanted.vehicle.title, scene.travel.word
                ));
                continue;
            }
            let travel = &scene.travel;
            let against = |other: &Scene| {
                other.travel.road == travel.road && other.travel.direction.dot(travel.direction) < 0.0
            };
            let leads_away = scenes.iter().zip(&lanes).any(|(other, lanes)| against(other) && comes(lanes));
            let dead_end_ahead = !leads_away || site.is_dead_end_ahead(&scene.travel);
            for maneuver in studied(&wanted.visits) {
                jobs.push(Job { vehicle, wanted, scene, lanes: own_lanes.clone(), maneuver, dead_end_ahead });
            }
        }
    }
    let done = std::sync::atomic::AtomicUsize::new(0);
    let followed = if options.changes { wanted.len() * limits::ASKS } else { 0 };
    let charted = if options.tradeoff { jobs.len() * tradeoff::STEPS } else { 0 };
    let total = jobs.len() + followed + charted;
    let step = || {
        let done = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
        progress(Progress { done, total });
    };
    let mut cases = longest_first(
        jobs,
        |job| job.wanted.vehicle.units.len(),
        |job| {
            let case = run_with_way_out(&site, job, options);
            step();
            case
        },
    );
    notes.extend(study_notes::leave_out_what_no_gate_mends(&site, wanted, options, &mut cases));
    cases.extend(route_cases(&site, wanted, &scenes, options.clearance_m, &mut notes));
    notes.extend(study_notes::wider_than_their_lane(wanted, &scenes));
    let vehicles: Vec<Vehicle> = wanted.iter().map(|w| w.vehicle.clone()).collect();
    let demanded: Vec<Demanded> = wanted.iter().map(|w| Demanded::of(&w.visits)).collect();
    let of = |i: usize| vehicle_need((i, &vehicles[i]), demanded[i], &cases, &site);
    let needs = (0..vehicles.len()).map(of).collect();
    let mut study = Study {
        shunts: options.shunts,
        proved: options.prove,
        cases,
        needs,
        notes,
        ..Study::new(site, vehicles, demanded, options.clearance_m)
    };
    study.turns = turning::turns(&study, &scenes, wanted, options);
    if options.changes {
        for (case, changes) in limits::changes(&study, options.effort, &step) {
            study.cases[case].limits.changes = Some(changes);
        }
    }
    if study.site.gate.anchor == Anchor::Free {
        study.placement = placement::placement(&study, options.effort);
    }
    if options.tradeoff {
        study.tradeoffs = tradeoff::tradeoffs(&study, options.effort, &step);
    }
    study
}

/// Cases of the drawn routes, each of the travel along which it starts.
fn route_cases(
    site: &Site,
    wanted: &[Wanted],
    scenes: &[Scene],
    clearance_m: f64,
    notes: &mut Vec<String>,
) -> Vec<Case> {
    let mut cases = Vec::new();
    for route in &site.routes {
        let Some(index) = wanted.iter().position(|w| w.vehicle.name == route.vehicle) else {
            notes.push(format!(
                "Route \"{}\" is for {}, which is not studied; it is not checked.",
                route.label, route.vehicle
            ));
            continue;
        };
        let along = route.legs.first().and_then(|leg| Some(*leg.get(1)? - *leg.first()?)).unwrap_or_default();
        let start = route.legs.first().and_then(|leg| leg.first().copied()).unwrap_or_default();
        let starts_on = |scene: &Scene| {
            let road = site.roads.get(scene.travel.road);
            road.is_some_and(|road| covers(&road.surface, start))
        };
        let rank = |scene: &Scene| (starts_on(scene), scene.travel.direction.dot(along));
        let nearest = scenes
            .iter()
            .map(|scene| (rank(scene), scene))
            .max_by(|((a, x), _), ((b, y), _)| a.cmp(b).then(x.total_cmp(y)));
        if let Some((_, scene)) = nearest {
            let vehicle = (index, &wanted[index].vehicle);
            let place = (&scene.travel, &scene.surroundings);
            cases.push(super::routes::case(site, route, vehicle, place, clearance_m, notes));
        }
    }
    cases
}

/// Runs the case of a job. A vehicle that turns around inside backs in for no other purpose than to show its way out.
/// Where the road ahead is a dead end, it leaves the way it came. Elsewhere, where no comfortable way out is found in the
/// direction it came, or none that ends in line with its lane, the lane it came by is tried as its way out, too, and the
/// better of the two counts.
fn run_with_way_out(site: &Site, job: &Job, options: &StudyOptions) -> Case {
    let turns_around = Demanded::of(&job.wanted.visits) == Demanded::TurnAround;
    if !turns_around || job.maneuver != Maneuver::BackIn {
        return run(site, job, options);
    }
    if job.dead_end_ahead
        && let Some(leaving) = leaving_as_it_came(site, job, options)
    {
        return without_proof(leaving, &job.wanted.vehicle);
    }
    let case = run(site, job, options);
    let in_comfort = case.drawn_gate == DrawnGate::Comfortable;
    let in_line = |case: &Case| {
        let vehicle = (&job.wanted.vehicle, options.shunts);
        way_out_ends_in_line(site, &job.scene.travel, vehicle, case, options.clearance_m)
    };
    let ends_in_line = in_line(&case);
    if in_comfort && ends_in_line {
        return case;
    }
    let Some(leaving) = leaving_as_it_came(site, job, options) else { return case };
    let rank = |case: &Case| (case.comfortable.reported_m(), case.bare.reported_m());
    // Of two ways that leave the gate alike, one that ends in line is a whole way out.
    let better = match leaving.drawn_gate.rank().cmp(&case.drawn_gate.rank()) {
        Ordering::Less => false,
        Ordering::Greater => true,
        Ordering::Equal => match (in_line(&leaving), ends_in_line) {
            (true, false) => true,
            (false, true) => false,
            _ => !in_comfort && rank(&leaving) < rank(&case),
        },
    };
    // A proof covers one lane, not both.
    without_proof(if better { leaving } else { case }, &job.wanted.vehicle)
}

/// Returns a case without what was proven about it: the proof holds for starts before the gate, and for one lane.
fn without_proof(mut case: Case, vehicle: &Vehicle) -> Case {
    for answer in [&mut case.bare, &mut case.comfortable] {
        answer.ruled_out = answer.ruled_out.map(|_| RuledOut::NotProven);
        if let Outcome::Impossible(why) = &answer.outcome {
            answer.outcome = Outcome::GaveUp(why.clone());
        }
        answer.at_least_m = answer.at_least_m.min(least_width(vehicle));
    }
    case
}

/// Runs the case of a job by the lane in which the vehicle leaves the way it came; `None` where it cannot stand in that
/// lane.
fn leaving_as_it_came(site: &Site, job: &Job, options: &StudyOptions) -> Option<Case> {
    let scene = scene_by(site, job.scene.travel.clone(), CaseLane::Leaving)?;
    let lanes = lanes(&scene, &job.wanted.vehicle, [0.0, options.clearance_m]);
    let stands = !lanes[0].zones.is_empty();
    let case = || run(site, &Job { scene: &scene, lanes, ..*job }, options);
    stands.then(|| Case { travel: job.scene.travel.word.clone(), ..case() })
}

fn run(site: &Site, job: &Job, options: &StudyOptions) -> Case {
    let vehicle = &job.wanted.vehicle;
    let surroundings = &job.scene.surroundings;
    let asked =
        PassageProblem::new(site, job.scene, job.lanes.clone(), (vehicle, job.maneuver), options.shunts);
    let ask = |surroundings: &Surroundings, clearance_m: f64, effort: Effort, seeds: &[Path]| {
        asked.narrowest(surroundings, clearance_m, effort, seeds)
    };
    // Remeshing (`finest`) runs once, on the result of all this.
    let effort = Effort { finest: 0, ..options.effort };
    let mut bare = ask(surroundings, 0.0, effort, &[]);
    let enough_m = enough_in_comfort(finding_opening(&bare), options.clearance_m);
    let seeds = (bare.starts.as_slice(), enough_m);
    let mut comfortable = asked.narrowest_within(surroundings, options.clearance_m, effort, seeds);
    // That nothing gets in with the clearance is a hard answer beside a way without: worth a thorough search where one is
    // quick, which it is not with a trailer, and where it was not that search that found nothing.
    let is_less = options.effort.lattice < Effort::THOROUGH.lattice;
    if is_less && bare.found.is_some() && comfortable.found.is_none() && vehicle.units.len() == 1 {
        let effort = Effort { finest: 0, ..Effort::THOROUGH };
        comfortable =
            comfortable.or(asked.narrowest(surroundings, options.clearance_m, effort, &bare.starts));
    }
    // Each may have converged to a better place than the other.
    let about_m = finding_opening(&bare).or(finding_opening(&comfortable));
    let about_m = about_m.unwrap_or_else(|| site.gate.opening_m());
    let alike_ways = bare.found.as_ref().zip(comfortable.found.as_ref());
    let alike = alike_ways.is_some_and(|(bare, comfortable)| alike(vehicle, &bare.path, &comfortable.path));
    // An answer hardly wider than straight through leaves little to gain.
    let tight = |finding: &Finding, clearance_m: f64| {
        let straight_m = body_width(vehicle) + 2.0 * clearance_m;
        finding_opening(finding).is_none_or(|opening_m| opening_m > WORTH_ASKING_AGAIN * straight_m)
    };
    for round in 0..ROUNDS {
        let (was, wide) = (finding_opening(&bare), finding_opening(&comfortable));
        let differ = round == 0 && !alike;
        let worth_asking = differ || tight(&bare, 0.0) || tight(&comfortable, options.clearance_m);
        if !worth_asking {
            break;
        }
        let effort = options.effort.nearby();
        let again = asked.near(surroundings, 0.0, effort, (&comfortable.starts, about_m));
        bare = bare.or(again);
        if tight(&comfortable, options.clearance_m) {
            let about_m = about_m + 2.0 * options.clearance_m;
            let again = asked.near(surroundings, options.clearance_m, effort, (&bare.starts, about_m));
            comfortable = comfortable.or(again);
        }
        for starts in [&mut bare.starts, &mut comfortable.starts] {
            starts.truncate(MOST_KINDRED);
        }
        let gained = |before: Option<f64>, now: &Finding| match (before, finding_opening(now)) {
            (Some(before), Some(now)) => now < before * (1.0 - WORTH_A_ROUND),
            (None, now) => now.is_some(),
            _ => false,
        };
        if !gained(was, &bare) && !gained(wide, &comfortable) {
            break;
        }
    }
    let anew =
        |finding, clearance_m| asked.on_other_knots(surroundings, clearance_m, options.effort, finding);
    let (mut bare, mut comfortable) = (anew(bare, 0.0), anew(comfortable, options.clearance_m));
    let seeds: Vec<Path> = bare.starts.iter().chain(&comfortable.starts).cloned().collect();
    // A path that keeps a clearance also passes without: it may be the better bare one.
    if let Some(found) = &comfortable.found {
        let known_m = bare.opening_m();
        let again = asked.look(surroundings, 0.0, &found.path, known_m);
        let narrower = |now: &Found| now.inspection.opening_m < known_m;
        if let Some(again) = again.filter(narrower) {
            bare.found = Some(again);
        }
    }
    // Shorten the reported path: its reversing distance is reported too.
    let (told, clearance_m) = match comfortable.found {
        Some(_) => (&mut comfortable, options.clearance_m),
        None => (&mut bare, 0.0),
    };
    if let Some(shorter) = asked.reversing_less(surroundings, clearance_m, options.effort, told) {
        *told = shorter;
    }
    for (finding, clearance_m) in [(&mut bare, 0.0), (&mut comfortable, options.clearance_m)] {
        finding.found =
            finding.found.take().map(|found| with_contacts(vehicle, surroundings, clearance_m, found));
    }
    let mut room = DrawnGateRoom::new(vehicle, surroundings);
    let with = (&asked, options.effort);
    let drawn_gate = if room.passes(with, &comfortable, options.clearance_m, &seeds) {
        DrawnGate::Comfortable
    } else if room.passes(with, &bare, 0.0, &seeds) {
        DrawnGate::Tight
    } else {
        DrawnGate::No
    };
    let known = [(&bare, 0.0), (&comfortable, options.clearance_m)];
    let drawn = room.way(&asked, drawn_gate, options.clearance_m, known);
    let frame = &surroundings.frame;
    let answered = |finding: &Finding, clearance_m: f64, passes: bool, worth_asking: bool| {
        let mut answer = answer(finding, frame);
        let problem = asked.problem(surroundings, clearance_m, None);
        if options.prove {
            let bound = at_least(&problem, finding_opening(finding), ProofBudget::USUAL);
            answer = proven(answer, &bound);
        }
        with_proof(&problem, answer, passes, worth_asking)
    };
    let bare_answer = answered(&bare, 0.0, drawn_gate != DrawnGate::No, true);
    // Where it is open whether it passes bare, a proof for comfort settles no verdict.
    let undecided = bare_answer.ruled_out == Some(RuledOut::NotProven);
    let in_comfort = drawn_gate == DrawnGate::Comfortable;
    let comfortable_answer = answered(&comfortable, options.clearance_m, in_comfort, !undecided);
    let shown = comfortable.found.as_ref().or(bare.found.as_ref());
    let contacts = shown.map_or_else(Vec::new, |found| contacts(&found.inspection, frame));
    let kept_m = if comfortable.found.is_some() { options.clearance_m } else { 0.0 };
    let limits = shown.map_or_else(Limits::default, |found| limits::limits(vehicle, found, kept_m));
    let travel = job.scene.travel.word.clone();
    let case = Case::new(job.vehicle, travel, job.maneuver, bare_answer, comfortable_answer);
    Case { lane: job.scene.lane, drawn_gate, drawn, contacts, limits, ..case }
}

pub(super) fn goals(site: &Site, vehicle: &Vehicle, surroundings: &Surroundings) -> Vec<Goal> {
    let frame = &surroundings.frame.origin;
    let for_it = site.spots.iter().filter(|s| s.vehicles.is_empty() || s.vehicles.contains(&vehicle.name));
    for_it
        .map(|spot| Goal {
            at: frame.to_body(spot.at),
            heading: spot.heading_rad.map(|h| h - frame.heading),
            outline: lead_outline(vehicle),
        })
        .collect()
}

pub(super) fn answer(finding: &Finding, frame: &GateFrame) -> Answer {
    let Some(found) = &finding.found else {
        let why = finding.stopped_by.clone().unwrap_or_else(|| "no path tried passes".to_owned());
        return Answer { work: finding.work, ..Answer::new(Outcome::GaveUp(why), finding.at_least_m) };
    };
    let inspection = &found.inspection;
    let opening_m = inspection.opening_m;
    Answer {
        opening_m: Some(opening_m),
        faces_u_m: Some(inspection.faces_u),
        tightest: inspection.touches.first().map(|touch| Contact::of(touch, frame)),
        witness: Some(frame.trajectory_to_site(&found.path)),
        work: finding.work,
        ..Answer::new(Outcome::Found, finding.at_least_m.min(opening_m))
    }
}

fn finding_opening(finding: &Finding) -> Option<f64> {
    finding.found.as_ref().map(|found| found.inspection.opening_m)
}

/// Adds what was proven to an answer.
///
/// A bound above what was found would mean that the proof or the search is wrong. Tests stop there; otherwise the plain
/// width stands, which is true whatever was proven.
fn proven(answer: Answer, proof: &Proof) -> Answer {
    let work = answer.work + proof.work;
    if answer.opening_m.is_some_and(|found_m| contradicts(found_m, proof)) {
        debug_assert!(false, "proven {} m, but {:?} m was found", proof.at_least_m, answer.opening_m);
        return Answer { work, ..answer };
    }
    let at_least_m = answer.at_least_m.max(proof.at_least_m);
    let outcome = match (&proof.forbidden_by, answer.opening_m) {
        (Some(what), None) if proof.impossible => Outcome::Impossible(what.clone()),
        _ => answer.outcome.clone(),
    };
    Answer { outcome, at_least_m, work, ..answer }
}

/// True if a proof denies an opening that was found.
fn contradicts(found_m: f64, proof: &Proof) -> bool {
    proof.impossible || proof.at_least_m > found_m
}

pub(super) fn contacts(inspection: &Inspection, frame: &GateFrame) -> Vec<Contact> {
    inspection.touches.iter().map(|touch| Contact::of(touch, frame)).collect()
}

/// Openings that a vehicle needs from all its travels: see [`VehicleNeed`].
pub(super) fn vehicle_need(
    (index, vehicle): (usize, &Vehicle),
    demanded: Demanded,
    cases: &[Case],
    site: &Site,
) -> VehicleNeed {
    let mine = VehicleCases::among(cases, index, demanded);
    let need = |mine: &VehicleCases, pick: fn(&Case) -> &Answer| {
        // A case that found nothing counts as needing more than any opening.
        let hardest = mine.governing(|i| pick(&cases[i]).reported_m());
        (hardest, hardest.and_then(|i| pick(&cases[i]).opening_m))
    };
    let (governed_by, comfortable_opening_m) = need(&mine, |c| &c.comfortable);
    let (_, bare_opening_m) = need(&mine, |c| &c.bare);
    let backing_in = (demanded == Demanded::DriveIn).then(|| {
        // From each direction of travel by whichever does: where driving in does, nobody has to back in.
        let backward = VehicleCases::among(cases, index, Demanded::Either);
        // Backing in must have been asked about from every travel.
        let backs_in = |case: &usize| cases[*case].maneuver == Maneuver::BackIn;
        let all = backward.travels.iter().all(|t| t.cases.iter().any(backs_in));
        let (_, bare_m) = need(&backward, |c| &c.bare);
        let (_, comfort_m) = need(&backward, |c| &c.comfortable);
        let less = |back: Option<f64>, drive: Option<f64>| {
            back.is_some_and(|back| drive.is_none_or(|drive| back < drive - WORTH_BACKING_M))
        };
        let worth = less(comfort_m, comfortable_opening_m) || less(bare_m, bare_opening_m);
        let reverses = backward
            .travels
            .iter()
            .flat_map(TravelCases::counted)
            .filter(backs_in)
            .filter_map(|i| reversing(site, vehicle, &cases[i]))
            .max_by(|a, b| a.total_m.total_cmp(&b.total_m));
        let bare_opening_m = bare_m.filter(|_| all && worth)?;
        Some(BackingIn { bare_opening_m, comfortable_opening_m: comfort_m, reverses: reverses? })
    });
    let backing_in = backing_in.flatten();
    VehicleNeed { vehicle: index, bare_opening_m, comfortable_opening_m, governed_by, backing_in }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(opening_m: f64) -> Answer {
        Answer {
            outcome: Outcome::Found,
            opening_m: Some(opening_m),
            at_least_m: 2.0,
            faces_u_m: None,
            tightest: None,
            witness: None,
            ruled_out: None,
            work: 1,
        }
    }

    fn proof(at_least_m: f64) -> Proof {
        Proof { at_least_m, impossible: false, forbidden_by: None, work: 1 }
    }

    #[test]
    fn a_bound_below_what_was_found_stands() {
        assert_eq!(proven(found(3.0), &proof(2.9)).at_least_m, 2.9);
        assert_eq!(proven(found(3.0), &proof(1.9)).at_least_m, 2.0);
    }

    #[test]
    #[cfg_attr(debug_assertions, should_panic(expected = "was found"))]
    fn a_bound_above_what_was_found_is_an_error_in_tests() {
        // Built without assertions, the answer keeps the plain width.
        assert_eq!(proven(found(3.0), &proof(3.1)).at_least_m, 2.0);
    }
}
