//! Canonical form of a problem: the vehicle comes along +u, and every length is on a fine grid.
//!
//! A place that is mirrored, turned, shifted or given in other coordinates is the same problem in this form, so it gets
//! the same answer. Vehicles are mirrored along with the place; one that is the same on both sides stays itself.
use super::lane::{Lane, StartZone};
use super::transcription::Transcription;
use super::{Goal, Problem};
use crate::clearance::Surroundings;
use crate::clearance::canonical::{GRID_M, on_grid, place};
use crate::geometry::{Outline, Point, Pose};
use crate::motion::{Leg, Path, Segment, State};
use crate::vehicle::{Part, Tire, Unit, Vehicle};
use std::f64::consts::PI;

/// A lane whose direction is nearer to straight ahead than this comes from neither side.
const ASIDE: f64 = 1e-6;
/// Grid of the ends of zones, coarser than the rest: they are found by bisection, to a tenth of a millimeter.
const STATION_GRID_M: f64 = 0.01;
/// Grid of ranges too narrow for the other: below the tolerance of a start, 2 micrometers.
const FINE_GRID_M: f64 = 1e-6;
/// Grid of headings: a hundred thousand times the rounding error of a mirror image, and 2 nanometers 20 m away.
const HEADING_GRID_RAD: f64 = 1e-10;
/// A length this near to a step of the grid, as a share of the step, counts as on it.
const ON_STEP: f64 = 1e-3;

/// Parts of a problem in canonical form.
pub(super) struct Canonical {
    vehicle: Option<Vehicle>,
    surroundings: Surroundings,
    lane: Lane,
    spot: Option<Goal>,
    /// True if left and right have changed sides.
    pub(super) mirrored: bool,
}

impl Canonical {
    /// Converts a problem to canonical form.
    pub(super) fn of(problem: &Problem) -> Self {
        let mirrored = comes_from_right(problem);
        Self {
            vehicle: mirrored.then(|| mirrored_vehicle(problem.vehicle)).flatten(),
            surroundings: problem.surroundings.canonical(mirrored),
            lane: lane(problem.lane, mirrored),
            spot: problem.spot.as_ref().map(|goal| spot(goal, mirrored)),
            mirrored,
        }
    }

    /// Returns the problem in this form.
    pub(super) fn problem<'a>(&'a self, problem: &Problem<'a>) -> Problem<'a> {
        Problem {
            vehicle: self.vehicle.as_ref().unwrap_or(problem.vehicle),
            surroundings: &self.surroundings,
            lane: &self.lane,
            spot: self.spot.clone(),
            ..*problem
        }
    }

    /// Converts a path of the problem to this form. Its heading is rounded: mirrored twice, a path is not quite what it was.
    pub(super) fn path(&self, path: &Path) -> Path {
        let mut path = self.path_as_given(path);
        let heading = &mut path.start.lead.heading;
        *heading = (*heading / HEADING_GRID_RAD).round() * HEADING_GRID_RAD;
        path
    }

    /// Converts a path in this form back to one of the problem as given.
    pub(super) fn path_as_given(&self, path: &Path) -> Path {
        if self.mirrored { turned_over(path) } else { path.clone() }
    }
}

/// Converts a transcribed path of one form of a problem to its mirror image.
pub(super) fn mirrored_course(track: &Transcription, x: &[f64]) -> (Transcription, Vec<f64>) {
    let mut x = x.to_vec();
    x[1..2 + track.start_slack].iter_mut().for_each(|number| *number = -*number);
    for (index, leg) in track.legs.iter().enumerate() {
        let at = track.leg_at(index);
        x[at + 1..at + 1 + leg.knots].iter_mut().for_each(|share| *share = -*share);
    }
    (Transcription { zone: zone(&track.zone, true), ..track.clone() }, x)
}

