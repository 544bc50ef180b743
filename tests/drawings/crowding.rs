//! Layout of the texts in every example's drawings, sheets and page, by the boxes they fill in the font that ships with
//! the program: none overlaps another, none leaves its frame, none is missing that must be there.
#![cfg(feature = "sheets")]
use crate::common::every_case;
use rayon::prelude::*;
use resvg::usvg::{self, roxmltree};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use wideenough::drawing::labels::{Rect, text_width};
use wideenough::drawing::paper::{POINTS_PER_UNIT, Page, Paper, TitleBlock, page_svg};
use wideenough::drawing::scene::{Geom, Item, Panel, Role};
use wideenough::drawing::svg::placed_texts;
use wideenough::drawing::{
    CoverWords, Listed, case_pages, case_sheet, cover_pages, driving_pages, driving_sheet, gate_pages,
    sight_pages, sight_shown, template_pages, turn_pages, vehicle_sheet, vehicle_svg,
};
use wideenough::geometry::{Point, Units};
use wideenough::opening::{Study, StudyOptions, Wanted, driving, study};
use wideenough::report::{cover_words, file_stems};
use wideenough::sight::{SightOptions, sight_rule, survey};
use wideenough::site;
use wideenough::vehicle::{find, library};

pub(super) const EXAMPLES: [&str; 7] = [
    "equipment-yard",
    "field-sketch",
    "house-on-a-bend",
    "rural-entrance",
    "small-lane",
    "town-lot",
    "workshop-lane",
];
/// Those whose sheets are looked at unless every case is asked for: a turn, cards, sight, and a gate that is too narrow.
pub(super) const SOME: [&str; 3] = ["house-on-a-bend", "small-lane", "workshop-lane"];
const PAPERS: [Paper; 4] = [Paper::Letter, Paper::Tabloid, Paper::A4, Paper::A3];

pub(super) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// A text of a picture: its words, the box it fills, and the frame it must stay in.
#[derive(Debug)]
pub(super) struct Said {
    text: String,
    rect: Rect,
    frame: Rect,
    /// Index of the panel it stands in, if any.
    panel: Option<usize>,
    /// Width the program assumes for it, and its true width.
    widths: (f64, f64),
    /// Size of its font.
    size: f64,
}

/// A picture's texts and the frames of its panels.
pub(super) struct Picture {
    pub(super) page: Rect,
    pub(super) panels: Vec<Rect>,
    texts: Vec<Said>,
}

pub(super) fn options() -> usvg::Options<'static> {
    static FONTS: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    let fonts = FONTS.get_or_init(|| {
        let mut fonts = usvg::fontdb::Database::new();
        fonts.load_font_data(dejavu::sans::regular().to_vec());
        fonts.load_font_data(dejavu::sans::bold().to_vec());
        Arc::new(fonts)
    });
    let font_family = "DejaVu Sans".to_owned();
    usvg::Options { font_family, fontdb: Arc::clone(fonts), ..usvg::Options::default() }
}

fn laid_out(group: &usvg::Group, texts: &mut Vec<(String, Rect)>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => laid_out(group, texts),
            usvg::Node::Text(text) => {
                let words = text.chunks().iter().map(usvg::TextChunk::text).collect::<String>();
                let b = text.abs_bounding_box();
                let [x0, y0, x1, y1] = [b.left(), b.top(), b.right(), b.bottom()].map(f64::from);
                texts.push((words, Rect { x0, y0, x1, y1 }));
            }
            _ => {}
        }
    }
}

