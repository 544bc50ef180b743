//! Rows of a polish's linear programs: tangent planes of the constraints of each pose, in the path's variables.
//!
//! A linear program has rows only for the poses that a step may make matter, and for the one outline that each need
//! comes from. Violations that a step runs into all the same, at a pose left out or by another outline, are added to
//! the linear program afterwards ([`Slp::missing`]).
use super::Problem;
use super::lp::LinearProgram;
use super::sensitivity::{self, NeedGradient, Rates};
use super::slp::{Slp, VIOLATION_PENALTY};
use super::transcription::{PathNode, SampleGrid, Transcription};
use crate::clearance::{AMPLE_M, ActiveSet, CollisionModel, NeedFields, Scratch};
use crate::motion::State;
use crate::site::{Anchor, Faces, Side};

/// Weight of a radian of hitch angle beyond its limit, in meters of violation: about what a trailer's end moves.
const HITCH_METERS_PER_RAD: f64 = 5.0;
/// Poses whose need is this much less than the largest are left out of a linear program: no step within the trust
/// radius lifts them.
const NEAR_WORST_M: f64 = 1.0;
/// A row is added where more than this share of a step's predicted gain was lost to a need in no row.
const MISSED: f64 = 0.1;
/// A corner farther beyond the gate than this at the end of a path has no row there: no step within the trust radius
/// brings it back.
const CORNER_MATTERS_M: f64 = 1.0;

/// A linear program and the planes behind its rows.
pub(super) struct Planes {
    pub(super) lp: LinearProgram,
    pub(super) planes: Vec<Plane>,
}

/// Origin of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Plane {
    /// Pose.
    pose: usize,
    row: Row,
    /// Outline that the need comes from; `None`: the active one at the linearization point.
    binding: Option<ActiveSet>,
}

/// A constraint that a path must not violate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Violation {
    Margin,
    Ground,
    Hitch,
    Entered,
}

/// Kind of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Row {
    Left,
    Right,
    Broken(Violation),
    Goal,
    /// A path driven outward ends straight in the lane.
    Lane,
}

impl Row {
    /// Rows that a step may violate without a plane.
    const MISSED: [Self; 4] =
        [Self::Left, Self::Right, Self::Broken(Violation::Margin), Self::Broken(Violation::Ground)];
}

/// Variables of a linear program that move the faces of the opening.
pub(super) struct FaceColumns {
    /// Cost of a meter that the left and the right face move out, in meters of opening.
    pub(super) costs: (f64, f64),
    /// Places of the faces when their variables are 0.
    pub(super) base: (f64, f64),
    /// Variable that moves the right face out; the one after the changes moves the left.
    pub(super) right: usize,
    /// True if the left and the right face stay put.
    pub(super) stays: (bool, bool),
}

