//! Layout of the sheets to print: one for each case of a study, a cover, and turning templates.
use super::case::{CAUTION, Drawn};
use super::gate::opening_dimensions;
use super::ink::Ink;
use super::panel::STRIP;
use super::paper::{
    Block, MARGIN, Page, Paper, Scale, TITLE_BLOCK, TextLine, holds, legend_height, view_at_scale,
};
use super::scene::{Geom, Item, PANEL_WIDTH, Panel, Role};
use super::template::{self, tightest_radius_m};
use super::vehicle;
use crate::gate::swept;
use crate::geometry::length::{Round, Units, show, show_drawn, show_fine};
use crate::geometry::{Point, distance};
use crate::opening::{DrawnGate, Outcome, Study};
use crate::site::{Arrangement, Frame, Gate, Site, Swing};
use crate::sweep::SweepError;
use crate::vehicle::{Measure, Vehicle};

const UP: Point = Point::new(0.0, 1.0);
/// Space between neighbors on a page.
pub(super) const GAP: f64 = 26.0;
/// Room for a heading above a panel.
pub(super) const HEADING: f64 = 30.0;
/// Sizes of texts.
pub(super) const TEXT: f64 = 17.0;
const SMALL: f64 = 15.0;
/// Size of the headings of a cover's parts.
const PART_HEADING: f64 = 22.0;
/// Margin of a site's plan from the edge of its panel.
const INSET: f64 = 24.0;
/// The column beside the plan: wide enough for a line of facts, no wider on large paper.
const COLUMN: f64 = 500.0;

/// Space above the facts and above the legend in that column.
const FACTS_GAP: f64 = 8.0;
const LEGEND_GAP: f64 = 10.0;
/// Least and greatest share of a page's height for the gate close up.
const LEAST_GATE: f64 = 0.22;
const MOST_GATE: f64 = 0.3;
/// Smallest size of text that is shrunk to fit: 3.4 points.
const LEAST_TEXT: f64 = 8.0;

/// Least height of a plan: a lower one shows too little to be worth its place.
const LEAST_PLAN: f64 = 250.0;

/// The area of a page between its margins and above the caution and the title block: upper left and lower right.
pub(super) fn area(paper: Paper) -> (Point, Point) {
    let size = paper.size();
    (Point::new(MARGIN, MARGIN), Point::new(size.x - MARGIN, size.y - MARGIN - TITLE_BLOCK - 34.0))
}

pub(super) fn caution(paper: Paper) -> Block {
    let (low, high) = area(paper);
    let line = TextLine::new(CAUTION, SMALL, true);
    Block::Texts(Point::new(low.x, high.y + 6.0), high.x - low.x, vec![line])
}

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
    let (above, side) = (vehicle::plan(vehicle, &poses, units), vehicle::side(vehicle, &poses, units));
    let strip_of = |panel: &Panel| if panel.scale_bar { STRIP } else { 0.0 };
    let vehicles_high = (above.view.height + strip_of(&above)).max(side.view.height + strip_of(&side));
    let left_wide = high.x - low.x - COLUMN - GAP;
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
    plan.items.extend(road_dimension(study, drawn.start(), &plan));
    Left { plan, scale, whole_at, above, side, vehicle_y: high.y - vehicles_high }
}

