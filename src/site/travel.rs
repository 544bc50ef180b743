//! Directions of travel along the road before a vehicle turns in, and the lane that it comes in.
use super::lines::{beside, covers};
use super::{Ground, Road, RoadEnds, Side, Site};
use crate::geometry::length::{Round, Units, show};
use crate::geometry::polyline::{length, nearest_on, segments, station_of};
use crate::geometry::{Outline, Point};
use std::f64::consts::FRAC_PI_4;
use std::fmt;

/// Width from which a road has two lanes. A narrower road has one, used by both directions: two halves of less than 8
/// feet let no truck pass another (common practice, no source).
const TWO_LANES_FROM_M: f64 = 16.0 * crate::geometry::length::FOOT_M;

/// Length by which a road that continues runs on, straight, beyond its drawn end: room for the longest vehicle (a
/// 74-foot combination, 22.5 m) to stand and line up, two to three times its length.
pub const CONTINUES_M: f64 = 60.0;

/// Least length of a road upstream of the gate for vehicles to come from there: the shortest vehicles are about as
/// long.
pub(super) const LEAST_UPSTREAM_M: f64 = 5.0;

/// Largest distance from a drawn end at which a place is at the end: a millimeter, above the rounding of projected
/// coordinates and below what anyone draws.
const AT_END_M: f64 = 1e-3;

const WORDS: [&str; 8] = [
    "eastbound",
    "northeastbound",
    "northbound",
    "northwestbound",
    "westbound",
    "southwestbound",
    "southbound",
    "southeastbound",
];

/// Directions a vehicle comes from, as seen from the road facing the gate: in the order of [`WORDS`], with the
/// direction in through the gate in place of east.
const FROM: [&str; 8] = [
    "from the front",
    "from the front right",
    "from the right",
    "from the back right",
    "from behind",
    "from the back left",
    "from the left",
    "from the front left",
];

/// One of the two directions along a road. It stays the same in a changed copy of a site, where the directions that lead to
/// the gate may be fewer, and called differently.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Along {
    /// Index of the road in [`Site::roads`].
    pub road: usize,
    /// True if it is the direction in which the road's center line is drawn.
    pub as_drawn: bool,
}

/// Direction of travel along a road that leads to the gate.
#[derive(Clone, Debug, PartialEq)]
pub struct Travel {
    /// Index of the road in [`Site::roads`]; the first is the one that leads to the gate, or past it.
    pub road: usize,
    /// True if it is the direction in which the road's center line is drawn.
    pub as_drawn: bool,
    /// Eight-point compass word ending in "bound"; if north is not known, the side that the vehicle comes from, seen
    /// from the road facing the gate: "from the left". On a road other than the first its name follows: "northbound on
    /// side road".
    pub word: String,
    /// Compass word with y as north, whether or not north is known, with the same name after it: a plan may use it.
    pub compass: String,
    /// Unit vector of travel beside the gate.
    pub direction: Point,
    /// Place on the road's center line nearest to the gate; on a road other than the first, the place where vehicles
    /// leave it, if they reach that before.
    pub beside_gate: Point,
    /// Lane that vehicles drive in before they turn in.
    pub lane: Lane,
}

/// Part of the road that a vehicle drives in before it turns in.
#[derive(Clone, Debug, PartialEq)]
pub struct Lane {
    /// Middle of the lane, in the direction of travel; [`CONTINUES_M`] longer than drawn at an end that continues.
    pub centerline: Vec<Point>,
    /// Center line of the road, as long and in the same direction: on a road with two lanes, the edge of this one.
    pub road_line: Vec<Point>,
    /// Width of the lane: half the road, or all of a road too narrow for two lanes.
    pub width_m: f64,
    /// Length of the road's center line upstream of the place on it nearest to the gate; infinite if the road
    /// continues at that end.
    pub upstream_m: f64,
}

