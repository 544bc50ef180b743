//! Turning around inside, from where a vehicle stands once it has driven in to where it drives out forward, at the gate
//! as drawn.
//!
//! The way out is a path of backing in, reversed: without tire slip it covers the same ground. It begins in the lane of
//! coming, past the gate, or in the lane in which the vehicle leaves the way it came ([`super::CaseLane`]). The result
//! is one path, the turn and the way out, certified as one.
use super::drawn_clearance::as_drawn;
use super::missing::{Missing, missing};
use super::onto_road::OntoRoad;
use super::recheck::keeps;
use super::reoptimize::{PassageProblem, driven_on};
use super::scene::{Scene, scene, scene_by, scene_on};
use super::starts::lanes;
use super::study::contacts;
use super::{Case, CaseLane, Contact, DrawnGate, Study, StudyOptions, TravelCases, Wanted};
use crate::clearance::{CollisionModel, Surroundings, inspect};
use crate::geometry::parallel::*;
use crate::motion::{Chain, OnSite, Path, Trajectory};
use crate::search::Effort;
use crate::search::turn_around::{TurnProblem, turn_around};
use crate::site::{Maneuver, Site, Travel, Visit};
use crate::vehicle::Vehicle;

/// Default number of stops to change direction that a turn may take: two three-point turns.
pub const TURN_STOPS: u32 = 4;

/// Turn of a vehicle inside, coming from one direction of travel and going on in it.
#[derive(Clone, Debug)]
pub struct Turn {
    /// Index into [`Study::vehicles`].
    pub vehicle: usize,
    /// Direction of travel: "eastbound".
    pub travel: String,
    /// Turn that was found, or why there is none, in plain words.
    pub found: Result<FoundTurn, String>,
    /// Smallest change that would allow a turn, where there is none although the vehicle gets in and out.
    pub missing: Option<Missing>,
}

/// Turn that was found.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct FoundTurn {
    /// True if it keeps the study's clearance; else it touches nothing.
    pub comfortable: bool,
    /// Number of stops to change direction, from the end of the way in to the way out.
    pub stops: u32,
    /// Length of the turn until it joins the way out, meters.
    pub turn_m: f64,
    /// True if the path ends on the road, in line with the lane; otherwise it ends across the lane, out of the gate, and how
    /// the vehicle goes on from there is not certified.
    pub ends_in_line: bool,
    /// Lane by which it drives out.
    pub lane: CaseLane,
    /// Way in that it follows, to where the vehicle stands once it has driven in.
    pub way_in: Trajectory<OnSite>,
    /// Path of the turn and the way out, from the end of the way in.
    pub path: Trajectory<OnSite>,
    /// Tight places of the path with the gate as drawn, tightest first.
    pub contacts: Vec<Contact>,
}

impl Turn {
    /// Returns the verdict on the gate as drawn.
    #[must_use]
    pub fn verdict(&self) -> DrawnGate {
        match &self.found {
            Ok(turn) if turn.comfortable => DrawnGate::Comfortable,
            Ok(_) => DrawnGate::Tight,
            Err(_) => DrawnGate::No,
        }
    }
}

/// Searches the turns of every vehicle whose visits list turning around, from each direction of travel it was studied
/// from.
pub(super) fn turns(study: &Study, scenes: &[Scene], wanted: &[Wanted], options: &StudyOptions) -> Vec<Turn> {
    let mut asked: Vec<(usize, TravelCases)> = Vec::new();
    for (vehicle, wanted) in wanted.iter().enumerate() {
        if wanted.visits.contains(&Visit::TurnAround) {
            asked.extend(study.of_vehicle(vehicle).travels.into_iter().map(|travel| (vehicle, travel)));
        }
    }
    let turn = |(vehicle, travel): &(usize, TravelCases)| {
        let scene = scenes.iter().find(|scene| scene.travel.word == travel.travel)?;
        let asked = KnownWays::of_study(study, travel).map(|ways| Asked {
            site: &study.site,
            scene,
            vehicle: &study.vehicles[*vehicle],
            ways,
            clearance_m: options.clearance_m,
            shunts: options.shunts,
            stops: options.turn_stops,
            shorten: true,
        });
        let found = asked.as_ref().map_err(|why| (*why).to_owned()).and_then(turn);
        let missing = match (&asked, &found) {
            (Ok(asked), Err(_)) => missing(asked),
            _ => None,
        };
        Some(Turn { vehicle: *vehicle, travel: travel.travel.to_owned(), found, missing })
    };
    asked.par_iter().filter_map(turn).collect()
}

