//! Setters of [`StudyOptions`], so that a caller names only what differs from the usual.
use super::StudyOptions;
use crate::search::Effort;

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
