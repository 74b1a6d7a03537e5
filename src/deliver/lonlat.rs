//! From the parcel's frame to longitude and latitude, at the precision and in the ring order that RFC 7946 asks for.

use crate::deliver::DeliverError;
use crate::deliver::valid;
use crate::site::{Frame, Projector};
use geo::orient::{Direction, Orient};
use geo::{Coord, Geometry, LineString, MultiPolygon, Polygon};

/// Decimals of a degree that are written: about a millimetre.
const DECIMALS: i32 = 8;

/// The way out of one parcel's frame.
pub(crate) struct LonLat {
    projector: Projector,
}

impl LonLat {
    /// The way out of `frame`.
    pub(crate) fn new(frame: Frame) -> Result<Self, DeliverError> {
        Ok(Self {
            projector: Projector::new(&frame)?,
        })
    }

    /// Longitude and latitude of a place, degrees, rounded to what is written.
    pub(crate) fn coord(&self, at: Coord<f64>) -> Result<Coord<f64>, DeliverError> {
        let (lon_deg, lat_deg) = self.projector.inverse(at)?;
        let degrees = Coord {
            x: rounded(lon_deg, DECIMALS),
            y: rounded(lat_deg, DECIMALS),
        };
        if degrees.x.abs() <= 180.0 && degrees.y.abs() <= 90.0 {
            Ok(degrees)
        } else {
            Err(DeliverError::OffTheGlobe(format!("{at:?}")))
        }
    }

    /// A geometry as written. `None` when rounding leaves nothing of it. Kinds of geometry that no layer has give `None`.
    pub(crate) fn geometry(
        &self,
        geometry: &Geometry<f64>,
    ) -> Result<Option<Geometry<f64>>, DeliverError> {
        Ok(match geometry {
            Geometry::Point(point) => Some(Geometry::Point(self.coord(point.0)?.into())),
            Geometry::LineString(line) => self.line(line)?.map(Geometry::LineString),
            Geometry::Polygon(polygon) => self
                .polygon(polygon)?
                .and_then(valid::polygon)
                .map(Geometry::Polygon),
            Geometry::MultiPolygon(shape) => self
                .shape(shape)?
                .and_then(valid::shape)
                .map(Geometry::MultiPolygon),
            _ => None,
        })
    }

    fn line(&self, line: &LineString<f64>) -> Result<Option<LineString<f64>>, DeliverError> {
        let mut coords = line
            .coords()
            .map(|&at| self.coord(at))
            .collect::<Result<Vec<_>, _>>()?;
        coords.dedup();
        Ok((coords.len() > 1).then(|| LineString::new(coords)))
    }

    /// A closed ring of four positions or more.
    fn ring(&self, ring: &LineString<f64>) -> Result<Option<LineString<f64>>, DeliverError> {
        Ok(self.line(ring)?.and_then(|mut ring| {
            ring.close();
            (ring.0.len() > 3).then_some(ring)
        }))
    }

    fn polygon(&self, polygon: &Polygon<f64>) -> Result<Option<Polygon<f64>>, DeliverError> {
        let Some(exterior) = self.ring(polygon.exterior())? else {
            return Ok(None);
        };
        let mut holes = Vec::new();
        for hole in polygon.interiors() {
            holes.extend(self.ring(hole)?);
        }
        Ok(Some(
            Polygon::new(exterior, holes).orient(Direction::Default),
        ))
    }

    fn shape(&self, shape: &MultiPolygon<f64>) -> Result<Option<MultiPolygon<f64>>, DeliverError> {
        let mut parts = Vec::new();
        for polygon in shape {
            parts.extend(self.polygon(polygon)?);
        }
        Ok((!parts.is_empty()).then(|| MultiPolygon::new(parts)))
    }
}

/// `value` to that many decimals, never minus zero.
pub(crate) fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    (value * scale).round() / scale + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Winding, polygon};

    fn frame(lon0_deg: f64, lat0_deg: f64) -> LonLat {
        LonLat::new(Frame { lon0_deg, lat0_deg }).unwrap()
    }

    /// Longitude, latitude and the metres that pyproj 3.7 (PROJ 9.5) gives for them, centres 13.4 E 52.5 N and 151.2 E 33.9 S.
    #[test]
    fn agrees_with_an_independent_run_of_the_projection() {
        let north = frame(13.4, 52.5);
        let south = frame(151.2, -33.9);
        for (way, x, y, lon, lat) in [
            (&north, 339.528_054, 333.842_338, 13.405, 52.503),
            (&north, -679.179_371, -556.336_910, 13.39, 52.495),
            (&south, 277.472_229, -221.845_250, 151.203, -33.902),
        ] {
            assert_eq!(way.coord(Coord { x, y }).unwrap(), Coord { x: lon, y: lat });
        }
    }

    #[test]
    fn rings_come_out_right_handed_and_slivers_vanish() {
        let clockwise = polygon![
            exterior: [(x: 0.0, y: 0.0), (x: 0.0, y: 30.0), (x: 30.0, y: 30.0), (x: 30.0, y: 0.0)],
            interiors: [[(x: 5.0, y: 5.0), (x: 9.0, y: 5.0), (x: 9.0, y: 9.0)], [(x: 20.0, y: 20.0), (x: 20.0001, y: 20.0), (x: 20.0, y: 20.0001)]],
        ];
        let out = frame(13.4, 52.5).polygon(&clockwise).unwrap().unwrap();
        assert!(out.exterior().is_ccw());
        assert_eq!(out.interiors().len(), 1);
        assert!(out.interiors()[0].is_cw());
    }

    proptest::proptest! {
        /// There and back within what 8 decimals can hold, anywhere a lawn may lie.
        #[test]
        fn a_place_is_found_again_within_a_millimetre(
            lon0 in -170.0..170.0, lat0 in -75.0..75.0, x in -9000.0..9000.0, y in -9000.0..9000.0,
        ) {
            let way = frame(lon0, lat0);
            let out = way.coord(Coord { x, y }).unwrap();
            let back = way.projector.forward(out.x, out.y).unwrap();
            proptest::prop_assert!((back.x - x).hypot(back.y - y) < 0.001, "{back:?}");
        }
    }

    #[test]
    fn a_place_that_is_no_number_is_an_error() {
        assert!(
            frame(13.4, 52.5)
                .coord(Coord {
                    x: f64::NAN,
                    y: 0.0
                })
                .is_err()
        );
    }

    #[test]
    fn a_zero_is_never_negative() {
        assert!(rounded(-0.000_01, 3).is_sign_positive());
        assert_eq!(rounded(1.234_56, 3), 1.235);
    }
}
