//! Search on the standard problems and their kin: openings and time per case, bare and comfortable together.
//!
//! `cargo bench --bench search` prints a line per case, its excess over the best opening known, and the medians. A case
//! is what a study does for one way in: the bare problem, then the comfortable one seeded by its paths.
#[path = "../common/mod.rs"]
mod common;
use common::{
    TestCase, box_truck, car, gooseneck, narrow_road, pickup, skewed_site, standard_lane, standard_site,
};
use std::time::Instant;
use wideenough::search::lane::Lane;
use wideenough::search::{Effort, Problem, Search, alike, enough_in_comfort, narrowest};
use wideenough::site::Maneuver::{BackIn, DriveIn};

fn main() {
    let only: Option<String> = std::env::args().nth(1).filter(|a| !a.starts_with("--"));
    let mut times: [Vec<f64>; 2] = [Vec::new(), Vec::new()];
    println!(
        "{:38} {:>8} {:>8} {:>7} {:>8} {:>8} {:>9}",
        "case", "bare m", "known m", "% above", "comf. m", "ms", "poses"
    );
    for case in problems() {
        if only.as_ref().is_some_and(|o| !case.name.contains(o.as_str())) {
            continue;
        }
        let problem = Problem {
            vehicle: &case.vehicle,
            surroundings: &case.surroundings,
            lane: &case.lane,
            maneuver: case.maneuver,
            shunts: case.shunts,
            clearance_m: 0.0,
            spot: None,
        };
        let started = Instant::now();
        let mut bare = narrowest(&problem, Effort::USUAL, &[]);
        let seeds = bare.starts.clone();
        // As in a study, the start moves over the middle where a wall beside the lane leaves less than the clearance.
        let (low, high) = case.lane.play_m;
        let wider = Lane::new(case.lane.line.clone(), (low, high + 0.6));
        let comfortable = Problem { clearance_m: 0.30, lane: &wider, ..problem.clone() };
        let enough_m = enough_in_comfort(bare.found.as_ref().map(|found| found.inspection.opening_m), 0.30);
        let comfortable = Search::new(&comfortable).seeds(&seeds).enough_m(enough_m).run();
        let ways = bare.found.as_ref().zip(comfortable.found.as_ref());
        if ways.is_none_or(|(bare, comfortable)| !alike(&case.vehicle, &bare.path, &comfortable.path)) {
            let about_m = 2.0 * case.surroundings.drawn_faces_u.right;
            let again = Search::new(&problem)
                .effort(Effort::USUAL.nearby())
                .seeds(&comfortable.starts)
                .near_seeds()
                .about_m(about_m)
                .run();
            bare = bare.or(again);
        }
        let ms = started.elapsed().as_secs_f64() * 1e3;
        let opening =
            |f: &wideenough::search::Finding| f.found.as_ref().map_or(f64::NAN, |f| f.inspection.opening_m);
        let above = 100.0 * (opening(&bare) / case.known_m - 1.0);
        println!(
            "{:38} {:8.4} {:8.4} {above:7.2} {:8.4} {ms:8.1} {:9}",
            case.name,
            opening(&bare),
            case.known_m,
            opening(&comfortable),
            bare.work + comfortable.work
        );
        times[usize::from(case.vehicle.units.len() > 1)].push(ms);
    }
    for (kind, times) in ["rigid", "with a trailer"].iter().zip(&mut times) {
        times.sort_by(f64::total_cmp);
        if let Some(median) = times.get(times.len() / 2) {
            println!("median, {kind}: {median:.0} ms over {} cases", times.len());
        }
    }
}

