//! Distances on a grid: how far each cell is from the nearest cell outside.

use super::Grid;

pub use super::width::width_cells;

/// Distance of a cell on a grid without any cell outside, in cells.
const FAR: i32 = 1_000_000;

/// Distance from each cell of `inside` to the nearest cell outside it, in cells; 0 outside.
///
/// Exact Euclidean transform: distances along the columns, then the lower envelope of parabolas along each row, all
/// in whole numbers. Meijster, Roerdink and Hesselink 2000; Felzenszwalb and Huttenlocher 2012 (both from memory).
/// The rim of the grid counts as outside only where its cells are.
pub fn distance_cells(grid: &Grid, inside: &[bool]) -> Vec<f32> {
    let columns = grid.columns;
    let mut reach = vec![0.0f32; inside.len()];
    let along = along_columns(columns, inside);
    let mut envelope = Envelope::with_room(columns);
    let rows = inside
        .chunks_exact(columns)
        .zip(along.chunks_exact(columns));
    for ((inside, along), reach) in rows.zip(reach.chunks_exact_mut(columns)) {
        for run in runs(inside) {
            // The cells beyond both ends lie outside: nothing behind them is nearer.
            let from = run.start.saturating_sub(1);
            let to = (run.end + 1).min(columns);
            envelope.lower(&along[from..to], &mut reach[from..to]);
        }
    }
    reach
}

/// Distance to the nearest cell outside in the same column, whole rows at a time.
fn along_columns(columns: usize, inside: &[bool]) -> Vec<i32> {
    let mut along = vec![0i32; inside.len()];
    let mut before = vec![FAR; columns];
    for (row, inside) in along
        .chunks_exact_mut(columns)
        .zip(inside.chunks_exact(columns))
    {
        for ((cell, &inside), before) in row.iter_mut().zip(inside).zip(&mut before) {
            let one_on = if *before < FAR { *before + 1 } else { FAR };
            *cell = if inside { one_on } else { 0 };
            *before = *cell;
        }
    }
    before.fill(FAR);
    for row in along.chunks_exact_mut(columns).rev() {
        for (cell, before) in row.iter_mut().zip(&mut before) {
            let one_on = *before + 1;
            *cell = if one_on < *cell { one_on } else { *cell };
            *before = *cell;
        }
    }
    along
}

/// Runs of `true`, in order.
fn runs(cells: &[bool]) -> impl Iterator<Item = std::ops::Range<usize>> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let start = at + cells[at..].iter().position(|&cell| cell)?;
        let length = cells[start..].iter().position(|&cell| !cell);
        at = length.map_or(cells.len(), |length| start + length);
        Some(start..at)
    })
}

/// One parabola of the lower envelope: `(q - apex)² + floor`.
#[derive(Debug, Clone, Copy)]
struct Parabola {
    apex: i64,
    /// Its least value, squared cells.
    floor: i64,
}

impl Parabola {
    fn at(self, q: i64) -> i64 {
        (q - self.apex) * (q - self.apex) + self.floor
    }

    /// Where it is met by one farther on: above and below the fraction bar, the latter above 0.
    fn meets(self, other: Self) -> (i64, i64) {
        let rise = other.floor + other.apex * other.apex - self.floor - self.apex * self.apex;
        (rise, 2 * (other.apex - self.apex))
    }
}

/// Scratch space of the one-dimensional transform.
struct Envelope {
    parabolas: Vec<Parabola>,
}

impl Envelope {
    fn with_room(longest: usize) -> Self {
        Self {
            parabolas: Vec::with_capacity(longest),
        }
    }

    /// Writes to `reach[q]` the square root of the least of `(q - p)² + along[p]²`.
    fn lower(&mut self, along: &[i32], reach: &mut [f32]) {
        self.parabolas.clear();
        for (apex, &along) in along.iter().enumerate() {
            let floor = i64::from(along) * i64::from(along);
            let apex = apex as i64;
            self.push(Parabola { apex, floor });
        }
        let mut rest = self.parabolas.iter().copied();
        let Some(mut lowest) = rest.next() else {
            return;
        };
        let mut next = rest.next();
        for (q, reach) in (0..).zip(reach) {
            while let Some(parabola) = next.filter(|p| p.at(q) <= lowest.at(q)) {
                lowest = parabola;
                next = rest.next();
            }
            *reach = (lowest.at(q) as f32).sqrt();
        }
    }

    /// Adds the next parabola and drops those that it keeps from being lowest anywhere.
    fn push(&mut self, new: Parabola) {
        while let [.., before, last] = self.parabolas[..] {
            let (rise, run) = before.meets(last);
            let (new_rise, new_run) = last.meets(new);
            if new_rise * run > rise * new_run {
                break;
            }
            self.parabolas.pop();
        }
        self.parabolas.push(new);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::masks::{any_mask, grid_of};
    use proptest::prelude::*;

    /// By looking at every pair.
    fn slow(grid: &Grid, inside: &[bool]) -> Vec<f32> {
        let place = |cell: usize| ((cell % grid.columns) as i64, (cell / grid.columns) as i64);
        let squared = |cell: usize| {
            let (x, y) = place(cell);
            (0..grid.cells())
                .filter(|&other| !inside[other])
                .map(|other| {
                    let (u, v) = place(other);
                    (x - u) * (x - u) + (y - v) * (y - v)
                })
                .min()
        };
        (0..grid.cells())
            .map(|cell| squared(cell).map_or(FAR as f32, |square| (square as f32).sqrt()))
            .collect()
    }

    proptest! {
        #[test]
        fn distances_are_those_of_looking_at_every_pair((columns, inside) in any_mask()) {
            let grid = grid_of(columns, &inside);
            prop_assert_eq!(distance_cells(&grid, &inside), slow(&grid, &inside));
        }
    }

    #[test]
    fn the_rim_of_the_grid_is_no_edge() {
        let mut inside = vec![true; 30];
        let grid = grid_of(6, &inside);
        assert!(
            distance_cells(&grid, &inside)
                .iter()
                .all(|&d| d == FAR as f32)
        );
        inside[0] = false;
        assert_eq!(distance_cells(&grid, &inside)[29], 41f32.sqrt());
    }
}
