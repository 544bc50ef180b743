//! Sites and vehicles built by hand, shared by the tests.
#![allow(dead_code, reason = "each test uses some of it")]
pub mod cards;
pub mod drives;
pub mod plain;
pub mod random;
pub mod sight_plan;
use wideenough::geometry::{Outline, Point, Shape, Units};
use wideenough::search::lane::Lane;
use wideenough::site::{
    Anchor, Arrangement, Frame, Gate, Ground, Leaves, Obstacle, Post, Road, RoadUse, Side, Site, Swing,
};
use wideenough::vehicle::{Hitch, Part, PartKind, Steering, Tire, Unit, Vehicle};

/// True if `EVERY_CASE` is set, as in `.ci/run`: tests of many alike cases then try all of them, and otherwise a part.
pub fn every_case() -> bool {
    std::env::var_os("EVERY_CASE").is_some()
}

/// A plan that is sound: a 20-ft road, a 14-ft gate 15 ft back, in feet.
pub const PLAN: &str = r#"{ "type": "FeatureCollection",
  "plan": { "title": "Test yard", "coordinates": "local-ft", "units": "ft", "vehicles": ["car"] },
  "features": [
    { "type": "Feature", "properties": { "role": "road", "width": "20 ft", "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-150, 0], [150, 0]] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
      "geometry": { "type": "LineString", "coordinates": [[-7, 25], [7, 25]] } }
  ] }
"#;

pub fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Outline {
    Outline(vec![Point::new(x0, y0), Point::new(x1, y0), Point::new(x1, y1), Point::new(x0, y1)])
}

/// A unit of a box body and, with `mirrors` = (from, to, full width), two mirrors.
pub fn unit(
    name: &str,
    wheelbase: f64,
    rear: f64,
    front: f64,
    width: f64,
    mirrors: Option<(f64, f64, f64)>,
) -> Unit {
    let half = width / 2.0;
    let mut parts = vec![Part {
        kind: PartKind::Body,
        outline: rectangle(-rear, -half, front, half),
        bottom_m: 0.25,
        top_m: 2.5,
    }];
    if let Some((from, to, full)) = mirrors {
        for (y0, y1) in [(half, full / 2.0), (-full / 2.0, -half)] {
            let outline = rectangle(from, y0, to, y1);
            parts.push(Part { kind: PartKind::Mirror, outline, bottom_m: 1.2, top_m: 1.8 });
        }
    }
    let tire = |x: f64, y: f64| Tire { center: Point::new(x, y), width_m: 0.25, steered: false };
    let y = half - 0.13;
    Unit {
        name: name.to_owned(),
        wheelbase_m: wheelbase,
        front_overhang_m: front - wheelbase,
        rear_overhang_m: rear,
        width_m: width,
        height_m: 2.5,
        ground_clearance_m: 0.25,
        parts,
        tires: vec![tire(0.0, y), tire(0.0, -y), tire(wheelbase, y), tire(wheelbase, -y)],
        hitch: None,
    }
}

pub fn vehicle(name: &str, units: Vec<Unit>, lock_deg: f64, lock_distance_m: f64) -> Vehicle {
    let lock_angle_rad = lock_deg.to_radians();
    let max_curvature = wideenough::geometry::trig::tan(lock_angle_rad) / units[0].wheelbase_m;
    Vehicle {
        name: name.to_owned(),
        title: name.to_owned(),
        about: String::new(),
        dimensions: Vec::new(),
        units,
        steering: Steering { lock_angle_rad, max_curvature, lock_distance_m, ratio: None },
    }
}

pub fn pickup() -> Vehicle {
    let body = unit("pickup", 3.70, 1.20, 4.65, 2.05, Some((2.60, 2.85, 2.4384)));
    vehicle("pickup", vec![body], 37.0, 1.5)
}

pub fn box_truck() -> Vehicle {
    let body = unit("box truck", 6.10, 2.70, 7.30, 2.44, Some((6.10, 6.30, 3.00)));
    vehicle("box-truck", vec![body], 40.0, 2.0)
}

pub fn gooseneck() -> Vehicle {
    let mut lead = unit("pickup", 4.30, 1.30, 5.30, 2.44, Some((3.20, 3.45, 2.90)));
    lead.hitch = Some(Hitch { behind_axle_m: -0.10, max_angle_rad: 80f64.to_radians() });
    let mut trailer = unit("trailer", 8.80, 3.00, 7.30, 2.59, None);
    trailer.tires.truncate(2);
    vehicle("gooseneck", vec![lead, trailer], 37.0, 1.5)
}

