//! The schedule in `design.json`: run times, the watering day, the soil's water, budgets and sensors.

use crate::deliver::figures::{m, n};
use crate::deliver::job::Job;
use crate::design::model::{
    BalanceDay, BudgetFigures, MoistureSetting, Run, ScheduleRow, Section, SensorSettings,
    SoilBalance, Together,
};
use crate::design::schedule::balance::{et_share, stress_days, sum_mm};
use crate::design::takeoff::water_cost_a_year;
use serde_json::{Value as Json, json};

/// The schedule's figures.
pub(crate) fn schedule(job: &Job) -> Json {
    let schedule = &job.design.schedule;
    let row = |row: &ScheduleRow| {
        json!({
            "month": row.month,
            "station": job.names.section(Section::Station(row.station)),
            "minutes": n(row.minutes, 1),
            "cycles": row.cycles,
            "soak_minutes": n(row.soak_minutes, 1),
            "days": row.days,
            "depth_mm": n(row.depth_mm, 2),
            "volume_m3": n(row.volume_m3, 3),
        })
    };
    let run = |run: &Run| {
        json!({
            "station": job.names.section(Section::Station(run.station)),
            "start_minute": run.start_minute,
            "minutes": run.minutes,
        })
    };
    let together = |set: &Together| {
        let stations = set.stations.iter();
        json!({
            "stations": stations.map(|s| json!(job.names.section(Section::Station(*s)))).collect::<Json>(),
            "flow_lpm": n(set.flow_lpm, 4),
            "source_kpa": n(set.source_kpa, 4),
            "pressure_least_margin_kpa": n(set.pressure_least_margin_kpa, 3),
            "velocity_most_m_s": n(set.velocity_most_m_s, 3),
        })
    };
    json!({
        "method": schedule.method,
        "climate_built_in": job.project.climate.built_in,
        "eto_mm_day": schedule.eto_mm_day.map(|v| n(v, 3)),
        "effective_rain_mm": schedule.effective_rain_mm.map(|v| n(v, 2)),
        "peak_minutes": schedule.peak_minutes.iter().map(|&v| n(v, 1)).collect::<Json>(),
        "peak_month": schedule.peak_month,
        "peak_runs": schedule.peak_runs.iter().map(run).collect::<Json>(),
        "together": schedule.together.iter().map(together).collect::<Json>(),
        "peak_window_h": n(schedule.peak_window_h, 3),
        "fits_window": schedule.fits_window,
        "year_m3": n(schedule.year_m3, 2),
        "water_cost_a_year": m(water_cost_a_year(schedule, &job.project.prices), 2),
        "balance_year": schedule.balance_year,
        "balances": schedule.balances.iter().map(|b| balance(job, b)).collect::<Json>(),
        "budgets": schedule.budgets.iter().map(budget).collect::<Json>(),
        "sensors": sensors(&schedule.sensors),
        "rows": schedule.rows.iter().map(row).collect::<Json>(),
    })
}

/// A soil's year: its sums, and the depletion at the end of each day from 1 January.
fn balance(job: &Job, balance: &SoilBalance) -> Json {
    let days = &balance.days;
    let sum = |depth: fn(&BalanceDay) -> f64| n(sum_mm(days, depth), 1);
    let station = |station: &usize| json!(job.names.section(Section::Station(*station)));
    json!({
        "soil": balance.soil,
        "grass": balance.grass,
        "stations": balance.stations.iter().map(station).collect::<Json>(),
        "available_mm": n(balance.available_mm, 2),
        "readily_available_mm": n(balance.readily_available_mm, 2),
        "start_depletion_mm": n(balance.start_depletion_mm, 2),
        "year_rain_mm": sum(|day| day.rain_mm),
        "year_irrigation_mm": sum(|day| day.irrigation_mm),
        "year_runoff_mm": sum(|day| day.runoff_mm),
        "year_percolation_mm": sum(|day| day.percolation_mm),
        "year_turf_et_mm": sum(|day| day.turf_et_mm),
        "year_actual_et_mm": sum(|day| day.actual_et_mm),
        "stress_days": stress_days(days),
        "et_share": n(et_share(days), 4),
        "depletion_mm": days.iter().map(|day| n(day.depletion_mm, 1)).collect::<Json>(),
    })
}

fn budget(budget: &BudgetFigures) -> Json {
    json!({
        "share": n(budget.share, 3),
        "year_m3": n(budget.year_m3, 2),
        "stress_days": budget.stress_days,
        "et_share": n(budget.et_share, 4),
        "dry_quarter_stress_days": budget.dry_quarter_stress_days,
        "dry_quarter_et_share": n(budget.dry_quarter_et_share, 4),
    })
}

fn sensors(sensors: &SensorSettings) -> Json {
    let setting = |setting: &MoistureSetting| {
        json!({
            "soil": setting.soil,
            "depth_m": n(setting.depth_m, 3),
            "start_below": n(setting.start_below, 4),
            "stop_at": n(setting.stop_at, 4),
        })
    };
    json!({
        "rain_off_mm": m(sensors.rain_off_mm, 1),
        "moisture": sensors.moisture.iter().map(setting).collect::<Json>(),
    })
}
