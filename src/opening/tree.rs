//! Cases of a study as a tree: a vehicle, its directions of travel, the maneuvers of each; and beside those the routes
//! drawn for it.
use super::{Case, CaseLane, Demanded, Study};
use crate::motion::Path;
use crate::site::Maneuver;

/// The cases of one vehicle, each by its index in [`Study::cases`].
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct VehicleCases<'a> {
    /// The ways through the gate that must work.
    pub demanded: Demanded,
    /// The directions of travel it was studied from, in the study's order.
    pub travels: Vec<TravelCases<'a>>,
    /// Routes drawn for it: each a problem of its own.
    pub routes: Vec<usize>,
}

/// The cases of one vehicle from one direction of travel.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct TravelCases<'a> {
    /// Direction of travel: "eastbound".
    pub travel: &'a str,
    /// One case for each maneuver, by its index in [`Study::cases`].
    pub cases: Vec<usize>,
    /// Cases that decide the verdict, in groups: of each group one must work, and every group must. A group is empty
    /// where none of its maneuvers was studied.
    pub groups: Vec<Vec<usize>>,
}

impl TravelCases<'_> {
    /// Cases that decide the verdict.
    pub fn counted(&self) -> impl Iterator<Item = usize> + '_ {
        self.groups.iter().flatten().copied()
    }

    /// Returns the deciding case: of the easiest of each group the one that takes most, by a measure that is smaller
    /// where less is needed. Of equally easy ones the first, of equally hard ones the last; `None` where nothing that
    /// counts was studied.
    #[must_use]
    pub fn deciding(&self, measure: impl Fn(usize) -> f64) -> Option<usize> {
        let least =
            |group: &Vec<usize>| group.iter().copied().min_by(|a, b| measure(*a).total_cmp(&measure(*b)));
        self.groups.iter().filter_map(least).max_by(|a, b| measure(*a).total_cmp(&measure(*b)))
    }
}

impl<'a> VehicleCases<'a> {
    /// Collects the cases of the vehicle with this index.
    #[must_use]
    pub fn among(cases: &'a [Case], vehicle: usize, demanded: Demanded) -> Self {
        let mut tree = Self { demanded, travels: Vec::new(), routes: Vec::new() };
        let groups = demanded.groups();
        let group_of = |maneuver: Maneuver| groups.iter().position(|group| group.contains(&maneuver));
        for (index, case) in cases.iter().enumerate().filter(|(_, case)| case.vehicle == vehicle) {
            if case.route.is_some() {
                tree.routes.push(index);
                continue;
            }
            let known = tree.travels.iter().position(|t| t.travel == case.travel).unwrap_or_else(|| {
                let travel = &case.travel;
                tree.travels.push(TravelCases {
                    travel,
                    cases: Vec::new(),
                    groups: vec![vec![]; groups.len()],
                });
                tree.travels.len() - 1
            });
            let of_travel = &mut tree.travels[known];
            of_travel.cases.push(index);
            if let Some(group) = group_of(case.maneuver) {
                of_travel.groups[group].push(index);
            }
        }
        tree
    }

    /// Returns the cases from one direction of travel; `None` if it was not studied from there.
    #[must_use]
    pub fn from(&self, travel: &str) -> Option<&TravelCases<'a>> {
        self.travels.iter().find(|t| t.travel == travel)
    }

    /// Returns the governing case: of those that decide from each direction of travel the one that takes most, by a
    /// measure that is smaller where less is needed. Of equally hard ones the last; `None` without any travel.
    #[must_use]
    pub fn governing(&self, measure: impl Fn(usize) -> f64) -> Option<usize> {
        let deciding = self.travels.iter().filter_map(|t| t.deciding(&measure));
        deciding.max_by(|a, b| measure(*a).total_cmp(&measure(*b)))
    }
}

impl Study {
    /// Cases of one vehicle, by its index into [`Study::vehicles`].
    #[must_use]
    pub fn of_vehicle(&self, vehicle: usize) -> VehicleCases<'_> {
        let demanded = self.demanded.get(vehicle).copied().unwrap_or(Demanded::Either);
        VehicleCases::among(&self.cases, vehicle, demanded)
    }

    /// Cases that were searched for, in their order: all but the drawn routes.
    pub fn searched(&self) -> impl Iterator<Item = &Case> {
        self.cases.iter().filter(|case| case.route.is_none())
    }

    /// True if backing in stands for driving out: of a vehicle that turns around inside.
    #[must_use]
    pub fn is_way_out(&self, case: &Case) -> bool {
        let turns = self.demanded.get(case.vehicle) == Some(&Demanded::TurnAround);
        turns && case.maneuver == Maneuver::BackIn && case.route.is_none()
    }

    /// True if a vehicle drives out on the path of a case, which holds it as a path of backing in: the way out of a vehicle
    /// that turns around inside, by either lane.
    #[must_use]
    pub fn drives_out(&self, case: &Case) -> bool {
        self.is_way_out(case) || (case.maneuver == Maneuver::BackIn && case.lane == CaseLane::Leaving)
    }

    /// Index of the first leg that the vehicle of a case drives of a path it is known by. Of a way out that is the last leg:
    /// the ones before it lead along the road to where a vehicle that backs in stops, which one that drives out never does.
    #[must_use]
    pub fn first_leg_driven(&self, case: &Case, path: &Path) -> usize {
        if self.drives_out(case) { path.legs.len().saturating_sub(1) } else { 0 }
    }

    /// True if the verdict on its vehicle depends on a case: it counts for a visit the vehicle may make. A drawn route counts
    /// for a vehicle that has no other ways.
    #[must_use]
    pub fn counts(&self, case: &Case) -> bool {
        if case.route.is_some() {
            return self.of_vehicle(case.vehicle).travels.is_empty();
        }
        self.demanded.get(case.vehicle).is_none_or(|demanded| demanded.counts(case.maneuver))
    }

    /// Cases of the drawn routes, in their order.
    pub fn drawn_routes(&self) -> impl Iterator<Item = &Case> {
        self.cases.iter().filter(|case| case.route.is_some())
    }
}
