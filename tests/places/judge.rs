//! Judge of the paths that answers list as their proof, by code of its own: the drive integrated by small steps
//! (`common::plain`), polygons by `geo`, and the roads as the plan's text gives them. It reads no verdict of the
//! program.
use super::common::plain::{Form, Moment, Thing, contact, drive, look, polygon, ring_to_gate, standing};
use super::generator::{drives_on, is_left_of};
use super::lane::{LaneLine, TravelLane, going_on};
use geo::{Contains, Distance, Euclidean};
use geo_types::{Coord, Line, Point as Dot, Polygon};
use serde_json::Value;
use wideenough::geometry::{Outline, Point, Pose};
use wideenough::motion::{Path, State};
use wideenough::opening::{Answer, Case, CaseLane, Outcome, Study};
use wideenough::site::{Faces, Maneuver, RoadUse, Site};
use wideenough::vehicle::{PartKind, Vehicle};

/// Distance from the opening within which a mirror is in the gate, not over the edge of a road beside it.
const BESIDE_POSTS_M: f64 = 3.0;
/// Distance that a start may be over an edge.
const START_M: f64 = 0.005;
/// Distance from a corner of a lane within which a start is at the corner.
const AT_CORNER_M: f64 = 0.011;
/// Distance that tires may be over the edge of the ground allowed: the seam by which polygons are joined, twice at a
/// corner, and the tolerance of a verdict.
const TIRE_M: f64 = 0.0215;
/// Distance from a road's edge within which a vehicle on the road may reach over the gate line, meters: nothing stands
/// there unless it is drawn. The program's own rule; a fence that is drawn there is a thing like others.
const OPEN_BESIDE_ROAD_M: f64 = 0.5;
/// Rounding of the numbers written, and the difference between two integrations.
const TINY_M: f64 = 3e-6;
/// Least length of a road that goes on beyond its drawn end.
const RUNS_ON_M: f64 = 100.0;
/// Width from which on roads have a lane for each direction.
pub const TWO_LANES_M: f64 = 16.0 * 0.3048;
/// Spacing at which parts are sampled along their outlines and along the gate line.
const OUTLINE_STEP_M: f64 = 0.05;

/// A fault of an answer.
#[derive(Clone, Debug)]
pub struct Fault {
    /// The place: its seed or file.
    pub place: String,
    pub case: String,
    pub kind: &'static str,
    pub amount: f64,
    pub unit: &'static str,
    pub note: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { place, case, kind, amount, unit, note } = self;
        write!(f, "{kind}: {place}: {case}: {amount:.4} {unit} {note}")
    }
}

/// A road that goes on beyond its drawn end.
struct RunOn {
    surface: Polygon,
    /// True if it reaches the gate line only beyond its drawn end, in the gate or in a fence on that line; the part behind
    /// the line does not count.
    crosses_line: bool,
}

/// A place in the gate's frame: u along the gate line, v inward.
pub struct Judge<'a> {
    site: &'a Site,
    plan: &'a Value,
    roads: Vec<Polygon>,
    run_on: Vec<RunOn>,
    drives: Vec<Polygon>,
}

fn dot(p: Point) -> Dot {
    Dot::new(p.x, p.y)
}

/// Distance of a point outside of a polygon, 0 inside.
fn outside(polygon: &Polygon, p: Point) -> f64 {
    if polygon.contains(&dot(p)) { 0.0 } else { Euclidean.distance(&dot(p), polygon) }
}

fn outside_all<'p>(polygons: impl Iterator<Item = &'p Polygon>, p: Point) -> f64 {
    polygons.map(|one| outside(one, p)).fold(f64::INFINITY, f64::min)
}

/// Points along a closed outline.
fn along_outline(corners: &[Point]) -> Vec<Point> {
    let next = |i: usize| corners[(i + 1) % corners.len()];
    (0..corners.len()).flat_map(|i| along(corners[i], next(i))).collect()
}

fn along(a: Point, b: Point) -> Vec<Point> {
    let count = (a.distance(b) / OUTLINE_STEP_M).ceil().max(1.0);
    let mut list = Vec::new();
    let mut i = 0.0;
    while i <= count {
        list.push(a + (b - a) * (i / count));
        i += 1.0;
    }
    list
}

fn at0() -> Point {
    Point::new(0.0, 0.0)
}