/// Parses a picture as a browser would. Everything in units of its view box.
pub(super) fn picture(svg: &str) -> Picture {
    let document = roxmltree::Document::parse(svg).unwrap();
    let number = |node: &roxmltree::Node<'_, '_>, name: &str| -> f64 {
        node.attribute(name).map_or(0.0, |v| v.trim_end_matches("pt").parse().unwrap())
    };
    let top = document.root_element();
    let view: Vec<f64> =
        top.attribute("viewBox").unwrap().split_whitespace().map(|v| v.parse().unwrap()).collect();
    let page = Rect { x0: view[0], y0: view[1], x1: view[0] + view[2], y1: view[1] + view[3] };
    let nested = |node: &roxmltree::Node<'_, '_>| *node != top && node.tag_name().name() == "svg";
    let frame_of = |node: &roxmltree::Node<'_, '_>| {
        let (x0, y0) = (number(node, "x"), number(node, "y"));
        Rect { x0, y0, x1: x0 + number(node, "width"), y1: y0 + number(node, "height") }
    };
    let panels: Vec<_> = document.descendants().filter(nested).collect();
    let tree = usvg::Tree::from_str(svg, &options()).unwrap();
    let scale = f64::from(tree.size().width()) / view[2];
    let mut boxes = Vec::new();
    laid_out(tree.root(), &mut boxes);
    let written: Vec<_> = document.descendants().filter(|n| n.tag_name().name() == "text").collect();
    assert_eq!(written.len(), boxes.len(), "a text is empty or could not be laid out");
    let texts = written.iter().zip(boxes).map(|(node, (words, b))| {
        let text = node.text().unwrap().trim().to_owned();
        assert_eq!(text.split_whitespace().collect::<Vec<_>>(), words.split_whitespace().collect::<Vec<_>>());
        let rect = Rect { x0: b.x0 / scale, y0: b.y0 / scale, x1: b.x1 / scale, y1: b.y1 / scale };
        let panel = panels.iter().position(|p| node.ancestors().any(|a| a == *p));
        let frame = panel.map_or(page, |i| frame_of(&panels[i]));
        let strong = node.attribute("font-weight") == Some("bold");
        let size = number(node, "font-size");
        let widths = (text_width(&text, size, strong), rect.x1 - rect.x0);
        Said { text, rect, frame, panel, widths, size }
    });
    let texts = texts.collect();
    Picture { page, panels: panels.iter().map(frame_of).collect(), texts }
}

/// Lists the faults of a picture's texts, each in words.
pub(super) fn crowded(name: &str, picture: &Picture) -> Vec<String> {
    // Boxes reach from the highest to the lowest letter of the font; a unit of it is empty above and below.
    let slack = 0.5;
    let meet = |a: &Rect, b: &Rect| {
        a.x0 + slack < b.x1 && b.x0 + slack < a.x1 && a.y0 + slack < b.y1 && b.y0 + slack < a.y1
    };
    let mut faults = Vec::new();
    let mut fault = |what: String| faults.push(format!("{name}: {what}"));
    for (i, a) in picture.texts.iter().enumerate() {
        let within = |outer: &Rect| {
            a.rect.x0 >= outer.x0 && a.rect.y0 >= outer.y0 && a.rect.x1 <= outer.x1 && a.rect.y1 <= outer.y1
        };
        if !within(&a.frame) || !within(&picture.page) {
            fault(format!("\"{}\" {:?} leaves its frame {:?}", a.text, a.rect, a.frame));
        }
        for (j, panel) in picture.panels.iter().enumerate() {
            if a.panel != Some(j) && meet(&a.rect, panel) {
                fault(format!("\"{}\" {:?} lies over the panel {panel:?}", a.text, a.rect));
            }
        }
        for b in picture.texts[i + 1..].iter().filter(|b| meet(&a.rect, &b.rect)) {
            fault(format!("\"{}\" {:?} meets \"{}\" {:?}", a.text, a.rect, b.text, b.rect));
        }
        if a.widths.1 > a.widths.0 + 0.5 {
            fault(format!("\"{}\" is {:.1} wide, taken to be {:.1}", a.text, a.widths.1, a.widths.0));
        }
    }
    for (i, a) in picture.panels.iter().enumerate() {
        if a.x0 < picture.page.x0
            || a.y0 < picture.page.y0
            || a.x1 > picture.page.x1
            || a.y1 > picture.page.y1
        {
            fault(format!("the panel {a:?} leaves the page"));
        }
        for b in picture.panels[i + 1..].iter().filter(|b| meet(a, b)) {
            fault(format!("the panel {a:?} meets {b:?}"));
        }
    }
    faults
}

