//! Forward sensitivities of the search, against driving the path again with each variable changed; and its starts:
//! driven out and reversed they end inside, drawn at random they are always the same.
use crate::common::{gooseneck, standard_lane, standard_site};
use wideenough::clearance::{CollisionModel, Surroundings};
use wideenough::motion::{Chain, Direction};
use wideenough::search::Problem;
use wideenough::search::lane::StartZone;
use wideenough::search::reversed_pursuit;
use wideenough::search::sensitivity::{self, COORDINATES, NeedGradient};
use wideenough::search::templates::{LegPattern, drawn};
use wideenough::search::transcription::{TrackLeg, Transcription};
use wideenough::site::Maneuver;

/// From a start in the lane, and from one that is a little aside, turned and bent.
#[test]
fn derivatives_agree_with_driving_again() {
    let numbers = [190.0, 0.1, 9.0, 0.0, 0.3, -0.2, 0.1, 14.0, -0.4, 0.2, 0.6, 0.3, -0.1];
    derivatives_agree(0, &numbers);
    let mut start_slack = numbers.to_vec();
    start_slack.splice(2..2, [0.15, 0.03, -0.05]);
    derivatives_agree(3, &start_slack);
}

fn derivatives_agree(start_slack: usize, x: &[f64]) {
    let rig = gooseneck();
    let surroundings = Surroundings::new(&standard_site(4.5), None, 0.0);
    let lane = standard_lane(4.5, true, 2.59);
    let (maneuver, clearance_m) = (Maneuver::BackIn, 0.1);
    let problem = Problem {
        vehicle: &rig,
        surroundings: &surroundings,
        lane: &lane,
        maneuver,
        shunts: 0,
        clearance_m,
        spot: None,
    };
    let model = CollisionModel::new(&rig, surroundings.clone(), clearance_m, 12.0);
    let legs = vec![
        TrackLeg { direction: Direction::Forward, knots: 4 },
        TrackLeg { direction: Direction::Reverse, knots: 5 },
    ];
    let track = Transcription { legs, start_slack, zone: StartZone::UNBOUNDED, outward: false };
    let mut steps = track.single_steps();
    steps.parts.iter_mut().flatten().for_each(|parts| *parts = 3);
    let (stands, _) = track.drive(&problem, &model, x, &steps);
    let wanted: Vec<usize> = (0..stands.len()).collect();
    let h = 1e-6;
    let again: Vec<_> = (0..x.len())
        .map(|i| {
            let mut changed = x.to_vec();
            changed[i] += h;
            track.drive(&problem, &model, &changed, &steps).0
        })
        .collect();
    let (mut worst, mut worst_need, mut needs) = (0.0_f64, 0.0_f64, 0);
    let mut gradient = vec![0.0; x.len()];
    sensitivity::along(&problem, &model, &track, (x, &stands, &steps), &wanted, |j, before, moves| {
        for coordinate in 0..4 {
            let mut rates = [0.0; COORDINATES];
            rates[coordinate] = 1.0;
            moves.gradient(&rates, &mut gradient);
            for (slope, changed) in gradient.iter().zip(&again) {
                let pick = |s: &wideenough::motion::State| {
                    [s.lead.position.x, s.lead.position.y, s.lead.heading, s.hitch[0]][coordinate]
                };
                let seen = (pick(&changed[j].state) - pick(&stands[j].state)) / h;
                worst = worst.max((slope - seen).abs());
            }
        }
        let here = NeedGradient::at(
            &model,
            before,
            &stands[j].state,
            (stands[j].need, stands[j].binding),
            &mut Default::default(),
        );
        moves.gradient(&here.rates(|need| need.least_v), &mut gradient);
        for (slope, changed) in gradient.iter().zip(&again) {
            let seen = (changed[j].need.least_v - stands[j].need.least_v) / h;
            worst_need = worst_need.max((slope - seen).abs());
            needs += usize::from(seen.abs() > 0.1);
        }
    });
    println!("worst difference {worst:.1e} in place, {worst_need:.1e} in need, {needs} compared");
    // Places change by up to some 20 m per share of lock; differences of 1e-5 leave that much of their curvature.
    assert!(worst < 2e-3 && worst_need < 1e-2, "{worst} {worst_need}");
    assert!(needs > 50, "{needs}");
}