impl Slp<'_> {
    /// Largest violation of a pose, meters; negative: the remaining slack.
    pub(super) fn most_broken(&self, stand: &PathNode) -> f64 {
        self.breaches(stand).iter().map(|(short, _)| *short).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Violations of a pose, in meters (negative: slack), each with its kind.
    fn breaches(&self, stand: &PathNode) -> [(f64, Violation); 4] {
        let front = self.model.front_v;
        let entered = if !self.track.outward && Transcription::keeps_out(self.problem, stand.leg) {
            stand.need.most_v - front + 0.005
        } else {
            -1.0
        };
        [
            (self.look.spare_m - stand.need.margin_m, Violation::Margin),
            (0.5 * self.look.spare_m - stand.need.ground_m, Violation::Ground),
            ((stand.hitch_over + self.look.hitch_spare_rad) * HITCH_METERS_PER_RAD, Violation::Hitch),
            (entered, Violation::Entered),
        ]
    }

    /// Violation of one kind at a pose.
    fn breach(&self, stand: &PathNode, breach: Violation) -> f64 {
        self.breaches(stand)
            .iter()
            .find(|(_, kind)| *kind == breach)
            .map_or(f64::NEG_INFINITY, |(short, _)| *short)
    }

    pub(super) fn face_columns(&self, n: usize) -> FaceColumns {
        let surroundings = &self.model.surroundings;
        let Faces { left, right } = surroundings.drawn_faces_u;
        let own = |costs, base, stays| FaceColumns { costs, base, right: n + 1, stays };
        match surroundings.anchor {
            Anchor::Center => {
                FaceColumns { costs: (2.0, 0.0), base: (0.0, 0.0), right: n, stays: (false, false) }
            }
            Anchor::Side(Side::Left) => own((0.0, 1.0), (left, left), (true, false)),
            Anchor::Side(Side::Right) => own((1.0, 0.0), (right, right), (false, true)),
            Anchor::Free => own((1.0, 1.0), (0.0, 0.0), (false, false)),
        }
    }

    /// Adds the rows of some planes, in the order of their poses, linearized about a path.
    pub(super) fn add(
        &mut self,
        about: &mut Planes,
        (x, stands, steps): (&[f64], &[PathNode], &SampleGrid),
        planes: Vec<Plane>,
    ) {
        let n = x.len();
        let (left, elastic) = (n, n + 2);
        let faces = self.face_columns(n);
        let mut poses: Vec<usize> = planes.iter().map(|plane| plane.pose).collect();
        poses.dedup();
        let mut of_poses = planes.chunk_by(|a, b| a.pose == b.pose);
        let mut gradient = vec![0.0; n];
        let mut scratch = Scratch::default();
        let (problem, model, track, look) = (self.problem, self.model, self.track, self.look);
        let lp = &mut about.lp;
        let mut work = 0;
        sensitivity::along(problem, model, track, (x, stands, steps), &poses, |j, before, moves| {
            let of_pose = of_poses.next().unwrap_or_default();
            let as_driven = stands[j].binding.of(asked(of_pose.iter().filter(|p| p.binding.is_none())));
            let mut slope_of = |stand: &PathNode, binding: ActiveSet| {
                work += 3 + model.chain.towed_count();
                NeedGradient::at(model, before, &stand.state, (stand.need, binding), &mut scratch)
            };
            let here = slope_of(&stands[j], as_driven);
            for plane in of_pose {
                let mut stand = stands[j];
                let slope = match plane.binding {
                    None => here,
                    Some(binding) => {
                        let frames = model.chain.unit_frames(&stand.state);
                        let earlier = before.map(|state| model.chain.unit_frames(state));
                        let mut scratch = Scratch::default();
                        stand.need = model.need_of(binding, earlier.as_ref(), &frames, &mut scratch);
                        slope_of(&stand, binding)
                    }
                };
                let need = &stand.need;
                match plane.row {
                    Row::Left if need.left_u.is_finite() => {
                        moves.gradient(&slope.rates(|need| need.left_u), &mut gradient);
                        // base - L ≤ left_u + g·dx, where L is how far out the left face stands. A face that stays put
                        // is kept clear with the same spare as anything fixed.
                        let (face, spare) =
                            if faces.stays.0 { ((elastic, -1.0), look.spare_m) } else { ((left, -1.0), 0.0) };
                        lp.at_most_dense(&gradient, -1.0, &[face], need.left_u - faces.base.0 - spare);
                    }
                    Row::Right if need.right_u.is_finite() => {
                        moves.gradient(&slope.rates(|need| need.right_u), &mut gradient);
                        let (face, spare) = if faces.stays.1 {
                            ((elastic, -1.0), look.spare_m)
                        } else {
                            ((faces.right, -1.0), 0.0)
                        };
                        lp.at_most_dense(&gradient, 1.0, &[face], faces.base.1 - need.right_u - spare);
                    }
                    Row::Left | Row::Right => {}
                    Row::Broken(breach) => {
                        let short = self.breach(&stand, breach);
                        let rates = match breach {
                            Violation::Margin => slope.rates(|n| -n.margin_m),
                            Violation::Ground => slope.rates(|n| -n.ground_m),
                            Violation::Entered => slope.rates(|n| n.most_v),
                            Violation::Hitch => hitch_rates(model, &stand.state),
                        };
                        moves.gradient(&rates, &mut gradient);
                        lp.at_most_dense(&gradient, 1.0, &[(elastic, -1.0)], -short);
                    }
                    Row::Goal => {
                        for (short, rates) in goal_rows(problem, model, &stand.state) {
                            moves.gradient(&rates, &mut gradient);
                            lp.at_most_dense(&gradient, 1.0, &[(elastic, -1.0)], -short);
                        }
                    }
                    Row::Lane => {
                        for (short, rates) in self.out_of_lane(&stand.state) {
                            moves.gradient(&rates, &mut gradient);
                            lp.at_most_dense(&gradient, 1.0, &[(elastic, -1.0)], -short);
                        }
                    }
                }
            }
        });
        about.planes.extend(planes);
        self.work += u64::try_from(work).unwrap_or(0);
    }

    /// Planes that a step ran into without a row in its linear program: at a pose left out, or by another outline than
    /// the one the need came from before. `dx` is the linear program's answer, `gain` its predicted gain.
    pub(super) fn missing(
        &self,
        about: &Planes,
        dx: &[f64],
        (stands, next): (&[PathNode], &[PathNode]),
        gain: f64,
    ) -> Vec<Plane> {
        let n = dx.len() - 3;
        let faces = self.face_columns(n);
        let (left, right, elastic) = (faces.base.0 - dx[n], faces.base.1 + dx[faces.right], dx[n + 2]);
        let spare = self.look.spare_m;
        let mut missing: Vec<Plane> = Vec::new();
        for row in Row::MISSED {
            let excess = |stand: &PathNode| match row {
                Row::Left if faces.stays.0 => faces.base.0 + spare - elastic - stand.need.left_u,
                Row::Left => left - stand.need.left_u,
                Row::Right if faces.stays.1 => stand.need.right_u - faces.base.1 + spare - elastic,
                Row::Right => stand.need.right_u - right,
                Row::Broken(breach) => self.breach(stand, breach) - elastic,
                Row::Goal | Row::Lane => f64::NEG_INFINITY,
            };
            let moves = row == Row::Left && !faces.stays.0 || row == Row::Right && !faces.stays.1;
            let weight = if moves { 1.0 } else { VIOLATION_PENALTY };
            let of = asked(std::iter::once(&Plane { pose: 0, row, binding: None }));
            let known = |pose: usize, binding: ActiveSet| {
                let same = |p: &Plane| p.binding.unwrap_or(stands[pose].binding).of(of) == binding;
                about.planes.iter().any(|p| p.pose == pose && p.row == row && same(p))
            };
            // Of a run of poses the worst represents its neighbors.
            let mut worst: Option<(f64, Plane)> = None;
            for (pose, stand) in next.iter().enumerate() {
                let over = excess(stand);
                let binding = stand.binding.of(of);
                if over * weight <= MISSED * gain || known(pose, binding) {
                    missing.extend(worst.take().map(|(_, plane)| plane));
                } else if worst.as_ref().is_none_or(|(most, _)| over > *most) {
                    let binding = (binding != stands[pose].binding.of(of)).then_some(binding);
                    worst = Some((over, Plane { pose, row, binding }));
                }
            }
            missing.extend(worst.map(|(_, plane)| plane));
        }
        missing.sort_by_key(|plane| plane.pose);
        missing
    }

    /// Planes to include in a linear program, in the order of the poses.
    pub(super) fn rows(&self, stands: &[PathNode], trust_radius: f64) -> Vec<Plane> {
        let worst_left = stands.iter().map(|s| s.need.left_u).fold(f64::INFINITY, f64::min);
        let worst_right = stands.iter().map(|s| s.need.right_u).fold(f64::NEG_INFINITY, f64::max);
        let left_of = |i: usize| stands.get(i).map_or(f64::INFINITY, |s| s.need.left_u);
        let right_of = |i: usize| stands.get(i).map_or(f64::NEG_INFINITY, |s| s.need.right_u);
        let plane = |pose: usize, row: Row| Plane { pose, row, binding: None };
        let mut rows = Vec::new();
        for (j, stand) in stands.iter().enumerate() {
            let need = &stand.need;
            let third = j % 3 == 0;
            let most_left = need.left_u < worst_left + self.look.binding_m;
            let most_right = need.right_u > worst_right - self.look.binding_m;
            let left_leads = left_of(j + 1) >= need.left_u && (j == 0 || left_of(j - 1) >= need.left_u);
            let right_leads = right_of(j + 1) <= need.right_u && (j == 0 || right_of(j - 1) <= need.right_u);
            if need.left_u < worst_left + NEAR_WORST_M && (third || left_leads || most_left) {
                rows.push(plane(j, Row::Left));
            }
            if need.right_u > worst_right - NEAR_WORST_M && (third || right_leads || most_right) {
                rows.push(plane(j, Row::Right));
            }
            for (short, breach) in self.breaches(stand) {
                let reach = match breach {
                    Violation::Margin | Violation::Ground => {
                        short > -(AMPLE_M - 1e-6).min(0.06 + 0.2 * trust_radius)
                    }
                    Violation::Hitch | Violation::Entered => short > -0.1 - 0.7 * trust_radius,
                };
                // Neighboring poses have nearly the same row: keep the worst of a run, every third, and all that bind.
                let worse = |i: usize| stands.get(i).is_some_and(|s| self.breach(s, breach) > short);
                let spoken_for =
                    short < -self.look.binding_m && !third && (worse(j + 1) || (j > 0 && worse(j - 1)));
                if reach && !spoken_for {
                    rows.push(plane(j, Row::Broken(breach)));
                }
            }
        }
        if self.track.outward {
            rows.insert(0, plane(0, Row::Goal));
            rows.extend(stands.len().checked_sub(1).map(|last| plane(last, Row::Lane)));
        } else {
            rows.extend(stands.len().checked_sub(1).map(|last| plane(last, Row::Goal)));
        }
        rows
    }
}

