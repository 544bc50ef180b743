//! Linear programs of a whole study, recorded: their answers satisfy them, and a second solver can solve them again.
use super::{StudyOptions, Wanted, study};
use crate::search::Effort;
use crate::search::lp::recorded;
use crate::site::{Visit, read};
use crate::vehicle::find;

const PLAN: &str = r#"{ "type": "FeatureCollection", "plan": { "title": "lane", "coordinates": "local-m" }, "features": [
    { "type": "Feature", "properties": { "role": "road", "width": 5.6, "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-60, -9], [-10, -9], [30, -12]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "double" },
      "geometry": { "type": "LineString", "coordinates": [[-2.2, 0], [2.2, 0]] } },
    { "type": "Feature", "properties": { "role": "drive" },
      "geometry": { "type": "Polygon", "coordinates":
        [[[-7, -7], [-3, -0.5], [-3, 3], [-6, 5], [-6, 30], [6, 30], [6, 5], [3, 3], [3, -0.5], [7, -7], [-7, -7]]] } },
    { "type": "Feature", "properties": { "role": "obstacle", "label": "oak", "radius": 0.4 },
      "geometry": { "type": "Point", "coordinates": [-5.5, -4] } } ] }"#;

/// Rows may be violated by a micrometer, and those left out at first by as much again.
const MOST_M: f64 = 3e-6;

/// `PROGRAMS_TO` names a file that the programs and their answers are written to, for
/// `tests/cross_check/linear_programs.py`.
#[test]
fn the_answers_satisfy_the_programs_of_a_study() {
    let wanted = ["box-truck-26", "pickup-bumper-pull-20"].map(|name| Wanted {
        vehicle: find(name).expect("in the library"),
        visits: vec![Visit::DriveInBackOut, Visit::BackInDriveOut],
        travels: vec!["eastbound".to_owned()],
    });
    let options = StudyOptions {
        effort: Effort { finest: 0, ..Effort::USUAL },
        changes: false,
        ..StudyOptions::default()
    };
    recorded::start();
    let done = study(read(PLAN, "lane").expect("a plan"), &wanted, &options, &|_| ());
    let programs = recorded::stop();
    assert!(done.cases.iter().any(|case| case.bare.opening_m.is_some()));
    let widest = programs.iter().map(recorded::Recorded::columns).max();
    println!("{} programs of up to {widest:?} columns", programs.len());
    assert!(programs.len() > 30 && widest > Some(20), "{} {widest:?}", programs.len());
    for program in &programs {
        let violation = program.violation();
        assert!(violation < MOST_M, "{} columns: {violation:e}", program.columns());
    }
    if let Some(file) = std::env::var_os("PROGRAMS_TO") {
        let programs: Vec<_> = programs.iter().map(recorded::Recorded::as_json).collect();
        std::fs::write(file, serde_json::Value::from(programs).to_string()).expect("it can be written");
    }
}
