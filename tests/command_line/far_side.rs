//! The far side of the road in a sketch: its words, and a study that agrees with them.
use assert_cmd::Command;
use rstest::rstest;
use wideenough::motion::Chain;
use wideenough::opening::{StudyOptions, Wanted, study};
use wideenough::search::Effort;
use wideenough::site::sketch::{FarSide, TapeMeasurements, to_plan_text};
use wideenough::site::{Visit, read};
use wideenough::vehicle::{PartKind, find};

const FOOT: f64 = 0.3048;

/// A motorhome backs in from a 20-ft road through a 14-ft gate 15 ft back. It pulls ahead to the far edge of the road:
/// its tires come up to that edge and stay on it, to the centimeter that closes cracks; its body hangs over where
/// nothing stands in its path.
#[rstest]
#[case::open(FarSide::Open, true)]
#[case::ditch(FarSide::Ditch, true)]
#[case::wall(FarSide::Wall, false)]
fn tires_stay_on_the_pavement(#[case] far_side: FarSide, #[case] hangs_over: bool) {
    let tape = TapeMeasurements {
        road_width_m: 20.0 * FOOT,
        setback_m: 15.0 * FOOT,
        opening_m: 14.0 * FOOT,
        far_side,
        ..TapeMeasurements::default()
    };
    let site = read(&to_plan_text(&tape).unwrap(), "sketch").unwrap();
    assert!(site.note.ends_with(far_side.words()), "{}", site.note);
    let vehicle = find("motorhome").unwrap();
    let effort = Effort { lattice: 10_000, coarse: 8, polished: 1, fine: 10, finest: 0, ..Effort::USUAL };
    let options = StudyOptions { effort, changes: false, ..StudyOptions::default() };
    let wanted = Wanted {
        vehicle: vehicle.clone(),
        visits: vec![Visit::BackInDriveOut],
        travels: vec!["eastbound".to_owned()],
    };
    let studied = study(site, &[wanted], &options, &|_| ());
    let witness = studied.cases[0].bare.witness.as_ref().expect("a way in");
    let chain = Chain::of(&vehicle);
    // Distance by which anything reaches past the far edge, at (·, -35 ft).
    let edge = -35.0 * FOOT;
    let (mut tires, mut bodies) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    for sample in witness.path().samples(&chain, 0.05) {
        for tire in &vehicle.units[0].tires {
            for side in [-0.5, 0.5] {
                let mut end = tire.center;
                end.y += side * tire.width_m;
                tires = tires.max(edge - sample.state.lead.to_site(end).y);
            }
        }
        for part in vehicle.units[0].parts.iter().filter(|part| part.kind != PartKind::Tire) {
            for corner in &part.outline.0 {
                bodies = bodies.max(edge - sample.state.lead.to_site(*corner).y);
            }
        }
    }
    assert!(tires < 0.012, "{tires} m over the edge");
    assert_eq!(bodies > 0.3, hangs_over, "{bodies} m over the edge");
    if hangs_over {
        assert!(tires > -0.15, "the edge is no limit to it: {tires}");
    } else {
        assert!(bodies < 0.001, "{bodies} m into the wall");
    }
}

#[test]
fn help_and_command_say_it_too() {
    let run = |args: &[&str]| {
        let output = Command::cargo_bin("wideenough").unwrap().args(args).output().unwrap();
        assert!(output.status.success(), "{args:?}");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (text(output.stdout), text(output.stderr))
    };
    let (help, _) = run(&["sketch", "--help"]);
    let help = help.split_whitespace().collect::<Vec<&str>>().join(" ");
    for words in [
        "What is beyond the far edge of the road. Tires stay on the pavement in any case",
        "bumpers and mirrors may hang over the edge of the pavement",
        "without it tires may use all the land between road and gate and behind the gate",
    ] {
        assert!(help.contains(words), "{words}: {help}");
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("yard.geojson");
    let measures = ["sketch", "--road-width", "20 ft", "--setback", "15 ft", "--opening", "14 ft"];
    let more = ["--far-side", "ditch", "--out", file.to_str().unwrap()];
    let (_, told) = run(&[&measures[..], &more[..]].concat());
    assert!(told.contains(FarSide::Ditch.words()), "{told}");
    assert!(std::fs::read_to_string(&file).unwrap().contains(FarSide::Ditch.words()));
}
