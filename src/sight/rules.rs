//! Published rules for sight on leaving, as data: each figure with the source it was read in.
//!
//! Figures that were in no readable copy are left out. Where a rule leaves something open, the figure of another rule
//! stands in, and its source says so.
use crate::geometry::length::FOOT_M;

/// Published figure, in meters or seconds as its place says, and its source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sourced {
    /// The figure.
    pub value: f64,
    /// Place where it was read, or a statement that it was not read.
    pub source: &'static str,
}

const fn read(value: f64, source: &'static str) -> Sourced {
    Sourced { value, source }
}

/// Heights between which nothing may stand in the line of sight: a range at the eye and a range at what is to be seen.
/// For a line with one height at each end, the two ends of each range are equal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heights {
    /// Least height at the eye, meters above ground.
    pub eye_low: Sourced,
    /// Largest height at the eye.
    pub eye_high: Sourced,
    /// Least height of what is to be seen.
    pub object_low: Sourced,
    /// Largest height of what is to be seen.
    pub object_high: Sourced,
}

/// Line along the road whose points must be seen, each by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Along {
    /// The middle of the lane in which traffic comes.
    LaneCenter,
    /// The edge of the road on the side of the drive.
    NearEdge,
}

/// Method by which a rule determines the distance that must be seen.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Distance {
    /// Distance that traffic covers in the time gap a driver needs, by vehicle and side: see [`super::gap_s`].
    TimeGap,
    /// United Kingdom streets: by the 85th percentile speed, for light and heavy vehicles: see [`UK_STREETS`].
    UkStreets,
    /// United Kingdom trunk roads: see [`UK_TRUNK_ROADS`].
    UkTrunkRoads,
    /// The stopping sight distance of the road, level: see [`super::stopping_ft`].
    Stopping,
    /// Reaction of 2.5 s and braking at a friction of 0.30, at 5 mph over the posted speed.
    FrictionPlus5,
    /// Table by speed: pairs of mph and feet; the next higher speed counts.
    Table(&'static [(f64, f64)]),
    /// The distance given by the user.
    Given,
}

/// Published rule on what a leaving driver must see of the road.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SightRule {
    /// Name on the command line.
    pub name: &'static str,
    /// Name among the rules about the gate.
    pub check_name: &'static str,
    /// Citation of the publication.
    pub citation: &'static str,
    /// Requirement in words.
    pub asks: &'static str,
    /// Distance of the driver's eye from the edge of the road, along the drive; `None` where the user gives it.
    pub eye_back_m: Option<Sourced>,
    /// Heights of the line of sight.
    pub heights: Heights,
    /// Line that must be seen.
    pub along: Along,
    /// Distance to which it must be seen.
    pub distance: Distance,
    /// Source of the distance.
    pub distance_source: &'static str,
    /// Width below which round and square things are left out.
    pub slender_m: Option<Sourced>,
    /// Remarks for the reader, in plain words; empty if there are none.
    pub note: &'static str,
}

const VIRGINIA: &str =
    "Virginia DOT memorandum, 2004 (from the 2001 edition of the US geometric design policy)";
const OHIO: &str = "Ohio DOT Location and Design Manual, by a highway engineering handbook, fig. 2.7";
const HANDBOOK: &str =
    "highway engineering handbook, pp. 98 and 100; time gaps also University of Kentucky and Texas DOT";
const DCAN: &str = "Northern Ireland DCAN 15";
const DCAN_LENT: &str = "Northern Ireland DCAN 15; lent, as this rule's own were not in the copy read";

const US_EYE: Sourced = read(3.5 * FOOT_M, VIRGINIA);
const US_HEIGHTS: Heights = level(US_EYE, US_EYE);
const UK_HEIGHTS: Heights = Heights {
    eye_low: read(1.05, DCAN_LENT),
    eye_high: read(2.0, DCAN_LENT),
    object_low: read(0.26, DCAN_LENT),
    object_high: read(1.05, DCAN_LENT),
};
const LOCAL_HEIGHTS: Heights = {
    let eye = read(
        3.5 * FOOT_M,
        "Virginia DOT memorandum, 2004; lent, as this rule's own was not in the copy read",
    );
    level(eye, eye)
};

