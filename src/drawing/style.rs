//! The look of each part. Tones run from paper to ink and every part differs from its neighbors in weight, dash or
//! hatch as well as in hue, so that a gray copy stays readable.
use super::scene::Role;

/// Dark ink for lines and text.
pub const INK: &str = "#1c2329";
/// Page units between hatch lines.
const HATCH: f64 = 7.0;

/// Attributes of a part.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// Fill: a color, "none" or a pattern.
    pub fill: &'static str,
    /// Opacity of the fill.
    pub fill_opacity: f64,
    /// Line color, or "none".
    pub stroke: &'static str,
    /// Line width, page units.
    pub width: f64,
    /// Dashes and gaps, page units; empty for a solid line.
    pub dash: &'static str,
}

const fn style(
    fill: &'static str,
    fill_opacity: f64,
    stroke: &'static str,
    width: f64,
    dash: &'static str,
) -> Style {
    Style { fill, fill_opacity, stroke, width, dash }
}

/// The look of a part.
#[must_use]
pub const fn of(role: Role) -> Style {
    match role {
        Role::Road => style("#d4d2cd", 1.0, "#8a8883", 1.5, ""),
        Role::CenterLine => style("none", 1.0, "#ffffff", 2.0, "14 10"),
        Role::Drive => style("#f0e9da", 1.0, "#b9ad92", 1.2, ""),
        Role::Obstacle => style("url(#standing)", 1.0, INK, 1.6, ""),
        Role::Low => style("url(#low)", 1.0, "#4f5f6b", 1.4, "6 4"),
        Role::Overhead => style("url(#overhead)", 1.0, "#4f5f6b", 1.4, "2 4"),
        Role::Fence => style("none", 1.0, INK, 2.4, "9 3 2 3"),
        Role::Post => style(INK, 1.0, INK, 1.0, ""),
        Role::PostNeeded => style("#ffffff", 0.7, INK, 1.8, "4 2.5"),
        Role::Leaf => style("#ffffff", 1.0, INK, 1.6, ""),
        Role::Arc => style("#c9a227", 0.22, INK, 1.4, "3 4"),
        Role::GateLine => style("none", 1.0, INK, 1.0, "2 4"),
        Role::Envelope => style("#1f7a78", 0.24, "#0e5553", 2.2, ""),
        Role::Track => style("#47305f", 0.38, "none", 0.0, ""),
        Role::Ghost => style("none", 1.0, "#2c3b45", 0.9, ""),
        Role::Stand => style("#ffffff", 0.55, INK, 2.4, ""),
        Role::Waiting => style("#ffffff", 0.6, INK, 2.0, "8 4"),
        Role::Nose => style(INK, 0.75, "none", 0.0, ""),
        Role::Path => style("none", 1.0, INK, 1.4, "10 4 2 4"),
        Role::LeadPath => style("none", 1.0, INK, 1.8, "12 4 2 4"),
        Role::WheelPath => style("none", 1.0, "#47305f", 1.6, "6 3"),
        Role::Center => style(INK, 1.0, INK, 1.0, ""),
        Role::Hit => style("#e08a7b", 1.0, "#a3200d", 2.0, ""),
        Role::Contact => style("#ffffff", 1.0, "#a3200d", 3.0, ""),
        Role::Travel => style(INK, 1.0, INK, 5.0, ""),
        Role::Dimension => style("none", 1.0, INK, 1.2, ""),
        Role::Tire => style("#47305f", 0.75, INK, 0.8, ""),
        Role::Ground => style("none", 1.0, INK, 1.6, ""),
        Role::Sight => style("#2b6cb0", 0.16, "#2b6cb0", 1.6, "11 5"),
        Role::Unseen => style("#a3200d", 0.4, "#a3200d", 1.2, ""),
        Role::Eye => style("#ffffff", 1.0, INK, 2.4, ""),
    }
}

/// The words of a part in the legend; `None` for a part that needs no explanation.
#[must_use]
pub const fn words(role: Role) -> Option<&'static str> {
    Some(match role {
        Role::Road => "road",
        Role::Drive => "drive: tires may use it",
        Role::Obstacle => "standing obstacle",
        Role::Low => "low: only tires meet it",
        Role::Overhead => "overhead",
        Role::Fence => "fence",
        Role::Post => "post as drawn",
        Role::PostNeeded => "post and leaf as needed",
        Role::Leaf => "leaf standing open",
        Role::Arc => "ground a leaf sweeps",
        Role::Waiting => "waiting for the gate",
        Role::Envelope => "ground the body covers",
        Role::Track => "wheel tracks",
        Role::Ghost => "vehicle on its way",
        Role::Stand => "at start, stops and end",
        Role::Path => "middle of rear axle",
        Role::LeadPath => "middle of front axle",
        Role::WheelPath => "ways of the other wheels",
        Role::Hit => "hit: the vehicle does not fit",
        Role::Contact => "tightest place",
        Role::Sight => "sight triangle, to be clear",
        Role::Unseen => "hidden",
        Role::Eye => "driver's eye",
        Role::CenterLine
        | Role::Nose
        | Role::GateLine
        | Role::Travel
        | Role::Dimension
        | Role::Tire
        | Role::Center
        | Role::Ground => {
            return None;
        }
    })
}

/// The lines of a chart: color and dashes. Colors differ in tone too; with six dashes and five marks no two of thirty
/// lines look alike in gray.
pub const SERIES: [(&str, &str); 6] = [
    ("#0e5553", ""),
    ("#a3200d", "11 5"),
    ("#47305f", "3 4"),
    ("#8a5a00", "14 4 3 4"),
    ("#2b6cb0", "6 3"),
    ("#5d6670", "14 4 3 4 3 4"),
];

/// Hatches: name, side of the tile, its rotation in degrees, and the path and width of its lines.
pub const PATTERNS: [(&str, f64, i32, &str, f64); 3] = [
    ("standing", HATCH, 45, "#3f474d", 2.2),
    ("low", HATCH, 0, "#7d8d99", 1.2),
    ("overhead", HATCH * 1.6, -45, "#7d8d99", 0.9),
];
