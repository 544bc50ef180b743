//! Check that a known path keeps clear of open leaves: the leaves alone, since everything else has been checked.
//!
//! Points of a vehicle move no faster than a known bound, so after a pose with room to spare the next poses can be
//! skipped; where there is little room, the hull of two neighboring poses is checked, grown by the bow of the paths
//! between them, as in [`crate::clearance::inspect()`].
use crate::clearance::{CollisionModel, STEP_M, Surroundings, second_derivative_bounds, slabs};
use crate::geometry::{Frame, Point, distance};
use crate::motion::{Chain, Path};
use crate::site::Faces;
use crate::vehicle::{MAX_UNITS, Vehicle};

/// A path sampled once: poses of its units, and bounds on the motion of their points in between.
#[derive(Clone)]
pub(super) struct Driven {
    frames: Vec<[Frame; MAX_UNITS]>,
    stations_m: Vec<f64>,
    /// Bound on the distance that any point of the vehicle moves for each meter rolled.
    speed: f64,
    /// Bounds on the second derivative of the paths of each unit's points, per meter.
    bends: [f64; MAX_UNITS],
}

/// Result of checking the leaves alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Past {
    /// The clearance is kept along the whole path.
    Clear,
    /// In some pose the clearance is not kept.
    Blocked,
    /// The clearance is kept in every sampled pose, by less than what may happen between two of them.
    Close,
}

impl Driven {
    /// Samples a path (gate frame).
    pub(super) fn new(vehicle: &Vehicle, path: &Path) -> Self {
        let chain = Chain::of(vehicle);
        let mut reach = [0.0_f64; MAX_UNITS];
        for (unit, reach) in vehicle.units.iter().zip(&mut reach) {
            let corners = unit.parts.iter().flat_map(|part| &part.outline.0);
            *reach = corners.map(|p| p.norm()).fold(0.0, f64::max);
        }
        let segments = || path.legs.iter().flat_map(|leg| &leg.segments).filter(|s| s.length_m > 0.0);
        let k = segments().map(|s| s.curvature_start.abs().max(s.curvature_end.abs())).fold(0.0, f64::max);
        let dk = segments().map(|s| (s.curvature_end - s.curvature_start).abs() / s.length_m);
        let bends = second_derivative_bounds(&chain, &reach, k, dk.fold(0.0, f64::max));
        let samples = path.samples(&chain, STEP_M);
        Self {
            frames: samples.iter().map(|s| chain.unit_frames(&s.state)).collect(),
            stations_m: samples.iter().map(|s| s.station_m).collect(),
            speed: fastest(&chain, &reach, k),
            bends,
        }
    }

    /// Checks a path against the leaves of `surroundings`, hung at these faces. Only parts that share a height with a
    /// leaf can touch it.
    pub(super) fn past(
        &self,
        vehicle: &Vehicle,
        surroundings: &Surroundings,
        faces: Faces,
        clearance_m: f64,
    ) -> Past {
        let model = CollisionModel::new(vehicle, surroundings.clone(), clearance_m, f64::INFINITY);
        let near = Near::of(&model, faces);
        if near.pairs.is_empty() {
            return Past::Clear;
        }
        let (mut at, last) = (0, self.frames.len().saturating_sub(1));
        let mut buffers = (Vec::new(), Vec::new());
        let mut past = Past::Clear;
        while at <= last {
            let spare_m = near.gap(&model, &self.frames[at]) - clearance_m;
            if spare_m < -1e-9 {
                return Past::Blocked;
            }
            let sure_m = self.stations_m[at] + spare_m / self.speed;
            let next = at + self.stations_m[at..].partition_point(|s| *s <= sure_m);
            if next > last || at == last {
                break;
            }
            // Continue at the last pose that is certainly clear; or, if that is this one, at the next after a closer
            // check.
            at = if next > at + 1 {
                next - 1
            } else {
                // The pose after a close one is often close, too.
                if past == Past::Clear && !self.keeps(&near, &model, at, &mut buffers) {
                    past = Past::Close;
                }
                at + 1
            };
        }
        past
    }

