//! Sight on leaving in words: what is seen of the road, what hides it, what would clear it.
use crate::geometry::Units;
use crate::geometry::length::{Round, show};
use crate::opening::DrawnGate;
use crate::sight::{Class, Hider, Look, LookOutcome, RoadFinding, WalkFinding, merged};

/// Assumptions and caution, printed below the words on sight.
pub const SIGHT_AUTHORITY: &str = "Taken for this: level land, a straight drive square to the gate, leaves and fences that \
     cannot be seen through. The driver's left and right are those of one who leaves; left and right posts and leaves are named as \
     seen coming in. Which rule applies here, and whether it is kept, is for the road authority to decide: ask before you build.";

/// Finding of a rule on sight of the road in words, a few sentences to a line.
#[must_use]
pub fn sight_road_words(finding: &RoadFinding, units: Units) -> Vec<String> {
    let rule = &finding.rule;
    let mut lines: Vec<String> = to_do(finding, units).into_iter().collect();
    lines.push(format!("By \"{}\" ({}): {}.", rule.name, rule.citation, rule.asks));
    match &finding.looks {
        Ok(looks) => {
            for (i, look) in looks.iter().enumerate() {
                lines.push(look_words(look, units));
                // Alike for every kind of vehicle that leaves.
                if looks[..i].iter().all(|other| other.side != look.side) {
                    lines.extend(approach_words(look, units));
                }
                for words in look.hiders.iter().map(|hider| hider_words(hider, units)) {
                    // What hides as much for every kind of vehicle is said once.
                    if !lines.contains(&words) {
                        lines.push(words);
                    }
                }
                lines.extend(together(look));
            }
        }
        Err(why) => lines.push(format!("Not checked: {why}.")),
    }
    if !rule.note.is_empty() {
        lines.push(rule.note.to_owned());
    }
    lines
}

/// All that clears the view, in a sentence: for each thing that hides, the fix of the look that requires most. `None` if
/// nothing hides the road.
fn to_do(finding: &RoadFinding, units: Units) -> Option<String> {
    let mut most: Vec<&Hider> = Vec::new();
    for hider in finding.looks.iter().flatten().flat_map(|look| &look.hiders) {
        // What cannot be moved back far enough asks for more than any distance.
        let back = |hider: &Hider| hider.fix.back_m.unwrap_or(f64::INFINITY);
        match most.iter_mut().find(|other| other.what == hider.what) {
            Some(other) if back(other) < back(hider) => *other = hider,
            Some(_) => {}
            None => most.push(hider),
        }
    }
    let words = most.into_iter().map(|hider| {
        let fix = fixes(hider, units).unwrap_or_else(|| "moving it back is not enough".to_owned());
        format!("\"{}\" {fix}", hider.what)
    });
    let words: Vec<String> = words.collect();
    (!words.is_empty()).then(|| format!("To clear the view for every vehicle: {}.", words.join("; ")))
}

/// Least length seen beyond a hidden stretch for that to be told apart from a road hidden to the end: a car's length, our choice.
const SEEN_AGAIN_M: f64 = 5.0;

/// Look to each side that requires most.
pub(super) fn largest<'a>(looks: impl Iterator<Item = &'a Look>) -> Vec<&'a Look> {
    let mut kept: Vec<&Look> = Vec::new();
    for look in looks {
        match kept.iter_mut().find(|other| other.side == look.side) {
            Some(other) if other.required_m < look.required_m => *other = look,
            Some(_) => {}
            None => kept.push(look),
        }
    }
    kept
}

/// The answer of a rule on sight of the road in a line, and its verdict: no where something hides the road, tight where the
/// plan does not show enough of it.
#[must_use]
pub fn sight_road_answer(finding: &RoadFinding, units: Units) -> (DrawnGate, String) {
    let looks = finding.looks.as_deref().unwrap_or_default();
    let hidden = largest(looks.iter().filter(|look| look.outcome == LookOutcome::Hidden));
    if !hidden.is_empty() {
        let seen = hidden.iter().map(|look| {
            // Beyond a narrow thing the road is seen again.
            let stretches = merged(look.hiders.iter().flat_map(|hider| hider.hides_m.clone()).collect());
            if let [(from, to)] = stretches[..]
                && to < look.required_m - SEEN_AGAIN_M
            {
                return format!(
                    "to the driver's {}, of {} needed the stretch from {} to {} is hidden",
                    look.side.word(),
                    show(look.required_m, units, Round::Up),
                    show(from, units, Round::Down),
                    show(to, units, Round::Up)
                );
            }
            format!(
                "to the driver's {}, only {} of {} is seen",
                look.side.word(),
                show(look.visible_m, units, Round::Down),
                show(look.required_m, units, Round::Up)
            )
        });
        let seen: Vec<String> = seen.collect();
        return (DrawnGate::No, format!("Not enough of the road is seen on leaving: {}", seen.join("; ")));
    }
    if looks.is_empty() || looks.iter().any(|look| look.outcome == LookOutcome::NotDrawn) {
        return (
            DrawnGate::Tight,
            "Not enough of the road is drawn to tell what is seen on leaving".to_owned(),
        );
    }
    (DrawnGate::Comfortable, "Enough of the road is seen on leaving".to_owned())
}

