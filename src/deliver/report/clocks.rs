//! Drawings of the schedule: the year month by month, and the clock of the peak day.

use super::charts::{Axis, Chart, LEFT, Line, Panel, RIGHT, TOP, WIDE};
use super::run_times::month_name;
use crate::deliver::job::Job;
use crate::design::model::Run;
use std::collections::BTreeSet;
use std::fmt::Write;

/// Days of the months of a common year.
const DAYS: [f64; 12] = [
    31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0,
];

/// Water drawn in each month as bars, with evapotranspiration and effective rain as lines; `None` without a schedule.
pub(super) fn year(job: &Job) -> Option<String> {
    let schedule = &job.design.schedule;
    if schedule.rows.is_empty() {
        return None;
    }
    let mut water_m3 = [0.0; 12];
    for row in &schedule.rows {
        let month = (row.month as usize).checked_sub(1);
        if let Some(sum) = month.and_then(|m| water_m3.get_mut(m)) {
            *sum += row.volume_m3;
        }
    }
    let middle = |values: &dyn Fn(usize) -> f64| -> Vec<(f64, f64)> {
        (0..12).map(|m| (m as f64 + 0.5, values(m))).collect()
    };
    let lines = [
        Line {
            name: "reference evapotranspiration, mm",
            class: "et",
            points: middle(&|m| schedule.eto_mm_day[m] * DAYS[m]),
        },
        Line {
            name: "effective rain, mm",
            class: "rain-line",
            points: middle(&|m| schedule.effective_rain_mm[m]),
        },
    ];
    let floor = 210.0;
    let depths = lines.iter().flat_map(|line| &line.points).map(|p| p.1);
    let right = Axis::from_zero(depths, floor, TOP - floor);
    let panel = Panel::new(
        Axis::fixed((0.0, 12.0), 1.0, LEFT, WIDE - LEFT - 56.0),
        Axis::from_zero(water_m3.into_iter(), floor, TOP - floor),
    );
    let told = format!(
        "{:.0} cubic metres in the year; the table has each month.",
        schedule.year_m3
    );
    let mut chart = Chart::new("Water drawn in each month", &told, 236.0);
    panel.grid_up(&mut chart.svg, "water, m³");
    panel.scale_right(&mut chart.svg, &right, "depth in the month, mm");
    for (month, &water) in water_m3.iter().enumerate() {
        let left = month as f64;
        panel.bar(
            &mut chart.svg,
            (left + 0.15, left + 0.85),
            water,
            "water-bar",
        );
        let _ = write!(
            chart.svg,
            "<text x=\"{:.1}\" y=\"{:.0}\" text-anchor=\"middle\">{}</text>",
            panel.x.px(left + 0.5),
            floor + 16.0,
            month_name(month as u32 + 1)
        );
    }
    for line in &lines {
        panel.line_on(&mut chart.svg, line, &right);
    }
    chart.name_bars("water-bar", "water, m³");
    for line in &lines {
        chart.name_line(line);
    }
    Some(chart.done())
}

/// Height of a station's row on the clock, px.
const ROW: f64 = 16.0;

/// Which station runs when on a watering day of the peak month; `None` without one.
pub(super) fn peak_day(job: &Job) -> Option<String> {
    let schedule = &job.design.schedule;
    let runs = &schedule.peak_runs;
    let stations: BTreeSet<usize> = runs.iter().map(|run| run.station).collect();
    let end = runs
        .iter()
        .map(|run| run.start_minute + run.minutes)
        .max()?;
    let floor = TOP + ROW * stations.len() as f64 + 6.0;
    let window_h = job.project.rules.watering_window_h;
    let hours = (f64::from(end) / 60.0).max(window_h).max(0.5);
    let ticks = Axis::over([0.0, hours].into_iter(), 1.0, LEFT, 400.0).step();
    let panel = Panel::new(
        Axis::fixed((0.0, hours), ticks, LEFT, WIDE - LEFT - RIGHT),
        Axis::fixed((0.0, 1.0), 1.0, floor, TOP - floor),
    );
    let title = format!(
        "Stations over the clock of a watering day in {}",
        schedule.peak_month.map_or("the peak month", month_name)
    );
    let told = format!(
        "{} stations, done after {:.1} of {window_h:.1} hours. The table has the starts.",
        stations.len(),
        f64::from(end) / 60.0
    );
    let mut chart = Chart::new(&title, &told, floor + 40.0);
    for (row, &station) in stations.iter().enumerate() {
        let top = TOP + ROW * row as f64 + 3.0;
        let of = runs.iter().filter(|run| run.station == station);
        lane(&mut chart.svg, job, &panel, station, top, of);
    }
    if window_h <= hours {
        let at = panel.x.px(window_h);
        let _ = write!(
            chart.svg,
            "<path class=\"curve standing\" d=\"M{at:.1} {TOP:.0}V{floor:.0}\"/>"
        );
    }
    panel.grid_along(
        &mut chart.svg,
        "hours after the start of the watering window; dashed: its end",
    );
    Some(chart.done())
}

fn lane<'a>(
    svg: &mut String,
    job: &Job,
    panel: &Panel,
    station: usize,
    top: f64,
    runs: impl Iterator<Item = &'a Run>,
) {
    let (left, right) = (LEFT, WIDE - RIGHT);
    let _ = write!(
        svg,
        "<text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"end\">{}</text><path class=\"grid\" d=\"M{left:.0} {:.1}H{right:.0}\"/><g class=\"lane {}\">",
        LEFT - 6.0,
        top + 10.0,
        job.design.station_number(station),
        top + ROW - 3.0,
        job.colours.class(Some(station))
    );
    for run in runs {
        let from = panel.x.px(f64::from(run.start_minute) / 60.0);
        let to = panel.x.px(f64::from(run.start_minute + run.minutes) / 60.0);
        let _ = write!(
            svg,
            "<rect x=\"{from:.1}\" y=\"{top:.0}\" width=\"{:.1}\" height=\"11\"/>",
            (to - from).max(0.8)
        );
    }
    *svg += "</g>";
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;
    use crate::design::model::Design;

    #[test]
    fn every_run_has_its_bar_and_every_month_its_water() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let runs = design.schedule.peak_runs.len();
        assert!(runs > 0);
        assert_eq!(peak_day(&job).unwrap().matches("<rect").count(), runs);
        let bars = year(&job)
            .unwrap()
            .matches("class=\"bar water-bar\"")
            .count();
        assert_eq!(bars, 6 + 1, "six months with water and the name");
    }

    #[test]
    fn nothing_is_drawn_of_nothing() {
        let (parcel, design, project) = (example::parcel(), Design::default(), example::project());
        let job = Job::new(&parcel, &design, &project);
        assert!(year(&job).is_none() && peak_day(&job).is_none());
    }
}
