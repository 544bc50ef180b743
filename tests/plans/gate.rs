//! The gate itself: allowances and their file, stock sizes against the facts of the trade, leaf arcs, waiting room,
//! rules, and the laws that leaves keep.
use crate::common::{pickup, rectangle, standard_site};
use wideenough::drawing::case_sheet;
use wideenough::gate::{self, Assembly, RuleOutcome, assembly};
use wideenough::geometry::length::{FOOT_M, INCH_M, Round, show};
use wideenough::geometry::{Outline, Point, Shape, Units};
use wideenough::opening::{
    ArrangementNeeds, GateOptions, GatePlan, Study, StudyOptions, Verdict, Wanted, every_vehicle_passes,
    leaf_travel, plan_gate, study,
};
use wideenough::report::gate_schedule;
use wideenough::site::{
    Anchor, Arrangement, Faces, Leaves, Maneuver, Obstacle, Post, Side, Site, Swing, Visit,
};

/// The committed schema is the one the types generate. `BLESS=1 cargo test` rewrites it.
#[test]
fn schema_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/gate-allowances.schema.json");
    let schema = gate::schema();
    if std::env::var_os("BLESS").is_some_and(|v| v == "1") {
        std::fs::write(path, &schema).unwrap();
    }
    assert_eq!(
        std::fs::read_to_string(path).unwrap(),
        schema,
        "BLESS=1 cargo test --test plans gate:: rewrites it"
    );
}

/// The built-in file is sound: read as a user's file it gives the same, and every figure names its source.
#[test]
fn the_built_in_allowances_are_sound() {
    let text = include_str!("../../examples/gate-allowances.json");
    let read = gate::read(text, "gate-allowances.json").expect("sound");
    assert_eq!(read, gate::built_in());
    assert_eq!(read.figures.len(), 16);
    assert!(read.figures.iter().all(|f| f.source.len() > 10), "{:?}", read.figures);
}

/// Every fault at once, each with its place.
#[test]
fn faults_are_listed_all_at_once() {
    let text = "{\n  \"hinge_gap\": \"-1 in\",\n  \"latch_gap\": { \"value\": \"2 in\", \"source\": \"maker\" },\n  \
                \"slide_tail\": 2,\n  \"materials\": [ { \"name\": \"iron\", \"leaf_width\": \"5 ft\", \"leaf_weight\": \"heavy\" } ]\n}";
    let faults = gate::read(text, "mine.json").expect_err("four faults").to_string();
    let lines: Vec<&str> = faults.lines().collect();
    assert_eq!(lines.len(), 4, "{faults}");
    for (line, start) in lines.iter().zip([
        "mine.json:2:16: hinge_gap: must be from 0 to 15 m",
        "mine.json:3:45: latch_gap.source: \"maker\" is not among the file's sources",
        "mine.json:4:17: slide_tail: must be from 0 to 1",
        "mine.json:5:73: materials[0].leaf_weight: is no weight",
    ]) {
        assert!(line.starts_with(start), "{line}\nshould start with {start}");
    }
    let unknown = gate::read("{ \"hinge_gip\": 1 }", "mine.json").expect_err("unknown").to_string();
    assert!(unknown.contains("is not a field of a file of gate allowances") && unknown.contains("hinge_gap"));
}

/// A negative figure, one without a unit, one of the wrong kind and one that is none: each is reported, none hides
/// another.
#[test]
fn faults_of_allowances_hide_none_of_each_other() {
    let text =
        r#"{ "hinge_gap": "-3 in", "post": "8", "widest_single_leaf": true, "laths": 3, "slide_tail": 2 }"#;
    let said = gate::read(text, "mine.json").expect_err("at fault").to_string();
    let lines: Vec<&str> = said.lines().collect();
    let expected = [
        "mine.json:1:16: hinge_gap: must be from 0 to 15 m, and is \"-3 in\"",
        "mine.json:1:33: post: \"8\" has no unit; ",
        "mine.json:1:60: widest_single_leaf: must be a length",
        "mine.json:1:75: laths: is not a field of a file of gate allowances",
        "mine.json:1:92: slide_tail: must be from 0 to 1, and is 2",
    ];
    assert_eq!(lines.len(), expected.len(), "{said}");
    for (line, start) in lines.iter().zip(expected) {
        assert!(line.starts_with(start), "{said}");
    }
}