impl<'a> Judge<'a> {
    pub fn new(site: &'a Site, plan: &'a Value) -> Self {
        let gate = &site.gate;
        let ground = |g: &wideenough::site::Ground| {
            let holes: Vec<Vec<Point>> = g.holes.iter().map(|h| ring_to_gate(gate, h)).collect();
            polygon(&ring_to_gate(gate, &g.outer), &holes)
        };
        // The opening with its posts, and fences along its line.
        let beside = 0.5 * gate.opening_m() + BESIDE_POSTS_M;
        let fenced = site.fences.iter().flat_map(|fence| ring_to_gate(gate, &Outline(fence.line.clone())));
        let fenced = fenced.filter(|p| p.y.abs() < BESIDE_POSTS_M).map(|p| p.x);
        let closed = fenced.fold((-beside, beside), |(low, high), u| (low.min(u), high.max(u)));
        let run_on = going_on(site, plan).into_iter().map(|(end, before, width)| {
            let ends = ring_to_gate(gate, &Outline(vec![before, end]));
            let along = (ends[1] - ends[0]).unit().expect("a piece");
            let off = along.left() * (0.5 * width);
            let (near, far) = (ends[1] - along * 0.01, ends[1] + along * RUNS_ON_M);
            let surface = polygon(&[near - off, far - off, far + off, near + off], &[]);
            let over = near.y < 0.0 && far.y > 0.0;
            let at_u = near.x - near.y * along.x / along.y;
            // The road's edges meet the line half its width to each side, farther at an angle.
            let half_u = 0.5 * width / along.y.abs();
            let closed = over && at_u - half_u < closed.1 && at_u + half_u > closed.0;
            RunOn { surface, crosses_line: closed }
        });
        let run_on = run_on.collect();
        let roads = site.roads.iter().map(|r| ground(&r.surface)).collect();
        Self { site, plan, roads, run_on, drives: site.drives.iter().map(ground).collect() }
    }

    /// Distance of a point from every road: as drawn, and beyond the ends that go on.
    fn off_roads(&self, p: Point) -> f64 {
        let drawn = outside_all(self.roads.iter(), p);
        let counts = self.run_on.iter().filter(|r| !(r.crosses_line && p.y > 0.0));
        drawn.min(outside_all(counts.map(|r| &r.surface), p))
    }

    /// Every fault of a study's answers.
    pub fn faults(&self, study: &Study, place: &str) -> Vec<Fault> {
        let mut list = Vec::new();
        for case in &study.cases {
            for (word, answer, clearance_m) in
                [("bare", &case.bare, 0.0), ("comfortable", &case.comfortable, study.clearance_m)]
            {
                let vehicle = &study.vehicles[case.vehicle];
                let name = format!("{} {} {} {word}", vehicle.name, case.travel, case.maneuver.word());
                if answer.outcome == Outcome::Found {
                    let mut notes = Notes { list: &mut list, place, case: &name };
                    self.answer(vehicle, case, answer, clearance_m, &mut notes);
                }
            }
        }
        list
    }

    fn answer(&self, vehicle: &Vehicle, case: &Case, answer: &Answer, clearance_m: f64, notes: &mut Notes) {
        let (Some(witness), Some(faces), Some(opening_m)) =
            (&answer.witness, answer.faces_u_m, answer.opening_m)
        else {
            notes.fault("no proof", f64::INFINITY, "found, but without path, faces or opening");
            return;
        };
        let body = widest(vehicle);
        notes.over("opening narrower than the body", body + 2.0 * clearance_m - opening_m, TINY_M, "");
        notes.over("faces wider than the opening", faces.right - faces.left - opening_m, TINY_M, "");
        let path = in_gate(self.site, witness.path());
        self.limits(vehicle, &path, notes);
        let moments = drive(vehicle, &path);
        let poses: Vec<&Moment> = moments.iter().filter(|m| m.coarse).collect();
        self.start(vehicle, case, poses[0], (faces, opening_m, clearance_m), notes);
        self.end(vehicle, poses[poses.len() - 1], notes);
        self.crossing(vehicle, case, &poses, faces, notes);
        self.posts(faces, notes);
        self.tires(vehicle, case, &poses, notes);
        self.touches(vehicle, &moments, (faces, opening_m, clearance_m), notes);
    }

