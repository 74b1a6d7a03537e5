//! Width of the ground: at each cell the diameter of the largest disc inside the ground that covers the cell.
//!
//! Local thickness: Hildebrand and Rüegsegger 1997; only discs round the middle line are drawn, after Dougherty and
//! Kunzelmann 2007 (both from memory).

use super::Grid;
use super::distance::distance_cells;
use super::fill;
use geo::{BoundingRect, Coord, MultiPolygon};

/// Width of the ground at each cell, in cells; 0 outside.
///
/// `reach` comes from [`distance_cells`]; widths above `2 × most` are given as `2 × most`.
pub fn width_cells(grid: &Grid, reach: &[f32], most: f32) -> Vec<f32> {
    let mut canvas = Canvas::over(grid, reach, most);
    for cell in edge_of_wide(grid, reach, most) {
        canvas.paint(cell, most);
    }
    let mut centres = ridge(grid, reach, most);
    // The largest first, so that each cell is painted once.
    centres.sort_unstable_by(|&a, &b| reach[b].total_cmp(&reach[a]).then(a.cmp(&b)));
    for cell in centres {
        canvas.paint(cell, reach[cell]);
    }
    canvas.width
}

/// Slope of the reach below which a cell counts as ridge: off the ridge it rises by 1 per cell towards it, and by at
/// least cos 22.5° = 0.92 towards one of the eight neighbours; along the bisector of a square corner by 0.71.
const RIDGE_SLOPE: f32 = 0.85;

/// Cells on the middle line of the ground, and on the bisectors of its corners.
fn ridge(grid: &Grid, reach: &[f32], most: f32) -> Vec<usize> {
    let columns = grid.columns;
    let mut found = Vec::new();
    let mut flags = vec![false; columns];
    for row in 1..grid.rows.saturating_sub(1) {
        let line = |row: usize| &reach[row * columns..(row + 1) * columns];
        let (south, own, north) = (line(row - 1), line(row), line(row + 1));
        if columns < 3 || !own.iter().any(|&r| r > 0.0) {
            continue;
        }
        for (column, flag) in flags[1..columns - 1].iter_mut().enumerate() {
            let (west, here, east) = (column, column + 1, column + 2);
            let beside = larger(
                larger(own[west], own[east]),
                larger(south[here], north[here]),
            );
            let aslant = larger(
                larger(south[west], south[east]),
                larger(north[west], north[east]),
            );
            let r = own[here];
            *flag = (r > 0.0)
                & (r < most)
                & (beside - r < RIDGE_SLOPE)
                & (aslant - r < RIDGE_SLOPE * 1.414);
        }
        let flagged = (1..columns - 1).filter(|&column| flags[column]);
        found.extend(flagged.map(|column| row * columns + column));
    }
    found
}

