//! Gate to order: the gate as drawn with its leaves and the room about it, and for every arrangement and stock size
//! which vehicles pass.
use super::longest_first::longest_first;
use super::other_leaves::{Known, Ways, known, ways, whichever};
use super::placement::about;
use super::turning_at_sizes::{VisitingVehicle, VisitsAtSizes};
use super::{Demanded, DrawnGate, Progress, Study, StudyOptions, Verdict, Wanted, travel_verdict};
use crate::gate::{
    Allowances, Assembly, LeafSwing, Rule, RuleCheck, RuleFinding, RunBack, Waiting, assembly, check_rules,
    drawn_leaf_m, leaf_swings, made_leaf_m, run_back, waiting,
};
use crate::geometry::length::FOOT_M;
use crate::geometry::parallel::*;
use crate::site::{Anchor, Arrangement, Leaves, Maneuver, Post, Side, Site, Swing};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Stock sizes considered unless others are chosen: 10 to 20 ft by 2 ft (common practice, no source).
pub const STOCK_M: [f64; 6] =
    [10.0 * FOOT_M, 12.0 * FOOT_M, 14.0 * FOOT_M, 16.0 * FOOT_M, 18.0 * FOOT_M, 20.0 * FOOT_M];

/// Options of the gate plan.
#[derive(Clone, Debug)]
pub struct GateOptions {
    /// Space that the hardware takes up.
    pub allowances: Allowances,
    /// Sizes in which gates are sold: all leaves together.
    pub stock_m: Vec<f64>,
    /// Rules to check.
    pub rules: Vec<&'static Rule>,
}

impl Default for GateOptions {
    /// Built-in allowances, sizes of 10 to 20 ft, and the rules that belong to no one place.
    fn default() -> Self {
        Self {
            allowances: crate::gate::built_in(),
            stock_m: STOCK_M.to_vec(),
            rules: crate::gate::RULES.iter().filter(|rule| rule.usual).collect(),
        }
    }
}

/// Gate plan: the gate as drawn, and what to order.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct GatePlan {
    /// Space that the hardware takes up.
    pub allowances: Allowances,
    /// Width of a leaf in the study: the opening, or half of it.
    pub leaf_width_m: f64,
    /// Width of a leaf made for the opening as drawn: less the gaps at hinges, latch and center.
    pub made_leaf_m: f64,
    /// Width over both posts as drawn, outside to outside.
    pub outside_m: f64,
    /// Width between columns that would enclose the drawn posts.
    pub column_face_m: f64,
    /// Clear depth that the leaves as drawn take; 0 where none swings.
    pub swing_depth_m: f64,
    /// Offset of the middle of the gate that `arrangements` and `schedule` are about, to the right of the drawn one, seen
    /// from the road: that of [`Study::placement`] for a gate that may stand anywhere, 0 for any other.
    pub place_u_m: f64,
    /// Swinging leaves as drawn.
    pub swings: Vec<LeafSwing>,
    /// Sliding leaf as drawn.
    pub run_back: Option<RunBack>,
    /// Vehicles of the study waiting at the gate as drawn, in the study's order.
    pub waiting: Vec<Waiting>,
    /// Every arrangement, and the openings that each vehicle needs with it.
    pub arrangements: Vec<ArrangementNeeds>,
    /// Every arrangement in every stock size, in the order of the arrangements.
    pub schedule: Vec<ScheduleRow>,
    /// Rules that were checked.
    pub rules: Vec<RuleFinding>,
}

/// Openings that each vehicle needs with an arrangement.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct ArrangementNeeds {
    /// Number of leaves, and how they move.
    pub arrangement: Arrangement,
    /// Side to which swinging leaves open.
    pub opens: Swing,
    /// True for the arrangement as drawn.
    pub drawn: bool,
    /// Opening that each vehicle needs for its visits, in the study's order.
    pub needs: Vec<OpeningNeeds>,
    /// Opening that each vehicle would need backing in, where that does not count toward the verdict and was studied.
    pub backing_in: Vec<Option<OpeningNeeds>>,
    /// Openings that a vehicle which turns around inside needs for driving in and for driving out alone; `None` for
    /// other vehicles.
    pub in_and_out: Vec<Option<InAndOut<OpeningNeeds>>>,
}

