//! The proof against drives, by the hundred and the thousand: whatever is driven, nothing above its need may be proven.
//! The seed of a drive is all it takes to repeat it.
use crate::common::drives::{Hemmed, Place, hemmed, hitches_fit};
use crate::common::random::Random;
use crate::common::{
    add_pole, apron, box_truck, car, every_case, gooseneck, narrow_road, pickup, skewed_site,
};
use rayon::prelude::*;
use std::collections::BTreeMap;
use wideenough::bound::{ProofBudget, at_least, closes_as_drawn, follows_together, is_closed};
use wideenough::clearance::{CollisionModel, Surroundings, inspect};
use wideenough::motion::{Path, Segment};
use wideenough::search::transcription::Transcription;
use wideenough::search::{EDGE_TOLERANCE_M, Effort, Problem, least_width, narrowest};
use wideenough::site::{Anchor, Faces, Maneuver, Side};
use wideenough::vehicle::{Vehicle, find};

/// Range of seeds tried: `part` of them by default, the whole with `EVERY_CASE`, and `PROOF_TIMES` times the whole for a
/// longer run.
fn seeds(part: u64, whole: u64) -> std::ops::Range<u64> {
    let number = |name: &str| std::env::var(name).ok().and_then(|s| s.parse::<u64>().ok());
    let first = number("PROOF_SEED").unwrap_or(0);
    let usual = if every_case() { whole } else { part };
    first..first + number("PROOF_TIMES").map_or(usual, |times| whole * times)
}

fn rigid() -> Vec<Vehicle> {
    let library = |name: &str| find(name).expect("in the library");
    let mut cart = car();
    cart.steering.max_curvature = 1.0 / 2.4;
    vec![
        car(),
        cart,
        pickup(),
        box_truck(),
        library("compact-suv"),
        library("motorhome"),
        library("fire-engine"),
    ]
}

fn rigs() -> Vec<Vehicle> {
    let library = |name: &str| find(name).expect("in the library");
    let mut stiff = gooseneck();
    stiff.units[0].hitch.as_mut().expect("towed").max_angle_rad = 0.8;
    vec![gooseneck(), stiff, library("car-boat-trailer"), library("pickup-bumper-pull-20")]
}

/// Label of a drive whose lead and trailer are followed together.
const TOGETHER: &str = "lead and trailer together";

/// Posts and potholes leave 4 mm to the path a drive sweeps, so next to nothing but that drive gets through: at its
/// need the proof must find a way in. Below that it should not, and does close a part of them.
fn hemmed_in(vehicles: &[Vehicle], seeds: std::ops::Range<u64>) -> usize {
    let ask = |drive: &Hemmed, share: f64, step_m: f64| {
        is_closed(
            &drive.place.problem(),
            share * drive.need_m + 1e-6,
            step_m,
            ProofBudget { transfers: 60_000_000 },
        )
    };
    // Likewise for a gate as drawn: its posts stand whole.
    let as_drawn = |drive: &Hemmed, step_m: f64| {
        let problem = drive.place.problem();
        let mut surroundings = problem.surroundings.clone();
        let (Faces { left, right }, opening_m) = (surroundings.drawn_faces_u, drive.need_m + 1e-6);
        surroundings.drawn_faces_u = match surroundings.anchor {
            Anchor::Side(Side::Left) => Faces::new(left, left + opening_m),
            Anchor::Side(Side::Right) => Faces::new(right - opening_m, right),
            _ => Faces::centered(opening_m),
        };
        let problem = Problem { surroundings: &surroundings, ..problem };
        closes_as_drawn(&problem, &[step_m], ProofBudget { transfers: 60_000_000 }).0
    };
    let looked = |seed: u64| {
        let mut drive = hemmed(seed, vehicles)?;
        if follows_together(&drive.place.problem()) {
            drive.kinds.push(TOGETHER);
        }
        let step_m = Random(seed).pick(&[0.3, 0.23, 0.17]);
        let wrong = ask(&drive, 1.0, step_m) || as_drawn(&drive, step_m);
        let share = [0.96, 0.9, 0.8, 0.7]
            .into_iter()
            .find(|share| seed.is_multiple_of(8) && ask(&drive, *share, 0.17));
        Some((drive, seed, step_m, wrong, share))
    };
    let tried: Vec<_> = seeds.into_par_iter().filter_map(looked).collect();
    let mut kinds: BTreeMap<&str, [usize; 3]> = BTreeMap::new();
    let mut faults = Vec::new();
    let mut nearest: f64 = 0.0;
    for (drive, seed, step_m, wrong, share) in &tried {
        for kind in drive.kinds.iter().copied().chain([drive.place.vehicle.name.as_str(), "all"]) {
            let count = kinds.entry(kind).or_default();
            count[0] += 1;
            count[1] += usize::from(seed.is_multiple_of(8));
            count[2] += usize::from(share.is_some());
        }
        nearest = nearest.max(share.unwrap_or(0.0));
        if *wrong {
            faults.push(format!(
                "seed {seed}: {} {:?} needs {:.4}, called closed by lines {step_m} apart",
                drive.place.vehicle.name, drive.kinds, drive.need_m
            ));
        }
    }
    for (kind, [count, asked, closed]) in &kinds {
        println!("{count:5} {kind}; {asked} asked below their need, {closed} of them closed there");
    }
    println!("least need over what is closed: {:.3}", 1.0 / nearest);
    assert!(faults.is_empty(), "{} wrong:\n{}", faults.len(), faults.join("\n"));
    let all = kinds["all"];
    assert!(5 * all[2] >= all[1], "{} of {}: the ways were not hemmed in", all[2], all[1]);
    for kind in ["backing in", "driving in", "with shunts", "clearance", "no clearance", "ground", "fenced"] {
        assert!(kinds.contains_key(kind), "no {kind}");
    }
    if vehicles.iter().all(|vehicle| vehicle.units.len() > 1) {
        assert!(kinds.get(TOGETHER).is_some_and(|count| 3 * count[0] > all[0]), "{kinds:?}");
    }
    tried.len()
}

