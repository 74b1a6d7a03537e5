//! Puts the answers of the rooms together into one design.

mod as_it_lies;
mod check_valves;
mod classes;
mod fewest;
mod ground;
mod stations;
mod together;

pub use as_it_lies::as_it_lies;

use crate::brief::Project;
use crate::design::coverage;
use crate::design::heads::Layout;
use crate::design::model::{Design, Head, Ids, Schedule, SupplyResult, Valve, ValveKind, Working};
use crate::design::pipework::Pipework;
use crate::design::schedule::{ScheduleRequest, StationNeed, plan};
use crate::design::settle::demand::Allowance;
use crate::design::settle::{Settled, Solved};
use crate::design::source::Source;
use crate::design::stations::Group;
use crate::design::supply::SupplyCurve;
use crate::design::trenches::TrenchTree;
use crate::design::{bounds, review, takeoff};
use crate::finding::Finding;
use crate::site::Parcel;
use together::{OpenStations, Ways};

/// Points of the supply's curve that are handed over.
const CURVE_POINTS: usize = 25;

/// A design with heads and their rated coverage only: there is no water to plan with, or no head to bring it to.
pub fn without_water(
    parcel: &Parcel,
    project: &Project,
    layout: Layout,
    mut findings: Vec<Finding>,
) -> Design {
    findings.extend(layout.findings);
    let working: Vec<Working> = layout
        .heads
        .iter()
        .map(|head| coverage::rated_working(head, &project.catalogue))
        .collect();
    let simulation = coverage::simulate(
        parcel,
        &layout.heads,
        &working,
        &project.catalogue,
        &project.rules,
    );
    findings.extend(simulation.findings);
    let mut design = Design {
        throws: throws(parcel, &layout.heads, &working),
        station_of: vec![None; layout.heads.len()],
        turf: fewest::beside(simulation.turf, parcel, &layout.heads, project),
        coverage: simulation.bands,
        heads: layout.heads,
        ..Design::default()
    };
    design.bounds = bounds::of_turf(&design.turf);
    design.profiles = profiles(project);
    design.findings = findings;
    design
}

/// The whole design.
#[allow(clippy::too_many_arguments)]
pub fn whole(
    parcel: &Parcel,
    project: &Project,
    heads: Vec<Head>,
    tree: &TrenchTree,
    source: &Source,
    settled: Settled,
    ids: Ids,
    mut findings: Vec<Finding>,
) -> Design {
    let (catalogue, rules) = (&project.catalogue, &project.rules);
    let allowance = Allowance::new(
        &source.curve,
        settled.work.nodes[0].ground_m,
        catalogue,
        rules,
    );
    let working = working(&heads, &settled.solved, project);
    let mut simulation = coverage::simulate(parcel, &heads, &working, catalogue, rules);
    findings.extend(coverage::rated::compare(
        parcel,
        &heads,
        catalogue,
        rules,
        &mut simulation.turf,
    ));
    let throws = throws(parcel, &heads, &working);
    let turf = fewest::beside(simulation.turf, parcel, &heads, project);
    let classes = classes::station_classes(&settled, &heads, catalogue);
    findings.extend(classes::uneven(&settled, &heads, catalogue, rules));
    let mut design = Design {
        station_of: station_of(heads.len(), &settled),
        stations: stations::stations(parcel, &heads, &working, &throws, &settled, catalogue),
        bounds: bounds::bounds(&turf, tree, &settled, classes),
        supply: Some(supply_result(source, &settled, &allowance)),
        valves: valves(&settled, project),
        turf,
        coverage: simulation.bands,
        profiles: profiles(project),
        air_valves: settled.graded.air_valves,
        drains: settled.graded.drains,
        nodes: settled.work.nodes,
        pipes: settled.work.pipes,
        trenches: settled.work.trenches,
        working,
        throws,
        heads,
        ids,
        ..Design::default()
    };
    findings.extend(simulation.findings);
    findings.extend(review::grade_not_kept(settled.graded.relaxed));
    findings.extend(review::cover::finding(&design, &parcel.terrain, rules));
    findings.extend(review::review(&design, &settled.remedies, catalogue, rules));
    let (schedule, said) = timetable(parcel, project, &design, &source.curve);
    design.schedule = schedule;
    carry_together(&mut design, catalogue);
    findings.extend(said);
    findings.extend(check_valves::set(&mut design, rules));
    let list = project.prices.list.as_ref();
    findings.extend(list.and_then(|list| takeoff::unknown_prices(list, catalogue)));
    design.takeoff = takeoff::count(&design, catalogue, &project.prices, rules);
    design.findings = findings;
    design
}

