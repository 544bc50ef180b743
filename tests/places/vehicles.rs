//! Random vehicles: rigid ones, trailers on a ball, semitrailers, trailers with a drawbar and trains of them, with the
//! steering given in every form that a vehicle file has. A seed gives the same vehicle on every machine.
use super::common::random::Random;
use serde_json::{Value, json};
use wideenough::vehicle::{self, Vehicle};

/// Name of a random vehicle in a plan: this and its seed.
const PREFIX: &str = "random-";

/// The random vehicle that a plan names, and its file; `None` for other names.
pub fn named(name: &str) -> Option<(String, Vehicle)> {
    name.strip_prefix(PREFIX).and_then(|seed| seed.parse().ok()).map(random_vehicle)
}

/// The name of a seed's vehicle.
pub fn name(seed: u64) -> String {
    format!("{PREFIX}{seed}")
}

/// The first vehicle out of some draws that the program reads, and its file.
fn random_vehicle(seed: u64) -> (String, Vehicle) {
    let mut why = String::new();
    for draw in 0..20 {
        let text = drawn(&mut Random(seed.wrapping_mul(64).wrapping_add(draw))).to_string();
        match vehicle::read(&text, &format!("{}.json", name(seed))) {
            Ok(read) => return (text, read),
            Err(fault) => why = fault.to_string(),
        }
    }
    panic!("vehicle of seed {seed}: no draw could be read; the last: {why}");
}

/// A length to a millimeter, as text with its unit.
fn m(length_m: f64) -> Value {
    json!(format!("{length_m:.3} m"))
}

fn drawn(random: &mut Random) -> Value {
    // Wheelbase, width, overhang in front, overhang behind as a share of the wheelbase, height.
    let (wheelbase, width, front, rear, height) = random.pick(&[
        // Car, van, truck, bus or motorhome, farm tractor, and a wide machine.
        ((1.9, 3.1), (1.5, 2.0), (0.6, 1.0), (0.25, 0.4), 1.6),
        ((2.9, 4.4), (1.9, 2.2), (0.7, 1.1), (0.25, 0.5), 2.6),
        ((3.4, 6.6), (2.2, 2.6), (0.7, 1.6), (0.2, 0.6), 3.6),
        ((4.2, 7.2), (2.3, 2.55), (1.0, 2.8), (0.3, 0.65), 3.2),
        ((2.1, 2.9), (1.8, 2.6), (0.2, 0.9), (0.2, 0.5), 2.9),
        ((2.6, 4.0), (2.8, 3.6), (0.3, 1.2), (0.2, 0.5), 3.8),
    ]);
    let (wheelbase, width) = (random.between(wheelbase.0, wheelbase.1), random.between(width.0, width.1));
    let (front, rear) = (random.between(front.0, front.1), random.between(rear.0, rear.1) * wheelbase);
    let track = width - random.between(0.2, 0.5);
    let lock = random.between(26.0, 50.0).to_radians();
    let (sin, tan) = (libm::sin(lock), libm::tan(lock));
    // Radii about the turning center, which lies on the rear axle's line.
    let curb = libm::hypot(wheelbase / tan + 0.5 * track, wheelbase);
    let wall = libm::hypot(wheelbase / tan + 0.5 * width, wheelbase + front);
    let circle = |kind: &str, radius: f64| json!({ "turning_circle": { "kind": kind, "radius": m(radius) } });
    let mut steering = random.pick(&[
        json!({ "lock_angle_deg": lock.to_degrees() }),
        circle("curb", curb),
        circle("tire-edge", curb + 0.12),
        circle("wall", wall),
        circle("centerline", wheelbase / sin),
    ]);
    steering["lock_distance"] = m(random.pick(&[0.0, 0.8, 1.5, 1.5, 2.5, 2.5, 4.0]));
    let mut lead = json!({
        "name": "lead unit", "wheelbase": m(wheelbase), "front_overhang": m(front), "rear_overhang": m(rear),
        "width": m(width), "height": m(height), "front_axle": { "track": m(track) }, "rear_axle": { "track": m(track) },
    });
    if random.chance(0.4) {
        lead["corner_chamfer"] = m(random.between(0.05, 0.4));
    }
    if random.chance(0.6) {
        let from = random.between(0.2, 1.6);
        lead["mirrors"] = json!({ "width": m(width + random.between(0.2, 0.6)), "from": m(from),
            "to": m(from + 0.25), "bottom": m(1.0), "top": m(1.5) });
    }
    let mut units = vec![lead];
    let on_ball = |random: &mut Random| {
        json!({ "behind_axle": m(rear + random.between(0.05, 0.3)),
        "max_angle_deg": random.between(40.0, 75.0) })
    };
    let behind_width = |random: &mut Random| random.between(1.4, (width + 0.3).min(2.6));
    match random.pick(&[
        "rigid",
        "rigid",
        "ball",
        "ball",
        "semitrailer",
        "two semitrailers",
        "drawbar",
        "double",
    ]) {
        "rigid" => {}
        "ball" => {
            units[0]["hitch"] = on_ball(random);
            let (width, to_axle) = (behind_width(random), random.between(1.8, 7.0));
            units.push(ball_trailer(random, to_axle, width, height));
        }
        "semitrailer" => {
            units[0]["hitch"] = over_axle(random);
            let width = behind_width(random);
            units.push(semitrailer(random, (5.0, 12.8), width));
        }
        "two semitrailers" => {
            units[0]["hitch"] = over_axle(random);
            let width = behind_width(random);
            let mut first = semitrailer(random, (4.5, 8.5), width);
            first["hitch"] = over_axle(random);
            units.push(first);
            units.push(semitrailer(random, (4.5, 8.5), width));
        }
        "drawbar" => {
            units[0]["hitch"] = on_ball(random);
            let (width, pole) = (behind_width(random), random.between(1.8, 3.2));
            units.push(json!({ "name": "dolly", "hitch_to_axle": m(pole), "front_overhang": m(1.0 - pole),
                "rear_overhang": m(0.5), "width": m(width), "height": m(1.2),
                "tongue": { "width": m(0.8), "bottom": m(0.5), "top": m(0.8) },
                "hitch": { "behind_axle": m(0.0), "max_angle_deg": random.between(50.0, 85.0) } }));
            units.push(semitrailer(random, (3.0, 6.0), width));
        }
        _ => {
            units[0]["hitch"] = over_axle(random);
            let width = behind_width(random);
            let mut first = semitrailer(random, (4.5, 7.5), width);
            let behind = random.between(1.2, 1.8);
            first["rear_overhang"] = m(behind - 0.2);
            first["hitch"] = json!({ "behind_axle": m(behind), "max_angle_deg": random.between(45.0, 75.0) });
            units.push(first);
            let to_axle = random.between(2.5, 6.0);
            units.push(ball_trailer(random, to_axle, width, 2.6));
        }
    }
    json!({ "title": "Random vehicle", "steering": steering, "units": units })
}

