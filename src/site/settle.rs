//! Turns features that are each well formed into a [`Site`]: fills in defaults, checks measures, and puts the gate in
//! relation to its road.
use super::consistency::{self, Drawn};
use super::fault::{Notes, Who};
use super::gate::DrawnRoad;
use super::lines::{strip, wall};
use super::other_roads::is_beside;
use super::properties::{
    BoundaryWord, BoundaryWords, ContinuesWord, CoordinatesWord, ManeuverWord, NorthWord, ObstacleWords,
    PlanWords, RoadWords, RouteWords, SideWord, SpeedKindWord, SpotWords, TrackWord, UnitsWord, UseWord,
    VisitWord,
};
use super::read::{Raw, Words, vehicle_entries};
use super::shapes::{At, MAX_REACH_M, ground, line, plain};
use super::travel::{Approach, End, NoWay, ends_at};
use super::{
    Boundary, Fence, Frame, Ground, Obstacle, Permit, RoadEnds, RoadUse, Route, RouteTrack, Side, Site,
    Speed, SpeedKind, Spot, VehicleRequest, Visit,
};
use crate::geometry::length::{FOOT_M, INCH_M, Length, Units};
use crate::geometry::{Outline, Point, Shape, wrap_angle};
use geojson::{GeometryValue, Position};
use std::f64::consts::FRAC_PI_2;

// Defaults where a plan is silent; common practice, no source. Thin and low things are the ones people leave out.
pub(super) const POST_M: f64 = 6.0 * INCH_M;
const FENCE_THICKNESS_M: f64 = 4.0 * INCH_M;
const FENCE_TOP_M: f64 = 5.0 * FOOT_M;
/// Top of an obstacle that gives none: above anything that drives.
pub(crate) const TALL_M: f64 = 100.0;

/// Builds the site; `None` if a fault leaves nothing to build on. `whole` is true if every feature was read, so that a
/// missing gate is not reported when it was merely faulty.
pub(super) fn site(
    plan: PlanWords,
    frame: Frame,
    raw: Vec<Raw>,
    whole: bool,
    notes: &mut Notes,
) -> Option<Site> {
    let vehicles = vehicle_entries(&plan);
    let north_known = plan.north != Some(NorthWord::Unknown);
    let is_map = matches!(plan.coordinates, None | Some(CoordinatesWord::LonLat));
    if !north_known && is_map {
        let message = "longitude and latitude say where north is; leave \"north\" out";
        notes.fault(&Who::default(), "/plan/north", "\"north\"", message);
    }
    let units = notes.units;
    let has_road = raw.iter().any(|feature| matches!(feature.words, Words::Road(_)));
    let mut settler = Settler { frame, notes, whole };
    if !has_road && whole {
        let message = "no road: vehicles must come from one; draw it with \"role\": \"road\"";
        settler.notes.fault(&Who::default(), "/features", "", message);
    }
    let (mut roads, mut drives, mut gates) = (Vec::new(), Vec::new(), Vec::new());
    let (mut fences, mut obstacles, mut spots, mut routes) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut boundaries = Vec::new();
    let mut drawn = Drawn::default();
    for Raw { who, words, shape } in raw {
        match words {
            Words::Road(words) => roads.extend(settler.road(&who, &words, &shape)),
            Words::Drive(words) => {
                let label = words.label.unwrap_or_else(|| "drive".to_owned());
                let grounds = settler.grounds(&who, &shape, "a drive").unwrap_or_default();
                drives.extend(grounds.into_iter().map(|ground| Ground { label: label.clone(), ..ground }));
                drawn.drives.resize(drives.len(), who);
            }
            Words::Gate(words) => gates.push(settler.drawn_gate(who, words, &shape)),
            Words::Fence(words) => {
                let label = words.label.unwrap_or_else(|| "fence".to_owned());
                let thickness_m = settler.positive(&who, "thickness", words.thickness, FENCE_THICKNESS_M);
                let top_m = settler.positive(&who, "top", words.top, FENCE_TOP_M);
                let lines = settler.line_parts(&who, &shape, "a fence").unwrap_or_default();
                fences.extend(lines.into_iter().map(|line| Fence {
                    label: label.clone(),
                    line,
                    thickness_m,
                    top_m,
                }));
                drawn.fences.resize(fences.len(), who);
            }
            Words::Obstacle(words) => {
                obstacles.extend(settler.obstacle(&who, words, &shape));
                drawn.obstacles.resize(obstacles.len(), who);
            }
            Words::Spot(words) => {
                spots.extend(settler.spot(&who, words, &shape));
                drawn.spots.resize(spots.len(), who);
            }
            Words::Route(words) => routes.extend(settler.route(&who, words, &shape)),
            Words::Boundary(words) => boundaries.extend(settler.boundary(&who, words, &shape)),
        }
    }
    let at_road = settler.gate_and_roads(gates, roads, units)?;
    let (gate, roads);
    let beside_gate = at_road.beside_gate;
    (gate, drawn.gate) = (at_road.gate, at_road.who);
    (roads, drawn.roads) = at_road.roads.into_iter().unzip();
    let site = Site {
        title: plan.title.unwrap_or_default(),
        note: plan.note.unwrap_or_default(),
        permit: plan.permit.map_or_else(Permit::default, |words| Permit {
            project: words.project.unwrap_or_default(),
            address: words.address.unwrap_or_default(),
            parcel: words.parcel.unwrap_or_default(),
            prepared_by: words.prepared_by.unwrap_or_default(),
            date: words.date.unwrap_or_default(),
        }),
        units,
        drives_on: plan.drives_on.map_or(Side::Right, side),
        frame,
        north_known,
        roads,
        beside_gate,
        drives,
        gate,
        fences,
        obstacles,
        spots,
        routes,
        boundaries,
        vehicles: vehicles
            .into_iter()
            .map(|entry| VehicleRequest {
                vehicle: entry.vehicle,
                visits: entry
                    .visits
                    .into_iter()
                    .map(visit)
                    .chain(entry.maneuvers.into_iter().map(of_maneuver))
                    .collect(),
                travels: entry.travels,
            })
            .collect(),
        warnings: Vec::new(),
    };
    check_travels(&site, notes);
    consistency::check(&site, &drawn, notes);
    Some(site)
}

