//! Lengths: a length reads back as written, and a displayed length never promises too much.
use proptest::prelude::*;
use rstest::rstest;
use wideenough::geometry::Units;
use wideenough::geometry::length::{FOOT_M, INCH_M, LengthError, Round, parse, show, show_fine};

/// A nanometer: far above the rounding of a few additions, far below anything that can be built.
const TINY_M: f64 = 1e-9;

#[rstest]
#[case("8 ft", 96.0)]
#[case("8ft", 96.0)]
#[case("8 Feet", 96.0)]
#[case("1 foot", 12.0)]
#[case("12' 6\"", 150.0)]
#[case("12'6\"", 150.0)]
#[case("12'6", 150.0)]
#[case("12'-6\"", 150.0)]
#[case("12' - 6\"", 150.0)]
#[case("12'-6 1/2\"", 150.5)]
#[case("12' 6-1/2\"", 150.5)]
#[case("12 ft 6 in", 150.0)]
#[case("12 feet 6 1/2 inches", 150.5)]
#[case("12′ 6″", 150.0)]
#[case("12’ 6”", 150.0)]
#[case("12' 6''", 150.0)]
#[case("3′-7 5/8″", 43.625)]
#[case("6½ in", 6.5)]
#[case("½\"", 0.5)]
#[case("12'½\"", 144.5)]
#[case("96 in", 96.0)]
#[case("5.5\"", 5.5)]
#[case("2 yd", 72.0)]
#[case("-6 in", -6.0)]
#[case("−6 in", -6.0)]
#[case("\u{a0}6\u{a0}in ", 6.0)]
fn reads_feet_and_inches(#[case] text: &str, #[case] inches: f64) {
    let meters = parse(text).expect(text);
    assert!((meters - inches * INCH_M).abs() < TINY_M, "{text}: {meters}");
}

#[rstest]
#[case("2.44 m", 2.44)]
#[case("2.44m", 2.44)]
#[case("2 meters", 2.0)]
#[case("2 metres", 2.0)]
#[case("250 cm", 2.5)]
#[case("300 mm", 0.3)]
#[case(".5 m", 0.5)]
#[case("1.5e1 m", 15.0)]
fn reads_meters(#[case] text: &str, #[case] meters: f64) {
    assert_eq!(parse(text), Ok(meters));
}

#[rstest]
#[case("", "the length is empty; write one with its unit, like \"12 ft\" or \"3.66 m\"")]
#[case(
    " 12 ",
    "\"12\" has no unit; write \"12 ft\", \"12 in\" or \"12 m\" (in a file, a number without quotes is meters)"
)]
#[case("12 furlongs", "\"12 furlongs\": the unit \"furlongs\" is not known; use ft, in, yd, m, cm or mm")]
#[case("inf", "\"inf\" is not a finite length")]
#[case("nan m", "\"nan m\" is not a finite length")]
#[case("1e400 m", "\"1e400 m\" is not a finite length")]
#[case(
    "2,44 m",
    "\"2,44 m\" has a comma; write a point for decimals and nothing between thousands, like \"2.44 m\""
)]
#[case("12' 14\"", "\"12' 14\"\": after feet, inches must be less than 12")]
fn refuses_with_advice(#[case] text: &str, #[case] message: &str) {
    assert_eq!(parse(text).expect_err(text).to_string(), message);
}

#[rstest]
fn refuses_what_is_no_length(
    #[values(
        "ft",
        "twelve ft",
        "--6 in",
        "12' 6' 3\"",
        "6 in 12 ft",
        "1/0 in",
        "3 m 20 cm",
        "1..2 m",
        "-",
        "'",
        "5 / m"
    )]
    text: &str,
) {
    let error = parse(text).expect_err(text);
    assert!(matches!(error, LengthError::NotALength(_) | LengthError::UnknownUnit(..)), "{text}: {error:?}");
}

proptest! {
    /// Every displayed length can be read again, and lies within its display step, on the promised side.
    #[test]
    fn shown_lengths_read_back(meters in -60.0..60.0_f64) {
        for (units, step, fine_step) in [(Units::Feet, INCH_M, INCH_M / 2.0), (Units::Meters, 0.01, 0.001)] {
            for round in [Round::Nearest, Round::Up, Round::Down] {
                for (text, step) in [(show(meters, units, round), step), (show_fine(meters, units, round), fine_step)] {
                    let back = parse(&text).expect(&text);
                    let (low, high) = match round {
                        Round::Nearest => (meters - step / 2.0, meters + step / 2.0),
                        Round::Up => (meters, meters + step),
                        Round::Down => (meters - step, meters),
                    };
                    prop_assert!(back >= low - TINY_M && back <= high + TINY_M, "{meters} shown as {text}, {round:?}");
                }
            }
        }
    }

    /// A whole number of inches is not rounded to another one, up or down.
    #[test]
    fn whole_inches_stay(inches in 0_i32..2400) {
        let meters = f64::from(inches) * INCH_M;
        let nearest = show(meters, Units::Feet, Round::Nearest);
        prop_assert_eq!(&show(meters, Units::Feet, Round::Up), &nearest);
        prop_assert_eq!(&show(meters, Units::Feet, Round::Down), &nearest);
        prop_assert!((parse(&nearest).unwrap() - meters).abs() < TINY_M);
    }

    /// Feet and inches written in any of the usual ways mean the same.
    #[test]
    fn ways_of_writing_agree(feet in 0_u32..200, eighths in 0_u32..96) {
        let meters = f64::from(feet) * FOOT_M + f64::from(eighths) / 8.0 * INCH_M;
        let (whole, part) = (eighths / 8, eighths % 8);
        for text in [
            format!("{feet}' {whole} {part}/8\""),
            format!("{feet}'-{whole}-{part}/8\""),
            format!("{feet} ft {} in", f64::from(eighths) / 8.0),
            format!("{} in", f64::from(feet) * 12.0 + f64::from(eighths) / 8.0),
            format!("{} mm", meters * 1000.0),
        ] {
            let read = parse(&text).expect(&text);
            prop_assert!((read - meters).abs() < TINY_M, "{text}: {read} is not {meters}");
        }
    }

    /// No text makes it panic, and no infinite length comes out.
    #[test]
    fn never_panics(text in "\\PC{0,16}|[0-9'\" ./e½′-]{0,12}(ft|in|m)?") {
        if let Ok(meters) = parse(&text) {
            prop_assert!(meters.is_finite());
        }
    }
}
