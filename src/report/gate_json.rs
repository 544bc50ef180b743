//! The `gate` member of results.json: the leaves as drawn and, if the study includes it, room to wait, the schedule and
//! the rules.
use super::decimal::{down, nearest, up};
use super::model::{self, ByName, LeavesOf, OpenLeaves, Position};
use super::results::{vehicle_name, xy};
use crate::gate::{self, LeafSwing, MAKERS_DIFFER, Measure, RuleFinding};
use crate::opening::{ArrangementNeeds, DrawnGate, GatePlan, InAndOut, OpeningNeeds, ScheduleRow, Study};
use crate::site::{Arrangement, Leaves, Swing};

/// Decimals of lengths: 0.1 mm.
const LENGTH_PLACES: u8 = 4;
/// Decimals of the figures of the hardware: a micrometer.
const FIGURE_PLACES: u8 = 6;
/// Decimals of degrees and kilograms.
const FINE_PLACES: u8 = 3;

fn need(m: f64) -> f64 {
    up(m, LENGTH_PLACES)
}

fn room(m: f64) -> f64 {
    down(m, LENGTH_PLACES)
}

fn plain(m: f64) -> f64 {
    nearest(m, LENGTH_PLACES)
}

fn fine(x: f64) -> f64 {
    nearest(x, FINE_PLACES)
}

/// The study's findings about the gate itself.
pub(super) fn plan(study: &Study, plan: &GatePlan) -> model::GatePlan {
    model::GatePlan {
        leaf_width_m: plain(plan.leaf_width_m),
        made_leaf_width_m: plain(plan.made_leaf_m),
        outside_m: plain(plan.outside_m),
        column_face_m: plain(plan.column_face_m),
        swing_depth_m: need(plan.swing_depth_m),
        leaf_swings: plan.swings.iter().map(leaf).collect(),
        run_back: plan.run_back.as_ref().map(run_back),
        waiting: plan.waiting.iter().enumerate().map(|(i, w)| waiting(study, i, w)).collect(),
        arrangements: plan.arrangements.iter().map(|of| arrangement(study, plan, of)).collect(),
        place_u_m: nearest(plan.place_u_m, 6),
        schedule: plan.schedule.iter().map(|row| schedule(study, row)).collect(),
        rules: plan.rules.iter().map(rule).collect(),
        allowances: plan.allowances.figures.iter().map(figure).collect(),
        caution: MAKERS_DIFFER,
    }
}

impl OpenLeaves {
    /// The leaves of a gate, as written.
    pub(super) fn of(leaves: &Leaves) -> Self {
        Self {
            of: LeavesOf::of(leaves.arrangement, leaves.opens),
            open_angle_deg: fine(leaves.open_angle_rad.to_degrees()),
        }
    }
}

impl LeavesOf {
    fn of(arrangement: Arrangement, opens: Swing) -> Self {
        let (leaves, hinge) = match arrangement {
            Arrangement::Single(side) => (model::Leaves::Single, Some(side.into())),
            Arrangement::Double => (model::Leaves::Double, None),
            Arrangement::Slide(side) => (model::Leaves::Slide, Some(side.into())),
            Arrangement::None => (model::Leaves::None, None),
        };
        let swings = arrangement.swings();
        Self { leaves, hinge, opens: swings.then(|| opens.into()) }
    }
}

fn stop(stop: &gate::Stop) -> model::Stop {
    let Position { x_m, y_m } = xy(stop.at);
    model::Stop { what: stop.what.clone(), kind: stop.kind.into(), x_m, y_m }
}

fn leaf(swing: &LeafSwing) -> model::LeafSwing {
    model::LeafSwing {
        side: swing.side.into(),
        pin: xy(swing.pin),
        width_m: plain(swing.length_m),
        open_angle_deg: fine(swing.wanted_rad.to_degrees()),
        reaches_deg: down(swing.reach_rad.to_degrees(), FINE_PLACES),
        stopped_by: swing.stop.as_ref().map(stop),
    }
}

fn run_back(back: &gate::RunBack) -> model::RunBack {
    model::RunBack {
        side: back.side.into(),
        needed_m: need(back.needed_m),
        free_m: back.free_m.map(room),
        stopped_by: back.stop.as_ref().map(stop),
    }
}

fn waiting(study: &Study, index: usize, wait: &gate::Waiting) -> model::Waiting {
    model::Waiting {
        vehicle: vehicle_name(study, index),
        length_m: need(wait.length_m),
        outside: model::WaitingOutside {
            back_m: need(wait.outside_back_m),
            room_m: room(wait.outside_room_m),
            missing_m: need(wait.outside_missing_m),
        },
        inside: model::WaitingInside {
            back_m: need(wait.inside_back_m),
            room_m: wait.inside_room_m.map(room),
            against: wait.inside_against.clone(),
            missing_m: need(wait.inside_missing_m),
        },
    }
}

