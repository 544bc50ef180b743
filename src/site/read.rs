//! Converts a plan's text to a [`Site`]: JSON, then features one by one, then coordinates, then the site they form
//! together.
use super::fault::{Fault, Notes, PlanError, Who};
use super::properties::{
    BoundaryWords, CoordinatesWord, DriveWords, FenceWords, GateWords, ObstacleWords, PlanWords, RoadWords,
    RouteWords, SpotWords, UnitsWord, VehicleEntry, VehicleWords, read_object,
};
use super::shapes::{check_positions, outside_frame, positions};
use super::source::{Prepared, Source, prepare};
use super::table::LENGTHS;
use super::{Frame, Site, settle};
use crate::geometry::json_place::{nearest, step};
use crate::geometry::length::FOOT_M;
use crate::geometry::text::{tidy, tidy_values};
use geojson::GeometryValue;
use serde_json::{Map, Value};
use std::collections::BTreeSet;

/// The roles a feature can have.
pub(super) const ROLES: [&str; 8] =
    ["road", "drive", "gate", "fence", "obstacle", "spot", "route", "boundary"];

/// Most features a plan may have: each is cheap, but a drawing of more shows nothing.
const MAX_FEATURES: usize = 20_000;

/// A feature with its words read and its geometry well formed, still in plan coordinates.
pub(super) struct Raw {
    pub(super) who: Who,
    pub(super) words: Words,
    pub(super) shape: GeometryValue,
}

/// The properties of a feature, by role.
pub(super) enum Words {
    Road(RoadWords),
    Drive(DriveWords),
    Gate(GateWords),
    Fence(FenceWords),
    Obstacle(ObstacleWords),
    Spot(SpotWords),
    Route(RouteWords),
    Boundary(BoundaryWords),
}

/// Reads a site plan (GeoJSON, RFC 7946, with a `plan` member and a `role` for each feature).
///
/// ```
/// let plan = r#"{ "type": "FeatureCollection",
///   "plan": { "coordinates": "local-ft", "vehicles": ["pickup"] },
///   "features": [
///     { "type": "Feature", "properties": { "role": "road", "width": "20 ft" },
///       "geometry": { "type": "LineString", "coordinates": [[-100, 0], [100, 0]] } },
///     { "type": "Feature", "properties": { "role": "gate" },
///       "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } } ] }"#;
/// let site = wideenough::site::read(plan, "field.geojson").unwrap();
/// assert!((site.gate.opening_m() - 16.0 * 0.3048).abs() < 1e-12);
/// assert!((site.gate.setback_m - 15.0 * 0.3048).abs() < 1e-12);
///
/// let error = wideenough::site::read(&plan.replace("gate", "gait"), "field.geojson").unwrap_err();
/// assert_eq!(
///     error.to_string(),
///     "field.geojson:6:50: feature 2, property \"role\": \"gait\" is not a role; did you mean \"gate\"?",
/// );
/// ```
///
/// # Errors
/// Every fault found, each with its line, feature and place; see [`PlanError`].
pub fn read(text: &str, file: &str) -> Result<Site, PlanError> {
    read_source(&Source::of(text, file))
}

/// Reads a site plan and the files given with it: see [`Source`].
///
/// # Errors
/// Every fault found in all of them, each with its file, line, feature and place; see [`PlanError`].
pub fn read_source(source: &Source) -> Result<Site, PlanError> {
    let Prepared { root, mut notes, left_out, .. } = prepare(source)?;
    let site = root_object(&root, &mut notes).and_then(|root| site(root, &left_out, &mut notes));
    let (faults, warnings) = notes.sorted();
    match site {
        Some(mut site) if faults.is_empty() => {
            site.warnings = warnings.iter().map(|warning| tidy(&warning.to_string()).into_owned()).collect();
            Ok(site)
        }
        _ => Err(PlanError::Faulty { file: source.plan.file.to_owned(), faults, warnings }),
    }
}

/// Parses a text as JSON and makes its texts safe to show.
pub(super) fn parse(text: &str, file: &str) -> Result<Value, Box<Fault>> {
    let mut root: Value =
        serde_json::from_str(text).map_err(|error| Box::new(syntax_fault(text, file, &error)))?;
    tidy_values(&mut root);
    Ok(root)
}

