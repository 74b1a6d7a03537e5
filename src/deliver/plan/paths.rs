//! Path data of shapes that many drawings share: whole centimetres from a corner of the parcel, each step told from the last.

use geo::orient::{Direction, Orient};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use std::fmt::Write;

/// Pixels of shared shapes in a metre: they are drawn in centimetres.
pub(super) const CM_PER_M: f64 = 100.0;

/// Turns places into centimetres east and south of a corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    /// The place that is (0, 0).
    pub(super) corner: Coord<f64>,
}

impl Grid {
    fn cm(&self, place: Coord<f64>) -> (i64, i64) {
        let round = |m: f64| (m * CM_PER_M).round() as i64;
        (
            round(place.x - self.corner.x),
            round(self.corner.y - place.y),
        )
    }

    /// Adds a line; a closed one ends where it began without saying so again.
    pub(super) fn add_line(&self, out: &mut String, line: &LineString<f64>, closed: bool) {
        let mut places = line.coords().map(|&place| self.cm(place));
        let Some(first) = places.next() else {
            return;
        };
        let _ = write!(out, "M{} {}", first.0, first.1);
        let mut last = first;
        let mut word = "l";
        let mut rest = places.peekable();
        while let Some(place) = rest.next() {
            if place == last || (closed && rest.peek().is_none() && place == first) {
                continue;
            }
            let _ = write!(out, "{word}{}", place.0 - last.0);
            let down = place.1 - last.1;
            let space = if down < 0 { "" } else { " " };
            let _ = write!(out, "{space}{down}");
            last = place;
            word = " ";
        }
        if closed {
            out.push('z');
        }
    }

    /// Adds a polygon with its holes.
    pub(super) fn add_polygon(&self, out: &mut String, polygon: &Polygon<f64>) {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            self.add_line(out, ring, true);
        }
    }

    /// Adds several polygons, holes wound against their rims, so that shapes that overlap in one path fill what either fills.
    pub(super) fn add_shape(&self, out: &mut String, shape: &MultiPolygon<f64>) {
        for polygon in shape {
            self.add_polygon(out, &polygon.orient(Direction::Default));
        }
    }

    /// Adds a dot, to be seen by round ends of its stroke.
    pub(super) fn add_dot(&self, out: &mut String, place: Coord<f64>) {
        let (x, y) = self.cm(place);
        let _ = write!(out, "M{x} {y}h0");
    }

    /// Adds a circle of two half arcs.
    pub(super) fn add_circle(&self, out: &mut String, centre: Coord<f64>, radius_m: f64) {
        let (x, y) = self.cm(centre);
        let r = (radius_m * CM_PER_M).round() as i64;
        let _ = write!(
            out,
            "M{} {y}a{r} {r} 0 1 0 {} 0a{r} {r} 0 1 0 -{} 0z",
            x - r,
            2 * r,
            2 * r
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::wkt;

    #[test]
    fn rims_and_holes_wind_against_each_other_however_they_come() {
        let grid = Grid {
            corner: Coord { x: 0.0, y: 9.0 },
        };
        let drawn = |polygon: Polygon<f64>| {
            let mut path = String::new();
            grid.add_shape(&mut path, &polygon.into());
            path
        };
        let one = wkt! { POLYGON((0. 0.,9. 0.,9. 9.,0. 9.,0. 0.),(2. 2.,4. 2.,4. 4.,2. 4.,2. 2.)) };
        let other =
            wkt! { POLYGON((0. 0.,0. 9.,9. 9.,9. 0.,0. 0.),(2. 2.,2. 4.,4. 4.,4. 2.,2. 2.)) };
        let winding = |path: &str| path.matches("l0-").count();
        assert_eq!(winding(&drawn(one)), winding(&drawn(other)));
    }

    #[test]
    fn steps_are_told_from_the_last_and_do_not_drift() {
        let grid = Grid {
            corner: Coord { x: 10.0, y: 50.0 },
        };
        let mut path = String::new();
        let ring = wkt! { POLYGON((10. 50.,11.004 50.,11.008 49.,10. 49.,10. 50.)) };
        grid.add_polygon(&mut path, &ring);
        assert_eq!(path, "M0 0l100 0 1 100 -101 0z");
        let mut line = String::new();
        grid.add_line(&mut line, ring.exterior(), false);
        assert!(line.ends_with("0-100"), "{line}");
    }
}