#[test]
fn never_closes_what_a_rigid_vehicle_drove() {
    let seeds = seeds(40, 120);
    assert!(2 * hemmed_in(&rigid(), seeds.clone()) as u64 > seeds.end - seeds.start);
}

#[test]
fn never_closes_what_a_rig_drove() {
    let seeds = seeds(24, 36);
    assert!(6 * hemmed_in(&rigs(), seeds.clone()) as u64 > seeds.end - seeds.start);
}

/// A random place, and its description, for a failure.
fn drawn(seed: u64) -> (Place, String) {
    let mut random = Random(seed);
    let mut list = rigid();
    list.extend(rigs().into_iter().skip(2));
    let numbers: Vec<usize> = (0..list.len()).collect();
    let mut vehicle = list[random.pick(&numbers)].clone();
    if random.chance(0.5) {
        vehicle.steering.lock_distance_m = 0.0;
    }
    let body = least_width(&vehicle);
    let narrow = random.chance(0.25) && body < 2.0;
    let setback = random.between(0.5, 6.0);
    let skew = random.pick(&[0.0, 0.0, -20.0, -8.0, 8.0, 20.0]);
    let eastbound = random.chance(0.5);
    let road = random.between(4.0, 5.5);
    let (mut site, lane) =
        if narrow { narrow_road(road) } else { skewed_site(setback, skew, eastbound, body) };
    site.gate.anchor =
        random.pick(&[Anchor::Center, Anchor::Center, Anchor::Side(Side::Left), Anchor::Side(Side::Right)]);
    let poles = random.pick(&[0, 0, 1, 3]);
    for _ in 0..poles {
        let (x, y) = (random.between(-9.0, 9.0), random.between(-5.5, 12.0));
        add_pole(&mut site, x, y);
    }
    let ground = (!narrow && random.chance(0.35))
        .then(|| apron(&site, setback, random.between(5.0, 12.0), random.between(2.5, 6.0)));
    let maneuver = random.pick(&[Maneuver::DriveIn, Maneuver::BackIn]);
    let shunts = random.pick(&[0, 0, 2]);
    let clearance_m = random.pick(&[0.0, 0.3]);
    let what = format!(
        "{} {maneuver:?}, shunts {shunts}, clearance {clearance_m}, {}, skew {skew}, setback {setback:.2}, \
             {poles} poles, ground {}, {:?}",
        vehicle.name,
        if narrow { "narrow road" } else { "road" },
        ground.is_some(),
        site.gate.anchor
    );
    let surroundings = Surroundings::new(&site, ground.as_ref(), 0.0);
    (Place { vehicle, surroundings, lane, maneuver, shunts, clearance_m }, what)
}

