//! The water on the grid while heads are tried: what a head would gain, direction by direction.
//!
//! Depths are in shares of the wanted depth. `J` is summed over the turf as `(1-u)²` where it is short and `¼(u-1)²`
//! where there is too much, plus a weight times the water that falls where it does harm; it is the thing made small.
//! Since rates are matched, a head's depth at a place does not depend on its arc: gains add up over directions.

mod disc;
mod passes;

use super::ground::Ground;
use super::stencil::{CENTRE, Stencils};
use crate::brief::Profile;
use crate::design::coverage::profile::depth_factor;
use crate::design::model::Arc;
use crate::geometry::SquareSums;
use disc::Disc;
use geo::Coord;
use passes::{AllRound, ByDirection, Caught, Rain, dislike};
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

    /// `wet` in its bins and the middle, 0 elsewhere.
    fn mask(self, wet: f32) -> [f32; 256] {
        let mut mask = [0.0; 256];
        for bin in self.bins() {
            mask[bin] = wet;
        }
        mask[CENTRE as usize] = wet;
        mask
    }

    /// Its bins.
    pub fn bins(self) -> impl Iterator<Item = usize> {
        (0..self.count).map(move |i| (self.first + i) % BINS)
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
    /// As wide as the machine has them; sums are in lanes of their own, so results do not depend on it.
    lanes: pulp::Arch,
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
            lanes: pulp::Arch::new(),
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
        let area = self.cell_m2();
        let pass = ByDirection {
            disc: Disc::new(&self.ground.grid, &self.stencils, stand, &stencil),
            excess: &self.excess,
            want: &self.ground.want,
            harm: self.harm,
            wall: self.wall,
            row_gain: &mut self.row_gain,
        };
        self.lanes.dispatch(pass).map(|gain| gain * area)
    }

    /// What J falls by (in m²) if a head there threw `radius` all round. Walls are not asked.
    pub fn gain_of_circle(&mut self, stand: &Stand, radius: usize) -> f32 {
        let stencil = self.stencils.get(radius, stand.tilt);
        let pass = AllRound {
            disc: Disc::new(&self.ground.grid, &self.stencils, stand, &stencil),
            excess: &self.excess,
            want: &self.ground.want,
            harm: self.harm,
        };
        self.lanes.dispatch(pass) * self.cell_m2()
    }

    /// Puts a head's water on (`sign` 1) or takes it off (-1).
    pub fn rain(&mut self, stand: &Stand, radius: usize, sweep: Sweep, sign: f32) {
        let stencil = self.stencils.get(radius, stand.tilt);
        self.lanes.dispatch(Rain {
            disc: Disc::new(&self.ground.grid, &self.stencils, stand, &stencil),
            excess: &mut self.excess,
            sweep,
            sign,
        });
    }

    fn cell_m2(&self) -> f32 {
        (self.ground.grid.cell_m * self.ground.grid.cell_m) as f32
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
        let cells = self.ground.grid.cells_within(at, reach_m);
        let wanted = cells.filter(|cell| self.ground.want[*cell] > 0.0);
        wanted
            .map(|cell| (self.excess[cell] + 1.0).max(0.0))
            .collect()
    }

    /// Where water of a head falls, in cells at the wanted depth: all of it, and what does harm. Other turf is harmless.
    pub fn lost(&mut self, stand: &Stand, radius: usize, sweep: Sweep) -> (f64, f64) {
        let stencil = self.stencils.get(radius, stand.tilt);
        let all = stencil.water(sweep);
        let pass = Caught {
            disc: Disc::new(&self.ground.grid, &self.stencils, stand, &stencil),
            catches: &self.ground.catches,
            sweep,
        };
        let caught = self.lanes.dispatch(pass);
        (all, (all - caught).max(0.0))
    }
}
