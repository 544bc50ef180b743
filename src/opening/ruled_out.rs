//! Proof that the gate as drawn does not let a vehicle in, for answers that need more than it has.
//!
//! The search only finds paths; finding none narrower proves nothing. For a vehicle without a trailer a small proof
//! often does: no maneuver of the kind passes this one opening, where it is drawn. Leaves and the place to end at are
//! left out of it, which can only let more through.
use super::{Answer, Outcome, RuledOut};
use crate::bound::{ProofBudget, closes_as_drawn};
use crate::search::Problem;
use crate::site::Faces;

/// Distances between the lines of the proof: coarse ones often suffice, at a third of the work.
const STEPS_M: [f64; 2] = [0.3, 0.15];
/// Work limit of each, in intervals passed on: of the proofs in the examples all end within this.
const BUDGET: ProofBudget = ProofBudget { transfers: 250_000 };
/// A vehicle found to need no more than this many times the drawn opening is not tried to be proven: with these lines the
/// proof hardly ever comes closer to what is found.
const NEAR: f64 = 1.05;
/// A gate up to this many times what a path needs is checked against the proof, in builds with debug assertions.
const ONLY_JUST: f64 = 1.1;

/// Adds what is proven about the gate as drawn to an answer. `passes` if a path through that gate is known: then no
/// proof is run. Nor is one run that is not `worth_asking` for; what is known without a proof is added all the same.
pub(super) fn with_proof(problem: &Problem, answer: Answer, passes: bool, worth_asking: bool) -> Answer {
    let drawn = problem.surroundings.drawn_faces_u;
    let drawn_m = drawn.opening_m();
    let rigid = problem.vehicle.units.len() == 1;
    if passes {
        // A proof that denies a path that was found would be wrong: tests stop here. That would show first where the
        // gate is hardly wider than the path needs; checking everywhere takes too long.
        let only_just = answer.opening_m.is_some_and(|m| ONLY_JUST * m > drawn_m);
        debug_assert!(
            !(rigid && only_just && closes_as_drawn(problem, &STEPS_M[..1], BUDGET).0),
            "the gate as drawn is proven too narrow, but a path passes it"
        );
        return Answer { ruled_out: None, ..answer };
    }
    // Proven already: too narrow for the body whatever the maneuver, or by the proof over all openings.
    let too_narrow = answer.at_least_m > drawn_m + 1e-9;
    if too_narrow || matches!(answer.outcome, Outcome::Impossible(_)) {
        return Answer { ruled_out: Some(RuledOut::Proven), ..answer };
    }
    // What fits between the drawn posts is stopped by the leaves, which the proof leaves out.
    let fits = |faces: Faces| faces.within(drawn, 1e-9);
    let times_drawn = answer.opening_m.map_or(f64::INFINITY, |m| m / drawn_m);
    let near = times_drawn > 1.0 && times_drawn < NEAR;
    if !worth_asking || !rigid || near || answer.faces_u_m.is_some_and(fits) {
        return Answer { ruled_out: Some(RuledOut::NotProven), ..answer };
    }
    let (closed, work) = closes_as_drawn(problem, &STEPS_M, BUDGET);
    let ruled_out = Some(if closed { RuledOut::Proven } else { RuledOut::NotProven });
    Answer { ruled_out, work: answer.work + work, ..answer }
}

/// Proof status of a drawn route: it is one path, and no proof is run.
pub(super) const fn unproven(passes: bool) -> Option<RuledOut> {
    if passes { None } else { Some(RuledOut::NotProven) }
}

#[cfg(test)]
mod tests {
    use super::super::reoptimize::PassageProblem;
    use super::super::scene::scene;
    use super::super::starts::lanes;
    use super::*;
    use crate::site::Maneuver;

    /// Result for an answer that needs this much, its middle where the drawn one is, for a truck 2.44 m wide driving in
    /// to a gate of 3 m beside a road; and true if the proof was run.
    fn told(
        outcome: Outcome,
        half_m: Option<f64>,
        at_least_m: f64,
        passes: bool,
    ) -> (Option<RuledOut>, bool) {
        let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
            { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
              "geometry": { "type": "LineString", "coordinates": [[-80, -5], [80, -5]] } },
            { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
              "geometry": { "type": "LineString", "coordinates": [[-1.5, 0], [1.5, 0]] } } ] }"#;
        let site = crate::site::read(plan, "plan").unwrap();
        let scene = scene(&site, site.travels().swap_remove(0));
        let truck = crate::vehicle::find("box-truck-26").unwrap();
        let lanes = lanes(&scene, &truck, [0.0, 0.3]);
        let ask = PassageProblem::new(&site, &scene, lanes, (&truck, Maneuver::DriveIn), 0);
        let answer = Answer {
            outcome,
            opening_m: half_m.map(|half_m| 2.0 * half_m),
            at_least_m,
            faces_u_m: half_m.map(|half_m| Faces::new(-half_m, half_m)),
            tightest: None,
            witness: None,
            ruled_out: None,
            work: 7,
        };
        let problem = ask.problem(&scene.surroundings, 0.0, None);
        let idle = with_proof(&problem, answer.clone(), passes, false);
        let told = with_proof(&problem, answer, passes, true);
        // Where the proof is not worth running, only what takes no work is reported.
        let asked = told.work > 7;
        assert_eq!((idle.ruled_out, idle.work), (if asked { OPEN } else { told.ruled_out }, 7));
        (told.ruled_out, asked)
    }

    const PROVEN: Option<RuledOut> = Some(RuledOut::Proven);
    const OPEN: Option<RuledOut> = Some(RuledOut::NotProven);

    #[test]
    fn the_proof_is_asked_only_where_it_has_a_say() {
        let gave_up = || Outcome::GaveUp("nothing passes".to_owned());
        assert_eq!(told(Outcome::Found, Some(2.2), 2.4, false), (PROVEN, true));
        assert_eq!(told(gave_up(), None, 2.4, false), (PROVEN, true));
        // Known already.
        assert_eq!(told(gave_up(), None, 3.1, false), (PROVEN, false));
        let never = Outcome::Impossible("the wall".to_owned());
        assert_eq!(told(never, None, 2.4, false), (PROVEN, false));
        // Leaves must be what stops it.
        assert_eq!(told(Outcome::Found, Some(1.4), 2.4, false), (OPEN, false));
        // Hardly more than drawn.
        assert_eq!(told(Outcome::Found, Some(1.51), 2.4, false), (OPEN, false));
        // A wide gate that is passed is put to no proof.
        assert_eq!(told(Outcome::Found, Some(1.2), 2.4, true), (None, false));
    }

    #[test]
    #[cfg_attr(debug_assertions, should_panic(expected = "a path passes it"))]
    fn a_proof_against_a_path_is_an_error_in_tests() {
        assert_eq!(told(Outcome::Found, Some(1.45), 2.4, true).0, None);
    }
}
