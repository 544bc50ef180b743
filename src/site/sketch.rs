//! A site plan from tape measurements, for someone who has none yet.
//!
//! The sketch lies with the gate's middle at (0, 0), the road below it running east and west, inside above.
use super::Side;
use crate::geometry::length::{FOOT_M, Round, Units, show_fine};
use crate::geometry::{Point, trig};
use serde_json::{Value, json};

/// Distance the road is drawn to each side, where it continues: a 62-foot semitrailer needs about twice its length to
/// line up.
const ROAD_REACH_M: f64 = 60.0;
/// Distance a far-side ditch or wall reaches beyond the edge of the road: as far as a bumper swings out.
const FAR_SIDE_M: f64 = 2.0;
/// Points of a rounded apron corner: chords of a quarter circle of 10 m stray 7 mm from it.
const CORNER_STEPS: u32 = 20;
/// The largest measure accepted: a kilometer.
const MOST_M: f64 = 1000.0;

/// The land beyond the far edge of the road. Tires stay on the pavement there in every case.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FarSide {
    /// Nothing that a body would touch: it may hang over the edge of the pavement.
    #[default]
    Open,
    /// A ditch: a body may hang over it.
    Ditch,
    /// A wall, bank or hedge at the edge of the pavement: nothing hangs over.
    Wall,
}

impl FarSide {
    /// The limits for vehicles at the far edge of the road, as a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Open => {
                "Tires stay on the pavement at the far edge of the road; bumpers and mirrors may hang over that edge."
            }
            Self::Ditch => {
                "Tires stay on the pavement at the far edge of the road; bumpers and mirrors may hang over the ditch."
            }
            Self::Wall => {
                "A wall, bank or hedge stands at the far edge of the road; no part of a vehicle gets past that edge."
            }
        }
    }
}

/// Tape measurements of a gate, in meters.
#[derive(Clone, Debug, PartialEq)]
pub struct TapeMeasurements {
    /// Title of the plan.
    pub title: String,
    /// Width of the road's traveled way.
    pub road_width_m: f64,
    /// From the near edge of the road to the middle of the gate line.
    pub setback_m: f64,
    /// The gate's opening, face to face.
    pub opening_m: f64,
    /// Angle of the gate line counterclockwise from the road, in degrees, between -80 and 80.
    pub skew_deg: f64,
    /// Side of the square posts.
    pub post_m: f64,
    /// Width of the apron or culvert between road and gate, which may be less than the opening; `None`: tires may also
    /// use the land between road and gate and behind the gate.
    pub apron_width_m: Option<f64>,
    /// Radius of the apron's two corners at the road; 0 for square ones.
    pub apron_radius_m: f64,
    /// Depth that one can drive inside, from the gate line.
    pub depth_inside_m: f64,
    /// Width of the yard inside, if there is an apron; `None`: as wide as the depth.
    pub width_inside_m: Option<f64>,
    /// The far side of the road.
    pub far_side: FarSide,
    /// The side of the road people drive on.
    pub drives_on: Side,
    /// Units of the sketch: feet or meters.
    pub units: Units,
    /// Vehicles that must get in.
    pub vehicles: Vec<String>,
}

impl Default for TapeMeasurements {
    /// A 14-foot gate 20 feet back from a 20-foot road, with everything else left open.
    fn default() -> Self {
        Self {
            title: String::new(),
            road_width_m: 20.0 * FOOT_M,
            setback_m: 20.0 * FOOT_M,
            opening_m: 14.0 * FOOT_M,
            skew_deg: 0.0,
            post_m: 0.5 * FOOT_M,
            apron_width_m: None,
            apron_radius_m: 0.0,
            depth_inside_m: 80.0 * FOOT_M,
            width_inside_m: None,
            far_side: FarSide::Open,
            drives_on: Side::Right,
            units: Units::Feet,
            vehicles: Vec::new(),
        }
    }
}

/// The reason that measurements make no plan.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SketchError {
    /// A measure that must be more than zero is not, or is beyond a kilometer.
    #[error(
        "{what} is {}; it must be more than 0 and less than {}",
        shown(*meters, *units), shown(MOST_M, *units)
    )]
    Measure {
        /// Name of the measure.
        what: &'static str,
        /// Its value.
        meters: f64,
        /// The sketch's units.
        units: Units,
    },
    /// The gate line is turned too far.
    #[error("a skew of {0} degrees is too much; it must be between -80 and 80")]
    Skew(f64),
    /// A post of a skewed gate would stand in the road.
    #[error(
        "a post would stand in the road: with this opening and skew the setback must be more than {}",
        shown(*least_m, *units)
    )]
    InTheRoad {
        /// The setback at which a post touches the road.
        least_m: f64,
        /// The sketch's units.
        units: Units,
    },
    /// The rounded corners are larger than the space between road and gate.
    #[error(
        "the apron's corner radius, {}, is larger than what is between road and gate, {}",
        shown(*radius_m, *units), shown(*room_m, *units)
    )]
    LargeRadius {
        /// Radius of the corners.
        radius_m: f64,
        /// Room between the road and the nearer post.
        room_m: f64,
        /// The sketch's units.
        units: Units,
    },
}

