//! Verdicts on the gate as drawn: which vehicles pass it.
use super::{Answer, Case, Demanded, DrawnGate, RuledOut, Study, TravelCases, Verdict};
use crate::gate::LeafTravel;
use crate::site::Maneuver;

/// Returns the directions of travel a vehicle was studied from, in the study's order. Drawn routes have none.
#[must_use]
pub fn travels(study: &Study, vehicle: usize) -> Vec<&str> {
    study.of_vehicle(vehicle).travels.into_iter().map(|t| t.travel).collect()
}

/// Returns the verdict on a vehicle at the gate as drawn: from each direction of travel, by the visits it may make.
///
/// A route drawn in the plan is a problem of its own and does not count, unless nothing else was studied for the
/// vehicle.
#[must_use]
pub fn vehicle_verdict(study: &Study, vehicle: usize) -> Verdict {
    let of = study.of_vehicle(vehicle);
    let of_routes = || of.routes.iter().map(|case| Verdict::from(study.cases[*case].drawn_gate)).max();
    let with_turn = |travel: &TravelCases| {
        let verdict = travel_verdict(study, travel);
        if of.demanded != Demanded::TurnAround || verdict < Verdict::Tight {
            return verdict;
        }
        let turn = study.turns.iter().find(|turn| turn.vehicle == vehicle && turn.travel == travel.travel);
        turn.map_or(Verdict::No, |turn| verdict.min(turn.verdict().into()))
    };
    let hardest = of.travels.iter().map(with_turn).min();
    hardest.or_else(of_routes).unwrap_or(Verdict::No)
}

/// Returns the verdict from one direction of travel, on the ways through the gate alone.
#[must_use]
pub fn travel_verdict(study: &Study, travel: &TravelCases) -> Verdict {
    let gate = |case: usize| study.cases[case].drawn_gate;
    let counted = travel.deciding(|case| -f64::from(gate(case).rank())).map_or(DrawnGate::No, gate);
    // A group of which nothing was studied counts as one that nothing passes.
    let counted = if travel.groups.iter().any(Vec::is_empty) { DrawnGate::No } else { counted };
    // Of a vehicle that turns around inside, backing in stands for its way out, and is no way in.
    let backs_in = |index: &usize| {
        let case = &study.cases[*index];
        case.maneuver == Maneuver::BackIn && gate(*index) != DrawnGate::No && !study.is_way_out(case)
    };
    Verdict::of(counted, travel.cases.iter().any(backs_in))
}

/// True if the leaves of the gate as drawn open as far as the study has them stand open.
#[must_use]
pub fn leaves_open(study: &Study) -> bool {
    leaf_travel(study).is_whole()
}

/// Travel of the leaves of the gate as drawn: as the study's gate has it, whose allowances may be the user's own.
#[must_use]
pub fn leaf_travel(study: &Study) -> LeafTravel {
    match &study.gate {
        Some(plan) => LeafTravel { swings: plan.swings.clone(), run_back: plan.run_back.clone() },
        None => LeafTravel::of(&study.site, &study.site.gate.leaves),
    }
}

/// True if the leaves of the gate as drawn open, and every vehicle can make a visit in comfort.
#[must_use]
pub fn every_vehicle_passes(study: &Study) -> bool {
    leaves_open(study)
        && (0..study.vehicles.len()).all(|vehicle| vehicle_verdict(study, vehicle) == Verdict::Comfortable)
}

/// True if the verdict on a case is proven: where the gate as drawn is tight or does not let it in, that no maneuver of
/// this kind does better there. Never where it passes in comfort.
///
/// With a clearance a vehicle may start farther over in the road, so that nothing passes bare does not prove that
/// nothing does with clearance: both must be proven.
#[must_use]
pub fn case_is_proven(case: &Case) -> bool {
    let proven = |answer: &Answer| answer.ruled_out == Some(RuledOut::Proven);
    match case.drawn_gate {
        DrawnGate::Comfortable => false,
        DrawnGate::Tight => proven(&case.comfortable),
        DrawnGate::No => proven(&case.bare) && proven(&case.comfortable),
    }
}

/// True if the verdict on a vehicle is proven: from some direction of travel no maneuver that counts does better.
///
/// Drawn routes prove nothing: each is one path.
#[must_use]
pub fn vehicle_is_proven(study: &Study, vehicle: usize) -> bool {
    let verdict = vehicle_verdict(study, vehicle);
    study.of_vehicle(vehicle).travels.iter().any(|travel| no_better_from(study, travel, verdict))
}

/// True if it is proven that from one direction of travel no maneuver that counts does better than a verdict.
#[must_use]
pub fn no_better_from(study: &Study, travel: &TravelCases, verdict: Verdict) -> bool {
    let proven = |answer: &Answer| answer.ruled_out == Some(RuledOut::Proven);
    let no_better = |case: &Case| match verdict {
        Verdict::Comfortable => false,
        Verdict::Tight => proven(&case.comfortable),
        // A tight way that is proven to have no better is no proof that it does not pass.
        Verdict::OnlyBackingIn | Verdict::No => case.drawn_gate == DrawnGate::No && case_is_proven(case),
    };
    // All ways of a group must be proven not to do better.
    let closed =
        |group: &Vec<usize>| !group.is_empty() && group.iter().all(|case| no_better(&study.cases[*case]));
    travel.groups.iter().any(closed)
}