/// The problems: the standard ones first, then skewed gates, a narrow road, a pole, the far lane.
fn problems() -> Vec<TestCase> {
    let mut list = Vec::new();
    let mut add = |name: &str, case: TestCase, known_m: f64| {
        list.push(TestCase { name: name.to_owned(), known_m, ..case });
    };
    let standard = |vehicle, width, maneuver, setback, east| {
        TestCase::new(vehicle, &standard_site(setback), standard_lane(setback, east, width), maneuver)
    };
    add("pickup in 1.5", standard(pickup(), 2.05, DriveIn, 1.5, true), 2.756);
    add("pickup in 4.5", standard(pickup(), 2.05, DriveIn, 4.5, true), 2.444);
    add("box truck in 1.5", standard(box_truck(), 2.44, DriveIn, 1.5, true), 4.175);
    add("box truck in 4.5", standard(box_truck(), 2.44, DriveIn, 4.5, true), 3.331);
    add("box truck back 1.5", standard(box_truck(), 2.44, BackIn, 1.5, true), 3.464);
    add("gooseneck in 4.5", standard(gooseneck(), 2.59, DriveIn, 4.5, true), 3.938);
    add("gooseneck back 4.5", standard(gooseneck(), 2.59, BackIn, 4.5, true), 3.618);
    for (road, maneuver, known) in
        [(4.0, DriveIn, 2.7431), (4.0, BackIn, 2.3796), (5.0, DriveIn, 2.3773), (5.0, BackIn, 2.0685)]
    {
        let (site, lane) = narrow_road(road);
        add(&format!("car {maneuver:?} road {road}"), TestCase::new(car(), &site, lane, maneuver), known);
    }
    let x = f64::NAN;
    add("pickup back 4.5", standard(pickup(), 2.05, BackIn, 4.5, true), x);
    add("pickup in 1.5 west", standard(pickup(), 2.05, DriveIn, 1.5, false), x);
    add("box truck in 1.5 west", standard(box_truck(), 2.44, DriveIn, 1.5, false), x);
    add("box truck in 4.5 west", standard(box_truck(), 2.44, DriveIn, 4.5, false), x);
    add("gooseneck in 4.5 west", standard(gooseneck(), 2.59, DriveIn, 4.5, false), x);
    add("gooseneck back 4.5 west", standard(gooseneck(), 2.59, BackIn, 4.5, false), x);
    for skew in [-25.0, 25.0] {
        for (vehicle, width) in [(pickup(), 2.05), (box_truck(), 2.44), (gooseneck(), 2.59)] {
            for maneuver in [DriveIn, BackIn] {
                let (site, lane) = skewed_site(4.5, skew, true, width);
                let name = format!("{} {maneuver:?} 4.5 skew {skew}", vehicle.name);
                add(&name, TestCase::new(vehicle.clone(), &site, lane, maneuver), x);
            }
        }
    }
    let mut pole = standard_site(4.5);
    common::add_pole(&mut pole, -1.8, 1.0);
    common::add_pole(&mut pole, 3.2, 11.0);
    for (vehicle, width) in [(pickup(), 2.05), (box_truck(), 2.44), (gooseneck(), 2.59)] {
        for maneuver in [DriveIn, BackIn] {
            let name = format!("{} {maneuver:?} 4.5 poles", vehicle.name);
            let lane = standard_lane(4.5, true, width);
            add(&name, TestCase::new(vehicle.clone(), &pole, lane, maneuver), x);
        }
    }
    let site = standard_site(1.5);
    for (vehicle, width) in [(pickup(), 2.05), (box_truck(), 2.44)] {
        let ground = common::apron(&site, 1.5, 5.0, 3.5);
        let name = format!("{} in 1.5 apron", vehicle.name);
        let lane = standard_lane(1.5, true, width);
        add(&name, TestCase::on(vehicle, &site, Some(&ground), lane, DriveIn), x);
    }
    add(
        "box truck in 1.5, 2 shunts",
        TestCase { shunts: 2, ..standard(box_truck(), 2.44, DriveIn, 1.5, true) },
        x,
    );
    add("pickup in 1.5, 2 shunts", TestCase { shunts: 2, ..standard(pickup(), 2.05, DriveIn, 1.5, true) }, x);
    list
}