/// Need of a path, if it is a way in.
fn need(place: &Place, model: &CollisionModel, path: &Path) -> Option<f64> {
    let seen = inspect(model, path);
    let in_front = path.start.lead.position.y <= place.surroundings.front_v();
    let kept_out = place.maneuver == Maneuver::DriveIn || seen.most_v[0] <= place.surroundings.front_v();
    let passes = seen.passes(EDGE_TOLERANCE_M) && seen.opening_m > 0.0;
    (passes && in_front && kept_out && hitches_fit(&place.vehicle, path)).then_some(seen.opening_m)
}

/// Number of changes tried of each way in that is found: one in ten or so is still a way in.
const CHANGES: usize = 300;

/// Paths of a quick search at a place, each of their numbers changed at random: none of them needs less than is proven
/// there.
#[test]
fn no_drive_needs_less_than_is_proven() {
    let quick =
        Effort { lattice: 5_000, drawn: 4, coarse: 6, polished: 1, fine: 8, finest: 0, ..Effort::USUAL };
    let looked = |seed: u64| {
        let (place, what) = drawn(seed);
        let problem = place.problem();
        let Some(found) = narrowest(&problem, quick, &[]).found else { return (seed, what, None) };
        let proof = at_least(&problem, None, ProofBudget { transfers: 1_500_000 });
        let model =
            CollisionModel::new(&place.vehicle, place.surroundings.clone(), place.clearance_m, f64::INFINITY);
        let start = found.path.path().start.lead.position;
        let station = place.lane.station_near(start);
        let offset = place.lane.pose(station, 0.0).to_body(start).y;
        let most = place.vehicle.steering.max_curvature;
        let (track, known) = Transcription::fit(found.path.path(), station, offset, most, 1.0);
        let mut random = Random(seed ^ 0xabcd);
        let (mut least, mut drives) = (need(&place, &model, found.path.path()).unwrap_or(f64::INFINITY), 1);
        for _ in 0..CHANGES {
            let size = random.pick(&[0.001, 0.01, 0.05, 0.2]);
            let mut x = known.clone();
            for number in &mut x {
                *number += size * random.between(-1.0, 1.0);
            }
            x[1] = x[1].clamp(place.lane.play_m.0, place.lane.play_m.1);
            for leg in 0..track.legs.len() {
                let at = track.leg_at(leg);
                for share in &mut x[at + 1..=at + track.legs[leg].knots] {
                    *share = share.clamp(-1.0, 1.0);
                }
            }
            let mut path = track.path(&problem, &x);
            // On until it is surely inside.
            if let Some(last) = path.legs.last_mut() {
                let k = last.segments.last().map_or(0.0, |s| s.curvature_end);
                last.segments.push(Segment::arc(0.5, k));
            }
            let Some(need_m) = need(&place, &model, &path) else { continue };
            drives += 1;
            least = least.min(need_m);
        }
        (seed, what, Some((proof, least, drives)))
    };
    let seeds = seeds(20, 20);
    let places = seeds.end - seeds.start;
    let all: Vec<_> = seeds.into_par_iter().map(looked).collect();
    let (mut drives, mut told, mut worst) = (0, 0, f64::INFINITY);
    for (seed, what, seen) in &all {
        let Some((proof, least, count)) = seen else { continue };
        let ratio = least / proof.at_least_m;
        println!(
            "{seed}: {what}: {count} drives, least {least:.3}, proven {:.3}, {ratio:.3}",
            proof.at_least_m
        );
        assert!(!proof.impossible, "seed {seed}: {what}: driven, but called impossible");
        assert!(ratio >= 1.0, "seed {seed}: {what}: a drive needs {least:?}, {} is proven", proof.at_least_m);
        drives += count;
        told += u64::from(ratio < 1.15);
        worst = ratio.min(worst);
    }
    println!(
        "{drives} drives at {places} places; at {told} of them within 15 % of what is proven; worst gap {worst:.4}"
    );
    assert!(drives > 10 * places && 5 * told >= places);
}
