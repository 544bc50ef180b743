//! Continuous collision check: the need of a whole path, with a bound that holds between the sampled poses.
//!
//! Between two neighboring poses every corner stays within e = h²/8 · max|p''| of its chord (h the distance rolled),
//! and a body point is a mean of corners; so the moving part stays inside the hull of its two outlines grown by e.
//! Whatever the grown hull clears, the motion clears.
//!
//! Most of a path is far from everything, and most of what is near needs less than the worst pose. So the path is
//! processed in stretches: a part that all along a stretch stays beyond [`AMPLE_M`] of every piece and beside all that
//! moves with the faces needs nothing there, and one whose hull over the whole stretch needs no more than some pose is
//! known to needs nothing more; neither is checked more closely.
use super::collision_model::{CollisionModel, ModelPart, ModelTire, Placed, Scratch};
use super::ground::Region;
use super::inspect::Inspection;
use super::need::{AMPLE_M, BroadPhase, PoseNeed, opening_for};
use crate::geometry::{Frame, Point, distance};
use crate::motion::{Chain, Path, Sample, Segment};
use crate::vehicle::MAX_UNITS;
use std::ops::RangeInclusive;

/// Distance rolled between the sampled poses of an inspection. With it the bound between poses adds well under a
/// millimeter for every vehicle of the library.
pub const STEP_M: f64 = 0.025;

/// Distance over an edge beyond which a tire is reported as it stands, not by the bound for an edge that pokes in
/// between its corners: it has failed whatever lies between them. Twice what the search and the verdicts allow.
const TOLD_AS_IS_M: f64 = 0.002;

/// Steps of a stretch: 0.4 m, in which a part moves little more than that and few checks are wasted.
const STRETCH: usize = 16;

/// Largest |p''| of any point within `reach[i]` of unit i's axle, per unit, over a stretch whose curvature stays
/// within `k` and changes by at most `dk` per meter.
///
/// From the no-slip relations, unit by unit: with V, W the largest speed and yaw rate of the unit in front and A, B
/// those of their rates, the hitch moves at H ≤ √(V² + a²W²) and its rate is at most A + VW + |a|(B + W²).
#[must_use]
pub fn second_derivative_bounds(
    chain: &Chain,
    reach: &[f64; MAX_UNITS],
    k: f64,
    dk: f64,
) -> [f64; MAX_UNITS] {
    let (mut v, mut w, mut dv, mut dw) = (1.0, k, 0.0, dk);
    let mut bounds = [0.0; MAX_UNITS];
    bounds[0] = dv + v * w + (dw + w * w) * reach[0];
    for (i, towed) in chain.towed().iter().enumerate() {
        let (a, d) = (towed.hitch_behind_m.abs(), towed.wheelbase_m);
        let h = (v * v + a * a * w * w).sqrt();
        let dh = dv + v * w + a * (dw + w * w);
        w = h / d;
        v = h;
        dw = (dh + h * w) / d;
        dv = dh + h * w;
        bounds[i + 1] = dv + v * w + (dw + w * w) * reach[i + 1];
    }
    bounds
}

/// A path sampled once, to be inspected any number of times.
#[derive(Clone, Debug)]
pub struct SampledPath<'a> {
    path: &'a Path,
    /// States, [`STEP_M`] apart at most.
    pub samples: Vec<Sample>,
    /// Poses of the units at these states.
    frames: Vec<[Frame; MAX_UNITS]>,
    /// Stretches of poses of one leg; each begins where the one before ends.
    stretches: Vec<RangeInclusive<usize>>,
}

impl<'a> SampledPath<'a> {
    /// Samples a path.
    #[must_use]
    pub fn new(chain: &Chain, path: &'a Path) -> Self {
        let samples = path.samples(chain, STEP_M);
        let frames = samples.iter().map(|sample| chain.unit_frames(&sample.state)).collect();
        let mut stretches = Vec::new();
        let mut from = 0;
        while from < samples.len() {
            let leg = samples[from].leg;
            let to = (from + STRETCH).min(samples.len() - 1);
            let to = from + samples[from..=to].iter().take_while(|sample| sample.leg == leg).count() - 1;
            stretches.push(from..=to);
            let leg_goes_on = samples.get(to + 1).is_some_and(|sample| sample.leg == leg);
            from = if leg_goes_on { to } else { to + 1 };
        }
        Self { path, samples, frames, stretches }
    }
}

/// Inspects a path given in the gate's frame, without listing the tight places.
#[must_use]
pub fn measure(model: &CollisionModel, path: &Path) -> Inspection {
    measure_drive(model, &SampledPath::new(&model.chain, path))
}

