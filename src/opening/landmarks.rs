//! Landmarks for a driver: which part of the vehicle comes level with what stands beside its path.
use crate::geometry::{Outline, Point, Pose, distance};
use crate::motion::{Chain, Direction, State};
use crate::site::{Obstacle, Side, Site};
use crate::vehicle::{PartKind, Vehicle};

/// Things farther to the side than this are no landmarks, meters.
const FARTHEST_M: f64 = 15.0;
/// Things farther ahead or behind than this are no landmarks either, meters: the distance cannot be paced off.
const FARTHEST_ALONG_M: f64 = 25.0;
/// A meter to the side makes a landmark worse by this many meters along.
const ASIDE_WEIGHT: f64 = 0.15;
/// Bonus of a post over other landmarks, meters: everyone knows which it is.
const POST_BONUS_M: f64 = 1.5;
/// An object longer than this, along the vehicle, is referenced by its ends.
const LONG_M: f64 = 1.5;
/// An object lower than this is not visible from the seat (a ditch, a curb), ...
const LEAST_TOP_M: f64 = 0.3;
/// ... and one that begins higher is overhead, not beside the path.
const MOST_BOTTOM_M: f64 = 2.0;

/// End of a long thing that is meant, as the vehicle is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum End {
    /// All of the thing: it is short.
    Whole,
    /// The end that is reached first.
    Near,
    /// The end that is reached last.
    Far,
}

impl End {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Whole => "whole",
            Self::Near => "near-end",
            Self::Far => "far-end",
        }
    }
}

/// A part of a vehicle that a driver or a spotter can see come level with something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Reference {
    /// The front of the lead unit.
    FrontBumper,
    /// The mirror on the driver's side; where there is none, the driver's seat, taken at the front axle.
    DriverMirror,
    /// The rear wheels (rear axle group) of the lead unit.
    RearWheels,
    /// The rear end of the last unit.
    RearEnd,
}

impl Reference {
    /// The word results.json uses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::FrontBumper => "front-bumper",
            Self::DriverMirror => "driver-mirror",
            Self::RearWheels => "rear-wheels",
            Self::RearEnd => "rear-end",
        }
    }

    /// Handicap as a landmark, meters along, against the best part: for what is hard to see from the seat.
    const fn handicap_m(self, direction: Direction) -> f64 {
        match (self, direction) {
            (Self::FrontBumper, Direction::Forward) | (Self::RearEnd, Direction::Reverse) => 0.1,
            (Self::DriverMirror, _) => 0.0,
            (Self::RearWheels, _) => 0.5,
            (Self::RearEnd, Direction::Forward) | (Self::FrontBumper, Direction::Reverse) => 1.0,
        }
    }
}

/// A place of the vehicle on its path, given by what stands beside it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Landmark {
    /// Part of the vehicle.
    pub reference: Reference,
    /// Thing that the part comes level with: "left post", or the label of an obstacle. Left and right are as one faces
    /// the gate from the road.
    pub thing: String,
    /// End of the thing, if it is long.
    pub end: End,
    /// Point on the thing, site meters.
    pub at: Point,
    /// Remaining distance, along the unit that the part belongs to and in the direction that it is driven, until the
    /// part is level with the thing; negative past it. Meters.
    pub short_m: f64,
    /// Distance from the unit's middle line to the thing, left positive, meters.
    pub aside_m: f64,
}

/// Landmarks around a gate.
pub(super) struct Landmarks {
    things: Vec<(String, Vec<Point>, bool)>,
    references: Vec<(Reference, usize, f64)>,
    chain: Chain,
}

