//! The polish: from a course to the best one near it, by a sequence of linear programs.
//!
//! The worst need along a path is a largest of many smooth functions of the course's numbers. Around the course each
//! is replaced by its tangent plane; the least largest of the planes within a trusted distance is a linear program;
//! its answer is driven, and kept if it is better. What must not be broken is kept by rows of the same program, with
//! one elastic variable for courses that start out breaking something.
use super::Look;
use super::Question;
use super::lane::StartZone;
use super::lp::{Accuracy, Program};
use super::slope::{self, Rates, Slope};
use super::track::{Driven, Stand, Steps, Track, intervals};
use crate::clearance::{AMPLE_M, Asked, Encounter, Scratch, opening_for};
use crate::geometry::{Point, wrap_angle};
use crate::motion::State;
use crate::site::{Anchor, Side};

/// Weight of a broken meter against a meter of opening: above any rate at which breaking could pay.
const BROKEN_WEIGHT: f64 = 20.0;
/// A hitch beyond its limit by a radian counts as so many meters broken: about what a trailer's end moves.
const HITCH_METERS_PER_RAD: f64 = 5.0;
/// Poses whose need is this much less than the largest are left out of a program: a trusted step does not lift them.
const NEAR_WORST_M: f64 = 1.0;
/// Where a polish goes on for less than this its programs are solved exactly.
const ROUGH_M: f64 = 2e-4;
/// A program starts from faces so much farther out than they must be.
const CLEAR_M: f64 = 0.005;
/// And so only where less than this is broken, with what it is clear by.
const NEARLY_WHOLE_M: f64 = 0.01;
/// A course and what it is worth.
#[derive(Clone, Debug)]
pub struct Polished {
    /// Its numbers.
    pub x: Vec<f64>,
    /// The opening it needs at the poses looked at.
    pub opening_m: f64,
    /// How much it breaks; 0 when nothing.
    pub broken_m: f64,
    /// How far a step from it is trusted, as a share of the first one.
    pub trust: f64,
    /// The steps it was looked at in.
    pub steps: Steps,
}

/// Where a polish begins.
#[derive(Clone, Debug)]
pub struct Start {
    /// The course's numbers.
    pub x: Vec<f64>,
    /// How far the first step is trusted.
    pub trust: f64,
    /// The steps it was looked at in last, if it was on these knots.
    pub steps: Option<Steps>,
}

impl Polished {
    /// One number to compare.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.opening_m + BROKEN_WEIGHT * self.broken_m
    }
}

/// Polishes courses of one question.
pub struct Polish<'a> {
    /// The question.
    pub question: &'a Question<'a>,
    /// The vehicle against its surroundings.
    pub encounter: &'a Encounter,
    /// The layout of the course's numbers.
    pub track: &'a Track,
    /// How finely to look.
    pub look: Look,
    /// Poses looked at.
    pub work: u64,
}

/// What a start is off by counts as so many meters broken, each meter and each radian: a trailer's end moves about so.
pub(super) const LOOSE_METERS: f64 = 5.0;
/// Sizes of a trusted step: a share of full lock at each knot, meters of length, station and offset; radians and meters of
/// what the start is off by.
pub(super) const TRUST_SHARE: f64 = 0.25;
pub(super) const TRUST_LENGTH_M: f64 = 1.0;
pub(super) const TRUST_LOOSE: f64 = 0.15;
/// The same behind a trailer pushed back, where every deviation grows.
const TRUST_LOOSE_PUSHED: f64 = 0.02;
/// A step that kept at least this share of what it promised is followed by a longer one, one that kept less than the second
/// by a shorter one.
const KEPT: (f64, f64) = (0.25, 0.05);
/// A step that failed is followed by one of a share between these.
const SHRINK: (f64, f64) = (0.1, 0.5);

