//! The fewest heads an area can do with.

/// Heads by area: `0.75 A / R²`, rounded up, with `R` the largest radius used there (m) and `A` in m².
///
/// A head delivers at most its full circle's flow, which at the matched rate waters `R²` to that rate; if the low quarter
/// is to get at least 0.75 of the rate, so does the mean. It knows neither corners nor head-to-head: a bound, no plan.
pub fn heads_bound(area_m2: f64, radius_m: f64) -> usize {
    if radius_m <= 0.0 || area_m2 <= 0.0 {
        return 0;
    }
    (0.75 * area_m2 / (radius_m * radius_m)).ceil() as usize
}
