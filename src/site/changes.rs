//! Changes a builder could make to a site, each a function from one settled site to another: the gate further from the
//! road, a wider road, a flared apron, deeper posts, a turned gate line, a gate elsewhere along its line.
//!
//! A change moves all that belongs to it and nothing else. Fences in the gate line go with it, and stay joined where
//! they leave it; roads, drives, obstacles and spots stay where they are unless the change is about them. The doc of
//! each change names what it leaves out; a change that a site does not allow is refused, never adjusted to fit.
use super::gate::{LEAST_FACING, skew};
use super::lines::{covers, self_meetings, strip};
use super::travel::ends_at;
use super::{Fence, Gate, Ground, Leaves, Obstacle, Road, Site};
use crate::geometry::polyline::{nearest_on, segments};
use crate::geometry::{Outline, Point, trig};

/// A change to a site. Lengths in meters, angles in radians.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Change {
    /// The gate this much further from the road (nearer, if negative), square to the road's edge: gate line, posts,
    /// leaves, and the corners of fences that stand in the gate line. A fence that turns off the line stays joined to
    /// it. Drives stay as they are.
    Setback(f64),
    /// The gate's road this much wider (narrower, if negative): its far edge moves, and with it the road's middle line
    /// and everything wholly on the far side of the middle line. The edge beside the gate stays.
    RoadWidth(f64),
    /// The drive this much wider on each side where it meets the road (narrower, if negative), tapering evenly to
    /// nothing at the gate line. Ditches and curbs no higher than [`LOW_M`] give way with it; taller obstacles stay.
    ApronFlare(f64),
    /// Posts this much deeper across the gate line (shallower, if negative), half on each side.
    PostDepth(f64),
    /// The gate line turned counterclockwise by this angle about the middle of the opening, with the fences in it; where
    /// one would run into the road it ends.
    Skew(f64),
    /// The gate this much further to the right along its own line (to the left, if negative), seen from the road. The
    /// fences in the line grow on one side and give way on the other.
    Along(f64),
    /// The opening this much wider (narrower, if negative): to both sides, or away from the post that stays, as the
    /// plan's anchor says (a gate that may stand anywhere: to both). The fences in the line give way; leaves are cut for
    /// the new opening.
    Opening(f64),
    /// Other leaves; posts and opening stay.
    Leaves(Leaves),
}

/// Obstacles no taller than this are ditches, curbs and their like: 0.2 m, the underside of the lowest parts of most
/// vehicles (common practice, no source).
pub const LOW_M: f64 = 0.2;

/// The narrowest a road may become: no vehicle is narrower (a small car's body is 1.5 m wide; from memory).
const LEAST_ROAD_M: f64 = 1.5;

/// The reason a change cannot be made to a site.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ChangeError {
    /// The faces, the middle or the front of the posts would be on a road.
    #[error("the gate would stand in the road")]
    InRoad,
    /// The gate line would point at the road.
    #[error("the gate would point at the road")]
    PointsAtRoad,
    /// There is no drive between the road and the gate to flare.
    #[error("the plan draws no drive between the road and the gate")]
    NoDrive,
    /// The road ends at the gate, so that it has no far edge.
    #[error("the road ends at the gate and has no far edge")]
    NoFarEdge,
    /// Nothing would be left of the post, the road or the drive.
    #[error("nothing would be left of it")]
    NothingLeft,
    /// The changed outline would cross itself.
    #[error("the outline would cross itself")]
    Crossed,
}

impl Change {
    /// Returns the changed site. Setback and skew are measured again; everything else in the plan stays.
    ///
    /// # Errors
    /// A [`ChangeError`] if no plan could draw the changed site.
    pub fn apply(&self, site: &Site) -> Result<Site, ChangeError> {
        let mut changed = self.apply_to_each(site)?;
        changed.fences.iter_mut().for_each(|f| tidy(&mut f.line));
        // Remove fences that gave way altogether or were cut short on the road's side of the post.
        changed.fences.retain(|f| f.line.len() > 1);
        Ok(changed)
    }

