//! The proof against thousands of drives on each standard case: none needs less than is proven.
//!
//! Drives are the paths that the search found and started from, those of its grids and the ones drivers take, each
//! changed at random in every number, again and again from the one that needed least; and maneuvers drawn at random
//! that get through. The need of each is measured at plain poses 5 cm apart with a polygon clipped to the gate's depth,
//! sharing only the motion with the program. Poses under-read, so a drive that seems to need less than is proven is
//! inspected before it counts.
use crate::common::drives::hitches_fit;
use crate::common::random::Random;
use crate::common::{TestCase, box_truck, gooseneck, pickup, standard_lane, standard_site};
use rstest::rstest;
use wideenough::bound::{ProofBudget, at_least};
use wideenough::clearance::{CollisionModel, inspect};
use wideenough::geometry::Point;
use wideenough::motion::{Chain, Path};
use wideenough::search::templates::{LegPattern, drawn, templates};
use wideenough::search::transcription::{Transcription, intervals};
use wideenough::search::{Effort, Problem, lattice, narrowest, reversed_pursuit};
use wideenough::site::Maneuver::{self, BackIn, DriveIn};
use wideenough::vehicle::Vehicle;

/// Half of the depth of posts and fences of the standard problems.
const HALF_DEPTH_M: f64 = 0.2;
/// Distance between poses.
const STEP_M: f64 = 0.05;
/// Number of drives of each case that get through; of those whose wheels turn at once, which the proof allows too; and
/// of changes tried for each at most.
const DRIVES: u32 = 2_000;
const AT_ONCE: u32 = 500;
const MOST_TRIES: u32 = 30_000;
/// Number of maneuvers drawn at random: few of them get through.
const DRAWN: usize = 3_000;

/// Need of a drive by poses alone; nothing if it is no way in: a wall or a hitch met, not through, or the gate entered
/// before it is backed into.
fn plain_need(case: &TestCase, wall_v: f64, path: &Path) -> Option<f64> {
    let chain = Chain::of(&case.vehicle);
    let samples = path.samples(&chain, STEP_M);
    let mut half: f64 = 0.0;
    let mut inside = false;
    for sample in &samples {
        let poses = chain.unit_poses(&sample.state);
        inside = true;
        for (unit, pose) in case.vehicle.units.iter().zip(poses) {
            for part in &unit.parts {
                let corners: Vec<Point> = part.outline.0.iter().map(|p| pose.to_site(*p)).collect();
                let (low, high) = corners
                    .iter()
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p.y), high.max(p.y)));
                let too_early = case.maneuver == BackIn && sample.leg == 0 && high > -HALF_DEPTH_M;
                if low < wall_v || too_early {
                    return None;
                }
                inside &= low >= HALF_DEPTH_M;
                if low <= HALF_DEPTH_M && high >= -HALF_DEPTH_M {
                    half = half.max(widest(&corners));
                }
            }
        }
    }
    let through = inside && half > 0.0 && hitches_fit(&case.vehicle, path);
    through.then_some(2.0 * half)
}

/// Reach of a polygon from the middle within the gate's depth.
fn widest(corners: &[Point]) -> f64 {
    let mut half: f64 = 0.0;
    for (i, &a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        if a.y.abs() <= HALF_DEPTH_M {
            half = half.max(a.x.abs());
        }
        for level in [-HALF_DEPTH_M, HALF_DEPTH_M] {
            if (a.y - level) * (b.y - level) < 0.0 {
                half = half.max((a.x + (b.x - a.x) * (level - a.y) / (b.y - a.y)).abs());
            }
        }
    }
    half
}