/// The sheet of a case: the plan at a true scale, the gate close up, the vehicle with its dimensions, and the basis of
/// the opening. At `scale` if one is given, else at the largest usual one that shows the whole way in. `None` if there
/// is no such case.
#[must_use]
pub fn case_page(study: &Study, case_index: usize, paper: Paper, scale: Option<Scale>) -> Option<Page> {
    let case = study.cases.get(case_index)?;
    let vehicle = study.vehicles.get(case.vehicle)?;
    let drawn = Drawn::through(study, case, vehicle);
    let units = study.site.units;
    let (low, high) = area(paper);
    let Left { plan, scale, whole_at, above, side, vehicle_y } = left(&drawn, paper, scale);
    let x = high.x - COLUMN;
    // The gate gets the room left by the words and the legend; if that is too little, the words are set smaller.
    let parts = drawn.gate_panel_in(plan.view);
    let roles = roles(&[&plan, &parts]);
    let column = high.y - low.y - HEADING - STRIP - FACTS_GAP - LEGEND_GAP - legend_height(COLUMN, &roles);
    let least = LEAST_GATE * (high.y - low.y);
    let facts = fitted(facts(&drawn), COLUMN, column - least);
    let facts_high = height(&facts, COLUMN);
    let gate_high = (column - facts_high).clamp(0.5 * least, MOST_GATE * (high.y - low.y));
    let inward = study.site.gate.inward;
    let usual = Scale::usual(units);
    // A detail, as large as the posts allow; what is hit takes a longer label, and room for it beside them.
    let beside = if case.drawn.overlap_m.is_some() { 0.55 } else { 0.15 };
    let (view, gate_scale) =
        view_at_scale(&drawn.gate_interest(beside), inward, (COLUMN, gate_high), 0.0, &usual);
    let mut gate = drawn.gate_panel_in(view);
    gate.heading = Some(format!("At the gate, the road below, {}", gate_scale.words()));
    // What hits what stands on the plan beside it; here there is room for the measure.
    if let Some(overlap_m) = case.drawn.overlap_m {
        let by = format!("hits by {}", show_fine(overlap_m, units, Round::Up));
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
        Block::panel(Point::new(low.x + PANEL_WIDTH + GAP, vehicle_y), side),
        caution(paper),
    ];
    let name = lines.first().cloned().unwrap_or_default();
    let description = drawn.description(&lines);
    Some(Page { paper, name, scale: Some(scale), whole_at, description, blocks })
}

/// Lines set smaller until they are no higher than the room for them; no smaller than can be read.
pub(super) fn fitted(mut lines: Vec<TextLine>, width: f64, room: f64) -> Vec<TextLine> {
    while height(&lines, width) > room && lines.iter().any(|l| l.size > LEAST_TEXT) {
        lines.iter_mut().for_each(|l| l.size *= 0.95);
    }
    lines
}

fn height(lines: &[TextLine], width: f64) -> f64 {
    super::paper::texts(Point::default(), width, lines).1
}

/// The basis of the opening: needs, clearance, steering, speed, sources.
fn facts(drawn: &Drawn<'_>) -> Vec<TextLine> {
    let (study, case, vehicle) = (drawn.study, drawn.case, drawn.vehicle);
    let mut lines = vec![TextLine::new("Basis of the opening", TEXT, true)];
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
    for note in drawn.notes() {
        say(note);
    }
    say(format!("Vehicle: {} Sources of its dimensions: see the cover.", ended(&vehicle.about)));
    lines
}

