//! Answers about a plan or a vehicle that take no search: is it sound, what would a sketch of it be, how does it turn.
use super::failure::Failure;
use super::folder;
use crate::cli::inputs::{self, Faults, Inputs};
use axum::http::StatusCode;
use serde::Deserialize;
use serde_json::{Value, json};
use std::path::Path;
use std::sync::OnceLock;
use wideenough::drawing;
use wideenough::geometry::length::{self, Round, Units};
use wideenough::geometry::{Point, text::tidy};
use wideenough::report::{curb_radius_m, layout::pretty};
use wideenough::site::sketch::{FarSide, TapeMeasurements, to_plan_text};
use wideenough::site::{self, Frame, Source};
use wideenough::vehicle::{self, Measure, Unit, Vehicle};

/// Name of a plan that has none.
pub const UNNAMED: &str = "my-place.geojson";

/// Reads a plan as the command line reads it from a file in the board's folder. Vehicle files must be in that folder.
pub fn read(text: &str, name: &str) -> Result<Inputs, Faults> {
    inputs::read_text_with(Path::new(name), text.to_owned(), &[], &vehicle_named)
}

/// A vehicle that a plan names: one of the library, or a file in the board's folder or below it.
pub fn vehicle_named(name: &str) -> Result<Vehicle, Faults> {
    let in_library = !inputs::looks_like_a_file(name) && vehicle::find(name).is_ok();
    // A file that is not there is reported as such.
    if !in_library && let Ok(file) = Path::new(name).canonicalize() {
        let folder = Path::new(".").canonicalize();
        if !folder.is_ok_and(|folder| file.starts_with(folder)) || !file.is_file() {
            return Err(Faults::one(format!(
                "\"{name}\": is not in the board's folder; put the vehicle file there"
            )));
        }
    }
    inputs::vehicle(name, Some(Path::new("")))
}

/// The faults and warnings of a plan, and its gate in numbers.
pub fn check(text: &str, name: &str) -> Value {
    match read(text, name) {
        Ok(Inputs { site, .. }) => {
            let gate = &site.gate;
            json!({
                "faults": [],
                "warnings": site.warnings,
                "opening_m": gate.opening_m(),
                "setback_m": gate.setback_m,
                "skew_deg": gate.skew_rad.to_degrees(),
            })
        }
        Err(faults) => {
            let (plan_faults, warnings) = match site::read_source(&Source::of(text, name)) {
                Ok(site) => (Vec::new(), site.warnings),
                Err(e) => (e.faults().to_vec(), e.warnings().iter().map(ToString::to_string).collect()),
            };
            let of_plan = plan_faults.iter().map(|fault| {
                json!({
                    "message": fault.to_string(),
                    "short": fault.message,
                    "part": fault.part,
                    "feature": fault.feature.map(|index| index - 1),
                    "fix": null,
                })
            });
            let told: Vec<String> = plan_faults.iter().map(ToString::to_string).collect();
            // Those of the vehicles.
            let others = faults
                .messages()
                .iter()
                .flat_map(|message| message.lines())
                .filter(|line| !line.starts_with("warning: "))
                .filter(|line| plan_faults.is_empty() || !told.iter().any(|told| told == line))
                .filter(|line| !line.ends_with(" more faults"))
                .map(|line| {
                    let line = tidy(line);
                    json!({ "message": line, "short": line, "part": "", "feature": null, "fix": null })
                });
            json!({
                "faults": of_plan.chain(others).collect::<Vec<Value>>(),
                "warnings": warnings,
                "opening_m": null,
                "setback_m": null,
                "skew_deg": null,
            })
        }
    }
}