/// As [`measure`], for a path that has been sampled.
#[must_use]
pub fn measure_drive(model: &CollisionModel, drive: &SampledPath) -> Inspection {
    let chain = &model.chain;
    let mut reach = [0.0; MAX_UNITS];
    for part in &model.parts {
        let far = part.corners.iter().map(|p| p.norm()).fold(0.0, f64::max);
        reach[part.unit] = f64::max(reach[part.unit], far);
    }
    for tire in &model.tires {
        let far = tire.ends.iter().map(|p| p.norm()).fold(0.0, f64::max);
        reach[tire.unit] = f64::max(reach[tire.unit], far);
    }
    let subdivision = Subdivision { model, drive, bends: sharpest(drive.path, chain, &reach) };
    let mut seen = PoseNeed::NOTHING;
    let mut most_v = vec![f64::NEG_INFINITY; drive.path.legs.len()];
    let mut buffers = Buffers::new(model);
    let mut close = Vec::new();
    // A few poses first: whatever needs no more than they do is skipped.
    let mut scratch = Scratch::default();
    for stretch in &drive.stretches {
        let middle = &drive.frames[stretch.start().midpoint(*stretch.end())];
        seen = seen.and(&PoseNeed { ground_m: AMPLE_M, ..model.need_since(None, middle, &mut scratch) });
    }
    for stretch in &drive.stretches {
        let here = subdivision.poses(stretch, &mut buffers, &mut seen);
        let leg = drive.samples[*stretch.start()].leg;
        most_v[leg] = most_v[leg].max(here.most_v);
        close.push(here);
    }
    let mut sure = seen;
    for (stretch, here) in drive.stretches.iter().zip(&close) {
        subdivision.between(stretch, &here.parts, &mut buffers, &seen, &mut sure);
    }
    if let Some(ground) = &model.surroundings.ground {
        for tire in &model.tires {
            for stretch in &drive.stretches {
                sure.ground_m = sure.ground_m.min(subdivision.ground(ground, tire, stretch));
            }
        }
    }
    let (opening_m, faces_u) = opening_for(&model.surroundings, sure.faces_u());
    let (needs_at_least_m, _) = opening_for(&model.surroundings, seen.faces_u());
    Inspection {
        opening_m,
        needs_at_least_m,
        faces_u,
        margin_m: sure.margin_m,
        ground_m: sure.ground_m,
        ends_beyond: drive.samples.last().is_some_and(|last| model.is_inside(&last.state, 0.0)),
        most_v,
        touches: Vec::new(),
    }
}

/// Subdivision of a path into stretches, each bounded between its samples until the bound is close enough.
struct Subdivision<'a> {
    model: &'a CollisionModel,
    drive: &'a SampledPath<'a>,
    /// Second-derivative bounds of the points, per leg and unit.
    bends: Vec<[f64; MAX_UNITS]>,
}

/// Result of a stretch.
struct Stretch {
    /// Parts to be checked closely.
    parts: Vec<usize>,
    /// Upper bound on the v of any part.
    most_v: f64,
}

