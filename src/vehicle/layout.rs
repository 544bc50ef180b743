//! Lays out the parts of a unit that can touch things: body, drawbar, mirrors, tires.
use super::build::{ASSUMED, Builder, LONGEST_M, Range, WIDEST_M};
use super::convex::convex_parts;
use super::file::{AxleFile, OutlineFile, UnitFile};
use super::{Measure, Part, PartKind, Tire, Unit};
use crate::geometry::{Outline, Point};

/// Width of a tire where the file is silent: that of a pickup.
const TIRE_WIDTH_M: f64 = 0.25;
/// Diameter of a tire where the file is silent: that of a pickup.
const TIRE_DIAMETER_M: f64 = 0.75;
/// Width of a drawbar at the hitch where the file is silent: a ball coupler with its jack.
const TONGUE_TIP_M: f64 = 0.15;
/// Below this height a tire counts as its contact with the ground, above it as the whole wheel: 20 mm of sinkage and
/// bulge. A ditch (top at 0) meets the contact, a curb the wheel.
const CONTACT_HEIGHT_M: f64 = 0.02;
/// Two statements of one dimension may differ by this much: half an inch.
const AGREE_M: f64 = 0.0127;

/// The tires of one axle (group), as read.
struct Axle {
    track_m: f64,
    /// Width of all tires on one side.
    across_m: f64,
    diameter_m: f64,
    count: u8,
    spacing_m: f64,
}