/// Lists missing labels that must be there, and dimensions whose ends are shown but whose text is not.
pub(super) fn missing(name: &str, panel: &Panel) -> Vec<String> {
    let placed: Vec<String> = placed_texts(panel).iter().map(|t| t.lines.join(" ")).collect();
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let there = |text: &str| placed.iter().any(|p| words(p) == words(text));
    let mut faults = Vec::new();
    for label in panel.labels.iter().filter(|l| !l.optional && !there(&l.text)) {
        faults.push(format!("{name}: the label \"{}\" found no place", label.text));
    }
    for item in &panel.items {
        if let Geom::Dimension { from, to, text, .. } = &item.geom
            && [from, to].into_iter().all(|p| panel.view.shows(*p, 0.0))
            && !there(text)
        {
            faults.push(format!("{name}: the dimension \"{text}\" found no place"));
        }
    }
    faults
}

/// Ends of a dimension's line on the page, if it is drawn: both of its ends are on the panel.
fn ends(panel: &Panel, item: &Item) -> Option<[Point; 2]> {
    let Geom::Dimension { from, to, away, offset, .. } = &item.geom else { return None };
    let view = &panel.view;
    let off = view.direction(*away) * *offset;
    let ends = [view.page(*from) + off, view.page(*to) + off];
    let on_it = |p: &Point| p.x >= 6.0 && p.y >= 6.0 && p.x <= view.width - 6.0 && p.y <= view.height - 6.0;
    ends.iter().all(on_it).then_some(ends)
}

/// A place or length on a picture in whole pixels.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand pixels")]
const fn whole(pixels: f64) -> u32 {
    pixels as u32
}

/// True if a point lies in rings (even-odd).
fn within(rings: &[Vec<Point>], at: Point) -> bool {
    let mut inside = false;
    for ring in rings {
        for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
            if (a.y > at.y) != (b.y > at.y) && at.x < a.x + (b.x - a.x) * (at.y - a.y) / (b.y - a.y) {
                inside = !inside;
            }
        }
    }
    inside
}

/// Lists what the texts of a panel hide: ends of dimensions, and with `paths` the ground a vehicle covers; leaders that
/// cross one another or run through a text.
pub(super) fn hidden(name: &str, panel: &Panel, paths: bool) -> Vec<String> {
    let texts = placed_texts(panel);
    let holds = |r: &Rect, p: Point| p.x > r.x0 && p.x < r.x1 && p.y > r.y0 && p.y < r.y1;
    let mut faults = Vec::new();
    let mut fault = |what: String| faults.push(format!("{name}: {what}"));
    for end in panel.items.iter().filter_map(|item| ends(panel, item)).flatten() {
        let tick = Rect::around(end, 10.0, 10.0);
        for text in texts.iter().filter(|t| t.rect.overlaps(&tick)) {
            fault(format!("{:?} hides the end {end:?} of a dimension", text.lines));
        }
    }
    let along = |(a, b): (Point, Point)| {
        let steps = a.distance(b).ceil().max(1.0);
        (0..=whole(steps)).map(move |i| a + (b - a) * (f64::from(i) / steps))
    };
    for (i, text) in texts.iter().enumerate() {
        let Some(leader) = text.leader else { continue };
        for other in texts.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, other)| other) {
            if along(leader).any(|p| holds(&other.rect, p)) {
                fault(format!("the leader of {:?} runs through {:?}", text.lines, other.lines));
            }
            let side =
                |(a, b): (Point, Point), p: Point| (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
            let apart = |l: (Point, Point), m: (Point, Point)| side(l, m.0) * side(l, m.1) > 0.0;
            if other.leader.is_some_and(|m| !apart(leader, m) && !apart(m, leader)) {
                fault(format!("the leaders of {:?} and {:?} cross", text.lines, other.lines));
            }
        }
    }
    let covers = |role: Role| {
        matches!(role, Role::Envelope | Role::Stand | Role::Ghost | Role::Waiting | Role::InRoad)
    };
    for item in panel.items.iter().filter(|item| paths && covers(item.role)) {
        let (Geom::Area(rings) | Geom::Smooth(rings)) = &item.geom else { continue };
        let rings: Vec<Vec<Point>> =
            rings.iter().map(|ring| ring.iter().map(|p| panel.view.page(*p)).collect()).collect();
        for text in texts.iter().filter(|t| !t.on_line) {
            let edge = rings.iter().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)));
            if text.rect.corners().iter().any(|p| within(&rings, *p))
                || edge.flat_map(|(a, b)| along((*a, *b))).any(|p| holds(&text.rect, p))
            {
                fault(format!("{:?} lies on the {:?}", text.lines, item.role));
            }
        }
    }
    faults
}

