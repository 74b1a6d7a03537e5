//! The supply: a reservoir at the height of the point of connection, the test as a pump, and the losses behind it.

use super::plan::{Plan, beside};
use super::rounding::{DEVICE_BORE_MM, device_k};
use super::sheet::{PipeLine, Sheet, ValveLine};
use crate::brief::Friction;
use crate::design::hydraulics::minor::resistance_of_device;
use crate::design::supply::SourceForm;
use crate::site::ServicePipe;
use crate::units::head_m_from_kpa;
use geo::Coord;

/// How far the parts of the supply are drawn from one another, m to the west.
const APART_M: f64 = 1.5;
/// Least fall from one point of a curve to the next, kPa: EPANET takes no level pump curve.
const FALL_KPA: f64 = 1e-6;
/// Parts of the station's flow between the points of a service pipe that is drawn.
const SERVICE_PARTS: usize = 64;
/// A flow at which losses that grow with its square are asked for, L/min.
const ANY_FLOW_LPM: f64 = 100.0;

/// Something between the source and the point of connection that loses head.
#[derive(Debug, Clone, Copy)]
enum Device {
    /// By the coefficient.
    Throttle { k: f64 },
    /// By friction, where the file has the law of the pipe.
    Pipe(ServicePipe),
    /// By a curve that is drawn.
    Drawn,
}

/// Writes the supply up to the node of the point of connection, which the mains write.
pub(super) fn write(plan: &Plan, sheet: &mut Sheet) -> Option<()> {
    let source = plan.node(plan.source)?;
    let devices = devices(plan);
    let names: Vec<String> = devices
        .iter()
        .map(|(name, _)| format!("{name}-in"))
        .collect();
    let connection = [plan.before(plan.source)?];
    let nodes: Vec<&str> = names
        .iter()
        .chain(&connection)
        .map(String::as_str)
        .collect();

    let place = |part: usize| {
        let parts = (devices.len() - part) as f64;
        beside(source.position, -APART_M * parts, 0.0)
    };
    let far = beside(place(0), -APART_M, 0.0);
    lift(plan, sheet, (source.invert_m, far), nodes[0]);
    for (part, (name, device)) in devices.iter().enumerate() {
        sheet.junction(nodes[part], source.invert_m, place(part), None);
        write_device(plan, sheet, name, [nodes[part], nodes[part + 1]], *device);
    }
    Some(())
}

fn write_device(plan: &Plan, sheet: &mut Sheet, name: &str, ends: [&str; 2], device: Device) {
    match device {
        Device::Throttle { k } => {
            sheet.valve(name, ends, DEVICE_BORE_MM, ValveLine::Throttle { k });
        }
        Device::Pipe(pipe) => sheet.pipe(PipeLine {
            id: name,
            from: ends[0],
            to: ends[1],
            length_m: pipe.length_m,
            inside_mm: pipe.inside_mm,
            roughness: pipe.roughness_c,
            minor_k: 0.0,
            told_m: None,
            check: false,
        }),
        Device::Drawn => {
            sheet.curve(name, &service_points(plan));
            let valve = ValveLine::General { curve: name };
            sheet.valve(name, ends, DEVICE_BORE_MM, valve);
        }
    }
}

/// Flow (L/min) and loss (m) of the service pipe from none to twice the station's flow, which is one of the points.
fn service_points(plan: &Plan) -> Vec<(f64, f64)> {
    let flow_lpm = plan.station.flow_lpm.max(1.0);
    let at = |part: usize| {
        let flow_lpm = flow_lpm * (part as f64 / SERVICE_PARTS as f64);
        (
            flow_lpm,
            head_m_from_kpa(plan.supply.service_loss_kpa(flow_lpm)),
        )
    };
    (0..=2 * SERVICE_PARTS).map(at).collect()
}

/// The reservoir, and between it and the node `to` a pump with the test's curve.
fn lift(plan: &Plan, sheet: &mut Sheet, (level_m, at): (f64, Coord<f64>), to: &str) {
    let points = match plan.form() {
        SourceForm::Level { kpa } => {
            sheet.reservoir("supply", level_m + head_m_from_kpa(kpa), at);
            sheet.open_valve("supply", ["supply", to], DEVICE_BORE_MM);
            return;
        }
        SourceForm::Power {
            static_kpa,
            drop_kpa,
            flow_lpm,
            order,
        } => power(static_kpa, drop_kpa, flow_lpm, order),
        SourceForm::Points(points) => falling(points),
    };
    sheet.reservoir("supply", level_m, at);
    let in_metres = |(flow_lpm, kpa): (f64, f64)| (flow_lpm, head_m_from_kpa(kpa));
    let points: Vec<_> = points.into_iter().map(in_metres).collect();
    sheet.curve("supply", &points);
    sheet.pump("supply", ["supply", to], "supply");
}

/// Service pipe, meter and backflow preventer, where they lose anything.
fn devices(plan: &Plan) -> Vec<(&'static str, Device)> {
    let service = plan.supply.service_pipe();
    let service = service.map(|pipe| match plan.friction {
        Friction::HazenWilliams => ("service", Device::Pipe(pipe)),
        Friction::DarcyWeisbach { .. } => ("service", Device::Drawn),
    });
    let losses = [
        ("meter", plan.supply.meter_loss_kpa(ANY_FLOW_LPM)),
        ("backflow", plan.supply.backflow_loss_kpa(ANY_FLOW_LPM)),
    ];
    let there = losses.into_iter().filter(|(_, loss_kpa)| *loss_kpa > 0.0);
    let throttles = there.map(|(name, loss_kpa)| {
        let k = device_k(resistance_of_device(loss_kpa, ANY_FLOW_LPM));
        (name, Device::Throttle { k })
    });
    service.into_iter().chain(throttles).collect()
}

/// Three points, the first without flow: EPANET lays `A - B q^C` through them, which is the law of the test itself.
fn power(static_kpa: f64, drop_kpa: f64, flow_lpm: f64, order: f64) -> Vec<(f64, f64)> {
    let at = |share: f64| {
        let kpa = static_kpa - drop_kpa * share.powf(order);
        (flow_lpm * share, kpa)
    };
    [0.0, 0.5, 1.0].map(at).to_vec()
}

/// The same points, each a hair lower than the one before at least.
fn falling(mut points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    for index in 1..points.len() {
        let most = points[index - 1].1 - FALL_KPA;
        points[index].1 = points[index].1.min(most);
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_curve_is_made_to_fall_by_next_to_nothing() {
        let level = falling(vec![(0.0, 400.0), (100.0, 400.0), (200.0, 400.0)]);
        assert!(level.windows(2).all(|pair| pair[1].1 < pair[0].1));
        assert!((level[2].1 - 400.0).abs() < 1e-5);
    }

    /// `C = ln((h0-h2)/(h0-h1)) / ln(q2/q1)` (Rossman et al. 2020, EPA/600/R-20/133, chapter 3).
    #[test]
    fn the_three_points_give_the_test_s_own_exponent() {
        let points = power(450.0, 100.0, 90.0, 1.0 / 0.54);
        let drop = |index: usize| points[0].1 - points[index].1;
        let order = (drop(2) / drop(1)).ln() / (points[2].0 / points[1].0).ln();
        assert!((order - 1.0 / 0.54).abs() < 1e-12);
    }
}