/// The reason the text is not JSON, in words that help.
fn syntax_fault(text: &str, file: &str, error: &serde_json::Error) -> Fault {
    let (line, column) = (error.line().max(1), error.column().max(1));
    let near = text.lines().nth(line - 1).unwrap_or_default();
    // The word the parser stopped in: from the last separator before the place.
    let upto: String = near.chars().take(column).collect();
    let start = upto.rfind(['[', ',', ':', '{', ' ']).map_or(0, |i| i + 1);
    let word: String =
        near[start..].chars().take_while(|c| c.is_alphanumeric() || "-+.".contains(*c)).collect();
    let lower = word.to_lowercase();
    let message = if text.trim().is_empty() {
        "the file is empty; a plan is a GeoJSON FeatureCollection with a road and a gate".to_owned()
    } else if lower.contains("nan") || lower.contains("inf") {
        format!("{word} is not a number JSON allows; write the true coordinate, or leave the point out")
    } else if error.is_eof() {
        "the file ends too early: it was cut off, or a bracket is not closed".to_owned()
    } else {
        let what = error.to_string();
        let what = what.split(" at line ").next().unwrap_or_default();
        if what.contains("recursion limit") {
            "brackets are nested too deep for a site plan".to_owned()
        } else if what.contains("out of range") {
            format!("the number {word} is too large to be a length or a coordinate")
        } else {
            format!("not JSON: {what}")
        }
    };
    Fault { file: file.to_owned(), line, column, feature: None, label: None, part: String::new(), message }
}

/// The top level, if it is a FeatureCollection.
fn root_object<'r>(root: &'r Value, notes: &mut Notes) -> Option<&'r Map<String, Value>> {
    let whole = Who::default();
    let advice = "a plan is an object with \"type\": \"FeatureCollection\" and a list of \"features\"";
    let Some(object) = root.as_object() else {
        notes.fault(&whole, "", "", format!("not a plan; {advice}"));
        return None;
    };
    match object.get("type").and_then(Value::as_str) {
        Some("FeatureCollection") => {}
        Some(other) => {
            notes.fault(&whole, "/type", "", format!("\"{other}\" is not a plan; {advice}"));
            return None;
        }
        None => {
            notes.fault(&whole, "", "", format!("\"type\" is missing; {advice}"));
            return None;
        }
    }
    if let Some(crs) = object.get("crs").filter(|crs| !crs.is_null()) {
        let name = crs.pointer("/properties/name").and_then(Value::as_str).unwrap_or_default();
        // CRS84 is the system RFC 7946 prescribes, in words that map programs still add. EPSG 4326 is the same but for
        // the order of its axes.
        if name.ends_with("CRS84") {
        } else if name.ends_with("EPSG::4326") || name == "EPSG:4326" {
            notes.warn(&whole, "/crs", "\"crs\"", "ignored: RFC 7946 dropped it; longitude comes first");
        } else {
            notes.fault(
                &whole,
                "/crs",
                "\"crs\"",
                "another coordinate system is not read (RFC 7946 dropped it); export longitude and latitude \
                 (WGS 84), or remove \"crs\" and say \"coordinates\": \"local-m\" or \"local-ft\" in \"plan\"",
            );
        }
    }
    Some(object)
}

fn site(root: &Map<String, Value>, left_out: &BTreeSet<usize>, notes: &mut Notes) -> Option<Site> {
    let whole = Who::default();
    let plan = plan_words(root, notes);
    let coordinates = plan.coordinates.unwrap_or(CoordinatesWord::LonLat);
    notes.units = settle::units(&plan);
    let Some(features) = root.get("features").and_then(Value::as_array) else {
        notes.fault(
            &whole,
            "/features",
            "",
            "\"features\" is missing or not a list; it holds the road and the gate",
        );
        return None;
    };
    let count = features.len() - left_out.len().min(features.len());
    if count > MAX_FEATURES {
        notes.fault(
            &whole,
            "/features",
            "",
            format!("{count} features are too many for a site plan (at most {MAX_FEATURES}); keep what is near the gate"),
        );
        return None;
    }
    let before = notes.faults.len();
    let of_the_place = features.iter().enumerate().filter(|(i, _)| !left_out.contains(i));
    let raw: Vec<Raw> = of_the_place.filter_map(|(i, value)| feature(i, value, notes)).collect();
    // An author who sketches in meters and wants feet shown knows what a number is.
    let in_feet = match coordinates {
        CoordinatesWord::LocalFt => true,
        CoordinatesWord::LocalM => false,
        CoordinatesWord::LonLat => plan.units == Some(UnitsWord::Ft),
    };
    if in_feet {
        warn_of_bare_numbers(features, notes);
    }
    let whole_file_read = notes.faults.len() == before;
    if plan.coordinates.is_none() && root.get("plan").is_some_and(says_coordinates) {
        // The plan names its coordinates in words not understood: every distance would be wrong.
        return None;
    }
    let frame = frame(coordinates, &raw);
    if outside_frame(&frame, &raw, notes) {
        return None;
    }
    settle::site(plan, frame, raw, whole_file_read, notes)
}

