//! Steps along a path short enough that the hull of the poses at their ends stays within a tolerance of the ground
//! covered between them.
use super::{Mover, SweepError};
use crate::geometry::{Outline, Point, Pose, trig, wrap_angle};
use crate::motion::{Chain, Leg, MAX_TOWED, Path, State, Towed};

/// The most steps of one part: a kilometer of full lock at a millimeter for a 20-m unit stays well below.
const MOST_STEPS: usize = 400_000;

/// Convex hulls that cover the ground a part covers, in the order driven, with bounds on their error.
pub(super) struct Hulls {
    pub pieces: Vec<Outline>,
    pub over_m: f64,
    pub under_m: f64,
}

/// The hulls of `mover`, fixed to the unit at `index` of the chain, along a path.
pub(super) fn hulls(
    chain: &Chain,
    index: usize,
    path: &Path,
    mover: &Mover,
    tolerance_m: f64,
) -> Result<Hulls, SweepError> {
    let start = &path.start;
    let numbers = [start.lead.position.x, start.lead.position.y, start.lead.heading, start.curvature];
    if !numbers.iter().chain(&start.hitch).all(|v| v.is_finite()) {
        return Err(SweepError::NotFinite { station_m: 0.0 });
    }
    if !mover.corners(start.curvature).iter().all(|c| c.x.is_finite() && c.y.is_finite()) {
        return Err(SweepError::Corner);
    }
    let mut walk = Walk::new(chain, index, mover, tolerance_m, path);
    let mut state = path.start;
    walk.stand(&state);
    for leg in &path.legs {
        state = walk.leg(state, leg)?;
    }
    walk.finish();
    Ok(walk.hulls)
}

struct Walk<'a> {
    chain: &'a Chain,
    index: usize,
    mover: &'a Mover,
    tolerance_m: f64,
    reach: Reach,
    hulls: Hulls,
    station_m: f64,
    length_m: f64,
    steps: usize,
    /// Corners at the start of the current straight run, and at its present end.
    straight: Option<(Vec<Point>, Vec<Point>)>,
    /// Corners at the first pose: the ground covered when the vehicle does not move at all.
    first: Vec<Point>,
}

/// Extent of a part: the distances of its points from the unit's axle and from each other, and the steering of a
/// steered one.
struct Reach {
    from_axle_m: f64,
    diameter_m: f64,
    /// For a steered tire: half its width and bounds on the first and second derivative of its steering angle by
    /// the curvature.
    steered: Option<(f64, f64, f64)>,
}

impl Reach {
    fn of(mover: &Mover) -> Self {
        match mover {
            Mover::Rigid(corners) => {
                let pairs = corners.iter().flat_map(|a| corners.iter().map(move |b| a.distance(*b)));
                Self {
                    from_axle_m: corners.iter().map(|c| c.norm()).fold(0.0, f64::max),
                    diameter_m: pairs.fold(0.0, f64::max),
                    steered: None,
                }
            }
            Mover::Steered { tire, wheelbase_m } => {
                // δ(k) = atan2(k L, 1 − k y). With D = (1 − k y)² + (k L)², which is at least L²/(L² + y²):
                // δ′ = L/D and |δ″| = L|D′|/D², |D′| ≤ 2 √D √(L² + y²).
                let (l, y) = (*wheelbase_m, tire.center.y);
                let n2 = l * l + y * y;
                let d = l * l / n2;
                let first = l / d;
                let second = 2.0 * l * n2.sqrt() / (d * d.sqrt());
                Self {
                    from_axle_m: tire.center.norm(),
                    diameter_m: tire.width_m,
                    steered: Some((tire.width_m / 2.0, first, second)),
                }
            }
        }
    }
}

/// Bounds over a window of the path, per meter rolled by the lead's axle.
#[derive(Clone, Copy, Debug)]
struct Rates {
    /// |yaw rate| and its derivative.
    yaw: f64,
    yaw_change: f64,
    /// Speed of the axle, and the norm of its acceleration.
    speed: f64,
    axle_acceleration: f64,
}

impl Rates {
    /// Bound on |p″| of a point this far from the axle: the axle's, and ψ″ J r − ψ′² r.
    fn acceleration(&self, reach_m: f64) -> f64 {
        self.axle_acceleration + reach_m * trig::hypot(self.yaw_change, self.yaw * self.yaw)
    }
}