fn arrangement(study: &Study, plan: &GatePlan, of: &ArrangementNeeds) -> model::Arrangement {
    let one_way = |needs: OpeningNeeds| model::NeedOneWay {
        bare_opening_m: needs.bare_m.map(need),
        comfortable_opening_m: needs.comfortable_m.map(need),
    };
    let needs = of.needs.iter().enumerate().map(|(i, needs)| {
        let in_and_out = of.in_and_out.get(i).copied().flatten();
        model::ArrangementNeed {
            vehicle: vehicle_name(study, i),
            bare_opening_m: needs.bare_m.map(need),
            comfortable_opening_m: needs.comfortable_m.map(need),
            backing_in: of.backing_in.get(i).copied().flatten().map(one_way),
            driving_in: in_and_out.map(|both| one_way(both.drive_in)),
            driving_out: in_and_out.map(|both| one_way(both.drive_out)),
        }
    });
    let order = |row: &ScheduleRow| plain(row.assembly.stock_m);
    model::Arrangement {
        of: LeavesOf::of(of.arrangement, of.opens),
        as_drawn: of.drawn,
        needs: needs.collect(),
        order_m: plan.smallest(of).map(order),
        order_if_backing_in_m: plan.smallest_backing_in(of).map(order),
    }
}

fn schedule(study: &Study, row: &ScheduleRow) -> model::ScheduleRow {
    let passes = row.passes.iter().enumerate().map(|(i, gate)| (vehicle_name(study, i), (*gate).into()));
    let one_way = |of: fn(InAndOut<DrawnGate>) -> DrawnGate| {
        let turning = row.in_and_out.iter().enumerate().filter_map(|(i, both)| Some((i, (*both)?)));
        let verdicts: Vec<_> = turning.map(|(i, both)| (vehicle_name(study, i), of(both).into())).collect();
        (!verdicts.is_empty()).then_some(ByName(verdicts))
    };
    let stopped = row.swings.iter().filter(|s| s.stop.is_some());
    model::ScheduleRow {
        assembly: assembly(&row.assembly),
        passes: ByName(passes.collect()),
        drives_in: one_way(|both| both.drive_in),
        drives_out: one_way(|both| both.drive_out),
        stopped_leaves: stopped.map(leaf).collect(),
        run_back: row.run_back.as_ref().map(run_back),
        waiting_missing_m: need(row.waiting_missing_m),
        fits_drawn_opening: row.fits_drawn,
        suits: row.suits(),
    }
}

fn assembly(a: &gate::Assembly) -> model::Assembly {
    let weights = a.weights.iter().map(|w| model::Weight {
        material: w.material.clone(),
        leaf_weight_kg: fine(w.weight_kg),
        top_hinge_pull_kg: w.hinge_pull_kg.map(fine),
    });
    model::Assembly {
        of: LeavesOf::of(a.arrangement, a.opens),
        stock_m: plain(a.stock_m),
        leaf_width_m: plain(a.leaf_width_m),
        opening_m: plain(a.opening_m),
        clear_m: room(a.clear_m),
        counted_m: room(a.counted_m),
        outside_m: plain(a.outside_m),
        column_face_m: plain(a.column_face_m),
        swing_depth_m: need(a.swing_depth_m),
        run_back_m: need(a.run_back_m),
        openers: a.openers,
        conduit_m: a.conduit_m.map(need),
        usual_leaf: a.usual,
        weights: weights.collect(),
    }
}

fn rule(finding: &RuleFinding) -> model::Rule {
    let (outcome, difference) = match &finding.outcome {
        gate::RuleOutcome::Kept => (model::RuleOutcome::Kept, None),
        gate::RuleOutcome::Unknown(missing) => {
            let (what, is_m, least_m, most_m) = (missing.clone(), None, None, None);
            (model::RuleOutcome::Unknown, Some(model::Difference { what, is_m, least_m, most_m }))
        }
        gate::RuleOutcome::Broken(d) => {
            let [is_m, least_m, most_m] = [d.is_m, d.least_m, d.most_m].map(|m| Some(m.map(plain)));
            let what = d.what.clone();
            (model::RuleOutcome::Differs, Some(model::Difference { what, is_m, least_m, most_m }))
        }
    };
    let gate::Rule { name, citation, asks, .. } = finding.rule;
    model::Rule { rule: name, citation, asks, outcome, difference }
}

fn figure(figure: &gate::Figure) -> model::Figure {
    let (mut value_m, mut share, mut kg_per_m) = (None, None, None);
    match figure.measure {
        Measure::Length(m) => value_m = Some(nearest(m, FIGURE_PLACES)),
        Measure::Share(of_1) => share = Some(nearest(of_1, FIGURE_PLACES)),
        Measure::WeightPerWidth(kg) => kg_per_m = Some(nearest(kg, FIGURE_PLACES)),
    }
    let (name, source) = (figure.name.clone(), figure.source.clone());
    model::Figure { name, value_m, share, kg_per_m, source }
}
