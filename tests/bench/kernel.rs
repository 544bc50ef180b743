//! Poses per second of the clearance kernel: how fast one pose's need and margins are measured.
//!
//! `cargo bench --bench kernel` prints a line per vehicle: the examples' rural entrance with its ditches and leaves.
use std::hint::black_box;
use std::time::Instant;
use wideenough::clearance::{Encounter, Scratch, Surroundings};
use wideenough::geometry::Pose;
use wideenough::motion::State;

const POSES: u32 = 400_000;

fn main() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/rural-entrance.geojson");
    let Ok(text) = std::fs::read_to_string(file) else { return println!("cannot read {file}") };
    let Ok(site) = wideenough::site::read(&text, file) else { return println!("cannot use {file}") };
    for name in ["pickup", "motorhome", "gooseneck-horse-40"] {
        let Ok(vehicle) = wideenough::vehicle::find(name) else { return println!("no {name}") };
        let surroundings = Surroundings::new(&site, None, site.gate.opening_m());
        let encounter = Encounter::new(&vehicle, surroundings, 0.3, 12.0);
        let mut scratch = Scratch::default();
        let started = Instant::now();
        for i in 0..POSES {
            // On a line in through the gate, a little askew: all of it near posts, leaves and ditches.
            let part = f64::from(i) / f64::from(POSES);
            let lead = Pose::new(0.3 - 0.6 * part, -9.0 + 22.0 * part, 1.4 + 0.3 * part);
            let state = State { lead, hitch: [0.3 - 0.4 * part, 0.0, 0.0], curvature: 0.0 };
            black_box(encounter.need(&encounter.chain.unit_poses(&state), &mut scratch));
        }
        let seconds = started.elapsed().as_secs_f64();
        let parts = encounter.parts.len();
        println!(
            "{name}: {:.2} million poses a second ({parts} parts, {} fixed pieces)",
            f64::from(POSES) / seconds / 1e6,
            encounter.surroundings.standing.len()
        );
    }
}
