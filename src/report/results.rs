//! results.json: everything a study found, in meters, for other programs.
//!
//! The format is a contract: fields may be added, never renamed. Openings that suffice are rounded up and proven lower
//! bounds down, to 0.1 mm; positions to a micrometer; a witness keeps the digits needed to drive it again.
use super::decimal::{down, nearest, number, up};
use super::model::{
    Answer, BackingIn, ByName, Case, Clearance, Contact, Driven, Frame, Gate, Leg, Missing, Nowhere,
    OpenLeaves, Outcome, Plan, Position, Post, Results, Segment, Start, Tightest, Turn, Unit, Vehicle,
    VehicleOutlines, Witness,
};
use super::verdict::file_stems;
use super::{drawn_path, gate_json, governing_words, how_to_drive, layout};
use crate::drawing::sight_shown;
use crate::geometry::{Outline, Point};
use crate::motion::{Chain, Path, State};
use crate::opening::{
    self, CaseLane, Lacking, OPENING_PLACES, Study, Verdict, every_vehicle_passes, ground_use,
    vehicle_is_proven, vehicle_verdict,
};
use crate::site::{self, Faces, MoreRoom};
use crate::sweep::Envelope;
use crate::vehicle::{self, Part, PartKind};
use serde_json::{Value, json};

/// The name of the format, its first field.
pub const FORMAT: &str = "wideenough-results";
/// Its version; a program that reads version 1 reads every later file that still says 1.
pub const VERSION: u32 = 1;

/// Largest spacing of the listed poses of a witness, rolled by the lead's rear axle.
const POSE_STEP_M: f64 = 0.5;
/// Decimals of positions: a micrometer.
const PLACE_PLACES: u8 = 6;
/// Decimals of angles and of the lengths of a witness.
const FINE_PLACES: u8 = 9;
/// Decimals of the curvatures of a witness: 1e-12/m bends a 100-m path sideways by 5 nm.
const CURVATURE_PLACES: u8 = 12;

/// results.json of a study.
#[must_use]
pub fn json(study: &Study) -> String {
    json_beside(study, &[])
}

/// results.json of a study with additional files beside it that only some runs write: sheets, pictures.
#[must_use]
pub fn json_beside(study: &Study, more: &[String]) -> String {
    let mut results = results(study);
    results.files.extend_from_slice(more);
    layout::pretty(&written(&results))
}

/// results.json as a value.
#[must_use]
pub fn value(study: &Study) -> Value {
    written(&results(study))
}

/// Results as a value. Their types write plain objects and lists, which cannot fail.
fn written(results: &Results) -> Value {
    serde_json::to_value(results).unwrap_or_default()
}

/// results.json as types, rounded as it is written.
#[must_use]
pub fn results(study: &Study) -> Results {
    let site = &study.site;
    let stems = file_stems(study);
    let cases = (0..study.cases.len()).zip(&stems).map(|(c, stem)| case(study, c, stem)).collect();
    Results {
        format: FORMAT,
        version: VERSION,
        plan: Plan {
            title: site.title.clone(),
            opening_m: place(site.gate.opening_m()),
            setback_m: place(site.gate.setback_m),
            skew_deg: fine(site.gate.skew_rad.to_degrees()),
            units: site.units.into(),
            drives_on: site.drives_on.into(),
        },
        frame: frame(&site.frame),
        clearance_m: place(study.clearance_m),
        ground: ground_use(site).into(),
        every_vehicle_passes: every_vehicle_passes(study),
        leaves_stopped: crate::drawing::stopped_words(study),
        cases,
        vehicles: vehicles(study),
        turns: study.turns.iter().map(|found| turn(study, found)).collect(),
        placement: super::placement::model(study),
        gate: gate(study),
        fixes: super::fixes::model(study),
        vehicle_outlines: outlines(study),
        notes: study.notes.clone(),
        files: files(study, &stems),
        sight: super::sight::model(study),
    }
}

/// The schedule of gates to order, in words.
pub const SCHEDULE_FILE: &str = "gate-schedule.txt";

