//! How to drive a way through the gate as drawn: the steps in words, and a card of them to hand to a driver.
use super::case::{CAUTION, Drawn};
use super::paper::{Block, Page, Paper, Scale, TextLine, view_at_scale};
use super::scene::{Label, PANEL_WIDTH, Panel, Sheet};
use super::sheets::{GAP, HEADING, area, caution, fitted};
use super::through;
use crate::geometry::Point;
use crate::geometry::length::{Round, Units, show};
use crate::motion::{Chain, Direction};
use crate::opening::{Card, Case, Driving, End, Landmark, LineUp, Reference, Step, Study, Window};
use crate::search::driving_steps::LOCK_PARTS;
use crate::site::Side;
use crate::vehicle::Vehicle;
use std::f64::consts::TAU;

/// A landmark nearer than this is level.
const LEVEL_M: f64 = 0.013;
/// A gap larger than this needs no watching, unless it is the tightest.
const WATCHED_M: f64 = 0.6;
/// Size of the steps on a printed card, as large as the room lets them be.
const STEP_TEXT: f64 = 28.0;

/// Writes the steps of one way in words.
struct Words<'a> {
    study: &'a Study,
    case: &'a Case,
    vehicle: &'a Vehicle,
}

impl<'a> Words<'a> {
    fn of(study: &'a Study, driving: &Driving) -> Option<Self> {
        let case = study.cases.get(driving.case)?;
        Some(Self { study, case, vehicle: study.vehicles.get(case.vehicle)? })
    }

    fn length(&self, meters: f64, round: Round) -> String {
        show(meters, self.study.site.units, round)
    }

    /// The lead unit's name: "pickup".
    fn lead(&self) -> &str {
        &self.vehicle.units[0].name
    }

    fn last(&self) -> &str {
        self.vehicle.units.last().map_or("vehicle", |unit| &unit.name)
    }

    fn reference(&self, reference: Reference) -> String {
        match reference {
            Reference::FrontBumper => "your front bumper".to_owned(),
            Reference::DriverMirror => "your driver-side mirror".to_owned(),
            Reference::RearWheels => format!("the rear wheels of the {}", self.lead()),
            Reference::RearEnd => format!("the rear end of the {}", self.last()),
        }
    }

    /// "your front bumper is 1' 2" short of the left post".
    fn landmark(&self, landmark: &Landmark) -> String {
        let thing = match landmark.end {
            End::Whole => format!("the {}", landmark.thing),
            End::Near => format!("the near end of the {}", landmark.thing),
            End::Far => format!("the far end of the {}", landmark.thing),
        };
        let part = self.reference(landmark.reference);
        let verb = if landmark.reference == Reference::RearWheels { "are" } else { "is" };
        let length = self.length(landmark.short_m.abs(), Round::Nearest);
        match landmark.short_m {
            m if m.abs() < LEVEL_M => format!("{part} {verb} level with {thing}"),
            m if m > 0.0 => format!("{part} {verb} {length} short of {thing}"),
            _ => format!("{part} {verb} {length} past {thing}"),
        }
    }

    fn line_up(&self, line_up: &LineUp) -> String {
        let side = side(line_up.side);
        let gap = self.length(line_up.from_edge_m.abs(), Round::Nearest);
        let over = if line_up.from_edge_m < 0.0 { "over" } else { "from" };
        let how =
            if line_up.straight { "wheels straight".to_owned() } else { "following the bend".to_owned() };
        let lead = self.lead();
        format!(
            "Line up. Come {} in your lane, {how}, the {side} side of the {lead} {gap} {over} the {side} edge of the road.",
            self.case.travel
        )
    }

    fn begin(&self, line_up: &LineUp, first: &Step) -> String {
        let until = line_up.until.as_ref().map(|landmark| self.landmark(landmark));
        match (until, first.wheel_tenths) {
            (_, None) => "Keep the wheel straight all the way.".to_owned(),
            (Some(until), _) => format!("Keep on like that until {until}."),
            (None, _) => "Keep on like that to the place marked 3 on the plan.".to_owned(),
        }
    }

    /// "Turn the wheel left to 7/10 of full lock (1 1/4 turns from straight)".
    fn wheel(&self, tenths: i8, before: i8) -> String {
        let parts = tenths.unsigned_abs();
        let to = if tenths > 0 { "left" } else { "right" };
        let turns = self.vehicle.steering.ratio.filter(|_| parts > 0).map_or_else(String::new, |ratio| {
            let lock_turns = ratio * self.vehicle.steering.lock_angle_rad / TAU;
            format!(" ({} from straight)", quarters(f64::from(parts) / LOCK_PARTS * lock_turns))
        });
        if tenths == 0 {
            return "Straighten the wheel".to_owned();
        }
        if f64::from(parts) >= LOCK_PARTS {
            return format!("Turn the wheel all the way {to}{turns}");
        }
        if tenths.signum() == before.signum() && parts < before.unsigned_abs() {
            return format!("Ease the wheel back to {parts}/10 of full lock {to}{turns}");
        }
        format!("Turn the wheel {to} to {parts}/10 of full lock{turns}")
    }

