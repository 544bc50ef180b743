//! The proof that nothing much narrower will do.
pub mod body;
pub mod grid;
pub mod interval;
pub mod reach;
pub mod terrain;

use super::course::Plan;
use super::track::Track;
use super::{Question, least_width};
use crate::clearance::{Encounter, Surroundings};
use crate::site::{Anchor, Side};
use grid::{Grid, count};
use reach::{Ended, Legs, Reach};
use terrain::{Faces, Terrain};

fn faces_at(surroundings: &Surroundings, opening_m: f64) -> Option<(f64, f64)> {
    let (left, right) = surroundings.drawn_faces_u;
    match surroundings.anchor {
        Anchor::Center => Some((-0.5 * opening_m, 0.5 * opening_m)),
        Anchor::Side(Side::Left) => Some((left, left + opening_m)),
        Anchor::Side(Side::Right) => Some((right - opening_m, right)),
        Anchor::Free => None,
    }
}

/// One test.
pub fn test(question: &Question, opening_m: f64, proven_m: f64, step_m: f64, window_m: f64, budget: u64) -> (Ended, u64) {
    let encounter =
        Encounter::new(question.vehicle, question.surroundings.clone(), question.clearance_m, f64::INFINITY);
    let k = question.vehicle.steering.max_curvature;
    let far = encounter.parts.iter().filter(|p| p.unit == 0).flat_map(|p| &p.corners).map(|p| p.norm()).fold(0.0, f64::max);
    let grid = Grid::new(step_m, count(2.0 * k * far - 0.5).clamp(1, 4), k, window_m);
    let plan = Plan::of(question.maneuver, question.shunts);
    let legs = Legs {
        directions: plan.legs.iter().map(|l| l.0).collect(),
        first_keeps_out: Track::keeps_out(question, 0),
    };
    let faces = Faces {
        tried: faces_at(question.surroundings, opening_m).unwrap(),
        proven: faces_at(question.surroundings, proven_m).unwrap(),
    };
    let terrain = Terrain::new(&encounter, &grid, &faces, None);
    let mut reach = Reach::new(&grid, terrain, &legs, question.lane, budget);
    let ended = reach.run();
    (ended, reach.work)
}

/// Weak.
pub fn weak(question: &Question) -> f64 {
    least_width(question.vehicle) + 2.0 * question.clearance_m
}
