//! The proof against drives, by the thousand: whatever is driven, nothing above what it needs may be proven.
mod common;
use common::drives::{Hemmed, hemmed};
use common::{box_truck, car, pickup};
use rayon::prelude::*;
use std::collections::BTreeMap;
use wideenough::search::proof::{ProofBudget, is_closed};
use wideenough::vehicle::{Vehicle, find};

/// How many times as much as usual is tried: `PROOF_TIMES=20 cargo test --release --test proof_drives`.
fn times() -> u64 {
    std::env::var("PROOF_TIMES").ok().and_then(|s| s.parse().ok()).unwrap_or(1)
}

fn rigid() -> Vec<Vehicle> {
    let library = |name: &str| find(name).expect("in the library");
    let mut cart = car();
    cart.steering.max_curvature = 1.0 / 2.4;
    vec![car(), cart, pickup(), box_truck(), library("compact-suv"), library("motorhome"), library("fire-engine")]
}

/// The proof's question at what each drive needs.
fn verdict(drive: &Hemmed, share: f64, step_m: f64) -> bool {
    is_closed(&drive.question(), share * drive.need_m + 1e-6, step_m, ProofBudget { transfers: 60_000_000 })
}

#[test]
fn never_closes_what_was_driven() {
    let vehicles = rigid();
    let first = std::env::var("PROOF_SEED").ok().and_then(|s| s.parse().ok()).unwrap_or(0_u64);
    let seeds = first..first + std::env::var("PROOF_N").ok().and_then(|s| s.parse().ok()).unwrap_or(1000_u64) * times();
    let tried: Vec<(Hemmed, u64, Vec<f64>, [bool; 2])> = seeds
        .into_par_iter()
        .filter_map(|seed| {
            let t0 = std::time::Instant::now();
            let drive = hemmed(seed, &vehicles)?;
            let t1 = t0.elapsed().as_millis();
            let closed: Vec<f64> = [0.3, 0.17].into_iter().filter(|step| verdict(&drive, 1.0, *step)).collect();
            let t2 = t0.elapsed().as_millis();
            let tells = [verdict(&drive, 0.95, 0.17), verdict(&drive, 0.7, 0.17)];
            let t3 = t0.elapsed().as_millis();
            println!("{seed} {t1} {t2} {t3} {} {:?} {closed:?} {tells:?}", drive.vehicle.name, drive.kinds);
            Some((drive, seed, closed, tells))
        })
        .collect();
    let mut kinds: BTreeMap<&str, [usize; 4]> = BTreeMap::new();
    let mut wrong = Vec::new();
    for (drive, seed, closed, tells) in &tried {
        for kind in drive.kinds.iter().copied().chain([drive.vehicle.name.as_str(), "all"]) {
            let count = kinds.entry(kind).or_default();
            count[0] += 1;
            count[1] += usize::from(tells[0]);
            count[2] += usize::from(tells[1]);
            count[3] += usize::from(!closed.is_empty());
        }
        if !closed.is_empty() {
            wrong.push(format!(
                "seed {seed}: {} {:?} needs {:.4}, called closed by lines {closed:?} apart",
                drive.vehicle.name, drive.kinds, drive.need_m
            ));
        }
    }
    for (kind, [count, near, far, wrong]) in kinds {
        println!("{count:5} {kind}: {near} closed at 0.95 of the need, {far} at 0.7; {wrong} wrongly at the need");
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}
