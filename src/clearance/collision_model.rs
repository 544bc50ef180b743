//! Collision model: one vehicle prepared for tests against its surroundings at one clearance, with the things that each
//! of its parts can touch.
use super::active_set::ActiveSet;
use super::bvh::{Bvh, Query, box_around};
use super::need::BroadPhase;
use super::surroundings::{Material, SideOfGate, Surroundings};
use crate::geometry::{Point, distance};
use crate::motion::Chain;
use crate::vehicle::{MAX_UNITS, Part, PartKind, Vehicle};
use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

/// A vehicle prepared for measurements against its surroundings.
#[derive(Clone, Debug)]
pub struct CollisionModel {
    /// The chain of the vehicle's units.
    pub chain: Chain,
    /// Surroundings, in the gate's frame.
    pub surroundings: Surroundings,
    /// Clearance kept from everything that stands.
    pub clearance_m: f64,
    /// Convex parts that can touch something, in the order of their units.
    pub parts: Vec<ModelPart>,
    /// Units that have such parts, to skip what is far from all of them.
    pub units: Vec<ModelUnit>,
    /// Tire contacts.
    pub tires: Vec<ModelTire>,
    /// Middle of each unit's body, in its frame.
    pub middles: [Point; MAX_UNITS],
    /// Hitch-angle limits, in order; infinite beyond the last.
    pub hitch_limits: [f64; MAX_UNITS],
    /// Widest opening of interest: what would matter only beyond it is left out.
    pub widest_m: f64,
    /// The gate's front: see [`Surroundings::front_v`].
    pub front_v: f64,
    /// Least and largest v of everything that moves with the faces.
    pub moving_v: (f64, f64),
    /// Depths at which each of those begins and ends, in order: a corner that crosses one of these between two poses
    /// may come nearest there.
    pub(super) levels_v: Vec<f64>,
    /// Least and largest v of the closed gate line and the fences in it.
    pub(super) closed_v: (f64, f64),
    /// True if what is out on the road past the end of the closed line is held against neither post nor leaf: for a search
    /// whose openings of interest reach far beyond the one it looks for.
    pub(super) ends_fixed: bool,
}

/// A convex part and the things that its heights let it touch.
#[derive(Clone, Debug)]
pub struct ModelPart {
    /// Index of its unit.
    pub unit: usize,
    /// Kind of the part: body, mirror or tire.
    pub kind: PartKind,
    /// Name of the part: "pickup mirror".
    pub name: String,
    /// Outline in the unit's frame.
    pub corners: Vec<Point>,
    /// Middle of the outline, in the unit's frame.
    pub center: Point,
    /// Distance from the center within which all of it lies.
    pub reach_m: f64,
    /// Indices of the standing pieces it can touch.
    pub standing: Vec<usize>,
    /// Those indices as bits, where the site has no more pieces than there are bits; otherwise all or none.
    pub standing_bits: u64,
    /// Things that it can touch behind the left face.
    pub left: Touchable,
    /// Things that it can touch behind the right face.
    pub right: Touchable,
    /// True if it can touch anything that moves with the faces.
    pub meets_faces: bool,
    /// Tree over `standing`, where there are many.
    pub tree: Option<Arc<Bvh>>,
}

/// Indices of the bands and of the blocks behind a face that a part can touch.
pub type Touchable = (Vec<usize>, Vec<usize>);

/// Parts of one unit together.
#[derive(Clone, Debug)]
pub struct ModelUnit {
    /// Index of the unit.
    pub unit: usize,
    /// Range of its own parts.
    pub parts: Range<usize>,
    /// Distance from `center` within which all of its parts lie.
    pub reach_m: f64,
    /// A point of the unit's frame.
    pub center: Point,
    /// Convex hull of their corners.
    pub hull: Vec<Point>,
}

/// A tire's line of contact.
#[derive(Clone, Copy, Debug)]
pub struct ModelTire {
    /// Index of its unit.
    pub unit: usize,
    /// Its two ends, in the unit's frame.
    pub ends: [Point; 2],
}

/// A convex outline in the gate's frame: a part in one pose, or its hull over two.
#[derive(Clone, Copy, Debug)]
pub struct Placed<'a> {
    /// Point from which all of it lies within `reach_m`.
    pub center: Point,
    /// See `center`.
    pub reach_m: f64,
    /// Its corners, counterclockwise.
    pub corners: &'a [Point],
    /// Middle of the unit it belongs to: the direction out of an overlap.
    pub unit_middle: Point,
}

/// Scratch space for intermediate results, so that measuring allocates nothing.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    pub(super) corners: Vec<Point>,
    /// Active outlines of the need measured last.
    pub binding: ActiveSet,
}

