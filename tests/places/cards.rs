//! Driving cards at random places, driven as they are written and judged like any other path: at the gate as drawn,
//! with the clearance that they state.
use super::common::cards::as_written;
use super::generator::{Place, read};
use super::judge::{Fault, Judge};
use super::{options, places, settle, study_of};
use wideenough::motion::{Path, Segment, Trajectory};
use wideenough::opening::{Answer, Card, DrawnGate, Driving, Outcome, Study, driving};

/// Largest gap judged: the judge measures gaps no farther than 0.7 m.
const JUDGED_M: f64 = 0.65;

/// A study of nothing but one path at the gate as drawn, with its stated clearance.
fn said(study: &Study, case: usize, path: Path, clearance_m: f64) -> Study {
    let mut case = study.cases[case].clone();
    let gate = &study.site.gate;
    let nothing = Answer::new(Outcome::GaveUp(String::new()), case.bare.at_least_m);
    let mut answer = Answer::new(Outcome::Found, case.bare.at_least_m);
    answer.opening_m = Some(gate.opening_m());
    answer.faces_u_m = Some(gate.drawn_faces());
    answer.witness = Some(Trajectory::new(path));
    (case.bare, case.comfortable) = if clearance_m > 0.0 { (nothing, answer) } else { (answer, nothing) };
    let mut said = study.clone();
    (said.cases, said.clearance_m) = (vec![case], clearance_m);
    said
}

/// Judges one card: as it is written, and with the late steering it allows.
fn judged(place: &Place, study: &Study, told: &Driving, card: &Card) -> Vec<Fault> {
    let judge = Judge::new(&study.site, &place.plan);
    let vehicle = &study.vehicles[study.cases[told.case].vehicle];
    let start = card.way.witness.as_ref().expect("a path").path().start;
    let kept_m = card.way.reported_clearance_m().expect("a clearance").min(JUDGED_M);
    let name = format!("{}, a card", place.seed);
    let path = as_written(vehicle, start, card, 0.0);
    let mut faults = judge.faults(&said(study, told.case, path, kept_m), &name);
    let stops = card.steps.iter().any(|step| step.after_stop);
    if let Some(window) = told.window.filter(|_| !stops) {
        let mut late = as_written(vehicle, start, card, window.late_steering_m);
        // Driven on until it is inside.
        let last = late.legs.last_mut().expect("a leg");
        last.segments.push(Segment::arc(3.0, last.segments.last().map_or(0.0, |s| s.curvature_end)));
        let name = format!("{}, steered {} m late", place.seed, window.late_steering_m);
        let of_late = judge.faults(&said(study, told.case, late, 0.0), &name);
        // Ground behind the gate does not count here: it is for a driver who no longer steers by the card.
        faults.extend(of_late.into_iter().filter(|fault| !fault.kind.contains("tire")));
    }
    faults
}

/// Of the ways in that pass the gate as drawn three in four have a card, and every card keeps what it states.
#[test]
fn cards_do_what_they_say() {
    let (mut ways, mut cards, mut faults) = (0, 0, Vec::new());
    for place in places(9) {
        let site = read(&place.plan).expect("a sound plan");
        let study = study_of(&place, &site);
        for told in driving(&study, &options(), &|_| ()) {
            let case = told.of(&study);
            assert_ne!(case.drawn_gate, DrawnGate::No);
            ways += 1;
            let name = format!(
                "{}: {} {} {}, {} steps",
                place.seed,
                study.vehicles[case.vehicle].name,
                case.travel,
                case.maneuver.word(),
                told.card.as_ref().map_or(0, |card| card.steps.len())
            );
            let Some(card) = &told.card else {
                println!("{name}: no card; {:?} m to spare", case.drawn.clearance_m);
                continue;
            };
            let (kept, best) = (card.way.clearance_m, case.drawn.clearance_m);
            println!("{name}: keeps {kept:.3?} of {best:.3?}");
            faults.extend(judged(&place, &study, &told, card));
            cards += 1;
        }
    }
    println!("{cards} cards of {ways} ways");
    settle("cards", &faults);
    assert!(4 * cards >= 3 * ways && cards > 0, "{cards} cards of {ways} ways");
}
