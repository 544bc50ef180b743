//! Distance that a rule requires a driver to see, by the speed of the road and the kind of vehicle.
use super::rules::{Distance, SightRule, UK_STREETS, UK_TRUNK_ROADS};
use crate::geometry::length::FOOT_M;
use crate::site::{Speed, SpeedKind, SpeedUnit};
use crate::vehicle::Vehicle;

/// Gravity used by the published tables.
const G_M_S2: f64 = 9.81;
/// Gravity in ft/s² in the grade formula.
const G_FT_S2: f64 = 32.2;
/// Reaction time, s, and comfortable deceleration, ft/s², of the US stopping sight distance.
const US_REACTION_S: f64 = 2.5;
const US_BRAKING_FT_S2: f64 = 11.2;
/// Feet a second in a mile an hour, as the published formulas round it.
const FPS_PER_MPH: f64 = 1.47;
/// Arithmetic noise that rounding up ignores.
const NOISE: f64 = 1e-9;

/// Kind of vehicle, as published time gaps distinguish it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Class {
    /// A car, a pickup, a van.
    PassengerCar,
    /// A truck or bus without a trailer.
    SingleUnit,
    /// Anything that tows.
    Combination,
}

/// Longest wheelbase of a car: between the design car (11 ft), the longest pickups (under 15 ft) and the design truck
/// of 30 ft (20 ft). Our reading; no source draws the line.
const CAR_WHEELBASE_M: f64 = 15.0 * FOOT_M;
/// Largest body width of a car: the design car is 7 ft wide, the design truck 8 ft.
const CAR_WIDTH_M: f64 = 7.2 * FOOT_M;

impl Class {
    /// Kind of a vehicle. Whatever tows counts as a combination, which needs the longest gap.
    #[must_use]
    pub fn of(vehicle: &Vehicle) -> Self {
        match vehicle.units.as_slice() {
            [lead] if lead.wheelbase_m <= CAR_WHEELBASE_M && lead.width_m <= CAR_WIDTH_M => {
                Self::PassengerCar
            }
            [_] => Self::SingleUnit,
            _ => Self::Combination,
        }
    }

    /// Everyday words for the kind.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::PassengerCar => "passenger car",
            Self::SingleUnit => "single-unit truck",
            Self::Combination => "combination",
        }
    }
}

/// Lane in which traffic comes, seen from the drive: the near one, or the far one that a turn across the road joins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrafficLane {
    /// The near lane: from the left where people drive on the right. It is joined by the easy turn.
    Near,
    /// The far lane. It is joined by the turn across the near one.
    Far,
}

/// Time gap that a driver needs, seconds (AASHTO case B: handbook, University of Kentucky, Texas DOT).
///
/// `extra_lanes`: lanes crossed beyond the first, 0.5 s each for a car and 0.7 s for a truck, on the turn across.
/// `upgrade_percent`: the drive's rise toward the road, which counts over 3 percent as a whole: 0.2 s a percent for the
/// turn across, 0.1 s for the other.
///
/// ```
/// use wideenough::sight::{Class, TrafficLane, gap_s};
/// assert_eq!(gap_s(Class::PassengerCar, TrafficLane::Far, 0, 0.0), 7.5);
/// assert_eq!(gap_s(Class::Combination, TrafficLane::Near, 0, 0.0), 10.5);
/// assert_eq!(gap_s(Class::PassengerCar, TrafficLane::Far, 1, 5.0), 9.0); // 7.5 + 0.5 + 5 x 0.2
/// ```
#[must_use]
pub fn gap_s(class: Class, lane: TrafficLane, extra_lanes: u32, upgrade_percent: f64) -> f64 {
    let (across, per_lane) = match class {
        Class::PassengerCar => (7.5, 0.5),
        Class::SingleUnit => (9.5, 0.7),
        Class::Combination => (11.5, 0.7),
    };
    let steep = if upgrade_percent > 3.0 { upgrade_percent } else { 0.0 };
    match lane {
        TrafficLane::Far => across + per_lane * f64::from(extra_lanes) + 0.2 * steep,
        TrafficLane::Near => across - 1.0 + 0.1 * steep,
    }
}

/// Distance that traffic covers in a time gap, feet: 1.47 V t, V in mph.
///
/// ```
/// assert!((wideenough::sight::time_gap_ft(45.0, 8.0) - 529.2).abs() < 1e-9);
/// ```
#[must_use]
pub fn time_gap_ft(mph: f64, gap_s: f64) -> f64 {
    FPS_PER_MPH * mph * gap_s
}

/// US stopping sight distance, feet: 1.47 V t + 1.075 V²/a with 2.5 s and 11.2 ft/s², or on a grade (a fraction,
/// positive uphill) 1.47 V t + V²/[30 (a/32.2 + G)]. Infinite where the grade is steeper than the brakes.
///
/// ```
/// // Published: 110.3 + 86.4 ft at 30 mph.
/// assert!((wideenough::sight::stopping_ft(30.0, 0.0) - 196.7).abs() < 0.1);
/// ```
#[must_use]
pub fn stopping_ft(mph: f64, grade: f64) -> f64 {
    let reaction = FPS_PER_MPH * mph * US_REACTION_S;
    if grade == 0.0 {
        return reaction + 1.075 * mph * mph / US_BRAKING_FT_S2;
    }
    let friction = US_BRAKING_FT_S2 / G_FT_S2 + grade;
    if friction > 0.0 { reaction + mph * mph / (30.0 * friction) } else { f64::INFINITY }
}

