//! Fixes for a gate that fails a vehicle: in words, for results.json, and the changed plans beside it.
use super::decimal::nearest;
use super::layout::pretty;
use super::model::{self, Goal, OpenLeaves};
use super::words::Line;
use crate::gate::arrangement_words;
use crate::geometry::Units;
use crate::geometry::length::{Round, show};
use crate::opening::{Fix, FixKind, NoFix, Study, Verdict, WhyNone, every_vehicle_passes};
use crate::site::changes::Change;
use crate::site::{Arrangement, Leaves};

/// Decimals of amounts: 0.1 mm and a ten-thousandth of a degree; amounts are whole steps.
const PLACES: u8 = 4;

/// `fixes` of results.json.
pub(super) fn model(study: &Study) -> Option<model::Fixes> {
    let fixes = study.fixes.as_ref()?;
    let none = fixes.none.iter().map(|none| model::NoFix {
        kind: none.kind.into(),
        goal: Goal::of(none.goal),
        why: why_not(none, study.site.units),
    });
    Some(model::Fixes {
        found: fixes.found.iter().map(|fix| found(study, fix)).collect(),
        none: none.collect(),
    })
}

fn found(study: &Study, fix: &Fix) -> model::Fix {
    let (mut amount_deg, mut leaves, mut amount_m) = (None, None, None);
    match fix.change {
        Change::Skew(by) => amount_deg = Some(nearest(by.to_degrees(), PLACES)),
        Change::Leaves(other) => leaves = Some(OpenLeaves::of(&other)),
        Change::Opening(by)
        | Change::Setback(by)
        | Change::ApronFlare(by)
        | Change::RoadWidth(by)
        | Change::PostDepth(by)
        | Change::Along(by) => amount_m = Some(nearest(by, PLACES)),
    }
    let verdicts = study.vehicles.iter().zip(&fix.verdicts);
    let vehicles = verdicts
        .map(|(v, gate)| model::FixVerdict { vehicle: v.name.clone(), drawn_gate: (*gate).into() })
        .collect();
    let (kind, goal) = (fix.kind.into(), Goal::of(fix.goal));
    model::Fix { kind, goal, amount_deg, leaves, amount_m, vehicles, file: fix_file(fix) }
}

/// The file of a fix's plan: "fix-wider.geojson"; "fix-wider-tight.geojson" for a fix that lets every vehicle in, but
/// not all of them in comfort.
#[must_use]
pub fn fix_file(fix: &Fix) -> String {
    let tight = if fix.goal == Verdict::Tight { "-tight" } else { "" };
    format!("fix-{}{tight}.geojson", fix.kind.word())
}

/// The text of a fix's plan.
#[must_use]
pub fn fix_plan(fix: &Fix) -> String {
    pretty(&fix.plan)
}

/// Advice on requesting fixes, for a study without them.
const FIX_ADVICE: &str = "Fixes have not been worked out. To get the smallest changes that let every vehicle in, run the same study \
                          again with --fix added to the command.";

/// Words on a sheet of a study without fixes.
pub(super) const NOT_LOOKED_FOR: &str = "Changes that would let every vehicle in have not been worked out.";

/// The fixes found, or that none was found, or how to request them; empty if every vehicle passes in comfort.
#[must_use]
pub fn fix_lines(study: &Study) -> Vec<Line> {
    if every_vehicle_passes(study) || study.vehicles.is_empty() {
        return Vec::new();
    }
    let Some(fixes) = &study.fixes else {
        return vec![Line::plain(FIX_ADVICE)];
    };
    let mut lines = fix_sentences(study);
    if !fixes.found.is_empty() {
        let files: Vec<String> = fixes.found.iter().map(fix_file).collect();
        let each = if files.len() == 1 { "It has" } else { "Each has" };
        lines.push(Line::plain(format!(
            "{each} been confirmed by a whole study of the changed plan: {}.",
            files.join(", ")
        )));
    }
    lines
}

