//! The look of each part. Tones run from paper to ink and every part differs from its neighbors in weight, dash or
//! hatch as well as in hue, so that a gray copy stays readable.
use super::scene::Role;

/// Dark ink for lines and text.
pub const INK: &str = "#1c2329";
/// The line from post to post, the brightest of a drawing.
pub const GATE: &str = "#f2b100";
/// The gap at the tightest place, and the thing that is hit.
pub const GAP: &str = "#c2260f";
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
        Role::Road => style("#e4e3df", 1.0, "#b4b2ab", 1.2, ""),
        Role::CenterLine => style("none", 1.0, "#ffffff", 2.0, "14 10"),
        Role::Drive => style("#f6f1e6", 1.0, "#d3c9b3", 1.0, ""),
        Role::GroundEdge => style("none", 1.0, "#a9a493", 1.0, ""),
        Role::Obstacle => style("#c3c5c4", 1.0, "#6c7377", 1.4, ""),
        Role::Low => style("url(#low)", 1.0, "#8b99a3", 1.2, "6 4"),
        Role::Overhead => style("url(#overhead)", 1.0, "#74838e", 1.2, "2 4"),
        Role::Fence => style("none", 1.0, "#6c7377", 1.8, "9 3 2 3"),
        // As surveyors draw it: a long dash and two short ones.
        Role::Boundary => style("none", 1.0, "#57497d", 1.6, "22 4 5 4 5 4"),
        Role::Post => style(INK, 1.0, INK, 2.0, ""),
        Role::PostNeeded => style("#ffffff", 1.0, INK, 1.8, "4 2.5"),
        Role::Leaf => style("#59646b", 1.0, INK, 1.8, ""),
        Role::Arc => style("#f4e6b8", 1.0, "#8a6d00", 1.2, "3 4"),
        Role::GateLine => style("none", 1.0, GATE, 5.0, ""),
        Role::Opening => style("none", 1.0, INK, 2.4, ""),
        Role::Envelope => style("#c4dfda", 1.0, "#3f807b", 1.6, ""),
        Role::Track => style("#9ab9bb", 1.0, "none", 0.0, ""),
        Role::Ghost => style("none", 1.0, "#4d646c", 0.9, ""),
        Role::Stand => style("#ffffff", 1.0, "#25323a", 2.0, ""),
        Role::Waiting => style("#ffffff", 1.0, "#25323a", 1.8, "8 4"),
        Role::InRoad => style("none", 1.0, "#7b868d", 1.4, "2 4"),
        Role::Glass => style("#8fabb4", 1.0, "none", 0.0, ""),
        Role::Hub => style("#c9d0d3", 1.0, "none", 0.0, ""),
        Role::Trim => style("none", 1.0, "#7b868d", 1.0, ""),
        Role::Box => style("none", 1.0, "#7b868d", 1.0, "2 3"),
        Role::Path => style("none", 1.0, "#25323a", 1.2, "14 5"),
        Role::LeadPath => style("none", 1.0, INK, 1.8, "12 4 2 4"),
        Role::WheelPath => style("none", 1.0, "#47305f", 1.6, "6 3"),
        Role::Center => style(INK, 1.0, INK, 1.0, ""),
        Role::Hit => style("#e08a7b", 1.0, GAP, 2.4, ""),
        Role::Contact => style("none", 1.0, GAP, 3.0, ""),
        Role::Travel => style(INK, 1.0, INK, 4.0, ""),
        Role::Dimension => style("none", 1.0, "#3a444b", 1.1, ""),
        Role::Tire => style("#46555d", 1.0, "none", 0.0, ""),
        Role::Ground => style("none", 1.0, "#6c7377", 1.6, ""),
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
        Role::Boundary => "property or R.O.W. line",
        Role::Post => "post",
        Role::PostNeeded => "post and leaf as needed",
        Role::Leaf => "leaf standing open",
        Role::GateLine => "the opening",
        Role::Arc => "ground a leaf sweeps",
        Role::Waiting => "waiting for the gate",
        Role::InRoad => "still in the road",
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
        | Role::GroundEdge
        | Role::Glass
        | Role::Hub
        | Role::Trim
        | Role::Box
        | Role::Opening
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
pub const PATTERNS: [(&str, f64, i32, &str, f64); 2] =
    [("low", HATCH, 0, "#b3bec6", 1.0), ("overhead", HATCH * 1.6, -45, "#9fadb6", 0.9)];
