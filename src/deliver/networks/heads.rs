//! Heads: riser and joint as a short pipe with a loss, the nozzle at ground level as an emitter.

use super::plan::{Plan, PlannedHead, beside};
use super::rounding::{DEVICE_BORE_MM, device_k};
use super::sheet::{PipeLine, Sheet, ValveLine};
use crate::brief::{Friction, PipeSize};
use crate::design::hydraulics::minor::resistance_of_device;
use crate::units::head_m_from_kpa;

/// Length of riser and joint, m: all their loss is in the coefficient.
const RISER_M: f64 = 0.001;
/// Roughness of riser and joint, by Hazen–Williams or in mm; their friction is nothing at that length and bore.
const RISER_ROUGHNESS: (f64, f64) = (150.0, PipeSize::PLASTIC_ROUGHNESS_MM);
/// How far a nozzle is drawn from its node, m east and north.
const NOZZLE_BESIDE_M: f64 = 0.3;
/// Parts of the flow as solved between the points of a law that is drawn.
const LAW_PARTS: usize = 64;

/// Writes the heads; gives the exponent of the emitters.
pub(super) fn write(plan: &Plan, sheet: &mut Sheet) -> Option<f64> {
    let heads = plan.heads()?;
    let exponents: Vec<f64> = heads.iter().map(|head| head.model.flow_exponent).collect();
    let exponent = most_frequent(&exponents)?;
    for head in &heads {
        riser(plan, head, sheet)?;
        if head.model.flow_exponent == exponent {
            sheet.emitter(head.name, coefficient(head));
        } else {
            drawn(plan, head, sheet)?;
        }
    }
    Some(exponent)
}

/// The exponent that most have; of equals the one met first.
fn most_frequent(exponents: &[f64]) -> Option<f64> {
    let times = |wanted: f64| exponents.iter().filter(|&&x| x == wanted).count();
    let most = exponents.iter().map(|&x| times(x)).max()?;
    exponents.iter().copied().find(|&x| times(x) == most)
}

/// From the node of the lateral to the nozzle. A check valve only where no water comes, since a head draws none in:
/// EPANET closes others on its way to the solution, and does not open them again.
fn riser(plan: &Plan, head: &PlannedHead, sheet: &mut Sheet) -> Option<()> {
    let node = plan.node(head.node)?;
    let at = beside(node.position, NOZZLE_BESIDE_M, NOZZLE_BESIDE_M);
    sheet.junction(head.name, head.head.ground_m, at, Some(head.pressure_kpa));
    let resistance = resistance_of_device(head.model.joint_loss_kpa, head.model.joint_flow_lpm);
    sheet.pipe(PipeLine {
        id: &format!("riser-{}", head.name),
        from: plan.behind(head.node)?,
        to: head.name,
        length_m: RISER_M,
        inside_mm: DEVICE_BORE_MM,
        roughness: match plan.friction {
            Friction::HazenWilliams => RISER_ROUGHNESS.0,
            Friction::DarcyWeisbach { .. } => RISER_ROUGHNESS.1,
        },
        minor_k: device_k(resistance),
        told_m: None,
        check: head.flow_lpm <= 0.0,
    });
    Some(())
}

/// Flow at one metre of pressure, L/min.
fn coefficient(head: &PlannedHead) -> f64 {
    let reference_m = head_m_from_kpa(head.model.pressure_ref_kpa);
    head.head.flow_ref_lpm / reference_m.powf(head.model.flow_exponent)
}

/// A head whose exponent is not that of the file: its law as a curve, into a reservoir at the nozzle's height.
fn drawn(plan: &Plan, head: &PlannedHead, sheet: &mut Sheet) -> Option<()> {
    let (air, law) = (format!("air-{}", head.name), format!("law-{}", head.name));
    let node = plan.node(head.node)?;
    let at = beside(node.position, 2.0 * NOZZLE_BESIDE_M, 2.0 * NOZZLE_BESIDE_M);
    sheet.reservoir(&air, head.head.ground_m, at);
    let ends = [head.name, &air];
    sheet.valve(
        &law,
        ends,
        DEVICE_BORE_MM,
        ValveLine::General { curve: &law },
    );
    sheet.curve(&law, &law_points(head));
    Some(())
}

/// Flow (L/min) and pressure (m) from none to twice the flow as solved, which is one of the points.
fn law_points(head: &PlannedHead) -> Vec<(f64, f64)> {
    let middle_lpm = if head.flow_lpm > 0.0 {
        head.flow_lpm
    } else {
        head.head.flow_ref_lpm
    };
    let order = 1.0 / head.model.flow_exponent;
    let pressure_m = |flow_lpm: f64| {
        head_m_from_kpa(head.model.pressure_ref_kpa)
            * (flow_lpm / head.head.flow_ref_lpm).powf(order)
    };
    let flow_lpm = |part: usize| middle_lpm * (part as f64 / LAW_PARTS as f64);
    (0..=2 * LAW_PARTS)
        .map(|part| (flow_lpm(part), pressure_m(flow_lpm(part))))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_exponent_of_most_is_the_file_s_and_of_equals_the_first() {
        assert_eq!(most_frequent(&[0.5, 0.55, 0.55]), Some(0.55));
        assert_eq!(most_frequent(&[0.6, 0.5, 0.5, 0.6]), Some(0.6));
        assert_eq!(most_frequent(&[]), None);
    }
}
