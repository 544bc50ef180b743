//! Layout of the sheets to print: one for each case of a study, and turning templates.
use super::case::Drawn;
use super::ink::Ink;
use super::page::{GAP, HEADING, INSET, Split, UP, area, caution, height, split, with_rest};
use super::panel::STRIP;
use super::paper::{Block, Page, Paper, Scale, TEXT, TextLine, holds, legend_height, view_at_scale};
use super::scene::{Geom, Item, PANEL_WIDTH, Panel, Role};
use super::site_names::road_words;
use super::template::{self, tightest_radius_m};
use super::through;
use super::vehicle;
use crate::geometry::length::{Round, Units, show, show_drawn, show_lacking};
use crate::geometry::{Point, distance};
use crate::opening::{DrawnGate, Outcome, Study};
use crate::site::{Frame, Site};
use crate::sweep::SweepError;
use crate::vehicle::{Measure, Vehicle};

/// The column beside the plan: wide enough for two columns of the legend, no wider on large paper.
pub(super) const COLUMN: f64 = 590.0;

/// Space above the facts and above the legend in that column.
const FACTS_GAP: f64 = 8.0;
pub(super) const LEGEND_GAP: f64 = 10.0;
/// Least and greatest share of a page's height for the gate close up.
const LEAST_GATE: f64 = 0.16;
const MOST_GATE: f64 = 0.3;

pub(super) fn roles(panels: &[&Panel]) -> Vec<Role> {
    let mut roles: Vec<Role> = panels.iter().flat_map(|p| &p.items).map(|item| item.role).collect();
    roles.sort_unstable();
    roles.dedup();
    roles
}

/// The left part of a sheet: the plan, and below it the vehicle from above and from the side.
struct Left {
    plan: Panel,
    scale: Scale,
    /// See [`Page::whole_at`].
    whole_at: Option<Scale>,
    above: Panel,
    side: Panel,
    /// Upper edge of the vehicle's pictures.
    vehicle_y: f64,
}

/// Lays out the left part at `scale` if one is given, else at the largest usual one that shows the whole path.
fn left(drawn: &Drawn<'_>, paper: Paper, scale: Option<Scale>) -> Left {
    let (study, vehicle) = (drawn.study, drawn.vehicle);
    let units = study.site.units;
    let (low, high) = area(paper);
    let poses = vehicle::straight(vehicle);
    let left_wide = high.x - low.x - COLUMN - GAP;
    let wide = PANEL_WIDTH.min((left_wide - GAP) / 2.0);
    let (above, side) =
        (vehicle::plan(vehicle, &poses, units, wide), vehicle::side(vehicle, &poses, units, wide));
    let strip_of = |panel: &Panel| if panel.scale_bar { STRIP } else { 0.0 };
    let vehicles_high = (above.view.height + strip_of(&above)).max(side.view.height + strip_of(&side));
    let plan_high = high.y - low.y - HEADING - STRIP - GAP - HEADING - vehicles_high;
    let usual = scale.map_or_else(|| Scale::usual(units), |scale| vec![scale]);
    let (interest, size) = (drawn.interest(), (left_wide, plan_high));
    let (mut view, scale) = view_at_scale(&interest, UP, size, INSET, &usual);
    let whole = |scale: &Scale| holds(&interest, UP, (size.0 - 2.0 * INSET, size.1 - 2.0 * INSET), *scale);
    let whole_at = if whole(&scale) { None } else { Scale::usual(units).into_iter().find(whole) };
    if whole_at.is_some() {
        // A path that does not fit is shown about the gate.
        view.center = study.site.gate.center();
    }
    let mut plan = drawn.site_panel_in(view);
    plan.heading = Some(format!("Plan, {}", scale.words()));
    if let Some(dimension) = road_dimension(study, drawn.start(), &plan) {
        // Its width is said once.
        let road = &study.site.roads[0];
        let named = road_words(road, study.site.units);
        let labels = plan.labels.iter_mut().filter(|label| label.text == named);
        labels.for_each(|label| label.text.clone_from(&road.surface.label));
        plan.items.push(dimension);
    }
    Left { plan, scale, whole_at, above, side, vehicle_y: high.y - vehicles_high }
}