/// The variables of a transcription, each changed at random by up to `size`, within what the vehicle can do: full lock,
/// and unless `at_once` how fast its wheels turn.
fn changed(
    case: &TestCase,
    track: &Transcription,
    x: &[f64],
    size: f64,
    at_once: bool,
    random: &mut Random,
) -> Vec<f64> {
    let steering = case.vehicle.steering;
    let mut x: Vec<f64> = x.iter().map(|number| number + size * random.between(-1.0, 1.0)).collect();
    x[1] = x[1].clamp(case.lane.play_m.0, case.lane.play_m.1);
    for (index, leg) in track.legs.iter().enumerate() {
        let at = track.leg_at(index);
        x[at] = x[at].max(0.2);
        let most = if at_once { 2.0 } else { x[at] / intervals(leg) / steering.lock_distance_m };
        // Wheels begin straight; before a later leg they are turned while standing.
        let mut before = if index == 0 { (0.0, 0.0) } else { (0.0, 2.0) };
        for share in &mut x[at + 1..=at + leg.knots] {
            *share = share.clamp(before.0 - before.1, before.0 + before.1).clamp(-1.0, 1.0);
            before = (*share, most);
        }
    }
    x
}

/// The path moved along the road so that it last crosses the gate line at `u`.
fn crossing_at(case: &TestCase, path: &Path, u: f64) -> Option<Path> {
    let samples = path.samples(&Chain::of(&case.vehicle), 0.2);
    let inside = |s: &wideenough::motion::Sample| s.state.lead.position.y > 0.0;
    let pair = samples.windows(2).rfind(|pair| !inside(&pair[0]) && inside(&pair[1]))?;
    Some(path.moved(0.0, Point::new(u - pair[1].state.lead.position.x, 0.0)))
}

/// Least need of all drives that got through, and how many did.
struct Seen {
    least_m: f64,
    drives: u32,
    /// Number within 10 % of what is proven.
    near: u32,
}

