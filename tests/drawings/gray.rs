//! The verdict in a gray copy: its sign is told apart by its shape, and the title says it in words.
#![cfg(feature = "sheets")]
use super::crowding::{EXAMPLES, options, root};
use resvg::{tiny_skia, usvg};
use std::collections::BTreeMap;
use std::fs;

/// Pixels for a unit of the drawing.
const SCALE: u32 = 4;

/// Share of its box that a sign covers, and the range of grays in it: 0 to 255.
fn sign(svg: &str) -> (f64, u32) {
    let tree = usvg::Tree::from_str(svg, &options()).unwrap();
    let side = |units: u32| units * SCALE;
    let mut pixels = tiny_skia::Pixmap::new(side(50), side(90)).unwrap();
    resvg::render(&tree, tiny_skia::Transform::from_scale(4.0, 4.0), &mut pixels.as_mut());
    // As a copier sees it: ITU-R BT.601.
    let gray = |x: u32, y: u32| {
        let p = pixels.pixel(x, y).unwrap();
        (299 * u32::from(p.red()) + 587 * u32::from(p.green()) + 114 * u32::from(p.blue())) / 1000
    };
    // Below the name of the place, left of the title.
    let places = || (side(42)..side(80)).flat_map(|y| (side(12)..side(49)).map(move |x| (x, y)));
    let inked: Vec<(u32, u32)> = places().filter(|(x, y)| gray(*x, *y) < 245).collect();
    let range = |of: &dyn Fn(&(u32, u32)) -> u32| {
        let values: Vec<u32> = inked.iter().map(of).collect();
        (*values.iter().min().unwrap(), *values.iter().max().unwrap())
    };
    let ((x0, x1), (y0, y1)) = (range(&|p| p.0), range(&|p| p.1));
    // A mark in white counts as covered: between ink on both sides.
    let rows = (y0..=y1).map(|y| {
        let of_row: Vec<u32> = inked.iter().filter(|p| p.1 == y).map(|p| p.0).collect();
        of_row.iter().max().map_or(0, |most| most - of_row.iter().min().unwrap() + 1)
    });
    let covered = f64::from(rows.sum::<u32>()) / f64::from((x1 - x0 + 1) * (y1 - y0 + 1));
    let middle = |x: u32, y: u32| {
        x > (3 * x0 + x1) / 4 && x < (x0 + 3 * x1) / 4 && y > (3 * y0 + y1) / 4 && y < (y0 + 3 * y1) / 4
    };
    let grays: Vec<u32> = places().filter(|(x, y)| middle(*x, *y)).map(|(x, y)| gray(x, y)).collect();
    (covered, grays.iter().max().unwrap() - grays.iter().min().unwrap())
}

#[test]
fn a_verdict_is_told_apart_without_color() {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for example in EXAMPLES {
        let folder = root().join("out").join(example);
        let results: serde_json::Value =
            serde_json::from_slice(&fs::read(folder.join("results.json")).unwrap()).unwrap();
        for case in results["cases"].as_array().unwrap() {
            let (verdict, file) = (case["drawn_gate"].as_str().unwrap(), case["drawing"].as_str().unwrap());
            let svg = fs::read_to_string(folder.join(file)).unwrap();
            let title = svg.split("<title>").nth(1).unwrap().split("</title>").next().unwrap().trim();
            let (covered, contrast) = sign(&svg);
            // A square fills its box, a disc 79 percent of it, a triangle half.
            let (shape, words): (_, &[&str]) = match verdict {
                "comfortable" => (0.74..0.84, &["to spare", "in comfort"]),
                "tight" => (0.45..0.65, &["tightly"]),
                "no" => (0.95..1.01, &["Does not fit", "Cannot get in", "No way in"]),
                other => panic!("{other}"),
            };
            assert!(shape.contains(&covered), "{example}/{file}: {verdict} covers {covered:.2} of its box");
            assert!(contrast > 90, "{example}/{file}: the mark in the sign differs by {contrast} grays");
            assert!(words.iter().any(|word| title.contains(word)), "{example}/{file}: {verdict}: {title}");
            assert_eq!(title.contains("tightly"), verdict == "tight", "{example}/{file}: {title}");
            *seen.entry(verdict.to_owned()).or_default() += 1;
        }
    }
    assert_eq!(seen.len(), 3, "{seen:?}");
}
