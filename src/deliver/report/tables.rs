//! The tables of the report: a caption, names of the columns, rows of finished text.

use super::{number, percent};
use crate::deliver::figures::{pipe_cost, sizes};
use crate::deliver::job::Job;
use crate::design::model::TakeoffRow;
use minijinja::{Value, context};

/// A table. `words` tells how many columns from the left hold words rather than numbers.
pub(super) fn table(caption: &str, words: usize, names: &[&str], rows: Vec<Vec<String>>) -> Value {
    context! { caption, words, names, rows }
}

/// The tables that follow the plan; empty ones are left out.
pub(super) fn all(job: &Job) -> Vec<Value> {
    let tables = [stations(job), turf(job), pipe(job), bounds(job)];
    tables.into_iter().flatten().collect()
}

pub(super) fn shown(
    caption: &str,
    words: usize,
    names: &[&str],
    rows: Vec<Vec<String>>,
) -> Option<Value> {
    (!rows.is_empty()).then(|| table(caption, words, names, rows))
}

fn stations(job: &Job) -> Option<Value> {
    let row = |(index, station): (usize, &crate::design::model::Station)| {
        let valves = &job.catalogue().valves;
        let valve = valves
            .get(station.valve_size)
            .map_or("–", |v| v.size.as_str());
        vec![
            job.design.station_number(index).to_string(),
            station.rate_class.clone(),
            valve.to_string(),
            station.heads.len().to_string(),
            number(station.flow_lpm, 1),
            number(station.rate_mm_h, 1),
            number(station.source_kpa, 0),
            number(station.valve_in_kpa, 0),
            number(station.regulated_kpa, 0),
            number(station.pressure_min_kpa, 0),
            number(station.pressure_max_kpa, 0),
            number(station.elevation_spread_m, 1),
            number(job.design.schedule.peak_minutes.get(index).copied(), 0),
        ]
    };
    let names = [
        "Station",
        "Rate class",
        "Valve",
        "Heads",
        "Flow, L/min",
        "Rate, mm/h",
        "At supply, kPa",
        "Before valve, kPa",
        "Regulated to, kPa",
        "Least at nozzle, kPa",
        "Most at nozzle, kPa",
        "Height spread of heads, m",
        "Peak day, min",
    ];
    let rows = job.design.stations.iter().enumerate().map(row).collect();
    shown("Stations", 3, &names, rows)
}

fn turf(job: &Job) -> Option<Value> {
    let results = &job.design.turf;
    // Only where the rules ask for it.
    let estimated = results.iter().any(|r| r.heads_lp_estimate.is_some());
    let row = |(id, result): (&String, &crate::design::model::TurfResult)| {
        let mut row = vec![
            id.clone(),
            number(result.area_m2, 0),
            result.heads.to_string(),
            result.heads_bound.to_string(),
        ];
        row.extend(estimated.then(|| number(result.heads_lp_estimate, 1)));
        row.extend([
            percent(result.du_low_quarter),
            percent(result.cu_christiansen),
            percent(result.dry_fraction),
            percent(result.overspray_fraction),
            percent(result.reached_fraction),
            number(result.mean_rate_mm_h, 1),
        ]);
        row
    };
    let mut names = vec!["Turf", "Area judged, m²", "Heads", "Fewest heads by area"];
    names.extend(estimated.then_some("Fewest by estimate"));
    names.extend([
        "Uniformity, low quarter",
        "Uniformity, Christiansen",
        "Dry area",
        "Water off turf",
        "Heads reached by two others",
        "Mean rate, mm/h",
    ]);
    let rows = job.names.turf.iter().zip(results).map(row).collect();
    shown("What each turf area gets", 1, &names, rows)
}

fn pipe(job: &Job) -> Option<Value> {
    let row = |(mains, size, length_m): (bool, usize, f64)| {
        let size = job.catalogue().pipes.get(size);
        vec![
            if mains { "main" } else { "lateral" }.to_string(),
            size.map_or("–".into(), |s| s.material.clone()),
            size.map_or("–".into(), |s| s.nominal.clone()),
            number(size.map(|s| s.inside_mm), 1),
            number(size.map(|s| s.rating_kpa), 0),
            number(length_m, 1),
        ]
    };
    let names = [
        "Pipe",
        "Material",
        "Nominal size",
        "Inside, mm",
        "Rated, kPa",
        "Laid, m",
    ];
    shown(
        "Pipe by size",
        3,
        &names,
        sizes(job).into_iter().map(row).collect(),
    )
}

