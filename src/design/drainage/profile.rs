//! The ground along one pipe: where the pipe must bend with it.

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
    fn empty_and_single_samples_are_no_trouble() {
        assert!(break_points(&[], 0.1).is_empty());
        assert!(break_points(&[(0.0, 1.0)], 0.1).is_empty());
    }
}
