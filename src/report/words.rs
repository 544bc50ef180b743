//! A study in plain words: a sentence per way in, a verdict per vehicle and one for the gate.
use super::placement::placement_words;
use super::verdict::deciding;
use crate::drawing::{ENDS_ACROSS, stopped_words, stops_words};
use crate::geometry::Units;
use crate::geometry::length::{FOOT_M, Round, show, show_drawn, show_kept, show_lacking};
use crate::opening::{
    BackingIn, Case, CaseLane, Contact, DrawnGate, Lacking, Missing, Outcome, Reversing, Study, TravelCases,
    VehicleNeed, Verdict, case_is_proven, every_vehicle_passes, no_better_from, reported_m, room_step_m,
    travel_verdict, travels, vehicle_is_proven, vehicle_verdict,
};
use crate::site::{Anchor, Maneuver, MoreRoom, YardSide};

/// A line of the report, and its verdict (for color on a terminal; the words state it too).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The words.
    pub text: String,
    /// The verdict, if the line is one.
    pub verdict: Option<Verdict>,
}

impl Line {
    /// A line without a verdict.
    #[must_use]
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), verdict: None }
    }
}

/// Largest distance from the drawn position that counts as "where it is drawn": half an inch.
pub(super) const STAYS_M: f64 = 0.0127;

/// "Box truck, eastbound, driving in".
#[must_use]
pub fn case_name(study: &Study, case: &Case) -> String {
    let vehicle = study.vehicles.get(case.vehicle).map_or("vehicle", |v| v.title.as_str());
    let how = match &case.route {
        Some(label) => format!("along \"{label}\""),
        None => format!("{}, {}", case.travel, way_words(study, case)),
    };
    format!("{}, {how}", sentence_start(vehicle))
}

/// "driving in" or "backing in"; "driving out", by the lane of leaving "the way it came", where backing in stands for that.
#[must_use]
pub fn way_words(study: &Study, case: &Case) -> &'static str {
    match (case.maneuver, case.lane) {
        (Maneuver::DriveIn, _) => "driving in",
        (Maneuver::BackIn, CaseLane::Coming) if study.is_way_out(case) => "driving out",
        (Maneuver::BackIn, CaseLane::Coming) => "backing in",
        (Maneuver::BackIn, CaseLane::Leaving) => "driving out the way it came",
    }
}

/// One case as a sentence: `Box truck, eastbound, driving in: needs 13' 9"; comfortable at 15' 9"; your 14' gate is
/// tight: the left post.`
#[must_use]
pub fn case_sentence(study: &Study, case: &Case) -> String {
    let units = study.site.units;
    let name = case_name(study, case);
    let need = match (&case.bare.outcome, case.bare.opening_m) {
        (Outcome::Found, Some(opening)) => show(opening, units, Round::Up),
        (Outcome::Impossible(reason), _) => {
            return format!("{name}: cannot get in, however wide the gate: {}.", ended(reason));
        }
        (Outcome::GaveUp(reason), _) => return format!("{name}: no way in found: {}.", ended(reason)),
        (Outcome::Found, None) => return format!("{name}: no opening is known."),
    };
    let comfort = match (&case.comfortable.outcome, case.comfortable.opening_m) {
        (Outcome::Found, Some(opening)) => format!("comfortable at {}", show(opening, units, Round::Up)),
        (Outcome::Impossible(reason), _) => format!("never in comfort: {}", ended(reason)),
        (Outcome::GaveUp(reason), _) => format!("no comfortable way found: {}", ended(reason)),
        (Outcome::Found, None) => "no comfortable opening is known".to_owned(),
    };
    format!("{name}: needs {need}; {comfort}{}; {}.", where_it_stands(study, case), gate_words(study, case))
}

