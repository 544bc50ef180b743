//! results.json: everything a study found, in meters, for other programs.
//!
//! The format is a contract: fields may be added, never renamed. Openings that suffice are rounded up and proven lower
//! bounds down, to 0.1 mm; positions to a micrometer; a witness keeps the digits needed to drive it again.
use super::decimal::{down, nearest, number, up};
use super::verdict::file_stems;
use super::{clearance_word, drawn_path, gate_json, governing_words, how_to_drive, layout};
use crate::drawing::sight_shown;
use crate::geometry::{Outline, Point, Units};
use crate::motion::{Chain, Direction, Path, Segment, State};
use crate::opening::{
    Answer, Case, CaseLane, Contact, Lacking, Missing, OPENING_PLACES, Outcome, Study, Verdict,
    every_vehicle_passes, ground_use, vehicle_is_proven, vehicle_verdict,
};
use crate::site::{Anchor, Faces, Frame, MoreRoom};
use crate::sweep::Envelope;
use crate::vehicle::{PartKind, Vehicle};
use serde_json::{Map, Value, json};

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
    let mut value = value(study);
    if let Some(files) = value["files"].as_array_mut() {
        files.extend(more.iter().map(|name| json!(name)));
    }
    layout::pretty(&value)
}

/// results.json as a value.
#[must_use]
pub fn value(study: &Study) -> Value {
    let site = &study.site;
    let stems = file_stems(study);
    let cases: Vec<Value> =
        (0..study.cases.len()).zip(&stems).map(|(c, stem)| case(study, c, stem)).collect();
    let mut value = json!({
        "format": FORMAT,
        "version": VERSION,
        "plan": {
            "title": site.title,
            "opening_m": place(site.gate.opening_m()),
            "setback_m": place(site.gate.setback_m),
            "skew_deg": number(nearest(site.gate.skew_rad.to_degrees(), FINE_PLACES)),
            "units": match site.units { Units::Feet => "ft", Units::Meters => "m" },
            "drives_on": site.drives_on.word(),
        },
        "frame": frame(&site.frame),
        "clearance_m": place(study.clearance_m),
        "ground": ground_use(site).word(),
        "every_vehicle_passes": every_vehicle_passes(study),
        "cases": cases,
        "vehicles": vehicles(study),
        "turns": turns(study),
        "placement": super::placement::value(study),
        "gate": gate(study),
        "fixes": super::fixes::value(study),
        "vehicle_outlines": outlines(study),
        "notes": study.notes,
        "files": files(study, &stems),
    });
    if let Some(sight) = super::sight::value(study) {
        value["sight"] = sight;
    }
    value
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
    let polygons: Vec<Vec<Value>> =
        envelope.rings().iter().map(|rings| rings.iter().map(ring).collect()).collect();
    layout::pretty(&json!({
        "bound_m": bound(envelope.over_m.max(envelope.under_m)),
        "over_m": bound(envelope.over_m),
        "under_m": bound(envelope.under_m),
        "body": polygons,
    }))
}

fn place(meters: f64) -> Value {
    number(nearest(meters, PLACE_PLACES))
}

fn fine(x: f64) -> Value {
    number(nearest(x, FINE_PLACES))
}

pub(super) fn xy(p: Point) -> Value {
    json!({ "x_m": place(p.x), "y_m": place(p.y) })
}

fn ring(outline: &Outline) -> Value {
    outline.0.iter().map(|p| json!([place(p.x), place(p.y)])).collect()
}

fn frame(frame: &Frame) -> Value {
    match frame {
        Frame::LonLat { lon_deg, lat_deg } => json!({
            "kind": "lonlat",
            "origin_lon_deg": fine(*lon_deg),
            "origin_lat_deg": fine(*lat_deg),
            "projection": "azimuthal equidistant, x east, y north",
        }),
        Frame::Local { meters_per_unit } => {
            json!({ "kind": "local", "meters_per_unit": fine(*meters_per_unit) })
        }
    }
}

fn gate(study: &Study) -> Value {
    let gate = &study.site.gate;
    let value = json!({
        "left_face": xy(gate.left),
        "right_face": xy(gate.right),
        "inward": [fine(gate.inward.x), fine(gate.inward.y)],
        "anchor": match gate.anchor {
            Anchor::Center => "center",
            Anchor::Side(kept) => kept.word(),
            Anchor::Free => "free",
        },
        "post": { "width_m": place(gate.post.width_m), "depth_m": place(gate.post.depth_m) },
    });
    let Value::Object(mut fields) = value else { return value };
    gate_json::add(&mut fields, study);
    Value::Object(fields)
}