/// Units in which a plan's lengths are shown.
pub(super) fn units(plan: &PlanWords) -> Units {
    match (plan.units, plan.coordinates) {
        (Some(UnitsWord::M), _) | (None, Some(CoordinatesWord::LocalM)) => Units::Meters,
        _ => Units::Feet,
    }
}

/// Checks that the required directions of travel lead to the gate.
fn check_travels(site: &Site, notes: &mut Notes) {
    // If an entry of the list was at fault and left out, the places of the others in the list are unknown.
    if notes.faults.iter().any(|fault| fault.feature.is_none()) {
        return;
    }
    let approaches = site.approaches();
    for (i, request) in site.vehicles.iter().enumerate() {
        for (j, travel) in request.travels.iter().enumerate() {
            if approaches.iter().any(|a| a.is_called(travel) && a.no_way.is_none()) {
                continue;
            }
            let message = travel_fault(travel, site, &approaches);
            notes.fault(&Who::default(), &format!("/plan/vehicles/{i}/travels/{j}"), "\"travels\"", message);
        }
    }
}

/// Fault text with the reason that a direction of travel cannot be required, and the remedy.
fn travel_fault(travel: &str, site: &Site, approaches: &[Approach]) -> String {
    let blocked = approaches.iter().find(|a| a.is_called(travel)).and_then(|a| Some((a, a.no_way.as_ref()?)));
    let Some((approach, no_way)) = blocked else {
        let leading: Vec<&str> =
            approaches.iter().filter(|a| a.no_way.is_none()).map(|a| a.word.as_str()).collect();
        return format!(
            "\"{travel}\" is not a direction of travel on the road at the gate; it runs {}",
            leading.join(" and ")
        );
    };
    let road = site.roads.get(approach.road);
    // A road that continues through the gate, through the turnaround or across another road would be another mistake.
    let may_go_on = !matches!(no_way, NoWay::Turnaround(_))
        && road.is_some_and(|road| ends_at(road, site.gate.center()).is_none())
        && !ends_on_another(site, approach);
    let word = match approach.from {
        _ if road.is_some_and(|road| road.continues != RoadEnds::default()) => "both",
        End::First => "start",
        End::Last => "end",
    };
    let mut advice = "leave it out".to_owned();
    if may_go_on {
        advice = format!("{advice}, or give the road \"continues\": \"{word}\" if it goes on");
    }
    format!("\"{travel}\" does not lead to the gate: {}; {advice}", no_way.reason(site.units))
}

