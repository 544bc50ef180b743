//! Setters of [`StudyOptions`] and [`Wanted`], so that a caller names only what differs from the usual.
use super::{StudyOptions, Wanted};
use crate::search::Effort;
use crate::site::Visit;

/// ```
/// use wideenough::opening::StudyOptions;
/// let options = StudyOptions::default().with_clearance_m(0.45).with_shunts(1).with_changes(false);
/// assert_eq!((options.clearance_m, options.shunts, options.changes), (0.45, 1, false));
/// assert_eq!(options.effort, StudyOptions::default().effort);
/// ```
impl StudyOptions {
    /// Sets the clearance of the comfortable answers, meters, kept from everything that stands.
    #[must_use]
    pub const fn with_clearance_m(self, clearance_m: f64) -> Self {
        Self { clearance_m, ..self }
    }

    /// Sets the number of stops allowed beyond those a maneuver needs.
    #[must_use]
    pub const fn with_shunts(self, shunts: u32) -> Self {
        Self { shunts, ..self }
    }

    /// Sets the number of stops to change direction that turning around inside may take.
    #[must_use]
    pub const fn with_turn_stops(self, turn_stops: u32) -> Self {
        Self { turn_stops, ..self }
    }

    /// Sets the search effort.
    #[must_use]
    pub const fn with_effort(self, effort: Effort) -> Self {
        Self { effort, ..self }
    }

    /// Sets whether a bound is proven on how much narrower an opening could be.
    #[must_use]
    pub const fn with_proof(self, prove: bool) -> Self {
        Self { prove, ..self }
    }

    /// Sets whether the savings by changes of the site are computed too.
    #[must_use]
    pub const fn with_changes(self, changes: bool) -> Self {
        Self { changes, ..self }
    }

    /// Sets whether the opening against setback and skew is computed too.
    #[must_use]
    pub const fn with_tradeoff(self, tradeoff: bool) -> Self {
        Self { tradeoff, ..self }
    }
}

/// ```
/// use wideenough::{opening::Wanted, site::Visit, vehicle};
/// let wanted = Wanted::from(vehicle::find("car").unwrap()).with_visits([Visit::TurnAround]).with_travels(["eastbound"]);
/// assert_eq!((wanted.visits.len(), wanted.travels[0].as_str()), (1, "eastbound"));
/// ```
impl Wanted {
    /// Sets the acceptable visits: any of them will do. None: driving in and backing out must work.
    #[must_use]
    pub fn with_visits(self, visits: impl IntoIterator<Item = Visit>) -> Self {
        Self { visits: visits.into_iter().collect(), ..self }
    }

    /// Sets the directions of travel it must be able to come from, as compass words; none: all.
    #[must_use]
    pub fn with_travels(self, travels: impl IntoIterator<Item = impl Into<String>>) -> Self {
        Self { travels: travels.into_iter().map(Into::into).collect(), ..self }
    }
}
