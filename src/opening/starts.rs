//! Start zones: where along its lane one vehicle may start, standing wholly on the road as drawn, in its lane, outside
//! the gate and upstream of it.
use super::CaseLane;
use super::scene::Scene;
use super::smallest_step::steps;
use crate::clearance::{CollisionModel, Region, SEAM_M, Scratch, Surroundings};
use crate::geometry::polyline::segments;
use crate::geometry::{Frame, Point, Pose, distance};
use crate::motion::{Chain, MAX_TOWED, State};
use crate::search::lane::{Lane, StartZone, settled_hitch, with_gaps_filled};
use crate::vehicle::{MAX_UNITS, PartKind, Vehicle};

/// Distance before the gate along the lane at which the room beside the lane is sampled.
const LOOK_BACK_M: f64 = 20.0;
/// Spacing of the stations sampled; between two that fit, the certificate decides.
const STATION_STEP_M: f64 = 0.5;
/// Distance from a corner of the lane at which both sides of it are sampled.
const BESIDE_CORNER_M: f64 = 1e-6;
/// Distance kept between a start that is put back along a straight stretch and the corner that ends the stretch: rounding, to
/// the search's grid among others, must not decide which segment it stands on.
const OFF_CORNER_M: f64 = 0.01;
/// Spacing of the sampled points of a body's outline: a curve of 20 m radius bows 2 mm between them.
const OUTLINE_STEP_M: f64 = 0.5;
/// A start is put back from this far past the gate plus the vehicle's length.
const LEAD_IN_M: f64 = 10.0;
/// Tolerance by which a body may stand over the edge of its lane or road: half a millimeter, below the precision of a
/// plan.
const OVER_EDGE_M: f64 = 5e-4;
/// Bisection of the lane ends at stretches of this many stations; those are checked station by station.
const FEWEST_STATIONS: usize = 4;
/// Number of offsets tried across the lane where the vehicle does not fit at both ends of its play.
const OFFSETS: u32 = 20;
/// Starts in the gate's depth are refused from this far before it.
const BEFORE_GATE_M: f64 = 0.005;

/// Full width of the widest body, without mirrors.
pub(super) fn body_width(vehicle: &Vehicle) -> f64 {
    let bodies = vehicle.units.iter().flat_map(|u| &u.parts).filter(|p| p.kind == PartKind::Body);
    2.0 * bodies.flat_map(|p| &p.outline.0).map(|p| p.y.abs()).fold(0.0, f64::max)
}

/// Lanes of a travel in the gate's frame for two clearances, with the play this vehicle has in each: wholly inside the
/// lane but for its mirrors, which reach over a painted line as they do on any road. The work is done only once where
/// both leave the same play.
///
/// Where a wall or a fence along the road leaves less than the clearance in the lane, the start moves over the middle
/// of the road just far enough, as a driver would.
pub(super) fn lanes(scene: &Scene, vehicle: &Vehicle, clearances_m: [f64; 2]) -> [Lane; 2] {
    let (drawn, width_m) = drawn_lane(scene, vehicle);
    let plays = clearances_m.map(|c| moved_over(&drawn, &scene.surroundings, vehicle, c, width_m));
    let most_m = clearances_m[0].max(clearances_m[1]);
    let measures = (width_m, most_m);
    let first = with_zones(scene, vehicle, Lane { play_m: plays[0], ..drawn.clone() }, measures);
    let second = if plays[1] == plays[0] {
        first.clone()
    } else {
        with_zones(scene, vehicle, Lane { play_m: plays[1], ..drawn }, measures)
    };
    [first, second]
}

