//! `report.html`: the study as one page to read, to print and to play, with nothing fetched from anywhere.
//!
//! The page is complete without its script: verdict, table and still plans. The script only moves the vehicle along the
//! poses written into the page (`poses.rs`); it computes nothing but the positions between two of them.
use super::fixes::fix_lines;
use super::gate_words::{
    ORDER_COLUMNS, ORDER_KEY, gate_sentences, gate_warning, order_answer, order_remarks, order_rows,
};
use super::how_to_drive::{driving_file, of_case, window_lines};
use super::limits::savings;
use super::poses::way;
use super::results::SCHEDULE_FILE;
use super::schedule::gate_schedule;
use super::sight::{sight_sentences, sight_warning};
use super::table::{PAGE_WIDTH, heading, row};
use super::verdict::file_stems;
use super::words::{Line, case_sentence, remarks, sentence_start, star_words, verdicts, way_words};
use crate::drawing::figure::{legend_entries, page_definitions};
use crate::drawing::scene::Role;
use crate::drawing::tradeoff_svg;
use crate::drawing::{
    NO_STEPS, card_traffic_words, case_figures, driving_words, kept_words, ordered_figure, other_half_words,
    sight_figure, sight_shown, turn_figure, waiting_figure,
};
use crate::geometry::length::{Round, show, show_drawn, show_kept, whole_words};
use crate::opening::{Case, Driving, GatePlan, Study, Turn, VehicleNeed, Verdict};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde_json::Value;

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// Security policy: nothing may be fetched; style and script are those of the page itself.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; \
     base-uri 'none'; form-action 'none'";

/// Writes report.html of a study.
#[must_use]
pub fn page(study: &Study) -> String {
    let site = &study.site;
    let stems = file_stems(study);
    let deciding = deciding_vehicle(study);
    let (cases, roles) = cases(study, &stems, deciding);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                title { (site.title) ": how wide must the gate be?" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (PreEscaped(page_definitions()))
                header { h1 { (site.title) } }
                main {
                    (verdict(study, deciding))
                    p { (kept(&sentence_start(after_title(&heading(study), &site.title)))) "." }
                    @if !site.note.is_empty() { p class="note" { (site.note) } }
                    div class="columns" {
                        section aria-labelledby="needs" {
                            h2 id="needs" { "Opening needed for each way in" }
                            (table(study, &stems))
                            p class="small" {
                                "Bare touches nothing and keeps no clearance. Comfortable keeps "
                                (show_kept(study.clearance_m, site.units))
                                " from everything that stands."
                            }
                        }
                        (told("mend", "Changes that let every vehicle in comfortably", fix_lines(study).into_iter().map(|line| line.text).collect()))
                        (told("saves", "What a narrower gate would take", savings(study).into_iter().map(|line| line.text).collect()))
                        (gate(study))
                    }
                    (charts(study))
                    (sight(study))
                    (schedule(study))
                    section aria-labelledby="ways" {
                        h2 id="ways" { "The ways in" }
                        (legend(&roles))
                        (cases)
                    }
                    section aria-labelledby="read" {
                        h2 id="read" { "How to read this" }
                        ul { @for line in remarks(study) { li { (kept(&line.text)) } } }
                    }
                    (files(study))
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    let mut text = page.into_string();
    text.push('\n');
    text
}

/// Text whose lengths do not break across lines: `12' 6"` reads badly in two.
fn kept(text: &str) -> String {
    let whole = whole_words(text).into_iter().map(|word| word.replace(' ', "\u{a0}"));
    whole.collect::<Vec<String>>().join(" ")
}

/// Part of a heading after the title it begins with.
fn after_title<'a>(heading: &'a str, title: &str) -> &'a str {
    heading.strip_prefix(title).map_or(heading, |rest| rest.trim_start_matches([':', ' ']))
}

const fn class(verdict: Option<Verdict>) -> &'static str {
    match verdict {
        Some(Verdict::Comfortable) => "comfortable",
        Some(Verdict::Tight) => "tight",
        Some(Verdict::OnlyBackingIn) => "backing",
        Some(Verdict::No) => "no",
        None => "plain",
    }
}

/// Symbol beside the words of a verdict, so that color is never the only sign.
const fn sign(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Comfortable => "\u{2713}",
        Verdict::Tight => "!",
        Verdict::OnlyBackingIn => "\u{21b6}",
        Verdict::No => "\u{2715}",
    }
}