/// The files beside this one, by which the next run recognizes its own: a drawing per case, and an envelope where there
/// is a path.
fn files(study: &Study, stems: &[String]) -> Vec<String> {
    let mut files = vec!["table.txt".to_owned(), "study.geojson".to_owned(), "report.html".to_owned()];
    files.extend(study.gate.iter().map(|_| SCHEDULE_FILE.to_owned()));
    for (case, stem) in study.cases.iter().zip(stems) {
        files.push(format!("{stem}.svg"));
        if drawn_path(case).is_some() {
            files.push(format!("{stem}.envelope.json"));
        }
    }
    let turns = study.turns.iter().filter(|turn| turn.found.is_ok());
    files.extend(turns.map(|turn| super::turn_file(study, turn)));
    let cards = study.driving.iter().filter(|driving| driving.card.is_some());
    files.extend(cards.map(|driving| super::driving_file(study, driving)));
    files.extend(sight_shown(study).into_iter().map(|(rule, _)| super::sight_file(rule)));
    files.extend(study.fixes.iter().flat_map(|fixes| &fixes.found).map(super::fix_file));
    if !study.tradeoffs.is_empty() {
        files.extend(study.tradeoffs.iter().map(super::tradeoff_file));
        files.push(super::TRADEOFF_FILE.to_owned());
    }
    files
}

/// `<case>.envelope.json`: the ground a case's body sweeps, as polygons of rings, with bounds on their reach beyond the
/// ground truly covered (`over_m`) and on its reach beyond them (`under_m`); `bound_m` is the larger.
///
/// The first ring of a polygon is its outer one, the others are holes; a ring does not repeat its first corner.
#[must_use]
pub fn envelope_json(envelope: &Envelope) -> String {
    let bound = |m: f64| number(up(m, FINE_PLACES));
    let polygons: Vec<Vec<Vec<[f64; 2]>>> =
        envelope.rings().iter().map(|rings| rings.iter().map(ring).collect()).collect();
    layout::pretty(&json!({
        "bound_m": bound(envelope.over_m.max(envelope.under_m)),
        "over_m": bound(envelope.over_m),
        "under_m": bound(envelope.under_m),
        "body": polygons,
    }))
}

fn place(meters: f64) -> f64 {
    nearest(meters, PLACE_PLACES)
}

fn fine(x: f64) -> f64 {
    nearest(x, FINE_PLACES)
}

pub(super) fn xy(p: Point) -> Position {
    Position { x_m: place(p.x), y_m: place(p.y) }
}

fn ring(outline: &Outline) -> Vec<[f64; 2]> {
    outline.0.iter().map(|p| [place(p.x), place(p.y)]).collect()
}

/// Name of a vehicle of the study by its index.
pub(super) fn vehicle_name(study: &Study, vehicle: usize) -> String {
    study.vehicles.get(vehicle).map_or_else(String::new, |v| v.name.clone())
}

fn frame(frame: &site::Frame) -> Frame {
    match frame {
        site::Frame::LonLat { lon_deg, lat_deg } => Frame::LonLat {
            origin_lon_deg: fine(*lon_deg),
            origin_lat_deg: fine(*lat_deg),
            projection: "azimuthal equidistant, x east, y north",
        },
        site::Frame::Local { meters_per_unit } => Frame::Local { meters_per_unit: fine(*meters_per_unit) },
    }
}

fn gate(study: &Study) -> Gate {
    let gate = &study.site.gate;
    Gate {
        left_face: xy(gate.left),
        right_face: xy(gate.right),
        inward: [fine(gate.inward.x), fine(gate.inward.y)],
        anchor: gate.anchor.into(),
        post: Post { width_m: place(gate.post.width_m), depth_m: place(gate.post.depth_m) },
        leaves: OpenLeaves::of(&gate.leaves),
        plan: study.gate.as_ref().map(|plan| gate_json::plan(study, plan)),
    }
}