/// Driving in and driving out forward, each on its own, of a vehicle that turns around inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InAndOut<T> {
    /// Driving in.
    pub drive_in: T,
    /// Driving out forward.
    pub drive_out: T,
}

impl<T> InAndOut<T> {
    fn map<U>(&self, of: impl Fn(&T) -> U) -> InAndOut<U> {
        InAndOut { drive_in: of(&self.drive_in), drive_out: of(&self.drive_out) }
    }
}

/// The opening that a vehicle needs with an arrangement.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OpeningNeeds {
    /// Opening without clearance; `None` where no way in is known.
    pub bare_m: Option<f64>,
    /// Opening with the study's clearance; `None` likewise.
    pub comfortable_m: Option<f64>,
}

impl OpeningNeeds {
    fn of_visits(visits: &VisitsAtSizes) -> Self {
        Self { bare_m: visits.bare_m, comfortable_m: visits.comfortable_m }
    }
    /// The smaller of two needs, either of which will do.
    fn or(self, other: Self) -> Self {
        let less = |a: Option<f64>, b: Option<f64>| a.into_iter().chain(b).reduce(f64::min);
        Self {
            bare_m: less(self.bare_m, other.bare_m),
            comfortable_m: less(self.comfortable_m, other.comfortable_m),
        }
    }
}

/// One arrangement in one stock size.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct ScheduleRow {
    /// The gate with its hardware.
    pub assembly: Assembly,
    /// Verdict on each vehicle, in the study's order.
    pub passes: Vec<Verdict>,
    /// Result for each vehicle backing in, where that does not count toward the verdict and was studied.
    pub backing_in: Vec<Option<DrawnGate>>,
    /// Results for driving in and for driving out alone, of a vehicle that turns around inside.
    pub in_and_out: Vec<Option<InAndOut<DrawnGate>>>,
    /// Swinging leaves of the row.
    pub swings: Vec<LeafSwing>,
    /// Sliding leaf of the row.
    pub run_back: Option<RunBack>,
    /// Missing depth before the closed gate or the arcs of its leaves, for the vehicle that lacks most, to stand clear
    /// of the road.
    pub waiting_missing_m: f64,
    /// True if its opening is no wider than the one drawn.
    pub fits_drawn: bool,
}

impl ScheduleRow {
    /// Returns the worst verdict of any vehicle; comfortable if there is no vehicle.
    #[must_use]
    pub fn worst(&self) -> Verdict {
        self.passes.iter().copied().min().unwrap_or(Verdict::Comfortable)
    }
    /// Returns the worst verdict of any vehicle if every vehicle may also back in.
    #[must_use]
    pub fn worst_backing_in(&self) -> Verdict {
        let better = |(passes, back): (&Verdict, &Option<DrawnGate>)| {
            back.map_or(*passes, |back| Verdict::from(back).max(*passes))
        };
        self.passes.iter().zip(&self.backing_in).map(better).min().unwrap_or(Verdict::Comfortable)
    }
    /// True if its leaves open fully, or slide back fully.
    #[must_use]
    pub fn opens_fully(&self) -> bool {
        self.swings.iter().all(|swing| swing.stop.is_none())
            && self.run_back.as_ref().is_none_or(|back| back.stop.is_none())
    }
    /// True if nothing counts against it: every vehicle passes in comfort, its leaves open, and such leaves are made.
    #[must_use]
    pub fn suits(&self) -> bool {
        self.worst() == Verdict::Comfortable && self.can_be_built()
    }
    /// True if its leaves open, and such leaves are made.
    #[must_use]
    pub fn can_be_built(&self) -> bool {
        self.opens_fully() && self.assembly.usual
    }
}