fn case(study: &Study, index: usize, stem: &str) -> Value {
    let case: &Case = &study.cases[index];
    let vehicle = study.vehicles.get(case.vehicle);
    let mut fields = Map::new();
    let mut put = |key: &str, value: Value| {
        fields.insert(key.to_owned(), value);
    };
    put("vehicle", json!(vehicle.map(|v| &v.name)));
    put("travel", json!(case.travel));
    put("maneuver", json!(case.maneuver.word()));
    if case.lane == CaseLane::Leaving {
        put("leaves_as_it_came", json!(true));
    }
    if let Some(route) = &case.route {
        put("route", json!(route));
    }
    put("shunts", json!(study.shunts));
    put("bare", answer(&case.bare));
    put("comfortable", answer(&case.comfortable));
    put("drawn_gate", json!(case.drawn_gate.word()));
    put("drawn_clearance_m", case.drawn.reported_clearance_m().map_or(Value::Null, number));
    put("drawn_overlap_m", case.drawn.reported_overlap_m().map_or(Value::Null, number));
    put("drawn_contacts", case.drawn.contacts.iter().map(contact).collect());
    put("contacts", case.contacts.iter().map(contact).collect());
    if drawn_path(case).is_some() {
        put("limits", super::limits::value(&case.limits));
    }
    if let Some(driving) = how_to_drive::of_case(study, index) {
        put("how_to_drive", how_to_drive::value(study, driving));
    }
    put("drawing", json!(format!("{stem}.svg")));
    if let (Some((comfort, path)), Some(vehicle)) = (drawn_path(case), vehicle) {
        put("witness", witness(path.path(), vehicle, clearance_word(comfort)));
    }
    if let (Some(path), Some(vehicle)) = (&case.drawn.witness, vehicle) {
        // Its poses follow from its legs; those of the narrowest opening are listed already.
        let mut driven = witness(path.path(), vehicle, "drawn");
        if let Some(fields) = driven.as_object_mut() {
            fields.remove("poses");
        }
        put("drawn_witness", driven);
    }
    Value::Object(fields)
}

fn answer(answer: &Answer) -> Value {
    let (outcome, reason) = match &answer.outcome {
        Outcome::Found => ("found", None),
        Outcome::Impossible(reason) => ("impossible", Some(reason)),
        Outcome::GaveUp(reason) => ("gave-up", Some(reason)),
    };
    let mut fields = Map::new();
    fields.insert("outcome".to_owned(), json!(outcome));
    if let Some(reason) = reason {
        fields.insert("reason".to_owned(), json!(reason));
    }
    // Null unless found, whatever the search has left behind.
    let opening = answer.opening_m.filter(|_| answer.outcome == Outcome::Found);
    fields.insert("opening_m".to_owned(), opening.map_or(Value::Null, |m| number(up(m, OPENING_PLACES))));
    fields.insert("at_least_m".to_owned(), number(down(answer.at_least_m, OPENING_PLACES)));
    if let Some(ruled_out) = answer.ruled_out {
        fields.insert("drawn_opening_ruled_out".to_owned(), json!(ruled_out.word()));
    }
    if let Some(Faces { left, right }) = answer.faces_u_m {
        // Outward, so that the two never stand closer than the path needs.
        let faces = json!([number(down(left, PLACE_PLACES)), number(up(right, PLACE_PLACES))]);
        fields.insert("faces_u_m".to_owned(), faces);
    }
    fields.insert("tightest".to_owned(), answer.tightest.as_ref().map_or_else(|| json!({}), contact));
    fields.insert("work".to_owned(), json!(answer.work));
    Value::Object(fields)
}

pub(super) fn contact(contact: &Contact) -> Value {
    json!({
        "what": contact.what,
        "x_m": place(contact.at.x),
        "y_m": place(contact.at.y),
        "part": contact.part,
        "from": xy(contact.from),
        "gap_m": number(down(contact.gap_m, PLACE_PLACES)),
        "station_m": place(contact.station_m),
    })
}

fn turns(study: &Study) -> Value {
    let turns = study.turns.iter().map(|turn| {
        let vehicle = study.vehicles.get(turn.vehicle);
        let mut value = json!({
            "vehicle": vehicle.map(|v| &v.name),
            "travel": turn.travel,
            "drawn_gate": turn.verdict().word(),
        });
        match &turn.found {
            Ok(found) => {
                let clearance = if found.comfortable { "comfortable" } else { "bare" };
                value["stops"] = json!(found.stops);
                value["turn_m"] = number(up(found.turn_m, PLACE_PLACES));
                value["contacts"] = found.contacts.iter().map(contact).collect();
                value["witness"] =
                    vehicle.map_or(Value::Null, |vehicle| witness(found.path.path(), vehicle, clearance));
            }
            Err(why) => {
                value["reason"] = json!(why);
                if let Some(missing) = &turn.missing {
                    value["missing"] = lacking(missing);
                }
            }
        }
        value
    });
    turns.collect()
}

