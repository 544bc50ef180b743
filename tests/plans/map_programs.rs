//! Plans that went through a map program, and plans made of one's own data: read as the place they represent, or
//! refused with the file, the line and advice.
use rstest::rstest;
use serde_json::{Value, json};
use std::fs;
use wideenough::site::{
    Given, PlanError, Site, Source, plain_text, read, read_source, rewrite, roles_schema,
};

/// A sketch with a property of every kind, as typed.
fn typed() -> Value {
    json!({ "type": "FeatureCollection",
        "plan": { "title": "Yard", "coordinates": "local-ft", "units": "ft", "drives_on": "left",
            "vehicles": ["car", { "vehicle": "pickup", "visits": ["back-in-drive-out"] }],
            "permit": { "parcel": "77", "date": "2026-11-25" } },
        "features": [
            feature(json!({ "role": "road", "label": "12", "width": "20 ft", "continues": "both" }),
                "LineString", json!([[-150, 0], [150, 0]])),
            feature(json!({ "role": "gate", "leaves": "single", "hinge": "right", "open_angle_deg": 100,
                "post": { "width": "8 in", "depth": 0.25, "top": "6 ft" }, "bottom": 0 }),
                "LineString", json!([[-7, 25], [7, 25]])),
            feature(json!({ "role": "fence", "top": "4 ft" }), "LineString", json!([[7.7, 25], [60, 25]])),
            feature(json!({ "role": "drive", "label": "yard" }),
                "Polygon", json!([[[-7, 9], [7, 9], [30, 25.5], [30, 120], [-30, 120], [-7, 9]]])),
            feature(json!({ "role": "obstacle", "label": "ditch", "top": 0 }),
                "Polygon", json!([[[20, 12], [90, 12], [90, 16], [20, 16], [20, 12]]])),
            feature(json!({ "role": "obstacle", "label": "wall", "thickness": 0.2, "top": 2.5 }),
                "LineString", json!([[-90, 20], [-40, 20]])),
            feature(json!({ "role": "spot", "label": "shed", "heading_deg": 90, "vehicles": ["car", "pickup"] }),
                "Point", json!([0, 80])),
            feature(json!({ "role": "route", "vehicle": "car" }), "LineString", json!([[-100, 5], [-20, 5], [0, 90]])),
        ] })
}

