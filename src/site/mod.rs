//! A site plan, settled: no units, no references, no defaults left to guess, everything in meters in one frame.
//!
//! [`Site`] is the input of everything that follows. A `Site` that [`read()`] returned keeps these promises: every
//! number is finite, every ring is simple and counterclockwise, the gate has two different faces, a road leads to it in
//! one direction of travel at least, and heights are in order.
//!
#![doc = include_str!("README.md")]
pub mod changes;
mod consistency;
mod faces;
mod fault;
mod frame;
mod gate;
mod in_opening;
mod joined;
mod lines;
mod narrow_ground;
mod other_roads;
mod own_lane;
mod properties;
mod read;
mod rewrite;
mod road_outline;
mod road_pieces;
mod roles;
mod room;
mod schema;
mod settings;
mod settle;
mod shapes;
pub mod sketch;
mod source;
mod speed;
mod table;
mod travel;

pub use consistency::short_roads;
pub use faces::Faces;
pub use fault::{Fault, MAX_PLAN_BYTES, PlanError, check_size};
pub(crate) use lines::{beside, covers, left_half_of_strip, strip, wall, within};
pub use read::{read, read_source};
pub use rewrite::{RewriteError, rewrite};
pub use roles::roles_schema;
pub use room::{MoreRoom, YardSide};
pub use schema::plan_schema;
pub(crate) use settle::TALL_M;
pub use source::{Given, Source, plain_text};
pub use speed::{MOST_SPEED_KMH, Speed, SpeedKind, SpeedUnit};
pub use travel::{Along, CONTINUES_M, Lane, NotAsked, Travel};

use crate::geometry::{Outline, Point, Shape, Units};

/// Settled site plan.
#[derive(Clone, Debug)]
pub struct Site {
    /// Title of the plan.
    pub title: String,
    /// Description of the plan; empty if it has none.
    pub note: String,
    /// Entries for the title block of printed sheets.
    pub permit: Permit,
    /// Units in which lengths are shown, as the plan requests.
    pub units: Units,
    /// The side of the road people drive on.
    pub drives_on: Side,
    /// Conversion between site meters and the plan's own coordinates.
    pub frame: Frame,
    /// True if y points north. In a sketch of unknown orientation, directions of travel are named relative to the gate.
    pub north_known: bool,
    /// Roads that vehicles come from. At least one; the first is the one that leads to the gate.
    pub roads: Vec<Road>,
    /// Index in `roads` of the road nearest to the gate, from whose edge the setback is measured: 0, or 1 where the
    /// gate stands at a turnaround that the first road leads into.
    pub beside_gate: usize,
    /// Surface that tires may use besides the roads. Empty: the land between road and gate and behind the gate.
    pub drives: Vec<Ground>,
    /// The gate.
    pub gate: Gate,
    /// Fences in or at the gate line and elsewhere.
    pub fences: Vec<Fence>,
    /// Everything else that stands (or, for a ditch, that tires must not enter).
    pub obstacles: Vec<Obstacle>,
    /// Places where vehicles must end up standing. Empty: anywhere wholly inside.
    pub spots: Vec<Spot>,
    /// Paths the user drew, to be checked as drawn.
    pub routes: Vec<Route>,
    /// Property lines and right-of-way lines: drawn, and nothing else.
    pub boundaries: Vec<Boundary>,
    /// The vehicles to be studied, in the plan's order.
    pub vehicles: Vec<VehicleRequest>,
    /// Warnings about things that were ignored or look odd though they can be used, each with its place in the file.
    pub warnings: Vec<String>,
}

/// Entries of the title block of printed sheets; empty where the plan gives none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Permit {
    /// The project; empty: the plan's title.
    pub project: String,
    /// Address of the place.
    pub address: String,
    /// Parcel number.
    pub parcel: String,
    /// Preparer of the sheets.
    pub prepared_by: String,
    /// Date of preparation, as it is to be printed.
    pub date: String,
}

impl Site {
    /// Index in [`Self::roads`] of the turnaround that the gate stands at, if it stands at one. It is drawn as an
    /// outline without a clear direction: its center line has no meaning.
    #[must_use]
    pub fn turnaround(&self) -> Option<usize> {
        (self.beside_gate > 0).then_some(self.beside_gate)
    }
}

/// Left or right, of a driver or of someone walking in through the gate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// "left" or "right".
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// Relation of the plan's coordinates to site meters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Frame {
    /// Longitude and latitude (RFC 7946); site meters are an azimuthal equidistant projection about this place.
    LonLat {
        /// Longitude of the site origin, degrees.
        lon_deg: f64,
        /// Latitude of the site origin, degrees.
        lat_deg: f64,
    },
    /// A tape-measure sketch: plan coordinates times this are site meters.
    Local {
        /// Meters in one unit of the sketch: 1 or 0.3048.
        meters_per_unit: f64,
    },
}