fn stock(arrangement: Arrangement, feet: f64) -> Assembly {
    assembly(&gate::built_in(), arrangement, Swing::In, feet * FOOT_M)
}

const SINGLE: Arrangement = Arrangement::Single(Side::Left);

/// Facts of the trade, common practice, no source: the schedule's defaults must reproduce them.
#[test]
fn the_defaults_reproduce_the_facts_of_the_trade() {
    // A 10-ft double gate needs about 11 ft 6 in outside to outside of posts.
    let double = stock(Arrangement::Double, 10.0);
    assert!((double.outside_m - 11.5 * FOOT_M).abs() <= INCH_M, "{}", double.outside_m / FOOT_M);
    // A 10-ft single leaf needs 11 to 12 ft clear behind it, a 5-ft leaf 6 to 7 ft.
    let ten = stock(SINGLE, 10.0).swing_depth_m / FOOT_M;
    let five = double.swing_depth_m / FOOT_M;
    assert!((11.0..=12.0).contains(&ten) && (6.0..=7.0).contains(&five), "{ten} {five}");
    // Single leaves are seldom wider than 12 ft.
    assert!(
        stock(SINGLE, 12.0).usual && !stock(SINGLE, 14.0).usual && stock(Arrangement::Double, 20.0).usual
    );
    // A 5-ft leaf weighs about 50 lb in aluminum and 102 lb in iron.
    let pounds: Vec<f64> = double.weights.iter().map(|w| w.weight_kg / 0.453_592_37).collect();
    assert!((pounds[0] - 50.0).abs() < 1e-9 && (pounds[1] - 102.0).abs() < 1e-9, "{pounds:?}");
    // A 16-ft gate does not fit a 16-ft space between columns, nor a 10-ft gate a 10-ft space.
    for feet in [10.0, 16.0] {
        for arrangement in [SINGLE, Arrangement::Double] {
            assert!(stock(arrangement, feet).column_face_m > feet * FOOT_M);
        }
    }
    // A double gate takes two openers and a wire under the drive.
    assert!(double.openers == 2 && double.conduit_m.is_some_and(|m| m > double.opening_m));
    assert!(stock(SINGLE, 10.0).openers == 1 && stock(SINGLE, 10.0).conduit_m.is_none());
    // Both usual heights rise above a car's roof, and so above its hood.
    let car = wideenough::vehicle::find("car").expect("in the library").units[0].height_m;
    let heights = gate::built_in().leaf_heights_m;
    assert!(heights.len() == 2 && heights.iter().all(|h| *h > car), "{heights:?} {car}");
}

/// The trade note's leaf against opening: single 3 5/8 to 4 in less, double 6 to 7 in less; measured between the inner
/// faces of the posts (US chain-link maker's note, 2018).
#[test]
fn leaves_are_as_much_narrower_as_published() {
    let less = |arrangement| (stock(arrangement, 12.0).opening_m - 12.0 * FOOT_M) / INCH_M;
    assert!((3.625..=4.0).contains(&less(SINGLE)) && (6.0..=7.0).contains(&less(Arrangement::Double)));
}

/// Statics: moments about the bottom hinge. 102 lb, 5 ft wide, hinges 4 ft apart: 102 · 5 / (2 · 4) = 63.75 lb.
#[test]
fn the_pull_on_the_top_hinge() {
    let iron = &stock(Arrangement::Double, 10.0).weights[1];
    let pull = iron.hinge_pull_kg.expect("it swings") / 0.453_592_37;
    assert!((pull - 63.75).abs() < 1e-9, "{pull}");
    // A leaf twice as wide is twice as heavy and pulls four times as hard.
    let wide = stock(SINGLE, 10.0).weights[1].hinge_pull_kg.expect("it swings") / 0.453_592_37;
    assert!((wide - 4.0 * pull).abs() < 1e-9);
    assert!(stock(Arrangement::Slide(Side::Left), 10.0).weights[1].hinge_pull_kg.is_none());
}

/// The standard site with leaves of no thickness opening to this angle; its gate line runs along y = 4.7, faces at
/// x = -2 and 2, the road's edge at y = 0.
fn site_with(arrangement: Arrangement, opens: Swing, degrees: f64) -> Site {
    let mut site = standard_site(4.5);
    site.gate.leaves = Leaves {
        arrangement,
        opens,
        open_angle_rad: degrees.to_radians(),
        thickness_m: 0.0,
        ..site.gate.leaves
    };
    site
}