/// True if the vehicle comes along -u; where it comes straight ahead, true if the lane begins at positive u, or else if
/// what stands lies mostly at negative u.
fn comes_from_right(problem: &Problem) -> bool {
    let lane = problem.lane;
    let heading = lane.pose(lane.station_near(Point::default()), 0.0).heading;
    let first = lane.line.first().copied().unwrap_or_default();
    let standing: f64 = problem.surroundings.standing.iter().map(|piece| piece.center.x).sum();
    [Point::at_angle(heading).x, -first.x, standing]
        .into_iter()
        .find(|aside| aside.abs() > ASIDE)
        .is_some_and(|aside| aside < 0.0)
}

/// Mirrors a point in the v axis.
fn over(p: Point) -> Point {
    Point::new(-p.x, p.y)
}

/// Mirrors a path in the v axis.
fn turned_over(path: &Path) -> Path {
    let State { lead, hitch, curvature } = path.start;
    let lead = Pose { position: over(lead.position), heading: PI - lead.heading };
    let segment =
        |s: &Segment| Segment { curvature_start: -s.curvature_start, curvature_end: -s.curvature_end, ..*s };
    let legs = path.legs.iter();
    let legs = legs.map(|leg| Leg { segments: leg.segments.iter().map(segment).collect(), ..leg.clone() });
    Path { start: State { lead, hitch: hitch.map(|phi| -phi), curvature: -curvature }, legs: legs.collect() }
}

fn lane(lane: &Lane, mirrored: bool) -> Lane {
    let turns_into = lane.turns_into.iter().map(|other| self::lane(other, mirrored)).collect();
    let line: Vec<Point> = lane.line.iter().map(|p| place(*p, mirrored)).collect();
    // A zone without a point of the grid is left out if there is another: the stations of the lane as drawn differ by up to
    // a step, so that a start in a sliver of a zone would be refused there.
    let zones = |zones: &[StartZone]| -> Vec<StartZone> {
        let has_point =
            |z: &&StartZone| grid_within(z.play_m).is_some() && stations_within(z.stations_m).is_some();
        let any = zones.iter().any(|z| has_point(&z));
        let kept = zones.iter().filter(|z| !any || has_point(z));
        kept.map(|z| on_grid_inside(&zone(z, mirrored))).collect()
    };
    Lane {
        line,
        play_m: inside(play(lane.play_m, mirrored)),
        zones: zones(&lane.zones),
        stands: zones(&lane.stands),
        upstream_m: down(lane.upstream_m),
        leads_away: lane.leads_away,
        other_half_m: on_grid(if mirrored { -lane.other_half_m } else { lane.other_half_m }),
        turns_into,
    }
}

fn play((low, high): (f64, f64), mirrored: bool) -> (f64, f64) {
    if mirrored { (-high, -low) } else { (low, high) }
}

fn zone(zone: &StartZone, mirrored: bool) -> StartZone {
    let sign = if mirrored { -1.0 } else { 1.0 };
    StartZone {
        stations_m: zone.stations_m,
        play_m: play(zone.play_m, mirrored),
        turned_rad: sign * zone.turned_rad,
        curvature: sign * zone.curvature,
        hitch_rad: zone.hitch_rad.map(|phi| sign * phi),
    }
}

/// Rounds a zone to the grid, inward.
fn on_grid_inside(zone: &StartZone) -> StartZone {
    let stations_m = stations_within(zone.stations_m).unwrap_or(zone.stations_m);
    StartZone { stations_m, play_m: inside(zone.play_m), ..*zone }
}

/// Rounds a range of stations to their grid, inward; `None` if it contains no point of the grid.
fn stations_within((low, high): (f64, f64)) -> Option<(f64, f64)> {
    let steps =
        |m: f64| if m.is_finite() { (m / STATION_GRID_M - ON_STEP).ceil() * STATION_GRID_M } else { m };
    let (least, most) = (steps(low), -steps(-high));
    (least <= most).then_some((least, most))
}

