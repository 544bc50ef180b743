//! Words of a plan file: the `plan` member and the properties of each role, as they are written.
//!
//! The same types read the file and generate its JSON Schema, so the two cannot differ. Every property may be left out
//! here; the reader settles which ones are required, and the defaults of the others.
use super::fault::{Notes, Who};
use crate::geometry::json_place::{nearest, step};
use crate::geometry::length::Length;
use schemars::JsonSchema;
use serde::de::{DeserializeOwned, Error as _};
use serde::{Deserialize, Deserializer};
use serde_json::{Map, Value};

/// Settings of a plan, beside its features.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PlanWords {
    /// Title of the plan; it heads the drawings.
    pub(super) title: Option<String>,
    /// Description of the plan, in a sentence.
    pub(super) note: Option<String>,
    /// Kind of coordinates: longitude and latitude (the default), or a sketch in meters or feet.
    pub(super) coordinates: Option<CoordinatesWord>,
    /// Direction of north. In a sketch y counts as north unless this is "unknown"; then directions of travel are named
    /// as "from the left", seen from the road facing the gate, and no north arrow is drawn.
    pub(super) north: Option<NorthWord>,
    /// The side of the road people drive on; right by default.
    pub(super) drives_on: Option<SideWord>,
    /// Vehicles that must get in: names from the library, file names, or objects with further requirements.
    pub(super) vehicles: Option<Vec<VehicleEntry>>,
    /// Units in which lengths are shown: feet and inches (the default, but for sketches in meters) or meters.
    pub(super) units: Option<UnitsWord>,
    /// Entries of the title block of printed sheets.
    pub(super) permit: Option<PermitWords>,
}

/// Entries of the title block of printed sheets; those left out stay empty fields.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PermitWords {
    /// The project; the plan's title if not given.
    pub(super) project: Option<String>,
    /// Address of the place.
    pub(super) address: Option<String>,
    /// Parcel number.
    pub(super) parcel: Option<String>,
    /// Who prepared the sheets.
    pub(super) prepared_by: Option<String>,
    /// The day they were prepared, as it is to be printed.
    pub(super) date: Option<String>,
}

/// Direction of north.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum NorthWord {
    /// In the direction of y.
    Y,
    /// Unknown.
    Unknown,
}

/// Kind of a plan's coordinates.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum CoordinatesWord {
    /// Longitude and latitude in degrees, WGS 84 (RFC 7946).
    #[serde(rename = "lonlat")]
    LonLat,
    /// A sketch in meters.
    LocalM,
    /// A sketch in feet.
    LocalFt,
}

/// Left or right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum SideWord {
    /// Left, as seen by someone entering from the road.
    Left,
    /// Right, as seen by someone entering from the road.
    Right,
}

/// Units in which lengths are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum UnitsWord {
    /// Feet and inches.
    Ft,
    /// Meters.
    M,
}

/// A vehicle to be studied: its name or file, or an object with further requirements.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(untagged)]
pub(super) enum VehicleEntry {
    /// A name from the library or a file name.
    Name(String),
    /// A vehicle with its accepted visits and directions of travel.
    Request(VehicleWords),
}

impl<'de> Deserialize<'de> for VehicleEntry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match Value::deserialize(deserializer)? {
            Value::String(name) => Ok(Self::Name(name)),
            value @ Value::Object(_) => {
                serde_json::from_value(value).map(Self::Request).map_err(D::Error::custom)
            }
            other => Err(D::Error::custom(format!("{other} is neither a vehicle's name nor an object"))),
        }
    }
}

/// A vehicle with its accepted visits and directions of travel.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct VehicleWords {
    /// A name from the library or a file name.
    pub(super) vehicle: String,
    /// Accepted visits, any one of which is enough; if left out, driving in and backing out must be possible.
    #[serde(default)]
    pub(super) visits: Vec<VisitWord>,
    /// Accepted ways in, any one of which is enough; the vehicle leaves along the same path. An older form of "visits".
    #[serde(default)]
    pub(super) maneuvers: Vec<ManeuverWord>,
    /// Directions of travel it must be able to come from, like "eastbound", or "northbound on side road" for a road other
    /// than the one nearest to the gate; all if left out.
    #[serde(default)]
    pub(super) travels: Vec<String>,
}

/// Maneuver that brings a vehicle in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum ManeuverWord {
    /// Forward all the way.
    DriveIn,
    /// Forward along the road, stop, reverse in.
    BackIn,
}

/// Arrival and departure of a vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum VisitWord {
    /// Drives in forward and backs out.
    DriveInBackOut,
    /// Backs in and drives out forward.
    BackInDriveOut,
    /// Drives in forward, turns around inside and drives out forward.
    TurnAround,
}