/// A plan in longitude and latitude as one in feet or meters about its gate; any other as it is.
pub fn local(text: &str, name: &str) -> Result<String, Failure> {
    let site = site::read_source(&Source::of(text, name))
        .map_err(|e| Failure::faults(&wideenough::Error::from(e).into()))?;
    if !matches!(site.frame, Frame::LonLat { .. }) {
        return Ok(text.to_owned());
    }
    let meters_per_unit = if site.units == Units::Feet { length::FOOT_M } else { 1.0 };
    let mut root: Value = serde_json::from_str(text.strip_prefix('\u{feff}').unwrap_or(text))
        .map_err(|e| Failure::bad(e.to_string()))?;
    let features = root.get_mut("features").and_then(Value::as_array_mut);
    for feature in features.into_iter().flatten() {
        if let Some(feature) = feature.as_object_mut() {
            feature.remove("bbox");
        }
        if let Some(geometry) = feature.get_mut("geometry") {
            place(geometry, &site.frame, meters_per_unit);
        }
    }
    if let Some(root) = root.as_object_mut() {
        root.remove("bbox");
        root.remove("crs");
        let plan = root.entry("plan").or_insert_with(|| json!({}));
        if !plan.is_object() {
            *plan = json!({});
        }
        plan["coordinates"] = if site.units == Units::Feet { "local-ft" } else { "local-m" }.into();
    }
    Ok(pretty(&root))
}

/// Places every position of a geometry, or of a collection of them, to a hundred-thousandth of a unit.
fn place(geometry: &mut Value, frame: &Frame, meters_per_unit: f64) {
    if let Some(object) = geometry.as_object_mut() {
        object.remove("bbox");
        for (key, value) in object {
            if key == "coordinates" || key == "geometries" {
                place(value, frame, meters_per_unit);
            }
        }
        return;
    }
    let Some(list) = geometry.as_array_mut() else { return };
    match list.as_mut_slice() {
        [Value::Number(x), Value::Number(y), ..] => {
            let (Some(lon), Some(lat)) = (x.as_f64(), y.as_f64()) else { return };
            let Point { x, y } = frame.to_site([lon, lat]);
            let round = |m: f64| (m / meters_per_unit * 1e5).round() / 1e5 + 0.0;
            *list = vec![json!(round(x)), json!(round(y))];
        }
        items => items.iter_mut().for_each(|item| place(item, frame, meters_per_unit)),
    }
}

/// Tape measurements, lengths as people write them.
#[derive(Deserialize)]
pub struct Tape {
    title: Option<String>,
    road_width: String,
    setback: String,
    opening: String,
    leaves: Option<String>,
    opens: Option<String>,
    hinge: Option<String>,
    post: Option<String>,
    apron: Option<String>,
    depth: Option<String>,
    skew: Option<Value>,
    units: Option<String>,
    drives_on: Option<String>,
    far_side: Option<String>,
    #[serde(default)]
    vehicles: Vec<String>,
}

