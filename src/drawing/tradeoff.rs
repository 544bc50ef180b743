//! A chart of the opening against setback or skew: lines for each vehicle, the gate as drawn, and advice.
//!
//! Vehicles differ in dash and mark as well as in color, and each line is labeled at its end with its vehicle; heavy
//! lines with filled marks are comfortable, light ones with open marks bare. A line has a gap where no way in was
//! found. Where another direction of travel becomes the one that takes most, its name stands beside the line.
use super::case::CAUTION;
use super::chart_key;
use super::curve::{number, path_data};
use super::labels::{Rect, TEXT_SIZE, text_width, wrap};
use super::scene::{PAGE_MARGIN, PAGE_WIDTH, PANEL_WIDTH};
use super::style::{self, INK, SERIES};
use super::svg::{document, label_lines, text_node};
use crate::geometry::length::{FOOT_M, INCH_M, Round, Units, show, show_drawn};
use crate::geometry::{Point, Pose};
use crate::opening::{Axis, Series, Study, Tradeoff};
use svg::Node;
use svg::node::element::{Circle, Group, Line, Path};

/// Height of the plot, and the room left of it for the numbers of its axis.
const PLOT_HEIGHT: f64 = 380.0;
const AXIS_ROOM: f64 = 80.0;
/// Most room right of the plot for the names of the lines.
const MOST_NAMES: f64 = 216.0;
/// Half the size of a mark.
const MARK: f64 = 5.5;
/// Radius of the ring about the gate as drawn, with the pen.
const RING: f64 = 11.0;
/// Height of a line of text.
pub(super) const ROW: f64 = TEXT_SIZE * 1.25;
/// Least saving of the opening that is worth an effort: 2 inches.
const WORTH_DOING_M: f64 = 2.0 * INCH_M;
/// Saving that further change may still bring where a sentence says that it saves no more: an inch.
const NO_MORE_M: f64 = INCH_M;

/// A text on a chart and the box it fills, page units.
#[derive(Clone, Debug, PartialEq)]
pub struct ChartText {
    /// The box.
    pub rect: Rect,
    /// Its lines.
    pub lines: Vec<String>,
    /// True if it is heavy.
    pub strong: bool,
}

/// A line of a chart: its vehicle, and its stretches without gaps, page units.
pub(super) struct Drawn {
    pub(super) series: usize,
    pub(super) comfortable: bool,
    pub(super) stretches: Vec<Vec<Point>>,
}

/// The layout of a chart: positions of all its parts.
pub struct Chart {
    texts: Vec<ChartText>,
    /// From the end of a line to its name.
    leaders: Vec<(Point, Point)>,
    lines: Vec<Drawn>,
    /// From a line to the name of the direction that takes most from there on.
    turns: Vec<(Point, Point)>,
    grid: Vec<(Point, Point)>,
    as_drawn: [(Point, Point); 2],
    mark: Point,
    plot: Rect,
    height: f64,
}

impl Chart {
    /// The texts in and about the plot, none of which meets another.
    #[must_use]
    pub fn texts(&self) -> &[ChartText] {
        &self.texts
    }
}

/// The chart of one trade-off of a study as SVG.
#[must_use]
pub fn tradeoff_svg(study: &Study, tradeoff: &Tradeoff) -> String {
    let (title, advice) = (title(study, tradeoff), advice(study, tradeoff));
    let mut body = Group::new();
    let mut y = PAGE_MARGIN;
    for (text, size, strong) in [(title.as_str(), 27.0, true), (advice.as_str(), 21.0, true)] {
        for line in wrap(text, size, strong, PANEL_WIDTH) {
            y += size * 1.3;
            body = body.add(text_node(&line, Point::new(PAGE_MARGIN, y - 0.3 * size), size, strong, false));
        }
    }
    let chart = chart(study, tradeoff, y + 6.0);
    body = body.add(plot(&chart));
    y = chart.height + 6.0;
    let (key, height) = chart_key::key(study, tradeoff, y);
    body = body.add(key);
    y += height;
    let mut gaps = "A gap: no way in was found, or no gate can stand so. Drives stay as they are.".to_owned();
    if !chart.turns.is_empty() {
        gaps.push_str(" Beside the line of the vehicle that needs most: the direction that takes most from there on, to the right.");
    }
    for note in [gaps.as_str(), CAUTION] {
        for line in wrap(note, TEXT_SIZE, false, PANEL_WIDTH) {
            y += TEXT_SIZE * 1.3;
            body = body.add(text_node(&line, Point::new(PAGE_MARGIN, y - 6.0), TEXT_SIZE, false, false));
        }
        y += 6.0;
    }
    document(&title, &format!("{title}. {advice}"), (PAGE_WIDTH, (y + PAGE_MARGIN).ceil()), body)
}

