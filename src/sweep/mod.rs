//! The ground a path covers: envelopes of the body and of the tires, with a bound on their error on both sides.
//!
//! # How
//! Every part of a vehicle is convex. Between two poses close together it is covered by the convex hull of both;
//! the envelope is the union of those hulls, taken pairwise in the order they are driven (`union`).
//!
//! # How good
//! Over a step of length L (rolled by the lead's axle) let P bound |p″(s)| of every corner, W the rate at which the
//! part turns, D its diameter. A point moves off its chord by at most e = P L²/8.
//! - *Nothing is left out*: a point of a convex part is a mean of corners, so it stays within e of the hull.
//! - *Little is added*: a point of the hull is (1−λ)a₁ + λb₂ with a, b points of the part at the two poses. The
//!   part's own point (1−λ)a + λb passes, at the pose a share λ along, within λ(1−λ)|Δa − Δb| + e of it, and
//!   |Δa − Δb| ≤ W L D. So the hull reaches beyond the ground truly covered by at most W L D/4 + e.
//!
//! The second term is of first order in L and rules the step: hulls of far-apart poses fill in the inner side of a
//! turn by centimeters while hardly missing anything outside. Steps are chosen so that both stay within the
//! tolerance; P and W come from `step`, which bounds them over the step and not only at its ends.
//!
#![doc = include_str!("README.md")]
use crate::geometry::distance::ring_contains;
use crate::geometry::{Outline, Point};
use crate::motion::{Chain, Path};
use crate::vehicle::{Part, PartKind, Tire, Unit, Vehicle};
use geo::{Area, MultiPolygon};

mod covered;
mod step;
mod union;

pub use covered::Covered;
pub use union::union_in_order;

/// Bound on the error of an envelope good enough to draw: half a centimeter.
pub const DRAWING_TOLERANCE_M: f64 = 0.005;
/// Bound on the error of an envelope for measuring.
pub const FINE_TOLERANCE_M: f64 = 0.001;
/// Share of the tolerance the hulls may use up; the rest is for removing corners that do not matter.
const HULL_SHARE: f64 = 0.8;
/// Bound on the movement of an outline by rounding in the union: it snaps to a grid of 2⁻³¹ of the site's extent (50 nm
/// on 100 m) in each of some twenty rounds.
const ROUNDING_M: f64 = 2e-6;
/// The finest tolerance that leaves room for [`ROUNDING_M`].
const LEAST_TOLERANCE_M: f64 = 2e-5;

/// A tire that stands out of the body by less is flush with it: a millimeter, the finest that vehicles are measured to.
const FLUSH_M: f64 = 1e-3;

/// The part of a vehicle that an envelope covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cover {
    /// Body and mirrors of all units, with tires that stand out of them: the swept path.
    Body,
    /// Contact of all tires with the ground: the wheel tracks.
    Tires,
    /// Body and mirrors of one unit, with tires that stand out of them.
    UnitBody(usize),
    /// Tires of one unit.
    UnitTires(usize),
}

/// Ground covered, as polygons in site meters, and bounds on their error.
///
/// The ground truly covered lies inside `polygons` grown by `under_m`; `polygons` lie inside the ground truly covered
/// grown by `over_m`. Neither exceeds the requested tolerance.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Envelope {
    /// The polygons: outer rings counterclockwise, holes clockwise, each ring closed by its first corner.
    pub polygons: MultiPolygon<f64>,
    /// Bound on the reach of the polygons beyond the ground truly covered.
    pub over_m: f64,
    /// Bound on the reach of the ground truly covered beyond the polygons.
    pub under_m: f64,
}

impl Envelope {
    /// Area covered, m².
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        self.polygons.unsigned_area()
    }

    /// Rings of each polygon, the outer one first; a ring does not repeat its first corner.
    #[must_use]
    pub fn rings(&self) -> Vec<Vec<Outline>> {
        let open = |ring: &geo::LineString<f64>| {
            let n = ring.0.len().saturating_sub(1);
            Outline(ring.0.iter().take(n).map(|c| Point::from(*c)).collect())
        };
        self.polygons
            .iter()
            .map(|p| std::iter::once(p.exterior()).chain(p.interiors()).map(open).collect())
            .collect()
    }
}