/// The sheet of a case: the plan at a true scale, the gate close up, the vehicle with its dimensions, and the basis of
/// the opening; on small paper, what that does not hold on further sheets. At `scale` if one is given, else at the
/// largest usual one that shows the whole way in. Empty if there is no such case.
#[must_use]
pub fn case_pages(study: &Study, case_index: usize, paper: Paper, scale: Option<Scale>) -> Vec<Page> {
    let Some(case) = study.cases.get(case_index) else { return Vec::new() };
    let Some(vehicle) = study.vehicles.get(case.vehicle) else { return Vec::new() };
    let drawn = Drawn::through(study, case, vehicle);
    let units = study.site.units;
    let (low, high) = area(paper);
    let Left { plan, scale, whole_at, above, side, vehicle_y } = left(&drawn, paper, scale);
    let above_wide = above.view.width;
    let x = high.x - COLUMN;
    // The gate gets the room left by the words and the legend; if that is too little, the words go on overleaf.
    let parts = drawn.gate_panel_in(plan.view);
    let roles = roles(&[&plan, &parts]);
    let column = high.y - low.y - HEADING - STRIP - FACTS_GAP - LEGEND_GAP - legend_height(COLUMN, &roles);
    let least = LEAST_GATE * (high.y - low.y);
    let Split { here: facts, rest } = split(facts(&drawn), COLUMN, column - least);
    let facts_high = height(&facts, COLUMN);
    let gate_high = (column - facts_high).clamp(least, MOST_GATE * (high.y - low.y));
    let inward = study.site.gate.inward;
    let usual = Scale::usual(units);
    // A detail, as large as the posts allow; what is hit takes a longer label, and room for it beside them.
    let beside = if case.drawn.overlap_m.is_some() { 0.3 } else { 0.15 };
    let (view, gate_scale) =
        view_at_scale(&drawn.gate_interest(beside), inward, (COLUMN, gate_high), 0.0, &usual);
    let mut gate = drawn.gate_panel_in(view);
    gate.heading = Some(format!("At the gate, the road below, {}", gate_scale.words()));
    // What hits what stands on the plan beside it; here there is room for the measure.
    if let Some(overlap_m) = case.drawn.overlap_m {
        let by = format!("hits by {}", show_lacking(overlap_m, units));
        gate.labels.iter_mut().filter(|label| label.strong).for_each(|label| label.text.clone_from(&by));
    }
    let lines = drawn.lines();
    let facts_y = low.y + HEADING + gate_high + STRIP + FACTS_GAP;
    let blocks = vec![
        Block::panel(Point::new(low.x, low.y + HEADING), plan),
        Block::panel(Point::new(x, low.y + HEADING), gate),
        Block::Texts(Point::new(x, facts_y), COLUMN, facts),
        Block::Legend(Point::new(x, facts_y + facts_high + LEGEND_GAP), COLUMN, roles),
        Block::panel(Point::new(low.x, vehicle_y), above),
        Block::panel(Point::new(low.x + above_wide + GAP, vehicle_y), side),
        caution(paper),
    ];
    let name = lines.first().cloned().unwrap_or_default();
    let description = drawn.description(&lines);
    with_rest(Page { paper, name, scale: Some(scale), whole_at, description, blocks }, rest)
}

/// The basis of the opening: needs, clearance, steering, speed, sources.
fn facts(drawn: &Drawn<'_>) -> Vec<TextLine> {
    let (study, case) = (drawn.study, drawn.case);
    let mut lines = vec![
        TextLine::new(format!("{}.", through::answer(case, study)), TEXT * 1.3, true),
        TextLine::new("Basis of the opening", TEXT, true),
    ];
    let mut say = |text: String| lines.push(TextLine::new(text, TEXT, false));
    let need = |opening: Option<f64>, outcome: &Outcome| match (opening, outcome) {
        (Some(m), Outcome::Found) => drawn.length(m, Round::Up),
        _ => "none found".to_owned(),
    };
    say(format!(
        "Opening needed: {} bare; {} with a clearance of {} kept from everything that stands.",
        need(case.bare.opening_m, &case.bare.outcome),
        need(case.comfortable.opening_m, &case.comfortable.outcome),
        drawn.kept()
    ));
    let gate = show_drawn(study.site.gate.opening_m(), study.site.units);
    say(match case.drawn_gate {
        DrawnGate::Comfortable => format!("The {gate} gate as drawn: passes in comfort."),
        DrawnGate::Tight => format!("The {gate} gate as drawn: passes, but tightly."),
        DrawnGate::No => format!("The {gate} gate as drawn: does not pass."),
    });
    say(coordinates(&study.site));
    steering(drawn).into_iter().for_each(&mut say);
    through::other_half_words(study, case).into_iter().for_each(&mut say);
    for note in drawn.notes() {
        say(note);
    }
    say("The vehicle and the sources of its dimensions: see the cover.".to_owned());
    lines
}