/// The answer of a rule on pedestrians in a line, and its verdict.
#[must_use]
pub fn sight_walk_answer(finding: &WalkFinding) -> (DrawnGate, String) {
    let triangles = finding.triangles.as_deref().unwrap_or_default();
    let mut things: Vec<String> = Vec::new();
    for hider in triangles.iter().flat_map(|triangle| &triangle.hiders) {
        let thing = format!("\"{}\"", hider.what);
        if !things.contains(&thing) {
            things.push(thing);
        }
    }
    match (triangles.is_empty(), things.is_empty()) {
        (true, _) => (DrawnGate::Tight, "Not checked".to_owned()),
        (false, true) => (DrawnGate::Comfortable, "The triangles for people on foot are clear".to_owned()),
        (false, false) => {
            (DrawnGate::No, format!("In the triangles for people on foot: {}", things.join(", ")))
        }
    }
}

/// Words on the stopping sight distance of the road at the drive: how far off drivers on the road see an object there.
fn approach_words(look: &Look, units: Units) -> Option<String> {
    let (seen, needed) = look.approach_m.zip(look.stopping_m)?;
    let side = look.side.word();
    let (length, from) = (show(needed, units, Round::Up), show(seen, units, Round::Down));
    // The object lies on the road, nearer to those who come than the eye beside it: they may see it from farther off.
    let object =
        format!("Traffic from the driver's {side} sees an object 2 ft high on the road at the drive");
    Some(if seen >= needed {
        format!("{object} from the stopping sight distance, {length}, and farther.")
    } else if seen < look.drawn_m {
        format!("{object} from {from} only: the stopping sight distance is {length}.")
    } else if look.continues {
        format!("{object} from all of the {from} drawn; the stopping sight distance is {length}.")
    } else {
        format!("{object} from the end of the road, {from} away.")
    })
}

/// Words on whether the amounts hold together, where there are several.
fn together(look: &Look) -> Option<String> {
    match look.clear_moved {
        Some(true) if look.hiders.len() > 1 => Some(
            "With each of them that far back, all of it is visible: confirmed by a second check.".to_owned(),
        ),
        _ => None,
    }
}

fn classes(classes: &[Class]) -> String {
    let words: Vec<&str> = classes.iter().map(|class| class.words()).collect();
    if words.is_empty() { String::new() } else { format!(", {}", words.join(" and ")) }
}

fn look_words(look: &Look, units: Units) -> String {
    let needs = show(look.required_m, units, Round::Up);
    let seen = show(look.visible_m.min(look.required_m), units, Round::Down);
    let who = format!("To the driver's {}{}", look.side.word(), classes(&look.classes));
    match look.outcome {
        LookOutcome::Enough => format!("{who}: {needs} must be visible, and all of it is."),
        LookOutcome::ToTheEnd => {
            let drawn = show(look.drawn_m, units, Round::Nearest);
            format!(
                "{who}: {needs} must be visible; the road ends after {drawn}, and all of that is visible."
            )
        }
        LookOutcome::NotDrawn => {
            let drawn = show(look.drawn_m, units, Round::Down);
            format!(
                "{who}: {needs} must be visible; all of the {drawn} of road drawn is. Beyond that nothing is known: draw \
                 more of the road, and what stands beside it."
            )
        }
        LookOutcome::Hidden => {
            let stopping = look.stopping_m.map_or_else(String::new, |m| {
                let than = if look.visible_m >= m { "at least" } else { "less than" };
                let length = show(m, units, Round::Up);
                format!(" The road's stopping sight distance is {length}: what is visible is {than} that.")
            });
            format!("{who}: {needs} must be visible; {seen} is.{stopping}")
        }
    }
}

fn hider_words(hider: &Hider, units: Units) -> String {
    let stretches: Vec<String> = hider
        .hides_m
        .iter()
        .map(|(from, to)| format!("{} to {}", show(*from, units, Round::Down), show(*to, units, Round::Up)))
        .collect();
    format!("\"{}\" hides {}. {}", hider.what, stretches.join(" and "), fix_words(hider, units))
}

/// Changes that clear the view past one thing, in a few words; `None` without any.
fn fixes(hider: &Hider, units: Units) -> Option<String> {
    let back = hider.fix.back_m.map(|m| format!("{} farther back from the road", show(m, units, Round::Up)));
    let low = hider.fix.top_m.filter(|m| *m > 0.0);
    // A pole or a tree cannot be.
    let low = low.map(|m| format!("if it can be lowered, no higher than {}", show(m, units, Round::Down)));
    let ways: Vec<String> = back.into_iter().chain(low).collect();
    (!ways.is_empty()).then(|| ways.join(", or "))
}

/// Fixes for one thing that blocks sight, in words.
fn fix_words(hider: &Hider, units: Units) -> String {
    let mut text = fixes(hider, units).map_or_else(
        || "Moving it back by up to 30 ft does not clear the view.".to_owned(),
        |ways| format!("To clear the view: {ways}."),
    );
    if !hider.height_known {
        text.push_str(" The plan gives no height for it, so it is assumed to hide everything.");
    }
    text
}

/// Finding of a rule on pedestrians in words, a few sentences to a line.
#[must_use]
pub fn sight_walk_words(finding: &WalkFinding, units: Units) -> Vec<String> {
    let rule = &finding.rule;
    let mut lines = vec![format!("By \"{}\" ({}): {}.", rule.name, rule.citation, rule.asks)];
    match &finding.triangles {
        Err(why) => lines.push(format!("Not checked: {why}.")),
        Ok(triangles) => {
            for triangle in triangles {
                if triangle.hiders.is_empty() {
                    lines.push(format!("The triangle on the {} is clear.", triangle.side.word()));
                }
                lines.extend(triangle.hiders.iter().map(|hider| {
                    let what = &hider.what;
                    format!(
                        "\"{what}\" stands in the triangle on the {}. {}",
                        triangle.side.word(),
                        fix_words(hider, units)
                    )
                }));
            }
        }
    }
    lines
}
