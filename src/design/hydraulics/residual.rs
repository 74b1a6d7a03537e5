//! What a state still lacks, and where.

use super::error::{Place, SolveError};
use super::state::{Position, State};

/// Greatest imbalances and where they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Residual {
    /// Departure of a node without a given head from mass balance, by the flows as told, m³/s.
    pub(super) mass_m3s: f64,
    pub(super) mass_worst: usize,
    /// Difference between a law's loss and the heads beside it, over all that is open, m.
    pub(super) head_m: f64,
    /// A conduit.
    pub(super) head_worst: usize,
    /// Whether flows had come to rest.
    pub(super) arrived: bool,
}

impl Residual {
    /// By laws that were evaluated.
    pub(super) fn of(state: &State) -> Self {
        let nodes = state.network.nodes.iter().zip(state.missing());
        let masses = nodes.map(|(node, missing)| match node.fixed_head_m {
            Some(_) => 0.0,
            None => missing.abs(),
        });
        let losses = state.laws.loss.iter().zip(&state.position).enumerate();
        let heads = losses.map(|(conduit, (loss, position))| match position {
            Position::Open => (loss - state.drop_m(conduit)).abs(),
            _ => 0.0,
        });
        let (mass_worst, mass_m3s) = worst(masses);
        let (head_worst, head_m) = worst(heads);
        Self {
            mass_m3s,
            mass_worst,
            head_m,
            head_worst,
            arrived: true,
        }
    }

    /// What to say of a state that did not arrive.
    pub(super) fn told(&self, state: &State, iterations: usize) -> SolveError {
        if shut_off(state, self.mass_worst) {
            return SolveError::ShutOff(self.mass_worst);
        }
        let links = state.network.links.len();
        SolveError::NotConverged {
            iterations,
            mass_residual_m3s: self.mass_m3s,
            mass_worst: Place::Node(self.mass_worst),
            head_residual_m: self.head_m,
            head_worst: if self.head_worst < links {
                Place::Link(self.head_worst)
            } else {
                Place::Outlet(state.ends(self.head_worst).0)
            },
        }
    }
}

/// Place and value of the greatest; the first that is no number is greater than any.
fn worst(values: impl Iterator<Item = f64>) -> (usize, f64) {
    values.enumerate().fold((0, 0.0), |worst, (place, value)| {
        if worst.1.is_nan() || value <= worst.1 {
            worst
        } else {
            (place, value)
        }
    })
}

/// Whether no open link joins the node to a given head, by any way.
fn shut_off(state: &State, node: usize) -> bool {
    let nodes = state.network.nodes.iter();
    let mut reached: Vec<bool> = nodes.map(|node| node.fixed_head_m.is_some()).collect();
    let links = state.network.links.iter().zip(&state.position);
    let open = links.filter(|(_, position)| **position != Position::Shut);
    // As often as any finds another one: it is asked once, when all is lost.
    while open.clone().any(|(link, _)| {
        let found = reached[link.from] != reached[link.to];
        (reached[link.from], reached[link.to]) =
            (reached[link.from] || found, reached[link.to] || found);
        found
    }) {}
    reached.get(node) == Some(&false)
}
