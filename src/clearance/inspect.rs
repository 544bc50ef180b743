//! Inspection of a whole path in its surroundings: its need, by [`measure()`], and its tight places.
use super::collision_model::{CollisionModel, Scratch};
use super::continuous::{STEP_M, measure};
use super::need::{PoseNeed, ROUNDING_M, opening_for};
use super::surroundings::{Material, SideOfGate, Surroundings, Thing};
use crate::geometry::{Point, distance};
use crate::motion::{Path, Sample};
use crate::site::{Faces, Side};

/// Largest gap of a contact that is reported: a wider one is of no use to a reader.
const WORTH_TELLING_M: f64 = 1.0;

/// Result of an inspection.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Inspection {
    /// Opening that certainly suffices, meters; infinite when none does.
    pub opening_m: f64,
    /// Lower bound on the opening that the path needs.
    pub needs_at_least_m: f64,
    /// Places of the faces for `opening_m` (u).
    pub faces_u: Faces,
    /// Lower bound on the gap to fixed things less the clearance; capped at 0.25 m.
    pub margin_m: f64,
    /// Least distance of the tires' ends from the edge of the ground they may use, capped likewise. A lower bound
    /// beside a straight edge; a corner of the edge that points at a tire's path may come nearer between two samples or
    /// between the ends, but where this is positive no edge lies under a tire. More than 2 mm over the edge it is the
    /// distance over it at which the tires' corners were seen.
    pub ground_m: f64,
    /// True if the path ends wholly beyond the gate.
    pub ends_beyond: bool,
    /// Largest v over each leg: a leg that must not enter the gate keeps it below the gate's front.
    pub most_v: Vec<f64>,
    /// Tight places, tightest first: the nearest approach to each thing, with the faces at `opening_m`.
    pub touches: Vec<Touch>,
}

/// The nearest approach to one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Touch {
    /// Kind of thing.
    pub thing: Thing,
    /// Name of the thing.
    pub what: String,
    /// Part of the vehicle.
    pub part: String,
    /// Point on the thing, gate frame.
    pub at: Point,
    /// Point on the vehicle, gate frame.
    pub from: Point,
    /// Gap, meters.
    pub gap_m: f64,
    /// Distance rolled from the start of the path.
    pub station_m: f64,
}

impl Inspection {
    /// Lists the tight places of the inspected path.
    pub fn find_contacts(&mut self, model: &CollisionModel, path: &Path) {
        self.touches = touches(model, &path.samples(&model.chain, STEP_M), self.faces_u);
    }

    /// True if the path clears all that is fixed and ends beyond the gate.
    ///
    /// Tires may stand `tolerance_m` over an edge: below what a drawing can settle.
    #[must_use]
    pub fn passes(&self, tolerance_m: f64) -> bool {
        self.is_clear(tolerance_m) && self.ends_beyond
    }

    /// True if the path clears all that is fixed, wherever it ends: part of a path, too.
    #[must_use]
    pub fn is_clear(&self, tolerance_m: f64) -> bool {
        self.opening_m.is_finite() && self.margin_m >= 0.0 && self.ground_m >= -tolerance_m
    }
}

/// Inspects a path given in the gate's frame.
#[must_use]
pub fn inspect(model: &CollisionModel, path: &Path) -> Inspection {
    let mut inspection = measure(model, path);
    inspection.find_contacts(model, path);
    inspection
}

/// Opening needed at poses `step_m` apart: a fast lower bound on the need of the path. Infinite if a pose stands too
/// near to something that does not move with the faces, or its tires more than `tolerance_m` off the ground they may
/// use.
#[must_use]
pub fn sampled_need(model: &CollisionModel, path: &Path, step_m: f64, tolerance_m: f64) -> f64 {
    let mut scratch = Scratch::default();
    let need_of =
        |sample: &Sample| model.need_since(None, &model.chain.unit_frames(&sample.state), &mut scratch);
    let seen = path
        .samples(&model.chain, step_m)
        .iter()
        .map(need_of)
        .fold(PoseNeed::NOTHING, |all, need| all.and(&need));
    if seen.margin_m < -ROUNDING_M || seen.ground_m < -tolerance_m - ROUNDING_M {
        return f64::INFINITY;
    }
    opening_for(&model.surroundings, seen.faces_u()).0
}

/// Nearest approach to each named thing over these samples, nearest first, with the faces at these places; things
/// farther than a meter from all of them are left out.
#[must_use]
pub fn touches(model: &CollisionModel, samples: &[Sample], faces: Faces) -> Vec<Touch> {
    touches_within(model, samples, faces, WORTH_TELLING_M)
}