/// True if the end of a road that vehicles would come from lies on another road, or beside it.
fn ends_on_another(site: &Site, approach: &Approach) -> bool {
    let Some(road) = site.roads.get(approach.road) else { return false };
    let end = match approach.from {
        End::First => road.centerline.first(),
        End::Last => road.centerline.last(),
    };
    let mut others = site.roads.iter().enumerate().filter(|(index, _)| *index != approach.road);
    end.is_some_and(|end| others.any(|(_, other)| is_beside(&other.surface, *end, 0.5 * road.width_m)))
}

pub(super) fn side(word: SideWord) -> Side {
    match word {
        SideWord::Left => Side::Left,
        SideWord::Right => Side::Right,
    }
}

fn visit(word: VisitWord) -> Visit {
    match word {
        VisitWord::DriveInBackOut => Visit::DriveInBackOut,
        VisitWord::BackInDriveOut => Visit::BackInDriveOut,
        VisitWord::TurnAround => Visit::TurnAround,
    }
}

fn of_maneuver(word: ManeuverWord) -> Visit {
    match word {
        ManeuverWord::DriveIn => Visit::DriveInBackOut,
        ManeuverWord::BackIn => Visit::BackInDriveOut,
    }
}

pub(super) struct Settler<'n, 't> {
    pub(super) frame: Frame,
    pub(super) notes: &'n mut Notes<'t>,
    pub(super) whole: bool,
}

impl Settler<'_, '_> {
    /// Reads a length that must be positive.
    pub(super) fn positive(&mut self, who: &Who, key: &str, value: Option<Length>, default_m: f64) -> f64 {
        match value {
            Some(Length(m)) if m <= 0.0 => {
                let message = format!("must be more than 0, and is {}", self.notes.length(m));
                self.notes.property(who, key, message);
                default_m
            }
            Some(Length(m)) => self.within_reach(who, key, m, default_m),
            None => default_m,
        }
    }

    /// Reads a length that must not be negative.
    pub(super) fn at_least_zero(
        &mut self,
        who: &Who,
        key: &str,
        value: Option<Length>,
        default_m: f64,
    ) -> f64 {
        match value {
            Some(Length(m)) if m < 0.0 => {
                let message = format!("must not be less than 0, and is {}", self.notes.length(m));
                self.notes.property(who, key, message);
                default_m
            }
            Some(Length(m)) => self.within_reach(who, key, m, default_m),
            None => default_m,
        }
    }

    /// Checks that a length is no longer than a site.
    fn within_reach(&mut self, who: &Who, key: &str, meters: f64, default_m: f64) -> f64 {
        if meters <= MAX_REACH_M {
            return meters;
        }
        let message = format!("is too long; a site reaches at most {:.0} km", MAX_REACH_M / 1000.0);
        self.notes.property(who, key, message);
        default_m
    }

    pub(super) fn wrong_geometry(&mut self, who: &Who, shape: &GeometryValue, what: &str, wanted: &str) {
        let is = shape.type_name();
        self.notes.fault(
            who,
            "/geometry/type",
            "geometry",
            format!("{what} is drawn as {wanted}, not as a {is}"),
        );
    }

    fn ground(&mut self, who: &Who, rings: &[Vec<Position>], at: &At) -> Option<Ground> {
        ground(rings, at, who, &self.frame, self.notes)
    }

    fn line(&mut self, who: &Who, positions: &[Position], at: &At) -> Option<Vec<Point>> {
        line(positions, at, who, &self.frame, self.notes)
    }

    /// Reads the grounds of a Polygon or MultiPolygon.
    fn grounds(&mut self, who: &Who, shape: &GeometryValue, what: &str) -> Option<Vec<Ground>> {
        let top = At::coordinates();
        match shape {
            GeometryValue::Polygon { coordinates } => self.ground(who, coordinates, &top).map(|g| vec![g]),
            GeometryValue::MultiPolygon { coordinates } => {
                let count = coordinates.len();
                let all = coordinates.iter().enumerate();
                all.map(|(i, rings)| self.ground(who, rings, &top.down("polygon", i, count)))
                    .collect::<Vec<_>>()
                    .into_iter()
                    .collect()
            }
            _ => {
                self.wrong_geometry(who, shape, what, "a Polygon");
                None
            }
        }
    }

