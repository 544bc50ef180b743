//! Results of a study, written for people and for programs: a table with plain words, results.json, the envelope files,
//! GeoJSON to lay over a map, the schedule of gates to order, and a page to read and to play.
//!
//! Answers come in with every digit and are rounded by the writers, here and in [`crate::drawing`]: needs up, available
//! room and proven bounds down.
//!
#![doc = include_str!("README.md")]
pub mod decimal;
mod degrees;
mod fixes;
mod fleet;
mod gate_json;
mod gate_words;
mod geojson;
mod how_to_drive;
pub mod layout;
mod limits;
pub mod model;
mod page;
mod placement;
mod plain_text;
mod poses;
mod results;
#[cfg(test)]
pub(crate) mod sample;
mod schedule;
mod sheet_words;
mod sight;
mod sight_map;
pub mod summary;
mod table;
#[cfg(test)]
mod tests;
mod tradeoff;
mod verdict;
mod words;

use crate::motion::{OnSite, Trajectory};
use crate::opening::Case;

pub use crate::opening::{every_vehicle_passes, travels, vehicle_verdict};
pub use fixes::{fix_file, fix_lines, fix_plan};
pub use fleet::{curb_radius_m, vehicle_list, vehicle_sheet};
pub use gate_words::gate_lines;
pub use geojson::{geojson, geojson_layers};
pub use how_to_drive::driving_file;
pub use limits::savings;
pub use model::schema as results_schema;
pub use page::page;
pub use placement::placement_words;
pub use plain_text::plain_text;
pub use results::{FORMAT, SCHEDULE_FILE, VERSION, envelope_json, json, json_beside, results, value};
pub use schedule::gate_schedule;
pub use sheet_words::cover_words;
pub use sight::sight_file;
pub use table::{PAGE_WIDTH, table, table_lines};
pub use tradeoff::{TRADEOFF_FILE, tradeoff_file, tradeoff_json};
pub use verdict::{WIDE_ENDING, deciding, file_stems, safe_name, turn_file};
pub use words::{
    Line, case_name, case_sentence, contact_words, governing_words, remarks, sentences, sheet_remarks,
    verdicts, way_words,
};

/// The path drawn for a case: that of the comfortable answer (`true`), or else of the bare one.
#[must_use]
pub fn drawn_path(case: &Case) -> Option<(bool, &Trajectory<OnSite>)> {
    let comfortable = case.comfortable.witness.as_ref().map(|path| (true, path));
    comfortable.or_else(|| case.bare.witness.as_ref().map(|path| (false, path)))
}

/// The word for the answer a witness belongs to.
const fn clearance_word(comfortable: bool) -> &'static str {
    if comfortable { "comfortable" } else { "bare" }
}
