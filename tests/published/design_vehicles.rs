//! Design vehicles of road engineers: radii, corners and off-tracking, driven from the vehicle files.
use super::drive::{FOOT_M, Rows, body_corners, centerline, centerline_radius_m, guide, library, made};
use wideenough::geometry::Point;
use wideenough::vehicle::{Vehicle, turning};

/// A design vehicle's published row, in feet and degrees.
struct Row {
    vehicle: fn() -> Vehicle,
    name: &'static str,
    /// Centerline turning radius, from memory.
    ctr: f64,
    /// Published inside radius after a half turn, and how near the drive must come.
    inside: (f64, f64),
    /// Inside radius after a half turn and in a steady turn, calculated; no steady turn exists for some.
    calculated: (f64, Option<f64>),
    /// Steering angle at full lock, degrees, calculated: asin(wheelbase / CTR).
    lock_deg: f64,
    /// Outer front corner, calculated; published where `corner_published` says so.
    corner: Option<f64>,
}

macro_rules! row {
    ($name:literal, $ctr:literal, $inside:expr, $calc:expr, $lock:literal, $corner:expr) => {
        row!(|| library($name), $name, $ctr, $inside, $calc, $lock, $corner)
    };
    ($vehicle:expr, $name:literal, $ctr:literal, $inside:expr, $calc:expr, $lock:literal, $corner:expr) => {
        Row {
            vehicle: $vehicle,
            name: $name,
            ctr: $ctr,
            inside: $inside,
            calculated: $calc,
            lock_deg: $lock,
            corner: $corner,
        }
    };
}

/// AASHTO Green Book 2018 Table 2-5 (2011: Table 2-2b). Inside radii of P, CITY-BUS, WB-40 and WB-62 as read at
/// US Army SDDC "Turn Characteristics" (which prints its two row labels swapped), SU-30's as read at
/// dimensions.guide (28'4"); the others from memory, with 0.15 ft allowed. The calculated columns are an
/// independent integration of the same no-slip motion. BUS-45, WB-92D and WB-109D are left out: their published
/// figures do not agree with each other.
const ROWS: [Row; 17] = [
    row!("aashto-p", 21.0, (14.4, 0.1), (14.42, Some(14.39)), 31.6, Some(25.56)),
    row!("aashto-su-30", 38.0, (28.33, 0.1), (28.37, Some(28.31)), 31.8, Some(43.53)),
    row!("aashto-su-40", 47.4, (36.4, 0.15), (36.34, Some(36.27)), 31.8, Some(52.92)),
    row!("aashto-s-bus-36", 34.9, (23.8, 0.15), (23.83, Some(23.65)), 37.6, Some(39.60)),
    row!("aashto-mh", 36.0, (26.0, 0.15), (26.02, Some(25.93)), 33.7, Some(41.56)),
    row!("aashto-wb-40", 36.0, (19.3, 0.1), (19.32, Some(18.12)), 20.3, Some(40.82)),
    row!("aashto-wb-62", 41.0, (7.4, 0.1), (7.42, None), 28.4, Some(46.67)),
    row!("aashto-wb-67", 41.0, (1.9, 0.15), (1.96, None), 28.4, Some(46.67)),
    row!("aashto-p-t", 30.0, (18.3, 0.15), (18.34, Some(18.15)), 21.5, None),
    row!("aashto-p-b", 21.0, (8.0, 0.15), (8.05, Some(6.95)), 31.6, None),
    row!("aashto-mh-b", 46.0, (35.0, 0.15), (35.05, Some(35.08)), 25.8, None),
    row!(
        || made(&[["25.3 ft", "6.3 ft", "9 ft", "8.5 ft", ""]], &centerline("37.8 ft")),
        "BUS-40",
        37.8,
        (24.3, 0.15),
        (24.24, Some(23.83)),
        42.0,
        None
    ),
    row!(
        || made(&[["25 ft", "7 ft", "8 ft", "8.5 ft", ""]], &centerline("37.8 ft")),
        "CITY-BUS",
        37.8,
        (24.5, 0.1),
        (24.47, Some(24.10)),
        41.4,
        Some(45.68)
    ),
    row!(
        || made(&[["20 ft", "7 ft", "13 ft", "8 ft", ""]], &centerline("35.4 ft")),
        "S-BUS-40",
        35.4,
        (25.3, 0.15),
        (25.31, Some(25.21)),
        34.4,
        Some(42.80)
    ),
    row!(
        || made(
            &[["22 ft", "8.6 ft", "6.2 ft", "8.5 ft", "6.2 ft"], ["13.2 ft", "0 ft", "10 ft", "8.5 ft", ""]],
            &centerline("35.5 ft")
        ),
        "A-BUS",
        35.5,
        (21.3, 0.15),
        (21.34, None),
        38.3,
        None
    ),
    row!(
        || made(
            &[["12.5 ft", "3 ft", "2 ft", "8.5 ft", "0 ft"], ["35.5 ft", "3 ft", "2 ft", "8.5 ft", ""]],
            &centerline("41 ft")
        ),
        "WB-50 (2004)",
        41.0,
        (17.0, 0.15),
        (17.03, None),
        17.8,
        None
    ),
    row!(
        || made(
            &[["11 ft", "3 ft", "5 ft", "7 ft", "5 ft"], ["19 ft", "-4 ft", "10.7 ft", "8 ft", ""]],
            &centerline("30 ft")
        ),
        "P/T (2004)",
        30.0,
        (17.4, 0.15),
        (17.40, Some(17.05)),
        21.5,
        None
    ),
];

