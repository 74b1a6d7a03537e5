//! Why a looped main has no sizes.

use thiserror::Error;

/// Why a looped main has no sizes here. Indices are those of the problem.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LoopedError {
    /// No node has a fixed head.
    #[error("no node is a source")]
    NoSource,
    /// A node has a number that cannot be computed with, or brings water in.
    #[error("node {0} has a height, demand or head that cannot be computed with")]
    Node(usize),
    /// A pipe joins no two nodes, or has no length.
    #[error("pipe {0} joins no two nodes, or its length is not above 0")]
    Pipe(usize),
    /// A pipe has no sizes to choose from, more than 64, or one that is not on offer.
    #[error("pipe {0} has no sizes to choose from, more than 64, or one that is not on offer")]
    Offered(usize),
    /// A size has a bore, roughness or price that cannot be computed with.
    #[error("size {0} has a bore, roughness or price that cannot be computed with")]
    Size(usize),
    /// The greatest velocity is no number above 0.
    #[error("the greatest velocity is no number above 0")]
    Velocity,
    /// A node is joined to no source.
    #[error("node {0} is joined to no source of water")]
    NoSupply(usize),
    /// No sizes were found that give every node its least pressure.
    #[error("node {node} is short of {short_m} m even with the best sizes found")]
    Short {
        /// Node that is worst off in the design that comes nearest.
        node: usize,
        /// What it lacks there, m.
        short_m: f64,
        /// Whether it is proven that no sizes keep the limits.
        proven: bool,
    },
    /// No sizes were found that keep the limit of velocity.
    #[error("pipe {pipe} runs {over_m_s} m/s too fast even with the best sizes found")]
    Fast {
        /// Pipe that is worst off in the design that comes nearest.
        pipe: usize,
        /// What it runs too fast there, m/s.
        over_m_s: f64,
        /// Whether it is proven that no sizes keep the limits.
        proven: bool,
    },
    /// The equations of the network were not solved.
    #[error("the network's equations were not solved")]
    Unsolved,
}
