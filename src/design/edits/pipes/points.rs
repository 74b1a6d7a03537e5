//! Valves, nodes and drains: pinned where they are, or moved.

use super::Asking;
use super::match_up::name_of;
use crate::design::edits::setting::{SAME_PLACE_M, distance_m};
use crate::design::model::{Section, ValveKind};
use crate::finding::Finding;
use crate::site::edits::{EditedPoint, PointKind};
use geo::Coord;

/// A drain stands at the node this near, m.
const AT_NODE_M: f64 = 0.5;

impl Asking<'_> {
    /// Valves first, nodes last: what stands at a node says more of it.
    pub(super) fn points(&mut self) {
        let mut told: Vec<&EditedPoint> = self.edits.points.iter().collect();
        told.sort_by_key(|told| told.kind);
        for told in told.into_iter().filter(|told| told.hand.touched()) {
            let Some(index) = self.own_point(told) else {
                self.not_there(&told.hand, told.kind.word());
                continue;
            };
            match told.kind {
                PointKind::Valve => self.valve(told, index),
                PointKind::Drain => self.drain(told, index),
                PointKind::Node => self.node(told, index),
            }
        }
    }

    fn valve(&mut self, told: &EditedPoint, index: usize) {
        let valve = &self.base.valves[index];
        let resized = told.size.as_ref().is_some_and(|size| *size != valve.size);
        let moved = self.has_moved(told, index);
        if !(told.hand.pinned || resized || moved) {
            return;
        }
        let node = valve.node;
        if resized && !self.resize_valve(told, index) {
            return;
        }
        if self.want(node, told.position, &name_of(&told.hand, "valve")) {
            self.asked.fixed.valves.insert(index);
            self.asked.pins.valves.insert(index);
        }
    }

    /// Gives a control valve another size; false, and told, where that cannot be.
    fn resize_valve(&mut self, told: &EditedPoint, index: usize) -> bool {
        let valve = &self.base.valves[index];
        let sizes = &self.project.catalogue.valves;
        let wanted = told.size.as_deref().unwrap_or_default();
        let size = sizes.iter().position(|size| size.size == wanted);
        let station = valve.station.filter(|_| valve.kind == ValveKind::Control);
        let (Some(size), Some(station)) = (size, station) else {
            let names: Vec<&str> = sizes.iter().map(|size| size.size.as_str()).collect();
            let message = format!(
                "its size was set to `{wanted}` by hand, which is not followed: only control valves can be set, to one of {}.",
                names.join(", ")
            );
            let id = name_of(&told.hand, "valve");
            self.tell(
                Finding::error("pin_unknown_size", message),
                &id,
                told.position,
            );
            return false;
        };
        if let Some(works) = self.asked.works.stations.get_mut(station) {
            works.valve_size = Some(size);
        }
        self.asked.works.valves[index].size = wanted.to_owned();
        self.asked.resized = true;
        true
    }

    fn node(&mut self, told: &EditedPoint, index: usize) {
        if (told.hand.pinned || self.has_moved(told, index))
            && self.want(index, told.position, &name_of(&told.hand, "node"))
        {
            self.asked.fixed.nodes.insert(index);
            self.asked.pins.nodes.insert(index);
        }
    }

    fn drain(&mut self, told: &EditedPoint, index: usize) {
        let drain = &self.base.drains[index];
        if self.has_moved(told, index) {
            let section = drain.section;
            let far_m = |node: &usize| distance_m(self.base.nodes[*node].position, told.position);
            let nodes = (0..self.base.nodes.len()).filter(|node| {
                let of = self.base.nodes[*node].section;
                // The main ends at the nodes of valves too.
                of == section || (section == Section::Main && self.is_on_main(*node))
            });
            let near = nodes.min_by(|a, b| far_m(a).total_cmp(&far_m(b)));
            let Some(node) = near.filter(|node| far_m(node) <= AT_NODE_M) else {
                let message = format!(
                    "was moved by hand to where no joint of its pipe is within {AT_NODE_M} m; it stays where it is. Move it onto a node of its section."
                );
                let id = name_of(&told.hand, "drain");
                self.tell(
                    Finding::error("edit_not_followed", message),
                    &id,
                    told.position,
                );
                return;
            };
            self.asked.works.drains[index].node = node;
            self.asked.resized = true;
        } else if !told.hand.pinned
            || !self.want(drain.node, told.position, &name_of(&told.hand, "drain"))
        {
            return;
        }
        self.asked.fixed.drains.insert(index);
        self.asked.pins.drains.insert(index);
    }

    fn is_on_main(&self, node: usize) -> bool {
        let mut mains = self.base.pipes_of(Section::Main);
        mains.any(|(_, pipe)| pipe.from == node || pipe.to == node)
    }

    fn has_moved(&self, told: &EditedPoint, index: usize) -> bool {
        let place = self.place_of(told.kind, index);
        place.is_none_or(|at| distance_m(at, told.position) > SAME_PLACE_M)
    }

    /// Asks for a node to stand at a place; false, and told, where it cannot or something else asks otherwise.
    pub(super) fn want(&mut self, node: usize, to: Coord<f64>, id: &str) -> bool {
        let at = self.base.nodes[node].position;
        let moved = distance_m(at, to) > SAME_PLACE_M;
        // Rounding must not shift what is pinned as it is.
        let to = if moved { to } else { at };
        if let Some((other, by)) = self.wanted.get(&node)
            && distance_m(*other, to) > SAME_PLACE_M
        {
            let message = format!(
                "is pinned or was moved by hand, and so is {by}, which asks for their joint {:.2} m off; {by} is followed and this is not. Take one of the two back.",
                distance_m(*other, to)
            );
            self.tell(Finding::error("pins_contradict", message), id, to);
            return false;
        }
        if moved && let Some(finding) = self.refusal(node, to) {
            self.tell(finding, id, to);
            return false;
        }
        self.wanted.entry(node).or_insert((to, id.to_owned()));
        true
    }

    fn refusal(&self, node: usize, to: Coord<f64>) -> Option<Finding> {
        if node == 0 {
            let message = "stands at the point of connection, and what was done to it is not followed. Move the water point instead.";
            return Some(Finding::error("edit_not_followed", message));
        }
        if let Some(head) = self.base.nodes[node].head {
            let message = format!(
                "stands under {}, and what was done to it is not followed. Move the head instead.",
                self.base.ids.head(head)
            );
            return Some(Finding::error("edit_not_followed", message));
        }
        self.places.refusal(to)
    }
}
