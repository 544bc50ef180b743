//! Conversion between a plan's coordinates and site meters.
//!
//! Longitude and latitude go through an azimuthal equidistant projection about the middle of the gate: the
//! geodesic's length and bearing on the WGS 84 ellipsoid (Karney, "Algorithms for geodesics", J. Geodesy 87,
//! 2013, as `geo` has it) become polar coordinates. Distances from the gate are exact; between any two points
//! within 500 m of it they are off by less than a micrometer.
use super::Frame;
use crate::geometry::{Point, trig};
use geo::{Bearing, Destination, Distance, Geodesic};

/// Projected coordinates are rounded to this: a tenth of a micrometer. The geodesic is computed with the platform's own
/// sine, whose last digit differs between machines; the rounded value does not.
const GRID_M: f64 = 1e-7;

impl Frame {
    /// Plan coordinates (longitude and latitude in degrees, or units of the sketch) to site meters.
    ///
    /// ```
    /// use wideenough::geometry::Point;
    /// use wideenough::site::Frame;
    /// let frame = Frame::LonLat { lon_deg: -97.0, lat_deg: 0.0 };
    /// // A degree of longitude on the equator: a 360th of 2π · 6 378 137 m.
    /// assert!((frame.to_site([-96.0, 0.0]).x - 111_319.4908).abs() < 1e-3);
    /// assert_eq!(Frame::Local { meters_per_unit: 0.3048 }.to_site([10.0, 0.0]), Point::new(3.048, 0.0));
    /// ```
    #[must_use]
    pub fn to_site(&self, plan: [f64; 2]) -> Point {
        match *self {
            Self::Local { meters_per_unit } => {
                Point::new(plan[0] * meters_per_unit, plan[1] * meters_per_unit)
            }
            Self::LonLat { lon_deg, lat_deg } => {
                let (origin, place) = (geo::Point::new(lon_deg, lat_deg), geo::Point::new(plan[0], plan[1]));
                let distance = Geodesic.distance(origin, place);
                let (sin, cos) = trig::sin_cos(Geodesic.bearing(origin, place).to_radians());
                // Adding zero turns -0 into 0.
                let snap = |v: f64| (v / GRID_M).round() * GRID_M + 0.0;
                Point::new(snap(distance * sin), snap(distance * cos))
            }
        }
    }

    /// Site meters to plan coordinates: the inverse of [`Frame::to_site`], to a tenth of a micrometer.
    ///
    /// ```
    /// use wideenough::site::Frame;
    /// let frame = Frame::LonLat { lon_deg: 179.9999, lat_deg: -16.5 };
    /// let [lon, lat] = frame.to_plan(frame.to_site([-179.9998, -16.5002]));
    /// assert!((lon + 179.9998).abs() < 1e-11 && (lat + 16.5002).abs() < 1e-11);
    /// ```
    #[must_use]
    pub fn to_plan(&self, site: Point) -> [f64; 2] {
        match *self {
            Self::Local { meters_per_unit } => [site.x / meters_per_unit, site.y / meters_per_unit],
            Self::LonLat { lon_deg, lat_deg } => {
                let bearing = trig::atan2(site.x, site.y).to_degrees();
                let place = Geodesic.destination(geo::Point::new(lon_deg, lat_deg), bearing, site.norm());
                [place.x(), place.y()]
            }
        }
    }
}
