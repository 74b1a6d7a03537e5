//! What EPANET rounds, and how losses are told so that it computes the ones meant.
//!
//! Constants as in the source of EPANET 2.2 and 2.3 (`types.h`, `input1.c`, `hydcoeffs.c`, from memory; the tests against
//! the library hold them).

use crate::brief::{Friction, PipeSize};
use crate::design::hydraulics::friction::{Bore, Turbulent};
use crate::design::hydraulics::minor::resistance_of_fitting;
use crate::design::hydraulics::pipe_friction::bore;
use crate::units::{GRAVITY_M_S2, METRES_PER_FOOT, lpm_from_m3s};

/// Litres per minute in its cubic foot per second; exact is 1699.0108.
const LPM_PER_CFS: f64 = 1699.0;
/// Its factor of `K q²/d⁴`, feet; exact, with standard gravity, is 0.025194.
const MINOR_FACTOR: f64 = 0.025_17;
/// Its gravity, 32.2 ft/s², in the law of Darcy and Weisbach.
const GRAVITY_M_S2_OF_EPANET: f64 = 32.2 * METRES_PER_FOOT;
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

/// Factor on a pipe's length by which EPANET loses what the design does: at `flow_m3s` where the law is Darcy's, of which it
/// has Swamee and Jain's factor for Colebrook's and a gravity of its own. Else 1: 0.001 per cent is left.
pub(super) fn stretch(size: &PipeSize, flow_m3s: f64) -> Option<f64> {
    let Friction::DarcyWeisbach { viscosity_m2_s } = size.friction else {
        return Some(1.0);
    };
    let (inside_m, wall_m) = (size.inside_mm / 1e3, size.roughness_mm / 1e3);
    let theirs = Bore::darcy_weisbach(inside_m, wall_m, viscosity_m2_s, Turbulent::SwameeJain);
    // Without flow there is no loss to compare; any laminar one does.
    let flow_m3s = flow_m3s.abs().max(1e-9);
    let ratio = bore(size).ok()?.loss_m(1.0, flow_m3s) / theirs.ok()?.loss_m(1.0, flow_m3s);
    Some(ratio * GRAVITY_M_S2_OF_EPANET / GRAVITY_M_S2)
}

/// What EPANET makes of a coefficient of one, m per (m³/s)².
fn resistance_per_k(inside_m: f64) -> f64 {
    let feet = MINOR_FACTOR / (inside_m / METRES_PER_FOOT).powi(4);
    feet * METRES_PER_FOOT * (lpm_from_m3s(1.0) / LPM_PER_CFS).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brief::Catalogue;

    #[test]
    fn lengths_change_by_darcy_only_and_by_less_than_a_fiftieth() {
        let mut size = Catalogue::built_in().pipes[2].clone();
        assert_eq!(stretch(&size, 0.0005), Some(1.0));
        size.friction = Friction::DarcyWeisbach {
            viscosity_m2_s: 1.138_6e-6,
        };
        for flow_m3s in [0.0, 1e-5, 6e-5, 5e-4] {
            let factor = stretch(&size, flow_m3s).unwrap();
            assert!((factor - 1.0).abs() < 0.02 && factor != 1.0, "{factor}");
        }
    }

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
