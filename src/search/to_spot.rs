//! Ways on from just inside the gate to a spot: the shortest paths on open ground, as starts of the search.
//!
//! For a vehicle that turns no tighter than a circle the shortest path from one pose to another is made of two arcs with a
//! straight piece between (L. E. Dubins, "On curves of minimal length with a constraint on average curvature", American Journal
//! of Mathematics 79, 1957; the paths of three arcs, for places nearer than two diameters, are left out). Obstacles and the time
//! it takes to turn the wheels are left to the continuous search.
use super::{Goal, Problem};
use crate::geometry::{Point, Pose, trig};
use crate::motion::{Chain, Direction, Path, Segment};
use std::f64::consts::TAU;

/// Share of full lock at which the arcs are driven: what is left is for turning the wheels.
const SHARE: f64 = 0.85;
/// Number of ways on that are kept for each way in.
const KEPT: usize = 2;
/// Straight ways before a spot with a heading, as shares of a trailer's wheelbase: from a right angle a trailer comes within 5
/// degrees of straight on 2.9 of them, and on less where the turn before is longer.
const RUNS_IN: [f64; 2] = [1.5, 3.0];
/// Number of headings tried at a spot that asks for none.
const HEADINGS: u32 = 12;

/// Continues a path that ends inside the gate to the spot, by the shortest ways in the direction of its last leg. Empty without a
/// spot.
pub(super) fn on_to_spot(problem: &Problem, chain: &Chain, path: &Path) -> Vec<Path> {
    let (Some(spot), Some(last)) = (&problem.spot, path.legs.last()) else { return Vec::new() };
    let curvature = SHARE * problem.vehicle.steering.max_curvature;
    let from = path.end(chain).lead;
    // A trailer comes into line on the straight way before its spot.
    let towed_m = problem.vehicle.units.iter().skip(1).map(|unit| unit.wheelbase_m).fold(0.0, f64::max);
    let shares: &[f64] = if towed_m > 0.0 && spot.heading.is_some() { &RUNS_IN } else { &[0.0] };
    let runs_in = shares.len();
    let runs_in_m = shares.iter().map(|share| share * towed_m);
    let asked = runs_in_m.flat_map(|run_in_m| targets(spot).into_iter().map(move |to| (to, run_in_m)));
    let mut ways: Vec<Vec<Segment>> = asked
        .flat_map(|(to, run_in_m)| {
            let before = Pose { position: to.to_site(Point::new(-run_in_m, 0.0)), ..to };
            let mut ways = match last.direction {
                Direction::Forward => arcs(from, before, curvature),
                // Backward it is the path of a vehicle that faces the other way, its turns to the other side.
                Direction::Reverse => mirrored(arcs(turned_about(from), turned_about(to), curvature)),
            };
            if run_in_m > 0.0 {
                ways.iter_mut().for_each(|way| way.push(Segment::arc(run_in_m, 0.0)));
            }
            ways.sort_by(|a, b| length_m(a).total_cmp(&length_m(b)));
            ways.truncate(KEPT);
            ways
        })
        .collect();
    ways.sort_by(|a, b| length_m(a).total_cmp(&length_m(b)));
    ways.truncate(KEPT * runs_in);
    let continued = |way: Vec<Segment>| {
        let mut on = path.clone();
        if let Some(leg) = on.legs.last_mut() {
            leg.segments.extend(way);
        }
        on
    };
    ways.into_iter().map(continued).collect()
}

fn length_m(way: &[Segment]) -> f64 {
    way.iter().map(|segment| segment.length_m).sum()
}

/// Poses of the lead unit with its middle at a spot.
fn targets(spot: &Goal) -> Vec<Pose> {
    let turns = (0..HEADINGS).map(|i| TAU * f64::from(i) / f64::from(HEADINGS));
    let headings: Vec<f64> = spot.heading.map_or_else(|| turns.collect(), |heading| vec![heading]);
    let ends = |pick: fn(f64, f64) -> f64, from: f64| spot.outline.iter().map(|p| p.x).fold(from, pick);
    let middle = Point::new(0.5 * (ends(f64::min, f64::INFINITY) + ends(f64::max, f64::NEG_INFINITY)), 0.0);
    let stands = |heading: f64| {
        let position = spot.at - Pose { position: Point::default(), heading }.to_site(middle);
        Pose { position, heading }
    };
    headings.into_iter().map(stands).collect()
}

