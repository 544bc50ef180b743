//! The gate in relation to its road: its inward side, setback and skew.
use super::fault::Who;
use super::lines::covers;
use super::properties::{AnchorWord, GateWords, LeavesWord, PostEntry, SwingWord};
use super::road_outline::{Middle, TURNAROUND_RATIO, middle};
use super::road_pieces::join;
use super::settle::{POST_M, Settler, side};
use super::shapes::{At, plain};
use super::travel::{End, approaches, continuation, ends_at, meeting};
use super::{Anchor, Arrangement, Gate, Ground, Leaves, Post, Road, RoadEnds, RoadUse, Side, Speed, Swing};
use crate::geometry::length::{FOOT_M, INCH_M, Length, Round, Units, show};
use crate::geometry::polyline::{length, nearest_on};
use crate::geometry::{Point, wrap_angle};
use geojson::{GeometryValue, Position};
use std::f64::consts::{FRAC_PI_2, PI};

// Defaults where a plan is silent; common practice, no source.
const POST_TOP_M: f64 = 6.0 * FOOT_M;
const LEAF_THICKNESS_M: f64 = 2.0 * INCH_M;
const LEAF_BOTTOM_M: f64 = 2.0 * INCH_M;
const LEAF_TOP_M: f64 = 5.0 * FOOT_M;
/// No road is farther from its gate than this.
const ROAD_WITHIN_M: f64 = 100.0;
/// Least sine of the angle between the gate line and the direction to the road, for the gate to have an inward side: 5
/// degrees.
pub(super) const LEAST_FACING: f64 = 0.087;
/// The smallest and the largest opening that can be meant for a vehicle; outside, a warning.
const USUAL_OPENING_M: std::ops::RangeInclusive<f64> = 1.0..=20.0;

/// A road that the bearing of a gate points away from may be the one in front of it up to this many times the distance of the
/// nearest: a bearing that is the wrong way round must not find a road far behind the gate.
const OTHER_ROAD: f64 = 2.0;

/// A gate nearer than this to the traveled way stands on its edge.
pub(super) const ON_THE_EDGE_M: f64 = 1e-3;

/// A road for which it is not yet known which edge faces the gate.
pub(super) struct DrawnRoad {
    pub(super) who: Who,
    pub(super) surface: Ground,
    pub(super) centerline: Option<(Vec<Point>, f64)>,
    pub(super) usage: RoadUse,
    pub(super) continues: RoadEnds,
    pub(super) speed: Option<Speed>,
}

/// A gate before it is put in relation to its road.
pub(super) struct DrawnGate {
    pub(super) who: Who,
    pub(super) words: GateWords,
    /// The two faces, as drawn; `None` if they are at fault.
    pub(super) line: Option<(Point, Point)>,
    /// Inward direction, from the bearing of a gate drawn as a point.
    pub(super) looks: Option<Point>,
}

/// A gate in relation to its road, each with the feature it comes from.
pub(super) struct GateAtRoad {
    pub(super) gate: Gate,
    pub(super) who: Who,
    /// All roads, the one in front of the gate first.
    pub(super) roads: Vec<(Road, Who)>,
    /// Index of the road from which the setback is measured: see [`super::Site::beside_gate`].
    pub(super) beside_gate: usize,
}

