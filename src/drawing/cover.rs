//! Layout of the cover of the sheets to print: the answers, the site, the gate, the vehicles, and a list of the drawings.
use super::case::Drawn;
use super::gate::opening_dimensions;
use super::page::{GAP, HEADING, INSET, Split, UP, area, caution, height, split, with_rest};
use super::panel::STRIP;
use super::paper::{Block, Page, Paper, Scale, TEXT, TextLine, view_at_scale};
use super::scene::{Geom, Item, Panel, Role};
use super::sheets::{coordinates, ended, road_dimension};
use crate::gate::swept;
use crate::geometry::Point;
use crate::geometry::length::{Round, show, show_drawn};
use crate::opening::Study;
use crate::site::{Arrangement, Gate, Swing};

/// Size of the headings of a cover's parts.
const PART_HEADING: f64 = 22.0;
/// Least height of the plan: a lower one shows too little to be worth its place.
const LEAST_PLAN: f64 = 330.0;

/// Distance from the gate up to which the corners of a yard are shown in the plan: twice the length of a long rig.
const YARD_M: f64 = 45.0;

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

/// The site without a vehicle, at a true scale, for the room left on a cover.
fn key_plan(study: &Study, (width, height): (f64, f64)) -> Option<(Panel, Scale)> {
    let case = study.cases.first()?;
    let drawn = Drawn::site_alone(study, case, study.vehicles.get(case.vehicle)?);
    let usual = Scale::usual(study.site.units);
    let mut interest = drawn.interest();
    // Where vehicles turn around inside, the yard is part of the question.
    if !study.turns.is_empty() {
        let center = study.site.gate.center();
        let corners = study.site.drives.iter().flat_map(|drive| &drive.outer.0);
        interest.extend(corners.filter(|corner| corner.distance(center) <= YARD_M));
    }
    let (view, scale) = view_at_scale(&interest, UP, (width, height), INSET, &usual);
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
    /// The gate to order, by arrangement.
    pub order: Vec<String>,
    /// Columns, leaves, and the room in which a vehicle waits for the gate to open.
    pub gate: Vec<String>,
    /// The smallest changes that let every vehicle in.
    pub fixes: Vec<String>,
    /// Terms and limits of the answers, and the notes of the study.
    pub remarks: Vec<String>,
}

/// A heading and its paragraphs, none if there is no paragraph.
fn part<'a>(heading: &'a str, words: &'a [String], size: f64) -> impl Iterator<Item = TextLine> + 'a {
    let head = [TextLine::space(), TextLine::new(heading, PART_HEADING, true)];
    let head = head.into_iter().filter(|_| !words.is_empty());
    head.chain(words.iter().map(move |text| TextLine::new(text.clone(), size, false)))
}

/// A drawing that follows a cover, and how many sheets it takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Its name.
    pub name: String,
    /// Sheets it takes.
    pub sheets: usize,
}

impl Listed {
    /// The entry of a drawing's pages.
    #[must_use]
    pub fn of(pages: &[Page]) -> Self {
        Self { name: pages.first().map(|page| page.name.clone()).unwrap_or_default(), sheets: pages.len() }
    }
}

/// The cover: the question, the answers, the smallest changes that mend the plan, the site as drawn, the gate with its
/// columns and the room to wait, the vehicles and the sources of their dimensions, and a list of the drawings that
/// follow; with further sheets for what one does not hold.
#[must_use]
pub fn cover_pages(study: &Study, paper: Paper, words: &CoverWords, drawings: &[Listed]) -> Vec<Page> {
    // The list says on which sheet each drawing is, which depends on how many the cover takes.
    let mut covers = 1;
    loop {
        let pages = numbered(study, paper, words, drawings, covers);
        if pages.len() <= covers {
            return pages;
        }
        covers = pages.len();
    }
}

