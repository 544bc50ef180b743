//! Turns outlines with many corners into curves: fits them, measures them, and accepts them only if they are as
//! accurate as the corners.
use crate::geometry::{Point, trig};
use kurbo::simplify::{SimplifyOptLevel, SimplifyOptions, simplify_bezpath};
use kurbo::{BezPath, ParamCurve, PathEl, PathSeg};
use std::fmt::Write as _;

/// Tolerance of the fit against the corners, page units.
const ACCURACY: f64 = 0.1;
/// Largest measured deviation that is accepted: a tenth of the outline's own breadth.
const LIMIT: f64 = 0.2;
/// Corners that turn by more than this, radians, stay corners. Neighboring hulls differ by a few hundredths, the
/// corners of vehicles by half a radian and more.
const CORNER_RAD: f64 = 0.4;
/// Fewest corners for which a curve is worthwhile.
const FEW: usize = 12;

/// Number of corners among which at most one may be sharp for an outline to count as smooth: hardly any fit of another
/// is shorter, and they take longest.
const SOFT: usize = 12;

/// SVG path data of a polyline or ring in page units, as curves where they are shorter and true to it.
///
/// Curve fitting is experimental in the library used, and sometimes wrong: every curve is therefore measured against
/// the corners, and they against it; if it deviates too far, the corners are drawn. (Of the two fitting methods, the
/// one with shorter results is not used: it panics on some slivers.)
#[must_use]
pub fn path_data(points: &[Point], closed: bool, smooth: bool) -> String {
    let polyline = polyline(points, closed);
    if !smooth || points.len() < FEW || !bends_softly(points) {
        return write(&polyline);
    }
    let options = SimplifyOptions::default().angle_thresh(CORNER_RAD).opt_level(SimplifyOptLevel::Subdivide);
    let fitted = simplify_bezpath(polyline.iter(), ACCURACY, &options);
    let plain = write(&polyline);
    let curved = write(&fitted);
    if curved.len() < plain.len() && deviation(&polyline, &fitted) <= LIMIT { curved } else { plain }
}

/// True if few of a line's corners are sharp.
fn bends_softly(points: &[Point]) -> bool {
    let sharp = points.windows(3).filter(|p| {
        let (before, after) = (p[1] - p[0], p[2] - p[1]);
        before.dot(after) < trig::cos(CORNER_RAD) * before.norm() * after.norm()
    });
    sharp.count() * SOFT <= points.len()
}

fn polyline(points: &[Point], closed: bool) -> BezPath {
    let mut path = BezPath::new();
    let mut iter = points.iter().map(|p| kurbo::Point::new(p.x, p.y));
    if let Some(first) = iter.next() {
        path.move_to(first);
        iter.for_each(|p| path.line_to(p));
        if closed {
            path.close_path();
        }
    }
    path
}

/// The larger of two deviations: of the curve's points from the polyline, and of the polyline's corners from the curve.
#[must_use]
pub fn deviation(polyline: &BezPath, curve: &BezPath) -> f64 {
    let corners: Vec<kurbo::Point> = polyline.elements().iter().filter_map(PathEl::end_point).collect();
    let mut along = Vec::new();
    for segment in curve.segments() {
        let pieces = match segment {
            PathSeg::Line(_) => 1,
            _ => 16,
        };
        along.extend((0..=pieces).map(|i| segment.eval(f64::from(i) / f64::from(pieces))));
    }
    if along.iter().any(|p| !p.x.is_finite() || !p.y.is_finite()) || along.is_empty() {
        return f64::INFINITY;
    }
    let mut closed = corners.clone();
    if polyline.elements().last() == Some(&PathEl::ClosePath) {
        closed.extend(corners.first());
    }
    farthest(&along, &closed).max(farthest(&closed, &along))
}

