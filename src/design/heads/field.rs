//! The water on the grid while heads are tried: what a head would gain, direction by direction.
//!
//! Depths are in shares of the wanted depth. `J` is summed over the turf as `(1-u)²` where it is short and `¼(u-1)²`
//! where there is too much, plus a weight times the water that falls where it does harm; it is the thing made small.
//! Since rates are matched, a head's depth at a place does not depend on its arc: gains add up over directions.

use super::ground::Ground;
use crate::brief::{Catalogue, Profile};
use crate::design::coverage::profile::depth_factor;
use crate::geometry::Grid;
use geo::Coord;

/// Directions a circle is divided into, clockwise from north, 2 degrees each.
pub const BINS: usize = 180;
/// Bin of the cell the head stands in: wetted whatever the arc.
const CENTRE: u8 = 255;

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
    fn mask(self) -> [bool; 256] {
        let mut mask = [false; 256];
        for i in 0..self.count {
            mask[(self.first + i) % BINS] = true;
        }
        mask[CENTRE as usize] = true;
        mask
    }

    /// Whether a bin lies in the sector.
    pub fn holds(self, bin: usize) -> bool {
        (bin + BINS - self.first) % BINS < self.count
    }
}

/// Bin of the direction (dx, dy).
pub fn bin_of(dx: f64, dy: f64) -> usize {
    let degrees = dx.atan2(dy).to_degrees().rem_euclid(360.0);
    (degrees * BINS as f64 / 360.0) as usize % BINS
}

/// Tables of directions and depths about a head on a grid of one cell size.
pub struct Stencils {
    /// Cell size they are for, m.
    pub cell_m: f64,
    reach: usize,
    bins: Vec<u8>,
    depths: Vec<Option<Stencil>>,
    radii_m: Vec<f64>,
    profiles: Vec<Profile>,
    /// Depth of a mean over the wanted depth: `rate/π` over the rate, times the closer spacing's square.
    scale: f64,
}

/// Depths of one radius.
struct Stencil {
    reach: usize,
    depth: Vec<f32>,
    half: Vec<usize>,
}

impl Stencils {
    /// Tables for a class of radii. `wanted` is the depth wanted over the class's rate (1, or more where wind asks for it).
    pub fn new(
        class: &super::classes::Class,
        catalogue: &Catalogue,
        cell_m: f64,
        wanted: f64,
    ) -> Self {
        let reach = (class.radius_most_m() / cell_m).ceil() as usize;
        let side = 2 * reach + 1;
        let mut bins = vec![CENTRE; side * side];
        for (cell, bin) in bins.iter_mut().enumerate() {
            let (dx, dy) = (
                (cell % side) as f64 - reach as f64,
                (cell / side) as f64 - reach as f64,
            );
            if dx != 0.0 || dy != 0.0 {
                *bin = bin_of(dx, dy) as u8;
            }
        }
        let profile = |&r: &f64| catalogue.heads[class.model_for(catalogue, r)].profile;
        Self {
            cell_m,
            reach,
            bins,
            depths: class.radii_m.iter().map(|_| None).collect(),
            profiles: class.radii_m.iter().map(profile).collect(),
            radii_m: class.radii_m.clone(),
            scale: 1.0 / (std::f64::consts::PI * wanted),
        }
    }

    /// Makes the table of one radius ready.
    fn ready(&mut self, radius: usize) {
        if self.depths[radius].is_some() {
            return;
        }
        let cells = self.radii_m[radius] / self.cell_m;
        let reach = (cells.ceil() as usize).min(self.reach);
        let side = 2 * reach + 1;
        let mut depth = vec![0.0f32; side * side];
        for (cell, d) in depth.iter_mut().enumerate() {
            let (dx, dy) = (
                (cell % side) as f64 - reach as f64,
                (cell / side) as f64 - reach as f64,
            );
            *d = (self.scale * depth_factor(self.profiles[radius], dx.hypot(dy) / cells)) as f32;
        }
        let half = (0..side)
            .map(|row| {
                let dy = row as f64 - reach as f64;
                ((cells * cells - dy * dy).max(0.0).sqrt() as usize).min(reach)
            })
            .collect();
        self.depths[radius] = Some(Stencil { reach, depth, half });
    }
}

/// The water on the grid of one piece.
pub struct Field<'a> {
    /// The ground.
    pub ground: &'a Ground,
    /// Depth less the wanted depth, in shares of it.
    excess: Vec<f32>,
    /// Tables.
    stencils: &'a mut Stencils,
    /// Weight of water that does harm.
    pub harm: f32,
    row_gain: Vec<f32>,
}

impl<'a> Field<'a> {
    /// Dry ground.
    pub fn new(ground: &'a Ground, stencils: &'a mut Stencils, harm: f32) -> Self {
        Self {
            excess: vec![-1.0; ground.grid.cells()],
            ground,
            stencils,
            harm,
            row_gain: Vec::new(),
        }
    }

    /// The grid.
    pub fn grid(&self) -> &Grid {
        &self.ground.grid
    }

    /// Takes all water off.
    pub fn dry(&mut self) {
        self.excess.fill(-1.0);
    }

