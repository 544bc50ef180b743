//! Lengths as people write them ("8 ft", "12' 6\"", "96 in", "2.44 m") and as reports show them.
//!
//! A length in a file is a JSON number, which is meters, or a string with its unit in it: [`Length`] reads both.
//! [`parse`] reads the string. [`show`] writes a length for people, rounded in the direction the caller chooses: the
//! room a vehicle needs is rounded up, the room that is left is rounded down, so that the page never promises more than
//! is true.
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::Visitor;
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;
use std::fmt;

/// Meters in a foot: exact since 1959.
pub const FOOT_M: f64 = 0.3048;
/// Meters in an inch: exact.
pub const INCH_M: f64 = 0.0254;

/// Arithmetic noise that rounding up or down ignores, in steps of the shown unit: 4.191 m is 165 inches, though 4.191 /
/// 0.0254 is not 165 in binary. A hundred-millionth of an inch is a quarter of a nanometer.
const NOISE: f64 = 1e-8;

/// Units in which lengths are shown to people. All computation is in meters.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// Feet and inches, to the inch: 13' 9".
    #[default]
    Feet,
    /// Meters, to the centimeter: 4.19 m.
    Meters,
}

/// The direction in which a shown length is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Round {
    /// To the nearest step: for a measure as drawn.
    Nearest,
    /// Never below the true value: for room that is needed.
    Up,
    /// Never above the true value: for room that is left.
    Down,
}

/// The reason a text is not a length. Each message says what to write instead.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LengthError {
    /// Nothing but blanks.
    #[error("the length is empty; write one with its unit, like \"12 ft\" or \"3.66 m\"")]
    Empty,
    /// A number without a unit, in a string.
    #[error(
        "\"{0}\" has no unit; write \"{0} ft\", \"{0} in\" or \"{0} m\" (in a file, a number without quotes is meters)"
    )]
    NoUnit(String),
    /// An unknown unit.
    #[error("\"{0}\": the unit \"{1}\" is not known; use ft, in, yd, m, cm or mm")]
    UnknownUnit(String, String),
    /// A number that cannot be read.
    #[error("\"{0}\" is not a length; write one like \"12 ft\", \"12' 6 1/2\\\"\", \"96 in\" or \"2.44 m\"")]
    NotALength(String),
    /// A comma, which means one thing to some and another to others.
    #[error("\"{0}\" has a comma; write a point for decimals and nothing between thousands, like \"2.44 m\"")]
    Comma(String),
    /// Inches after feet that make up another foot.
    #[error("\"{0}\": after feet, inches must be less than 12")]
    InchesPastTwelve(String),
    /// Infinite, not a number, or too large to compute with.
    #[error("\"{0}\" is not a finite length")]
    NotFinite(String),
}