fn feature(properties: Value, kind: &str, coordinates: Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

/// The site without its warnings, which concern the file.
fn site(plan: &Value) -> String {
    shown(read(&plan.to_string(), "yard.geojson").unwrap_or_else(|e| panic!("{e}")))
}

fn shown(site: Site) -> String {
    format!("{:#?}", Site { warnings: Vec::new(), ..site })
}

fn features(plan: &mut Value) -> &mut Vec<Value> {
    plan["features"].as_array_mut().unwrap()
}

/// All properties in one table: a column for every name, nulls for what a feature does not have.
fn tabled(mut plan: Value) -> Value {
    let all = features(&mut plan);
    let mut names: Vec<String> = Vec::new();
    for feature in all.iter() {
        for key in feature["properties"].as_object().unwrap().keys() {
            if !names.contains(key) {
                names.push(key.clone());
            }
        }
    }
    for feature in all {
        let row = names.iter().map(|name| (name.clone(), feature["properties"][name.as_str()].clone()));
        feature["properties"] = Value::Object(row.collect());
    }
    plan
}

/// Changes a map program makes to a plan, each by itself: the place stays the same.
#[rstest]
#[case::nulls_for_what_a_feature_does_not_have(tabled(typed()))]
#[case::zero_as_text(changed(|_, words| as_text(words, &["bottom"])))]
#[case::numbers_as_text_in_a_table(tabled(changed(|_, words| {
    as_text(words, &["top", "bottom", "thickness", "open_angle_deg", "heading_deg"]);
})))]
#[case::blanks_for_nulls(blanks(tabled(typed())))]
#[case::objects_and_lists_as_json_text(changed(|_, words| as_json_text(words, &["post", "vehicles"])))]
#[case::names_with_commas(changed(|_, words| {
    if words["role"] == "spot" {
        words["vehicles"] = "car, pickup".into();
    }
}))]
#[case::a_list_as_printed(changed(|_, words| {
    if words["role"] == "spot" {
        words["vehicles"] = "['car' 'pickup']".into();
    }
}))]
#[case::a_list_as_counted(changed(|_, words| {
    if words["role"] == "spot" {
        words["vehicles"] = "(2:car,pickup)".into();
    }
}))]
#[case::a_label_as_a_number(changed(|_, words| {
    if words["label"] == "12" {
        words["label"] = json!(12.0);
    }
}))]
#[case::whole_numbers_as_floats(changed(|_, words| {
    for key in ["open_angle_deg", "heading_deg", "bottom"] {
        if let Some(n) = words.get(key).and_then(Value::as_f64) {
            words[key] = json!(n);
        }
    }
}))]
#[case::names_cut_to_ten_letters(changed(|_, words| {
    let words = words.as_object_mut().unwrap();
    for key in ["open_angle_deg", "heading_deg"] {
        if let Some(value) = words.remove(key) {
            words.insert(key[..10].to_owned(), value);
        }
    }
}))]
#[case::numbered_features(changed_features(|i, feature| feature["id"] = json!(i)))]
#[case::heights_in_coordinates(changed_features(|_, feature| raise(&mut feature["geometry"]["coordinates"])))]
#[case::multi_geometries_of_one_part(changed_features(|_, feature| {
    let kind = feature["geometry"]["type"].as_str().unwrap().to_owned();
    feature["geometry"]["type"] = format!("Multi{kind}").into();
    feature["geometry"]["coordinates"] = json!([feature["geometry"]["coordinates"]]);
}))]
#[case::the_usual_system_named({
    let mut plan = typed();
    plan["crs"] = json!({ "type": "name", "properties": { "name": "urn:ogc:def:crs:OGC:1.3:CRS84" } });
    plan["name"] = "layer".into();
    plan
})]
#[case::settings_in_a_feature(with_settings_feature(|settings| settings))]
#[case::settings_in_a_feature_as_text(with_settings_feature(|mut settings| {
    as_json_text(&mut settings, &["vehicles", "permit"]);
    settings
}))]
#[case::all_of_it_at_once(blanks(tabled(with_settings_feature(|mut settings| {
    as_json_text(&mut settings, &["vehicles", "permit"]);
    settings
}))))]
fn a_map_programs_form_is_the_same_place(#[case] plan: Value) {
    assert_ne!(plan, typed(), "nothing was changed");
    assert_eq!(site(&plan), site(&typed()));
    // Its plain text states that by itself.
    let text = plan.to_string();
    let source = Source::of(&text, "yard.geojson");
    let plain = plain_text(&source, &read_source(&source).unwrap()).unwrap();
    assert_eq!(site(&serde_json::from_str(&plain).unwrap()), site(&typed()));
}

fn changed(mut change: impl FnMut(usize, &mut Value)) -> Value {
    changed_features(|i, feature| change(i, &mut feature["properties"]))
}

fn changed_features(mut change: impl FnMut(usize, &mut Value)) -> Value {
    let mut plan = typed();
    features(&mut plan).iter_mut().enumerate().for_each(|(i, feature)| change(i, feature));
    plan
}

fn as_text(words: &mut Value, keys: &[&str]) {
    for key in keys {
        if let Some(number) = words.get(*key).filter(|value| value.is_number()) {
            words[*key] = number.to_string().into();
        }
    }
}

fn as_json_text(words: &mut Value, keys: &[&str]) {
    for key in keys {
        if let Some(value) = words.get(*key) {
            words[*key] = value.to_string().into();
        }
    }
}

fn blanks(mut plan: Value) -> Value {
    for feature in features(&mut plan) {
        for value in feature["properties"].as_object_mut().unwrap().values_mut().filter(|v| v.is_null()) {
            *value = "".into();
        }
    }
    plan
}

