//! Nodes and courses that are to lie elsewhere, where they may be dug.

use super::Asking;
use crate::design::edits::setting::{SAME_PLACE_M, distance_m};
use crate::finding::Finding;
use geo::{Coord, Line, LineString};

impl Asking<'_> {
    /// Makes shifts of what is wanted elsewhere; what would lead through a building or water is told and not followed.
    pub(super) fn shift(&mut self) {
        let wanted = std::mem::take(&mut self.wanted);
        let courses = std::mem::take(&mut self.courses);
        for (pipe, (line, id)) in courses {
            let ends = [self.base.pipes[pipe].from, self.base.pipes[pipe].to];
            let mut line = line;
            let last = line.0.len() - 1;
            // A course begins and ends at its nodes to the last digit.
            for (node, place) in ends.into_iter().zip([0, last]) {
                line.0[place] = wanted.get(&node).map_or(line.0[place], |want| want.0);
            }
            if self.may_dig(&line, &id) {
                self.asked.shifts.courses.push((pipe, line));
            } else {
                self.asked.fixed.pipes.remove(&pipe);
                self.asked.pins.pipes.remove(&pipe);
            }
        }
        for (node, (to, id)) in wanted {
            if distance_m(self.base.nodes[node].position, to) <= SAME_PLACE_M {
                continue;
            }
            let legs = self.legs(node, to);
            if legs.iter().all(|leg| self.may_dig(leg, &id)) {
                self.asked.shifts.nodes.push((node, to));
            } else {
                self.let_go(node);
            }
        }
    }

    /// The pieces of pipe that move with a node, but those that have a course of their own.
    fn legs(&self, node: usize, to: Coord<f64>) -> Vec<LineString<f64>> {
        let own_course = |pipe: &usize| self.asked.shifts.courses.iter().any(|c| c.0 == *pipe);
        let pipes = self.base.pipes.iter().enumerate();
        let beside = pipes
            .filter(|(pipe, _)| !own_course(pipe))
            .filter_map(|(_, pipe)| {
                let places = &pipe.line.0;
                if pipe.from == node {
                    places.get(1).copied()
                } else if pipe.to == node {
                    places.len().checked_sub(2).map(|place| places[place])
                } else {
                    None
                }
            });
        beside
            .map(|other| LineString::new(vec![to, other]))
            .collect()
    }

    fn may_dig(&mut self, line: &LineString<f64>, id: &str) -> bool {
        let hard = line.0.windows(2).find(|leg| {
            let stretches = self.surfaces.along(Line::new(leg[0], leg[1]));
            stretches.iter().any(|stretch| stretch.state.hard)
        });
        let Some(leg) = hard.map(|leg| leg[0]) else {
            return true;
        };
        let message = "was put by hand where its pipe would lie under a building or in water, and what was done to it is not followed. Lead it round.";
        self.tell(Finding::error("pin_on_obstacle", message), id, leg);
        false
    }

    /// Nothing holds a node that cannot be shifted.
    fn let_go(&mut self, node: usize) {
        let base = self.base;
        let here = |valve: &usize| base.valves[*valve].node != node;
        self.asked.fixed.valves.retain(here);
        self.asked.pins.valves.retain(here);
        self.asked.fixed.nodes.remove(&node);
        self.asked.pins.nodes.remove(&node);
        let clear = |pipe: &usize| base.pipes[*pipe].from != node && base.pipes[*pipe].to != node;
        self.asked.fixed.pipes.retain(clear);
        self.asked.pins.pipes.retain(clear);
        self.asked.shifts.courses.retain(|(pipe, _)| clear(pipe));
    }
}
