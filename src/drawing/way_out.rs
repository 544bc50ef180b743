//! Words and marks of a way out: a case that holds, as a path of backing in, how its vehicle drives out onto the road.
use crate::geometry::length::show_kept;
use crate::geometry::{Point, wrap_angle};
use crate::motion::State;
use crate::opening::{Case, Study};

/// Largest angle at which a vehicle is said to stand in line with the road, degrees: less is not seen on a drawing.
const IN_LINE_DEG: f64 = 5.0;

/// Where a way out ends, as a sentence: in line with the road or at an angle to it. `None` for a travel that the site does
/// not have.
pub(super) fn ending(study: &Study, case: &Case, end: &State) -> Option<String> {
    let travels = study.site.travels();
    let travel = travels.iter().find(|travel| travel.word == case.travel)?;
    let road = study.site.roads.get(travel.road)?;
    let along = road.tangent_beside(end.lead.position)?;
    let off_deg = off_line_deg(end.lead.heading, along);
    let stands = if off_deg < IN_LINE_DEG {
        "in line with it".to_owned()
    } else {
        format!("at {off_deg:.0}\u{b0} to it, and drives on from there")
    };
    let mut turns =
        study.turns.iter().filter(|turn| turn.vehicle == case.vehicle && turn.travel == case.travel);
    let turn = turns.find_map(|turn| turn.found.as_ref().ok());
    let shown = turn.map_or_else(String::new, |turn| {
        let kept = turn.contacts.first().map_or_else(String::new, |tightest| {
            format!(
                ", which with the turn inside comes as near as {}",
                show_kept(tightest.gap_m, study.site.units)
            )
        });
        format!(" The drawing of its turn shows the whole way out{kept}.")
    });
    Some(format!("The way out is drawn to where the vehicle stands on the road, {stands}.{shown}"))
}

/// Angle between a heading and a line, degrees, 0 to 90.
fn off_line_deg(heading: f64, along: Point) -> f64 {
    let off = wrap_angle(heading - along.angle()).abs().to_degrees();
    off.min(180.0 - off)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_has_no_direction() {
        for (heading_deg, off_deg) in
            [(0.0, 30.0), (180.0, 30.0), (30.0, 0.0), (210.0, 0.0), (120.0, 90.0), (-60.0, 90.0)]
        {
            let along = Point::at_angle(30_f64.to_radians());
            let off = off_line_deg(f64::to_radians(heading_deg), along);
            assert!((off - off_deg).abs() < 1e-9, "{heading_deg}: {off}");
        }
    }
}
