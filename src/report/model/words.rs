//! Words of results.json: every value that is one of a fixed set.
//!
//! Most stand for an enum of the library, variant by variant, so that a variant added there does not compile until it
//! has a word here.
use crate::gate;
use crate::geometry;
use crate::motion;
use crate::opening;
use crate::sight;
use crate::site;
use schemars::JsonSchema;
use serde::Serialize;

/// Declares an enum with its words, and the conversion from the enum of the library with the same variants.
macro_rules! words {
    (
        $(#[$about:meta])*
        $name:ident from $origin:ty { $($(#[$of:meta])* $variant:ident = $word:literal),+ $(,)? }
    ) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
        #[non_exhaustive]
        pub enum $name {
            $($(#[$of])* #[serde(rename = $word)] $variant),+
        }

        impl From<$origin> for $name {
            fn from(origin: $origin) -> Self {
                type Origin = $origin;
                match origin {
                    $(Origin::$variant => Self::$variant),+
                }
            }
        }
    };
}

words! {
    /// Units of a plan's words and drawings; results.json itself is in meters.
    Units from geometry::Units {
        /// Feet and inches.
        Feet = "ft",
        /// Meters.
        Meters = "m",
    }
}

words! {
    /// Left or right.
    Side from site::Side {
        /// Left.
        Left = "left",
        /// Right.
        Right = "right",
    }
}

words! {
    /// Ground that tires may use.
    Ground from opening::GroundUse {
        /// Roads and drives as drawn, and nothing else.
        Drawn = "drawn",
        /// No drive is drawn: roads as drawn, the land between road and gate, and the land behind the gate.
        LandBeforeGate = "land-before-gate",
    }
}

words! {
    /// Maneuver that brings a vehicle in.
    Maneuver from site::Maneuver {
        /// Forward all the way.
        DriveIn = "drive-in",
        /// Forward along the road past the gate, stop, reverse in.
        BackIn = "back-in",
    }
}

words! {
    /// Verdict on one way through the gate as drawn.
    DrawnGate from opening::DrawnGate {
        /// Passes with the study's clearance.
        Comfortable = "comfortable",
        /// Passes, but with less.
        Tight = "tight",
        /// Does not pass, or nothing found passes.
        No = "no",
    }
}

words! {
    /// Verdict on a vehicle at the gate as drawn, by the visits it may make.
    Verdict from opening::Verdict {
        /// Nothing found passes.
        No = "no",
        /// Gets in by backing in only, and that was not requested.
        OnlyBackingIn = "only-backing-in",
        /// Passes, with less than the study's clearance.
        Tight = "tight",
        /// Passes with the study's clearance.
        Comfortable = "comfortable",
    }
}

words! {
    /// Proof status of the gate as drawn where no path through it was found.
    RuledOut from opening::RuledOut {
        /// Proven: no maneuver of this kind passes the opening as drawn, where it is drawn.
        Proven = "proven",
        /// Not proven: none was found, and there may be one.
        NotProven = "not-proven",
    }
}

words! {
    /// Kind of an active constraint.
    ConstraintKind from opening::ConstraintKind {
        /// Something that stands, at the clearance.
        Contact = "contact",
        /// The edge of where tires may go.
        Ground = "ground",
        /// A hitch at its limit.
        Hitch = "hitch",
        /// The steering at full lock.
        Lock = "lock",
    }
}

words! {
    /// Direction in which a vehicle rolls.
    Direction from motion::Direction {
        /// Forward.
        Forward = "forward",
        /// In reverse.
        Reverse = "reverse",
    }
}

words! {
    /// Part of a vehicle that a driver or a spotter can see come level with something.
    Reference from opening::Reference {
        /// The front of the lead unit.
        FrontBumper = "front-bumper",
        /// The mirror on the driver's side; where there is none, the driver's seat, taken at the front axle.
        DriverMirror = "driver-mirror",
        /// The rear wheels (rear axle group) of the lead unit.
        RearWheels = "rear-wheels",
        /// The rear end of the last unit.
        RearEnd = "rear-end",
    }
}

words! {
    /// End of a long thing that is meant, as the vehicle is driven.
    End from opening::End {
        /// All of the thing: it is short.
        Whole = "whole",
        /// The end that is reached first.
        Near = "near-end",
        /// The end that is reached last.
        Far = "far-end",
    }
}

words! {
    /// Side of a yard, seen from the road.
    YardSide from site::YardSide {
        /// Farther from the gate.
        Back = "back",
        /// To the left.
        Left = "left",
        /// To the right.
        Right = "right",
    }
}

words! {
    /// Direction in which leaves swing.
    Swing from site::Swing {
        /// Away from the road.
        In = "in",
        /// Toward the road.
        Out = "out",
    }
}

words! {
    /// Kind of a thing that stops a leaf.
    StopKind from gate::StopKind {
        /// Something that stands: a wall, a tree, a parked car, ground that rises higher than the leaf's underside.
        Standing = "standing",
        /// The traveled way, over which no leaf may swing.
        Road = "road",
        /// A sidewalk, over which no leaf may swing either.
        Sidewalk = "sidewalk",
    }
}

words! {
    /// Kind of change that may correct a gate.
    FixKind from opening::FixKind {
        /// A wider opening.
        Wider = "wider",
        /// The gate further from the road.
        FurtherBack = "further-back",
        /// The gate line turned.
        Turned = "turned",
        /// The apron wider on both sides where it meets the road.
        Flared = "flared",
        /// Other leaves in the same opening.
        OtherLeaf = "other-leaf",
    }
}

words! {
    /// Outcome of a look along the road: what is seen against what is required.
    LookOutcome from sight::LookOutcome {
        /// All that is required is seen.
        Enough = "enough",
        /// The road ends before, and all of it is seen: nothing comes from farther away.
        ToTheEnd = "to-the-end-of-the-road",
        /// A part of what is required is hidden.
        Hidden = "hidden",
        /// All that is drawn is seen, and the road goes on: the plan does not show enough.
        NotDrawn = "road-not-drawn-far-enough",
    }
}

words! {
    /// Kind of vehicle, as published time gaps distinguish it.
    VehicleClass from sight::Class {
        /// A car, a pickup, a van.
        PassengerCar = "passenger car",
        /// A truck or bus without a trailer.
        SingleUnit = "single-unit truck",
        /// Anything that tows.
        Combination = "combination",
    }
}

words! {
    /// Unit of a speed.
    SpeedUnit from site::SpeedUnit {
        /// Miles per hour.
        Mph = "mph",
        /// Kilometers per hour.
        Kmh = "km/h",
    }
}

words! {
    /// Kind of a stated speed.
    SpeedKind from site::SpeedKind {
        /// Posted limit.
        Posted = "posted",
        /// Measured speed that 85 of 100 vehicles do not exceed.
        Percentile85 = "85th-percentile",
    }
}

/// Outcome of a search.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Outcome {
    /// A path passes, and has been certified by a bound that holds between samples.
    Found,
    /// Proven: no maneuver of this kind passes any opening.
    Impossible,
    /// The work allowed ran out, or nothing was found and nothing proven.
    GaveUp,
}

/// Clearance that an answer keeps from everything that stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Clearance {
    /// The study's clearance.
    Comfortable,
    /// None: it touches nothing.
    Bare,
}

impl Clearance {
    /// Clearance of an answer that keeps the study's (`true`) or none.
    pub(crate) const fn of(comfortable: bool) -> Self {
        if comfortable { Self::Comfortable } else { Self::Bare }
    }
}

/// What a path was driven for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Driven {
    /// The comfortable answer: it keeps the study's clearance.
    Comfortable,
    /// The bare answer: it touches nothing.
    Bare,
    /// The gate as drawn, with the most clearance found.
    Drawn,
}

impl From<Clearance> for Driven {
    fn from(clearance: Clearance) -> Self {
        match clearance {
            Clearance::Comfortable => Self::Comfortable,
            Clearance::Bare => Self::Bare,
        }
    }
}

/// What stays in place where another opening is considered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Anchor {
    /// The middle of the opening.
    Center,
    /// The left post.
    Left,
    /// The right post.
    Right,
    /// Nothing: the gate may stand anywhere along its line.
    Free,
}

impl From<site::Anchor> for Anchor {
    fn from(anchor: site::Anchor) -> Self {
        match anchor {
            site::Anchor::Center => Self::Center,
            site::Anchor::Side(site::Side::Left) => Self::Left,
            site::Anchor::Side(site::Side::Right) => Self::Right,
            site::Anchor::Free => Self::Free,
        }
    }
}

/// Number of leaves and how they move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Leaves {
    /// One leaf that swings.
    Single,
    /// Two leaves that swing.
    Double,
    /// One leaf that slides.
    Slide,
    /// No leaf.
    None,
}

