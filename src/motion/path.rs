//! Paths: sampling, checks against a vehicle's limits, and the transformations that preserve the swept path.
use super::{Chain, Leg, Path, Segment, State};
use crate::geometry::{Point, Pose};
use crate::vehicle::Vehicle;

/// One state along a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// The state.
    pub state: State,
    /// Index of its leg.
    pub leg: usize,
    /// Distance rolled from the start of the path, never decreasing.
    pub station_m: f64,
}

/// A limit that a path violates.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitFault {
    /// Distance rolled from the start of the path.
    pub station_m: f64,
    /// The violated limit, and the amount.
    pub what: String,
    /// Largest excess of a hitch angle over its limit anywhere along the path, radians; 0 for other limits.
    pub hitch_over_rad: f64,
}

impl LimitFault {
    /// A violated limit of the steering.
    const fn steering(station_m: f64, what: String) -> Self {
        Self { station_m, what, hitch_over_rad: 0.0 }
    }
}

impl Segment {
    /// A segment of one curvature.
    #[must_use]
    pub const fn arc(length_m: f64, curvature: f64) -> Self {
        Self { length_m, curvature_start: curvature, curvature_end: curvature }
    }
}

impl Path {
    /// Distance rolled over all legs.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.legs.iter().flat_map(|leg| &leg.segments).map(|s| s.length_m).sum()
    }

    /// The states along the path, no farther than `step_m` apart; every segment's two ends are among them.
    ///
    /// At a standing turn of the wheels the same pose appears twice, once for each leg.
    #[must_use]
    pub fn samples(&self, chain: &Chain, step_m: f64) -> Vec<Sample> {
        let mut samples = Vec::new();
        let mut state = self.start;
        let mut station = 0.0;
        for (index, leg) in self.legs.iter().enumerate() {
            if let Some(first) = leg.segments.first() {
                state.curvature = first.curvature_start;
            }
            samples.push(Sample { state, leg: index, station_m: station });
            for segment in &leg.segments {
                if segment.length_m <= 0.0 {
                    continue;
                }
                let steps = (segment.length_m / step_m).ceil().max(1.0);
                let length = segment.length_m / steps;
                let k = |part: f64| {
                    segment.curvature_start
                        + (segment.curvature_end - segment.curvature_start) * (part / steps)
                };
                let mut i = 0.0;
                while i < steps {
                    state = chain.advance(&state, leg.direction.sign() * length, k(i), k(i + 1.0));
                    i += 1.0;
                    station += length;
                    samples.push(Sample { state, leg: index, station_m: station });
                }
            }
        }
        samples
    }

    /// State at the end of the path.
    #[must_use]
    pub fn end(&self, chain: &Chain) -> State {
        self.samples(chain, f64::INFINITY).last().map_or(self.start, |s| s.state)
    }

    /// The last leg as a path of its own, from where it begins; `None` for a path without legs.
    #[must_use]
    pub fn last_leg(&self, chain: &Chain) -> Option<Self> {
        let (last, before) = self.legs.split_last()?;
        let start = Self { start: self.start, legs: before.to_vec() }.end(chain);
        Some(Self { start, legs: vec![last.clone()] })
    }

    /// The path driven backward over the same ground: backing out after driving in. No-slip motion is reversible.
    #[must_use]
    pub fn reversed(&self, chain: &Chain) -> Self {
        let mut start = self.end(chain);
        let legs: Vec<Leg> = self.legs.iter().rev().map(Leg::reversed).collect();
        if let Some(first) = legs.first().and_then(|leg| leg.segments.first()) {
            start.curvature = first.curvature_start;
        }
        Self { start, legs }
    }

    /// The mirror image about the x axis.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let lead =
            Pose::new(self.start.lead.position.x, -self.start.lead.position.y, -self.start.lead.heading);
        let start = State { lead, hitch: self.start.hitch.map(|phi| -phi), curvature: -self.start.curvature };
        let legs = self.legs.iter().map(|leg| Leg {
            direction: leg.direction,
            segments: leg
                .segments
                .iter()
                .map(|s| Segment {
                    length_m: s.length_m,
                    curvature_start: -s.curvature_start,
                    curvature_end: -s.curvature_end,
                })
                .collect(),
        });
        Self { start, legs: legs.collect() }
    }

    /// The path rotated about the origin and then translated.
    #[must_use]
    pub fn moved(&self, turn: f64, shift: Point) -> Self {
        let origin = Pose::new(shift.x, shift.y, turn);
        let position = origin.to_site(self.start.lead.position);
        let lead = Pose { position, heading: self.start.lead.heading + turn };
        Self { start: State { lead, ..self.start }, legs: self.legs.clone() }
    }

    /// Every steering or hitch limit of `vehicle` that the path violates, by more than rounding (1e-9 relative).
    ///
    /// Hitch angles are sampled every 5 cm; between samples an angle changes by at most the rate there. They make one
    /// fault, at the first place where one is too large.
    #[must_use]
    pub fn limit_faults(&self, vehicle: &Vehicle) -> Vec<LimitFault> {
        let mut faults = Vec::new();
        let steering = vehicle.steering;
        let slack = 1.0 + 1e-9;
        let mut station = 0.0;
        for leg in &self.legs {
            let mut last: Option<f64> = None;
            for segment in &leg.segments {
                let sharpest = segment.curvature_start.abs().max(segment.curvature_end.abs());
                if sharpest > steering.max_curvature * slack {
                    let what = format!(
                        "curvature {sharpest:.4}/m exceeds full lock {:.4}/m",
                        steering.max_curvature
                    );
                    faults.push(LimitFault::steering(station, what));
                }
                let change = (segment.curvature_end - segment.curvature_start).abs();
                if steering.lock_distance_m > 0.0
                    && change * steering.lock_distance_m
                        > steering.max_curvature * segment.length_m * slack + 1e-9
                {
                    let what = "the wheels would have to turn faster than the steering can".to_owned();
                    faults.push(LimitFault::steering(station, what));
                }
                if last.is_some_and(|k| (k - segment.curvature_start).abs() > 1e-9)
                    && steering.lock_distance_m > 0.0
                {
                    let what = "the curvature jumps within a leg".to_owned();
                    faults.push(LimitFault::steering(station, what));
                }
                last = Some(segment.curvature_end);
                station += segment.length_m;
            }
        }
        let chain = Chain::of(vehicle);
        if chain.towed_count() > 0 {
            let mut first: Option<LimitFault> = None;
            for sample in self.samples(&chain, 0.05) {
                for (unit, phi) in vehicle.units.iter().zip(sample.state.hitch) {
                    let limit = unit.hitch.map_or(f64::INFINITY, |h| h.max_angle_rad);
                    if phi.abs() > limit * slack {
                        let fault = first.get_or_insert_with(|| LimitFault {
                            station_m: sample.station_m,
                            what: format!(
                                "hitch angle {:.1} deg exceeds {:.1} deg",
                                phi.to_degrees(),
                                limit.to_degrees()
                            ),
                            hitch_over_rad: 0.0,
                        });
                        fault.hitch_over_rad = fault.hitch_over_rad.max(phi.abs() - limit);
                    }
                }
            }
            faults.extend(first);
        }
        faults
    }
}

impl Leg {
    /// The leg driven in the opposite direction.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let direction = self.direction.opposite();
        let segments = self.segments.iter().rev().map(|s| Segment {
            length_m: s.length_m,
            curvature_start: s.curvature_end,
            curvature_end: s.curvature_start,
        });
        Self { direction, segments: segments.collect() }
    }
}
