//! Hydraulics: pressure and flow everywhere, for a network that is told completely.
//!
//! [`friction`] and [`minor`] are the laws of one pipe and one fitting, [`pipe_friction`] is what the rules make of them,
//! [`network`] is what a network is made of,
//! [`solve`](solve::solve) finds its steady state by the global gradient algorithm, and [`station`] puts a station of
//! a design into such a network and takes the answer out again. [`surge`] is what a closing valve adds. Sizes are chosen
//! elsewhere.

pub mod friction;
pub mod minor;
pub mod network;
pub mod pipe_friction;
pub mod solve;
pub mod station;
pub mod surge;
pub mod viscosity;

mod elimination;
mod error;
mod laws;
mod matrix;
mod powers;
mod residual;
mod start;
mod state;
mod status;
mod survey;

pub use error::{Place, SolveError};
pub use network::{Element, Link, Network, Node, Outlet, SourceCurve};
pub use solve::{Method, Solution, solve};
pub use station::{
    StationError, StationInput, StationSolution, TogetherSolution, least_valve_in_kpa,
    solve_station, solve_together, static_pressures,
};

#[cfg(test)]
mod tests;
