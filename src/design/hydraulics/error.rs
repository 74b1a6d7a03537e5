//! Why a network has no solution.

use std::fmt;
use thiserror::Error;

/// A place in a network, by its index there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A node.
    Node(usize),
    /// A link.
    Link(usize),
    /// The outlet of a node.
    Outlet(usize),
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Node(node) => write!(f, "node {node}"),
            Self::Link(link) => write!(f, "link {link}"),
            Self::Outlet(node) => write!(f, "the outlet of node {node}"),
        }
    }
}

/// Why a network has no solution here. Indices are those of the network.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum SolveError {
    /// A node has a number that cannot be computed with.
    #[error("node {0} has a height, demand or outlet that cannot be computed with")]
    Node(usize),
    /// A link joins no two nodes of the network, or has a number that cannot be computed with.
    #[error("link {0} joins no two nodes, or its length or loss cannot be computed with")]
    Link(usize),
    /// A regulator's second node is a reservoir or held by another regulator.
    #[error("regulator {0} has a second node whose head is already given")]
    Regulator(usize),
    /// A node is joined to no reservoir.
    #[error("node {0} is joined to no source of water")]
    NoSupply(usize),
    /// A part of the network is cut off by valves while water is asked of it.
    #[error("node {0} lies in a part of the network that is shut off from every source")]
    ShutOff(usize),
    /// The iteration did not arrive.
    #[error(
        "no steady state found in {iterations} steps: {mass_residual_m3s} m³/s are missing at {mass_worst}, {head_residual_m} m at {head_worst}"
    )]
    NotConverged {
        /// Steps made.
        iterations: usize,
        /// Greatest mass imbalance left, m³/s.
        mass_residual_m3s: f64,
        /// Where it is: a node.
        mass_worst: Place,
        /// Greatest head imbalance left, m.
        head_residual_m: f64,
        /// Where it is: a link or an outlet.
        head_worst: Place,
    },
}
