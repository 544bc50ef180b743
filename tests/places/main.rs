//! Answers of the program over random places: laws between the answers of kindred places, and an independent judge of the
//! paths that prove them. A handful of places by default; `PLACES=500 PLACES_SEED=1000 cargo test --test places` looks at
//! more of them.
#[path = "../common/mod.rs"]
mod common;
mod generator;
mod judge;
use generator::{KINDS, Place, place};
use judge::{Fault, Judge};
use std::collections::BTreeMap;
use wideenough::opening::{Outcome, Study, StudyOptions, Wanted, study};
use wideenough::site::{Maneuver, Site};
use wideenough::vehicle::find;

/// A number that the environment may set.
fn number(key: &str, usual: u64) -> u64 {
    std::env::var(key).ok().map_or(usual, |text| text.parse().unwrap_or_else(|_| panic!("{key}: {text}")))
}

/// The places looked at: `PLACES` of them, or `usual`, from the seed `PLACES_SEED` on.
fn places(usual: u64) -> impl Iterator<Item = Place> {
    let (count, first) = (number("PLACES", usual), number("PLACES_SEED", 0));
    (first..first + count).map(place)
}

fn options() -> StudyOptions {
    StudyOptions { changes: false, ..StudyOptions::default() }
}

/// What a plan asks about, by the library; backing in only where `maneuvers` says so.
fn wanted(site: &Site, maneuvers: &[Maneuver]) -> Vec<Wanted> {
    let one = |v: &wideenough::site::VehicleRequest| Wanted {
        vehicle: find(&v.vehicle).expect("a vehicle of the library"),
        maneuvers: if v.maneuvers.is_empty() { maneuvers.to_vec() } else { v.maneuvers.clone() },
        travels: v.travels.clone(),
    };
    site.vehicles.iter().map(one).collect()
}

/// The maneuvers asked about at a place: at every third one backing in, too.
fn maneuvers(place: &Place) -> Vec<Maneuver> {
    if place.seed % 3 == 1 { vec![Maneuver::DriveIn, Maneuver::BackIn] } else { vec![Maneuver::DriveIn] }
}

fn answers(site: &Site, maneuvers: &[Maneuver], options: &StudyOptions) -> Study {
    study(site.clone(), &wanted(site, maneuvers), options, &|_| ())
}

/// Prints how many faults of each kind there are, the worst first of each; fails if there is one.
fn settle(title: &str, mut faults: Vec<Fault>) {
    faults.sort_by(|a, b| a.kind.cmp(b.kind).then(b.amount_m.total_cmp(&a.amount_m)));
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
}

/// Every path that an answer lists as its proof keeps the rules of a way in.
#[test]
fn witnesses_pass_the_judge() {
    let (mut faults, mut judged, mut found, mut kinds) =
        (Vec::new(), 0, 0, BTreeMap::<&str, [u32; 2]>::new());
    for place in places(18) {
        let site = generator::read(&place.plan).expect("a sound plan");
        let done = answers(&site, &maneuvers(&place), &options());
        for case in &done.cases {
            for answer in [&case.bare, &case.comfortable] {
                let is_found = u32::from(answer.outcome == Outcome::Found);
                let kind = kinds.entry(place.kind).or_default();
                kind[0] += is_found;
                kind[1] += 1;
                found += is_found;
                judged += 1;
            }
        }
        let name = format!("seed {} ({})", place.seed, place.kind);
        faults.extend(Judge::new(&site, &place.plan).faults(&done, &name));
    }
    println!("judge: {found} of {judged} answers found; by kind of road [found, asked]: {kinds:?}");
    assert!(2 * found > judged, "only {found} of {judged} answers found");
    settle("judge", faults);
}