fn swings(site: &Site) -> Vec<gate::LeafSwing> {
    let faces = site.gate.drawn_faces();
    gate::leaf_swings(site, &site.gate.leaves, faces, gate::drawn_leaf_m(&site.gate))
}

fn put(site: &mut Site, label: &str, at: Point, radius_m: f64, top_m: f64) {
    let shape = Shape { outer: Outline(vec![at]), holes: vec![], radius_m };
    site.obstacles.push(Obstacle { label: label.to_owned(), shapes: vec![shape], bottom_m: 0.0, top_m });
}

/// A gate whose leaf is stopped passes nobody, and lacks the arc that its end does not travel.
#[test]
fn a_stopped_leaf_is_no_open_gate() {
    let mut site = site_with(Arrangement::Double, Swing::In, 90.0);
    let open = |site: &Site| {
        let study = study(site.clone(), &[], &StudyOptions::default(), &|_| {});
        (every_vehicle_passes(&study), leaf_travel(&study).missing_m())
    };
    assert_eq!(open(&site), (true, 0.0));
    // Beside the left pin, at 45 degrees.
    let pin = Point::new(site.gate.drawn_faces().left, 0.0);
    let at = pin + Point::new(1.0, 1.0) * std::f64::consts::FRAC_1_SQRT_2;
    let at = site.gate.to_site(at);
    put(&mut site, "mailbox", at, 0.1, 1.2);
    let reach_rad =
        std::f64::consts::FRAC_PI_4 - wideenough::geometry::trig::atan2(0.1, (1.0_f64 - 0.01).sqrt());
    let missing_m = (std::f64::consts::FRAC_PI_2 - reach_rad) * gate::drawn_leaf_m(&site.gate);
    let (passes, lacks_m) = open(&site);
    assert!(!passes && (lacks_m - missing_m).abs() < 2e-3, "{lacks_m} {missing_m}");
    site.obstacles.clear();
    assert_eq!(open(&site), (true, 0.0));
}

/// A post of radius r at distance d from the pin, at an angle a from closed, stops a thin leaf at a - asin(r / d).
#[test]
fn a_leaf_stops_where_it_touches() {
    let mut site = site_with(SINGLE, Swing::In, 90.0);
    assert!(swings(&site)[0].stop.is_none() && swings(&site).len() == 1);
    // 3 m from the pin at (-2, 4.7), at 60 degrees.
    let at = Point::new(-2.0, 4.7) + Point::at_angle(60f64.to_radians()) * 3.0;
    put(&mut site, "parked car", at, 0.6, 1.4);
    let swing = swings(&site).remove(0);
    let exact = 60.0 - wideenough::geometry::trig::asin(0.2).to_degrees();
    let stop = swing.stop.clone().expect("the car stands in its way");
    assert!((swing.reach_rad.to_degrees() - exact).abs() < 0.02, "{} {exact}", swing.reach_rad.to_degrees());
    assert!(stop.what == "parked car" && stop.kind == gate::StopKind::Standing);
    // It touches the edge of the car, not its middle, and is drawn standing there.
    assert!((stop.at.distance(at) - 0.6).abs() < 1e-6, "{:?}", stop.at);
    let leaf = gate::standing(&site.gate, &swing);
    let end = Point::new(-2.0, 4.7) + Point::at_angle(swing.reach_rad) * 4.0;
    assert!(leaf[1].distance(end) < 1e-4 && leaf[2].distance(end) < 1e-4, "{leaf:?} {end:?}");
    // A double gate's leaf is half as long: its end passes 0.4 m short of the car.
    site.gate.leaves.arrangement = Arrangement::Double;
    assert!(swings(&site).iter().all(|s| s.stop.is_none()));
}

/// Ground that rises above the leaf's underside (0.1 m) stops it; lower ground does not.
#[test]
fn rising_ground_stops_a_leaf_it_is_higher_than() {
    for (top_m, stops) in [(0.05, false), (0.15, true)] {
        let mut site = site_with(SINGLE, Swing::In, 90.0);
        put(&mut site, "rising ground", Point::new(-1.0, 7.5), 0.5, top_m);
        assert_eq!(swings(&site)[0].stop.is_some(), stops, "{top_m}");
    }
}

