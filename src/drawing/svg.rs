//! Writes a sheet as SVG: portrait, 640 units wide, a self-contained file.
use super::curve::number;
use super::labels::{TEXT_SIZE, text_width, wrap};
use super::panel::{STRIP, panel_node, strip, swatch};
use super::scene::{PAGE_MARGIN, PAGE_WIDTH, PANEL_WIDTH, Panel, Role, Sheet};
use super::style::{self, INK};
use crate::geometry::Point;
use crate::opening::DrawnGate;
use svg::Node;
use svg::node::element::{Definitions, Description, Group, Line, Pattern, Rectangle, SVG, Text, Title};

pub use super::texts::{PlacedText, placed_texts};

/// Height of a line of text over its size.
pub(super) const LEADING: f64 = 1.3;
/// Size of the title and of the first line below it.
const TITLE_SIZE: f64 = 27.0;
pub(super) const LEAD_SIZE: f64 = 21.0;
/// Room for the sign of a verdict before the title.
const SIGN: f64 = 40.0;
/// Room for the number of a step, and the space above each.
const STEP_INDENT: f64 = 38.0;
const STEP_GAP: f64 = 6.0;
/// The halo that keeps text readable over lines.
const HALO: f64 = 5.0;

/// A sheet as SVG text.
#[must_use]
pub fn write(sheet: &Sheet) -> String {
    let (mut body, mut y) = head(sheet, PANEL_WIDTH);
    y += 10.0;
    for panel in &sheet.panels {
        if let Some(heading) = &panel.heading {
            for line in wrap(heading, LEAD_SIZE, true, PANEL_WIDTH) {
                y += LEAD_SIZE * LEADING;
                body = body.add(text_node(&line, Point::new(PAGE_MARGIN, y - 8.0), LEAD_SIZE, true, false));
            }
        }
        body = body.add(panel_node(panel, Point::new(PAGE_MARGIN, y), None));
        y += panel.view.height;
        if panel.scale_bar {
            body = body.add(strip(panel, Point::new(PAGE_MARGIN, y)));
            y += STRIP;
        }
        y += 8.0;
    }
    if sheet.legend {
        let (legend, height) = legend(&sheet.panels, y, (PANEL_WIDTH, 2));
        body = body.add(legend);
        y += height + 8.0;
    }
    for note in &sheet.notes {
        for line in wrap(note, TEXT_SIZE, false, PANEL_WIDTH) {
            y += TEXT_SIZE * LEADING;
            body = body.add(text_node(&line, Point::new(PAGE_MARGIN, y - 6.0), TEXT_SIZE, false, false));
        }
        y += 6.0;
    }
    let title = sheet.title.clone() + &first_line(sheet);
    document(&title, &sheet.description, (PAGE_WIDTH, (y + PAGE_MARGIN).ceil()), body)
}

/// The title, the lines and the steps of a sheet in a width; also the y at which they end.
pub(super) fn head(sheet: &Sheet, width: f64) -> (Group, f64) {
    let mut y = PAGE_MARGIN;
    let mut body = Group::new();
    let mut say = |text: &str, size: f64, strong: bool, (number, indent, above): (&str, f64, f64)| {
        y += above;
        for (row, line) in wrap(text, size, strong, width - indent).into_iter().enumerate() {
            y += size * LEADING;
            let at = |x: f64| Point::new(PAGE_MARGIN + x, y - size * 0.3);
            if row == 0 && !number.is_empty() {
                body.append(text_node(number, at(0.0), size, true, false));
            }
            body.append(text_node(&line, at(indent), size, strong, false));
        }
    };
    let plain = ("", 0.0, 0.0);
    say(&sheet.place, TEXT_SIZE, false, plain);
    let indent = if sheet.verdict.is_some() { SIGN } else { 0.0 };
    say(&sheet.title, TITLE_SIZE, true, ("", indent, 4.0));
    if let Some(first) = sheet.lines.first() {
        say(first, LEAD_SIZE, true, plain);
    }
    for (number, step) in (1_u32..).zip(&sheet.steps) {
        say(step, TEXT_SIZE, false, (&format!("{number}."), STEP_INDENT, STEP_GAP));
    }
    let above = if sheet.steps.is_empty() { 0.0 } else { STEP_GAP };
    for line in sheet.lines.iter().skip(1) {
        say(line, TEXT_SIZE, false, ("", 0.0, above));
    }
    if let Some(verdict) = sheet.verdict {
        let place = wrap(&sheet.place, TEXT_SIZE, false, width).len() as f64 * TEXT_SIZE * LEADING;
        let middle = Point::new(PAGE_MARGIN + 15.0, PAGE_MARGIN + place + 4.0 + 0.62 * TITLE_SIZE);
        body.append(sign(verdict, middle));
    }
    (body, y)
}

