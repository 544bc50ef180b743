//! The gate itself in words: the leaves as drawn and the obstacles that stop them, room to wait, the gates to order,
//! rules.
use super::placement::middle_words;
use super::table::{as_text, clear_table, unbroken, wrapped};
use super::words::{Line, STAYS_M, reversing_words, sentence_start};
use crate::drawing::in_road_words;
use crate::gate::{LeafSwing, MAKERS_DIFFER, RuleFinding, RuleOutcome, RunBack, StopKind, arrangement_words};
use crate::geometry::Units;
use crate::geometry::length::{FOOT_M, Round, show, show_drawn, show_fine, shown_fine_m};
use crate::opening::{
    ArrangementNeeds, Demanded, DrawnGate, GatePlan, ScheduleRow, Study, Verdict, every_vehicle_passes,
    yard_lacks_turn,
};
use crate::site::{Arrangement, Side, Swing};
use comfy_table::{ColumnConstraint, Width};

/// The section on the gate, no line wider than `width`; empty if the study does not include it.
#[must_use]
pub fn gate_lines(study: &Study, width: u16) -> Vec<Line> {
    let Some(plan) = &study.gate else { return Vec::new() };
    let mut lines = vec![Line::plain("The gate as drawn")];
    lines.extend(drawn(study, plan).into_iter().map(Line::plain));
    lines.extend(broken(study, plan).into_iter().map(Line::plain));
    let mut lines: Vec<Line> = lines.iter().flat_map(|line| wrapped(line, width)).collect();
    lines.push(Line::plain(""));
    lines
        .push(Line::plain("The gate to order: the smallest stock size that serves every vehicle in comfort"));
    lines.extend(wrapped(&Line::plain(order_answer(study, plan)), width));
    for text in order_remarks(study, plan) {
        lines.extend(wrapped(&Line::plain(text), width));
    }
    for row in order_grid(study, plan, width).lines() {
        let row = Line::plain(row.trim_end());
        let fits = row.text.chars().count() <= usize::from(width);
        lines.extend(if fits { vec![row] } else { wrapped(&row, width) });
    }
    let turn = if study.demanded.contains(&Demanded::TurnAround) {
        " For a vehicle that turns around inside, a size serves if the whole visit works: in, around and out."
    } else {
        ""
    };
    let rest = format!("{ORDER_KEY} {MAKERS_DIFFER}{turn} All sizes: gate-schedule.txt.");
    lines.extend(wrapped(&Line::plain(rest), width));
    lines
}

/// The gate as drawn in sentences, and its differences from the chosen rules.
pub(super) fn gate_sentences(study: &Study) -> Vec<String> {
    let Some(plan) = &study.gate else { return Vec::new() };
    let mut lines = drawn(study, plan);
    lines.extend(broken(study, plan));
    lines.push(MAKERS_DIFFER.to_owned());
    lines
}

/// The gate as drawn: the room it takes up, the obstacles that stop its leaves, room to wait.
pub(super) fn drawn(study: &Study, plan: &GatePlan) -> Vec<String> {
    let gate = &study.site.gate;
    let units = study.site.units;
    let columns = plan.columns_around_m(&gate.post).map_or_else(String::new, |face_m| {
        format!(
            " If these posts stand between separate columns, the columns are {} apart, face to face.",
            show_fine(face_m, units, Round::Up)
        )
    });
    let mut lines = vec![format!(
        "{}: posts {} face to face, {} outside to outside.{columns}",
        sentence_start(&arrangement_words(gate.leaves.arrangement, gate.leaves.opens)),
        show_drawn(gate.opening_m(), units),
        show_fine(plan.outside_m, units, Round::Up)
    )];
    if !plan.swings.is_empty() {
        let way = match gate.leaves.opens {
            Swing::In => "behind",
            Swing::Out => "in front of",
        };
        let each = if plan.swings.len() > 1 { "Each leaf" } else { "The leaf" };
        lines.push(format!(
            "{each} is {} wide and needs {} clear {way} it.",
            show_fine(plan.made_leaf_m, units, Round::Down),
            show(plan.swing_depth_m, units, Round::Up)
        ));
    }
    lines.extend(plan.swings.iter().filter_map(|swing| stopped(swing, units)));
    lines.extend(plan.run_back.iter().map(|back| run_back_words(back, units)));
    lines.extend(waiting_outside(study, plan));
    lines.extend(waiting_inside(study, plan));
    lines
}

