//! Where a parcel lies: its outline in degrees, with as many corners as a small map shows.

use geo::{BoundingRect, MultiPolygon, Simplify};
use std::path::Path;

/// An outline may be off by this share of its size.
const OFF: f64 = 1.0 / 150.0;

/// A parcel's outline: rims in longitude and latitude, or a single place where only that is known.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outline {
    /// Rims, or one ring of one place.
    pub(super) rings: Vec<Vec<(f64, f64)>>,
}

impl Outline {
    /// A place, longitude before latitude.
    pub fn of_point(place: (f64, f64)) -> Self {
        Self {
            rings: vec![vec![place]],
        }
    }

    /// Whether nothing is known.
    pub fn is_empty(&self) -> bool {
        self.rings.iter().all(Vec::is_empty)
    }

    fn of_shape(shape: &MultiPolygon<f64>) -> Self {
        let size = shape
            .bounding_rect()
            .map_or(0.0, |b| b.width().max(b.height()));
        let simple = shape.simplify(size * OFF);
        let ring =
            |polygon: &geo::Polygon<f64>| polygon.exterior().coords().map(|c| (c.x, c.y)).collect();
        Self {
            rings: simple.iter().map(ring).collect(),
        }
    }
}

/// The outline that a parcel's folder tells in its layer `parcel`; `None` where it does not.
pub fn outline_of(folder: &Path) -> Option<Outline> {
    let text = std::fs::read_to_string(folder.join("layers/parcel.geojson")).ok()?;
    let layer: geojson::FeatureCollection = text.parse().ok()?;
    let geometry = layer.features.into_iter().next()?.geometry?;
    let shape = match geo::Geometry::<f64>::try_from(geometry).ok()? {
        geo::Geometry::MultiPolygon(shape) => shape,
        geo::Geometry::Polygon(polygon) => polygon.into(),
        _ => return None,
    };
    Some(Outline::of_shape(&shape)).filter(|outline| !outline.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::{example, write_parcel};
    use crate::design::model::Design;

    #[test]
    fn the_outline_of_a_folder_is_that_of_its_parcel() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(outline_of(folder.path()), None);
        let (parcel, project) = (example::parcel(), example::project());
        write_parcel(&parcel, &Design::default(), &project, folder.path()).unwrap();
        let outline = outline_of(folder.path()).unwrap();
        assert_eq!(outline.rings.len(), 1);
        assert_eq!(outline.rings[0].len(), 5, "a rectangle, closed");
        let (lon, lat) = outline.rings[0][0];
        assert!((lon - 13.4).abs() < 0.01 && (lat - 52.5).abs() < 0.01);
    }
}
