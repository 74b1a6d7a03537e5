//! Longitude and latitude to the parcel's frame and back.
//!
//! One object for one thread: make it where it is used, it costs little.

use crate::site::Frame;
use geo::Coord;
use proj::Proj;
use thiserror::Error;

/// The projection library refused a place or a frame.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the projection failed: {0}")]
pub struct ProjectionError(String);

/// Moves places between WGS 84 and one parcel's frame.
#[derive(Debug)]
pub struct Projector {
    transverse_mercator: Proj,
}

impl Projector {
    /// The projector of a frame.
    ///
    /// # Errors
    /// When the projection library cannot make it, e.g. because the centre is no number.
    pub fn new(frame: &Frame) -> Result<Self, ProjectionError> {
        let definition = format!(
            "+proj=tmerc +lat_0={} +lon_0={} +k=1 +x_0=0 +y_0=0 +ellps=WGS84 +units=m",
            frame.lat0_deg, frame.lon0_deg
        );
        Proj::new(&definition)
            .map(|transverse_mercator| Self {
                transverse_mercator,
            })
            .map_err(|error| ProjectionError(error.to_string()))
    }

    /// The place in the frame, m, of a longitude and latitude in degrees.
    ///
    /// # Errors
    /// When the place is too far from the frame's centre to be projected.
    pub fn forward(&self, lon_deg: f64, lat_deg: f64) -> Result<Coord<f64>, ProjectionError> {
        let (x, y) = self.project((lon_deg.to_radians(), lat_deg.to_radians()), false)?;
        Ok(Coord { x, y })
    }

    /// Longitude and latitude, degrees, of a place in the frame.
    ///
    /// # Errors
    /// When the place is no place of the frame.
    pub fn inverse(&self, at: Coord<f64>) -> Result<(f64, f64), ProjectionError> {
        let (lon, lat) = self.project((at.x, at.y), true)?;
        Ok((lon.to_degrees(), lat.to_degrees()))
    }

    fn project(&self, at: (f64, f64), inverse: bool) -> Result<(f64, f64), ProjectionError> {
        let (x, y) = self
            .transverse_mercator
            .project(at, inverse)
            .map_err(|error| ProjectionError(error.to_string()))?;
        if x.is_finite() && y.is_finite() {
            Ok((x, y))
        } else {
            Err(ProjectionError(format!(
                "{at:?} lies outside the projection"
            )))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Centre, place (degrees), easting and northing (m) as pyproj gives them for `+proj=tmerc +k=1 +ellps=WGS84`.
    const PYPROJ: [[f64; 6]; 4] = [
        [13.4, 52.5, 13.405, 52.503, 339.528054, 333.842338],
        [13.4, 52.5, 13.39, 52.495, -679.179371, -556.336910],
        [13.4, 52.5, 13.42, 52.51, 1357.896479, 1112.957323],
        [151.2, -33.9, 151.203, -33.902, 277.472229, -221.845250],
    ];

    #[test]
    fn agrees_with_pyproj_and_goes_back() {
        for [lon0_deg, lat0_deg, lon, lat, x, y] in PYPROJ {
            let projector = Projector::new(&Frame { lon0_deg, lat0_deg }).unwrap();
            let at = projector.forward(lon, lat).unwrap();
            assert!((at.x - x).abs() < 2e-6 && (at.y - y).abs() < 2e-6, "{at:?}");
            let (lon_back, lat_back) = projector.inverse(at).unwrap();
            assert!((lon_back - lon).abs() < 1e-11 && (lat_back - lat).abs() < 1e-11);
        }
    }

    #[test]
    fn a_place_on_the_other_side_of_the_earth_is_refused_or_finite() {
        let projector = Projector::new(&Frame {
            lon0_deg: 13.4,
            lat0_deg: 52.5,
        })
        .unwrap();
        if let Ok(at) = projector.forward(103.4, 0.0) {
            assert!(at.x.is_finite() && at.y.is_finite());
        }
        assert!(projector.forward(f64::NAN, 0.0).is_err());
    }
}
