//! A whole path against its surroundings, with a bound that holds between the poses looked at.
//!
//! Between two neighboring poses every corner stays within e = h²/8 · max|p''| of its chord (h the distance rolled),
//! and a body point is a mean of corners; so the moving part stays inside the hull of its two outlines grown by e.
//! What the hull so grown clears, the motion clears.
use super::encounter::{AMPLE_M, Encounter, EncounterPart, Placed, PoseNeed, Scratch, opening_for};
use super::surroundings::{SideOfGate, Surroundings};
use crate::geometry::{Point, Pose, distance};
use crate::motion::{Chain, Path, Sample, Segment};
use crate::vehicle::MAX_UNITS;

/// Distance rolled between the poses an inspection looks at. With it the bound between poses adds well under a
/// millimeter for every vehicle of the library.
pub const STEP_M: f64 = 0.025;

/// A tire whose corners stand farther over an edge than this has failed whatever lies between them: it is told as it is,
/// not by the bound for an edge that pokes in between. Twice what the search and the verdicts let pass.
const TOLD_AS_IS_M: f64 = 0.002;

/// Contacts farther than this are not worth a reader's while.
const WORTH_TELLING_M: f64 = 1.0;

/// What an inspection found.
#[derive(Clone, Debug)]
pub struct Inspection {
    /// An opening that certainly suffices, meters; infinite when none does.
    pub opening_m: f64,
    /// The path certainly needs at least this.
    pub needs_at_least_m: f64,
    /// Where the faces stand for `opening_m` (u).
    pub faces_u: (f64, f64),
    /// Least gap to fixed things less the clearance, certainly at least this; capped at 0.25 m.
    pub margin_m: f64,
    /// Least distance of the tires' ends from the edge of where they may go, capped likewise. Beside a straight edge
    /// certainly at least this; a corner of the edge that points at a tire's way may come nearer between two looks or
    /// between the ends, but where this is positive no edge lies under a tire. More than 2 mm over the edge it is how
    /// far the tires' corners were seen to stand over it.
    pub ground_m: f64,
    /// Whether the path ends wholly beyond the gate.
    pub ends_beyond: bool,
    /// Largest v over each leg: a leg that must not enter the gate keeps it below the gate's front.
    pub most_v: Vec<f64>,
    /// Tight places, tightest first: the nearest approach to each thing, with the opening at `opening_m`.
    pub touches: Vec<Touch>,
}

/// The nearest approach to one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Touch {
    /// What it is.
    pub what: String,
    /// Which part of the vehicle.
    pub part: String,
    /// The place on it, gate frame.
    pub at: Point,
    /// The place on the vehicle, gate frame.
    pub from: Point,
    /// The gap, meters.
    pub gap_m: f64,
    /// Distance rolled from the start of the path.
    pub station_m: f64,
}

impl Inspection {
    /// Tells the tight places of the path inspected.
    pub fn tell_touches(&mut self, encounter: &Encounter, path: &Path) {
        self.touches = touches(encounter, &path.samples(&encounter.chain, STEP_M), self.faces_u);
    }

    /// Whether the path clears all that is fixed and ends beyond the gate.
    ///
    /// Tires may stand `tolerance_m` over an edge: what a drawing cannot settle.
    #[must_use]
    pub fn passes(&self, tolerance_m: f64) -> bool {
        self.opening_m.is_finite()
            && self.margin_m >= 0.0
            && self.ground_m >= -tolerance_m
            && self.ends_beyond
    }
}

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

/// Inspects a path given in the gate's frame.
#[must_use]
pub fn inspect(encounter: &Encounter, path: &Path) -> Inspection {
    let mut inspection = measure(encounter, path);
    inspection.tell_touches(encounter, path);
    inspection
}

/// What a path needs at these poses alone, `step_m` apart: less than it needs between them, and soon told.
#[must_use]
pub fn glance(encounter: &Encounter, path: &Path, step_m: f64) -> f64 {
    let mut scratch = Scratch::default();
    let need_of = |sample: &Sample| encounter.need(&encounter.chain.unit_poses(&sample.state), &mut scratch);
    let seen = path
        .samples(&encounter.chain, step_m)
        .iter()
        .map(need_of)
        .fold(PoseNeed::NOTHING, |all, need| all.and(&need));
    opening_for(&encounter.surroundings, seen.left_u, seen.right_u).0
}

