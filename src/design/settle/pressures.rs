//! Pressures: every station solved, regulated where it would get too much, and static pressure everywhere.

use crate::brief::{Catalogue, Rules, ValveSize};
use crate::design::hydraulics::{StationError, StationInput, StationSolution, solve_station};
use crate::design::model::{Head, Section};
use crate::design::pipework::Pipework;
use crate::design::sizing::velocity_m_s;
use crate::design::stations::{Group, HeadNeed};
use crate::design::supply::SupplyCurve;
use crate::units::{KPA_PER_METRE, head_m_from_kpa, m3s_from_lpm};

/// Pressure above what every head wants at which a valve is made to regulate, kPa.
const SURPLUS_KPA: f64 = 10.0;
/// Times a regulated pressure is raised towards what the farthest head wants.
const TRIMS: usize = 4;
/// Regulated pressures are set to whole steps of this, kPa.
const SETTING_KPA: f64 = 5.0;

/// A station with its pressures.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// Index of the valve's size in the catalogue.
    pub valve_size: usize,
    /// Pressure held behind the valve, where it regulates, kPa.
    pub regulated_kpa: Option<f64>,
    /// The solution.
    pub solution: StationSolution,
    /// Greatest shortfall of any head under what it must have, kPa; zero where none is short.
    pub short_kpa: f64,
    /// Greatest excess of any head over its working range, kPa.
    pub over_kpa: f64,
    /// Least of what the heads have below the top of their working range, kPa.
    pub room_kpa: f64,
    /// Pressure spread inside the station over what the rule allows, kPa.
    pub spread_over_kpa: f64,
}

impl Solved {
    /// Whether any rule on its pressures is broken by more than a tolerance.
    pub fn fails(&self, tolerance_kpa: f64) -> bool {
        self.short_kpa.max(self.over_kpa).max(self.spread_over_kpa) > tolerance_kpa
    }

    /// How badly rules are broken: a head that cannot work weighs ten times what an uneven station does.
    pub fn fault(&self) -> f64 {
        10.0 * (self.short_kpa.max(0.0) + self.over_kpa.max(0.0)) + self.spread_over_kpa.max(0.0)
    }
}

/// Everything a station is solved with.
#[derive(Clone, Copy)]
pub struct Plant<'a> {
    /// Heads as placed.
    pub heads: &'a [Head],
    /// What they ask for.
    pub needs: &'a [HeadNeed],
    /// The supply.
    pub supply: &'a SupplyCurve,
    /// The catalogue.
    pub catalogue: &'a Catalogue,
    /// The rules.
    pub rules: &'a Rules,
}

