//! Which nodes and pipes hang together with the source or with the valve of their station.

use super::draft::Draft;
use crate::design::model::Section;

/// What hangs together, by section.
pub(super) struct Joined {
    /// For each node the sections that it is joined to.
    sections: Vec<Vec<Section>>,
    /// Whether each pipe is joined to the beginning of its section.
    pub pipes: Vec<bool>,
}

impl Joined {
    /// Whether a node is joined to the beginning of a section.
    pub fn node_in(&self, node: usize, section: Section) -> bool {
        self.sections[node].contains(&section)
    }
}

impl Draft<'_> {
    /// What hangs together now, whichever way pipe is told to run.
    pub fn joined(&self) -> Joined {
        let at = self.at_nodes();
        let mut joined = Joined {
            sections: vec![Vec::new(); self.work.nodes.len()],
            pipes: vec![false; self.work.pipes.len()],
        };
        let valves = self.lots.iter().enumerate().filter(|(_, lot)| !lot.gone);
        let begins = valves.map(|(s, _)| (Section::Station(s), self.work.valve_nodes[s]));
        let source = (!self.work.nodes.is_empty()).then_some((Section::Main, 0));
        for (section, start) in source.into_iter().chain(begins) {
            let mut open = vec![start];
            joined.sections[start].push(section);
            while let Some(node) = open.pop() {
                for &pipe in &at[node] {
                    let laid = &self.work.pipes[pipe];
                    if laid.section != section || std::mem::replace(&mut joined.pipes[pipe], true) {
                        continue;
                    }
                    let next = if laid.from == node {
                        laid.to
                    } else {
                        laid.from
                    };
                    if !joined.node_in(next, section) {
                        joined.sections[next].push(section);
                        open.push(next);
                    }
                }
            }
        }
        joined
    }
}