/// True if a `plan` member attempts to specify the coordinates.
fn says_coordinates(plan: &Value) -> bool {
    match plan {
        Value::Null => false,
        Value::Object(words) => words.get("coordinates").is_some_and(|word| !word.is_null()),
        _ => true,
    }
}

fn plan_words(root: &Map<String, Value>, notes: &mut Notes) -> PlanWords {
    let whole = Who::default();
    let mut object = match root.get("plan") {
        None | Some(Value::Null) => Map::new(),
        Some(Value::Object(object)) => object.clone(),
        Some(_) => {
            notes.fault(
                &whole,
                "/plan",
                "\"plan\"",
                "must be an object, like { \"title\": \"North entrance\" }",
            );
            Map::new()
        }
    };
    // Read each vehicle by itself, so that a fault has the place of its own entry.
    if let Some(Value::Array(entries)) = object.get_mut("vehicles") {
        let mut kept = Vec::new();
        for (i, entry) in entries.iter().enumerate() {
            let before = notes.faults.len();
            let at = format!("/plan/vehicles/{i}");
            match entry {
                Value::Object(words) => {
                    let read: VehicleWords = read_object(words, &whole, &at, notes);
                    if read.vehicle.is_empty() && notes.faults.len() == before {
                        notes.fault(&whole, &at, "\"vehicles\"", "\"vehicle\" is empty; name one, like \"pickup\"");
                    }
                    // Unknown members had a warning; they must not stop the rest.
                    let mut words = words.clone();
                    words.retain(|key, _| matches!(key.as_str(), "vehicle" | "visits" | "maneuvers" | "travels"));
                    if notes.faults.len() == before {
                        kept.push(Value::Object(words));
                    }
                }
                Value::String(name) if !name.trim().is_empty() => kept.push(entry.clone()),
                _ => notes.fault(
                    &whole,
                    &at,
                    "\"vehicles\"",
                    format!("{entry} is not a vehicle; write a name, like \"pickup\", or {{ \"vehicle\": \"pickup\" }}"),
                ),
            }
        }
        *entries = kept;
    }
    read_object(&object, &whole, "/plan", notes)
}

/// One feature: its role, its words, its geometry. Faults are noted; `None` if nothing usable is left.
fn feature(index: usize, value: &Value, notes: &mut Notes) -> Option<Raw> {
    let mut who = Who { index: Some(index + 1), label: None, pointer: format!("/features/{index}") };
    let Some(object) = value.as_object() else {
        notes.fault(&who, "", "", "not an object; a feature has \"type\", \"properties\" and \"geometry\"");
        return None;
    };
    let empty = Map::new();
    let properties = object.get("properties").and_then(Value::as_object).unwrap_or(&empty);
    who.label = ["label", "name"]
        .iter()
        .find_map(|key| properties.get(*key).and_then(Value::as_str))
        .filter(|label| !label.trim().is_empty())
        .map(|label| label.chars().take(60).collect());
    if object.get("type").and_then(Value::as_str) != Some("Feature") {
        notes.fault(&who, "/type", "", "\"type\" must be \"Feature\"");
        return None;
    }
    let words = words(properties, &who, notes);
    let shape = shape(object.get("geometry"), &who, notes);
    Some(Raw { words: words?, shape: shape?, who })
}

