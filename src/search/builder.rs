//! A search put together piece by piece: what is asked, from which paths, how widely and with how much work.
use super::multistart::{Where, search};
use super::{Effort, Finding, Problem, at_least};
use crate::motion::Path;

/// A search for the narrowest opening. Without further settings it looks everywhere, with the usual effort.
///
/// The same search gives the same finding on every machine. It breaks nowhere: a problem that nothing solves gives a
/// finding without a path.
///
/// ```
/// # use wideenough::clearance::Surroundings;
/// # use wideenough::search::{Effort, Problem, Search, lane::Lane};
/// # fn ask(problem: &Problem, known: &[wideenough::motion::Path]) {
/// let wide = Search::new(problem).effort(Effort::THOROUGH).run();
/// // After a small change of the place: only about what answered before, with leaves cut for 3 m at first.
/// let again = Search::new(problem).effort(Effort::AGAIN).seeds(known).near_seeds().about_m(3.0).run();
/// # let _ = (wide, again);
/// # }
/// ```
#[derive(Clone, Copy, Debug)]
#[must_use]
pub struct Search<'a> {
    problem: &'a Problem<'a>,
    effort: Effort,
    seeds: &'a [Path],
    about_m: Option<f64>,
    below_m: f64,
    place: Where,
}

impl<'a> Search<'a> {
    /// Search of a problem everywhere, with [`Effort::USUAL`] and from no known path.
    pub const fn new(problem: &'a Problem<'a>) -> Self {
        Self {
            problem,
            effort: Effort::USUAL,
            seeds: &[],
            about_m: None,
            below_m: f64::INFINITY,
            place: Where::Everywhere { enough_m: f64::INFINITY },
        }
    }

    /// Sets the work that it may do.
    pub const fn effort(self, effort: Effort) -> Self {
        Self { effort, ..self }
    }

    /// Starts from paths (gate frame) that answered a similar problem; other starts are searched only where those lead
    /// nowhere.
    pub const fn seeds(self, seeds: &'a [Path]) -> Self {
        Self { seeds, ..self }
    }

    /// Searches other starts also where the seeds lead to more than this opening, meters.
    pub const fn enough_m(self, enough_m: f64) -> Self {
        Self { place: Where::Everywhere { enough_m }, ..self }
    }

    /// Leaves out the last resort, maneuvers drawn at random where nothing else leads in.
    pub const fn without_last_resort(self) -> Self {
        Self { place: Where::Starts, ..self }
    }

    /// Searches near the seeds and nowhere else.
    pub const fn near_seeds(self) -> Self {
        Self { place: Where::Near, ..self }
    }

    /// Gives an estimate of the opening, meters: leaves are cut for it until the opening found gives a better value.
    /// Without it they are cut longer than any opening that will be needed.
    pub const fn about_m(self, about_m: f64) -> Self {
        Self { about_m: Some(about_m), ..self }
    }

    /// Gives up early on candidates that will hardly need less than this opening, meters.
    pub const fn below_m(self, below_m: f64) -> Self {
        Self { below_m, ..self }
    }

    /// Runs the search.
    #[must_use]
    pub fn run(self) -> Finding {
        // Longer than any opening that will be needed.
        let longest_m =
            || (self.problem.surroundings.drawn_faces_u.right * 2.0).max(1.5 * at_least(self.problem));
        let guess_m = self.about_m.unwrap_or_else(longest_m);
        search(self.problem, self.effort, self.seeds, (guess_m, self.below_m), self.place)
    }
}
