//! Answers of the program over random places: laws between the answers of related places, and an independent judge of
//! the paths that prove them. A handful of places by default; `PLACES=500 PLACES_SEED=1000 cargo test --test places`
//! checks more of them, and `PLACES_TO=target/places` writes their plans there; with `PLACES_VEHICLES=1` a random vehicle
//! comes to each.
mod cards;
#[path = "../common/mod.rs"]
mod common;
mod county;
mod fixed;
mod generator;
mod judge;
mod lane;
mod laws;
mod orders;
mod other_roads;
mod outlines;
mod pieces;
mod vehicles;
use generator::{KINDS, Place, place};
use judge::Fault;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};
use wideenough::opening::{Study, StudyOptions, Wanted, study};
use wideenough::site::{Maneuver, Site};
use wideenough::vehicle::find;

/// A number from the environment, or the usual one.
fn number(key: &str, usual: u64) -> u64 {
    std::env::var(key).ok().map_or(usual, |text| text.parse().unwrap_or_else(|_| panic!("{key}: {text}")))
}

/// A place, with a random vehicle in place of its own where `PLACES_VEHICLES` says so.
fn as_asked(place: Place) -> Place {
    let random = std::env::var_os("PLACES_VEHICLES").is_some();
    if random { generator::with_random_vehicle(place) } else { place }
}

/// The places studied: `PLACES` of them, or `usual`, from the seed `PLACES_SEED` on.
fn places(usual: u64) -> impl Iterator<Item = Place> {
    let (count, first) = (number("PLACES", usual), number("PLACES_SEED", 0));
    let into = std::env::var_os("PLACES_TO").map(std::path::PathBuf::from);
    (first..first + count).map(place).map(as_asked).inspect(move |one| {
        if let Some(folder) = &into {
            std::fs::create_dir_all(folder).expect("a folder");
            let file = folder.join(format!("{}.geojson", one.seed));
            std::fs::write(file, serde_json::to_string_pretty(&one.plan).expect("a plan")).expect("a file");
            let vehicle = one.plan["plan"]["vehicles"][0].as_str().expect("a vehicle");
            if let Some((text, _)) = vehicles::named(vehicle) {
                std::fs::write(folder.join(format!("{vehicle}.json")), text).expect("a file");
            }
        }
    })
}

fn options() -> StudyOptions {
    StudyOptions { changes: false, ..StudyOptions::default() }
}

/// Requests of a plan, with vehicles of the library and random ones; backing in only if `maneuvers` includes it.
fn wanted(site: &Site, maneuvers: &[Maneuver]) -> Vec<Wanted> {
    let one = |v: &wideenough::site::VehicleRequest| Wanted {
        vehicle: vehicles::named(&v.vehicle)
            .map_or_else(|| find(&v.vehicle).expect("a vehicle of the library"), |(_, random)| random),
        visits: if v.visits.is_empty() {
            maneuvers.iter().map(|m| (*m).into()).collect()
        } else {
            v.visits.clone()
        },
        travels: v.travels.clone(),
    };
    site.vehicles.iter().map(one).collect()
}

/// The maneuvers studied at a place: at every third one backing in, too, which leaves junctions out; with `PLACES_BACK_IN`
/// at all.
fn maneuvers(place: &Place) -> Vec<Maneuver> {
    if place.seed % 3 == 1 || std::env::var_os("PLACES_BACK_IN").is_some() {
        vec![Maneuver::DriveIn, Maneuver::BackIn]
    } else {
        vec![Maneuver::DriveIn]
    }
}

fn answers(site: &Site, maneuvers: &[Maneuver], options: &StudyOptions) -> Study {
    study(site.clone(), &wanted(site, maneuvers), options, &|_| ())
}

/// Study of a place as drawn; those of the usual seeds are made once for all tests.
fn study_of(place: &Place, site: &Site) -> Arc<Study> {
    static DONE: [OnceLock<Arc<Study>>; 9] = [const { OnceLock::new() }; 9];
    let make = || Arc::new(answers(site, &maneuvers(place), &options()));
    match usize::try_from(place.seed).ok().and_then(|seed| DONE.get(seed)) {
        Some(done) => Arc::clone(done.get_or_init(make)),
        None => make(),
    }
}

/// Prints the number of faults of each kind, the worst first of each; fails if there is one.
fn settle(title: &str, faults: &[Fault]) {
    let mut faults: Vec<&Fault> = faults.iter().collect();
    faults.sort_by(|a, b| a.kind.cmp(b.kind).then(b.amount.total_cmp(&a.amount)));
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for fault in &faults {
        *kinds.entry(fault.kind).or_default() += 1;
        println!("{title}: {fault}");
    }
    println!("{title}: {} faults: {kinds:?}", faults.len());
    assert!(faults.is_empty(), "{title}: {} faults: {kinds:?}; the first: {}", faults.len(), faults[0]);
}

/// Every kind of road gives sound plans, and a seed always the same one.
#[test]
fn the_generator_makes_sound_plans() {
    let mut with_drive = 0;
    for seed in 0..90 {
        let one = place(seed);
        assert_eq!(one.plan, place(seed).plan);
        let site = generator::read(&one.plan).expect("a sound plan");
        assert!(!site.travels().is_empty(), "seed {seed}: the gate cannot be reached");
        with_drive += u32::from(!site.drives.is_empty());
    }
    assert!((30..70).contains(&with_drive), "{with_drive} of 90 with a drive");
    assert_eq!(KINDS.len(), 9);
    // Writes the plans that `PLACES_TO` asks for, without studying them.
    places(0).for_each(drop);
}
