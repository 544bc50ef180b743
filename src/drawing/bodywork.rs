//! Details that make an outline look like a vehicle: windshield, hood, roof, cargo bed, wheels turned as they are steered.
//!
//! Pictorial: it follows from a unit's own figures by the proportions of common vehicles, stays within the outline that
//! is computed with, and nothing is measured on it.
use super::scene::{Geom, Item, Role};
use crate::geometry::{Point, Pose};
use crate::vehicle::{Part, PartKind, Tire, Unit, Vehicle};

/// Height of a tire if the file gives none: a common light truck's.
const TIRE_HEIGHT_M: f64 = 0.75;
/// A cab taller than this, with its front axle this far back, has no hood.
const TALL_M: f64 = 2.3;
const FLAT_FRONT_M: f64 = 1.25;
/// Share of a body's height at which its windows begin.
const HOOD_SHARE: f64 = 0.54;
/// Thickness of the frame around a window or a bed.
const RIM_M: f64 = 0.12;

/// A convex piece of a body: its ends along the vehicle, half its width, its heights.
#[derive(Clone, Copy, Debug)]
struct Piece {
    rear: f64,
    front: f64,
    half: f64,
    bottom: f64,
    top: f64,
}

/// A unit's body from front to rear.
fn pieces(unit: &Unit) -> Vec<Piece> {
    let piece = |part: &Part| {
        let (low, high) = bounds(&part.outline.0);
        Piece {
            rear: low.x,
            front: high.x,
            half: high.y.min(-low.y).max(0.5 * (high.y - low.y).min(0.4)),
            bottom: part.bottom_m,
            top: part.top_m,
        }
    };
    let mut pieces: Vec<Piece> = unit.parts.iter().filter(|p| p.kind == PartKind::Body).map(piece).collect();
    pieces.sort_by(|a, b| b.front.total_cmp(&a.front).then(b.half.total_cmp(&a.half)));
    pieces
}

fn bounds(points: &[Point]) -> (Point, Point) {
    points.iter().fold((Point::new(f64::MAX, f64::MAX), Point::new(f64::MIN, f64::MIN)), |(low, high), p| {
        (Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y)))
    })
}

/// The cab of a unit that steers, along its own x axis.
#[derive(Clone, Copy, Debug)]
struct Cab {
    /// The piece it is part of.
    piece: Piece,
    /// Foot of the windshield, its head, and the rear end of the cab.
    foot: f64,
    head: f64,
    rear: f64,
    /// Height at which windows begin.
    sill: f64,
    /// Behind the cab the body is open and only as high as this, for a pickup.
    bed: Option<f64>,
    /// The rear slopes, as a car's does.
    slopes: bool,
}

fn cab(unit: &Unit) -> Option<Cab> {
    let pieces = pieces(unit);
    let first = *pieces.first()?;
    // A hood of its own is lower and narrower than the cab behind it.
    let behind = pieces.get(1).copied();
    let own_hood = behind.filter(|cab| first.top + 0.1 < cab.top && first.half + 0.3 < cab.half);
    let piece = own_hood.unwrap_or(first);
    let length = piece.front - piece.rear;
    let tall = piece.top > TALL_M;
    let overhang = piece.front - unit.wheelbase_m;
    let (foot, slope) = if own_hood.is_some() || (tall && overhang > FLAT_FRONT_M) {
        (piece.front - 0.1, 0.25)
    } else if tall {
        (unit.wheelbase_m + 0.1, 0.45)
    } else {
        (unit.wheelbase_m - 0.35, 0.7)
    };
    let foot = foot.clamp(piece.rear + 0.45 * length, piece.front - 0.05);
    let head = (foot - slope).max(piece.rear + 0.3 * length);
    let sill = piece.bottom + HOOD_SHARE * (piece.top - piece.bottom);
    let pickup = unit.name.contains("pickup");
    // With pieces of its own behind it, the cab is a piece too, or ends after the front seats and the rear ones.
    let seats = if pickup { 1.9 } else { 1.3 };
    let own_bed = pieces.len() > 1 && own_hood.is_none() && !pickup;
    let car = !tall && !pickup;
    let rear = if own_hood.is_some() || own_bed {
        piece.rear
    } else if car {
        piece.rear + RIM_M
    } else if tall
        && !unit.name.contains("truck")
        && !unit.name.contains("engine")
        && !unit.name.contains("tractor")
    {
        piece.rear
    } else {
        (head - seats).max(piece.rear)
    };
    let bed = pickup.then_some(piece.bottom + 0.5 * (piece.top - piece.bottom));
    Some(Cab { piece, foot, head, rear, sill, bed, slopes: car && unit.name.contains("car") })
}