    fn step(&self, step: &Step, before: i8, card: &Card) -> String {
        let length = self.length(step.roll_m, Round::Nearest);
        let drive = match step.direction {
            Direction::Forward => format!("drive {length}"),
            Direction::Reverse => format!("back up {length}"),
        };
        let until = step.until.as_ref().map(|landmark| format!(", until {}", self.landmark(landmark)));
        let until = until.unwrap_or_default();
        let wheel = step.wheel_tenths.map(|tenths| self.wheel(tenths, before));
        let mut text = match (wheel, step.after_stop) {
            (Some(wheel), true) => format!("Stop. {wheel} while it stands, then {drive}{until}."),
            (Some(wheel), false) => format!("{wheel} and {drive}{until}."),
            (None, true) => format!("Stop, then {drive}{until}."),
            (None, false) => format!("{}{}{until}.", drive[..1].to_uppercase(), &drive[1..]),
        };
        // The tightest of this step.
        if let Some(index) = step.watch.first() {
            let contact = &card.way.contacts[*index];
            let units = self.study.site.units;
            let words = through::label(&card.way, contact, units);
            if *index == 0 {
                text.push_str(&format!(" {}", through::sentence(&card.way, contact, units)));
            } else if contact.gap_m <= WATCHED_M {
                text.push_str(&format!(" Watch the {}: {words}.", contact.part));
            }
        }
        text
    }
}

const fn side(side: Side) -> &'static str {
    match side {
        Side::Left => "left",
        Side::Right => "right",
    }
}

/// "1 1/4 turns": to the nearest quarter, one at least.
fn quarters(turns: f64) -> String {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few turns of a wheel")]
    let parts = (turns * 4.0).round().clamp(1.0, 400.0) as u32;
    let (whole, fraction) = (parts / 4, ["", "1/4", "1/2", "3/4"][(parts % 4) as usize]);
    let text = match (whole, fraction) {
        (0, fraction) => fraction.to_owned(),
        (whole, "") => whole.to_string(),
        (whole, fraction) => format!("{whole} {fraction}"),
    };
    if parts <= 4 { format!("{text} turn") } else { format!("{text} turns") }
}

/// The steps of driving a way through the gate as drawn, in words: line up, begin, each turn of the wheel, stop. Empty where no
/// few turns of the wheel lead through.
#[must_use]
pub fn driving_words(study: &Study, driving: &Driving) -> Vec<String> {
    let (Some(words), Some(card)) = (Words::of(study, driving), &driving.card) else { return Vec::new() };
    let Some(first) = card.steps.first() else { return Vec::new() };
    let mut lines = vec![words.line_up(&card.line_up), words.begin(&card.line_up, first)];
    let mut before = 0;
    for step in &card.steps {
        lines.push(words.step(step, before, card));
        before = step.wheel_tenths.unwrap_or(before);
    }
    lines.push(format!("Stop. All of the {} is past the gate.", words.last()));
    lines
}

/// The clearance of the steps as a sentence: "Driven so, it keeps 1' 2" from everything that stands."
#[must_use]
pub fn kept_words(study: &Study, card: &Card) -> String {
    let kept = card.way.reported_clearance_m().unwrap_or(0.0);
    format!(
        "Driven just so, at a walking pace, it keeps {} from everything that stands. Left and right posts are as seen coming \
         in from the road.",
        show(kept, study.site.units, Round::Down)
    )
}

/// The window of a way, in sentences.
#[must_use]
pub fn window_words(study: &Study, window: &Window) -> Vec<String> {
    let units = study.site.units;
    let along = |m: f64| {
        let length = show(m, units, Round::Down);
        if Window::is_most_along(m) { format!("{length} or more") } else { length }
    };
    let room = window.whole_lane();
    let across = match room {
        (true, true) => "anywhere in your lane".to_owned(),
        (whole_left, whole_right) => {
            let one = |whole: bool, m: f64, to: &str| match whole {
                true => format!("anywhere in your lane to the {to}"),
                false => format!("{} farther {to}", show(m, units, Round::Down)),
            };
            format!(
                "{}, {}",
                one(whole_left, window.left_m, "left"),
                one(whole_right, window.right_m, "right")
            )
        }
    };
    vec![
        format!(
            "The first turn of the wheel may begin {} earlier or {} later; or {across}. From there it still gets through \
             touching nothing, if it is driven as well as can be.",
            along(window.earlier_m),
            along(window.later_m)
        ),
        late_words(window, units),
    ]
}