/// The least change that lets a vehicle turn: its kind, its amount, and true if it then keeps the study's clearance.
fn lacking(missing: &Missing) -> Value {
    let mut value = match &missing.what {
        Lacking::Room(MoreRoom { side, from_m, by_m }) => json!({
            "kind": "room",
            "side": side.word(),
            "from_m": number(up(*from_m, FINE_PLACES)),
            "by_m": fine(*by_m),
        }),
        Lacking::Without(what) => json!({ "kind": "without", "what": what }),
        Lacking::Stops(stops) => json!({ "kind": "stops", "stops": stops }),
    };
    value["comfortable"] = json!(missing.comfortable);
    value
}

fn vehicles(study: &Study) -> Value {
    let need = |m: Option<f64>| m.map_or(Value::Null, |m| number(up(m, OPENING_PLACES)));
    let needs = study.needs.iter().map(|n| {
        let verdict = vehicle_verdict(study, n.vehicle);
        let mut value = json!({
            "vehicle": study.vehicles.get(n.vehicle).map(|v| &v.name),
            "title": study.vehicles.get(n.vehicle).map(|v| &v.title),
            "bare_opening_m": need(n.bare_opening_m),
            "comfortable_opening_m": need(n.comfortable_opening_m),
            "governed_by": n.governed_by.and_then(|i| study.cases.get(i)).map(|case| governing_words(study, case)),
            "drawn_gate": verdict.word(),
            "backing_in": n.backing_in.map(|back| json!({
                "bare_opening_m": need(Some(back.bare_opening_m)),
                "comfortable_opening_m": need(back.comfortable_opening_m),
                "reverses_m": number(up(back.reverses.total_m, PLACE_PLACES)),
                "reverses_on_road_m": number(up(back.reverses.on_road_m, PLACE_PLACES)),
            })),
        });
        // "Comfortable" needs no mark of proof: its path is the proof.
        if verdict != Verdict::Comfortable {
            value["drawn_gate_proven"] = json!(vehicle_is_proven(study, n.vehicle));
        }
        value
    });
    needs.collect()
}

/// A path as its legs, and as poses: [station, x, y, heading, hitch angles...].
pub(super) fn witness(path: &Path, vehicle: &Vehicle, clearance: &str) -> Value {
    let chain = Chain::of(vehicle);
    let towed = chain.towed_count();
    let hitches = |state: &State| state.hitch[..towed].iter().map(|phi| fine(*phi)).collect::<Vec<Value>>();
    let legs = path.legs.iter().map(|leg| {
        json!({
            "direction": match leg.direction { Direction::Forward => "forward", Direction::Reverse => "reverse" },
            "segments": leg.segments.iter().map(segment).collect::<Value>(),
        })
    });
    let poses = path.samples(&chain, POSE_STEP_M).into_iter().map(|sample| {
        let lead = sample.state.lead;
        let mut row =
            vec![place(sample.station_m), place(lead.position.x), place(lead.position.y), fine(lead.heading)];
        row.extend(hitches(&sample.state));
        Value::Array(row)
    });
    let start = &path.start;
    json!({
        "clearance": clearance,
        "start": {
            "x_m": fine(start.lead.position.x),
            "y_m": fine(start.lead.position.y),
            "heading_rad": fine(start.lead.heading),
            "hitch_rad": hitches(start),
        },
        "legs": legs.collect::<Value>(),
        "poses": poses.collect::<Value>(),
    })
}

fn segment(segment: &Segment) -> Value {
    json!({
        "length_m": fine(segment.length_m),
        "curvature_start": number(nearest(segment.curvature_start, CURVATURE_PLACES)),
        "curvature_end": number(nearest(segment.curvature_end, CURVATURE_PLACES)),
    })
}

/// The plan outlines of each vehicle's units, for programs that draw the witness again.
fn outlines(study: &Study) -> Value {
    let mut by_name = Map::new();
    for vehicle in &study.vehicles {
        let units = vehicle.units.iter().map(|unit| {
            let parts = unit.parts.iter();
            // Tires stand within the body, or beyond it only at full lock: the swept path is of body and mirrors.
            let rings = parts.filter(|p| p.kind != PartKind::Tire).map(|p| ring(&p.outline));
            json!({
                "name": unit.name,
                "wheelbase_m": fine(unit.wheelbase_m),
                "hitch_behind_m": unit.hitch.map_or(Value::Null, |h| fine(h.behind_axle_m)),
                "rings": rings.collect::<Value>(),
            })
        });
        by_name.insert(vehicle.name.clone(), json!({ "units": units.collect::<Value>() }));
    }
    Value::Object(by_name)
}