/// The windshield from above, in the unit's frame.
fn windshield(cab: &Cab) -> Vec<Point> {
    let (foot, head) = (0.9 * cab.piece.half, 0.74 * cab.piece.half);
    vec![
        Point::new(cab.foot, -foot),
        Point::new(cab.foot, foot),
        Point::new(cab.head, head),
        Point::new(cab.head, -head),
    ]
}

/// Lines on a unit from above, in its frame: hood, roof, rear window, bed; of a towed unit the edge of its roof.
fn trim(unit: &Unit, steers: bool) -> (Vec<Vec<Point>>, Vec<Vec<Point>>) {
    let (mut glass, mut lines) = (Vec::new(), Vec::new());
    let rectangle = |rear: f64, front: f64, half: f64| {
        [(rear, -half), (front, -half), (front, half), (rear, half), (rear, -half)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec()
    };
    let Some(cab) = cab(unit).filter(|_| steers) else {
        // The edge of a roof or of a load.
        for piece in pieces(unit).into_iter().filter(|p| p.half > 0.5 && p.front - p.rear > 1.0) {
            let part = unit.parts.iter().find(|p| {
                let (low, high) = bounds(&p.outline.0);
                p.kind == PartKind::Body && (low.x, high.x) == (piece.rear, piece.front)
            });
            let Some(part) = part else { continue };
            let middle = Point::new((piece.rear + piece.front) / 2.0, 0.0);
            let half = Point::new((piece.front - piece.rear) / 2.0, piece.half);
            let inner = |p: &Point| {
                let q = *p - middle;
                middle + Point::new(q.x * (1.0 - RIM_M / half.x), q.y * (1.0 - RIM_M / half.y))
            };
            let ring: Vec<Point> = part.outline.0.iter().map(inner).collect();
            lines.push(ring.iter().copied().chain(ring.first().copied()).collect());
        }
        return (glass, lines);
    };
    glass.push(windshield(&cab));
    let half = cab.piece.half;
    for side in [-1.0, 1.0] {
        if cab.piece.front - cab.foot > 0.3 {
            let edge = [(cab.piece.front - 0.1, 0.66), (cab.foot, 0.8)];
            lines.push(edge.map(|(x, y)| Point::new(x, side * y * half)).to_vec());
        }
    }
    let roof = if cab.slopes { cab.rear + 0.95 } else { cab.rear + 0.1 };
    if cab.head - roof > 0.4 {
        lines.push(rectangle(roof, cab.head, 0.74 * half));
    }
    if cab.slopes {
        let window = [(roof, 0.74), (roof - 0.5, 0.86)];
        let [(x0, y0), (x1, y1)] = window;
        glass.push(vec![
            Point::new(x0, -y0 * half),
            Point::new(x0, y0 * half),
            Point::new(x1, y1 * half),
            Point::new(x1, -y1 * half),
        ]);
    }
    let body = pieces(unit);
    let rear = body.iter().map(|p| p.rear).fold(f64::MAX, f64::min);
    if cab.rear - rear > 0.6 {
        let widest = body.iter().filter(|p| p.rear < cab.rear - 0.3).map(|p| p.half).fold(0.0, f64::max);
        let narrow = if widest > 0.0 { widest.min(half) } else { half };
        lines.push(rectangle(rear + RIM_M, cab.rear - RIM_M, narrow - RIM_M));
    }
    (glass, lines)
}

/// Height of the wheel at a tire: of the tallest tire part around its middle.
pub(super) fn tire_height(unit: &Unit, tire: Tire) -> f64 {
    let around = |p: &&Part| {
        p.kind == PartKind::Tire
            && p.outline.0.iter().any(|c| c.x > tire.center.x && c.y > tire.center.y)
            && p.outline.0.iter().any(|c| c.x < tire.center.x && c.y < tire.center.y)
    };
    let tallest = unit.parts.iter().filter(around).map(|p| p.top_m).fold(0.0, f64::max);
    if tallest > 0.0 { tallest } else { TIRE_HEIGHT_M }
}

/// The wheels of a unit from above, or the steered ones alone, turned about the center its rear axle turns on.
///
/// With the center at (0, 1/κ) in the unit's frame, a wheel at (x, y) rolls along (1 − κy, κx).
fn wheels(unit: &Unit, curvature: f64, steered_alone: bool) -> Vec<Vec<Point>> {
    let wheel = |tire: &Tire| {
        let turned = Point::new(1.0 - curvature * tire.center.y, curvature * tire.center.x).unit();
        let ahead = turned.filter(|_| tire.steered).unwrap_or(Point::new(1.0, 0.0));
        let (along, across) = (ahead * (0.5 * tire_height(unit, *tire)), ahead.left() * (0.5 * tire.width_m));
        let c = tire.center;
        vec![c + along - across, c + along + across, c - along + across, c - along - across]
    };
    unit.tires.iter().filter(|t| t.steered || !steered_alone).map(wheel).collect()
}

fn placed(pose: &Pose, rings: Vec<Vec<Point>>) -> Vec<Vec<Point>> {
    rings.into_iter().map(|ring| ring.into_iter().map(|p| pose.to_site(p)).collect()).collect()
}

/// Wheels, windows and lines over a vehicle's outline; of one shown `faintly`, the front wheels and the windshield.
pub(super) fn details(vehicle: &Vehicle, poses: &[Pose], curvature: f64, faintly: bool) -> Vec<Item> {
    let (mut tires, mut glass, mut lines) = (Vec::new(), Vec::new(), Vec::new());
    for (index, (unit, pose)) in vehicle.units.iter().zip(poses).enumerate() {
        let (steers, turned) = if index == 0 { (true, curvature) } else { (false, 0.0) };
        tires.extend(placed(pose, wheels(unit, turned, faintly)));
        let (mut windows, trim) = trim(unit, steers);
        if faintly {
            windows.truncate(1);
        } else {
            lines.extend(placed(pose, trim));
        }
        glass.extend(placed(pose, windows));
    }
    let mut items: Vec<Item> =
        lines.into_iter().map(|line| Item::new(Role::Trim, Geom::Line(line))).collect();
    items.extend((!tires.is_empty()).then(|| Item::new(Role::Tire, Geom::Area(tires))));
    items.extend((!glass.is_empty()).then(|| Item::new(Role::Glass, Geom::Area(glass))));
    items
}

/// Windows and lines of a unit in its own frame, without its wheels.
pub(super) fn windows_and_lines(unit: &Unit, steers: bool) -> (Vec<Vec<Point>>, Vec<Vec<Point>>) {
    trim(unit, steers)
}

/// A unit from the side, x along it and y up: the body's silhouettes, its windows, and the boxes it is computed with
/// where a silhouette is smaller.
pub(super) struct Side {
    pub(super) bodies: Vec<Vec<Point>>,
    pub(super) windows: Vec<Vec<Point>>,
    pub(super) boxes: Vec<Vec<Point>>,
}

/// A unit from the side.
pub(super) fn side(unit: &Unit, steers: bool) -> Side {
    let (mut bodies, mut windows, mut boxes) = (Vec::new(), Vec::new(), Vec::new());
    let outline =
        |corners: &[(f64, f64)]| corners.iter().map(|(x, y)| Point::new(*x, *y)).collect::<Vec<_>>();
    let cab = cab(unit).filter(|_| steers);
    for piece in pieces(unit) {
        let Piece { rear, front, bottom, top, .. } = piece;
        let block = outline(&[(rear, bottom), (front, bottom), (front, top), (rear, top)]);
        let Some(cab) = cab.filter(|cab| (cab.piece.front, cab.piece.rear) == (front, rear)) else {
            bodies.push(block);
            continue;
        };
        let hooded = front - cab.foot > 0.3;
        let mut shape = vec![(rear, bottom), (front, bottom)];
        if hooded {
            shape.extend([(front, cab.sill - 0.22), (front - 0.25, cab.sill - 0.08)]);
        } else {
            shape.push((front, cab.sill));
        }
        shape.extend([(cab.foot, cab.sill), (cab.head, top)]);
        match cab.bed {
            Some(bed) => shape.extend([(cab.rear, top), (cab.rear - 0.15, bed), (rear, bed)]),
            None if cab.slopes => {
                shape.extend([(cab.rear + 1.2, top), (cab.rear + 0.45, cab.sill), (rear, cab.sill - 0.1)]);
            }
            None => shape.push((rear, top)),
        }
        bodies.push(outline(&shape));
        boxes.push(block);
        let behind = if cab.slopes { cab.rear + 1.15 } else { cab.rear.max(cab.head - 2.4) + 0.15 };
        let (low, high) = (cab.sill + 0.04, top - RIM_M);
        if cab.head - behind > 0.3 && high > low {
            let slope = (cab.foot - cab.head) * (high - low) / (top - cab.sill).max(0.1);
            let end = if cab.slopes { behind - 0.35 } else { behind };
            windows.push(outline(&[
                (end, low),
                (cab.head + slope - 0.05, low),
                (cab.head - 0.08, high),
                (behind, high),
            ]));
        }
    }
    Side { bodies, windows, boxes }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::{find, library};

    /// Every line of a vehicle's picture lies within the box of its body, from above and from the side.
    #[test]
    fn pictures_stay_within_the_body() {
        for (name, _) in library() {
            let vehicle = find(name).unwrap();
            for (index, unit) in vehicle.units.iter().enumerate() {
                let body: Vec<Piece> = pieces(unit);
                let rear = body.iter().map(|p| p.rear).fold(f64::MAX, f64::min) - 1e-9;
                let front = body.iter().map(|p| p.front).fold(f64::MIN, f64::max) + 1e-9;
                let half = body.iter().map(|p| p.half).fold(0.0, f64::max) + 1e-9;
                let top = body.iter().map(|p| p.top).fold(0.0, f64::max) + 1e-9;
                let (glass, lines) = trim(unit, index == 0);
                for p in glass.iter().chain(&lines).flatten() {
                    assert!(p.x > rear && p.x < front && p.y.abs() < half, "{name}, {}: {p:?}", unit.name);
                }
                let side = side(unit, index == 0);
                for p in side.bodies.iter().chain(&side.windows).flatten() {
                    assert!(
                        p.x > rear && p.x < front && p.y > 0.0 && p.y < top,
                        "{name}, {}: {p:?}",
                        unit.name
                    );
                }
            }
        }
    }

    /// At full lock to the left the inner front wheel is turned more than the outer one, and both roll about one center.
    #[test]
    fn front_wheels_roll_about_the_center_of_the_turn() {
        let car = find("car").unwrap();
        let (unit, curvature) = (&car.units[0], car.steering.max_curvature);
        let center = Point::new(0.0, 1.0 / curvature);
        let rings = wheels(unit, curvature, false);
        let mut turned = Vec::new();
        for (tire, ring) in unit.tires.iter().zip(&rings).filter(|(tire, _)| tire.steered) {
            let ahead = (ring[0] - ring[3]).unit().unwrap();
            let out = (tire.center - center).unit().unwrap();
            assert!(ahead.dot(out).abs() < 1e-9, "the wheel rolls across its radius");
            turned.push((tire.center.y, ahead.angle()));
        }
        turned.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(turned.len() == 2 && turned[1].1 > turned[0].1 + 0.02, "{turned:?}");
    }
}