/// Least width of a post that counts as a masonry column itself, a foot. Common practice, no source.
const COLUMN_M: f64 = FOOT_M;

impl GatePlan {
    /// Vehicle that stands farthest in the road while the gate opens; the longest if none does. `None` without vehicles.
    #[must_use]
    pub fn hardest_waiting(&self) -> Option<usize> {
        self.hardest(|wait| wait.outside_missing_m)
    }

    /// Vehicle that lacks most by a measure; the longest if none lacks anything.
    #[must_use]
    pub fn hardest(&self, missing: fn(&Waiting) -> f64) -> Option<usize> {
        let key = |index: &usize| (missing(&self.waiting[*index]), self.waiting[*index].length_m);
        (0..self.waiting.len()).max_by(|a, b| {
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        })
    }

    /// Width between columns built around the drawn posts; `None` where the posts are wide enough to be columns
    /// themselves.
    #[must_use]
    pub fn columns_around_m(&self, post: &Post) -> Option<f64> {
        (post.width_m < COLUMN_M).then_some(self.column_face_m)
    }

    /// Rows of an arrangement.
    pub fn rows(&self, of: &ArrangementNeeds) -> impl Iterator<Item = &ScheduleRow> {
        let (arrangement, opens) = (of.arrangement, of.opens);
        self.schedule
            .iter()
            .filter(move |row| row.assembly.arrangement == arrangement && row.assembly.opens == opens)
    }
    /// Returns the smallest size of an arrangement that suits ([`ScheduleRow::suits`]).
    #[must_use]
    pub fn smallest(&self, of: &ArrangementNeeds) -> Option<&ScheduleRow> {
        self.smallest_that(of, ScheduleRow::suits)
    }
    /// Returns the smallest size of an arrangement that will do if every vehicle may back in, where it is smaller than
    /// [`Self::smallest`].
    #[must_use]
    pub fn smallest_backing_in(&self, of: &ArrangementNeeds) -> Option<&ScheduleRow> {
        let serves = |row: &ScheduleRow| row.worst_backing_in() == Verdict::Comfortable && row.can_be_built();
        let size = |row: &ScheduleRow| row.assembly.stock_m;
        let driving_in = self.smallest(of).map_or(f64::INFINITY, size);
        self.smallest_that(of, serves).filter(|row| size(row) < driving_in)
    }
    fn smallest_that(
        &self,
        of: &ArrangementNeeds,
        serves: impl Fn(&ScheduleRow) -> bool,
    ) -> Option<&ScheduleRow> {
        let rows = self.rows(of).filter(|row| serves(row));
        rows.min_by(|a, b| a.assembly.stock_m.total_cmp(&b.assembly.stock_m))
    }
}

