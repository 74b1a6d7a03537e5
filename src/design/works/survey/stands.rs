//! Heads and valves put on the pipe they stand on.

use super::goods::{Goods, of};
use super::joints::{Joining, far_m};
use super::lines::{Joint, Lines, Nearest, Part, PipeLine, SurveyNet};
use crate::finding::Finding;
use crate::site::existing::{ExistingValveKind, Surveyed};
use geo::Coord;
use std::collections::BTreeSet;

impl Joining<'_> {
    pub(super) fn set_valves(&mut self, lines: &mut Lines) {
        let valves = &self.parcel.existing.valves;
        for (index, valve) in valves.iter().enumerate() {
            if valve.kind != ExistingValveKind::Control {
                continue;
            }
            let name = valve.station.as_deref().unwrap_or(&valve.from.id);
            let own = self.part_of(Some(name), Some(false));
            let fits = |part: Part| own.suits(part) || part == Part::Main;
            let at = Standing {
                position: valve.position,
                node: valve.node.as_deref(),
                from: &valve.from,
                what: "valve",
            };
            let Some(joint) = self.place(lines, &at, &fits, |joint| joint.valve.is_none()) else {
                let message = "no free end of main or lateral comes near it: it opens nothing. Draw its pipe, or take it out.";
                let finding = of(Finding::error("existing_valve_loose", message), &valve.from);
                self.findings.push(finding.at(valve.position));
                continue;
            };
            self.net.joints[joint].valve = Some(index);
            if valve.node.is_none() {
                self.join_round_valve(joint, &fits);
            }
        }
    }

    /// A valve joins its main and its laterals, which are parts of their own.
    fn join_round_valve(&mut self, joint: usize, fits: &dyn Fn(Part) -> bool) {
        let at = self.net.joints[joint].at;
        let snap_m = self.rules.existing_snap_m;
        let beside: Vec<usize> = (0..self.net.joints.len())
            .filter(|&other| {
                let there = &self.net.joints[other];
                other != joint
                    && !there.parts.is_empty()
                    && there.parts.iter().all(|part| fits(*part))
                    && there.valve.is_none()
                    && far_m(there.at, at) <= snap_m
            })
            .collect();
        let closes = |net: &SurveyNet, other: usize| {
            net.lines.iter().any(|line| {
                (line.from == joint && line.to == other) || (line.from == other && line.to == joint)
            })
        };
        for other in beside {
            if !closes(&self.net, other) {
                self.net.merge(joint, other);
            }
        }
    }

    /// Laterals of a station without a valve on the plan are joined to the main that they begin at.
    pub(super) fn join_without_valve(&mut self, lines: &mut Lines) {
        let valves = self.net.joints.iter().filter_map(|joint| joint.valve);
        let valves = valves.map(|valve| &self.parcel.existing.valves[valve]);
        let opened: BTreeSet<&str> = valves
            .map(|valve| valve.station.as_deref().unwrap_or(&valve.from.id))
            .collect();
        let is_shut = |part: &Part| match part {
            Part::Station(station) => !opened.contains(self.net.stations[*station].as_str()),
            _ => false,
        };
        let ends = 0..self.net.joints.len();
        let ends: Vec<usize> = ends
            .filter(|&joint| {
                let parts = &self.net.joints[joint].parts;
                !parts.is_empty() && parts.iter().all(is_shut)
            })
            .collect();
        for joint in ends {
            let at = self.net.joints[joint].at;
            let is_main = |line: &PipeLine| line.part == Part::Main;
            let snap_m = self.rules.existing_snap_m;
            let found = self.net.nearest(lines, at, snap_m, is_main, |_| true);
            let main = match found {
                Some((_, Nearest::Joint(main))) => main,
                Some((_, Nearest::Along(line, at))) => self.net.cut(lines, line, at),
                None => continue,
            };
            if main != joint {
                self.net.merge(main, joint);
            }
        }
    }

    pub(super) fn set_heads(&mut self, lines: &mut Lines, goods: &Goods) {
        let mut unfed: Vec<usize> = Vec::new();
        for (index, head) in self.parcel.existing.heads.iter().enumerate() {
            if goods.heads[index].is_none() {
                continue;
            }
            let own = self.part_of(head.station.as_deref(), Some(false));
            let fits = |part: Part| part != Part::Main && own.suits(part);
            let at = Standing {
                position: head.position,
                node: head.node.as_deref(),
                from: &head.from,
                what: "head",
            };
            match self.place(lines, &at, &fits, |joint| joint.head.is_none()) {
                Some(joint) => self.net.joints[joint].head = Some(index),
                None => unfed.push(index),
            }
        }
        if unfed.is_empty() || self.net.lines.is_empty() {
            return;
        }
        for &index in &unfed {
            let head = &self.parcel.existing.heads[index];
            let message = "no pipe of its station comes near it: it is not fed. Draw its pipe; its water is counted as if it worked.";
            let finding = of(Finding::error("existing_head_unfed", message), &head.from);
            self.findings.push(finding.at(head.position));
        }
    }

    /// The joint that a head or valve stands at: by name, by place, or, told, within the gap that a slip may leave.
    fn place(
        &mut self,
        lines: &mut Lines,
        thing: &Standing,
        fits: &dyn Fn(Part) -> bool,
        free: impl Fn(&Joint) -> bool,
    ) -> Option<usize> {
        let (snap_m, gap_m) = (self.rules.existing_snap_m, self.rules.existing_gap_m);
        if let Some(&joint) = thing.node.and_then(|name| self.named.get(name)) {
            let off_m = far_m(self.net.joints[joint].at, thing.position);
            if off_m > snap_m {
                self.tell_off(thing, off_m);
            }
            return free(&self.net.joints[joint]).then_some(joint);
        }
        let joints = &self.net.joints;
        let found = self.net.nearest(
            lines,
            thing.position,
            snap_m.max(gap_m),
            |line| fits(line.part),
            |joint| free(&joints[joint]),
        );
        let (off_m, nearest) = found?;
        // The end of the pipe a head stands on goes before a place a hand nearer along the pipe.
        if off_m > snap_m {
            self.tell_off(thing, off_m);
        }
        match nearest {
            Nearest::Joint(joint) => Some(joint),
            Nearest::Along(line, at) => {
                let ends = [self.net.lines[line].from, self.net.lines[line].to];
                let near = ends.into_iter().find(|&end| {
                    let joint = &self.net.joints[end];
                    free(joint) && far_m(joint.at, at) <= snap_m
                });
                Some(near.unwrap_or_else(|| self.net.cut(lines, line, at)))
            }
        }
    }

    fn tell_off(&mut self, thing: &Standing, off_m: f64) {
        let message = format!(
            "stands {off_m:.2} m off the pipe that seems to be its own; it is reckoned as joined to it. Look where the {} is on the ground.",
            thing.what
        );
        let code = match thing.what {
            "head" => "existing_head_off_pipe",
            _ => "existing_valve_off_pipe",
        };
        self.findings
            .push(of(Finding::warning(code, message), thing.from).at(thing.position));
    }
}

/// A head or valve to be put in place.
struct Standing<'a> {
    position: Coord<f64>,
    node: Option<&'a str>,
    from: &'a Surveyed,
    what: &'static str,
}
