//! Tolerance of a path through the gate as drawn: how much earlier or later, farther left or right its first turn of
//! the wheel may begin, the rest driven as well as can be from there; and how late all of the steering may come without
//! that.
//!
//! The first turn of the wheel is made as on the known path, from a changed place in the lane. From where it ends the
//! path is searched again near the known one, bare, through the gate as drawn; what is found is certified. A search
//! that finds nothing proves nothing: each length is the distance outward within which every place tried will do, and
//! more may.
use super::drawn_clearance::{is_clear, of_path};
use super::reoptimize::{SiteVariant, driven_on};
use crate::clearance::Surroundings;
use crate::geometry::length::FOOT_M;
use crate::geometry::{Point, Pose, wrap_angle};
use crate::motion::{Chain, Direction, Leg, Path, Segment, State, Trajectory};
use crate::search::certify::certify;
use crate::search::lane::{Lane, StartZone};
use crate::search::{Effort, Problem, near_below};
use crate::site::Maneuver;
use crate::vehicle::Vehicle;

/// Largest distance searched along the lane, ...
const MOST_ALONG_M: f64 = 10.0 * FOOT_M;
/// ... across it, ...
const MOST_ACROSS_M: f64 = 5.0 * FOOT_M;
/// ... or for late steering.
const MOST_LATE_M: f64 = 10.0 * FOOT_M;
/// Places are tried outward in these equal steps, 15 inches of 10 feet, until one will not do; ...
const TRIED: [f64; 8] = [0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0];
/// ... the last step is halved this many times: to 2 inches.
const HALVINGS: usize = 3;
/// Tolerance of a start about the changed place.
const ABOUT_M: f64 = 5e-4;
/// Step in which late steering is tried: two inches.
const LATE_STEP_M: f64 = FOOT_M / 6.0;
/// Distance by which a path is extended so that it ends inside from a changed start, too, ...
const DRIVES_ON_M: f64 = 1.5;
/// ... and where all of its steering comes late: the first of these that suffices.
const LATE_DRIVES_ON_M: [f64; 3] = [0.5, 1.0, DRIVES_ON_M];
/// Excess over the drawn opening that counts as rounding.
const ROUNDING_M: f64 = 1e-9;

/// Tolerances of the place where the first turn begins, meters each: the distance outward within which every place
/// tried certainly will do, each by a certified path.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Window {
    /// Distance before the best place to begin the turn, along the path.
    pub earlier_m: f64,
    /// Distance past that place.
    pub later_m: f64,
    /// To the left of it, across the lane.
    pub left_m: f64,
    /// To the right of it.
    pub right_m: f64,
    /// Delay of all of the steering, nothing else changed.
    pub late_steering_m: f64,
    /// Room in its lane to the left and the right of that place: the search goes no farther.
    pub lane_room_m: (f64, f64),
}

impl Window {
    /// True if a tolerance along the lane is the largest searched for.
    #[must_use]
    pub const fn is_most_along(length_m: f64) -> bool {
        length_m >= MOST_ALONG_M
    }

    /// True if a tolerance across the lane is the largest searched for.
    #[must_use]
    pub const fn is_most_across(length_m: f64) -> bool {
        length_m >= MOST_ACROSS_M
    }

    /// True if the turn may begin anywhere to the left (to the right) within its lane. False in a lane wider than the
    /// search.
    #[must_use]
    pub fn whole_lane(&self) -> (bool, bool) {
        (self.left_m >= self.lane_room_m.0, self.right_m >= self.lane_room_m.1)
    }
}

/// Computes the window of a path that passes the gate as drawn (gate frame). `None` where the wheel is not turned at
/// all.
pub(super) fn window(
    vehicle: &Vehicle,
    (place, around): (&SiteVariant, &Surroundings),
    path: &Path,
) -> Option<Window> {
    let lane = place.asked().lane(0.0);
    let begun = Begun::of(vehicle, lane, path)?;
    let asked = Asked { vehicle, place, around, lane, begun };
    let along = |sign: f64| most(MOST_ALONG_M, |m| asked.passes(sign * m, 0.0));
    let (low, high) = asked.begun.across_m;
    let across = |sign: f64, room_m: f64| most(MOST_ACROSS_M.min(room_m), |m| asked.passes(0.0, sign * m));
    Some(Window {
        lane_room_m: (high.max(0.0), low.max(0.0)),
        earlier_m: along(-1.0),
        later_m: along(1.0),
        left_m: across(1.0, high),
        right_m: across(-1.0, low),
        late_steering_m: asked.late_steering_m(),
    })
}