/// Plans the gate for the vehicles of a study. `wanted` and `options` are the inputs of that study.
///
/// For the arrangement as drawn the needs are the study's own answers. For the others they are what the known paths
/// need with other leaves, and where that is more, the best of a short search that starts from them. Each is an opening
/// that certainly suffices. For a vehicle that turns around inside they are those of a whole visit: the way in, the turn
/// and the way out. `progress` is called after each vehicle and arrangement.
///
/// A gate that may stand anywhere along its line ([`Anchor::Free`]) has one place all the same: needs and sizes are those of a
/// gate about the middle of [`Study::placement`], where that study is done once more, or about the drawn middle without one.
#[must_use]
pub fn plan_gate(
    study: &Study,
    (wanted, options): (&[Wanted], &StudyOptions),
    asked: &GateOptions,
    progress: &(dyn Fn(Progress) + Sync),
) -> GatePlan {
    let site = &study.site;
    let (gate, leaves) = (&site.gate, &site.gate.leaves);
    let allowances = &asked.allowances.clone().with_post(gate.post.width_m);
    let drawn_faces = gate.drawn_faces();
    let leaf_width_m = drawn_leaf_m(gate);
    let swings = leaf_swings(site, leaves, drawn_faces, leaf_width_m);
    let tail = leaf_width_m + allowances.slide_overlap_m + allowances.slide_tail * gate.opening_m();
    let stand = |leaves: &Leaves, leaf_m: f64, opening_m: f64| -> Vec<Waiting> {
        let faces = gate.faces(opening_m);
        let gap = allowances.waiting_gap_m;
        study.vehicles.iter().map(|v| waiting(site, leaves, leaf_m, faces, v, gap)).collect()
    };
    let waits = stand(leaves, leaf_width_m, gate.opening_m());
    let placed = (gate.anchor == Anchor::Free).then(|| at_one_place(study, wanted, options)).flatten();
    let place_u_m = placed.as_ref().map_or(0.0, |(place_u_m, ..)| *place_u_m);
    let (arrangements, schedule) = match &placed {
        Some((_, study, wanted)) => at_sizes(study, (wanted, options), (asked, allowances), progress),
        None => at_sizes(study, (wanted, options), (asked, allowances), progress),
    };
    let named: Vec<(String, Waiting)> =
        study.vehicles.iter().map(|v| v.title.clone()).zip(waits.iter().cloned()).collect();
    let check = RuleCheck { site, allowances, swings: &swings, waiting: &named };
    GatePlan {
        allowances: allowances.clone(),
        leaf_width_m,
        made_leaf_m: made_leaf_m(allowances, leaves.arrangement, gate.opening_m()),
        outside_m: gate.opening_m() + 2.0 * gate.post.width_m,
        column_face_m: gate.opening_m() + 2.0 * (gate.post.width_m + allowances.column_gap_m),
        swing_depth_m: if swings.is_empty() { 0.0 } else { leaf_width_m + allowances.swing_room_m },
        rules: check_rules(&asked.rules, &check),
        run_back: run_back(site, leaves, drawn_faces, tail),
        place_u_m,
        swings,
        waiting: waits,
        arrangements,
        schedule,
    }
}

/// The study of a gate that may stand anywhere, done once more for the gate at one place: that of its placement, or the drawn
/// one. The offset of that place, the study, and its vehicles.
fn at_one_place(
    study: &Study,
    wanted: &[Wanted],
    options: &StudyOptions,
) -> Option<(f64, Study, Vec<Wanted>)> {
    let place_u_m = study.placement.as_ref().map_or(0.0, |placement| placement.center_u_m);
    let site = about(&study.site, place_u_m)?;
    // A direction of travel may have another name beside the new place.
    let travels = study.site.travels();
    let renamed = |word: &String| {
        let travel = travels.iter().find(|travel| travel.is_called(word))?;
        Some(site.travel_along(travel.along())?.word)
    };
    let wanted: Vec<Wanted> = wanted
        .iter()
        .map(|one| Wanted { travels: one.travels.iter().filter_map(renamed).collect(), ..one.clone() })
        .collect();
    let options = StudyOptions { changes: false, tradeoff: false, prove: false, ..*options };
    let again = super::study(site, &wanted, &options, &|_| ());
    Some((place_u_m, again, wanted))
}