const fn level(eye: Sourced, object: Sourced) -> Heights {
    Heights { eye_low: eye, eye_high: eye, object_low: object, object_high: object }
}

/// Height of an object that a driver on the road must see in time to stop.
pub const STOPPING_OBJECT_M: Sourced = read(2.0 * FOOT_M, "Texas DOT, roadway design manual, 4.11.1");
/// Eye height of that driver.
pub const STOPPING_EYE_M: Sourced = read(3.5 * FOOT_M, "Texas DOT, roadway design manual, 4.11.1");

/// Largest distance read for a United Kingdom street, for each band of 85th percentile speed: the top of the band, mph;
/// light vehicles, m; heavy ones, m. The bonnet's 2.4 m is included (Leicestershire design guide).
pub const UK_STREETS: [(f64, f64, f64); 6] = [
    (15.0, 17.0, 19.0),
    (20.0, 25.0, 27.0),
    (25.0, 33.0, 36.0),
    (30.0, 43.0, 47.0),
    (35.0, 54.0, 59.0),
    (40.0, 65.0, 73.0),
];

/// Desirable stopping sight distance of United Kingdom trunk roads: speed, km/h; distance, m (TD 9/93).
pub const UK_TRUNK_ROADS: [(f64, f64); 6] =
    [(50.0, 70.0), (60.0, 90.0), (70.0, 120.0), (85.0, 160.0), (100.0, 215.0), (120.0, 295.0)];

/// Feet from the middle of the drive, by posted mph (Orlando FL, 61.105; Lake Mary FL has the same).
const ORLANDO: [(f64, f64); 7] = [
    (25.0, 150.0),
    (30.0, 175.0),
    (35.0, 225.0),
    (40.0, 275.0),
    (45.0, 325.0),
    (50.0, 350.0),
    (100.0, 350.0),
];

