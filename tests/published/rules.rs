//! Rules and tables that encode the ground a vehicle sweeps: fire access, turning rings, grade breaks.
use super::drive::{FOOT_M, INCH_M, Rows, centerline_radius_m, full_lock_ring_m, guide, library, made};
use wideenough::geometry::{Point, trig};
use wideenough::motion::{Chain, State, steady_hitch_angle};
use wideenough::vehicle::{self, turning};

/// "Off Tracking Characteristics of City Delivery Type Tractor-Semitrailer Unit" (City of Roseville archive, p. 53):
/// OT = sqrt(wb^2 + b^2) - sqrt(ko^2 + b^2 - ka^2), b = sqrt(TR^2 - wb^2) - ht, with wb 105 in, ht 3.21 ft, the
/// kingpin ko 1 ft ahead of the drive axle. The formula and its inputs were read there; the values are calculated.
#[test]
fn city_delivery_tractor_semitrailer() {
    let mut rows = Rows::default();
    let table = [
        (50.0, "21 ft", 5.883),
        (50.0, "19 ft", 4.918),
        (75.0, "21 ft", 3.691),
        (75.0, "19 ft", 3.107),
        (100.0, "21 ft", 2.706),
        (100.0, "19 ft", 2.282),
        (165.0, "21 ft", 1.604),
        (165.0, "19 ft", 1.355),
    ];
    for (tr, ka, published) in table {
        // The published circle is that of the outer front wheel: track 2 x 3.21 ft, tires no wider than a line.
        let steering = format!("{{ \"turning_circle\": {{ \"kind\": \"curb\", \"radius\": \"{tr} ft\" }} }}");
        let text = format!(
            r#"{{ "title": "city delivery", "steering": {steering}, "units": [
              {{ "name": "tractor", "wheelbase": "105 in", "front_overhang": "2 ft", "rear_overhang": "3 ft",
                 "width": "8 ft", "height": "9 ft", "front_axle": {{ "track": "6.42 ft" }},
                 "hitch": {{ "behind_axle": "-1 ft", "max_angle_deg": 90 }} }},
              {{ "name": "semitrailer", "hitch_to_axle": "{ka}", "front_overhang": "2 ft",
                 "rear_overhang": "3 ft", "width": "8 ft", "height": "12 ft" }} ] }}"#
        );
        let v = vehicle::read(&text, "city.json").unwrap_or_else(|e| panic!("{e}"));
        let (b, wb) = (1.0 / v.steering.max_curvature, v.units[0].wheelbase_m);
        let (a, d) = (v.units[0].hitch.unwrap().behind_axle_m, v.units[1].wheelbase_m);
        let hitch = steady_hitch_angle(1.0 / b, a, d).unwrap();
        // Lead at the origin on a circle about (0, b).
        let state = State { hitch: [hitch, 0.0, 0.0], ..State::default() };
        let trailer = Chain::of(&v).unit_poses(&state)[1];
        let offtracking = trig::hypot(b, wb) - trailer.position.distance(Point::new(0.0, b));
        rows.near(&format!("TR {tr}, ka {ka}"), offtracking / FOOT_M, published, 6e-4);
    }
    rows.done(8);
}

/// T10: width of fire service access in curves by outer radius, City of Nuremberg leaflet 2011 on "Flaechen fuer die
/// Feuerwehr" / DIN 14090. One engine (2.5 m wide, wheelbase 4.9 m, front overhang 1.6 m) with its outer corner on
/// the outer radius needs, within 0.3 m, the width of the first four rows, and no more than that of the last two.
#[test]
fn german_fire_access_in_curves() {
    let mut rows = Rows::default();
    // Smallest outer radius of the row, its width, and the width calculated for that engine.
    let table = [
        (10.5, 5.0, 4.75),
        (12.0, 4.5, 4.41),
        (15.0, 4.0, 3.98),
        (20.0, 3.5, 3.59),
        (40.0, 3.2, 3.03),
        (70.0, 3.0, 2.80),
    ];
    for (i, (outer_m, width_m, calculated_m)) in table.into_iter().enumerate() {
        let wall = format!("{{ \"turning_circle\": {{ \"kind\": \"wall\", \"radius\": \"{outer_m} m\" }} }}");
        let v = made(&[["4.9 m", "1.6 m", "2.5 m", "2.5 m", ""]], &wall);
        let (inner, outer) = full_lock_ring_m(&v);
        rows.near(&format!("{outer_m} m, outer"), outer, outer_m, 1e-9);
        rows.near(&format!("{outer_m} m, calculated"), outer - inner, calculated_m, 0.006);
        if i < 4 {
            rows.near(&format!("{outer_m} m"), outer - inner, width_m, 0.3);
        } else {
            rows.run += 1;
            if outer - inner > width_m {
                rows.off.push(format!("{outer_m} m: needs {}, more than {width_m}", outer - inner));
            }
        }
    }
    rows.done(18);
}

