//! Driving steps for each path that counts, for results.json and the page.
use super::decimal::{down, nearest};
use super::model::{self, Driven, HowToDrive};
use super::results::{contact, witness, xy};
use super::verdict::file_stems;
use crate::drawing::{NO_STEPS, driving_words, kept_words, window_words};
use crate::opening::{Card, Driving, Landmark, Study, Window};
use crate::search::driving_steps::LOCK_PARTS;

/// Decimals of positions: a micrometer; windows are rounded down to a millimeter.
const PLACE_PLACES: u8 = 6;
const WINDOW_PLACES: u8 = 3;

/// The file of a card's drawing: "pickup-eastbound-drive-in-how-to-drive.svg".
#[must_use]
pub fn driving_file(study: &Study, driving: &Driving) -> String {
    let stems = file_stems(study);
    format!("{}-how-to-drive.svg", stems.get(driving.case).map_or("case", String::as_str))
}

/// The card of a case, if the study includes driving steps.
pub(super) fn of_case(study: &Study, case: usize) -> Option<&Driving> {
    study.driving.iter().find(|driving| driving.case == case)
}

/// The card of a case in the form of results.json.
pub(super) fn model(study: &Study, driving: &Driving) -> HowToDrive {
    let window = driving.window.as_ref().map(window);
    let told = |words: Vec<String>| words.into_iter().chain(window_lines(study, driving)).collect();
    let Some(card) = &driving.card else {
        let words = told(vec![NO_STEPS.to_owned()]);
        let (clearance_m, line_up, drawing, witness) = (None, None, None, None);
        return HowToDrive { window, clearance_m, line_up, steps: Vec::new(), drawing, witness, words };
    };
    let vehicle = study.vehicles.get(study.cases[driving.case].vehicle);
    let path = card.way.witness.as_ref().zip(vehicle);
    let mut words = driving_words(study, driving);
    words.push(kept_words(study, card));
    HowToDrive {
        window,
        clearance_m: Some(card.way.reported_clearance_m()),
        line_up: Some(model::LineUp {
            side: card.line_up.side.into(),
            from_edge_m: place(card.line_up.from_edge_m),
            straight: card.line_up.straight,
            until: card.line_up.until.as_ref().map(landmark),
        }),
        steps: steps(card),
        drawing: Some(driving_file(study, driving)),
        witness: Some(path.map(|(path, vehicle)| witness(path.path(), vehicle, Driven::Drawn))),
        words: told(words),
    }
}

/// The tolerance of the steps, in sentences.
pub(super) fn window_lines(study: &Study, driving: &Driving) -> Vec<String> {
    driving.window.as_ref().map_or_else(Vec::new, |window| window_words(study, window))
}

fn place(meters: f64) -> f64 {
    nearest(meters, PLACE_PLACES)
}

fn window(window: &Window) -> model::Window {
    let length = |m: f64| down(m, WINDOW_PLACES);
    model::Window {
        earlier_m: length(window.earlier_m),
        later_m: length(window.later_m),
        left_m: length(window.left_m),
        right_m: length(window.right_m),
        lane_left_m: length(window.lane_room_m.0),
        lane_right_m: length(window.lane_room_m.1),
        late_steering_m: length(window.late_steering_m),
    }
}

fn landmark(landmark: &Landmark) -> model::Landmark {
    model::Landmark {
        part: landmark.reference.into(),
        thing: landmark.thing.clone(),
        end: landmark.end.into(),
        at: xy(landmark.at),
        short_m: place(landmark.short_m),
        aside_m: place(landmark.aside_m),
    }
}

fn steps(card: &Card) -> Vec<model::Step> {
    let share = |tenths: i8| nearest(f64::from(tenths) / LOCK_PARTS, 1);
    let steps = card.steps.iter().map(|step| model::Step {
        direction: step.direction.into(),
        after_stop: step.after_stop,
        share_of_lock: step.wheel_tenths.map(share),
        roll_m: place(step.roll_m),
        station_m: place(step.station_m),
        until: step.until.as_ref().map(landmark),
        watch: step.watch.iter().map(|index| contact(&card.way.contacts[*index])).collect(),
    });
    steps.collect()
}
