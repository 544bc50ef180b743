//! Placement of a panel's texts: dimensions above their lines, labels near the points they refer to, none over another,
//! none on the ground a vehicle covers.
use super::ink::Ink;
use super::labels::{Placer, Rect, text_width, wrap};
use super::scene::{Geom, Item, Label, Panel, Role, View};
use crate::geometry::Point;

/// Size of the text of the dimension a panel is about.
pub const OPENING_TEXT: f64 = 26.0;
/// Distance of the bracket beside a gap from it, and the shortest bracket.
const BRACKET_OFF: f64 = 24.0;
const BRACKET_LEAST: f64 = 18.0;
/// Half the length of the ticks at the ends of a dimension.
pub(super) const TICK: f64 = 6.0;
/// Longest drawn gap that labels avoid while they can.
const LONGEST_GAP: f64 = 300.0;
/// Distance from which a text needs a line to what it names.
const LEADS: f64 = 12.0;
/// Least distance of an optional label from the path: half a cell of the raster.
const OFF_PATH: f64 = 2.0;
/// Largest diameter of a disc that is hidden by a label that lies on it.
const SMALL_DISC: f64 = 40.0;

/// A text that has found its place on a panel, page units from the panel's upper left corner.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedText {
    /// The box it fills.
    pub rect: Rect,
    /// Its lines.
    pub lines: Vec<String>,
    /// Size of its letters.
    pub size: f64,
    /// True if it is heavy.
    pub strong: bool,
    /// True if it is the text of a dimension.
    pub on_line: bool,
    /// The line that leads from it to what it names, if it stands off.
    pub leader: Option<(Point, Point)>,
}

/// Number of times that labels are placed again in another order, where one that must be there found no place off the path.
const MOST_ORDERS: usize = 4;

/// Every text of a panel at its place: dimensions first, then labels in their order, or in another one where some of them
/// find no place off the path otherwise. None meets another.
#[must_use]
pub fn placed_texts(panel: &Panel) -> Vec<PlacedText> {
    let view = &panel.view;
    let ink = Ink::of(panel);
    let mut placer = Placer::new(view.width, view.height);
    for item in &panel.items {
        block(&mut placer, item, view);
    }
    let mut texts = Vec::new();
    for item in panel.items.iter().filter(|item| is_shown(item, view)) {
        if let Geom::Dimension { from, to, away, offset, text } = &item.geom {
            let (a, b) = dimension_ends(view, *from, *to, *away, *offset);
            let strong = item.role == Role::Opening;
            texts.extend(place_dimension(&mut placer, &ink, (a, b), (text, strong), panel.text_size));
        }
    }
    let brackets: Vec<(Point, Point)> = panel
        .items
        .iter()
        .filter_map(|item| match item.geom {
            Geom::Mark { at, from } => Some((at, bracket(view, at, from).tip)),
            _ => None,
        })
        .collect();
    let label_points = |label: &Label| -> Vec<Point> {
        let at = std::iter::once(&label.at).chain(&label.or_at).map(|p| {
            let tip = brackets.iter().find(|(at, _)| label.strong && at == p);
            tip.map_or_else(|| view.page(*p), |(_, tip)| *tip)
        });
        at.collect()
    };
    // Labels in this order, and those that found no place off the path though they must be there.
    let placed = |order: &[usize]| {
        let mut placer = placer.clone();
        let mut places: Vec<Option<PlacedText>> = vec![None; panel.labels.len()];
        let mut crowded = Vec::new();
        for index in order.iter().copied() {
            let label = &panel.labels[index];
            places[index] =
                place_label(&mut placer, &ink, label, &label_points(label), (view, panel.text_size));
            if !label.optional && places[index].as_ref().is_none_or(|text| ink.path_in(&text.rect) > 0) {
                crowded.push(index);
            }
        }
        (places, crowded)
    };
    let mut order: Vec<usize> = (0..panel.labels.len()).collect();
    let mut best = placed(&order);
    let mut crowded = best.1.clone();
    for _ in 0..MOST_ORDERS {
        if best.1.is_empty() {
            break;
        }
        // Those that found no place come first.
        order.sort_by_key(|index| !crowded.contains(index));
        let other = placed(&order);
        crowded.clone_from(&other.1);
        if other.1.len() < best.1.len() {
            best = other;
        }
    }
    texts.extend(best.0.into_iter().flatten());
    texts
}

