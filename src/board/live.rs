//! Answers while something is dragged: each session's newest question first, from the last study by a warm start.
//!
//! A session is a page that is open. Of its questions one is worked on and one waits; a newer one takes the place of the
//! one that waits, and the one that is worked on stops as soon as it has answered the case that is shown.
use super::failure::Failure;
use super::{drawing, locked};
use crate::cli::inputs::{self, Inputs};
use serde::Deserialize;
use serde_json::{Value, json};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::sync::{Mutex as TurnMutex, Semaphore, watch};
use tokio::task::spawn_blocking;
use wideenough::geometry::Point;
use wideenough::motion::{Chain, OnSite, Trajectory};
use wideenough::opening::{
    self, Answer, Case, CaseAgain, Contact, DrawnWay, Progress, Study, StudyOptions, Wanted, case_again,
    reported_m,
};
use wideenough::site::Site;
use wideenough::sweep::{Cover, Envelope, envelope};
use wideenough::vehicle::{PartKind, Vehicle};

/// Sessions kept; of more, the one that has been silent longest is forgotten.
const MOST_SESSIONS: usize = 6;
/// Vehicles of a session whose last study is kept.
const MOST_BASES: usize = 8;
/// Questions worked on at once, over all sessions.
const MOST_AT_ONCE: usize = 2;
/// After the case that is shown, others follow as long as one more that takes as long ends within this time.
const OTHERS_WITHIN: Duration = Duration::from_millis(60);
/// Poses drawn along a path, at most.
const POSES: usize = 10;
/// Spacing of the points of a wheel's line, meters.
const WHEEL_STEP_M: f64 = 0.5;
/// Tolerance of the covered ground in these answers, meters: a line's width on the screen.
const COVERED_WITHIN_M: f64 = 0.05;

/// Request for the answer to one move: a plan, and the case that is shown.
#[derive(Deserialize)]
pub struct Question {
    session: String,
    sequence: u64,
    text: String,
    name: Option<String>,
    show: Option<Show>,
    /// Answer every case, however long it takes.
    #[serde(default)]
    all: bool,
}

/// A case by its words.
#[derive(Clone, Deserialize)]
struct Show {
    vehicle: String,
    travel: Option<String>,
    maneuver: Option<String>,
}

/// The sessions of a board.
pub struct Live {
    sessions: Mutex<Vec<Arc<Session>>>,
    at_once: Arc<Semaphore>,
}

struct Session {
    id: String,
    /// Sequence of the newest question.
    newest: watch::Sender<u64>,
    /// Held by the question that is worked on.
    turn: Arc<TurnMutex<()>>,
    bases: Mutex<Vec<Base>>,
    /// Counts questions and refreshments, so that one that is no longer wanted notices.
    asked: AtomicU64,
}

/// The last study of one vehicle alone.
#[derive(Clone)]
struct Base {
    wanted: Wanted,
    /// Directions of travel of its site, which cases are matched by.
    travels: Vec<String>,
    /// Text of its plan.
    text: String,
    study: Arc<Study>,
}

impl Live {
    /// Creates an empty list of sessions.
    pub fn new() -> Self {
        Self { sessions: Mutex::default(), at_once: Arc::new(Semaphore::new(MOST_AT_ONCE)) }
    }

    fn session(&self, id: &str) -> Arc<Session> {
        let mut sessions = locked(&self.sessions);
        let known = sessions.iter().position(|session| session.id == id);
        let session = match known {
            Some(at) => sessions.remove(at),
            None => Arc::new(Session {
                id: id.to_owned(),
                newest: watch::Sender::new(0),
                turn: Arc::default(),
                bases: Mutex::default(),
                asked: AtomicU64::new(0),
            }),
        };
        // The last one has spoken last.
        sessions.push(Arc::clone(&session));
        if sessions.len() > MOST_SESSIONS {
            let silent = sessions.remove(0);
            silent.asked.fetch_add(1, Ordering::Relaxed);
            silent.newest.send_replace(u64::MAX);
        }
        session
    }