/// Bounds for the unit at `index` while the lead rolls the next `window_m` meters from `state` and its curvature
/// changes linearly from `k0` to `k1`.
///
/// A towed unit's heading ψ obeys ψ′ d = h′·n, h its hitch. With |h′| ≤ V and |h″| ≤ A:
/// ψ″ d = h″·n − (h′·t) ψ′, so |ψ″| ≤ (A + V|ψ′|)/d and, by Grönwall from the present ψ′₀,
/// |ψ′| ≤ (|ψ′₀| + A L/d) e^(V L/d), and never above V/d. The axle at h − d t has
/// axle″ = h″ − d(ψ″ n − ψ′² t) = (h″·t + d ψ′²) t + (h′·t) ψ′ n, of norm at most A + V|ψ′|.
fn rates(chain: &Chain, index: usize, state: &State, k0: f64, k1: f64, window_m: f64) -> Rates {
    let bend = k0.abs().max(k1.abs());
    let change = if window_m > 0.0 { (k1 - k0).abs() / window_m } else { 0.0 };
    let mut now = Rates { yaw: bend, yaw_change: change, speed: 1.0, axle_acceleration: bend };
    let yaw_now = present_yaw_rates(chain, &state.hitch, k0);
    for (i, Towed { hitch_behind_m, wheelbase_m }) in chain.towed().iter().take(index).enumerate() {
        let v = trig::hypot(now.speed, hitch_behind_m * now.yaw);
        let a = now.acceleration(hitch_behind_m.abs());
        let d = *wheelbase_m;
        let grown = (yaw_now[i].abs() + a * window_m / d) * trig::exp((v * window_m / d).min(50.0));
        let yaw = grown.min(v / d);
        now = Rates { yaw, yaw_change: (a + v * yaw) / d, speed: v, axle_acceleration: a + v * yaw };
    }
    now
}

/// Yaw rates of the towed units per meter rolled by the lead's axle.
fn present_yaw_rates(chain: &Chain, hitch: &[f64; MAX_TOWED], k: f64) -> [f64; MAX_TOWED] {
    let mut yaw = chain.hitch_rates(hitch, k);
    let mut front = k;
    for rate in &mut yaw {
        *rate = front - *rate;
        front = *rate;
    }
    yaw
}

impl<'a> Walk<'a> {
    fn new(chain: &'a Chain, index: usize, mover: &'a Mover, tolerance_m: f64, path: &Path) -> Self {
        Self {
            chain,
            index,
            mover,
            tolerance_m,
            reach: Reach::of(mover),
            hulls: Hulls { pieces: Vec::new(), over_m: 0.0, under_m: 0.0 },
            station_m: 0.0,
            length_m: path.length_m(),
            steps: 0,
            straight: None,
            first: Vec::new(),
        }
    }

    fn corners(&self, pose: &Pose, k: f64) -> Vec<Point> {
        self.mover.corners(k).into_iter().map(|c| pose.to_site(c)).collect()
    }

    fn pose(&self, state: &State) -> Pose {
        self.chain.unit_poses(state)[self.index]
    }

    fn stand(&mut self, state: &State) {
        self.first = self.corners(&self.pose(state), state.curvature);
    }

    fn push(&mut self, from: Vec<Point>, to: &[Point]) {
        let mut points = from;
        points.extend_from_slice(to);
        let hull = convex_hull(points);
        // A line that moves along itself, or does not move, covers no ground.
        if hull.0.len() > 2 && hull.signed_area() > 1e-12 {
            self.hulls.pieces.push(hull);
        }
    }

    /// A straight run ends here: one hull covers it exactly.
    fn end_straight(&mut self) {
        if let Some((from, to)) = self.straight.take() {
            self.push(from, &to);
        }
    }

    fn finish(&mut self) {
        self.end_straight();
        if self.hulls.pieces.is_empty() {
            let first = std::mem::take(&mut self.first);
            self.push(first, &[]);
        }
    }

    fn leg(&mut self, mut state: State, leg: &Leg) -> Result<State, SweepError> {
        let sign = leg.direction.sign();
        self.end_straight();
        for segment in leg.segments.iter().filter(|s| s.length_m != 0.0) {
            let fine = [segment.length_m, segment.curvature_start, segment.curvature_end];
            if !fine.iter().all(|v| v.is_finite()) || segment.length_m < 0.0 {
                return Err(SweepError::NotFinite { station_m: self.station_m });
            }
            self.turn_wheels(&state, segment.curvature_start);
            state.curvature = segment.curvature_start;
            let per_m = (segment.curvature_end - segment.curvature_start) / segment.length_m;
            let mut done = 0.0;
            let mut last = segment.length_m;
            while done < segment.length_m {
                let left = segment.length_m - done;
                let k0 = segment.curvature_start + per_m * done;
                let (step, over, under, straight) = self.longest(&state, k0, per_m, left, last * 2.0)?;
                last = step;
                let ends = left - step < 1e-12;
                let k1 = if ends {
                    segment.curvature_end
                } else {
                    segment.curvature_start + per_m * (done + step)
                };
                let next = self.chain.advance(&state, sign * step, k0, k1);
                self.cover(&state, &next, straight);
                self.hulls.over_m = self.hulls.over_m.max(over);
                self.hulls.under_m = self.hulls.under_m.max(under);
                state = next;
                self.station_m += step;
                done = if ends { segment.length_m } else { done + step };
            }
        }
        Ok(state)
    }