/// Turn to search for: one vehicle from one direction of travel, with the ways in and out known at that gate.
pub(super) struct Asked<'a> {
    pub(super) site: &'a Site,
    pub(super) scene: &'a Scene,
    pub(super) vehicle: &'a Vehicle,
    pub(super) ways: KnownWays,
    pub(super) clearance_m: f64,
    pub(super) shunts: u32,
    pub(super) stops: u32,
    /// True to shorten the turn; false where only whether there is one matters.
    pub(super) shorten: bool,
}

/// A way in, and a way out as a path of backing in, at a gate.
pub(super) struct KnownWays {
    pub(super) way_in: Trajectory<OnSite>,
    pub(super) way_out: Trajectory<OnSite>,
    /// Lane of the way out.
    pub(super) lane: CaseLane,
    /// Clearance that both keep, at most the study's, meters.
    pub(super) kept_m: f64,
}

impl KnownWays {
    /// Ways in and out of a study at the gate as drawn.
    fn of_study(study: &Study, travel: &TravelCases) -> Result<Self, &'static str> {
        let case = |maneuver: Maneuver| {
            let mine = travel.cases.iter().map(|case| &study.cases[*case]);
            mine.into_iter().find(|case| case.maneuver == maneuver && case.drawn_gate != DrawnGate::No)
        };
        let way_in = case(Maneuver::DriveIn).ok_or("it does not get in forward")?;
        let way_out = case(Maneuver::BackIn).ok_or(NO_WAY_OUT)?;
        let in_comfort = |case: &Case| case.drawn_gate == DrawnGate::Comfortable;
        let kept_m = |case: &Case| case.drawn.clearance_m.unwrap_or(0.0);
        let both_m = kept_m(way_in).min(kept_m(way_out)) - KEEPS_LESS_M;
        let kept_m = match in_comfort(way_in) && in_comfort(way_out) {
            true => study.clearance_m,
            false => both_m.min(study.clearance_m),
        };
        let driven = |case: &Case| case.drawn.witness.clone().ok_or("no path at the gate as drawn is known");
        Ok(Self { way_in: driven(way_in)?, way_out: driven(way_out)?, lane: way_out.lane, kept_m })
    }
}

impl<'a> Asked<'a> {
    /// Clearances with which a turn is searched, largest first: what the ways in and out keep; half of that, since a
    /// path that keeps some is found more easily than one that keeps none; none.
    pub(super) fn clearances_m(&self) -> Vec<f64> {
        let all = [self.ways.kept_m, 0.5 * self.ways.kept_m, 0.0];
        let worth = |m: &f64| *m == 0.0 || *m >= LEAST_CLEARANCE_M;
        all.into_iter().filter(worth).collect()
    }

    /// Ways in and out, in the gate's frame.
    pub(super) fn ways(&self) -> [Path; 2] {
        let frame = &self.scene.surroundings.frame;
        [&self.ways.way_in, &self.ways.way_out].map(|way| frame.trajectory_to_gate(way).into_path())
    }

    /// Searches the turn with one clearance, on a site whose gate and roads are those of the study.
    pub(super) fn on(
        &self,
        site: &Site,
        clearance_m: f64,
        stops: u32,
        shorten: bool,
    ) -> Result<FoundTurn, String> {
        let drawn_m = site.gate.opening_m();
        // A vehicle that leaves by the lane it came by drives on the ground of that lane.
        let travel = site.travels().into_iter().find(|travel| travel.word == self.scene.travel.word);
        let travel = travel.ok_or(NO_WAY_OUT)?;
        let scene = scene_by(site, travel.clone(), self.ways.lane).ok_or(NO_WAY_OUT)?;
        let surroundings = as_drawn(&scene.surroundings);
        let vehicle = self.vehicle;
        let [way_in, way_out] = self.ways();
        let way_in =
            self.way_in(site, travel, way_in, clearance_m).ok_or("it does not get in far enough forward")?;
        let chain = Chain::of(vehicle);
        let from = way_in.end(&chain);
        let ways_out =
            WaysOut::new(site, &scene, (vehicle, self.shunts), (&surroundings, drawn_m), clearance_m);
        let (out, ends_in_line) = ways_out.onto_the_road(&way_out).ok_or(NO_WAY_OUT)?;
        let surroundings = &surroundings;
        let problem = TurnProblem {
            vehicle,
            surroundings,
            clearance_m,
            drawn_m,
            from,
            out: &out,
            most_stops: stops,
            shorten,
        };
        let turn = turn_around(&problem).map_err(|why| why.to_string())?;
        let (mut path, mut inspection, mut ends_in_line) = (turn.path, turn.inspection, ends_in_line);
        // A trailer arrives bent a little differently than the way out has it, and may still be on the apron.
        if ends_in_line && let Some((on, in_line)) = ways_out.driven_into_line(path.path()) {
            inspection = inspect(&ways_out.model(), &on);
            (path, ends_in_line) = (Trajectory::new(on), in_line);
        }
        let frame = &surroundings.frame;
        Ok(FoundTurn {
            comfortable: clearance_m >= self.clearance_m,
            stops: turn.stops,
            turn_m: turn.turn_m,
            ends_in_line,
            lane: self.ways.lane,
            contacts: contacts(&inspection, frame),
            way_in: frame.trajectory_to_site(&Trajectory::new(way_in)),
            path: frame.trajectory_to_site(&path),
        })
    }

