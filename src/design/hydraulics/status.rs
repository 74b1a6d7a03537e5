//! Valves that decide for themselves: what is shut, open or holding once heads and flows are known.
//!
//! The rules are those of Rossman et al. 2020, EPA/600/R-20/133, chapter 12, for pressure-reducing and check valves.
//! An outlet is a check valve before the open air: it draws no water in.

use super::network::{Element, Outlet};
use super::state::{Position, State};

/// Heads closer than this count as equal, m.
const HEAD_TOLERANCE_M: f64 = 1e-7;
/// Reverse flow smaller than this is rounding, m³/s.
const FLOW_TOLERANCE_M3S: f64 = 1e-10;
/// Least flow with which what was shut starts again, m³/s: at none its law has no slope.
const RESTART_LEAST_M3S: f64 = 1e-4;

/// Moves every valve, or only the first where `one` is set, that stands wrong; tells whether any moved.
///
/// Outlets first and alone: water that an outlet seems to draw in would make valves before it shut for no reason.
pub(super) fn settle(state: &mut State, one: bool) -> bool {
    let outlets = state.network.links.len()..state.flow.len();
    let devices = std::mem::take(&mut state.devices);
    let moved = move_wrong(state, outlets, one)
        || move_wrong(state, devices.iter().map(|&link| link as usize), one);
    state.devices = devices;
    moved
}

fn move_wrong(state: &mut State, among: impl Iterator<Item = usize>, one: bool) -> bool {
    let mut moved = false;
    for conduit in among {
        let wanted = wanted(state, conduit);
        if wanted != state.position[conduit] {
            put(state, conduit, wanted);
            moved = true;
            if one {
                break;
            }
        }
    }
    moved
}

fn put(state: &mut State, conduit: usize, wanted: Position) {
    match outlet(state, conduit) {
        Some(outlet) if wanted == Position::Open => {
            state.flow[conduit] = outlet.guess_m3s(state.drop_m(conduit));
        }
        Some(_) => state.flow[conduit] = 0.0,
        None if state.position[conduit] == Position::Shut => {
            let outflows = &state.flow[state.network.links.len()..];
            state.flow[conduit] = outflows.iter().sum::<f64>().max(RESTART_LEAST_M3S);
        }
        None => {}
    }
    state.position[conduit] = wanted;
}

fn outlet(state: &State, conduit: usize) -> Option<Outlet> {
    if conduit < state.network.links.len() {
        return None;
    }
    state.network.nodes[state.ends(conduit).0].outlet
}

fn wanted(state: &State, conduit: usize) -> Position {
    let Some(link) = state.network.links.get(conduit) else {
        return one_way(state, conduit, 0.0);
    };
    match link.element {
        Element::Pipe { .. } | Element::Loss { .. } => Position::Open,
        Element::Check { .. } => one_way(state, conduit, 0.0),
        Element::Curve(curve) => one_way(state, conduit, curve.head_and_slope(0.0).0),
        Element::Regulator {
            pressure_m,
            resistance,
        } => regulator(state, conduit, pressure_m, resistance),
    }
}

/// Open while water runs forward, or would: `gain_m` is the head added to water at rest.
fn one_way(state: &State, conduit: usize, gain_m: f64) -> Position {
    let backward = match state.position[conduit] {
        Position::Shut => state.drop_m(conduit) + gain_m <= HEAD_TOLERANCE_M,
        _ => state.flow[conduit] < -FLOW_TOLERANCE_M3S,
    };
    if backward {
        Position::Shut
    } else {
        Position::Open
    }
}

fn regulator(state: &State, conduit: usize, pressure_m: f64, resistance: f64) -> Position {
    let (from, to) = state.ends(conduit);
    let flow = state.flow[conduit];
    let set = state.network.nodes[to].elevation_m + pressure_m - state.datum_m;
    let (before, behind) = (state.head[from], state.head[to]);
    match state.position[conduit] {
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
