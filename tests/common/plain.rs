//! A second, plain method of measuring a drive: the motion integrated step by step, every outline placed at thousands
//! of poses, and distances to obstacles by `geo`. It reads the site and the vehicle and shares no code with `motion` or
//! `clearance`. Everything happens in the gate's frame: u along the gate line, v inward.
use geo::{Distance, Euclidean};
use geo_types::{Coord, Line, LineString, Point as Dot, Polygon};
use wideenough::geometry::{Outline, Point};
use wideenough::motion::Path;
use wideenough::site::{Arrangement, Faces, Gate, Side, Site, Swing};
use wideenough::vehicle::Vehicle;

/// Spacing of the poses of an inspection, which are among the ones here.
const COARSE_M: f64 = 0.025;
/// Steps between two of those.
pub const FINE: usize = 10;
/// Without fence or road the gate line counts as closed this far from its middle.
const CLOSED_M: f64 = 60.0;

/// Pose of one unit: its axle, and the direction it faces as (cos, sin).
#[derive(Clone, Copy)]
pub struct Stand {
    pub at: Point,
    pub along: Point,
}

impl Stand {
    pub fn place(&self, p: Point) -> Point {
        Point::new(
            self.at.x + self.along.x * p.x - self.along.y * p.y,
            self.at.y + self.along.y * p.x + self.along.x * p.y,
        )
    }
}

/// Poses of the units at one moment, and the hitch angles there.
pub struct Moment {
    pub units: Vec<Stand>,
    pub hitches: Vec<f64>,
    /// Index of the leg of the path it belongs to.
    pub leg: usize,
    /// True if an inspection samples here, too.
    pub coarse: bool,
}

/// Rates per meter rolled of x, y and each unit's heading: the lead axle rolls straight ahead and turns by the
/// curvature; each towed axle may not slip sideways.
fn rates(vehicle: &Vehicle, state: &[f64], k: f64, sign: f64) -> Vec<f64> {
    let (sin, cos) = libm::sincos(state[2]);
    let mut rate = vec![sign * cos, sign * sin, sign * k];
    let (mut vx, mut vy, mut yaw, mut front) = (rate[0], rate[1], rate[2], (sin, cos));
    for (pair, heading) in vehicle.units.windows(2).zip(&state[3..]) {
        let behind = pair[0].hitch.expect("it tows").behind_axle_m;
        let (hx, hy) = (vx + behind * yaw * front.0, vy - behind * yaw * front.1);
        let (sin, cos) = libm::sincos(*heading);
        yaw = (hy * cos - hx * sin) / pair[1].wheelbase_m;
        let along = hx * cos + hy * sin;
        (vx, vy, front) = (along * cos, along * sin, (sin, cos));
        rate.push(yaw);
    }
    rate
}

fn moment(vehicle: &Vehicle, state: &[f64], leg: usize, coarse: bool) -> Moment {
    let along = |heading: f64| Point::new(libm::cos(heading), libm::sin(heading));
    let mut units = vec![Stand { at: Point::new(state[0], state[1]), along: along(state[2]) }];
    for (i, pair) in vehicle.units.windows(2).enumerate() {
        let front = units[i];
        let hitch = front.place(Point::new(-pair[0].hitch.expect("it tows").behind_axle_m, 0.0));
        let along = along(state[3 + i]);
        units.push(Stand { at: hitch - along * pair[1].wheelbase_m, along });
    }
    let hitches = state[2..].windows(2).map(|h| h[0] - h[1]).collect();
    Moment { units, hitches, leg, coarse }
}

/// Integrates a path into moments, by Runge-Kutta steps of 2.5 mm at most.
pub fn drive(vehicle: &Vehicle, path: &Path) -> Vec<Moment> {
    let lead = path.start.lead;
    let mut state = vec![lead.position.x, lead.position.y, lead.heading];
    for i in 1..vehicle.units.len() {
        state.push(state[1 + i] - path.start.hitch[i - 1]);
    }
    let mut moments = vec![moment(vehicle, &state, 0, true)];
    for (number_of_leg, leg) in path.legs.iter().enumerate() {
        let sign = leg.direction.sign();
        for s in leg.segments.iter().filter(|s| s.length_m > 0.0) {
            let coarse = (s.length_m / COARSE_M).ceil().max(1.0);
            let fine = f64::from(u32::try_from(FINE).expect("few"));
            let h = s.length_m / (coarse * fine);
            let curvature =
                |rolled: f64| s.curvature_start + (s.curvature_end - s.curvature_start) * rolled / s.length_m;
            let (mut rolled, mut count) = (0.0, 0.0);
            while count < coarse {
                for number in 1..=FINE {
                    let step = |rate: &[f64], by: f64| -> Vec<f64> {
                        state.iter().zip(rate).map(|(x, r)| x + r * by).collect()
                    };
                    let (k0, k1, k2) =
                        (curvature(rolled), curvature(rolled + h / 2.0), curvature(rolled + h));
                    let a = rates(vehicle, &state, k0, sign);
                    let b = rates(vehicle, &step(&a, h / 2.0), k1, sign);
                    let c = rates(vehicle, &step(&b, h / 2.0), k1, sign);
                    let d = rates(vehicle, &step(&c, h), k2, sign);
                    for i in 0..state.len() {
                        state[i] += h / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]);
                    }
                    rolled += h;
                    moments.push(moment(vehicle, &state, number_of_leg, number == FINE));
                }
                count += 1.0;
            }
        }
    }
    moments
}