/// Reads a length with its unit; the result is in meters.
///
/// Units: `ft` `feet` `foot` `'` `′`, `in` `inch` `inches` `"` `″`, `yd` `yard(s)`, `m` `meter(s)`, `cm`, `mm`.
/// Feet may be followed by inches, with a blank or a dash between; the inch mark may then be missing, as people
/// write 12'6. Numbers may be decimals, fractions or both: `6.5`, `1/2`, `6 1/2`, `6-1/2`, `6½`. A leading minus
/// is read; whether a negative length makes sense is for the caller to say. Only zero needs no unit.
///
/// ```
/// use wideenough::geometry::length::parse;
/// let inches = |text| (parse(text).unwrap() / 0.0254 * 1e6).round() / 1e6;
/// assert_eq!(inches("8 ft"), 96.0);
/// assert_eq!(inches("12' 6\""), 150.0);
/// assert_eq!(inches("12'-6 1/2\""), 150.5);
/// assert_eq!(inches("3′ 7⅝″"), 43.625);
/// assert_eq!(inches("96 in"), 96.0);
/// assert_eq!(inches("1/2 in"), 0.5);
/// assert_eq!(parse("2.44 m"), Ok(2.44));
/// assert_eq!(parse("250 cm"), Ok(2.5));
/// assert_eq!(parse("300mm"), Ok(0.3));
/// assert_eq!(parse("0"), Ok(0.0));
/// assert!(parse("12").unwrap_err().to_string().contains("12 ft"));
/// assert!(parse("inf m").is_err() && parse("nan ft").is_err() && parse("1e400 m").is_err());
/// ```
///
/// # Errors
/// A [`LengthError`] that says what to write instead.
pub fn parse(text: &str) -> Result<f64, LengthError> {
    let shown = || text.trim().to_owned();
    if text.trim().is_empty() {
        return Err(LengthError::Empty);
    }
    if text.contains(',') {
        return Err(LengthError::Comma(shown()));
    }
    let plain = plain_text(text);
    let (sign, mut rest) = match plain.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, plain.as_str()),
    };
    // (value, unit) pairs: one, or feet and then inches.
    let mut parts: Vec<(f64, Unit)> = Vec::new();
    while !rest.is_empty() {
        let (value, after) = number(rest).ok_or_else(|| {
            let word: String = rest.chars().take_while(|c| c.is_alphanumeric()).collect();
            if matches!(word.as_str(), "inf" | "infinity" | "nan") {
                LengthError::NotFinite(shown())
            } else {
                LengthError::NotALength(shown())
            }
        })?;
        let after = after.trim_start();
        let end = after.find(|c: char| !c.is_alphabetic()).unwrap_or(after.len());
        let (word, after) = match after.chars().next() {
            Some(mark @ ('\'' | '"')) => after.split_at(mark.len_utf8()),
            _ => after.split_at(end),
        };
        let unit = match (Unit::from_word(word), parts.last()) {
            (Some(unit), _) => unit,
            (None, Some((_, Unit::Foot))) if word.is_empty() => Unit::Inch,
            // Zero is zero in any unit.
            (None, None) if word.is_empty() && after.is_empty() && value == 0.0 => return Ok(0.0),
            (None, _) if word.is_empty() && after.is_empty() => return Err(LengthError::NoUnit(shown())),
            (None, _) if word.is_empty() => return Err(LengthError::NotALength(shown())),
            (None, _) => return Err(LengthError::UnknownUnit(shown(), word.to_owned())),
        };
        match (parts.as_slice(), unit) {
            ([], _) => {}
            ([(_, Unit::Foot)], Unit::Inch) if value < 12.0 => {}
            ([(_, Unit::Foot)], Unit::Inch) => return Err(LengthError::InchesPastTwelve(shown())),
            _ => return Err(LengthError::NotALength(shown())),
        }
        parts.push((value, unit));
        let next = after.trim_start();
        rest = match next.strip_prefix('-') {
            Some(tail) if unit == Unit::Foot && !tail.trim_start().is_empty() => tail.trim_start(),
            _ => next,
        };
    }
    if parts.is_empty() {
        return Err(LengthError::NotALength(shown()));
    }
    let meters = sign * parts.iter().map(|(value, unit)| unit.to_meters(*value)).sum::<f64>();
    if meters.is_finite() { Ok(meters) } else { Err(LengthError::NotFinite(shown())) }
}

/// Lower case, plain quotes and dashes, fractions spelled out.
fn plain_text(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '′' | '’' | '‘' | 'ʹ' | '´' | '`' => plain.push('\''),
            '″' | '”' | '“' | 'ʺ' => plain.push('"'),
            '–' | '—' | '−' | '‑' => plain.push('-'),
            '½' => plain.push_str(" 1/2"),
            '¼' => plain.push_str(" 1/4"),
            '¾' => plain.push_str(" 3/4"),
            '⅛' => plain.push_str(" 1/8"),
            '⅜' => plain.push_str(" 3/8"),
            '⅝' => plain.push_str(" 5/8"),
            '⅞' => plain.push_str(" 7/8"),
            '⅓' => plain.push_str(" 1/3"),
            '⅔' => plain.push_str(" 2/3"),
            c if c.is_whitespace() => plain.push(' '),
            c => plain.extend(c.to_lowercase()),
        }
    }
    plain.replace("''", "\"").trim().to_owned()
}

/// A number without sign at the start of the text, and the rest of the text: a decimal, a fraction, or both.
fn number(text: &str) -> Option<(f64, &str)> {
    let (whole, after) = decimal(text)?;
    if let Some((value, after)) = over(whole, after) {
        return Some((value, after));
    }
    // A blank or a dash, then a fraction: 6 1/2 or 6-1/2.
    if let Some(tail) = after.strip_prefix(' ').or_else(|| after.strip_prefix('-'))
        && let Some((fraction, after)) = decimal(tail.trim_start()).and_then(|(top, after)| over(top, after))
    {
        return Some((whole + fraction, after));
    }
    Some((whole, after))
}

