//! Positions for `study.geojson`: in steps of the last decimal, and cut at the 180th meridian (RFC 7946, section
//! 3.1.9), so that no part of a plan astride it goes around the Earth.
use super::decimal::nearest;
use crate::geometry::Point;
use crate::site::Frame;
use geo::{BooleanOps, BoundingRect, Coord, LineString, MapCoords, MultiPolygon, Rect, Validation};
use geojson::Position;

/// Decimals of a degree: 1.1 mm of latitude, so that results computed on another machine round to the same.
const DEGREE_PLACES: u8 = 8;
/// Decimals of a meter or foot of a sketch.
const SKETCH_PLACES: u8 = 3;
/// Most rounds of repair for a ground; each time less is left to repair, and two rounds have always been enough.
const MOST_MENDING: u32 = 6;

/// Steps of the last decimal from an origin near the site: near zero a union's grid is as fine as it can be.
pub(super) struct Steps {
    frame: Frame,
    places: u8,
    step: f64,
    origin: [f64; 2],
    /// The 180th meridian, from the west and from the east; none for a sketch.
    seams: Option<[f64; 2]>,
}

/// One side of the 180th meridian: the number of turns its longitudes are off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Turns(f64);

impl Steps {
    pub(super) fn about(frame: &Frame, origin: Point) -> Self {
        let lonlat = matches!(frame, Frame::LonLat { .. });
        let places = if lonlat { DEGREE_PLACES } else { SKETCH_PLACES };
        let step = (0..places).fold(1.0, |step, _| step / 10.0);
        let origin = frame.to_plan(origin).map(|c| nearest(c, places));
        let seams = lonlat.then(|| [-180.0, 180.0].map(|lon| ((lon - origin[0]) / step).round()));
        Self { frame: *frame, places, step, origin, seams }
    }

    /// Coordinates of a site point; on the side of the 180th meridian nearer to the origin.
    pub(super) fn coord(&self, p: Point) -> Coord {
        let plan = self.frame.to_plan(p);
        let mut east = plan[0] - self.origin[0];
        if self.seams.is_some() {
            east -= 360.0 * (east / 360.0).round();
        }
        Coord { x: (east / self.step).round(), y: ((plan[1] - self.origin[1]) / self.step).round() }
    }

    pub(super) fn position(&self, c: Coord, turns: Turns) -> Position {
        let east = self.origin[0] + c.x * self.step - 360.0 * turns.0;
        Position::from([nearest(east, self.places), nearest(self.origin[1] + c.y * self.step, self.places)])
    }

    /// Valid polygons, each part with the side of the 180th meridian it lies on.
    ///
    /// Rounding to the millimeter makes rings cross themselves where two sides run closer than that. Their union is
    /// then computed and rounded again, which removes such slivers, until they are valid.
    pub(super) fn sound(&self, polygons: MultiPolygon<f64>) -> Vec<(MultiPolygon<f64>, Turns)> {
        let polygons = mended(polygons);
        let (Some([west, east]), Some(bounds)) = (self.seams, polygons.bounding_rect()) else {
            return vec![(polygons, Turns(0.0))];
        };
        let (low, high) = (bounds.min(), bounds.max());
        if low.x >= west && high.x <= east {
            return vec![(polygons, Turns(0.0))];
        }
        [(low.x, west, -1.0), (low.x.max(west), high.x.min(east), 0.0), (east, high.x, 1.0)]
            .into_iter()
            .filter(|(from, to, _)| from < to)
            .map(|(from, to, turns)| {
                let half = Rect::new(Coord { x: from, y: low.y - 1.0 }, Coord { x: to, y: high.y + 1.0 });
                let part = polygons.intersection(&MultiPolygon::new(vec![half.to_polygon()]));
                (mended(part.map_coords(rounded)), Turns(turns))
            })
            .collect()
    }

    /// A line cut at the 180th meridian.
    pub(super) fn pieces(&self, line: &[Coord]) -> Vec<Vec<Position>> {
        let side = |c: Coord| match self.seams {
            Some([west, _]) if c.x < west => -1.0,
            Some([_, east]) if c.x > east => 1.0,
            _ => 0.0,
        };
        let mut pieces: Vec<Vec<Position>> = Vec::new();
        let mut piece: Vec<Position> = Vec::new();
        for (i, c) in line.iter().enumerate() {
            let before = i.checked_sub(1).map(|i| line[i]);
            if let (Some(a), Some([west, east])) = (before, self.seams)
                && side(a) != side(*c)
            {
                let seam = if side(a) + side(*c) < 0.0 { west } else { east };
                let y = (a.y + (c.y - a.y) * (seam - a.x) / (c.x - a.x)).round();
                piece.push(self.position(Coord { x: seam, y }, Turns(side(a))));
                pieces.push(std::mem::take(&mut piece));
                piece.push(self.position(Coord { x: seam, y }, Turns(side(*c))));
            }
            piece.push(self.position(*c, Turns(side(*c))));
        }
        pieces.push(piece);
        pieces.iter_mut().for_each(|piece| piece.dedup());
        pieces.retain(|piece| piece.len() > 1);
        pieces
    }

    /// A place by itself.
    pub(super) fn point(frame: &Frame, p: Point) -> Position {
        Self::about(frame, p).origin.into()
    }
}

fn rounded(c: Coord) -> Coord {
    Coord { x: c.x.round(), y: c.y.round() }
}

fn mended(mut polygons: MultiPolygon<f64>) -> MultiPolygon<f64> {
    for _ in 0..MOST_MENDING {
        if polygons.is_valid() {
            break;
        }
        polygons = polygons.union(&MultiPolygon::new(Vec::new())).map_coords(rounded);
    }
    polygons
}

/// The positions of a ring, none twice in a row.
pub(super) fn ring(steps: &Steps, line: &LineString<f64>, turns: Turns) -> Vec<Position> {
    let mut ring: Vec<Position> = line.0.iter().map(|c| steps.position(*c, turns)).collect();
    ring.dedup();
    ring
}