/// Largest length on the grid that does not exceed this one, but for rounding.
fn down(length_m: f64) -> f64 {
    if length_m.is_finite() { (length_m / GRID_M + ON_STEP).floor() / 1e3 } else { length_m }
}

/// Rounds a range to the grid, inward; `None` if it contains no point of the grid.
fn grid_within((low, high): (f64, f64)) -> Option<(f64, f64)> {
    let (least, most) = (-down(-low), down(high));
    (least <= most).then_some((least, most))
}

/// Rounds a range to the grid, inward, or to the fine grid if it contains no point of the grid: on the grid it would lie
/// outside of itself, and every start in it would be refused.
fn inside((low, high): (f64, f64)) -> (f64, f64) {
    let fine = |m: f64| (m / FINE_GRID_M).round() * FINE_GRID_M;
    grid_within((low, high)).unwrap_or((fine(low), fine(high)))
}

fn spot(goal: &Goal, mirrored: bool) -> Goal {
    let at = place(goal.at, mirrored);
    if !mirrored {
        return Goal { at, ..goal.clone() };
    }
    let outline = goal.outline.iter().rev().map(|p| Point::new(p.x, -p.y)).collect();
    Goal { at, heading: goal.heading.map(|heading| PI - heading), outline }
}

/// Mirror image of the vehicle; `None` where it is the same on both sides.
fn mirrored_vehicle(vehicle: &Vehicle) -> Option<Vehicle> {
    let units: Vec<Unit> = vehicle.units.iter().map(mirrored_unit).collect();
    let same = vehicle.units.iter().zip(&units).all(|(unit, other)| {
        let twin = |part: &Part| other.parts.iter().any(|p| alike(part, p));
        unit.parts.iter().all(twin)
            && unit
                .tires
                .iter()
                .all(|tire| other.tires.iter().any(|t| t.center == tire.center && t.width_m == tire.width_m))
    });
    (!same).then(|| Vehicle { units, ..vehicle.clone() })
}

fn mirrored_unit(unit: &Unit) -> Unit {
    let ring = |outline: &Outline| Outline(outline.0.iter().rev().map(|p| Point::new(p.x, -p.y)).collect());
    let parts = unit.parts.iter().map(|part| Part { outline: ring(&part.outline), ..part.clone() });
    let tires = unit.tires.iter();
    let tires = tires.map(|t| Tire { center: Point::new(t.center.x, -t.center.y), ..*t });
    Unit { parts: parts.collect(), tires: tires.collect(), ..unit.clone() }
}

/// True if two parts are the same, whichever corner their outlines begin at.
fn alike(a: &Part, b: &Part) -> bool {
    let corners = |part: &Part| {
        let mut list: Vec<(u64, u64)> =
            part.outline.0.iter().map(|p| ((p.x + 0.0).to_bits(), (p.y + 0.0).to_bits())).collect();
        list.sort_unstable();
        list
    };
    (a.kind, a.bottom_m, a.top_m) == (b.kind, b.bottom_m, b.top_m) && corners(a) == corners(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A start in a zone of a micrometer would be refused in the place as drawn, whose stations differ by up to a grid step.
    #[test]
    fn a_zone_without_a_point_of_the_grid_is_left_out() {
        let zone = |from_m: f64, to_m: f64| StartZone::straight((from_m, to_m), (-0.3, 0.3));
        let of = |zones: &[StartZone]| {
            let drawn = Lane::new(vec![Point::new(-90.0, -5.0), Point::new(0.0, -5.0)], (-0.3, 0.3));
            lane(&Lane { zones: zones.to_vec(), ..drawn }, false).zones
        };
        let sliver = zone(63.404_118, 63.404_119);
        let whole = of(&[zone(63.0, 63.404_118), sliver]);
        assert_eq!(whole.iter().map(|z| z.stations_m).collect::<Vec<_>>(), [(63.0, 63.4)]);
        // The only place to start stays.
        assert_eq!(of(&[sliver]), [sliver]);
    }
}
