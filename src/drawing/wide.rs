//! The landscape form of a case's drawing, for a desk or a README: the plan at the left, the gate close up and the answer
//! at the right.
use super::case::{CAUTION, Drawn};
use super::labels::{TEXT_SIZE, wrap};
use super::panel::{STRIP, panel_node, strip};
use super::scene::{PAGE_MARGIN, Panel, Sheet, View};
use super::svg::{LEAD_SIZE, LEADING, document, first_line, head, legend, text_node};
use crate::geometry::Point;
use crate::opening::Study;
use svg::node::element::Group;

/// Size of the drawing, page units. A long answer makes it higher.
const WIDTH: f64 = 1280.0;
const HEIGHT: f64 = 800.0;
/// Width of the right column, and the space between the columns.
const RIGHT: f64 = 450.0;
const GUTTER: f64 = 22.0;
/// Width between the margins, and of the left column.
const WHOLE: f64 = WIDTH - 2.0 * PAGE_MARGIN;
const LEFT: f64 = WHOLE - RIGHT - GUTTER;
/// Height of a panel's heading.
const HEADING: f64 = LEAD_SIZE * LEADING;
/// Space above and below the panels, and between the blocks of words.
const SPACE: f64 = 10.0;
/// Least height of the gate close up.
const LEAST_GATE: f64 = 0.55 * RIGHT;
/// Size of the small print.
const SMALL: f64 = 15.0;
/// The most columns of the legend.
const COLUMNS: u32 = 5;

/// The content of a case's drawing in landscape: its two panels are the plan and the gate close up. `None` if there is no
/// such case, or if its vehicle does not exist.
///
/// The panel of the narrowest opening and that of the leaves, which the tall form has below, are left out: their answers
/// are in the words beside the gate.
#[must_use]
pub fn case_wide_sheet(study: &Study, case_index: usize) -> Option<Sheet> {
    let case = study.cases.get(case_index)?;
    let drawn = Drawn::through(study, case, study.vehicles.get(case.vehicle)?);
    let mut notes = drawn.notes();
    notes.push(CAUTION.to_owned());
    let mut sheet = drawn.sheet(Vec::new(), notes);
    let site = &study.site;
    // What is hit takes a longer label, and room for it beside the posts.
    let beside = if case.drawn.overlap_m.is_some() { 1.2 } else { 0.7 };
    let panels = |plan_high: f64, gate_high: f64| {
        let plan = view(&drawn.interest(), Point::new(0.0, 1.0), (LEFT, plan_high), 1.5);
        let gate = view(&drawn.gate_interest(beside), site.gate.inward, (RIGHT, gate_high), 0.0);
        let mut plan = drawn.site_panel_in(plan);
        plan.heading.get_or_insert_with(|| "The way in".to_owned());
        let heading = Some("At the gate, the road below".to_owned());
        vec![plan, Panel { heading, ..drawn.gate_panel_in(gate) }]
    };
    // The legend has the same entries whatever the size of the panels.
    sheet.panels = panels(LEFT / 2.0, LEAST_GATE);
    let words_high = words(&sheet, Point::default()).1;
    let room = HEIGHT - top(&sheet).1 - foot(&sheet, 0.0).1 - HEADING - STRIP;
    let gate_high = (room - words_high).max(LEAST_GATE);
    sheet.panels = panels(room.max(gate_high + words_high), gate_high);
    Some(sheet)
}

/// The drawing of one case of a study in landscape, as SVG; `None` as for [`case_wide_sheet`].
#[must_use]
pub fn case_wide_svg(study: &Study, case_index: usize) -> Option<String> {
    let sheet = case_wide_sheet(study, case_index)?;
    let (mut body, y) = top(&sheet);
    let (mut low, mut x) = (y, PAGE_MARGIN);
    for panel in &sheet.panels {
        let (at, width) = (Point::new(x, y + HEADING), panel.view.width);
        if let Some(heading) = &panel.heading {
            body = body.add(text_node(heading, Point::new(x, at.y - 8.0), LEAD_SIZE, true, false));
        }
        let below = at + Point::new(0.0, panel.view.height);
        body = body.add(panel_node(panel, at, None)).add(strip(panel, below));
        low = low.max(below.y + STRIP);
        x += width + GUTTER;
    }
    if let Some(Panel { view, .. }) = sheet.panels.last() {
        let at = Point::new(PAGE_MARGIN + LEFT + GUTTER, y + HEADING + view.height + STRIP);
        body = body.add(words(&sheet, at).0);
    }
    let (below, high) = foot(&sheet, low);
    let title = sheet.title.clone() + &first_line(&sheet);
    Some(document(&title, &sheet.description, (WIDTH, (low + high).ceil()), body.add(below)))
}

/// A view of this size that shows all points.
fn view(points: &[Point], up: Point, (width, height): (f64, f64), margin_m: f64) -> View {
    let share = height / width;
    View::around(points, up, width, margin_m, share, share)
}

/// The place, the answer and the way in, over the whole width; also the y at which they end.
fn top(sheet: &Sheet) -> (Group, f64) {
    let first = Sheet { lines: sheet.lines.iter().take(1).cloned().collect(), ..sheet.clone() };
    let (group, y) = head(&first, WHOLE);
    (group, y + SPACE)
}

/// The rest of the answer, below the gate close up; also its height.
fn words(sheet: &Sheet, at: Point) -> (Group, f64) {
    rows(sheet.lines.iter().skip(1), at, (RIGHT, TEXT_SIZE))
}

/// The legend and the small print, from a y on; also their height with the margin below.
fn foot(sheet: &Sheet, y: f64) -> (Group, f64) {
    let (legend, high) = legend(&sheet.panels, y + SPACE, (WHOLE, COLUMNS));
    let (notes, notes_high) =
        rows(sheet.notes.iter(), Point::new(PAGE_MARGIN, y + SPACE + high), (WHOLE, SMALL));
    (Group::new().add(legend).add(notes), SPACE + high + notes_high + PAGE_MARGIN)
}

/// Texts one below another from a point on, each with a space before it; also their height.
fn rows<'a>(texts: impl Iterator<Item = &'a String>, at: Point, (width, size): (f64, f64)) -> (Group, f64) {
    let (mut group, mut y) = (Group::new(), at.y);
    for text in texts {
        y += 0.4 * SPACE;
        for line in wrap(text, size, false, width) {
            y += size * LEADING;
            group = group.add(text_node(&line, Point::new(at.x, y - 0.3 * size), size, false, false));
        }
    }
    (group, y - at.y)
}