impl Settler<'_, '_> {
    /// A gate as drawn: a line between its faces, or the point midway with "width" and "bearing".
    pub(super) fn drawn_gate(&mut self, who: Who, words: GateWords, shape: &GeometryValue) -> DrawnGate {
        let top = At::coordinates();
        let (line, looks) = match shape {
            GeometryValue::LineString { coordinates } => {
                (self.gate_line(&who, &words, coordinates, &top), None)
            }
            GeometryValue::MultiLineString { coordinates } if coordinates.len() == 1 => {
                let at = top.down("line", 0, 1);
                (self.gate_line(&who, &words, &coordinates[0], &at), None)
            }
            GeometryValue::Point { coordinates } => self.gate_point(&who, &words, coordinates),
            GeometryValue::MultiPoint { coordinates } if coordinates.len() == 1 => {
                self.gate_point(&who, &words, &coordinates[0])
            }
            _ => {
                let wanted = "a LineString of two points, the inner faces of its posts (or as a Point with a \
                              \"width\" and a \"bearing\")";
                self.wrong_geometry(&who, shape, "a gate", wanted);
                (None, None)
            }
        };
        if let Some((a, b)) = line
            && !USUAL_OPENING_M.contains(&a.distance(b))
        {
            let opening = show(a.distance(b), self.notes.units, Round::Nearest);
            let message = format!("the opening is {opening}; is the plan in the right units?");
            self.notes.warn(&who, "/geometry/coordinates", "", message);
        }
        DrawnGate { who, words, line, looks }
    }

    /// The two faces of a gate drawn as a line.
    fn gate_line(
        &mut self,
        who: &Who,
        words: &GateWords,
        coordinates: &[Position],
        at: &At,
    ) -> Option<(Point, Point)> {
        let [a, b] = coordinates else {
            let count = coordinates.len();
            let message =
                format!("a gate has two points, the inner faces of its posts; this one has {count}");
            self.notes.fault(who, &at.pointer, &at.part, message);
            return None;
        };
        let (a, b) = (self.frame.to_site(plain(a)), self.frame.to_site(plain(b)));
        if a.distance(b) < INCH_M {
            let message = "its two points are in the same place; they are the inner faces of the two posts";
            self.notes.fault(who, &at.pointer, &at.part, message);
            return None;
        }
        if let Some(Length(width_m)) = words.width.filter(|width| (width.0 - a.distance(b)).abs() > INCH_M) {
            let message = format!(
                "says {}, but the two points are {} apart; they are the inner faces of the two posts",
                self.notes.length(width_m),
                self.notes.length(a.distance(b))
            );
            self.notes.property(who, "width", message);
        }
        if words.bearing.is_some() {
            let message = "ignored: the two points say which way the gate faces";
            self.notes.warn(who, "/properties/bearing", "property \"bearing\"", message);
        }
        Some((a, b))
    }

    /// The two faces of a gate drawn as the point midway between them, and the inward direction that its bearing gives.
    fn gate_point(
        &mut self,
        who: &Who,
        words: &GateWords,
        at: &Position,
    ) -> (Option<(Point, Point)>, Option<Point>) {
        for (key, given, like) in [
            ("width", words.width.is_some(), "the opening between its posts, like \"14 ft\""),
            ("bearing", words.bearing.is_some(), "the heading of someone coming in: 0 is north, 90 east"),
        ] {
            if !given && !self.notes.has_faulty(who, key) {
                let message = format!("a gate drawn as a point needs its \"{key}\", {like}");
                self.notes.fault(who, "/properties", "", message);
            }
        }
        let width_m = self.positive(who, "width", words.width, 0.0);
        let bearing = words.bearing.filter(|degrees| {
            let sound = (-360.0..=360.0).contains(degrees);
            if !sound {
                self.notes.property(who, "bearing", "must be between 0 and 360: 0 is north, 90 east");
            }
            sound
        });
        let Some(bearing) = bearing else { return (None, None) };
        if words.width.is_some() && width_m > 0.0 && width_m < INCH_M {
            self.notes.property(who, "width", "is less than an inch; it is the opening between the posts");
        }
        let looks = Point::at_angle(FRAC_PI_2 - bearing.to_radians());
        let (middle, half) = (self.frame.to_site(plain(at)), looks.left() * (width_m / 2.0));
        ((width_m >= INCH_M).then_some((middle + half, middle - half)), Some(looks))
    }

