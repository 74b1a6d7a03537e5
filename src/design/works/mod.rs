//! Works: a system as it lies in the ground, or as a person wants it to lie, before it is solved.
//!
//! What is rebuilt from a survey and what an earlier design laid have the same shape here, so that both can be judged,
//! mended and laid on from by the same rooms.

pub mod reckon;
pub mod relay;
pub mod survey;

use crate::design::model::{Design, Drain, Head, Ids, NodeKind, Pipe, Section, Valve};
use crate::design::pipework::Pipework;

/// One station as it lies: the heads behind one control valve.
#[derive(Debug, Clone, PartialEq)]
pub struct StationWorks {
    /// Its heads.
    pub heads: Vec<usize>,
    /// Index of its valve's size in the catalogue; `None` where it is not known.
    pub valve_size: Option<usize>,
    /// Pressure its valve holds behind it, kPa, where it regulates.
    pub regulated_kpa: Option<f64>,
}

/// A whole system. Indices are positions in its vectors; node 0 is the source.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Works {
    /// Heads, on whatever station or none.
    pub heads: Vec<Head>,
    /// Nodes, pipes and trenches; `valve_nodes` are those of the stations. Flows and pressures mean nothing yet.
    pub pipework: Pipework,
    /// Stations.
    pub stations: Vec<StationWorks>,
    /// Valves of every kind.
    pub valves: Vec<Valve>,
    /// Drains.
    pub drains: Vec<Drain>,
    /// Nodes with an air valve.
    pub air_valves: Vec<usize>,
    /// What people call its things.
    pub ids: Ids,
}

impl Works {
    /// What a finished design lays.
    pub fn of(design: &Design) -> Self {
        let station = |station: &crate::design::model::Station| StationWorks {
            heads: station.heads.clone(),
            valve_size: Some(station.valve_size),
            regulated_kpa: station.regulated_kpa,
        };
        Self {
            heads: design.heads.clone(),
            pipework: Pipework::of(design),
            stations: design.stations.iter().map(station).collect(),
            valves: design.valves.clone(),
            drains: design.drains.clone(),
            air_valves: design.air_valves.clone(),
            ids: design.ids.clone(),
        }
    }

    /// The station of each head, in the order of the heads.
    pub fn station_of(&self) -> Vec<Option<usize>> {
        let mut of = vec![None; self.heads.len()];
        for (station, works) in self.stations.iter().enumerate() {
            for &head in &works.heads {
                if let Some(slot) = of.get_mut(head) {
                    *slot = Some(station);
                }
            }
        }
        of
    }

    /// The works without some stations: their pipe, valves and drains go, their heads stay on no station.
    #[must_use]
    pub fn without_stations(&self, gone: &[usize]) -> Self {
        if gone.is_empty() {
            return self.clone();
        }
        let mut number = vec![None; self.stations.len()];
        let kept = (0..self.stations.len()).filter(|station| !gone.contains(station));
        for (new, old) in kept.enumerate() {
            number[old] = Some(new);
        }
        let of = |section: Section| match section {
            Section::Main => Some(Section::Main),
            Section::Station(station) => number[station].map(Section::Station),
        };
        let mut works = Self {
            heads: self.heads.clone(),
            stations: kept_of(&self.stations, |station| number[station].is_some()),
            ..Self::default()
        };
        let mut place = vec![None; self.pipework.nodes.len()];
        let mut nodes = Vec::new();
        let mut at = |node: usize| {
            *place[node].get_or_insert_with(|| {
                let mut copy = self.pipework.nodes[node].clone();
                match of(copy.section) {
                    Some(section) => copy.section = section,
                    // The main ends at the valve of a station that went.
                    None => (copy.section, copy.kind) = (Section::Main, NodeKind::End),
                }
                nodes.push(copy);
                nodes.len() - 1
            })
        };
        if !self.pipework.nodes.is_empty() {
            at(0);
        }
        for pipe in &self.pipework.pipes {
            if let Some(section) = of(pipe.section) {
                works.pipework.pipes.push(Pipe {
                    section,
                    from: at(pipe.from),
                    to: at(pipe.to),
                    ..pipe.clone()
                });
            }
        }
        let valve_nodes = kept_of(&self.pipework.valve_nodes, |station| {
            number[station].is_some()
        });
        works.pipework.valve_nodes = valve_nodes.into_iter().map(&mut at).collect();
        for valve in &self.valves {
            let station = valve.station.map(|station| number[station]);
            if station != Some(None) {
                works.valves.push(Valve {
                    station: station.flatten(),
                    node: at(valve.node),
                    ..valve.clone()
                });
            }
        }
        for drain in &self.drains {
            if let Some(section) = of(drain.section) {
                works.drains.push(Drain {
                    section,
                    node: at(drain.node),
                    ..drain.clone()
                });
            }
        }
        works.air_valves = self.air_valves.iter().map(|node| at(*node)).collect();
        works.pipework.trenches.clone_from(&self.pipework.trenches);
        works.pipework.nodes = nodes;
        works
    }
}

fn kept_of<T: Clone>(all: &[T], kept: impl Fn(usize) -> bool) -> Vec<T> {
    let kept = (0..all.len()).filter(|index| kept(*index));
    kept.map(|index| all[index].clone()).collect()
}