/// Geometric form of an obstacle.
#[derive(Clone)]
pub enum Form {
    Dot(Dot),
    Line(LineString),
    Polygon(Polygon),
}

/// An obstacle: everything within a radius of a form, between two heights.
#[derive(Clone)]
pub struct Thing {
    pub what: String,
    pub form: Form,
    pub radius_m: f64,
    pub bottom_m: f64,
    pub top_m: f64,
    corners: Vec<Point>,
}

pub fn coords(corners: &[Point]) -> Vec<Coord> {
    corners.iter().map(|p| Coord { x: p.x, y: p.y }).collect()
}

pub fn polygon(corners: &[Point], holes: &[Vec<Point>]) -> Polygon {
    let ring = |corners: &[Point]| LineString::new(coords(corners));
    Polygon::new(ring(corners), holes.iter().map(|h| ring(h)).collect())
}

impl Thing {
    pub fn new(
        what: &str,
        corners: &[Point],
        holes: &[Vec<Point>],
        radius_m: f64,
        heights: (f64, f64),
    ) -> Self {
        let form = match corners {
            [one] => Form::Dot(Dot::new(one.x, one.y)),
            [_, _] => Form::Line(LineString::new(coords(corners))),
            _ => Form::Polygon(polygon(corners, holes)),
        };
        let (bottom_m, top_m) = heights;
        Self { what: what.to_owned(), form, radius_m, bottom_m, top_m, corners: corners.to_vec() }
    }

    fn gap(&self, outline: &Polygon) -> f64 {
        let apart = match &self.form {
            Form::Dot(dot) => Euclidean.distance(outline, dot),
            Form::Line(line) => Euclidean.distance(outline, line),
            Form::Polygon(other) => Euclidean.distance(outline, other),
        };
        (apart - self.radius_m).max(0.0)
    }

    /// Lower bound on the gap, from the sides of the outline (counterclockwise) and the box around it.
    fn no_nearer_than(&self, outline: &[Point]) -> f64 {
        let mut most = f64::NEG_INFINITY;
        for (i, a) in outline.iter().enumerate() {
            let side = outline[(i + 1) % outline.len()] - *a;
            let length = side.norm();
            if length > 0.0 {
                let out = Point::new(side.y / length, -side.x / length);
                let least = self.corners.iter().map(|c| (*c - *a).dot(out)).fold(f64::INFINITY, f64::min);
                most = most.max(least);
            }
        }
        for out in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)].map(|(x, y)| Point::new(x, y)) {
            let near = outline.iter().map(|c| c.dot(out)).fold(f64::NEG_INFINITY, f64::max);
            let far = self.corners.iter().map(|c| c.dot(out)).fold(f64::INFINITY, f64::min);
            most = most.max(far - near);
        }
        most - self.radius_m
    }

    /// This thing, moved along the gate line.
    fn shifted(&self, by: f64) -> Self {
        let corners: Vec<Point> = self.corners.iter().map(|p| Point::new(p.x + by, p.y)).collect();
        // Only things of one ring move with a face.
        Self::new(&self.what, &corners, &[], self.radius_m, (self.bottom_m, self.top_m))
    }
}

fn to_gate(gate: &Gate, p: Point) -> Point {
    let middle = (gate.left + gate.right) * 0.5;
    let along = (gate.right - gate.left) * (1.0 / gate.left.distance(gate.right));
    let d = p - middle;
    Point::new(d.dot(along), d.dot(gate.inward))
}

pub fn ring_to_gate(gate: &Gate, ring: &Outline) -> Vec<Point> {
    ring.0.iter().map(|p| to_gate(gate, *p)).collect()
}

