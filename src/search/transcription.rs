//! Direct transcription of a maneuver to steering knots: the continuous problem that the polish solves.
//!
//! A transcribed path is a start in the lane and, for each leg, a length and the share of full lock at evenly spaced
//! knots, linear between them: every drivable steering profile up to the spacing of the knots. The need of a pose is
//! linearized in these variables by differences, and each step solves a linear program for the least opening (see
//! `super::slp`).
//!
//! Part of the engine, public for the tests that hold it.
use super::lane::{Lane, StartZone};
use super::{Look, Problem};
use crate::clearance::{ActiveSet, CollisionModel, PoseNeed, Scratch};
use crate::geometry::{Frame, Pose, wrap_angle};
use crate::motion::{Direction, Leg, Path, Segment, State};
use crate::site::Maneuver;
use crate::vehicle::{MAX_UNITS, Steering};

/// One leg of a transcribed path.
#[derive(Clone, Debug, PartialEq)]
pub struct TrackLeg {
    /// Forward or reverse.
    pub direction: Direction,
    /// Number of knots of the leg, at least 2: the leg's two ends are among them.
    pub knots: usize,
}

/// Layout of a path's variables: [station, offset], start slack, then per leg [length, share at each knot].
#[derive(Clone, Debug, PartialEq)]
pub struct Transcription {
    /// Legs.
    pub legs: Vec<TrackLeg>,
    /// Number of start slack variables: 0, or [aside, turned, each hitch].
    ///
    /// A path that leads in from nearly straight in the lane is moved there little by little. Straightened at once it
    /// would be lost: a trailer that is pushed back diverges by a factor of e on each of its lengths.
    pub start_slack: usize,
    /// Part of the lane in which it may start.
    pub zone: StartZone,
    /// The path is driven from inside the gate out to the lane, from a free start: its first variables are the lead's
    /// place, then (counted in `start_slack`) its heading and the hitch angles. A trailer that is pushed back diverges
    /// with each meter; pulled out along the same ground it comes into line by itself.
    pub outward: bool,
}

/// A pose whose need or margin is within this of the worst may become the worst after the next step.
const HOT_M: f64 = 0.08;

/// Largest number of intervals between the knots of a leg: more make a search slow, not better.
const MOST_INTERVALS: f64 = 60.0;
/// Largest number in a final remeshing of one path.
const MOST_INTERVALS_REMESHED: f64 = 100.0;

/// A path as evaluated: the node of every pose, and for each leg and knot the index of its pose.
pub type Rollout = (Vec<PathNode>, Vec<Vec<usize>>);

/// Result at one pose along a path.
#[derive(Clone, Copy, Debug)]
pub struct PathNode {
    /// Need of the pose.
    pub need: PoseNeed,
    /// Outlines that the need comes from.
    pub binding: ActiveSet,
    /// Leg of the pose.
    pub leg: usize,
    /// Largest excess of a hitch angle over its limit, radians (negative within).
    pub hitch_over: f64,
    /// State of the vehicle.
    pub state: State,
}

/// Sampling of the legs: the number of equal parts of each interval between two knots.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SampleGrid {
    /// Number of parts, per leg, per interval between knots.
    pub parts: Vec<Vec<u32>>,
}

impl Transcription {
    /// True if no leg has more knots than a search of many candidates can afford.
    #[must_use]
    pub fn has_few_knots(&self) -> bool {
        self.legs.iter().all(|leg| intervals(leg) <= MOST_INTERVALS)
    }

    /// Number of variables of a path.
    #[must_use]
    pub fn parameters(&self) -> usize {
        2 + self.start_slack + self.legs.iter().map(|leg| 1 + leg.knots).sum::<usize>()
    }

    /// Index of leg `index`'s first variable: its length; its shares follow.
    #[must_use]
    pub fn leg_at(&self, index: usize) -> usize {
        2 + self.start_slack + self.legs[..index].iter().map(|leg| 1 + leg.knots).sum::<usize>()
    }

    /// Transcribes a path on knots about `spacing_m` apart: [`Transcription`] and variables.
    #[must_use]
    pub fn fit(
        path: &Path,
        station: f64,
        offset: f64,
        max_curvature: f64,
        spacing_m: f64,
    ) -> (Self, Vec<f64>) {
        Self::fit_within(path, (station, offset), max_curvature, (spacing_m, MOST_INTERVALS))
    }