fn shown(meters: f64, units: Units) -> String {
    show_fine(meters, units, Round::Nearest)
}

/// The text of a site plan with these measurements, for [`read`](super::read()).
///
/// ```
/// use wideenough::site::sketch::{TapeMeasurements, to_plan_text};
/// let tape = TapeMeasurements { opening_m: 4.8768, ..TapeMeasurements::default() };
/// let site = wideenough::site::read(&to_plan_text(&tape).unwrap(), "sketch").unwrap();
/// assert!((site.gate.opening_m() - 4.8768).abs() < 1e-4);
/// assert!((site.gate.setback_m - 6.096).abs() < 1e-4);
/// ```
///
/// # Errors
/// [`SketchError`], if no such place is possible.
pub fn to_plan_text(tape: &TapeMeasurements) -> Result<String, SketchError> {
    check(tape)?;
    let unit_m = if tape.units == Units::Feet { FOOT_M } else { 1.0 };
    let draw = Draw { unit_m };
    let half = Point::at_angle(tape.skew_deg.to_radians()) * (tape.opening_m / 2.0);
    let (near, far) = (-tape.setback_m, -tape.setback_m - tape.road_width_m);
    let middle = (near + far) / 2.0;
    let mut features = vec![
        feature(
            json!({ "role": "road", "label": "road", "width": draw.length(tape.road_width_m), "continues": "both" }),
            "LineString",
            json!([draw.at(-ROAD_REACH_M, middle), draw.at(ROAD_REACH_M, middle)]),
        ),
        feature(
            json!({ "role": "gate", "label": "gate", "leaves": "double", "opens": "in", "post": draw.length(tape.post_m) }),
            "LineString",
            json!([draw.at(-half.x, -half.y), draw.at(half.x, half.y)]),
        ),
    ];
    // The fence continues from the outer faces of the posts, along the gate line.
    for (label, way) in [("fence on the left", -1.0), ("fence on the right", 1.0)] {
        let along = Point::at_angle(tape.skew_deg.to_radians()) * way;
        let from = along * (tape.opening_m / 2.0 + tape.post_m);
        // Not into the road, where a skewed gate line would lead.
        let room = if along.y < -1e-9 { (near - from.y) / along.y } else { f64::INFINITY };
        let to = from + along * (0.9 * room).min(tape.opening_m.max(10.0));
        features.push(feature(
            json!({ "role": "fence", "label": label }),
            "LineString",
            json!([draw.at(from.x, from.y), draw.at(to.x, to.y)]),
        ));
    }
    if let Some(width) = tape.apron_width_m {
        features.push(feature(
            json!({ "role": "drive", "label": "apron and yard" }),
            "Polygon",
            json!([apron(tape, width, near).iter().map(|p| draw.at(p.x, p.y)).collect::<Vec<_>>()]),
        ));
    }
    let far_side = match tape.far_side {
        FarSide::Open => None,
        FarSide::Ditch => Some(json!({ "role": "obstacle", "label": "far ditch", "top": 0 })),
        FarSide::Wall => Some(json!({ "role": "obstacle", "label": "far wall" })),
    };
    if let Some(properties) = far_side {
        let corners = [(-1.0, 0.0), (-1.0, -1.0), (1.0, -1.0), (1.0, 0.0), (-1.0, 0.0)];
        let ring: Vec<Value> =
            corners.iter().map(|(x, y)| draw.at(x * ROAD_REACH_M, far + y * FAR_SIDE_M)).collect();
        features.push(feature(properties, "Polygon", json!([ring])));
    }
    let (coordinates, units) = if tape.units == Units::Feet { ("local-ft", "ft") } else { ("local-m", "m") };
    let drives_on = if tape.drives_on == Side::Left { "left" } else { "right" };
    let head = json!({
        "title": tape.title,
        "note": format!(
            "Drawn from tape measurements: the middle of the gate is at [0, 0], the road below it. {}",
            tape.far_side.words()
        ),
        "coordinates": coordinates,
        "north": "unknown",
        "units": units,
        "drives_on": drives_on,
        "vehicles": tape.vehicles,
    });
    Ok(layout(&head, &features))
}

