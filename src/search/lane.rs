//! Lane that a vehicle comes in, and where along it a maneuver may start.
use crate::geometry::{Point, Pose, polyline, wrap_angle};
use crate::motion::{Chain, MAX_TOWED, State};

/// A lane in the gate's frame, with the places where one vehicle may start in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Lane {
    /// Middle of the lane, in the direction of travel; two points or more.
    pub line: Vec<Point>,
    /// Offsets to the left of the line at which the vehicle's middle may start: (least, largest).
    pub play_m: (f64, f64),
    /// Stretches in which the vehicle may start, in order; none: it fits nowhere on the road as drawn.
    pub zones: Vec<StartZone>,
    /// Stretches in which it stands in its lane, upstream of the gate or not: where ways in may begin that are then
    /// extended back along the lane (`super::approach`).
    pub stands: Vec<StartZone>,
    /// Largest station of a start upstream of the gate: for a start farther along, the certified path leads in from
    /// here.
    pub upstream_m: f64,
    /// True if the lane begins at the gate and leads away from it: for a vehicle that backs in from where its way out
    /// ends.
    pub leads_away: bool,
    /// Offset of the other half of the road, which the vehicle may move over to once it has started; 0: none.
    pub other_half_m: f64,
    /// Lanes of other roads that a vehicle may turn into before it backs in, startable anywhere: for a vehicle that does
    /// not come along the road in front of the gate.
    pub turns_into: Vec<Self>,
}

/// A stretch of lane in which a vehicle may start.
///
/// On a straight lane it stands straight. On a bend it stands as it would while driving along: turned, steered and with
/// its hitches bent by the fixed amounts given here.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StartZone {
    /// Least and largest station of the lead unit's rear axle.
    pub stations_m: (f64, f64),
    /// Least and largest offset to the left of the lane's line.
    pub play_m: (f64, f64),
    /// Heading less that of the lane at the station, radians.
    pub turned_rad: f64,
    /// Curvature that the lead unit is steered to.
    pub curvature: f64,
    /// Hitch angles.
    pub hitch_rad: [f64; MAX_TOWED],
}

impl StartZone {
    /// Straight, at any station and offset.
    pub const UNBOUNDED: Self = Self::anywhere((f64::NEG_INFINITY, f64::INFINITY));

    /// Anywhere along a straight lane, with this play.
    #[must_use]
    pub const fn anywhere(play_m: (f64, f64)) -> Self {
        Self::straight((f64::NEG_INFINITY, f64::INFINITY), play_m)
    }

    /// Straight between two stations, with this play.
    #[must_use]
    pub const fn straight(stations_m: (f64, f64), play_m: (f64, f64)) -> Self {
        Self { stations_m, play_m, turned_rad: 0.0, curvature: 0.0, hitch_rad: [0.0; MAX_TOWED] }
    }

    /// Distance along the lane from a station to the zone; 0 within it.
    fn away_m(&self, station_m: f64) -> f64 {
        (self.stations_m.0 - station_m).max(station_m - self.stations_m.1).max(0.0)
    }
}

impl Lane {
    /// Lane in which a vehicle may start straight at any station.
    ///
    /// ```
    /// use wideenough::geometry::Point;
    /// use wideenough::search::lane::Lane;
    /// let lane = Lane::new(vec![Point::new(0.0, -5.0), Point::new(10.0, -5.0)], (-0.4, 0.4));
    /// let pose = lane.pose(3.0, 0.25);
    /// assert_eq!((pose.position.x, pose.position.y, pose.heading), (3.0, -4.75, 0.0));
    /// ```
    #[must_use]
    pub fn new(line: Vec<Point>, play_m: (f64, f64)) -> Self {
        let anywhere = vec![StartZone::anywhere(play_m)];
        Self {
            line,
            play_m,
            zones: anywhere.clone(),
            stands: anywhere,
            upstream_m: f64::INFINITY,
            leads_away: false,
            other_half_m: 0.0,
            turns_into: Vec::new(),
        }
    }

    /// This lane as one that a vehicle comes into from elsewhere: it may start wherever it stands in it.
    #[must_use]
    pub fn startable_anywhere(&self) -> Self {
        let zones = self.stands.clone();
        Self { zones, upstream_m: f64::INFINITY, ..self.clone() }
    }