/// A hitch near the rear axle, like a fifth wheel or a gooseneck's ball.
fn over_axle(random: &mut Random) -> Value {
    json!({ "behind_axle": m(random.between(-0.8, 0.2)), "max_angle_deg": random.between(60.0, 90.0) })
}

/// A trailer on a tongue; its body begins 1.2 m behind the ball.
fn ball_trailer(random: &mut Random, to_axle: f64, width: f64, height: f64) -> Value {
    json!({ "name": "trailer", "hitch_to_axle": m(to_axle), "front_overhang": m(-1.2),
        "rear_overhang": m(random.between(0.3, 0.6) * to_axle), "width": m(width), "height": m(height),
        "tongue": { "width": m(0.9), "bottom": m(0.4), "top": m(0.7) } })
}

/// A trailer that rides over the axle before it.
fn semitrailer(random: &mut Random, to_axle: (f64, f64), width: f64) -> Value {
    let to_axle = random.between(to_axle.0, to_axle.1);
    json!({ "name": "semitrailer", "hitch_to_axle": m(to_axle), "front_overhang": m(random.between(0.5, 1.5)),
        "rear_overhang": m(random.between(0.1, 0.35) * to_axle), "width": m(width), "height": m(3.8),
        "ground_clearance": m(0.9) })
}

/// A seed always gives the same vehicle, and a hundred seeds rigid ones and trains of up to three units.
#[test]
fn random_vehicles_are_of_all_kinds() {
    let mut units = [0; 4];
    for seed in 0..100 {
        let (file, one) = random_vehicle(seed);
        assert_eq!(file, random_vehicle(seed).0);
        units[one.units.len()] += 1;
        assert!(one.units[0].widest_m() > 1.4 && one.length_m() > 2.0, "{seed}");
    }
    assert!(units[1] > 10 && units[2] > 20 && units[3] > 20, "{units:?}");
}
