//! The limits of each case and the savings from changes to the site: in words, and for results.json.
use super::decimal::{down, nearest, number};
use super::words::{Line, sentence_start};
use crate::geometry::Units;
use crate::geometry::length::{INCH_M, Round, show, show_fine};
use crate::opening::{
    ActiveConstraint, Changes, ConstraintKind, Difference, Kind, Limits, STEP_DEG, STEP_M, Study,
};
use serde_json::{Map, Value, json};

/// Decimals of lengths: 0.1 mm like the openings they come from; shares and angles have as many.
const PLACES: u8 = 4;
/// Least saving that is worth a sentence: half an inch.
const WORTH_SAYING_M: f64 = 0.5 * INCH_M;

/// `limits` of a case: `binds`, `full_lock_share`, and for a governing case `per_foot`.
///
/// `per_foot` holds meters of opening per meter of change (per degree for the skew), negative if the change saves; null
/// if it cannot be made or no way in was found. `opening_per_setback` and its like are for one step more,
/// `opening_per_less_setback` and its like for one step less: positive if less of it costs.
pub(super) fn value(limits: &Limits) -> Value {
    let mut fields = Map::new();
    fields.insert("binds".to_owned(), limits.binds.iter().map(bind).collect());
    fields.insert("full_lock_share".to_owned(), number(nearest(limits.full_lock_share, PLACES)));
    if let Some(changes) = &limits.changes {
        fields.insert("per_foot".to_owned(), per_foot(changes));
    }
    Value::Object(fields)
}

fn bind(bind: &ActiveConstraint) -> Value {
    let mut fields = Map::new();
    fields.insert("kind".to_owned(), json!(bind.kind.word()));
    fields.insert("what".to_owned(), json!(bind.what));
    fields.insert("part".to_owned(), json!(bind.part));
    match bind.kind {
        ConstraintKind::Contact | ConstraintKind::Ground => {
            fields.insert("spare_m".to_owned(), number(down(bind.spare, PLACES)));
        }
        ConstraintKind::Hitch => {
            fields.insert("spare_deg".to_owned(), number(down(bind.spare.to_degrees(), PLACES)));
        }
        ConstraintKind::Lock => {}
    }
    Value::Object(fields)
}

/// The field names of a kind of change: meters of opening per meter, or per degree.
const fn field(kind: Kind) -> (&'static str, &'static str) {
    match kind {
        Kind::Setback => ("opening_per_setback", "opening_per_less_setback"),
        Kind::RoadWidth => ("opening_per_road_width", "opening_per_less_road_width"),
        Kind::ApronFlare => ("opening_per_apron_flare", "opening_per_less_apron_flare"),
        Kind::PostDepth => ("opening_per_post_depth", "opening_per_less_post_depth"),
        Kind::Skew => ("opening_per_skew_deg", "opening_per_skew_deg_clockwise"),
    }
}

fn per_foot(changes: &Changes) -> Value {
    let mut fields = Map::new();
    let mut put = |key: &str, value: Value| {
        fields.insert(key.to_owned(), value);
    };
    put("clearance", json!(super::clearance_word(changes.comfortable)));
    put("opening_m", number(nearest(changes.opening_m, PLACES)));
    put("step_m", number(nearest(STEP_M, PLACES)));
    put("step_deg", number(nearest(STEP_DEG, PLACES)));
    for difference in &changes.by_kind {
        let step = if difference.kind == Kind::Skew { STEP_DEG } else { STEP_M };
        let slope = |by: Option<f64>| by.map_or(Value::Null, |m| number(nearest(m / step, PLACES)));
        let (more, less) = field(difference.kind);
        put(more, slope(difference.more_m));
        put(less, slope(difference.less_m));
    }
    Value::Object(fields)
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

/// "each foot further back saves 9 in; a road a foot wider saves 4 in".
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
                said.extend(more.map(|m| format!("a gate {step} further back saves {}", length(m))));
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
