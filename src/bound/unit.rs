//! Units of a vehicle as the proof follows them: one at a time, as if it drove by itself.
//!
//! The axle of a towed unit rolls like that of the lead, except that its hitch steers it. With a the hitch's distance
//! behind the front unit's axle, d the towed unit's wheelbase, φ the hitch angle and k the curvature of the front
//! unit's path, the no-slip relations give the towed axle, per meter the front axle rolls,
//!
//! speed cos φ + a·k·sin φ = cos(φ - β)/cos β and yaw (sin φ - a·k·cos φ)/d = sin(φ - β)/(d·cos β), with tan β = a·k,
//!
//! so the curvature of its own path is tan(φ - β)/d. With |k| ≤ K and |φ| ≤ Φ it is at most tan(Φ + atan(|a|·K))/d, and
//! while Φ + atan(|a|·K) stays below a right angle the axle rolls the same way as the front one: the legs of the whole
//! vehicle are its legs. So a towed unit is one more rigid body with a lock of its own, and every maneuver of the whole
//! is, seen from that unit, a maneuver of that body; an opening closed to it is closed to the whole. K is propagated
//! from unit to unit.
//!
//! Φ is the hitch's limit. Driving forward all the way from a straight start it is also at most the steady angle at
//! full lock, where there is one: dφ/ds = k·(1 + a·cos φ/d) - sin φ/d grows with k while |a| < d, so φ stays below the
//! solution for k = K from φ = 0, which rises to the first φ with sin(φ - β) = K·d·cos β and never passes it.
//!
//! A body also includes the ground that its neighbors cover whatever the angle between them: about a hitch, the part of
//! the neighbor that it covers at every angle up to Φ either way.
use super::body::covered_over;
use crate::clearance::{CollisionModel, ModelPart};
use crate::geometry::{Point, trig};
use crate::vehicle::{Unit, Vehicle};
use std::f64::consts::{FRAC_PI_2, PI};

/// A unit as the proof follows it.
#[derive(Clone, Debug)]
pub struct Body {
    /// Convex parts about its axle, with what each can touch.
    pub parts: Vec<ModelPart>,
    /// Ends of its tires' lines of contact.
    pub tires: Vec<[Point; 2]>,
    /// Largest curvature of its axle's path.
    pub curvature: f64,
    /// Distance of the lead's axle ahead of its own while all stand in line.
    pub lead_ahead_m: f64,
}

impl Body {
    /// Largest distance of any of its points from its axle.
    #[must_use]
    pub fn reach_m(&self) -> f64 {
        self.parts.iter().flat_map(|p| &p.corners).map(|p| p.norm()).fold(0.0, f64::max)
    }
}

/// Allowance at every hitch limit, radians: far more than the integration error of a drive.
const HITCH_SLACK_RAD: f64 = 1e-4;
/// Units whose hitch comes nearer to a right angle than this are not followed.
const LEAST_OFF_SQUARE_RAD: f64 = 0.02;

/// Units of a vehicle, front to rear, as far as they can be followed; `forward_only` if the maneuver has no reverse.
#[must_use]
pub fn bodies(vehicle: &Vehicle, model: &CollisionModel, forward_only: bool) -> Vec<Body> {
    let mut list: Vec<Body> = Vec::new();
    let mut curvature = vehicle.steering.max_curvature;
    let mut lead_ahead_m = 0.0;
    // Largest angle of the hitch in front, unit by unit.
    let mut angle_in_front = 0.0;
    for (index, unit) in vehicle.units.iter().enumerate() {
        if index > 0 {
            let front = &vehicle.units[index - 1];
            let behind_m = front.hitch.map_or(0.0, |h| h.behind_axle_m);
            let angle = most_hitch_angle(front, unit, curvature, forward_only);
            let steered = angle + trig::atan2(behind_m.abs() * curvature, 1.0);
            if steered > FRAC_PI_2 - LEAST_OFF_SQUARE_RAD {
                return list;
            }
            curvature = trig::tan(steered) / unit.wheelbase_m;
            lead_ahead_m += behind_m + unit.wheelbase_m;
            angle_in_front = angle;
        }
        let mine = |p: &&ModelPart| p.unit == index;
        let mut parts: Vec<ModelPart> = model.parts.iter().filter(mine).cloned().collect();
        if index > 0 {
            let behind_m = vehicle.units[index - 1].hitch.map_or(0.0, |h| h.behind_axle_m);
            let hitch = (Point::new(-behind_m, 0.0), Point::new(unit.wheelbase_m, 0.0));
            parts.extend(neighbor(model, index - 1, hitch, angle_in_front));
        }
        if let (Some(next), Some(hitch)) = (vehicle.units.get(index + 1), unit.hitch) {
            let angle = most_hitch_angle(unit, next, curvature, forward_only);
            let place = (Point::new(next.wheelbase_m, 0.0), Point::new(-hitch.behind_axle_m, 0.0));
            parts.extend(neighbor(model, index + 1, place, angle));
        }
        let tires = model.tires.iter().filter(|t| t.unit == index).map(|t| t.ends).collect();
        list.push(Body { parts, tires, curvature, lead_ahead_m });
    }
    list
}

