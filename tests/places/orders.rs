//! The gate to order, drawn where it would stand, serves every vehicle: at random places, with every anchor.
use super::{maneuvers, options, places, wanted};
use serde_json::json;
use wideenough::opening::{GateOptions, Verdict, as_ordered, plan_gate, study, vehicle_verdict};

/// Number of places unless the environment sets another.
const USUAL: u64 = 3;

#[test]
fn the_gate_to_order_serves_when_it_is_drawn() {
    let (mut ordered, mut seen) = (0, 0);
    for mut place in places(USUAL) {
        // A free gate has one place in its order, whatever the cases find.
        if place.seed % 3 == 0 {
            let features = place.plan["features"].as_array_mut().expect("features");
            let gate = features.iter_mut().find(|f| f["properties"]["role"] == "gate").expect("a gate");
            gate["properties"]["anchor"] = json!("free");
        }
        let site = super::generator::read(&place.plan).expect("a sound plan");
        let wanted = wanted(&site, &maneuvers(&place));
        let mut done = study(site, &wanted, &options(), &|_| {});
        let plan = plan_gate(&done, (&wanted, &options()), &GateOptions::default(), &|_| ());
        seen += 1;
        done.gate = Some(plan);
        let Some(gate) = as_ordered(&done) else { continue };
        ordered += 1;
        let again = study(gate.site, &wanted, &options(), &|_| {});
        for vehicle in 0..wanted.len() {
            let verdict = vehicle_verdict(&again, vehicle);
            println!(
                "orders: seed {} ({}): {}: {verdict:?}",
                place.seed, place.kind, again.vehicles[vehicle].name
            );
            assert_eq!(verdict, Verdict::Comfortable, "seed {} ({})", place.seed, place.kind);
        }
    }
    println!("orders: {ordered} gates to order at {seen} places");
}
