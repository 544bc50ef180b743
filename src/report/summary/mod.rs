//! Summary of many sites: a table for spreadsheets, lines for programs, a map of all gates, and a text.
//!
//! Everything is read from the `results.json` of each site, so a summary written after a run, one written later and one
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

/// Summary of one site.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteSummary {
    /// Name of the site's folder.
    pub site: String,
    /// Results of the study, or the faults that prevented it.
    pub outcome: Result<Studied, Vec<String>>,
}

/// Results of the study of a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Studied {
    /// Title of the plan.
    pub title: String,
    /// Units in which the plan shows lengths.
    pub units: Units,
    /// Opening as drawn, meters.
    pub opening_m: f64,
    /// Distance from the edge of the road to the gate line, meters.
    pub setback_m: f64,
    /// True if every vehicle can come and go as required, in comfort: status 0 of a study.
    pub passes: bool,
    /// Obstacles that stop the leaves of the gate as drawn before they are open, in words; `None` if all open.
    pub leaves_stopped: Option<String>,
    /// Verdict on each vehicle, in the study's order: "comfortable", "tight", "only-backing-in" or "no".
    pub vehicles: Vec<(String, String)>,
    /// Every way that was studied.
    pub ways: Vec<Way>,
    /// Words of the study on sight; empty if it has none.
    pub sight: String,
    /// Names of the rules that the plan differs from.
    pub rules_failed: Vec<String>,
    /// Position of the gate on Earth; `None` for a sketch, which has no place there.
    pub gate: Option<Placed>,
}

/// A gate on Earth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Projection of the plan.
    pub frame: Frame,
    /// Middle of the opening as drawn, site meters.
    pub center: Point,
    /// Heading of someone coming in: degrees clockwise from north.
    pub bearing_deg: f64,
}

/// Way in of one vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Name of the vehicle.
    pub vehicle: String,
    /// Name of the way: "eastbound drive-in", "route along the hedge", "eastbound turn-around".
    pub way: String,
    /// Narrowest opening found that it passes touching nothing, meters.
    pub bare_opening_m: Option<f64>,
    /// Narrowest opening found that it passes in comfort, meters.
    pub comfortable_opening_m: Option<f64>,
    /// Verdict on the gate as drawn, this way: "comfortable", "tight" or "no".
    pub verdict: String,
    /// Tightest place, or why there is no way in, or none in comfort.
    pub limited_by: String,
}

impl Studied {
    /// Verdict on the site: the hardest on a vehicle, or "no" where the leaves do not open.
    #[must_use]
    pub fn verdict(&self) -> &str {
        if self.leaves_stopped.is_some() {
            return "no";
        }
        let hardest = self.vehicles.iter().map(|(_, verdict)| verdict.as_str()).max_by_key(|v| rank(v));
        hardest.unwrap_or("no")
    }
}

/// Rank of a verdict, from the best to the worst; an unknown word ranks as the worst.
fn rank(verdict: &str) -> usize {
    VERDICTS.iter().position(|word| *word == verdict).unwrap_or(VERDICTS.len())
}

/// Verdicts on a vehicle as words of `results.json`, from the best to the worst.
const VERDICTS: [&str; 4] = ["comfortable", "tight", "only-backing-in", "no"];
