//! The vehicle at the gate as drawn: labels and sentences for the room it has there, and for the things it hits.
use super::gate;
use super::panel::cross_lines;
use super::scene::{Geom, Item, Role};
use crate::clearance::Thing;
use crate::geometry::Point;
use crate::geometry::length::{Round, Units, show, show_drawn, show_kept, show_lacking};
use crate::opening::{Case, Contact, Demanded, DrawnGate, DrawnWay, Outcome, Study, on_other_half_m};
use crate::site::{Gate, Maneuver, Side};

/// Least gap; a smaller one counts as none.
const NO_GAP_M: f64 = 5e-4;
/// Tolerance for the gap at the tightest place: it is the certain clearance, seen at some poses of the path, and may
/// appear this much larger.
const SEEN_M: f64 = 5e-3;

/// Half the side of the cross over a thing that is hit: it stands out beyond a post.
const CROSS_M: f64 = 0.3;

/// The thing of a contact as named in a sentence.
pub(super) fn named(contact: &Contact) -> String {
    match contact.thing {
        Thing::Obstacle(_) => contact.what.clone(),
        _ => format!("the {}", contact.what),
    }
}

fn hits(way: &DrawnWay, contact: &Contact, units: Units) -> String {
    let by = way.overlap_m.map_or_else(String::new, |m| format!(" by {}", show_lacking(m, units)));
    format!("{} hits {}{by}", contact.part, named(contact))
}

/// The other things that the best try hits, by at most as much: "; it hits the left leaf and the right leaf, too".
fn hits_too(way: &DrawnWay) -> String {
    let mut things: Vec<String> = Vec::new();
    let first = way.contacts.first().map(named);
    for thing in way.contacts.iter().map(named) {
        if Some(&thing) != first.as_ref() && !things.contains(&thing) {
            things.push(thing);
        }
    }
    if things.is_empty() { String::new() } else { format!("; it hits {}, too", things.join(" and ")) }
}

/// The gap of a contact; at the tightest place, the certain one.
fn gap_m(way: &DrawnWay, contact: &Contact) -> f64 {
    let certain = way.clearance_m.filter(|m| (contact.gap_m - m).abs() < SEEN_M);
    certain.map_or(contact.gap_m, |m| contact.gap_m.min(m))
}

/// The label of the tightest place: the gap, or the thing that is hit.
pub(super) fn label(way: &DrawnWay, contact: &Contact, units: Units) -> String {
    if way.clearance_m.is_none() {
        return hits(way, contact, units);
    }
    let gap_m = gap_m(way, contact);
    if gap_m < NO_GAP_M {
        return format!("{} touches {}", contact.part, named(contact));
    }
    format!("{} to {}", show_kept(gap_m, units), named(contact))
}

/// The tightest place as a sentence, with the part of the vehicle.
pub(super) fn sentence(way: &DrawnWay, contact: &Contact, units: Units) -> String {
    if way.clearance_m.is_none() {
        return format!("On the best try found the {}.", hits(way, contact, units));
    }
    let gap_m = gap_m(way, contact);
    if gap_m < NO_GAP_M {
        return format!("Tightest: the {} touches {}.", contact.part, named(contact));
    }
    let gap = show_kept(gap_m, units);
    format!("Tightest: {gap} from the {} to {}.", contact.part, named(contact))
}

/// The answer in a line: the title of a case's drawing.
///
/// The gap to spare is the certain one at the tightest place, rounded down.
pub(super) fn answer(case: &Case, study: &Study) -> String {
    let (site, way) = (&study.site, &case.drawn);
    let goes = match case.maneuver {
        _ if case.route.is_some() => "Follows the route",
        Maneuver::DriveIn => "Drives in",
        Maneuver::BackIn if study.drives_out(case) => "Drives out",
        Maneuver::BackIn => "Backs in",
    };
    let spare = way.clearance_m.map(|m| {
        let more = if way.is_most() { "more than " } else { "" };
        format!("{more}{} to spare", show_kept(m, site.units))
    });
    match (case.drawn_gate, spare) {
        (DrawnGate::Comfortable, Some(spare)) => format!("{goes} with {spare}"),
        (DrawnGate::Comfortable, None) => format!("{goes} in comfort"),
        (DrawnGate::Tight, Some(spare)) => format!("{goes}, but tightly: {spare}"),
        (DrawnGate::Tight, None) => format!("{goes}, but tightly"),
        (DrawnGate::No, _) => {
            match (way.contacts.first().filter(|_| way.overlap_m.is_some()), &case.bare.outcome) {
                (Some(hit), _) => format!("Does not fit: the {}", hits(way, hit, site.units)),
                (None, Outcome::Impossible(_)) => "Cannot get in, however wide the gate".to_owned(),
                (None, Outcome::Found) => "Does not fit the gate as drawn".to_owned(),
                (None, Outcome::GaveUp(_)) => "No way in was found".to_owned(),
            }
        }
    }
}

