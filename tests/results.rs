//! The schema of results.json: current, kept by every committed example and by a study with what they lack, and strict
//! enough to refuse what is wrong.
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fs;
use wideenough::geometry::Point;
use wideenough::opening::{Lacking, Missing, Outcome, StudyOptions, Turn, Wanted, study};
use wideenough::report::{results_schema, value};
use wideenough::search::Effort;
use wideenough::site::{MoreRoom, Route, RouteTrack, YardSide, read};
use wideenough::vehicle::find;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Just enough of JSON Schema to hold results.json against its schema: it knows the words that schema uses, and fails
/// on any other. `tests/cross_check/schema.py` does the same with a library of others.
///
/// `closed`: a member that the schema does not name is a fault, as if every object of named members said so.
struct Validator<'a> {
    root: &'a Value,
    closed: bool,
    /// Places in the schema that a value was held against.
    seen: BTreeSet<String>,
}

impl Validator<'_> {
    fn fits(&mut self, schema: &Value, at: &str, value: &Value) -> Result<(), String> {
        let rules = schema.as_object().ok_or_else(|| format!("{at}: no schema"))?;
        let list = |v: &Value| v.as_array().cloned().unwrap_or_default();
        let number = |rule: &Value| rule.as_f64().unwrap_or(f64::NAN);
        let length = value.as_array().map(|items| items.len() as f64);
        for (word, rule) in rules {
            let good = match word.as_str() {
                "type" if rule.is_array() => list(rule).iter().any(|kind| is_of(value, kind)),
                "type" => is_of(value, rule),
                "const" => rule == value,
                "enum" => list(rule).contains(value),
                "minimum" => value.as_f64().is_none_or(|x| x >= number(rule)),
                "minItems" => length.is_none_or(|n| n >= number(rule)),
                "maxItems" => length.is_none_or(|n| n <= number(rule)),
                "required" => list(rule).iter().all(|key| value.get(key.as_str().unwrap()).is_some()),
                "properties" => {
                    let named = rule.as_object().unwrap();
                    for (key, member) in value.as_object().into_iter().flatten() {
                        match named.get(key) {
                            Some(below) => self.fits(below, &format!("{at}/{key}"), member)?,
                            None if self.closed && !rules.contains_key("additionalProperties") => {
                                return Err(format!("{at}: {key} is not in the schema"));
                            }
                            None => {}
                        }
                    }
                    true
                }
                "additionalProperties" if rule == &json!(false) => {
                    let named = rules.get("properties");
                    let members = value.as_object().into_iter().flatten();
                    members.map(|(key, _)| key).all(|key| named.and_then(|n| n.get(key)).is_some())
                }
                "additionalProperties" => {
                    for member in value.as_object().into_iter().flatten().map(|(_, member)| member) {
                        self.fits(rule, &format!("{at}/*"), member)?;
                    }
                    true
                }
                "items" => {
                    for item in list(value) {
                        self.fits(rule, at, &item)?;
                    }
                    true
                }
                "anyOf" | "oneOf" => {
                    let faults: Vec<String> =
                        list(rule).iter().filter_map(|one| self.fits(one, at, value).err()).collect();
                    let fitting = list(rule).len() - faults.len();
                    if fitting == 0 {
                        return Err(faults.join("; or "));
                    }
                    word == "anyOf" || fitting == 1
                }
                "$ref" => {
                    let target = rule.as_str().unwrap();
                    let root = self.root;
                    let below = root.pointer(target.trim_start_matches('#')).expect(target);
                    self.fits(below, at, value)?;
                    true
                }
                "description" | "title" | "format" | "$schema" | "$defs" => true,
                other => return Err(format!("the test does not know {other}")),
            };
            if !good {
                return Err(format!("{at}: {} against {word} {rule}", short(value)));
            }
        }
        self.seen.insert(at.to_owned());
        Ok(())
    }
}

fn is_of(value: &Value, kind: &Value) -> bool {
    match kind.as_str().unwrap_or_default() {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "null" => value.is_null(),
        "boolean" => value.is_boolean(),
        _ => false,
    }
}

fn short(value: &Value) -> String {
    value.to_string().chars().take(120).collect()
}

fn schema() -> Value {
    serde_json::from_str(&results_schema()).unwrap()
}

/// Holds results against the schema; returns the members that were there.
fn check(schema: &Value, closed: bool, results: &Value) -> Result<BTreeSet<String>, String> {
    let mut validator = Validator { root: schema, closed, seen: BTreeSet::new() };
    validator.fits(schema, "", results)?;
    Ok(validator.seen)
}

fn example(name: &str) -> Value {
    let path = format!("{ROOT}/out/{name}/results.json");
    serde_json::from_str(&fs::read_to_string(&path).expect(&path)).expect(&path)
}

/// The committed schema is the one that the types make. `BLESS=1` rewrites it.
#[test]
fn the_committed_schema_is_current() {
    let path = format!("{ROOT}/examples/results.schema.json");
    let made = results_schema();
    if std::env::var_os("BLESS").is_some() {
        fs::write(&path, &made).expect(&path);
    }
    assert!(fs::read_to_string(&path).unwrap_or_default() == made, "{path} is out of date: run with BLESS=1");
}