/// The schedule of a design whose network is solved, at the water point with this curve.
pub fn timetable(
    parcel: &Parcel,
    project: &Project,
    design: &Design,
    curve: &SupplyCurve,
) -> (Schedule, Vec<Finding>) {
    let ways = Ways::of(&Pipework::of(design));
    let open = OpenStations::of(design, &ways, curve, &project.catalogue, &project.rules);
    plan(&ScheduleRequest {
        together: Some(&open),
        ..request(parcel, project, design)
    })
}

fn working(heads: &[Head], solved: &[Solved], project: &Project) -> Vec<Working> {
    // A head on no station is counted as if it worked: what it lacks is told where it is found.
    let mut solved_for = vec![false; heads.len()];
    let mut pressure_kpa = vec![0.0; heads.len()];
    let mut flow_lpm = vec![0.0; heads.len()];
    for solution in solved.iter().map(|s| &s.solution) {
        solution
            .head_pressure_kpa
            .iter()
            .for_each(|(head, kpa)| (pressure_kpa[*head], solved_for[*head]) = (*kpa, true));
        solution
            .head_flow_lpm
            .iter()
            .for_each(|(head, lpm)| flow_lpm[*head] = *lpm);
    }
    let at = |(i, head): (usize, &Head)| {
        if !solved_for[i] {
            return coverage::rated_working(head, &project.catalogue);
        }
        Working {
            flow_lpm: flow_lpm[i],
            ..coverage::working_at(head, pressure_kpa[i], &project.catalogue)
        }
    };
    heads.iter().enumerate().map(at).collect()
}

fn station_of(heads: usize, settled: &Settled) -> Vec<Option<usize>> {
    let mut station_of = vec![None; heads];
    for (station, group) in settled.groups.iter().enumerate() {
        group
            .heads
            .iter()
            .for_each(|head| station_of[*head] = Some(station));
    }
    station_of
}

fn throws(parcel: &Parcel, heads: &[Head], working: &[Working]) -> Vec<geo::Polygon<f64>> {
    let walls = coverage::walls_of(&parcel.obstacles);
    heads
        .iter()
        .zip(working)
        .map(|(head, w)| coverage::throw_outline(head, w.radius_m, &walls))
        .collect()
}

fn profiles(project: &Project) -> Vec<(String, crate::brief::Profile)> {
    project
        .catalogue
        .heads
        .iter()
        .map(|model| (model.name.clone(), model.profile))
        .collect()
}

fn supply_result(source: &Source, settled: &Settled, allowance: &Allowance) -> SupplyResult {
    let curve = &source.curve;
    let left_lpm = |group: &Group| {
        let needs = group.heads.iter().map(|head| &settled.needs[*head]);
        let left = needs.map(|need| allowance.left_lpm(need));
        left.fold(f64::INFINITY, f64::min)
    };
    let design_lpm = settled.groups.iter().map(left_lpm).fold(0.0, f64::max);
    let most_lpm = curve.flow_most_lpm();
    let points = (0..=CURVE_POINTS)
        .map(|i| most_lpm * i as f64 / CURVE_POINTS as f64)
        .map(|flow| (flow, curve.delivered_kpa(flow)))
        .collect();
    SupplyResult {
        water_point: source.id.clone(),
        node: 0,
        static_kpa: curve.static_kpa(),
        design_lpm,
        design_kpa: curve.delivered_kpa(design_lpm),
        curve: points,
    }
}

