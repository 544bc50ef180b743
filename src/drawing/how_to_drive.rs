//! The card of driving steps for a path through the gate as drawn: its steps and the places where each begins, as a
//! drawing and as a printed page.
use super::case::{CAUTION, Drawn};
use super::driving_words::{Words, after_words, driving_words};
use super::page::{GAP, HEADING, Split, area, caution, fitted, split, with_rest};
use super::paper::{Block, Page, Paper, Scale, TextLine, view_at_scale};
use super::scene::{Label, PANEL_WIDTH, Panel, Sheet};
use super::through;
use crate::geometry::Point;
use crate::motion::Chain;
use crate::opening::{Card, Case, DrawnGate, Driving, Study};
use crate::vehicle::Vehicle;

/// Size of the steps on a printed card, as large as the room permits.
const STEP_TEXT: f64 = 28.0;

/// The note on the numbers in the plan.
const NUMBERS: &str = "Numbers mark where each step begins, on the path of the rear axle; steps 1 and 2 lead along the road to 3.";

/// The sheet of a card; `None` without steps.
#[must_use]
pub fn driving_sheet(study: &Study, driving: &Driving) -> Option<Sheet> {
    let (words, card) = (Words::of(study, driving)?, driving.card.as_ref()?);
    let case = of_card(study, words.case, card);
    let drawn = Drawn::through(study, &case, words.vehicle);
    let mut lines = vec![title(&drawn)];
    lines.extend(through::other_half_words(study, &case));
    lines.extend(after_words(study, driving));
    let steps = driving_words(study, driving);
    let mut plan = drawn.site_panel(PANEL_WIDTH);
    mark_steps(&mut plan, words.vehicle, card);
    Some(Sheet {
        place: study.site.title.clone(),
        verdict: Some(case.drawn_gate),
        title: by_these_steps(&case, study),
        description: drawn.description(&[&lines[..], &numbered(&steps)].concat()),
        steps,
        panels: vec![plan, drawn.gate_panel(PANEL_WIDTH)],
        lines,
        legend: true,
        notes: vec![NUMBERS.to_owned(), CAUTION.to_owned()],
    })
}

/// Sentence on the way of a card that goes over the center line of the road; `None` for others.
#[must_use]
pub fn card_traffic_words(study: &Study, driving: &Driving) -> Option<String> {
    let (words, card) = (Words::of(study, driving)?, driving.card.as_ref()?);
    through::other_half_words(study, &of_card(study, words.case, card))
}

/// The card as a printed page, with further sheets for what that does not hold; empty without steps.
#[must_use]
pub fn driving_pages(study: &Study, driving: &Driving, paper: Paper) -> Vec<Page> {
    let Some((words, card)) = Words::of(study, driving).zip(driving.card.as_ref()) else { return Vec::new() };
    let case = of_card(study, words.case, card);
    let drawn = Drawn::through(study, &case, words.vehicle);
    let (low, high) = area(paper);
    let half = (high.x - low.x - GAP) / 2.0;
    let answer = format!("{}: {}", title(&drawn), by_these_steps(&case, study));
    let mut texts = vec![TextLine::new(answer, STEP_TEXT, true)];
    let over = through::other_half_words(study, &case);
    texts.extend(over.map(|line| TextLine::new(line, 0.75 * STEP_TEXT, false)));
    let steps = numbered(&driving_words(study, driving));
    texts.extend(steps.iter().map(|line| TextLine::new(line, STEP_TEXT, false)));
    let after = after_words(study, driving).into_iter();
    texts.extend(after.map(|line| TextLine::new(line, 0.75 * STEP_TEXT, false)));
    let room = high.y - low.y;
    let Split { here: texts, rest } = split(fitted(texts, half, room), half, room);
    let size = (half, high.y - low.y - HEADING - super::panel::STRIP);
    let usual = Scale::usual(study.site.units);
    let (view, scale) = view_at_scale(&drawn.interest(), Point::new(0.0, 1.0), size, GAP, &usual);
    let mut plan = drawn.site_panel_in(view);
    plan.heading = Some(format!("Numbers mark where each step begins, {}", scale.words()));
    mark_steps(&mut plan, words.vehicle, card);
    let name = format!("{}: how to drive it", title(&drawn));
    let description = drawn.description(&steps);
    let blocks = vec![
        Block::Texts(low, half, texts),
        Block::panel(Point::new(low.x + half + GAP, low.y + HEADING), plan),
        caution(paper),
    ];
    with_rest(Page { paper, name, scale: Some(scale), whole_at: None, description, blocks }, rest)
}

/// The answer for a path of few steps, which may keep less clearance than the finest steering.
fn by_these_steps(case: &Case, study: &Study) -> String {
    let answer = through::answer(case, study);
    format!("By these steps: {}{}", answer[..1].to_lowercase(), &answer[1..])
}

fn title(drawn: &Drawn<'_>) -> String {
    drawn.lines().into_iter().next().unwrap_or_default()
}

/// The steps with their numbers.
fn numbered(steps: &[String]) -> Vec<String> {
    (1_u32..).zip(steps).map(|(number, step)| format!("{number}. {step}")).collect()
}

/// A case whose drawn path is the card's, with the verdict on that path: the steps may keep less than the clearance where
/// finer steering keeps it.
fn of_card(study: &Study, case: &Case, card: &Card) -> Case {
    let kept_m = card.way.reported_clearance_m().unwrap_or(0.0);
    let drawn_gate = if kept_m < study.clearance_m { DrawnGate::Tight } else { case.drawn_gate };
    Case { drawn: card.way.clone(), drawn_gate, ..case.clone() }
}

/// Marks the beginning of each step with its number; that of the last, to stop, is the end of the path.
fn mark_steps(panel: &mut Panel, vehicle: &Vehicle, card: &Card) {
    let Some(path) = card.way.witness.as_ref() else { return };
    let samples = path.path().samples(&Chain::of(vehicle), 0.05);
    let stop_m = samples.last().map(|sample| sample.station_m);
    let stations = card.steps.iter().map(|step| step.station_m).chain(stop_m);
    for (number, station_m) in (3_u32..).zip(stations) {
        let off = |s: &crate::motion::Sample| (s.station_m - station_m).abs();
        let Some(sample) = samples.iter().min_by(|a, b| off(a).total_cmp(&off(b))) else { continue };
        panel.labels.push(Label {
            text: number.to_string(),
            at: sample.state.lead.position,
            or_at: Vec::new(),
            within: Vec::new(),
            strong: true,
            leader: true,
            optional: false,
        });
    }
}
