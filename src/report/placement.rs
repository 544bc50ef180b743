//! The place where one opening serves all vehicles best: in a sentence, and for results.json.
use super::decimal::{nearest, up};
use super::model::{Clearance, Placement};
use super::words::STAYS_M;
use crate::geometry::Point;
use crate::geometry::length::{Round, show};
use crate::opening::Study;

/// `placement` of results.json.
pub(super) fn model(study: &Study) -> Option<Placement> {
    let placement = study.placement.as_ref()?;
    let opening_m = up(placement.opening_m, 4);
    let center_offset_m = nearest(placement.center_u_m, 6);
    Some(Placement {
        clearance: Clearance::of(placement.comfortable),
        opening_m,
        left_u_m: nearest(center_offset_m - 0.5 * opening_m, 6),
        right_u_m: nearest(center_offset_m + 0.5 * opening_m, 6),
        center_offset_m,
        leaves_open: placement.leaves_open,
        vehicles: study.vehicles.iter().map(|v| v.name.clone()).collect(),
    })
}

/// The placement in a sentence: `An opening 13' 2" wide with its middle 2' 1" east of the drawn middle lets every
/// vehicle in, in comfort.`
#[must_use]
pub fn placement_words(study: &Study) -> Option<String> {
    let placement = study.placement.as_ref()?;
    let units = study.site.units;
    let opening = show(placement.opening_m, units, Round::Up);
    let place = middle_words(study, placement.center_u_m);
    let how =
        if placement.comfortable { "in comfort" } else { "but only touching nothing, without clearance" };
    let leaves = if placement.leaves_open {
        ""
    } else {
        " No place was found where its leaves open fully, too: something stands in their way."
    };
    Some(format!("An opening {opening} wide with its middle {place} lets every vehicle in, {how}.{leaves}"))
}

/// Words for the place of a gate's middle, by its offset to the right of the drawn one: `2' 1" east of the drawn middle`.
pub(super) fn middle_words(study: &Study, offset_m: f64) -> String {
    if offset_m.abs() < STAYS_M {
        return "where it is drawn".to_owned();
    }
    let toward = study.site.gate.along() * offset_m.signum();
    let by = show(offset_m.abs(), study.site.units, Round::Nearest);
    if study.site.north_known {
        format!("{by} {} of the drawn middle", compass(toward))
    } else {
        let side = if offset_m < 0.0 { "left" } else { "right" };
        format!("{by} to the {side} of the drawn middle, seen from the road,")
    }
}

/// The nearest of the eight points of the compass.
fn compass(direction: Point) -> &'static str {
    let (x, y) = (direction.x, direction.y);
    // Within 22.5 degrees of an axis, the axis's word alone: tan 22.5° = √2 - 1.
    let flat = std::f64::consts::SQRT_2 - 1.0;
    let word = |x: f64| if x > 0.0 { "east" } else { "west" };
    match (y.abs() <= flat * x.abs(), x.abs() <= flat * y.abs(), y > 0.0) {
        (true, ..) => word(x),
        (_, true, true) => "north",
        (_, true, false) => "south",
        (_, _, true) if x > 0.0 => "northeast",
        (_, _, true) => "northwest",
        _ if x > 0.0 => "southeast",
        _ => "southwest",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::opening::Placement;
    use crate::report::sample;

    #[test]
    fn the_eight_points() {
        let words = ["east", "northeast", "north", "northwest", "west", "southwest", "south", "southeast"];
        for (i, word) in (0_u8..).zip(words) {
            for off in [-0.38, 0.0, 0.38] {
                let at = Point::at_angle(f64::from(i) * std::f64::consts::FRAC_PI_4 + off);
                assert_eq!(compass(at), word);
            }
        }
    }

    #[test]
    fn said_in_a_sentence_and_in_numbers() {
        let mut study = sample::study();
        assert_eq!((placement_words(&study), model(&study)), (None, None));
        study.placement =
            Some(Placement { comfortable: true, opening_m: 4.0132, center_u_m: 0.635, leaves_open: true });
        let words = placement_words(&study).unwrap();
        assert_eq!(
            words,
            "An opening 13' 2\" wide with its middle 2' 1\" east of the drawn middle lets every vehicle in, in comfort."
        );
        assert_eq!(model(&study).unwrap().left_u_m, -1.3716);
        study.placement =
            Some(Placement { comfortable: false, opening_m: 4.0, center_u_m: 0.01, leaves_open: false });
        let words = placement_words(&study).unwrap();
        assert!(words.contains("its middle where it is drawn"), "{words}");
        assert!(words.ends_with("something stands in their way."), "{words}");
    }
}