/// A denominator after a numerator, if there is one.
fn over(numerator: f64, after: &str) -> Option<(f64, &str)> {
    let (denominator, after) = decimal(after.strip_prefix('/').or_else(|| after.strip_prefix('⁄'))?)?;
    (denominator > 0.0).then_some((numerator / denominator, after))
}

/// Digits with at most one point, and an exponent if digits follow it.
fn decimal(text: &str) -> Option<(f64, &str)> {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
    let mut end = digits(0);
    if bytes.get(end) == Some(&b'.') {
        end += 1 + digits(end + 1);
    }
    if bytes.get(end) == Some(&b'e') {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits((end + 1 + sign).min(bytes.len()));
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    let value = text[..end].parse().ok()?;
    Some((value, &text[end..]))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Unit {
    Foot,
    Inch,
    Yard,
    Meter,
    Centimeter,
    Millimeter,
}

impl Unit {
    fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "'" | "ft" | "foot" | "feet" => Self::Foot,
            "\"" | "in" | "inch" | "inches" => Self::Inch,
            "yd" | "yds" | "yard" | "yards" => Self::Yard,
            "m" | "meter" | "meters" | "metre" | "metres" => Self::Meter,
            "cm" | "centimeter" | "centimeters" | "centimetre" | "centimetres" => Self::Centimeter,
            "mm" | "millimeter" | "millimeters" | "millimetre" | "millimetres" => Self::Millimeter,
            _ => return None,
        })
    }
    // Dividing by 100 is exact where multiplying by 0.01 is not: "250 cm" is 2.5 m to the last digit.
    fn to_meters(self, value: f64) -> f64 {
        match self {
            Self::Foot => value * FOOT_M,
            Self::Inch => value * INCH_M,
            Self::Yard => value * 3.0 * FOOT_M,
            Self::Meter => value,
            Self::Centimeter => value / 100.0,
            Self::Millimeter => value / 1000.0,
        }
    }
}

/// A length for people: feet and inches to the inch, or meters to the centimeter.
///
/// Whole feet show no inches, less than a foot shows no feet. `Round::Up` never shows less than the true value
/// (but for a quarter of a nanometer, the noise of arithmetic), `Round::Down` never more.
///
/// ```
/// use wideenough::geometry::length::{Round, show};
/// use wideenough::geometry::Units::{Feet, Meters};
/// assert_eq!(show(4.191, Feet, Round::Nearest), "13' 9\"");
/// assert_eq!(show(4.191, Feet, Round::Up), "13' 9\"");
/// assert_eq!(show(4.192, Feet, Round::Up), "13' 10\"");
/// assert_eq!(show(4.190, Feet, Round::Down), "13' 8\"");
/// assert_eq!(show(4.2672, Feet, Round::Nearest), "14'");
/// assert_eq!(show(0.3, Feet, Round::Nearest), "1'");
/// assert_eq!(show(0.15, Feet, Round::Nearest), "6\"");
/// assert_eq!(show(-0.15, Feet, Round::Nearest), "-6\"");
/// assert_eq!(show(4.1901, Meters, Round::Up), "4.20 m");
/// assert_eq!(show(4.1901, Meters, Round::Nearest), "4.19 m");
/// ```
#[must_use]
pub fn show(meters: f64, units: Units, round: Round) -> String {
    match units {
        Units::Feet => feet_inches(meters, 1, round),
        Units::Meters => {
            let steps = rounded(meters * 100.0, round);
            format!("{:.2} m", steps / 100.0)
        }
    }
}

/// A length for a drawing or a close call: to the half inch, or to the millimeter.
///
/// ```
/// use wideenough::geometry::length::{Round, show_fine};
/// use wideenough::geometry::Units::{Feet, Meters};
/// assert_eq!(show_fine(4.2, Feet, Round::Up), "13' 9 1/2\"");
/// assert_eq!(show_fine(0.0127, Feet, Round::Nearest), "1/2\"");
/// assert_eq!(show_fine(0.9271, Feet, Round::Nearest), "3' 0 1/2\"");
/// assert_eq!(show_fine(3.6576, Feet, Round::Nearest), "12'");
/// assert_eq!(show_fine(4.1914, Meters, Round::Nearest), "4.191 m");
/// ```
#[must_use]
pub fn show_fine(meters: f64, units: Units, round: Round) -> String {
    match units {
        Units::Feet => feet_inches(meters, 2, round),
        Units::Meters => format!("{:.3} m", rounded(meters * 1000.0, round) / 1000.0),
    }
}

