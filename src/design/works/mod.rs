//! Works: a system as it lies in the ground, or as a person wants it to lie, before it is solved.
//!
//! What is rebuilt from a survey and what an earlier design laid have the same shape here, so that both can be judged,
//! mended and laid on from by the same rooms.

pub mod survey;
pub mod relay;

use crate::design::model::{Design, Drain, Head, Valve};
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
}