    /// Returns the way in on a site whose gate and roads are those of the study, driven on until the vehicle is inside
    /// by the clearance, if it keeps that clearance there.
    fn way_in(&self, site: &Site, travel: Travel, way_in: Path, clearance_m: f64) -> Option<Path> {
        let (drawn_m, vehicle) = (site.gate.opening_m(), self.vehicle);
        let around = as_drawn(&scene(site, travel).surroundings);
        let model = CollisionModel::new(vehicle, around, clearance_m, drawn_m);
        // A path that keeps this clearance may have been found without it: then it ends as soon as the vehicle is
        // inside.
        let on = driven_on(&way_in, clearance_m + DRIVES_ON_M, &vehicle.steering);
        let is_inside = |path: &Path| model.is_inside(&path.end(&model.chain), 0.0);
        [way_in, on].into_iter().find(|path| is_inside(path) && keeps(&model, path, drawn_m))
    }
}

/// True if a way out, known as a path of backing in through the gate as drawn, is driven forward into line with its lane on
/// the road.
pub(super) fn way_out_ends_in_line(
    site: &Site,
    travel: &Travel,
    (vehicle, shunts): (&Vehicle, u32),
    case: &Case,
    most_clearance_m: f64,
) -> bool {
    let Some(witness) = &case.drawn.witness else { return false };
    let Some(scene) = scene_by(site, travel.clone(), case.lane) else { return false };
    let kept_m = (case.drawn.clearance_m.unwrap_or(0.0) - KEEPS_LESS_M).clamp(0.0, most_clearance_m);
    let surroundings = as_drawn(&scene.surroundings);
    let way_out = scene.surroundings.frame.trajectory_to_gate(witness).into_path();
    let gate = (&surroundings, site.gate.opening_m());
    let ways_out = WaysOut::new(site, &scene, (vehicle, shunts), gate, kept_m);
    ways_out.onto_the_road(&way_out).is_some_and(|(_, in_line)| in_line)
}

/// Distance that a way in is driven on beyond the clearance where it ends short of inside, meters.
const DRIVES_ON_M: f64 = 0.1;

const NO_WAY_OUT: &str = "it does not get out forward";

/// Amount subtracted from the clearance that the ways in and out keep, since measuring them again may differ by as
/// much, meters.
const KEEPS_LESS_M: f64 = 2e-3;
/// Least clearance worth a search of its own, meters.
const LEAST_CLEARANCE_M: f64 = 0.05;

/// Turn in comfort, else the one with the fewest stops; of those the one with the largest clearance.
pub(super) fn turn(asked: &Asked) -> Result<FoundTurn, String> {
    let mut best: Option<FoundTurn> = None;
    let mut why = String::new();
    for clearance_m in asked.clearances_m() {
        let most = best.as_ref().map_or(Some(asked.stops), |turn| turn.stops.checked_sub(2));
        let Some(most) = most else { break };
        match asked.on(asked.site, clearance_m, most, asked.shorten) {
            Ok(turn) if turn.comfortable => return Ok(turn),
            Ok(turn) => best = Some(turn),
            Err(reason) => why = reason,
        }
    }
    best.ok_or(why)
}

/// Search for the ways out of one vehicle, by one lane, at a gate of one opening, with one clearance.
struct WaysOut<'a> {
    vehicle: &'a Vehicle,
    surroundings: &'a Surroundings,
    /// Copy of the vehicle on wider tires, so that on its ways out the tires keep from the edge of the ground.
    wide: Vehicle,
    site: &'a Site,
    scene: &'a Scene,
    shunts: u32,
    drawn_m: f64,
    clearance_m: f64,
}

/// Effort of the search for another way out, where the known one ends across the road.
const EFFORT: Effort = Effort { polished: 1, finest: 0, ..Effort::USUAL };

/// Distance that a trailer's way out keeps from the edge of the ground, meters, where it can. A trailer enters its way
/// out bent a little differently than that path has it, and a path for the narrowest opening often runs along that
/// edge.
const KEEPS_OFF_EDGE_M: f64 = 0.05;

