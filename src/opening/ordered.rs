//! The gate to order, and a study's site with that gate in place of the one drawn.
use super::placement::about;
use super::{ArrangementNeeds, GatePlan, ScheduleRow, Study};
use crate::gate::{drawn_leaf_m, waiting};
use crate::site::Leaves;
use crate::site::changes::Change;

impl GatePlan {
    /// Returns the gate to order: the smallest that suits of the arrangement drawn, else the smallest of all arrangements;
    /// `None` where none suits.
    #[must_use]
    pub fn to_order(&self) -> Option<(&ArrangementNeeds, &ScheduleRow)> {
        let smallest = |of: &'_ ArrangementNeeds| self.smallest(of).map(|row| row.assembly.stock_m);
        let drawn = self.arrangements.iter().find(|of| of.drawn && smallest(of).is_some());
        let any = || {
            let suits = self.arrangements.iter().filter_map(|of| Some((of, smallest(of)?)));
            suits.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(of, _)| of)
        };
        let of = drawn.or_else(any)?;
        Some((of, self.smallest(of)?))
    }
}

/// A study's site and gate with the gate to order in place of the one drawn, without cases: for a picture of it. `None` where
/// none is to be ordered, where it is the gate as drawn or a narrower one of the same kind, and where it cannot stand there.
#[must_use]
pub fn as_ordered(study: &Study) -> Option<Study> {
    let plan = study.gate.as_ref()?;
    let (of, row) = plan.to_order()?;
    if of.drawn && row.fits_drawn && plan.place_u_m == 0.0 {
        return None;
    }
    let made = &row.assembly;
    let placed = about(&study.site, plan.place_u_m)?;
    let wider = Change::Opening(made.opening_m - placed.gate.opening_m()).apply(&placed).ok()?;
    let leaves = Leaves { arrangement: of.arrangement, opens: of.opens, ..study.site.gate.leaves };
    let site = Change::Leaves(leaves).apply(&wider).ok()?;
    let (faces, leaf_m) = (site.gate.drawn_faces(), drawn_leaf_m(&site.gate));
    let gap_m = plan.allowances.waiting_gap_m;
    let stand = |vehicle| waiting(&site, &leaves, leaf_m, faces, vehicle, gap_m);
    let ordered = GatePlan {
        leaf_width_m: made.leaf_width_m,
        made_leaf_m: made.leaf_width_m,
        outside_m: made.outside_m,
        column_face_m: made.column_face_m,
        swing_depth_m: made.swing_depth_m,
        swings: row.swings.clone(),
        run_back: row.run_back.clone(),
        waiting: study.vehicles.iter().map(stand).collect(),
        ..plan.clone()
    };
    Some(Study { site, gate: Some(ordered), cases: Vec::new(), ..study.clone() })
}