/// Every rule on sight of the road, in the order listed to users.
pub const SIGHT_RULES: [SightRule; 8] = [
    SightRule {
        name: "us",
        check_name: "sight-us",
        citation: "United States, intersection sight distance from a stop (case B), level road of two lanes",
        asks: "the distance traffic covers in 7.5 s (car), 9.5 s (single-unit truck) or 11.5 s (combination) turning left, a second \
               less turning right, seen from 14.4 ft back",
        eye_back_m: Some(read(14.4 * FOOT_M, OHIO)),
        heights: US_HEIGHTS,
        along: Along::LaneCenter,
        distance: Distance::TimeGap,
        distance_source: HANDBOOK,
        slender_m: None,
        note: "The near lane is checked with the time gap of a right turn, the far lane with that of a left turn; the second is \
               as in Texas DOT's manual, the first is from memory and not checked against a source. The eye is at 3.5 ft for every \
               vehicle, as no height for trucks was found.",
    },
    SightRule {
        name: "us-preferred",
        check_name: "sight-us-preferred",
        citation: "United States, as \"us\", from the preferred place of the eye",
        asks: "as \"us\", but seen from 17.8 ft back",
        eye_back_m: Some(read(17.8 * FOOT_M, OHIO)),
        heights: US_HEIGHTS,
        along: Along::LaneCenter,
        distance: Distance::TimeGap,
        distance_source: HANDBOOK,
        slender_m: None,
        note: "As for \"us\".",
    },
    SightRule {
        name: "uk-streets",
        check_name: "sight-uk-streets",
        citation: "United Kingdom streets, 85th percentile speed up to 40 mph (Leicestershire design guide)",
        asks: "the stopping distance and 2.4 m of hood along the near edge, seen from 2.4 m back",
        eye_back_m: Some(read(2.4, "guidance on splays for UK accesses, for one house or a light access")),
        heights: UK_HEIGHTS,
        along: Along::NearEdge,
        distance: Distance::UkStreets,
        distance_source: "Leicestershire highway design guide; 1.5 s and 0.45 g (light), 0.375 g (heavy, from memory)",
        slender_m: None,
        note: "",
    },
    SightRule {
        name: "uk-trunk-roads",
        check_name: "sight-uk-trunk-roads",
        citation: "United Kingdom trunk roads, TD 9/93 (desirable minimum: 2 s, 0.25 g)",
        asks: "the stopping distance along the near edge, seen from 2.4 m back unless --sight-x says otherwise",
        eye_back_m: Some(read(
            2.4,
            "guidance on splays for UK accesses; busier accesses need more: give --sight-x",
        )),
        heights: UK_HEIGHTS,
        along: Along::NearEdge,
        distance: Distance::UkTrunkRoads,
        distance_source: "TD 9/93, a copy of pp. 163 and 164",
        slender_m: None,
        note: "",
    },
    SightRule {
        name: "northern-ireland",
        check_name: "sight-northern-ireland",
        citation: "Northern Ireland DCAN 15, geometry of the splay; x and y by --sight-x and --sight-y",
        asks: "nothing higher than 250 mm above the road in the splay x along the drive by y along the near edge",
        eye_back_m: None,
        heights: Heights {
            eye_low: read(0.25, DCAN),
            eye_high: read(2.0, DCAN),
            object_low: read(0.25, DCAN),
            object_high: read(1.05, DCAN),
        },
        along: Along::NearEdge,
        distance: Distance::Given,
        distance_source: "given by the user: the tables of DCAN 15 were not in any readable copy",
        slender_m: None,
        note: "DCAN 15 lets a single slender pole or column stay, but no measure of slender was read: none is left out.",
    },
    SightRule {
        name: "orlando",
        check_name: "sight-orlando",
        citation: "Orlando FL 61.105 and Lake Mary FL",
        asks: "150 ft (25 mph) to 350 ft (50 mph and more) from the middle of the drive; columns under 1 ft in diameter do not \
               count",
        eye_back_m: Some(read(14.4 * FOOT_M, "as \"us\"; lent, as this rule's own was not in the copy read")),
        heights: LOCAL_HEIGHTS,
        along: Along::LaneCenter,
        distance: Distance::Table(&ORLANDO),
        distance_source: "Orlando 61.105",
        slender_m: Some(read(FOOT_M, "Orlando 61.105: columns under 1 ft in diameter")),
        note: "",
    },
    SightRule {
        name: "clemmons",
        check_name: "sight-clemmons",
        citation: "Clemmons NC",
        asks: "nothing between 2.5 and 10 ft above the drive in a triangle of 20 ft along it by the stopping sight distance",
        eye_back_m: Some(read(20.0 * FOOT_M, "Clemmons NC")),
        heights: Heights {
            eye_low: read(2.5 * FOOT_M, "Clemmons NC"),
            eye_high: read(10.0 * FOOT_M, "Clemmons NC"),
            object_low: read(2.5 * FOOT_M, "Clemmons NC"),
            object_high: read(10.0 * FOOT_M, "Clemmons NC"),
        },
        along: Along::NearEdge,
        distance: Distance::Stopping,
        distance_source: "US stopping sight distance: 2.5 s and 11.2 ft/s\u{b2}",
        slender_m: None,
        note: "",
    },
    SightRule {
        name: "pennsylvania-township",
        check_name: "sight-pennsylvania-township",
        citation: "Pennsylvania township minimum (a township's driveway code)",
        asks: "2.5 s of reaction and braking at a friction of 0.30, at 5 mph over the posted speed, seen from 10 ft back",
        eye_back_m: Some(read(10.0 * FOOT_M, "Pennsylvania, 34 Pa.B. 5355")),
        heights: LOCAL_HEIGHTS,
        along: Along::LaneCenter,
        distance: Distance::FrictionPlus5,
        distance_source: "a township's driveway code, level road",
        slender_m: None,
        note: "",
    },
];

/// Position of a pedestrian triangle's corner on the drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum WalkCorner {
    /// One triangle on each side, its corner where the drive's edge meets the back of the sidewalk.
    DriveEdges,
    /// One eye in the middle of the drive that sees along the back of the sidewalk to both sides.
    DriveMiddle,
}

