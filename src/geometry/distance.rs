//! Distances on a grid: how far each cell is from the nearest cell outside, and how wide the ground is there.

use super::Grid;

/// Distance from each cell of `inside` to the nearest cell outside it, in cells; 0 outside.
///
/// Exact Euclidean transform in two passes of parabolas: Felzenszwalb and Huttenlocher 2012 (from memory).
/// The rim of the grid counts as outside only where its cells are.
pub fn distance_cells(grid: &Grid, inside: &[bool]) -> Vec<f32> {
    const FAR: f32 = 1e12;
    let mut squared: Vec<f32> = inside.iter().map(|&i| if i { FAR } else { 0.0 }).collect();
    let longest = grid.columns.max(grid.rows);
    let mut line = vec![0.0; longest];
    let mut envelope = Envelope::new(longest);
    for column in 0..grid.columns {
        for row in 0..grid.rows {
            line[row] = squared[row * grid.columns + column];
        }
        envelope.lower(&mut line[..grid.rows]);
        for row in 0..grid.rows {
            squared[row * grid.columns + column] = line[row];
        }
    }
    for row in squared.chunks_exact_mut(grid.columns) {
        envelope.lower(row);
    }
    squared.iter().map(|d| d.sqrt()).collect()
}

/// Scratch space of the one-dimensional transform.
struct Envelope {
    apex: Vec<usize>,
    from: Vec<f32>,
    values: Vec<f32>,
}

impl Envelope {
    fn new(longest: usize) -> Self {
        Self {
            apex: vec![0; longest],
            from: vec![0.0; longest + 1],
            values: vec![0.0; longest],
        }
    }

    /// Replaces `line[q]` by the least of `(q - p)² + line[p]`.
    fn lower(&mut self, line: &mut [f32]) {
        let n = line.len();
        self.values[..n].copy_from_slice(line);
        let f = &self.values;
        let meet = |p: usize, q: usize| {
            ((f[q] + (q * q) as f32) - (f[p] + (p * p) as f32)) / (2.0 * (q as f32 - p as f32))
        };
        let mut k = 0;
        (self.apex[0], self.from[0], self.from[1]) = (0, f32::NEG_INFINITY, f32::INFINITY);
        for q in 1..n {
            let mut at = meet(self.apex[k], q);
            while k > 0 && at <= self.from[k] {
                k -= 1;
                at = meet(self.apex[k], q);
            }
            if at > self.from[k] {
                k += 1;
            }
            self.apex[k] = q;
            self.from[k] = if k == 0 { f32::NEG_INFINITY } else { at };
            self.from[k + 1] = f32::INFINITY;
        }
        let mut k = 0;
        for (q, value) in line.iter_mut().enumerate() {
            while self.from[k + 1] < q as f32 {
                k += 1;
            }
            let p = self.apex[k];
            let step = q as f32 - p as f32;
            *value = step * step + f[p];
        }
    }
}

/// Width of the ground at each cell, in cells: the diameter of the largest disc inside that covers the cell.
///
/// `reach` comes from [`distance_cells`]; widths above `2 × most` are given as `2 × most`.
pub fn width_cells(grid: &Grid, reach: &[f32], most: f32) -> Vec<f32> {
    let mut width: Vec<f32> = reach.iter().map(|&r| 2.0 * r.min(most)).collect();
    let narrow: Vec<bool> = reach.iter().map(|&r| r < most).collect();
    if narrow.contains(&false) {
        let to_wide = distance_cells(grid, &narrow);
        for (w, (&far, &r)) in width.iter_mut().zip(to_wide.iter().zip(reach)) {
            if far < most && r > 0.0 {
                *w = 2.0 * most;
            }
        }
    }
    for centre in ridge(grid, reach, most) {
        paint_disc(grid, reach, centre, &mut width);
    }
    width
}

/// Slope of the reach below which a cell counts as ridge: off the ridge it rises by 1 per cell towards it, and by at
/// least cos 22.5° = 0.92 towards one of the eight neighbours; along the bisector of a square corner by 0.71.
const RIDGE_SLOPE: f32 = 0.85;

/// Cells on the middle line of the ground, and on the bisectors of its corners.
fn ridge(grid: &Grid, reach: &[f32], most: f32) -> Vec<usize> {
    let columns = grid.columns;
    let rises =
        |cell: usize, other: usize, step: f32| reach[other] - reach[cell] >= RIDGE_SLOPE * step;
    (0..grid.cells())
        .filter(|&cell| {
            let (column, row) = (cell % columns, cell / columns);
            let rim = column == 0 || row == 0 || column + 1 == columns || row + 1 == grid.rows;
            if reach[cell] <= 0.0 || reach[cell] >= most || rim {
                return false;
            }
            let beside = [1, columns];
            let aslant = [columns - 1, columns + 1];
            !beside
                .iter()
                .any(|&d| rises(cell, cell - d, 1.0) || rises(cell, cell + d, 1.0))
                && !aslant
                    .iter()
                    .any(|&d| rises(cell, cell - d, 1.414) || rises(cell, cell + d, 1.414))
        })
        .collect()
}

fn paint_disc(grid: &Grid, reach: &[f32], centre: usize, width: &mut [f32]) {
    let radius = reach[centre];
    let (column, row) = (
        (centre % grid.columns) as i64,
        (centre / grid.columns) as i64,
    );
    let whole = radius.floor() as i64;
    for dy in -whole..=whole {
        let y = row + dy;
        if !(0..grid.rows as i64).contains(&y) {
            continue;
        }
        let half = (radius * radius - (dy * dy) as f32).max(0.0).sqrt() as i64;
        let from = (column - half).max(0) as usize;
        let to = (column + half).min(grid.columns as i64 - 1) as usize;
        let start = y as usize * grid.columns;
        for cell in start + from..=start + to {
            if reach[cell] > 0.0 && width[cell] < 2.0 * radius {
                width[cell] = 2.0 * radius;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Rect;

    fn strip(high: usize, wide: usize) -> (Grid, Vec<bool>) {
        let bounds = Rect::new((0.0, 0.0), (wide as f64, high as f64));
        let grid = Grid::over(bounds, 3.0, 1.0);
        let inside = (0..grid.cells())
            .map(|cell| {
                let (c, r) = (cell % grid.columns, cell / grid.columns);
                (3..3 + wide).contains(&c) && (3..3 + high).contains(&r)
            })
            .collect();
        (grid, inside)
    }

    #[test]
    fn distances_agree_with_looking_at_every_pair() {
        let (grid, mut inside) = strip(9, 14);
        inside[7 * grid.columns + 9] = false;
        let quick = distance_cells(&grid, &inside);
        for (cell, &found) in quick.iter().enumerate() {
            let slow = (0..grid.cells())
                .filter(|&o| !inside[o])
                .map(|o| {
                    let dx = (cell % grid.columns) as f32 - (o % grid.columns) as f32;
                    let dy = (cell / grid.columns) as f32 - (o / grid.columns) as f32;
                    dx.hypot(dy)
                })
                .fold(f32::INFINITY, f32::min);
            assert!((found - slow).abs() < 1e-3, "{cell}");
        }
    }

    #[test]
    fn a_strip_is_as_wide_as_it_is() {
        let (grid, inside) = strip(9, 60);
        let reach = distance_cells(&grid, &inside);
        let width = width_cells(&grid, &reach, 40.0);
        let middle = 4 * grid.columns + 33;
        assert!((width[middle] - 10.0).abs() < 1.1, "{}", width[middle]);
        let capped = width_cells(&grid, &reach, 2.0);
        assert!(capped[middle] <= 4.0);
    }
}
