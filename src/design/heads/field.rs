//! The water on the grid while heads are tried: what a head would gain, direction by direction.
//!
//! Depths are in shares of the wanted depth. `J` is summed over the turf as `(1-u)²` where it is short and `¼(u-1)²`
//! where there is too much, plus a weight times the water that falls where it does harm; it is the thing made small.
//! Since rates are matched, a head's depth at a place does not depend on its arc: gains add up over directions.

use super::ground::Ground;
use super::stencil::{CENTRE, Stencil, Stencils};
use crate::brief::Profile;
use crate::design::coverage::profile::depth_factor;
use crate::design::model::Arc;
use crate::geometry::{Grid, SquareSums};
use geo::Coord;
use std::rc::Rc;

/// Directions a circle is divided into, clockwise from north, 2 degrees each.
pub const BINS: usize = 180;
/// Gain of each direction; the last places are for the head's own cell.
pub type Gains = [f32; 256];

/// A sector in bins: the first and how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sweep {
    /// First bin.
    pub first: usize,
    /// Number of bins, `BINS` for a full circle.
    pub count: usize,
}

impl Sweep {
    /// The full circle.
    pub const FULL: Self = Self {
        first: 0,
        count: BINS,
    };

    fn mask(self) -> [bool; 256] {
        let mut mask = [false; 256];
        for i in 0..self.count {
            mask[(self.first + i) % BINS] = true;
        }
        mask[CENTRE as usize] = true;
        mask
    }
}

/// Bin of the direction (dx, dy).
pub fn bin_of(dx: f64, dy: f64) -> usize {
    let degrees = dx.atan2(dy).to_degrees().rem_euclid(360.0);
    (degrees * BINS as f64 / 360.0) as usize % BINS
}

/// Sine and cosine of the bearing in the middle of each bin.
pub static DIRECTIONS: std::sync::LazyLock<[(f64, f64); BINS]> = std::sync::LazyLock::new(|| {
    std::array::from_fn(|bin| ((bin as f64 + 0.5) * std::f64::consts::TAU / BINS as f64).sin_cos())
});

/// Where a head stands, as the grid sees it.
#[derive(Clone)]
pub struct Stand {
    /// Column and row of its cell.
    pub cell: (i64, i64),
    /// Tilt of the ground.
    pub tilt: super::stencil::TiltStep,
    /// Free distance to the first wall by bin, in cells, where a wall is in reach.
    pub free: Option<Rc<[f32]>>,
}

/// The water on the grid of one piece.
#[derive(Clone)]
pub struct Field<'a> {
    /// The ground.
    pub ground: &'a Ground,
    /// Depth less the wanted depth, in shares of it.
    excess: Vec<f32>,
    stencils: Stencils,
    /// Weight of water that does harm.
    pub harm: f32,
    /// Weight of water held back by a wall, over plain harm.
    wall: f32,
    row_gain: Vec<f32>,
}

impl<'a> Field<'a> {
    /// Dry ground.
    pub fn new(ground: &'a Ground, stencils: Stencils, harm: f32, wall: f32) -> Self {
        Self {
            excess: vec![-1.0; ground.grid.cells()],
            ground,
            stencils,
            harm,
            wall,
            row_gain: Vec::new(),
        }
    }

    /// Puts on the water of a head that already stands on other turf: `share` is its depth over this class's.
    pub fn foreign(
        &mut self,
        at: Coord<f64>,
        arc: &Arc,
        radius_m: f64,
        profile: Profile,
        share: f64,
    ) {
        let grid = self.ground.grid;
        let scale = share * self.stencils.scale;
        let (column, row) = grid.cell_of(at);
        let reach = (radius_m / grid.cell_m).ceil() as i64;
        for y in (row - reach).max(0)..=(row + reach).min(grid.rows as i64 - 1) {
            for x in (column - reach).max(0)..=(column + reach).min(grid.columns as i64 - 1) {
                let centre = grid.centre(x as usize, y as usize);
                let (dx, dy) = (centre.x - at.x, centre.y - at.y);
                let far = dx.hypot(dy) / radius_m;
                if far < 1.0 && arc.holds(dx, dy) {
                    let cell = y as usize * grid.columns + x as usize;
                    self.excess[cell] += (scale * depth_factor(profile, far)) as f32;
                }
            }
        }
    }