    /// The gate in relation to the roads; the roads, the one that leads to the gate first, the others by their
    /// distance; and the index of the one beside the gate.
    pub(super) fn gate_and_roads(
        &mut self,
        gates: Vec<DrawnGate>,
        roads: Vec<DrawnRoad>,
        units: Units,
    ) -> Option<GateAtRoad> {
        let nothing = Who::default();
        if gates.is_empty() && self.whole {
            let message = "no gate: draw a LineString of two points with \"role\": \"gate\"";
            self.notes.fault(&nothing, "/features", "", message);
        }
        for DrawnGate { who, .. } in gates.iter().skip(1) {
            let first = gates[0].who.index.unwrap_or_default();
            let message = format!("a second gate; feature {first} is one already, and a plan has one");
            self.notes.fault(who, "", "", message);
        }
        let DrawnGate { line, words, who, looks } = gates.into_iter().next()?;
        let (post, leaves, anchor) = self.gate_words(&who, &words);
        let (a, b) = line?;
        let center = (a + b) * 0.5;
        let mut near: Vec<(f64, Point, DrawnRoad)> = Vec::new();
        for road in join(roads, center) {
            let (_, edge) = nearest_on(road.surface.edges(), center)?;
            if [a, b, center].iter().any(|p| covers(&road.surface, *p)) {
                let label = road.surface.label.clone();
                let message =
                    format!("stands in the road \"{label}\"; end the road in front of it, and draw a drive");
                self.notes.fault(&who, "/geometry/coordinates", "", message);
                return None;
            }
            near.push((edge.distance(center), edge, road));
        }
        near.sort_by(|p, q| p.0.total_cmp(&q.0));
        // Between two roads the bearing tells which one the gate is entered from.
        if let Some(looks) = looks {
            let most_m = OTHER_ROAD * near.first().map_or(0.0, |(m, ..)| *m);
            let is_in_front = |(m, edge, _): &(f64, Point, DrawnRoad)| {
                *m <= most_m && (center - *edge).dot(looks) > LEAST_FACING * m
            };
            if let Some(index) = near.iter().position(is_in_front) {
                near[..=index].rotate_right(1);
            }
        }
        let (setback_m, edge, nearest) = near.first()?;
        if *setback_m > ROAD_WITHIN_M {
            let message = format!(
                "the nearest road, \"{}\", is {} away; a gate has one within {}",
                nearest.surface.label,
                show(*setback_m, units, Round::Nearest),
                show(ROAD_WITHIN_M, units, Round::Down)
            );
            self.notes.fault(&who, "/geometry/coordinates", "", message);
            return None;
        }
        // On the road's very edge the direction from it to the gate is undefined; use the one away from the road.
        let (setback_m, away) = (*setback_m, (center - *edge).unit().filter(|_| *setback_m >= ON_THE_EDGE_M));
        let away = away.or_else(|| outward(&nearest.surface, *edge)).unwrap_or_default();
        let across = (b - a).unit()?.left();
        let facing = across.dot(away);
        let side_on = facing.abs() < LEAST_FACING;
        if side_on && looks.is_none() {
            let message = "points at the road, so neither side is known to be in; draw it as a point with \"width\" and \
                           \"bearing\", the heading of someone coming in, or turn it to face the road";
            self.notes.fault(&who, "/geometry/coordinates", "", message);
            return None;
        }
        // Beside a drive that runs along the road, only the bearing tells.
        let facing = looks.filter(|_| side_on).map_or(facing, |looks| across.dot(looks));
        let inward = if facing > 0.0 { across } else { -across };
        if looks.is_some_and(|looks| looks.dot(inward) < 0.0) {
            let degrees = words.bearing.unwrap_or_default();
            let other = if degrees >= 180.0 { degrees - 180.0 } else { degrees + 180.0 };
            let message = format!(
                "{degrees} looks out to the road; the bearing is the heading of someone coming in, here {other} (0 is \
                 north, 90 east)"
            );
            self.notes.property(&who, "bearing", message);
            return None;
        }
        // `across` points left of the line from a to b: with it inward, a is on the left.
        let (left, right) = if facing > 0.0 { (a, b) } else { (b, a) };
        let drawn: Vec<(Who, bool)> =
            near.iter().map(|(.., road)| (road.who.clone(), road.centerline.is_some())).collect();
        let mut roads = near
            .into_iter()
            .map(|(_, _, road)| self.settle_road(road, center))
            .collect::<Option<Vec<Road>>>()?;
        let leading = leads_into_turnaround(&roads, &drawn).unwrap_or_default();
        let beside_gate = usize::from(leading > 0);
        roads[..=leading].rotate_right(1);
        self.check_lead(&drawn[leading].0, &roads, beside_gate, (left, right), units)?;
        let skew_rad = skew(&roads, beside_gate, center, right - left);
        let gate = Gate { left, right, inward, post, leaves, anchor, setback_m, skew_rad };
        let mut whos: Vec<Who> = drawn.into_iter().map(|(who, _)| who).collect();
        whos[..=leading].rotate_right(1);
        let roads = roads.into_iter().zip(whos).collect();
        Some(GateAtRoad { gate, who, roads, beside_gate })
    }

