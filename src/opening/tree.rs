//! The cases of a study as the tree they are: a vehicle, its directions of travel, the maneuvers of each; and beside
//! those the routes drawn for it.
use super::{Case, Study};

/// The cases of one vehicle, each by its place in [`Study::cases`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VehicleCases<'a> {
    /// The directions of travel it was studied from, in the study's order.
    pub travels: Vec<TravelCases<'a>>,
    /// The routes drawn for it: each a problem of its own.
    pub routes: Vec<usize>,
}

/// The cases of one vehicle from one direction of travel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TravelCases<'a> {
    /// The direction: "eastbound".
    pub travel: &'a str,
    /// One case for each maneuver, by its place in [`Study::cases`].
    pub cases: Vec<usize>,
}

impl<'a> VehicleCases<'a> {
    /// Those of the vehicle with this index among all cases.
    #[must_use]
    pub fn among(cases: &'a [Case], vehicle: usize) -> Self {
        let mut tree = Self { travels: Vec::new(), routes: Vec::new() };
        for (index, case) in cases.iter().enumerate().filter(|(_, case)| case.vehicle == vehicle) {
            if case.route.is_some() {
                tree.routes.push(index);
            } else if let Some(known) = tree.travels.iter_mut().find(|t| t.travel == case.travel) {
                known.cases.push(index);
            } else {
                tree.travels.push(TravelCases { travel: &case.travel, cases: vec![index] });
            }
        }
        tree
    }

    /// The cases from one direction of travel; none if it was not studied from there.
    #[must_use]
    pub fn from(&self, travel: &str) -> &[usize] {
        self.travels.iter().find(|t| t.travel == travel).map_or(&[], |t| &t.cases)
    }

    /// The case that governs: of the easiest from each direction of travel the one that takes most, by a measure that is
    /// smaller where less is needed. The first of those as easy, the last of those as hard; `None` without any travel.
    #[must_use]
    pub fn governing(&self, measure: impl Fn(usize) -> f64) -> Option<usize> {
        let easiest = self
            .travels
            .iter()
            .filter_map(|t| t.cases.iter().copied().min_by(|a, b| measure(*a).total_cmp(&measure(*b))));
        easiest.max_by(|a, b| measure(*a).total_cmp(&measure(*b)))
    }
}

impl Study {
    /// The cases of one vehicle, by its index into [`Study::vehicles`].
    #[must_use]
    pub fn of_vehicle(&self, vehicle: usize) -> VehicleCases<'_> {
        VehicleCases::among(&self.cases, vehicle)
    }

    /// The cases that were searched for, in their order: all but the drawn routes.
    pub fn searched(&self) -> impl Iterator<Item = &Case> {
        self.cases.iter().filter(|case| case.route.is_none())
    }

    /// The cases of the drawn routes, in their order.
    pub fn drawn_routes(&self) -> impl Iterator<Item = &Case> {
        self.cases.iter().filter(|case| case.route.is_some())
    }
}