    /// Answers a question, or says that a newer one has come.
    pub async fn answer(&self, question: Question) -> Result<Value, Failure> {
        if question.session.len() > 64 {
            return Err(Failure::bad("a session has a short name"));
        }
        let superseded = json!({ "sequence": question.sequence, "superseded": true });
        let session = self.session(&question.session);
        session.asked.fetch_add(1, Ordering::Relaxed);
        session.newest.send_if_modified(|newest| {
            let newer = question.sequence > *newest;
            *newest = question.sequence.max(*newest);
            newer
        });
        let mut newest = session.newest.subscribe();
        let sequence = question.sequence;
        let newer = async { newest.wait_for(|newest| *newest > sequence).await.is_ok() };
        let turn = async {
            let turn = Arc::clone(&session.turn).lock_owned().await;
            (turn, Arc::clone(&self.at_once).acquire_owned().await)
        };
        let held = tokio::select! {
            biased;
            _ = newer => return Ok(superseded),
            held = turn => held,
        };
        let asker = Arc::clone(&session);
        spawn_blocking(move || {
            let _held = held;
            asker.work(&question)
        })
        .await?
    }

    /// Studies a session's vehicles again at the place as it is now, so that the next moves begin near it. Given up when
    /// a question comes.
    pub fn refresh(&self, id: &str, text: &str, name: &str) {
        let Some(session) = locked(&self.sessions).iter().find(|session| session.id == id).cloned() else {
            return;
        };
        let Ok(Inputs { site, vehicles, .. }) = drawing::read(text, name) else { return };
        let asked = session.asked.load(Ordering::Relaxed);
        let wanted = inputs::wanted(&site, vehicles, &[]);
        let known: Vec<Wanted> = locked(&session.bases).iter().map(|base| base.wanted.clone()).collect();
        for wanted in wanted.into_iter().filter(|wanted| known.contains(wanted)) {
            let given_up = || session.asked.load(Ordering::Relaxed) != asked;
            match study_unless(&site, &wanted, &given_up) {
                Some(study) => session.keep(Base::of(wanted, study, text)),
                None => return,
            }
        }
    }
}

impl Base {
    fn of(wanted: Wanted, study: Study, text: &str) -> Self {
        Self { wanted, travels: travel_words(&study.site), text: text.to_owned(), study: Arc::new(study) }
    }
}

fn travel_words(site: &Site) -> Vec<String> {
    site.travels().into_iter().map(|travel| travel.word).collect()
}

/// Panic payload that ends a study that nobody waits for.
struct GivenUp;

/// The study of one vehicle, without what only reports need; `None` where it was given up.
fn study_unless(site: &Site, wanted: &Wanted, given_up: &(dyn Fn() -> bool + Sync)) -> Option<Study> {
    let options = StudyOptions::default().with_changes(false);
    let step = |_: Progress| {
        if given_up() {
            // Ends the work of all threads, without a word.
            resume_unwind(Box::new(GivenUp));
        }
    };
    let work = || opening::study(site.clone(), std::slice::from_ref(wanted), &options, &step);
    match catch_unwind(AssertUnwindSafe(work)) {
        Ok(study) => Some(study),
        Err(why) if why.is::<GivenUp>() => None,
        Err(why) => resume_unwind(why),
    }
}

impl Session {
    fn keep(&self, base: Base) {
        let mut bases = locked(&self.bases);
        bases.retain(|other| other.wanted.vehicle.name != base.wanted.vehicle.name);
        bases.push(base);
        if bases.len() > MOST_BASES {
            bases.remove(0);
        }
    }

    fn base(&self, wanted: &Wanted, travels: &[String]) -> Option<Base> {
        let bases = locked(&self.bases);
        bases.iter().find(|base| base.wanted == *wanted && base.travels == travels).cloned()
    }

