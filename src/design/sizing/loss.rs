//! What a pipe of a size takes from the water, for choosing sizes. SI; head in metres of water.

use crate::brief::PipeSize;
use crate::units::GRAVITY_M_S2;
use std::f64::consts::PI;

/// Turns m, m³/s into m. Rossman et al. 2020, EPA/600/R-20/133, table 3.1, made SI.
const HAZEN_WILLIAMS: f64 = 10.666_83;
/// Exponent of the flow in the Hazen–Williams law.
pub(super) const FLOW_EXPONENT: f64 = 1.852;

/// Velocity of `flow_m3s` in a full pipe, m/s.
pub fn velocity_m_s(size: &PipeSize, flow_m3s: f64) -> f64 {
    let inside_m = size.inside_mm / 1000.0;
    flow_m3s.abs() / (PI / 4.0 * inside_m * inside_m)
}

/// Friction of `flow_m3s` over `length_m`, m, by Hazen and Williams.
pub fn friction_m(size: &PipeSize, length_m: f64, flow_m3s: f64) -> f64 {
    let bore = size.roughness_c.powf(FLOW_EXPONENT) * (size.inside_mm / 1000.0).powf(4.871);
    HAZEN_WILLIAMS * length_m * flow_m3s.abs().powf(FLOW_EXPONENT) / bore
}

/// Loss in fittings whose coefficients on the velocity sum up to `minor_k`, m: `k v² / 2g`.
pub fn minor_m(size: &PipeSize, minor_k: f64, flow_m3s: f64) -> f64 {
    minor_k * velocity_m_s(size, flow_m3s).powi(2) / (2.0 * GRAVITY_M_S2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::sizing::lateral::tests::size;

    #[test]
    fn agrees_with_the_public_solver() {
        // EPANET 2.3.5: 1 L/s through 100 m of 35.1 mm, C 150. Its cubic foot is rounded, hence 1e-4.
        let lost_m = friction_m(&size(35.1, 1.0), 100.0, 0.001);
        assert!((lost_m / 3.370_692 - 1.0).abs() < 1e-4, "{lost_m} m");
        // k v² / 2g by hand: 1 L/s, 26.6 mm, k 1.8.
        let lost_m = minor_m(&size(26.6, 1.0), 1.8, 0.001);
        assert!((lost_m - 0.297_177).abs() < 1e-6, "{lost_m} m");
    }
}
