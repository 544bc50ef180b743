//! Sight distances against published values: intersection and stopping sight distance of the United States, and the
//! stopping distances of United Kingdom streets and trunk roads.
use wideenough::sight::{
    Class, Given, TrafficLane, gap_s, required_m, road_stopping_m, sight_rule, stopping_ft, stopping_m,
    time_gap_ft,
};
use wideenough::site::{Speed, SpeedKind};
use wideenough::vehicle;

const FOOT_M: f64 = 0.3048;
const MPH: f64 = 0.44704;

fn asked(rule: &str, speed: &str, class: Class, lane: TrafficLane) -> f64 {
    let speed = Speed::parse(speed, SpeedKind::Percentile85).unwrap();
    required_m(sight_rule(rule).unwrap(), Some(&speed), class, lane, &Given::default()).unwrap()
}

/// Passenger car from a stop: mph, left turn, right turn or crossing, feet, as published.
const CAR: [(f64, f64, f64); 13] = [
    (15.0, 170.0, 145.0),
    (20.0, 225.0, 195.0),
    (25.0, 280.0, 240.0),
    (30.0, 335.0, 290.0),
    (35.0, 390.0, 335.0),
    (40.0, 445.0, 385.0),
    (45.0, 500.0, 430.0),
    (50.0, 555.0, 480.0),
    (55.0, 610.0, 530.0),
    (60.0, 665.0, 575.0),
    (65.0, 720.0, 625.0),
    (70.0, 775.0, 670.0),
    // Not in the table: halfway, as a check that nothing but the formula is used.
    (32.5, 360.0, 315.0),
];

#[test]
fn intersection_sight_distance_of_cars_is_the_published_one() {
    for (mph, left, right) in CAR {
        let speed = format!("{mph} mph");
        let feet = |lane| asked("us", &speed, Class::PassengerCar, lane) / FOOT_M;
        assert!((feet(TrafficLane::Far) - left).abs() < 1e-9, "{mph}: {}", feet(TrafficLane::Far));
        assert!((feet(TrafficLane::Near) - right).abs() < 1e-9, "{mph}: {}", feet(TrafficLane::Near));
    }
}

#[test]
fn trucks_and_combinations_need_their_longer_gaps() {
    let rows = [
        (25.0, 350.0, 425.0),
        (30.0, 420.0, 510.0),
        (35.0, 490.0, 595.0),
        (45.0, 630.0, 765.0),
        (55.0, 770.0, 930.0),
    ];
    for (mph, truck, combination) in rows {
        let speed = format!("{mph} mph");
        let feet = |class| asked("us", &speed, class, TrafficLane::Far) / FOOT_M;
        assert!((feet(Class::SingleUnit) - truck).abs() < 1e-9);
        assert!((feet(Class::Combination) - combination).abs() < 1e-9);
    }
    for (name, class) in [
        ("aashto-p", Class::PassengerCar),
        ("car", Class::PassengerCar),
        ("pickup", Class::PassengerCar),
        ("aashto-su-30", Class::SingleUnit),
        ("school-bus", Class::SingleUnit),
        ("aashto-wb-62", Class::Combination),
        ("pickup-travel-trailer", Class::Combination),
    ] {
        assert_eq!(Class::of(&vehicle::find(name).unwrap()), class, "{name}");
    }
}

#[test]
fn metric_distances_round_up_to_five_meters() {
    let rows = [(20, 45, 40), (30, 65, 55), (40, 85, 75), (50, 105, 95), (60, 130, 110), (70, 150, 130)];
    for (kmh, left, right) in rows {
        let speed = format!("{kmh} km/h");
        let meters = |lane| asked("us", &speed, Class::PassengerCar, lane);
        assert!((meters(TrafficLane::Far) - f64::from(left)).abs() < 1e-9, "{kmh}");
        assert!((meters(TrafficLane::Near) - f64::from(right)).abs() < 1e-9, "{kmh}");
    }
}

#[test]
fn a_further_lane_is_the_worked_example() {
    let gap = gap_s(Class::PassengerCar, TrafficLane::Far, 1, 0.0);
    assert!((time_gap_ft(45.0, gap) - 529.2).abs() < 1e-9);
    assert!((gap_s(Class::SingleUnit, TrafficLane::Far, 2, 0.0) - 10.9).abs() < 1e-9);
    // Up to 3 percent nothing is added.
    assert_eq!(gap_s(Class::SingleUnit, TrafficLane::Near, 0, 3.0), 8.5);
    assert!((gap_s(Class::SingleUnit, TrafficLane::Near, 0, 6.0) - 9.1).abs() < 1e-9);
}

#[test]
fn stopping_sight_distance_is_the_published_one() {
    let rows = [
        (15.0, 76.7, 80.0),
        (20.0, 111.9, 115.0),
        (25.0, 151.9, 155.0),
        (30.0, 196.7, 200.0),
        (35.0, 246.2, 250.0),
        (40.0, 300.6, 305.0),
        (45.0, 359.8, 360.0),
        (50.0, 423.8, 425.0),
        (55.0, 492.4, 495.0),
        (60.0, 566.0, 570.0),
        (65.0, 644.4, 645.0),
        (70.0, 727.6, 730.0),
        (75.0, 815.5, 820.0),
        (80.0, 908.3, 910.0),
    ];
    for (mph, calculated, design) in rows {
        assert!((stopping_ft(mph, 0.0) - calculated).abs() <= 0.2, "{mph}: {}", stopping_ft(mph, 0.0));
        let feet = asked("clemmons", &format!("{mph} mph"), Class::Combination, TrafficLane::Near) / FOOT_M;
        assert!((feet - design).abs() < 1e-9, "{mph}: {feet}");
    }
    let grades = [(-0.09, 226.6), (-0.06, 214.5), (-0.03, 204.6), (0.03, 189.7), (0.06, 183.8)];
    for (grade, feet) in grades {
        assert!((stopping_ft(30.0, grade) - feet).abs() < 0.06, "{grade}: {}", stopping_ft(30.0, grade));
    }
    assert!(stopping_ft(30.0, -0.5).is_infinite());
}

