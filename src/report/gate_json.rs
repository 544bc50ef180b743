//! The `gate` member of results.json: the gate as drawn and, if the study includes it, its leaves, room to wait, the
//! schedule and the rules.
use super::decimal::{down, nearest, number, up};
use crate::gate::{
    Assembly, LeafSwing, MAKERS_DIFFER, Measure, RuleFinding, RuleOutcome, RunBack, Stop, StopKind, Waiting,
};
use crate::geometry::Point;
use crate::opening::{ArrangementNeeds, GatePlan, ScheduleRow, Study};
use crate::site::{Arrangement, Leaves, Swing};
use serde_json::{Map, Value, json};

/// Decimals of lengths: 0.1 mm.
const LENGTH_PLACES: u8 = 4;
/// Decimals of positions: a micrometer.
const PLACE_PLACES: u8 = 6;
/// Decimals of degrees and kilograms.
const FINE_PLACES: u8 = 3;

fn need(m: f64) -> Value {
    number(up(m, LENGTH_PLACES))
}

fn room(m: f64) -> Value {
    number(down(m, LENGTH_PLACES))
}

fn plain(m: f64) -> Value {
    number(nearest(m, LENGTH_PLACES))
}

fn fine(x: f64) -> Value {
    number(nearest(x, FINE_PLACES))
}

fn place(p: Point) -> (Value, Value) {
    (number(nearest(p.x, PLACE_PLACES)), number(nearest(p.y, PLACE_PLACES)))
}

fn degrees(rad: f64) -> Value {
    fine(rad.to_degrees())
}

const fn swing(swing: Swing) -> &'static str {
    match swing {
        Swing::In => "in",
        Swing::Out => "out",
    }
}

/// Adds the study's findings about the gate itself.
pub(super) fn add(fields: &mut Map<String, Value>, study: &Study) {
    leaves(fields, &study.site.gate.leaves);
    let Some(plan) = &study.gate else { return };
    let mut put = |key: &str, value: Value| {
        fields.insert(key.to_owned(), value);
    };
    put("leaf_width_m", plain(plan.leaf_width_m));
    put("made_leaf_width_m", plain(plan.made_leaf_m));
    put("outside_m", plain(plan.outside_m));
    put("column_face_m", plain(plan.column_face_m));
    put("swing_depth_m", need(plan.swing_depth_m));
    put("leaf_swings", plan.swings.iter().map(leaf).collect());
    put("run_back", plan.run_back.as_ref().map_or(Value::Null, run_back));
    put("waiting", plan.waiting.iter().enumerate().map(|(i, w)| waiting(study, i, w)).collect());
    put("arrangements", plan.arrangements.iter().map(|of| arrangement(study, plan, of)).collect());
    put("schedule", plan.schedule.iter().map(|row| schedule(study, row)).collect());
    put("rules", plan.rules.iter().map(rule).collect());
    put("allowances", plan.allowances.figures.iter().map(figure).collect());
    put("caution", json!(MAKERS_DIFFER));
}

/// Adds the number of leaves, their motion, and the angle at which they stand open.
pub(super) fn leaves(fields: &mut Map<String, Value>, leaves: &Leaves) {
    kind(fields, leaves.arrangement, leaves.opens);
    fields.insert("open_angle_deg".to_owned(), degrees(leaves.open_angle_rad));
}

fn kind(fields: &mut Map<String, Value>, arrangement: Arrangement, opens: Swing) {
    let (word, hinge) = match arrangement {
        Arrangement::Single(s) => ("single", Some(s.word())),
        Arrangement::Double => ("double", None),
        Arrangement::Slide(s) => ("slide", Some(s.word())),
        Arrangement::None => ("none", None),
    };
    fields.insert("leaves".to_owned(), json!(word));
    fields.insert("hinge".to_owned(), json!(hinge));
    let swings = matches!(arrangement, Arrangement::Single(_) | Arrangement::Double);
    fields.insert("opens".to_owned(), json!(swings.then(|| swing(opens))));
}

fn stop(stop: Option<&Stop>) -> Value {
    stop.map_or(Value::Null, |stop| {
        let (x, y) = place(stop.at);
        let kind = match stop.kind {
            StopKind::Standing => "standing",
            StopKind::Road => "road",
            StopKind::Sidewalk => "sidewalk",
        };
        json!({ "what": stop.what, "kind": kind, "x_m": x, "y_m": y })
    })
}

fn leaf(swing: &LeafSwing) -> Value {
    let (x, y) = place(swing.pin);
    json!({
        "side": swing.side.word(),
        "pin": { "x_m": x, "y_m": y },
        "width_m": plain(swing.length_m),
        "open_angle_deg": degrees(swing.wanted_rad),
        "reaches_deg": number(down(swing.reach_rad.to_degrees(), FINE_PLACES)),
        "stopped_by": stop(swing.stop.as_ref()),
    })
}

fn run_back(back: &RunBack) -> Value {
    json!({
        "side": back.side.word(),
        "needed_m": need(back.needed_m),
        "free_m": back.free_m.map_or(Value::Null, room),
        "stopped_by": stop(back.stop.as_ref()),
    })
}