fn raise(coordinates: &mut Value) {
    let list = coordinates.as_array_mut().unwrap();
    if list[0].is_number() {
        list.push(json!(311.5));
    } else {
        list.iter_mut().for_each(raise);
    }
}

fn with_settings_feature(change: impl Fn(Value) -> Value) -> Value {
    let mut plan = typed();
    let mut settings = plan["plan"].take();
    settings["role"] = "plan".into();
    plan.as_object_mut().unwrap().remove("plan");
    let feature = json!({ "type": "Feature", "properties": change(settings), "geometry": null });
    features(&mut plan).insert(3, feature);
    plan
}

/// The order of features decides nothing but the order in which they are reported.
#[test]
fn features_may_be_reordered() {
    let mut plan = typed();
    features(&mut plan).reverse();
    let (there, back) = (read(&typed().to_string(), "p").unwrap(), read(&plan.to_string(), "p").unwrap());
    assert_eq!(format!("{:?}{:?}", there.gate, there.roads), format!("{:?}{:?}", back.gate, back.roads));
    assert_eq!(there.obstacles.len(), back.obstacles.len());
}

/// A number typed as text is refused: it may be feet. Where a table shows that a program wrote it, it is read as the
/// number it was, and reported.
#[test]
fn a_number_as_text_is_meters_only_in_a_table() {
    let road = |plan: &mut Value| features(plan)[0]["properties"]["width"] = "6".into();
    let mut plan = typed();
    road(&mut plan);
    let refused = read(&plan.to_string(), "yard.geojson").unwrap_err().to_string();
    assert!(refused.contains("property \"width\": \"6\" has no unit; write \"6 ft\""), "{refused}");
    let mut plan = tabled(typed());
    road(&mut plan);
    let site = read(&plan.to_string(), "yard.geojson").unwrap();
    assert_eq!(site.roads[0].width_m, 6.0);
    let told = site.warnings.iter().any(|w| {
        w.contains("feature 1 \"12\", property \"width\": 6 without a unit is read as meters")
            && w.contains("\"6 ft\"")
    });
    assert!(told, "{:?}", site.warnings);
}

fn with<'a>(plan: &'a str, settings: Option<&'a str>, roles: Option<&'a str>) -> Source<'a> {
    Source {
        plan: Given { text: plan, file: "yard.geojson" },
        settings: settings.map(|text| Given { text, file: "yard.json" }),
        roles: roles.map(|text| Given { text, file: "map.json" }),
    }
}

fn faults(source: &Source) -> String {
    read_source(source).map(shown).expect_err("must be refused").to_string()
}