/// The obstacle that stops a leaf, in a sentence; `None` if there is none.
pub(super) fn stopped(swing: &LeafSwing, units: Units) -> Option<String> {
    let stop = swing.stop.as_ref()?;
    let (reach, wanted) = (swing.reach_rad.to_degrees().floor(), swing.wanted_rad.to_degrees().round());
    let over = match stop.kind {
        StopKind::Standing => String::new(),
        StopKind::Road => ", and no leaf may swing over a road".to_owned(),
        StopKind::Sidewalk => ", where people walk".to_owned(),
    };
    if reach <= 0.0 {
        let width = show(swing.length_m, units, Round::Nearest);
        let side = swing.side.word();
        return Some(format!(
            "The {side} leaf, {width} wide, has no room: \"{}\" is in its way even closed.",
            stop.what
        ));
    }
    Some(format!(
        "The {} leaf, {} wide, opens to {reach:.0} of {wanted:.0} degrees: \"{}\" stops it{over}.",
        swing.side.word(),
        show(swing.length_m, units, Round::Nearest),
        stop.what
    ))
}

/// The room a sliding leaf has.
pub(super) fn run_back_words(back: &RunBack, units: Units) -> String {
    let (needed, side) = (show(back.needed_m, units, Round::Up), back.side.word());
    let free = back.free_m.map(|m| show(m, units, Round::Down));
    match (&back.stop, free) {
        (Some(stop), Some(free)) => format!(
            "The leaf with its tail needs {needed} to run back on the {side}, and \"{}\" leaves {free}.",
            stop.what
        ),
        _ => format!("The leaf with its tail needs {needed} to run back on the {side}, and has it."),
    }
}

fn waiting_outside(study: &Study, plan: &GatePlan) -> Option<String> {
    let units = study.site.units;
    let index = plan.hardest_waiting()?;
    let wait = &plan.waiting[index];
    let title = sentence_start(&study.vehicles.get(index)?.title);
    let before = match study.site.gate.leaves.opens {
        Swing::Out if !plan.swings.is_empty() => ", clear of the leaves swinging out",
        _ => "",
    };
    let length = show(wait.length_m, units, Round::Up);
    let back = show(wait.outside_back_m, units, Round::Up);
    let room = show(wait.outside_room_m.max(0.0), units, Round::Down);
    let stops = format!("stops {back} before the gate line{before}");
    let others = others_in_road(study, plan, index);
    Some(if wait.outside_room_m <= 0.0 {
        format!(
            "{title}, {length} long, {stops}, and has no room there before the road: {} while the gate opens.{others}",
            in_road_words(study, wait)
        )
    } else if wait.outside_missing_m > 0.0 {
        format!(
            "{title}, {length} long, {stops}, and the road begins {room} behind its front bumper: {} while the gate \
             opens.{others}",
            in_road_words(study, wait)
        )
    } else {
        format!("{title}, {length} long, waits clear of the road: it {stops}, {room} from the road's edge.")
    })
}

/// A sentence, after a space, on the vehicles besides one that stand in the road while the gate opens; empty if none does.
fn others_in_road(study: &Study, plan: &GatePlan, besides: usize) -> String {
    let stands = plan
        .waiting
        .iter()
        .enumerate()
        .filter(|(index, wait)| *index != besides && wait.outside_missing_m > 0.0);
    let named: Vec<String> = stands
        .filter_map(|(index, wait)| {
            let missing = show(wait.outside_missing_m, study.site.units, Round::Up);
            Some(format!("{} ({missing})", sentence_start(&study.vehicles.get(index)?.title)))
        })
        .collect();
    // Titles may hold commas: semicolons keep them apart.
    if named.is_empty() { String::new() } else { format!(" Also in the road: {}.", named.join("; ")) }
}

