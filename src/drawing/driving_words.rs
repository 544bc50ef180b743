//! Driving steps in words for a path through the gate as drawn: the steps, the clearance they keep, and their
//! tolerance.
use super::through;
use crate::geometry::length::{Round, Units, show, show_kept};
use crate::geometry::trig;
use crate::motion::Direction;
use crate::opening::{Card, Case, Driving, End, Landmark, LineUp, Reference, Step, Study, Window};
use crate::search::driving_steps::LOCK_PARTS;
use crate::site::Swing;
use crate::vehicle::Vehicle;
use std::f64::consts::TAU;

/// Distance below which a landmark counts as level with the vehicle's end.
const LEVEL_M: f64 = 0.013;
/// Distance rolled below which the wheel counts as turned at once.
const SHORT_TURN_M: f64 = 0.15;
/// Largest gap that needs watching, besides the tightest one.
const WATCHED_M: f64 = 0.6;
/// Writer of the steps of one path in words.
pub(super) struct Words<'a> {
    study: &'a Study,
    pub(super) case: &'a Case,
    pub(super) vehicle: &'a Vehicle,
}

impl<'a> Words<'a> {
    pub(super) fn of(study: &'a Study, driving: &Driving) -> Option<Self> {
        let case = study.cases.get(driving.case)?;
        Some(Self { study, case, vehicle: study.vehicles.get(case.vehicle)? })
    }

    fn length(&self, meters: f64, round: Round) -> String {
        show(meters, self.study.site.units, round)
    }

    /// Name of the lead unit: "pickup".
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