/// A leaf longer than the setback swings over the road: stopped where its end is 4.7 m out, at asin(4.7 / length).
#[test]
fn no_leaf_swings_over_the_road_or_a_sidewalk() {
    let site = site_with(SINGLE, Swing::Out, 90.0);
    let faces = site.gate.drawn_faces();
    assert!(gate::leaf_swings(&site, &site.gate.leaves, faces, 4.0)[0].stop.is_none());
    let long = gate::leaf_swings(&site, &site.gate.leaves, Faces::centered(5.0), 5.0).remove(0);
    let exact = wideenough::geometry::trig::asin(4.7 / 5.0).to_degrees();
    assert!((long.reach_rad.to_degrees() - exact).abs() < 0.05, "{} {exact}", long.reach_rad.to_degrees());
    assert_eq!(long.stop.expect("the road").kind, gate::StopKind::Road);
    let mut site = site_with(SINGLE, Swing::Out, 90.0);
    let outer = rectangle(-50.0, 0.0, 50.0, 1.5);
    site.drives.push(wideenough::site::Ground { label: "Sidewalk".to_owned(), outer, holes: vec![] });
    let stop = swings(&site).remove(0).stop.expect("a 4-m leaf reaches over it");
    assert_eq!(stop.kind, gate::StopKind::Sidewalk);
}

/// Obstacles beside the fence bound the run back.
#[test]
fn a_sliding_leaf_runs_back_as_far_as_nothing_stands() {
    let mut site = site_with(Arrangement::Slide(Side::Left), Swing::In, 90.0);
    site.gate.leaves.thickness_m = 0.05;
    let back =
        |site: &Site| gate::run_back(site, &site.gate.leaves, Faces::centered(4.0), 6.0).expect("it slides");
    assert!(back(&site).stop.is_none());
    put(&mut site, "tree", Point::new(-7.0, 4.92), 0.4, 5.0);
    let seen = back(&site);
    assert!((seen.free_m.expect("a tree") - 4.6).abs() < 1e-3, "{:?}", seen.free_m);
    assert_eq!(seen.stop.expect("it needs 6 m").what, "tree");
}

/// The pickup, 5.85 m long, before a gate 4.7 m from the road: it stands in the road by the length missing between the
/// road and the gate or a leaf swinging out.
#[test]
fn waiting_room_is_what_lies_between_gate_and_road() {
    let pickup = pickup();
    let wait = |site: &Site, gap: f64| {
        gate::waiting(
            site,
            &site.gate.leaves,
            gate::drawn_leaf_m(&site.gate),
            Faces::centered(4.0),
            &pickup,
            gap,
        )
    };
    let closed = wait(&site_with(SINGLE, Swing::In, 90.0), 0.5);
    assert!(
        (closed.outside_room_m - 4.2).abs() < 1e-9 && (closed.outside_missing_m - 1.65).abs() < 1e-9,
        "{closed:?}"
    );
    // A leaf of 4 m swinging out, the near mirror 2 - 1.2192 m from the pin: √(16 - 0.7808²) deep.
    let out = wait(&site_with(SINGLE, Swing::Out, 90.0), 0.5);
    let depth = (16.0 - 0.7808_f64 * 0.7808).sqrt();
    assert!((out.outside_back_m - depth - 0.5).abs() < 1e-9, "{out:?}");
    // Inside it keeps clear of the leaf swinging in, and of obstacles there.
    assert!((closed.inside_back_m - depth - 0.5).abs() < 1e-9 && closed.inside_missing_m == 0.0);
    let mut site = site_with(SINGLE, Swing::In, 90.0);
    put(&mut site, "shed", Point::new(0.0, 14.7), 1.0, 3.0);
    let inside = wait(&site, 0.5);
    let room = 9.0 - depth - 0.5;
    assert!((inside.inside_room_m.expect("a shed") - room).abs() < 1e-9, "{inside:?}");
    assert!((inside.inside_missing_m - (5.85 - room)).abs() < 1e-9);
}

fn outcome(site: &Site, name: &str) -> RuleOutcome {
    let swings = swings(site);
    let check = gate::RuleCheck { site, allowances: &gate::built_in(), swings: &swings, waiting: &[] };
    (gate::rule(name).expect("a rule").check)(&check)
}

