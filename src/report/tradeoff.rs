//! tradeoff.json: the opening against setback and skew, for other programs.
use super::decimal::{nearest, number, up};
use super::layout;
use crate::drawing::tradeoff::advice;
use crate::opening::{Axis, Study, Tradeoff};
use serde_json::{Value, json};

/// The name of the file.
pub const TRADEOFF_FILE: &str = "tradeoff.json";

/// The file a trade-off is drawn into.
#[must_use]
pub fn tradeoff_file(tradeoff: &Tradeoff) -> String {
    format!("tradeoff-{}.svg", name(tradeoff.axis))
}

const fn name(axis: Axis) -> &'static str {
    match axis {
        Axis::Setback => "setback",
        Axis::Skew => "skew",
    }
}

/// The trade-offs of a study: `setback` and `skew`, each with `drawn`, the sampled values `at`, and for each vehicle
/// the openings there, null where no way in was found, rounded up to 0.1 mm, and the direction of travel that takes most. `setback.at` is in meters (`at_unit`
/// "m"), `skew.at` in degrees, positive where the gate line is turned counterclockwise from the road ("deg"). `advice`
/// is the sentence on the drawing.
#[must_use]
pub fn tradeoff_json(study: &Study) -> String {
    let mut value = json!({
        "format": "wideenough-tradeoff",
        "version": 1,
        "plan": {
            "title": study.site.title,
            "opening_m": number(nearest(study.site.gate.opening_m(), 6)),
        },
        "clearance_m": number(nearest(study.clearance_m, 6)),
    });
    for tradeoff in &study.tradeoffs {
        value[name(tradeoff.axis)] = one(study, tradeoff);
    }
    layout::pretty(&value)
}

fn one(study: &Study, tradeoff: &Tradeoff) -> Value {
    let (unit, at): (&str, fn(f64) -> f64) = match tradeoff.axis {
        Axis::Setback => ("m", |m| m),
        Axis::Skew => ("deg", f64::to_degrees),
    };
    let needs = |list: &[Option<f64>]| -> Value {
        list.iter().map(|m| m.map_or(Value::Null, |m| number(up(m, 4)))).collect()
    };
    let travel = |case: Option<usize>| case.and_then(|i| study.cases.get(i)).map(|case| case.travel.as_str());
    let vehicles = tradeoff.series.iter().map(|s| {
        json!({
            "vehicle": study.vehicles.get(s.vehicle).map(|v| &v.name),
            "bare_opening_m": needs(&s.bare_m),
            "comfortable_opening_m": needs(&s.comfortable_m),
            "hardest_travel": s.governed_by.iter().map(|case| travel(*case)).collect::<Value>(),
        })
    });
    json!({
        "at_unit": unit,
        "drawn": number(nearest(at(tradeoff.drawn), 6)),
        "at": tradeoff.at.iter().map(|v| number(nearest(at(*v), 6))).collect::<Value>(),
        "vehicles": vehicles.collect::<Value>(),
        "advice": advice(study, tradeoff),
    })
}
