//! How the ground under a piece tilts, in the piece's axes, by steps fine enough for throws.

use super::axes::Axes;
use super::stencil::{TiltStep, tilt_step};
use crate::design::coverage::slope::Tilt;
use crate::geometry::Grid;
use crate::site::Terrain;
use geo::{Coord, Rect};

/// Side of the squares that share one tilt, as a share of the longest throw.
const SQUARE_SHARE: f64 = 0.5;

/// Tilts on a coarse grid.
pub struct Tilts {
    grid: Grid,
    steps: Vec<TiltStep>,
    /// The greatest tilt.
    pub most: f64,
    /// The mean tilt, in the axes.
    pub mean: Coord<f64>,
}

impl Tilts {
    /// Tilts over `bounds` (in the axes) for throws up to `reach_m` whose water falls at `fall_deg`.
    pub fn new(
        terrain: &Terrain,
        axes: &Axes,
        bounds: Rect<f64>,
        reach_m: f64,
        fall_deg: f64,
    ) -> Self {
        let grid = Grid::centred(bounds, reach_m, (SQUARE_SHARE * reach_m).max(0.5));
        let mut most = 0.0f64;
        let mut mean = Coord { x: 0.0, y: 0.0 };
        let share = 1.0 / grid.cells() as f64;
        let steps = (0..grid.cells())
            .map(|cell| {
                let at = grid.centre(cell % grid.columns, cell / grid.columns);
                let tilt = Tilt::of(terrain, axes.parcel(at), reach_m, fall_deg);
                most = most.max(tilt.east.hypot(tilt.north));
                let (east, north) = axes.local_direction(tilt.east, tilt.north);
                mean = Coord {
                    x: mean.x + share * east,
                    y: mean.y + share * north,
                };
                tilt_step(east, north)
            })
            .collect();
        Self {
            grid,
            steps,
            most,
            mean,
        }
    }

    /// The tilt at a place; level outside the grid.
    pub fn at(&self, at: Coord<f64>) -> TiltStep {
        self.grid
            .index_of(at)
            .map_or((0, 0), |cell| self.steps[cell])
    }
}