/// The properties by role.
fn words(properties: &Map<String, Value>, who: &Who, notes: &mut Notes) -> Option<Words> {
    let role = match properties.get("role") {
        None | Some(Value::Null) => {
            let message = match notes.roles_file {
                None => format!("has no \"role\"; say one of {} in its properties", ROLES.join(", ")),
                Some(file) => format!(
                    "has no \"role\", and no rule of {file} fits it; add one, with the role \"ignore\" if it is no \
                     part of the place"
                ),
            };
            notes.fault(who, "/properties", "", message);
            return None;
        }
        Some(role) => role,
    };
    let typed = role.as_str().map_or_else(|| role.to_string(), str::to_owned);
    let mut rest = properties.clone();
    rest.shift_remove("role");
    let below = "/properties";
    Some(match typed.as_str() {
        "road" => Words::Road(read_object(&rest, who, below, notes)),
        "drive" => Words::Drive(read_object(&rest, who, below, notes)),
        "gate" => Words::Gate(read_object(&rest, who, below, notes)),
        "fence" => Words::Fence(read_object(&rest, who, below, notes)),
        "obstacle" => Words::Obstacle(read_object(&rest, who, below, notes)),
        "spot" => Words::Spot(read_object(&rest, who, below, notes)),
        "route" => Words::Route(read_object(&rest, who, below, notes)),
        "boundary" => Words::Boundary(read_object(&rest, who, below, notes)),
        _ => {
            let hint = match nearest(&typed, ROLES) {
                Some(role) => format!("; did you mean \"{role}\"?"),
                None => format!("; use one of {}", ROLES.join(", ")),
            };
            notes.property(who, "role", format!("\"{typed}\" is not a role{hint}"));
            return None;
        }
    })
}

/// The geometry, after a check that every number in it is one.
fn shape(geometry: Option<&Value>, who: &Who, notes: &mut Notes) -> Option<GeometryValue> {
    let value = match geometry {
        None | Some(Value::Null) => {
            notes.fault(who, "/geometry", "", "has no geometry; draw it, or remove the feature");
            return None;
        }
        Some(value) => value,
    };
    if !check_positions(value, who, notes) {
        return None;
    }
    match serde_json::from_value::<geojson::Geometry>(value.clone()) {
        Ok(geometry) => Some(geometry.value),
        Err(error) => {
            notes.fault(who, "/geometry", "geometry", error.to_string());
            None
        }
    }
}

/// Warns of bare numbers among the properties of a plan in feet: they are likely meant as feet, but are meters.
fn warn_of_bare_numbers(features: &[Value], notes: &mut Notes) {
    for (i, feature) in features.iter().enumerate() {
        let Some(properties) = feature.get("properties").and_then(Value::as_object) else { continue };
        let label = properties.get("label").and_then(Value::as_str).map(str::to_owned);
        let who = Who { index: Some(i + 1), label, pointer: format!("/features/{i}") };
        let here =
            LENGTHS.iter().map(|key| (format!("/properties{}", step(key)), *key, properties.get(*key)));
        let of_post = ["width", "depth", "top"].map(|key| {
            (format!("/properties/post/{key}"), key, properties.get("post").and_then(|post| post.get(key)))
        });
        for (place, key, value) in here.chain(of_post) {
            let Some(number) = value.and_then(Value::as_f64).filter(|n| *n != 0.0) else { continue };
            notes.warn(
                &who,
                &place,
                &format!("property \"{key}\""),
                format!("a number without a unit is meters; write \"{number} ft\" or \"{number} in\" if you mean that"),
            );
        }
    }
}

/// Conversion of coordinates to meters. Longitude and latitude are projected about the middle of the gate; if there is
/// no gate, about the first point there is, so that other faults can be found.
fn frame(coordinates: CoordinatesWord, raw: &[Raw]) -> Frame {
    match coordinates {
        CoordinatesWord::LocalM => return Frame::Local { meters_per_unit: 1.0 },
        CoordinatesWord::LocalFt => return Frame::Local { meters_per_unit: FOOT_M },
        CoordinatesWord::LonLat => {}
    }
    let gate = raw.iter().find(|feature| matches!(feature.words, Words::Gate(_)));
    let ends: Vec<[f64; 2]> =
        gate.or(raw.first()).map(|feature| positions(&feature.shape)).unwrap_or_default();
    let a = ends.first().copied().unwrap_or_default();
    let b = if gate.is_some() { ends.get(1).copied().unwrap_or(a) } else { a };
    // The short way round, for a gate astride the antimeridian.
    let east = (b[0] - a[0] + 540.0).rem_euclid(360.0) - 180.0;
    let lon_deg = (a[0] + east / 2.0 + 540.0).rem_euclid(360.0) - 180.0;
    Frame::LonLat { lon_deg, lat_deg: (a[1] + b[1]) / 2.0 }
}

/// The plan's vehicles, each with its accepted visits and directions of travel.
pub(super) fn vehicle_entries(plan: &PlanWords) -> Vec<VehicleWords> {
    plan.vehicles
        .iter()
        .flatten()
        .map(|entry| match entry {
            VehicleEntry::Name(name) => {
                VehicleWords { vehicle: name.trim().to_owned(), ..VehicleWords::default() }
            }
            VehicleEntry::Request(words) => words.clone(),
        })
        .collect()
}