fn farthest(points: &[kurbo::Point], line: &[kurbo::Point]) -> f64 {
    let near = |p: &kurbo::Point| {
        let distances = line.windows(2).map(|w| {
            let (d, to) = (w[1] - w[0], *p - w[0]);
            let part = if d.hypot2() > 0.0 { (to.dot(d) / d.hypot2()).clamp(0.0, 1.0) } else { 0.0 };
            (to - d * part).hypot2()
        });
        distances.fold(f64::INFINITY, f64::min)
    };
    points.iter().map(near).fold(0.0, f64::max).sqrt()
}

/// SVG path data of a polyline or ring in meters, for a part that is scaled to the page: to a centimeter.
#[must_use]
pub fn path_data_m(points: &[Point], closed: bool) -> String {
    write_to(&polyline(points, closed), 2)
}

/// To one place: a tenth of a page unit is a twentieth of a millimeter on paper.
fn write(path: &BezPath) -> String {
    write_to(path, 1)
}

fn write_to(path: &BezPath, places: usize) -> String {
    let number = |x: f64| number_to(x, places);
    let mut out = String::new();
    let mut put = |letter: char, points: &[kurbo::Point]| {
        out.push(letter);
        for (i, p) in points.iter().enumerate() {
            let _ = write!(out, "{}{} {}", if i > 0 { " " } else { "" }, number(p.x), number(p.y));
        }
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => put('M', &[p]),
            PathEl::LineTo(p) => put('L', &[p]),
            PathEl::QuadTo(a, p) => put('Q', &[a, p]),
            PathEl::CurveTo(a, b, p) => put('C', &[a, b, p]),
            PathEl::ClosePath => put('Z', &[]),
        }
    }
    out
}

/// A number for the page, to two places: a hundredth of a unit is a fiftieth of a pixel on a large screen. No
/// trailing zeros, no minus zero.
#[must_use]
pub fn number(x: f64) -> String {
    number_to(x, 2)
}

fn number_to(x: f64, places: usize) -> String {
    let power = if places == 1 { 10.0 } else { 100.0 };
    let rounded = (x * power).round() / power + 0.0;
    let text = format!("{rounded:.places$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(
            [0.0, -0.001, 1.0, 2.5, -3.1449, 120.0].map(number),
            ["0", "0", "1", "2.5", "-3.14", "120"]
        );
    }

    #[test]
    fn an_arc_becomes_a_few_curves_that_stay_on_it() {
        let points: Vec<Point> = (0..200).map(|i| Point::at_angle(f64::from(i) * 0.01) * 200.0).collect();
        let data = path_data(&points, false, true);
        assert!(data.contains('C') && data.len() < 400, "{data}");
        let fitted = BezPath::from_svg(&data).expect("path data");
        for p in fitted.segments().flat_map(|s| (0..=20).map(move |i| s.eval(f64::from(i) / 20.0))) {
            assert!((trig::hypot(p.x, p.y) - 200.0).abs() < 0.2, "{p:?}");
        }
    }

    /// An outline with a sharp corner among every eight is drawn as it is.
    #[test]
    fn a_jagged_outline_is_not_fitted() {
        let teeth = |every: u32| -> Vec<Point> {
            let radius = |i: u32| if i.is_multiple_of(every) { 190.0 } else { 200.0 };
            (0..200).map(|i| Point::at_angle(f64::from(i) * 0.01) * radius(i)).collect()
        };
        assert!(bends_softly(&teeth(201)) && !bends_softly(&teeth(8)));
        assert!(!path_data(&teeth(8), false, true).contains('C'));
    }

    #[test]
    fn a_curve_that_strays_is_noticed() {
        let points: Vec<Point> = (0..50).map(|i| Point::new(f64::from(i), 0.0)).collect();
        let mut astray = BezPath::new();
        astray.move_to((0.0, 0.0));
        astray.curve_to((10.0, 9.0), (30.0, 9.0), (49.0, 0.0));
        assert!(deviation(&polyline(&points, false), &astray) > 5.0);
        let mut short = BezPath::new();
        short.move_to((0.0, 0.0));
        short.line_to((40.0, 0.0));
        assert!((deviation(&polyline(&points, false), &short) - 9.0).abs() < 1e-9);
    }
}
