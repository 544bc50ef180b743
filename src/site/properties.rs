//! The words of a plan file: the `plan` member and the properties of each role, as they are written.
//!
//! The same types read the file and make its JSON Schema, so the two cannot differ. Every property may be left
//! out here; what may not, and what a missing one means, is settled by the reader.
use super::fault::{Notes, Who};
use crate::geometry::json_place::{nearest, step};
use crate::geometry::length::Length;
use schemars::JsonSchema;
use serde::de::{DeserializeOwned, Error as _};
use serde::{Deserialize, Deserializer};
use serde_json::{Map, Value};

/// Everything a plan says about itself, beside its features.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PlanWords {
    /// What the plan is called; it heads the drawings.
    pub(super) title: Option<String>,
    /// What the plan shows, in a sentence.
    pub(super) note: Option<String>,
    /// What the coordinates are: longitude and latitude (the default), or a sketch in meters or feet.
    pub(super) coordinates: Option<CoordinatesWord>,
    /// True if it is known where north is. In a sketch y counts as north unless it says "unknown"; then directions of travel
    /// are told as "from the left", seen from the road facing the gate, and no north arrow is drawn.
    pub(super) north: Option<NorthWord>,
    /// The side of the road people drive on; right by default.
    pub(super) drives_on: Option<SideWord>,
    /// Vehicles that must get in: names from the library, file names, or objects that also say how.
    pub(super) vehicles: Option<Vec<VehicleEntry>>,
    /// How lengths are shown: feet and inches (the default, but for sketches in meters) or meters.
    pub(super) units: Option<UnitsWord>,
    /// What the title block of printed sheets says.
    pub(super) permit: Option<PermitWords>,
}

/// What the title block of printed sheets says; what is left out stays an empty field.
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

/// Where north is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum NorthWord {
    /// In the direction of y.
    Y,
    /// Nobody has looked.
    Unknown,
}

/// What a plan's coordinates are.
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

/// How lengths are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum UnitsWord {
    /// Feet and inches.
    Ft,
    /// Meters.
    M,
}

/// A vehicle the plan asks about: its name or file, or an object that also says how it must be able to come.
#[derive(Clone, Debug, JsonSchema)]
#[schemars(untagged)]
pub(super) enum VehicleEntry {
    /// A name from the library or a file name.
    Name(String),
    /// A vehicle and how it must be able to come.
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

/// A vehicle and how it must be able to come.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct VehicleWords {
    /// A name from the library or a file name.
    pub(super) vehicle: String,
    /// Visits that will do, any of them; if left out, driving in and backing out must work.
    #[serde(default)]
    pub(super) visits: Vec<VisitWord>,
    /// Ways in that will do, any of them; each goes out the way it came in. An older form of "visits".
    #[serde(default)]
    pub(super) maneuvers: Vec<ManeuverWord>,
    /// Directions of travel along the road it must be able to come from, like "eastbound"; both if left out.
    #[serde(default)]
    pub(super) travels: Vec<String>,
}

/// How a vehicle gets in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum ManeuverWord {
    /// Forward all the way.
    DriveIn,
    /// Forward along the road, stop, reverse in.
    BackIn,
}

/// How a vehicle comes and goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum VisitWord {
    /// It drives in forward and backs out.
    DriveInBackOut,
    /// It backs in and drives out forward.
    BackInDriveOut,
    /// It drives in forward, turns around inside and drives out forward.
    TurnAround,
}

/// Where vehicles come from.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RoadWords {
    /// What it is called in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// Anything worth saying.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// Width of the traveled way, for a road drawn as a line.
    pub(super) width: Option<Length>,
    /// Which part a vehicle may use once it has started to turn in; the full width by default.
    #[serde(rename = "use")]
    pub(super) usage: Option<UseWord>,
    /// Ends of the road, as drawn, where it goes on beyond what is drawn; none by default: it ends where it is drawn.
    /// A road drawn as a Polygon starts at the right of someone entering the gate and ends at the left; if it ends at
    /// the gate, it starts far from it.
    pub(super) continues: Option<ContinuesWord>,
}

