//! Shared layout of the sheets to print: page area, caution, columns of text, and continuation sheets.
use super::case::CAUTION;
use super::paper::{Block, MARGIN, Page, Paper, TEXT, TITLE_BLOCK, TextLine, texts};
use crate::geometry::Point;

/// North up.
pub(super) const UP: Point = Point::new(0.0, 1.0);
/// Space between neighbors on a page.
pub(super) const GAP: f64 = 26.0;
/// Room for a heading above a panel.
pub(super) const HEADING: f64 = 30.0;
/// Margin of a site's plan from the edge of its panel.
pub(super) const INSET: f64 = 24.0;
/// Columns of text of a continuation sheet.
const COLUMNS: usize = 2;

/// The area of a page between its margins and above the caution and the title block: upper left and lower right.
pub(super) fn area(paper: Paper) -> (Point, Point) {
    let size = paper.size();
    (Point::new(MARGIN, MARGIN), Point::new(size.x - MARGIN, size.y - MARGIN - TITLE_BLOCK - 34.0))
}

/// The caution below that area.
pub(super) fn caution(paper: Paper) -> Block {
    let (low, high) = area(paper);
    let line = TextLine::new(CAUTION, TEXT, true);
    Block::Texts(Point::new(low.x, high.y + 6.0), high.x - low.x, vec![line])
}

/// Texts that a column holds, and those that follow.
pub(super) struct Split {
    pub(super) here: Vec<TextLine>,
    pub(super) rest: Vec<TextLine>,
}

/// Height of texts in a column of this width.
pub(super) fn height(lines: &[TextLine], width: f64) -> f64 {
    texts(Point::default(), width, lines).1
}

/// Texts set smaller until they are no higher than the room for them, down to the smallest text of a page.
pub(super) fn fitted(mut lines: Vec<TextLine>, width: f64, room: f64) -> Vec<TextLine> {
    while height(&lines, width) > room && lines.iter().any(|line| line.size > TEXT) {
        lines.iter_mut().for_each(|line| line.size = (line.size * 0.95).max(TEXT));
    }
    lines
}

/// Splits texts after the last one that a column of this size holds. A heading stays with what follows it, and the rest
/// of a table gets the table's head again.
pub(super) fn split(mut lines: Vec<TextLine>, width: f64, room: f64) -> Split {
    let mut held = 0;
    let mut y = 0.0;
    for line in &lines {
        y += height(std::slice::from_ref(line), width);
        if y > room {
            break;
        }
        held += 1;
    }
    if held == lines.len() {
        return Split { here: lines, rest: Vec::new() };
    }
    while held > 0 && lines[held - 1].strong {
        held -= 1;
    }
    let mut rest = lines.split_off(held);
    let within_table = rest.iter().find(|line| !line.strong).is_some_and(|line| !line.cells.is_empty())
        && rest.first().is_some_and(|line| line.cells.is_empty() || !line.strong);
    if within_table && let Some(head) = lines.iter().rfind(|line| !line.cells.is_empty() && line.strong) {
        rest.insert(0, head.clone());
    }
    Split { here: lines, rest }
}

/// A page followed by continuation sheets for the texts it does not hold.
pub(super) fn with_rest(page: Page, mut rest: Vec<TextLine>) -> Vec<Page> {
    let (low, high) = area(page.paper);
    let width = (high.x - low.x - (COLUMNS - 1) as f64 * 2.0 * GAP) / COLUMNS as f64;
    let (paper, name) = (page.paper, format!("{}, continued", page.name));
    let mut pages = vec![page];
    while !rest.is_empty() {
        let mut blocks = Vec::new();
        for column in 0..COLUMNS {
            let mut lines = split(std::mem::take(&mut rest), width, high.y - low.y);
            if lines.here.is_empty() && !lines.rest.is_empty() {
                // One text higher than a sheet: shown as far as it goes rather than asked for without end.
                lines.here.push(lines.rest.remove(0));
            }
            rest = lines.rest;
            let x = low.x + column as f64 * (width + 2.0 * GAP);
            blocks.push(Block::Texts(Point::new(x, low.y), width, lines.here));
        }
        blocks.push(caution(paper));
        let description = format!("{name}.");
        pages.push(Page { paper, name: name.clone(), scale: None, whole_at: None, description, blocks });
    }
    pages
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(text: &str, strong: bool) -> TextLine {
        TextLine::new(text, TEXT, strong)
    }

    fn texts_of(lines: &[TextLine]) -> Vec<&str> {
        lines.iter().map(|line| line.text.as_str()).collect()
    }

    /// A column of four lines holds four; a heading goes with the line that follows it.
    #[test]
    fn a_heading_stays_with_what_follows() {
        let lines = vec![line("a", false), line("b", false), line("Heading", true), line("c", false)];
        let room = height(&lines, 500.0);
        let whole = split(lines.clone(), 500.0, room + 1e-6);
        assert_eq!((whole.here.len(), whole.rest.len()), (4, 0));
        let Split { here, rest } = split(lines, 500.0, room - 1.0);
        assert_eq!((texts_of(&here), texts_of(&rest)), (vec!["a", "b"], vec!["Heading", "c"]));
    }

    /// The rest of a table begins with the table's head, and with the heading of its group where that goes along.
    #[test]
    fn the_rest_of_a_table_has_its_head() {
        let row = |text: &str, strong| TextLine::row(text, vec!["1".to_owned()], TEXT, strong);
        let lines = vec![
            row("Head", true),
            line("Group", true),
            row("a", false),
            line("Next", true),
            row("b", false),
        ];
        let at = |count: usize| height(&lines[..count], 500.0) + 1e-6;
        let after_a = split(lines.clone(), 500.0, at(3));
        assert_eq!(texts_of(&after_a.here), ["Head", "Group", "a"]);
        assert_eq!(texts_of(&after_a.rest), ["Head", "Next", "b"]);
        // A head without a row below it is not left behind.
        assert_eq!(texts_of(&split(lines.clone(), 500.0, at(2)).here), Vec::<&str>::new());
    }
}
