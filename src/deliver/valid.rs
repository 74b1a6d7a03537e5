//! Rounding to what is written can make a ring touch or cross itself by a millimetre. Such shapes are made valid again.
//!
//! Judged and mended by GEOS through GDAL. What cannot be mended is written as it is: better a crossing than a hole.

use gdal::cpl::CslStringList;
use gdal::vector::ToGdal;
use geo::orient::{Direction, Orient};
use geo::{Area, Geometry, MultiPolygon, Polygon};

/// A valid polygon; where mending breaks it up, its largest piece. `None` when no area is left.
pub(crate) fn polygon(polygon: Polygon<f64>) -> Option<Polygon<f64>> {
    match mended(&polygon) {
        Some(parts) => parts
            .into_iter()
            .max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area())),
        None => Some(polygon),
    }
}

/// A valid shape. `None` when no area is left.
pub(crate) fn shape(shape: MultiPolygon<f64>) -> Option<MultiPolygon<f64>> {
    match mended(&shape) {
        Some(parts) => (!parts.is_empty()).then(|| MultiPolygon::new(parts)),
        None => Some(shape),
    }
}

/// The polygons of the mended shape; `None` where there was nothing to mend, or no way to.
fn mended(shape: &impl ToGdal) -> Option<Vec<Polygon<f64>>> {
    let shape = shape.to_gdal().ok()?;
    if shape.is_valid() {
        return None;
    }
    let mended = shape.make_valid(&CslStringList::new()).ok()?;
    let parts = polygons(mended.to_geo().ok()?);
    Some(
        parts
            .into_iter()
            .map(|part| part.orient(Direction::Default))
            .collect(),
    )
}

/// The areas of a geometry; lines and points that mending leaves behind are dropped.
fn polygons(geometry: Geometry<f64>) -> Vec<Polygon<f64>> {
    match geometry {
        Geometry::Polygon(polygon) => vec![polygon],
        Geometry::MultiPolygon(shape) => shape.0,
        Geometry::GeometryCollection(all) => all.0.into_iter().flat_map(polygons).collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::wkt;

    #[test]
    fn a_bow_tie_becomes_two_areas_and_a_square_stays_as_it_is() {
        let bow_tie = MultiPolygon::new(vec![wkt! { POLYGON((0. 0.,2. 2.,2. 0.,0. 2.,0. 0.)) }]);
        let out = shape(bow_tie).unwrap();
        assert_eq!(out.0.len(), 2);
        assert!((out.unsigned_area() - 2.0).abs() < 1e-12);
        let square = wkt! { POLYGON((0. 0.,2. 0.,2. 2.,0. 2.,0. 0.)) };
        assert_eq!(polygon(square.clone()), Some(square));
    }

    #[test]
    fn what_has_no_area_is_left_out() {
        let flat = wkt! { POLYGON((0. 0.,2. 0.,1. 0.,0. 0.)) };
        assert_eq!(polygon(flat), None);
    }
}
