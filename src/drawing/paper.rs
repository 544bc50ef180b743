//! Sheets to print: paper sizes, true scales, and a page of panels and texts with its title block, as SVG.
//!
//! A page unit is 0.42 points: the thinnest lines are a third of a point, and no text is set less than 8 points high, so
//! that a copy at half the size is still read. Both survive a photocopier.
use super::curve::number;
use super::labels::text_width;
use super::panel::{panel_node, strip, swatch};
use super::scene::{Panel, Role, View};
use super::style::{self, INK};
use super::svg::{definitions, text_node};
use crate::geometry::length::whole_words;
use crate::geometry::{Point, Units};
use svg::node::element::{Description, Group, Line, Rectangle, SVG, Title};

/// Points in a page unit.
pub const POINTS_PER_UNIT: f64 = 0.42;
/// Points in an inch.
const POINTS_PER_INCH: f64 = 72.0;
/// Meters in an inch.
const INCH_M: f64 = 0.0254;
/// Space left free around a page: 0.35 in, which common printers can reach.
pub(super) const MARGIN: f64 = 0.35 * POINTS_PER_INCH / POINTS_PER_UNIT;
/// Heights of the two rows of the title block: a label and two lines, a label and one.
const TITLE_ROWS: [f64; 2] = [86.0, 58.0];
/// Height of the title block.
pub(super) const TITLE_BLOCK: f64 = TITLE_ROWS[0] + TITLE_ROWS[1];
/// The smallest text of a page, and that of its plans: 8.06 points.
pub(super) const TEXT: f64 = 19.2;
/// Space before the text of a cell of a table, and the share of a table's width that its cells may take.
const CELL_GAP: f64 = 14.0;
const CELLS: f64 = 0.6;
/// Height of a line of text over its size.
const LEADING: f64 = 1.3;
/// Class of a page's groups of words; groups without it are the drawing itself.
pub(super) const WORDS_CLASS: &str = "words";
/// Height of a row of a legend, and where its words begin beside the samples.
const LEGEND_ROW: f64 = 26.0;
const LEGEND_TEXT_X: f64 = 46.0;
/// Space between the columns of a legend.
const LEGEND_GAP: f64 = 10.0;

/// A size of paper, laid on its long side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 11 by 8.5 inches.
    Letter,
    /// 17 by 11 inches.
    Tabloid,
    /// 297 by 210 millimeters.
    A4,
    /// 420 by 297 millimeters.
    A3,
}

impl Paper {
    /// Width and height in points.
    #[must_use]
    pub const fn points(self) -> (f64, f64) {
        const MILLIMETER: f64 = 72.0 / 25.4;
        match self {
            Self::Letter => (792.0, 612.0),
            Self::Tabloid => (1224.0, 792.0),
            Self::A4 => (297.0 * MILLIMETER, 210.0 * MILLIMETER),
            Self::A3 => (420.0 * MILLIMETER, 297.0 * MILLIMETER),
        }
    }
    /// The widest that anything on this paper can be at a scale, in meters on the ground.
    ///
    /// ```
    /// use wideenough::drawing::paper::{Paper, Scale};
    /// let shown_m = Paper::Letter.shows_m(Scale::OneTo(1.0));
    /// assert!((shown_m - 11.0 * 0.0254).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn shows_m(self, scale: Scale) -> f64 {
        self.size().x / scale.units_per_meter()
    }

    /// Width and height in page units.
    pub(super) fn size(self) -> Point {
        let (width, height) = self.points();
        Point::new(width / POINTS_PER_UNIT, height / POINTS_PER_UNIT)
    }
}

/// A true scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// An inch on paper represents this many feet.
    FeetPerInch(f64),
    /// One to this many.
    OneTo(f64),
}

