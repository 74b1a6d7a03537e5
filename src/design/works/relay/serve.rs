//! Stations judged as they lie: solved through the valves they have, with what breaks a rule.

use super::compact::Lying;
use super::loads::Wishes;
use super::{Fixed, Ground};
use crate::design::model::Section;
use crate::design::pipework::Pipework;
use crate::design::settle::demand::shared_wishes;
use crate::design::settle::pressures::{Plant, Solved, smallest_valve};
use crate::design::sizing::velocity_m_s;
use crate::design::stations::{Group, HeadNeed, Load};
use crate::units::{KPA_PER_METRE, m3s_from_lpm};

/// Pressure a head may be out of its range, kPa.
const TOLERANCE_KPA: f64 = 0.25;
/// Velocity over the greatest allowed that is no fault: solved flows run a little over planned ones.
pub(super) const VELOCITY_GRACE: f64 = 1.02;
/// Flow over what a valve carries that is no fault: a design chooses it by the planned flow.
const VALVE_GRACE: f64 = 1.05;
/// What the share by which a pipe runs too fast, and a pipe too weak for the static pressure, weigh as a fault, kPa.
const FAST_KPA: f64 = 100.0;
const WEAK_KPA: f64 = 100.0;

/// A station as solved.
#[derive(Debug, Clone)]
pub(super) struct Judged {
    pub solved: Solved,
    /// How badly rules are broken; zero where none is.
    pub fault: f64,
}

/// What stations are judged with.
pub(super) struct Service<'a> {
    pub ground: &'a Ground<'a>,
    pub heads: &'a [crate::design::model::Head],
    pub needs: Vec<HeadNeed>,
    pub groups: Vec<Group>,
    /// Whether each station has heads and water.
    pub runs: Vec<bool>,
    /// Size of each valve and pressure it holds, as it lies; `None` where it is new.
    pub valves: Vec<Option<(usize, Option<f64>)>>,
    /// Whether its valve must stay as it is.
    pub pinned: Vec<bool>,
}

impl<'a> Service<'a> {
    pub fn of(
        lying: &Lying,
        heads: &'a [crate::design::model::Head],
        fed: &[bool],
        wishes: &Wishes,
        (ground, fixed): (&'a Ground, &Fixed),
    ) -> Self {
        let group = |station: &crate::design::works::StationWorks| Group {
            heads: station.heads.clone(),
            load: Wishes::load(&wishes.usual, &station.heads).unwrap_or(NO_LOAD),
            top: 0,
            class: wishes.class_of(&station.heads).unwrap_or(0),
        };
        let stations = &lying.works.stations;
        let groups: Vec<Group> = stations.iter().map(group).collect();
        let needs = shared_wishes(&wishes.usual, &groups, heads, ground.catalogue);
        let lies = |(i, station): (usize, &crate::design::works::StationWorks)| {
            lying.origin.stations[i]?;
            let assumed = || smallest_valve(&ground.catalogue.valves, groups[i].load.flow_lpm);
            let size = station.valve_size.unwrap_or_else(assumed);
            Some((size, station.regulated_kpa))
        };
        let valves = stations.iter().enumerate().map(lies).collect();
        let pinned = (0..stations.len()).map(|station| lying.has_pinned_valve(station, fixed));
        let runs = groups
            .iter()
            .zip(fed)
            .map(|(group, fed)| *fed && !group.heads.is_empty());
        Self {
            ground,
            heads,
            needs,
            runs: runs.collect(),
            valves,
            pinned: pinned.collect(),
            groups,
        }
    }

    pub fn plant(&self) -> Plant<'_> {
        Plant {
            heads: self.heads,
            needs: &self.needs,
            supply: self.ground.supply,
            catalogue: self.ground.catalogue,
            rules: self.ground.rules,
        }
    }

