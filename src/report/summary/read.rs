//! Reads a site's summary from the files in its folder.
use super::{Placed, SiteSummary, Studied, Way};
use crate::geometry::{Point, Units};
use crate::report::{FORMAT, VERSION, layout};
use crate::site::Frame;
use serde::Deserialize;
use serde_json::{Value, json};

/// Name of the format of a site's list of faults, its first field.
pub const FAULTS_FORMAT: &str = "wideenough-faults";

/// Writes faults.json of a site that could not be studied.
#[must_use]
pub fn faults_json(faults: &[String]) -> String {
    layout::pretty(&json!({ "format": FAULTS_FORMAT, "version": VERSION, "faults": faults }))
}

/// Reads the summary of a site whose plan is at fault from its faults.json.
///
/// # Errors
/// A description of what is wrong with the file.
pub fn site_at_fault(site: &str, text: &str) -> Result<SiteSummary, String> {
    #[derive(Deserialize)]
    struct Listed {
        format: String,
        faults: Vec<String>,
    }
    let listed: Listed = serde_json::from_str(text).map_err(|e| e.to_string())?;
    if listed.format != FAULTS_FORMAT {
        return Err(format!("its format is \"{}\", not \"{FAULTS_FORMAT}\"", listed.format));
    }
    Ok(SiteSummary { site: site.to_owned(), outcome: Err(listed.faults) })
}

/// Members of results.json that a summary reads; the rest, most of all the paths, is skipped.
#[derive(Deserialize)]
struct Results {
    format: String,
    version: u32,
    plan: PlanPart,
    frame: FramePart,
    every_vehicle_passes: bool,
    #[serde(default)]
    leaves_stopped: Option<String>,
    cases: Vec<CasePart>,
    vehicles: Vec<VehiclePart>,
    #[serde(default)]
    turns: Vec<TurnPart>,
    gate: GatePart,
    #[serde(default)]
    sight: Value,
    #[serde(default)]
    notes: Vec<String>,
}

#[derive(Deserialize)]
struct PlanPart {
    title: String,
    opening_m: f64,
    setback_m: f64,
    units: String,
}

#[derive(Deserialize)]
struct FramePart {
    kind: String,
    origin_lon_deg: Option<f64>,
    origin_lat_deg: Option<f64>,
}

#[derive(Deserialize)]
struct CasePart {
    vehicle: String,
    travel: String,
    maneuver: String,
    route: Option<String>,
    bare: AnswerPart,
    comfortable: AnswerPart,
    drawn_gate: String,
    #[serde(default)]
    drawn_contacts: Vec<ContactPart>,
}

#[derive(Deserialize)]
struct AnswerPart {
    outcome: String,
    reason: Option<String>,
    opening_m: Option<f64>,
    tightest: ContactPart,
}

#[derive(Deserialize)]
struct ContactPart {
    what: Option<String>,
    part: Option<String>,
}

#[derive(Deserialize)]
struct VehiclePart {
    vehicle: String,
    drawn_gate: String,
}

#[derive(Deserialize)]
struct TurnPart {
    vehicle: String,
    travel: String,
    drawn_gate: String,
    reason: Option<String>,
}

#[derive(Deserialize)]
struct GatePart {
    left_face: PlacePart,
    right_face: PlacePart,
    inward: [f64; 2],
    #[serde(default)]
    rules: Vec<RulePart>,
}

#[derive(Deserialize)]
struct PlacePart {
    x_m: f64,
    y_m: f64,
}

#[derive(Deserialize)]
struct RulePart {
    rule: String,
    outcome: String,
}