/// As [`touches`], but things farther than `within_m` from all of them are left out.
#[must_use]
pub fn touches_within(model: &CollisionModel, samples: &[Sample], faces: Faces, within_m: f64) -> Vec<Touch> {
    let mut found: Vec<Touch> = Vec::new();
    if !faces.left.is_finite() || !faces.right.is_finite() {
        return found;
    }
    let surroundings = &model.surroundings;
    let left = outlines(&surroundings.left, faces.left, -1.0);
    let right = outlines(&surroundings.right, faces.right, 1.0);
    for sample in samples {
        let frames = model.chain.unit_frames(&sample.state);
        for part in &model.parts {
            let frame = &frames[part.unit];
            let center = frame.place(part.center);
            let corners: Vec<Point> = part.corners.iter().map(|p| frame.place(*p)).collect();
            // For things already found only nearer approaches matter.
            let known = |of: &Material| found.iter().find(|t| of.goes_by(t.thing, &t.what)).map(|t| t.gap_m);
            let near_enough = model.standing_near(part, &corners, known, within_m);
            let mut note = |(thing, what): (Thing, &str), outline: &[Point], radius: f64| {
                let nearest = distance::nearest_convex(&corners, outline);
                let gap_m = nearest.distance_m - radius;
                if gap_m > within_m {
                    return;
                }
                let toward = (nearest.on_first - nearest.on_second).unit().unwrap_or_default();
                let touch = Touch {
                    thing,
                    what: what.to_owned(),
                    part: part.name.clone(),
                    at: nearest.on_second + toward * radius,
                    from: nearest.on_first,
                    gap_m: gap_m.max(0.0),
                    station_m: sample.station_m,
                };
                match found.iter_mut().find(|t| t.thing.is_like(thing) && t.what == what) {
                    Some(known) if known.gap_m <= touch.gap_m => {}
                    Some(known) => *known = touch,
                    None => found.push(touch),
                }
            };
            for (side, list, wanted, post) in [
                (&surroundings.left, &left, &part.left, (Side::Left, faces.left)),
                (&surroundings.right, &right, &part.right, (Side::Right, faces.right)),
            ] {
                for (i, outline) in list.iter().enumerate() {
                    let bands = side.bands.len();
                    let meets =
                        if i < bands { wanted.0.contains(&i) } else { wanted.1.contains(&(i - bands)) };
                    if meets && near(center, part.reach_m + within_m, outline) {
                        let at = distance::nearest_convex(&corners, outline).on_second;
                        let what = named(side, post, i, at);
                        note(what, outline, 0.0);
                    }
                }
            }
            for &i in near_enough.iter() {
                let piece = &surroundings.standing[i];
                if center.distance(piece.center) - part.reach_m - piece.reach_m <= within_m {
                    note(called(&piece.material), &piece.corners, piece.radius_m);
                }
            }
        }
    }
    // The closed line is nothing one sees; the post at its end is.
    found.retain(|t| t.thing != Thing::GateLine);
    found.sort_by(|a, b| a.gap_m.total_cmp(&b.gap_m).then_with(|| a.what.cmp(&b.what)));
    found
}

/// Name of a contact: of the piece with this index in [`outlines`], touched at `at`. Within the width of a post the name is the
/// post's, since the fence ends in it.
pub(super) fn named(side: &SideOfGate, (of, face_u): (Side, f64), index: usize, at: Point) -> (Thing, &str) {
    let bands = side.bands.len();
    if index >= bands {
        return called(&side.blocks[index - bands].material);
    }
    if (at.x - face_u).abs() > side.post_width_m + 1e-9 {
        return called(&side.bands[index].material);
    }
    (Thing::Post(of), if of == Side::Left { "left post" } else { "right post" })
}

fn called(material: &Material) -> (Thing, &str) {
    (material.thing, material.what.as_str())
}

fn near(center: Point, reach: f64, outline: &[Point]) -> bool {
    let n = outline.len();
    (0..n).any(|i| {
        let q = distance::nearest_on_segment(center, outline[i], outline[(i + 1) % n]);
        center.distance(q) <= reach
    })
}

/// Outlines of the bands and blocks of a side, with its face at `face_u`.
pub(super) fn outlines(side: &SideOfGate, face_u: f64, sign: f64) -> Vec<Vec<Point>> {
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
    /// Front of the gate: a vehicle whose largest v stays below this has not entered it.
    #[must_use]
    pub fn front_v(&self) -> f64 {
        let bands = self.left.bands.iter().chain(&self.right.bands).map(|b| b.low);
        let posts = self
            .left
            .blocks
            .iter()
            .chain(&self.right.blocks)
            .filter(|b| matches!(b.material.thing, Thing::Post(_)))
            .flat_map(|b| b.corners.iter().map(|p| p.y));
        bands.chain(posts).fold(0.0, f64::min)
    }
}