    fn work(&self, question: &Question) -> Result<Value, Failure> {
        let begin = Instant::now();
        let newer = || *self.newest.borrow() > question.sequence;
        let name = question.name.as_deref().unwrap_or(drawing::UNNAMED);
        let read = drawing::read(&question.text, name).map_err(|faults| Failure::faults(&faults))?;
        let Inputs { site, vehicles, .. } = read;
        let all = inputs::wanted(&site, vehicles, &[]);
        if all.is_empty() {
            return Ok(json!({ "sequence": question.sequence, "base": "none", "cases": [], "path": null }));
        }
        let shown = question.show.as_ref();
        let index = shown
            .and_then(|show| {
                let named = |(request, wanted): (&_, &Wanted)| {
                    let request: &wideenough::site::VehicleRequest = request;
                    request.vehicle == show.vehicle || wanted.vehicle.name == show.vehicle
                };
                site.vehicles.iter().zip(&all).position(named)
            })
            .unwrap_or(0);
        let travels = travel_words(&site);
        // The cases of a study but the one that is shown, as far as there is time: one takes about as long as `one`.
        let rest = |rows: &mut Rows, study: &Study, shown: Option<usize>, one: Duration| {
            for (index, case) in study.cases.iter().enumerate() {
                if Some(index) == shown || case.route.is_some() {
                    continue;
                }
                let in_time = question.all || begin.elapsed() + one < OTHERS_WITHIN;
                let again = (in_time && !newer()).then(|| case_again(study, index, &site)).flatten();
                rows.set(study, index, again.as_ref());
            }
        };
        let mut rows = Rows::default();
        let mut one = Duration::ZERO;
        let (base_word, path) = match self.base(&all[index], &travels) {
            // Nothing has moved since.
            Some(base) if base.text == question.text => {
                let study = &base.study;
                rows.all_studied(study);
                ("study", find_case(study, shown).map_or(Value::Null, |case| of_study(study, case)))
            }
            Some(base) => {
                let study = &base.study;
                let first = find_case(study, shown);
                let mut path = Value::Null;
                if let Some(case) = first {
                    let again = case_again(study, case, &site);
                    path = again.as_ref().map_or(Value::Null, |again| of_again(study, case, again));
                    rows.set(study, case, again.as_ref());
                }
                one = begin.elapsed();
                rest(&mut rows, study, first, one);
                ("study", path)
            }
            None => {
                // Another vehicle that is shown meanwhile ends this; a mere move does not, or no study would end
                // while someone drags.
                let gone = || *self.newest.borrow() == u64::MAX;
                let Some(study) = study_unless(&site, &all[index], &gone) else {
                    return Ok(json!({ "sequence": question.sequence, "superseded": true }));
                };
                let base = Base::of(all[index].clone(), study, &question.text);
                self.keep(base.clone());
                let study = &base.study;
                rows.all_studied(study);
                let path = find_case(study, shown).map_or(Value::Null, |case| of_study(study, case));
                ("none", path)
            }
        };
        // The other vehicles, as far as they have been studied.
        for wanted in all.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, wanted)| wanted) {
            let known = self.base(wanted, &travels);
            let base = match known {
                None if question.all && !newer() => {
                    let base = study_unless(&site, wanted, &newer)
                        .map(|study| Base::of(wanted.clone(), study, &question.text));
                    base.iter().for_each(|base| self.keep(base.clone()));
                    base
                }
                known => known,
            };
            let Some(base) = base else {
                rows.unknown(&wanted.vehicle.name);
                continue;
            };
            if base.text == question.text {
                rows.all_studied(&base.study);
                continue;
            }
            rest(&mut rows, &base.study, None, one);
        }
        Ok(json!({ "sequence": question.sequence, "base": base_word, "cases": rows.0, "path": path }))
    }
}

/// The case that is shown: the one called so, or the first of the vehicle.
fn find_case(study: &Study, show: Option<&Show>) -> Option<usize> {
    let searched = || study.cases.iter().enumerate().filter(|(_, case)| case.route.is_none());
    let called = |case: &Case, show: &Show| {
        show.travel.as_ref().is_none_or(|travel| *travel == case.travel)
            && show.maneuver.as_ref().is_none_or(|maneuver| maneuver == case.maneuver.word())
    };
    let found = show.and_then(|show| searched().find(|(_, case)| called(case, show)));
    found.or_else(|| searched().next()).map(|(index, _)| index)
}

/// The rows of an answer: one for each case.
#[derive(Default)]
struct Rows(Vec<Value>);

impl Rows {
    fn push(&mut self, study: &Study, case: &Case, answers: Option<(&Answer, &Answer, &str)>) {
        let opening_m = |answer: &Answer| answer.opening_m.map(reported_m);
        self.0.push(json!({
            "vehicle": study.vehicles[case.vehicle].name,
            "travel": case.travel,
            "maneuver": case.maneuver.word(),
            "bare_m": answers.and_then(|(bare, _, _)| opening_m(bare)),
            "comfortable_m": answers.and_then(|(_, comfortable, _)| opening_m(comfortable)),
            "verdict": answers.map(|(_, _, verdict)| verdict),
        }));
    }

