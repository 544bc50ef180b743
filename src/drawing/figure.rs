//! The drawings of one case for a page: the plan with the vehicle as a part of its own, which a script may move; the
//! gate close up; and the legend.
use super::bodywork::{tire_height, windows_and_lines};
use super::curve::{number, path_data_m};
use super::panel::{STRIP, panel_node, strip, swatch};
use super::scene::{Panel, Role, View};
use super::shapes::unit_outline;
use super::style;
use super::svg::definitions;
use crate::geometry::{Point, Pose};
use crate::vehicle::Vehicle;
use svg::Node;
use svg::node::element::{Element, Group, SVG, Title};

/// Width of a panel on a page, in its own units. On a screen 360 pixels wide its labels are 11 pixels high, on a wide
/// one, where the page shows it 560 pixels wide, 19.
pub const FIGURE_WIDTH: f64 = 540.0;

/// The drawings of one case, each an SVG element to stand in a page that holds [`page_definitions`].
#[derive(Clone, Debug, PartialEq)]
pub struct CaseFigures {
    /// The whole way in. If there is one, the drawing holds a group of class "moving" whose coordinates are site
    /// meters: in it a group of class "unit" for each unit of the vehicle, in the unit's own frame, each steered wheel
    /// in a group of class "steered"; a line and a disc of class "gap"; groups of class "still" hold the items that
    /// represent the vehicle in a still picture.
    pub plan: String,
    /// The gate close up.
    pub gate: String,
    /// The gate close up at the narrowest opening, if the other two show the gate as drawn.
    pub narrowest: Option<String>,
    /// The drawing in words.
    pub description: String,
    /// The parts that occur, as the legend lists them.
    pub roles: Vec<Role>,
}

/// The drawing of a turn inside for a page, an SVG element like those of [`CaseFigures`], without a group that moves.
#[derive(Clone, Debug, PartialEq)]
pub struct TurnFigure {
    /// The turn and the way out.
    pub plan: String,
    /// The turn in a line: the vehicle and the direction it comes from.
    pub name: String,
    /// Description of the turn, in a sentence.
    pub answer: String,
    /// The drawing in words.
    pub description: String,
    /// The parts that occur, as the legend lists them.
    pub roles: Vec<Role>,
}

/// A panel as an SVG element of its own.
pub(super) fn standing(panel: &Panel, name: &str, moving: Option<Element>) -> String {
    let view = &panel.view;
    let below = if panel.scale_bar { STRIP } else { 0.0 };
    let mut picture = SVG::new()
        .set("viewBox", format!("0 0 {} {}", number(view.width), number(view.height + below)))
        .set("role", "img")
        .set("font-family", "'DejaVu Sans', Verdana, sans-serif")
        .add(Title::new(name))
        .add(panel_node(panel, Point::default(), moving));
    if panel.scale_bar {
        picture = picture.add(strip(panel, Point::new(0.0, view.height)));
    }
    picture.to_string()
}

impl CaseFigures {
    /// Adds the picture of the narrowest opening.
    pub(super) fn add_narrowest(&mut self, panel: &Panel, name: &str) {
        self.roles.extend(panel.items.iter().map(|item| item.role));
        self.roles.sort_unstable();
        self.roles.dedup();
        self.narrowest = Some(standing(panel, name, None));
    }
}

/// The figures from the two panels of a case's sheet.
pub(super) fn figures(
    (plan, gate): (&Panel, &Panel),
    vehicle: Option<(&Vehicle, Pose)>,
    description: String,
    (plan_name, gate_name): (&str, &str),
) -> CaseFigures {
    let mut roles: Vec<Role> = plan.items.iter().chain(&gate.items).map(|item| item.role).collect();
    roles.sort_unstable();
    roles.dedup();
    let moving = vehicle.map(|(vehicle, start)| moving(vehicle, &start, &plan.view));
    CaseFigures {
        plan: standing(plan, plan_name, moving),
        gate: standing(gate, gate_name, None),
        narrowest: None,
        description,
        roles,
    }
}

