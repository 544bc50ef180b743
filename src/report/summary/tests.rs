//! Summaries of the made-up study, of one cut short, and of plans at fault.
use super::*;
use crate::report::sample::study;
use crate::report::{json, value};
use serde_json::Value;

fn sample() -> SiteSummary {
    site_of_results("north-field", &json(&study())).unwrap()
}

fn studied(site: &SiteSummary) -> &Studied {
    site.outcome.as_ref().unwrap()
}

/// Splits a row of CSV by a parser independent of the writer.
fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut cell, mut inside) = (Vec::new(), String::new(), false);
    for c in line.chars() {
        match c {
            '"' => inside = !inside,
            ',' if !inside => cells.push(std::mem::take(&mut cell)),
            c => cell.push(c),
        }
    }
    cells.push(cell);
    cells
}

#[test]
fn every_way_has_a_row_with_the_numbers_of_results_json() {
    let (site, results) = (sample(), value(&study()));
    let cases = results["cases"].as_array().unwrap();
    let header = cells(csv_header().trim_end());
    let text = csv(&site);
    let rows: Vec<Vec<String>> = text.lines().map(cells).collect();
    assert_eq!(rows.len(), cases.len());
    let column = |name: &str| header.iter().position(|h| h == name).unwrap();
    for (row, case) in rows.iter().zip(cases) {
        assert_eq!(row.len(), header.len());
        assert_eq!(
            (row[column("site")].as_str(), &row[column("vehicle")]),
            ("north-field", &case["vehicle"].as_str().unwrap().to_owned())
        );
        for (name, answer) in [("bare_opening_m", "bare"), ("comfortable_opening_m", "comfortable")] {
            let opening = &case[answer]["opening_m"];
            let told = if opening.is_null() { String::new() } else { opening.to_string() };
            assert_eq!(row[column(name)], told, "{case}");
            if opening.is_null() {
                assert!(!row[column("limited_by")].is_empty(), "no reason: {case}");
            }
        }
        assert_eq!(row[column("verdict")], case["drawn_gate"].as_str().unwrap());
    }
    assert!(
        rows.iter().any(|row| row[column("bare_opening_m")].is_empty()),
        "the sample has an answer not found"
    );
    // JSON Lines must hold the same rows.
    let lines: Vec<Value> = json_lines(&site).lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert_eq!(lines.len(), rows.len());
    for (line, row) in lines.iter().zip(&rows) {
        for (name, cell) in header.iter().zip(row) {
            match &line[name] {
                Value::Null => assert_eq!(cell, ""),
                Value::String(text) => assert_eq!(cell, text),
                Value::Number(number) => assert_eq!(*cell, number.to_string()),
                Value::Array(list) => {
                    assert_eq!(cell.split("; ").filter(|c| !c.is_empty()).count(), list.len())
                }
                other => panic!("{name}: {other}"),
            }
        }
    }
}

#[test]
fn a_gate_lies_on_the_map_where_the_plan_has_it() {
    let site = sample();
    let feature: Value = serde_json::from_str(&map_feature(&site, true).unwrap()).unwrap();
    // The sample's gate is 7.572 m north of 93.5 W, 42 N: a degree of latitude is 111 km there, and it looks north.
    let at = &feature["geometry"]["coordinates"];
    assert!((at[0].as_f64().unwrap() + 93.5).abs() < 1e-7, "{at}");
    assert!((at[1].as_f64().unwrap() - 42.0 - 7.572 / 111_074.0).abs() < 1e-7, "{at}");
    assert_eq!(feature["properties"]["bearing_deg"], 0.0);
    assert_eq!(feature["properties"]["verdict"], studied(&site).verdict());
    assert_eq!(feature["id"], "north-field");
    let mut sketch = study();
    sketch.site.frame = Frame::Local { meters_per_unit: 1.0 };
    let sketch = site_of_results("sketch", &json(&sketch)).unwrap();
    assert_eq!(map_feature(&sketch, true), None);
    let map = format!(
        "{}{}{}{}",
        map_start(),
        map_feature(&site, true).unwrap(),
        map_feature(&site, false).unwrap(),
        map_end()
    );
    let map: geojson::FeatureCollection = map.parse().unwrap();
    assert_eq!(map.features.len(), 2);
}

