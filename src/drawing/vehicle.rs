//! The picture of a vehicle: from above and from the side, with its dimensions.
use super::bodywork::{side as side_look, tire_height};
use super::labels::{TEXT_SIZE, text_width};
use super::scene::{Geom, Item, PANEL_WIDTH, Panel, Role, Sheet, View};
use super::shapes::vehicle_items;
use crate::geometry::length::{Round, Units, show};
use crate::geometry::{Point, Pose};
use crate::vehicle::{PartKind, Unit, Vehicle};

const UP: Point = Point::new(0.0, 1.0);
/// Distance between two rows of dimensions, page units.
const ROW: f64 = 32.0;

/// The sheet of a vehicle.
#[must_use]
pub fn vehicle_sheet(vehicle: &Vehicle, units: Units) -> Sheet {
    let length = |m: f64| show(m, units, Round::Nearest);
    let poses = straight(vehicle);
    let mut lines = vec![format!("{} long over all", length(vehicle.length_m()))];
    let steering = vehicle.steering;
    if steering.max_curvature > 0.0 {
        lines.push(format!(
            "At full lock the middle of the rear axle turns on a radius of {}; it rolls {} while the wheels turn from \
             straight to full lock.",
            show(1.0 / steering.max_curvature, units, Round::Nearest),
            show(steering.lock_distance_m, units, Round::Nearest)
        ));
    }
    for (unit, next) in vehicle.units.iter().zip(vehicle.units.iter().skip(1)) {
        if let Some(hitch) = unit.hitch {
            let side = if hitch.behind_axle_m < 0.0 { "ahead of" } else { "behind" };
            lines.push(format!(
                "The {} is hitched {} {side} the {}'s rear axle and turns against it by up to {:.0} degrees.",
                next.name,
                length(hitch.behind_axle_m.abs()),
                unit.name,
                hitch.max_angle_rad.to_degrees()
            ));
        }
    }
    Sheet {
        place: String::new(),
        verdict: None,
        title: vehicle.title.clone(),
        description: format!("{} from above and from the side. {}", vehicle.title, lines.join(" ")),
        lines,
        steps: Vec::new(),
        panels: vec![plan(vehicle, &poses, units, PANEL_WIDTH), side(vehicle, &poses, units, PANEL_WIDTH)],
        legend: false,
        notes: vec![vehicle.about.clone()].into_iter().filter(|note| !note.is_empty()).collect(),
    }
}

/// Every unit standing straight behind the lead, which looks to the right.
pub(super) fn straight(vehicle: &Vehicle) -> Vec<Pose> {
    let mut poses: Vec<Pose> = Vec::new();
    for (i, unit) in vehicle.units.iter().enumerate() {
        let x = poses.last().map_or(0.0, |front: &Pose| {
            let behind = vehicle.units[i - 1].hitch.map_or(0.0, |h| h.behind_axle_m);
            front.position.x - behind - unit.wheelbase_m
        });
        poses.push(Pose::new(x, 0.0, 0.0));
    }
    poses
}

fn dimension(from: Point, to: Point, away: Point, offset: f64, text: String) -> Item {
    Item::new(Role::Dimension, Geom::Dimension { from, to, away, offset, text })
}

fn rectangle(x0: f64, x1: f64, y0: f64, y1: f64) -> Geom {
    Geom::Area(vec![vec![Point::new(x0, y0), Point::new(x1, y0), Point::new(x1, y1), Point::new(x0, y1)]])
}

/// Lowest and highest of the corners of a unit's parts along x or y.
fn extent(unit: &Unit, part: impl Fn(PartKind) -> bool, axis: impl Fn(Point) -> f64) -> (f64, f64) {
    let parts = unit.parts.iter().filter(|p| part(p.kind));
    let corners = parts.flat_map(|p| p.outline.0.iter().map(|c| axis(*c)));
    corners.fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)))
}

