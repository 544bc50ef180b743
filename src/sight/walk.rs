//! Pedestrian triangles where a drive crosses a sidewalk, to be kept clear between two heights.
use super::fix::Wanted;
use super::rules::{WalkCorner, WalkRule};
use super::shadow::SightHeights;
use super::survey::Hider;
use super::things::blockers;
use crate::gate::is_sidewalk;
use crate::geometry::Point;
use crate::geometry::distance::crossing;
use crate::site::{Side, Site};

/// Finding of a rule on pedestrians.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WalkFinding {
    /// The rule.
    pub rule: WalkRule,
    /// Triangles left and right of the leaving driver, or why there is none.
    pub triangles: Result<Vec<WalkTriangle>, String>,
}

/// Triangle at a sidewalk, and the things that stand in it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct WalkTriangle {
    /// Left or right of the driver who leaves.
    pub side: Side,
    /// Corners: on the drive inside, on the back of the sidewalk beside the drive, and along the back of the sidewalk.
    pub corners: [Point; 3],
    /// Things that stand in it.
    pub hiders: Vec<Hider>,
}

/// A sidewalk that reaches over the road's edge by less ends at it: a drawing error.
const ON_THE_EDGE_M: f64 = 0.1;

pub(super) fn walk(site: &Site, rule: &WalkRule) -> WalkFinding {
    WalkFinding { rule: *rule, triangles: triangles(site, rule) }
}

fn triangles(site: &Site, rule: &WalkRule) -> Result<Vec<WalkTriangle>, String> {
    let gate = &site.gate;
    let (out, inward) = (-gate.inward, gate.inward);
    let crossings = site.drives.iter().filter(|ground| is_sidewalk(ground)).flat_map(|ground| {
        ground.edges().filter_map(|edge| crossing(gate.center(), out, edge).map(|(t, _)| (t, edge)))
    });
    // A walk behind the gate or beyond the road is another one.
    let road = site.roads.iter().flat_map(|road| road.surface.edges());
    let to_road = road.filter_map(|edge| crossing(gate.center(), out, edge)).map(|(t, _)| t);
    let to_road = to_road.filter(|t| *t > 0.0).fold(f64::INFINITY, f64::min);
    let crossings = crossings.filter(|(t, _)| *t > 0.0 && *t <= to_road + ON_THE_EDGE_M);
    // The back of the sidewalk is its edge nearest to the lot.
    let Some((_, (a, b))) = crossings.min_by(|a, b| a.0.total_cmp(&b.0)) else {
        return Err("the plan draws no sidewalk across the drive (a drive labeled \"sidewalk\")".to_owned());
    };
    let Some(along) = (b - a).unit() else { return Err("the sidewalk has no edge at the drive".to_owned()) };
    let meets = |from: Point| {
        let t = (a - from).cross(along) / out.cross(along);
        from + out * t
    };
    // The gate's right face is on the left of a leaving driver.
    let right = if along.cross(out) > 0.0 { along } else { -along };
    let things = blockers(site, true);
    let sides = [(Side::Left, gate.right, -right), (Side::Right, gate.left, right)];
    let of_side = |(side, face, outward): (Side, Point, Point)| {
        let corner = meets(match rule.corner {
            WalkCorner::DriveEdges => face,
            WalkCorner::DriveMiddle => gate.center(),
        });
        let (eye, far) = (corner + inward * rule.back_m, corner + outward * rule.along_m);
        let line = vec![corner, far];
        let heights = SightHeights::band(rule.from_m, rule.to_m);
        let wanted = Wanted { eye, heights, lines: vec![line.clone()] };
        let in_it = things.iter().filter_map(|thing| Hider::of(thing, &wanted, &line, inward, site.units));
        WalkTriangle { side, corners: [eye, corner, far], hiders: in_it.collect() }
    };
    Ok(sides.into_iter().map(of_side).collect())
}
