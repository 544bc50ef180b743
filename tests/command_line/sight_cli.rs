//! Sight on leaving from the command line: its flags, its output, and that nothing changes without them.
use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::Path;

const PLAN: &str = r#"{ "type": "FeatureCollection",
  "plan": { "title": "Yard", "coordinates": "local-m", "units": "ft", "vehicles": ["car"] },
  "features": [
    { "type": "Feature", "properties": { "role": "road", "width": 7.3, "continues": "both", SPEED },
      "geometry": { "type": "LineString", "coordinates": [[-150, 0], [150, 0]] } },
    { "type": "Feature", "properties": { "role": "drive", "label": "sidewalk" },
      "geometry": { "type": "Polygon", "coordinates": [[[-150, 4.65], [150, 4.65], [150, 6.15], [-150, 6.15], [-150, 4.65]]] } },
    { "type": "Feature", "properties": { "role": "drive" },
      "geometry": { "type": "Polygon", "coordinates": [[[-5, 3.6], [5, 3.6], [5, 30], [-5, 30], [-5, 3.6]]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "none", "post": { "width": 0.6, "top": 1.8 } },
      "geometry": { "type": "LineString", "coordinates": [[-3, 7], [3, 7]] } } ] }"#;

struct Ran {
    code: Option<i32>,
    out: String,
    err: String,
}

fn study(folder: &Path, plan: &str, more: &[&str]) -> Ran {
    fs::write(folder.join("yard.geojson"), plan).unwrap();
    let ran = Command::cargo_bin("wideenough")
        .unwrap()
        .current_dir(folder)
        .args(["study", "yard.geojson", "--no-changes"])
        .args(more)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran { code: ran.status.code(), out: text(ran.stdout), err: text(ran.stderr) }
}

fn results(folder: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(folder.join("out/yard/results.json")).unwrap()).unwrap()
}

fn with_speed(words: &str) -> String {
    PLAN.replace("SPEED", words)
}

