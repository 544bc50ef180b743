//! Speed of traffic on a road, as a plan states it: a number with its unit, and the kind of speed.
use std::fmt;

/// Kilometers in a mile: exact since 1959.
const MILE_KM: f64 = 1.609_344;

/// Highest speed that a plan may state, km/h. No public road has a higher limit.
pub const MOST_SPEED_KMH: f64 = 160.0;

/// Speed on a road.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Speed {
    /// Value in `unit`.
    pub value: f64,
    /// Unit of the value.
    pub unit: SpeedUnit,
    /// Kind of speed.
    pub kind: SpeedKind,
}

/// Unit of a speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpeedUnit {
    /// Miles per hour.
    Mph,
    /// Kilometers per hour.
    Kmh,
}

/// Kind of a stated speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpeedKind {
    /// Posted limit.
    Posted,
    /// Measured speed that 85 of 100 vehicles do not exceed.
    Percentile85,
}

impl SpeedKind {
    /// Word used by plans and results.json.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Posted => "posted",
            Self::Percentile85 => "85th-percentile",
        }
    }
}

impl Speed {
    /// Speed in miles per hour.
    ///
    /// ```
    /// use wideenough::site::{Speed, SpeedKind};
    /// let speed = Speed::parse("80.4672 km/h", SpeedKind::Posted).unwrap();
    /// assert!((speed.mph() - 50.0).abs() < 1e-12);
    /// assert!((speed.m_per_s() - 80.4672 / 3.6).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn mph(&self) -> f64 {
        match self.unit {
            SpeedUnit::Mph => self.value,
            SpeedUnit::Kmh => self.value / MILE_KM,
        }
    }
    /// Speed in kilometers per hour.
    #[must_use]
    pub fn kmh(&self) -> f64 {
        match self.unit {
            SpeedUnit::Mph => self.value * MILE_KM,
            SpeedUnit::Kmh => self.value,
        }
    }
    /// Speed in meters per second.
    #[must_use]
    pub fn m_per_s(&self) -> f64 {
        self.kmh() / 3.6
    }
    /// Reads a speed with its unit: "30 mph", "50 km/h".
    ///
    /// ```
    /// use wideenough::site::{Speed, SpeedKind, SpeedUnit};
    /// let speed = Speed::parse("30 mph", SpeedKind::Posted).unwrap();
    /// assert_eq!((speed.value, speed.unit), (30.0, SpeedUnit::Mph));
    /// assert_eq!(Speed::parse("50km/h", SpeedKind::Posted).unwrap().unit, SpeedUnit::Kmh);
    /// assert!(Speed::parse("30", SpeedKind::Posted).unwrap_err().contains("30 mph"));
    /// ```
    ///
    /// # Errors
    /// A description of what is wrong with the text, and of what to write instead.
    pub fn parse(text: &str, kind: SpeedKind) -> Result<Self, String> {
        let plain = text.trim().to_lowercase();
        let end = plain.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(plain.len());
        let (number, unit) = plain.split_at(end);
        let Ok(value) = number.parse::<f64>() else {
            return Err(format!("\"{text}\" is not a speed; write one like \"30 mph\" or \"50 km/h\""));
        };
        let unit = match unit.trim() {
            "mph" | "mi/h" => SpeedUnit::Mph,
            "km/h" | "kmh" | "kph" | "kmph" => SpeedUnit::Kmh,
            "" => return Err(format!("has no unit; write \"{number} mph\" or \"{number} km/h\"")),
            other => return Err(format!("the unit \"{other}\" is not known; use mph or km/h")),
        };
        let speed = Self { value, unit, kind };
        if value > 0.0 && speed.kmh() <= MOST_SPEED_KMH {
            Ok(speed)
        } else {
            Err(format!("\"{text}\" is no speed of a road; it is more than 0 and at most 100 mph (160 km/h)"))
        }
    }
}

impl fmt::Display for Speed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = match self.unit {
            SpeedUnit::Mph => "mph",
            SpeedUnit::Kmh => "km/h",
        };
        let kind = match self.kind {
            SpeedKind::Posted => "posted",
            SpeedKind::Percentile85 => "85th percentile",
        };
        write!(f, "{} {unit} ({kind})", self.value)
    }
}
