//! Placement of a panel's texts: dimensions on their lines, labels near the points they refer to, none over another.
use super::labels::{Placer, Rect, TEXT_SIZE, text_width, wrap};
use super::scene::{Geom, Item, Label, Panel, Role, View};
use crate::geometry::Point;

/// Half the size of the mark of a contact, and the distance labels keep from it.
pub(super) const MARK: f64 = 9.0;

/// Longest drawn gap that labels avoid while they can.
const LONGEST_GAP: f64 = 300.0;

/// A text that has found its place on a panel, page units from the panel's upper left corner.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedText {
    /// The box it fills.
    pub rect: Rect,
    /// Its lines.
    pub lines: Vec<String>,
    /// True if it is heavy.
    pub strong: bool,
    /// True if it stands on a line of its own, which it interrupts.
    pub on_line: bool,
    /// The end of its leader line, if it has one.
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

/// Largest diameter of a disc that is hidden by a label that lies on it.
const SMALL_DISC: f64 = 40.0;

/// Keeps labels off marks, posts, poles and the heavy outlines' corners.
fn block(placer: &mut Placer, item: &Item, view: &View) {
    match &item.geom {
        Geom::Mark { at, from } => {
            let (a, b) = (view.page(*at), view.page(*from));
            placer.block(Rect::around(a, 2.2 * MARK, 2.2 * MARK));
            // The gap itself, along its length.
            let mut along = MARK;
            while along < a.distance(b).min(LONGEST_GAP) {
                placer.avoid(Rect::around(a + (b - a) * (along / a.distance(b)), MARK, MARK));
                along += MARK;
            }
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
        Geom::Disc { center, radius_m } => {
            let side = 2.0 * (radius_m * view.scale).max(2.0) + 4.0;
            if side < SMALL_DISC {
                placer.block(Rect::around(view.page(*center), side, side));
            }
        }
        Geom::Arrow { from, to } => {
            let (a, b) = (view.page(*from), view.page(*to));
            let (w, h) = ((a.x - b.x).abs() + 16.0, (a.y - b.y).abs() + 16.0);
            placer.block(Rect::around((a + b) * 0.5, w, h));
        }
        _ => {}
    }
}

pub(super) fn dimension_ends(
    view: &View,
    from: Point,
    to: Point,
    away: Point,
    offset: f64,
) -> (Point, Point) {
    let off = view.direction(away) * offset;
    (view.page(from) + off, view.page(to) + off)
}

/// The boxes covered by a dimension line and its two witness lines, if they lie along the page's edges.
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

/// In one line, or in two if one finds no room.
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

/// True if a place of the page lies on a surface (even-odd).
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
