//! Cells of a grid merged into clean polygons.

use super::Grid;
use geo::{BooleanOps, MultiPolygon, Rect, unary_union};

/// The cells marked `true` as polygons with sides along the grid.
///
/// Cells that touch only by a corner are parted by leaving out one of the two: rings then never touch themselves.
pub fn merge(grid: &Grid, marked: &[bool]) -> MultiPolygon<f64> {
    let mut marked = marked.to_vec();
    part_corners(grid, &mut marked);
    let bars: Vec<_> = (0..grid.rows)
        .flat_map(|row| bars_of_row(grid, &marked, row))
        .map(|bar| bar.to_polygon())
        .collect();
    if bars.is_empty() {
        return MultiPolygon::new(Vec::new());
    }
    unary_union(&bars)
}

/// The part of `cells` that lies on `ground`.
pub fn clip(cells: &MultiPolygon<f64>, ground: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    cells.intersection(ground)
}

/// Runs of marked cells in one row, as rectangles.
fn bars_of_row(grid: &Grid, marked: &[bool], row: usize) -> Vec<Rect<f64>> {
    let cells = &marked[row * grid.columns..(row + 1) * grid.columns];
    let mut bars = Vec::new();
    let mut column = 0;
    while column < cells.len() {
        if !cells[column] {
            column += 1;
            continue;
        }
        let from = column;
        while column < cells.len() && cells[column] {
            column += 1;
        }
        let corner = |c: usize, r: usize| {
            (
                grid.origin.x + c as f64 * grid.cell_m,
                grid.origin.y + r as f64 * grid.cell_m,
            )
        };
        bars.push(Rect::new(corner(from, row), corner(column, row + 1)));
    }
    bars
}

/// Unmarks one of two cells that touch by a corner alone, until none do.
fn part_corners(grid: &Grid, marked: &mut [bool]) {
    loop {
        let mut changed = false;
        for row in 0..grid.rows.saturating_sub(1) {
            for column in 0..grid.columns.saturating_sub(1) {
                let (a, b) = (row * grid.columns + column, row * grid.columns + column + 1);
                let (c, d) = (a + grid.columns, b + grid.columns);
                if marked[a] && marked[d] && !marked[b] && !marked[c] {
                    marked[d] = false;
                    changed = true;
                } else if marked[b] && marked[c] && !marked[a] && !marked[d] {
                    marked[c] = false;
                    changed = true;
                }
            }
        }
        if !changed {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, Validation};

    #[test]
    fn a_chequered_patch_gives_valid_rings() {
        let grid = Grid::over(Rect::new((0.0, 0.0), (19.0, 19.0)), 0.0, 1.0);
        let marked: Vec<bool> = (0..grid.cells())
            .map(|i| (i * 7919 / 13) % 3 != 0)
            .collect();
        let merged = merge(&grid, &marked);
        assert!(merged.is_valid());
        assert!(merged.unsigned_area() > 50.0);
        assert!(merge(&grid, &vec![false; grid.cells()]).0.is_empty());
    }
}
