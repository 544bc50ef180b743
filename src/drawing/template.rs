//! A turning template sheet: a vehicle led through turns by the middle of its front axle, as published turning paths
//! are drawn.
use super::case::{nose, unit_items};
use super::scene::{Geom, Item, Label, PANEL_WIDTH, Panel, Role, Sheet, View};
use crate::geometry::length::{Round, Units, show};
use crate::geometry::{Outline, Point, Pose};
use crate::motion::{Chain, Direction, Leg, Path, Sample, Segment, State};
use crate::sweep::{DRAWING_TOLERANCE_M, Envelope, SweepError, body_envelope_led_by_front_axle};
use crate::vehicle::Vehicle;
use std::f64::consts::{FRAC_PI_2, TAU};

/// Spacing of the samples wheel paths are drawn from.
const SAMPLE_M: f64 = 0.1;

/// Radius of the front axle's middle at full lock: the tightest arc a template may ask for.
///
/// With the rear axle's middle on the radius 1/k and the wheelbase L, √(1/k² + L²).
#[must_use]
pub fn tightest_radius_m(vehicle: &Vehicle) -> f64 {
    let wheelbase = vehicle.units.first().map_or(0.0, |unit| unit.wheelbase_m);
    let rear = if vehicle.steering.max_curvature > 0.0 {
        1.0 / vehicle.steering.max_curvature
    } else {
        f64::INFINITY
    };
    (rear * rear + wheelbase * wheelbase).sqrt()
}

/// The sheet of a vehicle's turns by these angles, degrees, on an arc of this radius (the tightest if none is given,
/// or if a tighter one is).
///
/// # Errors
/// A [`SweepError`] for a vehicle that cannot be swept.
pub fn template_sheet(
    vehicle: &Vehicle,
    turns_deg: &[f64],
    radius_m: Option<f64>,
    units: Units,
) -> Result<Sheet, SweepError> {
    let tightest = tightest_radius_m(vehicle);
    let radius = radius_m.map_or(tightest, |r| r.max(tightest));
    if !radius.is_finite() || vehicle.units.is_empty() {
        return Err(SweepError::Nothing);
    }
    let length = |m: f64| show(m, units, Round::Nearest);
    let mut panels = Vec::new();
    for turn_deg in turns_deg {
        let around =
            |points: &[Point]| View::around(points, Point::new(0.0, 1.0), PANEL_WIDTH, 1.0, 0.4, 1.1);
        panels.push(turn(vehicle, *turn_deg, radius, units, &around)?);
    }
    let mut lines =
        vec![format!("Turning template: middle of the front axle on a radius of {}", length(radius))];
    lines.push(if radius > tightest + 1e-6 {
        format!("The tightest this vehicle can turn is {}.", length(tightest))
    } else {
        "This is the tightest it can turn, at walking speed, wheels turned while standing.".to_owned()
    });
    Ok(Sheet {
        title: vehicle.title.clone(),
        description: format!("{}: {}", vehicle.title, lines.join(". ")),
        lines,
        panels,
        legend: true,
        notes: vec![super::case::CAUTION.to_owned()],
    })
}

/// The path of the front axle's middle: straight, the arc to the left, straight until the last unit has settled.
#[must_use]
pub fn template_path(vehicle: &Vehicle, turn_deg: f64, radius_m: f64) -> Path {
    let reach = vehicle.length_m();
    let segments = vec![
        Segment::arc(0.3 * reach, 0.0),
        Segment::arc(radius_m * turn_deg.to_radians(), 1.0 / radius_m),
        Segment::arc(1.2 * reach, 0.0),
    ];
    let start = State { lead: Pose::new(-0.3 * reach, -radius_m, 0.0), ..State::default() };
    Path { start, legs: vec![Leg { direction: Direction::Forward, segments }] }
}

