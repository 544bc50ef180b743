//! The panel of the gate itself: the sweep of its leaves, the vehicle that waits for it outside, and the dimensions
//! that columns are built by: from post to post and from column to column.
use super::bodywork::details;
use super::gate;
use super::labels::TEXT_SIZE;
use super::scene::{Geom, Item, Label, Panel, Role, View};
use super::shapes::{ground_items, unit_outline};
use crate::gate::{LeafSwing, MAKERS_DIFFER, RunBack, StopKind, Waiting, arrangement_words, standing, swept};
use crate::geometry::length::{Round, show, show_drawn, show_fine};
use crate::geometry::{Outline, Point, Pose};
use crate::motion::{Chain, State};
use crate::opening::{GatePlan, Study, every_vehicle_passes, leaf_travel};
use crate::site::{Arrangement, Side};
use crate::vehicle::Vehicle;

/// Page units between two dimension lines: a text wider than its line stands above the ticks.
const ROW: f64 = 42.0;

/// Page units from the leaves to the first of these lines, and to the upper edge of the text above the last.
const FIRST_ROW: f64 = 46.0;
const ROWS_HIGH: f64 = FIRST_ROW + 2.0 * ROW + 40.0;
/// Passes in which the scale settles: each makes room for the rows at the scale of the one before.
const ROOM_PASSES: u32 = 4;

/// Largest distance of the road's edge behind a waiting vehicle at which it is shown.
const ROAD_WITHIN_M: f64 = 6.0;

/// Length of a vehicle still in the road that is shown.
const IN_ROAD_M: f64 = 6.5;

/// The panel for one vehicle of a study, of this width; `None` if the study does not include the gate.
#[must_use]
pub(super) fn panel(study: &Study, vehicle_index: usize, width: f64) -> Option<Panel> {
    let inward = study.site.gate.inward;
    panel_in(study, vehicle_index, |interest| View::around(interest, inward, width, 0.8, 0.6, 1.1))
}

/// As [`panel`], and up to half as high again, so that longer dimensions have room for their words.
pub(super) fn tall_panel(study: &Study, vehicle_index: usize, width: f64) -> Option<Panel> {
    let inward = study.site.gate.inward;
    panel_in(study, vehicle_index, |interest| View::around(interest, inward, width, 0.8, 0.6, 1.7))
}

