//! The water about a head: how much of its ground is short, how much goes astray, with the head as it is or otherwise.

use crate::brief::Catalogue;
use crate::design::coverage::spread::{Scratch, Throw};
use crate::design::coverage::{self, Walls};
use crate::design::model::{Head, Working};
use crate::geometry::{Grid, fill};
use crate::site::{ObstacleKind, Parcel};
use geo::{BoundingRect, Coord};

/// Greatest cell, m, and cells to the least radius.
const CELL_M: f64 = 0.5;
const CELLS_A_RADIUS: f64 = 8.0;
/// Most cells of one grid.
const CELLS_MOST: f64 = 4e6;
/// What water counts that falls off the turf, over a like depth missing on it: on buildings, paving, elsewhere.
const ASTRAY: [f64; 3] = [3.0, 1.2, 0.8];
/// What ground counts that gets more than twice its depth, over what it counts dry.
const SOAKED: f64 = 0.1;

/// What lies at a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ground {
    /// Turf.
    Turf,
    /// A building.
    Building,
    /// Paving.
    Paving,
    /// Anything else.
    Other,
}

/// The water of all heads on a grid over the turf.
pub(super) struct Field<'a> {
    pub(super) catalogue: &'a Catalogue,
    walls: Walls,
    grid: Grid,
    ground: Vec<Ground>,
    rate: Vec<f32>,
    /// Rate wanted, mm/h, at each cell: that of the turf's main class.
    wanted: Vec<f32>,
    /// The greatest of them, which water off the turf is held against, mm/h.
    usual_mm_h: f64,
}

/// Cells that one head wets, and by how much, mm/h.
pub(super) type Water = Vec<(usize, f32)>;

impl<'a> Field<'a> {
    /// The field of a system as it works; `None` without turf.
    pub(super) fn of(
        parcel: &Parcel,
        heads: &[Head],
        working: &[Working],
        wanted_mm_h: &[f64],
        catalogue: &'a Catalogue,
    ) -> Option<Self> {
        let turf = parcel
            .turf
            .iter()
            .filter_map(|turf| turf.shape.bounding_rect());
        let bounds = turf.reduce(|a, b| {
            let low = Coord {
                x: a.min().x.min(b.min().x),
                y: a.min().y.min(b.min().y),
            };
            let high = Coord {
                x: a.max().x.max(b.max().x),
                y: a.max().y.max(b.max().y),
            };
            geo::Rect::new(low, high)
        })?;
        let radii = working
            .iter()
            .map(|work| work.radius_m)
            .filter(|r| *r > 0.0);
        let least_m = radii.clone().fold(f64::INFINITY, f64::min);
        let most_m = radii.fold(0.0, f64::max);
        let area_m2 = (bounds.width() + 2.0 * most_m) * (bounds.height() + 2.0 * most_m);
        let cell_m = (least_m / CELLS_A_RADIUS)
            .clamp(0.15, CELL_M)
            .max((area_m2 / CELLS_MOST).sqrt());
        let grid = Grid::over(bounds, most_m + 1.0, cell_m);
        let mut ground = vec![Ground::Other; grid.cells()];
        let mut wanted = vec![0.0; grid.cells()];
        for (turf, wanted_mm_h) in parcel.turf.iter().zip(wanted_mm_h) {
            fill(&grid, &turf.shape, |cell| {
                ground[cell] = Ground::Turf;
                wanted[cell] = *wanted_mm_h as f32;
            });
        }
        for obstacle in &parcel.obstacles {
            let kind = match obstacle.kind {
                ObstacleKind::Building => Ground::Building,
                ObstacleKind::Paving => Ground::Paving,
                _ => continue,
            };
            fill(&grid, &obstacle.shape, |cell| ground[cell] = kind);
        }
        let mut field = Self {
            catalogue,
            walls: coverage::walls_of(&parcel.obstacles),
            rate: vec![0.0; grid.cells()],
            grid,
            ground,
            usual_mm_h: wanted_mm_h.iter().copied().fold(1e-6, f64::max),
            wanted,
        };
        for (head, work) in heads.iter().zip(working) {
            let water = field.water(head, work);
            field.add(&water, 1.0);
        }
        Some(field)
    }

    /// Where a head's water falls.
    pub(super) fn water(&self, head: &Head, work: &Working) -> Water {
        let mut water = Water::new();
        let Some(throw) = Throw::new(head, work, self.catalogue, &self.walls) else {
            return water;
        };
        let mut scratch = Scratch::default();
        throw.runs(&self.grid, &mut scratch, 1.0, |first, weights, measure| {
            let wet = weights
                .iter()
                .enumerate()
                .filter(|(_, weight)| **weight > 0.0);
            water.extend(wet.map(|(i, weight)| (first + i, weight * measure.mm_h)));
        });
        water
    }

    /// Adds, or with -1 takes away, water.
    pub(super) fn add(&mut self, water: &Water, times: f32) {
        for &(cell, mm_h) in water {
            self.rate[cell] += times * mm_h;
        }
    }

    /// Share of some water that falls on a kind of ground.
    pub(super) fn share_on(&self, water: &Water, on: impl Fn(Ground) -> bool) -> f64 {
        let all: f64 = water.iter().map(|(_, mm_h)| f64::from(*mm_h)).sum();
        let there = water.iter().filter(|(cell, _)| on(self.ground[*cell]));
        let there: f64 = there.map(|(_, mm_h)| f64::from(*mm_h)).sum();
        there / all.max(1e-12)
    }

    /// What is bad about the water if `more` were added, over what it is without it, m² of dry ground.
    ///
    /// A cell of turf counts the square of the share that it lacks, and little for what it gets beyond twice its depth;
    /// elsewhere water counts by where it falls.
    pub(super) fn harm(&self, more: &Water) -> f64 {
        let mut sum = 0.0;
        for &(cell, mm_h) in more {
            let before = f64::from(self.rate[cell]);
            let after = before + f64::from(mm_h);
            let wanted = f64::from(self.wanted[cell]);
            sum += match self.ground[cell] {
                Ground::Turf if wanted > 0.0 => bad(after / wanted) - bad(before / wanted),
                Ground::Turf => 0.0,
                Ground::Building => ASTRAY[0] * f64::from(mm_h) / self.usual_mm_h,
                Ground::Paving => ASTRAY[1] * f64::from(mm_h) / self.usual_mm_h,
                Ground::Other => ASTRAY[2] * f64::from(mm_h) / self.usual_mm_h,
            };
        }
        sum * self.grid.cell_m.powi(2)
    }

    /// Share of the wanted depth that a place gets; `None` off the turf.
    pub(super) fn depth_at(&self, at: Coord<f64>) -> Option<f64> {
        let cell = self.grid.index_of(at)?;
        let on_turf = self.ground[cell] == Ground::Turf && self.wanted[cell] > 0.0;
        on_turf.then(|| f64::from(self.rate[cell] / self.wanted[cell]))
    }

    /// Whether a place is turf.
    pub(super) fn is_turf(&self, at: Coord<f64>) -> bool {
        self.grid
            .index_of(at)
            .is_some_and(|cell| self.ground[cell] == Ground::Turf)
    }
}

fn bad(depth: f64) -> f64 {
    let lacking = (1.0 - depth).max(0.0);
    lacking * lacking + SOAKED * (depth - 2.0).max(0.0)
}
