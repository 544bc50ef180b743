//! Driving instructions for the gate as drawn: the steps driven again as they are written, by a plain integration
//! (`common::plain`), keep what the card says; so do the places of the window, and late steering just does.
use crate::common::plain::{FAR_M, drive, look, ring_to_gate, standing};
use crate::common::{box_truck, cards, gooseneck, open_place, pickup};
use wideenough::geometry::{Outline, Point, Pose, Units};
use wideenough::motion::{Direction, Leg, Path, Segment, State};
use wideenough::opening::{
    Card, DrawnGate, Driving, Reference, Study, StudyOptions, Wanted, Window, driving, study,
};
use wideenough::report;
use wideenough::site::{Arrangement, Faces, Gate, Maneuver, Side, Site};
use wideenough::vehicle::Vehicle;

const INCH_M: f64 = 0.0254;

fn asked(site: Site, vehicle: &Vehicle, maneuver: Maneuver) -> Study {
    let wanted = Wanted { vehicle: vehicle.clone(), visits: vec![maneuver.into()], travels: Vec::new() };
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let mut found = study(site, &[wanted], &options, &|_| ());
    found.driving = driving(&found, &options, &|_| ());
    found
}

/// A card's path in the gate's frame, as it is written.
fn as_written(vehicle: &Vehicle, gate: &Gate, card: &Card, late_m: f64) -> Path {
    let start = card.way.witness.as_ref().expect("a path").path().start;
    let at = ring_to_gate(gate, &Outline(vec![start.lead.position]))[0];
    let line = gate.right - gate.left;
    let lead = Pose { position: at, heading: start.lead.heading - libm::atan2(line.y, line.x) };
    cards::as_written(vehicle, State { lead, ..start }, card, late_m)
}

/// Least gap of a path to everything standing with the gate as drawn, and whether it ends wholly behind the gate's
/// posts.
fn driven(site: &Site, vehicle: &Vehicle, path: &Path) -> (f64, bool) {
    let moments = drive(vehicle, path);
    let drawn_m = site.gate.opening_m();
    let lists = standing(site, Faces::new(-0.5 * drawn_m, 0.5 * drawn_m), drawn_m);
    let least = lists.iter().map(|things| look(vehicle, &moments, things, 0.0).least_m).fold(FAR_M, f64::min);
    let last = moments.last().expect("a moment");
    let parts = vehicle.units.iter().zip(&last.units).flat_map(|(unit, stand)| {
        unit.parts.iter().flat_map(|part| &part.outline.0).map(|p| stand.place(*p).y)
    });
    let behind_v = 0.5 * site.gate.post.depth_m;
    (least, parts.fold(f64::INFINITY, f64::min) > behind_v)
}

fn told(study: &Study) -> Vec<(&Driving, &Card)> {
    study.driving.iter().filter_map(|driving| Some((driving, driving.card.as_ref()?))).collect()
}

/// Every card's steps, driven as written, get through with the stated gap; its lengths are whole inches, its turns
/// whole tenths, its steps five to nine with where to line up, to begin and to stop.
#[test]
fn steps_driven_as_written_keep_what_they_say() {
    let mut count = 0;
    for (vehicle, setback, opening_m) in
        [(pickup(), 6.0, 4.3), (box_truck(), 9.0, 5.2), (gooseneck(), 12.0, 6.1)]
    {
        for maneuver in [Maneuver::DriveIn, Maneuver::BackIn] {
            let mut site = open_place(setback, opening_m, Arrangement::Double);
            site.units = Units::Feet;
            let study = asked(site, &vehicle, maneuver);
            for (driving, card) in told(&study) {
                let path = as_written(&vehicle, &study.site.gate, card, 0.0);
                let (least_m, inside) = driven(&study.site, &vehicle, &path);
                let said_m = card.way.reported_clearance_m().expect("a clearance");
                let name = format!("{} {maneuver:?} {}", vehicle.name, driving.of(&study).travel);
                assert!(inside, "{name} does not end inside");
                assert!(least_m >= said_m.min(FAR_M) - 1e-4, "{name}: {least_m} driven, {said_m} said");
                assert!(least_m <= said_m + 0.03 || least_m >= FAR_M, "{name}: {least_m}, {said_m} said");
                let best_m = driving.of(&study).drawn.clearance_m.expect("it passes");
                assert!(said_m <= best_m + 0.025, "{name}: {said_m} beats the best known {best_m}");
                for step in &card.steps {
                    let inches = step.roll_m / INCH_M;
                    assert!((inches - inches.round()).abs() < 1e-6, "{name}: {inches} in");
                    assert!(step.wheel_tenths.is_none_or(|tenths| tenths.abs() <= 10));
                }
                let edge = card.line_up.from_edge_m / INCH_M;
                assert!((edge - edge.round()).abs() < 1e-3, "{name}: {edge} in from the edge");
                assert!(card.steps.len() + 3 <= 9, "{name}: {} steps", card.steps.len() + 3);
                count += 1;
            }
        }
    }
    assert!(count >= 9, "only {count} cards of 12 cases");
}

