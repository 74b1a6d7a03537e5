//! What a pipe of a size takes from the water, for choosing sizes. SI; head in metres of water.
//!
//! The laws are those of `hydraulics`; which one holds, the size says.

use crate::brief::{Friction, PipeSize};
use crate::design::hydraulics::friction::HAZEN_WILLIAMS_FLOW_EXPONENT;
use crate::design::hydraulics::minor::resistance_of_fitting;
use crate::design::hydraulics::pipe_friction::bore;
use std::f64::consts::PI;

/// Exponent of the flow in which resistances of mains are told: that of the Hazen–Williams law.
pub(super) const FLOW_EXPONENT: f64 = HAZEN_WILLIAMS_FLOW_EXPONENT;

/// Velocity of `flow_m3s` in a full pipe, m/s.
pub fn velocity_m_s(size: &PipeSize, flow_m3s: f64) -> f64 {
    let inside_m = size.inside_mm / 1000.0;
    flow_m3s.abs() / (PI / 4.0 * inside_m * inside_m)
}

/// Friction of `flow_m3s` over `length_m`, m; infinite for a size that cannot be computed with.
pub fn friction_m(size: &PipeSize, length_m: f64, flow_m3s: f64) -> f64 {
    bore(size).map_or(f64::INFINITY, |bore| bore.loss_m(length_m, flow_m3s.abs()))
}

/// Loss in fittings whose coefficients on the velocity sum up to `minor_k`, m: `k v² / 2g`.
pub fn minor_m(size: &PipeSize, minor_k: f64, flow_m3s: f64) -> f64 {
    resistance_of_fitting(minor_k, size.inside_mm / 1e3) * flow_m3s * flow_m3s
}

/// Friction as a resistance: head at `most_m3s` such that `r (q / most)^1.852` is what each of `flows_m3s` loses, or more.
///
/// By Hazen and Williams it is the same for every flow. By Darcy and Weisbach it is not: friction of turbulent flow grows
/// by a lesser power, so the least flow asks for the greatest resistance, and the greater flows are charged more than
/// they lose. Nothing is assumed of the order: `pick` takes the greatest of all, or the least for a bound.
pub(super) fn friction_resistance_m(
    size: &PipeSize,
    length_m: f64,
    flows_m3s: &[f64],
    most_m3s: f64,
    pick: fn(f64, f64) -> f64,
) -> f64 {
    let at_most = friction_m(size, length_m, most_m3s);
    if size.friction == Friction::HazenWilliams {
        return at_most;
    }
    let at = |flow_m3s: f64| {
        friction_m(size, length_m, flow_m3s) * (most_m3s / flow_m3s).powf(FLOW_EXPONENT)
    };
    let flowing = flows_m3s.iter().copied().filter(|flow| *flow > 0.0);
    flowing.map(at).reduce(pick).unwrap_or(at_most)
}

/// Whether resistances say exactly what is lost, so that sizes chosen by them can be proven best.
pub(super) fn resistances_are_exact(sizes: &[PipeSize]) -> bool {
    sizes
        .iter()
        .all(|size| size.friction == Friction::HazenWilliams)
}

/// How rough a pipe is by its law: of two of the same bore the less rough one never loses more.
pub(super) fn roughness(size: &PipeSize) -> f64 {
    match size.friction {
        Friction::HazenWilliams => -size.roughness_c,
        Friction::DarcyWeisbach { .. } => size.roughness_mm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::sizing::lateral::tests::size;
    use proptest::prelude::*;

    fn by_darcy(inside_mm: f64) -> PipeSize {
        PipeSize {
            friction: Friction::DarcyWeisbach {
                viscosity_m2_s: 1.138_6e-6,
            },
            ..size(inside_mm, 1.0)
        }
    }

    #[test]
    fn agrees_with_the_public_solver() {
        // EPANET 2.3.5: 1 L/s through 100 m of 35.1 mm, C 150. Its cubic foot is rounded, hence 1e-4.
        let lost_m = friction_m(&size(35.1, 1.0), 100.0, 0.001);
        assert!((lost_m / 3.370_692 - 1.0).abs() < 1e-4, "{lost_m} m");
        // k v² / 2g by hand: 1 L/s, 26.6 mm, k 1.8.
        let lost_m = minor_m(&size(26.6, 1.0), 1.8, 0.001);
        assert!((lost_m - 0.297_177).abs() < 1e-6, "{lost_m} m");
    }

    #[test]
    fn a_size_that_cannot_be_computed_with_takes_everything() {
        assert_eq!(friction_m(&size(0.0, 1.0), 1.0, 0.001), f64::INFINITY);
    }

    proptest! {
        /// Whatever flows a main carries, by either law: no station loses more than the resistance says.
        #[test]
        fn a_resistance_errs_to_the_safe_side(
            flows_lpm in proptest::collection::vec(0.2..400.0f64, 1..8),
            inside_mm in 16.0..110.0f64,
        ) {
            let flows: Vec<f64> = flows_lpm.iter().map(|lpm| lpm / 60_000.0).collect();
            let most = flows.iter().copied().fold(0.0, f64::max);
            for size in [size(inside_mm, 1.0), by_darcy(inside_mm)] {
                let resistance =
                    |pick| friction_resistance_m(&size, 30.0, &flows, most, pick);
                for &flow in &flows {
                    let told = |pick| resistance(pick) * (flow / most).powf(FLOW_EXPONENT);
                    let lost = friction_m(&size, 30.0, flow);
                    prop_assert!(told(f64::max) >= lost * (1.0 - 1e-12));
                    prop_assert!(told(f64::min) <= lost * (1.0 + 1e-12));
                }
            }
        }
    }
}