/// The row of each dimension, from 1: the first whose text and line meet none there. The text stands above its line, or
/// beyond one of its ends if that is short, on the side toward the middle.
fn in_rows(spans: &[(f64, f64, String)], (rear, front): (f64, f64), scale: f64) -> Vec<usize> {
    let mut rows: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut row_of = Vec::new();
    for (a, b, text) in spans {
        let (a_at, b_at) = (a * scale, b * scale);
        let wide = text_width(text, TEXT_SIZE, false) + 6.0;
        let taken = if wide + 18.0 < b_at - a_at {
            (a_at, b_at)
        } else if b_at > 0.5 * (rear + front) * scale {
            (a_at - wide - 10.0, b_at)
        } else {
            (a_at, b_at + wide + 10.0)
        };
        // Ticks reach beyond the ends.
        let taken = (taken.0 - 9.0, taken.1 + 9.0);
        let free = |row: &Vec<(f64, f64)>| row.iter().all(|(low, high)| taken.1 < *low || taken.0 > *high);
        let row = rows.iter().position(free).unwrap_or(rows.len());
        if row == rows.len() {
            rows.push(Vec::new());
        }
        rows[row].push(taken);
        row_of.push(row + 1);
    }
    row_of
}

/// A view of this width with room for `below` and `above` rows of dimensions.
fn view(points: &[Point], width: f64, below: f64, above: f64) -> View {
    let tight = View::around(points, UP, width, 0.0, 0.0, 10.0);
    // Room for a dimension at either end; never so large that a short vehicle fills the page.
    let scale = (tight.scale * 0.8).min(90.0);
    let tall = tight.height / tight.scale * scale;
    let height = tall + (below + above + 0.6) * ROW;
    let shift = (below - above) * ROW / 2.0 / scale;
    View { center: tight.center - UP * shift, scale, height, ..tight }
}

/// The vehicle from above with its dimensions, in a panel of this width.
pub(super) fn plan(vehicle: &Vehicle, poses: &[Pose], units: Units, width: f64) -> Panel {
    let length = |m: f64| show(m, units, Round::Nearest);
    let items_of_it = vehicle_items(Role::Stand, vehicle, poses, 0.0);
    let mut points: Vec<Point> = Vec::new();
    for item in items_of_it.iter().filter(|item| item.role == Role::Stand) {
        if let Geom::Area(rings) = &item.geom {
            points.extend(rings.iter().flatten());
        }
    }
    let mut items = items_of_it;
    let (mut rear, mut front) = (f64::MAX, f64::MIN);
    for (unit, pose) in vehicle.units.iter().zip(poses) {
        let (x0, x1) = extent(unit, |_| true, |c| pose.to_site(c).x);
        (rear, front) = (rear.min(x0), front.max(x1));
    }
    let low = points.iter().fold(0.0_f64, |low, p| low.min(p.y));
    let mut spans: Vec<(f64, f64, String)> = Vec::new();
    for (index, (unit, pose)) in vehicle.units.iter().zip(poses).enumerate() {
        let axle = pose.position.x;
        let hitch = axle + unit.wheelbase_m;
        // An overhang of what is towed says whose it is.
        let (ahead, whose) = match index {
            0 => ("wheelbase", String::new()),
            _ => ("hitch to axle", format!("{} ", unit.name)),
        };
        for (a, b, name) in [
            (axle, hitch, ahead.to_owned()),
            (axle - unit.rear_overhang_m, axle, format!("{whose}rear overhang")),
            (hitch, hitch + unit.front_overhang_m, format!("{whose}front overhang")),
        ] {
            if b - a > 0.02 {
                spans.push((a, b, format!("{name} {}", length(b - a))));
            }
        }
    }
    let scale = view(&points, width, 0.0, 0.0).scale;
    let rows = in_rows(&spans, (rear, front), scale);
    let row = rows.iter().fold(0, |most, row| most.max(*row)) as f64;
    for ((a, b, text), row) in spans.into_iter().zip(rows) {
        items.push(dimension(Point::new(a, low), Point::new(b, low), -UP, row as f64 * ROW, text));
    }
    let all = format!("{} over all", length(vehicle.length_m()));
    items.push(dimension(Point::new(rear, low), Point::new(front, low), -UP, (row + 1.0) * ROW, all));
    if let Some((unit, pose)) = vehicle.units.first().zip(poses.first()) {
        let (y0, y1) = extent(unit, |kind| kind != PartKind::Tire, |c| c.y);
        let (_, x1) = extent(unit, |kind| kind != PartKind::Tire, |c| pose.to_site(c).x);
        if y1 - y0 > unit.width_m + 0.01 {
            let text = format!("{} over mirrors", length(y1 - y0));
            items.push(dimension(
                Point::new(x1, y0),
                Point::new(x1, y1),
                Point::new(1.0, 0.0),
                1.2 * ROW,
                text,
            ));
        } else {
            let half = unit.width_m / 2.0;
            let text = format!("{} wide", length(unit.width_m));
            items.push(dimension(
                Point::new(x1, -half),
                Point::new(x1, half),
                Point::new(1.0, 0.0),
                1.2 * ROW,
                text,
            ));
        }
    }
    if let Some((unit, pose)) = vehicle.units.last().zip(poses.last()) {
        let (x0, half) = (pose.position.x - unit.rear_overhang_m, unit.width_m / 2.0);
        let text = format!("{} wide", length(unit.width_m));
        items.push(dimension(
            Point::new(x0, -half),
            Point::new(x0, half),
            Point::new(-1.0, 0.0),
            0.8 * ROW,
            text,
        ));
    }
    Panel {
        heading: Some("From above, the front to the right".to_owned()),
        view: view(&points, width, row + 1.6, 1.6),
        items,
        labels: Vec::new(),
        scale_bar: false,
        north: false,
        text_size: TEXT_SIZE,
    }
}