impl Scale {
    /// Engineering scales for lengths in feet, metric ones for meters, the largest drawing first.
    #[must_use]
    pub fn usual(units: Units) -> Vec<Self> {
        match units {
            Units::Feet => {
                [5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 100.0, 200.0, 400.0].map(Self::FeetPerInch).to_vec()
            }
            Units::Meters => {
                [50.0, 100.0, 200.0, 250.0, 500.0, 1000.0, 2500.0, 5000.0].map(Self::OneTo).to_vec()
            }
        }
    }
    /// The scale as people write it: `1" = 20'`, `1:200`.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::FeetPerInch(feet) => format!("1\" = {feet}'"),
            Self::OneTo(ratio) => format!("1:{ratio}"),
        }
    }
    /// Page units for a meter on the ground.
    #[must_use]
    pub fn units_per_meter(self) -> f64 {
        let ratio = match self {
            Self::FeetPerInch(feet) => feet * 12.0,
            Self::OneTo(ratio) => ratio,
        };
        POINTS_PER_INCH / INCH_M / POINTS_PER_UNIT / ratio
    }
}

/// A view of this size that shows all points, `inset` units within its edges, at the largest scale that holds them.
pub(super) fn view_at_scale(
    points: &[Point],
    up: Point,
    (width, height): (f64, f64),
    inset: f64,
    scales: &[Scale],
) -> (View, Scale) {
    let around = View::around(points, up, width - 2.0 * inset, 0.0, 0.01, 100.0);
    let size = (width - 2.0 * inset, height - 2.0 * inset);
    let fits = |scale: &&Scale| holds(points, up, size, **scale);
    let scale = scales.iter().find(fits).or(scales.last()).copied().unwrap_or(Scale::OneTo(1000.0));
    (View { center: around.center, up, scale: scale.units_per_meter(), width, height }, scale)
}

/// True if a view of this size shows all points at a scale.
pub(super) fn holds(points: &[Point], up: Point, (width, height): (f64, f64), scale: Scale) -> bool {
    let around = View::around(points, up, width, 0.0, 0.01, 100.0);
    let s = scale.units_per_meter() / around.scale;
    around.width * s <= width + 1e-6 && around.height * s <= height + 1e-6
}

/// Entries of a title block. An empty one is an empty field to be filled in by hand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TitleBlock {
    /// The project.
    pub project: String,
    /// Address of the place.
    pub address: String,
    /// Parcel number.
    pub parcel: String,
    /// Who prepared the sheet.
    pub prepared_by: String,
    /// The day it was prepared, as it is to be printed.
    pub date: String,
}

/// Something on a page.
#[derive(Clone, Debug)]
pub(super) enum Block {
    /// A framed panel, with its strip below if it has a scale bar, and its heading above.
    Panel(Point, Box<Panel>),
    /// Texts one below another.
    Texts(Point, f64, Vec<TextLine>),
    /// The legend of some parts.
    Legend(Point, f64, Vec<Role>),
}

impl Block {
    /// A panel with the text of plans.
    pub(super) fn panel(at: Point, panel: Panel) -> Self {
        Self::Panel(at, Box::new(Panel { text_size: TEXT, ..panel }))
    }
}

/// A text of a page, to be broken into lines; a row of a table if it has cells beside it.
#[derive(Clone, Debug)]
pub(super) struct TextLine {
    pub(super) text: String,
    pub(super) cells: Vec<Cell>,
    pub(super) size: f64,
    pub(super) strong: bool,
}

/// A cell of a table beside the first text of its row.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    text: String,
    /// Width of its column, page units.
    width: f64,
}

impl TextLine {
    pub(super) fn new(text: impl Into<String>, size: f64, strong: bool) -> Self {
        Self { text: text.into(), cells: Vec::new(), size, strong }
    }

    /// Room above a heading.
    pub(super) fn space() -> Self {
        Self::new("", 2.0 * TEXT, false)
    }

    /// A row of a table: its first text, and the cells beside it.
    pub(super) fn row(text: impl Into<String>, cells: Vec<String>, size: f64, strong: bool) -> Self {
        let cells = cells.into_iter().map(|text| Cell { text, width: 0.0 }).collect();
        Self { cells, ..Self::new(text, size, strong) }
    }