impl Subdivision<'_> {
    /// Largest bow of the paths of each unit's points between two poses, the second of them at `at`.
    fn bow(&self, at: usize) -> [f64; MAX_UNITS] {
        let (before, after) = (&self.drive.samples[at - 1], &self.drive.samples[at]);
        let h = after.station_m - before.station_m;
        self.bends[after.leg].map(|bend| h * h / 8.0 * bend)
    }

    /// Largest bow of a unit over a stretch.
    fn most_bow(&self, stretch: &RangeInclusive<usize>, unit: usize) -> f64 {
        (stretch.start() + 1..=*stretch.end()).map(|at| self.bow(at)[unit]).fold(0.0, f64::max)
    }

    /// Adds the needs of the poses of a stretch by themselves.
    fn poses(&self, stretch: &RangeInclusive<usize>, buffers: &mut Buffers, seen: &mut PoseNeed) -> Stretch {
        let (model, frames) = (self.model, &self.drive.frames[stretch.clone()]);
        let grow = model.clearance_m;
        let mut close = Vec::new();
        // Largest v, for each pose, of any part between the ends of the closed line.
        let mut most_v = [f64::NEG_INFINITY; STRETCH + 1];
        for (index, part) in model.parts.iter().enumerate() {
            let points = &mut buffers.points;
            points.clear();
            for (frames, most_v) in frames.iter().zip(&mut most_v) {
                points.extend(part.corners.iter().map(|p| frames[part.unit].place(*p)));
                let here = &points[points.len() - part.corners.len()..];
                *most_v = most_v.max(model.surroundings.most_v_between_ends(here, 0.0));
            }
            let middle = &frames[frames.len() / 2][part.unit];
            let bow = self.most_bow(stretch, part.unit);
            if model.stays_clear(part, points, middle, grow + bow) {
                continue;
            }
            let mut whole = PoseNeed::NOTHING;
            let unit_middle = middle.place(model.middles[part.unit]);
            buffers.hull_need(model, part, unit_middle, bow, &mut whole);
            if !harmless(&whole, seen) {
                close.push(index);
            }
        }
        for frames in frames {
            let mut need = PoseNeed::NOTHING;
            for index in &close {
                let part = &model.parts[*index];
                let frame = &frames[part.unit];
                buffers.points.clear();
                buffers.points.extend(part.corners.iter().map(|p| frame.place(*p)));
                let placed = Placed {
                    center: frame.place(part.center),
                    reach_m: part.reach_m,
                    corners: &buffers.points,
                    unit_middle: frame.place(model.middles[part.unit]),
                };
                model.part_need(part, placed, grow, BroadPhase::ALL, &mut need);
            }
            *seen = seen.and(&need);
        }
        let between = (stretch.start() + 1..=*stretch.end()).zip(most_v.windows(2)).map(|(at, pair)| {
            let bow = self.bow(at).iter().copied().fold(0.0, f64::max);
            pair[0].max(pair[1]) + bow
        });
        Stretch { most_v: between.fold(f64::NEG_INFINITY, f64::max), parts: close }
    }

    /// Adds an upper bound on the need of the motion between the poses of a stretch, for these parts.
    ///
    /// Whole parts first; in slabs only where that is more than the poses themselves need.
    fn between(
        &self,
        stretch: &RangeInclusive<usize>,
        parts: &[usize],
        buffers: &mut Buffers,
        seen: &PoseNeed,
        sure: &mut PoseNeed,
    ) {
        let model = self.model;
        for at in stretch.start() + 1..=*stretch.end() {
            let bow = self.bow(at);
            for index in parts {
                let part = &model.parts[*index];
                let way = (&self.drive.frames[at - 1][part.unit], &self.drive.frames[at][part.unit]);
                let mut whole = PoseNeed::NOTHING;
                buffers.outline_need(model, part, &part.corners, way, bow[part.unit], &mut whole);
                if !harmless(&whole, seen) {
                    whole = PoseNeed::NOTHING;
                    let slabs = std::mem::take(&mut buffers.slabs[*index]);
                    for slab in &slabs {
                        buffers.outline_need(model, part, slab, way, bow[part.unit], &mut whole);
                    }
                    buffers.slabs[*index] = slabs;
                }
                *sure = sure.and(&whole);
            }
        }
    }

    /// Room that a tire certainly has along a stretch, capped at [`AMPLE_M`].
    fn ground(&self, ground: &Region, tire: &ModelTire, stretch: &RangeInclusive<usize>) -> f64 {
        let ends = |at: usize| tire.ends.map(|end| self.drive.frames[at][tire.unit].place(end));
        let all = || stretch.clone().flat_map(ends);
        let (middle, bow) =
            (ends(stretch.start().midpoint(*stretch.end()))[0], self.most_bow(stretch, tire.unit));
        let around = all().map(|p| p.distance(middle)).fold(0.0, f64::max);
        // No two corners of a tire's track from pose to pose are farther apart than twice that.
        if ground.clearly_inside(middle, AMPLE_M.max(2.0 * around) + around) {
            return AMPLE_M - bow;
        }
        let mut least_of_all = AMPLE_M;
        let mut before: Option<([Point; 2], [f64; 2])> = None;
        for at in stretch.clone() {
            let ends = ends(at);
            let rooms = ends.map(|p| ground.signed_distance(p).min(AMPLE_M));
            let Some((first, before)) = before.replace((ends, rooms)) else {
                least_of_all = rooms.into_iter().fold(least_of_all, f64::min);
                continue;
            };
            let quad = [first[0], ends[0], ends[1], first[1]];
            let rooms = [before[0], rooms[0], rooms[1], before[1]];
            let least = rooms.into_iter().fold(AMPLE_M, f64::min);
            // With ample room at the corners no edge can poke in between them: they are closer together than that.
            let across = quad[0].distance(quad[2]).max(quad[1].distance(quad[3]));
            let between = if least > -TOLD_AS_IS_M && least < across {
                -ground.reaches_into(&quad, &rooms)
            } else {
                0.0
            };
            let sure = if between < 0.0 { least.min(between) } else { least };
            least_of_all = least_of_all.min(sure - self.bow(at)[tire.unit]);
        }
        least_of_all
    }
}

