//! Uniformity of a set of depths, each standing for the same area.

/// Christiansen's coefficient `1 - Σ|x - mean| / (n mean)`: Christiansen 1942. `None` without water.
pub fn cu_christiansen(depths: &[f32]) -> Option<f64> {
    let mean = mean(depths)?;
    let off: f64 = depths.iter().map(|&d| (f64::from(d) - mean).abs()).sum();
    Some(1.0 - off / (depths.len() as f64 * mean))
}

/// Distribution uniformity of the low quarter, mean of the lowest quarter of the area over the mean:
/// Merriam and Keller 1978. Takes exactly a quarter, the last depth in part. `None` without water.
pub fn du_low_quarter(depths: &[f32]) -> Option<f64> {
    Some(low_quarter(depths)? / mean(depths)?)
}

/// Mean of the lowest quarter: exactly a quarter of the depths, the last in part. `None` without depths.
pub fn low_quarter(depths: &[f32]) -> Option<f64> {
    let quarter = depths.len() as f64 / 4.0;
    let whole = quarter.floor() as usize;
    let mut lowest = depths.to_vec();
    if lowest.is_empty() {
        return None;
    }
    let (below, next, _) = lowest.select_nth_unstable_by(whole, f32::total_cmp);
    let sum: f64 = below.iter().map(|&d| f64::from(d)).sum();
    Some((sum + (quarter - whole as f64) * f64::from(*next)) / quarter)
}

/// Mean depth; `None` when there is none, or no water.
pub fn mean(depths: &[f32]) -> Option<f64> {
    let sum: f64 = depths.iter().map(|&d| f64::from(d)).sum();
    (sum > 0.0).then(|| sum / depths.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Evans et al. 1997, North Carolina Cooperative Extension AG-553-1, worksheet 1: inches in 4 by 4 cans.
    const CANS: [f32; 16] = [
        0.57, 0.69, 0.83, 0.65, 0.61, 0.38, 0.27, 0.64, 0.51, 0.26, 0.36, 0.52, 0.79, 0.65, 0.61,
        0.86,
    ];

    #[test]
    fn the_published_cans_come_out_as_published() {
        assert!((cu_christiansen(&CANS).unwrap() - 0.748_91).abs() < 1e-5);
        assert!((du_low_quarter(&CANS).unwrap() - 0.552_17).abs() < 1e-5);
    }

    #[test]
    fn a_quarter_that_is_no_whole_number_is_taken_in_part() {
        // Fifteen cans, 3.75 of them the low quarter; computed independently with numpy.
        let cans = [
            47., 42., 45., 24., 13., 26., 33., 34., 27., 30., 40., 44., 32., 12., 12.,
        ];
        assert!((cu_christiansen(&cans).unwrap() - 0.691_40).abs() < 1e-5);
        assert!((du_low_quarter(&cans).unwrap() - 0.477_22).abs() < 1e-5);
    }

    #[test]
    fn a_normal_distribution_ties_the_two_figures_together() {
        // Of a normal distribution CU = 1 - 0.79788 cv and DU = 1 - 1.27111 cv, computed independently with scipy.
        // Sums of twelve uniform draws are near enough to normal.
        let mut state = 0x9e37_79b9_u64;
        let mut draw = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 40) as f32 / (1u64 << 24) as f32
        };
        let depths: Vec<f32> = (0..200_000)
            .map(|_| 10.0 + 2.0 * ((0..12).map(|_| draw()).sum::<f32>() - 6.0))
            .collect();
        assert!((cu_christiansen(&depths).unwrap() - (1.0 - 0.797_88 * 0.2)).abs() < 0.002);
        assert!((du_low_quarter(&depths).unwrap() - (1.0 - 1.271_11 * 0.2)).abs() < 0.003);
    }

    #[test]
    fn no_water_has_no_uniformity() {
        assert_eq!(du_low_quarter(&[0.0, 0.0]), None);
        assert_eq!(cu_christiansen(&[]), None);
    }
}
