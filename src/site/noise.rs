//! Noise of a survey: measured on the raster itself, and a second ground without it, for pipe to be laid by.
//!
//! Pipe that follows every pimple of a noisy raster would need a drain in each, so depths are taken from ground that is
//! smoothed as far as the noise asks, and no farther. What is reported as the ground stays the raster's.

use crate::brief::Rules;
use crate::finding::Finding;
use crate::site::Terrain;

/// The widest smoothing, m: beyond it real hollows would be filled.
const REACH_MOST_M: f64 = 5.0;
/// How far smoothing may move the ground, in standard deviations of the noise: steps and kerbs stay.
const MOVED_MOST: f64 = 3.0;
/// Standard deviation left of white noise after smoothing twice, times reach over cell; from the kernel's own square.
const LEFT_FACTOR: f64 = 0.382;
/// A normal distribution's standard deviation over its median absolute value.
const NORMAL_PER_MEDIAN: f64 = 1.4826;
/// About how many differences each figure is read from.
const SAMPLES_MOST: usize = 200_000;

/// Ground without the survey's noise.
#[derive(Debug, Clone, PartialEq)]
pub struct Levelled {
    /// Heights, m, cell by cell as in the raster's window; NaN where there is no data.
    pub heights_m: Vec<f32>,
    /// Standard deviation of the noise that was measured, m.
    pub noise_m: f64,
    /// Standard deviation of the smoothing's weights, m.
    pub reach_m: f64,
    /// Standard deviation of the noise that is left, m.
    pub left_m: f64,
}

/// Gives the terrain a ground to lay pipe by where its noise is worth it, and tells so.
pub(crate) fn level(terrain: &mut Terrain, rules: &Rules) -> Option<Finding> {
    let noise_m = measured_m(terrain);
    let least_m = rules.vertical_tolerance_m / 2.0;
    if noise_m < least_m {
        return None;
    }
    // What is left need only be small beside the lows that a trench levels.
    let left_wanted_m = rules.vertical_tolerance_m / 4.0;
    let cell_m = terrain.cell_m;
    let reach_m = (LEFT_FACTOR * noise_m * cell_m / left_wanted_m)
        .min(REACH_MOST_M)
        .max(cell_m);
    let levelled = Levelled {
        heights_m: smoothed_twice(terrain, reach_m / cell_m, noise_m),
        noise_m,
        reach_m,
        left_m: LEFT_FACTOR * noise_m * cell_m / reach_m,
    };
    let message = format!(
        "the heights scatter by {:.0} mm from cell to cell, which is the survey's noise and not the lawn's; pipe is laid by ground smoothed over {:.1} m, \
         with {:.0} mm more cover for what is left. Set out depths from the ground as it is.",
        noise_m * 1000.0,
        reach_m,
        2000.0 * levelled.left_m
    );
    terrain.levelled = Some(levelled);
    Some(Finding::note("terrain_noise", message))
}

/// Standard deviation of the part of the heights that is unlike from one cell to the next, m; 0 where none is seen.
///
/// Second differences over one and over two cells: noise gives both the same variance, relief the wider ones more. The
/// variance at no distance is read off the straight line through both, which takes none of a rough relief (whose
/// variance grows with distance) for noise. Medians, so that steps and walls do not count. Kin: the nugget of a
/// variogram (Matheron 1963, from memory).
fn measured_m(terrain: &Terrain) -> f64 {
    let [near, far] = [1, 2].map(|lag| variance(terrain, lag));
    let at_none = 2.0 * near - far;
    // A second difference holds its middle twice: 1 + 4 + 1.
    (at_none.max(0.0) / 6.0).sqrt()
}

fn variance(terrain: &Terrain, lag: usize) -> f64 {
    let (columns, rows) = (terrain.columns, terrain.rows);
    if columns <= 2 * lag || rows <= 2 * lag {
        return 0.0;
    }
    let height = |column: usize, row: usize| terrain.heights_m[row * columns + column];
    // A prime stride meets all columns in turn.
    let stride = (columns * rows / SAMPLES_MOST).max(1) | 1;
    let mut found: Vec<f32> = (0..columns * rows)
        .step_by(stride)
        .map(|at| (at % columns, at / columns))
        .filter(|(column, row)| {
            (lag..columns - lag).contains(column) && (lag..rows - lag).contains(row)
        })
        .flat_map(|(column, row)| {
            let middle = 2.0 * height(column, row);
            [
                height(column - lag, row) + height(column + lag, row) - middle,
                height(column, row - lag) + height(column, row + lag) - middle,
            ]
        })
        .map(f32::abs)
        .filter(|difference| difference.is_finite())
        .collect();
    if found.is_empty() {
        return 0.0;
    }
    let middle = found.len() / 2;
    let (_, median, _) = found.select_nth_unstable_by(middle, f32::total_cmp);
    (NORMAL_PER_MEDIAN * f64::from(*median)).powi(2)
}

/// Heights smoothed, and what that took away smoothed and put back (Tukey 1977, "twicing", from memory), so that
/// hollows keep their depth; nowhere farther from the raster than its noise explains.
fn smoothed_twice(terrain: &Terrain, reach_cells: f64, noise_m: f64) -> Vec<f32> {
    let shape = (terrain.columns, terrain.rows);
    let raw = &terrain.heights_m;
    let once = smoothed(raw, shape, reach_cells);
    let lost: Vec<f32> = raw.iter().zip(&once).map(|(z, s)| z - s).collect();
    let again = smoothed(&lost, shape, reach_cells);
    let most = (MOVED_MOST * noise_m) as f32;
    // Not `clamp`, which does not bear NaN.
    raw.iter()
        .zip(once.iter().zip(&again))
        .map(|(z, (once, again))| (once + again).max(z - most).min(z + most))
        .collect()
}

