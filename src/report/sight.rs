//! Sight on leaving in words and in results.json: what is seen of the road, what hides it, what would clear it.
use super::decimal::{down, nearest, number, up};
use super::results::xy;
use super::words::Line;
use crate::drawing::{SIGHT_AUTHORITY, sight_road_words, sight_walk_words};
use crate::geometry::Point;
use crate::opening::Study;
use crate::sight::{Hider, Look, RoadFinding, SightPlan, Sourced, WalkFinding, WalkTriangle};
use serde_json::{Map, Value, json};

/// Decimal places of lengths in results.json.
const PLACES: u8 = 4;

/// Section on sight; empty if the study was run without it.
pub(super) fn sight_lines(study: &Study) -> Vec<Line> {
    let sentences = sight_sentences(study);
    if sentences.is_empty() {
        return Vec::new();
    }
    std::iter::once("Sight on leaving".to_owned()).chain(sentences).map(Line::plain).collect()
}

/// Sentences on sight, one or a few to each line.
pub(super) fn sight_sentences(study: &Study) -> Vec<String> {
    let Some(plan) = &study.sight else { return Vec::new() };
    let units = study.site.units;
    let mut lines = Vec::new();
    if let Some(speed) = &plan.speed {
        lines.push(format!("The plan gives the road {speed}."));
    }
    for finding in &plan.roads {
        lines.extend(sight_road_words(finding, units));
    }
    for finding in &plan.walks {
        lines.extend(sight_walk_words(finding, units));
    }
    lines.push(SIGHT_AUTHORITY.to_owned());
    lines
}

/// The file that the drawing of a rule on sight is written to.
#[must_use]
pub fn sight_file(rule: &str) -> String {
    format!("sight-{}.svg", super::safe_name(rule))
}

/// Member of results.json on sight; `None` if the study was run without it.
pub(super) fn value(study: &Study) -> Option<Value> {
    let SightPlan { speed, roads, walks } = study.sight.as_ref()?;
    let speed = speed.map_or(Value::Null, |speed| {
        json!({
            "value": speed.value,
            "unit": match speed.unit { crate::site::SpeedUnit::Mph => "mph", crate::site::SpeedUnit::Kmh => "km/h" },
            "kind": speed.kind.word(),
        })
    });
    Some(json!({
        "speed": speed,
        "roads": roads.iter().map(road).collect::<Value>(),
        "pedestrians": walks.iter().map(walk).collect::<Value>(),
        "note": SIGHT_AUTHORITY,
    }))
}

fn length(m: f64) -> Value {
    number(nearest(m, PLACES))
}

fn sourced(figure: &Sourced) -> Value {
    json!({ "value_m": length(figure.value), "source": figure.source })
}

fn road(finding: &RoadFinding) -> Value {
    let rule = &finding.rule;
    let mut fields = Map::new();
    let mut put = |key: &str, value: Value| {
        fields.insert(key.to_owned(), value);
    };
    put("rule", json!(rule.name));
    put("citation", json!(rule.citation));
    put("asks", json!(rule.asks));
    put("distance_source", json!(rule.distance_source));
    put("eye_back", rule.eye_back_m.as_ref().map_or(Value::Null, sourced));
    put("eye_low", sourced(&rule.heights.eye_low));
    put("eye_high", sourced(&rule.heights.eye_high));
    put("object_low", sourced(&rule.heights.object_low));
    put("object_high", sourced(&rule.heights.object_high));
    put("slender", rule.slender_m.as_ref().map_or(Value::Null, sourced));
    put("eye", finding.eye.map_or(Value::Null, xy));
    put("edge", finding.mouth.map_or(Value::Null, |mouth| xy(mouth.edge)));
    match &finding.looks {
        Ok(looks) => put("looks", looks.iter().map(look).collect()),
        Err(why) => put("reason", json!(why)),
    }
    Value::Object(fields)
}

fn look(look: &Look) -> Value {
    json!({
        "side": look.side.word(),
        "vehicles": look.classes.iter().map(|class| class.words()).collect::<Vec<_>>(),
        "outcome": look.outcome.word(),
        "required_m": number(up(look.required_m, PLACES)),
        "visible_m": number(down(look.visible_m, PLACES)),
        "stopping_m": look.stopping_m.map_or(Value::Null, |m| number(up(m, PLACES))),
        "approach_m": look.approach_m.map_or(Value::Null, |m| number(down(m, PLACES))),
        "drawn_m": length(look.drawn_m),
        "road_continues": look.continues,
        "line": places(&look.line),
        "hidden_by": look.hiders.iter().map(hider).collect::<Value>(),
        "clear_with_all_moved": look.clear_moved,
    })
}

fn places(line: &[Point]) -> Value {
    line.iter().map(|p| xy(*p)).collect()
}

fn hider(hider: &Hider) -> Value {
    let stretch = |(from, to): &(f64, f64)| json!([number(down(*from, PLACES)), number(up(*to, PLACES))]);
    json!({
        "what": hider.what,
        "height_known": hider.height_known,
        "hides_m": hider.hides_m.iter().map(stretch).collect::<Value>(),
        "clear_if_moved_back_m": hider.fix.back_m.map_or(Value::Null, |m| number(up(m, PLACES))),
        "clear_if_no_higher_than_m": hider.fix.top_m.map_or(Value::Null, |m| number(down(m, PLACES))),
    })
}

fn walk(finding: &WalkFinding) -> Value {
    let rule = &finding.rule;
    let mut value = json!({ "rule": rule.name, "citation": rule.citation, "asks": rule.asks });
    match &finding.triangles {
        Ok(triangles) => value["triangles"] = triangles.iter().map(triangle).collect(),
        Err(why) => value["reason"] = json!(why),
    }
    value
}

fn triangle(triangle: &WalkTriangle) -> Value {
    json!({
        "side": triangle.side.word(),
        "corners": places(&triangle.corners),
        "outcome": if triangle.hiders.is_empty() { "clear" } else { "hidden" },
        "hidden_by": triangle.hiders.iter().map(hider).collect::<Value>(),
    })
}