    /// What J falls by in each direction (in m²) if a head there threw `radius` that way.
    pub fn gains(&mut self, stand: &Stand, radius: usize) -> Gains {
        let stencil = self.stencils.get(radius, stand.tilt);
        // Four sums side by side: neighbouring cells share a bin, and one sum would wait for the other.
        let mut sums = [[0.0f32; 256]; 4];
        let mut row_gain = std::mem::take(&mut self.row_gain);
        row_gain.resize(2 * stencil.reach + 1, 0.0);
        for row in rows(&self.ground.grid, stand, &stencil) {
            let depth = row.depth(&stencil);
            let excess = &self.excess[row.start..][..row.count];
            let want = &self.ground.want[row.start..][..row.count];
            let out = &mut row_gain[..row.count];
            row_gains(depth, excess, want, self.harm, out);
            let bins = &self.stencils.bins(&stencil, row.row, row.column)[..row.count];
            if let Some(free) = &stand.free {
                for (i, bin) in row.stopped(&stencil, bins, free) {
                    out[i] = -self.wall * self.harm * depth[i];
                    debug_assert!(bin != CENTRE);
                }
            }
            let (fours, rest) = bins.as_chunks::<4>();
            let (gains, rest_gains) = out.as_chunks::<4>();
            for (bin, gain) in fours.iter().zip(gains) {
                for i in 0..4 {
                    sums[i][bin[i] as usize] += gain[i];
                }
            }
            for (&bin, &gain) in rest.iter().zip(rest_gains) {
                sums[0][bin as usize] += gain;
            }
        }
        self.row_gain = row_gain;
        let area = (self.ground.grid.cell_m * self.ground.grid.cell_m) as f32;
        let [a, b, c, d] = &sums;
        std::array::from_fn(|i| ((a[i] + b[i]) + (c[i] + d[i])) * area)
    }

    /// What J falls by (in m²) if a head there threw `radius` all round. Walls are not asked.
    pub fn gain_of_circle(&mut self, stand: &Stand, radius: usize) -> f32 {
        let stencil = self.stencils.get(radius, stand.tilt);
        let mut sums = [0.0f32; LANES];
        for row in rows(&self.ground.grid, stand, &stencil) {
            let depth = row.depth(&stencil);
            let excess = &self.excess[row.start..][..row.count];
            let want = &self.ground.want[row.start..][..row.count];
            add_row_gains(depth, excess, want, self.harm, &mut sums);
        }
        let area = (self.ground.grid.cell_m * self.ground.grid.cell_m) as f32;
        sums.iter().sum::<f32>() * area
    }

    /// Puts a head's water on (`sign` 1) or takes it off (-1).
    pub fn rain(&mut self, stand: &Stand, radius: usize, sweep: Sweep, sign: f32) {
        let stencil = self.stencils.get(radius, stand.tilt);
        let mask = sweep.mask().map(|wet| if wet { sign } else { 0.0 });
        for row in rows(&self.ground.grid, stand, &stencil) {
            let depth = row.depth(&stencil);
            let bins = &self.stencils.bins(&stencil, row.row, row.column)[..row.count];
            let excess = &mut self.excess[row.start..][..row.count];
            for ((e, &d), &bin) in excess.iter_mut().zip(depth).zip(bins) {
                *e += d * mask[bin as usize];
            }
            if let Some(free) = &stand.free {
                for (i, bin) in row.stopped(&stencil, bins, free) {
                    excess[i] -= depth[i] * mask[bin as usize];
                }
            }
        }
    }

    /// J but for the water that does harm, m².
    pub fn unevenness(&self) -> f64 {
        let cells = self.ground.want.iter().zip(&self.excess);
        let sum: f64 = cells
            .filter(|&(&want, _)| want > 0.0)
            .map(|(_, &excess)| f64::from(dislike(excess)))
            .sum();
        sum * self.ground.grid.cell_m.powi(2)
    }

    /// What could be won at most within squares: sums of `(1-u)²` where it is short, in cells, ready to be asked.
    pub fn shortage(&self) -> SquareSums {
        SquareSums::of(self.ground.grid, |cell| {
            let short = f64::from(self.excess[cell].min(0.0)).powi(2);
            if self.ground.want[cell] > 0.0 {
                short
            } else {
                0.0
            }
        })
    }

    /// Depths on the wanted cells, in shares of the wanted depth.
    pub fn depths(&self) -> Vec<f32> {
        let cells = self.ground.want.iter().zip(&self.excess);
        cells
            .filter(|&(&want, _)| want > 0.0)
            .map(|(_, &excess)| (excess + 1.0).max(0.0))
            .collect()
    }

    /// Depths on the wanted cells within `reach_m` of a place.
    pub fn depths_near(&self, at: Coord<f64>, reach_m: f64) -> Vec<f32> {
        let grid = &self.ground.grid;
        let (column, row) = grid.cell_of(at);
        let reach = (reach_m / grid.cell_m) as i64;
        let mut depths = Vec::new();
        for y in (row - reach).max(0)..=(row + reach).min(grid.rows as i64 - 1) {
            let half = ((reach * reach - (y - row).pow(2)) as f64).max(0.0).sqrt() as i64;
            for x in (column - half).max(0)..=(column + half).min(grid.columns as i64 - 1) {
                let cell = y as usize * grid.columns + x as usize;
                if self.ground.want[cell] > 0.0 {
                    depths.push((self.excess[cell] + 1.0).max(0.0));
                }
            }
        }
        depths
    }

