//! What EPANET rounds, and how losses are told so that it computes the ones meant.
//!
//! Constants as in the source of EPANET 2.2 and 2.3 (`types.h`, `input1.c`, `hydcoeffs.c`, from memory; the tests against
//! the library hold them).

use crate::design::hydraulics::minor::resistance_of_fitting;
use crate::units::METRES_PER_FOOT;

/// Litres per minute in its cubic foot per second; exact is 1699.0108.
const LPM_PER_CFS: f64 = 1699.0;
/// Its factor of `K q²/d⁴`, feet; exact, with standard gravity, is 0.025194.
const MINOR_FACTOR: f64 = 0.025_17;
/// Bore on whose velocity the coefficients of devices are told, mm. Wide, so that it adds no friction of its own.
pub(super) const DEVICE_BORE_MM: f64 = 50.0;

/// Coefficient K on the velocity in a bore of [`DEVICE_BORE_MM`] by which EPANET loses `resistance · q²`; m per (m³/s)².
pub(super) fn device_k(resistance: f64) -> f64 {
    resistance / resistance_per_k(DEVICE_BORE_MM / 1e3)
}

/// Coefficient by which EPANET loses in a pipe what fittings of `minor_k` do: greater by 0.093 per cent.
pub(super) fn pipe_k(minor_k: f64) -> f64 {
    let inside_m = DEVICE_BORE_MM / 1e3; // any will do
    minor_k * resistance_of_fitting(1.0, inside_m) / resistance_per_k(inside_m)
}

/// What EPANET makes of a coefficient of one, m per (m³/s)².
fn resistance_per_k(inside_m: f64) -> f64 {
    let lpm_per_m3s = 60_000.0;
    let feet = MINOR_FACTOR / (inside_m / METRES_PER_FOOT).powi(4);
    feet * METRES_PER_FOOT * (lpm_per_m3s / LPM_PER_CFS).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::GRAVITY_M_S2;

    #[test]
    fn a_fitting_s_coefficient_is_raised_by_what_the_factor_lacks() {
        // 0.025194 / 0.02517, and the cubic foot twice.
        assert!(
            (pipe_k(1.8) / 1.8 - 1.000_93).abs() < 2e-5,
            "{}",
            pipe_k(1.8)
        );
    }

    /// `K = h 2g / v²` with exact constants lies within a thousandth: only roundings are made good.
    #[test]
    fn a_device_s_coefficient_is_that_of_the_book_but_for_roundings() {
        let flow_m3s = 0.0005_f64;
        let velocity = flow_m3s / (std::f64::consts::PI / 4.0 * 0.05 * 0.05);
        let by_the_book = 2.0 * 2.0 * GRAVITY_M_S2 / (velocity * velocity);
        let off = device_k(2.0 / (flow_m3s * flow_m3s)) / by_the_book - 1.0;
        assert!(off.abs() < 1e-3 && off.abs() > 5e-4, "{off}");
    }
}