/// The reason there is no envelope.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SweepError {
    /// The tolerance is not a positive number, or finer than arithmetic allows.
    #[error("a swept path cannot be drawn to {0} m; give a tolerance of 0.00002 m or more")]
    Tolerance(f64),
    /// The vehicle or the path holds a number that is not finite.
    #[error("the path or the vehicle holds a number that is not finite, at {station_m} m along")]
    NotFinite {
        /// Distance rolled to the place where it was noticed.
        station_m: f64,
    },
    /// A piece handed to a union has a corner that is not finite.
    #[error("a piece of swept path has a corner that is not a finite number")]
    Corner,
    /// More steps than any drivable path needs.
    #[error(
        "the path would need more than {limit} steps at this tolerance; it is at {station_m} m of {length_m} m"
    )]
    TooFine {
        /// The most steps taken.
        limit: usize,
        /// Distance rolled so far.
        station_m: f64,
        /// Length of the path.
        length_m: f64,
    },
    /// The union of two pieces has an area it cannot have.
    #[error(
        "joining pieces of {first_m2} and {second_m2} m² of swept path gave {union_m2} m², which cannot be right"
    )]
    Union {
        /// Area of one piece.
        first_m2: f64,
        /// Area of the other.
        second_m2: f64,
        /// Area of the union.
        union_m2: f64,
    },
    /// No part of the vehicle is of the requested kind.
    #[error("the vehicle has nothing of the kind asked for")]
    Nothing,
}

/// The ground a part of a vehicle covers along a path led by its rear axle, within `tolerance_m` on both sides.
///
/// # Errors
/// [`SweepError`]; never panics on a path or a vehicle that holds impossible numbers.
///
/// ```
/// use wideenough::geometry::{Outline, Point};
/// use wideenough::motion::{Direction, Leg, Path, Segment, State};
/// use wideenough::sweep::{Cover, DRAWING_TOLERANCE_M, envelope};
/// use wideenough::vehicle::{Part, PartKind, Steering, Unit, Vehicle};
/// # let corners = [(-1.0, -1.0), (4.0, -1.0), (4.0, 1.0), (-1.0, 1.0)];
/// # let outline = Outline(corners.map(|(x, y)| Point::new(x, y)).to_vec());
/// # let part = Part { kind: PartKind::Body, outline, bottom_m: 0.2, top_m: 1.5 };
/// # let unit = Unit { name: "car".into(), wheelbase_m: 2.8, front_overhang_m: 1.2, rear_overhang_m: 1.0,
/// #     width_m: 2.0, height_m: 1.5, ground_clearance_m: 0.2, parts: vec![part], tires: vec![], hitch: None };
/// # let steering = Steering { lock_angle_rad: 0.6, max_curvature: 0.25, lock_distance_m: 2.0, ratio: None };
/// # let vehicle = Vehicle { name: "car".into(), title: "Car".into(), about: String::new(), units: vec![unit],
/// #     steering, dimensions: vec![] };
/// // A car 5 m long and 2 m wide, 10 m straight ahead: 15 m by 2 m.
/// let leg = Leg { direction: Direction::Forward, segments: vec![Segment::arc(10.0, 0.0)] };
/// let path = Path { start: State::default(), legs: vec![leg] };
/// let swept = envelope(&vehicle, &path, Cover::Body, DRAWING_TOLERANCE_M).unwrap();
/// assert!((swept.area_m2() - 30.0).abs() < 1e-5);
/// ```
pub fn envelope(
    vehicle: &Vehicle,
    path: &Path,
    cover: Cover,
    tolerance_m: f64,
) -> Result<Envelope, SweepError> {
    sweep(vehicle, &Chain::of(vehicle), 0, path, cover, tolerance_m)
}

/// The ground the body covers when the center of the *front axle* is led along a path, as published turning paths
/// are drawn. The path's states are those of [`Chain::led_by_front_axle`].
///
/// # Errors
/// As [`envelope`].
pub fn body_envelope_led_by_front_axle(
    vehicle: &Vehicle,
    path: &Path,
    tolerance_m: f64,
) -> Result<Envelope, SweepError> {
    if vehicle.units.is_empty() {
        return Err(SweepError::Nothing);
    }
    sweep(vehicle, &Chain::led_by_front_axle(vehicle), 1, path, Cover::Body, tolerance_m)
}

