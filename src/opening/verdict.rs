//! Who passes the gate as drawn.
use super::{Answer, Case, DrawnGate, RuledOut, Study};

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
/// A route drawn in the plan is a problem of its own and does not count, unless nothing else was asked about the
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

/// Whether the verdict on a case is proven: where the gate as drawn is tight or lets it in nowhere, that no maneuver of
/// this kind does better there. Never, where it passes in comfort.
///
/// With a clearance a vehicle may start farther over in the road, so that nothing passes bare does not prove that nothing
/// does with clearance: both must be proven.
#[must_use]
pub fn case_is_proven(case: &Case) -> bool {
    let proven = |answer: &Answer| answer.ruled_out == Some(RuledOut::Proven);
    match case.drawn_gate {
        DrawnGate::Comfortable => false,
        DrawnGate::Tight => proven(&case.comfortable),
        DrawnGate::No => proven(&case.bare) && proven(&case.comfortable),
    }
}

/// Whether the verdict on a vehicle is proven: from some direction of travel no maneuver that was asked about does better.
///
/// Drawn routes prove nothing: each is one path.
#[must_use]
pub fn vehicle_is_proven(study: &Study, vehicle: usize) -> bool {
    let verdict = vehicle_gate(study, vehicle);
    let proven = |answer: &Answer| answer.ruled_out == Some(RuledOut::Proven);
    let no_better = |case: &Case| match verdict {
        DrawnGate::Comfortable => false,
        DrawnGate::Tight => proven(&case.comfortable),
        DrawnGate::No => case_is_proven(case),
    };
    let of =
        |travel: &str, case: &Case| case.vehicle == vehicle && case.route.is_none() && case.travel == travel;
    let ways = |travel: &str| study.cases.iter().filter(|case| of(travel, case)).all(no_better);
    travels(study, vehicle).into_iter().any(ways)
}
