//! Whether stations of the finished design may run together: all of them solved at once, and every head and pipe looked at.
//! Where bounds decide already, nothing is solved.

use crate::brief::{Catalogue, Rules};
use crate::design::hydraulics::{
    StationInput, StationSolution, least_valve_in_kpa, solve_station, solve_together,
};
use crate::design::model::{Design, Section, Station, Together};
use crate::design::pipework::Pipework;
use crate::design::schedule::together::{Refusal, TogetherCheck};
use crate::design::sizing::velocity_m_s;
use crate::design::supply::SupplyCurve;
use crate::units::m3s_from_lpm;
use std::collections::BTreeMap;

/// Pressure out of a head's working range that is still called kept, kPa: as in `review`.
const PRESSURE_GRACE_KPA: f64 = 0.5;
/// Velocity over the rule that is still called kept: as in `review`.
const VELOCITY_GRACE: f64 = 1.02;

/// Pipes of each station: from the source to its valve, and behind it.
#[derive(Debug)]
pub(super) struct Ways {
    main: Vec<Vec<usize>>,
    laterals: Vec<Vec<usize>>,
}

impl Ways {
    /// The ways of a laid design.
    pub(super) fn of(work: &Pipework) -> Self {
        let stations = 0..work.valve_nodes.len();
        let laterals = |station| work.pipes_of(Section::Station(station));
        Self {
            main: stations.clone().map(|s| work.main_path(s)).collect(),
            laterals: stations.map(laterals).collect(),
        }
    }
}

/// A station while it runs alone.
#[derive(Debug, Clone, Copy)]
struct Alone {
    flow_lpm: f64,
    /// Flow with every head at the least pressure that is called kept.
    least_lpm: f64,
    valve_in_kpa: f64,
    /// Least of what its heads have over the least pressure of their range.
    margin_kpa: f64,
}

/// The stations of a design, ready to be solved in any company.
#[derive(Debug)]
pub(super) struct OpenStations<'a> {
    stations: Vec<StationInput<'a>>,
    /// `None` for a station that cannot be solved.
    alone: Vec<Option<Alone>>,
    catalogue: &'a Catalogue,
    velocity_most_m_s: f64,
}

impl<'a> OpenStations<'a> {
    /// The stations with the valves and settings that they have alone.
    pub(super) fn of(
        design: &'a Design,
        ways: &'a Ways,
        supply: &'a SupplyCurve,
        catalogue: &'a Catalogue,
        rules: &'a Rules,
    ) -> Self {
        let input = |(at, station): (usize, &'a Station)| StationInput {
            nodes: &design.nodes,
            pipes: &design.pipes,
            main_path: &ways.main[at],
            laterals: &ways.laterals[at],
            valve_node: station.valve_node,
            source_node: 0,
            supply,
            valve: &catalogue.valves[station.valve_size],
            regulated_kpa: station.regulated_kpa,
            heads: &design.heads,
            station_heads: &station.heads,
            catalogue,
        };
        let stations: Vec<_> = design.stations.iter().enumerate().map(input).collect();
        Self {
            alone: stations.iter().map(alone).collect(),
            stations,
            catalogue,
            velocity_most_m_s: rules.velocity_most_m_s * VELOCITY_GRACE,
        }
    }

