//! The ground: heights from the raster's own cells, asked for in the parcel's frame.

use crate::site::noise::Levelled;
use geo::Coord;

/// Turns a place in the parcel's frame into fractional cell coordinates of the raster window.
///
/// Column and row of a **cell centre** are whole numbers. The map is a bivariate cubic, fitted to the exact projection.
#[derive(Debug, Clone, PartialEq)]
pub struct CellMap {
    /// Coefficients of the column for the terms 1, x, y, x², xy, y², x³, x²y, xy², y³ with x, y in `scale_m`.
    pub column: [f64; 10],
    /// The same for the row.
    pub row: [f64; 10],
    /// Length that x and y are divided by before use, m.
    pub scale_m: f64,
}

impl CellMap {
    /// The ten terms at a place, in the order of the coefficients.
    pub(crate) fn terms(&self, at: Coord<f64>) -> [f64; 10] {
        let (x, y) = (at.x / self.scale_m, at.y / self.scale_m);
        [
            1.0,
            x,
            y,
            x * x,
            x * y,
            y * y,
            x * x * x,
            x * x * y,
            x * y * y,
            y * y * y,
        ]
    }

    /// Column and row at a place.
    pub fn cell(&self, at: Coord<f64>) -> (f64, f64) {
        let terms = self.terms(at);
        let dot = |c: &[f64; 10]| c.iter().zip(terms).map(|(a, b)| a * b).sum::<f64>();
        (dot(&self.column), dot(&self.row))
    }
}

/// A window of the terrain raster, heights in metres, row by row from the raster's first row.
#[derive(Debug, Clone, PartialEq)]
pub struct Terrain {
    /// Cells in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Heights in metres; NaN where the raster has no data.
    pub heights_m: Vec<f32>,
    /// Length of a cell's side on the ground, m.
    pub cell_m: f64,
    /// From the parcel's frame to cells.
    pub map: CellMap,
    /// Ground without the survey's noise, where it has any worth the name.
    pub levelled: Option<Levelled>,
}

impl Terrain {
    /// A plane `z = z0 + ax·x + ay·y` over a square of `half_m` round the origin, for tests and examples.
    pub fn plane(z0_m: f64, ax: f64, ay: f64, half_m: f64) -> Self {
        Self::of_function(half_m, |x, y| z0_m + ax * x + ay * y)
    }

    /// Ground that a function of x and y tells, in cells of a metre over a square of `half_m` round the origin.
    pub fn of_function(half_m: f64, height_m: impl Fn(f64, f64) -> f64) -> Self {
        let n = (2.0 * half_m).ceil() as usize + 1;
        let at = |i: usize| i as f64 - half_m;
        let cells = (0..n).flat_map(|row| (0..n).map(move |col| (row, col)));
        let (mut column, mut row) = ([0.0; 10], [0.0; 10]);
        (column[0], column[1], row[0], row[2]) = (half_m, 1.0, half_m, 1.0);
        Self {
            columns: n,
            rows: n,
            heights_m: cells
                .map(|(row, col)| height_m(at(col), at(row)) as f32)
                .collect(),
            cell_m: 1.0,
            levelled: None,
            map: CellMap {
                column,
                row,
                scale_m: 1.0,
            },
        }
    }

    /// Ground height at a place, m, bilinear between cell centres; edges hold for half a cell.
    ///
    /// `None` outside the window and where any of the four cells with weight has no data.
    pub fn height_m(&self, at: Coord<f64>) -> Option<f64> {
        self.read(&self.heights_m, at)
    }

    /// Height of the ground that pipe is laid by, m: as [`height_m`](Self::height_m), without the survey's noise.
    pub fn laying_height_m(&self, at: Coord<f64>) -> Option<f64> {
        let heights_m = self.levelled.as_ref().map(|levelled| &levelled.heights_m);
        self.read(heights_m.unwrap_or(&self.heights_m), at)
    }

    /// Noise that is left in it, standard deviation in m; 0 where nothing was smoothed.
    pub fn laying_noise_m(&self) -> f64 {
        self.levelled
            .as_ref()
            .map_or(0.0, |levelled| levelled.left_m)
    }

    fn read(&self, heights_m: &[f32], at: Coord<f64>) -> Option<f64> {
        let (c, r) = self.map.cell(at);
        let (last_c, last_r) = (self.columns as f64 - 1.0, self.rows as f64 - 1.0);
        if !(-0.5..=last_c + 0.5).contains(&c) || !(-0.5..=last_r + 0.5).contains(&r) {
            return None;
        }
        let (c, r) = (c.clamp(0.0, last_c), r.clamp(0.0, last_r));
        let (i, j) = (
            (c.floor() as usize).min(self.columns.saturating_sub(2)),
            (r.floor() as usize).min(self.rows.saturating_sub(2)),
        );
        let (fx, fy) = (c - i as f64, r - j as f64);
        let corners = [
            (i, j, (1.0 - fx) * (1.0 - fy)),
            (i + 1, j, fx * (1.0 - fy)),
            (i, j + 1, (1.0 - fx) * fy),
            (i + 1, j + 1, fx * fy),
        ];
        let mut z = 0.0;
        for (col, row, weight) in corners {
            if weight > 0.0 {
                let height = f64::from(*heights_m.get(row * self.columns + col)?);
                z += weight * height;
            }
        }
        z.is_finite().then_some(z)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_is_read_back_between_cells() {
        let ground = Terrain::plane(100.0, 0.02, -0.01, 20.0);
        let z = ground.height_m(Coord { x: 3.25, y: -7.5 }).unwrap();
        assert!((z - (100.0 + 0.065 + 0.075)).abs() < 1e-4, "{z}");
        assert_eq!(ground.height_m(Coord { x: 30.0, y: 0.0 }), None);
    }
}
