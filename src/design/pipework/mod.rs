//! Pipework: the pipes, nodes and trench pieces that stations and trench tree ask for.
//!
//! `edge` cuts one tree edge at surfaces, valves and bends of the ground; `lay` walks the tree and lays main and laterals.
//! Sizes, pressures and inverts are not known yet: later rooms fill them in.

pub(in crate::design) mod edge;
pub(in crate::design) mod fittings;
mod lay;
pub(in crate::design) mod line;
mod valve_places;

pub use fittings::set_minor_losses;
pub use lay::lay;

use crate::design::model::{Design, Node, Pipe, Section, Trench};

/// A stretch of pipe of one section that gets one size: from one branching place or tree node to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Its section.
    pub section: Section,
    /// The run upstream of it in its section.
    pub parent: Option<usize>,
    /// Its pipes, in order of flow.
    pub pipes: Vec<usize>,
    /// The node it ends at.
    pub to: usize,
}

/// Everything laid, mains first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pipework {
    /// Nodes; node 0 is the source.
    pub nodes: Vec<Node>,
    /// Pipes.
    pub pipes: Vec<Pipe>,
    /// Trenches.
    pub trenches: Vec<Trench>,
    /// Runs; a parent stands before its children.
    pub runs: Vec<Run>,
    /// Valve node of each station.
    pub valve_nodes: Vec<usize>,
}

impl Pipework {
    /// What was laid for a finished design; its runs are not kept.
    pub fn of(design: &Design) -> Self {
        Self {
            nodes: design.nodes.clone(),
            pipes: design.pipes.clone(),
            trenches: design.trenches.clone(),
            runs: Vec::new(),
            valve_nodes: design.stations.iter().map(|s| s.valve_node).collect(),
        }
    }

    /// Pipes from the source to a station's valve, in order of flow.
    pub fn main_path(&self, station: usize) -> Vec<usize> {
        let mut upstream = vec![None; self.nodes.len()];
        for (i, pipe) in self
            .pipes
            .iter()
            .enumerate()
            .filter(|(_, pipe)| pipe.section == Section::Main)
        {
            upstream[pipe.to] = Some(i);
        }
        let mut path = Vec::new();
        let mut node = self.valve_nodes[station];
        // A main that runs in a ring would be followed for ever.
        while let Some(pipe) = upstream[node].filter(|_| path.len() < self.pipes.len()) {
            path.push(pipe);
            node = self.pipes[pipe].from;
        }
        path.reverse();
        path
    }

    /// Pipes of a section.
    pub fn pipes_of(&self, section: Section) -> Vec<usize> {
        (0..self.pipes.len())
            .filter(|pipe| self.pipes[*pipe].section == section)
            .collect()
    }
}
