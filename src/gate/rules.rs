//! Published rules about gates, each with its citation, and checks of a plan against them.
//!
//! The rules come from different sources and hold in different places: which of them apply is for the local authority
//! to decide. The checks only report which ones a plan differs from.
use super::pieces::{is_sidewalk, pieces};
use super::swing::open_outline;
use super::{Allowances, LeafSwing, StopKind, Waiting, gaps_m};
use crate::clearance::Surroundings;
use crate::geometry::distance::{nearest_convex, reach_in_band};
use crate::geometry::length::{FOOT_M, INCH_M};
use crate::geometry::trig;
use crate::site::{Arrangement, Ground, Site, Swing};

/// A published rule.
#[derive(Clone, Copy, Debug)]
pub struct Rule {
    /// Name on the command line.
    pub name: &'static str,
    /// Place of publication.
    pub citation: &'static str,
    /// Requirement, in words.
    pub asks: &'static str,
    /// True if it is checked when none is chosen: a rule that belongs to no one place.
    pub usual: bool,
    /// The check of a plan.
    pub check: fn(&RuleCheck) -> RuleOutcome,
}

/// Input of a rule's check.
#[derive(Clone, Copy, Debug)]
pub struct RuleCheck<'a> {
    /// The plan.
    pub site: &'a Site,
    /// The figures of the hardware.
    pub allowances: &'a Allowances,
    /// The leaves as drawn.
    pub swings: &'a [LeafSwing],
    /// The vehicles waiting, each with its name.
    pub waiting: &'a [(String, Waiting)],
}

/// Outcome of a rule's check.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum RuleOutcome {
    /// The plan complies.
    Kept,
    /// The plan does not comply; holds the difference.
    Broken(Difference),
    /// The plan lacks information; names what is missing.
    Unknown(String),
}

/// Difference between a plan and a rule.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Difference {
    /// The quantity checked: "the opening".
    pub what: String,
    /// Its value.
    pub is_m: Option<f64>,
    /// The least value the rule requires.
    pub least_m: Option<f64>,
    /// The largest value it allows.
    pub most_m: Option<f64>,
}

/// A rule that was checked.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct RuleFinding {
    /// The rule.
    pub rule: Rule,
    /// Outcome of the check.
    pub outcome: RuleOutcome,
}

fn at_least(what: &str, is_m: f64, least_m: f64) -> RuleOutcome {
    range(what, is_m, least_m, f64::INFINITY)
}

/// Tolerance for dimensions drawn to the inch: a tenth of a millimeter.
const HAIR_M: f64 = 1e-4;

fn range(what: &str, is_m: f64, least_m: f64, most_m: f64) -> RuleOutcome {
    if is_m >= least_m - HAIR_M && is_m <= most_m + HAIR_M {
        return RuleOutcome::Kept;
    }
    RuleOutcome::Broken(Difference {
        what: what.to_owned(),
        is_m: Some(is_m),
        least_m: (least_m > 0.0).then_some(least_m),
        most_m: most_m.is_finite().then_some(most_m),
    })
}

fn broken(what: String) -> RuleOutcome {
    RuleOutcome::Broken(Difference { what, is_m: None, least_m: None, most_m: None })
}

fn opening(check: &RuleCheck) -> f64 {
    check.site.gate.opening_m()
}

const SETBACK: &str = "the gate's distance from the edge of the road";
const OPENING: &str = "the opening between the inner faces of the posts";

fn leaf_fit(check: &RuleCheck) -> RuleOutcome {
    let a = check.allowances;
    match check.site.gate.leaves.arrangement {
        Arrangement::Single(_) => range(
            "what a single leaf is narrower than its opening",
            gaps_m(a, check.site.gate.leaves.arrangement),
            3.625 * INCH_M,
            4.0 * INCH_M,
        ),
        Arrangement::Double => range(
            "what two leaves together are narrower than their opening",
            gaps_m(a, check.site.gate.leaves.arrangement),
            6.0 * INCH_M,
            7.0 * INCH_M,
        ),
        Arrangement::Slide(_) | Arrangement::None => RuleOutcome::Kept,
    }
}

fn stop_clear(check: &RuleCheck) -> RuleOutcome {
    let Some((title, longest)) =
        check.waiting.iter().max_by(|a, b| a.1.outside_missing_m.total_cmp(&b.1.outside_missing_m))
    else {
        return RuleOutcome::Unknown("no vehicle was studied".to_owned());
    };
    at_least(
        &format!("the room between the closed gate and the road, for {title},"),
        longest.outside_room_m.max(0.0),
        longest.length_m,
    )
}

