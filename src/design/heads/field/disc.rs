//! The cells of a throw on the grid, row by row.

use super::super::stencil::{Stencil, Stencils};
use super::Stand;
use crate::geometry::Grid;

/// A head's whole circle on the grid.
#[derive(Clone, Copy)]
pub struct Disc<'s> {
    grid: &'s Grid,
    stencils: &'s Stencils,
    stand: &'s Stand,
    /// Depths of its radius.
    pub stencil: &'s Stencil,
}

/// The part of one row of a disc that lies on the grid.
pub struct DiscRow {
    /// Row of the stencil.
    row: usize,
    /// First column of the stencil.
    column: usize,
    /// First cell of the grid.
    pub start: usize,
    /// Cells.
    pub count: usize,
}

impl<'s> Disc<'s> {
    /// The circle about a stand, with the depths of a radius.
    pub fn new(
        grid: &'s Grid,
        stencils: &'s Stencils,
        stand: &'s Stand,
        stencil: &'s Stencil,
    ) -> Self {
        Self {
            grid,
            stencils,
            stand,
            stencil,
        }
    }

    /// The rows about the head, each cut to the grid.
    #[inline(always)]
    pub fn rows(&self) -> impl Iterator<Item = DiscRow> + use<'s> {
        let (grid, stencil) = (self.grid, self.stencil);
        let (column, row) = self.stand.cell;
        let reach = stencil.reach as i64;
        let (columns, last) = (grid.columns as i64, grid.rows as i64);
        (0..=2 * reach).filter_map(move |j| {
            let y = row - reach + j;
            let half = stencil.half[j as usize] as i64;
            let from = (column - half).max(0);
            let to = (column + half).min(columns - 1);
            ((0..last).contains(&y) && from <= to).then(|| DiscRow {
                row: j as usize,
                column: (from - (column - reach)) as usize,
                start: (y * columns + from) as usize,
                count: (to - from + 1) as usize,
            })
        })
    }

    /// Depths of a row.
    #[inline(always)]
    pub fn depth(&self, row: &DiscRow) -> &'s [f32] {
        &self.stencil.depth[row.row * (2 * self.stencil.reach + 1) + row.column..][..row.count]
    }

    /// Directions of a row's cells.
    #[inline(always)]
    pub fn bins(&self, row: &DiscRow) -> &'s [u8] {
        &self.stencils.bins(self.stencil, row.row, row.column)[..row.count]
    }

    /// Cells of a row that lie behind a wall, with their bins; none where no wall is near.
    #[inline(always)]
    pub fn stopped(&self, row: &DiscRow) -> impl Iterator<Item = (usize, u8)> + use<'s> {
        let free = self.stand.free.as_deref();
        let bins = free.map_or(&[][..], |_| self.bins(row));
        let dy = row.row as f32 - self.stencil.reach as f32;
        let west = row.column as f32 - self.stencil.reach as f32;
        bins.iter().enumerate().filter_map(move |(i, &bin)| {
            let dx = west + i as f32;
            let free = free?.get(bin as usize)?;
            (dx * dx + dy * dy > free * free).then_some((i, bin))
        })
    }
}