fn case(study: &Study, index: usize, stem: &str) -> Case {
    let case: &opening::Case = &study.cases[index];
    let vehicle = study.vehicles.get(case.vehicle);
    let drawn = drawn_path(case);
    let driving = how_to_drive::of_case(study, index);
    Case {
        vehicle: vehicle_name(study, case.vehicle),
        travel: case.travel.clone(),
        maneuver: case.maneuver.into(),
        leaves_as_it_came: (case.lane == CaseLane::Leaving).then_some(true),
        route: case.route.clone(),
        shunts: study.shunts,
        bare: answer(&case.bare),
        comfortable: answer(&case.comfortable),
        drawn_gate: case.drawn_gate.into(),
        drawn_clearance_m: case.drawn.reported_clearance_m(),
        drawn_overlap_m: case.drawn.reported_overlap_m(),
        drawn_contacts: contacts(&case.drawn.contacts),
        contacts: contacts(&case.contacts),
        limits: drawn.map(|_| super::limits::model(&case.limits)),
        how_to_drive: driving.map(|driving| how_to_drive::model(study, driving)),
        drawing: format!("{stem}.svg"),
        witness: drawn
            .zip(vehicle)
            .map(|((comfort, path), vehicle)| witness(path.path(), vehicle, Clearance::of(comfort).into())),
        // Its poses follow from its legs; those of the narrowest opening are listed already.
        drawn_witness: case
            .drawn
            .witness
            .as_ref()
            .zip(vehicle)
            .map(|(path, vehicle)| Witness { poses: None, ..witness(path.path(), vehicle, Driven::Drawn) }),
    }
}

fn answer(answer: &opening::Answer) -> Answer {
    let (outcome, reason) = match &answer.outcome {
        opening::Outcome::Found => (Outcome::Found, None),
        opening::Outcome::Impossible(reason) => (Outcome::Impossible, Some(reason.clone())),
        opening::Outcome::GaveUp(reason) => (Outcome::GaveUp, Some(reason.clone())),
    };
    // Null unless found, whatever the search has left behind.
    let opening = answer.opening_m.filter(|_| outcome == Outcome::Found);
    Answer {
        outcome,
        reason,
        opening_m: opening.map(|m| up(m, OPENING_PLACES)),
        at_least_m: down(answer.at_least_m, OPENING_PLACES),
        drawn_opening_ruled_out: answer.ruled_out.map(Into::into),
        // Outward, so that the two never stand closer than the path needs.
        faces_u_m: answer
            .faces_u_m
            .map(|Faces { left, right }| [down(left, PLACE_PLACES), up(right, PLACE_PLACES)]),
        tightest: answer
            .tightest
            .as_ref()
            .map_or(Tightest::Nowhere(Nowhere {}), |place| Tightest::At(contact(place))),
        work: answer.work,
    }
}

pub(super) fn contact(contact: &opening::Contact) -> Contact {
    Contact {
        what: contact.what.clone(),
        x_m: place(contact.at.x),
        y_m: place(contact.at.y),
        part: contact.part.clone(),
        from: xy(contact.from),
        gap_m: down(contact.gap_m, PLACE_PLACES),
        station_m: place(contact.station_m),
    }
}

fn contacts(all: &[opening::Contact]) -> Vec<Contact> {
    all.iter().map(contact).collect()
}

fn turn(study: &Study, turn: &opening::Turn) -> Turn {
    let found = turn.found.as_ref().ok();
    let driven = |found: &opening::FoundTurn| {
        let clearance = Clearance::of(found.comfortable).into();
        study.vehicles.get(turn.vehicle).map(|vehicle| witness(found.path.path(), vehicle, clearance))
    };
    let missing = turn.missing.as_ref().filter(|_| found.is_none());
    Turn {
        vehicle: vehicle_name(study, turn.vehicle),
        travel: turn.travel.clone(),
        drawn_gate: turn.verdict().into(),
        stops: found.map(|found| found.stops),
        turn_m: found.map(|found| up(found.turn_m, PLACE_PLACES)),
        ends_in_line: found.map(|found| found.ends_in_line),
        contacts: found.map(|found| contacts(&found.contacts)),
        witness: found.and_then(driven),
        reason: turn.found.as_ref().err().cloned(),
        missing: missing.map(lacking),
    }
}