    /// Gives the cells of a table's rows the width of their columns: that of the widest text, or of the widest word
    /// where that would leave the first column too little. Lines without cells stand between rows as they are.
    pub(super) fn align(rows: &mut [Self], width: f64) {
        let count = rows.iter().map(|row| row.cells.len()).max().unwrap_or(0);
        let widest = |column: usize, of: &dyn Fn(&str, f64, bool) -> f64| {
            let cells = rows.iter().filter_map(|row| Some((row, row.cells.get(column)?)));
            cells.map(|(row, cell)| of(&cell.text, row.size, row.strong)).fold(0.0, f64::max) + CELL_GAP
        };
        let word = |text: &str, size: f64, strong: bool| {
            whole_words(text).iter().map(|word| text_width(word, size, strong)).fold(0.0, f64::max)
        };
        let mut columns: Vec<f64> = (0..count).map(|column| widest(column, &text_width)).collect();
        if columns.iter().sum::<f64>() > CELLS * width {
            columns = (0..count).map(|column| widest(column, &word)).collect();
        }
        for row in rows {
            row.cells.iter_mut().zip(&columns).for_each(|(cell, width)| cell.width = *width);
        }
    }
}

/// A page to print.
#[derive(Clone, Debug)]
pub struct Page {
    /// The paper.
    pub paper: Paper,
    /// Name of the page in its title block.
    pub name: String,
    /// The scale of its main panel, if it has one.
    pub scale: Option<Scale>,
    /// The largest usual scale that shows the whole way in, if the requested one is too large to do so.
    pub whole_at: Option<Scale>,
    /// The page in words.
    pub description: String,
    pub(super) blocks: Vec<Block>,
}

impl Page {
    /// Panels of the page with the place of their upper left corner, page units.
    #[must_use]
    pub fn panels(&self) -> Vec<(Point, &Panel)> {
        let mut panels = Vec::new();
        for block in &self.blocks {
            if let Block::Panel(at, panel) = block {
                panels.push((*at, panel.as_ref()));
            }
        }
        panels
    }
}

/// A page as SVG, `index` (from 0) of `count`, its size in points.
#[must_use]
pub fn page_svg(page: &Page, title: &TitleBlock, index: usize, count: usize) -> String {
    let size = page.paper.size();
    let (width, height) = page.paper.points();
    let mut body = Group::new();
    for block in &page.blocks {
        body = match block {
            Block::Panel(at, panel) => {
                if let Some(heading) = &panel.heading {
                    let above = Point::new(at.x, at.y - 8.0);
                    body = body.add(text_node(heading, above, TEXT, true, false));
                }
                body = body.add(panel_node(panel, *at, None));
                if panel.scale_bar {
                    body = body.add(strip(panel, Point::new(at.x, at.y + panel.view.height)));
                }
                body
            }
            Block::Texts(at, width, lines) => body.add(texts(*at, *width, lines).0.set("class", WORDS_CLASS)),
            Block::Legend(at, width, roles) => body.add(legend(*at, *width, roles).set("class", WORDS_CLASS)),
        };
    }
    let sheet = format!("{} of {count}", index + 1);
    let scale = page.scale.map_or_else(String::new, Scale::words);
    let document = SVG::new()
        .set("xmlns", "http://www.w3.org/2000/svg")
        .set("viewBox", format!("0 0 {:.4} {:.4}", size.x, size.y))
        .set("width", format!("{}pt", number(width)))
        .set("height", format!("{}pt", number(height)))
        .set("font-family", "'DejaVu Sans', Verdana, sans-serif")
        .add(Title::new(format!("{}: {}", title.project, page.name)))
        .add(Description::new().add(svg::node::Text::new(page.description.clone())))
        .add(definitions())
        .add(Rectangle::new().set("width", "100%").set("height", "100%").set("fill", "#ffffff"))
        .add(body)
        .add(title_block(page, title, &scale, &sheet).set("class", WORDS_CLASS));
    let mut text = document.to_string();
    text.push('\n');
    text
}

