//! Sizes: the pipework told to the sizing room, and its answer written back onto the pipes.

use super::pressures::{Plant, Solved, smallest_valve};
use crate::brief::PipeSize;
use crate::design::model::Section;
use crate::design::pipework::{Pipework, Run};
use crate::design::sizing::{
    Front, LateralProblem, MainPipe, MainProblem, SizeLimits, SizePipe, Sizing, StationDemand,
    Surge, choose as choose_sizes, lateral_front,
};
use crate::design::stations::Group;
use crate::units::{head_m_from_kpa, m3s_from_lpm};
use std::collections::BTreeMap;

/// Solved flows are planned with in whole steps of this, L/min, so that a change elsewhere does not change a station.
const FLOW_STEP_LPM: f64 = 0.1;

/// What the sizes cost, in catalogue prices, and the least they could.
pub struct Sized {
    /// Price of all pipe.
    pub cost: f64,
    /// Proven lower bound for these stations and trenches.
    pub bound: f64,
}

/// Fronts found so far, by the first head of their station: most stations come back unchanged in the next round.
#[derive(Default)]
pub struct FrontCache {
    known: BTreeMap<usize, Vec<(LateralProblem, SizeLimits, Front)>>,
}

impl FrontCache {
    fn front(
        &mut self,
        first_head: usize,
        problem: LateralProblem,
        sizes: &[PipeSize],
        limits: SizeLimits,
    ) -> Front {
        let known = self.known.entry(first_head).or_default();
        if let Some((_, _, front)) = known.iter().find(|(p, l, _)| *p == problem && *l == limits) {
            return front.clone();
        }
        let front = lateral_front(&problem, sizes, &limits);
        known.push((problem, limits, front.clone()));
        front
    }
}

/// Chooses the size of every pipe. With solutions, flows are the greater of planned and solved.
pub fn choose(
    work: &mut Pipework,
    groups: &[Group],
    plant: &Plant,
    solved: Option<&[Solved]>,
    cache: &mut FrontCache,
) -> Sized {
    let flows_lpm = head_flows(groups, plant, solved);
    let by_section = runs_by_section(work, groups.len());
    let source_floor_m = work.nodes[0].invert_m;
    let static_head_m = source_floor_m + head_m_from_kpa(plant.supply.static_kpa());
    let mut main = MainProblem {
        source_floor_m,
        ..MainProblem::default()
    };
    for &run in &by_section[0] {
        main.pipes.push(main_pipe(work, &by_section[0], run));
    }
    let mut asked = Vec::with_capacity(groups.len());
    for (station, group) in groups.iter().enumerate() {
        let flow_lpm: f64 = group.heads.iter().map(|head| flows_lpm[*head]).sum();
        let source_head_m = source_floor_m + head_m_from_kpa(plant.supply.delivered_kpa(flow_lpm));
        let valve = &plant.catalogue.valves[smallest_valve(&plant.catalogue.valves, flow_lpm)];
        let valve_loss_m =
            head_m_from_kpa(valve.loss_kpa) * (flow_lpm / valve.flow_max_lpm).powi(2);
        let limits = limits(plant, group, static_head_m, source_head_m - valve_loss_m);
        let problem = laterals(work, &by_section[station + 1], station, plant, &flows_lpm);
        let first_head = group.heads.first().copied().unwrap_or(usize::MAX);
        let front = cache.front(first_head, problem.clone(), &plant.catalogue.pipes, limits);
        asked.push((first_head, problem, limits));
        let at_pipe = main_pipe_to(work, &by_section[0], work.valve_nodes[station]);
        main.stations.push(StationDemand {
            at_pipe,
            flow_m3s: m3s_from_lpm(flow_lpm),
            source_head_m,
            valve_loss_m,
            front,
        });
    }
    let main_limits = SizeLimits {
        velocity_most_m_s: plant.rules.velocity_most_m_s,
        static_head_m,
        rating_reserve: plant.rules.rating_reserve,
        surge: Some(Surge::of(plant.rules)),
        ..SizeLimits::default()
    };
    let mut sizing = choose_sizes(&main, &plant.catalogue.pipes, &main_limits);
    for (station, ask) in asked.into_iter().enumerate() {
        if sizing.short.iter().any(|short| short.station == station) {
            even_out_less(&mut sizing, station, ask, plant, cache);
        }
    }
    write_sizes(work, &by_section[0], &sizing.main_sizes);
    for (station, sizes) in sizing.lateral_sizes.iter().enumerate() {
        write_sizes(work, &by_section[station + 1], sizes);
    }
    Sized {
        cost: sizing.cost,
        bound: sizing.bound,
    }
}

/// A station that gets too little head for an even pressure gets the least uneven one that its head allows.
fn even_out_less(
    sizing: &mut Sizing,
    station: usize,
    (first_head, problem, limits): (usize, LateralProblem, SizeLimits),
    plant: &Plant,
    cache: &mut FrontCache,
) {
    let head_m = sizing.valve_head_m[station];
    let limits = SizeLimits {
        head_most_m: head_m,
        ..limits
    };
    let front = cache.front(first_head, problem, &plant.catalogue.pipes, limits);
    if let Some(point) = front.within(head_m) {
        sizing.lateral_sizes[station].clone_from(&point.sizes);
    }
}

