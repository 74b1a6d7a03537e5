//! Minor loss coefficients of pipes, by what the water meets where each pipe begins.
//!
//! Rossman et al. 2020, EPA/600/R-20/133, table 3.3: tee run 0.6, tee branch 1.8, short elbow 0.9, 45° elbow 0.4.

use crate::design::model::{Node, Pipe};
use geo::Coord;

const TEE_RUN: f64 = 0.6;
const TEE_BRANCH: f64 = 1.8;
const ELBOW: f64 = 0.9;
const HALF_ELBOW: f64 = 0.4;

/// Sets `minor_k` of every pipe from the pipe that feeds it and its sisters at the same node.
pub fn set_minor_losses(nodes: &[Node], pipes: &mut [Pipe]) {
    let mut feeder = vec![None; nodes.len()];
    let mut leaving = vec![0usize; nodes.len()];
    for (i, pipe) in pipes.iter().enumerate() {
        // A valve's node is fed by the main; its laterals start behind the valve, whose loss is its own.
        if nodes[pipe.to].section == pipe.section {
            feeder[pipe.to] = Some(i);
        }
        leaving[pipe.from] += 1;
    }
    let directions: Vec<Coord<f64>> = pipes
        .iter()
        .map(|pipe| nodes[pipe.to].position - nodes[pipe.from].position)
        .collect();
    for (i, pipe) in pipes.iter_mut().enumerate() {
        let Some(before) = feeder[pipe.from] else {
            pipe.minor_k = 0.0;
            continue;
        };
        let turn_deg = angle_deg(directions[before], directions[i]);
        let passes_head = nodes[pipe.from].head.is_some();
        pipe.minor_k = coefficient(turn_deg, leaving[pipe.from] > 1, passes_head);
    }
}

fn coefficient(turn_deg: f64, branches: bool, passes_head: bool) -> f64 {
    match (branches, turn_deg) {
        (true, turn) if turn > 45.0 => TEE_BRANCH,
        (true, _) => TEE_RUN,
        (false, turn) if turn > 60.0 => ELBOW.max(if passes_head { TEE_RUN } else { 0.0 }),
        (false, _) if passes_head => TEE_RUN,
        (false, turn) if turn > 30.0 => HALF_ELBOW,
        _ => 0.0,
    }
}

fn angle_deg(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let cross = a.x * b.y - a.y * b.x;
    let dot = a.x * b.x + a.y * b.y;
    cross.atan2(dot).abs().to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_branch_costs_more_than_the_run_and_a_straight_pipe_nothing() {
        assert_eq!(coefficient(90.0, true, false), TEE_BRANCH);
        assert_eq!(coefficient(5.0, true, false), TEE_RUN);
        assert_eq!(coefficient(90.0, false, false), ELBOW);
        assert_eq!(coefficient(0.0, false, true), TEE_RUN);
        assert_eq!(coefficient(3.0, false, false), 0.0);
    }

    #[test]
    fn the_turn_is_measured_between_directions() {
        let east = Coord { x: 2.0, y: 0.0 };
        assert!((angle_deg(east, Coord { x: 0.0, y: 3.0 }) - 90.0).abs() < 1e-9);
        assert!((angle_deg(east, Coord { x: -1.0, y: 0.0 }) - 180.0).abs() < 1e-9);
    }
}