impl CollisionModel {
    /// Prepares a vehicle for measurements in its surroundings.
    #[must_use]
    pub fn new(vehicle: &Vehicle, surroundings: Surroundings, clearance_m: f64, widest_m: f64) -> Self {
        let mut parts = Vec::new();
        let mut tires = Vec::new();
        let mut middles = [Point::default(); MAX_UNITS];
        let mut hitch_limits = [f64::INFINITY; MAX_UNITS];
        for (index, unit) in vehicle.units.iter().enumerate().take(MAX_UNITS) {
            let half = 0.5 * (unit.wheelbase_m + unit.front_overhang_m - unit.rear_overhang_m);
            middles[index] = Point::new(half, 0.0);
            hitch_limits[index] = unit.hitch.map_or(f64::INFINITY, |h| h.max_angle_rad);
            for part in &unit.parts {
                let covering: Vec<&Part> = unit.parts.iter().filter(|other| covers(other, part)).collect();
                parts.push(ready(index, &unit.name, part, &covering, &surroundings));
            }
            for tire in &unit.tires {
                let half = Point::new(0.0, 0.5 * tire.width_m);
                tires.push(ModelTire { unit: index, ends: [tire.center - half, tire.center + half] });
            }
        }
        // Parts that touch nothing cost nothing, but mirrors and bodies still show where the vehicle is.
        parts.retain(|p| {
            let is_empty = |(bands, blocks): &(Vec<usize>, Vec<usize>)| bands.is_empty() && blocks.is_empty();
            let idle = p.standing.is_empty() && is_empty(&p.left) && is_empty(&p.right);
            !(idle && p.kind == PartKind::Tire)
        });
        let units = units(&parts);
        let (chain, front_v) = (Chain::of(vehicle), surroundings.front_v());
        let sides = [&surroundings.left, &surroundings.right];
        let bands = sides.iter().flat_map(|side| &side.bands).map(|band| (band.low, band.high));
        let blocks = sides.iter().flat_map(|side| &side.blocks).map(|block| (block.low.y, block.high.y));
        let nothing = (f64::INFINITY, f64::NEG_INFINITY);
        let both = |all: (f64, f64), v: (f64, f64)| (all.0.min(v.0), all.1.max(v.1));
        let closed_v = bands.clone().fold(nothing, both);
        let moving_v = blocks.clone().fold(closed_v, both);
        let mut levels_v: Vec<f64> = bands.chain(blocks).flat_map(|(low, high)| [low, high]).collect();
        levels_v.sort_by(f64::total_cmp);
        levels_v.dedup();
        Self {
            chain,
            surroundings,
            clearance_m,
            parts,
            units,
            tires,
            middles,
            hitch_limits,
            widest_m,
            front_v,
            moving_v,
            levels_v,
            closed_v,
            // A post that may stand anywhere is nowhere in particular.
            ends_fixed: !widest_m.is_finite(),
        }
    }

    /// Returns the vehicle with these of its parts alone, in the order of their units.
    #[must_use]
    pub fn with_parts(&self, parts: Vec<ModelPart>) -> Self {
        Self { units: units(&parts), parts, ..self.clone() }
    }

    /// This model, with what is out on the road past the end of the closed line held against neither post nor leaf: they are
    /// where a narrower opening than the widest of interest has them.
    #[must_use]
    pub(crate) fn with_ends_fixed(self) -> Self {
        Self { ends_fixed: true, ..self }
    }

    /// Standing pieces that a part with these corners can touch and that may come within `matters_m`, and perhaps
    /// others, in the order of the site. `matters_m` is called with one piece for all that have its name.
    pub(super) fn standing_near<'a>(
        &self,
        part: &'a ModelPart,
        corners: &[Point],
        matters_m: impl Fn(&Material) -> Option<f64>,
        at_most_m: f64,
    ) -> Cow<'a, [usize]> {
        let Some(nearby) = &part.tree else {
            return Cow::Borrowed(&part.standing);
        };
        let mut found = Vec::new();
        let called = |index: usize| matters_m(&self.surroundings.standing[index].material);
        let matters_m = |one: Option<usize>| one.and_then(called).unwrap_or(at_most_m);
        nearby.within(&mut Query::new(corners, box_around(corners)), matters_m, &mut found);
        Cow::Owned(found)
    }
}

