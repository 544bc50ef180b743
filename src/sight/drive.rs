//! The drive's mouth at the road, and the lines along the road that a driver there must see.
//!
//! The drive is taken as straight, square to the gate line through the middle of the opening. Left and right are those
//! of a driver who leaves and faces the road.
use super::required::TrafficLane;
use super::rules::Along;
use crate::geometry::Point;
use crate::geometry::distance::crossing;
use crate::geometry::polyline::{nearest_on, segments};
use crate::site::{Side, Site, beside};

/// Tolerance by which the edge of the road may lie behind the gate line: a gate at the very edge.
const AT_GATE_M: f64 = 0.05;

/// Mouth of the drive, where it meets the road.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mouth {
    /// The edge of the road on the drive's line.
    pub edge: Point,
    /// Unit vector along the drive, away from the road.
    pub inward: Point,
}

impl Mouth {
    /// Position of the driver's eye, `back_m` from the edge of the road along the drive.
    #[must_use]
    pub fn eye(&self, back_m: f64) -> Point {
        self.edge + self.inward * back_m
    }
}

/// Line along the road, from the drive on, each point of which a driver must see.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// Side of the leaving driver on which it runs.
    pub side: Side,
    /// Lane in which traffic comes on that side.
    pub lane: TrafficLane,
    /// Points of the line, from where the drive crosses it to the end of the road as drawn.
    pub line: Vec<Point>,
    /// Length of the line.
    pub drawn_m: f64,
    /// True if traffic comes from beyond it: the road goes on, or ends on another.
    pub continues: bool,
}

/// Finds where the drive meets the road beside the gate.
///
/// # Errors
/// In plain words, where the drive's line does not come to the road.
pub fn mouth(site: &Site) -> Result<Mouth, String> {
    let gate = &site.gate;
    let out = -gate.inward;
    let no_way = || "the way straight out of the gate does not come to the road".to_owned();
    let road = site.roads.get(site.beside_gate).ok_or_else(no_way)?;
    let first = road
        .surface
        .edges()
        .filter_map(|(a, b)| crossing(gate.center(), out, (a, b)).map(|(t, _)| t))
        .filter(|t| *t >= -AT_GATE_M)
        .min_by(f64::total_cmp);
    first.map(|t| Mouth { edge: gate.center() + out * t, inward: gate.inward }).ok_or_else(no_way)
}

/// Lines that must be seen, one for each side from which traffic can come. A side on which the road has no piece is
/// left out.
///
/// # Errors
/// In plain words, where the road does not cross the drive's line: a gate at the end of a road.
pub fn reaches(site: &Site, mouth: &Mouth, along: Along) -> Result<Vec<Reach>, String> {
    let none = || "the road does not cross the drive: the gate stands at its end".to_owned();
    let road = site.roads.get(site.beside_gate).ok_or_else(none)?;
    let out = -mouth.inward;
    let mut found = Vec::new();
    for as_drawn in [true, false] {
        // In the direction of travel: traffic comes from the part before the drive.
        let line = match along {
            Along::LaneCenter => road.drawn_lane(as_drawn, site.drives_on),
            Along::NearEdge => {
                let mut line = road.centerline.clone();
                if !as_drawn {
                    line.reverse();
                }
                let half = 0.5 * road.width_m;
                // The edge on the side of the drive.
                let (i, _) = nearest_on(segments(&line), mouth.edge).ok_or_else(none)?;
                let left = (line[i + 1] - line[i]).cross(mouth.edge - line[i]) > 0.0;
                beside(&line, if left { half } else { -half })
            }
        };
        // Where a winding road crosses several times, the crossing nearest to the mouth counts.
        let cross = line.windows(2).enumerate().filter_map(|(i, w)| {
            let (t, u) = crossing(mouth.edge, out, (w[0], w[1]))?;
            Some((t, i, w[0] + (w[1] - w[0]) * u))
        });
        let Some((_, i, at)) = cross.min_by(|a, b| a.0.abs().total_cmp(&b.0.abs())) else { continue };
        let mut reach = vec![at];
        reach.extend(line[..=i].iter().rev());
        reach.dedup_by(|a, b| a.distance(*b) < 1e-9);
        let drawn_m: f64 = reach.windows(2).map(|w| w[0].distance(w[1])).sum();
        let [first, second, ..] = reach.as_slice() else { continue };
        let side = if out.cross(*second - *first) > 0.0 { Side::Left } else { Side::Right };
        let near = if site.drives_on == Side::Right { Side::Left } else { Side::Right };
        found.push(Reach {
            side,
            lane: if side == near { TrafficLane::Near } else { TrafficLane::Far },
            drawn_m,
            continues: site.traffic_comes_from(site.beside_gate, as_drawn),
            line: reach,
        });
    }
    if found.is_empty() {
        return Err(none());
    }
    found.sort_by_key(|reach| reach.side == Side::Right);
    Ok(found)
}

/// The beginning of a line, this long at the most.
#[must_use]
pub fn first_of(line: &[Point], long_m: f64) -> Vec<Point> {
    let mut kept: Vec<Point> = line.first().copied().into_iter().collect();
    let mut left = long_m;
    for w in line.windows(2) {
        let long = w[0].distance(w[1]);
        if long >= left {
            if left > 0.0 {
                kept.push(w[0] + (w[1] - w[0]) * (left / long));
            }
            break;
        }
        kept.push(w[1]);
        left -= long;
    }
    kept
}