/// Verdict of the gate as drawn for a case: "your 14' gate is tight: the left post".
fn gate_words(study: &Study, case: &Case) -> String {
    let units = study.site.units;
    let drawn = study.site.gate.opening_m();
    let gate = format!("your {} gate", show_drawn(drawn, units));
    let place = case.drawn.contacts.first();
    let place = place.or(case.bare.tightest.as_ref()).or(case.comfortable.tightest.as_ref());
    let place = place.map_or_else(String::new, |contact| format!(": {}", contact_words(contact)));
    let room = case.drawn.clearance_m.filter(|_| !case.drawn.is_most());
    let room = room.map(|m| format!(": {} clear at the tightest place", show_kept(m, units)));
    match (case.drawn_gate, case.bare.opening_m) {
        (DrawnGate::Comfortable, _) => format!("{gate} is comfortable{}", room.unwrap_or_default()),
        (DrawnGate::Tight, _) => format!("{gate} is tight{}", room.unwrap_or(place)),
        (DrawnGate::No, Some(need)) if need > drawn => {
            // Two measures: what the opening lacks, and how deep the best try at the gate as drawn cuts into a thing.
            let best = case.drawn.contacts.first().zip(case.drawn.overlap_m);
            let place = best.map_or(place, |(hit, by_m)| {
                format!("; the best try there hits {} by {}", contact_words(hit), show_lacking(by_m, units))
            });
            format!("{gate} is too narrow by {}{place}", show(need - drawn, units, Round::Up))
        }
        (DrawnGate::No, _) => format!("{gate}, where it is drawn, does not let it in{place}"),
    }
}

/// The best position of the opening, if it may stand anywhere along the gate line.
fn where_it_stands(study: &Study, case: &Case) -> String {
    let (Anchor::Free, Some(faces)) = (study.site.gate.anchor, case.comfortable.faces_u_m) else {
        return String::new();
    };
    let shift = faces.middle_u();
    if shift.abs() < STAYS_M {
        return " with its middle where it is drawn".to_owned();
    }
    let way = if shift > 0.0 { "right" } else { "left" };
    let by = show(shift.abs(), study.site.units, Round::Nearest);
    format!(" with its middle {by} to the {way} of where it is drawn")
}

/// "the left post".
#[must_use]
pub fn contact_words(contact: &Contact) -> String {
    let what = contact.what.as_str();
    let has_article = ["the ", "a ", "an "].iter().any(|a| what.to_lowercase().starts_with(a));
    if has_article { what.to_owned() } else { format!("the {what}") }
}

/// The sentences of a study: per vehicle and travel the case that decides, then the drawn routes.
#[must_use]
pub fn sentences(study: &Study) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut say = |case: &Case| {
        lines.push(Line { text: case_sentence(study, case), verdict: Some(case.drawn_gate.into()) });
    };
    for vehicle in 0..study.vehicles.len() {
        for travel in travels(study, vehicle) {
            deciding(study, vehicle, travel).into_iter().for_each(&mut say);
        }
    }
    study.drawn_routes().for_each(&mut say);
    lines
}

