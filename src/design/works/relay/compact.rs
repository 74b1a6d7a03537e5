//! The changed works numbered anew: what lay before in its old order, what is new behind it.

use super::Origin;
use super::draft::{Draft, LOOSE};
use crate::design::model::{Drain, Section, Valve};
use crate::design::pipework::Pipework;
use crate::design::works::{StationWorks, Works};
use std::collections::BTreeSet;

/// Works as changed, and what about them is not as it was. Indices are those of the new works.
pub(super) struct Lying {
    pub works: Works,
    pub origin: Origin,
    pub level_known: Vec<bool>,
    pub refit: BTreeSet<usize>,
    pub relaid: BTreeSet<usize>,
    pub recut: BTreeSet<usize>,
    pub touched: BTreeSet<Section>,
}

/// New numbers of what stays.
struct Numbers {
    kept: Vec<usize>,
    of: Vec<Option<usize>>,
}

impl Numbers {
    fn of(count: usize, stays: impl Fn(usize) -> bool) -> Self {
        let kept: Vec<usize> = (0..count).filter(|i| stays(*i)).collect();
        let mut of = vec![None; count];
        for (new, old) in kept.iter().enumerate() {
            of[*old] = Some(new);
        }
        Self { kept, of }
    }

    fn all(&self, old: &BTreeSet<usize>) -> BTreeSet<usize> {
        old.iter().filter_map(|i| *self.of.get(*i)?).collect()
    }

    fn origins(&self, from: &[Option<usize>]) -> Vec<Option<usize>> {
        self.kept.iter().map(|i| from[*i]).collect()
    }
}

struct Compacting<'d, 'a> {
    draft: &'d Draft<'a>,
    nodes: Numbers,
    pipes: Numbers,
    trenches: Numbers,
    lots: Numbers,
}

impl Draft<'_> {
    /// The works as they are now.
    pub fn compact(&self) -> Lying {
        let pipe_stays = |i: usize| !self.pipe_gone[i] && self.work.pipes[i].section != LOOSE;
        let mut used = vec![false; self.work.trenches.len()];
        for (_, pipe) in self.live().filter(|(i, _)| pipe_stays(*i)) {
            pipe.trenches.iter().for_each(|trench| used[*trench] = true);
        }
        let node_stays = |i: usize| !self.node_gone[i] && self.work.nodes[i].section != LOOSE;
        let compacting = Compacting {
            draft: self,
            nodes: Numbers::of(self.work.nodes.len(), node_stays),
            pipes: Numbers::of(self.work.pipes.len(), pipe_stays),
            trenches: Numbers::of(used.len(), |i| used[i] || !self.recut.contains(&i)),
            lots: Numbers::of(self.lots.len(), |i| !self.lots[i].gone),
        };
        compacting.lying()
    }
}

impl Compacting<'_, '_> {
    fn lying(&self) -> Lying {
        let draft = self.draft;
        let from: Vec<Option<usize>> = draft.lots.iter().map(|lot| lot.from).collect();
        let (valves, valve_origin) = self.valves();
        let (drains, drain_origin) = self.drains();
        let air = draft.old.air_valves.iter();
        let works = Works {
            heads: draft.heads.clone(),
            pipework: self.pipework(),
            stations: self
                .lots
                .kept
                .iter()
                .map(|lot| self.station(*lot))
                .collect(),
            valves,
            drains,
            air_valves: air.filter_map(|node| *self.nodes.of.get(*node)?).collect(),
            ..Works::default()
        };
        let known = self.nodes.kept.iter().map(|i| draft.level_known[*i]);
        Lying {
            origin: Origin {
                nodes: self.nodes.origins(&draft.node_from),
                pipes: self.pipes.origins(&draft.pipe_from),
                trenches: self.trenches.origins(&draft.trench_from),
                stations: self.lots.origins(&from),
                valves: valve_origin,
                drains: drain_origin,
                resized: vec![false; works.pipework.pipes.len()],
            },
            level_known: known.collect(),
            refit: self.nodes.all(&draft.refit),
            relaid: self.pipes.all(&draft.relaid),
            recut: self.trenches.all(&draft.recut),
            touched: draft
                .touched
                .iter()
                .filter_map(|s| self.section(*s))
                .collect(),
            works,
        }
    }