/// True unless the item is a dimension with an end off the panel: half a dimension says nothing.
pub(super) fn is_shown(item: &Item, view: &View) -> bool {
    let Geom::Dimension { from, to, away, offset, .. } = &item.geom else { return true };
    let (a, b) = dimension_ends(view, *from, *to, *away, *offset);
    [a, b].iter().all(|p| p.x >= TICK && p.y >= TICK && p.x <= view.width - TICK && p.y <= view.height - TICK)
}

/// Where the witness line of a dimension's end begins: at the point measured, or if that is far off near the end alone, so
/// that it runs neither through what lies between nor through the texts of dimensions there.
pub(super) fn witness_from(point: Point, end: Point) -> Point {
    match (end - point).unit() {
        Some(out) if end.distance(point) > 60.0 => end - out * 24.0,
        _ => point,
    }
}

/// The bracket beside a gap: the gap's two ends, the feet and corners of the bracket, and the middle of its back.
pub(super) struct Bracket {
    pub(super) gap: (Point, Point),
    pub(super) corners: [Point; 4],
    pub(super) tip: Point,
}

/// The bracket of a gap, on the side that is up on the page.
pub(super) fn bracket(view: &View, at: Point, from: Point) -> Bracket {
    let (a, b) = (view.page(at), view.page(from));
    let along = (b - a).unit().filter(|_| a.distance(b) > 1.0).unwrap_or(Point::new(1.0, 0.0));
    let mut off = along.left();
    if off.y > 0.05 || (off.y.abs() <= 0.05 && off.x < 0.0) {
        off = -off;
    }
    // Off the panel's upper edge it stands on the other side.
    let middle = (a + b) * 0.5;
    let back = middle + off * BRACKET_OFF;
    if back.x < 8.0 || back.y < 8.0 || back.x > view.width - 8.0 || back.y > view.height - 8.0 {
        off = -off;
    }
    let half = 0.5 * a.distance(b).max(BRACKET_LEAST);
    let (low, high) = (0.3 * BRACKET_OFF, BRACKET_OFF);
    let corner = |side: f64, far: f64| middle + along * (side * half) + off * far;
    Bracket {
        gap: (a, b),
        corners: [corner(-1.0, low), corner(-1.0, high), corner(1.0, high), corner(1.0, low)],
        tip: middle + off * high,
    }
}

