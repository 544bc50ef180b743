//! Driving steps for each path that counts, for results.json and the page.
use super::decimal::{down, nearest, number};
use super::results::{contact, witness, xy};
use super::verdict::file_stems;
use crate::drawing::{NO_STEPS, driving_words, kept_words, window_words};
use crate::motion::Direction;
use crate::opening::{Card, Driving, Landmark, Study, Window};
use crate::search::driving_steps::LOCK_PARTS;
use serde_json::{Value, json};

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
pub(super) fn value(study: &Study, driving: &Driving) -> Value {
    let mut value = json!({ "window": driving.window.as_ref().map(window) });
    let words = match &driving.card {
        Some(card) => {
            let vehicle = study.vehicles.get(study.cases[driving.case].vehicle);
            value["clearance_m"] = card.way.reported_clearance_m().map_or(Value::Null, number);
            value["line_up"] = json!({
                "side": card.line_up.side.word(),
                "from_edge_m": place(card.line_up.from_edge_m),
                "straight": card.line_up.straight,
                "until": card.line_up.until.as_ref().map(landmark),
            });
            value["steps"] = steps(card);
            value["drawing"] = json!(driving_file(study, driving));
            let path = card.way.witness.as_ref();
            value["witness"] = path
                .zip(vehicle)
                .map_or(Value::Null, |(path, vehicle)| witness(path.path(), vehicle, "drawn"));
            let mut words = driving_words(study, driving);
            words.push(kept_words(study, card));
            words
        }
        None => {
            value["steps"] = json!([]);
            vec![NO_STEPS.to_owned()]
        }
    };
    value["words"] = words.into_iter().chain(window_lines(study, driving)).collect();
    value
}

/// The tolerance of the steps, in sentences.
pub(super) fn window_lines(study: &Study, driving: &Driving) -> Vec<String> {
    driving.window.as_ref().map_or_else(Vec::new, |window| window_words(study, window))
}

fn place(meters: f64) -> Value {
    number(nearest(meters, PLACE_PLACES))
}

fn window(window: &Window) -> Value {
    let length = |m: f64| number(down(m, WINDOW_PLACES));
    json!({
        "earlier_m": length(window.earlier_m),
        "later_m": length(window.later_m),
        "left_m": length(window.left_m),
        "right_m": length(window.right_m),
        "lane_left_m": length(window.lane_room_m.0),
        "lane_right_m": length(window.lane_room_m.1),
        "late_steering_m": length(window.late_steering_m),
    })
}

fn landmark(landmark: &Landmark) -> Value {
    json!({
        "part": landmark.reference.word(),
        "thing": landmark.thing,
        "end": landmark.end.word(),
        "at": xy(landmark.at),
        "short_m": place(landmark.short_m),
        "aside_m": place(landmark.aside_m),
    })
}

fn steps(card: &Card) -> Value {
    let steps = card.steps.iter().map(|step| {
        json!({
            "direction": match step.direction { Direction::Forward => "forward", Direction::Reverse => "reverse" },
            "after_stop": step.after_stop,
            "share_of_lock": step.wheel_tenths.map_or(Value::Null, |tenths| {
                number(nearest(f64::from(tenths) / LOCK_PARTS, 1))
            }),
            "roll_m": place(step.roll_m),
            "station_m": place(step.station_m),
            "until": step.until.as_ref().map(landmark),
            "watch": step.watch.iter().map(|index| contact(&card.way.contacts[*index])).collect::<Value>(),
        })
    });
    steps.collect()
}
