//! Drives vehicles as published turning paths are drawn, and measures the ground they sweep.
use std::f64::consts::PI;
use wideenough::geometry::{Point, Pose, trig};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::vehicle::{self, PartKind, Unit, Vehicle};

pub const FOOT_M: f64 = 0.3048;
pub const INCH_M: f64 = 0.0254;

pub fn library(name: &str) -> Vehicle {
    vehicle::find(name).unwrap_or_else(|e| panic!("{e}"))
}

/// A vehicle that is in no file of the library: units as
/// [wheelbase or hitch to axle, front overhang, rear overhang, width, hitch behind the axle], lengths with their unit.
pub fn made(units: &[[&str; 5]], steering: &str) -> Vehicle {
    let units: Vec<String> = units
        .iter()
        .enumerate()
        .map(|(i, [l, fo, ro, w, s])| {
            let key = if i == 0 { "wheelbase" } else { "hitch_to_axle" };
            let hitch = if s.is_empty() {
                String::new()
            } else {
                format!(", \"hitch\": {{ \"behind_axle\": \"{s}\", \"max_angle_deg\": 90 }}")
            };
            format!(
                "{{ \"name\": \"unit {i}\", \"{key}\": \"{l}\", \"front_overhang\": \"{fo}\", \
                 \"rear_overhang\": \"{ro}\", \"width\": \"{w}\", \"height\": \"3 m\"{hitch} }}"
            )
        })
        .collect();
    let text =
        format!("{{ \"title\": \"made\", \"steering\": {steering}, \"units\": [ {} ] }}", units.join(", "));
    vehicle::read(&text, "made.json").unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// Steering by the radius of the front axle's center.
pub fn centerline(radius: &str) -> String {
    format!("{{ \"turning_circle\": {{ \"kind\": \"centerline\", \"radius\": \"{radius}\" }} }}")
}

/// CTR of a vehicle at full lock, from its settled steering.
pub fn centerline_radius_m(v: &Vehicle) -> f64 {
    trig::hypot(1.0 / v.steering.max_curvature, v.units[0].wheelbase_m)
}

/// The poses of every unit while the front axle's center is guided through a turn to the left.
pub struct Guided {
    /// Center of the arc.
    pub center: Point,
    /// Poses of the units, and whether the front axle is still on the arc.
    pub poses: Vec<(Vec<Pose>, bool)>,
    /// Index of the pose with which the arc ends.
    pub arc_end: usize,
}

/// Guides the front axle's center over an arc of `radius_m` through `turn_deg`, then straight over twice the
/// vehicle's length (no trailing axle comes nearer to the arc's center after that).
pub fn guide(v: &Vehicle, radius_m: f64, turn_deg: f64) -> Guided {
    let chain = Chain::led_by_front_axle(v);
    let arc_m = radius_m * turn_deg.to_radians();
    let segments = vec![Segment::arc(arc_m, 1.0 / radius_m), Segment::arc(2.0 * v.length_m(), 0.0)];
    let path = Path { start: State::default(), legs: vec![Leg { direction: Direction::Forward, segments }] };
    let samples = path.samples(&chain, 0.02);
    let arc_end = samples.iter().position(|s| s.station_m > arc_m + 1e-6).unwrap() - 1;
    let poses = samples
        .iter()
        .enumerate()
        .map(|(i, s)| (chain.unit_poses(&s.state)[1..=v.units.len()].to_vec(), i <= arc_end))
        .collect();
    Guided { center: Point::new(0.0, radius_m), poses, arc_end }
}

impl Guided {
    /// Least distance from the arc's center to the last axle's center.
    pub fn last_axle_m(&self) -> f64 {
        let last = |p: &Vec<Pose>| p[p.len() - 1].position.distance(self.center);
        self.poses.iter().map(|(p, _)| last(p)).fold(f64::INFINITY, f64::min)
    }
    /// Distance from the arc's center to the last axle's center as the front axle leaves the arc.
    pub fn last_axle_at_arc_end_m(&self) -> f64 {
        let (p, _) = &self.poses[self.arc_end];
        p[p.len() - 1].position.distance(self.center)
    }
    /// Farthest front corner of the lead unit's body from the arc's center, with the front axle on the arc.
    pub fn farthest_corner_m(&self, v: &Vehicle) -> f64 {
        let corners: Vec<Point> = body_corners(&v.units[0]).into_iter().filter(|c| c.x > 0.0).collect();
        let on_arc = self.poses.iter().filter(|(_, on_arc)| *on_arc);
        on_arc
            .flat_map(|(p, _)| corners.iter().map(|c| p[0].to_site(*c).distance(self.center)))
            .fold(0.0, f64::max)
    }
}

pub fn body_corners(unit: &Unit) -> Vec<Point> {
    let body = unit.parts.iter().filter(|p| p.kind == PartKind::Body);
    body.flat_map(|p| p.outline.0.iter().copied()).collect()
}

/// Collects deviations instead of stopping at the first, and counts the cases.
#[derive(Default)]
pub struct Rows {
    pub run: usize,
    pub off: Vec<String>,
}

impl Rows {
    pub fn near(&mut self, what: &str, got: f64, published: f64, tolerance: f64) {
        self.run += 1;
        // Written so that NaN counts as off.
        if (got - published).abs() > tolerance || got.is_nan() {
            self.off.push(format!("{what}: {got:.4}, published {published} +- {tolerance}"));
        }
    }
    pub fn done(self, cases: usize) {
        assert!(self.off.is_empty(), "{} of {} off:\n{}", self.off.len(), self.run, self.off.join("\n"));
        assert_eq!(self.run, cases, "cases run");
    }
}

/// Least and greatest distance of a rigid vehicle's body from the turning center, driven once round at full lock.
pub fn full_lock_ring_m(v: &Vehicle) -> (f64, f64) {
    let k = v.steering.max_curvature;
    let turn = Leg { direction: Direction::Forward, segments: vec![Segment::arc(2.0 * PI / k, k)] };
    let path = Path { start: State::default(), legs: vec![turn] };
    let chain = Chain::of(v);
    let center = Point::new(0.0, 1.0 / k);
    let (mut inner, mut outer) = (f64::INFINITY, 0.0_f64);
    for sample in path.samples(&chain, 0.5) {
        let pose = chain.unit_poses(&sample.state)[0];
        let body = v.units[0].parts.iter().filter(|p| p.kind == PartKind::Body);
        for (a, b) in body.flat_map(|p| p.outline.edges().collect::<Vec<_>>()) {
            let (a, b) = (pose.to_site(a), pose.to_site(b));
            let t = ((center - a).dot(b - a) / (b - a).norm2()).clamp(0.0, 1.0);
            inner = inner.min(center.distance(a + (b - a) * t));
            outer = outer.max(center.distance(a));
        }
    }
    (inner, outer)
}
