//! The writers against a made-up study that holds every kind of answer once.
use super::sample::{contact, found, study};
use super::*;
use crate::geometry::{Outline, Point, Pose, Units};
use crate::motion::{Chain, Direction, Leg, Path, Segment, State};
use crate::opening::{Demanded, DrawnGate, Outcome, RuledOut, Study, Verdict, vehicle_is_proven};
use crate::site::{Anchor, Faces, Maneuver};
use serde_json::Value;

fn read_back(study: &Study) -> Value {
    serde_json::from_str(&json(study)).unwrap()
}

fn f(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn the_contract_has_its_fields_in_its_order() {
    let results = read_back(&study());
    let keys = |v: &Value| v.as_object().unwrap().keys().cloned().collect::<Vec<String>>();
    assert_eq!(results["format"], "wideenough-results");
    assert_eq!(results["version"], 1);
    assert_eq!(keys(&results)[..2], ["format", "version"]);
    for field in ["title", "opening_m", "setback_m", "skew_deg"] {
        assert!(results["plan"].get(field).is_some(), "plan.{field}");
    }
    assert!(results.get("clearance_m").is_some() && results["gate"].is_object());
    assert_eq!(results["ground"], "land-before-gate");
    let mut driven = study();
    let outer = Outline([(-3.0, 0.0), (3.0, 0.0), (3.0, 9.0)].map(|(x, y)| Point::new(x, y)).to_vec());
    driven.site.drives = vec![crate::site::Ground { label: "drive".to_owned(), outer, holes: vec![] }];
    assert_eq!(read_back(&driven)["ground"], "drawn");
    let cases = results["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 9);
    for case in cases {
        for field in ["vehicle", "travel", "maneuver", "shunts", "bare", "comfortable", "drawn_gate"] {
            assert!(case.get(field).is_some(), "case.{field}");
        }
        for answer in [&case["bare"], &case["comfortable"]] {
            for field in ["outcome", "opening_m", "at_least_m", "tightest"] {
                assert!(answer.get(field).is_some(), "answer.{field}");
            }
            assert_eq!(answer["outcome"] == "found", answer["opening_m"].is_number(), "null unless found");
            assert_eq!(answer["outcome"] == "found", answer.get("reason").is_none(), "a reason unless found");
        }
    }
    let tightest = &cases[0]["bare"]["tightest"];
    assert_eq!(tightest["what"], "left post");
    assert_eq!((f(&tightest["x_m"]), f(&tightest["y_m"])), (-2.1336, 7.422));
    assert_eq!(cases[3]["bare"]["outcome"], "impossible");
    assert_eq!(cases[5]["bare"]["outcome"], "gave-up");
    assert_eq!(cases[8]["route"], "Owner's line");
    let needs = results["vehicles"].as_array().unwrap();
    assert_eq!(needs[0]["vehicle"], "box-truck-26");
    assert_eq!(needs[0]["governed_by"], "eastbound drive-in");
    assert_eq!(needs[1]["comfortable_opening_m"], Value::Null);
    assert_eq!(
        (needs[0]["drawn_gate"].as_str(), needs[1]["drawn_gate"].as_str()),
        (Some("tight"), Some("no"))
    );
}

#[test]
fn openings_round_up_and_bounds_down() {
    let results = read_back(&study());
    let answer = &results["cases"][6]["bare"];
    assert_eq!(f(&answer["opening_m"]), 5.1235);
    assert_eq!(f(&answer["at_least_m"]), 2.44);
    assert_eq!(f(&results["vehicles"][1]["bare_opening_m"]), 5.1235);
    // Already on the grid: stays, though 41800 x 0.0001 is not 4.18 in binary.
    assert_eq!(f(&results["cases"][0]["bare"]["opening_m"]), 4.18);
    let faces = &answer["faces_u_m"];
    assert!(f(&faces[1]) - f(&faces[0]) >= 5.123_44);
    assert_eq!(f(&answer["tightest"]["gap_m"]), 0.133_612);
}

/// Drives the written witness again, from the text alone, and compares with the listed poses and the true path.
#[test]
fn a_witness_can_be_driven_again() {
    let study = study();
    let results = read_back(&study);
    for (index, towed) in [(0, 0), (4, 1)] {
        let case = &study.cases[index];
        let witness = &results["cases"][index]["witness"];
        assert_eq!(witness["clearance"], "comfortable");
        let start = &witness["start"];
        let mut hitch = [0.0; crate::motion::MAX_TOWED];
        let listed = start["hitch_rad"].as_array().unwrap();
        assert_eq!(listed.len(), towed);
        hitch.iter_mut().zip(listed).for_each(|(slot, v)| *slot = f(v));
        let lead = Pose::new(f(&start["x_m"]), f(&start["y_m"]), f(&start["heading_rad"]));
        let legs = witness["legs"].as_array().unwrap().iter().map(|leg| Leg {
            direction: match leg["direction"].as_str() {
                Some("forward") => Direction::Forward,
                Some("reverse") => Direction::Reverse,
                other => panic!("{other:?}"),
            },
            segments: leg["segments"]
                .as_array()
                .unwrap()
                .iter()
                .map(|s| Segment {
                    length_m: f(&s["length_m"]),
                    curvature_start: f(&s["curvature_start"]),
                    curvature_end: f(&s["curvature_end"]),
                })
                .collect(),
        });
        let driven = Path { start: State { lead, hitch, curvature: 0.0 }, legs: legs.collect() };
        let chain = Chain::of(&study.vehicles[case.vehicle]);
        let (_, truth) = drawn_path(case).unwrap();
        let poses = witness["poses"].as_array().unwrap();
        let (again, exact) = (driven.samples(&chain, 0.5), truth.path().samples(&chain, 0.5));
        assert_eq!((poses.len(), again.len()), (exact.len(), exact.len()));
        for ((row, a), e) in poses.iter().zip(&again).zip(&exact) {
            assert_eq!(row.as_array().unwrap().len(), 4 + towed);
            assert!((f(&row[0]) - a.station_m).abs() < 1e-6);
            assert!((f(&row[1]) - a.state.lead.position.x).abs() < 1e-6, "{row} {a:?}");
            assert!((f(&row[2]) - a.state.lead.position.y).abs() < 1e-6, "{row} {a:?}");
            assert!((f(&row[3]) - a.state.lead.heading).abs() < 1e-8);
            if towed > 0 {
                assert!((f(&row[4]) - a.state.hitch[0]).abs() < 1e-8);
            }
            assert!(a.state.lead.position.distance(e.state.lead.position) < 1e-7);
        }
        let step = poses.windows(2).map(|w| f(&w[1][0]) - f(&w[0][0])).fold(0.0, f64::max);
        assert!(step <= 0.5 + 1e-6, "poses {step} m apart");
    }
    // The bare answer's path where there is no comfortable one; none where there is none.
    assert_eq!(results["cases"][6]["witness"]["clearance"], "bare");
    assert!(results["cases"][3].get("witness").is_none());
}

#[test]
fn outlines_let_another_program_draw_the_witness() {
    let results = read_back(&study());
    let units = results["vehicle_outlines"]["pickup-trailer"]["units"].as_array().unwrap();
    assert_eq!(units.len(), 2);
    assert_eq!(f(&units[0]["hitch_behind_m"]), 1.2);
    assert_eq!(units[1]["hitch_behind_m"], Value::Null);
    assert_eq!(f(&units[1]["wheelbase_m"]), 5.0);
    assert_eq!(units[1]["rings"][0].as_array().unwrap().len(), 4);
    // The vehicle of this test has none.
    assert_eq!(units[1]["tires"], serde_json::json!([]));
}

#[test]
fn the_sentence_of_the_trade() {
    let study = study();
    assert_eq!(
        case_sentence(&study, &study.cases[0]),
        "Box truck, eastbound, driving in: needs 13' 9\"; comfortable at 15' 9\"; your 14' gate is tight: the left \
         post."
    );
    assert_eq!(
        case_sentence(&study, &study.cases[1]),
        "Box truck, eastbound, backing in: needs 14' 10\"; comfortable at 16' 5\"; your 14' gate is too narrow by \
         10\": the left post."
    );
    assert_eq!(
        case_sentence(&study, &study.cases[3]),
        "Box truck, westbound, backing in: cannot get in, however wide the gate: the apron is narrower than the \
         tires."
    );
    assert_eq!(
        case_sentence(&study, &study.cases[5]),
        "Pickup with trailer, eastbound, backing in: no way in found: the far ditch stood in the way most."
    );
    assert!(case_sentence(&study, &study.cases[4]).ends_with("; your 14' gate is comfortable."));
    assert!(
        case_sentence(&study, &study.cases[8])
            .starts_with("Box truck, along \"Owner's line\": needs 14' 2\"")
    );
}

#[test]
fn needs_are_shown_rounded_up_in_either_unit() {
    let mut study = study();
    study.cases[0].bare = found(4.191_1, 2.0);
    assert!(case_sentence(&study, &study.cases[0]).contains("needs 13' 10\""));
    study.site.units = Units::Meters;
    let sentence = case_sentence(&study, &study.cases[0]);
    assert!(sentence.contains("needs 4.20 m; comfortable at 4.79 m; your 4.27 m gate"), "{sentence}");
}

#[test]
fn a_free_gate_says_where_it_should_stand() {
    let mut study = study();
    study.site.gate.anchor = Anchor::Free;
    assert!(case_sentence(&study, &study.cases[0]).contains("with its middle where it is drawn"));
    study.cases[0].comfortable.faces_u_m = Some(Faces::new(-1.5, 3.29));
    let sentence = case_sentence(&study, &study.cases[0]);
    assert!(
        sentence.contains("15' 9\" with its middle 2' 11\" to the right of where it is drawn"),
        "{sentence}"
    );
}

#[test]
fn a_vehicle_passes_if_some_maneuver_does_from_each_side() {
    let mut study = study();
    assert_eq!(vehicle_verdict(&study, 0), Verdict::Tight);
    assert_eq!(vehicle_verdict(&study, 1), Verdict::No);
    assert!(!every_vehicle_passes(&study));
    // A drawn route that passes counts nothing toward the required paths...
    study.cases[8].drawn_gate = DrawnGate::Comfortable;
    assert_eq!(vehicle_verdict(&study, 0), Verdict::Tight);
    // ...and one that does not takes nothing from them: backing in eastbound mends the first vehicle.
    study.cases[8].drawn_gate = DrawnGate::No;
    study.cases[1].drawn_gate = DrawnGate::Comfortable;
    assert_eq!(vehicle_verdict(&study, 0), Verdict::Comfortable);
    assert!(!every_vehicle_passes(&study));
    study.cases[7].drawn_gate = DrawnGate::Tight;
    assert_eq!(vehicle_verdict(&study, 1), Verdict::Tight);
    study.cases[6].drawn_gate = DrawnGate::Comfortable;
    assert!(every_vehicle_passes(&study));
}

/// A way that is proven to be tight at best proves nothing of another that is not found: "no" is proven by a "no" alone.
#[test]
fn a_tight_way_proves_no_no() {
    let mut study = study();
    study.demanded = vec![Demanded::DriveIn; 2];
    let drive_in = |study: &Study, travel: &str| {
        let mine = |c: &Case| c.vehicle == 0 && c.travel == travel && c.maneuver == Maneuver::DriveIn;
        study.cases.iter().position(mine).expect("a case")
    };
    let (tight, no) = (drive_in(&study, "eastbound"), drive_in(&study, "westbound"));
    study.cases[tight].drawn_gate = DrawnGate::Tight;
    study.cases[tight].bare.ruled_out = Some(RuledOut::Proven);
    study.cases[tight].comfortable.ruled_out = Some(RuledOut::Proven);
    study.cases[no].drawn_gate = DrawnGate::No;
    study.cases[no].bare.ruled_out = None;
    study.cases[no].comfortable.ruled_out = None;
    assert!(vehicle_verdict(&study, 0) <= Verdict::OnlyBackingIn);
    assert!(!vehicle_is_proven(&study, 0));
    study.cases[no].bare.ruled_out = Some(RuledOut::Proven);
    study.cases[no].comfortable.ruled_out = Some(RuledOut::Proven);
    assert!(vehicle_is_proven(&study, 0));
}

/// Where a vehicle has to back in from both directions, a proof from one of them is no proof of the sentence on both.
#[test]
fn only_backing_in_is_proven_from_each_direction_it_names() {
    let mut study = study();
    study.demanded = vec![Demanded::DriveIn; 2];
    let drives = |case: &&mut Case| case.vehicle == 0 && case.maneuver == Maneuver::DriveIn;
    for case in study.cases.iter_mut().filter(|case| case.vehicle == 0) {
        let drives = case.maneuver == Maneuver::DriveIn;
        case.drawn_gate = if drives { DrawnGate::No } else { DrawnGate::Tight };
    }
    let mut said = |proven: usize| {
        for (at, case) in study.cases.iter_mut().filter(drives).enumerate() {
            let word = if at < proven { RuledOut::Proven } else { RuledOut::NotProven };
            case.bare.ruled_out = Some(word);
            case.comfortable.ruled_out = Some(word);
        }
        assert_eq!(vehicle_is_proven(&study, 0), proven > 0);
        verdicts(&study).swap_remove(0).text
    };
    for (proven, words) in
        [(1, "only by backing in: no path driving in through it"), (2, "only by backing in, which is proven")]
    {
        let text = said(proven);
        assert!(text.contains(words), "{text}");
    }
}

/// By default driving in decides: a vehicle that only backs in gets a note, and ranks below a tight way in.
#[test]
fn backing_in_counts_only_where_it_is_asked() {
    let mut study = study();
    study.demanded = vec![Demanded::DriveIn; 2];
    study.cases[1].drawn_gate = DrawnGate::Comfortable;
    assert_eq!(vehicle_verdict(&study, 0), Verdict::Tight, "backing in eastbound mends nothing");
    study.cases[0].drawn_gate = DrawnGate::No;
    assert_eq!(vehicle_verdict(&study, 0), Verdict::OnlyBackingIn);
    let said = verdicts(&study);
    assert!(
        said[0].text.contains("passes") || said[0].text.contains("only by backing in"),
        "{}",
        said[0].text
    );
    assert_eq!(said[0].verdict, Some(Verdict::OnlyBackingIn));
    // Westbound it drives in: it has to back in from one direction alone.
    assert!(
        said[0].text.contains("only by backing in, eastbound: no path driving in through it was found"),
        "{}",
        said[0].text
    );
    study.demanded = vec![Demanded::TurnAround; 2];
    study.cases[0].drawn_gate = DrawnGate::Comfortable;
    study.cases[3].drawn_gate = DrawnGate::Tight;
    assert_eq!(vehicle_verdict(&study, 0), Verdict::No, "no turn inside");
    let said = verdicts(&study);
    assert!(
        said[0].text.contains("passes the 14' gate in and out, but no turn inside was found"),
        "{}",
        said[0].text
    );
    assert!(said[2].text.contains("lets in, without a turn inside: box truck."), "{}", said[2].text);
    for travel in ["eastbound", "westbound"] {
        let found = crate::opening::FoundTurn {
            comfortable: true,
            stops: 2,
            turn_m: 20.0,
            ends_in_line: true,
            lane: crate::opening::CaseLane::Coming,
            way_in: study.cases[0].bare.witness.clone().expect("a path"),
            path: study.cases[0].bare.witness.clone().expect("a path"),
            contacts: Vec::new(),
        };
        study.turns.push(crate::opening::Turn {
            vehicle: 0,
            travel: travel.to_owned(),
            found: Ok(found),
            missing: None,
        });
    }
    assert_eq!(vehicle_verdict(&study, 0), Verdict::Tight, "in and out: the worse of the two counts");
    assert!(verdicts(&study)[0].text.contains("Coming westbound, it turns around inside with 2 stops"));
    study.turns[1].found = Err("no room".to_owned());
    assert_eq!(vehicle_verdict(&study, 0), Verdict::No);
    assert!(verdicts(&study)[0].text.contains("Coming westbound, it cannot turn around inside: no room."));
}

#[test]
fn a_vehicle_known_only_by_a_drawn_route_is_judged_by_it() {
    let mut study = study();
    study.cases.retain(|c| c.route.is_some());
    assert_eq!(vehicle_verdict(&study, 0), Verdict::No);
    study.cases[0].drawn_gate = DrawnGate::Comfortable;
    assert_eq!(vehicle_verdict(&study, 0), Verdict::Comfortable);
    assert_eq!(vehicle_verdict(&study, 1), Verdict::No, "nothing asked, nothing passed");
}

#[test]
fn file_names_are_safe_and_unlike() {
    let mut study = study();
    study.cases[8].route = Some("../Loop: ümlaut/".to_owned());
    study.cases[7] = study.cases[6].clone();
    let stems = file_stems(&study);
    assert_eq!(stems[0], "box-truck-26-eastbound-drive-in");
    assert_eq!(stems[8], "box-truck-26-route-loop-mlaut");
    assert_eq!(stems[7], "pickup-trailer-westbound-drive-in-2");
    let mut unique = stems.clone();
    unique.sort();
    unique.dedup();
    assert_eq!(unique.len(), stems.len());
}

#[test]
fn the_table_holds_every_case_and_keeps_its_width() {
    let study = study();
    for width in (60..120).chain([160]) {
        let text = table(&study, width);
        let widest = text.lines().map(|l| l.chars().count()).max().unwrap();
        assert!(widest <= usize::from(width), "{widest} > {width}\n{text}");
        assert!(!text.lines().any(|l| l.ends_with(' ')), "no blanks at line ends");
        assert!(!text.lines().any(|l| l.trim_start().starts_with("9\"")), "no length is broken\n{text}");
    }
    let text = table(&study, 200);
    let row = |needle: &str| {
        text.lines().find(|l| l.contains(needle)).unwrap_or_else(|| panic!("{needle}\n{text}"))
    };
    assert!(row("13' 9\"").contains("15' 9\""));
    assert!(row("the apron is narrower").contains("impossible"));
    assert!(row("the far ditch").contains("not found"));
    assert!(text.contains("Backing out sweeps the same ground as driving in"));
    assert!(text.contains("keeps 11 1/2\" from everything that stands"));
    assert!(text.contains("Planning aid only"));
    assert!(text.contains("Note: the fence meets the gate line at the left post only."));
    assert!(text.contains(
        "The gate as drawn, 14', does not let in: pickup with trailer. It is tight for: box truck."
    ));
}

#[test]
fn verdict_lines_say_in_words_what_their_color_says() {
    for line in verdicts(&study()) {
        let text = &line.text;
        let by_words = if text.contains("does not") || text.contains("not let in") {
            Some(Verdict::No)
        } else if text.contains("tight") {
            Some(Verdict::Tight)
        } else if text.contains("passes") {
            Some(Verdict::Comfortable)
        } else {
            None
        };
        assert_eq!(line.verdict, by_words, "{text}");
    }
}

#[test]
fn a_label_with_an_article_keeps_it() {
    assert_eq!(contact_words(&contact("north wall")), "the north wall");
    assert_eq!(contact_words(&contact("The old oak")), "The old oak");
}

#[test]
fn an_answer_not_found_never_shows_an_opening() {
    let mut study = study();
    study.cases[0].bare.outcome = Outcome::GaveUp("out of work".to_owned());
    assert_eq!(read_back(&study)["cases"][0]["bare"]["opening_m"], Value::Null);
}

#[test]
fn an_envelope_file_holds_its_bounds_and_rings() {
    use crate::sweep::{Cover, DRAWING_TOLERANCE_M, envelope};
    let study = study();
    let swept = envelope(&study.vehicles[0], &sample::path(), Cover::Body, DRAWING_TOLERANCE_M).unwrap();
    let value: Value = serde_json::from_str(&envelope_json(&swept)).unwrap();
    assert!(f(&value["bound_m"]) > 0.0 && f(&value["bound_m"]) <= DRAWING_TOLERANCE_M);
    assert_eq!(f(&value["bound_m"]), f(&value["over_m"]).max(f(&value["under_m"])));
    // Rounding to a micrometer moves the area by less than the outline's length times that.
    let mut area = 0.0;
    for ring in value["body"].as_array().unwrap().iter().flat_map(|polygon| polygon.as_array().unwrap()) {
        let corners = ring.as_array().unwrap().iter().map(|p| Point::new(f(&p[0]), f(&p[1]))).collect();
        area += Outline(corners).signed_area();
    }
    assert!((area - swept.area_m2()).abs() < 2e-4, "{area} {}", swept.area_m2());
}

#[test]
fn limits_are_told_in_numbers_and_in_one_line_a_vehicle() {
    use crate::opening::{ActiveConstraint, Changes, ConstraintKind, Difference, Kind, Limits};
    let mut study = study();
    let difference = |kind, more_m, less_m| Difference { kind, more_m, less_m };
    let changes = Changes {
        comfortable: true,
        opening_m: 4.79,
        by_kind: vec![
            difference(Kind::Setback, Some(-0.2286), Some(0.25)),
            difference(Kind::RoadWidth, Some(-0.1016), Some(0.1)),
            difference(Kind::ApronFlare, None, None),
            difference(Kind::PostDepth, Some(0.05), Some(0.0)),
            difference(Kind::Skew, Some(0.1), Some(-0.08)),
        ],
    };
    let bind = |kind, what: &str, spare| ActiveConstraint {
        kind,
        what: what.to_owned(),
        part: "trailer".to_owned(),
        spare,
    };
    let binds = vec![
        bind(ConstraintKind::Contact, "left post", 0.000_26),
        bind(ConstraintKind::Hitch, "hitch", 0.2f64.to_radians()),
        bind(ConstraintKind::Lock, "full lock", 0.0),
    ];
    study.cases[0].limits = Limits { binds, full_lock_share: 0.25, changes: Some(changes.clone()) };
    let results = read_back(&study);
    let limits = &results["cases"][0]["limits"];
    assert_eq!(limits["binds"][0]["what"], "left post");
    assert_eq!(f(&limits["binds"][0]["spare_m"]), 0.0002);
    assert!((f(&limits["binds"][1]["spare_deg"]) - 0.2).abs() < 1e-4);
    assert_eq!(f(&limits["full_lock_share"]), 0.25);
    let per_foot = &limits["per_foot"];
    // 9 inches a foot is 0.75 of opening for each of setback, whatever the unit.
    assert_eq!(f(&per_foot["opening_per_setback"]), -0.75);
    assert_eq!(per_foot["opening_per_apron_flare"], Value::Null);
    assert_eq!(f(&per_foot["opening_per_skew_deg"]), 0.02);
    assert_eq!(f(&per_foot["opening_per_skew_deg_clockwise"]), -0.016);
    assert!(results["cases"][1]["limits"].get("per_foot").is_none(), "only for the case that governs");
    assert!(results["cases"][3].get("limits").is_none(), "nothing binds where nothing was found");
    let said = |study: &Study| savings(study).into_iter().map(|l| l.text).collect::<Vec<_>>();
    assert_eq!(
        said(&study),
        [
            "Box truck: a gate a foot farther back saves 9\"; a road a foot wider saves 4\"; turning the gate 5\u{b0}, its \
          right post toward the road, saves 3\"."
        ]
    );
    study.site.units = Units::Meters;
    assert!(said(&study)[0].contains("a gate 30 cm farther back saves 0.22 m;"), "{:?}", said(&study));
    let none =
        changes.by_kind.iter().map(|d| Difference { more_m: d.more_m.map(|_| 0.0), less_m: None, ..*d });
    study.cases[0].limits.changes = Some(Changes { by_kind: none.collect(), ..changes });
    assert_eq!(
        said(&study),
        [
            "Box truck: none of these would save a centimeter: more setback, a wider road, other posts, a turned gate \
          line."
        ]
    );
}

#[test]
fn trade_offs_have_their_file() {
    use crate::opening::{Axis, Series, Tradeoff};
    let mut study = study();
    let list = |study: &Study| read_back(study)["files"].as_array().unwrap().len();
    let before = list(&study);
    let series = vec![
        Series {
            vehicle: 0,
            bare_m: vec![None, Some(4.180_01)],
            comfortable_m: vec![None, Some(4.79)],
            governed_by: vec![None, Some(0)],
        },
        Series {
            vehicle: 1,
            bare_m: vec![Some(5.2), Some(5.1)],
            comfortable_m: vec![None, None],
            governed_by: vec![None; 2],
        },
    ];
    let setback =
        Tradeoff { axis: Axis::Setback, drawn: 4.572, at: vec![1.524, 4.572], series: series.clone() };
    let skew = Tradeoff { axis: Axis::Skew, drawn: 0.0, at: vec![-10f64.to_radians(), 0.0], series };
    study.tradeoffs = vec![setback, skew];
    assert_eq!(list(&study), before + 3, "two drawings and the file of both");
    let read: Value = serde_json::from_str(&tradeoff_json(&study)).unwrap();
    assert_eq!((read["format"].as_str(), read["version"].as_u64()), (Some("wideenough-tradeoff"), Some(1)));
    assert_eq!(read["setback"]["at"], serde_json::json!([1.524, 4.572]));
    assert_eq!(read["skew"]["at"], serde_json::json!([-10.0, 0.0]));
    let truck = &read["setback"]["vehicles"][0];
    assert_eq!(truck["vehicle"], "box-truck-26");
    assert_eq!(truck["bare_opening_m"], serde_json::json!([null, 4.1801]), "rounded up");
    assert_eq!(truck["hardest_travel"], serde_json::json!([null, study.cases[0].travel]));
}

/// A sheet to print names no file and no flag; the table does.
#[test]
fn remarks_on_a_sheet_name_no_file_and_no_flag() {
    let study = study();
    let texts = |lines: Vec<Line>| lines.into_iter().map(|line| line.text).collect::<Vec<_>>().join(" ");
    let (sheet, table) = (texts(sheet_remarks(&study)), texts(remarks(&study)));
    let of_a_computer = |text: &str| text.contains(".json") || text.contains("--") || text.contains('_');
    assert!(of_a_computer(&table) && !of_a_computer(&sheet), "{sheet}");
    assert!(sheet.contains("certain to be enough. "), "{sheet}");
}

/// A star where the verdict is proven, in table and page; a line that says what it means; and the word in results.json.
#[test]
fn a_proven_verdict_is_marked_and_the_mark_explained() {
    use crate::opening::RuledOut::{NotProven, Proven};
    let mut study = study();
    let rule = |study: &mut Study, case: usize, bare, comfortable| {
        study.cases[case].bare.ruled_out = bare;
        study.cases[case].comfortable.ruled_out = comfortable;
    };
    let lines = |study: &Study| -> Vec<String> { table(study, 100).lines().map(str::to_owned).collect() };
    let said = |study: &Study, words: &str| {
        // The page must show it too.
        assert!(page(study).contains(words), "{words}");
        let lines = lines(study);
        assert!(lines.iter().any(|line| line == words), "{words}: {lines:?}");
    };
    let row = |study: &Study, opening: &str| lines(study).into_iter().find(|l| l.contains(opening)).unwrap();
    let verdict = |study: &Study, vehicle: usize| verdicts(study).swap_remove(vehicle).text;

    said(&study, "No and tight: no better path was found at the gate as drawn. That is not a proof.");
    assert!(!table(&study, 100).contains('*'));
    assert!(verdict(&study, 0).starts_with("Box truck passes the 14' gate, but tightly. "));
    assert!(verdict(&study, 1).contains("does not pass the 14' gate: no path that does was found. "));

    // Tight eastbound driving in, and no by backing in: neither is better.
    rule(&mut study, 0, None, Some(Proven));
    rule(&mut study, 1, Some(Proven), Some(NotProven));
    said(
        &study,
        "* Proven: no path of this kind does better at the gate as drawn. Without the *, none was found.",
    );
    assert!(row(&study, "13' 9\"").contains(" tight* "));
    // Without proof of both, "no" is not proven.
    assert!(row(&study, "14' 10\"").contains(" no "));
    assert!(!vehicle_is_proven(&study, 0));
    let results = read_back(&study);
    let answers = ["bare", "comfortable"].map(|a| results["cases"][1][a]["drawn_opening_ruled_out"].clone());
    assert_eq!(answers, ["proven", "not-proven"]);
    assert_eq!(results["cases"][0]["bare"].get("drawn_opening_ruled_out"), None);
    assert_eq!(results["vehicles"][0]["drawn_gate_proven"], false);

    rule(&mut study, 1, Some(Proven), Some(Proven));
    assert!(row(&study, "14' 10\"").contains(" no* "));
    assert!(
        verdict(&study, 0).starts_with("Box truck passes the 14' gate, but only tightly, which is proven. ")
    );
    assert_eq!(read_back(&study)["vehicles"][0]["drawn_gate_proven"], true);
    let mut passing = study.clone();
    passing.cases[0].drawn_gate = DrawnGate::Comfortable;
    assert_eq!(read_back(&passing)["vehicles"][0].get("drawn_gate_proven"), None);
    // One that passes westbound in comfort, and one that does not, both ways.
    for case in [3, 5, 6, 7] {
        rule(&mut study, case, Some(Proven), Some(Proven));
    }
    said(&study, "* Proven: no path of this kind does better at the gate as drawn.");
    assert!(verdict(&study, 1).contains("does not pass the 14' gate, which is proven. "));

    // A drawn route alone: no search was made.
    study.cases.retain(|c| c.route.is_some());
    assert!(!table(&study, 100).contains("no better path was found"));
    assert!(verdict(&study, 0).starts_with("Box truck does not pass the 14' gate. "));
    assert!(!vehicle_is_proven(&study, 0));
}
