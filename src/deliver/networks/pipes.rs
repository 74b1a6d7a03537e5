//! Mains, control valve and laterals.

use super::plan::{Plan, beside};
use super::rounding::{DEVICE_BORE_MM, device_k, pipe_k, stretch};
use super::sheet::{PipeLine, Sheet, ValveLine};
use crate::brief::{Friction, PipeSize};
use crate::design::hydraulics::minor::resistance_of_device;
use crate::design::model::{Pipe, Section};
use crate::units::{head_m_from_kpa, m3s_from_lpm};
use std::collections::{BTreeMap, BTreeSet};

/// EPANET takes no pipe without length; a tenth of a millimetre has no friction that could be seen.
const LENGTH_LEAST_M: f64 = 1e-4;
/// How far the side before a valve is drawn from the valve, m.
const VALVE_BESIDE_M: f64 = -0.5;

/// The mains through which water runs to this station.
pub(super) fn mains(plan: &Plan, sheet: &mut Sheet) -> Option<()> {
    let mut nodes = BTreeSet::from([plan.source, plan.station.valve_node]);
    for (name, pipe) in without_dead_ends(plan) {
        nodes.extend([pipe.from, pipe.to]);
        let ends = [plan.before(pipe.from)?, plan.before(pipe.to)?];
        let flow_lpm = plan.flow_in_main_lpm(name, pipe);
        write(plan, sheet, (name, pipe, flow_lpm), [&ends[0], &ends[1]])?;
    }
    for node in nodes {
        let name = plan.before(node)?;
        let about = plan.node(node)?;
        let is_valve = Some(name.as_str()) != plan.behind(node);
        let at = beside(
            about.position,
            if is_valve { VALVE_BESIDE_M } else { 0.0 },
            0.0,
        );
        sheet.junction(&name, about.invert_m, at, told_kpa(plan, node));
    }
    Some(())
}

/// The mains less all that ends neither at the source nor at this station's valve: nothing runs there, and EPANET, which
/// gives a pipe without flow next to no resistance, would not come to rest.
fn without_dead_ends<'a>(plan: &Plan<'a>) -> Vec<(&'a str, &'a Pipe)> {
    let mut mains: Vec<_> = plan.pipes(Section::Main).collect();
    loop {
        let mut ends: BTreeMap<usize, usize> = BTreeMap::new();
        for (_, pipe) in &mains {
            *ends.entry(pipe.from).or_default() += 1;
            *ends.entry(pipe.to).or_default() += 1;
        }
        let leads_on = |node: &usize| {
            [plan.source, plan.station.valve_node].contains(node) || ends.get(node) > Some(&1)
        };
        let before = mains.len();
        mains.retain(|(_, pipe)| leads_on(&pipe.from) && leads_on(&pipe.to));
        if mains.len() == before {
            return mains;
        }
    }
}

/// Pressure on the mains, where the design tells it for this very station.
fn told_kpa(plan: &Plan, node: usize) -> Option<f64> {
    if node == plan.station.valve_node {
        Some(plan.station.valve_in_kpa)
    } else {
        (node == plan.source).then_some(plan.station.source_kpa)
    }
}

/// The control valve: a loss, or a pressure it holds.
pub(super) fn valve(plan: &Plan, sheet: &mut Sheet) -> Option<()> {
    let node = plan.station.valve_node;
    let (before, behind) = (plan.before(node)?, plan.behind(node)?);
    let k = device_k(resistance_of_device(
        plan.valve.loss_kpa,
        plan.valve.flow_max_lpm,
    ));
    let line = match plan.station.regulated_kpa {
        Some(kpa) => ValveLine::Reducer {
            pressure_m: head_m_from_kpa(kpa),
            k,
        },
        None => ValveLine::Throttle { k },
    };
    let name = format!("valve-{}", plan.name());
    sheet.valve(&name, [&before, behind], DEVICE_BORE_MM, line);
    Some(())
}

/// The pipes behind the valve, and their nodes with it.
pub(super) fn laterals(plan: &Plan, sheet: &mut Sheet) -> Option<()> {
    let mut nodes = BTreeSet::from([plan.station.valve_node]);
    for (name, pipe) in plan.pipes(Section::Station(plan.index)) {
        nodes.extend([pipe.from, pipe.to]);
        let ends = [plan.behind(pipe.from)?, plan.behind(pipe.to)?];
        write(plan, sheet, (name, pipe, pipe.flow_lpm), ends)?;
    }
    for node in nodes {
        let about = plan.node(node)?;
        let name = plan.behind(node)?;
        sheet.junction(name, about.invert_m, about.position, about.pressure_kpa);
    }
    Some(())
}

fn write(
    plan: &Plan,
    sheet: &mut Sheet,
    (name, pipe, flow_lpm): (&str, &Pipe, f64),
    [from, to]: [&str; 2],
) -> Option<()> {
    let size = PipeSize {
        friction: plan.friction,
        ..plan.size(pipe)?.clone()
    };
    let (roughness, told_m) = match plan.friction {
        Friction::HazenWilliams => (size.roughness_c, None),
        Friction::DarcyWeisbach { .. } => (size.roughness_mm, Some(pipe.length_m)),
    };
    let length_m = pipe.length_m.max(LENGTH_LEAST_M);
    sheet.pipe(PipeLine {
        id: name,
        from,
        to,
        length_m: length_m * stretch(&size, m3s_from_lpm(flow_lpm))?,
        inside_mm: size.inside_mm,
        roughness,
        minor_k: pipe_k(pipe.minor_k),
        told_m,
        check: false,
    });
    let inner = pipe.line.0.len().saturating_sub(1);
    for at in pipe.line.0.iter().take(inner).skip(1) {
        sheet.vertex(name, *at);
    }
    Some(())
}