/// Stopping distance, meters: v t + v²/(2 d g), at a speed in m/s, a reaction in seconds and a deceleration in g.
///
/// ```
/// // A UK street at 30 mph: 1.5 s and 0.45 g, without the bonnet.
/// let m = wideenough::sight::stopping_m(30.0 * 0.44704, 1.5, 0.45);
/// assert!((m - 40.5).abs() < 0.05, "{m}");
/// ```
#[must_use]
pub fn stopping_m(m_per_s: f64, reaction_s: f64, deceleration_g: f64) -> f64 {
    m_per_s * reaction_s + m_per_s * m_per_s / (2.0 * deceleration_g * G_M_S2)
}

/// Rounds a distance in feet up to the next 5 ft, or to the next 5 m for a speed in km/h, as published tables do;
/// returns meters.
fn up_to_five(feet: f64, unit: SpeedUnit) -> f64 {
    let step_m = match unit {
        SpeedUnit::Mph => 5.0 * FOOT_M,
        SpeedUnit::Kmh => 5.0,
    };
    (feet * FOOT_M / step_m - NOISE).ceil() * step_m
}

/// Values that the user gives where a rule leaves them open, or in place of the rule's own.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Given {
    /// Distance of the eye from the road, along the drive, meters.
    pub eye_back_m: Option<f64>,
    /// Distance along the road that must be seen, meters.
    pub along_m: Option<f64>,
}

/// Distance along the road that a rule requires to be seen, meters.
///
/// ```
/// use wideenough::sight::{Class, Given, TrafficLane, required_m, sight_rule};
/// use wideenough::site::{Speed, SpeedKind};
/// let speed = Speed::parse("30 mph", SpeedKind::Posted).unwrap();
/// let us = sight_rule("us").unwrap();
/// let ask = |lane| required_m(us, Some(&speed), Class::PassengerCar, lane, &Given::default()).unwrap() / 0.3048;
/// assert!((ask(TrafficLane::Far) - 335.0).abs() < 1e-9 && (ask(TrafficLane::Near) - 290.0).abs() < 1e-9);
/// ```
///
/// # Errors
/// The reason that the rule has no distance here, in plain words: no speed, a speed beyond its tables, nothing given.
pub fn required_m(
    rule: &SightRule,
    speed: Option<&Speed>,
    class: Class,
    lane: TrafficLane,
    given: &Given,
) -> Result<f64, String> {
    if let Some(along_m) = given.along_m {
        return Ok(along_m);
    }
    if rule.distance == Distance::Given {
        return Err("this rule needs x and y: give --sight-x and --sight-y".to_owned());
    }
    let Some(speed) = speed else { return Err("the plan gives the road no \"speed\"".to_owned()) };
    let mph = speed.mph();
    let beyond = || format!("the tables that were read have no distance for {speed}");
    match rule.distance {
        Distance::TimeGap => Ok(up_to_five(time_gap_ft(mph, gap_s(class, lane, 0, 0.0)), speed.unit)),
        Distance::Stopping => Ok(up_to_five(stopping_ft(mph, 0.0), speed.unit)),
        Distance::FrictionPlus5 => {
            let mph = if speed.kind == SpeedKind::Posted { mph + 5.0 } else { mph };
            Ok((FPS_PER_MPH * mph * US_REACTION_S + mph * mph / (30.0 * 0.30)) * FOOT_M)
        }
        Distance::UkStreets => {
            let row = UK_STREETS.iter().find(|(top, ..)| mph <= top + NOISE).ok_or_else(|| {
                format!("this rule goes up to 40 mph, and the road has {speed}: choose uk-trunk-roads")
            })?;
            Ok(if class == Class::PassengerCar { row.1 } else { row.2 })
        }
        Distance::UkTrunkRoads => {
            let row = UK_TRUNK_ROADS.iter().find(|(kmh, _)| speed.kmh() <= kmh + NOISE);
            row.map(|(_, m)| *m).ok_or_else(beyond)
        }
        Distance::Table(rows) => {
            let row = rows.iter().find(|(top, _)| mph <= top + NOISE);
            row.map(|(_, feet)| feet * FOOT_M).ok_or_else(beyond)
        }
        Distance::Given => Err(beyond()),
    }
}

/// Stopping sight distance of the road by the school of a rule, meters: the least that must be seen.
///
/// # Errors
/// As for [`required_m`].
pub fn road_stopping_m(rule: &SightRule, speed: Option<&Speed>) -> Result<f64, String> {
    let Some(speed) = speed else { return Err("the plan gives the road no \"speed\"".to_owned()) };
    Ok(match rule.distance {
        Distance::UkStreets => stopping_m(speed.m_per_s(), 1.5, 0.45),
        Distance::UkTrunkRoads => stopping_m(speed.m_per_s(), 2.0, 0.25),
        _ if rule.name == "northern-ireland" => stopping_m(speed.m_per_s(), 2.0, 0.25),
        _ => up_to_five(stopping_ft(speed.mph(), 0.0), speed.unit),
    })
}