/// Inspects a path given in the gate's frame, and leaves the tight places untold.
#[must_use]
pub fn measure(encounter: &Encounter, path: &Path) -> Inspection {
    let chain = &encounter.chain;
    let samples = path.samples(chain, STEP_M);
    let mut reach = [0.0; MAX_UNITS];
    for part in &encounter.parts {
        let far = part.corners.iter().map(|p| p.norm()).fold(0.0, f64::max);
        reach[part.unit] = f64::max(reach[part.unit], far);
    }
    for tire in &encounter.tires {
        let far = tire.ends.iter().map(|p| p.norm()).fold(0.0, f64::max);
        reach[tire.unit] = f64::max(reach[tire.unit], far);
    }
    let bends = sharpest(path, chain, &reach);
    let mut seen = PoseNeed::NOTHING;
    let mut end = PoseNeed::NOTHING;
    let mut scratch = Scratch::default();
    let poses: Vec<[Pose; MAX_UNITS]> = samples.iter().map(|s| chain.unit_poses(&s.state)).collect();
    for poses in &poses {
        end = encounter.need(poses, &mut scratch);
        seen = seen.and(&end);
    }
    let mut sure = seen;
    let mut most_v = vec![f64::NEG_INFINITY; path.legs.len()];
    let mut hulls = Hulls::new(encounter);
    for (pair, poses) in samples.windows(2).zip(poses.windows(2)) {
        if pair[0].leg != pair[1].leg {
            continue;
        }
        let h = pair[1].station_m - pair[0].station_m;
        let bow = bends[pair[1].leg].map(|bend| h * h / 8.0 * bend);
        let step = hulls.need(encounter, (&poses[0], &poses[1]), &bow, &seen);
        sure = sure.and(&step);
        let bow = bow.iter().copied().fold(0.0, f64::max);
        most_v[pair[1].leg] = most_v[pair[1].leg].max(step.most_v + bow);
    }
    let (opening_m, left, right) = opening_for(&encounter.surroundings, sure.left_u, sure.right_u);
    let (needs_at_least_m, ..) = opening_for(&encounter.surroundings, seen.left_u, seen.right_u);
    Inspection {
        opening_m,
        needs_at_least_m,
        faces_u: (left, right),
        margin_m: sure.margin_m,
        ground_m: sure.ground_m,
        ends_beyond: end.least_v >= encounter.surroundings.beyond_v + encounter.clearance_m,
        most_v,
        touches: Vec::new(),
    }
}

/// Per leg, the second-derivative bound of each unit.
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

/// Parts are looked at in slabs of this length where it matters: the hull of two poses of a long edge that pivots
/// covers more than the edge does, by half its length times the angle.
const SLAB_M: f64 = 0.5;

/// Buffers for the hulls of neighboring outlines.
struct Hulls {
    points: Vec<Point>,
    hull: Vec<Point>,
    /// Per part, its slabs.
    slabs: Vec<Vec<Vec<Point>>>,
}

impl Hulls {
    fn new(encounter: &Encounter) -> Self {
        let slabs = encounter.parts.iter().map(|part| slabs(&part.corners)).collect();
        Self { points: Vec::new(), hull: Vec::new(), slabs }
    }