    /// Transcribes a path on knots closer than a search of many candidates can afford.
    #[must_use]
    pub fn fit_closely(
        path: &Path,
        start: (f64, f64),
        max_curvature: f64,
        spacing_m: f64,
    ) -> (Self, Vec<f64>) {
        Self::fit_within(path, start, max_curvature, (spacing_m, MOST_INTERVALS_REMESHED))
    }

    fn fit_within(
        path: &Path,
        (station, offset): (f64, f64),
        max_curvature: f64,
        (spacing_m, most_intervals): (f64, f64),
    ) -> (Self, Vec<f64>) {
        let fitted = |leg: &Leg| fitted(leg, max_curvature, (spacing_m, most_intervals));
        Self::of_legs(path, (station, offset), path.legs.iter().map(fitted))
    }

    /// Transcribes a path with its own knots on each leg whose pieces are even, as in [`Transcription::retrace`], and on
    /// knots about `spacing_m` apart on the others.
    #[must_use]
    pub fn retrace_or_fit(
        path: &Path,
        start: (f64, f64),
        max_curvature: f64,
        spacing_m: f64,
    ) -> (Self, Vec<f64>) {
        let few = |knots: &Vec<f64>| knots.len() as f64 <= MOST_INTERVALS_REMESHED + 2.0;
        let variables = |leg: &Leg| {
            let own = retraced(leg, max_curvature).filter(few);
            own.unwrap_or_else(|| fitted(leg, max_curvature, (spacing_m, MOST_INTERVALS)))
        };
        Self::of_legs(path, start, path.legs.iter().map(variables))
    }

    /// Layout and variables of a path from the variables of each leg: its length and the share at each knot.
    fn of_legs(
        path: &Path,
        (station, offset): (f64, f64),
        variables: impl Iterator<Item = Vec<f64>>,
    ) -> (Self, Vec<f64>) {
        let mut legs = Vec::new();
        let mut x = vec![station, offset];
        for (leg, of_leg) in path.legs.iter().zip(variables) {
            legs.push(TrackLeg { direction: leg.direction, knots: of_leg.len() - 1 });
            x.extend(of_leg);
        }
        (Self { legs, start_slack: 0, zone: StartZone::UNBOUNDED, outward: false }, x)
    }

    /// Restricts the path to the zone of its start's station: its station and offset moved into it, its wheels turned
    /// there as the zone requires.
    #[must_use]
    pub fn in_lane(self, lane: &Lane, max_curvature: f64, x: Vec<f64>) -> (Self, Vec<f64>) {
        let zone = lane.zone_at(x[0]).copied().unwrap_or(StartZone::UNBOUNDED);
        Self { zone, ..self }.in_zone_of(max_curvature, x)
    }

    /// Moves the variables of the start into the path's own zone.
    #[must_use]
    pub fn in_zone_of(self, max_curvature: f64, mut x: Vec<f64>) -> (Self, Vec<f64>) {
        self.put_in_zone(max_curvature, &mut x);
        (self, x)
    }

    /// Moves the variables of a start into the zone.
    pub fn put_in_zone(&self, max_curvature: f64, x: &mut [f64]) {
        if self.outward {
            return;
        }
        let zone = &self.zone;
        x[0] = x[0].clamp(zone.stations_m.0, zone.stations_m.1);
        x[1] = x[1].clamp(zone.play_m.0, zone.play_m.1);
        if let Some(first) = x.get_mut(3 + self.start_slack) {
            *first = (zone.curvature / max_curvature.max(1e-9)).clamp(-1.0, 1.0);
        }
    }

    /// Moves the variables within their own limits: the start into its zone, and the wheels as far and as fast as they
    /// turn.
    #[must_use]
    pub fn within_limits(&self, steering: &Steering, x: &[f64]) -> Vec<f64> {
        let mut x = x.to_vec();
        self.put_in_zone(steering.max_curvature, &mut x);
        let straight = x[3 + self.start_slack];
        let lock = steering.lock_distance_m;
        for (index, leg) in self.legs.iter().enumerate() {
            let at = self.leg_at(index);
            x[at] = x[at].max(0.2);
            let most = if lock > 0.0 { x[at] / intervals(leg) / lock } else { 2.0 };
            let shares = &mut x[at + 1..at + 1 + leg.knots];
            if index == 0 && !self.outward {
                shares[0] = straight;
            }
            shares[0] = shares[0].clamp(-1.0, 1.0);
            for i in 1..shares.len() {
                shares[i] = shares[i].clamp(shares[i - 1] - most, shares[i - 1] + most).clamp(-1.0, 1.0);
            }
        }
        x
    }