    /// Checks that steering and hitches stay within the vehicle's limits; hitches at the moments driven.
    fn limits(&self, vehicle: &Vehicle, path: &Path, notes: &mut Notes) {
        let steering = vehicle.steering;
        for s in path.legs.iter().flat_map(|l| &l.segments) {
            let sharpest = s.curvature_start.abs().max(s.curvature_end.abs());
            notes.over("steered beyond lock", sharpest / steering.max_curvature - 1.0, 1e-6, "");
            let change = (s.curvature_end - s.curvature_start).abs() / steering.max_curvature;
            notes.over("steered too fast", change * steering.lock_distance_m - s.length_m, 1e-5, "");
        }
        let moments = drive(vehicle, path);
        for (i, hitch) in vehicle.units.iter().filter_map(|u| u.hitch).enumerate() {
            let most = moments.iter().map(|m| m.hitches[i].abs()).fold(0.0, f64::max);
            notes.over("hitch beyond its limit", most - hitch.max_angle_rad, 1e-6, "");
        }
    }

    fn lane_of(&self, case: &Case) -> Option<TravelLane> {
        TravelLane::of(self.site, drives_on(self.plan), &case.travel)
    }

    /// Checks the start: on the road, in its lane, outside the gate and upstream of it, headed along the lane.
    fn start(
        &self,
        vehicle: &Vehicle,
        case: &Case,
        start: &Moment,
        (faces, opening_m, clearance_m): (Faces, f64, f64),
        notes: &mut Notes,
    ) {
        let Some(TravelLane { mut line, offsets_m: lane, leaves_m, .. }) = self.lane_of(case) else {
            notes.fault("no such travel", f64::INFINITY, &case.travel);
            return;
        };
        // A way out by the lane it came by is driven in reverse order, in the lane of that direction, wherever along
        // it.
        let leaves = case.lane == CaseLane::Leaving;
        if leaves {
            line.0.reverse();
        }
        let lane_width = lane.1 - lane.0;
        let (mut off_road, mut off_lane, mut in_gate, mut past) =
            (0.0_f64, 0.0_f64, 0.0_f64, f64::NEG_INFINITY);
        let depth = 0.5 * self.site.gate.post.depth_m;
        let mut stations = (f64::INFINITY, f64::NEG_INFINITY);
        let mut leading = f64::NEG_INFINITY;
        for (index, (unit, stand)) in vehicle.units.iter().zip(&start.units).enumerate() {
            for part in &unit.parts {
                let corners: Vec<Point> = part.outline.0.iter().map(|p| stand.place(*p)).collect();
                for p in along_outline(&corners) {
                    let off = self.off_roads(p);
                    // A mirror reaches over the edge of a road, and a road may run on beside the gate line.
                    let here = part.kind == PartKind::Body || p.x.abs() < 0.5 * opening_m + BESIDE_POSTS_M;
                    if here && p.y > -depth && off > 0.0 {
                        in_gate = in_gate.max((p.y + depth).min(off));
                    }
                    if part.kind != PartKind::Body {
                        continue;
                    }
                    let (station, left, _) = line.beside(p);
                    stations = (stations.0.min(station), stations.1.max(station));
                    off_road = off_road.max(off);
                    off_lane = off_lane.max(lane.0 - left).max(left - lane.1);
                    if index == 0 {
                        leading = leading.max(station);
                    }
                }
            }
        }
        past = past.max(leading - leaves_m);
        notes.over("starts off the road", off_road, START_M, "");
        if widest(vehicle) <= lane_width && off_lane > START_M {
            let things = &standing(self.site, faces, opening_m)[0];
            if !beside_lane(things, &line, lane, stations, clearance_m) {
                notes.over("starts out of its lane", off_lane, START_M, "");
            }
        }
        notes.over("starts in the gate", in_gate, TINY_M, "");
        if !leaves {
            notes.over("starts past the gate", past, TINY_M, "");
        }
        let lead = start.units[0];
        let turned = |along_m: f64| {
            let (_, _, ahead) = line.beside(lead.at + lead.along * along_m);
            libm::acos(ahead.dot(lead.along).clamp(-1.0, 1.0))
        };
        // At a corner of the line either direction is that of the lane.
        let turned = turned(AT_CORNER_M).min(turned(-AT_CORNER_M));
        // Rounded at a bend, a lane's direction differs from that of its line by half of the bend at most.
        notes.over("starts askew or against the travel", turned, 0.55, "");
    }