/// Every member that the examples have stands in the schema, and fits it.
#[test]
fn the_examples_fit_the_schema() {
    let schema = schema();
    let mut seen = BTreeSet::new();
    let mut examples = 0;
    for entry in fs::read_dir(format!("{ROOT}/out")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".actual") {
            continue;
        }
        seen.extend(check(&schema, true, &example(&name)).unwrap_or_else(|why| panic!("{name}: {why}")));
        examples += 1;
    }
    assert!(examples >= 7, "only {examples} examples were found");
    for member in [
        "/cases/how_to_drive/steps/until/at/x_m",
        "/cases/limits/per_foot/opening_per_setback",
        "/fixes/found/amount_m",
        "/fixes/found/open_angle_deg",
        "/fixes/none/why",
        "/gate/schedule/passes/*",
        "/gate/rules/difference/least_m",
        "/sight/roads/looks/hidden_by/hides_m",
        "/sight/roads/eye/x_m",
        "/turns/witness/legs/segments/length_m",
        "/vehicle_outlines/*/units/rings",
        "/vehicle_outlines/*/units/tires",
        "/vehicles/backing_in/reverses_m",
    ] {
        assert!(seen.contains(member), "no example has {member}: the test holds less than it says");
    }
}

/// What no example has: a drawn route, a gate that may stand anywhere along its line, a way that is shut.
#[test]
fn a_route_a_placement_and_a_shut_way_fit_the_schema() {
    let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
        { "type": "Feature", "properties": { "role": "road", "width": 8, "continues": "both" },
          "geometry": { "type": "LineString", "coordinates": [[-60, 0], [60, 0]] } },
        { "type": "Feature", "properties": { "role": "gate", "leaves": "none", "anchor": "free" },
          "geometry": { "type": "LineString", "coordinates": [[-2.5, 12], [2.5, 12]] } } ] }"#;
    let mut site = read(plan, "plan").unwrap_or_else(|error| panic!("{error}"));
    let legs = vec![[(0.0, 2.0), (0.0, 10.0), (0.0, 24.0)].map(|(x, y)| Point::new(x, y)).to_vec()];
    let track = RouteTrack::RearAxle;
    site.routes = vec![Route { label: "by eye".to_owned(), vehicle: "car".to_owned(), track, legs }];
    let options =
        StudyOptions { effort: Effort::AGAIN, changes: false, shunts: 0, ..StudyOptions::default() };
    let car = Wanted { travels: vec!["eastbound".to_owned()], ..find("car").expect("built in").into() };
    let mut study = study(site, &[car], &options, &|_| {});
    study.cases[0].bare.outcome = Outcome::Impossible("a wall".to_owned());
    let turn = |found, what| Turn {
        vehicle: 0,
        travel: "eastbound".to_owned(),
        found,
        missing: Some(Missing { what, comfortable: true }),
    };
    let room = MoreRoom { side: YardSide::Back, from_m: 9.0, by_m: 1.5 };
    for what in [Lacking::Room(room), Lacking::Without("wall".to_owned()), Lacking::Stops(5)] {
        study.turns.push(turn(Err("the yard is too small".to_owned()), what));
    }
    let seen = check(&schema(), true, &value(&study)).unwrap_or_else(|why| panic!("{why}"));
    for member in [
        "/cases/route",
        "/placement/left_u_m",
        "/cases/bare/reason",
        "/turns/missing/by_m",
        "/turns/missing/what",
    ] {
        assert!(seen.contains(member), "the study has no {member}");
    }
}

/// Each fault alone, at a place that the example fits without it.
#[test]
fn the_schema_refuses_what_is_wrong() {
    let schema = schema();
    let good = example("workshop-lane");
    let wrong = |place: &str, put: Option<Value>| {
        let mut results = good.clone();
        let (parent, key) = place.rsplit_once('/').unwrap();
        let parent = results.pointer_mut(parent).unwrap_or_else(|| panic!("no {place}"));
        let old = match (&put, parent.as_object_mut()) {
            (None, Some(members)) => members.remove(key),
            (Some(new), Some(members)) => members.insert(key.to_owned(), new.clone()),
            (..) => None,
        };
        assert!(old.is_some(), "the example has no {place}");
        check(&schema, false, &results)
    };
    assert!(check(&schema, false, &good).is_ok());
    // A member that must be there is not.
    for place in [
        "/format",
        "/cases/0/vehicle",
        "/cases/0/bare/opening_m",
        "/cases/0/bare/tightest/from",
        "/cases/0/drawn_clearance_m",
        "/cases/0/witness/start/hitch_rad",
        "/gate/hinge",
        "/gate/schedule/0/stock_m",
        "/fixes/found/0/goal",
        "/vehicles/0/backing_in",
    ] {
        assert!(wrong(place, None).is_err(), "without {place}");
    }
    // A misspelled word, or a value of another kind.
    for (place, put) in [
        ("/format", json!("wideenough-result")),
        ("/version", json!(2)),
        ("/plan/units", json!("feet")),
        ("/plan/opening_m", json!("4.9")),
        ("/plan/opening_m", json!(null)),
        ("/frame/kind", json!("lon-lat")),
        ("/ground", json!("as-drawn")),
        ("/cases/0/maneuver", json!("drive in")),
        ("/cases/0/bare/outcome", json!("gave up")),
        ("/cases/0/bare/work", json!(-1)),
        ("/cases/0/bare/faces_u_m", json!([1.0])),
        ("/cases/0/bare/tightest", json!({ "what": "left post" })),
        ("/cases/0/drawn_gate", json!("only-backing-in")),
        ("/vehicles/0/drawn_gate", json!("comfy")),
        ("/fixes/found/0/kind", json!("larger")),
        ("/gate/leaves", json!("two")),
        ("/gate/rules/0/outcome", json!("broken")),
    ] {
        assert!(wrong(place, Some(put.clone())).is_err(), "{place} as {put}");
    }
    // A member that it does not know is one of a later version, unless no member may be unknown.
    let mut later = good.clone();
    later["cases"][0]["added_m"] = json!(1.0);
    assert!(check(&schema, false, &later).is_ok());
    assert!(check(&schema, true, &later).is_err());
}
