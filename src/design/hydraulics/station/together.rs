//! Stations of one design open at the same time: one supply, each pipe of the main once, each station its own valve.
//!
//! Whether they may be open together is judged by the one who asks.

use super::{StationError, StationInput, StationSolution, build, tell};
use crate::design::hydraulics::solve::solve;
use crate::units::{kpa_from_head_m, lpm_from_m3s};
use std::collections::BTreeSet;

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
