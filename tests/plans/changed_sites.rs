//! Sites that a change makes of a drawn one, and the plans written for them.
use serde_json::{Value, json};
use wideenough::site::changes::Change;
use wideenough::site::{Site, read, rewrite};

fn plan(settings: &Value, features: &[(Value, &str, Value)]) -> String {
    let features: Vec<Value> = features
        .iter()
        .map(|(properties, kind, coordinates)| {
            json!({ "type": "Feature", "properties": properties,
                    "geometry": { "type": kind, "coordinates": coordinates } })
        })
        .collect();
    let mut settings = settings.clone();
    settings["coordinates"] = json!("local-m");
    json!({ "type": "FeatureCollection", "plan": settings, "features": features }).to_string()
}

fn road(properties: &Value, line: &Value) -> (Value, &'static str, Value) {
    let mut properties = properties.clone();
    properties["role"] = json!("road");
    (properties, "LineString", line.clone())
}

fn gate(from: f64, to: f64, beyond: f64) -> (Value, &'static str, Value) {
    (
        json!({ "role": "gate", "leaves": "none", "anchor": "free" }),
        "LineString",
        json!([[from, beyond], [to, beyond]]),
    )
}

fn words(site: &Site) -> Vec<String> {
    site.travels().into_iter().map(|travel| travel.word).collect()
}

/// Where a gate is moved so far that the road leads to it from one side only, the direction that is gone is not mistaken for
/// the one that is left.
#[test]
fn a_direction_that_a_change_takes_away_is_gone() {
    let text = plan(
        &json!({}),
        &[
            road(&json!({ "width": 7, "continues": "end" }), &json!([[-11, 0], [60, 0]])),
            gate(-1.75, 1.75, 10.0),
        ],
    );
    let site = read(&text, "moved gate").unwrap();
    let [eastbound, westbound] = site.travels().try_into().unwrap();
    assert_eq!((eastbound.word.as_str(), westbound.word.as_str()), ("eastbound", "westbound"));
    let moved = Change::Along(-7.3).apply(&site).unwrap();
    assert_eq!(words(&moved), ["westbound"]);
    assert_eq!(moved.travel_along(eastbound.along()), None);
    assert_eq!(moved.travel_along(westbound.along()).unwrap().word, "westbound");
    // Against the order in which the road is drawn.
    assert!(eastbound.as_drawn && !westbound.as_drawn);
}

/// The plan of a flared drive leaves its islands where they are, as the changed site does.
#[test]
fn an_island_stays_where_a_drive_is_flared() {
    let island = json!([[2.2, 5.0], [2.8, 5.0], [2.8, 6.0], [2.2, 6.0], [2.2, 5.0]]);
    let outer = json!([[-3, 2], [3, 2], [3, 40], [-3, 40], [-3, 2]]);
    let text = plan(
        &json!({}),
        &[
            road(&json!({ "width": 6, "continues": "both" }), &json!([[-60, 0], [60, 0]])),
            (json!({ "role": "drive" }), "Polygon", json!([outer, island])),
            gate(-2.5, 2.5, 12.0),
        ],
    );
    let change = Change::ApronFlare(1.0);
    let written = rewrite(&text, &change, &|name| name.to_owned()).unwrap();
    let rings = &written["features"][1]["geometry"]["coordinates"];
    assert_eq!(rings[1], island);
    assert_ne!(rings[0], outer);
    // The written plan is the changed site.
    let changed = change.apply(&read(&text, "drive").unwrap()).unwrap();
    let again = read(&written.to_string(), "flared drive").unwrap();
    assert_eq!(again.drives[0].holes, changed.drives[0].holes);
    let apart = |(a, b): (&wideenough::geometry::Point, &wideenough::geometry::Point)| a.distance(*b);
    let outlines = again.drives[0].outer.0.iter().zip(&changed.drives[0].outer.0);
    assert!(outlines.map(apart).all(|m| m < 2e-6));
}

/// The advice on a road that is drawn too short is about that road, and never that it goes on across another.
#[test]
fn advice_on_a_short_road_is_about_that_road() {
    let asked = |travel: &str, side: &Value| {
        let text = plan(
            &json!({ "vehicles": [{ "vehicle": "car", "travels": [travel] }] }),
            &[
                road(
                    &json!({ "label": "main", "width": 6, "continues": "both" }),
                    &json!([[-60, 0], [60, 0]]),
                ),
                road(&json!({ "label": "side", "width": 6 }), side),
                gate(-2.0, 2.0, 8.0),
            ],
        );
        read(&text, "side road").unwrap_err().to_string()
    };
    let north = asked("northbound on side", &json!([[8, -18], [8, 0]]));
    assert!(
        north.contains("leave it out, or give the road \"continues\": \"start\" if it goes on"),
        "{north}"
    );
    let drawn_down = asked("northbound on side", &json!([[8, 0], [8, -18]]));
    assert!(drawn_down.contains("give the road \"continues\": \"end\" if it goes on"), "{drawn_down}");
    let south = asked("southbound on side", &json!([[8, -18], [8, 0]]));
    assert!(south.contains("leave it out") && !south.contains("continues"), "{south}");
}

/// A wider gate is written as one, whether it is drawn as a line that states its width or as a point.
#[test]
fn a_stated_width_follows_a_wider_gate() {
    let drawn = [
        (
            json!({ "role": "gate", "leaves": "none", "width": "3 m" }),
            "LineString",
            json!([[-1.5, 9], [1.5, 9]]),
        ),
        (json!({ "role": "gate", "leaves": "none", "width": "3 m", "bearing": 0 }), "Point", json!([0, 9])),
    ];
    for gate in drawn {
        let kind = gate.1;
        let text = plan(
            &json!({}),
            &[road(&json!({ "width": 6, "continues": "both" }), &json!([[-60, 0], [60, 0]])), gate],
        );
        for change in [Change::Opening(0.5), Change::Setback(2.0)] {
            let written = rewrite(&text, &change, &|name| name.to_owned()).unwrap();
            let again = read(&written.to_string(), "changed gate").unwrap().gate;
            let changed = change.apply(&read(&text, "gate").unwrap()).unwrap().gate;
            assert!(again.left.distance(changed.left) < 2e-6, "{kind} {change:?}");
            assert!(again.right.distance(changed.right) < 2e-6, "{kind} {change:?}");
        }
    }
}