/// Everything standing, in three lists: fixed things, those that go with the left face, and those that go with the
/// right one. The faces stand at `faces` and the leaves are cut for `leaf_opening_m`.
pub fn standing(site: &Site, faces: Faces, leaf_opening_m: f64) -> [Vec<Thing>; 3] {
    let gate = &site.gate;
    let [mut fixed, mut left, mut right] = [const { Vec::new() }; 3];
    for o in &site.obstacles {
        for shape in &o.shapes {
            let holes: Vec<Vec<Point>> = shape.holes.iter().map(|h| ring_to_gate(gate, h)).collect();
            let outer = ring_to_gate(gate, &shape.outer);
            fixed.push(Thing::new(&o.label, &outer, &holes, shape.radius_m, (o.bottom_m, o.top_m)));
        }
    }
    let half_drawn = 0.5 * gate.left.distance(gate.right);
    for (list, sign, face, side) in
        [(&mut left, -1.0, faces.left, Side::Left), (&mut right, 1.0, faces.right, Side::Right)]
    {
        let at = |out: f64, v: f64| Point::new(face + sign * out, v);
        let (width, half_depth) = (gate.post.width_m, 0.5 * gate.post.depth_m);
        let post = [at(0.0, -half_depth), at(width, -half_depth), at(width, half_depth), at(0.0, half_depth)];
        list.push(Thing::new("post", &post, &[], 0.0, (0.0, gate.post.top_m)));
        // Leaves: a hinged one from its pin at the face, half its thickness to each side; a sliding one behind the
        // post.
        let leaves = gate.leaves;
        let (has, length) = match leaves.arrangement {
            Arrangement::None => (false, 0.0),
            Arrangement::Double => (true, 0.5 * leaf_opening_m),
            Arrangement::Single(on) | Arrangement::Slide(on) => (on == side, leaf_opening_m),
        };
        if has {
            let thick = leaves.thickness_m;
            let corners = if matches!(leaves.arrangement, Arrangement::Slide(_)) {
                let (near, far) = (half_depth, half_depth + thick);
                [at(0.0, near), at(length, near), at(length, far), at(0.0, far)]
            } else {
                let (sin, cos) = libm::sincos(leaves.open_angle_rad);
                let swing = if leaves.opens == Swing::In { 1.0 } else { -1.0 };
                // When closed it lies across the opening.
                let along = Point::new(-sign * cos, swing * sin);
                let off = Point::new(-along.y, along.x) * (0.5 * thick);
                let (pin, end) = (at(0.0, 0.0), at(0.0, 0.0) + along * length);
                [pin - off, end - off, end + off, pin + off]
            };
            list.push(Thing::new("leaf", &corners, &[], 0.0, (leaves.bottom_m, leaves.top_m)));
        }
        let mut closed = CLOSED_M;
        for road in &site.roads {
            let ring = ring_to_gate(gate, &road.surface.outer);
            for (i, a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                let u = a.x + (b.x - a.x) * a.y / (a.y - b.y);
                if (a.y > 0.0) != (b.y > 0.0) && u * sign > 0.0 {
                    closed = closed.min(u.abs());
                }
            }
        }
        // A fence in the gate line gives way to the post, whichever direction the post moves.
        for fence in &site.fences {
            let line: Vec<Point> = fence.line.iter().map(|p| to_gate(gate, *p)).collect();
            for pair in line.windows(2).filter(|p| in_line(gate, fence.thickness_m, p, half_drawn)) {
                if pair[0].x * sign > 0.0 {
                    let (near, far) = if pair[0].x.abs() < pair[1].x.abs() {
                        (pair[0], pair[1])
                    } else {
                        (pair[1], pair[0])
                    };
                    let half = 0.5 * fence.thickness_m;
                    let out = (far.x - face) * sign;
                    let quad = [
                        at(0.0, near.y - half),
                        at(out, far.y - half),
                        at(out, far.y + half),
                        at(0.0, near.y + half),
                    ];
                    list.push(Thing::new(&fence.label, &quad, &[], 0.0, (0.0, fence.top_m)));
                    closed = closed.max(far.x.abs());
                }
            }
        }
        let line = [at(0.0, 0.0), Point::new(sign * closed, 0.0)];
        list.push(Thing::new("gate line", &line, &[], 0.0, (0.0, f64::INFINITY)));
    }
    for fence in &site.fences {
        let line: Vec<Point> = fence.line.iter().map(|p| to_gate(gate, *p)).collect();
        let half = 0.5 * fence.thickness_m;
        for pair in line.windows(2).filter(|p| !in_line(gate, fence.thickness_m, p, half_drawn)) {
            let along = (pair[1] - pair[0]) * (1.0 / pair[0].distance(pair[1]));
            let off = Point::new(-along.y, along.x) * half;
            let quad = [pair[0] - off, pair[1] - off, pair[1] + off, pair[0] + off];
            fixed.push(Thing::new(&fence.label, &quad, &[], 0.0, (0.0, fence.top_m)));
        }
    }
    [fixed, left, right]
}

fn in_line(gate: &Gate, thickness_m: f64, pair: &[Point], half_drawn: f64) -> bool {
    let near = gate.in_line_within_m(thickness_m);
    pair.iter().all(|p| p.y.abs() <= near && p.x.abs() >= half_drawn - 1e-6) && pair[0].x * pair[1].x > 0.0
}

