//! Sentences on what a vehicle passes under: a limb or a beam above its highest part.
use crate::geometry::length::{Round, Units, show};
use crate::geometry::{Outline, Shape};
use crate::site::Obstacle;
use crate::sweep::Envelope;
use crate::vehicle::Vehicle;
use geo::{Coord, Distance, Euclidean, Geometry, Line, LineString, Point, Polygon};

/// A sentence for each obstacle over a swept path that is higher than every part of the vehicle, with the height left.
pub(super) fn passes_under(
    obstacles: &[Obstacle],
    vehicle: &Vehicle,
    body: &Envelope,
    units: Units,
) -> Vec<String> {
    let parts = vehicle.units.iter().flat_map(|unit| &unit.parts);
    let top_m = parts.map(|part| part.top_m).fold(0.0, f64::max);
    let above = obstacles.iter().filter(|obstacle| obstacle.bottom_m > top_m);
    let ground = Geometry::from(body.polygons.clone());
    let over = above.filter(|obstacle| obstacle.shapes.iter().any(|shape| is_over(shape, &ground)));
    over.map(|obstacle| {
        format!(
            "It passes under \"{}\", {} up, with {} left over its highest part.",
            obstacle.label,
            show(obstacle.bottom_m, units, Round::Down),
            show(obstacle.bottom_m - top_m, units, Round::Down)
        )
    })
    .collect()
}

/// True if a shape reaches over covered ground.
fn is_over(shape: &Shape, ground: &Geometry<f64>) -> bool {
    let ring = |outline: &Outline| outline.0.iter().map(|p| Coord::from(*p)).collect::<Vec<_>>();
    let corners = ring(&shape.outer);
    let core = match corners[..] {
        [] => return false,
        [middle] => Geometry::from(Point::from(middle)),
        [from, to] => Geometry::from(Line::new(from, to)),
        _ => {
            let holes = shape.holes.iter().map(|hole| LineString::new(ring(hole))).collect();
            Geometry::from(Polygon::new(LineString::new(corners), holes))
        }
    };
    Euclidean.distance(&core, ground) <= shape.radius_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sweep::union_in_order;
    use crate::vehicle::find;

    #[test]
    fn only_what_is_over_the_path_and_above_the_vehicle_is_passed_under() {
        let pickup = find("pickup").expect("in the library");
        let top_m =
            pickup.units.iter().flat_map(|unit| &unit.parts).map(|part| part.top_m).fold(0.0, f64::max);
        let point = crate::geometry::Point::new;
        let lane = Outline(vec![point(0.0, -1.0), point(20.0, -1.0), point(20.0, 1.0), point(0.0, 1.0)]);
        let body =
            Envelope { polygons: union_in_order(vec![lane]).expect("a ring"), over_m: 0.0, under_m: 0.0 };
        let limb = |outer: Vec<crate::geometry::Point>, radius_m: f64, above_m: f64| Obstacle {
            label: "limb".to_owned(),
            shapes: vec![Shape { outer: Outline(outer), holes: Vec::new(), radius_m }],
            bottom_m: top_m + above_m,
            top_m: 20.0,
        };
        let said = |limb: Obstacle| passes_under(&[limb], &pickup, &body, Units::Meters).len();
        let beam = || vec![point(10.0, -5.0), point(10.0, 5.0)];
        let court = || vec![point(-9.0, -9.0), point(30.0, -9.0), point(30.0, 9.0), point(-9.0, 9.0)];
        assert_eq!([said(limb(beam(), 0.1, 0.5)), said(limb(beam(), 0.1, -0.1))], [1, 0]);
        assert_eq!([said(limb(court(), 0.0, 0.5)), said(limb(vec![point(5.0, 0.0)], 0.1, 0.5))], [1, 1]);
        // Beside the path, nearer than its radius and farther.
        assert_eq!([1.05, 0.95].map(|r| said(limb(vec![point(5.0, 2.0)], r, 0.5))), [1, 0]);
        let text = passes_under(&[limb(beam(), 0.1, 0.507)], &pickup, &body, Units::Meters).remove(0);
        assert!(text.ends_with("with 0.50 m left over its highest part."), "{text}");
    }
}