    /// A station solved through its valve as it lies, or with another setting or size where it must be; `None` where it
    /// has no solution.
    pub fn judge(&self, work: &Pipework, station: usize) -> Option<Judged> {
        let group = &self.groups[station];
        let plant = self.plant();
        let sizes = &self.ground.catalogue.valves;
        let Some((mut size, set_kpa)) = self.valves[station] else {
            return Some(self.judged(work, plant.solve(work, station, group).ok()?));
        };
        let carries = |size: usize, lpm: f64| {
            sizes
                .get(size)
                .is_some_and(|v| v.flow_max_lpm * VALVE_GRACE >= lpm)
        };
        let mut solved = plant.solve_set(work, station, group, size, set_kpa).ok()?;
        if self.pinned[station] {
            return Some(self.judged(work, solved));
        }
        if !carries(size, solved.solution.flow_lpm) {
            size = smallest_valve(sizes, solved.solution.flow_lpm);
            solved = plant.solve_set(work, station, group, size, set_kpa).ok()?;
        }
        let as_it_lies = self.judged(work, solved);
        let out_of_range =
            as_it_lies.solved.over_kpa.max(as_it_lies.solved.short_kpa) > TOLERANCE_KPA;
        if !out_of_range {
            return Some(as_it_lies);
        }
        let set_anew = plant.solve_through(work, station, group, size).ok();
        let set_anew = set_anew.map(|solved| self.judged(work, solved));
        let better = set_anew.filter(|anew| anew.fault < as_it_lies.fault - TOLERANCE_KPA);
        Some(better.unwrap_or(as_it_lies))
    }

    fn judged(&self, work: &Pipework, solved: Solved) -> Judged {
        let pressure = if solved.fails(TOLERANCE_KPA) {
            solved.fault()
        } else {
            0.0
        };
        let fault = pressure + self.fast(work, &solved) + self.weak(work, &solved);
        Judged { solved, fault }
    }

    fn fast(&self, work: &Pipework, solved: &Solved) -> f64 {
        let most_m_s = self.ground.rules.velocity_most_m_s;
        let over = |&(pipe, lpm): &(usize, f64)| {
            let size = &self.ground.catalogue.pipes[work.pipes[pipe].size];
            let share = velocity_m_s(size, m3s_from_lpm(lpm.abs())) / most_m_s;
            if share > VELOCITY_GRACE {
                share - 1.0
            } else {
                0.0
            }
        };
        FAST_KPA * solved.solution.pipe_flow_lpm.iter().map(over).sum::<f64>()
    }

    fn weak(&self, work: &Pipework, solved: &Solved) -> f64 {
        let pipes = solved.solution.pipe_flow_lpm.iter();
        WEAK_KPA * pipes.filter(|(pipe, _)| self.is_weak(work, *pipe)).count() as f64
    }

    /// Whether a pipe is not rated for the static pressure on it though another is.
    pub fn is_weak(&self, work: &Pipework, pipe: usize) -> bool {
        let laid = &work.pipes[pipe];
        let source_m = work.nodes[0].invert_m;
        let low_m = work.nodes[laid.from]
            .invert_m
            .min(work.nodes[laid.to].invert_m);
        let static_kpa = self.ground.supply.static_kpa() + (source_m - low_m) * KPA_PER_METRE;
        let bears = |kpa: f64| kpa * (1.0 - self.ground.rules.rating_reserve) >= static_kpa;
        let sizes = &self.ground.catalogue.pipes;
        !bears(sizes[laid.size].rating_kpa) && sizes.iter().any(|size| bears(size.rating_kpa))
    }

    /// Pipes from the source to a station's heads.
    pub fn pipes(&self, work: &Pipework, station: usize) -> Vec<usize> {
        let mut pipes = work.main_path(station);
        pipes.extend(work.pipes_of(Section::Station(station)));
        pipes
    }
}

/// What a station without heads asks for.
const NO_LOAD: Load = Load {
    heads: 0,
    flow_lpm: 0.0,
    low_m: 0.0,
    high_m: 0.0,
    pressure_kpa: 0.0,
    flow_most_lpm: 0.0,
    spread_most_m: 0.0,
};