/// Lines one below another from a point; also their total height.
pub(super) fn texts(at: Point, width: f64, lines: &[TextLine]) -> (Group, f64) {
    let mut group = Group::new();
    let mut y = at.y;
    for line in lines {
        let first = width - line.cells.iter().map(|cell| cell.width).sum::<f64>();
        let mut x = first;
        let columns = line.cells.iter().map(|cell| {
            let at = x + CELL_GAP;
            x += cell.width;
            (at, cell.width - CELL_GAP + 1e-6, &cell.text)
        });
        let mut most = 0;
        for (x, room, words) in std::iter::once((0.0, first, &line.text)).chain(columns) {
            let rows = broken(words, line.size, line.strong, room);
            most = most.max(rows.len());
            for (i, row) in rows.iter().enumerate() {
                let base = Point::new(at.x + x, y + line.size * (LEADING * (i + 1) as f64 - 0.3));
                group = group.add(text_node(row, base, line.size, line.strong, false));
            }
        }
        y += most as f64 * line.size * LEADING + line.size * 0.25;
        if !line.cells.is_empty() {
            let rule = Line::new()
                .set("x1", number(at.x))
                .set("x2", number(at.x + width))
                .set("y1", number(y - 0.1 * line.size))
                .set("y2", number(y - 0.1 * line.size))
                .set("stroke", INK)
                .set("stroke-width", if line.strong { "1.6" } else { "0.6" });
            group = group.add(rule);
        }
    }
    (group, y - at.y)
}

/// A text in lines no wider than `width`; words that are wider are broken too.
pub(super) fn broken(text: &str, size: f64, strong: bool, width: f64) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in whole_words(text) {
        if text_width(&word, size, strong) <= width {
            words.push(word);
            continue;
        }
        let mut piece = String::new();
        for c in word.chars() {
            if !piece.is_empty() && text_width(&format!("{piece}{c}"), size, strong) > width {
                words.push(std::mem::take(&mut piece));
            }
            piece.push(c);
        }
        words.push(piece);
    }
    super::labels::wrap(&words.join(" "), size, strong, width)
}

/// The legend's entries with their words, and the columns they are set in: the place of each, and the number of rows.
struct LegendLayout {
    entries: Vec<(Role, &'static str)>,
    columns: Vec<f64>,
    rows: usize,
}

impl LegendLayout {
    /// Two columns if the width holds them, else one.
    fn of(width: f64, roles: &[Role]) -> Self {
        let entries: Vec<(Role, &str)> =
            roles.iter().filter_map(|r| style::words(*r).map(|w| (*r, w))).collect();
        let rows = entries.len().div_ceil(2).max(1);
        let widest = |part: &[(Role, &str)]| {
            LEGEND_TEXT_X + part.iter().map(|(_, w)| text_width(w, TEXT, false)).fold(0.0, f64::max)
        };
        let columns: Vec<f64> = entries.chunks(rows).map(widest).collect();
        match columns[..] {
            [first, second] if first + LEGEND_GAP + second <= width => {
                // The second begins in the middle, as the eye expects, unless the first needs more.
                Self {
                    entries,
                    columns: vec![0.0, (0.5 * width).min(width - second).max(first + LEGEND_GAP)],
                    rows,
                }
            }
            _ => Self { rows: entries.len().max(1), entries, columns: vec![0.0] },
        }
    }
}

/// Height of a legend in a width, page units.
pub(super) fn legend_height(width: f64, roles: &[Role]) -> f64 {
    LEGEND_ROW * LegendLayout::of(width, roles).rows as f64
}

fn legend(at: Point, width: f64, roles: &[Role]) -> Group {
    let mut group = Group::new();
    let LegendLayout { entries, columns, rows } = LegendLayout::of(width, roles);
    for (column, x) in entries.chunks(rows).zip(columns) {
        for (i, (role, words)) in column.iter().enumerate() {
            let middle = Point::new(at.x + x + 20.0, at.y + LEGEND_ROW * (i as f64 + 0.5));
            let base = Point::new(at.x + x + LEGEND_TEXT_X, middle.y + TEXT * 0.36);
            group = group.add(swatch(*role, middle)).add(text_node(words, base, TEXT, false, false));
        }
    }
    group
}

/// A field of the title block: its label, its text, its place and its size.
struct Field<'a> {
    label: &'a str,
    text: &'a str,
    at: Point,
    width: f64,
    height: f64,
}

