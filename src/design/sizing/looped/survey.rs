//! What is looked at before a looped main is sized: that it means something.

use super::{LoopedError, LoopedLimits, LoopedProblem};
use crate::brief::PipeSize;

/// Most sizes of one pipe: a set of them is held in one word.
const OFFERED_MOST: usize = 64;

/// Refuses strange numbers and indices. That every node is joined to a source, `frame.rs` finds out.
pub(super) fn check(
    problem: &LoopedProblem,
    sizes: &[PipeSize],
    limits: &LoopedLimits,
) -> Result<(), LoopedError> {
    if limits.velocity_most_m_s.is_nan() || limits.velocity_most_m_s <= 0.0 {
        return Err(LoopedError::Velocity);
    }
    check_nodes(problem)?;
    check_pipes(problem, sizes)
}

fn check_nodes(problem: &LoopedProblem) -> Result<(), LoopedError> {
    for (index, node) in problem.nodes.iter().enumerate() {
        let sound = node.elevation_m.is_finite()
            && node.demand_m3s.is_finite()
            && node.demand_m3s >= 0.0
            && node.least_pressure_m.is_finite()
            && node.fixed_head_m.is_none_or(f64::is_finite);
        if !sound {
            return Err(LoopedError::Node(index));
        }
    }
    let mut heads = problem.nodes.iter().filter_map(|node| node.fixed_head_m);
    heads.next().map(|_| ()).ok_or(LoopedError::NoSource)
}

fn check_pipes(problem: &LoopedProblem, sizes: &[PipeSize]) -> Result<(), LoopedError> {
    let nodes = problem.nodes.len();
    for (index, pipe) in problem.pipes.iter().enumerate() {
        let length_sound = pipe.length_m.is_finite() && pipe.length_m > 0.0;
        if pipe.from >= nodes || pipe.to >= nodes || pipe.from == pipe.to || !length_sound {
            return Err(LoopedError::Pipe(index));
        }
        let count_sound = (1..=OFFERED_MOST).contains(&pipe.offered.len());
        if !count_sound || pipe.offered.iter().any(|&size| size >= sizes.len()) {
            return Err(LoopedError::Offered(index));
        }
    }
    Ok(())
}
