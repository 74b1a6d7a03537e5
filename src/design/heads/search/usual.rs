//! How far heads usually throw about a place: what the ground within a throw asks for, on the mean.

use super::super::classes::Class;
use super::super::edges::radius_for;
use super::super::ground::Ground;
use crate::geometry::SquareSums;
use geo::Coord;

/// Sums of the throws that the widths ask for, and the number of their cells.
#[derive(Debug)]
pub struct Usual {
    throws_m: SquareSums,
    cells: SquareSums,
    longest_m: f64,
}

impl Usual {
    /// The throws of a class on a piece of ground; `longest_m` is the longest of them.
    pub fn of(ground: &Ground, class: &Class, longest_m: f64) -> Self {
        let wide = |cell: usize| Some(f64::from(ground.width_m[cell])).filter(|&width| width > 0.0);
        let throw_m = |cell| wide(cell).map_or(0.0, |width_m| radius_for(width_m, class));
        let one = |cell| wide(cell).map_or(0.0, |_| 1.0);
        Self {
            throws_m: SquareSums::of(ground.grid, throw_m),
            cells: SquareSums::of(ground.grid, one),
            longest_m,
        }
    }

    /// The mean throw within the longest one of a place, both ways, m; 0 off the ground.
    pub fn about_m(&self, at: Coord<f64>) -> f64 {
        match self.cells.within(at, self.longest_m) {
            0.0 => 0.0,
            cells => self.throws_m.within(at, self.longest_m) / cells,
        }
    }
}
