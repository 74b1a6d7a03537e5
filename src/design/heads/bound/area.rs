//! The fewest heads by area: what their water can cover at most.

/// Heads by area: `0.75 A / R²`, rounded up, with `R` the largest radius used there (m) and `A` the judged area in m².
///
/// Heads of a matched rate `i` (mm/h) put out `i r² sweep/360` litres an hour each, so at most `i R²`, whatever the
/// radial profile; all of it on the area would be a mean of `n i R² / A`. The mean of the low quarter is no more than the
/// mean, so where it is to be at least `0.75 i`, `n` is at least `0.75 A / R²`. That is proven for an area that only its
/// own heads water, at their rated flow. It knows neither corners nor head-to-head: a bound, no plan.
pub fn heads_bound(area_m2: f64, radius_m: f64) -> usize {
    if !(radius_m > 0.0 && area_m2 > 0.0) {
        return 0;
    }
    (0.75 * area_m2 / (radius_m * radius_m)).ceil() as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_quarters_of_the_water_that_the_area_needs() {
        assert_eq!(heads_bound(2400.0, 12.0), 13); // 12.5
        assert_eq!(heads_bound(192.0, 12.0), 1);
        assert_eq!(heads_bound(0.0, 12.0), 0);
        assert_eq!(heads_bound(100.0, 0.0), 0);
        assert_eq!(heads_bound(100.0, f64::NAN), 0);
    }
}