    /// Words for a landmark: "your front bumper is 1' 2" short of the left post".
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
        let side = line_up.side.word();
        let gap = self.length(line_up.from_edge_m.abs(), Round::Nearest);
        let over = if line_up.from_edge_m < 0.0 { "over" } else { "from" };
        let how =
            if line_up.straight { "wheels straight".to_owned() } else { "following the bend".to_owned() };
        let lead = self.lead();
        format!(
            "Line up. Drive {} in your lane, {how}, the {side} side of the {lead} {gap} {over} the {side} edge of the road.",
            self.case.travel
        )
    }

    fn begin(&self, line_up: &LineUp, first: &Step, is_only: bool) -> String {
        let until = line_up.until.as_ref().map(|landmark| self.landmark(landmark));
        match (until, first.wheel_tenths) {
            (_, None) if is_only => "Keep the wheel straight all the way.".to_owned(),
            (Some(until), None) => format!("Begin where {until}, with the wheel as it is."),
            (None, None) => "Begin at the place marked 3 on the plan, with the wheel as it is.".to_owned(),
            (Some(until), _) => format!("Keep going like that until {until}."),
            (None, _) => "Keep going like that to the place marked 3 on the plan.".to_owned(),
        }
    }

    /// Words for a turn of the wheel: "Turn the wheel left to 7/10 of full lock (1 1/4 turns from straight)".
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
        match (tenths.signum() == before.signum(), parts < before.unsigned_abs()) {
            (true, true) => format!("Ease the wheel back to {parts}/10 of full lock{turns}, still {to},"),
            (true, false) => format!("Turn the wheel farther {to}, to {parts}/10 of full lock{turns},"),
            (false, _) => format!("Turn the wheel {to} to {parts}/10 of full lock{turns}"),
        }
    }

    /// Distance rolled while the wheel is turned from one position to another, meters.
    fn turning_m(&self, tenths: i8, before: i8) -> f64 {
        let (steering, wheelbase_m) = (&self.vehicle.steering, self.vehicle.units[0].wheelbase_m);
        let curvature =
            |tenths: i8| trig::tan(f64::from(tenths) / LOCK_PARTS * steering.lock_angle_rad) / wheelbase_m;
        let turned = (curvature(tenths) - curvature(before)).abs();
        if steering.max_curvature > 0.0 {
            steering.lock_distance_m * turned / steering.max_curvature
        } else {
            0.0
        }
    }

    fn step(&self, step: &Step, before: i8, card: &Card) -> String {
        let length = self.length(step.roll_m, Round::Nearest);
        let turning =
            step.wheel_tenths.filter(|_| !step.after_stop).map(|tenths| self.turning_m(tenths, before));
        let turning = turning.filter(|m| *m > SHORT_TURN_M).map(|m| self.length(m, Round::Nearest));
        let in_all = if turning.is_some() { " in this step" } else { "" };
        let drive = match step.direction {
            Direction::Forward => format!("drive {length}{in_all}"),
            Direction::Reverse => format!("back up {length}{in_all}"),
        };
        let until = step.until.as_ref().map(|landmark| format!(", until {}", self.landmark(landmark)));
        let until = until.unwrap_or_default();
        let wheel = step.wheel_tenths.map(|tenths| self.wheel(tenths, before));
        let mut text = match (wheel, step.after_stop) {
            (Some(wheel), true) => {
                format!("Stop. {wheel} before you move, then {drive}{until}.")
            }
            (Some(wheel), false) => match turning {
                Some(turning) => format!("{wheel} over the first {turning}, and {drive}{until}."),
                None => format!("{wheel} and {drive}{until}."),
            },
            (None, true) => format!("Stop, then {drive}{until}."),
            (None, false) => format!("{}{}{until}.", drive[..1].to_uppercase(), &drive[1..]),
        };
        // The tightest gap of this step.
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

/// Writes the steps of driving a path through the gate as drawn: line up, begin, each turn of the wheel, stop. Empty if
/// no few turns of the wheel lead through.
#[must_use]
pub fn driving_words(study: &Study, driving: &Driving) -> Vec<String> {
    let (Some(words), Some(card)) = (Words::of(study, driving), &driving.card) else { return Vec::new() };
    let Some(first) = card.steps.first() else { return Vec::new() };
    let mut lines =
        vec![words.line_up(&card.line_up), words.begin(&card.line_up, first, card.steps.len() == 1)];
    let mut before = 0;
    for step in &card.steps {
        lines.push(words.step(step, before, card));
        before = step.wheel_tenths.unwrap_or(before);
    }
    let leaves = &study.site.gate.leaves;
    let swings_in = leaves.opens == Swing::In && leaves.arrangement.swings();
    let close = if swings_in { " Drive on as far as the leaves need to close." } else { "" };
    lines.push(format!("Stop. All of the {} is past the gate.{close}", words.last()));
    lines
}

/// Writes the clearance of the steps as a sentence: "Driven exactly like this, it keeps 1' 2" from everything that stands."
#[must_use]
pub fn kept_words(study: &Study, card: &Card) -> String {
    let kept = card.way.reported_clearance_m().unwrap_or(0.0);
    format!(
        "Driven exactly like this, at a walking pace, it keeps {} from everything that stands; steered more \
         finely, as drawn elsewhere, it may keep more. Distances to a post or a corner are straight ahead of where you stand then. Left and right \
         posts and leaves are as you face the gate from the road.",
        show_kept(kept, study.site.units)
    )
}

/// Writes the window of a path, in sentences.
#[must_use]
pub fn window_words(study: &Study, window: &Window) -> Vec<String> {
    let units = study.site.units;
    let up_to = |m: f64, is_most: bool, to: &str| {
        let length = show(m, units, Round::Down);
        match is_most {
            _ if length == show(0.0, units, Round::Down) => format!("no {to}"),
            true => format!("{length} or more {to}"),
            false => format!("up to {length} {to}"),
        }
    };
    let along = |m: f64, to: &str| up_to(m, Window::is_most_along(m), to);
    let across = match window.whole_lane() {
        (true, true) => "anywhere across your lane".to_owned(),
        (whole_left, whole_right) => {
            let one = |whole: bool, m: f64, to: &str| match whole {
                true => format!("anywhere in your lane to the {to}"),
                false => up_to(m, Window::is_most_across(m), &format!("farther {to}")),
            };
            format!(
                "{}, or {}",
                one(whole_left, window.left_m, "left"),
                one(whole_right, window.right_m, "right")
            )
        }
    };
    vec![
        late_words(window, units),
        format!(
            "You may also begin the first turn of the wheel {}, or {}, or begin it {across}, if you adjust every later turn \
             to that: it still gets through and touches nothing.",
            along(window.earlier_m, "earlier"),
            along(window.later_m, "later")
        ),
    ]
}

fn late_words(window: &Window, units: Units) -> String {
    if window.late_steering_m < LEVEL_M {
        return "Turn the wheel on time at every step: no late steering was found to get through.".to_owned();
    }
    let late = show(window.late_steering_m, units, Round::Down);
    let more = if Window::is_most_along(window.late_steering_m) { " or more" } else { "" };
    format!(
        "If all of the steering comes {late}{more} late and nothing is corrected, it still touches nothing."
    )
}

/// Text of a card without steps.
pub const NO_STEPS: &str =
    "No short list of wheel turns gets it through: steer by eye all the way, with a spotter.";

/// Writes the lines after the steps: their clearance and the window.
pub(super) fn after_words(study: &Study, driving: &Driving) -> Vec<String> {
    let mut lines: Vec<String> = driving.card.iter().map(|card| kept_words(study, card)).collect();
    lines.extend(driving.window.iter().flat_map(|window| window_words(study, window)));
    lines
}
