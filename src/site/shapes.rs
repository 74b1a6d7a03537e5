//! Small questions about polygons that the cleaning and cutting of turf asks. Metres, m².

use geo::{
    Area, BooleanOps, BoundingRect, Centroid, Coord, Euclidean, InteriorPoint, Length, LineString,
    MultiPolygon, Polygon, Rect,
};

/// Turf smaller than this is a crumb of drawing, no lawn; common practice, no source.
pub(crate) const SLIVER_AREA_M2: f64 = 1.0;
/// Turf narrower than this on the mean likewise.
pub(crate) const SLIVER_WIDTH_M: f64 = 0.3;
/// Holes and pieces smaller than this are crumbs of cutting one shape with another.
const CRUMB_M2: f64 = 0.01;
/// Coordinates written with nine decimals of a degree lie within 0.1 mm; edges drawn twice then overlap by strips this wide.
const STRIP_WIDTH_M: f64 = 0.002;

/// Twice the area over the perimeter: the width of a long strip.
pub(crate) fn mean_width_m(polygon: &Polygon<f64>) -> f64 {
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    let round_m: f64 = rings.map(|ring| Euclidean.length(ring)).sum();
    if round_m > 0.0 {
        2.0 * polygon.unsigned_area() / round_m
    } else {
        0.0
    }
}

/// Whether a piece is too small or too narrow to be a lawn.
pub(crate) fn is_sliver(polygon: &Polygon<f64>) -> bool {
    polygon.unsigned_area() < SLIVER_AREA_M2 || mean_width_m(polygon) < SLIVER_WIDTH_M
}

/// Whether a shape is only the strip between two drawings of one edge.
pub(crate) fn is_strip(shape: &MultiPolygon<f64>) -> bool {
    shape
        .iter()
        .all(|piece| piece.unsigned_area() < CRUMB_M2 || mean_width_m(piece) < STRIP_WIDTH_M)
}

/// Drops crumbs of cutting: pieces and holes below 0.01 m² or as thin as an edge drawn twice.
pub(crate) fn without_crumbs(shape: MultiPolygon<f64>) -> MultiPolygon<f64> {
    let is_crumb = |polygon: &Polygon<f64>| {
        polygon.unsigned_area() < CRUMB_M2 || mean_width_m(polygon) < STRIP_WIDTH_M
    };
    let pieces = shape
        .into_iter()
        .filter(|piece| !is_crumb(piece))
        .map(|piece| {
            let (exterior, mut interiors) = piece.into_inner();
            interiors.retain(|hole| !is_crumb(&Polygon::new(hole.clone(), Vec::new())));
            Polygon::new(exterior, interiors)
        });
    MultiPolygon::new(pieces.collect())
}

/// `shape` less `taken`, and how much the two overlap; strips along a shared edge count as nothing.
pub(crate) fn subtract(
    shape: &MultiPolygon<f64>,
    taken: &MultiPolygon<f64>,
) -> Option<(MultiPolygon<f64>, f64)> {
    let overlap = shape.intersection(taken);
    if is_strip(&overlap) {
        return None;
    }
    Some((
        without_crumbs(shape.difference(taken)),
        overlap.unsigned_area(),
    ))
}

/// A place inside the shape to point at.
pub(crate) fn place_in(shape: &MultiPolygon<f64>) -> Option<Coord<f64>> {
    let largest = shape
        .iter()
        .max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()))?;
    let inside = largest.interior_point().or_else(|| largest.centroid());
    inside.map(|point| point.0)
}

/// The box as a shape, widened on all sides.
pub(crate) fn widened(bounds: &Rect<f64>, margin_m: f64) -> Rect<f64> {
    let shift = Coord {
        x: margin_m,
        y: margin_m,
    };
    Rect::new(bounds.min() - shift, bounds.max() + shift)
}

/// The box round a shape.
pub(crate) fn bounds(shape: &MultiPolygon<f64>) -> Option<Rect<f64>> {
    shape.bounding_rect()
}

/// A closed ring from open vertices.
pub(crate) fn closed(vertices: Vec<Coord<f64>>) -> LineString<f64> {
    let mut ring = LineString::new(vertices);
    ring.close();
    ring
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> MultiPolygon<f64> {
        Rect::new((x0, y0), (x1, y1)).to_polygon().into()
    }

    #[test]
    fn a_long_strip_is_a_sliver_and_a_lawn_is_none() {
        assert!(is_sliver(&rectangle(0.0, 0.0, 100.0, 0.25).0[0]));
        assert!(is_sliver(&rectangle(0.0, 0.0, 0.9, 0.9).0[0]));
        assert!(!is_sliver(&rectangle(0.0, 0.0, 5.0, 1.0).0[0]));
    }

    #[test]
    fn a_shared_edge_takes_nothing_and_a_bed_takes_its_area() {
        let lawn = rectangle(0.0, 0.0, 10.0, 10.0);
        assert!(subtract(&lawn, &rectangle(9.9995, 0.0, 20.0, 10.0)).is_none());
        let (left, taken_m2) = subtract(&lawn, &rectangle(8.0, 0.0, 20.0, 10.0)).unwrap();
        assert!((left.unsigned_area() - 80.0).abs() < 1e-6 && (taken_m2 - 20.0).abs() < 1e-6);
    }
}