pub(super) fn side(vehicle: &Vehicle, poses: &[Pose], units: Units, width: f64) -> Panel {
    let length = |m: f64| show(m, units, Round::Nearest);
    let mut items = Vec::new();
    let mut points = vec![Point::default()];
    let (mut rear, mut front) = (f64::MAX, f64::MIN);
    for (index, (unit, pose)) in vehicle.units.iter().zip(poses).enumerate() {
        let look = side_look(unit, index == 0);
        let placed = |ring: Vec<Point>| {
            Geom::Area(vec![ring.iter().map(|p| Point::new(pose.position.x + p.x, p.y)).collect()])
        };
        for body in look.bodies {
            points.extend(body.iter().map(|p| Point::new(pose.position.x + p.x, p.y)));
            items.push(Item::new(Role::Stand, placed(body)));
        }
        items.extend(look.windows.into_iter().map(|ring| Item::new(Role::Glass, placed(ring))));
        items.extend(look.boxes.into_iter().map(|ring| Item::new(Role::Box, placed(ring))));
        let (x0, x1) = extent(unit, |kind| kind == PartKind::Body, |c| pose.to_site(c).x);
        (rear, front) = (rear.min(x0), front.max(x1));
        for part in unit.parts.iter().filter(|p| p.kind == PartKind::Mirror) {
            let xs = part.outline.0.iter().map(|c| pose.to_site(*c).x);
            let (x0, x1) = xs.fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)));
            items.push(Item::new(Role::Ghost, rectangle(x0, x1, part.bottom_m, part.top_m)));
        }
        for tire in &unit.tires {
            let radius_m = tire_height(unit, *tire) / 2.0;
            let center = Point::new(pose.to_site(tire.center).x, radius_m);
            items.push(Item::new(Role::Tire, Geom::Disc { center, radius_m }));
            items.push(Item::new(Role::Hub, Geom::Disc { center, radius_m: 0.45 * radius_m }));
        }
    }
    let ground = vec![Point::new(rear - 0.5, 0.0), Point::new(front + 0.5, 0.0)];
    items.push(Item::new(Role::Ground, Geom::Line(ground)));
    for (i, (unit, pose)) in vehicle.units.iter().zip(poses).enumerate() {
        let (x0, x1) = extent(unit, |kind| kind == PartKind::Body, |c| pose.to_site(c).x);
        let ahead = i == 0;
        let (x, away) = if ahead { (x1, Point::new(1.0, 0.0)) } else { (x0, Point::new(-1.0, 0.0)) };
        // Between the first and the last unit there is no room for more.
        if ahead || i + 1 == vehicle.units.len() {
            let text = format!("{} high", length(unit.height_m));
            items.push(dimension(Point::new(x, 0.0), Point::new(x, unit.height_m), away, 1.2 * ROW, text));
        }
        if ahead && unit.ground_clearance_m > 0.0 {
            let at = pose.position.x + 0.5 * unit.wheelbase_m;
            let text = format!("{} off the ground", length(unit.ground_clearance_m));
            let (from, to) = (Point::new(at, 0.0), Point::new(at, unit.ground_clearance_m));
            items.push(dimension(from, to, away, 0.0, text));
        }
    }
    Panel {
        heading: Some("From the side; dotted: the box the study uses".to_owned()),
        view: view(&points, width, 1.2, 1.0),
        items,
        labels: Vec::new(),
        scale_bar: true,
        north: false,
        text_size: TEXT_SIZE,
    }
}