/// Direction along the road that does not lead to the gate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotAsked {
    /// Eight-point compass word ending in "bound"; if north is not known, the side that a vehicle would come from, seen
    /// from the road facing the gate: "from the left".
    pub word: String,
    /// Reason that no vehicle comes from there, in plain words, lengths in the plan's units.
    pub reason: String,
}

impl fmt::Display for NotAsked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.word, self.reason)
    }
}

impl Travel {
    /// True if a word of a plan names this direction.
    #[must_use]
    pub fn is_called(&self, word: &str) -> bool {
        is_called((&self.word, &self.compass), word)
    }

    /// The road, and the direction along it.
    #[must_use]
    pub const fn along(&self) -> Along {
        Along { road: self.road, as_drawn: self.as_drawn }
    }
}

impl Site {
    /// The direction of travel along a road in this direction; `None` if it does not lead to the gate.
    #[must_use]
    pub fn travel_along(&self, along: Along) -> Option<Travel> {
        self.travels().into_iter().find(|travel| travel.along() == along)
    }

    /// Directions that vehicles come from: along the road in front of the gate, the first of `roads`, and along every
    /// other road that comes within 22.5 m of the gate, connects with it, and is drawn for as long or continues.
    ///
    /// The words follow the road's direction beside the gate and are always opposite to each other, so the two never
    /// coincide. A direction leads to the gate if the road upstream of it continues, or is drawn for at least 5 m: from
    /// a shorter piece no vehicle can have come. A road that ends at the gate therefore has only the direction toward
    /// it. If the road leads into a turnaround that the gate stands at, only the road outside the turnaround counts.
    ///
    /// ```
    /// let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-ft" }, "features": [
    ///     { "type": "Feature", "properties": { "role": "road", "width": "20 ft" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-200, 0], [10, 0]] } },
    ///     { "type": "Feature", "properties": { "role": "gate" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } } ] }"#;
    /// let site = wideenough::site::read(plan, "dead end").unwrap();
    /// assert_eq!(site.travels().len(), 1);
    /// assert_eq!(site.travels()[0].word, "eastbound");
    /// assert_eq!(
    ///     site.not_asked()[0].to_string(),
    ///     "westbound: the road ends 10' beyond the gate, so nothing comes from there",
    /// );
    /// let through = plan.replace(r#""20 ft""#, r#""20 ft", "continues": "end""#);
    /// let site = wideenough::site::read(&through, "through road").unwrap();
    /// assert_eq!(site.travels().len(), 2);
    /// assert!(site.travels()[1].lane.upstream_m.is_infinite());
    /// ```
    #[must_use]
    pub fn travels(&self) -> Vec<Travel> {
        let leading = self.approaches().into_iter().filter(|approach| approach.no_way.is_none());
        leading.filter_map(|approach| travel(self, &approach)).collect()
    }

    /// Directions in which a vehicle can leave along the roads that lead to the gate, each with the lane it leaves in:
    /// the opposites of [`Self::travels`], since a road that leads to the gate leads away from it, too.
    ///
    /// ```
    /// let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
    ///     { "type": "Feature", "properties": { "role": "road", "width": 6 },
    ///       "geometry": { "type": "LineString", "coordinates": [[0, -50], [0, 0]] } },
    ///     { "type": "Feature", "properties": { "role": "gate" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
    /// let site = wideenough::site::read(plan, "lane").unwrap();
    /// let words = |list: Vec<wideenough::site::Travel>| list.into_iter().map(|t| t.word).collect::<Vec<_>>();
    /// assert_eq!((words(site.travels()), words(site.ways_out())), (vec!["northbound".into()], vec!["southbound".into()]));
    /// // Vehicles drive on the right: it leaves in the western half.
    /// assert_eq!(site.ways_out()[0].lane.centerline[0].x, -1.5);
    /// ```
    #[must_use]
    pub fn ways_out(&self) -> Vec<Travel> {
        let all = self.approaches();
        let leads_here = |approach: &&Approach| approach.no_way.is_none();
        // Each of a road's two directions is the other's opposite.
        let pairs = all
            .iter()
            .flat_map(|a| all.iter().filter(|b| a.road == b.road && a.from != b.from).map(move |b| (a, b)));
        pairs.filter(|(_, back)| leads_here(back)).filter_map(|(out, _)| travel(self, out)).collect()
    }