    /// Reads the lines of a LineString or MultiLineString.
    fn line_parts(&mut self, who: &Who, shape: &GeometryValue, what: &str) -> Option<Vec<Vec<Point>>> {
        let top = At::coordinates();
        match shape {
            GeometryValue::LineString { coordinates } => {
                self.line(who, coordinates, &top).map(|line| vec![line])
            }
            GeometryValue::MultiLineString { coordinates } => {
                let count = coordinates.len();
                let all = coordinates.iter().enumerate();
                all.map(|(i, line)| self.line(who, line, &top.down("line", i, count)))
                    .collect::<Vec<_>>()
                    .into_iter()
                    .collect()
            }
            _ => {
                self.wrong_geometry(who, shape, what, "a LineString");
                None
            }
        }
    }

    fn road(&mut self, who: &Who, words: &RoadWords, shape: &GeometryValue) -> Vec<DrawnRoad> {
        let label = words.label.clone().unwrap_or_else(|| "road".to_owned());
        let usage = if words.usage == Some(UseWord::OwnLane) { RoadUse::OwnLane } else { RoadUse::Full };
        let kind = match words.speed_kind {
            None | Some(SpeedKindWord::Posted) => SpeedKind::Posted,
            Some(SpeedKindWord::Percentile85) => SpeedKind::Percentile85,
        };
        let speed = match words.speed.as_deref().map(|text| Speed::parse(text, kind)) {
            Some(Ok(speed)) => Some(speed),
            Some(Err(message)) => {
                self.notes.property(who, "speed", message);
                None
            }
            None => None,
        };
        let (start, end) = match words.continues {
            None | Some(ContinuesWord::None) => (false, false),
            Some(ContinuesWord::Start) => (true, false),
            Some(ContinuesWord::End) => (false, true),
            Some(ContinuesWord::Both) => (true, true),
        };
        let drawn = |surface: Ground, centerline, continues| DrawnRoad {
            who: who.clone(),
            surface: Ground { label: label.clone(), ..surface },
            centerline,
            usage,
            continues,
            speed,
        };
        if matches!(shape, GeometryValue::Polygon { .. } | GeometryValue::MultiPolygon { .. }) {
            let grounds = self.grounds(who, shape, "a road").unwrap_or_default();
            let ends = RoadEnds { start, end };
            return grounds.into_iter().map(|ground| drawn(ground, None, ends)).collect();
        }
        let lines = self.line_parts(who, shape, "a road").unwrap_or_default();
        if words.width.is_none() && !lines.is_empty() {
            if self.notes.has_faulty(who, "width") {
                return Vec::new();
            }
            self.notes.fault(
                who,
                "/properties",
                "",
                "a road drawn as a line needs its \"width\", like \"20 ft\"; or draw its outline as a Polygon",
            );
            return Vec::new();
        }
        let width_m = self.positive(who, "width", words.width, 20.0 * FOOT_M);
        let count = lines.len();
        let parts = lines.into_iter().enumerate();
        // For a road in several lines: the first point of all and the last.
        parts
            .map(|(i, line)| {
                let ends = RoadEnds { start: start && i == 0, end: end && i + 1 == count };
                drawn(strip(&line, width_m), Some((line, width_m)), ends)
            })
            .collect()
    }

    fn obstacle(&mut self, who: &Who, words: ObstacleWords, shape: &GeometryValue) -> Option<Obstacle> {
        let before = self.notes.faults.len();
        let bottom_m = self.at_least_zero(who, "bottom", words.bottom, 0.0);
        let top_m = self.at_least_zero(who, "top", words.top, TALL_M);
        if self.notes.faults.len() == before && top_m < bottom_m {
            let (top, bottom) = (self.notes.length(top_m), self.notes.length(bottom_m));
            self.notes.property(who, "top", format!("the top, {top}, is below the bottom, {bottom}"));
        }
        let shapes = match shape {
            GeometryValue::Point { coordinates } => {
                self.discs(who, words.radius, std::slice::from_ref(coordinates))
            }
            GeometryValue::MultiPoint { coordinates } => self.discs(who, words.radius, coordinates),
            GeometryValue::LineString { .. } | GeometryValue::MultiLineString { .. } => {
                let lines = self.line_parts(who, shape, "an obstacle")?;
                if words.thickness.is_none() {
                    if self.notes.has_faulty(who, "thickness") {
                        return None;
                    }
                    let message = "an obstacle drawn as a line needs its \"thickness\", like \"8 in\"";
                    self.notes.fault(who, "/properties", "", message);
                    return None;
                }
                let thickness_m = self.positive(who, "thickness", words.thickness, POST_M);
                lines.iter().flat_map(|line| wall(line, thickness_m)).collect()
            }
            _ => {
                let grounds = self.grounds(who, shape, "an obstacle")?;
                grounds.into_iter().map(|g| Shape { outer: g.outer, holes: g.holes, radius_m: 0.0 }).collect()
            }
        };
        let label = words.label.unwrap_or_else(|| "obstacle".to_owned());
        (self.notes.faults.len() == before).then_some(Obstacle { label, shapes, bottom_m, top_m })
    }