fn public_way(check: &RuleCheck) -> RuleOutcome {
    let over = check.swings.iter().filter_map(|swing| swing.stop.as_ref());
    match over.into_iter().find(|stop| stop.kind != StopKind::Standing) {
        Some(stop) => broken(format!("a leaf would swing over \"{}\"", stop.what)),
        None => RuleOutcome::Kept,
    }
}

fn not_toward_road(check: &RuleCheck) -> RuleOutcome {
    let leaves = check.site.gate.leaves;
    let swings = leaves.arrangement.swings();
    if swings && leaves.opens == Swing::Out {
        broken("the leaves swing toward the road".to_owned())
    } else {
        RuleOutcome::Kept
    }
}

/// Length at the pin that belongs to the hinge itself: half a foot.
const HINGE_END_M: f64 = 0.15;

/// Checks the least gap between an open leaf and an obstacle beside it, if it lies between the two limits.
fn entrapment(check: &RuleCheck) -> RuleOutcome {
    let site = check.site;
    let things = pieces(site, &site.gate.leaves, site.gate.drawn_faces());
    let (least, most) = (2.25 * INCH_M, 16.0 * INCH_M);
    let mut worst: Option<(f64, String)> = None;
    for swing in check.swings {
        let leaf = open_outline(&site.gate, swing, site.gate.leaves.thickness_m, HINGE_END_M);
        // The fence in the gate line ends at the hinge, where the leaf does not close in on it.
        for thing in things.iter().filter(|t| t.kind == StopKind::Standing && !t.in_line) {
            let gap = nearest_convex(&leaf, &thing.corners).distance_m - thing.radius_m;
            if gap > least && gap < most - HAIR_M && worst.as_ref().is_none_or(|(g, _)| gap < *g) {
                worst = Some((gap, thing.what.clone()));
            }
        }
    }
    match worst {
        Some((gap, what)) => RuleOutcome::Broken(Difference {
            what: format!("the gap between an open leaf and \"{what}\""),
            is_m: Some(gap),
            least_m: Some(most),
            most_m: None,
        }),
        None => RuleOutcome::Kept,
    }
}

/// The width of the drive beside the gate: the narrower of a meter outside and a meter inside.
fn lane_width(site: &Site) -> Option<f64> {
    let walks = |ground: &&Ground| !is_sidewalk(ground);
    let across = |v: f64| -> Option<f64> {
        let mut spans: Vec<(f64, f64)> = Vec::new();
        for drive in site.drives.iter().filter(walks) {
            let rings = std::iter::once(&drive.outer).chain(&drive.holes);
            let mut cuts: Vec<f64> = rings
                .flat_map(|ring| ring.edges())
                .filter_map(|(a, b)| {
                    let (a, b) = (site.gate.to_gate(a), site.gate.to_gate(b));
                    ((a.y > v) != (b.y > v)).then(|| a.x + (b.x - a.x) * ((v - a.y) / (b.y - a.y)))
                })
                .collect();
            cuts.sort_by(f64::total_cmp);
            spans.extend(cuts.chunks_exact(2).map(|c| (c[0], c[1])));
        }
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut low, mut high) = spans.iter().copied().find(|(a, b)| *a <= 0.0 && *b >= 0.0)?;
        // Pieces of a drive that meet count as one.
        for (a, b) in &spans {
            if *a <= high + 0.01 && *b >= low - 0.01 {
                (low, high) = (low.min(*a), high.max(*b));
            }
        }
        Some(high - low)
    };
    match (across(-1.0), across(1.0)) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

fn fire_lane(check: &RuleCheck) -> RuleOutcome {
    match lane_width(check.site) {
        Some(lane) => at_least(OPENING, opening(check), lane + 2.0 * FOOT_M),
        None => RuleOutcome::Unknown("the plan draws no drive at the gate".to_owned()),
    }
}

/// Checks the height of the lowest obstacle over the opening and the ground just before and behind it.
fn overhead(check: &RuleCheck, least_m: f64) -> RuleOutcome {
    let half = 0.5 * opening(check);
    let around = Surroundings::new(check.site, None, 2.0 * half);
    let over = around.standing.iter().filter(|s| {
        s.material.bottom_m > 0.0
            && reach_in_band(&s.corners, s.radius_m, -2.0, 2.0).is_some_and(|(a, b)| a < half && b > -half)
    });
    match over.min_by(|a, b| a.material.bottom_m.total_cmp(&b.material.bottom_m)) {
        Some(lowest) => at_least(
            &format!("the height below \"{}\"", lowest.material.what),
            lowest.material.bottom_m,
            least_m,
        ),
        None => RuleOutcome::Kept,
    }
}

