//! The way out as a curve to join: its first leg, led in to by a straight piece and a ramp onto its first curvature.
use super::course::Wheels;
use crate::geometry::{Point, Pose};
use crate::motion::{Leg, Path, Segment, advance_lead};

/// The way out may be joined on its straight backward extension up to this far from where it starts, meters.
const EXTENSION_M: f64 = 40.0;
/// Places of the way out that are compared with a pose lie this far apart, meters.
const APART_M: f64 = 0.5;

/// A way out, by the distance from the far end of its extension.
#[derive(Clone, Debug)]
pub(super) struct WayOut {
    /// Pieces of the extension and of the first leg: where each begins, and what is driven.
    pieces: Vec<(f64, Pose, Segment)>,
    /// What comes after the first leg.
    later: Vec<Leg>,
    /// Station at which the way out itself starts, meters.
    pub(super) starts_m: f64,
    /// The last station at which it may be joined.
    pub(super) last_join_m: f64,
    /// Station, pose and curvature of places along it.
    pub(super) places: Vec<(f64, Pose)>,
    /// Least and largest heading of these places.
    pub(super) headings: (f64, f64),
}

impl WayOut {
    /// The curve of a path whose first leg is driven forward, to be joined while `inside` holds for its poses; `None` where
    /// that leg is empty.
    pub(super) fn new(out: &Path, wheels: Wheels, inside: impl Fn(&Pose) -> bool) -> Option<Self> {
        let (first, later) = out.legs.split_first()?;
        let k = first.segments.first()?.curvature_start;
        let ramp_m = (k / wheels.max).abs() * wheels.lock_m;
        let ramp = advance_lead(&out.start.lead, -ramp_m, k, 0.0);
        let ramp = if ramp_m > 0.0 { ramp } else { out.start.lead };
        let begins = ramp.position - Point::at_angle(ramp.heading) * EXTENSION_M;
        let mut at = Pose { position: begins, heading: ramp.heading };
        let lead_in = [
            Segment::arc(EXTENSION_M, 0.0),
            Segment { length_m: ramp_m, curvature_start: 0.0, curvature_end: k },
        ];
        let mut pieces = Vec::new();
        let mut station = 0.0;
        for segment in lead_in.iter().chain(&first.segments).filter(|s| s.length_m > 0.0) {
            // The way out itself begins where it was told to, to the last digit.
            if pieces.len() == if ramp_m > 0.0 { 2 } else { 1 } {
                at = out.start.lead;
            }
            pieces.push((station, at, *segment));
            at = advance_lead(&at, segment.length_m, segment.curvature_start, segment.curvature_end);
            station += segment.length_m;
        }
        let mut way = Self {
            pieces,
            later: later.to_vec(),
            starts_m: EXTENSION_M + ramp_m,
            last_join_m: station,
            places: Vec::new(),
            headings: (0.0, 0.0),
        };
        let mut last = way.starts_m;
        let mut s = 0.0;
        while s < station {
            let at = way.at(s);
            if s > way.starts_m && !inside(&at) {
                break;
            }
            way.places.push((s, at));
            last = last.max(s);
            s += APART_M;
        }
        way.last_join_m = last;
        let headings = way.places.iter().map(|(_, at)| at.heading);
        way.headings =
            headings.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), h| (low.min(h), high.max(h)));
        Some(way)
    }

    fn piece(&self, s: f64) -> &(f64, Pose, Segment) {
        let after = self.pieces.partition_point(|(begins, ..)| *begins <= s);
        &self.pieces[after.saturating_sub(1)]
    }

    /// Curvature at a station.
    pub(super) fn curvature(&self, s: f64) -> f64 {
        let (begins, _, segment) = self.piece(s);
        curvature_in(segment, s - begins)
    }

    /// The lead's pose at a station.
    pub(super) fn at(&self, s: f64) -> Pose {
        let (begins, from, segment) = self.piece(s);
        let along = s - begins;
        advance_lead(from, along, segment.curvature_start, curvature_in(segment, along))
    }

    /// What is left of the first leg from a station on, and the legs after it.
    pub(super) fn rest(&self, s: f64) -> (Vec<Segment>, Vec<Leg>) {
        let mut rest = Vec::new();
        for (begins, _, segment) in &self.pieces {
            let from = (s - begins).max(0.0);
            if from < segment.length_m {
                rest.push(Segment {
                    length_m: segment.length_m - from,
                    curvature_start: if from > 0.0 {
                        curvature_in(segment, from)
                    } else {
                        segment.curvature_start
                    },
                    curvature_end: segment.curvature_end,
                });
            }
        }
        (rest, self.later.clone())
    }
}

fn curvature_in(segment: &Segment, along_m: f64) -> f64 {
    let Segment { length_m, curvature_start, curvature_end } = *segment;
    curvature_start + (curvature_end - curvature_start) * (along_m / length_m).clamp(0.0, 1.0)
}
