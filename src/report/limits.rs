//! The limits of each case and the savings from changes to the site: in words, and for results.json.
use super::decimal::{down, nearest};
use super::model::{self, Clearance, PerFoot};
use super::words::{Line, sentence_start};
use crate::geometry::Units;
use crate::geometry::length::{INCH_M, Round, show, show_fine};
use crate::opening::{
    ActiveConstraint, Changes, ConstraintKind, Difference, Kind, Limits, STEP_DEG, STEP_M, Study,
};

/// Decimals of lengths: 0.1 mm like the openings they come from; shares and angles have as many.
const PLACES: u8 = 4;
/// Least saving that is worth a sentence: half an inch.
const WORTH_SAYING_M: f64 = 0.5 * INCH_M;

/// `limits` of a case in results.json.
pub(super) fn model(limits: &Limits) -> model::Limits {
    model::Limits {
        binds: limits.binds.iter().map(bind).collect(),
        full_lock_share: nearest(limits.full_lock_share, PLACES),
        per_foot: limits.changes.as_ref().map(per_foot),
    }
}

fn bind(bind: &ActiveConstraint) -> model::ActiveConstraint {
    let (mut spare_m, mut spare_deg) = (None, None);
    match bind.kind {
        ConstraintKind::Contact | ConstraintKind::Ground => spare_m = Some(down(bind.spare, PLACES)),
        ConstraintKind::Hitch => spare_deg = Some(down(bind.spare.to_degrees(), PLACES)),
        ConstraintKind::Lock => {}
    }
    let (what, part) = (bind.what.clone(), bind.part.clone());
    model::ActiveConstraint { kind: bind.kind.into(), what, part, spare_m, spare_deg }
}

fn per_foot(changes: &Changes) -> PerFoot {
    // Absent if the kind was not examined, null if no change of it was found to pass; more of it, and less.
    let slopes = |kind: Kind| {
        let step = if kind == Kind::Skew { STEP_DEG } else { STEP_M };
        let slope = |by: Option<f64>| by.map(|m| nearest(m / step, PLACES));
        let examined = changes.of(kind);
        (examined.map(|d| slope(d.more_m)), examined.map(|d| slope(d.less_m)))
    };
    let (opening_per_setback, opening_per_less_setback) = slopes(Kind::Setback);
    let (opening_per_road_width, opening_per_less_road_width) = slopes(Kind::RoadWidth);
    let (opening_per_apron_flare, opening_per_less_apron_flare) = slopes(Kind::ApronFlare);
    let (opening_per_post_depth, opening_per_less_post_depth) = slopes(Kind::PostDepth);
    let (opening_per_skew_deg, opening_per_skew_deg_clockwise) = slopes(Kind::Skew);
    PerFoot {
        clearance: Clearance::of(changes.comfortable),
        opening_m: nearest(changes.opening_m, PLACES),
        step_m: nearest(STEP_M, PLACES),
        step_deg: nearest(STEP_DEG, PLACES),
        opening_per_setback,
        opening_per_less_setback,
        opening_per_road_width,
        opening_per_less_road_width,
        opening_per_apron_flare,
        opening_per_less_apron_flare,
        opening_per_post_depth,
        opening_per_less_post_depth,
        opening_per_skew_deg,
        opening_per_skew_deg_clockwise,
    }
}

/// One line per vehicle: the changes that would let it need less, or that none of those examined would.
#[must_use]
pub fn savings(study: &Study) -> Vec<Line> {
    let of_vehicle = study.needs.iter().filter_map(|need| {
        let case = study.cases.get(need.governed_by?)?;
        let changes = case.limits.changes.as_ref()?;
        let title = sentence_start(&study.vehicles.get(need.vehicle)?.title);
        Some(Line::plain(format!("{title}: {}.", saving_words(changes, study.site.units))))
    });
    of_vehicle.collect()
}

/// "each foot farther back saves 9 in; a road a foot wider saves 4 in".
fn saving_words(changes: &Changes, units: Units) -> String {
    let step = match units {
        Units::Feet => "a foot",
        Units::Meters => "30 cm",
    };
    let worth = |by: Option<f64>| by.filter(|m| *m <= -WORTH_SAYING_M).map(|m| -m);
    // In finer inches than elsewhere: half of one is worth saying, and must not read as none.
    let length = |m: f64| match units {
        Units::Feet => show_fine(m, units, Round::Down),
        Units::Meters => show(m, units, Round::Down),
    };
    let mut said = Vec::new();
    let mut asked = Vec::new();
    for d in &changes.by_kind {
        if d.more_m.is_some() || d.less_m.is_some() {
            asked.push(match d.kind {
                Kind::Setback => "more setback",
                Kind::RoadWidth => "a wider road",
                Kind::ApronFlare => "a flared apron",
                Kind::PostDepth => "other posts",
                Kind::Skew => "a turned gate line",
            });
        }
        let more = worth(d.more_m);
        match d.kind {
            Kind::Setback => {
                said.extend(more.map(|m| format!("a gate {step} farther back saves {}", length(m))));
            }
            Kind::RoadWidth => said.extend(more.map(|m| format!("a road {step} wider saves {}", length(m)))),
            Kind::ApronFlare => said.extend(
                more.map(|m| format!("an apron {step} wider on each side at the road saves {}", length(m))),
            ),
            Kind::PostDepth => {
                let less = worth(d.less_m);
                said.extend(less.map(|m| format!("posts {step} less deep save {}", length(m))));
            }
            Kind::Skew => said.extend(turn_words(d, &worth, &length)),
        }
    }
    if said.is_empty() {
        let little = if units == Units::Feet { "half an inch" } else { "a centimeter" };
        return match asked.as_slice() {
            [] => "no change of the site was found to pass".to_owned(),
            [one] => format!("{one} would not save {little}"),
            all => format!("none of these would save {little}: {}", all.join(", ")),
        };
    }
    said.join("; ")
}

/// The better direction in which to turn the gate line, named by the post that comes nearer to the road.
fn turn_words(
    d: &Difference,
    worth: &dyn Fn(Option<f64>) -> Option<f64>,
    length: &dyn Fn(f64) -> String,
) -> Option<String> {
    let (left, right) = (worth(d.more_m), worth(d.less_m));
    // Turned counterclockwise, the left post comes toward the road.
    let (post, saves) =
        if left.unwrap_or(0.0) >= right.unwrap_or(0.0) { ("left", left) } else { ("right", right) };
    saves.map(|m| {
        format!("turning the gate {STEP_DEG:.0}\u{b0}, its {post} post toward the road, saves {}", length(m))
    })
}
