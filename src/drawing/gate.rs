//! A gate as drawn and as needed: posts, leaves standing open, dimension lines.
use super::ink::Ink;
use super::labels::{Rect, TEXT_SIZE, text_width};
use super::scene::{Geom, Item, Role, View};
use crate::geometry::length::{Round, show, show_drawn};
use crate::geometry::{Point, trig};
use crate::opening::{Answer, Outcome};
use crate::site::{Arrangement, Faces, Gate, Side, Site, Swing};

/// The faces of an opening that was found: as the answer has them, or about the side that stays put.
#[must_use]
pub fn needed_faces(gate: &Gate, answer: &Answer) -> Option<Faces> {
    if answer.outcome != Outcome::Found {
        return None;
    }
    let opening = answer.opening_m?;
    Some(answer.faces_u_m.unwrap_or(gate.faces(opening)))
}

fn rectangle(gate: &Gate, u0: f64, u1: f64, v0: f64, v1: f64) -> Vec<Point> {
    [(u0, v0), (u1, v0), (u1, v1), (u0, v1)].map(|(u, v)| gate.to_site(Point::new(u, v))).to_vec()
}

/// The outlines of the two posts.
#[must_use]
pub fn posts(gate: &Gate, Faces { left, right }: Faces) -> [Vec<Point>; 2] {
    let (w, half) = (gate.post.width_m, gate.post.depth_m / 2.0);
    [rectangle(gate, left - w, left, -half, half), rectangle(gate, right, right + w, -half, half)]
}

/// The outlines of the leaves standing open. A swinging leaf turns about the inner face, on the gate line.
#[must_use]
pub fn leaves(gate: &Gate, Faces { left, right }: Faces) -> Vec<Vec<Point>> {
    let leaf = gate.leaves;
    let opening = right - left;
    let turn = match leaf.opens {
        Swing::In => leaf.open_angle_rad,
        Swing::Out => -leaf.open_angle_rad,
    };
    let half = leaf.thickness_m / 2.0;
    let swinging = |side: Side, length: f64| {
        let (pin, mirror) = if side == Side::Left { (left, 1.0) } else { (right, -1.0) };
        let (sin, cos) = trig::sin_cos(turn);
        let along = Point::new(cos * mirror, sin);
        let across = along.left() * half;
        let pin = Point::new(pin, 0.0);
        let end = pin + along * length;
        [pin - across, end - across, end + across, pin + across].map(|uv| gate.to_site(uv)).to_vec()
    };
    match leaf.arrangement {
        Arrangement::None => Vec::new(),
        Arrangement::Single(side) => vec![swinging(side, opening)],
        Arrangement::Double => {
            vec![swinging(Side::Left, opening / 2.0), swinging(Side::Right, opening / 2.0)]
        }
        Arrangement::Slide(side) => {
            let low = gate.post.depth_m / 2.0;
            let (from, to) =
                if side == Side::Left { (left - opening, left) } else { (right, right + opening) };
            vec![rectangle(gate, from, to, low, low + leaf.thickness_m)]
        }
    }
}

/// The gate as drawn, over it as needed where that differs by more than a line's breadth; the opening is that of the latter.
#[must_use]
pub fn items(gate: &Gate, needed: Option<Faces>) -> Vec<Item> {
    let drawn = gate.drawn_faces();
    let mut items = Vec::new();
    let area = |role: Role, ring: Vec<Point>| Item::new(role, Geom::Area(vec![ring]));
    let needed = needed.filter(|f| (f.left - drawn.left).abs() + (f.right - drawn.right).abs() > 0.02);
    let Faces { left, right } = needed.unwrap_or(drawn);
    let opening = [left, right].map(|u| gate.to_site(Point::new(u, 0.0))).to_vec();
    items.push(Item::new(Role::GateLine, Geom::Line(opening)));
    items.extend(leaves(gate, drawn).into_iter().map(|ring| area(Role::Leaf, ring)));
    // The posts as drawn stay in view.
    if let Some(faces) = needed {
        items.extend(leaves(gate, faces).into_iter().map(|ring| area(Role::PostNeeded, ring)));
        items.extend(posts(gate, faces).into_iter().map(|ring| area(Role::PostNeeded, ring)));
    }
    items.extend(posts(gate, drawn).into_iter().map(|ring| area(Role::Post, ring)));
    items
}

