//! The piece of terrain under one parcel: a window of the first raster that covers it, mended from the others.

use crate::finding::Finding;
use crate::site::block::{Block, Overlap};
use crate::site::cover::{check_cover, first_over, on_earth};
use crate::site::fitting::{Pair, cell_side_m, fit, residual_cells};
use crate::site::projector::Projector;
use crate::site::raster::{Tile, TileReader};
use crate::site::terrain::{CellMap, Terrain};
use geo::{Coord, MultiPolygon, Rect};

/// Ground read beyond the parcel on each side, m.
pub(crate) const MARGIN_M: f64 = 25.0;
/// Greatest departure of the cubic map from the exact projection, in cells.
const RESIDUAL_MOST_CELLS: f64 = 0.001;
/// Cells a window may have; finer rasters are averaged down to this (64 MB).
const CELLS_MOST: f64 = 16e6;
/// Lattice of exactly projected places: every second is fitted, all are checked.
const LATTICE: i32 = 8;

/// Reads the window round a parcel's boundary, and tells if cells were averaged. Gaps are still NaN.
pub(crate) fn read(
    tiles: &[Tile],
    projector: &Projector,
    boundary: &MultiPolygon<f64>,
    bounds: &Rect<f64>,
) -> Result<(Terrain, Option<Finding>), Vec<Finding>> {
    let mut readers = Vec::new();
    for tile in tiles {
        readers.push(TileReader::open(tile).map_err(|finding| vec![finding])?);
    }
    let frame = crate::site::shapes::widened(bounds, MARGIN_M);
    let lattice = lattice_of(&frame);
    let places = on_earth(projector, &lattice).map_err(|finding| vec![finding])?;
    let base = first_over(&readers, projector, boundary)?;
    let window =
        Window::over(&readers[base], &lattice, &places).map_err(|finding| vec![finding])?;
    check_cover(
        &readers,
        projector,
        boundary,
        window.cell_m / window.step as f64,
    )
    .map_err(|finding| vec![finding])?;
    let mut terrain = window
        .read(&readers[base])
        .map_err(|finding| vec![finding])?;
    for (index, reader) in readers.iter().enumerate() {
        if index != base {
            window
                .mend(&mut terrain, &readers[base], reader)
                .map_err(|finding| vec![finding])?;
        }
    }
    Ok((terrain, window.thinned(&readers[base].tile.written)))
}

fn lattice_of(frame: &Rect<f64>) -> Vec<Coord<f64>> {
    let share = |index: i32| f64::from(index) / f64::from(2 * LATTICE);
    let mut lattice = Vec::new();
    for i in 0..=2 * LATTICE {
        for j in 0..=2 * LATTICE {
            lattice.push(Coord {
                x: frame.min().x + share(i) * frame.width(),
                y: frame.min().y + share(j) * frame.height(),
            });
        }
    }
    lattice
}

/// Which cells of the base raster are read.
struct Window {
    /// First column and row; may lie outside the raster.
    first: (i64, i64),
    columns: usize,
    rows: usize,
    /// Raster cells in one cell of ours, along a side.
    step: usize,
    map: CellMap,
    cell_m: f64,
}

impl Window {
    fn over(
        reader: &TileReader<'_>,
        lattice: &[Coord<f64>],
        places: &[(f64, f64)],
    ) -> Result<Self, Finding> {
        let unusable = |message: String| {
            Finding::error("raster_not_placed", message).in_file(&reader.tile.written)
        };
        let cells = reader.cells_at(places);
        if cells
            .iter()
            .any(|(column, row)| !(column.is_finite() && row.is_finite()))
        {
            let message = "its reference system does not reach the parcel".to_owned();
            return Err(
                Finding::error("terrain_does_not_cover", message).in_file(&reader.tile.written)
            );
        }
        let (west, east) = span(cells.iter().map(|cell| cell.0));
        let (top, bottom) = span(cells.iter().map(|cell| cell.1));
        let first = (west.floor() - 1.0, top.floor() - 1.0);
        let (across, down) = (east.ceil() + 2.0 - first.0, bottom.ceil() + 2.0 - first.1);
        let step = (across * down / CELLS_MOST).sqrt().ceil().max(1.0);
        // The centre of our cell c is that of the raster's cells first + c·step … + step - 1.
        let ours = |at: f64, first: f64| (at - first - (step - 1.0) / 2.0) / step;
        let pairs: Vec<Pair> = lattice
            .iter()
            .zip(&cells)
            .map(|(at, (column, row))| (*at, (ours(*column, first.0), ours(*row, first.1))))
            .collect();
        let map = fit_checked(&pairs).map_err(unusable)?;
        Ok(Self {
            first: (first.0 as i64, first.1 as i64),
            columns: (across / step).ceil() as usize,
            rows: (down / step).ceil() as usize,
            step: step as usize,
            cell_m: cell_side_m(&map),
            map,
        })
    }

