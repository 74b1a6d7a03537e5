//! Mains with loops: the cheapest sizes that give every node its least pressure, and a proof of how cheap they can be.
//!
//! In a tree the flows are known before the sizes; in a loop they are not, so the tree programme does not apply.
//! `search.rs` finds sizes by local search with a solver of its own (`flows.rs`, the same equations as
//! [`solve`](crate::design::hydraulics::solve())). `prove.rs` then cuts the space of flows and sizes into boxes and leaves
//! out only what it can show to be dearer or short: `narrow.rs` by heads and flows that cannot meet, `relaxed.rs` by what
//! the network would cost if its loops were cut open. `frame.rs` says which flows are free, `laws.rs` what each size
//! takes from the water. Pure: no clock; work is counted, not timed.
//!
//! Not here: fittings (make them equivalent length), pumps, sizes of trees (`lateral.rs`, `main_line.rs`).

mod error;
mod flows;
mod frame;
mod laws;
mod narrow;
mod prove;
mod relaxed;
mod search;
mod span;
mod survey;

pub use error::LoopedError;

use self::flows::Solver;
use self::frame::Frame;
use self::laws::Laws;
use self::prove::{Proof, prove};
use self::search::search;
use crate::brief::PipeSize;

/// A node of a looped main.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopedNode {
    /// Height, m.
    pub elevation_m: f64,
    /// Flow taken out whatever the pressure, m³/s; 0 or more.
    pub demand_m3s: f64,
    /// Least pressure, m of water above the height; not asked of a source.
    pub least_pressure_m: f64,
    /// Head, m, where it is given: a source.
    pub fixed_head_m: Option<f64>,
}

/// A pipe to be sized.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopedPipe {
    /// First node.
    pub from: usize,
    /// Second node; flow towards it counts positive.
    pub to: usize,
    /// Length, m, above 0.
    pub length_m: f64,
    /// The sizes it may have: indices into the sizes on offer, 1 to 64 of them.
    pub offered: Vec<usize>,
}

/// A looped main.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LoopedProblem {
    /// Nodes, at least one of them a source.
    pub nodes: Vec<LoopedNode>,
    /// Pipes.
    pub pipes: Vec<LoopedPipe>,
}

/// What the sizes must keep to, and how much may be done to find and prove them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopedLimits {
    /// Greatest velocity, m/s; infinite for none.
    pub velocity_most_m_s: f64,
    /// What the search's chance starts from.
    pub seed: u64,
    /// Times the search starts again from a disturbed design.
    pub rounds: usize,
    /// Designs that the search may solve.
    pub designs_most: usize,
    /// Boxes that the proof may look into; 0 for the bound of the whole alone.
    pub boxes_most: usize,
    /// Whether the proof also counts the designs that cost the same as the cheapest.
    pub count_ties: bool,
}

impl Default for LoopedLimits {
    /// No limit of velocity; 120 rounds, 2 million designs, 20 000 boxes: seconds for a network of 30 pipes.
    fn default() -> Self {
        Self {
            velocity_most_m_s: f64::INFINITY,
            seed: 1,
            rounds: 120,
            designs_most: 2_000_000,
            boxes_most: 20_000,
            count_ties: false,
        }
    }
}

/// What was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LoopedWork {
    /// Designs solved by the local search.
    pub searched: usize,
    /// Designs solved by the proof.
    pub solved: usize,
    /// Boxes looked into.
    pub boxes: usize,
    /// Boxes left out because no heads and flows in them meet.
    pub cut_by_heads: usize,
    /// Boxes left out because even with the loops cut open they cost more than the best design.
    pub cut_by_cost: usize,
    /// Sizes struck off a pipe in a box, because its flow and the heads beside it do not allow them or the rest would cost too much.
    pub struck: usize,
    /// Designs whose equations were not solved; with one of them nothing is proven.
    pub unsolved: usize,
}

/// Sizes of a looped main.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopedSizing {
    /// Size of each pipe, an index into the sizes on offer.
    pub sizes: Vec<usize>,
    /// Price of the pipe.
    pub cost: f64,
    /// No sizes that keep the limits cost less.
    pub bound: f64,
    /// Whether no sizes that keep the limits cost less than `cost`.
    pub proven: bool,
    /// Designs of the same cost that keep the limits, this one with them; known only if it was asked for and proven.
    pub ties: Option<usize>,
    /// Head at each node, m.
    pub head_m: Vec<f64>,
    /// Flow in each pipe, m³/s.
    pub flow_m3s: Vec<f64>,
    /// What was done.
    pub work: LoopedWork,
}

impl LoopedSizing {
    /// What the cost may be too high by, as a share of it: 0 where proven.
    pub fn gap(&self) -> f64 {
        if self.proven || self.cost <= 0.0 {
            return 0.0;
        }
        ((self.cost - self.bound) / self.cost).max(0.0)
    }
}

/// Finds the cheapest sizes of a looped main.
///
/// Equations and constants are those of [`solve`](crate::design::hydraulics::solve()) with Hazen–Williams pipes; a design
/// keeps its pressures if none is short by more than 1e-6 m. The answer is the same for the same input, seed and limits.
///
/// # Errors
/// [`LoopedError`]: a network that means nothing, or no sizes that keep the limits: by how much even the widest fall
/// short, where, and whether it is proven that none do.
pub fn size_looped(
    problem: &LoopedProblem,
    sizes: &[PipeSize],
    limits: &LoopedLimits,
) -> Result<LoopedSizing, LoopedError> {
    survey::check(problem, sizes, limits)?;
    let laws = Laws::of(problem, sizes, limits.velocity_most_m_s)?;
    let short_first: Vec<f64> = problem.pipes.iter().map(|p| 1.0 / p.length_m).collect();
    let frame = Frame::of(problem, &short_first)?;
    let mut solver = Solver::new(problem, &laws, &frame);
    let found = search(&mut solver, limits);
    // The proof is best led by few and small free flows: those the found design has.
    let weights = found
        .flow_m3s
        .iter()
        .map(|flow| flow.abs())
        .collect::<Vec<_>>();
    let frame = Frame::of(problem, &weights)?;
    let mut solver = Solver::new(problem, &laws, &frame);
    let start = found.kept.then(|| found.ranks.clone());
    let mut proof = prove(&mut solver, start, limits);
    proof.work.searched = found.solved;
    told(&mut solver, &proof, &found.ranks)
}

/// The answer in terms of the sizes on offer.
fn told(
    solver: &mut Solver,
    proof: &Proof,
    nearest: &[usize],
) -> Result<LoopedSizing, LoopedError> {
    let Some(ranks) = &proof.best else {
        return Err(solver.shortage(nearest, proof.closed));
    };
    // Leaves its heads and flows in the solver.
    solver.judge(ranks);
    let cost = solver.laws.cost(ranks);
    Ok(LoopedSizing {
        sizes: solver.laws.sizes(ranks),
        cost,
        bound: if proof.closed {
            cost
        } else {
            proof.bound.min(cost)
        },
        proven: proof.closed,
        ties: proof.ties,
        head_m: solver.head_m.clone(),
        flow_m3s: solver.flow_m3s.clone(),
        work: proof.work,
    })
}

#[cfg(test)]
mod tests;