/// The least change that lets a vehicle turn.
fn lacking(missing: &opening::Missing) -> Missing {
    let comfortable = missing.comfortable;
    match &missing.what {
        Lacking::Room(MoreRoom { side, from_m, by_m }) => Missing::Room {
            side: (*side).into(),
            from_m: up(*from_m, FINE_PLACES),
            by_m: fine(*by_m),
            comfortable,
        },
        Lacking::Without(what) => Missing::Without { what: what.clone(), comfortable },
        Lacking::Stops(stops) => Missing::Stops { stops: *stops, comfortable },
    }
}

fn vehicles(study: &Study) -> Vec<Vehicle> {
    let need = |m: f64| up(m, OPENING_PLACES);
    let needs = study.needs.iter().map(|n| {
        let verdict = vehicle_verdict(study, n.vehicle);
        let title = study.vehicles.get(n.vehicle).map_or_else(String::new, |v| v.title.clone());
        let governing = n.governed_by.and_then(|i| study.cases.get(i));
        Vehicle {
            vehicle: vehicle_name(study, n.vehicle),
            title,
            bare_opening_m: n.bare_opening_m.map(need),
            comfortable_opening_m: n.comfortable_opening_m.map(need),
            governed_by: governing.map(|case| governing_words(study, case)),
            drawn_gate: verdict.into(),
            backing_in: n.backing_in.map(|back| BackingIn {
                bare_opening_m: need(back.bare_opening_m),
                comfortable_opening_m: back.comfortable_opening_m.map(need),
                reverses_m: up(back.reverses.total_m, PLACE_PLACES),
                reverses_on_road_m: up(back.reverses.on_road_m, PLACE_PLACES),
            }),
            // "Comfortable" needs no mark of proof: its path is the proof.
            drawn_gate_proven: (verdict != Verdict::Comfortable).then(|| vehicle_is_proven(study, n.vehicle)),
        }
    });
    needs.collect()
}

/// A path as its legs, and as poses.
pub(super) fn witness(path: &Path, vehicle: &vehicle::Vehicle, clearance: Driven) -> Witness {
    let chain = Chain::of(vehicle);
    let towed = chain.towed_count();
    let hitches = |state: &State| state.hitch[..towed].iter().map(|phi| fine(*phi)).collect::<Vec<f64>>();
    let legs = path.legs.iter().map(|leg| Leg {
        direction: leg.direction.into(),
        segments: leg.segments.iter().map(segment).collect(),
    });
    let poses = path.samples(&chain, POSE_STEP_M).into_iter().map(|sample| {
        let lead = sample.state.lead;
        let mut row =
            vec![place(sample.station_m), place(lead.position.x), place(lead.position.y), fine(lead.heading)];
        row.extend(hitches(&sample.state));
        row
    });
    let start = &path.start;
    Witness {
        clearance,
        start: Start {
            x_m: fine(start.lead.position.x),
            y_m: fine(start.lead.position.y),
            heading_rad: fine(start.lead.heading),
            hitch_rad: hitches(start),
        },
        legs: legs.collect(),
        poses: Some(poses.collect()),
    }
}

fn segment(segment: &crate::motion::Segment) -> Segment {
    Segment {
        length_m: fine(segment.length_m),
        curvature_start: nearest(segment.curvature_start, CURVATURE_PLACES),
        curvature_end: nearest(segment.curvature_end, CURVATURE_PLACES),
    }
}

/// The plan outlines of each vehicle's units, for programs that draw the witness again.
fn outlines(study: &Study) -> ByName<VehicleOutlines> {
    let of = |vehicle: &vehicle::Vehicle| {
        let units = vehicle.units.iter().map(|unit| {
            let parts = unit.parts.iter();
            let (tires, rings): (Vec<&Part>, Vec<&Part>) = parts.partition(|p| p.kind == PartKind::Tire);
            let rings_of = |parts: Vec<&Part>| parts.into_iter().map(|p| ring(&p.outline)).collect();
            Unit {
                name: unit.name.clone(),
                wheelbase_m: fine(unit.wheelbase_m),
                hitch_behind_m: unit.hitch.map(|h| fine(h.behind_axle_m)),
                rings: rings_of(rings),
                tires: rings_of(tires),
            }
        });
        (vehicle.name.clone(), VehicleOutlines { units: units.collect() })
    };
    ByName(study.vehicles.iter().map(of).collect())
}
