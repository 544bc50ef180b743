//! Charts of made-up trade-offs: names, key, directions and advice.
use super::drawing::{FOOT, study};
use wideenough::drawing::labels::Rect;
use wideenough::drawing::tradeoff::{advice, chart};
use wideenough::drawing::tradeoff_svg;
use wideenough::geometry::Units;
use wideenough::opening::{Axis, Series, Tradeoff};

/// Invented needs of the three vehicles, falling with the setback; the last one finds no way in near the road.
fn setback_chart() -> Tradeoff {
    let at: Vec<f64> = (0..9).map(|i| f64::from(i) * 5.0 * FOOT).collect();
    let falls = |least: f64, more: f64| -> Vec<Option<f64>> {
        at.iter().map(|m| (*m > 0.0).then(|| least + more / (1.0 + m * m / 20.0))).collect()
    };
    let mut engine = falls(2.85, 4.0);
    engine[1] = None;
    let comfort = |bare: &[Option<f64>]| bare.iter().map(|m| m.map(|m| m + 0.6)).collect();
    let bare = [falls(2.5, 0.5), falls(2.62, 2.0), engine];
    let series = (0..3)
        .map(|vehicle| Series {
            vehicle,
            comfortable_m: comfort(&bare[vehicle]),
            governed_by: (0..9).map(|i| (at[i] > 0.0).then_some(vehicle)).collect(),
            bare_m: bare[vehicle].clone(),
        })
        .collect();
    Tradeoff { axis: Axis::Setback, drawn: at[3], at, series }
}

fn skew_chart() -> Tradeoff {
    let at: Vec<f64> = (0..7).map(|i| (f64::from(i) * 10.0 - 30.0).to_radians()).collect();
    let needs: Vec<Option<f64>> = at.iter().map(|a| Some(3.0 + 2.0 * (a + 0.3).powi(2))).collect();
    // Cases 0 and 2 come from two directions: the first vehicle's hardest one changes as the gate line turns.
    let governed_by =
        |vehicle: usize| (0..7).map(|i| Some(if vehicle == 0 && i > 3 { 2 } else { vehicle })).collect();
    let series = (0..3)
        .map(|vehicle| Series {
            vehicle,
            bare_m: needs.clone(),
            comfortable_m: needs.clone(),
            governed_by: governed_by(vehicle),
        })
        .collect();
    Tradeoff { axis: Axis::Skew, drawn: at[3], at, series }
}