    /// Pose `station_m` along the line and `offset_m` to its left; beyond the ends the line runs on straight.
    #[must_use]
    pub fn pose(&self, station_m: f64, offset_m: f64) -> Pose {
        let mut left = station_m;
        let last = self.line.len().saturating_sub(1);
        for i in 0..last {
            let (a, b) = (self.line[i], self.line[i + 1]);
            let length = a.distance(b);
            if left <= length || i + 1 == last {
                let along = (b - a).unit().unwrap_or(Point::new(1.0, 0.0));
                return Pose { position: a + along * left + along.left() * offset_m, heading: along.angle() };
            }
            left -= length;
        }
        Pose { position: self.line[last], heading: 0.0 }
    }

    /// Bend of the lane at a station: the direction, and the curvature, of the circle through the points of the line
    /// `reach_m` behind, at and ahead of it.
    ///
    /// ```
    /// use wideenough::geometry::Point;
    /// use wideenough::search::lane::Lane;
    /// let circle: Vec<Point> = (0..90).map(|deg| Point::at_angle(f64::from(deg).to_radians()) * 40.0).collect();
    /// let (heading, curvature) = Lane::new(circle, (0.0, 0.0)).bend_at(40.0 * 0.7, 5.0);
    /// assert!((heading - (0.7 + std::f64::consts::FRAC_PI_2)).abs() < 0.005);
    /// assert!((curvature - 1.0 / 40.0).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn bend_at(&self, station_m: f64, reach_m: f64) -> (f64, f64) {
        let at = |by: f64| self.pose(station_m + by, 0.0).position;
        let (a, b, c) = (at(-reach_m), at(0.0), at(reach_m));
        let (ab, bc, ac) = (a.distance(b), b.distance(c), a.distance(c));
        ((c - a).angle(), 2.0 * (b - a).cross(c - b) / (ab * bc * ac).max(1e-9))
    }

    /// Station of the point of the line nearest to `p`.
    #[must_use]
    pub fn station_near(&self, p: Point) -> f64 {
        polyline::length_to(&self.line, p)
    }

    /// Station of a vehicle that stands in the lane: of the nearest segment, counting each radian that it is turned
    /// from a segment as two meters. Before the first and past the last the line runs on straight.
    #[must_use]
    pub fn station_of(&self, pose: &Pose) -> f64 {
        const METERS_PER_RAD: f64 = 2.0;
        let mut best = (f64::INFINITY, 0.0);
        let mut start = 0.0;
        let last = self.line.len().saturating_sub(2);
        for (i, pair) in self.line.windows(2).enumerate() {
            let length = pair[0].distance(pair[1]);
            let along = (pair[1] - pair[0]).unit().unwrap_or(Point::new(1.0, 0.0));
            let least = if i == 0 { f64::NEG_INFINITY } else { 0.0 };
            let most = if i == last { f64::INFINITY } else { length };
            let t = (pose.position - pair[0]).dot(along).max(least).min(most);
            let away = pose.position.distance(pair[0] + along * t);
            let turned = wrap_angle(pose.heading - along.angle()).abs();
            if away + METERS_PER_RAD * turned < best.0 {
                best = (away + METERS_PER_RAD * turned, start + t);
            }
            start += length;
        }
        best.1
    }

    /// Station of a vehicle that stands in the lane ([`Self::station_of`]), and its offset to the left of the line.
    #[must_use]
    pub fn station_and_offset(&self, pose: &Pose) -> (f64, f64) {
        let station = self.station_of(pose);
        (station, self.pose(station, 0.0).to_body(pose.position).y)
    }

    /// The other half of the road as a lane that a vehicle starts in; `None` where the road has one lane.
    #[must_use]
    pub fn other_half(&self) -> Option<Self> {
        let line = (self.other_half_m != 0.0).then(|| crate::site::beside(&self.line, self.other_half_m))?;
        Some(Self { line, other_half_m: 0.0, ..self.startable_anywhere() })
    }

    /// Distance from the middle of the gate to the line.
    #[must_use]
    pub fn gate_distance_m(&self) -> f64 {
        self.pose(self.station_near(Point::default()), 0.0).position.norm()
    }

    /// Length of the line.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        polyline::length(&self.line)
    }

    /// First station at which a vehicle may start; 0 where there is none.
    #[must_use]
    pub fn first_start_m(&self) -> f64 {
        let stations = self.zones.iter().map(|zone| zone.stations_m.0);
        stations.min_by(f64::total_cmp).filter(|station| station.is_finite()).unwrap_or(0.0)
    }

    /// Zone that a station lies in, or the nearest one; the first of equals.
    #[must_use]
    pub fn zone_at(&self, station_m: f64) -> Option<&StartZone> {
        nearest(&self.zones, station_m)
    }

    /// Stretch of [`Self::stands`] that a station lies in, to within `tolerance_m`.
    #[must_use]
    pub fn stand_within(&self, station_m: f64, tolerance_m: f64) -> Option<&StartZone> {
        nearest(&self.stands, station_m).filter(|zone| zone.away_m(station_m) <= tolerance_m)
    }

    /// Start zone that a station lies in, to within `tolerance_m`.
    #[must_use]
    pub fn zone_within(&self, station_m: f64, tolerance_m: f64) -> Option<&StartZone> {
        self.zone_at(station_m).filter(|zone| zone.away_m(station_m) <= tolerance_m)
    }

    /// State of a vehicle standing in a zone, `station_m` along the line and `offset_m` to its left.
    #[must_use]
    pub fn start(&self, zone: &StartZone, station_m: f64, offset_m: f64) -> State {
        let mut lead = self.pose(station_m, offset_m);
        lead.heading += zone.turned_rad;
        State { lead, curvature: zone.curvature, hitch: zone.hitch_rad }
    }
}

