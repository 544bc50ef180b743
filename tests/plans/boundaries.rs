//! Property lines and right-of-way lines: read, named, and no obstacle.
use crate::common::PLAN;
use wideenough::site::{self, Site};

/// The sound plan with one more feature.
fn with(properties: &str, geometry: &str) -> String {
    let feature = format!(
        r#"{{ "type": "Feature", "properties": {{ "role": "boundary"{properties} }}, "geometry": {geometry} }}, "#
    );
    let list = PLAN.find("\"features\": [").expect("a list of features") + "\"features\": [".len();
    format!("{}{feature}{}", &PLAN[..list], &PLAN[list..])
}

fn read(plan: &str) -> Site {
    site::read(plan, "yard.geojson").expect("sound")
}

const ACROSS: &str = r#"{ "type": "LineString", "coordinates": [[-40, 18], [40, 18]] }"#;

/// A line across the way in changes nothing of what is searched: the site is the same but for the line itself.
#[test]
fn a_boundary_stands_for_nothing_on_the_ground() {
    let plain = read(PLAN);
    let mut site = read(&with(r#", "kind": "right-of-way""#, ACROSS));
    assert_eq!(site.boundaries.len(), 1);
    assert_eq!(site.boundaries[0].label, "right of way");
    let line = &site.boundaries[0].line;
    assert!(
        (line[0].x + 40.0 * 0.3048).abs() < 1e-12 && (line[1].y - 18.0 * 0.3048).abs() < 1e-12,
        "{line:?}"
    );
    site.boundaries.clear();
    assert_eq!(format!("{site:?}"), format!("{plain:?}"));
}

#[test]
fn a_boundary_is_named_by_its_kind_or_its_label() {
    let label = |properties: &str| read(&with(properties, ACROSS)).boundaries[0].label.clone();
    assert_eq!(label(""), "property line");
    assert_eq!(label(r#", "kind": "property-line""#), "property line");
    assert_eq!(label(r#", "kind": "right-of-way", "label": "county's line""#), "county's line");
    // A parcel's polygon is its edge, back to where it began.
    let parcel =
        r#"{ "type": "Polygon", "coordinates": [[[-60, 15], [60, 15], [60, 90], [-60, 90], [-60, 15]]] }"#;
    let site = read(&with("", parcel));
    assert_eq!(site.boundaries[0].line.len(), 5);
    assert_eq!(site.boundaries[0].line.first(), site.boundaries[0].line.last());
    let parts =
        r#"{ "type": "MultiLineString", "coordinates": [[[-40, 18], [0, 18]], [[5, 18], [40, 18]]] }"#;
    assert_eq!(read(&with("", parts)).boundaries.len(), 2);
}

#[test]
fn a_boundary_at_fault_is_told() {
    let faults = |plan: &str| site::read(plan, "yard.geojson").expect_err("at fault").to_string();
    let kind = faults(&with(r#", "kind": "fence-line""#, ACROSS));
    assert!(
        kind.contains("\"kind\"") && kind.contains("property-line") && kind.contains("right-of-way"),
        "{kind}"
    );
    let point = faults(&with("", r#"{ "type": "Point", "coordinates": [0, 18] }"#));
    assert!(point.contains("a boundary"), "{point}");
}