/// What each arrangement needs, and which vehicles pass each of its sizes.
fn at_sizes(
    study: &Study,
    (wanted, options): (&[Wanted], &StudyOptions),
    (asked, allowances): (&GateOptions, &Allowances),
    progress: &(dyn Fn(Progress) + Sync),
) -> (Vec<ArrangementNeeds>, Vec<ScheduleRow>) {
    let site = &study.site;
    let gate = &site.gate;
    let tail = drawn_leaf_m(gate) + allowances.slide_overlap_m + allowances.slide_tail * gate.opening_m();
    let kinds = kinds(site, tail);
    // One question for each vehicle and group of maneuvers; backing in is a question of its own where it does not
    // count.
    let questions: Vec<Question> = (0..wanted.len()).flat_map(|vehicle| questions(study, vehicle)).collect();
    // Each vehicle and maneuver once, however many questions ask about it.
    let mut ways_in: Vec<(usize, Maneuver)> =
        questions.iter().flat_map(|q| q.maneuvers.iter().map(|maneuver| (q.vehicle, *maneuver))).collect();
    ways_in.sort_by_key(|(vehicle, maneuver)| (*vehicle, *maneuver == Maneuver::BackIn));
    ways_in.dedup();
    let of_one: Vec<Vec<Known>> = ways_in
        .par_iter()
        .map(|(vehicle, maneuver)| known(study, (*vehicle, &wanted[*vehicle]), *maneuver, options))
        .collect();
    let of_question = |q: &Question| {
        let mine = ways_in.iter().zip(&of_one);
        let mine =
            mine.filter(|((vehicle, maneuver), _)| *vehicle == q.vehicle && q.maneuvers.contains(maneuver));
        whichever(mine.map(|(_, known)| known.as_slice()))
    };
    let known: Vec<Vec<Known>> = questions.iter().map(of_question).collect();
    let (done, total) = (AtomicUsize::new(0), kinds.len() * questions.len());
    let step = || progress(Progress { done: done.fetch_add(1, Ordering::Relaxed) + 1, total });
    let sites: Vec<OtherGate> = kinds
        .iter()
        .map(|(other, _)| {
            let mut changed = site.clone();
            changed.gate.leaves = *other;
            let size =
                |stock_m: &f64| assembly(allowances, other.arrangement, other.opens, *stock_m).counted_m;
            (changed, asked.stock_m.iter().map(size).collect())
        })
        .collect();
    let pairs = (0..kinds.len()).flat_map(|kind| (0..questions.len()).map(move |question| (kind, question)));
    let solved = longest_first(
        pairs.collect(),
        |(kind, question)| {
            (wanted[questions[*question].vehicle].vehicle.units.len(), kinds[*kind].0.opens == Swing::Out)
        },
        |(kind, question)| {
            let (changed, sizes) = &sites[*kind];
            let of = (&wanted[questions[*question].vehicle], known[*question].as_slice());
            let ways = ways(study, changed, of, options, kinds[*kind].1, sizes);
            step();
            ways
        },
    );
    let visits = visits_at_sizes(study, (wanted, options), (&kinds, &sites), (&questions, &solved));
    let mut arrangements = Vec::new();
    let mut rows: Vec<(Assembly, &Leaves, Served)> = Vec::new();
    for (kind, (other, is_drawn)) in kinds.iter().enumerate() {
        let answers = questions.iter().zip(&solved[kind * questions.len()..]);
        let of = |vehicle: usize, counts: bool| -> Vec<&Ways> {
            let mine = answers.clone().filter(|(q, _)| q.vehicle == vehicle && q.counts == counts);
            mine.map(|(_, ways)| ways).collect()
        };
        let both: Vec<(Vec<&Ways>, Vec<&Ways>)> =
            (0..wanted.len()).map(|vehicle| (of(vehicle, true), of(vehicle, false))).collect();
        let (arrangement, opens) = (other.arrangement, other.opens);
        let visit = |vehicle: usize| visits[vehicle].as_ref().map(|of_kinds| &of_kinds[kind]);
        let in_and_out: Vec<Option<InAndOut<&Ways>>> = (0..wanted.len())
            .map(|vehicle| {
                visits[vehicle].as_ref()?;
                let by = |maneuver: Maneuver| {
                    let mut mine = answers.clone().filter(|(q, _)| q.vehicle == vehicle && q.counts);
                    mine.find(|(q, _)| q.maneuvers.contains(&maneuver)).map(|(_, ways)| ways)
                };
                Some(InAndOut { drive_in: by(Maneuver::DriveIn)?, drive_out: by(Maneuver::BackIn)? })
            })
            .collect();
        arrangements.push(ArrangementNeeds {
            arrangement,
            opens,
            drawn: *is_drawn,
            needs: both
                .iter()
                .enumerate()
                .map(|(v, (counted, _))| visit(v).map_or_else(|| most_of(counted), OpeningNeeds::of_visits))
                .collect(),
            // Driving in is one of the ways that count there: what it needs is enough.
            backing_in: both
                .iter()
                .map(|(counted, back)| (!back.is_empty()).then(|| most_of(back).or(most_of(counted))))
                .collect(),
            in_and_out: in_and_out.iter().map(|both| Some(both.as_ref()?.map(|w| most_of(&[w])))).collect(),
        });
        for (i, stock_m) in asked.stock_m.iter().enumerate() {
            let worst = |ways: &[&Ways]| ways.iter().map(|w| w.passes[i]).min_by_key(|gate| gate.rank());
            let either = |(counted, back): &(Vec<&Ways>, Vec<&Ways>)| {
                worst(back).map(|back| worst(counted).into_iter().fold(back, DrawnGate::better))
            };
            let back: Vec<Option<DrawnGate>> = both.iter().map(either).collect();
            let passes = both.iter().zip(&back).enumerate().map(|(vehicle, ((counted, _), back))| {
                if let Some(visit) = visit(vehicle) {
                    return Verdict::from(visit.passes[i]);
                }
                let backs_in = back.is_some_and(|gate| gate != DrawnGate::No);
                Verdict::of(worst(counted).unwrap_or(DrawnGate::No), backs_in)
            });
            let served = Served {
                passes: passes.collect(),
                backing_in: back,
                in_and_out: in_and_out.iter().map(|both| Some(both.as_ref()?.map(|w| w.passes[i]))).collect(),
            };
            rows.push((assembly(allowances, arrangement, opens, *stock_m), other, served));
        }
    }
    let schedule = rows
        .into_par_iter()
        .map(|(assembly, leaves, served)| {
            let pins = gate.faces(assembly.counted_m);
            let missing_m = study.vehicles.iter().map(|vehicle| {
                let leaf_m = assembly.leaf_width_m;
                waiting(site, leaves, leaf_m, pins, vehicle, allowances.waiting_gap_m).outside_missing_m
            });
            let waiting_missing_m = missing_m.fold(0.0, f64::max);
            ScheduleRow {
                passes: served.passes,
                backing_in: served.backing_in,
                in_and_out: served.in_and_out,
                swings: leaf_swings(site, leaves, pins, assembly.leaf_width_m),
                run_back: run_back(site, leaves, pins, assembly.run_back_m),
                waiting_missing_m,
                fits_drawn: assembly.opening_m <= gate.opening_m() + 1e-4,
                assembly,
            }
        })
        .collect();
    (arrangements, schedule)
}

