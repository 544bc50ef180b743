//! The sheet of a turn: a vehicle turning around inside and driving out, at the gate as drawn.
use super::case::{CAUTION, Drawn};
use super::figure::{FIGURE_WIDTH, TurnFigure, standing};
use super::paper::{Page, Paper, Scale, TEXT, TextLine};
use super::scene::{PANEL_WIDTH, Sheet};
use super::sheets::{plan_pages, roles, steering};
use crate::geometry::length::{Round, show_kept};
use crate::opening::{Answer, Case, CaseLane, DrawnWay, FoundTurn, Limits, Outcome, Study, Turn};
use crate::site::Maneuver;
use crate::sweep::Covered;

/// The sheet of a turn that was found; `None` for one that was not, or whose vehicle does not exist.
#[must_use]
pub fn turn_sheet(study: &Study, turn: &Turn) -> Option<Sheet> {
    let found = turn.found.as_ref().ok()?;
    shown(study, turn, |drawn, lines| Sheet {
        place: study.site.title.clone(),
        verdict: Some(turn.verdict()),
        title: format!(
            "Turns around {}{}",
            stops_words(found.stops),
            if found.comfortable { "" } else { ", tightly" }
        ),
        description: drawn.description(lines),
        panels: vec![drawn.site_panel(PANEL_WIDTH)],
        lines: lines.to_vec(),
        steps: Vec::new(),
        legend: true,
        notes: vec![BOUND.to_owned(), CAUTION.to_owned()],
    })
}

/// Number of stops to change direction, in words: "without a stop", "with one stop", "with 3 stops".
#[must_use]
pub fn stops_words(stops: u32) -> String {
    match stops {
        0 => "without a stop".to_owned(),
        1 => "with one stop".to_owned(),
        n => format!("with {n} stops"),
    }
}

/// The drawing of a turn for a page; `None` as for [`turn_sheet`].
#[must_use]
pub fn turn_figure(study: &Study, turn: &Turn) -> Option<TurnFigure> {
    shown(study, turn, |drawn, lines| {
        let panel = drawn.site_panel(FIGURE_WIDTH);
        let [name, answer] = [0, 1].map(|i| lines.get(i).cloned().unwrap_or_default());
        TurnFigure {
            plan: standing(&panel, &format!("Plan: {name}"), None),
            description: drawn.description(lines),
            roles: roles(&[&panel]),
            name,
            answer,
        }
    })
}

/// The sheet of a turn to print: the plan at a true scale, the vehicle with its dimensions, and a note on the path.
/// `scale` and further sheets as for [`case_pages`](super::case_pages); empty where [`turn_sheet`] is `None`.
#[must_use]
pub fn turn_pages(study: &Study, turn: &Turn, paper: Paper, scale: Option<Scale>) -> Vec<Page> {
    shown(study, turn, |drawn, lines| {
        let mut facts = vec![TextLine::new("Turning around inside", TEXT, true)];
        facts.extend(lines.iter().skip(1).map(|line| TextLine::new(line.clone(), TEXT, false)));
        facts.push(TextLine::new(BOUND, TEXT, false));
        facts.extend(steering(drawn).into_iter().map(|line| TextLine::new(line, TEXT, false)));
        plan_pages(drawn, lines, facts, paper, scale)
    })
    .unwrap_or_default()
}

/// The note on the path of a turn.
const BOUND: &str = "Drawn: the turn and the way out, from where it stands once it has driven in. It is drawn dark at the start, \
                     at each stop and at the end.";

/// Sentence on a way out that ends in line with its lane.
const IN_LINE: &str = "Out on the road it ends in line with its lane.";
/// Sentence on a way out that does not end in line with its lane.
pub const ENDS_ACROSS: &str =
    "Out on the road it ends across its lane; how it straightens out there was not found.";

/// Applies `show` to the drawing of a turn that was found, with its name and its answer in words.
fn shown<T>(study: &Study, turn: &Turn, show: impl Fn(&Drawn, &[String]) -> T) -> Option<T> {
    let found = turn.found.as_ref().ok()?;
    let vehicle = study.vehicles.get(turn.vehicle)?;
    let case = as_case(turn, found);
    let drawn = Drawn::new(study, &case, vehicle);
    let kept = if found.comfortable {
        format!("at least {} kept from everything that stands", drawn.kept())
    } else {
        "touching nothing, but with less than the clearance".to_owned()
    };
    let tightest = drawn.contact().map(|contact| show_kept(contact.gap_m, study.site.units));
    let tightest = tightest
        .filter(|gap| !found.comfortable || *gap != drawn.kept())
        .map_or_else(String::new, |gap| format!(", {gap} at the tightest place"));
    let lines = [
        format!("{}, coming {}, turning around inside", vehicle.title, turn.travel),
        format!(
            "Turns around {}, driving {}, {kept}{tightest}. {}",
            stops_words(found.stops),
            drawn.length(found.turn_m, Round::Up),
            if found.ends_in_line { IN_LINE } else { ENDS_ACROSS }
        ),
    ];
    Some(show(&drawn, &lines))
}

/// A turn as a case of one path, the form in which drawings take it.
fn as_case(turn: &Turn, found: &FoundTurn) -> Case {
    let answer = Answer {
        outcome: Outcome::Found,
        opening_m: None,
        at_least_m: 0.0,
        faces_u_m: None,
        tightest: found.contacts.first().cloned(),
        witness: Some(found.path.clone()),
        ruled_out: None,
        work: 0,
    };
    Case {
        vehicle: turn.vehicle,
        travel: turn.travel.clone(),
        maneuver: Maneuver::DriveIn,
        lane: CaseLane::Coming,
        route: Some("start".to_owned()),
        bare: answer.clone(),
        comfortable: answer,
        drawn_gate: turn.verdict(),
        drawn: DrawnWay::default(),
        contacts: found.contacts.clone(),
        limits: Limits::default(),
        covered: Covered::default(),
    }
}
