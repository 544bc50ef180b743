//! Sight among the published rules about a gate: one finding for each chosen rule.
use super::survey::{Look, LookOutcome, RoadFinding, SightPlan};
use super::walk::WalkFinding;
use crate::gate::{Difference, Rule, RuleCheck, RuleFinding, RuleOutcome};
use crate::geometry::length::{Round, show};
use crate::site::Site;

/// Outcome of a sight rule outside the survey, which alone knows the vehicles and the user's choices.
fn elsewhere(_: &RuleCheck) -> RuleOutcome {
    RuleOutcome::Unknown("run with --sight to check it".to_owned())
}

/// Findings of the chosen rules, in their order; of several looks, the one that lacks most speaks for the rule.
#[must_use]
pub fn checks(plan: &SightPlan, site: &Site) -> Vec<RuleFinding> {
    let roads = plan.roads.iter().map(|finding| {
        let rule = &finding.rule;
        (rule.check_name, rule.citation, rule.asks, road_outcome(finding, site))
    });
    let walks = plan.walks.iter().map(|finding| {
        let rule = &finding.rule;
        (rule.name, rule.citation, rule.asks, walk_outcome(finding))
    });
    let finding = |(name, citation, asks, outcome)| RuleFinding {
        rule: Rule { name, citation, asks, usual: false, check: elsewhere },
        outcome,
    };
    roads.chain(walks).map(finding).collect()
}

fn road_outcome(finding: &RoadFinding, site: &Site) -> RuleOutcome {
    let looks = match &finding.looks {
        Ok(looks) => looks,
        Err(why) => return RuleOutcome::Unknown(why.clone()),
    };
    let lacks = |look: &&Look| look.required_m - look.visible_m;
    let hidden = looks.iter().filter(|look| look.outcome == LookOutcome::Hidden);
    if let Some(look) = hidden.clone().max_by(|a, b| lacks(a).total_cmp(&lacks(b))) {
        let side = look.side.word();
        let other = hidden.clone().find(|other| other.side != look.side).map_or_else(String::new, |other| {
            format!(" (not enough is to the {}, either)", other.side.word())
        });
        return RuleOutcome::Broken(Difference {
            what: format!("the stretch of road visible to the {side}{}{other}", classes(look)),
            is_m: Some(look.visible_m),
            least_m: Some(look.required_m),
            most_m: None,
        });
    }
    let short = looks.iter().filter(|look| look.outcome == LookOutcome::NotDrawn);
    match short.max_by(|a, b| lacks(a).total_cmp(&lacks(b))) {
        Some(look) => {
            let length = |m: f64, round: Round| show(m, site.units, round);
            RuleOutcome::Unknown(format!(
                "the road is drawn for {} to the {}, all of it visible, and {} must be",
                length(look.drawn_m, Round::Down),
                look.side.word(),
                length(look.required_m, Round::Up)
            ))
        }
        None => RuleOutcome::Kept,
    }
}

fn walk_outcome(finding: &WalkFinding) -> RuleOutcome {
    let triangles = match &finding.triangles {
        Ok(triangles) => triangles,
        Err(why) => return RuleOutcome::Unknown(why.clone()),
    };
    let mut named: Vec<String> = Vec::new();
    for hider in triangles.iter().flat_map(|triangle| &triangle.hiders) {
        let quoted = format!("\"{}\"", hider.what);
        if !named.contains(&quoted) {
            named.push(quoted);
        }
    }
    if named.is_empty() {
        return RuleOutcome::Kept;
    }
    let verb = if named.len() > 1 { "stand" } else { "stands" };
    RuleOutcome::Broken(Difference {
        what: format!("{} {verb} in the triangle at the sidewalk", named.join(", ")),
        is_m: None,
        least_m: None,
        most_m: None,
    })
}

/// The kinds of vehicles a look holds for, in brackets.
fn classes(look: &Look) -> String {
    let words: Vec<&str> = look.classes.iter().map(|class| class.words()).collect();
    if words.is_empty() { String::new() } else { format!(" ({})", words.join(", ")) }
}
