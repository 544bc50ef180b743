//! A second opinion on every answer: drives are integrated and measured again by a plain, slow method that shares no
//! code with the one that answers (`common::plain`), and the two must agree within the bounds stated here. The worst
//! differences are printed: `cargo test --test answers second_opinion:: -- --nocapture`.
mod drawn_gate;
mod examples;
mod random;
mod turns;
use crate::common::plain::{Moment, clears, look, spare, standing};
use std::collections::BTreeMap;
use wideenough::motion::Path;
use wideenough::site::{Anchor, Faces, Side, Site};
use wideenough::vehicle::Vehicle;

/// Largest error of an opening or a margin on the wrong side of the truth: a micrometer of rounding in the numbers
/// written, and the difference between two integrations.
const TINY_M: f64 = 3e-6;
/// Largest excess of an inspection's opening over the need of its path by thousands of poses.
const OPENING_OVER_M: f64 = 0.0035;
/// Largest shortfall of the gap to fixed things, the largest v, and the tires' room.
const GAP_UNDER_M: f64 = 0.0035;
/// Excess of the ground tires may use over the polygons drawn, beside an edge; and the tolerance of a verdict.
const SEAM_M: f64 = 0.01;
const EDGE_M: f64 = 0.001;
/// Largest spare room that is searched for.
const LOOKED_FOR_M: f64 = 0.02;

/// The worst difference seen of each kind: [on the wrong side, on the safe side].
#[derive(Default)]
struct Worst(BTreeMap<&'static str, [f64; 2]>);

impl Worst {
    fn note(&mut self, kind: &'static str, index: usize, by: f64) {
        let seen = &mut self.0.entry(kind).or_insert([f64::NEG_INFINITY; 2])[index];
        *seen = seen.max(by);
    }

    fn print(&self, title: &str) {
        for (kind, [wrong, safe]) in &self.0 {
            println!("{title}: {kind}: {:.4} mm too kind, {:.4} mm too strict", wrong * 1e3, safe * 1e3);
        }
    }
}

/// Checks that the steering and the hitches stay within their limits at the moments driven.
fn within_limits(vehicle: &Vehicle, path: &Path, moments: &[Moment], slack: f64) -> Result<(), String> {
    let steering = vehicle.steering;
    for leg in &path.legs {
        let mut before: Option<f64> = None;
        for s in &leg.segments {
            let sharpest = s.curvature_start.abs().max(s.curvature_end.abs());
            if sharpest > steering.max_curvature + slack {
                return Err(format!("curvature {sharpest}"));
            }
            let turned = (s.curvature_end - s.curvature_start).abs() / steering.max_curvature;
            if turned * steering.lock_distance_m > s.length_m * (1.0 + slack) + slack {
                return Err(format!("steered {turned} of full lock within {} m", s.length_m));
            }
            let jump = before.map_or(0.0, |k| (k - s.curvature_start).abs());
            if steering.lock_distance_m > 0.0 && jump > slack {
                return Err(format!("a jump of {jump}"));
            }
            before = Some(s.curvature_end);
        }
    }
    for m in moments {
        for (unit, hitch) in vehicle.units.iter().zip(&m.hitches) {
            if unit.hitch.is_some_and(|h| hitch.abs() > h.max_angle_rad + slack) {
                return Err(format!("hitch at {hitch}"));
            }
        }
    }
    Ok(())
}

/// Least and largest v over all outlines of some moments.
fn extent_v<'a>(vehicle: &Vehicle, moments: impl Iterator<Item = &'a Moment>) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for m in moments {
        for (unit, stand) in vehicle.units.iter().zip(&m.units) {
            for p in unit.parts.iter().flat_map(|part| &part.outline.0) {
                let v = stand.place(*p).y;
                (low, high) = (low.min(v), high.max(v));
            }
        }
    }
    (low, high)
}

/// Measurement of a drive by the plain method: the amount by which the opening could be narrower than reported, and
/// violations of the clearance.
struct Measured {
    /// Least gap to fixed things.
    fixed_m: f64,
    /// Excess of the opening over the drive's need.
    over_m: f64,
    /// Largest violation of the clearance.
    kind_m: f64,
    nearest: String,
}

fn measured(
    site: &Site,
    (vehicle, moments): (&Vehicle, &[Moment]),
    (faces, leaf_opening_m): (Faces, f64),
    clearance_m: f64,
) -> Measured {
    let [fixed, left, right] = standing(site, faces, leaf_opening_m);
    let keep_m = clearance_m + LOOKED_FOR_M + 0.001;
    let fixed = look(vehicle, moments, &fixed, 0.0);
    let (on_left, on_right) = (look(vehicle, moments, &left, keep_m), look(vehicle, moments, &right, keep_m));
    // Distance that each face could come in.
    let in_left = spare(&on_left, &left, clearance_m, 1.0, LOOKED_FOR_M);
    let in_right = spare(&on_right, &right, clearance_m, -1.0, LOOKED_FOR_M);
    // A gate that is free to move stays in its fence; without one, where it is drawn.
    let stays = site.gate.anchor == Anchor::Free && site.fences.is_empty();
    let over_m = match site.gate.anchor {
        _ if stays => 2.0 * in_left.min(in_right),
        Anchor::Center => 2.0 * in_left.min(in_right),
        Anchor::Side(Side::Left) => in_right,
        Anchor::Side(Side::Right) => in_left,
        Anchor::Free => in_left + in_right,
    };
    // An overlap has no gap to measure: with the faces a hair farther out there must be none.
    let hair = TINY_M;
    let overlap =
        !clears(&on_left, &left, clearance_m, -hair) || !clears(&on_right, &right, clearance_m, hair);
    let nearest = if on_left.least_m < on_right.least_m { on_left } else { on_right };
    let kind_m = if overlap && clearance_m == 0.0 { f64::INFINITY } else { clearance_m - nearest.least_m };
    Measured { fixed_m: fixed.least_m, over_m, kind_m, nearest: nearest.to }
}
