//! Stations of one design open at the same time: one supply, each pipe of the main once, each station its own valve.
//!
//! Whether they may be open together is judged by the one who asks.

use super::{StationError, StationInput, StationSolution, build, tell};
use crate::design::hydraulics::solve::solve;
use crate::units::{kpa_from_head_m, lpm_from_m3s, m3s_from_lpm};
use std::collections::{BTreeMap, BTreeSet};

/// Stations solved together. Pressures in kPa, gauge, at the invert; flows in L/min.
#[derive(Debug, Clone, PartialEq)]
pub struct TogetherSolution {
    /// Each station, in the order given.
    pub stations: Vec<StationSolution>,
    /// Each pipe of the mains on their ways, by rising index, and its flow, positive from the pipe's `from` to its `to`.
    pub main_flow_lpm: Vec<(usize, f64)>,
    /// Flow of the supply: that of all stations.
    pub flow_lpm: f64,
    /// Pressure at the source, behind meter and backflow preventer; below zero where heads far under it draw more
    /// than the supply gives.
    pub source_kpa: f64,
}

/// Solves stations of one design that are open at the same time; a single one too.
///
/// Laws are those of [`solve_station`](super::solve_station); flows in shared mains are sums, found with the pressures.
///
/// # Errors
/// [`StationError`] where no station is given, where stations are of different designs or sources, where two claim
/// the same valve or lateral, where pieces do not fit together, or where the network has no solution.
pub fn solve_together(inputs: &[StationInput]) -> Result<TogetherSolution, StationError> {
    check(inputs)?;
    let built = build::stations(inputs)?;
    let solution = solve(&built.network)?;
    let flow_lpm = |link: usize| lpm_from_m3s(solution.flow_m3s[link]);
    let source = built.network.links[built.supply].to;
    Ok(TogetherSolution {
        stations: inputs
            .iter()
            .zip(&built.stations)
            .map(|(input, parts)| tell::station(input, &built, parts, &solution))
            .collect(),
        main_flow_lpm: built
            .main_pipes
            .iter()
            .map(|(&pipe, &link)| (pipe, flow_lpm(link)))
            .collect(),
        flow_lpm: flow_lpm(built.supply),
        source_kpa: kpa_from_head_m(solution.pressure_m(&built.network, source)),
    })
}

/// Pressure that is left before each valve, kPa, at least, while no station draws more than its of `flows_lpm`.
///
/// Mains must be a tree, as they are laid. Losses are those of the greatest flows there can be in each pipe; the supply is
/// taken at the sum of all, and as giving 0 kPa where its curve ends.
///
/// # Errors
/// [`StationError`] where pipes are missing or cannot be computed with.
pub fn least_valve_in_kpa(
    inputs: &[StationInput],
    flows_lpm: &[f64],
) -> Result<Vec<f64>, StationError> {
    let mut most_lpm: BTreeMap<usize, f64> = BTreeMap::new();
    for (input, flow_lpm) in inputs.iter().zip(flows_lpm) {
        for &pipe in input.main_path {
            *most_lpm.entry(pipe).or_default() += flow_lpm;
        }
    }
    let first = inputs.first().ok_or(StationError::NoStation)?;
    let mut loss_kpa = BTreeMap::new();
    for (&pipe, &flow_lpm) in &most_lpm {
        let (loss_m, _) = first.element(pipe)?.loss_and_slope(m3s_from_lpm(flow_lpm));
        loss_kpa.insert(pipe, kpa_from_head_m(loss_m));
    }
    let source_kpa = first.supply.delivered_kpa(flows_lpm.iter().sum());
    let source_m = first.node(first.source_node)?.invert_m;
    let left = |input: &StationInput| {
        let rise_m = input.node(input.valve_node)?.invert_m - source_m;
        let lost: f64 = input.main_path.iter().map(|pipe| loss_kpa[pipe]).sum();
        Ok(source_kpa - lost - kpa_from_head_m(rise_m))
    };
    inputs.iter().map(left).collect()
}

/// Whether the stations are different ones of one design.
fn check(inputs: &[StationInput]) -> Result<(), StationError> {
    let (mut valves, mut laterals) = (BTreeSet::new(), BTreeSet::new());
    for (at, input) in inputs.iter().enumerate() {
        if !same_design(&inputs[0], input) {
            return Err(StationError::OfAnotherDesign(at));
        }
        let index = input.valve_node;
        if !valves.insert(index) {
            let what = "valve node";
            return Err(StationError::Twice { what, index });
        }
        for &index in input.laterals {
            if !laterals.insert(index) {
                let what = "lateral";
                return Err(StationError::Twice { what, index });
            }
        }
    }
    Ok(())
}

fn same_design(a: &StationInput, b: &StationInput) -> bool {
    std::ptr::eq(a.nodes, b.nodes)
        && std::ptr::eq(a.pipes, b.pipes)
        && std::ptr::eq(a.catalogue, b.catalogue)
        && a.source_node == b.source_node
        && a.supply == b.supply
}