/// Ends of a road where it goes on beyond what is drawn.
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

/// Which part of a road vehicles may use.
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
    /// What it is called in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// Anything worth saying.
    #[serde(rename = "note")]
    _note: Option<String>,
}

/// The gate: a line between the inner faces of its two posts; or the point midway between them, with "width" and
/// "bearing".
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct GateWords {
    /// What it is called in messages and drawings.
    #[serde(rename = "label", alias = "name")]
    _label: Option<String>,
    /// Anything worth saying.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// The opening, between the inner faces of the posts, of a gate drawn as a point.
    pub(super) width: Option<Length>,
    /// The way someone looks who comes in square to the gate, of a gate drawn as a point: degrees clockwise from
    /// north (from y in a sketch), so 0 is north and 90 east.
    pub(super) bearing: Option<f64>,
    /// How many leaves and how they move; two swinging ones by default.
    pub(super) leaves: Option<LeavesWord>,
    /// The side a single leaf is hinged on, or a sliding one moves to, as seen by someone entering; left by
    /// default.
    pub(super) hinge: Option<SideWord>,
    /// Which way swinging leaves open; in by default.
    pub(super) opens: Option<SwingWord>,
    /// How far they stand open, in degrees from closed; 90 by default.
    pub(super) open_angle_deg: Option<f64>,
    /// The posts: a width, or an object with width, depth and top. 6 in square and 6 ft high by default.
    pub(super) post: Option<PostEntry>,
    /// What stays put when the opening is widened; the center by default.
    pub(super) anchor: Option<AnchorWord>,
    /// Thickness of a leaf; 2 in by default.
    pub(super) thickness: Option<Length>,
    /// Height of a leaf's underside above ground; 2 in by default.
    pub(super) bottom: Option<Length>,
    /// Height of a leaf's top above ground; 5 ft by default.
    pub(super) top: Option<Length>,
}

/// How many leaves, and how they move.
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

/// Which way leaves swing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum SwingWord {
    /// Away from the road.
    In,
    /// Toward the road.
    Out,
}

/// What stays put when the opening is widened.
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
    /// What it is called in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// Anything worth saying.
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
    /// What it is called in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// Anything worth saying.
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
    /// What it is called in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// Anything worth saying.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// The way it must face, as on a compass: 0 is north (up in a sketch), 90 east. Any way if left out.
    pub(super) heading_deg: Option<f64>,
    /// The vehicles it is for; all if left out.
    pub(super) vehicles: Option<Vec<String>>,
}

/// A path to be checked as drawn, one line for each leg.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RouteWords {
    /// What it is called in messages and drawings.
    #[serde(alias = "name")]
    pub(super) label: Option<String>,
    /// Anything worth saying.
    #[serde(rename = "note")]
    _note: Option<String>,
    /// The vehicle that drives it.
    pub(super) vehicle: Option<String>,
    /// Which point of the vehicle follows the line; the middle of its front axle by default.
    pub(super) track: Option<TrackWord>,
}

/// Which point of a vehicle follows a drawn route.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum TrackWord {
    /// Middle of the lead unit's front axle.
    FrontAxle,
    /// Middle of the lead unit's rear axle.
    RearAxle,
}

/// Reads an object member by member, so that one bad value hides no other: each is noted as a fault, an unknown
/// name as a warning, and what is left makes the result.
pub(super) fn read_object<T: DeserializeOwned + JsonSchema + Default>(
    object: &Map<String, Value>,
    who: &Who,
    below: &str,
    notes: &mut Notes,
) -> T {
    let mut good = Map::new();
    for (key, value) in object {
        // `null` is how many programs write "not given".
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
            notes.warn(who, &place, &format!("property \"{key}\""), format!("not known, passed over{hint}"));
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

/// The parser's complaint in plain words.
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

/// The words a message sets between backticks.
fn ticked(message: &str) -> Vec<String> {
    message.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}