/// The transform from site meters to page units; its digits keep a ten-thousandth of a unit over a whole site.
fn matrix(view: &View) -> String {
    let right = -view.up.left();
    let s = view.scale;
    let numbers = [
        right.x * s,
        -view.up.x * s,
        right.y * s,
        -view.up.y * s,
        view.width / 2.0 - view.center.dot(right) * s,
        view.height / 2.0 + view.center.dot(view.up) * s,
    ];
    let numbers = numbers.map(|n| format!("{:.5}", n + 0.0));
    format!("matrix({})", numbers.join(" "))
}

/// The vehicle in site meters, every unit at the lead's start pose; a script places each of them.
fn moving(vehicle: &Vehicle, start: &Pose, view: &View) -> Element {
    let placed = format!(
        "translate({} {}) rotate({})",
        number(start.position.x),
        number(start.position.y),
        number(start.heading.to_degrees())
    );
    let mut group = Element::new("g");
    group.assign("class", "moving");
    group.assign("transform", matrix(view));
    let line = |data: String, fill: &str, width: f64| {
        svg::node::element::Path::new()
            .set("d", data)
            .set("fill", fill)
            .set("stroke", style::INK)
            .set("stroke-width", number(width))
            .set("vector-effect", "non-scaling-stroke")
    };
    for (index, unit) in vehicle.units.iter().enumerate() {
        let mut of_unit = Group::new().set("class", "unit").set("transform", placed.clone());
        for rings in unit_outline(unit) {
            let data: String = rings.iter().map(|ring| path_data_m(&ring.0, true)).collect();
            of_unit = of_unit.add(line(data, "#ffffff", 1.8).set("fill-opacity", "0.8"));
        }
        let (windows, lines) = windows_and_lines(unit, index == 0);
        let data: String = lines.iter().map(|l| path_data_m(l, false)).collect();
        of_unit = of_unit.add(line(data, "none", 1.0).set("stroke", style::of(Role::Trim).stroke));
        for tire in &unit.tires {
            let (half, across) = (0.5 * tire_height(unit, *tire), tire.width_m / 2.0);
            let ring = [(-half, -across), (half, -across), (half, across), (-half, across)];
            let ring = ring.map(|(x, y)| Point::new(x, y));
            let wheel = line(path_data_m(&ring, true), style::INK, 0.5);
            let at = format!("translate({} {})", number(tire.center.x), number(tire.center.y));
            let turned = Group::new().set("class", if tire.steered { "steered" } else { "wheel" }).add(wheel);
            of_unit = of_unit.add(Group::new().set("transform", at).add(turned));
        }
        let data: String = windows.iter().map(|ring| path_data_m(ring, true)).collect();
        of_unit = of_unit.add(line(data, style::of(Role::Glass).fill, 0.5));
        group.append(of_unit);
    }
    let mut gap = Element::new("path");
    for (name, value) in [("class", "gap"), ("d", ""), ("fill", "none"), ("stroke", style::GAP)] {
        gap.assign(name, value);
    }
    gap.assign("stroke-width", "5");
    gap.assign("stroke-linecap", "round");
    gap.assign("vector-effect", "non-scaling-stroke");
    group.append(gap);
    group
}

/// Definitions that the figures of a page refer to; an element without size, to appear once in the page.
#[must_use]
pub fn page_definitions() -> String {
    let size = |svg: SVG| svg.set("width", "0").set("height", "0").set("aria-hidden", "true");
    size(SVG::new()).set("style", "position:absolute").add(definitions()).to_string()
}

/// The legend of some parts: for each that needs one, a small SVG element and its words.
#[must_use]
pub fn legend_entries(roles: &[Role]) -> Vec<(String, &'static str)> {
    let entry = |role: &Role| {
        let words = style::words(*role)?;
        let picture = SVG::new()
            .set("viewBox", "0 0 40 22")
            .set("width", "40")
            .set("height", "22")
            .set("aria-hidden", "true")
            .add(swatch(*role, Point::new(20.0, 11.0)));
        Some((picture.to_string(), words))
    };
    roles.iter().filter_map(entry).collect()
}
