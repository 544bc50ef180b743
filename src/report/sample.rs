//! A made-up study for the tests of this module: two vehicles at a 14-ft gate, every kind of answer once. The openings
//! are invented; the paths are real ones, so that a witness can be driven again.
use crate::geometry::{Outline, Point, Pose, Units};
use crate::motion::{Direction, Leg, MAX_TOWED, Path, Segment, State, Trajectory};
use crate::opening::{Answer, Case, Contact, Demanded, DrawnGate, Outcome, Study, VehicleNeed};
use crate::site::{
    Anchor, Arrangement, Faces, Frame, Gate, Ground, Leaves, Maneuver, Post, Road, RoadUse, Side, Site, Swing,
};
use crate::vehicle::{Hitch, Part, PartKind, Steering, Unit, Vehicle};

fn rectangle(x0: f64, x1: f64, half: f64) -> Outline {
    Outline(vec![Point::new(x0, -half), Point::new(x1, -half), Point::new(x1, half), Point::new(x0, half)])
}

fn site() -> Site {
    let surface = Ground { label: "road".to_owned(), outer: rectangle(-40.0, 40.0, 3.0), holes: vec![] };
    Site {
        note: String::new(),
        permit: crate::site::Permit::default(),
        warnings: Vec::new(),
        title: "North field entrance".to_owned(),
        units: Units::Feet,
        drives_on: Side::Right,
        frame: Frame::LonLat { lon_deg: -93.5, lat_deg: 42.0 },
        north_known: true,
        roads: vec![Road {
            surface,
            centerline: vec![Point::new(-40.0, 0.0), Point::new(40.0, 0.0)],
            width_m: 6.0,
            usage: RoadUse::Full,
            continues: crate::site::RoadEnds { start: true, end: true },
            speed: None,
        }],
        beside_gate: 0,
        drives: vec![],
        gate: Gate {
            left: Point::new(-2.1336, 7.572),
            right: Point::new(2.1336, 7.572),
            inward: Point::new(0.0, 1.0),
            post: Post { width_m: 0.3, depth_m: 0.3, top_m: 1.8 },
            leaves: Leaves {
                arrangement: Arrangement::Double,
                opens: Swing::In,
                open_angle_rad: std::f64::consts::FRAC_PI_2,
                thickness_m: 0.05,
                bottom_m: 0.1,
                top_m: 1.2,
            },
            anchor: Anchor::Center,
            setback_m: 4.572,
            skew_rad: 0.0,
        },
        fences: vec![],
        obstacles: vec![],
        spots: vec![],
        routes: vec![],
        boundaries: vec![],
        vehicles: vec![],
    }
}

fn unit(name: &str, wheelbase_m: f64, half_width_m: f64, hitch: Option<Hitch>) -> Unit {
    let part = Part {
        kind: PartKind::Body,
        outline: rectangle(-1.5, wheelbase_m + 1.0, half_width_m),
        bottom_m: 0.3,
        top_m: 3.0,
    };
    Unit {
        name: name.to_owned(),
        wheelbase_m,
        front_overhang_m: 1.0,
        rear_overhang_m: 1.5,
        width_m: 2.0 * half_width_m,
        height_m: 3.0,
        ground_clearance_m: 0.3,
        parts: vec![part],
        tires: vec![],
        hitch,
    }
}

fn vehicle(name: &str, title: &str, units: Vec<Unit>) -> Vehicle {
    Vehicle {
        name: name.to_owned(),
        title: title.to_owned(),
        about: String::new(),
        units,
        steering: Steering { lock_angle_rad: 0.6, max_curvature: 0.17, lock_distance_m: 3.0, ratio: None },
        dimensions: vec![],
    }
}

/// A left turn into the gate: straight, spiral in, arc, spiral out, straight; then a little back.
pub(crate) fn path() -> Path {
    let k = 0.123_456_789_012_345;
    let segment =
        |length_m, curvature_start, curvature_end| Segment { length_m, curvature_start, curvature_end };
    let forward = vec![
        segment(4.000_000_123_4, 0.0, 0.0),
        segment(2.5, 0.0, k),
        segment(9.7, k, k),
        segment(2.5, k, 0.0),
        segment(6.0, 0.0, 0.0),
    ];
    let start =
        State { lead: Pose::new(-20.0, -1.500_000_000_4, 0.0), hitch: [0.01, 0.0, 0.0], curvature: 0.0 };
    assert_eq!(start.hitch.len(), MAX_TOWED);
    Path {
        start,
        legs: vec![
            Leg { direction: Direction::Forward, segments: forward },
            Leg { direction: Direction::Reverse, segments: vec![segment(1.2, 0.05, -0.05)] },
        ],
    }
}