/// Study of an example as the program makes it, without the parts that no drawing shows.
pub(super) fn made(example: &str) -> Study {
    let file = root().join(format!("examples/{example}.geojson"));
    let site = site::read(&std::fs::read_to_string(file).unwrap(), example).unwrap();
    let wanted: Vec<Wanted> = site
        .vehicles
        .iter()
        .map(|request| Wanted {
            vehicle: find(&request.vehicle).unwrap(),
            visits: request.visits.clone(),
            travels: request.travels.clone(),
        })
        .collect();
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let mut study = study(site, &wanted, &options, &|_| ());
    study.driving = driving(&study, &options, &|_| ());
    if study.site.roads.iter().any(|road| road.speed.is_some()) {
        let rules = vec![*sight_rule("us").unwrap(), *sight_rule("orlando").unwrap()];
        let asked = SightOptions { rules, ..SightOptions::default() };
        study.sight = Some(survey(&study.site, &study.vehicles, &asked));
    }
    study
}

/// Title block fields as full as people fill them.
fn full_title() -> TitleBlock {
    TitleBlock {
        project: "New entrance and gate, north field, and a culvert beside it".to_owned(),
        address: "12345 Old Invented Turnpike Road, Upper Township".to_owned(),
        parcel: "000-111-222-3333".to_owned(),
        prepared_by: "A. Planner, Landscape and Driveways".to_owned(),
        date: "2026-11-25".to_owned(),
    }
}

/// All texts stand above the caution line except the caution's and the title block's.
fn below_the_caution(name: &str, picture: &Picture) -> Vec<String> {
    let caution =
        picture.texts.iter().position(|t| t.text.starts_with("Planning aid, not a survey")).unwrap();
    let top = picture.texts[caution].rect.y0;
    let block = picture.texts.iter().position(|t| t.text == "Project").unwrap();
    let running_over = picture.texts[..block].iter().enumerate().filter(|(i, t)| {
        let of_the_caution = *i == caution || t.rect.y0 > top && *i > caution;
        !of_the_caution && t.rect.y1 > top + 0.5
    });
    running_over.map(|(_, t)| format!("{name}: \"{}\" {:?} runs into the caution", t.text, t.rect)).collect()
}

/// Texts of a sheet less than 8 points high.
fn small(name: &str, picture: &Picture) -> Vec<String> {
    let points = |said: &Said| said.size * POINTS_PER_UNIT;
    let small = picture.texts.iter().filter(|said| points(said) < 8.0);
    small.map(|said| format!("{name}: \"{}\" is {:.2} points high", said.text, points(said))).collect()
}

/// All texts of a page in one, a word and a space after another.
fn text_of(page: &Page) -> String {
    let svg = page_svg(page, &full_title(), 0, 1);
    let document = roxmltree::Document::parse(&svg).unwrap();
    let texts = document.descendants().filter(|n| n.tag_name().name() == "text");
    let words = texts.flat_map(|n| n.text().unwrap_or_default().split_whitespace().collect::<Vec<_>>());
    words.collect::<Vec<_>>().join(" ")
}