/// The fixes found, or that none was found, without their files; empty if none was looked for.
pub(super) fn fix_sentences(study: &Study) -> Vec<Line> {
    let Some(fixes) = &study.fixes else { return Vec::new() };
    let units = study.site.units;
    let mut lines = Vec::new();
    for goal in [Verdict::Tight, Verdict::Comfortable] {
        let of: Vec<&Fix> = fixes.found.iter().filter(|fix| fix.goal == goal).collect();
        let none: Vec<&NoFix> = fixes.none.iter().filter(|none| none.goal == goal).collect();
        if of.is_empty() && none.is_empty() {
            continue;
        }
        let comfort = if goal == Verdict::Comfortable { ", in comfort" } else { "" };
        let mut text = if of.is_empty() {
            format!("No single change was found that lets every vehicle in{comfort}.")
        } else {
            let words: Vec<String> = of.iter().map(|fix| words(study, fix)).collect();
            format!("To let every vehicle in{comfort}: {}.", words.join("; or "))
        };
        if !none.is_empty() {
            let why: Vec<String> = none.iter().map(|none| why_not(none, units)).collect();
            text.push_str(&format!(" Not {}.", why.join("; not ")));
        }
        lines.push(Line::plain(text));
    }
    lines
}

/// `14" wider (13' 2")`.
fn words(study: &Study, fix: &Fix) -> String {
    let (gate, units) = (&study.site.gate, study.site.units);
    let length = |m: f64| show(m, units, Round::Nearest);
    match fix.change {
        Change::Opening(by) => {
            format!("a gate {} wider, {} face to face", length(by), length(gate.opening_m() + by))
        }
        Change::Setback(by) => {
            format!("the gate {} farther back, {} from the road", length(by), length(gate.setback_m + by))
        }
        Change::Skew(by) => {
            // Turned counterclockwise, the left post comes toward the road.
            let post = if by > 0.0 { "left" } else { "right" };
            format!("the gate turned {:.0}\u{b0}, its {post} post toward the road", by.to_degrees().abs())
        }
        Change::ApronFlare(by) => {
            format!("the apron {} wider on each side where it meets the road", length(by))
        }
        Change::Leaves(leaves) => leaf_words(&gate.leaves, &leaves),
        // Fixes never widen the road.
        Change::RoadWidth(by) => format!("the road {} wider", length(by)),
        Change::PostDepth(by) => format!("posts {} deeper", length(by)),
        Change::Along(by) => format!("the gate {} to the right", length(by)),
    }
}

fn leaf_words(old: &Leaves, new: &Leaves) -> String {
    if old.arrangement == new.arrangement && old.opens == new.opens {
        let leaves = if new.arrangement == Arrangement::Double { "the leaves" } else { "the leaf" };
        let degrees = |leaves: &Leaves| leaves.open_angle_rad.to_degrees().round();
        return format!("{leaves} opened to {}\u{b0} instead of {}\u{b0}", degrees(new), degrees(old));
    }
    match new.arrangement {
        Arrangement::None => "no leaf at all".to_owned(),
        arrangement => format!("a gate {}", arrangement_words(arrangement, new.opens)),
    }
}

