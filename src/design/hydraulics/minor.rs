//! Minor losses: what fittings, valves and meters take, in proportion to the square of the flow.
//!
//! Friction along the pipe is in `friction.rs`. SI; heads in metres of water.

use crate::units::{GRAVITY_M_S2, head_m_from_kpa, m3s_from_lpm};
use std::f64::consts::PI;

/// Resistance of a fitting with loss coefficient `minor_k` on the velocity in a bore `inside_m` wide: m per (m³/s)².
///
/// From `h = K v²/2g` (Rossman et al. 2020, EPA/600/R-20/133, section 3.1).
pub fn resistance_of_fitting(minor_k: f64, inside_m: f64) -> f64 {
    8.0 * minor_k / (PI * PI * GRAVITY_M_S2 * inside_m.powi(4))
}

/// Resistance of a device that takes `loss_kpa` at `flow_lpm`: m per (m³/s)²; zero where the flow is not positive.
pub fn resistance_of_device(loss_kpa: f64, flow_lpm: f64) -> f64 {
    if flow_lpm > 0.0 {
        head_m_from_kpa(loss_kpa) / m3s_from_lpm(flow_lpm).powi(2)
    } else {
        0.0
    }
}

/// Head lost, m with the flow's sign, and its derivative by the flow.
pub fn loss_and_slope(resistance: f64, flow_m3s: f64) -> (f64, f64) {
    let per_flow = resistance * flow_m3s.abs();
    (per_flow * flow_m3s, 2.0 * per_flow)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_device_takes_a_quarter_at_half_its_flow() {
        let resistance = resistance_of_device(40.0, 100.0);
        let (lost_m, _) = loss_and_slope(resistance, m3s_from_lpm(50.0));
        assert!((lost_m - head_m_from_kpa(10.0)).abs() < 1e-12);
    }

    #[test]
    fn water_running_back_loses_head_the_other_way() {
        let (lost_m, slope) = loss_and_slope(10.0, -0.5);
        assert_eq!((lost_m, slope), (-2.5, 10.0));
    }
}