/// The plan that tape measurements make.
pub fn sketch(tape: &Tape) -> Result<String, Failure> {
    let mut faults = Faults::default();
    let mut measure = |what: &str, text: &str| match length::parse(text) {
        Ok(meters) => meters,
        Err(e) => {
            faults.add(Faults::one(format!("{what}: {e}")));
            0.0
        }
    };
    let usual = TapeMeasurements::default();
    let mut optional = |what: &str, text: &Option<String>| {
        text.as_deref().filter(|text| !text.trim().is_empty()).map(|text| measure(what, text))
    };
    let apron_width_m = optional("the apron's width", &tape.apron);
    let depth_inside_m = optional("the depth inside", &tape.depth).unwrap_or(usual.depth_inside_m);
    let post_m = optional("the post", &tape.post).unwrap_or(usual.post_m);
    let mut measurements = TapeMeasurements {
        title: tape.title.clone().unwrap_or_else(|| "Sketch from tape measurements".to_owned()),
        road_width_m: measure("the road's width", &tape.road_width),
        setback_m: measure("the setback", &tape.setback),
        opening_m: measure("the opening", &tape.opening),
        post_m,
        apron_width_m,
        depth_inside_m,
        units: if tape.units.as_deref() == Some("m") { Units::Meters } else { Units::Feet },
        drives_on: if tape.drives_on.as_deref() == Some("left") {
            site::Side::Left
        } else {
            site::Side::Right
        },
        far_side: match tape.far_side.as_deref() {
            Some("ditch") => FarSide::Ditch,
            Some("wall") => FarSide::Wall,
            _ => FarSide::Open,
        },
        vehicles: tape.vehicles.clone(),
        ..usual
    };
    match &tape.skew {
        None | Some(Value::Null) => {}
        Some(skew) => {
            let said =
                skew.as_f64().or_else(|| skew.as_str()?.trim().trim_end_matches('\u{b0}').parse().ok());
            match said {
                Some(degrees) => measurements.skew_deg = degrees,
                None => faults.add(Faults::one("the skew is a number of degrees, like 15")),
            }
        }
    }
    let leaves = [
        ("leaves", &tape.leaves, &["double", "single", "slide", "none"][..]),
        ("opens", &tape.opens, &["in", "out"]),
        ("hinge", &tape.hinge, &["left", "right"]),
    ];
    for (key, word, known) in leaves {
        if let Some(word) = word.as_deref().filter(|word| !known.contains(word)) {
            faults.add(Faults::one(format!("{key} is one of {}, not \"{}\"", known.join(", "), tidy(word))));
        }
    }
    faults.or(()).map_err(|faults| Failure::faults(&faults))?;
    let text = to_plan_text(&measurements);
    let text = text.map_err(|e| Failure::faults(&wideenough::Error::from(e).into()))?;
    if leaves.iter().all(|(_, word, _)| word.is_none()) {
        return Ok(text);
    }
    let mut root: Value = serde_json::from_str(&text).map_err(|_| Failure::internal())?;
    for feature in root["features"].as_array_mut().into_iter().flatten() {
        let words = &mut feature["properties"];
        if words["role"] == "gate" {
            let swings = |words: &Value| words["leaves"] == "double" || words["leaves"] == "single";
            for (key, word, _) in leaves {
                if let Some(word) = word {
                    words[key] = word.as_str().into();
                }
            }
            if !swings(words)
                && let Some(words) = words.as_object_mut()
            {
                words.shift_remove("opens");
            }
            if words["leaves"] == "single" || words["leaves"] == "slide" {
                if words["hinge"].is_null() {
                    words["hinge"] = "left".into();
                }
            } else if let Some(words) = words.as_object_mut() {
                words.shift_remove("hinge");
            }
        }
    }
    Ok(pretty(&root))
}

/// A vehicle in a list.
fn row(vehicle: &Vehicle, name: &str, own: bool) -> Value {
    json!({
        "name": name,
        "title": vehicle.title,
        "picture_svg": drawing::vehicle_svg(vehicle, Units::Feet),
        "length_m": vehicle.length_m(),
        "width_m": vehicle.units.iter().map(Unit::widest_m).fold(0.0, f64::max),
        "trailer": vehicle.units.len() > 1,
        "own": own,
    })
}

/// The vehicles of the library, and those of the folder.
pub fn vehicles() -> Vec<Value> {
    static LIBRARY: OnceLock<Vec<Value>> = OnceLock::new();
    let library = LIBRARY.get_or_init(|| {
        let library = vehicle::library().iter();
        library.filter_map(|(name, _)| Some(row(&vehicle::find(name).ok()?, name, false))).collect()
    });
    let own = folder::listed(folder::VEHICLE).into_iter().filter_map(|file| {
        let text = folder::vehicle(&file).ok()?;
        Some(row(&vehicle::read(&text, &file).ok()?, &file, true))
    });
    library.iter().cloned().chain(own).collect()
}

/// The file of a vehicle: of the library by its name, or of the folder by its file's name.
pub fn vehicle_file(name: &str) -> Result<String, Failure> {
    match vehicle::library().iter().find(|(known, _)| *known == name) {
        Some((_, text)) => Ok((*text).to_owned()),
        None => folder::vehicle(name),
    }
}

/// Text of a vehicle file that is sent as text or as the object it holds.
fn vehicle_text(file: &Value) -> String {
    file.as_str().map_or_else(|| pretty(file), str::to_owned)
}

