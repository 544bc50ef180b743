//! A gate that may stand anywhere along its line: it has one place, where it serves every vehicle and its leaves open.
use serde_json::{Value, json};
use wideenough::geometry::length::FOOT_M;
use wideenough::opening::{
    DrawnGate, GateOptions, GatePlan, Study, StudyOptions, Verdict, Wanted, as_ordered, every_vehicle_passes,
    plan_gate, study,
};
use wideenough::site::{Arrangement, Maneuver, Site, Visit, read};
use wideenough::vehicle::find;

fn feature(properties: &Value, kind: &str, coordinates: &Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

/// A 16-ft gate in a fence 15 ft from a 20-ft road, with its middle at this place, and a tree at another, 6 ft behind the fence;
/// lengths in feet.
fn place(middle: f64, anchor: &str, tree: Option<f64>) -> Site {
    let road = json!({ "role": "road", "width": "20 ft", "continues": "both" });
    let (left, right) = (middle - 8.0, middle + 8.0);
    let fence = json!({ "role": "fence" });
    let mut features = vec![
        feature(&road, "LineString", &json!([[-150, 0], [150, 0]])),
        feature(
            &json!({ "role": "gate", "anchor": anchor }),
            "LineString",
            &json!([[left, 25], [right, 25]]),
        ),
        feature(&fence, "LineString", &json!([[-60, 25], [left - 0.5, 25]])),
        feature(&fence, "LineString", &json!([[60, 25], [right + 0.5, 25]])),
    ];
    if let Some(tree) = tree {
        let words = json!({ "role": "obstacle", "label": "tree", "radius": "1 ft" });
        features.push(feature(&words, "Point", &json!([tree, 31])));
    }
    let plan =
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-ft" }, "features": features });
    read(&plan.to_string(), "free").expect("a sound plan")
}

fn planned(site: Site, vehicles: &[&str]) -> (Study, GatePlan) {
    let wanted: Vec<Wanted> = vehicles
        .iter()
        .map(|name| Wanted {
            vehicle: find(name).expect("in the library"),
            visits: vec![Visit::DriveInBackOut],
            travels: Vec::new(),
        })
        .collect();
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let mut study = study(site, &wanted, &options, &|_| {});
    let plan = plan_gate(&study, (&wanted, &options), &GateOptions::default(), &|_| ());
    study.gate = Some(plan.clone());
    (study, plan)
}

/// A tree stands where the drawn gate's left leaf opens, and in the way: the best place is beside it, its leaves open there, and
/// the gate to order stands there. Drawn there, it serves every vehicle.
#[test]
fn the_gate_to_order_stands_at_the_best_place() {
    let (study, plan) = planned(place(0.0, "free", Some(-5.0)), &["box-truck-26", "pickup"]);
    let best = study.placement.as_ref().expect("a place");
    assert!(best.comfortable && best.leaves_open, "{best:?}");
    assert_eq!(plan.place_u_m, best.center_u_m);
    assert!(best.center_u_m.abs() > FOOT_M, "{best:?}");
    let ordered = as_ordered(&study).expect("a gate to order");
    let gate = &ordered.site.gate;
    let middle_m = gate.center().distance(study.site.gate.center());
    assert!((middle_m - best.center_u_m.abs()).abs() < 1e-9, "{middle_m} {best:?}");
    // The same gate drawn there, which stays there.
    let (again, _) = planned(ordered.site.clone(), &["box-truck-26", "pickup"]);
    assert!(every_vehicle_passes(&again));
}

/// Each vehicle and each direction has a best place of its own. A size serves all only where one gate does: no size serves a
/// vehicle that the gate, drawn at the best place and kept there, does not let in.
#[test]
fn a_size_serves_all_at_one_place() {
    let (study, plan) = planned(place(0.0, "free", None), &["box-truck-26"]);
    let best = study.placement.as_ref().expect("a place");
    let (_, fixed) = planned(place(best.center_u_m / FOOT_M, "center", None), &["box-truck-26"]);
    let mut seen = 0;
    for (free, fixed) in plan.schedule.iter().zip(&fixed.schedule) {
        assert_eq!(free.assembly.stock_m, fixed.assembly.stock_m);
        let (a, b) = (free.passes[0], fixed.passes[0]);
        if free.assembly.arrangement == Arrangement::Double {
            println!("{:?} {}: {a:?} {b:?}", free.assembly.opens, free.assembly.stock_m);
        }
        assert_eq!(a, b, "{:?} {}", free.assembly.arrangement, free.assembly.stock_m);
        seen += usize::from(a == Verdict::Comfortable);
    }
    assert!(seen > 0);
    // Drawn at the best place, what the placement asks for is what the widest case needs.
    let needs = study.searched().filter(|case| case.maneuver == Maneuver::DriveIn);
    let widest = needs.filter_map(|case| case.comfortable.opening_m).fold(0.0, f64::max);
    assert!(best.opening_m > widest - 0.01, "{best:?} {widest}");
    assert!(study.cases.iter().all(|case| case.drawn_gate != DrawnGate::No));
}