/// Settings from a file: an object of their own, under "plan", or another plan.
#[test]
fn settings_may_come_from_a_file() {
    let mut plan = typed();
    let settings = plan["plan"].take();
    let plan = plan.to_string();
    let forms = [settings.clone(), json!({ "plan": settings }), typed()];
    for form in forms.map(|form| form.to_string()) {
        let read = read_source(&with(&plan, Some(&form), None)).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(shown(read), site(&typed()), "{form}");
    }
    // They go before the plan's own, one by one.
    let text = typed().to_string();
    let source = with(&text, Some(r#"{ "title": "Other", "vehicles": ["dump-truck"] }"#), None);
    let read = read_source(&source).unwrap();
    assert_eq!((read.title.as_str(), read.permit.parcel.as_str()), ("Other", "77"));
    assert_eq!(read.vehicles.iter().map(|v| v.vehicle.as_str()).collect::<Vec<_>>(), ["dump-truck"]);
    assert!(source.settings_name_vehicles() && !with(&text, Some("{}"), None).settings_name_vehicles());
}

#[rstest]
#[case::a_bad_word(
    r#"{ "coordinates": "local-ft",
  "drives_on": "middle" }"#,
    "yard.json:2:16: property \"drives_on\": \"middle\" is not one of left, right"
)]
#[case::not_json(
    "{ \"title\": ",
    "yard.json:1:11: the file ends too early: it was cut off, or a bracket is not closed"
)]
#[case::empty("", "yard.json:1:1: the file is empty; settings are an object like { \"units\": \"ft\" }")]
#[case::no_settings(
    r#"{ "type": "FeatureCollection", "features": [] }"#,
    "yard.json:1:1: holds no settings; they are an object like { \"units\": \"ft\" }, or the \"plan\" of a plan"
)]
#[case::a_vehicle_that_is_none(
    r#"{ "plan": { "vehicles": ["car",
   7] } }"#,
    "yard.json:2:4: \"vehicles\": 7 is not a vehicle; write a name, like \"pickup\", or { \"vehicle\": \"pickup\" }"
)]
#[case::a_way_that_is_none(
    r#"{ "vehicles": [{ "vehicle": "car",
  "travels": ["northbound"] }] }"#,
    "yard.json:2:15: \"travels\": \"northbound\" is not a direction of travel on the road at the gate; it runs eastbound and westbound"
)]
fn faults_of_settings_have_their_place_in_their_file(#[case] settings: &str, #[case] expected: &str) {
    let mut plan = typed();
    plan["plan"] = json!({ "coordinates": "local-ft" });
    assert_eq!(faults(&with(&plan.to_string(), Some(settings), None)), expected);
}

#[test]
fn settings_are_said_once() {
    let mut plan = with_settings_feature(|settings| settings);
    plan["plan"] = json!({ "title": "Yard", "units": "m" });
    let again = features(&mut plan)[3].clone();
    features(&mut plan).push(again);
    let faults = read(&plan.to_string(), "yard.geojson").unwrap_err().to_string();
    let lines: Vec<&str> = faults.lines().collect();
    assert_eq!(lines.len(), 2, "{faults}");
    assert!(lines[0].ends_with(
        "feature 4, property \"units\": the \"plan\" member of the file says otherwise; say it in one place"
    ));
    assert!(lines[1].ends_with(
        "feature 10, property \"role\": a second one with the settings; feature 4 has them already"
    ));
}

/// A gate drawn as a point is the gate drawn as a line, whichever side the road is on.
#[rstest]
#[case(json!(0), json!([0, 25]), json!([[-7, 25], [7, 25]]))]
#[case(json!(360.0), json!([0, 25]), json!([[7, 25], [-7, 25]]))]
#[case(json!("-20"), json!([0, 25]), json!([[-6.577848346, 22.605858997], [6.577848346, 27.394141003]]))]
#[case(json!(180), json!([0, -25]), json!([[-7, -25], [7, -25]]))]
fn a_gate_may_be_a_point(#[case] bearing: Value, #[case] at: Value, #[case] line: Value) {
    let plan = |properties: Value, kind: &str, coordinates: &Value| {
        let mut plan = typed();
        let all = features(&mut plan);
        all.truncate(2);
        all[1] = feature(properties, kind, coordinates.clone());
        plan
    };
    let words =
        json!({ "role": "gate", "hinge": "right", "leaves": "single", "width": "14 ft", "bearing": bearing });
    let point = plan(words.clone(), "Point", &at);
    let mut drawn = words;
    drawn.as_object_mut().unwrap().remove("bearing");
    let (text, drawn) = (point.to_string(), plan(drawn, "LineString", &line).to_string());
    let (point, drawn) = (read(&text, "p").unwrap(), read(&drawn, "p").unwrap());
    for (p, q) in [(point.gate.left, drawn.gate.left), (point.gate.right, drawn.gate.right)] {
        assert!(p.distance(q) < 1e-6, "{p:?} {q:?}");
    }
    assert!((point.gate.opening_m() - 14.0 * 0.3048).abs() < 1e-9);
    assert!(point.gate.inward.distance(drawn.gate.inward) < 1e-6);
    assert!((point.gate.skew_rad - drawn.gate.skew_rad).abs() < 1e-6);
    // Its plain text has two posts to move.
    let source = Source::of(&text, "p");
    let plain = plain_text(&source, &point).unwrap();
    let wider = wideenough::site::changes::Change::Opening(0.6096);
    let wider = rewrite(&plain, &wider, &str::to_owned).unwrap().to_string();
    assert!((read(&wider, "wider").unwrap().gate.opening_m() - 16.0 * 0.3048).abs() < 1e-5);
}