fn waiting(study: &Study, index: usize, wait: &Waiting) -> Value {
    json!({
        "vehicle": study.vehicles.get(index).map(|v| &v.name),
        "length_m": need(wait.length_m),
        "outside": {
            "back_m": need(wait.outside_back_m),
            "room_m": room(wait.outside_room_m),
            "missing_m": need(wait.outside_missing_m),
        },
        "inside": {
            "back_m": need(wait.inside_back_m),
            "room_m": wait.inside_room_m.map_or(Value::Null, room),
            "against": wait.inside_against,
            "missing_m": need(wait.inside_missing_m),
        },
    })
}

fn arrangement(study: &Study, plan: &GatePlan, of: &ArrangementNeeds) -> Value {
    let mut fields = Map::new();
    kind(&mut fields, of.arrangement, of.opens);
    fields.insert("as_drawn".to_owned(), json!(of.drawn));
    let opening = |m: Option<f64>| m.map_or(Value::Null, need);
    let needs = of.needs.iter().zip(&of.backing_in).enumerate().map(|(i, (needs, back))| {
        json!({
            "vehicle": study.vehicles.get(i).map(|v| &v.name),
            "bare_opening_m": opening(needs.bare_m),
            "comfortable_opening_m": opening(needs.comfortable_m),
            "backing_in": back.map(|back| json!({
                "bare_opening_m": opening(back.bare_m),
                "comfortable_opening_m": opening(back.comfortable_m),
            })),
        })
    });
    fields.insert("needs".to_owned(), needs.collect());
    let order = |row: Option<&ScheduleRow>| row.map_or(Value::Null, |row| plain(row.assembly.stock_m));
    fields.insert("order_m".to_owned(), order(plan.smallest(of)));
    fields.insert("order_if_backing_in_m".to_owned(), order(plan.smallest_backing_in(of)));
    Value::Object(fields)
}

fn schedule(study: &Study, row: &ScheduleRow) -> Value {
    let mut fields = assembly(&row.assembly);
    let passes = row.passes.iter().enumerate().map(|(i, gate)| {
        (study.vehicles.get(i).map_or_else(String::new, |v| v.name.clone()), json!(gate.word()))
    });
    fields.insert("passes".to_owned(), Value::Object(passes.collect()));
    let stopped = row.swings.iter().filter(|s| s.stop.is_some());
    fields.insert("stopped_leaves".to_owned(), stopped.map(leaf).collect());
    fields.insert("run_back".to_owned(), row.run_back.as_ref().map_or(Value::Null, run_back));
    fields.insert("waiting_missing_m".to_owned(), need(row.waiting_missing_m));
    fields.insert("fits_drawn_opening".to_owned(), json!(row.fits_drawn));
    fields.insert("suits".to_owned(), json!(row.suits()));
    Value::Object(fields)
}

fn assembly(a: &Assembly) -> Map<String, Value> {
    let mut fields = Map::new();
    kind(&mut fields, a.arrangement, a.opens);
    let mut put = |key: &str, value: Value| {
        fields.insert(key.to_owned(), value);
    };
    put("stock_m", plain(a.stock_m));
    put("leaf_width_m", plain(a.leaf_width_m));
    put("opening_m", plain(a.opening_m));
    put("clear_m", room(a.clear_m));
    put("counted_m", room(a.counted_m));
    put("outside_m", plain(a.outside_m));
    put("column_face_m", plain(a.column_face_m));
    put("swing_depth_m", need(a.swing_depth_m));
    put("run_back_m", need(a.run_back_m));
    put("openers", json!(a.openers));
    put("conduit_m", a.conduit_m.map_or(Value::Null, need));
    put("usual_leaf", json!(a.usual));
    let weights = a.weights.iter().map(|w| {
        json!({
            "material": w.material,
            "leaf_weight_kg": fine(w.weight_kg),
            "top_hinge_pull_kg": w.hinge_pull_kg.map_or(Value::Null, fine),
        })
    });
    put("weights", weights.collect());
    fields
}

fn rule(finding: &RuleFinding) -> Value {
    let (word, about) = match &finding.outcome {
        RuleOutcome::Kept => ("kept", Value::Null),
        RuleOutcome::Unknown(missing) => ("unknown", json!({ "what": missing })),
        RuleOutcome::Broken(d) => (
            "differs",
            json!({
                "what": d.what,
                "is_m": d.is_m.map_or(Value::Null, plain),
                "least_m": d.least_m.map_or(Value::Null, plain),
                "most_m": d.most_m.map_or(Value::Null, plain),
            }),
        ),
    };
    json!({
        "rule": finding.rule.name,
        "citation": finding.rule.citation,
        "asks": finding.rule.asks,
        "outcome": word,
        "difference": about,
    })
}

fn figure(figure: &crate::gate::Figure) -> Value {
    let (unit, value) = match figure.measure {
        Measure::Length(m) => ("value_m", m),
        Measure::Share(share) => ("share", share),
        Measure::WeightPerWidth(kg) => ("kg_per_m", kg),
    };
    let mut fields = Map::new();
    fields.insert("name".to_owned(), json!(figure.name));
    fields.insert(unit.to_owned(), number(nearest(value, PLACE_PLACES)));
    fields.insert("source".to_owned(), json!(figure.source));
    Value::Object(fields)
}
