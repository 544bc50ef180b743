//! Drawing of a sight rule: the triangles that must be clear, what is hidden of the road, and the gate close up.
use super::case::CAUTION;
use super::figure::{FIGURE_WIDTH, standing};
use super::labels::TEXT_SIZE;
use super::page::{GAP, HEADING, Split, area, caution, split, with_rest};
use super::paper::{Block, Page, Paper, Scale, TEXT, TextLine, legend_height, view_at_scale};
use super::scene::{Geom, Item, Label, PANEL_WIDTH, Panel, Role, Sheet, View};
use super::shapes::ground_items;
use super::sheets::roles;
use super::sight_words::{
    SIGHT_AUTHORITY, largest, sight_road_answer, sight_road_words, sight_walk_answer, sight_walk_words,
};
use super::site_names::site_labels;
use super::{gate, panel};
use crate::geometry::Point;
use crate::geometry::length::{Round, show};
use crate::opening::{DrawnGate, Study};
use crate::sight::{Hider, LookOutcome, RoadFinding, WalkFinding, first_of, ground_between, merged};

/// Finding of a sight rule to draw: a rule on the road, or one on pedestrians.
#[derive(Clone, Copy, Debug)]
pub enum SightShown<'a> {
    /// A rule on the road.
    Road(&'a RoadFinding),
    /// A rule on pedestrians.
    Walk(&'a WalkFinding),
}

/// Sight rules of a study that have something to draw, each with its name.
#[must_use]
pub fn sight_shown(study: &Study) -> Vec<(&'static str, SightShown<'_>)> {
    let Some(plan) = &study.sight else { return Vec::new() };
    let roads = plan.roads.iter().filter(|finding| finding.looks.is_ok());
    let walks = plan.walks.iter().filter(|finding| finding.triangles.is_ok());
    let roads = roads.map(|finding| (finding.rule.name, SightShown::Road(finding)));
    roads.chain(walks.map(|finding| (finding.rule.name, SightShown::Walk(finding)))).collect()
}

/// Drawing of a rule for a page.
#[derive(Clone, Debug, PartialEq)]
pub struct SightFigure {
    /// Plan view.
    pub plan: String,
    /// The gate close up.
    pub near: String,
    /// Description in words.
    pub description: String,
    /// Roles that occur, as the legend lists them.
    pub roles: Vec<Role>,
}

/// Triangle to draw for one side: its ring, and the line of it that must be seen.
struct Triangle<'a> {
    eye: Point,
    line: Vec<Point>,
    hiders: &'a [Hider],
    /// Labels at the far end of the line, and at the place up to which it is seen.
    far: String,
    seen: Option<(Point, String)>,
}

struct Shown<'a> {
    study: &'a Study,
    of: SightShown<'a>,
    eyes: Vec<Point>,
    triangles: Vec<Triangle<'a>>,
}

