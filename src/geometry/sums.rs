//! Sums over squares of a grid in no time: a table of sums from the south-west corner to each cell.

use super::Grid;
use geo::Coord;

/// Sums of a value over the cells of a grid (summed-area table: Crow 1984, from memory).
#[derive(Debug, Clone)]
pub struct SquareSums {
    grid: Grid,
    sums: Vec<f64>,
}

impl SquareSums {
    /// The table of what `value` says of each cell.
    pub fn of(grid: Grid, value: impl Fn(usize) -> f64) -> Self {
        let side = grid.columns + 1;
        let mut sums = vec![0.0; side * (grid.rows + 1)];
        for row in 0..grid.rows {
            let mut along = 0.0;
            for column in 0..grid.columns {
                along += value(row * grid.columns + column);
                sums[(row + 1) * side + column + 1] = sums[row * side + column + 1] + along;
            }
        }
        Self { grid, sums }
    }

    /// The sum over the cells within `reach_m` of a place both ways, as far as they are on the grid.
    pub fn within(&self, at: Coord<f64>, reach_m: f64) -> f64 {
        let (column, row) = self.grid.cell_of(at);
        let reach = (reach_m / self.grid.cell_m).ceil() as i64;
        let clip = |v: i64, most: usize| v.clamp(0, most as i64) as usize;
        let west = clip(column - reach, self.grid.columns);
        let east = clip(column + reach + 1, self.grid.columns);
        let south = clip(row - reach, self.grid.rows);
        let north = clip(row + reach + 1, self.grid.rows);
        let sum = |x: usize, y: usize| self.sums[y * (self.grid.columns + 1) + x];
        sum(east, north) - sum(west, north) - sum(east, south) + sum(west, south)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Rect;

    #[test]
    fn sums_over_squares_are_those_of_their_cells() {
        let grid = Grid::over(Rect::new((0.0, 0.0), (7.0, 5.0)), 0.0, 1.0);
        let sums = SquareSums::of(grid, |cell| cell as f64);
        for (at, reach) in [((3.5, 2.5), 1.0), ((0.5, 0.5), 2.0), ((6.5, 4.5), 20.0)] {
            let near = |cell: &usize| {
                let centre = grid.centre(cell % grid.columns, cell / grid.columns);
                (centre.x - at.0).abs() < reach + 0.1 && (centre.y - at.1).abs() < reach + 0.1
            };
            let slow: f64 = (0..grid.cells()).filter(near).map(|cell| cell as f64).sum();
            assert_eq!(sums.within(Coord::from(at), reach), slow, "{at:?} {reach}");
        }
    }
}
