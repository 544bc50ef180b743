//! scratch
mod common;
use common::*;
use wideenough::clearance::Surroundings;
use wideenough::geometry::Point;
use wideenough::search::Question;
use wideenough::search::course::Lane;
use wideenough::search::proof;
use wideenough::search::proof::reach::Ended;
use wideenough::site::Maneuver;

fn bisect(name: &str, question: &Question, known: f64) {
    for step in [0.16, 0.08, 0.04, 0.02] {
        let (mut low, mut high) = (proof::weak(question), known * 1.02);
        let start = std::time::Instant::now();
        let mut work = 0;
        let mut runs = 0;
        while high - low > 0.01 {
            let mid = 0.5 * (low + high);
            let (ended, w) = proof::test(question, mid, low, step, 40.0, 200_000_000);
            work += w;
            runs += 1;
            match ended {
                Ended::Closed => low = mid,
                Ended::Open => high = mid,
                Ended::Spent => { println!("spent"); break }
            }
        }
        println!("{name} step {step}: proven {low:.3} of {known:.3} ratio {:.3}; {runs} runs, work {work}, {:.2} s", known / low, start.elapsed().as_secs_f64());
    }
}

#[test]
fn cars() {
    for (road, maneuver, known) in [
        (4.0, Maneuver::DriveIn, 2.743),
        (4.0, Maneuver::BackIn, 2.380),
        (5.0, Maneuver::DriveIn, 2.377),
        (5.0, Maneuver::BackIn, 2.0685),
    ] {
        let body = unit("car", 2.7, 0.95, 3.65, 1.85, None);
        let mut car = vehicle("car", vec![body], 30.0, 0.0);
        car.steering.max_curvature = 1.0 / 4.6;
        let mut site = standard_site(0.0);
        site.gate.left = Point::new(-1.5, 0.0);
        site.gate.right = Point::new(1.5, 0.0);
        site.gate.post.depth_m = 0.0;
        site.fences.clear();
        site.roads[0].surface.outer = rectangle(-200.0, -road, 200.0, 0.0);
        site.obstacles[0].shapes[0].outer = rectangle(-200.0, -road - 0.3, 200.0, -road);
        let surroundings = Surroundings::new(&site, None, 0.0);
        let play = (road - 1.85) / 2.0;
        let line = vec![Point::new(-200.0, -road / 2.0), Point::new(200.0, -road / 2.0)];
        let lane = Lane { line, play_m: (-play, play) };
        let question = Question { vehicle: &car, surroundings: &surroundings, lane: &lane, maneuver, shunts: 0, clearance_m: 0.0, spot: None };
        bisect(&format!("car {road} {maneuver:?}"), &question, known);
    }
}

#[test]
fn standard() {
    for (vehicle, width, maneuver, setback, known) in [
        (pickup(), 2.05, Maneuver::DriveIn, 1.5, 2.756),
        (pickup(), 2.05, Maneuver::DriveIn, 4.5, 2.444),
        (box_truck(), 2.44, Maneuver::DriveIn, 1.5, 4.175),
        (box_truck(), 2.44, Maneuver::DriveIn, 4.5, 3.331),
        (box_truck(), 2.44, Maneuver::BackIn, 1.5, 3.464),
    ] {
        let surroundings = Surroundings::new(&standard_site(setback), None, 0.0);
        let lane = standard_lane(setback, true, width);
        let question = Question { vehicle: &vehicle, surroundings: &surroundings, lane: &lane, maneuver, shunts: 0, clearance_m: 0.0, spot: None };
        bisect(&format!("{} {maneuver:?} {setback}", vehicle.name), &question, known);
    }
}