/// In longitude and latitude a bearing counts from true north.
#[test]
fn a_gate_as_a_point_in_degrees() {
    let plan = |gate: Value| {
        json!({ "type": "FeatureCollection", "features": [
            feature(json!({ "role": "road", "width": "6 m", "continues": "both" }),
                "LineString", json!([[-98.351, 40.6200], [-98.349, 40.6200]])),
            gate ] })
    };
    let words = json!({ "role": "gate", "width": 4.25, "bearing": 0 });
    let point = plan(feature(words, "Point", json!([-98.35, 40.62009])));
    let site = read(&point.to_string(), "p").unwrap();
    assert!((site.gate.opening_m() - 4.25).abs() < 1e-9);
    assert!(site.gate.inward.distance(wideenough::geometry::Point::new(0.0, 1.0)) < 1e-12);
    let text = point.to_string();
    let plain = plain_text(&Source::of(&text, "p"), &site).unwrap();
    let again = read(&plain, "p").unwrap();
    assert!(
        (again.gate.opening_m() - 4.25).abs() < 2e-5
            && (again.gate.setback_m - site.gate.setback_m).abs() < 1e-4
    );
}

#[rstest]
#[case::neither(json!({ "role": "gate" }), "Point", json!([0, 25]), &[
    "feature 2: a gate drawn as a point needs its \"bearing\", the heading of someone coming in: 0 is north, 90 east",
    "feature 2: a gate drawn as a point needs its \"width\", the opening between its posts, like \"14 ft\"",
])]
#[case::outward(json!({ "role": "gate", "width": "14 ft", "bearing": 190 }), "Point", json!([0, 25]), &[
    "feature 2, property \"bearing\": 190 looks out to the road; the bearing is the heading of someone coming in, here 10 (0 is \
     north, 90 east)",
])]
#[case::no_such_bearing(json!({ "role": "gate", "width": "-14 ft", "bearing": 1900 }), "Point", json!([0, 25]), &[
    "feature 2, property \"bearing\": must be between 0 and 360: 0 is north, 90 east",
    "feature 2, property \"width\": must be more than 0, and is -14'",
])]
#[case::two_points(json!({ "role": "gate" }), "MultiPoint", json!([[-7, 25], [7, 25]]), &[
    "feature 2, geometry: a gate is drawn as a LineString of two points, the inner faces of its posts (or as a Point with a \
     \"width\" and a \"bearing\"), not as a MultiPoint",
])]
#[case::a_line_that_says_otherwise(json!({ "role": "gate", "width": "16 ft" }), "LineString", json!([[-7, 25], [7, 25]]), &[
    "feature 2, property \"width\": says 16', but the two points are 14' apart; they are the inner faces of the two posts",
])]
fn faults_of_a_gate_as_a_point(
    #[case] words: Value,
    #[case] kind: &str,
    #[case] coordinates: Value,
    #[case] expected: &[&str],
) {
    let mut plan = typed();
    features(&mut plan).truncate(2);
    features(&mut plan)[1] = feature(words, kind, coordinates);
    let said = read(&plan.to_string(), "yard.geojson").unwrap_err().to_string();
    let mut said: Vec<&str> =
        said.lines().filter_map(|line| Some(line.splitn(4, ':').nth(3)?.trim())).collect();
    said.sort_unstable();
    assert_eq!(said, expected);
}