/// Faults of a vehicle file, or its picture, measures and turning circles.
pub fn vehicle(file: &Value, name: &str) -> Value {
    let text = vehicle_text(file);
    match vehicle::read(&text, name) {
        Err(e) => {
            let faults: Vec<String> = e.to_string().lines().map(|line| tidy(line).into_owned()).collect();
            json!({ "faults": faults, "picture_svg": null, "measures": [], "turning": null })
        }
        Ok(vehicle) => {
            let measured = |of: &[vehicle::Dimension]| -> Vec<Value> {
                let shown = |measure: Measure| match measure {
                    Measure::Length(m) => length::show(m, Units::Feet, Round::Nearest),
                    Measure::Angle(radians) => format!("{:.1}\u{b0}", radians.to_degrees()),
                };
                of.iter()
                    .map(|one| {
                        let value_m = match one.measure {
                            Measure::Length(m) => Some(m),
                            Measure::Angle(_) => None,
                        };
                        json!({ "name": one.name, "value": shown(one.measure), "value_m": value_m, "source": one.source })
                    })
                    .collect()
            };
            let derived = vehicle.derived();
            let radius_m = |name: &str| {
                let found = derived.iter().find(|one| one.name.contains(name));
                found.and_then(|one| match one.measure {
                    Measure::Length(m) => Some(0.5 * m),
                    Measure::Angle(_) => None,
                })
            };
            json!({
                "faults": [],
                "title": vehicle.title,
                "picture_svg": drawing::vehicle_svg(&vehicle, Units::Feet),
                "measures": measured(&vehicle.dimensions).into_iter().chain(measured(&derived)).collect::<Vec<Value>>(),
                "turning": {
                    "curb_radius_m": curb_radius_m(&vehicle).or_else(|| radius_m("curb to curb")),
                    "wall_radius_m": radius_m("wall to wall"),
                    "rear_axle_radius_m": 1.0 / vehicle.steering.max_curvature,
                    "lock_angle_deg": vehicle.steering.lock_angle_rad.to_degrees(),
                },
                "length_m": vehicle.length_m(),
                "width_m": vehicle.units.iter().map(Unit::widest_m).fold(0.0, f64::max),
            })
        }
    }
}

/// Writes a sound vehicle file into the folder, as the command line reads it.
pub fn save_vehicle(name: &str, file: &Value) -> Result<Value, Failure> {
    let file_name =
        if name.ends_with(folder::VEHICLE) { name.to_owned() } else { format!("{name}{}", folder::VEHICLE) };
    let text = vehicle_text(file);
    let read = vehicle::read(&text, &file_name);
    read.map_err(|e| Failure::faults(&wideenough::Error::from(e).into()))?;
    // A file that is there and is no vehicle, a plan or settings, is not this board's to replace.
    if folder::vehicle(&file_name).is_ok_and(|there| vehicle::read(&there, &file_name).is_err()) {
        let message = format!("{file_name}: already exists and is not a vehicle; choose another name");
        return Err(Failure::new(StatusCode::CONFLICT, message));
    }
    folder::save_vehicle(&file_name, &text)?;
    Ok(json!({ "name": file_name }))
}

/// Plans to try: name, title and text.
pub fn examples() -> Vec<Value> {
    const EXAMPLES: [(&str, &str); 7] = [
        ("field-sketch", include_str!("../../examples/field-sketch.geojson")),
        ("rural-entrance", include_str!("../../examples/rural-entrance.geojson")),
        ("house-on-a-bend", include_str!("../../examples/house-on-a-bend.geojson")),
        ("small-lane", include_str!("../../examples/small-lane.geojson")),
        ("town-lot", include_str!("../../examples/town-lot.geojson")),
        ("workshop-lane", include_str!("../../examples/workshop-lane.geojson")),
        ("equipment-yard", include_str!("../../examples/equipment-yard.geojson")),
    ];
    EXAMPLES
        .iter()
        .map(|(name, text)| {
            let root: Value = serde_json::from_str(text).unwrap_or_default();
            let title = root["plan"]["title"].as_str().unwrap_or(name);
            json!({ "name": format!("{name}{}", folder::PLAN), "title": title, "text": text })
        })
        .collect()
}