/// T11: Directive 97/27/EC annex I 7.6.1: a vehicle must turn inside circles of 12.50 m and 5.30 m; StVZO 32d(1): the
/// ring is 7.20 m wide. The longest rigid vehicle that does, by width (calculated): wheelbase plus front overhang.
#[test]
fn european_turning_ring() {
    let mut rows = Rows::default();
    for (width_m, longest_m) in [(2.50, 9.768), (2.55, 9.728), (2.60, 9.687)] {
        let length_m = turning::longest_in_ring_m(12.5, 5.3, width_m).unwrap();
        rows.near(&format!("{width_m} m"), length_m, longest_m, 1e-3);
        let wheelbase = format!("{} m", length_m - 2.0);
        let width = format!("{width_m} m");
        let wall = "{ \"turning_circle\": { \"kind\": \"wall\", \"diameter\": 25 } }";
        let v = made(&[[&wheelbase, "2 m", "2 m", &width, ""]], wall);
        let (inner, outer) = full_lock_ring_m(&v);
        rows.near(&format!("{width_m} m, ring"), outer - inner, 7.20, 1e-3);
        rows.near(&format!("{width_m} m, inside"), inner, 5.30, 1e-3);
    }
    rows.done(9);
}

/// T12: the low-clearance design vehicle, wheelbase 36 ft, clearance 5 in: intersections up to 4.6 % (Transportation
/// Research Record 1356, 1992, pp. 80-89).
#[test]
fn low_clearance_vehicle() {
    let grade = turning::breakover_grade(5.0 * INCH_M, 36.0 * FOOT_M);
    assert!((grade - 0.046).abs() <= 0.001, "{grade}");
    // Calculated: underside needed for a sharp break of 8 % and 12 %, inches.
    for (wheelbase_ft, at_8, at_12) in
        [(9.0, 2.16, 3.24), (11.0, 2.64, 3.96), (12.5, 3.0, 4.5), (20.0, 4.8, 7.2)]
    {
        for (inches, grade) in [(at_8, 0.08), (at_12, 0.12)] {
            let got = turning::breakover_grade(inches * INCH_M, wheelbase_ft * FOOT_M);
            assert!((got - grade).abs() < 1e-9, "{wheelbase_ft} ft: {got}");
        }
    }
}

/// T13: the largest pumper of a fire department's table (Eugene OR, record 1790762, p. 109): minimum inside radius
/// 24'6", taken at the inner edge of the rear tires; bumper swing 40'6" (from which the file has its overhang).
#[test]
fn published_pumper() {
    let v = library("fire-engine");
    let unit = &v.units[0];
    let mut rows = Rows::default();
    rows.near("length", unit.body_length_m() / FOOT_M, 32.0, 1e-6);
    rows.near("wheelbase", unit.wheelbase_m / INCH_M, 201.0, 1e-9);
    let center = Point::new(0.0, 1.0 / v.steering.max_curvature);
    let tire = |steered| unit.tires.iter().filter(move |t| t.steered == steered);
    // SAE turning radius: middle of the contact of the outer front tire.
    let outer = tire(true).map(|t| t.center.distance(center)).fold(0.0, f64::max);
    rows.near("SAE turning radius", outer / FOOT_M, 35.0 + 10.0 / 12.0, 1e-6);
    let inner =
        tire(false).map(|t| t.center.distance(center) - t.width_m / 2.0).fold(f64::INFINITY, f64::min);
    rows.near("inside radius", inner / FOOT_M, 24.5, 0.4);
    rows.near("inside radius, calculated", inner / FOOT_M, 24.18, 0.01);
    rows.near("bumper swing", full_lock_ring_m(&v).1 / FOOT_M, 40.5, 0.1);
    rows.done(6);
}

/// Spokane WA SMC 17F.080.030: fire access between radii of 28 ft inside and 50 ft outside. SU-30 turning at its
/// minimum passes (28.4 to 43.5 ft, 0.4 ft to spare inside), WB-40 does not (19.3).
#[test]
fn spokane_fire_access_ring() {
    let ring = |name: &str| {
        let v = library(name);
        let g = guide(&v, centerline_radius_m(&v), 180.0);
        let half = v.units[v.units.len() - 1].width_m / 2.0;
        ((g.last_axle_m() - half) / FOOT_M, g.farthest_corner_m(&v) / FOOT_M)
    };
    let (inside, outside) = ring("aashto-su-30");
    assert!(inside >= 28.0 && outside <= 50.0, "SU-30: {inside} to {outside}");
    assert!((inside - 28.4).abs() < 0.1 && (outside - 43.5).abs() < 0.1, "SU-30: {inside} to {outside}");
    let (inside, _) = ring("aashto-wb-40");
    assert!(inside < 28.0 && (inside - 19.3).abs() < 0.1, "WB-40: {inside}");
}