/// The site with other leaves, and the openings in question.
type OtherGate = (Site, Vec<f64>);

/// Whole visits of the vehicles that turn around inside, for each arrangement; `None` for the others.
fn visits_at_sizes(
    study: &Study,
    (wanted, options): (&[Wanted], &StudyOptions),
    (kinds, sites): (&[(Leaves, bool)], &[OtherGate]),
    (questions, solved): (&[Question], &[Ways]),
) -> Vec<Option<Vec<VisitsAtSizes>>> {
    let of = |vehicle: usize| {
        if study.demanded.get(vehicle) != Some(&Demanded::TurnAround) {
            return None;
        }
        let question = |maneuver: Maneuver| {
            questions.iter().position(|q| q.vehicle == vehicle && q.counts && q.maneuvers.contains(&maneuver))
        };
        let (way_in, way_out) = (question(Maneuver::DriveIn)?, question(Maneuver::BackIn)?);
        let mut visiting = VisitingVehicle::new(study, (vehicle, &wanted[vehicle]), options);
        let mut of_kinds = Vec::new();
        for (kind, ((leaves, _), (_, sizes))) in kinds.iter().zip(sites).enumerate() {
            let ways = |question: usize| &solved[kind * questions.len() + question];
            of_kinds.push(visiting.at_sizes(leaves, sizes, (ways(way_in), ways(way_out))));
        }
        Some(of_kinds)
    };
    (0..wanted.len()).into_par_iter().map(of).collect()
}