impl Landmarks {
    /// Posts of a site and its obstacles with a unique name, for one vehicle.
    pub(super) fn new(site: &Site, vehicle: &Vehicle) -> Self {
        let gate = &site.gate;
        let along = (gate.right - gate.left).unit().unwrap_or(Point::new(1.0, 0.0));
        let post = |face: Point, away: Point| {
            let half = gate.inward * (0.5 * gate.post.depth_m);
            let out = face + away * gate.post.width_m;
            vec![face - half, face + half, out + half, out - half]
        };
        let mut things = vec![
            ("left post".to_owned(), post(gate.left, along * -1.0), true),
            ("right post".to_owned(), post(gate.right, along), true),
        ];
        let seen =
            |o: &&Obstacle| o.bottom_m < MOST_BOTTOM_M && o.top_m >= LEAST_TOP_M && o.label != "obstacle";
        for obstacle in site.obstacles.iter().filter(seen) {
            // Of several things with one name nobody knows which is meant; nor where an obstacle has the name of a
            // post.
            let namesakes = site.obstacles.iter().filter(|other| other.label == obstacle.label);
            let is_post = things[..2].iter().any(|(post, ..)| *post == obstacle.label);
            if is_post || namesakes.map(|other| other.shapes.len()).sum::<usize>() > 1 {
                continue;
            }
            for shape in &obstacle.shapes {
                things.push((obstacle.label.clone(), shape.outer.0.clone(), false));
            }
        }
        let lead = &vehicle.units[0];
        let last = vehicle.units.len() - 1;
        let front = lead.wheelbase_m + lead.front_overhang_m;
        let driver = if site.drives_on == Side::Right { Side::Left } else { Side::Right };
        let mirrors = lead.parts.iter().filter(|part| part.kind == PartKind::Mirror);
        let middles = mirrors.map(|part| middle(&part.outline));
        let mirror = middles.filter(|m| (m.y > 0.0) == (driver == Side::Left)).map(|m| m.x);
        let mirror_x = mirror.fold(None, |best: Option<f64>, x| Some(best.map_or(x, |b| b.max(x))));
        let references = vec![
            (Reference::FrontBumper, 0, front),
            (Reference::DriverMirror, 0, mirror_x.unwrap_or(lead.wheelbase_m)),
            (Reference::RearWheels, 0, 0.0),
            (Reference::RearEnd, last, -vehicle.units[last].rear_overhang_m),
        ];
        Self { things, references, chain: Chain::of(vehicle) }
    }

    /// Returns the best landmark for a vehicle in this state that drives on in this direction; `None` where nothing
    /// stands near.
    pub(super) fn best(&self, state: &State, direction: Direction) -> Option<Landmark> {
        let poses = self.chain.unit_poses(state);
        let mut best: Option<(f64, Landmark)> = None;
        for &(reference, unit, x) in &self.references {
            let pose: &Pose = &poses[unit];
            for (thing, corners, is_post) in &self.things {
                for (end, at) in places(pose, (x, direction), corners) {
                    let local = pose.to_body(at);
                    let along_m = local.x - x;
                    if along_m.abs() > FARTHEST_ALONG_M || local.y.abs() > FARTHEST_M {
                        continue;
                    }
                    let worse = along_m.abs()
                        + ASIDE_WEIGHT * local.y.abs()
                        + reference.handicap_m(direction)
                        + if *is_post { 0.0 } else { POST_BONUS_M };
                    if best.as_ref().is_none_or(|(least, _)| worse < *least) {
                        let short_m = direction.sign() * along_m;
                        let (thing, aside_m) = (thing.clone(), local.y);
                        best = Some((worse, Landmark { reference, thing, end, at, short_m, aside_m }));
                    }
                }
            }
        }
        best.map(|(_, landmark)| landmark)
    }
}

fn middle(outline: &Outline) -> Point {
    let n = f64::from(u32::try_from(outline.0.len().max(1)).unwrap_or(u32::MAX));
    outline.0.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / n)
}

/// Points of a thing that a part `x` along a unit can come level with: the nearest one of a thing that is short along
/// the unit, both ends of a long one.
fn places(pose: &Pose, (x, direction): (f64, Direction), corners: &[Point]) -> Vec<(End, Point)> {
    let along = |p: &Point| direction.sign() * pose.to_body(*p).x;
    let first = corners.iter().min_by(|a, b| along(a).total_cmp(&along(b)));
    let last = corners.iter().max_by(|a, b| along(a).total_cmp(&along(b)));
    let (Some(first), Some(last)) = (first, last) else { return Vec::new() };
    if along(last) - along(first) > LONG_M {
        return vec![(End::Near, *first), (End::Far, *last)];
    }
    let middle = pose.to_site(Point::new(x, 0.0));
    let n = corners.len();
    let on = (0..n).map(|i| distance::nearest_on_segment(middle, corners[i], corners[(i + 1) % n]));
    let nearest = on.min_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
    nearest.map(|at| (End::Whole, at)).into_iter().collect()
}
