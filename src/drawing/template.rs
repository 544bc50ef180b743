//! A turning template sheet: a vehicle led through turns by the middle of its front axle, as published turning paths
//! are drawn.
use super::labels::TEXT_SIZE;
use super::scene::{Geom, Item, Label, PANEL_WIDTH, Panel, Role, Sheet, View};
use super::shapes::vehicle_items;
use crate::geometry::length::{Round, Units, show};
use crate::geometry::{Outline, Point, Pose, trig};
use crate::motion::{Chain, Direction, Leg, Path, Sample, Segment, State};
use crate::sweep::{DRAWING_TOLERANCE_M, Envelope, SweepError, body_envelope_led_by_front_axle};
use crate::vehicle::{Measure, Part, PartKind, Vehicle};
use geo::Contains;
use std::f64::consts::{FRAC_PI_2, TAU};

/// Radius, as a multiple of the one asked for, up to which a turn is looked for that a hitch allows: our choice.
const WIDEST_RADII: f64 = 8.0;
/// Spacing of the samples wheel paths are drawn from.
const SAMPLE_M: f64 = 0.1;

/// Radius of the front axle's middle at full lock: the tightest arc a template may have.
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
    if turns_deg.iter().any(|turn_deg| drivable_radius_m(vehicle, *turn_deg, radius) > radius) {
        lines.push(
            "A turn in which a hitch would fold too far is on the least radius that the hitch allows."
                .to_owned(),
        );
    }
    Ok(Sheet {
        place: String::new(),
        verdict: None,
        title: vehicle.title.clone(),
        description: format!("{}: {}", vehicle.title, lines.join(". ")),
        lines,
        steps: Vec::new(),
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

/// The smallest distance of covered ground from the turn's center, at the origin; and the largest of ground beside the
/// arc itself, from its start (below the center) to the angle `turn_deg`.
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

/// Function that returns a view that shows some points.
pub(super) type Viewer<'a> = &'a dyn Fn(&[Point]) -> View;

/// The panel of one turn, in the view that `viewer` returns for it.
pub(super) fn turn(
    vehicle: &Vehicle,
    turn_deg: f64,
    radius: f64,
    units: Units,
    viewer: Viewer<'_>,
) -> Result<Panel, SweepError> {
    let chain = Chain::led_by_front_axle(vehicle);
    let asked = radius;
    let radius = drivable_radius_m(vehicle, turn_deg, radius);
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
        // The front wheel on the outside of the turn reaches farthest; the other runs near the middle of the axle.
        for tire in unit.tires.iter().filter(|t| !t.steered || t.center.y < 0.0) {
            let along = samples.iter().map(|s| chain.unit_poses(&s.state)[index + 1].to_site(tire.center));
            items.push(Item::new(Role::WheelPath, Geom::Curve(along.collect())));
        }
    }
    let lead = samples.iter().map(|s| s.state.lead.position).collect();
    items.push(Item::new(Role::LeadPath, Geom::Curve(lead)));
    let stands: Vec<&Sample> = samples.first().into_iter().chain(samples.last()).collect();
    for sample in &stands {
        let poses = chain.unit_poses(&sample.state);
        // Led by its front axle, the first unit is towed by it: the angle between them is that of the front wheels.
        let (sin, cos) = trig::sin_cos(sample.state.hitch[0]);
        let curvature = sin / (cos * vehicle.units[0].wheelbase_m);
        items.extend(vehicle_items(Role::Stand, vehicle, &poses[1..], curvature));
    }
    let off = offtracking(&chain, &samples);
    let (inner, outer) = radii(vehicle, &swept, turn_deg, &chain, &samples);
    let swing = swing_out(vehicle, radius, &chain, &samples);
    let off_m = off.map_or(0.0, |(a, b)| a.distance(b));
    let on = if radius > asked {
        format!(" on a radius of {}, the tightest its hitch allows", show(radius, units, Round::Up))
    } else {
        String::new()
    };
    let mut heading = format!(
        "{turn_deg:.0}-degree turn{on}: body from {} to {} from the center, off-tracking {}, swing-out {}",
        show(inner, units, Round::Down),
        show(outer, units, Round::Up),
        show(off_m, units, Round::Up),
        show(swing.map_or(0.0, |(a, b)| a.distance(b)), units, Round::Up)
    );
    if let Some((degrees, limit)) = folded(vehicle, &samples) {
        heading.push_str(&format!(
            "; the hitch folds to {degrees:.0}\u{b0}, beyond its {limit:.0}\u{b0}: not to be driven on this radius"
        ));
    }
    let on_arc = |share: f64, r: f64| {
        let t = turn_deg.to_radians() * share;
        Point::at_angle(t - FRAC_PI_2) * r
    };
    let mut measure = |from: Point, to: Point, text: String| {
        let away = (to - from).unit().unwrap_or(Point::new(1.0, 0.0)).left();
        items.push(Item::new(Role::Dimension, Geom::Dimension { from, to, away, offset: 0.0, text }));
    };
    let center = Point::default();
    measure(center, on_arc(0.5, radius), format!("radius {}", show(radius, units, Round::Nearest)));
    measure(center, on_arc(0.85, outer), format!("outer {}", show(outer, units, Round::Up)));
    if let Some((front, last)) = off.filter(|(a, b)| a.distance(*b) > SHOWN_M) {
        measure(last, front, format!("off-tracking {}", show(off_m, units, Round::Up)));
    }
    if let Some((line, tail)) = swing.filter(|(a, b)| a.distance(*b) > SHOWN_M) {
        measure(line, tail, format!("swing-out {}", show(line.distance(tail), units, Round::Up)));
    }
    items.push(Item::new(Role::Center, Geom::Disc { center: Point::default(), radius_m: 0.12 }));
    let points: Vec<Point> =
        swept.rings().into_iter().flatten().flat_map(|r| r.0).chain([Point::default()]).collect();
    let view = viewer(&points);
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
    Ok(Panel { heading, view, items, labels, scale_bar: true, north: false, text_size: TEXT_SIZE })
}

/// The figures of a turn and of its vehicle, in words: smallest radii, angles reached, the way of the outer front wheel,
/// dimensions.
pub(super) fn facts(vehicle: &Vehicle, turn_deg: f64, radius: f64, units: Units) -> Vec<String> {
    let chain = Chain::led_by_front_axle(vehicle);
    let samples = template_path(vehicle, turn_deg, radius).samples(&chain, SAMPLE_M);
    let length = |m: f64| show(m, units, Round::Nearest);
    let most = |of: &dyn Fn(&Sample) -> f64| samples.iter().map(of).fold(0.0, f64::max);
    let angle = |i: usize| most(&|s: &Sample| s.state.hitch.get(i).map_or(0.0, |a| a.abs())).to_degrees();
    let mut lines = vec![format!(
        "The front wheels are turned by up to {:.0}\u{b0}; their lock is {:.0}\u{b0}. Walking speed; tires roll without slipping.",
        angle(0),
        vehicle.steering.lock_angle_rad.to_degrees()
    )];
    for (i, (unit, next)) in vehicle.units.iter().zip(vehicle.units.iter().skip(1)).enumerate() {
        let Some(hitch) = unit.hitch else { continue };
        lines.push(format!(
            "The {} turns against the {} by up to {:.0}\u{b0}; its limit is {:.0}\u{b0}.",
            next.name,
            unit.name,
            angle(i + 1),
            hitch.max_angle_rad.to_degrees()
        ));
    }
    let derived = vehicle.derived();
    let circle = |kind: &str| derived.iter().find(|d| d.name.contains(kind)).map(|d| d.measure);
    if let (Some(Measure::Length(curb)), Some(Measure::Length(wall))) =
        (circle("curb to curb"), circle("wall to wall"))
    {
        lines.push(format!(
            "Smallest turning radius at full lock: {} curb to curb, {} wall to wall.",
            show(0.5 * curb, units, Round::Up),
            show(0.5 * wall, units, Round::Up)
        ));
    }
    if let Some(lead) = vehicle.units.first() {
        let outer =
            lead.tires.iter().filter(|t| t.steered).map(|t| t.center).min_by(|a, b| a.y.total_cmp(&b.y));
        let on_arc = |s: &&Sample| s.state.curvature > 0.0;
        let reach = outer.and_then(|tire| {
            let from_center = |s: &Sample| chain.unit_poses(&s.state)[1].to_site(tire).norm();
            samples.iter().filter(on_arc).map(from_center).reduce(f64::max)
        });
        lines.extend(reach.map(|m| {
            format!(
                "The outer front wheel runs up to {} from the center of the turn.",
                show(m, units, Round::Up)
            )
        }));
    }
    for (i, unit) in vehicle.units.iter().enumerate() {
        let axle = if i == 0 { "wheelbase" } else { "hitch to axle" };
        lines.push(format!(
            "The {}: {} wide, {} high, {axle} {}, overhang {} in front, {} behind.",
            unit.name,
            length(unit.width_m),
            length(unit.height_m),
            length(unit.wheelbase_m),
            length(unit.front_overhang_m),
            length(unit.rear_overhang_m)
        ));
    }
    lines.push(format!("Over all: {} long.", length(vehicle.length_m())));
    lines
}

/// Least distance that is worth a dimension: half an inch.
const SHOWN_M: f64 = 0.0127;

/// Largest offtracking, meters: the largest distance of the last axle's middle from the path that the front axle's
/// middle has traced.
#[must_use]
pub fn offtracking_m(chain: &Chain, samples: &[Sample]) -> f64 {
    offtracking(chain, samples).map_or(0.0, |(front, last)| front.distance(last))
}

/// The place of the largest offtracking: the point on the front axle's path, and the middle of the last axle.
fn offtracking(chain: &Chain, samples: &[Sample]) -> Option<(Point, Point)> {
    let front: Vec<Point> = samples.iter().map(|s| s.state.lead.position).collect();
    let mut worst: Option<(Point, Point)> = None;
    for sample in samples {
        let last = chain.unit_poses(&sample.state)[chain.towed_count()].position;
        // Before the first sample the front axle moved straight.
        let ahead = samples.first().is_some_and(|s| s.state.lead.to_body(last).x < 0.0);
        let near = front.iter().copied().min_by(|a, b| a.distance(last).total_cmp(&b.distance(last)));
        if let Some(near) = near.filter(|_| !ahead)
            && worst.is_none_or(|(a, b)| near.distance(last) > a.distance(b))
        {
            worst = Some((near, last));
        }
    }
    worst
}

/// The smallest and largest distance of the body from the center of a turn.
///
/// For most of a circle, the ground straight before and after the turn lies beside it all; the largest is then that of
/// the steered unit's front corners, which reach farthest, on the arc.
fn radii(
    vehicle: &Vehicle,
    swept: &Envelope,
    turn_deg: f64,
    chain: &Chain,
    samples: &[Sample],
) -> (f64, f64) {
    let (inner, outer) = radii_about_center(swept, turn_deg);
    let inside = swept.polygons.contains(&geo_types::Point::new(0.0, 0.0));
    let inner = if inside { 0.0 } else { inner };
    if turn_deg <= 270.0 {
        return (inner, outer);
    }
    let lead = &vehicle.units[0];
    let corners = || lead.parts.iter().flat_map(|part| &part.outline.0).filter(|p| p.x > lead.wheelbase_m);
    let on_arc = samples.iter().filter(|s| s.state.curvature > 0.0);
    let reach = on_arc.map(|s| {
        let pose = chain.unit_poses(&s.state)[1];
        corners().map(|p| pose.to_site(*p).norm()).fold(0.0, f64::max)
    });
    (inner, reach.fold(0.0, f64::max))
}

/// Swing-out of the rear beyond the straight way in: the line of the outermost body side there, and the corner that swings
/// farthest beyond it, opposite each other. `None` if nothing swings out.
///
/// Only the first quarter turn counts: later ground beside the way in is that of the circle closing on itself.
fn swing_out(vehicle: &Vehicle, radius: f64, chain: &Chain, samples: &[Sample]) -> Option<(Point, Point)> {
    // Mirrors pass over what a tail would hit, so they do not count.
    let is_body = |part: &&Part| part.kind == PartKind::Body;
    let bodies = vehicle.units.iter().flat_map(|unit| unit.parts.iter().filter(is_body));
    let sides = bodies.flat_map(|part| &part.outline.0);
    let line = -radius - sides.map(|p| p.y.abs()).fold(0.0, f64::max);
    let quarter = samples.iter().take_while(|s| s.station_m <= radius * FRAC_PI_2);
    let lowest = quarter
        .flat_map(|s| {
            let poses = chain.unit_poses(&s.state);
            let placed = vehicle.units.iter().zip(&poses[1..]);
            let corners = placed.flat_map(|(unit, pose)| {
                unit.parts
                    .iter()
                    .filter(is_body)
                    .flat_map(|part| &part.outline.0)
                    .map(|p| pose.to_site(*p))
                    .collect::<Vec<_>>()
            });
            corners.filter(|p| p.x < 0.0).collect::<Vec<Point>>()
        })
        .min_by(|a, b| a.y.total_cmp(&b.y))?;
    (lowest.y < line).then_some((Point::new(lowest.x, line), lowest))
}

/// Radius of a turn on which no hitch folds beyond its limit: the one asked for, or else the least that allows it, to the
/// millimeter; the one asked for too if none up to [`WIDEST_RADII`] times as large does.
pub(super) fn drivable_radius_m(vehicle: &Vehicle, turn_deg: f64, radius_m: f64) -> f64 {
    let chain = Chain::led_by_front_axle(vehicle);
    let allows = |radius: f64| {
        let path = template_path(vehicle, turn_deg, radius);
        folded(vehicle, &path.samples(&chain, SAMPLE_M)).is_none()
    };
    let (mut low, mut high) = (radius_m, WIDEST_RADII * radius_m);
    if allows(radius_m) || !allows(high) {
        return radius_m;
    }
    // A wider turn folds a trailer less.
    while high - low > 1e-3 {
        let middle = 0.5 * (low + high);
        if allows(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

/// The largest angle of a hitch beyond its limit, and the limit, degrees; `None` if all stay within theirs.
fn folded(vehicle: &Vehicle, samples: &[Sample]) -> Option<(f64, f64)> {
    let mut worst: Option<(f64, f64)> = None;
    for sample in samples {
        // The first angle is that of the front wheels.
        for (unit, angle) in vehicle.units.iter().zip(sample.state.hitch.iter().skip(1)) {
            let Some(hitch) = unit.hitch else { continue };
            let over = angle.abs() - hitch.max_angle_rad;
            if over > 0.0 && worst.is_none_or(|(a, _)| angle.abs().to_degrees() > a) {
                worst = Some((angle.abs().to_degrees(), hitch.max_angle_rad.to_degrees()));
            }
        }
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::find;

    /// Driven around long enough, a trailer settles at the hitch angle of the steady circle: with the front axle on R, the
    /// rear axle is on r = √(R² - L²), the hitch on √(r² + c²), the trailer's axle on √(r² + c² - d²), and the angle is
    /// atan(c / r) + atan(d / that).
    #[test]
    fn a_turn_is_on_the_least_radius_that_its_hitch_allows() {
        let vehicle = find("pickup-bumper-pull-20").expect("in the library");
        let (lead, trailer) = (&vehicle.units[0], &vehicle.units[1]);
        let hitch = lead.hitch.expect("a truck that tows has a hitch");
        let behind_m = hitch.behind_axle_m;
        let settles_at = |radius: f64| {
            let rear2 = radius * radius - lead.wheelbase_m * lead.wheelbase_m;
            let last2 = rear2 + behind_m * behind_m - trailer.wheelbase_m * trailer.wheelbase_m;
            trig::atan(behind_m / rear2.sqrt()) + trig::atan(trailer.wheelbase_m / last2.sqrt())
        };
        let tightest = tightest_radius_m(&vehicle);
        let radius = drivable_radius_m(&vehicle, 1080.0, tightest);
        assert!(radius > tightest + 0.1, "{radius} {tightest}");
        let off = settles_at(radius) - hitch.max_angle_rad;
        assert!(off.abs() < 2e-3, "{off}");
        // A turn that ends before the trailer has folded may be tighter; one within the limit is as asked.
        let half = drivable_radius_m(&vehicle, 180.0, tightest);
        assert!(half < radius && half > tightest, "{half}");
        assert!((drivable_radius_m(&vehicle, 90.0, tightest) - tightest).abs() < 1e-12);
        assert!((drivable_radius_m(&vehicle, 180.0, 2.0 * tightest) - 2.0 * tightest).abs() < 1e-12);
    }
}