/// Reads the summary of a site from its results.json.
///
/// # Errors
/// A description of what is wrong with the file: cut short, or written by another program.
pub fn site_of_results(site: &str, text: &str) -> Result<SiteSummary, String> {
    let results: Results = serde_json::from_str(text).map_err(|e| e.to_string())?;
    if (results.format.as_str(), results.version) != (FORMAT, VERSION) {
        let (format, version) = (results.format, results.version);
        return Err(format!(
            "its format is \"{format}\", version {version}, not \"{FORMAT}\", version {VERSION}"
        ));
    }
    let gate = placed(&results.frame, &results.gate);
    let turns = results.turns.into_iter().map(|turn| Way {
        way: format!("{} turn-around", turn.travel),
        vehicle: turn.vehicle,
        bare_opening_m: None,
        comfortable_opening_m: None,
        verdict: turn.drawn_gate,
        limited_by: turn.reason.unwrap_or_default(),
    });
    let mut ways: Vec<Way> = results.cases.into_iter().map(way).chain(turns).collect();
    let vehicles: Vec<(String, String)> =
        results.vehicles.into_iter().map(|v| (v.vehicle, v.drawn_gate)).collect();
    // A vehicle that no direction of travel brings to the gate has no way in, and must still be listed.
    for (vehicle, verdict) in &vehicles {
        if !ways.iter().any(|way| way.vehicle == *vehicle) {
            ways.push(Way {
                vehicle: vehicle.clone(),
                way: String::new(),
                bare_opening_m: None,
                comfortable_opening_m: None,
                verdict: verdict.clone(),
                limited_by: results.notes.join(" "),
            });
        }
    }
    let failed = results.gate.rules.into_iter().filter(|rule| rule.outcome == "differs");
    let studied = Studied {
        title: results.plan.title,
        units: if results.plan.units == "ft" { Units::Feet } else { Units::Meters },
        opening_m: results.plan.opening_m,
        setback_m: results.plan.setback_m,
        passes: results.every_vehicle_passes,
        leaves_stopped: results.leaves_stopped,
        vehicles,
        ways,
        sight: sight_words(&results.sight),
        rules_failed: failed.map(|rule| rule.rule).collect(),
        gate,
    };
    Ok(SiteSummary { site: site.to_owned(), outcome: Ok(studied) })
}

fn placed(frame: &FramePart, gate: &GatePart) -> Option<Placed> {
    let (Some(lon_deg), Some(lat_deg)) = (frame.origin_lon_deg, frame.origin_lat_deg) else { return None };
    let (left, right) = (&gate.left_face, &gate.right_face);
    let bearing_deg = crate::geometry::trig::atan2(gate.inward[0], gate.inward[1]).to_degrees();
    (frame.kind == "lonlat").then_some(Placed {
        frame: Frame::LonLat { lon_deg, lat_deg },
        center: Point::new(0.5 * (left.x_m + right.x_m), 0.5 * (left.y_m + right.y_m)),
        bearing_deg: bearing_deg.rem_euclid(360.0),
    })
}

fn way(case: CasePart) -> Way {
    let limited_by = limit(&case);
    Way {
        vehicle: case.vehicle,
        way: case
            .route
            .map_or_else(|| format!("{} {}", case.travel, case.maneuver), |route| format!("route {route}")),
        bare_opening_m: case.bare.opening_m,
        comfortable_opening_m: case.comfortable.opening_m,
        verdict: case.drawn_gate,
        limited_by,
    }
}

/// Reason that there is no way in, or none in comfort; else the tightest place, as in the table of a study.
fn limit(case: &CasePart) -> String {
    for answer in [&case.bare, &case.comfortable] {
        if answer.outcome != "found" {
            let reason = answer.reason.as_deref().unwrap_or_default().trim();
            return if reason.is_empty() { answer.outcome.clone() } else { reason.to_owned() };
        }
    }
    let place = |contact: &ContactPart| Some((contact.what.clone()?, contact.part.clone()?));
    let answers = [&case.comfortable.tightest, &case.bare.tightest];
    let tightest = case.drawn_contacts.first().into_iter().chain(answers).find_map(place);
    tightest.map_or_else(String::new, |(what, part)| format!("{what}, by {part}"))
}

/// Words of a study on sight: a text as it is; of lists and objects each `verdict` or `outcome` once.
fn sight_words(value: &Value) -> String {
    fn gather<'v>(value: &'v Value, words: &mut Vec<&'v str>) {
        match value {
            Value::String(word) => words.push(word),
            Value::Array(list) => list.iter().for_each(|one| gather(one, words)),
            Value::Object(fields) => {
                let said = ["verdict", "outcome"].iter().find_map(|key| fields.get(*key)?.as_str());
                match said {
                    Some(word) => words.push(word),
                    None => fields.values().filter(|v| !v.is_string()).for_each(|one| gather(one, words)),
                }
            }
            _ => {}
        }
    }
    let mut words = Vec::new();
    gather(value, &mut words);
    let mut once: Vec<&str> = Vec::new();
    for word in words {
        if !once.contains(&word) {
            once.push(word);
        }
    }
    once.join("; ")
}
