//! The steady state of a network: heads at every node, flow in every link.
//!
//! The global gradient algorithm runs to rounding for one set of valve positions, then the valves that decide for
//! themselves are moved, until none moves. SI; heads in metres of water.

use super::error::SolveError;
pub use super::matrix::Method;
use super::matrix::Singular;
use super::network::Network;
use super::residual::Residual;
use super::state::State;
use super::{status, survey};

/// Correction of all flows over their sum below which an iteration has arrived.
const FLOW_CHANGE_MOST: f64 = 1e-9;
/// Correction of one link's flow that is rounding, m³/s: the last digit of a head over the least loss per flow.
const FLOW_CHANGE_ROUNDING_M3S: f64 = 1e-11;
/// Mass imbalance a solution may keep, m³/s.
const MASS_RESIDUAL_MOST_M3S: f64 = 1e-9;
/// Head imbalance a solution may keep, m.
const HEAD_RESIDUAL_MOST_M: f64 = 1e-6;
/// Steps for one set of positions.
const STEPS_MOST: usize = 200;
/// Steps after which only part of each correction is made, against swinging.
const STEPS_WHOLE: usize = 30;
/// Sets of positions tried.
const ROUNDS_MOST: usize = 100;
/// Rounds after which valves move one by one.
const ROUNDS_TOGETHER: usize = 20;

/// A solved network, in the order of its nodes and links.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Head at each node, m.
    pub head_m: Vec<f64>,
    /// Flow in each link, m³/s, positive from its first node to its second.
    pub flow_m3s: Vec<f64>,
    /// Flow out of each node's outlet, m³/s; 0 where there is none.
    pub outflow_m3s: Vec<f64>,
    /// Steps made.
    pub iterations: usize,
    /// Greatest mass imbalance at a node, m³/s.
    pub mass_residual_m3s: f64,
    /// Greatest difference between the loss of a link and the heads beside it, m.
    pub head_residual_m: f64,
}

impl Solution {
    /// Gauge pressure at a node, m of water above its height.
    pub fn pressure_m(&self, network: &Network, node: usize) -> f64 {
        self.head_m[node] - network.nodes[node].elevation_m
    }
}

/// Solves a network.
///
/// # Errors
/// [`SolveError`]: nonsense in the network, a node without supply, or no convergence. A solution that is returned
/// has converged: mass within 1e-9 m³/s at every node, heads within 1e-6 m along every link.
///
/// ```
/// use swardline::design::hydraulics::*;
/// # use swardline::design::hydraulics::friction::Bore;
/// let mut network = Network::default();
/// let tank = network.add_node(Node::reservoir(136.0));
/// let end = network.add_node(Node::junction(100.0, 0.0005)); // 0.5 L/s taken out
/// let bore = Bore::hazen_williams(0.0266, 150.0)?;
/// network.add_link(tank, end, Element::Pipe { length_m: 100.0, bore, minor_k: 0.0 });
/// let solution = solve(&network)?;
/// assert!((solution.pressure_m(&network, end) - (36.0 - 3.6042)).abs() < 1e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve(network: &Network) -> Result<Solution, SolveError> {
    solve_by(network, Method::Fitting)
}

/// Solves a network by a chosen way of treating the linear equations; see [`solve`].
///
/// # Errors
/// As [`solve`].
pub fn solve_by(network: &Network, method: Method) -> Result<Solution, SolveError> {
    let ways = survey::check(network)?;
    let mut state = State::start(network, ways);
    let mut iterations = 0;
    for round in 0..ROUNDS_MOST {
        let residual = settle_flows(&mut state, method, &mut iterations)?;
        if !status::settle(&mut state, round >= ROUNDS_TOGETHER) {
            return if residual.balanced() {
                Ok(told(&state, &residual, iterations))
            } else {
                Err(residual.told(&state, iterations))
            };
        }
    }
    Err(Residual::of(&state).told(&state, iterations))
}

/// Iterates at fixed positions until it arrives, or long enough; gives what is left.
fn settle_flows(
    state: &mut State,
    method: Method,
    iterations: &mut usize,
) -> Result<Residual, SolveError> {
    let mut linear = match state.linear(method) {
        Ok(linear) => linear,
        Err(why) => return Err(refused(state, *iterations, why)),
    };
    let rounding = FLOW_CHANGE_ROUNDING_M3S * state.flow.len() as f64;
    state.evaluate(&linear);
    for step in 0..STEPS_MOST {
        let share = if step < STEPS_WHOLE { 1.0 } else { 0.6 };
        if let Err(why) = state.step(&mut linear, share) {
            return Err(refused(state, *iterations, why));
        }
        let moved_m3s = state.pass_through_regulators(&linear);
        state.evaluate(&linear);
        *iterations += 1;
        let unrest = state.unrest();
        let small = FLOW_CHANGE_MOST * unrest.flowing_m3s + rounding;
        if unrest.off_m3s + moved_m3s <= small {
            let residual = Residual::of(state);
            if residual.balanced() {
                return Ok(residual);
            }
        }
    }
    // Whatever the next positions bring, this is not it.
    let lost = Residual::of(state);
    Ok(Residual {
        arrived: false,
        ..lost
    })
}

impl Residual {
    fn balanced(&self) -> bool {
        self.arrived && self.mass_m3s < MASS_RESIDUAL_MOST_M3S && self.head_m < HEAD_RESIDUAL_MOST_M
    }
}

/// The equations have no solution: a part hangs on nothing, or flows have grown beyond number.
fn refused(state: &State, iterations: usize, why: Singular) -> SolveError {
    match why {
        Singular::Loose(node) => SolveError::ShutOff(node),
        Singular::Broken => Residual::of(state).told(state, iterations),
    }
}

fn told(state: &State, residual: &Residual, iterations: usize) -> Solution {
    let nodes = state.network.nodes.len();
    let links = state.network.links.len();
    let mut outflow_m3s = vec![0.0; nodes];
    for conduit in links..state.flow.len() {
        outflow_m3s[state.ends(conduit).0] = state.told_flow(conduit).max(0.0);
    }
    Solution {
        head_m: state.head[..nodes]
            .iter()
            .map(|head| head + state.datum_m)
            .collect(),
        flow_m3s: (0..links).map(|link| state.told_flow(link)).collect(),
        outflow_m3s,
        iterations,
        mass_residual_m3s: residual.mass_m3s,
        head_residual_m: residual.head_m,
    }
}