/// Polygon of ground with holes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ground {
    /// Label in the plan, or the role.
    pub label: String,
    /// Outer ring.
    pub outer: Outline,
    /// Holes.
    pub holes: Vec<Outline>,
}

impl Ground {
    /// Edges of the outer ring and of the holes.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        std::iter::once(&self.outer).chain(&self.holes).flat_map(Outline::edges)
    }
}

/// Road: its surface, and the line from which lanes and directions are measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Road {
    /// The traveled way.
    pub surface: Ground,
    /// Center line, in the direction drawn; at least two points. For a road given as a polygon it runs along the
    /// middle, beside the gate.
    pub centerline: Vec<Point>,
    /// Width of the traveled way in front of the gate.
    pub width_m: f64,
    /// Part of the road that a vehicle may use once it has started to turn in.
    pub usage: RoadUse,
    /// Ends of the center line where the road continues beyond what is drawn.
    pub continues: RoadEnds,
    /// Speed of its traffic, if the plan gives it.
    pub speed: Option<Speed>,
}

/// Ends of a road's center line. A road ends where it is drawn, unless the plan says that it continues.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RoadEnds {
    /// The first point. A road drawn as a polygon starts at the right of someone entering the gate; one that ends at
    /// the gate starts far from it.
    pub start: bool,
    /// The last point.
    pub end: bool,
}

/// Part of the road that a vehicle may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum RoadUse {
    /// The whole width.
    Full,
    /// The half on the side vehicles drive on.
    OwnLane,
}

/// Gate as planned.
///
/// The gate's own frame has its origin midway between the faces, `u` along the gate line toward the right face and `v`
/// inward; `left` and `right` are as seen by someone entering from the road.
#[derive(Clone, Debug, PartialEq)]
pub struct Gate {
    /// Inner face of the left post.
    pub left: Point,
    /// Inner face of the right post.
    pub right: Point,
    /// Unit vector across the gate line, away from the road.
    pub inward: Point,
    /// Posts or columns, both alike.
    pub post: Post,
    /// Leaves, and how they stand open.
    pub leaves: Leaves,
    /// Part of the opening that stays put when it is widened.
    pub anchor: Anchor,
    /// Distance from the edge of the traveled way to the gate line, at the middle of the opening.
    pub setback_m: f64,
    /// Angle of the gate line against the road beside it, radians in (-π/2, π/2]; 0 is parallel, positive when
    /// the gate line is turned counterclockwise from the road.
    pub skew_rad: f64,
}

impl Gate {
    /// Opening as drawn: inner face to inner face.
    #[must_use]
    pub fn opening_m(&self) -> f64 {
        self.left.distance(self.right)
    }
    /// Middle of the opening as drawn.
    #[must_use]
    pub fn center(&self) -> Point {
        (self.left + self.right) * 0.5
    }
    /// Unit vector along the gate line from the left face to the right one.
    #[must_use]
    pub fn along(&self) -> Point {
        -self.inward.left()
    }
    /// Transforms a site point into the gate's frame (u along, v inward).
    #[must_use]
    pub fn to_gate(&self, p: Point) -> Point {
        let d = p - self.center();
        Point::new(d.dot(self.along()), d.dot(self.inward))
    }
    /// Transforms a point of the gate's frame into site coordinates.
    #[must_use]
    pub fn to_site(&self, uv: Point) -> Point {
        self.center() + self.along() * uv.x + self.inward * uv.y
    }
}

/// Gate post or masonry column. Its inner face is the end of the opening; across the gate line it is centered on that
/// line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Post {
    /// Width along the gate line.
    pub width_m: f64,
    /// Depth across the gate line, half on each side.
    pub depth_m: f64,
    /// Height of its top above ground.
    pub top_m: f64,
}

/// Leaves of a gate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leaves {
    /// Number of leaves and their motion.
    pub arrangement: Arrangement,
    /// Direction in which swinging leaves stand open.
    pub opens: Swing,
    /// Angle from the closed position at which they stand open; π/2 is square to the gate line.
    pub open_angle_rad: f64,
    /// Thickness of a leaf.
    pub thickness_m: f64,
    /// Height of the leaf's underside above ground.
    pub bottom_m: f64,
    /// Height of the leaf's top above ground.
    pub top_m: f64,
}

/// Number of leaves of a gate and their motion.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrangement {
    /// One swinging leaf as long as the opening, hinged on this side.
    Single(Side),
    /// Two swinging leaves, each half as long as the opening.
    Double,
    /// One leaf sliding behind the fence on this side.
    Slide(Side),
    /// No leaf: an opening between posts.
    None,
}

impl Arrangement {
    /// True if its leaves swing on hinges.
    ///
    /// ```
    /// use wideenough::site::{Arrangement, Side};
    /// assert!(Arrangement::Double.swings() && !Arrangement::Slide(Side::Left).swings());
    /// ```
    #[must_use]
    pub const fn swings(self) -> bool {
        matches!(self, Self::Single(_) | Self::Double)
    }
}