/// Index of the vehicle that decides the width: the first with the largest need in comfort, a need that is not known being
/// larger than any.
fn deciding_vehicle(study: &Study) -> Option<usize> {
    let need = |of: &&VehicleNeed| of.comfortable_opening_m.unwrap_or(f64::INFINITY);
    let most = study.needs.iter().rev().max_by(|a, b| need(a).total_cmp(&need(b)))?;
    Some(most.vehicle)
}

/// The case of the deciding vehicle that the top of the page shows.
fn deciding_case(study: &Study, deciding: Option<usize>) -> Option<usize> {
    study.needs.iter().find(|need| Some(need.vehicle) == deciding)?.governed_by
}

/// The answer: verdict on the gate, the width that all vehicles need in large type, a picture, then each vehicle.
fn verdict(study: &Study, deciding: Option<usize>) -> Markup {
    let mut lines = verdicts(study);
    // One line per vehicle comes before the one on the gate.
    let first = study.needs.len().min(lines.len().saturating_sub(1));
    let overall = if lines.is_empty() { Line::plain("") } else { lines.remove(first) };
    let units = study.site.units;
    let all = study.needs.iter().map(|need| need.comfortable_opening_m).collect::<Option<Vec<f64>>>();
    let most = all.and_then(|needs| needs.into_iter().reduce(f64::max));
    let case = deciding_case(study, deciding);
    let figures = case.and_then(|index| Some((case_figures(study, index)?, study.cases.get(index)?)));
    html! {
        section class="answer" aria-labelledby="verdict" {
            h2 id="verdict" class="unseen" { "The verdict" }
            p class={ "verdict " (class(overall.verdict)) } {
                @if let Some(verdict) = overall.verdict {
                    span class="sign" aria-hidden="true" { (sign(verdict)) } " "
                }
                strong { (kept(&overall.text)) }
            }
            @for warning in gate_warning(study).into_iter().chain(sight_warning(study)) {
                p class="verdict tight" {
                    span class="sign" aria-hidden="true" { (sign(Verdict::Tight)) } " "
                    strong { (kept(&warning)) }
                }
            }
            dl class="widths" {
                div {
                    dt { "All vehicles need, in comfort, with the leaves as drawn" }
                    dd { (most.map_or_else(|| "not known".to_owned(), |m| kept(&show(m, units, Round::Up)))) }
                }
                div { dt { "The gate as drawn" } dd { (kept(&show_drawn(study.site.gate.opening_m(), units))) } }
            }
            @if let Some(plan) = &study.gate {
                p { strong { (kept(&order_answer(study, plan))) } @for remark in order_remarks(study, plan) { " " (kept(&remark)) } }
            }
            @if let Some((figures, case)) = figures {
                figure class="figures" {
                    (PreEscaped(figures.gate))
                    figcaption {
                        "At the gate as drawn, from above, the road below: the "
                        (study.vehicles.get(case.vehicle).map_or("vehicle", |v| v.title.as_str()))
                        ", " (way_in(study, case)) "."
                    }
                }
            }
            ul class="verdicts" {
                @for line in &lines {
                    li class=(class(line.verdict)) {
                        @if let Some(verdict) = line.verdict {
                            span class="sign" aria-hidden="true" { (sign(verdict)) } " "
                        }
                        (kept(&line.text))
                    }
                }
            }
        }
    }
}

/// The gate as drawn in sentences, with its leaves and the room to wait off the road for the vehicle that lacks most.
fn gate(study: &Study) -> Markup {
    let lines = gate_sentences(study);
    let waiting = study.gate.as_ref().and_then(GatePlan::hardest_waiting);
    let ordered = waiting.and_then(|index| ordered_figure(study, index));
    let shown = waiting.and_then(|index| Some((waiting_figure(study, index)?, study.vehicles.get(index)?)));
    html! {
        @if !lines.is_empty() {
            section aria-labelledby="gate" {
                h2 id="gate" { "The gate as drawn" }
                ul { @for line in lines { li { (kept(&line)) } } }
                @if let Some((picture, vehicle)) = shown {
                    figure class="figures" {
                        (PreEscaped(picture))
                        figcaption { "The gate as drawn, its leaves and waiting room: the " (vehicle.title) " waits for it." }
                    }
                }
                @if let Some(picture) = ordered {
                    figure class="figures" {
                        (PreEscaped(picture))
                        figcaption { "The gate to order in the same place." }
                    }
                }
            }
        }
    }
}