/// Adds to the lanes of a vehicle on another road than the first the lanes of the first, which it may turn into.
pub(super) fn turning_into(scenes: &[Scene], lanes: Vec<[Lane; 2]>) -> Vec<[Lane; 2]> {
    let is_first = |scene: &Scene| scene.travel.road == 0;
    let first: Vec<[Lane; 2]> = scenes
        .iter()
        .zip(&lanes)
        .filter(|(scene, _)| is_first(scene))
        .map(|(_, lanes)| lanes.each_ref().map(Lane::startable_anywhere))
        .collect();
    let with = |(scene, [mut bare, mut comfortable]): (&Scene, [Lane; 2])| {
        if !is_first(scene) {
            bare.turns_into = first.iter().map(|[bare, _]| bare.clone()).collect();
            comfortable.turns_into = first.iter().map(|[_, comfortable]| comfortable.clone()).collect();
        }
        [bare, comfortable]
    };
    scenes.iter().zip(lanes).map(with).collect()
}

/// Returns a lane with this play and the zones in which the vehicle may start.
fn with_zones(scene: &Scene, vehicle: &Vehicle, lane: Lane, (width_m, clearance_m): (f64, f64)) -> Lane {
    let frame = scene.surroundings.frame.origin;
    let road_line = scene.travel.lane.road_line.iter().map(|p| frame.to_body(*p)).collect();
    let edge = (road_line, 0.5 * width_m + scene.toward_middle_m.abs());
    let fit = Fit::new(&lane, &scene.surroundings, vehicle, width_m, (scene.roads.as_deref(), edge));
    // Beside a bend the gate may be farther along the lane than along the road: the smaller station counts.
    let gate_m = lane.station_near(Point::default()).min(lane.station_near(scene.beside_gate));
    let upstream_m = fit.upstream(gate_m);
    let straight = fit.fitting(Stance::InLine);
    let stands = if fit.is_straight() {
        straight.clone()
    } else {
        with_gaps_filled(&straight, &fit.fitting(Stance::Bent))
    };
    if scene.lane == CaseLane::Leaving {
        // A vehicle that comes from inside, not along the lane, may stand anywhere in it.
        return Lane { zones: stands.clone(), stands, upstream_m: f64::INFINITY, leads_away: true, ..lane };
    }
    // On a straight lane a start beside the gate is put back along it.
    let leads_back = fit.is_clear(vehicle, clearance_m, (upstream_m, gate_m + fit.behind_m + LEAD_IN_M));
    let put_back = leads_back && fit.is_straight() && upstream_m >= fit.behind_m;
    let before = |zones: &[StartZone]| {
        if put_back { zones.to_vec() } else { fit.before(zones, upstream_m, leads_back) }
    };
    let mut zones = before(&straight);
    if zones.is_empty() {
        // Nowhere straight: use the stance in which it drives along the bend.
        zones = before(&stands);
    }
    Lane { zones, stands, upstream_m, ..lane }
}

/// The lane with its full play, and its width.
pub(super) fn drawn_lane(scene: &Scene, vehicle: &Vehicle) -> (Lane, f64) {
    let frame = scene.surroundings.frame.origin;
    let line: Vec<Point> = scene.travel.lane.centerline.iter().map(|p| frame.to_body(*p)).collect();
    let width_m = scene.travel.lane.width_m;
    let play = 0.5 * (width_m - body_width(vehicle));
    // A vehicle wider than its lane drives with its outer side at the edge of the road at least, in the middle at most.
    let over = (-play).min(scene.toward_middle_m.abs()).copysign(scene.toward_middle_m);
    let play_m = match play {
        play if play >= 0.0 => (-play, play),
        _ => (over.min(scene.toward_middle_m), over.max(scene.toward_middle_m)),
    };
    (Lane { other_half_m: 2.0 * scene.toward_middle_m, ..Lane::new(line, play_m) }, width_m)
}

/// Play in the lane, moved over where what stands beside it leaves less than the clearance.
fn moved_over(
    lane: &Lane,
    surroundings: &Surroundings,
    vehicle: &Vehicle,
    clearance_m: f64,
    width_m: f64,
) -> (f64, f64) {
    let (low, high) = lane.play_m;
    let model = CollisionModel::new(vehicle, surroundings.clone(), clearance_m, f64::INFINITY);
    let station = lane.station_near(Point::default()) - LOOK_BACK_M;
    let mut scratch = Scratch::default();
    let mut clears = |offset: f64| {
        let state = State { lead: lane.pose(station, offset), ..State::default() };
        model.need(&model.chain.unit_poses(&state), &mut scratch).margin_m >= 0.005
    };
    let steps = |from: f64, to: f64| (0..=40).map(move |i| from + (to - from) * f64::from(i) / 40.0);
    if steps(low, high).any(&mut clears) {
        return lane.play_m;
    }
    let over = steps(0.0, width_m).find_map(|extra| {
        let (left, right) = (clears(high + extra), clears(low - extra));
        (left || right)
            .then_some((if right { low - extra } else { low }, if left { high + extra } else { high }))
    });
    over.unwrap_or(lane.play_m)
}

