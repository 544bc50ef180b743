//! Who passes the gate as drawn.
use super::{Answer, Case, DrawnGate, RuledOut, Study};

/// The directions of travel a vehicle was studied from, in the study's order. Drawn routes have none.
#[must_use]
pub fn travels(study: &Study, vehicle: usize) -> Vec<&str> {
    study.of_vehicle(vehicle).travels.into_iter().map(|t| t.travel).collect()
}

/// Whether the gate as drawn lets a vehicle in: from each direction of travel, by whichever maneuver does best there.
///
/// A route drawn in the plan is a problem of its own and does not count, unless nothing else was asked about the
/// vehicle.
#[must_use]
pub fn vehicle_gate(study: &Study, vehicle: usize) -> DrawnGate {
    let of = study.of_vehicle(vehicle);
    let gate = |case: usize| study.cases[case].drawn_gate;
    let hardest = of.governing(|case| -f64::from(gate(case).rank()));
    let of_routes = || of.routes.iter().map(|case| gate(*case)).max_by_key(|gate| gate.rank());
    hardest.map(gate).or_else(of_routes).unwrap_or(DrawnGate::No)
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
    study
        .of_vehicle(vehicle)
        .travels
        .iter()
        .any(|t| t.cases.iter().all(|case| no_better(&study.cases[*case])))
}