    /// Does the same as [`Self::apply`], but keeps every fence and every corner at its old index: corners that now
    /// coincide are kept twice.
    pub(super) fn apply_to_each(&self, site: &Site) -> Result<Site, ChangeError> {
        let mut changed = site.clone();
        match *self {
            Self::Setback(by) => set_back(&mut changed, by)?,
            Self::RoadWidth(by) => widen_road(&mut changed, by)?,
            Self::ApronFlare(by) => flare(&mut changed, by)?,
            Self::PostDepth(by) => {
                changed.gate.post.depth_m += by;
                if changed.gate.post.depth_m <= 0.0 {
                    return Err(ChangeError::NothingLeft);
                }
            }
            Self::Skew(by) => turn(&mut changed, by)?,
            Self::Along(by) => move_faces(&mut changed, -by, by),
            Self::Opening(by) => widen(&mut changed, by)?,
            Self::Leaves(leaves) => changed.gate.leaves = leaves,
        }
        let gate_moved = !matches!(self, Self::RoadWidth(_) | Self::ApronFlare(_) | Self::Leaves(_));
        measure_again(&mut changed, gate_moved)?;
        Ok(changed)
    }
}

impl Gate {
    /// Largest distance from the gate line at which a fence of this thickness counts as in it: the deeper of half the
    /// fence and half the post, and at least a hand's breadth (0.1 m), which no drawing by hand is finer than.
    #[must_use]
    pub fn in_line_within_m(&self, fence_thickness_m: f64) -> f64 {
        (0.5 * fence_thickness_m).max(0.5 * self.post.depth_m).max(0.1)
    }
}

/// The road's edge beside the gate: the nearest point of it to the middle of the opening, and the unit vector from it
/// to there.
fn beside_road(site: &Site) -> Option<(Point, Point)> {
    let center = site.gate.center();
    let (_, edge) = nearest_on(site.roads.get(site.beside_gate)?.surface.edges(), center)?;
    Some((edge, (center - edge).unit()?))
}

/// Measures setback and skew as the reader of a plan does, and checks that the gate still stands off the road, facing
/// it. A plan may draw posts whose fronts are over the road's edge; a gate that is moved must not put them there.
fn measure_again(site: &mut Site, gate_moved: bool) -> Result<(), ChangeError> {
    let (edge, away) = beside_road(site).ok_or(ChangeError::InRoad)?;
    let gate = &site.gate;
    let front = gate.inward * if gate_moved { -0.5 * gate.post.depth_m } else { 0.0 };
    let stands = [gate.left + front, gate.right + front, gate.center(), gate.left, gate.right];
    if site.roads.iter().any(|road| stands.iter().any(|p| covers(&road.surface, *p))) {
        return Err(ChangeError::InRoad);
    }
    if gate.inward.dot(away) < LEAST_FACING {
        return Err(ChangeError::PointsAtRoad);
    }
    let center = gate.center();
    let skew_rad = skew(&site.roads, site.beside_gate, center, gate.right - gate.left);
    site.gate.setback_m = center.distance(edge);
    site.gate.skew_rad = skew_rad;
    Ok(())
}

/// The corners of fences that stand in the gate line.
fn in_line<'a>(gate: &Gate, fences: &'a mut [Fence]) -> impl Iterator<Item = &'a mut Point> {
    let gate = gate.clone();
    fences.iter_mut().flat_map(move |fence| {
        let near = gate.in_line_within_m(fence.thickness_m);
        let gate = gate.clone();
        fence.line.iter_mut().filter(move |p| gate.to_gate(**p).y.abs() <= near)
    })
}

