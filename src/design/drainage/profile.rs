//! The ground along one pipe: where the pipe must bend, and the ground without the raster's noise.

/// Half of the width over which the Gauss curve is summed, in standard deviations.
const REACH: f64 = 3.0;

/// Interior samples at which a pipe between the first and the last sample must bend, so that the ground departs from
/// the straight lines between the kept ones by at most `tolerance_m`, measured vertically.
///
/// Samples are (distance along the pipe, height of the ground), m, by rising distance. The indices rise. Few, not
/// provably fewest: Douglas and Peucker 1973 (from memory), with the vertical distance.
pub fn break_points(samples: &[(f64, f64)], tolerance_m: f64) -> Vec<usize> {
    let mut kept = Vec::new();
    let mut spans = vec![(0, samples.len().saturating_sub(1))];
    while let Some((first, last)) = spans.pop() {
        let Some((worst, off_m)) = farthest(samples, first, last) else {
            continue;
        };
        if off_m > tolerance_m {
            kept.push(worst);
            spans.push((first, worst));
            spans.push((worst, last));
        }
    }
    kept.sort_unstable();
    kept
}

/// The sample between two others that lies farthest above or below the line between them, and how far.
fn farthest(samples: &[(f64, f64)], first: usize, last: usize) -> Option<(usize, f64)> {
    let (start, end) = (samples.get(first)?, samples.get(last)?);
    let slope = if end.0 > start.0 {
        (end.1 - start.1) / (end.0 - start.0)
    } else {
        0.0
    };
    let mut worst: Option<(usize, f64)> = None;
    for (index, sample) in samples.iter().enumerate().take(last).skip(first + 1) {
        let off_m = (sample.1 - start.1 - slope * (sample.0 - start.0)).abs();
        if worst.is_none_or(|(_, most_m)| off_m > most_m) {
            worst = Some((index, off_m));
        }
    }
    worst
}

/// The same samples with heights smoothed by a Gauss curve of standard deviation `sigma_m`.
///
/// At each sample a straight line is fitted with the curve's weights, so that an even slope stays as it is up to its
/// ends. White noise of a raster needs about 5 m; 10 m cuts real waves off. Samples that are not evenly spaced weigh by
/// the length they stand for. A `sigma_m` that is not above 0 changes nothing.
pub fn smooth(samples: &[(f64, f64)], sigma_m: f64) -> Vec<(f64, f64)> {
    if !(sigma_m.is_finite() && sigma_m > 0.0) {
        return samples.to_vec();
    }
    let mut first = 0;
    let mut smoothed = Vec::with_capacity(samples.len());
    for &(distance_m, ground_m) in samples {
        while first < samples.len() && samples[first].0 < distance_m - REACH * sigma_m {
            first += 1;
        }
        let near = first..samples.len();
        let near = near.take_while(|&index| samples[index].0 <= distance_m + REACH * sigma_m);
        let height_m = fitted(samples, near, distance_m, sigma_m).unwrap_or(ground_m);
        smoothed.push((distance_m, height_m));
    }
    smoothed
}

/// Height at `distance_m` of the weighted straight line through the samples named.
fn fitted(
    samples: &[(f64, f64)],
    near: impl Iterator<Item = usize>,
    distance_m: f64,
    sigma_m: f64,
) -> Option<f64> {
    let (mut weights, mut x_sum, mut xx_sum, mut z_sum, mut xz_sum) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for index in near {
        let x = samples[index].0 - distance_m;
        let weight = (-0.5 * (x / sigma_m).powi(2)).exp() * length_of(samples, index);
        weights += weight;
        x_sum += weight * x;
        xx_sum += weight * x * x;
        z_sum += weight * samples[index].1;
        xz_sum += weight * x * samples[index].1;
    }
    let spread = weights * xx_sum - x_sum * x_sum;
    let height_m = if spread > 1e-9 * weights * weights {
        (xx_sum * z_sum - x_sum * xz_sum) / spread
    } else {
        z_sum / weights
    };
    height_m.is_finite().then_some(height_m)
}

/// Half of the way to the samples on either side; a lone sample counts as a metre.
fn length_of(samples: &[(f64, f64)], index: usize) -> f64 {
    let before = index
        .checked_sub(1)
        .map_or(samples[index].0, |i| samples[i].0);
    let after = samples
        .get(index + 1)
        .map_or(samples[index].0, |next| next.0);
    if samples.len() < 2 {
        return 1.0;
    }
    ((after - before) / 2.0).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_slope_needs_no_bend_and_a_step_two() {
        let slope: Vec<(f64, f64)> = (0..50)
            .map(|i| (f64::from(i), 0.1 * f64::from(i)))
            .collect();
        assert!(break_points(&slope, 0.01).is_empty());
        let step: Vec<(f64, f64)> = (0..50)
            .map(|i| (f64::from(i), if i < 20 { 0.0 } else { 1.0 }))
            .collect();
        assert_eq!(break_points(&step, 0.01), vec![19, 20]);
    }

    #[test]
    fn the_ground_stays_within_the_tolerance_of_the_bent_line() {
        let wave: Vec<(f64, f64)> = (0..200)
            .map(|i| (f64::from(i), (f64::from(i) / 9.0).sin()))
            .collect();
        let mut kept = vec![0];
        kept.extend(break_points(&wave, 0.05));
        kept.push(199);
        assert!(kept.len() < 40, "{} points kept", kept.len());
        for pair in kept.windows(2) {
            let off_m = farthest(&wave, pair[0], pair[1]).map_or(0.0, |found| found.1);
            assert!(off_m <= 0.05, "{off_m} m between {pair:?}");
        }
    }

    #[test]
    fn smoothing_keeps_a_slope_whole_and_calms_noise() {
        let mut seed = 7_u64;
        let mut noise = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) as f64 / f64::from(1_u32 << 31) - 0.5
        };
        let slope: Vec<(f64, f64)> = (0..100)
            .map(|i| (f64::from(i) * 0.7, 3.0 - 0.02 * f64::from(i)))
            .collect();
        for (before, after) in slope.iter().zip(smooth(&slope, 5.0)) {
            assert!((before.1 - after.1).abs() < 1e-9);
        }
        let rough: Vec<(f64, f64)> = (0..300).map(|i| (f64::from(i), noise())).collect();
        let calm = smooth(&rough, 5.0);
        let power = |profile: &[(f64, f64)]| profile.iter().map(|s| s.1 * s.1).sum::<f64>();
        assert!(power(&calm) < power(&rough) / 5.0);
    }

    #[test]
    fn empty_and_single_samples_are_no_trouble() {
        assert!(break_points(&[], 0.1).is_empty());
        assert!(break_points(&[(0.0, 1.0)], 0.1).is_empty());
        assert_eq!(smooth(&[(0.0, 1.0)], 5.0), vec![(0.0, 1.0)]);
        assert_eq!(smooth(&[(0.0, 1.0), (0.0, 3.0)], 5.0).len(), 2);
    }
}
