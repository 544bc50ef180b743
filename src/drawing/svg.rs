//! Writes a sheet as SVG: portrait, 640 units wide, one file that stands alone.
use super::curve::{number, path_data};
use super::labels::{Placer, Rect, TEXT_SIZE, text_width, wrap};
use super::scene::{Geom, Item, Label, PAGE_MARGIN, PAGE_WIDTH, PANEL_WIDTH, Panel, Role, Sheet, View};
use super::style::{self, INK};
use crate::geometry::Point;
use svg::Node;
use svg::node::element::{
    Circle, Definitions, Description, Element, Group, Line, Path, Pattern, Rectangle, SVG, Text, Title,
};

/// Height of a line of text over its size.
const LEADING: f64 = 1.3;
/// Size of the title and of the first line below it.
const TITLE_SIZE: f64 = 27.0;
const LEAD_SIZE: f64 = 21.0;
/// The halo that keeps text readable over lines.
const HALO: f64 = 5.0;
/// Half the size of the mark of a contact, and how far labels keep from it.
const MARK: f64 = 9.0;
/// Height of the strip of scale bar and north arrow below a panel.
const STRIP: f64 = 50.0;

/// A sheet as SVG text.
#[must_use]
pub fn write(sheet: &Sheet) -> String {
    let mut body = Group::new();
    let mut y = PAGE_MARGIN;
    let mut say = |body: Group, text: &str, size: f64, strong: bool| {
        let mut body = body;
        for line in wrap(text, size, strong, PANEL_WIDTH) {
            y += size * LEADING;
            let baseline = y - size * 0.3;
            body = body.add(text_node(&line, Point::new(PAGE_MARGIN, baseline), size, strong, false));
        }
        body
    };
    body = say(body, &sheet.title, TITLE_SIZE, true);
    for (i, line) in sheet.lines.iter().enumerate() {
        let size = if i == 0 { LEAD_SIZE } else { TEXT_SIZE };
        body = say(body, line, size, i == 0);
    }
    y += 10.0;
    for panel in &sheet.panels {
        if let Some(heading) = &panel.heading {
            for line in wrap(heading, LEAD_SIZE, true, PANEL_WIDTH) {
                y += LEAD_SIZE * LEADING;
                body = body.add(text_node(&line, Point::new(PAGE_MARGIN, y - 8.0), LEAD_SIZE, true, false));
            }
        }
        body = body.add(panel_node(panel, y));
        y += panel.view.height;
        if panel.scale_bar {
            body = body.add(strip(&panel.view, y, panel.north));
            y += STRIP;
        }
        y += 8.0;
    }
    if sheet.legend {
        let (legend, height) = legend(sheet, y);
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
    document(&title, &sheet.description, (y + PAGE_MARGIN).ceil(), body)
}

/// A page 640 units wide as a file that stands alone: title and description for someone who cannot see it, and the body.
pub(super) fn document(title: &str, description: &str, height: f64, body: Group) -> String {
    let document = SVG::new()
        .set("xmlns", "http://www.w3.org/2000/svg")
        .set("viewBox", format!("0 0 {} {}", number(PAGE_WIDTH), number(height)))
        .set("width", number(PAGE_WIDTH))
        .set("height", number(height))
        .set("style", "max-width:100%;height:auto")
        .set("role", "img")
        .set("font-family", "'DejaVu Sans', Verdana, sans-serif")
        .add(Title::new(title))
        .add(Description::new().add(svg::node::Text::new(description)))
        .add(definitions())
        .add(
            Rectangle::new()
                .set("width", number(PAGE_WIDTH))
                .set("height", number(height))
                .set("fill", "#ffffff"),
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

fn first_line(sheet: &Sheet) -> String {
    sheet.lines.first().map_or_else(String::new, |line| format!(": {line}"))
}

fn definitions() -> Definitions {
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

fn styled(data: String, role: Role) -> Path {
    let style = style::of(role);
    let mut path = Path::new().set("d", data).set("fill", style.fill).set("stroke", style.stroke);
    if style.fill != "none" {
        path = path.set("fill-rule", "evenodd");
        if style.fill_opacity < 1.0 {
            path = path.set("fill-opacity", number(style.fill_opacity));
        }
    }
    if style.stroke != "none" {
        path = path.set("stroke-width", number(style.width)).set("stroke-linejoin", "round");
    }
    if style.dash.is_empty() { path } else { path.set("stroke-dasharray", style.dash) }
}

/// A panel as a picture within the picture, so that what reaches beyond it is cut off without a clip path, whose
/// name could clash when several drawings stand in one page.
fn panel_node(panel: &Panel, y: f64) -> Element {
    let view = &panel.view;
    let mut inner = Group::new();
    inner = inner.add(
        Rectangle::new()
            .set("width", number(view.width))
            .set("height", number(view.height))
            .set("fill", "#fbfaf7"),
    );
    for item in &panel.items {
        inner = inner.add(item_node(item, view));
    }
    let mut texts = Group::new();
    for text in placed_texts(panel) {
        if text.on_line {
            texts = texts.add(paper(&text.rect));
        }
        if let Some(at) = text.leads_to {
            texts = texts.add(leader(&text.rect, at, text.strong));
        }
        for (line, row) in text.lines.iter().zip(rows(&text.rect, text.lines.len())) {
            texts = texts.add(label_text(line, &row, text.strong));
        }
    }
    let frame = Rectangle::new()
        .set("x", "0.5")
        .set("y", "0.5")
        .set("width", number(view.width - 1.0))
        .set("height", number(view.height - 1.0))
        .set("fill", "none")
        .set("stroke", INK);
    let mut picture = Element::new("svg");
    for (name, value) in [("x", PAGE_MARGIN), ("y", y), ("width", view.width), ("height", view.height)] {
        picture.assign(name, number(value));
    }
    picture.append(inner);
    picture.append(texts);
    picture.append(frame);
    picture
}

/// A text that has found its place on a panel, page units from the panel's upper left corner.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedText {
    /// The box it fills.
    pub rect: Rect,
    /// Its lines.
    pub lines: Vec<String>,
    /// Whether it is heavy.
    pub strong: bool,
    /// Whether it stands on a line of its own, which it interrupts.
    pub on_line: bool,
    /// What a line leads to from it.
    pub leads_to: Option<Point>,
}

/// Every text of a panel at its place: dimensions first, then labels in their order. None meets another.
#[must_use]
pub fn placed_texts(panel: &Panel) -> Vec<PlacedText> {
    let view = &panel.view;
    let mut placer = Placer::new(view.width, view.height);
    for item in &panel.items {
        block(&mut placer, item, view);
    }
    for (at, radius_m) in &panel.busy {
        let side = 1.6 * radius_m * view.scale;
        placer.avoid(Rect::around(view.page(*at), side, side));
    }
    let mut texts = Vec::new();
    for item in &panel.items {
        if let Geom::Dimension { from, to, away, offset, text } = &item.geom {
            let (a, b) = dimension_ends(view, *from, *to, *away, *offset);
            if let Some(rect) = place_dimension(&mut placer, a, b, text) {
                let lines = vec![text.clone()];
                texts.push(PlacedText { rect, lines, strong: false, on_line: true, leads_to: None });
            }
            dimension_boxes(view, &item.geom).into_iter().for_each(|rect| placer.block(rect));
        }
    }
    for label in &panel.labels {
        let Some((rect, lines)) = place_label(&mut placer, label, view) else { continue };
        let places = std::iter::once(&label.at).chain(&label.or_at).map(|p| view.page(*p));
        let near = |p: &Point| p.distance(rect.middle());
        let leads_to = places.filter(|_| label.leader).min_by(|a, b| near(a).total_cmp(&near(b)));
        texts.push(PlacedText { rect, lines, strong: label.strong, on_line: false, leads_to });
    }
    texts
}

/// Keeps labels off marks, posts and the heavy outlines' corners.
fn block(placer: &mut Placer, item: &Item, view: &View) {
    match &item.geom {
        Geom::Mark { at, .. } => {
            placer.block(Rect::around(view.page(*at), 2.2 * MARK, 2.2 * MARK));
        }
        Geom::Area(rings) if matches!(item.role, Role::Post | Role::PostNeeded) => {
            let mut rect: Option<Rect> = None;
            for p in rings.iter().flatten().map(|p| view.page(*p)) {
                let r = rect.get_or_insert(Rect { x0: p.x, y0: p.y, x1: p.x, y1: p.y });
                *r = Rect { x0: r.x0.min(p.x), y0: r.y0.min(p.y), x1: r.x1.max(p.x), y1: r.y1.max(p.y) };
            }
            // A leaf standing open spans a large box of which it covers little.
            rect.filter(|r| item.role == Role::Post || r.x1 - r.x0 < 40.0)
                .into_iter()
                .for_each(|r| placer.block(r));
        }
        Geom::Arrow { from, to } => {
            let (a, b) = (view.page(*from), view.page(*to));
            let (w, h) = ((a.x - b.x).abs() + 16.0, (a.y - b.y).abs() + 16.0);
            placer.block(Rect::around((a + b) * 0.5, w, h));
        }
        _ => {}
    }
}

fn item_node(item: &Item, view: &View) -> Element {
    let page = |points: &[Point]| points.iter().map(|p| view.page(*p)).collect::<Vec<_>>();
    let rings = |rings: &[Vec<Point>], smooth: bool| {
        rings.iter().map(|ring| path_data(&page(ring), true, smooth)).collect::<String>()
    };
    match &item.geom {
        Geom::Area(r) => styled(rings(r, false), item.role).into(),
        Geom::Smooth(r) => styled(rings(r, true), item.role).into(),
        Geom::Line(points) => styled(path_data(&page(points), false, false), item.role).into(),
        Geom::Curve(points) => styled(path_data(&page(points), false, true), item.role).into(),
        Geom::Disc { center, radius_m } => {
            let (c, r) = (view.page(*center), radius_m * view.scale);
            let style = style::of(item.role);
            let mut circle = Circle::new()
                .set("cx", number(c.x))
                .set("cy", number(c.y))
                .set("r", number(r.max(2.0)))
                .set("fill", style.fill)
                .set("stroke", style.stroke)
                .set("stroke-width", number(style.width));
            if !style.dash.is_empty() {
                circle = circle.set("stroke-dasharray", style.dash);
            }
            circle.into()
        }
        Geom::Arrow { from, to } => {
            let (a, b) = (view.page(*from), view.page(*to));
            let along = (b - a).unit().unwrap_or(Point::new(1.0, 0.0));
            let (across, neck) = (along.left() * 9.0, b - along * 20.0);
            let shaft = path_data(&[a, neck], false, false);
            let head = path_data(&[b, neck + across, neck - across], true, false);
            let style = style::of(item.role);
            let shaft = Path::new()
                .set("d", shaft)
                .set("stroke", style.stroke)
                .set("stroke-width", number(style.width));
            Group::new().add(shaft).add(Path::new().set("d", head).set("fill", style.fill)).into()
        }
        Geom::Mark { at, from } => {
            let (c, opposite) = (view.page(*at), view.page(*from));
            let style = style::of(item.role);
            let ring = |r: f64, color: &str, width: f64| {
                Circle::new()
                    .set("cx", number(c.x))
                    .set("cy", number(c.y))
                    .set("r", number(r))
                    .set("fill", "none")
                    .set("stroke", color)
                    .set("stroke-width", number(width))
            };
            let gap = Path::new()
                .set("d", path_data(&[c, opposite], false, false))
                .set("stroke", style.stroke)
                .set("stroke-width", number(style.width));
            let dot = ring(1.5, style.stroke, 3.0);
            Group::new()
                .add(gap)
                .add(ring(MARK, "#ffffff", 6.5))
                .add(ring(MARK, style.stroke, style.width))
                .add(dot)
                .into()
        }
        Geom::Dimension { from, to, away, offset, .. } => {
            let (a, b) = dimension_ends(view, *from, *to, *away, *offset);
            let along = (b - a).unit().unwrap_or(Point::new(1.0, 0.0));
            let tick = (along + along.left()) * 6.0;
            let mut data = path_data(&[a, b], false, false);
            for (end, start) in [(a, view.page(*from)), (b, view.page(*to))] {
                data.push_str(&path_data(&[end - tick, end + tick], false, false));
                if let Some(out) = (end - start).unit() {
                    data.push_str(&path_data(&[start + out * 6.0, end + out * 6.0], false, false));
                }
            }
            let halo = Path::new()
                .set("d", data.clone())
                .set("fill", "none")
                .set("stroke", "#ffffff")
                .set("stroke-opacity", "0.8")
                .set("stroke-width", "4.5");
            Group::new().add(halo).add(styled(data, item.role)).into()
        }
    }
}

fn dimension_ends(view: &View, from: Point, to: Point, away: Point, offset: f64) -> (Point, Point) {
    let off = view.direction(away) * offset;
    (view.page(from) + off, view.page(to) + off)
}

/// What a dimension line and its two witness lines cover, where they lie along the page's edges.
fn dimension_boxes(view: &View, geom: &Geom) -> Vec<Rect> {
    let Geom::Dimension { from, to, away, offset, .. } = geom else { return Vec::new() };
    let (a, b) = dimension_ends(view, *from, *to, *away, *offset);
    let lines = [(a, b), (view.page(*from), a), (view.page(*to), b)];
    let thin = |(p, q): (Point, Point)| {
        let rect = Rect::around((p + q) * 0.5, (p.x - q.x).abs() + 6.0, (p.y - q.y).abs() + 6.0);
        ((p.x - q.x).abs().min((p.y - q.y).abs()) < 12.0).then_some(rect)
    };
    lines.into_iter().filter_map(thin).collect()
}

/// Paper under a text that stands on its own line.
fn paper(rect: &Rect) -> Rectangle {
    Rectangle::new()
        .set("x", number(rect.x0))
        .set("y", number(rect.y0))
        .set("width", number(rect.x1 - rect.x0))
        .set("height", number(rect.y1 - rect.y0))
        .set("rx", "4")
        .set("fill", "#ffffff")
}

/// On the line if it is long enough and lies flat, else beside it.
fn place_dimension(placer: &mut Placer, a: Point, b: Point, text: &str) -> Option<Rect> {
    let (width, height) = (text_width(text, TEXT_SIZE, false) + 6.0, TEXT_SIZE * 1.25);
    let middle = (a + b) * 0.5;
    let flat = (a.y - b.y).abs() < 0.2 * (a.x - b.x).abs();
    if flat {
        let on = Rect::around(middle, width, height);
        let fits = width + 16.0 < (a.x - b.x).abs();
        if fits && placer.take(on) {
            return Some(on);
        }
        let right = if a.x > b.x { a } else { b };
        let left = if a.x > b.x { b } else { a };
        for at in [
            Point::new(right.x + width / 2.0 + 12.0, right.y),
            Point::new(left.x - width / 2.0 - 12.0, left.y),
        ] {
            let beside = Rect::around(at, width, height);
            if placer.take(beside) {
                return Some(beside);
            }
        }
    }
    placer.place_near(&[middle], width, height, 8.0, 220.0)
}

/// One line, or two where one finds no room.
fn place_label(placer: &mut Placer, label: &Label, view: &View) -> Option<(Rect, Vec<String>)> {
    let at: Vec<Point> = std::iter::once(&label.at).chain(&label.or_at).map(|p| view.page(*p)).collect();
    let farthest = if label.optional { 120.0 } else { 420.0 };
    let nearest = if label.strong { MARK + 8.0 } else { 0.0 };
    let whole = text_width(&label.text, TEXT_SIZE, label.strong);
    for limit in [1.0, 0.62] {
        let lines = wrap(&label.text, TEXT_SIZE, label.strong, (whole * limit).max(60.0) + 0.1);
        let width = lines.iter().map(|l| text_width(l, TEXT_SIZE, label.strong)).fold(0.0, f64::max) + 6.0;
        let mut height = 0.0;
        lines.iter().for_each(|_| height += TEXT_SIZE * 1.25);
        if limit == 1.0 && width > view.width * 0.55 && lines.len() == 1 {
            continue;
        }
        if !label.within.is_empty() {
            let on_it = |r: &Rect| r.corners().iter().all(|p| inside(&label.within, view, *p));
            if let Some(rect) = placer.place_on(&at, width, height, on_it) {
                return Some((rect, lines));
            }
            continue;
        }
        if let Some(rect) = placer.place(&at, width, height, nearest, farthest) {
            return Some((rect, lines));
        }
    }
    None
}

/// Whether a place of the page lies on a surface (even-odd).
fn inside(rings: &[Vec<Point>], view: &View, at: Point) -> bool {
    let mut crossings = 0_u32;
    for ring in rings {
        let corners: Vec<Point> = ring.iter().map(|p| view.page(*p)).collect();
        for (i, a) in corners.iter().enumerate() {
            let b = corners[(i + 1) % corners.len()];
            let crosses =
                (a.y > at.y) != (b.y > at.y) && at.x < a.x + (b.x - a.x) * (at.y - a.y) / (b.y - a.y);
            crossings += u32::from(crosses);
        }
    }
    crossings % 2 == 1
}

fn rows(rect: &Rect, count: usize) -> impl Iterator<Item = Rect> + '_ {
    let height = (rect.y1 - rect.y0) / count.max(1) as f64;
    (0..count).map(move |i| {
        let y0 = rect.y0 + height * i as f64;
        Rect { x0: rect.x0, y0, x1: rect.x1, y1: y0 + height }
    })
}

fn label_text(text: &str, rect: &Rect, strong: bool) -> Text {
    let at = Point::new(rect.middle().x, rect.middle().y + TEXT_SIZE * 0.36);
    text_node(text, at, TEXT_SIZE, strong, true).set("text-anchor", "middle")
}

/// A thin line from a label to what it speaks of, if it stands off.
fn leader(rect: &Rect, at: Point, strong: bool) -> Path {
    let near = Point::new(at.x.clamp(rect.x0, rect.x1), at.y.clamp(rect.y0, rect.y1));
    let (from, to) = match (at - near).unit() {
        Some(way) if near.distance(at) > 12.0 => (near, at - way * if strong { MARK + 1.0 } else { 0.0 }),
        _ => (near, near),
    };
    Path::new()
        .set("d", path_data(&[from, to], false, false))
        .set("stroke", INK)
        .set("stroke-width", number(if strong { 1.6 } else { 0.8 }))
}

/// Scale bars in feet and in meters, and the north arrow if there is a north.
fn strip(view: &View, y: f64, has_north: bool) -> Group {
    let mut group = Group::new();
    let nice = |unit_m: f64| {
        let most = 0.34 * view.width / (unit_m * view.scale);
        [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0]
            .into_iter()
            .rfind(|n| *n <= most)
            .unwrap_or(0.5)
    };
    for (i, (unit_m, word)) in [(0.3048, "ft"), (1.0, "m")].into_iter().enumerate() {
        let n = nice(unit_m);
        let (x, y) = (PAGE_MARGIN, y + 8.0 + 21.0 * i as f64);
        let length = n * unit_m * view.scale;
        let half = |from: f64, fill: &str| {
            Rectangle::new()
                .set("x", number(x + from))
                .set("y", number(y))
                .set("width", number(length / 2.0))
                .set("height", "8")
                .set("fill", fill)
                .set("stroke", INK)
        };
        let label = format!("{} {word}", number(n));
        group = group.add(half(0.0, INK)).add(half(length / 2.0, "#ffffff"));
        group = group.add(text_node(&label, Point::new(x + length + 8.0, y + 11.0), TEXT_SIZE, false, false));
    }
    if !has_north {
        return group;
    }
    let north = view.direction(Point::new(0.0, 1.0));
    let middle = Point::new(PAGE_WIDTH - PAGE_MARGIN - 52.0, y + STRIP / 2.0);
    let (tip, tail, side) = (middle + north * 19.0, middle - north * 19.0, north.left() * 9.0);
    let wedge = |side: Point, fill: &str| {
        Path::new()
            .set("d", path_data(&[tip, tail + side, middle - north * 9.0], true, false))
            .set("fill", fill)
            .set("stroke", INK)
    };
    // Clear of the arrow whichever way it points.
    let n = Point::new(middle.x + 26.0, middle.y + 7.0);
    group.add(wedge(side, INK)).add(wedge(-side, "#ffffff")).add(text_node("N", n, TEXT_SIZE, true, false))
}

/// The parts that occur, in two columns.
fn legend(sheet: &Sheet, y: f64) -> (Group, f64) {
    let mut roles: Vec<Role> = sheet.panels.iter().flat_map(|p| &p.items).map(|item| item.role).collect();
    roles.sort_unstable();
    roles.dedup();
    let entries: Vec<(Role, &str)> =
        roles.into_iter().filter_map(|r| style::words(r).map(|w| (r, w))).collect();
    let per_column = entries.len().div_ceil(2).max(1);
    let row = TEXT_SIZE * 1.45;
    let mut group = Group::new();
    for (i, (role, words)) in entries.iter().enumerate() {
        let x = PAGE_MARGIN + PANEL_WIDTH / 2.0 * (i / per_column) as f64;
        let middle = Point::new(x + 20.0, y + row * ((i % per_column) as f64 + 0.5));
        group = group.add(swatch(*role, middle));
        let at = Point::new(x + 48.0, middle.y + TEXT_SIZE * 0.36);
        group = group.add(text_node(words, at, TEXT_SIZE, false, false));
    }
    (group, row * per_column as f64)
}

/// A sample of a part, drawn by the same code as the part itself.
fn swatch(role: Role, middle: Point) -> Element {
    let view = View {
        center: Point::new(middle.x, -middle.y),
        up: Point::new(0.0, 1.0),
        scale: 1.0,
        width: 2.0 * middle.x,
        height: 2.0 * middle.y,
    };
    let p = |x: f64, y: f64| Point::new(middle.x + x, -middle.y + y);
    let block = |w: f64, h: f64| Geom::Area(vec![vec![p(-w, -h), p(w, -h), p(w, h), p(-w, h)]]);
    let geom = match role {
        Role::Fence | Role::Path | Role::LeadPath | Role::WheelPath => {
            Geom::Line(vec![p(-19.0, 0.0), p(19.0, 0.0)])
        }
        Role::Contact => Geom::Mark { at: p(0.0, 0.0), from: p(0.0, 0.0) },
        Role::Post | Role::PostNeeded => block(7.0, 7.0),
        Role::Leaf => block(19.0, 3.0),
        _ => block(18.0, 8.0),
    };
    item_node(&Item::new(role, geom), &view)
}