/// Each rule with a number holds at its number and not below it.
#[test]
fn rules_hold_at_their_published_numbers() {
    let with = |opening_m: f64, setback_m: f64| {
        let mut site = site_with(SINGLE, Swing::In, 90.0);
        (site.gate.left.x, site.gate.right.x) = (-0.5 * opening_m, 0.5 * opening_m);
        site.gate.setback_m = setback_m;
        let outer = rectangle(-0.5 * 12.0 * FOOT_M, 0.0, 0.5 * 12.0 * FOOT_M, 20.0);
        site.drives.push(wideenough::site::Ground { label: "drive".to_owned(), outer, holes: vec![] });
        site
    };
    let kept = |site: &Site, name: &str| outcome(site, name) == RuleOutcome::Kept;
    // International Fire Code D103.5: 20 ft. Its other numbers concern the height.
    assert!(
        kept(&with(20.0 * FOOT_M, 10.0), "fire-width") && !kept(&with(19.9 * FOOT_M, 10.0), "fire-width")
    );
    // 14 CCR 1273: 2 ft wider than the 12-ft lane, 30 ft back.
    assert!(kept(&with(14.0 * FOOT_M, 10.0), "fire-lane") && !kept(&with(13.9 * FOOT_M, 10.0), "fire-lane"));
    assert!(
        kept(&with(4.0, 30.0 * FOOT_M), "fire-setback") && !kept(&with(4.0, 29.9 * FOOT_M), "fire-setback")
    );
    // Spokane: 48 ft.
    assert!(kept(&with(4.0, 48.0 * FOOT_M), "inset-48") && !kept(&with(4.0, 47.9 * FOOT_M), "inset-48"));
    // DCAN 15 section 9: 5 m back, 3.2 to 5.0 m wide, not toward the road.
    assert!(kept(&with(4.0, 5.0), "setback-5m") && !kept(&with(4.0, 4.9), "setback-5m"));
    for (opening, holds) in [(3.1, false), (3.2, true), (5.0, true), (5.1, false)] {
        assert_eq!(kept(&with(opening, 10.0), "width-3.2-to-5"), holds, "{opening}");
    }
    assert!(kept(&site_with(SINGLE, Swing::In, 90.0), "not-toward-road"));
    assert!(!kept(&site_with(SINGLE, Swing::Out, 90.0), "not-toward-road"));
    // 13 ft 6 in of height (International Fire Code 503.2.1).
    for (bottom, holds) in [(13.4, false), (13.5, true)] {
        let mut site = with(4.0, 10.0);
        put(&mut site, "limb", Point::new(0.0, 4.7), 1.0, 9.0);
        site.obstacles.last_mut().expect("the limb").bottom_m = bottom * FOOT_M;
        assert_eq!(kept(&site, "fire-height"), holds, "{bottom}");
    }
    // Clear width 14 ft between the open leaves (Del Norte County CA, 19.08.110): hinge gaps and leaves take theirs.
    for (opening, holds) in [(14.0, false), (14.3, true)] {
        let mut site = with(opening * FOOT_M, 10.0);
        site.fences.clear();
        assert_eq!(kept(&site, "clear-14"), holds, "{opening}: {:?}", outcome(&site, "clear-14"));
    }
    // A gap of 10 in beside the open leaf, where 16 are required (ASTM F2200, UL 325).
    let mut site = site_with(SINGLE, Swing::In, 90.0);
    assert!(kept(&site, "entrapment-gap"));
    put(&mut site, "pillar", Point::new(-2.0 - 10.0 * INCH_M - 0.3, 7.0), 0.3, 2.0);
    assert!(!kept(&site, "entrapment-gap"));
}