/// Keeps labels off marks, posts, poles, the ends and lines of dimensions.
fn block(placer: &mut Placer, item: &Item, view: &View) {
    match &item.geom {
        Geom::Mark { at, from } => {
            let bracket = bracket(view, *at, *from);
            let (a, b) = bracket.gap;
            block_line(placer, a, if a.distance(b) < LONGEST_GAP { b } else { a }, 8.0);
            for pair in bracket.corners.windows(2) {
                block_line(placer, pair[0], pair[1], 5.0);
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
        Geom::Dimension { from, to, away, offset, .. } if is_shown(item, view) => {
            let (a, b) = dimension_ends(view, *from, *to, *away, *offset);
            for end in [a, b] {
                placer.block(Rect::around(end, 2.0 * TICK + 2.0, 2.0 * TICK + 2.0));
            }
            let [from, to] = [(*from, a), (*to, b)].map(|(p, end)| witness_from(view.page(p), end));
            for (p, q) in [(a, b), (from, a), (to, b)] {
                block_line(placer, p, q, 4.0);
            }
        }
        _ => {}
    }
}

/// Blocks a line by boxes along it.
pub(super) fn block_line(placer: &mut Placer, a: Point, b: Point, thick: f64) {
    if (a.x - b.x).abs().min((a.y - b.y).abs()) < 1.0 {
        let (w, h) = ((a.x - b.x).abs() + thick, (a.y - b.y).abs() + thick);
        placer.block(Rect::around((a + b) * 0.5, w, h));
        return;
    }
    let steps = (a.distance(b) / thick).ceil().clamp(1.0, 500.0);
    let mut step = 0.0;
    while step <= steps {
        placer.block(Rect::around(a + (b - a) * (step / steps), thick, thick));
        step += 1.0;
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

/// Above the line if it is long enough and lies flat, else beyond one of its ends, above it all the same, or beside it.
fn place_dimension(
    placer: &mut Placer,
    ink: &Ink,
    (a, b): (Point, Point),
    (text, strong): (&str, bool),
    text_size: f64,
) -> Option<PlacedText> {
    // The large text is set smaller where its line is too short for it.
    let room = (a.x - b.x).abs() - 2.0 * TICK - 14.0;
    let large = strong && text_width(text, OPENING_TEXT, true) < room;
    let size = if large { OPENING_TEXT } else { text_size };
    let (width, height) = (text_width(text, size, strong) + 6.0, size * 1.25);
    let middle = (a + b) * 0.5;
    let placed = |rect: Rect, leader: Option<(Point, Point)>| PlacedText {
        rect,
        lines: vec![text.to_owned()],
        size,
        strong,
        on_line: true,
        leader,
    };
    let (left, right) = if a.x < b.x { (a, b) } else { (b, a) };
    let flat = (a.y - b.y).abs() < 0.2 * (a.x - b.x).abs();
    if flat {
        let above = middle - Point::new(0.0, 0.5 * height + 2.5);
        let slope = 0.5 * width * (a.y - b.y).abs() / (a.x - b.x).abs().max(1.0);
        let fits = width + 2.0 * TICK + 6.0 < (a.x - b.x).abs();
        // A little above the level of the line, clear of a text above a line below.
        let up = 0.5 * height - 3.0;
        let beyond = [
            Point::new(right.x + width / 2.0 + 10.0, right.y - up),
            Point::new(left.x - width / 2.0 - 10.0, left.y - up),
        ];
        // Toward the middle of the panel, where there is room.
        let inward = right.x > placer.middle();
        let [first, second] = if inward { [beyond[1], beyond[0]] } else { beyond };
        let on = (above - Point::new(0.0, slope), fits);
        // Over a line shorter than its text, above the ticks of its ends.
        let over = (above - Point::new(0.0, slope + TICK), !fits);
        for (at, _) in [on, (first, true), (second, true), over].into_iter().filter(|(_, fits)| *fits) {
            let rect = Rect::around(at, width, height);
            if placer.take(rect) {
                return Some(placed(rect, None));
            }
        }
    }
    let along: Vec<Point> = [0.5, 0.35, 0.65].map(|share| a + (b - a) * share).to_vec();
    let lead = |rect: &Rect, at: Point| {
        let near = rect.nearest(at);
        (near.distance(at) > LEADS + 8.0).then_some((near, at))
    };
    for on_path in [false, true] {
        let led = |rect: &Rect, at: Point| {
            let Some((near, at)) = lead(rect, at) else { return Some(0.0) };
            Some(placer.lead_price(near, at)? + 2.0 * f64::from(ink.under(near, at)))
        };
        let found = placer.place(&along, (width, height), (4.0, 300.0), |rect, at| {
            let over = ink.path_in(rect);
            let open = on_path || over == 0;
            open.then(|| f64::from(ink.lines_in(rect)) + f64::from(over))
                .zip(led(rect, at))
                .map(|(a, b)| a + b)
        });
        if let Some((_, rect)) = found {
            let of = |p: &Point| Some((rect.nearest(*p).distance(*p) + led(&rect, *p)?, *p));
            let end = along.iter().filter_map(of).min_by(|a, b| a.0.total_cmp(&b.0));
            let leader = end.and_then(|(_, at)| lead(&rect, at));
            placer.text(rect);
            leader.into_iter().for_each(|(near, at)| placer.lead(near, at));
            return Some(placed(rect, leader));
        }
    }
    None
}

/// In as many lines as stand best. A label that must be there is placed on the path if nothing else is
/// free.
fn place_label(
    placer: &mut Placer,
    ink: &Ink,
    label: &Label,
    at: &[Point],
    (view, text_size): (&View, f64),
) -> Option<PlacedText> {
    let farthest = if label.optional { 140.0 } else { 420.0 };
    let nearest = if label.strong { 6.0 } else { 0.0 };
    let whole = text_width(&label.text, text_size, label.strong);
    let ways = if label.optional { &[false][..] } else { &[false, true][..] };
    for on_path in ways {
        let mut best: Option<(f64, PlacedText)> = None;
        // In one line or more; each costs a little.
        for (limit, more) in [(1.0, 0.0), (0.62, 12.0), (0.42, 30.0), (0.3, 60.0)] {
            let lines = wrap(&label.text, text_size, label.strong, (whole * limit).max(60.0) + 0.1);
            let width =
                lines.iter().map(|l| text_width(l, text_size, label.strong)).fold(0.0, f64::max) + 6.0;
            let height = lines.len() as f64 * text_size * 1.25;
            if limit == 1.0 && width > view.width * 0.55 && lines.len() == 1 {
                continue;
            }
            // A name on another thing would be taken for that thing's.
            let own = at.first().is_some_and(|at| ink.solid_in(&Rect::around(*at, 1.0, 1.0)) > 0);
            let elsewhere = |rect: &Rect, near: bool| if own && near { 0 } else { ink.solid_in(rect) };
            let price = |rect: &Rect, near: bool| {
                let other = elsewhere(rect, near);
                // A name that may be left out keeps a little off the path: the raster knows its edge to half a cell.
                let beside = Rect {
                    x0: rect.x0 - OFF_PATH,
                    y0: rect.y0 - OFF_PATH,
                    x1: rect.x1 + OFF_PATH,
                    y1: rect.y1 + OFF_PATH,
                };
                let off = ink.path_in(if label.optional { &beside } else { rect }) == 0;
                let open = (*on_path || off) && !(label.optional && other > 0);
                open.then(|| 3.0 * f64::from(ink.lines_in(rect) + other) + f64::from(ink.path_in(rect)))
            };
            let placed = |rect: Rect, leader: Option<(Point, Point)>| PlacedText {
                rect,
                lines: lines.clone(),
                size: text_size,
                strong: label.strong,
                on_line: false,
                leader,
            };
            let found = if label.within.is_empty() {
                let lead = |rect: &Rect, at: Point| {
                    let near = rect.nearest(at);
                    (label.leader && near.distance(at) > LEADS).then_some((near, at))
                };
                // The price of a box with the point it would stand for; none if its line meets something.
                let led = |rect: &Rect, at: Point| {
                    let Some((near, at)) = lead(rect, at) else { return Some(0.0) };
                    let crosses = label.optional && ink.path_under(near, at) > 0;
                    let price = placer.lead_price(near, at).filter(|_| !crosses)?;
                    Some(price + 4.0 * f64::from(ink.under(near, at)))
                };
                let found = placer.place(at, (width, height), (nearest, farthest), |rect, at| {
                    Some(price(rect, rect.nearest(at).distance(at) <= LEADS)? + led(rect, at)?)
                });
                found.map(|(cost, rect)| {
                    let of = |p: &Point| Some((rect.nearest(*p).distance(*p) + led(&rect, *p)?, *p));
                    let end = at.iter().filter_map(of).min_by(|a, b| a.0.total_cmp(&b.0));
                    (cost, placed(rect, end.and_then(|(_, at)| lead(&rect, at))))
                })
            } else {
                let on_it = |r: &Rect| r.corners().iter().all(|p| inside(&label.within, view, *p));
                let rects = at.iter().map(|p| Rect::around(*p, width, height));
                let good = rects.filter(|r| placer.free(r) && on_it(r));
                let priced = good.filter_map(|r| Some((price(&r, true)?, r)));
                priced.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(cost, rect)| (cost, placed(rect, None)))
            };
            if let Some((cost, text)) = found.map(|(cost, text)| (cost + more, text))
                && best.as_ref().is_none_or(|(least, _)| cost < *least)
            {
                best = Some((cost, text));
            }
        }
        if let Some((_, text)) = best {
            placer.text(text.rect);
            text.leader.into_iter().for_each(|(from, to)| placer.lead(from, to));
            return Some(text);
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