/// The coordinates of a plan and their datum, with those of the middle of the gate.
pub(super) fn coordinates(site: &Site) -> String {
    let [x, y] = site.frame.to_plan(site.gate.center());
    match site.frame {
        Frame::LonLat { .. } => {
            let of = |deg: f64, plus: &str, minus: &str| {
                format!("{:.7}\u{b0} {}", deg.abs(), if deg < 0.0 { minus } else { plus })
            };
            format!(
                "Coordinates: degrees, datum WGS 84. Middle of the gate: {}, {}.",
                of(y, "N", "S"),
                of(x, "E", "W")
            )
        }
        Frame::Local { meters_per_unit } => format!(
            "Coordinates: {} from the origin of the sketch, x to the {}, y to the {}; no datum. Middle of the gate: x {x:.2}, \
             y {y:.2}.",
            if meters_per_unit == 1.0 { "meters" } else { "feet" },
            if site.north_known { "east" } else { "right" },
            if site.north_known { "north" } else { "top" },
        ),
    }
}

/// The steering limits of a vehicle, in words.
pub(super) fn steering(drawn: &Drawn<'_>) -> Vec<String> {
    let vehicle = drawn.vehicle;
    let length = |m: f64| drawn.length(m, Round::Nearest);
    let mut lines = Vec::new();
    let steering = vehicle.steering;
    if steering.max_curvature > 0.0 {
        let derived = vehicle.derived();
        // "Curb to curb" is a diameter in the trade: a radius is named by what runs on it.
        let radius = |kind: &str, at: &str| {
            let circle = derived.iter().find(|d| d.name.contains(kind)).map(|d| d.measure);
            match circle {
                Some(Measure::Length(m)) => format!(", {} at the {at}", length(0.5 * m)),
                _ => String::new(),
            }
        };
        lines.push(format!(
            "Steering lock {:.0}\u{b0}, reached over {} rolled. Smallest turning radius: {} at the middle of the rear axle{}{}.",
            steering.lock_angle_rad.to_degrees(),
            length(steering.lock_distance_m),
            length(1.0 / steering.max_curvature),
            radius("curb to curb", "outer front tire"),
            radius("wall to wall", "outer front corner of the body")
        ));
    }
    lines
        .push("Walking speed; tires roll without slipping; wheels may be turned while it stands.".to_owned());
    for (unit, next) in vehicle.units.iter().zip(vehicle.units.iter().skip(1)) {
        if let Some(hitch) = unit.hitch {
            lines.push(format!(
                "The {} turns against the {} by up to {:.0}\u{b0}.",
                next.name,
                unit.name,
                hitch.max_angle_rad.to_degrees()
            ));
        }
    }
    lines
}

/// A sheet of a plan at a true scale alone: beside it the facts and the legend, below it the vehicle with its
/// dimensions; further sheets for facts that this does not hold.
pub(super) fn plan_pages(
    drawn: &Drawn<'_>,
    lines: &[String],
    facts: Vec<TextLine>,
    paper: Paper,
    scale: Option<Scale>,
) -> Vec<Page> {
    let (low, high) = area(paper);
    let Left { plan, scale, whole_at, above, side, vehicle_y } = left(drawn, paper, scale);
    let above_wide = above.view.width;
    let x = high.x - COLUMN;
    let roles = roles(&[&plan]);
    let column = high.y - low.y - LEGEND_GAP - legend_height(COLUMN, &roles);
    let Split { here: facts, rest } = split(facts, COLUMN, column);
    let facts_high = height(&facts, COLUMN);
    let blocks = vec![
        Block::panel(Point::new(low.x, low.y + HEADING), plan),
        Block::Texts(Point::new(x, low.y), COLUMN, facts),
        Block::Legend(Point::new(x, low.y + facts_high + LEGEND_GAP), COLUMN, roles),
        Block::panel(Point::new(low.x, vehicle_y), above),
        Block::panel(Point::new(low.x + above_wide + GAP, vehicle_y), side),
        caution(paper),
    ];
    let name = lines.first().cloned().unwrap_or_default();
    let description = drawn.description(lines);
    with_rest(Page { paper, name, scale: Some(scale), whole_at, description, blocks }, rest)
}

/// A text with a period at its end.
pub(super) fn ended(text: &str) -> String {
    format!("{}.", text.trim().trim_end_matches('.'))
}