/// Links to the files that are written beside the page.
fn files(study: &Study) -> Markup {
    let schedule = study.gate.is_some().then_some((SCHEDULE_FILE, "every gate size with its hardware"));
    let files = [
        ("table.txt", "the answers in plain text"),
        ("results.json", "every number, for programs"),
        ("study.geojson", "paths and ground covered, for map programs"),
    ];
    html! {
        section aria-labelledby="files" {
            h2 id="files" { "Files beside this page" }
            ul class="files" {
                @for (name, what) in files.into_iter().chain(schedule) { li { a href=(name) { (name) } ": " (what) } }
            }
        }
    }
}

/// Section of sentences; empty without any.
fn told(id: &str, title: &str, lines: Vec<String>) -> Markup {
    html! {
        @if !lines.is_empty() {
            section aria-labelledby=(id) {
                h2 id=(id) { (title) }
                ul { @for line in lines { li { (kept(&line)) } } }
            }
        }
    }
}

/// Charts of the opening against setback and skew, if the study includes them.
fn charts(study: &Study) -> Markup {
    html! {
        @if !study.tradeoffs.is_empty() {
            section aria-labelledby="charts" {
                h2 id="charts" { "Opening against setback and skew" }
                @for tradeoff in &study.tradeoffs {
                    (PreEscaped(without_definitions(&tradeoff_svg(study, tradeoff))))
                }
            }
        }
    }
}

/// Drawing without its pattern definitions, which the page already has.
fn without_definitions(drawing: &str) -> String {
    match (drawing.find("<defs>"), drawing.find("</defs>")) {
        (Some(from), Some(to)) if from < to => {
            format!("{}{}", &drawing[..from], &drawing[to + "</defs>".len()..])
        }
        _ => drawing.to_owned(),
    }
}

/// Section on the gate to order: the short list, and behind it all sizes as in the text file beside this page. That
/// text is wider than a phone, so it scrolls sideways by itself.
fn schedule(study: &Study) -> Markup {
    let text = gate_schedule(study, PAGE_WIDTH);
    html! {
        @if let (Some(plan), Some(text)) = (&study.gate, text) {
            section aria-labelledby="order" {
                h2 id="order" { "The gate to order" }
                p { "Each arrangement, in the smallest stock size that serves every vehicle in comfort:" }
                table class="order" {
                    caption class="unseen" { "Gates to order, by arrangement" }
                    thead { tr { @for name in ORDER_COLUMNS { th scope="col" { (name) } } } }
                    tbody { @for row in order_rows(study, plan) { (order_row(&row)) } }
                }
                p class="small" { (ORDER_KEY) }
                details {
                    summary { "All sizes, weights, allowances and rules" }
                    div class="schedule" tabindex="0" role="region" aria-label="Gate schedule" { pre { (text) } }
                }
                p class="small" { "The same text is in " (SCHEDULE_FILE) "." }
            }
        }
    }
}

/// Section on what is seen of the road on leaving, where the study includes it: each rule with its drawing.
fn sight(study: &Study) -> Markup {
    let lines = sight_sentences(study);
    let shown = sight_shown(study);
    let figures: Vec<_> = shown.into_iter().filter_map(|(_, shown)| sight_figure(study, shown)).collect();
    let mut roles: Vec<Role> = figures.iter().flat_map(|figure| figure.roles.iter().copied()).collect();
    roles.sort_unstable();
    roles.dedup();
    html! {
        @if !lines.is_empty() {
            section aria-labelledby="sight" {
                h2 id="sight" { "Sight on leaving" }
                ul { @for line in lines { li { (kept(&line)) } } }
                @if !figures.is_empty() { (legend(&roles)) }
                @for figure in figures {
                    div class="figures" {
                        figure class="plan" {
                            (PreEscaped(figure.plan))
                            figcaption class="unseen" { (figure.description) }
                        }
                        figure class="plan" {
                            (PreEscaped(figure.near))
                            figcaption { "At the gate, from above, the road below." }
                        }
                    }
                }
            }
        }
    }
}

