//! Fits the cubic map from the parcel's frame to raster cells to places that the projection library moved exactly.

use crate::site::terrain::CellMap;
use geo::Coord;

/// A place in the frame and the column and row it falls on.
pub(crate) type Pair = (Coord<f64>, (f64, f64));

/// The map by least squares; `None` when the places do not determine it.
pub(crate) fn fit(pairs: &[Pair], scale_m: f64) -> Option<CellMap> {
    let mut map = CellMap {
        column: [0.0; 10],
        row: [0.0; 10],
        scale_m,
    };
    // Normal equations: with coordinates scaled to ±1 their condition is harmless (about 1e5).
    let mut normal = [[0.0; 12]; 10];
    for (at, (column, row)) in pairs {
        let terms = map.terms(*at);
        for (line, a) in normal.iter_mut().zip(terms) {
            for (cell, b) in line.iter_mut().zip(terms) {
                *cell += a * b;
            }
            line[10] += a * column;
            line[11] += a * row;
        }
    }
    eliminate(&mut normal)?;
    for (index, line) in normal.iter().enumerate() {
        map.column[index] = line[10] / line[index];
        map.row[index] = line[11] / line[index];
    }
    Some(map)
}

/// Gauss-Jordan with row exchange on ten equations with two right-hand sides.
fn eliminate(equations: &mut [[f64; 12]; 10]) -> Option<()> {
    for column in 0..10 {
        let pivot = (column..10).max_by(|a, b| {
            equations[*a][column]
                .abs()
                .total_cmp(&equations[*b][column].abs())
        })?;
        equations.swap(column, pivot);
        let lead = equations[column];
        if lead[column].abs() < 1e-9 || !lead[column].is_finite() {
            return None;
        }
        for (index, line) in equations.iter_mut().enumerate() {
            if index != column {
                let factor = line[column] / lead[column];
                for (cell, above) in line.iter_mut().zip(lead) {
                    *cell -= factor * above;
                }
            }
        }
    }
    Some(())
}

/// Greatest distance, in cells, between the map and the exact places.
pub(crate) fn residual_cells(map: &CellMap, pairs: &[Pair]) -> f64 {
    pairs
        .iter()
        .map(|(at, (column, row))| {
            let (c, r) = map.cell(*at);
            (c - column).hypot(r - row)
        })
        .fold(0.0, f64::max)
}

/// Side of a cell on the ground at the frame's origin, m: the root of its area.
pub(crate) fn cell_side_m(map: &CellMap) -> f64 {
    let cells_per_m2 = (map.column[1] * map.row[2] - map.column[2] * map.row[1]).abs()
        / (map.scale_m * map.scale_m);
    (1.0 / cells_per_m2).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_cubic_is_found_again() {
        let exact = |at: Coord<f64>| {
            let (x, y) = (at.x / 100.0, at.y / 100.0);
            let column = 50.0 + 90.0 * x - 3.0 * y + 0.2 * x * y - 0.01 * x * x * x;
            let row = 60.0 - 3.0 * x - 90.0 * y + 0.1 * y * y + 0.02 * x * x * y;
            (column, row)
        };
        let mut pairs = Vec::new();
        for i in -4..=4 {
            for j in -4..=4 {
                let at = Coord {
                    x: f64::from(i) * 25.0,
                    y: f64::from(j) * 25.0,
                };
                pairs.push((at, exact(at)));
            }
        }
        let map = fit(&pairs, 100.0).unwrap();
        assert!(residual_cells(&map, &pairs) < 1e-9);
        assert!((cell_side_m(&map) - 1.11).abs() < 0.01);
        assert!(fit(&pairs[..5], 100.0).is_none());
    }
}