/// The smallest distance from the turn's center, at the origin, of ground covered; and the largest of ground beside
/// the arc itself, from where it begins (below the center) to where it has turned by `turn_deg`.
#[must_use]
pub fn radii_about_center(swept: &Envelope, turn_deg: f64) -> (f64, f64) {
    let turn = turn_deg.to_radians();
    let beside = |p: Point| {
        let angle = p.angle() + FRAC_PI_2;
        (if angle < 0.0 { angle + TAU } else { angle }) <= turn
    };
    let mut radii = (f64::MAX, 0.0_f64);
    for (a, b) in swept.rings().iter().flatten().flat_map(|ring| ring.edges().collect::<Vec<_>>()) {
        let d = b - a;
        let part = if d.norm2() > 0.0 { (-a.dot(d) / d.norm2()).clamp(0.0, 1.0) } else { 0.0 };
        radii.0 = radii.0.min((a + d * part).norm());
        radii.1 = radii.1.max(if beside(a) { a.norm() } else { 0.0 });
    }
    radii
}

/// A view that shows some points.
pub(super) type Viewer<'a> = &'a dyn Fn(&[Point]) -> View;

/// The panel of one turn, in the view that `viewer` takes of it.
pub(super) fn turn(
    vehicle: &Vehicle,
    turn_deg: f64,
    radius: f64,
    units: Units,
    viewer: Viewer<'_>,
) -> Result<Panel, SweepError> {
    let chain = Chain::led_by_front_axle(vehicle);
    let path = template_path(vehicle, turn_deg, radius);
    let swept = body_envelope_led_by_front_axle(vehicle, &path, DRAWING_TOLERANCE_M)?;
    let samples = path.samples(&chain, SAMPLE_M);
    let mut items: Vec<Item> = swept
        .rings()
        .into_iter()
        .map(|rings: Vec<Outline>| {
            Item::new(Role::Envelope, Geom::Smooth(rings.into_iter().map(|r| r.0).collect()))
        })
        .collect();
    for (index, unit) in vehicle.units.iter().enumerate() {
        for tire in unit.tires.iter().filter(|t| !t.steered) {
            let along = samples.iter().map(|s| chain.unit_poses(&s.state)[index + 1].to_site(tire.center));
            items.push(Item::new(Role::WheelPath, Geom::Curve(along.collect())));
        }
    }
    let lead = samples.iter().map(|s| s.state.lead.position).collect();
    items.push(Item::new(Role::LeadPath, Geom::Curve(lead)));
    let stands: Vec<&Sample> = samples.first().into_iter().chain(samples.last()).collect();
    for sample in &stands {
        let poses = chain.unit_poses(&sample.state);
        for (unit, pose) in vehicle.units.iter().zip(&poses[1..]) {
            items.extend(unit_items(Role::Stand, unit, pose));
        }
        items.push(nose(&vehicle.units[0], &poses[1]));
    }
    items.push(Item::new(Role::Center, Geom::Disc { center: Point::default(), radius_m: 0.12 }));
    let points: Vec<Point> =
        swept.rings().into_iter().flatten().flat_map(|r| r.0).chain([Point::default()]).collect();
    let view = viewer(&points);
    let (inner, outer) = radii_about_center(&swept, turn_deg);
    let off = offtracking_m(&chain, &samples);
    let heading = format!(
        "{turn_deg:.0}-degree turn: body from {} to {} from the center, off-tracking {}",
        show(inner, units, Round::Down),
        show(outer, units, Round::Up),
        show(off, units, Round::Up)
    );
    let center = Label {
        text: "center of turn".to_owned(),
        at: Point::default(),
        or_at: Vec::new(),
        within: Vec::new(),
        strong: false,
        leader: true,
        optional: false,
    };
    let (heading, labels) = (Some(heading), vec![center]);
    Ok(Panel { heading, view, items, labels, busy: Vec::new(), scale_bar: true, north: false })
}

/// How far the last axle runs inside the front axle's path at most: the largest distance of its middle from the
/// path the front axle's middle has drawn.
#[must_use]
pub fn offtracking_m(chain: &Chain, samples: &[Sample]) -> f64 {
    let front: Vec<Point> = samples.iter().map(|s| s.state.lead.position).collect();
    let mut worst = 0.0_f64;
    for sample in samples {
        let last = chain.unit_poses(&sample.state)[chain.towed_count()].position;
        // Before the first sample the front axle came straight.
        let ahead = samples.first().is_some_and(|s| s.state.lead.to_body(last).x < 0.0);
        if !ahead {
            let near = front.iter().map(|p| p.distance(last)).fold(f64::MAX, f64::min);
            worst = worst.max(near);
        }
    }
    worst
}
