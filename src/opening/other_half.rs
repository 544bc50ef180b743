//! Length of a path that is driven on the half of the road that belongs to oncoming traffic.
use super::{Case, Study};
use crate::geometry::Point;
use crate::motion::Chain;
use crate::search::lane::Lane;
use crate::site::Side;

/// Spacing of the sampled poses: half of the foot that is reported.
const STEP_M: f64 = 0.15;
/// Distance over the center line up to which a tire is still on its own half: a foot, the width of a double line.
const OVER_M: f64 = 0.3;

/// Distance driven with a tire on the other half of the road that a case comes along, forward and in reverse, on its path
/// through the gate as drawn, meters; `None` on a road of one lane, and where no path through the gate as drawn is known.
#[must_use]
pub fn on_other_half_m(study: &Study, case: &Case) -> Option<f64> {
    let (site, vehicle) = (&study.site, study.vehicles.get(case.vehicle)?);
    let travel = site.travels().into_iter().find(|travel| travel.word == case.travel)?;
    let other_half_m = site.roads.get(travel.road)?.width_m - travel.lane.width_m;
    if other_half_m <= OVER_M {
        return None;
    }
    let path = case.drawn.witness.as_ref()?.path();
    let road = Lane::new(travel.lane.road_line, (0.0, 0.0));
    let is_on_it = |p: Point| {
        let station = road.station_near(p);
        let left_m = road.pose(station, 0.0).to_body(p).y;
        let over_m = if site.drives_on == Side::Right { left_m } else { -left_m };
        (0.0..=road.length_m()).contains(&station) && over_m > OVER_M && over_m <= other_half_m
    };
    let chain = Chain::of(vehicle);
    let mut driven_m = 0.0;
    let mut last_m = None;
    for sample in path.samples(&chain, STEP_M) {
        let frames = chain.unit_frames(&sample.state);
        let mut tires = vehicle
            .units
            .iter()
            .zip(&frames)
            .flat_map(|(unit, frame)| unit.tires.iter().map(|tire| frame.place(tire.center)));
        if let Some(last_m) = last_m
            && tires.any(is_on_it)
        {
            driven_m += sample.station_m - last_m;
        }
        last_m = Some(sample.station_m);
    }
    Some(driven_m)
}