/// Groups parts that are in the order of their units.
fn units(parts: &[ModelPart]) -> Vec<ModelUnit> {
    let mut units = Vec::new();
    let mut from = 0;
    for of_unit in parts.chunk_by(|a, b| a.unit == b.unit) {
        let corners = || of_unit.iter().flat_map(|part| &part.corners);
        let mut all: Vec<Point> = corners().copied().collect();
        let mut hull = Vec::new();
        distance::convex_hull(&mut all, &mut hull);
        let (low, high) = box_around(&all);
        let center = (low + high) * 0.5;
        let reach_m = corners().map(|p| p.distance(center)).fold(0.0, f64::max);
        let parts = from..from + of_unit.len();
        from = parts.end;
        units.push(ModelUnit { unit: of_unit[0].unit, parts, reach_m, center, hull });
    }
    units
}

/// Share of its size by which a tire may reach out of a body that covers it: flush with the body, rounding puts a corner
/// in or out, on one side of the vehicle and not on the other.
const FLUSH: f64 = 1e-9;

/// Mean of the corners of an outline.
fn mean_of(corners: &[Point]) -> Point {
    let count = f64::from(u32::try_from(corners.len().max(1)).unwrap_or(u32::MAX));
    corners.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / count)
}

/// True if `other` is a body that covers all of the tire `part` from above.
fn covers(other: &Part, part: &Part) -> bool {
    let corners = &part.outline.0;
    let center = mean_of(corners);
    part.kind == PartKind::Tire
        && other.kind == PartKind::Body
        && corners.iter().all(|p| distance::ring_contains(&other.outline.0, *p + (center - *p) * FLUSH))
}

fn ready(
    unit: usize,
    unit_name: &str,
    part: &Part,
    covering: &[&Part],
    surroundings: &Surroundings,
) -> ModelPart {
    let meets = |material: &Material| {
        material.meets(part.bottom_m, part.top_m)
            && !covering.iter().any(|body| material.meets(body.bottom_m, body.top_m))
    };
    let side = |side: &SideOfGate| {
        let bands = (0..side.bands.len()).filter(|i| meets(&side.bands[*i].material)).collect();
        // A post no deeper than a fence as tall behind the same face adds nothing to it.
        let hidden = |i: &usize| {
            let block = &side.blocks[*i];
            let outward = block.low.x * block.high.x >= 0.0;
            block.is_rectangle
                && outward
                && side
                    .bands
                    .iter()
                    .any(|band| band.low <= block.low.y && band.high >= block.high.y && meets(&band.material))
        };
        let blocks =
            (0..side.blocks.len()).filter(|i| meets(&side.blocks[*i].material) && !hidden(i)).collect();
        (bands, blocks)
    };
    let corners = part.outline.0.clone();
    let center = mean_of(&corners);
    let reach_m = corners.iter().map(|p| p.distance(center)).fold(0.0, f64::max);
    let word = match part.kind {
        PartKind::Body => "body",
        PartKind::Mirror => "mirror",
        PartKind::Tire => "tire",
    };
    let standing: Vec<usize> =
        (0..surroundings.standing.len()).filter(|i| meets(&surroundings.standing[*i].material)).collect();
    let (left, right): (Touchable, Touchable) = (side(&surroundings.left), side(&surroundings.right));
    ModelPart {
        unit,
        kind: part.kind,
        name: format!("{unit_name} {word}"),
        center,
        reach_m,
        tree: surroundings.standing.tree(&standing),
        standing_bits: BroadPhase::of(&standing, surroundings.standing.len()),
        standing,
        meets_faces: [&left, &right].iter().any(|(bands, blocks)| !bands.is_empty() || !blocks.is_empty()),
        left,
        right,
        corners,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::read;

    /// A vehicle that is the same on both sides has the same parts on both sides, tires flush with its body too: by
    /// rounding they lie within the body on one side and reach out on the other.
    #[test]
    fn flush_tires_are_covered_on_both_sides() {
        let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
            { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
              "geometry": { "type": "LineString", "coordinates": [[-80, -6], [80, -6]] } },
            { "type": "Feature", "properties": { "role": "gate" },
              "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
        let site = read(plan, "plan").expect("a sound plan");
        for width_mm in 1400..1700 {
            let width_m = f64::from(width_mm) / 1e3;
            let file = format!(
                r#"{{ "title": "Van", "steering": {{ "lock_angle_deg": 35 }}, "units": [{{ "name": "van",
                "wheelbase": "3 m", "front_overhang": "1 m", "rear_overhang": "1 m", "width": "{width_m} m",
                "height": "2 m" }}] }}"#
            );
            let vehicle = crate::vehicle::read(&file, "van.json").expect("a sound vehicle");
            let model = CollisionModel::new(&vehicle, Surroundings::new(&site, None, 0.0), 0.0, 5.0);
            let sides = model.parts.iter().map(|part| part.center.y).filter(|y| y.abs() > 1e-6);
            let left = sides.clone().filter(|y| *y > 0.0).count();
            assert_eq!(sides.count(), 2 * left, "{width_m} m wide");
        }
    }
}
