//! Doubts about the relief: slopes that no lawn has mean that the heights are in another unit.

use crate::brief::Rules;
use crate::finding::Finding;
use crate::site::Terrain;
use crate::site::sampling::Samples;
use geo::Coord;

/// A warning when the mean slope under turf is beyond what the rules believe.
pub(crate) fn doubt(terrain: &Terrain, samples: &Samples, rules: &Rules) -> Option<Finding> {
    let slope = mean_slope(terrain, samples)?;
    if slope <= rules.relief_absurd_share {
        return None;
    }
    let message = format!(
        "the ground under turf slopes by {:.0} % on the mean, more than relief_absurd_share believes ({:.0} %). Probably the heights are feet or centimetres read as metres: set terrain_unit under [inputs], or correct the raster's unit.",
        slope * 100.0,
        rules.relief_absurd_share * 100.0
    );
    Some(Finding::warning("relief_absurd", message))
}

/// Mean slope, m/m, by differences over two cells, so that noise in single cells counts less.
fn mean_slope(terrain: &Terrain, samples: &Samples) -> Option<f64> {
    let reach_m = terrain.cell_m;
    let slopes: Vec<f64> = samples
        .places
        .iter()
        .filter_map(|(_, _, at)| slope_at(terrain, *at, reach_m))
        .collect();
    (!slopes.is_empty()).then(|| slopes.iter().sum::<f64>() / slopes.len() as f64)
}

fn slope_at(terrain: &Terrain, at: Coord<f64>, reach_m: f64) -> Option<f64> {
    let height = |dx: f64, dy: f64| {
        terrain.height_m(Coord {
            x: at.x + dx,
            y: at.y + dy,
        })
    };
    let east = height(reach_m, 0.0)? - height(-reach_m, 0.0)?;
    let north = height(0.0, reach_m)? - height(0.0, -reach_m)?;
    Some(east.hypot(north) / (2.0 * reach_m))
}