/// Zones in order: those of a vehicle in line with its lane and, between them, those of one that drives along a bend.
#[must_use]
pub fn with_gaps_filled(straight: &[StartZone], bent: &[StartZone]) -> Vec<StartZone> {
    let mut all = Vec::new();
    let mut end_m = f64::NEG_INFINITY;
    let ends = straight.iter().map(|zone| (zone.stations_m, Some(*zone)));
    for ((from_m, to_m), zone) in ends.chain([((f64::INFINITY, f64::INFINITY), None)]) {
        let within = |zone: &StartZone| {
            let stations_m = (zone.stations_m.0.max(end_m), zone.stations_m.1.min(from_m));
            (stations_m.0 < stations_m.1).then_some(StartZone { stations_m, ..*zone })
        };
        all.extend(bent.iter().filter_map(within));
        all.extend(zone);
        end_m = to_m;
    }
    all
}

/// Hitch angles of a vehicle that has followed a circle for a while: for ten times `behind_m`, its reach behind the rear axle.
#[must_use]
pub fn settled_hitch(chain: &Chain, curvature: f64, behind_m: f64) -> [f64; MAX_TOWED] {
    let state = State { lead: Pose::default(), curvature, ..State::default() };
    chain.advance(&state, 10.0 * behind_m.max(1.0), curvature, curvature).hitch
}

fn nearest(zones: &[StartZone], station_m: f64) -> Option<&StartZone> {
    zones.iter().min_by(|a, b| a.away_m(station_m).total_cmp(&b.away_m(station_m)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// On a lane with two bends the station of a pose beside it is its own.
    #[test]
    fn stations_of_a_bent_lane() {
        let line = [(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (30.0, 20.0)].map(|(x, y)| Point::new(x, y));
        let lane = Lane::new(line.to_vec(), (-1.0, 1.0));
        for station in [0.0, 4.0, 8.5, 12.5, 13.0, 16.5, 25.0, 40.0] {
            for offset in [-0.5, 0.0, 0.5] {
                let near = lane.station_near(lane.pose(station, offset).position);
                assert!((near - station).abs() < 1e-9, "{near}, not {station}, {offset} aside");
            }
        }
    }

    #[test]
    fn a_station_between_zones_belongs_to_the_nearer() {
        let mut lane = Lane::new(vec![Point::new(0.0, 0.0), Point::new(50.0, 0.0)], (-1.0, 1.0));
        lane.zones = vec![
            StartZone::straight((0.0, 10.0), (-1.0, 1.0)),
            StartZone::straight((20.0, 30.0), (-0.5, 0.5)),
        ];
        assert_eq!(lane.zone_at(14.0).map(|z| z.stations_m.0), Some(0.0));
        assert_eq!(lane.zone_at(16.0).map(|z| z.stations_m.0), Some(20.0));
        assert!(lane.zone_within(16.0, 1.0).is_none() && lane.zone_within(25.0, 0.0).is_some());
    }
}
