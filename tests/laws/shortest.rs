//! Drives of arcs and straights that are known to be the shortest between their ends, by OMPL
//! (`tests/cross_check/shortest.py`): driven by the program they end where they should, in every family of words of
//! Reeds and Shepp (Pacific Journal of Mathematics 145, 1990). Among them are the motions of the coarse search's grids.
use crate::common::{TestCase, box_truck, car, narrow_road};
use std::collections::BTreeMap;
use wideenough::clearance::CollisionModel;
use wideenough::geometry::{Point, wrap_angle};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State};
use wideenough::search::lattice;
use wideenough::search::templates::LegPattern;
use wideenough::site::Maneuver::DriveIn;
use wideenough::vehicle::Vehicle;

/// Allowed error: the file's numbers are doubles in full; only rounding along the path is left.
const ALLOWED: f64 = 1e-12;

/// A drive of radius 1 from the origin.
struct Word {
    family: String,
    shortest: f64,
    end: (Point, f64),
    parts: Vec<(f64, f64, f64)>,
}

fn words() -> Vec<Word> {
    let number = |word: &str| -> f64 { word.parse().expect("a number") };
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let part = |cell: &&str| {
            let numbers: Vec<f64> = cell.split(' ').map(number).collect();
            (numbers[0], numbers[1], numbers[2])
        };
        Word {
            family: cells[0].to_owned(),
            shortest: number(cells[1]),
            end: (Point::new(number(cells[2]), number(cells[3])), number(cells[4])),
            parts: cells[5..].iter().map(part).collect(),
        }
    };
    include_str!("../cross_check/shortest.csv").lines().skip(2).map(row).collect()
}

/// The drive by a vehicle at full lock, a leg for each stretch in one direction.
fn path(vehicle: &Vehicle, word: &Word) -> Path {
    let max = vehicle.steering.max_curvature;
    let mut legs: Vec<Leg> = Vec::new();
    for (sign, turn, length) in &word.parts {
        let direction = if *sign > 0.0 { Direction::Forward } else { Direction::Reverse };
        // A turn to the left has a positive curvature in either direction.
        let segment = Segment::arc(length / max, turn * max);
        match legs.last_mut().filter(|leg| leg.direction == direction) {
            Some(leg) => leg.segments.push(segment),
            None => legs.push(Leg { direction, segments: vec![segment] }),
        }
    }
    Path { start: State::default(), legs }
}

#[test]
fn shortest_drives_end_where_they_should() {
    let mut families: BTreeMap<String, usize> = BTreeMap::new();
    let mut worst: f64 = 0.0;
    for vehicle in [car(), box_truck()] {
        let max = vehicle.steering.max_curvature;
        for word in words() {
            let path = path(&vehicle, &word);
            let end = path.end(&Chain::of(&vehicle)).lead;
            let away = (end.position * max).distance(word.end.0);
            let turned = wrap_angle(end.heading - word.end.1).abs();
            let longer = (path.length_m() * max - word.shortest).abs();
            let gap = away.max(turned).max(longer);
            assert!(gap < ALLOWED, "{} {:?}: {end:?}, {gap:e}", word.family, word.parts);
            worst = worst.max(gap);
            *families.entry(word.family).or_default() += 1;
        }
    }
    println!("worst {worst:e} radii, {families:?}");
    assert!(families.len() == 10 && families.values().all(|count| *count >= 12), "{families:?}");
}

/// The grid's paths are made of these motions: a share of a radius long, and the length of the whole is at least the
/// shortest for the angle they turn by.
#[test]
fn the_grids_go_by_such_motions() {
    let (site, lane) = narrow_road(5.0);
    let problem = TestCase::new(car(), &site, lane, DriveIn);
    let problem = wideenough::search::Problem {
        vehicle: &problem.vehicle,
        surroundings: &problem.surroundings,
        lane: &problem.lane,
        maneuver: DriveIn,
        shunts: 0,
        clearance_m: 0.0,
        spot: None,
    };
    let model = CollisionModel::new(problem.vehicle, problem.surroundings.clone(), 0.0, 12.0);
    let (ways, _) = lattice::ways(&problem, &model, &LegPattern::of(DriveIn, 0), 6, 60_000);
    let max = problem.vehicle.steering.max_curvature;
    let of_grid = words().into_iter().filter(|word| word.family == "grid");
    let steps: Vec<f64> = of_grid.map(|word| word.parts[0].2).collect();
    assert!(!ways.is_empty());
    for way in &ways {
        let known = steps.iter().any(|step| (way.step_m * max - step).abs() < ALLOWED);
        assert!(known, "{} radii", way.step_m * max);
        let segments = way.path.legs.iter().flat_map(|leg| &leg.segments);
        let mut turned = 0.0;
        for segment in segments {
            assert!((segment.length_m - way.step_m).abs() < ALLOWED);
            turned += 0.5 * segment.length_m * (segment.curvature_start + segment.curvature_end);
        }
        // A turn by an angle takes that many radii at least (Dubins, 1957).
        assert!(way.path.length_m() * max >= f64::abs(turned) - ALLOWED);
        assert!(f64::abs(turned) > 0.5, "a way in turns off the road: {turned}");
    }
}