fn set_back(site: &mut Site, by: f64) -> Result<(), ChangeError> {
    let (_, away) = beside_road(site).ok_or(ChangeError::InRoad)?;
    let gate = site.gate.clone();
    if by <= -gate.setback_m {
        // It would come out on the other side of the road.
        return Err(ChangeError::InRoad);
    }
    in_line(&gate, &mut site.fences).for_each(|p| *p = *p + away * by);
    site.gate.left = gate.left + away * by;
    site.gate.right = gate.right + away * by;
    Ok(())
}

/// Outward direction at a point on the far side of a road's middle line; `None` elsewhere.
fn outward(road: &Road, far_is_left: bool, p: Point) -> Option<Point> {
    let (i, _) = nearest_on(segments(&road.centerline), p)?;
    let (a, b) = (*road.centerline.get(i)?, *road.centerline.get(i + 1)?);
    let left = (b - a).unit()?.left();
    let out = if far_is_left { left } else { -left };
    ((p - a).dot(out) > 1e-9).then_some(out)
}

fn widen_road(site: &mut Site, by: f64) -> Result<(), ChangeError> {
    let center = site.gate.center();
    let old = site.roads.first().ok_or(ChangeError::NoFarEdge)?.clone();
    if site.turnaround().is_some() || ends_at(&old, center).is_some() {
        return Err(ChangeError::NoFarEdge);
    }
    if old.width_m + by < LEAST_ROAD_M {
        return Err(ChangeError::NothingLeft);
    }
    let (i, foot) = nearest_on(segments(&old.centerline), center).ok_or(ChangeError::NoFarEdge)?;
    let along = old.centerline[i + 1] - old.centerline[i];
    let far_is_left = along.cross(center - foot) < 0.0;
    let moved = |p: Point| outward(&old, far_is_left, p).map(|out| p + out * by);
    // A line wholly on the far side moves; one that reaches across the middle stays.
    let moved_all = |line: &[Point]| line.iter().map(|p| moved(*p)).collect::<Option<Vec<Point>>>();
    let middle_by = if far_is_left { 0.5 * by } else { -0.5 * by };
    let road = &mut site.roads[0];
    road.centerline = super::lines::beside(&old.centerline, middle_by);
    road.width_m = old.width_m + by;
    let drawn_as_line = same_ring(&strip(&old.centerline, old.width_m).outer, &old.surface.outer);
    let ring = if drawn_as_line {
        strip(&road.centerline, road.width_m).outer
    } else {
        Outline(old.surface.outer.0.iter().map(|p| moved(*p).unwrap_or(*p)).collect())
    };
    if !self_meetings(&ring.0, 1).is_empty() {
        return Err(ChangeError::Crossed);
    }
    road.surface.outer = ring;
    for shape in site.obstacles.iter_mut().flat_map(|o| &mut o.shapes) {
        if let Some(outer) = moved_all(&shape.outer.0) {
            shape.outer.0 = outer;
            for hole in &mut shape.holes {
                hole.0 = moved_all(&hole.0).unwrap_or_else(|| hole.0.clone());
            }
        }
    }
    for fence in &mut site.fences {
        fence.line = moved_all(&fence.line).unwrap_or_else(|| fence.line.clone());
    }
    let others = site.roads[1..].iter_mut().map(|r| (&mut r.surface, Some(&mut r.centerline)));
    for (ground, line) in others.chain(site.drives.iter_mut().map(|d| (d, None))) {
        if let Some(outer) = moved_all(&ground.outer.0) {
            ground.outer.0 = outer;
            for hole in &mut ground.holes {
                hole.0 = moved_all(&hole.0).unwrap_or_else(|| hole.0.clone());
            }
            if let Some(line) = line {
                *line = moved_all(line).unwrap_or_else(|| line.clone());
            }
        }
    }
    Ok(())
}

fn same_ring(a: &Outline, b: &Outline) -> bool {
    a.0.len() == b.0.len() && a.0.iter().zip(&b.0).all(|(p, q)| p.distance(*q) < 1e-6)
}