/// Returns the largest tried distance, up to `most_m`, at and below which every try passes.
fn most(most_m: f64, mut will_do: impl FnMut(f64) -> bool) -> f64 {
    if most_m <= 0.0 {
        return 0.0;
    }
    let mut good = 0.0;
    let Some(mut bad) = TRIED.into_iter().map(|share| share * most_m).find(|m| {
        let does = will_do(*m);
        if does {
            good = *m;
        }
        !does
    }) else {
        return most_m;
    };
    for _ in 0..HALVINGS {
        let middle = 0.5 * (good + bad);
        if will_do(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    good
}

/// Known path, cut where its first turn of the wheel begins and where that turn ends.
struct Begun {
    /// Place where the vehicle lines up: the station along its lane, and the offset.
    station_m: f64,
    offset_m: f64,
    /// Distance rolled from there to where the first turn begins, signed by the direction.
    lead_in_m: f64,
    /// State where the first turn begins.
    stands: State,
    /// Play to the right and left of that state in its lane: (right, left).
    across_m: (f64, f64),
    /// The first turn of the wheel.
    ramp: Segment,
    /// The legs that follow.
    rest: Vec<Leg>,
}

/// Share of full lock below which a change of the wheel does not count as a turn.
const TURNED: f64 = 1e-3;

impl Begun {
    fn of(vehicle: &Vehicle, lane: &Lane, path: &Path) -> Option<Self> {
        let max = vehicle.steering.max_curvature;
        let start = &path.start;
        let (station, offset_m) = lane.station_and_offset(&start.lead);
        let zone = *lane.zone_within(station, 1e-5)?;
        let first = path.legs.first()?;
        let as_stood = |s: &Segment| {
            let off = |k: f64| (k - start.curvature).abs() <= TURNED * max;
            off(s.curvature_start) && off(s.curvature_end)
        };
        let length = |segments: &[Segment]| segments.iter().map(|s| s.length_m).sum::<f64>();
        let mut rest = path.legs.clone();
        let (lead_in_m, ramp) = match first.segments.iter().position(|s| !as_stood(s)) {
            Some(at) => {
                rest[0].segments.drain(..=at);
                (length(&first.segments[..at]), first.segments[at])
            }
            // The vehicle stops before it turns the wheel, and turns it standing.
            None => {
                rest.remove(0);
                let to = rest.first()?.segments.first()?.curvature_start;
                let ramp = Segment { length_m: 0.0, curvature_start: start.curvature, curvature_end: to };
                (length(&first.segments), ramp)
            }
        };
        if rest[0].segments.is_empty() {
            return None;
        }
        let (low, high) = zone.play_m;
        let lead_in_m = first.direction.sign() * lead_in_m;
        let k = start.curvature;
        Some(Self {
            station_m: station,
            offset_m,
            lead_in_m,
            stands: Chain::of(vehicle).advance(start, lead_in_m, k, k),
            across_m: (offset_m - low, high - offset_m),
            ramp,
            rest,
        })
    }
}

struct Asked<'a> {
    vehicle: &'a Vehicle,
    place: &'a SiteVariant<'a>,
    around: &'a Surroundings,
    lane: &'a Lane,
    begun: Begun,
}

impl Asked<'_> {
    /// State in which a first turn begins that is this much farther along and to the left. From where it lines up the
    /// vehicle continues with the wheel unchanged, also where the lane bends away; before that it stands in its lane.
    /// `None` where that is not the same line.
    fn moved(&self, along_m: f64, left_m: f64) -> Option<State> {
        let begun = &self.begun;
        let k = begun.stands.curvature;
        let from_line_up_m = begun.lead_in_m + along_m;
        let mut stands = if from_line_up_m >= 0.0 {
            Chain::of(self.vehicle).advance(&begun.stands, along_m, k, k)
        } else {
            let station_m = begun.station_m + from_line_up_m;
            let zone = self.lane.zone_within(station_m, 1e-5)?;
            let within = (zone.play_m.0 - ABOUT_M..=zone.play_m.1 + ABOUT_M).contains(&begun.offset_m);
            let alike = (zone.curvature - k).abs() <= TURNED * self.vehicle.steering.max_curvature;
            if !within || !alike {
                return None;
            }
            self.lane.start(zone, station_m, begun.offset_m)
        };
        stands.lead.position = stands.lead.to_site(Point::new(0.0, left_m));
        Some(stands)
    }

    /// True if a path through the gate is found from a first turn that begins this much farther along the lane and to
    /// its left.
    fn passes(&self, along_m: f64, left_m: f64) -> bool {
        let begun = &self.begun;
        let chain = Chain::of(self.vehicle);
        let Some(stands) = self.moved(along_m, left_m) else { return false };
        if !self.begins_clear((along_m, left_m), &stands) {
            return false;
        }
        let Segment { length_m, curvature_start, curvature_end } = begun.ramp;
        let sign = begun.rest[0].direction.sign();
        let turned = if length_m > 0.0 {
            chain.advance(&stands, sign * length_m, curvature_start, curvature_end)
        } else {
            State { curvature: curvature_end, ..stands }
        };
        let lane = self.lane_at(&turned);
        let shift = Path { start: turned, legs: begun.rest.clone() };
        let on = driven_on(&shift, DRIVES_ON_M, &self.vehicle.steering);
        self.place.asked().problems(self.around, 0.0).iter().any(|problem| {
            // From a stop it is one leg, as in driving in: no part of it has to keep out of the gate.
            let stopped = problem.maneuver == Maneuver::BackIn && begun.rest.len() == 1;
            let maneuver = if stopped { Maneuver::DriveIn } else { problem.maneuver };
            let problem = Problem { lane: &lane, maneuver, ..problem.clone() };
            let drawn_m = self.around.drawn_faces_u.opening_m();
            let passes = |opening_m: f64| opening_m <= drawn_m + ROUNDING_M;
            let known = [&shift, &on].into_iter().any(|path| {
                let path = Trajectory::new(path.clone());
                certify(&problem, &path, drawn_m).is_ok_and(|found| passes(found.inspection.opening_m))
            });
            known || {
                let seeds = [shift.clone(), on.clone()];
                passes(near_below(&problem, Effort::AGAIN, &seeds, drawn_m, drawn_m).opening_m())
            }
        })
    }

    /// True if nothing is in the way, and the tires stay on their ground, from where the known turn begins to where this one
    /// does, and until the wheel has turned as far: what follows is asked of the path through the gate.
    fn begins_clear(&self, (along_m, left_m): (f64, f64), stands: &State) -> bool {
        let begun = &self.begun;
        let clear = |start: State, direction: Direction, segment: Segment| {
            let legs = vec![Leg { direction, segments: vec![segment] }];
            is_clear(self.vehicle, self.around, &Path { start, legs })
        };
        let mut known = begun.stands;
        known.lead.position = known.lead.to_site(Point::new(0.0, left_m));
        let k = known.curvature;
        (along_m <= 0.0 || clear(known, Direction::Forward, Segment::arc(along_m, k)))
            && (begun.ramp.length_m <= 0.0 || clear(*stands, begun.rest[0].direction, begun.ramp))
    }

    /// Returns the lane with this state as its only start.
    fn lane_at(&self, state: &State) -> Lane {
        let (station, offset) = self.lane.station_and_offset(&state.lead);
        let straight: Pose = self.lane.pose(station, offset);
        let zone = StartZone {
            stations_m: (station - ABOUT_M, station + ABOUT_M),
            play_m: (offset - ABOUT_M, offset + ABOUT_M),
            turned_rad: wrap_angle(state.lead.heading - straight.heading),
            curvature: state.curvature,
            hitch_rad: state.hitch,
        };
        Lane {
            zones: vec![zone],
            stands: vec![zone],
            play_m: zone.play_m,
            upstream_m: f64::INFINITY,
            ..self.lane.clone()
        }
    }

    /// Largest delay of all of the steering, tried in steps: a delay that passes again beyond the first that does not
    /// is ignored.
    fn late_steering_m(&self) -> f64 {
        let tries =
            (1..).map(|step| f64::from(step) * LATE_STEP_M).take_while(|m| *m <= MOST_LATE_M + ROUNDING_M);
        tries.take_while(|m| self.passes_late(*m)).last().unwrap_or(0.0).min(MOST_LATE_M)
    }

    /// True if the path still passes where all of its steering comes this much late. The vehicle stops as soon as it is
    /// inside.
    fn passes_late(&self, late_m: f64) -> bool {
        let begun = &self.begun;
        let mut legs = begun.rest.clone();
        let ramp = begun.ramp;
        let stays = Segment::arc(late_m, ramp.curvature_start);
        let turn = (ramp.length_m > 0.0).then_some(ramp);
        legs[0].segments.splice(0..0, std::iter::once(stays).chain(turn));
        let late = Path { start: begun.stands, legs };
        let on = |m: f64| driven_on(&late, m, &self.vehicle.steering);
        let ways = std::iter::once(late.clone()).chain(LATE_DRIVES_ON_M.into_iter().map(on));
        let inside = ways.into_iter().find(|path| self.ends_inside(path));
        inside.is_some_and(|path| of_path(self.vehicle, self.around, &Trajectory::new(path), 0.0).is_some())
    }

    /// True if the whole vehicle is inside where a path ends.
    fn ends_inside(&self, path: &Path) -> bool {
        let chain = Chain::of(self.vehicle);
        let poses = chain.unit_poses(&path.end(&chain));
        let parts = self.vehicle.units.iter().zip(&poses).flat_map(|(unit, pose)| {
            unit.parts.iter().flat_map(|part| &part.outline.0).map(|p| pose.to_site(*p).y)
        });
        parts.fold(f64::INFINITY, f64::min) > self.around.beyond_v
    }
}