/// T1, T4, T5, T7, T8, T9: the inside radius after a half turn.
#[test]
fn inside_radius_after_a_half_turn() {
    let mut rows = Rows::default();
    for row in &ROWS {
        let v = (row.vehicle)();
        let ctr_m = centerline_radius_m(&v);
        let half_width_m = v.units[v.units.len() - 1].width_m / 2.0;
        let inside = (guide(&v, ctr_m, 180.0).last_axle_m() - half_width_m) / FOOT_M;
        rows.near(&format!("{} CTR", row.name), ctr_m / FOOT_M, row.ctr, 1e-9);
        rows.near(&format!("{} inside", row.name), inside, row.inside.0, row.inside.1);
        // The independent integration is good to 0.01 ft and printed to 0.01.
        rows.near(&format!("{} inside, calculated", row.name), inside, row.calculated.0, 0.015);
    }
    rows.done(3 * 17);
}

/// A half turn at the published radius stays within the hitch angles the files allow, or the radius would not be one
/// the vehicle can turn.
#[test]
fn half_turns_keep_to_the_hitch_limits() {
    let mut turned = 0;
    for row in &ROWS {
        let v = (row.vehicle)();
        for (poses, _) in guide(&v, centerline_radius_m(&v), 180.0).poses {
            for (i, pair) in poses.windows(2).enumerate() {
                let angle = (pair[0].heading - pair[1].heading).abs();
                let limit = v.units[i].hitch.unwrap().max_angle_rad;
                assert!(angle <= limit, "{}: {} degrees", row.name, angle.to_degrees());
                turned += usize::from(angle > 0.3);
            }
        }
    }
    assert!(turned > 1000);
}

/// The lock angle equivalent to the file's turning circle, and the limit to which every long turn settles or, for long
/// trailers, that it does not settle: sum of squares (WHI, SAE J695, from memory), r' = sqrt(r^2 + S^2 - T^2).
#[test]
fn lock_and_steady_turn() {
    let mut rows = Rows::default();
    for row in &ROWS {
        let v = (row.vehicle)();
        let ctr_m = centerline_radius_m(&v);
        rows.near(&format!("{} lock", row.name), v.steering.lock_angle_rad.to_degrees(), row.lock_deg, 0.06);
        let mut square = 1.0 / (v.steering.max_curvature * v.steering.max_curvature);
        for pair in v.units.windows(2) {
            let s = pair[0].hitch.unwrap().behind_axle_m;
            square += s * s - pair[1].wheelbase_m * pair[1].wheelbase_m;
        }
        let half_width_m = v.units[v.units.len() - 1].width_m / 2.0;
        if let Some(steady) = row.calculated.1 {
            let by_squares = (square.sqrt() - half_width_m) / FOOT_M;
            rows.near(&format!("{} steady, by squares", row.name), by_squares, steady, 0.006);
            // Ten turns settle the slowest of them, P/B.
            let driven = (guide(&v, ctr_m, 3600.0).last_axle_at_arc_end_m() - half_width_m) / FOOT_M;
            rows.near(&format!("{} steady, driven", row.name), driven, by_squares, 1e-3);
        } else if row.name.starts_with("aashto-wb-6") {
            rows.run += 1;
            if square > 0.0 {
                rows.off.push(format!("{} has a steady turn", row.name));
            }
        }
    }
    rows.done(17 + 2 * 13 + 2);
}

