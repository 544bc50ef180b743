//! The poses of a way in for the page that plays it: the position and steering of every unit, and the nearest
//! obstacle, measured by the same code that found the opening.
use super::decimal::{down, nearest, number};
use super::drawn_path;
use super::words::contact_words;
use crate::clearance::{CollisionModel, STEP_M, Surroundings, touches_within};
use crate::geometry::length::{Round, show, show_kept};
use crate::geometry::trig;
use crate::motion::{Direction, Path, Sample};
use crate::opening::{Case, Contact, Study, reported_m};
use serde_json::{Value, json};

/// Approximate number of poses per path: at walking speed some six a second; a script interpolates linearly between
/// two.
const POSES: f64 = 150.0;
/// Least spacing of poses: closer ones could not be distinguished.
const CLOSEST_M: f64 = 0.2;
/// Decimals of a position: a millimeter.
const PLACE_PLACES: u8 = 3;
/// Decimals of a heading in degrees: at the end of a 15-m trailer 3 mm.
const HEADING_PLACES: u8 = 2;
/// Decimals of gaps and stations: as in results.json.
const LENGTH_PLACES: u8 = 4;

/// The path through the gate as drawn, or the best attempt, for a script; that of the narrowest opening if neither is
/// known; `None` if there is no way in.
///
/// `poses` has for each pose: `at` (x, y and heading in degrees of every unit, site meters), `steer_deg` and
/// `hitch_deg` as numbers, the same in `words`, `station_m`, and, if anything stands within a meter, `gap_m` with its
/// two ends. `tight` is the index of the tightest pose.
pub(super) fn way(study: &Study, case: &Case) -> Option<Value> {
    let vehicle = study.vehicles.get(case.vehicle)?;
    let site = &study.site;
    let drawn_m = site.gate.opening_m();
    let (path, faces, opening, clearance) = match &case.drawn.witness {
        Some(path) => (path, site.gate.drawn_faces(), drawn_m, 0.0),
        // Nothing is known of the gate as drawn: use the narrowest opening.
        None => {
            let (comfort, path) = drawn_path(case)?;
            let answer = if comfort { &case.comfortable } else { &case.bare };
            let clearance = if comfort { study.clearance_m } else { 0.0 };
            (path, answer.faces_u_m?, reported_m(answer.opening_m?), clearance)
        }
    };
    let surroundings = Surroundings::new(site, None, drawn_m).with_leaves_for(opening);
    let frame = surroundings.frame;
    let model = CollisionModel::new(vehicle, surroundings, clearance, opening);
    let at_gate = frame.trajectory_to_gate(path);
    let mut samples = at_gate.path().samples(&model.chain, STEP_M);
    let first_leg = study.first_leg_driven(case, at_gate.path());
    samples.retain(|sample| sample.leg >= first_leg);
    let within_m = case.drawn.contacts_within_m();
    let told = if case.drawn.witness.is_some() { &case.drawn.contacts } else { &case.contacts };
    let stations: Vec<f64> = told.iter().map(|c| c.station_m).collect();
    let mut chosen = choose(&samples, &stations);
    let [from_m, to_m] = [samples.first(), samples.last()].map(|s| s.map_or(0.0, |s| s.station_m));
    let rolled = to_m - from_m;
    let wheelbase = vehicle.units.first().map_or(0.0, |unit| unit.wheelbase_m);
    let towed: Vec<&str> = vehicle.units.iter().skip(1).map(|unit| unit.name.as_str()).collect();
    let out = study.drives_out(case);
    let mut tight: Option<(f64, usize)> = None;
    let mut poses = Vec::new();
    // A way out is played as it is driven: from inside to the road.
    if out {
        chosen.reverse();
    }
    for (index, sample) in chosen.iter().enumerate() {
        let here = std::slice::from_ref(*sample);
        let touch = touches_within(&model, here, faces, within_m).into_iter().next();
        if let Some(touch) = &touch
            && tight.is_none_or(|(least, _)| touch.gap_m < least)
        {
            tight = Some((touch.gap_m, index));
        }
        let units = model.chain.unit_poses(&sample.state);
        let at: Vec<Value> = units[..vehicle.units.len()]
            .iter()
            .map(|pose| frame.to_site(pose))
            .flat_map(|pose| {
                let degrees = number(nearest(pose.heading.to_degrees(), HEADING_PLACES));
                [place(pose.position.x), place(pose.position.y), degrees]
            })
            .collect();
        // The wheel of a bicycle that rolls on the same path as the real ones: tan = wheelbase x curvature.
        let steer_deg = trig::atan2(wheelbase * sample.state.curvature, 1.0).to_degrees();
        let hitch_deg = sample.state.hitch[..towed.len()].iter().map(|h| h.to_degrees());
        let contact = touch.map(|touch| Contact::of(&touch, &frame));
        let driven = if out { to_m - sample.station_m } else { sample.station_m };
        let mut pose = json!({
            "at": at,
            "station_m": number(nearest(driven, LENGTH_PLACES)),
            "steer_deg": number(nearest(steer_deg, HEADING_PLACES)),
            "words": {
                "way": way_words(study, direction(path.path(), sample, out), [driven, rolled]),
                "steer": turned(steer_deg, "straight ahead"),
                "hitch": hitch_deg.clone().map(|h| turned(h, "in line")).collect::<Vec<String>>(),
                "gap": gap_words(study, contact.as_ref(), within_m),
            },
        });
        if !towed.is_empty() {
            pose["hitch_deg"] = hitch_deg.map(|h| number(nearest(h, HEADING_PLACES))).collect();
        }
        if let Some(contact) = &contact {
            pose["gap_m"] = number(down(contact.gap_m, LENGTH_PLACES));
            let ends = [contact.from.x, contact.from.y, contact.at.x, contact.at.y];
            pose["gap"] = ends.map(place).to_vec().into();
        }
        poses.push(pose);
    }
    Some(json!({ "towed": towed, "tight": tight.map_or(0, |(_, index)| index), "poses": poses }))
}

