//! Routes that the user drew, checked as drawn: no search, only the need of that very path.
use super::limits::limits;
use super::recheck::{look_again, with_contacts};
use super::ruled_out::unproven;
use super::study::{answer, contacts};
use super::{Answer, Case, DrawnGate, Outcome, drawn_clearance};
use crate::clearance::{CollisionModel, FixedPiece, Inspection, Surroundings, Touch, inspect, measure};
use crate::geometry::length::{Round, Units, show};
use crate::motion::{Chain, Path, Trajectory, route};
use crate::search::{EDGE_TOLERANCE_M, Finding, least_width};
use crate::site::{Anchor, Maneuver, Route, RouteTrack, Site, Travel};
use crate::vehicle::Vehicle;

/// Case of one drawn route, and notes about it. `surroundings` are the site's as the route's travel sees it.
pub(super) fn case(
    site: &Site,
    drawn: &Route,
    (index, vehicle): (usize, &Vehicle),
    (travel, surroundings): (&Travel, &Surroundings),
    clearance_m: f64,
    notes: &mut Vec<String>,
) -> Case {
    let last_forward = drawn.legs.len() % 2 == 1;
    let maneuver = if last_forward { Maneuver::DriveIn } else { Maneuver::BackIn };
    let path = match drawn.track {
        RouteTrack::RearAxle => route::along_rear_axle(&drawn.legs),
        RouteTrack::FrontAxle => route::along_front_axle(&drawn.legs, vehicle.units[0].wheelbase_m),
    };
    let nothing = |clearance_m| gave_up(vehicle, clearance_m, String::new());
    let mut case = Case {
        route: Some(drawn.label.clone()),
        ..Case::new(index, travel.word.clone(), maneuver, nothing(0.0), nothing(clearance_m))
    };
    let path = match path {
        Ok(path) => surroundings.frame.trajectory_to_gate(&Trajectory::new(path)),
        Err(why) => {
            case.bare = gave_up(vehicle, 0.0, why.to_string());
            case.comfortable = gave_up(vehicle, clearance_m, why.to_string());
            return case;
        }
    };
    if let Some(why) = too_sharp(vehicle, path.path(), site.units) {
        case.bare = gave_up(vehicle, 0.0, why.clone());
        case.comfortable = gave_up(vehicle, clearance_m, why);
        return case;
    }
    if !path.path().limit_faults(vehicle).is_empty() {
        notes.push(format!(
            "Route \"{}\" needs the wheels turned faster than {} can while rolling; a driver would turn them a \
             little earlier.",
            drawn.label, vehicle.title
        ));
    }
    let drawn_opening = site.gate.opening_m();
    let ask = |clearance_m: f64| {
        let found = look_again(vehicle, surroundings, clearance_m, &path);
        let Some(found) = found else {
            let seen = look(vehicle, surroundings, clearance_m, path.path());
            return (
                gave_up(vehicle, clearance_m, why_not(&seen, surroundings, clearance_m, site.units)),
                None,
                false,
            );
        };
        let mut as_drawn = surroundings.with_leaves_for(drawn_opening);
        as_drawn.anchor = Anchor::Center;
        let model = CollisionModel::new(vehicle, as_drawn, clearance_m, drawn_opening);
        let seen = measure(&model, path.path());
        let passes = seen.passes(EDGE_TOLERANCE_M) && seen.opening_m <= drawn_opening + 1e-9;
        let found = with_contacts(vehicle, surroundings, clearance_m, found);
        let shown = (contacts(&found.inspection, &surroundings.frame), limits(vehicle, &found, clearance_m));
        let at_least_m = least_width(vehicle) + 2.0 * clearance_m;
        let finding =
            Finding { found: Some(found), at_least_m, stopped_by: None, starts: Vec::new(), work: 0 };
        (answer(&finding, &surroundings.frame), Some(shown), passes)
    };
    let (bare, bare_shown, tight) = ask(0.0);
    let (comfortable, shown, comfort) = ask(clearance_m);
    (case.contacts, case.limits) = shown.or(bare_shown).unwrap_or_default();
    case.drawn_gate = match (comfort, tight) {
        (true, _) => DrawnGate::Comfortable,
        (false, true) => DrawnGate::Tight,
        _ => DrawnGate::No,
    };
    if bare.outcome == Outcome::Found {
        case.drawn = drawn_clearance::of_route(vehicle, surroundings, &path, case.drawn_gate, clearance_m);
    }
    case.bare = Answer { ruled_out: unproven(case.drawn_gate != DrawnGate::No), ..bare };
    case.comfortable =
        Answer { ruled_out: unproven(case.drawn_gate == DrawnGate::Comfortable), ..comfortable };
    case
}