/// The verdicts: one per vehicle, one for the gate, and the vehicle that sets the width.
#[must_use]
pub fn verdicts(study: &Study) -> Vec<Line> {
    let units = study.site.units;
    let drawn = show_drawn(study.site.gate.opening_m(), units);
    let mut lines = Vec::new();
    for need in &study.needs {
        let title = study.vehicles.get(need.vehicle).map_or("vehicle", |v| v.title.as_str());
        let gate = vehicle_verdict(study, need.vehicle);
        let searched = !travels(study, need.vehicle).is_empty();
        let is_proven = vehicle_is_proven(study, need.vehicle);
        let verdict = match (gate, is_proven) {
            (Verdict::Comfortable, _) => format!("passes the {drawn} gate in comfort"),
            (Verdict::Tight, true) => format!("passes the {drawn} gate, but only tightly, which is proven"),
            (Verdict::Tight, false) => format!("passes the {drawn} gate, but tightly"),
            (Verdict::OnlyBackingIn, _) => only_backing_words(study, need.vehicle, &drawn),
            (Verdict::No, _) if lacks_turn(study, need.vehicle) => {
                format!("passes the {drawn} gate in and out, but no turn inside was found")
            }
            (Verdict::No, true) => format!("does not pass the {drawn} gate, which is proven"),
            (Verdict::No, false) if searched => {
                format!("does not pass the {drawn} gate: no path that does was found")
            }
            (Verdict::No, false) => format!("does not pass the {drawn} gate"),
        };
        let needs = match (need.bare_opening_m, need.comfortable_opening_m) {
            (Some(bare), Some(comfort)) => {
                let (bare, comfort) = (show(bare, units, Round::Up), show(comfort, units, Round::Up));
                let governed = need.governed_by.and_then(|i| study.cases.get(i));
                let governed = governed.filter(|case| !all_alike(study, case));
                let governed =
                    governed.map_or_else(String::new, |c| format!("; {} sets it", governing_words(study, c)));
                format!("It needs {bare}; comfortable at {comfort}{governed}")
            }
            (Some(bare), None) => format!(
                "It needs {}; no comfortable way in is known{}",
                show(bare, units, Round::Up),
                without(study, need.vehicle, |case| case.comfortable.opening_m)
            ),
            (None, _) => {
                format!("No way in is known{}", without(study, need.vehicle, |case| case.bare.opening_m))
            }
        };
        let backing = need.backing_in.as_ref().map_or_else(String::new, |back| backing_words(study, back));
        lines.push(Line {
            text: format!(
                "{} {verdict}. {needs}.{}{backing}",
                sentence_start(title),
                turn_words(study, need.vehicle)
            ),
            verdict: Some(gate),
        });
    }
    lines.push(overall(study, &drawn));
    lines.extend(widest(study));
    lines.extend(placement_words(study).map(Line::plain));
    lines
}

fn overall(study: &Study, drawn: &str) -> Line {
    if study.vehicles.is_empty() {
        return Line::plain("No vehicle was studied.");
    }
    if let Some(why) = stopped_words(study) {
        let text = format!(
            "The gate as drawn, {drawn}, does not open as far as it must: {why}. What is said of each vehicle holds only for \
             leaves that open fully."
        );
        return Line { text, verdict: Some(Verdict::No) };
    }
    if every_vehicle_passes(study) {
        let text = format!("The gate as drawn, {drawn}: every vehicle passes in comfort.");
        return Line { text, verdict: Some(Verdict::Comfortable) };
    }
    let named = |wanted: Verdict, turn: bool| -> Vec<&str> {
        let all = study.vehicles.iter().enumerate();
        let mine = all.filter(|(i, _)| vehicle_verdict(study, *i) == wanted && lacks_turn(study, *i) == turn);
        mine.map(|(_, v)| v.title.as_str()).collect()
    };
    // Titles may hold commas: semicolons keep them apart.
    let (first, next) = (format!("The gate as drawn, {drawn}, "), "It ".to_owned());
    let mut sentences: Vec<String> = Vec::new();
    let mut worst = Verdict::Comfortable;
    for (verdict, turn, words) in [
        (Verdict::No, false, "does not let in"),
        (Verdict::No, true, "lets in, without a turn inside"),
        (Verdict::OnlyBackingIn, false, "lets in only by backing"),
        (Verdict::Tight, false, "is tight for"),
    ] {
        let who = named(verdict, turn);
        if !who.is_empty() {
            let start = if sentences.is_empty() { &first } else { &next };
            sentences.push(format!("{start}{words}: {}.", who.join("; ")));
            worst = worst.min(verdict);
        }
    }
    Line { text: sentences.join(" "), verdict: Some(worst) }
}