/// A convex piece of a unit that moves: corners in the unit's frame, or a line of tire contact that turns with the
/// steering.
#[derive(Clone, Debug)]
enum Mover {
    Rigid(Vec<Point>),
    Steered { tire: Tire, wheelbase_m: f64 },
}

impl Mover {
    /// The corners in the unit's frame while the lead's curvature is `k`.
    fn corners(&self, k: f64) -> Vec<Point> {
        match self {
            Self::Rigid(corners) => corners.clone(),
            Self::Steered { tire, wheelbase_m } => steered_contact(*tire, *wheelbase_m, k).to_vec(),
        }
    }
}

/// The ends of a steered tire's contact line, in the lead unit's frame: its axis points at the center of the turn.
fn steered_contact(tire: Tire, wheelbase_m: f64, k: f64) -> [Point; 2] {
    let rolling = Point::new(1.0 - k * tire.center.y, k * wheelbase_m);
    let across = rolling.unit().unwrap_or(Point::new(1.0, 0.0)).left() * (tire.width_m / 2.0);
    [tire.center - across, tire.center + across]
}

/// The movers of a unit for a cover.
fn movers(unit: &Unit, body: bool, steers: bool) -> Vec<Mover> {
    if body {
        let solid = |p: &&Part| p.outline.0.len() > 1;
        let (tires, parts): (Vec<&Part>, Vec<&Part>) =
            unit.parts.iter().filter(solid).partition(|p| p.kind == PartKind::Tire);
        // A tire under the body adds nothing to its ground, nor does one that is flush with it.
        let is_under = |p: Point| parts.iter().any(|part| ring_contains(&part.outline.0, p));
        let stands_out = |tire: &&&Part| {
            let corners = &tire.outline.0;
            let middle = (corners[0] + corners[corners.len() / 2]) * 0.5;
            let inside = |corner: &Point| *corner + (middle - *corner).unit().unwrap_or_default() * FLUSH_M;
            corners.iter().any(|corner| !is_under(inside(corner)))
        };
        let out = tires.iter().filter(stands_out);
        return parts.iter().chain(out).map(|p| Mover::Rigid(p.outline.0.clone())).collect();
    }
    let across = |tire: &Tire| {
        let half = Point::new(0.0, tire.width_m / 2.0);
        vec![tire.center - half, tire.center + half]
    };
    let mover = |tire: &Tire| {
        if tire.steered && steers {
            Mover::Steered { tire: *tire, wheelbase_m: unit.wheelbase_m }
        } else {
            Mover::Rigid(across(tire))
        }
    };
    unit.tires.iter().map(mover).collect()
}

fn sweep(
    vehicle: &Vehicle,
    chain: &Chain,
    first_pose: usize,
    path: &Path,
    cover: Cover,
    tolerance_m: f64,
) -> Result<Envelope, SweepError> {
    if !(tolerance_m.is_finite() && tolerance_m >= LEAST_TOLERANCE_M) {
        return Err(SweepError::Tolerance(tolerance_m));
    }
    let body = matches!(cover, Cover::Body | Cover::UnitBody(_));
    let wanted = |index: usize| match cover {
        Cover::Body | Cover::Tires => true,
        Cover::UnitBody(i) | Cover::UnitTires(i) => i == index,
    };
    let mut parts = Vec::new();
    let (mut over, mut under) = (0.0_f64, 0.0_f64);
    for (index, unit) in vehicle.units.iter().enumerate().filter(|(index, _)| wanted(*index)) {
        for mover in movers(unit, body, index == 0 && first_pose == 0) {
            let hulls = step::hulls(chain, index + first_pose, path, &mover, tolerance_m * HULL_SHARE)?;
            over = over.max(hulls.over_m);
            under = under.max(hulls.under_m);
            parts.push(union_in_order(hulls.pieces)?);
        }
    }
    let whole = union::tree(parts)?;
    if whole.0.is_empty() {
        return Err(SweepError::Nothing);
    }
    // The part of the tolerance that the hulls left unused on the worse side is spent on removing corners.
    let spare = tolerance_m - over.max(under) - ROUNDING_M;
    let (polygons, moved) = union::tidy(whole, spare.max(0.0));
    Ok(Envelope { polygons, over_m: over + moved + ROUNDING_M, under_m: under + moved + ROUNDING_M })
}