/// A comfortable path has a card that is comfortable, though a gate hardly wider than it needs leaves little choice.
#[test]
fn a_comfortable_card_keeps_the_clearance() {
    for vehicle in [pickup(), box_truck()] {
        let wide = asked(open_place(9.0, 6.5, Arrangement::None), &vehicle, Maneuver::DriveIn);
        let needed_m = wide.needs[0].comfortable_opening_m.expect("it gets in");
        let study = asked(open_place(9.0, needed_m + 0.1, Arrangement::None), &vehicle, Maneuver::DriveIn);
        for study in [wide, study] {
            let all = told(&study);
            assert_eq!(all.len(), 2);
            for (driving, card) in all {
                assert_eq!(driving.of(&study).drawn_gate, DrawnGate::Comfortable);
                let kept_m = card.way.clearance_m.expect("a clearance");
                assert!(kept_m >= study.clearance_m, "{}: {kept_m}", vehicle.name);
            }
        }
    }
}

/// A gate as narrow as possible forgives nothing but what costs no room; a wider one never forgives less.
#[test]
#[ignore = "a study of every width: .ci/run runs it with every case"]
fn a_wider_gate_forgives_more() {
    let vehicle = box_truck();
    let at = |opening_m: f64| {
        let study = asked(open_place(6.0, opening_m, Arrangement::None), &vehicle, Maneuver::DriveIn);
        let windows: Vec<[f64; 3]> = study
            .driving
            .iter()
            .filter_map(|driving| driving.window)
            .map(|w| [w.earlier_m + w.later_m, w.left_m + w.right_m, w.late_steering_m])
            .collect();
        (study.needs[0].bare_opening_m, windows)
    };
    let (needed_m, _) = at(8.0);
    let needed_m = needed_m.expect("it gets in");
    let (_, least) = at(needed_m + 0.001);
    assert!(!least.is_empty() && least.iter().all(|w| w[2] < 0.1), "{least:?}");
    let wider: Vec<Vec<[f64; 3]>> = [0.4, 0.8, 1.6].map(|more| at(needed_m + more).1).into();
    for pair in wider.windows(2) {
        assert_eq!(pair[0].len(), 2);
        for (less, more) in pair[0].iter().zip(&pair[1]) {
            // Each window is found to two inches, and each gate has its own card, which may begin elsewhere.
            assert!(less.iter().zip(more).all(|(a, b)| *b >= 0.85 * a - 0.15), "{less:?} {more:?}");
        }
    }
    assert!(wider[2].iter().zip(&wider[0]).all(|(more, less)| more[2] > less[2]), "{wider:?}");
}

/// For the card's own path, steering late by the amount of the window still touches nothing and ends inside; a little
/// later, if that was not the largest amount tried, it does not.
#[test]
fn late_steering_just_passes() {
    let vehicle = pickup();
    let study = asked(open_place(6.0, 4.3, Arrangement::None), &vehicle, Maneuver::DriveIn);
    let mut count = 0;
    for (driving, card) in told(&study) {
        let late_m = driving.window.expect("a window").late_steering_m;
        let run = |late_m: f64| {
            let mut path = as_written(&vehicle, &study.site.gate, card, late_m);
            // Driven on until it is inside.
            let last = &mut path.legs.last_mut().expect("a leg").segments;
            last.push(Segment::arc(3.0, 0.0));
            driven(&study.site, &vehicle, &path).0
        };
        assert!(run(late_m) > 0.0, "{late_m} late touches");
        assert!(late_m < 3.0 && run(late_m + 0.06) <= 0.0, "{late_m}: {}", run(late_m + 0.06));
        count += 1;
    }
    assert_eq!(count, 2);
}

