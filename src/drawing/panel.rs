//! Paints a panel: items, texts at their places, the frame, and the strip below with scale bars and north.
use super::curve::{number, path_data};
use super::labels::Rect;
use super::scene::{Geom, Item, Panel, Role, View};
use super::style::{self, INK};
use super::svg::text_node;
use super::texts::{TICK, bracket, dimension_ends, is_shown, placed_texts, witness_from};
use crate::geometry::Point;
use svg::Node;
use svg::node::element::{Circle, Element, Group, Path, Rectangle, Text};

/// Height of the strip of scale bar and north arrow below a panel.
pub(super) const STRIP: f64 = 50.0;

/// Width of the opening's line with its edges of ink.
const GATE_EDGE: f64 = 8.0;

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

/// A panel as a picture within the picture, so that parts that reach beyond it are cut off without a clip path, whose
/// name could clash when several drawings stand in one page.
///
/// `moving` is painted over the items and under the texts; the items that represent the moving vehicle in a still
/// picture are then put in groups of class "still", so that a page can hide them while the vehicle itself moves.
pub(super) fn panel_node(panel: &Panel, at: Point, moving: Option<Element>) -> Element {
    let view = &panel.view;
    let mut inner = Group::new();
    inner = inner.add(
        Rectangle::new()
            .set("width", number(view.width))
            .set("height", number(view.height))
            .set("fill", "#fbfaf7"),
    );
    let of_vehicle =
        |role: Role| matches!(role, Role::Ghost | Role::Stand | Role::Tire | Role::Glass | Role::Trim);
    let still = |item: &Item| moving.is_some() && of_vehicle(item.role);
    let shown: Vec<Item> = panel.items.iter().filter(|item| is_shown(item, view)).cloned().collect();
    for run in shown.chunk_by(|a, b| still(a) == still(b)) {
        let nodes = run.iter().map(|item| item_node(item, view));
        inner = match run.first() {
            Some(first) if still(first) => {
                inner.add(nodes.fold(Group::new().set("class", "still"), Group::add))
            }
            _ => nodes.fold(inner, Group::add),
        };
    }
    if let Some(moving) = moving {
        inner = inner.add(moving);
    }
    let mut texts = Group::new();
    for text in placed_texts(panel) {
        if text.on_line {
            texts = texts.add(paper(&text.rect));
        }
        if let Some(ends) = text.leader {
            texts = texts.add(leader(ends, text.strong));
        }
        for (line, row) in text.lines.iter().zip(rows(&text.rect, text.lines.len())) {
            texts = texts.add(label_text(line, &row, text.size, text.strong));
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
    for (name, value) in [("x", at.x), ("y", at.y), ("width", view.width), ("height", view.height)] {
        picture.assign(name, number(value));
    }
    picture.append(inner);
    picture.append(texts);
    picture.append(frame);
    picture
}

fn item_node(item: &Item, view: &View) -> Element {
    let page = |points: &[Point]| points.iter().map(|p| view.page(*p)).collect::<Vec<_>>();
    let rings = |rings: &[Vec<Point>], smooth: bool| {
        rings.iter().map(|ring| path_data(&page(ring), true, smooth)).collect::<String>()
    };
    match &item.geom {
        Geom::Area(r) => styled(rings(r, false), item.role).into(),
        Geom::Smooth(r) => styled(rings(r, true), item.role).into(),
        Geom::Line(points) if item.role == Role::GateLine => {
            // Edged with ink: on a gray copy amber has the tone of the wheel tracks it runs over.
            let data = path_data(&page(points), false, false);
            let edge =
                styled(data.clone(), item.role).set("stroke", INK).set("stroke-width", number(GATE_EDGE));
            Group::new().add(edge).add(styled(data, item.role)).into()
        }
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
            let bracket = bracket(view, *at, *from);
            let style = style::of(item.role);
            let (a, b) = bracket.gap;
            let line = |data: String, color: &str, width: f64| {
                Path::new()
                    .set("d", data)
                    .set("fill", "none")
                    .set("stroke", color)
                    .set("stroke-width", number(width))
            };
            let outline = path_data(&bracket.corners, false, false);
            let mut group = Group::new();
            if a.distance(b) > 1.0 {
                group = group.add(line(path_data(&[a, b], false, false), "#ffffff", 8.0)).add(line(
                    path_data(&[a, b], false, false),
                    style.stroke,
                    5.0,
                ));
            }
            group
                .add(line(outline.clone(), "#ffffff", 6.5))
                .add(line(outline, style.stroke, style.width))
                .into()
        }
        Geom::Dimension { from, to, away, offset, .. } => {
            let (a, b) = dimension_ends(view, *from, *to, *away, *offset);
            let along = (b - a).unit().unwrap_or(Point::new(1.0, 0.0));
            let tick = (along + along.left()) * TICK;
            let mut data = path_data(&[a, b], false, false);
            for (end, start) in [(a, view.page(*from)), (b, view.page(*to))] {
                data.push_str(&path_data(&[end - tick, end + tick], false, false));
                let start = witness_from(start, end);
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

/// Paper under the text of a dimension.
fn paper(rect: &Rect) -> Rectangle {
    Rectangle::new()
        .set("x", number(rect.x0))
        .set("y", number(rect.y0))
        .set("width", number(rect.x1 - rect.x0))
        .set("height", number(rect.y1 - rect.y0))
        .set("rx", "4")
        .set("fill", "#ffffff")
        .set("fill-opacity", "0.85")
}

fn rows(rect: &Rect, count: usize) -> impl Iterator<Item = Rect> + '_ {
    let height = (rect.y1 - rect.y0) / count.max(1) as f64;
    (0..count).map(move |i| {
        let y0 = rect.y0 + height * i as f64;
        Rect { x0: rect.x0, y0, x1: rect.x1, y1: y0 + height }
    })
}

fn label_text(text: &str, rect: &Rect, size: f64, strong: bool) -> Text {
    let at = Point::new(rect.middle().x, rect.middle().y + size * 0.36);
    text_node(text, at, size, strong, true).set("text-anchor", "middle")
}

/// A thin line from a label to the point it refers to.
fn leader((from, to): (Point, Point), strong: bool) -> Path {
    Path::new()
        .set("d", path_data(&[from, to], false, false))
        .set("stroke", INK)
        .set("stroke-width", number(if strong { 1.6 } else { 0.8 }))
}

/// Scale bars in feet and in meters, and the north arrow if there is a north.
pub(super) fn strip(panel: &Panel, at: Point) -> Group {
    let (view, text_size) = (&panel.view, panel.text_size);
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
        let (x, y) = (at.x, at.y + 8.0 + (text_size + 3.0) * i as f64);
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
        group = group.add(text_node(&label, Point::new(x + length + 8.0, y + 11.0), text_size, false, false));
    }
    if !panel.north {
        return group;
    }
    let north = view.direction(Point::new(0.0, 1.0));
    let middle = Point::new(at.x + view.width - 52.0, at.y + STRIP / 2.0);
    let (tip, tail, side) = (middle + north * 19.0, middle - north * 19.0, north.left() * 9.0);
    let wedge = |side: Point, fill: &str| {
        Path::new()
            .set("d", path_data(&[tip, tail + side, middle - north * 9.0], true, false))
            .set("fill", fill)
            .set("stroke", INK)
    };
    // Clear of the arrow whatever its direction.
    let n = Point::new(middle.x + 26.0, middle.y + 7.0);
    group.add(wedge(side, INK)).add(wedge(-side, "#ffffff")).add(text_node("N", n, text_size, true, false))
}

/// A cross over a thing that is hit, which a gray copy shows too.
pub(super) fn cross_lines(at: Point, half: f64) -> [Geom; 2] {
    [-1.0, 1.0].map(|side| {
        let arm = Point::new(half, side * half);
        Geom::Line(vec![at - arm, at + arm])
    })
}

/// A sample of a part, drawn by the same code as the part itself.
pub(super) fn swatch(role: Role, middle: Point) -> Element {
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
        Role::Boundary => Geom::Line(vec![p(-21.0, 0.0), p(21.0, 0.0)]),
        Role::Fence | Role::Path | Role::LeadPath | Role::WheelPath | Role::GateLine => {
            Geom::Line(vec![p(-19.0, 0.0), p(19.0, 0.0)])
        }
        Role::Post | Role::PostNeeded | Role::Hit => block(7.0, 7.0),
        Role::Leaf => block(19.0, 3.0),
        Role::Eye => Geom::Disc { center: p(0.0, 0.0), radius_m: 5.0 },
        _ => block(18.0, 8.0),
    };
    let node = item_node(&Item::new(role, geom), &view);
    if role == Role::Hit {
        let lines = cross_lines(p(0.0, 0.0), 11.0).map(|line| item_node(&Item::new(role, line), &view));
        return lines.into_iter().fold(Group::new().add(node), Group::add).into();
    }
    if role != Role::Contact {
        return node;
    }
    let style = style::of(role);
    let bracket = [(-15.0, -2.0), (-15.0, -10.0), (15.0, -10.0), (15.0, -2.0)];
    let line = |points: &[(f64, f64)], width: f64| {
        let points: Vec<Point> = points.iter().map(|(x, y)| middle + Point::new(*x, *y)).collect();
        let path = Path::new().set("d", path_data(&points, false, false)).set("fill", "none");
        path.set("stroke", style.stroke).set("stroke-width", number(width))
    };
    Group::new().add(line(&[(-15.0, 6.0), (15.0, 6.0)], 5.0)).add(line(&bracket, style.width)).into()
}
