//! Rows of a summary as CSV, JSON Lines and GeoJSON, one site after another.
use super::{SiteSummary, Studied, Way};
use crate::opening::OPENING_PLACES;
use crate::report::decimal::{nearest, number, up};
use crate::report::degrees::Steps;
use serde_json::{Value, json};

/// Columns of the table: one row for each way of each vehicle, and one for a site at fault.
const COLUMNS: [&str; 14] = [
    "site",
    "title",
    "vehicle",
    "way",
    "bare_opening_m",
    "comfortable_opening_m",
    "drawn_opening_m",
    "verdict",
    "vehicle_verdict",
    "site_verdict",
    "limited_by",
    "sight",
    "rules_failed",
    "faults",
];
/// Verdict on a site that could not be studied.
const AT_FAULT: &str = "at-fault";
/// Decimals of lengths as drawn: a micrometer, as in results.json.
const PLACE_PLACES: u8 = 6;
/// Decimals of a bearing.
const BEARING_PLACES: u8 = 2;

/// First line of summary.csv.
#[must_use]
pub fn csv_header() -> String {
    format!("{}\n", COLUMNS.join(","))
}

/// Lines of a site in summary.csv: comma-separated by RFC 4180, UTF-8, each ended by a line feed.
///
/// A text that a spreadsheet would take for a formula gets an apostrophe in front.
#[must_use]
pub fn csv(site: &SiteSummary) -> String {
    let mut text = String::new();
    for row in rows(site) {
        let cells = row.iter().map(|(_, value)| match value {
            Value::Null => String::new(),
            Value::String(words) => quoted(words),
            Value::Array(list) => {
                quoted(&list.iter().filter_map(Value::as_str).collect::<Vec<&str>>().join("; "))
            }
            other => other.to_string(),
        });
        text.push_str(&cells.collect::<Vec<String>>().join(","));
        text.push('\n');
    }
    text
}

fn quoted(words: &str) -> String {
    let formula = words.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let words = if formula { format!("'{words}") } else { words.to_owned() };
    let plain = !words.contains(['"', ',', '\n', '\r']);
    if plain { words } else { format!("\"{}\"", words.replace('"', "\"\"")) }
}

/// Lines of a site in summary.jsonl: one JSON object for each row of summary.csv, with the same names.
#[must_use]
pub fn json_lines(site: &SiteSummary) -> String {
    let object = |row: Row| Value::Object(row.into_iter().map(|(key, v)| (key.to_owned(), v)).collect());
    rows(site).into_iter().map(|row| format!("{}\n", object(row))).collect()
}

type Row = Vec<(&'static str, Value)>;

/// Rows of a site, each with every column.
fn rows(site: &SiteSummary) -> Vec<Row> {
    match &site.outcome {
        Err(faults) => {
            let cell = |column: &'static str| match column {
                "site" => json!(site.site),
                "site_verdict" => json!(AT_FAULT),
                "faults" => json!(faults),
                "rules_failed" => json!([]),
                "sight" => json!(""),
                _ => Value::Null,
            };
            vec![COLUMNS.into_iter().map(|column| (column, cell(column))).collect()]
        }
        Ok(studied) => studied.ways.iter().map(|way| row(&site.site, studied, way)).collect(),
    }
}

fn row(site: &str, studied: &Studied, way: &Way) -> Row {
    let opening = |m: Option<f64>| m.map_or(Value::Null, |m| number(up(m, OPENING_PLACES)));
    let of_vehicle = studied.vehicles.iter().find(|(name, _)| *name == way.vehicle);
    let cell = |column: &'static str| match column {
        "site" => json!(site),
        "title" => json!(studied.title),
        "vehicle" => json!(way.vehicle),
        "way" => json!(way.way),
        "bare_opening_m" => opening(way.bare_opening_m),
        "comfortable_opening_m" => opening(way.comfortable_opening_m),
        "drawn_opening_m" => number(nearest(studied.opening_m, PLACE_PLACES)),
        "verdict" => json!(way.verdict),
        "vehicle_verdict" => json!(of_vehicle.map(|(_, verdict)| verdict)),
        "site_verdict" => json!(studied.verdict()),
        "limited_by" => json!(way.limited_by),
        "sight" => json!(studied.sight),
        "rules_failed" => json!(studied.rules_failed),
        _ => json!([]),
    };
    COLUMNS.into_iter().map(|column| (column, cell(column))).collect()
}

/// Text before the first gate of the map.
#[must_use]
pub const fn map_start() -> &'static str {
    "{\n  \"type\": \"FeatureCollection\",\n  \"features\": ["
}

/// Text behind the last gate of the map.
#[must_use]
pub const fn map_end() -> &'static str {
    "\n  ]\n}\n"
}

/// Point feature for a site's gate: the middle of the opening, WGS 84 (RFC 7946), with the verdict on each vehicle.
/// `None` for a sketch, which has no place on Earth, and for a plan at fault. `first`: nothing stands before it on the
/// map.
#[must_use]
pub fn map_feature(site: &SiteSummary, first: bool) -> Option<String> {
    let studied = site.outcome.as_ref().ok()?;
    let gate = studied.gate?;
    let words = studied.vehicles.iter().map(|(vehicle, verdict)| format!("{vehicle}: {verdict}"));
    let feature = json!({
        "type": "Feature",
        "id": site.site,
        "geometry": { "type": "Point", "coordinates": Steps::point(&gate.frame, gate.center) },
        "properties": {
            "site": site.site,
            "title": studied.title,
            "verdict": studied.verdict(),
            "opening_m": number(nearest(studied.opening_m, PLACE_PLACES)),
            "setback_m": number(nearest(studied.setback_m, PLACE_PLACES)),
            "bearing_deg": number(nearest(gate.bearing_deg, BEARING_PLACES)),
            "vehicles": words.collect::<Vec<String>>().join("; "),
            "sight": studied.sight,
            "rules_failed": studied.rules_failed.join("; "),
        },
    });
    Some(format!("{}\n    {feature}", if first { "" } else { "," }))
}