/// "gets through the 14' gate only by backing in, eastbound: no path driving in through it was found".
fn only_backing_words(study: &Study, vehicle: usize, drawn: &str) -> String {
    let all = &study.of_vehicle(vehicle).travels;
    let backs_in = |travel: &&TravelCases| travel_verdict(study, travel) == Verdict::OnlyBackingIn;
    let named: Vec<&TravelCases> = all.iter().filter(backs_in).collect();
    let words: Vec<&str> = named.iter().map(|travel| travel.travel).collect();
    let from = if words.len() == all.len() { String::new() } else { format!(", {}", words.join(" and ")) };
    // The sentence is of every direction it names, so that each must be proven.
    let proven = named.iter().all(|travel| no_better_from(study, travel, Verdict::OnlyBackingIn));
    let why = if proven { ", which is proven" } else { ": no path driving in through it was found" };
    format!("gets through the {drawn} gate only by backing in{from}{why}")
}

/// " eastbound, driving in": the deciding cases without a known opening, joined by "and".
fn without(study: &Study, vehicle: usize, opening_m: impl Fn(&Case) -> Option<f64>) -> String {
    let of_travel = |travel: &&str| deciding(study, vehicle, travel);
    let all = travels(study, vehicle);
    let missing = all.iter().filter_map(of_travel).filter(|case| opening_m(case).is_none());
    let words: Vec<String> =
        missing.map(|case| format!(" {}, {}", case.travel, way_words(study, case))).collect();
    words.join(" and")
}

/// True if a vehicle passes in every direction of travel that counts and lacks only a turn inside.
fn lacks_turn(study: &Study, vehicle: usize) -> bool {
    let travels = study.of_vehicle(vehicle).travels;
    vehicle_verdict(study, vehicle) == Verdict::No
        && !travels.is_empty()
        && travels.iter().all(|travel| travel_verdict(study, travel) >= Verdict::Tight)
}

/// The turns of a vehicle inside, found or not: sentences to follow others.
fn turn_words(study: &Study, vehicle: usize) -> String {
    let mine = study.turns.iter().filter(|turn| turn.vehicle == vehicle);
    let words = mine.map(|turn| match &turn.found {
        Ok(found) => {
            let tight = if found.comfortable { "" } else { ", tightly" };
            let far = show(found.turn_m, study.site.units, Round::Up);
            let across = if found.ends_in_line { String::new() } else { format!(" {ENDS_ACROSS}") };
            format!(
                " Coming {}, it turns around inside {}, driving {far}{tight}.{across}",
                turn.travel,
                stops_words(found.stops)
            )
        }
        Err(why) => {
            let missing =
                turn.missing.as_ref().map_or_else(String::new, |missing| missing_words(study, missing));
            format!(" Coming {}, it cannot turn around inside: {}.{missing}", turn.travel, ended(why))
        }
    });
    visit_words(study, vehicle).into_iter().chain(words).collect()
}

/// The opening that the whole visit of a vehicle that turns around inside needs, where that is more than driving in and
/// driving out need, each on its own: a sentence to follow others.
fn visit_words(study: &Study, vehicle: usize) -> Option<String> {
    let drawn = study.gate.as_ref()?.arrangements.iter().find(|of| of.drawn)?;
    let whole = drawn.in_and_out.get(vehicle)?.and(drawn.needs.get(vehicle))?.comfortable_m?;
    let apart = study.needs.iter().find(|need| need.vehicle == vehicle)?.comfortable_opening_m?;
    let [whole, apart] = [whole, apart].map(|m| show(m, study.site.units, Round::Up));
    (whole != apart).then(|| format!(" The whole visit, in, around and out, is comfortable at {whole}."))
}

