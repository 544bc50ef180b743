//! Way out as a curve to join: its first leg, preceded by a straight piece and a ramp onto its first curvature; or, for
//! a trailer that is bent where the way out starts, by a straight piece and a bend that leaves it bent to that angle.
use super::course::Wheels;
use crate::geometry::{Point, Pose};
use crate::motion::{Chain, Leg, Path, Segment, State, advance_lead};

/// The way out may be joined on its straight backward extension up to this far from where it starts, meters.
const EXTENSION_M: f64 = 40.0;
/// Largest distance past its start at which it may be joined, meters.
const FARTHEST_M: f64 = 60.0;
/// Spacing of the places of the way out that are compared with a pose, meters.
const APART_M: f64 = 0.5;

/// A trailer whose hitch angle differs by less than this where the way out starts counts as bent to it: it straightens
/// on the way.
const BENT_RAD: f64 = 0.01;
/// Longest arc that bends a trailer, meters, and number of bisections to find the right one.
const LONGEST_ARC_M: f64 = 25.0;
const BISECTIONS: usize = 40;

/// A way out, parametrized by the distance from the far end of its extension.
#[derive(Clone, Debug)]
pub(super) struct WayOut {
    /// Pieces of the extension and of the first leg: start station, start pose and segment.
    pieces: Vec<(f64, Pose, Segment)>,
    /// Legs after the first.
    later: Vec<Leg>,
    /// Station at which the way out itself starts, meters.
    pub(super) starts_m: f64,
    /// The last station at which it may be joined.
    pub(super) last_join_m: f64,
    /// Station and pose of places along it.
    pub(super) places: Vec<(f64, Pose)>,
    /// Least and largest heading of these places.
    pub(super) headings: (f64, f64),
}

