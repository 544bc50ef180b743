//! Notes of a study on vehicles wider than their lane, and on directions that it leaves out since no gate would mend them.
use super::reoptimize::PassageProblem;
use super::scene::{Scene, scene};
use super::starts::{body_width, lanes};
use super::visits::studied;
use super::{Case, Outcome, StudyOptions, Wanted};
use crate::geometry::parallel::*;
use crate::search::Effort;
use crate::site::{Arrangement, Maneuver, Site, Travel};
use crate::vehicle::Vehicle;
use std::collections::BTreeSet;

/// Notes on vehicles wider than a lane that they come in.
pub(super) fn wider_than_their_lane(wanted: &[Wanted], scenes: &[Scene]) -> Vec<String> {
    let narrowest_m = |wanted: &Wanted| {
        let asked = |scene: &&Scene| wanted.asks_for(&scene.travel);
        // A vehicle of which only a drawn route is studied may come by any.
        let of_route = !scenes.iter().any(|scene| asked(&scene));
        let lanes = scenes.iter().filter(|scene| of_route || asked(scene));
        lanes.map(|scene| scene.travel.lane.width_m).fold(f64::INFINITY, f64::min)
    };
    let wide = wanted.iter().filter(|wanted| body_width(&wanted.vehicle) > narrowest_m(wanted) + 1e-9);
    wide.map(|wanted| {
        format!("{} is wider than the lane it comes in; it starts with its outer side at the road's edge or nearer to the middle of the road.", wanted.vehicle.title)
    })
    .collect()
}

/// Leaves out the cases of a vehicle from a road other than the nearest where the gate is not what stops it: where no way in
/// was found at any opening, and none even with nothing standing, while the vehicle gets in from the nearest road. A
/// junction drawn with square corners is the usual reason. Directions that were asked for by name stay. Returns a note on
/// each.
pub(super) fn leave_out_what_no_gate_mends(
    site: &Site,
    wanted: &[Wanted],
    options: &StudyOptions,
    cases: &mut Vec<Case>,
) -> Vec<String> {
    let travels = site.travels();
    let found = |case: &&Case| case.bare.outcome == Outcome::Found;
    let get_in: BTreeSet<(usize, &str)> =
        cases.iter().filter(found).map(|case| (case.vehicle, case.travel.as_str())).collect();
    let comes_along_the_first = |vehicle: usize| {
        travels.iter().any(|travel| travel.road == 0 && get_in.contains(&(vehicle, travel.word.as_str())))
    };
    let questions: BTreeSet<(usize, usize)> = cases
        .iter()
        .filter_map(|case| {
            let index = travels.iter().position(|travel| travel.word == case.travel)?;
            Some((case.vehicle, index))
        })
        .filter(|(vehicle, index)| {
            travels[*index].road > 0
                && wanted[*vehicle].travels.is_empty()
                && !get_in.contains(&(*vehicle, travels[*index].word.as_str()))
                && comes_along_the_first(*vehicle)
        })
        .collect();
    let questions: Vec<(usize, usize)> = questions.into_iter().collect();
    let open = with_nothing_standing(site);
    let answers: Vec<bool> = questions
        .par_iter()
        .map(|(vehicle, index)| {
            let maneuvers: Vec<Maneuver> = studied(&wanted[*vehicle].visits);
            maneuvers.into_iter().any(|maneuver| {
                gets_in(&open, &travels[*index], &wanted[*vehicle].vehicle, maneuver, options)
            })
        })
        .collect();
    let stuck =
        questions.into_iter().zip(answers).filter(|(_, gets_in)| !gets_in).map(|(question, _)| question);
    let mut notes = Vec::new();
    for (vehicle, index) in stuck {
        let word = &travels[index].word;
        cases.retain(|case| case.vehicle != vehicle || case.travel != *word);
        notes.push(format!(
            "{}, {word}, is left out: even with no gate, fence or obstacle, no way from there was found on the ground as \
             drawn. If the corners of the junction are rounded, draw them as a drive.",
            wanted[vehicle].vehicle.title
        ));
    }
    notes
}

/// A site without fences, obstacles, leaves and spots.
fn with_nothing_standing(site: &Site) -> Site {
    let mut open = Site { fences: Vec::new(), obstacles: Vec::new(), spots: Vec::new(), ..site.clone() };
    open.gate.leaves.arrangement = Arrangement::None;
    open
}

fn gets_in(
    site: &Site,
    travel: &Travel,
    vehicle: &Vehicle,
    maneuver: Maneuver,
    options: &StudyOptions,
) -> bool {
    let scene = scene(site, travel.clone());
    let lanes = lanes(&scene, vehicle, [0.0, 0.0]);
    let asked = PassageProblem::new(site, &scene, lanes, (vehicle, maneuver), options.shunts);
    let effort = Effort { finest: 0, ..options.effort };
    asked.narrowest(&scene.surroundings, 0.0, effort, &[]).found.is_some()
}