/// Weighted means with Gauss's weights, first along rows, then along columns; NaN stays NaN.
///
/// Cells count in pairs, as far before as after: where one of them is missing neither does, so that a slope stays the
/// slope it is beside holes and the window's edge.
fn smoothed(values: &[f32], (columns, rows): (usize, usize), reach_cells: f64) -> Vec<f32> {
    let weights = weights(reach_cells);
    let along = |at: usize, step: usize, place: usize, count: usize, values: &[f32]| {
        let (mut sum, mut whole) = (weights[0] * values[at], weights[0]);
        let pairs = place.min(count - 1 - place);
        for (distance, weight) in weights.iter().enumerate().skip(1).take(pairs) {
            let pair = values[at - distance * step] + values[at + distance * step];
            if pair.is_finite() {
                sum += weight * pair;
                whole += 2.0 * weight;
            }
        }
        sum / whole
    };
    let across: Vec<f32> = (0..values.len())
        .map(|at| along(at, 1, at % columns, columns, values))
        .collect();
    (0..values.len())
        .map(|at| along(at, columns, at / columns, rows, &across))
        .collect()
}

/// Weights of the cells at distance 0, 1, 2 … to three standard deviations.
fn weights(reach_cells: f64) -> Vec<f32> {
    let last = (3.0 * reach_cells).ceil() as usize;
    (0..=last)
        .map(|cells| (-0.5 * (cells as f64 / reach_cells).powi(2)).exp() as f32)
        .collect()
}

/// Ground that a function tells over a square of `half_m`, with noise (normal, by the sum of twelve) of a generator of our own.
#[cfg(test)]
pub(crate) fn noisy(
    half_m: f64,
    height_m: impl Fn(f64, f64) -> f64,
    noise_m: f64,
    seed: u64,
) -> Terrain {
    let mut terrain = Terrain::of_function(half_m, height_m);
    let mut state = seed;
    let mut share = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1_u32 << 31)
    };
    for height in &mut terrain.heights_m {
        let normal = (0..12).map(|_| share()).sum::<f64>() - 6.0;
        *height += (noise_m * normal) as f32;
    }
    terrain
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(x: f64, y: f64) -> f64 {
        100.0 + 0.02 * x + 1.2 * (x / 14.0).sin() * (y / 17.0).cos()
    }

    #[test]
    fn noise_is_measured_and_relief_is_not_taken_for_it() {
        for noise_m in [0.02, 0.05, 0.15] {
            let found_m = measured_m(&noisy(60.0, wave, noise_m, 7));
            assert!((found_m / noise_m - 1.0).abs() < 0.1, "{found_m} {noise_m}");
        }
        assert!(measured_m(&Terrain::of_function(60.0, wave)) < 0.001);
        let steps = |x: f64, _: f64| 50.0 + (x / 6.0).floor();
        assert!(measured_m(&Terrain::of_function(60.0, steps)) < 0.001);
    }

    /// Heights that wander from cell to cell are rough ground, not noise: their differences grow with distance.
    #[test]
    fn rough_ground_is_not_taken_for_noise() {
        let mut rough = noisy(60.0, |_, _| 0.0, 0.05, 7);
        let columns = rough.columns;
        for at in 1..rough.heights_m.len() {
            let before = if at % columns == 0 { at } else { at - 1 };
            let above = at.checked_sub(columns).unwrap_or(at);
            let mean = (rough.heights_m[before] + rough.heights_m[above]) / 2.0;
            rough.heights_m[at] += mean;
        }
        assert!(measured_m(&rough) < 0.02, "{}", measured_m(&rough));
    }

    #[test]
    fn the_ground_to_lay_by_lies_near_the_true_one() {
        let mut terrain = noisy(60.0, wave, 0.05, 7);
        terrain.heights_m[500] = f32::NAN;
        assert!(level(&mut terrain, &Rules::default()).is_some());
        let levelled = terrain.levelled.as_ref().unwrap();
        let truth = Terrain::of_function(60.0, wave);
        let off = |a: &[f32]| {
            let squares = a
                .iter()
                .zip(&truth.heights_m)
                .map(|(a, b)| f64::from(a - b).powi(2));
            let finite: Vec<f64> = squares.filter(|s| s.is_finite()).collect();
            (finite.iter().sum::<f64>() / finite.len() as f64).sqrt()
        };
        let (before_m, after_m) = (off(&terrain.heights_m), off(&levelled.heights_m));
        assert!(after_m < before_m / 4.0, "{before_m} {after_m}");
        assert!(
            after_m < 1.6 * levelled.left_m,
            "{after_m} {}",
            levelled.left_m
        );
        assert!(levelled.heights_m[500].is_nan());
    }

    #[test]
    fn quiet_ground_is_left_alone_and_no_ground_is_no_trouble() {
        let mut quiet = Terrain::of_function(30.0, wave);
        assert_eq!(level(&mut quiet, &Rules::default()), None);
        assert_eq!(quiet.levelled, None);
        quiet.heights_m.fill(f32::NAN);
        assert_eq!(level(&mut quiet, &Rules::default()), None);
    }
}
