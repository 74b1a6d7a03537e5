//! Valves of stations: kept where they carry the flow, replaced where they do not, new where the station is.

use super::Fixed;
use super::compact::Lying;
use super::serve::Judged;
use crate::brief::Catalogue;
use crate::design::model::{Section, Valve, ValveKind};

/// Sets size and setting of the valves of stations that changed, in the works and among their valves.
pub(super) fn set(
    lying: &mut Lying,
    judged: &[Option<Judged>],
    fixed: &Fixed,
    catalogue: &Catalogue,
) {
    for (station, judged) in judged.iter().enumerate() {
        let Some(Judged { solved, .. }) = judged else {
            continue;
        };
        let pinned = lying.has_pinned_valve(station, fixed);
        let works = &mut lying.works.stations[station];
        let new = lying.origin.stations[station].is_none();
        let is = works.valve_size;
        if new || (is.is_some() && is != Some(solved.valve_size) && !pinned) {
            works.valve_size = Some(solved.valve_size);
        }
        let replaced = works.valve_size != is;
        let reset = works.regulated_kpa != solved.regulated_kpa;
        works.regulated_kpa = solved.regulated_kpa;
        let touched = lying.touched.contains(&Section::Station(station));
        if !(new || replaced || reset || touched) {
            continue;
        }
        let size = works.valve_size.and_then(|size| catalogue.valves.get(size));
        let size = size.map_or_else(String::new, |valve| valve.size.clone());
        let flow_lpm = solved.solution.flow_lpm;
        let valve = |kind| Valve {
            kind,
            station: Some(station),
            node: lying.works.pipework.valve_nodes[station],
            flow_lpm,
            size: size.clone(),
        };
        let control = valve(ValveKind::Control);
        let regulator = solved.regulated_kpa.map(|_| valve(ValveKind::Regulator));
        put(lying, Some(control), ValveKind::Control, station, replaced);
        put(lying, regulator, ValveKind::Regulator, station, replaced);
    }
}

impl Lying {
    /// Whether a valve of a station must stay as it is.
    pub fn has_pinned_valve(&self, station: usize, fixed: &Fixed) -> bool {
        let valves = self.works.valves.iter().zip(&self.origin.valves);
        let mut own = valves.filter(|(valve, _)| valve.station == Some(station));
        own.any(|(_, from)| from.is_some_and(|old| fixed.valves.contains(&old)))
    }
}

/// Puts a valve of a kind in place of what the station has; one that is only told another flow is still the old one.
fn put(lying: &mut Lying, valve: Option<Valve>, kind: ValveKind, station: usize, replaced: bool) {
    let valves = &mut lying.works.valves;
    let at = valves
        .iter()
        .position(|old| old.station == Some(station) && old.kind == kind);
    match (at, valve) {
        (Some(at), Some(valve)) if replaced => {
            valves[at] = valve;
            lying.origin.valves[at] = None;
        }
        (Some(at), Some(valve)) => valves[at].flow_lpm = valve.flow_lpm,
        (Some(at), None) => {
            valves.remove(at);
            lying.origin.valves.remove(at);
        }
        (None, Some(valve)) => {
            valves.push(valve);
            lying.origin.valves.push(None);
        }
        (None, None) => {}
    }
}
