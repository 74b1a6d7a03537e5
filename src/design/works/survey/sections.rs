//! Which valve shuts off what, and which way the water runs: the net as a tree from the source outward.

use super::Rebuilt;
use super::feed::source;
use super::goods::{Goods, listed, of};
use super::levels::Told;
use super::lines::{Part, SurveyNet, plan_m};
use super::valves::{Places, size_of};
use super::walk::{Walk, Walked, beside};
use crate::brief::{Catalogue, Rules};
use crate::design::model::{Node, NodeKind, Pipe, Section, SurveyIds, Valve, ValveKind};
use crate::design::pipework::{Pipework, set_minor_losses};
use crate::design::works::{StationWorks, Works};
use crate::finding::Finding;
use crate::site::Parcel;
use geo::LineString;
use std::collections::BTreeMap;

/// The works of a net.
pub(super) fn works(
    parcel: &Parcel,
    net: SurveyNet,
    goods: &Goods,
    catalogue: &Catalogue,
    rules: &Rules,
    findings: &mut Vec<Finding>,
) -> Rebuilt {
    let Some((source, root)) = source(parcel, &net, rules, findings) else {
        return heads_alone(parcel, goods);
    };
    let mut walk = Walk {
        net: &net,
        beside: beside(&net),
        used: vec![false; net.lines.len()],
        seen: vec![None; net.joints.len()],
        walked: Vec::new(),
        loops: Vec::new(),
    };
    walk.from(root, Section::Main);
    for joint in 0..net.joints.len() {
        if walk.seen[joint] != Some(Section::Main) {
            continue;
        }
        if let Some(station) = station_at(parcel, &net, joint) {
            walk.from(joint, Section::Station(station));
        }
    }
    let builder = Builder {
        parcel,
        net: &net,
        goods,
        catalogue,
        rules,
    };
    builder.tell_rest(&walk, findings);
    let mut rebuilt = builder.build(&walk, root, findings);
    rebuilt.source = Some(source);
    rebuilt
}

/// The heads of a survey of which nothing is fed.
fn heads_alone(parcel: &Parcel, goods: &Goods) -> Rebuilt {
    let mut rebuilt = Rebuilt::default();
    for (head, surveyed) in goods.heads.iter().zip(&parcel.existing.heads) {
        if let Some(head) = head {
            rebuilt.works.heads.push(head.clone());
            rebuilt.ids.heads.push(surveyed.from.id.clone());
        }
    }
    rebuilt
}

/// The station whose control valve stands at a joint; where no valve is drawn, the one whose laterals meet the main there.
fn station_at(parcel: &Parcel, net: &SurveyNet, joint: usize) -> Option<usize> {
    let here = &net.joints[joint];
    let Some(valve) = here.valve else {
        let mut stations = here.parts.iter().filter_map(|part| match part {
            Part::Station(station) => Some(*station),
            _ => None,
        });
        return stations.next();
    };
    let valve = &parcel.existing.valves[valve];
    let name = valve.station.as_ref().unwrap_or(&valve.from.id);
    net.stations.binary_search(name).ok()
}

struct Builder<'a> {
    parcel: &'a Parcel,
    net: &'a SurveyNet,
    goods: &'a Goods,
    catalogue: &'a Catalogue,
    rules: &'a Rules,
}

