//! Warm start of one case of a study: the opening at a slightly changed site, from the path found before. Meant for a
//! plan that someone edits by dragging a post.
use super::drawn_clearance::{DrawnGateRoom, DrawnWay};
use super::limits::{follow, way};
use super::reoptimize::SiteVariant;
use super::study::answer;
use super::{Answer, DrawnGate, Study};
use crate::geometry::parallel::*;
use crate::site::Site;

/// The opening that a case of a study needs at `changed`, a site that differs a little from the study's, by a warm
/// start: the study's path is polished where it lay on the ground, and where it lay relative to the gate. A full search
/// follows only if neither gets in. Bare, or with the study's clearance.
///
/// Takes some tens of milliseconds; for a vehicle without a trailer most of them go into the site itself (its ground
/// and where the vehicle may start). Where the change is small, a full search gives an answer narrower by half a
/// percent at most. The answer covers the opening alone; nothing is proven about it.
///
/// `None` for a drawn route, for a case that the study does not have, and where the changed site is not driven so any
/// more.
#[must_use]
pub fn again(study: &Study, case: usize, comfortable: bool, changed: &Site) -> Option<Answer> {
    let place = SiteVariant::new(changed, way(study, case, comfortable)?)?;
    let known = follow(study, case, comfortable).map(|(_, known)| known);
    Some(answer(&place.again(known.as_ref()), &place.frame()))
}

/// One case of a study at a slightly changed site: see [`case_again`].
#[derive(Clone, Debug)]
pub struct CaseAgain {
    /// Opening needed bare.
    pub bare: Answer,
    /// Opening needed with the study's clearance.
    pub comfortable: Answer,
    /// Verdict on the gate as the changed site draws it. A path behind a kind one is certified; a search that is given
    /// less work than a study's may miss one, so that a whole study can be kinder.
    pub drawn_gate: DrawnGate,
    /// A path through that gate, with a clearance it keeps, though not always the most; or the best try.
    pub drawn: DrawnWay,
}

/// A case of a study at `changed`, a site that differs a little from the study's: both openings as by [`again`], which
/// share the work on the site, and the verdict on the gate as drawn there.
///
/// `None` as for [`again`].
#[must_use]
pub fn case_again(study: &Study, case: usize, changed: &Site) -> Option<CaseAgain> {
    let passage = way(study, case, true)?;
    let place = SiteVariant::new(changed, passage)?;
    let frame = place.frame();
    let found: Vec<_> = [false, true]
        .into_par_iter()
        .map(|comfortable| {
            let known = follow(study, case, comfortable).map(|(_, known)| known);
            place.again_with(if comfortable { study.clearance_m } else { 0.0 }, known.as_ref())
        })
        .collect();
    let [bare, comfortable] = <[_; 2]>::try_from(found).ok()?;
    let mut room = DrawnGateRoom::new(passage.vehicle, place.surroundings());
    let drawn_gate = if room.passes_nearby(place.asked(), &comfortable, study.clearance_m) {
        DrawnGate::Comfortable
    } else if room.passes_nearby(place.asked(), &bare, 0.0) {
        DrawnGate::Tight
    } else {
        DrawnGate::No
    };
    let drawn = room.kept_or_best_try([&bare, &comfortable]);
    let answers = [&bare, &comfortable].map(|finding| answer(finding, &frame));
    let [bare, comfortable] = answers;
    Some(CaseAgain { bare, comfortable, drawn_gate, drawn })
}
