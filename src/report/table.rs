//! The table for a terminal, and the plain words below it.
use super::fixes::fix_lines;
use super::gate_words::gate_lines;
use super::limits::savings;
use super::sight::sight_lines;
use super::words::{
    Line, contact_words, ended, gate_word, remarks, sentence_start, sentences, star_words, verdicts,
    way_words,
};
use crate::geometry::length::{Round, show, show_drawn, whole_words};
use crate::opening::{Answer, Case, Outcome, Study};
use comfy_table::{ColumnConstraint, ContentArrangement, LineStyle, Table, TableStyle, Width};

/// Least width: below this the lengths themselves would have to break; a narrower screen breaks the lines instead.
const NARROWEST: u16 = 60;
/// Least width with room in the table for the tightest place; the sentences below name it in any case.
const WIDE: u16 = 88;
/// Widest first column: "northwestbound, driving in" with its dash and its padding.
const WAY_WIDTH: u16 = 31;
/// Columns of table.txt: fits a printed page.
pub const PAGE_WIDTH: u16 = 100;

/// The study as a table and plain words, no line wider than `width` (60 at least).
#[must_use]
pub fn table(study: &Study, width: u16) -> String {
    let mut text = String::new();
    for line in table_lines(study, width) {
        text.push_str(&line.text);
        text.push('\n');
    }
    text
}

/// The lines of [`table`], each with its verdict.
#[must_use]
pub fn table_lines(study: &Study, width: u16) -> Vec<Line> {
    let width = width.max(NARROWEST);
    let blank = || Line::plain("");
    let mut lines = wrapped(&Line::plain(heading(study)), width);
    lines.push(blank());
    for row in grid(study, width).lines() {
        let fits = row.trim_end().chars().count() <= usize::from(width);
        let row = Line::plain(row.trim_end());
        lines.extend(if fits { vec![row] } else { wrapped(&row, width) });
    }
    lines.extend(star_words(study).into_iter().flat_map(|words| wrapped(&Line::plain(words), width)));
    let all = |block: Vec<Line>| block.iter().flat_map(|line| wrapped(line, width)).collect::<Vec<Line>>();
    // The gate's own lines use the full width; some of them are a table's.
    for block in [
        all(sentences(study)),
        all(verdicts(study)),
        all(fix_lines(study)),
        all(savings(study)),
        gate_lines(study, width),
        all(sight_lines(study)),
        all(remarks(study)),
    ] {
        if !block.is_empty() {
            lines.push(blank());
        }
        lines.extend(block);
    }
    lines
}

pub(super) fn heading(study: &Study) -> String {
    let gate = &study.site.gate;
    let length = |m: f64| show(m, study.site.units, Round::Nearest);
    let skew = gate.skew_rad.to_degrees();
    let skew = if skew.abs() < 0.05 { String::new() } else { format!(", {skew:.1}\u{b0} askew to the road") };
    format!(
        "{}: a {} gate drawn {} from the road{skew}",
        study.site.title,
        show_drawn(gate.opening_m(), study.site.units),
        length(gate.setback_m)
    )
}

/// A table with a single line, below its header.
pub(super) fn clear_table(width: u16) -> Table {
    let line = LineStyle::none().fill('\u{2500}').junction('\u{2500}');
    let mut table = Table::new();
    table
        .load_style(TableStyle::new().header_separator(line))
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(width);
    table
}

/// Cell whose lengths a table does not break: their blanks do not count as such until [`as_text`].
pub(super) fn unbroken(cell: &str) -> String {
    let whole = whole_words(cell).into_iter().map(|word| word.replace(' ', NO_BREAK));
    whole.collect::<Vec<String>>().join(" ")
}

/// Table as text, with plain blanks.
pub(super) fn as_text(table: &Table) -> String {
    table.to_string().replace(NO_BREAK, " ")
}

/// Blank at which no line breaks.
const NO_BREAK: &str = "\u{a0}";