/// T2, T3, T6 and the calculated column: the outer front corner, by Pythagoras and as driven.
#[test]
fn outer_front_corner() {
    let mut rows = Rows::default();
    // Green Book turning path figures as reproduced at dimensions.guide: 25'6", 43'6", 40'10".
    let published = [("aashto-p", 25.5), ("aashto-su-30", 43.5), ("aashto-wb-40", 40.0 + 10.0 / 12.0)];
    for row in &ROWS {
        let Some(corner) = row.corner else { continue };
        let v = (row.vehicle)();
        let lead = &v.units[0];
        let r = 1.0 / v.steering.max_curvature;
        let steady =
            turning::outer_corner_m(r, lead.width_m, lead.wheelbase_m, lead.front_overhang_m) / FOOT_M;
        let driven = guide(&v, centerline_radius_m(&v), 180.0).farthest_corner_m(&v) / FOOT_M;
        rows.near(&format!("{} corner, calculated", row.name), steady, corner, 0.006);
        // After a half turn a long rigid vehicle is still 0.1 ft short of its steady turn.
        rows.near(&format!("{} corner, driven", row.name), driven, steady, 0.12);
        if let Some((_, p)) = published.iter().find(|(name, _)| *name == row.name) {
            rows.near(&format!("{} corner", row.name), driven, *p, 0.1);
        }
    }
    rows.done(2 * 10 + 3);
}

/// Minimum design turning radius (outer front wheel), Green Book 2018 Table 2-5: P, WB-40, WB-62 as read at US Army
/// SDDC, the others from memory. It is only approximately the wheel's position (here: flush with the body), hence
/// half a foot.
#[test]
fn minimum_design_turning_radius() {
    let published = [
        ("aashto-p", 23.8),
        ("aashto-su-30", 41.8),
        ("aashto-su-40", 51.2),
        ("aashto-s-bus-36", 38.6),
        ("aashto-mh", 39.7),
        ("aashto-wb-40", 39.9),
        ("aashto-wb-62", 44.8),
        ("aashto-wb-67", 44.8),
        ("aashto-p-t", 32.9),
        ("aashto-p-b", 23.8),
        ("aashto-mh-b", 49.8),
    ];
    let mut rows = Rows::default();
    for (name, mdtr) in published {
        let v = library(name);
        let (lead, r) = (&v.units[0], 1.0 / v.steering.max_curvature);
        let wheel = turning::outer_corner_m(r, lead.width_m, lead.wheelbase_m, 0.0) / FOOT_M;
        rows.near(name, wheel, mdtr, 0.5);
    }
    rows.done(11);
}

/// Largest off-tracking of the last axle by angle of turn, feet: calculated by explicit Euler in 4e4 to 2e5 steps (good
/// to 0.01 ft); in this table only the 180-degree column is confirmed by published values.
#[test]
fn offtracking_by_turn_angle() {
    let table = [
        ("aashto-p", [1.56, 2.37, 2.77, 2.96, 3.08]),
        ("aashto-su-30", [2.85, 4.32, 5.05, 5.40, 5.63]),
        ("aashto-mh", [2.90, 4.46, 5.27, 5.68, 5.98]),
        ("aashto-p-t", [3.20, 5.16, 6.34, 7.04, 7.66]),
        ("aashto-p-b", [3.00, 5.11, 6.60, 7.67, 8.95]),
        ("aashto-mh-b", [3.61, 5.46, 6.34, 6.73, 6.95]),
        ("aashto-wb-40", [4.59, 7.66, 9.73, 11.12, 12.68]),
        ("aashto-wb-62", [7.79, 13.85, 18.73, 22.80, 29.33]),
        ("aashto-wb-67", [8.57, 15.43, 21.17, 26.15, 34.79]),
    ];
    let mut rows = Rows::default();
    for (name, published) in table {
        let v = library(name);
        let ctr_m = centerline_radius_m(&v);
        for (turn_deg, value) in [30.0, 60.0, 90.0, 120.0, 180.0].into_iter().zip(published) {
            let driven = (ctr_m - guide(&v, ctr_m, turn_deg).last_axle_m()) / FOOT_M;
            rows.near(&format!("{name} {turn_deg} degrees"), driven, value, 0.015);
        }
    }
    // With a hitch offset the largest can exceed the steady value: MH/B 6.98 at 270 degrees, P/T 7.91 at 360.
    for (name, turn_deg, value) in [("aashto-mh-b", 270.0, 6.98), ("aashto-p-t", 360.0, 7.91)] {
        let v = library(name);
        let ctr_m = centerline_radius_m(&v);
        let driven = (ctr_m - guide(&v, ctr_m, turn_deg).last_axle_m()) / FOOT_M;
        rows.near(&format!("{name} {turn_deg} degrees"), driven, value, 0.015);
    }
    rows.done(9 * 5 + 2);
}

