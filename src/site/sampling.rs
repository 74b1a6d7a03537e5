//! Evenly spaced places under turf, by scan lines.

use crate::site::TurfArea;
use geo::{Coord, LineString, MultiPolygon};
use std::collections::BTreeMap;

/// Places on a lattice, with column and row of the lattice, row by row.
pub(crate) struct Samples {
    /// Lattice constant, m.
    pub(crate) step_m: f64,
    pub(crate) places: Vec<(i64, i64, Coord<f64>)>,
}

impl Samples {
    /// Every lattice place inside the turf.
    pub(crate) fn under(turf: &[TurfArea], step_m: f64) -> Self {
        Self::inside(turf.iter().map(|area| &area.shape), step_m)
    }

    /// Every lattice place inside any of the shapes.
    pub(crate) fn inside<'s>(
        shapes: impl IntoIterator<Item = &'s MultiPolygon<f64>>,
        step_m: f64,
    ) -> Self {
        let mut crossings: BTreeMap<i64, Vec<f64>> = BTreeMap::new();
        for polygon in shapes.into_iter().flatten() {
            add_crossings(polygon.exterior(), step_m, &mut crossings);
            for hole in polygon.interiors() {
                add_crossings(hole, step_m, &mut crossings);
            }
        }
        let mut places = Vec::new();
        for (row, mut xs) in crossings {
            xs.sort_by(f64::total_cmp);
            for span in xs.chunks_exact(2) {
                let first = (span[0] / step_m - 0.5).ceil() as i64;
                let last = (span[1] / step_m - 0.5).floor() as i64;
                places.extend(
                    (first..=last).map(|column| (column, row, centre(column, row, step_m))),
                );
            }
        }
        Self { step_m, places }
    }

    /// Ground that one place stands for, m².
    pub(crate) fn area_m2(&self) -> f64 {
        self.step_m * self.step_m
    }
}

fn centre(column: i64, row: i64, step_m: f64) -> Coord<f64> {
    Coord {
        x: (column as f64 + 0.5) * step_m,
        y: (row as f64 + 0.5) * step_m,
    }
}

/// Where the ring's edges cross the scan lines through the middles of the rows.
fn add_crossings(ring: &LineString<f64>, step_m: f64, crossings: &mut BTreeMap<i64, Vec<f64>>) {
    for edge in ring.lines() {
        let (low, high) = if edge.start.y < edge.end.y {
            (edge.start, edge.end)
        } else {
            (edge.end, edge.start)
        };
        let first = (low.y / step_m - 0.5).ceil() as i64;
        // Half open at the top, so that a vertex on a scan line counts once.
        let last = (high.y / step_m - 0.5).ceil() as i64 - 1;
        for row in first..=last {
            let y = (row as f64 + 0.5) * step_m;
            let share = (y - low.y) / (high.y - low.y);
            let x = low.x + share * (high.x - low.x);
            crossings.entry(row).or_default().push(x);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{MultiPolygon, Rect};

    #[test]
    fn the_places_stand_for_the_area_and_none_lies_in_a_hole() {
        let mut polygon = Rect::new((0.0, 0.0), (20.0, 10.0)).to_polygon();
        polygon.interiors_push(
            Rect::new((5.0, 2.0), (9.0, 8.0))
                .to_polygon()
                .exterior()
                .clone(),
        );
        let turf = TurfArea {
            id: "t".to_owned(),
            shape: MultiPolygon::from(polygon),
            soil: None,
            season: None,
        };
        let samples = Samples::under(&[turf], 0.5);
        let area_m2 = samples.area_m2() * samples.places.len() as f64;
        assert!((area_m2 - 176.0).abs() < 1.0, "{area_m2}");
        let in_hole = |at: &Coord<f64>| (5.1..8.9).contains(&at.x) && (2.1..7.9).contains(&at.y);
        assert!(!samples.places.iter().any(|(_, _, at)| in_hole(at)));
    }
}