/// The width of the road, across it beside the gate: on the side the vehicle does not come from, if it is shown there.
pub(super) fn road_dimension(study: &Study, start: Option<Point>, panel: &Panel) -> Option<Item> {
    let (view, ink) = (&panel.view, Ink::of(panel));
    let road = study.site.roads.first()?;
    let gate = &study.site.gate;
    let center = gate.center();
    let foot = |pair: &[Point]| distance::nearest_on_segment(center, pair[0], pair[1]);
    let near = |pair: &&[Point]| foot(pair).distance(center);
    let pair = road.centerline.windows(2).min_by(|a, b| near(a).total_cmp(&near(b)))?;
    let along = (pair[1] - pair[0]).unit()?;
    let from_start = start.map_or(1.0, |start| (foot(pair) - start).dot(along).signum());
    let half = along.left() * (0.5 * road.width_m);
    // Clear of the gate and of the corners of its apron, as far as the road is drawn, and of the vehicle's path.
    let ends = |(side, beyond): (f64, f64)| {
        let room = foot(pair).distance(if side > 0.0 { pair[1] } else { pair[0] });
        let at = foot(pair) + along * (side * (gate.opening_m() + 3.0 + beyond).min(room));
        [at - half, at + half]
    };
    let seen = |ends: &[Point; 2]| ends.iter().all(|p| view.shows(*p, 8.0));
    let price = |[from, to]: &[Point; 2]| ink.under(view.page(*from), view.page(*to));
    let steps = (0..12_u32).map(|step| 1.5 * f64::from(step));
    let places = steps.flat_map(|beyond| [(from_start, beyond), (-from_start, beyond)]);
    let [from, to] = places.map(ends).filter(seen).min_by_key(price)?;
    let text = format!("road {}", show(road.width_m, study.site.units, Round::Nearest));
    let geom = Geom::Dimension { from, to, away: along, offset: 0.0, text };
    Some(Item::new(Role::Dimension, geom))
}

/// A vehicle's turning templates, a page for each turn, led by the middle of its front axle on an arc of this radius
/// (the vehicle's tightest, if none is given or if this is tighter); all at one scale, so that they can be compared.
///
/// # Errors
/// A [`SweepError`] for a vehicle that cannot be swept.
pub fn template_pages(
    vehicle: &Vehicle,
    turns_deg: &[f64],
    radius_m: Option<f64>,
    units: Units,
    paper: Paper,
) -> Result<Vec<Page>, SweepError> {
    let tightest = tightest_radius_m(vehicle);
    let radius = radius_m.map_or(tightest, |r| r.max(tightest));
    if !radius.is_finite() || vehicle.units.is_empty() {
        return Err(SweepError::Nothing);
    }
    let (low, high) = area(paper);
    let size = (high.x - low.x - COLUMN - GAP, high.y - low.y - HEADING - STRIP);
    let usual = Scale::usual(units);
    // The largest scale at which every turn fits.
    let scale_of = std::cell::Cell::new(0_usize);
    for turn_deg in turns_deg {
        let look = |points: &[Point]| {
            let (view, scale) = view_at_scale(points, UP, size, INSET, &usual);
            let index = usual.iter().position(|s| *s == scale).unwrap_or(0);
            scale_of.set(scale_of.get().max(index));
            view
        };
        template::turn(vehicle, *turn_deg, radius, units, &look)?;
    }
    let scale = usual[scale_of.get()];
    let mut pages = Vec::new();
    for turn_deg in turns_deg {
        let look = |points: &[Point]| view_at_scale(points, UP, size, INSET, &[scale]).0;
        let mut panel = template::turn(vehicle, *turn_deg, radius, units, &look)?;
        let said = panel.heading.take().unwrap_or_default();
        let on = template::drivable_radius_m(vehicle, *turn_deg, radius);
        let name = format!("{}: turning template, {turn_deg:.0}\u{b0}", vehicle.title);
        panel.heading = Some(format!("{turn_deg:.0}-degree turn, {}", scale.words()));
        let roles = roles(&[&panel]);
        let mut lines = vec![
            TextLine::new(vehicle.title.clone(), 24.0, true),
            TextLine::new(ended(&said), TEXT, false),
            TextLine::new(
                format!(
                    "The middle of the front axle is led on an arc of {} radius; the tightest this vehicle can is {}.",
                    show(on, units, if on > radius { Round::Up } else { Round::Nearest }),
                    show(tightest, units, Round::Nearest)
                ),
                TEXT,
                false,
            ),
        ];
        let more = template::facts(vehicle, *turn_deg, on, units);
        lines.extend(more.into_iter().map(|line| TextLine::new(line, TEXT, false)));
        lines.push(TextLine::new(ended(&vehicle.about), TEXT, false));
        let x = high.x - COLUMN;
        let column = high.y - low.y - LEGEND_GAP - legend_height(COLUMN, &roles);
        let Split { here: lines, rest } = split(lines, COLUMN, column);
        let texts_high = height(&lines, COLUMN);
        let description = format!("{name}. {said}.");
        let blocks = vec![
            Block::panel(Point::new(low.x, low.y + HEADING), panel),
            Block::Texts(Point::new(x, low.y), COLUMN, lines),
            Block::Legend(Point::new(x, low.y + texts_high + LEGEND_GAP), COLUMN, roles),
            caution(paper),
        ];
        let page = Page { paper, name, scale: Some(scale), whole_at: None, description, blocks };
        pages.extend(with_rest(page, rest));
    }
    Ok(pages)
}