fn check(tape: &TapeMeasurements) -> Result<(), SketchError> {
    let units = tape.units;
    let optional = [("the apron's width", tape.apron_width_m), ("the width inside", tape.width_inside_m)];
    let required = [
        ("the road's width", tape.road_width_m),
        ("the setback", tape.setback_m),
        ("the opening", tape.opening_m),
        ("the post", tape.post_m),
        ("the depth inside", tape.depth_inside_m),
    ];
    for (what, meters) in required.into_iter().chain(optional.into_iter().filter_map(|(w, m)| Some((w, m?))))
    {
        // A tenth of a millimeter or less would be rounded away.
        if !(meters > 1e-4 && meters < MOST_M) {
            return Err(SketchError::Measure { what, meters, units });
        }
    }
    if !(tape.skew_deg >= -80.0 && tape.skew_deg <= 80.0) {
        return Err(SketchError::Skew(tape.skew_deg));
    }
    let reach = (tape.opening_m / 2.0 + tape.post_m) * trig::sin(tape.skew_deg.to_radians()).abs();
    if tape.setback_m <= reach {
        return Err(SketchError::InTheRoad { least_m: reach, units });
    }
    if tape.apron_width_m.is_some() {
        let room_m = tape.setback_m - reach;
        let radius_m = tape.apron_radius_m;
        if !(radius_m >= 0.0 && radius_m <= room_m) {
            return Err(SketchError::LargeRadius { radius_m, room_m, units });
        }
    }
    Ok(())
}

/// Apron, drive and yard in one ring, counterclockwise from the left corner at the road. It overlaps the road a
/// little, so that no rounding leaves a crack.
fn apron(tape: &TapeMeasurements, width: f64, near: f64) -> Vec<Point> {
    let half = width / 2.0;
    let radius = tape.apron_radius_m;
    let overlap = tape.road_width_m.min(1.0) / 2.0;
    let yard = tape.width_inside_m.unwrap_or(tape.depth_inside_m).max(width) / 2.0;
    // Inside, the yard begins behind the farther post of a skewed gate: a culvert may be narrower than the gate.
    let yard_from = (half.max(tape.opening_m / 2.0) * trig::sin(tape.skew_deg.to_radians()).abs())
        .min(tape.depth_inside_m / 2.0);
    let mut right = vec![Point::new(half + radius, near - overlap)];
    for step in 0..=CORNER_STEPS {
        let angle = std::f64::consts::FRAC_PI_2 * f64::from(step) / f64::from(CORNER_STEPS);
        // From the road's edge up to the side of the drive, about a center beside the drive.
        let center = Point::new(half + radius, near + radius);
        right.push(center + Point::at_angle(-std::f64::consts::FRAC_PI_2 - angle) * radius);
    }
    right.push(Point::new(half, yard_from));
    right.push(Point::new(yard, yard_from));
    right.push(Point::new(yard, tape.depth_inside_m));
    let mut ring = right.clone();
    ring.extend(right.iter().rev().map(|p| Point::new(-p.x, p.y)));
    ring.dedup_by(|p, q| p.distance(*q) < 1e-3);
    if let Some(first) = ring.first().copied() {
        ring.push(first);
    }
    ring
}

struct Draw {
    unit_m: f64,
}

impl Draw {
    /// A position in the sketch's units, to a hundred-thousandth: 3 micrometers.
    fn at(&self, x: f64, y: f64) -> Value {
        let round = |v: f64| (v / self.unit_m * 1e5).round() / 1e5 + 0.0;
        json!([round(x), round(y)])
    }
    /// A length with its unit.
    fn length(&self, m: f64) -> String {
        let unit = if (self.unit_m - 1.0).abs() < 1e-9 { "m" } else { "ft" };
        format!("{} {unit}", (m / self.unit_m * 1e5).round() / 1e5)
    }
}

fn feature(properties: Value, kind: &str, coordinates: Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": coordinates } })
}

/// The plan's text: one line for each feature's properties and one for its geometry, as a person would write it.
fn layout(head: &Value, features: &[Value]) -> String {
    let features: Vec<String> = features
        .iter()
        .map(|feature| {
            format!(
                "    {{ \"type\": \"Feature\",\n      \"properties\": {},\n      \"geometry\": {} }}",
                feature["properties"], feature["geometry"]
            )
        })
        .collect();
    let head: Vec<String> = head
        .as_object()
        .into_iter()
        .flatten()
        .map(|(key, value)| format!("    {}: {value}", Value::from(key.as_str())))
        .collect();
    format!(
        "{{\n  \"type\": \"FeatureCollection\",\n  \"plan\": {{\n{}\n  }},\n  \"features\": [\n{}\n  ]\n}}\n",
        head.join(",\n"),
        features.join(",\n")
    )
}
