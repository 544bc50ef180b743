//! The coarse search over grids of poses: its paths are drivable and near the narrowest; and results that depend on it.
use crate::common::{TestCase, box_truck, gooseneck, pickup, skewed_site, standard_lane, standard_site};
use rstest::rstest;
use wideenough::clearance::CollisionModel;
use wideenough::geometry::wrap_angle;
use wideenough::motion::Chain;
use wideenough::search::templates::LegPattern;
use wideenough::search::{Effort, Problem, lattice, narrowest};
use wideenough::site::Maneuver::{self, BackIn, DriveIn};
use wideenough::vehicle::Vehicle;

fn problem(case: &TestCase, shunts: u32) -> Problem<'_> {
    Problem {
        vehicle: &case.vehicle,
        surroundings: &case.surroundings,
        lane: &case.lane,
        maneuver: case.maneuver,
        shunts,
        clearance_m: 0.0,
        spot: None,
    }
}

fn standard(vehicle: Vehicle, width: f64, maneuver: Maneuver, setback: f64) -> TestCase {
    let lane = standard_lane(setback, true, width);
    TestCase::new(vehicle, &standard_site(setback), lane, maneuver)
}

/// Paths that keep the vehicle's limits, begin nearly straight in the lane, and cross the gate line where an opening
/// little wider than the best known lets them through: within a fifth (with a trailer, three fifths), for cells are a
/// third of a meter to a meter wide.
#[rstest]
#[case::pickup(pickup(), 2.05, DriveIn, 4.5, 2.444)]
#[case::box_truck(box_truck(), 2.44, DriveIn, 1.5, 4.175)]
#[case::box_truck_back(box_truck(), 2.44, BackIn, 1.5, 3.464)]
#[case::gooseneck(gooseneck(), 2.59, DriveIn, 4.5, 3.938)]
fn drivable_ways_near_the_best_known(
    #[case] vehicle: Vehicle,
    #[case] width: f64,
    #[case] maneuver: Maneuver,
    #[case] setback: f64,
    #[case] known_m: f64,
) {
    let case = standard(vehicle, width, maneuver, setback);
    let problem = problem(&case, 0);
    let model = CollisionModel::new(problem.vehicle, problem.surroundings.clone(), 0.0, 12.0);
    let plan = LegPattern::of(maneuver, 0);
    let (ways, looked) = lattice::ways(&problem, &model, &plan, 6, 60_000);
    assert!(looked <= 4 * 60_003, "{looked} poses");
    let best = ways.first().expect("a way in");
    println!(
        "{} {maneuver:?}: {:.2} m by grid, {known_m} known, {looked} poses",
        problem.vehicle.name, best.cost_m
    );
    let bound = if problem.vehicle.units.len() > 1 { 1.6 } else { 1.2 };
    assert!(best.cost_m > 0.95 * known_m && best.cost_m < bound * known_m, "{}", best.cost_m);
    for way in &ways {
        let lane = problem.lane.pose(problem.lane.station_near(way.path.start.lead.position), 0.0);
        let beside = lane.to_body(way.path.start.lead.position).y;
        let turned = wrap_angle(lane.heading - way.path.start.lead.heading);
        assert!(turned.abs() < 4.0_f64.to_radians() && way.path.start.hitch[0].abs() < 10.5_f64.to_radians());
        assert!(beside > problem.lane.play_m.0 - 0.21 && beside < problem.lane.play_m.1 + 0.21);
        // The wheels turn no faster than they can; a hitch may still need correcting by the polish.
        let steering = problem.vehicle.steering;
        for leg in &way.path.legs {
            for s in &leg.segments {
                let change = (s.curvature_end - s.curvature_start).abs() / steering.max_curvature;
                assert!(change * steering.lock_distance_m <= s.length_m + 1e-9, "{s:?}");
                assert!(s.curvature_end.abs() <= steering.max_curvature + 1e-12, "{s:?}");
            }
        }
        // Driven from that very start it ends wholly inside, as on the grid.
        let chain = Chain::of(problem.vehicle);
        let end = model.need(&chain.unit_poses(&way.path.end(&chain)), &mut Default::default());
        assert!(end.least_v >= model.surroundings.beyond_v - 1e-6, "{}", end.least_v);
    }
}

/// Two stops more let a pickup stand straight before the gate: its own width over the mirrors, 2.4384 m, and no turn.
/// Without them nothing below 2.60 m passes (proven by `bound`).
#[test]
fn two_shunts_make_a_turn_a_straight_way_in() {
    let case = standard(pickup(), 2.05, DriveIn, 1.5);
    let found = |shunts| narrowest(&problem(&case, shunts), Effort::USUAL, &[]).found.expect("it gets in");
    let (without, with) = (found(0), found(2));
    assert!(with.path.path().legs.len() == 3 && without.path.path().legs.len() == 1);
    let (without, with) = (without.inspection.opening_m, with.inspection.opening_m);
    println!("without {without:.4}, with two shunts {with:.4}");
    assert!((2.4384..2.46).contains(&with) && without > 2.60);
}

/// A gate line turned 25 degrees meets the road again farther on; a path round its end is not a path through the gate.
#[test]
fn round_the_end_of_the_gate_line_is_no_way_in() {
    let (site, lane) = skewed_site(4.5, -25.0, true, 2.05);
    let case = TestCase::new(pickup(), &site, lane, DriveIn);
    let effort = Effort { drawn: 40, ..Effort::USUAL };
    let found = narrowest(&problem(&case, 0), effort, &[]).found.expect("it gets in");
    assert!(found.inspection.opening_m >= 2.4384, "{}", found.inspection.opening_m);
}