fn late_words(window: &Window, units: Units) -> String {
    let late = show(window.late_steering_m, units, Round::Down);
    let more = if Window::is_most_along(window.late_steering_m) { " and more" } else { "" };
    format!("All of the steering {late}{more} late, nothing corrected: it still touches nothing.")
}

/// The text of a card without steps.
pub const NO_STEPS: &str =
    "No few turns of the wheel lead through: it must be steered by eye all the way, with a spotter.";

/// The sheet of a card; `None` without steps.
#[must_use]
pub fn driving_sheet(study: &Study, driving: &Driving) -> Option<Sheet> {
    let (words, card) = (Words::of(study, driving)?, driving.card.as_ref()?);
    let case = of_card(words.case, card);
    let drawn = Drawn::through(study, &case, words.vehicle);
    let mut lines = vec![title(&drawn)];
    lines.extend(numbered(study, driving));
    lines.extend(after_words(study, driving));
    let mut plan = drawn.site_panel(PANEL_WIDTH);
    mark_steps(&mut plan, &words, card);
    Some(Sheet {
        title: study.site.title.clone(),
        description: drawn.description(&lines),
        panels: vec![plan, drawn.gate_panel(PANEL_WIDTH)],
        lines,
        legend: true,
        notes: vec![
            "A number stands where its step begins, on the way of the rear axle.".to_owned(),
            CAUTION.to_owned(),
        ],
    })
}

/// The card as a printed page; `None` without steps.
#[must_use]
pub fn driving_page(study: &Study, driving: &Driving, paper: Paper) -> Option<Page> {
    let (words, card) = (Words::of(study, driving)?, driving.card.as_ref()?);
    let case = of_card(words.case, card);
    let drawn = Drawn::through(study, &case, words.vehicle);
    let (low, high) = area(paper);
    let half = (high.x - low.x - GAP) / 2.0;
    let mut texts = vec![TextLine::new(title(&drawn), STEP_TEXT, true)];
    texts.extend(numbered(study, driving).into_iter().map(|line| TextLine::new(line, STEP_TEXT, false)));
    let after = after_words(study, driving).into_iter();
    texts.extend(after.map(|line| TextLine::new(line, 0.75 * STEP_TEXT, false)));
    let texts = fitted(texts, half, high.y - low.y);
    let size = (half, high.y - low.y - HEADING - super::panel::STRIP);
    let usual = Scale::usual(study.site.units);
    let (view, scale) = view_at_scale(&drawn.interest(), Point::new(0.0, 1.0), size, GAP, &usual);
    let mut plan = drawn.site_panel_in(view);
    plan.heading = Some(format!("A number stands where its step begins, {}", scale.words()));
    mark_steps(&mut plan, &words, card);
    let lines: Vec<String> = numbered(study, driving);
    let name = format!("{}: how to drive it", title(&drawn));
    let description = drawn.description(&lines);
    let blocks = vec![
        Block::Texts(low, half, texts),
        Block::Panel(Point::new(low.x + half + GAP, low.y + HEADING), Box::new(plan)),
        caution(paper),
    ];
    Some(Page { paper, name, scale: Some(scale), whole_at: None, description, blocks })
}

fn title(drawn: &Drawn<'_>) -> String {
    drawn.lines().into_iter().next().unwrap_or_default()
}

/// The steps with their numbers.
fn numbered(study: &Study, driving: &Driving) -> Vec<String> {
    let lines = driving_words(study, driving).into_iter().zip(1..);
    lines.map(|(line, number): (String, u32)| format!("{number}. {line}")).collect()
}

/// The lines after the steps: their clearance and the window.
fn after_words(study: &Study, driving: &Driving) -> Vec<String> {
    let mut lines: Vec<String> = driving.card.iter().map(|card| kept_words(study, card)).collect();
    lines.extend(driving.window.iter().flat_map(|window| window_words(study, window)));
    lines
}

/// A case whose drawn way is the card's.
fn of_card(case: &Case, card: &Card) -> Case {
    Case { drawn: card.way.clone(), ..case.clone() }
}

/// The number of each step where it begins.
fn mark_steps(panel: &mut Panel, words: &Words<'_>, card: &Card) {
    let Some(path) = card.way.witness.as_ref() else { return };
    let samples = path.path().samples(&Chain::of(words.vehicle), 0.05);
    for (number, step) in (3_u32..).zip(&card.steps) {
        let off = |s: &crate::motion::Sample| (s.station_m - step.station_m).abs();
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