/// Warning for the top of a page: the vehicle that stands in the road while the gate opens. `None` if all wait clear of it.
pub(super) fn gate_warning(study: &Study) -> Option<String> {
    let plan = study.gate.as_ref()?;
    let index = plan.hardest_waiting()?;
    let wait = plan.waiting.get(index).filter(|wait| wait.outside_missing_m > 0.0)?;
    let title = sentence_start(&study.vehicles.get(index)?.title);
    let stands = in_road_words(study, wait);
    let others = others_in_road(study, plan, index);
    Some(format!("While the gate opens, {title} does not wait clear of the road: {stands}.{others}"))
}

fn waiting_inside(study: &Study, plan: &GatePlan) -> Option<String> {
    let units = study.site.units;
    let index = plan.hardest(|wait| wait.inside_missing_m)?;
    let wait = &plan.waiting[index];
    let title = sentence_start(&study.vehicles.get(index)?.title);
    let back = show(wait.inside_back_m, units, Round::Up);
    Some(match (&wait.inside_against, wait.inside_missing_m > 0.0) {
        (Some(what), true) => format!(
            "Going out, {title} waits {back} behind the gate line; standing straight it misses {}: \"{what}\" is behind \
             it.",
            show(wait.inside_missing_m, units, Round::Up)
        ),
        _ => format!("Going out, {title} waits {back} behind the gate line, clear of the leaves."),
    })
}

/// The rules a plan differs from, in words that leave the decision to the authority.
fn broken(study: &Study, plan: &GatePlan) -> Vec<String> {
    plan.rules.iter().filter_map(|finding| rule_words(finding, study.site.units)).collect()
}

/// A rule that a plan differs from, or that cannot be checked; `None` if the plan complies.
pub(super) fn rule_words(finding: &RuleFinding, units: Units) -> Option<String> {
    let rule = &finding.rule;
    let difference = match &finding.outcome {
        RuleOutcome::Kept => return None,
        RuleOutcome::Unknown(missing) => {
            return Some(format!(
                "Rule {} could not be checked: {missing}. It calls for {}.",
                rule.name, rule.asks
            ));
        }
        RuleOutcome::Broken(difference) => difference,
    };
    let mut text = sentence_start(&difference.what);
    if let Some(is) = difference.is_m {
        let round = if difference.least_m.is_some_and(|least| is < least) { Round::Down } else { Round::Up };
        let least = difference.least_m.map(|m| format!("at least {}", show(m, units, Round::Up)));
        let most = difference.most_m.map(|m| format!("at most {}", show(m, units, Round::Down)));
        let wants: Vec<String> = least.into_iter().chain(most).collect();
        text.push_str(&format!(" is {} instead of {}", show(is, units, round), wants.join(" and ")));
    }
    Some(format!(
        "{text}. Rule {} ({}) calls for {}. The local authority decides if it applies here: ask before you build.",
        rule.name, rule.citation, rule.asks
    ))
}

/// Arrangements for a short list: of single leaves swinging the same way, the better hinge side.
fn short_list<'a>(plan: &'a GatePlan) -> Vec<&'a ArrangementNeeds> {
    let size = |of: &ArrangementNeeds| plan.smallest(of).map_or(f64::INFINITY, |row| row.assembly.stock_m);
    let better = |of: &&'a ArrangementNeeds| {
        let Arrangement::Single(side) = of.arrangement else { return true };
        let other = plan
            .arrangements
            .iter()
            .find(|o| matches!(o.arrangement, Arrangement::Single(s) if s != side) && o.opens == of.opens);
        // Of equal ones the drawn one, else the left one.
        other.is_none_or(|other| {
            let key =
                |a: &ArrangementNeeds| (size(a), !a.drawn, a.arrangement != Arrangement::Single(Side::Left));
            let (mine, its) = (key(of), key(other));
            mine.0.total_cmp(&its.0).then(mine.1.cmp(&its.1)).then(mine.2.cmp(&its.2)).is_lt()
        })
    };
    plan.arrangements.iter().filter(better).collect()
}

