//! Warm start of one case of a study: the opening at a slightly changed site, from the path found before. Meant for a
//! plan that someone edits by dragging a post.
use super::limits::{follow, way};
use super::reoptimize::SiteVariant;
use super::study::answer;
use super::{Answer, Study};
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