impl Plant<'_> {
    /// Solves one station; regulates its valve when every head would get clearly more than it wants.
    pub fn solve(
        &self,
        work: &Pipework,
        station: usize,
        group: &Group,
    ) -> Result<Solved, StationError> {
        let valve_size = smallest_valve(&self.catalogue.valves, group.load.flow_lpm);
        self.solve_through(work, station, group, valve_size)
    }

    /// The same through a valve of a given size.
    pub fn solve_through(
        &self,
        work: &Pipework,
        station: usize,
        group: &Group,
        valve_size: usize,
    ) -> Result<Solved, StationError> {
        let at = |setting_kpa| self.solve_set(work, station, group, valve_size, setting_kpa);
        let free = at(None)?;
        if self.spare_kpa(&free) <= SURPLUS_KPA && free.over_kpa <= 0.0 {
            return Ok(free);
        }
        let behind = free.solution.node_pressure_kpa.iter();
        let mut behind = behind.filter(|(node, _)| *node == work.valve_nodes[station]);
        let behind_kpa = behind.next().map_or(0.0, |(_, kpa)| *kpa);
        let lower_kpa = self.spare_kpa(&free).max(free.over_kpa);
        let mut setting_kpa = ((behind_kpa - lower_kpa) / SETTING_KPA).floor() * SETTING_KPA;
        let mut held = at(Some(setting_kpa))?;
        for _ in 0..TRIMS {
            let step_kpa = SETTING_KPA * self.steps(&held);
            if step_kpa == 0.0 {
                break;
            }
            setting_kpa += step_kpa;
            held = at(Some(setting_kpa))?;
        }
        Ok(held)
    }

    /// Solves one station through a given valve that holds a given pressure, or none.
    pub fn solve_set(
        &self,
        work: &Pipework,
        station: usize,
        group: &Group,
        valve_size: usize,
        regulated_kpa: Option<f64>,
    ) -> Result<Solved, StationError> {
        let solution = self.solve_at(work, station, group, valve_size, regulated_kpa)?;
        Ok(self.judged(valve_size, regulated_kpa, solution))
    }

    /// Least of what the station's heads have above their wish, kPa.
    fn spare_kpa(&self, solved: &Solved) -> f64 {
        let heads = solved.solution.head_pressure_kpa.iter();
        heads
            .map(|(head, kpa)| kpa - self.needs[*head].pressure_kpa)
            .fold(f64::INFINITY, f64::min)
    }

    /// Steps by which a setting should go up or down: no head over its range first, then no head under its wish.
    fn steps(&self, held: &Solved) -> f64 {
        let spare_kpa = self.spare_kpa(held);
        if held.over_kpa > 0.0 {
            -(held.over_kpa / SETTING_KPA).ceil()
        } else if spare_kpa < 0.0 && held.room_kpa > SETTING_KPA {
            1.0
        } else {
            -(spare_kpa.max(0.0) / SETTING_KPA).floor()
        }
    }

    fn solve_at(
        &self,
        work: &Pipework,
        station: usize,
        group: &Group,
        valve_size: usize,
        regulated_kpa: Option<f64>,
    ) -> Result<StationSolution, StationError> {
        solve_station(&StationInput {
            nodes: &work.nodes,
            pipes: &work.pipes,
            main_path: &work.main_path(station),
            laterals: &work.pipes_of(Section::Station(station)),
            valve_node: work.valve_nodes[station],
            source_node: 0,
            supply: self.supply,
            valve: &self.catalogue.valves[valve_size],
            regulated_kpa,
            heads: self.heads,
            station_heads: &group.heads,
            catalogue: self.catalogue,
        })
    }

    fn judged(
        &self,
        valve_size: usize,
        regulated_kpa: Option<f64>,
        solution: StationSolution,
    ) -> Solved {
        let (mut short_kpa, mut room_kpa) = (0.0f64, f64::INFINITY);
        let (mut least_kpa, mut most_kpa, mut ref_kpa) = (f64::INFINITY, 0.0f64, f64::INFINITY);
        for &(head, kpa) in &solution.head_pressure_kpa {
            let model = &self.catalogue.heads[self.heads[head].model];
            short_kpa = short_kpa.max(model.pressure_min_kpa - kpa);
            room_kpa = room_kpa.min(model.pressure_max_kpa - kpa);
            (least_kpa, most_kpa, ref_kpa) = (
                least_kpa.min(kpa),
                most_kpa.max(kpa),
                ref_kpa.min(model.pressure_ref_kpa),
            );
        }
        let spread_over_kpa = most_kpa - least_kpa - self.rules.station_pressure_spread * ref_kpa;
        Solved {
            valve_size,
            regulated_kpa,
            solution,
            short_kpa,
            over_kpa: (-room_kpa).max(0.0),
            room_kpa,
            spread_over_kpa,
        }
    }
}

/// The smallest valve that carries a flow; the largest where none does.
pub fn smallest_valve(valves: &[ValveSize], flow_lpm: f64) -> usize {
    valves
        .iter()
        .position(|valve| valve.flow_max_lpm >= flow_lpm)
        .unwrap_or(valves.len().saturating_sub(1))
}

/// Writes the solved flows, losses and pressures onto nodes and pipes, and static pressure onto every node.
pub fn write_back(
    work: &mut Pipework,
    solved: &[Solved],
    supply: &SupplyCurve,
    catalogue: &Catalogue,
) {
    let source_head_m = work.nodes[0].invert_m + head_m_from_kpa(supply.static_kpa());
    for node in &mut work.nodes {
        node.static_kpa = Some((source_head_m - node.invert_m) * KPA_PER_METRE);
        node.pressure_kpa = None;
    }
    work.pipes.iter_mut().for_each(|pipe| pipe.flow_lpm = 0.0);
    for (station, solved) in solved.iter().enumerate() {
        let held_m = solved
            .regulated_kpa
            .map(|kpa| work.nodes[work.valve_nodes[station]].invert_m + head_m_from_kpa(kpa));
        for &(node, kpa) in &solved.solution.node_pressure_kpa {
            let node = &mut work.nodes[node];
            node.pressure_kpa = Some(kpa);
            if let Some(held_m) = held_m {
                node.static_kpa = Some((held_m.min(source_head_m) - node.invert_m) * KPA_PER_METRE);
            }
        }
        for &(node, kpa) in &solved.solution.main_pressure_kpa {
            let node = &mut work.nodes[node];
            if node.section == Section::Main {
                node.pressure_kpa =
                    Some(node.pressure_kpa.map_or(kpa, |known: f64| known.min(kpa)));
            }
        }
        let losses = solved.solution.pipe_loss_kpa.iter();
        for (&(pipe, flow_lpm), &(_, loss_kpa)) in solved.solution.pipe_flow_lpm.iter().zip(losses)
        {
            let pipe = &mut work.pipes[pipe];
            if flow_lpm > pipe.flow_lpm {
                (pipe.flow_lpm, pipe.loss_kpa) = (flow_lpm, loss_kpa);
                pipe.velocity_m_s =
                    velocity_m_s(&catalogue.pipes[pipe.size], m3s_from_lpm(flow_lpm));
            }
        }
    }
}