/// The cover of a set whose drawings begin after so many sheets.
fn numbered(
    study: &Study,
    paper: Paper,
    words: &CoverWords,
    drawings: &[Listed],
    covers: usize,
) -> Vec<Page> {
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
    let mut right = vec![TextLine::new(
        "The opening each way needs with the leaves as drawn, and its sheet",
        PART_HEADING,
        true,
    )];
    right.extend(table(study, half, drawings, covers));
    // The first sentence below the heading is the answer.
    let mut order: Vec<TextLine> = part("The gate to order", &words.order, TEXT).collect();
    let answer = order.iter_mut().find(|line| !line.strong && !line.text.is_empty());
    answer.into_iter().for_each(|line| line.strong = true);
    right.extend(order);
    right.extend(part("The gate: columns, leaves, room to wait", &words.gate, TEXT));
    right.extend(part("How to read the answers", &words.remarks, TEXT));
    right.push(TextLine::space());
    right.push(TextLine::new("Vehicles and the sources of their dimensions", PART_HEADING, true));
    for vehicle in &study.vehicles {
        right.push(TextLine::new(vehicle.title.clone(), TEXT, true));
        let mut sources: Vec<&str> = Vec::new();
        for dimension in &vehicle.dimensions {
            if !sources.contains(&dimension.source.as_str()) {
                sources.push(&dimension.source);
            }
        }
        right.push(TextLine::new(
            format!("{} Sources: {}", ended(&vehicle.about), ended(&sources.join("; "))),
            TEXT,
            false,
        ));
    }
    let room = high.y - low.y;
    let Split { here: left, rest } = split(left, half, room - GAP - HEADING - LEAST_PLAN - STRIP);
    let Split { here: right, rest: more } = split(right, half, room);
    let right_at = Point::new(low.x + half + 2.0 * GAP, low.y);
    let plan_y = low.y + height(&left, half) + GAP + HEADING;
    let plan_high = high.y - STRIP - plan_y;
    let plan = key_plan(study, (half, plan_high));
    let scale = plan.as_ref().map(|(_, scale)| *scale);
    let mut blocks = vec![Block::Texts(low, half, left), Block::Texts(right_at, half, right), caution(paper)];
    blocks.extend(plan.map(|(panel, _)| Block::panel(Point::new(low.x, plan_y), panel)));
    let description =
        format!("{}: answers, vehicles and list of sheets. {}", site.title, words.answers.join(" "));
    let page = Page { paper, name: "Cover".to_owned(), scale, whole_at: None, description, blocks };
    with_rest(page, [rest, more].concat())
}

/// The table of the drawings that follow: what each way in needs, what the gate as drawn is for it, and its sheet. Under
/// the title of each vehicle, its drawings by the rest of their names.
fn table(study: &Study, width: f64, drawings: &[Listed], covers: usize) -> Vec<TextLine> {
    let columns = ["Bare", "In comfort", "As drawn", "Sheet"].map(str::to_owned).to_vec();
    let mut rows = vec![TextLine::row("Vehicle and way in", columns, TEXT, true)];
    let need =
        |m: Option<f64>| m.map_or_else(|| "none found".to_owned(), |m| show(m, study.site.units, Round::Up));
    let mut sheet = covers + 1;
    let mut above = None;
    for (i, drawing) in drawings.iter().enumerate() {
        let mut cells = study.cases.get(i).map_or_else(
            || vec![String::new(); 3],
            |case| {
                let (bare, comfortable) = (need(case.bare.opening_m), need(case.comfortable.opening_m));
                vec![bare, comfortable, case.drawn_gate.word().to_owned()]
            },
        );
        cells.push(sheet.to_string());
        sheet += drawing.sheets;
        let of = study.vehicles.iter().find_map(|vehicle| {
            Some((
                vehicle.title.as_str(),
                drawing.name.strip_prefix(vehicle.title.as_str())?.strip_prefix(", ")?,
            ))
        });
        let (title, name) = of.map_or((None, drawing.name.as_str()), |(title, name)| (Some(title), name));
        if let Some(title) = title.filter(|title| above != Some(*title)) {
            rows.push(TextLine::new(title, TEXT, true));
        }
        above = title;
        rows.push(TextLine::row(name, cells, TEXT, false));
    }
    TextLine::align(&mut rows, width);
    rows
}