/// Drawings that do not begin on the sheet where the cover's list has them, after as many sheets as it says.
fn wrongly_listed(name: &str, study: &Study, pages: &[Page], listed: &[Listed]) -> Vec<String> {
    let mut at = pages.iter().take_while(|page| page.name.starts_with("Cover")).count();
    let mut faults = Vec::new();
    let covers = pages[..at].iter().map(text_of).collect::<Vec<_>>().join(" ");
    for (i, drawing) in listed.iter().enumerate() {
        if pages[at].name != drawing.name {
            faults.push(format!(
                "{name}: sheet {} is \"{}\", not \"{}\"",
                at + 1,
                pages[at].name,
                drawing.name
            ));
        }
        // The number stands last in its row: behind the verdict on a way in, behind the name of any other drawing.
        let tail = drawing.name.rsplit(", ").next().unwrap_or_default();
        let before = study.cases.get(i).map_or(tail, |case| case.drawn_gate.word());
        let row = format!("{before} {}", at + 1);
        if !covers.contains(&row) {
            faults.push(format!("{name}: the cover does not list \"{}\" with \"{row}\"", drawing.name));
        }
        at += drawing.sheets;
    }
    assert_eq!(at, pages.len());
    faults
}

/// Pages whose title block does not hold their whole name.
fn cut_names(name: &str, pages: &[Page]) -> Vec<String> {
    let cut = pages.iter().filter(|page| !text_of(page).contains(page.name.as_str()));
    cut.map(|page| format!("{name}: the title block cuts \"{}\"", page.name)).collect()
}

/// Sentences of a cover that none of its sheets has, whole or from one column to the next.
fn unsaid(name: &str, pages: &[Page], words: &CoverWords) -> Vec<String> {
    let covers: Vec<&Page> = pages.iter().filter(|page| page.name.starts_with("Cover")).collect();
    let said = covers.iter().map(|page| text_of(page)).collect::<Vec<_>>().join(" ");
    let all = [&words.answers, &words.order, &words.gate, &words.fixes, &words.remarks];
    let sentences =
        all.into_iter().flatten().map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "));
    sentences
        .filter(|text| !said.contains(text.as_str()))
        .map(|text| format!("{name}: the cover does not say \"{text}\""))
        .collect()
}