/// The reason there is no fix of a kind: "by turning it up to 30 degrees".
fn why_not(none: &NoFix, units: Units) -> String {
    let what = match none.kind {
        FixKind::Wider => "by a wider gate",
        FixKind::FurtherBack => "by setting it back",
        FixKind::Turned => "by turning it",
        FixKind::Flared => "by flaring the apron",
        FixKind::OtherLeaf => "by other leaves",
    };
    match (&none.why, none.kind) {
        (WhyNone::NotWithin(_), FixKind::OtherLeaf) => what.to_owned(),
        (WhyNone::NotWithin(most), FixKind::Turned) => {
            format!("{what} up to {:.0}\u{b0}", most.to_degrees())
        }
        (WhyNone::NotWithin(most), _) => format!("{what} up to {}", show(*most, units, Round::Nearest)),
        (WhyNone::CannotBe(why), _) => format!("{what} ({why})"),
        (WhyNone::NotConfirmed, _) => format!("{what} (what seemed enough was not confirmed by a study)"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::length::INCH_M;
    use crate::opening::Fixes;
    use crate::report::sample;
    use serde_json::json;

    fn fix(study: &Study, kind: FixKind, goal: Verdict, change: Change) -> Fix {
        Fix { kind, goal, change, verdicts: vec![goal; study.vehicles.len()], plan: json!({ "type": "x" }) }
    }

    fn said(study: &Study) -> Vec<String> {
        fix_lines(study).into_iter().map(|line| line.text).collect()
    }

    #[test]
    fn what_would_mend_it_is_said_goal_by_goal() {
        let mut study = sample::study();
        study.site.units = Units::Feet;
        assert_eq!(said(&study), [FIX_ADVICE]);
        assert_eq!(model(&study), None);
        let opened = Leaves { open_angle_rad: 2.0, ..study.site.gate.leaves };
        let other = Leaves { arrangement: Arrangement::None, ..study.site.gate.leaves };
        let of = |kind, goal, change| fix(&study, kind, goal, change);
        let (tight, comfort) = (Verdict::Tight, Verdict::Comfortable);
        let found = vec![
            of(FixKind::Wider, tight, Change::Opening(14.0 * INCH_M)),
            of(FixKind::Wider, comfort, Change::Opening(38.0 * INCH_M)),
            of(FixKind::Turned, comfort, Change::Skew(-5f64.to_radians())),
            of(FixKind::OtherLeaf, comfort, Change::Leaves(opened)),
        ];
        let none = |kind, why| NoFix { kind, goal: comfort, why };
        study.fixes = Some(Fixes {
            found,
            none: vec![
                none(FixKind::FurtherBack, WhyNone::NotWithin(50.0 * 12.0 * INCH_M)),
                none(FixKind::Flared, WhyNone::CannotBe("the plan draws no drive".to_owned())),
            ],
        });
        let opening = study.site.gate.opening_m();
        let wide = |inches: f64| show(opening + inches * INCH_M, Units::Feet, Round::Nearest);
        assert_eq!(
            said(&study),
            [
                format!("To let every vehicle in: a gate 1' 2\" wider, {} face to face.", wide(14.0)),
                format!(
                    "To let every vehicle in, in comfort: a gate 3' 2\" wider, {} face to face; or the gate \
                     turned 5\u{b0}, its right post toward the road; or the leaves opened to 115\u{b0} instead of \
                     90\u{b0}. Not by setting it back up to 50'; not by flaring the apron (the plan draws no drive).",
                    wide(38.0)
                ),
                "Each has been confirmed by a whole study of the changed plan: fix-wider-tight.geojson, \
                 fix-wider.geojson, fix-turned.geojson, fix-other-leaf.geojson."
                    .to_owned(),
            ]
        );
        let value = serde_json::to_value(model(&study)).unwrap();
        assert_eq!(value["found"][0]["amount_m"].to_string(), "0.3556");
        assert_eq!(value["found"][0]["goal"], "tight");
        assert_eq!(value["found"][2]["amount_deg"].to_string(), "-5.0");
        assert_eq!(value["found"][3]["open_angle_deg"].to_string(), "114.592");
        assert_eq!(value["found"][3]["vehicles"][0]["drawn_gate"], "comfortable");
        assert_eq!(value["none"][1]["why"], "by flaring the apron (the plan draws no drive)");
        // Every plan is listed among the files of the run.
        let files = crate::report::value(&study)["files"].to_string();
        assert!(files.contains("fix-wider-tight.geojson") && files.contains("fix-turned.geojson"), "{files}");
        assert_eq!(leaf_words(&study.site.gate.leaves, &other), "no leaf at all");
    }

    #[test]
    fn nothing_is_said_of_a_gate_that_is_wide_enough() {
        let mut study = sample::study();
        study.cases.iter_mut().for_each(|case| case.drawn_gate = crate::opening::DrawnGate::Comfortable);
        assert_eq!(said(&study), Vec::<String>::new());
        study.fixes = Some(Fixes::default());
        assert_eq!(serde_json::to_value(model(&study)).unwrap(), json!({ "found": [], "none": [] }));
    }
}