/// Displacement field of a flare: where it moves each point, and the share of the flare applied there.
pub(super) struct Flare {
    /// The road's edge beside the gate, and the unit vector from it to the gate.
    edge: Point,
    away: Point,
    setback: f64,
    by: f64,
}

impl Flare {
    pub(super) fn of(site: &Site, by: f64) -> Result<Self, ChangeError> {
        let (edge, away) = beside_road(site).ok_or(ChangeError::NoDrive)?;
        Ok(Self { edge, away, setback: site.gate.setback_m, by })
    }
    /// Share of the flare at a point: 1 at the road's edge and on the road, 0 at the gate line and beyond.
    fn share(&self, p: Point) -> f64 {
        (1.0 - (p - self.edge).dot(self.away) / self.setback).clamp(0.0, 1.0)
    }
    /// Returns the moved point; `None` for a drive narrowed past the middle of the gate: there is none left.
    pub(super) fn moved(&self, p: Point) -> Option<Point> {
        let across = self.away.left();
        let x = (p - self.edge).dot(across);
        let to = x + if x == 0.0 { 0.0 } else { (self.by * self.share(p)).copysign(x * self.by) };
        (to * x >= 0.0).then(|| p + across * (to - x))
    }
}

/// True if an obstacle gives way to a flare: a ditch, a curb.
pub(super) fn gives_way(obstacle: &Obstacle) -> bool {
    obstacle.top_m <= LOW_M && obstacle.bottom_m <= 0.0
}

fn flare(site: &mut Site, by: f64) -> Result<(), ChangeError> {
    let flare = Flare::of(site, by)?;
    let (edge, setback) = (flare.edge, flare.setback);
    let all = |ring: &Outline| -> Result<Outline, ChangeError> {
        let corners = ring.0.iter().map(|p| flare.moved(*p)).collect::<Option<Vec<Point>>>();
        Ok(Outline(corners.ok_or(ChangeError::NothingLeft)?))
    };
    let reaches = |g: &Ground| g.outer.0.iter().any(|p| flare.share(*p) > 0.5 && (p.distance(edge) < 100.0));
    if setback <= 0.0 || !site.drives.iter().any(reaches) {
        return Err(ChangeError::NoDrive);
    }
    for drive in &mut site.drives {
        let outer = all(&drive.outer)?;
        if !self_meetings(&outer.0, 1).is_empty() {
            return Err(ChangeError::Crossed);
        }
        // Islands stay where they are, unless the drive has become too narrow to hold them.
        let ground = Ground { outer, holes: Vec::new(), label: drive.label.clone() };
        if drive.holes.iter().flat_map(|h| &h.0).any(|p| !covers(&ground, *p)) {
            return Err(ChangeError::Crossed);
        }
        drive.outer = ground.outer;
    }
    for obstacle in site.obstacles.iter_mut().filter(|o| gives_way(o)) {
        for shape in &mut obstacle.shapes {
            shape.outer = all(&shape.outer)?;
            for hole in &mut shape.holes {
                *hole = all(hole)?;
            }
        }
    }
    Ok(())
}

fn turn(site: &mut Site, by: f64) -> Result<(), ChangeError> {
    let gate = site.gate.clone();
    let (middle, (sin, cos)) = (gate.center(), trig::sin_cos(by));
    let turned = |d: Point| Point::new(d.x * cos - d.y * sin, d.x * sin + d.y * cos);
    site.gate.left = middle + turned(gate.left - middle);
    site.gate.right = middle + turned(gate.right - middle);
    site.gate.inward = turned(gate.inward);
    let edges: Vec<(Point, Point)> = site.roads.iter().flat_map(|r| r.surface.edges()).collect();
    for fence in &mut site.fences {
        let (near, half) = (gate.in_line_within_m(fence.thickness_m), 0.5 * fence.thickness_m);
        for p in fence.line.iter_mut().filter(|p| gate.to_gate(**p).y.abs() <= near) {
            *p = before_road(middle, middle + turned(*p - middle), &edges, half);
        }
    }
    // A fence cut short on the road's side of the post has nothing left to stand on.
    let left = |f: &&Fence| f.line.windows(2).any(|p| p[0].distance(p[1]) >= SAME_M);
    let stays = |p: &Point| site.gate.to_gate(*p).x.abs() >= 0.5 * site.gate.opening_m() - 1e-6;
    let in_the_way = |p: &Point| site.gate.to_gate(*p).y.abs() <= 1e-6 && !stays(p);
    if site.fences.iter().filter(left).any(|f| f.line.iter().any(in_the_way)) {
        return Err(ChangeError::InRoad);
    }
    Ok(())
}