impl<'a> WaysOut<'a> {
    fn new(
        site: &'a Site,
        scene: &'a Scene,
        (vehicle, shunts): (&'a Vehicle, u32),
        (surroundings, drawn_m): (&'a Surroundings, f64),
        clearance_m: f64,
    ) -> Self {
        let mut wide = vehicle.clone();
        for tire in wide.units.iter_mut().flat_map(|unit| &mut unit.tires) {
            tire.width_m += 2.0 * KEEPS_OFF_EDGE_M;
        }
        Self { vehicle, surroundings, wide, site, scene, shunts, drawn_m, clearance_m }
    }

    /// Returns a way out, driven forward from inside the gate until the vehicle is on the road in line with its lane: that of
    /// a known path of backing in, or of another that is searched for, which stops anywhere in the lane. Where neither
    /// straightens out there, the known one to the end of the road or as it ends, with false.
    fn onto_the_road(&self, known: &Path) -> Option<(Path, bool)> {
        let near = self.off_the_edge(known).unwrap_or_else(|| known.clone());
        let model = self.model();
        let road = self.road(&model);
        let out = self.way_out(&model, near)?;
        let on = || {
            let other = self.stopping_anywhere_in_lane(known)?;
            road.extended(&self.way_out(&model, other)?).filter(|(_, in_line)| *in_line)
        };
        match road.extended(&out) {
            Some((out, true)) => Some((out, true)),
            across => on().or(across).or(Some((out, false))),
        }
    }

    /// Returns a path driven on until the vehicle is in line with its lane, with true, or, where none gets so far, the path
    /// with false; `None` if it ends in line as it is.
    fn driven_into_line(&self, path: &Path) -> Option<(Path, bool)> {
        let model = self.model();
        let road = self.road(&model);
        if road.ends_in_line(path) {
            return None;
        }
        let within = |on: &Path| on.limit_faults(self.vehicle).is_empty();
        let on = road.extended(path).filter(|(on, in_line)| *in_line && within(on));
        Some(on.unwrap_or_else(|| (path.clone(), false)))
    }

    /// Model with the gate and the clearance.
    fn model(&self) -> CollisionModel {
        CollisionModel::new(self.vehicle, self.surroundings.clone(), self.clearance_m, self.drawn_m)
    }

    const fn road<'b>(&'b self, model: &'b CollisionModel) -> OntoRoad<'b> {
        OntoRoad { scene: self.scene, vehicle: self.vehicle, model, drawn_m: self.drawn_m }
    }

    /// Returns the last leg of a path of backing in as a way out from inside the gate.
    fn way_out(&self, model: &CollisionModel, back_in: Path) -> Option<Path> {
        // The way out, like the way in, may have been found without the clearance.
        let is_inside = model.is_inside(&back_in.end(&model.chain), 0.0);
        let on = || driven_on(&back_in, self.clearance_m + DRIVES_ON_M, &self.vehicle.steering);
        way_out_forward(&model.chain, &if is_inside { back_in } else { on() })
    }

    /// Returns a path of backing in that begins anywhere in the lane: on its way out the vehicle comes to stand there.
    fn stopping_anywhere_in_lane(&self, known: &Path) -> Option<Path> {
        let travel = self.scene.travel.clone();
        let ground = self.scene.surroundings.ground.clone();
        let scene =
            Scene { lane: CaseLane::Leaving, ..scene_on(self.site, travel, CaseLane::Coming, ground)? };
        let vehicle = if self.vehicle.units.len() > 1 { &self.wide } else { self.vehicle };
        let lanes = lanes(&scene, vehicle, [0.0, self.clearance_m]);
        let asked = PassageProblem::new(self.site, &scene, lanes, (vehicle, Maneuver::BackIn), self.shunts);
        let seeds = std::slice::from_ref(known);
        let found = asked.narrowest(self.surroundings, self.clearance_m, EFFORT, seeds).found?;
        (found.inspection.opening_m <= self.drawn_m).then(|| found.path.into_path())
    }

    /// Returns a way out near a known one whose tires keep from the edge of the ground; `None` for a vehicle without a
    /// trailer, which drives a way out exactly as it is given, and where none is found.
    fn off_the_edge(&self, known: &Path) -> Option<Path> {
        if self.vehicle.units.len() < 2 {
            return None;
        }
        let lanes = lanes(self.scene, &self.wide, [0.0, self.clearance_m]);
        let asked =
            PassageProblem::new(self.site, self.scene, lanes, (&self.wide, Maneuver::BackIn), self.shunts);
        let about = (known, self.drawn_m);
        let found = asked.touched_up(self.surroundings, self.clearance_m, Effort::AGAIN, about).found?;
        (found.inspection.opening_m <= self.drawn_m).then(|| found.path.into_path())
    }
}

/// Returns the last leg of a path of backing in, reversed: out of the gate forward, to where it stopped on the road.
fn way_out_forward(chain: &Chain, path: &Path) -> Option<Path> {
    Some(path.last_leg(chain)?.reversed(chain))
}