#[test]
fn the_hardest_verdict_is_the_sites() {
    let mut one = studied(&sample()).clone();
    let verdicts =
        |words: &[&str]| words.iter().map(|w| ("v".to_owned(), (*w).to_owned())).collect::<Vec<_>>();
    for (words, hardest) in [
        (&["comfortable", "tight"][..], "tight"),
        (&["only-backing-in", "tight"], "only-backing-in"),
        (&["no", "comfortable"], "no"),
        (&["comfortable"], "comfortable"),
        (&["comfortable", "a word of later"], "a word of later"),
        (&[], "no"),
    ] {
        one.vehicles = verdicts(words);
        assert_eq!(one.verdict(), hardest);
    }
}

#[test]
fn what_another_program_wrote_or_was_cut_short_is_refused() {
    let text = json(&study());
    assert!(site_of_results("x", &text[..text.len() / 2]).is_err());
    assert!(site_of_results("x", "{}").is_err());
    let other = text.replace("wideenough-results", "other-results");
    assert!(site_of_results("x", &other).unwrap_err().contains("its format is \"other-results\""));
    assert!(site_at_fault("x", &text).is_err());
}

#[test]
fn a_plan_at_fault_is_a_row_and_no_gate() {
    let faults = vec!["yard.geojson: \"no\", gate".to_owned(), "yard.geojson: no road".to_owned()];
    let site = site_at_fault("yard", &faults_json(&faults)).unwrap();
    assert_eq!(site.outcome, Err(faults));
    let row = csv(&site);
    assert!(row.starts_with("yard,,"), "{row}");
    assert!(
        row.contains(",at-fault,")
            && row.contains("\"yard.geojson: \"\"no\"\", gate; yard.geojson: no road\""),
        "{row}"
    );
    assert_eq!(map_feature(&site, true), None);
    let mut totals = Totals::default();
    totals.add(&site);
    totals.add(&sample());
    assert_eq!((totals.sites(), totals.at_fault(), totals.failing()), (2, 1, 1));
    let text = totals.text();
    assert!(text.starts_with("2 sites\n"), "{text}");
    assert!(text.contains("      1  not studied: the plan is at fault\n"), "{text}");
    assert!(text.contains("yard.geojson: \"no\", gate (and 1 more)"), "{text}");
}

#[test]
fn a_spreadsheet_takes_no_text_for_a_formula() {
    let mut site = sample();
    if let Ok(one) = &mut site.outcome {
        one.title = "=1+1".to_owned();
        one.ways.iter_mut().for_each(|way| way.limited_by = "@x, \"y\"".to_owned());
    }
    let text = csv(&site);
    for line in text.lines() {
        assert!(line.starts_with("north-field,'=1+1,") && line.contains(",\"'@x, \"\"y\"\"\","), "{line}");
    }
}

#[test]
fn sight_is_told_if_results_say_it() {
    let mut results = value(&study());
    let told = |results: &Value| studied(&site_of_results("x", &results.to_string()).unwrap()).sight.clone();
    assert_eq!(told(&results), "");
    results["sight"] =
        serde_json::json!([{ "outcome": "kept", "x": 1 }, { "outcome": "differs" }, { "outcome": "kept" }]);
    assert_eq!(told(&results), "kept; differs");
    results["sight"] = serde_json::json!("clear");
    assert_eq!(told(&results), "clear");
}

#[test]
fn only_rules_that_the_plan_differs_from_have_failed() {
    let mut results = value(&study());
    results["gate"]["rules"] = serde_json::json!([
        { "rule": "one", "outcome": "kept" },
        { "rule": "two", "outcome": "differs" },
        { "rule": "three", "outcome": "unknown" },
        { "rule": "four", "outcome": "differs" },
    ]);
    let site = site_of_results("x", &results.to_string()).unwrap();
    assert_eq!(studied(&site).rules_failed, ["two", "four"]);
    assert!(csv(&site).lines().all(|line| line.ends_with(",two; four,")), "{}", csv(&site));
}