/// Fields of a pose's need that rows use.
fn asked<'p>(planes: impl Iterator<Item = &'p Plane>) -> NeedFields {
    let mut asked = NeedFields::default();
    for plane in planes {
        match plane.row {
            Row::Left => asked.left = true,
            Row::Right => asked.right = true,
            Row::Broken(Violation::Margin) => asked.margin = true,
            Row::Broken(Violation::Ground) => asked.ground = true,
            Row::Broken(Violation::Entered) => asked.v = true,
            Row::Broken(Violation::Hitch) | Row::Goal | Row::Lane => {}
        }
    }
    asked
}

/// Gradient of the excess of the hitch angle that comes nearest to its limit.
fn hitch_rates(model: &CollisionModel, state: &State) -> Rates {
    let mut rates = Rates::default();
    let over = |i: usize| state.hitch[i].abs() - model.hitch_limits[i];
    let worst = (0..model.chain.towed_count()).max_by(|a, b| over(*a).total_cmp(&over(*b)));
    if let Some(worst) = worst {
        rates[3 + worst] = HITCH_METERS_PER_RAD * state.hitch[worst].signum();
    }
    rates
}

/// Distance of a pose from being wholly inside (and at the spot), meters.
pub(super) fn short_of_goal(problem: &Problem, model: &CollisionModel, last: &PathNode) -> f64 {
    let inside = short_of_inside(model, last.need.least_v);
    problem.spot.as_ref().map_or(inside, |s| inside.max(s.short_by(&model.chain, &last.state)))
}

fn short_of_inside(model: &CollisionModel, least_v: f64) -> f64 {
    model.surroundings.beyond_v + model.clearance_m + 0.001 - least_v
}

/// Rows that keep a pose wholly inside (and at the spot): its distance from there, meters, with the gradient. One row
/// for each corner, for near the end two are often equally far out.
fn goal_rows(problem: &Problem, model: &CollisionModel, state: &State) -> Vec<(f64, Rates)> {
    let frames = model.chain.unit_frames(state);
    let mut rows = Vec::new();
    for unit in &model.units {
        for corner in &unit.hull {
            let short = short_of_inside(model, frames[unit.unit].place(*corner).y);
            if short > -CORNER_MATTERS_M {
                let v = |s: &State| model.chain.unit_frames(s)[unit.unit].place(*corner).y;
                rows.push((short, sensitivity::rates_of(model, state, |s| -v(s))));
            }
        }
    }
    if let Some(spot) = &problem.spot {
        let short = |s: &State| spot.short_by(&model.chain, s);
        rows.push((short(state), sensitivity::rates_of(model, state, short)));
    }
    rows
}