/// True if a need requires no more than another of the faces and of what stands.
fn harmless(need: &PoseNeed, seen: &PoseNeed) -> bool {
    need.left_u >= seen.left_u && need.right_u <= seen.right_u && need.margin_m >= seen.margin_m.min(AMPLE_M)
}

/// Second-derivative bound of each unit, per leg.
fn sharpest(path: &Path, chain: &Chain, reach: &[f64; MAX_UNITS]) -> Vec<[f64; MAX_UNITS]> {
    let of_leg = |segments: &[Segment]| {
        let mut bends = [0.0_f64; MAX_UNITS];
        for s in segments.iter().filter(|s| s.length_m > 0.0) {
            let k = s.curvature_start.abs().max(s.curvature_end.abs());
            let dk = (s.curvature_end - s.curvature_start).abs() / s.length_m;
            let here = second_derivative_bounds(chain, reach, k, dk);
            for (bend, b) in bends.iter_mut().zip(here) {
                *bend = bend.max(b);
            }
        }
        bends
    };
    path.legs.iter().map(|leg| of_leg(&leg.segments)).collect()
}

/// Length of the slabs in which parts are checked where it matters: the hull of two poses of a long edge that pivots
/// covers more than the edge does, by half its length times the angle.
const SLAB_M: f64 = 0.5;

/// Buffers for outlines and for hulls of consecutive ones.
struct Buffers {
    points: Vec<Point>,
    hull: Vec<Point>,
    /// Slabs of each part.
    slabs: Vec<Vec<Vec<Point>>>,
}

impl Buffers {
    fn new(model: &CollisionModel) -> Self {
        let slabs = model.parts.iter().map(|part| slabs(&part.corners)).collect();
        Self { points: Vec::new(), hull: Vec::new(), slabs }
    }

    /// Adds the need of the hull of an outline in two poses.
    fn outline_need(
        &mut self,
        model: &CollisionModel,
        part: &ModelPart,
        corners: &[Point],
        (from, to): (&Frame, &Frame),
        bow: f64,
        need: &mut PoseNeed,
    ) {
        self.points.clear();
        self.points.extend(corners.iter().map(|p| from.place(*p)));
        self.points.extend(corners.iter().map(|p| to.place(*p)));
        // Most of a path is far from everything: there only the range of v is recorded.
        if model.stands_clear(part, &self.points, model.clearance_m + bow) {
            for p in &self.points {
                need.least_v = need.least_v.min(p.y);
                need.most_v = need.most_v.max(p.y);
            }
            return;
        }
        self.hull_need(model, part, from.place(model.middles[part.unit]), bow, need);
    }

    /// Adds the need of the hull of the buffered points, corners of a part in several poses, of which the unit's middle
    /// in one is `unit_middle`.
    fn hull_need(
        &mut self,
        model: &CollisionModel,
        part: &ModelPart,
        unit_middle: Point,
        bow: f64,
        need: &mut PoseNeed,
    ) {
        distance::convex_hull(&mut self.points, &mut self.hull);
        let count = f64::from(u32::try_from(self.hull.len().max(1)).unwrap_or(1));
        let center = self.hull.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / count);
        let reach_m = self.hull.iter().map(|p| p.distance(center)).fold(0.0, f64::max);
        let placed = Placed { center, reach_m, corners: &self.hull, unit_middle };
        model.part_need(part, placed, model.clearance_m + bow, BroadPhase::ALL, need);
    }
}

/// Cuts a convex outline across its length into pieces at most half a meter long.
#[must_use]
pub fn slabs(corners: &[Point]) -> Vec<Vec<Point>> {
    let low = corners.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
    let high = corners.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
    let pieces = ((high - low) / SLAB_M).ceil().max(1.0);
    let mut list = Vec::new();
    let mut i = 0.0;
    while i < pieces {
        let from = low + (high - low) * (i / pieces);
        let to = low + (high - low) * ((i + 1.0) / pieces);
        let slab = cut(&cut(corners, from, 1.0), to, -1.0);
        if slab.len() >= 3 {
            list.push(slab);
        }
        i += 1.0;
    }
    list
}

/// Part of a convex outline on one side of the line x = `at`: right of it for `sign` 1, left for -1.
fn cut(corners: &[Point], at: f64, sign: f64) -> Vec<Point> {
    let mut kept = Vec::with_capacity(corners.len() + 1);
    for (i, &p) in corners.iter().enumerate() {
        let q = corners[(i + 1) % corners.len()];
        let (a, b) = ((p.x - at) * sign, (q.x - at) * sign);
        if a >= 0.0 {
            kept.push(p);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            kept.push(p + (q - p) * (a / (a - b)));
        }
    }
    kept
}
