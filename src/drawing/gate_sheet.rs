//! Printed sheet of the gate itself: the swing of its leaves, the vehicle that waits for it, posts and columns, at a true scale.
use super::cover::CoverWords;
use super::leaf_panel;
use super::page::{GAP, HEADING, Split, area, caution, height, split, with_rest};
use super::panel::STRIP;
use super::paper::{Block, Page, Paper, Scale, TEXT, TextLine, legend_height, view_at_scale};
use super::sheets::{COLUMN, LEGEND_GAP, roles};
use crate::geometry::Point;
use crate::opening::Study;

/// Name of the sheet in the list on the cover.
const NAME: &str = "The gate as drawn, its leaves and room to wait";

/// Note below the gate to order: the drawing beside it may show another.
const DIMENSIONS: &str = "The drawing and its dimensions are of the gate as drawn.";

/// Sheet of the gate, with the waiting vehicle of this index, the gate to order and sentences on the gate as drawn; further
/// sheets for sentences that this does not hold. Empty if the study does not include the gate, or if there is no such vehicle.
#[must_use]
pub fn gate_pages(study: &Study, vehicle_index: usize, words: &CoverWords, paper: Paper) -> Vec<Page> {
    let sentences = &words.gate;
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
    panel.heading = Some(format!("As drawn: {heading}, {}", scale.words()));
    let roles = roles(&[&panel]);
    let mut lines = Vec::new();
    if let Some(order) = words.order.first() {
        lines.push(TextLine::new("The gate to order", TEXT, true));
        lines.push(TextLine::new(order.clone(), TEXT, true));
        lines.push(TextLine::new(DIMENSIONS, TEXT, false));
        lines.push(TextLine::space());
    }
    lines.push(TextLine::new("The gate as drawn", TEXT, true));
    lines.extend(sentences.iter().map(|text| TextLine::new(text.clone(), TEXT, false)));
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
    let description = format!("{}: {NAME}. {}", study.site.title, sentences.join(" "));
    let page = Page { paper, name: NAME.to_owned(), scale: Some(scale), whole_at: None, description, blocks };
    with_rest(page, rest)
}