    fn end(&self, vehicle: &Vehicle, end: &Moment, notes: &mut Notes) {
        notes.over("ends not wholly inside", -extent(vehicle, end).0, -TINY_M, "");
    }

    /// Checks that the gate line is passed between the faces, once, and is touched elsewhere only on a road.
    fn crossing(&self, vehicle: &Vehicle, case: &Case, poses: &[&Moment], faces: Faces, notes: &mut Notes) {
        let (mut aside, mut whereabouts) = (0.0_f64, String::new());
        let mut inside_by: Option<f64> = None;
        let depth = 0.5 * self.site.gate.post.depth_m;
        let mut entered_early = 0.0_f64;
        for m in poses {
            let mut through = false;
            for (unit, stand) in vehicle.units.iter().zip(&m.units) {
                for part in &unit.parts {
                    let corners: Vec<Point> = part.outline.0.iter().map(|p| stand.place(*p)).collect();
                    let Some((low, high)) = on_line(&corners) else { continue };
                    let in_opening = high > faces.left && low < faces.right;
                    through |= in_opening;
                    if in_opening && case.maneuver == Maneuver::BackIn && m.leg == 0 {
                        let most = corners.iter().map(|p| p.y).fold(0.0, f64::max);
                        entered_early = entered_early.max(most);
                    }
                    if low >= faces.left - TINY_M && high <= faces.right + TINY_M {
                        continue;
                    }
                    for p in along(Point::new(low, 0.0), Point::new(high, 0.0)) {
                        let beyond = (faces.left - p.x).max(p.x - faces.right);
                        if beyond > TINY_M && self.closed_at(p.x, faces) {
                            let off = (self.off_roads(p) - OPEN_BESIDE_ROAD_M).min(beyond);
                            if off > aside {
                                (aside, whereabouts) = (off, format!("at u {:.2}", p.x));
                            }
                        }
                    }
                }
            }
            // A vehicle is wholly inside only behind the depth of the gate and off the road.
            let least = extent(vehicle, m).0;
            if !through && least > depth && self.middle_off_roads(vehicle, m) {
                inside_by = Some(inside_by.map_or(least, |by: f64| by.max(least)));
            } else if let Some(by) = inside_by.filter(|_| through) {
                notes.fault("comes out again", by, "behind the gate line before");
                inside_by = None;
            }
        }
        // Between two samples the outline moves on by less than this past a corner of the line.
        notes.over("touches the gate line aside", aside, 0.012, &whereabouts);
        notes.over("enters before it backs in", entered_early, TINY_M, "");
    }

    /// Checks that no post of an opening wider than drawn stands on a road, unless a fence is drawn on into it.
    fn posts(&self, faces: Faces, notes: &mut Notes) {
        let post = self.site.gate.post.width_m;
        let drawn = 0.5 * self.site.gate.opening_m() + post;
        let fences: Vec<Vec<Point>> = self
            .site
            .fences
            .iter()
            .map(|fence| ring_to_gate(&self.site.gate, &Outline(fence.line.clone())))
            .collect();
        for (sign, outer) in [(-1.0, post - faces.left), (1.0, faces.right + post)] {
            let fenced = |u: f64| {
                fences
                    .iter()
                    .flatten()
                    .any(|p| sign * p.x >= u && p.y.abs() < 0.5 * self.site.gate.post.depth_m)
            };
            let on_road =
                |u: f64| outside_all(self.roads.iter(), Point::new(sign * u, 0.0)) <= 0.0 && !fenced(u);
            if on_road(drawn) {
                continue;
            }
            let mut u = drawn;
            while u < outer && !on_road(u) {
                u += 0.01;
            }
            notes.over("a post on the road", outer - u, 0.02, if sign < 0.0 { "left" } else { "right" });
        }
    }

    /// True if the gate line is closed at a place along it: on each side from the opening to the first road.
    fn closed_at(&self, u: f64, faces: Faces) -> bool {
        let near = if u < faces.left { faces.left } else { faces.right };
        let way = Line::new(Coord { x: near, y: 0.0 }, Coord { x: u, y: 0.0 });
        !self.roads.iter().any(|r| Euclidean.distance(&way, r) == 0.0)
            || u.abs() < 0.5 * (faces.right - faces.left) + 1.0
    }