    /// Tells that the raster is finer than a design can use.
    fn thinned(&self, file: &str) -> Option<Finding> {
        let message = format!(
            "the raster is finer than a design can use; {0} by {0} of its cells were averaged into one of {1:.2} m.",
            self.step, self.cell_m
        );
        (self.step > 1).then(|| Finding::note("terrain_thinned", message).in_file(file))
    }

    fn read(&self, reader: &TileReader<'_>) -> Result<Terrain, Finding> {
        let mut terrain = Terrain {
            columns: self.columns,
            rows: self.rows,
            heights_m: vec![f32::NAN; self.columns * self.rows],
            cell_m: self.cell_m,
            map: self.map.clone(),
            levelled: None,
        };
        let across = Overlap::of(self.first.0, self.columns, self.step, reader.tile.columns);
        let down = Overlap::of(self.first.1, self.rows, self.step, reader.tile.rows);
        let (Some(across), Some(down)) = (across, down) else {
            return Ok(terrain);
        };
        let shape = (across.count, down.count);
        let size = (across.count * self.step, down.count * self.step);
        let block = reader.read((across.source, down.source), size, shape)?;
        for (row, line) in block.chunks_exact(across.count).enumerate() {
            let start = (down.target + row) * self.columns + across.target;
            terrain.heights_m[start..start + across.count].copy_from_slice(line);
        }
        Ok(terrain)
    }

    /// Takes heights that are still missing from another raster, bilinear between its cells.
    fn mend(
        &self,
        terrain: &mut Terrain,
        base: &TileReader<'_>,
        other: &TileReader<'_>,
    ) -> Result<(), Finding> {
        let holes: Vec<usize> = (0..terrain.heights_m.len())
            .filter(|cell| terrain.heights_m[*cell].is_nan())
            .collect();
        let centre = |cell: &usize| {
            let half = (self.step as f64 - 1.0) / 2.0;
            let at = |index: usize, first: i64| (index * self.step) as f64 + first as f64 + half;
            (
                at(cell % self.columns, self.first.0),
                at(cell / self.columns, self.first.1),
            )
        };
        let centres: Vec<(f64, f64)> = holes.iter().map(centre).collect();
        let theirs = other.cells_at(&base.places_at(&centres));
        let inside: Vec<(usize, (f64, f64))> = holes
            .into_iter()
            .zip(theirs)
            .filter(|(_, cell)| other.outside_cells(*cell) < 1e-6)
            .collect();
        if inside.is_empty() {
            return Ok(());
        }
        let (west, east) = span(inside.iter().map(|(_, cell)| cell.0));
        let (top, bottom) = span(inside.iter().map(|(_, cell)| cell.1));
        let limit = |at: f64, count: usize| (at.max(0.0) as usize).min(count - 1);
        let from = (
            limit(west.floor(), other.tile.columns),
            limit(top.floor(), other.tile.rows),
        );
        let to = (
            limit(east.ceil(), other.tile.columns),
            limit(bottom.ceil(), other.tile.rows),
        );
        let size = (to.0 - from.0 + 1, to.1 - from.1 + 1);
        let block = Block {
            columns: size.0,
            rows: size.1,
            heights_m: other.read(from, size, size)?,
        };
        for (hole, (column, row)) in inside {
            let height = block.height_m(column - from.0 as f64, row - from.1 as f64);
            terrain.heights_m[hole] = height;
        }
        Ok(())
    }
}

/// Fits every second place and checks all.
fn fit_checked(pairs: &[Pair]) -> Result<CellMap, String> {
    let side = 2 * LATTICE as usize + 1;
    let fitted: Vec<Pair> = pairs
        .iter()
        .enumerate()
        .filter(|(index, _)| (index / side).is_multiple_of(2) && (index % side).is_multiple_of(2))
        .map(|(_, pair)| *pair)
        .collect();
    let (low, high) = span(pairs.iter().flat_map(|(at, _)| [at.x, at.y]));
    let scale_m = low.abs().max(high.abs()).max(1.0);
    let map = fit(&fitted, scale_m).ok_or("its cells cannot be placed on the parcel")?;
    let residual = residual_cells(&map, pairs);
    // Also catches a residual that is no number.
    if residual < RESIDUAL_MOST_CELLS {
        Ok(map)
    } else {
        Err(format!(
            "its cells are too bent to be placed on the parcel ({residual:.4} cells off); give the raster in a projected system of the region"
        ))
    }
}

fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    })
}