impl Polish<'_> {
    /// Improves a course by at most `rounds` linear programs.
    pub fn run(&mut self, start: &Start, rounds: usize) -> Polished {
        let mut x = self.tidied(&start.x);
        let (mut steps, (mut stands, _)) = match &start.steps {
            Some(steps) => self.look_closer(&x, steps, 1),
            None => self.look_closer(&x, &self.track.single_steps(), 3),
        };
        let mut best = self.judge(&x, &stands);
        let mut trust = start.trust;
        let mut since_steps = 0;
        // After a step that failed the planes are the same.
        let mut planes: Option<Program> = None;
        for _ in 0..rounds {
            let mut program = match planes.take() {
                Some(program) => program,
                None => self.linearized(&x, &stands, &steps, trust),
            };
            let Some((dx, promised)) = self.step(&mut program, &x, trust, best.value()) else { break };
            // What the program promises is about the most that is to be had so near.
            if best.value() - promised < self.look.worth_m {
                break;
            }
            let next: Vec<f64> = x.iter().zip(&dx).map(|(a, b)| a + b).collect();
            let next = self.tidied(&next);
            let (next_stands, _) = self.drive(&next, &steps);
            let judged = self.judge(&next, &next_stands);
            let gain = best.value() - judged.value();
            let kept = gain / (best.value() - promised).max(1e-12);
            if gain > 0.0 {
                trust = match kept {
                    kept if kept > KEPT.0 => (trust * 1.6_f64).min(2.0),
                    kept if kept > KEPT.1 => trust,
                    _ => 0.5 * trust,
                };
                x = next;
                stands = next_stands;
                best = judged;
                since_steps += 1;
                // The course has moved: look where it is tight now.
                if since_steps >= 3 {
                    since_steps = 0;
                    (steps, (stands, _)) = self.look_closer(&x, &steps, 1);
                    best = self.judge(&x, &stands);
                }
            } else {
                // What the planes leave out grows with the square of the step: where the two together would gain the
                // most. Shorter than the step that failed, which need not have been as long as it was trusted.
                trust = (0.5 / (1.0 - kept)).clamp(SHRINK.0, SHRINK.1) * trust.min(self.stepped(&dx));
                if trust < 1e-4 {
                    break;
                }
                planes = Some(program);
            }
        }
        Polished { trust, steps, ..best }
    }

    /// How far the first step goes in what the start is off by.
    pub(super) fn trust_loose(&self) -> f64 {
        if self.question.pushes_trailer() { TRUST_LOOSE_PUSHED } else { TRUST_LOOSE }
    }

    /// How long a step is, as a share of the first trusted one.
    fn stepped(&self, dx: &[f64]) -> f64 {
        let mut longest = dx[0].abs().max(dx[1].abs()) / TRUST_LENGTH_M;
        for off in &dx[2..2 + self.track.loose] {
            longest = longest.max(off.abs() / self.trust_loose());
        }
        for (index, leg) in self.track.legs.iter().enumerate() {
            let at = self.track.leg_at(index);
            longest = longest.max(dx[at].abs() / TRUST_LENGTH_M);
            let shares = dx[at + 1..at + 1 + leg.knots].iter();
            longest = shares.fold(longest, |most, share| most.max(share.abs() / TRUST_SHARE));
        }
        longest
    }

    /// Drives a course, and again with the steps that each drive asks for.
    fn look_closer(&mut self, x: &[f64], steps: &Steps, times: usize) -> (Steps, Driven) {
        let mut steps = steps.clone();
        let mut driven = self.drive(x, &steps);
        for _ in 0..times {
            let finer = self.track.steps(self.encounter, x, (&driven.0, &driven.1), self.look);
            if finer == steps {
                break;
            }
            steps = finer;
            driven = self.drive(x, &steps);
        }
        (steps, driven)
    }

    fn drive(&mut self, x: &[f64], steps: &Steps) -> Driven {
        let driven = self.track.drive(self.question, self.encounter, x, steps);
        self.work += u64::try_from(driven.0.len()).unwrap_or(0);
        driven
    }

    /// The numbers brought within their own limits, which linear programs meet only to rounding.
    fn tidied(&self, x: &[f64]) -> Vec<f64> {
        let mut x = x.to_vec();
        self.track.put_in_zone(self.question.vehicle.steering.max_curvature, &mut x);
        let straight = x[3 + self.track.loose];
        let lock = self.question.vehicle.steering.lock_distance_m;
        for (index, leg) in self.track.legs.iter().enumerate() {
            let at = self.track.leg_at(index);
            x[at] = x[at].max(0.2);
            let most = if lock > 0.0 { x[at] / intervals(leg) / lock } else { 2.0 };
            let shares = &mut x[at + 1..at + 1 + leg.knots];
            if index == 0 && !self.track.outward {
                shares[0] = straight;
            }
            shares[0] = shares[0].clamp(-1.0, 1.0);
            for i in 1..shares.len() {
                shares[i] = shares[i].clamp(shares[i - 1] - most, shares[i - 1] + most).clamp(-1.0, 1.0);
            }
        }
        x
    }

    /// What a driven course is worth.
    fn judge(&self, x: &[f64], stands: &[Stand]) -> Polished {
        let surroundings = &self.encounter.surroundings;
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut broken = 0.0_f64;
        for stand in stands {
            left = left.min(stand.need.left_u);
            right = right.max(stand.need.right_u);
            for (short, _) in self.breaches(stand) {
                broken = broken.max(short);
            }
        }
        let (drawn_left, drawn_right) = surroundings.drawn_faces_u;
        let opening_m = match surroundings.anchor {
            Anchor::Side(Side::Left) => {
                broken = broken.max(drawn_left + self.look.spare_m - left);
                (right - drawn_left).max(0.0)
            }
            Anchor::Side(Side::Right) => {
                broken = broken.max(right - drawn_right + self.look.spare_m);
                (drawn_right - left).max(0.0)
            }
            Anchor::Free if left.is_finite() && right.is_finite() => {
                let (fenced_left, fenced_right) = (surroundings.left.fenced_u, surroundings.right.fenced_u);
                broken = broken.max(fenced_left + self.look.spare_m - left);
                broken = broken.max(right - fenced_right + self.look.spare_m);
                (right - left).max(0.0)
            }
            _ => opening_for(surroundings, left, right).0,
        };
        if !self.track.outward {
            for off in &x[2..2 + self.track.loose] {
                broken = broken.max(LOOSE_METERS * off.abs());
            }
        }
        if let Some(end) = self.goal_stand(stands.len()).and_then(|at| stands.get(at)) {
            broken = broken.max(short_of_goal(self.question, self.encounter, end));
        }
        if let Some(last) = stands.last().filter(|_| self.track.outward) {
            for (short, _) in self.out_of_lane(&last.state) {
                broken = broken.max(short);
            }
        }
        Polished { x: x.to_vec(), opening_m, broken_m: broken, trust: 1.0, steps: Steps::default() }
    }

    /// Which of so many poses must be inside the gate: the last, or of a course driven outward the first.
    fn goal_stand(&self, stands: usize) -> Option<usize> {
        if self.track.outward { (stands > 0).then_some(0) } else { stands.checked_sub(1) }
    }

    /// How far a vehicle is from standing straight in its lane, as meters, with the rates of each: aside of its play, turned,
    /// and bent at each hitch.
    fn out_of_lane(&self, state: &State) -> Vec<(f64, Rates)> {
        let lane = self.question.lane;
        let station = lane.station_of(&state.lead);
        let zone = lane.stand_within(station, f64::INFINITY).copied().unwrap_or(StartZone::UNBOUNDED);
        let straight = lane.start(&zone, station, 0.0).lead;
        let aside = straight.to_body(state.lead.position).y;
        let left = Point::at_angle(straight.heading).left();
        let (low, high) = zone.play_m;
        let mut list = vec![
            (aside - high, [left.x, left.y, 0.0, 0.0, 0.0, 0.0]),
            (low - aside, [-left.x, -left.y, 0.0, 0.0, 0.0, 0.0]),
        ];
        let turned = wrap_angle(state.lead.heading - straight.heading);
        let bent =
            (0..self.encounter.chain.towed_count()).map(|i| (3 + i, state.hitch[i] - zone.hitch_rad[i]));
        for (coordinate, angle) in std::iter::once((2, turned)).chain(bent) {
            for sign in [1.0, -1.0] {
                let mut rates = Rates::default();
                rates[coordinate] = sign * LOOSE_METERS;
                list.push((sign * LOOSE_METERS * angle, rates));
            }
        }
        list
    }

    /// What a pose breaks, as meters (negative: how much is left), each with its kind.
    fn breaches(&self, stand: &Stand) -> [(f64, Breach); 4] {
        let front = self.encounter.front_v;
        let entered = if !self.track.outward && Track::keeps_out(self.question, stand.leg) {
            stand.need.most_v - front + 0.005
        } else {
            -1.0
        };
        [
            (self.look.spare_m - stand.need.margin_m, Breach::Margin),
            (0.5 * self.look.spare_m - stand.need.ground_m, Breach::Ground),
            ((stand.hitch_over + self.look.hitch_spare_rad) * HITCH_METERS_PER_RAD, Breach::Hitch),
            (entered, Breach::Entered),
        ]
    }

    /// How much one kind of breach a pose makes.
    fn breach(&self, stand: &Stand, breach: Breach) -> f64 {
        self.breaches(stand)
            .iter()
            .find(|(_, kind)| *kind == breach)
            .map_or(f64::NEG_INFINITY, |(short, _)| *short)
    }

    /// The problem linearized about a course: a row for what each pose asks and a step within `trust` could make matter.
    fn linearized(&mut self, x: &[f64], stands: &[Stand], steps: &Steps, trust: f64) -> Program {
        let n = x.len();
        let surroundings = &self.encounter.surroundings;
        // Variables: the changes, then the faces (left moved out, right moved out), then the elastic one.
        let (left, right, elastic) = (n, n + 1, n + 2);
        let mut costs = vec![0.0; n + 3];
        costs[elastic] = BROKEN_WEIGHT;
        let (drawn_left, drawn_right) = surroundings.drawn_faces_u;
        let mut anchored = (false, false);
        let base = match surroundings.anchor {
            Anchor::Center => {
                costs[left] = 2.0;
                (0.0, 0.0)
            }
            Anchor::Side(Side::Left) => {
                costs[right] = 1.0;
                anchored.0 = true;
                (drawn_left, drawn_left)
            }
            Anchor::Side(Side::Right) => {
                costs[left] = 1.0;
                anchored.1 = true;
                (drawn_right, drawn_right)
            }
            Anchor::Free => {
                costs[left] = 1.0;
                costs[right] = 1.0;
                (0.0, 0.0)
            }
        };
        let centered = surroundings.anchor == Anchor::Center;
        let right_face = if centered { left } else { right };
        let mut program = Program::new(costs);
        let rows = self.rows(stands, trust);
        let mut wanted: Vec<usize> = rows.iter().map(|(j, _)| *j).collect();
        wanted.dedup();
        let mut of_poses = rows.chunk_by(|(a, _), (b, _)| a == b);
        let mut gradient = vec![0.0; n];
        let mut scratch = Scratch::default();
        let (question, encounter, track, look) = (self.question, self.encounter, self.track, self.look);
        let mut work = 0;
        slope::along(question, encounter, track, (x, stands, steps), &wanted, |j, before, moves| {
            let stand = &stands[j];
            let need = &stand.need;
            let rows = of_poses.next().unwrap_or_default();
            let binding = stand.binding.of(asked(rows));
            let slope = Slope::at(encounter, before, &stand.state, (*need, binding), &mut scratch);
            work += 3 + encounter.chain.towed_count();
            for (_, row) in rows {
                match row {
                    Row::Left => {
                        moves.gradient(&slope.rates(|need| need.left_u), &mut gradient);
                        // base - L ≤ left_u + g·dx, where L is how far out the left face stands.
                        // A face that stays put is kept clear with the same spare as anything fixed.
                        let (face, spare) =
                            if anchored.0 { ((elastic, -1.0), look.spare_m) } else { ((left, -1.0), 0.0) };
                        program.at_most_dense(&gradient, -1.0, &[face], need.left_u - base.0 - spare);
                    }
                    Row::Right => {
                        moves.gradient(&slope.rates(|need| need.right_u), &mut gradient);
                        let (face, spare) = if anchored.1 {
                            ((elastic, -1.0), look.spare_m)
                        } else {
                            ((right_face, -1.0), 0.0)
                        };
                        program.at_most_dense(&gradient, 1.0, &[face], base.1 - need.right_u - spare);
                    }
                    Row::Broken(breach, short) => {
                        let (breach, short) = (*breach, *short);
                        let rates = match breach {
                            Breach::Margin => slope.rates(|n| -n.margin_m),
                            Breach::Ground => slope.rates(|n| -n.ground_m),
                            Breach::Entered => slope.rates(|n| n.most_v),
                            Breach::Hitch => hitch_rates(encounter, &stand.state),
                        };
                        moves.gradient(&rates, &mut gradient);
                        program.at_most_dense(&gradient, 1.0, &[(elastic, -1.0)], -short);
                    }
                    Row::Goal => {
                        moves.gradient(&goal_rates(question, encounter, &stand.state, &slope), &mut gradient);
                        let short = short_of_goal(question, encounter, stand);
                        program.at_most_dense(&gradient, 1.0, &[(elastic, -1.0)], -short);
                    }
                    Row::Lane => {
                        for (short, rates) in self.out_of_lane(&stand.state) {
                            moves.gradient(&rates, &mut gradient);
                            program.at_most_dense(&gradient, 1.0, &[(elastic, -1.0)], -short);
                        }
                    }
                }
            }
        });
        self.work += u64::try_from(work).unwrap_or(0);
        program
    }

    /// The step that a linearized problem likes best within the trusted distance, and the value it promises.
    fn step(&self, program: &mut Program, x: &[f64], trust: f64, now: f64) -> Option<(Vec<f64>, f64)> {
        let n = x.len();
        let (left, right, elastic) = (n, n + 1, n + 2);
        program.forget_short_rows();
        self.own_limits(program, x, trust);
        program.at_most(&[(elastic, -1.0)], 0.0);
        for face in [left, right] {
            program.between(face, -60.0, 60.0);
        }
        let around = &self.encounter.surroundings;
        if around.anchor == Anchor::Free {
            // The faces stand where a fence is drawn.
            program.at_most(&[(left, 1.0), (elastic, -1.0)], -around.left.fenced_u - self.look.spare_m);
            program.at_most(&[(right, 1.0), (elastic, -1.0)], around.right.fenced_u - self.look.spare_m);
        }
        program.at_most(&[(elastic, 1.0)], 1e4);
        // From where nothing is broken the answer is near standing still.
        let start = program.point_within(left..elastic + 1, CLEAR_M);
        let start = (start[elastic] < NEARLY_WHOLE_M).then_some(&start[..]);
        // In the end wheels are turned as far as they go where that gains next to nothing, too.
        let gap = self.look.worth_m / 300.0;
        let accuracy =
            if self.look.worth_m < ROUGH_M { Accuracy::exact(gap) } else { Accuracy::rough(gap, now) };
        program.solve(accuracy, start).map(|mut step| {
            let promised = program.cost(&step);
            step.truncate(n);
            (step, promised)
        })
    }

    /// What of the poses a program speaks of, in the order of the poses.
    fn rows(&self, stands: &[Stand], trust: f64) -> Vec<(usize, Row)> {
        let worst_left = stands.iter().map(|s| s.need.left_u).fold(f64::INFINITY, f64::min);
        let worst_right = stands.iter().map(|s| s.need.right_u).fold(f64::NEG_INFINITY, f64::max);
        let left_of = |i: usize| stands.get(i).map_or(f64::INFINITY, |s| s.need.left_u);
        let right_of = |i: usize| stands.get(i).map_or(f64::NEG_INFINITY, |s| s.need.right_u);
        let mut rows = Vec::new();
        for (j, stand) in stands.iter().enumerate() {
            let need = &stand.need;
            let third = j % 3 == 0;
            let most_left = need.left_u < worst_left + self.look.binding_m;
            let most_right = need.right_u > worst_right - self.look.binding_m;
            let left_leads = left_of(j + 1) >= need.left_u && (j == 0 || left_of(j - 1) >= need.left_u);
            let right_leads = right_of(j + 1) <= need.right_u && (j == 0 || right_of(j - 1) <= need.right_u);
            if need.left_u < worst_left + NEAR_WORST_M && (third || left_leads || most_left) {
                rows.push((j, Row::Left));
            }
            if need.right_u > worst_right - NEAR_WORST_M && (third || right_leads || most_right) {
                rows.push((j, Row::Right));
            }
            for (short, breach) in self.breaches(stand) {
                let reach = match breach {
                    Breach::Margin | Breach::Ground => short > -(AMPLE_M - 1e-6).min(0.06 + 0.2 * trust),
                    Breach::Hitch | Breach::Entered => short > -0.1 - 0.7 * trust,
                };
                // Neighboring poses say nearly the same: the worst of a run, every third, and what binds.
                let worse = |i: usize| stands.get(i).is_some_and(|s| self.breach(s, breach) > short);
                let spoken_for =
                    short < -self.look.binding_m && !third && (worse(j + 1) || (j > 0 && worse(j - 1)));
                if reach && !spoken_for {
                    rows.push((j, Row::Broken(breach, short)));
                }
            }
        }
        if self.track.outward {
            rows.insert(0, (0, Row::Goal));
            rows.extend(stands.len().checked_sub(1).map(|last| (last, Row::Lane)));
        } else {
            rows.extend(stands.len().checked_sub(1).map(|last| (last, Row::Goal)));
        }
        rows
    }
}