impl<'a> Shown<'a> {
    fn of(study: &'a Study, of: SightShown<'a>) -> Option<Self> {
        let length = |m: f64, round: Round| show(m, study.site.units, round);
        let (mut eyes, mut triangles): (Vec<Point>, Vec<Triangle<'a>>) = (Vec::new(), Vec::new());
        match of {
            SightShown::Road(finding) => {
                eyes.push(finding.eye?);
                for look in largest(finding.looks.as_ref().ok()?.iter()) {
                    let far = format!(
                        "{} to the driver's {}",
                        length(look.required_m, Round::Up),
                        look.side.word()
                    );
                    let far = if look.outcome == LookOutcome::NotDrawn {
                        format!("{far}: beyond the plan")
                    } else {
                        far
                    };
                    let seen = first_of(&look.line, look.visible_m).last().copied();
                    let seen = seen.filter(|_| look.outcome == LookOutcome::Hidden);
                    let words = format!("seen to {}", length(look.visible_m, Round::Down));
                    triangles.push(Triangle {
                        eye: look.eye,
                        line: look.line.clone(),
                        hiders: &look.hiders,
                        far,
                        seen: seen.map(|at| (at, words)),
                    });
                }
            }
            SightShown::Walk(finding) => {
                for triangle in finding.triangles.as_ref().ok()? {
                    let [eye, corner, far] = triangle.corners;
                    eyes.push(eye);
                    triangles.push(Triangle {
                        eye,
                        line: vec![corner, far],
                        hiders: &triangle.hiders,
                        far: length(finding.rule.along_m, Round::Nearest),
                        seen: None,
                    });
                }
            }
        }
        Some(Self { study, of, eyes, triangles })
    }

    fn lines(&self) -> Vec<String> {
        let speed = self.study.sight.as_ref().and_then(|plan| plan.speed.as_ref());
        match self.of {
            SightShown::Road(finding) => {
                // The distances rest on it.
                let speed = speed.map(|speed| format!("The plan gives the road {speed}."));
                speed.into_iter().chain(sight_road_words(finding, self.study.site.units)).collect()
            }
            SightShown::Walk(finding) => sight_walk_words(finding, self.study.site.units),
        }
    }

    /// The answer in a line, and its verdict.
    fn answer(&self) -> (DrawnGate, String) {
        match self.of {
            SightShown::Road(finding) => sight_road_answer(finding, self.study.site.units),
            SightShown::Walk(finding) => sight_walk_answer(finding),
        }
    }

    fn title(&self) -> String {
        let name = match self.of {
            SightShown::Road(finding) => finding.rule.name,
            SightShown::Walk(finding) => finding.rule.name,
        };
        format!("Sight on leaving, rule \"{name}\"")
    }

    fn description(&self) -> String {
        format!("{}: {}. {}", self.study.site.title, self.title(), self.lines().join(" "))
    }

    /// Unit vector that points up on the page: the road lies below, as a driver coming in sees it.
    fn up(&self) -> Point {
        self.study.site.gate.inward
    }

    /// Points that the whole plan must show.
    fn interest(&self) -> Vec<Point> {
        let gate = &self.study.site.gate;
        let mut points = vec![gate.left, gate.right];
        points.extend(self.eyes.iter().copied());
        points.extend(self.triangles.iter().flat_map(|t| t.line.iter().copied()));
        points
    }

    /// Points that the close-up must show: the gate, the eye and the mouth of the drive.
    fn near_interest(&self) -> Vec<Point> {
        let gate = &self.study.site.gate;
        let mut points = vec![gate.left, gate.right];
        points.extend(self.eyes.iter().copied());
        points.extend(self.triangles.iter().filter_map(|t| t.line.first().copied()));
        let half = gate.opening_m().max(6.0);
        points.extend([-1.0, 1.0].map(|s| gate.center() + gate.along() * (s * half)));
        points
    }

    fn panel(&self, view: View, with_words: bool) -> Panel {
        let site = &self.study.site;
        let mut items = ground_items(site);
        let mut labels: Vec<Label> = Vec::new();
        let mut say = |text: String, at: Point, strong: bool| {
            if view.shows(at, 4.0) && labels.iter().all(|label| label.text != text) {
                labels.push(Label {
                    text,
                    at,
                    or_at: Vec::new(),
                    within: Vec::new(),
                    strong,
                    leader: true,
                    optional: true,
                });
            }
        };
        for triangle in &self.triangles {
            items.extend(areas(Role::Sight, triangle.eye, &triangle.line));
            // Stretches hidden by several things are drawn once.
            for (from, to) in merged(triangle.hiders.iter().flat_map(|hider| hider.hides_m.clone()).collect())
            {
                items.extend(areas(Role::Unseen, triangle.eye, &stretch(&triangle.line, from, to)));
            }
        }
        // What stands is drawn over the ground it hides.
        items.extend(
            ground_items(site).into_iter().filter(|item| matches!(item.role, Role::Obstacle | Role::Fence)),
        );
        items.extend(gate::items(&site.gate, None));
        for eye in &self.eyes {
            items.push(Item::new(Role::Eye, Geom::Disc { center: *eye, radius_m: 0.25 }));
            say("driver's eye".to_owned(), *eye, true);
        }
        if with_words {
            for triangle in &self.triangles {
                if let Some((at, words)) = &triangle.seen {
                    say(words.clone(), *at, true);
                }
                if let Some(at) = triangle.line.last() {
                    say(triangle.far.clone(), *at, true);
                }
            }
        }
        labels.extend(site_labels(&self.study.site, &view));
        Panel {
            heading: None,
            view,
            items,
            labels,
            scale_bar: true,
            north: site.north_known,
            text_size: TEXT_SIZE,
        }
    }

    fn plan(&self, width: f64) -> Panel {
        self.panel(View::around(&self.interest(), self.up(), width, 4.0, 0.4, 1.15), true)
    }

    fn near(&self, width: f64) -> Panel {
        let mut panel =
            self.panel(View::around(&self.near_interest(), self.up(), width, 1.0, 0.55, 1.0), false);
        panel.heading = Some("At the gate, the road below".to_owned());
        panel
    }
}

/// Items for the ground under the lines of sight from an eye to a line.
fn areas(role: Role, eye: Point, line: &[Point]) -> Vec<Item> {
    let polygons = ground_between(eye, line).into_iter();
    polygons
        .map(|rings| Item::new(role, Geom::Area(rings.into_iter().map(|ring| ring.0).collect())))
        .collect()
}

/// Stretch of a line between two lengths along it.
fn stretch(line: &[Point], from_m: f64, to_m: f64) -> Vec<Point> {
    let (before, whole) = (first_of(line, from_m), first_of(line, to_m));
    let kept = before.len().saturating_sub(1).min(whole.len());
    before.last().copied().into_iter().chain(whole[kept..].iter().copied()).collect()
}

/// Builds the sheet of a rule; `None` if there is nothing to draw.
#[must_use]
pub fn sight_sheet(study: &Study, of: SightShown<'_>) -> Option<Sheet> {
    let shown = Shown::of(study, of)?;
    let (verdict, answer) = shown.answer();
    // The picture first; what the answer rests on below it.
    let notes = shown.lines().into_iter().chain([SIGHT_AUTHORITY.to_owned(), CAUTION.to_owned()]);
    let mut panels = Vec::new();
    if matches!(of, SightShown::Road(_)) {
        // Up is into the property, so that left and right are the other way around.
        let heading = Some("From above; the driver looks down the page".to_owned());
        panels.push(Panel { heading, ..shown.plan(PANEL_WIDTH) });
    }
    panels.push(shown.near(PANEL_WIDTH));
    Some(Sheet {
        place: study.site.title.clone(),
        verdict: Some(verdict),
        steps: Vec::new(),
        title: answer,
        description: shown.description(),
        panels,
        lines: vec![shown.title()],
        legend: true,
        notes: notes.collect(),
    })
}

/// Draws a rule as SVG; `None` if there is nothing to draw.
#[must_use]
pub fn sight_svg(study: &Study, of: SightShown<'_>) -> Option<String> {
    sight_sheet(study, of).map(|sheet| super::svg::write(&sheet))
}

/// Draws a rule for a page; `None` if there is nothing to draw.
#[must_use]
pub fn sight_figure(study: &Study, of: SightShown<'_>) -> Option<SightFigure> {
    let shown = Shown::of(study, of)?;
    let (plan, mut near) = (shown.plan(FIGURE_WIDTH), shown.near(FIGURE_WIDTH));
    near.heading = None;
    let title = shown.title();
    Some(SightFigure {
        plan: standing(&plan, &format!("Plan: {title}"), None),
        near: standing(&near, &format!("At the gate: {title}"), None),
        description: shown.description(),
        roles: roles(&[&plan, &near]),
    })
}

/// Builds the printed sheet of a rule: the plan at a true scale over the whole width, below it the words, the gate
/// close up and the legend; further sheets for words that this does not hold. Empty if there is nothing to draw.
#[must_use]
pub fn sight_pages(study: &Study, of: SightShown<'_>, paper: Paper) -> Vec<Page> {
    let Some(shown) = Shown::of(study, of) else { return Vec::new() };
    let (low, high) = area(paper);
    let (wide, tall) = (high.x - low.x, high.y - low.y);
    let usual = Scale::usual(study.site.units);
    let plan_size = (wide, 0.42 * tall);
    let (view, scale) = view_at_scale(&shown.interest(), shown.up(), plan_size, 30.0, &usual);
    let mut plan = shown.panel(view, true);
    plan.heading = Some(format!("{}, {}", shown.title(), scale.words()));
    let y = low.y + HEADING + plan_size.1 + panel::STRIP + GAP;
    let near_wide = 0.42 * (wide - GAP);
    let near_size = (near_wide, high.y - y - HEADING - panel::STRIP);
    let (view, near_scale) = view_at_scale(&shown.near_interest(), shown.up(), near_size, 8.0, &usual);
    let mut near = shown.panel(view, false);
    near.heading = Some(format!("At the gate, the road below, {}", near_scale.words()));
    let text_wide = wide - near_wide - GAP;
    let roles = roles(&[&plan, &near]);
    let legend_high = legend_height(text_wide, &roles);
    let mut texts: Vec<TextLine> = vec![TextLine::new(format!("{}.", shown.answer().1), TEXT, true)];
    texts.extend(shown.lines().into_iter().map(|line| TextLine::new(line, TEXT, false)));
    texts.push(TextLine::new(SIGHT_AUTHORITY, TEXT, true));
    let Split { here: texts, rest } = split(texts, text_wide, high.y - y - legend_high - GAP);
    let blocks = vec![
        Block::panel(Point::new(low.x, low.y + HEADING), plan),
        Block::Texts(Point::new(low.x, y), text_wide, texts),
        Block::Legend(Point::new(low.x, high.y - legend_high), text_wide, roles),
        Block::panel(Point::new(low.x + text_wide + GAP, y + HEADING), near),
        caution(paper),
    ];
    let (name, description) = (shown.title(), shown.description());
    with_rest(Page { paper, name, scale: Some(scale), whole_at: None, description, blocks }, rest)
}