/// How far the result may be from the best possible.
fn bounds(job: &Job) -> Option<Value> {
    let (design, bounds) = (job.design, &job.design.bounds);
    let row = |what: &str, result: f64, bound: Option<f64>, decimals: usize| {
        let bound = bound.filter(|bound| *bound > 0.0);
        let over = bound.map(|bound| result / bound - 1.0);
        vec![
            what.to_string(),
            number(result, decimals),
            number(bound, decimals),
            percent(over),
        ]
    };
    let stations = bounds.stations.iter().map(|class| {
        let what = format!("Stations, class {}", class.name);
        row(&what, class.stations as f64, Some(class.bound as f64), 0)
    });
    let heads = design.heads.len() as f64;
    let mut rows = vec![row("Heads", heads, Some(bounds.heads as f64), 0)];
    rows.extend(stations);
    rows.extend([
        row("Trench, m", job.trench_length_m(), Some(bounds.trench_m), 0),
        row(
            "Pipe at catalogue prices",
            pipe_cost(job),
            bounds.pipe_cost,
            0,
        ),
    ]);
    let names = [
        "",
        "This design",
        "No design can have less than",
        "Above that by at most",
    ];
    shown("How far from the best", 1, &names, rows)
}

/// The take-off; prices and costs only where something is priced.
pub(super) fn takeoff(job: &Job) -> Option<Value> {
    let rows = &job.design.takeoff;
    let priced = rows
        .iter()
        .any(|row| row.unit_price.is_some() || row.cost.is_some());
    let kept = if priced { 7 } else { 5 };
    let names = [
        "Group",
        "Item",
        "Size",
        "Unit",
        "Quantity",
        "Price of one",
        "Cost",
    ];
    let cells = |row: &TakeoffRow| {
        let mut cells = takeoff_cells(row);
        cells.truncate(kept);
        cells
    };
    shown(
        "Take-off",
        4,
        &names[..kept],
        rows.iter().map(cells).collect(),
    )
}

fn takeoff_cells(row: &TakeoffRow) -> Vec<String> {
    let decimals = if row.quantity.fract() == 0.0 { 0 } else { 1 };
    vec![
        row.group.clone(),
        row.item.clone(),
        row.size.clone().unwrap_or_default(),
        row.unit.clone(),
        number(row.quantity, decimals),
        number(row.unit_price, 2),
        number(row.cost, 2),
    ]
}

/// Head by head, in walking order.
pub(super) fn settings(job: &Job) -> Value {
    let row = |(order, index): (usize, usize)| {
        let head = &job.design.heads[index];
        let working = job.working(index);
        vec![
            (order + 1).to_string(),
            job.names.heads[index].clone(),
            job.station_of(index)
                .map_or("–".into(), |s| job.design.station_number(s).to_string()),
            job.head_model(head).map_or("–".into(), |m| m.name.clone()),
            job.nozzle(head).unwrap_or("–").to_string(),
            number(head.arc.start_deg, 0),
            number(head.arc.sweep_deg, 0),
            number(head.radius_m, 1),
            number(working.map(|w| w.pressure_kpa), 0),
            number(working.map(|w| w.flow_lpm), 1),
            match job.design.check_valves.binary_search(&index) {
                Ok(_) => "yes".into(),
                Err(_) => "–".into(),
            },
            job.names.turf.get(head.turf).cloned().unwrap_or_default(),
        ]
    };
    let names = [
        "Order",
        "Head",
        "Station",
        "Model",
        "Nozzle",
        "Arc from, °",
        "Sweep, °",
        "Radius, m",
        "Pressure, kPa",
        "Flow, L/min",
        "Check valve",
        "On turf",
    ];
    table(
        "Head settings",
        5,
        &names,
        job.walking_order()
            .into_iter()
            .enumerate()
            .map(row)
            .collect(),
    )
}
