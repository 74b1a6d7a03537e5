//! Time of the maps of distance and width over a piece of turf: a wide lawn, and narrow winding ground.

use divan::Bencher;
use geo::{BoundingRect, LineString, MultiPolygon, Polygon};
use swardline::geometry::distance::distance_cells;
use swardline::geometry::width::width_cells;
use swardline::geometry::{Grid, fill};

/// Cell and longest throw, m, as heads are placed with.
const CELL_M: f64 = 0.25;
const REACH_M: f64 = 12.5;

fn main() {
    divan::main();
}

/// A closed band round the origin: its middle line swings in and out, `holes` leaves the inside out.
fn ring(radius_m: f64, swing_m: f64) -> LineString<f64> {
    let mut line: LineString<f64> = (0..360)
        .map(|degree| f64::from(degree).to_radians())
        .map(|a| {
            (
                a,
                radius_m + swing_m * (7.0 * a).sin() + 0.4 * swing_m * (11.0 * a).cos(),
            )
        })
        .map(|(a, r)| (r * a.cos(), 1.2 * r * a.sin()))
        .collect();
    line.close();
    line
}

fn mask(name: &str) -> (Grid, Vec<bool>) {
    let holes = if name == "band" {
        vec![ring(44.0, 8.0)]
    } else {
        Vec::new()
    };
    let shape: MultiPolygon<f64> = Polygon::new(ring(52.0, 8.0), holes).into();
    let bounds = shape.bounding_rect().expect("a lawn has bounds");
    let grid = Grid::over(bounds, REACH_M + 2.0 * CELL_M, CELL_M);
    let mut inside = vec![false; grid.cells()];
    fill(&grid, &shape, |cell| inside[cell] = true);
    (grid, inside)
}

#[divan::bench(args = ["lawn", "band"])]
fn distance(bencher: Bencher, name: &str) {
    let (grid, inside) = mask(name);
    bencher.bench(|| distance_cells(&grid, &inside));
}

#[divan::bench(args = ["lawn", "band"])]
fn width(bencher: Bencher, name: &str) {
    let (grid, inside) = mask(name);
    let reach = distance_cells(&grid, &inside);
    bencher.bench(|| width_cells(&grid, &reach, (REACH_M / CELL_M) as f32));
}