#[test]
fn a_rule_is_looked_at_where_it_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let plan = with_speed(r#""speed": "30 mph", "speed_kind": "85th-percentile""#);
    let ran = study(folder.path(), &plan, &["--sight", "us,walk-essex,walk-el-segundo"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(
        ran.out.contains("Sight on leaving\nThe plan gives the road 30 mph (85th percentile).\n"),
        "{}",
        ran.out
    );
    let results = results(folder.path());
    let sight = &results["sight"];
    assert_eq!(sight["speed"]["kind"], "85th-percentile");
    let looks = sight["roads"][0]["looks"].as_array().unwrap();
    let of = |look: &Value, key: &str| look[key].as_f64().unwrap();
    assert_eq!(looks.len(), 2);
    assert_eq!((looks[0]["side"].as_str(), looks[1]["side"].as_str()), (Some("left"), Some("right")));
    assert!((of(&looks[0], "required_m") - 290.0 * 0.3048).abs() < 1e-9);
    assert!((of(&looks[1], "required_m") - 335.0 * 0.3048).abs() < 1e-9);
    // The eye is 14.4 ft from the edge at y = 3.65, which is beyond the gate line: the posts stand before it.
    assert!((sight["roads"][0]["eye"]["y_m"].as_f64().unwrap() - (3.65 + 14.4 * 0.3048)).abs() < 1e-6);
    assert_eq!(looks[0]["outcome"], "hidden");
    assert_eq!(looks[0]["hidden_by"][0]["what"], "right post");
    // A line to the near lane (y = 1.825) past the post's outer corner (3.6, 6.7) and inner one (3, 6.7).
    let eye = 3.65 + 14.4 * 0.3048;
    let at = |x: f64, y: f64| x * (eye - 1.825) / (eye - y);
    assert!((of(&looks[0], "visible_m") - at(3.0, 6.7)).abs() < 1e-3, "{looks:?}");
    let walks = sight["pedestrians"].as_array().unwrap();
    assert_eq!(walks.len(), 2);
    // The post's face is in the gate's own edge, 0.55 m behind the walk: within 1.5 m and 10 ft.
    assert!(walks.iter().all(|walk| walk["triangles"][0]["hidden_by"][0]["what"] == "right post"));
    let rules: Vec<&str> = results["gate"]["rules"]
        .as_array()
        .unwrap()
        .iter()
        .map(|rule| rule["rule"].as_str().unwrap())
        .collect();
    assert!(rules.ends_with(&["sight-us", "walk-essex", "walk-el-segundo"]), "{rules:?}");
    let words = ran.out.split_whitespace().collect::<Vec<&str>>().join(" ");
    assert!(words.contains("Rule sight-us (United States,"), "{}", ran.out);
    let overlay = fs::read_to_string(folder.path().join("out/yard/study.geojson")).unwrap();
    let overlay: Value = serde_json::from_str(&overlay).unwrap();
    let kinds = |kind: &str| {
        overlay["features"].as_array().unwrap().iter().filter(|f| f["properties"]["kind"] == kind).count()
    };
    assert_eq!((kinds("sight triangle"), kinds("hidden stretch")), (6, 6));
    for file in ["sight-us.svg", "sight-walk-essex.svg", "sight-walk-el-segundo.svg"] {
        let drawn = fs::read_to_string(folder.path().join("out/yard").join(file)).unwrap();
        assert!(drawn.contains("sight triangle, to be clear") && drawn.contains("hidden"), "{file}");
        assert!(results["files"].as_array().unwrap().iter().any(|name| name == file), "{file}");
    }
    let page = fs::read_to_string(folder.path().join("out/yard/report.html")).unwrap();
    assert!(page.contains("<h2 id=\"sight\">Sight on leaving</h2>"));
}

#[test]
fn a_speed_changes_nothing_unasked() {
    let (with, without) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let asked = study(with.path(), &with_speed(r#""speed": "50 km/h""#), &[]);
    study(without.path(), &with_speed(r#""label": "road""#), &[]);
    assert!(asked.err.contains("--sight"), "{}", asked.err);
    assert_eq!(results(with.path()), results(without.path()));
    assert!(results(with.path()).get("sight").is_none());
}

#[test]
fn faults_of_a_question_about_sight() {
    let folder = tempfile::tempdir().unwrap();
    let ask = |speed: &str, more: &[&str]| {
        let ran = study(folder.path(), &with_speed(speed), more);
        assert_eq!(ran.code, Some(2), "{more:?}: {}", ran.out);
        ran.err
    };
    assert!(
        ask(r#""speed": "30 mph""#, &["--sight", "usa"])
            .contains("\"usa\" is not a rule on sight; the rules are us,")
    );
    assert!(
        ask(r#""speed": "30 mph""#, &["--sight", "northern-ireland"])
            .contains("needs --sight-x and --sight-y")
    );
    assert!(
        ask(r#""speed": "30""#, &[])
            .contains("property \"speed\": has no unit; write \"30 mph\" or \"30 km/h\"")
    );
    assert!(ask(r#""speed": "300 mph""#, &[]).contains("is no speed of a road"));
    assert!(ask(r#""speed": "3 knots""#, &[]).contains("the unit \"knots\" is not known"));
    assert!(ask(r#""speed": "30 mph", "speed_kind": "design""#, &[]).contains("posted, 85th-percentile"));
}

#[test]
fn without_a_speed_a_rule_that_needs_one_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let plan = with_speed(r#""label": "road""#);
    let ran = study(
        folder.path(),
        &plan,
        &["--sight", "us,northern-ireland", "--sight-x", "2.4 m", "--sight-y", "60 m"],
    );
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let sight = results(folder.path())["sight"].clone();
    assert_eq!(sight["speed"], Value::Null);
    // A figure from the user takes precedence over the rule's own.
    assert!(sight["roads"].as_array().unwrap().iter().all(|rule| rule["looks"][0]["required_m"] == 60.0));
    let ran = study(folder.path(), &plan, &["--sight", "us"]);
    assert!(ran.out.contains("Not checked: the plan gives the road no \"speed\"."), "{}", ran.out);
}
