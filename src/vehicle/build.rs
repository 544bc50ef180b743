//! Turns a vehicle file into a settled [`Vehicle`]: fills in defaults, lays out the parts, and lists every
//! contradiction.
use super::file::{CircleKind, Degrees, Length, UnitFile, VehicleFile, Written};
use super::{Dimension, Hitch, MAX_UNITS, Measure, Steering, Unit, Vehicle, turning};
use crate::geometry::{length, trig};

/// Underside of a body where the file is silent: 8 in, between a car's 5 in and a truck's 11 in and more.
const GROUND_CLEARANCE_M: f64 = 0.2;
/// Distance rolled from straight ahead to full lock where the file is silent: 35 degrees at 25 degrees per second,
/// rolling 1 m/s (an assumption; a driver manages about 19 to 28 degrees per second at the wheels).
const LOCK_DISTANCE_M: f64 = 1.4;
/// No road vehicle is longer, wider or higher; a larger figure has lost its unit.
pub(super) const LONGEST_M: f64 = 40.0;
pub(super) const WIDEST_M: f64 = 8.0;
/// A steered middle wheel turns less than this on any road vehicle; more means inner-wheel or articulation angle.
const LARGEST_LOCK_DEG: f64 = 60.0;

pub(super) const ASSUMED: &str = "assumed where the file is silent";
const NOT_STATED: &str = "not stated in the file";

/// A fault: path and message.
type Found = (String, String);

/// Settles a vehicle, or lists its contradictions.
pub(super) fn vehicle(file: &VehicleFile, name: &str) -> Result<Vehicle, Vec<Found>> {
    let mut b = Builder { file, faults: Vec::new(), dimensions: Vec::new() };
    for text in [("title", &file.title)].into_iter().chain(file.about.as_ref().map(|a| ("about", a))) {
        if text.1.trim().is_empty() {
            b.fault(text.0, "is empty".into());
        }
    }
    if file.units.len() > MAX_UNITS {
        b.fault("units", format!("has {} units; at most {MAX_UNITS} can be driven", file.units.len()));
    }
    let units: Vec<Unit> = (0..file.units.len()).map(|i| b.unit(i)).collect();
    let steering = units.first().and_then(|lead| b.steering(lead));
    match steering {
        Some(steering) if b.faults.is_empty() => Ok(Vehicle {
            name: name.to_owned(),
            title: file.title.clone(),
            about: file.about.clone().unwrap_or_default(),
            units,
            steering,
            dimensions: b.dimensions,
        }),
        _ => Err(b.faults),
    }
}

/// Least length of any part of a vehicle: a shorter tire would lie below the height it touches a curb at.
const LEAST_M: f64 = 0.02;

/// Steering ratios of road vehicles, from racing karts' to heavy trucks' without power steering, with a wide margin
/// (common practice, no source).
const RATIOS: (f64, f64) = (2.0, 60.0);

/// Range of valid lengths.
#[derive(Clone, Copy)]
pub(super) enum Range {
    /// More than 0, up to this.
    Positive(f64),
    /// 0 or more, up to this.
    NotNegative(f64),
    /// Any sign, this far from 0.
    Any(f64),
}

pub(super) struct Builder<'a> {
    pub(super) file: &'a VehicleFile,
    faults: Vec<Found>,
    dimensions: Vec<Dimension>,
}

