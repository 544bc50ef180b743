//! Distance that a vehicle reverses on a way in, and how much of that on the road.
use super::Case;
use super::ground::road_surface;
use crate::clearance::GateFrame;
use crate::geometry::Point;
use crate::motion::{Chain, Direction};
use crate::site::Site;
use crate::vehicle::{PartKind, Vehicle};

/// Spacing of the sampled poses: finer than the foot that is reported.
const STEP_M: f64 = 0.05;

/// Reversing on a path.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Reversing {
    /// Total distance, meters.
    pub total_m: f64,
    /// Part of that with a wheel still on a road, meters.
    pub on_road_m: f64,
}

/// Reversing on the path found for a case: the comfortable one, else the bare one. `None` where none was found.
#[must_use]
pub fn reversing(site: &Site, vehicle: &Vehicle, case: &Case) -> Option<Reversing> {
    let path = case.comfortable.witness.as_ref().or(case.bare.witness.as_ref())?.path();
    let roads = road_surface(site);
    let frame = GateFrame::of(&site.gate);
    let chain = Chain::of(vehicle);
    // Each tire is represented by its middle.
    let tires: Vec<Vec<Point>> = vehicle
        .units
        .iter()
        .map(|unit| {
            let tires = unit.parts.iter().filter(|part| part.kind == PartKind::Tire);
            tires.map(|part| middle(&part.outline.0)).collect()
        })
        .collect();
    let mut sum = Reversing { total_m: 0.0, on_road_m: 0.0 };
    let mut last: Option<(f64, bool)> = None;
    for sample in path.samples(&chain, STEP_M) {
        let backward = path.legs[sample.leg].direction == Direction::Reverse;
        if let (Some((station_m, was_backward)), true) = (last, backward) {
            let rolled_m = if was_backward { sample.station_m - station_m } else { 0.0 };
            let poses = chain.unit_poses(&sample.state);
            let on_road = roads.as_ref().is_some_and(|roads| {
                let all = tires.iter().zip(&poses).flat_map(|(tires, pose)| {
                    tires.iter().map(move |tire| frame.origin.to_body(pose.to_site(*tire)))
                });
                all.into_iter().any(|at| roads.signed_distance(at) > 0.0)
            });
            sum.total_m += rolled_m;
            sum.on_road_m += if on_road { rolled_m } else { 0.0 };
        }
        last = Some((sample.station_m, backward));
    }
    Some(sum)
}

/// Mean of the corners.
fn middle(corners: &[Point]) -> Point {
    let sum = corners.iter().fold(Point::default(), |sum, p| sum + *p);
    sum * (1.0 / f64::from(u32::try_from(corners.len().max(1)).unwrap_or(u32::MAX)))
}
