//! Valves that decide for themselves: what is shut, open or holding once heads and flows are known.
//!
//! The rules are those of Rossman et al. 2020, EPA/600/R-20/133, chapter 12, for pressure-reducing and check valves.

use super::network::Element;
use super::state::{Position, State};

/// Heads closer than this count as equal, m.
const HEAD_TOLERANCE_M: f64 = 1e-7;
/// Reverse flow smaller than this is rounding, m³/s.
const FLOW_TOLERANCE_M3S: f64 = 1e-10;

/// Moves every valve, or only the first where `one` is set, that stands wrong; tells whether any moved.
///
/// Outlets first and alone: water that an outlet seems to draw in would make valves before it shut for no reason.
pub(super) fn settle(state: &mut State, one: bool) -> bool {
    settle_outlets(state, one) || settle_links(state, one)
}

fn settle_outlets(state: &mut State, one: bool) -> bool {
    let mut moved = false;
    for node in 0..state.outlet_open.len() {
        let wanted = outlet_wanted(state, node);
        if wanted != state.outlet_open[node] && !(one && moved) {
            state.outlet_open[node] = wanted;
            restart_outlet(state, node);
            moved = true;
        }
    }
    moved
}

fn settle_links(state: &mut State, one: bool) -> bool {
    let mut moved = false;
    for index in 0..state.position.len() {
        let wanted = wanted(state, index);
        if wanted != state.position[index] && !(one && moved) {
            release(state, index);
            state.position[index] = wanted;
            moved = true;
        }
    }
    moved
}

/// A link that was shut starts again with some flow, else its law has no slope to start from.
fn release(state: &mut State, index: usize) {
    if state.position[index] == Position::Shut {
        state.flow[index] = state.outflow.iter().sum::<f64>().max(1e-4);
    }
}

fn restart_outlet(state: &mut State, node: usize) {
    if let Some(outlet) = state.network.nodes[node].outlet {
        let pressure = state.head[node] + state.datum_m - outlet.elevation_m;
        state.outflow[node] = if state.outlet_open[node] {
            outlet.guess_m3s(pressure)
        } else {
            0.0
        };
    }
}

/// No water is drawn in: an outlet against suction is shut, and opens again when pressure comes.
fn outlet_wanted(state: &State, node: usize) -> bool {
    let Some(outlet) = state.network.nodes[node].outlet else {
        return true;
    };
    if state.outlet_open[node] {
        state.outflow[node] >= -FLOW_TOLERANCE_M3S
    } else {
        state.head[node] + state.datum_m > outlet.elevation_m + HEAD_TOLERANCE_M
    }
}

fn wanted(state: &State, index: usize) -> Position {
    match state.network.links[index].element {
        Element::Pipe { .. } | Element::Loss { .. } => Position::Open,
        Element::Check { .. } | Element::Curve(_) => one_way(state, index),
        Element::Regulator {
            pressure_m,
            resistance,
        } => regulator(state, index, pressure_m, resistance),
    }
}

fn one_way(state: &State, index: usize) -> Position {
    let link = &state.network.links[index];
    let backward = match state.position[index] {
        Position::Shut => {
            let drop = state.head[link.from] - state.head[link.to];
            drop - link.element.loss_and_slope(0.0).0 <= HEAD_TOLERANCE_M
        }
        _ => state.flow[index] < -FLOW_TOLERANCE_M3S,
    };
    if backward {
        Position::Shut
    } else {
        Position::Open
    }
}

fn regulator(state: &State, index: usize, pressure_m: f64, resistance: f64) -> Position {
    let link = &state.network.links[index];
    let flow = state.flow[index];
    let set = state.network.nodes[link.to].elevation_m + pressure_m - state.datum_m;
    let (before, behind) = (state.head[link.from], state.head[link.to]);
    match state.position[index] {
        Position::Open | Position::Holding if flow < -FLOW_TOLERANCE_M3S => Position::Shut,
        Position::Holding if before - resistance * flow * flow < set - HEAD_TOLERANCE_M => {
            Position::Open
        }
        Position::Open if behind > set + HEAD_TOLERANCE_M => Position::Holding,
        Position::Shut if before > set + HEAD_TOLERANCE_M && behind < set - HEAD_TOLERANCE_M => {
            Position::Holding
        }
        Position::Shut if before < set - HEAD_TOLERANCE_M && before > behind + HEAD_TOLERANCE_M => {
            Position::Open
        }
        same => same,
    }
}
