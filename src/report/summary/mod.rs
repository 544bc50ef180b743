//! Summary of many sites: a table for spreadsheets, lines for programs, a map of all gates, and a text.
//!
//! Everything is read out of the `results.json` of each site, so a summary written after a run, one written later and one
//! that joins the folders of several runs are the same bytes. One site is held at a time; of the sites before it only
//! [`Totals`] keeps a line.
mod read;
#[cfg(test)]
mod tests;
mod text;
mod write;

pub use read::{FAULTS_FORMAT, faults_json, site_at_fault, site_of_results};
pub use text::Totals;
pub use write::{csv, csv_header, json_lines, map_end, map_feature, map_start};

use crate::geometry::{Point, Units};
use crate::site::Frame;

/// What a summary says of one site.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteSummary {
    /// The name of the site's folder.
    pub site: String,
    /// What was found, or the faults for which nothing was.
    pub outcome: Result<Studied, Vec<String>>,
}

/// What was found at a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Studied {
    /// What the plan calls itself.
    pub title: String,
    /// How the plan shows lengths.
    pub units: Units,
    /// The opening as drawn, meters.
    pub opening_m: f64,
    /// Distance from the edge of the road to the gate line, meters.
    pub setback_m: f64,
    /// Whether every vehicle can come and go as asked, in comfort: status 0 of a study.
    pub passes: bool,
    /// The verdict on each vehicle, in the study's order: "comfortable", "tight", "only-backing-in" or "no".
    pub vehicles: Vec<(String, String)>,
    /// Every way looked at.
    pub ways: Vec<Way>,
    /// What the study says of sight; empty if nothing.
    pub sight: String,
    /// Names of the rules that the plan differs from.
    pub rules_failed: Vec<String>,
    /// Where the gate is on Earth; none for a sketch, which has no such place.
    pub gate: Option<Placed>,
}

/// A gate on Earth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The projection of the plan.
    pub frame: Frame,
    /// The middle of the opening as drawn, site meters.
    pub center: Point,
    /// The way one looks coming in: degrees clockwise from north.
    pub bearing_deg: f64,
}

/// One way in of one vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// The vehicle's name.
    pub vehicle: String,
    /// "eastbound drive-in", "route along the hedge", "eastbound turn-around".
    pub way: String,
    /// The narrowest opening found that it passes touching nothing, meters.
    pub bare_opening_m: Option<f64>,
    /// The same in comfort.
    pub comfortable_opening_m: Option<f64>,
    /// The gate as drawn, this way: "comfortable", "tight" or "no".
    pub verdict: String,
    /// What is tightest, or why there is no way in, or none in comfort.
    pub limited_by: String,
}

impl Studied {
    /// The hardest verdict on a vehicle, which is the site's.
    #[must_use]
    pub fn verdict(&self) -> &str {
        let hardest = self.vehicles.iter().map(|(_, verdict)| verdict.as_str()).max_by_key(|v| rank(v));
        hardest.unwrap_or("no")
    }
}

/// Verdicts from the best to the worst; a word this program does not know is the worst.
fn rank(verdict: &str) -> usize {
    VERDICTS.iter().position(|word| *word == verdict).unwrap_or(VERDICTS.len())
}

/// The words of `results.json` for what a vehicle finds, from the best to the worst.
const VERDICTS: [&str; 4] = ["comfortable", "tight", "only-backing-in", "no"];