/// True if a vehicle gets in and out from some direction of travel and finds no turn between: the yard has no room for
/// it, whatever gate is ordered.
#[must_use]
pub fn yard_lacks_turn(study: &Study, vehicle: usize) -> bool {
    let mut missing = study.turns.iter().filter(|turn| turn.vehicle == vehicle && turn.found.is_err());
    let of = study.of_vehicle(vehicle);
    missing.any(|turn| {
        of.from(&turn.travel).is_some_and(|travel| travel_verdict(study, travel) >= Verdict::Tight)
    })
}

/// Question to answer: one vehicle coming by some maneuvers, of which one must work.
struct Question {
    vehicle: usize,
    maneuvers: &'static [Maneuver],
    /// True if the verdict on the vehicle depends on it.
    counts: bool,
}

/// Questions about a vehicle: each group of the maneuvers that count, and, where a study also covers backing in for
/// information, whichever of driving in and backing in works.
fn questions(study: &Study, vehicle: usize) -> Vec<Question> {
    let of = study.of_vehicle(vehicle);
    let counted = of.demanded.groups().iter().map(|maneuvers| Question { vehicle, maneuvers, counts: true });
    let mut all: Vec<Question> = counted.collect();
    let backs_in = |case: &usize| study.cases[*case].maneuver == Maneuver::BackIn;
    let looked_at = !of.travels.is_empty() && of.travels.iter().all(|t| t.cases.iter().any(backs_in));
    if of.demanded == Demanded::DriveIn && looked_at {
        // From each direction of travel, whichever of the two works.
        let maneuvers = &[Maneuver::DriveIn, Maneuver::BackIn];
        all.push(Question { vehicle, maneuvers, counts: false });
    }
    all
}

/// Vehicles that a size serves.
struct Served {
    passes: Vec<Verdict>,
    backing_in: Vec<Option<DrawnGate>>,
    in_and_out: Vec<Option<InAndOut<DrawnGate>>>,
}

/// Largest opening that any of these sets of ways needs: all of them must work.
fn most_of(ways: &[&Ways]) -> OpeningNeeds {
    let most = |pick: fn(&Ways) -> Option<f64>| {
        let all: Option<Vec<f64>> = ways.iter().map(|ways| pick(ways)).collect();
        all.filter(|all| !all.is_empty()).map(|all| all.into_iter().fold(0.0, f64::max))
    };
    OpeningNeeds { bare_m: most(|w| w.bare_m), comfortable_m: most(|w| w.comfortable_m) }
}

/// Lists every arrangement that a gate here could have, with true for the drawn one. Leaves have the thickness, height
/// and opening angle of the drawn ones. A sliding leaf runs back to the side with more room.
pub(super) fn kinds(site: &Site, slide_m: f64) -> Vec<(Leaves, bool)> {
    let drawn = site.gate.leaves;
    let slide = match drawn.arrangement {
        Arrangement::Slide(side) => side,
        _ => {
            let room = |side: Side| {
                let leaves = Leaves { arrangement: Arrangement::Slide(side), ..drawn };
                let back = run_back(site, &leaves, site.gate.drawn_faces(), slide_m);
                back.and_then(|b| b.free_m).unwrap_or(f64::INFINITY)
            };
            if room(Side::Right) > room(Side::Left) { Side::Right } else { Side::Left }
        }
    };
    let mut kinds = Vec::new();
    for opens in [Swing::In, Swing::Out] {
        for arrangement in
            [Arrangement::Single(Side::Left), Arrangement::Single(Side::Right), Arrangement::Double]
        {
            kinds.push(Leaves { arrangement, opens, ..drawn });
        }
    }
    kinds.push(Leaves { arrangement: Arrangement::Slide(slide), opens: Swing::In, ..drawn });
    let slides = matches!(drawn.arrangement, Arrangement::Slide(_));
    let same = |k: &Leaves| k.arrangement == drawn.arrangement && (slides || k.opens == drawn.opens);
    kinds.into_iter().map(|k| (k, same(&k))).collect()
}
