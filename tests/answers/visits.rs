//! A whole visit judged as it is made: other leaves without regard to the drawn ones, backing in by direction of
//! travel, turns with the clearance that the ways in and out keep, and a schedule that accounts for a missing turn.
use serde_json::{Value, json};
use std::sync::OnceLock;
use wideenough::geometry::length::FOOT_M;
use wideenough::opening::{
    ArrangementNeeds, CaseLane, GateOptions, GatePlan, ScheduleRow, Study, StudyOptions, Verdict, Wanted,
    plan_gate, reversing, study, vehicle_verdict, yard_lacks_turn,
};
use wideenough::report;
use wideenough::site::changes::Change;
use wideenough::site::{Arrangement, Leaves, Maneuver, Side, Site, Visit, read};
use wideenough::vehicle::find;

fn place(name: &str) -> Site {
    let file = format!("{}/tests/places/{name}.geojson", env!("CARGO_MANIFEST_DIR"));
    read(&std::fs::read_to_string(&file).expect(&file), name).expect(name)
}

fn options() -> StudyOptions {
    StudyOptions { changes: false, ..StudyOptions::default() }
}

/// The first vehicle of a plan.
fn wanted(site: &Site) -> [Wanted; 1] {
    let of = &site.vehicles[0];
    let vehicle = find(&of.vehicle).expect("a vehicle of the library");
    [Wanted { vehicle, visits: of.visits.clone(), travels: of.travels.clone() }]
}

/// A study of a site with the first vehicle of its plan.
fn studied_alone(site: Site) -> Study {
    let wanted = wanted(&site);
    study(site, &wanted, &options(), &|_| ())
}

/// A study of a site with the first vehicle of its plan, and the gate to order.
fn studied(site: Site) -> (Study, GatePlan) {
    let wanted = wanted(&site);
    let mut done = studied_alone(site);
    let plan = plan_gate(&done, (&wanted, &options()), &GateOptions::default(), &|_| ());
    done.gate = Some(plan.clone());
    (done, plan)
}

/// A study of the site with the gate of a row drawn.
fn ordered(site: &Site, row: &ScheduleRow) -> Study {
    let (assembly, drawn_m) = (&row.assembly, site.gate.opening_m());
    let mut ordered = Change::Opening(assembly.counted_m - drawn_m).apply(site).expect("it can be drawn");
    (ordered.gate.leaves.arrangement, ordered.gate.leaves.opens) = (assembly.arrangement, assembly.opens);
    studied(ordered).0
}

fn sliding(plan: &GatePlan) -> &ArrangementNeeds {
    let slides = |of: &&ArrangementNeeds| matches!(of.arrangement, Arrangement::Slide(_));
    plan.arrangements.iter().find(slides).expect("a sliding gate is always looked at")
}

/// The place with a single leaf, its vehicle free to make any visit: two tests look at it.
fn any_visit() -> &'static (Study, GatePlan) {
    static DONE: OnceLock<(Study, GatePlan)> = OnceLock::new();
    DONE.get_or_init(|| {
        let mut site = place("13-single-leaf-drawn");
        site.vehicles[0].visits = Vec::new();
        studied(site)
    })
}

/// A gate that slides needs as much whether the plan draws it so or draws a leaf that swings: the drawn leaf decides
/// which path is best, also where a post is the tightest place.
#[test]
#[ignore = "a study of every size: .ci/run runs it with every case"]
fn what_a_sliding_gate_needs_does_not_depend_on_the_leaf_drawn() {
    let swings = place("13-single-leaf-drawn");
    let mut slides = swings.clone();
    slides.gate.leaves = Leaves { arrangement: Arrangement::Slide(Side::Left), ..swings.gate.leaves };
    let [(_, swings), (_, slides)] = [swings, slides].map(studied);
    let (other, drawn) = (sliding(&swings).needs[0], sliding(&slides).needs[0]);
    println!("drawn swinging {other:?}, drawn sliding {drawn:?}");
    // A search given less effort for other leaves stops within four inches, unless a stock size lies between.
    for (other, drawn) in [(other.bare_m, drawn.bare_m), (other.comfortable_m, drawn.comfortable_m)] {
        let (other, drawn) = (other.expect("found"), drawn.expect("found"));
        assert!(other <= drawn + 0.1 + 1e-9, "{other} for {drawn}");
    }
    let order = |plan: &GatePlan| plan.smallest(sliding(plan)).map(|row| row.assembly.stock_m);
    assert_eq!(order(&swings), order(&slides));
    assert_eq!(order(&slides), Some(14.0 * FOOT_M));
}

