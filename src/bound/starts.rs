//! Starts of a maneuver on the lines of the proof.
//!
//! A start zone is a strip of lane: stations and offsets between limits, at one heading on each segment of the lane's
//! line. Followed backward, a vehicle that has come to such a place is extended straight to the next line behind it.
use super::grid::Grid;
use crate::geometry::{Point, trig};
use crate::search::lane::{Lane, StartZone};

/// Tolerance of a start against its zone's limits, meters and radians: more than the referee allows.
const TOLERANCE: f64 = 1e-5;
/// Distance from the gate's middle at which endless lanes are cut off: well beyond the window of any proof.
const FAR_M: f64 = 200.0;

/// Places of one zone on one segment of the lane where the unit's axle may stand, in the axes of one frame.
pub(super) struct Start {
    /// Bins of headings, driven backward.
    pub(super) bins: std::ops::Range<usize>,
    /// Corners of the places: p along the frame's axis, q to its left.
    corners: [(f64, f64); 4],
    /// Change of q with p, driven straight back.
    slope: f64,
    /// Position of the lead's axle, from the unit's.
    pub(super) lead: Point,
}

impl Start {
    /// Range of q on the line at `p` that is met straight back from a place at most `before_m` before the line; `None`
    /// if there is no such place.
    pub(super) fn on_line(&self, p: f64, before_m: f64) -> Option<(f64, f64)> {
        let (least, most) = (p - before_m, p + TOLERANCE);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut take = |(at, q): (f64, f64)| {
            let q = q + (p - at) * self.slope;
            (low, high) = (low.min(q), high.max(q));
        };
        for (i, &a) in self.corners.iter().enumerate() {
            let b = self.corners[(i + 1) % 4];
            if a.0 >= least && a.0 <= most {
                take(a);
            }
            // Corners of the part of the strip between the two ends of the stretch.
            for end in [least, most] {
                if (a.0 < end) != (b.0 < end) {
                    take((end, a.1 + (end - a.0) / (b.0 - a.0) * (b.1 - a.1)));
                }
            }
        }
        (low <= high).then_some((low - TOLERANCE, high + TOLERANCE))
    }
}

/// Starts in a lane, in a frame with the axes `ahead` and `left`. The unit's axle is `lead_ahead_m` behind the lead's
/// while all stand in line.
pub(super) fn starts(
    grid: &Grid,
    (ahead, left): (Point, Point),
    lane: &Lane,
    lead_ahead_m: f64,
) -> Vec<Start> {
    let mut list = Vec::new();
    let mut station = 0.0;
    let last = lane.line.len().saturating_sub(2);
    for (i, pair) in lane.line.windows(2).enumerate() {
        let length = pair[0].distance(pair[1]);
        let segment = (station, station + length);
        station += length;
        let Some(along) = (pair[1] - pair[0]).unit() else { continue };
        // The lane's line runs on beyond its ends.
        let far = FAR_M + pair[0].norm() + length;
        let runs = (
            if i == 0 { segment.0 - far } else { segment.0 },
            if i == last { segment.1 + far } else { segment.1 },
        );
        for zone in &lane.zones {
            let first = runs.0.max(zone.stations_m.0) - TOLERANCE;
            let most = runs.1.min(zone.stations_m.1).min(lane.upstream_m) + TOLERANCE;
            if first > most {
                continue;
            }
            let stretch = (first - segment.0, most - segment.0);
            let place = |along_m: f64, offset_m: f64| pair[0] + along * along_m + along.left() * offset_m;
            list.extend(start(grid, (ahead, left), zone, along, stretch, place, lead_ahead_m));
        }
    }
    list
}

/// Starts of one zone on one segment; none if they head out of the frame.
fn start(
    grid: &Grid,
    (ahead, left): (Point, Point),
    zone: &StartZone,
    along: Point,
    (first, last): (f64, f64),
    place: impl Fn(f64, f64) -> Point,
    lead_ahead_m: f64,
) -> Option<Start> {
    let (sin, cos) = trig::sin_cos(zone.turned_rad);
    let heading = along * cos + along.left() * sin;
    let back = -heading;
    if back.dot(ahead) < 0.5 {
        return None;
    }
    // Play is finite on every road; a lane in which a vehicle may stand anywhere is as wide as the cut-off distance.
    let (low, high) = (zone.play_m.0.max(-FAR_M) - TOLERANCE, zone.play_m.1.min(FAR_M) + TOLERANCE);
    let lead = heading * lead_ahead_m;
    let corners = [(first, low), (last, low), (last, high), (first, high)].map(|(along_m, offset_m)| {
        let axle = place(along_m, offset_m) - lead;
        (axle.dot(ahead), axle.dot(left))
    });
    let u = back.dot(left);
    let bins = grid.bins_of(u - TOLERANCE, u + TOLERANCE);
    Some(Start { bins, corners, slope: u / back.dot(ahead), lead })
}