    /// The longest step within the tolerance, its bounds, and whether it is straight.
    fn longest(
        &mut self,
        state: &State,
        k0: f64,
        k_per_m: f64,
        left_m: f64,
        try_m: f64,
    ) -> Result<(f64, f64, f64, bool), SweepError> {
        self.steps += 1;
        let mut step = left_m.min(try_m);
        loop {
            let k1 = k0 + k_per_m * step;
            let rates = rates(self.chain, self.index, state, k0, k1, step);
            let mut turn = rates.yaw;
            let mut acceleration = rates.acceleration(self.reach.from_axle_m);
            if let Some((half, first, second)) = self.reach.steered {
                let change = rates.yaw_change;
                turn += first * change;
                acceleration += half * (turn * turn + change + second * change * change);
            }
            let under = acceleration * step * step / 8.0;
            let over = turn * step * self.reach.diameter_m / 4.0 + under;
            if !over.is_finite() {
                return Err(SweepError::NotFinite { station_m: self.station_m });
            }
            if over <= self.tolerance_m {
                // A deviation of less than a picometer still counts as straight.
                return Ok((step, over, under, over < 1e-12));
            }
            step *= 0.75;
            if self.steps > MOST_STEPS || step < 1e-7 {
                let (station_m, length_m) = (self.station_m, self.length_m);
                return Err(SweepError::TooFine { limit: MOST_STEPS, station_m, length_m });
            }
        }
    }

    fn cover(&mut self, from: &State, to: &State, straight: bool) {
        let after = self.corners(&self.pose(to), to.curvature);
        if straight {
            if let Some((_, end)) = &mut self.straight {
                *end = after;
            } else {
                let before = self.corners(&self.pose(from), from.curvature);
                self.straight = Some((before, after));
            }
            return;
        }
        self.end_straight();
        let before = self.corners(&self.pose(from), from.curvature);
        self.push(before, &after);
    }

    /// The vehicle stands and its front wheels turn to the curvature `k`: a contact line turns about its middle.
    fn turn_wheels(&mut self, state: &State, k: f64) {
        let (Some((half, ..)), true) = (self.reach.steered, (k - state.curvature).abs() > 1e-12) else {
            return;
        };
        self.end_straight();
        let pose = self.pose(state);
        let ends = |k: f64| self.corners(&pose, k);
        let angle = |k: f64| {
            let line = ends(k);
            (line[1] - line[0]).angle()
        };
        let (start, from) = (ends(state.curvature), angle(state.curvature));
        let way = wrap_angle(angle(k) - from);
        let turned = way.abs();
        // The hull of the line at two angles reaches beyond the fan between them by at most half·sin(turned/2).
        let parts = (half * turned / (2.0 * self.tolerance_m)).ceil().max(1.0);
        let bound = half * turned / (2.0 * parts);
        let middle = (start[0] + start[1]) * 0.5;
        let line = |part: f64| {
            let along = Point::at_angle(from + way * (part / parts)) * half;
            vec![middle - along, middle + along]
        };
        let mut i = 0.0;
        while i < parts {
            let before = line(i);
            let after = line(i + 1.0);
            self.push(before, &after);
            i += 1.0;
        }
        self.hulls.over_m = self.hulls.over_m.max(bound);
        self.hulls.under_m = self.hulls.under_m.max(bound);
    }
}

/// The convex hull, counterclockwise, without corners on its edges (monotone chain; Andrew 1979).
pub(super) fn convex_hull(mut points: Vec<Point>) -> Outline {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    if points.len() < 3 {
        return Outline(points);
    }
    let mut hull: Vec<Point> = Vec::with_capacity(points.len() + 1);
    let mut half = |ordered: &mut dyn Iterator<Item = Point>| {
        let base = hull.len();
        for p in ordered {
            while hull.len() >= base + 2 {
                let (a, b) = (hull[hull.len() - 2], hull[hull.len() - 1]);
                if (b - a).cross(p - a) > 0.0 {
                    break;
                }
                hull.pop();
            }
            hull.push(p);
        }
        hull.pop();
    };
    half(&mut points.iter().copied());
    half(&mut points.iter().rev().copied());
    Outline(hull)
}
