//! Sheets and pictures, checked by other programs: poppler measures the PDF, and its words are found where they were
//! put. Without poppler these tests pass and say what they did not run.
#![cfg(feature = "sheets")]
use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;
use wideenough::drawing::paper::{Paper, Scale, TitleBlock, page_svg};
use wideenough::drawing::{Listed, case_pages, case_svg, cover_pages, print, template_pages};
use wideenough::geometry::Units;
use wideenough::opening::{Study, StudyOptions, Wanted, study};
use wideenough::report::cover_words;
use wideenough::site::{self, Visit};
use wideenough::vehicle::find;

/// A drive 100 ft long beside a lane, with nothing lying over its two ends.
const PLAN: &str = r#"{ "type": "FeatureCollection",
  "plan": { "title": "Test yard <&>", "coordinates": "local-ft", "units": "ft",
    "permit": { "address": "12 Invented Lane", "parcel": "000-111" } },
  "features": [
    { "type": "Feature", "properties": { "role": "road", "width": "22 ft", "continues": "both" },
      "geometry": { "type": "LineString", "coordinates": [[-150, 0], [150, 0]] } },
    { "type": "Feature", "properties": { "role": "drive", "label": "yard" },
      "geometry": { "type": "Polygon", "coordinates": [[[-50, 11], [50, 11], [50, 60], [-50, 60], [-50, 11]]] } },
    { "type": "Feature", "properties": { "role": "obstacle", "label": "mailbox", "radius": "6 in", "top": "4 ft" },
      "geometry": { "type": "Point", "coordinates": [-20, 14] } },
    { "type": "Feature", "properties": { "role": "gate", "leaves": "double" },
      "geometry": { "type": "LineString", "coordinates": [[-8, 26], [8, 26]] } }
  ] }"#;

fn made() -> &'static Study {
    static STUDY: OnceLock<Study> = OnceLock::new();
    STUDY.get_or_init(|| {
        let wanted = ["car", "pickup"].map(|name| Wanted {
            vehicle: find(name).unwrap(),
            visits: vec![Visit::DriveInBackOut],
            travels: vec!["eastbound".to_owned()],
        });
        let site = site::read(PLAN, "yard.geojson").unwrap();
        study(site, &wanted, &StudyOptions::default(), &|_| ())
    })
}

fn title() -> TitleBlock {
    TitleBlock {
        project: "Test yard <&>".to_owned(),
        address: "12 Invented Lane".to_owned(),
        parcel: "000-111".to_owned(),
        prepared_by: "A. Planner".to_owned(),
        date: "2026-11-25".to_owned(),
    }
}

fn pages(paper: Paper, scale: Option<Scale>) -> Vec<String> {
    let study = made();
    let cases: Vec<_> = (0..study.cases.len()).map(|i| case_pages(study, i, paper, scale)).collect();
    let listed: Vec<Listed> = cases.iter().map(|pages| Listed::of(pages)).collect();
    let mut pages = cover_pages(study, paper, &cover_words(study), &listed);
    pages.extend(cases.into_iter().flatten());
    let count = pages.len();
    pages.iter().enumerate().map(|(i, page)| page_svg(page, &title(), i, count)).collect()
}

/// Output of a poppler tool for a file; nothing, and a note about it, if it is not there.
fn poppler(tool: &str, args: &[&str], file: &Path) -> Option<Vec<u8>> {
    let mut command = Command::new(tool);
    command.args(args).arg(file);
    if tool == "pdftotext" {
        command.arg("-");
    }
    let ran = command.output();
    match ran {
        Ok(ran) => {
            assert!(ran.status.success(), "{tool}: {}", String::from_utf8_lossy(&ran.stderr));
            Some(ran.stdout)
        }
        Err(_) => {
            eprintln!(
                "NOT RUN: {tool} (of poppler-utils) is not on this machine, so the PDF was not looked at with it"
            );
            None
        }
    }
}

fn pdf_file(folder: &Path, svgs: &[String]) -> std::path::PathBuf {
    let file = folder.join("sheets.pdf");
    std::fs::write(&file, print::pdf("Test yard <&>", "A. Planner", svgs).unwrap()).unwrap();
    file
}