/// A vehicle for which the gate is tight turns with no more stops than at a gate half a foot wider, where it passes in
/// comfort: the yard is the same. With a search without any clearance the turn took four stops here.
#[test]
fn a_tight_gate_costs_no_stops() {
    let tight = place("14-tight-gate-with-a-turn");
    let mut wide = tight.clone();
    let along = (wide.gate.right - wide.gate.left).unit().expect("two faces");
    wide.gate.left = wide.gate.left - along * 0.083;
    wide.gate.right = wide.gate.right + along * 0.083;
    let turns = |site: Site| -> Vec<(u32, bool)> {
        let done = studied_alone(site);
        let found =
            done.turns.iter().map(|turn| turn.found.as_ref().map(|turn| (turn.stops, turn.comfortable)));
        found.map(|turn| turn.expect("a turn")).collect()
    };
    let (tight, wide) = (turns(tight), turns(wide));
    println!("tight {tight:?}, wide {wide:?}");
    assert!(!tight.is_empty() && tight.len() == wide.len());
    for (tight, wide) in tight.iter().zip(&wide) {
        assert!(!tight.1, "the gate is tight: {tight:?}");
        assert!(tight.0 <= wide.0, "{} stops for {}", tight.0, wide.0);
    }
}

/// A turn in a yard that just holds it is found from both directions of travel with leaves that are not in its way. With
/// the turn held to a way out from inside the gate, which leaves aslant, it depended on the leaves and the opening.
#[test]
fn a_turn_that_takes_all_of_a_yard_is_found() {
    let drawn = place("16-turn-that-takes-all-of-a-yard");
    let mut found = 0;
    for (arrangement, opening_m) in [
        (Arrangement::None, 14.0),
        (Arrangement::Slide(Side::Left), 14.0),
        (Arrangement::Slide(Side::Left), 18.0),
    ] {
        let change = Change::Opening(opening_m * FOOT_M - drawn.gate.opening_m());
        let mut site = change.apply(&drawn).expect("it can be drawn");
        site.gate.leaves.arrangement = arrangement;
        for turn in studied_alone(site).turns {
            assert!(
                turn.found.as_ref().is_ok_and(|turn| turn.comfortable && turn.ends_in_line),
                "{arrangement:?} {opening_m} {}: {:?}",
                turn.travel,
                turn.found.map(|turn| (turn.comfortable, turn.stops))
            );
            found += 1;
        }
    }
    assert_eq!(found, 6);
}

/// Where the yard lacks a turn at the gate as drawn, no size of gate serves the vehicle in comfort, and the words say so.
#[test]
#[ignore = "a study of every size: .ci/run runs it with every case"]
fn a_missing_turn_is_in_the_schedule() {
    let site = place("15-yard-without-a-turn");
    let (done, plan) = studied(site.clone());
    assert_eq!(vehicle_verdict(&done, 0), Verdict::No);
    assert!(yard_lacks_turn(&done, 0), "it gets in and out and does not turn");
    let as_drawn = plan.arrangements.iter().find(|of| of.drawn).expect("one is as drawn");
    let no_wider = |row: &&ScheduleRow| row.assembly.counted_m <= site.gate.opening_m();
    assert!(plan.rows(as_drawn).filter(no_wider).all(|row| row.passes[0] == Verdict::No));
    let both = |row: &&ScheduleRow| {
        let both = row.in_and_out[0].expect("it turns around inside");
        Verdict::from(both.drive_in).min(both.drive_out.into()) >= Verdict::Tight
    };
    let lacking = plan.schedule.iter().filter(both).filter(|row| row.passes[0] == Verdict::No);
    assert!(lacking.count() > 10, "most sizes that it gets in and out by have no turn");
    // With other leaves a turn without any clearance may be found; none serves in comfort, so there is no gate to order.
    assert!(plan.schedule.iter().all(|row| row.passes[0] < Verdict::Comfortable));
    assert!(
        plan.arrangements.iter().all(|of| of.needs[0].comfortable_m.is_none() && plan.smallest(of).is_none())
    );
    let words = report::table(&done, 100);
    assert!(
        words.contains("no turn inside was found, whatever the gate")
            || words.contains("no turn inside was found,")
    );
    assert!(!words.contains("backing in:"), "it backs in nowhere: it drives out");
}