#[test]
fn no_text_of_an_example_meets_another_or_leaves_its_frame() {
    let mut faults = Vec::new();
    let (mut looked_at, mut cards, mut measured) = (0, 0, 0);
    let examples = if every_case() { &EXAMPLES[..] } else { &SOME };
    for example in examples {
        let study = made(example);
        let stems = file_stems(&study);
        for driving in &study.driving {
            let sheet = driving_sheet(&study, driving).expect("every way of the examples has a card");
            let name = format!("{example}, card of case {}", driving.case);
            faults.extend(sheet.panels.iter().flat_map(|panel| missing(&name, panel)));
            faults.extend(sheet.panels.iter().flat_map(|panel| hidden(&name, panel, true)));
            cards += 1;
        }
        for (i, stem) in stems.iter().enumerate() {
            for panel in &case_sheet(&study, i).unwrap().panels {
                faults.extend(missing(&format!("{example}/{stem}.svg"), panel));
                faults.extend(hidden(&format!("{example}/{stem}.svg"), panel, true));
                measured += panel.items.iter().filter(|item| ends(panel, item).is_some()).count();
            }
        }
        let words = cover_words(&study);
        for paper in PAPERS {
            let mut drawn: Vec<Vec<Page>> =
                (0..stems.len()).map(|i| case_pages(&study, i, paper, None)).collect();
            drawn.extend(study.turns.iter().map(|turn| turn_pages(&study, turn, paper, None)));
            drawn.extend(study.driving.iter().map(|driving| driving_pages(&study, driving, paper)));
            let shown = sight_shown(&study).into_iter();
            drawn.extend(shown.map(|(_, shown)| sight_pages(&study, shown, paper)));
            let waiting = study.gate.as_ref().and_then(|plan| plan.hardest_waiting());
            drawn.extend(waiting.map(|index| gate_pages(&study, index, &words, paper)));
            drawn.retain(|pages| !pages.is_empty());
            let listed: Vec<Listed> = drawn.iter().map(|pages| Listed::of(pages)).collect();
            let pages: Vec<Page> = cover_pages(&study, paper, &words, &listed)
                .into_iter()
                .chain(drawn.into_iter().flatten())
                .collect();
            let name = format!("{example}, {paper:?}");
            faults.extend(wrongly_listed(&name, &study, &pages, &listed));
            faults.extend(unsaid(&name, &pages, &words));
            faults.extend(cut_names(&name, &pages));
            let looked: Vec<(Vec<String>, usize)> = pages
                .par_iter()
                .enumerate()
                .map(|(i, page)| {
                    let name = format!("{example}, {paper:?}, sheet {} ({})", i + 1, page.name);
                    let picture = picture(&page_svg(page, &full_title(), i, pages.len()));
                    let mut faults = crowded(&name, &picture);
                    faults.extend(below_the_caution(&name, &picture));
                    faults.extend(small(&name, &picture));
                    faults.extend(page.panels().iter().flat_map(|(_, panel)| missing(&name, panel)));
                    faults.extend(page.panels().iter().flat_map(|(_, panel)| hidden(&name, panel, true)));
                    (faults, picture.texts.len())
                })
                .collect();
            for (found, count) in looked {
                faults.extend(found);
                looked_at += count;
            }
        }
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    assert!(looked_at * EXAMPLES.len() > 5000 * examples.len(), "only {looked_at} texts");
    assert!(measured * EXAMPLES.len() > 250 * examples.len(), "only {measured} dimensions with both ends");
    if every_case() {
        assert_eq!(cards, 30, "every way in of the examples that counts and passes has a card");
    }
    assert!(cards > 0, "no card was looked at");
}

/// The drawings a run of each example writes: golden.rs holds them to what the program writes now.
#[test]
fn no_text_of_a_drawing_on_a_screen_meets_another() {
    let mut faults = Vec::new();
    let mut drawings = 0;
    for example in EXAMPLES {
        let folder = root().join("out").join(example);
        for path in svg_files(&folder) {
            let name = path.display().to_string();
            faults.extend(crowded(&name, &picture(&std::fs::read_to_string(&path).unwrap())));
            drawings += 1;
        }
        let page = std::fs::read_to_string(folder.join("report.html")).unwrap();
        for (i, svg) in svgs_of_a_page(&page).iter().enumerate() {
            faults.extend(crowded(&format!("{example}/report.html, picture {}", i + 1), &picture(svg)));
            drawings += 1;
        }
    }
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    assert_eq!(
        drawings,
        60 + 4 + 10 + 2 + 180 + 7 + 3 + 4 + 4,
        "one drawing for each way in, turn, card and rule on sight, on the page three pictures for each way in, one of the \
         leaves, one of the gate to order where it is another, one for each turn and two for each rule"
    );
}

fn svg_files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
    let mut files: Vec<PathBuf> = entries.filter(|p| p.extension().is_some_and(|e| e == "svg")).collect();
    files.sort();
    files
}

/// The outermost pictures of a page that carry content: not the samples of its legend.
fn svgs_of_a_page(html: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = html;
    while let Some(start) = rest.find("<svg") {
        let (mut depth, mut at) = (0_usize, start);
        loop {
            let (open, close) = (rest[at..].find("<svg"), rest[at..].find("</svg>").unwrap());
            match open {
                Some(open) if open < close => (depth, at) = (depth + 1, at + open + 4),
                _ => (depth, at) = (depth - 1, at + close + 6),
            }
            if depth == 0 {
                break;
            }
        }
        found.push(rest[start..at].to_owned());
        rest = &rest[at..];
    }
    found.retain(|svg| svg.contains("<text"));
    found
}

