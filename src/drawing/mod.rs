//! Drawings: their content ([`scene`]) separate from the writer that draws it ([`svg`]).
//!
//! A drawing is a [`scene::Sheet`]: a few lines of text, one or more panels with items in site meters, a legend and
//! small print. Parts differ in weight, dash, hatch and tone, so that a copy in gray is as clear; text is large enough
//! to read on a phone, and labels stay clear of each other ([`labels`]). Nothing is measured on a drawing: every number
//! on it was computed before.
//!
#![doc = include_str!("README.md")]
use crate::geometry::Units;
use crate::opening::{Driving, Study, Turn};
use crate::sweep::SweepError;
use crate::vehicle::Vehicle;

mod advance;
mod bodywork;
mod case;
mod chart_key;
pub mod cover;
mod curve;
mod driving_words;
pub mod figure;
mod gate;
mod gate_sheet;
mod how_to_drive;
mod ink;
pub mod labels;
mod leaf_panel;
mod overhead;
mod page;
mod panel;
pub mod paper;
#[cfg(feature = "sheets")]
pub mod print;
pub mod scene;
mod shapes;
mod sheets;
mod sight;
mod sight_words;
mod site_names;
mod style;
pub mod svg;
pub mod template;
mod texts;
mod through;
pub mod tradeoff;
mod turn;
mod vehicle;
mod way_out;
mod wide;

pub use case::{case_figures, case_sheet};
pub use cover::{CoverWords, Listed, cover_pages};
pub use driving_words::{NO_STEPS, driving_words, kept_words, window_words};
pub use gate_sheet::gate_pages;
pub use how_to_drive::{card_traffic_words, driving_pages, driving_sheet};
pub use leaf_panel::{in_road_words, stopped_words};
pub use sheets::{case_pages, template_pages};
pub use sight::{SightFigure, SightShown, sight_figure, sight_pages, sight_sheet, sight_shown, sight_svg};
pub use sight_words::{
    SIGHT_AUTHORITY, sight_road_answer, sight_road_words, sight_walk_answer, sight_walk_words,
};
pub use through::other_half_words;
pub use tradeoff::tradeoff_svg;
pub use turn::{ENDS_ACROSS, stops_words, turn_figure, turn_pages, turn_sheet};
pub use vehicle::vehicle_sheet;
pub use wide::{case_wide_sheet, case_wide_svg};

/// The drawing of one case of a study, as SVG: the way in, the gate close up, and the answer in words.
///
/// The comfortable path is drawn if there is one, else the bare one; if there is none, the site and the reason. For a
/// case that does not exist, the result is a sheet that says so.
#[must_use]
pub fn case_svg(study: &Study, case_index: usize) -> String {
    let sheet = case_sheet(study, case_index).unwrap_or_else(|| scene::Sheet {
        place: String::new(),
        verdict: None,
        title: study.site.title.clone(),
        lines: vec![format!("The study has no case {case_index}.")],
        description: format!("The study has no case {case_index}."),
        steps: Vec::new(),
        panels: Vec::new(),
        legend: false,
        notes: Vec::new(),
    });
    svg::write(&sheet)
}

/// The leaves and the room to wait off the road for one vehicle, as an SVG element for a page; `None` if the study does not
/// include the gate.
#[must_use]
pub fn waiting_figure(study: &Study, vehicle_index: usize) -> Option<String> {
    let panel = leaf_panel::panel(study, vehicle_index, figure::FIGURE_WIDTH)?;
    Some(figure::standing(&panel, "Leaves and waiting room, the road below", None))
}

/// The gate to order with its leaves and the room to wait, as [`waiting_figure`] shows the gate as drawn; `None` where the gate
/// as drawn is the one to order, or none is.
#[must_use]
pub fn ordered_figure(study: &Study, vehicle_index: usize) -> Option<String> {
    let ordered = crate::opening::as_ordered(study)?;
    let panel = leaf_panel::tall_panel(&ordered, vehicle_index, figure::FIGURE_WIDTH)?;
    Some(figure::standing(&panel, "The gate to order, the road below", None))
}

/// The drawing of a turn inside, as SVG; `None` for one that was not found.
#[must_use]
pub fn turn_svg(study: &Study, turn: &Turn) -> Option<String> {
    turn_sheet(study, turn).map(|sheet| svg::write(&sheet))
}

/// The card of driving steps for a path, as SVG; `None` without steps.
#[must_use]
pub fn driving_svg(study: &Study, driving: &Driving) -> Option<String> {
    driving_sheet(study, driving).map(|sheet| svg::write(&sheet))
}

/// The picture of a vehicle, from above and from the side with its dimensions, as SVG.
#[must_use]
pub fn vehicle_svg(vehicle: &Vehicle, units: Units) -> String {
    svg::write(&vehicle_sheet(vehicle, units))
}

/// A vehicle's turning template sheet as SVG: led by the middle of its front axle around turns of these angles,
/// degrees, on an arc of this radius (the vehicle's tightest if none is given, or if that is tighter).
///
/// # Errors
/// A [`SweepError`] for a vehicle that cannot be swept.
pub fn template_svg(
    vehicle: &Vehicle,
    turns_deg: &[f64],
    radius_m: Option<f64>,
    units: Units,
) -> Result<String, SweepError> {
    Ok(svg::write(&template::template_sheet(vehicle, turns_deg, radius_m, units)?))
}