/// The panel in a view of the points it must show.
pub(super) fn panel_in(
    study: &Study,
    vehicle_index: usize,
    mut view_of: impl FnMut(&[Point]) -> View,
) -> Option<Panel> {
    let plan = study.gate.as_ref()?;
    let (wait, vehicle) = (plan.waiting.get(vehicle_index)?, study.vehicles.get(vehicle_index)?);
    let site = &study.site;
    let gate = &site.gate;
    let at = |u: f64, v: f64| gate.to_site(Point::new(u, v));
    let arcs: Vec<Vec<Point>> = plan.swings.iter().map(|swing| swept(gate, swing)).collect();
    // A swinging leaf at the angle it reaches; a sliding one run back all the way.
    let leaves: Vec<Vec<Point>> = if plan.swings.is_empty() {
        gate::leaves(gate, gate.drawn_faces())
    } else {
        plan.swings.iter().map(|swing| standing(gate, swing)).collect()
    };
    let reaches = || arcs.iter().chain(&leaves).flatten().map(|p| gate.to_gate(*p).y);
    let (deepest, foremost) = (reaches().fold(0.0, f64::max), reaches().fold(0.0, f64::min));
    let rear_v = -(wait.outside_back_m + wait.length_m);
    let half = 0.5 * plan.columns_around_m(&gate.post).unwrap_or(plan.outside_m);
    // What stands in the road is shown as far as makes it plain, so that the gate stays large.
    let edge_v = -wait.outside_back_m - wait.outside_room_m.max(0.0);
    let mut shown_v = rear_v.max(edge_v - IN_ROAD_M);
    // The edge of the road too, unless it is far beyond the vehicle.
    let with_road = edge_v > rear_v - ROAD_WITHIN_M;
    if with_road {
        shown_v = shown_v.min(edge_v - 1.0);
    }
    let mut interest = vec![at(-half - 1.0, deepest), at(half + 1.0, shown_v.min(foremost))];
    interest.extend(arcs.iter().flatten().copied());
    if let (Arrangement::Slide(side), Some(back)) = (gate.leaves.arrangement, &plan.run_back) {
        let end = 0.5 * gate.opening_m() + back.needed_m + 0.5;
        interest.push(at(if side == Side::Left { -end } else { end }, 0.0));
    }
    // Room for the rows of dimensions beyond the leaves, which take as much at every scale.
    let mut view = view_of(&interest);
    for _ in 0..ROOM_PASSES {
        interest[0] = at(-half - 1.0, deepest + ROWS_HIGH / view.scale);
        view = view_of(&interest);
    }
    let mut items = ground_items(site);
    items.extend(arcs.into_iter().map(|ring| Item::new(Role::Arc, Geom::Area(vec![ring]))));
    let mut leaves = leaves.into_iter();
    items.extend(gate::items(gate, None).into_iter().filter_map(|item| match item.role {
        Role::Leaf => leaves.next().map(|ring| Item::new(Role::Leaf, Geom::Area(vec![ring]))),
        _ => Some(item),
    }));
    items.extend(vehicle_items(study, vehicle, wait));
    items.extend(dimensions(study, plan, wait, (&view, deepest * view.scale + FIRST_ROW)));
    let mut labels = stops(plan, &mut items, &view);
    if rear_v < shown_v && wait.outside_missing_m > 0.0 {
        // It stands across the whole road and off the picture.
        let text = format!("{} in the road and beyond", show(wait.outside_missing_m, site.units, Round::Up));
        labels.push(label(text, at(wait.at_u, 0.5 * (edge_v + shown_v)), true));
    }
    // In the middle of what stands clear of the road.
    let clear_m = wait.length_m.min(wait.outside_room_m.max(0.0));
    labels.push(label("waits here".to_owned(), at(wait.at_u, -wait.outside_back_m - 0.5 * clear_m), false));
    Some(Panel {
        heading: Some(
            if with_road { "Leaves and waiting room, the road below" } else { "Leaves and waiting room" }
                .to_owned(),
        ),
        view,
        items,
        labels,
        scale_bar: true,
        north: study.site.north_known,
        text_size: TEXT_SIZE,
    })
}

/// "18' 10\" of it stands in the road", or "across the whole road and beyond it" where the road is not as wide.
#[must_use]
pub fn in_road_words(study: &Study, wait: &Waiting) -> String {
    let missing_m = wait.outside_missing_m;
    if missing_m >= wait.length_m {
        return "all of it stands in the road".to_owned();
    }
    let is_wider = study.site.roads.first().is_some_and(|road| road.width_m >= missing_m);
    let stands = if is_wider { "stands in the road" } else { "stands across the whole road and beyond it" };
    format!("{} of it {stands}", show(missing_m, study.site.units, Round::Up))
}

/// Sentence on a vehicle that does not wait clear of the road while the gate opens; `None` if it does, or if the study does
/// not include the gate.
pub(super) fn waits_in_road(study: &Study, vehicle_index: usize) -> Option<String> {
    let wait = study.gate.as_ref()?.waiting.get(vehicle_index)?;
    (wait.outside_missing_m > 0.0).then(|| format!("While the gate opens, {}.", in_road_words(study, wait)))
}

/// Sentence on the gate to order for every vehicle of a study; `None` where none serves, or the study does not include the gate.
pub(super) fn to_order_words(study: &Study) -> Option<String> {
    let plan = study.gate.as_ref()?;
    let (of, row) = plan.to_order()?;
    let units = study.site.units;
    let gate = format!(
        "{}, {}, posts {} face to face",
        show(row.assembly.stock_m, units, Round::Nearest),
        arrangement_words(of.arrangement, of.opens),
        show_fine(row.assembly.opening_m, units, Round::Up)
    );
    Some(if of.drawn && row.fits_drawn && every_vehicle_passes(study) {
        format!("The smallest gate that serves every vehicle: {gate}.")
    } else {
        format!("The gate to order, for every vehicle: {gate}.")
    })
}

