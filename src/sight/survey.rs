//! Survey of a site under the rules that a user chooses: what is seen, what hides it, and what would clear it.
use super::drive::{Mouth, Reach, first_of, mouth, reaches};
use super::fix::{SightFix, Wanted, fix_of};
use super::required::{Class, Given, TrafficLane, required_m, road_stopping_m};
use super::rules::{Along, STOPPING_EYE_M, STOPPING_OBJECT_M, SightRule, WalkRule};
use super::shadow::{SightHeights, merged};
use super::things::{Blocker, blockers};
use super::walk::{WalkFinding, walk};
use crate::clearance::Thing;
use crate::geometry::{Outline, Point, Units};
use crate::site::{Side, Site, Speed};
use crate::sweep::{Envelope, union_in_order};
use crate::vehicle::Vehicle;

/// Area up to which a triangle counts as a line.
const LEAST_AREA_M2: f64 = 1e-6;

/// Difference below which two lengths count as equal: a micrometer.
const ALIKE_M: f64 = 1e-6;

/// Sight findings of a study.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct SightPlan {
    /// The speed on the road, as the plan gives it.
    pub speed: Option<Speed>,
    /// Findings of the rules on the road, in the order chosen.
    pub roads: Vec<RoadFinding>,
    /// Findings of the rules on pedestrians, in the order chosen.
    pub walks: Vec<WalkFinding>,
}

/// Finding of a rule on sight of the road.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct RoadFinding {
    /// The rule.
    pub rule: SightRule,
    /// Mouth of the drive, if it meets the road.
    pub mouth: Option<Mouth>,
    /// The driver's eye.
    pub eye: Option<Point>,
    /// Looks to each side by each kind of vehicle, or why there is none.
    pub looks: Result<Vec<Look>, String>,
}

/// Look of one kind of vehicle to one side.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Look {
    /// Left or right of the driver who leaves.
    pub side: Side,
    /// Lane in which traffic comes.
    pub lane: TrafficLane,
    /// Kinds of vehicles it holds for; empty where the rule does not distinguish any.
    pub classes: Vec<Class>,
    /// The eye.
    pub eye: Point,
    /// Line to be seen, from where the drive crosses it to the distance required, or as far as the road is drawn.
    pub line: Vec<Point>,
    /// Distance that must be seen.
    pub required_m: f64,
    /// Stopping sight distance of the road, the least that must be seen.
    pub stopping_m: Option<f64>,
    /// Distance along its lane at which a driver on the road sees an object 2 ft high where the drive crosses the lane,
    /// up to what is drawn; `None` for rules that take the line along the edge of the road.
    pub approach_m: Option<f64>,
    /// Length of the road as drawn on that side.
    pub drawn_m: f64,
    /// True if the road goes on beyond what is drawn.
    pub continues: bool,
    /// Distance from the drive up to which every point is seen, up to what is drawn.
    pub visible_m: f64,
    /// Things that hide a part of what is required, ordered from the drive on.
    pub hiders: Vec<Hider>,
    /// Outcome of the look.
    pub outcome: LookOutcome,
    /// True if everything required is seen once each hiding thing is moved back by its amount, as a second check
    /// confirms. `None` where some thing has no such amount or nothing hides.
    pub clear_moved: Option<bool>,
}

/// Outcome of a look: what is seen against what is required.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum LookOutcome {
    /// All that is required is seen.
    Enough,
    /// The road ends before, and all of it is seen: nothing comes from farther away.
    ToTheEnd,
    /// A part of what is required is hidden.
    Hidden,
    /// All that is drawn is seen, and the road goes on: the plan does not show enough.
    NotDrawn,
}

impl LookOutcome {
    /// Word used by results.json.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Enough => "enough",
            Self::ToTheEnd => "to-the-end-of-the-road",
            Self::Hidden => "hidden",
            Self::NotDrawn => "road-not-drawn-far-enough",
        }
    }
}

/// Thing that hides a part of what must be seen.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Hider {
    /// Kind of thing.
    pub thing: Thing,
    /// Name of the thing.
    pub what: String,
    /// True if the plan gives its height.
    pub height_known: bool,
    /// Stretches of what is required that it hides, lengths along the line from the drive on.
    pub hides_m: Vec<(f64, f64)>,
    /// Fixes that clear it, for itself.
    pub fix: SightFix,
}

