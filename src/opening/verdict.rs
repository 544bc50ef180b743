//! Who passes the gate as drawn.
use super::{Case, DrawnGate, Study};

/// The directions of travel a vehicle was studied from, in the study's order. Drawn routes have none.
#[must_use]
pub fn travels(study: &Study, vehicle: usize) -> Vec<&str> {
    let mut travels: Vec<&str> = Vec::new();
    for case in study.cases.iter().filter(|c| c.vehicle == vehicle && c.route.is_none()) {
        if !travels.contains(&case.travel.as_str()) {
            travels.push(&case.travel);
        }
    }
    travels
}

/// Whether the gate as drawn lets a vehicle in: from each direction of travel, by whichever maneuver does best there.
///
/// A route drawn in the plan is a question of its own and does not count, unless nothing else was asked about the
/// vehicle.
#[must_use]
pub fn vehicle_gate(study: &Study, vehicle: usize) -> DrawnGate {
    let best = |keep: &dyn Fn(&Case) -> bool| {
        let mine = study.cases.iter().filter(|c| c.vehicle == vehicle && keep(c));
        mine.map(|c| c.drawn_gate).max_by_key(|gate| gate.rank()).unwrap_or(DrawnGate::No)
    };
    travels(study, vehicle)
        .into_iter()
        .map(|travel| best(&|c| c.route.is_none() && c.travel == travel))
        .min_by_key(|gate| gate.rank())
        .unwrap_or_else(|| best(&|c| c.route.is_some()))
}

/// Whether every vehicle passes the gate as drawn in comfort.
#[must_use]
pub fn every_vehicle_passes(study: &Study) -> bool {
    (0..study.vehicles.len()).all(|vehicle| vehicle_gate(study, vehicle) == DrawnGate::Comfortable)
}