/// Outcome of the check of a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum RuleOutcome {
    /// The plan complies.
    Kept,
    /// The plan lacks what the check needs.
    Unknown,
    /// The plan does not comply.
    Differs,
}

/// Goal of a fix, for every vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Goal {
    /// To pass the gate.
    Tight,
    /// To pass it with the study's clearance.
    Comfortable,
}

impl Goal {
    /// Goal of a fix, which the library states as the verdict that is wanted for every vehicle.
    pub(crate) const fn of(wanted: opening::Verdict) -> Self {
        match wanted {
            opening::Verdict::Comfortable => Self::Comfortable,
            opening::Verdict::Tight | opening::Verdict::OnlyBackingIn | opening::Verdict::No => Self::Tight,
        }
    }
}

/// Outcome of a triangle at a sidewalk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum TriangleOutcome {
    /// Nothing stands in it.
    Clear,
    /// Something stands in it.
    Hidden,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The word that serde writes.
    fn written<T: Serialize>(word: T) -> String {
        serde_json::to_value(word).unwrap().as_str().unwrap().to_owned()
    }

    /// Tables and file names take their words from the library's `word` and `words`.
    macro_rules! alike {
        ($word:ident: $($name:ident from $origin:path { $($variant:ident)+ })+) => {
            $($(assert_eq!(written($name::from(<$origin>::$variant)), <$origin>::$variant.$word());)+)+
        };
    }

    #[test]
    fn the_library_uses_the_same_words() {
        alike! { word:
            Side from site::Side { Left Right }
            Ground from opening::GroundUse { Drawn LandBeforeGate }
            Maneuver from site::Maneuver { DriveIn BackIn }
            DrawnGate from opening::DrawnGate { Comfortable Tight No }
            Verdict from opening::Verdict { No OnlyBackingIn Tight Comfortable }
            RuledOut from opening::RuledOut { Proven NotProven }
            ConstraintKind from opening::ConstraintKind { Contact Ground Hitch Lock }
            Reference from opening::Reference { FrontBumper DriverMirror RearWheels RearEnd }
            End from opening::End { Whole Near Far }
            YardSide from site::YardSide { Back Left Right }
            FixKind from opening::FixKind { Wider FurtherBack Turned Flared OtherLeaf }
            LookOutcome from sight::LookOutcome { Enough ToTheEnd Hidden NotDrawn }
            SpeedKind from site::SpeedKind { Posted Percentile85 }
        }
        alike! { words: VehicleClass from sight::Class { PassengerCar SingleUnit Combination } }
        for wanted in [opening::Verdict::Tight, opening::Verdict::Comfortable] {
            assert_eq!(written(Goal::of(wanted)), wanted.word());
        }
        for comfortable in [true, false] {
            assert_eq!(written(Clearance::of(comfortable)), crate::report::clearance_word(comfortable));
            assert_eq!(
                written(Driven::from(Clearance::of(comfortable))),
                crate::report::clearance_word(comfortable)
            );
        }
        for side in [site::Side::Left, site::Side::Right] {
            assert_eq!(written(Anchor::from(site::Anchor::Side(side))), side.word());
        }
    }
}
