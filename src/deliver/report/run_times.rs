//! Run times as they are set on a controller: minutes of each station by month, and the clock of the peak day.

use super::number;
use super::tables::shown;
use crate::deliver::job::Job;
use crate::design::model::{Run, ScheduleRow};
use minijinja::Value;
use std::collections::BTreeSet;

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// Name of a month, 1 to 12; a dash for any other number.
pub(super) fn month_name(month: u32) -> &'static str {
    let index = (month as usize).checked_sub(1);
    index.and_then(|m| MONTHS.get(m)).map_or("–", |name| name)
}

/// One row a station, one column a month; below them the days and the water of each month.
pub(super) fn by_month(job: &Job) -> Option<Value> {
    let rows = &job.design.schedule.rows;
    let months: Vec<u32> = rows
        .iter()
        .map(|row| row.month)
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    let stations: BTreeSet<usize> = rows.iter().map(|row| row.station).collect();
    let line = |head: String, cell: &dyn Fn(u32) -> String| -> Vec<String> {
        std::iter::once(head)
            .chain(months.iter().map(|&month| cell(month)))
            .collect()
    };
    let of = |station: usize, month: u32| {
        let found = |row: &&ScheduleRow| row.month == month && row.station == station;
        rows.iter().find(found).map_or("–".to_string(), minutes)
    };
    let in_month = |month: u32| rows.iter().filter(move |row| row.month == month);
    let volume = |month| number(in_month(month).map(|row| row.volume_m3).sum::<f64>(), 0);
    let mut lines: Vec<Vec<String>> = stations
        .iter()
        .map(|&station| {
            line(job.design.station_number(station).to_string(), &|month| {
                of(station, month)
            })
        })
        .collect();
    if !lines.is_empty() {
        lines.push(line("Watering days".into(), &|m| {
            span(in_month(m).map(|row| f64::from(row.days)))
        }));
        lines.push(line("Pause between cycles, min".into(), &|m| {
            span(in_month(m).filter(|r| r.cycles > 1).map(|r| r.soak_minutes))
        }));
        lines.push(line("Depth in the month, mm".into(), &|m| {
            span(in_month(m).map(|row| row.depth_mm))
        }));
        lines.push(line("Water, m³".into(), &volume));
    }
    let names: Vec<&str> = std::iter::once("Station")
        .chain(months.iter().map(|&month| month_name(month)))
        .collect();
    shown("Run times, minutes on a watering day", 1, &names, lines)
}

/// Minutes of a watering day, and how many cycles share them where there are several: `32 in 2`.
fn minutes(row: &ScheduleRow) -> String {
    let minutes = number(row.minutes, 0);
    match row.cycles {
        0 | 1 => minutes,
        cycles => format!("{minutes} in {cycles}"),
    }
}

/// Least to greatest.
fn span(values: impl Iterator<Item = f64>) -> String {
    let ends = values.fold(None, |ends: Option<(f64, f64)>, value| {
        Some(ends.map_or((value, value), |(a, b)| (a.min(value), b.max(value))))
    });
    match ends.map(|(low, high)| (number(low, 0), number(high, 0))) {
        None => "–".to_string(),
        Some((low, high)) if low == high => low,
        Some((low, high)) => format!("{low}\u{2013}{high}"),
    }
}

/// When each station starts on a watering day of the peak month.
pub(super) fn peak_day(job: &Job) -> Option<Value> {
    let schedule = &job.design.schedule;
    let row = |station: usize| {
        let runs = || {
            schedule
                .peak_runs
                .iter()
                .filter(move |r| r.station == station)
        };
        let starts: Vec<String> = runs().map(|run| clock(run.start_minute)).collect();
        let end = runs().map(|run: &Run| run.start_minute + run.minutes).max();
        vec![
            job.design.station_number(station).to_string(),
            starts.join(", "),
            span(runs().map(|run| f64::from(run.minutes))),
            end.map_or("–".to_string(), clock),
        ]
    };
    let stations: BTreeSet<usize> = schedule.peak_runs.iter().map(|run| run.station).collect();
    let names = [
        "Station",
        "Starts, h:min",
        "Open each time, min",
        "Done, h:min",
    ];
    let caption = format!(
        "A watering day of the peak month, {}",
        schedule.peak_month.map_or("–", month_name)
    );
    shown(&caption, 2, &names, stations.into_iter().map(row).collect())
}

/// Hours and minutes after the start of the watering window.
fn clock(minute: u32) -> String {
    format!("{}:{:02}", minute / 60, minute % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cycles_are_told_apart_and_spans_are_short() {
        let row = ScheduleRow {
            month: 3,
            station: 0,
            minutes: 32.0,
            cycles: 2,
            soak_minutes: 51.0,
            days: 1,
            depth_mm: 5.6,
            volume_m3: 9.2,
        };
        assert_eq!(minutes(&row), "32 in 2");
        assert_eq!(minutes(&ScheduleRow { cycles: 1, ..row }), "32");
        assert_eq!(span([4.0, 4.2].into_iter()), "4");
        assert_eq!(span([4.0, 6.0].into_iter()), "4\u{2013}6");
        assert_eq!(span(std::iter::empty()), "–");
        assert_eq!(clock(125), "2:05");
    }

    #[test]
    fn months_without_a_name_do_no_harm() {
        assert_eq!((month_name(0), month_name(13)), ("–", "–"));
        assert_eq!(month_name(12), "Dec");
    }
}