/// The sign of a verdict, told apart by its shape: a disc with a check mark, a triangle with an exclamation mark, a square
/// with a cross.
pub(super) fn sign(verdict: DrawnGate, middle: Point) -> Group {
    let (shape, color, stroke) = match verdict {
        DrawnGate::Comfortable => {
            ("M-14 0a14 14 0 1 0 28 0a14 14 0 1 0 -28 0", "#1c6f62", "M-6.5 .5L-2 5L7 -5")
        }
        DrawnGate::Tight => ("M0 -14L15 12H-15Z", style::GATE, "M0 -5V3.5M0 7V8.5"),
        DrawnGate::No => ("M-13 -13H13V13H-13Z", style::GAP, "M-6 -6L6 6M6 -6L-6 6"),
    };
    let ink = if verdict == DrawnGate::Tight { INK } else { "#ffffff" };
    let path = |d: &str| svg::node::element::Path::new().set("d", d);
    Group::new()
        .set("transform", format!("translate({} {})", number(middle.x), number(middle.y)))
        .add(path(shape).set("fill", color).set("stroke", INK).set("stroke-linejoin", "round"))
        .add(path(stroke).set("fill", "none").set("stroke", ink).set("stroke-width", "3.2"))
}

/// A page as a self-contained file: title and description for someone who cannot see it, and the body.
pub(super) fn document(title: &str, description: &str, (width, height): (f64, f64), body: Group) -> String {
    let document = SVG::new()
        .set("xmlns", "http://www.w3.org/2000/svg")
        .set("viewBox", format!("0 0 {} {}", number(width), number(height)))
        .set("width", number(width))
        .set("height", number(height))
        .set("style", "max-width:100%;height:auto")
        .set("role", "img")
        .set("font-family", "'DejaVu Sans', Verdana, sans-serif")
        .add(Title::new(title))
        .add(Description::new().add(svg::node::Text::new(description)))
        .add(definitions())
        .add(
            Rectangle::new().set("width", number(width)).set("height", number(height)).set("fill", "#ffffff"),
        )
        .add(body);
    let mut text = document.to_string();
    text.push('\n');
    text
}

/// A label broken into lines no wider than `width`; at hyphens too, where a word alone is wider.
pub(super) fn label_lines(text: &str, strong: bool, width: f64) -> Vec<String> {
    let fits = |line: &str| text_width(line, TEXT_SIZE, strong) <= width;
    let mut lines: Vec<String> = Vec::new();
    for word in wrap(text, TEXT_SIZE, strong, width) {
        if fits(&word) {
            lines.push(word);
            continue;
        }
        let mut line = String::new();
        for piece in word.split_inclusive('-') {
            if !line.is_empty() && !fits(&format!("{line}{piece}")) {
                lines.push(std::mem::take(&mut line));
            }
            line.push_str(piece);
        }
        lines.push(line);
    }
    lines
}

pub(super) fn first_line(sheet: &Sheet) -> String {
    sheet.lines.first().map_or_else(String::new, |line| format!(": {line}"))
}

pub(super) fn definitions() -> Definitions {
    style::PATTERNS.iter().fold(Definitions::new(), |definitions, (name, side, turn, color, width)| {
        let tile = number(*side);
        let paper = Rectangle::new().set("width", tile.clone()).set("height", tile.clone());
        let line = Line::new()
            .set("x2", tile.clone())
            .set("stroke", *color)
            .set("stroke-width", number(width * 2.0));
        definitions.add(
            Pattern::new()
                .set("id", *name)
                .set("width", tile.clone())
                .set("height", tile)
                .set("patternUnits", "userSpaceOnUse")
                .set("patternTransform", format!("rotate({turn})"))
                .add(paper.set("fill", "#ffffff").set("fill-opacity", "0.6"))
                .add(line),
        )
    })
}

pub(super) fn text_node(text: &str, at: Point, size: f64, strong: bool, halo: bool) -> Text {
    let mut node = Text::new(text)
        .set("x", number(at.x))
        .set("y", number(at.y))
        .set("font-size", number(size))
        .set("fill", INK);
    if strong {
        node = node.set("font-weight", "bold");
    }
    if halo {
        node = node
            .set("stroke", "#ffffff")
            .set("stroke-width", number(HALO))
            .set("stroke-linejoin", "round")
            .set("paint-order", "stroke");
    }
    node
}

/// The parts that occur, in as many columns as have room, but no more than `most`; also the height.
pub(super) fn legend(panels: &[Panel], y: f64, (width, most): (f64, u32)) -> (Group, f64) {
    let mut roles: Vec<Role> = panels.iter().flat_map(|p| &p.items).map(|item| item.role).collect();
    roles.sort_unstable();
    roles.dedup();
    let entries: Vec<(Role, &str)> =
        roles.into_iter().filter_map(|r| style::words(r).map(|w| (r, w))).collect();
    let widest = entries.iter().map(|(_, w)| text_width(w, TEXT_SIZE, false)).fold(0.0, f64::max) + 56.0;
    let fit = |columns: &u32| f64::from(*columns) * widest <= width;
    let columns = (3..=most).rev().find(fit).unwrap_or(2);
    let per_column = entries.len().div_ceil(columns as usize).max(1);
    let row = TEXT_SIZE * 1.45;
    let mut group = Group::new();
    for (i, (role, words)) in entries.iter().enumerate() {
        let x = PAGE_MARGIN + width / f64::from(columns) * (i / per_column) as f64;
        let middle = Point::new(x + 20.0, y + row * ((i % per_column) as f64 + 0.5));
        group = group.add(swatch(*role, middle));
        let at = Point::new(x + 48.0, middle.y + TEXT_SIZE * 0.36);
        group = group.add(text_node(words, at, TEXT_SIZE, false, false));
    }
    (group, row * per_column as f64)
}