/// The coordinates of a plan and their datum, with those of the middle of the gate.
fn coordinates(site: &Site) -> String {
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

/// The leaves of a gate, in words.
fn leaves_words(gate: &Gate) -> String {
    let opens = if gate.leaves.opens == Swing::In { "inward" } else { "outward" };
    match gate.leaves.arrangement {
        Arrangement::None => "no leaf".to_owned(),
        Arrangement::Single(side) => format!("one leaf, hinged on the {}, that opens {opens}", side.word()),
        Arrangement::Double => format!("two leaves that open {opens}"),
        Arrangement::Slide(side) => format!("one leaf that slides to the {}", side.word()),
    }
}

/// The steering limits of a vehicle, in words.
pub(super) fn steering(drawn: &Drawn<'_>) -> Vec<String> {
    let vehicle = drawn.vehicle;
    let length = |m: f64| drawn.length(m, Round::Nearest);
    let mut lines = Vec::new();
    let steering = vehicle.steering;
    if steering.max_curvature > 0.0 {
        lines.push(format!(
            "Steering lock {:.0}\u{b0}, reached over {} rolled; smallest radius at the middle of the rear axle {}.",
            steering.lock_angle_rad.to_degrees(),
            length(steering.lock_distance_m),
            length(1.0 / steering.max_curvature)
        ));
    }
    let derived = vehicle.derived();
    let circle = |kind: &str| derived.iter().find(|d| d.name.contains(kind)).map(|d| d.measure);
    if let (Some(Measure::Length(curb)), Some(Measure::Length(wall))) =
        (circle("curb to curb"), circle("wall to wall"))
    {
        lines.push(format!(
            "Smallest turning radius: {} curb to curb, {} wall to wall.",
            length(0.5 * curb),
            length(0.5 * wall)
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
/// dimensions.
pub(super) fn plan_page(
    drawn: &Drawn<'_>,
    lines: &[String],
    facts: Vec<TextLine>,
    paper: Paper,
    scale: Option<Scale>,
) -> Page {
    let (low, high) = area(paper);
    let Left { plan, scale, whole_at, above, side, vehicle_y } = left(drawn, paper, scale);
    let x = high.x - COLUMN;
    let roles = roles(&[&plan]);
    let column = high.y - low.y - LEGEND_GAP - legend_height(COLUMN, &roles);
    let facts = fitted(facts, COLUMN, column);
    let facts_high = height(&facts, COLUMN);
    let blocks = vec![
        Block::panel(Point::new(low.x, low.y + HEADING), plan),
        Block::Texts(Point::new(x, low.y), COLUMN, facts),
        Block::Legend(Point::new(x, low.y + facts_high + LEGEND_GAP), COLUMN, roles),
        Block::panel(Point::new(low.x, vehicle_y), above),
        Block::panel(Point::new(low.x + PANEL_WIDTH + GAP, vehicle_y), side),
        caution(paper),
    ];
    let name = lines.first().cloned().unwrap_or_default();
    let description = drawn.description(lines);
    Page { paper, name, scale: Some(scale), whole_at, description, blocks }
}

/// A text with a period at its end.
fn ended(text: &str) -> String {
    format!("{}.", text.trim().trim_end_matches('.'))
}

/// The width of the road, across it beside the gate: on the side the vehicle does not come from, if it is shown there.
fn road_dimension(study: &Study, start: Option<Point>, panel: &Panel) -> Option<Item> {
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

/// The site without a vehicle, at a true scale, for the room left on a cover.
fn key_plan(study: &Study, (width, height): (f64, f64)) -> Option<(Panel, Scale)> {
    let case = study.cases.first()?;
    let drawn = Drawn::site_alone(study, case, study.vehicles.get(case.vehicle)?);
    let usual = Scale::usual(study.site.units);
    let (view, scale) = view_at_scale(&drawn.interest(), UP, (width, height), INSET, &usual);
    let mut panel = drawn.site_panel_in(view);
    let gate = &study.site.gate;
    let arcs = study.gate.iter().flat_map(|plan| &plan.swings).map(|swing| swept(gate, swing));
    let arcs = arcs.map(|ring| Item::new(Role::Arc, Geom::Area(vec![ring]))).collect::<Vec<_>>();
    let below = panel.items.iter().position(|item| item.role == Role::GateLine).unwrap_or(0);
    panel.items.splice(below..below, arcs);
    panel.items.extend(opening_dimensions(&study.site, &[]));
    panel.items.extend(road_dimension(study, None, &panel));
    panel.heading = Some(format!("The site as drawn, {}", scale.words()));
    Some((panel, scale))
}

/// Sentences of a cover, a paragraph each; a part without sentences gets no heading.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CoverWords {
    /// The verdict on each vehicle.
    pub answers: Vec<String>,
    /// Columns, leaves, and the room in which a vehicle waits for the gate to open.
    pub gate: Vec<String>,
    /// The smallest changes that let every vehicle in.
    pub fixes: Vec<String>,
    /// Terms and limits of the answers, and the notes of the study.
    pub remarks: Vec<String>,
}

/// A heading and its paragraphs, none if there is no paragraph.
fn part<'a>(heading: &'a str, words: &'a [String], size: f64) -> impl Iterator<Item = TextLine> + 'a {
    let heading = (!words.is_empty()).then(|| TextLine::new(heading, PART_HEADING, true));
    heading.into_iter().chain(words.iter().map(move |text| TextLine::new(text.clone(), size, false)))
}

/// The cover: the question, the answers, the smallest changes that mend the plan, the site as drawn, the gate with its
/// columns and the room to wait, the vehicles and the sources of their dimensions, and a list of sheets. `sheets` are the
/// names of the sheets that follow.
#[must_use]
pub fn cover_page(study: &Study, paper: Paper, words: &CoverWords, sheets: &[String]) -> Page {
    let (low, high) = area(paper);
    let half = (high.x - low.x - 2.0 * GAP) / 2.0;
    let (site, units) = (&study.site, study.site.units);
    let length = |m: f64| show(m, units, Round::Nearest);
    let mut left = vec![TextLine::new(site.title.clone(), 34.0, true)];
    if !site.note.is_empty() {
        left.push(TextLine::new(site.note.clone(), TEXT, false));
    }
    left.push(TextLine::new(
        format!(
            "Gate as drawn: {} between the faces of its posts, {} from the road; {}.",
            show_drawn(site.gate.opening_m(), site.units),
            length(site.gate.setback_m),
            leaves_words(&site.gate)
        ),
        TEXT,
        false,
    ));
    left.push(TextLine::new(coordinates(site), TEXT, false));
    left.extend(part("Answers", &words.answers, TEXT));
    left.extend(part("The smallest changes that mend it", &words.fixes, TEXT));
    let mut right = vec![TextLine::new("The opening each way in needs, and its sheet", PART_HEADING, true)];
    let columns = ["Bare", "In comfort", "As drawn", "Sheet"].map(str::to_owned).to_vec();
    right.push(TextLine::row("Vehicle and way in", columns, SMALL, true));
    let need = |m: Option<f64>| m.map_or_else(|| "none found".to_owned(), |m| show(m, units, Round::Up));
    for (i, name) in sheets.iter().enumerate() {
        let mut cells = study.cases.get(i).map_or_else(
            || vec![String::new(); 3],
            |case| {
                vec![
                    need(case.bare.opening_m),
                    need(case.comfortable.opening_m),
                    case.drawn_gate.word().to_owned(),
                ]
            },
        );
        cells.push((i + 2).to_string());
        right.push(TextLine::row(name.clone(), cells, SMALL, false));
    }
    right.extend(part("The gate: columns, leaves, room to wait", &words.gate, SMALL));
    right.extend(part("How to read the answers", &words.remarks, SMALL));
    right.push(TextLine::new("Vehicles and the sources of their dimensions", PART_HEADING, true));
    for vehicle in &study.vehicles {
        right.push(TextLine::new(vehicle.title.clone(), SMALL, true));
        let mut sources: Vec<&str> = Vec::new();
        for dimension in &vehicle.dimensions {
            if !sources.contains(&dimension.source.as_str()) {
                sources.push(&dimension.source);
            }
        }
        right.push(TextLine::new(
            format!("{} Sources: {}", ended(&vehicle.about), ended(&sources.join("; "))),
            SMALL,
            false,
        ));
    }
    // On small paper with many vehicles the columns are set smaller rather than cut.
    let room = high.y - low.y;
    let (left, right) = (fitted(left, half, room), fitted(right, half, room));
    let right_at = Point::new(low.x + half + 2.0 * GAP, low.y);
    let plan_y = low.y + height(&left, half) + GAP + HEADING;
    let plan_high = high.y - STRIP - plan_y;
    let plan = if plan_high > LEAST_PLAN { key_plan(study, (half, plan_high)) } else { None };
    let scale = plan.as_ref().map(|(_, scale)| *scale);
    let mut blocks = vec![Block::Texts(low, half, left), Block::Texts(right_at, half, right), caution(paper)];
    blocks.extend(plan.map(|(panel, _)| Block::panel(Point::new(low.x, plan_y), panel)));
    let description =
        format!("{}: answers, vehicles and list of sheets. {}", site.title, words.answers.join(" "));
    Page { paper, name: "Cover".to_owned(), scale, whole_at: None, description, blocks }
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
        let name = format!("{}: turning template, {turn_deg:.0}\u{b0}", vehicle.title);
        panel.heading = Some(format!("{turn_deg:.0}-degree turn, {}", scale.words()));
        let roles = roles(&[&panel]);
        let mut lines = vec![
            TextLine::new(vehicle.title.clone(), 24.0, true),
            TextLine::new(ended(&said), TEXT, false),
            TextLine::new(
                format!(
                    "The middle of the front axle is led on an arc of {} radius; the tightest this vehicle can is {}.",
                    show(radius, units, Round::Nearest),
                    show(tightest, units, Round::Nearest)
                ),
                TEXT,
                false,
            ),
        ];
        let more = template::facts(vehicle, *turn_deg, radius, units);
        lines.extend(more.into_iter().map(|line| TextLine::new(line, TEXT, false)));
        lines.push(TextLine::new(ended(&vehicle.about), SMALL, false));
        let x = high.x - COLUMN;
        let texts_high = height(&lines, COLUMN);
        let description = format!("{name}. {said}.");
        let blocks = vec![
            Block::panel(Point::new(low.x, low.y + HEADING), panel),
            Block::Texts(Point::new(x, low.y), COLUMN, lines),
            Block::Legend(Point::new(x, low.y + texts_high + 14.0), COLUMN, roles),
            caution(paper),
        ];
        pages.push(Page { paper, name, scale: Some(scale), whole_at: None, description, blocks });
    }
    Ok(pages)
}
