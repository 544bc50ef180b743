//! Longitude and latitude to meters and back, against places computed by GeographicLib: up to 5 km from gates near the
//! equator, the poles and 180 degrees.
use wideenough::geometry::{Point, trig};
use wideenough::site::Frame;

/// Allowed difference: the file says a micrometer in x and in y, of which it rounds away half; meters are snapped to a
/// tenth of one.
const ALLOWED_M: f64 = 1e-6;

/// Origin, place and meters of each line.
fn places() -> Vec<[f64; 6]> {
    let lines = include_str!("../cross_check/places.csv").lines().skip(2);
    let row = |line: &str| {
        let numbers: Vec<f64> = line.split(',').map(|word| word.parse().unwrap()).collect();
        <[f64; 6]>::try_from(numbers).unwrap()
    };
    lines.map(row).collect()
}

#[test]
fn meters_are_those_of_geographiclib() {
    let places = places();
    assert_eq!(places.len(), 42, "places have vanished");
    let mut worst = 0.0_f64;
    for [lon_deg, lat_deg, lon, lat, x, y] in places {
        let found = Frame::LonLat { lon_deg, lat_deg }.to_site([lon, lat]);
        let gap = found.distance(Point::new(x, y));
        assert!(gap < ALLOWED_M, "{lon} {lat} from {lon_deg} {lat_deg}: {found:?}, {x} {y} by GeographicLib");
        worst = worst.max(gap);
    }
    println!("worst {:.3} um", worst * 1e6);
}

#[test]
fn degrees_are_those_of_geographiclib() {
    for [lon_deg, lat_deg, lon, lat, x, y] in places() {
        let frame = Frame::LonLat { lon_deg, lat_deg };
        let [back_lon, back_lat] = frame.to_plan(Point::new(x, y));
        // Compared on the ground: a degree of longitude is short near a pole, and -180 is 180.
        let turn = (back_lon - lon + 540.0).rem_euclid(360.0) - 180.0;
        let east_m = turn * 111_700.0 * trig::cos(lat.to_radians());
        let north_m = (back_lat - lat) * 111_700.0;
        // The places themselves are given to 1e-11 degrees.
        assert!(
            Point::new(east_m, north_m).norm() < 2.0 * ALLOWED_M,
            "{x} {y} from {lon_deg} {lat_deg}: {back_lon} {back_lat}, {lon} {lat} by GeographicLib"
        );
    }
}