    /// Where water of a head falls, in cells at the wanted depth: all of it, and what does harm. Other turf is harmless.
    pub fn lost(&mut self, stand: &Stand, radius: usize, sweep: Sweep) -> (f64, f64) {
        let stencil = self.stencils.get(radius, stand.tilt);
        let mask = sweep.mask();
        let mut all = 0.0;
        let side = 2 * stencil.reach + 1;
        for j in 0..side {
            let bins = &self.stencils.bins(&stencil, j, 0)[..side];
            let depth = &stencil.depth[j * side..][..side];
            let wet = bins
                .iter()
                .zip(depth)
                .filter(|(bin, _)| mask[**bin as usize]);
            all += wet.map(|(_, &d)| f64::from(d)).sum::<f64>();
        }
        let mut kept = 0.0;
        for row in rows(&self.ground.grid, stand, &stencil) {
            let bins = &self.stencils.bins(&stencil, row.row, row.column)[..row.count];
            let depth = row.depth(&stencil);
            let dry = &self.ground.dry[row.start..][..row.count];
            for ((&bin, &d), &dry) in bins.iter().zip(depth).zip(dry) {
                kept += if mask[bin as usize] && !dry {
                    f64::from(d)
                } else {
                    0.0
                };
            }
        }
        (all, (all - kept).max(0.0))
    }
}

/// The part of one row of a disc that lies on the grid.
struct DiscRow {
    /// Row of the stencil.
    row: usize,
    /// First column of the stencil.
    column: usize,
    /// First cell of the grid.
    start: usize,
    count: usize,
}

impl DiscRow {
    fn depth<'s>(&self, stencil: &'s Stencil) -> &'s [f32] {
        &stencil.depth[self.row * (2 * stencil.reach + 1) + self.column..][..self.count]
    }

    /// Cells of the row that lie behind a wall, with their bins.
    fn stopped<'r>(
        &'r self,
        stencil: &'r Stencil,
        bins: &'r [u8],
        free: &'r [f32],
    ) -> impl Iterator<Item = (usize, u8)> + 'r {
        let dy = self.row as f32 - stencil.reach as f32;
        bins.iter().enumerate().filter_map(move |(i, &bin)| {
            let dx = (self.column + i) as f32 - stencil.reach as f32;
            let free = free.get(bin as usize)?;
            (dx * dx + dy * dy > free * free).then_some((i, bin))
        })
    }
}

/// The rows of a stencil about a head, each cut to the grid.
fn rows<'s>(
    grid: &Grid,
    stand: &Stand,
    stencil: &'s Stencil,
) -> impl Iterator<Item = DiscRow> + 's {
    let (column, row) = stand.cell;
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

/// `(1-u)²` when short, `¼(u-1)²` when over, of the excess `u - 1`; without a branch.
#[inline(always)]
fn dislike(excess: f32) -> f32 {
    let short = excess.min(0.0);
    0.25 * excess * excess + 0.75 * short * short
}

/// What J falls by on one cell that gets `depth` more.
#[inline(always)]
fn cell_gain(depth: f32, excess: f32, want: f32, harm: f32) -> f32 {
    let better = dislike(excess) - dislike(excess + depth);
    want.max(0.0) * better + want.min(0.0) * harm * depth
}

fn row_gains(depth: &[f32], excess: &[f32], want: &[f32], harm: f32, out: &mut [f32]) {
    for (((o, &d), &e), &w) in out.iter_mut().zip(depth).zip(excess).zip(want) {
        *o = cell_gain(d, e, w, harm);
    }
}

/// Sums side by side, in a fixed order whatever the machine.
const LANES: usize = 8;

fn add_row_gains(depth: &[f32], excess: &[f32], want: &[f32], harm: f32, sums: &mut [f32; LANES]) {
    let (depth, depth_rest) = depth.as_chunks::<LANES>();
    let (excess, excess_rest) = excess.as_chunks::<LANES>();
    let (want, want_rest) = want.as_chunks::<LANES>();
    for ((d, e), w) in depth.iter().zip(excess).zip(want) {
        for lane in 0..LANES {
            sums[lane] += cell_gain(d[lane], e[lane], w[lane], harm);
        }
    }
    let rest = depth_rest.iter().zip(excess_rest).zip(want_rest);
    for (sum, ((&d, &e), &w)) in sums.iter_mut().zip(rest) {
        *sum += cell_gain(d, e, w, harm);
    }
}