/// Backing in where driving in may do as well never needs more than driving in alone, nor passes less, whatever the leaves.
#[test]
fn either_way_needs_no_more_than_one() {
    let (_, plan) = any_visit();
    let mut compared = 0;
    for of in &plan.arrangements {
        let (drive, either) = (of.needs[0], of.backing_in[0].expect("backing in is looked at"));
        for (drive, either) in [(drive.bare_m, either.bare_m), (drive.comfortable_m, either.comfortable_m)] {
            if let Some(drive) = drive {
                assert!(either.is_some_and(|m| m <= drive), "{:?}: {either:?} {drive}", of.arrangement);
                compared += 1;
            }
        }
    }
    for row in &plan.schedule {
        let back = row.backing_in[0].expect("backing in is looked at");
        assert!(
            Verdict::from(back) >= row.passes[0].max(Verdict::No) || row.passes[0] == Verdict::OnlyBackingIn
        );
    }
    assert!(compared >= 8, "{compared}");
}

/// The same place by driving in alone: with backing in as good as driving in, each direction counts by whichever does.
#[test]
fn backing_in_counts_by_direction() {
    let mut both = place("13-single-leaf-drawn");
    both.vehicles[0].visits = vec![Visit::DriveInBackOut, Visit::BackInDriveOut];
    let either = studied_alone(both).needs[0].clone();
    let back = any_visit().0.needs[0].backing_in;
    let back = back.expect("backing in needs less");
    assert_eq!(Some(back.bare_opening_m), either.bare_opening_m);
    assert_eq!(back.comfortable_opening_m, either.comfortable_opening_m);
}

/// A gate of another arrangement or size serves a vehicle that turns around inside only if the whole visit is driven
/// through it: never better than driving in and driving out alone, and a study of the gate so drawn says the same.
#[test]
#[ignore = "a study of every size: .ci/run runs it with every case"]
fn a_turn_is_driven_at_every_size() {
    let site = place("14-tight-gate-with-a-turn");
    let (_, plan) = studied(site.clone());
    let mut compared = 0;
    for of in &plan.arrangements {
        let both = of.in_and_out[0].expect("it turns around inside");
        let pairs = [
            (of.needs[0].bare_m, both.drive_in.bare_m, both.drive_out.bare_m),
            (of.needs[0].comfortable_m, both.drive_in.comfortable_m, both.drive_out.comfortable_m),
        ];
        for (visit, drive_in, drive_out) in pairs {
            let Some(visit) = visit else { continue };
            let ways = drive_in.expect("it gets in").max(drive_out.expect("it gets out"));
            println!("{:?} {:?}: visit {visit:.3}, ways {ways:.3}", of.arrangement, of.opens);
            // The turn is searched at stock sizes, so it may need up to the size at which it was found.
            assert!(visit >= ways && visit < 1.2 * ways, "{visit} for {ways}");
            compared += 1;
        }
        for row in plan.rows(of) {
            let both = row.in_and_out[0].expect("it turns around inside");
            let visit = row.passes[0];
            assert!(visit <= both.drive_in.into() && visit <= both.drive_out.into());
        }
    }
    assert!(compared >= 8, "{compared}");
    let smallest: Vec<_> = plan.arrangements.iter().filter_map(|of| plan.smallest(of)).take(2).collect();
    assert_eq!(smallest.len(), 2, "there is a gate to order");
    for row in smallest {
        assert_eq!(vehicle_verdict(&ordered(&site, row), 0), Verdict::Comfortable, "{:?}", row.assembly);
    }
}