/// Choices of a user about sight.
#[derive(Clone, Debug, Default)]
pub struct SightOptions {
    /// Rules on sight of the road.
    pub rules: Vec<SightRule>,
    /// Rules on pedestrians.
    pub walks: Vec<WalkRule>,
    /// Values given where a rule leaves them open.
    pub given: Given,
}

impl Hider {
    /// A thing as the hider of a part of one line, with what would clear all that is wanted; `None` if it hides none of it.
    pub(super) fn of(
        thing: &Blocker,
        wanted: &Wanted,
        line: &[Point],
        away: Point,
        units: Units,
    ) -> Option<Self> {
        let hides_m = thing.hides(wanted.eye, &wanted.heights, line);
        (!hides_m.is_empty()).then(|| Self {
            thing: thing.thing,
            what: thing.what.clone(),
            height_known: thing.height_known,
            hides_m,
            fix: fix_of(thing, wanted, away, units),
        })
    }
}

impl SightOptions {
    /// True if no rule is chosen.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.rules.is_empty() && self.walks.is_empty()
    }
}

/// Surveys a site under the chosen rules, for these vehicles.
#[must_use]
pub fn survey(site: &Site, vehicles: &[Vehicle], asked: &SightOptions) -> SightPlan {
    let speed = site.roads.get(site.beside_gate).and_then(|road| road.speed);
    let speed = speed.or_else(|| site.roads.first().and_then(|road| road.speed));
    let mut classes: Vec<Class> = vehicles.iter().map(Class::of).collect();
    classes.sort();
    classes.dedup();
    let roads = asked.rules.iter().map(|rule| road(site, rule, speed.as_ref(), &classes, &asked.given));
    SightPlan {
        speed,
        roads: roads.collect(),
        walks: asked.walks.iter().map(|rule| walk(site, rule)).collect(),
    }
}

fn road(
    site: &Site,
    rule: &SightRule,
    speed: Option<&Speed>,
    classes: &[Class],
    given: &Given,
) -> RoadFinding {
    let found = mouth(site);
    let back = given.eye_back_m.or(rule.eye_back_m.map(|back| back.value));
    let back = back.ok_or_else(|| "this rule needs x and y: give --sight-x and --sight-y".to_owned());
    let eye = found.as_ref().ok().zip(back.as_ref().ok()).map(|(mouth, back)| mouth.eye(*back));
    let looks =
        found.clone().and_then(|mouth| {
            let eye = mouth.eye(back?);
            let mut looks: Vec<Look> = Vec::new();
            for reach in reaches(site, &mouth, rule.along)? {
                let mut at: Vec<(f64, Vec<Class>)> = Vec::new();
                for class in classes {
                    let required = required_m(rule, speed, *class, reach.lane, given)?;
                    match at.iter_mut().find(|(m, _)| (*m - required).abs() < ALIKE_M) {
                        Some((_, like)) => like.push(*class),
                        None => at.push((required, vec![*class])),
                    }
                }
                let stopping = road_stopping_m(rule, speed).ok();
                looks.extend(at.into_iter().map(|(required, like)| {
                    look(site, rule, (&mouth, eye), &reach, (required, stopping), like)
                }));
            }
            Ok(looks)
        });
    RoadFinding { rule: *rule, mouth: found.ok(), eye, looks }
}

/// Things that count for a rule, seen from an eye. Closed leaves count only where the eye is outside the gate line: a
/// driver inside has them open.
fn counted(site: &Site, eye: Point, slender_m: Option<f64>) -> Vec<Blocker> {
    let outside = site.gate.to_gate(eye).y < 0.0;
    let mut things = blockers(site, outside);
    if let Some(slender) = slender_m {
        things.retain(|thing| thing.across_m >= slender);
    }
    things
}