#[test]
fn no_text_of_a_vehicle_or_a_template_meets_another() {
    let turns = [30.0, 90.0, 180.0, 360.0];
    let names: Vec<&str> = library().iter().map(|(name, _)| *name).collect();
    let faults: Vec<String> = names
        .par_iter()
        .flat_map(|name| {
            let vehicle = find(name).unwrap();
            let mut faults = Vec::new();
            for units in [Units::Feet, Units::Meters] {
                faults.extend(crowded(
                    &format!("{name}.svg, {units:?}"),
                    &picture(&vehicle_svg(&vehicle, units)),
                ));
            }
            for panel in &vehicle_sheet(&vehicle, Units::Feet).panels {
                faults.extend(hidden(name, panel, false));
            }
            // The smallest paper is the tightest.
            for page in template_pages(&vehicle, &turns, None, Units::Feet, Paper::Letter).unwrap_or_default()
            {
                let name = format!("{name}, {}", page.name);
                let picture = picture(&page_svg(&page, &full_title(), 0, 4));
                faults.extend(crowded(&name, &picture));
                faults.extend(below_the_caution(&name, &picture));
                faults.extend(small(&name, &picture));
                faults.extend(page.panels().iter().flat_map(|(_, panel)| hidden(&name, panel, false)));
            }
            faults
        })
        .collect();
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

/// Colors of the legend are those of the drawing: the middle of each sample, in the rendered picture, is a color that
/// fills some of a panel.
#[test]
fn the_legend_has_the_colors_of_the_drawing() {
    const FILLED: [&str; 7] = [
        "road",
        "drive: tires may use it",
        "post",
        "ground a leaf sweeps",
        "the opening",
        "ground the body covers",
        "wheel tracks",
    ];
    let files: Vec<PathBuf> =
        EXAMPLES.iter().flat_map(|name| svg_files(&root().join("out").join(name))).collect();
    let looked: Vec<(Vec<String>, usize)> = files
        .par_iter()
        .map(|path| {
            let svg = std::fs::read_to_string(path).unwrap();
            let tree = usvg::Tree::from_str(&svg, &options()).unwrap();
            let size = tree.size().to_int_size();
            let mut pixels = resvg::tiny_skia::Pixmap::new(size.width(), size.height()).unwrap();
            resvg::render(&tree, resvg::tiny_skia::Transform::identity(), &mut pixels.as_mut());
            let picture = picture(&svg);
            let (mut faults, mut samples) = (Vec::new(), 0);
            let legend =
                picture.texts.iter().filter(|t| t.panel.is_none() && FILLED.contains(&t.text.as_str()));
            for entry in legend {
                let sample = pixels.pixel(whole(entry.rect.x0 - 28.0), whole(entry.rect.middle().y)).unwrap();
                let rows = |p: &Rect| (whole(p.y0) + 2)..(whole(p.y1) - 2);
                let columns = |p: &Rect| (whole(p.x0) + 2)..(whole(p.x1) - 2);
                let same =
                    picture.panels.iter().flat_map(|p| rows(p).flat_map(|y| columns(p).map(move |x| (x, y))));
                let count = same.filter(|(x, y)| pixels.pixel(*x, *y) == Some(sample)).take(40).count();
                if count < 40 {
                    faults.push(format!("{}: {:?} is drawn in no {sample:?}", path.display(), entry.text));
                }
                samples += 1;
            }
            (faults, samples)
        })
        .collect();
    let faults: Vec<&String> = looked.iter().flat_map(|(faults, _)| faults).collect();
    assert!(faults.is_empty(), "{} faults:\n{faults:#?}", faults.len());
    assert!(looked.iter().map(|(_, samples)| samples).sum::<usize>() > 300);
}