    /// True if the road ahead of vehicles that come by `travel`, past the gate, is a dead end: its drawn end does not
    /// continue, no other road meets it on the way there, and the road is known to lead on at the other end, or no
    /// vehicle can come from this one. Vehicles that come out of the gate then leave the way they came.
    ///
    /// A road drawn without a word about either end leads on at both, as far as it is drawn.
    ///
    /// ```
    /// let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
    ///     { "type": "Feature", "properties": { "role": "road", "width": 6, "continues": "start" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-50, 0], [13, 0]] } },
    ///     { "type": "Feature", "properties": { "role": "gate" },
    ///       "geometry": { "type": "LineString", "coordinates": [[-2, 8], [2, 8]] } } ] }"#;
    /// let dead_ends = |plan: &str| -> Vec<bool> {
    ///     let site = wideenough::site::read(plan, "stub").unwrap();
    ///     site.travels().iter().map(|travel| site.is_dead_end_ahead(travel)).collect()
    /// };
    /// // Eastbound, westbound.
    /// assert_eq!(dead_ends(plan), [true, false]);
    /// assert_eq!(dead_ends(&plan.replace("start", "both")), [false, false]);
    /// ```
    #[must_use]
    pub fn is_dead_end_ahead(&self, travel: &Travel) -> bool {
        let Some(road) = self.roads.get(travel.road) else { return false };
        let all = self.approaches();
        let mut own = all.iter().filter(|approach| approach.road == travel.road);
        let Some(ahead) = own.find(|approach| approach.direction.dot(travel.direction) < 0.0) else {
            return false;
        };
        let leads_on = |end: End| {
            let mut others = self.roads.iter().enumerate().filter(|(index, _)| *index != travel.road);
            road.continues.at(end)
                || others.any(|(_, other)| meets_beyond(road, travel.beside_gate, end, other))
        };
        let back = if ahead.from == End::First { End::Last } else { End::First };
        !leads_on(ahead.from) && (ahead.no_way.is_some() || leads_on(back))
    }

    /// Directions along the road in front of the gate that do not lead to it, each with the reason.
    #[must_use]
    pub fn not_asked(&self) -> Vec<NotAsked> {
        let approaches = self.approaches().into_iter().filter(|approach| approach.road == 0);
        approaches
            .filter_map(|approach| {
                let no_way = approach.no_way?;
                Some(NotAsked { word: approach.word, reason: no_way.reason(self.units) })
            })
            .collect()
    }

    /// Both directions along the road in front of the gate, then those along the other roads that lead to it.
    pub(super) fn approaches(&self) -> Vec<Approach> {
        let through_gate = (!self.north_known).then_some(self.gate.inward);
        let mut all = approaches(&self.roads, self.beside_gate, self.gate.center(), through_gate);
        all.extend(super::other_roads::approaches(self, through_gate));
        all
    }
}

/// End of a center line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    First,
    Last,
}

impl RoadEnds {
    pub(super) fn at(self, end: End) -> bool {
        match end {
            End::First => self.start,
            End::Last => self.end,
        }
    }
}

/// Either of the two directions along a road.
#[derive(Clone, Debug)]
pub(super) struct Approach {
    /// Index of the road.
    pub(super) road: usize,
    pub(super) word: String,
    /// Compass word with y as north.
    pub(super) compass: String,
    pub(super) direction: Point,
    /// End that vehicles come from.
    pub(super) from: End,
    /// Place on the center line where they leave the road.
    pub(super) beside_gate: Point,
    pub(super) upstream_m: f64,
    /// Reason that it does not lead to the gate, if it does not.
    pub(super) no_way: Option<NoWay>,
}

/// Distance up to which a road that ends before a gate is said to end at the gate: a truck's length.
const NEAR_GATE_M: f64 = 12.0;