impl Builder<'_> {
    pub(super) fn body(&mut self, i: usize, u: &UnitFile, unit: &mut Unit) {
        let front = unit.wheelbase_m + unit.front_overhang_m;
        let (rear, half) = (-unit.rear_overhang_m, unit.width_m / 2.0);
        let around = [u.source.as_ref()];
        let mut chamfer = 0.0;
        if let Some(l) = &u.corner_chamfer {
            let path = format!("units[{i}].corner_chamfer");
            let label = format!("{}: corner chamfer", u.name);
            chamfer = self.length(&path, &label, l, Range::NotNegative(WIDEST_M), &around);
            if chamfer >= half || chamfer >= front - rear {
                self.fault(&path, "cuts away the whole front; it must be less than half the width".into());
            }
            if u.outlines.is_some() {
                self.fault(&path, "has no meaning beside \"outlines\"; draw the cut corners there".into());
            }
        }
        if let Some(outlines) = &u.outlines {
            for (k, outline) in outlines.iter().enumerate() {
                self.outline((i, k), u, outline, unit);
            }
        } else {
            let p = Point::new;
            let corners = if chamfer > 0.0 {
                vec![
                    p(rear, -half),
                    p(front - chamfer, -half),
                    p(front, -half + chamfer),
                    p(front, half - chamfer),
                    p(front - chamfer, half),
                    p(rear, half),
                ]
            } else {
                vec![p(rear, -half), p(front, -half), p(front, half), p(rear, half)]
            };
            unit.parts.push(Part {
                kind: PartKind::Body,
                outline: Outline(corners),
                bottom_m: unit.ground_clearance_m,
                top_m: unit.height_m,
            });
        }
        if let Some(t) = &u.tongue {
            let at = |field: &str| format!("units[{i}].tongue.{field}");
            let label = |what: &str| format!("{}: tongue {what}", u.name);
            let around = [t.source.as_ref(), u.source.as_ref()];
            if i == 0 || unit.front_overhang_m >= 0.0 {
                self.fault(
                    &format!("units[{i}].tongue"),
                    "needs a towed unit whose body begins behind the hitch (a negative \"front_overhang\")"
                        .into(),
                );
            }
            let wide = Range::Positive(WIDEST_M);
            let width = self.length(&at("width"), &label("width"), &t.width, wide, &around);
            let tip = self.length_or(
                &at("tip_width"),
                &label("tip width"),
                t.tip_width.as_ref(),
                TONGUE_TIP_M,
                wide,
                &around,
            );
            let not_negative = Range::NotNegative(WIDEST_M);
            let bottom_m = self.length(&at("bottom"), &label("bottom"), &t.bottom, not_negative, &around);
            let top_m = self.length(&at("top"), &label("top"), &t.top, wide, &around);
            if bottom_m > top_m {
                self.fault(&at("bottom"), "is above \"top\"".into());
            }
            if width > unit.width_m {
                self.fault(&at("width"), format!("is more than the body's, {:.3} m", unit.width_m));
            }
            let (l, p) = (unit.wheelbase_m, Point::new);
            unit.parts.push(Part {
                kind: PartKind::Body,
                outline: Outline(vec![
                    p(front, -width / 2.0),
                    p(l, -tip / 2.0),
                    p(l, tip / 2.0),
                    p(front, width / 2.0),
                ]),
                bottom_m,
                top_m,
            });
        }
    }

    fn outline(&mut self, (i, number): (usize, usize), u: &UnitFile, o: &OutlineFile, unit: &mut Unit) {
        let path = &format!("units[{i}].outlines[{number}]");
        let around = [o.source.as_ref(), u.source.as_ref()];
        let not_negative = Range::NotNegative(WIDEST_M);
        let label = |what: &str| format!("{}: outline {}, {what}", u.name, number + 1);
        let bottom_m = o.bottom.as_ref().map_or(unit.ground_clearance_m, |l| {
            self.length(&format!("{path}.bottom"), &label("bottom"), l, not_negative, &around)
        });
        let top_m = o.top.as_ref().map_or(unit.height_m, |l| {
            self.length(&format!("{path}.top"), &label("top"), l, not_negative, &around)
        });
        if bottom_m > top_m {
            self.fault(path, "its bottom is above its top".into());
        }
        if top_m > unit.height_m + AGREE_M {
            self.fault(path, format!("its top is above the unit's height, {:.3} m", unit.height_m));
        }
        let mut ring = Vec::with_capacity(o.points.len());
        for (k, (x, y)) in o.points.iter().enumerate() {
            let any = Range::Any(LONGEST_M);
            let corner = format!("{path}.points[{k}]");
            let name = |axis: &str| label(&format!("corner {}, {axis}", k + 1));
            let x = self.length(&format!("{corner}[0]"), &name("x"), x, any, &around);
            let y = self.length(&format!("{corner}[1]"), &name("y"), y, any, &around);
            if !(x.is_finite() && y.is_finite()) {
                return;
            }
            let front = unit.wheelbase_m + unit.front_overhang_m;
            if x > front + AGREE_M
                || x < -unit.rear_overhang_m - AGREE_M
                || y.abs() > unit.width_m / 2.0 + AGREE_M
            {
                self.fault(
                    &corner,
                    format!(
                        "lies outside the unit's own dimensions: x from {:.3} to {front:.3}, y up to {:.3} to either side",
                        -unit.rear_overhang_m,
                        unit.width_m / 2.0
                    ),
                );
            }
            ring.push(Point::new(x, y));
        }
        match convex_parts(&Outline(ring)) {
            Ok(parts) => unit.parts.extend(parts.into_iter().map(|outline| Part {
                kind: PartKind::Body,
                outline,
                bottom_m,
                top_m,
            })),
            Err(e) => self.fault(&format!("{path}.points"), e.to_string()),
        }
    }

    pub(super) fn mirrors(&mut self, i: usize, u: &UnitFile, unit: &mut Unit) {
        let Some(m) = &u.mirrors else { return };
        let at = |field: &str| format!("units[{i}].mirrors.{field}");
        let label = |what: &str| format!("{}: {what}", u.name);
        let around = [m.source.as_ref(), u.source.as_ref()];
        let wide = Range::Positive(WIDEST_M);
        let width = self.length(&at("width"), &label("width over mirrors"), &m.width, wide, &around);
        let along = Range::NotNegative(LONGEST_M);
        let from = self.length(&at("from"), &label("front to mirrors"), &m.from, along, &around);
        let to = self.length(&at("to"), &label("front to rear of mirrors"), &m.to, along, &around);
        let up = Range::NotNegative(WIDEST_M);
        let bottom_m = self.length(&at("bottom"), &label("bottom of mirrors"), &m.bottom, up, &around);
        let top_m = self.length(&at("top"), &label("top of mirrors"), &m.top, up, &around);
        if width < unit.width_m {
            self.fault(
                &at("width"),
                format!(
                    "is less than the body's {:.3} m; give the width over both mirrors, or leave mirrors out",
                    unit.width_m
                ),
            );
        }
        if from > to {
            self.fault(&at("from"), "is further back than \"to\"; both are measured from the front".into());
        }
        if to > unit.body_length_m() {
            self.fault(&at("to"), format!("is behind the body, which is {:.3} m long", unit.body_length_m()));
        }
        if bottom_m > top_m {
            self.fault(&at("bottom"), "is above \"top\"".into());
        }
        let outer = width / 2.0;
        let front = unit.wheelbase_m + unit.front_overhang_m;
        for side in [1.0, -1.0] {
            // The mirror and its arm: from the body, which may be narrower here than elsewhere, outward.
            let body = |x: f64| reach(unit, x, side);
            let inner = body(front - from).min(body(front - to)).min(unit.width_m / 2.0);
            // A mirror within the body's width touches nothing that the body does not.
            if outer > unit.width_m / 2.0 {
                let (y0, y1) = if side > 0.0 { (inner, outer) } else { (-outer, -inner) };
                unit.parts.push(Part {
                    kind: PartKind::Mirror,
                    outline: rectangle(front - to, front - from, y0, y1),
                    bottom_m,
                    top_m,
                });
            }
        }
    }

    pub(super) fn axles(&mut self, i: usize, u: &UnitFile, unit: &mut Unit) {
        let silent = AxleFile::default();
        let rear = self.axle(i, "rear_axle", u, u.rear_axle.as_ref().unwrap_or(&silent), unit);
        let wheelbase_m = unit.wheelbase_m;
        if i == 0 {
            let front = self.axle(i, "front_axle", u, u.front_axle.as_ref().unwrap_or(&silent), unit);
            wheels(unit, &front, wheelbase_m, true);
        } else if u.front_axle.is_some() {
            self.fault(
                &format!("units[{i}].front_axle"),
                "does not belong here: only the first unit has a steered axle; a dolly is a unit of its own"
                    .into(),
            );
        }
        wheels(unit, &rear, 0.0, false);
    }

    fn axle(&mut self, i: usize, which: &str, u: &UnitFile, a: &AxleFile, unit: &Unit) -> Axle {
        let at = |field: &str| format!("units[{i}].{which}.{field}");
        let words = which.replace('_', " ");
        let label = |what: &str| format!("{}: {words} {what}", u.name);
        let around = [a.source.as_ref(), u.source.as_ref()];
        let wide = Range::Positive(WIDEST_M);
        let (tire_width, diameter) = (a.tire_width.as_ref(), a.tire_diameter.as_ref());
        let tire_m =
            self.length_or(&at("tire_width"), &label("tire width"), tire_width, TIRE_WIDTH_M, wide, &around);
        let dual = a
            .dual_spacing
            .as_ref()
            .map_or(0.0, |l| self.length(&at("dual_spacing"), &label("dual spacing"), l, wide, &around));
        if a.dual_spacing.is_some() && dual < tire_m {
            self.fault(
                &at("dual_spacing"),
                format!("is less than a tire is wide ({tire_m:.3} m): the two tires of a pair would overlap"),
            );
        }
        let across_m = tire_m + dual;
        let flush = unit.width_m - across_m;
        let track_m = match &a.track {
            Some(l) => self.length(&at("track"), &label("track"), l, wide, &around),
            None => {
                self.note(&label("track"), Measure::Length(flush), ASSUMED.to_owned());
                flush
            }
        };
        if track_m + across_m > unit.width_m + AGREE_M {
            self.fault(
                &at("track"),
                format!(
                    "puts the tires outside the body: {:.3} m over the tires, and the unit is {:.3} m wide. \"width\" is \
                     the overall width, tires included",
                    track_m + across_m,
                    unit.width_m
                ),
            );
        }
        if track_m < across_m {
            self.fault(
                &at("track"),
                format!("makes left and right tires overlap: {across_m:.3} m on each side"),
            );
        }
        let diameter_m = self.length_or(
            &at("tire_diameter"),
            &label("tire diameter"),
            diameter,
            TIRE_DIAMETER_M,
            wide,
            &around,
        );
        let count = a.axles.unwrap_or(1);
        let mut spacing_m = 0.0;
        match &a.spacing {
            Some(l) => spacing_m = self.length(&at("spacing"), &label("spacing"), l, wide, &around),
            None if count > 1 => self.fault(
                &format!("units[{i}].{which}"),
                format!("has {count} axles but no \"spacing\" between neighboring ones"),
            ),
            None => {}
        }
        if which == "front_axle" && count > 1 {
            self.fault(&at("axles"), "one steered axle can be driven; give the middle of twin axles".into());
        }
        Axle { track_m, across_m, diameter_m, count, spacing_m }
    }

    /// Checks that the parts reach the stated length and width: a figure that no outline confirms is a slip.
    pub(super) fn outermost(&mut self, i: usize, u: &UnitFile, unit: &Unit) {
        let Some(outlines) = &u.outlines else { return };
        if outlines.is_empty() {
            return self
                .fault(&format!("units[{i}].outlines"), "is empty; leave it out for a rectangle".into());
        }
        let path = format!("units[{i}].outlines");
        let body = || unit.parts.iter().filter(|p| p.kind == PartKind::Body).flat_map(|p| &p.outline.0);
        let all = || unit.parts.iter().filter(|p| p.kind != PartKind::Mirror).flat_map(|p| &p.outline.0);
        let front = body().fold(f64::NEG_INFINITY, |m, p| m.max(p.x));
        let rear = body().fold(f64::INFINITY, |m, p| m.min(p.x));
        let side = all().fold(0.0_f64, |m, p| m.max(p.y.abs()));
        let pairs = [
            (front, unit.wheelbase_m + unit.front_overhang_m, "front"),
            (-rear, unit.rear_overhang_m, "rear"),
            (side, unit.width_m / 2.0, "side"),
        ];
        for (drawn, stated, which) in pairs {
            if drawn.is_finite() && drawn < stated - AGREE_M {
                self.fault(
                    &path,
                    format!(
                        "end {:.3} m short of the {which} that the unit's dimensions state",
                        stated - drawn
                    ),
                );
            }
        }
    }
}