impl Field<'_> {
    /// The text as large as fits under its label; one longer than any size holds is cut.
    fn node(&self) -> Group {
        const INSET: f64 = 8.0;
        let Self { label, text, at, width, height } = *self;
        let frame = rectangle(at, width, height, "1.2");
        let label_at = Point::new(at.x + INSET, at.y + 22.0);
        let mut group = Group::new().add(frame).add(text_node(label, label_at, TEXT, false, false));
        let (inner, room) = (width - 2.0 * INSET, height - 26.0);
        let rows_at = |size: f64| broken(text, size, true, inner);
        let fits = |size: &f64| {
            text.split_whitespace().all(|word| text_width(word, *size, true) <= inner)
                && rows_at(*size).len() as f64 * size * LEADING <= room
        };
        let size = [21.0, TEXT].into_iter().find(fits).unwrap_or(TEXT);
        let mut y = at.y + 26.0;
        for row in rows_at(size) {
            y += size * LEADING;
            if y > at.y + height {
                break;
            }
            let base = Point::new(at.x + INSET, y - size * 0.35);
            group = group.add(text_node(&row, base, size, true, false));
        }
        group
    }
}

/// An outline.
fn rectangle(at: Point, width: f64, height: f64, stroke: &str) -> Rectangle {
    Rectangle::new()
        .set("x", number(at.x))
        .set("y", number(at.y))
        .set("width", number(width))
        .set("height", number(height))
        .set("fill", "none")
        .set("stroke", INK)
        .set("stroke-width", stroke)
}

/// The title block: two rows of fields, and at their right the room for a seal.
fn title_block(page: &Page, title: &TitleBlock, scale: &str, sheet: &str) -> Group {
    /// Share of the width that the seal takes.
    const SEAL: f64 = 0.1;
    let size = page.paper.size();
    let (x0, y0) = (MARGIN, size.y - MARGIN - TITLE_BLOCK);
    let whole = size.x - 2.0 * MARGIN;
    // Fields with their share of the width.
    let rows: [&[(&str, &str, f64)]; 2] = [
        &[
            ("Project", &title.project, 0.27),
            ("Drawing", &page.name, 0.45),
            ("Scale", scale, 0.09),
            ("Sheet", sheet, 0.09),
        ],
        // Those without a text are filled in by hand.
        &[
            ("Address", &title.address, 0.27),
            ("Parcel", &title.parcel, 0.15),
            ("Prepared by", &title.prepared_by, 0.19),
            ("Date", &title.date, 0.11),
            ("Checked by", "", 0.09),
            ("Revision", "", 0.09),
        ],
    ];
    let mut group = Group::new();
    let mut y = y0;
    for (row, height) in rows.into_iter().zip(TITLE_ROWS) {
        let mut x = x0;
        for (label, text, share) in row {
            let width = whole * share;
            group = group.add(Field { label, text, at: Point::new(x, y), width, height }.node());
            x += width;
        }
        y += height;
    }
    let seal_at = Point::new(x0 + whole * (1.0 - SEAL), y0);
    let seal = Field { label: "Seal", text: "", at: seal_at, width: whole * SEAL, height: TITLE_BLOCK };
    group.add(seal.node()).add(rectangle(Point::new(x0, y0), whole, TITLE_BLOCK, "2.4"))
}