/// The low-speed maneuver of the US DOT 2014 truck size and weight study (safety report, appendix C, figures C1 and
/// C2): front axle on 41 ft, 90 degrees, no spiral, straight out; largest off-tracking of the last axle, feet. The
/// maneuver was read in the source; the values are calculated from it.
#[test]
fn federal_low_speed_maneuver() {
    let mut rows = Rows::default();
    let table = [
        ("aashto-su-30", 4.746),
        ("aashto-p", 1.493),
        ("aashto-p-t", 4.968),
        ("aashto-wb-40", 8.932),
        ("aashto-wb-67", 21.17),
    ];
    for (name, value) in table {
        let driven = 41.0 - guide(&library(name), 41.0 * FOOT_M, 90.0).last_axle_m() / FOOT_M;
        rows.near(name, driven, value, 0.006);
    }
    rows.done(5);
}

/// Exact transient of one axle towed round a circle (closed form, derived; R > L): angle between path and body where
/// the arc ends, and the axle's distance inside the arc there.
#[test]
fn transient_at_the_end_of_an_arc() {
    let mut rows = Rows::default();
    // Wheelbase, radius, turn, angle in degrees, offset.
    let table = [
        ("20 ft", "41 ft", 90.0, 27.6175, 4.6579 * FOOT_M),
        ("11 ft", "41 ft", 90.0, 15.5091, 1.4929 * FOOT_M),
        ("2.7 m", "10 m", 90.0, 15.6082, 0.3688),
        ("6 m", "12 m", 90.0, 28.2341, 1.4228),
        ("6 m", "12 m", 180.0, 29.8847, 1.5956),
    ];
    for (l, r, turn_deg, angle_deg, offset_m) in table {
        let v = made(&[[l, "1 m", "1 m", "2 m", ""]], &centerline(r));
        let radius_m = centerline_radius_m(&v);
        let g = guide(&v, radius_m, turn_deg);
        let body = &g.poses[g.arc_end].0[0];
        let angle = turn_deg - body.heading.to_degrees();
        rows.near(&format!("L {l}, R {r}, {turn_deg}: angle"), angle, angle_deg, 1e-4);
        let offset = radius_m - g.last_axle_at_arc_end_m();
        rows.near(&format!("L {l}, R {r}, {turn_deg}: offset"), offset, offset_m, 1e-4);
    }
    rows.done(10);
}

/// Rear-corner outswing at lock, feet: calculated, sqrt((r + W/2)^2 + RO^2) - (r + W/2), and driven round a circle.
#[test]
fn rear_swing_out() {
    let mut rows = Rows::default();
    let table = [
        ("aashto-p", 0.58),
        ("aashto-su-30", 0.49),
        ("aashto-su-40", 1.23),
        ("aashto-s-bus-36", 2.20),
        ("aashto-mh", 0.53),
    ];
    for (name, value) in table {
        let v = library(name);
        let lead = &v.units[0];
        let r = 1.0 / v.steering.max_curvature;
        let out = turning::swing_out_m(r, lead.width_m, lead.rear_overhang_m) / FOOT_M;
        rows.near(name, out, value, 0.006);
        let rear = body_corners(lead).into_iter().filter(|c| c.x < 0.0);
        let far = rear.map(|c| c.distance(Point::new(0.0, r))).fold(0.0, f64::max);
        rows.near(&format!("{name}, outline"), (far - (r + lead.width_m / 2.0)) / FOOT_M, value, 0.006);
    }
    rows.done(10);
}