/// County layers merged into one as they come: attributes of their own, in their own units.
fn county() -> Value {
    let mut plan = tabled(
        json!({ "type": "FeatureCollection", "plan": { "coordinates": "local-ft" }, "features": [
        feature(json!({ "layer": "roads", "CLASS": 3, "STREET": "Mill Lane", "PAVED_FT": 20 }),
            "LineString", json!([[-150, 0], [150, 0]])),
        feature(json!({ "layer": "roads", "CLASS": 9, "STREET": "Footpath", "PAVED_FT": 4 }),
            "LineString", json!([[-150, 300], [150, 300]])),
        feature(json!({ "layer": "buildings", "STREET": "12" }),
            "Polygon", json!([[[40, 60], [80, 60], [80, 90], [40, 90], [40, 60]]])),
        feature(json!({ "layer": "parcels" }), "Polygon", json!([[[-90, 10], [90, 10], [90, 200], [-90, 10]]])),
        feature(json!({ "layer": "gates", "WIDE": "14 ft", "AZIMUTH": "0" }), "Point", json!([0, 25])),
    ] }),
    );
    plan["name"] = "merged".into();
    plan
}

const RULES: &str = r#"{ "about": "County layers",
  "rules": [
    { "where": { "layer": "roads", "CLASS": ["1", 2, "3"] }, "role": "road",
      "properties": { "continues": "both", "width": "18 ft" },
      "from": { "label": "STREET", "width": { "attribute": "PAVED_FT", "unit": "ft" } } },
    { "where": { "layer": "buildings", "STREET": "*" }, "role": "obstacle", "from": { "label": "STREET" } },
    { "where": { "layer": "gates" }, "role": "gate", "properties": { "leaves": "none" },
      "from": { "width": { "attribute": "WIDE", "unit": "ft" }, "bearing": "AZIMUTH" } },
    { "role": "ignore" } ] }"#;

#[test]
fn roles_may_come_from_attributes() {
    let text = county().to_string();
    let source = with(&text, None, Some(RULES));
    let site = read_source(&source).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(site.warnings, Vec::<String>::new());
    assert_eq!((site.roads.len(), site.obstacles.len(), site.drives.len()), (1, 1, 0));
    assert!((site.roads[0].width_m - 20.0 * 0.3048).abs() < 1e-12);
    assert_eq!((site.roads[0].surface.label.as_str(), site.obstacles[0].label.as_str()), ("Mill Lane", "12"));
    assert!((site.gate.opening_m() - 14.0 * 0.3048).abs() < 1e-12);
    // A value missing from the attribute comes from the rule.
    let mut plan = county();
    features(&mut plan)[0]["properties"]["PAVED_FT"] = Value::Null;
    let narrow = plan.to_string();
    let site = read_source(&with(&narrow, None, Some(RULES))).unwrap();
    assert!((site.roads[0].width_m - 18.0 * 0.3048).abs() < 1e-12);
    // The plain text needs no rules.
    let plain = plain_text(&source, &read_source(&source).unwrap()).unwrap();
    let again = read(&plain, "yard.geojson").unwrap();
    assert_eq!((again.roads.len(), again.obstacles.len()), (1, 1));
    // A feature's own role takes precedence over any rule.
    features(&mut plan)[3]["properties"]["role"] = "drive".into();
    let own = plan.to_string();
    assert_eq!(read_source(&with(&own, None, Some(RULES))).unwrap().drives.len(), 1);
}

/// The rules that docs/map-data.md shows, on the same layers.
#[test]
fn the_rules_of_the_readme_hold() {
    let readme = include_str!("../../docs/map-data.md");
    let rules = readme.split("<!-- rules -->\n```json\n").nth(1).unwrap().split("```").next().unwrap();
    let mut plan = county();
    features(&mut plan).remove(1);
    let text = plan.to_string();
    let site = read_source(&with(&text, None, Some(rules))).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!((site.roads.len(), site.obstacles.len(), site.warnings), (1, 1, Vec::new()));
}

