//! Rain: how much of a month's rain the turf can use, mm.

/// Effective rain of a month, mm, from the rain of that month, mm: `P (125 - 0.2 P)/125` to 250 mm, `125 + 0.1 P` above.
///
/// USDA Soil Conservation Service, as in Smith 1992, FAO Irrigation and Drainage Paper 46. What is not a number above 0
/// counts as no rain.
pub fn effective_mm(rain_mm: f64) -> f64 {
    if rain_mm.is_nan() || rain_mm <= 0.0 {
        0.0
    } else if rain_mm <= 250.0 {
        rain_mm * (125.0 - 0.2 * rain_mm) / 125.0
    } else {
        125.0 + 0.1 * rain_mm
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the formula in Smith 1992, FAO Irrigation and Drainage Paper 46, worked out apart from this program.
    #[test]
    fn the_table_of_the_soil_conservation_service() {
        let table = [
            (10.0, 9.84),
            (20.0, 19.36),
            (50.0, 46.0),
            (75.0, 66.0),
            (100.0, 84.0),
            (130.0, 102.96),
            (200.0, 136.0),
            (250.0, 150.0),
            (300.0, 155.0),
        ];
        for (rain, effective) in table {
            assert!((effective_mm(rain) - effective).abs() < 1e-9, "{rain}");
        }
    }

    #[test]
    fn no_rain_and_no_number_are_no_rain() {
        assert_eq!(
            [
                effective_mm(0.0),
                effective_mm(-5.0),
                effective_mm(f64::NAN)
            ],
            [0.0; 3]
        );
    }
}