    /// Transcribes a path that begins nearly straight in the lane, with its start slack.
    #[must_use]
    pub fn fit_with_start_slack(problem: &Problem, path: &Path, spacing_m: f64) -> (Self, Vec<f64>) {
        let (lane, lead) = (problem.lane, path.start.lead);
        let station = lane.station_of(&lead);
        let zone = lane.zone_at(station).copied().unwrap_or(StartZone::UNBOUNDED);
        let straight = lane.start(&zone, station, 0.0).lead;
        let (low, high) = zone.play_m;
        let aside = straight.to_body(lead.position).y;
        let offset = aside.clamp(low, high);
        let max = problem.vehicle.steering.max_curvature;
        let (track, mut x) = Self::fit(path, station, offset, max, spacing_m);
        let towed = problem.vehicle.units.len() - 1;
        let off = [aside - offset, wrap_angle(lead.heading - straight.heading)];
        let bent = path.start.hitch[..towed].iter().zip(zone.hitch_rad).map(|(phi, usual)| phi - usual);
        x.splice(2..2, off.into_iter().chain(bent));
        Self { start_slack: 2 + towed, ..track }.in_lane(lane, max, x)
    }

    /// Transcribes a path of one forward leg from inside the gate out to the lane.
    #[must_use]
    pub fn fit_outward(problem: &Problem, path: &Path, spacing_m: f64) -> (Self, Vec<f64>) {
        let State { lead, hitch, .. } = path.start;
        let max = problem.vehicle.steering.max_curvature;
        let (track, mut x) = Self::fit(path, lead.position.x, lead.position.y, max, spacing_m);
        let towed = problem.vehicle.units.len() - 1;
        x.splice(2..2, std::iter::once(lead.heading).chain(hitch[..towed].iter().copied()));
        (Self { start_slack: 1 + towed, outward: true, ..track }, x)
    }

    /// State in which a path begins.
    #[must_use]
    pub fn start(&self, problem: &Problem, x: &[f64]) -> State {
        if self.outward {
            let mut state = State { lead: Pose::new(x[0], x[1], x[2]), ..State::default() };
            let bent = &x[3..2 + self.start_slack];
            state.hitch[..bent.len()].copy_from_slice(bent);
            return state;
        }
        let mut state = problem.lane.start(&self.zone, x[0], x[1]);
        if let [aside, turned, hitch @ ..] = &x[2..2 + self.start_slack] {
            state = problem.lane.start(&self.zone, x[0], x[1] + aside);
            state.lead.heading += turned;
            for (bent, by) in state.hitch.iter_mut().zip(hitch) {
                *bent += by;
            }
        }
        state
    }

    /// Transcribes a path whose legs consist of equal pieces, but for a last one that may be cut short: the same
    /// steering, with the last piece made whole. `None` for other paths.
    #[must_use]
    pub fn retrace(path: &Path, station: f64, offset: f64, max_curvature: f64) -> Option<(Self, Vec<f64>)> {
        let own = path.legs.iter().map(|leg| retraced(leg, max_curvature)).collect::<Option<Vec<_>>>()?;
        Some(Self::of_legs(path, (station, offset), own.into_iter()))
    }

    /// Refines the knots, without start slack: to at most `spacing_m` apart, if a leg gets no more than 60 of them.
    #[must_use]
    pub fn split(&self, x: &[f64], spacing_m: f64) -> (Self, Vec<f64>) {
        let mut legs = Vec::new();
        let mut finer = x[..2].to_vec();
        for (index, leg) in self.legs.iter().enumerate() {
            let at = self.leg_at(index);
            let piece_m = x[at] / intervals(leg);
            let mut into = 1.0;
            while piece_m / into > spacing_m + 1e-6 && (into + 1.0) * intervals(leg) <= MOST_INTERVALS {
                into += 1.0;
            }
            finer.push(x[at]);
            let shares = &x[at + 1..at + 1 + leg.knots];
            let mut knots = 0;
            for pair in shares.windows(2) {
                let mut i = 0.0;
                while i < into {
                    finer.push(pair[0] + (pair[1] - pair[0]) * (i / into));
                    knots += 1;
                    i += 1.0;
                }
            }
            finer.extend(shares.last());
            legs.push(TrackLeg { direction: leg.direction, knots: knots + 1 });
        }
        (Self { legs, start_slack: 0, zone: self.zone, outward: false }, finer)
    }