/// A mirrored place in left-hand traffic has the mirrored card.
#[test]
fn a_mirrored_place_has_the_mirrored_card() {
    let vehicle = box_truck();
    let site = open_place(9.0, 5.2, Arrangement::None);
    let mut mirrored = site.clone();
    let flip = |p: &mut Point| p.x = -p.x;
    for road in &mut mirrored.roads {
        road.surface.outer.0.iter_mut().for_each(flip);
        road.surface.outer.0.reverse();
        road.centerline.iter_mut().for_each(flip);
    }
    for fence in &mut mirrored.fences {
        fence.line.iter_mut().for_each(flip);
    }
    mirrored.drives_on = Side::Left;
    assert!(mirrored.obstacles.is_empty() && mirrored.drives.is_empty());
    let (one, other) =
        (asked(site, &vehicle, Maneuver::DriveIn), asked(mirrored, &vehicle, Maneuver::DriveIn));
    let turns = |study: &Study, travel: &str, sign: i8| -> Vec<(i8, f64)> {
        let all = told(study);
        let (_, card) = all.iter().find(|(d, _)| d.of(study).travel == travel).expect("a card");
        card.steps.iter().map(|s| (sign * s.wheel_tenths.unwrap_or(0), s.roll_m)).collect()
    };
    for (travel, opposite) in [("eastbound", "westbound"), ("westbound", "eastbound")] {
        let (a, b) = (turns(&one, travel, 1), turns(&other, opposite, -1));
        assert_eq!(a.len(), b.len(), "{a:?} {b:?}");
        for (a, b) in a.iter().zip(&b) {
            assert!(a.0 == b.0 && (a.1 - b.1).abs() < 2.5 * INCH_M, "{a:?} {b:?}");
        }
    }
}

/// The landmark at the front bumper, measured again: at the start of the first turn the post is as far ahead as the
/// card says.
#[test]
fn landmarks_measured_again() {
    let vehicle = box_truck();
    let study = asked(open_place(9.0, 5.2, Arrangement::None), &vehicle, Maneuver::DriveIn);
    let mut count = 0;
    for (_, card) in told(&study) {
        let gate = &study.site.gate;
        let full = as_written(&vehicle, gate, card, 0.0);
        let marks = std::iter::once(&card.line_up.until).chain(card.steps.iter().map(|step| &step.until));
        let ends = card.steps.iter().map(|step| step.station_m).chain([f64::INFINITY]);
        for (mark, station_m) in marks.zip(ends) {
            let Some(mark) = mark else { continue };
            if mark.reference != Reference::FrontBumper || !mark.thing.ends_with("post") {
                continue;
            }
            // Driven up to there by the plain integration.
            let stand = &drive(&vehicle, &cut(&full, station_m)).pop().expect("a moment").units[0];
            let post = ring_to_gate(gate, &Outline(vec![mark.at]))[0];
            let ahead = (post.x - stand.at.x) * stand.along.x + (post.y - stand.at.y) * stand.along.y;
            let lead = &vehicle.units[0];
            let short_m = ahead - lead.wheelbase_m - lead.front_overhang_m;
            assert!((short_m - mark.short_m).abs() < 0.03, "{short_m} measured, {} said", mark.short_m);
            count += 1;
        }
    }
    assert!(count >= 2, "only {count} landmarks");
}

/// A path up to a station.
fn cut(path: &Path, station_m: f64) -> Path {
    let mut left = station_m;
    let mut legs = Vec::new();
    for leg in &path.legs {
        let mut segments = Vec::new();
        for s in &leg.segments {
            let length_m = s.length_m.min(left);
            if length_m > 0.0 {
                let change = (s.curvature_end - s.curvature_start) * (length_m / s.length_m);
                let curvature_end = s.curvature_start + change;
                segments.push(Segment { length_m, curvature_start: s.curvature_start, curvature_end });
            }
            left -= length_m;
        }
        legs.push(Leg { direction: leg.direction, segments });
    }
    Path { start: path.start, legs }
}

/// With the steering ratio of the vehicle file the words give turns of the wheel: at a ratio of 18 a lock of 36 degrees
/// takes 1.8 turns, so half of it nearly one.
#[test]
fn a_steering_ratio_is_told_in_turns_of_the_wheel() {
    let file = |ratio: &str| {
        format!(
            r#"{{ "title": "Farm truck", "steering": {{ "lock_angle_deg": 36, "ratio": {ratio} }}, "units": [ {{
            "name": "truck", "wheelbase": "3.6 m", "front_overhang": "0.9 m", "rear_overhang": "1.2 m", "width": "2 m",
            "height": "2 m" }} ] }}"#
        )
    };
    let read = |ratio: &str| wideenough::vehicle::read(&file(ratio), "farm.json").map_err(|e| e.to_string());
    assert_eq!(read("18").expect("a sound file").steering.ratio, Some(18.0));
    let faults = read("180").expect_err("no vehicle steers so");
    assert!(faults.contains("steering ratios are between 2 and 60"), "{faults}");
    let mut vehicle = pickup();
    vehicle.steering.ratio = Some(18.0);
    let study = asked(open_place(6.0, 4.3, Arrangement::None), &vehicle, Maneuver::DriveIn);
    for driving in &study.driving {
        let card = driving.card.as_ref().expect("a card");
        let words = wideenough::drawing::driving_words(&study, driving);
        let tenths = card.steps[0].wheel_tenths.expect("it turns").unsigned_abs();
        let turns = 18.0 * vehicle.steering.lock_angle_rad.to_degrees() / 360.0 * f64::from(tenths) / 10.0;
        let whole = (turns * 4.0).round() / 4.0;
        let said = words[2].split_once('(').expect("in brackets").1;
        let said = said.split_once(" turn").expect("turns").0;
        let parts = said.split(' ').map(|part| match part.split_once('/') {
            Some((a, b)) => a.parse::<f64>().expect("a number") / b.parse::<f64>().expect("a number"),
            None => part.parse::<f64>().expect("a number"),
        });
        let parts: f64 = parts.sum();
        assert!((parts - whole).abs() < 1e-9, "{said} said, {turns} meant");
    }
}