fn look(vehicle: &Vehicle, surroundings: &Surroundings, clearance_m: f64, path: &Path) -> Inspection {
    inspect(&CollisionModel::new(vehicle, surroundings.clone(), clearance_m, f64::INFINITY), path)
}

fn gave_up(vehicle: &Vehicle, clearance_m: f64, why: String) -> Answer {
    let least_m = least_width(vehicle) + 2.0 * clearance_m;
    Answer { ruled_out: unproven(false), ..Answer::new(Outcome::GaveUp(why), least_m) }
}

/// Describes a bend sharper than full lock, or a hitch beyond its limit.
fn too_sharp(vehicle: &Vehicle, path: &Path, units: Units) -> Option<String> {
    let shown = |m: f64| show(m, units, Round::Nearest);
    let segments = path.legs.iter().flat_map(|leg| &leg.segments);
    let sharpest = segments.map(|s| s.curvature_start.abs().max(s.curvature_end.abs())).fold(0.0, f64::max);
    if sharpest > vehicle.steering.max_curvature * (1.0 + 1e-6) {
        return Some(format!(
            "as drawn it turns on a {} radius; the vehicle can turn no tighter than {}",
            shown(1.0 / sharpest),
            shown(1.0 / vehicle.steering.max_curvature)
        ));
    }
    let chain = Chain::of(vehicle);
    let folds = path.samples(&chain, 0.1).into_iter().find_map(|sample| {
        let over = vehicle
            .units
            .iter()
            .zip(sample.state.hitch)
            .find(|(unit, phi)| unit.hitch.is_some_and(|h| phi.abs() > h.max_angle_rad));
        over.map(|(_, phi)| (sample.station_m, phi))
    });
    folds.map(|(station, phi)| {
        format!(
            "the hitch folds to {:.0} degrees, beyond its limit, {} from the start",
            phi.abs().to_degrees(),
            shown(station)
        )
    })
}

/// Reason that a drawn path passes no opening.
fn why_not(seen: &Inspection, surroundings: &Surroundings, clearance_m: f64, units: Units) -> String {
    let shown = |m: f64| show(m, units, Round::Nearest);
    if !seen.ends_beyond {
        return "as drawn it does not end wholly inside the gate".to_owned();
    }
    if seen.ground_m < -EDGE_TOLERANCE_M {
        return format!(
            "as drawn the tires leave the road or the drive, by {}",
            show(-seen.ground_m, units, Round::Up)
        );
    }
    // Things that move with the opening are no reason why no opening lets it through.
    let fixed = |touch: &&Touch| {
        let is_it = |piece: &FixedPiece| piece.material.goes_by(touch.thing, &touch.what);
        surroundings.standing.iter().any(is_it)
    };
    let thing = seen.touches.iter().find(fixed);
    // Being near is not yet being too near.
    match thing.filter(|_| seen.margin_m < 0.0) {
        Some(t) if t.gap_m <= 0.0 => {
            format!("as drawn the {} touches the {}, {} from the start", t.part, t.what, shown(t.station_m))
        }
        Some(t) => format!(
            "as drawn the {} comes within {} of the {}, closer than {}, {} from the start",
            t.part,
            show(t.gap_m, units, Round::Down),
            t.what,
            show(clearance_m, units, Round::Nearest),
            shown(t.station_m)
        ),
        None => "as drawn it needs the post that stays put to move".to_owned(),
    }
}
