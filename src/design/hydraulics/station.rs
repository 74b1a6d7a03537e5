//! One station of a design as a network: supply, main, valve, laterals, heads; and the answer taken out again.
//! Several stations open at once are one network with one supply: [`together`].
//!
//! Pressures in kPa, flows in L/min, as the design tells them. Which pipes and sizes there are is decided elsewhere.

mod build;
mod input;
mod tell;
pub mod together;

use super::error::SolveError;
use crate::brief::{Catalogue, ValveSize};
use crate::design::model::{Head, Node, Pipe};
use crate::design::supply::SupplyCurve;
use crate::units::kpa_from_head_m;
use thiserror::Error;
pub use together::{TogetherSolution, least_valve_in_kpa, solve_together};

/// A station to solve. Pipes and nodes are those of the design; indices are positions in them.
#[derive(Debug, Clone, Copy)]
pub struct StationInput<'a> {
    /// All nodes.
    pub nodes: &'a [Node],
    /// All pipes, sizes chosen.
    pub pipes: &'a [Pipe],
    /// Pipes from the source to the valve, in order, each in either direction.
    pub main_path: &'a [usize],
    /// Pipes behind the valve.
    pub laterals: &'a [usize],
    /// Node of the valve.
    pub valve_node: usize,
    /// Node of the point of connection.
    pub source_node: usize,
    /// The supply at the source.
    pub supply: &'a SupplyCurve,
    /// The valve.
    pub valve: &'a ValveSize,
    /// Pressure the valve holds behind it at most, kPa, where it regulates.
    pub regulated_kpa: Option<f64>,
    /// All heads.
    pub heads: &'a [Head],
    /// Heads of the station; each stands at a node of the laterals.
    pub station_heads: &'a [usize],
    /// Catalogue that sizes and models point into.
    pub catalogue: &'a Catalogue,
}

/// A solved station, alone or with others. Pressures are gauge pressures at the invert, kPa, unless told otherwise; flows L/min.
#[derive(Debug, Clone, PartialEq)]
pub struct StationSolution {
    /// Nodes of the laterals, by rising index, and their pressure; the valve's node with the pressure behind it.
    pub node_pressure_kpa: Vec<(usize, f64)>,
    /// Nodes of the main from source to valve, in order, and their pressure; the valve's with the pressure before it.
    pub main_pressure_kpa: Vec<(usize, f64)>,
    /// Pressure before the valve.
    pub valve_in_kpa: f64,
    /// Pressure at the source, behind service pipe, meter and backflow preventer; below zero where heads far under it draw more than
    /// the supply gives.
    pub source_kpa: f64,
    /// Loss in the meter.
    pub meter_loss_kpa: f64,
    /// Loss in the backflow preventer.
    pub backflow_loss_kpa: f64,
    /// Loss in the service pipe; 0 where none is told.
    pub service_loss_kpa: f64,
    /// Pressure before less pressure behind the valve, what it throttles away when it regulates included.
    pub valve_loss_kpa: f64,
    /// Flow of the whole station, through its valve.
    pub flow_lpm: f64,
    /// Each pipe and its flow, main first, positive from the pipe's `from` to its `to`; in the main that of all stations open.
    pub pipe_flow_lpm: Vec<(usize, f64)>,
    /// Each pipe and its loss, friction and fittings, with the flow's sign.
    pub pipe_loss_kpa: Vec<(usize, f64)>,
    /// Each head, in the order given, and the pressure at its nozzle at ground level; 0 where none comes.
    pub head_pressure_kpa: Vec<(usize, f64)>,
    /// Each head, in the order given, and its flow.
    pub head_flow_lpm: Vec<(usize, f64)>,
    /// Greatest departure from mass balance, m³/s.
    pub residual_m3s: f64,
    /// Steps made.
    pub iterations: usize,
}

/// Why a station could not be solved. Indices are those of the design.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum StationError {
    /// An index points past the end of what it points into.
    #[error("{what} {index} does not exist")]
    Missing {
        /// What it points to.
        what: &'static str,
        /// The index.
        index: usize,
    },
    /// The pipes of the main do not lead from the source to the valve.
    #[error(
        "the pipes of the main do not lead from the source to the valve; they break at pipe {0}"
    )]
    MainBroken(usize),
    /// A head of the station stands at no node of its laterals.
    #[error("head {0} stands at no node of the station's laterals")]
    HeadWithoutNode(usize),
    /// A pipe whose size or length cannot be computed with.
    #[error("pipe {0} has a length, bore or roughness that cannot be computed with")]
    Pipe(usize),
    /// A head model or valve with figures that cannot be computed with.
    #[error("the figures of {what} {index} cannot be computed with")]
    Figures {
        /// What it is.
        what: &'static str,
        /// Its index in the catalogue or among the heads.
        index: usize,
    },
    /// There is nothing to solve.
    #[error("no station is given")]
    NoStation,
    /// A station, by its place in the list, that is not of the same design or has another source than the first.
    #[error("station {0} of the list is not of the design and the source of the first")]
    OfAnotherDesign(usize),
    /// A valve or lateral that two of the stations claim.
    #[error("{what} {index} belongs to two of the stations")]
    Twice {
        /// What it is.
        what: &'static str,
        /// Its index.
        index: usize,
    },
    /// The network has no solution.
    #[error("the station's network has no solution: {0}")]
    Solve(#[from] SolveError),
}

/// Solves a station: the supply's curve, the main, the valve, the laterals and every head at once.
///
/// The supply is taken as tested, without the planning margin. A head is an outlet at ground level behind its riser
/// and joint; one that gets no pressure gives no water and draws none in.
///
/// # Errors
/// [`StationError`] where the pieces do not fit together or the network has no solution.
pub fn solve_station(input: &StationInput) -> Result<StationSolution, StationError> {
    let mut solved = solve_together(std::slice::from_ref(input))?;
    solved.stations.pop().ok_or(StationError::NoStation)
}

/// Pressure at each node with nothing running, kPa at its invert, for a head (height plus pressure) at the source, m.
///
/// Nodes above that head get a pressure below zero: water does not reach them.
pub fn static_pressures(nodes: &[Node], source_head_m: f64) -> Vec<f64> {
    nodes
        .iter()
        .map(|node| kpa_from_head_m(source_head_m - node.invert_m))
        .collect()
}

#[cfg(test)]
mod tests;
