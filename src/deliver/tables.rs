//! Tables for spreadsheets: `takeoff.csv`, `schedule.csv`, `settings.csv`, `water_balance.csv`. Empty where a figure is missing.

use crate::deliver::DeliverError;
use crate::deliver::job::Job;
use crate::deliver::lonlat::{LonLat, rounded};
use crate::deliver::water_balance_table;
use crate::design::model::Section;
use std::path::Path;

/// Writes the four tables into `folder`.
pub(crate) fn write_all(job: &Job, lonlat: &LonLat, folder: &Path) -> Result<(), DeliverError> {
    write(&folder.join("takeoff.csv"), TAKEOFF, takeoff(job))?;
    write(&folder.join("schedule.csv"), SCHEDULE, schedule(job))?;
    let balance = folder.join("water_balance.csv");
    write(
        &balance,
        water_balance_table::NAMES,
        water_balance_table::rows(job),
    )?;
    write(
        &folder.join("settings.csv"),
        SETTINGS,
        settings(job, lonlat)?,
    )
}

/// Writes one table: a line of names, then the rows.
pub(crate) fn write(
    path: &Path,
    names: &[&str],
    rows: Vec<Vec<String>>,
) -> Result<(), DeliverError> {
    let failed = |error: csv::Error| DeliverError::write(path, error);
    let mut file = csv::Writer::from_path(path).map_err(failed)?;
    file.write_record(names).map_err(failed)?;
    for row in rows {
        file.write_record(row).map_err(failed)?;
    }
    file.flush()
        .map_err(|source| DeliverError::write(path, source))
}

/// A number for a table; empty when missing or not finite.
pub(crate) fn cell(value: impl Into<Option<f64>>, decimals: i32) -> String {
    match value.into() {
        Some(value) if value.is_finite() => rounded(value, decimals).to_string(),
        _ => String::new(),
    }
}

fn yes_or_no(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

const TAKEOFF: &[&str] = &[
    "group",
    "item",
    "size",
    "quantity",
    "unit",
    "unit_price",
    "cost",
];

fn takeoff(job: &Job) -> Vec<Vec<String>> {
    let row = |row: &crate::design::model::TakeoffRow| {
        vec![
            row.group.clone(),
            row.item.clone(),
            row.size.clone().unwrap_or_default(),
            cell(row.quantity, 3),
            row.unit.clone(),
            cell(row.unit_price, 4),
            cell(row.cost, 2),
        ]
    };
    job.design.takeoff.iter().map(row).collect()
}

const SCHEDULE: &[&str] = &[
    "month",
    "station",
    "minutes",
    "cycles",
    "soak_minutes",
    "depth_mm",
    "volume_m3",
    "days",
];

fn schedule(job: &Job) -> Vec<Vec<String>> {
    let row = |row: &crate::design::model::ScheduleRow| {
        vec![
            row.month.to_string(),
            job.names.section(Section::Station(row.station)),
            cell(row.minutes, 1),
            row.cycles.to_string(),
            cell(row.soak_minutes, 1),
            cell(row.depth_mm, 2),
            cell(row.volume_m3, 3),
            row.days.to_string(),
        ]
    };
    job.design.schedule.rows.iter().map(row).collect()
}

const SETTINGS: &[&str] = &[
    "order",
    "station",
    "head",
    "model",
    "nozzle",
    "arc_start_deg",
    "arc_sweep_deg",
    "radius_m",
    "pressure_kpa",
    "lon",
    "lat",
    "check_valve",
];

fn settings(job: &Job, lonlat: &LonLat) -> Result<Vec<Vec<String>>, DeliverError> {
    let row = |(order, index): (usize, usize)| {
        let head = &job.design.heads[index];
        let at = lonlat.coord(head.position)?;
        Ok(vec![
            (order + 1).to_string(),
            job.station_name(index).unwrap_or_default(),
            job.names.heads[index].clone(),
            job.head_model(head)
                .map_or(String::new(), |m| m.name.clone()),
            job.nozzle(head).unwrap_or_default().to_string(),
            cell(head.arc.start_deg, 1),
            cell(head.arc.sweep_deg, 1),
            cell(head.radius_m, 2),
            cell(job.working(index).map(|w| w.pressure_kpa), 1),
            format!("{:.8}", at.x),
            format!("{:.8}", at.y),
            yes_or_no(job.design.check_valves.binary_search(&index).is_ok()),
        ])
    };
    job.walking_order()
        .into_iter()
        .enumerate()
        .map(row)
        .collect()
}
