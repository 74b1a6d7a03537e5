//! What a person shifted: nodes that stand elsewhere, pipes that take another course.

use super::draft::Draft;
use geo::{Coord, LineString};

/// Changes by hand that relaying begins with. What does not exist is passed over.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shifts {
    /// Nodes of the old works and where they stand now; the source stays where it is.
    pub nodes: Vec<(usize, Coord<f64>)>,
    /// Pipes of the old works and their courses, which begin and end at their nodes.
    pub courses: Vec<(usize, LineString<f64>)>,
}

impl Shifts {
    /// Whether nothing is shifted.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty() && self.courses.is_empty()
    }
}

impl Draft<'_> {
    /// Shifts nodes, with the pipes at them, then gives pipes their courses. Their depths are found anew.
    pub(super) fn shift(&mut self, shifts: &Shifts) {
        for &(node, to) in &shifts.nodes {
            if node > 0 && node < self.work.nodes.len() {
                self.move_node(node, to);
                self.level_known[node] = false;
            }
        }
        for (pipe, line) in &shifts.courses {
            if *pipe < self.work.pipes.len() && line.0.len() > 1 {
                self.recourse(*pipe, line);
            }
        }
    }

    fn recourse(&mut self, pipe: usize, line: &LineString<f64>) {
        let was = std::mem::take(&mut self.work.pipes[pipe].trenches);
        self.recut.extend(was);
        for leg in line.0.windows(2) {
            let edge = self.survey(leg[0], leg[1]);
            let dug = self.dig(&edge);
            let laid = &mut self.work.pipes[pipe];
            laid.trenches.extend(dug.iter().map(|piece| piece.0));
        }
        self.enlist();
        let laid = &mut self.work.pipes[pipe];
        laid.line = line.clone();
        laid.trenches.dedup();
        let (from, to, section) = (laid.from, laid.to, laid.section);
        self.relaid.insert(pipe);
        self.refit.extend([from, to]);
        self.touched.insert(section);
    }
}
