//! A plan across the 180th meridian: its GeoJSON is cut there (RFC 7946, section 3.1.9) and covers the same ground as
//! the same plan elsewhere.
use serde_json::Value;
use wideenough::geometry::Point;
use wideenough::opening::{Study, StudyOptions, Wanted, study};
use wideenough::report::geojson;
use wideenough::search::Effort;
use wideenough::site::{self, Frame, Visit};
use wideenough::vehicle::find;

const LAT_DEG: f64 = -16.5;

/// A road, a gate 6 m from it and a wall, around a place at this longitude.
fn plan(lon_deg: f64, places: &[(f64, f64)]) -> Vec<String> {
    let frame = Frame::LonLat { lon_deg, lat_deg: LAT_DEG };
    let written = |(x, y): &(f64, f64)| {
        let [lon, lat] = frame.to_plan(Point::new(*x, *y));
        format!("[{lon:.9}, {lat:.9}]")
    };
    places.iter().map(written).collect()
}

fn made(lon_deg: f64) -> Study {
    let c =
        plan(lon_deg, &[(-60.0, -9.0), (60.0, -9.0), (-2.0, 0.0), (2.0, 0.0), (-30.0, -16.0), (30.0, -16.0)]);
    let text = format!(
        r#"{{ "type": "FeatureCollection", "features": [
        {{ "type": "Feature", "properties": {{ "role": "road", "width": "6 m", "continues": "both" }},
          "geometry": {{ "type": "LineString", "coordinates": [{}, {}] }} }},
        {{ "type": "Feature", "properties": {{ "role": "gate", "leaves": "double" }},
          "geometry": {{ "type": "LineString", "coordinates": [{}, {}] }} }},
        {{ "type": "Feature", "properties": {{ "role": "obstacle", "label": "wall", "thickness": "0.3 m" }},
          "geometry": {{ "type": "LineString", "coordinates": [{}, {}] }} }} ] }}"#,
        c[0], c[1], c[2], c[3], c[4], c[5]
    );
    let site = site::read(&text, "atoll.geojson").expect("a plan");
    let wanted = Wanted {
        visits: vec![Visit::DriveInBackOut, Visit::BackInDriveOut],
        ..Wanted::from(find("pickup").expect("in the library"))
    };
    let effort =
        Effort { lattice: 5_000, drawn: 0, coarse: 4, polished: 1, fine: 4, finest: 0, ..Effort::USUAL };
    study(site, &[wanted], &StudyOptions { changes: false, effort, ..StudyOptions::default() }, &|_| ())
}

/// Every line of a geometry: points, lines and rings alike.
fn lines(geometry: &Value) -> Vec<Vec<[f64; 2]>> {
    let line = |value: &Value| -> Vec<[f64; 2]> {
        let numbers = |p: &Value| [p[0].as_f64().unwrap(), p[1].as_f64().unwrap()];
        value.as_array().unwrap().iter().map(numbers).collect()
    };
    let all = |value: &Value| value.as_array().unwrap().clone();
    let coordinates = &geometry["coordinates"];
    match geometry["type"].as_str().unwrap() {
        "Point" => vec![vec![line(&Value::Array(vec![coordinates.clone()]))[0]]],
        "LineString" => vec![line(coordinates)],
        "MultiLineString" | "Polygon" => all(coordinates).iter().map(line).collect(),
        "MultiPolygon" => all(coordinates).iter().flat_map(all).map(|ring| line(&ring)).collect(),
        other => panic!("{other}"),
    }
}

/// Area enclosed by rings, or length of lines, measured in the site's meters; holes count negative.
fn measure(study: &Study, geometry: &Value) -> f64 {
    let is_area = geometry["type"].as_str().unwrap().ends_with("Polygon");
    let of = |line: &Vec<[f64; 2]>| -> f64 {
        let at: Vec<Point> = line.iter().map(|p| study.site.frame.to_site(*p)).collect();
        let pair = |w: &[Point]| if is_area { 0.5 * w[0].cross(w[1]) } else { w[0].distance(w[1]) };
        at.windows(2).map(pair).sum()
    };
    lines(geometry).iter().map(of).sum()
}

#[test]
fn what_crosses_the_180th_meridian_is_cut_there() {
    let elsewhere = made(20.0);
    let there: Value = serde_json::from_str(&geojson(&elsewhere)).unwrap();
    // On the meridian; the gate a few meters on either side of it, its paths across it.
    for lon_deg in [180.0, -180.0, 179.999_95, -179.999_95] {
        let study = made(lon_deg);
        let text = geojson(&study);
        let value: Value = serde_json::from_str(&text).unwrap();
        let (ours, theirs) = (value["features"].as_array().unwrap(), there["features"].as_array().unwrap());
        assert_eq!(ours.len(), theirs.len());
        let (mut cut, mut on_the_seam) = (0, 0);
        for (a, b) in ours.iter().zip(theirs) {
            assert_eq!(a["properties"]["kind"], b["properties"]["kind"]);
            let geometry = &a["geometry"];
            for line in lines(geometry) {
                for p in &line {
                    assert!(p[0].abs() <= 180.0, "{p:?}");
                    on_the_seam += usize::from(p[0].abs() == 180.0);
                }
                for pair in line.windows(2) {
                    assert!((pair[0][0] - pair[1][0]).abs() < 0.01, "goes round the Earth: {pair:?}");
                }
                let east = line.iter().any(|p| p[0] < 0.0);
                let west = line.iter().any(|p| p[0] > 0.0);
                assert!(!(east && west), "a line on both sides: {line:?}");
            }
            let more = lines(geometry).len() > lines(&b["geometry"]).len();
            cut += usize::from(more);
            let (ours, theirs) = (measure(&study, geometry), measure(&elsewhere, &b["geometry"]));
            let kind = a["properties"]["kind"].as_str().unwrap();
            // The search may end a hair apart: coordinates are read to a tenth of a micrometer.
            let near = (ours - theirs).abs() < 0.01 + 0.002 * theirs.abs();
            assert!(near && ours >= 0.0, "{lon_deg}, {kind}: {ours}, elsewhere {theirs}");
        }
        assert!(cut >= 4 && on_the_seam >= 8, "{lon_deg}: {cut} cut, {on_the_seam} on the seam");
        // The tight places and posts lie within meters of the gate.
        assert!(study.cases.iter().all(|case| case.comfortable.witness.is_some()));
        if let Ok(folder) = std::env::var("KEEP_GEOJSON") {
            std::fs::write(format!("{folder}/atoll{lon_deg}.geojson"), text).unwrap();
        }
    }
}
