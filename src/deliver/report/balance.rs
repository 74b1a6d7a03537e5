//! The water of the soil over the year: a drawing for each soil, what less water does, and what the sensors are set to.

use super::charts::{Axis, Chart, LEFT, Line, Panel, RIGHT, TOP, WIDE};
use super::run_times::month_name;
use super::tables::shown;
use super::{number, percent};
use crate::deliver::job::Job;
use crate::design::model::{BalanceDay, SoilBalance};
use minijinja::Value;
use std::fmt::Write;

/// First day of each month in a common year, from 0, and the end of the year.
const MONTH_STARTS: [f64; 13] = [
    0.0, 31.0, 59.0, 90.0, 120.0, 151.0, 181.0, 212.0, 243.0, 273.0, 304.0, 334.0, 365.0,
];

/// Floors of the two panels, px.
const DEPLETION_FLOOR: f64 = 170.0;
const WATER_TOP: f64 = 184.0;
const WATER_FLOOR: f64 = 262.0;

/// A drawing for each soil and grass; none without days.
pub(super) fn drawn(job: &Job) -> Vec<String> {
    let balances = job.design.schedule.balances.iter();
    balances
        .filter(|b| !b.days.is_empty())
        .map(|balance| year(job, balance))
        .collect()
}

fn year(job: &Job, balance: &SoilBalance) -> String {
    let days = balance.days.len() as f64;
    let along = || Axis::fixed((0.0, days), 400.0, LEFT, WIDE - LEFT - RIGHT);
    let depletion = Line {
        name: "water missing in the soil",
        class: "depletion",
        points: by_day(balance, |day| day.depletion_mm),
    };
    let ready = balance.readily_available_mm;
    let limit = Line {
        name: "below this line the grass is short",
        class: "limit",
        points: vec![(0.0, ready), (days, ready)],
    };
    let missing = balance.days.iter().map(|day| day.depletion_mm);
    // Downwards, as the soil dries out.
    let down = Axis::from_zero(missing.chain([ready]), TOP, DEPLETION_FLOOR - TOP);
    let upper = Panel::new(along(), down);
    let given = |day: &BalanceDay| day.rain_mm.max(day.irrigation_mm);
    let lower = Panel::new(
        along(),
        Axis::from_zero(
            balance.days.iter().map(given),
            WATER_FLOOR,
            WATER_TOP - WATER_FLOOR,
        ),
    );
    let mut chart = Chart::new(&title(job, balance), &told(balance), 290.0);
    upper.grid_up(&mut chart.svg, "missing, mm");
    upper.line(&mut chart.svg, &limit);
    upper.line(&mut chart.svg, &depletion);
    lower.grid_up(&mut chart.svg, "mm a day");
    for (index, day) in balance.days.iter().enumerate() {
        let from = index as f64;
        lower.bar(&mut chart.svg, (from, from + 0.9), day.rain_mm, "rain-bar");
        lower.bar(
            &mut chart.svg,
            (from + 0.25, from + 0.65),
            day.irrigation_mm,
            "water-bar",
        );
    }
    months(&mut chart.svg, &lower, days - 365.0);
    chart.name_line(&depletion);
    chart.name_line(&limit);
    chart.name_bars("rain-bar", "rain");
    chart.name_bars("water-bar", "irrigation");
    chart.done()
}

fn by_day(balance: &SoilBalance, value: impl Fn(&BalanceDay) -> f64) -> Vec<(f64, f64)> {
    let days = balance.days.iter().enumerate();
    let start = (0.0, balance.start_depletion_mm);
    let points = days.map(|(index, day)| (index as f64 + 1.0, value(day)));
    std::iter::once(start).chain(points).collect()
}

/// Names of the months under a year that is `longer` days longer than a common one.
fn months(svg: &mut String, panel: &Panel, longer: f64) {
    for (month, pair) in MONTH_STARTS.windows(2).enumerate() {
        let shift = |day: f64| if day > 31.0 { day + longer } else { day };
        let (from, to) = (panel.x.px(shift(pair[0])), panel.x.px(shift(pair[1])));
        let _ = write!(
            svg,
            "<path class=\"axis\" d=\"M{from:.1} {WATER_FLOOR}v4\"/><text x=\"{:.1}\" y=\"{:.0}\" text-anchor=\"middle\">{}</text>",
            (from + to) / 2.0,
            WATER_FLOOR + 16.0,
            month_name(month as u32 + 1)
        );
    }
}

fn title(job: &Job, balance: &SoilBalance) -> String {
    let stations: Vec<String> = balance
        .stations
        .iter()
        .map(|s| job.design.station_number(*s).to_string())
        .collect();
    let stations = match stations.len() {
        0 => String::new(),
        1 => format!(": station {}", stations[0]),
        _ => format!(": stations {}", stations.join(", ")),
    };
    format!(
        "Water in {} under {}-season grass{stations}",
        balance.soil, balance.grass
    )
}