/// The standard problem: straight road 6 m wide along x, a wall along its far edge, posts and fence 0.40 m deep whose
/// outer faces stand `setback` beyond the near edge (y = 0), no leaves, tires anywhere.
pub fn standard_site(setback: f64) -> Site {
    let wall = Shape { outer: rectangle(-200.0, -6.3, 200.0, -6.0), holes: vec![], radius_m: 0.0 };
    let line_y = setback + 0.2;
    let fence = |x0: f64, x1: f64| wideenough::site::Fence {
        label: "fence".to_owned(),
        line: vec![Point::new(x0, line_y), Point::new(x1, line_y)],
        thickness_m: 0.4,
        top_m: 2.0,
    };
    Site {
        note: String::new(),
        permit: wideenough::site::Permit::default(),
        warnings: Vec::new(),
        title: "standard problem".to_owned(),
        units: Units::Meters,
        drives_on: Side::Right,
        frame: Frame::Local { meters_per_unit: 1.0 },
        north_known: true,
        roads: vec![Road {
            surface: Ground {
                label: "road".to_owned(),
                outer: rectangle(-200.0, -6.0, 200.0, 0.0),
                holes: vec![],
            },
            centerline: vec![Point::new(-200.0, -3.0), Point::new(200.0, -3.0)],
            width_m: 6.0,
            usage: RoadUse::Full,
            continues: wideenough::site::RoadEnds { start: true, end: true },
            speed: None,
        }],
        beside_gate: 0,
        drives: vec![],
        gate: Gate {
            left: Point::new(-2.0, line_y),
            right: Point::new(2.0, line_y),
            inward: Point::new(0.0, 1.0),
            post: Post { width_m: 0.4, depth_m: 0.4, top_m: 2.0 },
            leaves: Leaves {
                arrangement: Arrangement::None,
                opens: Swing::In,
                open_angle_rad: std::f64::consts::FRAC_PI_2,
                thickness_m: 0.05,
                bottom_m: 0.1,
                top_m: 1.5,
            },
            anchor: Anchor::Center,
            setback_m: setback + 0.2,
            skew_rad: 0.0,
        },
        fences: vec![fence(-200.0, -2.0), fence(2.0, 200.0)],
        obstacles: vec![Obstacle {
            label: "far wall".to_owned(),
            shapes: vec![wall],
            bottom_m: 0.0,
            top_m: 3.0,
        }],
        spots: vec![],
        routes: vec![],
        boundaries: vec![],
        vehicles: vec![],
    }
}

/// The standard place with a gate this wide, without the wall along the far edge of the road: beside it a vehicle in
/// its lane has no more room than the lane leaves, however wide the gate.
pub fn open_place(setback: f64, opening_m: f64, arrangement: Arrangement) -> Site {
    let mut site = standard_site(setback);
    site.obstacles.clear();
    let half = 0.5 * opening_m;
    site.gate.left.x = -half;
    site.gate.right.x = half;
    site.gate.leaves.arrangement = arrangement;
    site.fences[0].line[1].x = -half;
    site.fences[1].line[0].x = half;
    site
}

/// The lane a vehicle of this width starts in on the standard road, in the gate's frame of [`standard_site`].
pub fn standard_lane(setback: f64, eastbound: bool, width: f64) -> Lane {
    let y = if eastbound { -4.5 } else { -1.5 } - (setback + 0.2);
    let (a, b) = (Point::new(-200.0, y), Point::new(200.0, y));
    let line = if eastbound { vec![a, b] } else { vec![b, a] };
    let play = ((3.0 - width) / 2.0).max(0.0);
    Lane { other_half_m: 3.0, ..Lane::new(line, (-play, play)) }
}

/// The car of the narrow-road problems: no limit on how fast it is steered.
pub fn car() -> Vehicle {
    let body = unit("car", 2.7, 0.95, 3.65, 1.85, None);
    let mut car = vehicle("car", vec![body], 30.0, 0.0);
    car.steering.max_curvature = 1.0 / 4.6;
    car
}

/// A road `width` wide between a wall and a thin gate line along its other edge; the car may start anywhere across it.
pub fn narrow_road(width: f64) -> (Site, Lane) {
    let mut site = standard_site(0.0);
    site.gate.left = Point::new(-1.5, 0.0);
    site.gate.right = Point::new(1.5, 0.0);
    site.gate.post.depth_m = 0.0;
    site.fences.clear();
    site.roads[0].surface.outer = rectangle(-200.0, -width, 200.0, 0.0);
    site.obstacles[0].shapes[0].outer = rectangle(-200.0, -width - 0.3, 200.0, -width);
    let play = (width - 1.85) / 2.0;
    let line = vec![Point::new(-200.0, -width / 2.0), Point::new(200.0, -width / 2.0)];
    (site, Lane::new(line, (-play, play)))
}