    /// Checks that the first road leads to the gate and does not run on through it.
    fn check_lead(
        &mut self,
        who: &Who,
        roads: &[Road],
        beside_gate: usize,
        (left, right): (Point, Point),
        units: Units,
    ) -> Option<()> {
        let road = roads.first()?;
        let center = (left + right) * 0.5;
        for (end, word) in [(End::First, "start"), (End::Last, "end")] {
            let stands_in = |ground: Ground| [left, center, right].iter().any(|p| covers(&ground, *p));
            if continuation(road, end).is_some_and(stands_in) {
                let message = format!(
                    "the gate stands where this road goes on beyond its {word}; draw the road as far as it passes \
                     the gate, or leave that end out of \"continues\""
                );
                self.notes.property(who, "continues", message);
                return None;
            }
        }
        if approaches(roads, beside_gate, center, None).iter().all(|approach| approach.no_way.is_some()) {
            let long = length(&road.centerline);
            let message = format!(
                "vehicles come to the gate along this road, and it is {} long as drawn, too short for one to come \
                 from; draw more of it, or say which end goes on, like \"continues\": \"start\"",
                show(long, units, Round::Nearest)
            );
            self.notes.fault(who, "/geometry/coordinates", "", message);
            return None;
        }
        Some(())
    }

    fn gate_words(&mut self, who: &Who, words: &GateWords) -> (Post, Leaves, Anchor) {
        let hinge = words.hinge.map_or(Side::Left, side);
        let arrangement = match words.leaves {
            Some(LeavesWord::Single) => Arrangement::Single(hinge),
            Some(LeavesWord::Slide) => Arrangement::Slide(hinge),
            Some(LeavesWord::None) => Arrangement::None,
            Some(LeavesWord::Double) | None => Arrangement::Double,
        };
        if words.hinge.is_some() && matches!(arrangement, Arrangement::Double | Arrangement::None) {
            let message = "ignored: only a single or sliding leaf has a side";
            self.notes.warn(who, "/properties/hinge", "property \"hinge\"", message);
        }
        let open_deg = words.open_angle_deg.unwrap_or(90.0);
        if !(open_deg > 0.0 && open_deg <= 180.0) {
            let message = format!("must be more than 0 and at most 180 degrees, and is {open_deg}");
            self.notes.property(who, "open_angle_deg", message);
        }
        let (width, depth, top) = match &words.post {
            None => (None, None, None),
            Some(PostEntry::Square(side)) => (Some(*side), None, None),
            Some(PostEntry::Measures(post)) => (post.width, post.depth, post.top),
        };
        let width_m = self.positive(who, "post", width, POST_M);
        let depth_m = self.positive(who, "post", depth, width_m);
        let post = Post { width_m, depth_m, top_m: self.positive(who, "post", top, POST_TOP_M) };
        let before = self.notes.faults.len();
        let leaves = Leaves {
            arrangement,
            opens: if words.opens == Some(SwingWord::Out) { Swing::Out } else { Swing::In },
            open_angle_rad: open_deg.to_radians(),
            thickness_m: self.positive(who, "thickness", words.thickness, LEAF_THICKNESS_M),
            bottom_m: self.at_least_zero(who, "bottom", words.bottom, LEAF_BOTTOM_M),
            top_m: self.at_least_zero(who, "top", words.top, LEAF_TOP_M),
        };
        if self.notes.faults.len() == before && leaves.top_m < leaves.bottom_m {
            let (top, bottom) = (self.notes.length(leaves.top_m), self.notes.length(leaves.bottom_m));
            let key = if words.top.is_some() { "top" } else { "bottom" };
            self.notes.property(who, key, format!("the leaf's top, {top}, is below its bottom, {bottom}"));
        }
        let anchor = match words.anchor {
            None | Some(AnchorWord::Center) => Anchor::Center,
            Some(AnchorWord::Left) => Anchor::Side(Side::Left),
            Some(AnchorWord::Right) => Anchor::Side(Side::Right),
            Some(AnchorWord::Free) => Anchor::Free,
        };
        (post, leaves, anchor)
    }