/// A chart's texts keep apart and on the page, each line is named at its end, and nothing is drawn where nothing was
/// found.
#[test]
fn charts_keep_their_texts_apart() {
    for units in [Units::Feet, Units::Meters] {
        let mut study = study(units);
        study.cases[2].travel = "westbound".into();
        study.vehicles[2].title =
            "A vehicle with a title longer than any of the library, and a trailer".into();
        for (tradeoff, name) in [(setback_chart(), "setback"), (skew_chart(), "skew")] {
            let chart = chart(&study, &tradeoff, 100.0);
            let page = Rect { x0: 16.0, y0: 0.0, x1: 624.0, y1: 2000.0 };
            let texts = chart.texts();
            for (i, a) in texts.iter().enumerate() {
                assert!(page.holds(&a.rect), "{a:?}");
                for b in &texts[i + 1..] {
                    assert!(!a.rect.overlaps(&b.rect), "{name}: {:?} on {:?}", a.lines, b.lines);
                }
            }
            let said: Vec<String> = texts.iter().map(|t| t.lines.join(" ")).collect();
            for title in study.vehicles.iter().map(|v| &v.title) {
                for wanted in [title.clone(), format!("{title}, bare")] {
                    assert!(said.contains(&wanted), "{wanted} in {said:?}");
                }
            }
            // The direction that takes most is named where it changes, and nowhere where it does not.
            let directions = [&study.cases[0].travel, &study.cases[2].travel];
            assert_ne!(directions[0], directions[1]);
            for travel in directions {
                assert_eq!(said.contains(travel), name == "skew", "{travel}: {said:?}");
            }
            let drawing = tradeoff_svg(&study, &tradeoff);
            assert_eq!(drawing, tradeoff_svg(&study, &tradeoff), "the same bytes each time");
            for size in drawing.split("font-size=\"").skip(1) {
                let size: f64 = size.split('"').next().expect("a value").parse().expect("a number");
                assert!(size * 390.0 / 640.0 > 10.9, "{size}");
            }
            assert!(!drawing.contains("NaN") && !drawing.contains("inf"));
            // Marks stand wherever a path was found: 8 setbacks for two vehicles, 7 for the third, bare and in comfort.
            let (plot, key) = drawing.split_once("<g class=\"key\"").expect("a key");
            let marks = plot.matches("stroke-width=\"1.6\"").count();
            let lines = plot.matches("stroke-linejoin=\"round\"").count();
            // The key has every kind of mark: heavy and light lines, the ring, the lines as drawn, and each vehicle's.
            let count = |what: &str| key.matches(what).count();
            assert_eq!((count("<circle"), count("stroke-dasharray=\"2 4\"")), (1, 1), "{name}");
            assert_eq!(count("stroke-width=\"3.2\""), 1 + study.vehicles.len(), "{name}");
            let ring = |part: &str| {
                part.split("<circle")
                    .nth(1)
                    .and_then(|c| Some(c.split_once("r=")?.1.split_once('/')?.0.to_owned()))
            };
            assert_eq!(ring(plot), ring(key), "{name}: the ring of the key is that of the chart");
            let found: usize = tradeoff
                .series
                .iter()
                .map(|s| s.bare_m.iter().chain(&s.comfortable_m).flatten().count())
                .sum();
            // The thin lines and the two lines as drawn are as wide as the rims of the marks.
            assert_eq!((marks, lines), (found + 3 + 2, 6), "{name}");
            let file = format!("{}/tradeoff-{name}-{units:?}.svg", env!("CARGO_TARGET_TMPDIR"));
            std::fs::write(file, drawing).expect("written");
        }
    }
}

/// The sentence on a chart follows from its numbers.
#[test]
fn a_chart_says_what_to_do() {
    let study = study(Units::Feet);
    let setback = setback_chart();
    // In comfort the engine needs 2.85 + 4 / (1 + s²/20) + 0.6: 5.4058 m (17' 9") at 15 ft and 3.9222 m (12' 11") at 40
    // ft; at 35 ft 4.0004 m, more than an inch above that. The drawn gate is 14 ft (4.267 m): 30 ft is the first
    // setback of the chart where that is enough, with 4.222 m; at 25 ft they need 4.475 m.
    assert_eq!(
        advice(&study, &setback),
        "Moving the gate line 25' back is worth as much as an opening 4' 10\" wider: at a setback of 40' all vehicles \
         need 12' 11\" in comfort instead of 17' 9\"; the 14' gate as drawn is wide enough for that, and at 30' already."
    );
    let mut level = setback_chart();
    for series in &mut level.series {
        series.comfortable_m.iter_mut().skip(2).for_each(|m| *m = Some(3.5));
    }
    assert_eq!(
        advice(&study, &level),
        "More setback makes the opening no narrower than the 11' 6\" that all vehicles need in comfort as drawn; the 14' \
         gate does as near to the road as 10'."
    );
    // 3.18 m (10' 6") as drawn, 3.0048 m (9' 11") turned by 20 degrees clockwise, 3.0315 m by 10: over an inch more.
    assert_eq!(
        advice(&study, &skew_chart()),
        "Turning the gate line 20\u{b0}, its right post toward the road, is worth as much as an opening 6\" wider: at a \
         skew of -20\u{b0} all vehicles need 9' 11\" in comfort instead of 10' 6\"."
    );
    let mut unknown = setback_chart();
    unknown.series[0].bare_m[3] = None;
    unknown.series[0].comfortable_m[3] = None;
    assert!(advice(&study, &unknown).contains("nothing to compare with"));
}