    /// What J falls by in each direction (in m²) if a head at `at` threw `radius` that way.
    pub fn gains(&mut self, at: Coord<f64>, radius: usize) -> Gains {
        self.stencils.ready(radius);
        let mut gains = [0.0f32; 256];
        let grid = self.ground.grid;
        let Some(stencil) = &self.stencils.depths[radius] else {
            return gains;
        };
        let (column, row) = grid.cell_of(at);
        let side = 2 * stencil.reach + 1;
        let bins_side = 2 * self.stencils.reach + 1;
        let shift = self.stencils.reach - stencil.reach;
        self.row_gain.resize(side, 0.0);
        for j in 0..side {
            let y = row - stencil.reach as i64 + j as i64;
            let half = stencil.half[j];
            let Some(span) = Span::new(&grid, column, y, half) else {
                continue;
            };
            let inner = stencil.reach - half + span.cut;
            let depth = &stencil.depth[j * side + inner..][..span.count];
            let excess = &self.excess[span.start..][..span.count];
            let want = &self.ground.want[span.start..][..span.count];
            let out = &mut self.row_gain[..span.count];
            row_gains(depth, excess, want, self.harm, out);
            let bins = &self.stencils.bins[(j + shift) * bins_side + shift + inner..][..span.count];
            for (&bin, &gain) in bins.iter().zip(out.iter()) {
                gains[bin as usize] += gain;
            }
        }
        let area = (grid.cell_m * grid.cell_m) as f32;
        gains.iter_mut().for_each(|gain| *gain *= area);
        gains
    }

    /// Puts a head's water on (`sign` 1) or takes it off (-1).
    pub fn rain(&mut self, at: Coord<f64>, radius: usize, sweep: Sweep, sign: f32) {
        self.stencils.ready(radius);
        let grid = self.ground.grid;
        let Some(stencil) = &self.stencils.depths[radius] else {
            return;
        };
        let mask = sweep.mask().map(|wet| if wet { sign } else { 0.0 });
        let (column, row) = grid.cell_of(at);
        let side = 2 * stencil.reach + 1;
        let bins_side = 2 * self.stencils.reach + 1;
        let shift = self.stencils.reach - stencil.reach;
        for j in 0..side {
            let y = row - stencil.reach as i64 + j as i64;
            let half = stencil.half[j];
            let Some(span) = Span::new(&grid, column, y, half) else {
                continue;
            };
            let inner = stencil.reach - half + span.cut;
            let depth = &stencil.depth[j * side + inner..][..span.count];
            let bins = &self.stencils.bins[(j + shift) * bins_side + shift + inner..][..span.count];
            let excess = &mut self.excess[span.start..][..span.count];
            for ((e, &d), &bin) in excess.iter_mut().zip(depth).zip(bins) {
                *e += d * mask[bin as usize];
            }
        }
    }

    /// Depths on the wanted cells, in shares of the wanted depth.
    pub fn depths(&self) -> Vec<f32> {
        self.ground
            .want
            .iter()
            .zip(&self.excess)
            .filter(|&(&want, _)| want > 0.0)
            .map(|(_, &e)| (e + 1.0).max(0.0))
            .collect()
    }

    /// Water where it does harm (tree pits included) over all water.
    pub fn overspray(&self) -> f64 {
        let (mut lost, mut all) = (0.0f64, 0.0f64);
        for (&want, &excess) in self.ground.want.iter().zip(&self.excess) {
            let depth = f64::from(excess + 1.0);
            all += depth;
            if want < 0.0 {
                lost += depth;
            }
        }
        if all > 0.0 { lost / all } else { 0.0 }
    }

    /// J over the whole piece, m².
    pub fn cost(&self) -> f64 {
        let area = self.ground.grid.cell_m * self.ground.grid.cell_m;
        let sum: f64 = self
            .ground
            .want
            .iter()
            .zip(&self.excess)
            .map(|(&want, &e)| {
                if want > 0.0 {
                    f64::from(dislike(e))
                } else {
                    f64::from(-want * self.harm * (e + 1.0))
                }
            })
            .sum();
        sum * area
    }
}

/// `(1-u)²` when short, `¼(u-1)²` when over, of the excess `u - 1`; without a branch.
fn dislike(excess: f32) -> f32 {
    let short = excess.min(0.0);
    0.25 * excess * excess + 0.75 * short * short
}

fn row_gains(depth: &[f32], excess: &[f32], want: &[f32], harm: f32, out: &mut [f32]) {
    for (((o, &d), &e), &w) in out.iter_mut().zip(depth).zip(excess).zip(want) {
        let better = dislike(e) - dislike(e + d);
        *o = w.max(0.0) * better + w.min(0.0) * harm * d;
    }
}

/// The part of one row of a disc that lies on the grid.
struct Span {
    start: usize,
    count: usize,
    /// Cells of the disc's row cut off in the west.
    cut: usize,
}

impl Span {
    fn new(grid: &Grid, column: i64, row: i64, half: usize) -> Option<Self> {
        let from = (column - half as i64).max(0);
        let to = (column + half as i64).min(grid.columns as i64 - 1);
        if !(0..grid.rows as i64).contains(&row) || from > to {
            return None;
        }
        Some(Self {
            start: row as usize * grid.columns + from as usize,
            count: (to - from + 1) as usize,
            cut: (from - (column - half as i64)) as usize,
        })
    }
}
