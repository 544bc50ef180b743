//! Printed sheet of the gate itself: the swing of its leaves, the vehicle that waits for it, posts and columns, at a true scale.
use super::cover::CoverWords;
use super::leaf_panel;
use super::page::{GAP, HEADING, Split, area, caution, height, split, with_rest};
use super::panel::STRIP;
use super::paper::{Block, Page, Paper, Scale, TEXT, TextLine, legend_height, view_at_scale};
use super::sheets::{COLUMN, LEGEND_GAP, roles};
use crate::geometry::Point;
use crate::geometry::length::{Round, show_fine};
use crate::opening::{Study, as_ordered};

/// Names of the sheets in the list on the cover.
const NAME: &str = "The gate as drawn, its leaves and room to wait";
const ORDERED: &str = "The gate to order, its leaves and room to wait";

/// Sheets of the gate, with the waiting vehicle of this index: the gate to order where it is another than the one drawn, then
/// the gate as drawn with sentences on it; further sheets for sentences that these do not hold. Empty if the study does not
/// include the gate, or if there is no such vehicle.
#[must_use]
pub fn gate_pages(study: &Study, vehicle_index: usize, words: &CoverWords, paper: Paper) -> Vec<Page> {
    let order = words.order.first();
    let heading = TextLine::new("The gate to order", TEXT, true);
    let to_order = || order.map(|order| TextLine::new(order.clone(), TEXT, true));
    let mut pages = Vec::new();
    let ordered = as_ordered(study);
    let has_sheet = ordered.is_some();
    if let Some((ordered, order)) = ordered.zip(to_order()) {
        let lines = vec![heading.clone(), order, TextLine::new(posts_move(study, &ordered), TEXT, false)];
        pages.extend(gate_page(&ordered, vehicle_index, (ORDERED, "To order"), lines, paper));
    }
    let mut lines = Vec::new();
    if let Some(order) = to_order().filter(|_| !has_sheet) {
        lines.extend([heading, order, TextLine::space()]);
    }
    lines.push(TextLine::new("The gate as drawn", TEXT, true));
    lines.extend(words.gate.iter().map(|text| TextLine::new(text.clone(), TEXT, false)));
    pages.extend(gate_page(study, vehicle_index, (NAME, "As drawn"), lines, paper));
    pages
}

/// Sentence on how far each post of the gate to order stands from that of the gate as drawn.
fn posts_move(study: &Study, ordered: &Study) -> String {
    let gate = &study.site.gate;
    let moves = [(gate.left, ordered.site.gate.left, -1.0), (gate.right, ordered.site.gate.right, 1.0)];
    let moves = moves.map(|(from, to, out)| out * (gate.to_gate(to).x - gate.to_gate(from).x));
    let [left_m, right_m] = moves;
    if left_m > STAYS_M && (left_m - right_m).abs() < STAYS_M {
        return "Both posts move out from where they are drawn, each by half of what the opening grows."
            .to_owned();
    }
    let words = moves.map(|out_m: f64| {
        let by = show_fine(out_m.abs(), study.site.units, Round::Nearest);
        match out_m {
            m if m.abs() < STAYS_M => "stays".to_owned(),
            m if m > 0.0 => format!("moves out by {by}"),
            _ => format!("moves in by {by}"),
        }
    });
    format!(
        "Against the gate as drawn the face of the left post {}, and that of the right post {}.",
        words[0], words[1]
    )
}

/// A post that moves by less stays: a millimeter.
const STAYS_M: f64 = 1e-3;

/// Sheet of a gate with these lines beside it, and further sheets for lines that it does not hold.
fn gate_page(
    study: &Study,
    vehicle_index: usize,
    (name, shown): (&str, &str),
    lines: Vec<TextLine>,
    paper: Paper,
) -> Vec<Page> {
    let (low, high) = area(paper);
    let size = (high.x - low.x - COLUMN - GAP, high.y - low.y - HEADING - STRIP);
    let mut scale = None;
    let panel = leaf_panel::panel_in(study, vehicle_index, |interest| {
        let (view, at) =
            view_at_scale(interest, study.site.gate.inward, size, 0.0, &Scale::usual(study.site.units));
        scale = Some(at);
        view
    });
    let (Some(mut panel), Some(scale)) = (panel, scale) else { return Vec::new() };
    let heading = panel.heading.take().unwrap_or_default();
    let heading = heading.replacen("Leaves", "leaves", 1);
    panel.heading = Some(format!("{shown}: {heading}, {}", scale.words()));
    let roles = roles(&[&panel]);
    let texts: Vec<&str> = lines.iter().map(|line| line.text.as_str()).collect();
    let description = format!("{}: {name}. {}", study.site.title, texts.join(" "));
    let room = high.y - low.y - LEGEND_GAP - legend_height(COLUMN, &roles);
    let Split { here, rest } = split(lines, COLUMN, room);
    let x = high.x - COLUMN;
    let legend_y = low.y + height(&here, COLUMN) + LEGEND_GAP;
    let blocks = vec![
        Block::panel(Point::new(low.x, low.y + HEADING), panel),
        Block::Texts(Point::new(x, low.y), COLUMN, here),
        Block::Legend(Point::new(x, legend_y), COLUMN, roles),
        caution(paper),
    ];
    let page = Page { paper, name: name.to_owned(), scale: Some(scale), whole_at: None, description, blocks };
    with_rest(page, rest)
}
