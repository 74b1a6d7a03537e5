//! Bands of the rate for the map: where the turf gets how much of the parcel's mean.

use super::judge::Judged;
use crate::design::model::CoverageBand;
use crate::geometry::{Grid, mosaic};
use crate::site::Parcel;
use geo::{BoundingRect, Buffer, MultiPolygon, Validation, unary_union};

/// Limits of the bands as shares of the mean rate.
const LIMITS: [f64; 6] = [0.0, 0.3, 0.6, 0.9, 1.2, 1.5];
/// A hair's breadth, m.
const HAIR_M: f64 = 0.005;
/// Cell of the map, m.
const CELL_M: f64 = 1.0;
/// Cells that the map samples on each side of one of its own.
const SAMPLES: usize = 2;

/// The bands, from the lowest; none where no water falls.
pub fn of(parcel: &Parcel, judged: &[Judged]) -> Vec<CoverageBand> {
    let (sum, area) = judged
        .iter()
        .fold((0.0, 0.0), |(s, a), j| (s + j.water.0, a + j.water.1));
    if sum <= 0.0 {
        return Vec::new();
    }
    let mean = sum / area;
    let maps: Vec<Option<(Grid, Vec<f64>)>> = (0..judged.len())
        .map(|turf| map_of(parcel, turf, &judged[turf]))
        .collect();
    (0..LIMITS.len())
        .map(|band| {
            let from = LIMITS[band] * mean;
            let to = LIMITS.get(band + 1).map(|limit| limit * mean);
            CoverageBand {
                rate_from_mm_h: from,
                rate_to_mm_h: to,
                shape: shape_of(parcel, &maps, from, to),
            }
        })
        .filter(|band| !band.shape.0.is_empty())
        .collect()
}

/// The rates of one area on the cells of the map.
fn map_of(parcel: &Parcel, turf: usize, judged: &Judged) -> Option<(Grid, Vec<f64>)> {
    let fine = judged.grid?;
    let bounds = parcel.turf[turf].shape.bounding_rect()?;
    let grid = Grid::over(bounds, 0.0, CELL_M);
    let part = CELL_M / SAMPLES as f64;
    let rates = (0..grid.cells())
        .map(|cell| {
            let centre = grid.centre(cell % grid.columns, cell / grid.columns);
            let sum: f64 = (0..SAMPLES * SAMPLES)
                .map(|k| geo::Coord {
                    x: centre.x + ((k % SAMPLES) as f64 + 0.5) * part - 0.5 * CELL_M,
                    y: centre.y + ((k / SAMPLES) as f64 + 0.5) * part - 0.5 * CELL_M,
                })
                .map(|at| fine.index_of(at).map_or(0.0, |i| f64::from(judged.rate[i])))
                .sum();
            sum / (SAMPLES * SAMPLES) as f64
        })
        .collect();
    Some((grid, rates))
}

fn shape_of(
    parcel: &Parcel,
    maps: &[Option<(Grid, Vec<f64>)>],
    from: f64,
    to: Option<f64>,
) -> MultiPolygon<f64> {
    let parts: Vec<MultiPolygon<f64>> = parcel
        .turf
        .iter()
        .zip(maps)
        .filter_map(|(turf, map)| {
            let (grid, rates) = map.as_ref()?;
            let inside = |rate: f64| rate >= from && to.is_none_or(|to| rate < to);
            let marked: Vec<bool> = rates.iter().map(|&rate| inside(rate)).collect();
            Some(mosaic::clip(&mosaic::merge(grid, &marked), &turf.shape))
        })
        .filter(|part| !part.0.is_empty())
        .collect();
    let whole = match parts.len() {
        0 => MultiPolygon::new(Vec::new()),
        1 => parts
            .into_iter()
            .next()
            .unwrap_or_else(|| MultiPolygon::new(Vec::new())),
        _ => unary_union(&parts),
    };
    clean(whole)
}

/// Without the rare polygon that clipping leaves with a ring out of place: it is shrunk by a hair's breadth, and left
/// out of the map (never of the figures) if that does not mend it.
fn clean(shape: MultiPolygon<f64>) -> MultiPolygon<f64> {
    shape
        .into_iter()
        .flat_map(|polygon| match polygon.is_valid() {
            true => vec![polygon],
            false => polygon.buffer(-HAIR_M).0,
        })
        .filter(|polygon| polygon.is_valid())
        .collect()
}