#[test]
fn a_hundred_feet_are_five_inches_at_twenty_feet_to_the_inch() {
    let folder = tempfile::tempdir().unwrap();
    let dots = 300.0;
    for (scale, inches) in [
        (Scale::FeetPerInch(20.0), 5.0),
        (Scale::FeetPerInch(30.0), 100.0 / 30.0),
        (Scale::OneTo(250.0), 100.0 * 12.0 / 250.0),
    ] {
        let page = &case_pages(made(), 0, Paper::Letter, Some(scale))[0];
        assert_eq!(page.scale, Some(scale));
        let (corner, plan) = page.panels()[0];
        let right = (corner.x + plan.view.width) * 0.42 / 72.0 * dots;
        let file = pdf_file(folder.path(), &[page_svg(page, &title(), 0, 1)]);
        let Some(picture) = poppler("pdftoppm", &["-r", "300"], &file) else { return };
        let (width, height, pixels) = ppm(&picture);
        assert_eq!((width, height), (3300, 2550));
        // The drive's own tone, within the plan: the legend beside it shows it too.
        let mut ends: Option<(usize, usize)> = None;
        for (i, pixel) in pixels.chunks_exact(3).enumerate() {
            let x = i % width;
            let near = pixel.iter().zip([0xf6, 0xf1, 0xe6]).all(|(a, b)| a.abs_diff(b) <= 1);
            if near && (x as f64) < right {
                let (low, high) = ends.unwrap_or((x, x));
                ends = Some((low.min(x), high.max(x)));
            }
        }
        let (low, high) = ends.unwrap();
        // Half of the line around it, half a point wide, lies over it on each side.
        let measured = ((high - low + 1) as f64 + 0.5 / 72.0 * dots) / dots;
        assert!((measured - inches).abs() < 0.01, "{measured} in at {}, not {inches}", scale.words());
    }
}

/// Width, height and bytes of a binary PPM.
fn ppm(bytes: &[u8]) -> (usize, usize, &[u8]) {
    let mut parts = bytes.splitn(4, |b| b.is_ascii_whitespace());
    assert_eq!(parts.next(), Some(&b"P6"[..]));
    let mut number = || std::str::from_utf8(parts.next().unwrap()).unwrap().parse::<usize>().unwrap();
    let (width, height) = (number(), number());
    let rest = parts.next().unwrap();
    let at = rest.iter().position(|b| b.is_ascii_whitespace()).unwrap();
    (width, height, &rest[at + 1..])
}

#[test]
fn the_pdf_has_its_pages_fonts_and_words() {
    let folder = tempfile::tempdir().unwrap();
    for (paper, size) in [
        (Paper::Letter, "792 x 612"),
        (Paper::Tabloid, "1224 x 792"),
        (Paper::A4, "841.89 x 595.28"),
        (Paper::A3, "1190.55 x 841.89"),
    ] {
        let svgs = pages(paper, None);
        let file = pdf_file(folder.path(), &svgs);
        assert_eq!(
            std::fs::read(&file).unwrap(),
            print::pdf("Test yard <&>", "A. Planner", &svgs).unwrap(),
            "the same sheets gave other bytes"
        );
        let Some(info) = poppler("pdfinfo", &[], &file) else { return };
        let info = String::from_utf8(info).unwrap();
        for said in ["Test yard <&>", "A. Planner", "Pages:           3", "Tagged:          yes", size] {
            assert!(info.contains(said), "{said}\n{info}");
        }
        // Content for a screen reader: the drawing described in words, and the words beside it.
        let Some(structure) = poppler("pdfinfo", &["-struct-text"], &file) else { return };
        let structure = String::from_utf8(structure).unwrap();
        let count = |word: &str| structure.lines().filter(|line| line.trim_start().starts_with(word)).count();
        assert_eq!((count("Sect"), count("Figure"), count("P (")), (3, 3, 3), "{structure}");
        let structure = structure.replace('\u{a0}', " ");
        for said in ["Basis of the opening ", "12 Invented Lane", "Steering lock"] {
            assert!(structure.contains(said), "\"{said}\" is not among the tagged words\n{structure}");
        }
        let Some(fonts) = poppler("pdffonts", &[], &file) else { return };
        let fonts = String::from_utf8(fonts).unwrap();
        let rows: Vec<&str> = fonts.lines().skip(2).collect();
        assert_eq!(rows.len(), 2, "{fonts}");
        assert!(rows.iter().all(|r| r.contains("DejaVuSans") && r.contains("yes yes yes")), "{fonts}");
        let Some(text) = poppler("pdftotext", &["-raw"], &file) else { return };
        let text = String::from_utf8(text).unwrap();
        for said in [
            "Test yard <&>",
            "12 Invented Lane",
            "000-111",
            "2026-11-25",
            "2 of 3",
            "Planning aid, not a survey",
            "setback 15'",
            "road 22'",
            "mailbox",
            "over all",
            "outer front tire",
            "Walking speed",
            "Steering lock",
            "kept from everything",
            "Sources:",
            "no datum",
            "Middle of the gate",
            "Checked by",
            "Revision",
            "Seal",
            "two leaves that open inward",
            "In comfort",
            "As drawn",
        ] {
            let words = |t: &str| t.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words(&text).contains(said), "{paper:?}: \"{said}\" is not among the words\n{text}");
        }
    }
}

/// A word and its box: x0, y0, x1, y1.
type Word = ([f64; 4], String);