const fn turned_about(pose: Pose) -> Pose {
    Pose { heading: pose.heading + std::f64::consts::PI, ..pose }
}

fn mirrored(ways: Vec<Vec<Segment>>) -> Vec<Vec<Segment>> {
    let other_way = |s: Segment| Segment::arc(s.length_m, -s.curvature_start);
    ways.into_iter().map(|way| way.into_iter().map(other_way).collect()).collect()
}

/// The paths of an arc, a straight piece and an arc from one pose to another, driven forward.
fn arcs(from: Pose, to: Pose, curvature: f64) -> Vec<Vec<Segment>> {
    let radius = 1.0 / curvature;
    let center =
        |pose: Pose, side: f64| pose.position + Point::at_angle(pose.heading).left() * (side * radius);
    let mut ways = Vec::new();
    for (first, second) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
        let between = center(to, second) - center(from, first);
        // The straight piece touches both circles: on the same side of it, or across.
        let aside = radius * (second - first);
        let apart = between.norm();
        if apart < aside.abs() || apart < 1e-9 {
            continue;
        }
        let straight = (apart * apart - aside * aside).sqrt();
        // From center to center it is along the straight piece, and aside from it to the left.
        let heading = between.angle() - trig::atan2(aside, straight);
        let arc = |side: f64, from: f64, to: f64| {
            let turn = (side * (to - from)).rem_euclid(TAU);
            // A whole turn less rounding is none.
            if TAU - turn < 1e-6 { 0.0 } else { turn }
        };
        let (begin, end) = (arc(first, from.heading, heading), arc(second, heading, to.heading));
        ways.push(vec![
            Segment::arc(radius * begin, first * curvature),
            Segment::arc(straight, 0.0),
            Segment::arc(radius * end, second * curvature),
        ]);
    }
    for way in &mut ways {
        way.retain(|segment| segment.length_m > 1e-6);
    }
    ways
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::wrap_angle;
    use crate::motion::{Leg, State};
    use crate::vehicle::find;

    /// Every path that the formula gives ends at the pose it is for, forward and backward; a half turn with the second place
    /// two radii to the left is one half circle.
    #[test]
    fn paths_end_where_they_are_meant_to() {
        let vehicle = find("pickup").unwrap();
        let chain = Chain::of(&vehicle);
        let half = arcs(
            Pose::default(),
            Pose { position: Point::new(0.0, 10.0), heading: std::f64::consts::PI },
            0.2,
        );
        let shortest =
            half.iter().map(|way| way.iter().map(|s| s.length_m).sum::<f64>()).fold(f64::INFINITY, f64::min);
        assert!((shortest - 5.0 * std::f64::consts::PI).abs() < 1e-9, "{shortest}");
        let mut seen = 0;
        for i in 0..40_u32 {
            let angle = 0.7 * f64::from(i);
            let to = Pose { position: Point::at_angle(2.3 * angle) * (4.0 + f64::from(i)), heading: angle };
            let from = State { lead: Pose { heading: 0.4 * angle, ..Pose::default() }, ..State::default() };
            for direction in [Direction::Forward, Direction::Reverse] {
                let ways = match direction {
                    Direction::Forward => arcs(from.lead, to, 0.15),
                    Direction::Reverse => mirrored(arcs(turned_about(from.lead), turned_about(to), 0.15)),
                };
                for segments in ways {
                    let path = Path { start: from, legs: vec![Leg { direction, segments }] };
                    let end = path.end(&chain).lead;
                    assert!(
                        end.position.distance(to.position) < 1e-6,
                        "{i} {direction:?}: {end:?} for {to:?}"
                    );
                    assert!(wrap_angle(end.heading - to.heading).abs() < 1e-6, "{i} {direction:?}");
                    seen += 1;
                }
            }
        }
        assert!(seen > 200, "{seen}");
    }
}
