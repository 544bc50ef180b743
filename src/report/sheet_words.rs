//! The words of a printed cover: answers, the gate, the fixes and the remarks, without file names and command-line options.
use super::fixes::{NOT_LOOKED_FOR, fix_sentences};
use super::gate_words::{gate_sentences, gate_warning, order_answer, order_remarks, order_rows};
use super::words::{Line, sentence_start, sheet_remarks, verdicts};
use crate::drawing::CoverWords;
use crate::opening::{Study, Verdict, vehicle_verdict};

/// Words of the cover of a study's printed sheets. The fixes are there only where the study looked for them.
#[must_use]
pub fn cover_words(study: &Study) -> CoverWords {
    let texts = |lines: Vec<Line>| lines.into_iter().map(|line| line.text).collect::<Vec<String>>();
    let mut answers = texts(verdicts(study));
    // The gate first: with many vehicles theirs take more than a sheet.
    let of_vehicles = study.needs.len().min(answers.len());
    answers.rotate_left(of_vehicles);
    // What blocks the road belongs to the verdict.
    answers.splice(1.min(answers.len())..1.min(answers.len()), gate_warning(study));
    CoverWords {
        answers,
        order: order_sentences(study),
        gate: gate_sentences(study),
        fixes: fixes(study),
        remarks: texts(sheet_remarks(study)),
    }
}

/// The fixes; that none were looked for, where a vehicle does not pass.
fn fixes(study: &Study) -> Vec<String> {
    let fails = |vehicle| vehicle_verdict(study, vehicle) == Verdict::No;
    if study.fixes.is_none() && (0..study.vehicles.len()).any(fails) {
        return vec![NOT_LOOKED_FOR.to_owned()];
    }
    fix_sentences(study).into_iter().map(|line| line.text).collect()
}

/// The gate to order of each arrangement on the short list, a sentence each; first the one to choose, last those without one.
fn order_sentences(study: &Study) -> Vec<String> {
    let (mut orders, mut none) = (Vec::new(), Vec::new());
    orders.extend(study.gate.as_ref().map(|plan| order_answer(study, plan)));
    orders.extend(study.gate.iter().flat_map(|plan| order_remarks(study, plan)));
    let mut arrangement = String::new();
    for [name, size, leaf, posts, columns, depth, notes] in
        study.gate.iter().flat_map(|plan| order_rows(study, plan))
    {
        // A row that goes on from the one above names what differs only.
        let name = match name.strip_prefix("- ") {
            Some(if_so) => format!("{arrangement}, {if_so}"),
            None => {
                arrangement = sentence_start(&name);
                arrangement.clone()
            }
        };
        let notes = if notes.is_empty() { notes } else { format!("; {notes}") };
        if posts.is_empty() {
            none.push(format!("{name}: {size}{notes}."));
            continue;
        }
        let leaves = if leaf == size { String::new() } else { format!(", leaves of {leaf}") };
        let columns = if columns.is_empty() { columns } else { format!(" and columns {columns}") };
        orders.push(format!(
            "{name}: order {size}{leaves}; posts {posts}{columns} face to face; the leaves need {depth} clear{notes}."
        ));
    }
    orders.extend(none);
    orders
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::opening::{Fix, FixKind, Fixes, Verdict};
    use crate::report::sample;
    use crate::site::changes::Change;

    /// A cover says how the gate's columns stand and what mends the plan, by no file and no flag.
    #[test]
    fn a_cover_names_neither_files_nor_flags() {
        let mut study = sample::study();
        assert_eq!(cover_words(&study).fixes, [NOT_LOOKED_FOR]);
        let goal = Verdict::Comfortable;
        let verdicts = vec![goal; study.vehicles.len()];
        let (kind, change, plan) = (FixKind::Wider, Change::Opening(0.5), serde_json::json!({}));
        study.fixes =
            Some(Fixes { found: vec![Fix { kind, goal, change, verdicts, plan }], none: Vec::new() });
        let words = cover_words(&study);
        assert_eq!(words.fixes.len(), 1);
        assert!(words.fixes[0].contains("a gate 1' 8\" wider"), "{}", words.fixes[0]);
        assert!(words.answers[0].starts_with("The gate as drawn") && !words.remarks.is_empty(), "{words:?}");
        let all = [words.answers, words.gate, words.fixes, words.remarks].concat();
        assert!(all.iter().all(|text| !text.contains(".geojson") && !text.contains("--")), "{all:?}");
    }

    /// The way that sets the width is named only where another needs less.
    #[test]
    fn ways_that_need_as_much_set_nothing() {
        let mut study = sample::study();
        let index = study.needs.iter().find_map(|need| need.governed_by).expect("a way that sets the width");
        let (vehicle, maneuver) = (study.cases[index].vehicle, study.cases[index].maneuver);
        let said = |study: &Study| verdicts(study)[vehicle].text.clone();
        assert!(said(&study).contains(" sets it"), "{}", said(&study));
        let mut other = study.cases[index].clone();
        other.travel = "from the other side".to_owned();
        study.cases.retain(|case| case.vehicle != vehicle || case.maneuver != maneuver);
        study.cases.insert(0, other);
        study.cases.insert(1, study.cases[0].clone());
        study.needs[vehicle].governed_by = Some(0);
        assert!(!said(&study).contains(" sets it"), "{}", said(&study));
        // An inch less on one of them, and the other sets it.
        study.cases[1].comfortable.opening_m = study.cases[0].comfortable.opening_m.map(|m| m - 0.03);
        assert!(said(&study).contains(" sets it"), "{}", said(&study));
    }
}