/// Dimension lines of the opening, on the road side, each with its word, the narrowest first, so that no line runs through
/// the text of another. The first of the needed ones is large; if none is needed, the one as drawn.
#[must_use]
pub fn opening_dimensions(site: &Site, needed: &[(&Answer, &'static str)]) -> Vec<Item> {
    let gate = &site.gate;
    let at = |Faces { left, right }: Faces| {
        (gate.to_site(Point::new(left, 0.0)), gate.to_site(Point::new(right, 0.0)))
    };
    let mut rows = Vec::new();
    for (answer, word) in needed {
        if let (Some(faces), Some(opening)) = (needed_faces(gate, answer), answer.opening_m) {
            let role = if rows.is_empty() { Role::Opening } else { Role::Dimension };
            rows.push((role, faces, format!("{word} {}", show(opening, site.units, Round::Up))));
        }
    }
    let drawn = show_drawn(gate.opening_m(), site.units);
    let (role, word) =
        if rows.is_empty() { (Role::Opening, "opening") } else { (Role::Dimension, "as drawn") };
    rows.push((role, gate.drawn_faces(), format!("{word} {drawn}")));
    rows.sort_by(|a, b| (a.1.right - a.1.left).total_cmp(&(b.1.right - b.1.left)));
    let mut offset = 12.0;
    let mut items = Vec::new();
    for (role, faces, text) in rows {
        offset += if role == Role::Opening { OPENING_ROW } else { ROW };
        let (from, to) = at(faces);
        items.push(Item::new(role, Geom::Dimension { from, to, away: -gate.inward, offset, text }));
    }
    items
}

/// Height of a row with the opening's large text, and of one with another dimension, page units.
const OPENING_ROW: f64 = 46.0;
const ROW: f64 = 34.0;

/// The setback: from the edge of the traveled way to the gate line, at the middle of the opening; drawn to one side, clear
/// of the ground that the vehicle covers.
#[must_use]
pub(super) fn setback_dimension(site: &Site, view: &View, ink: &Ink) -> Item {
    let gate = &site.gate;
    // Measured beside the gate it would have another length if the gate line is not parallel to the road.
    let to = gate.center();
    let road = site.roads.get(site.beside_gate);
    let edge = to - gate.inward * gate.setback_m;
    let edge = road.and_then(|r| nearest_on(&r.surface.outer.0, to)).unwrap_or(edge);
    let left = (to - edge).unit().unwrap_or(gate.inward).left();
    let text = format!("setback {}", show(gate.setback_m, site.units, Round::Nearest));
    let (a, b) = (view.page(edge), view.page(to));
    let price = |(away, offset): &(Point, f64)| {
        let off = view.direction(*away) * *offset;
        let on_panel = |p: Point| p.x > 8.0 && p.y > 8.0 && p.x < view.width - 8.0 && p.y < view.height - 8.0;
        let seen = on_panel(a + off) && on_panel(b + off);
        // Its text stands on one side of it.
        let room = text_width(&text, TEXT_SIZE, false) + 16.0;
        let free = [-0.5, 0.5].into_iter().any(|side| {
            let middle = (a + b) * 0.5 + off + Point::new(side * room, 0.0);
            let rect = Rect::around(middle, room, 1.25 * TEXT_SIZE);
            ink.path_in(&rect) == 0 && rect.corners().into_iter().all(on_panel)
        });
        let under = 30.0 * f64::from(ink.under(a + off, b + off));
        offset + under + if seen { 0.0 } else { 1e6 } + if free { 0.0 } else { 300.0 }
    };
    let steps = (0..24_u32).map(|step| 14.0 * f64::from(step));
    let sides = steps.flat_map(|offset| [(left, offset), (-left, offset)]);
    let best = sides.min_by(|a, b| price(a).total_cmp(&price(b)));
    let (away, offset) = best.unwrap_or((left, 0.0));
    // Its witness lines begin beside the post: from the middle they would run along the opening and hide half of it.
    let beside_m = (0.5 * gate.opening_m() + gate.post.width_m) * away.dot(gate.along()).abs();
    let moved_m = beside_m.min(offset / view.scale);
    let (from, to) = (edge + away * moved_m, to + away * moved_m);
    let offset = offset - moved_m * view.scale;
    Item::new(Role::Dimension, Geom::Dimension { from, to, away, offset, text })
}

/// The point of a ring nearest to a point.
fn nearest_on(ring: &[Point], p: Point) -> Option<Point> {
    let n = ring.len();
    let feet = (0..n).map(|i| {
        let (a, b) = (ring[i], ring[(i + 1) % n]);
        let d = b - a;
        let part = if d.norm2() > 0.0 { ((p - a).dot(d) / d.norm2()).clamp(0.0, 1.0) } else { 0.0 };
        a + d * part
    });
    feet.min_by(|a, b| a.distance(p).total_cmp(&b.distance(p)))
}