/// Where a two-lane road ends at the gate a vehicle leaves the way it came, by the other lane: a turn that the gate as drawn
/// allows is one for the gate of that arrangement to order.
#[test]
fn a_turn_out_by_the_other_lane_is_in_the_schedule() {
    let feature = |properties: Value, kind: &str, places: Value| json!({ "type": "Feature", "properties": properties, "geometry": { "type": kind, "coordinates": places } });
    let yard = [
        [-3.5, -8.0],
        [3.5, -8.0],
        [3.5, 12.0],
        [40.0, 12.0],
        [40.0, 60.0],
        [-40.0, 60.0],
        [-40.0, 12.0],
        [-3.5, 12.0],
        [-3.5, -8.0],
    ];
    for (drives_on, ends_at) in [("left", -6), ("right", -6), ("left", 0)] {
        let road = json!({ "role": "road", "width": 6.5, "continues": "start" });
        let gate = json!({ "role": "gate", "leaves": "double" });
        let plan = json!({ "type": "FeatureCollection",
            "plan": { "title": "lane end", "coordinates": "local-m", "drives_on": drives_on,
                "vehicles": [{ "vehicle": "pickup", "visits": ["turn-around"] }] },
            "features": [
                feature(road, "LineString", json!([[0, -80], [0, ends_at]])),
                feature(json!({ "role": "drive" }), "Polygon", json!([yard])),
                feature(gate, "LineString", json!([[-2.75, 0], [2.75, 0]])) ] });
        let (done, plan) = studied(read(&plan.to_string(), "lane end").expect("a plan"));
        let out = done.cases.iter().find(|case| case.maneuver == Maneuver::BackIn).expect("a way out");
        assert_eq!(out.lane, CaseLane::Leaving);
        assert_eq!(vehicle_verdict(&done, 0), Verdict::Comfortable, "{drives_on}");
        for of in &plan.arrangements {
            // Leaves are in the way of the road where it ends at the gate, so the vehicle's word is what counts.
            let smallest = plan.rows(of).find(|row| row.passes[0] == Verdict::Comfortable);
            let stock_m = smallest.expect("a size that serves").assembly.stock_m;
            assert!(stock_m < 4.0, "{drives_on} {ends_at} {:?} {stock_m}", of.arrangement);
        }
    }
}

/// A pickup that backs in to a gate beside a straight road reverses no farther than a quarter turn at full lock, its
/// setback and its own length take together; a search for the opening alone goes on for three meters more.
#[test]
fn a_vehicle_reverses_no_farther_than_it_must() {
    let file = format!("{}/examples/rural-entrance.geojson", env!("CARGO_MANIFEST_DIR"));
    let site = read(&std::fs::read_to_string(file).expect("read"), "rural-entrance").expect("sound");
    let pickup = find("pickup").expect("of the library");
    let setback_m = site.gate.setback_m;
    let radius_m = 1.0 / pickup.steering.max_curvature;
    let most_m = radius_m * std::f64::consts::FRAC_PI_2 + setback_m + pickup.length_m();
    assert!((most_m - 19.0).abs() < 0.1, "{most_m}");
    let wanted = Wanted { vehicle: pickup.clone(), visits: vec![Visit::BackInDriveOut], travels: Vec::new() };
    let done = study(site, &[wanted], &options(), &|_| ());
    let backs_in: Vec<_> = done.cases.iter().filter(|case| case.maneuver == Maneuver::BackIn).collect();
    assert_eq!(backs_in.len(), 2);
    for case in backs_in {
        let of_it = reversing(&done.site, &pickup, case).expect("it backs in");
        assert!(of_it.total_m < most_m, "{}: {} m of {most_m}", case.travel, of_it.total_m);
        assert!(of_it.on_road_m < of_it.total_m && of_it.total_m > pickup.length_m(), "{of_it:?}");
        assert!(case.comfortable.opening_m.expect("found") < 3.10, "{:?}", case.comfortable.opening_m);
    }
}