/// Distance over the center line that is worth a word: a yard, more than a wheel that cuts a corner.
const OVER_THE_LINE_M: f64 = 0.9;

/// Sentence on a path through the gate as drawn that goes over the center line of the road; `None` for others.
#[must_use]
pub fn other_half_words(study: &Study, case: &Case) -> Option<String> {
    let driven_m = on_other_half_m(study, case).filter(|m| *m > OVER_THE_LINE_M)?;
    Some(format!(
        "Over {} of this way it is over the center line of the road: watch for oncoming traffic.",
        show(driven_m, study.site.units, Round::Up)
    ))
}

/// The verdict of a case at the gate as drawn, in words: whether it gets in, and with how much room.
pub(super) fn verdict(case: &Case, study: &Study) -> String {
    let site = &study.site;
    let lets = if study.drives_out(case) { "out" } else { "in" };
    let gate = show_drawn(site.gate.opening_m(), site.units);
    let way = &case.drawn;
    let room = way.clearance_m.map_or_else(String::new, |m| {
        let more = if way.is_most() { "more than " } else { "" };
        format!(", with {more}{} clear at the tightest place", show_kept(m, site.units))
    });
    match case.drawn_gate {
        DrawnGate::Comfortable => format!("The {gate} gate as drawn lets it {lets}, in comfort{room}."),
        DrawnGate::Tight => format!("The {gate} gate as drawn lets it {lets}, but tightly{room}."),
        DrawnGate::No => match way.contacts.first().filter(|_| way.overlap_m.is_some()) {
            Some(hit) => format!(
                "The {gate} gate as drawn does not let it {lets}: on the best try found the {}{}.",
                hits(way, hit, site.units),
                hits_too(way)
            ),
            None => format!("The {gate} gate as drawn does not let it {lets}."),
        },
    }
}

/// The heading above the plan.
pub(super) fn heading(way: &DrawnWay, gate: &str) -> String {
    let how = if way.clearance_m.is_some() { "Through" } else { "The best try at" };
    format!("{how} the {gate} gate as drawn")
}

/// The way back out; nothing of backing out for a vehicle that turns around inside.
pub(super) fn way_back(study: &Study, case: &Case) -> &'static str {
    match case.maneuver {
        Maneuver::DriveIn if study.demanded.get(case.vehicle) == Some(&Demanded::TurnAround) => "",
        Maneuver::DriveIn => "Backing out covers the same ground.",
        Maneuver::BackIn => "Driving out forward covers the same ground.",
    }
}

/// The note on the path that the plan and the gate show, ending in what is said of the way `back`.
pub(super) fn note(way: &DrawnWay, back: &str, bound: &str) -> String {
    if way.clearance_m.is_none() {
        return format!(
            "No way through the gate as drawn was found; shown is the attempt that comes closest. Swept path true to \
             {bound}."
        );
    }
    let note = format!(
        "The gate as drawn: the way through that keeps the most clearance found; swept path true to {bound}. {back}"
    );
    note.trim_end().to_owned()
}

/// The posts and leaves that the best try hits.
pub(super) fn hit_items(gate: &Gate, way: &DrawnWay) -> Vec<Item> {
    if way.clearance_m.is_some() {
        return Vec::new();
    }
    let drawn = gate.drawn_faces();
    let of = |side: Side, left: usize, right: usize| if side == Side::Left { left } else { right };
    let ring = |contact: &Contact| match contact.thing {
        Thing::Post(side) => Some(gate::posts(gate, drawn)[of(side, 0, 1)].clone()),
        Thing::Leaf(side) => {
            let leaves = gate::leaves(gate, drawn);
            let last = leaves.len().checked_sub(1)?;
            leaves.get(of(side, 0, last)).cloned()
        }
        _ => None,
    };
    let mut items = Vec::new();
    for (contact, ring) in way.contacts.iter().filter_map(|contact| Some((contact, ring(contact)?))) {
        // A post is crossed out at its middle, a leaf where it is hit.
        let at = match contact.thing {
            Thing::Post(_) => {
                ring.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / ring.len() as f64)
            }
            _ => contact.at,
        };
        items.push(Item::new(Role::Hit, Geom::Area(vec![ring])));
        items.extend(cross_lines(at, CROSS_M).map(|line| Item::new(Role::Hit, line)));
    }
    items
}