/// The words of a PDF, page by page.
fn words(file: &Path) -> Option<Vec<Vec<Word>>> {
    let text = String::from_utf8(poppler("pdftotext", &["-bbox"], file)?).unwrap();
    let mut pages = Vec::new();
    for line in text.lines().map(str::trim) {
        if line.starts_with("<page") {
            pages.push(Vec::new());
        } else if let Some(rest) = line.strip_prefix("<word ") {
            let mut numbers = rest.split('"').skip(1).step_by(2).map(|n| n.parse::<f64>().unwrap());
            let word = rest[rest.find('>').unwrap() + 1..].trim_end_matches("</word>").to_owned();
            pages.last_mut().unwrap().push((std::array::from_fn(|_| numbers.next().unwrap()), word));
        }
    }
    Some(pages)
}

/// Every text of a sheet is at least 8 points high, as poppler measures it: a box is as high as its letters' size times a
/// ratio of the face, which the cover's title, set 34 units of 0.42 points high, gives.
#[test]
fn every_text_of_a_sheet_is_eight_points_high() {
    let folder = tempfile::tempdir().unwrap();
    let mut looked_at = 0;
    for paper in [Paper::Letter, Paper::Tabloid, Paper::A4, Paper::A3] {
        let mut svgs = pages(paper, None);
        let truck = find("pickup-bumper-pull-20").unwrap();
        let templates = template_pages(&truck, &[90.0], None, Units::Feet, paper).unwrap();
        svgs.extend(templates.iter().map(|page| page_svg(page, &title(), 0, 1)));
        let file = pdf_file(folder.path(), &svgs);
        let Some(pages) = words(&file) else { return };
        let (heading, _) = pages[0].iter().find(|(_, word)| word == "Test").unwrap();
        let ratio = (heading[3] - heading[1]) / (34.0 * 0.42);
        assert!((0.9..1.4).contains(&ratio), "{ratio}");
        for (number, page) in pages.iter().enumerate() {
            for (b, word) in page {
                let points = (b[3] - b[1]) / ratio;
                assert!(
                    points > 8.0,
                    "{paper:?}, page {}: \"{word}\" is {points:.2} points high",
                    number + 1
                );
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 1000, "{looked_at}");
}

#[test]
fn no_word_of_a_sheet_lies_over_another_or_off_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let mut looked_at = 0;
    for paper in [Paper::Letter, Paper::Tabloid, Paper::A4, Paper::A3] {
        let mut svgs = pages(paper, None);
        let truck = find("pickup-bumper-pull-20").unwrap();
        let templates =
            template_pages(&truck, &[30.0, 90.0, 180.0, 360.0], None, Units::Feet, paper).unwrap();
        svgs.extend(templates.iter().enumerate().map(|(i, page)| page_svg(page, &title(), i, 4)));
        let (wide, high) = paper.points();
        let file = pdf_file(folder.path(), &svgs);
        let Some(pages) = words(&file) else { return };
        for (number, page) in pages.iter().enumerate() {
            for (i, (a, word)) in page.iter().enumerate() {
                let inside = a[0] > 20.0 && a[1] > 20.0 && a[2] < wide - 20.0 && a[3] < high - 20.0;
                assert!(inside, "{paper:?} page {}: \"{word}\" at {a:?} is off the page", number + 1);
                for (b, other) in &page[i + 1..] {
                    // A text and its halo are one word written twice.
                    let twice = word == other && (a[0] - b[0]).abs() < 0.1 && (a[1] - b[1]).abs() < 0.1;
                    // Boxes reach from the highest to the lowest letter of the font; letters lie half a point within.
                    let slack = 0.5;
                    let meet = a[0] + slack < b[2]
                        && b[0] + slack < a[2]
                        && a[1] + slack < b[3]
                        && b[1] + slack < a[3];
                    assert!(
                        twice || !meet,
                        "{paper:?} page {}: \"{word}\" {a:?} and \"{other}\" {b:?}",
                        number + 1
                    );
                }
                looked_at += 1;
            }
        }
    }
    assert!(looked_at > 1000, "{looked_at}");
}

#[test]
fn a_picture_has_the_size_of_its_drawing_and_is_not_blank() {
    let svg = case_svg(made(), 0);
    let png = print::png(&svg, 2.0).unwrap();
    assert_eq!(png, print::png(&svg, 2.0).unwrap());
    assert_eq!(&png[1..4], b"PNG");
    let number = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
    let high: f64 = svg.split("height=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
    assert_eq!((number(16), f64::from(number(20))), (1280, 2.0 * high));
    // A blank page of that size takes a few kilobytes; without fonts the text would be missing from it.
    let without = print::png(&svg.replace("<text", "<g").replace("</text>", "</g>"), 2.0).unwrap();
    assert!(png.len() > 100_000 && png.len() > without.len() + 20_000, "{} {}", png.len(), without.len());
    assert!(print::png(&svg, 100.0).is_err() && print::png("no drawing", 2.0).is_err());
}
