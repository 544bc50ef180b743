//! Who passes the gate as drawn, which case speaks for a vehicle, and what its files are called.
use crate::opening::{Case, DrawnGate, Study};

/// The better the higher: no, tight, comfortable.
const fn rank(gate: DrawnGate) -> u8 {
    match gate {
        DrawnGate::No => 0,
        DrawnGate::Tight => 1,
        DrawnGate::Comfortable => 2,
    }
}

/// The directions of travel a vehicle was studied from, in the study's order. Drawn routes have none.
#[must_use]
pub fn travels(study: &Study, vehicle: usize) -> Vec<&str> {
    let mut travels: Vec<&str> = Vec::new();
    for case in study.cases.iter().filter(|c| c.vehicle == vehicle && c.route.is_none()) {
        if !travels.contains(&case.travel.as_str()) {
            travels.push(&case.travel);
        }
    }
    travels
}

/// The case of a vehicle and travel that needs least: in comfort, then bare; the first of equals.
#[must_use]
pub fn easiest<'a>(study: &'a Study, vehicle: usize, travel: &str) -> Option<&'a Case> {
    let need = |case: &Case| {
        let or_never = |opening: Option<f64>| opening.unwrap_or(f64::INFINITY);
        (or_never(case.comfortable.opening_m), or_never(case.bare.opening_m))
    };
    study
        .cases
        .iter()
        .filter(|c| c.vehicle == vehicle && c.route.is_none() && c.travel == travel)
        .min_by(|a, b| need(a).0.total_cmp(&need(b).0).then(need(a).1.total_cmp(&need(b).1)))
}

/// Whether the gate as drawn lets a vehicle in: from each direction of travel, by whichever maneuver does best there.
///
/// A route drawn in the plan is a question of its own and does not count, unless nothing else was asked about the
/// vehicle.
#[must_use]
pub fn vehicle_gate(study: &Study, vehicle: usize) -> DrawnGate {
    let best = |keep: &dyn Fn(&Case) -> bool| {
        let mine = study.cases.iter().filter(|c| c.vehicle == vehicle && keep(c));
        mine.map(|c| c.drawn_gate).max_by_key(|gate| rank(*gate)).unwrap_or(DrawnGate::No)
    };
    travels(study, vehicle)
        .into_iter()
        .map(|travel| best(&|c| c.route.is_none() && c.travel == travel))
        .min_by_key(|gate| rank(*gate))
        .unwrap_or_else(|| best(&|c| c.route.is_some()))
}

/// Whether every vehicle passes the gate as drawn in comfort.
#[must_use]
pub fn every_vehicle_passes(study: &Study) -> bool {
    (0..study.vehicles.len()).all(|vehicle| vehicle_gate(study, vehicle) == DrawnGate::Comfortable)
}

/// One name per case for its files, without extension: "pickup-eastbound-drive-in", safe in any file system, no
/// two alike even where case does not count.
#[must_use]
pub fn file_stems(study: &Study) -> Vec<String> {
    let mut stems: Vec<String> = Vec::with_capacity(study.cases.len());
    for case in &study.cases {
        let name = study.vehicles.get(case.vehicle).map_or("vehicle", |v| v.name.as_str());
        let stem = match &case.route {
            Some(label) => format!("{}-route-{}", safe_name(name), safe_name(label)),
            None => format!("{}-{}-{}", safe_name(name), safe_name(&case.travel), case.maneuver.word()),
        };
        let mut candidate = stem.clone();
        let mut count = 2;
        while stems.contains(&candidate) {
            candidate = format!("{stem}-{count}");
            count += 1;
        }
        stems.push(candidate);
    }
    stems
}

/// A text as a file name: lower-case letters, digits and single hyphens; at most 60 characters; "unnamed" if
/// nothing is left. A name that Windows keeps for a device gets an ending.
///
/// ```
/// use wideenough::report::safe_name;
/// assert_eq!(safe_name("North field, 2nd gate"), "north-field-2nd-gate");
/// assert_eq!(safe_name("../../etc"), "etc");
/// assert_eq!(safe_name("\u{95e8}"), "unnamed");
/// assert_eq!(safe_name("CON"), "con-x");
/// ```
#[must_use]
pub fn safe_name(text: &str) -> String {
    let mut safe = String::new();
    for c in text.chars().take(1000) {
        if c.is_ascii_alphanumeric() {
            safe.push(c.to_ascii_lowercase());
        } else if !safe.is_empty() && !safe.ends_with('-') {
            safe.push('-');
        }
    }
    safe.truncate(60);
    let safe = safe.trim_end_matches('-');
    if safe.is_empty() {
        return "unnamed".to_owned();
    }
    let of_a_port = |name: &str| {
        let number = name.strip_prefix("com").or_else(|| name.strip_prefix("lpt"));
        number.is_some_and(|n| n.len() == 1 && n.chars().all(|c| c.is_ascii_digit()))
    };
    let kept = ["con", "prn", "aux", "nul"].contains(&safe) || of_a_port(safe);
    if kept { format!("{safe}-x") } else { safe.to_owned() }
}