    /// True if the clearance is kept between one pose and the next.
    fn keeps(
        &self,
        near: &Near,
        model: &CollisionModel,
        at: usize,
        (points, hull): &mut (Vec<Point>, Vec<Point>),
    ) -> bool {
        let h = self.stations_m[at + 1] - self.stations_m[at];
        near.pairs.iter().all(|(part, leaf)| {
            let (part, leaf) = (&model.parts[*part], &near.leaves[*leaf]);
            let bow_m = h * h / 8.0 * self.bends[part.unit];
            let mut clear = |corners: &[Point]| {
                points.clear();
                for frames in &self.frames[at..=at + 1] {
                    points.extend(corners.iter().map(|p| frames[part.unit].place(*p)));
                }
                distance::convex_hull(points, hull);
                let gap_m = distance::nearest_convex(hull, leaf).distance_m;
                gap_m - bow_m >= model.clearance_m && !overlap(hull, leaf)
            };
            // The hull of a long edge that pivots covers more than the edge does: then check it in slabs.
            clear(&part.corners) || slabs(&part.corners).iter().all(|slab| clear(slab))
        })
    }
}

/// Gap that counts for an overlap: its depth does not matter.
const WITHIN_M: f64 = 1e-3;

/// The leaves, and which parts can touch which leaf.
struct Near {
    leaves: Vec<Vec<Point>>,
    pairs: Vec<(usize, usize)>,
}

impl Near {
    fn of(model: &CollisionModel, faces: Faces) -> Self {
        let around = &model.surroundings;
        let (mut leaves, mut pairs) = (Vec::new(), Vec::new());
        for (is_left, side, face_u) in [(true, &around.left, faces.left), (false, &around.right, faces.right)]
        {
            for (block, piece) in side.blocks.iter().enumerate() {
                if !piece.material.is_leaf() {
                    continue;
                }
                for (index, part) in model.parts.iter().enumerate() {
                    let meets = if is_left { &part.left.1 } else { &part.right.1 };
                    if meets.contains(&block) {
                        pairs.push((index, leaves.len()));
                    }
                }
                leaves.push(piece.corners.iter().map(|p| Point::new(p.x + face_u, p.y)).collect());
            }
        }
        Self { leaves, pairs }
    }

    /// Smallest gap between any part and the leaf it can touch; negative where they overlap.
    fn gap(&self, model: &CollisionModel, frames: &[Frame; MAX_UNITS]) -> f64 {
        let mut least = f64::INFINITY;
        let mut corners: Vec<Point> = Vec::new();
        for (index, leaf) in &self.pairs {
            let part = &model.parts[*index];
            let frame = &frames[part.unit];
            let center = frame.place(part.center);
            if distance::nearest_convex(&[center], &self.leaves[*leaf]).distance_m - part.reach_m >= least {
                continue;
            }
            corners.clear();
            corners.extend(part.corners.iter().map(|p| frame.place(*p)));
            let apart = distance::nearest_convex(&corners, &self.leaves[*leaf]).distance_m;
            let within = apart <= 0.0 || overlap(&corners, &self.leaves[*leaf]);
            least = least.min(if within { -WITHIN_M } else { apart });
        }
        least
    }
}

/// True if two convex outlines overlap: one holds a corner of the other. (Where only edges cross, the distance of the
/// outlines is 0 anyway.)
fn overlap(a: &[Point], b: &[Point]) -> bool {
    let holds = |ring: &[Point], p: Option<&Point>| p.is_some_and(|p| distance::ring_contains(ring, *p));
    holds(a, b.first()) || holds(b, a.first())
}

