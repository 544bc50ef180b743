//! One way in asked about again at a changed site, from the answer of a study: for a post that someone drags.
use super::ask::Place;
use super::limits::{follow, way};
use super::study::answer;
use super::{Answer, Study};
use crate::site::Site;

/// What a case of a study needs at `changed`, a site that differs a little from the study's: from the way the study found, on
/// the ground and as it lay to the gate, and only where neither leads in by a whole search. Bare, or with the study's clearance.
///
/// Some tens of milliseconds, for a vehicle without a trailer most of them for the site itself (its ground and where the vehicle
/// may start). Where the change is small a whole search gives an answer narrower by half a percent at most. The answer is for
/// the opening alone: nothing is proven of it.
///
/// `None` for a drawn route, for a case that the study does not have, and where the changed site is not driven so any more.
#[must_use]
pub fn again(study: &Study, case: usize, comfortable: bool, changed: &Site) -> Option<Answer> {
    let place = Place::new(changed, way(study, case, comfortable)?)?;
    let known = follow(study, case, comfortable).map(|(_, known)| known);
    Some(answer(&place.again(known.as_ref()), &place.frame()))
}