/// The length that [`show_fine`] shows, meters, so that a difference of two shown lengths is that of what is read.
#[must_use]
pub fn shown_fine_m(meters: f64, units: Units, round: Round) -> f64 {
    let step_m = match units {
        Units::Feet => 0.5 * INCH_M,
        Units::Meters => 0.001,
    };
    rounded(meters / step_m, round) * step_m
}

/// A bound on the error of a drawing, rounded up: to the eighth of an inch, or to the millimeter.
///
/// ```
/// use wideenough::geometry::length::show_bound;
/// use wideenough::geometry::Units::{Feet, Meters};
/// assert_eq!(show_bound(0.005, Feet), "1/4\"");
/// assert_eq!(show_bound(0.003, Feet), "1/8\"");
/// assert_eq!(show_bound(0.026, Feet), "1 1/8\"");
/// assert_eq!(show_bound(0.0041, Meters), "5 mm");
/// ```
#[must_use]
pub fn show_bound(meters: f64, units: Units) -> String {
    if units == Units::Meters {
        return format!("{:.0} mm", rounded(meters * 1000.0, Round::Up));
    }
    let eighths = rounded(meters / INCH_M * 8.0, Round::Up);
    let whole = (eighths / 8.0).floor();
    let part = ["", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"]
        .into_iter()
        .zip(0_u8..)
        .find(|(_, i)| f64::from(*i) == eighths - 8.0 * whole)
        .map_or("", |(text, _)| text);
    match (whole > 0.0, part) {
        (true, "") => format!("{whole}\""),
        (true, part) => format!("{whole} {part}\""),
        (false, "") => "0\"".to_owned(),
        (false, part) => format!("{part}\""),
    }
}

/// A width as drawn: to the inch where that is what it is, else to the half inch, so that one width has one name; in meters to the
/// centimeter.
///
/// ```
/// use wideenough::geometry::length::show_drawn;
/// use wideenough::geometry::Units::{Feet, Meters};
/// assert_eq!(show_drawn(4.2672, Feet), "14'");
/// assert_eq!(show_drawn(12.5 * 0.3048 + 0.0127, Feet), "12' 6 1/2\"");
/// assert_eq!(show_drawn(3.658, Meters), "3.66 m");
/// ```
#[must_use]
pub fn show_drawn(meters: f64, units: Units) -> String {
    let inches = meters / INCH_M;
    // Within an eighth of an inch it is the whole inch.
    let whole = (inches - inches.round()).abs() < 0.125;
    match units {
        Units::Feet if !whole => show_fine(meters, units, Round::Nearest),
        _ => show(meters, units, Round::Nearest),
    }
}

/// A clearance that is promised, never more than it is: to the half inch or the centimeter.
///
/// ```
/// use wideenough::geometry::length::show_kept;
/// use wideenough::geometry::Units::{Feet, Meters};
/// assert_eq!(show_kept(0.3, Feet), "11 1/2\"");
/// assert_eq!(show_kept(0.3048, Feet), "1'");
/// assert_eq!(show_kept(0.3, Meters), "0.30 m");
/// ```
#[must_use]
pub fn show_kept(meters: f64, units: Units) -> String {
    match units {
        Units::Feet => show_fine(meters, units, Round::Down),
        Units::Meters => show(meters, units, Round::Down),
    }
}

/// An amount that is lacking, never less than it is: to the half inch or the centimeter.
///
/// ```
/// use wideenough::geometry::length::show_lacking;
/// use wideenough::geometry::Units::{Feet, Meters};
/// assert_eq!(show_lacking(0.3, Feet), "1'");
/// assert_eq!(show_lacking(0.092, Meters), "0.10 m");
/// ```
#[must_use]
pub fn show_lacking(meters: f64, units: Units) -> String {
    match units {
        Units::Feet => show_fine(meters, units, Round::Up),
        Units::Meters => show(meters, units, Round::Up),
    }
}

/// The words of a text, a length in one piece: `13' 9"` and `4.19 m` read badly when broken.
///
/// ```
/// use wideenough::geometry::length::whole_words;
/// assert_eq!(whole_words("needs 13' 9\", or 4.20 m"), ["needs", "13' 9\",", "or", "4.20 m"]);
/// assert_eq!(whole_words("saves 6 1/2\", not 13' 9 1/2\""), ["saves", "6 1/2\",", "not", "13' 9 1/2\""]);
/// ```
#[must_use]
pub fn whole_words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let digit = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
        match words.last_mut() {
            Some(last)
                if digit(last)
                    && (last.ends_with('\'') && digit(word) && word.contains('"')
                        || last.ends_with('\'') && word.chars().all(|c| c.is_ascii_digit())
                        || last.ends_with(|c: char| c.is_ascii_digit()) && word.starts_with("1/2\"")
                        || word.trim_end_matches([';', '.', ',', ':']) == "m") =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Whole steps nearest to, at least, or at most the value; never minus zero.
fn rounded(steps: f64, round: Round) -> f64 {
    let whole = match round {
        Round::Nearest => steps.round(),
        Round::Up => (steps - NOISE).ceil(),
        Round::Down => (steps + NOISE).floor(),
    };
    whole + 0.0
}

/// Feet and inches in steps of an inch (`per_inch` 1) or half an inch (2).
fn feet_inches(meters: f64, per_inch: u8, round: Round) -> String {
    let per_inch = f64::from(per_inch);
    let steps = rounded(meters / INCH_M * per_inch, round);
    if !steps.is_finite() {
        return format!("{meters}");
    }
    let sign = if steps < 0.0 { "-" } else { "" };
    let inches = steps.abs() / per_inch;
    let feet = (inches / 12.0).floor();
    let over = inches - feet * 12.0;
    let (whole, half) = (over.floor(), over.fract() > 0.0);
    let inch_text = match (whole > 0.0, half) {
        (false, false) => String::new(),
        // After feet the 0 is written: 3' 1/2" would be read as three and a half.
        (false, true) if feet > 0.0 => "0 1/2\"".to_owned(),
        (false, true) => "1/2\"".to_owned(),
        (true, false) => format!("{whole}\""),
        (true, true) => format!("{whole} 1/2\""),
    };
    match (feet > 0.0, inch_text.is_empty()) {
        (true, true) => format!("{sign}{feet}'"),
        (true, false) => format!("{sign}{feet}' {inch_text}"),
        (false, true) => "0\"".to_owned(),
        (false, false) => format!("{sign}{inch_text}"),
    }
}

/// A length in a JSON file, held in meters: a number is meters, a string has its unit in it.
///
/// ```
/// use wideenough::geometry::length::Length;
/// let read = |text| serde_json::from_str::<Length>(text).map(|l| l.0);
/// assert_eq!(read("3.5").unwrap(), 3.5);
/// assert_eq!(read("\"350 cm\"").unwrap(), 3.5);
/// assert!(read("\"12\"").is_err() && read("true").is_err());
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Length(pub f64);

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader;
        impl Visitor<'_> for Reader {
            type Value = Length;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a length: a number of meters, or text with a unit like \"12 ft\"")
            }
            fn visit_f64<E: serde::de::Error>(self, value: f64) -> Result<Length, E> {
                if value.is_finite() {
                    Ok(Length(value))
                } else {
                    Err(E::custom(LengthError::NotFinite(value.to_string())))
                }
            }
            // A whole number past 2^53 meters loses its last digits here; no real length is that long.
            #[expect(clippy::cast_precision_loss, reason = "no length has more than 53 bits")]
            fn visit_u64<E: serde::de::Error>(self, value: u64) -> Result<Length, E> {
                Ok(Length(value as f64))
            }
            #[expect(clippy::cast_precision_loss, reason = "no length has more than 53 bits")]
            fn visit_i64<E: serde::de::Error>(self, value: i64) -> Result<Length, E> {
                Ok(Length(value as f64))
            }
            fn visit_str<E: serde::de::Error>(self, value: &str) -> Result<Length, E> {
                parse(value).map(Length).map_err(E::custom)
            }
        }
        deserializer.deserialize_any(Reader)
    }
}

impl JsonSchema for Length {
    fn schema_name() -> Cow<'static, str> {
        "Length".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A number of meters, or text with its unit: \"12 ft\", \"12' 6\\\"\", \"96 in\", \"2.44 m\".",
            "type": ["number", "string"]
        })
    }
}