/// Row of the short list. Each cell carries its column's name, which is shown where the columns do not fit.
fn order_row(row: &[String; 7]) -> Markup {
    html! {
        tr {
            th scope="row" { (sentence_start(&row[0])) }
            @for (name, cell) in ORDER_COLUMNS.iter().zip(row).skip(1) {
                @if cell.is_empty() { td class="empty" {} } @else { td data-name=(name) { (kept(cell)) } }
            }
        }
    }
}

/// Indices of a vehicle's cases in the order of the table: by travel, then its drawn routes.
fn of_vehicle(study: &Study, vehicle: usize) -> Vec<usize> {
    let of = study.of_vehicle(vehicle);
    of.travels.into_iter().flat_map(|t| t.cases).chain(of.routes).collect()
}

fn table(study: &Study, stems: &[String]) -> Markup {
    let drawn = show_drawn(study.site.gate.opening_m(), study.site.units);
    html! {
        table {
            caption class="unseen" { "Openings needed, by vehicle and way in" }
            thead {
                tr {
                    th scope="col" { "Way in" }
                    th scope="col" { "Bare" }
                    th scope="col" { "Comfort\u{ad}able" }
                    th scope="col" { (drawn) " as drawn" }
                }
            }
            @for (index, vehicle) in study.vehicles.iter().enumerate() {
                tbody {
                    tr { th scope="rowgroup" colspan="4" class="vehicle" { (sentence_start(&vehicle.title)) } }
                    @for i in of_vehicle(study, index) {
                        @let case = &study.cases[i];
                        @let cells = row(study, case);
                        tr class=(class(Some(case.drawn_gate.into()))) {
                            th scope="row" { a href={ "#" (stems[i]) } { (way_in(study, case)) } }
                            td { (cells[1]) }
                            td { (cells[2]) }
                            td class="gate" {
                                span class="sign" aria-hidden="true" { (sign(case.drawn_gate.into())) } " "
                                (cells[3].replace("comfortable", "comfort\u{ad}able"))
                            }
                        }
                    }
                }
            }
        }
        @if let Some(words) = star_words(study) { p class="small" { (words) } }
    }
}

/// Name of a way in: "eastbound, driving in", or the name of a drawn route.
fn way_in(study: &Study, case: &Case) -> String {
    match &case.route {
        Some(label) => format!("along \"{label}\""),
        None => format!("{}, {}", case.travel, way_words(study, case)),
    }
}

fn legend(roles: &[Role]) -> Markup {
    html! {
        ul class="legend" aria-label="Legend" {
            @for (picture, words) in legend_entries(roles) { li { (PreEscaped(picture)) " " (words) } }
        }
    }
}

/// Section of all cases by vehicle, the deciding one first and the others folded, and the roles that their drawings show.
fn cases(study: &Study, stems: &[String], deciding: Option<usize>) -> (Markup, Vec<Role>) {
    let mut roles: Vec<Role> = Vec::new();
    let mut order: Vec<usize> = (0..study.vehicles.len()).collect();
    order.sort_by_key(|index| Some(*index) != deciding);
    let top = deciding_case(study, deciding);
    let mut of = |index: usize| {
        html! {
            @for i in of_vehicle(study, index) { (case(study, i, &stems[i], top == Some(i), &mut roles)) }
            @for of_it in study.turns.iter().filter(|turn| turn.vehicle == index) { (turn(study, of_it, &mut roles)) }
        }
    };
    let page = html! {
        @for (place, index) in order.into_iter().enumerate() {
            @let title = sentence_start(&study.vehicles[index].title);
            @if place == 0 {
                h3 { (title) }
                (of(index))
            } @else {
                details class="vehicle" {
                    summary { h3 { (title) } }
                    (of(index))
                }
            }
        }
    };
    roles.sort_unstable();
    roles.dedup();
    (page, roles)
}