/// Distance from which on gaps are not measured.
pub const FAR_M: f64 = 0.7;

/// Gaps between the vehicle and one list of things along a drive.
pub struct Look {
    /// The least gap, [`FAR_M`] at most.
    pub least_m: f64,
    /// Name of the thing at the least gap.
    pub to: String,
    /// Outlines that came within `keep_m`, each with the thing it came near to.
    near: Vec<(Polygon, usize)>,
}

/// Measures the least gap between the vehicle and a list of things. Between two coarse poses the fine ones are measured
/// where one of the two is near enough for it to matter.
pub fn look(vehicle: &Vehicle, moments: &[Moment], things: &[Thing], keep_m: f64) -> Look {
    // No corner of any vehicle driven here moves farther in one coarse step.
    const SLACK_M: f64 = 0.3;
    let mut look = Look { least_m: FAR_M, to: String::new(), near: Vec::new() };
    for (index, unit) in vehicle.units.iter().enumerate() {
        for part in &unit.parts {
            for (number, thing) in things.iter().enumerate() {
                if part.bottom_m > thing.top_m || part.top_m < thing.bottom_m {
                    continue;
                }
                let mut i = 0;
                while i < moments.len() {
                    let corners: Vec<Point> =
                        part.outline.0.iter().map(|p| moments[i].units[index].place(*p)).collect();
                    let bound = thing.no_nearer_than(&corners);
                    if bound < keep_m.max(look.least_m) {
                        let outline = polygon(&corners, &[]);
                        let gap = thing.gap(&outline);
                        if gap < look.least_m {
                            (look.least_m, look.to) = (gap, thing.what.clone());
                        }
                        if gap < keep_m {
                            look.near.push((outline, number));
                        }
                    }
                    let skip = bound > keep_m.max(look.least_m) + SLACK_M && moments[i].coarse;
                    i += if skip { FINE } else { 1 };
                }
            }
        }
    }
    look
}

/// True if nothing comes nearer than `clearance_m` with a face `by` farther along the gate line. `look` must have kept
/// all within the clearance and `by`. Without clearance things may touch, not overlap.
pub fn clears(look: &Look, things: &[Thing], clearance_m: f64, by: f64) -> bool {
    let moved: Vec<Thing> = things.iter().map(|t| t.shifted(by)).collect();
    look.near.iter().all(|(outline, number)| {
        let gap = moved[*number].gap(outline);
        if clearance_m > 0.0 { gap >= clearance_m } else { gap > 0.0 }
    })
}

/// Distance a face could come in (along `sign`) from where it stands until something is nearer than `clearance_m`; at
/// most `most_m`.
pub fn spare(look: &Look, things: &[Thing], clearance_m: f64, sign: f64, most_m: f64) -> f64 {
    let clears = |by: f64| clears(look, things, clearance_m, sign * by);
    if clears(most_m) {
        return most_m;
    }
    let (mut low, mut high) = (0.0, most_m);
    for _ in 0..14 {
        let middle = 0.5 * (low + high);
        if clears(middle) { low = middle } else { high = middle }
    }
    low
}

/// Depth of the ends of the tires' contact lines inside a polygon (negative: outside), and depth of the whole lines:
/// nothing where one crosses an edge.
pub fn tires_inside(vehicle: &Vehicle, moments: &[Moment], ground: &Polygon) -> (f64, f64) {
    let rings: Vec<&LineString> = std::iter::once(ground.exterior()).chain(ground.interiors()).collect();
    let (mut of_ends, mut of_lines) = (f64::INFINITY, f64::INFINITY);
    for m in moments {
        for (unit, stand) in vehicle.units.iter().zip(&m.units) {
            for tire in &unit.tires {
                let ends = contact(stand, tire).map(|p| Dot::new(p.x, p.y));
                let over = ends.iter().map(|p| Euclidean.distance(p, ground)).fold(0.0, f64::max);
                let edge =
                    |p: &Dot| rings.iter().map(|r| Euclidean.distance(p, *r)).fold(f64::INFINITY, f64::min);
                of_ends = of_ends.min(if over > 0.0 { -over } else { edge(&ends[0]).min(edge(&ends[1])) });
                let line = Line::new(ends[0], ends[1]);
                let apart = rings.iter().map(|r| Euclidean.distance(&line, *r)).fold(f64::INFINITY, f64::min);
                of_lines = of_lines.min(if over > 0.0 { -over } else { apart });
            }
        }
    }
    (of_ends, of_lines)
}

/// The two ends of a tire's line of contact.
pub fn contact(stand: &Stand, tire: &wideenough::vehicle::Tire) -> [Point; 2] {
    let half = Point::new(0.0, 0.5 * tire.width_m);
    [stand.place(tire.center - half), stand.place(tire.center + half)]
}
