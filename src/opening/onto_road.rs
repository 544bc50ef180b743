//! Continuation of a way out along the road: from where the vehicle would have stopped to back in, which may be across
//! its lane, forward until it stands on the road in line with the lane.
use super::recheck::keeps;
use super::scene::Scene;
use super::starts::{body_width, drawn_lane};
use crate::clearance::CollisionModel;
use crate::geometry::wrap_angle;
use crate::motion::{Chain, Path, Segment, State};
use crate::search::EDGE_TOLERANCE_M;
use crate::search::lane::Lane;
use crate::search::pursuit::Pursuit;
use crate::vehicle::{PartKind, Vehicle};

/// Look-ahead distances tried, in least turning radii: from the sharpest turn into the lane to a gentle one.
const AHEAD: [f64; 4] = [0.6, 1.0, 1.6, 2.4];
/// Step of the drive, meters: short enough that curvature, which changes evenly within a step, follows the pursuit.
const STEP_M: f64 = 0.5;
/// Angle to the lane below which the vehicle counts as in line with it, 5.7 degrees: the pieces of a lane drawn as a bend
/// meet at up to two thirds of that.
const IN_LINE_RAD: f64 = 0.1;
/// Distance that a body may reach over the edge of its lane and count as in it: half the width of a painted line.
const OVER_M: f64 = 0.05;
/// Largest distance driven until it is in line, meters: more than the longest combination takes.
const FARTHEST_M: f64 = 60.0;

/// A gate seen from the lane by which a vehicle leaves.
pub(super) struct OntoRoad<'a> {
    pub(super) scene: &'a Scene,
    pub(super) vehicle: &'a Vehicle,
    /// Model with the gate and the clearance of the way out.
    pub(super) model: &'a CollisionModel,
    /// Opening of the gate, meters.
    pub(super) drawn_m: f64,
}

impl OntoRoad<'_> {
    /// Returns a way out (gate frame) driven on until the vehicle is on the road, its front short of the road's end, and in
    /// line with its lane, with true; or, where none gets so far, to the end of the road as drawn, with false; `None` if no
    /// pursuit of the lane, in its middle, at the offset that the way out ends at or at the edges of its play, stays on the
    /// ground and keeps the clearance.
    pub(super) fn extended(&self, out: &Path) -> Option<(Path, bool)> {
        let chain = Chain::of(self.vehicle);
        let from = out.end(&chain);
        let (lane, _) = drawn_lane(self.scene, self.vehicle);
        let radius_m = 1.0 / self.vehicle.steering.max_curvature.max(1e-3);
        let (least, most) = lane.play_m;
        let mut to_the_end = None;
        let beside_m = lane.station_and_offset(&from.lead).1.clamp(least, most);
        for aside_m in [0.5 * (least + most), beside_m, least, most] {
            for ahead in AHEAD {
                let (ahead_m, steering) = (ahead * radius_m, self.vehicle.steering);
                let pursuit = Pursuit { lane: &lane, steering, ahead_m, aside_m, step_m: STEP_M };
                let Some((segments, in_line)) = self.drive(&chain, &pursuit, from) else { continue };
                if !in_line && to_the_end.is_some() {
                    continue;
                }
                let mut on = out.clone();
                on.legs.last_mut()?.segments.extend(segments);
                if keeps(self.model, &on, self.drawn_m) {
                    if in_line {
                        return Some((on, true));
                    }
                    to_the_end = Some((on, false));
                }
            }
        }
        to_the_end
    }

    /// True if the vehicle stands in its lane and in line with it at the end of a path.
    pub(super) fn ends_in_line(&self, path: &Path) -> bool {
        let chain = Chain::of(self.vehicle);
        self.is_in_line(&chain, &drawn_lane(self.scene, self.vehicle).0, &path.end(&chain))
    }

    /// True if the vehicle stands in its lane and in line with it, on the road, its front short of the road's end.
    fn is_in_line(&self, chain: &Chain, lane: &Lane, state: &State) -> bool {
        let station = lane.station_near(state.lead.position);
        let turned = wrap_angle(state.lead.heading - lane.pose(station, 0.0).heading).abs();
        turned < IN_LINE_RAD
            && station + self.ahead_m() <= lane.length_m()
            && self.is_on_road(chain, state)
            && self.is_in_lane(chain, lane, state)
    }

    /// True if the body of the lead stands in its lane: on a bend, within what its straight sides take there; a vehicle wider
    /// than its lane within the play that this leaves it.
    fn is_in_lane(&self, chain: &Chain, lane: &Lane, state: &State) -> bool {
        let Some((unit, frame)) = self.vehicle.units.first().zip(chain.unit_frames(state).into_iter().next())
        else {
            return true;
        };
        let half_m = 0.5 * self.scene.travel.lane.width_m;
        let half_body_m = 0.5 * body_width(self.vehicle);
        let (least, most) = (lane.play_m.0 - half_body_m, lane.play_m.1 + half_body_m);
        let long_m = unit.wheelbase_m + unit.front_overhang_m + unit.rear_overhang_m;
        let (_, curvature) = lane.bend_at(lane.station_near(state.lead.position), 0.5 * long_m);
        let over_m = OVER_M + curvature.abs() * long_m * long_m / 8.0;
        let (low, high) = (least.min(-half_m) - over_m, most.max(half_m) + over_m);
        let bodies = unit.parts.iter().filter(|part| part.kind == PartKind::Body);
        let mut corners = bodies.flat_map(|part| &part.outline.0).map(|p| frame.place(*p));
        corners.all(|p| {
            let aside_m = lane.pose(lane.station_near(p), 0.0).to_body(p).y;
            (low..=high).contains(&aside_m)
        })
    }

    /// Distance from the lead's rear axle to its front, meters.
    fn ahead_m(&self) -> f64 {
        self.vehicle.units[0].wheelbase_m + self.vehicle.units[0].front_overhang_m
    }

    /// Segments that pursue the lane until the vehicle is on the road and in line, or the road as drawn ends; with true if
    /// it is in line there.
    fn drive(&self, chain: &Chain, pursuit: &Pursuit, from: State) -> Option<(Vec<Segment>, bool)> {
        let (mut state, mut segments) = (from, Vec::new());
        let mut driven_m = 0.0;
        while driven_m < FARTHEST_M {
            let in_line = self.is_in_line(chain, pursuit.lane, &state);
            let station = pursuit.lane.station_near(state.lead.position);
            if in_line || station + self.ahead_m() + STEP_M > pursuit.lane.length_m() {
                return Some((segments, in_line));
            }
            let (segment, next) = pursuit.step(chain, &state, pursuit.wanted(&state));
            state = next;
            driven_m += segment.length_m;
            segments.push(segment);
        }
        None
    }

    /// True if the middle of every tire is on a road.
    fn is_on_road(&self, chain: &Chain, state: &State) -> bool {
        let frames = chain.unit_frames(state);
        let mut tires = self
            .vehicle
            .units
            .iter()
            .zip(&frames)
            .flat_map(|(unit, frame)| unit.tires.iter().map(|tire| frame.place(tire.center)));
        tires.all(|p| {
            self.scene.roads.as_ref().is_none_or(|roads| roads.signed_distance(p) >= -EDGE_TOLERANCE_M)
        })
    }
}