/// A road that vehicles come from.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RoadWords {
    /// Its name in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// Width of the traveled way, for a road drawn as a line.
    pub(super) width: Option<Length>,
    /// The part a vehicle may use once it has started to turn in; the full width by default.
    #[serde(rename = "use")]
    pub(super) usage: Option<UseWord>,
    /// Ends of the road where it continues beyond what is drawn; none by default: it ends where it is drawn. A road
    /// drawn as a Polygon starts at the right of someone entering the gate and ends at the left; if it ends at the
    /// gate, it starts far from it.
    pub(super) continues: Option<ContinuesWord>,
    /// Speed of its traffic, with the unit: "30 mph" or "50 km/h". Sight on leaving depends on it.
    pub(super) speed: Option<String>,
    /// Kind of that speed; the posted limit by default.
    pub(super) speed_kind: Option<SpeedKindWord>,
}

/// Kind of speed given for a road.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub(super) enum SpeedKindWord {
    /// The posted limit.
    #[serde(rename = "posted")]
    Posted,
    /// The speed that 85 of 100 vehicles do not exceed, measured.
    #[serde(rename = "85th-percentile")]
    Percentile85,
}

/// Ends of a road where it continues beyond what is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum ContinuesWord {
    /// Neither end.
    None,
    /// The first point.
    Start,
    /// The last point.
    End,
    /// Both ends.
    Both,
}

/// The part of a road vehicles may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum UseWord {
    /// The whole width.
    Full,
    /// The half on the side they drive on.
    OwnLane,
}

/// Surface the tires may use off the road.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct DriveWords {
    /// Its name in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
}

/// The gate: a line between the inner faces of its two posts; or the point midway between them, with "width" and
/// "bearing".
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct GateWords {
    /// Its name in messages and drawings.
    #[serde(rename = "label", alias = "name")]
    _label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// The opening, between the inner faces of the posts, of a gate drawn as a point.
    pub(super) width: Option<Length>,
    /// Heading of someone who comes in square to the gate, for a gate drawn as a point: degrees clockwise from north
    /// (from y in a sketch), so 0 is north and 90 east.
    pub(super) bearing: Option<f64>,
    /// Number of leaves and their motion; two swinging ones by default.
    pub(super) leaves: Option<LeavesWord>,
    /// The side a single leaf is hinged on, or a sliding one moves to, as seen by someone entering; left by
    /// default.
    pub(super) hinge: Option<SideWord>,
    /// The direction in which swinging leaves open; in by default.
    pub(super) opens: Option<SwingWord>,
    /// Angle at which they stand open, in degrees from closed; 90 by default.
    pub(super) open_angle_deg: Option<f64>,
    /// The posts: a width, or an object with width, depth and top. 6 in square and 6 ft high by default.
    pub(super) post: Option<PostEntry>,
    /// The part that stays put when the opening is widened; the center by default.
    pub(super) anchor: Option<AnchorWord>,
    /// Thickness of a leaf; 2 in by default.
    pub(super) thickness: Option<Length>,
    /// Height of a leaf's underside above ground; 2 in by default.
    pub(super) bottom: Option<Length>,
    /// Height of a leaf's top above ground; 5 ft by default.
    pub(super) top: Option<Length>,
}

/// Number of leaves and their motion.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum LeavesWord {
    /// One swinging leaf.
    Single,
    /// Two swinging leaves.
    Double,
    /// One sliding leaf.
    Slide,
    /// None: an opening between posts.
    None,
}

/// The direction in which leaves swing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum SwingWord {
    /// Away from the road.
    In,
    /// Toward the road.
    Out,
}

/// The part of a gate that stays put when the opening is widened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum AnchorWord {
    /// The middle.
    Center,
    /// The left post, as seen by someone entering.
    Left,
    /// The right post.
    Right,
    /// Nothing: anywhere along the fence line.
    Free,
}

/// A post: the side of a square one, or its measures.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(untagged)]
pub(super) enum PostEntry {
    /// Side of a square post.
    Square(Length),
    /// A post by its measures.
    Measures(PostWords),
}

impl<'de> Deserialize<'de> for PostEntry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match Value::deserialize(deserializer)? {
            value @ Value::Object(_) => {
                serde_json::from_value(value).map(Self::Measures).map_err(D::Error::custom)
            }
            value => serde_json::from_value(value).map(Self::Square).map_err(D::Error::custom),
        }
    }
}

/// A post by its measures.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PostWords {
    /// Along the gate line; 6 in by default.
    pub(super) width: Option<Length>,
    /// Across the gate line; as the width by default.
    pub(super) depth: Option<Length>,
    /// Height of its top above ground; 6 ft by default.
    pub(super) top: Option<Length>,
}