/// Clear width between the open leaves: their pins stand in the middle of the hinge gaps, half a leaf's thickness
/// reaches beyond each, and a leaf that stops short of a right angle reaches into the opening.
fn clear_width(check: &RuleCheck) -> f64 {
    let a = check.allowances;
    let taken = check.swings.iter().map(|swing| {
        let into_opening = swing.length_m * trig::cos(swing.reach_rad).max(0.0);
        0.5 * (a.hinge_gap_m + a.leaf_thickness_m) + into_opening
    });
    opening(check) - taken.sum::<f64>()
}

fn clear_fourteen(check: &RuleCheck) -> RuleOutcome {
    match at_least("the clear width between the open leaves", clear_width(check), 14.0 * FOOT_M) {
        RuleOutcome::Kept => overhead(check, 15.0 * FOOT_M),
        other => other,
    }
}

/// Every rule, in listing order.
pub const RULES: [Rule; 13] = [
    Rule {
        name: "leaf-fit",
        citation: "US chain-link maker's note, 2018, on gate opening size and gate finish size (trade, no standard); the \
                   opening is inside face of hinge post to inside face of latch post",
        asks: "a single leaf 3 5/8 to 4 in narrower than its opening, two leaves together 6 to 7 in",
        usual: true,
        check: leaf_fit,
    },
    Rule {
        name: "stop-clear",
        citation: "Northern Ireland DCAN 15, section 10",
        asks: "gates far enough back for the largest likely vehicle to stop clear of the road with the gates closed",
        usual: true,
        check: stop_clear,
    },
    Rule {
        name: "public-way",
        citation: "UL 325 and ASTM F2200 (from memory)",
        asks: "no leaf that opens over a public way",
        usual: true,
        check: public_way,
    },
    Rule {
        name: "entrapment-gap",
        citation: "ASTM F2200 and UL 325, by a summary of the trade; for gates driven by power",
        asks: "no gap of more than 2 1/4 in and less than 16 in between a moving gate and a fixed thing, or protection \
               there",
        usual: true,
        check: entrapment,
    },
    Rule {
        name: "fire-width",
        citation: "International Fire Code, section D103.5 (quoted by a secondary source)",
        asks: "a single gate on a fire access road at least 20 ft wide",
        usual: false,
        check: |check| at_least(OPENING, opening(check), 20.0 * FOOT_M),
    },
    Rule {
        name: "fire-lane",
        citation: "California 14 CCR 1273 (gate rule); Fire Service Features of Buildings, fire-lane guidance",
        asks: "a gate at least 2 ft wider than the lane that leads to it",
        usual: false,
        check: fire_lane,
    },
    Rule {
        name: "fire-setback",
        citation: "California 14 CCR 1273 (gate rule); Rockingham County VA; fire-lane guidance. Some measure from the \
                   right-of-way line, which the plan does not show",
        asks: "a gate at least 30 ft from the road",
        usual: false,
        check: |check| at_least(SETBACK, check.site.gate.setback_m, 30.0 * FOOT_M),
    },
    Rule {
        name: "fire-height",
        citation: "International Fire Code, section 503.2.1; NFPA 1 (2015), 18.2.3",
        asks: "13 ft 6 in clear height",
        usual: false,
        check: |check| overhead(check, 13.5 * FOOT_M),
    },
    Rule {
        name: "inset-48",
        citation: "Spokane WA, SMC 17F.080.030",
        asks: "a fire access gate off a street inset at least 48 ft from the curb line",
        usual: false,
        check: |check| at_least(SETBACK, check.site.gate.setback_m, 48.0 * FOOT_M),
    },
    Rule {
        name: "clear-14",
        citation: "Del Norte County CA, 19.08.110",
        asks: "at least 14 ft clear width and 15 ft clear height",
        usual: false,
        check: clear_fourteen,
    },
    Rule {
        name: "setback-5m",
        citation: "Northern Ireland DCAN 15, section 9; for roads of more than 3000 vehicles a day",
        asks: "gates at least 5 m from the road",
        usual: false,
        check: |check| at_least(SETBACK, check.site.gate.setback_m, 5.0),
    },
    Rule {
        name: "width-3.2-to-5",
        citation: "Northern Ireland DCAN 15, section 9",
        asks: "a rural access 3.2 to 5.0 m wide",
        usual: false,
        check: |check| range(OPENING, opening(check), 3.2, 5.0),
    },
    Rule {
        name: "not-toward-road",
        citation: "Northern Ireland DCAN 15, section 9",
        asks: "gates that do not open toward the road",
        usual: false,
        check: not_toward_road,
    },
];

/// The rule with this name.
#[must_use]
pub fn rule(name: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.name == name)
}

/// Checks a plan against these rules.
#[must_use]
pub fn check_rules(rules: &[&Rule], check: &RuleCheck) -> Vec<RuleFinding> {
    rules.iter().map(|rule| RuleFinding { rule: **rule, outcome: (rule.check)(check) }).collect()
}