/// Stance of a vehicle at a start.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stance {
    /// Straight, in line with the lane.
    InLine,
    /// Steered and bent as it drives along the lane's curve.
    Bent,
}

/// Fit of one vehicle in its lane, on the road and before the gate.
struct Fit<'a> {
    lane: &'a Lane,
    surroundings: &'a Surroundings,
    roads: Option<&'a Region>,
    chain: Chain,
    /// Reach allowed to its bodies to the right (negative) and to the left of the lane's line.
    reach_m: (f64, f64),
    /// Center line of the road, gate frame, and the distance from it to the edge of the road: on the outside of a corner a
    /// strip about the lane's own line reaches past that.
    edge: (Vec<Point>, f64),
    /// Points of the bodies' outlines, each with its unit.
    bodies: Vec<(usize, Point)>,
    /// Bounding boxes of the points of each unit, in the unit's frame.
    boxes: Vec<(usize, Point, Point)>,
    /// Corners of all parts, mirrors too, each with its unit.
    corners: Vec<(usize, Point)>,
    /// Reach of the vehicle standing straight, ahead of the lead unit's rear axle and behind it.
    ahead_m: f64,
    behind_m: f64,
}

impl<'a> Fit<'a> {
    fn new(
        lane: &'a Lane,
        surroundings: &'a Surroundings,
        vehicle: &Vehicle,
        width_m: f64,
        (roads, edge): (Option<&'a Region>, (Vec<Point>, f64)),
    ) -> Self {
        let chain = Chain::of(vehicle);
        let half = 0.5 * width_m;
        let (low, high) = lane.play_m;
        let body = 0.5 * body_width(vehicle);
        let (mut bodies, mut corners) = (Vec::new(), Vec::new());
        for (index, unit) in vehicle.units.iter().enumerate().take(MAX_UNITS) {
            for part in &unit.parts {
                corners.extend(part.outline.0.iter().map(|p| (index, *p)));
                if part.kind == PartKind::Body {
                    bodies.extend(part.outline.edges().flat_map(|(a, b)| along(a, b)).map(|p| (index, p)));
                }
            }
        }
        let mut boxes: Vec<(usize, Point, Point)> = Vec::new();
        for (unit, p) in &bodies {
            match boxes.last_mut().filter(|(last, ..)| last == unit) {
                Some((_, low, high)) => {
                    (*low, *high) = (
                        Point::new(low.x.min(p.x), low.y.min(p.y)),
                        Point::new(high.x.max(p.x), high.y.max(p.y)),
                    );
                }
                None => boxes.push((*unit, *p, *p)),
            }
        }
        let frames = chain.unit_frames(&State { lead: Pose::default(), ..State::default() });
        let reach = corners.iter().map(|(unit, p)| frames[*unit].place(*p).x);
        let (ahead_m, behind_m) = reach.fold((0.0_f64, 0.0_f64), |(a, b), x| (a.max(x), b.max(-x)));
        // Where the start has moved over for something beside the lane, the body reaches over the line by the same
        // amount.
        let reach_m = ((low - body).min(-half), (high + body).max(half));
        Self { lane, surroundings, roads, edge, chain, reach_m, bodies, boxes, corners, ahead_m, behind_m }
    }

    /// True if the lane has no bend.
    fn is_straight(&self) -> bool {
        let line = &self.lane.line;
        line.windows(3).all(|p| {
            (p[1] - p[0]).unit().zip((p[2] - p[1]).unit()).is_some_and(|(a, b)| a.cross(b).abs() < 1e-6)
        })
    }

    /// True if the vehicle, straight in its lane, keeps clear of everything from one station to another, wherever
    /// across its play it is: only then may a start there be put back along the lane without another check.
    fn is_clear(&self, vehicle: &Vehicle, clearance_m: f64, (from_m, to_m): (f64, f64)) -> bool {
        let model = CollisionModel::new(vehicle, self.surroundings.clone(), clearance_m, f64::INFINITY);
        let mut scratch = Scratch::default();
        let (low, high) = self.lane.play_m;
        let mut clears = |station: f64, offset: f64| {
            let state = State { lead: self.lane.pose(station, offset), ..State::default() };
            model.need(&model.chain.unit_poses(&state), &mut scratch).margin_m >= 0.0
        };
        let mut station = from_m;
        while station < to_m {
            if [low, 0.5 * (low + high), high].into_iter().any(|offset| !clears(station, offset)) {
                return false;
            }
            station += STATION_STEP_M;
        }
        true
    }

    /// Cuts the zones off at `upstream_m`, or where `leads_back`, at the end of the straight lane that leads back to a
    /// start there.
    fn before(&self, zones: &[StartZone], upstream_m: f64, leads_back: bool) -> Vec<StartZone> {
        let leads_in = leads_back && self.play(&StartZone::UNBOUNDED, upstream_m).is_some();
        let mut end_m = upstream_m;
        let mut corner = 0.0;
        for pair in self.lane.line.windows(2) {
            corner += pair[0].distance(pair[1]);
            if leads_in && corner > upstream_m && self.leads_back(corner, upstream_m) {
                end_m = upstream_m.max(corner - OFF_CORNER_M);
            }
        }
        let cut = |zone: &StartZone| {
            let (from, to) = zone.stations_m;
            (from <= end_m).then_some(StartZone { stations_m: (from, to.min(end_m)), ..*zone })
        };
        zones.iter().filter_map(cut).collect()
    }

    /// Start zones of one stance: the stretches of the lane in which the vehicle fits, each with its play.
    fn fitting(&self, stance: Stance) -> Vec<StartZone> {
        let stations = self.stations();
        let mut free = vec![false; stations.len()];
        if stance == Stance::InLine {
            self.mark_free(&stations, &mut free);
        }
        let zone = |station: f64| {
            let (turned_rad, curvature, hitch_rad) = match stance {
                Stance::InLine => (0.0, 0.0, [0.0; MAX_TOWED]),
                Stance::Bent => self.bent(station),
            };
            StartZone { turned_rad, curvature, hitch_rad, ..StartZone::UNBOUNDED }
        };
        let play = |station: f64| self.play(&zone(station), station);
        let mut zones: Vec<StartZone> = Vec::new();
        let mut before: Option<(f64, Option<(f64, f64)>)> = None;
        for (index, station) in stations.iter().copied().enumerate() {
            // Two free neighbors belong to one free stretch: nothing between them needs a check.
            let is_free = free[index] && index > 0 && free[index - 1];
            let here = if free[index] { Some(self.lane.play_m) } else { play(station) };
            if let Some((last, there)) = before {
                let found = match (there, here) {
                    (Some(a), Some(b)) => shared(a, b).map(|play| ((last, station), play)),
                    (Some(a), None) => Some(((last, self.edge(&zone, a, (last, station))), a)),
                    (None, Some(b)) => Some(((self.edge(&zone, b, (station, last)), station), b)),
                    (None, None) => None,
                };
                // In the stance of the middle of the stretch it must fit all along it. In line it is known to fit at its
                // ends where those are stations; toward an end found by bisection the play narrows.
                let is_whole = there.is_some() && here.is_some();
                let mut next = zone(0.5 * (last + station));
                let straight = next.turned_rad == 0.0;
                let all = found.and_then(|((from, to), play_m)| {
                    let checked = match (is_free, straight && is_whole) {
                        (true, _) => 0,
                        (false, true) => 1,
                        (false, false) => 3,
                    };
                    let places = [0.5 * (from + to), from, to];
                    let mut within = places[..checked].iter();
                    let play_m = within.try_fold(play_m, |both, at| shared(both, self.play(&next, *at)?));
                    Some(((from, to), play_m?))
                });
                if let Some(place) = all {
                    (next.stations_m, next.play_m) = place;
                    match zones.last_mut() {
                        Some(end) if end.stations_m.1 == next.stations_m.0 && alike(end, &next) => {
                            end.stations_m.1 = next.stations_m.1;
                        }
                        _ => zones.push(next),
                    }
                }
            }
            before = Some((station, here));
        }
        zones
    }

    /// Marks the stations of free stretches, found by bisection of the lane: on them the vehicle fits in line at every
    /// offset.
    fn mark_free(&self, stations: &[f64], free: &mut [bool]) {
        let (Some(first), Some(last)) = (stations.first(), stations.last()) else { return };
        if self.fits_along(*first, *last) {
            free.fill(true);
        } else if stations.len() > FEWEST_STATIONS {
            // The halves share a station, so that no pair of neighbors is left out.
            let middle = stations.len() / 2;
            self.mark_free(&stations[..=middle], &mut free[..=middle]);
            self.mark_free(&stations[middle..], &mut free[middle..]);
        }
    }

    /// Sufficient test that the vehicle, in line with the lane, fits at every station from `from` to `to` and at every offset of
    /// its play: the rectangle that each unit sweeps between them lies in the lane and on the road, before the gate.
    fn fits_along(&self, from: f64, to: f64) -> bool {
        let (low, high) = self.lane.play_m;
        let stands = |station, offset| State { lead: self.lane.pose(station, offset), ..State::default() };
        let ends = [(from, low), (from, high), (to, low), (to, high)]
            .map(|(station, offset)| self.chain.unit_frames(&stands(station, offset)));
        // On a straight stretch a corner before the gate at the ends is before it everywhere between them.
        let front = self.surroundings.front_v() - BEFORE_GATE_M;
        if self.corners.iter().any(|(unit, p)| ends.iter().any(|frames| frames[*unit].place(*p).y > front)) {
            return false;
        }
        self.boxes.iter().all(|(unit, least, most)| {
            let at = |end: usize, x: f64, y: f64| ends[end][*unit].place(Point::new(x, y));
            let swept = [
                at(0, least.x, least.y),
                at(2, most.x, least.y),
                at(3, most.x, most.y),
                at(1, least.x, most.y),
            ];
            self.rectangle_fits((from, to), &swept)
        })
    }

    /// Stations to sample: evenly along the lane, and just before and after each of its corners, where a vehicle in
    /// line with it turns abruptly.
    fn stations(&self) -> Vec<f64> {
        let length = self.lane.length_m();
        let mut stations = Vec::new();
        let mut i = 0.0;
        while i * STATION_STEP_M < length {
            stations.push(i * STATION_STEP_M);
            i += 1.0;
        }
        stations.push(length);
        let mut at = 0.0;
        for pair in self.lane.line.windows(2) {
            at += pair[0].distance(pair[1]);
            if at < length - STATION_STEP_M * 1e-3 {
                stations.extend([at - BESIDE_CORNER_M, at + BESIDE_CORNER_M]);
            }
        }
        stations.retain(|station| (0.0..=length).contains(station));
        stations.sort_by(f64::total_cmp);
        stations
    }

    /// Last station at which the vehicle fits at some of these offsets, between one at which it does and one at which it
    /// does not, by bisection.
    fn edge(&self, zone: &impl Fn(f64) -> StartZone, play_m: (f64, f64), (fits, not): (f64, f64)) -> f64 {
        let (mut good, mut bad) = (fits, not);
        for _ in 0..12 {
            let middle = 0.5 * (good + bad);
            if self.play(&zone(fits), middle).and_then(|here| shared(play_m, here)).is_some() {
                good = middle;
            } else {
                bad = middle;
            }
        }
        good
    }

    /// Offsets at which the vehicle may start at a station.
    fn play(&self, zone: &StartZone, station: f64) -> Option<(f64, f64)> {
        let (low, high) = self.lane.play_m;
        let fits = |offset: f64| self.fits(&self.lane.start(zone, station, offset), station);
        if fits(low) && fits(high) && fits(0.5 * (low + high)) {
            return Some((low, high));
        }
        // The longest run of offsets that fit.
        let offset = |i: u32| low + (high - low) * f64::from(i) / f64::from(OFFSETS);
        let mut best: Option<(u32, u32)> = None;
        let mut run: Option<(u32, u32)> = None;
        for i in 0..=OFFSETS {
            run = fits(offset(i)).then(|| run.map_or((i, i), |(from, _)| (from, i)));
            if let Some((from, to)) = run
                && best.is_none_or(|(a, b)| to - from > b - a)
            {
                best = run;
            }
        }
        best.map(|(a, b)| (offset(a), offset(b)))
    }

    /// Last station at which every point of the lead unit's body is upstream of the gate: where the lane bends its nose
    /// may be beside a place farther along than it is long.
    fn upstream(&self, gate_m: f64) -> f64 {
        const STEP_M: f64 = 0.05;
        let at_most = gate_m - self.ahead_m;
        if self.is_straight() {
            return at_most;
        }
        let (low, high) = self.lane.play_m;
        let past = |station: f64| {
            [low, 0.5 * (low + high), high].into_iter().any(|offset| {
                let stands = self.lane.pose(station, offset);
                let mut lead = self.bodies.iter().filter(|(unit, _)| *unit == 0);
                lead.any(|(_, p)| self.lane.station_near(stands.to_site(*p)) > gate_m)
            })
        };
        // No nose reaches round a bend by more than it is long.
        let steps = 0..=steps(self.ahead_m / STEP_M);
        let back = steps.map(|n| at_most - STEP_M * f64::from(n));
        back.into_iter().find(|station| !past(*station)).unwrap_or(at_most - self.ahead_m)
    }

    /// True if a straight lane leads back from a station to one upstream of the gate.
    fn leads_back(&self, station: f64, upstream_m: f64) -> bool {
        let (here, there) = (self.lane.pose(station, 0.0), self.lane.pose(upstream_m, 0.0));
        (there.position.distance(here.position) - (station - upstream_m)).abs() < 1e-6
    }

    /// True if a vehicle in this state is on the road, in its lane and outside the gate.
    fn fits(&self, state: &State, station: f64) -> bool {
        let frames = self.chain.unit_frames(state);
        let place = |(unit, p): &(usize, Point)| frames[*unit].place(*p);
        if !self.outside(&frames) {
            return false;
        }
        let boxes_fit = self.boxes.iter().all(|(unit, low, high)| {
            let corners = [*low, Point::new(high.x, low.y), *high, Point::new(low.x, high.y)];
            let corners = corners.map(|p| frames[*unit].place(p));
            self.rectangle_fits((station, station), &corners)
        });
        boxes_fit
            || self.bodies.iter().all(|body| {
                let p = place(body);
                self.in_lane(p, station)
                    && self.roads.is_none_or(|roads| roads.signed_distance(p) >= SEAM_M - OVER_EDGE_M)
            })
    }

    /// True if a rectangle that a unit covers between two stations lies in the lane, straight there, and on the road.
    fn rectangle_fits(&self, stations: (f64, f64), corners: &[Point; 4]) -> bool {
        self.straight_about(stations, corners)
            && self.roads.is_none_or(|roads| roads.contains_convex(corners, SEAM_M - OVER_EDGE_M))
    }

    /// True if one segment of the lane reaches from the vehicle's length before the one station to its length past the
    /// other, and the lane contains these corners of a convex outline.
    fn straight_about(&self, (from, to): (f64, f64), corners: &[Point]) -> bool {
        let (right, left) = (self.reach_m.0 - OVER_EDGE_M, self.reach_m.1 + OVER_EDGE_M);
        let window = self.window_m();
        let mut start = 0.0;
        for pair in self.lane.line.windows(2) {
            let (a, length) = (pair[0], pair[0].distance(pair[1]));
            if from - window > start && to + window < start + length {
                let Some(along) = (pair[1] - a).unit() else { return false };
                return corners.iter().all(|p| (right..=left).contains(&along.cross(*p - a)));
            }
            start += length;
        }
        false
    }

    /// Upper bound on the distance along the lane between the lead unit's rear axle and any point of the vehicle,
    /// meters.
    fn window_m(&self) -> f64 {
        let (right, left) = self.reach_m;
        self.ahead_m.max(self.behind_m) + (left + OVER_EDGE_M).max(OVER_EDGE_M - right) + 1.0
    }

    /// True if all of the vehicle is before the gate, or past an end of the closed gate line.
    fn outside(&self, frames: &[Frame; MAX_UNITS]) -> bool {
        let front = self.surroundings.front_v() - BEFORE_GATE_M;
        let (left, right) = (self.surroundings.left.end_u, self.surroundings.right.end_u);
        self.corners.iter().all(|(unit, p)| {
            let at = frames[*unit].place(*p);
            at.y <= front || at.x <= left || at.x >= right
        })
    }

    /// True if a point of the body is within the lane and between its drawn ends.
    fn in_lane(&self, p: Point, station: f64) -> bool {
        let (right, left) = (self.reach_m.0 - OVER_EDGE_M, self.reach_m.1 + OVER_EDGE_M);
        let window = self.window_m();
        let line = &self.lane.line;
        let (mut start, mut nearest) = (0.0, (f64::INFINITY, 0.0));
        for (i, pair) in line.windows(2).enumerate() {
            let (a, b) = (pair[0], pair[1]);
            let length = a.distance(b);
            let end = start + length;
            if end >= station - window && start <= station + window {
                let away = p.distance(distance::nearest_on_segment(p, a, b));
                if away < nearest.0 {
                    let Some(along) = (b - a).unit() else { continue };
                    let t = (p - a).dot(along);
                    let out =
                        (i == 0 && t < -OVER_EDGE_M) || (i + 2 == line.len() && t > length + OVER_EDGE_M);
                    let side = along.cross(p - a).signum();
                    nearest = (away, if out { f64::INFINITY } else { side * away });
                }
            }
            start = end;
        }
        (right..=left).contains(&nearest.1) && self.before_the_edge(p)
    }

    /// True if a point is no farther from the road's center line than the edge of the road.
    fn before_the_edge(&self, p: Point) -> bool {
        let (line, edge_m) = &self.edge;
        let away = |(a, b): (Point, Point)| p.distance(distance::nearest_on_segment(p, a, b));
        segments(line).any(|segment| away(segment) <= edge_m + OVER_EDGE_M)
    }

    /// Stance of the vehicle at a station while it drives along the bend there (turn, curvature, hitch angles), with each
    /// trailer at its steady angle.
    fn bent(&self, station: f64) -> (f64, f64, [f64; MAX_TOWED]) {
        let reach = self.ahead_m.max(0.5 * self.behind_m).max(2.0);
        let (heading, curvature) = self.lane.bend_at(station, reach);
        let turned = crate::geometry::wrap_angle(heading - self.lane.pose(station, 0.0).heading);
        (turned, curvature, settled_hitch(&self.chain, curvature, self.behind_m))
    }
}

/// Offsets that two neighboring stations share.
fn shared(a: (f64, f64), b: (f64, f64)) -> Option<(f64, f64)> {
    let both = (a.0.max(b.0), a.1.min(b.1));
    (both.0 <= both.1).then_some(both)
}

/// True if a vehicle stands alike in two zones and may move aside alike.
fn alike(a: &StartZone, b: &StartZone) -> bool {
    StartZone { stations_m: b.stations_m, ..*a } == *b
}

/// Points along a segment, including its first end.
fn along(a: Point, b: Point) -> impl Iterator<Item = Point> {
    let parts = (a.distance(b) / OUTLINE_STEP_M).ceil().max(1.0);
    let mut i = 0.0;
    std::iter::from_fn(move || {
        let point = (i < parts).then(|| a + (b - a) * (i / parts));
        i += 1.0;
        point
    })
}

#[cfg(test)]
mod tests;
