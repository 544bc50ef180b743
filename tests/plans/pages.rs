//! Pages of `docs/` with tables generated from the schemas and the published rules: plan, vehicle and rules.
//! `BLESS=1 cargo test --test plans pages::` writes the tables into the pages.
use serde_json::Value;
use std::fs;
use wideenough::gate::RULES;
use wideenough::sight::{SIGHT_RULES, WALK_RULES};
use wideenough::site::{plan_schema, read};
use wideenough::vehicle;

const START: &str = "<!-- generated -->\n";
const END: &str = "<!-- end of generated -->\n";

/// Holds the generated part of a page to what the schema gives now, or writes it there.
fn assert_page(name: &str, made: &str) {
    let path = format!("{}/docs/{name}.md", env!("CARGO_MANIFEST_DIR"));
    let page = fs::read_to_string(&path).expect(&path);
    let (before, rest) = page.split_once(START).expect("where the tables start");
    let (_, after) = rest.split_once(END).expect("where the tables end");
    let whole = format!("{before}{START}\n{made}\n{END}{after}");
    if std::env::var_os("BLESS").is_some_and(|v| v == "1") {
        fs::write(&path, &whole).expect(&path);
    }
    assert!(
        fs::read_to_string(&path).expect(&path) == whole,
        "{path} is out of date: BLESS=1 cargo test --test plans pages::"
    );
}

/// One line of Markdown that may stand in a cell.
fn cell(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").replace('|', "\\|")
}

fn description(schema: &Value) -> &str {
    schema["description"].as_str().unwrap_or_default()
}

/// A schema behind its references and without the choice of null, with the name of its definition.
fn settled<'a>(root: &'a Value, schema: &'a Value) -> (&'a Value, Option<&'a str>) {
    if let Some(name) = schema["$ref"].as_str().and_then(|path| path.strip_prefix("#/$defs/")) {
        return (&root["$defs"][name], Some(name));
    }
    match schema["anyOf"].as_array().map(Vec::as_slice) {
        Some([one, other]) if other["type"] == "null" => settled(root, one),
        _ => (schema, None),
    }
}

/// The words a property may hold, each with its meaning.
fn words(schema: &Value) -> Vec<(String, &str)> {
    let choices = schema["oneOf"].as_array().into_iter().flatten();
    choices
        .filter_map(|choice| Some((format!("`\"{}\"`", choice["const"].as_str()?), description(choice))))
        .collect()
}

/// The kind of value, in words; objects found on the way are collected in `objects` by their name.
fn kind(root: &Value, schema: &Value, objects: &mut Vec<String>) -> String {
    let (plain, name) = settled(root, schema);
    if let Some(name @ ("Length" | "Degrees")) = name {
        return if name == "Length" { "length" } else { "degrees" }.to_owned();
    }
    if let Some(choices) = plain["anyOf"].as_array() {
        let kinds: Vec<String> = choices.iter().map(|choice| kind(root, choice, objects)).collect();
        return kinds.join(", or ");
    }
    if plain["oneOf"].is_array() {
        return words(plain).into_iter().map(|(word, _)| word).collect::<Vec<_>>().join(", ");
    }
    let single = match &plain["type"] {
        Value::Array(types) => types.iter().filter_map(Value::as_str).find(|word| *word != "null"),
        word => word.as_str(),
    };
    match single {
        Some("string") => "text".to_owned(),
        Some("number") => "number".to_owned(),
        Some("integer") => "whole number".to_owned(),
        // A pair, each with a kind of its own.
        Some("array") if plain["items"]["prefixItems"].is_array() => {
            let pair: Vec<&Value> = plain["items"]["prefixItems"].as_array().into_iter().flatten().collect();
            let kinds: Vec<String> = pair.into_iter().map(|item| kind(root, item, objects)).collect();
            format!("list: [{}]", kinds.join(", "))
        }
        Some("array") => format!("list: {}", kind(root, &plain["items"], objects)),
        Some("object") => match name {
            Some(name) => {
                if !objects.iter().any(|known| known == name) {
                    objects.push(name.to_owned());
                }
                let word = name.trim_end_matches("Words").trim_end_matches("File").to_lowercase();
                format!("{word} (see below)")
            }
            None => "names, each with a text".to_owned(),
        },
        other => panic!("no words for {other:?} in {plain}"),
    }
}

