//! Facts of the trade: common practice, no source. The program's answers must agree with the experience of people who
//! hang gates, in places built for the question.
use crate::common::{standard_site, unit, vehicle};
use std::f64::consts::FRAC_PI_2;
use wideenough::clearance::{CollisionModel, Surroundings, inspect};
use wideenough::geometry::Pose;
use wideenough::geometry::length::{FOOT_M, INCH_M};
use wideenough::motion::{Direction, Leg, Path, Segment, State};
use wideenough::opening::{DEFAULT_CLEARANCE_M, StudyOptions, Wanted, study};
use wideenough::site::Maneuver;
use wideenough::vehicle::{Vehicle, find};

fn library(name: &str) -> Vehicle {
    find(name).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Opening a library vehicle needs straight on with a clearance.
fn straight_on(name: &str, clearance_m: f64) -> f64 {
    needed(&library(name), clearance_m)
}

/// Opening a vehicle needs straight on, square to the gate: the inspection's, posts only.
fn needed(vehicle: &Vehicle, clearance_m: f64) -> f64 {
    let model = CollisionModel::new(
        vehicle,
        Surroundings::new(&standard_site(4.5), None, 0.0),
        clearance_m,
        f64::INFINITY,
    );
    let path = Path {
        start: State { lead: Pose::new(0.0, -25.0, FRAC_PI_2), ..State::default() },
        legs: vec![Leg { direction: Direction::Forward, segments: vec![Segment::arc(60.0, 0.0)] }],
    };
    inspect(&model, &path).opening_m
}

/// An 8-ft-wide pickup (over its mirrors) passes a 10-ft opening straight on with a comfortable margin.
#[test]
fn a_pickup_passes_ten_feet_straight_on() {
    let bare = straight_on("pickup", 0.0);
    assert!((bare - 8.0 * FOOT_M).abs() < 0.002, "8 ft over the mirrors: {bare}");
    assert!(straight_on("pickup", DEFAULT_CLEARANCE_M) <= 10.0 * FOOT_M);
}

/// Delivery box trucks and dump trucks need at least a 12-ft opening in comfort even straight on: 10 ft over the
/// mirrors and about a foot on each side. Our foot is 0.30 m, 4.8 mm short of one on each side, so the need comes to
/// 9.6 mm under 12 ft: within an inch.
#[test]
fn trucks_need_twelve_feet_straight_on() {
    for name in ["box-truck-26", "dump-truck"] {
        let need = straight_on(name, DEFAULT_CLEARANCE_M);
        assert!(need >= 12.0 * FOOT_M - INCH_M, "{name}: {need}");
        let bare = straight_on(name, 0.0);
        assert!((bare - 10.0 * FOOT_M).abs() < 0.003, "{name}: 10 ft over the mirrors: {bare}");
    }
}

/// Opening a load this wide needs straight on, in comfort, by driving it through.
fn wide_thing(width_m: f64) -> f64 {
    let body = unit("load", 4.0, 1.0, 5.0, width_m, None);
    needed(&vehicle("load", vec![body], 35.0, 1.5), DEFAULT_CLEARANCE_M)
}

/// A 12-ft drive goes with a 14-ft gate: a load as wide as the drive passes it in comfort, but not a gate a foot
/// narrower. An 11-ft drive goes with a 12-ft gate: that leaves half a foot a side to a load as wide as the drive, so
/// comfort is for loads that leave half a foot of the drive on each side.
#[test]
fn drives_go_with_their_gates() {
    let full = wide_thing(12.0 * FOOT_M);
    assert!(full <= 14.0 * FOOT_M && full > 13.0 * FOOT_M, "{full}");
    let filling = wide_thing(11.0 * FOOT_M);
    assert!(filling > 12.0 * FOOT_M, "an 11-ft load in a 12-ft gate is tight: {filling}");
    let within = wide_thing(10.0 * FOOT_M);
    assert!(within <= 12.0 * FOOT_M && within > 11.0 * FOOT_M, "{within}");
}

/// Backing a trailer in at an angle, or a motorhome, needs more than the pickup does in the same place.
#[test]
fn trailers_and_motorhomes_need_more_than_the_pickup() {
    let wanted: Vec<Wanted> = [
        ("pickup", Maneuver::DriveIn),
        ("pickup-bumper-pull-20", Maneuver::BackIn),
        ("motorhome", Maneuver::DriveIn),
    ]
    .into_iter()
    .map(|(name, maneuver)| Wanted {
        vehicle: library(name),
        visits: vec![maneuver.into()],
        travels: vec!["eastbound".to_owned()],
    })
    .collect();
    let answers = study(standard_site(4.5), &wanted, &StudyOptions::default(), &|_| {});
    let need: Vec<f64> = answers.cases.iter().map(|c| c.bare.opening_m.expect("each gets in")).collect();
    assert_eq!(need.len(), 3);
    assert!(need[1] > need[0] + 0.02 && need[2] > need[0] + 0.02, "{need:?}");
}
