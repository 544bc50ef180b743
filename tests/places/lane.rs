//! The line of a lane, the position of points beside it, and the ends of roads that go on.
use super::common::plain::ring_to_gate;
use super::generator::{points, role};
use super::judge::TWO_LANES_M;
use geo::{Distance, Euclidean};
use serde_json::Value;
use wideenough::geometry::{Outline, Point};
use wideenough::site::{Road, Side, Site};

/// Step along a line, and the error of a place found along it.
const STEP_M: f64 = 0.01;

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

/// Lane of a direction of travel in the gate's frame, from the roads alone.
pub struct TravelLane {
    /// Index of the road.
    pub road: usize,
    /// Line of the road in the direction of travel.
    pub line: LaneLine,
    /// Range of offsets to the left of its line that a vehicle drives in: (least, largest).
    pub offsets_m: (f64, f64),
    /// Station at which a vehicle has passed the gate or, on a road other than the first, left it.
    pub leaves_m: f64,
}

impl TravelLane {
    /// The lane of a travel; `None` if the site has no such travel.
    pub fn of(site: &Site, drives_on: Side, travel: &str) -> Option<Self> {
        let travel = site.travels().into_iter().find(|t| t.word == travel)?;
        let road = &site.roads[travel.road];
        let mut line = ring_to_gate(&site.gate, &Outline(road.centerline.clone()));
        // The word's direction beside the gate decides in which direction the line is driven.
        let beside = ring_to_gate(
            &site.gate,
            &Outline(vec![travel.beside_gate, site.gate.center() + travel.direction]),
        );
        let near = if travel.road == 0 { Point::default() } else { beside[0] };
        if LaneLine(line.clone()).beside(near).2.dot(beside[1]) < 0.0 {
            line.reverse();
        }
        let half = 0.5 * road.width_m;
        let offsets_m = match drives_on {
            _ if road.width_m < TWO_LANES_M => (-half, half),
            Side::Left => (0.0, half),
            Side::Right => (-half, 0.0),
        };
        let line = LaneLine(line);
        let mut leaves_m = line.beside(Point::default()).0;
        if travel.road > 0 {
            // The last place at which the line still touches the first road; if it is drawn short of it by up to half
            // of its own width, the place nearest to it.
            let first = ring_to_gate(&site.gate, &site.roads[0].surface.outer);
            let first = geo_types::Polygon::new(first.iter().map(|p| (p.x, p.y)).collect(), vec![]);
            let (mut start, mut last, mut nearest) = (0.0, None, (half, None));
            for pair in line.0.windows(2) {
                let length = pair[0].distance(pair[1]);
                let mut step_m = 0.0;
                while step_m < length + STEP_M {
                    let here_m = step_m.min(length);
                    let p = pair[0] + (pair[1] - pair[0]) * (here_m / length);
                    let away = Euclidean.distance(&geo_types::Point::new(p.x, p.y), &first);
                    if away == 0.0 {
                        last = Some(start + here_m);
                    }
                    if away < nearest.0 {
                        nearest = (away, Some(start + here_m));
                    }
                    step_m += STEP_M;
                }
                start += length;
            }
            let leaves = last.or(nearest.1).unwrap_or(leaves_m);
            leaves_m = leaves.min(leaves_m) + STEP_M;
        }
        Some(Self { road: travel.road, line, offsets_m, leaves_m })
    }
}

/// The ends of the roads that go on, as the plan's text says: the end, and the point of the line before it. For a road
/// drawn as an outline they are those of its center line.
pub fn going_on(site: &Site, plan: &Value) -> Vec<(Point, Point, f64)> {
    let mut list = Vec::new();
    for road in role(plan, "road").filter(|r| r["geometry"]["type"] == "LineString") {
        let word = road["properties"]["continues"].as_str().unwrap_or("none");
        let line = points(&road["geometry"]["coordinates"]);
        let line: Vec<Point> = line.iter().map(|p| site.frame.to_site([p.x, p.y])).collect();
        let n = line.len();
        let near = |p: Point, q: Point| p.distance(q) < 1e-3;
        let same = site.roads.iter().find(|r| {
            let ends = [r.centerline[0], r.centerline[r.centerline.len() - 1]];
            (near(ends[0], line[0]) && near(ends[1], line[n - 1]))
                || (near(ends[1], line[0]) && near(ends[0], line[n - 1]))
        });
        let width = same.expect("a road of the plan").width_m;
        if matches!(word, "start" | "both") {
            list.push((line[0], line[1], width));
        }
        if matches!(word, "end" | "both") {
            list.push((line[n - 1], line[n - 2], width));
        }
    }
    let as_outlines = role(plan, "road").filter(|r| r["geometry"]["type"] != "LineString").count();
    // Roads drawn as lines were listed above.
    let listed =
        |road: &&Road| !list.iter().any(|(end, ..)| road.centerline.iter().any(|p| p.distance(*end) < 1e-3));
    let outlines: Vec<&Road> = site.roads.iter().filter(listed).filter(|_| as_outlines > 0).collect();
    for road in outlines {
        let (line, n) = (&road.centerline, road.centerline.len());
        if road.continues.start {
            list.push((line[0], line[1], road.width_m));
        }
        if road.continues.end {
            list.push((line[n - 1], line[n - 2], road.width_m));
        }
    }
    list
}