/// Upper bound on how far any point within `reach` of its unit's axle moves for each meter the lead unit rolls, with
/// wheels turned to a curvature of `k` at most: from unit to unit as in [`second_derivative_bounds`].
fn fastest(chain: &Chain, reach: &[f64; MAX_UNITS], k: f64) -> f64 {
    let (mut v, mut w) = (1.0, k);
    let mut most: f64 = v + w * reach[0];
    for (towed, reach) in chain.towed().iter().zip(&reach[1..]) {
        let a = towed.hitch_behind_m.abs();
        v = (v * v + a * a * w * w).sqrt();
        w = v / towed.wheelbase_m;
        most = most.max(v + w * reach);
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clearance::inspect;
    use crate::geometry::Pose;
    use crate::motion::{Direction, Leg, Segment, State, Towed};
    use crate::site::{Arrangement, Leaves, Side, Swing};

    const PLAN: &str = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
        { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
          "geometry": { "type": "LineString", "coordinates": [[-80, -9], [80, -9]] } },
        { "type": "Feature", "properties": { "role": "gate", "post": "0.2 m" },
          "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;

    /// Path in through the gate on a slight bend one way and the other, from `x` at a heading `turned` off straight
    /// ahead.
    fn path(x: f64, turned: f64, bend: f64) -> Path {
        let lead = Pose::new(x, -12.0, std::f64::consts::FRAC_PI_2 + turned);
        let to = |from: f64, to: f64, length_m: f64| Segment {
            length_m,
            curvature_start: from,
            curvature_end: to,
        };
        let segments =
            vec![to(0.0, bend, 3.0), to(bend, bend, 6.0), to(bend, -bend, 4.0), to(-bend, 0.0, 18.0)];
        Path {
            start: State { lead, ..State::default() },
            legs: vec![Leg { direction: Direction::Forward, segments }],
        }
    }

    /// Compared with the full inspection: what is reported clear passes it, what is reported blocked does not.
    #[test]
    fn never_clear_where_a_whole_inspection_finds_a_touch() {
        let mut site = crate::site::read(PLAN, "plan").unwrap();
        let kinds = [
            (Arrangement::Double, Swing::In, 95.0),
            (Arrangement::Double, Swing::Out, 90.0),
            (Arrangement::Single(Side::Left), Swing::In, 75.0),
            (Arrangement::Single(Side::Right), Swing::Out, 100.0),
            (Arrangement::Slide(Side::Left), Swing::In, 90.0),
        ];
        let (mut clear, mut blocked, mut close) = (0, 0, 0);
        for name in ["pickup", "gooseneck-horse-40"] {
            let vehicle = crate::vehicle::find(name).unwrap();
            for (x, turned, bend) in
                [(0.0, 0.0, 0.0), (0.3, 0.04, -0.02), (0.1, -0.1, 0.05), (-0.6, -0.12, 0.02)]
            {
                let path = path(x, turned, bend);
                let driven = Driven::new(&vehicle, &path);
                for (arrangement, opens, degrees) in kinds {
                    let leaves = Leaves { arrangement, opens, ..site.gate.leaves };
                    site.gate.leaves = Leaves { open_angle_rad: f64::to_radians(degrees), ..leaves };
                    let all = Surroundings::new(&site, None, 4.0);
                    for opening_m in [2.6, 3.0, 3.3, 3.6, 4.0, 4.5, 5.0, 6.0] {
                        for clearance_m in [0.0, 0.3] {
                            // Leaves only, so that the inspection covers exactly what is checked here.
                            let mut around = all.with_leaves_for(opening_m).with_fixed_leaves();
                            for side in [&mut around.left, &mut around.right] {
                                side.blocks.retain(|b| b.material.is_leaf());
                                side.bands.clear();
                            }
                            let faces = site.gate.faces(opening_m);
                            let past = driven.past(&vehicle, &around, faces, clearance_m);
                            let model = CollisionModel::new(&vehicle, around, clearance_m, f64::INFINITY);
                            let seen = inspect(&model, &path);
                            match past {
                                Past::Clear => {
                                    clear += 1;
                                    let case =
                                        format!("{name} {arrangement:?} {opens:?} {opening_m} {clearance_m}");
                                    assert!(seen.needs_at_least_m <= opening_m + 1e-6, "{case}: {seen:?}");
                                }
                                Past::Blocked => {
                                    blocked += 1;
                                    assert!(
                                        seen.opening_m > opening_m - 1e-6,
                                        "{name} {arrangement:?} {opening_m}"
                                    );
                                }
                                Past::Close => close += 1,
                            }
                        }
                    }
                }
            }
        }
        assert!(clear > 100 && blocked > 100 && close * 10 < clear, "{clear} {blocked} {close}");
    }

    /// Bent any way, with hitches far behind axles, no point moves farther than the bound; some move half as far, and
    /// for a vehicle that tows nothing the outermost point reaches the bound.
    #[test]
    fn no_point_is_faster_than_told() {
        let unit = |hitch_behind_m: f64, wheelbase_m: f64| Towed { hitch_behind_m, wheelbase_m };
        let chains: [(&[Towed], usize); 5] = [
            (&[], 0),
            (&[unit(3.0, 4.0)], 1),
            (&[unit(6.0, 9.0), unit(0.0, 3.0)], 2),
            (&[unit(4.0, 5.0), unit(5.0, 2.0)], 2),
            (&[unit(3.0, 8.0), unit(3.0, 8.0), unit(0.5, 2.0)], 3),
        ];
        let (rolled_m, k) = (1e-6, 0.25);
        let angles = || (-6..=6).map(|i| f64::from(i) * 0.25);
        for (towed, last) in chains {
            let chain = Chain::new(towed);
            // Only the last unit has points away from its axle, one to each side, ahead and behind.
            let mut reach = [0.0; MAX_UNITS];
            reach[last] = 1.5;
            let told = fastest(&chain, &reach, k);
            let mut seen: f64 = 0.0;
            let states = angles().flat_map(|a| angles().map(move |b| (a, b)));
            for hitch in states.flat_map(|(a, b)| angles().map(move |c| [a, b, c])) {
                let state = State { hitch, ..State::default() };
                let before = chain.unit_poses(&state)[last];
                let after = chain.unit_poses(&chain.advance(&state, rolled_m, k, k))[last];
                for (x, y) in [(1.5, 0.0), (-1.5, 0.0), (0.0, 1.5), (0.0, -1.5)] {
                    let p = Point::new(x, y);
                    seen = seen.max(before.to_site(p).distance(after.to_site(p)) / rolled_m);
                }
            }
            assert!(seen < told + 1e-6, "{towed:?}: {seen} of {told}");
            let least = if towed.is_empty() { 1.0 - 1e-6 } else { 0.5 };
            assert!(seen > least * told, "{towed:?}: {seen} of {told}");
        }
    }

    /// Wheels turned from one side to the other within a step beside a leaf: both poses keep 3 mm more than the clearance,
    /// and between them the nose swings out by a quarter of the step times the curvature at once, 4.5 mm and more.
    #[test]
    fn what_swings_out_between_two_poses_is_seen() {
        let mut site = crate::site::read(PLAN, "plan").unwrap();
        let mut car = crate::vehicle::find("pickup").unwrap();
        car.units[0].parts.retain(|part| part.kind == crate::vehicle::PartKind::Body);
        let corners = || car.units[0].parts.iter().flat_map(|part| &part.outline.0);
        let half = corners().map(|p| p.y).fold(0.0, f64::max);
        let nose = corners().filter(|p| p.y > half - 1e-9).map(|p| p.x).fold(0.0, f64::max);
        let (k, step_m, clearance_m) = (0.2, STEP_M, 0.3);
        let out_m = nose * k * step_m / 4.0;
        assert!(out_m > 0.0035, "{out_m}");
        let leaves =
            Leaves { arrangement: Arrangement::Single(Side::Left), opens: Swing::In, ..site.gate.leaves };
        site.gate.leaves = Leaves { open_angle_rad: std::f64::consts::FRAC_PI_2, ..leaves };
        let around = Surroundings::new(&site, None, 4.0);
        let seen = |k: f64, spare_m: f64| {
            let lead = Pose::new(0.0, -2.0, std::f64::consts::FRAC_PI_2);
            let segment = Segment { length_m: step_m, curvature_start: k, curvature_end: -k };
            let legs = vec![Leg { direction: Direction::Forward, segments: vec![segment] }];
            let path = Path { start: State { lead, ..State::default() }, legs };
            let face = -half - 0.5 * site.gate.leaves.thickness_m - clearance_m - spare_m;
            Driven::new(&car, &path).past(&car, &around, Faces::new(face, 9.0), clearance_m)
        };
        assert_eq!(seen(0.0, 0.003), Past::Clear);
        assert_eq!(seen(k, 0.003), Past::Close);
        // Room for more than any point of it swings.
        assert_eq!(seen(k, 0.02), Past::Clear);
        assert_eq!(seen(0.0, -0.001), Past::Blocked);
    }
}