pub(crate) fn contact(what: &str) -> Contact {
    Contact {
        thing: crate::clearance::Thing::Obstacle(0),
        what: what.to_owned(),
        part: "box truck body".to_owned(),
        at: Point::new(-2.1336, 7.422),
        from: Point::new(-2.0, 7.4),
        gap_m: 0.133_612_39,
        station_m: 17.25,
    }
}

pub(crate) fn found(opening_m: f64, at_least_m: f64) -> Answer {
    Answer {
        opening_m: Some(opening_m),
        faces_u_m: Some(Faces::centered(opening_m)),
        tightest: Some(contact("left post")),
        witness: Some(Trajectory::new(path())),
        work: 12_345,
        ..Answer::new(Outcome::Found, at_least_m)
    }
}

pub(crate) fn not_found(outcome: Outcome) -> Answer {
    Answer { work: 99, ..Answer::new(outcome, 2.44) }
}

pub(crate) fn case(
    vehicle: usize,
    travel: &str,
    maneuver: Maneuver,
    bare: Answer,
    comfortable: Answer,
    drawn_gate: DrawnGate,
) -> Case {
    let contacts = vec![contact("left post")];
    Case { drawn_gate, contacts, ..Case::new(vehicle, travel.to_owned(), maneuver, bare, comfortable) }
}

/// The study.
pub(crate) fn study() -> Study {
    use DrawnGate::{Comfortable, No, Tight};
    use Maneuver::{BackIn, DriveIn};
    let truck = vehicle("box-truck-26", "box truck", vec![unit("box truck", 5.0, 1.3, None)]);
    let hitch = Hitch { behind_axle_m: 1.2, max_angle_rad: 0.9 };
    let rig = vehicle(
        "pickup-trailer",
        "pickup with trailer",
        vec![unit("pickup", 3.7, 1.0, Some(hitch)), unit("trailer", 5.0, 1.2, None)],
    );
    let forbidden = || not_found(Outcome::Impossible("the apron is narrower than the tires.".to_owned()));
    let given_up = || not_found(Outcome::GaveUp("the far ditch stood in the way most".to_owned()));
    let mut route = case(0, "eastbound", DriveIn, found(4.3, 2.6), given_up(), No);
    route.route = Some("Owner's line".to_owned());
    Study {
        site: site(),
        vehicles: vec![truck, rig],
        demanded: vec![Demanded::Either; 2],
        clearance_m: 0.3,
        shunts: 0,
        proved: false,
        cases: vec![
            // 13' 9" is 4.191 m, 15' 9" is 4.8006 m.
            case(0, "eastbound", DriveIn, found(4.18, 2.44), found(4.79, 3.04), Tight),
            case(0, "eastbound", BackIn, found(4.5, 2.44), found(5.0, 3.04), No),
            case(0, "westbound", DriveIn, found(3.5, 2.44), found(4.1, 3.04), Comfortable),
            case(0, "westbound", BackIn, forbidden(), forbidden(), No),
            case(1, "eastbound", DriveIn, found(3.2, 2.44), found(3.800_05, 3.04), Comfortable),
            case(1, "eastbound", BackIn, given_up(), given_up(), No),
            case(1, "westbound", DriveIn, found(5.123_44, 2.440_09), given_up(), No),
            case(1, "westbound", BackIn, given_up(), given_up(), No),
            route,
        ],
        turns: vec![],
        gate: None,
        sight: None,
        driving: Vec::new(),
        fixes: None,
        needs: vec![
            VehicleNeed {
                vehicle: 0,
                bare_opening_m: Some(4.18),
                comfortable_opening_m: Some(4.79),
                governed_by: Some(0),
                backing_in: None,
            },
            VehicleNeed {
                vehicle: 1,
                bare_opening_m: Some(5.123_44),
                comfortable_opening_m: None,
                governed_by: Some(6),
                backing_in: None,
            },
        ],
        notes: vec!["the fence meets the gate line at the left post only.".to_owned()],
        tradeoffs: vec![],
        placement: None,
    }
}
