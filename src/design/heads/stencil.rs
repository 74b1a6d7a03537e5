//! Tables of what lies in which direction and how deep the water is there, about a head on a grid.

use super::classes::Class;
use super::field::{Sweep, bin_of};
use crate::brief::{Catalogue, Profile};
use crate::design::coverage::Tilt;
use crate::design::coverage::profile::depth_factor;
use std::collections::HashMap;
use std::rc::Rc;

/// Bin of the cell the head stands in: wetted whatever the arc.
pub const CENTRE: u8 = 255;
/// Step of the tilts that tables are kept for.
const TILT_STEP: f64 = 0.04;

/// Tilt of the ground under a head, in steps: east and north.
pub type TiltStep = (i8, i8);

/// The step nearest to a tilt (rise over the tangent of the water's fall).
pub fn tilt_step(east: f64, north: f64) -> TiltStep {
    (
        (east / TILT_STEP).round() as i8,
        (north / TILT_STEP).round() as i8,
    )
}

/// The tilt that a step stands for.
pub fn tilt_of(step: TiltStep) -> Tilt {
    Tilt {
        east: f64::from(step.0) * TILT_STEP,
        north: f64::from(step.1) * TILT_STEP,
    }
}

/// Depths of one radius on one tilt.
pub struct Stencil {
    /// Cells to each side of the middle one.
    pub reach: usize,
    /// Depth by cell, in shares of the wanted depth.
    pub depth: Vec<f32>,
    /// Wetted cells to each side of the middle, by row.
    pub half: Vec<usize>,
    /// Depths summed over the cells of each direction, those of the head's own cell last.
    by_bin: Box<[f64; 256]>,
}

impl Stencil {
    /// Depths summed over the cells of a sector.
    pub fn water(&self, sweep: Sweep) -> f64 {
        let sector: f64 = sweep.bins().map(|bin| self.by_bin[bin]).sum();
        sector + self.by_bin[usize::from(CENTRE)]
    }
}

/// Tables for the radii of a class on a grid of one cell size; cheap to copy.
#[derive(Clone)]
pub struct Stencils {
    cell_m: f64,
    reach: usize,
    bins: Rc<[u8]>,
    ready: HashMap<(usize, TiltStep), Rc<Stencil>>,
    radii_m: Vec<f64>,
    profiles: Vec<Profile>,
    /// Depth of a mean over the wanted depth: `1/π`, times the closer spacing's square.
    pub scale: f64,
}

impl Stencils {
    /// Tables for a class of radii. `wanted` is the depth wanted over the class's rate (1, or more where wind asks for it).
    pub fn new(
        class: &Class,
        catalogue: &Catalogue,
        cell_m: f64,
        wanted: f64,
        tilt_most: f64,
    ) -> Self {
        let reach = (class.radius_most_m() / (1.0 - tilt_most) / cell_m).ceil() as usize;
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
            bins: bins.into(),
            ready: HashMap::new(),
            profiles: class.radii_m.iter().map(profile).collect(),
            radii_m: class.radii_m.clone(),
            scale: 1.0 / (std::f64::consts::PI * wanted),
        }
    }

    /// Bins of the cells of one row of a stencil, from `column` cells east of its west end on.
    pub fn bins(&self, stencil: &Stencil, row: usize, column: usize) -> &[u8] {
        self.bins_of_row(stencil.reach, row, column)
    }

    fn bins_of_row(&self, reach: usize, row: usize, column: usize) -> &[u8] {
        let side = 2 * self.reach + 1;
        let shift = self.reach - reach;
        &self.bins[(row + shift) * side + shift + column..]
    }

    /// The table of one radius on one tilt.
    pub fn get(&mut self, radius: usize, tilt: TiltStep) -> Rc<Stencil> {
        if let Some(stencil) = self.ready.get(&(radius, tilt)) {
            return Rc::clone(stencil);
        }
        let stencil = Rc::new(self.make(radius, tilt));
        self.ready.insert((radius, tilt), Rc::clone(&stencil));
        stencil
    }

    /// On tilted ground a place `ρ` away wets as one `ρ' = ρ + tilt·Δ` away would on level ground, times `(ρ'/ρ)²`,
    /// since the flow in each direction stays what it is.
    fn make(&self, radius: usize, tilt: TiltStep) -> Stencil {
        let tilted = tilt_of(tilt);
        let Tilt { east, north } = tilted;
        let cells = self.radii_m[radius] / self.cell_m;
        let farthest = cells / (1.0 - east.hypot(north).min(0.6));
        let reach = (farthest.ceil() as usize).min(self.reach);
        let side = 2 * reach + 1;
        let mut depth = vec![0.0f32; side * side];
        let mut half = vec![0; side];
        for (cell, d) in depth.iter_mut().enumerate() {
            let (i, j) = (cell % side, cell / side);
            let (dx, dy) = (i as f64 - reach as f64, j as f64 - reach as f64);
            let far = dx.hypot(dy);
            let level = tilted.effective_m(dx, dy);
            let stretch = if far > 0.0 {
                (level / far).powi(2)
            } else {
                1.0
            };
            *d = (self.scale * stretch * depth_factor(self.profiles[radius], level / cells)) as f32;
            if *d > 0.0 {
                half[j] = half[j].max(i.abs_diff(reach));
            }
        }
        let mut by_bin = Box::new([0.0; 256]);
        for (j, row) in depth.chunks(side).enumerate() {
            for (d, bin) in row.iter().zip(self.bins_of_row(reach, j, 0)) {
                by_bin[usize::from(*bin)] += f64::from(*d);
            }
        }
        Stencil {
            reach,
            depth,
            half,
            by_bin,
        }
    }
}