#[rstest]
#[case::pickup_near(pickup(), 2.05, DriveIn, 1.5, 1.10)]
#[case::pickup_far(pickup(), 2.05, DriveIn, 4.5, 1.10)]
#[case::box_truck_near(box_truck(), 2.44, DriveIn, 1.5, 1.10)]
#[case::box_truck_far(box_truck(), 2.44, DriveIn, 4.5, 1.10)]
#[case::box_truck_back(box_truck(), 2.44, BackIn, 1.5, 1.10)]
#[case::gooseneck_in(gooseneck(), 2.59, DriveIn, 4.5, 1.13)]
#[case::gooseneck_back(gooseneck(), 2.59, BackIn, 4.5, 1.13)]
fn none_of_thousands_needs_less_than_is_proven(
    #[case] vehicle: Vehicle,
    #[case] body_width: f64,
    #[case] maneuver: Maneuver,
    #[case] setback: f64,
    #[case] telling: f64,
) {
    let lane = standard_lane(setback, true, body_width);
    let case = TestCase::new(vehicle, &standard_site(setback), lane, maneuver);
    // The road's far edge, from the gate line.
    let wall_v = -6.0 - setback - HALF_DEPTH_M;
    let problem = Problem {
        vehicle: &case.vehicle,
        surroundings: &case.surroundings,
        lane: &case.lane,
        maneuver,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let model = CollisionModel::new(&case.vehicle, case.surroundings.clone(), 0.0, f64::INFINITY);
    let finding = narrowest(&problem, Effort::USUAL, &[]);
    let found = finding.found.expect("it gets in");
    let proven_m = at_least(&problem, Some(found.inspection.opening_m), ProofBudget::USUAL).at_least_m;
    // The plain method measures the same as the program: poses under-read by at most 2 cm, and never over-read.
    let plain_m = plain_need(&case, wall_v, found.path.path()).expect("it gets in");
    let under_m = found.inspection.opening_m - plain_m;
    assert!((-1e-6..0.02).contains(&under_m), "{plain_m} by poses, {}", found.inspection.opening_m);

    let mut apparent = 0;
    let mut look = |path: &Path, seen: &mut Seen| -> Option<f64> {
        let need_m = plain_need(&case, wall_v, path)?;
        let mut sure_m = need_m;
        if need_m < proven_m {
            let inspection = inspect(&model, path);
            apparent += 1;
            sure_m = if inspection.margin_m < 0.0 { f64::INFINITY } else { inspection.opening_m };
        }
        assert!(sure_m >= proven_m, "needs {sure_m}, {proven_m} is proven: {path:?}");
        seen.least_m = seen.least_m.min(sure_m);
        seen.drives += 1;
        seen.near += u32::from(sure_m < 1.1 * proven_m);
        Some(need_m)
    };
    let plan = LegPattern::of(maneuver, 0);
    let mut random = Random(setback.to_bits() ^ body_width.to_bits());
    // Ways in to be changed, as variables.
    let mut ways = vec![found.path.path().clone()];
    ways.extend(finding.starts);
    let coarse = CollisionModel::new(&case.vehicle, case.surroundings.clone(), 0.0, 12.0);
    ways.extend(lattice::ways(&problem, &coarse, &plan, 6, 10_000).0.into_iter().map(|way| way.path));
    if maneuver == BackIn && case.vehicle.units.len() > 1 {
        ways.extend(reversed_pursuit::ways(&problem, &model.chain));
    }
    let courses = templates(&problem, &plan, 1.0);
    ways.extend(courses.iter().filter_map(|x| crossing_at(&case, &plan.path(&problem, x), 0.0)));
    let max = case.vehicle.steering.max_curvature;
    let fits: Vec<(Transcription, Vec<f64>)> = ways
        .iter()
        .map(|path| {
            let start = path.start.lead.position;
            let station = case.lane.station_near(start);
            let offset = case.lane.pose(station, 0.0).to_body(start).y;
            Transcription::fit(path, station, offset, max, 0.5)
        })
        .collect();
    // Drawn at random, the last stretch long enough to be inside.
    let nothing = || Seen { least_m: f64::INFINITY, drives: 0, near: 0 };
    let (mut drivable, mut at_once) = (nothing(), nothing());
    for mut x in drawn(&problem, &plan, DRAWN) {
        x[1] = random.between(case.lane.play_m.0, case.lane.play_m.1 + 1e-12);
        let last = x.len() - 1;
        x[last] += 8.0 + setback;
        let path = plan.path(&problem, &x);
        if let Some(path) = crossing_at(&case, &path, random.between(-0.8, 0.8)) {
            look(&path, &mut drivable);
        }
    }
    let from_nothing = drivable.drives;
    for (jumps, wanted, seen) in [(false, DRIVES, &mut drivable), (true, AT_ONCE, &mut at_once)] {
        let mut best: Vec<(f64, Vec<f64>)> = fits.iter().map(|(_, x)| (f64::INFINITY, x.clone())).collect();
        for turn in 0..MOST_TRIES {
            if seen.drives >= wanted {
                break;
            }
            // The first is the search's own result: half of all changes begin there.
            let which = if random.chance(0.5) { 0 } else { usize::try_from(turn).expect("few") % fits.len() };
            let track = &fits[which].0;
            let size = random.pick(&[0.0003, 0.001, 0.003, 0.01, 0.03, 0.1, 0.3]);
            let x = changed(&case, track, &best[which].1, size, jumps, &mut random);
            if let Some(need_m) = look(&track.path(&problem, &x), seen)
                && need_m < best[which].0
            {
                best[which] = (need_m, x);
            }
        }
    }
    let ratio = |seen: &Seen| seen.least_m / proven_m;
    println!(
        "{} {maneuver:?} {setback}: proven {proven_m:.4}; {} drives, {from_nothing} drawn at random, {} within 10 %, least \
         ratio {:.4}; {} with wheels that turn at once, least ratio {:.4}; {apparent} seemed to need less by poses alone",
        case.vehicle.name,
        drivable.drives,
        drivable.near,
        ratio(&drivable),
        at_once.drives,
        ratio(&at_once)
    );
    assert!(drivable.drives >= DRIVES, "only {} got through", drivable.drives);
    assert!(at_once.drives >= AT_ONCE, "only {} got through with wheels that turn at once", at_once.drives);
    assert!(ratio(&drivable) < telling, "nothing came near what is proven: the drives tell nothing");
}