/// Obstacles that stop the leaves of the gate as drawn before they are open, in words: "mailbox" stops the right leaf at 54
/// of 90 degrees. `None` if all open.
#[must_use]
pub fn stopped_words(study: &Study) -> Option<String> {
    let travel = leaf_travel(study);
    let of_swing = |swing: &LeafSwing| {
        let stop = swing.stop.as_ref()?;
        let (reach, wanted) = (swing.reach_rad.to_degrees().floor(), swing.wanted_rad.to_degrees().round());
        let over = if stop.kind == StopKind::Standing { "" } else { ", which no leaf may swing over," };
        Some(format!(
            "\"{}\"{over} stops the {} leaf at {reach:.0} of {wanted:.0} degrees",
            stop.what,
            swing.side.word()
        ))
    };
    let of_slide = |back: &RunBack| {
        let stop = back.stop.as_ref()?;
        Some(format!("\"{}\" stands where the leaf runs back", stop.what))
    };
    let all: Vec<String> = travel
        .swings
        .iter()
        .filter_map(of_swing)
        .chain(travel.run_back.iter().filter_map(of_slide))
        .collect();
    (!all.is_empty()).then(|| all.join("; "))
}

/// The small print that belongs to the panel.
pub(super) fn note(study: &Study, vehicle_index: usize) -> Option<String> {
    let plan = study.gate.as_ref()?;
    let from_line =
        plan.waiting.get(vehicle_index).map(|wait| show(wait.outside_back_m, study.site.units, Round::Up));
    let line = from_line.map_or_else(String::new, |m| format!(", {m} before the gate line"));
    let gap = show(plan.allowances.waiting_gap_m, study.site.units, Round::Nearest);
    Some(format!("The waiting vehicle stops {gap} short of the leaves{line}. {MAKERS_DIFFER}"))
}

fn label(text: String, at: Point, strong: bool) -> Label {
    Label { text, at, or_at: Vec::new(), within: Vec::new(), strong, leader: true, optional: !strong }
}

/// The vehicle standing straight before the gate.
fn vehicle_items(study: &Study, vehicle: &Vehicle, wait: &Waiting) -> Vec<Item> {
    let gate = &study.site.gate;
    let Some(lead) = vehicle.units.first() else { return Vec::new() };
    let front = lead.parts.iter().flat_map(|p| &p.outline.0).map(|p| p.x).fold(0.0, f64::max);
    let position = gate.to_site(Point::new(wait.at_u, -wait.outside_back_m - front));
    let state = State { lead: Pose { position, heading: gate.inward.angle() }, ..State::default() };
    let poses = Chain::of(vehicle).unit_poses(&state);
    let edge_v = -wait.outside_back_m - wait.outside_room_m.max(0.0);
    let (mut off, mut on) = (Vec::new(), Vec::new());
    for (unit, pose) in vehicle.units.iter().zip(&poses) {
        for rings in unit_outline(unit) {
            let placed =
                |ring: Outline| ring.0.iter().map(|p| gate.to_gate(pose.to_site(*p))).collect::<Vec<_>>();
            let rings: Vec<Vec<Point>> = rings.into_iter().map(placed).collect();
            let part = |beyond: bool| {
                let cut = rings.iter().map(|ring| cut(ring, edge_v, beyond)).filter(|ring| ring.len() > 2);
                cut.map(|ring| ring.iter().map(|p| gate.to_site(*p)).collect()).collect::<Vec<Vec<Point>>>()
            };
            off.extend(Some(part(false)).filter(|rings| !rings.is_empty()));
            on.extend(Some(part(true)).filter(|rings| !rings.is_empty()));
        }
    }
    let area = |role: Role, rings: Vec<Vec<Point>>| Item::new(role, Geom::Area(rings));
    let mut items: Vec<Item> = on.into_iter().map(|rings| area(Role::InRoad, rings)).collect();
    items.extend(off.into_iter().map(|rings| area(Role::Waiting, rings)));
    // In the road only the outline is shown.
    let clear = |ring: &Vec<Point>| ring.iter().all(|p| gate.to_gate(*p).y > edge_v);
    items.extend(details(vehicle, &poses, 0.0, false).into_iter().filter_map(|item| match item.geom {
        Geom::Area(rings) => {
            let rings: Vec<Vec<Point>> = rings.into_iter().filter(|ring| clear(ring)).collect();
            (!rings.is_empty()).then(|| area(item.role, rings))
        }
        Geom::Line(line) => clear(&line).then(|| Item::new(item.role, Geom::Line(line))),
        _ => None,
    }));
    items
}