/// Something a course must not do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Breach {
    Margin,
    Ground,
    Hitch,
    Entered,
}

/// One row of a program.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Row {
    Left,
    Right,
    Broken(Breach, f64),
    Goal,
    /// The course driven outward ends straight in the lane.
    Lane,
}

/// What of a pose's need rows speak of.
fn asked(rows: &[(usize, Row)]) -> Asked {
    let mut asked = Asked::default();
    for (_, row) in rows {
        match row {
            Row::Left => asked.left = true,
            Row::Right => asked.right = true,
            Row::Broken(Breach::Margin, _) => asked.margin = true,
            Row::Broken(Breach::Ground, _) => asked.ground = true,
            Row::Broken(Breach::Entered, _) | Row::Goal => asked.v = true,
            Row::Broken(Breach::Hitch, _) | Row::Lane => {}
        }
    }
    asked
}

/// Rates of the excess of the hitch angle that comes nearest to its limit.
fn hitch_rates(encounter: &Encounter, state: &State) -> Rates {
    let mut rates = Rates::default();
    let over = |i: usize| state.hitch[i].abs() - encounter.hitch_limits[i];
    let worst = (0..encounter.chain.towed_count()).max_by(|a, b| over(*a).total_cmp(&over(*b)));
    if let Some(worst) = worst {
        rates[3 + worst] = HITCH_METERS_PER_RAD * state.hitch[worst].signum();
    }
    rates
}

/// How far a pose is from being wholly inside (and at the spot), meters.
fn short_of_goal(question: &Question, encounter: &Encounter, last: &Stand) -> f64 {
    let inside = short_of_inside(encounter, last.need.least_v);
    question.spot.as_ref().map_or(inside, |s| inside.max(s.short_by(&encounter.chain, &last.state)))
}

fn short_of_inside(encounter: &Encounter, least_v: f64) -> f64 {
    encounter.surroundings.beyond_v + encounter.clearance_m + 0.001 - least_v
}

/// Its rates.
fn goal_rates(question: &Question, encounter: &Encounter, state: &State, slope: &Slope) -> Rates {
    let inside = |least_v: f64| short_of_inside(encounter, least_v);
    let Some(spot) = &question.spot else { return slope.rates(|need| inside(need.least_v)) };
    let short = |state: &State| spot.short_by(&encounter.chain, state);
    let here = short(state);
    if inside(slope.here.least_v) >= here {
        return slope.rates(|need| inside(need.least_v));
    }
    slope::rates_of(encounter, state, |changed| short(changed))
}