    /// A road with its center line; for one drawn as a polygon it is found from the outline.
    fn settle_road(&mut self, road: DrawnRoad, center: Point) -> Option<Road> {
        let DrawnRoad { who, surface, centerline, usage, continues, speed } = road;
        if let Some((centerline, width_m)) = centerline {
            return Some(Road { surface, centerline, width_m, usage, continues, speed });
        }
        let Some(Middle { line: centerline, width_m, branches }) = middle(&surface, center) else {
            let message = "no way to tell where this road runs; draw it as a line with a \"width\"";
            self.notes.fault(&who, "/geometry", "geometry", message);
            return None;
        };
        if branches {
            let message = "another road branches off within this outline, and no vehicle is studied along it; draw \
                           each road as a feature of its own";
            self.notes.warn(&who, "/geometry", "geometry", message);
        }
        Some(Road { surface, centerline, width_m, usage, continues, speed })
    }
}

/// The unit vector across a surface's edge at the place on it nearest to a point, out of the surface.
fn outward(surface: &Ground, p: Point) -> Option<Point> {
    let (i, _) = nearest_on(surface.edges(), p)?;
    let (a, b) = surface.edges().nth(i)?;
    // Every ring is counterclockwise and has its inside on the left: the surface for the outer one, a hole for the others.
    let left = (b - a).unit()?.left();
    Some(if i < surface.outer.0.len() { -left } else { left })
}

/// The index of the road drawn as a line that leads into the turnaround the gate stands at, if it stands at one: the
/// nearest of those that meet it.
fn leads_into_turnaround(roads: &[Road], drawn: &[(Who, bool)]) -> Option<usize> {
    let bulb = roads.first()?;
    let long = length(&bulb.centerline);
    if drawn.first()?.1 || long >= TURNAROUND_RATIO * bulb.width_m {
        return None;
    }
    let meets = |road: &Road| {
        meeting(&road.centerline, &bulb.surface).is_some_and(|m| m.apart_m <= 0.5 * road.width_m)
    };
    (1..roads.len()).find(|i| drawn.get(*i).is_some_and(|(_, is_line)| *is_line) && meets(&roads[*i]))
}

/// The angle of the gate line against the road beside it, in (-π/2, π/2]. If the road ends at the gate, against the
/// road's end, which lies across it; at a turnaround, against its edge.
pub(super) fn skew(roads: &[Road], beside: usize, center: Point, gate_line: Point) -> f64 {
    let along = if beside == 0 {
        roads.first().and_then(|road| {
            let tangent = road.tangent_beside(center)?;
            Some(if ends_at(road, center).is_some() { tangent.left() } else { tangent })
        })
    } else {
        roads.get(beside).and_then(|bulb| {
            let (_, edge) = nearest_on(bulb.surface.edges(), center)?;
            Some((center - edge).unit()?.left())
        })
    };
    let Some(along) = along else { return 0.0 };
    let turned = wrap_angle(gate_line.angle() - along.angle());
    if turned > FRAC_PI_2 {
        turned - PI
    } else if turned <= -FRAC_PI_2 {
        turned + PI
    } else {
        turned
    }
}