impl Builder<'_> {
    /// Tells loops and pieces that hang on nothing.
    fn tell_rest(&self, walk: &Walk, findings: &mut Vec<Finding>) {
        let surveyed = |line: usize| &self.parcel.existing.pipes[self.net.lines[line].survey].from;
        let at = |line: usize| {
            let points = &self.net.lines[line].line.0;
            points[points.len() / 2]
        };
        for &line in &walk.loops {
            let message = "closes a loop; it is left out of the reckoning, so true pressures are a little higher than told.";
            let finding = of(Finding::warning("existing_loop", message), surveyed(line));
            findings.push(finding.at(at(line)));
        }
        let pieces = self.net.pieces();
        let mut loose: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for line in (0..self.net.lines.len()).filter(|line| !walk.used[*line]) {
            loose
                .entry(pieces[self.net.lines[line].from])
                .or_default()
                .push(line);
        }
        for lines in loose.values() {
            let mut ids: Vec<&str> = lines
                .iter()
                .map(|&line| surveyed(line).id.as_str())
                .collect();
            ids.dedup();
            let mut joints: Vec<usize> = lines
                .iter()
                .flat_map(|&l| [self.net.lines[l].from, self.net.lines[l].to])
                .collect();
            joints.sort_unstable();
            joints.dedup();
            let heads = joints
                .iter()
                .filter(|&&j| self.net.joints[j].head.is_some() && walk.seen[j].is_none());
            let message = format!(
                "{} pipes hang together and on nothing that is fed, with {} heads: {}. Draw what feeds them (a missing pipe, or a control valve at their beginning); the water of their heads is counted as if they worked.",
                ids.len(),
                heads.count(),
                listed(ids.iter().copied())
            );
            findings.push(Finding::error("existing_unconnected", message).at(at(lines[0])));
        }
    }

    fn build(&self, walk: &Walk, root: usize, findings: &mut Vec<Finding>) -> Rebuilt {
        let mut nodes: Vec<Node> = Vec::new();
        let mut node_of: BTreeMap<usize, usize> = BTreeMap::new();
        let mut number = |joint: usize, nodes: &mut Vec<Node>| {
            *node_of.entry(joint).or_insert_with(|| {
                nodes.push(self.node(joint, walk.seen[joint].unwrap_or(Section::Main), root));
                nodes.len() - 1
            })
        };
        number(root, &mut nodes);
        // Mains first; within a section in the order of the walk, so that what feeds stands before what is fed.
        let mut order: Vec<&Walked> = walk.walked.iter().collect();
        order.sort_by_key(|walked| walked.section);
        let mut pipes = Vec::new();
        let mut minor: Vec<Option<f64>> = Vec::new();
        let mut ids = SurveyIds::default();
        let mut unsized_pipes = Vec::new();
        let mut told = Told::new();
        for walked in order {
            let from = number(walked.from, &mut nodes);
            let to = number(walked.to, &mut nodes);
            let line = &self.net.lines[walked.line];
            if self.goods.sizes[line.survey].is_none() {
                unsized_pipes.push(pipes.len());
            }
            pipes.push(self.pipe(walked, from, to));
            minor.push(line.minor_k);
            let (from_m, to_m) = if line.from == walked.from {
                line.invert_m
            } else {
                (line.invert_m.1, line.invert_m.0)
            };
            for (node, height_m) in [(from, from_m), (to, to_m)] {
                told.entry(node).or_default().extend(height_m);
            }
            ids.pipes
                .push(self.parcel.existing.pipes[line.survey].from.id.clone());
        }
        set_minor_losses(&nodes, &mut pipes);
        for (pipe, minor_k) in pipes.iter_mut().zip(minor) {
            pipe.minor_k = minor_k.unwrap_or(pipe.minor_k);
        }
        let mut works = Works {
            pipework: Pipework {
                nodes,
                pipes,
                ..Pipework::default()
            },
            ..Works::default()
        };
        self.set_heads(&mut works, &node_of, &mut ids);
        self.set_stations(walk, &mut works, &node_of, &mut ids, findings);
        let named = node_of.iter().filter_map(|(joint, node)| {
            let name = self.net.joints[*joint].name.clone()?;
            Some((name, *node))
        });
        let places = Places {
            parcel: self.parcel,
            named: named.collect(),
            stations: &ids.stations,
            reach_m: self.rules.existing_snap_m.max(self.rules.existing_gap_m),
        };
        let control = std::mem::take(&mut ids.valves);
        let mut all = places.set(&mut works, findings);
        all.splice(..control.len(), control);
        ids.valves = all;
        Rebuilt {
            unsized_stations: unsized_stations(&works, &unsized_pipes),
            works,
            ids,
            told,
            ..Rebuilt::default()
        }
    }

    fn node(&self, joint: usize, section: Section, root: usize) -> Node {
        let there = &self.net.joints[joint];
        let ground_m = self.parcel.terrain.height_m(there.at).unwrap_or(f64::NAN);
        Node {
            position: there.at,
            kind: match (joint == root, there.head) {
                (true, _) => NodeKind::Source,
                (false, Some(_)) => NodeKind::Head,
                (false, None) => NodeKind::Junction,
            },
            section,
            head: None,
            ground_m,
            invert_m: f64::NAN,
            pressure_kpa: None,
            static_kpa: None,
        }
    }

    /// A pipe in the direction the water runs; its inverts wait in `levels`.
    fn pipe(&self, walked: &Walked, from: usize, to: usize) -> Pipe {
        let line = &self.net.lines[walked.line];
        let mut shape = line.line.0.clone();
        if line.from != walked.from {
            shape.reverse();
        }
        let shape = LineString::new(shape);
        Pipe {
            section: walked.section,
            from,
            to,
            trenches: Vec::new(),
            length_m: line.length_m.unwrap_or_else(|| plan_m(&shape)),
            line: shape,
            size: self.goods.sizes[line.survey].unwrap_or(0),
            minor_k: 0.0,
            flow_lpm: 0.0,
            velocity_m_s: 0.0,
            loss_kpa: 0.0,
        }
    }

    fn set_heads(&self, works: &mut Works, node_of: &BTreeMap<usize, usize>, ids: &mut SurveyIds) {
        let mut stands: BTreeMap<usize, usize> = BTreeMap::new();
        for (joint, there) in self.net.joints.iter().enumerate() {
            if let (Some(head), Some(&node)) = (there.head, node_of.get(&joint)) {
                stands.insert(head, node);
            }
        }
        for (index, head) in self.goods.heads.iter().enumerate() {
            let Some(head) = head else { continue };
            if let Some(&node) = stands.get(&index) {
                works.pipework.nodes[node].head = Some(works.heads.len());
            }
            ids.heads
                .push(self.parcel.existing.heads[index].from.id.clone());
            works.heads.push(head.clone());
        }
    }

    /// Stations with a valve and at least one head, by the order of their names; others are told.
    fn set_stations(
        &self,
        walk: &Walk,
        works: &mut Works,
        node_of: &BTreeMap<usize, usize>,
        ids: &mut SurveyIds,
        findings: &mut Vec<Finding>,
    ) {
        let mut valve_at: BTreeMap<usize, usize> = BTreeMap::new();
        for joint in (0..self.net.joints.len()).filter(|&j| walk.seen[j] == Some(Section::Main)) {
            if let Some(station) = station_at(self.parcel, self.net, joint) {
                valve_at.entry(station).or_insert(joint);
            }
        }
        let mut number = vec![None; self.net.stations.len()];
        for (station, name) in self.net.stations.iter().enumerate() {
            let Some(&joint) = valve_at.get(&station) else {
                continue;
            };
            let here = ids.stations.len();
            number[station] = Some(here);
            ids.stations.push(name.clone());
            let valve = self.net.joints[joint]
                .valve
                .map(|valve| &self.parcel.existing.valves[valve]);
            let node = node_of[&joint];
            if valve.is_none() {
                let message = "has no control valve on the plan; one is taken to stand where its laterals leave the main. Draw it.";
                let finding = Finding::warning("existing_no_valve", message).of(name.clone());
                findings.push(finding.at(self.net.joints[joint].at));
            }
            let size = valve.and_then(|valve| size_of(valve, self.catalogue));
            works.pipework.nodes[node].kind = NodeKind::Valve;
            works.pipework.nodes[node].section = Section::Station(here);
            works.pipework.valve_nodes.push(node);
            works.stations.push(StationWorks {
                heads: Vec::new(),
                valve_size: size,
                regulated_kpa: valve.and_then(|valve| valve.regulated_kpa),
            });
            works.valves.push(Valve {
                kind: ValveKind::Control,
                station: Some(here),
                node,
                flow_lpm: 0.0,
                size: size
                    .map_or_else(String::new, |size| self.catalogue.valves[size].size.clone()),
            });
            ids.valves
                .push(valve.map_or_else(String::new, |valve| valve.from.id.clone()));
        }
        self.tell_valves(&valve_at, findings);
        renumber(works, &number);
    }

    /// Control valves on pipe that open nothing: no water comes there, or their station has another.
    fn tell_valves(&self, valve_at: &BTreeMap<usize, usize>, findings: &mut Vec<Finding>) {
        for (joint, there) in self.net.joints.iter().enumerate() {
            let idle = there
                .valve
                .filter(|_| !valve_at.values().any(|at| *at == joint));
            let Some(valve) = idle.map(|valve| &self.parcel.existing.valves[valve]) else {
                continue;
            };
            let message = "opens nothing: no main leads to it, or its station has another valve. Draw its main, or take it out.";
            let finding = of(
                Finding::warning("existing_valve_idle", message),
                &valve.from,
            );
            findings.push(finding.at(valve.position));
        }
    }
}

/// Gives pipes, nodes and heads the numbers of the stations that are kept.
fn renumber(works: &mut Works, number: &[Option<usize>]) {
    let of = |section: Section| match section {
        Section::Main => Section::Main,
        Section::Station(station) => number[station].map_or(Section::Main, Section::Station),
    };
    for pipe in &mut works.pipework.pipes {
        pipe.section = of(pipe.section);
    }
    let valves = works.pipework.valve_nodes.clone();
    for (index, node) in works.pipework.nodes.iter_mut().enumerate() {
        if !valves.contains(&index) {
            node.section = of(node.section);
        }
        if let (Some(head), Section::Station(station)) = (node.head, node.section) {
            works.stations[station].heads.push(head);
        }
    }
    for station in &mut works.stations {
        station.heads.sort_unstable();
    }
}

/// Stations that water reaches only through a pipe without a size.
fn unsized_stations(works: &Works, pipes: &[usize]) -> Vec<usize> {
    let wanting = |station: &usize| {
        let mut way = works.pipework.main_path(*station);
        way.extend(works.pipework.pipes_of(Section::Station(*station)));
        way.iter().any(|pipe| pipes.contains(pipe))
    };
    (0..works.stations.len()).filter(wanting).collect()
}