impl WayOut {
    /// Sets up the curve of a path whose first leg is driven forward, to be joined while `joinable` holds for its poses;
    /// `None` where that leg is empty. `keeps` is the largest curvature that the vehicle can keep in a steady turn.
    pub(super) fn new(
        out: &Path,
        (wheels, chain, keeps): (Wheels, &Chain, f64),
        joinable: impl Fn(&Pose) -> bool,
    ) -> Option<Self> {
        let (first, later) = out.legs.split_first()?;
        let k = first.segments.first()?.curvature_start;
        let bend: Vec<Segment> = lead_in(out, k, (wheels, chain, keeps));
        let bend_m: f64 = bend.iter().map(|s| s.length_m).sum();
        let mut begins = out.start.lead;
        for segment in bend.iter().rev() {
            begins = advance_lead(&begins, -segment.length_m, segment.curvature_end, segment.curvature_start);
        }
        begins.position = begins.position - Point::at_angle(begins.heading) * EXTENSION_M;
        let mut at = begins;
        let straight = Segment::arc(EXTENSION_M, 0.0);
        let mut pieces = Vec::new();
        let mut station = 0.0;
        for segment in std::iter::once(&straight).chain(&bend).chain(&first.segments) {
            if segment.length_m <= 0.0 {
                continue;
            }
            // The way out itself begins exactly where it was given.
            if pieces.len() == 1 + bend.len() {
                at = out.start.lead;
            }
            pieces.push((station, at, *segment));
            at = advance_lead(&at, segment.length_m, segment.curvature_start, segment.curvature_end);
            station += segment.length_m;
        }
        let mut way = Self {
            pieces,
            later: later.to_vec(),
            starts_m: EXTENSION_M + bend_m,
            last_join_m: station,
            places: Vec::new(),
            headings: (0.0, 0.0),
        };
        let mut last = way.starts_m;
        let mut s = 0.0;
        while s < station.min(way.starts_m + FARTHEST_M) {
            let at = way.at(s);
            if s > way.starts_m && !joinable(&at) {
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

    /// Pose of the lead at a station.
    pub(super) fn at(&self, s: f64) -> Pose {
        let (begins, from, segment) = self.piece(s);
        let along = s - begins;
        advance_lead(from, along, segment.curvature_start, curvature_in(segment, along))
    }

    /// Rest of the first leg from a station on, and the legs after it.
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

/// Segments that lead a vehicle that stands straight onto the start of a way out whose curvature there is `k`: a ramp,
/// or, for one trailer whose hitch angle there differs from what a ramp leaves, a ramp, an arc and a ramp. The shortest
/// of those tried.
fn lead_in(out: &Path, k: f64, (wheels, chain, keeps): (Wheels, &Chain, f64)) -> Vec<Segment> {
    let ramp = |from: f64, to: f64| Segment {
        length_m: (to - from).abs() / wheels.max * wheels.lock_m,
        curvature_start: from,
        curvature_end: to,
    };
    let drivable = |list: Vec<Segment>| -> Vec<Segment> {
        list.into_iter().filter(|segment| segment.length_m > 0.0).collect()
    };
    let bent = |list: &[Segment]| {
        let from = State { lead: Pose::default(), ..State::default() };
        let drive =
            |state: State, s: &Segment| chain.advance(&state, s.length_m, s.curvature_start, s.curvature_end);
        list.iter().filter(|s| s.length_m > 0.0).fold(from, drive).hitch[0]
    };
    let plain = vec![ramp(0.0, k)];
    let wanted = out.start.hitch[0];
    if chain.towed_count() != 1 || (bent(&plain) - wanted).abs() < BENT_RAD {
        return drivable(plain);
    }
    let mut best: Option<(f64, Vec<Segment>)> = None;
    for share in [-1.0, -0.6, 0.6, 1.0] {
        let held = share * keeps;
        let with = |arc_m: f64| vec![ramp(0.0, held), Segment::arc(arc_m, held), ramp(held, k)];
        let over = |arc_m: f64| bent(&with(arc_m)) - wanted;
        let (mut low, mut high) = (0.0, LONGEST_ARC_M);
        let rises = over(high) > over(low);
        if (over(low) > 0.0) == (over(high) > 0.0) {
            continue;
        }
        for _ in 0..BISECTIONS {
            let middle = 0.5 * (low + high);
            if (over(middle) > 0.0) == rises {
                high = middle;
            } else {
                low = middle;
            }
        }
        let list = with(high);
        let length_m = list.iter().map(|segment| segment.length_m).sum();
        if best.as_ref().is_none_or(|(least, _)| length_m < *least) {
            best = Some((length_m, list));
        }
    }
    drivable(best.map_or(plain, |(_, list)| list))
}

fn curvature_in(segment: &Segment, along_m: f64) -> f64 {
    let Segment { length_m, curvature_start, curvature_end } = *segment;
    curvature_start + (curvature_end - curvature_start) * (along_m / length_m).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::Direction;

    const WHEELS: Wheels = Wheels { max: 0.2, lock_m: 2.0 };

    /// A path that begins on an arc, comes out of it and goes straight on.
    fn bending() -> Path {
        let ramp = Segment { length_m: 1.5, curvature_start: 0.1, curvature_end: 0.0 };
        let segments = vec![Segment::arc(3.0, 0.1), ramp, Segment::arc(20.0, 0.0)];
        let start = State { lead: Pose::new(1.0, 9.0, -1.9), curvature: 0.1, ..State::default() };
        Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] }
    }

    #[test]
    fn its_extension_leads_onto_it_without_a_jump() {
        let out = bending();
        let way =
            WayOut::new(&out, (WHEELS, &Chain::default(), WHEELS.max), |at| at.position.y > 4.0).unwrap();
        assert_eq!(way.starts_m, EXTENSION_M + 1.0);
        assert_eq!((way.curvature(0.0), way.curvature(way.starts_m)), (0.0, 0.1));
        assert!((way.curvature(way.starts_m - 0.25) - 0.075).abs() < 1e-12);
        // Driven in steps of a millimeter it matches its stations.
        let mut s = way.starts_m - 3.0;
        while s < way.starts_m + 6.0 {
            let ahead = way.at(s + 1e-3).position - way.at(s).position;
            assert!(
                (ahead.norm() - 1e-3).abs() < 1e-9
                    && ahead.cross(Point::at_angle(way.at(s).heading)).abs() < 1e-6
            );
            s += 0.37;
        }
        // It may be joined while the lead is inside, a half meter more or less.
        assert!((way.at(way.last_join_m).position.y - 4.0).abs() < APART_M);
    }

    #[test]
    fn what_is_left_of_it_ends_where_it_ends() {
        let out = bending();
        let way =
            WayOut::new(&out, (WHEELS, &Chain::default(), WHEELS.max), |at| at.position.y > 4.0).unwrap();
        let ends = out.end(&Chain::default()).lead;
        for s in [0.0, 17.0, way.starts_m - 0.4, way.starts_m, way.starts_m + 3.7] {
            let (segments, later) = way.rest(s);
            assert!(later.is_empty());
            let start = State { lead: way.at(s), ..State::default() };
            let rest = Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] };
            let end = rest.end(&Chain::default()).lead;
            assert!(
                end.position.distance(ends.position) < 1e-9 && (end.heading - ends.heading).abs() < 1e-12,
                "{s}"
            );
        }
    }
}