/// results.json, the page and the drawing contain the same steps; a study without the request contains none.
#[test]
fn written_everywhere_alike() {
    let vehicle = pickup();
    let study = asked(open_place(6.0, 4.3, Arrangement::Double), &vehicle, Maneuver::DriveIn);
    let value = report::value(&study);
    let page = report::page(&study);
    for driving in &study.driving {
        let told = &value["cases"][driving.case]["how_to_drive"];
        let words: Vec<&str> =
            told["words"].as_array().expect("words").iter().filter_map(|w| w.as_str()).collect();
        let card = driving.card.as_ref().expect("a card");
        assert_eq!(told["steps"].as_array().expect("steps").len(), card.steps.len());
        assert!(words.len() >= card.steps.len() + 5, "{words:?}");
        let file = told["drawing"].as_str().expect("a drawing");
        assert!(value["files"].as_array().expect("files").iter().any(|f| f == file));
        let svg = wideenough::drawing::driving_svg(&study, driving).expect("a drawing");
        let plain = |text: &str| text.replace('\u{a0}', " ").replace("&#39;", "'").replace("&quot;", "\"");
        let squeezed = |text: &str| plain(text).split_whitespace().collect::<Vec<_>>().join(" ");
        for word in &words {
            assert!(squeezed(&page).contains(&squeezed(word)), "the page lacks {word}");
        }
        assert!(svg.contains("Line up."), "the drawing lacks its first step");
        assert!(card.steps.iter().all(|step| step.direction == Direction::Forward));
    }
    assert_eq!(study.driving.len(), 2);
    let mut silent = study;
    silent.driving.clear();
    assert!(!report::json(&silent).contains("how_to_drive"));
}
/// A name shared by two things is no landmark; a unique one is.
#[test]
fn a_landmark_is_one_thing() {
    let vehicle = pickup();
    let things = |labels: [&str; 2]| -> Vec<String> {
        let mut site = open_place(6.0, 5.0, Arrangement::None);
        // Beside the gate, where whoever backs in stops.
        for (label, u) in labels.into_iter().zip([-9.0, 9.0]) {
            crate::common::add_pole(&mut site, u, 2.0);
            site.obstacles.last_mut().expect("a pole").label = label.to_owned();
        }
        let study = asked(site, &vehicle, Maneuver::BackIn);
        let marks = told(&study).into_iter().flat_map(|(_, card)| {
            let steps = card.steps.iter().map(|step| &step.until);
            let marks: Vec<String> = std::iter::once(&card.line_up.until)
                .chain(steps)
                .flatten()
                .map(|m| m.thing.clone())
                .collect();
            marks
        });
        marks.collect()
    };
    let of_their_own = things(["oak", "elm"]);
    assert!(of_their_own.iter().any(|thing| thing == "oak" || thing == "elm"), "{of_their_own:?}");
    let named = things(["oak", "oak"]);
    assert!(!named.is_empty() && !named.iter().any(|thing| thing == "oak"), "{named:?}");
}

/// In a lane wider than the largest window tried, the card does not say "anywhere" in it.
#[test]
fn a_wide_lane_is_not_wholly_looked_at() {
    let most_m = 1.524;
    let window = |left_m: f64, room_m: f64| Window {
        left_m,
        right_m: 0.0,
        lane_room_m: (room_m, 0.5),
        late_steering_m: 0.0,
        ..Window::default()
    };
    assert_eq!(window(0.4, 0.4).whole_lane(), (true, false));
    assert_eq!(window(most_m, 2.0).whole_lane(), (false, false));
    let study = asked(open_place(6.0, 4.3, Arrangement::None), &pickup(), Maneuver::DriveIn);
    let words = wideenough::drawing::window_words(&study, &window(most_m, 2.0));
    assert!(words[1].contains("or more farther left") && !words[1].contains("anywhere"), "{words:?}");
    assert!(words[1].contains("no farther right") && words[0].contains("on time"), "{words:?}");
}