fn grid(study: &Study, width: u16) -> String {
    let mut table = clear_table(width);
    let drawn = show_drawn(study.site.gate.opening_m(), study.site.units);
    let drawn = format!("{drawn} as drawn");
    let with_place = width >= WIDE;
    let cut = |mut row: Vec<String>| {
        row.truncate(if with_place { 5 } else { 4 });
        row
    };
    let header = ["Vehicle and way in", "Bare", "Comfortable", &drawn, "Tightest, or why not"];
    table.set_header(cut(header.map(str::to_owned).to_vec()));
    for index in 0..study.vehicles.len() {
        table.add_row(cut(vec![heading_mark(index)]));
        let of = study.of_vehicle(index);
        for case in of.travels.into_iter().flat_map(|t| t.cases).chain(of.routes) {
            table.add_row(cut(row(study, &study.cases[case])).iter().map(|cell| unbroken(cell)));
        }
    }
    // The lengths never wrap; the words do, within the width that is left.
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        match index {
            0 => column.set_constraint(ColumnConstraint::UpperBoundary(Width::Fixed(WAY_WIDTH))),
            1..=3 => column.set_constraint(ColumnConstraint::ContentWidth),
            _ => column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(20))),
        };
    }
    // A title runs across the columns, which a cell cannot.
    let titled = |row: &str| {
        let mark = row.trim_end();
        let at = (0..study.vehicles.len()).find(|index| heading_mark(*index) == mark);
        at.map_or_else(|| row.to_owned(), |index| sentence_start(&study.vehicles[index].title))
    };
    as_text(&table).lines().map(titled).collect::<Vec<String>>().join("\n")
}

/// Placeholder in the table for the title of a vehicle: in a Unicode private use area, so unlike any other text.
fn heading_mark(vehicle: usize) -> String {
    format!("\u{e000}{vehicle}")
}

pub(super) fn row(study: &Study, case: &Case) -> Vec<String> {
    let way = match &case.route {
        Some(label) => format!("along \"{label}\""),
        None => format!("{}, {}", case.travel, way_words(study, case)),
    };
    vec![
        format!("- {way}"),
        cell(study, &case.bare),
        cell(study, &case.comfortable),
        gate_word(case),
        limit(case),
    ]
}

fn cell(study: &Study, answer: &Answer) -> String {
    match (&answer.outcome, answer.opening_m) {
        (Outcome::Found, Some(opening)) => show(opening, study.site.units, Round::Up),
        (Outcome::Impossible(_), _) => "impossible".to_owned(),
        _ => "not found".to_owned(),
    }
}

/// The tightest place, or the reason there is no way in, or none in comfort.
fn limit(case: &Case) -> String {
    for answer in [&case.bare, &case.comfortable] {
        if let Outcome::Impossible(reason) | Outcome::GaveUp(reason) = &answer.outcome {
            return ended(reason).to_owned();
        }
    }
    // At the gate as drawn, as the sentences and the drawings have it.
    let drawn = case.drawn.contacts.first();
    let place = drawn.or(case.comfortable.tightest.as_ref()).or(case.bare.tightest.as_ref());
    place.map_or_else(String::new, |contact| format!("{}, by {}", contact_words(contact), contact.part))
}

/// A line broken at blanks to fit `width`, later lines set in by two.
pub(super) fn wrapped(line: &Line, width: u16) -> Vec<Line> {
    let width = usize::from(width);
    let mut rows: Vec<String> = Vec::new();
    let mut row = String::new();
    for word in whole_words(&line.text) {
        if !row.trim().is_empty() && row.chars().count() + 1 + word.chars().count() > width {
            rows.push(std::mem::replace(&mut row, "  ".to_owned()));
        }
        if !row.trim().is_empty() {
            row.push(' ');
        }
        row.push_str(&word);
    }
    rows.push(row);
    rows.into_iter().map(|text| Line { text, verdict: line.verdict }).collect()
}