/// Reach of the body to one side (1 left, -1 right) at `x`; 0 where there is no body.
fn reach(unit: &Unit, x: f64, side: f64) -> f64 {
    let body = unit.parts.iter().filter(|part| part.kind == PartKind::Body);
    let mut reach = 0.0_f64;
    for (a, b) in body.flat_map(|part| part.outline.edges()) {
        let (low, high) = (a.x.min(b.x), a.x.max(b.x));
        if low <= x && x <= high {
            let t = if high > low { (x - a.x) / (b.x - a.x) } else { 0.0 };
            reach = reach.max(side * (a.y + t * (b.y - a.y))).max(if high > low { 0.0 } else { side * b.y });
        }
    }
    reach
}

/// The rectangle from x0 to x1 and y0 to y1, counterclockwise.
fn rectangle(x0: f64, x1: f64, y0: f64, y1: f64) -> Outline {
    let p = Point::new;
    Outline(vec![p(x0, y0), p(x1, y0), p(x1, y1), p(x0, y1)])
}

/// Adds the tires of an axle group whose middle is at `x`: as lines of contact, and as things that hit curbs.
///
/// A steered tire is modeled straight ahead. Turned to full lock the corners of its outline reach 9 to 29 cm beyond the body's
/// side on all but one of the library's vehicles, low over the ground: a curb beside a wheel at full lock is met that much
/// sooner than modeled. Between the posts the wheels are nearly straight. The contact, about as long as it is wide, hardly
/// changes.
fn wheels(unit: &mut Unit, axle: &Axle, x: f64, steered: bool) {
    // The contact with the ground is the chord of the tire at this height: 2 sqrt(h (D - h)).
    let contact = 2.0 * (CONTACT_HEIGHT_M * (axle.diameter_m - CONTACT_HEIGHT_M)).max(0.0).sqrt();
    for k in 0..axle.count {
        let middle = f64::from(axle.count - 1) / 2.0;
        let x = x + (middle - f64::from(k)) * axle.spacing_m;
        for y in [axle.track_m / 2.0, -axle.track_m / 2.0] {
            unit.tires.push(Tire { center: Point::new(x, y), width_m: axle.across_m, steered });
            let low = (contact, 0.0, CONTACT_HEIGHT_M);
            for (long, bottom_m, top_m) in [low, (axle.diameter_m, CONTACT_HEIGHT_M, axle.diameter_m)] {
                unit.parts.push(Part {
                    kind: PartKind::Tire,
                    outline: rectangle(
                        x - long / 2.0,
                        x + long / 2.0,
                        y - axle.across_m / 2.0,
                        y + axle.across_m / 2.0,
                    ),
                    bottom_m,
                    top_m,
                });
            }
        }
    }
}
