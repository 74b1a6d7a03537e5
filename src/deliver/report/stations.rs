//! One plan and one small table for each station.

use super::{number, svg};
use crate::deliver::job::Job;
use crate::deliver::plan::station_plan;
use crate::design::model::{ScheduleRow, Station};
use minijinja::{Value, context};

/// All stations, for the page.
pub(super) fn all(job: &Job) -> Vec<Value> {
    let order = job.order_of_heads();
    let entry = |(index, station): (usize, &Station)| {
        let plan = station_plan(job, index, &order);
        let scale = plan.as_ref().map(|plan| plan.scale);
        context! {
            number => job.design.station_number(index),
            heads => span(station, &order),
            scale,
            across => plan.as_ref().is_some_and(|plan| plan.across),
            plan => plan.map(|plan| svg(plan.svg)),
            table => figures(job, index, station),
        }
    };
    job.design.stations.iter().enumerate().map(entry).collect()
}

/// Numbers of the first and the last head in walking order.
fn span(station: &Station, order: &[usize]) -> String {
    let numbers = || {
        station
            .heads
            .iter()
            .filter_map(|&h| order.get(h))
            .map(|n| n + 1)
    };
    match (numbers().min(), numbers().max()) {
        (Some(first), Some(last)) if first < last => format!("heads {first} to {last}"),
        (Some(only), _) => format!("head {only}"),
        _ => "no heads".to_owned(),
    }
}

/// Names and values of the station's small table.
fn figures(job: &Job, index: usize, station: &Station) -> Vec<(&'static str, String)> {
    let schedule = &job.design.schedule;
    let peak = schedule
        .rows
        .iter()
        .find(|row| row.station == index && Some(row.month) == schedule.peak_month);
    vec![
        ("Heads", station.heads.len().to_string()),
        ("Flow, L/min", number(station.flow_lpm, 1)),
        ("Rate, mm/h", number(station.rate_mm_h, 1)),
        ("At supply, kPa", number(station.source_kpa, 0)),
        ("Before valve, kPa", number(station.valve_in_kpa, 0)),
        ("Valve, setting", setting(job, station)),
        (
            "Nozzles, kPa",
            format!(
                "{}\u{2013}{}",
                number(station.pressure_min_kpa, 0),
                number(station.pressure_max_kpa, 0)
            ),
        ),
        ("Peak month, min", peak.map_or("–".into(), minutes)),
    ]
}

/// Size of the valve and how it is set.
fn setting(job: &Job, station: &Station) -> String {
    let size = job.catalogue().valves.get(station.valve_size);
    let size = size.map_or("–", |valve| valve.size.as_str());
    match station.regulated_kpa {
        Some(kpa) => format!("{size}, holds {} kPa", number(kpa, 0)),
        None => format!("{size}, fully open"),
    }
}

/// Minutes on a watering day, and on how many days.
fn minutes(row: &ScheduleRow) -> String {
    let cycles = match row.cycles {
        0 | 1 => String::new(),
        cycles => format!(" in {cycles}"),
    };
    format!("{}{cycles} on {} days", number(row.minutes, 0), row.days)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn a_station_tells_its_heads_its_valve_and_its_minutes() {
        let (parcel, mut design, project) =
            (example::parcel(), example::design(), example::project());
        design.stations[1].regulated_kpa = Some(300.0);
        let job = Job::new(&parcel, &design, &project);
        let figures = figures(&job, 1, &design.stations[1]);
        let of = |name: &str| figures.iter().find(|f| f.0 == name).unwrap().1.clone();
        assert_eq!(of("Valve, setting"), "DN25, holds 300 kPa");
        assert_eq!(of("Peak month, min"), "22 in 2 on 12 days");
        let order = job.order_of_heads();
        assert_eq!(span(&design.stations[0], &order), "heads 1 to 5");
    }
}