/// Meaning of the columns of the short list.
pub(super) const ORDER_KEY: &str = "A gate is sold by its leaves together. Posts: inner face to inner face, the opening. Columns: the same, of \
                                    separate columns with the posts between them; none where the posts are columns themselves. \
                                    Depth: clear ground that the leaves need; for a sliding leaf, along the fence beside the \
                                    opening.";

/// The gate to order, in a sentence: of the arrangement drawn, else the smallest that serves every vehicle.
pub(super) fn order_answer(study: &Study, plan: &GatePlan) -> String {
    let units = study.site.units;
    let before = before_order(study, plan);
    let order = |of: &ArrangementNeeds, row: &ScheduleRow| {
        let a = &row.assembly;
        let leaves = if a.leaf_width_m < a.stock_m - 1e-6 {
            format!(" (two leaves of {})", show(a.leaf_width_m, units, Round::Nearest))
        } else {
            String::new()
        };
        // Of the two widths as they are shown, so that the sum is right.
        let more_m = shown_fine_m(a.opening_m, units, Round::Up)
            - shown_fine_m(study.site.gate.opening_m(), units, Round::Nearest);
        let wider = if row.fits_drawn {
            String::new()
        } else {
            // A gate of the size drawn differs by the gaps of its hinges and latch alone.
            let same = (a.stock_m - study.site.gate.opening_m()).abs() < SAME_SIZE_M;
            let what = if same { ", for its hinges and latch" } else { "" };
            format!(", {} more than drawn{what}", show_fine(more_m, units, Round::Nearest))
        };
        let place = if plan.place_u_m.abs() < STAYS_M {
            String::new()
        } else {
            format!(", with its middle {}", middle_words(study, plan.place_u_m))
        };
        let columns = match plan.columns_around_m(&study.site.gate.post) {
            Some(_) => {
                format!(" (columns around them {} apart)", show_fine(a.column_face_m, units, Round::Up))
            }
            None => String::new(),
        };
        format!(
            "{} gate{leaves}, {}, on posts {} apart, face to face{wider}{columns}{place}",
            with_article(&show(a.stock_m, units, Round::Nearest)),
            arrangement_words(of.arrangement, of.opens),
            show_fine(a.opening_m, units, Round::Up)
        )
    };
    let to_order = plan.to_order();
    if let Some((of, row)) = to_order.filter(|(of, _)| of.drawn) {
        // An order for less than what serves as drawn would read as one to make it narrower.
        let spare_m = study.site.gate.opening_m() - row.assembly.opening_m;
        if spare_m > SPARE_M && every_vehicle_passes(study) {
            return format!(
                "{before}The smallest gate that serves every vehicle in comfort is {}. The opening as drawn is {} wider, and \
                 serves too, with leaves made for it.",
                order(of, row),
                show(spare_m, units, Round::Down)
            );
        }
        return format!("{before}Order {}.", order(of, row));
    }
    let drawn = plan.arrangements.iter().find(|of| of.drawn);
    let none = drawn.map_or_else(String::new, |of| {
        format!(
            "No stock size of the gate as drawn, {}, serves every vehicle in comfort: {}.",
            arrangement_words(of.arrangement, of.opens),
            why_none(study, plan, of)
        )
    });
    match to_order {
        Some((of, row)) => format!("{before}Order {}. {none}", order(of, row)),
        None if plan.arrangements.iter().any(|of| plan.smallest_backing_in(of).is_some()) => {
            format!("{none} No other arrangement does, either, unless backing in will do.")
        }
        None => format!("{none} No other arrangement does, either."),
    }
}

/// True if a fire vehicle is among those studied and no rule of fire access was checked.
fn fire_rule_missing(study: &Study, plan: &GatePlan) -> bool {
    let fire =
        |text: &str| text.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| word == "fire");
    study.vehicles.iter().any(|vehicle| fire(&vehicle.name) || fire(&vehicle.title))
        && !plan.rules.iter().any(|finding| finding.rule.name.starts_with("fire-"))
}