    /// What the motion between two neighboring poses certainly does not exceed.
    ///
    /// Whole parts first; only where that is more than the poses themselves need, in slabs.
    fn need(
        &mut self,
        encounter: &Encounter,
        (before, after): (&[Pose; MAX_UNITS], &[Pose; MAX_UNITS]),
        bow: &[f64; MAX_UNITS],
        seen: &PoseNeed,
    ) -> PoseNeed {
        let mut need = PoseNeed::NOTHING;
        for (index, part) in encounter.parts.iter().enumerate() {
            let (from, to) = (&before[part.unit], &after[part.unit]);
            let mut whole = PoseNeed::NOTHING;
            self.outline_need(encounter, part, &part.corners, (from, to), bow[part.unit], &mut whole);
            let harmless = whole.left_u >= seen.left_u
                && whole.right_u <= seen.right_u
                && whole.margin_m >= seen.margin_m.min(AMPLE_M);
            if !harmless {
                let extent = (whole.least_v, whole.most_v);
                whole = PoseNeed::NOTHING;
                let slabs = std::mem::take(&mut self.slabs[index]);
                for slab in &slabs {
                    self.outline_need(encounter, part, slab, (from, to), bow[part.unit], &mut whole);
                }
                self.slabs[index] = slabs;
                (whole.least_v, whole.most_v) = extent;
            }
            need = need.and(&whole);
        }
        if let Some(ground) = &encounter.surroundings.ground {
            for tire in &encounter.tires {
                let (from, to) = (&before[tire.unit], &after[tire.unit]);
                let quad = [
                    from.to_site(tire.ends[0]),
                    from.to_site(tire.ends[1]),
                    to.to_site(tire.ends[1]),
                    to.to_site(tire.ends[0]),
                ];
                let least = quad.iter().map(|p| ground.signed_distance(*p)).fold(AMPLE_M, f64::min);
                // Ample room at the corners leaves none for an edge to poke in between them: they are less apart.
                let across = quad[0].distance(quad[2]).max(quad[1].distance(quad[3]));
                let poked = least > -TOLD_AS_IS_M
                    && least < across
                    && !ground.contains_convex(&quad, least.min(0.0) - 1e-6);
                let sure = if poked { -across } else { least };
                need.ground_m = need.ground_m.min(sure - bow[tire.unit]);
            }
        }
        need
    }

    /// What the hull of an outline in two poses needs.
    fn outline_need(
        &mut self,
        encounter: &Encounter,
        part: &EncounterPart,
        corners: &[Point],
        (from, to): (&Pose, &Pose),
        bow: f64,
        need: &mut PoseNeed,
    ) {
        self.points.clear();
        self.points.extend(corners.iter().map(|p| from.to_site(*p)));
        self.points.extend(corners.iter().map(|p| to.to_site(*p)));
        // Most of a way is far from everything: there only how far in and out it reaches is told.
        if encounter.stands_clear(part, &self.points, encounter.clearance_m + bow) {
            for p in &self.points {
                need.least_v = need.least_v.min(p.y);
                need.most_v = need.most_v.max(p.y);
            }
            return;
        }
        distance::convex_hull(&mut self.points, &mut self.hull);
        let count = f64::from(u32::try_from(self.hull.len().max(1)).unwrap_or(1));
        let center = self.hull.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / count);
        let reach_m = self.hull.iter().map(|p| p.distance(center)).fold(0.0, f64::max);
        let unit_middle = from.to_site(encounter.middles[part.unit]);
        let placed = Placed { center, reach_m, corners: &self.hull, unit_middle };
        encounter.part_need(part, placed, encounter.clearance_m + bow, need);
    }
}

/// A convex outline cut across its length into pieces at most half a meter long.
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

/// The part of a convex outline on one side of the line x = `at`: right of it for `sign` 1, left for -1.
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