/// Isolation and backflow at the source, a control valve for each station, a regulator where one is set.
fn valves(settled: &Settled, project: &Project) -> Vec<Valve> {
    let catalogue = &project.catalogue;
    let most_lpm = settled
        .solved
        .iter()
        .map(|s| s.solution.flow_lpm)
        .fold(0.0, f64::max);
    let at_source = |kind| Valve {
        kind,
        station: None,
        node: 0,
        flow_lpm: most_lpm,
        size: valve_size_for(catalogue, most_lpm),
    };
    let mut valves = vec![
        at_source(ValveKind::Isolation),
        at_source(ValveKind::Backflow),
    ];
    for (station, solved) in settled.solved.iter().enumerate() {
        let valve = |kind| Valve {
            kind,
            station: Some(station),
            node: settled.work.valve_nodes[station],
            flow_lpm: solved.solution.flow_lpm,
            size: catalogue.valves[solved.valve_size].size.clone(),
        };
        valves.push(valve(ValveKind::Control));
        if solved.regulated_kpa.is_some() {
            valves.push(valve(ValveKind::Regulator));
        }
    }
    valves
}

/// Lets the valves at the source carry what the peak day opens at once.
fn carry_together(design: &mut Design, catalogue: &crate::brief::Catalogue) {
    let sets = design.schedule.together.iter();
    let most_lpm = sets.map(|set| set.flow_lpm).fold(0.0, f64::max);
    let at_source = design.valves.iter_mut().filter(|v| v.station.is_none());
    for valve in at_source.filter(|valve| valve.flow_lpm < most_lpm) {
        valve.flow_lpm = most_lpm;
        valve.size = valve_size_for(catalogue, most_lpm);
    }
}

fn valve_size_for(catalogue: &crate::brief::Catalogue, flow_lpm: f64) -> String {
    let fits = catalogue
        .valves
        .iter()
        .find(|valve| valve.flow_max_lpm >= flow_lpm)
        .or(catalogue.valves.last());
    fits.map_or_else(String::new, |valve| valve.size.clone())
}

fn request<'a>(parcel: &Parcel, project: &'a Project, design: &Design) -> ScheduleRequest<'a> {
    let need = |station: usize| {
        let heads = &design.stations[station].heads;
        let on = ground::turf_shares(design, heads);
        let model = heads.first().map(|&head| design.heads[head].model);
        let class_mm_h = model
            .and_then(|model| coverage::class_rate_mm_h(&project.catalogue, model))
            .unwrap_or(0.0);
        let mean = |value: &dyn Fn(usize) -> Option<f64>| {
            let known: Vec<(f64, f64)> = on
                .iter()
                .filter_map(|(turf, share)| value(*turf).map(|v| (v, *share)))
                .collect();
            let weight: f64 = known.iter().map(|(_, w)| w).sum();
            (weight > 0.0).then(|| known.iter().map(|(v, w)| v * w).sum::<f64>() / weight)
        };
        let main_turf = on
            .iter()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(turf, _)| &parcel.turf[*turf]);
        StationNeed {
            number: Some(design.station_number(station)),
            flow_lpm: design.stations[station].flow_lpm,
            rate_mm_h: mean(&|turf| {
                let result = &design.turf[turf];
                // The mean is given at the rate of the area's main class; the station has its own.
                let at_main = coverage::matched_factor(class_mm_h, result.class_rate_mm_h?);
                Some(result.mean_rate_mm_h? / at_main)
            })
            .unwrap_or(0.0),
            du_low_quarter: mean(&|turf| design.turf[turf].du_low_quarter),
            area_m2: ground::watered_m2(design, heads),
            soil: main_turf.and_then(|turf| turf.soil.clone()),
            season: main_turf.and_then(|turf| turf.season.clone()),
            slope: ground::mean_slope(parcel, design, heads),
        }
    };
    ScheduleRequest {
        climate: &project.climate,
        latitude_deg: parcel.frame.lat0_deg,
        rules: &project.rules,
        stations: (0..design.stations.len()).map(need).collect(),
        design_lpm: design
            .supply
            .as_ref()
            .map_or(0.0, |supply| supply.design_lpm),
        together: None,
    }
}