/// Published triangle at a sidewalk, to be kept clear between two heights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WalkRule {
    /// Name on the command line.
    pub name: &'static str,
    /// Citation of the publication.
    pub citation: &'static str,
    /// Requirement in words.
    pub asks: &'static str,
    /// Corner of the triangle on the drive.
    pub corner: WalkCorner,
    /// Leg along the drive, from the back of the sidewalk inward.
    pub back_m: f64,
    /// Leg along the back of the sidewalk.
    pub along_m: f64,
    /// Height above which nothing may stand.
    pub from_m: f64,
    /// Height above which things may hang over; infinite if the rule names none.
    pub to_m: f64,
}

const NO_TOP: f64 = f64::INFINITY;

/// Every rule on pedestrians at the sidewalk, in the order listed to users.
pub const WALK_RULES: [WalkRule; 7] = [
    WalkRule {
        name: "walk-el-segundo",
        citation: "El Segundo CA",
        asks: "a triangle of 10 by 10 ft clear above 30 in at each edge of the drive",
        corner: WalkCorner::DriveEdges,
        back_m: 10.0 * FOOT_M,
        along_m: 10.0 * FOOT_M,
        from_m: 2.5 * FOOT_M,
        to_m: NO_TOP,
    },
    WalkRule {
        name: "walk-reading",
        citation: "Reading PA",
        asks: "a triangle of 10 by 10 ft clear from 30 in to 10 ft at each edge of the drive",
        corner: WalkCorner::DriveEdges,
        back_m: 10.0 * FOOT_M,
        along_m: 10.0 * FOOT_M,
        from_m: 2.5 * FOOT_M,
        to_m: 10.0 * FOOT_M,
    },
    WalkRule {
        name: "walk-zanesville",
        citation: "Zanesville OH; an open fence may be 3.5 ft high there, but no plan says that a fence is open",
        asks: "a triangle of 10 by 10 ft clear from 2.5 to 8 ft at each edge of the drive",
        corner: WalkCorner::DriveEdges,
        back_m: 10.0 * FOOT_M,
        along_m: 10.0 * FOOT_M,
        from_m: 2.5 * FOOT_M,
        to_m: 8.0 * FOOT_M,
    },
    WalkRule {
        name: "walk-dubuque",
        citation: "Dubuque IA (not for houses of one or two families)",
        asks: "a triangle of 10 by 10 ft clear from 2 to 8 ft at each edge of the drive",
        corner: WalkCorner::DriveEdges,
        back_m: 10.0 * FOOT_M,
        along_m: 10.0 * FOOT_M,
        from_m: 2.0 * FOOT_M,
        to_m: 8.0 * FOOT_M,
    },
    WalkRule {
        name: "walk-western-australia",
        citation: "Western Australia R-Codes 5.2.5",
        asks: "a triangle of 1.5 by 1.5 m clear above 0.75 m at each edge of the drive",
        corner: WalkCorner::DriveEdges,
        back_m: 1.5,
        along_m: 1.5,
        from_m: 0.75,
        to_m: NO_TOP,
    },
    WalkRule {
        name: "walk-essex",
        citation: "Essex design guide",
        asks: "a triangle of 1.5 by 1.5 m from the back of the sidewalk, clear above 0.6 m, at each edge of the drive",
        corner: WalkCorner::DriveEdges,
        back_m: 1.5,
        along_m: 1.5,
        from_m: 0.6,
        to_m: NO_TOP,
    },
    WalkRule {
        name: "walk-northern-ireland",
        citation: "Northern Ireland DCAN 15, section 10.6; no height was read, that of its splays is taken: 250 mm",
        asks: "2 m to each side along the back of the sidewalk, seen from an eye 2 m back in the middle of the drive",
        corner: WalkCorner::DriveMiddle,
        back_m: 2.0,
        along_m: 2.0,
        from_m: 0.25,
        to_m: NO_TOP,
    },
];

/// Returns the rule with this name.
#[must_use]
pub fn sight_rule(name: &str) -> Option<&'static SightRule> {
    SIGHT_RULES.iter().find(|rule| rule.name == name)
}

/// Returns the pedestrian rule with this name.
#[must_use]
pub fn walk_rule(name: &str) -> Option<&'static WalkRule> {
    WALK_RULES.iter().find(|rule| rule.name == name)
}
