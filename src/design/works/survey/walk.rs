//! A walk over the net from the source outward: which pipe belongs to what, and which way its water runs.

use super::lines::{Part, SurveyNet};
use crate::design::model::Section;
use std::collections::VecDeque;

/// One pipe as the walk came by it.
pub(super) struct Walked {
    pub(super) line: usize,
    pub(super) section: Section,
    pub(super) from: usize,
    pub(super) to: usize,
}

/// Lines at each joint.
pub(super) fn beside(net: &SurveyNet) -> Vec<Vec<usize>> {
    let mut beside = vec![Vec::new(); net.joints.len()];
    for (index, line) in net.lines.iter().enumerate() {
        beside[line.from].push(index);
        beside[line.to].push(index);
    }
    beside
}

/// A walk over the net, fewest pipes first.
pub(super) struct Walk<'a> {
    pub(super) net: &'a SurveyNet,
    pub(super) beside: Vec<Vec<usize>>,
    pub(super) used: Vec<bool>,
    /// The section each joint was first reached in.
    pub(super) seen: Vec<Option<Section>>,
    pub(super) walked: Vec<Walked>,
    /// Lines that close a loop.
    pub(super) loops: Vec<usize>,
}

impl Walk<'_> {
    /// Walks one section from a joint. The main stops at control valves.
    pub(super) fn from(&mut self, root: usize, section: Section) {
        let part = match section {
            Section::Main => Part::Main,
            Section::Station(station) => Part::Station(station),
        };
        let mut here = vec![false; self.net.joints.len()];
        here[root] = true;
        self.seen[root] = self.seen[root].or(Some(section));
        let mut ahead = VecDeque::from([root]);
        while let Some(joint) = ahead.pop_front() {
            if section == Section::Main && joint != root && self.net.joints[joint].valve.is_some() {
                continue;
            }
            for line in self.beside[joint].clone() {
                let of_net = &self.net.lines[line];
                if self.used[line] || !of_net.part.suits(part) {
                    continue;
                }
                let next = if of_net.from == joint {
                    of_net.to
                } else {
                    of_net.from
                };
                let taken = here[next] || self.seen[next].is_some();
                self.used[line] = true;
                if taken {
                    self.loops.push(line);
                    continue;
                }
                here[next] = true;
                self.seen[next] = Some(section);
                self.walked.push(Walked {
                    line,
                    section,
                    from: joint,
                    to: next,
                });
                ahead.push_back(next);
            }
        }
    }
}