/// The nearest approach to each named thing over these samples, nearest first, with the faces standing where given;
/// what is farther than a meter from all of them is left out.
#[must_use]
pub fn touches(encounter: &Encounter, samples: &[Sample], faces: (f64, f64)) -> Vec<Touch> {
    let mut found: Vec<Touch> = Vec::new();
    if !faces.0.is_finite() || !faces.1.is_finite() {
        return found;
    }
    let surroundings = &encounter.surroundings;
    let left = outlines(&surroundings.left, faces.0, -1.0);
    let right = outlines(&surroundings.right, faces.1, 1.0);
    for sample in samples {
        let poses = encounter.chain.unit_poses(&sample.state);
        for part in &encounter.parts {
            let pose = &poses[part.unit];
            let center = pose.to_site(part.center);
            let corners: Vec<Point> = part.corners.iter().map(|p| pose.to_site(*p)).collect();
            // Of what has a name only what is nearer than that was seen to be.
            let known = |what: &str| found.iter().find(|t| t.what == what).map(|t| t.gap_m);
            let near_enough = encounter.standing_near(part, &corners, known, WORTH_TELLING_M);
            let mut note = |what: &str, outline: &[Point], radius: f64| {
                let nearest = distance::nearest_convex(&corners, outline);
                let gap_m = nearest.distance_m - radius;
                if gap_m > WORTH_TELLING_M {
                    return;
                }
                let toward = (nearest.on_first - nearest.on_second).unit().unwrap_or_default();
                let touch = Touch {
                    what: what.to_owned(),
                    part: part.name.clone(),
                    at: nearest.on_second + toward * radius,
                    from: nearest.on_first,
                    gap_m: gap_m.max(0.0),
                    station_m: sample.station_m,
                };
                match found.iter_mut().find(|t| t.what == what) {
                    Some(known) if known.gap_m <= touch.gap_m => {}
                    Some(known) => *known = touch,
                    None => found.push(touch),
                }
            };
            for (side, list, wanted, post) in [
                (&surroundings.left, &left, &part.left, ("left post", faces.0)),
                (&surroundings.right, &right, &part.right, ("right post", faces.1)),
            ] {
                for (i, outline) in list.iter().enumerate() {
                    let bands = side.bands.len();
                    let meets =
                        if i < bands { wanted.0.contains(&i) } else { wanted.1.contains(&(i - bands)) };
                    if meets && near(center, part.reach_m, outline) {
                        let what = if i < bands {
                            let at = distance::nearest_convex(&corners, outline).on_second;
                            // The fence ends in the post, and the post is what is seen.
                            let post_there = (at.x - post.1).abs() <= side.post_width_m + 1e-9;
                            if post_there { post.0 } else { side.bands[i].material.what.as_str() }
                        } else {
                            side.blocks[i - bands].material.what.as_str()
                        };
                        note(what, outline, 0.0);
                    }
                }
            }
            for &i in near_enough.iter() {
                let piece = &surroundings.standing[i];
                if center.distance(piece.center) - part.reach_m - piece.reach_m <= WORTH_TELLING_M {
                    note(&piece.material.what, &piece.corners, piece.radius_m);
                }
            }
        }
    }
    // The closed line is not a thing one sees; the post at its end is.
    found.retain(|t| t.what != "gate line");
    found.sort_by(|a, b| a.gap_m.total_cmp(&b.gap_m).then_with(|| a.what.cmp(&b.what)));
    found
}

fn near(center: Point, reach: f64, outline: &[Point]) -> bool {
    let n = outline.len();
    (0..n).any(|i| {
        let q = distance::nearest_on_segment(center, outline[i], outline[(i + 1) % n]);
        center.distance(q) <= reach + WORTH_TELLING_M
    })
}

/// Bands and blocks of a side as outlines, with its face at `face_u`.
fn outlines(side: &SideOfGate, face_u: f64, sign: f64) -> Vec<Vec<Point>> {
    let mut list = Vec::new();
    for band in &side.bands {
        let far = if side.end_u.abs() > face_u.abs() { side.end_u } else { face_u + sign };
        let (x0, x1) = (face_u.min(far), face_u.max(far));
        list.push(vec![
            Point::new(x0, band.low),
            Point::new(x1, band.low),
            Point::new(x1, band.high),
            Point::new(x0, band.high),
        ]);
    }
    for block in &side.blocks {
        list.push(block.corners.iter().map(|p| Point::new(p.x + face_u, p.y)).collect());
    }
    list
}

impl Surroundings {
    /// The front of the gate: a vehicle whose largest v stays below this has not entered it.
    #[must_use]
    pub fn front_v(&self) -> f64 {
        let bands = self.left.bands.iter().chain(&self.right.bands).map(|b| b.low);
        let posts = self
            .left
            .blocks
            .iter()
            .chain(&self.right.blocks)
            .filter(|b| b.material.what.ends_with("post"))
            .flat_map(|b| b.corners.iter().map(|p| p.y));
        bands.chain(posts).fold(0.0, f64::min)
    }
}