    fn middle_off_roads(&self, vehicle: &Vehicle, m: &Moment) -> bool {
        let count = vehicle.units.len();
        m.units.iter().take(count).all(|stand| self.off_roads(stand.at) > 0.0)
    }

    /// Checks that tires stay on roads and drives; where no drive is drawn, never beyond the far edge of the road in
    /// front.
    fn tires(&self, vehicle: &Vehicle, case: &Case, poses: &[&Moment], notes: &mut Notes) {
        let road = &self.site.roads[0];
        let line = ring_to_gate(&self.site.gate, &Outline(road.centerline.clone()));
        let line_of = LaneLine(line.clone());
        let gate_left = is_left_of(&line, at0());
        let (gate_station, ..) = line_of.beside(at0());
        let length: f64 = line.windows(2).map(|w| w[0].distance(w[1])).sum();
        let runs_past = (0.0..=length).contains(&gate_station);
        let (mut worst, mut place) = (0.0_f64, String::new());
        for m in poses {
            for (unit, stand) in vehicle.units.iter().zip(&m.units) {
                for p in unit.tires.iter().flat_map(|t| contact(stand, t)) {
                    let mut off = self.off_roads(p);
                    if off <= worst {
                        continue;
                    }
                    if self.drives.is_empty() {
                        let (station, left, _) = line_of.beside(p);
                        let drawn = (0.0..=length).contains(&station);
                        if !(runs_past && drawn && (left > 0.0) != gate_left) {
                            continue;
                        }
                    } else {
                        off = off.min(outside_all(self.drives.iter(), p));
                    }
                    if off > worst {
                        (worst, place) = (off, format!("at ({:.2}, {:.2}) of the gate's frame", p.x, p.y));
                    }
                }
            }
        }
        let kind =
            if self.drives.is_empty() { "tires across the road's far edge" } else { "tires off the ground" };
        notes.over(kind, worst, TIRE_M, &place);
        let Some(lane) = self.lane_of(case) else { return };
        let own = &self.site.roads[lane.road];
        if own.usage == RoadUse::OwnLane && own.width_m >= TWO_LANES_M && !self.drives.is_empty() {
            self.own_lane(vehicle, poses, &lane, notes);
        }
    }

    /// Checks, on a road whose vehicles keep to their own lane, for tires on the other half.
    fn own_lane(&self, vehicle: &Vehicle, poses: &[&Moment], own: &TravelLane, notes: &mut Notes) {
        let lead = &poses[0].units[0];
        let ahead = own.line.beside(lead.at).2;
        let with_line = ahead.dot(lead.along) > 0.0;
        let lane = own.offsets_m;
        let mut worst = 0.0_f64;
        for m in poses {
            for (unit, stand) in vehicle.units.iter().zip(&m.units) {
                for p in unit.tires.iter().flat_map(|t| contact(stand, t)) {
                    let (_, left, _) = own.line.beside(p);
                    let left = if with_line { left } else { -left };
                    let over = (lane.0 - left).max(left - lane.1);
                    if over > worst {
                        // Another road that meets this one may lie there.
                        let roads = self.roads.iter().enumerate().filter(|(index, _)| *index != own.road);
                        let others = self.drives.iter().chain(roads.map(|(_, road)| road));
                        worst = worst.max(over.min(outside_all(others, p)));
                    }
                }
            }
        }
        notes.over("tires out of their own lane", worst, TIRE_M, "");
    }

    /// Checks that no obstacle comes nearer than the clearance; without clearance, that nothing overlaps.
    fn touches(
        &self,
        vehicle: &Vehicle,
        moments: &[Moment],
        (faces, opening_m, clearance_m): (Faces, f64, f64),
        notes: &mut Notes,
    ) {
        let seen = |hair_m: f64| {
            let lists = standing(self.site, Faces::new(faces.left - hair_m, faces.right + hair_m), opening_m);
            lists.map(|mut things| {
                // The gate line itself is checked with the crossing.
                things.retain(|t| t.what != "gate line");
                look(vehicle, moments, &things, 0.0)
            })
        };
        for one in seen(TINY_M) {
            notes.over("comes too near to something", clearance_m - one.least_m, TINY_M, &one.to);
            if one.least_m <= 0.0 && clearance_m == 0.0 {
                // An overlap has no gap to measure: the distance the faces would have to move out instead.
                let hairs = [1e-5, 3e-5, 1e-4, 3e-4, 1e-3, 3e-3, 0.01, 0.1];
                let clears = |hair: &f64| seen(*hair).iter().all(|look| look.least_m > 0.0);
                let by = hairs.into_iter().find(clears).unwrap_or(f64::INFINITY);
                notes.fault("touches something", by, &one.to);
            }
        }
    }
}

