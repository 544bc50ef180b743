//! The case that decides for a vehicle, and the names of its files.
use crate::opening::{Case, Study, Turn};

/// The deciding case of a vehicle and travel: the easiest case of each group that counts for the verdict, and of these
/// the hardest; by the opening needed in comfort, then bare. If no such group was studied, the easiest of all cases.
#[must_use]
pub fn deciding<'a>(study: &'a Study, vehicle: usize, travel: &str) -> Option<&'a Case> {
    let need = |case: &&Case| (case.comfortable.reported_m(), case.bare.reported_m());
    let by_need =
        |a: &&'a Case, b: &&'a Case| need(a).0.total_cmp(&need(b).0).then(need(a).1.total_cmp(&need(b).1));
    let of = study.of_vehicle(vehicle);
    let of_travel = of.from(travel)?;
    let least = |group: &Vec<usize>| group.iter().filter_map(|i| study.cases.get(*i)).min_by(by_need);
    of_travel.groups.iter().filter_map(least).max_by(by_need).or_else(|| least(&of_travel.cases))
}

/// Suffix of the file name of a case drawing in landscape form, after the case's name.
pub const WIDE_ENDING: &str = "-wide.svg";

/// File name of each case, without extension: "pickup-eastbound-drive-in", safe in any file system, no two alike even
/// where case does not count.
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

/// The file of a turn's drawing: "dump-truck-from-the-left-turn-around.svg".
#[must_use]
pub fn turn_file(study: &Study, turn: &Turn) -> String {
    let name = study.vehicles.get(turn.vehicle).map_or("vehicle", |v| v.name.as_str());
    format!("{}-{}-turn-around.svg", safe_name(name), safe_name(&turn.travel))
}

/// A text as a file name: lower-case letters, digits and single hyphens; at most 60 characters; "unnamed" if nothing is
/// left. A name that Windows reserves for a device gets a suffix.
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
