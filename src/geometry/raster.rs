//! A grid over the ground, and polygons drawn on it by scanline. A cell belongs to what its centre lies in.

use geo::{BoundingRect, Coord, Intersects, LineString, MultiPolygon, Polygon, Rect};

/// A grid of square cells, row 0 in the south. Cell (0, 0) has its south-west corner at `origin`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// South-west corner.
    pub origin: Coord<f64>,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// Cells in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
}

impl Grid {
    /// The grid of cells `cell_m` wide that covers `bounds` with `margin_m` round it.
    pub fn over(bounds: Rect<f64>, margin_m: f64, cell_m: f64) -> Self {
        let columns = ((bounds.width() + 2.0 * margin_m) / cell_m).ceil() as usize + 1;
        let rows = ((bounds.height() + 2.0 * margin_m) / cell_m).ceil() as usize + 1;
        Self {
            origin: Coord {
                x: bounds.min().x - margin_m,
                y: bounds.min().y - margin_m,
            },
            cell_m,
            columns,
            rows,
        }
    }

    /// The same with the middle of `bounds` in the middle of a cell, and as many cells on one side of it as on the other.
    pub fn centred(bounds: Rect<f64>, margin_m: f64, cell_m: f64) -> Self {
        let beside = |extent_m: f64| ((0.5 * extent_m + margin_m) / cell_m).ceil() as usize;
        let (west, south) = (beside(bounds.width()), beside(bounds.height()));
        let corner = |middle: f64, cells: usize| middle - (cells as f64 + 0.5) * cell_m;
        Self {
            origin: Coord {
                x: corner(bounds.center().x, west),
                y: corner(bounds.center().y, south),
            },
            cell_m,
            columns: 2 * west + 1,
            rows: 2 * south + 1,
        }
    }

    /// Number of cells.
    pub fn cells(&self) -> usize {
        self.columns * self.rows
    }

    /// The ground it covers.
    pub fn bounds(&self) -> Rect<f64> {
        let far = Coord {
            x: self.origin.x + self.columns as f64 * self.cell_m,
            y: self.origin.y + self.rows as f64 * self.cell_m,
        };
        Rect::new(self.origin, far)
    }

    /// Centre of a cell.
    pub fn centre(&self, column: usize, row: usize) -> Coord<f64> {
        Coord {
            x: self.origin.x + (column as f64 + 0.5) * self.cell_m,
            y: self.origin.y + (row as f64 + 0.5) * self.cell_m,
        }
    }

    /// Column and row of the cell a place lies in; may lie outside the grid.
    pub fn cell_of(&self, at: Coord<f64>) -> (i64, i64) {
        (
            ((at.x - self.origin.x) / self.cell_m).floor() as i64,
            ((at.y - self.origin.y) / self.cell_m).floor() as i64,
        )
    }

    /// Index of the cell a place lies in, `None` outside the grid.
    pub fn index_of(&self, at: Coord<f64>) -> Option<usize> {
        let (column, row) = self.cell_of(at);
        let inside =
            (0..self.columns as i64).contains(&column) && (0..self.rows as i64).contains(&row);
        inside.then(|| row as usize * self.columns + column as usize)
    }

    /// Indices of the cells on the grid within `reach_m` of the cell of a place, row by row.
    pub fn cells_within(
        &self,
        at: Coord<f64>,
        reach_m: f64,
    ) -> impl Iterator<Item = usize> + use<> {
        let (column, row) = self.cell_of(at);
        let reach = (reach_m / self.cell_m) as i64;
        let (columns, rows) = (self.columns, self.rows as i64);
        ((row - reach).max(0)..=(row + reach).min(rows - 1)).flat_map(move |y| {
            let half = ((reach * reach - (y - row).pow(2)) as f64).max(0.0).sqrt() as i64;
            let along = (column - half).max(0)..=(column + half).min(columns as i64 - 1);
            along.map(move |x| y as usize * columns + x as usize)
        })
    }
}

/// Calls `paint` with the index of every cell whose centre lies in `shape`; cells of overlapping parts come twice.
pub fn fill(grid: &Grid, shape: &MultiPolygon<f64>, mut paint: impl FnMut(usize)) {
    for polygon in shape {
        fill_polygon(grid, polygon, &mut paint);
    }
}

/// Even-odd filling of one polygon, row by row.
fn fill_polygon(grid: &Grid, polygon: &Polygon<f64>, paint: &mut impl FnMut(usize)) {
    if !polygon
        .bounding_rect()
        .is_some_and(|b| b.intersects(&grid.bounds()))
    {
        return;
    }
    let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); grid.rows];
    for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
        cross_rows(grid, ring, &mut crossings);
    }
    for (row, xs) in crossings.iter_mut().enumerate() {
        xs.sort_by(f64::total_cmp);
        for pair in xs.chunks_exact(2) {
            for column in columns_between(grid, pair[0], pair[1]) {
                paint(row * grid.columns + column);
            }
        }
    }
}

/// Notes where a ring crosses the centre line of each row.
fn cross_rows(grid: &Grid, ring: &LineString<f64>, crossings: &mut [Vec<f64>]) {
    for line in ring.lines() {
        let (low, high) = if line.start.y <= line.end.y {
            (line.start, line.end)
        } else {
            (line.end, line.start)
        };
        let row_of = |y: f64| ((y - grid.origin.y) / grid.cell_m - 0.5).ceil().max(0.0) as usize;
        let to = row_of(high.y).min(grid.rows);
        let from = row_of(low.y).min(to);
        for (i, crossed) in crossings[from..to].iter_mut().enumerate() {
            let y = grid.origin.y + ((from + i) as f64 + 0.5) * grid.cell_m;
            let share = (y - low.y) / (high.y - low.y);
            crossed.push(low.x + share * (high.x - low.x));
        }
    }
}

fn columns_between(grid: &Grid, from_x: f64, to_x: f64) -> std::ops::Range<usize> {
    let column_of = |x: f64| ((x - grid.origin.x) / grid.cell_m - 0.5).ceil().max(0.0) as usize;
    column_of(from_x).min(grid.columns)..column_of(to_x).min(grid.columns)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, polygon};

    #[test]
    fn cells_of_a_holed_polygon_add_up_to_its_area() {
        let shape: MultiPolygon<f64> = polygon!(
            exterior: [(x: 0., y: 0.), (x: 30., y: 3.), (x: 25., y: 22.), (x: 2., y: 18.)],
            interiors: [[(x: 8., y: 6.), (x: 14., y: 6.), (x: 14., y: 12.), (x: 8., y: 12.)]],
        )
        .into();
        let grid = Grid::over(shape.bounding_rect().unwrap(), 1.0, 0.1);
        let mut count = 0;
        fill(&grid, &shape, |_| count += 1);
        assert!((count as f64 * 0.01 - shape.unsigned_area()).abs() < 1.0);
    }

    #[test]
    fn a_shape_beyond_the_grid_paints_only_what_is_on_it() {
        let shape: MultiPolygon<f64> = Rect::new((-50.0, -50.0), (50.0, 50.0)).to_polygon().into();
        let grid = Grid::over(Rect::new((0.0, 0.0), (4.0, 4.0)), 0.0, 1.0);
        let mut seen = vec![0; grid.cells()];
        fill(&grid, &shape, |cell| seen[cell] += 1);
        assert!(seen.iter().all(|&times| times == 1));
    }
}