    fn section(&self, section: Section) -> Option<Section> {
        match section {
            Section::Main => Some(Section::Main),
            Section::Station(station) => Some(Section::Station((*self.lots.of.get(station)?)?)),
        }
    }

    fn pipework(&self) -> Pipework {
        let old = &self.draft.work;
        let mut out = Pipework {
            nodes: self
                .nodes
                .kept
                .iter()
                .map(|i| old.nodes[*i].clone())
                .collect(),
            pipes: self
                .pipes
                .kept
                .iter()
                .map(|i| old.pipes[*i].clone())
                .collect(),
            trenches: self
                .trenches
                .kept
                .iter()
                .map(|i| old.trenches[*i].clone())
                .collect(),
            runs: Vec::new(),
            valve_nodes: Vec::new(),
        };
        let valve = |lot: &usize| self.nodes.of[old.valve_nodes[*lot]].unwrap_or(0);
        out.valve_nodes = self.lots.kept.iter().map(valve).collect();
        for node in &mut out.nodes {
            node.section = self.section(node.section).unwrap_or(Section::Main);
        }
        for trench in self.trenches.all(&self.draft.recut) {
            out.trenches[trench].pipes = 0;
        }
        for pipe in &mut out.pipes {
            pipe.section = self.section(pipe.section).unwrap_or(Section::Main);
            pipe.from = self.nodes.of[pipe.from].unwrap_or(0);
            pipe.to = self.nodes.of[pipe.to].unwrap_or(0);
            let was = std::mem::take(&mut pipe.trenches);
            let recut = |trench: &usize| self.draft.recut.contains(trench);
            for trench in was {
                let Some(new) = self.trenches.of[trench] else {
                    continue;
                };
                out.trenches[new].pipes += usize::from(recut(&trench));
                pipe.trenches.push(new);
            }
        }
        out
    }

    fn station(&self, lot: usize) -> StationWorks {
        let lot = &self.draft.lots[lot];
        let old = lot.from.and_then(|old| self.draft.old.stations.get(old));
        StationWorks {
            heads: lot.heads.clone(),
            valve_size: old.and_then(|old| old.valve_size),
            regulated_kpa: old.and_then(|old| old.regulated_kpa),
        }
    }

    /// Valves that stay: those of stations that do, and those of none on nodes that do.
    fn valves(&self) -> (Vec<Valve>, Vec<Option<usize>>) {
        let mut kept = (Vec::new(), Vec::new());
        for (i, valve) in self.draft.old.valves.iter().enumerate() {
            let station = valve
                .station
                .map(|s| self.lots.of.get(s).copied().flatten());
            let Some(node) = self.nodes.of.get(valve.node).copied().flatten() else {
                continue;
            };
            if station == Some(None) {
                continue;
            }
            kept.0.push(Valve {
                station: station.flatten(),
                node,
                ..valve.clone()
            });
            kept.1.push(Some(i));
        }
        kept
    }

    /// Drains on nodes that stay, each of the section its node is of.
    fn drains(&self) -> (Vec<Drain>, Vec<Option<usize>>) {
        let draft = self.draft;
        let mut kept = (Vec::new(), Vec::new());
        for (i, drain) in draft.old.drains.iter().enumerate() {
            let (was, is) = (
                draft.old.pipework.nodes[drain.node].section,
                draft.work.nodes[drain.node].section,
            );
            let section = if was == is { drain.section } else { is };
            let (Some(node), Some(section)) = (self.nodes.of[drain.node], self.section(section))
            else {
                continue;
            };
            kept.0.push(Drain {
                node,
                section,
                ..drain.clone()
            });
            kept.1.push(Some(i));
        }
        kept
    }
}