#[test]
fn streets_and_trunk_roads_of_the_united_kingdom() {
    let streets =
        [(20.0, 25.0, 27.0), (25.0, 33.0, 36.0), (30.0, 43.0, 47.0), (35.0, 54.0, 59.0), (40.0, 65.0, 73.0)];
    for (mph, light, heavy) in streets {
        let speed = format!("{mph} mph");
        assert_eq!(asked("uk-streets", &speed, Class::PassengerCar, TrafficLane::Near), light);
        assert_eq!(asked("uk-streets", &speed, Class::SingleUnit, TrafficLane::Far), heavy);
        // The published rows are the formula and 2.4 m of hood.
        assert!((stopping_m(mph * MPH, 1.5, 0.45) + 2.4 - light).abs() < 0.5, "{mph}");
        assert!((stopping_m(mph * MPH, 1.5, 0.375) + 2.4 - heavy).abs() < 0.5, "{mph}");
    }
    let trunk = [(50.0, 70.0), (60.0, 90.0), (70.0, 120.0), (85.0, 160.0), (100.0, 215.0), (120.0, 295.0)];
    for (kmh, meters) in trunk {
        assert_eq!(
            asked("uk-trunk-roads", &format!("{kmh} km/h"), Class::Combination, TrafficLane::Far),
            meters
        );
        assert!((stopping_m(kmh / 3.6, 2.0, 0.25) - meters).abs() <= 5.0, "{kmh}");
    }
    // Between two rows the next higher one.
    assert_eq!(asked("uk-streets", "26 mph", Class::PassengerCar, TrafficLane::Near), 43.0);
    assert_eq!(asked("uk-trunk-roads", "51 km/h", Class::PassengerCar, TrafficLane::Near), 90.0);
}

/// The stopping distance that a rule holds a road to is that of its own country.
#[test]
fn each_rule_stops_as_its_country_does() {
    let stopping = |rule: &str, speed: &str| {
        let speed = Speed::parse(speed, SpeedKind::Percentile85).unwrap();
        road_stopping_m(sight_rule(rule).unwrap(), Some(&speed)).unwrap()
    };
    // United States, 30 mph: 196.7 ft, as published 200 ft.
    assert!((stopping("us", "30 mph") / FOOT_M - 200.0).abs() < 1e-9);
    // Leicestershire's rows less 2.4 m of hood, to the meter they are rounded to: 43 m at 30 mph, 65 m at 40 mph.
    for (speed, published) in [("30 mph", 43.0), ("40 mph", 65.0)] {
        assert!((stopping("uk-streets", speed) + 2.4 - published).abs() < 0.5, "{speed}");
    }
    // Trunk roads, 85 km/h: 160 m, with 2 s and 0.25 g 160.9 m.
    assert!((stopping("uk-trunk-roads", "85 km/h") - 160.9).abs() < 0.1);
}

#[test]
fn local_rules() {
    let feet = |rule: &str, speed: &str| asked(rule, speed, Class::PassengerCar, TrafficLane::Far) / FOOT_M;
    let rows = [(25, 150), (30, 175), (35, 225), (40, 275), (45, 325), (50, 350), (65, 350)];
    for (mph, distance) in rows {
        assert!((feet("orlando", &format!("{mph} mph")) - f64::from(distance)).abs() < 1e-9);
    }
    // 110.25 + 100 ft at 30 mph, which is 5 over a posted 25.
    assert!((feet("pennsylvania-township", "30 mph") - 210.25).abs() < 1e-9);
    let posted = Speed::parse("25 mph", SpeedKind::Posted).unwrap();
    let rule = sight_rule("pennsylvania-township").unwrap();
    let m =
        required_m(rule, Some(&posted), Class::PassengerCar, TrafficLane::Far, &Given::default()).unwrap();
    assert!((m / FOOT_M - 210.25).abs() < 1e-9);
}

#[test]
fn where_a_rule_has_no_distance_it_says_why() {
    let fast = Speed::parse("50 mph", SpeedKind::Posted).unwrap();
    let ask = |rule, speed, given: &Given| {
        required_m(sight_rule(rule).unwrap(), speed, Class::PassengerCar, TrafficLane::Near, given)
    };
    let nothing = Given::default();
    assert!(ask("uk-streets", Some(&fast), &nothing).unwrap_err().contains("uk-trunk-roads"));
    assert!(ask("us", None, &nothing).unwrap_err().contains("\"speed\""));
    // No figure of the Northern Ireland tables was read: it must come from the user.
    assert!(ask("northern-ireland", Some(&fast), &nothing).unwrap_err().contains("--sight-y"));
    let given = Given { eye_back_m: Some(2.4), along_m: Some(60.0) };
    assert_eq!(ask("northern-ireland", None, &given), Ok(60.0));
}