    fn inputs(&self, stations: &[usize]) -> Vec<StationInput<'a>> {
        stations.iter().map(|at| self.stations[*at]).collect()
    }

    /// Greatest velocity in some pipes with their flow, m/s.
    fn fastest_m_s<'f>(&self, flows_lpm: impl IntoIterator<Item = (&'f usize, &'f f64)>) -> f64 {
        let velocity = |(pipe, lpm): (&usize, &f64)| {
            let size = self.stations[0].pipes[*pipe].size;
            velocity_m_s(&self.catalogue.pipes[size], m3s_from_lpm(*lpm))
        };
        flows_lpm.into_iter().map(velocity).fold(0.0, f64::max)
    }

    /// Greatest velocity in the mains if each station drew a flow, m/s.
    fn fastest_main_m_s(&self, inputs: &[StationInput], flows_lpm: &[f64]) -> f64 {
        let mut mains: BTreeMap<usize, f64> = BTreeMap::new();
        for (input, flow_lpm) in inputs.iter().zip(flows_lpm) {
            for &pipe in input.main_path {
                *mains.entry(pipe).or_default() += flow_lpm;
            }
        }
        self.fastest_m_s(&mains)
    }

    /// What bounds alone say of stations that each may run; `None` where they do not decide.
    ///
    /// Flow and pressure of a station only fall when others open. So no main carries more than the sum of flows alone, no
    /// head loses more pressure than its valve, and heads that keep their range draw at least what they draw at its low end.
    fn bounded(&self, stations: &[usize], inputs: &[StationInput]) -> Option<Result<(), Refusal>> {
        let alone: Vec<Alone> = stations
            .iter()
            .map(|at| self.alone[*at])
            .collect::<Option<_>>()?;
        let least: Vec<f64> = alone.iter().map(|station| station.least_lpm).collect();
        if self.fastest_main_m_s(inputs, &least) > self.velocity_most_m_s {
            return Some(Err(Refusal::Velocity));
        }
        let most: Vec<f64> = alone.iter().map(|station| station.flow_lpm).collect();
        let valve_in_kpa = least_valve_in_kpa(inputs, &most).ok()?;
        let kept = alone.iter().zip(&valve_in_kpa).all(|(station, in_kpa)| {
            let fall_kpa = station.valve_in_kpa - in_kpa;
            station.margin_kpa - fall_kpa >= -PRESSURE_GRACE_KPA
        });
        let flowing = inputs[0].supply.delivered_kpa(most.iter().sum()) > 0.0;
        let slow = || self.fastest_main_m_s(inputs, &most) <= self.velocity_most_m_s;
        (kept && flowing && slow()).then_some(Ok(()))
    }
}

/// Least of what heads have over the least, and under the greatest pressure of their range, kPa.
fn margins_kpa(input: &StationInput, solution: &StationSolution) -> [f64; 2] {
    let mut least = [f64::INFINITY; 2];
    for &(head, kpa) in &solution.head_pressure_kpa {
        let model = &input.catalogue.heads[input.heads[head].model];
        least[0] = least[0].min(kpa - model.pressure_min_kpa);
        least[1] = least[1].min(model.pressure_max_kpa - kpa);
    }
    least
}

fn alone(input: &StationInput) -> Option<Alone> {
    let solution = solve_station(input).ok()?;
    let least_lpm = |head: &usize| {
        let head = &input.heads[*head];
        let model = &input.catalogue.heads[head.model];
        let least_kpa = (model.pressure_min_kpa - PRESSURE_GRACE_KPA).max(0.0);
        head.flow_ref_lpm * (least_kpa / model.pressure_ref_kpa).powf(model.flow_exponent)
    };
    Some(Alone {
        flow_lpm: solution.flow_lpm,
        least_lpm: input.station_heads.iter().map(least_lpm).sum(),
        valve_in_kpa: solution.valve_in_kpa,
        margin_kpa: margins_kpa(input, &solution)[0],
    })
}

impl TogetherCheck for OpenStations<'_> {
    fn open(&self, stations: &[usize]) -> Result<Together, Refusal> {
        let inputs = self.inputs(stations);
        let told = solve_together(&inputs).map_err(|_| Refusal::Pressure)?;
        let both = inputs.iter().zip(&told.stations);
        let margins = both.map(|(input, solution)| margins_kpa(input, solution));
        let [over_least_kpa, under_most_kpa] = margins
            .reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1])])
            .unwrap_or_default();
        if over_least_kpa.min(under_most_kpa) < -PRESSURE_GRACE_KPA || told.source_kpa < 0.0 {
            return Err(Refusal::Pressure);
        }
        let pipes = told.stations.iter().flat_map(|s| &s.pipe_flow_lpm);
        if self.fastest_m_s(pipes.map(|(pipe, lpm)| (pipe, lpm))) > self.velocity_most_m_s {
            return Err(Refusal::Velocity);
        }
        let mains = told.main_flow_lpm.iter().map(|(pipe, lpm)| (pipe, lpm));
        Ok(Together {
            stations: stations.to_vec(),
            flow_lpm: told.flow_lpm,
            source_kpa: told.source_kpa,
            pressure_least_margin_kpa: over_least_kpa,
            velocity_most_m_s: self.fastest_m_s(mains),
        })
    }

    fn may_run(&self, stations: &[usize]) -> Result<(), Refusal> {
        let bounded = match stations {
            [] | [_] => None,
            _ => self.bounded(stations, &self.inputs(stations)),
        };
        bounded.unwrap_or_else(|| self.open(stations).map(|_| ()))
    }
}

#[cfg(test)]
mod tests;
