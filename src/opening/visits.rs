//! Ways through the gate that decide the verdict on a vehicle: those that the visits it may make take.
use crate::site::{Maneuver, Visit};

/// The ways through the gate that must work, from each direction of travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Demanded {
    /// Driving in.
    DriveIn,
    /// Backing in.
    BackIn,
    /// One of the two.
    Either,
    /// Both, and turning around inside between them.
    TurnAround,
}

impl Demanded {
    /// Ways demanded by a list of visits, any of which will do; none listed: driving in. A visit that takes two ways
    /// requires more than either of them, so beside another it decides nothing.
    ///
    /// ```
    /// use wideenough::opening::Demanded;
    /// use wideenough::site::Visit;
    /// assert_eq!(Demanded::of(&[]), Demanded::DriveIn);
    /// assert_eq!(Demanded::of(&[Visit::TurnAround, Visit::BackInDriveOut]), Demanded::BackIn);
    /// assert_eq!(Demanded::of(&[Visit::TurnAround]), Demanded::TurnAround);
    /// ```
    #[must_use]
    pub fn of(visits: &[Visit]) -> Self {
        let (drive, back) =
            (visits.contains(&Visit::DriveInBackOut), visits.contains(&Visit::BackInDriveOut));
        match (drive, back) {
            (true, true) => Self::Either,
            (false, true) => Self::BackIn,
            (false, false) if visits.contains(&Visit::TurnAround) => Self::TurnAround,
            _ => Self::DriveIn,
        }
    }

    /// True if the verdict depends on this maneuver. Others are studied for information only.
    #[must_use]
    pub const fn counts(self, maneuver: Maneuver) -> bool {
        match self {
            Self::DriveIn => matches!(maneuver, Maneuver::DriveIn),
            Self::BackIn => matches!(maneuver, Maneuver::BackIn),
            Self::Either | Self::TurnAround => true,
        }
    }

    /// Maneuvers that count, in groups: of each group one must work, and every group must.
    #[must_use]
    pub const fn groups(self) -> &'static [&'static [Maneuver]] {
        match self {
            Self::DriveIn => &[&[Maneuver::DriveIn]],
            Self::BackIn => &[&[Maneuver::BackIn]],
            Self::Either => &[&[Maneuver::DriveIn, Maneuver::BackIn]],
            Self::TurnAround => &[&[Maneuver::DriveIn], &[Maneuver::BackIn]],
        }
    }
}

/// Maneuvers that a study covers for a vehicle: those its visits take; where none are listed backing in, too, which
/// does not count and shows what it would gain.
pub(super) fn studied(visits: &[Visit]) -> Vec<Maneuver> {
    let both = [Maneuver::DriveIn, Maneuver::BackIn];
    let taken = |maneuver: &Maneuver| visits.iter().any(|visit| visit.maneuvers().contains(maneuver));
    both.into_iter().filter(|maneuver| visits.is_empty() || taken(maneuver)).collect()
}