fn head_flows(groups: &[Group], plant: &Plant, solved: Option<&[Solved]>) -> Vec<f64> {
    let mut flows: Vec<f64> = plant.needs.iter().map(|need| need.flow_lpm).collect();
    for (_, solved) in groups.iter().zip(solved.into_iter().flatten()) {
        for &(head, flow_lpm) in &solved.solution.head_flow_lpm {
            let stepped_lpm = (flow_lpm / FLOW_STEP_LPM).ceil() * FLOW_STEP_LPM;
            flows[head] = flows[head].max(stepped_lpm);
        }
    }
    flows
}

/// Runs of the main, then of each station, as positions in the pipework's runs; parents before children.
fn runs_by_section(work: &Pipework, stations: usize) -> Vec<Vec<usize>> {
    let mut by_section = vec![Vec::new(); stations + 1];
    for (i, run) in work.runs.iter().enumerate() {
        match run.section {
            Section::Main => by_section[0].push(i),
            Section::Station(station) => by_section[station + 1].push(i),
        }
    }
    by_section
}

fn parent_in(runs: &[usize], run: &Run) -> Option<usize> {
    run.parent
        .and_then(|parent| runs.binary_search(&parent).ok())
}

fn length_m(work: &Pipework, run: &Run) -> f64 {
    run.pipes
        .iter()
        .map(|pipe| work.pipes[*pipe].length_m)
        .sum()
}

fn minor_k(work: &Pipework, run: &Run) -> f64 {
    run.pipes.iter().map(|pipe| work.pipes[*pipe].minor_k).sum()
}

fn lowest_m(work: &Pipework, run: &Run) -> f64 {
    run.pipes
        .iter()
        .map(|pipe| work.nodes[work.pipes[*pipe].to].invert_m)
        .fold(f64::INFINITY, f64::min)
}

fn main_pipe(work: &Pipework, runs: &[usize], run: usize) -> MainPipe {
    let run = &work.runs[run];
    MainPipe {
        parent: parent_in(runs, run),
        length_m: length_m(work, run),
        minor_k: minor_k(work, run),
        down_floor_m: lowest_m(work, run),
    }
}

fn main_pipe_to(work: &Pipework, runs: &[usize], node: usize) -> Option<usize> {
    runs.iter().position(|run| work.runs[*run].to == node)
}

fn limits(plant: &Plant, group: &Group, static_head_m: f64, head_most_m: f64) -> SizeLimits {
    let ref_kpa = group
        .heads
        .iter()
        .map(|head| plant.catalogue.heads[plant.heads[*head].model].pressure_ref_kpa)
        .fold(f64::INFINITY, f64::min);
    SizeLimits {
        velocity_most_m_s: plant.rules.velocity_most_m_s,
        static_head_m,
        rating_reserve: plant.rules.rating_reserve,
        head_most_m,
        spread_m: Some(head_m_from_kpa(
            plant.rules.station_pressure_spread * ref_kpa,
        )),
        ..SizeLimits::default()
    }
}

/// One station's laterals as the sizing room wants them.
fn laterals(
    work: &Pipework,
    runs: &[usize],
    station: usize,
    plant: &Plant,
    flows_lpm: &[f64],
) -> LateralProblem {
    let mut flow_lpm = vec![0.0; runs.len()];
    for i in (0..runs.len()).rev() {
        let run = &work.runs[runs[i]];
        flow_lpm[i] += work.nodes[run.to].head.map_or(0.0, |head| flows_lpm[head]);
        if let Some(parent) = parent_in(runs, run) {
            flow_lpm[parent] += flow_lpm[i];
        }
    }
    let pipe = |(i, run): (usize, &usize)| {
        let run = &work.runs[*run];
        SizePipe {
            parent: parent_in(runs, run),
            length_m: length_m(work, run),
            minor_k: minor_k(work, run),
            flow_m3s: m3s_from_lpm(flow_lpm[i]),
            down_need_m: work.nodes[run.to]
                .head
                .map(|head| need_m(plant, head, flows_lpm[head])),
            down_floor_m: lowest_m(work, run),
        }
    };
    let pipes = runs.iter().enumerate().map(pipe).collect();
    let valve_floor_m = work.nodes[work.valve_nodes[station]].invert_m;
    LateralProblem {
        pipes,
        valve_need_m: None,
        valve_floor_m,
    }
}

/// Head wanted in the pipe under a sprinkler, m above the datum: ground, wished pressure, riser and joint.
fn need_m(plant: &Plant, head: usize, flow_lpm: f64) -> f64 {
    let model = &plant.catalogue.heads[plant.heads[head].model];
    let joint_kpa = model.joint_loss_kpa * (flow_lpm / model.joint_flow_lpm).powi(2);
    plant.heads[head].ground_m + head_m_from_kpa(plant.needs[head].pressure_kpa + joint_kpa)
}

fn write_sizes(work: &mut Pipework, runs: &[usize], sizes: &[usize]) {
    for (run, size) in runs.iter().zip(sizes) {
        for &pipe in &work.runs[*run].pipes {
            work.pipes[pipe].size = *size;
        }
    }
}