/// A transcription, its split onto knots closer to each other, and its retrace from the path cover the same ground:
/// also where the last piece was cut off.
#[test]
fn a_course_split_or_taken_up_again_is_the_same() {
    let rig = gooseneck();
    let surroundings = Surroundings::new(&standard_site(4.5), None, 0.0);
    let lane = standard_lane(4.5, true, 2.59);
    let problem = Problem {
        vehicle: &rig,
        surroundings: &surroundings,
        lane: &lane,
        maneuver: Maneuver::BackIn,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let chain = Chain::of(&rig);
    let legs = vec![
        TrackLeg { direction: Direction::Forward, knots: 4 },
        TrackLeg { direction: Direction::Reverse, knots: 5 },
    ];
    let track = Transcription { legs, start_slack: 0, zone: StartZone::UNBOUNDED, outward: false };
    let x = [190.0, 0.1, 9.0, 0.0, 0.3, -0.2, 0.1, 14.0, -0.4, 0.2, 0.6, 0.3, -0.1];
    let path = track.path(&problem, &x);
    let (finer, y) = track.split(&x, 0.8);
    assert_eq!(finer.legs[0].knots, 13, "9 m in 12 pieces of 0.75 m: 3 to each of 3");
    let max = rig.steering.max_curvature;
    let mut cut = path.clone();
    let last = cut.legs[1].segments.last_mut().unwrap();
    let part = last.length_m * 0.3;
    last.curvature_end = last.curvature_start + 0.3 * (last.curvature_end - last.curvature_start);
    last.length_m = part;
    let (again, z) = Transcription::retrace(&cut, x[0], x[1], max).expect("its pieces are even");
    assert_eq!(again, track);
    for (a, b) in z.iter().zip(&x) {
        assert!((a - b).abs() < 1e-9, "{z:?}");
    }
    for other in [finer.path(&problem, &y), again.path(&problem, &z)] {
        let (a, b) = (path.end(&chain), other.end(&chain));
        assert!(a.lead.position.distance(b.lead.position) < 1e-9 && (a.hitch[0] - b.hitch[0]).abs() < 1e-9);
    }
    // A path with uneven pieces cannot be retraced.
    cut.legs[1].segments[1].length_m *= 0.9;
    assert!(Transcription::retrace(&cut, x[0], x[1], max).is_none());
}

#[test]
fn driving_out_shows_ways_in() {
    let rig = gooseneck();
    let surroundings = Surroundings::new(&standard_site(4.5), None, 0.0);
    let lane = standard_lane(4.5, true, 2.59);
    let problem = Problem {
        vehicle: &rig,
        surroundings: &surroundings,
        lane: &lane,
        maneuver: Maneuver::BackIn,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let chain = Chain::of(&rig);
    let ways = reversed_pursuit::ways(&problem, &chain);
    assert!(ways.len() >= 6, "{}", ways.len());
    for way in &ways {
        let directions: Vec<Direction> = way.legs.iter().map(|leg| leg.direction).collect();
        assert_eq!(directions, [Direction::Forward, Direction::Reverse]);
        let (start, end) = (way.start, way.end(&chain));
        assert!(start.lead.heading.abs() < 0.02 && start.hitch[0].abs() < 0.05, "{start:?}");
        assert!(
            lane.pose(lane.station_near(start.lead.position), 0.0).position.distance(start.lead.position)
                < 1.0
        );
        // Backed in: the trailer inside, the pickup's nose toward the road.
        assert!(
            end.lead.position.y > 5.0 && end.lead.heading.rem_euclid(std::f64::consts::TAU) > 4.0,
            "{end:?}"
        );
        assert!(chain.unit_poses(&end)[1].position.y > end.lead.position.y + 7.0);
    }
    let plan = LegPattern::of(Maneuver::DriveIn, 0);
    let (some, more) = (drawn(&problem, &plan, 5), drawn(&problem, &plan, 40));
    assert_eq!(some[..], more[..5]);
    assert!(more.windows(2).all(|pair| pair[0] != pair[1]));
}