    fn set(&mut self, study: &Study, case: usize, again: Option<&CaseAgain>) {
        let answers = again.map(|again| (&again.bare, &again.comfortable, again.drawn_gate.word()));
        self.push(study, &study.cases[case], answers);
    }

    /// Every case as its study has it.
    fn all_studied(&mut self, study: &Study) {
        for case in study.cases.iter().filter(|case| case.route.is_none()) {
            self.push(study, case, Some((&case.bare, &case.comfortable, case.drawn_gate.word())));
        }
    }

    /// A vehicle that has not been studied in this session.
    fn unknown(&mut self, vehicle: &str) {
        self.0.push(json!({
            "vehicle": vehicle, "travel": null, "maneuver": null, "bare_m": null, "comfortable_m": null, "verdict": null,
        }));
    }
}

fn of_again(study: &Study, case: usize, again: &CaseAgain) -> Value {
    let vehicle = &study.vehicles[study.cases[case].vehicle];
    path(vehicle, &again.drawn, [&again.comfortable, &again.bare])
}

fn of_study(study: &Study, case: usize) -> Value {
    let case = &study.cases[case];
    path(&study.vehicles[case.vehicle], &case.drawn, [&case.comfortable, &case.bare])
}

/// The path to draw: through the gate as drawn or the best try; else the one that needs least.
fn path(vehicle: &Vehicle, drawn: &DrawnWay, answers: [&Answer; 2]) -> Value {
    let narrowest =
        || answers.into_iter().find_map(|answer| Some((answer.witness.as_ref()?, answer.tightest.as_ref())));
    let shown = match &drawn.witness {
        Some(witness) => Some((witness, drawn.contacts.first())),
        None => narrowest(),
    };
    let Some((way, tightest)) = shown else { return Value::Null };
    let (outlines, wheels) = poses(vehicle, way);
    let swept = envelope(vehicle, way.path(), Cover::Body, COVERED_WITHIN_M);
    json!({
        "outlines": outlines,
        "envelope": swept.as_ref().map_or_else(|_| Vec::new(), rings),
        "wheels": wheels,
        "tightest": tightest.map(contact),
        "passes": drawn.clearance_m.is_some(),
    })
}

fn contact(contact: &Contact) -> Value {
    json!({
        "x_m": contact.at.x,
        "y_m": contact.at.y,
        "gap_m": contact.gap_m,
        "what": contact.what,
        "part": contact.part,
        "from": { "x_m": contact.from.x, "y_m": contact.from.y },
    })
}

/// A place to a millimeter, which no screen shows.
fn place(p: Point) -> Value {
    let round = |m: f64| (m * 1000.0).round() / 1000.0;
    json!([round(p.x), round(p.y)])
}

fn rings(swept: &Envelope) -> Vec<Value> {
    swept.rings().iter().flatten().map(|ring| ring.0.iter().copied().map(place).collect()).collect()
}

/// Outlines of every unit at some poses along a path, and the line of every wheel.
fn poses(vehicle: &Vehicle, way: &Trajectory<OnSite>) -> (Vec<Value>, Vec<Value>) {
    let chain = Chain::of(vehicle);
    let samples = way.path().samples(&chain, WHEEL_STEP_M);
    let mut wheels: Vec<Vec<Value>> =
        vec![Vec::new(); vehicle.units.iter().map(|unit| unit.tires.len()).sum()];
    let mut outlines = Vec::new();
    let every = samples.len().div_ceil(POSES).max(1);
    for (index, sample) in samples.iter().enumerate() {
        let poses = chain.unit_poses(&sample.state);
        let mut line = wheels.iter_mut();
        for (unit, pose) in vehicle.units.iter().zip(&poses) {
            for tire in &unit.tires {
                if let Some(line) = line.next() {
                    line.push(place(pose.to_site(tire.center)));
                }
            }
            // The last pose is drawn in any case.
            if (samples.len() - 1 - index).is_multiple_of(every) {
                let parts = unit.parts.iter().filter(|part| part.kind != PartKind::Tire);
                let rings: Vec<Value> = parts
                    .map(|part| part.outline.0.iter().map(|p| place(pose.to_site(*p))).collect())
                    .collect();
                outlines.push(json!({ "kind": unit.name, "rings": rings }));
            }
        }
    }
    (outlines, wheels.into_iter().map(Value::from).collect())
}