    fn discs(&mut self, who: &Who, radius: Option<Length>, centers: &[Position]) -> Vec<Shape> {
        if radius.is_none() && !self.notes.has_faulty(who, "radius") {
            let message = "an obstacle drawn as a point needs its \"radius\", like \"6 in\"";
            self.notes.fault(who, "/properties", "", message);
        }
        let radius_m = self.positive(who, "radius", radius, POST_M);
        let place = |p: &Position| Outline(vec![self.frame.to_site(plain(p))]);
        centers.iter().map(|p| Shape { outer: place(p), holes: Vec::new(), radius_m }).collect()
    }

    fn spot(&mut self, who: &Who, words: SpotWords, shape: &GeometryValue) -> Option<Spot> {
        let coordinates = match shape {
            GeometryValue::Point { coordinates } => coordinates,
            GeometryValue::MultiPoint { coordinates } if coordinates.len() == 1 => &coordinates[0],
            _ => {
                self.wrong_geometry(who, shape, "a spot", "a Point");
                return None;
            }
        };
        if words.heading_deg.is_some_and(|deg| deg.abs() > 360.0) {
            self.notes.property(who, "heading_deg", "must be between 0 and 360: 0 is north, 90 east");
        }
        Some(Spot {
            label: words.label.unwrap_or_else(|| "spot".to_owned()),
            at: self.frame.to_site(plain(coordinates)),
            heading_rad: words.heading_deg.map(|deg| wrap_angle(FRAC_PI_2 - deg.to_radians())),
            vehicles: words.vehicles.unwrap_or_default(),
        })
    }

    /// Reads the lines of a boundary: those drawn, or the edges of a parcel.
    fn boundary(&mut self, who: &Who, words: BoundaryWords, shape: &GeometryValue) -> Vec<Boundary> {
        let lines = if matches!(shape, GeometryValue::Polygon { .. } | GeometryValue::MultiPolygon { .. }) {
            let rings = self.grounds(who, shape, "a boundary").into_iter().flatten();
            let rings = rings.flat_map(|ground| std::iter::once(ground.outer).chain(ground.holes));
            rings.map(|ring| ring.0.iter().chain(ring.0.first()).copied().collect()).collect()
        } else {
            self.line_parts(who, shape, "a boundary").unwrap_or_default()
        };
        let kind = match words.kind {
            Some(BoundaryWord::RightOfWay) => "right of way",
            Some(BoundaryWord::PropertyLine) | None => "property line",
        };
        let label = words.label.unwrap_or_else(|| kind.to_owned());
        lines.into_iter().map(|line| Boundary { label: label.clone(), line }).collect()
    }

    fn route(&mut self, who: &Who, words: RouteWords, shape: &GeometryValue) -> Option<Route> {
        let legs = self.line_parts(who, shape, "a route");
        let Some(vehicle) = words.vehicle else {
            if self.notes.has_faulty(who, "vehicle") {
                return None;
            }
            self.notes.fault(
                who,
                "/properties",
                "",
                "a route needs the \"vehicle\" that drives it, like \"pickup\"",
            );
            return None;
        };
        let track = match words.track {
            Some(TrackWord::RearAxle) => RouteTrack::RearAxle,
            _ => RouteTrack::FrontAxle,
        };
        Some(Route { label: words.label.unwrap_or_else(|| "route".to_owned()), vehicle, track, legs: legs? })
    }
}
