//! The key of a chart, and the names of the directions of travel that take most along its lines.
use super::labels::{Placer, Rect, TEXT_SIZE, text_width, wrap};
use super::scene::{PAGE_MARGIN, PANEL_WIDTH};
use super::style::{INK, SERIES};
use super::svg::text_node;
use super::texts::block_line;
use super::tradeoff::{ChartText, Drawn, ROW, line, mark, ring};
use crate::geometry::Point;
use crate::geometry::length::show_kept;
use crate::opening::{Axis, Series, Study, Tradeoff};
use svg::Node;
use svg::node::element::Group;

/// Width of a sample, and where its words begin.
const SAMPLE: f64 = 44.0;
const WORDS: f64 = 56.0;
/// Farthest a name of a direction may stand from its line.
const FARTHEST: f64 = 120.0;

/// Part of a chart with an entry of its own.
enum Part {
    Line { series: usize, comfortable: bool },
    Ring,
    AsDrawn,
}

/// The key from a y on: an entry for each kind of line and mark, then one for each vehicle; also its height.
pub(super) fn key(study: &Study, tradeoff: &Tradeoff, top: f64) -> (Group, f64) {
    let kept = show_kept(study.clearance_m, study.site.units);
    let measure = match tradeoff.axis {
        Axis::Setback => "setback",
        Axis::Skew => "turn",
    };
    let mut entries = vec![
        (
            Part::Line { series: 0, comfortable: true },
            format!("comfortable: {kept} kept from everything that stands"),
        ),
        (
            Part::Line { series: 0, comfortable: false },
            "bare minimum: touches nothing, keeps no clearance".to_owned(),
        ),
        (Part::Ring, "the gate as drawn".to_owned()),
        (Part::AsDrawn, format!("its opening, and its {measure}")),
    ];
    for (series, of) in tradeoff.series.iter().enumerate() {
        let title = study.vehicles.get(of.vehicle).map_or("vehicle", |v| v.title.as_str());
        entries.push((Part::Line { series, comfortable: true }, title.to_owned()));
    }
    let (mut group, mut y) = (Group::new().set("class", "key"), top);
    for (part, words) in entries {
        let (a, b) =
            (Point::new(PAGE_MARGIN, y + 0.5 * ROW), Point::new(PAGE_MARGIN + SAMPLE, y + 0.5 * ROW));
        let middle = (a + b) * 0.5;
        match part {
            Part::Line { series, comfortable } => {
                let (color, dash) = SERIES[series % SERIES.len()];
                group.append(line(a, b, color, if comfortable { 3.2 } else { 1.6 }, dash));
                group.append(mark(series, middle, color, comfortable));
            }
            Part::Ring => group.append(ring(middle)),
            Part::AsDrawn => group.append(line(a, b, INK, 1.6, "2 4")),
        }
        for row in wrap(&words, TEXT_SIZE, false, PANEL_WIDTH - WORDS) {
            let at = Point::new(PAGE_MARGIN + WORDS, y + 0.5 * ROW + 0.36 * TEXT_SIZE);
            group.append(text_node(&row, at, TEXT_SIZE, false, false));
            y += ROW;
        }
    }
    (group, y - top)
}

/// The names of the directions that take most, for the vehicle that needs most, if its hardest direction changes along the
/// chart: at its first point and at each change, with the point of the line it stands for. Those of several vehicles side
/// by side could not be told apart. `place` returns where a need of a sampled value is drawn.
pub(super) fn directions(
    study: &Study,
    tradeoff: &Tradeoff,
    plot: &Rect,
    (lines, drawn): (&[Drawn], Point),
    place: &dyn Fn(usize, f64) -> Point,
) -> Vec<(Point, ChartText)> {
    let mut placer = Placer::new(plot.x1 + 8.0, plot.y1 + 8.0);
    placer.block(Rect::around(drawn, 22.0, 22.0));
    for pair in lines.iter().flat_map(|l| &l.stretches).flat_map(|s| s.windows(2)) {
        block_line(&mut placer, pair[0], pair[1], 8.0);
    }
    let mut said = Vec::new();
    let most_m = |series: &Series| {
        series.comfortable_m.iter().zip(&series.bare_m).filter_map(|(c, b)| c.or(*b)).fold(0.0, f64::max)
    };
    let widest = tradeoff.series.iter().rev().max_by(|a, b| most_m(a).total_cmp(&most_m(b)));
    let Some(series) = widest else { return said };
    let needs = series.comfortable_m.iter().zip(&series.bare_m).map(|(c, b)| c.or(*b));
    let known: Vec<(usize, f64, &str)> = needs
        .zip(&series.governed_by)
        .enumerate()
        .filter_map(|(i, (need, case))| Some((i, need?, study.cases.get((*case)?)?.travel.as_str())))
        .collect();
    let mut turns: Vec<(Point, &str)> = Vec::new();
    for (i, need, travel) in known {
        if turns.last().is_none_or(|(_, last)| *last != travel) {
            turns.push((place(i, need), travel));
        }
    }
    if turns.len() < 2 {
        return said;
    }
    for (at, travel) in turns {
        let size = (text_width(travel, TEXT_SIZE, false), ROW);
        let within = |rect: &Rect, _: Point| plot.holds(rect).then_some(0.0);
        if let Some((_, rect)) = placer.place(&[at], size, (6.0, FARTHEST), within) {
            placer.text(rect);
            said.push((at, ChartText { rect, lines: vec![travel.to_owned()], strong: false }));
        }
    }
    said
}