fn look(
    site: &Site,
    rule: &SightRule,
    (mouth, eye): (&Mouth, Point),
    reach: &Reach,
    (required_m, stopping_m): (f64, Option<f64>),
    classes: Vec<Class>,
) -> Look {
    let heights = SightHeights::from(&rule.heights);
    let things = counted(site, eye, rule.slender_m.map(|m| m.value));
    let all = things.iter().flat_map(|thing| thing.hides(eye, &heights, &reach.line));
    let visible_m = merged(all.collect()).first().map_or(reach.drawn_m, |(from, _)| *from);
    // Sight is mutual: measure from the object on the lane to the eyes of those who come.
    let approach_m = reach.line.first().filter(|_| rule.along == Along::LaneCenter).map(|at| {
        let both = SightHeights::level(STOPPING_OBJECT_M.value, STOPPING_EYE_M.value);
        let all = things.iter().flat_map(|thing| thing.hides(*at, &both, &reach.line));
        merged(all.collect()).first().map_or(reach.drawn_m, |(from, _)| *from)
    });
    let line = first_of(&reach.line, required_m);
    let wanted = Wanted { eye, heights, lines: vec![line.clone()] };
    let mut hiders = Vec::new();
    let mut moved = Vec::new();
    for thing in &things {
        let Some(hider) = Hider::of(thing, &wanted, &line, mouth.inward, site.units) else {
            moved.push(Some(thing.clone()));
            continue;
        };
        moved.push(hider.fix.back_m.map(|m| thing.moved(mouth.inward * m)));
        hiders.push(hider);
    }
    hiders.sort_by(|a, b| a.hides_m[0].0.total_cmp(&b.hides_m[0].0));
    let moved: Option<Vec<Blocker>> = moved.into_iter().collect();
    let clear_moved = moved
        .filter(|_| !hiders.is_empty())
        .map(|things| things.iter().all(|thing| wanted.is_clear_of(thing)));
    let outcome = if !hiders.is_empty() {
        LookOutcome::Hidden
    } else if reach.drawn_m >= required_m - ALIKE_M {
        LookOutcome::Enough
    } else if reach.continues {
        LookOutcome::NotDrawn
    } else {
        LookOutcome::ToTheEnd
    };
    Look {
        side: reach.side,
        lane: reach.lane,
        classes,
        eye,
        line,
        required_m,
        stopping_m,
        approach_m,
        drawn_m: reach.drawn_m,
        continues: reach.continues,
        visible_m,
        hiders,
        outcome,
        clear_moved,
    }
}

impl Look {
    /// Ground that must be clear: every line of sight from the eye to the line to be seen. See [`ground_between`].
    #[must_use]
    pub fn triangle(&self) -> Vec<Vec<Outline>> {
        ground_between(self.eye, &self.line)
    }
}

/// Ground under all lines of sight from an eye to a line, as polygons of rings, outer ones first. Where the line turns
/// back as seen from the eye, as on the outside of a bend, it reaches to the line of sight that touches the bend.
///
/// ```
/// use wideenough::geometry::Point;
/// use wideenough::sight::ground_between;
/// let line = [(0.0, 4.0), (3.0, 4.0), (2.0, 8.0)].map(|(x, y)| Point::new(x, y));
/// let area: f64 = ground_between(Point::default(), &line).iter().map(|rings| rings[0].signed_area()).sum();
/// // 4 x 3 / 2 to the bend; beyond it the triangle between the line back to (2, 8) and where its ray leaves the near line.
/// assert!((area - 6.0 - 0.5 * (3.0 - 1.0) * 4.0).abs() < 1e-6, "{area}");
/// ```
#[must_use]
pub fn ground_between(eye: Point, line: &[Point]) -> Vec<Vec<Outline>> {
    // Pieces of the line that turn in one direction as seen from the eye: the ground to each is a ring by itself.
    let mut runs: Vec<(bool, Vec<Point>)> = Vec::new();
    for w in line.windows(2) {
        let turned = (w[0] - eye).cross(w[1] - eye);
        match runs.last_mut() {
            Some((left, run)) if turned.abs() < LEAST_AREA_M2 || (turned > 0.0) == *left => run.push(w[1]),
            _ => runs.push((turned > 0.0, vec![eye, w[0], w[1]])),
        }
    }
    let rings: Vec<Outline> = runs.into_iter().map(|(_, ring)| Outline(ring).counterclockwise()).collect();
    match rings.as_slice() {
        [_] => vec![rings],
        _ => match union_in_order(rings.clone()) {
            Ok(polygons) => Envelope { polygons, over_m: 0.0, under_m: 0.0 }.rings(),
            // The separate rings are just as correct, only busier to look at.
            Err(_) => rings.into_iter().map(|ring| vec![ring]).collect(),
        },
    }
}