impl Builder<'_> {
    pub(super) fn fault(&mut self, path: &str, message: String) {
        self.faults.push((path.to_owned(), message));
    }

    /// The words for a source name: the figure's own, else its group's, else its unit's.
    pub(super) fn source(&mut self, path: &str, names: &[Option<&String>]) -> String {
        let Some(name) = names.iter().find_map(|n| *n) else { return NOT_STATED.to_owned() };
        match self.file.sources.get(name) {
            Some(words) => words.clone(),
            None => {
                let message = format!(
                    "names the source \"{name}\", which is not in \"sources\"; add it there with an explanation"
                );
                if !self.faults.iter().any(|(p, m)| p == path && *m == message) {
                    self.fault(path, message);
                }
                NOT_STATED.to_owned()
            }
        }
    }

    /// A length, noted with its source. NaN after a fault: every later comparison with it is then false, so one
    /// fault does not raise others.
    pub(super) fn length(
        &mut self,
        path: &str,
        label: &str,
        l: &Length,
        range: Range,
        around: &[Option<&String>],
    ) -> f64 {
        let meters = match &l.value {
            Written::Number(n) => *n,
            Written::Text(text) => match length::parse(text) {
                Ok(meters) => meters,
                Err(e) => {
                    self.fault(path, e.to_string());
                    return f64::NAN;
                }
            },
        };
        let limit = match range {
            Range::Positive(limit) | Range::NotNegative(limit) | Range::Any(limit) => limit,
        };
        let wrong = match range {
            Range::Positive(_) if meters <= 0.0 => Some("; it must be more than 0"),
            Range::Positive(_) if meters < LEAST_M => Some("; nothing of a vehicle is less than 2 cm long"),
            Range::NotNegative(_) if meters < 0.0 => Some("; it must not be negative"),
            _ if meters.abs() > limit => Some(
                "; no road vehicle has that. A number without a unit is meters: write \"12 ft\" or \"144 in\" for \
                 feet or inches",
            ),
            _ => None,
        };
        if let Some(wrong) = wrong {
            let written = match &l.value {
                Written::Number(n) => format!("{n}"),
                Written::Text(text) => format!("\"{text}\""),
            };
            self.fault(path, format!("is {written}{wrong}"));
            return f64::NAN;
        }
        let mut names = vec![l.source.as_ref()];
        names.extend_from_slice(around);
        let source = self.source(path, &names);
        self.note(label, Measure::Length(meters), source);
        meters
    }

    pub(super) fn note(&mut self, label: &str, measure: Measure, source: String) {
        self.dimensions.push(Dimension { name: label.to_owned(), measure, source });
    }

    /// A length that has a default.
    pub(super) fn length_or(
        &mut self,
        path: &str,
        label: &str,
        l: Option<&Length>,
        default_m: f64,
        range: Range,
        around: &[Option<&String>],
    ) -> f64 {
        if let Some(l) = l {
            return self.length(path, label, l, range, around);
        }
        self.note(label, Measure::Length(default_m), ASSUMED.to_owned());
        default_m
    }

    /// An angle in degrees above 0 and up to (`closed`) or below a limit; the result is in radians.
    fn angle(
        &mut self,
        path: &str,
        label: &str,
        a: &Degrees,
        (limit_deg, closed): (f64, bool),
        around: &[Option<&String>],
    ) -> f64 {
        let too_large = if closed { a.value > limit_deg } else { a.value >= limit_deg };
        if a.value <= 0.0 || too_large {
            let upto = if closed { "at most" } else { "less than" };
            self.fault(
                path,
                format!("is {} degrees; it must be more than 0 and {upto} {limit_deg}", a.value),
            );
            return f64::NAN;
        }
        let mut names = vec![a.source.as_ref()];
        names.extend_from_slice(around);
        let source = self.source(path, &names);
        let rad = a.value.to_radians();
        self.note(label, Measure::Angle(rad), source);
        rad
    }

    fn unit(&mut self, i: usize) -> Unit {
        let file = self.file;
        let (u, lead, last) = (&file.units[i], i == 0, i + 1 == file.units.len());
        let at = |field: &str| format!("units[{i}].{field}");
        let label = |what: &str| format!("{}: {what}", u.name);
        let around = [u.source.as_ref()];
        if u.name.trim().is_empty() {
            self.fault(&at("name"), "is empty; say what the unit is, like \"trailer\"".into());
        }
        let (right, wrong) = if lead {
            (("wheelbase", u.wheelbase.as_ref()), ("hitch_to_axle", u.hitch_to_axle.as_ref()))
        } else {
            (("hitch_to_axle", u.hitch_to_axle.as_ref()), ("wheelbase", u.wheelbase.as_ref()))
        };
        let of = if lead { "the first unit, which steers," } else { "a towed unit" };
        if wrong.1.is_some() {
            self.fault(&at(wrong.0), format!("does not belong here: {of} has a \"{}\" instead", right.0));
        }
        let wheelbase_m = match right.1 {
            Some(l) => {
                let words = if lead { "wheelbase" } else { "hitch to axle" };
                self.length(&at(right.0), &label(words), l, Range::Positive(LONGEST_M), &around)
            }
            None => {
                if wrong.1.is_none() {
                    self.fault(&format!("units[{i}]"), format!("\"{}\" is missing: {of} needs one", right.0));
                }
                f64::NAN
            }
        };
        let any = Range::Any(LONGEST_M);
        let front_overhang_m =
            self.length(&at("front_overhang"), &label("front overhang"), &u.front_overhang, any, &around);
        let rear_overhang_m =
            self.length(&at("rear_overhang"), &label("rear overhang"), &u.rear_overhang, any, &around);
        let wide = Range::Positive(WIDEST_M);
        let width_m = self.length(&at("width"), &label("width"), &u.width, wide, &around);
        let height_m = self.length(&at("height"), &label("height"), &u.height, wide, &around);
        let ground_clearance_m = self.length_or(
            &at("ground_clearance"),
            &label("ground clearance"),
            u.ground_clearance.as_ref(),
            GROUND_CLEARANCE_M,
            Range::NotNegative(WIDEST_M),
            &around,
        );
        if ground_clearance_m >= height_m {
            self.fault(&at("ground_clearance"), format!("is not below the height, {height_m:.3} m"));
        }
        if wheelbase_m + front_overhang_m + rear_overhang_m <= 0.0 {
            self.fault(
                &format!("units[{i}]"),
                "has no length: wheelbase and overhangs add up to 0 or less".into(),
            );
        }
        let mut unit = Unit {
            name: u.name.clone(),
            wheelbase_m,
            front_overhang_m,
            rear_overhang_m,
            width_m,
            height_m,
            ground_clearance_m,
            parts: Vec::new(),
            tires: Vec::new(),
            hitch: None,
        };
        let sound = self.faults.len();
        self.body(i, u, &mut unit);
        self.mirrors(i, u, &mut unit);
        self.axles(i, u, &mut unit);
        if self.faults.len() == sound {
            self.outermost(i, u, &unit);
        }
        unit.hitch = self.hitch(i, u, &unit, last);
        unit
    }

    fn hitch(&mut self, i: usize, u: &UnitFile, unit: &Unit, last: bool) -> Option<Hitch> {
        let Some(h) = &u.hitch else {
            if !last {
                self.fault(
                    &format!("units[{i}]"),
                    "has no \"hitch\", but tows another unit; add { \"behind_axle\", \"max_angle_deg\" }"
                        .into(),
                );
            }
            return None;
        };
        let at = |field: &str| format!("units[{i}].hitch.{field}");
        let around = [h.source.as_ref(), u.source.as_ref()];
        let label = |what: &str| format!("{}: {what}", u.name);
        let any = Range::Any(LONGEST_M);
        let behind_axle_m =
            self.length(&at("behind_axle"), &label("rear axle to hitch"), &h.behind_axle, any, &around);
        if behind_axle_m <= -unit.wheelbase_m {
            let axle = if i == 0 { "the steered axle" } else { "the unit's own hitch" };
            self.fault(
                &at("behind_axle"),
                format!(
                    "puts the hitch at or ahead of {axle}, {:.3} m ahead of the rear axle; a hitch behind the rear axle \
                     is positive",
                    unit.wheelbase_m
                ),
            );
        }
        let label = label("largest hitch angle");
        let max_angle_rad = self.angle(&at("max_angle_deg"), &label, &h.max_angle_deg, (90.0, true), &around);
        if last {
            self.fault(
                &format!("units[{i}].hitch"),
                "has nothing to tow: it is on the last unit; take it out, or add the towed unit".into(),
            );
        }
        Some(Hitch { behind_axle_m, max_angle_rad })
    }

    fn steering(&mut self, lead: &Unit) -> Option<Steering> {
        let s = &self.file.steering;
        let around = [s.source.as_ref()];
        let lock_distance_m = self.length_or(
            "steering.lock_distance",
            "straight ahead to full lock, rolled",
            s.lock_distance.as_ref(),
            LOCK_DISTANCE_M,
            Range::NotNegative(LONGEST_M),
            &around,
        );
        let l = lead.wheelbase_m;
        let (path, lock_angle_rad) = match (&s.lock_angle_deg, &s.turning_circle) {
            (Some(angle), None) => {
                let path = "steering.lock_angle_deg";
                let label = "steering angle at full lock";
                (path, self.angle(path, label, angle, (LARGEST_LOCK_DEG, false), &around))
            }
            (None, Some(_)) => ("steering.turning_circle", self.circle(lead)),
            (Some(_), Some(_)) => {
                self.fault("steering", "has a lock angle and a turning circle; keep one".into());
                return None;
            }
            (None, None) => {
                self.fault(
                    "steering",
                    "needs \"lock_angle_deg\" or \"turning_circle\", such as { \"kind\": \"curb\", \"diameter\": \
                     \"40 ft\" }"
                        .into(),
                );
                return None;
            }
        };
        if lock_angle_rad >= LARGEST_LOCK_DEG.to_radians() {
            self.fault(
                path,
                format!(
                    "means a lock angle of {:.1} degrees; no road vehicle reaches {LARGEST_LOCK_DEG}. Is the circle \
                     of another kind, or a radius given as a diameter?",
                    lock_angle_rad.to_degrees()
                ),
            );
        }
        let ratio = s.ratio;
        if let Some(ratio) = ratio.filter(|ratio| !(RATIOS.0..=RATIOS.1).contains(ratio)) {
            self.fault(
                "steering.ratio",
                format!("is {ratio}; steering ratios are between {} and {}", RATIOS.0, RATIOS.1),
            );
        }
        Some(Steering {
            lock_angle_rad,
            max_curvature: trig::tan(lock_angle_rad) / l,
            lock_distance_m,
            ratio,
        })
    }

    /// The lock angle that corresponds to a published turning circle; NaN after a fault.
    fn circle(&mut self, lead: &Unit) -> f64 {
        let s = &self.file.steering;
        let Some(c) = &s.turning_circle else { return f64::NAN };
        let around = [c.source.as_ref(), s.source.as_ref()];
        let range = Range::Positive(4.0 * LONGEST_M);
        let radius_m = match (&c.diameter, &c.radius) {
            (Some(d), None) => {
                let path = "steering.turning_circle.diameter";
                self.length(path, &format!("turning diameter, {}", c.kind.words()), d, range, &around) / 2.0
            }
            (None, Some(r)) => {
                let path = "steering.turning_circle.radius";
                self.length(path, &format!("turning radius, {}", c.kind.words()), r, range, &around)
            }
            _ => {
                self.fault("steering.turning_circle", "needs either \"diameter\" or \"radius\"".into());
                f64::NAN
            }
        };
        // The tires of the steered axle, in their places.
        let outer = lead.tires.iter().filter(|t| t.steered).fold((0.0, 0.0), |widest, t| {
            if t.center.y > widest.0 { (t.center.y, t.width_m) } else { widest }
        });
        let (track_m, tire_m) = (2.0 * outer.0, outer.1);
        let l = lead.wheelbase_m;
        let settled = match c.kind {
            CircleKind::Curb => turning::from_curb(radius_m, l, track_m),
            CircleKind::TireEdge => turning::from_tire_edge(radius_m, l, track_m, tire_m),
            CircleKind::Wall => turning::from_wall(radius_m, l, lead.front_overhang_m, lead.width_m),
            CircleKind::Centerline => turning::from_centerline(radius_m, l),
        };
        match settled {
            Some(r) => turning::middle_wheel_rad(r, l),
            None => {
                if radius_m.is_finite() && l.is_finite() && track_m.is_finite() {
                    self.fault(
                        "steering.turning_circle",
                        format!(
                            "is too small for a wheelbase of {l:.3} m: a radius of {radius_m:.3} m puts the turning center \
                             inside the vehicle. Is a radius given as a diameter?"
                        ),
                    );
                }
                f64::NAN
            }
        }
    }
}