/// The change that would let a vehicle turn around inside: a sentence to follow others.
fn missing_words(study: &Study, missing: &Missing) -> String {
    let units = study.site.units;
    let tight = if missing.comfortable { "" } else { ", tightly" };
    match &missing.what {
        Lacking::Room(MoreRoom { side, from_m, by_m }) => {
            let (by, from) = (show(*by_m, units, Round::Nearest), show(*from_m, units, Round::Nearest));
            let less = show(room_step_m(units), units, Round::Nearest);
            let (larger, beyond) = match side {
                YardSide::Back => ("deeper", format!("deeper in than {from} behind the gate line")),
                YardSide::Left => {
                    ("wider on the left", format!("farther left than {from} from the middle of the gate"))
                }
                YardSide::Right => {
                    ("wider on the right", format!("farther right than {from} from the middle of the gate"))
                }
            };
            format!(
                " With a yard {by} {larger} it turns{tight}: everything {beyond} is moved by that much. With {less} less, \
                 no turn was found."
            )
        }
        Lacking::Without(what) => format!(" Without \"{what}\" it turns{tight}."),
        Lacking::Stops(stops) => format!(" With {stops} stops it turns{tight}."),
    }
}

/// The opening needed if backing in will do where driving in needs more, and the distance reversed: a sentence to follow
/// others.
fn backing_words(study: &Study, back: &BackingIn) -> String {
    let units = study.site.units;
    let bare = show(back.bare_opening_m, units, Round::Up);
    let comfort =
        back.comfortable_opening_m.map(|m| format!("; comfortable at {}", show(m, units, Round::Up)));
    let far = reversing_words(study, &back.reverses);
    format!(" If backing in will do, it needs {bare}{}; it {far}.", comfort.unwrap_or_default())
}

/// "reverses 165', 41' of it on the road".
pub(super) fn reversing_words(study: &Study, reverses: &Reversing) -> String {
    let whole = |m: f64| match study.site.units {
        Units::Feet => format!("{:.0}'", (m / FOOT_M).ceil()),
        Units::Meters => format!("{:.0} m", m.ceil()),
    };
    let road = if reverses.on_road_m > 0.0 {
        format!(", {} of it on the road", whole(reverses.on_road_m))
    } else {
        ", none of it on the road".to_owned()
    };
    format!("reverses {}{road}", whole(reverses.total_m))
}

/// True if a vehicle needs as much in comfort on every way of the kind of this one, as shown: none of them sets it.
fn all_alike(study: &Study, case: &Case) -> bool {
    let shown = |case: &Case| case.comfortable.opening_m.map(|m| show(m, study.site.units, Round::Up));
    let alike = study.searched().filter(|other| {
        other.vehicle == case.vehicle && other.maneuver == case.maneuver && other.route.is_none()
    });
    let mut count = 0;
    let same = alike.inspect(|_| count += 1).all(|other| shown(other) == shown(case));
    same && count > 1 && case.route.is_none()
}

/// Title of the vehicle of a case, at the beginning of a sentence.
fn alike_name(study: &Study, case: &Case) -> String {
    study.vehicles.get(case.vehicle).map_or_else(String::new, |vehicle| sentence_start(&vehicle.title))
}

/// The vehicle that sets the width.
fn widest(study: &Study) -> Option<Line> {
    let units = study.site.units;
    let unknown = study.needs.iter().any(|n| n.comfortable_opening_m.is_none());
    let need = study.needs.iter().filter(|n| n.comfortable_opening_m.is_some()).max_by(|a, b| {
        let most = |need: &VehicleNeed| need.comfortable_opening_m.map_or(0.0, reported_m);
        most(a).total_cmp(&most(b))
    })?;
    let opening = show(need.comfortable_opening_m?, units, Round::Up);
    let case = need.governed_by.and_then(|i| study.cases.get(i));
    let who = case.map_or_else(
        || study.vehicles.get(need.vehicle).map_or_else(String::new, |v| sentence_start(&v.title)),
        |c| if all_alike(study, c) { alike_name(study, c) } else { case_name(study, c) },
    );
    let of = if unknown { " among the vehicles with a comfortable way in" } else { "" };
    // The table may list wider ones, of backing in where driving in will do.
    let back = study.searched().filter(|case| case.maneuver == Maneuver::BackIn && !study.drives_out(case));
    let back = back.filter_map(|case| case.comfortable.opening_m).map(reported_m).fold(0.0, f64::max);
    let wider =
        back > need.comfortable_opening_m.map_or(0.0, reported_m) && show(back, units, Round::Up) != opening;
    let beside = match wider {
        true => format!(" Backing in needs up to {}.", show(back, units, Round::Up)),
        false => String::new(),
    };
    let text = format!("Widest need in comfort{of}: {opening}, set by {who}.{beside}");
    Some(Line::plain(text))
}