/// Reason that a direction does not lead to the gate.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum NoWay {
    /// The road ends at the gate, this far from its middle, meters.
    EndsAtGate(f64),
    /// The road ends this far beyond the gate, meters.
    EndsBeyond(f64),
    /// The road leads into a turnaround of this name that the gate stands at, and does not leave it.
    Turnaround(String),
    /// A road other than the first is drawn for only this many meters, if it comes from there at all.
    Short(f64),
}

/// Words for the directions along a road.
pub(super) struct Words {
    list: &'static [&'static str; 8],
    forward: usize,
}

impl Words {
    /// Words for a road whose center line runs along a unit vector. If north is not known, `through_gate` is the direction
    /// that they refer to.
    pub(super) fn of(tangent: Point, through_gate: Option<Point>) -> Self {
        match through_gate {
            Some(inward) => {
                Self { list: &FROM, forward: eighth(Point::new(inward.dot(tangent), inward.cross(tangent))) }
            }
            None => Self { list: &WORDS, forward: eighth(tangent) },
        }
    }

    /// Word for the direction turned counterclockwise by this many eighths of a circle.
    pub(super) fn word(&self, turned: usize) -> &'static str {
        self.list[(self.forward + turned) % 8]
    }
}

impl NoWay {
    pub(super) fn reason(&self, units: Units) -> String {
        let ends = match self {
            Self::EndsAtGate(m) if *m <= NEAR_GATE_M => "at the gate".to_owned(),
            Self::EndsAtGate(m) => format!("{} from the gate", show(*m, units, Round::Nearest)),
            Self::EndsBeyond(m) => format!("{} beyond the gate", show(*m, units, Round::Nearest)),
            Self::Turnaround(label) => format!("in \"{label}\" at the gate"),
            Self::Short(m) => {
                return format!("only {} of the road is drawn there", show(*m, units, Round::Nearest));
            }
        };
        format!("the road ends {ends}, so nothing comes from there")
    }
}

/// True if another road meets this one between the place beside the gate and an end, or lies within half the road's width of
/// the end: people draw a road up to another's edge or to its middle.
fn meets_beyond(road: &Road, gate: Point, end: End, other: &Road) -> bool {
    let mut line = road.centerline.clone();
    if end == End::First {
        line.reverse();
    }
    let Some((station, foot)) = station_of(&line, gate) else { return false };
    let mut start = 0.0;
    let mut beyond = vec![foot];
    for (a, b) in segments(&line) {
        start += a.distance(b);
        if start > station {
            beyond.push(b);
        }
    }
    let reach_m = 0.5 * road.width_m;
    meeting(&beyond, &other.surface).is_some_and(|meeting| meeting.apart_m <= reach_m)
}

/// True if `asked` names the direction that has these two words.
fn is_called((word, compass): (&str, &str), asked: &str) -> bool {
    word == asked || compass == asked
}

impl Approach {
    /// True if a word of a plan names this direction.
    pub(super) fn is_called(&self, word: &str) -> bool {
        is_called((&self.word, &self.compass), word)
    }
}

