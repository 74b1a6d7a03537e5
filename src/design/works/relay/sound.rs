//! Whether everything that works point to exists.

use super::Ground;
use crate::design::hydraulics::StationError;
use crate::design::model::Head;
use crate::design::works::Works;

/// Checks every index in works and heads.
pub(super) fn check(ground: &Ground, old: &Works, heads: &[Head]) -> Result<(), StationError> {
    let work = &old.pipework;
    let (nodes, trenches) = (work.nodes.len(), work.trenches.len());
    for pipe in &work.pipes {
        within("node", pipe.from, nodes)?;
        within("node", pipe.to, nodes)?;
        within("pipe size", pipe.size, ground.catalogue.pipes.len())?;
        for &trench in &pipe.trenches {
            within("trench", trench, trenches)?;
        }
    }
    within(
        "valve node of station",
        old.stations.len(),
        work.valve_nodes.len() + 1,
    )?;
    for &node in &work.valve_nodes {
        within("node", node, nodes)?;
    }
    for drain in &old.drains {
        within("node", drain.node, nodes)?;
    }
    for station in &old.stations {
        if let Some(size) = station.valve_size {
            within("valve size", size, ground.catalogue.valves.len())?;
        }
    }
    for head in heads {
        within("head model", head.model, ground.catalogue.heads.len())?;
    }
    Ok(())
}

fn within(what: &'static str, index: usize, count: usize) -> Result<(), StationError> {
    if index < count {
        Ok(())
    } else {
        Err(StationError::Missing { what, index })
    }
}