fn told(balance: &SoilBalance) -> String {
    let short = |day: &&BalanceDay| day.depletion_mm > balance.readily_available_mm;
    let sum = |value: &dyn Fn(&BalanceDay) -> f64| balance.days.iter().map(value).sum::<f64>();
    format!(
        "Day by day. {} days end with the grass short of water. Rain {:.0} mm, irrigation {:.0} mm, runoff {:.0} mm, below the roots {:.0} mm.",
        balance.days.iter().filter(short).count(),
        sum(&|d| d.rain_mm),
        sum(&|d| d.irrigation_mm),
        sum(&|d| d.runoff_mm),
        sum(&|d| d.percolation_mm),
    )
}

/// What each year comes to, for each soil.
pub(super) fn sums(job: &Job) -> Option<Value> {
    let row = |balance: &SoilBalance| {
        let sum = |value: &dyn Fn(&BalanceDay) -> f64| {
            number(balance.days.iter().map(value).sum::<f64>(), 0)
        };
        vec![
            balance.soil.clone(),
            balance.grass.clone(),
            number(balance.available_mm, 0),
            number(balance.readily_available_mm, 0),
            sum(&|d| d.rain_mm),
            sum(&|d| d.irrigation_mm),
            sum(&|d| d.runoff_mm),
            sum(&|d| d.percolation_mm),
            sum(&|d| d.turf_et_mm),
            sum(&|d| d.actual_et_mm),
        ]
    };
    let names = [
        "Soil",
        "Grass",
        "Roots reach, mm",
        "Readily, mm",
        "Rain, mm",
        "Irrigation, mm",
        "Runoff, mm",
        "Below roots, mm",
        "Grass would use, mm",
        "Grass uses, mm",
    ];
    let balances = job.design.schedule.balances.iter();
    let rows = balances.filter(|b| !b.days.is_empty()).map(row).collect();
    shown("The soil's year", 2, &names, rows)
}

/// What less water does.
pub(super) fn budgets(job: &Job) -> Option<Value> {
    let row = |budget: &crate::design::model::BudgetFigures| {
        vec![
            percent(Some(budget.share)),
            number(budget.year_m3, 0),
            budget.stress_days.to_string(),
            percent(Some(budget.et_share)),
            budget.dry_quarter_stress_days.to_string(),
            percent(Some(budget.dry_quarter_et_share)),
        ]
    };
    let names = [
        "Of the run times",
        "Water in the year, m³",
        "Days a soil is short, most",
        "Grass uses, of well watered, least",
        "Days short in the driest quarter",
        "Grass uses there",
    ];
    let rows = job.design.schedule.budgets.iter().map(row).collect();
    shown("What less water does", 1, &names, rows)
}

/// What the sensors are set to.
pub(super) fn sensors(job: &Job) -> Option<Value> {
    let sensors = &job.design.schedule.sensors;
    let rain = sensors.rain_off_mm.map(|mm| {
        ["Rain sensor", "–", "–", "–", "–"]
            .map(str::to_owned)
            .into_iter()
            .chain([number(mm, 0)])
            .collect::<Vec<_>>()
    });
    let moisture = sensors.moisture.iter().map(|setting| {
        vec![
            "Soil moisture sensor".to_owned(),
            setting.soil.clone(),
            number(setting.depth_m * 100.0, 0),
            number(setting.start_below * 100.0, 0),
            number(setting.stop_at * 100.0, 0),
            "–".to_owned(),
        ]
    });
    let names = [
        "Sensor",
        "In soil",
        "Depth, cm",
        "Water on below, % of volume",
        "Off at, % of volume",
        "Off after rain of, mm",
    ];
    shown(
        "Sensor settings",
        2,
        &names,
        rain.into_iter().chain(moisture).collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn the_year_of_a_soil_is_drawn_day_by_day() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let drawings = drawn(&job);
        assert_eq!(drawings.len(), 1);
        assert!(drawings[0].contains("Water in loam under cool-season grass: stations 1, 2"));
        let wet = design.schedule.balances[0]
            .days
            .iter()
            .filter(|d| d.irrigation_mm > 0.0);
        let bars = drawings[0].matches("class=\"bar water-bar\"").count();
        assert_eq!(bars, wet.count() + 1, "its days and its name");
        assert!(!drawings[0].contains("NaN"));
        for table in [sums(&job), budgets(&job), sensors(&job)] {
            assert!(table.is_some());
        }
    }

    #[test]
    fn without_balances_there_is_nothing() {
        let (parcel, mut design, project) =
            (example::parcel(), example::design(), example::project());
        design.schedule.balances.clear();
        design.schedule.budgets.clear();
        design.schedule.sensors = Default::default();
        let job = Job::new(&parcel, &design, &project);
        assert!(drawn(&job).is_empty());
        assert!(sums(&job).is_none() && budgets(&job).is_none() && sensors(&job).is_none());
    }
}