/// Both directions along the first of `roads`, as drawn and against it. `beside` is the road that the gate stands at:
/// the first one, or a turnaround that it leads into.
///
/// If north is not known, `through_gate` is the direction that the words refer to.
pub(super) fn approaches(
    roads: &[Road],
    beside: usize,
    gate: Point,
    through_gate: Option<Point>,
) -> Vec<Approach> {
    let Some(road) = roads.first() else { return Vec::new() };
    let Some((tangent, (station, foot))) = road.tangent_beside(gate).zip(station_of(&road.centerline, gate))
    else {
        return Vec::new();
    };
    let length = length(&road.centerline);
    let turnaround = roads.get(beside).filter(|_| beside > 0);
    let inside = turnaround.and_then(|bulb| meeting(&road.centerline, &bulb.surface));
    let (words, compass) = (Words::of(tangent, through_gate), Words::of(tangent, None));
    let both = [
        (0, tangent, End::First, station, inside.as_ref().map_or(station, |m| m.first_m)),
        (4, -tangent, End::Last, length - station, length - inside.as_ref().map_or(station, |m| m.last_m)),
    ];
    both.into_iter()
        .map(|(turned, direction, from, drawn_m, outside_m)| {
            let continues = road.continues.at(from);
            let upstream_m = if continues { f64::INFINITY } else { drawn_m };
            let no_way = if continues || outside_m >= LEAST_UPSTREAM_M {
                None
            } else if let Some(bulb) = turnaround {
                Some(NoWay::Turnaround(bulb.surface.label.clone()))
            } else if drawn_m < 0.05 {
                // Do not mention less than two inches of road.
                Some(NoWay::EndsAtGate(foot.distance(gate)))
            } else {
                Some(NoWay::EndsBeyond(drawn_m))
            };
            Approach {
                road: 0,
                word: words.word(turned).to_owned(),
                compass: compass.word(turned).to_owned(),
                direction,
                from,
                beside_gate: foot,
                upstream_m,
                no_way,
            }
        })
        .collect()
}

/// Place where a line and a ground meet, or are nearest to each other.
pub(super) struct Meeting {
    /// Stations along the line at which they first and last meet.
    pub(super) first_m: f64,
    pub(super) last_m: f64,
    /// Distance between them; 0 if they meet.
    pub(super) apart_m: f64,
}

pub(super) fn meeting(line: &[Point], ground: &Ground) -> Option<Meeting> {
    let mut stations = Vec::new();
    let mut start = 0.0;
    for (a, b) in segments(line) {
        let long = a.distance(b);
        stations
            .extend([(a, start), (b, start + long)].iter().filter(|(p, _)| covers(ground, *p)).map(|s| s.1));
        for (c, d) in ground.edges() {
            let (along, edge, to) = (b - a, d - c, c - a);
            let turn = along.cross(edge);
            if turn != 0.0 {
                let (t, u) = (to.cross(edge) / turn, to.cross(along) / turn);
                if (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u) {
                    stations.push(start + t * long);
                }
            }
        }
        start += long;
    }
    let mut apart_m = 0.0;
    if stations.is_empty() {
        // Two lines that do not cross are nearest at a corner of one of them.
        let from_corners = ground.edges().filter_map(|(p, _)| Some((station_of(line, p)?, p)));
        let from_line = line.iter().filter_map(|p| {
            let (_, edge) = nearest_on(ground.edges(), *p)?;
            Some((station_of(line, *p)?, edge))
        });
        let pairs = from_corners.chain(from_line).map(|((station, foot), p)| (foot.distance(p), station));
        let (apart, station) = pairs.min_by(|a, b| a.0.total_cmp(&b.0))?;
        apart_m = apart;
        stations.push(station);
    }
    let (first_m, last_m) = stations
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), s| (low.min(*s), high.max(*s)));
    Some(Meeting { first_m, last_m, apart_m })
}

/// End of the road that a place lies ahead of, within 45 degrees, or at, if there is one. An end that continues does not
/// count.
pub(super) fn ends_at(road: &Road, p: Point) -> Option<End> {
    let line = &road.centerline;
    let [first, second, ..] = line.as_slice() else { return None };
    let [.., before, last] = line.as_slice() else { return None };
    let ahead = |from: Point, to: Point| {
        let (out, gap) = (to - from, p - to);
        gap.norm() <= AT_END_M || out.dot(gap) > out.norm() * gap.norm() * std::f64::consts::FRAC_1_SQRT_2
    };
    let (_, foot) = nearest_on(segments(line), p)?;
    let is_end = |end: End, at: Point| foot.distance(at) <= AT_END_M && !road.continues.at(end);
    if is_end(End::Last, *last) && ahead(*before, *last) {
        Some(End::Last)
    } else if is_end(End::First, *first) && ahead(*second, *first) {
        Some(End::First)
    } else {
        None
    }
}