/// On the standard site: the verdict of a wider stock size is never worse, every arrangement is there, the recommended
/// row suits, and its needs for the arrangement drawn are the study's own answer.
#[test]
fn the_schedule_of_a_study() {
    let mut site = site_with(Arrangement::Double, Swing::In, 90.0);
    site.gate.leaves.thickness_m = 0.05;
    let wanted = Wanted {
        vehicle: pickup(),
        visits: vec![Visit::DriveInBackOut],
        travels: vec!["eastbound".to_owned()],
    };
    let options = StudyOptions::default();
    let mut study = study(site, std::slice::from_ref(&wanted), &options, &|_| {});
    let feet = [8.0, 9.0, 12.0];
    let asked = GateOptions { stock_m: feet.map(|f| f * FOOT_M).to_vec(), ..GateOptions::default() };
    let plan = plan_gate(&study, (&[wanted], &options), &asked, &|_| ());
    assert_eq!((plan.arrangements.len(), plan.schedule.len()), (7, 21));
    let rank = |verdict: Verdict| match verdict {
        Verdict::Comfortable => 2_u8,
        Verdict::Tight => 1,
        _ => 0,
    };
    for of in &plan.arrangements {
        let words: Vec<u8> = plan.rows(of).map(|row| rank(row.passes[0])).collect();
        assert!(words.is_sorted() && words[2] == 2, "{:?} {:?} {words:?}", of.arrangement, of.needs);
        for row in plan.rows(of) {
            // The verdict compares the opening as the study counts it with the need.
            let (bare, comfort) = (of.needs[0].bare_m, of.needs[0].comfortable_m);
            let m = row.assembly.counted_m;
            let by_need =
                if comfort.is_some_and(|n| n <= m) { 2 } else { u8::from(bare.is_some_and(|n| n <= m)) };
            assert!(rank(row.passes[0]) <= by_need, "{:?} {m}", of.arrangement);
        }
    }
    let drawn = plan.arrangements.iter().find(|of| of.drawn).expect("the drawn one");
    let need = &study.needs[0];
    assert_eq!(
        (drawn.needs[0].bare_m, drawn.needs[0].comfortable_m),
        (need.bare_opening_m, need.comfortable_opening_m)
    );
    assert!(plan.smallest(drawn).expect("12 ft suits").suits());
    // The pickup is 5.85 m long, and the gate stands 4.7 m from the road.
    let stop = plan.rules.iter().find(|f| f.rule.name == "stop-clear").expect("a usual rule");
    assert!(matches!(stop.outcome, RuleOutcome::Broken(_)));
    study.gate = Some(plan);
    let text = gate_schedule(&study, 100).expect("a schedule");
    for words in [gate::MAKERS_DIFFER, "local authority", "Double, swinging in, as drawn", "no source"] {
        assert!(text.to_lowercase().contains(&words.to_lowercase()), "{words}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100));
    let value = wideenough::report::value(&study);
    assert_eq!(value["gate"]["schedule"].as_array().map(Vec::len), Some(21));
    assert!(value["gate"]["waiting"][0]["outside"]["missing_m"].as_f64().is_some_and(|m| m > 1.0));
    // What to order is said first, as it stands in the table; and who stands in the road.
    let ordered = |study: &Study| -> String {
        let lines = wideenough::report::gate_lines(study, 500);
        let at = lines.iter().position(|line| line.text.starts_with("The gate to order")).expect("a heading");
        lines[at + 1].text.clone()
    };
    let plan = study.gate.as_mut().expect("planned");
    let row = plan
        .smallest(plan.arrangements.iter().find(|of| of.drawn).expect("the drawn one"))
        .expect("12 ft suits");
    let (size, leaf) = (row.assembly.stock_m, row.assembly.leaf_width_m);
    let show = |m: f64| show(m, Units::Feet, Round::Nearest);
    let said =
        format!("Order a {} gate (two leaves of {}), double, swinging in, on posts ", show(size), show(leaf));
    assert!(plan.hardest_waiting() == Some(0) && study.site.units == Units::Meters);
    study.site.units = Units::Feet;
    assert!(ordered(&study).starts_with(&said), "{} {said}", ordered(&study));
    let page = wideenough::report::page(&study);
    assert!(page.contains("While the gate opens, ") && page.contains(" stands in the road."));
    // Below it stand a narrower gate that serves, and what was not checked for a fire engine.
    let text = |study: &Study| -> String {
        let lines = wideenough::report::gate_lines(study, 500);
        lines.iter().map(|line| format!("{}\n", line.text)).collect()
    };
    let plan = study.gate.as_ref().expect("planned");
    let opening_m = |of: &ArrangementNeeds| plan.smallest(of).map(|row| row.assembly.opening_m);
    let of_drawn = plan.arrangements.iter().find(|of| of.drawn).and_then(opening_m).expect("12 ft suits");
    let others = plan.arrangements.iter().filter(|of| !of.drawn).filter_map(opening_m);
    let narrowest = others.fold(f64::INFINITY, f64::min);
    let narrower = "Another needs less opening: ";
    assert_eq!(text(&study).contains(narrower), narrowest < of_drawn - 0.1, "{narrowest} {of_drawn}");
    let fire = "Ask the fire authority before you order: ";
    assert!(!text(&study).contains(fire));
    let title = std::mem::replace(&mut study.vehicles[0].title, "Fire engine, pumper".to_owned());
    assert!(text(&study).contains(fire));
    study.vehicles[0].title = title;
    // Where no size of it suits, another arrangement is named.
    let plan = study.gate.as_mut().expect("planned");
    for row in plan
        .schedule
        .iter_mut()
        .filter(|row| row.assembly.arrangement == Arrangement::Double && row.assembly.opens == Swing::In)
    {
        row.passes = vec![Verdict::Tight];
    }
    let other = ordered(&study);
    let none = ". No stock size of the gate as drawn, double, swinging in, serves every vehicle in comfort: ";
    assert!(other.starts_with("Order a 12' gate, single hinged ") && other.contains(none), "{other}");
}

/// Posts narrower than a foot may stand between columns; wider ones are columns themselves.
#[test]
fn only_narrow_posts_have_columns_around_them() {
    let mut site = site_with(Arrangement::Double, Swing::In, 90.0);
    site.gate.leaves.thickness_m = 0.05;
    let wanted = Wanted {
        vehicle: pickup(),
        visits: vec![Visit::DriveInBackOut],
        travels: vec!["eastbound".to_owned()],
    };
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let mut study = study(site, std::slice::from_ref(&wanted), &options, &|_| {});
    let asked = GateOptions { stock_m: vec![12.0 * FOOT_M], ..GateOptions::default() };
    let plan = plan_gate(&study, (&[wanted], &options), &asked, &|_| ());
    let post = study.site.gate.post;
    let around = plan.columns_around_m(&Post { width_m: 0.15, ..post });
    assert_eq!(around, Some(plan.column_face_m));
    assert!(plan.column_face_m >= study.site.gate.opening_m() + 2.0 * post.width_m);
    assert_eq!(plan.columns_around_m(&Post { width_m: 0.5, ..post }), None);
    study.gate = Some(plan);
    for (width_m, around) in [(0.15, true), (0.5, false)] {
        study.site.gate.post.width_m = width_m;
        let text = gate_schedule(&study, 100).expect("a schedule");
        let heads = text.lines().filter(|line| line.starts_with("Size ") && line.contains("Posts"));
        assert!(
            heads.clone().count() > 0 && heads.clone().all(|head| head.contains("Columns") == around),
            "{text}"
        );
        assert_eq!(text.contains("The posts drawn are as wide as columns"), !around);
        // A drawing of driving in says what stands in the road, below the answer.
        let says = |study: &Study| {
            let sheet = case_sheet(study, 0).expect("a case");
            sheet.lines.iter().any(|line| line == "While the gate opens, 1.00 m of it stands in the road.")
        };
        for (missing_m, said) in [(1.0, true), (0.0, false)] {
            let vehicle = study.cases[0].vehicle;
            study.gate.as_mut().expect("planned").waiting[vehicle].outside_missing_m = missing_m;
            assert_eq!((study.cases[0].maneuver, says(&study)), (Maneuver::DriveIn, said));
        }
        // The order comes first, and one size of each arrangement that has one is marked.
        let plan = study.gate.as_ref().expect("planned");
        let order = text.split_once("The gate to order\n").expect("an order").1;
        assert!(order.starts_with("Order a") || order.starts_with("No stock size"), "{order}");
        let served = plan.arrangements.iter().filter_map(|of| plan.smallest(of));
        let sizes: Vec<String> = served
            .map(|row| format!("{} *", show(row.assembly.stock_m, study.site.units, Round::Nearest)))
            .collect();
        let marked =
            text.lines().filter(|line| line.split("  ").next().is_some_and(|size| size.ends_with('*')));
        assert!(marked.clone().zip(&sizes).all(|(line, size)| line.starts_with(size.as_str())), "{text}");
        assert_eq!((marked.count(), sizes.is_empty()), (sizes.len(), false), "{text}");
    }
}

/// A gate that may stand anywhere along its line needs the same wherever it is drawn, with each kind of leaves, except
/// for the ten centimeters within which a known path is good enough and the difference between two searches; and half a
/// meter more than that passes in comfort.
#[test]
fn a_free_gate_needs_the_same_wherever_it_is_drawn() {
    use Arrangement::{Double, Single, Slide};
    let drawn_at = |along: f64| {
        let mut site = site_with(Double, Swing::Out, 90.0);
        site.gate.leaves.thickness_m = 0.05;
        site.gate.anchor = Anchor::Free;
        site.gate.left.x += along;
        site.gate.right.x += along;
        site.fences.clear();
        let wanted = Wanted {
            vehicle: pickup(),
            visits: vec![Visit::DriveInBackOut],
            travels: vec!["eastbound".to_owned()],
        };
        let options = StudyOptions { changes: false, ..StudyOptions::default() };
        let study = study(site, std::slice::from_ref(&wanted), &options, &|_| {});
        let feet = [9.0, 12.0, 14.0, 18.0];
        let asked = GateOptions { stock_m: feet.map(|f| f * FOOT_M).to_vec(), ..GateOptions::default() };
        plan_gate(&study, (&[wanted], &options), &asked, &|_| ())
    };
    let (here, there) = (drawn_at(0.0), drawn_at(1.5));
    let kinds: Vec<_> = here.arrangements.iter().map(|of| (of.arrangement, of.opens)).collect();
    let hinged = [Single(Side::Left), Single(Side::Right), Double];
    assert_eq!(kinds[..3], hinged.map(|a| (a, Swing::In)));
    assert_eq!(kinds[3..6], hinged.map(|a| (a, Swing::Out)));
    assert!(matches!(kinds[6..], [(Slide(_), Swing::In)]), "a leaf that slides swings to no side");
    for (a, b) in here.arrangements.iter().zip(&there.arrangements) {
        let (needs, others) = (a.needs[0], b.needs[0]);
        println!("{:?} {:?}: {needs:?} {others:?}", a.arrangement, a.opens);
        for (one, other) in [(needs.bare_m, others.bare_m), (needs.comfortable_m, others.comfortable_m)] {
            let apart = one.expect("found") - other.expect("found");
            assert!(apart.abs() < 0.13, "{:?} {:?}: {needs:?} {others:?}", a.arrangement, a.opens);
        }
        let wide = |plan: &GatePlan, of| {
            let rows: Vec<_> = plan.rows(of).map(|r| (r.assembly.counted_m, r.passes[0])).collect();
            rows.into_iter()
                .filter(|row| row.0 > needs.comfortable_m.unwrap_or(9.0) + 0.5)
                .collect::<Vec<_>>()
        };
        for (m, gate) in wide(&here, a).into_iter().chain(wide(&there, b)) {
            assert_eq!(gate, Verdict::Comfortable, "{:?} {:?} {m}", a.arrangement, a.opens);
        }
    }
}

/// A wider gate has longer leaves, which may stand where the ways known from the drawn gate go: each size is searched with
/// its own. Nothing in this yard stands in the way of a wider one.
#[test]
fn sizes_are_searched_with_their_own_leaves() {
    let text = std::fs::read_to_string("examples/equipment-yard.geojson").expect("an example");
    let site = wideenough::site::read(&text, "equipment-yard").expect("a plan");
    let wanted = Wanted {
        vehicle: wideenough::vehicle::find("pickup-bumper-pull-20").expect("in the library"),
        visits: vec![Visit::DriveInBackOut],
        travels: Vec::new(),
    };
    let options = StudyOptions { changes: false, ..StudyOptions::default() };
    let study = study(site, std::slice::from_ref(&wanted), &options, &|_| {});
    let asked = GateOptions {
        stock_m: [12.0, 14.0, 16.0, 18.0].map(|ft| ft * FOOT_M).to_vec(),
        ..GateOptions::default()
    };
    let plan = plan_gate(&study, (&[wanted], &options), &asked, &|_| ());
    let out = |of: &&ArrangementNeeds| of.opens == Swing::Out && of.arrangement.swings();
    assert_eq!(plan.arrangements.iter().filter(out).count(), 3);
    for of in plan.arrangements.iter().filter(out) {
        let passes: Vec<bool> = plan.rows(of).map(|row| row.passes[0] != Verdict::No).collect();
        assert_eq!(passes, [true; 4], "{:?}", of.arrangement);
        // What passes a size needs no more than that.
        let bare_m = of.needs[0].bare_m.expect("a need");
        assert!(plan.rows(of).all(|row| bare_m <= row.assembly.counted_m), "{:?}: {bare_m}", of.arrangement);
    }
}