/// Direction in which a leaf swings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Swing {
    /// Away from the road.
    In,
    /// Toward the road.
    Out,
}

/// Part of a gate that stays put when the opening is widened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The middle: both posts move alike.
    Center,
    /// This post: the other one moves.
    Side(Side),
    /// Nothing: the opening stands anywhere along the gate line.
    Free,
}

/// Fence.
#[derive(Clone, Debug, PartialEq)]
pub struct Fence {
    /// Label in the plan, or "fence".
    pub label: String,
    /// Center line, two points or more.
    pub line: Vec<Point>,
    /// Thickness, half on each side of the line.
    pub thickness_m: f64,
    /// Height of its top.
    pub top_m: f64,
}

/// Obstacle: something that stands in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Obstacle {
    /// Label in the plan, or "obstacle".
    pub label: String,
    /// Ground that it stands on, in one piece or several.
    pub shapes: Vec<Shape>,
    /// Height of its underside: 0 for a wall, 3 m for a limb over the drive.
    pub bottom_m: f64,
    /// Height of its top: 0 for a ditch, which only tires meet.
    pub top_m: f64,
}

/// Place where a vehicle must end up standing: its lead unit's footprint must cover this point.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Label in the plan, or "spot".
    pub label: String,
    /// Point to be covered.
    pub at: Point,
    /// Heading that the last unit must have there, within 5 degrees, if the plan gives one (in the file as on a
    /// compass, here counterclockwise from east).
    pub heading_rad: Option<f64>,
    /// Vehicles that it is for; empty: all.
    pub vehicles: Vec<String>,
}

/// Path drawn by the user.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    /// Label in the plan, or "route".
    pub label: String,
    /// Vehicle that drives it.
    pub vehicle: String,
    /// Point of the vehicle that follows the line.
    pub track: RouteTrack,
    /// One line per leg; legs alternate forward and reverse.
    pub legs: Vec<Vec<Point>>,
}

/// Line of ownership or of a right of way. It stands for nothing on the ground: vehicles cross it.
#[derive(Clone, Debug, PartialEq)]
pub struct Boundary {
    /// Label in the plan, or its kind: "property line", "right of way".
    pub label: String,
    /// The line.
    pub line: Vec<Point>,
}

/// Point of a vehicle that follows a drawn route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum RouteTrack {
    /// Center of the lead unit's front axle.
    FrontAxle,
    /// Center of the lead unit's rear axle (group).
    RearAxle,
}

/// Vehicle to be studied, with its accepted visits and the directions of travel that it must manage.
#[derive(Clone, Debug, PartialEq)]
pub struct VehicleRequest {
    /// Library name or file path, as written.
    pub vehicle: String,
    /// Accepted visits: any one of them is enough. Empty: driving in and backing out must be possible.
    pub visits: Vec<Visit>,
    /// Directions of travel it must be able to come from, as compass words; empty: all that lead to the gate.
    pub travels: Vec<String>,
}

/// Arrival and departure of a vehicle.
///
/// Without tire slip a path driven backward covers the same ground: backing out is driving in reversed, and driving out
/// forward is backing in reversed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Visit {
    /// Drives in forward and backs out along the same path.
    DriveInBackOut,
    /// Backs in and drives out forward along the same path.
    BackInDriveOut,
    /// Drives in forward, turns around inside and drives out forward.
    TurnAround,
}

impl Visit {
    /// Word used in plans.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::DriveInBackOut => "drive-in-back-out",
            Self::BackInDriveOut => "back-in-drive-out",
            Self::TurnAround => "turn-around",
        }
    }

    /// Maneuvers through the gate that make up the visit, driven as they are or reversed.
    #[must_use]
    pub const fn maneuvers(self) -> &'static [Maneuver] {
        match self {
            Self::DriveInBackOut => &[Maneuver::DriveIn],
            Self::BackInDriveOut => &[Maneuver::BackIn],
            Self::TurnAround => &[Maneuver::DriveIn, Maneuver::BackIn],
        }
    }
}

impl From<Maneuver> for Visit {
    /// Returns the visit that goes out along the path it came in by.
    fn from(maneuver: Maneuver) -> Self {
        match maneuver {
            Maneuver::DriveIn => Self::DriveInBackOut,
            Maneuver::BackIn => Self::BackInDriveOut,
        }
    }
}

/// Maneuver that brings a vehicle in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Maneuver {
    /// Forward all the way.
    DriveIn,
    /// Forward along the road without entering the gate, stop, reverse in.
    BackIn,
}

impl Maneuver {
    /// Word used in files and commands.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::DriveIn => "drive-in",
            Self::BackIn => "back-in",
        }
    }
}
