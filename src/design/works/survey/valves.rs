//! Valves and drains of a survey, in their places in the works.

use super::goods::of;
use super::joints::far_m;
use crate::brief::Catalogue;
use crate::design::model::{Drain, DrainKind, NodeKind, Section, Valve, ValveKind};
use crate::design::works::Works;
use crate::finding::Finding;
use crate::site::Parcel;
use crate::site::existing::{ExistingValve, ExistingValveKind as Kind};
use std::collections::BTreeMap;

/// What stands where, for setting valves.
pub(super) struct Places<'a> {
    pub(super) parcel: &'a Parcel,
    /// Nodes by their names in the survey.
    pub(super) named: BTreeMap<String, usize>,
    /// Stations by their names.
    pub(super) stations: &'a [String],
    pub(super) reach_m: f64,
}

impl Places<'_> {
    /// Sets all valves that are no control valves; returns the ids of the survey for the valves of the works.
    pub(super) fn set(&self, works: &mut Works, findings: &mut Vec<Finding>) -> Vec<String> {
        let mut ids = vec![String::new(); works.valves.len()];
        for valve in &self.parcel.existing.valves {
            if valve.kind == Kind::Control {
                continue;
            }
            let station = valve
                .station
                .as_ref()
                .and_then(|name| self.stations.binary_search(name).ok());
            let section = station.map_or(Section::Main, Section::Station);
            let Some(node) = self.node(works, valve, section) else {
                let message =
                    "no pipe comes near it: it is left out. Draw its pipe, or take it out.";
                let finding = of(
                    Finding::warning("existing_valve_loose", message),
                    &valve.from,
                );
                findings.push(finding.at(valve.position));
                continue;
            };
            if let Some(set) = set_one(works, valve, node, section) {
                works.valves.push(set);
                ids.push(valve.from.id.clone());
            }
        }
        ids
    }

    /// The node by name, else the nearest of its section within reach.
    fn node(&self, works: &Works, valve: &ExistingValve, section: Section) -> Option<usize> {
        if let Some(&node) = valve.node.as_ref().and_then(|name| self.named.get(name)) {
            return Some(node);
        }
        let nodes = &works.pipework.nodes;
        let off_m = |node: usize| far_m(nodes[node].position, valve.position);
        let drains = !matches!(
            valve.kind,
            Kind::Isolation | Kind::Backflow | Kind::Master | Kind::Regulator
        );
        let fits = |&node: &usize| {
            let there = &nodes[node];
            !drains
                || valve.station.is_none()
                || there.section == section
                || there.kind == NodeKind::Valve
        };
        let nearest = (0..nodes.len())
            .filter(fits)
            .min_by(|&a, &b| off_m(a).total_cmp(&off_m(b)));
        nearest.filter(|&node| off_m(node) <= self.reach_m)
    }
}

/// A valve of the works; drains and air valves are put in their own lists.
fn set_one(
    works: &mut Works,
    valve: &ExistingValve,
    node: usize,
    section: Section,
) -> Option<Valve> {
    let of_node = match (section, valve.station.is_some()) {
        (section, true) => section,
        // A drain that names no station empties what its node belongs to.
        (_, false) => match works.pipework.nodes[node].kind {
            NodeKind::Valve => Section::Main,
            _ => works.pipework.nodes[node].section,
        },
    };
    let mut drain = |kind| {
        works.drains.push(Drain {
            kind,
            section: of_node,
            node,
            drained_l: 0.0,
            gravel_l: 0.0,
        });
        None
    };
    let kind = match valve.kind {
        Kind::DrainAutomatic => return drain(DrainKind::Automatic),
        Kind::DrainManual => return drain(DrainKind::Manual),
        Kind::Flush => return drain(DrainKind::Flush),
        Kind::Air => {
            works.air_valves.push(node);
            return None;
        }
        Kind::Control => ValveKind::Control,
        Kind::Isolation => ValveKind::Isolation,
        Kind::Backflow => ValveKind::Backflow,
        Kind::Master => ValveKind::Master,
        Kind::Regulator => ValveKind::Regulator,
    };
    let station = match section {
        Section::Station(station) => Some(station),
        Section::Main => None,
    };
    if let (ValveKind::Regulator, Some(station)) = (kind, station) {
        works.stations[station].regulated_kpa = valve.regulated_kpa;
    }
    Some(Valve {
        kind,
        station,
        node,
        flow_lpm: 0.0,
        size: valve.size.clone().unwrap_or_default(),
    })
}

/// Place in the catalogue of a valve's size.
pub(super) fn size_of(valve: &ExistingValve, catalogue: &Catalogue) -> Option<usize> {
    let size = valve.size.as_deref()?;
    let mut sizes = catalogue.valves.iter();
    sizes.position(|known| known.size.eq_ignore_ascii_case(size))
}