/// Sentence on the step that comes before an order, with a space after it; empty where none does.
fn before_order(study: &Study, plan: &GatePlan) -> &'static str {
    if fire_rule_missing(study, plan) {
        "Ask the fire authority before you order: it can ask for more than its engine needs, and no rule of fire access was \
         checked. "
    } else {
        ""
    }
}

/// An opening as drawn that is wider than the gate to order by more than this is said to serve, too: a foot, half of what stock sizes differ by.
const SPARE_M: f64 = FOOT_M;
/// A size within this of the opening as drawn is of the same name: an inch.
const SAME_SIZE_M: f64 = 0.0254;

/// Remarks on the gate to order: a narrower gate of another arrangement that serves, too.
pub(super) fn order_remarks(study: &Study, plan: &GatePlan) -> Vec<String> {
    let units = study.site.units;
    let mut remarks = Vec::new();
    let drawn = plan.arrangements.iter().find(|of| of.drawn);
    let others = plan.arrangements.iter().filter(|of| !of.drawn);
    let narrowest = others
        .filter_map(|of| Some((of, plan.smallest(of)?)))
        .min_by(|a, b| a.1.assembly.opening_m.total_cmp(&b.1.assembly.opening_m));
    if let Some((ordered, (of, row))) = drawn.and_then(|of| plan.smallest(of)).zip(narrowest)
        && row.assembly.opening_m < ordered.assembly.opening_m - LESS_M
    {
        remarks.push(format!(
            "That is the smallest of the arrangement drawn. Another needs less opening: {} gate, {}, on posts {} apart.",
            with_article(&show(row.assembly.stock_m, units, Round::Nearest)),
            arrangement_words(of.arrangement, of.opens),
            show_fine(row.assembly.opening_m, units, Round::Up)
        ));
    }
    remarks
}

/// Difference between two openings that is worth a remark, meters: less is the allowance of the hardware.
const LESS_M: f64 = 0.1;

/// A size with its article: "a 16'", "an 18'".
fn with_article(size: &str) -> String {
    let number: String = size.chars().take_while(char::is_ascii_digit).collect();
    let vowel = number.starts_with('8') || ["11", "18"].contains(&number.as_str());
    format!("{} {size}", if vowel { "an" } else { "a" })
}

/// Headings of the columns of the short list.
pub(super) const ORDER_COLUMNS: [&str; 7] =
    ["Arrangement", "Order", "Leaf", "Posts", "Columns", "Depth", "Notes"];

/// The gate to order of each arrangement on the short list, in the order of [`ORDER_COLUMNS`]; without one, "none" and
/// the reason. If a smaller one is enough for vehicles that back in, that is a line of its own.
pub(super) fn order_rows(study: &Study, plan: &GatePlan) -> Vec<[String; 7]> {
    let mut rows = Vec::new();
    for of in short_list(plan) {
        let name = arrangement_words(of.arrangement, of.opens);
        let name = if of.drawn { format!("{name} (as drawn)") } else { name };
        rows.push(match plan.smallest(of) {
            Some(row) => order_row(study, name, row, notes(study, row)),
            None => {
                let none = String::new;
                let why = why_none(study, plan, of);
                [name, "none".to_owned(), none(), none(), none(), none(), why]
            }
        });
        if let Some(row) = plan.smallest_backing_in(of) {
            let notes: Vec<String> = [backs_in(study, row), notes(study, row)]
                .into_iter()
                .filter(|text| !text.is_empty())
                .collect();
            rows.push(order_row(study, "- if backing in will do".to_owned(), row, notes.join("; ")));
        }
    }
    rows
}

fn order_row(study: &Study, name: String, row: &ScheduleRow, notes: String) -> [String; 7] {
    let units = study.site.units;
    let a = &row.assembly;
    let depth = if a.run_back_m > 0.0 { a.run_back_m } else { a.swing_depth_m };
    [
        name,
        show(a.stock_m, units, Round::Nearest),
        show(a.leaf_width_m, units, Round::Nearest),
        // To the half inch, as in the schedule: dimensions that columns are built by are rounded up.
        show_fine(a.opening_m, units, Round::Up),
        // Posts that are columns themselves have none around them.
        study
            .gate
            .as_ref()
            .and_then(|plan| plan.columns_around_m(&study.site.gate.post))
            .map_or_else(String::new, |_| show_fine(a.column_face_m, units, Round::Up)),
        show(depth, units, Round::Up),
        notes,
    ]
}

