//! Sight on leaving in words and in results.json: what is seen of the road, what hides it, what would clear it.
use super::decimal::{down, nearest, up};
use super::model::{self, Position, TriangleOutcome};
use super::results::xy;
use super::words::Line;
use crate::drawing::{
    SIGHT_AUTHORITY, sight_road_answer, sight_road_words, sight_walk_answer, sight_walk_words,
};
use crate::geometry::Point;
use crate::opening::{DrawnGate, Study};
use crate::sight::{Hider, Look, RoadFinding, SightPlan, Sourced, WalkFinding, WalkTriangle};

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

/// Sight rules that are not met, a line each, for the top of a page.
pub(super) fn sight_warning(study: &Study) -> Vec<String> {
    let Some(plan) = &study.sight else { return Vec::new() };
    let units = study.site.units;
    let roads = plan.roads.iter().map(|finding| (finding.rule.name, sight_road_answer(finding, units)));
    let walks = plan.walks.iter().map(|finding| (finding.rule.name, sight_walk_answer(finding)));
    let lacking = roads.chain(walks).filter(|(_, (verdict, _))| *verdict == DrawnGate::No);
    lacking.map(|(name, (_, answer))| format!("{answer} (rule \"{name}\").")).collect()
}

/// The file that the drawing of a rule on sight is written to.
#[must_use]
pub fn sight_file(rule: &str) -> String {
    format!("sight-{}.svg", super::safe_name(rule))
}

/// Member of results.json on sight; `None` if the study was run without it.
pub(super) fn model(study: &Study) -> Option<model::Sight> {
    let SightPlan { speed, roads, walks } = study.sight.as_ref()?;
    let speed = speed.map(|speed| model::Speed {
        value: speed.value,
        unit: speed.unit.into(),
        kind: speed.kind.into(),
    });
    Some(model::Sight {
        speed,
        roads: roads.iter().map(road).collect(),
        pedestrians: walks.iter().map(walk).collect(),
        note: SIGHT_AUTHORITY,
    })
}

fn length(m: f64) -> f64 {
    nearest(m, PLACES)
}

fn sourced(figure: &Sourced) -> model::Sourced {
    model::Sourced { value_m: length(figure.value), source: figure.source }
}

fn road(finding: &RoadFinding) -> model::Road {
    let rule = &finding.rule;
    model::Road {
        rule: rule.name,
        citation: rule.citation,
        asks: rule.asks,
        distance_source: rule.distance_source,
        eye_back: rule.eye_back_m.as_ref().map(sourced),
        eye_low: sourced(&rule.heights.eye_low),
        eye_high: sourced(&rule.heights.eye_high),
        object_low: sourced(&rule.heights.object_low),
        object_high: sourced(&rule.heights.object_high),
        slender: rule.slender_m.as_ref().map(sourced),
        eye: finding.eye.map(xy),
        edge: finding.mouth.map(|mouth| xy(mouth.edge)),
        looks: finding.looks.as_ref().ok().map(|looks| looks.iter().map(look).collect()),
        reason: finding.looks.as_ref().err().cloned(),
    }
}

fn look(look: &Look) -> model::Look {
    model::Look {
        side: look.side.into(),
        vehicles: look.classes.iter().map(|class| (*class).into()).collect(),
        outcome: look.outcome.into(),
        required_m: up(look.required_m, PLACES),
        visible_m: down(look.visible_m, PLACES),
        stopping_m: look.stopping_m.map(|m| up(m, PLACES)),
        approach_m: look.approach_m.map(|m| down(m, PLACES)),
        drawn_m: length(look.drawn_m),
        road_continues: look.continues,
        line: places(&look.line),
        hidden_by: look.hiders.iter().map(hider).collect(),
        clear_with_all_moved: look.clear_moved,
    }
}

fn places(line: &[Point]) -> Vec<Position> {
    line.iter().map(|p| xy(*p)).collect()
}

fn hider(hider: &Hider) -> model::Hider {
    let stretch = |(from, to): &(f64, f64)| [down(*from, PLACES), up(*to, PLACES)];
    model::Hider {
        what: hider.what.clone(),
        height_known: hider.height_known,
        hides_m: hider.hides_m.iter().map(stretch).collect(),
        clear_if_moved_back_m: hider.fix.back_m.map(|m| up(m, PLACES)),
        clear_if_no_higher_than_m: hider.fix.top_m.map(|m| down(m, PLACES)),
    }
}

fn walk(finding: &WalkFinding) -> model::Pedestrians {
    let rule = &finding.rule;
    model::Pedestrians {
        rule: rule.name,
        citation: rule.citation,
        asks: rule.asks,
        triangles: finding.triangles.as_ref().ok().map(|all| all.iter().map(triangle).collect()),
        reason: finding.triangles.as_ref().err().cloned(),
    }
}

fn triangle(triangle: &WalkTriangle) -> model::Triangle {
    let clear = triangle.hiders.is_empty();
    model::Triangle {
        side: triangle.side.into(),
        corners: triangle.corners.map(xy),
        outcome: if clear { TriangleOutcome::Clear } else { TriangleOutcome::Hidden },
        hidden_by: triangle.hiders.iter().map(hider).collect(),
    }
}
