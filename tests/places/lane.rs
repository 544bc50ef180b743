//! The line of a lane, and the position of points beside it.
use wideenough::geometry::Point;

/// A line of travel, to locate points beside it.
pub struct LaneLine(pub Vec<Point>);

impl LaneLine {
    /// Station along the line, and offset to its left; before its first point and beyond its last it runs on straight.
    pub fn beside(&self, p: Point) -> (f64, f64, Point) {
        let (mut best, mut start) = ((f64::INFINITY, 0.0, 0.0, Point::default()), 0.0);
        let last = self.0.len() - 2;
        for (i, pair) in self.0.windows(2).enumerate() {
            let (a, b) = (pair[0], pair[1]);
            let (length, along) = (a.distance(b), (b - a).unit().expect("a piece"));
            let mut station = (p - a).dot(along);
            if i > 0 {
                station = station.max(0.0);
            }
            if i < last {
                station = station.min(length);
            }
            let foot = a + along * station;
            let away = p.distance(foot);
            if away < best.0 {
                // At a bend the distance to the corner counts.
                let left = if along.cross(p - foot) < 0.0 { -away } else { away };
                best = (away, start + station, left, along);
            }
            start += length;
        }
        (best.1, best.2, best.3)
    }
}