fn title(study: &Study, tradeoff: &Tradeoff) -> String {
    let axis = match tradeoff.axis {
        Axis::Setback => "setback",
        Axis::Skew => "the turn of the gate line",
    };
    format!("{}: the opening against {axis}", study.site.title)
}

/// Advice in one sentence, computed from the chart: the opening all vehicles need in comfort (bare, if there is no
/// comfortable path for all), as drawn and at the place from which on nothing more is saved.
#[must_use]
pub fn advice(study: &Study, tradeoff: &Tradeoff) -> String {
    let units = study.site.units;
    let comfort = all_need(tradeoff, |s| &s.comfortable_m);
    let drawn_at = tradeoff.at.iter().position(|v| *v == tradeoff.drawn);
    let as_drawn = |needs: &[Option<f64>]| drawn_at.and_then(|i| needs[i]);
    let (needs, how) = if as_drawn(&comfort).is_some() {
        (comfort, "in comfort")
    } else {
        (all_need(tradeoff, |s| &s.bare_m), "at the very least")
    };
    let Some(now) = as_drawn(&needs) else {
        return "As drawn no way in is known for every vehicle, so there is nothing to compare with."
            .to_owned();
    };
    let found = || tradeoff.at.iter().zip(&needs).filter_map(|(at, need)| Some((*at, (*need)?)));
    let value = |at: f64| value_words(tradeoff.axis, at, units);
    // Setback costs room, so the nearest value that helps is best; a turn may go in either direction.
    let least = found().map(|(_, need)| need).fold(now, f64::min);
    let away = |at: f64| (at - tradeoff.drawn).abs();
    let best = found()
        .filter(|(_, need)| *need <= least + NO_MORE_M)
        .min_by(|a, b| away(a.0).total_cmp(&away(b.0)))
        .filter(|(_, need)| now - need >= WORTH_DOING_M);
    let length = |m: f64| show(m, units, Round::Up);
    let opening = study.site.gate.opening_m();
    let gate = show(opening, units, Round::Nearest);
    let Some((at, need)) = best else {
        let none = match tradeoff.axis {
            Axis::Setback => "More setback makes",
            Axis::Skew => "Turning the gate line makes",
        };
        let mut text = format!(
            "{none} the opening no narrower than the {} that all vehicles need {how} as drawn",
            length(now)
        );
        // The reserve in the other direction: how near to the road the gate as drawn is still wide enough.
        let nearest =
            tradeoff.at.iter().zip(&needs).rev().take_while(|(_, need)| need.is_some_and(|m| m <= opening));
        if let (Axis::Setback, Some((at, _))) = (tradeoff.axis, nearest.last())
            && *at < tradeoff.drawn - 0.01
        {
            text.push_str(&format!("; the {gate} gate does as near to the road as {}", value(*at)));
        }
        text.push('.');
        return text;
    };
    let saves = show(now - need, units, Round::Down);
    let (doing, from) = match tradeoff.axis {
        Axis::Setback if at > tradeoff.drawn => {
            let by = show(at - tradeoff.drawn, units, Round::Nearest);
            (format!("Moving the gate line {by} back"), format!("a setback of {}", value(at)))
        }
        Axis::Setback => {
            let by = show(tradeoff.drawn - at, units, Round::Nearest);
            (format!("Moving the gate line {by} toward the road"), format!("a setback of {}", value(at)))
        }
        Axis::Skew => {
            let turn = (at - tradeoff.drawn).to_degrees();
            let post = if turn > 0.0 { "left" } else { "right" };
            let doing =
                format!("Turning the gate line {:.0}\u{b0}, its {post} post toward the road,", turn.abs());
            (doing, format!("a skew of {}", value(at)))
        }
    };
    let mut text = format!(
        "{doing} is worth as much as an opening {saves} wider: at {from} all vehicles need {} {how} instead of {}",
        length(need),
        length(now)
    );
    if now > opening && need <= opening {
        text.push_str(&format!("; the {gate} gate as drawn is wide enough for that"));
        // The least change that is enough, where it is less than the one worth most.
        let enough =
            found().filter(|(v, need)| *need <= opening && (*v > tradeoff.drawn) == (at > tradeoff.drawn));
        let enough = enough.map(|(v, _)| v).min_by(|a, b| away(*a).total_cmp(&away(*b)));
        if let Some(enough) = enough.filter(|enough| away(*enough) < away(at) - 1e-9) {
            text.push_str(&format!(", and at {} already", value(enough)));
        }
    }
    text.push('.');
    text
}

