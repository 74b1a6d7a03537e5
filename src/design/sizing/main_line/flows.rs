//! Which flows a pipe of the main carries, one station at a time.

use super::MainProblem;

/// Flows of the stations behind each pipe, m³/s; `parent` as ordered, without rings.
pub(super) fn behind(problem: &MainProblem, parent: &[Option<usize>]) -> Vec<Vec<f64>> {
    let mut flows = vec![Vec::new(); parent.len()];
    for station in &problem.stations {
        let mut at = station.at_pipe.filter(|&pipe| pipe < parent.len());
        while let Some(pipe) = at {
            flows[pipe].push(station.flow_m3s);
            at = parent[pipe];
        }
    }
    flows
}
