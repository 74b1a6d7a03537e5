//! A station's answer, in the words of the design.

use super::build::{Built, Parts};
use super::{StationInput, StationSolution};
use crate::design::hydraulics::solve::Solution;
use crate::units::{kpa_from_head_m, lpm_from_m3s};

/// Takes the answer of one station out of the solved network.
pub(super) fn station(
    input: &StationInput,
    built: &Built,
    parts: &Parts,
    solution: &Solution,
) -> StationSolution {
    let pressure = |place: usize| kpa_from_head_m(solution.pressure_m(&built.network, place));
    let supply_lpm = lpm_from_m3s(solution.flow_m3s[built.supply]);
    let main: Vec<_> = parts
        .main
        .iter()
        .map(|&(n, at)| (n, pressure(at)))
        .collect();
    let behind = parts.laterals.iter();
    let node_pressure_kpa: Vec<_> = behind.map(|(&n, &at)| (n, pressure(at))).collect();
    let valve_in_kpa = main[main.len() - 1].1;
    let valve_out_kpa = pressure(parts.laterals[&input.valve_node]);
    StationSolution {
        valve_in_kpa,
        source_kpa: main[0].1,
        valve_loss_kpa: valve_in_kpa - valve_out_kpa,
        meter_loss_kpa: input.supply.meter_loss_kpa(supply_lpm),
        backflow_loss_kpa: input.supply.backflow_loss_kpa(supply_lpm),
        service_loss_kpa: input.supply.service_loss_kpa(supply_lpm),
        flow_lpm: lpm_from_m3s(solution.flow_m3s[parts.valve]),
        node_pressure_kpa,
        main_pressure_kpa: main,
        pipe_flow_lpm: pipe_flows(parts, solution),
        pipe_loss_kpa: pipe_losses(built, parts, solution),
        head_pressure_kpa: at_heads(input, parts, |place| {
            let outlet = built.network.nodes[place].outlet;
            let flow = solution.outflow_m3s[place];
            outlet.map_or(0.0, |o| kpa_from_head_m(o.nozzle_pressure_m(flow)))
        }),
        head_flow_lpm: at_heads(input, parts, |place| {
            lpm_from_m3s(solution.outflow_m3s[place])
        }),
        residual_m3s: solution.mass_residual_m3s,
        iterations: solution.iterations,
    }
}

fn at_heads(
    input: &StationInput,
    parts: &Parts,
    figure: impl Fn(usize) -> f64,
) -> Vec<(usize, f64)> {
    let heads = input.station_heads.iter().zip(&parts.heads);
    heads.map(|(&head, &place)| (head, figure(place))).collect()
}

fn pipe_flows(parts: &Parts, solution: &Solution) -> Vec<(usize, f64)> {
    let pipes = parts.pipes.iter();
    pipes
        .map(|&(pipe, link)| (pipe, lpm_from_m3s(solution.flow_m3s[link])))
        .collect()
}

fn pipe_losses(built: &Built, parts: &Parts, solution: &Solution) -> Vec<(usize, f64)> {
    let loss = |link: usize| {
        let ends = &built.network.links[link];
        kpa_from_head_m(solution.head_m[ends.from] - solution.head_m[ends.to])
    };
    let pipes = parts.pipes.iter();
    pipes.map(|&(pipe, link)| (pipe, loss(link))).collect()
}