    /// Path of the variables.
    #[must_use]
    pub fn path(&self, problem: &Problem, x: &[f64]) -> Path {
        let start = self.start(problem, x);
        let max = problem.vehicle.steering.max_curvature;
        let legs = self.legs.iter().enumerate().map(|(index, leg)| {
            let at = self.leg_at(index);
            let length_m = x[at] / intervals(leg);
            let shares = &x[at + 1..at + 1 + leg.knots];
            let segment = |pair: &[f64]| Segment {
                length_m,
                curvature_start: pair[0] * max,
                curvature_end: pair[1] * max,
            };
            Leg { direction: leg.direction, segments: shares.windows(2).map(segment).collect() }
        });
        let legs: Vec<Leg> = legs.collect();
        Path { start, legs }
    }

    /// Sampling with one step between knots: to see where a path needs closer samples.
    #[must_use]
    pub fn single_steps(&self) -> SampleGrid {
        SampleGrid { parts: self.legs.iter().map(|leg| vec![1; leg.knots - 1]).collect() }
    }

    /// Sampling fine enough for the result of an evaluation: short steps where a pose needs nearly the most or is
    /// nearly too close to something, longer about the gate, long elsewhere.
    #[must_use]
    pub fn steps(
        &self,
        model: &CollisionModel,
        x: &[f64],
        (stands, marks): (&[PathNode], &[Vec<usize>]),
        look: Look,
    ) -> SampleGrid {
        // Depth of all that moves with the faces: leaves that open outward, too.
        let (front, back) = model.moving_v;
        let worst_left = stands.iter().map(|s| s.need.left_u).fold(f64::INFINITY, f64::min);
        let worst_right = stands.iter().map(|s| s.need.right_u).fold(f64::NEG_INFINITY, f64::max);
        let centered = model.surroundings.anchor == crate::site::Anchor::Center;
        let worst = if centered { worst_right.max(-worst_left) } else { f64::INFINITY };
        let (left_hot, right_hot) =
            if centered { (HOT_M - worst, worst - HOT_M) } else { (worst_left + HOT_M, worst_right - HOT_M) };
        let mut parts = Vec::with_capacity(self.legs.len());
        for (index, leg) in self.legs.iter().enumerate() {
            let length = x[self.leg_at(index)] / intervals(leg);
            let mut of_leg = Vec::with_capacity(leg.knots - 1);
            for interval in 0..leg.knots - 1 {
                let range = marks[index][interval]..=marks[index][interval + 1];
                let need = stands[range].iter().fold(PoseNeed::NOTHING, |sum, s| sum.and(&s.need));
                let near = need.most_v > front - 0.5 && need.least_v < back + 0.5;
                let hot = need.left_u < left_hot
                    || need.right_u > right_hot
                    || need.margin_m < look.spare_m + HOT_M
                    || need.ground_m < look.spare_m + HOT_M;
                let step = if hot {
                    look.hot_m
                } else if near {
                    look.near_m
                } else {
                    look.far_m
                };
                #[allow(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "between 1 and 200"
                )]
                of_leg.push((length / step).ceil().clamp(1.0, 200.0) as u32);
            }
            parts.push(of_leg);
        }
        SampleGrid { parts }
    }

    /// Evaluates the path of the variables.
    #[must_use]
    pub fn drive(&self, problem: &Problem, model: &CollisionModel, x: &[f64], steps: &SampleGrid) -> Rollout {
        let chain = &model.chain;
        let max = problem.vehicle.steering.max_curvature;
        let mut scratch = Scratch::default();
        let mut stands = Vec::new();
        let mut marks: Vec<Vec<usize>> = Vec::with_capacity(self.legs.len());
        let mut state = self.start(problem, x);
        for (index, leg) in self.legs.iter().enumerate() {
            let at = self.leg_at(index);
            let shares = &x[at + 1..at + 1 + leg.knots];
            let length = x[at] / intervals(leg);
            state.curvature = shares[0] * max;
            let mut frames = chain.unit_frames(&state);
            stands.push(stand(model, (None, &frames), &state, index, &mut scratch));
            let mut of_leg = vec![stands.len() - 1];
            for interval in 0..leg.knots - 1 {
                let parts = steps.parts[index][interval];
                let (k0, k1) = (shares[interval] * max, shares[interval + 1] * max);
                let piece = leg.direction.sign() * length / f64::from(parts);
                for part in 0..parts {
                    let k = |i: u32| k0 + (k1 - k0) * (f64::from(i) / f64::from(parts));
                    let before = frames;
                    state = chain.advance(&state, piece, k(part), k(part + 1));
                    frames = chain.unit_frames(&state);
                    stands.push(stand(model, (Some(&before), &frames), &state, index, &mut scratch));
                }
                of_leg.push(stands.len() - 1);
            }
            marks.push(of_leg);
        }
        (stands, marks)
    }

    /// True if a leg must keep out of the gate: the first of backing in.
    #[must_use]
    pub fn keeps_out(problem: &Problem, leg: usize) -> bool {
        problem.maneuver == Maneuver::BackIn && leg == 0
    }
}

