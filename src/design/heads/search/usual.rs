//! How far heads usually throw about a place: what the ground within a throw asks for, on the mean.

use super::super::classes::Class;
use super::super::edges::radius_for;
use super::super::ground::Ground;
use crate::geometry::Grid;
use geo::Coord;

/// Sums of the throws that the widths ask for, and of the cells, from the south-west corner to each cell.
#[derive(Debug)]
pub struct Usual {
    grid: Grid,
    sums: Vec<(f64, u32)>,
    window_cells: i64,
}

impl Usual {
    /// The throws of a class on a piece of ground; `longest_m` is the longest of them.
    pub fn of(ground: &Ground, class: &Class, longest_m: f64) -> Self {
        let grid = ground.grid;
        let side = grid.columns + 1;
        let mut sums = vec![(0.0, 0u32); side * (grid.rows + 1)];
        for row in 0..grid.rows {
            let mut along = (0.0, 0);
            for column in 0..grid.columns {
                let width_m = f64::from(ground.width_m[row * grid.columns + column]);
                if width_m > 0.0 {
                    along.0 += radius_for(width_m, class);
                    along.1 += 1;
                }
                let south = sums[row * side + column + 1];
                sums[(row + 1) * side + column + 1] = (south.0 + along.0, south.1 + along.1);
            }
        }
        Self {
            grid,
            sums,
            window_cells: (longest_m / grid.cell_m).ceil() as i64,
        }
    }

    /// The mean throw within the longest one of a place, both ways, m; 0 off the ground.
    pub fn about_m(&self, at: Coord<f64>) -> f64 {
        let (column, row) = self.grid.cell_of(at);
        let reach = self.window_cells;
        let clip = |v: i64, most: usize| v.clamp(0, most as i64) as usize;
        let (west, east) = (
            clip(column - reach, self.grid.columns),
            clip(column + reach + 1, self.grid.columns),
        );
        let (south, north) = (
            clip(row - reach, self.grid.rows),
            clip(row + reach + 1, self.grid.rows),
        );
        let sum = |x: usize, y: usize| self.sums[y * (self.grid.columns + 1) + x];
        let corners = [
            sum(east, north),
            sum(west, north),
            sum(east, south),
            sum(west, south),
        ];
        let throws = corners[0].0 - corners[1].0 - corners[2].0 + corners[3].0;
        let cells = (corners[0].1 + corners[3].1) - (corners[1].1 + corners[2].1);
        if cells == 0 {
            0.0
        } else {
            throws / f64::from(cells)
        }
    }
}