/// The vehicles that would have to back in through a gate, and the distances they would reverse.
fn backs_in(study: &Study, row: &ScheduleRow) -> String {
    let must = row.passes.iter().zip(&row.backing_in).enumerate().filter(|(_, (passes, back))| {
        **passes != Verdict::Comfortable && **back == Some(DrawnGate::Comfortable)
    });
    let named = must.filter_map(|(vehicle, _)| {
        let title = sentence_start(&study.vehicles.get(vehicle)?.title);
        let cost =
            study.needs.get(vehicle).and_then(|need| need.backing_in.as_ref()).map(|back| back.reverses);
        Some(
            cost.map_or_else(|| title.clone(), |cost| format!("{title} ({})", reversing_words(study, &cost))),
        )
    });
    // Titles may hold commas: semicolons keep them apart.
    format!("must back in: {}", named.collect::<Vec<_>>().join("; "))
}

fn order_grid(study: &Study, plan: &GatePlan, width: u16) -> String {
    let mut table = clear_table(width);
    table.set_header(ORDER_COLUMNS);
    for row in order_rows(study, plan) {
        table.add_row(row.iter().map(|cell| unbroken(cell)));
    }
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        match index {
            0 => column.set_constraint(ColumnConstraint::UpperBoundary(Width::Fixed(26))),
            1..=5 => column.set_constraint(ColumnConstraint::ContentWidth),
            _ => column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(16))),
        };
    }
    as_text(&table)
}

/// Notes for a buyer on a gate that suits.
fn notes(study: &Study, row: &ScheduleRow) -> String {
    let mut words = Vec::new();
    if !row.fits_drawn {
        words.push("wider than drawn".to_owned());
    }
    if row.waiting_missing_m > 0.0 {
        words.push(format!(
            "waits with {} in the road",
            show(row.waiting_missing_m, study.site.units, Round::Up)
        ));
    }
    if row.assembly.openers > 1 {
        words.push(format!("{} openers, wire under the drive", row.assembly.openers));
    }
    words.join("; ")
}

/// The reason that no stock size of an arrangement is enough.
fn why_none(study: &Study, plan: &GatePlan, of: &ArrangementNeeds) -> String {
    let passing: Vec<&ScheduleRow> =
        plan.rows(of).filter(|row| row.worst() == Verdict::Comfortable).collect();
    let Some(first) = passing.first() else {
        let worst =
            of.needs.iter().map(|n| n.comfortable_m).try_fold(0.0_f64, |most, need| Some(most.max(need?)));
        return match worst {
            Some(need) => format!("needs {} in comfort", show(need, study.site.units, Round::Up)),
            None if (0..study.vehicles.len()).any(|vehicle| yard_lacks_turn(study, vehicle)) => {
                "no turn inside was found, whatever the gate".to_owned()
            }
            None => "not every vehicle has a comfortable way in".to_owned(),
        };
    };
    let stop = passing.iter().find(|row| row.assembly.usual).unwrap_or(first);
    if !stop.opens_fully() {
        let leaf = stop.swings.iter().find_map(|s| Some((s, s.stop.as_ref()?)));
        let back = stop.run_back.as_ref().and_then(|b| b.stop.as_ref());
        if let Some((swing, what)) = leaf {
            return format!(
                "\"{}\" stops a leaf at {:.0} degrees",
                what.what,
                swing.reach_rad.to_degrees().floor()
            );
        }
        if let Some(what) = back {
            return format!("\"{}\" is in the way of its run back", what.what);
        }
    }
    format!(
        "its leaf would be {}, wider than is usually made",
        show(stop.assembly.leaf_width_m, study.site.units, Round::Nearest)
    )
}
