//! The input of the reader: a plan's text, and the files that may come with it. A plan that went through a map program,
//! or was drawn for another purpose, is converted to the plain form before it is read.
use super::fault::{Fault, Notes, PlanError, check_size};
use super::{Site, read, roles, settings, table};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// A text and the name of its file in faults.
#[derive(Clone, Copy, Debug)]
pub struct Given<'a> {
    /// Content of the file.
    pub text: &'a str,
    /// Name of the file in faults.
    pub file: &'a str,
}

/// A plan and the files given with it.
///
/// ```
/// use wideenough::site::{Given, Source, read_source};
/// // As a map program writes it: the settings are lost, and a zero has become text.
/// let plan = r#"{ "type": "FeatureCollection", "features": [
///     { "type": "Feature", "properties": { "role": "road", "width": "20 ft", "top": null },
///       "geometry": { "type": "LineString", "coordinates": [[-100, 0], [100, 0]] } },
///     { "type": "Feature", "properties": { "role": "obstacle", "width": null, "top": "0" },
///       "geometry": { "type": "Polygon", "coordinates": [[[20, 12], [40, 12], [40, 16], [20, 12]]] } },
///     { "type": "Feature", "properties": { "role": "gate", "width": null, "top": null },
///       "geometry": { "type": "MultiLineString", "coordinates": [[[-8, 25], [8, 25]]] } } ] }"#;
/// let source = Source {
///     plan: Given { text: plan, file: "yard.geojson" },
///     settings: Some(Given { text: r#"{ "coordinates": "local-ft" }"#, file: "yard.json" }),
///     roles: None,
/// };
/// let site = read_source(&source).unwrap();
/// assert!((site.gate.opening_m() - 16.0 * 0.3048).abs() < 1e-12);
/// assert_eq!(site.obstacles[0].top_m, 0.0);
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The plan: GeoJSON.
    pub plan: Given<'a>,
    /// The plan's settings: an object like a plan's `plan` member, or another plan that has one. They take precedence
    /// over those of the plan.
    pub settings: Option<Given<'a>>,
    /// Rules that give features without a `role` one by their attributes: see [`super::roles_schema`].
    pub roles: Option<Given<'a>>,
}

impl<'a> Source<'a> {
    /// A plan by itself.
    #[must_use]
    pub const fn of(text: &'a str, file: &'a str) -> Self {
        Self { plan: Given { text, file }, settings: None, roles: None }
    }

    /// True if the settings file names the vehicles that must get in: the files it names then lie beside it.
    #[must_use]
    pub fn settings_name_vehicles(&self) -> bool {
        self.settings.is_some_and(|given| settings::names_vehicles(given.text))
    }

    /// The vehicles the plan names, as far as they can be read from a plan that is at fault.
    #[must_use]
    pub fn vehicles_named(&self) -> Vec<String> {
        let Ok(prepared) = prepare(self) else { return Vec::new() };
        let listed = prepared.root["plan"]["vehicles"].as_array().into_iter().flatten();
        listed.filter_map(|v| v.as_str().or_else(|| v["vehicle"].as_str())).map(str::to_owned).collect()
    }
}

/// A plan in the plain form, ready to be read.
pub(super) struct Prepared<'a> {
    /// The plan, with its settings in its `plan` member and a role for each feature that a rule gave one.
    pub(super) root: Value,
    pub(super) notes: Notes<'a>,
    /// Features that are no part of the place: settings, and those that a rule says to ignore.
    pub(super) left_out: BTreeSet<usize>,
    /// True if anything differs from the plan's own text.
    changed: bool,
}

/// Parses a plan and merges its settings and roles into it.
///
/// # Errors
/// The plan is too large, or not JSON.
pub(super) fn prepare<'a>(source: &Source<'a>) -> Result<Prepared<'a>, PlanError> {
    let Given { text, file } = source.plan;
    check_size(file, text.len() as u64)?;
    let faulty = |fault: Box<Fault>| PlanError::Faulty {
        file: file.to_owned(),
        faults: vec![*fault],
        warnings: Vec::new(),
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut root = read::parse(text, file).map_err(faulty)?;
    let mut notes = Notes::new(text, file);
    let given = source.settings.and_then(|given| settings::read(&given, &mut notes));
    let rules = source.roles.and_then(|given| roles::read(&given, &mut notes));
    let is_table = table::is_table(&root);
    let mut left_out = BTreeSet::new();
    let mut changed = given.is_some() || rules.is_some();
    if let Some(rules) = &rules {
        left_out.extend(roles::apply(&mut root, rules, &mut notes));
    }
    changed |= table::plain(&mut root, is_table, &mut notes);
    let settings_features = settings::gather(&mut root, given, &mut notes);
    changed |= !settings_features.is_empty();
    left_out.extend(settings_features);
    Ok(Prepared { root, notes, left_out, changed })
}

/// The text of a plan equivalent to the whole source, for [`super::rewrite()`]: settings in its `plan` member, roles in
/// the features, the gate a line between its posts. The original text if it is so already.
///
/// # Errors
/// [`PlanError`], under the same conditions as [`super::read_source`]; `site` is the result of that for the source.
pub fn plain_text(source: &Source, site: &Site) -> Result<String, PlanError> {
    let Prepared { mut root, left_out, mut changed, .. } = prepare(source)?;
    if let Some(features) = root.get_mut("features").and_then(Value::as_array_mut) {
        let mut index = 0..;
        features.retain(|_| index.next().is_none_or(|i| !left_out.contains(&i)));
        for feature in features.iter_mut() {
            if feature["properties"]["role"] == "gate" && feature["geometry"]["type"] != "LineString" {
                changed = true;
                // The precision with which a changed plan is written.
                let steps = if matches!(site.frame, super::Frame::LonLat { .. }) { 1e10 } else { 1e6 };
                let face = |p| site.frame.to_plan(p).map(|v| (v * steps).round() / steps + 0.0);
                let line = [face(site.gate.left), face(site.gate.right)];
                feature["geometry"] = json!({ "type": "LineString", "coordinates": line });
                if let Some(words) = feature["properties"].as_object_mut() {
                    words.retain(|key, _| !["width", "bearing"].contains(&key.as_str()));
                }
            }
        }
    }
    Ok(if changed { format!("{root}\n") } else { source.plan.text.to_owned() })
}