fn place(meters: f64) -> Value {
    number(nearest(meters, PLACE_PLACES))
}

/// Evenly spaced samples, and the ones at both ends of each leg and at the tight places.
fn choose<'a>(samples: &'a [Sample], stations: &[f64]) -> Vec<&'a Sample> {
    let [from_m, to_m] = [samples.first(), samples.last()].map(|s| s.map_or(0.0, |s| s.station_m));
    let step = ((to_m - from_m) / POSES).max(CLOSEST_M);
    let mut chosen: Vec<&Sample> = Vec::new();
    for (i, sample) in samples.iter().enumerate() {
        let ends = i == 0
            || i + 1 == samples.len()
            || samples[i - 1].leg != sample.leg
            || samples[i + 1].leg != sample.leg;
        let tight = stations.contains(&sample.station_m);
        let due = chosen.last().is_none_or(|last| sample.station_m - last.station_m >= step - 1e-9);
        if ends || tight || due {
            chosen.push(sample);
        }
    }
    chosen
}

/// Direction of driving at a sample of a path, or of the same path driven from its end to its start.
fn direction(path: &Path, sample: &Sample, from_its_end: bool) -> Direction {
    let direction = path.legs.get(sample.leg).map_or(Direction::Forward, |leg| leg.direction);
    if from_its_end { direction.opposite() } else { direction }
}

/// "backing, 23' of 80'".
fn way_words(study: &Study, direction: Direction, driven_of_m: [f64; 2]) -> String {
    let [driven, of] = driven_of_m.map(|m| show(m, study.site.units, Round::Nearest));
    let direction = match direction {
        Direction::Reverse => "backing",
        Direction::Forward => "forward",
    };
    format!("{direction}, {driven} of {of}")
}

/// "12° left": to whole degrees; no driver sees finer.
fn turned(degrees: f64, straight: &str) -> String {
    let whole = degrees.abs().round();
    if whole == 0.0 {
        return straight.to_owned();
    }
    format!("{whole}\u{b0} {}", if degrees > 0.0 { "left" } else { "right" })
}

/// "4 1/2" from the left post, by pickup mirror".
fn gap_words(study: &Study, contact: Option<&Contact>, within_m: f64) -> String {
    let units = study.site.units;
    let Some(contact) = contact else {
        return format!("more than {}", show(within_m, units, Round::Down));
    };
    let thing = contact_words(contact);
    if contact.gap_m < 0.0005 {
        return format!("touches {thing}, with {}", contact.part);
    }
    // The requested clearance, in the words of the request.
    let is_requested = (contact.gap_m - study.clearance_m).abs() < 0.001;
    let gap = show_kept(if is_requested { study.clearance_m } else { contact.gap_m }, units);
    format!("{gap} from {thing}, by {}", contact.part)
}