/// The standard site with its gate line turned by `skew_deg` (counterclockwise) around the middle of the gate, and the
/// lane in that gate's frame.
pub fn skewed_site(setback: f64, skew_deg: f64, eastbound: bool, width: f64) -> (Site, Lane) {
    let mut site = standard_site(setback);
    let middle = site.gate.center();
    let turn = skew_deg.to_radians();
    let about = |p: Point| {
        let (s, c) = wideenough::geometry::trig::sin_cos(turn);
        let d = p - middle;
        middle + Point::new(d.x * c - d.y * s, d.x * s + d.y * c)
    };
    site.gate.left = about(site.gate.left);
    site.gate.right = about(site.gate.right);
    site.gate.inward = about(middle + Point::new(0.0, 1.0)) - middle;
    site.gate.skew_rad = turn;
    // The fence ends before it meets the road.
    let reach =
        if skew_deg == 0.0 { 200.0 } else { 0.9 * setback / wideenough::geometry::trig::sin(turn.abs()) };
    for fence in &mut site.fences {
        for p in &mut fence.line {
            p.x = p.x.clamp(-reach, reach);
            *p = about(*p);
        }
    }
    let y = if eastbound { -4.5 } else { -1.5 };
    let frame = wideenough::clearance::GateFrame::of(&site.gate).origin;
    let (a, b) = (frame.to_body(Point::new(-200.0, y)), frame.to_body(Point::new(200.0, y)));
    let line = if eastbound { vec![a, b] } else { vec![b, a] };
    let play = ((3.0 - width) / 2.0).max(0.0);
    (site, Lane { other_half_m: 3.0, ..Lane::new(line, (-play, play)) })
}

/// Adds a pole 0.3 m thick.
pub fn add_pole(site: &mut Site, x: f64, y: f64) {
    let outline = (0..12).map(|i| {
        let (s, c) = wideenough::geometry::trig::sin_cos(std::f64::consts::TAU * f64::from(i) / 12.0);
        Point::new(x + 0.15 * c, y + 0.15 * s)
    });
    site.obstacles.push(Obstacle {
        label: "pole".to_owned(),
        shapes: vec![Shape { outer: Outline(outline.collect()), holes: vec![], radius_m: 0.0 }],
        bottom_m: 0.0,
        top_m: 5.0,
    });
}

/// Region tires may use: the road and an apron from `half_road` either side of the middle at the road to `half_gate` at
/// the gate line and on inside.
pub fn apron(site: &Site, setback: f64, half_road: f64, half_gate: f64) -> wideenough::clearance::Region {
    let apron = Outline(
        [
            (-half_road, -0.5),
            (half_road, -0.5),
            (half_gate, setback + 0.2),
            (half_gate, 60.0),
            (-half_gate, 60.0),
            (-half_gate, setback + 0.2),
        ]
        .map(|(x, y)| Point::new(x, y))
        .to_vec(),
    );
    let none: &[Outline] = &[];
    let frame = wideenough::clearance::GateFrame::of(&site.gate).origin;
    wideenough::clearance::Region::new(&[(&site.roads[0].surface.outer, none), (&apron, none)], &frame)
        .expect("polygons")
}

/// A search problem with the best opening known.
pub struct TestCase {
    pub name: String,
    pub vehicle: Vehicle,
    pub surroundings: wideenough::clearance::Surroundings,
    pub lane: Lane,
    pub maneuver: wideenough::site::Maneuver,
    pub shunts: u32,
    pub known_m: f64,
}

impl TestCase {
    pub fn new(vehicle: Vehicle, site: &Site, lane: Lane, maneuver: wideenough::site::Maneuver) -> Self {
        Self::on(vehicle, site, None, lane, maneuver)
    }

    pub fn on(
        vehicle: Vehicle,
        site: &Site,
        ground: Option<&wideenough::clearance::Region>,
        lane: Lane,
        maneuver: wideenough::site::Maneuver,
    ) -> Self {
        let surroundings = wideenough::clearance::Surroundings::new(site, ground, 0.0);
        Self { name: String::new(), vehicle, surroundings, lane, maneuver, shunts: 0, known_m: f64::NAN }
    }
}
