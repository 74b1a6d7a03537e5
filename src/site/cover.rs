//! Which rasters lie under a parcel, and by how much they miss it.

use crate::finding::Finding;
use crate::site::projector::Projector;
use crate::site::raster::TileReader;
use geo::{Coord, CoordsIter, MultiPolygon};

/// Longitudes and latitudes of places in the frame.
pub(crate) fn on_earth(
    projector: &Projector,
    places: &[Coord<f64>],
) -> Result<Vec<(f64, f64)>, Finding> {
    let moved: Result<Vec<_>, _> = places.iter().map(|at| projector.inverse(*at)).collect();
    moved.map_err(|error| Finding::error("projection_failed", error.to_string()))
}

/// The first raster over any of the boundary's vertices or, failing that, the first of all.
pub(crate) fn first_over(
    readers: &[TileReader<'_>],
    projector: &Projector,
    boundary: &MultiPolygon<f64>,
) -> Result<usize, Vec<Finding>> {
    if readers.is_empty() {
        let message = "no terrain raster is named under [inputs]";
        return Err(vec![Finding::error("terrain_missing", message)]);
    }
    let vertices: Vec<Coord<f64>> = boundary.coords_iter().collect();
    let places = on_earth(projector, &vertices).map_err(|finding| vec![finding])?;
    let over = |reader: &TileReader<'_>| {
        let cells = reader.cells_at(&places);
        cells
            .into_iter()
            .any(|cell| reader.outside_cells(cell) == 0.0)
    };
    Ok(readers.iter().position(over).unwrap_or(0))
}

/// Tells by how much the parcel lies outside every raster.
pub(crate) fn check_cover(
    readers: &[TileReader<'_>],
    projector: &Projector,
    boundary: &MultiPolygon<f64>,
    cell_m: f64,
) -> Result<(), Finding> {
    let vertices: Vec<Coord<f64>> = boundary.coords_iter().collect();
    let places = on_earth(projector, &vertices)?;
    let mut outside = vec![f64::INFINITY; vertices.len()];
    for reader in readers {
        for (least, cell) in outside.iter_mut().zip(reader.cells_at(&places)) {
            *least = least.min(reader.outside_cells(cell));
        }
    }
    let worst = outside
        .iter()
        .copied()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let Some((index, cells)) = worst.filter(|(_, cells)| *cells > 1.0) else {
        return Ok(());
    };
    let names: Vec<&str> = readers
        .iter()
        .map(|reader| reader.tile.written.as_str())
        .collect();
    let far = if cells.is_finite() {
        format!("by up to {:.0} m", cells * cell_m)
    } else {
        "altogether".to_owned()
    };
    let message = format!(
        "the terrain does not cover the parcel: it is missed {far}. Give a raster or further tiles that reach 25 m beyond the parcel; if the raster should cover it, check its reference system and whether longitude and latitude are exchanged in the layers."
    );
    Err(Finding::error("terrain_does_not_cover", message)
        .in_file(names.join(", "))
        .at(vertices[index]))
}