/// The table of an object's properties.
fn table(root: &Value, object: &Value, objects: &mut Vec<String>) -> String {
    let required: Vec<&str> =
        object["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let mut text = "| property | value | meaning |\n|---|---|---|\n".to_owned();
    for (name, schema) in object["properties"].as_object().expect("properties") {
        if name == "role" {
            continue;
        }
        let value = kind(root, schema, objects);
        let (plain, _) = settled(root, schema);
        let items = settled(root, &plain["items"]).0;
        let own = if description(schema).is_empty() { description(plain) } else { description(schema) };
        let mut meaning = own.to_owned();
        for (word, of_word) in words(plain).into_iter().chain(words(items)) {
            meaning.push_str(&format!(" {word}: {of_word}"));
        }
        if required.contains(&name.as_str()) {
            meaning.push_str(" Required.");
        }
        text.push_str(&format!("| `{name}` | {} | {} |\n", cell(&value), cell(&meaning)));
    }
    text
}

/// Tables of the objects that the tables above refer to, and those that these refer to.
fn further(root: &Value, mut objects: Vec<String>) -> String {
    let mut text = String::new();
    let mut next = 0;
    while let Some(name) = objects.get(next).cloned() {
        let object = &root["$defs"][&name];
        let word = name.trim_end_matches("Words").trim_end_matches("File").to_lowercase();
        text.push_str(&format!("\n### {word}\n\n{}\n\n", cell(description(object))));
        text.push_str(&table(root, object, &mut objects));
        next += 1;
    }
    text
}

#[test]
fn every_property_of_every_role_stands_on_the_page() {
    let schema = plan_schema();
    let (mut text, mut objects, mut rows) = (String::new(), Vec::new(), 0);
    let roles = schema["properties"]["features"]["items"]["oneOf"].as_array().expect("roles");
    for role in roles {
        let properties = &role["properties"]["properties"];
        let name = properties["properties"]["role"]["const"].as_str().expect("a role");
        let drawn: Vec<&str> = role["properties"]["geometry"]["properties"]["type"]["enum"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(Value::as_str)
            .filter(|kind| !kind.starts_with("Multi"))
            .collect();
        let drawn = if drawn.is_empty() { "anything, or nothing".to_owned() } else { drawn.join(" or ") };
        text.push_str(&format!(
            "### {name}\n\n{} Drawn as {drawn}.\n\n{}\n",
            cell(description(properties)),
            table(&schema, properties, &mut objects)
        ));
        rows += properties["properties"].as_object().expect("properties").len() - 1;
    }
    assert!(roles.len() == 9 && rows > 40, "{} roles with {rows} properties", roles.len());
    assert_page("plan", &format!("{}{}", text.trim_end(), further(&schema, objects).trim_end()));
}

#[test]
fn every_figure_of_a_vehicle_stands_on_the_page() {
    let schema: Value = serde_json::from_str(&vehicle::schema()).expect("a schema");
    let mut objects = Vec::new();
    let text = table(&schema, &schema, &mut objects);
    let text = format!("{}{}", text, further(&schema, objects));
    assert!(text.contains("| `lock_angle_deg` | degrees |") && text.contains("### hitch"));
    assert_page("vehicle", text.trim_end());
}

#[test]
fn every_published_rule_stands_on_the_page() {
    let mut text =
        "### About the gate: `--rules`\n\n| rule | calls for | source |\n|---|---|---|\n".to_owned();
    for rule in &RULES {
        let star = if rule.usual { " *" } else { "" };
        text.push_str(&format!(
            "| `{}`{star} | {} | {} |\n",
            rule.name,
            cell(rule.asks),
            cell(rule.citation)
        ));
    }
    text.push_str(
        "\n### About sight on leaving: `--sight`\n\n| rule | calls for | source |\n|---|---|---|\n",
    );
    let walk = WALK_RULES.iter().map(|rule| (rule.name, rule.asks, rule.citation));
    for (name, asks, citation) in SIGHT_RULES.iter().map(|r| (r.name, r.asks, r.citation)).chain(walk) {
        text.push_str(&format!("| `{name}` | {} | {} |\n", cell(asks), cell(citation)));
    }
    assert_page("rules", text.trim_end());
}

/// The plan that the page shows is one a person can type and study.
#[test]
fn the_plan_on_the_page_is_sound() {
    let page = include_str!("../../docs/plan.md");
    let plan = page.split("```json\n").nth(1).expect("a plan").split("```").next().expect("its end");
    let site = read(plan, "yard.geojson").unwrap_or_else(|e| panic!("{e}"));
    let warnings = &site.warnings;
    assert!(warnings.is_empty() && (site.roads.len(), site.obstacles.len()) == (1, 1), "{warnings:?}");
    assert!((site.gate.opening_m() - 14.0 * 0.3048).abs() < 1e-9, "{}", site.gate.opening_m());
    assert!((site.gate.setback_m - 15.0 * 0.3048).abs() < 1e-9, "{}", site.gate.setback_m);
}