/// `f32::max` without its care for what is no number: one instruction.
fn larger(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// Cells at least `most` from the edge with a neighbour that is nearer to it.
fn edge_of_wide(grid: &Grid, reach: &[f32], most: f32) -> Vec<usize> {
    let columns = grid.columns;
    let near = |cell: usize| reach[cell] < most;
    let mut found = Vec::new();
    for row in 0..grid.rows {
        let from = row * columns;
        for cell in from..from + columns {
            if near(cell) {
                continue;
            }
            let west_or_east =
                (cell > from && near(cell - 1)) || (cell + 1 < from + columns && near(cell + 1));
            let south_or_north =
                (row > 0 && near(cell - columns)) || (row + 1 < grid.rows && near(cell + columns));
            if west_or_east || south_or_north {
                found.push(cell);
            }
        }
    }
    found
}

/// Widths under work: discs painted in falling order, each cell by the first that covers it.
struct Canvas {
    columns: usize,
    rows: usize,
    width: Vec<f32>,
    /// Cells of the ground not yet painted, one bit each, rows padded to whole words.
    bare: Vec<u64>,
    words: usize,
}

impl Canvas {
    /// Every cell starts with the disc round itself.
    fn over(grid: &Grid, reach: &[f32], most: f32) -> Self {
        let words = grid.columns.div_ceil(64);
        let mut bare = vec![0u64; words * grid.rows];
        let rows = reach.chunks_exact(grid.columns);
        for (row, bare) in rows.zip(bare.chunks_exact_mut(words)) {
            for (cells, word) in row.chunks(64).zip(bare) {
                *word = cells.iter().enumerate().fold(0, |word, (bit, &r)| {
                    word | u64::from(r > 0.0 && r < most) << bit
                });
            }
        }
        Self {
            columns: grid.columns,
            rows: grid.rows,
            width: reach
                .iter()
                .map(|&r| 2.0 * if r < most { r } else { most })
                .collect(),
            bare,
            words,
        }
    }

    /// Paints the bare cells of a disc.
    fn paint(&mut self, centre: usize, radius: f32) {
        let (column, row) = (centre % self.columns, centre / self.columns);
        let whole = radius as usize;
        let south = row.saturating_sub(whole);
        let north = (row + whole).min(self.rows - 1);
        for y in south..=north {
            let off = y.abs_diff(row) as f32;
            let half = (radius * radius - off * off).max(0.0).sqrt() as usize;
            let from = column.saturating_sub(half);
            let to = (column + half).min(self.columns - 1);
            self.paint_row(y, from, to, 2.0 * radius);
        }
    }

    /// Paints the bare cells of a row from one column to another, both included.
    fn paint_row(&mut self, row: usize, from: usize, to: usize, width: f32) {
        for word in from / 64..=to / 64 {
            let bits = &mut self.bare[row * self.words + word];
            let first = from.max(word * 64) % 64;
            let last = to.min(word * 64 + 63) % 64;
            let mask = (u64::MAX << first) & (u64::MAX >> (63 - last));
            let mut fresh = *bits & mask;
            *bits &= !mask;
            while fresh != 0 {
                let column = word * 64 + fresh.trailing_zeros() as usize;
                let cell = &mut self.width[row * self.columns + column];
                *cell = larger(*cell, width);
                fresh &= fresh - 1;
            }
        }
    }
}

/// Distance to the edge and width of one piece of ground, in metres, on a grid over it.
///
/// Made once for a piece and then asked by all who need widths there: as shares of the area, at a place, or on
/// another grid.
#[derive(Debug, Clone, PartialEq)]
pub struct WidthMap {
    /// The grid, two cells wider than the ground on all sides.
    pub grid: Grid,
    /// Distance to the edge of the ground, m; 0 outside.
    pub reach_m: Vec<f32>,
    /// Width of the ground, m; 0 outside.
    pub width_m: Vec<f32>,
    /// Widths of all cells of the ground, rising, m.
    rising_m: Vec<f32>,
}

impl WidthMap {
    /// Side of a cell, m, on which a piece within bounds of this area, m², is some thousands of cells.
    pub fn cell_for(bounds_m2: f64) -> f64 {
        (bounds_m2 / 2.5e5).sqrt().clamp(0.125, 0.5)
    }

    /// The map of a piece; widths above `2 × most_m` are given as `2 × most_m`. `None` for a piece without extent.
    pub fn of(shape: &MultiPolygon<f64>, cell_m: f64, most_m: f64) -> Option<Self> {
        let grid = Grid::over(shape.bounding_rect()?, 2.0 * cell_m, cell_m);
        let mut inside = vec![false; grid.cells()];
        fill(&grid, shape, |cell| inside[cell] = true);
        let reach = distance_cells(&grid, &inside);
        let cell = cell_m as f32;
        let width = width_cells(&grid, &reach, most_m as f32 / cell);
        // A disc drawn between cell centres is a cell too wide.
        let width_m: Vec<f32> = width.iter().map(|w| ((w - 1.0) * cell).max(0.0)).collect();
        let mut rising_m: Vec<f32> = width_m.iter().copied().filter(|&w| w > 0.0).collect();
        rising_m.sort_unstable_by(f32::total_cmp);
        let reach_m = reach.iter().map(|r| ((r - 0.5) * cell).max(0.0)).collect();
        (!rising_m.is_empty()).then_some(Self {
            grid,
            reach_m,
            width_m,
            rising_m,
        })
    }

    /// The width, m, that this share of the area (0 to 1) does not exceed.
    pub fn width_of_share_m(&self, share: f64) -> f64 {
        let last = self.rising_m.len() - 1;
        let at = (self.rising_m.len() as f64 * share) as usize;
        f64::from(self.rising_m[at.min(last)])
    }

    /// Distance to the edge and width, m, at the centre of each cell of another grid; the cell is the nearest of this
    /// map, so both are right to a cell of the coarser grid. Cells off the ground have 0 and 0.
    pub fn onto(&self, grid: &Grid, inside: &[bool]) -> (Vec<f32>, Vec<f32>) {
        let mut reach_m = vec![0.0; grid.cells()];
        let mut width_m = vec![0.0; grid.cells()];
        let columns: Vec<Option<usize>> = (0..grid.columns)
            .map(|column| self.grid.cell_of(grid.centre(column, 0)).0)
            .map(|column| {
                (0..self.grid.columns as i64)
                    .contains(&column)
                    .then_some(column as usize)
            })
            .collect();
        for row in 0..grid.rows {
            let y = self.grid.cell_of(grid.centre(0, row)).1;
            if !(0..self.grid.rows as i64).contains(&y) {
                continue;
            }
            for (column, &x) in columns.iter().enumerate() {
                let cell = row * grid.columns + column;
                if let (Some(x), true) = (x, inside[cell]) {
                    let from = y as usize * self.grid.columns + x;
                    (reach_m[cell], width_m[cell]) = (self.reach_m[from], self.width_m[from]);
                }
            }
        }
        (reach_m, width_m)
    }

    /// Width of the ground at a place, the widest of the cells round it, m.
    pub fn width_at_m(&self, at: Coord<f64>) -> f64 {
        let (column, row) = self.grid.cell_of(at);
        let rows = (row - 1).max(0)..(row + 2).min(self.grid.rows as i64);
        let columns = (column - 1).max(0)..(column + 2).min(self.grid.columns as i64);
        let around = rows.flat_map(|y| {
            columns
                .clone()
                .map(move |x| y as usize * self.grid.columns + x as usize)
        });
        f64::from(around.map(|cell| self.width_m[cell]).fold(0.0, f32::max))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::masks::{any_mask, grid_of};
    use geo::Rect;
    use proptest::prelude::*;

    /// All discs painted over one another.
    fn slow(grid: &Grid, reach: &[f32], most: f32) -> Vec<f32> {
        let place = |cell: usize| ((cell % grid.columns) as f32, (cell / grid.columns) as f32);
        let covers = |centre: usize, cell: usize| {
            let ((x, y), (u, v)) = (place(centre), place(cell));
            let radius = reach[centre].min(most);
            (x - u) * (x - u) + (y - v) * (y - v) <= radius * radius
        };
        (0..grid.cells())
            .map(|cell| {
                let discs = (0..grid.cells()).filter(|&centre| covers(centre, cell));
                let widest = discs.map(|centre| 2.0 * reach[centre].min(most));
                if reach[cell] > 0.0 {
                    widest.fold(0.0, f32::max)
                } else {
                    0.0
                }
            })
            .collect()
    }

    proptest! {
        #[test]
        fn widths_are_those_of_all_discs_to_a_cell((columns, mut inside) in any_mask(), most in 1.5f32..9.0) {
            let rows = inside.len() / columns;
            for (cell, inside) in inside.iter_mut().enumerate() {
                let (x, y) = (cell % columns, cell / columns);
                *inside &= x > 0 && y > 0 && x + 1 < columns && y + 1 < rows;
            }
            let grid = grid_of(columns, &inside);
            let reach = distance_cells(&grid, &inside);
            let (quick, slow) = (width_cells(&grid, &reach, most), slow(&grid, &reach, most));
            for (cell, &slow) in slow.iter().enumerate() {
                // A disc may end a cell sooner.
                let (x, y) = (cell % columns, cell / columns);
                let around = (0..quick.len())
                    .filter(|&other| (other % columns).abs_diff(x) <= 1 && (other / columns).abs_diff(y) <= 1)
                    .map(|other| quick[other])
                    .fold(0.0, f32::max);
                prop_assert!(quick[cell] <= slow && around >= slow - 1.0, "cell {}: {}, round it {}, not {}", cell, quick[cell], around, slow);
            }
        }
    }

    fn strip(wide_m: f64, long_m: f64) -> MultiPolygon<f64> {
        Rect::new((0.0, 0.0), (long_m, wide_m)).to_polygon().into()
    }

    #[test]
    fn a_strip_is_as_wide_as_it_is() {
        let map = WidthMap::of(&strip(9.0, 60.0), 0.25, 12.0).unwrap();
        let at = |x, y| map.width_at_m(Coord { x, y });
        assert!((at(30.0, 4.5) - 9.0).abs() < 0.3, "{}", at(30.0, 4.5));
        assert!(
            (at(30.0, 0.2) - 9.0).abs() < 0.3,
            "the same beside its edge"
        );
        assert!(at(0.1, 0.1) < 3.0, "a corner is narrow");
        assert!((map.width_of_share_m(0.5) - 9.0).abs() < 0.3);
        let capped = WidthMap::of(&strip(9.0, 60.0), 0.25, 2.0).unwrap();
        assert!(capped.width_of_share_m(1.0) <= 4.0);
    }

    #[test]
    fn a_map_laid_onto_another_grid_keeps_its_widths() {
        let map = WidthMap::of(&strip(9.0, 60.0), 0.25, 12.0).unwrap();
        let grid = Grid::over(Rect::new((-15.0, -15.0), (75.0, 24.0)), 0.0, 0.5);
        let (reach_m, width_m) = map.onto(&grid, &vec![true; grid.cells()]);
        let cell = grid.index_of(Coord { x: 30.0, y: 4.4 }).unwrap();
        assert!((width_m[cell] - 9.0).abs() < 0.3 && (reach_m[cell] - 4.4).abs() < 0.5);
        let off = grid.index_of(Coord { x: -10.0, y: 4.4 }).unwrap();
        assert_eq!((reach_m[off], width_m[off]), (0.0, 0.0));
    }

    #[test]
    fn ground_without_extent_has_no_map() {
        assert!(WidthMap::of(&MultiPolygon::new(vec![]), 0.25, 12.0).is_none());
        assert!(WidthMap::of(&strip(0.0, 10.0), 0.25, 12.0).is_none());
    }
}