/// Nearest of the eight points of the compass, counted counterclockwise from east.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "rounded, and between 0 and 8")]
fn eighth(direction: Point) -> usize {
    // Slightly past the middle between two words is rounding noise: use the lower one.
    let eighths = (direction.angle() / FRAC_PI_4).rem_euclid(8.0);
    (eighths - 1e-9).round().max(0.0) as usize % 8
}

fn travel(site: &Site, approach: &Approach) -> Option<Travel> {
    let road = site.roads.get(approach.road)?;
    Some(Travel {
        road: approach.road,
        as_drawn: approach.from == End::First,
        word: approach.word.clone(),
        compass: approach.compass.clone(),
        direction: approach.direction,
        beside_gate: approach.beside_gate,
        lane: lane(road, approach, site.drives_on),
    })
}

/// Lane on the side that people drive on.
fn lane(road: &Road, approach: &Approach, drives_on: Side) -> Lane {
    let mut line = road.centerline.clone();
    if road.continues.end {
        run_on(&mut line);
    }
    line.reverse();
    if road.continues.start {
        run_on(&mut line);
    }
    if approach.from == End::First {
        line.reverse();
    }
    let upstream_m = approach.upstream_m;
    if road.width_m < TWO_LANES_FROM_M {
        return Lane { centerline: line.clone(), road_line: line, width_m: road.width_m, upstream_m };
    }
    let quarter = road.width_m / 4.0;
    let left = match drives_on {
        Side::Left => quarter,
        Side::Right => -quarter,
    };
    Lane { centerline: beside(&line, left), road_line: line, width_m: road.width_m / 2.0, upstream_m }
}

impl Road {
    /// Unit vector along the center line, as drawn, at the place on it nearest to a point: at a corner of the line halfway
    /// between the directions before and after it, so that a line drawn from its other end has the opposite one. `None` for a
    /// road of no length.
    #[must_use]
    pub fn tangent_beside(&self, p: Point) -> Option<Point> {
        let (i, foot) = nearest_on(segments(&self.centerline), p)?;
        let along = |i: usize| (*self.centerline.get(i + 1)? - *self.centerline.get(i)?).unit();
        let here = along(i)?;
        let at_corner =
            |corner: usize| self.centerline.get(corner).is_some_and(|c| c.distance(foot) <= AT_END_M);
        let beyond = if at_corner(i + 1) {
            along(i + 1)
        } else if at_corner(i) {
            i.checked_sub(1).and_then(along)
        } else {
            None
        };
        beyond.and_then(|beyond| (here + beyond).unit()).or(Some(here))
    }

    /// Middle of the lane of traffic that runs along the center line as drawn, or against it, in the direction of
    /// travel and as far as the road is drawn; the center line itself for a road too narrow for two lanes.
    #[must_use]
    pub fn drawn_lane(&self, along: bool, drives_on: Side) -> Vec<Point> {
        let mut line = self.centerline.clone();
        if !along {
            line.reverse();
        }
        if self.width_m < TWO_LANES_FROM_M {
            return line;
        }
        let quarter = self.width_m / 4.0;
        beside(&line, if drives_on == Side::Left { quarter } else { -quarter })
    }
}

/// Lengthens a line by [`CONTINUES_M`] beyond its last point, straight.
fn run_on(line: &mut [Point]) {
    if let [.., before, last] = line
        && let Some(along) = (*last - *before).unit()
    {
        *last = *last + along * CONTINUES_M;
    }
}

/// Outline of the ground that a road covers beyond an end that continues.
pub(super) fn continuation(road: &Road, end: End) -> Option<Ground> {
    let (before, last) = match (end, road.centerline.as_slice()) {
        (End::Last, [.., before, last]) | (End::First, [last, before, ..]) => (*before, *last),
        _ => return None,
    };
    let along = (last - before).unit().filter(|_| road.continues.at(end))?;
    let (across, on) = (along.left() * (0.5 * road.width_m), last + along * CONTINUES_M);
    let outer = Outline(vec![last - across, on - across, on + across, last + across]);
    Some(Ground { outer, ..Ground::default() })
}