fn stand(
    model: &CollisionModel,
    (before, frames): (Option<&[Frame; MAX_UNITS]>, &[Frame; MAX_UNITS]),
    state: &State,
    leg: usize,
    scratch: &mut Scratch,
) -> PathNode {
    let need = model.need_since(before, frames, scratch);
    let mut hitch_over = f64::NEG_INFINITY;
    for (phi, limit) in state.hitch.iter().zip(model.hitch_limits) {
        hitch_over = hitch_over.max(phi.abs() - limit);
    }
    PathNode { need, binding: scratch.binding, leg, hitch_over, state: *state }
}

/// Number of intervals between the knots of a leg.
#[must_use]
pub fn intervals(leg: &TrackLeg) -> f64 {
    f64::from(u32::try_from(leg.knots - 1).unwrap_or(1).max(1))
}

/// Variables of a leg on knots about `spacing_m` apart, but no more intervals than given.
fn fitted(leg: &Leg, max_curvature: f64, (spacing_m, most_intervals): (f64, f64)) -> Vec<f64> {
    let length: f64 = leg.segments.iter().map(|s| s.length_m).sum::<f64>().max(0.2);
    // A length of a whole number of spacings, to rounding, has that many intervals.
    let intervals = (length / spacing_m - 1e-6).ceil().clamp(2.0, most_intervals);
    let mut x = vec![length];
    let mut i = 0.0;
    while i <= intervals {
        x.push((curvature_at(&leg.segments, length * i / intervals) / max_curvature).clamp(-1.0, 1.0));
        i += 1.0;
    }
    x
}

/// Variables of a leg on its own knots, if it consists of equal pieces, but for a last one that may be cut short and is
/// made whole.
fn retraced(leg: &Leg, max_curvature: f64) -> Option<Vec<f64>> {
    let piece_m = leg.segments.first()?.length_m;
    let (last, whole) = leg.segments.split_last()?;
    let even = whole.iter().all(|s| (s.length_m - piece_m).abs() < 1e-6);
    if !even || last.length_m > piece_m + 1e-6 || whole.is_empty() || last.length_m <= 0.0 {
        return None;
    }
    let share = |curvature: f64| (curvature / max_curvature).clamp(-1.0, 1.0);
    let mut x = vec![piece_m * f64::from(u32::try_from(leg.segments.len()).ok()?)];
    x.extend(leg.segments.iter().map(|s| share(s.curvature_start)));
    let change = (last.curvature_end - last.curvature_start) * (piece_m / last.length_m);
    x.push(share(last.curvature_start + change));
    Some(x)
}

fn curvature_at(segments: &[Segment], station: f64) -> f64 {
    let mut left = station;
    let mut last = 0.0;
    for s in segments {
        if left <= s.length_m && s.length_m > 0.0 {
            return s.curvature_start + (s.curvature_end - s.curvature_start) * (left / s.length_m);
        }
        left -= s.length_m;
        last = s.curvature_end;
    }
    last
}