fn all_need(tradeoff: &Tradeoff, pick: impl Fn(&Series) -> &Vec<Option<f64>>) -> Vec<Option<f64>> {
    let worst = |i: usize| {
        let mut worst = None;
        for series in &tradeoff.series {
            let need = pick(series)[i]?;
            worst = Some(f64::max(worst.unwrap_or(need), need));
        }
        worst
    };
    (0..tradeoff.at.len()).map(worst).collect()
}

fn value_words(axis: Axis, at: f64, units: Units) -> String {
    match axis {
        Axis::Setback => show(at, units, Round::Nearest),
        // Not "-0".
        Axis::Skew => format!("{:.0}\u{b0}", at.to_degrees().round() + 0.0),
    }
}

/// One unit of a chart's axis of lengths, and its sign after the axis's name, where the numbers carry none.
const fn unit(units: Units) -> (f64, &'static str) {
    match units {
        Units::Feet => (FOOT_M, ""),
        Units::Meters => (1.0, ", m"),
    }
}

/// Ticks at multiples of a round step, about `count` of them, from below `low` to above `high`.
fn ticks(low: f64, high: f64, count: f64) -> (f64, Vec<f64>) {
    let rough = ((high - low) / count).max(1e-9);
    // Quarters and halves of a foot are whole inches.
    let steps = [0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
    let step = steps.into_iter().find(|s| *s >= rough).unwrap_or(100.0);
    let (from, to) = ((low / step).floor(), (high / step).ceil());
    let mut list = Vec::new();
    let mut i = from;
    while i <= to {
        list.push(i * step);
        i += 1.0;
    }
    (step, list)
}

/// Lays the chart out with its top at `top`.
#[must_use]
pub fn chart(study: &Study, tradeoff: &Tradeoff, top: f64) -> Chart {
    let units = study.site.units;
    let (meters, sign) = unit(units);
    let names = |s: &Series, comfortable: bool| {
        let name = study.vehicles.get(s.vehicle).map_or("vehicle", |v| v.title.as_str());
        if comfortable { name.to_owned() } else { format!("{name}, bare") }
    };
    // The names' column is as wide as its widest word allows, within reason; longer names are broken.
    let widest =
        tradeoff.series.iter().map(|s| text_width(&names(s, false), TEXT_SIZE, true)).fold(110.0, f64::max);
    let names_width = widest.min(MOST_NAMES);
    let plot = Rect {
        x0: PAGE_MARGIN + AXIS_ROOM,
        y0: top + 2.0 * ROW + RING,
        x1: PAGE_WIDTH - PAGE_MARGIN - names_width - 24.0,
        y1: top + 2.0 * ROW + RING + PLOT_HEIGHT,
    };
    let drawn_opening = study.site.gate.opening_m() / meters;
    let across = |at: f64| match tradeoff.axis {
        Axis::Setback => at / meters,
        Axis::Skew => at.to_degrees(),
    };
    let openings = || tradeoff.series.iter().flat_map(|s| s.bare_m.iter().chain(&s.comfortable_m)).flatten();
    let low = openings().fold(drawn_opening, |low, m| low.min(m / meters));
    let high = openings().fold(drawn_opening, |high, m| high.max(m / meters));
    let (y_step, y_ticks) = ticks(low - 0.02 * (high - low), high.max(low + 0.5), 7.0);
    let (y_low, y_high) = (y_ticks[0], y_ticks[y_ticks.len() - 1]);
    let x_of: Vec<f64> = tradeoff.at.iter().map(|v| across(*v)).collect();
    let (x_low, x_high) = (x_of[0], x_of[x_of.len() - 1]);
    let (x_step, x_ticks) = ticks(x_low, x_high, 7.0);
    let x = |v: f64| plot.x0 + (v - x_low) / (x_high - x_low).max(1e-9) * (plot.x1 - plot.x0);
    let y = |v: f64| plot.y1 - (v - y_low) / (y_high - y_low) * (plot.y1 - plot.y0);
    let mut texts = Vec::new();
    let mut grid = Vec::new();
    let mut say =
        |text: String, rect: Rect, strong: bool| texts.push(ChartText { rect, lines: vec![text], strong });
    for v in &y_ticks {
        let (text, at) = (tick_words(*v, y_step, Some(units)), y(*v));
        let width = text_width(&text, TEXT_SIZE, false);
        say(
            text,
            Rect { x0: plot.x0 - 8.0 - width, y0: at - 0.5 * ROW, x1: plot.x0 - 8.0, y1: at + 0.5 * ROW },
            false,
        );
        grid.push((Point::new(plot.x0, at), Point::new(plot.x1, at)));
    }
    for v in x_ticks.iter().filter(|v| **v >= x_low - 1e-9 && **v <= x_high + 1e-9) {
        let (degree, length_in) =
            if tradeoff.axis == Axis::Skew { ("\u{b0}", None) } else { ("", Some(units)) };
        let (text, at) = (format!("{}{degree}", tick_words(*v, x_step, length_in)), x(*v));
        let width = text_width(&text, TEXT_SIZE, false);
        say(text, Rect::around(Point::new(at, plot.y1 + ROW + 2.0), width, ROW), false);
        grid.push((Point::new(at, plot.y0), Point::new(at, plot.y1)));
    }
    let below = match tradeoff.axis {
        Axis::Setback => format!("setback{sign}"),
        Axis::Skew => "turn (above 0\u{b0}: left post toward the road)".to_owned(),
    };
    let width = text_width(&below, TEXT_SIZE, false);
    let middle = (0.5 * (plot.x0 + plot.x1)).max(PAGE_MARGIN + 0.5 * width);
    say(below, Rect::around(Point::new(middle, plot.y1 + 2.0 * ROW + 4.0), width, ROW), false);
    let above = format!("opening{sign}");
    let width = text_width(&above, TEXT_SIZE, false);
    say(above, Rect { x0: PAGE_MARGIN, y0: top, x1: PAGE_MARGIN + width, y1: top + ROW }, false);
    let drawn_x = x(across(tradeoff.drawn));
    let as_drawn = format!("as drawn {}", value_words(tradeoff.axis, tradeoff.drawn, units));
    let width = text_width(&as_drawn, TEXT_SIZE, true);
    let middle = drawn_x.clamp(PAGE_MARGIN + 0.5 * width, PAGE_WIDTH - PAGE_MARGIN - 0.5 * width);
    say(as_drawn, Rect::around(Point::new(middle, top + 1.5 * ROW), width, ROW), true);

    let mut lines = Vec::new();
    let mut ends: Vec<(Point, String, bool)> = Vec::new();
    for (index, series) in tradeoff.series.iter().enumerate() {
        for (comfortable, needs) in [(false, &series.bare_m), (true, &series.comfortable_m)] {
            let mut stretches: Vec<Vec<Point>> = Vec::new();
            let mut open = false;
            for (v, need) in x_of.iter().zip(needs) {
                match need {
                    Some(m) => {
                        if !open {
                            stretches.push(Vec::new());
                        }
                        let at = Point::new(x(*v), y(m / meters));
                        stretches.last_mut().into_iter().for_each(|s| s.push(at));
                        open = true;
                    }
                    None => open = false,
                }
            }
            if let Some(end) = stretches.last().and_then(|s| s.last()) {
                ends.push((*end, names(series, comfortable), comfortable));
            }
            lines.push(Drawn { series: index, comfortable, stretches });
        }
    }
    let level = y(drawn_opening);
    let gate = format!("as drawn, {}", show_drawn(study.site.gate.opening_m(), units));
    ends.push((Point::new(plot.x1, level), gate, true));
    let column = Rect { x0: plot.x1 + 22.0, x1: PAGE_WIDTH - PAGE_MARGIN, ..plot };
    let placed = column_of(ends, column);
    let leaders = placed
        .iter()
        .map(|(end, text)| (*end, Point::new(text.rect.x0 - 3.0, text.rect.middle().y)))
        .collect();
    texts.extend(placed.into_iter().map(|(_, text)| text));
    let lowest = texts.iter().map(|t| t.rect.y1).fold(plot.y1, f64::max);
    let as_drawn = [
        (Point::new(drawn_x, plot.y0 - 4.0), Point::new(drawn_x, plot.y1)),
        (Point::new(plot.x0, level), Point::new(plot.x1, level)),
    ];
    let mark = Point::new(drawn_x, level);
    let places = |i: usize, opening_m: f64| Point::new(x(x_of[i]), y(opening_m / meters));
    let said = chart_key::directions(study, tradeoff, &plot, (&lines, mark), &places);
    let turns = said.iter().map(|(at, text)| (*at, text.rect.nearest(*at))).collect();
    texts.extend(said.into_iter().map(|(_, text)| text));
    Chart { texts, leaders, lines, turns, grid, as_drawn, mark, plot, height: lowest }
}

/// A tick's number: a length as the plan writes it, an angle in degrees.
fn tick_words(v: f64, step: f64, length_in: Option<Units>) -> String {
    let v = v + 0.0;
    match length_in {
        Some(Units::Feet) => show(v * FOOT_M, Units::Feet, Round::Nearest),
        _ if step < 1.0 => format!("{v:.2}"),
        _ => format!("{:.0}", v.round() + 0.0),
    }
}

/// The names at the right, each as near the height of its line's end as the others permit.
fn column_of(mut ends: Vec<(Point, String, bool)>, column: Rect) -> Vec<(Point, ChartText)> {
    ends.sort_by(|a, b| a.0.y.total_cmp(&b.0.y).then_with(|| a.1.cmp(&b.1)));
    let mut placed: Vec<(Point, ChartText)> = ends
        .into_iter()
        .map(|(end, name, strong)| {
            let lines = label_lines(&name, strong, column.x1 - column.x0);
            let width = lines.iter().map(|l| text_width(l, TEXT_SIZE, strong)).fold(0.0, f64::max);
            let height = lines.iter().map(|_| ROW).sum::<f64>();
            let x1 = (column.x0 + width).min(column.x1);
            let rect = Rect { x0: column.x0, y0: end.y - 0.5 * height, x1, y1: end.y + 0.5 * height };
            (end, ChartText { rect, lines, strong })
        })
        .collect();
    // First move names down off the ones above, then up from the bottom of the column.
    let mut free = column.y0 - ROW;
    for (_, text) in &mut placed {
        let down = (free - text.rect.y0).max(0.0);
        text.rect = Rect { y0: text.rect.y0 + down, y1: text.rect.y1 + down, ..text.rect };
        free = text.rect.y1 + 1.0;
    }
    let mut floor = (column.y1 + ROW)
        .max(column.y0 - ROW + placed.iter().map(|p| p.1.rect.y1 - p.1.rect.y0 + 1.0).sum::<f64>());
    for (_, text) in placed.iter_mut().rev() {
        let up = (text.rect.y1 - floor).max(0.0);
        text.rect = Rect { y0: text.rect.y0 - up, y1: text.rect.y1 - up, ..text.rect };
        floor = text.rect.y0 - 1.0;
    }
    placed
}

pub(super) fn line(a: Point, b: Point, color: &str, width: f64, dash: &str) -> Line {
    let mut line = Line::new()
        .set("x1", number(a.x))
        .set("y1", number(a.y))
        .set("x2", number(b.x))
        .set("y2", number(b.y))
        .set("stroke", color)
        .set("stroke-width", number(width));
    if !dash.is_empty() {
        line = line.set("stroke-dasharray", dash);
    }
    line
}

fn plot(chart: &Chart) -> Group {
    let mut group = Group::new();
    for (a, b) in &chart.grid {
        group = group.add(line(*a, *b, "#d4d2cd", 1.0, ""));
    }
    let corner = [
        Point::new(chart.plot.x0, chart.plot.y0),
        Point::new(chart.plot.x0, chart.plot.y1),
        Point::new(chart.plot.x1, chart.plot.y1),
    ];
    let axes = Path::new().set("d", path_data(&corner, false, false)).set("fill", "none");
    group = group.add(axes.set("stroke", INK).set("stroke-width", "1.4"));
    for (a, b) in chart.as_drawn {
        group = group.add(line(a, b, INK, 1.6, "2 4"));
    }
    for (end, name) in &chart.leaders {
        group = group.add(line(*end, *name, "#8a8883", 0.8, ""));
    }
    for (from, to) in chart.turns.iter().filter(|(from, to)| from.distance(*to) > 2.0 * MARK) {
        group = group.add(line(*from, *to, "#8a8883", 0.8, ""));
    }
    for drawn in &chart.lines {
        let (color, dash) = SERIES[drawn.series % SERIES.len()];
        let width = if drawn.comfortable { 3.2 } else { 1.6 };
        for stretch in &drawn.stretches {
            let mut path = Path::new()
                .set("d", path_data(stretch, false, false))
                .set("fill", "none")
                .set("stroke", color)
                .set("stroke-width", number(width))
                .set("stroke-linejoin", "round");
            if !dash.is_empty() {
                path = path.set("stroke-dasharray", dash);
            }
            group = group.add(path);
            for at in stretch {
                group.append(mark(drawn.series, *at, color, drawn.comfortable));
            }
        }
    }
    group = group.add(ring(chart.mark));
    for text in &chart.texts {
        let mut top = text.rect.y0;
        for words in &text.lines {
            let at = Point::new(text.rect.x0, top + 0.5 * ROW + 0.36 * TEXT_SIZE);
            group = group.add(text_node(words, at, TEXT_SIZE, text.strong, false));
            top += ROW;
        }
    }
    group
}

/// The ring about the gate as drawn.
pub(super) fn ring(at: Point) -> Circle {
    let contact = style::of(super::scene::Role::Contact);
    let ring = Circle::new().set("cx", number(at.x)).set("cy", number(at.y)).set("r", "9");
    ring.set("fill", "none").set("stroke", contact.stroke).set("stroke-width", number(contact.width))
}

/// The mark of a vehicle's points: square, triangle, diamond, disc, or an inverted triangle; filled in comfort.
pub(super) fn mark(series: usize, at: Point, color: &str, filled: bool) -> Path {
    let (corners, turn): (u32, f64) = [(4, 45.0), (3, -90.0), (4, 0.0), (12, 0.0), (3, 90.0)][series % 5];
    let radius = if corners == 3 { 1.35 * MARK } else { 1.15 * MARK };
    let corner = |i: u32| {
        let angle = turn.to_radians() + std::f64::consts::TAU * f64::from(i) / f64::from(corners);
        Pose { position: at, heading: angle }.to_site(Point::new(radius, 0.0))
    };
    let outline: Vec<Point> = (0..corners).map(corner).collect();
    Path::new()
        .set("d", path_data(&outline, true, false))
        .set("fill", if filled { color } else { "#ffffff" })
        .set("stroke", color)
        .set("stroke-width", "1.6")
}