#[test]
fn all_faults_of_rules_at_once_and_each_in_its_file() {
    let rules = RULES
        .replace(r#""role": "obstacle""#, r#""role": "obstical""#)
        .replace(r#""unit": "ft""#, r#""unit": "feet""#)
        .replace(r#""continues": "both""#, r#""continues": "yes""#)
        .replace(r#""bearing""#, r#""baering""#);
    let plan = county().to_string();
    let said = faults(&with(&plan, None, Some(&rules)));
    let places: Vec<&str> =
        said.lines().filter_map(|line| line.strip_prefix("map.json:")?.splitn(3, ':').nth(2)).collect();
    assert!(places.iter().any(|m| m.contains("rules[0].from.width.unit: must be \"ft\" or")), "{said}");
    assert!(places.iter().any(|m| m.contains("rules[1].role: must be \"road\" or")), "{said}");
    assert!(places.iter().any(|m| m.contains("did you mean \"bearing\"?")), "{said}");
    assert!(places.iter().any(|m| m.contains("\"yes\" is not one of none, start, end, both")), "{said}");
    // A rule's fault that affects many features is reported once; an attribute's fault, where it stands.
    let rules = RULES.replace(r#""top""#, "").replace(r#""18 ft""#, r#""-18 ft""#);
    let mut plan = county();
    for i in [0, 1] {
        features(&mut plan)[i]["properties"]["PAVED_FT"] = Value::Null;
        features(&mut plan)[i]["properties"]["CLASS"] = json!(1);
    }
    features(&mut plan)[4]["properties"]["WIDE"] = "wide".into();
    let text = plan.to_string();
    let said = faults(&with(&text, None, Some(&rules)));
    assert_eq!(said.matches("must be more than 0, and is -18'").count(), 1, "{said}");
    assert!(said.contains("map.json:4:") && said.contains("yard.geojson:1:"), "{said}");
    assert!(said.contains("feature 5, property \"width\": \"wide\" is not a length"), "{said}");
}

#[test]
fn what_fits_no_rule_is_a_fault_and_a_rule_that_fits_nothing_is_told() {
    let text = county().to_string();
    let rules = RULES.replace(
        r#",
    { "role": "ignore" }"#,
        "",
    );
    let said = faults(&with(&text, None, Some(&rules)));
    assert_eq!(said.lines().count(), 2, "{said}");
    assert!(said.contains(
        "feature 4: has no \"role\", and no rule of map.json fits it; add one, with the role \"ignore\""
    ));
    let rules = RULES
        .replace(r#"{ "layer": "buildings", "STREET": "*" }"#, r#"{ "layr": "buildings" }"#)
        .replace(r#""CLASS": ["1", 2, "3"]"#, r#""CLASS": 3.0"#)
        .replace(
            r#"    { "role": "ignore" }"#,
            r#"    { "where": { "CLASS": 7 }, "role": "spot" }, { "role": "ignore" }"#,
        );
    let site = read_source(&with(&text, None, Some(&rules))).unwrap();
    let [first, second] = site.warnings.as_slice() else { panic!("{:?}", site.warnings) };
    assert!(
        first.contains("map.json:6:")
            && first.contains("no feature has the attribute \"layr\"; did you mean \"layer\"?")
    );
    assert!(second.contains("map.json:9:") && second.contains("rule 4: fits no feature"), "{second}");
}

#[test]
fn an_empty_file_of_rules_is_a_fault_of_its_own() {
    let text = county().to_string();
    let error = read_source(&with(&text, None, Some(""))).unwrap_err();
    assert!(matches!(&error, PlanError::Faulty { .. }));
    assert!(
        error.to_string().starts_with("map.json:1:1: is empty; a file of roles is a JSON object"),
        "{error}"
    );
}

#[test]
fn the_committed_schema_of_roles_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/roles.schema.json");
    let made = format!("{}\n", roles_schema());
    if std::env::var_os("BLESS").is_some() {
        fs::write(path, &made).expect(path);
    }
    assert!(fs::read_to_string(path).unwrap_or_default() == made, "{path} is out of date: run with BLESS=1");
}