/// "eastbound drive-in", or "route north loop".
#[must_use]
pub fn governing_words(study: &Study, case: &Case) -> String {
    match &case.route {
        Some(label) => format!("route {label}"),
        None if study.is_way_out(case) => format!("{} {}", case.travel, way_words(study, case)),
        None => format!("{} {}", case.travel, case.maneuver.word()),
    }
}

/// "tight" or "no", with a star if that is proven.
pub(super) fn gate_word(case: &Case) -> String {
    let star = if case_is_proven(case) { "*" } else { "" };
    format!("{}{star}", case.drawn_gate.word())
}

/// Meaning of the star behind "no" and "tight", and of the words without it; `None` if every required path passes in
/// comfort. Drawn routes do not count: each is one path, and no other was searched for.
pub(super) fn star_words(study: &Study) -> Option<&'static str> {
    let asked = study.searched().filter(|c| c.drawn_gate != DrawnGate::Comfortable);
    let (proven, open): (Vec<&Case>, Vec<&Case>) = asked.partition(|c| case_is_proven(c));
    match (proven.is_empty(), open.is_empty()) {
        (true, true) => None,
        (false, true) => Some("* Proven: no path of this kind does better at the gate as drawn."),
        (false, false) => Some(
            "* Proven: no path of this kind does better at the gate as drawn. Without the *, none was found.",
        ),
        (true, false) => {
            Some("No and tight: no better path was found at the gate as drawn. That is not a proof.")
        }
    }
}

/// Notes for the correct reading of the numbers: clearance, shunts, reversibility, notes, cautions.
#[must_use]
pub fn remarks(study: &Study) -> Vec<Line> {
    let proved = if study.proved { "" } else { ": the vehicle's plain width unless run with --prove" };
    all_remarks(study, &format!("; results.json says how much narrower it could be (at_least_m{proved})"))
}

/// Notes of [`remarks`] for a printed sheet, without file names and command-line options.
#[must_use]
pub fn sheet_remarks(study: &Study) -> Vec<Line> {
    all_remarks(study, "")
}

/// The remarks; `less` follows the sentence on what the widths are.
fn all_remarks(study: &Study, less: &str) -> Vec<Line> {
    let clearance = show_kept(study.clearance_m, study.site.units);
    let shunts = match study.shunts {
        0 => "No stop to change direction is allowed beyond those a maneuver needs.".to_owned(),
        1 => "One stop to change direction is allowed beyond those a maneuver needs.".to_owned(),
        n => format!("{n} stops to change direction are allowed beyond those a maneuver needs."),
    };
    let mut lines = vec![
        format!(
            "Comfortable keeps {clearance} from everything that stands; needs are rounded up. Each width given is \
             certain to be enough{less}."
        ),
        shunts,
        "Backing out sweeps the same ground as driving in; driving out forward sweeps the same ground as backing in."
            .to_owned(),
    ];
    lines.extend(study.notes.iter().map(|note| format!("Note: {}.", ended(note))));
    lines.push(
        "Planning aid only: local codes, the fire authority and licensed professionals decide. Use a spotter when \
         backing."
            .to_owned(),
    );
    lines.into_iter().map(Line::plain).collect()
}

/// A text without its final period, which the surrounding sentence supplies.
pub(super) fn ended(text: &str) -> &str {
    text.trim().trim_end_matches('.')
}

/// A title with its first letter capitalized.
pub(super) fn sentence_start(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