/// A way in; its picture of the gate is left out where it stands at the top of the page.
fn case(study: &Study, index: usize, stem: &str, on_top: bool, roles: &mut Vec<Role>) -> Markup {
    let case = &study.cases[index];
    let figures = case_figures(study, index);
    roles.extend(figures.iter().flat_map(|f| f.roles.iter().copied()));
    let way = way(study, case);
    html! {
        article class="case" id=(stem) aria-labelledby={ (stem) "-name" } {
            h4 id={ (stem) "-name" } { (sentence_start(&way_in(study, case))) }
            p {
                (kept(&case_sentence(study, case))) " "
                @if let Some(over) = other_half_words(study, case) { (kept(&over)) " " }
                a class="beside" href={ (stem) ".svg" } { "Drawing" } }
            @if let Some(figures) = figures {
                div class="figures" {
                    div class="played" {
                        figure class="plan" {
                            (PreEscaped(figures.plan))
                            figcaption class="unseen" { (figures.description) }
                        }
                        @if let Some(way) = way { (player(&way, stem)) }
                    }
                    div class="gate" {
                        @if !on_top {
                            figure {
                                (PreEscaped(figures.gate))
                                figcaption { "At the gate, from above, the road below." }
                            }
                        }
                        @if let Some(narrowest) = figures.narrowest {
                            figure class="narrowest" {
                                (PreEscaped(narrowest))
                                figcaption { "The narrowest opening found, on a path of its own." }
                            }
                        }
                    }
                }
            }
            @if let Some(driving) = of_case(study, index) { (card(study, driving)) }
        }
    }
}

/// Driving steps: numbered, with the clearance they keep and their tolerance.
fn card(study: &Study, driving: &Driving) -> Markup {
    let steps = driving_words(study, driving);
    html! {
        div class="steps" {
            h5 { "How to drive it through the gate as drawn" }
            @if let Some(card) = &driving.card {
                @if let Some(over) = card_traffic_words(study, driving) { p { (kept(&over)) } }
                ol { @for step in &steps { li { (kept(step)) } } }
                p { (kept(&kept_words(study, card))) " " a class="beside" href=(driving_file(study, driving)) { "Card with a plan" } }
            } @else {
                p { (NO_STEPS) }
            }
            @for line in window_lines(study, driving) { p class="small" { (kept(&line)) } }
        }
    }
}

/// Figure of a turn inside that was found; it is not animated.
fn turn(study: &Study, turn: &Turn, roles: &mut Vec<Role>) -> Markup {
    let Some(figure) = turn_figure(study, turn) else { return html! {} };
    roles.extend(figure.roles);
    let id = format!("{}-name", super::turn_file(study, turn).trim_end_matches(".svg"));
    html! {
        article class="case turn" aria-labelledby=(id) {
            h4 id=(id) { (sentence_start(&turn.travel)) ", turning around inside" }
            p { (sentence_start(&figure.name)) ". " (kept(&figure.answer)) }
            div class="figures" {
                figure class="plan" {
                    (PreEscaped(figure.plan))
                    figcaption class="unseen" { (figure.description) }
                }
            }
        }
    }
}

/// Controls of the animation; hidden until the script is ready to respond to them.
fn player(way: &Value, stem: &str) -> Markup {
    let poses = way["poses"].as_array().map_or(0, Vec::len);
    let towed = way["towed"].as_array().into_iter().flatten().filter_map(Value::as_str);
    html! {
        div class="player" hidden role="group" aria-label="Move the vehicle" {
            div class="buttons" {
                button type="button" class="play" { "Play" }
                button type="button" class="tightest" { "Tightest place" }
            }
            label for={ (stem) "-slider" } { "Along the way" }
            input id={ (stem) "-slider" } type="range" min="0" max=(poses.saturating_sub(1)) step="1" value="0";
            dl class="readout" {
                div { dt { "Driven" } dd class="way" {} }
                div { dt { "Front wheels" } dd class="steer" {} }
                @for name in towed { div { dt { (sentence_start(name)) " hitch" } dd class="hitch" {} } }
                div class="wide" { dt { "Nearest" } dd class="nearest" {} }
            }
            p class="said unseen" role="status" {}
            script type="application/json" class="poses" { (PreEscaped(script_json(way))) }
        }
    }
}

/// JSON that is safe in a script element whatever texts it holds: no character that could end the element, begin a
/// comment or an entity, or end a line of script.
fn script_json(value: &Value) -> String {
    let mut safe = String::new();
    for c in value.to_string().chars() {
        match c {
            '<' | '>' | '&' | '\u{2028}' | '\u{2029}' => {
                safe.push_str(&format!("\\u{:04x}", u32::from(c)));
            }
            c => safe.push(c),
        }
    }
    safe
}
