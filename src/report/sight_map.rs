//! Sight on leaving in `study.geojson`: the eye, the triangles that must be clear, and what is hidden of the road.
use super::decimal::{down, number, up};
use super::geojson::{LENGTH_PLACES, areas, feature, line_of};
use crate::geometry::{Outline, Point};
use crate::opening::Study;
use crate::sight::{Hider, first_of};
use crate::site::Frame;
use geojson::{Feature, JsonObject};
use serde_json::{Value, json};

/// Features on sight, in the order of the chosen rules.
pub(super) fn features(study: &Study) -> Vec<Feature> {
    let Some(plan) = &study.sight else { return Vec::new() };
    let frame = &study.site.frame;
    let mut all = Vec::new();
    for finding in &plan.roads {
        for look in finding.looks.iter().flatten() {
            let mut about = JsonObject::new();
            about.insert("rule".to_owned(), json!(finding.rule.name));
            about.insert("side".to_owned(), json!(look.side.word()));
            let vehicles: Vec<&str> = look.classes.iter().map(|class| class.words()).collect();
            about.insert("vehicles".to_owned(), json!(vehicles.join(", ")));
            let more = [
                ("outcome", json!(look.outcome.word())),
                ("required_m", number(up(look.required_m, LENGTH_PLACES))),
                ("visible_m", number(down(look.visible_m, LENGTH_PLACES))),
            ];
            triangle(frame, &look.triangle(), &about, &more, &mut all);
            hidden(frame, &look.line, &look.hiders, &about, &mut all);
        }
    }
    for finding in &plan.walks {
        for of_side in finding.triangles.iter().flatten() {
            let mut about = JsonObject::new();
            about.insert("rule".to_owned(), json!(finding.rule.name));
            about.insert("side".to_owned(), json!(of_side.side.word()));
            let more = [("outcome", json!(if of_side.hiders.is_empty() { "clear" } else { "hidden" }))];
            triangle(frame, &[vec![Outline(of_side.corners.to_vec())]], &about, &more, &mut all);
            hidden(frame, &of_side.corners[1..], &of_side.hiders, &about, &mut all);
        }
    }
    all
}

fn triangle(
    frame: &Frame,
    polygons: &[Vec<Outline>],
    about: &JsonObject,
    more: &[(&str, Value)],
    all: &mut Vec<Feature>,
) {
    let area = areas(frame, polygons);
    all.extend(area.map(|geometry| feature("", "sight triangle", geometry, about, more)));
}

fn hidden(frame: &Frame, line: &[Point], hiders: &[Hider], about: &JsonObject, all: &mut Vec<Feature>) {
    for hider in hiders {
        for (from, to) in &hider.hides_m {
            let (before, whole) = (first_of(line, *from), first_of(line, *to));
            let kept = before.len().saturating_sub(1).min(whole.len());
            let stretch: Vec<Point> =
                before.last().copied().into_iter().chain(whole[kept..].iter().copied()).collect();
            let more = [
                ("what", json!(hider.what)),
                ("from_m", number(down(*from, LENGTH_PLACES))),
                ("to_m", number(up(*to, LENGTH_PLACES))),
            ];
            all.extend(line_of(frame, &stretch).map(|g| feature("", "hidden stretch", g, about, &more)));
        }
    }
}