/// The part of a ring on one side of a line of equal y: `below` it, or above.
fn cut(ring: &[Point], y: f64, below: bool) -> Vec<Point> {
    let kept = |p: Point| if below { p.y <= y } else { p.y >= y };
    let mut part = Vec::new();
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        if kept(*a) {
            part.push(*a);
        }
        if kept(*a) != kept(b) {
            part.push(*a + (b - *a) * ((y - a.y) / (b.y - a.y)));
        }
    }
    part
}

/// Post to post, column to column, and the room before the gate.
fn dimensions(study: &Study, plan: &GatePlan, wait: &Waiting, (view, first): (&View, f64)) -> Vec<Item> {
    let site = &study.site;
    let gate = &site.gate;
    let units = site.units;
    let at = |u: f64, v: f64| gate.to_site(Point::new(u, v));
    let dimension = |role: Role, from: Point, to: Point, away: Point, offset: f64, text: String| {
        Item::new(role, Geom::Dimension { from, to, away, offset, text })
    };
    let mut items = Vec::new();
    let drawn = site.gate.opening_m();
    let mut rows = vec![
        (Role::Opening, drawn, format!("opening {}", show_drawn(drawn, units))),
        (
            Role::Dimension,
            plan.outside_m,
            format!("over posts {}", show_fine(plan.outside_m, units, Round::Up)),
        ),
    ];
    if let Some(face_m) = plan.columns_around_m(&gate.post) {
        rows.push((Role::Dimension, face_m, format!("columns {}", show_fine(face_m, units, Round::Up))));
    }
    let mut offset = first;
    for (role, width, text) in rows {
        let (from, to) = (at(-0.5 * width, 0.0), at(0.5 * width, 0.0));
        items.push(dimension(role, from, to, gate.inward, offset, text));
        offset += ROW;
    }
    // On the side of the vehicle with more room for their words.
    let side = if view.page(at(wait.at_u, 0.0)).x > 0.5 * view.width { -1.0 } else { 1.0 };
    let (beside, away) = (wait.at_u + side * (0.5 * wait.width_m + 0.5), gate.along() * side);
    let (front, edge) = (-wait.outside_back_m, -wait.outside_back_m - wait.outside_room_m.max(0.0));
    if wait.outside_room_m > 0.0 {
        let text = format!("room to stop {}", show(wait.outside_room_m, units, Round::Down));
        let (from, to) = (at(beside, front), at(beside, edge));
        items.push(dimension(Role::Dimension, from, to, away, 14.0, text));
    }
    if let (Arrangement::Slide(side), Some(back)) = (gate.leaves.arrangement, &plan.run_back) {
        let [from, to] = [0.0, back.needed_m].map(|run| match side {
            Side::Left => at(-0.5 * drawn - run, 0.0),
            Side::Right => at(0.5 * drawn + run, 0.0),
        });
        let text = format!("leaf runs back {}", show(back.needed_m, units, Round::Up));
        items.push(dimension(Role::Dimension, from, to, -gate.inward, ROW, text));
    }
    // Where its rear is shown; else a label says how much.
    if wait.outside_missing_m > 0.0 && wait.outside_missing_m <= IN_ROAD_M {
        let text = format!("{} still in the road", show(wait.outside_missing_m, units, Round::Up));
        let (from, to) = (at(beside, edge), at(beside, front - wait.length_m));
        items.push(dimension(Role::Dimension, from, to, away, 14.0, text));
    }
    items
}

/// The places where something stops a leaf, with labels.
fn stops(plan: &GatePlan, items: &mut Vec<Item>, view: &View) -> Vec<Label> {
    let swings = plan.swings.iter().filter_map(|s| Some((s.reach_rad, s.stop.as_ref()?)));
    let slides = plan.run_back.iter().filter_map(|b| Some((0.0, b.stop.as_ref()?)));
    let mut labels = Vec::new();
    for (reach, stop) in swings.chain(slides).filter(|(_, stop)| view.shows(stop.at, 2.0)) {
        items.push(Item::new(Role::Contact, Geom::Mark { at: stop.at, from: stop.at }));
        let text = if reach > 0.0 {
            format!("\"{}\" stops the leaf at {:.0}\u{b0}", stop.what, reach.to_degrees().floor())
        } else {
            format!("\"{}\" is in the leaf's way", stop.what)
        };
        labels.push(label(text, stop.at, true));
    }
    labels
}