/// Collects faults.
struct Notes<'n> {
    list: &'n mut Vec<Fault>,
    place: &'n str,
    case: &'n str,
}

impl Notes<'_> {
    fn fault(&mut self, kind: &'static str, amount: f64, note: &str) {
        let unit = match kind {
            "hitch beyond its limit" | "starts askew or against the travel" => "rad",
            "steered beyond lock" => "of lock",
            _ => "m",
        };
        let (place, case) = (self.place.to_owned(), self.case.to_owned());
        self.list.push(Fault { place, case, kind, amount, unit, note: note.to_owned() });
    }

    /// Records a fault where an amount exceeds its limit.
    fn over(&mut self, kind: &'static str, amount: f64, most: f64, note: &str) {
        if amount.is_nan() || amount > most {
            self.fault(kind, amount, note);
        }
    }
}

/// Width of the widest body, mirrors left out.
pub fn widest(vehicle: &Vehicle) -> f64 {
    let bodies = vehicle.units.iter().flat_map(|u| &u.parts).filter(|p| p.kind == PartKind::Body);
    2.0 * bodies.flat_map(|p| &p.outline.0).map(|p| p.y.abs()).fold(0.0, f64::max)
}

/// A path in the gate's frame.
fn in_gate(site: &Site, path: &Path) -> Path {
    let lead = path.start.lead;
    let place = ring_to_gate(&site.gate, &Outline(vec![lead.position]))[0];
    let line = site.gate.right - site.gate.left;
    let heading = lead.heading - libm::atan2(line.y, line.x);
    Path { start: State { lead: Pose { position: place, heading }, ..path.start }, legs: path.legs.clone() }
}

/// Least and largest v of everything.
fn extent(vehicle: &Vehicle, m: &Moment) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (unit, stand) in vehicle.units.iter().zip(&m.units) {
        for p in unit.parts.iter().flat_map(|part| &part.outline.0) {
            let v = stand.place(*p).y;
            (low, high) = (low.min(v), high.max(v));
        }
    }
    (low, high)
}

/// Interval in which an outline lies across the gate line.
fn on_line(corners: &[Point]) -> Option<(f64, f64)> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (i, a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        if (a.y > 0.0) != (b.y > 0.0) {
            let u = a.x + (b.x - a.x) * a.y / (a.y - b.y);
            (low, high) = (low.min(u), high.max(u));
        }
    }
    (low <= high).then_some((low, high))
}

/// True if something fixed stands in the lane or within the clearance of it, near where a vehicle sets out.
fn beside_lane(
    things: &[Thing],
    line: &LaneLine,
    lane: (f64, f64),
    stations: (f64, f64),
    clearance_m: f64,
) -> bool {
    const NEAR_M: f64 = 25.0;
    let (middle, half) = (0.5 * (lane.0 + lane.1), 0.5 * (lane.1 - lane.0));
    // Places along the middle of the lane.
    let mut places = Vec::new();
    let mut start = 0.0;
    let last = line.0.len() - 2;
    for (i, pair) in line.0.windows(2).enumerate() {
        let (length, along) = (pair[0].distance(pair[1]), (pair[1] - pair[0]).unit().expect("a piece"));
        let from = if i == 0 { (stations.0 - NEAR_M).min(0.0) } else { 0.0 };
        let to = if i == last { length.max(stations.1 + NEAR_M - start) } else { length };
        let mut s = from;
        while s <= to {
            if start + s >= stations.0 - NEAR_M && start + s <= stations.1 + NEAR_M {
                places.push(pair[0] + along * s + along.left() * middle);
            }
            s += 0.25;
        }
        start += length;
    }
    let near = half + clearance_m + 0.15;
    places.iter().any(|p| {
        things.iter().any(|t| {
            let away = match &t.form {
                Form::Dot(d) => Euclidean.distance(&dot(*p), d),
                Form::Line(l) => Euclidean.distance(&dot(*p), l),
                Form::Polygon(g) => Euclidean.distance(&dot(*p), g),
            };
            away - t.radius_m <= near
        })
    })
}
