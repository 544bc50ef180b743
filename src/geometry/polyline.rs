//! Lines of points: their segments and length, and the place on them nearest to a point.
use super::Point;
use super::distance::nearest_on_segment;

/// Segments of an open line.
pub(crate) fn segments(line: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    line.windows(2).map(|pair| (pair[0], pair[1]))
}

/// Length of an open line.
pub(crate) fn length(line: &[Point]) -> f64 {
    segments(line).map(|(a, b)| a.distance(b)).sum()
}

/// Nearest point on a chain of segments, the first of equals: index of the segment, and the point.
pub(crate) fn nearest_on(segments: impl Iterator<Item = (Point, Point)>, p: Point) -> Option<(usize, Point)> {
    let on_each = segments.map(|(a, b)| {
        let foot = nearest_on_segment(p, a, b);
        (foot.distance(p), foot)
    });
    let nearest = on_each.enumerate().min_by(|(_, (a, _)), (_, (b, _))| a.total_cmp(b));
    nearest.map(|(index, (_, foot))| (index, foot))
}

/// Place on an open line nearest to a point: its station, the length of the line up to it, and the place.
pub(crate) fn station_of(line: &[Point], p: Point) -> Option<(f64, Point)> {
    let (i, foot) = nearest_on(segments(line), p)?;
    Some((length(line.get(..=i)?) + line.get(i)?.distance(foot), foot))
}

/// Length of an open line up to the place on it that is nearest to a point; 0 for fewer than two points.
pub(crate) fn length_to(line: &[Point], p: Point) -> f64 {
    station_of(line, p).map_or(0.0, |(station, _)| station)
}