/// Largest angle between two units, while the curvature of the front one's path is at most `curvature`.
fn most_hitch_angle(front: &Unit, unit: &Unit, curvature: f64, forward_only: bool) -> f64 {
    let (behind_m, limit) = front.hitch.map_or((0.0, PI), |h| (h.behind_axle_m, h.max_angle_rad));
    let mut most = limit.min(PI);
    let aside = behind_m * curvature;
    let sine = curvature * unit.wheelbase_m / (1.0 + aside * aside).sqrt();
    if forward_only && behind_m.abs() < unit.wheelbase_m && sine <= 1.0 {
        most = most.min(trig::atan2(aside, 1.0) + trig::asin(sine));
    }
    (most + HITCH_SLACK_RAD).min(PI)
}

/// Ground that a neighboring unit covers whatever the angle of the hitch between them, as parts of this one. `hitch` is
/// its position on the neighbor and on this unit.
fn neighbor(model: &CollisionModel, unit: usize, hitch: (Point, Point), angle: f64) -> Vec<ModelPart> {
    let theirs = model.parts.iter().filter(|p| p.unit == unit);
    let seen = theirs.filter_map(|part| {
        let about: Vec<Point> = part.corners.iter().map(|p| *p - hitch.0).collect();
        let sure = covered_over(&about, (-angle, angle));
        let corners: Vec<Point> = sure.iter().map(|p| *p + hitch.1).collect();
        (corners.len() >= 3).then(|| ModelPart { corners, ..part.clone() })
    });
    seen.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::{Chain, State, Towed};
    use proptest::prelude::*;

    proptest! {
        /// A towed axle's path bends by tan(φ - β)/d: measured on poses a millimeter apart.
        #[test]
        fn the_towed_axle_bends_as_stated(
            (a, d) in (-1.0..2.0f64, 2.0..9.0f64),
            (phi, k) in (-1.2..1.2f64, -0.2..0.2f64),
        ) {
            let chain = Chain::new(&[Towed { hitch_behind_m: a, wheelbase_m: d }]);
            let state = State { hitch: [phi, 0.0, 0.0], ..State::default() };
            let step = 1e-4;
            let poses = [-step, step].map(|s| chain.unit_poses(&chain.advance(&state, s, k, k))[1]);
            let rolled = (poses[1].position - poses[0].position).dot(Point::at_angle(-phi));
            let bent = (poses[1].heading - poses[0].heading) / rolled;
            let steered = phi - trig::atan2(a * k, 1.0);
            prop_assume!(steered.abs() < 1.4);
            prop_assert!(rolled > 0.0);
            prop_assert!((bent - trig::tan(steered) / d).abs() < 1e-5 * (1.0 + bent.abs()), "{bent}");
        }

        /// Driving forward from straight no hitch opens beyond the steady angle.
        #[test]
        fn no_hitch_opens_beyond_the_steady_angle(
            (a, d) in (-1.0..2.0f64, 2.0..9.0f64),
            shares in proptest::collection::vec((-1.0..1.0f64, 0.1..6.0f64), 1..12),
        ) {
            let chain = Chain::new(&[Towed { hitch_behind_m: a, wheelbase_m: d }]);
            let most = 0.18;
            let sine = most * d / (1.0 + a * a * most * most).sqrt();
            prop_assume!(a.abs() < d && sine <= 1.0);
            let limit = trig::atan2(a * most, 1.0) + trig::asin(sine);
            let mut state = State::default();
            for (share, length) in shares {
                let k = (1.5 * share).clamp(-1.0, 1.0) * most;
                state = chain.advance(&state, length, k, k);
                prop_assert!(state.hitch[0].abs() <= limit + 1e-9, "{} {limit}", state.hitch[0]);
            }
        }
    }

    /// A unit whose hitch may turn to a right angle or beyond is not followed, nor what it tows; one whose may not, is.
    #[test]
    fn beyond_a_right_angle_a_unit_is_not_followed() {
        let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-m" }, "features": [
            { "type": "Feature", "properties": { "role": "road", "width": "6 m", "continues": "both" },
              "geometry": { "type": "LineString", "coordinates": [[-80, -9], [80, -9]] } },
            { "type": "Feature", "properties": { "role": "gate", "leaves": "none" },
              "geometry": { "type": "LineString", "coordinates": [[-2, 0], [2, 0]] } } ] }"#;
        let site = crate::site::read(plan, "plan").unwrap();
        let followed = |most_deg: f64| {
            let mut rig = crate::vehicle::find("gooseneck-horse-40").unwrap();
            if let Some(hitch) = &mut rig.units[0].hitch {
                hitch.max_angle_rad = most_deg.to_radians();
            }
            let around = crate::clearance::Surroundings::new(&site, None, 0.0);
            let model = CollisionModel::new(&rig, around, 0.0, f64::INFINITY);
            let list = bodies(&rig, &model, false);
            assert!(list.iter().all(|body| body.curvature > 0.0));
            list.len()
        };
        assert_eq!([60.0, 80.0, 90.0, 110.0, 180.0].map(followed), [2, 2, 1, 1, 1]);
    }
}