/// The point `to`, or the point where the segment from `from` to `to` meets a road, moved back so far that `half_m` of
/// a wall's thickness stays off the road.
fn before_road(from: Point, to: Point, edges: &[(Point, Point)], half_m: f64) -> Point {
    let way = to - from;
    let Some(along) = way.unit() else { return to };
    let first = edges.iter().filter_map(|(a, b)| {
        let edge = *b - *a;
        let turn = way.cross(edge);
        let (at, part) = ((*a - from).cross(edge) / turn, (*a - from).cross(way) / turn);
        // The wall's centerline ends its half thickness, divided by the sine of the angle between wall and edge, before
        // the edge; at most a meter.
        let steep = edge.unit().map_or(1.0, |e| along.cross(e).abs());
        let back = (half_m / steep.max(1e-3)).min(1.0);
        (turn != 0.0 && (0.0..=1.0).contains(&at) && (0.0..=1.0).contains(&part))
            .then(|| (at * way.norm() - back).max(0.0))
    });
    first.min_by(f64::total_cmp).map_or(to, |far| from + along * far.min(way.norm()))
}

/// Corners nearer than this coincide.
const SAME_M: f64 = 1e-6;

/// Drops corners that coincide.
fn tidy(line: &mut Vec<Point>) {
    line.dedup_by(|a, b| a.distance(*b) < SAME_M);
}

impl Site {
    /// The site with an opening of this width, wherever that puts its posts: to hold known paths against a gate of another
    /// size. [`Change::Opening`] also refuses posts on a road and measures setback and skew again; `None` if nothing would
    /// be left of the opening.
    #[must_use]
    pub fn with_opening(&self, opening_m: f64) -> Option<Self> {
        let mut changed = self.clone();
        widen(&mut changed, opening_m - self.gate.opening_m()).ok()?;
        Some(changed)
    }
}

/// Widens the opening; an error if nothing would be left of it.
fn widen(site: &mut Site, by: f64) -> Result<(), ChangeError> {
    if site.gate.opening_m() + by <= 0.0 {
        return Err(ChangeError::NothingLeft);
    }
    let [left, right] = site.gate.anchor.outward_m(by);
    move_faces(site, left, right);
    Ok(())
}

/// Moves the two faces along the gate line, each outward by its measure, and the fences with them.
fn move_faces(site: &mut Site, left: f64, right: f64) {
    let gate = site.gate.clone();
    let along = gate.along();
    site.gate.left = gate.left - along * left;
    site.gate.right = gate.right + along * right;
    // On each side the end at the post moves with it, and corners that it would pass are dropped.
    let ends = [-1.0, 1.0].map(|outward| {
        let out = in_line(&gate, &mut site.fences).map(|p| outward * gate.to_gate(*p).x);
        out.filter(|u| *u > 0.0).min_by(f64::total_cmp)
    });
    for p in in_line(&gate, &mut site.fences) {
        let x = gate.to_gate(*p).x;
        let (end, outward, by) = if x < 0.0 { (ends[0], -1.0, left) } else { (ends[1], 1.0, right) };
        if let Some(end) = end.filter(|_| x != 0.0) {
            let u = outward * x;
            let to = if u < end + 1e-3 { u + by } else { u.max(end + by) };
            *p = *p + along * (outward * (to - u));
        }
    }
}