/// A fence in the gate line, or one that meets it.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FenceWords {
    /// Its name in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// Thickness; 4 in by default.
    pub(super) thickness: Option<Length>,
    /// Height of its top above ground; 5 ft by default.
    pub(super) top: Option<Length>,
}

/// Something that stands in the way, or a ditch.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ObstacleWords {
    /// Its name in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// Radius of one drawn as a point.
    pub(super) radius: Option<Length>,
    /// Thickness of one drawn as a line.
    pub(super) thickness: Option<Length>,
    /// Height of its underside above ground; 0 by default.
    pub(super) bottom: Option<Length>,
    /// Height of its top above ground; higher than any vehicle by default. 0 for a ditch: only tires meet it.
    pub(super) top: Option<Length>,
}

/// A place where a vehicle must end up standing.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SpotWords {
    /// Its name in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// Heading it must have there, as on a compass: 0 is north (up in a sketch), 90 east. Any heading if left out.
    pub(super) heading_deg: Option<f64>,
    /// The vehicles it is for; all if left out.
    pub(super) vehicles: Option<Vec<String>>,
}

/// A property line or the line of a right of way. It is drawn, and vehicles may cross it.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct BoundaryWords {
    /// Its name in messages and drawings; its kind by default.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// Its kind; a property line by default.
    pub(super) kind: Option<BoundaryWord>,
}

/// Kind of a boundary.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum BoundaryWord {
    /// The line of a property.
    PropertyLine,
    /// The line of a right of way.
    RightOfWay,
}

/// A path to be checked as drawn, one line for each leg.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RouteWords {
    /// Its name in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// A remark, for readers of the file.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// The vehicle that drives it.
    pub(super) vehicle: Option<String>,
    /// The point of the vehicle that follows the line; the middle of its front axle by default.
    pub(super) track: Option<TrackWord>,
}

/// The point of a vehicle that follows a drawn route.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum TrackWord {
    /// Middle of the lead unit's front axle.
    FrontAxle,
    /// Middle of the lead unit's rear axle.
    RearAxle,
}

/// Reads an object member by member, so that one bad value hides no other: each bad value is recorded as a fault, an
/// unknown name as a warning, and the remaining members make up the result.
pub(super) fn read_object<T: DeserializeOwned + JsonSchema + Default>(
    object: &Map<String, Value>,
    who: &Who,
    below: &str,
    notes: &mut Notes,
) -> T {
    let mut good = Map::new();
    for (key, value) in object {
        // `null` is how many programs write a missing value.
        if value.is_null() {
            continue;
        }
        let place = format!("{below}{}", step(key));
        let mut alone = Map::new();
        alone.insert(key.clone(), value.clone());
        let Err(error) = serde_json::from_value::<T>(Value::Object(alone)) else {
            good.insert(key.clone(), value.clone());
            continue;
        };
        let text = error.to_string();
        if text.starts_with("missing field") {
            good.insert(key.clone(), value.clone());
        } else if text.starts_with(&format!("unknown field `{key}`")) {
            let names = ticked(&text);
            let hint = match nearest(key, names.iter().skip(1).map(String::as_str)) {
                Some(name) => format!("; did you mean \"{name}\"?"),
                None => String::new(),
            };
            notes.warn(who, &place, &format!("property \"{key}\""), format!("unknown, ignored{hint}"));
        } else {
            notes.fault(who, &place, &format!("property \"{key}\""), plain(&text));
        }
    }
    match serde_json::from_value(Value::Object(good)) {
        Ok(read) => read,
        Err(error) => {
            notes.fault(who, below, "", plain(&error.to_string()));
            T::default()
        }
    }
}

/// Parser's complaint in plain words.
fn plain(message: &str) -> String {
    let quoted = ticked(message);
    if message.starts_with("unknown variant")
        && let Some((typed, words)) = quoted.split_first()
    {
        let hint = match nearest(typed, words.iter().map(String::as_str)) {
            Some(word) => format!("; did you mean \"{word}\"?"),
            None => String::new(),
        };
        return format!("\"{typed}\" is not one of {}{hint}", words.join(", "));
    }
    if message.starts_with("unknown field")
        && let Some((typed, words)) = quoted.split_first()
    {
        return format!("\"{typed}\" is not known here; use {}", words.join(", "));
    }
    if let Some(rest) =
        message.strip_prefix("invalid type: ").or_else(|| message.strip_prefix("invalid value: "))
    {
        return rest
            .replace(", expected ", " is not ")
            .replace("f64", "a number")
            .replace("string or map", "one of its words")
            .replace('`', "");
    }
    match quoted.first() {
        Some(name) if message.starts_with("missing field") => format!("\"{name}\" is missing"),
        _ => message.to_owned(),
    }
}

/// Words that a message sets between backticks.
fn ticked(message: &str) -> Vec<String> {
    message.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}
